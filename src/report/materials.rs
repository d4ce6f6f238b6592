//! What answers say of materials, layers and years, and where to measure next.

use super::page::{Page, Sheet, Words};
use super::{Kept, section};
use crate::ask::{CoveredPart, DatesPart, MaterialRow, MaterialsPart, NextPlace, Number, verdict};
use crate::numerics::figure::{THIN_SPACE, figure};

/// Materials of which something is claimed or left open stand with their reasons; of the others only the verdict is given.
fn is_candidate(row: &MaterialRow, part: &MaterialsPart) -> bool {
    let verdict = row.verdict.as_str();
    verdict == verdict::IDENTIFIED
        || ((verdict == verdict::CONSISTENT || verdict == verdict::ALIKE) && row.fits_colour)
        || part.sets.iter().any(|set| set.materials.contains(&row.id))
}

/// Its verdict with what speaks against it beside the maps.
fn verdict_of(row: &MaterialRow) -> String {
    let mut out = row.verdict_text.clone();
    for (fits, what) in [(row.fits_colour, "another colour"), (row.fits_years, "other years")] {
        if !fits {
            out.push_str(&format!("; {what}"));
        }
    }
    out
}

fn headings<const N: usize>(texts: [&str; N]) -> Vec<String> {
    texts.iter().map(|text| (*text).to_owned()).collect()
}

/// Elements, candidates, sets, what would settle it.
pub(super) fn part(page: &mut Page, part: &MaterialsPart) {
    let element = |row: &crate::ask::ElementRow| {
        vec![Words::of(&row.label), Words::of(&row.state), Words::of(&row.text)]
    };
    page.table(&Sheet {
        caption: "Elements",
        class: "short-2",
        headings: headings(["Map", "State", "What is seen"]),
        rows: part.elements.iter().map(element).collect(),
    });
    page.paragraph("", &part.sets_text);
    let sets: Vec<String> = part.sets.iter().map(|set| set.text.clone()).collect();
    page.list("", &sets);
    let unexplained: Vec<String> = part.unexplained.iter().map(|one| one.text.clone()).collect();
    if !unexplained.is_empty() {
        page.put("h4", &[], "What no material explains").list("", &unexplained);
    }
    let readings: Vec<String> =
        part.readings.iter().map(|said| sourced(&said.text, &said.basis, &said.source)).collect();
    if !readings.is_empty() {
        page.put("h4", &[], "What relations between elements say").list("", &readings);
    }
    let candidate = |row: &MaterialRow| {
        let reasons: Vec<&str> = row.reasons.iter().map(|said| said.text.as_str()).collect();
        let settle: Vec<String> =
            row.settle_by.iter().map(|settle| format!("{}: {}", settle.technique, settle.text)).collect();
        vec![
            Words::of(format!("{}: {}", row.name, verdict_of(row))),
            Words::of(reasons.join(" ")),
            Words::of(settle.join("; ")),
        ]
    };
    let (candidates, rest): (Vec<_>, Vec<_>) = part.materials.iter().partition(|row| is_candidate(row, part));
    page.table(&Sheet {
        caption: "Materials that could be there",
        class: "candidates",
        headings: headings(["Material", "Why", "What would settle it"]),
        rows: candidates.into_iter().map(candidate).collect(),
    });
    let mut others: Vec<(String, Vec<&str>)> = Vec::new();
    for row in rest {
        let verdict = verdict_of(row);
        match others.iter_mut().find(|(said, _)| *said == verdict) {
            Some((_, names)) => names.push(&row.name),
            None => others.push((verdict, vec![&row.name])),
        }
    }
    let other =
        |(verdict, names): &(String, Vec<&str>)| vec![Words::of(verdict), Words::of(names.join(", "))];
    page.table(&Sheet {
        caption: "All other materials that were asked about",
        class: "others",
        headings: headings(["Verdict", "Materials"]),
        rows: others.iter().map(other).collect(),
    });
    if !part.hazards.is_empty() {
        page.put("h4", &[], "To take care of").list("", &part.hazards);
    }
}

/// A sentence with what it rests on.
fn sourced(text: &str, basis: &str, source: &str) -> String {
    let on = if source.is_empty() { basis } else { source };
    if on.is_empty() { text.to_owned() } else { format!("{text} [{on}]") }
}

/// Elements and materials against the span.
pub(super) fn dates(page: &mut Page, part: &DatesPart) {
    let row = |row: &crate::ask::YearsRow| {
        let years = sourced(&row.years_text, &row.basis, &row.source);
        vec![
            Words::of(&row.name),
            Words::of(&row.verdict),
            Words::of(years),
            Words::of(row.explanations.join(" ")),
        ]
    };
    page.table(&Sheet {
        caption: "Years",
        class: "years",
        headings: headings(["What", "Verdict", "Years of use [source]", "What could explain it"]),
        rows: part.rows.iter().map(row).collect(),
    });
}

/// A number with its wider interval; an end that is not bounded is said to be open.
fn within(number: &Number) -> String {
    let Some(value) = number.value else { return number.reason.clone() };
    let unit = if number.unit.is_empty() { String::new() } else { format!("{THIN_SPACE}{}", number.unit) };
    let ends = match (number.low_all, number.high_all) {
        (None, None) => (number.low, number.high),
        all => all,
    };
    let ends = match ends {
        (Some(low), Some(high)) => format!(" ({} to {})", figure(low), figure(high)),
        (Some(low), None) => format!(" (at least {})", figure(low)),
        (None, Some(high)) => format!(" (at most {})", figure(high)),
        (None, None) => String::new(),
    };
    format!("{}{unit}{ends}", figure(value))
}

/// The layer, others that would do the same, depths.
pub(super) fn covered(page: &mut Page, part: &CoveredPart) {
    if let Some(layer) = &part.layer {
        page.paragraph(
            "",
            &format!("{}: {}.", super::front::capital(&layer.name), layer.text.trim_end_matches('.')),
        );
    }
    let other =
        |row: &crate::ask::OtherLayer| vec![Words::of(&row.name), Words::of(within(&row.thickness_um))];
    page.table(&Sheet {
        caption: "Other layers that would weaken as much",
        class: "figures",
        headings: headings(["Layer", "Thickness"]),
        rows: part.others.iter().map(other).collect(),
    });
    let depth: Vec<String> = part.depth.iter().map(|one| one.text.clone()).collect();
    if !depth.is_empty() {
        page.put("h4", &[], "Out of what depth the signal comes").list("", &depth);
    }
}

fn places(kept: &[Kept]) -> Vec<(&NextPlace, Vec<u32>)> {
    let mut out: Vec<(&NextPlace, Vec<u32>)> = Vec::new();
    for one in kept {
        let part = one.answer.as_ref().and_then(|answer| answer.materials.as_ref());
        for place in part.iter().flat_map(|part| &part.measure_next) {
            match out.iter_mut().find(|(other, _)| *other == place) {
                Some((_, of)) => of.push(one.summary.place),
                None => out.push((place, vec![one.summary.place])),
            }
        }
    }
    out
}

/// Whether anything is recommended.
pub(super) fn has_next(kept: &[Kept]) -> bool {
    !places(kept).is_empty()
}

/// Where to measure next, of all answers about materials.
pub(super) fn next(page: &mut Page, kept: &[Kept]) {
    let all = places(kept);
    if all.is_empty() {
        return;
    }
    section(page, "next", "", "Recommended next analyses");
    let row = |(place, (next, of)): (usize, &(&NextPlace, Vec<u32>))| {
        let of: Vec<String> = of.iter().map(u32::to_string).collect();
        vec![
            Words::of((place + 1).to_string()),
            Words::of(&next.technique),
            Words::of(&next.place_text),
            Words::of(next.between.join(", ")),
            Words::of(&next.reason),
            Words::of(of.join(", ")),
        ]
    };
    page.table(&Sheet {
        caption: "",
        class: "next",
        headings: headings(["No.", "Technique", "Where", "To tell between", "Why there", "Finding"]),
        rows: all.iter().enumerate().map(row).collect(),
    });
    page.close();
}
