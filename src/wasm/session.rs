//! A study as the page's worker holds it.

use super::arrays::{mask_out, raster_out, samples_out};
use super::convert::{answer_in, fault_out, field, file_out, from_js, picture_out, scan_out, to_js};
use super::photo::photo_in;
use super::subject::{derived_in, question_out, subject_out};
use crate::ask::Raster;
use crate::ask::picture::PictureSettings;
use crate::export;
use crate::grid::Mask;
use crate::study::{Derivation, MapChange, Record, RegionSettings, RegionSummary, Study};
use js_sys::{Object, Reflect, Uint8Array};
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;

/// One study. Every call either succeeds or throws `{code, message, detail}` and changes nothing.
#[wasm_bindgen]
#[derive(Default)]
pub struct Session {
    pub(super) study: Study,
    /// The state when what changed was last asked for.
    pub(super) last: Record,
}

#[wasm_bindgen]
impl Session {
    /// Nothing open.
    #[wasm_bindgen(constructor)]
    pub fn new() -> Self {
        Self::default()
    }

    /// Reads a file: `{maps, photos, notices, asks, is_kept}`; `way` is one that an earlier reading asked about.
    ///
    /// # Errors
    /// Never for a bad file, which is a notice.
    pub fn open(&mut self, name: &str, bytes: &[u8], way: Option<String>) -> Result<JsValue, JsValue> {
        to_js(&self.study.open_as(name, bytes, way.as_deref()))
    }

    /// Takes in what `read_photo` made of a file, as `open` would have; null where the file must be opened after all.
    ///
    /// # Errors
    /// Something that `read_photo` did not make.
    pub fn open_photo(
        &mut self,
        name: &str,
        read: &JsValue,
        way: Option<String>,
    ) -> Result<JsValue, JsValue> {
        match self.study.open_photo(name, photo_in(read)?, way.as_deref()) {
            Some(opened) => to_js(&opened),
            None => Ok(JsValue::NULL),
        }
    }

    /// All maps.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn maps(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.maps())
    }

    /// All photos.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn photos(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.photos())
    }

    /// Lines of other elements in each map: `[{map, by, by_map, how, grade, share, text, consequence, check, mark}]`.
    ///
    /// # Errors
    /// No memory.
    pub fn overlaps(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.overlaps().map_err(fault_out)?)
    }

    /// Pixels of a map, as read.
    ///
    /// # Errors
    /// No such map.
    pub fn map(&self, name: &str) -> Result<JsValue, JsValue> {
        samples_out(&self.study.samples(name).map_err(fault_out)?)
    }

    /// States what a map is.
    ///
    /// # Errors
    /// No such map, or words that are not understood.
    pub fn set_map(&mut self, name: &str, settings: JsValue) -> Result<JsValue, JsValue> {
        let summary = self.study.set_map(name, from_js(settings)?).map_err(fault_out)?;
        to_js(&summary)
    }

    /// States what many maps are: `[{id, ...}]`. If one cannot be stated, none is.
    ///
    /// # Errors
    /// No such map, or words that are not understood.
    pub fn set_maps(&mut self, changes: JsValue) -> Result<JsValue, JsValue> {
        let changes = MapChange::read(from_js(changes)?).map_err(fault_out)?;
        to_js(&self.study.set_maps(changes).map_err(fault_out)?)
    }

    /// What is odd in the stack as a whole: notices with offers.
    ///
    /// # Errors
    /// No memory.
    pub fn inspect(&mut self) -> Result<JsValue, JsValue> {
        to_js(&self.study.inspect().map_err(fault_out)?)
    }

    /// The histogram of a map with the limits to begin with.
    ///
    /// # Errors
    /// No such map, or one without values.
    pub fn histogram(&mut self, name: &str, settings: JsValue) -> Result<JsValue, JsValue> {
        to_js(&self.study.histogram(name, &from_js(settings)?).map_err(fault_out)?)
    }

    /// Colours to choose from for a single map.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn colours(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.colours())
    }

    /// Something of the study as a file: `{bytes, type, name}`. What there is: `exports`.
    ///
    /// # Errors
    /// Something that cannot be exported, or as `picture`.
    pub fn export(&mut self, what: &str, options: JsValue) -> Result<JsValue, JsValue> {
        let options = if options.is_undefined() { JsValue::NULL } else { options };
        file_out(&export::export(&mut self.study, what, from_js(options)?).map_err(fault_out)?)
    }

    /// What can be exported: `[{what, label, formats: [{format, label, ending}], needs}]`.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn exports(&self) -> Result<JsValue, JsValue> {
        to_js(&export::offers())
    }

    /// The grid of the scan.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn grid(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.grid())
    }

    /// States the step and how the maps lie.
    ///
    /// # Errors
    /// A step that cannot be one, no memory.
    pub fn set_grid(&mut self, settings: JsValue) -> Result<JsValue, JsValue> {
        let grid = self.study.set_grid(from_js(settings)?).map_err(fault_out)?;
        to_js(&grid)
    }

    /// What is known of the scan, with all of it in words in `text`.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn scan(&self) -> Result<JsValue, JsValue> {
        scan_out(self.study.scan())
    }

    /// States how the scan was made.
    ///
    /// # Errors
    /// A value that cannot be one.
    pub fn set_scan(&mut self, settings: JsValue) -> Result<JsValue, JsValue> {
        scan_out(self.study.set_scan(from_js(settings)?).map_err(fault_out)?)
    }

    /// A picture with key and scale bar.
    ///
    /// # Errors
    /// Settings that are not understood, or something that is not there.
    pub fn picture(&mut self, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = PictureSettings::read(from_js(settings)?).map_err(fault_out)?;
        picture_out(&self.study.picture(&settings).map_err(fault_out)?)
    }

    /// All maps at a place, in pixels of the grid; with `{answer}` also its patch there; with `{map}` on the grid
    /// of that map, which may be of another scan.
    ///
    /// # Errors
    /// No memory.
    pub fn read_out(&mut self, x: f64, y: f64, of: &JsValue) -> Result<JsValue, JsValue> {
        let answer = field(of, "answer").as_string();
        let map = field(of, "map").as_string();
        to_js(&self.study.read_out_on(map.as_deref(), (x, y), answer.as_deref()).map_err(fault_out)?)
    }

    /// The questions and whether they can be asked.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn questions(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.questions())
    }

    /// Lights as they are unless asked otherwise.
    ///
    /// # Errors
    /// No such map.
    pub fn lights(&mut self, names: JsValue) -> Result<JsValue, JsValue> {
        let names: Vec<String> = from_js(names)?;
        to_js(&self.study.lights(&names).map_err(fault_out)?)
    }

    /// How many pixels of a region lie in each bin of an answer's joint plot: `{width, height, data}`.
    ///
    /// # Errors
    /// An answer without one, or something that is not there.
    pub fn joint(&self, answer: &str, region: &str) -> Result<JsValue, JsValue> {
        raster_out(&Raster::F64(self.study.joint(answer, region).map_err(fault_out)?))
    }

    /// Copies of what a question needs, for `run` in a worker of its own.
    ///
    /// # Errors
    /// A question or settings that are not understood.
    pub fn subject(&self, question: &str, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = from_js(settings)?;
        let maps = self.study.maps_needed(question, &settings).map_err(fault_out)?;
        let regions = self.study.regions_needed(question, &settings).map_err(fault_out)?;
        question_out(&self.study, &maps, &regions)
    }

    /// Keeps the result of `run` and gives back its answer.
    ///
    /// # Errors
    /// Something that is no result of `run`.
    pub fn adopt(&mut self, result: &JsValue) -> Result<JsValue, JsValue> {
        let (answer, rasters, asked) = answer_in(result)?;
        let out = to_js(&answer)?;
        self.study.adopt(answer, rasters, asked);
        Ok(out)
    }

    /// Copies of what a derivation needs, for `derive` in a worker of its own.
    ///
    /// # Errors
    /// Settings that are not understood, or maps that are not there.
    pub fn subject_to_derive(&self, settings: JsValue) -> Result<JsValue, JsValue> {
        let derivation = Derivation::read(from_js(settings)?).map_err(fault_out)?;
        subject_out(self.study.stack(), &self.study.maps_to_derive(&derivation).map_err(fault_out)?)
    }

    /// Takes in the result of `derive`, and gives the new map.
    ///
    /// # Errors
    /// The same was derived before, or a map is no longer there.
    pub fn adopt_derived(&mut self, settings: JsValue, result: &JsValue) -> Result<JsValue, JsValue> {
        let derivation = Derivation::read(from_js(settings)?).map_err(fault_out)?;
        let made = derived_in(result)?;
        to_js(&self.study.adopt_derived(&derivation, made).map_err(fault_out)?)
    }

    /// Adds a region: `{name?, role?, and exactly one of rectangle, polygon, mask, mask_png, threshold, classes, cloud, combine}`.
    ///
    /// # Errors
    /// A shape that cannot be made here, a name that is taken, no pixel inside.
    pub fn add_region(&mut self, settings: &JsValue) -> Result<JsValue, JsValue> {
        let settings = region_in(&self.study, settings)?;
        to_js(&self.study.add_region(settings).map_err(fault_out)?)
    }

    /// Changes a region: name, role, shape.
    ///
    /// # Errors
    /// As `add_region`; a region made of itself.
    pub fn set_region(&mut self, name: &str, settings: &JsValue) -> Result<JsValue, JsValue> {
        let settings = region_in(&self.study, settings)?;
        to_js(&self.study.set_region(name, settings).map_err(fault_out)?)
    }

    /// What a region would be, with its pixels in `mask`; it may be without any.
    ///
    /// # Errors
    /// As `add_region`.
    pub fn preview_region(&self, settings: &JsValue) -> Result<JsValue, JsValue> {
        let settings = region_in(&self.study, settings)?;
        let (summary, mask) = self.study.preview_region(settings).map_err(fault_out)?;
        region_out(&summary, &mask)
    }

    /// All regions.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn regions(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.regions())
    }

    /// A region, with its pixels in `mask`.
    ///
    /// # Errors
    /// There is none of this name.
    pub fn region(&self, name: &str) -> Result<JsValue, JsValue> {
        let (summary, mask) = self.study.region(name).map_err(fault_out)?;
        region_out(&summary, mask)
    }

    /// Gives a region or a map another name, and gives its summary.
    ///
    /// # Errors
    /// There is none of this name, or the new one is taken.
    pub fn rename(&mut self, name: &str, new: &str) -> Result<JsValue, JsValue> {
        to_js(&self.study.rename(name, new).map_err(fault_out)?)
    }

    /// Takes a region, a derived map, a point or a spectrum away, and says which it was: "region", "map", "point" or "spectrum".
    ///
    /// # Errors
    /// A map that was read from a file, or something else is made of it.
    pub fn remove(&mut self, name: &str) -> Result<JsValue, JsValue> {
        Ok(self.study.remove(name).map_err(fault_out)?.into())
    }

    /// The state without pixels.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn record(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.record())
    }

    /// States again what a record states.
    ///
    /// # Errors
    /// A record that does not fit.
    pub fn apply(&mut self, record: JsValue) -> Result<(), JsValue> {
        self.study.apply(from_js(record)?).map_err(fault_out)
    }
}

/// Settings of a region. Arrays of bytes are taken out of them first, because plain data has none.
fn region_in(study: &Study, settings: &JsValue) -> Result<RegionSettings, JsValue> {
    let bytes_of = |name: &str| field(settings, name).dyn_into::<Uint8Array>().ok();
    let (mask, png) = (bytes_of("mask"), bytes_of("mask_png"));
    let mut plain = settings.clone();
    if mask.is_some() || png.is_some() {
        let copy = Object::assign(&Object::new(), settings.unchecked_ref());
        for (name, _) in [("mask", &mask), ("mask_png", &png)].iter().filter(|(_, bytes)| bytes.is_some()) {
            Reflect::delete_property(&copy, &(*name).into())?;
        }
        plain = copy.into();
    }
    let mut read = RegionSettings::read(from_js(plain)?).map_err(fault_out)?;
    if let Some(mask) = mask {
        study.check_mask_length(u64::from(mask.length())).map_err(fault_out)?;
        read.mask = Some(mask.to_vec());
    }
    if let Some(png) = png {
        read.mask_png = Some(png.to_vec());
    }
    Ok(read)
}

fn region_out(summary: &RegionSummary, mask: &Mask) -> Result<JsValue, JsValue> {
    let out = to_js(summary)?;
    Reflect::set(&out, &"mask".into(), &mask_out(mask)?)?;
    Ok(out)
}
