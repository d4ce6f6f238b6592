//! What is shown: lights, pictures, the values at a place.

use super::photos::{HeldPhoto, no_grid};
use super::{ReadOut, ReadRegion, Shown, Study};
use crate::ask::picture::{
    LightDefaults, PictureSettings, Source, caption, light_defaults, start_limits, with_photo,
};
use crate::ask::{self, Answer, Rasters};
use crate::display::{picture_of_large_photo, scale_bar};
use crate::geometry::Step;
use crate::grid::{Grid, try_vec};
use crate::measure::{self, Level, Refusal, Rules, Signal};
use crate::notice::{Fault, OutOfMemory};
use crate::stack::{Map, MapId};

/// Regions that are read out at one place.
const MOST_REGIONS_READ: usize = 4;

impl Study {
    /// Every map at a place, in map pixels; empty outside. With an answer that has classes or zones, also their means over the
    /// connected patch of one class under the place. The named regions there come with means and sums.
    ///
    /// # Errors
    /// No memory.
    pub fn read_out(&mut self, x: f64, y: f64, answer: Option<&str>) -> Result<ReadOut, Fault> {
        self.read_out_on(None, (x, y), answer)
    }

    /// The same on the grid of a map, which may be of another scan: then with the maps of that scan alone, and without the
    /// regions of the first one.
    ///
    /// # Errors
    /// No such map; no memory.
    pub fn read_out_on(
        &mut self,
        map: Option<&str>,
        (x, y): (f64, f64),
        answer: Option<&str>,
    ) -> Result<ReadOut, Fault> {
        let field = match (map, answer) {
            (Some(name), _) => self.stack.find(name)?.field,
            (None, Some(answer)) => self.field_of_answer(answer),
            (None, None) => 0,
        };
        let mut out = ReadOut::at(&self.stack, field, x, y);
        if out.values.is_empty() {
            return Ok(out);
        }
        // Of the middle of the pixel; the object's edges are stated on the grid of the first scan.
        if field == 0
            && let Some(place) = self.place_on_object((x.floor() + 0.5, y.floor() + 0.5))
        {
            out.text = place;
        }
        if let Some(answer) = answer {
            out.region = self.patch_at(answer, x as u32, y as u32)?;
        }
        if field == 0 {
            (out.regions, out.more_regions) = self.regions_at(x as u32, y as u32)?;
        }
        Ok(out)
    }

    /// The field of the maps that an answer is about.
    fn field_of_answer(&self, answer: &str) -> u32 {
        let held = self.answers.iter().find(|(held, _)| held.id == answer);
        let first = held.and_then(|(held, _)| held.inputs.first());
        first.and_then(|input| self.stack.by_id(&MapId::from_text(&input.id))).map_or(0, |map| map.field)
    }

    /// The patch of an answer's classes or zones at a pixel; the last one is kept, because a pointer stays in it for a while.
    fn patch_at(&mut self, answer: &str, x: u32, y: u32) -> Result<Option<ReadRegion>, Fault> {
        let Some((held, rasters)) = self.answers.iter().find(|(held, _)| held.id == answer) else {
            return Ok(None);
        };
        let Some((classes, labels)) = held.parted(rasters) else { return Ok(None) };
        let first = held.inputs.first().and_then(|input| self.stack.by_id(&MapId::from_text(&input.id)));
        let (across, down) = first.map_or((1, 1), |map| map.cell());
        let (x, y) = (x / across.max(1), y / down.max(1));
        if let Some((of, mask, region)) = &self.patch
            && of == answer
            && mask.get(x, y) == Some(&true)
        {
            return Ok(Some(region.clone()));
        }
        let Some((mask, pixels)) = measure::patch(classes, x, y)? else { return Ok(None) };
        let name = classes.get(x, y).and_then(|&class| labels.get(usize::from(class)).cloned());
        let field = first.map_or(0, |map| map.field);
        let region = ReadRegion::of((&self.stack, field), &mask, pixels, name.unwrap_or_default())?;
        self.patch = Some((answer.to_owned(), mask, region.clone()));
        Ok(Some(region))
    }

    /// What is read of the smallest named regions at a pixel of the grid, and how many more there are.
    fn regions_at(&mut self, x: u32, y: u32) -> Result<(Vec<ReadRegion>, String), Fault> {
        let at = self.regions.iter().filter(|held| held.region.mask.get(x, y) == Some(&true));
        let mut at: Vec<(u64, u32)> =
            at.map(|held| (held.making.pixels, held.making.record.number)).collect();
        at.sort_unstable();
        let more = match at.len().saturating_sub(MOST_REGIONS_READ) {
            0 => String::new(),
            1 => "and in one more region".into(),
            more => format!("and in {more} more regions"),
        };
        let mut out = Vec::new();
        for (pixels, number) in at.into_iter().take(MOST_REGIONS_READ) {
            let Some(held) = self.regions.get(number) else { continue };
            if !self.region_reads.contains_key(&number) {
                let read = ReadRegion::of_region(&self.stack, held.region, pixels)?;
                self.region_reads.insert(number, read);
            }
            out.extend(self.region_reads.get(&number).cloned());
        }
        Ok((out, more))
    }

    /// What was read over patches and regions no longer holds: maps, regions or the grid have changed.
    pub(super) fn forget_reads(&mut self) {
        self.patch = None;
        self.region_reads.clear();
        self.overlap_seen = None;
    }

    /// Computes the shares that overlaps could give, unless they are those last seen.
    fn see_overlaps(&mut self, id: &MapId) -> Result<(), Fault> {
        let key = (id.clone(), self.made, self.derived_made);
        if self.overlap_seen.as_ref().is_none_or(|(of, _)| *of != key) {
            let shares = ask::overlap_view(&self.subject(), id.as_str())?.0;
            self.overlap_seen = Some((key, shares));
        }
        Ok(())
    }

    /// Lights as they are unless asked otherwise, in the given order.
    ///
    /// # Errors
    /// No such map; no memory.
    pub fn lights(&mut self, names: &[String]) -> Result<Vec<LightDefaults>, Fault> {
        let mut out = Vec::new();
        for (place, name) in names.iter().enumerate() {
            let id = self.stack.find(name)?.id.clone();
            let level = self.level(&id)?;
            out.push(light_defaults(self.stack.find(name)?, &level, place));
        }
        Ok(out)
    }

    pub(super) fn level(&mut self, id: &MapId) -> Result<Result<Level, Refusal>, Fault> {
        if let Some(level) = self.levels.get(id) {
            return Ok(*level);
        }
        let map = self.stack.by_id(id).ok_or_else(|| Fault::unknown_map(id.as_str()))?;
        let level = measure::level(&thinned(Signal::of(map)?)?, &Rules::default())?;
        self.levels.insert(id.clone(), level);
        Ok(level)
    }

    /// Width and height of what a picture is of, in its own pixels.
    ///
    /// # Errors
    /// Something that is not there.
    pub(super) fn source_size(&self, settings: &PictureSettings) -> Result<(u32, u32), Fault> {
        Ok(match settings.source()? {
            Source::Map(name) | Source::Overlap(name) => self.stack.find(name)?.plane.size(),
            Source::Lights => settings.light_maps(&self.stack)?[0].plane.size(),
            Source::Answer { id, show } => self.held(id)?.1.get(show).map_or((0, 0), |raster| raster.size()),
            Source::Photo(id) if settings.is_in_own_pixels()? => self.photo(id)?.size,
            Source::Photo(_) => self.grid_size().ok_or_else(no_grid)?,
        })
    }

    /// Step between the pixels of what a picture is of.
    ///
    /// # Errors
    /// Something that is not there.
    pub(super) fn step_of_picture(&self, settings: &PictureSettings) -> Result<Option<Step>, Fault> {
        let map = match settings.source()? {
            Source::Map(name) | Source::Overlap(name) => Some(self.stack.find(name)?),
            Source::Lights => settings.light_maps(&self.stack)?.first().copied(),
            Source::Answer { id, .. } => {
                let first = self.held(id)?.0.inputs.first();
                first.and_then(|input| self.stack.by_id(&MapId::from_text(&input.id)))
            }
            Source::Photo(_) if settings.is_in_own_pixels()? => None,
            Source::Photo(_) => return Ok(self.stack.step().map(|(step, _)| step)),
        };
        Ok(map.and_then(|map| self.stack.step_of(map)))
    }

    /// The scan on whose grid a picture lies.
    fn field_of_picture(&self, settings: &PictureSettings) -> Result<u32, Fault> {
        Ok(match settings.source()? {
            Source::Map(name) | Source::Overlap(name) => self.stack.find(name)?.field,
            Source::Lights => settings.light_maps(&self.stack)?.first().map_or(0, |map| map.field),
            Source::Answer { id, .. } => self.field_of_answer(id),
            Source::Photo(_) => 0,
        })
    }

    /// What a picture is made of, as a record names it.
    pub(super) fn inputs_of(&self, settings: &PictureSettings) -> Vec<serde_json::Value> {
        let maps = match settings.source() {
            Ok(Source::Map(name) | Source::Overlap(name)) => self.stack.find(name).into_iter().collect(),
            Ok(Source::Lights) => settings.light_maps(&self.stack).unwrap_or_default(),
            Ok(Source::Answer { id, .. }) => self.held(id).map_or_else(
                |_| Vec::new(),
                |(answer, _)| {
                    let ids = answer.inputs.iter().map(|input| MapId::from_text(&input.id));
                    ids.filter_map(|id| self.stack.by_id(&id)).collect()
                },
            ),
            Ok(Source::Photo(_)) | Err(_) => Vec::new(),
        };
        let plain = |map: &Map| {
            serde_json::json!({
                "id": map.id.as_str(), "label": map.label(), "file": map.source.file,
                "file_sha256": map.source.sha256, "page": map.source.page, "kind": map.kind.word(),
            })
        };
        // A derived map has no file: those of the maps that it rests on.
        let named = |map: &Map| {
            let mut out = plain(map);
            if map.making.is_some() {
                let roots = map.roots().iter().filter_map(|id| self.stack.by_id(id));
                out["roots"] = roots.map(plain).collect();
            }
            out
        };
        maps.into_iter().map(named).chain(self.photo_input(settings)).collect()
    }

    /// An answer whose pixels are held, with these.
    ///
    /// # Errors
    /// `answer_not_held`: it has to be asked again.
    pub fn held_answer(&self, id: &str) -> Result<(&Answer, &Rasters), Fault> {
        self.held(id).map(|(answer, rasters)| (answer, rasters))
    }

    pub(super) fn held(&self, id: &str) -> Result<&(Answer, Rasters), Fault> {
        self.answers.iter().find(|(answer, _)| answer.id == id).ok_or_else(|| {
            Fault::new(
                "answer_not_held",
                "The pixels of this answer are no longer held. Ask again to see them.",
            )
        })
    }

    /// A picture.
    ///
    /// # Errors
    /// Settings that are not understood, something that is not there, no memory.
    pub fn picture(&mut self, settings: &PictureSettings) -> Result<Shown, Fault> {
        let source_size = self.source_size(settings)?;
        let window = settings.window(source_size)?;
        let mut starts: Vec<(f64, f64)> = Vec::new();
        let (picture, answer) = match settings.source()? {
            Source::Map(name) => {
                let id = self.stack.find(name)?.id.clone();
                let level = self.level(&id)?;
                let map = self.stack.find(name)?;
                starts.push(start_limits(map, &level));
                (Some(settings.of_map(map, starts[0])?), None)
            }
            Source::Lights => {
                let names: Vec<String> =
                    settings.light_maps(&self.stack)?.iter().map(|map| map.id.to_string()).collect();
                let defaults = self.lights(&names)?;
                starts.extend(defaults.iter().map(|light| (light.low, light.high)));
                (Some(settings.of_lights(&settings.light_maps(&self.stack)?, &defaults)?), None)
            }
            Source::Overlap(name) => {
                let id = self.stack.find(name)?.id.clone();
                self.see_overlaps(&id)?;
                let map = self.stack.find(name)?;
                let seen = self.overlap_seen.as_ref().map(|(_, shares)| shares);
                (seen.map(|shares| settings.of_overlap(map, shares)).transpose()?, None)
            }
            Source::Answer { id, show } => {
                let (answer, rasters) = self.held(id)?;
                (Some(settings.of_answer(answer, rasters, show)?), Some(answer))
            }
            Source::Photo(_) => (None, None),
        };
        let is_photo = settings.is_in_own_pixels()?;
        let field = self.field_of_picture(settings)?;
        let picture = match (picture, self.shown_photo(settings)?) {
            (_, Some(_)) if field != 0 => {
                return Err(Fault::bad_setting(
                    "Photos lie on the grid of the first scan, and this map is of another. Lay it on that grid first, or show it alone.",
                ));
            }
            (maps, Some(photo)) => {
                let window = self.window_on_grid(settings, &window)?;
                with_photo(maps, &photo.laid(), photo.way, &window)?
            }
            (Some(maps), None) => maps,
            (None, None) => {
                let Source::Photo(id) = settings.source()? else { return Err(no_grid()) };
                let HeldPhoto { pixels, pyramid, .. } = self.photo(id)?;
                picture_of_large_photo(pixels, pyramid, &window)?
            }
        };
        let (scale_bar, scale_bar_reason) = match self.step_of_picture(settings)? {
            _ if is_photo => (None, String::new()),
            Some(step) => (scale_bar(&window, Some(step)), String::new()),
            None if field == 0 => (scale_bar(&window, None), "The step of the scan is not known.".to_owned()),
            None => (
                scale_bar(&window, None),
                "The step of this scan is not known; that of the first one is not its own.".to_owned(),
            ),
        };
        let caption = caption(&self.stack, answer, settings, &starts, self.photo_words(settings));
        Ok(Shown { picture, scale_bar, scale_bar_reason, caption, source_size })
    }
}

/// Pixels that are enough for the limits of a picture.
const ENOUGH: u64 = 4_000_000;

/// Every so-many-th pixel across and down of a large map, for limits to begin with: all of them would take seconds and
/// change nothing that can be seen. Questions look at every pixel.
fn thinned(signal: Signal) -> Result<Signal, OutOfMemory> {
    let stride = (1u64..).find(|s| signal.values.len() / (s * s) <= ENOUGH).unwrap_or(1) as usize;
    if stride == 1 {
        return Ok(signal);
    }
    let (width, height) =
        (signal.values.width().div_ceil(stride as u32), signal.values.height().div_ceil(stride as u32));
    let mut values = try_vec(u64::from(width) * u64::from(height))?;
    let mut saturated = try_vec(u64::from(width) * u64::from(height))?;
    for row in signal.values.rows().step_by(stride) {
        values.extend(row.iter().step_by(stride));
    }
    for row in signal.saturated.rows().step_by(stride) {
        saturated.extend(row.iter().step_by(stride));
    }
    let fits = (Grid::from_vec(width, height, values), Grid::from_vec(width, height, saturated));
    match fits {
        (Some(values), Some(saturated)) => Ok(Signal { values, saturated, ..signal }),
        // Cannot occur: both have a pixel for each that was counted.
        _ => Ok(signal),
    }
}
