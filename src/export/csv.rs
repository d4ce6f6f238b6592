//! Tables of an answer as CSV files: RFC 4180 (comma, CRLF, a line of headings, quotation marks doubled within quotation
//! marks), UTF-8 without a mark at the begin. Numbers are plain: a point, no grouping, as many digits as bring the same number
//! back; nothing stands where there is no number.
//!
//! Names of maps and regions are untrusted, and spreadsheets compute what begins with =, +, -, @, a tab or a line end. Such
//! texts get an apostrophe in front and stand in quotation marks; the apostrophe is the only thing that is not as it was.
//! Numbers are never texts, so a negative one keeps its sign.
//!
//! The settings stand as JSON in one more column, "record", of the first row below the headings: so the columns of numbers
//! hold nothing but numbers, and every line has the same number of fields.

use crate::ask::{Answer, Cell, PROFILE, Raster, Rasters};
use crate::notice::Fault;

/// The heading of the column with the settings.
const RECORD: &str = "record";

/// Lines of cells.
#[derive(Debug, Default)]
pub struct Csv {
    text: String,
    is_begun: bool,
    lines: u64,
    record: Option<String>,
}

impl Csv {
    /// With a record in its last column, if there is one.
    pub fn with(record: Option<String>) -> Self {
        Self { record, ..Self::default() }
    }

    /// The line of headings.
    pub fn heading(&mut self, columns: &[&str]) {
        columns.iter().for_each(|column| self.words(column));
        self.end();
    }

    /// The file.
    pub fn bytes(self) -> Vec<u8> {
        self.text.into_bytes()
    }

    /// Cells that hold nothing.
    pub fn nothing(&mut self, cells: usize) {
        (0..cells).for_each(|_| self.separate());
    }

    /// A cell of words, or one that holds nothing.
    pub fn words_or_nothing(&mut self, words: &str) {
        if words.is_empty() { self.separate() } else { self.words(words) }
    }

    fn separate(&mut self) {
        if self.is_begun {
            self.text.push(',');
        }
        self.is_begun = true;
    }

    /// A cell of words.
    pub fn words(&mut self, words: &str) {
        self.separate();
        let is_risky =
            words.trim_start().starts_with(['=', '+', '-', '@']) || words.starts_with(['\t', '\r', '\n']);
        let is_quoted =
            is_risky || words.is_empty() || words.contains([',', '"', '\r', '\n']) || words.trim() != words;
        if !is_quoted {
            self.text.push_str(words);
            return;
        }
        self.text.push('"');
        if is_risky {
            self.text.push('\'');
        }
        self.text.push_str(&words.replace('"', "\"\""));
        self.text.push('"');
    }

    /// A cell with a number; with nothing where it is not finite.
    pub fn number(&mut self, value: f64) {
        self.separate();
        if value.is_finite() {
            // Never an exponent, and a zero has no sign.
            self.text.push_str(&format!("{}", if value == 0.0 { 0.0 } else { value }));
        }
    }

    /// The end of a line.
    pub fn end(&mut self) {
        match (self.lines, self.record.take()) {
            (_, None) => {}
            (0, record) => {
                self.words(RECORD);
                self.record = record;
            }
            (1, Some(text)) => {
                self.words(&text);
                self.record = Some(String::new());
            }
            (_, record) => {
                self.separate();
                self.record = record;
            }
        }
        self.text.push_str("\r\n");
        self.is_begun = false;
        self.lines += 1;
    }
}

/// The table of an answer: a heading for the names of the rows, then its columns. A cell with a number holds the number, any
/// other its words.
///
/// # Errors
/// The answer has no table.
pub fn table(answer: &Answer, record: Option<String>) -> Result<Vec<u8>, Fault> {
    if answer.table.columns.is_empty() {
        return Err(Fault::bad_setting("This answer has no table to export."));
    }
    let mut csv = Csv::with(record);
    csv.words("of");
    answer.table.columns.iter().for_each(|column| csv.words(column));
    csv.end();
    for row in &answer.table.rows {
        csv.words(&row.label);
        for Cell { value, text } in &row.cells {
            match value {
                Some(value) => csv.number(*value),
                None if text.is_empty() => csv.number(f64::NAN),
                None => csv.words(text),
            }
        }
        csv.end();
    }
    Ok(csv.bytes())
}

/// The courses along the line of an answer to `regions`: a row for each step.
///
/// # Errors
/// The answer has none.
pub fn profile(answer: &Answer, rasters: &Rasters, record: Option<String>) -> Result<Vec<u8>, Fault> {
    let none =
        || Fault::bad_setting("This answer has no profile to export. Ask about regions with a `line`.");
    let Some(Raster::F64(grid)) = rasters.get(PROFILE) else { return Err(none()) };
    if grid.height() as usize != 2 + 4 * answer.inputs.len() {
        return Err(none());
    }
    let mut csv = Csv::with(record);
    csv.words("distance (pixels)");
    csv.words("distance (mm)");
    for input in &answer.inputs {
        let unit = crate::kind::Kind::from_word(&input.kind).map_or("", |kind| kind.unit());
        let per = if unit.is_empty() { String::new() } else { format!(" ({unit} per pixel)") };
        csv.words(&format!("{} mean{per}", input.label));
        csv.words(&format!("{} from, by counting{per}", input.label));
        csv.words(&format!("{} to, by counting{per}", input.label));
        csv.words(&format!("{} area used (pixels)", input.label));
    }
    csv.end();
    for x in 0..grid.width() {
        (0..grid.height()).for_each(|y| csv.number(grid.get(x, y).copied().unwrap_or(f64::NAN)));
        csv.end();
    }
    Ok(csv.bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::{Row, Table};

    #[test]
    fn names_are_never_computed_and_numbers_stay_numbers() {
        let row = |label: &str, cells: Vec<Cell>| Row { label: label.into(), cells };
        let held = Table {
            columns: vec!["mean (counts, per pixel)".into(), "state".into()],
            rows: vec![
                row("=SUM(A1)", vec![Cell::number(-3.25, "\u{2212}3.25"), Cell::words("detected")]),
                row("say \"blue\", twice", vec![Cell::number(1e-7, ""), Cell::default()]),
                row(" +1", vec![Cell::number(1e21, ""), Cell::words("@home")]),
            ],
        };
        let answer = Answer { table: held, ..Answer::default() };
        let text = String::from_utf8(table(&answer, None).unwrap()).unwrap();
        let want = [
            "of,\"mean (counts, per pixel)\",state",
            "\"'=SUM(A1)\",-3.25,detected",
            "\"say \"\"blue\"\", twice\",0.0000001,",
            "\"' +1\",1000000000000000000000,\"'@home\"",
            "",
        ];
        assert_eq!(text.split("\r\n").collect::<Vec<_>>(), want);
        assert_eq!(table(&Answer::default(), None).unwrap_err().code, "bad_setting");
        assert_eq!(profile(&answer, &Rasters::new(), None).unwrap_err().code, "bad_setting");
    }
}
