//! A study as the page's worker holds it.

use super::arrays::samples_out;
use super::convert::{answer_in, fault_out, field, file_out, from_js, picture_out, scan_out, to_js};
use super::subject::{derived_in, subject_out};
use crate::ask::picture::PictureSettings;
use crate::study::{Derivation, MapChange, Study};
use wasm_bindgen::prelude::*;

/// One study. Every call either succeeds or throws `{code, message, detail}` and changes nothing.
#[wasm_bindgen]
#[derive(Default)]
pub struct Session {
    study: Study,
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

    /// Something of the study as a file: `{bytes, type}`. `what` is "picture".
    ///
    /// # Errors
    /// Something that cannot be exported, or as `picture`.
    pub fn export(&mut self, what: &str, options: JsValue) -> Result<JsValue, JsValue> {
        file_out(&self.study.export(what, from_js(options)?).map_err(fault_out)?)
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

    /// All maps at a place, in pixels of the grid; with `{answer}` also its patch there.
    ///
    /// # Errors
    /// No memory.
    pub fn read_out(&mut self, x: f64, y: f64, of: &JsValue) -> Result<JsValue, JsValue> {
        let answer = field(of, "answer").as_string();
        to_js(&self.study.read_out(x, y, answer.as_deref()).map_err(fault_out)?)
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

    /// Copies of what a question needs, for `run` in a worker of its own.
    ///
    /// # Errors
    /// A question or settings that are not understood.
    pub fn subject(&self, question: &str, settings: JsValue) -> Result<JsValue, JsValue> {
        let needed = self.study.maps_needed(question, &from_js(settings)?).map_err(fault_out)?;
        subject_out(self.study.stack(), &needed)
    }

    /// Keeps the result of `run` and gives back its answer.
    ///
    /// # Errors
    /// Something that is no result of `run`.
    pub fn adopt(&mut self, result: &JsValue) -> Result<JsValue, JsValue> {
        let (answer, rasters) = answer_in(result)?;
        let out = to_js(&answer)?;
        self.study.adopt(answer, rasters);
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

    /// Takes a derived map away.
    ///
    /// # Errors
    /// It was read from a file, or another one rests on it.
    pub fn remove(&mut self, name: &str) -> Result<(), JsValue> {
        self.study.remove(name).map_err(fault_out)
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
