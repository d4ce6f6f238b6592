//! What a search for a photo needs, handed to a worker of its own.

use super::arrays::{samples_in, sized};
use super::convert::{fault_out, field, from_js, set, to_js, unexpected};
use crate::geometry::PlaneTransform;
use crate::grid::{Grid, Samples, try_vec};
use crate::notice::Fault;
use crate::register::search::SearchInput;
use crate::study::Search;
use js_sys::{Array, Float32Array, Object, Uint8Array};
use serde::{Deserialize, Serialize};
use wasm_bindgen::{JsCast, JsValue};

/// What it is beside its pixels.
#[derive(Serialize, Deserialize)]
struct SearchHead {
    photo_factor: f64,
    map_factor: f64,
    aspect: f64,
    start: Option<[f64; 9]>,
    photo_size: (u32, u32),
}

/// `{head, photo, maps}`; the photo's bytes are red, green, blue of each pixel, so its array is three times as wide.
pub(super) fn search_out(search: &Search) -> Result<JsValue, JsValue> {
    let SearchInput { photo, photo_factor, maps, map_factor, aspect, start } = &search.input;
    let head = SearchHead {
        photo_factor: *photo_factor,
        map_factor: *map_factor,
        aspect: *aspect,
        start: start.as_ref().map(|plane| *plane.matrix()),
        photo_size: search.photo_size,
    };
    let out = Object::new();
    set(&out, "head", &to_js(&head)?)?;
    let bytes = Uint8Array::from(photo.data().as_flattened());
    set(&out, "photo", &sized(photo.width() * 3, photo.height(), &bytes)?)?;
    let list = Array::new();
    for map in maps {
        list.push(&sized(map.width(), map.height(), &Float32Array::from(map.data()))?);
    }
    set(&out, "maps", &list)?;
    Ok(out.into())
}

/// What [`search_out`] handed over.
pub(super) fn search_in(subject: &JsValue) -> Result<Search, JsValue> {
    let head: SearchHead = from_js(field(subject, "head"))?;
    let list: Array =
        field(subject, "maps").dyn_into().map_err(|_| fault_out(unexpected("a search without maps")))?;
    let maps = list.iter().map(|map| match samples_in(&map) {
        Ok(Samples::F32(map)) => Ok(map),
        Ok(_) => Err(fault_out(unexpected("a map of another type"))),
        Err(fault) => Err(fault_out(fault)),
    });
    let input = SearchInput {
        photo: photo_in(&field(subject, "photo")).map_err(fault_out)?,
        photo_factor: head.photo_factor,
        maps: maps.collect::<Result<_, JsValue>>()?,
        map_factor: head.map_factor,
        aspect: head.aspect,
        start: head.start.and_then(PlaneTransform::new),
    };
    Ok(Search { input, photo_size: head.photo_size })
}

fn photo_in(value: &JsValue) -> Result<Grid<[u8; 3]>, Fault> {
    let Samples::U8(bytes) = samples_in(value)? else { return Err(unexpected("a photo that is none")) };
    let mut pixels = try_vec(bytes.len() / 3)?;
    pixels.extend(bytes.data().as_chunks::<3>().0);
    Grid::from_vec(bytes.width() / 3, bytes.height(), pixels)
        .ok_or_else(|| unexpected("a photo that is none"))
}
