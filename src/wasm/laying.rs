//! What the page asks of photos, of other scans and of the object: where they lie.

use super::Session;
use super::convert::{fault_out, from_js, to_js};
use super::search::search_out;
use crate::study::{AlignSettings, CompareSettings, ObjectSettings};
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
impl Session {
    /// States what a photo shows and how it lies.
    ///
    /// # Errors
    /// No such photo, or words that are not understood.
    pub fn set_photo(&mut self, name: &str, settings: JsValue) -> Result<JsValue, JsValue> {
        to_js(&self.study.set_photo(name, from_js(settings)?).map_err(fault_out)?)
    }

    /// Lays a photo, or another scan, on the grid; `null` where the alignment was taken away.
    ///
    /// # Errors
    /// Nothing of this name, no grid, settings that are not understood.
    pub fn align(&mut self, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = AlignSettings::read(from_js(settings)?).map_err(fault_out)?;
        to_js(&self.study.align(settings).map_err(fault_out)?)
    }

    /// The object's corner and edges; `null` where they were not stated.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn object(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.object())
    }

    /// States the object's corner and edges, or forgets them.
    ///
    /// # Errors
    /// No grid, marks that give no edges, settings that are not understood.
    pub fn set_object(&mut self, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = ObjectSettings::read(from_js(settings)?).map_err(fault_out)?;
        to_js(&self.study.set_object(settings).map_err(fault_out)?)
    }

    /// Other scans than the first.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn fields(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.fields())
    }

    /// How bright a map of another scan is against the first: `{map, first?}`.
    ///
    /// # Errors
    /// Maps that cannot be compared, a scan that is not aligned.
    pub fn compare_scans(&self, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings: CompareSettings = from_js(settings)?;
        to_js(&self.study.compare_scans(&settings).map_err(fault_out)?)
    }

    /// The recipe that lays a map of another scan on the grid of the first.
    ///
    /// # Errors
    /// A map of the first scan, or a scan that is not aligned.
    pub fn laying(&self, name: &str) -> Result<JsValue, JsValue> {
        to_js(&self.study.laying(name).map_err(fault_out)?)
    }

    /// Copies of what a search for a photo needs, for `find_alignment` in a worker of its own.
    ///
    /// # Errors
    /// No such photo, no maps, no memory.
    pub fn subject_to_align(&self, photo: &str) -> Result<JsValue, JsValue> {
        search_out(&self.study.subject_to_align(photo).map_err(fault_out)?)
    }
}
