//! Regions of a study.

use super::*;
use crate::study::{RegionSettings, Renamed};
use serde_json::Value;

pub(super) fn settings(value: Value) -> RegionSettings {
    RegionSettings::read(value).unwrap()
}

pub(super) fn add(study: &mut Study, value: Value) -> RegionSummary {
    study.add_region(settings(value)).unwrap()
}

pub(super) fn fault(study: &mut Study, value: Value) -> Fault {
    study.add_region(settings(value)).unwrap_err()
}

pub(super) fn mask(study: &Study, name: &str) -> Vec<bool> {
    study.region(name).unwrap().1.data().to_vec()
}

/// One of every kind that needs no answer.
fn with_regions() -> Study {
    let mut study = study();
    add(
        &mut study,
        json!({"name": "sky", "role": "ground", "rectangle": {"x": 1.2, "y": 2, "width": 10, "height": 4.6}}),
    );
    add(&mut study, json!({"polygon": [[3.3, 1.1], [25.7, 4.2], [14.1, 18.3]]}));
    let values: Vec<u8> = (0..600u32).map(|i| u8::from(i % 7 < 3)).collect();
    add(&mut study, json!({"name": "stripes", "mask": values}));
    add(&mut study, json!({"name": "bright", "threshold": {"map": "Ti K", "low": 40}}));
    let cloud = json!({"a": "Ti K", "b": "m2", "a_low": 40, "b_high": 100, "region": "sky"});
    add(&mut study, json!({"name": "Ti alone", "cloud": cloud}));
    add(&mut study, json!({"name": "both", "combine": {"how": "or", "of": ["sky", "r4"]}}));
    add(&mut study, json!({"name": "wide", "combine": {"how": "grown", "of": ["both"], "by_px": 2}}));
    study
}

#[test]
fn every_kind_of_region_says_what_it_is_and_which_maps_made_it() {
    let study = with_regions();
    let all = study.regions();
    let of = |i: usize| {
        (all[i].id.as_str(), all[i].how.as_str(), all[i].text.as_str(), all[i].makers_text.as_str())
    };
    assert_eq!(of(0), ("r1", "rectangle", "rectangle", ""));
    assert_eq!(of(1), ("r2", "polygon", "drawn, 3 corners", ""));
    assert_eq!(of(2), ("r3", "mask", "a mask that was handed in", ""));
    assert_eq!(of(3), ("r4", "threshold", "Ti K from 40 counts", "made from Ti K"));
    assert_eq!(
        of(4),
        ("r5", "cloud", "Ti K from 40 counts and Fe K up to 100 counts, in sky", "made from Ti K and Fe K")
    );
    assert_eq!(of(5), ("r6", "combine", "in sky or bright", "made from Ti K"));
    assert_eq!(of(6), ("r7", "combine", "both grown by 2 pixels", "made from Ti K"));
    assert_eq!(
        (all[0].role.as_str(), all[1].role.as_str(), all[1].name.as_str()),
        ("ground", "passage", "Region 2")
    );
    // 10 columns from 1.5 to 10.5, rows from 2.5 to 6.5 (the lower edge lies at 6.6).
    assert_eq!((all[0].pixels, all[0].bounds), (50, AreaRecord { x: 1, y: 2, width: 10, height: 5 }));
    assert_eq!((all[3].pixels, all[3].area_text.as_str()), (144, "144 pixels"));
    assert_eq!(all[3].makers, ["m1"]);
    let fe: Vec<f64> = study.stack().find("Fe K").unwrap().plane.to_f64().unwrap().into_vec();
    let ti: Vec<f64> = study.stack().find("Ti K").unwrap().plane.to_f64().unwrap().into_vec();
    let sky = mask(&study, "sky");
    let want: Vec<bool> = (0..600).map(|i| ti[i] >= 40.0 && fe[i] <= 100.0 && sky[i]).collect();
    assert_eq!(mask(&study, "Ti alone"), want);
    assert!(want.contains(&true));
}

#[test]
fn area_is_in_square_millimetres_where_the_step_is_known() {
    let mut study = with_regions();
    study.set_grid(GridRecord { step_x_um: Some(500.0), ..GridRecord::default() }).unwrap();
    assert_eq!(study.region("bright").unwrap().0.area_text, "36\u{202f}mm²");
}

#[test]
fn a_record_brings_every_region_back_in_any_order_of_files() {
    let first = with_regions();
    let record = first.record();
    assert_eq!(record.record, 6);
    let written = serde_json::to_string(&record).unwrap();
    let read = || serde_json::from_str::<Record>(&written).unwrap();
    assert_eq!(read(), record);
    let files = [("Ti-K.npy", file(80, 8)), ("Fe-K.npy", file(200, 14))];
    for order in [[0, 1], [1, 0]] {
        let mut second = Study::new();
        second.apply(read()).unwrap();
        assert_eq!(second.regions().len(), 3, "those that need no map");
        second.open(files[order[0]].0, &files[order[0]].1);
        assert_eq!(second.record().regions, record.regions, "also those that wait");
        second.open(files[order[1]].0, &files[order[1]].1);
        assert_eq!(second.regions(), first.regions());
        assert_eq!(second.record(), record);
        for region in first.regions() {
            assert_eq!(mask(&second, &region.id), mask(&first, &region.id), "{}", region.id);
        }
    }
    let mut open_before = study();
    open_before.apply(read()).unwrap();
    assert_eq!(open_before.regions(), first.regions());
}

#[test]
fn a_region_whose_map_is_not_open_waits_and_is_not_forgotten() {
    let record = with_regions().record();
    let mut study = Study::new();
    study.apply(record.clone()).unwrap();
    study.open("Fe-K.npy", &file(200, 14));
    let names: Vec<String> = study.regions().into_iter().map(|region| region.name).collect();
    assert_eq!(names, ["sky", "Region 2", "stripes"]);
    assert_eq!(study.region("bright").unwrap_err().code, "region_waits");
    assert!(
        fault(&mut study, json!({"name": "bright", "rectangle": {"x": 0, "y": 0, "width": 3, "height": 3}}))
            .message
            .contains("already")
    );
    assert!(study.remove("sky").unwrap_err().message.contains("is made of sky"));
    assert_eq!(add(&mut study, json!({"rectangle": {"x": 0, "y": 0, "width": 3, "height": 3}})).id, "r8");
    assert_eq!(study.record().regions[..7], record.regions[..]);
}

#[test]
fn a_record_of_an_earlier_version_is_read() {
    let mut old = serde_json::to_value(study().record()).unwrap();
    for version in [3, 4] {
        old["record"] = json!(version);
        assert_eq!(study().apply(serde_json::from_value(old.clone()).unwrap()), Ok(()));
    }
    old["record"] = json!(3);
    assert_eq!(study().apply(serde_json::from_value(old.clone()).unwrap()), Ok(()));
    old["record"] = json!(2);
    old.as_object_mut().unwrap().remove("regions");
    let mut study = study();
    study.apply(serde_json::from_value(old.clone()).unwrap()).unwrap();
    assert_eq!((study.record().record, study.regions().len()), (6, 0));
    for other in [1, 7] {
        old["record"] = json!(other);
        assert_eq!(
            study.apply(serde_json::from_value(old.clone()).unwrap()).unwrap_err().code,
            "other_record"
        );
    }
}

#[test]
fn regions_turn_with_the_stack_and_shapes_are_said_as_they_lie_now() {
    for i in 0..8u8 {
        let (plain, mut turned) = (with_regions(), with_regions());
        let orientation = crate::geometry::Orientation::new(i % 4, i >= 4);
        turned
            .set_grid(GridRecord { turns: Some(i % 4), mirror: Some(i >= 4), ..GridRecord::default() })
            .unwrap();
        for region in plain.regions() {
            let (before, after) = (plain.region(&region.id).unwrap(), turned.region(&region.id).unwrap());
            assert_eq!(*after.1, before.1.oriented(orientation).unwrap(), "{} {i}", region.id);
        }
        // What is said of a shape makes the same shape again.
        for (name, shape) in [("sky", "rectangle"), ("Region 2", "polygon")] {
            let said = serde_json::to_value(turned.region(name).unwrap().0).unwrap();
            let again = turned.preview_region(settings(json!({shape: said[shape].clone()}))).unwrap().1;
            assert_eq!(again, *turned.region(name).unwrap().1, "{name} {i}");
        }
        // Drawn on the turned stack and turned back.
        let drawn =
            add(&mut turned, json!({"name": "new", "rectangle": {"x": 0, "y": 0, "width": 2, "height": 1}}));
        let mut again = study();
        again.apply(turned.record()).unwrap();
        assert_eq!(again.regions(), turned.regions());
        again.set_grid(GridRecord { turns: Some(0), mirror: Some(false), ..GridRecord::default() }).unwrap();
        let (_, back) = again.region(&drawn.id).unwrap();
        assert_eq!(*back, turned.region(&drawn.id).unwrap().1.oriented(orientation.inverse()).unwrap());
        assert_eq!((back.width(), back.height()), (30, 20));
    }
}

#[test]
fn what_rests_on_a_map_follows_it() {
    let mut study = with_regions();
    assert_eq!(study.region("bright").unwrap().0.pixels, 144);
    // Half the counts: 40 of them are 80 stored steps, which only the brightest have.
    study.set_map("Ti K", MapRecord { gain: Some(2.0), ..MapRecord::default() }).unwrap();
    let bright = study.region("bright").unwrap().0;
    assert!((1..=144).contains(&bright.pixels));
    study.set_map("Ti K", MapRecord { gain: Some(3.0), ..MapRecord::default() }).unwrap();
    let bright = study.region("bright").unwrap().0;
    assert_eq!((bright.pixels, bright.text.as_str()), (0, "Ti K from 40 counts; no pixel is inside now"));
    assert_eq!(mask(&study, "both"), mask(&study, "sky"), "what is combined of it follows too");
    study.set_map("Ti K", MapRecord { gain: Some(1.0), ..MapRecord::default() }).unwrap();
    assert_eq!(study.regions(), with_regions().regions());
    study.set_map("Ti K", MapRecord { name: Some("Titanium".into()), ..MapRecord::default() }).unwrap();
    assert_eq!(study.region("bright").unwrap().0.makers_text, "made from Titanium");
}

#[test]
fn a_region_of_a_derived_map_follows_it_and_keeps_it_from_being_removed() {
    let mut study = study();
    let sum = Derivation::read(json!({"how": "sum", "of": ["m1", "m2"]})).unwrap();
    study.derive(&sum).unwrap();
    let bright = add(&mut study, json!({"name": "bright", "threshold": {"map": "d1", "low": 250}}));
    assert_eq!(bright.makers, ["d1"]);
    let makers: Vec<String> = study.regions.all()[0].makers.iter().map(ToString::to_string).collect();
    assert_eq!(makers, ["m1", "m2", "d1"], "also what the derived map is made of");
    let message = study.remove("d1").unwrap_err().message;
    assert!(message.contains("region bright is made from"), "{message}");
    study.set_map("m2", MapRecord { gain: Some(2.0), ..MapRecord::default() }).unwrap();
    assert_eq!(study.region("bright").unwrap().0.pixels, 0);
    study.set_map("m2", MapRecord { gain: Some(1.0), ..MapRecord::default() }).unwrap();
    let record = study.record();
    let mut second = Study::new();
    second.apply(record.clone()).unwrap();
    second.open("Fe-K.npy", &file(200, 14));
    assert_eq!(second.regions().len(), 0);
    second.open("Ti-K.npy", &file(80, 8));
    assert_eq!((second.regions(), second.record()), (study.regions(), record));
    assert_eq!(study.remove("bright").unwrap(), "region");
    assert_eq!(study.remove("d1").unwrap(), "map");
    assert_eq!((study.regions().len(), study.maps().len()), (0, 2));
}

#[test]
fn a_region_of_a_binned_map_lies_on_the_grid_and_one_of_another_size_is_refused() {
    let mut study = study();
    study.derive(&Derivation::read(json!({"how": "bin", "by": 3, "of": ["m1"]})).unwrap()).unwrap();
    for by in [4, 5, 6] {
        // More binned maps than maps of the scan do not make theirs the grid.
        study.derive(&Derivation::read(json!({"how": "bin", "by": by, "of": ["m1"]})).unwrap()).unwrap();
    }
    let bins = add(&mut study, json!({"name": "bins", "threshold": {"map": "d1", "low": 300}}));
    let (_, mask) = study.region("bins").unwrap();
    assert_eq!((mask.width(), mask.height(), bins.pixels % 9), (30, 20, 0));
    let whole = study.stack().find("d1").unwrap().plane.value(3, 2).unwrap() >= 300.0;
    assert_eq!(mask.get(10, 7), Some(&whole));
    // A map that is cut no longer has the grid's size: its region says so, can be renamed, and comes back with the map.
    add(&mut study, json!({"name": "iron", "threshold": {"map": "Fe K", "low": 20}}));
    let pixels = study.region("iron").unwrap().0.pixels;
    let frame = |width| Some(FrameRecord { x: 0, y: 0, width, height: if width > 0 { 9 } else { 0 } });
    study.open("Zn-K.npy", &file(60, 2));
    study.set_map("Fe K", MapRecord { frame: frame(8), ..MapRecord::default() }).unwrap();
    study.set_region("iron", settings(json!({"name": "cut"}))).unwrap();
    let cut = study.region("cut").unwrap().0;
    assert!(cut.pixels == 0 && cut.text.contains("another number of pixels"), "{}", cut.text);
    study.set_map("Fe K", MapRecord { frame: frame(0), ..MapRecord::default() }).unwrap();
    assert_eq!(study.region("cut").unwrap().0.pixels, pixels);
    let message = {
        let header = "{'descr': '<u2', 'fortran_order': False, 'shape': (2, 3), }\n";
        let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
        bytes.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
        bytes.extend(header.as_bytes());
        bytes.extend((1..=6u16).flat_map(u16::to_le_bytes));
        assert_eq!(study.open("Cu-K.npy", &bytes).maps, ["m4"]);
        fault(&mut study, json!({"threshold": {"map": "Cu K", "low": 1}})).message
    };
    assert!(message.contains("Cu K has another number of pixels than the grid of 30 × 20"), "{message}");
}

#[test]
fn masks_go_out_as_png_and_come_back() {
    let study = with_regions();
    for region in study.regions() {
        let file = study.saved_mask(&region.id).unwrap();
        let of = RegionSettings { mask_png: Some(file), ..RegionSettings::default() };
        let (summary, again) = study.preview_region(of).unwrap();
        assert_eq!((again, summary.pixels), (study.region(&region.id).unwrap().1.clone(), region.pixels));
    }
    assert_eq!(study.saved_mask("no").unwrap_err().code, "unknown_region");
}

#[test]
fn names_are_unique_short_and_no_ids_and_text_is_cleaned() {
    let mut study = study();
    let of = |name: &str| json!({"name": name, "rectangle": {"x": 0, "y": 0, "width": 3, "height": 3}});
    assert_eq!(add(&mut study, of("  the\u{0}sky\n ")).name, "the sky");
    assert_eq!(add(&mut study, of("Region 3")).id, "r2");
    assert_eq!(add(&mut study, of("")).name, "Region 4", "the name that is taken is passed over");
    for (name, want) in [("the sky", "already"), ("r12", "mistaken"), (&"x".repeat(121), "120 characters")] {
        let fault = fault(&mut study, of(name));
        assert!(fault.code == "bad_setting" && fault.message.contains(want), "{fault}");
    }
    assert_eq!(study.regions().len(), 3);
    let Renamed::Region(renamed) = study.rename("r2", "ship").unwrap() else { panic!("a region") };
    assert_eq!((renamed.id.as_str(), renamed.name.as_str()), ("r2", "ship"));
    assert_eq!(study.rename("ship", "ship").unwrap(), Renamed::Region(renamed), "its own name is free to it");
    assert!(study.rename("ship", "the sky").is_err());
    assert!(
        matches!(study.rename("Ti K", "Titanium").unwrap(), Renamed::Map(map) if map.label == "Titanium")
    );
    study.rename("ship", "Fe K").unwrap();
    let message = study.remove("Fe K").unwrap_err().message;
    assert!(message.contains("m2 is the map, r2 the region"), "{message}");
    study.remove("r2").unwrap();
    assert_eq!(study.remove("nothing").unwrap_err().code, "unknown_map");
    assert!(study.remove("m1").unwrap_err().message.contains("read from a file"));
    assert_eq!(add(&mut study, of("later")).id, "r4", "numbers are not given twice");
}

#[test]
fn a_region_is_changed_and_what_is_combined_of_it_follows() {
    let mut study = with_regions();
    let set = |study: &mut Study, name: &str, value: Value| study.set_region(name, settings(value));
    let changed = set(&mut study, "sky", json!({"role": "reference"})).unwrap();
    assert_eq!((changed.role.as_str(), changed.pixels), ("reference", 50));
    let before = mask(&study, "both");
    set(&mut study, "sky", json!({"polygon": [[20, 15], [29, 15], [29, 19]]})).unwrap();
    assert_ne!(mask(&study, "both"), before);
    assert!(mask(&study, "wide")[17 * 30 + 28]);
    for (name, value) in [
        ("sky", json!({"combine": {"how": "and", "of": ["wide", "bright"]}})),
        ("both", json!({"combine": {"how": "grown", "of": ["both"]}})),
        ("sky", json!({"cloud": {"a": "m1", "b": "m2", "region": "wide"}})),
    ] {
        let before = study.record();
        let message = set(&mut study, name, value).unwrap_err().message;
        assert!(message.contains("would be made of itself"), "{message}");
        assert_eq!(study.record(), before);
    }
    let before = study.record();
    assert_eq!(
        set(
            &mut study,
            "sky",
            json!({"name": "bay", "rectangle": {"x": 90, "y": 0, "width": 1, "height": 1}})
        )
        .unwrap_err()
        .code,
        "empty_region"
    );
    assert_eq!(study.record(), before);
    assert!(study.remove("sky").unwrap_err().message.contains("Ti alone is made of sky"));
    // A later region may be made of an earlier one and the reverse.
    set(&mut study, "r2", json!({"combine": {"how": "shrunk", "of": ["wide"], "by_px": 1}})).unwrap();
    let mut second = self::study();
    second.apply(study.record()).unwrap();
    assert_eq!(second.regions(), study.regions());
}

#[test]
fn the_place_under_the_pointer_is_read_with_its_regions() {
    let mut study = with_regions();
    let read = study.read_out(9.5, 5.5, None).unwrap();
    let texts: Vec<&str> = read.regions.iter().map(|region| region.text.as_str()).collect();
    assert_eq!(texts[..2], ["in Ti alone (9 pixels)", "in sky (50 pixels)"]);
    let at = study.regions().iter().filter(|region| mask(&study, &region.id)[5 * 30 + 9]).count();
    assert_eq!((read.regions.len(), read.more_regions), (4, format!("and in {} more regions", at - 4)));
    let ti = study.stack().find("Ti K").unwrap().plane.to_f64().unwrap();
    let inside = mask(&study, "sky");
    let total: f64 = ti.data().iter().zip(&inside).filter(|(_, inside)| **inside).map(|(v, _)| v).sum();
    assert_eq!(
        read.regions[1].values[0].text,
        format!("mean {}, sum {}", crate::numerics::figure::figure(total / 50.0), total)
    );
    study.set_map("Ti K", MapRecord { gain: Some(2.0), ..MapRecord::default() }).unwrap();
    let again = study.read_out(1.5, 2.5, None).unwrap();
    assert!(
        again.regions.iter().all(|region| !read.regions.contains(region)),
        "what was read before is forgotten"
    );
    assert_eq!(study.read_out(99.0, 2.0, None).unwrap().regions, []);
}
