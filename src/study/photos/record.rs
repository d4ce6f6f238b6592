//! What is stated of a photo.

use crate::geometry::Orientation;
use crate::notice::Fault;
use crate::study::aligning::AlignmentRecord;
use serde::{Deserialize, Serialize};

/// Light in which a photo was taken.
const LIGHTS: [&str; 3] = ["visible", "ultraviolet", "infrared"];
/// Sides of an object.
const SIDES: [&str; 2] = ["recto", "verso"];
/// The longest name, in letters.
const LONGEST_NAME: usize = 120;

/// What was stated of a photo, and how it is aligned.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct PhotoRecord {
    /// "visible" (where nothing is stated), "ultraviolet" or "infrared".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub light: Option<String>,
    /// "recto" (where nothing is stated) or "verso".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub side: Option<String>,
    /// A name of the user's own.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Clockwise quarter turns.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns: Option<u8>,
    /// Whether it is mirrored left to right before it is turned; a verso is unless stated otherwise.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mirror: Option<bool>,
    /// How it was laid on the grid.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub alignment: Option<AlignmentRecord>,
}

/// What is stated of a photo. Absent fields leave what is; an empty name forgets it.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
#[allow(missing_docs)] // the names are those of the record
pub struct PhotoSettings {
    pub light: Option<String>,
    pub side: Option<String>,
    pub name: Option<String>,
    pub turns: Option<u8>,
    pub mirror: Option<bool>,
}

fn one_of(word: &str, words: &[&str], what: &str) -> Result<String, Fault> {
    if words.contains(&word) {
        return Ok(word.to_owned());
    }
    Err(Fault::bad_setting(format!("“{word}” is no {what} of a photo. There are: {}.", words.join(", "))))
}

impl PhotoRecord {
    /// The light.
    pub fn light(&self) -> &str {
        self.light.as_deref().unwrap_or(LIGHTS[0])
    }

    /// The side.
    pub fn side(&self) -> &str {
        self.side.as_deref().unwrap_or(SIDES[0])
    }

    /// How it lies, seen from how its file gives it.
    pub fn orientation(&self) -> Orientation {
        let mirror = self.mirror.unwrap_or_else(|| self.side() == SIDES[1]);
        Orientation::new(self.turns.unwrap_or(0), mirror)
    }

    /// Takes over what is stated.
    ///
    /// # Errors
    /// A word that is none, or a name that is too long. Nothing is taken over then.
    pub(super) fn take(&mut self, settings: PhotoSettings) -> Result<(), Fault> {
        let light = settings.light.map(|word| one_of(word.trim(), &LIGHTS, "light")).transpose()?;
        let side = settings.side.map(|word| one_of(word.trim(), &SIDES, "side")).transpose()?;
        if let Some(name) = settings.name {
            let name = name.trim();
            if name.chars().count() > LONGEST_NAME {
                return Err(Fault::bad_setting(format!(
                    "The name of a photo has at most {LONGEST_NAME} letters."
                )));
            }
            self.name = Some(name.to_owned()).filter(|name| !name.is_empty());
        }
        self.light = light.or(self.light.take());
        if side.is_some() && side != self.side {
            // The other side is looked at through the object unless it is stated how.
            self.mirror = None;
        }
        self.side = side.or(self.side.take());
        self.turns = settings.turns.map(|turns| turns % 4).or(self.turns);
        self.mirror = settings.mirror.or(self.mirror);
        Ok(())
    }

    /// True if what stands in a record can have been written by this program.
    pub(in crate::study) fn is_sound(&self) -> bool {
        let words = LIGHTS.contains(&self.light()) && SIDES.contains(&self.side());
        let is_name = |name: &String| (1..=LONGEST_NAME).contains(&name.chars().count());
        words
            && self.name.as_ref().is_none_or(is_name)
            && self.alignment.as_ref().is_none_or(AlignmentRecord::is_sound)
    }
}
