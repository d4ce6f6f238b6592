//! The small record that, with the input files, is the state of a study.

use crate::element::Line;
use crate::kind::Kind;
use crate::notice::Fault;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub(super) const VERSION: u32 = 1;

/// A file that was opened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InputRecord {
    /// Its name (untrusted text).
    pub name: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Bytes.
    pub size: u64,
}

/// A stated step.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct GridRecord {
    /// Across, in micrometres.
    pub step_x_um: Option<f64>,
    /// Down, in micrometres.
    pub step_y_um: Option<f64>,
}

/// What was stated of a map. Absent fields leave what is.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MapRecord {
    /// Element symbol alone, or with its line in `line`.
    pub element: Option<String>,
    /// "Cu K", or the family alone ("K", "Lα") when `element` is given.
    pub line: Option<String>,
    /// A word of [`Kind`].
    pub kind: Option<String>,
}

impl MapRecord {
    /// The line that this states, `now` where it states none.
    pub(super) fn line_over(&self, now: Option<Line>) -> Result<Option<Line>, Fault> {
        let text = match (&self.element, &self.line) {
            (None, None) => return Ok(now),
            (Some(element), None) => element.clone(),
            (Some(element), Some(line)) if !line.starts_with(element.as_str()) || line.len() <= 2 => {
                format!("{element} {line}")
            }
            (_, Some(line)) => line.clone(),
        };
        if text.trim().is_empty() {
            return Ok(None);
        }
        Line::parse(&text).map(Some).ok_or_else(|| {
            Fault::bad_setting(format!("“{text}” is no element line. Write it as “Cu K” or “Pb Lα”."))
        })
    }

    pub(super) fn kind(&self) -> Result<Option<Kind>, Fault> {
        let Some(word) = &self.kind else { return Ok(None) };
        Kind::from_word(word).map(Some).ok_or_else(|| {
            let all: Vec<&str> = Kind::ALL.iter().map(|kind| kind.word()).collect();
            Fault::bad_setting(format!("“{word}” is no kind of map. There are: {}.", all.join(", ")))
        })
    }
}

/// Everything that was stated.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Version of this record.
    pub record: u32,
    /// Files, in the order in which they were opened.
    pub inputs: Vec<InputRecord>,
    /// The step, where it was stated by hand.
    pub grid: Option<GridRecord>,
    /// What was stated of maps, by id.
    pub maps: BTreeMap<String, MapRecord>,
}
