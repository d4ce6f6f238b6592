//! Findings, what is said of the object, and the whole state: as it is, as it was, as it shall be.

use super::Session;
use super::convert::{fault_out, field, from_js, set, to_js};
use crate::study::{AboutRecord, FindingSettings, KeepSettings, difference};
use js_sys::{Array, Object, Uint8Array};
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::*;

#[wasm_bindgen]
impl Session {
    /// What changed since this was last called: `{record, change, blobs}` with the state now, the change in words, and the
    /// bytes that the state names newly, `[{sha256, bytes}]`.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn changed(&mut self) -> Result<JsValue, JsValue> {
        let now = self.study.record();
        let change = difference(&self.last, &now);
        let blobs = Array::new();
        for (sha256, bytes) in self.study.take_new_blobs() {
            let one = Object::new();
            set(&one, "sha256", &sha256.into())?;
            set(&one, "bytes", &Uint8Array::from(bytes.as_ref()))?;
            blobs.push(&one);
        }
        let out = Object::new();
        set(&out, "record", &to_js(&now)?)?;
        set(&out, "change", &change.into())?;
        set(&out, "blobs", &blobs)?;
        self.last = now;
        Ok(out.into())
    }

    /// Takes in bytes that a record names, `[{sha256, bytes}]`, before it is applied; they have the names of their content.
    ///
    /// # Errors
    /// Something without bytes.
    pub fn give_blobs(&mut self, blobs: &JsValue) -> Result<(), JsValue> {
        for one in Array::from(blobs).iter() {
            let bytes: Uint8Array = field(&one, "bytes")
                .dyn_into()
                .map_err(|_| fault_out(super::convert::unexpected("a blob without bytes")))?;
            self.study.give_blob(bytes.to_vec());
        }
        Ok(())
    }

    /// Makes the study that of a record, with the files that are open: `{missing}`, the hashes of those that are not.
    ///
    /// # Errors
    /// A record that is not understood; nothing is changed then.
    pub fn restate(&mut self, record: JsValue) -> Result<JsValue, JsValue> {
        let missing = self.study.restate(from_js(record)?).map_err(fault_out)?;
        let missing: Vec<&str> = missing.iter().map(|input| input.sha256.as_str()).collect();
        let out = Object::new();
        set(&out, "missing", &to_js(&missing)?)?;
        Ok(out.into())
    }

    /// What is said of the object and the study.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn about(&self) -> Result<JsValue, JsValue> {
        to_js(self.study.about())
    }

    /// Says it, all in one go.
    ///
    /// # Errors
    /// A text that is too long.
    pub fn set_about(&mut self, about: JsValue) -> Result<JsValue, JsValue> {
        let about = AboutRecord::read(from_js(about)?).map_err(fault_out)?;
        to_js(self.study.set_about(about).map_err(fault_out)?)
    }

    /// Keeps an answer or a view: `{answer?, picture?, title?, note?, scene?}`.
    ///
    /// # Errors
    /// An answer that is no longer held, or nothing to be kept.
    pub fn keep(&mut self, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = KeepSettings::read(from_js(settings)?).map_err(fault_out)?;
        to_js(&self.study.keep(settings).map_err(fault_out)?)
    }

    /// All findings, in their order.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn findings(&self) -> Result<JsValue, JsValue> {
        to_js(&self.study.findings())
    }

    /// A finding with its answer, settings and scene, and its kept picture as `png`, null without one.
    ///
    /// # Errors
    /// There is none of this id.
    pub fn finding(&self, id: &str) -> Result<JsValue, JsValue> {
        let out = to_js(&self.study.finding(id).map_err(fault_out)?)?;
        let png = self.study.kept_png(id).map_err(fault_out)?;
        set(out.unchecked_ref(), "png", &png.map_or(JsValue::NULL, |png| Uint8Array::from(png).into()))?;
        Ok(out)
    }

    /// Changes title, note or place of a finding.
    ///
    /// # Errors
    /// There is none of this id, or no such place.
    pub fn set_finding(&mut self, id: &str, settings: JsValue) -> Result<JsValue, JsValue> {
        let settings = FindingSettings::read(from_js(settings)?).map_err(fault_out)?;
        to_js(&self.study.set_finding(id, settings).map_err(fault_out)?)
    }

    /// Lets a finding rest on a newly asked answer; a view on what is there now.
    ///
    /// # Errors
    /// There is none of this id, or an answer to another question.
    pub fn renew_finding(&mut self, id: &str, answer: Option<String>) -> Result<JsValue, JsValue> {
        to_js(&self.study.renew_finding(id, answer.as_deref()).map_err(fault_out)?)
    }
}

/// What changed from one record to another, in words; empty where nothing did.
///
/// # Errors
/// Something that is no record.
#[wasm_bindgen]
pub fn difference_of(before: JsValue, after: JsValue) -> Result<String, JsValue> {
    Ok(difference(&from_js(before)?, &from_js(after)?))
}
