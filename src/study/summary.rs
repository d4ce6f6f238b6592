//! What the page shows of maps, grid and read-out.

use super::naming::{detectors_of, owner};
use super::record::ELEMENT;
use crate::kind::Noise;
use crate::notice::{Fault, Notice};
use crate::numerics::figure::{THIN_SPACE, count, whole};
use crate::reading::Way;
use crate::stack::{Map, Stack, StepSource, scan_word};
use serde::{Deserialize, Serialize};

/// A notice as text.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct NoticeText {
    /// "info", "warning" or "error".
    pub severity: String,
    /// A stable word.
    pub code: String,
    /// The file (untrusted text).
    pub file: String,
    /// The sentence.
    pub text: String,
    /// The map it is about, by id; `None` for the file as a whole.
    pub map: Option<String>,
    /// What could be done about it.
    pub offers: Vec<OfferText>,
}

/// A change that the user may accept: exactly this call is then made.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct OfferText {
    /// What stands on the button.
    pub label: String,
    /// "set_maps" or "derive".
    pub call: String,
    /// What it is called with.
    pub args: Vec<serde_json::Value>,
}

impl NoticeText {
    /// Words a fault that belongs to a file.
    pub fn fault(file: &str, fault: &Fault) -> Self {
        Self {
            severity: "error".into(),
            code: fault.code.into(),
            file: file.to_owned(),
            text: fault.message.clone(),
            map: None,
            offers: Vec::new(),
        }
    }

    /// Words a notice.
    pub fn of(notice: &Notice) -> Self {
        Self {
            severity: notice.finding.severity().word().into(),
            code: notice.finding.code().into(),
            file: notice.file.clone(),
            text: notice.finding.to_string(),
            map: None,
            offers: Vec::new(),
        }
    }
}

/// A way to read a file, to be chosen.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct WayText {
    /// For `open` and `read_as`.
    pub key: String,
    /// What it makes of the file.
    pub text: String,
    /// The first values.
    pub sample: String,
}

/// A file that can be read in several ways.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct AskText {
    /// The file (untrusted text).
    pub file: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// The question.
    pub question: String,
    /// At least two.
    pub ways: Vec<WayText>,
}

impl AskText {
    pub(super) fn of(file: &str, sha256: &str, question: String, ways: Vec<Way>) -> Self {
        let ways = ways.into_iter().map(|Way { key, text, sample }| WayText { key, text, sample }).collect();
        Self { file: file.to_owned(), sha256: sha256.to_owned(), question, ways }
    }
}

/// What one opening gave.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Opened {
    /// Ids of new maps.
    pub maps: Vec<String>,
    /// Ids of new photos.
    pub photos: Vec<String>,
    /// What to tell.
    pub notices: Vec<NoticeText>,
    /// What to ask before the file can be read.
    pub asks: Vec<AskText>,
    /// True where something of the file is kept, so that the file belongs to the study.
    pub is_kept: bool,
    /// SHA-256 of the file where something of it is kept.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}

/// A map at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MapSummary {
    /// Its id.
    pub id: String,
    /// File name.
    pub file: String,
    /// Page in the file.
    pub page: u32,
    /// Title in the file.
    pub title: String,
    /// Element symbol.
    pub element: Option<String>,
    /// "Cu K".
    pub line: Option<String>,
    /// A word of [`Kind`].
    pub kind: String,
    /// Pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Smallest value.
    pub low: Option<f64>,
    /// Largest value.
    pub high: Option<f64>,
    /// Median.
    pub median: Option<f64>,
    /// Pixels without data.
    pub blank: u64,
    /// Pixels at the largest value of their type.
    pub saturated: u64,
    /// SHA-256 of the file.
    pub file_sha256: String,
    /// What it is called.
    pub label: String,
    /// Its largest value as text.
    pub largest: String,
    /// What to know before using it, in words.
    pub marks: Vec<String>,
    /// The line that its title or name says, whatever was stated.
    pub read_line: Option<String>,
    /// "element", or what it holds instead.
    pub role: String,
    /// The map that this one belongs to (errors to their fit).
    pub belongs_to: Option<String>,
    /// Number of the detector.
    pub detector: Option<u32>,
    /// Maps of the same line by all detectors; empty where there is one.
    pub group: Vec<String>,
    /// What its numbers are, for the sheet.
    pub kind_text: String,
    /// Why this kind was proposed; empty where it was stated.
    pub kind_reason: String,
    /// Whether the kind was stated.
    pub kind_is_stated: bool,
    /// How it was made of others.
    pub derived: Option<DerivedText>,
    /// Pixels of the scan in one of its own, across and down.
    pub cell: (u32, u32),
    /// The scan that it belongs to: 0 is the first, on whose grid everything lies.
    pub field: u32,
}

/// How a map was made.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DerivedText {
    /// The recipe's word ("sum").
    pub how: String,
    /// Of which maps, by id.
    pub of: Vec<String>,
    /// In a few words.
    pub text: String,
    /// What was done, in sentences.
    pub account: Vec<String>,
}

impl MapSummary {
    /// Looks at a map of a stack.
    pub(super) fn of(map: &Map, stack: &Stack, kind_is_stated: bool) -> Self {
        let stats = &map.stats;
        let (width, height) = map.plane.size();
        let is_binned = map.cell() != (1, 1);
        let mut marks = Vec::new();
        let mut mark = |applies: bool, word: &str| {
            if applies {
                marks.push(word.to_owned());
            }
        };
        mark(map.line.is_none() && map.role.is_none() && map.making.is_none(), "no element");
        mark(
            map.kind.noise() != Noise::Counting && map.role.is_none(),
            &map.kind.sheet_text(map.sigma.is_some()),
        );
        mark(is_binned, "binned");
        mark(map.field > 0, &scan_word(map.field));
        let is_on_grid = map.field == 0 && !is_binned;
        mark(is_on_grid && stack.commonest_size() != Some((width, height)), "other size");
        mark(map.frame.is_some(), "laid on the grid");
        mark(stats.saturated > 0 && map.kind.noise() != Noise::Unknown, "saturated");
        mark(stats.high.is_none(), "no data");
        Self {
            id: map.id.to_string(),
            file: map.source.file.clone(),
            page: map.source.page,
            title: map.title.clone(),
            element: map.line.map(|line| line.element.symbol().into()),
            line: map.line.map(|line| line.to_string()),
            kind: map.kind.word().into(),
            width,
            height,
            low: stats.low,
            high: stats.high,
            median: stats.median,
            blank: stats.blank,
            saturated: stats.saturated,
            file_sha256: map.source.sha256.clone(),
            label: map.label(),
            largest: stats.high.map_or_else(String::new, count),
            marks,
            read_line: map.named.map(|line| line.to_string()),
            role: map.role.map_or(ELEMENT, |role| role.word()).into(),
            belongs_to: owner(map, stack.maps()).map(|owner| owner.id.to_string()),
            detector: map.detector,
            group: detectors_of(map, stack.maps()).iter().map(|id| id.to_string()).collect(),
            kind_text: map.kind.sheet_text(map.sigma.is_some()),
            kind_reason: if kind_is_stated { String::new() } else { map.proposal.reason.clone() },
            kind_is_stated,
            derived: map.making.as_ref().map(|making| DerivedText {
                how: making.how.clone(),
                of: making.of.iter().map(|id| id.to_string()).collect(),
                text: making.text.clone(),
                account: making.account.clone(),
            }),
            cell: map.cell(),
            field: map.field,
        }
    }
}

/// The grid of the scan.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GridSummary {
    /// Step across, in micrometres.
    pub step_x_um: Option<f64>,
    /// Step down.
    pub step_y_um: Option<f64>,
    /// Where the step is from: "file", "stated" or "unknown".
    pub source: String,
    /// Clockwise quarter turns of all maps.
    pub turns: u8,
    /// Whether all maps are mirrored before they are turned.
    pub mirror: bool,
    /// Height of a pixel for each unit of its width; 1 where the step is not known.
    pub pixel_aspect: f64,
    /// Pixels in a row of the first map; 0 without maps.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// All of it in words.
    pub text: String,
}

impl GridSummary {
    /// Looks at a stack.
    pub fn of(stack: &Stack) -> Self {
        let (width, height) = stack.size().unwrap_or((0, 0));
        let step = stack.step();
        let mut words = Vec::new();
        match stack.maps().len() {
            0 => {}
            1 => words.push("1 map".to_owned()),
            n => words.push(format!("{n} maps")),
        }
        if width > 0 {
            words.push(format!("{} × {} pixels", whole(u64::from(width)), whole(u64::from(height))));
            match step {
                Some((step, _)) if step.x_um() == step.y_um() => {
                    words.push(format!("step {}", length(step.x_um())))
                }
                Some((step, _)) => {
                    words.push(format!("step {} × {}", length(step.x_um()), length(step.y_um())))
                }
                None => words.push("step not known".into()),
            }
        }
        Self {
            step_x_um: step.map(|(step, _)| step.x_um()),
            step_y_um: step.map(|(step, _)| step.y_um()),
            source: match step {
                Some((_, StepSource::File(_))) => "file",
                Some((_, StepSource::Stated)) => "stated",
                None => "unknown",
            }
            .into(),
            turns: stack.orientation().quarter_turns(),
            mirror: stack.orientation().is_mirrored(),
            pixel_aspect: step.map_or(1.0, |(step, _)| step.y_um() / step.x_um()),
            width,
            height,
            text: words.join(", "),
        }
    }
}

fn length(um: f64) -> String {
    if um >= 1000.0 || (um >= 100.0 && um % 10.0 == 0.0) {
        format!("{}{THIN_SPACE}mm", um / 1000.0)
    } else {
        format!("{um}{THIN_SPACE}µm")
    }
}
