//! Regions handed in that are none, and records that lie.

use super::*;
use crate::study::{MOST_CORNERS, MOST_REGIONS, RegionSettings, Shape};
use serde_json::Value;

/// Refused with one sentence, and nothing is changed.
fn refused(study: &mut Study, value: &Value, want: &str) {
    let before = study.record();
    let fault = match RegionSettings::read(value.clone()) {
        Ok(settings) => study.add_region(settings).unwrap_err(),
        Err(fault) => fault,
    };
    assert!(fault.message.contains(want) && fault.message.ends_with('.'), "{value}: {fault}");
    assert_eq!(study.record(), before);
}

#[test]
fn what_is_no_region_is_refused_with_a_sentence() {
    let mut study = study();
    let all = vec![1u8; 600];
    for (value, want) in [
        (json!({}), "exactly one shape"),
        (json!({"rectangle": {"x": 0, "y": 0, "width": 3, "height": 3}, "mask": all}), "exactly one shape"),
        (json!({"circle": [1, 2, 3]}), "unknown field `circle`"),
        (json!("sky"), "not understood"),
        (json!({"role": "sky", "mask": all}), "There are: passage, off the object"),
        (json!({"rectangle": {"x": 0, "y": 0, "width": -3, "height": 3}}), "above 0"),
        (json!({"rectangle": {"x": 0, "y": 0, "width": 0, "height": 3}}), "above 0"),
        (json!({"rectangle": {"x": null, "y": 0, "width": 1, "height": 3}}), "not understood"),
        (json!({"rectangle": {"x": 40, "y": 0, "width": 1, "height": 3}}), "No pixel of the grid"),
        (json!({"rectangle": {"x": 1.6, "y": 0, "width": 0.8, "height": 3}}), "No pixel of the grid"),
        (json!({"polygon": []}), "three corners"),
        (json!({"polygon": [[1, 1], [5, 5]]}), "three corners"),
        (json!({"polygon": [[1, 1], [5, 5], [3]]}), "not understood"),
        (json!({"polygon": [[1, 1], [5, null], [3, 4]]}), "not understood"),
        (json!({"polygon": [[1, 1], [5, 5], [3, 3]]}), "No pixel of the grid"),
        (json!({"polygon": [[-5, -5], [-1, -5], [-1, -1]]}), "No pixel of the grid"),
        (json!({"mask": [1, 0, 1]}), "3 values; it must have 600"),
        (json!({"mask": []}), "0 values"),
        (json!({"mask": vec![0u8; 600]}), "No pixel of this mask"),
        (json!({"mask": [300]}), "not understood"),
        (json!({"threshold": {"map": "Ti K"}}), "a `low`, a `high`"),
        (json!({"threshold": {"map": "Au L", "low": 1}}), "no map called"),
        (json!({"threshold": {"map": "Ti K", "low": 5, "high": 4}}), "not above"),
        (json!({"threshold": {"map": "Ti K", "low": 1e9}}), "within these limits"),
        (json!({"cloud": {"a": "Ti K"}}), "`a` and `b`"),
        (json!({"cloud": {"a": "Ti K", "b": "Fe K", "b_low": 4, "b_high": 3}}), "Fe K must be numbers"),
        (json!({"cloud": {"a": "Ti K", "b": "Fe K", "region": "sky"}}), "no region called"),
        (json!({"cloud": {"answer": "x"}}), "two opposite corners"),
        (json!({"cloud": {"answer": "x", "from": [0, 0], "to": [1, 1]}}), "no longer held"),
        (json!({"classes": {"answer": "x", "classes": [1]}}), "no longer held"),
        (json!({"combine": {"how": "xor", "of": []}}), "unknown variant `xor`"),
        (json!({"combine": {"how": "and", "of": []}}), "two regions"),
        (json!({"combine": {"how": "and", "of": ["sky", "sea"]}}), "no region called"),
        (json!({"combine": {"how": "grown", "of": ["sky", "sea"]}}), "at a time"),
        (json!({"combine": {"how": "grown", "of": ["sky"], "by_px": 0}}), "1 to 64"),
        (json!({"combine": {"how": "grown", "of": ["sky"], "by_px": 65}}), "1 to 64"),
        (json!({"combine": {"how": "grown", "of": ["sky"], "by_px": -1}}), "not understood"),
        (json!({"combine": {"how": "and", "of": ["sky", "sea"], "by_px": 1}}), "1 to 64"),
        (json!({"mask_png": [1, 2, 3]}), "no PNG"),
        (json!({"mask_png": b"\x89PNG\r\n\x1a\n".to_vec()}), "PNG"),
    ] {
        refused(&mut study, &value, want);
    }
    // What JSON cannot say.
    for corner in [[f64::NAN, 1.0], [f64::INFINITY, 1.0], [1.0, f64::NEG_INFINITY]] {
        let polygon = Some(vec![[1.0, 1.0], [9.0, 1.0], corner]);
        let settings = RegionSettings { polygon, ..RegionSettings::default() };
        assert!(study.add_region(settings).unwrap_err().message.contains("two numbers"));
    }
    assert_eq!(study.regions().len(), 0);
}

#[test]
fn nothing_can_be_drawn_without_a_map() {
    let mut study = Study::new();
    refused(&mut study, &json!({"rectangle": {"x": 0, "y": 0, "width": 3, "height": 3}}), "Open a map first");
    refused(&mut study, &json!({"mask": []}), "Open a map first");
    assert_eq!((study.regions(), study.region("r1").unwrap_err().code), (vec![], "unknown_region"));
}

#[test]
fn a_picture_of_another_size_or_half_a_picture_is_no_mask() {
    let mut study = study();
    let png = |width, height| {
        let mask = Mask::try_filled(width, height, true).unwrap();
        crate::region::png_of(&mask, &[]).unwrap()
    };
    for (bytes, want) in [
        (png(20, 30), "20 × 30 pixels and the grid 30 × 20"),
        (png(30, 20)[..60].to_vec(), "PNG"),
        (file(80, 8), "no PNG"),
    ] {
        let settings = RegionSettings { mask_png: Some(bytes), ..RegionSettings::default() };
        let fault = study.add_region(settings).unwrap_err();
        assert!(fault.message.contains(want), "{fault}");
    }
    let settings = RegionSettings { mask_png: Some(png(30, 20)), ..RegionSettings::default() };
    assert_eq!(study.add_region(settings).unwrap().pixels, 600);
}

#[test]
fn an_outline_of_a_million_corners_and_the_257th_region_are_refused() {
    let mut study = study();
    let outline = |corners: u32| -> Vec<[f64; 2]> {
        (0..corners).map(|i| [f64::from(i % 29) + 0.3, f64::from(i % 19) + f64::from(i % 7) / 7.0]).collect()
    };
    let of = |corners| RegionSettings { polygon: Some(outline(corners)), ..RegionSettings::default() };
    let fault = study.add_region(of(1_000_000)).unwrap_err();
    assert!(fault.message.contains("1\u{202f}000\u{202f}000 corners; at most 20\u{202f}000"), "{fault}");
    study.preview_region(of(MOST_CORNERS as u32)).unwrap();
    let small =
        || RegionSettings::read(json!({"rectangle": {"x": 1, "y": 1, "width": 3, "height": 2}})).unwrap();
    for _ in 0..MOST_REGIONS {
        study.add_region(small()).unwrap();
    }
    let mut study_before = study.record();
    for _ in 0..2000 {
        let fault = study.add_region(small()).unwrap_err();
        assert!(fault.message.contains("256 regions"), "{fault}");
    }
    assert_eq!(study.record(), study_before);
    let read = study.read_out(2.5, 1.5, None).unwrap();
    assert_eq!((read.regions.len(), read.more_regions.as_str()), (4, "and in 252 more regions"));
    // Nor by a record.
    let mut more = study_before.regions[0].clone();
    more.number = 999;
    study_before.regions.push(more);
    assert!(study.apply(study_before).unwrap_err().message.contains("more regions"));
}

#[test]
fn a_record_that_lies_is_refused_or_waits_and_never_ends_the_program() {
    let mut study = study();
    let drawn = json!({"name": "sky", "rectangle": {"x": 0, "y": 0, "width": 3, "height": 3}});
    study.add_region(RegionSettings::read(drawn).unwrap()).unwrap();
    let values: Vec<u8> = (0..600u32).map(|i| u8::from(i < 30)).collect();
    study.add_region(RegionSettings { mask: Some(values), ..RegionSettings::default() }).unwrap();
    let record = serde_json::to_value(study.record()).unwrap();
    let with = |change: &dyn Fn(&mut Value)| {
        let mut record = record.clone();
        change(&mut record["regions"]);
        serde_json::from_value::<Record>(record)
    };
    let apply = |record: Record| {
        let mut study = self::study();
        let result = study.apply(record);
        (result, study)
    };
    assert!(apply(with(&|_| ()).unwrap()).0.is_ok());
    assert!(with(&|r| r[0]["shape"]["how"] = json!("spiral")).is_err());
    assert!(with(&|r| r[0]["more"] = json!(1)).is_err());
    for damaged in [
        with(&|r| r[0]["role"] = json!("king")),
        with(&|r| r[1]["number"] = json!(1)),
        with(&|r| r[1]["shape"]["laid"]["width"] = json!(4_000_000_000u32)),
    ] {
        assert_eq!(apply(damaged.unwrap()).0.unwrap_err().code, "bad_setting");
    }
    // Runs that do not fit: the region is there, without pixels, and says so.
    let (result, study) = apply(with(&|r| r[1]["shape"]["runs"] = json!("0 30 9999")).unwrap());
    assert!(result.is_ok());
    let summary = &study.regions()[1];
    assert_eq!((summary.pixels, summary.text.contains("damaged")), (0, true), "{}", summary.text);
    // A name that is taken or none gets another one.
    let (_, study) = apply(with(&|r| r[1]["name"] = json!("sky")).unwrap());
    let names: Vec<String> = study.regions().into_iter().map(|region| region.name).collect();
    assert_eq!(names, ["sky", "Region 2"]);
    // Regions made of each other are never made, and are kept as they stand.
    let circle = with(&|r| {
        r[0]["shape"] = json!({"how": "combine", "operation": "grown", "of": [2], "by_px": 1});
        r[1]["shape"] = json!({"how": "combine", "operation": "grown", "of": [1], "by_px": 1});
    });
    let (result, study) = apply(circle.unwrap());
    assert_eq!((result.is_ok(), study.regions().len(), study.record().regions.len()), (true, 0, 2));
    // Far corners and large numbers.
    let mut far = with(&|_| ()).unwrap();
    let Shape::Rectangle { rectangle, .. } = &mut far.regions[0].shape else { panic!("a rectangle") };
    rectangle.width = f64::INFINITY;
    let (result, study) = apply(far);
    assert!(result.is_ok() && study.regions()[0].pixels <= 600);
}
