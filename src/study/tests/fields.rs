//! Several scans in one study: what stays apart, and what is said.

use super::*;
use crate::study::{AlignSettings, CompareSettings, Derivation};

/// The first scan of 30 x 20 pixels and a second one of the same size, which lies 10 pixels to the right.
fn two_scans() -> Study {
    let mut study = study();
    assert_eq!(study.open("second Ti-K.npy", &file(81, 4)).maps, ["m3"]);
    assert_eq!(study.open("second Fe-K.npy", &file(201, 10)).maps, ["m4"]);
    let second =
        |id: &str| MapChange { id: id.into(), stated: MapRecord { field: Some(1), ..MapRecord::default() } };
    study.set_maps(vec![second("m3"), second("m4")]).unwrap();
    study
}

#[test]
fn maps_of_another_scan_are_told_and_never_tested_with_those_of_the_first() {
    let mut study = two_scans();
    let summaries = study.maps();
    assert_eq!(summaries.iter().map(|map| map.field).collect::<Vec<_>>(), [0, 0, 1, 1]);
    assert!(summaries[2].marks.contains(&"second scan".to_owned()), "{:?}", summaries[2].marks);
    let refused = study.ask("ratio", json!({"a": "m1", "b": "m4"}), &mut |_, _| {}).unwrap_err();
    assert_eq!(refused.code, "different_fields");
    assert!(refused.message.contains("tests stay within one field"), "{}", refused.message);
    let lights = PictureSettings::read(json!({"lights": [{"map": "m1"}, {"map": "m3"}]})).unwrap();
    assert_eq!(study.picture(&lights).unwrap_err().code, "different_fields");
    let sum = Derivation::read(json!({"how": "sum", "of": ["m1", "m3"]})).unwrap();
    assert_eq!(study.derive(&sum).unwrap_err().code, "different_fields");
}

#[test]
fn questions_within_the_second_scan_work_but_for_regions_of_the_first() {
    let mut study = two_scans();
    let of_first = study.ask("ratio", json!({"a": "m1", "b": "m2"}), &mut |_, _| {}).unwrap().0;
    let of_second = study.ask("ratio", json!({"a": "m3", "b": "m4"}), &mut |_, _| {}).unwrap().0;
    assert_ne!(of_first.id, of_second.id);
    assert!(of_second.numbers.contains_key("ratio") == of_first.numbers.contains_key("ratio"));
    let region: RegionSettings = serde_json::from_value(
        json!({"name": "square", "rectangle": {"x": 9, "y": 5, "width": 8, "height": 8}}),
    )
    .unwrap();
    study.add_region(region).unwrap();
    let refused =
        study.ask("ratio", json!({"a": "m3", "b": "m4", "region": "square"}), &mut |_, _| {}).unwrap_err();
    assert!(refused.message.contains("lies on the grid of the first scan"), "{}", refused.message);
    let made = json!({"name": "bright", "threshold": {"map": "m4", "low": 50.0, "high": null}});
    let refused = study.add_region(serde_json::from_value(made).unwrap()).unwrap_err();
    assert!(refused.message.contains("another scan"), "{}", refused.message);
}

#[test]
fn the_grid_and_the_values_at_a_place_are_those_of_one_scan() {
    let mut study = two_scans();
    assert_eq!((study.grid().width, study.grid().height), (30, 20));
    let ids = |out: &ReadOut| out.values.iter().map(|value| value.map.clone()).collect::<Vec<_>>();
    assert_eq!(ids(&study.read_out(3.5, 3.5, None).unwrap()), ["m1", "m2"]);
    assert_eq!(ids(&study.read_out_on(Some("m4"), (3.5, 3.5), None).unwrap()), ["m3", "m4"]);
    // The object's edges are stated on the grid of the first.
    let edges = json!({"corner": "upper left", "at": [1.0, 1.0], "across": [25.0, 1.0], "down": [1.0, 15.0]});
    study.set_object(crate::study::ObjectSettings::read(edges).unwrap()).unwrap();
    let text = |study: &mut Study, map: Option<&str>| study.read_out_on(map, (3.5, 3.5), None).unwrap().text;
    assert!(text(&mut study, None).contains("edge"), "{}", text(&mut study, None));
    assert!(!text(&mut study, Some("m4")).contains("edge"), "{}", text(&mut study, Some("m4")));
    let step = GridRecord { step_x_um: Some(500.0), step_y_um: None, ..GridRecord::default() };
    study.set_grid(step).unwrap();
    let shown = study.picture(&PictureSettings::read(json!({"map": "m3"})).unwrap()).unwrap();
    assert!(shown.scale_bar_reason.contains("that of the first one is not its own"));
}

#[test]
fn a_map_made_of_two_scans_cannot_come_about_by_stating() {
    let mut study = study();
    study.open("Fe-L.npy", &file(40, 6));
    let sum = Derivation::read(json!({"how": "sum", "of": ["m1", "m3"]})).unwrap();
    study.derive(&sum).unwrap();
    let one = MapRecord { field: Some(1), ..MapRecord::default() };
    let refused = study.set_map("m3", one.clone()).unwrap_err();
    assert!(refused.message.contains("State both at once"), "{}", refused.message);
    assert!(study.maps().iter().all(|map| map.field == 0), "nothing is changed");
    let both = ["m1", "m3"].map(|id| MapChange { id: id.into(), stated: one.clone() });
    study.set_maps(both.to_vec()).unwrap();
    let fields: Vec<u32> = study.maps().iter().map(|map| map.field).collect();
    assert_eq!(fields, [1, 0, 1, 1], "the sum goes with its maps");
    assert!(study.set_map("d1", one).unwrap_err().message.contains("State theirs"));
}

#[test]
fn a_scan_laid_on_the_grid_keeps_its_counts_and_is_for_looking_only() {
    let mut study = two_scans();
    assert_eq!(study.laying("m3").unwrap_err().code, "not_aligned");
    let recipe = json!({
        "how": "lay_on_grid", "of": ["m3"], "transform": [1, 0, 10, 0, 1, 0, 0, 0, 1], "width": 30, "height": 20
    });
    let laid = study.derive(&Derivation::read(recipe).unwrap()).unwrap();
    assert_eq!((laid.field, laid.kind.as_str(), laid.width, laid.height), (0, "display copy", 30, 20));
    assert_eq!(laid.blank, 200, "ten columns are not covered");
    let told = laid.derived.unwrap().account.join(" ");
    assert!(told.contains("Neighbours share counts") && told.contains("Beside the grid"), "{told}");
    let value = |name: &str, x: u32| study.stack().find(name).unwrap().plane.value(x, 7);
    assert_eq!(value("d1", 15), value("m3", 5));
    let refused = study.ask("ratio", json!({"a": "d1", "b": "m2"}), &mut |_, _| {});
    let numbers = refused.map(|(answer, _)| answer.numbers.values().filter(|n| n.value.is_some()).count());
    assert!(!matches!(numbers, Ok(1..)), "no number is tested on what was laid: {numbers:?}");
    // It cannot be stated to be counts either, nor by a record.
    let window = MapRecord { kind: Some("window".into()), ..MapRecord::default() };
    assert!(study.set_map("d1", window.clone()).unwrap_err().message.contains("neighbours share counts"));
    let mut record = study.record();
    let key = crate::study::map_key(&study.stack().find("d1").unwrap().source);
    record.maps.insert(key, window);
    study.apply(record).unwrap();
    assert_eq!(study.stack().find("d1").unwrap().kind.word(), "display copy");
}

/// Two scans of 60 x 48 pixels of one field, the second 8 pixels to the right, with counts by a congruence: `of` gives what is
/// expected of a pixel of the first grid, `second` what the second scan makes of it.
fn overlapping(of: impl Fn(u32, u32) -> f64, second: impl Fn(f64) -> f64) -> Study {
    let mut chance = crate::numerics::chance::Chance::new(7);
    let mut file = |expected: &dyn Fn(u32, u32) -> f64| {
        let header = "{'descr': '<u2', 'fortran_order': False, 'shape': (48, 60), }\n";
        let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
        bytes.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
        bytes.extend(header.as_bytes());
        for i in 0..48 * 60u32 {
            bytes.extend((chance.poisson(expected(i % 60, i / 60)) as u16).to_le_bytes());
        }
        bytes
    };
    let mut study = Study::new();
    study.open("Fe-K.npy", &file(&of));
    study.open("second Fe-K.npy", &file(&|x, y| second(of(x + 8, y))));
    study.set_map("m2", MapRecord { field: Some(1), ..MapRecord::default() }).unwrap();
    align_to(&mut study, &[[5.0, 5.0], [50.0, 6.0], [48.0, 40.0], [7.0, 42.0], [25.0, 20.0]]);
    study
}

fn align_to(study: &mut Study, places: &[[f64; 2]]) {
    let points: Vec<_> = places.iter().map(|&[x, y]| json!({"from": [x, y], "to": [x + 8.0, y]})).collect();
    let settings = json!({"map": "m2", "model": "similarity", "points": points});
    study.align(AlignSettings::read(settings).unwrap()).unwrap();
}

fn compared(study: &Study) -> OverlapText {
    study.compare_scans(&CompareSettings { map: "m2".into(), first: None }).unwrap()
}

fn painted(x: u32, y: u32) -> f64 {
    if (14..40).contains(&x) && (10..34).contains(&y) { 60.0 } else { 12.0 }
}

#[test]
fn a_ratio_that_falls_is_said_to_fall_and_an_offset_is_seen() {
    let found = compared(&overlapping(painted, |counts| counts + 20.0));
    let text = found.text.join(" ");
    assert!(text.contains("No one ratio holds: it falls by 1") && text.contains("of its mean"), "{text}");
    let line = found.line.unwrap();
    assert!((line[0] - 20.0).abs() < 4.0 * line[1] && (line[2] - 1.0).abs() < 4.0 * line[3], "{line:?}");
}

#[test]
fn where_all_blocks_are_alike_no_offset_is_read_from_their_noise() {
    let found = compared(&overlapping(|_, _| 20.0, |counts| 1.3 * counts));
    assert_eq!((found.line, found.is_one), (None, Some(true)), "{:?}", found.text);
    assert!((found.ratio.unwrap() - 1.3).abs() < 0.05);
}

#[test]
fn by_a_loose_alignment_there_is_a_ratio_without_an_interval() {
    let mut study = overlapping(painted, |counts| 0.9 * counts);
    assert!(compared(&study).low.is_some());
    align_to(&mut study, &[[5.0, 5.0], [9.0, 9.0]]);
    let found = compared(&study);
    assert!(found.ratio.is_some() && found.low.is_none() && found.is_one.is_none(), "{found:?}");
    assert!(found.text[1].starts_with("It has no interval"), "{:?}", found.text);
}

#[test]
fn numbers_of_two_meanings_and_pictures_have_no_ratio() {
    let mut study = overlapping(painted, |counts| counts);
    let refused = |study: &mut Study, kind: &str, both: bool| {
        for id in ["m1", "m2"].into_iter().skip(usize::from(!both)) {
            study.set_map(id, MapRecord { kind: Some(kind.into()), ..MapRecord::default() }).unwrap();
        }
        let settings = CompareSettings { map: "m2".into(), first: None };
        study.compare_scans(&settings).map(|found| found.ratio).map_err(|fault| fault.message)
    };
    assert!(refused(&mut study, "net", false).unwrap_err().contains("different things"));
    assert!(refused(&mut study, "net", true).is_ok());
    assert!(refused(&mut study, "display copy", true).unwrap_err().contains("no counts"));
}

#[test]
fn a_record_brings_scans_back() {
    let before = two_scans().record();
    let text = serde_json::to_string(&before).unwrap();
    let mut study = Study::new();
    study.apply(serde_json::from_str(&text).unwrap()).unwrap();
    study.open("Ti-K.npy", &file(80, 8));
    study.open("Fe-K.npy", &file(200, 14));
    study.open("second Ti-K.npy", &file(81, 4));
    study.open("second Fe-K.npy", &file(201, 10));
    assert_eq!(study.maps().iter().map(|map| map.field).collect::<Vec<_>>(), [0, 0, 1, 1]);
    assert_eq!(study.record(), before);
}

#[test]
fn scans_are_compared_only_where_they_lie_on_each_other() {
    let study = two_scans();
    let of = |map: &str| CompareSettings { map: map.into(), first: None };
    assert_eq!(study.compare_scans(&of("m3")).unwrap_err().code, "not_aligned");
    assert!(study.compare_scans(&of("m1")).unwrap_err().message.contains("belongs to the first scan"));
}
