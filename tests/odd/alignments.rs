//! Odd alignments.

use crate::passages::{LONGEST, SAME, align, odd, picture, region, said, seen, study, told};
use limner::numerics::chance::Chance;
use limner::study::{CompareSettings, PhotoSettings};
use serde_json::{Value, json};
use std::time::Instant;

#[test]
fn odd_alignments_give_a_transform_or_a_sentence() {
    let mut chance = Chance::new(1);
    let mut study = study();
    let models = [
        json!(null),
        json!("similarity"),
        json!("affine"),
        json!("homography"),
        json!("piecewise"),
        json!("Affine"),
        json!(3),
    ];
    let start = Instant::now();
    let (mut refused, mut troubled, mut laid) = (0, 0, 0);
    for round in 0..400 {
        let many = [0, 1, 2, 3, 4, 5, 9, 10, 14, 40][chance.below(10) as usize];
        let kind = chance.below(5);
        let points: Vec<Value> = (0..many)
            .map(|i| {
                let t = f64::from(i);
                let (x, y) = match kind {
                    0 => (odd(&mut chance), odd(&mut chance)),
                    1 => (t, 2.0 * t),
                    2 => (7.0, 8.0),
                    3 => (60.0 * chance.share(), 40.0 * chance.share()),
                    _ => (1e7 - t * 1e5 * chance.share(), 1e7 * chance.share()),
                };
                let to = if chance.below(4) == 0 {
                    [odd(&mut chance), odd(&mut chance)]
                } else {
                    [x / 2.0, y / 2.0]
                };
                json!({"from": [x, y], "to": to})
            })
            .collect();
        let mut settings = json!({"points": points, "model": models[chance.below(7) as usize]});
        if chance.below(3) == 0 {
            let matrix: Vec<f64> =
                (0..9).map(|i| if chance.below(2) == 0 { SAME[i] } else { odd(&mut chance) }).collect();
            settings["transform"] = json!(matrix);
        }
        let what = if chance.below(3) == 0 { ("map", "m3") } else { ("photo", "p1") };
        settings[what.0] = json!(what.1);
        match align(&mut study, settings.clone()) {
            Err(fault) => {
                refused += 1;
                said(&fault);
            }
            Ok(text) => {
                let trouble = text["trouble"].as_str().unwrap_or_default();
                troubled += usize::from(!trouble.is_empty());
                laid += usize::from(trouble.is_empty());
                assert!(trouble.is_empty() || trouble.ends_with('.'), "{trouble}");
                if trouble.is_empty() && !text.is_null() {
                    assert!(text["error_px"].as_f64().is_some_and(|e| e >= 0.0), "{settings}: {text}");
                    let text = text["text"].as_str().unwrap();
                    assert!(!text.contains("NaN"), "{settings}: {text}");
                }
            }
        }
        if round % 5 == 0 {
            let turns = Some(chance.below(256) as u8);
            study
                .set_photo(
                    "p1",
                    PhotoSettings { turns, mirror: Some(chance.below(2) == 0), ..Default::default() },
                )
                .unwrap();
            seen(&mut study);
            let _ = picture(&mut study, json!({"map": "m1", "photo": "p1", "mix": 0.5}))
                .map_err(|fault| said(&fault));
            let _ = study
                .compare_scans(&CompareSettings { map: "m3".into(), first: None })
                .map(|text| told(&text))
                .map_err(|fault| said(&fault));
            let _ = region(&mut study, json!({"photo": "p1", "at": [[5, 5]]})).map_err(|fault| said(&fault));
        }
    }
    println!("{refused} refused, {troubled} in trouble, {laid} laid, {:?}", start.elapsed());
    assert!(refused > 50 && troubled > 50 && laid > 50, "{refused} {troubled} {laid}");
    assert!(start.elapsed() < LONGEST);
}

#[test]
fn a_check_point_beyond_the_horizon_is_told() {
    let mut study = study();
    let aslant = [0.5, 0.0, 0.0, 0.0, 0.5, 0.0, -0.05, 0.0, 1.0];
    let points = json!([{"from": [5, 5], "to": [3, 3]}, {"from": [50, 5], "to": [9, 3]}, {"from": [6, 9], "to": [4, 6]}]);
    let text = align(&mut study, json!({"photo": "p1", "transform": aslant, "points": points})).unwrap();
    assert!(text["trouble"].as_str().unwrap().contains("Point 2"), "{text}");
    assert!(region(&mut study, json!({"photo": "p1", "at": [[5, 5]]})).is_err());
    seen(&mut study);
}

#[test]
fn more_points_than_are_set_by_hand_and_points_at_one_place() {
    let mut study = study();
    let many = |n: u32| -> Value {
        (0..n)
            .map(|i| json!({"from": [i % 60, i / 60 * 4 + i % 3], "to": [i % 60, i / 60 * 4 + i % 3]}))
            .collect()
    };
    assert!(
        align(&mut study, json!({"photo": "p1", "points": many(501)})).unwrap_err().message.contains("500")
    );
    for model in ["affine", "homography", "piecewise"] {
        let start = Instant::now();
        let text = align(&mut study, json!({"photo": "p1", "points": many(500), "model": model})).unwrap();
        println!("{model}: {:?} {}", start.elapsed(), text["trouble"]);
        assert!(start.elapsed() < LONGEST);
    }
    // At the edge of what is a place: the record can be read back, however the photo is turned.
    let far = json!([{"from": [1e7, 0], "to": [0, 0]}, {"from": [0, 1e7], "to": [1e7, 9]}]);
    study.set_photo("p1", PhotoSettings { turns: Some(2), ..Default::default() }).unwrap();
    align(&mut study, json!({"photo": "p1", "points": far})).unwrap();
    seen(&mut study);
}
