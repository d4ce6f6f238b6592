//! What is handed in of a spectrum, and how it stands in a record.

use super::counts::{counts_of, is_text_of};
use crate::notice::Fault;
use crate::reading::Calibration;
use crate::study::LONGEST_NAME;
use serde::{Deserialize, Serialize};

/// More spectra than this a study does not hold.
pub const MOST_SPECTRA: usize = 64;
/// Nor more channels in all of them: they travel with the record.
pub const MOST_CHANNELS_OF_ALL: usize = 262_144;

/// A spectrum as it is handed in, beside the bytes of its file.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SpectrumSettings {
    /// Name of its file.
    pub name: String,
    /// The region that it is of, by id or name; the whole field where there is none.
    pub region: Option<String>,
    /// "sum" or "maximum pixel".
    pub how: Option<String>,
    /// Energy of the first channel in keV; from the file where it is not given.
    pub first_kev: Option<f64>,
    /// Energy from one channel to the next in keV.
    pub step_kev: Option<f64>,
}

impl SpectrumSettings {
    /// Reads `{name, region?, how, first_kev?, step_kev?}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        serde_json::from_value(settings)
            .map_err(|error| Fault::bad_setting(format!("The spectrum is not understood: {error}.")))
    }
}

/// What of a spectrum is drawn.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct SpectrumView {
    /// Symbols of the elements whose lines are marked.
    pub elements: Vec<String>,
    /// Where the drawing begins, in keV; absent for the first channel above 0.
    pub low_kev: Option<f64>,
    /// Where it ends; absent for the last channel.
    pub high_kev: Option<f64>,
}

impl SpectrumView {
    /// Reads `{elements?, low_kev?, high_kev?}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        serde_json::from_value(settings).map_err(|error| {
            Fault::bad_setting(format!("How the spectrum is drawn is not understood: {error}."))
        })
    }
}

/// How the pixels of a region became one spectrum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub enum SpectrumHow {
    /// Counts of all pixels added.
    #[serde(rename = "sum")]
    Sum,
    /// In each channel the largest counts that a pixel has.
    #[serde(rename = "maximum pixel")]
    MaximumPixel,
}

impl SpectrumHow {
    /// By its word.
    pub(super) fn of(word: Option<&str>) -> Result<Self, Fault> {
        match word.map(str::trim) {
            Some("sum") => Ok(Self::Sum),
            Some("maximum pixel") => Ok(Self::MaximumPixel),
            _ => Err(Fault::bad_setting(
                "Say in `how` what the spectrum is: “sum” of all pixels, or “maximum pixel”, the largest counts of a pixel in each channel.",
            )),
        }
    }
}

/// A spectrum as it stands in a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SpectrumRecord {
    /// Number in its id.
    pub number: u32,
    /// What it is called (untrusted text).
    pub name: String,
    /// SHA-256 of its file.
    pub sha256: String,
    /// Number of its region; the whole field without one.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub region: Option<u32>,
    /// What it is.
    pub how: SpectrumHow,
    /// Energy of the first channel in keV.
    pub first_kev: f64,
    /// From one to the next.
    pub step_kev: f64,
    /// Counts of the channels: numbers with blanks between them, "0*12" for twelve equal ones.
    pub counts: String,
}

impl SpectrumRecord {
    /// True if this program can have written it.
    pub(super) fn is_sound(&self) -> bool {
        let is_name = (1..=LONGEST_NAME).contains(&self.name.chars().count());
        let is_hash = self.sha256.len() == 64 && self.sha256.bytes().all(|byte| byte.is_ascii_hexdigit());
        let Some(counts) = counts_of(&self.counts) else { return false };
        is_name && is_hash && is_text_of(&counts) && self.calibration(counts.len()).is_some()
    }

    /// Its energies.
    pub(super) fn calibration(&self, channels: usize) -> Option<Calibration> {
        Calibration::new(self.first_kev, self.step_kev, channels)
    }
}
