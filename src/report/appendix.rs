//! How everything was computed, with which settings, and how it can be repeated.

use super::page::{Page, Sheet, Words};
use super::{Kept, Notes, section};
use crate::ask::{Answer, Number};
use crate::digest::canonical_json;
use crate::numerics::figure::rounded;
use crate::study::Study;
use serde_json::Value;

/// Digits of a number in a table of all numbers.
const DIGITS: i32 = 6;

/// Notes, settings and numbers, how to repeat it.
pub(super) fn all(page: &mut Page, study: &Study, kept: &[Kept], notes: &Notes) {
    if !notes.all.is_empty() {
        section(page, "methods", "appendix", "How it was computed");
        page.open("ol", &[("class", "methods")]);
        for (place, method) in notes.all.iter().enumerate() {
            page.open("li", &[("id", &format!("note-{}", place + 1))]).text(&method.text);
            let on = if method.source.is_empty() { &method.basis } else { &method.source };
            page.text(" ").put("span", &[("class", "quiet")], &format!("[{on}]")).close();
        }
        page.close().close();
    }
    if !kept.is_empty() {
        section(page, "settings", "", "Settings and numbers");
        for one in kept {
            settings(page, one);
        }
        page.close();
    }
    again(page, study, kept);
}

fn plain<T: serde::Serialize>(value: &T) -> Value {
    // Records hold texts and finite numbers, so that they always can be written.
    serde_json::to_value(value).unwrap_or_default()
}

fn settings(page: &mut Page, one: &Kept) {
    let summary = &one.summary;
    page.open("h3", &[])
        .put("span", &[("class", "number-of")], &format!("{} ", summary.place))
        .text(&summary.title)
        .close();
    let code = |page: &mut Page, name: &str, value: &Value| {
        page.open("p", &[]).put("span", &[("class", "quiet")], &format!("{name}: "));
        page.put("code", &[], &canonical_json(value)).close();
    };
    if let Some(answer) = &one.answer {
        code(page, &format!("{}, every setting", answer.question), &plain(&answer.settings));
    }
    if let Some(kept) = &one.record.picture {
        code(page, "Picture", &kept.settings);
    }
    if let Some(answer) = &one.answer {
        page.paragraph("quiet", &format!("Answer {} by {}.", answer.id, answer.program));
        rests_on(page, answer);
        numbers(page, answer);
    } else {
        page.paragraph("quiet", &format!("Kept by {}.", one.record.program));
        let row = |part: &crate::study::GroundPart| vec![Words::of(&part.name), Words::of(&part.id)];
        page.table(&Sheet {
            caption: "It rests on",
            class: "",
            headings: ["Map", "Id"].map(str::to_owned).to_vec(),
            rows: one.record.ground.maps.iter().map(row).collect(),
        });
    }
}

fn rests_on(page: &mut Page, answer: &Answer) {
    let row = |input: &crate::ask::Input| {
        vec![
            Words::of(format!("{} ({})", input.label, input.id)),
            Words::of(&input.kind),
            Words::of(format!("{}, page {}", input.file, input.page + 1)),
            Words::Code(input.file_sha256.clone()),
        ]
    };
    page.table(&Sheet {
        caption: "It rests on",
        class: "files",
        headings: ["Map", "Kind", "File", "SHA-256"].map(str::to_owned).to_vec(),
        rows: answer.inputs.iter().map(row).collect(),
    });
}

fn interval(low: Option<f64>, high: Option<f64>) -> String {
    let end = |value: Option<f64>| value.map_or_else(|| "open".to_owned(), |value| rounded(value, DIGITS));
    match (low, high) {
        (None, None) => String::new(),
        _ => format!("{} to {}", end(low), end(high)),
    }
}

fn numbers(page: &mut Page, answer: &Answer) {
    let row = |(name, number): (&String, &Number)| {
        vec![
            Words::of(name),
            Words::of(number.value.map_or_else(|| number.reason.clone(), |value| rounded(value, DIGITS))),
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
        page.open("p", &[]).text("Open the study file in the program and say ");
        page.put("code", &[], "limner.reproduce()").text(", or in a copy of its source ");
        page.put("code", &[], "cargo xtask reproduce FILE");
        page.text(": every finding is computed again from the files above, and compared byte by byte.")
            .close();
    }
    page.close();
}
