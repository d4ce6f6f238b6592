//! All lines of numbers of a text, in the manner that the first lines told.

use super::lines::Records;
use super::survey::{Survey, not_a_number};
use crate::notice::{Finding, TableFinding};

/// Reads lines of numbers one after the other.
pub(super) struct Rows<'s, 'a> {
    pub(super) survey: &'s Survey<'a>,
    pub(super) records: Records<'a>,
    /// Lines so far.
    pub(super) count: u64,
    pub(super) cut: Option<TableFinding>,
}

impl Rows<'_, '_> {
    /// Lines that must stand before a last one that ends early, for a matrix to be believed.
    pub(super) const WHOLE_LINES: usize = 8;

    /// The next line into `row`, which gets `most` values at most (all of the width if it is larger); its number from 1.
    /// `None` at the end.
    ///
    /// # Errors
    /// A line of another length, or what is no number.
    pub(super) fn next_row(&mut self, row: &mut Vec<f64>, most: usize) -> Result<Option<u64>, Finding> {
        let survey = self.survey;
        let (separator, mark, width) = (survey.manner.separator, survey.manner.mark, survey.width);
        let record = loop {
            match self.records.next() {
                None => return Ok(None),
                Some(record) if record.is_empty(separator) || record.comment().is_some() => {}
                Some(record) => break record,
            }
        };
        row.clear();
        let mut fields = record.fields(separator);
        while row.len() < most.min(width) {
            match fields.value(mark) {
                None => break,
                Some(Ok(value)) => row.push(value),
                Some(Err(_)) if survey.words.contains(&row.len()) => row.push(f64::NAN),
                Some(Err(field)) => return Err(not_a_number(record.line, row.len(), field)),
            }
        }
        let expected = (width + survey.spare) as u64;
        // A line of positions may be cut behind them, within a number.
        let rest = if most < width && self.records.is_at_end() && self.records.ends_within_line() {
            fields.clone().count()
        } else {
            width
        };
        let found = row.len();
        if found + rest < width && rest == 0 {
            row.pop();
        }
        let is_short = row.len() < most.min(width);
        let may_be_cut = is_short
            && self.records.is_at_end()
            && (!survey.places.is_empty() || self.count >= Self::WHOLE_LINES as u64 || most < width);
        if is_short && !may_be_cut {
            return Err(Finding::Ragged { line: record.line, found: found as u64, expected });
        }
        if is_short {
            self.cut = Some(TableFinding::CutLine { line: record.line, found: found as u64, expected });
            // Without an end of line the last number may have lost digits.
            if most >= width && self.records.ends_within_line() {
                row.pop();
            }
            row.resize(most.min(width), f64::NAN);
        } else if most >= width {
            let mut found = width as u64;
            let mut is_filled = false;
            for field in fields {
                found += 1;
                is_filled |= !field.is_empty();
            }
            if is_filled {
                return Err(Finding::Ragged { line: record.line, found, expected });
            }
        }
        self.count += 1;
        Ok(Some(record.line))
    }

    /// True after a line that ended early.
    pub(super) fn is_at_cut(&self) -> bool {
        self.cut.is_some()
    }

    /// What is to be said about the last line.
    pub(super) fn cut(self) -> Option<Finding> {
        self.cut.map(Finding::Table)
    }
}
