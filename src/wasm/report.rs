//! The report.

use super::Session;
use super::convert::{fault_out, from_js};
use crate::report::{ReportSettings, html};
use js_sys::Function;
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
impl Session {
    /// The report as HTML text; for a worker of its own, of a copy: questions are asked again for its figures. `on_progress` is
    /// called with how far it is, from 0 to 1, and what it does.
    ///
    /// # Errors
    /// Settings that are not understood; no memory.
    pub fn report(&mut self, settings: JsValue, on_progress: &Function) -> Result<String, JsValue> {
        let settings = if settings.is_undefined() { JsValue::NULL } else { settings };
        let settings = ReportSettings::read(from_js(settings)?).map_err(fault_out)?;
        let mut progress = |fraction: f64, text: &str| {
            // A listener that throws must not stop the computation.
            let _ = on_progress.call2(&JsValue::NULL, &fraction.into(), &text.into());
        };
        html(&mut self.study, &settings, &mut progress).map_err(fault_out)
    }
}
