//! The study file: its pieces, and reading one part by part.

use super::Session;
use super::convert::{fault_out, set, to_js};
use crate::archive::{self, Reader, Restored};
use crate::notice::Fault;
use crate::zip::Piece;
use js_sys::{Array, Function, Object, Uint8Array};
use wasm_bindgen::prelude::*;

/// Whether a file is a study file, by its first 64 bytes.
#[wasm_bindgen]
pub fn is_study(head: &[u8]) -> bool {
    archive::is_study(head)
}

/// Pieces for JavaScript: an array of `Uint8Array` and of `{source, size}`, which stand for files that are not here.
pub(super) fn pieces_out(pieces: &[Piece]) -> Result<JsValue, JsValue> {
    let out = Array::new();
    for piece in pieces {
        match piece {
            Piece::Bytes(bytes) => out.push(&Uint8Array::from(bytes.as_slice())),
            Piece::Elsewhere { source, size } => {
                let one = Object::new();
                set(&one, "source", &source.as_str().into())?;
                set(&one, "size", &(*size as f64).into())?;
                out.push(&one)
            }
        };
    }
    Ok(out.into())
}

#[wasm_bindgen]
impl Session {
    /// The study file in pieces, in their order: `Uint8Array` or `{source, size}`, where the file of the SHA-256 `source` goes.
    ///
    /// # Errors
    /// More than a study file holds; no memory.
    pub fn save(&self) -> Result<JsValue, JsValue> {
        pieces_out(&archive::save(&self.study).map_err(fault_out)?)
    }

    /// Computes every finding anew, and says of each whether the same came out; for a worker of its own. `on_progress` is called
    /// with how far it is, from 0 to 1, and what it does.
    ///
    /// # Errors
    /// No memory.
    pub fn reproduce(&mut self, on_progress: &Function) -> Result<JsValue, JsValue> {
        let mut progress = |fraction: f64, text: &str| {
            // A listener that throws must not stop the computation.
            let _ = on_progress.call2(&JsValue::NULL, &fraction.into(), &text.into());
        };
        to_js(&self.study.reproduce(&mut progress).map_err(fault_out)?)
    }

    /// Names, sizes and hashes of the files that are open, in order.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn inputs(&self) -> Result<JsValue, JsValue> {
        to_js(self.study.inputs())
    }
}

/// Reads a study file. Ask what it [`StudyReader::wants`], [`StudyReader::give`] that, until it wants nothing more; then
/// [`StudyReader::finish`].
#[wasm_bindgen]
pub struct StudyReader {
    reader: Option<Reader>,
}

/// A study that was brought back: what is to be told of it, and the session.
#[wasm_bindgen]
pub struct RestoredStudy {
    restored: Restored,
}

fn ended() -> JsValue {
    fault_out(Fault::new("unexpected", "The study file was read to its end before."))
}

#[wasm_bindgen]
impl StudyReader {
    /// Of a file of so many bytes.
    #[wasm_bindgen(constructor)]
    pub fn new(size: f64) -> Self {
        Self { reader: Some(Reader::new(size as u64)) }
    }

    /// `{from, to, fraction, text}`: the bytes that come next, how far it is and what it does; null when nothing is wanted.
    ///
    /// # Errors
    /// It was finished before.
    pub fn wants(&self) -> Result<JsValue, JsValue> {
        let reader = self.reader.as_ref().ok_or_else(ended)?;
        let Some((from, to)) = reader.wants() else { return Ok(JsValue::NULL) };
        let (fraction, text) = reader.progress();
        let out = Object::new();
        for (name, number) in [("from", from as f64), ("to", to as f64), ("fraction", fraction)] {
            set(&out, name, &number.into())?;
        }
        set(&out, "text", &text.into())?;
        Ok(out.into())
    }

    /// Takes the bytes that were wanted.
    ///
    /// # Errors
    /// A file that cannot be restored.
    pub fn give(&mut self, bytes: &[u8]) -> Result<(), JsValue> {
        self.reader.as_mut().ok_or_else(ended)?.give(bytes).map_err(fault_out)
    }

    /// The study.
    ///
    /// # Errors
    /// A file that cannot be restored, or was not given to its end.
    pub fn finish(&mut self) -> Result<RestoredStudy, JsValue> {
        let reader = self.reader.take().ok_or_else(ended)?;
        Ok(RestoredStudy { restored: reader.finish().map_err(fault_out)? })
    }
}

#[wasm_bindgen]
impl RestoredStudy {
    /// `{maps, photos, notices, asks, is_kept}` of all that came back.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn opened(&self) -> Result<JsValue, JsValue> {
        to_js(&self.restored.opened)
    }

    /// `[{name, sha256, way, from, to}]`: where the files lie in the study file.
    ///
    /// # Errors
    /// None but of handing over.
    pub fn inputs(&self) -> Result<JsValue, JsValue> {
        to_js(&self.restored.inputs)
    }

    /// The session with the study.
    pub fn session(self) -> Session {
        Session { study: self.restored.study, last: crate::study::Record::default() }
    }
}
