//! Delimited text: one row of numbers a line. Which sign separates values and which one marks decimals is not stated in
//! such files, so every reading is tried; where two give different maps, nothing is guessed.

use super::{Reading, check_size};
use crate::grid::{Grid, Samples, try_vec};
use crate::notice::Finding;

/// What stands between two values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Delimiter {
    Tab,
    Semicolon,
    Comma,
    /// Any run of blanks.
    Blanks,
}

impl Delimiter {
    const ALL: [Delimiter; 4] = [Delimiter::Tab, Delimiter::Semicolon, Delimiter::Comma, Delimiter::Blanks];

    fn sign(self) -> char {
        match self {
            Delimiter::Tab => '\t',
            Delimiter::Semicolon => ';',
            Delimiter::Comma => ',',
            Delimiter::Blanks => ' ',
        }
    }

    fn name(self) -> &'static str {
        match self {
            Delimiter::Tab => "tabs",
            Delimiter::Semicolon => "semicolons",
            Delimiter::Comma => "commas",
            Delimiter::Blanks => "blanks",
        }
    }

    fn fields(self, line: &str) -> Vec<&str> {
        match self {
            Delimiter::Blanks => line.split_whitespace().collect(),
            _ => line.split(self.sign()).map(str::trim).collect(),
        }
    }
}

/// A way to read the file.
#[derive(Debug, Clone, Copy)]
struct Manner {
    delimiter: Delimiter,
    has_decimal_comma: bool,
}

/// Lines that hold numbers, with their numbers from 1.
type Lines<'a> = Vec<(u64, &'a str)>;

pub(super) fn read(bytes: &[u8], _way: Option<&str>) -> Result<Reading, Finding> {
    let text = std::str::from_utf8(bytes).map_err(|_| Finding::UnknownFormat)?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if text.contains(|c: char| c.is_control() && !c.is_whitespace()) {
        return Err(Finding::UnknownFormat);
    }
    let lines = data_lines(text);
    if lines.is_empty() {
        return Err(Finding::UnknownFormat);
    }
    let mut readings: Vec<(Manner, Grid<f64>)> = Vec::new();
    let mut failure: Option<(usize, Finding)> = None;
    for delimiter in Delimiter::ALL {
        for has_decimal_comma in [false, true] {
            if has_decimal_comma && (delimiter == Delimiter::Comma || !text.contains(',')) {
                continue;
            }
            let manner = Manner { delimiter, has_decimal_comma };
            match table(&lines, manner) {
                Ok(grid) if readings.iter().all(|(_, other)| !is_same(other, &grid)) => {
                    readings.push((manner, grid))
                }
                Ok(_) => {}
                Err((fields, finding)) => {
                    // The reading that sees most fields is the one that the writer most likely meant.
                    if fields > failure.as_ref().map_or(1, |(most, _)| *most) {
                        failure = Some((fields, finding));
                    }
                }
            }
        }
    }
    // One column is what every wrong separator makes of a table: it counts only where nothing else does, or where its
    // decimal commas compete with commas as separators.
    if readings.iter().any(|(_, grid)| grid.width() > 1) {
        readings.retain(|(manner, grid)| grid.width() > 1 || manner.has_decimal_comma);
    }
    match readings.as_slice() {
        [] => Err(failure.map_or(Finding::UnknownFormat, |(_, finding)| finding)),
        [(_, grid)] => Ok(Reading::of_map(Samples::F64(grid.clone()))),
        [first, second, ..] => Err(Finding::Ambiguous { first: described(first), second: described(second) }),
    }
}

/// Leaves out empty lines, comments and headers.
fn data_lines(text: &str) -> Lines<'_> {
    let mut lines = Lines::new();
    for (index, line) in
        text.split('\n').flat_map(|line| line.strip_suffix('\r').unwrap_or(line).split('\r')).enumerate()
    {
        let trimmed = line.trim();
        let is_comment = trimmed.is_empty() || trimmed.starts_with(['#', '%']);
        // Words can stand above the numbers, never between them.
        let is_header = lines.is_empty() && is_words(trimmed);
        if !is_comment && !is_header {
            lines.push((index as u64 + 1, line));
        }
    }
    lines
}

/// A line with a letter that belongs to no number.
fn is_words(line: &str) -> bool {
    line.split(|c: char| !c.is_alphanumeric() && !matches!(c, '.' | '-' | '+'))
        .any(|word| word.contains(char::is_alphabetic) && number(word, false).is_none())
}

/// A number; `Some(NaN)` for what means that there is none.
fn number(field: &str, has_decimal_comma: bool) -> Option<f64> {
    if field.is_empty() || field.eq_ignore_ascii_case("nan") || field.eq_ignore_ascii_case("na") {
        return Some(f64::NAN);
    }
    if !has_decimal_comma {
        return field.parse().ok();
    }
    // "1.234,5": with both signs the point groups thousands.
    let plain =
        if field.contains(',') { field.replace('.', "").replacen(',', ".", 1) } else { field.to_owned() };
    plain.parse().ok()
}

/// The table in one manner, or how many fields its first line has and what is wrong with it.
fn table(lines: &Lines<'_>, manner: Manner) -> Result<Grid<f64>, (usize, Finding)> {
    let fields = |line: &'_ str| -> usize { manner.delimiter.fields(line).len() };
    let first = lines.first().map_or(0, |(_, line)| fields(line));
    // A separator at the end of every line opens no column.
    let ends = |line: &str| {
        manner.delimiter != Delimiter::Blanks
            && line.trim_end_matches([' ', '\r']).ends_with(manner.delimiter.sign())
    };
    let width = if first > 1 && lines.iter().all(|(_, line)| ends(line)) { first - 1 } else { first };
    let failed = |finding: Finding| (first, finding);
    check_size(width as u64, lines.len() as u64).map_err(failed)?;
    let mut data = try_vec(width as u64 * lines.len() as u64).map_err(|e| failed(e.into()))?;
    for (line_number, line) in lines {
        let mut row = manner.delimiter.fields(line);
        row.truncate(row.len().min(width + usize::from(row.len() > first)));
        if row.len() != width {
            let found = fields(line) as u64;
            return Err(failed(Finding::Ragged { line: *line_number, found, expected: first as u64 }));
        }
        for (index, field) in row.iter().enumerate() {
            let Some(value) = number(field, manner.has_decimal_comma) else {
                let text = field.chars().take(20).collect();
                return Err(failed(Finding::NotANumber {
                    line: *line_number,
                    field: index as u64 + 1,
                    text,
                }));
            };
            data.push(value);
        }
    }
    let height = lines.len() as u32;
    Grid::from_vec(width as u32, height, data).ok_or_else(|| failed(Finding::UnknownFormat))
}

fn is_same(a: &Grid<f64>, b: &Grid<f64>) -> bool {
    a.width() == b.width() && a.data().iter().zip(b.data()).all(|(x, y)| x.to_bits() == y.to_bits() || x == y)
}

fn described((manner, grid): &(Manner, Grid<f64>)) -> String {
    let columns = match grid.width() {
        1 => "one column".to_owned(),
        many => format!("{many} columns"),
    };
    let decimals = if manner.has_decimal_comma { "decimal commas" } else { "decimal points" };
    if grid.width() == 1 {
        return format!("as {columns} with {decimals}");
    }
    format!("as {columns} separated by {} with {decimals}", manner.delimiter.name())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Content;

    fn values(text: &str) -> (u32, Vec<f64>) {
        let Content::Maps(mut pages) = read(text.as_bytes(), None).unwrap().content else { panic!() };
        let Samples::F64(grid) = pages.remove(0).samples else { panic!() };
        (grid.width(), grid.into_vec())
    }

    #[test]
    fn every_common_way_to_write_a_table() {
        let cases = [
            ("1,2,3\n4,5,6\n", 3),
            ("1;2;3\r\n4;5;6\r\n", 3),
            ("1\t2\t3\n4\t5\t6", 3),
            ("  1  2 3\n4 5  6 \n", 3),
            ("\u{feff}1,2,3\r\n4,5,6", 3),
            ("# Ti K, counts\n1, 2, 3\n4, 5, 6\n\n", 3),
            ("x;y;z\n1;2;3\n4;5;6", 3),
            ("1;2;3;\n4;5;6;\n", 3),
            ("1e0,2E+0,3.0\n4,5,6", 3),
            ("1,0;2,0;3,0\n4,0;5,0;6,0", 3),
            ("1,0 2,0 3,0\n4,0 5,0 6,0", 3),
        ];
        for (text, width) in cases {
            assert_eq!(values(text), (width, vec![1.0, 2.0, 3.0, 4.0, 5.0, 6.0]), "{text:?}");
        }
        assert_eq!(values("1.234,5;2\n-3,25;0"), (2, vec![1234.5, 2.0, -3.25, 0.0]));
        assert_eq!(values("7\n8\n9"), (1, vec![7.0, 8.0, 9.0]));
    }

    #[test]
    fn empty_fields_are_blank() {
        let (width, data) = values("1,,3\n,nan,NaN\n");
        assert_eq!(width, 3);
        assert!(data[1].is_nan() && data[3].is_nan() && data[4].is_nan() && data[5].is_nan());
        assert_eq!((data[0], data[2]), (1.0, 3.0));
    }

    #[test]
    fn two_readings_are_not_chosen_between() {
        let finding = read(b"1,5\n2,5\n", None).unwrap_err();
        assert_eq!(finding.code(), "ambiguous");
        assert!(finding.to_string().contains("2 columns separated by commas"), "{finding}");
        assert!(finding.to_string().contains("one column with decimal commas"), "{finding}");
    }

    #[test]
    fn what_is_wrong_is_said_with_its_line() {
        assert_eq!(read(b"1;2;3\n4;5\n", None), Err(Finding::Ragged { line: 2, found: 2, expected: 3 }));
        let text = b"# title\n1;2\n3;four\n";
        assert_eq!(read(text, None), Err(Finding::NotANumber { line: 3, field: 2, text: "four".into() }));
        assert_eq!(read(b"Dear reader, here is a letter.\nYours, A.\n", None), Err(Finding::UnknownFormat));
        assert_eq!(read(b"{\"a\": [1, 2]}", None), Err(Finding::UnknownFormat));
    }
}
