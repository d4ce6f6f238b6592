//! What stands before the findings: head, title, summary, contents, object and scan, common cautions.

use super::page::Page;
use super::{Kept, ReportSettings, section};
use crate::numerics::figure::{THIN_SPACE, whole};
use crate::study::Study;

/// What the report is called.
pub(super) fn title(study: &Study) -> String {
    let object = &study.about().object;
    if object.is_empty() { "Element maps by X-ray fluorescence".into() } else { object.clone() }
}

/// The line at the foot of every page: what the loose sheet belongs to.
pub(super) fn foot(study: &Study) -> String {
    let about = study.about();
    let parts = [title(study), about.number.clone()];
    parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
}

/// Everything up to the body.
pub(super) fn head(page: &mut Page, title: &str, style: &str, hash: &str) {
    let policy =
        format!("default-src 'none'; img-src data:; style-src '{hash}'; base-uri 'none'; form-action 'none'");
    page.open("html", &[("lang", "en")]).open("head", &[]);
    page.open("meta", &[("charset", "utf-8")]);
    page.open("meta", &[("http-equiv", "Content-Security-Policy"), ("content", &policy)]);
    page.open("meta", &[("name", "viewport"), ("content", "width=device-width, initial-scale=1")]);
    page.open("meta", &[("name", "generator"), ("content", crate::PROGRAM)]);
    page.put("title", &[], title).style(style).close();
}

fn entry(page: &mut Page, name: &str, text: &str, class: &str) {
    if !text.is_empty() {
        page.put("dt", &[], name).put("dd", &[("class", class)], text);
    }
}

/// The title with what is said of the object and the study.
pub(super) fn header(page: &mut Page, study: &Study, settings: &ReportSettings) {
    let about = study.about();
    page.open("header", &[]);
    if !about.object.is_empty() {
        page.paragraph("kicker", "Element maps by X-ray fluorescence");
    }
    page.put("h1", &[], &title(study));
    page.paragraph("described", &about.described);
    let entries = [
        ("Number", &about.number, ""),
        ("Proposed date", &about.dated, ""),
        ("Study by", &about.author, ""),
        ("Report of", &settings.date, ""),
        ("Remarks", &about.remarks, "remarks"),
    ];
    let left_out = study.left_out().join("; ");
    if entries.iter().any(|(_, text, _)| !text.is_empty()) || !left_out.is_empty() {
        page.open("dl", &[]);
        for (name, text, class) in entries {
            entry(page, name, text, class);
        }
        entry(page, "Left out of this copy", &left_out, "");
        page.close();
    }
    page.close();
}

/// What was found, in a line each; the numbers lead to the findings.
pub(super) fn summary(page: &mut Page, kept: &[Kept]) {
    section(page, "summary", "", "Summary");
    if kept.is_empty() {
        page.paragraph("", "Nothing was kept as a finding.").close();
        return;
    }
    page.open("ol", &[("class", "summary")]);
    for one in kept {
        let summary = &one.summary;
        page.open("li", &[]).put("span", &[("class", "number-of")], &summary.place.to_string());
        page.open("div", &[]);
        page.put("a", &[("href", &format!("#{}", one.anchor()))], &summary.title);
        let is_of_materials = one.answer.as_ref().is_some_and(|answer| answer.materials.is_some());
        // "Consistent with" alone says nothing; what cannot be judged is said with its reason.
        let is_said_whole = is_of_materials || crate::ask::verdict::abstains(&summary.verdict);
        let mut said = if is_said_whole { String::new() } else { capital(&summary.verdict_text) };
        if is_said_whole {
            said.clone_from(&summary.sentence);
        } else if let Some(first) = summary.figures.first() {
            let detail = if first.detail.is_empty() { String::new() } else { format!(" ({})", first.detail) };
            said = format!("{said}. {}: {}{detail}", capital(&first.label), first.value);
        }
        page.paragraph("", &ended(&said));
        let stability = one.answer.as_ref().and_then(|answer| answer.stability.as_ref());
        if let Some(stability) = stability.filter(|stability| !stability.holds) {
            page.paragraph("", &stability.text);
        }
        if !summary.changed.is_empty() {
            page.paragraph("", "As it was kept; what it rests on is otherwise by now.");
        }
        page.close().close();
    }
    page.close().close();
}

/// With a full stop, unless it ends in one.
fn ended(text: &str) -> String {
    if text.is_empty() || text.ends_with(['.', '?', '!']) { text.to_owned() } else { format!("{text}.") }
}

pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// The sections that follow, with links.
pub(super) fn contents(page: &mut Page, study: &Study, kept: &[Kept]) {
    let has_next = super::materials::has_next(kept);
    let has_made = super::sources::has_made(study);
    let all = [
        ("object", "Object and scan", true),
        ("mind", "To keep in mind", true),
        ("findings", "Findings", !kept.is_empty()),
        ("next", "Recommended next analyses", has_next),
        ("regions", "Regions", !study.regions().is_empty()),
        ("points", "Analysis points", !study.points().is_empty()),
        ("files", "Files", !study.inputs().is_empty()),
        ("maps", "Maps", !study.maps().is_empty()),
        ("made", "Repaired and derived maps, photos", has_made),
        ("methods", "How it was computed", kept.iter().any(|one| one.answer.is_some())),
        ("again", "How to repeat it", true),
        ("settings", "Settings and numbers", !kept.is_empty()),
    ];
    page.open("nav", &[("aria-labelledby", "contents-heading")]);
    page.put("h2", &[("id", "contents-heading")], "Contents").open("ol", &[]);
    for (id, text, _) in all.iter().filter(|(.., is_there)| *is_there) {
        page.open("li", &[]).put("a", &[("href", &format!("#{id}"))], text).close();
    }
    page.close().close();
}

/// What was scanned, and how.
pub(super) fn object_and_scan(page: &mut Page, study: &Study) {
    section(page, "object", "", "Object and scan");
    let (grid, scan) = (study.grid(), study.scan());
    page.open("dl", &[]);
    entry(page, "Grid", &grid.text, "");
    if let Some((across, down)) = grid.step_x_um.zip(grid.step_y_um) {
        let mm = |pixels: u32, step: f64| crate::numerics::figure::count(f64::from(pixels) * step / 1000.0);
        let size = format!("{} × {}{THIN_SPACE}mm", mm(grid.width, across), mm(grid.height, down));
        entry(page, "Size of the scan", &size, "");
    }
    let from = match grid.source.as_str() {
        "file" => "from the files",
        "stated" => "stated by the user",
        _ => "",
    };
    entry(page, "The step is", from, "");
    let turned = match (grid.turns, grid.mirror) {
        (0, false) => String::new(),
        (0, true) => "mirrored".into(),
        (turns, mirror) => format!(
            "{}turned clockwise by {}°",
            if mirror { "mirrored, then " } else { "" },
            u32::from(turns) * 90
        ),
    };
    entry(page, "The maps are", &turned, "");
    let said = scan.text();
    entry(page, "Scan", if said.is_empty() { "Nothing is stated of how it was made." } else { &said }, "");
    if let Some(object) = study.object() {
        entry(page, "Edges of the object", &object.text, "");
    }
    let fields: std::collections::BTreeSet<u32> = study.maps().iter().map(|map| map.field).collect();
    if fields.len() > 1 {
        entry(page, "Scans", &whole(fields.len() as u64), "");
    }
    page.close().close();
}

/// What holds for all of it.
pub(super) fn to_keep_in_mind(page: &mut Page) {
    section(page, "mind", "", "To keep in mind");
    let texts = [
        "X-ray fluorescence sees elements, not compounds. A material is called identified only where a technique that can tell it found it at a point.",
        "An element without a map was not measured, and nothing is said of it. Counts say how much radiation came, not how much of an element is there.",
        "A date or an attribution is never decided by pigments alone.",
        "X-ray work follows local radiation rules. Pigments with arsenic, lead, mercury and other poisons call for local safety rules and licensed practice; whether a sample is taken is for those who are responsible for the object.",
    ];
    page.list("", &texts.map(str::to_owned)).close();
}
