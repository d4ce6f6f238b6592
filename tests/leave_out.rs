//! What was left out of a copy is gone: looked for in every byte that the copy would have.

#![allow(clippy::unwrap_used, clippy::panic, clippy::expect_used, missing_docs)]
#![allow(clippy::disallowed_methods)] // a test reads its files itself

use limner::archive::{LeaveOut, leave_out, rewritten};
use limner::study::{
    AboutRecord, AlignSettings, KeepSettings, ObjectSettings, PointSettings, RegionSettings, Study,
};
use serde_json::{Value, json};
use std::path::Path;

const OBJECT: &str = "The Skagen Panel";
const NUMBER: &str = "SKP.1931-7";
const NOTE: &str = "Offered for sale in spring, not to be told.";
const RESULT: &str = "red lead, sampled by the restorer";
const REMARKS: &str = "Owner asks for secrecy.";
const TITLE_IN_FILE: &str = "Skagen Panel, stage at 417.25 mm";
/// Names begin so; each maps's line is read from what follows.
const NAMES: &str = "Skagen1654";
/// A place of a point that no other number is, and of the object's corner.
const PLACE: [f64; 2] = [123.4375, 87.5625];
const CORNER: [f64; 2] = [3.8125, 211.6875];

fn demo(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data").join(name)).unwrap()
}

fn photo_to_grid() -> Value {
    let truth: Value = serde_json::from_slice(&demo("truth/truth.json")).unwrap();
    let rows: [[f64; 3]; 3] = serde_json::from_value(truth["photo_to_grid"].clone()).unwrap();
    json!(rows.concat())
}

/// A TIFF of 300 x 220 pixels of 16 bits with a page name, made by hand after the TIFF 6.0 specification.
fn titled_tiff() -> Vec<u8> {
    let mut text = TITLE_IN_FILE.as_bytes().to_vec();
    text.push(0);
    let pixels: Vec<u8> = (0..300u32 * 220)
        .flat_map(|i| ((i * 7919 % 13) as u16 + if i % 300 > 150 { 40 } else { 0 }).to_le_bytes())
        .collect();
    let (count, start) = (9u16, 8 + 2 + 9 * 12 + 4u32);
    let entries = [
        (256, 3, 1, 300),
        (257, 3, 1, 220),
        (258, 3, 1, 16),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, start + text.len() as u32),
        (278, 3, 1, 220),
        (279, 4, 1, pixels.len() as u32),
        (285, 2, text.len() as u32, start),
    ];
    let mut file = b"II*\0\x08\0\0\0".to_vec();
    file.extend(count.to_le_bytes());
    for (tag, kind, length, value) in entries {
        for part in [(tag as u16).to_le_bytes(), (kind as u16).to_le_bytes()] {
            file.extend(part);
        }
        file.extend(length.to_le_bytes());
        file.extend(value.to_le_bytes());
    }
    file.extend([0; 4]);
    file.extend(text);
    file.extend(pixels);
    file
}

fn photo_name() -> String {
    format!("{NAMES}_visible.png")
}

fn keep(study: &mut Study, answer: Option<&str>, picture: Value, title: &str) -> String {
    let settings = KeepSettings {
        answer: answer.map(str::to_owned),
        picture: Some(picture),
        title: Some(title.to_owned()),
        note: Some(NOTE.to_owned()),
        scene: json!({"file": photo_name(), "photo": "p1"}),
    };
    study.keep(settings).unwrap().id
}

fn region(study: &mut Study, value: Value) {
    study.add_region(RegionSettings::read(value).unwrap()).unwrap();
}

/// A study with everything that can be left out, in every place where it can stand.
fn study() -> Study {
    let mut study = Study::new();
    for line in ["Fe-K", "Pb-L", "Hg-L", "Cu-K", "Ca-K"] {
        let name = format!("{OBJECT}/{NAMES}_{line}.tif");
        assert_eq!(study.open(&name, &demo(&format!("tern-sound/tern_{line}.tif"))).maps.len(), 1);
    }
    assert_eq!(study.open(&format!("{NAMES}_other.tif"), &titled_tiff()).maps, ["m6"]);
    assert_eq!(study.open(&photo_name(), &demo("tern-sound/photo.png")).photos, ["p1"]);
    let laid = json!({"photo": "p1", "transform": photo_to_grid()});
    assert_eq!(study.align(AlignSettings::read(laid).unwrap()).unwrap().unwrap().trouble, "");
    study
        .set_about(AboutRecord {
            object: OBJECT.into(),
            number: NUMBER.into(),
            described: "chart on panel".into(),
            remarks: REMARKS.into(),
            ..AboutRecord::default()
        })
        .unwrap();
    let edges = json!({"corner": "lower left", "at": CORNER, "across": [290.0, 212.5], "down": [2.5, 9.25]});
    study.set_object(ObjectSettings::read(edges).unwrap()).unwrap();
    region(
        &mut study,
        json!({"name": format!("Frame of {OBJECT}"), "rectangle": {"x": 4, "y": 4, "width": 60, "height": 60}}),
    );
    region(
        &mut study,
        json!({"name": format!("{NUMBER} much iron"), "threshold": {"map": "Fe K", "low": 30}}),
    );
    region(&mut study, json!({"name": "Green", "colour": {"photo": "p1", "at": [[150, 110]], "alike": 12}}));
    region(
        &mut study,
        json!({"name": "Both", "combine": {"how": "or", "of": ["Green", format!("Frame of {OBJECT}")]}}),
    );
    let point = json!({"at": PLACE, "name": format!("{OBJECT} 1"), "technique": "Raman", "result": RESULT,
        "pigment": "red_lead", "says": "found"});
    study.add_point(PointSettings::read(point).unwrap()).unwrap();
    let derived = limner::study::Derivation::read(json!({"how": "sum", "of": ["Fe K", "Cu K"]})).unwrap();
    study.derive(&derived).unwrap();
    for (question, settings) in questions() {
        let (answer, _) = study.ask(question, settings, &mut |_, _| {}).unwrap();
        let picture = match answer.shows.first() {
            Some(first) => json!({"answer": answer.id, "show": first.show, "photo": "p1", "mix": 0.4}),
            None => json!({"map": "m1", "photo": "p1", "on": "grid", "mix": 0.5}),
        };
        keep(&mut study, Some(&answer.id), picture, &format!("{question} of {OBJECT}"));
    }
    keep(&mut study, None, json!({"lights": [{"map": "Fe K"}, {"map": "Pb L"}]}), "");
    keep(&mut study, None, json!({"map": "m6"}), &format!("{NAMES}_other, by itself"));
    keep(&mut study, None, json!({"photo": "p1"}), "The photo");
    study
}

fn questions() -> Vec<(&'static str, Value)> {
    let frame = format!("Frame of {OBJECT}");
    vec![
        ("faint", json!({"map": "Hg L", "region": frame})),
        ("ratio", json!({"a": "Fe K", "b": "Pb L", "region": "Green"})),
        ("apart", json!({"a": "Fe K", "b": "Cu K"})),
        ("together", json!({"a": "Fe K", "b": "Pb L", "region": "Both"})),
        ("regions", json!({"regions": [frame, "Both"], "maps": ["Fe K", "Pb L"]})),
        ("materials", json!({"region": frame})),
    ]
}

/// Every byte that a copy would have: the record, what was kept, and files that were written anew.
fn all_bytes(study: &Study) -> Vec<(String, Vec<u8>)> {
    let mut out = vec![("record".to_owned(), serde_json::to_vec(&study.record()).unwrap())];
    out.extend(study.blobs().map(|(name, bytes)| (format!("blob {name}"), bytes.to_vec())));
    for input in study.inputs() {
        if let Some(bytes) = rewritten(study, &input.sha256).unwrap() {
            out.push((input.name.clone(), bytes));
        }
    }
    out
}

fn holders(study: &Study, secret: &str) -> Vec<String> {
    let small = |bytes: &[u8]| bytes.to_ascii_lowercase();
    let wanted = small(secret.as_bytes());
    let has = |bytes: &[u8]| small(bytes).windows(wanted.len()).any(|window| window == wanted);
    all_bytes(study).into_iter().filter(|(_, bytes)| has(bytes)).map(|(name, _)| name).collect()
}

fn options(words: &[&str]) -> LeaveOut {
    LeaveOut::read(Value::Object(words.iter().map(|word| ((*word).to_owned(), json!(true))).collect()))
        .unwrap()
}

fn less(words: &[&str]) -> (Study, Vec<String>) {
    let mut study = study();
    let told = leave_out(&mut study, &options(words), &mut |_, _| {}).unwrap();
    assert_eq!(study.left_out(), told);
    (study, told)
}

const NONE: &[&str] = &[];

/// What each choice must take away. What is looked for is found in the whole study, so that the search can fail.
fn secrets() -> Vec<(&'static str, Vec<String>)> {
    let whole = study();
    let photo = whole.photos()[0].file_sha256.clone();
    let numbers = [PLACE, CORNER].concat().iter().map(f64::to_string).collect();
    let list: Vec<(&'static str, Vec<String>)> = vec![
        ("photo", vec![photo, photo_name()]),
        ("file_names", vec![NAMES.into(), photo_name(), TITLE_IN_FILE.into()]),
        ("notes", vec![NOTE.into(), RESULT.into(), REMARKS.into()]),
        ("coordinates", numbers),
        ("object", vec![OBJECT.into(), NUMBER.into(), "Skagen Panel".into(), "chart on panel".into()]),
    ];
    for secret in list.iter().flat_map(|(_, secrets)| secrets).filter(|secret| *secret != TITLE_IN_FILE) {
        assert!(!holders(&whole, secret).is_empty(), "{secret} is nowhere in the whole study");
    }
    list
}

#[test]
fn nothing_of_what_is_left_out_stands_in_any_byte() {
    for (word, secrets) in secrets() {
        let (study, told) = less(&[word]);
        for secret in secrets {
            assert_eq!(holders(&study, &secret), NONE, "{word}: {secret} is still there");
        }
        let plain = word.replace('_', " ");
        assert!(told.contains(&plain), "{told:?}");
    }
}

#[test]
fn all_of_it_at_once_leaves_a_study_that_comes_out_the_same_when_it_is_computed_again() {
    let all = ["photo", "file_names", "notes", "coordinates", "object"];
    let (mut study, told) = less(&all);
    for (word, secrets) in secrets() {
        for secret in secrets {
            assert_eq!(holders(&study, &secret), NONE, "{word}: {secret} is still there");
        }
    }
    // the photo's own view went with it, all else stayed
    let findings = study.findings();
    assert_eq!(findings.len(), questions().len() + 2, "{told:?}");
    assert!(told.iter().any(|text| text.contains("finding f9")), "{told:?}");
    assert!(findings.iter().all(|one| one.changed.is_empty() && one.trouble.is_empty()));
    for made in study.reproduce(&mut |_, _| {}).unwrap() {
        assert!(made.same, "{}: {}", made.title, made.text);
    }
    // no place is proposed, and no point is known
    let materials = findings.iter().find(|one| one.question.as_deref() == Some("materials")).unwrap();
    let answer = study.finding(&materials.id).unwrap().answer.unwrap();
    assert!(answer.materials.unwrap().measure_next.is_empty() && study.points().is_empty());
    // the copy comes back from its record, its files and what was kept
    let mut again = Study::new();
    for (_, bytes) in study.blobs() {
        again.give_blob(bytes.to_vec());
    }
    again.apply(study.record()).unwrap();
    for input in study.inputs() {
        let bytes = rewritten(&study, &input.sha256).unwrap().unwrap();
        assert_eq!(bytes.len() as u64, input.size);
        assert!(again.open_as(&input.name, &bytes, input.way.as_deref()).is_kept);
    }
    assert_eq!(
        (again.record(), again.maps(), again.findings()),
        (study.record(), study.maps(), study.findings())
    );
}

#[test]
fn maps_keep_every_bit_their_names_and_kinds_and_findings_their_numbers() {
    let whole = study();
    let (study, _) = less(&["file_names"]);
    assert_eq!(study.maps().len(), whole.maps().len());
    for (before, now) in whole.maps().iter().zip(study.maps()) {
        let bits = |study: &Study| study.samples(&before.id).unwrap().le_bytes().unwrap();
        assert!(bits(&whole) == bits(&study), "{}", before.id);
        assert_eq!((&before.line, &before.kind, &before.role), (&now.line, &now.kind, &now.role));
        assert_ne!(before.file_sha256, now.file_sha256);
    }
    let names: Vec<String> = study.inputs().iter().map(|input| input.name.clone()).collect();
    assert!(names.contains(&"map 1 pixels.npy".into()) && names.contains(&"photo 1.png".into()), "{names:?}");
    assert_eq!(study.photos()[0].text, whole.photos()[0].text);
    assert_eq!(study.findings().len(), whole.findings().len());
    for (before, now) in whole.findings().iter().zip(study.findings()) {
        assert_eq!((&before.id, &before.verdict, before.place), (&now.id, &now.verdict, now.place));
    }
    assert_eq!(study.grid().step_x_um, whole.grid().step_x_um);
}

#[test]
fn the_photo_alone_leaves_the_files_of_maps_as_they_came_and_its_regions_as_masks() {
    let whole = study();
    let (study, told) = less(&["photo"]);
    let files = |study: &Study| study.maps().into_iter().map(|map| map.file_sha256).collect::<Vec<_>>();
    assert_eq!(files(&study), files(&whole));
    assert!(study.photos().is_empty() && rewritten(&study, &study.inputs()[0].sha256).unwrap().is_none());
    let pixels = |study: &Study, name: &str| study.region(name).unwrap().1.clone();
    for name in ["Green", "Both"] {
        assert_eq!(pixels(&study, name), pixels(&whole, name), "{name}");
    }
    assert_eq!(study.region("Green").unwrap().0.how, "mask");
    assert_eq!(told[0], "photo");
}

#[test]
fn findings_only_holds_no_file_and_says_what_was_kept() {
    let whole = study();
    let (study, told) = less(&["findings_only"]);
    assert_eq!(told, ["maps"]);
    assert!(study.inputs().is_empty() && study.maps().is_empty() && study.regions().is_empty());
    let (before, now) = (whole.findings(), study.findings());
    assert_eq!(before.len(), now.len());
    for (before, now) in before.iter().zip(&now) {
        assert_eq!(
            (&before.sentence, &before.verdict_text, &before.picture),
            (&now.sentence, &now.verdict_text, &now.picture)
        );
        assert!(now.changed.is_empty() && !now.can_renew && now.trouble.is_empty());
    }
    let (secret, told) = less(&["findings_only", "file_names", "object"]);
    for secret_text in [NAMES, OBJECT, NUMBER, TITLE_IN_FILE] {
        assert_eq!(holders(&secret, secret_text), NONE);
    }
    assert_eq!(&told[..3], ["maps", "file names", "object"]);
    assert_eq!(secret.findings().len(), before.len());
}

#[test]
fn a_finding_whose_maps_were_changed_since_is_left_out_and_said() {
    let mut study = study();
    study
        .set_map("Hg L", limner::study::MapRecord { kind: Some("fitted".into()), ..Default::default() })
        .unwrap();
    let changed: Vec<String> =
        study.findings().into_iter().filter(|one| !one.changed.is_empty()).map(|one| one.id).collect();
    assert!(changed.contains(&"f1".to_owned()));
    let told = leave_out(&mut study, &options(&["object"]), &mut |_, _| {}).unwrap();
    let left: Vec<String> = study.findings().into_iter().map(|one| one.id).collect();
    assert!(changed.iter().all(|id| !left.contains(id)) && !left.is_empty());
    assert!(told.iter().any(|text| text.contains("had been changed") && text.contains("f1")), "{told:?}");
}

#[test]
fn left_out_again_it_is_the_same() {
    let (mut study, told) = less(&["file_names", "notes"]);
    let (record, bytes) = (study.record(), all_bytes(&study));
    let again = leave_out(&mut study, &options(&["file_names", "notes"]), &mut |_, _| {}).unwrap();
    assert_eq!((again, study.record(), all_bytes(&study)), (told, record, bytes));
}

#[test]
fn what_is_not_understood_is_refused() {
    assert_eq!(LeaveOut::read(json!({"maps": true})).unwrap_err().code, "bad_setting");
    assert_eq!(LeaveOut::read(json!({})).unwrap(), LeaveOut::default());
    let mut whole = study();
    let before = whole.record();
    assert_eq!(leave_out(&mut whole, &LeaveOut::default(), &mut |_, _| {}).unwrap(), NONE);
    assert_eq!(whole.record(), before);
}
