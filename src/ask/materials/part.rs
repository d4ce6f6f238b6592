//! The part of an answer that is about materials: plain records for page, file and tests.

use crate::pigment::{Knowledge, Reason};
use serde::{Deserialize, Serialize};

/// A sentence with what it rests on.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct Said {
    /// The sentence.
    pub text: String,
    /// What it rests on, in words.
    pub basis: String,
    /// Its sources; empty without any.
    pub source: String,
}

impl Said {
    pub(super) fn of_reason(reason: &Reason) -> Self {
        Self { text: reason.text.clone(), basis: reason.basis.words().into(), source: reason.source.clone() }
    }
}

/// Sources in words, those from memory marked.
pub(super) fn sources(keys: &[&str], knowledge: &Knowledge) -> String {
    let found = keys.iter().filter_map(|key| knowledge.sources.iter().find(|source| source.id == *key));
    let texts: Vec<String> = found
        .map(|source| match source.is_from_memory {
            true => format!("{} (from memory)", source.text),
            false => source.text.to_owned(),
        })
        .collect();
    texts.join("; ")
}

/// One element of the passage.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct ElementRow {
    /// Its symbol.
    pub element: String,
    /// The map that decided; the symbol where it was not measured.
    pub label: String,
    /// "detected", "as below", "not detected", "cannot be judged" or "not measured".
    pub state: String,
    /// What is to be said of it.
    pub text: String,
}

/// One technique that would settle a material.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SettleRow {
    /// The technique.
    pub technique: String,
    /// What it looks for.
    pub text: String,
    /// What that rests on.
    pub basis: String,
    /// Its sources.
    pub source: String,
}

/// One material.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct MaterialRow {
    /// Its key.
    pub id: String,
    /// Its name.
    pub name: String,
    /// A verdict word of the question.
    pub verdict: String,
    /// The same filled in.
    pub verdict_text: String,
    /// Why, the weightiest first.
    pub reasons: Vec<Said>,
    /// Names of those that XRF does not tell from it.
    pub alike: Vec<String>,
    /// What would settle it.
    pub settle_by: Vec<SettleRow>,
    /// False where the stated colour speaks against it.
    pub fits_colour: bool,
    /// False where its years and the span do not meet.
    pub fits_years: bool,
    /// What to take care of; empty for nothing known.
    pub hazard: String,
}

/// Materials that together explain all that is seen.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct SetRow {
    /// Their keys.
    pub materials: Vec<String>,
    /// Their names.
    pub names: Vec<String>,
    /// In words.
    pub text: String,
}

/// An element with a sentence.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
pub struct OfElement {
    /// Its symbol.
    pub element: String,
    /// The sentence.
    pub text: String,
}

/// A place where another technique should measure.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct NextPlace {
    /// In pixels of the grid.
    pub at: [f64; 2],
    /// The same in words: from the object's edges where these are marked.
    pub place_text: String,
    /// The technique.
    pub technique: String,
    /// Names of the materials between which it would tell.
    pub between: Vec<String>,
    /// Why there.
    pub reason: String,
}

/// What a question about materials found.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct MaterialsPart {
    /// Elements, those detected first.
    pub elements: Vec<ElementRow>,
    /// Materials, the strongest verdict first.
    pub materials: Vec<MaterialRow>,
    /// The smallest sets that explain everything seen.
    pub sets: Vec<SetRow>,
    /// What is to be said of them.
    pub sets_text: String,
    /// Elements that no material explains.
    pub unexplained: Vec<OfElement>,
    /// Where to measure next.
    pub measure_next: Vec<NextPlace>,
    /// What relations between elements say.
    pub readings: Vec<Said>,
    /// What to take care of.
    pub hazards: Vec<String>,
}
