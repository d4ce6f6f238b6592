//! Leaving something out of a study that is handed on.

use super::Session;
use super::convert::{fault_out, from_js, to_js};
use crate::archive::{self, LeaveOut};
use js_sys::{Function, Uint8Array};
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
impl Session {
    /// Leaves something out, and gives what was left out in words; for a worker of its own, of a copy. `on_progress` is called
    /// with how far it is, from 0 to 1, and what it does.
    ///
    /// # Errors
    /// Something that cannot be left out altogether: the session is of no further use then.
    pub fn leave_out(&mut self, what: JsValue, on_progress: &Function) -> Result<JsValue, JsValue> {
        let what = LeaveOut::read(from_js(what)?).map_err(fault_out)?;
        let mut progress = |fraction: f64, text: &str| {
            // A listener that throws must not stop the computation.
            let _ = on_progress.call2(&JsValue::NULL, &fraction.into(), &text.into());
        };
        to_js(&archive::leave_out(&mut self.study, &what, &mut progress).map_err(fault_out)?)
    }

    /// The bytes of an input that was written anew, by its SHA-256; null where the input is as it came.
    ///
    /// # Errors
    /// No memory.
    pub fn rewritten(&self, sha256: &str) -> Result<JsValue, JsValue> {
        let bytes = archive::rewritten(&self.study, sha256).map_err(fault_out)?;
        Ok(bytes.map_or(JsValue::NULL, |bytes| Uint8Array::from(bytes.as_slice()).into()))
    }

    /// How large the study of a copy will be: `{bytes, exact, text}`.
    ///
    /// # Errors
    /// As `save`.
    pub fn copy_size(&self, what: JsValue) -> Result<JsValue, JsValue> {
        let what = LeaveOut::read(from_js(what)?).map_err(fault_out)?;
        to_js(&archive::expected(&self.study, &what).map_err(fault_out)?)
    }
}
