//! Results of other techniques, and what there is to choose from.

use super::Session;
use super::convert::{fault_out, field, from_js, to_js};
use crate::notice::Fault;
use crate::study::{self, PointSettings, SpectrumSettings, SpectrumView};
use js_sys::{Object, Reflect, Uint8Array};
use wasm_bindgen::JsCast;
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

    /// All spectra.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn spectra(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.spectra())
    }

    /// Adds the spectrum of a text: `{name, bytes, region?, how, first_kev?, step_kev?}`.
    ///
    /// # Errors
    /// A text that is no spectrum, energies that are not known, no such region, too many spectra.
    pub fn add_spectrum(&mut self, settings: &JsValue) -> Result<JsValue, JsValue> {
        let bytes: Uint8Array = field(settings, "bytes").dyn_into().map_err(|_| {
            fault_out(Fault::bad_setting("Give the content of the file in `bytes`, as a Uint8Array."))
        })?;
        let plain = Object::assign(&Object::new(), settings.unchecked_ref());
        Reflect::delete_property(&plain, &"bytes".into())?;
        let settings = SpectrumSettings::read(from_js(plain.into())?).map_err(fault_out)?;
        to_js(&self.study.add_spectrum(settings, &bytes.to_vec()).map_err(fault_out)?)
    }

    /// A spectrum as a drawing, with the lines of elements: `{elements?, low_kev?, high_kev?}`.
    ///
    /// # Errors
    /// There is none of this id, something that is no element, limits without counts between them.
    pub fn spectrum(&self, id: &str, view: JsValue) -> Result<JsValue, JsValue> {
        let view = SpectrumView::read(from_js(view)?).map_err(fault_out)?;
        to_js(&self.study.spectrum(id, &view).map_err(fault_out)?)
    }

    /// Techniques that a point can be of.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn techniques(&self) -> Result<JsValue, JsValue> {
        to_js(&study::techniques())
    }

    /// Materials that a result can speak of: `[{id, name, other_names, colours}]`.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn materials(&self) -> Result<JsValue, JsValue> {
        to_js(&study::materials())
    }

    /// Layers that may lie over something else: `[{id, name, text, basis}]`.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn layers(&self) -> Result<JsValue, JsValue> {
        to_js(&study::layers())
    }
}
