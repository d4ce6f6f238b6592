//! Spectra of regions, kept as evidence beside the maps: read from a text, drawn with the lines of chosen elements.

mod counts;
mod drawn;
mod record;

pub use record::{
    MOST_CHANNELS_OF_ALL, MOST_SPECTRA, SpectrumHow, SpectrumRecord, SpectrumSettings, SpectrumView,
};

use super::{LONGEST_NAME, Study};
use crate::digest::sha256_hex;
use crate::notice::Fault;
use crate::numerics::figure::{THIN_SPACE, count, rounded, whole};
use crate::numerics::sums::sum;
use crate::reading::{Calibration, read_spectrum};
use serde::Serialize;
use std::collections::BTreeSet;

/// A spectrum at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SpectrumSummary {
    /// Its id.
    pub id: String,
    /// What it is called (untrusted text).
    pub name: String,
    /// The region that it is of, by id; `None` for the whole field.
    pub region: Option<String>,
    /// "sum" or "maximum pixel".
    pub how: SpectrumHow,
    /// How many channels it has.
    pub channels: u32,
    /// Energy of the first, in keV.
    pub first_kev: f64,
    /// From one to the next.
    pub step_kev: f64,
    /// Energy of the last.
    pub last_kev: f64,
    /// All of it in words.
    pub text: String,
}

/// A spectrum with its counts.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct HeldSpectrum {
    record: SpectrumRecord,
    counts: Vec<f64>,
}

impl HeldSpectrum {
    /// As a record has it.
    pub(super) fn record(&self) -> &SpectrumRecord {
        &self.record
    }

    fn last_kev(&self) -> f64 {
        self.record.first_kev + self.record.step_kev * self.counts.len().saturating_sub(1) as f64
    }
}

fn id_of(number: u32) -> String {
    format!("s{number}")
}

impl Study {
    /// All spectra, in the order in which they were added.
    pub fn spectra(&self) -> Vec<SpectrumSummary> {
        self.spectra.iter().map(|held| self.spectrum_summary(held)).collect()
    }

    /// Adds the spectrum of a text.
    ///
    /// # Errors
    /// A text that is no spectrum; `no_calibration` where neither it nor the settings say its energies; no such region; too
    /// many spectra. Nothing is changed then.
    pub fn add_spectrum(
        &mut self,
        settings: SpectrumSettings,
        bytes: &[u8],
    ) -> Result<SpectrumSummary, Fault> {
        let SpectrumSettings { name, region, how, first_kev, step_kev } = settings;
        if self.spectra.len() >= MOST_SPECTRA {
            return Err(Fault::bad_setting(format!(
                "There are {MOST_SPECTRA} spectra, which is the most that a study holds. Remove one first."
            )));
        }
        let how = SpectrumHow::of(how.as_deref())?;
        let region = region.as_deref().map(str::trim).filter(|name| !name.is_empty());
        let region = region.map(|name| self.number_of_region(name)).transpose()?;
        let number = self.spectra_made + 1;
        let name = cleaned(&name, number);
        let named = |fault: Fault| Fault { message: format!("{name}: {}", fault.message), ..fault };
        let read = read_spectrum(bytes).map_err(named)?;
        let channels = read.counts.len();
        if self.channels_of_all() + channels > MOST_CHANNELS_OF_ALL {
            return Err(Fault::bad_setting(format!(
                "With {name} all spectra would have more than {} channels, which is the most that a study holds. Remove one first.",
                whole(MOST_CHANNELS_OF_ALL as u64)
            )));
        }
        let Calibration { first_kev, step_kev } =
            calibration((first_kev, step_kev), read.calibration, channels).map_err(named)?;
        let counts = counts::text_of(&read.counts);
        let record = SpectrumRecord {
            number,
            sha256: sha256_hex(bytes),
            region,
            how,
            first_kev,
            step_kev,
            counts,
            name,
        };
        let held = HeldSpectrum { record, counts: read.counts };
        let summary = self.spectrum_summary(&held);
        self.spectra_made = number;
        self.spectra.push(held);
        Ok(summary)
    }

    /// A spectrum as a record has it, with the counts of its channels.
    ///
    /// # Errors
    /// There is none of this id.
    pub fn spectrum_counts(&self, id: &str) -> Result<(&SpectrumRecord, &[f64]), Fault> {
        let held = self.find_spectrum(id)?;
        Ok((&held.record, &held.counts))
    }

    /// Whether there is a spectrum of this id.
    pub(super) fn has_spectrum(&self, id: &str) -> bool {
        self.spectra.iter().any(|held| id_of(held.record.number) == id)
    }

    /// Takes a spectrum away.
    pub(super) fn remove_spectrum(&mut self, id: &str) {
        self.spectra.retain(|held| id_of(held.record.number) != id);
    }

    /// The first spectrum of a region, by name.
    pub(super) fn spectrum_of_region(&self, number: u32) -> Option<&str> {
        let of = |held: &&HeldSpectrum| held.record.region == Some(number);
        self.spectra.iter().find(of).map(|held| held.record.name.as_str())
    }

    fn find_spectrum(&self, id: &str) -> Result<&HeldSpectrum, Fault> {
        let found = self.spectra.iter().find(|held| id_of(held.record.number) == id.trim());
        found.ok_or_else(|| {
            let shown: String = id.chars().take(LONGEST_NAME).collect();
            Fault::new("unknown_spectrum", format!("There is no spectrum “{shown}”. Name it by its id."))
        })
    }

    fn channels_of_all(&self) -> usize {
        self.spectra.iter().map(|held| held.counts.len()).sum()
    }

    /// "sum of all pixels of sky": a region whose maps are not open has its name too.
    fn spectrum_words(&self, record: &SpectrumRecord) -> String {
        let name = record.region.map(|number| {
            let region = self.all_regions().find(|region| region.number == number);
            region.map_or_else(|| format!("the region r{number}"), |region| region.name.clone())
        });
        let place = name.as_deref().unwrap_or(crate::ask::WHOLE_FIELD);
        match record.how {
            SpectrumHow::Sum => format!("sum over {place}"),
            SpectrumHow::MaximumPixel => format!("largest counts of a pixel of {place}"),
        }
    }

    fn spectrum_summary(&self, held: &HeldSpectrum) -> SpectrumSummary {
        let record = &held.record;
        let last_kev = held.last_kev();
        let text = format!(
            "{}: {}, {} channels from {} to {}{THIN_SPACE}keV, {} counts",
            record.name,
            self.spectrum_words(record),
            whole(held.counts.len() as u64),
            rounded(record.first_kev, 3),
            rounded(last_kev, 4),
            count(sum(&held.counts))
        );
        SpectrumSummary {
            id: id_of(record.number),
            name: record.name.clone(),
            region: record.region.map(|number| format!("r{number}")),
            how: record.how,
            channels: held.counts.len() as u32,
            first_kev: record.first_kev,
            step_kev: record.step_kev,
            last_kev,
            text,
        }
    }

    /// Takes over the spectra of a record; one of a number that is there takes its place.
    ///
    /// # Errors
    /// One that no program of ours has written. None is taken over then.
    pub(super) fn apply_spectra(&mut self, records: Vec<SpectrumRecord>) -> Result<(), Fault> {
        if let Some(record) = records.iter().find(|record| !record.is_sound()) {
            return Err(Fault::bad_setting(format!(
                "The spectrum {} of the record is damaged.",
                id_of(record.number)
            )));
        }
        let numbers: BTreeSet<u32> = records.iter().map(|record| record.number).collect();
        if numbers.len() != records.len() {
            return Err(Fault::bad_setting("The record names two spectra by one number."));
        }
        let read = records.into_iter().map(|record| HeldSpectrum {
            counts: counts::counts_of(&record.counts).unwrap_or_default(),
            record,
        });
        let mut all: Vec<HeldSpectrum> = read.collect();
        all.extend(self.spectra.iter().filter(|held| !numbers.contains(&held.record.number)).cloned());
        let channels: usize = all.iter().map(|held| held.counts.len()).sum();
        if all.len() > MOST_SPECTRA || channels > MOST_CHANNELS_OF_ALL {
            return Err(Fault::bad_setting("The record has more spectra than a study holds."));
        }
        all.sort_by_key(|held| held.record.number);
        self.spectra_made = numbers.iter().copied().fold(self.spectra_made, u32::max);
        self.spectra = all;
        Ok(())
    }
}

/// Energies as they are stated, else as the file has them.
fn calibration(
    (first, step): (Option<f64>, Option<f64>),
    of_file: Option<Calibration>,
    channels: usize,
) -> Result<Calibration, Fault> {
    match (first, step) {
        (Some(first), Some(step)) => Calibration::new(first, step, channels).ok_or_else(|| {
            Fault::bad_setting(
                "No detector of X-rays has these energies. Give `first_kev`, the energy of the first channel, and `step_kev`, the width of a channel, in keV, for example 0 and 0.01.",
            )
        }),
        (None, None) => of_file.ok_or_else(|| {
            Fault::new(
                "no_calibration",
                "Nothing in it says the energies of its channels. Give `first_kev`, the energy of the first channel, and `step_kev`, the width of a channel, in keV.",
            )
        }),
        _ => Err(Fault::bad_setting(
            "Energies are stated by two numbers: give both `first_kev` and `step_kev`, in keV.",
        )),
    }
}

/// A name as it is kept: without control characters, and not longer than names are.
fn cleaned(name: &str, number: u32) -> String {
    let plain: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    let short: String = plain.trim().chars().take(LONGEST_NAME).collect();
    if short.is_empty() { format!("Spectrum {number}") } else { short }
}
