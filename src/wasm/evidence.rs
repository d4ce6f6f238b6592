//! Results of other techniques, and what there is to choose from.

use super::Session;
use super::convert::{fault_out, from_js, to_js};
use crate::study::PointSettings;
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
impl Session {
    /// All analysis points.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn points(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.points())
    }

    /// Adds an analysis point.
    ///
    /// # Errors
    /// No maps, no place on them, a word that is none, too many points.
    pub fn add_point(&mut self, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = PointSettings::read(from_js(settings)?).map_err(fault_out)?;
        to_js(&self.study.add_point(settings).map_err(fault_out)?)
    }

    /// Changes an analysis point.
    ///
    /// # Errors
    /// There is none of this id; otherwise as `add_point`.
    pub fn set_point(&mut self, id: &str, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = PointSettings::read(from_js(settings)?).map_err(fault_out)?;
        to_js(&self.study.set_point(id, settings).map_err(fault_out)?)
    }

    /// Techniques that a point can be of.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn techniques(&self) -> Result<JsValue, JsValue> {
        to_js(&crate::study::techniques())
    }
}
