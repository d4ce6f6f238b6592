//! Findings again: what changed under them, asking them anew, drawing their pictures at another size, and saying whether they
//! come out the same.

use super::super::{ExportSettings, Study};
use super::{
    Difference, FindingRecord, FindingSummary, Ground, PICTURE_MM, Reproduced, answer_bytes, id_of, plate_of,
};
use crate::ask::{Answer, Number, Progress, Rasters};
use crate::digest::sha256_hex;
use crate::notice::Fault;
use crate::numerics::figure::figure;
use serde_json::{Value, json};

/// How large a picture of a finding shall be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Way {
    /// As it was kept.
    AsKept,
    /// Of the width of a page's text, with so many dots per inch.
    Dots(f64),
}

impl Study {
    /// What a finding rests on is otherwise now, in sentences.
    pub(super) fn finding_changes(&self, record: &FindingRecord) -> Vec<String> {
        // Of a copy from which the maps were left out nothing can be otherwise.
        if !self.left_out.is_empty() && self.inputs.is_empty() && self.expected.is_empty() {
            return Vec::new();
        }
        match self.ground_now(record) {
            Ok(now) => record.ground.changes(&now),
            Err(fault) => vec![fault.message],
        }
    }

    fn ground_now(&self, record: &FindingRecord) -> Result<Ground, Fault> {
        let seen = match &record.picture {
            // The answer need not be held: its maps are those of the question.
            Some(kept) if record.question.is_some() => self.photo_ground(&kept.settings)?,
            Some(kept) => self.ground_of_view(&kept.settings)?,
            None => Ground::default(),
        };
        let Some(question) = &record.question else { return Ok(seen) };
        let of_question = self.ground_of_question(question, &record.settings)?;
        Ok(Ground { photos: seen.photos, ..of_question })
    }

    /// Of the picture of an answer, the photo that is seen with it.
    fn photo_ground(&self, settings: &Value) -> Result<Ground, Fault> {
        match settings.get("photo") {
            Some(photo) if !photo.is_null() => self.ground_of_view(&json!({ "photo": photo })),
            _ => Ok(Ground::default()),
        }
    }

    /// Asks the question of a finding again, here, with what is there now; the answer is held as any other.
    ///
    /// # Errors
    /// There is none of this id, or it is of a view; as [`Study::ask`].
    pub fn ask_finding(&mut self, id: &str, progress: Progress<'_>) -> Result<(Answer, Rasters), Fault> {
        let record = self.finding_record(id)?;
        let Some(question) = record.question.clone() else {
            return Err(Fault::bad_setting("This finding is a view: there is no question to ask again."));
        };
        let settings = record.settings.clone();
        self.ask(&question, settings, progress)
    }

    /// Lets a finding rest on what is there now: on an answer to its question that was asked newly, or, of a view, on the
    /// picture drawn anew. Title, note and place stay.
    ///
    /// # Errors
    /// There is none of this id; an answer of another question or one whose pixels are no longer held; something that is not
    /// there. Nothing is changed then.
    pub fn renew_finding(&mut self, id: &str, answer: Option<&str>) -> Result<FindingSummary, Fault> {
        let place = self.finding_place(id)?;
        let mut record = self.findings[place].clone();
        match (&record.question, answer) {
            (Some(question), Some(answer)) if self.held(answer)?.0.question == *question => {}
            (None, None) => {}
            _ => {
                return Err(Fault::bad_setting(
                    "A finding is renewed with an answer to its own question, a view without any.",
                ));
            }
        }
        let before = record.picture.take().map(|kept| kept.settings);
        let picture = match (before, answer) {
            (Some(settings), Some(answer)) => self.with_answer(settings, answer)?,
            (before, _) => before,
        };
        self.kept_of(&mut record, answer, picture)?;
        record.program = crate::PROGRAM.into();
        self.findings[place] = record;
        Ok(self.finding_summary(place))
    }

    /// Settings of a picture with another answer in the place of the one they name; `None` where that one has no such picture.
    fn with_answer(&self, mut settings: Value, answer: &str) -> Result<Option<Value>, Fault> {
        if settings.get("answer").is_none_or(Value::is_null) {
            return Ok(Some(settings));
        }
        let (held, _) = self.held(answer)?;
        let has = held.shows.iter().any(|shown| settings.get("show") == Some(&json!(shown.show)));
        settings["answer"] = json!(answer);
        Ok(has.then_some(settings))
    }

    /// The picture of a finding drawn anew, as PNG; the question is asked again where its pixels are not held.
    ///
    /// # Errors
    /// There is none of this id, it has no picture, what it rests on is otherwise now (`finding_changed`), or a size that cannot be.
    pub fn finding_picture(&mut self, id: &str, way: Way, progress: Progress<'_>) -> Result<Vec<u8>, Fault> {
        let record = self.finding_record(id)?.clone();
        let Some(kept) = &record.picture else {
            return Err(Fault::bad_setting("This finding has no picture."));
        };
        if let Some(text) = self.finding_changes(&record).first() {
            return Err(Fault::new("finding_changed", text.clone()));
        }
        if let Some(answer) = &record.answer
            && kept.settings.get("answer").is_some_and(|id| !id.is_null())
            && self.held(answer).is_err()
            && self.ask_finding(id, progress)?.0.id != *answer
        {
            return Err(Fault::new(
                "finding_changed",
                "Asked again, the answer is not the one that was kept.",
            ));
        }
        let plate = match way {
            Way::AsKept => plate_of(&kept.settings),
            Way::Dots(dpi) => ExportSettings {
                settings: kept.settings.clone(),
                width_mm: Some(PICTURE_MM),
                dpi: Some(dpi),
                ..ExportSettings::default()
            },
        };
        self.saved_picture(&plate)
    }

    /// Computes every finding again from the maps and says whether answer and picture come out byte by byte the same.
    ///
    /// # Errors
    /// None of a finding: what cannot be asked again is said of it. No memory.
    pub fn reproduce(&mut self, progress: Progress<'_>) -> Result<Vec<Reproduced>, Fault> {
        let all: Vec<FindingSummary> = self.findings();
        let mut out = Vec::new();
        for (place, finding) in all.iter().enumerate() {
            let share = 1.0 / all.len() as f64;
            let begin = place as f64 * share;
            let text = format!("Finding {} of {}", place + 1, all.len());
            progress(begin, &text);
            let record = self.findings[place].clone();
            let made = self.again(&record, &mut |done, _| progress(begin + share * done, &text));
            let (id, title) = (id_of(record.number), finding.title.clone());
            out.push(match made {
                Ok((same, text, differences)) => Reproduced { id, title, same, text, differences },
                Err(fault) if fault.code == "out_of_memory" => return Err(fault),
                Err(fault) => Reproduced {
                    id,
                    title,
                    same: false,
                    text: format!("It could not be computed again. {}", fault.message),
                    differences: Vec::new(),
                },
            });
        }
        progress(1.0, "");
        Ok(out)
    }

    fn again(
        &mut self,
        record: &FindingRecord,
        progress: Progress<'_>,
    ) -> Result<(bool, String, Vec<Difference>), Fault> {
        if self.stack.maps().is_empty() && self.photos.is_empty() {
            return Err(Fault::new("no_maps", "The maps are not in this copy."));
        }
        let mut settings = record.picture.as_ref().map(|kept| kept.settings.clone());
        let mut told = Vec::new();
        if let Some(id) = &record.answer {
            let Some(kept) = self.kept_answer(record) else {
                return Err(Fault::new(
                    "answer_lost",
                    "Its answer did not come with the study, or was changed.",
                ));
            };
            let (now, _) = self.ask_finding(&id_of(record.number), progress)?;
            if sha256_hex(&answer_bytes(&now)) != *id {
                let differences = differences(&kept, &now);
                let text = match differences.len() {
                    0 if kept.program != now.program => {
                        format!(
                            "Different: the numbers are the same; it was kept by {}, and this is {}.",
                            kept.program, now.program
                        )
                    }
                    0 => "Different: the numbers are the same, but not all of the rest.".into(),
                    1 => "Different in one number.".into(),
                    many => format!("Different in {many} numbers."),
                };
                return Ok((false, text, differences));
            }
            told.push("the answer");
            settings = match settings {
                Some(settings) => self.with_answer(settings, &now.id)?,
                None => None,
            };
        }
        if let (Some(kept), Some(settings)) = (&record.picture, settings) {
            let png = self.saved_picture(&plate_of(&settings))?;
            if sha256_hex(&png) != kept.png {
                return Ok((
                    false,
                    "Different: the picture is not the same, byte by byte.".into(),
                    Vec::new(),
                ));
            }
            told.push("the picture");
        }
        let told = told.join(" and ");
        Ok((true, format!("Identical, byte by byte: {told}."), Vec::new()))
    }
}

/// The numbers of two answers that are not the same, verdict and sentence among them.
fn differences(kept: &Answer, now: &Answer) -> Vec<Difference> {
    let mut out = Vec::new();
    let mut compare = |name: &str, kept: &str, now: &str| {
        if kept != now {
            out.push(Difference { name: name.to_owned(), kept: kept.to_owned(), now: now.to_owned() });
        }
    };
    compare("verdict", &kept.verdict_text, &now.verdict_text);
    compare("sentence", &kept.sentence, &now.sentence);
    let names: std::collections::BTreeSet<&String> = kept.numbers.keys().chain(now.numbers.keys()).collect();
    for name in names {
        let (before, after) = (kept.numbers.get(name), now.numbers.get(name));
        if before != after {
            compare(name, &exact(before), &exact(after));
        }
    }
    let rows = kept.table.rows.len().max(now.table.rows.len());
    for row in 0..rows {
        let cells = |answer: &Answer| {
            answer.table.rows.get(row).map(|row| {
                let cells: Vec<&str> = row.cells.iter().map(|cell| cell.text.as_str()).collect();
                format!("{}: {}", row.label, cells.join(", "))
            })
        };
        compare(
            &format!("row {}", row + 1),
            &cells(kept).unwrap_or_default(),
            &cells(now).unwrap_or_default(),
        );
    }
    out
}

/// A number with its intervals, with all digits where two would look the same.
fn exact(number: Option<&Number>) -> String {
    let Some(number) = number else { return "none".into() };
    let Some(value) = number.value else { return format!("none: {}", number.reason) };
    let end = |value: Option<f64>| value.map_or_else(|| "open".into(), |value| value.to_string());
    let mut text = value.to_string();
    if text.len() > 12 {
        text = format!("{} ({text})", figure(value));
    }
    if number.low.is_some() || number.high.is_some() {
        text.push_str(&format!(", {} to {}", end(number.low), end(number.high)));
    }
    if number.low_all.is_some() || number.high_all.is_some() {
        text.push_str(&format!(
            ", with the systematic part {} to {}",
            end(number.low_all),
            end(number.high_all)
        ));
    }
    if !number.unit.is_empty() {
        text.push_str(&format!(" {}", number.unit));
    }
    text
}
