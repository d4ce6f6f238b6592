//! A small study with something of every sort in it, and study files as bytes. (Invented data.)

use crate::making::npy;
use limner::digest::sha256_hex;
use limner::study::{
    AboutRecord, AlignSettings, Derivation, GridRecord, KeepSettings, MapRecord, ObjectSettings,
    PointSettings, RegionSettings, ScanRecord, SpectrumSettings, Study,
};
use serde_json::{Value, json};

#[path = "../support/study_file.rs"]
pub mod study_file;

pub use study_file::{Files, restored, saved};

/// Counts: a background with two painted squares, of which one has more of the second map.
fn counts(bright: u16, left: u32) -> Vec<u8> {
    let mut data = Vec::new();
    for y in 0..20u32 {
        for x in 0..30u32 {
            let background = [2u16, 1, 3, 2, 0, 4, 2, 1][((x * 5 + y * 3) % 8) as usize];
            let is_painted = (left..left + 12).contains(&x) && (4..16).contains(&y);
            data.extend((background + if is_painted { bright } else { 0 }).to_le_bytes());
        }
    }
    npy("<u2", "False", "(20, 30)", &data)
}

fn photo(shade: u32) -> Vec<u8> {
    let colour = |i: u32| {
        let (x, y) = (i % 60, i / 60);
        let patch = if (x / 10 + y / 10) % 2 == 0 { [180, 60, 50] } else { [60, 90, 150] };
        patch.map(|v: u32| (v + (x + 2 * y + shade) % 7) as u8)
    };
    let pixels: Vec<u8> = (0..60 * 40).flat_map(colour).collect();
    crate::making::png(60, 40, 2, 8, &pixels)
}

/// The files of the study, with names that are no good as paths.
pub fn files() -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("Ti-K.npy", counts(80, 8)),
        ("../<b>Fe K</b> Größe.npy", counts(200, 14)),
        ("recto & verso/photo.png", photo(0)),
        ("uv.png", photo(3)),
    ]
}

/// The files by their hashes.
pub fn by_hash() -> Files {
    files().into_iter().map(|(_, bytes)| (sha256_hex(&bytes), bytes)).collect()
}

pub fn region(study: &mut Study, settings: Value) {
    study.add_region(RegionSettings::read(settings).unwrap()).unwrap();
}

/// Maps, photos and all that is stated, without findings.
pub fn study() -> Study {
    let mut study = Study::new();
    for (name, bytes) in files() {
        assert!(study.open(name, &bytes).is_kept, "{name}");
    }
    study
        .set_grid(GridRecord { step_x_um: Some(500.0), step_y_um: Some(250.1), ..GridRecord::default() })
        .unwrap();
    study.set_map("m2", MapRecord { line: Some("Fe K".into()), ..MapRecord::default() }).unwrap();
    study.set_scan(ScanRecord { own_lines: vec!["Rh L".into()], ..ScanRecord::default() }).unwrap();
    let lies = json!({"photo": "p1", "transform": [0.5, 0, 0.1, 0, 0.5, 0, 0, 0, 1]});
    study.align(AlignSettings::read(lies).unwrap()).unwrap();
    let corner = json!({"corner": "upper left", "at": [0, 0], "across": [29, 0], "down": [0, 19]});
    study.set_object(ObjectSettings::read(corner).unwrap()).unwrap();
    study.derive(&Derivation::read(json!({"how": "smooth", "of": ["m1"]})).unwrap()).unwrap();
    let point = json!({"at": [9.25, 4.1], "technique": "Raman", "pigment": "azurite", "says": "found", "result": "<i>band</i> at 400"});
    study.add_point(PointSettings::read(point).unwrap()).unwrap();
    region(
        &mut study,
        json!({"name": "left <script>alert(1)</script>", "rectangle": {"x": 8, "y": 4, "width": 6, "height": 12}}),
    );
    region(
        &mut study,
        json!({"name": "../ground", "role": "ground", "polygon": [[0, 0], [6.3, 0.1], [3, 9.7]]}),
    );
    region(&mut study, json!({"name": "bright", "threshold": {"map": "m2", "low": 50}}));
    region(&mut study, json!({"name": "like", "colour": {"photo": "p1", "at": [[5, 5]]}}));
    region(&mut study, json!({"name": "both", "combine": {"how": "or", "of": ["r1", "r2"]}}));
    let spectrum = SpectrumSettings::read(json!({"name": "sum", "region": "r1", "how": "sum"})).unwrap();
    study.add_spectrum(spectrum, include_bytes!("../cases/spectra/lead.txt")).unwrap();
    let about = json!({"object": "Chart <img src=x>", "remarks": "two\nlines"});
    study.set_about(AboutRecord::read(about).unwrap()).unwrap();
    study
}

/// With three findings: an answer, a view, an answer without a picture of its own choice.
pub fn study_with_findings() -> Study {
    let mut study = study();
    let mut keep = |question: &str, asked: Value, title: &str| {
        let (answer, _) = study.ask(question, asked, &mut |_, _| {}).unwrap();
        let scene = json!({"zoom": 2.5, "list": [1, [2, {"a": null}]]});
        let kept = json!({"answer": answer.id, "title": title, "note": "</script><b>n</b>", "scene": scene});
        study.keep(KeepSettings::read(kept).unwrap()).unwrap();
    };
    keep("apart", json!({"a": "Ti K", "b": "Fe K"}), "Titanium <without> iron");
    keep("ratio", json!({"a": "Ti K", "b": "Fe K", "region": "r1"}), "");
    keep("faint", json!({"map": "Ti K", "region": "r2"}), "faint");
    let view = json!({"picture": {"lights": [{"map": "m1"}, {"map": "m2"}]}, "title": "both"});
    study.keep(KeepSettings::read(view).unwrap()).unwrap();
    study
}
