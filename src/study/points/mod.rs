//! Analysis points: where another technique measured, with its result. They stay where they are on the object when the maps
//! are turned.

mod record;
mod summary;

pub use record::{LONGEST_RESULT, MOST_ANALYSIS_POINTS, PointRecord, PointSettings};
pub use summary::PointSummary;

use super::{LONGEST_NAME, Laid, Study};
use crate::geometry::Point;
use crate::notice::Fault;
use crate::numerics::figure::{THIN_SPACE, figure, whole};
use crate::region::turned_place;
use record::{cleaned_name, cleaned_result, pigment_of, says_of, says_word, technique_of};
use std::collections::BTreeSet;

/// Photos have ids with a p.
pub(super) fn id_of(number: u32) -> String {
    format!("a{number}")
}

/// Everything of a point but its number: what is checked when one is added or changed.
struct Stated {
    name: String,
    at: Point,
    technique: String,
    result: String,
    pigment: Option<String>,
    says: String,
}

impl Study {
    /// All points, in the order in which they were added.
    pub fn points(&self) -> Vec<PointSummary> {
        self.points.iter().map(|record| self.point_summary(record)).collect()
    }

    /// Adds a point.
    ///
    /// # Errors
    /// No maps, no place or one beside the maps, a word that is none; too many points. Nothing is changed then.
    pub fn add_point(&mut self, settings: PointSettings) -> Result<PointSummary, Fault> {
        if self.points.len() >= MOST_ANALYSIS_POINTS {
            return Err(Fault::bad_setting(format!(
                "There are {} analysis points, which is the most that a study holds. Remove one first.",
                whole(MOST_ANALYSIS_POINTS as u64)
            )));
        }
        let number = self.points_made + 1;
        let record = self.point_of(settings, number, None)?;
        self.points_made = number;
        let summary = self.point_summary(&record);
        let told = self.told_point(&record);
        self.points.push(record);
        self.known.points.push(told);
        Ok(summary)
    }

    /// Changes a point: what is not given stays; an empty text forgets.
    ///
    /// # Errors
    /// There is none of this id; otherwise as [`Study::add_point`]. Nothing is changed then.
    pub fn set_point(&mut self, id: &str, settings: PointSettings) -> Result<PointSummary, Fault> {
        let place = self.points.iter().position(|record| id_of(record.number) == id.trim());
        let Some((place, old)) = place.and_then(|place| Some((place, self.points.get(place)?))) else {
            return Err(unknown_point(id));
        };
        let record = self.point_of(settings, old.number, Some(old))?;
        let summary = self.point_summary(&record);
        self.points[place] = record;
        self.know();
        Ok(summary)
    }

    /// Whether there is a point of this id.
    pub(super) fn has_point(&self, id: &str) -> bool {
        self.points.iter().any(|record| id_of(record.number) == id)
    }

    /// Takes a point away.
    pub(super) fn remove_point(&mut self, id: &str) {
        self.points.retain(|record| id_of(record.number) != id);
        self.know();
    }

    /// The point that the settings make of an old one, or of none.
    fn point_of(
        &self,
        settings: PointSettings,
        number: u32,
        old: Option<&PointRecord>,
    ) -> Result<PointRecord, Fault> {
        let size = self.grid_size().ok_or_else(|| {
            Fault::new("no_maps", "There are no maps yet on which a point could lie. Open a map first.")
        })?;
        let at = match (self.place_of(&settings)?, old) {
            (Some(at), _) => self.on_maps(at, size)?,
            (None, Some(old)) => self.point_place(old),
            (None, None) => {
                return Err(Fault::bad_setting(
                    "Say where the point is: `x_mm` and `y_mm` from the upper left corner of the maps, or `at` in pixels of the grid.",
                ));
            }
        };
        let stated = stated(settings, number, old, at)?;
        let laid = Laid::of(self.stack.orientation(), size);
        let Stated { name, at, technique, result, pigment, says } = stated;
        Ok(PointRecord { number, name, at: at.into(), laid, technique, result, pigment, says })
    }

    /// The place that is given, in pixels of the grid; `None` for none.
    fn place_of(&self, settings: &PointSettings) -> Result<Option<Point>, Fault> {
        match (settings.at, settings.x_mm, settings.y_mm) {
            (None, None, None) => Ok(None),
            (Some(at), None, None) => Ok(Some(at.into())),
            (None, Some(x), Some(y)) => match self.stack.step() {
                Some((step, _)) => Ok(Some((x * 1000.0 / step.x_um(), y * 1000.0 / step.y_um()))),
                None => Err(Fault::bad_setting(
                    "The step of the scan is not known, so millimetres say no place. State the step first, or give `at` in pixels of the grid.",
                )),
            },
            (Some(_), ..) => {
                Err(Fault::bad_setting("The place is given twice. Give `x_mm` and `y_mm`, or `at`."))
            }
            _ => Err(Fault::bad_setting("A place has two coordinates: give both `x_mm` and `y_mm`.")),
        }
    }

    fn on_maps(&self, at: Point, (width, height): (u32, u32)) -> Result<Point, Fault> {
        let (width, height) = (f64::from(width), f64::from(height));
        if (0.0..=width).contains(&at.0) && (0.0..=height).contains(&at.1) {
            return Ok(at);
        }
        let (across, down, unit) = match self.stack.step() {
            Some((step, _)) => (width * step.x_um() / 1000.0, height * step.y_um() / 1000.0, "mm"),
            None => (width, height, "pixels"),
        };
        Err(Fault::bad_setting(format!(
            "This place lies beside the maps, which go from 0 to {}{THIN_SPACE}{unit} across and from 0 to {}{THIN_SPACE}{unit} down.",
            figure(across),
            figure(down)
        )))
    }

    /// Where a point is on the grid as it lies now.
    pub(super) fn point_place(&self, record: &PointRecord) -> Point {
        let turn = record.laid.turn_to(self.stack.orientation());
        turned_place(record.at.into(), turn, record.laid.size())
    }

    /// Takes over the points of a record; one of a number that is there takes its place.
    ///
    /// # Errors
    /// One that no program of ours has written. None is taken over then.
    pub(super) fn apply_points(&mut self, records: Vec<PointRecord>) -> Result<(), Fault> {
        if let Some(record) = records.iter().find(|record| !record.is_sound()) {
            return Err(Fault::bad_setting(format!(
                "The analysis point {} of the record is damaged.",
                id_of(record.number)
            )));
        }
        let numbers: BTreeSet<u32> = records.iter().map(|record| record.number).collect();
        if numbers.len() != records.len() {
            return Err(Fault::bad_setting("The record names two analysis points by one number."));
        }
        let kept = self.points.iter().filter(|record| !numbers.contains(&record.number)).count();
        if kept + records.len() > MOST_ANALYSIS_POINTS {
            return Err(Fault::bad_setting("The record has more analysis points than a study holds."));
        }
        self.points.retain(|record| !numbers.contains(&record.number));
        self.points_made = numbers.iter().copied().fold(self.points_made, u32::max);
        self.points.extend(records);
        self.points.sort_by_key(|record| record.number);
        self.know();
        Ok(())
    }
}

/// What is given over what was.
fn stated(
    settings: PointSettings,
    number: u32,
    old: Option<&PointRecord>,
    at: Point,
) -> Result<Stated, Fault> {
    let name = match settings.name.as_deref().map(cleaned_name) {
        Some(name) if name.chars().count() > LONGEST_NAME => {
            return Err(Fault::bad_setting(format!(
                "The name of a point can have {LONGEST_NAME} characters. This one is longer."
            )));
        }
        Some(name) if !name.is_empty() => name,
        Some(_) => format!("Point {number}"),
        None => old.map_or_else(|| format!("Point {number}"), |old| old.name.clone()),
    };
    let technique = match (&settings.technique, old) {
        (Some(words), _) => technique_of(words)?.words().to_owned(),
        (None, Some(old)) => old.technique.clone(),
        (None, None) => technique_of("").map(|technique| technique.words().to_owned())?,
    };
    let result = match &settings.result {
        Some(text) => cleaned_result(text)?,
        None => old.map(|old| old.result.clone()).unwrap_or_default(),
    };
    let pigment = match &settings.pigment {
        Some(id) => pigment_of(id)?,
        None => old.and_then(|old| old.pigment.clone()),
    };
    let says = match &settings.says {
        Some(word) => says_of(word)?,
        None => old.and_then(|old| says_of(&old.says).ok()).unwrap_or(crate::ask::Says::Open),
    };
    // Without a material there is nothing that it could say.
    let says = match (&pigment, &settings.says) {
        (None, Some(_)) if says != crate::ask::Says::Open => {
            return Err(Fault::bad_setting(format!(
                "“{}” is said of a material. Name it in `pigment`, or leave `says` open.",
                says_word(says)
            )));
        }
        (None, _) => crate::ask::Says::Open,
        (Some(_), _) => says,
    };
    Ok(Stated { name, at, technique, result, pigment, says: says_word(says).into() })
}

fn unknown_point(id: &str) -> Fault {
    let shown: String = id.chars().take(LONGEST_NAME).collect();
    Fault::new("unknown_point", format!("There is no analysis point “{shown}”. Name it by its id."))
}
