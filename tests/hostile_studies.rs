//! Study files that are spoilt, cut, edited or made to harm: one sentence each and nothing else, or a sound study with a
//! notice. Nothing panics, takes long or takes memory by a claim.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

#[path = "odd/making.rs"]
#[allow(dead_code)]
mod making;
#[path = "studies/making.rs"]
mod studies;

use limner::archive::Reader;
use limner::notice::Fault;
use limner::numerics::chance::Chance;
use limner::study::Study;
use limner::zip::{Content, DEFLATED, inflated, listed_at, local_length, write_whole};
use serde_json::{Value, json};
use std::time::{Duration, Instant};
use studies::{Files, by_hash, restored, saved, study_with_findings};

/// On a slow and busy machine.
const LONGEST: Duration = Duration::from_secs(30);

fn small(path: &str, bytes: &[u8]) -> (String, Vec<u8>) {
    (path.to_owned(), bytes.to_vec())
}

fn packed(entries: &[(String, Vec<u8>)]) -> Vec<u8> {
    let listed: Vec<_> =
        entries.iter().map(|(path, bytes)| (path.clone(), Content::Deflated(bytes.as_slice()))).collect();
    write_whole(&listed).unwrap()
}

fn state_alone(state: &Value) -> Vec<u8> {
    packed(&[small("study.json", state.to_string().as_bytes())])
}

/// An entry with whatever is claimed of it.
#[derive(Clone)]
struct Claimed<'a> {
    path: &'a str,
    bytes: &'a [u8],
    flags: u16,
    method: u16,
    crc32: Option<u32>,
    packed: Option<u32>,
    unpacked: Option<u32>,
    at: Option<u32>,
}

fn plain<'a>(path: &'a str, bytes: &'a [u8]) -> Claimed<'a> {
    Claimed { path, bytes, flags: 1 << 11, method: 0, crc32: None, packed: None, unpacked: None, at: None }
}

/// A ZIP file that claims what it is told to.
fn claimed(entries: &[Claimed<'_>]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for one in entries {
        let at = one.at.unwrap_or(out.len() as u32);
        let length = one.bytes.len() as u32;
        let mut shared = [20u16, one.flags, one.method, 0, 33].map(u16::to_le_bytes).concat();
        let sizes = [
            one.crc32.unwrap_or_else(|| crc32fast::hash(one.bytes)),
            one.packed.unwrap_or(length),
            one.unpacked.unwrap_or(length),
        ];
        shared.extend(sizes.map(u32::to_le_bytes).concat());
        shared.extend((one.path.len() as u16).to_le_bytes());
        shared.extend([0, 0]);
        out.extend(b"PK\x03\x04");
        out.extend(&shared);
        out.extend(one.path.as_bytes());
        out.extend(one.bytes);
        list.extend(b"PK\x01\x02\x14\0");
        list.extend(&shared);
        list.extend([0; 10]);
        list.extend(at.to_le_bytes());
        list.extend(one.path.as_bytes());
    }
    let (at, count) = (out.len() as u32, entries.len() as u16);
    out.extend(&list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend([count.to_le_bytes(), count.to_le_bytes()].concat());
    out.extend([(list.len() as u32).to_le_bytes(), at.to_le_bytes()].concat());
    out.extend([0, 0]);
    out
}

fn deflated(bytes: &[u8]) -> Vec<u8> {
    use std::io::Write;
    let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::best());
    encoder.write_all(bytes).unwrap();
    encoder.finish().unwrap()
}

/// A sentence, one line, not long, and quickly.
fn refused(name: &str, file: &[u8]) -> Fault {
    let start = Instant::now();
    let outcome = restored(file);
    assert!(start.elapsed() < LONGEST, "{name} took {:?}", start.elapsed());
    let fault = match outcome {
        Err(fault) => fault,
        Ok(back) => panic!("{name} was restored: {:?}", back.opened),
    };
    is_sentence(name, &fault.message);
    fault
}

fn is_sentence(name: &str, text: &str) {
    assert!(text.ends_with('.') && !text.contains('\n') && text.len() < 500, "{name}: {text}");
}

fn good_state() -> Value {
    let file = saved(&study_with_findings(), &by_hash());
    let state = entries_of(&file).into_iter().find(|(path, _)| path == "study.json").unwrap().1;
    serde_json::from_slice(&state).unwrap()
}

fn entries_of(file: &[u8]) -> Vec<(String, Vec<u8>)> {
    let end = limner::zip::end_in(file).unwrap();
    let mut at = end.at as usize;
    let mut out = Vec::new();
    for _ in 0..end.count {
        let (entry, next) = listed_at(file, at).unwrap();
        at = next;
        let start = entry.at as usize;
        let start = start + local_length(&file[start..]).unwrap() as usize;
        let bytes = &file[start..start + entry.packed as usize];
        let is_deflated = entry.method == DEFLATED;
        let bytes =
            if is_deflated { inflated(bytes, entry.unpacked).unwrap().unwrap() } else { bytes.to_vec() };
        out.push((entry.path, bytes));
    }
    out
}

/// The record with one thing exchanged or added.
fn edited(path: &str, value: Value) -> Value {
    let mut state = good_state();
    let (parent, name) = path.rsplit_once('/').unwrap();
    let parent = if parent.is_empty() { &mut state } else { state.pointer_mut(parent).unwrap() };
    match parent {
        Value::Object(fields) => {
            fields.insert(name.to_owned(), value);
        }
        Value::Array(items) => items[name.parse::<usize>().unwrap()] = value,
        _ => panic!("{path}"),
    }
    state
}

#[test]
fn files_that_are_no_study_files_are_refused_with_a_sentence() {
    let good = good_state().to_string();
    let state = plain("study.json", good.as_bytes());
    let zeros = deflated(&vec![0; 300_000_000]);
    let bomb =
        Claimed { method: 8, unpacked: Some(300_000_000), crc32: Some(0), ..plain("study.json", &zeros) };
    let packed_state = deflated(good.as_bytes());
    let packed_state = Claimed {
        method: 8,
        unpacked: Some(good.len() as u32),
        crc32: Some(crc32fast::hash(good.as_bytes())),
        ..plain("study.json", &packed_state)
    };
    let claims = Claimed { unpacked: Some(4_000_000_000), ..packed_state.clone() };
    let twice = [state.clone(), plain("STUDY.json", b"{}")];
    let over = [state.clone(), Claimed { at: Some(5), ..plain("other", b"x") }];
    let far = [Claimed { packed: Some(4_000_000_000), unpacked: Some(4_000_000_000), ..state.clone() }];
    let mut moved = claimed(std::slice::from_ref(&state));
    let at = moved.len() - 6;
    moved[at..at + 4].copy_from_slice(&3u32.to_le_bytes());
    let mut many = claimed(std::slice::from_ref(&state));
    let at = many.len() - 12;
    many[at..at + 2].copy_from_slice(&60_000u16.to_le_bytes());
    let mut wide = claimed(std::slice::from_ref(&state));
    let at = wide.len() - 6;
    wide[at..at + 4].copy_from_slice(&u32::MAX.to_le_bytes());
    let trailing = [claimed(std::slice::from_ref(&state)), b"more behind it".to_vec()].concat();
    let mut other_name = claimed(std::slice::from_ref(&state));
    other_name[30] = b'S';
    let named = |path: &'static str| claimed(&[state.clone(), plain(path, b"x")]);
    let scene = "\"scene\":{\"list\":[1,";
    assert!(good.contains(scene));
    let deep = good.replacen(scene, &format!("{scene}{}{},", "[".repeat(200_000), "]".repeat(200_000)), 1);
    let deep_scene = |depth: usize| {
        let scene: Value = (0..depth).fold(json!(1), |inner, _| json!([inner]));
        state_alone(&edited("/record/findings/0/scene", scene))
    };
    let region = json!({"number": 1, "name": "r", "role": "passage", "shape": {"how": "threshold", "map": "", "low": 0, "high": 1}});
    let million = |field: &str, one: Value| {
        let list = vec![one.to_string(); 1_000_000].join(",");
        let text = json!({"limner_study": 1, "program": "limner", "record": {"record": 6, "inputs": [], "grid": null, "maps": {}, field: []}})
            .to_string()
            .replacen(&format!("\"{field}\":[]"), &format!("\"{field}\":[{list}]"), 1);
        // Stored, so that it is no bomb.
        claimed(&[plain("study.json", text.as_bytes())])
    };
    let cases: Vec<(&str, Vec<u8>, &str, &str)> = vec![
        ("nothing", vec![], "damaged_study", "only a part of one"),
        ("zeros", vec![0; 5000], "damaged_study", "only a part of one"),
        (
            "a picture",
            include_bytes!("../demo-data/tern-sound/photo.png").to_vec(),
            "damaged_study",
            "only a part of one",
        ),
        ("an empty ZIP", claimed(&[]), "no_study", "it is an empty ZIP file"),
        ("a ZIP of maps", claimed(&[plain("Fe-K.csv", b"1,2\n3,4\n")]), "no_study", "it holds no study.json"),
        (
            "a folder in it",
            claimed(&[plain("my study/study.json", good.as_bytes())]),
            "no_study",
            "pack what is in the folder",
        ),
        ("up and out", named("../../.ssh/authorized_keys"), "no_study", "leads out of its folder"),
        ("the root", named("/etc/passwd"), "no_study", "begins at the root"),
        ("backslashes", named("..\\..\\boot.ini"), "no_study", "take for a folder or a drive"),
        ("a drive", named("C:boot.ini"), "no_study", "take for a folder or a drive"),
        ("markup", named("../<img src=x onerror=alert(1)>"), "no_study", "leads out"),
        ("two of a name", claimed(&twice), "damaged_study", "two entries are called “STUDY.json”"),
        ("over each other", claimed(&over), "damaged_study", "lie over each other"),
        ("beyond its end", claimed(&far), "damaged_study", "reaches into its list"),
        ("a moved list", moved, "damaged_study", "its list of entries"),
        ("a list of many", many, "damaged_study", "60000 entries"),
        ("no larger record", wide, "damaged_study", "not where it should be"),
        ("more behind it", trailing, "damaged_study", "only a part of one"),
        ("another name before it", other_name, "damaged_study", "another name in the list"),
        (
            "locked",
            claimed(&[Claimed { flags: 1, ..state.clone() }]),
            "damaged_study",
            "locked with a password",
        ),
        ("another method", claimed(&[Claimed { method: 12, ..state.clone() }]), "damaged_study", "number 12"),
        (
            "wrong sum",
            claimed(&[Claimed { crc32: Some(5), ..state.clone() }]),
            "damaged_study",
            "wrong checksum",
        ),
        (
            "wrong sizes",
            claimed(&[Claimed { unpacked: Some(5), ..state.clone() }]),
            "damaged_study",
            "contradict each other",
        ),
        ("a bomb", claimed(&[bomb]), "damaged_study", "claims to unpack"),
        ("a claim", claimed(&[claims]), "damaged_study", "claims to unpack"),
        ("no JSON", claimed(&[plain("study.json", b"<html>")]), "damaged_study", "not understood"),
        ("no text", claimed(&[plain("study.json", b"\xff\xfe\x00")]), "damaged_study", "not understood"),
        ("empty state", claimed(&[plain("study.json", b"")]), "damaged_study", "not understood"),
        (
            "another's",
            claimed(&[plain("study.json", b"{\"name\": \"x\"}")]),
            "no_study",
            "not written by Limner",
        ),
        ("a list", claimed(&[plain("study.json", b"[1, 2]")]), "damaged_study", "not understood"),
        ("deep", claimed(&[plain("study.json", deep.as_bytes())]), "damaged_study", "more deeply"),
        ("deeper than is read", deep_scene(200), "damaged_study", "more deeply"),
        ("deeper than is kept", deep_scene(40), "damaged_study", "f1 of the record is damaged"),
        ("newer record", state_alone(&edited("/record/record", json!(7))), "other_version", "newer version"),
        ("newer layout", state_alone(&edited("/limner_study", json!(2))), "other_version", "newer version"),
        (
            "far newer",
            state_alone(&json!({"limner_study": 9, "program": "limner 9.0\n<b>", "other": []})),
            "other_version",
            "newer version",
        ),
        (
            "record of none",
            state_alone(&edited("/record/record", json!(0))),
            "other_version",
            "no longer read",
        ),
        (
            "record of the first",
            state_alone(&edited("/record/record", json!(1))),
            "other_version",
            "no longer read",
        ),
        (
            "record without",
            state_alone(&json!({"limner_study": 1, "program": ""})),
            "other_version",
            "no longer read",
        ),
        (
            "a million regions",
            million("regions", region),
            "damaged_study",
            "1000000 regions, and a study holds at most 256",
        ),
        ("a million points", million("points", json!({})), "damaged_study", "1000000 analysis points"),
        ("a million spectra", million("spectra", json!({})), "damaged_study", "1000000 spectra"),
        ("a million findings", million("findings", json!([])), "damaged_study", "1000000 findings"),
        ("a million files", million("inputs", json!({})), "damaged_study", "1000000 files"),
        ("a million derived", million("derived", json!(null)), "damaged_study", "1000000 derived maps"),
    ];
    for (name, file, code, said) in cases {
        let fault = refused(name, &file);
        assert!(
            fault.code == code && fault.message.contains(said),
            "{name}: {} {}",
            fault.code,
            fault.message
        );
    }
}

#[test]
fn states_of_wrong_types_and_odd_values_are_refused_or_harmless() {
    let state = good_state();
    let hash = |i: usize| state["record"]["inputs"][i]["sha256"].clone();
    let long = "x".repeat(5000);
    // (where, what, whether it is refused)
    let edits: Vec<(&str, Value, bool)> = vec![
        ("/record", json!("record"), true),
        ("/record/record", json!("6"), true),
        ("/record/record", json!(-1), true),
        ("/record/record", json!(6.5), true),
        ("/record/inputs", json!(5), true),
        ("/record/inputs", json!({}), true),
        ("/record/inputs/0", json!(null), true),
        ("/record/inputs/0/name", json!(["x"]), true),
        ("/record/inputs/0/name", json!(long), true),
        ("/record/inputs/0/name", json!("<img src=x onerror=alert(1)>\u{202e}gnp"), false),
        ("/record/inputs/0/sha256", json!("../../x"), true),
        ("/record/inputs/0/sha256", json!("AB".repeat(32)), true),
        ("/record/inputs/0/sha256", json!("0".repeat(64)), false),
        ("/record/inputs/1/sha256", hash(0), true),
        ("/record/inputs/0/size", json!(-5), true),
        ("/record/inputs/0/size", json!(u64::MAX), false),
        ("/record/inputs/0/crc32", json!(1e99), true),
        ("/record/inputs/0/way", json!("no such way"), false),
        ("/record/inputs/0/before", json!([u32::MAX, 0]), true),
        ("/record/inputs/0/before", json!([0]), true),
        ("/record/maps", json!([]), true),
        ("/record/maps", json!({"x": {"kind": "counts"}}), false),
        ("/record/regions", json!("none"), true),
        ("/record/regions/0/shape", json!({"how": "circle"}), true),
        ("/record/regions/0/number", json!(1.5), true),
        ("/record/regions/1/shape/polygon", json!([[1e308, -1e308], [0, 0], [1, null]]), true),
        ("/record/regions/0/name", json!("</script><script>alert(1)</script>"), false),
        ("/record/findings/0/title", json!(long), true),
        ("/record/findings/0/answer", json!("x"), true),
        ("/record/findings/0/answer", json!("0".repeat(64)), false),
        ("/record/findings/0/question", json!("why"), true),
        ("/record/findings/0/number", json!(u32::MAX), true),
        ("/record/findings/0/picture/width", json!(1), false),
        ("/record/findings/0/picture/png", json!("f".repeat(64)), false),
        ("/record/findings/0/settings", json!({"a": {"b": [1, 2]}}), false),
        ("/record/findings/0/note", json!("<script>alert(1)</script>"), false),
        ("/record/findings/0/program", json!("\u{0}\n"), false),
        ("/record/scan", json!({"kv": "forty"}), true),
        ("/record/scan", json!({"kv": -40}), true),
        ("/record/grid", json!({"step_x_um": 0}), true),
        ("/record/grid", json!({"step_x_um": 1e-300, "step_y_um": 1e300}), true),
        ("/record/about", json!({"object": 5}), true),
        ("/record/about", json!({"object": "<svg onload=alert(1)>"}), false),
        ("/record/left_out", json!(vec!["x"; 3000]), true),
        ("/record/left_out", json!(["the photo <b>"]), false),
        ("/record/unknown", json!({"a": 1}), false),
        ("/files", json!({}), true),
        ("/files", json!([]), false),
        ("/files", json!(7), true),
        ("/files/0/path", json!("../../etc/passwd"), false),
        ("/files/0/path", json!("study.json"), false),
        ("/files/0", json!({"path": 1}), true),
        ("/program", json!(5), true),
        ("/program", json!("<b>\n\u{0}"), false),
    ];
    let entries = entries_of(&saved(&study_with_findings(), &by_hash()));
    let mut unexpected = Vec::new();
    for (path, value, is_refused) in edits {
        let name = format!("{path} = {}", value.to_string().chars().take(60).collect::<String>());
        let file = with_state(&entries, &edited(path, value));
        match restored(&file) {
            Err(fault) => {
                is_sentence(&name, &fault.message);
                if !is_refused {
                    unexpected.push(format!("{name}: {fault}"));
                }
            }
            Ok(back) => {
                sound(
                    &name,
                    back.study,
                    &back.opened.notices.iter().map(|n| n.text.clone()).collect::<Vec<_>>(),
                );
                if is_refused {
                    unexpected.push(format!("{name} was restored"));
                }
            }
        }
    }
    assert!(unexpected.is_empty(), "{unexpected:#?}");
}

/// The file with another state; inputs are stored, the rest deflated.
fn with_state(entries: &[(String, Vec<u8>)], state: &Value) -> Vec<u8> {
    let text = state.to_string();
    let listed: Vec<_> = entries
        .iter()
        .map(|(path, bytes)| match path.as_str() {
            "study.json" => (path.clone(), Content::Deflated(text.as_bytes())),
            _ => (path.clone(), Content::Stored(bytes.as_slice())),
        })
        .collect();
    write_whole(&listed).unwrap()
}

/// A restored study is one that can be looked at, saved and restored again as it is.
fn sound(name: &str, mut study: Study, notices: &[String]) {
    for text in notices {
        is_sentence(name, text);
    }
    let seen = format!(
        "{:?}{:?}{:?}{:?}{:?}",
        study.maps(),
        study.regions(),
        study.points(),
        study.findings(),
        study.read_out(3.0, 4.0, None).unwrap()
    );
    assert!(!seen.contains("NaN"), "{name}: {seen}");
    let files: Files = by_hash();
    let again = restored(&saved(&study, &files))
        .unwrap_or_else(|fault| panic!("{name}: its own file is refused: {fault}"));
    assert_eq!(again.study.record(), study.record(), "{name}");
    // It takes work as any study does.
    let _ =
        study.open("new.npy", &making::npy("<u2", "False", "(2, 3)", &[1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6, 0]));
    let _ = study.inspect();
}

#[test]
fn markup_in_names_and_notes_stays_text() {
    let study = study_with_findings();
    let back = restored(&saved(&study, &by_hash())).unwrap().study;
    assert_eq!(back.findings()[0].title, "Titanium <without> iron");
    assert_eq!(back.findings()[0].note, "</script><b>n</b>");
    assert_eq!(back.regions()[0].name, "left <script>alert(1)</script>");
    assert_eq!(back.about().object, "Chart <img src=x>");
    // No entry is called by what the user typed; the text in words has none of it.
    for (path, bytes) in entries_of(&saved(&study, &by_hash())) {
        assert!(
            path.bytes().all(|b| b.is_ascii_alphanumeric() || b"-_./".contains(&b)) && !path.contains(".."),
            "{path}"
        );
        assert!(path != "limner-study.txt" || !String::from_utf8(bytes).unwrap().contains("img"));
    }
}

#[test]
fn a_file_that_is_cut_anywhere_is_refused() {
    let file = saved(&study_with_findings(), &by_hash());
    let step = (file.len() / 400).max(1);
    let ends = (0..file.len()).step_by(step).chain(file.len().saturating_sub(600)..file.len());
    for length in ends {
        let fault = refused(&format!("cut at {length}"), &file[..length]);
        assert_eq!(fault.code, "damaged_study", "cut at {length}: {fault}");
    }
    // Also where the last thing left is a ZIP of its own, an input that is one.
    let inner = claimed(&[plain("study.json", good_state().to_string().as_bytes())]);
    let outer = claimed(&[plain("study.json", b"{}"), plain("inputs/001-maps.zip", &inner)]);
    let cut = &outer[..outer.len() - 22 - 2 * 46 - "study.jsoninputs/001-maps.zip".len()];
    assert!(cut.ends_with(&inner));
    assert_eq!(refused("an inner end", cut).code, "damaged_study");
}

#[test]
fn what_is_given_wrongly_is_a_fault_and_no_study() {
    let file = saved(&study_with_findings(), &by_hash());
    let mut reader = Reader::new(file.len() as u64);
    assert!(reader.give(&file[..5]).is_err() && reader.wants().is_none() && reader.give(&file).is_err());
    assert_eq!(reader.finish().unwrap_err().code, "damaged_study");
    let reader = Reader::new(file.len() as u64);
    assert_eq!(reader.finish().unwrap_err().code, "unexpected");
    // A size that is not that of the file.
    let mut reader = Reader::new(u64::MAX);
    let (from, to) = reader.wants().unwrap();
    assert!(reader.give(&vec![0; (to - from) as usize]).is_err());
}

/// Any bytes changed anywhere: refused, or a sound study with what fits its hashes.
#[test]
fn changed_bytes_give_a_sentence_or_a_sound_study() {
    let first = study_with_findings();
    let file = saved(&first, &by_hash());
    let mut chance = Chance::new(7);
    let (mut whole, mut refusals) = (0, 0);
    for round in 0..3000 {
        let mut changed = file.clone();
        // Half of the changes where the structure is: the head of an entry or the list.
        for _ in 0..=chance.below(3) {
            let at = if chance.below(2) == 0 {
                let list = limner::zip::end_in(&file).unwrap().at as usize;
                list + chance.below((file.len() - list) as u64) as usize
            } else {
                chance.below(file.len() as u64) as usize
            };
            changed[at] = if chance.below(2) == 0 {
                changed[at] ^ (1 << chance.below(8))
            } else {
                chance.below(256) as u8
            };
        }
        match restored(&changed) {
            Err(fault) => {
                is_sentence(&format!("round {round}"), &fault.message);
                refusals += 1;
            }
            Ok(back) => {
                whole += 1;
                for notice in &back.opened.notices {
                    is_sentence(&format!("round {round}"), &notice.text);
                }
                // The state has a checksum, so that it is what was saved.
                assert_eq!(back.study.record(), first.record(), "round {round}");
                for finding in back.study.findings() {
                    let (now, then) =
                        (back.study.finding(&finding.id).unwrap(), first.finding(&finding.id).unwrap());
                    assert!(now.answer.is_none() || now.answer == then.answer, "round {round}");
                }
                for map in back.study.maps() {
                    assert_eq!(
                        back.study.samples(&map.id).unwrap(),
                        first.samples(&map.id).unwrap(),
                        "round {round}"
                    );
                }
            }
        }
    }
    assert!(whole > 300 && refusals > 300, "{whole} restored, {refusals} refused: too few of one");
}

/// Any value in the state exchanged for an odd one: refused, or a sound study.
#[test]
fn changed_states_give_a_sentence_or_a_sound_study() {
    let entries = entries_of(&saved(&study_with_findings(), &by_hash()));
    let good = good_state();
    let mut places = Vec::new();
    gather(&good, String::new(), &mut places);
    let odd = [
        json!(null),
        json!(true),
        json!(0),
        json!(-1),
        json!(1e300),
        json!(0.1),
        json!(u32::MAX),
        json!(u64::MAX),
        json!(""),
        json!("Größe \u{0}\u{202e}<b>"),
        json!("m1"),
        json!("x".repeat(70_000)),
        json!([]),
        json!({}),
        json!([[[1]]]),
        json!({"how": "combine", "operation": "or", "of": [5, 5], "by_px": 0}),
    ];
    let mut chance = Chance::new(11);
    let (mut whole, mut refusals) = (0, 0);
    for round in 0..2000 {
        let mut state = good.clone();
        let mut name = format!("round {round}");
        for _ in 0..=chance.below(2) {
            let place = &places[chance.below(places.len() as u64) as usize];
            let other = &places[chance.below(places.len() as u64) as usize];
            let value = match chance.below(4) {
                0 => good.pointer(other).cloned().unwrap_or_default(),
                _ => odd[chance.below(odd.len() as u64) as usize].clone(),
            };
            if let Some(target) = state.pointer_mut(place) {
                name += &format!(" {place} = {}", value.to_string().chars().take(50).collect::<String>());
                *target = value;
            }
        }
        match restored(&with_state(&entries, &state)) {
            Err(fault) => {
                is_sentence(&name, &fault.message);
                refusals += 1;
            }
            Ok(back) => {
                whole += 1;
                sound(
                    &name,
                    back.study,
                    &back.opened.notices.iter().map(|n| n.text.clone()).collect::<Vec<_>>(),
                );
            }
        }
    }
    assert!(whole > 200 && refusals > 200, "{whole} restored, {refusals} refused: too few of one");
}

/// Paths of everything in a value.
fn gather(value: &Value, at: String, out: &mut Vec<String>) {
    match value {
        Value::Object(fields) => {
            for (name, field) in fields {
                gather(field, format!("{at}/{}", name.replace('~', "~0").replace('/', "~1")), out);
            }
        }
        Value::Array(items) => {
            for (i, item) in items.iter().enumerate() {
                gather(item, format!("{at}/{i}"), out);
            }
        }
        _ => {}
    }
    if !at.is_empty() {
        out.push(at);
    }
}
