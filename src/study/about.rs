//! The object and the study as the user names them: for the report, the study file and the page's head. Nothing is computed
//! from it.

use super::Study;
use crate::notice::Fault;
use serde::{Deserialize, Serialize};

/// Characters of a line, and of the remarks.
pub const LONGEST_LINE: usize = 300;
/// Characters of the remarks.
pub const LONGEST_REMARKS: usize = 10_000;

/// What the user says of the object and the study; all of it untrusted text, empty where nothing is said.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct AboutRecord {
    /// What the object is called.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub object: String,
    /// Its inventory number.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub number: String,
    /// What it is: "chart, ink and colours on parchment".
    #[serde(skip_serializing_if = "String::is_empty")]
    pub described: String,
    /// When and where it is proposed to have been made.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub dated: String,
    /// Who made this study.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub author: String,
    /// Anything else; may have several lines.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub remarks: String,
}

impl AboutRecord {
    /// Reads it as it comes from a caller.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        serde_json::from_value(settings).map_err(|error| {
            Fault::bad_setting(format!("What is said of the object is not understood: {error}."))
        })
    }

    /// Whether nothing is said.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }

    /// Trimmed, without control characters but line ends in the remarks.
    ///
    /// # Errors
    /// A text that is too long.
    pub(super) fn checked(self) -> Result<Self, Fault> {
        let line = |text: String, what: &str| {
            let text = super::findings::plain_line(&text);
            if text.chars().count() > LONGEST_LINE {
                return Err(Fault::bad_setting(format!(
                    "{what} can have {LONGEST_LINE} characters. What is longer belongs in the remarks."
                )));
            }
            Ok(text)
        };
        let remarks = super::findings::plain_text(&self.remarks);
        if remarks.chars().count() > LONGEST_REMARKS {
            return Err(Fault::bad_setting(format!("The remarks can have {LONGEST_REMARKS} characters.")));
        }
        Ok(Self {
            object: line(self.object, "The name of the object")?,
            number: line(self.number, "The number of the object")?,
            described: line(self.described, "What the object is")?,
            dated: line(self.dated, "The proposed date")?,
            author: line(self.author, "Who made the study")?,
            remarks,
        })
    }
}

impl Study {
    /// What is said of the object and the study.
    pub fn about(&self) -> &AboutRecord {
        &self.about
    }

    /// Says it, all in one go.
    ///
    /// # Errors
    /// A text that is too long. Nothing is changed then.
    pub fn set_about(&mut self, about: AboutRecord) -> Result<&AboutRecord, Fault> {
        self.about = about.checked()?;
        Ok(&self.about)
    }
}
