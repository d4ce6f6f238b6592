//! What leaves a study as a file of its own: pictures, maps, pixels of answers, masks, answers, tables, spectra, the settings
//! record. Each file that has room for it carries what it was made with and the hashes of what it was made of
//! ([`account`]). The same study and options give the same bytes.

mod account;
pub mod csv;
mod lists;
mod map;
mod mask;
mod name;
mod offers;
mod raster;
mod table;
mod tiff_file;

pub use mask::on_file;
pub use offers::{FormatText, Offer, offers};

use crate::notice::Fault;
use crate::study::{ExportSettings, Study};
use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::Value;

/// A file to be handed to the user.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SavedFile {
    /// Its bytes.
    pub bytes: Vec<u8>,
    /// Its media type.
    pub media_type: &'static str,
    /// A name for it that every usual file system takes, with its ending.
    pub name: String,
}

/// How a file is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
#[serde(rename_all = "lowercase")]
enum Format {
    Png,
    Tiff,
    Npy,
    Npz,
    Csv,
    Json,
}

impl Format {
    fn word(self) -> &'static str {
        match self {
            Self::Png => "png",
            Self::Tiff => "tiff",
            Self::Npy => "npy",
            Self::Npz => "npz",
            Self::Csv => "csv",
            Self::Json => "json",
        }
    }

    fn ending(self) -> &'static str {
        if self == Self::Tiff { "tif" } else { self.word() }
    }

    fn media_type(self) -> &'static str {
        match self {
            Self::Png => "image/png",
            Self::Tiff => "image/tiff",
            // No type is registered for these two; the second is a ZIP file.
            Self::Npy => "application/octet-stream",
            Self::Npz => "application/zip",
            Self::Csv => "text/csv",
            Self::Json => "application/json",
        }
    }

    /// A file of this format; `stem` becomes its name.
    fn file(self, stem: &str, bytes: Vec<u8>) -> SavedFile {
        SavedFile { bytes, media_type: self.media_type(), name: name::file_name(stem, self.ending()) }
    }
}

/// The error of a format that something is not written in.
fn no_such_format(what: &str, format: Format) -> Fault {
    let offers = offers();
    let formats = offers.iter().filter(|offer| offer.what == what).flat_map(|offer| &offer.formats);
    let known: Vec<&str> = formats.map(|format| format.format).collect();
    Fault::bad_setting(format!(
        "“{what}” is not saved as {}. There are: {}.",
        format.word(),
        known.join(", ")
    ))
}

fn understood<T: DeserializeOwned>(options: Value) -> Result<T, Fault> {
    let options = if options.is_null() { Value::Object(serde_json::Map::new()) } else { options };
    serde_json::from_value(options)
        .map_err(|error| Fault::bad_setting(format!("How to export is not understood: {error}.")))
}

/// No options at all.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Nothing {}

/// Something of a study as a file; [`offers`] lists what there is. Options that are not known are refused.
///
/// - "picture" `{settings, width_px or width_mm, dpi, title}`: PNG with key, scale bar and caption ([`Study::saved_picture`]).
/// - "map" `{map, format}`: a map as it is used: as it lies now, blank pixels NaN, a stated scale undone. "tiff": 32-bit float
///   with the step as resolution; "npz": `map.npy`, `sigma.npy` where its errors are known, `record.json`; "npy": the array alone,
///   for which there is no room to say what it is. Arrays keep the type of the map where its numbers are used as read, else
///   they are 64-bit floats.
/// - "raster" `{answer, raster, format}`: pixels of an answer that is still held; classes and zones in 8 bits.
/// - "mask" `{region, format, as_file_of}`: the pixels of a region, see [`on_file`].
/// - "answer" `{answer}`: JSON as it is kept; SHA-256 of it with an empty `id` is its id.
/// - "table", "profile" `{answer, record}`; "regions_table", "points", "files" `{record}`; "spectrum" `{spectrum, record}`:
///   CSV, with the settings in its last column unless `record` is false.
/// - "record": JSON, everything that was stated of the study.
///
/// # Errors
/// Something that cannot be exported or is not there; options that are not understood; no memory.
pub fn export(study: &mut Study, what: &str, options: Value) -> Result<SavedFile, Fault> {
    match what {
        "picture" => {
            let settings: ExportSettings = understood(options)?;
            let bytes = study.saved_picture(&settings)?;
            let title = settings.title.trim();
            Ok(Format::Png.file(if title.is_empty() { "picture" } else { title }, bytes))
        }
        "map" => map::saved(study, &understood(options)?),
        "raster" => raster::saved(study, &understood(options)?),
        "mask" => mask::saved(study, &understood(options)?),
        "answer" => table::answer(study, &understood(options)?),
        "table" => table::table(study, &understood(options)?),
        "profile" => table::profile(study, &understood(options)?),
        "regions_table" => lists::regions(study, &understood(options)?),
        "points" => lists::points(study, &understood(options)?),
        "files" => lists::files(study, &understood(options)?),
        "spectrum" => lists::spectrum(study, &understood(options)?),
        "record" => {
            let Nothing {} = understood(options)?;
            let record = account::plain(&study.record())?;
            let text = crate::digest::canonical_json(&record);
            Ok(Format::Json.file("settings record", text.into_bytes()))
        }
        _ => {
            let known: Vec<&str> = offers().iter().map(|offer| offer.what).collect();
            let what: String = what.chars().take(40).collect();
            Err(Fault::bad_setting(format!("“{what}” cannot be exported. There are: {}.", known.join(", "))))
        }
    }
}

#[cfg(test)]
mod tests;
