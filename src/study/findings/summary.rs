//! Findings as the page, the report and tests see them.

use crate::ask::{Answer, Figure};
use serde::Serialize;
use serde_json::Value;

/// Something that a finding speaks of.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NamedThing {
    /// Its id.
    pub id: String,
    /// What it was called when it was kept.
    pub label: String,
}

/// A kept picture at a glance.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PictureGlance {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// SHA-256 of the PNG.
    pub png: String,
    /// The picture in words.
    pub caption: String,
}

/// A finding at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingSummary {
    /// Its id.
    pub id: String,
    /// Its place in the list, from 1.
    pub place: u32,
    /// Its title (untrusted text).
    pub title: String,
    /// The user's note (untrusted text).
    pub note: String,
    /// The question; `None` for a view.
    pub question: Option<String>,
    /// What the question is called; "View" for a view.
    pub question_text: String,
    /// The answer in one sentence; of a view its caption.
    pub sentence: String,
    /// The verdict word; empty for a view.
    pub verdict: String,
    /// The same with the names of the maps.
    pub verdict_text: String,
    /// The numbers that a reader wants first.
    pub figures: Vec<Figure>,
    /// What to keep in mind.
    pub cautions: Vec<String>,
    /// The kept picture; `None` where it has none.
    pub picture: Option<PictureGlance>,
    /// The maps it rests on.
    pub maps: Vec<NamedThing>,
    /// The regions it was asked of.
    pub regions: Vec<NamedThing>,
    /// What it rests on is otherwise now, in sentences; empty where it is as it was kept.
    pub changed: Vec<String>,
    /// Whether it can be asked again with what is there now.
    pub can_renew: bool,
    /// What is missing of it itself, in one sentence; empty where nothing is.
    pub trouble: String,
}

/// A finding with all that was kept of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FindingWhole {
    /// At a glance.
    pub finding: FindingSummary,
    /// The answer as it was kept; `None` for a view.
    pub answer: Option<Answer>,
    /// What it was asked with; null for a view.
    pub settings: Value,
    /// What its picture shows; null without one.
    pub picture: Value,
    /// The page's own state.
    pub scene: Value,
}

/// A number that came out otherwise.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Difference {
    /// What it is.
    pub name: String,
    /// As it was kept.
    pub kept: String,
    /// As it is now.
    pub now: String,
}

/// What became of a finding when it was computed again.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Reproduced {
    /// Its id.
    pub id: String,
    /// Its title.
    pub title: String,
    /// Whether answer and picture came out byte by byte the same.
    pub same: bool,
    /// All of it in one sentence.
    pub text: String,
    /// The numbers that came out otherwise.
    pub differences: Vec<Difference>,
}
