//! What is shown: lights, pictures, the values at a place.

use super::{ReadOut, ReadRegion, Shown, Study};
use crate::ask::Raster;
use crate::ask::picture::{LightDefaults, PictureSettings, Source, caption, light_defaults};
use crate::display::{picture_of_photo, scale_bar};
use crate::measure::{self, Level, Refusal, Rules, Signal};
use crate::notice::Fault;
use crate::stack::MapId;

impl Study {
    /// Every map at a place, in map pixels; empty outside. With an answer that has classes, also their means over the
    /// connected patch of one class under the place.
    ///
    /// # Errors
    /// No memory.
    pub fn read_out(&mut self, x: f64, y: f64, answer: Option<&str>) -> Result<ReadOut, Fault> {
        let mut out = ReadOut::at(&self.stack, x, y);
        if let (Some(answer), false) = (answer, out.values.is_empty()) {
            out.region = self.patch_at(answer, x as u32, y as u32)?;
        }
        Ok(out)
    }

    /// The patch of an answer's classes at a pixel; the last one is kept, because a pointer stays in it for a while.
    fn patch_at(&mut self, answer: &str, x: u32, y: u32) -> Result<Option<ReadRegion>, Fault> {
        if let Some((of, mask, region)) = &self.patch
            && of == answer
            && mask.get(x, y) == Some(&true)
        {
            return Ok(Some(region.clone()));
        }
        let Some((held, rasters)) = self.answers.iter().find(|(held, _)| held.id == answer) else {
            return Ok(None);
        };
        let Some(Raster::U8(classes)) = rasters.get("classes") else { return Ok(None) };
        let Some((mask, pixels)) = measure::patch(classes, x, y)? else { return Ok(None) };
        let name = classes.get(x, y).and_then(|&class| held.class_labels().get(usize::from(class)).cloned());
        let region = ReadRegion::of(&self.stack, &mask, pixels, name.unwrap_or_default())?;
        self.patch = Some((answer.to_owned(), mask, region.clone()));
        Ok(Some(region))
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

    fn level(&mut self, id: &MapId) -> Result<Result<Level, Refusal>, Fault> {
        if let Some(level) = self.levels.get(id) {
            return Ok(*level);
        }
        let map = self.stack.by_id(id).ok_or_else(|| Fault::unknown_map(id.as_str()))?;
        let level = measure::level(&Signal::of(map)?, &Rules::default())?;
        self.levels.insert(id.clone(), level);
        Ok(level)
    }

    /// A picture.
    ///
    /// # Errors
    /// Settings that are not understood, something that is not there, no memory.
    pub fn picture(&mut self, settings: &PictureSettings) -> Result<Shown, Fault> {
        let (picture, source_size, answer, step) = match settings.source()? {
            Source::Map(name) => {
                let map = self.stack.find(name)?;
                (settings.of_map(map)?, map.plane.size(), None, self.stack.step_of(map))
            }
            Source::Lights => {
                let names: Vec<String> =
                    settings.light_maps(&self.stack)?.iter().map(|map| map.id.to_string()).collect();
                let defaults = self.lights(&names)?;
                let maps = settings.light_maps(&self.stack)?;
                let size = maps[0].plane.size();
                let step = self.stack.step_of(maps[0]);
                (settings.of_lights(&maps, &defaults)?, size, None, step)
            }
            Source::Answer { id, show } => {
                let (answer, rasters) =
                    self.answers.iter().find(|(answer, _)| answer.id == id).ok_or_else(|| {
                        Fault::new(
                            "answer_not_held",
                            "The pixels of this answer are no longer held. Ask again to see them.",
                        )
                    })?;
                let size = rasters.get(show).map_or((0, 0), |raster| raster.size());
                let of =
                    answer.inputs.first().and_then(|input| self.stack.by_id(&MapId::from_text(&input.id)));
                let step = of.and_then(|map| self.stack.step_of(map));
                (settings.of_answer(answer, rasters, show)?, size, Some(answer), step)
            }
            Source::Photo(id) => {
                let photo = self.photos.iter().find(|photo| photo.summary.id == id).ok_or_else(|| {
                    Fault::new("unknown_photo", format!("There is no photo called “{id}”."))
                })?;
                let size = (photo.pixels.width(), photo.pixels.height());
                (picture_of_photo(&photo.pixels, &settings.window(size)?)?, size, None, None)
            }
        };
        let is_photo = matches!(settings.source()?, Source::Photo(_));
        let window = settings.window(source_size)?;
        let (scale_bar, scale_bar_reason) = match step {
            _ if is_photo => (None, String::new()),
            Some(step) => (scale_bar(&window, step), String::new()),
            None => (None, "No scale bar: the step of the scan is not known.".to_owned()),
        };
        let caption = caption(&self.stack, answer, settings);
        Ok(Shown { picture, scale_bar, scale_bar_reason, caption, source_size })
    }
}
