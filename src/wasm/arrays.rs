//! Typed arrays, by copy.

use super::convert::{fault_out, field, set};
use crate::ask::Raster;
use crate::grid::{Grid, Mask, Samples, try_vec};
use crate::notice::Fault;
use js_sys::{
    Float32Array, Float64Array, Int8Array, Int16Array, Int32Array, Object, Uint8Array, Uint16Array,
    Uint32Array,
};
use wasm_bindgen::{JsCast, JsValue};

/// `{width, height, data}`, every bit as stored.
pub(super) fn samples_out(samples: &Samples) -> Result<JsValue, JsValue> {
    let data: JsValue = match samples {
        Samples::U8(g) => Uint8Array::from(g.data()).into(),
        Samples::I8(g) => Int8Array::from(g.data()).into(),
        Samples::U16(g) => Uint16Array::from(g.data()).into(),
        Samples::I16(g) => Int16Array::from(g.data()).into(),
        Samples::U32(g) => Uint32Array::from(g.data()).into(),
        Samples::I32(g) => Int32Array::from(g.data()).into(),
        Samples::F32(g) => Float32Array::from(g.data()).into(),
        Samples::F64(g) => Float64Array::from(g.data()).into(),
    };
    sized(samples.width(), samples.height(), &data)
}

pub(super) fn raster_out(raster: &Raster) -> Result<JsValue, JsValue> {
    let (width, height) = raster.size();
    let data: JsValue = match raster {
        Raster::U8(grid) => Uint8Array::from(grid.data()).into(),
        Raster::F64(grid) => Float64Array::from(grid.data()).into(),
    };
    sized(width, height, &data)
}

pub(super) fn sized(width: u32, height: u32, data: &JsValue) -> Result<JsValue, JsValue> {
    let out = Object::new();
    set(&out, "width", &width.into())?;
    set(&out, "height", &height.into())?;
    set(&out, "data", data)?;
    Ok(out.into())
}

fn size_in(value: &JsValue) -> Result<(u32, u32), Fault> {
    let side = |name| {
        field(value, name).as_f64().filter(|v| v.fract() == 0.0 && (0.0..4.3e9).contains(v)).map(|v| v as u32)
    };
    side("width")
        .zip(side("height"))
        .ok_or_else(|| Fault::bad_setting("An array without width and height was handed in."))
}

fn unfit() -> Fault {
    Fault::bad_setting("An array was handed in whose length or type does not fit.")
}

pub(super) fn samples_in(value: &JsValue) -> Result<Samples, Fault> {
    let (width, height) = size_in(value)?;
    let data = field(value, "data");
    macro_rules! first_that_fits {
        ($($array:ty => $variant:ident),+) => {
            $(if let Some(array) = data.dyn_ref::<$array>() {
                return Grid::from_vec(width, height, array.to_vec()).map(Samples::$variant).ok_or_else(unfit);
            })+
        };
    }
    first_that_fits!(
        Uint8Array => U8, Int8Array => I8, Uint16Array => U16, Int16Array => I16,
        Uint32Array => U32, Int32Array => I32, Float32Array => F32, Float64Array => F64
    );
    Err(unfit())
}

pub(super) fn raster_in(value: &JsValue) -> Result<Raster, Fault> {
    match samples_in(value)? {
        Samples::U8(grid) => Ok(Raster::U8(grid)),
        Samples::F64(grid) => Ok(Raster::F64(grid)),
        _ => Err(unfit()),
    }
}

/// `{width, height, data}` with a byte a pixel: 1 inside, 0 outside.
pub(super) fn mask_out(mask: &Mask) -> Result<JsValue, JsValue> {
    let mut bytes: Vec<u8> = try_vec(mask.len()).map_err(|error| fault_out(error.into()))?;
    bytes.extend(mask.data().iter().map(|&inside| u8::from(inside)));
    sized(mask.width(), mask.height(), &Uint8Array::from(bytes.as_slice()))
}

/// Every byte but 0 is inside.
pub(super) fn mask_in(value: &JsValue) -> Result<Mask, Fault> {
    let Samples::U8(grid) = samples_in(value)? else { return Err(unfit()) };
    let mut inside = try_vec(grid.len())?;
    inside.extend(grid.data().iter().map(|&byte| byte != 0));
    Mask::from_vec(grid.width(), grid.height(), inside).ok_or_else(unfit)
}

pub(super) fn grid_out(grid: &Grid<f64>) -> Result<JsValue, JsValue> {
    sized(grid.width(), grid.height(), &Float64Array::from(grid.data()).into())
}

pub(super) fn grid_in(value: &JsValue) -> Result<Grid<f64>, Fault> {
    match samples_in(value)? {
        Samples::F64(grid) => Ok(grid),
        _ => Err(unfit()),
    }
}
