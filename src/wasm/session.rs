//! A study as the page's worker holds it.

use super::arrays::samples_out;
use super::convert::{answer_in, fault_out, from_js, picture_out, scan_out, subject_out, to_js};
use crate::ask::picture::PictureSettings;
use crate::study::Study;
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

    /// All maps at a place, in map pixels; with an answer also its patch there.
    ///
    /// # Errors
    /// No memory.
    pub fn read_out(&mut self, x: f64, y: f64, answer: Option<String>) -> Result<JsValue, JsValue> {
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
