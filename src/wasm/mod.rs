//! The boundary: converts, calls, converts. The only module that knows wasm-bindgen; it holds no decision and no sentence
//! of its own. Memory of the core never leaves: every array that crosses is a copy.

mod archive;
mod arrays;
mod convert;
mod evidence;
mod findings;
mod known;
mod laying;
mod photo;
mod report;
mod search;
mod session;
mod sharing;
mod subject;

use convert::{answer_out, fault_out, from_js};
use js_sys::Function;
use wasm_bindgen::prelude::*;

pub use archive::{RestoredStudy, StudyReader, is_study};
pub use session::Session;
use subject::{derived_out, handed_in, subject_in};

/// Says in the console where a panic happened, before the instance traps.
#[wasm_bindgen(start)]
fn start() {
    std::panic::set_hook(Box::new(|info| web_sys::console::error_1(&JsValue::from_str(&info.to_string()))));
}

/// Version of the core.
#[wasm_bindgen]
pub fn version() -> String {
    env!("CARGO_PKG_VERSION").into()
}

/// Asks a question of a subject made by [`Session::subject`]; for a worker of its own. `on_progress` is called with
/// how far it is, from 0 to 1, and what it does.
///
/// # Errors
/// `{code, message, detail}`.
#[wasm_bindgen]
pub fn run(
    question: &str,
    settings: JsValue,
    subject: &JsValue,
    on_progress: &Function,
) -> Result<JsValue, JsValue> {
    let handed = handed_in(subject)?;
    let mut progress = |fraction: f64, text: &str| {
        // A listener that throws must not stop the computation.
        let _ = on_progress.call2(&JsValue::NULL, &fraction.into(), &text.into());
    };
    let subject = crate::ask::Subject::new(&handed.stack, &handed.regions, handed.beam_um);
    let subject = subject.with_known(&handed.known);
    let asked: serde_json::Value = from_js(settings)?;
    let (answer, rasters) =
        crate::ask::ask(question, asked.clone(), &subject, &mut progress).map_err(fault_out)?;
    answer_out(&answer, &rasters, &asked)
}

/// Looks for a photo of which [`Session::subject_to_align`] made a subject; for a worker of its own. `on_progress` as in
/// [`run`].
///
/// # Errors
/// `{code, message, detail}`.
#[wasm_bindgen]
pub fn find_alignment(subject: &JsValue, on_progress: &Function) -> Result<JsValue, JsValue> {
    let search = search::search_in(subject)?;
    let mut progress = |fraction: f64, text: &str| {
        // A listener that throws must not stop the search.
        let _ = on_progress.call2(&JsValue::NULL, &fraction.into(), &text.into());
    };
    convert::to_js(&crate::study::find_alignment(&search, &mut progress).map_err(fault_out)?)
}

/// Derives a map of a subject made by [`Session::subject_to_derive`]; for a worker of its own.
///
/// # Errors
/// `{code, message, detail}`.
#[wasm_bindgen]
pub fn derive(settings: JsValue, subject: &JsValue) -> Result<JsValue, JsValue> {
    let stack = subject_in(subject)?;
    let derivation = crate::study::Derivation::read(from_js(settings)?).map_err(fault_out)?;
    derived_out(&derivation.made_of(&stack).map_err(fault_out)?)
}

/// Decodes the photo of a file that holds nothing else, for [`Session::open_photo`]; for a worker of its own. Null for any
/// other file, which is to be opened as it is.
///
/// # Errors
/// None but of handing over: a file that cannot be read has a notice.
#[wasm_bindgen]
pub fn read_photo(name: &str, bytes: &[u8], way: Option<String>) -> Result<JsValue, JsValue> {
    match crate::study::PhotoFile::of(name, bytes, way.as_deref()) {
        Some(file) => photo::photo_out(&file),
        None => Ok(JsValue::NULL),
    }
}
