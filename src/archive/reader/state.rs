//! The state in a study file: counted first, then read.

use super::super::{LAYOUT, MOST_DERIVED, MOST_ENTRIES, MOST_INPUTS, MOST_STATED, STATE};
use super::words::{damaged, foreign, other_version, shortened, too_many};
use crate::notice::Fault;
use crate::study::{MOST_ANALYSIS_POINTS, MOST_FINDINGS, MOST_REGIONS, MOST_SPECTRA, Record, Study};
use serde::Deserialize;
use serde::de::{DeserializeOwned, Deserializer, IgnoredAny, MapAccess, SeqAccess, Visitor};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;

/// The oldest record that is read.
const OLDEST: u32 = 2;
/// Characters of a file's name.
const LONGEST_NAME: usize = 4096;

/// How many members a list or an object has, none of them kept.
#[derive(Debug, Clone, Copy, Default)]
struct Many(usize);

impl<'de> Deserialize<'de> for Many {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        struct Counter;
        impl<'de> Visitor<'de> for Counter {
            type Value = Many;
            fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.write_str("a list or an object")
            }
            fn visit_seq<A: SeqAccess<'de>>(self, mut seq: A) -> Result<Many, A::Error> {
                let mut many = 0;
                while seq.next_element::<IgnoredAny>()?.is_some() {
                    many += 1;
                }
                Ok(Many(many))
            }
            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Many, A::Error> {
                let mut many = 0;
                while map.next_entry::<IgnoredAny, IgnoredAny>()?.is_some() {
                    many += 1;
                }
                Ok(Many(many))
            }
        }
        from.deserialize_any(Counter)
    }
}

#[derive(Default, Deserialize)]
#[serde(default)]
struct RecordGlance {
    record: u32,
    inputs: Many,
    maps: Many,
    photos: Many,
    fields: Many,
    derived: Many,
    regions: Many,
    points: Many,
    spectra: Many,
    findings: Many,
    left_out: Many,
}

#[derive(Deserialize)]
struct Glance {
    #[serde(default)]
    limner_study: Option<u32>,
    #[serde(default)]
    program: String,
    #[serde(default)]
    record: RecordGlance,
    #[serde(default)]
    files: Many,
}

#[derive(Deserialize)]
struct FileLine {
    path: String,
    sha256: String,
}

#[derive(Deserialize)]
struct Whole {
    record: Record,
    #[serde(default)]
    files: Vec<FileLine>,
}

/// What a study file says of itself.
#[derive(Debug)]
pub(super) struct State {
    pub(super) record: Record,
    /// Entries by the hashes of what they hold.
    pub(super) paths: BTreeMap<String, String>,
}

fn parsed<T: DeserializeOwned>(bytes: &[u8]) -> Result<T, Fault> {
    serde_json::from_slice(bytes).map_err(|error| {
        let said = error.to_string();
        let what = if said.contains("recursion limit") {
            "lists and objects stand in each other more deeply than in any study".to_owned()
        } else {
            shortened(&said)
        };
        damaged(&format!("its {STATE} is not understood ({what})"))
    })
}

impl State {
    /// Reads the state. Versions and counts are looked at before anything of it is kept.
    pub(super) fn read(bytes: &[u8]) -> Result<Self, Fault> {
        let glance: Glance = parsed(bytes)?;
        let Some(layout) = glance.limner_study else {
            return Err(foreign(&format!("its {STATE} was not written by Limner")));
        };
        let (version, known) = (glance.record.record, Study::new().record().record);
        let by = shortened(&glance.program);
        if layout > LAYOUT || version > known {
            return Err(other_version(&format!(
                "The study file was written by a newer version of this program ({by}; layout {layout}, record {version}; this version reads layout {LAYOUT}, record {known}). Open it with that version."
            )));
        }
        if layout == 0 || version < OLDEST {
            return Err(other_version(&format!(
                "The study file holds a record of version {version}, which is no longer read; the oldest is {OLDEST}. Open its files themselves: they are in its folder “inputs”."
            )));
        }
        let of = glance.record;
        for (what, Many(found), most) in [
            ("entries of files", glance.files, MOST_ENTRIES as usize),
            ("files", of.inputs, MOST_INPUTS),
            ("stated maps", of.maps, MOST_STATED),
            ("stated photos", of.photos, MOST_STATED),
            ("scans", of.fields, MOST_DERIVED),
            ("derived maps", of.derived, MOST_DERIVED),
            ("regions", of.regions, MOST_REGIONS),
            ("analysis points", of.points, MOST_ANALYSIS_POINTS),
            ("spectra", of.spectra, MOST_SPECTRA),
            ("findings", of.findings, MOST_FINDINGS),
            ("things left out", of.left_out, MOST_DERIVED),
        ] {
            if found > most {
                return Err(too_many(what, found, most));
            }
        }
        let Whole { record, files } = parsed(bytes)?;
        let (mut paths, mut taken) = (BTreeMap::new(), BTreeSet::new());
        for FileLine { path, sha256 } in files {
            if !taken.insert(path.clone()) || paths.insert(sha256, path).is_some() {
                return Err(damaged(&format!("its {STATE} names an entry twice")));
            }
        }
        let state = Self { record, paths };
        state.has_sound_inputs()?;
        Ok(state)
    }

    fn has_sound_inputs(&self) -> Result<(), Fault> {
        let is_hash = |text: &str| {
            text.len() == 64 && text.bytes().all(|b| b.is_ascii_digit() || (b'a'..=b'f').contains(&b))
        };
        let mut seen = BTreeSet::new();
        for input in &self.record.inputs {
            if !is_hash(&input.sha256) || !seen.insert(&input.sha256) {
                return Err(damaged(&format!(
                    "its {STATE} names a file twice, or by something that is no SHA-256"
                )));
            }
            if input.name.chars().nth(LONGEST_NAME).is_some() {
                return Err(damaged(&format!(
                    "its {STATE} names a file by more than {LONGEST_NAME} characters"
                )));
            }
        }
        Ok(())
    }
}
