//! What `dates` says.

use super::{DatesPart, Found, YearsRow};
use crate::ask::answer::{Answer, Cell, Figure, Method, Row, Table};
use crate::ask::evidence::Evidence;
use crate::ask::materials::{background_caution, methods};
use crate::ask::verdict::{CANNOT, FITS, MISFIT};
use crate::ask::words;
use crate::pigment::{DateOf, DateRow, DateVerdict, State};

/// Elements or materials that the sentence names.
const MOST_NAMES: usize = 3;

pub(super) fn worded(evidence: &Evidence, found: &Found) -> Answer {
    let own = methods().into_iter().chain([Method::own(
        "A row does not fit only where an element is detected beyond support, ground and overlaps, and everything that is known here to explain it, by its formula or as a companion, begins after the span by years that a verdict may rest on. Years in which a use fades out make no misfit.",
    )]);
    let mut answer = words::blank_answer(evidence, "dates", own.collect());
    answer.judged_pixels = evidence.pixels();
    answer.sentence = sentence(evidence, found);
    answer.figures = figures(found);
    answer.cautions = cautions(evidence);
    let rows: Vec<YearsRow> = found.rows.iter().map(row).collect();
    answer.table = table(&rows);
    answer.dates = Some(DatesPart { rows });
    answer
}

fn verdict_word(verdict: DateVerdict) -> &'static str {
    match verdict {
        DateVerdict::Misfit => MISFIT,
        DateVerdict::Cannot => CANNOT,
        DateVerdict::Fits => FITS,
    }
}

fn name(row: &DateRow) -> String {
    match row.of {
        DateOf::Element(element) => element.symbol().to_owned(),
        DateOf::Material(material) => material.name.to_owned(),
    }
}

fn row(row: &DateRow) -> YearsRow {
    let (id, is_element) = match row.of {
        DateOf::Element(element) => (element.symbol(), true),
        DateOf::Material(material) => (material.id, false),
    };
    let name = match row.of {
        DateOf::Element(element) => element.name().to_owned(),
        DateOf::Material(material) => material.name.to_owned(),
    };
    let verdict_text = match row.verdict {
        DateVerdict::Misfit => format!("{name} does not fit as original paint"),
        DateVerdict::Fits => format!("{name} fits, which supports no date within the span"),
        DateVerdict::Cannot => format!("{name} cannot be judged"),
    };
    YearsRow {
        id: id.into(),
        name,
        is_element,
        from: row.from,
        to: row.to,
        years_text: row.years.text.clone(),
        verdict: verdict_word(row.verdict).into(),
        verdict_text,
        explanations: row.explanations.iter().map(|reason| reason.text.clone()).collect(),
        basis: row.years.basis.words().into(),
        source: row.years.source.clone(),
    }
}

/// "1640 to 1670", "50 BC to 120".
pub(super) fn span(evidence: &Evidence) -> String {
    let year = |year: Option<i32>| match year {
        Some(year) if year < 0 => format!("{} BC", -year),
        Some(year) => year.to_string(),
        None => "any year".into(),
    };
    format!("{} to {}", year(evidence.settings.from), year(evidence.settings.to))
}

fn named(found: &Found, verdict: DateVerdict) -> Option<String> {
    names_of(found.rows_of(verdict))
}

/// Names of rows; of many the first, and how many more.
fn names_of<'r>(rows: impl Iterator<Item = &'r DateRow>) -> Option<String> {
    let rows: Vec<&DateRow> = rows.collect();
    // Elements are what was seen; materials only where no element says it.
    let elements = rows.iter().filter(|row| matches!(row.of, DateOf::Element(_))).count();
    let shown = rows.into_iter().filter(|row| elements == 0 || matches!(row.of, DateOf::Element(_)));
    let all: Vec<String> = shown.map(name).collect();
    let more = all.len().saturating_sub(MOST_NAMES);
    let mut shown: Vec<String> = all.into_iter().take(MOST_NAMES).collect();
    if more > 0 {
        shown.push(format!("{more} more"));
    }
    (!shown.is_empty()).then(|| words::listed(&shown))
}

fn sentence(evidence: &Evidence, found: &Found) -> String {
    let (span, place) = (span(evidence), evidence.place());
    if let Some(names) = named(found, DateVerdict::Misfit) {
        return format!(
            "A later repair, retouching or contamination would explain {names} {place}; as original paint {} not fit {span}.",
            if names.contains(" and ") { "they do" } else { "it does" }
        );
    }
    if named(found, DateVerdict::Cannot).is_some() {
        return format!(
            "Whether anything {place} speaks against {span} cannot be judged: {}.",
            listed_reasons(found)
        );
    }
    if named(found, DateVerdict::Fits).is_some() {
        return format!(
            "Nothing that is detected {place} speaks against {span}; materials that were in use then were in use long before and after, so this supports no date within the span."
        );
    }
    let seen: Vec<&str> = found
        .passed
        .passage
        .elements
        .iter()
        .filter(|seen| seen.state == State::Detected)
        .map(|seen| seen.element.symbol())
        .collect();
    match seen.as_slice() {
        [] => format!(
            "Nothing is detected {place} beyond background, support and ground, so nothing can be said of {span}."
        ),
        _ => format!(
            "Whether anything speaks against {span} {place} cannot be judged: {} {} detected, and of no material of theirs are the years known to tell.",
            words::listed(&seen),
            if seen.len() == 1 { "is" } else { "are" }
        ),
    }
}

/// Why nothing can be said: what is seen and has other explanations, and what would tell and cannot be judged itself.
fn listed_reasons(found: &Found) -> String {
    let is_seen = |row: &DateRow| match row.of {
        DateOf::Element(element) => {
            found.passed.passage.of(element).is_some_and(|seen| seen.state == State::Detected)
        }
        DateOf::Material(_) => true,
    };
    let rows = || found.rows_of(DateVerdict::Cannot);
    let seen = names_of(rows().filter(|row| is_seen(row)));
    let open = names_of(rows().filter(|row| !is_seen(row)));
    let mut out = Vec::new();
    if let Some(names) = &seen {
        out.push(format!(
            "the maps allow older explanations of {names} as well, or only years too weak to rest on"
        ));
    }
    if let Some(names) = &open {
        out.push(format!("{names}, which could tell, cannot be judged there"));
    }
    let nothing_else = match (seen, open) {
        (Some(_), _) => "nothing else that is detected speaks against the span",
        _ => "nothing that is detected speaks against the span",
    };
    out.push(nothing_else.into());
    out.join("; ")
}

fn figures(found: &Found) -> Vec<Figure> {
    let of = |verdict| named(found, verdict).unwrap_or_else(|| "none".into());
    let line = |label: &str, value: String, detail: &str| Figure {
        label: label.into(),
        value,
        detail: detail.into(),
    };
    vec![
        line("does not fit", of(DateVerdict::Misfit), "as original paint; explanations stand in the list"),
        line("cannot be judged", of(DateVerdict::Cannot), "the reasons stand in the list"),
        line("fits", of(DateVerdict::Fits), "which supports no date within the span"),
    ]
}

fn table(rows: &[YearsRow]) -> Table {
    let columns = ["verdict", "from", "to", "years", "explanations", "basis"];
    let year = |year: Option<i32>| match year {
        Some(year) => Cell::number(f64::from(year), year.to_string()),
        None => Cell::words("open"),
    };
    let rows = rows.iter().map(|row| {
        let basis = match row.source.as_str() {
            "" => row.basis.clone(),
            source => format!("{}: {source}", row.basis),
        };
        Row {
            label: row.name.clone(),
            cells: vec![
                Cell::words(row.verdict_text.clone()),
                year(row.from),
                year(row.to),
                Cell::words(row.years_text.clone()),
                Cell::words(row.explanations.join(" ")),
                Cell::words(basis),
            ],
        }
    });
    Table { columns: columns.map(str::to_owned).to_vec(), rows: rows.collect() }
}

fn cautions(evidence: &Evidence) -> Vec<String> {
    let mut out = vec![
        "A date or an attribution is never decided by pigments alone: later repair, retouching, the ground, accessory elements, contamination and overlapping lines come first.".to_owned(),
        "Years are those of use as far as they are known; an end is when common use fades out and not the last possible year.".to_owned(),
    ];
    if evidence.beside.below.is_empty() && evidence.asked.role != "bare support" {
        out.push("No region is marked as bare support or ground: what these hold is not told from what the paint holds.".into());
    }
    out.extend(background_caution(evidence));
    out
}
