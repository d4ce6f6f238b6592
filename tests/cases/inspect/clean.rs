//! Nothing is wrong with these maps, and nothing may be said but remarks (severity "info"), and those only where named.

use super::scene::{Chance, Counts, ELEMENTS, SIZE, all_signs, expected, maps, maps_of, scan};
use limner::grid::{Grid, Samples};
use limner::notice::{Severity, Sign};
use limner::reading::{Content, read};

fn said(signs: &[(Vec<String>, Sign)]) -> Vec<String> {
    signs.iter().map(|(ids, sign)| format!("{ids:?} {}: {sign}", sign.code())).collect()
}

#[test]
fn clean_scans_of_any_strength_give_no_sign() {
    for seed in 1..=12 {
        for strength in [0.02, 0.2, 1.0, 5.0, 40.0] {
            let signs = all_signs(&maps_of(&scan(seed, strength)));
            assert!(signs.is_empty(), "seed {seed}, strength {strength}: {:#?}", said(&signs));
        }
    }
}

#[test]
fn flat_fields_and_gradients_give_no_sign() {
    for seed in 0..20 {
        let mut chance = Chance::new(seed);
        let counts: Vec<Counts> = (0..6)
            .map(|i| {
                let mean = [0.05, 0.6, 3.0, 12.0, 80.0, 400.0][i];
                Counts::drawn("map", (90, 70), &mut chance, |x, y| mean * (1.0 + x / 45.0 + y / 90.0))
            })
            .collect();
        let signs = all_signs(&maps_of(&counts));
        assert!(signs.is_empty(), "seed {seed}: {:#?}", said(&signs));
    }
}

/// A round object on a table where every map counts nothing: real zeros that look like a border. Only asked.
#[test]
fn an_object_on_an_empty_table_is_at_most_asked_about() {
    for seed in 1..=6 {
        for strength in [0.05, 1.0, 10.0] {
            let mut chance = Chance::new(seed);
            let counts: Vec<Counts> = ELEMENTS
                .iter()
                .map(|&of| {
                    Counts::drawn(of.name, SIZE, &mut chance, |x, y| {
                        let inside = (x - 62.0) * (x - 62.0) + (y - 50.0) * (y - 50.0) < 1700.0;
                        if inside { expected(of, x, y, strength) } else { 0.0 }
                    })
                })
                .collect();
            let signs = all_signs(&maps_of(&counts));
            for (_, sign) in &signs {
                assert!(
                    sign.severity() == Severity::Info && matches!(sign, Sign::Margin { is_zero: true, .. }),
                    "seed {seed}, strength {strength}: {:#?}",
                    said(&signs)
                );
                assert!(sign.to_string().contains("these are real zeros and stay"), "{sign}");
            }
            assert_eq!(signs.len(), 1);
        }
    }
}

/// One map with a background on the table is enough: the borders were scanned, and nothing is said.
#[test]
fn zeros_at_the_border_of_some_maps_only_are_no_border() {
    for seed in 1..=6 {
        let mut counts = scan(seed, 2.0);
        for map in &mut counts[1..] {
            *map = map.changed(|x, y, v| if (30..100).contains(&x) && (20..80).contains(&y) { v } else { 0 });
        }
        let signs = all_signs(&maps_of(&counts));
        assert!(signs.is_empty(), "seed {seed}: {:#?}", said(&signs));
    }
}

/// Net and fitted maps: fractions, values below 0, zeros piled up.
#[test]
fn net_and_fitted_maps_give_no_sign() {
    for seed in 1..=6 {
        let clean = scan(seed, 1.0);
        let (mut net, mut fitted, mut less_one) = (Vec::new(), Vec::new(), Vec::new());
        for map in &clean {
            let (width, height) = map.size;
            let values: Vec<f32> = map.data.iter().map(|&v| f32::from(v) * 1.037 - 2.3).collect();
            let piled: Vec<f32> = values.iter().map(|&v| v.max(0.0)).collect();
            let whole: Vec<i16> = map.data.iter().map(|&v| v as i16 - 1).collect();
            net.push((map.name.clone(), Samples::F32(Grid::from_vec(width, height, values).unwrap())));
            fitted.push((map.name.clone(), Samples::F32(Grid::from_vec(width, height, piled).unwrap())));
            less_one.push((map.name.clone(), Samples::I16(Grid::from_vec(width, height, whole).unwrap())));
        }
        for named in [net, fitted, less_one] {
            let signs = all_signs(&maps(&named));
            assert!(signs.is_empty(), "seed {seed}: {:#?}", said(&signs));
        }
    }
}

/// Hot pixels, and a map that is saturated in its brightest passage: real, and left alone.
#[test]
fn hot_pixels_and_saturation_are_no_sign() {
    for seed in 1..=4 {
        let mut counts = scan(seed, 1.0);
        for (i, map) in counts.iter_mut().enumerate() {
            for k in 0..6u32 {
                let (x, y) = ((17 * k + 13 * i as u32 + 5) % 128, (29 * k + 7 * i as u32 + 3) % 96);
                map.data[(y * 128 + x) as usize] = 900 + 40 * k as u16;
            }
        }
        counts[4] = counts[4].changed(|_, _, v| if v > 180 { 65_535 } else { v * 300 });
        let signs = all_signs(&maps_of(&counts));
        assert!(signs.is_empty(), "seed {seed}: {:#?}", said(&signs));
    }
}

#[test]
#[allow(clippy::disallowed_methods)] // a test reads files
fn the_example_gives_no_sign() {
    let mut named = Vec::new();
    for line in ["Ca-K", "Ti-K", "Mn-K", "Fe-K", "Cu-K", "Zn-K", "Pb-L", "Hg-L"] {
        let path = format!("{}/demo-data/tern-sound/tern_{line}.tif", env!("CARGO_MANIFEST_DIR"));
        let Content::Maps(pages) = read(&std::fs::read(path).unwrap(), None).unwrap().content else {
            panic!("{line} holds no map")
        };
        named.push((line.replace('-', " "), pages[0].samples.clone()));
    }
    let signs = all_signs(&maps(&named));
    assert!(signs.is_empty(), "{:#?}", said(&signs));
}

#[test]
fn maps_of_one_value_of_one_pixel_and_of_none_give_no_answer() {
    let u8s = |width, height, data| Samples::U8(Grid::from_vec(width, height, data).unwrap());
    let named = [
        ("one value".to_owned(), u8s(40, 40, vec![7; 1600])),
        ("one pixel".to_owned(), u8s(1, 1, vec![7])),
        ("no pixel".to_owned(), u8s(0, 5, vec![])),
        ("blank".to_owned(), Samples::F64(Grid::from_vec(40, 40, vec![f64::NAN; 1600]).unwrap())),
        ("thin".to_owned(), u8s(1, 50, (0..50).collect())),
    ];
    for first in 0..named.len() {
        let mut turned = named.to_vec();
        turned.rotate_left(first);
        let signs = all_signs(&maps(&turned));
        assert!(signs.iter().all(|(_, sign)| matches!(sign, Sign::Binned { .. })), "{:#?}", said(&signs));
    }
    assert!(limner::inspect::stack(&[]).unwrap().is_empty());
}

/// Two elements in one symmetric design, each on its side: one mirrored fits the other, and still none lies wrong. The axis of
/// the design is that of the map (halves) or lies 3 pixels beside it (emblems).
#[test]
fn symmetric_designs_in_two_elements_are_not_mirrored_maps() {
    for seed in 1..=6 {
        let mut chance = Chance::new(seed);
        let emblem = |x: f64, y: f64| {
            let inside = (x - 26.0) * (x - 26.0) + (y - 40.0) * (y - 40.0) < 200.0 && y > 34.0 - 0.5 * x;
            if inside || (x > 20.0 && x < 24.0 && y > 50.0 && y < 80.0) { 60.0 } else { 3.0 }
        };
        let half = |x: f64| if x < 64.0 { 50.0 } else { 3.0 };
        let mut counts = vec![
            Counts::drawn("Cu K", SIZE, &mut chance, emblem),
            Counts::drawn("Pb L", SIZE, &mut chance, |x, y| emblem(134.0 - x, y)),
            Counts::drawn("Pb M", SIZE, &mut chance, |x, y| 0.4 * emblem(134.0 - x, y)),
            Counts::drawn("Fe K", SIZE, &mut chance, |x, _| half(x)),
            Counts::drawn("Ti K", SIZE, &mut chance, |x, _| half(128.0 - x)),
        ];
        for _ in 0..2 {
            let signs = all_signs(&maps_of(&counts));
            assert!(signs.is_empty(), "seed {seed}: {:#?}", said(&signs));
            counts.truncate(2);
        }
    }
}

/// Maps stretched to 8 bits, some cut at a high percentile: what is said is about the numbers, never about the picture.
#[test]
fn display_copies_are_only_told_to_be_scaled() {
    for seed in 1..=6 {
        for strength in [0.3, 1.0, 10.0] {
            for cut in [1.0, 0.995] {
                let copies: Vec<(String, Samples)> = scan(seed, strength)
                    .iter()
                    .map(|map| {
                        let mut sorted = map.data.clone();
                        sorted.sort_unstable();
                        let top = f64::from(sorted[((sorted.len() - 1) as f64 * cut) as usize].max(1));
                        let bytes =
                            map.data.iter().map(|&v| (f64::from(v) * 255.0 / top).min(255.0).round() as u8);
                        let grid = Grid::from_vec(SIZE.0, SIZE.1, bytes.collect()).unwrap();
                        (map.name.clone(), Samples::U8(grid))
                    })
                    .collect();
                let signs = all_signs(&maps(&copies));
                let is_of_scale = |sign: &Sign| {
                    matches!(sign, Sign::Stretched { .. } | Sign::Smoothed { is_correlated: false, .. })
                };
                assert!(
                    signs.iter().all(|(_, sign)| is_of_scale(sign)),
                    "{seed} {strength}: {:#?}",
                    said(&signs)
                );
            }
        }
    }
}

/// A second draw of the same scan, and parts with nothing at all in them: neither copies nor sums nor errors of each other.
#[test]
fn scans_made_twice_are_not_copies() {
    for seed in 1..=4 {
        let mut twice = scan(seed, 3.0);
        twice.extend(scan(seed + 50, 3.0));
        let signs = all_signs(&maps_of(&twice));
        assert!(signs.is_empty(), "seed {seed}: {:#?}", said(&signs));
    }
}
