//! The record of a study with something left out of it.

use super::LeaveOut;
use super::files::Plan;
use super::secrets::{Secrets, spectrum_name};
use crate::digest::sha256_hex;
use crate::notice::Fault;
use crate::region::runs_of;
use crate::stack::Map;
use crate::study::{
    AboutRecord, FindingRecord, GridRecord, LONGEST_NAME, LONGEST_NOTE, LONGEST_RESULT, LONGEST_TITLE, Laid,
    MapRecord, Record, RegionRecord, Shape, Study,
};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// What of a picture's settings belongs to a photo.
const OF_PHOTO: [&str; 6] = ["photo", "on", "mix", "divide", "divide_along", "photo_transform"];

/// The record with what is left out gone from it, and the names of regions that cannot be kept.
///
/// # Errors
/// No memory.
pub(super) fn lessened(
    study: &Study,
    what: &LeaveOut,
    plan: &Plan,
    secrets: &Secrets,
) -> Result<(Record, Vec<String>), Fault> {
    let mut record = study.record();
    let mut keys = plan.keys.clone();
    record.inputs.retain(|input| plan.kept.contains(&input.sha256));
    record.inputs.extend(plan.new.iter().map(|file| file.record.clone()));
    record.inputs.sort_by_key(|input| input.before);
    record.derived = derived(study, &record, &mut keys);
    record.maps = maps(study, &record.maps, plan, secrets, &keys);
    if !plan.rewritten.is_empty() {
        record.grid = grid(study, record.grid);
    }
    let mut lost = Vec::new();
    record.regions = regions(study, &record.regions, secrets, &keys, &mut lost)?;
    record.photos = std::mem::take(&mut record.photos)
        .into_iter()
        .filter_map(|(key, mut photo)| {
            photo.name = photo.name.map(|name| secrets.replaced_within(&name, LONGEST_NAME));
            Some((keys.get(&key)?.clone(), photo))
        })
        .collect();
    if what.coordinates {
        record.object = None;
        record.points.clear();
    }
    for point in &mut record.points {
        point.name = secrets.replaced_within(&point.name, LONGEST_NAME);
        point.result = match what.notes {
            true => String::new(),
            false => secrets.replaced_within(&point.result, LONGEST_RESULT),
        };
    }
    for spectrum in &mut record.spectra {
        if what.file_names {
            spectrum.name = spectrum_name(spectrum.number);
            // Of its counts instead of its file.
            spectrum.sha256 = sha256_hex(spectrum.counts.as_bytes());
        }
        spectrum.name = secrets.replaced_within(&spectrum.name, LONGEST_NAME);
    }
    for text in [&mut record.scan.filter, &mut record.scan.date] {
        *text = text.take().map(|text| secrets.replaced_within(&text, LONGEST_NAME));
    }
    record.about = about(record.about, what, secrets);
    for finding in &mut record.findings {
        lessen_finding(finding, what, secrets);
    }
    Ok((record, lost))
}

fn about(about: AboutRecord, what: &LeaveOut, secrets: &Secrets) -> AboutRecord {
    if what.object {
        return AboutRecord::default();
    }
    let of = |text: &str| secrets.replaced(text);
    AboutRecord {
        object: of(&about.object),
        number: of(&about.number),
        described: of(&about.described),
        dated: of(&about.dated),
        author: of(&about.author),
        remarks: if what.notes { String::new() } else { of(&about.remarks) },
    }
}

/// The step that a file stated is stated by the record once the file is written anew.
fn grid(study: &Study, before: Option<GridRecord>) -> Option<GridRecord> {
    let Some((step, _)) = study.stack().step() else { return before };
    let step = (Some(step.x_um()), Some(step.y_um()));
    Some(GridRecord { step_x_um: step.0, step_y_um: step.1, ..before.unwrap_or_default() })
}

/// Derived maps whose inputs are in the copy, named by what they are made of there; their new keys are added.
fn derived(
    study: &Study,
    record: &Record,
    keys: &mut BTreeMap<String, String>,
) -> Vec<crate::study::DerivedRecord> {
    let is_there = |key: &str| {
        let is_it = |map: &&Map| format!("{}/{}", map.source.sha256, map.source.page) == key;
        study.stack().maps().iter().any(|map| is_it(&map))
    };
    let mut waiting: Vec<_> = record.derived.iter().filter(|made| is_there(&made.key())).cloned().collect();
    let mut out = Vec::new();
    // One may be made of another: each round takes those whose inputs are named.
    loop {
        let before = waiting.len();
        waiting.retain(|made| {
            let of: Option<Vec<String>> = made.of.iter().map(|key| keys.get(key).cloned()).collect();
            let Some(of) = of else { return true };
            let now = crate::study::DerivedRecord { of, ..made.clone() };
            keys.insert(made.key(), now.key());
            out.push(now);
            false
        });
        if waiting.len() == before {
            break;
        }
    }
    out.sort_by_key(|made: &crate::study::DerivedRecord| made.number);
    out
}

/// What is stated of each map that is in the copy. Of one that is written anew, also what its name or title had said.
fn maps(
    study: &Study,
    stated: &BTreeMap<String, MapRecord>,
    plan: &Plan,
    secrets: &Secrets,
    keys: &BTreeMap<String, String>,
) -> BTreeMap<String, MapRecord> {
    let mut out = BTreeMap::new();
    for map in study.stack().maps() {
        let key = format!("{}/{}", map.source.sha256, map.source.page);
        let Some(new) = keys.get(&key) else { continue };
        let mut record = stated.get(&key).cloned().unwrap_or_default();
        record.name = record.name.map(|name| secrets.replaced_within(&name, LONGEST_NAME));
        record.error_map = record.error_map.and_then(|key| match key.as_str() {
            "" => Some(key),
            _ => keys.get(&key).cloned(),
        });
        if plan.rewritten.contains(&key) {
            record.element = None;
            record.line = Some(map.line.map(|line| line.to_string()).unwrap_or_default());
            record.role = map.role.map(|role| role.word().to_owned()).or(record.role);
        }
        if record != MapRecord::default() {
            out.insert(new.clone(), record);
        }
    }
    out
}

/// Regions that can be made in the copy, each under a name of its own. One by the colours of a photo that is left out becomes
/// the mask that it is.
fn regions(
    study: &Study,
    records: &[RegionRecord],
    secrets: &Secrets,
    keys: &BTreeMap<String, String>,
    lost: &mut Vec<String>,
) -> Result<Vec<RegionRecord>, Fault> {
    let mut out: Vec<RegionRecord> = Vec::new();
    let mut names = BTreeSet::new();
    for record in records {
        let name = secrets.replaced_within(&record.name, LONGEST_NAME);
        let shape = shape(study, record, secrets, keys)?;
        let is_whole = |shape: &Shape| {
            let of: Vec<u32> = match shape {
                Shape::Combine { of, .. } => of.clone(),
                Shape::Cloud { within, .. } => within.iter().copied().collect(),
                _ => Vec::new(),
            };
            of.iter().all(|number| out.iter().any(|region| region.number == *number))
        };
        match shape.filter(is_whole) {
            Some(shape) => {
                let name = unique(name, &mut names);
                out.push(RegionRecord { name, shape, ..record.clone() });
            }
            None => lost.push(name),
        }
    }
    Ok(out)
}

fn unique(name: String, names: &mut BTreeSet<String>) -> String {
    let mut chosen = name.clone();
    let mut number = 2;
    while !names.insert(chosen.clone()) {
        let ending = format!(" {number}");
        chosen = name.chars().take(LONGEST_NAME - ending.len()).collect();
        chosen.push_str(&ending);
        number += 1;
    }
    chosen
}

/// `None` where it rests on what is not in the copy.
fn shape(
    study: &Study,
    record: &RegionRecord,
    secrets: &Secrets,
    keys: &BTreeMap<String, String>,
) -> Result<Option<Shape>, Fault> {
    let named = |key: &String| keys.get(key).cloned();
    Ok(match record.shape.clone() {
        shape @ (Shape::Rectangle { .. }
        | Shape::Polygon { .. }
        | Shape::Mask { .. }
        | Shape::Combine { .. }) => Some(shape),
        Shape::Threshold { map, low, high } => named(&map).map(|map| Shape::Threshold { map, low, high }),
        Shape::Classes { runs, laid, made_from, text } => {
            let made_from: Option<Vec<String>> = made_from.iter().map(named).collect();
            made_from.map(|made_from| Shape::Classes { runs, laid, made_from, text: secrets.replaced(&text) })
        }
        Shape::Cloud { a, b, a_low, a_high, b_low, b_high, within } => {
            let both = named(&a).zip(named(&b));
            both.map(|(a, b)| Shape::Cloud { a, b, a_low, a_high, b_low, b_high, within })
        }
        Shape::Colour(of) => match named(&of.photo) {
            Some(photo) => Some(Shape::Colour(crate::study::ColourRecord { photo, ..of })),
            None => as_mask(study, record)?,
        },
    })
}

/// The pixels that a region has now; `None` where it has none, or more than a record takes.
fn as_mask(study: &Study, record: &RegionRecord) -> Result<Option<Shape>, Fault> {
    let Ok((summary, mask)) = study.region(&format!("r{}", record.number)) else { return Ok(None) };
    if summary.pixels == 0 {
        return Ok(None);
    }
    let grid = study.grid();
    let (width, height) = (mask.width(), mask.height());
    let laid = Laid { turns: grid.turns, mirror: grid.mirror, width, height };
    Ok(runs_of(mask).map(|runs| Shape::Mask { runs, laid }))
}

/// The texts of a finding, and what its picture shows. What it says is asked anew.
fn lessen_finding(finding: &mut FindingRecord, what: &LeaveOut, secrets: &Secrets) {
    finding.title = secrets.replaced_within(&finding.title, LONGEST_TITLE);
    finding.note = match what.notes {
        true => String::new(),
        false => secrets.replaced_within(&finding.note, LONGEST_NOTE),
    };
    // The page's own state may hold texts and photos that the core knows nothing of.
    finding.scene = Value::Null;
    if what.photo
        && let Some(fields) = finding.picture.as_mut().and_then(|kept| kept.settings.as_object_mut())
    {
        for name in OF_PHOTO {
            fields.remove(name);
        }
    }
}
