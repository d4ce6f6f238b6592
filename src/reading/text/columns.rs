//! Columns of numbers as they stand in a text, for what is no map: the lines above the numbers and comments are passed over.

use super::rows::Rows;
use super::survey::Survey;
use crate::grid::try_vec;
use crate::notice::Finding;

/// All numbers of a text, read in one manner.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::reading) struct Columns {
    /// Title of each column; empty without one.
    pub(in crate::reading) titles: Vec<String>,
    /// Values by column; NaN where there is none.
    pub(in crate::reading) values: Vec<Vec<f64>>,
    /// True if there are more lines than were asked for; the values end there.
    pub(in crate::reading) is_longer: bool,
}

/// The text in every manner that can be meant, the likeliest first, with at most so many lines.
///
/// # Errors
/// One sentence with the number of the line; [`Finding::UnknownFormat`] for what is no table of numbers.
pub(in crate::reading) fn read(bytes: &[u8], most_lines: usize) -> Result<Vec<Columns>, Finding> {
    let text = super::decode::decode(bytes)?;
    let text: &str = &text;
    if text.trim_start().starts_with(['{', '<']) {
        return Err(Finding::UnknownFormat);
    }
    let (likely, unlikely, other) = super::surveys(text);
    let mut failure = None;
    let mut out = Vec::new();
    for surveys in [likely, unlikely] {
        for survey in surveys {
            match columns_of(&survey, most_lines) {
                Ok(columns) => out.push(columns),
                Err(finding) => failure = failure.or(Some(finding)),
            }
        }
        // What is unlikely is meant only where nothing else is.
        if !out.is_empty() {
            return Ok(out);
        }
    }
    Err(failure.or(other).unwrap_or(Finding::UnknownFormat))
}

fn columns_of(survey: &Survey<'_>, most_lines: usize) -> Result<Columns, Finding> {
    let width = survey.width;
    let titles = survey.titles.as_ref();
    let titles = (0..width).map(|column| titles.map_or("", |titles| titles.name(column)).to_owned());
    let mut out = Columns { titles: titles.collect(), values: vec![Vec::new(); width], is_longer: false };
    let mut rows: Rows<'_, '_> = survey.rows();
    let mut row = try_vec(width as u64)?;
    while rows.next_row(&mut row, width)?.is_some() {
        if rows.count > most_lines as u64 {
            out.is_longer = true;
            break;
        }
        for (column, value) in out.values.iter_mut().zip(&row) {
            column.push(*value);
        }
    }
    Ok(out)
}
