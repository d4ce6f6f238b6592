//! The study file: what goes in comes out, the same study is the same bytes, older versions are read, and other programs
//! read it (Python's `zipfile` and `hashlib`, `unzip` and `sha256sum` where they are there).

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

#[path = "odd/making.rs"]
#[allow(dead_code)]
mod making;
#[path = "studies/making.rs"]
mod studies;

use limner::archive::{is_study, save};
use limner::digest::sha256_hex;
use limner::study::{Record, Study};
use serde_json::{Value, json};
use std::path::PathBuf;
use std::process::Command;
use studies::{by_hash, files, restored, saved, study, study_with_findings};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// Everything that can be seen of a study, as one text.
fn all_of(study: &mut Study) -> String {
    let mut out = serde_json::to_string(&study.record()).unwrap();
    out += &format!(
        "{:?}{:?}{:?}{:?}{:?}{:?}{:?}{:?}",
        study.maps(),
        study.photos(),
        study.regions(),
        study.points(),
        study.spectra(),
        study.object(),
        study.about(),
        study.findings()
    );
    for region in study.regions() {
        out += &sha256_hex(&study.saved_mask(&region.id).unwrap());
    }
    for finding in study.findings() {
        let whole = study.finding(&finding.id).unwrap();
        out += &format!("{whole:?}{:?}", study.kept_png(&finding.id).unwrap().map(sha256_hex));
    }
    for map in study.maps() {
        out += &sha256_hex(&study.samples(&map.id).unwrap().le_bytes().unwrap());
    }
    out
}

#[test]
fn what_is_saved_is_restored_and_saved_again_the_same() {
    let mut first = study_with_findings();
    let file = saved(&first, &by_hash());
    assert!(is_study(&file[..64]) && !is_study(&file[1..]) && !is_study(b""));
    let back = restored(&file).unwrap();
    let mut second = back.study;
    assert_eq!(back.opened.notices, [], "nothing is to be said");
    assert_eq!((back.opened.maps.len(), back.opened.photos.len()), (3, 2));
    assert_eq!(all_of(&mut second), all_of(&mut first));
    assert!(saved(&second, &by_hash()) == file, "saved again it is another file");
    // The files are parts of the study file, byte for byte.
    assert_eq!(back.inputs.len(), files().len());
    for (input, (name, bytes)) in back.inputs.iter().zip(files()) {
        assert_eq!(input.name, name);
        assert!(file[input.from as usize..input.to as usize] == bytes[..]);
    }
    let dropped = Study::new().open("study.zip", &file);
    assert!(!dropped.is_kept && dropped.notices[0].text.contains("whole study"), "{:?}", dropped.notices);
    for one in second.reproduce(&mut |_, _| {}).unwrap() {
        assert!(one.same, "{}", one.text);
    }
    // Numbers go on where they were.
    let view = json!({"picture": {"map": "m1"}});
    let next = second.keep(limner::study::KeepSettings::read(view).unwrap()).unwrap();
    assert_eq!(next.id, "f5");
}

#[test]
fn an_empty_study_and_one_whose_files_are_not_open_are_saved() {
    let empty = saved(&Study::new(), &by_hash());
    let back = restored(&empty).unwrap();
    assert_eq!((back.study.record(), back.inputs.len()), (Study::new().record(), 0));
    // Only what was stated is here; the files were never opened.
    let mut waiting = Study::new();
    waiting.apply(study().record()).unwrap();
    let file = saved(&waiting, &by_hash());
    let back = restored(&file).unwrap();
    let missing: Vec<&str> = back.opened.notices.iter().map(|notice| notice.code.as_str()).collect();
    assert_eq!(missing, ["input_missing"; 4]);
    let mut study = back.study;
    for (name, bytes) in files() {
        study.open(name, &bytes);
    }
    assert_eq!(all_of(&mut study), all_of(&mut self::study()));
}

#[test]
fn a_file_that_is_spoilt_costs_itself() {
    let first = study_with_findings();
    let file = saved(&first, &by_hash());
    let whole = restored(&file).unwrap();
    for (place, input) in whole.inputs.iter().enumerate() {
        let mut spoilt = file.clone();
        spoilt[input.from as usize + 200] ^= 1;
        let back = restored(&spoilt).unwrap();
        let told: Vec<_> = back.opened.notices.iter().filter(|notice| notice.severity == "error").collect();
        assert_eq!((told.len(), told[0].code.as_str(), &told[0].file), (1, "input_damaged", &input.name));
        assert_eq!(back.inputs.len(), 3, "{place}");
        assert_eq!(back.study.record().inputs.len(), 4, "the record still waits for it");
        // The file itself brings everything back.
        let mut study = back.study;
        let (name, bytes) = &files()[place];
        study.open(name, bytes);
        assert_eq!(
            serde_json::to_string(&study.record()).unwrap(),
            serde_json::to_string(&first.record()).unwrap()
        );
    }
}

/// A study file with one entry exchanged.
fn exchanged(study: &Study, path: &str, change: impl Fn(&[u8]) -> Vec<u8>) -> Vec<u8> {
    let mut entries = entries_of(&saved(study, &by_hash()));
    let entry = entries.iter_mut().find(|(name, _)| name == path).unwrap();
    entry.1 = change(&entry.1);
    packed(&entries)
}

fn entries_of(file: &[u8]) -> Vec<(String, Vec<u8>)> {
    let end = limner::zip::end_in(file).unwrap();
    let mut at = end.at as usize;
    let mut out = Vec::new();
    for _ in 0..end.count {
        let (entry, next) = limner::zip::listed_at(file, at).unwrap();
        at = next;
        let start = entry.at as usize;
        let start = start + limner::zip::local_length(&file[start..]).unwrap() as usize;
        let bytes = &file[start..start + entry.packed as usize];
        let bytes = if entry.method == limner::zip::DEFLATED {
            limner::zip::inflated(bytes, entry.unpacked).unwrap().unwrap()
        } else {
            bytes.to_vec()
        };
        out.push((entry.path, bytes));
    }
    out
}

fn packed(entries: &[(String, Vec<u8>)]) -> Vec<u8> {
    let stored = |(path, bytes): &(String, Vec<u8>)| (path.clone(), bytes.clone());
    let owned: Vec<_> = entries.iter().map(stored).collect();
    let listed: Vec<_> =
        owned.iter().map(|(path, bytes)| (path.clone(), limner::zip::Content::Stored(bytes))).collect();
    limner::zip::write_whole(&listed).unwrap()
}

fn replaced(from: &str, to: &str) -> impl Fn(&[u8]) -> Vec<u8> {
    move |bytes| {
        let text = String::from_utf8(bytes.to_vec()).unwrap();
        assert!(text.contains(from), "{from} is not in it");
        text.replacen(from, to, 1).into_bytes()
    }
}

#[test]
fn edited_numbers_are_refused_and_an_edited_state_is_told() {
    let study = study_with_findings();
    let kept = study.finding("f1").unwrap().answer.unwrap();
    let (number, value) =
        kept.numbers.iter().find_map(|(name, n)| Some((name, n.value.filter(|v| *v > 10.0)?))).unwrap();
    let file = exchanged(
        &study,
        "findings/f1/answer.json",
        replaced(&format!("\"value\": {value:?}"), "\"value\": 99999.0"),
    );
    let back = restored(&file).unwrap();
    let told = &back.opened.notices;
    assert_eq!((told.len(), told[0].code.as_str()), (1, "answer_refused"), "{number} {told:?}");
    assert!(
        told[0].text.contains("finding f1 was changed after it was kept, and edited numbers cannot be kept"),
        "{}",
        told[0].text
    );
    let whole = back.study.finding("f1").unwrap();
    assert!(whole.answer.is_none() && !whole.finding.trouble.is_empty());
    assert!(back.study.finding("f2").unwrap().answer.is_some());
    // What a reader may do to the layout changes nothing.
    let file = exchanged(&study, "findings/f1/answer.json", |bytes| {
        let text = String::from_utf8(bytes.to_vec()).unwrap();
        text.lines().flat_map(|line| ["\t", line.trim_start(), "\r\n"]).collect::<String>().into_bytes()
    });
    assert_eq!(restored(&file).unwrap().opened.notices, []);
    // Another id: the study names the first, so that this one is none.
    let file = exchanged(&study, "findings/f1/answer.json", replaced(&kept.id, &"0".repeat(64)));
    assert_eq!(restored(&file).unwrap().opened.notices, [], "only the numbers count, the id is computed");
    // A picture of somewhere else.
    let file = exchanged(&study, "findings/f1/picture.png", |bytes| [bytes, b"x"].concat());
    assert_eq!(restored(&file).unwrap().opened.notices[0].code, "picture_refused");
    // The state has no hash but that in the sums.
    let file = exchanged(&study, "study.json", replaced("Titanium <without> iron", "Titanium with iron"));
    let back = restored(&file).unwrap();
    assert_eq!(back.opened.notices[0].code, "state_changed");
    assert_eq!(back.study.findings()[0].title, "Titanium with iron");
    let file = exchanged(&study, "SHA256SUMS", |_| b"\xff\0".to_vec());
    assert_eq!(
        restored(&file).unwrap().opened.notices,
        [],
        "without a line for the state nothing is known of it"
    );
}

#[test]
fn it_is_packed_anew_by_other_programs_and_read_if_inputs_are_not_packed() {
    let study = study_with_findings();
    let mut entries = entries_of(&saved(&study, &by_hash()));
    entries.reverse();
    entries.push(("__MACOSX/._study.json".into(), b"x".to_vec()));
    assert_eq!(restored(&packed(&entries)).unwrap().opened.notices, []);
    let deflated: Vec<_> =
        entries.iter().map(|(path, bytes)| (path.clone(), limner::zip::Content::Deflated(bytes))).collect();
    let back = restored(&limner::zip::write_whole(&deflated).unwrap()).unwrap();
    let packed: Vec<_> = back
        .opened
        .notices
        .iter()
        .filter(|notice| notice.text.contains("Pack the folder again without"))
        .collect();
    assert!(!packed.is_empty() && packed.len() == 4 - back.inputs.len(), "{:?}", back.opened.notices);
}

#[test]
fn the_larger_end_record_is_read() {
    let file = saved(&study_with_findings(), &by_hash());
    let end = limner::zip::end_in(&file).unwrap();
    let mut wide = file[..end.place].to_vec();
    let record = wide.len() as u64;
    wide.extend(b"PK\x06\x06");
    wide.extend(44u64.to_le_bytes());
    wide.extend([45u16, 45].map(u16::to_le_bytes).concat());
    wide.extend([0; 8]);
    wide.extend([end.count, end.count, end.size, end.at].map(u64::to_le_bytes).concat());
    wide.extend(b"PK\x06\x07\0\0\0\0");
    wide.extend(record.to_le_bytes());
    wide.extend(1u32.to_le_bytes());
    let mut last = file[end.place..].to_vec();
    last[8..20].fill(0xff);
    wide.extend(&last);
    assert_eq!(restored(&wide).unwrap().opened.notices, []);
    // A locator that leads nowhere.
    let at = wide.len() - 22 - 12;
    wide[at..at + 8].fill(0xff);
    assert_eq!(restored(&wide).unwrap_err().code, "damaged_study");
}

/// Records as the versions before wrote them, with their files, and what each must come back as. With `LIMNER_WRITE_STUDIES=1`
/// what is not there yet is written: a study file of the present version, and what a version comes back as, to be held against
/// its record by hand before it is committed.
#[test]
fn study_files_of_every_version_are_restored() {
    let now = Study::new().record().record;
    let writes = std::env::var_os("LIMNER_WRITE_STUDIES").is_some();
    for version in 2..=now {
        let path = root().join(format!("tests/studies/version-{version}.zip"));
        if writes && version == now && !path.exists() {
            std::fs::write(&path, saved(&study_with_findings(), &by_hash())).unwrap();
        }
        let file = std::fs::read(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()));
        let back = restored(&file).unwrap();
        assert_eq!(
            back.opened.notices.iter().filter(|n| n.severity == "error").count(),
            0,
            "{:?}",
            back.opened.notices
        );
        let seen = json!({
            "maps": back.study.maps().iter().map(|m| json!([m.id, m.label, m.kind, m.width, m.height, m.blank])).collect::<Vec<_>>(),
            "photos": back.study.photos().iter().map(|p| p.id.clone()).collect::<Vec<_>>(),
            "regions": back.study.regions().iter().map(|r| json!([r.id, r.name, r.role, r.how, r.pixels])).collect::<Vec<_>>(),
            "points": back.study.points().len(),
            "spectra": back.study.spectra().len(),
            "findings": back.study.findings().iter().map(|f| json!([f.id, f.title, f.verdict, f.trouble])).collect::<Vec<_>>(),
            "step": [back.study.grid().step_x_um, back.study.grid().step_y_um],
        });
        let expected = path.with_extension("json");
        if writes && !expected.exists() {
            std::fs::write(&expected, format!("{seen:#}\n")).unwrap();
        }
        let wanted = std::fs::read_to_string(&expected).unwrap();
        assert_eq!(seen, serde_json::from_str::<Value>(&wanted).unwrap(), "version {version}");
        // Saved again it is of this version, and whole.
        let files =
            back.inputs.iter().map(|i| (i.sha256.clone(), file[i.from as usize..i.to as usize].to_vec()));
        let again = saved(&back.study, &files.collect());
        let mut second = restored(&again).unwrap().study;
        let mut first = back.study;
        assert_eq!(all_of(&mut second), all_of(&mut first), "version {version}");
    }
}

#[test]
fn other_programs_read_it_and_find_the_sums_right() {
    let folder = std::env::temp_dir().join(format!("limner-study-{}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    let file = folder.join("study.zip");
    std::fs::write(&file, saved(&study_with_findings(), &by_hash())).unwrap();
    let ran = |program: &str, arguments: &[&str]| match Command::new(program)
        .args(arguments)
        .current_dir(&folder)
        .output()
    {
        Ok(output) => {
            let said = String::from_utf8_lossy(&output.stdout).into_owned()
                + &String::from_utf8_lossy(&output.stderr);
            assert!(output.status.success(), "{program}: {said}");
            Some(said)
        }
        Err(_) => None,
    };
    // Python's standard library: zipfile tests every CRC, hashlib every sum, json reads, zlib and struct the masks.
    let said = ran("python3", &[root().join("tests/studies/check.py").to_str().unwrap(), "study.zip"]);
    assert!(said.is_none_or(|said| said.contains("all right")));
    if ran("unzip", &["-tq", "study.zip"]).is_some() {
        ran("unzip", &["-q", "study.zip", "-d", "out"]);
        ran("sh", &["-c", "cd out && sha256sum -c SHA256SUMS"]);
    }
    std::fs::remove_dir_all(&folder).unwrap();
}

#[test]
fn a_file_that_was_never_read_by_this_version_cannot_be_saved() {
    let mut record: Record = study().record();
    record.inputs[0].crc32 = None;
    let mut study = Study::new();
    study.apply(record).unwrap();
    // It is not open, so nothing of it is saved; opened, its checksum is known.
    assert!(save(&study).is_ok());
    let (name, bytes) = &files()[0];
    study.open(name, bytes);
    assert!(study.inputs()[0].crc32.is_some() && save(&study).is_ok());
}

/// The same study in the browser has the same bytes: `tests/wasm.rs`. With `LIMNER_WRITE_STUDIES=1` their hash is written anew.
#[test]
fn the_bytes_are_those_of_the_browser() {
    let mut study = Study::new();
    let mut held = studies::Files::new();
    for name in ["tern_Ti-K.tif", "tern_Fe-K.tif"] {
        let bytes = std::fs::read(root().join("demo-data/tern-sound").join(name)).unwrap();
        assert_eq!(study.open(name, &bytes).maps.len(), 1);
        held.insert(sha256_hex(&bytes), bytes);
    }
    let paper = json!({"name": "paper", "rectangle": {"x": 75, "y": 165, "width": 30, "height": 22}});
    studies::region(&mut study, paper);
    let view = json!({"picture": {"map": "m1"}, "title": "one map"});
    study.keep(limner::study::KeepSettings::read(view).unwrap()).unwrap();
    let (found, path) = (sha256_hex(&saved(&study, &held)), root().join("tests/studies/same_bytes.txt"));
    if std::env::var_os("LIMNER_WRITE_STUDIES").is_some() {
        std::fs::write(&path, format!("{found}\n")).unwrap();
    }
    assert_eq!(found, std::fs::read_to_string(path).unwrap().trim());
}
