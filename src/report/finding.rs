//! The findings: of each its figure, sentence, verdict, numbers, tables and cautions.

use super::materials;
use super::page::{Page, Sheet, Words};
use super::{Kept, Notes, ReportSettings, section};
use crate::ask::{Answer, Progress};
use crate::notice::Fault;
use crate::study::{Study, Way};

/// A table of more columns stands with the settings, in parts below each other.
pub(super) const WIDE: usize = 6;

/// All findings, in their order.
pub(super) fn all(
    page: &mut Page,
    study: &mut Study,
    kept: &[Kept],
    notes: &Notes,
    settings: &ReportSettings,
    progress: Progress<'_>,
) -> Result<(), Fault> {
    if kept.is_empty() {
        return Ok(());
    }
    section(page, "findings", "new-page", "Findings");
    for (place, one) in kept.iter().enumerate() {
        let (begin, share) = (place as f64 / kept.len() as f64, 1.0 / kept.len() as f64);
        let text = format!("Finding {} of {}", place + 1, kept.len());
        progress(begin, &text);
        let drawn = match (&one.summary.picture, settings.figures) {
            (Some(_), true) => {
                Some(drawn(study, one, settings.dpi, &mut |done, _| progress(begin + share * done, &text))?)
            }
            _ => None,
        };
        finding(page, one, notes, drawn);
    }
    page.close();
    Ok(())
}

/// A figure as it stands in the report.
struct Drawn {
    png: Vec<u8>,
    /// Why it is not drawn anew; empty where it is.
    why: String,
}

/// The figure drawn anew, or as it was kept where that cannot be.
fn drawn(study: &mut Study, one: &Kept, dpi: f64, progress: Progress<'_>) -> Result<Drawn, Fault> {
    let id = &one.summary.id;
    let why = if study.stack().maps().is_empty() && study.photos().is_empty() {
        "The figure is as it was kept; the maps are not in this copy.".to_owned()
    } else {
        match study.finding_picture(id, Way::Dots(dpi), progress) {
            Ok(png) => return Ok(Drawn { png, why: String::new() }),
            Err(fault) if fault.code == "out_of_memory" => return Err(fault),
            // What is otherwise now stands above the figure.
            Err(fault) if fault.code == "finding_changed" => "The figure is as it was kept.".into(),
            Err(fault) => {
                format!("The figure is as it was kept: it could not be drawn anew. {}", fault.message)
            }
        }
    };
    let png = study.kept_png(id)?.map(<[u8]>::to_vec).unwrap_or_default();
    Ok(Drawn { png, why })
}

fn finding(page: &mut Page, one: &Kept, notes: &Notes, drawn: Option<Drawn>) {
    let summary = &one.summary;
    let heading = format!("{}-heading", one.anchor());
    page.open("article", &[("id", &one.anchor()), ("class", "finding"), ("aria-labelledby", &heading)]);
    page.open("h3", &[("id", &heading)]);
    page.put("span", &[("class", "number-of")], &summary.place.to_string()).text(" ");
    page.put("span", &[], &summary.title).close();
    if summary.question.is_some() && summary.question_text != summary.title {
        page.paragraph("question", &summary.question_text);
    }
    page.paragraph("changed", &summary.trouble);
    if !summary.changed.is_empty() {
        let what = summary.changed.join(" ");
        page.paragraph(
            "changed",
            &format!("This finding is as it was kept. What it rests on is otherwise by now: {what}"),
        );
    }
    page.paragraph("note", &summary.note);
    let is_view = summary.question.is_none();
    // The figure of a view says the same below itself.
    let is_drawn = drawn.as_ref().is_some_and(|drawn| !drawn.png.is_empty());
    if !is_view || !is_drawn {
        page.paragraph("sentence", &summary.sentence);
    }
    if !summary.verdict_text.is_empty() {
        page.open("p", &[("class", "verdict")]).text(&super::front::capital(&summary.verdict_text)).close();
    }
    figures(page, one);
    if let (Some(drawn), Some(glance)) = (drawn, &summary.picture) {
        figure(page, summary.place, &drawn, &glance.caption);
    }
    if let Some(answer) = &one.answer {
        of_answer(page, answer, summary.place);
    }
    if !summary.cautions.is_empty() {
        page.put("h4", &[], "Cautions").list("cautions", &summary.cautions);
    }
    if let Some(answer) = &one.answer {
        noted(page, &notes.numbers(answer));
    }
    page.close();
}

fn figures(page: &mut Page, one: &Kept) {
    let row = |figure: &crate::ask::Figure| {
        vec![Words::of(&figure.label), Words::of(&figure.value), Words::of(&figure.detail)]
    };
    page.table(&Sheet {
        caption: "",
        class: "figures",
        headings: Vec::new(),
        rows: one.summary.figures.iter().map(row).collect(),
    });
}

fn figure(page: &mut Page, place: u32, drawn: &Drawn, caption: &str) {
    if drawn.png.is_empty() {
        page.paragraph("quiet", "Its figure did not come with the study.");
        return;
    }
    page.open("figure", &[]).picture(&drawn.png, png_size(&drawn.png), caption);
    let more = if drawn.why.is_empty() { String::new() } else { format!(". {}", drawn.why) };
    page.put("figcaption", &[], &format!("Figure to finding {place}{more}")).close();
}

/// Width and height of a PNG: they stand at fixed places of its first chunk (ISO/IEC 15948, 11.2.2).
fn png_size(png: &[u8]) -> (u32, u32) {
    let number = |at: usize| {
        let bytes = png.get(at..at + 4).and_then(|four| four.try_into().ok()).unwrap_or([0; 4]);
        u32::from_be_bytes(bytes)
    };
    (number(16), number(20))
}

fn of_answer(page: &mut Page, answer: &Answer, place: u32) {
    match (&answer.materials, &answer.dates) {
        (Some(part), _) => materials::part(page, part),
        (_, Some(part)) => materials::dates(page, part),
        _ if answer.table.columns.len() > WIDE => {
            page.open("p", &[("class", "quiet")]).text("All numbers stand in a table with its ");
            page.put("a", &[("href", &format!("#{}", super::appendix::anchor(place)))], "settings")
                .text(".")
                .close();
        }
        _ => table(page, answer, ""),
    }
    if let Some(part) = &answer.covered {
        materials::covered(page, part);
    }
    if let Some(stability) = &answer.stability {
        page.put("h4", &[], "Whether it holds").paragraph("", &stability.text);
    }
}

/// The table of an answer; one that is too wide for a page in parts, each with the names of its rows.
pub(super) fn table(page: &mut Page, answer: &Answer, class: &str) {
    let columns = &answer.table.columns;
    let parts = columns.len().div_ceil(WIDE).max(1);
    let width = columns.len().div_ceil(parts).max(1);
    for (part, headings) in columns.chunks(width).enumerate() {
        let caption = match parts {
            1 => "In numbers".to_owned(),
            _ => format!("In numbers, part {} of {parts}", part + 1),
        };
        let rows = answer.table.rows.iter().map(|row| {
            let mut cells = vec![Words::of(&row.label)];
            cells.extend(row.cells.iter().skip(part * width).take(headings.len()).map(
                |cell| match cell.value {
                    Some(_) => Words::Number(cell.text.clone()),
                    None => Words::of(&cell.text),
                },
            ));
            cells
        });
        let headings = std::iter::once(String::new()).chain(headings.iter().cloned()).collect::<Vec<_>>();
        page.table(&Sheet { caption: &caption, class, rows: rows.collect(), headings });
    }
}

/// Which notes tell how it was computed.
fn noted(page: &mut Page, numbers: &[usize]) {
    if numbers.is_empty() {
        return;
    }
    page.open("p", &[("class", "noted")]).text("How it was computed: notes ");
    for (place, number) in numbers.iter().enumerate() {
        if place > 0 {
            page.text(", ");
        }
        page.put("a", &[("href", &format!("#note-{number}"))], &number.to_string());
    }
    page.text(".").close();
}
