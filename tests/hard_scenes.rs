//! Ordinary scans on which an earlier form of the questions closed with a wrong strong statement. Each scene says what is true;
//! the answer may abstain, but not say the opposite. Invented data, 128 x 96 pixels, Poisson counts.
#![allow(clippy::unwrap_used)] // a test may fail

use limner::ask::Answer;
use limner::numerics::chance::Chance;
use limner::study::Study;
use serde_json::{Value, json};

const WIDTH: u32 = 128;
const HEIGHT: u32 = 96;

fn npy(values: impl Fn(u32, u32) -> u64) -> Vec<u8> {
    let header = format!("{{'descr': '<u2', 'fortran_order': False, 'shape': ({HEIGHT}, {WIDTH}), }}\n");
    let mut out = b"\x93NUMPY\x01\x00".to_vec();
    out.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
    out.extend(header.as_bytes());
    for y in 0..HEIGHT {
        for x in 0..WIDTH {
            out.extend(u16::try_from(values(x, y)).unwrap().to_le_bytes());
        }
    }
    out
}

/// A file's name and the mean counts of its pixels.
type Means<'a> = (&'a str, &'a dyn Fn(u32, u32) -> f64);

/// Maps of Poisson counts by their means, of kind window, under these names.
fn study(seed: u64, maps: &[Means<'_>]) -> Study {
    let mut study = Study::new();
    for (place, (name, mean)) in maps.iter().enumerate() {
        let chance = std::cell::RefCell::new(Chance::new(seed * 100 + place as u64));
        let bytes = npy(|x, y| chance.borrow_mut().poisson(mean(x, y)));
        let opened = study.open(&format!("{name}.npy"), &bytes);
        let stated = serde_json::from_value(json!({"kind": "window"})).unwrap();
        study.set_map(&opened.maps[0], stated).unwrap();
    }
    study
}

fn region(study: &mut Study, region: Value) {
    study.add_region(serde_json::from_value(region).unwrap()).unwrap();
}

fn ask(study: &mut Study, question: &str, settings: Value) -> Answer {
    study.ask(question, settings, &mut |_, _| {}).unwrap().0
}

fn disc(x: u32, y: u32) -> bool {
    let (dx, dy) = (f64::from(x) - 64.0, f64::from(y) - 48.0);
    dx * dx + dy * dy < 36.0 * 36.0
}

#[test]
fn an_element_over_half_of_the_field_is_not_called_background() {
    for (low, high) in [(20.0, 40.0), (20.0, 28.0), (10.0, 14.0), (2.0, 8.0), (1.0, 3.0)] {
        let mut study = study(1, &[("Fe-K", &|x, _| if x < 64 { low } else { high })]);
        region(
            &mut study,
            json!({"name": "right", "rectangle": {"x": 66, "y": 2, "width": 60, "height": 90}}),
        );
        for settings in [json!({"map": "Fe K"}), json!({"map": "Fe K", "region": "right"})] {
            let answer = ask(&mut study, "faint", settings);
            assert_ne!(answer.verdict, "not detected (below x)", "{low} and {high}: {}", answer.sentence);
        }
    }
}

#[test]
fn a_faint_wash_of_a_beside_b_is_not_overlooked() {
    for wash in [1.5, 2.5, 4.0] {
        let b = |x, y| if disc(x, y) { 100.0 } else { 0.0 };
        let a = move |x: u32, y: u32| 3.0 + 0.25 * b(x, y) + if x > 100 { wash } else { 0.0 };
        let mut study = study(2, &[("Mn-K", &a), ("Fe-K", &|x, y| 4.0 + b(x, y))]);
        let answer = ask(&mut study, "apart", json!({"a": "Mn K", "b": "Fe K"}));
        assert_ne!(answer.verdict, "no more A than accompanies B", "{wash}: {}", answer.sentence);
    }
}

#[test]
fn b_that_its_own_background_swallowed_is_not_called_missing() {
    let b = |x: u32| if x < 30 { 100.0 } else { 0.0 };
    let wash = |x: u32, of: f64| if x > 64 { of } else { 0.0 };
    let a = |x: u32, _: u32| 3.0 + 0.25 * b(x) + wash(x, 20.0);
    let mut study = study(3, &[("Mn-K", &a), ("Fe-K", &|x, _| 4.0 + b(x) + wash(x, 8.0))]);
    let answer = ask(&mut study, "apart", json!({"a": "Mn K", "b": "Fe K"}));
    assert_ne!(answer.verdict, "more A than accompanies B", "{}", answer.sentence);
}

#[test]
fn a_ratio_on_a_swallowed_signal_is_not_called_one_value() {
    let b = |x, y| if disc(x, y) { 15.0 } else { 0.0 };
    let mut study = study(4, &[("Cu-K", &|x, y| 3.0 + 0.25 * b(x, y)), ("Pb-L", &|x, y| 4.0 + b(x, y))]);
    region(&mut study, json!({"name": "inside", "rectangle": {"x": 45, "y": 30, "width": 36, "height": 36}}));
    let answer = ask(&mut study, "ratio", json!({"a": "Cu K", "b": "Pb L", "region": "inside"}));
    assert_eq!(answer.verdict, "cannot be judged", "{}", answer.sentence);
}

#[test]
fn the_dark_pixels_of_a_map_are_no_background_of_it() {
    let mut study = study(5, &[("Fe-K", &|_, _| 20.0)]);
    region(&mut study, json!({"name": "dark", "threshold": {"map": "Fe K", "high": 17}}));
    region(&mut study, json!({"name": "place", "rectangle": {"x": 20, "y": 20, "width": 60, "height": 50}}));
    let answer = ask(&mut study, "faint", json!({"map": "Fe K", "region": "place", "background": "dark"}));
    assert_eq!(answer.verdict, "cannot be judged here", "{}", answer.sentence);
    assert!(answer.sentence.contains("made from Fe K itself"), "{}", answer.sentence);
}

#[test]
fn a_sum_and_another_file_of_the_same_line_make_a_region_too() {
    let maps: [Means<'_>; 3] = [("Fe-K", &|_, _| 20.0), ("Fe-K_fit", &|_, _| 20.0), ("Cu-K", &|_, _| 9.0)];
    let mut study = study(6, &maps);
    region(&mut study, json!({"name": "bright", "threshold": {"map": "m2", "low": 22}}));
    assert_eq!(
        ask(&mut study, "faint", json!({"map": "m1", "region": "bright"})).verdict,
        "cannot be judged here"
    );
    let held_out = json!({"map": "m1", "region": "bright", "held_out": {"m1": "m2"}});
    let fault = study.ask("faint", held_out, &mut |_, _| {}).unwrap_err();
    assert!(fault.message.contains("the same line"), "{fault:?}");
    let sum = serde_json::from_value(json!({"role": "sum"})).unwrap();
    study.set_map("m3", sum).unwrap();
    region(&mut study, json!({"name": "bright in all", "threshold": {"map": "m3", "low": 11}}));
    let answer = ask(&mut study, "faint", json!({"map": "m1", "region": "bright in all"}));
    assert_eq!(answer.verdict, "cannot be judged here", "{}", answer.sentence);
}

#[test]
fn maps_shifted_by_two_or_three_pixels_are_not_called_apart() {
    let b = |x: u32, y: u32| if disc(x, y) { 400.0 } else { 0.0 };
    for shift in [2, 3] {
        let a = move |x: u32, y: u32| 3.0 + 0.25 * b(x.saturating_sub(shift), y);
        let mut study = study(7, &[("Mn-K", &a), ("Fe-K", &|x, y| 4.0 + b(x, y))]);
        for (one, other) in [("Mn K", "Fe K"), ("Fe K", "Mn K")] {
            let answer = ask(&mut study, "apart", json!({"a": one, "b": other}));
            assert_ne!(answer.verdict, "more A than accompanies B", "{shift}: {}", answer.sentence);
        }
    }
}

#[test]
fn four_blazing_pixels_are_not_called_background() {
    let spot = |x: u32, y: u32| (60..62).contains(&x) && (40..42).contains(&y);
    let mut study = study(8, &[("Au-L", &|x, y| if spot(x, y) { 500.0 } else { 20.0 })]);
    region(&mut study, json!({"name": "bare", "rectangle": {"x": 0, "y": 0, "width": 30, "height": 90}}));
    region(&mut study, json!({"name": "place", "rectangle": {"x": 32, "y": 0, "width": 96, "height": 96}}));
    let answer = ask(&mut study, "faint", json!({"map": "Au L", "region": "place", "background": "bare"}));
    assert_ne!(answer.verdict, "not detected (below x)", "{}", answer.sentence);
}

#[test]
fn one_spot_does_not_make_two_maps_rise_and_fall_together() {
    let spot = |x: u32, y: u32| (60..66).contains(&x) && (40..46).contains(&y);
    for seed in 1..7 {
        let a = |x: u32, y: u32| if spot(x, y) { 400.0 } else { 20.0 };
        let mut study = study(seed, &[("Cu-K", &a), ("Fe-K", &|x, y| if spot(x, y) { 300.0 } else { 20.0 })]);
        let answer = ask(&mut study, "together", json!({"a": "Cu K", "b": "Fe K"}));
        assert_ne!(answer.verdict, "rise and fall together", "{seed}: {}", answer.sentence);
    }
}

#[test]
fn what_was_not_judged_keeps_the_whole_from_showing_no_difference() {
    let pb = |x: u32, _: u32| if x < 64 { 30_000.0 } else { 0.0 };
    let mut study = study(9, &[("Fe-K", &|_, _| 20.0), ("Ca-K", &|_, _| 9.0)]);
    let bytes = npy(|x, y| if x < 64 { pb(x, y) as u64 } else { u64::from(u16::MAX) });
    study.open("Pb-L.npy", &bytes);
    study.set_map("Pb L", serde_json::from_value(json!({"kind": "window"})).unwrap()).unwrap();
    region(&mut study, json!({"name": "left", "rectangle": {"x": 5, "y": 5, "width": 50, "height": 80}}));
    region(&mut study, json!({"name": "right", "rectangle": {"x": 70, "y": 5, "width": 50, "height": 80}}));
    let answer = ask(&mut study, "regions", json!({"regions": ["left", "right"], "maps": ["Fe K", "Pb L"]}));
    assert_ne!(answer.verdict, "no difference seen", "{}", answer.sentence);
}
