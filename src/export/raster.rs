//! Pixels of an answer as numbers.

use super::account::{Account, lies, step_of};
use super::map::{NoFloats, float, float_array, tiff};
use super::table::title_of;
use super::tiff_file::{self, About};
use super::{Format, SavedFile, no_such_format};
use crate::ask::{Answer, Raster};
use crate::grid::{Grid, try_vec};
use crate::notice::Fault;
use crate::npy;
use crate::stack::{Map, MapId};
use crate::study::Study;
use serde::Deserialize;
use serde_json::{Value, json};

/// Which pixels of which answer are saved, and how.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct RasterOptions {
    answer: String,
    raster: String,
    #[serde(default = "tiff")]
    format: Format,
}

/// What [`super::export`] says of "raster".
pub fn saved(study: &Study, options: &RasterOptions) -> Result<SavedFile, Fault> {
    let RasterOptions { raster: name, format, .. } = options;
    let (answer, rasters) = study.held_answer(&options.answer)?;
    let Some(raster) = rasters.get(name) else {
        let known: Vec<&str> = rasters.keys().map(String::as_str).collect();
        let name: String = name.chars().take(40).collect();
        return Err(Fault::bad_setting(if known.is_empty() {
            "This answer has no pixels to save.".to_owned()
        } else {
            format!("This answer has no pixels called “{name}”. There are: {}.", known.join(", "))
        }));
    };
    // On the grid of its maps, or a drawing of numbers that lies nowhere on the object.
    let map = answer.inputs.first().and_then(|input| study.stack().by_id(&MapId::from_text(&input.id)));
    let map = map.filter(|map| map.plane.size() == raster.size());
    let mut account = Account::of("raster");
    account.put_answer(answer)?;
    account.put("raster", json!(name));
    account.put("lies", map.map_or(Value::Null, |map| lies(map.orientation, None)));
    account.put("step", map.map_or(Value::Null, |map| step_of(study, map)));
    account.put("values", meaning(answer, name, raster));
    let title = format!("{}, {name}", title_of(answer));
    let bytes = match (format, raster) {
        (Format::Tiff, raster) => {
            let step = map.and_then(|map: &Map| study.stack().step_of(map));
            let record = account.text();
            let about = About { size: raster.size(), step, name: &title, record: &record };
            match raster {
                Raster::U8(grid) => tiff_file::of_bytes(&about, grid.data())?,
                Raster::F64(grid) => {
                    tiff_file::of_floats(&about, &floats(grid).map_err(|trouble| trouble.said(&title))?)?
                }
            }
        }
        (Format::Npy, raster) => array(raster)?,
        (Format::Npz, raster) => npy::npz(&[("raster", &array(raster)?)], &account.text())?,
        (Format::Png | Format::Csv | Format::Json, _) => return Err(no_such_format("raster", *format)),
    };
    Ok(format.file(&title, bytes))
}

/// What its numbers are.
fn meaning(answer: &Answer, name: &str, raster: &Raster) -> Value {
    match (name, raster) {
        ("classes", Raster::U8(_)) => json!({ "type": "uint8", "meaning": numbered(&answer.class_labels()) }),
        ("zones", Raster::U8(_)) => json!({ "type": "uint8", "meaning": numbered(&answer.zones) }),
        (_, Raster::U8(_)) => json!({ "type": "uint8" }),
        (_, Raster::F64(_)) => json!({ "type": "float", "blank": "NaN" }),
    }
}

fn numbered(labels: &[String]) -> Value {
    let named = |(number, label): (usize, &String)| (number.to_string(), Value::from(label.as_str()));
    Value::Object(labels.iter().enumerate().map(named).collect())
}

fn floats(grid: &Grid<f64>) -> Result<Vec<f32>, NoFloats> {
    let mut out: Vec<f32> = try_vec(grid.len()).map_err(NoFloats::Memory)?;
    for &value in grid.data() {
        out.push(float(value)?.0);
    }
    Ok(out)
}

fn array(raster: &Raster) -> Result<Vec<u8>, Fault> {
    match raster {
        Raster::U8(grid) => {
            let mut out = npy::begin("|u1", (grid.width(), grid.height()), 1)?;
            out.extend_from_slice(grid.data());
            Ok(out)
        }
        Raster::F64(grid) => float_array(grid),
    }
}
