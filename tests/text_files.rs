//! Delimited text in every form: the files of `tests/cases/text`, most of them written by numpy, pandas and Python's csv
//! module, with what the manifest says must be read from each (`tests/reference/parts/text_files.py` makes both).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]
#![allow(clippy::disallowed_methods)] // a test reads its own files

use limner::digest::sha256_hex;
use limner::grid::Samples;
use limner::reading::{Content, Page, Reading, read};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::PathBuf;

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/cases/text")
}

fn manifest() -> Vec<Value> {
    let text = fs::read_to_string(folder().join("manifest.json")).unwrap();
    serde_json::from_str::<Vec<Value>>(&text).unwrap()
}

/// What differs between a page and its entry.
fn page_differs(page: &Page, entry: &Value) -> Option<String> {
    let Samples::F64(grid) = &page.samples else { return Some("its values are not f64".into()) };
    let size = (u64::from(grid.width()), u64::from(grid.height()));
    let want = (entry["width"].as_u64().unwrap(), entry["height"].as_u64().unwrap());
    if size != want {
        return Some(format!("size {size:?}, not {want:?}"));
    }
    if page.title != entry["title"].as_str().unwrap() {
        return Some(format!("title {:?}, not {}", page.title, entry["title"]));
    }
    if sha256_hex(&page.samples.le_bytes().unwrap()) != entry["sha256_of_pixels"].as_str().unwrap() {
        return Some(format!("pixels of {:?} differ: {:?}", page.title, grid.data()));
    }
    let step = page.step.map(|step| [step.x_um(), step.y_um()]);
    let is_step_right = match &entry["step_um"] {
        Value::Null => step.is_none(),
        Value::Array(want) => {
            step.is_some_and(|step| step.iter().zip(want).all(|(a, b)| Some(*a) == b.as_f64()))
        }
        // Jitter moves the step that fits best.
        near => near == "near 500" && step.is_some_and(|step| step.iter().all(|um| (um - 500.0).abs() < 5.0)),
    };
    (!is_step_right).then(|| format!("step {step:?}, not {}", entry["step_um"]))
}

/// What differs between a reading and an entry with maps.
fn maps_differ(reading: &Reading, entry: &Value) -> Option<String> {
    let Content::Maps(pages) = &reading.content else {
        return Some(format!("{:?} is no map", reading.content));
    };
    let want = entry["maps"].as_array().unwrap();
    if pages.len() != want.len() {
        let titles: Vec<&str> = pages.iter().map(|page| page.title.as_str()).collect();
        return Some(format!("{} maps ({titles:?}), not {}", pages.len(), want.len()));
    }
    let mut codes: Vec<&str> = reading.findings.iter().map(|finding| finding.code()).collect();
    codes.sort_unstable();
    let wanted: Vec<&str> =
        entry["findings"].as_array().unwrap().iter().map(|code| code.as_str().unwrap()).collect();
    if codes != wanted {
        return Some(format!("findings {codes:?}, not {wanted:?}"));
    }
    pages.iter().zip(want).find_map(|(page, entry)| page_differs(page, entry))
}

fn ways_differ(bytes: &[u8], reading: &Reading, entry: &Value) -> Option<String> {
    let Content::Ask { question, ways } = &reading.content else {
        return Some(format!("not asked: {reading:?}"));
    };
    let keys: Vec<&str> = ways.iter().map(|way| way.key.as_str()).collect();
    let wanted = entry["ways"].as_array().unwrap();
    let wanted_keys: Vec<&str> = wanted.iter().map(|way| way["key"].as_str().unwrap()).collect();
    if keys != wanted_keys {
        return Some(format!("ways {keys:?}, not {wanted_keys:?}"));
    }
    if !question.ends_with('?') || ways.iter().any(|way| way.text.is_empty() || way.sample.is_empty()) {
        return Some(format!("question or ways without words: {question} {ways:?}"));
    }
    let texts: BTreeSet<(&str, &str)> =
        ways.iter().map(|way| (way.text.as_str(), way.sample.as_str())).collect();
    if texts.len() != ways.len() {
        return Some(format!("two ways look the same: {ways:?}"));
    }
    wanted.iter().find_map(|way| {
        let key = way["key"].as_str().unwrap();
        let chosen = read(bytes, Some(key)).unwrap();
        maps_differ(&chosen, way).map(|text| format!("read as {key}: {text}"))
    })
}

fn differs(bytes: &[u8], entry: &Value) -> Option<String> {
    let reading = match (read(bytes, None), entry["error"].as_str()) {
        (Ok(reading), None) => reading,
        (Ok(reading), Some(code)) => return Some(format!("read as {reading:?}, not refused as {code}")),
        (Err(finding), None) => return Some(format!("refused: {finding}")),
        (Err(finding), Some(code)) => {
            let sentence = finding.to_string();
            let says = entry["says"]
                .as_array()
                .unwrap()
                .iter()
                .all(|part| sentence.contains(part.as_str().unwrap()));
            let is_one = sentence.ends_with('.') && sentence.len() < 300;
            return (finding.code() != code || !says || !is_one)
                .then(|| format!("{}: {sentence}", finding.code()));
        }
    };
    if entry.get("ways").is_some() {
        return ways_differ(bytes, &reading, entry);
    }
    // Files with one reading take no notice of a way.
    if read(bytes, Some("tab.decimal_comma.all_values")).ok().map(|other| format!("{other:?}"))
        != Some(format!("{reading:?}"))
    {
        return Some("a way changes it".into());
    }
    match (&reading.content, entry.get("names")) {
        (Content::Names(list), Some(names)) => {
            let pairs: Vec<Value> =
                list.iter().map(|named| serde_json::json!([named.map, named.name])).collect();
            (Value::Array(pairs) != *names).then(|| format!("{list:?}"))
        }
        (content, Some(_)) => Some(format!("no list of names: {content:?}")),
        _ => maps_differ(&reading, entry),
    }
}

#[test]
fn every_file_is_read_as_the_manifest_says() {
    let mut wrong = Vec::new();
    let manifest = manifest();
    for entry in &manifest {
        let file = entry["file"].as_str().unwrap();
        let bytes = fs::read(folder().join(file)).unwrap();
        wrong.extend(differs(&bytes, entry).map(|text| format!("{file}: {text}")));
    }
    assert!(wrong.is_empty(), "{} of {} files:\n{}", wrong.len(), manifest.len(), wrong.join("\n"));
}

#[test]
fn the_manifest_lists_what_is_there() {
    let listed: BTreeSet<String> =
        manifest().iter().map(|entry| entry["file"].as_str().unwrap().to_owned()).collect();
    let present: BTreeSet<String> = fs::read_dir(folder())
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .filter(|name| name != "manifest.json")
        .collect();
    assert_eq!(listed, present);
    assert!(listed.len() >= 45, "{}", listed.len());
    let by_others =
        manifest().iter().filter(|entry| !entry["maker"].as_str().unwrap().starts_with("by hand")).count();
    assert!(by_others * 2 >= listed.len(), "{by_others} of {} are written by other programs", listed.len());
}

/// A generator of numbers in no order (SplitMix64), so that a failure can be made again.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self, below: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) % below.max(1) as u64) as usize
    }
}

/// One change of a kind that hands, disks and programs make.
fn mutate(bytes: &mut Vec<u8>, numbers: &mut Numbers) {
    const SIGNS: &[u8] = b",;\t \n\r\".'-+eEdD#0123456789xyN\xff\xb5\xc2\x80\x00";
    let at = numbers.next(bytes.len());
    let end = (at + 1 + numbers.next(40)).min(bytes.len());
    match numbers.next(7) {
        0 if at < bytes.len() => bytes[at] = SIGNS[numbers.next(SIGNS.len())],
        1 => bytes.insert(at, SIGNS[numbers.next(SIGNS.len())]),
        2 => bytes.truncate(at),
        3 if at < end => drop(bytes.drain(at..end)),
        4 => {
            let piece = bytes[at..end].to_vec();
            let to = numbers.next(bytes.len());
            bytes.splice(to..to, piece);
        }
        5 => {
            let sign = SIGNS[numbers.next(SIGNS.len())];
            let other = SIGNS[numbers.next(SIGNS.len())];
            bytes.iter_mut().filter(|byte| **byte == sign).for_each(|byte| *byte = other);
        }
        _ => bytes.extend_from_slice(&b"9".repeat(numbers.next(400))),
    }
}

#[test]
fn changed_files_are_read_or_refused_and_ways_lead_to_maps() {
    let mut numbers = Numbers(11);
    let (mut maps, mut asked, mut refused) = (0, 0, 0);
    for entry in manifest() {
        let original = fs::read(folder().join(entry["file"].as_str().unwrap())).unwrap();
        for _ in 0..40 {
            let mut bytes = original.clone();
            for _ in 0..=numbers.next(4) {
                mutate(&mut bytes, &mut numbers);
            }
            match read(&bytes, None) {
                Ok(Reading { content: Content::Ask { ways, .. }, .. }) => {
                    asked += 1;
                    assert!(ways.len() >= 2, "{ways:?}");
                    let keys: BTreeSet<&str> = ways.iter().map(|way| way.key.as_str()).collect();
                    assert_eq!(keys.len(), ways.len(), "{ways:?}");
                    for way in &ways {
                        // A chosen way gives maps, or says what is wrong farther down; it never asks again.
                        let chosen = read(&bytes, Some(&way.key)).map(|reading| reading.content);
                        assert!(!matches!(chosen, Ok(Content::Ask { .. })), "{way:?}");
                    }
                }
                Ok(Reading { content: Content::Maps(pages), .. }) => {
                    maps += 1;
                    assert!(pages.iter().any(|page| !page.samples.is_empty()));
                }
                Ok(_) => {}
                Err(finding) => {
                    refused += 1;
                    assert!(finding.to_string().ends_with('.'), "{finding}");
                }
            }
        }
    }
    // Were all of them refused, the test would see little.
    assert!(maps > 500 && asked > 50 && refused > 100, "{maps} maps, {asked} asked, {refused} refused");
}
