//! Records to and from JavaScript.

use super::arrays::{raster_in, raster_out};
use crate::ask::{Answer, Rasters};
use crate::colour::{ClassColour, Rgb};
use crate::display::KeyEntry;
use crate::export::SavedFile;
use crate::notice::Fault;
use crate::study::{ScanRecord, Shown};
use js_sys::{Object, Reflect, Uint8Array, Uint8ClampedArray};
use serde::Serialize;
use serde::de::DeserializeOwned;
use wasm_bindgen::{JsCast, JsValue};

/// A record as plain data.
pub(super) fn to_js<T: Serialize + ?Sized>(value: &T) -> Result<JsValue, JsValue> {
    value
        .serialize(&serde_wasm_bindgen::Serializer::json_compatible())
        .map_err(|error| fault_out(unexpected(&error.to_string())))
}

/// Plain data as a record. By way of a JSON value, so that a field that is not known is refused and not passed over.
pub(super) fn from_js<T: DeserializeOwned>(value: JsValue) -> Result<T, JsValue> {
    let slip = |error: &dyn std::fmt::Display| {
        fault_out(Fault::bad_setting(format!("What was handed in is not understood: {error}.")))
    };
    let plain: serde_json::Value = serde_wasm_bindgen::from_value(value).map_err(|error| slip(&error))?;
    serde_json::from_value(plain).map_err(|error| slip(&error))
}

pub(super) fn unexpected(detail: &str) -> Fault {
    Fault { code: "unexpected", message: "A result could not be handed over.".into(), detail: detail.into() }
}

/// `{code, message, detail}`, to be thrown.
pub(super) fn fault_out(fault: Fault) -> JsValue {
    let out = Object::new();
    for (name, text) in [("code", fault.code), ("message", &fault.message), ("detail", &fault.detail)] {
        // Setting a field of a new plain object cannot fail.
        let _ = Reflect::set(&out, &name.into(), &text.into());
    }
    out.into()
}

pub(super) fn set(object: &Object, name: &str, value: &JsValue) -> Result<(), JsValue> {
    Reflect::set(object, &name.into(), value).map(drop)
}

/// A field; undefined where there is none.
pub(super) fn field(value: &JsValue, name: &str) -> JsValue {
    Reflect::get(value, &name.into()).unwrap_or(JsValue::UNDEFINED)
}

pub(super) fn answer_out(
    answer: &Answer,
    rasters: &Rasters,
    asked: &serde_json::Value,
) -> Result<JsValue, JsValue> {
    let arrays = Object::new();
    for (name, raster) in rasters {
        set(&arrays, name, &raster_out(raster)?)?;
    }
    let out = Object::new();
    set(&out, "answer", &to_js(answer)?)?;
    set(&out, "rasters", &arrays)?;
    set(&out, "asked", &to_js(asked)?)?;
    Ok(out.into())
}

/// The answer, its pixels and what was asked.
pub(super) fn answer_in(result: &JsValue) -> Result<(Answer, Rasters, serde_json::Value), JsValue> {
    let answer: Answer = from_js(field(result, "answer"))?;
    let arrays: Object = field(result, "rasters")
        .dyn_into()
        .map_err(|_| fault_out(unexpected("an answer without rasters")))?;
    let mut rasters = Rasters::new();
    for name in Object::keys(&arrays).iter().filter_map(|name| name.as_string()) {
        let raster = raster_in(&field(&arrays, &name)).map_err(fault_out)?;
        rasters.insert(name, raster);
    }
    Ok((answer, rasters, from_js(field(result, "asked"))?))
}

#[derive(Serialize)]
struct TickRecord {
    at: f64,
    text: String,
}

#[derive(Serialize)]
#[serde(untagged)]
enum KeyRecord {
    Swatch {
        kind: &'static str,
        label: String,
        full: String,
        half: Option<String>,
        /// What the pattern draws on the full colour.
        mark: Option<String>,
        pattern: &'static str,
        /// What the raster holds where this class is.
        #[serde(skip_serializing_if = "Option::is_none")]
        number: Option<u8>,
    },
    Bar {
        kind: &'static str,
        label: String,
        colours: Vec<String>,
        ticks: Vec<TickRecord>,
    },
}

fn key_record(entry: &KeyEntry) -> KeyRecord {
    let swatch = |kind, label: &str, full: Rgb, half: Rgb| KeyRecord::Swatch {
        kind,
        label: label.into(),
        full: full.hex(),
        half: Some(half.hex()),
        mark: None,
        pattern: "plain",
        number: None,
    };
    let flat = |kind, label: &str, colour: &ClassColour, number| KeyRecord::Swatch {
        kind,
        label: label.into(),
        full: colour.ground.hex(),
        half: None,
        mark: Some(colour.mark.hex()),
        pattern: colour.pattern.word(),
        number,
    };
    match entry {
        KeyEntry::Light { label, full, half } => swatch("light", label, *full, *half),
        KeyEntry::Both { label, full, half } => swatch("both", label, *full, *half),
        KeyEntry::Class { number, label, colour } => flat("class", label, colour, Some(*number)),
        KeyEntry::Fill { label, colour } => flat("fill", label, colour, None),
        KeyEntry::Bar { label, colours, ticks } => KeyRecord::Bar {
            kind: "bar",
            label: label.clone(),
            colours: colours.iter().map(|c| c.hex()).collect(),
            ticks: ticks.iter().map(|t| TickRecord { at: t.at, text: t.text.clone() }).collect(),
        },
    }
}

#[derive(Serialize)]
struct ScaleBarRecord {
    length_px: f64,
    text: String,
}

pub(super) fn scan_out(scan: &ScanRecord) -> Result<JsValue, JsValue> {
    let out = to_js(scan)?;
    Reflect::set(&out, &"text".into(), &scan.text().into())?;
    Ok(out)
}

pub(super) fn file_out(file: &SavedFile) -> Result<JsValue, JsValue> {
    let out = Object::new();
    set(&out, "bytes", &Uint8Array::from(file.bytes.as_slice()))?;
    set(&out, "type", &file.media_type.into())?;
    set(&out, "name", &file.name.as_str().into())?;
    Ok(out.into())
}

pub(super) fn picture_out(shown: &Shown) -> Result<JsValue, JsValue> {
    let key: Vec<KeyRecord> = shown.picture.key.iter().map(key_record).collect();
    let bar = shown
        .scale_bar
        .as_ref()
        .map(|bar| ScaleBarRecord { length_px: bar.length_px, text: bar.text.clone() });
    let out = Object::new();
    set(&out, "width", &shown.picture.width.into())?;
    set(&out, "height", &shown.picture.height.into())?;
    set(&out, "rgba", &Uint8ClampedArray::from(shown.picture.rgba.as_slice()))?;
    set(&out, "key", &to_js(&key)?)?;
    set(&out, "scale_bar", &to_js(&bar)?)?;
    set(&out, "scale_bar_reason", &shown.scale_bar_reason.as_str().into())?;
    set(&out, "caption", &shown.caption.as_str().into())?;
    set(&out, "source_width", &shown.source_size.0.into())?;
    set(&out, "source_height", &shown.source_size.1.into())?;
    Ok(out.into())
}
