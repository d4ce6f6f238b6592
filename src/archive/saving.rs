//! Writing a study file.

use super::readable::{pretty, shown_answer};
use super::told::{self, Held};
use super::{
    FIRST, LAYOUT, MOST_DERIVED, MOST_INPUTS, MOST_KEPT, MOST_STATE, MOST_STATED, STATE, SUMS, names,
};
use crate::digest::{canonical_json, sha256_hex};
use crate::notice::Fault;
use crate::study::{InputRecord, RegionSummary, Study};
use crate::zip::{self, Content, Piece};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::fmt::Write as _;

/// An entry whose bytes are made here.
struct Made {
    path: String,
    bytes: Vec<u8>,
    /// Whether it is worth deflating.
    is_text: bool,
}

fn too_large(what: &str) -> Fault {
    Fault::new("too_large", format!("The study cannot be saved as one file: {what}."))
}

/// The study as a file. Its inputs are [`Piece::Elsewhere`], known by their SHA-256: whoever holds the files puts them there.
/// Inputs that are not open are left out; the record goes on naming them.
///
/// # Errors
/// More files, or more of anything, than a study file is read with; no memory.
pub fn save(study: &Study) -> Result<Vec<Piece>, Fault> {
    let record = study.record();
    if record.inputs.len() > MOST_INPUTS {
        return Err(too_large(&format!("it has more than {MOST_INPUTS} files")));
    }
    let stated = record.maps.len().max(record.photos.len());
    if stated > MOST_STATED || record.derived.len().max(record.fields.len()) > MOST_DERIVED {
        return Err(too_large(&format!(
            "it has more than {MOST_DERIVED} derived maps or more than {MOST_STATED} maps that something is stated of"
        )));
    }
    let open: BTreeSet<&str> = study.inputs().iter().map(|input| input.sha256.as_str()).collect();
    let mut files = Vec::new();
    for (place, input) in record.inputs.iter().enumerate() {
        if open.contains(input.sha256.as_str()) {
            files.push((names::of_input(place, &input.name), input));
        }
    }
    let (kept, named) = kept(study)?;
    let (masks, regions) = masks(study)?;
    let held = Held {
        inputs: files.len(),
        not_open: record.inputs.len() - files.len(),
        regions: masks.len(),
        findings: record.findings.len(),
    };
    let listed = files.iter().map(|(path, input)| (path.as_str(), input.sha256.as_str()));
    let listed = listed.chain(named.iter().map(|(path, sha256)| (path.as_str(), sha256.as_str())));
    let listed: Vec<Value> = listed.map(|(path, sha256)| json!({ "path": path, "sha256": sha256 })).collect();
    let record = serde_json::to_value(&record).map_err(|error| Fault {
        detail: error.to_string(),
        ..Fault::new("not_written", "The state of the study could not be written.")
    })?;
    let state =
        json!({ "limner_study": LAYOUT, "program": crate::PROGRAM, "record": record, "files": listed });
    let state = pretty(&canonical_json(&state)).into_bytes();
    if state.len() as u64 > MOST_STATE {
        let most = MOST_STATE / 1_000_000;
        return Err(too_large(&format!(
            "what was stated comes to more than {most} MB. Remove regions drawn by masks"
        )));
    }
    let text = |path: &str, bytes| Made { path: path.to_owned(), bytes, is_text: true };
    let first = Made { path: FIRST.into(), bytes: told::text(study, held).into_bytes(), is_text: false };
    let mut made = vec![first, text(STATE, state)];
    made.extend(kept);
    made.push(text("regions/regions.json", regions));
    made.extend(masks);
    let sums = sums(&made, &files);
    made.insert(2, text(SUMS, sums));
    let mut entries = Vec::new();
    for one in &made {
        let content = if one.is_text { Content::Deflated(&one.bytes) } else { Content::Stored(&one.bytes) };
        entries.push((one.path.clone(), content));
    }
    for (path, input) in files {
        entries.push((path, elsewhere(input)?));
    }
    zip::write(&entries)
}

fn elsewhere(input: &InputRecord) -> Result<Content<'static>, Fault> {
    let Some(crc32) = input.crc32 else {
        return Err(Fault::new(
            "not_written",
            format!("“{}” was not read by this version yet. Reload the page and save again.", input.name),
        ));
    };
    Ok(Content::Elsewhere { size: input.size, crc32, name_of_source: input.sha256.clone() })
}

/// A path, and the hash of the blob that stands there.
type Named = (String, String);

/// What was kept of findings, and which entry is which blob, each blob once.
fn kept(study: &Study) -> Result<(Vec<Made>, Vec<Named>), Fault> {
    let (mut made, mut named, mut seen) = (Vec::new(), Vec::new(), BTreeSet::new());
    for finding in study.record().findings {
        let folder = format!("findings/f{}", finding.number);
        let answer = finding.answer.map(|id| (format!("{folder}/answer.json"), id, true));
        let picture = finding.picture.map(|kept| (format!("{folder}/picture.png"), kept.png, false));
        for (path, sha256, is_text) in answer.into_iter().chain(picture) {
            let Some(bytes) = study.blob(&sha256) else { continue };
            if bytes.len() as u64 > MOST_KEPT / 2 {
                return Err(too_large(&format!(
                    "what was kept of the finding f{} is too large",
                    finding.number
                )));
            }
            let bytes = if is_text { shown_answer(bytes, &sha256) } else { bytes.to_vec() };
            made.push(Made { path: path.clone(), bytes, is_text });
            if seen.insert(sha256.clone()) {
                named.push((path, sha256));
            }
        }
    }
    Ok((made, named))
}

/// Masks of all regions that can be shown, and what is said of them.
fn masks(study: &Study) -> Result<(Vec<Made>, Vec<u8>), Fault> {
    let (mut made, mut told) = (Vec::new(), Vec::new());
    for region in study.regions() {
        let (_, mask) = study.region(&region.id)?;
        let path = names::of_mask(&region.id, &region.name);
        // A PNG has at least one pixel.
        if !mask.is_empty() {
            let bytes = study.saved_mask(&region.id)?;
            made.push(Made { path: path.clone(), bytes, is_text: false });
        }
        told.push(told_of(&region, (!mask.is_empty()).then_some(path.as_str()))?);
    }
    let grid = study.grid();
    let all = json!({
        "limner_regions": 1,
        "note": "Pixels count from the upper left corner of the maps as they lie in the study: x to the right, y downward; the centre of the first is at 0.5, 0.5. A pixel is in a shape if its centre is.",
        "grid": { "width": grid.width, "height": grid.height, "step_x_um": grid.step_x_um, "step_y_um": grid.step_y_um },
        "regions": told,
    });
    Ok((made, pretty(&canonical_json(&all)).into_bytes()))
}

fn told_of(region: &RegionSummary, mask: Option<&str>) -> Result<Value, Fault> {
    let mut told = serde_json::to_value(region).map_err(|error| Fault {
        detail: error.to_string(),
        ..Fault::new("not_written", "A region could not be written.")
    })?;
    if let Some(fields) = told.as_object_mut() {
        fields.insert("mask".into(), mask.map_or(Value::Null, Value::from));
    }
    Ok(told)
}

/// The sums of every other entry, as `sha256sum` writes and checks them.
fn sums(made: &[Made], files: &[(String, &InputRecord)]) -> Vec<u8> {
    let mut out = String::new();
    let of_made = made.iter().map(|one| (sha256_hex(&one.bytes), one.path.as_str()));
    let of_files = files.iter().map(|(path, input)| (input.sha256.clone(), path.as_str()));
    for (sha256, path) in of_made.chain(of_files) {
        // Writing to a text cannot fail.
        let _ = writeln!(out, "{sha256}  {path}");
    }
    out.into_bytes()
}
