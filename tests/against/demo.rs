//! The invented Tern Sound chart: backgrounds, questions and pictures, asked over a study of its eight maps.

#![allow(clippy::disallowed_methods)] // a test reads its files itself

use crate::background::{compare_level, dtype};
use crate::pairs;
use crate::support::{Section, bytes_of, in_project, list, number, page_of, text};
use limner::ask::picture::PictureSettings;
use limner::ask::{Answer, Raster, Rasters};
use limner::digest::sha256_hex;
use limner::grid::Samples;
use limner::measure::{Level, Rules, Signal, level};
use limner::numerics::special::normal_tail_inverse;
use limner::study::Study;
use serde_json::{Value, json};

/// The study, and the section of the reference.
fn chart(part: &str) -> (Section, Value, Study) {
    let (section, values) = Section::of("demo");
    assert!(!list(&values["backgrounds"]).is_empty() && !values[part].is_null(), "no part {part}");
    let study = opened(&values, |_| true);
    (section, values, study)
}

/// The maps whose lines are wanted.
fn opened(values: &Value, wanted: impl Fn(&str) -> bool) -> Study {
    let mut study = Study::new();
    for row in list(&values["backgrounds"]).iter().filter(|row| wanted(text(&row["line"]))) {
        let file = text(&row["file"]);
        let path = in_project("demo-data/tern-sound").join(file);
        let bytes = std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let opened = study.open(file, &bytes);
        assert_eq!(opened.maps.len(), 1, "{file}: {:?}", opened.notices);
    }
    study
}

/// The two maps of a row alone. The reference knows nothing of overlapping lines; the core does, and does not judge pixels
/// that lines of other maps could explain. None of these pairs overlaps, so that with no other map the two must agree.
fn pair_of(values: &Value, row: &Value) -> Study {
    let study = opened(values, |line| [text(&row["a"]), text(&row["b"])].contains(&line));
    let told = study.overlaps().unwrap();
    let is_free = told.iter().all(|line| line.by_map.is_none());
    assert!(study.maps().len() == 2 && is_free, "{told:?}");
    study
}

fn signal_and_level(study: &Study, line: &str) -> (Signal, Level) {
    let signal = Signal::of(study.stack().find(line).unwrap()).unwrap();
    let found = level(&signal, &Rules::default()).unwrap().unwrap();
    (signal, found)
}

fn asked(study: &mut Study, question: &str, row: &Value) -> (Answer, Rasters) {
    // The band is stated, since neighbours in energy have a narrower one unless it is.
    let settings = json!({"a": row["a"], "b": row["b"], "k_band": 0.2});
    study.ask(question, settings, &mut |_, _| {}).unwrap_or_else(|fault| panic!("{question}: {fault:?}"))
}

fn named(row: &Value) -> String {
    format!("{} and {}", text(&row["a"]), text(&row["b"]))
}

#[test]
fn demo_backgrounds() {
    let (mut section, values, study) = chart("backgrounds");
    for row in list(&values["backgrounds"]) {
        section.row();
        let line = text(&row["line"]);
        let samples = study.samples(line).unwrap();
        section.same(format!("{line}, type"), dtype(&samples).as_str(), text(&row["dtype"]));
        section.near(format!("{line}, width"), f64::from(samples.width()), &row["width"]);
        section.near(format!("{line}, height"), f64::from(samples.height()), &row["height"]);
        let hash = sha256_hex(&samples.le_bytes().unwrap());
        section.same(format!("{line}, pixels"), hash.as_str(), text(&row["sha256_of_pixels"]));
        let (signal, found) = signal_and_level(&study, line);
        let valid = signal.valid_values().unwrap().len() as f64;
        section.near(format!("{line}, valid"), valid, &row["valid_pixels"]);
        compare_level(&mut section, line, &signal, &found, row);
    }
    section.finish();
}

#[test]
fn demo_apart() {
    let (mut section, values, _) = chart("apart");
    for row in list(&values["apart"]) {
        section.row();
        let what = named(row);
        let mut study = pair_of(&values, row);
        let (answer, rasters) = asked(&mut study, "apart", row);
        pairs::compare_apart(&mut section, &what, &answer, row);
        let (a, level_a) = signal_and_level(&study, text(&row["a"]));
        let (b, level_b) = signal_and_level(&study, text(&row["b"]));
        let (signals, at) = ((&a, &b), (&level_a, &level_b));
        pairs::compare_detected(&mut section, &what, signals, at, row);
        let k = &answer.numbers["k"];
        section.near(format!("{what}, k"), k.value, &row["k"]);
        section.near(format!("{what}, k low 95"), k.low, &row["k_low_95"]);
        section.near(format!("{what}, k high 95"), k.high, &row["k_high_95"]);
        // Nothing is clipped at 0 here, so that the interval of the sums is that of k.
        section.near(format!("{what}, low of the sums"), k.low, &row["sums"]["low"]);
        section.near(format!("{what}, high of the sums"), k.high, &row["sums"]["high"]);
        section.near(format!("{what}, k low"), answer.numbers["k_low"].value, &row["k_low"]);
        section.near(format!("{what}, k high"), answer.numbers["k_high"].value, &row["k_high"]);
        let two = limner::measure::Two { a: &a, b: &b, at, rules: Rules::default() };
        let found = limner::measure::accompaniment(&two, 0.2).unwrap().unwrap();
        pairs::compare_constant(&mut section, &what, Some(&found), row);
        section.near(format!("{what}, pixels of k"), found.pixels as f64, &row["k_pixels"]);
        let Samples::U8(want) = page_of(text(&row["classes"])).samples else { panic!("{what}: no classes") };
        pairs::compare_classes(&mut section, &what, &rasters, want.data());
        let hash = sha256_hex(&rasters["classes"].le_bytes());
        section.same(format!("{what}, hash of classes"), hash.as_str(), text(&row["classes_sha256"]));
    }
    section.finish();
}

#[test]
fn demo_ratio() {
    let (mut section, values, _) = chart("ratio");
    let relative = number(&values["tolerance"]["raster_relative"]);
    for row in list(&values["ratio"]) {
        section.row();
        let what = named(row);
        let mut study = pair_of(&values, row);
        let (answer, rasters) = asked(&mut study, "ratio", row);
        let (a, level_a) = signal_and_level(&study, text(&row["a"]));
        let (b, level_b) = signal_and_level(&study, text(&row["b"]));
        pairs::compare_ratio(&mut section, &what, (&a, &b), (&level_a, &level_b), &answer, row);
        let Samples::F64(want) = page_of(text(&row["count_ratio"])).samples else {
            panic!("{what}: no ratios")
        };
        section.rasters(format!("{what}, count ratios"), pairs::count_ratio(&rasters), want.data(), relative);
    }
    section.finish();
}

#[test]
fn demo_excess() {
    let (mut section, values, _) = chart("excess");
    for row in list(&values["excess"]) {
        section.row();
        let what = named(row);
        let mut study = pair_of(&values, row);
        let (answer, rasters) = asked(&mut study, "apart", row);
        section.near(format!("{what}, k low"), answer.numbers["k_low"].value, &row["k_low"]);
        section.near(format!("{what}, k high"), answer.numbers["k_high"].value, &row["k_high"]);
        section.near(format!("{what}, limit"), normal_tail_inverse(Rules::default().alpha), &row["limit"]);
        let excess = answer.numbers["excess_pixels"].value;
        section.near(format!("{what}, excess"), excess, &row["excess_pixels"]);
        let deficit = answer.numbers["deficit_pixels"].value;
        section.near(format!("{what}, deficit"), deficit, &row["deficit_pixels"]);
        let Some(Raster::F64(sigma)) = rasters.get("excess_sigma") else { panic!("{what}: no excess") };
        let count = |is: &dyn Fn(f64) -> bool| sigma.data().iter().filter(|&&v| is(v)).count() as f64;
        section.near(format!("{what}, judged"), count(&|v| !v.is_nan()), &row["judged_pixels"]);
        let above = count(&|v| v > normal_tail_inverse(Rules::default().alpha));
        section.near(format!("{what}, above"), above, &row["above_limit_pixels"]);
        section.near(format!("{what}, zero"), count(&|v| v.abs() == 0.0), &row["zero_pixels"]);
        section.near(format!("{what}, negative"), count(&|v| v < 0.0), &row["negative_pixels"]);
        assert!(!list(&row["samples"]).is_empty());
        for sample in list(&row["samples"]) {
            section.row();
            let place = |axis: &str| u32::try_from(sample[axis].as_u64().unwrap()).unwrap();
            let got = sigma.get(place("x"), place("y")).copied();
            section.near(format!("{what}, {sample}"), got, &sample["sigma"]);
        }
    }
    section.finish();
}

/// The bytes of a picture that numpy wrote as an array of height, width and four, with the size it states.
fn picture_of(file: &str) -> (Vec<u8>, String) {
    let bytes = bytes_of(file);
    assert_eq!(&bytes[..8], b"\x93NUMPY\x01\x00", "{file}");
    let end = 10 + usize::from(u16::from_le_bytes([bytes[8], bytes[9]]));
    let header = String::from_utf8(bytes[10..end].to_vec()).unwrap();
    assert!(header.contains("'|u1'") && header.contains("'fortran_order': False"), "{file}: {header}");
    (bytes[end..].to_vec(), header)
}

#[test]
fn demo_pictures() {
    let (mut section, values, mut study) = chart("overlay");
    let steps = values["tolerance"]["colour_steps"].as_u64().unwrap();
    for kind in ["overlay", "coarse"] {
        section.row();
        let row = &values[kind];
        let mut settings = json!({"lights": row["lights"]});
        if let Some(view) = row.get("view") {
            settings["view"] = view.clone();
        }
        let picture = study.picture(&PictureSettings::read(settings).unwrap()).unwrap().picture;
        let (want, header) = picture_of(text(&row["rgba"]));
        let shape = format!("'shape': ({}, {}, 4)", picture.height, picture.width);
        section.same(format!("{kind}, shape in {header}"), header.contains(&shape), true);
        section.pictures(kind, &picture.rgba, &want, steps);
    }
    // The limits of the reference are those that the core takes when none are stated.
    let lines: Vec<String> =
        list(&values["overlay"]["lights"]).iter().map(|light| text(&light["map"]).to_owned()).collect();
    for (got, want) in study.lights(&lines).unwrap().iter().zip(list(&values["overlay"]["lights"])) {
        section.row();
        section.same(format!("colour of {}", got.label), got.colour.as_str(), text(&want["colour"]));
        section.near(format!("low of {}", got.label), got.low, &want["low"]);
        section.near(format!("high of {}", got.label), got.high, &want["high"]);
        section.near(format!("gamma of {}", got.label), got.gamma, &want["gamma"]);
    }
    section.finish();
}
