//! An answer as a file, its table, its profile.

use super::account::Account;
use super::mask::yes;
use super::{Format, SavedFile, csv};
use crate::ask::Answer;
use crate::notice::Fault;
use crate::study::Study;
use serde::Deserialize;

/// Which answer.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AnswerOptions {
    answer: String,
}

/// Of which answer, and whether its settings stand in the table.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TableOptions {
    answer: String,
    #[serde(default = "yes")]
    record: bool,
}

/// What an answer is called in names of files: "apart, Ti K, Fe K".
pub(super) fn title_of(answer: &Answer) -> String {
    // All maps of a question about everything would be no name.
    let labels = answer.inputs.iter().take(3).map(|input| input.label.as_str());
    let parts: Vec<&str> = std::iter::once(answer.question.as_str()).chain(labels).collect();
    let more = if answer.inputs.len() > 3 { " and others" } else { "" };
    format!("{}{more}", parts.join(", "))
}

/// An answer that is held, or kept in a finding.
fn answer_of(study: &Study, id: &str) -> Result<Answer, Fault> {
    let fault = match study.held_answer(id) {
        Ok((answer, _)) => return Ok(answer.clone()),
        Err(fault) => fault,
    };
    let record = study.record();
    let kept = record.findings.iter().find(|finding| finding.answer.as_deref() == Some(id));
    let Some(kept) = kept else { return Err(fault) };
    study.finding(&format!("f{}", kept.number))?.answer.ok_or(fault)
}

/// What [`super::export`] says of "answer".
pub fn answer(study: &Study, options: &AnswerOptions) -> Result<SavedFile, Fault> {
    let answer = answer_of(study, &options.answer)?;
    let bytes = serde_json::to_vec(&answer)
        .map_err(|error| Fault::new("not_written", format!("The answer could not be written: {error}.")))?;
    Ok(Format::Json.file(&title_of(&answer), bytes))
}

fn record_of(answer: &Answer, what: &str) -> Result<String, Fault> {
    let mut account = Account::of(what);
    account.put_answer(answer)?;
    Ok(account.text())
}

/// What [`super::export`] says of "table".
pub fn table(study: &Study, options: &TableOptions) -> Result<SavedFile, Fault> {
    let answer = answer_of(study, &options.answer)?;
    let record = options.record.then(|| record_of(&answer, "table")).transpose()?;
    Ok(Format::Csv.file(&format!("{}, table", title_of(&answer)), csv::table(&answer, record)?))
}

/// What [`super::export`] says of "profile".
pub fn profile(study: &Study, options: &TableOptions) -> Result<SavedFile, Fault> {
    let (answer, rasters) = study.held_answer(&options.answer)?;
    let record = options.record.then(|| record_of(answer, "profile")).transpose()?;
    Ok(Format::Csv.file(&format!("{}, profile", title_of(answer)), csv::profile(answer, rasters, record)?))
}
