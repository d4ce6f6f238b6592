//! Texts that shall not stand in a copy: put other words in their place, and look whether one still stands somewhere.

use super::LeaveOut;
use super::files::Plan;
use crate::stack::file_stem;
use crate::study::Study;
use serde_json::Value;
use std::collections::BTreeSet;

/// Shorter texts are found in too many others to be looked for.
const SHORTEST: usize = 3;
/// A part of a file's name is looked for only from this length on.
const SHORTEST_PART: usize = 4;
/// A note is looked for only from this length on.
const SHORTEST_NOTE: usize = 8;
/// What stands for a photo's file, for another file, for the object's name, and for its number.
const PHOTO: &str = "the photo";
const FILE: &str = "a file";
const OBJECT: &str = "the object";
const NUMBER: &str = "its number";
/// What stands for something begins with it, or does not.
const ARTICLE: &str = "the ";

/// What shall not stand in a copy.
#[derive(Debug, Default)]
pub(super) struct Secrets {
    /// Texts with what stands for them, the longest first. They are found whatever the size of their letters, where neither
    /// a letter nor a figure touches them.
    hidden: Vec<(String, &'static str)>,
    /// Texts that are only looked for, as they are.
    gone: BTreeSet<String>,
}

impl Secrets {
    /// Of a study, with what becomes of its files: names and hashes that they have in the copy are not among them.
    pub fn of(study: &Study, what: &LeaveOut, plan: &Plan) -> Self {
        let mut out = Self::default();
        let record = study.record();
        let (maps, photos) = (study.maps(), study.photos());
        let of_photo = |sha256: &str| {
            photos.iter().any(|photo| photo.file_sha256 == sha256)
                && maps.iter().all(|map| map.file_sha256 != sha256)
        };
        for input in &record.inputs {
            let is_photo = of_photo(&input.sha256);
            if what.photo && is_photo {
                out.hide(&input.name, PHOTO);
                out.hide(last_part(&input.name), PHOTO);
            }
            if (what.photo && is_photo) || what.rewrites() {
                out.gone.insert(input.sha256.clone());
            }
        }
        if what.file_names {
            let of_maps = maps.iter().map(|map| map.file.as_str());
            let of_photos = photos.iter().map(|photo| photo.file.as_str());
            let of_inputs = record.inputs.iter().map(|input| input.name.as_str());
            let of_spectra = record.spectra.iter().map(|spectrum| spectrum.name.as_str());
            for name in of_maps.chain(of_photos).chain(of_inputs).chain(of_spectra) {
                out.hide_file(name);
            }
        }
        if what.object {
            let name = record.about.object.trim();
            out.hide(name, OBJECT);
            // Texts may name it without its article.
            let article = name.get(..ARTICLE.len()).is_some_and(|start| start.eq_ignore_ascii_case(ARTICLE));
            if article {
                out.hide(&name[ARTICLE.len()..], OBJECT);
            }
            out.hide(&record.about.number, NUMBER);
        }
        if what.notes {
            let of_findings = record.findings.iter().map(|finding| &finding.note);
            let of_points = record.points.iter().map(|point| &point.result);
            let notes = of_findings.chain(of_points).chain([&record.about.remarks]);
            out.gone.extend(notes.filter(|text| text.chars().count() >= SHORTEST_NOTE).cloned());
        }
        for file in &plan.new {
            out.gone.remove(&file.record.sha256);
            let is_new = |text: &str| text == file.record.name || text == file_stem(&file.record.name);
            out.hidden.retain(|(text, _)| !is_new(text));
        }
        for spectrum in &record.spectra {
            let plain = spectrum_name(spectrum.number);
            out.hidden.retain(|(text, _)| *text != plain);
        }
        out.hidden.sort_by(|(a, _), (b, _)| b.len().cmp(&a.len()).then(a.cmp(b)));
        out.hidden.dedup_by(|(a, _), (b, _)| a == b);
        out
    }

    fn hide(&mut self, text: &str, instead: &'static str) {
        let text = text.trim();
        if text.chars().count() >= SHORTEST {
            self.hidden.push((text.to_owned(), instead));
        }
    }

    /// The whole name, the part behind the folders, and that without its ending where it is more than a plain word.
    fn hide_file(&mut self, name: &str) {
        let last = last_part(name);
        self.hide(name, FILE);
        self.hide(last, FILE);
        let stem = file_stem(last);
        let is_telling = stem.chars().any(|c| !c.is_alphabetic());
        if is_telling && stem.chars().count() >= SHORTEST_PART {
            self.hide(stem, FILE);
        }
    }

    /// The same text with other words for what is hidden.
    pub fn replaced(&self, text: &str) -> String {
        let mut out = text.to_owned();
        for (hidden, instead) in &self.hidden {
            out = replaced(&out, hidden, instead);
        }
        out
    }

    /// The same, not longer than so many characters.
    pub fn replaced_within(&self, text: &str, longest: usize) -> String {
        self.replaced(text).chars().take(longest).collect()
    }

    /// Whether a text holds one of them. A single plain word is not looked for: the program may use it for something else, and where
    /// a user had written it, it was replaced.
    pub fn is_in(&self, text: &str) -> bool {
        self.gone.iter().any(|gone| text.contains(gone.as_str()))
            || self.telling().any(|hidden| place_of(text, hidden, 0).is_some())
    }

    fn telling(&self) -> impl Iterator<Item = &str> {
        let all = self.hidden.iter().map(|(hidden, _)| hidden.as_str());
        all.filter(|hidden| hidden.chars().any(|c| !c.is_alphabetic()))
    }

    /// Whether a text or a name within holds one of them.
    pub fn is_within(&self, value: &Value) -> bool {
        match value {
            Value::String(text) => self.is_in(text),
            Value::Array(items) => items.iter().any(|item| self.is_within(item)),
            Value::Object(fields) => {
                fields.iter().any(|(name, value)| self.is_in(name) || self.is_within(value))
            }
            _ => false,
        }
    }

    /// Whether bytes hold one of them: as JSON where they are that, else as text between other bytes, plain or as JSON writes
    /// it.
    pub fn is_in_bytes(&self, bytes: &[u8]) -> bool {
        match serde_json::from_slice::<Value>(bytes) {
            Ok(value) => self.is_within(&value),
            Err(_) => {
                let text = String::from_utf8_lossy(bytes);
                let written = |plain: &str| {
                    let quoted = Value::String(plain.to_owned()).to_string();
                    quoted.trim_matches('"').to_owned()
                };
                self.is_in(&text)
                    || self.gone.iter().any(|gone| text.contains(&written(gone)))
                    || self.telling().any(|hidden| place_of(&text, &written(hidden), 0).is_some())
            }
        }
    }
}

/// What a spectrum is called by itself.
pub(super) fn spectrum_name(number: u32) -> String {
    format!("Spectrum {number}")
}

/// Behind the last slash of either kind.
fn last_part(name: &str) -> &str {
    name.rsplit(['/', '\\']).next().unwrap_or(name)
}

fn replaced(text: &str, hidden: &str, instead: &str) -> String {
    let (mut out, mut at) = (String::new(), 0);
    while let Some((from, to)) = place_of(text, hidden, at) {
        out.push_str(&text[at..from]);
        let has_article = out.to_lowercase().ends_with(ARTICLE);
        out.push_str(instead.strip_prefix(ARTICLE).filter(|_| has_article).unwrap_or(instead));
        at = to;
    }
    out.push_str(&text[at..]);
    out
}

/// Where a text stands in another from a place on, whatever the size of its letters and with no letter or figure touching it.
fn place_of(text: &str, wanted: &str, from: usize) -> Option<(usize, usize)> {
    let small = |c: char| c.to_lowercase().next().unwrap_or(c);
    let first = small(wanted.chars().next()?);
    let mut before = text[..from].chars().next_back();
    for (at, c) in text[from..].char_indices().map(|(at, c)| (from + at, c)) {
        let is_start = small(c) == first && before.is_none_or(|c| !c.is_alphanumeric());
        if is_start {
            let mut rest = text[at..].chars();
            let is_same = wanted.chars().all(|w| rest.next().is_some_and(|c| small(c) == small(w)));
            let end = text.len() - rest.as_str().len();
            if is_same && rest.next().is_none_or(|c| !c.is_alphanumeric()) {
                return Some((at, end));
            }
        }
        before = Some(c);
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    fn secrets() -> Secrets {
        let hidden = vec![("Tern Sound".to_owned(), OBJECT), ("Ære 7".to_owned(), NUMBER)];
        Secrets { hidden, gone: BTreeSet::from(["a note \"kept\" apart".to_owned()]) }
    }

    #[test]
    fn words_are_replaced_whole_and_whatever_the_size_of_their_letters() {
        let of = |text: &str| secrets().replaced(text);
        assert_eq!(of("Sky of TERN sound, tern sound"), "Sky of the object, the object");
        assert_eq!(of("Eastern Soundings, Tern Sounds"), "Eastern Soundings, Tern Sounds");
        assert_eq!(of("“Tern Sound”_2 (ære 7)"), "“the object”_2 (its number)");
        assert_eq!(of(""), "");
        assert_eq!(secrets().replaced_within("Tern Sound north", 10), "the object");
    }

    #[test]
    fn a_plain_word_is_replaced_and_not_looked_for_in_what_the_program_says() {
        let secrets = Secrets { hidden: vec![("Map".to_owned(), OBJECT)], ..Secrets::default() };
        assert_eq!(secrets.replaced("Sky of the Map"), "Sky of the object");
        assert!(!secrets.is_in("map 1 pixels.npy"));
    }

    #[test]
    fn they_are_found_in_values_names_and_bytes() {
        let secrets = secrets();
        assert!(secrets.is_within(&json!({"a": [1, {"b": "of tern sound"}]})));
        assert!(secrets.is_within(&json!({"Tern Sound": 1})));
        assert!(!secrets.is_within(&json!({"a": ["Eastern Sound", null, 7]})));
        assert!(secrets.is_in_bytes(json!({"t": "a note \"kept\" apart"}).to_string().as_bytes()));
        let chunk = [
            b"\xff\0iTXtSettings\0".to_vec(),
            json!({"t": "a note \"kept\" apart"}).to_string().into_bytes(),
        ];
        assert!(secrets.is_in_bytes(&chunk.concat()), "JSON between other bytes");
        assert!(!secrets.is_in_bytes(b"\xff\0iTXt{\"t\": \"a note\"}"));
    }

    #[test]
    fn parts_of_the_names_of_files_are_hidden_where_they_tell_something() {
        let mut secrets = Secrets::default();
        secrets.hide_file("Sound 1654/tern_Cu-K.tif");
        secrets.hide_file("iron.tif");
        for text in ["Sound 1654/tern_Cu-K.tif", "tern_Cu-K.tif", "see tern_cu-k, left", "iron.tif"] {
            assert!(secrets.is_in(text), "{text}");
        }
        assert!(!secrets.is_in("much iron"), "a plain word is not a file's name");
    }
}
