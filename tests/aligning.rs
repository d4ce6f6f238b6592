//! The example's photo laid on its maps by matching points set with the hand's error, held against places that were not
//! set. The true place of the photo is the one the example was made with (`demo-data/maker`).

#![allow(clippy::unwrap_used, clippy::disallowed_methods, missing_docs)] // a test reads files

use limner::numerics::chance::Chance;
use limner::study::{AlignSettings, AlignmentText, PhotoSettings, Study, find_alignment};
use serde_json::json;
use std::path::Path;

/// How far a hand sets a point off, in pixels of the maps along each side: a standard deviation.
const HAND: f64 = 0.3;
const SEEDS: u64 = 40;

fn study() -> Study {
    let mut study = Study::new();
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data/tern-sound");
    for name in ["tern_Fe-K.tif", "photo.png"] {
        study.open(name, &std::fs::read(folder.join(name)).unwrap());
    }
    assert_eq!((study.maps().len(), study.photos().len()), (1, 1));
    study
}

/// Where a place of the photo (632 x 472) lies on the maps (300 x 220).
fn truth([u, v]: [f64; 2]) -> [f64; 2] {
    let (x, y) = (0.25 * u - 3.8, 0.25 * v - 4.8);
    let (c, s) = (0.009f64.cos(), 0.009f64.sin());
    [2.0 * (c * x + s * y), 2.0 * (c * y - s * x)]
}

/// Twelve details all over the photo, none where a place is checked.
fn details() -> Vec<[f64; 2]> {
    (0..12).map(|i| [60.0 + 166.0 * f64::from(i % 4), 50.0 + 182.0 * f64::from(i / 4)]).collect()
}

fn set(study: &mut Study, model: &str, seed: u64) -> AlignmentText {
    let mut chance = Chance::new(seed);
    let points: Vec<_> = details()
        .into_iter()
        .map(|from| {
            let [x, y] = truth(from);
            json!({"from": from, "to": [x + HAND * chance.normal(), y + HAND * chance.normal()]})
        })
        .collect();
    let settings = json!({"photo": "p1", "model": model, "points": points});
    study.align(AlignSettings::read(settings).unwrap()).unwrap().unwrap()
}

/// Root of the mean square distance at 49 places that were not set, by the nine numbers that a caller is given.
fn off(alignment: &AlignmentText) -> f64 {
    let m = alignment.transform.unwrap();
    let place = |i: u32| [40.0 + 92.0 * f64::from(i % 7), 36.0 + 66.0 * f64::from(i / 7)];
    let squares = (0..49).map(place).map(|at| {
        let row = |k: usize| m[k] * at[0] + m[k + 1] * at[1] + m[k + 2];
        let [x, y] = truth(at);
        (row(0) / row(6) - x).powi(2) + (row(3) / row(6) - y).powi(2)
    });
    (squares.sum::<f64>() / 49.0).sqrt()
}

#[test]
fn points_set_by_hand_lay_the_photo_within_half_a_pixel_at_places_that_were_not_set() {
    let mut study = study();
    for model in ["similarity", "affine", "homography"] {
        let (mut worst, mut squares, mut left_out) = (0.0f64, 0.0, 0.0);
        for seed in 0..SEEDS {
            let alignment = set(&mut study, model, seed);
            assert_eq!(alignment.trouble, "");
            let off = off(&alignment);
            worst = worst.max(off);
            squares += off * off;
            left_out += alignment.left_out_rms_px.unwrap().powi(2);
        }
        let (usual, left_out) = ((squares / SEEDS as f64).sqrt(), (left_out / SEEDS as f64).sqrt());
        println!("{model}: {usual:.3} px rms, {worst:.3} at worst; left out {left_out:.3}");
        assert!(worst <= 0.5, "{model}: {worst} px off at worst");
        // What the left-out points say holds the hand's own error, 0.3 √2, and so is not smaller than the truth.
        assert!(left_out > usual && left_out > HAND * 2.0f64.sqrt() && left_out < 1.0, "{model}: {left_out}");
    }
}

#[test]
fn points_that_are_exact_lay_it_exactly_also_mirrored_and_turned() {
    let mut study = study();
    let exact = |study: &mut Study, moved: &dyn Fn([f64; 2]) -> [f64; 2]| {
        let points: Vec<_> =
            details().into_iter().map(|from| json!({"from": moved(from), "to": truth(from)})).collect();
        let settings = json!({"photo": "p1", "model": "affine", "points": points});
        study.align(AlignSettings::read(settings).unwrap()).unwrap().unwrap()
    };
    assert!(off(&exact(&mut study, &|from| from)) < 1e-9);
    let verso = PhotoSettings { side: Some("verso".into()), turns: Some(1), ..PhotoSettings::default() };
    study.set_photo("p1", verso).unwrap();
    // Mirrored, (u, v) is at (632 - u, v); a quarter clockwise after that at (472 - v, 632 - u).
    let alignment = exact(&mut study, &|[u, v]| [472.0 - v, 632.0 - u]);
    assert!(alignment.rms_px.unwrap() < 1e-9 && alignment.text.starts_with("12 points"), "{alignment:?}");
    let corner = alignment.corners[0].unwrap();
    let wanted = truth([632.0, 472.0]);
    assert!((corner[0] - wanted[0]).abs() < 1e-9 && (corner[1] - wanted[1]).abs() < 1e-9, "{corner:?}");
}

#[test]
fn the_photo_is_found_and_proposed_and_one_that_shows_something_else_is_not() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut study = study();
    for name in ["Ca-K", "Cu-K", "Hg-L", "Mn-K", "Pb-L", "Ti-K", "Zn-K"] {
        let path = folder.join(format!("demo-data/tern-sound/tern_{name}.tif"));
        study.open(name, &std::fs::read(path).unwrap());
    }
    study.open("sky.png", &std::fs::read(folder.join("tests/cases/pictures/photo_sky.png")).unwrap());
    let find = |study: &Study, photo: &str| {
        let mut last = 0.0;
        let mut progress = |share: f64, text: &str| {
            assert!((last..=1.0).contains(&share) && !text.is_empty(), "{last} {share} {text}");
            last = share;
        };
        find_alignment(&study.subject_to_align(photo).unwrap(), &mut progress).unwrap()
    };
    let before = study.record();
    let found = find(&study, "p1");
    println!("{}", found.text);
    assert!(found.is_accepted && found.measure_after > found.measure_before, "{found:?}");
    let other = find(&study, "p2");
    println!("{}", other.text);
    assert!(!other.is_accepted && other.text.starts_with("Not found"), "{other:?}");
    assert_eq!(study.record(), before, "a search changes nothing");
    let settings = json!({"photo": "p1", "transform": found.transform, "points": []});
    let alignment = study.align(AlignSettings::read(settings).unwrap()).unwrap().unwrap();
    assert_eq!((alignment.model.as_str(), &alignment.corners), ("found", &found.corners));
    let off = off(&alignment);
    println!("{off:.3} px off");
    assert!(off <= 1.0, "{off} px off");
    assert_eq!(study.subject_to_align("p9").unwrap_err().code, "unknown_photo");
}
