//! How everything was computed, with which settings, and how it can be repeated.

use super::page::{Page, Sheet, Words};
use super::{Kept, Notes, section};
use crate::ask::{Answer, Number};
use crate::digest::canonical_json;
use crate::numerics::figure::rounded;
use crate::study::{InputRecord, Study};
use serde_json::Value;

/// Digits of a number in a table of all numbers.
const DIGITS: i32 = 6;

/// Notes, settings and numbers, how to repeat it.
pub(super) fn all(page: &mut Page, study: &Study, kept: &[Kept], notes: &Notes) {
    if !notes.all.is_empty() {
        section(page, "methods", "new-page", "How it was computed");
        page.open("ol", &[("class", "methods")]);
        for (place, method) in notes.all.iter().enumerate() {
            page.open("li", &[("id", &format!("note-{}", place + 1))]).text(&method.text);
            let on = if method.source.is_empty() { &method.basis } else { &method.source };
            page.text(" ").put("span", &[("class", "quiet")], &format!("[{on}]")).close();
        }
        page.close().close();
    }
    again(page, study, kept);
    if !kept.is_empty() {
        section(page, "settings", "", "Settings and numbers");
        for one in kept {
            settings(page, one, study.inputs());
        }
        page.close();
    }
}

fn plain<T: serde::Serialize>(value: &T) -> Value {
    // Records hold texts and finite numbers, so that they always can be written.
    serde_json::to_value(value).unwrap_or_default()
}

/// Where the settings of a finding stand.
pub(super) fn anchor(place: u32) -> String {
    format!("settings-{place}")
}

fn settings(page: &mut Page, one: &Kept, inputs: &[InputRecord]) {
    let summary = &one.summary;
    page.open("h3", &[("id", &anchor(summary.place))])
        .put("span", &[("class", "number-of")], &format!("{} ", summary.place))
        .text(&summary.title)
        .close();
    let code = |page: &mut Page, name: &str, value: &Value| {
        page.open("p", &[]).put("span", &[("class", "quiet")], &format!("{name}: "));
        page.cell("code", &[], &canonical_json(value)).close();
    };
    match &one.answer {
        Some(answer) => {
            code(page, &format!("{}, every setting", answer.question), &plain(&answer.settings));
            page.open("p", &[]).put("span", &[("class", "quiet")], "Answer: ").put("code", &[], &answer.id);
            page.put("span", &[("class", "quiet")], &format!(", by {}", answer.program)).close();
        }
        None => {
            page.paragraph("quiet", &format!("Kept by {}.", one.record.program));
        }
    }
    if let Some(kept) = &one.record.picture {
        code(page, "Picture", &kept.settings);
    }
    rests_on(page, one, inputs);
    if let Some(answer) = &one.answer {
        if answer.table.columns.len() > super::finding::WIDE {
            super::finding::table(page, answer, "wide");
        }
        numbers(page, answer);
    }
}

/// The maps and regions that it rests on. The hashes of files stand in the list of files; one of a file that is not there stands here.
fn rests_on(page: &mut Page, one: &Kept, inputs: &[InputRecord]) {
    let of_answer = one.answer.iter().flat_map(|answer| &answer.inputs).map(|input| {
        let is_listed = inputs.iter().any(|other| other.sha256 == input.file_sha256);
        let hash = match (input.file_sha256.is_empty(), is_listed) {
            (true, _) => String::new(),
            (_, true) => format!(", {}…", input.file_sha256.chars().take(8).collect::<String>()),
            _ => format!(", {}, SHA-256 {}", input.file, input.file_sha256),
        };
        format!("{} ({}, {}{hash})", input.label, input.id, input.kind)
    });
    let mut parts: Vec<String> = of_answer.collect();
    if one.answer.is_none() {
        parts.extend(one.record.ground.maps.iter().map(|part| format!("{} ({})", part.name, part.id)));
    }
    let region = |part: &crate::study::GroundPart| format!("region “{}” ({})", part.name, part.id);
    parts.extend(one.record.ground.regions.iter().map(region));
    parts.extend(one.record.ground.photos.iter().map(|part| format!("photo “{}” ({})", part.name, part.id)));
    if !parts.is_empty() {
        page.open("p", &[])
            .put("span", &[("class", "quiet")], "It rests on: ")
            .text(&parts.join(", "))
            .text(".")
            .close();
    }
}

/// A number with the digits that it has, six at most.
fn digits(value: f64) -> String {
    let text = rounded(value, DIGITS);
    match text.contains('.') && !text.contains('e') {
        true => text.trim_end_matches('0').trim_end_matches('.').to_owned(),
        false => text,
    }
}

fn interval(low: Option<f64>, high: Option<f64>) -> String {
    let end = |value: Option<f64>| value.map_or_else(|| "open".to_owned(), digits);
    match (low, high) {
        (None, None) => String::new(),
        _ => format!("{} to {}", end(low), end(high)),
    }
}

fn numbers(page: &mut Page, answer: &Answer) {
    let row = |(name, number): (&String, &Number)| {
        vec![
            Words::of(name),
            Words::of(number.value.map_or_else(|| number.reason.clone(), digits)),
            Words::of(interval(number.low, number.high)),
            Words::of(interval(number.low_all, number.high_all)),
            Words::of(&number.unit),
        ]
    };
    page.table(&Sheet {
        caption: "Numbers, with 95 % intervals",
        class: "wide",
        headings: ["Name", "Value", "From counting", "With the systematic part", "Unit"]
            .map(str::to_owned)
            .to_vec(),
        rows: answer.numbers.iter().map(row).collect(),
    });
}

fn again(page: &mut Page, study: &Study, kept: &[Kept]) {
    section(page, "again", "", "How to repeat it");
    page.paragraph("", &format!("Written by {}.", crate::PROGRAM));
    if !kept.is_empty() && study.left_out().is_empty() {
        page.open("p", &[])
            .text("Open the study file in the program and choose Compute all findings again, or run ");
        page.put("code", &[], "limner.reproduce()")
            .text(" in the browser's console, or in a copy of its source ");
        page.put("code", &[], "cargo xtask reproduce FILE");
        page.text(": every finding is computed again from the files above, and compared byte by byte.")
            .close();
    }
    page.close();
}
