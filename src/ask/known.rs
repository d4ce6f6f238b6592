//! What a question may know beside maps and regions: how the scan was made, where other techniques measured, which lines the
//! instrument itself gives.

use crate::element::{Element, Line};
use crate::geometry::{Point, object::ObjectFrame};

/// How the object was excited and how its X-rays reached the detector. `None` where it was not stated.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Measuring {
    /// Element of the tube's anode.
    pub anode: Option<Element>,
    /// Tube voltage in kV: no line whose edge lies above it is excited.
    pub kv: Option<f64>,
    /// Angle between beam and surface, in degrees.
    pub incidence_deg: Option<f64>,
    /// Angle between surface and detector, in degrees.
    pub takeoff_deg: Option<f64>,
    /// Way from the object to the detector's window, in millimetres.
    pub distance_mm: Option<f64>,
    /// True for helium or vacuum, false for air.
    pub is_without_air: Option<bool>,
    /// Width of a line at Mn Kα (5.9 keV), full width at half maximum, in electronvolts.
    pub resolution_ev: Option<f64>,
}

/// What a technique found at a point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Says {
    /// The material was found.
    Found,
    /// It was looked for and not found. Excludes nothing.
    NotFound,
    /// Measured, and not decided.
    Open,
}

/// Where another technique measured, with its result.
#[derive(Debug, Clone, PartialEq)]
pub struct AnalysisPoint {
    /// Its id in this study ("p1").
    pub id: String,
    /// What the user calls it (untrusted text).
    pub name: String,
    /// Where, in pixels of the grid as it lies now.
    pub at: Point,
    /// A word of [`crate::pigment::Technique`].
    pub technique: String,
    /// The result in the user's words (untrusted text).
    pub result: String,
    /// The id of a material of [`crate::pigment`] that the result speaks of; `None` where it speaks of none.
    pub pigment: Option<String>,
    /// What it says of that material.
    pub says: Says,
}

/// All of it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Known {
    /// How the scan was made.
    pub measuring: Measuring,
    /// Analysis points.
    pub points: Vec<AnalysisPoint>,
    /// Lines that the instrument itself gives, as measured on a blank: tube, collimator, argon of the air.
    pub own_lines: Vec<Line>,
    /// Where the object lies on the grid; places are then said from its edges.
    pub object: Option<ObjectFrame>,
    /// Whether places were left out of this copy of a study: then none are proposed.
    pub has_no_places: bool,
}

impl Known {
    /// Whether the instrument itself gives a line. A line without a family stands for all of its element.
    pub(super) fn is_own(&self, line: Line) -> bool {
        self.own_lines.iter().any(|own| {
            own.element == line.element
                && (own.family.is_none() || line.family.is_none() || own.family == line.family)
        })
    }
}
