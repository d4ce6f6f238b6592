//! The report: one HTML file to be read, printed and kept, without script and without any connection. All that it says comes from the
//! study; the same study and settings give the same bytes. Names, titles and notes are untrusted text and pass one place
//! that makes them harmless.

mod appendix;
mod base64;
mod finding;
mod front;
mod materials;
mod outlines;
mod page;
mod places;
mod sources;
mod style;
#[cfg(test)]
mod tests;

use crate::ask::{Answer, Method, Progress};
use crate::digest::sha256_hex;
use crate::notice::Fault;
use crate::study::{FindingRecord, FindingSummary, Study};
use page::Page;
use serde::Deserialize;
use serde_json::Value;

/// The lowest and highest resolution of figures, in dots per inch.
pub const RESOLUTIONS: core::ops::RangeInclusive<f64> = 72.0..=600.0;
/// Characters of the date of a report.
const LONGEST_DATE: usize = 60;

/// The paper that a report is printed on.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Deserialize)]
pub enum Paper {
    /// 210 mm x 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 in x 11 in.
    Letter,
}

/// How a report is made.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct ReportSettings {
    /// "A4" or "Letter".
    pub paper: Paper,
    /// Resolution of the figures in dots per inch, 72 to 600.
    pub dpi: f64,
    /// Whether there are figures.
    pub figures: bool,
    /// Its date, as it is to be written; empty for none: the program has no clock.
    pub date: String,
}

impl Default for ReportSettings {
    fn default() -> Self {
        Self { paper: Paper::A4, dpi: 150.0, figures: true, date: String::new() }
    }
}

impl ReportSettings {
    /// Reads `{paper, dpi, figures, date}`, all of which may be absent.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: Value) -> Result<Self, Fault> {
        let settings = if settings.is_null() { Value::Object(serde_json::Map::new()) } else { settings };
        let read: Self = serde_json::from_value(settings).map_err(|error| {
            Fault::bad_setting(format!("How the report shall be is not understood: {error}."))
        })?;
        read.checked()
    }

    fn checked(self) -> Result<Self, Fault> {
        if !RESOLUTIONS.contains(&self.dpi) {
            return Err(Fault::bad_setting(format!(
                "The figures of a report have {} to {} dots per inch.",
                RESOLUTIONS.start(),
                RESOLUTIONS.end()
            )));
        }
        if self.date.chars().count() > LONGEST_DATE {
            return Err(Fault::bad_setting(format!(
                "The date of a report can have {LONGEST_DATE} characters."
            )));
        }
        Ok(self)
    }
}

/// A finding with all that is told of it.
struct Kept {
    summary: FindingSummary,
    answer: Option<Answer>,
    record: FindingRecord,
}

impl Kept {
    /// Its place in a link.
    fn anchor(&self) -> String {
        format!("finding-{}", self.summary.place)
    }
}

/// How things were computed, each said once; findings name them by their numbers.
#[derive(Default)]
struct Notes {
    all: Vec<Method>,
}

impl Notes {
    fn of(kept: &[Kept]) -> Self {
        let mut all: Vec<Method> = Vec::new();
        for method in kept.iter().filter_map(|one| one.answer.as_ref()).flat_map(|answer| &answer.method) {
            if !all.contains(method) {
                all.push(method.clone());
            }
        }
        Self { all }
    }

    /// Numbers of what an answer was computed with, from 1.
    fn numbers(&self, answer: &Answer) -> Vec<usize> {
        let place =
            |method: &Method| self.all.iter().position(|other| other == method).map(|place| place + 1);
        answer.method.iter().filter_map(place).collect()
    }
}

/// The report of a study as one HTML file. The figures are drawn anew at the resolution that is asked for, and the questions asked
/// again for it where their pixels are not held; a finding that rests on what is otherwise now keeps its kept picture, and the report
/// says so. Readers of screens get every figure in words; tables have headings for rows and columns.
///
/// # Errors
/// A setting that cannot be; no memory. What cannot be drawn is said in its place.
pub fn html(study: &mut Study, settings: &ReportSettings, progress: Progress<'_>) -> Result<String, Fault> {
    let settings = settings.clone().checked()?;
    progress(0.0, "Report");
    let mut kept = Vec::new();
    for summary in study.findings() {
        let answer = study.finding(&summary.id)?.answer;
        let record = study.finding_record(&summary.id)?.clone();
        kept.push(Kept { summary, answer, record });
    }
    let notes = Notes::of(&kept);
    let style = style::style(settings.paper, &front::foot(study));
    let mut page = Page::default();
    front::head(&mut page, &front::title(study), &style, &hash_of(&style));
    page.open("body", &[]);
    front::header(&mut page, study, &settings);
    page.open("main", &[]);
    front::summary(&mut page, &kept);
    front::contents(&mut page, study, &kept);
    front::object_and_scan(&mut page, study);
    front::to_keep_in_mind(&mut page);
    finding::all(&mut page, study, &kept, &notes, &settings, progress)?;
    materials::next(&mut page, &kept);
    places::regions(&mut page, study)?;
    places::points(&mut page, study);
    sources::files(&mut page, study);
    sources::maps(&mut page, study)?;
    sources::made(&mut page, study);
    appendix::all(&mut page, study, &kept, &notes);
    progress(1.0, "");
    Ok(format!("<!DOCTYPE html>\n{}", page.done()))
}

/// A hash as a Content-Security-Policy names it.
fn hash_of(style: &str) -> String {
    format!("sha256-{}", base64::of_hex(&sha256_hex(style.as_bytes())))
}

/// Begins a section with its heading.
fn section(page: &mut Page, id: &str, class: &str, heading: &str) {
    let of = format!("{id}-heading");
    page.open("section", &[("id", id), ("class", class), ("aria-labelledby", &of)]);
    page.put("h2", &[("id", &of)], heading);
}
