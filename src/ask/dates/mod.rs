//! `dates`: does anything speak against a proposed span of years?
//!
//! The passage is read as `materials` reads it. A verdict is *does not fit* only where what is known of pigments says so of an
//! element that is detected and that nothing of the time explains; and the sentence then begins with what would innocently
//! explain it.

mod part;
mod worded;

pub use self::part::{DatesPart, YearsRow};

use super::Progress;
use super::answer::{Answer, Rasters};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::materials::{Passed, passage};
use super::settings::Settings;
use super::verdict::{CANNOT, FITS, MISFIT};
use crate::kind::Noise;
use crate::notice::Fault;
use crate::pigment::{self, DateOf, DateRow, DateVerdict, Verdict};

/// Does anything speak against a span of years?
pub(super) struct Dates;

/// What is found.
pub(super) struct Found {
    pub passed: Passed,
    /// What does not fit first.
    pub rows: Vec<DateRow>,
    /// Materials that a point identifies, by id.
    pub identified: Vec<&'static str>,
}

impl Found {
    /// Whether a row says something of the passage: a material that is only one of those that are consistent does not.
    fn counts(&self, row: &DateRow) -> bool {
        match row.of {
            DateOf::Element(_) => true,
            DateOf::Material(material) => {
                row.verdict != DateVerdict::Cannot || self.identified.contains(&material.id)
            }
        }
    }

    /// Rows of a verdict that count.
    fn rows_of(&self, verdict: DateVerdict) -> impl Iterator<Item = &DateRow> {
        self.rows.iter().filter(move |row| row.verdict == verdict && self.counts(row))
    }
}

impl Question for Dates {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        if settings.from.is_none() || settings.to.is_none() {
            return Err(Fault::bad_setting(
                "`from` and `to` are not given. State the first and the last year of the span that is proposed, as 1640 and 1670.",
            ));
        }
        subject.maps_of_elements()
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        let passed = passage(evidence, progress)?;
        progress(0.9, "Years of use");
        let reading = pigment::read(&passed.passage);
        let rows = pigment::date_rows(&passed.passage, &reading);
        let is_identified = |verdict: &Verdict| matches!(verdict, Verdict::Identified { .. });
        let identified = reading.materials.iter().filter(|one| is_identified(&one.verdict));
        let identified = identified.map(|one| one.material.id).collect();
        Ok(Found { passed, rows, identified })
    }

    fn verdict(found: &Found) -> &'static str {
        let has = |verdict| found.rows_of(verdict).next().is_some();
        if has(DateVerdict::Misfit) {
            MISFIT
        } else if has(DateVerdict::Fits) && !has(DateVerdict::Cannot) {
            FITS
        } else {
            CANNOT
        }
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        Ok((worded::worded(evidence, &found), Rasters::new()))
    }

    /// A single map without a background does not keep the others from being tried.
    fn has_trials(evidence: &Evidence) -> bool {
        evidence.sides.iter().any(|side| side.noise() != Noise::Unknown)
    }
}
