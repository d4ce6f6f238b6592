//! The input files of the manifest, read and opened.

use crate::background::dtype;
use crate::support::{Section, bytes_of, json_of, list, page_of, text};
use limner::digest::sha256_hex;
use limner::grid::Samples;
use limner::reading::{Content, Page, Photo, read};
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

/// Maps, photos and codes of the findings of a file, those of an archive's entries included.
fn taken_apart(file: &str, way: Option<&str>) -> (Vec<Page>, Vec<Photo>, Vec<&'static str>) {
    let reading =
        read(&bytes_of(&format!("files/{file}")), way).unwrap_or_else(|finding| panic!("{file}: {finding}"));
    let mut findings: Vec<&str> = reading.findings.iter().map(|finding| finding.code()).collect();
    match reading.content {
        Content::Maps(pages) => (pages, Vec::new(), findings),
        Content::Photo(photo) => (Vec::new(), vec![photo], findings),
        Content::Archive(entries) => {
            let mut pages = Vec::new();
            for entry in entries {
                let reading =
                    entry.reading.unwrap_or_else(|finding| panic!("{file}, {}: {finding}", entry.path));
                findings.extend(reading.findings.iter().map(|finding| finding.code()));
                let Content::Maps(held) = reading.content else { panic!("{file}, {}", entry.path) };
                pages.extend(held);
            }
            (pages, Vec::new(), findings)
        }
        other => panic!("{file}: {other:?}"),
    }
}

/// A file with several maps, a title, a way to be chosen, a photo or findings.
fn compare_case(section: &mut Section, entry: &Value) {
    let file = text(&entry["file"]);
    let way = entry.get("way").map(text);
    if way.is_some() {
        let asked = read(&bytes_of(&format!("files/{file}")), None).unwrap().content;
        section.same(format!("{file} asks"), matches!(asked, Content::Ask { .. }), true);
    }
    let (pages, photos, findings) = taken_apart(file, way);
    let wanted: Vec<&str> = list(&entry["findings"]).iter().map(text).collect();
    section.same(format!("{file}, findings"), findings, wanted);
    if let Some(want) = entry.get("photo") {
        section.same(format!("{file}, photos"), (pages.len(), photos.len()), (0, 1));
        let pixels = &photos[0].pixels;
        let bytes: Vec<u8> = pixels.data().iter().flatten().copied().collect();
        section.near(format!("{file}, width"), f64::from(pixels.width()), &want["width"]);
        section.near(format!("{file}, height"), f64::from(pixels.height()), &want["height"]);
        section.same(format!("{file}, pixels"), sha256_hex(&bytes).as_str(), text(&want["sha256_of_pixels"]));
        return;
    }
    let maps = list(&entry["maps"]);
    section.same(format!("{file}, maps"), pages.len(), maps.len());
    for (place, (page, want)) in pages.iter().zip(maps).enumerate() {
        let samples = &page.samples;
        section.same(format!("{file} {place}, number"), page.number as usize, place);
        section.same(format!("{file} {place}, title"), page.title.as_str(), text(&want["title"]));
        section.same(
            format!("{file} {place}, entry"),
            page.entry.as_str(),
            want.get("entry").map_or("", text),
        );
        section.same(format!("{file} {place}, type"), dtype(samples).as_str(), text(&want["dtype"]));
        section.near(format!("{file} {place}, width"), f64::from(samples.width()), &want["width"]);
        section.near(format!("{file} {place}, height"), f64::from(samples.height()), &want["height"]);
        let hash = sha256_hex(&samples.le_bytes().unwrap());
        section.same(format!("{file} {place}, pixels"), hash.as_str(), text(&want["sha256_of_pixels"]));
        if let Some(steps) = entry.get("steps") {
            section.near(format!("{file}, step across"), page.step.map(|step| step.x_um()), &steps[0]);
            section.near(format!("{file}, step down"), page.step.map(|step| step.y_um()), &steps[1]);
        }
    }
    if way.is_none() {
        let mut study = Study::new();
        let opened = study.open(file, &bytes_of(&format!("files/{file}")));
        section.same(format!("{file}, maps opened"), opened.maps.len(), maps.len());
        for (map, want) in study.maps().iter().zip(maps) {
            section.same(format!("{file}, line"), map.line.as_deref(), want["line"].as_str());
        }
    }
}

#[test]
fn files_of_the_manifest() {
    let mut section = Section::exact("files/manifest.json");
    let manifest = json_of("files/manifest.json");
    for entry in list(&manifest) {
        section.row();
        if entry.get("maps").is_some() || entry.get("photo").is_some() {
            compare_case(&mut section, entry);
            continue;
        }
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
