//! What stands in a file about how it was made: the settings record, and the inputs with their hashes. As JSON with the fields in
//! order, so that one content has one text.

use crate::PROGRAM;
use crate::ask::Answer;
use crate::digest::{canonical_json, sha256_hex};
use crate::geometry::Orientation;
use crate::notice::Fault;
use crate::stack::{Map, MapId};
use crate::study::{DerivedRecord, MapRecord, Record, RegionRecord, Shape, Study, map_key};
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// A record as plain data.
///
/// # Errors
/// None that can occur: records hold texts and finite numbers.
pub fn plain<T: Serialize + ?Sized>(value: &T) -> Result<Value, Fault> {
    serde_json::to_value(value)
        .map_err(|error| Fault::new("not_written", format!("The record could not be written: {error}.")))
}

/// A record that grows by parts.
pub struct Account {
    fields: serde_json::Map<String, Value>,
}

impl Account {
    /// Of a file that holds `what`.
    pub fn of(what: &str) -> Self {
        let mut out = Self { fields: serde_json::Map::new() };
        out.put("program", json!(PROGRAM));
        out.put("export", json!(what));
        out
    }

    /// A part, in the place of one of the same name.
    pub fn put(&mut self, name: &str, value: Value) {
        self.fields.insert(name.to_owned(), value);
    }

    /// The record as text.
    pub fn text(self) -> String {
        canonical_json(&Value::Object(self.fields))
    }

    /// A map: what it is, how it lies, what was stated of it and of all that it is made of, and the files.
    pub fn put_map(&mut self, study: &Study, map: &Map) -> Result<(), Fault> {
        self.put(
            "map",
            json!({
                "id": map.id.as_str(), "label": map.label(), "line": map.line.map(|line| line.to_string()),
                "role": map.role.map(|role| role.word()), "kind": map.kind.word(), "unit": map.kind.unit(),
                "scan": map.field,
            }),
        );
        self.put(
            "lies",
            lies(
                map.orientation,
                map.frame.map(|frame| json!([frame.x, frame.y, frame.width, frame.height])),
            ),
        );
        self.put("step", step_of(study, map));
        if let Some(making) = &map.making {
            self.put("made", json!({ "how": making.how, "text": making.text, "account": making.account }));
        }
        let with_errors: Vec<&MapId> = [&map.id].into_iter().chain(&map.error_map).collect();
        self.put_ground(study, &with_errors)
    }

    /// Everything that maps rest on: what was stated of them, how they were derived, the files that they were read from.
    pub fn put_ground(&mut self, study: &Study, ids: &[&MapId]) -> Result<(), Fault> {
        let record = study.record();
        let maps = grounds(study, ids);
        let stated: BTreeMap<&str, &MapRecord> = maps
            .iter()
            .filter_map(|map| Some((map.id.as_str(), record.maps.get(&map_key(&map.source))?)))
            .collect();
        if !stated.is_empty() {
            self.put("stated", plain(&stated)?);
        }
        let of = |made: &&DerivedRecord| maps.iter().any(|map| map.id == MapId::derived(made.number));
        let derived: Vec<&DerivedRecord> = record.derived.iter().filter(of).collect();
        if !derived.is_empty() {
            self.put("derived", plain(&derived)?);
        }
        self.put(
            "inputs",
            Value::Array(maps.iter().filter(|map| map.making.is_none()).map(|map| input(map)).collect()),
        );
        Ok(())
    }

    /// A region with all that it is made of.
    ///
    /// # Errors
    /// There is none of this name.
    pub fn put_region(&mut self, study: &Study, name: &str) -> Result<(), Fault> {
        let (summary, mask) = study.region(name)?;
        let record = study.record();
        let regions = regions_of(&record, &summary.id);
        let keys: BTreeSet<&str> = regions.iter().flat_map(|region| region.shape.maps()).collect();
        let is_named = |map: &&Map| keys.contains(map_key(&map.source).as_str());
        let makers: Vec<&MapId> = study.stack().maps().iter().filter(is_named).map(|map| &map.id).collect();
        self.put_ground(study, &makers)?;
        let photos: BTreeSet<&str> = regions.iter().filter_map(|region| region.shape.photo()).collect();
        let photos: Vec<Value> = photos.into_iter().map(|key| photo(study, &record, key)).collect();
        if !photos.is_empty() {
            self.put("photos", Value::Array(photos));
        }
        self.put(
            "region",
            json!({
                "id": summary.id, "name": summary.name, "role": summary.role, "text": summary.text,
                "makers": summary.makers, "pixels": summary.pixels,
            }),
        );
        self.put("regions", plain(&regions)?);
        let lies_here =
            |map: &&Map| map.making.is_none() && map.plane.size() == (mask.width(), mask.height());
        self.put("lies_on", Value::Array(study.stack().on_grid().filter(lies_here).map(input).collect()));
        Ok(())
    }

    /// An answer, as it names what it rests on.
    pub fn put_answer(&mut self, answer: &Answer) -> Result<(), Fault> {
        self.put("program", json!(answer.program));
        self.put("answer", json!(answer.id));
        self.put("question", json!(answer.question));
        self.put("settings", plain(&answer.settings)?);
        self.put("regions", plain(&answer.regions)?);
        self.put("inputs", plain(&answer.inputs)?);
        Ok(())
    }

    /// Every file that was opened.
    pub fn put_files(&mut self, study: &Study) -> Result<(), Fault> {
        self.put("inputs", plain(study.inputs())?);
        Ok(())
    }

    /// How the grid of the first scan lies, and its step.
    pub fn put_grid(&mut self, study: &Study) -> Result<(), Fault> {
        self.put("grid", plain(&study.grid())?);
        Ok(())
    }
}

/// How a picture lies, seen from its file.
pub fn lies(orientation: Orientation, frame: Option<Value>) -> Value {
    json!({
        "turns": orientation.quarter_turns(), "mirror": orientation.is_mirrored(), "frame": frame,
        "text": "seen from the file: first the frame (x, y, width, height in pixels of the file), then mirrored left to right, then turned clockwise by quarter turns; the first row is the upper one",
    })
}

/// The step between the pixels of a map, in micrometres; null where it is not known.
pub fn step_of(study: &Study, map: &Map) -> Value {
    study.stack().step_of(map).map_or(Value::Null, |step| json!({ "x_um": step.x_um(), "y_um": step.y_um() }))
}

/// A map that was read, as a record names it.
pub fn input(map: &Map) -> Value {
    json!({
        "id": map.id.as_str(), "label": map.label(), "file": map.source.file, "file_sha256": map.source.sha256,
        "page": map.source.page, "kind": map.kind.word(),
    })
}

/// These maps and all that they are made of, those that were read first.
fn grounds<'a>(study: &'a Study, ids: &[&MapId]) -> Vec<&'a Map> {
    let mut waiting: Vec<MapId> = ids.iter().map(|&id| id.clone()).collect();
    let mut found = BTreeMap::new();
    while let Some(id) = waiting.pop() {
        let Some(map) = study.stack().by_id(&id) else { continue };
        if found.insert(id, map).is_none()
            && let Some(making) = &map.making
        {
            waiting.extend(making.of.iter().cloned());
        }
    }
    found.into_values().collect()
}

/// A region and those that it is made of, as they stand in a record.
fn regions_of(record: &Record, id: &str) -> Vec<RegionRecord> {
    let number = id.strip_prefix('r').and_then(|digits| digits.parse::<u32>().ok());
    let mut waiting: Vec<u32> = number.into_iter().collect();
    let mut found = BTreeMap::new();
    while let Some(number) = waiting.pop() {
        let Some(region) = record.regions.iter().find(|region| region.number == number) else { continue };
        if found.insert(number, region.clone()).is_none() {
            waiting.extend(region.shape.regions());
        }
    }
    found.into_values().collect()
}

/// The same without the pixels of masks that were handed in: only their hash, so that it fits a cell of a table.
pub fn short_regions(record: &Record) -> Vec<RegionRecord> {
    let mut out = record.regions.clone();
    for region in &mut out {
        if let Shape::Mask { runs, .. } | Shape::Classes { runs, .. } = &mut region.shape {
            *runs = format!("left out here; SHA-256 {}", sha256_hex(runs.as_bytes()));
        }
    }
    out
}

fn photo(study: &Study, record: &Record, key: &str) -> Value {
    let sha256 = key.split('/').next().unwrap_or_default();
    let file = record.inputs.iter().find(|input| input.sha256 == sha256).map(|input| input.name.as_str());
    let id = study.photos().into_iter().find(|photo| photo.file_sha256 == sha256).map(|photo| photo.id);
    json!({ "id": id, "file": file, "file_sha256": sha256, "stated": record.photos.get(key) })
}
