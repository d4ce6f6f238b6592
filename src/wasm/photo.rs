//! Photos decoded in a worker of their own.

use super::convert::{fault_out, field, from_js, set, to_js};
use crate::grid::{Grid, try_vec};
use crate::notice::Fault;
use crate::reading::{Decoded, Doubt, LONGEST_PHOTO_SIDE, Photo};
use crate::study::PhotoFile;
use js_sys::{Object, Uint8Array};
use wasm_bindgen::{JsCast, JsValue};

/// The formats of photos, as their notices name them.
const FORMATS: [&str; 3] = ["JPEG", "PNG", "TIFF"];

const DOUBTS: [(Doubt, &str); 3] = [(Doubt::None, "none"), (Doubt::Grey, "grey"), (Doubt::Scale, "scale")];

/// `{sha256, size, crc32, notices, format, doubt, photo: {width, height, factor, kept_width, kept_height, pixels}}`; without the
/// last three for a file that cannot be read.
pub(super) fn photo_out(file: &PhotoFile) -> Result<JsValue, JsValue> {
    let out = Object::new();
    set(&out, "sha256", &file.sha256.as_str().into())?;
    set(&out, "size", &(file.size as f64).into())?;
    set(&out, "crc32", &file.crc32.into())?;
    set(&out, "notices", &to_js(&file.notices)?)?;
    let Some(Decoded { format, photo, doubt, .. }) = &file.decoded else { return Ok(out.into()) };
    let word = DOUBTS.iter().find(|(one, _)| one == doubt).map_or("none", |(_, word)| word);
    set(&out, "format", &(*format).into())?;
    set(&out, "doubt", &word.into())?;
    let shown = Object::new();
    for (name, side) in [
        ("width", photo.size.0),
        ("height", photo.size.1),
        ("factor", photo.factor),
        ("kept_width", photo.pixels.width()),
        ("kept_height", photo.pixels.height()),
    ] {
        set(&shown, name, &side.into())?;
    }
    set(&shown, "pixels", &Uint8Array::from(photo.pixels.data().as_flattened()).into())?;
    set(&out, "photo", &shown.into())?;
    Ok(out.into())
}

/// What [`photo_out`] gave. Its parts are held against each other.
pub(super) fn photo_in(value: &JsValue) -> Result<PhotoFile, JsValue> {
    let unfit = || fault_out(Fault::bad_setting("A photo was handed in whose parts don't fit each other."));
    let text = |name: &str| field(value, name).as_string();
    let sha256 = text("sha256").ok_or_else(unfit)?;
    let size = field(value, "size").as_f64().filter(|size| *size >= 0.0).ok_or_else(unfit)? as u64;
    let crc32 = field(value, "crc32").as_f64().filter(|crc| (0.0..=f64::from(u32::MAX)).contains(crc));
    let crc32 = crc32.ok_or_else(unfit)? as u32;
    let notices = from_js(field(value, "notices"))?;
    let shown = field(value, "photo");
    if shown.is_undefined() {
        return Ok(PhotoFile { sha256, size, crc32, decoded: None, notices });
    }
    let format = FORMATS.into_iter().find(|format| text("format").as_deref() == Some(format));
    let doubt = DOUBTS.into_iter().find(|(_, word)| text("doubt").as_deref() == Some(word));
    let (format, (doubt, _)) = format.zip(doubt).ok_or_else(unfit)?;
    let side = |name: &str| {
        let side = field(&shown, name).as_f64();
        side.filter(|side| side.fract() == 0.0 && (1.0..=LONGEST_PHOTO_SIDE as f64).contains(side))
            .map(|side| side as u32)
            .ok_or_else(unfit)
    };
    let (size_of_all, factor) = ((side("width")?, side("height")?), side("factor")?);
    let (width, height) = (size_of_all.0.div_ceil(factor), size_of_all.1.div_ceil(factor));
    let array: Uint8Array = field(&shown, "pixels").dyn_into().map_err(|_| unfit())?;
    let length = u64::from(width) * u64::from(height);
    if u64::from(array.length()) != 3 * length {
        return Err(unfit());
    }
    let mut pixels: Vec<[u8; 3]> = try_vec(length).map_err(|error| fault_out(error.into()))?;
    pixels.resize(length as usize, [0; 3]);
    array.copy_to(pixels.as_flattened_mut());
    let pixels = Grid::from_vec(width, height, pixels).ok_or_else(unfit)?;
    let photo = Photo { pixels, size: size_of_all, factor };
    let decoded = Decoded { format, photo, doubt, findings: Vec::new() };
    Ok(PhotoFile { sha256, size, crc32, decoded: Some(decoded), notices })
}
