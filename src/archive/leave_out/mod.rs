//! A copy with less in it, for objects of which not everything may be handed on.
//!
//! What is left out is gone, not hidden: it is taken out of the record, files that hold it are left out or written anew
//! with nothing but their pixels, and every finding is asked again of what is left, so that no text, no picture and no hash
//! that was kept before tells of it. A finding that does not come out as it was, but for what was left out, is left out too,
//! and said. At last the whole copy is searched for what shall not be in it.

mod expected;
mod files;
mod record;
mod secrets;

pub use expected::{Expected, expected};
pub use files::rewritten;

use crate::ask::{Answer, Progress};
use crate::notice::Fault;
use crate::study::{FindingSummary, MapRecord, MapSummary, Record, Study};
use files::Plan;
use secrets::Secrets;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// What can be left out of a copy.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct LeaveOut {
    /// Maps and photos: only what was kept stays, and nothing can be asked any more.
    pub findings_only: bool,
    /// Photos, and photos in pictures.
    pub photo: bool,
    /// Names of files.
    pub file_names: bool,
    /// Notes of findings, remarks, results of analysis points in words.
    pub notes: bool,
    /// The object's edges, analysis points, proposed places.
    pub coordinates: bool,
    /// What is said of the object, and its name in other texts.
    pub object: bool,
}

/// The word for maps and photos in what was left out; the others are those of the call.
pub const MAPS: &str = "maps";
/// The word for what lies where: [`crate::study::PLACES_LEFT_OUT`].
const COORDINATES: &str = crate::study::PLACES_LEFT_OUT;
/// Questions whose answers change with analysis points.
const OF_POINTS: [&str; 3] = ["materials", "covered", "dates"];
/// Writing files and stating what is left takes this part of the progress.
const STATING: f64 = 0.2;
/// Characters of a sentence of what was left out; the rest of a list is counted.
const MOST_NAMED: usize = 12;

impl LeaveOut {
    /// Reads `{findings_only?, photo?, ...}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: Value) -> Result<Self, Fault> {
        serde_json::from_value(settings).map_err(|error| {
            Fault::bad_setting(format!("What shall be left out is not understood: {error}."))
        })
    }

    /// Whether files are written anew: their own texts may hold names of files, of the object, and positions of the stage.
    fn rewrites(&self) -> bool {
        self.file_names || self.coordinates || self.object
    }

    /// Whether anything but the maps is left out.
    fn lessens(&self) -> bool {
        self.photo || self.notes || self.rewrites()
    }

    /// The words of what is left out, in the order of the call.
    fn words(&self) -> Vec<String> {
        let all = [
            (self.findings_only, MAPS),
            (self.photo, "photo"),
            (self.file_names, "file names"),
            (self.notes, "notes"),
            (self.coordinates, COORDINATES),
            (self.object, "object"),
        ];
        all.into_iter().filter(|(is_left_out, _)| *is_left_out).map(|(_, word)| word.to_owned()).collect()
    }
}

/// Findings that did not stay as they were.
#[derive(Default)]
struct Told {
    /// By why they are no longer there.
    gone: BTreeMap<&'static str, Vec<u32>>,
    /// Asked without what they had rested on.
    less: Vec<u32>,
    sentences: Vec<String>,
}

impl Told {
    fn words(&self, what: &LeaveOut) -> Vec<String> {
        let mut out = Vec::new();
        if what.rewrites() {
            out.push(
                "Files are written anew with their pixels alone, so their names and hashes are not those of the originals."
                    .to_owned(),
            );
        }
        if !self.less.is_empty() {
            out.push(format!(
                "Asked again without analysis points and edges, and saying something else now: {}.",
                listed(&self.less)
            ));
        }
        for (why, numbers) in &self.gone {
            out.push(format!("Left out because {why}: {}.", listed(numbers)));
        }
        out.extend(self.sentences.iter().cloned());
        out
    }
}

fn listed(numbers: &[u32]) -> String {
    let named: Vec<String> = numbers.iter().take(MOST_NAMED).map(|number| format!("f{number}")).collect();
    let more = numbers.len().saturating_sub(MOST_NAMED);
    let what = if numbers.len() == 1 { "finding" } else { "findings" };
    match more {
        0 => format!("{what} {}", named.join(", ")),
        _ => format!("{what} {} and {more} more", named.join(", ")),
    }
}

/// Leaves it out of a study that is open: of a copy of the one that is worked on. Gives what was left out, in words: those of the
/// call, then sentences. Afterwards the bytes of files that were written anew are those of [`rewritten`].
///
/// # Errors
/// Something that cannot be left out altogether; no memory. The study is of no further use then.
pub fn leave_out(study: &mut Study, what: &LeaveOut, progress: Progress<'_>) -> Result<Vec<String>, Fault> {
    progress(0.0, "Leaving out");
    let before = study.left_out().to_vec();
    let mut told = Told::default();
    if what.lessens() {
        lessen(study, what, &mut told, progress)?;
    }
    let mut words = what.words();
    let sentences = told.words(what);
    // What was left out of the copy that this one is made of is left out of it too.
    let (older, said): (Vec<String>, Vec<String>) = before.into_iter().partition(|text| !text.ends_with('.'));
    words.extend(older.into_iter().filter(|word| !what.words().contains(word)));
    words.extend(sentences.iter().cloned());
    words.extend(said.into_iter().filter(|text| !sentences.contains(text)));
    if what.findings_only {
        without_inputs(study)?;
    }
    study.set_left_out(words.clone())?;
    progress(1.0, "");
    Ok(words)
}

fn lessen(study: &mut Study, what: &LeaveOut, told: &mut Told, progress: Progress<'_>) -> Result<(), Fault> {
    let findings = study.findings();
    let answers: BTreeMap<String, Option<Answer>> = findings
        .iter()
        .map(|finding| Ok((finding.id.clone(), study.finding(&finding.id)?.answer)))
        .collect::<Result<_, Fault>>()?;
    progress(0.02, "Writing files anew");
    let mut plan = files::plan(study, what)?;
    let secrets = Secrets::of(study, what, &plan);
    let (mut record, lost) = record::lessened(study, what, &plan, &secrets)?;
    let asks = what.photo || what.rewrites() || record.points != study.record().points;
    let was = study.maps();
    // Known from here on, so that no place is proposed.
    record.left_out = what.words();
    let photo_views = views_of_photos(study, &record);
    told.sentences.append(&mut plan.told);
    if !lost.is_empty() {
        told.sentences.push(format!("{} cannot be made without what was left out.", regions(lost.len())));
    }
    restated(study, record, plan)?;
    same_maps(study, &was, &secrets)?;
    if asks {
        for (place, finding) in findings.iter().enumerate() {
            let (begin, share) = (place as f64 / findings.len() as f64, 1.0 / findings.len() as f64);
            let text = format!("Finding {} of {}", place + 1, findings.len());
            let mut step = |done: f64, _: &str| {
                progress(STATING + (0.95 - STATING) * (begin + share * done), &text);
            };
            let outcome = if photo_views.contains(&finding.id) {
                Err("it is a view of a photo")
            } else {
                asked_anew(study, finding, answers[&finding.id].as_ref(), what, &mut step)?
            };
            match outcome {
                Ok(true) => {}
                Ok(false) => told.less.push(number(finding)),
                Err(why) => {
                    study.remove(&finding.id)?;
                    told.gone.entry(why).or_default().push(number(finding));
                }
            }
        }
    }
    progress(0.96, "Searching the copy for what was left out");
    searched(study, &secrets, told)
}

fn regions(many: usize) -> String {
    if many == 1 { "1 region".into() } else { format!("{many} regions") }
}

fn number(finding: &FindingSummary) -> u32 {
    finding.id.get(1..).and_then(|digits| digits.parse().ok()).unwrap_or(0)
}

/// Findings whose picture has nothing left to show.
fn views_of_photos(study: &Study, record: &Record) -> BTreeSet<String> {
    let is_empty = |settings: &Value| {
        let has = |name: &str| settings.get(name).is_some_and(|value| !value.is_null());
        !["map", "lights", "overlap", "answer"].into_iter().any(has)
    };
    let of = record.findings.iter().filter(|finding| finding.question.is_none());
    let empty = of.filter(|finding| finding.picture.as_ref().is_some_and(|kept| is_empty(&kept.settings)));
    let without = empty.filter(|finding| {
        let settings = finding.picture.as_ref().map(|kept| &kept.settings);
        let photo = settings.and_then(|settings| settings.get("photo")).and_then(Value::as_str);
        // One whose photo is kept is drawn anew.
        !photo.is_some_and(|id| study.photos().iter().any(|photo| photo.id == id))
    });
    without.map(|finding| format!("f{}", finding.number)).collect()
}

/// Makes the study that of the record, and opens the files that were written anew.
fn restated(study: &mut Study, record: Record, plan: Plan) -> Result<(), Fault> {
    let missing: BTreeSet<String> = study.restate(record)?.into_iter().map(|input| input.sha256).collect();
    for file in plan.new {
        if !missing.contains(&file.record.sha256) {
            continue;
        }
        let opened = study.open_as(&file.record.name, &file.bytes, file.record.way.as_deref());
        if !opened.is_kept {
            let detail = opened.notices.first().map_or(String::new(), |notice| notice.text.clone());
            return Err(Fault { detail, ..not_the_same(&file.record.name) });
        }
    }
    Ok(())
}

fn not_the_same(file: &str) -> Fault {
    Fault::new(
        "not_left_out",
        format!(
            "{file} could not be written anew exactly, so nothing was left out. Hand over the findings only."
        ),
    )
}

/// Every map is what it was: its kind is stated where its file no longer speaks for it.
fn same_maps(study: &mut Study, was: &[MapSummary], secrets: &Secrets) -> Result<(), Fault> {
    for before in was {
        let Some(now) = study.maps().into_iter().find(|map| map.id == before.id) else {
            return Err(not_the_same(&secrets.replaced(&before.label)));
        };
        if now.kind != before.kind {
            let kind = Some(before.kind.clone());
            study.set_map(&before.id, MapRecord { kind, ..MapRecord::default() })?;
        }
    }
    let values = |map: &MapSummary| {
        let bits = [map.low, map.high, map.median].map(|value| value.map(f64::to_bits));
        (
            map.line.clone(),
            map.kind.clone(),
            map.role.clone(),
            map.field,
            map.detector,
            (map.width, map.height),
            bits,
            map.blank,
        )
    };
    for (before, now) in was.iter().zip(study.maps()) {
        if before.id != now.id || values(before) != values(&now) {
            return Err(not_the_same(&now.label));
        }
    }
    Ok(())
}

/// Asks a finding again of what is left. True where it says the same, false where it says less for what was left out; else why
/// it cannot stay.
fn asked_anew(
    study: &mut Study,
    before: &FindingSummary,
    answer: Option<&Answer>,
    what: &LeaveOut,
    progress: Progress<'_>,
) -> Result<Result<bool, &'static str>, Fault> {
    const CHANGED: &str = "what it rests on had been changed since it was kept";
    const OTHERWISE: &str = "asked again, it does not come out as it was";
    if !before.changed.is_empty() || !before.trouble.is_empty() {
        return Ok(Err(CHANGED));
    }
    let memory = |fault: Fault| if fault.code == "out_of_memory" { Err(fault) } else { Ok(Err(OTHERWISE)) };
    if before.question.is_none() {
        return match study.renew_finding(&before.id, None) {
            Ok(_) => Ok(Ok(true)),
            Err(fault) => memory(fault),
        };
    }
    let now = match study.ask_finding(&before.id, progress) {
        Ok((now, _)) => now,
        Err(fault) => return memory(fault),
    };
    let is_same = answer.is_some_and(|answer| says_the_same(answer, &now));
    let may_differ = what.coordinates && OF_POINTS.contains(&now.question.as_str());
    if !is_same && !may_differ {
        return Ok(Err(OTHERWISE));
    }
    match study.renew_finding(&before.id, Some(&now.id)) {
        Ok(_) => Ok(Ok(is_same)),
        Err(fault) => memory(fault),
    }
}

/// Whether two answers have the same verdict and numbers; names may differ.
fn says_the_same(a: &Answer, b: &Answer) -> bool {
    let numbers = |answer: &Answer| -> Vec<_> {
        let of = |n: &crate::ask::Number| {
            [n.value, n.low, n.high, n.low_all, n.high_all].map(|value| value.map(f64::to_bits))
        };
        answer.numbers.iter().map(|(name, number)| (name.clone(), of(number))).collect()
    };
    let cells = |answer: &Answer| -> Vec<_> {
        let rows = answer.table.rows.iter();
        rows.map(|row| row.cells.iter().map(|cell| cell.value.map(f64::to_bits)).collect::<Vec<_>>())
            .collect()
    };
    (&a.question, &a.verdict, a.pixels, a.judged_pixels)
        == (&b.question, &b.verdict, b.pixels, b.judged_pixels)
        && numbers(a) == numbers(b)
        && cells(a) == cells(b)
}

/// Looks for what shall not be there in the record and in everything that was kept. A finding that holds it is left out.
fn searched(study: &mut Study, secrets: &Secrets, told: &mut Told) -> Result<(), Fault> {
    let written = |value: Result<Value, serde_json::Error>| {
        let unread = Fault::new("unexpected", "The copy could not be searched for what was left out.");
        value.map_err(|error| Fault { detail: error.to_string(), ..unread })
    };
    let record = study.record();
    for finding in &record.findings {
        let blobs = [finding.answer.as_deref(), finding.picture.as_ref().map(|kept| kept.png.as_str())];
        let is_in_blob = |name: &str| study.blob(name).is_some_and(|bytes| secrets.is_in_bytes(bytes));
        let is_in_text = secrets.is_within(&written(serde_json::to_value(finding))?);
        if is_in_text || blobs.into_iter().flatten().any(is_in_blob) {
            told.gone.entry("something in it tells what was left out").or_default().push(finding.number);
        }
    }
    for number in told.gone.values().flatten() {
        if record.findings.iter().any(|finding| finding.number == *number) {
            study.remove(&format!("f{number}"))?;
        }
    }
    let rest = Record { findings: Vec::new(), ..record };
    if secrets.is_within(&written(serde_json::to_value(&rest))?) {
        return Err(Fault::new(
            "not_left_out",
            "Something that shall be left out still stands in a text of the study, so no copy was made. Look through the names of maps, regions and points.",
        ));
    }
    Ok(())
}

/// Only what was kept stays.
fn without_inputs(study: &mut Study) -> Result<(), Fault> {
    let whole = study.record();
    let (about, scan, findings) = (whole.about, whole.scan, whole.findings);
    let kept = Record { record: whole.record, about, scan, findings, ..Record::default() };
    study.restate(kept).map(drop)
}
