//! Odd photos, alignments, colours, zones, second scans and records: each call ends in an answer without a number that is
//! none, or in one sentence that says what is wrong; nothing panics and nothing takes long.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

#[path = "odd/alignments.rs"]
mod alignments;
#[path = "odd/making.rs"]
#[allow(dead_code)] // the files that it makes are those of other tests too
mod making;
#[path = "odd/passages.rs"]
mod passages;
#[path = "odd/photos.rs"]
mod photos;
#[path = "odd/records.rs"]
mod records;

use limner::notice::Fault;
use limner::numerics::chance::Chance;
use limner::study::{CompareSettings, Derivation, MapRecord, ObjectSettings, Study};
use passages::{CORNERS, LONGEST, SAME, align, odd, picture, region, said, seen, study, told};
use serde_json::{Value, json};
use std::time::Instant;

#[test]
fn odd_pictures_are_drawn_or_refused() {
    let mut study = study();
    let mut chance = Chance::new(2);
    let start = Instant::now();
    let mut drawn = 0;
    for _ in 0..300 {
        let mut settings = json!({"photo": "p1"});
        let share = [f64::NAN, 2.0, -1.0, 0.0, 1.0, 0.5, 1e-300][chance.below(7) as usize];
        match chance.below(5) {
            0 => settings["on"] = json!(["grid", "photo", ""][chance.below(3) as usize]),
            1 => {
                settings["map"] = json!(["m1", "m3", "m9", "p1"][chance.below(4) as usize]);
                settings["mix"] = json!(share);
            }
            2 => {
                settings["lights"] =
                    json!([{"map": "m1"}, {"map": "m2", "low": 1e300, "high": -1e300, "gamma": -2}]);
                settings["divide"] = json!(share);
                settings["divide_along"] = json!(["x", "y", "z"][chance.below(3) as usize]);
            }
            3 => settings["mix"] = json!(share),
            _ => {}
        }
        if chance.below(2) == 0 {
            let matrix: Vec<f64> =
                (0..9).map(|i| if chance.below(3) > 0 { SAME[i] } else { odd(&mut chance) }).collect();
            settings["photo_transform"] = json!(matrix);
        }
        if chance.below(2) == 0 {
            let out = [0, 1, 7, 40, 16_385, u32::MAX][chance.below(6) as usize];
            settings["view"] = json!({"x": odd(&mut chance), "y": odd(&mut chance), "width": odd(&mut chance),
                "height": odd(&mut chance), "out_width": out, "out_height": 1 + chance.below(40)});
        }
        match picture(&mut study, settings) {
            Ok(_) => drawn += 1,
            Err(fault) => said(&fault),
        }
    }
    println!("{drawn} drawn in {:?}", start.elapsed());
    assert!(drawn > 20, "{drawn}");
    for (x, side) in [(-9e8, 9e8), (1e8, 1e-9), (0.0, 1e-300), (5.0, 9.9e8)] {
        let view =
            json!({"x": x, "y": 2, "width": side, "height": side, "out_width": 16_384, "out_height": 5});
        for way in [
            json!({"photo": "p1", "view": view}),
            json!({"photo": "p1", "on": "grid", "view": view}),
            json!({"map": "m1", "photo": "p1", "mix": 0.5, "view": view}),
        ] {
            assert_eq!(picture(&mut study, way).unwrap(), (16_384, 5));
        }
    }
    assert!(start.elapsed() < LONGEST);
}

#[test]
fn odd_colours_make_regions_or_are_refused() {
    let mut study = study();
    let mut chance = Chance::new(3);
    let start = Instant::now();
    let refused = [
        json!({"photo": "p1"}),
        json!({"photo": "p1", "at": vec![[5, 5]; 1000]}),
        json!({"photo": "p1", "at": [[5, 5]], "except": vec![[5, 5]; 1000]}),
        json!({"photo": "p1", "at": [[500, 5]]}),
        json!({"photo": "p1", "at": [[5, 5]], "alike": 0}),
        json!({"photo": "p1", "at": [[5, 5]], "alike": -1}),
        json!({"photo": "p1", "at": [[5, 5]], "alike": 1e9}),
        json!({"photo": "p1", "at": [[5, 5]], "smallest_px": u32::MAX}),
        json!({"photo": "p1", "at": [[5, 5]], "smallest_px": -1}),
        json!({"photo": "p7", "at": [[5, 5]]}),
        json!({"photo": "p1", "at": [[5, 5]], "like": 3}),
        json!({"photo": "p1", "at": [[null, 5]]}),
    ];
    for settings in refused {
        said(&region(&mut study, settings).unwrap_err());
    }
    let mut made = 0;
    for _ in 0..150 {
        let mut places = || -> Vec<[f64; 2]> {
            (0..chance.below(4)).map(|_| [chance.share() * 33.0, chance.share() * 21.0]).collect()
        };
        let (at, except) = (places(), places());
        let settings = json!({"photo": "p1", "at": at, "except": except, "alike": odd(&mut chance), "smallest_px": chance.below(9),
            "connected": chance.below(2) == 0, "rim": chance.below(2) == 0});
        match region(&mut study, settings) {
            Ok(_) => made += 1,
            Err(fault) => said(&fault),
        }
    }
    assert!(made > 15, "{made}");
    // The very place that is wanted is not wanted.
    region(&mut study, json!({"photo": "p1", "at": [[5, 5]], "except": [[5, 5]]})).unwrap();
    assert!(start.elapsed() < LONGEST);
}

#[test]
fn odd_marks_of_the_object_are_refused() {
    let mut study = study();
    let mut chance = Chance::new(4);
    let good = json!({"corner": "upper left", "at": [0, 0], "across": [29, 0], "down": [0, 19]});
    let set = |study: &mut Study, settings: Value| {
        study.set_object(ObjectSettings::read(settings)?).map(|text| told(&text))
    };
    set(&mut study, good.clone()).unwrap();
    for (key, value) in [
        ("corner", json!("middle")),
        ("across", json!([0, 0])),
        ("down", json!([29, 0])),
        ("at", json!([1e300, 0])),
        ("alignment_px", json!(-1)),
        ("alignment_px", json!(1e300)),
        ("photo", json!("p9")),
        ("angle", json!(3)),
    ] {
        let mut settings = good.clone();
        settings[key] = value;
        said(&set(&mut study, settings.clone()).err().unwrap_or_else(|| panic!("{settings}")));
    }
    for _ in 0..300 {
        let mut settings = json!({"corner": CORNERS[chance.below(4) as usize]});
        for key in ["at", "across", "down"] {
            settings[key] = json!([odd(&mut chance), odd(&mut chance)]);
        }
        let _ = set(&mut study, settings).map_err(|fault| said(&fault));
        told(&study.read_out(7.0, 9.0, None).unwrap());
        told(&study.object());
    }
    seen(&mut study);
}

#[test]
fn odd_zones_and_scans_are_answered_or_refused() {
    let mut study = study();
    let start = Instant::now();
    let ask = |study: &mut Study, settings: Value| {
        study.ask("regions", settings, &mut |_, _| {}).map(|(answer, _)| told(&answer))
    };
    for settings in [
        json!({"zones": 1}),
        json!({"zones": 200}),
        json!({"zones": 3, "coherence": 99}),
        json!({"zones": 3, "maps": ["m9"]}),
        json!({"zones": 3, "zones_by": "x"}),
        json!({"zones": -1}),
        json!({"zones": 3, "region": "r9"}),
        json!({"zones": 3, "seed": 1e300}),
        json!({"zones": 3, "maps": ["m1", "m3"]}),
    ] {
        said(&ask(&mut study, settings.clone()).err().unwrap_or_else(|| panic!("{settings}")));
    }
    for settings in [
        json!({"zones": 3, "maps": []}),
        json!({"zones": 10, "maps": ["m1", "m1", "Cu K"]}),
        json!({"zones": 0, "maps": ["m1"]}),
        json!({"zones": 4, "zones_by": "parts", "maps": ["m2"]}),
        json!({"zones": 0, "zones_by": "parts"}),
        json!({"zones": 3, "coherence": 0, "maps": ["m3"]}),
    ] {
        let _ = ask(&mut study, settings).map_err(|fault| said(&fault));
    }
    assert!(start.elapsed() < LONGEST, "{:?}", start.elapsed());
    // Another scan: of the largest number, of none, against itself.
    align(&mut study, json!({"map": "m3", "transform": SAME})).unwrap();
    for (map, first) in [("m1", "m2"), ("m3", "m3"), ("m3", "m2"), ("m9", "m1"), ("m3", "p1"), ("m1", "m3")] {
        said(
            &study
                .compare_scans(&CompareSettings { map: map.into(), first: Some(first.into()) })
                .unwrap_err(),
        );
    }
    let lay = |study: &Study, transform: Value, width: u32, height: u32| {
        let settings = json!({"how": "lay_on_grid", "of": ["m3"], "transform": transform, "width": width, "height": height});
        Derivation::read(settings).and_then(|derivation| derivation.made_of(study.stack())).map(drop)
    };
    let huge = [
        json!([1e9, 0, 0, 0, 1e9, 0, 0, 0, 1]),
        json!([1e3, 999, 0, 999, 1e3, 0, 0, 0, 1]),
        json!([1, 0, 0, 0, 1, 0, -0.2, 0.1, 1]),
    ];
    for (i, transform) in huge.into_iter().enumerate() {
        let _ = lay(&study, transform, 400, 300).map_err(|fault| said(&fault));
        assert!(start.elapsed() < LONGEST, "{i}: {:?}", start.elapsed());
    }
    for (transform, width, height) in [
        (json!(SAME), u32::MAX, u32::MAX),
        (json!(SAME), 20_000, 6000),
        (json!(SAME), 0, 5),
        (json!([1e-200, 0, 0, 0, 1e-200, 0, 0, 0, 1]), 30, 20),
        (json!([1e-30, 0, 0, 0, 1e-30, 0, 0, 0, 1]), 30, 20),
        (json!([1, 0, 1e300, 0, 1, 0, 0, 0, 1]), 30, 20),
        (json!([0, 0, 0, 0, 0, 0, 0, 0, 0]), 30, 20),
    ] {
        said(
            &lay(&study, transform.clone(), width, height)
                .err()
                .unwrap_or_else(|| panic!("{transform} {width}")),
        );
    }
    study.set_map("m3", MapRecord { field: Some(u32::MAX), ..MapRecord::default() }).unwrap();
    assert!(study.fields()[0].label.contains("4294967296"));
    seen(&mut study);
}
