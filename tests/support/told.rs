//! Does natively what a list of calls says; the end-to-end test does the same in the page.

use super::study_file::Files;
use limner::digest::sha256_hex;
use limner::study::{
    AboutRecord, AlignSettings, Derivation, FindingSettings, KeepSettings, ObjectSettings, PhotoSettings,
    PointSettings, RegionSettings, SpectrumSettings, Study,
};
use serde_json::{Value, json};
use std::path::PathBuf;

/// The project's folder.
pub fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

fn bytes_at(path: &Value) -> Vec<u8> {
    let path = path.as_str().unwrap();
    std::fs::read(root().join(path)).unwrap_or_else(|error| panic!("{path}: {error}"))
}

/// Does one step.
pub fn told(study: &mut Study, files: &mut Files, step: &Value) {
    if let Some(paths) = step.get("open") {
        for path in paths.as_array().unwrap() {
            let bytes = bytes_at(path);
            let name = path.as_str().unwrap().rsplit('/').next().unwrap();
            let opened = study.open(name, &bytes);
            assert!(opened.is_kept, "{name}: {:?}", opened.notices);
            files.insert(sha256_hex(&bytes), bytes);
        }
        return;
    }
    if step.get("keep").is_some() {
        return kept(study, step);
    }
    called(study, step["call"].as_str().unwrap(), &step["args"]);
}

fn called(study: &mut Study, call: &str, args: &Value) {
    let read = |value: &Value| value.clone();
    let name = || args[0].as_str().unwrap();
    match call {
        "set_about" => drop(study.set_about(AboutRecord::read(read(&args[0])).unwrap()).unwrap().clone()),
        "set_scan" => drop(study.set_scan(serde_json::from_value(read(&args[0])).unwrap()).unwrap().clone()),
        "align" => drop(study.align(AlignSettings::read(read(&args[0])).unwrap()).unwrap()),
        "set_photo" => {
            let settings: PhotoSettings = serde_json::from_value(read(&args[1])).unwrap();
            study.set_photo(name(), settings).unwrap();
        }
        "set_object" => drop(study.set_object(ObjectSettings::read(read(&args[0])).unwrap()).unwrap()),
        "add_region" => {
            let mut settings = read(&args[0]);
            if let Some(path) = settings["mask_png"].get("bytes_of").cloned() {
                settings["mask_png"] = json!(bytes_at(&path));
            }
            drop(study.add_region(RegionSettings::read(settings).unwrap()).unwrap());
        }
        "add_point" => drop(study.add_point(PointSettings::read(read(&args[0])).unwrap()).unwrap()),
        "add_spectrum" => {
            let mut settings = read(&args[0]);
            let fields = settings.as_object_mut().unwrap();
            let bytes = bytes_at(&fields.remove("bytes").unwrap()["bytes_of"]);
            drop(study.add_spectrum(SpectrumSettings::read(settings).unwrap(), &bytes).unwrap());
        }
        "derive" => drop(study.derive(&Derivation::read(read(&args[0])).unwrap()).unwrap()),
        "set_map" => drop(study.set_map(name(), serde_json::from_value(read(&args[1])).unwrap()).unwrap()),
        "set_finding" => {
            drop(study.set_finding(name(), FindingSettings::read(read(&args[1])).unwrap()).unwrap())
        }
        other => panic!("{other} is not done by this test"),
    }
}

/// Asks, if there is a question, and keeps the answer, or keeps a view.
fn kept(study: &mut Study, step: &Value) {
    let answer = step["keep"].as_str().map(|question| {
        study
            .ask(question, step["settings"].clone(), &mut |_, _| {})
            .unwrap_or_else(|fault| panic!("{step}: {fault}"))
            .0
            .id
    });
    let mut picture = Some(step["picture"].clone()).filter(|picture| !picture.is_null());
    if let (Some(settings), Some(id)) = (&mut picture, &answer) {
        settings["answer"] = json!(id);
    }
    let text = |name: &str| step.get(name).and_then(Value::as_str).map(str::to_owned);
    let keep = KeepSettings {
        answer,
        picture,
        title: text("title"),
        note: text("note"),
        scene: step.get("scene").cloned().unwrap_or_default(),
    };
    study.keep(keep).unwrap_or_else(|fault| panic!("{step}: {fault}"));
}
