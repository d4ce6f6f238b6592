//! Photos in pictures: which, in what way, and where they lie under the maps that are shown.

use super::super::Study;
use super::HeldPhoto;
use crate::ask::picture::{PhotoWay, PhotoWords, PictureSettings, Source};
use crate::display::LaidPhoto;
use crate::geometry::{Transform, Window};
use crate::notice::Fault;
use crate::stack::MapId;
use std::borrow::Cow;

/// A photo that a picture shows on the grid.
#[derive(Debug)]
pub(in crate::study) struct ShownPhoto<'a> {
    held: &'a HeldPhoto,
    transform: Cow<'a, Transform>,
    /// How it is shown.
    pub way: PhotoWay,
}

impl ShownPhoto<'_> {
    /// For drawing.
    pub fn laid(&self) -> LaidPhoto<'_> {
        let HeldPhoto { size, pixels, pyramid, .. } = self.held;
        LaidPhoto { size: *size, pixels, pyramid, transform: &self.transform }
    }
}

impl Study {
    /// The photo that a picture shows on the grid; `None` where it shows none, or one in its own pixels.
    ///
    /// # Errors
    /// No such photo; it is not aligned; settings that contradict each other.
    pub(in crate::study) fn shown_photo(
        &self,
        settings: &PictureSettings,
    ) -> Result<Option<ShownPhoto<'_>>, Fault> {
        let Some((name, way)) = settings.photo()? else { return Ok(None) };
        if way == PhotoWay::Own {
            return Ok(None);
        }
        let held = self.photo(name)?;
        let transform = match settings.proposed()? {
            Some(plane) => Cow::Owned(Transform::Plane(plane)),
            None => Cow::Borrowed(held.transform()?),
        };
        Ok(Some(ShownPhoto { held, transform, way }))
    }

    /// A window on what a picture is of as a window on the grid, on which photos lie.
    ///
    /// # Errors
    /// The picture's maps do not lie on the grid, or there is none.
    pub(in crate::study) fn window_on_grid(
        &self,
        settings: &PictureSettings,
        window: &Window,
    ) -> Result<Window, Fault> {
        let grid = self.grid_size().ok_or_else(no_grid)?;
        let map = match settings.source()? {
            Source::Photo(_) => return Ok(*window),
            Source::Map(name) | Source::Overlap(name) => Some(self.stack.find(name)?),
            Source::Lights => settings.light_maps(&self.stack)?.first().copied(),
            Source::Answer { id, .. } => {
                let first = self.held(id)?.0.inputs.first();
                first.and_then(|input| self.stack.by_id(&MapId::from_text(&input.id)))
            }
        };
        let (across, down) = map.map_or((1, 1), |map| map.cell());
        let (width, height) = self.source_size(settings)?;
        let is_other_scan = map.is_some_and(|map| map.field != 0);
        if is_other_scan || (across, down) == (1, 1) && (width, height) != grid {
            let what = map.map_or_else(|| "This picture".to_owned(), |map| map.label());
            return Err(Fault::new(
                "different_sizes",
                format!(
                    "{what} does not lie on the grid of the other maps, on which the photo lies, so the two cannot be shown together."
                ),
            ));
        }
        let (across, down) = (f64::from(across), f64::from(down));
        Ok(Window {
            x: window.x * across,
            y: window.y * down,
            width: window.width * across,
            height: window.height * down,
            out_width: window.out_width,
            out_height: Some(window.out_height()),
        })
    }

    /// What a caption says of a picture's photo.
    pub(in crate::study) fn photo_words(&self, settings: &PictureSettings) -> Option<PhotoWords<'_>> {
        let (name, _) = settings.photo().ok()??;
        let held = self.photo(name).ok()?;
        let name = (self.photos.len() > 1).then(|| held.name());
        Some(PhotoWords { light: held.stated.light(), side: held.stated.side(), name })
    }

    /// A picture's photo as a record names it, with where it lies.
    pub(in crate::study) fn photo_input(&self, settings: &PictureSettings) -> Option<serde_json::Value> {
        let (name, way) = settings.photo().ok()??;
        let held = self.photo(name).ok()?;
        let orientation = held.orientation();
        let mut input = serde_json::json!({
            "id": held.id(), "label": held.name(), "file": held.file, "file_sha256": held.file_sha256,
            "light": held.stated.light(), "side": held.stated.side(),
            "turns": orientation.quarter_turns(), "mirror": orientation.is_mirrored(),
        });
        if way != PhotoWay::Own
            && settings.proposed().is_ok_and(|proposed| proposed.is_none())
            && let Some(aligned) = &held.aligned
        {
            let plane = aligned.transform().ok().and_then(Transform::plane);
            input["transform"] = serde_json::json!(plane.map(|plane| plane.matrix()));
            input["points"] = serde_json::json!(aligned.points);
            input["error_px"] = serde_json::json!(aligned.error_px());
        }
        Some(input)
    }
}

/// Nothing is open on which a photo could lie.
pub(in crate::study) fn no_grid() -> Fault {
    Fault::new("no_maps", "There are no maps yet on which the photo could be seen. Open a map first.")
}
