//! The pixels of a region: as they lie on the maps, or on the pixels of a map's file, where other programs find its spectra.

use super::account::{Account, input, lies};
use super::csv::Csv;
use super::tiff_file::{self, About};
use super::{Format, SavedFile, no_such_format};
use crate::PROGRAM;
use crate::geometry::{Frame, Orientation, Step};
use crate::grid::{Mask, try_vec};
use crate::notice::Fault;
use crate::npy;
use crate::region::png_with_step;
use crate::stack::{Map, file_stem};
use crate::study::Study;
use serde::Deserialize;
use serde_json::{Value, json};

/// Which region is saved, and how.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MaskOptions {
    region: String,
    #[serde(default = "png")]
    format: Format,
    /// The map on whose file's pixels it is laid; empty for the grid as the maps lie now.
    as_file_of: Option<String>,
    /// For CSV: whether the settings stand in it.
    #[serde(default = "yes")]
    record: bool,
}

fn png() -> Format {
    Format::Png
}

pub(super) fn yes() -> bool {
    true
}

/// A mask of the grid on the pixels of a map's file as they were read: what was turned, mirrored and framed is undone. Beside
/// it how many of its pixels the file does not have; pixels of the file that the map does not show are outside.
///
/// # Errors
/// A derived map, which has no file; one of another scan or of another size than the mask; no memory.
pub fn on_file(mask: &Mask, map: &Map) -> Result<(Mask, u64), Fault> {
    let label = map.label();
    if map.making.is_some() {
        return Err(Fault::bad_setting(format!(
            "{label} was derived, so that there is no file of it. Name a map that was read."
        )));
    }
    if map.field != 0 {
        return Err(Fault::bad_setting(format!(
            "{label} is of another scan, and regions lie on the grid of the first one. Name a map of that."
        )));
    }
    if map.plane.size() != (mask.width(), mask.height()) {
        return Err(Fault::bad_setting(format!(
            "{label} has another number of pixels than the grid on which the region lies. Name a map of that size."
        )));
    }
    let unturned = mask.oriented(map.orientation.inverse())?;
    let Some(frame) = map.frame else { return Ok((unturned, 0)) };
    let (width, height) = map.size_as_read();
    let back = Frame { x: -frame.x, y: -frame.y, width, height };
    let out = unturned.framed(&back)?;
    let lost = inside(&unturned) - inside(&out);
    Ok((out, lost))
}

fn inside(mask: &Mask) -> u64 {
    mask.data().iter().filter(|&&inside| inside).count() as u64
}

/// A mask ready to be written.
struct Laid {
    mask: Mask,
    step: Option<Step>,
    name: String,
    account: Account,
}

/// What [`super::export`] says of "mask". PNG: grey, 255 inside, 0 outside. TIFF: the same. NPY and NPZ: an array of booleans.
/// CSV: row and column of every pixel inside, from 0 on.
pub fn saved(study: &Study, options: &MaskOptions) -> Result<SavedFile, Fault> {
    let format = options.format;
    if format == Format::Json {
        return Err(no_such_format("mask", format));
    }
    let Laid { mask, step, name, account } = laid(study, options)?;
    let (summary, _) = study.region(&options.region)?;
    let bytes = match format {
        Format::Png => {
            let words = [summary.role, summary.text, summary.makers_text];
            let about: Vec<String> = words.into_iter().filter(|text| !text.is_empty()).collect();
            let texts = [
                ("Title", summary.name.as_str()),
                ("Description", &about.join("; ")),
                ("Software", PROGRAM),
                ("Settings", &account.text()),
            ];
            png_with_step(&mask, &texts, step)?
        }
        Format::Tiff => {
            let mut pixels: Vec<u8> = try_vec(mask.len())?;
            pixels.extend(mask.data().iter().map(|&inside| if inside { 255 } else { 0 }));
            let size = (mask.width(), mask.height());
            let about = About { size, step, name: &summary.name, record: &account.text() };
            tiff_file::of_bytes(&about, &pixels)?
        }
        Format::Npy => array(&mask)?,
        Format::Npz => npy::npz(&[("mask", &array(&mask)?)], &account.text())?,
        Format::Csv => list(&mask, options.record.then(|| account.text()))?,
        Format::Json => return Err(no_such_format("mask", format)),
    };
    Ok(format.file(&name, bytes))
}

/// The mask as it is asked for.
fn laid(study: &Study, options: &MaskOptions) -> Result<Laid, Fault> {
    let (summary, mask) = study.region(&options.region)?;
    let mut account = Account::of("mask");
    account.put_region(study, &options.region)?;
    let name = format!("{} mask", summary.name);
    let (mask, lost, step, lies, name) = match options.as_file_of.as_deref().map(str::trim) {
        Some(of) if !of.is_empty() => {
            let map = study.stack().find(of)?;
            let (mask, lost) = on_file(mask, map)?;
            let step = study.stack().step_of(map).map(|step| step.oriented(map.orientation));
            let lies = json!({
                "as": "in the file", "file": input(map),
                "text": "pixels of the file as it is stored: row 0 is its first row, column 0 its first column",
            });
            (mask, lost, step, lies, format!("{name}, pixels of {}", file_stem(&map.source.file)))
        }
        stated => {
            if stated.is_none() && matches!(options.format, Format::Npy | Format::Npz | Format::Csv) {
                lies_as_files(study, mask)?;
            }
            let step = step_of_grid(study, mask);
            (mask.clone(), 0, step, shown(study.stack().orientation()), name)
        }
    };
    account.put("lies", lies);
    account.put("size", json!([mask.width(), mask.height()]));
    account.put("pixels_inside", json!(inside(&mask)));
    account.put("pixels_beside_the_file", json!(lost));
    account.put("step", step.map_or(Value::Null, |step| json!({ "x_um": step.x_um(), "y_um": step.y_um() })));
    Ok(Laid { mask, step, name, account })
}

fn shown(orientation: Orientation) -> Value {
    let mut out = lies(orientation, None);
    out["as"] = json!("as the maps are shown");
    out
}

/// The step of the grid, where the mask is of the grid as it is now.
fn step_of_grid(study: &Study, mask: &Mask) -> Option<Step> {
    let is_now = study.stack().on_grid().any(|map| map.plane.size() == (mask.width(), mask.height()));
    study.stack().step().map(|(step, _)| step).filter(|_| is_now)
}

/// That pixels of the grid are those of the files, for programs that read the files themselves.
///
/// # Errors
/// A map lies otherwise than its file.
fn lies_as_files(study: &Study, mask: &Mask) -> Result<(), Fault> {
    let lies_otherwise = |map: &&Map| {
        let is_of_mask = map.making.is_none() && map.plane.size() == (mask.width(), mask.height());
        is_of_mask && (!map.orientation.is_plain() || map.frame.is_some())
    };
    let Some(map) = study.stack().on_grid().find(lies_otherwise) else { return Ok(()) };
    let text = format!(
        "{} is turned, mirrored or cut here, so that its pixels are not those of its file. Say in `as_file_of` for which map's file the mask shall be, or leave that empty for the maps as they lie here.",
        map.label()
    );
    Err(Fault::new("which_way_up", text))
}

fn array(mask: &Mask) -> Result<Vec<u8>, Fault> {
    let mut out = npy::begin("|b1", (mask.width(), mask.height()), 1)?;
    out.extend(mask.data().iter().map(|&inside| u8::from(inside)));
    Ok(out)
}

/// Row and column of every pixel inside.
fn list(mask: &Mask, record: Option<String>) -> Result<Vec<u8>, Fault> {
    if inside(mask) == 0 {
        return Err(Fault::bad_setting(
            "No pixel of the region lies in this file, so that there is no list.",
        ));
    }
    let mut csv = Csv::with(record);
    csv.words("row from 0");
    csv.words("column from 0");
    csv.end();
    for (y, row) in mask.rows().enumerate() {
        for x in (0..row.len()).filter(|&x| row[x]) {
            csv.number(y as f64);
            csv.number(x as f64);
            csv.end();
        }
    }
    Ok(csv.bytes())
}
