//! The report of the example, as somebody would make it who has looked at it for a day: `target/report.html`, or the file that is
//! named; the second word is the paper, the third the resolution of the figures. Everything in it is invented, as the example is.
#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::panic)] // reads the example's files itself

use limner::ask::Progress;
use limner::report::{ReportSettings, html};
use limner::study::{
    AboutRecord, AlignSettings, Derivation, GridRecord, KeepSettings, PointSettings, RegionSettings,
    ScanRecord, Study,
};
use serde_json::{Value, json};
use std::path::Path;

fn quiet() -> impl FnMut(f64, &str) {
    |_, _| {}
}

/// The example with regions, points and what is stated of the scan.
fn opened(folder: &Path) -> Study {
    let mut study = Study::new();
    let mut names: Vec<_> =
        std::fs::read_dir(folder.join("tern-sound")).unwrap().map(|entry| entry.unwrap().path()).collect();
    names.sort();
    for path in &names {
        study.open(path.file_name().unwrap().to_str().unwrap(), &std::fs::read(path).unwrap());
    }
    let scan = json!({"anode": "Rh", "kv": 45, "beam_um": 600, "path": "air", "detectors": 1, "resolution_ev": 140,
        "own_lines": ["Ar K"]});
    study.set_scan(serde_json::from_value::<ScanRecord>(scan).unwrap()).unwrap();
    let grid: GridRecord = serde_json::from_value(json!({"step_x_um": 500.0, "step_y_um": 500.0})).unwrap();
    study.set_grid(grid).unwrap();
    let truth: Value =
        serde_json::from_slice(&std::fs::read(folder.join("truth/truth.json")).unwrap()).unwrap();
    let mut add = |name: &str, role: Value| {
        let all = truth["passages"].as_array().unwrap();
        let passage = all.iter().find(|passage| passage["name"] == name).unwrap();
        let mask = std::fs::read(folder.join("truth").join(passage["inner"].as_str().unwrap())).unwrap();
        let mut settings = role;
        settings["name"] = json!(name);
        settings["mask_png"] = json!(mask);
        study.add_region(RegionSettings::read(settings).unwrap()).unwrap();
    };
    add("support", json!({"role": "bare support"}));
    add("frame-red", json!({"role": "reference", "pure": "Pb"}));
    for name in
        ["hills", "shore", "smalt", "pennant", "repair", "star-bare", "star-varnished", "yellow", "hull"]
    {
        add(name, json!({"role": "passage"}));
    }
    let threshold = json!({"name": "iron from 200 counts", "threshold": {"map": "Fe K", "low": 200.0}});
    study.add_region(RegionSettings::read(threshold).unwrap()).unwrap();
    for point in [
        json!({"x_mm": 60.0, "y_mm": 50.0, "technique": "Raman", "result": "bands of vermilion", "pigment": "vermilion",
            "says": "found", "name": "R1"}),
        json!({"x_mm": 20.0, "y_mm": 30.0, "technique": "Raman", "result": "nothing but fluorescence", "name": "R2"}),
    ] {
        if let Err(fault) = PointSettings::read(point).and_then(|point| study.add_point(point)) {
            panic!("{}", fault.message);
        }
    }
    let rows = truth["photo_to_grid"].as_array().unwrap();
    let matrix: Vec<&Value> = rows.iter().flat_map(|row| row.as_array().unwrap()).collect();
    let photo = study.photos()[0].id.clone();
    study.align(AlignSettings::read(json!({"photo": photo, "transform": matrix})).unwrap()).unwrap();
    let sum = json!({"how": "sum", "of": ["Hg L", "Hg M"]});
    study.derive(&Derivation::read(sum).unwrap()).unwrap();
    study
}

/// Asks and keeps.
fn keep(study: &mut Study, question: &str, settings: Value, title: &str, note: &str) {
    let asked = study.ask(question, settings, &mut quiet() as Progress<'_>);
    let (answer, _) = asked.unwrap_or_else(|fault| panic!("{question}: {}", fault.message));
    let title = Some(title.to_owned()).filter(|title| !title.is_empty());
    let note = Some(note.to_owned());
    study.keep(KeepSettings { answer: Some(answer.id), title, note, ..KeepSettings::default() }).unwrap();
}

fn main() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data");
    let mut words = std::env::args().skip(1);
    let to = words.next().unwrap_or_else(|| "target/report.html".into());
    let paper = words.next().unwrap_or_else(|| "A4".into());
    let dpi: f64 = words.next().map_or(150.0, |word| word.parse().unwrap());
    let mut study = opened(&folder);
    let about = json!({
        "object": "Tern Sound chart", "number": "1997.14.3", "described": "Chart on paper laid on oak, ink and colours",
        "dated": "1640 to 1670", "author": "Paper conservation study room",
        "remarks": "Invented, as is everything about this chart.\nSeen before treatment."});
    study.set_about(AboutRecord::read(about).unwrap()).unwrap();
    let study = &mut study;
    let view = json!({"lights": [{"map": "Fe K"}, {"map": "Cu K"}, {"map": "Pb L"}]});
    let note = Some("Iron in the hills, copper along the shore, lead in the border.".to_owned());
    let view = KeepSettings {
        picture: Some(view),
        title: Some("The chart at a glance".into()),
        note,
        ..KeepSettings::default()
    };
    study.keep(view).unwrap();
    keep(
        study,
        "faint",
        json!({"map": "Hg L", "region": "pennant"}),
        "",
        "A few grains under the microscope; see also R1.",
    );
    keep(
        study,
        "together",
        json!({"a": "Co K", "b": "Ni K", "region": "smalt"}),
        "Cobalt and nickel in the blue band",
        "",
    );
    keep(study, "apart", json!({"a": "Ti K", "b": "Fe K"}), "Titanium without iron: a later repair?", "");
    keep(study, "ratio", json!({"a": "Ti K", "b": "Fe K", "region": "hills"}), "", "");
    keep(
        study,
        "regions",
        json!({"regions": ["hills", "shore", "smalt"], "maps": ["Fe K", "Cu K", "Co K", "Pb L"]}),
        "",
        "",
    );
    let span =
        |region: &str, colour: &str| json!({"region": region, "colour": colour, "from": 1640, "to": 1670});
    keep(study, "materials", span("repair", "white"), "", "");
    keep(study, "materials", span("smalt", "blue"), "", "");
    keep(
        study,
        "covered",
        json!({"region": "star-varnished", "against": "star-bare", "layer": "varnish"}),
        "",
        "",
    );
    keep(study, "dates", json!({"from": 1640, "to": 1670}), "", "The repair has its own date.");
    let settings = json!({"paper": paper, "dpi": dpi, "date": "1 December 2026"});
    let made = html(study, &ReportSettings::read(settings).unwrap(), &mut quiet()).unwrap();
    std::fs::write(&to, &made).unwrap();
    println!("{to}: {} findings, {} bytes", study.findings().len(), made.len());
}
