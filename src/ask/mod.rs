//! Questions: from maps and settings to an answer with its pixels. One file per question. Knows no page and no files.

mod answer;
mod apart;
pub mod picture;
mod questions;
mod ratio;
mod settings;
mod words;

pub use answer::{Answer, Figure, Input, Method, Number, Raster, Rasters, Row, Shown};
pub use questions::{Part, Question, questions};
pub use settings::PairSettings;

use crate::notice::Fault;
use crate::stack::{MapId, Stack};

/// Told how far a computation is, from 0 to 1, and what it does.
pub type Progress<'a> = &'a mut dyn FnMut(f64, &str);

/// What a question is about.
#[derive(Clone, Copy)]
pub struct Subject<'a> {
    /// At least the maps that the settings name.
    pub stack: &'a Stack,
}

/// Which maps a question needs, so that only these are copied for its computation.
///
/// # Errors
/// The question or a setting is not understood, or a map is not there.
pub fn maps_needed(question: &str, settings: &serde_json::Value, stack: &Stack) -> Result<Vec<MapId>, Fault> {
    known(question)?;
    let settings = PairSettings::read(settings.clone())?;
    let pair = settings::Pair::find(&Subject { stack }, settings)?;
    Ok(vec![pair.a.id.clone(), pair.b.id.clone()])
}

/// Asks a question.
///
/// # Errors
/// As [`maps_needed`], and when memory runs out. That nothing can be said is an answer and no error.
pub fn ask(
    question: &str,
    settings: serde_json::Value,
    subject: &Subject<'_>,
    progress: Progress<'_>,
) -> Result<(Answer, Rasters), Fault> {
    known(question)?;
    let settings = PairSettings::read(settings)?;
    match question {
        "apart" => apart::ask(subject, settings, progress),
        _ => ratio::ask(subject, settings, progress),
    }
}

fn known(question: &str) -> Result<(), Fault> {
    if ["apart", "ratio"].contains(&question) {
        return Ok(());
    }
    Err(Fault::new(
        "unknown_question",
        format!("There is no question “{question}”. There are: apart, ratio."),
    ))
}
