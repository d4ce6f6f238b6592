//! The input files of the manifest, read and opened.

use crate::background::dtype;
use crate::support::{Section, bytes_of, json_of, list, page_of, text};
use limner::digest::sha256_hex;
use limner::grid::Samples;
use limner::study::Study;
use serde_json::Value;
use std::collections::BTreeSet;

/// The bits of every NaN that occurs, in hexadecimal.
fn nan_patterns(samples: &Samples) -> Vec<String> {
    let patterns: BTreeSet<String> = match samples {
        Samples::F32(grid) => {
            grid.data().iter().filter(|v| v.is_nan()).map(|v| format!("{:08x}", v.to_bits())).collect()
        }
        Samples::F64(grid) => {
            grid.data().iter().filter(|v| v.is_nan()).map(|v| format!("{:016x}", v.to_bits())).collect()
        }
        _ => BTreeSet::new(),
    };
    patterns.into_iter().collect()
}

#[test]
fn files_of_the_manifest() {
    let mut section = Section::exact("files/manifest.json");
    let manifest = json_of("files/manifest.json");
    for entry in list(&manifest) {
        section.row();
        let file = text(&entry["file"]);
        let path = format!("files/{file}");
        let page = page_of(&path);
        let samples = &page.samples;
        section.same(format!("{file}, type"), dtype(samples).as_str(), text(&entry["dtype"]));
        section.near(format!("{file}, width"), f64::from(samples.width()), &entry["width"]);
        section.near(format!("{file}, height"), f64::from(samples.height()), &entry["height"]);
        let hash = sha256_hex(&samples.le_bytes().unwrap());
        section.same(format!("{file}, pixels"), hash.as_str(), text(&entry["sha256_of_pixels"]));
        if let Some(want) = entry.get("nan_patterns") {
            let want: Vec<String> = list(want).iter().map(|bits| text(bits).to_owned()).collect();
            section.same(format!("{file}, NaN"), nan_patterns(samples), want);
        }
        if let Some(want) = entry.get("step_um") {
            section.near(format!("{file}, step across"), page.step.map(|step| step.x_um()), want);
            section.near(format!("{file}, step down"), page.step.map(|step| step.y_um()), want);
        }

        let mut study = Study::new();
        let opened = study.open(file, &bytes_of(&path));
        assert_eq!(opened.maps.len(), 1, "{file}: {:?}", opened.notices);
        let map = study.maps().remove(0);
        section.same(format!("{file}, line"), map.line.as_deref(), entry["line"].as_str());
        let blank = entry.get("blank_pixels").cloned().unwrap_or(Value::from(0));
        section.near(format!("{file}, blank"), map.blank as f64, &blank);
    }
    section.finish();
}
