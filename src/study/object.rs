//! The object's corner and edges: stated by three places of the grid, so that places are said from them.

use super::{Laid, Study};
use crate::ask::object_words;
use crate::geometry::object::{Corner, Limits, ObjectFrame};
use crate::notice::Fault;
use crate::numerics::figure::{THIN_SPACE, figure};
use serde::{Deserialize, Serialize};

/// Farther than this from its origin no mark lies.
const FARTHEST: f64 = 1e7;

/// The object's edges as a caller states them. Places are of the grid as it lies now.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct ObjectSettings {
    /// "upper left", "upper right", "lower right" or "lower left".
    pub corner: String,
    /// The corner.
    pub at: [f64; 2],
    /// A place along the horizontal edge through it.
    pub across: [f64; 2],
    /// A place along the vertical edge through it.
    pub down: [f64; 2],
    /// The photo on which marks were set, if any: its alignment limits them.
    #[serde(default)]
    pub photo: Option<String>,
    /// How far marks that were set earlier may be off by the alignment of a photo, in pixels of the grid.
    #[serde(default)]
    pub alignment_px: f64,
}

impl ObjectSettings {
    /// Reads them as they come from a caller; `None` forgets what was stated.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Option<Self>, Fault> {
        serde_json::from_value(settings)
            .map_err(|error| Fault::bad_setting(format!("The object's edges are not understood: {error}.")))
    }
}

/// The same as it stands in a record: places of the grid as it lay then.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // the names are those of the settings
pub struct ObjectRecord {
    pub corner: String,
    pub at: [f64; 2],
    pub across: [f64; 2],
    pub down: [f64; 2],
    #[serde(default)]
    pub alignment_px: f64,
    pub laid: Laid,
}

/// The object's edges as the maps lie now, in words.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[allow(missing_docs)] // the names are those of the settings
pub struct ObjectText {
    pub corner: String,
    pub at: [f64; 2],
    pub across: [f64; 2],
    pub down: [f64; 2],
    pub alignment_px: f64,
    /// What is counted from where.
    pub text: String,
    /// Why nothing can be counted from them; empty otherwise.
    pub trouble: String,
}

impl ObjectRecord {
    /// True if this program can have written it.
    pub(super) fn is_sound(&self) -> bool {
        let places = [self.at, self.across, self.down];
        let is_error = (0.0..=FARTHEST).contains(&self.alignment_px);
        let is_corner = Corner::from_words(&self.corner).is_some();
        is_corner && is_error && places.iter().flatten().all(|v| v.abs() <= FARTHEST)
    }

    fn frame(&self) -> Option<ObjectFrame> {
        let corner = Corner::from_words(&self.corner)?;
        Some(ObjectFrame { corner, at: self.at.into(), across: self.across.into(), down: self.down.into() })
    }
}

impl Study {
    /// States the object's corner and edges; `None` forgets them.
    ///
    /// # Errors
    /// No grid, no such photo or one that is not aligned, marks that give no edges. Nothing is changed then.
    pub fn set_object(&mut self, settings: Option<ObjectSettings>) -> Result<Option<ObjectText>, Fault> {
        let Some(settings) = settings else {
            self.object = None;
            self.know();
            return Ok(None);
        };
        let size = self.grid_size().ok_or_else(|| {
            Fault::new(
                "no_maps",
                "There are no maps yet on which the object could be marked. Open a map first.",
            )
        })?;
        let ObjectSettings { corner, at, across, down, photo, alignment_px } = settings;
        let of_photo = match photo {
            None => 0.0,
            Some(name) => {
                let held = self.photo(&name)?;
                held.transform()?;
                // As far off as it is about the mark that is known least well.
                let near = |mark: [f64; 2]| held.aligned.as_ref()?.error_near(mark.into());
                [at, across, down].into_iter().filter_map(near).fold(0.0, f64::max)
            }
        };
        let laid = Laid::of(self.stack.orientation(), size);
        // One that is none stays so, and is refused below.
        let alignment_px = if alignment_px >= 0.0 { alignment_px.max(of_photo) } else { alignment_px };
        let record = ObjectRecord { corner, at, across, down, alignment_px, laid };
        let Some(frame) = record.frame().filter(|_| record.is_sound()) else {
            let all = Corner::ALL.map(Corner::words).join(", ");
            return Err(Fault::bad_setting(format!(
                "The object is marked by one of its corners and by places near the maps. Corners are: {all}."
            )));
        };
        if let Some(trouble) = frame.trouble(self.stack.step().map(|(step, _)| step)) {
            return Err(Fault::bad_setting(trouble.to_string()));
        }
        self.object = Some(record);
        self.know();
        Ok(self.object())
    }

    /// The object's edges as the maps lie now.
    pub fn object(&self) -> Option<ObjectText> {
        let (frame, alignment_px) = self.object_frame()?;
        let step = self.stack.step().map(|(step, _)| step);
        let trouble = frame.trouble(step).map(|trouble| trouble.to_string()).unwrap_or_default();
        let (side, level) = (frame.corner.side(), frame.corner.level());
        let limited = if alignment_px > 0.0 {
            let most = figure(alignment_px);
            format!("; marked on a photo that lies within {most}{THIN_SPACE}px")
        } else {
            String::new()
        };
        let text = if trouble.is_empty() {
            format!("Places are counted from the {side} and the {level} edge of the object{limited}.")
        } else {
            trouble.clone()
        };
        let ObjectFrame { corner, at, across, down } = frame;
        let corner = corner.words().into();
        let [at, across, down] = [at, across, down].map(Into::into);
        Some(ObjectText { corner, at, across, down, alignment_px, text, trouble })
    }

    /// As the maps lie now, with how far its marks may be off by the alignment of a photo.
    pub(super) fn object_frame(&self) -> Option<(ObjectFrame, f64)> {
        let record = self.object.as_ref()?;
        let turn = record.laid.turn_to(self.stack.orientation());
        Some((record.frame()?.oriented(turn, record.laid.size()), record.alignment_px))
    }

    /// A place of the grid, counted from the object's edges; `None` where these are not stated, or give no place.
    pub(super) fn place_on_object(&self, place: (f64, f64)) -> Option<String> {
        let (frame, alignment_px) = self.object_frame()?;
        let limits = Limits { alignment_px, beam_um: self.scan.beam_um, ..Limits::default() };
        let step = self.stack.step().map(|(step, _)| step);
        frame.place(place, step, &limits).map(|place| object_words(&place))
    }

    /// Takes over what a record states of the object.
    ///
    /// # Errors
    /// Something that no program of ours has written.
    pub(super) fn apply_object(&mut self, object: Option<ObjectRecord>) -> Result<(), Fault> {
        if object.as_ref().is_some_and(|object| !object.is_sound()) {
            return Err(Fault::bad_setting("What the record states of the object is damaged."));
        }
        self.object = object.or_else(|| self.object.take());
        self.know();
        Ok(())
    }
}
