//! Scans that were joined, and paint that only looks like it.

use super::scene::{Chance, Counts, ELEMENTS, Element, SIZE, all_signs, expected, maps_of};
use limner::notice::{Lines, Offer, Sign};

/// A scan whose counts are changed by a factor that depends on the place (and the element).
fn scanned(seed: u64, strength: f64, factor: impl Fn(Element, f64, f64) -> f64) -> Vec<Counts> {
    let mut chance = Chance::new(seed);
    ELEMENTS
        .iter()
        .map(|&of| {
            Counts::drawn(of.name, SIZE, &mut chance, |x, y| expected(of, x, y, strength) * factor(of, x, y))
        })
        .collect()
}

fn seams(counts: &[Counts]) -> Vec<Sign> {
    let signs = all_signs(&maps_of(counts));
    for (ids, sign) in &signs {
        assert_eq!(sign.code(), "seam", "{ids:?} {sign}");
        assert_eq!(ids.len(), counts.len(), "said of all maps");
    }
    signs.into_iter().map(|(_, sign)| sign).collect()
}

/// Where the only seam meets the two borders, and its factor.
fn only(counts: &[Counts], upright: bool) -> (f64, f64, f64, f64) {
    match seams(counts).as_slice() {
        [Sign::Seam { lines, from, to, factor, error, .. }] => {
            assert_eq!(*lines == Lines::Columns, upright);
            (*from, *to, *factor, *error)
        }
        other => panic!("{other:?}"),
    }
}

#[test]
fn an_upright_seam_is_found_at_its_place() {
    for seed in 1..=6 {
        for (strength, factor) in [(2.0, 0.87), (6.0, 0.87), (6.0, 1.36)] {
            let counts = scanned(seed, strength, |_, x, _| if x < 62.0 { 1.0 } else { factor });
            let (from, to, found, error) = only(&counts, true);
            assert!((from - 62.0).abs() < 1.6 && (to - 62.0).abs() < 1.6, "{seed} {strength}: {from} {to}");
            assert!(
                (found / factor - 1.0).abs() < (2.0 * error).min(0.06),
                "{seed} {strength}: {found} ± {error}"
            );
        }
    }
}

#[test]
fn seams_aslant_and_level_ones_are_found_too() {
    for seed in 1..=4 {
        let slope = 0.026_2;
        let aslant = |_: Element, x: f64, y: f64| if x < 60.0 + slope * (y - 48.0) { 1.0 } else { 0.87 };
        let (from, to, factor, _) = only(&scanned(seed, 4.0, aslant), true);
        assert!((from - 58.74).abs() < 1.6 && (to - 61.26).abs() < 1.6, "{from} {to}");
        assert!((factor - 0.87).abs() < 0.05, "{factor}");
        let level = |_: Element, x: f64, y: f64| if y < 40.0 - slope * (x - 64.0) { 1.0 } else { 1.2 };
        let (from, to, factor, _) = only(&scanned(seed, 4.0, level), false);
        assert!((from - 41.68).abs() < 1.6 && (to - 38.32).abs() < 1.6, "{from} {to}");
        assert!((factor - 1.2).abs() < 0.06, "{factor}");
    }
}

#[test]
fn two_seams_of_three_scans_are_both_found() {
    let three = |_: Element, x: f64, _: f64| {
        if x < 40.0 {
            1.0
        } else if x < 88.0 {
            0.8
        } else {
            1.1
        }
    };
    let found = seams(&scanned(3, 4.0, three));
    let mut places: Vec<f64> = found
        .iter()
        .map(|sign| match sign {
            Sign::Seam { from, to, .. } => 0.5 * (from + to),
            other => panic!("{other}"),
        })
        .collect();
    places.sort_by(f64::total_cmp);
    assert!(
        places.len() == 2 && (places[0] - 40.0).abs() < 1.6 && (places[1] - 88.0).abs() < 1.6,
        "{places:?}"
    );
}

/// A painted frame, a margin without ground, a thicker layer: straight from border to border, and no seam.
#[test]
fn painted_edges_right_across_are_no_seam() {
    for seed in 1..=6 {
        for strength in [0.2, 1.0, 5.0, 40.0] {
            // A strip of gilding and lead over part of the panel.
            let frame = |of: Element, x: f64, _: f64| match of.name {
                "Pb L" | "Pb M" if x > 70.0 => 1.4,
                "Cu K" if x > 70.0 => 2.0,
                "Ca K" if x > 70.0 => 0.7,
                _ => 1.0,
            };
            assert!(seams(&scanned(seed, strength, frame)).is_empty(), "frame {seed} {strength}");
            // Two lines of one element, and one more that goes with it.
            let lead = |of: Element, x: f64, _: f64| {
                if x > 70.0 && matches!(of.name, "Pb L" | "Pb M" | "Ca K") { 0.87 } else { 1.0 }
            };
            assert!(seams(&scanned(seed, strength, lead)).is_empty(), "lead {seed} {strength}");
            // A layer that holds back soft lines more than hard ones.
            let varnish = |of: Element, _: f64, y: f64| {
                if y < 50.0 {
                    return 1.0;
                }
                match of.name {
                    "Pb M" => 0.5,
                    "Ca K" => 0.7,
                    "Ti K" => 0.8,
                    "Fe K" => 0.9,
                    "Cu K" | "Zn K" => 0.95,
                    _ => 0.98,
                }
            };
            assert!(seams(&scanned(seed, strength, varnish)).is_empty(), "varnish {seed} {strength}");
        }
    }
}

/// What changes alike in all maps and is no step: a slope, a dark band of lines, a change over half of the line.
#[test]
fn slopes_bands_and_half_lines_are_no_seam() {
    for seed in 1..=6 {
        for strength in [1.0, 6.0] {
            let slope = |_: Element, x: f64, _: f64| 1.0 - 0.4 * ((x - 40.0) / 40.0).clamp(0.0, 1.0);
            assert!(seams(&scanned(seed, strength, slope)).is_empty(), "slope {seed} {strength}");
            let band = |_: Element, _: f64, y: f64| if (50.0..53.0).contains(&y) { 0.8 } else { 1.0 };
            assert!(seams(&scanned(seed, strength, band)).is_empty(), "band {seed} {strength}");
            let half = |_: Element, x: f64, y: f64| if x > 62.0 && y < 48.0 { 0.8 } else { 1.0 };
            assert!(seams(&scanned(seed, strength, half)).is_empty(), "half {seed} {strength}");
        }
    }
}

#[test]
fn the_words_say_place_factor_and_what_to_do() {
    let sign = Sign::Seam { lines: Lines::Columns, from: 58.7, to: 61.3, factor: 0.87, error: 0.03, maps: 8 };
    assert_eq!(
        sign.to_string(),
        "Along a line from column 59 at the upper border to column 61 at the lower one all 8 maps looked at change by one factor: about 0.87 (± 0.03) times as bright to the right. So does a seam of two scans, or a beam that changed; paint would change one element more than another. Tests stay within one side: make a region of each and ask within it."
    );
    assert_eq!(sign.offer(), Some(Offer::Sides { lines: Lines::Columns, from: 58.7, to: 61.3 }));
}
