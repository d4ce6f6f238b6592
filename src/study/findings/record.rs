//! How a finding stands in a record, and what is handed in of one.

use super::ground::Ground;
use crate::ask::Settings;
use crate::digest::sorted;
use crate::notice::Fault;
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// More findings than this a study does not hold.
pub const MOST_FINDINGS: usize = 1_000;
/// Characters of a title.
pub const LONGEST_TITLE: usize = 300;
/// Characters of a note.
pub const LONGEST_NOTE: usize = 20_000;
/// Bytes of what the page keeps of its own state, and of the settings of a picture, as JSON.
pub const LARGEST_SCENE: usize = 64 * 1024;
/// Levels of lists and objects within each other in what the page keeps.
const DEEPEST_SCENE: usize = 24;
/// Width of a kept picture.
pub(super) const PICTURE_PX: u32 = 1200;
/// The same in millimetres: the text of a page.
pub(super) const PICTURE_MM: f64 = 170.0;

/// A picture as it was kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct KeptPicture {
    /// What it shows, as for `picture`.
    pub settings: Value,
    /// The picture in words.
    pub caption: String,
    /// SHA-256 of its PNG, a blob of the study.
    pub png: String,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

/// A finding as it stands in a record. Their order there is their order in the list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct FindingRecord {
    /// Number in its id.
    pub number: u32,
    /// What it is called (untrusted text).
    pub title: String,
    /// The user's note (untrusted text); may have several lines.
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub note: String,
    /// The question that was answered; `None` for a view.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub question: Option<String>,
    /// What it was asked with, maps and regions by id; null for a view.
    #[serde(default, skip_serializing_if = "Value::is_null")]
    pub settings: Value,
    /// Id of the kept answer, which is the hash of a blob of the study: its JSON with an empty id.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub answer: Option<String>,
    /// Its picture.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub picture: Option<KeptPicture>,
    /// The page's own state; the core does not look into it.
    #[serde(default, skip_serializing_if = "Value::is_null")]
    pub scene: Value,
    /// What it rests on, as it was.
    #[serde(default)]
    pub ground: Ground,
    /// Name and version of the program that kept it.
    pub program: String,
}

/// What is kept, and how it is called.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct KeepSettings {
    /// Id of an answer whose pixels are held; without one a view is kept.
    pub answer: Option<String>,
    /// What the picture shows; absent for the first picture of the answer.
    pub picture: Option<Value>,
    /// Absent or empty for one of its own.
    pub title: Option<String>,
    /// A note.
    pub note: Option<String>,
    /// The page's own state.
    pub scene: Value,
}

/// What is changed of a finding. Absent fields leave what is.
#[derive(Debug, Clone, Default, PartialEq, Eq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct FindingSettings {
    /// Another title; empty for one of its own.
    pub title: Option<String>,
    /// Another note.
    pub note: Option<String>,
    /// Its place in the list, from 1.
    pub place: Option<u32>,
}

fn read<T: serde::de::DeserializeOwned>(settings: Value) -> Result<T, Fault> {
    serde_json::from_value(settings).map_err(|error| {
        Fault::bad_setting(format!("What is said of the finding is not understood: {error}."))
    })
}

impl KeepSettings {
    /// Reads `{answer, picture, title, note, scene}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: Value) -> Result<Self, Fault> {
        read(settings)
    }
}

impl FindingSettings {
    /// Reads `{title, note, place}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: Value) -> Result<Self, Fault> {
        read(settings)
    }
}

/// One line without control characters and without space around it.
pub(in crate::study) fn plain_line(text: &str) -> String {
    let plain: String = text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    plain.trim().to_owned()
}

/// Lines without other control characters; line ends as LF.
pub(in crate::study) fn plain_text(text: &str) -> String {
    let plain: String =
        text.replace("\r\n", "\n").chars().filter(|&c| c == '\n' || c == '\t' || !c.is_control()).collect();
    plain.trim().to_owned()
}

/// A title as it is kept.
///
/// # Errors
/// It is too long.
pub(super) fn title_of(text: &str) -> Result<String, Fault> {
    let title = plain_line(text);
    if title.chars().count() > LONGEST_TITLE {
        return Err(Fault::bad_setting(format!(
            "The title of a finding can have {LONGEST_TITLE} characters. What is longer belongs in the note."
        )));
    }
    Ok(title)
}

/// A note as it is kept.
///
/// # Errors
/// It is too long.
pub(super) fn note_of(text: &str) -> Result<String, Fault> {
    let note = plain_text(text);
    if note.chars().count() > LONGEST_NOTE {
        return Err(Fault::bad_setting(format!("The note of a finding can have {LONGEST_NOTE} characters.")));
    }
    Ok(note)
}

/// What the page hands in to be kept, with its fields in the order in which a study file has them.
///
/// # Errors
/// It is too large.
pub(super) fn small(value: Value, what: &str) -> Result<Value, Fault> {
    if value.to_string().len() > LARGEST_SCENE || depth(&value, 0) > DEEPEST_SCENE {
        return Err(Fault::bad_setting(format!("{what} is too large to be kept with a finding.")));
    }
    Ok(sorted(&value))
}

fn depth(value: &Value, above: usize) -> usize {
    match value {
        Value::Array(items) => items.iter().map(|item| depth(item, above + 1)).max().unwrap_or(above + 1),
        Value::Object(fields) => {
            fields.values().map(|item| depth(item, above + 1)).max().unwrap_or(above + 1)
        }
        _ => above,
    }
}

impl FindingRecord {
    /// Whether a program of ours can have written it.
    pub(super) fn is_sound(&self) -> bool {
        let is_hash = |text: &str| text.len() == 64 && text.bytes().all(|b| b.is_ascii_hexdigit());
        let is_small = |value: &Value| small(value.clone(), "").is_ok();
        let is_question = |key: &String| !Settings::taken(key).is_empty();
        title_of(&self.title).is_ok()
            && note_of(&self.note).is_ok()
            && self.program.len() <= LONGEST_TITLE
            && self.question.as_ref().is_none_or(is_question)
            && self.question.is_some() == self.answer.is_some()
            && is_small(&self.settings)
            && is_small(&self.scene)
            && self.answer.as_deref().is_none_or(is_hash)
            && self.picture.as_ref().is_none_or(|kept| {
                is_hash(&kept.png)
                    && is_small(&kept.settings)
                    && kept.caption.len() <= LARGEST_SCENE
                    && kept.width <= 20_000
                    && kept.height <= 20_000
            })
            && self.ground.is_sound()
    }
}
