//! What is handed in of an analysis point, and how it stands in a record.

use crate::ask::Says;
use crate::notice::Fault;
use crate::pigment::{Technique, knowledge};
use crate::study::{LONGEST_NAME, Laid};
use serde::{Deserialize, Serialize};

/// More points than this a study does not hold.
pub const MOST_ANALYSIS_POINTS: usize = 10_000;
/// Characters of a result.
pub const LONGEST_RESULT: usize = 2_000;
/// Characters of the id of a material.
const LONGEST_PIGMENT: usize = 64;
/// Farther than this from its origin no point lies.
const FARTHEST: f64 = 1e7;

/// A point as it is handed in. Places are of the grid as the maps lie now. Absent fields leave what is, an empty text
/// forgets it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PointSettings {
    /// Across from the upper left corner of the maps, in millimetres.
    pub x_mm: Option<f64>,
    /// Down from there.
    pub y_mm: Option<f64>,
    /// The same in pixels of the grid.
    pub at: Option<[f64; 2]>,
    /// What it is called; "Point 1" and so on where nothing is given. Several points may have one name.
    pub name: Option<String>,
    /// Words of [`Technique`].
    pub technique: Option<String>,
    /// The result in the user's words.
    pub result: Option<String>,
    /// Id of the material that the result speaks of.
    pub pigment: Option<String>,
    /// "found", "not found" or "open".
    pub says: Option<String>,
}

impl PointSettings {
    /// Reads `{x_mm, y_mm | at, technique, ...}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        serde_json::from_value(settings)
            .map_err(|error| Fault::bad_setting(format!("The analysis point is not understood: {error}.")))
    }
}

/// A point as it stands in a record: its place is of the grid as it lay then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // the names are those of the settings
pub struct PointRecord {
    /// Number in its id.
    pub number: u32,
    pub name: String,
    pub at: [f64; 2],
    pub laid: Laid,
    pub technique: String,
    #[serde(default, skip_serializing_if = "String::is_empty")]
    pub result: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pigment: Option<String>,
    pub says: String,
}

impl PointRecord {
    /// True if this program, or another version of it that knows other materials, can have written it.
    pub(super) fn is_sound(&self) -> bool {
        let is_name = (1..=LONGEST_NAME).contains(&self.name.chars().count());
        let is_place = self.at.iter().all(|v| v.abs() <= FARTHEST);
        let are_words = Technique::from_words(&self.technique).is_some() && says_of(&self.says).is_ok();
        let is_result = self.result.chars().count() <= LONGEST_RESULT;
        let is_pigment = self.pigment.as_deref().is_none_or(is_id);
        let says_of_something = self.pigment.is_some() || self.says() == Says::Open;
        is_name && is_place && are_words && is_result && is_pigment && says_of_something
    }

    /// What it says; open for a word that is none.
    pub(in crate::study) fn says(&self) -> Says {
        says_of(&self.says).unwrap_or(Says::Open)
    }
}

/// A name as it is kept: in one line, without space around it.
pub(super) fn cleaned_name(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    plain.trim().to_owned()
}

/// A result as it is kept: without control characters but the ends of its lines.
pub(super) fn cleaned_result(text: &str) -> Result<String, Fault> {
    let plain: String = text
        .replace("\r\n", "\n")
        .chars()
        .map(|c| if c.is_control() && c != '\n' { ' ' } else { c })
        .collect();
    let plain = plain.trim();
    if plain.chars().count() > LONGEST_RESULT {
        return Err(Fault::bad_setting(format!(
            "The result of a point can have {LONGEST_RESULT} characters. This one is longer."
        )));
    }
    Ok(plain.to_owned())
}

/// A technique by its words, whatever the size of their letters.
pub(super) fn technique_of(words: &str) -> Result<Technique, Fault> {
    let words = words.trim();
    let found = Technique::ALL.into_iter().find(|technique| technique.words().eq_ignore_ascii_case(words));
    found.ok_or_else(|| {
        let all = Technique::ALL.map(Technique::words).join(", ");
        let what = if words.is_empty() {
            "Say by which technique it was measured.".to_owned()
        } else {
            format!(
                "“{}” is no technique that is known here.",
                words.chars().take(LONGEST_NAME).collect::<String>()
            )
        };
        Fault::bad_setting(format!("{what} There are: {all}."))
    })
}

/// The id of a material that is known; `None` for an empty one.
pub(super) fn pigment_of(id: &str) -> Result<Option<String>, Fault> {
    let id = id.trim();
    if id.is_empty() {
        return Ok(None);
    }
    if knowledge().material(id).is_none() {
        let shown: String = id.chars().take(LONGEST_PIGMENT).collect();
        return Err(Fault::bad_setting(format!(
            "“{shown}” is no material that is known here. Name one by its id, as `materials()` lists them."
        )));
    }
    Ok(Some(id.to_owned()))
}

/// True for small letters, digits and underscores.
fn is_id(id: &str) -> bool {
    let plain = |byte: u8| byte.is_ascii_lowercase() || byte.is_ascii_digit() || byte == b'_';
    (1..=LONGEST_PIGMENT).contains(&id.len()) && id.bytes().all(plain)
}

/// What a point says, by its word.
pub(super) fn says_of(word: &str) -> Result<Says, Fault> {
    match word.trim() {
        "found" => Ok(Says::Found),
        "not found" => Ok(Says::NotFound),
        "open" | "" => Ok(Says::Open),
        other => {
            let shown: String = other.chars().take(LONGEST_NAME).collect();
            Err(Fault::bad_setting(format!(
                "A point says of a material “found”, “not found” or “open”, and not “{shown}”."
            )))
        }
    }
}

/// The word of it.
pub(super) fn says_word(says: Says) -> &'static str {
    match says {
        Says::Found => "found",
        Says::NotFound => "not found",
        Says::Open => "open",
    }
}
