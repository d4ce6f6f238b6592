//! Files written anew: the pixels of a map or a photo and nothing else, so that no title, no comment and no name of the file that
//! they came in goes along.

use super::LeaveOut;
use crate::digest::sha256_hex;
use crate::element::{Guess, read_name};
use crate::grid::Grid;
use crate::notice::{Fault, OutOfMemory};
use crate::npy;
use crate::stack::Map;
use crate::study::{InputRecord, Study};
use std::collections::{BTreeMap, BTreeSet};

/// The way in which a photo that is written anew is read, also a grey one.
const AS_PHOTO: &str = "photo";

/// A file that was written anew.
pub(super) struct NewFile {
    pub record: InputRecord,
    pub bytes: Vec<u8>,
}

/// What becomes of the files of a study.
#[derive(Default)]
pub(super) struct Plan {
    /// Files that stay as they are, by hash.
    pub kept: BTreeSet<String>,
    /// Files in the place of others.
    pub new: Vec<NewFile>,
    /// How maps and photos are named in a record now, by how they were. What is not here is not in the copy.
    pub keys: BTreeMap<String, String>,
    /// The maps that are written anew, by the key that they had.
    pub rewritten: BTreeSet<String>,
    /// What is to be said of files that are left out though nobody asked for it.
    pub told: Vec<String>,
}

/// The file of a map that is written anew, and of a photo.
pub(super) fn new_name(number: u32, detector: Option<u32>) -> String {
    match detector {
        Some(detector) => format!("map {number} detector {detector} pixels.npy"),
        None => format!("map {number} pixels.npy"),
    }
}

/// Plans it, and writes what has to be written.
///
/// # Errors
/// No memory.
pub(super) fn plan(study: &Study, what: &LeaveOut) -> Result<Plan, Fault> {
    let mut plan = Plan::default();
    let photos = study.photos();
    let maps = || study.stack().maps().iter().filter(|map| map.making.is_none());
    let has_photo = |sha256: &str| photos.iter().any(|photo| photo.file_sha256 == sha256);
    let has_map = |sha256: &str| maps().any(|map| map.source.sha256 == sha256);
    for input in study.inputs() {
        let is_lost = what.photo && has_photo(&input.sha256) && !has_map(&input.sha256);
        let is_mixed = what.photo && has_photo(&input.sha256) && has_map(&input.sha256);
        if !what.rewrites() && !is_lost && !is_mixed {
            plan.kept.insert(input.sha256.clone());
        }
    }
    for map in maps() {
        let key = format!("{}/{}", map.source.sha256, map.source.page);
        if plan.kept.contains(&map.source.sha256) {
            plan.keys.insert(key.clone(), key);
            continue;
        }
        let file = file_of_map(map)?;
        plan.keys.insert(key.clone(), format!("{}/0", file.record.sha256));
        plan.rewritten.insert(key);
        plan.new.push(file);
    }
    for photo in photos.iter().filter(|_| !what.photo) {
        let key = study.key_of_photo(&photo.id)?.to_owned();
        if plan.kept.contains(&photo.file_sha256) {
            plan.keys.insert(key.clone(), key);
            continue;
        }
        let Some(pixels) = study.photo_as_read(&photo.id)? else {
            plan.told.push(format!(
                "The photo {} is too large to be written anew without what its file says of itself, so it was left out.",
                photo.id
            ));
            continue;
        };
        let file = file_of_photo(&photo.id, &pixels)?;
        plan.keys.insert(key, format!("{}/0", file.record.sha256));
        plan.new.push(file);
    }
    Ok(plan)
}

fn input(name: String, bytes: &[u8], way: Option<&str>, before: (u32, u32)) -> InputRecord {
    InputRecord {
        name,
        sha256: sha256_hex(bytes),
        size: bytes.len() as u64,
        crc32: Some(crc32fast::hash(bytes)),
        way: way.map(str::to_owned),
        before,
    }
}

/// The number in an id ("m12").
fn number_of(id: &str) -> u32 {
    id.get(1..).and_then(|digits| digits.parse().ok()).unwrap_or(0)
}

fn file_of_map(map: &Map) -> Result<NewFile, Fault> {
    let number = number_of(map.id.as_str());
    // A name that says a line by chance would be believed.
    let name = new_name(number, map.detector);
    debug_assert!(read_name(&name).line == Guess::Nothing && read_name(&name).detector == map.detector);
    let bytes = npy_of_map(map)?;
    Ok(NewFile { record: input(name, &bytes, None, (number.saturating_sub(1), 0)), bytes })
}

fn file_of_photo(id: &str, pixels: &Grid<[u8; 3]>) -> Result<NewFile, Fault> {
    let number = number_of(id);
    let name = format!("photo {number}.png");
    let bytes = png_of(&name, pixels)?;
    Ok(NewFile { record: input(name, &bytes, Some(AS_PHOTO), (0, number.saturating_sub(1))), bytes })
}

/// The bytes of an input that was written anew, again; `None` where the input is another.
///
/// # Errors
/// No memory.
pub fn rewritten(study: &Study, sha256: &str) -> Result<Option<Vec<u8>>, Fault> {
    let is_it = |bytes: Vec<u8>| (sha256_hex(&bytes) == sha256).then_some(bytes);
    let map = study.stack().maps().iter().find(|map| map.source.sha256 == sha256 && map.making.is_none());
    if let Some(map) = map {
        return Ok(is_it(npy_of_map(map)?));
    }
    let photo = study.photos().into_iter().find(|photo| photo.file_sha256 == sha256);
    let Some(photo) = photo else { return Ok(None) };
    match study.photo_as_read(&photo.id)? {
        Some(pixels) => Ok(is_it(png_of(&photo.file, &pixels)?)),
        None => Ok(None),
    }
}

/// NPY, version 1.0 (format description: numpy.lib.format). Maps with the same pixels differ in the spaces of their headers, because
/// a study knows files by what they hold.
fn npy_of_map(map: &Map) -> Result<Vec<u8>, OutOfMemory> {
    let samples = map.as_read()?;
    let data = samples.le_bytes()?;
    let spaces = number_of(map.id.as_str()) as usize % 60_000;
    let size = (samples.width(), samples.height());
    let mut out =
        npy::begin_spaced(npy::descr(samples.sample_type()), size, samples.sample_type().size(), spaces)?;
    out.extend_from_slice(&data);
    Ok(out)
}

/// A PNG in RGB of 8 bits. Its title keeps photos with the same pixels apart.
fn png_of(name: &str, pixels: &Grid<[u8; 3]>) -> Result<Vec<u8>, Fault> {
    let fault = |error: png::EncodingError| {
        Fault::new("not_written", format!("The photo could not be written: {error}."))
    };
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, pixels.width(), pixels.height());
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::Balanced);
    encoder.add_text_chunk("Title".into(), name.into()).map_err(fault)?;
    let mut writer = encoder.write_header().map_err(fault)?;
    writer.write_image_data(pixels.data().as_flattened()).map_err(fault)?;
    writer.finish().map_err(fault)?;
    Ok(out)
}
