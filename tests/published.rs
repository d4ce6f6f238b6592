//! Test images and arrays that others publish in packages (`tests/published/README.md`): each is read as an
//! independent decoder reads it (`decoded.csv`), or gets the sentence that `outcome.csv` states. Every file of the
//! folder is listed, and every listed file is there.
//!
//! `LIMNER_WRITE_CASES=1 cargo test --test published` writes `outcome.csv` anew, to be read before it is committed.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

use limner::digest::sha256_hex;
use limner::reading::{Content, Reading, read};
use std::collections::BTreeMap;
use std::fmt::Write;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/published")
}

fn table(name: &str) -> String {
    let path = folder().join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

/// What was read: "maps" or "photo", how many, the size of the first and the hash of all pixels; and every sentence.
#[derive(Default)]
struct Read {
    what: &'static str,
    number: usize,
    size: (u32, u32),
    bytes: Vec<u8>,
    said: Vec<String>,
}

impl Read {
    fn take(&mut self, reading: Reading) {
        self.said.extend(reading.findings.iter().map(|finding| finding.to_string()));
        match reading.content {
            Content::Maps(pages) => {
                for page in pages {
                    if self.number == 0 {
                        self.size = (page.samples.width(), page.samples.height());
                    }
                    self.what = "maps";
                    self.number += 1;
                    self.bytes.extend(page.samples.le_bytes().unwrap());
                }
            }
            Content::Photo(photo) => {
                self.what = "photo";
                self.number += 1;
                self.size = (photo.pixels.width(), photo.pixels.height());
                self.bytes.extend(photo.pixels.data().iter().flatten());
            }
            Content::Ask { question, .. } => self.said.push(question),
            Content::Archive(entries) => {
                for entry in entries {
                    match entry.reading {
                        Ok(reading) => self.take(reading),
                        Err(finding) => self.said.push(format!("{}: {finding}", entry.path)),
                    }
                }
            }
            Content::Names(names) => self.said.push(format!("{} names", names.len())),
        }
    }
}

#[test]
fn every_published_file_is_read_exactly_or_refused_with_its_sentence() {
    let mut listed: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for line in table("decoded.csv").lines().skip(1) {
        let fields: Vec<String> = line.split(',').map(str::to_owned).collect();
        listed.insert(fields[0].clone(), fields);
    }
    let present: Vec<String> = {
        let mut names: Vec<String> = std::fs::read_dir(folder().join("files"))
            .unwrap()
            .map(|entry| entry.unwrap().file_name().into_string().unwrap())
            .collect();
        names.sort();
        names
    };
    assert_eq!(present, listed.keys().cloned().collect::<Vec<_>>(), "files and list differ");
    assert!(present.len() >= 36);

    let mut outcomes = "file,outcome\n".to_owned();
    let mut exact = 0;
    for (name, decoded) in &listed {
        let bytes = std::fs::read(folder().join("files").join(name)).unwrap();
        let mut got = Read::default();
        match read(&bytes, None) {
            Ok(reading) => got.take(reading),
            Err(finding) => got.said.push(finding.to_string()),
        }
        let mut outcome = Vec::new();
        if got.number > 0 {
            let number = got.number.to_string();
            assert_eq!((got.what, number.as_str()), (decoded[2].as_str(), decoded[3].as_str()), "{name}");
            if name.ends_with(".jpg") {
                // Decoders of JPEG round differently: the mean of all channels is held within half a step.
                let mean = got.bytes.iter().map(|&v| f64::from(v)).sum::<f64>() / got.bytes.len() as f64;
                let want: f64 = decoded[7].parse().unwrap();
                assert!((mean - want).abs() < 0.5, "{name}: mean {mean}, decoded {want}");
            } else {
                assert_eq!(sha256_hex(&got.bytes), decoded[6], "{name}");
            }
            assert_eq!(
                (got.size.0.to_string(), got.size.1.to_string()),
                (decoded[4].clone(), decoded[5].clone())
            );
            outcome.push(format!("{} {}, {} × {}", got.number, got.what, got.size.0, got.size.1));
            exact += 1;
        }
        outcome.extend(got.said);
        writeln!(outcomes, "{name},\"{}\"", outcome.join(" | ").replace('"', "\"\"")).unwrap();
    }
    assert!(exact >= 20, "only {exact} were read");
    if std::env::var_os("LIMNER_WRITE_CASES").is_some() {
        std::fs::write(folder().join("outcome.csv"), &outcomes).unwrap();
    }
    let wanted = table("outcome.csv");
    for (got, want) in outcomes.lines().zip(wanted.lines()) {
        assert_eq!(got, want);
    }
    assert_eq!(outcomes.lines().count(), wanted.lines().count());
}
