//! Analysis points at a glance, in words.

use super::{PointRecord, id_of};
use crate::ask::Says;
use crate::geometry::Point;
use crate::numerics::figure::THIN_SPACE;
use crate::pigment::{Technique, knowledge};
use crate::study::Study;
use serde::Serialize;

/// A point at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PointSummary {
    /// Its id.
    pub id: String,
    /// What it is called (untrusted text).
    pub name: String,
    /// Where it is, in pixels of the grid as it lies now.
    pub at: [f64; 2],
    /// The same from the upper left corner of the maps; `None` where the step is not known.
    pub x_mm: Option<f64>,
    /// Down from there.
    pub y_mm: Option<f64>,
    /// Where it is in words: from the object's edges where they are stated.
    pub place_text: String,
    /// The technique.
    pub technique: String,
    /// The result in the user's words (untrusted text).
    pub result: String,
    /// Id of the material that it speaks of.
    pub pigment: Option<String>,
    /// Its name; empty without one.
    pub pigment_name: String,
    /// "found", "not found" or "open".
    pub says: String,
    /// The regions in which it lies, by id.
    pub regions: Vec<String>,
    /// All of it in one sentence.
    pub text: String,
}

impl Study {
    pub(super) fn point_summary(&self, record: &PointRecord) -> PointSummary {
        let at = self.point_place(record);
        let step = self.stack.step().map(|(step, _)| step);
        let pigment_name = record.pigment.as_deref().map_or_else(String::new, material_name);
        let place_text = self.place_text(at);
        let text = sentence(record, &pigment_name, &place_text);
        PointSummary {
            id: id_of(record.number),
            name: record.name.clone(),
            at: at.into(),
            x_mm: step.map(|step| at.0 * step.x_um() / 1000.0),
            y_mm: step.map(|step| at.1 * step.y_um() / 1000.0),
            place_text,
            technique: record.technique.clone(),
            result: record.result.clone(),
            pigment: record.pigment.clone(),
            pigment_name,
            says: record.says.clone(),
            regions: self.regions_around(at),
            text,
        }
    }

    /// A place in words: from the object's edges, or in millimetres, or in pixels; with what is wrong where it lies beside
    /// the maps.
    fn place_text(&self, at: Point) -> String {
        let place = self.place_on_object(at).unwrap_or_else(|| match self.stack.step() {
            Some((step, _)) => format!(
                "x {:.1}{THIN_SPACE}mm, y {:.1}{THIN_SPACE}mm",
                at.0 * step.x_um() / 1000.0,
                at.1 * step.y_um() / 1000.0
            ),
            None => format!("column {:.0}, row {:.0}", at.0.floor(), at.1.floor()),
        });
        let is_inside = self.grid_size().is_none_or(|(width, height)| {
            (0.0..=f64::from(width)).contains(&at.0) && (0.0..=f64::from(height)).contains(&at.1)
        });
        if is_inside { place } else { format!("{place}, beside the maps") }
    }

    /// The regions that have a place, by id.
    fn regions_around(&self, at: Point) -> Vec<String> {
        if !(at.0 >= 0.0 && at.1 >= 0.0) {
            return Vec::new();
        }
        // Too large a number becomes the largest, where no pixel is.
        let (x, y) = (at.0.floor() as u32, at.1.floor() as u32);
        let has = |region: &&crate::region::Region| region.mask.get(x, y) == Some(&true);
        self.regions.all().iter().filter(has).map(|region| region.id.clone()).collect()
    }
}

/// The name of a material by its id, or the id of one that is not known here.
fn material_name(id: &str) -> String {
    knowledge().material(id).map_or_else(|| id.replace('_', " "), |material| material.name.to_owned())
}

/// "Raman at Point 3 (x 12.5 mm, y 7.5 mm): vermilion found, “band at 253”."
fn sentence(record: &PointRecord, pigment: &str, place: &str) -> String {
    let mut letters = record.technique.chars();
    let technique: String = letters.next().into_iter().flat_map(char::to_uppercase).chain(letters).collect();
    let found = match (record.pigment.is_some(), record.says()) {
        (false, _) => String::new(),
        (true, Says::Found) => format!("{pigment} found"),
        (true, Says::NotFound) => format!("{pigment} not found, which excludes nothing"),
        (true, Says::Open) => format!("nothing decided on {pigment}"),
    };
    let result = record.result.replace('\n', " ");
    let quoted = if result.is_empty() { String::new() } else { format!("“{result}”") };
    let parts: Vec<&str> =
        [found.as_str(), quoted.as_str()].into_iter().filter(|part| !part.is_empty()).collect();
    let said = if parts.is_empty() { "no result stated".to_owned() } else { parts.join(", ") };
    let is_of_elements = Technique::from_words(&record.technique) == Some(Technique::PointXrf);
    let caution = if is_of_elements && record.says() == Says::Found {
        "; XRF sees elements, not compounds"
    } else {
        ""
    };
    format!("{technique} at {} ({place}): {said}{caution}.", record.name)
}
