//! What is made of a passage.

use super::material::{Basis, Material, Technique};
use crate::element::Element;

/// Verdict on one material in one passage. Each is one of the words of DESIGN's list, in this order of strength.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// By a technique that can, at a point.
    Identified {
        /// The technique.
        technique: Technique,
        /// The point's name.
        point: String,
    },
    /// Everything that must show is seen, or could not be judged beside something that is seen.
    Consistent,
    /// Nothing here tells it from materials that are consistent, but not all of its own elements could be seen.
    NotDistinguishable {
        /// These, by id.
        from: Vec<&'static str>,
    },
    /// An element that must show was not detected.
    WouldHaveBeenSeen {
        /// The element.
        element: Element,
        /// Its limit, in the map's own numbers.
        below: Option<f64>,
        /// The same as a share of its strongest passage in this scan.
        below_share: Option<f64>,
    },
    /// The maps say nothing for or against it: nothing of it shows in XRF, or was measured.
    NoEvidence,
}

/// A reason with what it rests on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Reason {
    /// A sentence.
    pub text: String,
    /// What it rests on.
    pub basis: Basis,
    /// Sources in words; empty without any.
    pub source: String,
}

/// A material with its verdict.
#[derive(Debug, Clone, PartialEq)]
pub struct MaterialReading {
    /// The material.
    pub material: &'static Material,
    /// The verdict.
    pub verdict: Verdict,
    /// Materials that XRF does not tell from it and that are as consistent, by id.
    pub alike: Vec<&'static str>,
    /// Why, the weightiest first.
    pub reasons: Vec<Reason>,
    /// False where the colour that was stated speaks against it. It narrows the list and excludes nothing.
    pub fits_colour: bool,
    /// False where it begins after the proposed span, by a year that a verdict may rest on. Excludes nothing. That its use
    /// faded out before the span is said in the reasons and is no misfit.
    pub fits_years: bool,
}

/// Materials that together explain everything that was seen, on top of support and ground.
#[derive(Debug, Clone, PartialEq)]
pub struct ExplainingSet {
    /// By id, at most four.
    pub materials: Vec<&'static str>,
    /// Elements that are explained only as frequent companions and not by a formula.
    pub as_companions: Vec<Element>,
}

/// What would settle an open alternative.
#[derive(Debug, Clone, PartialEq)]
pub struct ToSettle {
    /// The alternatives, by id.
    pub between: Vec<&'static str>,
    /// The technique.
    pub technique: Technique,
    /// What it looks for in each of them.
    pub looks_for: Vec<Reason>,
    /// Elements whose maps show where to measure.
    pub at: Vec<Element>,
}

/// All of it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct PassageReading {
    /// Materials that something is to be said of, the strongest verdict first.
    pub materials: Vec<MaterialReading>,
    /// The smallest sets that explain everything seen, smallest first; empty where nothing was seen or no set does.
    pub sets: Vec<ExplainingSet>,
    /// Elements that were seen and that no consistent material explains.
    pub unexplained: Vec<Element>,
    /// What would settle what is open.
    pub to_settle: Vec<ToSettle>,
    /// Readings of relations between elements.
    pub readings: Vec<Reason>,
    /// What to take care of with these materials.
    pub hazards: Vec<String>,
}
