//! Writes one of every exported file, of maps that integer formulas define, into a folder: `LIMNER_EXPORTS`, else one for tests.
//! `tests/reference/exports.py` reads them with numpy, tifffile, Pillow, csv, json and zipfile, and knows the formulas itself;
//! `cargo xtask test --only exports` runs both.

#![allow(clippy::unwrap_used, clippy::disallowed_methods)] // a test may fail, and writes files

use limner::export::export;
use limner::study::{
    Derivation, GridRecord, MapRecord, PointSettings, RegionSettings, SpectrumSettings, Study,
};
use serde_json::{Value, json};
use std::path::PathBuf;

const WIDTH: i64 = 30;
const HEIGHT: i64 = 20;

fn npy(descr: &str, (width, height): (i64, i64), number: impl Fn(i64, i64) -> Vec<u8>) -> Vec<u8> {
    let header = format!("{{'descr': '{descr}', 'fortran_order': False, 'shape': ({height}, {width}), }}\n");
    let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
    bytes.extend((header.len() as u16).to_le_bytes());
    bytes.extend(header.as_bytes());
    for y in 0..height {
        (0..width).for_each(|x| bytes.extend(number(x, y)));
    }
    bytes
}

fn counts(size: (i64, i64), value: impl Fn(i64, i64) -> i64) -> Vec<u8> {
    npy("<u2", size, |x, y| (value(x, y) as u16).to_le_bytes().to_vec())
}

/// Counts of a background with a painted square.
fn painted(x: i64, y: i64, left: i64, bright: i64) -> i64 {
    let background = [2, 1, 3, 2, 0, 4, 2, 1][((x * 5 + y * 3) % 8) as usize];
    background + if (left..left + 12).contains(&x) && (4..16).contains(&y) { bright } else { 0 }
}

/// The input files, in the order in which they are opened; the formulas stand in `exports.py` too.
fn inputs() -> Vec<(&'static str, Vec<u8>)> {
    let size = (WIDTH, HEIGHT);
    vec![
        ("Ti-K.npy", counts(size, |x, y| painted(x, y, 8, 80))),
        ("Fe-K.npy", counts(size, |x, y| painted(x, y, 14, 200))),
        (
            "Pb-L.npy",
            npy("<f4", size, |x, y| {
                let value = if (x + y) % 5 == 0 { f32::NAN } else { (3 * x - 5 * y) as f32 / 8.0 };
                value.to_le_bytes().to_vec()
            }),
        ),
        // Stored with four steps for a count, an offset of 2, and 198 where there is no data.
        ("Cu-K.npy", counts(size, |x, y| 2 + 4 * ((3 * x + y) % 50))),
        // Larger than the others: a part of it lies on the grid. And smaller.
        ("Zn-K.npy", counts((34, 23), |x, y| (7 * x + 13 * y + x * y) % 97)),
        ("Ca-K.npy", counts((27, 18), |x, y| (5 * x + 11 * y + 3) % 61)),
        ("Hg-L.npy", counts(size, |x, y| (2 * x + 7 * y) % 90)),
    ]
}

fn study(turns: u8, mirror: bool) -> Study {
    let mut study = Study::new();
    for (name, bytes) in inputs() {
        assert_eq!(study.open(name, &bytes).maps.len(), 1, "{name}");
    }
    let state = |study: &mut Study, map: &str, stated: Value| {
        study.set_map(map, serde_json::from_value::<MapRecord>(stated).unwrap()).unwrap();
    };
    state(&mut study, "Cu K", json!({"gain": 4.0, "offset": 2.0, "fill_value": 198.0}));
    state(&mut study, "Zn K", json!({"frame": {"x": 3, "y": 2, "width": WIDTH, "height": HEIGHT}}));
    state(&mut study, "Ca K", json!({"frame": {"x": -2, "y": -1, "width": WIDTH, "height": HEIGHT}}));
    state(&mut study, "Hg L", json!({"turns": 2, "mirror": true}));
    let step = json!({"step_x_um": 250.0, "step_y_um": 400.0});
    study.set_grid(serde_json::from_value::<GridRecord>(step).unwrap()).unwrap();
    let subtract = json!({"how": "subtract", "k": 0.5, "of": ["Ti K", "Fe K"], "name": "Ti less Fe"});
    study.derive(&Derivation::read(subtract).unwrap()).unwrap();
    for region in [
        json!({"name": "wedge", "role": "passage", "threshold": {"map": "Pb L", "low": 2.5}}),
        json!({"name": "=box", "role": "ground", "rectangle": {"x": 1, "y": 2, "width": 5, "height": 7}}),
        json!({"name": "Blätter <b>", "combine": {"how": "without", "of": ["wedge", "=box"]}}),
    ] {
        study.add_region(RegionSettings::read(region).unwrap()).unwrap();
    }
    let turned = json!({"turns": turns, "mirror": mirror});
    study.set_grid(serde_json::from_value::<GridRecord>(turned).unwrap()).unwrap();
    study
}

/// A folder of files and the list of them.
struct Out {
    folder: PathBuf,
    list: Vec<Value>,
}

impl Out {
    fn write(&mut self, study: &mut Study, name: &str, what: &str, options: Value, more: Value) {
        let file = export(study, what, options.clone()).unwrap();
        let again = export(study, what, options.clone()).unwrap();
        assert_eq!(file.bytes, again.bytes, "{what} {options}: not the same bytes twice");
        let ending = file.name.rsplit('.').next().unwrap();
        let path = format!("{name}.{ending}");
        std::fs::write(self.folder.join(&path), &file.bytes).unwrap();
        let mut entry = json!({
            "file": path, "what": what, "options": options, "proposed": file.name, "type": file.media_type,
        });
        for (key, value) in more.as_object().into_iter().flatten() {
            entry[key] = value.clone();
        }
        self.list.push(entry);
    }
}

#[test]
fn files_for_other_readers() {
    let folder = match std::env::var("LIMNER_EXPORTS") {
        Ok(folder) => PathBuf::from(folder),
        Err(_) => PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("exports"),
    };
    if folder.exists() {
        std::fs::remove_dir_all(&folder).unwrap();
    }
    std::fs::create_dir_all(folder.join("inputs")).unwrap();
    for (name, bytes) in inputs() {
        std::fs::write(folder.join("inputs").join(name), bytes).unwrap();
    }
    let mut out = Out { folder, list: Vec::new() };
    for way in 0..8u8 {
        let (turns, mirror) = (way % 4, way >= 4);
        let mut study = study(turns, mirror);
        let laid = json!({"turns": turns, "mirror": mirror});
        for map in ["Ti K", "Pb L", "Cu K", "Zn K", "Ca K", "Hg L", "Ti less Fe"] {
            for format in ["tiff", "npz", "npy"] {
                let name = format!("map_{way}_{}_{format}", map.replace(' ', "-"));
                let mut more = laid.clone();
                more["map"] = map.into();
                out.write(&mut study, &name, "map", json!({"map": map, "format": format}), more);
            }
        }
        for (region, as_file_of) in [
            ("wedge", ""),
            ("=box", ""),
            ("Blätter <b>", ""),
            ("wedge", "Ti K"),
            ("wedge", "Zn K"),
            ("wedge", "Ca K"),
            ("wedge", "Hg L"),
        ] {
            for format in ["png", "tiff", "npz", "npy", "csv"] {
                let name = format!("mask_{way}_{}_{format}", out.list.len());
                let options = json!({"region": region, "format": format, "as_file_of": as_file_of});
                out.write(&mut study, &name, "mask", options, laid.clone());
            }
        }
        let raster = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap().0;
        let ratio = study.ask("ratio", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap().0;
        for (answer, raster) in
            [(&raster.id, "classes"), (&raster.id, "excess_sigma"), (&ratio.id, "count_ratio")]
        {
            for format in ["tiff", "npz", "npy"] {
                let name = format!("raster_{way}_{raster}_{format}");
                let options = json!({"answer": answer, "raster": raster, "format": format});
                out.write(&mut study, &name, "raster", options, laid.clone());
            }
        }
        let picture =
            json!({"settings": {"map": "Ti less Fe"}, "width_mm": 80, "dpi": 300, "title": "Ti less Fe"});
        out.write(&mut study, &format!("picture_{way}"), "picture", picture, laid);
    }
    let mut study = study(0, false);
    lists(&mut study, &mut out);
    let list = serde_json::to_string_pretty(&out.list).unwrap();
    std::fs::write(out.folder.join("list.json"), list).unwrap();
}

/// Tables, answers, records, a spectrum.
fn lists(study: &mut Study, out: &mut Out) {
    for point in [
        json!({"name": "=1+1", "x_mm": 3.0, "y_mm": 2.0, "technique": "Raman", "result": "a band, \"253\"\nand more"}),
        json!({"name": "P2", "at": [20.5, 10.25], "technique": "point XRF"}),
    ] {
        study.add_point(serde_json::from_value::<PointSettings>(point).unwrap()).unwrap();
    }
    let text: String =
        (0..400).map(|i| format!("{}\t{}\n", f64::from(i) * 0.02 + 0.1, (i * i) % 37)).collect();
    let settings = json!({"name": "wedge sum.txt", "region": "wedge", "how": "sum"});
    study.add_spectrum(SpectrumSettings::read(settings).unwrap(), text.as_bytes()).unwrap();
    std::fs::write(out.folder.join("inputs").join("wedge sum.txt"), &text).unwrap();
    let line = json!({"from": [0, 8.5], "to": [30, 8.5], "width_px": 1});
    let regions = json!({"regions": ["wedge", "=box"], "maps": ["Ti K", "Fe K"], "line": line});
    let answer = study.ask("regions", regions, &mut |_, _| {}).unwrap().0;
    let of = json!({"answer": answer.id});
    let bare = json!({"answer": answer.id, "record": false});
    out.write(study, "answer", "answer", of.clone(), Value::Null);
    for what in ["table", "profile"] {
        out.write(study, what, what, of.clone(), Value::Null);
        out.write(study, &format!("{what}_bare"), what, bare.clone(), Value::Null);
    }
    for what in ["regions_table", "points", "files"] {
        out.write(study, what, what, json!({}), Value::Null);
    }
    out.write(study, "spectrum", "spectrum", json!({"spectrum": "s1"}), Value::Null);
    out.write(study, "record", "record", Value::Null, Value::Null);
}
