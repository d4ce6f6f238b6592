//! Hostile and odd inputs: each gets the sentence that `tests/cases/odd_files.csv` states, at once, and what is open
//! stays as it is. The inputs are made here, by hand or by spoiling a sound file.
//!
//! `LIMNER_WRITE_CASES=1 cargo test --test odd_files` writes the table anew, to be read before it is committed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

#[path = "odd/inputs.rs"]
mod inputs;
#[path = "odd/making.rs"]
mod making;

use limner::numerics::chance::Chance;
use limner::reading::{Content, read};
use limner::study::{MapSummary, SpectrumSettings, Study};
use making::{npy, png, tiff, zip};
use std::fmt::Write as _;
use std::path::Path;
use std::time::{Duration, Instant};

/// No input of a few hundred kilobytes may take longer, on a slow machine with debug assertions.
const LONGEST: Duration = Duration::from_secs(20);

/// A study with one good map.
fn open_study() -> Study {
    let mut study = Study::new();
    let opened =
        study.open("Cu-K.npy", &npy("<u2", "False", "(2, 3)", &[1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6, 0]));
    assert_eq!(opened.maps, ["m1"]);
    study
}

/// The first map and its pixels. Another map of the same name adds what tells them apart to the label, and nothing else.
fn but_for_its_label(study: &Study) -> (MapSummary, Option<Vec<u8>>) {
    let map = study.maps().remove(0);
    assert!(map.label.starts_with("Cu K"), "{}", map.label);
    let pixels = study.samples("m1").unwrap().le_bytes().ok();
    (MapSummary { label: String::new(), ..map }, pixels)
}

/// What becomes of an input: (code, sentence) of each notice, or what was read.
fn outcome(name: &str, bytes: &[u8]) -> Vec<(String, String)> {
    let mut study = open_study();
    let before = (study.maps(), study.photos(), study.record());
    let before_label = but_for_its_label(&study);
    let start = Instant::now();
    let opened = study.open(name, bytes);
    let took = start.elapsed();
    assert!(took < LONGEST, "{name} took {took:?}");
    let mut said: Vec<(String, String)> =
        opened.notices.iter().map(|notice| (notice.code.to_owned(), notice.text.clone())).collect();
    if opened.maps.is_empty() && opened.photos.is_empty() {
        assert_eq!(before, (study.maps(), study.photos(), study.record()), "{name} changed the study");
        if let Ok(Content::Ask { question, .. }) = read(bytes, None).map(|reading| reading.content) {
            said.push(("ask".to_owned(), question));
        }
        assert!(!said.is_empty(), "{name}: nothing was read and nothing said");
    } else {
        assert_eq!(but_for_its_label(&study), before_label, "{name} changed the map that was open");
        said.insert(
            0,
            ("read".to_owned(), format!("maps: {}, photos: {}", opened.maps.len(), opened.photos.len())),
        );
    }
    said
}

fn field(text: &str) -> String {
    format!("\"{}\"", text.replace('"', "\"\""))
}

#[test]
fn every_odd_file_gets_its_sentence() {
    let mut table = "name,code,sentence\n".to_owned();
    let inputs = inputs::all();
    assert!(inputs.len() >= 60, "{}", inputs.len());
    for (name, bytes) in &inputs {
        for (code, sentence) in outcome(name, bytes) {
            let is_sentence = sentence.ends_with(['.', '?']) && !sentence.contains('\n');
            assert!(is_sentence || code == "read", "{name}: {sentence}");
            writeln!(table, "{},{code},{}", field(name), field(&sentence)).unwrap();
        }
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/odd_files.csv");
    if std::env::var_os("LIMNER_WRITE_CASES").is_some() {
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(&path, &table).unwrap();
    }
    let wanted = std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
    for (got, want) in table.lines().zip(wanted.lines()) {
        assert_eq!(got, want);
    }
    assert_eq!(table.lines().count(), wanted.lines().count());
}

/// One small sound file of each raster format, and archives of them.
fn sound_files() -> Vec<(&'static str, Vec<u8>)> {
    let numbers = [1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6, 0];
    let plain = tiff(&making::plain_tags(3, 2, 16, numbers.len() as u32), &numbers);
    let array = npy("<u2", "False", "(2, 3)", &numbers);
    let cube = npy("|u1", "True", "(2, 3, 2)", &numbers);
    let picture = png(3, 2, 0, 16, &[0, 1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6]);
    let colours = png(2, 2, 2, 8, &numbers);
    let photo = making::jpeg(8, 8);
    let packed = zip(&[("Cu-K.npy", &array), ("Fe-K.tif", &plain)]);
    // 3 × 2 pixels in one tile of 16 × 16, deflated; and three channels of 2 × 1 pixels behind each other.
    let tile = making::deflated(&(0..=255).collect::<Vec<u8>>());
    let tags = making::without(making::plain_tags(3, 2, 8, 0), &[273, 278, 279]);
    let tiles =
        [(259, 3, 1, 8), (322, 3, 1, 16), (323, 3, 1, 16), (324, 4, 1, 8), (325, 4, 1, tile.len() as u32)];
    let tiled = tiff(&making::with(tags, &tiles), &tile);
    let lists: Vec<u8> = [8u32, 12, 16, 4, 4, 4].iter().flat_map(|v| v.to_le_bytes()).collect();
    let behind = [(277, 3, 1, 3), (284, 3, 1, 2), (273, 4, 3, 20), (279, 4, 3, 32)];
    let planar =
        tiff(&making::with(making::plain_tags(2, 1, 16, 4), &behind), &[numbers.as_slice(), &lists].concat());
    vec![
        ("TIFF", plain),
        ("TIFF in tiles", tiled),
        ("TIFF of channels behind each other", planar),
        ("NPY", array),
        ("NPY of three axes", cube),
        ("grey PNG", picture),
        ("PNG in colour", colours),
        ("JPEG", photo),
        ("ZIP", packed),
    ]
}

#[test]
fn every_cut_ends_in_a_sentence_or_in_what_was_there() {
    for (format, bytes) in sound_files() {
        assert!(read(&bytes, None).is_ok(), "{format}: {:?}", read(&bytes, None));
        let start = Instant::now();
        for length in 0..bytes.len() {
            if let Err(finding) = read(&bytes[..length], None) {
                assert!(finding.to_string().ends_with('.'), "{format} cut at {length}: {finding}");
            }
        }
        assert!(start.elapsed() < LONGEST * 3, "{format} took {:?}", start.elapsed());
    }
}

#[test]
fn every_flipped_bit_ends_in_a_sentence_or_in_pixels_of_a_sane_size() {
    for (format, bytes) in sound_files() {
        let start = Instant::now();
        for at in 0..bytes.len() {
            for bit in 0..8 {
                let mut changed = bytes.clone();
                changed[at] ^= 1 << bit;
                for way in [None, Some("axis2"), Some("photo")] {
                    let Ok(reading) = read(&changed, way) else { continue };
                    if let Content::Maps(pages) = reading.content {
                        let pixels: u64 = pages.iter().map(|page| page.samples.len()).sum();
                        // The most that the few bytes can stand for, compressed.
                        assert!(pixels < 3_000_000, "{format}, byte {at}, bit {bit}: {pixels} pixels");
                    }
                }
            }
        }
        assert!(start.elapsed() < LONGEST * 3, "{format} took {:?}", start.elapsed());
    }
}

/// A spectrum of these bytes in a study with one good map: its channels, or the sentence why it is none.
fn spectrum(study: &mut Study, name: &str, bytes: &[u8]) -> Result<u32, String> {
    let how = Some("sum".into());
    let settings = SpectrumSettings { name: name.into(), how, ..SpectrumSettings::default() };
    let before = study.record();
    let start = Instant::now();
    let added = study.add_spectrum(settings, bytes);
    assert!(start.elapsed() < LONGEST, "{name} took {:?}", start.elapsed());
    match added {
        Ok(summary) => {
            let drawn = study.spectrum(&summary.id, &limner::study::SpectrumView::default());
            assert!(drawn.is_ok(), "{name}: {drawn:?}");
            study.remove(&summary.id).unwrap();
            assert_eq!(study.record(), before, "{name}");
            Ok(summary.channels)
        }
        Err(fault) => {
            let is_known = ["bad_spectrum", "no_calibration"].contains(&fault.code);
            let is_sentence = fault.message.ends_with('.') && !fault.message.contains('\n');
            assert!(is_known && is_sentence && fault.message.len() < 500, "{name}: {fault}");
            assert_eq!(study.record(), before, "{name}");
            Err(fault.message)
        }
    }
}

#[test]
fn no_odd_file_is_a_spectrum_and_each_says_why() {
    let mut study = open_study();
    for (name, bytes) in inputs::all() {
        let said = spectrum(&mut study, &name, &bytes);
        assert!(said.is_err(), "{name}: {said:?}");
    }
}

#[test]
fn a_spoiled_spectrum_ends_in_a_sentence_or_in_channels() {
    let sound = include_bytes!("cases/spectra/lead.txt");
    let mut study = open_study();
    assert_eq!(spectrum(&mut study, "lead.txt", sound), Ok(1024));
    let mut chance = Chance::new(11);
    let mut refused = 0;
    for round in 0..600 {
        let mut bytes = sound.to_vec();
        if round % 3 == 0 {
            bytes.truncate(chance.below(sound.len() as u64) as usize);
        } else {
            for _ in 0..=chance.below(3) {
                let at = chance.below(bytes.len() as u64) as usize;
                bytes[at] ^= 1 << chance.below(8);
            }
        }
        match spectrum(&mut study, "spoiled.txt", &bytes) {
            // A byte that was the end of a line joins two; nothing adds a channel but a byte that becomes one.
            Ok(channels) => assert!((16..=1027).contains(&channels), "{channels}"),
            Err(_) => refused += 1,
        }
    }
    assert!((100..600).contains(&refused), "{refused}");
}

#[test]
fn many_odd_files_after_each_other_leave_the_study_as_it_was() {
    let mut study = open_study();
    let first = but_for_its_label(&study);
    let mut seen = 0;
    for (name, bytes) in inputs::all() {
        study.open(&name, &bytes);
        seen += 1;
        assert_eq!(but_for_its_label(&study), first, "{name}");
    }
    assert!(seen >= 60);
}
