//! The small record that, with the input files, is the state of a study.

use super::about::AboutRecord;
use super::aligning::AlignmentRecord;
use super::deriving::DerivedRecord;
use super::findings::FindingRecord;
use super::object::ObjectRecord;
use super::photos::PhotoRecord;
use super::points::PointRecord;
use super::regions::RegionRecord;
use super::scan::ScanRecord;
use super::spectra::SpectrumRecord;
use crate::element::{Line, Role};
use crate::geometry::{Area, Frame};
use crate::kind::Kind;
use crate::notice::Fault;
use crate::stack::Source;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

pub(super) const VERSION: u32 = 6;
/// Versions that are understood: the second is the third without regions, the third the fourth without photos, the fourth the
/// fifth without analysis points and spectra, the lines of the instrument and the width of a line, the fifth the sixth without
/// findings and without what is said of the object.
pub(super) const READABLE: std::ops::RangeInclusive<u32> = 2..=VERSION;
/// The word for a map that holds an element line.
pub(super) const ELEMENT: &str = "element";

/// A file that was opened.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct InputRecord {
    /// Its name (untrusted text).
    pub name: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
    /// Bytes.
    pub size: u64,
    /// CRC-32 of its bytes (ISO/IEC 3309, as ZIP and PNG use it); absent in records before the sixth until the file is open.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub crc32: Option<u32>,
    /// The way in which it was chosen to be read, where there are several.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub way: Option<String>,
    /// Maps and photos that had been opened before it: with it, its own get the same ids again, also when another file
    /// is missing.
    pub before: (u32, u32),
}

/// How the scan lies and its step. Absent fields leave what is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct GridRecord {
    /// Across, in micrometres, as the maps lie now; with `step_y_um` both `null` forgets what was stated.
    pub step_x_um: Option<f64>,
    /// Down, in micrometres.
    pub step_y_um: Option<f64>,
    /// Clockwise quarter turns of every map, 0 to 3.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns: Option<u8>,
    /// Whether every map is mirrored left to right before it is turned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mirror: Option<bool>,
}

/// What was stated of a map. Absent fields leave what is.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct MapRecord {
    /// Element symbol alone, or with its line in `line`.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub element: Option<String>,
    /// "Cu K", or the family alone ("K", "Lα") when `element` is given; empty for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub line: Option<String>,
    /// A word of [`Kind`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
    /// A word of `Role` ("sum", "live time", ...), or "element" for a map of an element line.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub role: Option<String>,
    /// A name of the user's own; empty for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Stored steps for each count.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gain: Option<f64>,
    /// What is stored where nothing was counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub offset: Option<f64>,
    /// The map that holds the error of this one, by id; empty for none.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub error_map: Option<String>,
    /// One value that means "no data" (the same as `fill_values` with one value).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fill_value: Option<f64>,
    /// All values that mean "no data".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fill_values: Option<Vec<f64>>,
    /// Parts without data, in pixels of the map as it lies now; in a record in pixels of the file.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub blank_areas: Option<Vec<AreaRecord>>,
    /// The part that is used, in pixels of the map as it lies now; in a record in pixels of the file. It may reach beside
    /// the map, where there is no data then. All zero is the whole map.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub frame: Option<FrameRecord>,
    /// Clockwise quarter turns of this map alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub turns: Option<u8>,
    /// Whether this map alone is mirrored before it is turned.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mirror: Option<bool>,
    /// The scan that it belongs to: 0 is the first, on whose grid everything lies.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field: Option<u32>,
}

/// What is stated of one of many maps.
#[derive(Debug, Clone, PartialEq)]
pub struct MapChange {
    /// The map, by id or by a unique label.
    pub id: String,
    /// What is stated of it.
    pub stated: MapRecord,
}

impl MapChange {
    /// Reads `[{id, ...}]`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(changes: Vec<serde_json::Map<String, serde_json::Value>>) -> Result<Vec<Self>, Fault> {
        let read = |mut fields: serde_json::Map<String, serde_json::Value>| {
            let Some(serde_json::Value::String(id)) = fields.remove("id") else {
                return Err(Fault::bad_setting("`id` is missing: name the map that is changed."));
            };
            let stated = serde_json::from_value(serde_json::Value::Object(fields)).map_err(|error| {
                Fault::bad_setting(format!("What is stated of {id} is not understood: {error}."))
            })?;
            Ok(Self { id, stated })
        };
        changes.into_iter().map(read).collect()
    }
}

/// A rectangle of pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // the names say it all
pub struct AreaRecord {
    pub x: u32,
    pub y: u32,
    pub width: u32,
    pub height: u32,
}

/// A rectangle of pixels that may begin before the map.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[allow(missing_docs)] // the names say it all
pub struct FrameRecord {
    pub x: i64,
    pub y: i64,
    pub width: u32,
    pub height: u32,
}

impl From<Frame> for FrameRecord {
    fn from(Frame { x, y, width, height }: Frame) -> Self {
        Self { x, y, width, height }
    }
}

impl From<FrameRecord> for Frame {
    fn from(FrameRecord { x, y, width, height }: FrameRecord) -> Self {
        Self { x, y, width, height }
    }
}

impl From<Area> for AreaRecord {
    fn from(Area { x, y, width, height }: Area) -> Self {
        Self { x, y, width, height }
    }
}

impl From<AreaRecord> for Area {
    fn from(AreaRecord { x, y, width, height }: AreaRecord) -> Self {
        Self { x, y, width, height }
    }
}

impl MapRecord {
    /// Takes over every field that `newer` states.
    pub(super) fn overlay(&mut self, newer: MapRecord) {
        macro_rules! newer_fields {
            ($($field:ident),+) => { $(if newer.$field.is_some() { self.$field = newer.$field; })+ };
        }
        newer_fields!(
            element,
            line,
            kind,
            role,
            name,
            gain,
            offset,
            error_map,
            fill_value,
            fill_values,
            blank_areas,
            frame,
            turns,
            mirror,
            field
        );
    }

    /// The line that this states, `now` where it states none.
    pub(super) fn line_over(&self, now: Option<Line>) -> Result<Option<Line>, Fault> {
        let text = match (&self.element, &self.line) {
            (None, None) => return Ok(now),
            (Some(element), None) => element.clone(),
            (Some(element), Some(line)) if !line.starts_with(element.as_str()) || line.len() <= 2 => {
                format!("{element} {line}")
            }
            (_, Some(line)) => line.clone(),
        };
        if text.trim().is_empty() {
            return Ok(None);
        }
        Line::parse_typed(&text).map(Some).ok_or_else(|| {
            Fault::bad_setting(format!("“{text}” is no element line. Write it as “Cu K” or “Pb Lα”."))
        })
    }

    /// The role that this states, `now` where it states none.
    pub(super) fn role_over(&self, now: Option<Role>) -> Result<Option<Role>, Fault> {
        match self.role.as_deref().map(str::trim) {
            None => Ok(now),
            Some("" | ELEMENT) => Ok(None),
            Some(word) => Role::from_word(word).map(Some).ok_or_else(|| {
                let all: Vec<&str> = Role::ALL.iter().map(|role| role.word()).collect();
                Fault::bad_setting(format!(
                    "“{word}” is nothing that a map holds. There are: {ELEMENT}, {}.",
                    all.join(", ")
                ))
            }),
        }
    }

    pub(super) fn kind(&self) -> Result<Option<Kind>, Fault> {
        let Some(word) = &self.kind else { return Ok(None) };
        Kind::from_word(word).map(Some).ok_or_else(|| {
            let all: Vec<&str> = Kind::ALL.iter().map(|kind| kind.word()).collect();
            Fault::bad_setting(format!("“{word}” is no kind of map. There are: {}.", all.join(", ")))
        })
    }
}

/// No study comes to as many maps, photos or regions: a larger number in a record was not written by this program.
const LARGEST_NUMBER: u32 = 1 << 30;

/// Everything that was stated.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct Record {
    /// Version of this record.
    pub record: u32,
    /// Files, in the order in which they were opened.
    pub inputs: Vec<InputRecord>,
    /// What was stated of the grid.
    pub grid: Option<GridRecord>,
    /// What was stated of the scan.
    #[serde(default)]
    pub scan: ScanRecord,
    /// What was stated of maps, by the hash of their file and their page in it ([`map_key`]).
    pub maps: BTreeMap<String, MapRecord>,
    /// Maps that were derived, in order of their numbers.
    #[serde(default)]
    pub derived: Vec<DerivedRecord>,
    /// Regions, in order of their numbers.
    #[serde(default)]
    pub regions: Vec<RegionRecord>,
    /// What was stated of photos, by the hash of their file and their number in it.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty")]
    pub photos: BTreeMap<String, PhotoRecord>,
    /// Where other scans lie on the grid of the first, by their numbers.
    #[serde(default, skip_serializing_if = "BTreeMap::is_empty", with = "numbered")]
    pub fields: BTreeMap<u32, AlignmentRecord>,
    /// The object's corner and edges.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub object: Option<ObjectRecord>,
    /// Analysis points, in order of their numbers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub points: Vec<PointRecord>,
    /// Spectra, in order of their numbers.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub spectra: Vec<SpectrumRecord>,
    /// What is said of the object and the study.
    #[serde(default, skip_serializing_if = "AboutRecord::is_empty")]
    pub about: AboutRecord,
    /// Findings, in the order of the list.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub findings: Vec<FindingRecord>,
    /// What was left out of this copy, in words; empty for a study that is whole.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub left_out: Vec<String>,
}

/// Numbers as keys, written as text: an object of JavaScript has no others.
mod numbered {
    use serde::de::Error;
    use serde::{Deserialize, Deserializer, Serialize, Serializer};
    use std::collections::BTreeMap;

    pub(super) fn serialize<T: Serialize, S: Serializer>(
        values: &BTreeMap<u32, T>,
        out: S,
    ) -> Result<S::Ok, S::Error> {
        out.collect_map(values.iter().map(|(number, value)| (number.to_string(), value)))
    }

    pub(super) fn deserialize<'de, T: Deserialize<'de>, D: Deserializer<'de>>(
        from: D,
    ) -> Result<BTreeMap<u32, T>, D::Error> {
        let read = |(text, value): (String, T)| match text.parse() {
            Ok(number) => Ok((number, value)),
            Err(_) => Err(D::Error::custom("a scan is not named by its number")),
        };
        BTreeMap::<String, T>::deserialize(from)?.into_iter().map(read).collect()
    }
}

impl Record {
    /// Checks that this program understands it.
    ///
    /// # Errors
    /// `other_record` for another version; a number that no study comes to.
    pub(super) fn is_readable(&self) -> Result<(), Fault> {
        if !READABLE.contains(&self.record) {
            return Err(Fault::new(
                "other_record",
                "This was kept by another version of the program. Open it there.",
            ));
        }
        self.has_sound_numbers()
    }

    /// Checks what ids are made of.
    ///
    /// # Errors
    /// A number that no study comes to.
    fn has_sound_numbers(&self) -> Result<(), Fault> {
        let of_inputs = self.inputs.iter().flat_map(|input| [input.before.0, input.before.1]);
        let of_derived = self.derived.iter().map(|made| made.number);
        let of_regions = self.regions.iter().map(|region| region.number);
        let of_points = self.points.iter().map(|point| point.number);
        let of_spectra = self.spectra.iter().map(|spectrum| spectrum.number);
        let of_findings = self.findings.iter().map(|one| one.number);
        let mut all = of_inputs
            .chain(of_derived)
            .chain(of_regions)
            .chain(of_points)
            .chain(of_spectra)
            .chain(of_findings);
        match all.find(|&number| number > LARGEST_NUMBER) {
            None => Ok(()),
            Some(number) => Err(Fault::bad_setting(format!(
                "The record numbers a map, a photo, a region, a point, a spectrum or a finding {number}: it is damaged."
            ))),
        }
    }
}

/// Names a map by what it is, in any study: hash of the file, page in the file.
pub fn map_key(source: &Source) -> String {
    format!("{}/{}", source.sha256, source.page)
}
