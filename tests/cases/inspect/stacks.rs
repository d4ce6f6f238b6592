//! Stacks with one known trouble: the sign is raised of the right maps, with the right parameters.

use super::scene::{Chance, Counts, ELEMENTS, SIZE, all_signs, expected, maps, maps_of, scan};
use super::single::{drawing_lies_in, is_drawn};
use limner::grid::{Grid, Samples};
use limner::inspect::{Found, stack};
use limner::notice::{Offer, Patch, Severity, Sign, Turn};
use limner::stack::Map;

const ALL: [&str; 8] = ["m1", "m2", "m3", "m4", "m5", "m6", "m7", "m8"];

fn signs(counts: &[Counts]) -> Vec<Found> {
    let maps = maps_of(counts);
    stack(&maps.iter().collect::<Vec<&Map>>()).unwrap()
}

/// The only sign, of exactly these maps.
fn only(counts: &[Counts], of: &[&str], context: &str) -> Sign {
    let found = signs(counts);
    assert_eq!(found.len(), 1, "{context}: {found:#?}");
    assert_eq!(found[0].maps.iter().map(|id| id.as_str()).collect::<Vec<_>>(), of, "{context}");
    found[0].sign.clone()
}

#[test]
fn a_black_border_of_all_maps_is_measured() {
    for seed in 1..=4 {
        for fill in [0, 65_535] {
            let counts: Vec<Counts> = scan(seed, 1.0)
                .iter()
                .map(|map| {
                    map.moved((140, 101), fill, |x, y| {
                        ((7..135).contains(&x) && (4..100).contains(&y)).then(|| (x - 7, y - 4))
                    })
                })
                .collect();
            let Sign::Margin { patches, is_zero, maps: 8 } = signs(&counts)[0].sign.clone() else {
                panic!("{:?}", signs(&counts))
            };
            let patch = |x, y, width, height| Patch { x, y, width, height };
            let want = [patch(0, 0, 140, 4), patch(0, 100, 140, 1), patch(0, 4, 7, 96), patch(135, 4, 5, 96)];
            assert_eq!((patches.as_slice(), is_zero), (want.as_slice(), fill == 0));
        }
    }
}

#[test]
fn a_stopped_scan_is_found_with_the_column_where_it_stopped() {
    for seed in 1..=4 {
        for strength in [0.3, 1.0, 10.0] {
            let stopped = |top: bool| -> Vec<Counts> {
                let cut = |x: u32, y: u32, v: u16| {
                    let y = if top { 95 - y } else { y };
                    if y > 60 || (y == 60 && x >= 50) { 0 } else { v }
                };
                scan(seed, strength).iter().map(|map| map.changed(cut)).collect()
            };
            let sign = only(&stopped(false), &ALL, "below");
            let Sign::Aborted { row: 61, at_top: false, column: Some(column), ref patches } = sign else {
                panic!("{sign:?}")
            };
            // The last pixel that counted something in any map; at this strength the very last one nearly always did.
            assert!((46..=50).contains(&column), "{column}");
            assert_eq!(patches[0], Patch { x: 0, y: 61, width: 128, height: 35 });
            assert_eq!(sign.severity(), Severity::Warning);
            let sign = only(&stopped(true), &ALL, "above");
            assert!(matches!(sign, Sign::Aborted { row: 34, at_top: true, column: Some(_), .. }), "{sign:?}");
        }
        let whole: Vec<Counts> =
            scan(seed, 1.0).iter().map(|map| map.changed(|_, y, v| if y > 70 { 0 } else { v })).collect();
        let sign = only(&whole, &ALL, "at a row's end");
        assert!(matches!(sign, Sign::Aborted { row: 71, column: None, .. }), "{sign:?}");
        assert_eq!(sign.severity(), Severity::Info, "nothing may have been counted there");
    }
}

#[test]
fn the_same_drawing_in_several_maps_is_found_bright_and_dark() {
    for seed in 1..=4 {
        let drawn: Vec<Counts> = scan(seed, 1.0)
            .iter()
            .map(|map| map.changed(|x, y, v| if is_drawn(x, y) { 255 } else { v.min(255) }))
            .collect();
        let found = signs(&drawn);
        let sign = found.iter().find(|f| f.sign.code() == "burnt_in").unwrap();
        let Sign::BurntIn { patches, maps: 8 } = &sign.sign else { panic!("{sign:?}") };
        assert!(drawing_lies_in(patches), "{patches:?}");
        assert_eq!(sign.sign.severity(), Severity::Warning);
        // In two maps of eight.
        let mut two = scan(seed, 1.0);
        for i in [2, 5] {
            two[i] = two[i].changed(|x, y, v| if is_drawn(x, y) { 900 } else { v });
        }
        let sign = only(&two, &["m3", "m6"], "two maps");
        assert!(matches!(sign, Sign::BurntIn { maps: 2, .. }), "{sign:?}");
        // Dark on bright maps.
        let dark: Vec<Counts> = scan(seed, 20.0)
            .iter()
            .map(|map| map.changed(|x, y, v| if is_drawn(x, y) { 0 } else { v }))
            .collect();
        let found = signs(&dark);
        assert!(
            found
                .iter()
                .any(|f| matches!(&f.sign, Sign::BurntIn { patches, .. } if drawing_lies_in(patches))),
            "{found:?}"
        );
    }
}

fn turned(map: &Counts, turn: Turn) -> Counts {
    let mut out = map.clone();
    if turn.mirror {
        let (width, height) = out.size;
        out = out.moved((width, height), 0, |x, y| Some((width - 1 - x, y)));
    }
    for _ in 0..turn.quarter_turns {
        let (width, height) = out.size;
        out = out.moved((height, width), 0, |x, y| Some((y, height - 1 - x)));
    }
    out
}

#[test]
fn a_map_that_lies_otherwise_is_found_with_the_way_back() {
    let ways =
        [(2, false), (0, true), (2, true)].map(|(quarter_turns, mirror)| Turn { quarter_turns, mirror });
    for seed in 1..=4 {
        for way in ways {
            let mut counts = scan(seed, 1.0);
            counts[5] = turned(&counts[5], way);
            let found = signs(&counts);
            let [Found { maps, sign: Sign::Turned { turn, like, .. } }] = &found[..] else {
                panic!("{way:?}: {found:#?}")
            };
            // These three ways undo themselves. Pb M resembles Pb L.
            assert_eq!((*turn, like.label.as_str()), (way, "Pb L"), "seed {seed}");
            assert_eq!(maps[0].as_str(), "m6");
        }
        for way in [(1, false), (3, false), (1, true), (3, true)] {
            let way = Turn { quarter_turns: way.0, mirror: way.1 };
            let mut counts = scan(seed, 1.0);
            counts[5] = turned(&counts[5], way);
            let sign = only(&counts, &["m6"], "turned a quarter");
            let Sign::SidesSwapped { turn: Some(back) } = sign else { panic!("{sign:?}") };
            assert_eq!(turned(&counts[5], back).data, scan(seed, 1.0)[5].data, "{way:?} by {back:?}");
        }
    }
}

#[test]
fn a_turned_map_that_resembles_no_other_is_not_guessed() {
    let mut counts = scan(1, 1.0);
    counts[7] = Counts::drawn("Ti K", (96, 128), &mut Chance::new(5), |x, _| 0.3 + x / 900.0);
    let sign = only(&counts, &["m8"], "hardly a pattern");
    assert_eq!(sign, Sign::SidesSwapped { turn: None });
    assert_eq!(sign.offer(), None);
}

#[test]
fn lines_short_or_long_are_placed_by_the_pattern() {
    let cases: [((u32, u32), (i64, i64)); 6] = [
        ((128, 95), (0, 0)),
        ((128, 95), (0, 1)),
        ((127, 96), (1, 0)),
        ((127, 96), (0, 0)),
        ((126, 95), (2, 1)),
        ((128, 97), (0, -1)),
    ];
    for seed in 1..=4 {
        for (size, (dx, dy)) in cases {
            let mut counts = scan(seed, 2.0);
            let mut chance = Chance::new(seed + 100);
            counts[3] = Counts::drawn("Zn K", size, &mut chance, |x, y| {
                expected(ELEMENTS[3], x + dx as f64, y + dy as f64, 2.0)
            });
            let sign = only(&counts, &["m4"], "a line");
            let Sign::LineCount { columns, rows, place } = sign else { panic!("{sign:?}") };
            assert_eq!((columns, rows), (i64::from(size.0) - 128, i64::from(size.1) - 96));
            assert_eq!(place, Some((dx, dy)), "seed {seed}, {size:?}");
        }
        // Nothing in a flat map shows where the row is missing.
        let mut counts = scan(seed, 1.0);
        counts[7] = Counts::drawn("Ti K", (128, 95), &mut Chance::new(seed), |_, _| 0.4);
        let sign = only(&counts, &["m8"], "flat");
        assert_eq!((sign.offer(), sign.code()), (None, "line_count"));
    }
}

#[test]
fn padded_cropped_and_binned_maps_are_told_apart() {
    for seed in 1..=4 {
        let clean = scan(seed, 1.0);
        let mut counts = clean.clone();
        counts[2] = counts[2].moved((150, 100), 0, |x, y| {
            ((20..148).contains(&x) && (1..97).contains(&y)).then(|| (x - 20, y - 1))
        });
        let inside = Patch { x: 20, y: 1, width: 128, height: 96 };
        assert_eq!(only(&counts, &["m3"], "padded"), Sign::Padded { inside });

        let mut counts = clean.clone();
        counts[5] = counts[5].moved((70, 60), 0, |x, y| Some((x + 19, y + 7)));
        let sign = only(&counts, &["m6"], "cropped");
        let Sign::Cropped { x: 19, y: 7, ref like } = sign else { panic!("{sign:?}") };
        assert_eq!((like.label.as_str(), sign.offer()), ("Pb L", Some(Offer::Place { x: 19, y: 7 })));

        for (across, down) in [(2, 2), (4, 4), (1, 2), (3, 3)] {
            let mut counts = clean.clone();
            let full = counts[4].clone();
            let size = (128 / across, 96 / down);
            let mut binned = full.moved(size, 0, |_, _| None);
            binned = binned.changed(|x, y, _| {
                let pixels = (0..down).flat_map(|j| (0..across).map(move |i| (x * across + i, y * down + j)));
                pixels.map(|(x, y)| full.at(x, y)).sum()
            });
            counts[4] = binned;
            assert_eq!(only(&counts, &["m5"], "binned"), Sign::Binned { across, down });
        }
    }
}

/// A scan in both directions: odd rows (from 0) lie `shift` pixels to the right.
fn shifted(seed: u64, strength: f64, shift: f64) -> Vec<Counts> {
    let mut chance = Chance::new(seed);
    ELEMENTS
        .iter()
        .map(|&of| {
            Counts::drawn(of.name, SIZE, &mut chance, |x, y| {
                let moved = if (y as u32) % 2 == 1 { shift } else { 0.0 };
                expected(of, x - moved, y, strength)
            })
        })
        .collect()
}

#[test]
fn a_shift_of_every_second_row_is_measured() {
    for seed in 1..=5 {
        for strength in [1.0, 10.0] {
            for shift in [-2.0, -0.5, 0.5, 0.75, 1.0, 1.5, 3.25] {
                let sign =
                    only(&shifted(seed, strength, shift), &ALL, &format!("seed {seed}, {strength}, {shift}"));
                let Sign::LineShift { pixels, error } = sign else { panic!("{sign:?}") };
                assert!((pixels - shift).abs() < 0.15, "{pixels} ± {error} for {shift}, strength {strength}");
            }
            for shift in [-0.1, 0.0, 0.1] {
                assert_eq!(signs(&shifted(seed, strength, shift)), [], "{shift} is below the limit");
            }
        }
    }
}

#[test]
fn copies_sums_and_roots_are_found_by_numbers() {
    for seed in 1..=4 {
        let clean = scan(seed, 1.0);
        let mut counts = clean.clone();
        counts.push(Counts { name: "Au L".into(), ..counts[1].clone() });
        let sign = only(&counts, &["m9"], "copy");
        assert!(matches!(&sign, Sign::SameAs { other } if other.label == "Fe K"), "{sign:?}");

        let sum_of =
            |which: &[usize]| clean[0].changed(|x, y, _| which.iter().map(|&i| clean[i].at(x, y)).sum());
        for which in [vec![1, 4], vec![0, 1, 2, 3, 4, 5, 6, 7], vec![6, 7]] {
            let mut counts = clean.clone();
            counts.push(Counts { name: "sum".into(), ..sum_of(&which) });
            let sign = only(&counts, &["m9"], "sum");
            let Sign::SumOf { ref others, is_exact: true } = sign else { panic!("{sign:?}") };
            let labels: Vec<&str> = others.iter().map(|o| o.label.as_str()).collect();
            assert_eq!(labels, which.iter().map(|&i| ELEMENTS[i].name).collect::<Vec<_>>());
        }
        let mut counts = clean.clone();
        let sum = sum_of(&[2, 4]).changed(|x, y, v| v + ((x * 7 + y * 5) % 3) as u16);
        counts.push(Counts { name: "sum".into(), ..sum });
        let found = signs(&counts);
        assert!(found.iter().all(|f| matches!(f.sign, Sign::SumOf { is_exact: false, .. })), "{found:?}");

        let mut named: Vec<(String, Samples)> = clean.iter().map(|c| (c.name.clone(), c.samples())).collect();
        let error = clean[4].f64s().iter().map(|v| (v + 4.0).sqrt()).collect();
        named.push(("sigma".into(), Samples::F64(Grid::from_vec(128, 96, error).unwrap())));
        let maps = maps(&named);
        let found = stack(&maps.iter().collect::<Vec<_>>()).unwrap();
        assert!(
            matches!(&found[..], [Found { sign: Sign::RootOf { other }, .. }] if other.label == "Pb L"),
            "{found:?}"
        );
    }
}

#[test]
fn maps_that_all_end_at_the_full_value_are_asked_about() {
    let full: Vec<Counts> = scan(1, 1.0)
        .iter()
        .map(|map| {
            let top = f64::from(*map.data.iter().max().unwrap());
            map.changed(|_, _, v| (f64::from(v) * 65_535.0 / top).round() as u16)
        })
        .collect();
    let found = all_signs(&maps_of(&full));
    assert!(
        found
            .iter()
            .any(|(ids, sign)| ids.len() == 8 && *sign == Sign::CommonMaximum { value: 65_535.0, maps: 8 })
    );
    let mut seven = full;
    seven[3] = scan(1, 1.0)[3].clone();
    assert!(!all_signs(&maps_of(&seven)).iter().any(|(_, sign)| sign.code() == "common_maximum"));
}

#[test]
fn every_sign_says_what_to_do_and_every_offer_has_a_label() {
    let mut counts = shifted(1, 1.0, 1.0);
    counts[5] = turned(&counts[5], Turn { quarter_turns: 0, mirror: true });
    counts.push(Counts { name: "Au L".into(), ..counts[1].clone() });
    for found in signs(&counts) {
        let text = found.sign.to_string();
        assert!(
            text.ends_with('.') && text.matches(". ").count() + text.matches("? ").count() >= 1,
            "{text}"
        );
        if let Some(offer) = found.sign.offer() {
            assert!(!offer.label().is_empty() && !offer.label().ends_with('.'), "{}", offer.label());
        }
    }
}
