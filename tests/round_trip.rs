//! A study with answers to all eight questions, twenty-one findings, every kind of region, points and two photos
//! (`tests/cases/round_trip.json`): written to its file and read back, every answer, picture, map and mask is the same byte by
//! byte; and its file has the same hash in the browser, where the end-to-end test makes it by the same calls.
//!
//! `GOLDEN=accept cargo test --test round_trip` writes the hash anew.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

mod support;

use limner::archive;
use limner::ask::{Answer, Subject};
use limner::digest::sha256_hex;
use limner::stack::Stack;
use limner::study::{FindingSummary, Study, Way};
use serde_json::{Value, json};
use support::study_file::{Files, restored, saved};
use support::told::{root, told};

const GOLDEN: &str = "tests/golden/study_file.json";

fn made() -> (Study, Files) {
    let steps: Value =
        serde_json::from_slice(&std::fs::read(root().join("tests/cases/round_trip.json")).unwrap()).unwrap();
    let mut files = Files::new();
    let mut study = Study::new();
    for step in steps.as_array().unwrap() {
        told(&mut study, &mut files, step);
    }
    (study, files)
}

fn samples(study: &Study) -> Vec<(String, String)> {
    let of = |id: &str| sha256_hex(&study.samples(id).unwrap().le_bytes().unwrap());
    study.maps().iter().map(|map| (map.id.clone(), of(&map.id))).collect()
}

fn masks(study: &Study) -> Vec<(String, Vec<bool>)> {
    study
        .regions()
        .iter()
        .map(|one| (one.id.clone(), study.region(&one.id).unwrap().1.data().to_vec()))
        .collect()
}

/// What a study has of everything that the issue of a file must carry.
fn is_rich(study: &Study, findings: &[FindingSummary]) {
    let mut questions: Vec<&str> = findings.iter().filter_map(|one| one.question.as_deref()).collect();
    questions.sort_unstable();
    questions.dedup();
    assert_eq!(questions.len(), 8, "{questions:?}");
    assert!(findings.len() >= 20);
    let mut hows: Vec<String> = study
        .regions()
        .iter()
        .map(|one| serde_json::to_value(one).unwrap()["how"].as_str().unwrap().to_owned())
        .collect();
    hows.sort_unstable();
    hows.dedup();
    assert_eq!(hows, ["cloud", "colour", "combine", "mask", "polygon", "rectangle", "threshold"]);
    assert_eq!((study.points().len(), study.photos().len(), study.spectra().len()), (2, 2, 1));
    assert_eq!(study.maps().iter().filter(|map| map.id.starts_with('d')).count(), 2);
}

#[test]
fn a_rich_study_comes_back_from_its_file_byte_by_byte() {
    let (mut first, files) = made();
    let findings = first.findings();
    is_rich(&first, &findings);
    let bytes = saved(&first, &files);
    assert!(archive::is_study(&bytes[..64]));
    let again = saved(&first, &files);
    assert_eq!(sha256_hex(&bytes), sha256_hex(&again), "one study gives one file");

    let back = restored(&bytes).unwrap();
    let (mut second, notices) = (back.study, back.opened.notices);
    // What opening says of a single map or picture is said again; nothing else.
    assert!(notices.iter().all(|notice| notice.severity != "error"), "{notices:?}");
    assert_eq!(
        serde_json::to_string(&second.record()).unwrap(),
        serde_json::to_string(&first.record()).unwrap()
    );
    assert_eq!(samples(&second), samples(&first));
    assert_eq!(masks(&second), masks(&first));
    assert_eq!(second.findings(), findings);
    for finding in &findings {
        assert!(finding.changed.is_empty() && finding.trouble.is_empty(), "{finding:?}");
        let (one, two) = (first.finding(&finding.id).unwrap(), second.finding(&finding.id).unwrap());
        let text = |whole: &limner::study::FindingWhole| serde_json::to_string(whole).unwrap();
        assert_eq!(text(&one), text(&two));
        assert_eq!(first.kept_png(&finding.id).unwrap(), second.kept_png(&finding.id).unwrap());
    }
    assert_eq!(sha256_hex(&saved(&second, &files)), sha256_hex(&bytes), "written again it is the same file");

    // Computed again in the study that came back.
    for one in second.reproduce(&mut |_, _| {}).unwrap() {
        assert!(one.same, "{one:?}");
    }
    let large = |study: &mut Study| {
        sha256_hex(&study.finding_picture("f5", Way::Dots(200.0), &mut |_, _| {}).unwrap())
    };
    assert_eq!(large(&mut first), large(&mut second));

    let found = json!({
        "sha256": sha256_hex(&bytes),
        "bytes": bytes.len(),
        "findings": findings.iter().map(|one| {
            let record = first.finding_record(&one.id).unwrap();
            json!([one.id, record.answer, record.picture.as_ref().map(|kept| &kept.png)])
        }).collect::<Vec<_>>(),
    });
    let golden = root().join(GOLDEN);
    if std::env::var("GOLDEN").is_ok_and(|word| word == "accept") {
        std::fs::write(&golden, format!("{found:#}\n")).unwrap();
    }
    let kept: Value = serde_json::from_slice(&std::fs::read(&golden).unwrap()).unwrap();
    assert_eq!(found, kept, "the file is another one: look at why, then GOLDEN=accept");
}

/// The page asks in a worker of its own, which is handed copies of what [`Study::maps_needed`] and [`Study::regions_needed`] name.
#[test]
fn a_question_asked_of_copies_of_what_it_needs_gives_the_same_answer() {
    let steps: Value =
        serde_json::from_slice(&std::fs::read(root().join("tests/cases/round_trip.json")).unwrap()).unwrap();
    let (mut study, mut files) = (Study::new(), Files::new());
    let mut asked = 0;
    for step in steps.as_array().unwrap() {
        let Some(keep) = step.get("keep") else {
            if step["call"] != "set_finding" {
                told(&mut study, &mut files, step);
            }
            continue;
        };
        let Some(question) = keep.as_str() else { continue };
        let settings = &step["settings"];
        let mut stack = Stack::default();
        stack.state_step(study.stack().step().map(|(step, _)| step));
        for id in study.maps_needed(question, settings).unwrap() {
            stack.push(study.stack().by_id(&id).unwrap().clone());
        }
        let regions: Vec<_> =
            study.regions_needed(question, settings).unwrap().into_iter().cloned().collect();
        let subject = Subject::new(&stack, &regions, study.scan().beam_um).with_known(study.known());
        let (copied, _) = limner::ask::ask(question, settings.clone(), &subject, &mut |_, _| {}).unwrap();
        let (whole, _) = study.ask(question, settings.clone(), &mut |_, _| {}).unwrap();
        let text = |answer: &Answer| serde_json::to_string_pretty(answer).unwrap();
        assert_eq!(text(&copied), text(&whole), "{step}");
        asked += 1;
    }
    assert!(asked >= 15);
}
