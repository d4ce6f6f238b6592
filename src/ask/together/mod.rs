//! `together`: do A and B rise and fall together? Of two maps, or of every two of several.

mod causes;
mod joint;
mod judge;
mod matrix;
mod numbers;
mod overlap;
mod survives;
mod words;

pub(super) use joint::histogram;
pub use joint::{Cloud, cloud_of, joint_of};

use super::answer::{Answer, Rasters};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::pair::Pair;
use super::settings::Settings;
use super::{Progress, verdict};
use crate::notice::Fault;

/// Do A and B rise and fall together?
pub(super) struct Together;

/// What is found.
pub(super) enum Found {
    /// Of two maps.
    Pair(Box<judge::Judged>),
    /// Of several, pair by pair.
    Matrix(matrix::Matrix),
}

/// Copies of maps may take this many bytes; more would not fit beside everything else in a browser.
const MOST_BYTES: u64 = 1 << 30;
/// A pixel of a copy: its value, whether it is saturated, and what is passing.
const BYTES_OF_PIXEL: u64 = 10;

fn is_pair(settings: &Settings) -> bool {
    settings.a.is_some() || settings.b.is_some()
}

impl Question for Together {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        if is_pair(settings) {
            if settings.maps.is_some() {
                return Err(Fault::bad_setting("Give either `a` and `b` or `maps`, not both."));
            }
            return Pair::maps(settings, subject);
        }
        let names = settings.maps.clone().unwrap_or_else(|| subject.element_maps());
        let maps = names.iter().map(|name| subject.find(name)).collect::<Result<Vec<_>, _>>()?;
        let mut out: Vec<String> = Vec::new();
        for map in &maps {
            let id = map.id.to_string();
            if out.contains(&id) {
                return Err(Fault::bad_setting(format!("{} is named twice.", map.label())));
            }
            out.push(id);
        }
        if out.len() < 2 {
            return Err(Fault::bad_setting(
                "To compare maps with each other it takes two of one scan, or more.",
            ));
        }
        let pixels = maps.first().map_or(0, |map| {
            let (width, height) = map.plane.size();
            u64::from(width) * u64::from(height)
        });
        let fit = MOST_BYTES / (pixels * BYTES_OF_PIXEL).max(1);
        if out.len() as u64 > fit {
            return Err(Fault::bad_setting(format!(
                "{} maps of this size are too large to be compared at once: {fit} fit. Name fewer, or bin them first.",
                out.len()
            )));
        }
        Ok(out)
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        if !is_pair(&evidence.settings) {
            return Ok(Found::Matrix(matrix::matrix(evidence, progress)?));
        }
        let judged = match Pair::of(evidence) {
            Some(pair) => judge::judge(&pair, judge::Effort::of(evidence), progress)?,
            None => judge::Judged::nothing("there are no two maps"),
        };
        Ok(Found::Pair(Box::new(judged)))
    }

    fn verdict(found: &Found) -> &'static str {
        match found {
            Found::Pair(judged) => judged.verdict,
            Found::Matrix(matrix) => matrix.verdict(),
        }
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        match (found, Pair::of(evidence)) {
            (Found::Pair(judged), Some(pair)) => words::word(&pair, &judged),
            (Found::Matrix(matrix), _) => Ok((matrix::word(evidence, &matrix), Rasters::new())),
            (Found::Pair(_), None) => Ok((words::blank_answer(evidence), Rasters::new())),
        }
    }

    /// All pairs of many maps are judged once: each pair is asked by itself to see whether it holds.
    fn has_trials(evidence: &Evidence) -> bool {
        is_pair(&evidence.settings) && evidence.levels().is_ok()
    }
}

/// The verdict word of what was found in one pair.
fn is_strong(word: &str) -> bool {
    word == verdict::TOGETHER
}
