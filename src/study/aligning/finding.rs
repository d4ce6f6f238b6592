//! "Find it for me": what the search needs, copied small; and what it found, in words. Nothing is laid by it.

use super::super::Study;
use crate::geometry::{PlaneTransform, Transform};
use crate::grid::try_vec;
use crate::notice::Fault;
use crate::register::search::{
    self, LONGEST_MAP_SIDE, LONGEST_PHOTO_SIDE, SearchInput, SearchSettings, factor, prepare, prepare_photo,
};
use crate::stack::Map;
use serde::Serialize;

/// More maps than this tell nothing new of where a photo lies, and take longer.
const MOST_MAPS: usize = 24;

/// All that a search needs, so that it can run beside the study.
#[derive(Debug, Clone)]
pub struct Search {
    /// Small pictures.
    pub input: SearchInput,
    /// Width and height of the full photo.
    pub photo_size: (u32, u32),
}

/// Where a photo was found; nothing is changed by it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FoundText {
    /// From places of the photo to places of the grid, row by row.
    pub transform: [f64; 9],
    /// Whether it passed every test; if not, it is not to be taken over.
    pub is_accepted: bool,
    /// What was found by which measure, or why nothing is offered.
    pub text: String,
    /// How much the photo tells of the maps as it lay at first, in nats for a pixel.
    pub measure_before: f64,
    /// The same as it was found.
    pub measure_after: f64,
    /// Corners of the photo on the grid, from the upper left clockwise.
    pub corners: Vec<Option<[f64; 2]>>,
}

impl Study {
    /// What a search for a photo needs.
    ///
    /// # Errors
    /// No such photo, no maps, no memory.
    pub fn subject_to_align(&self, photo: &str) -> Result<Search, Fault> {
        let photo = self.photo(photo)?;
        let size = self.grid_size().ok_or_else(|| {
            Fault::new("no_maps", "There are no maps yet on which it could be found. Open a map first.")
        })?;
        // What is kept of a large photo is made smaller already.
        let kept_size = (photo.pixels.width(), photo.pixels.height());
        let photo_factor = factor(kept_size, LONGEST_PHOTO_SIDE);
        let map_factor = factor(size, LONGEST_MAP_SIDE);
        let fits = |map: &&Map| map.plane.size() == size && map.making.is_none();
        let (lines, others): (Vec<&Map>, Vec<&Map>) =
            self.stack.on_grid().filter(fits).partition(|map| map.role.is_none());
        let mut maps = try_vec(MOST_MAPS as u64)?;
        // Sums and scatter tell where the object is, as lines do; times and errors only where there are no lines.
        for map in lines.into_iter().chain(others).take(MOST_MAPS) {
            maps.push(prepare(&map.plane, map_factor)?);
        }
        let step = self.stack.step().map(|(step, _)| step);
        let input = SearchInput {
            photo: prepare_photo(&photo.pixels, photo_factor)?,
            photo_factor: f64::from(photo_factor) * f64::from(photo.factor),
            maps,
            map_factor: f64::from(map_factor),
            aspect: step.map_or(1.0, |step| step.y_um() / step.x_um()),
            start: photo.transform().ok().and_then(Transform::plane).cloned(),
        };
        Ok(Search { input, photo_size: photo.size })
    }
}

/// Looks for a photo. `on_progress` is called with the share that is done and what is being done.
///
/// # Errors
/// No memory. That nothing was found is no error but an answer.
pub fn find_alignment(search: &Search, on_progress: &mut dyn FnMut(f64, &str)) -> Result<FoundText, Fault> {
    let found = search::find(&search.input, &SearchSettings::default(), on_progress)?;
    let (width, height) = (f64::from(search.photo_size.0), f64::from(search.photo_size.1));
    let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
    let corner = |at| found.transform.at(at).map(Into::into);
    Ok(FoundText {
        transform: *PlaneTransform::matrix(&found.transform),
        is_accepted: found.is_accepted,
        corners: corners.into_iter().map(corner).collect(),
        measure_before: found.measure_start,
        measure_after: found.measure_found,
        text: found.reason,
    })
}
