//! What each file holds; `tests/exports.rs` writes them for readers of other makers.

use super::*;
use crate::geometry::{Frame, Orientation};
use crate::grid::{Grid, Mask};
use crate::npy;
use crate::study::tests::study;
use crate::study::{Derivation, GridRecord, KeepSettings, MapRecord, RegionSettings};
use serde_json::json;

#[test]
fn an_array_is_read_by_our_own_reader() {
    use crate::reading::{Content, read};
    for spaces in [0, 5] {
        let mut bytes = npy::begin_spaced("<u2", (3, 2), 2, spaces).unwrap();
        (0..6u16).for_each(|v| bytes.extend(v.to_le_bytes()));
        let Content::Maps(pages) = read(&bytes, None).unwrap().content else { panic!("maps") };
        assert_eq!((pages[0].samples.width(), pages[0].samples.value(2, 1)), (3, Some(5.0)));
    }
}

fn region(study: &mut Study, settings: Value) {
    study.add_region(RegionSettings::read(settings).unwrap()).unwrap();
}

fn bytes(study: &mut Study, what: &str, options: Value) -> Vec<u8> {
    export(study, what, options).unwrap().bytes
}

fn code(study: &mut Study, what: &str, options: Value) -> &'static str {
    export(study, what, options).unwrap_err().code
}

#[test]
fn an_answer_gives_its_table_and_its_profile_as_files() {
    let mut study = study();
    region(&mut study, json!({"name": "=painted", "rectangle": {"x": 8, "y": 4, "width": 12, "height": 12}}));
    let line = json!({"from": [0, 10], "to": [30, 10], "width_px": 4});
    let (answer, _) = study.ask("regions", json!({"line": line}), &mut |_, _| {}).unwrap();
    let text = |study: &mut Study, what: &str| {
        let file = export(study, what, json!({"answer": answer.id, "record": false})).unwrap();
        assert_eq!(file.media_type, "text/csv");
        String::from_utf8(file.bytes).unwrap()
    };
    let table = text(&mut study, "table");
    assert_eq!(table.lines().count(), 1 + 2, "{table}");
    assert!(
        table.starts_with("of,pixels,pixels judged,sum (counts),mean or difference (counts per pixel),"),
        "{table}"
    );
    assert!(table.contains("\"Ti K, “=painted”\",144,144,"), "{table}");
    let profile = text(&mut study, "profile");
    assert_eq!(profile.lines().count(), 1 + 30);
    let Some(cells) = profile.lines().nth(1).map(|line| line.split(',').collect::<Vec<_>>()) else {
        panic!()
    };
    assert_eq!((cells.len(), cells[0], cells[1], cells[5]), (10, "0.5", "", "4"));
    let (other, _) = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    assert_eq!(code(&mut study, "profile", json!({"answer": other.id})), "bad_setting");
    assert!(export(&mut study, "table", json!({"answer": other.id})).is_ok());
    assert_eq!(code(&mut study, "table", json!({"answer": "none"})), "answer_not_held");
    assert_eq!(code(&mut study, "table", json!({"answr": "none"})), "bad_setting");
}

#[test]
fn the_record_stands_in_a_column_of_its_own_and_only_once() {
    let mut study = study();
    region(&mut study, json!({"name": "sky", "rectangle": {"x": 1, "y": 2, "width": 3, "height": 4}}));
    region(&mut study, json!({"name": "sea", "threshold": {"map": "Ti K", "low": 40}}));
    let lines = |text: Vec<u8>| -> Vec<String> {
        String::from_utf8(text).unwrap().split("\r\n").map(str::to_owned).collect()
    };
    let with = lines(bytes(&mut study, "regions_table", Value::Null));
    let without = lines(bytes(&mut study, "regions_table", json!({"record": false})));
    assert_eq!(with.len(), 1 + 2 + 1);
    assert_eq!(with[0], format!("{},record", without[0]));
    assert_eq!(with[2], format!("{},", without[2]));
    let cell = with[1].strip_prefix(&format!("{},\"", without[1])).unwrap().strip_suffix('"').unwrap();
    let record: Value = serde_json::from_str(&cell.replace("\"\"", "\"")).unwrap();
    assert_eq!(record["inputs"][1]["sha256"], study.inputs()[1].sha256.as_str());
    assert_eq!(record["regions"][1]["shape"]["how"], "threshold");
    assert!(without[2].starts_with("r2,sea,passage,,threshold,"), "{}", without[2]);
}

#[test]
fn a_map_comes_back_as_it_is_used() {
    let mut study = study();
    study
        .set_grid(GridRecord {
            step_x_um: Some(62.5),
            step_y_um: Some(100.0 / 3.0),
            turns: Some(1),
            mirror: Some(true),
        })
        .unwrap();
    let stated = MapRecord { gain: Some(2.0), fill_value: Some(4.0), ..MapRecord::default() };
    study.set_map("Ti K", stated).unwrap();
    let derivation = json!({"how": "subtract", "k": 0.5, "of": ["Ti K", "Fe K"], "name": "Ti less Fe"});
    study.derive(&Derivation::read(derivation).unwrap()).unwrap();
    for name in ["Ti K", "Fe K", "Ti less Fe"] {
        let want = study.stack().find(name).unwrap().plane.to_f64().unwrap();
        for format in ["tiff", "npy"] {
            let file = export(&mut study, "map", json!({"map": name, "format": format})).unwrap();
            let mut again = Study::new();
            let opened = again.open(&file.name, &file.bytes);
            assert_eq!(opened.maps, ["m1"], "{name} {format}: {:?}", opened.notices);
            let map = again.stack().find("m1").unwrap();
            let got = map.plane.to_f64().unwrap();
            assert_eq!((got.width(), got.height()), (20, 30));
            let is_same = |(a, b): (&f64, &f64)| a == b || (a.is_nan() && b.is_nan());
            assert!(got.data().iter().zip(want.data()).all(is_same), "{name} {format}");
            if format == "tiff" {
                let step = again.stack().step().unwrap().0;
                let of = study.stack().step().unwrap().0;
                assert!((step.x_um() - of.x_um()).abs() < 1e-5 && (step.y_um() - of.y_um()).abs() < 1e-5);
                assert_eq!(map.title, name);
            }
        }
    }
    let twice = json!({"map": "d1"});
    assert_eq!(bytes(&mut study, "map", twice.clone()), bytes(&mut study, "map", twice));
}

#[test]
fn numbers_that_a_float_does_not_hold_are_refused_and_kept_in_arrays() {
    let mut study = Study::new();
    let mut large = npy::begin("<f8", (2, 1), 8).unwrap();
    large.extend([1e300f64, 0.1].iter().flat_map(|v| v.to_le_bytes()));
    study.open("Au-L.npy", &large);
    let fault = export(&mut study, "map", json!({"map": "Au L"})).unwrap_err();
    assert!(fault.code == "bad_setting" && fault.message.contains("npz"), "{fault}");
    let file = bytes(&mut study, "map", json!({"map": "Au L", "format": "npy"}));
    assert_eq!(file[file.len() - 16..], large[large.len() - 16..]);
}

#[test]
fn a_mask_finds_the_pixels_of_the_file() {
    // Marks one pixel of a file, lays it, and goes back.
    for turns in 0..8 {
        let orientation = Orientation::new(turns % 4, turns >= 4);
        for frame in [None, Some(Frame { x: 2, y: -1, width: 4, height: 6 })] {
            let mut study = Study::new();
            let mut cells = npy::begin("|u1", (7, 5), 1).unwrap();
            cells.extend(0..35u8);
            study.open("Ti-K.npy", &cells);
            if let Some(Frame { x, y, width, height }) = frame {
                let frame = Some(Frame { x, y, width, height }.into());
                study.set_map("m1", MapRecord { frame, ..MapRecord::default() }).unwrap();
            }
            let turned = GridRecord {
                turns: Some(orientation.quarter_turns()),
                mirror: Some(orientation.is_mirrored()),
                ..GridRecord::default()
            };
            study.set_grid(turned).unwrap();
            let map = study.stack().find("m1").unwrap();
            let (width, height) = map.plane.size();
            for x in 0..width {
                for y in 0..height {
                    let mut mask: Mask = Grid::try_filled(width, height, false).unwrap();
                    mask.data_mut()[(y * width + x) as usize] = true;
                    let (back, lost) = on_file(&mask, map).unwrap();
                    let value = map.plane.samples().value(x, y).unwrap();
                    let found = back.data().iter().position(|&inside| inside);
                    assert_eq!((back.width(), back.height()), (7, 5));
                    match found {
                        Some(place) => {
                            assert_eq!((place as f64, lost), (value, 0), "{orientation:?} {frame:?}")
                        }
                        None => assert!(lost == 1 && frame.is_some() && value == 0.0),
                    }
                }
            }
        }
    }
}

#[test]
fn a_mask_for_other_programs_must_say_which_way_up() {
    let mut study = study();
    region(&mut study, json!({"name": "corner", "rectangle": {"x": 0, "y": 0, "width": 3, "height": 2}}));
    let of = |format: &str| json!({"region": "corner", "format": format});
    assert!(export(&mut study, "mask", of("csv")).is_ok());
    study.set_grid(GridRecord { turns: Some(1), ..GridRecord::default() }).unwrap();
    for format in ["csv", "npy", "npz"] {
        assert_eq!(code(&mut study, "mask", of(format)), "which_way_up");
        let mut here = of(format);
        here["as_file_of"] = "".into();
        assert!(export(&mut study, "mask", here).is_ok());
    }
    assert!(export(&mut study, "mask", of("png")).is_ok() && export(&mut study, "mask", of("tiff")).is_ok());
    let list = json!({"region": "corner", "format": "csv", "as_file_of": "m1", "record": false});
    let text = String::from_utf8(bytes(&mut study, "mask", list)).unwrap();
    // Turned clockwise, the upper left corner of the file is now the upper right one; the rectangle came along.
    let want = "row from 0,column from 0\r\n0,0\r\n0,1\r\n0,2\r\n1,0\r\n1,1\r\n1,2\r\n";
    assert_eq!(text, want);
    let derivation = json!({"how": "sum", "of": ["m1", "m2"]});
    study.derive(&Derivation::read(derivation).unwrap()).unwrap();
    assert_eq!(code(&mut study, "mask", json!({"region": "corner", "as_file_of": "d1"})), "bad_setting");
    assert_eq!(code(&mut study, "mask", json!({"region": "no"})), "unknown_region");
    assert_eq!(code(&mut study, "mask", json!({"region": "corner", "format": "json"})), "bad_setting");
}

#[test]
fn a_kept_answer_is_exported_after_its_pixels_are_gone() {
    let mut study = study();
    let (answer, _) = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    let keep = KeepSettings { answer: Some(answer.id.clone()), ..KeepSettings::default() };
    study.keep(keep).unwrap();
    let options = json!({"answer": answer.id});
    let held = bytes(&mut study, "answer", options.clone());
    // Turning lets go of what was found on the old maps.
    study.set_grid(GridRecord { turns: Some(2), ..GridRecord::default() }).unwrap();
    assert_eq!(
        code(&mut study, "raster", json!({"answer": answer.id, "raster": "classes"})),
        "answer_not_held"
    );
    assert_eq!(bytes(&mut study, "answer", options), held);
    let mut read: crate::ask::Answer = serde_json::from_slice(&held).unwrap();
    assert_eq!(serde_json::to_vec(&read).unwrap(), serde_json::to_vec(&answer).unwrap());
    read.id = String::new();
    assert_eq!(crate::digest::sha256_hex(&serde_json::to_vec(&read).unwrap()), answer.id);
}

#[test]
fn what_is_offered_can_be_had_and_nothing_else() {
    let mut study = study();
    region(&mut study, json!({"name": "../x", "threshold": {"map": "Ti K", "low": 40}}));
    let (answer, _) = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    for offer in offers() {
        for format in &offer.formats {
            let mut options = match offer.what {
                "picture" => json!({"settings": {"map": "m1"}, "width_px": 500}),
                "map" => json!({"map": "m1"}),
                "raster" => json!({"answer": answer.id, "raster": "classes"}),
                "mask" => json!({"region": "r1"}),
                "answer" | "table" => json!({"answer": answer.id}),
                "regions_table" | "files" | "record" => json!({}),
                // These need a line, points, a spectrum.
                "profile" | "points" | "spectrum" => continue,
                other => panic!("{other}"),
            };
            if offer.formats.len() > 1 {
                options["format"] = format.format.into();
            }
            let file = export(&mut study, offer.what, options).unwrap();
            assert!(
                file.name.ends_with(&format!(".{}", format.ending)) && !file.name.contains('/'),
                "{}",
                file.name
            );
            assert!(!file.bytes.is_empty() && !file.media_type.is_empty());
        }
    }
    assert_eq!(code(&mut study, "points", json!({})), "bad_setting");
    assert_eq!(code(&mut study, "spectrum", json!({"spectrum": "s1"})), "unknown_spectrum");
    for (what, options) in [
        ("everything", json!({})),
        ("map", json!({"map": "m1", "format": "csv"})),
        ("record", json!({"x": 1})),
    ] {
        assert_eq!(code(&mut study, what, options), "bad_setting");
    }
}
