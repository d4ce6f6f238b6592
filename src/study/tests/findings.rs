//! Findings are kept, come back, say what changed under them, and are computed again.

use super::*;
use crate::digest::sha256_hex;

fn quiet() -> impl FnMut(f64, &str) {
    |_, _| {}
}

fn lines(study: &mut Study) {
    let scan = json!({"anode": "Rh", "kv": 50.0, "beam_um": 400.0});
    study.set_scan(serde_json::from_value(scan).unwrap()).unwrap();
    study.set_grid(GridRecord { step_x_um: Some(500.0), ..GridRecord::default() }).unwrap();
    let add = |study: &mut Study, settings: serde_json::Value| {
        study.add_region(RegionSettings::read(settings).unwrap()).unwrap()
    };
    add(study, json!({"name": "square", "rectangle": {"x": 10, "y": 5, "width": 12, "height": 10}}));
    add(
        study,
        json!({"name": "sky", "rectangle": {"x": 0, "y": 0, "width": 30, "height": 3}, "role": "bare support"}),
    );
    let point = json!({"at": [12.5, 8.5], "technique": "Raman", "result": "rutile", "says": "open"});
    study.add_point(PointSettings::read(point).unwrap()).unwrap();
}

/// A study with an answer to each question kept, and a view.
fn kept() -> Study {
    let mut study = study();
    lines(&mut study);
    for (question, settings) in [
        ("faint", json!({"map": "Ti K", "region": "square"})),
        ("together", json!({"a": "Ti K", "b": "Fe K"})),
        ("together", json!({"maps": ["Ti K", "Fe K"], "region": "square"})),
        ("apart", json!({"a": "Ti K", "b": "Fe K", "background": {"m1": 2.0}})),
        ("ratio", json!({"a": "m1", "b": "m2", "region": "r1"})),
        ("regions", json!({"regions": ["square", "sky"], "maps": ["Ti K"]})),
        ("regions", json!({"zones": 2})),
        ("materials", json!({"region": "square", "colour": "red", "from": 1700, "to": 1800})),
        ("covered", json!({"region": "square", "against": "sky"})),
        ("dates", json!({"region": "square", "from": 1500, "to": 1600})),
    ] {
        let (answer, _) = study.ask(question, settings, &mut quiet()).unwrap();
        let keep = KeepSettings { answer: Some(answer.id), ..KeepSettings::default() };
        study.keep(keep).unwrap();
    }
    let view = json!({"lights": [{"map": "Ti K"}, {"map": "Fe K"}]});
    let keep = KeepSettings { picture: Some(view), title: Some("Both".into()), ..KeepSettings::default() };
    study.keep(keep).unwrap();
    study
}

fn reopened(first: &Study) -> Study {
    let mut second = Study::new();
    for (name, bytes) in first.blobs() {
        assert_eq!(second.give_blob(bytes.to_vec()), name);
    }
    second.apply(first.record()).unwrap();
    second.open("Fe-K.npy", &file(200, 14));
    second.open("Ti-K.npy", &file(80, 8));
    second
}

#[test]
fn every_question_can_be_kept_and_comes_out_the_same_byte_by_byte() {
    let mut study = kept();
    let findings = study.findings();
    assert_eq!(findings.len(), 11);
    for finding in &findings {
        assert!(finding.changed.is_empty() && finding.trouble.is_empty(), "{finding:?}");
        assert!(!finding.title.is_empty() && !finding.sentence.is_empty(), "{finding:?}");
    }
    assert_eq!(findings[0].question_text, "Is Ti K more than background, in square?");
    assert_eq!(findings[2].question_text, "Which of Ti K and Fe K rise and fall together, in square?");
    assert_eq!(findings[10].title, "Both");
    // What was named by labels is kept by ids.
    assert_eq!(study.finding_record("f1").unwrap().settings["map"], "m1");
    assert_eq!(study.finding_record("f1").unwrap().settings["region"], "r1");
    for made in [study.reproduce(&mut quiet()).unwrap(), reopened(&study).reproduce(&mut quiet()).unwrap()] {
        assert_eq!(made.len(), 11);
        for one in made {
            assert!(one.same && one.differences.is_empty(), "{one:?}");
        }
    }
}

#[test]
fn a_reopened_study_has_the_same_findings_answers_and_pictures() {
    let first = kept();
    let second = reopened(&first);
    assert_eq!(second.findings(), first.findings());
    assert_eq!(second.record(), first.record());
    for finding in first.findings() {
        let (one, two) = (first.finding(&finding.id).unwrap(), second.finding(&finding.id).unwrap());
        assert_eq!(one, two);
        assert_eq!(first.kept_png(&finding.id).unwrap(), second.kept_png(&finding.id).unwrap());
        if let Some(answer) = one.answer {
            assert_eq!(answer.clone().named().id, answer.id, "the id is the hash of what was kept");
        }
    }
}

#[test]
fn a_picture_has_the_size_it_says_and_is_drawn_anew_at_another() {
    let mut study = kept();
    let picture = study.findings()[3].picture.clone().unwrap();
    let png = study.kept_png("f4").unwrap().unwrap().to_vec();
    assert_eq!(sha256_hex(&png), picture.png);
    let read = png::Decoder::new(std::io::Cursor::new(&png)).read_info().unwrap();
    assert_eq!((read.info().width, read.info().height), (picture.width, picture.height));
    assert_eq!(study.finding_picture("f4", Way::AsKept, &mut quiet()).unwrap(), png);
    let other = study.finding_picture("f4", Way::Dots(96.0), &mut quiet()).unwrap();
    let read = png::Decoder::new(std::io::Cursor::new(&other)).read_info().unwrap();
    assert_eq!(read.info().width, 643, "170 mm at 96 dots per inch");
}

#[test]
fn what_changed_under_a_finding_is_said_and_it_can_be_renewed() {
    let mut study = kept();
    let changed = |study: &Study, id: &str| {
        study.findings().into_iter().find(|finding| finding.id == id).unwrap().changed
    };
    study.rename("sky", "paper").unwrap();
    // It is where a background may come from, so every question rests on it.
    assert_eq!(changed(&study, "f1"), ["The region “sky” has changed since this was kept."]);
    assert!(changed(&study, "f11").is_empty(), "a view rests on no region");
    study.rename("paper", "sky").unwrap();
    assert!(changed(&study, "f1").is_empty(), "it is as it was again");
    study.set_map("m1", MapRecord { kind: Some("net".into()), ..MapRecord::default() }).unwrap();
    assert_eq!(changed(&study, "f1"), ["Ti K is stated otherwise than when this was kept."]);
    let made = study.reproduce(&mut quiet()).unwrap();
    assert!(!made[0].same && !made[0].differences.is_empty(), "{:?}", made[0]);
    assert_eq!(study.finding_picture("f1", Way::AsKept, &mut quiet()).unwrap_err().code, "finding_changed");
    let kept = study.finding("f1").unwrap();
    assert_eq!(kept.answer.unwrap().sentence, kept.finding.sentence, "what was kept stays as it was");
    let (answer, _) = study.ask_finding("f1", &mut quiet()).unwrap();
    assert!(study.renew_finding("f2", Some(&answer.id)).is_err(), "it answers another question");
    let renewed = study.renew_finding("f1", Some(&answer.id)).unwrap();
    assert!(renewed.changed.is_empty() && renewed.sentence == answer.sentence);
}

#[test]
fn findings_are_ordered_renamed_and_removed() {
    let mut study = kept();
    let set = |study: &mut Study, id: &str, settings: serde_json::Value| {
        study.set_finding(id, FindingSettings::read(settings).unwrap())
    };
    assert_eq!(set(&mut study, "f11", json!({"place": 1})).unwrap().place, 1);
    assert_eq!(study.findings()[0].id, "f11");
    let titled = set(&mut study, "f1", json!({"title": " A\u{7}b ", "note": "one\r\ntwo"})).unwrap();
    assert_eq!((titled.title.as_str(), titled.note.as_str()), ("A b", "one\ntwo"));
    assert!(set(&mut study, "f1", json!({"place": 12})).unwrap_err().message.contains("no place 12"));
    assert!(set(&mut study, "f1", json!({"title": "x".repeat(301)})).is_err());
    assert_eq!(set(&mut study, "f1", json!({"title": ""})).unwrap().title, study.findings()[1].question_text);
    assert_eq!(study.remove("f11").unwrap(), "finding");
    assert_eq!(study.findings().len(), 10);
    assert_eq!(set(&mut study, "f11", json!({})).unwrap_err().code, "unknown_finding");
    let view = KeepSettings { picture: Some(json!({"map": "Ti K"})), ..KeepSettings::default() };
    assert_eq!(study.keep(view).unwrap().id, "f12", "no number is given twice");
    assert!(study.keep(KeepSettings::default()).unwrap_err().message.contains("what is to be kept"));
    let lost = KeepSettings { answer: Some("0".repeat(64)), ..KeepSettings::default() };
    assert_eq!(study.keep(lost).unwrap_err().code, "answer_not_held");
}

#[test]
fn edited_numbers_cannot_be_kept() {
    let first = kept();
    let id = first.finding_record("f1").unwrap().answer.clone().unwrap();
    let mut second = Study::new();
    for (name, bytes) in first.blobs() {
        let mut bytes = bytes.to_vec();
        if name == id {
            let text = String::from_utf8(bytes).unwrap();
            bytes = text.replacen("counts", "COUNTS", 1).into_bytes();
        }
        second.give_blob(bytes);
    }
    second.apply(first.record()).unwrap();
    let findings = second.findings();
    assert!(findings[0].trouble.contains("was changed") && findings[0].verdict.is_empty());
    assert_eq!(findings[1].trouble, "");
}

#[test]
fn records_that_no_program_of_ours_has_written_are_refused() {
    let first = kept();
    type Spoil = fn(&mut Record);
    let spoils: [Spoil; 7] = [
        |record| record.findings[0].title = "x".repeat(400),
        |record| record.findings[0].number = record.findings[1].number,
        |record| record.findings[0].answer = Some("../../etc".into()),
        |record| record.findings[0].question = Some("prove".into()),
        |record| record.findings[0].scene = json!("y".repeat(100_000)),
        |record| record.left_out = vec!["z".repeat(10_000)],
        |record| record.about.object = "x".repeat(1000),
    ];
    for spoil in spoils {
        let mut record = first.record();
        spoil(&mut record);
        assert_eq!(Study::new().apply(record).unwrap_err().code, "bad_setting");
    }
}
