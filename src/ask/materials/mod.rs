//! `materials`: what could a passage be painted with?
//!
//! Every element map is asked whether it is more than its background in the passage, and more than what support and ground
//! hold. What the maps of one element say is taken together, doubts by overlapping lines and strong absorbers are taken into
//! account, relations between elements are asked of `together` and `apart`, results at analysis points are added; and what is
//! known of pigments reasons from that record. This question words the outcome and proposes where to measure next.

mod elements;
mod next;
mod part;
mod place;
mod points;
mod related;
mod sentence;
mod states;
mod worded;

pub use self::part::{ElementRow, MaterialRow, MaterialsPart, NextPlace, OfElement, Said, SetRow, SettleRow};
pub(super) use self::worded::{background_caution, methods};

use super::answer::{Answer, Rasters};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::settings::Settings;
use super::verdict::{CONSISTENT, IDENTIFIED, NO_EVIDENCE};
use super::{Progress, words};
use crate::element::Line;
use crate::kind::Noise;
use crate::notice::Fault;
use crate::pigment::{self, Colour, Passage, PassageReading, Verdict};

/// What could a passage be painted with?
pub(super) struct Materials;

/// The passage as the maps show it.
pub(super) struct Passed {
    /// Elements, in order of their number.
    elements: Vec<elements::OfElement>,
    /// Lines that the tube does not excite.
    idle: Vec<Line>,
    /// The record that is reasoned from.
    pub passage: Passage,
}

/// What is found.
pub(super) struct Found {
    passed: Passed,
    reading: PassageReading,
    next: Vec<NextPlace>,
}

/// The record of the passage: elements, relations, results of other techniques, colour and span.
pub(super) fn passage(evidence: &Evidence, progress: Progress<'_>) -> Result<Passed, Fault> {
    progress(0.1, "Each map against support and ground");
    let (found, idle) = elements::elements(evidence, states::of_maps(evidence)?);
    let settings = &evidence.settings;
    let mut passage = Passage {
        elements: found.iter().map(|one| one.seen.clone()).collect(),
        found: points::found(evidence)?,
        colour: settings.colour.as_deref().and_then(Colour::from_word),
        from: settings.from,
        to: settings.to,
        ..Passage::default()
    };
    if !evidence.is_trial() {
        let wanted = pigment::expected(&passage);
        passage.relations = related::related(evidence, &found, &wanted, &mut |share, text| {
            progress(0.3 + 0.5 * share, text)
        })?;
    }
    Ok(Passed { elements: found, idle, passage })
}

impl Question for Materials {
    type Found = Found;

    fn maps(_: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        subject.maps_of_elements()
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        let passed = passage(evidence, progress)?;
        progress(0.85, "What is known of pigments");
        let reading = pigment::read(&passed.passage);
        let next = match evidence.is_trial() || evidence.beside.known.has_no_places {
            true => Vec::new(),
            false => next::next(evidence, &passed.elements, &reading.to_settle)?,
        };
        Ok(Found { passed, reading, next })
    }

    fn verdict(found: &Found) -> &'static str {
        let has = |is: fn(&Verdict) -> bool| found.reading.materials.iter().any(|one| is(&one.verdict));
        if has(|verdict| matches!(verdict, Verdict::Identified { .. })) {
            IDENTIFIED
        } else if has(|verdict| matches!(verdict, Verdict::Consistent)) {
            CONSISTENT
        } else {
            NO_EVIDENCE
        }
    }

    /// The verdict with the materials of the smallest set.
    fn told(found: &Found) -> String {
        let word = Self::verdict(found);
        match found.reading.sets.first().filter(|_| word == CONSISTENT) {
            Some(set) => {
                let names: Vec<String> = set.materials.iter().map(|id| name_of(id)).collect();
                format!("{word} {}", words::listed(&names))
            }
            None => word.into(),
        }
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        Ok((worded::worded(evidence, found), Rasters::new()))
    }

    /// A single map without a background does not keep the others from being tried.
    fn has_trials(evidence: &Evidence) -> bool {
        evidence.sides.iter().any(|side| side.noise() != Noise::Unknown)
    }
}

/// The name of a material, by its key; the key itself for an unknown one.
pub(super) fn name_of(id: &str) -> String {
    pigment::knowledge().material(id).map_or(id, |material| material.name).to_owned()
}
