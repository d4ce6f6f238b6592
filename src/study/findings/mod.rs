//! Findings: answers and views that the user kept, each with its picture and with what it rests on.

mod again;
mod ground;
mod record;
mod summary;

pub use again::Way;
pub use ground::{Ground, Part as GroundPart};
pub use record::{
    FindingRecord, FindingSettings, KeepSettings, KeptPicture, LARGEST_SCENE, LONGEST_NOTE, LONGEST_TITLE,
    MOST_FINDINGS,
};
pub(super) use record::{plain_line, plain_text};
pub use summary::{Difference, FindingSummary, FindingWhole, NamedThing, PictureGlance, Reproduced};

use super::{ExportSettings, Study};
use crate::ask::picture::PictureSettings;
use crate::ask::{self, Answer};
use crate::notice::Fault;
use record::{PICTURE_MM, PICTURE_PX, note_of, small, title_of};
use serde_json::{Value, json};
use std::collections::BTreeSet;

pub(super) fn id_of(number: u32) -> String {
    format!("f{number}")
}

fn unknown_finding(id: &str) -> Fault {
    let id: String = id.chars().take(LONGEST_TITLE).collect();
    Fault::new("unknown_finding", format!("There is no finding called “{id}”. Name it by its id, as f1."))
}

impl FindingRecord {
    /// The blobs that it names.
    pub(super) fn blobs(&self) -> impl Iterator<Item = &str> {
        let picture = self.picture.as_ref().map(|kept| kept.png.as_str());
        self.answer.as_deref().into_iter().chain(picture)
    }
}

impl Study {
    /// Keeps an answer or a view as a finding, at the end of the list.
    ///
    /// # Errors
    /// An answer whose pixels are no longer held; neither an answer nor a picture; something that is not there; texts that are
    /// too long; too many findings. Nothing is changed then.
    pub fn keep(&mut self, settings: KeepSettings) -> Result<FindingSummary, Fault> {
        let KeepSettings { answer, picture, title, note, scene } = settings;
        if self.findings.len() >= MOST_FINDINGS {
            return Err(Fault::bad_setting(format!(
                "There are {MOST_FINDINGS} findings, which is the most that a study holds. Remove one first."
            )));
        }
        let (title, note) = (title_of(&title.unwrap_or_default())?, note_of(&note.unwrap_or_default())?);
        let scene = small(scene, "What the page shows")?;
        let mut record = FindingRecord {
            number: self.findings_made + 1,
            title,
            note,
            question: None,
            settings: Value::Null,
            answer: None,
            picture: None,
            scene,
            ground: Ground::default(),
            program: crate::PROGRAM.into(),
        };
        self.kept_of(&mut record, answer.as_deref(), picture)?;
        self.findings_made = record.number;
        self.findings.push(record);
        let place = self.findings.len() - 1;
        Ok(self.finding_summary(place))
    }

    /// Takes the answer and the picture into the record of a finding.
    fn kept_of(
        &mut self,
        record: &mut FindingRecord,
        answer: Option<&str>,
        picture: Option<Value>,
    ) -> Result<(), Fault> {
        let picture = picture.filter(|picture| !picture.is_null());
        let mut shown = None;
        if let Some(id) = answer {
            let held = self.asked.iter().find(|(held, _)| held == id).map(|(_, asked)| asked.clone());
            let (answer, _) = self.held(id)?;
            let asked = asked_by_ids(held, answer);
            let question = answer.question.clone();
            shown = answer.shows.first().map(|first| json!({ "answer": id, "show": first.show }));
            let bytes = answer_bytes(answer);
            record.ground = self.ground_of_question(&question, &asked)?;
            record.answer = Some(self.blobs.put(bytes));
            record.question = Some(question);
            record.settings = small(asked, "What was asked")?;
        }
        let Some(settings) = picture.or(shown) else {
            if answer.is_none() {
                return Err(Fault::bad_setting(
                    "Say what is to be kept: an answer by its id, or in `picture` what is shown.",
                ));
            }
            record.picture = None;
            return Ok(());
        };
        let settings = small(self.picture_by_ids(settings)?, "What the picture shows")?;
        let seen = self.ground_of_view(&settings)?;
        if answer.is_none() {
            record.ground = seen;
        } else {
            record.ground.photos = seen.photos;
        }
        record.picture = Some(self.kept_picture(settings)?);
        Ok(())
    }

    fn kept_picture(&mut self, settings: Value) -> Result<KeptPicture, Fault> {
        let (png, caption) = self.plate(&plate_of(&settings))?;
        let (width, height) = png_size(&png);
        Ok(KeptPicture { settings, caption, png: self.blobs.put(png), width, height })
    }

    /// Settings of a picture with maps, regions and photos by their ids.
    fn picture_by_ids(&self, mut settings: Value) -> Result<Value, Fault> {
        PictureSettings::read(settings.clone())?;
        let map_id = |name: &Value| -> Result<Value, Fault> {
            name.as_str().map_or(Ok(name.clone()), |name| Ok(json!(self.stack.find(name)?.id.as_str())))
        };
        let Some(fields) = settings.as_object_mut() else { return Ok(settings) };
        for name in ["map", "overlap"] {
            if let Some(field) = fields.get_mut(name) {
                *field = map_id(field)?;
            }
        }
        if let Some(lights) = fields.get_mut("lights").and_then(Value::as_array_mut) {
            for field in lights.iter_mut().filter_map(|light| light.get_mut("map")) {
                *field = map_id(field)?;
            }
        }
        if let Some(Value::String(name)) = fields.get("photo") {
            let id = self.photo(name)?.id();
            fields.insert("photo".into(), json!(id));
        }
        Ok(settings)
    }

    /// All findings, in their order.
    pub fn findings(&self) -> Vec<FindingSummary> {
        (0..self.findings.len()).map(|place| self.finding_summary(place)).collect()
    }

    /// A finding with all that was kept of it.
    ///
    /// # Errors
    /// There is none of this id.
    pub fn finding(&self, id: &str) -> Result<FindingWhole, Fault> {
        let place = self.finding_place(id)?;
        let record = &self.findings[place];
        Ok(FindingWhole {
            finding: self.finding_summary(place),
            answer: self.kept_answer(record),
            settings: record.settings.clone(),
            picture: record.picture.as_ref().map_or(Value::Null, |kept| kept.settings.clone()),
            scene: record.scene.clone(),
        })
    }

    /// The record of a finding.
    ///
    /// # Errors
    /// There is none of this id.
    pub fn finding_record(&self, id: &str) -> Result<&FindingRecord, Fault> {
        Ok(&self.findings[self.finding_place(id)?])
    }

    /// The kept picture of a finding as PNG; `None` where it has none or it did not come with the study.
    ///
    /// # Errors
    /// There is none of this id.
    pub fn kept_png(&self, id: &str) -> Result<Option<&[u8]>, Fault> {
        let record = self.finding_record(id)?;
        Ok(record.picture.as_ref().and_then(|kept| self.blobs.get(&kept.png)))
    }

    /// Changes title, note or place of a finding.
    ///
    /// # Errors
    /// There is none of this id; a text that is too long; no such place. Nothing is changed then.
    pub fn set_finding(&mut self, id: &str, settings: FindingSettings) -> Result<FindingSummary, Fault> {
        let from = self.finding_place(id)?;
        let mut record = self.findings[from].clone();
        if let Some(title) = settings.title {
            record.title = title_of(&title)?;
        }
        if let Some(note) = settings.note {
            record.note = note_of(&note)?;
        }
        let to = match settings.place {
            None => from,
            Some(place) if (1..=self.findings.len()).contains(&(place as usize)) => place as usize - 1,
            Some(place) => {
                return Err(Fault::bad_setting(format!(
                    "There is no place {place} among {} findings.",
                    self.findings.len()
                )));
            }
        };
        self.findings.remove(from);
        self.findings.insert(to, record);
        Ok(self.finding_summary(to))
    }

    /// Whether there is a finding of this id.
    pub(super) fn has_finding(&self, id: &str) -> bool {
        self.finding_place(id).is_ok()
    }

    /// Takes a finding away.
    pub(super) fn remove_finding(&mut self, id: &str) {
        self.findings.retain(|record| id_of(record.number) != id);
    }

    /// Takes over the findings of a record.
    ///
    /// # Errors
    /// One that no program of ours has written. None is taken over then.
    pub(super) fn apply_findings(&mut self, records: Vec<FindingRecord>) -> Result<(), Fault> {
        let numbers: BTreeSet<u32> = records.iter().map(|record| record.number).collect();
        if numbers.len() != records.len() || records.len() > MOST_FINDINGS {
            return Err(Fault::bad_setting(format!(
                "The record names two findings by one number, or has more than {MOST_FINDINGS}."
            )));
        }
        if let Some(record) = records.iter().find(|record| !record.is_sound()) {
            return Err(Fault::bad_setting(format!(
                "The finding f{} of the record is damaged.",
                record.number
            )));
        }
        self.findings_made = records.iter().map(|record| record.number).fold(self.findings_made, u32::max);
        self.findings = records;
        Ok(())
    }

    fn finding_place(&self, id: &str) -> Result<usize, Fault> {
        let place = self.findings.iter().position(|record| id_of(record.number) == id.trim());
        place.ok_or_else(|| unknown_finding(id))
    }

    /// The answer as it was kept.
    fn kept_answer(&self, record: &FindingRecord) -> Option<Answer> {
        let id = record.answer.as_deref()?;
        let answer: Answer = serde_json::from_slice(self.blobs.get(id)?).ok()?;
        Some(Answer { id: id.to_owned(), ..answer })
    }

    fn finding_summary(&self, place: usize) -> FindingSummary {
        let record = &self.findings[place];
        let answer = self.kept_answer(record);
        let changed = self.finding_changes(record);
        let picture = record.picture.as_ref().map(|kept| PictureGlance {
            width: kept.width,
            height: kept.height,
            png: kept.png.clone(),
            caption: kept.caption.clone(),
        });
        let caption = picture.as_ref().map_or("", |picture| picture.caption.as_str());
        let is_lost = record.answer.is_some() && answer.is_none();
        let question_text = match &answer {
            Some(answer) => ask::sentence_of(answer, &record.settings),
            None => caption.to_owned(),
        };
        let named = |parts: &[GroundPart]| {
            let named = |part: &GroundPart| NamedThing { id: part.id.clone(), label: part.name.clone() };
            parts.iter().map(named).collect::<Vec<_>>()
        };
        let (maps, regions) = match &answer {
            Some(answer) => (
                answer
                    .inputs
                    .iter()
                    .map(|i| NamedThing { id: i.id.clone(), label: i.label.clone() })
                    .collect(),
                answer
                    .regions
                    .iter()
                    .map(|r| NamedThing { id: r.id.clone(), label: r.name.clone() })
                    .collect(),
            ),
            None => (named(&record.ground.maps), named(&record.ground.regions)),
        };
        let title = if record.title.is_empty() { question_text.clone() } else { record.title.clone() };
        let (sentence, verdict, verdict_text, figures, cautions) = match answer {
            Some(a) => (a.sentence, a.verdict, a.verdict_text, a.figures, a.cautions),
            None => (caption.to_owned(), String::new(), String::new(), Vec::new(), Vec::new()),
        };
        FindingSummary {
            id: id_of(record.number),
            place: place as u32 + 1,
            title,
            note: record.note.clone(),
            question: record.question.clone(),
            question_text,
            sentence,
            verdict,
            verdict_text,
            figures,
            cautions,
            picture,
            maps,
            regions,
            can_renew: !changed.is_empty() && self.left_out.is_empty(),
            changed,
            trouble: if is_lost {
                "The answer of this finding did not come with the study, or was changed. Edited numbers are not shown.".into()
            } else {
                String::new()
            },
        }
    }
}

/// An answer as the bytes that its id is the hash of.
fn answer_bytes(answer: &Answer) -> Vec<u8> {
    let nameless = Answer { id: String::new(), ..answer.clone() };
    // The record holds texts and finite numbers, so that it always can be written.
    serde_json::to_vec(&nameless).unwrap_or_default()
}

/// What an answer was asked with, as it names maps and regions itself; all that it was completed to where that is not known.
fn asked_by_ids(asked: Option<Value>, answer: &Answer) -> Value {
    let whole = serde_json::to_value(&answer.settings).unwrap_or_default();
    let (Some(Value::Object(asked)), Value::Object(whole)) = (asked, &whole) else { return whole };
    let by_ids = |(name, value): (String, Value)| {
        let own = whole.get(&name).cloned();
        (!value.is_null()).then(|| (name, own.unwrap_or(value)))
    };
    Value::Object(asked.into_iter().filter_map(by_ids).collect())
}

/// A kept picture is drawn so.
fn plate_of(settings: &Value) -> ExportSettings {
    ExportSettings {
        settings: settings.clone(),
        width_px: Some(PICTURE_PX),
        width_mm: Some(PICTURE_MM),
        ..ExportSettings::default()
    }
}

/// Width and height of a PNG: they stand at fixed places of its first chunk (ISO/IEC 15948, 11.2.2).
fn png_size(png: &[u8]) -> (u32, u32) {
    let number = |at: usize| {
        let bytes = png.get(at..at + 4).and_then(|four| four.try_into().ok()).unwrap_or([0; 4]);
        u32::from_be_bytes(bytes)
    };
    (number(16), number(20))
}
