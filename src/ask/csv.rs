//! Tables of an answer as CSV files: RFC 4180 (comma, CRLF, a line of headings, quotation marks doubled within quotation
//! marks), UTF-8 without a mark at the begin. Numbers are plain: a point, no grouping, as many digits as bring the same number
//! back; nothing stands where there is no number.
//!
//! Names of maps and regions are untrusted, and spreadsheets compute what begins with =, +, -, @, a tab or a line end. Such
//! texts get an apostrophe in front and stand in quotation marks; the apostrophe is the only thing that is not as it was.
//! Numbers are never texts, so a negative one keeps its sign.

use super::answer::{Answer, Cell, Raster, Rasters};
use crate::notice::Fault;

/// Lines of cells.
#[derive(Debug, Default)]
struct Csv {
    text: String,
    is_begun: bool,
}

impl Csv {
    fn separate(&mut self) {
        if self.is_begun {
            self.text.push(',');
        }
        self.is_begun = true;
    }

    fn words(&mut self, words: &str) {
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

    fn number(&mut self, value: f64) {
        self.separate();
        if value.is_finite() {
            // Never an exponent, and a zero has no sign.
            self.text.push_str(&format!("{}", if value == 0.0 { 0.0 } else { value }));
        }
    }

    fn end(&mut self) {
        self.text.push_str("\r\n");
        self.is_begun = false;
    }
}

/// The table of an answer: a heading for the names of the rows, then its columns. A cell with a number holds the number, any
/// other its words.
///
/// # Errors
/// The answer has no table.
pub fn table(answer: &Answer) -> Result<Vec<u8>, Fault> {
    if answer.table.columns.is_empty() {
        return Err(Fault::bad_setting("This answer has no table to export."));
    }
    let mut csv = Csv::default();
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
    Ok(csv.text.into_bytes())
}

/// The courses along the line of an answer to `regions`: a row for each step.
///
/// # Errors
/// The answer has none.
pub fn profile(answer: &Answer, rasters: &Rasters) -> Result<Vec<u8>, Fault> {
    let none =
        || Fault::bad_setting("This answer has no profile to export. Ask about regions with a `line`.");
    let Some(Raster::F64(grid)) = rasters.get(super::regions::PROFILE) else { return Err(none()) };
    if grid.height() as usize != 2 + 4 * answer.inputs.len() {
        return Err(none());
    }
    let mut csv = Csv::default();
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
    Ok(csv.text.into_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::answer::{Row, Table};

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
        let text = String::from_utf8(table(&answer).unwrap()).unwrap();
        let want = [
            "of,\"mean (counts, per pixel)\",state",
            "\"'=SUM(A1)\",-3.25,detected",
            "\"say \"\"blue\"\", twice\",0.0000001,",
            "\"' +1\",1000000000000000000000,\"'@home\"",
            "",
        ];
        assert_eq!(text.split("\r\n").collect::<Vec<_>>(), want);
        assert_eq!(table(&Answer::default()).unwrap_err().code, "bad_setting");
        assert_eq!(profile(&answer, &Rasters::new()).unwrap_err().code, "bad_setting");
    }
}
