//! Maps as numbers.

use super::account::Account;
use super::tiff_file::{self, About};
use super::{Format, SavedFile, no_such_format};
use crate::grid::{Grid, Samples, try_filled_vec, try_vec};
use crate::notice::Fault;
use crate::npy;
use crate::stack::{Map, Plane};
use crate::study::Study;
use serde::Deserialize;
use serde_json::json;

/// Which map is saved, and how.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MapOptions {
    map: String,
    #[serde(default = "tiff")]
    format: Format,
}

pub(super) fn tiff() -> Format {
    Format::Tiff
}

/// What [`super::export`] says of "map".
pub fn saved(study: &Study, options: &MapOptions) -> Result<SavedFile, Fault> {
    let map = study.stack().find(&options.map)?;
    let label = map.label();
    let mut account = Account::of("map");
    account.put_map(study, map)?;
    match options.format {
        Format::Tiff => {
            let (pixels, is_rounded) = floats(&map.plane).map_err(|trouble| trouble.said(&label))?;
            account.put("values", json!({ "type": "float32", "blank": "NaN", "rounded": is_rounded }));
            let about = About {
                size: map.plane.size(),
                step: study.stack().step_of(map),
                name: &label,
                record: &account.text(),
            };
            Ok(options.format.file(&label, tiff_file::of_floats(&about, &pixels)?))
        }
        Format::Npy => Ok(options.format.file(&label, array(&map.plane)?)),
        Format::Npz => {
            account.put("values", json!({ "map.npy": descr(&map.plane), "blank": "NaN" }));
            let values = array(&map.plane)?;
            let sigma = map.sigma.as_ref().map(float_array).transpose()?;
            if sigma.is_some() {
                account.put(
                    "sigma.npy",
                    json!({ "is": "one standard deviation of each value", "from": sigma_from(map) }),
                );
            }
            let mut arrays: Vec<(&str, &[u8])> = vec![("map", &values)];
            arrays.extend(sigma.as_ref().map(|sigma| ("sigma", sigma.as_slice())));
            Ok(options.format.file(&label, npy::npz(&arrays, &account.text())?))
        }
        Format::Png | Format::Csv | Format::Json => Err(no_such_format("map", options.format)),
    }
}

fn sigma_from(map: &Map) -> String {
    match &map.error_map {
        Some(id) => format!("the map {id}"),
        None => "the maps that it is made of".into(),
    }
}

/// Why a map does not become 32-bit floats.
pub(super) enum NoFloats {
    Memory(crate::notice::OutOfMemory),
    TooLarge,
}

impl NoFloats {
    pub(super) fn said(self, label: &str) -> Fault {
        match self {
            Self::Memory(memory) => memory.into(),
            Self::TooLarge => Fault::bad_setting(format!(
                "{label} has values that a 32-bit float does not hold. Save it as npz or npy."
            )),
        }
    }
}

/// One value as a 32-bit float, and whether it was rounded; a blank is the one NaN that is written.
///
/// # Errors
/// A number that is too large.
pub(super) fn float(value: f64) -> Result<(f32, bool), NoFloats> {
    if value.is_nan() {
        return Ok((f32::NAN, false));
    }
    let narrow = value as f32;
    if narrow.is_infinite() { Err(NoFloats::TooLarge) } else { Ok((narrow, f64::from(narrow) != value)) }
}

/// Every pixel, and whether any was rounded.
fn floats(plane: &Plane) -> Result<(Vec<f32>, bool), NoFloats> {
    let mut out: Vec<f32> = try_vec(plane.len()).map_err(NoFloats::Memory)?;
    let mut row = try_filled_vec(u64::from(plane.width()), 0.0f64).map_err(NoFloats::Memory)?;
    let mut any_rounded = false;
    for y in 0..plane.height() {
        plane.read_row(y, &mut row);
        for &value in &row {
            let (narrow, is_rounded) = float(value)?;
            any_rounded |= is_rounded;
            out.push(narrow);
        }
    }
    Ok((out, any_rounded))
}

/// The type of a map's array: its own where its numbers are used as read, else 64-bit floats.
fn descr(plane: &Plane) -> &'static str {
    if !plane.reading().is_plain() {
        return "<f8";
    }
    npy::descr(plane.sample_type())
}

fn array(plane: &Plane) -> Result<Vec<u8>, Fault> {
    let descr = descr(plane);
    let each = if descr == "<f8" { 8 } else { plane.sample_type().size() };
    let mut out = npy::begin(descr, plane.size(), each)?;
    if !plane.reading().is_plain() || matches!(plane.samples(), Samples::F64(_)) {
        let mut row = try_filled_vec(u64::from(plane.width()), 0.0f64)?;
        for y in 0..plane.height() {
            plane.read_row(y, &mut row);
            row.iter().for_each(|v| out.extend_from_slice(&canonical(*v).to_le_bytes()));
        }
        return Ok(out);
    }
    match plane.samples() {
        Samples::F32(grid) => {
            let blank = |v: &f32| if v.is_finite() { *v } else { f32::NAN };
            grid.data().iter().for_each(|v| out.extend_from_slice(&blank(v).to_le_bytes()));
        }
        whole => out.extend_from_slice(&whole.le_bytes()?),
    }
    Ok(out)
}

/// An array of 64-bit floats; every NaN is the canonical one.
pub(super) fn float_array(grid: &Grid<f64>) -> Result<Vec<u8>, Fault> {
    let mut out = npy::begin("<f8", (grid.width(), grid.height()), 8)?;
    grid.data().iter().for_each(|v| out.extend_from_slice(&canonical(*v).to_le_bytes()));
    Ok(out)
}

fn canonical(value: f64) -> f64 {
    if value.is_nan() { f64::NAN } else { value }
}
