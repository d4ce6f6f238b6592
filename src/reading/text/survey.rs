//! How a text would be read in one manner: where its numbers start, how many columns it has, what its titles are.
//! Looks at the first few thousand lines only; [`Rows`] then reads all of them.

use super::lines::{Record, Records, Separator};
use super::number::{self, Mark, Shape};
use super::rows::Rows;
use super::titles::{Places, Titles};
use crate::notice::Finding;
use crate::reading::MOST_PIXELS;

/// A way to tell values apart and to read them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Manner {
    pub(super) separator: Separator,
    pub(super) mark: Mark,
}

/// Lines and bytes above the numbers that are looked through.
const HEADER: (usize, usize) = (2_000, 1_000_000);
/// Lines and bytes of numbers on which a manner is tried.
const SAMPLE: (usize, usize) = (4_096, 1_000_000);

/// A text in one manner.
#[derive(Debug, Clone)]
pub(super) struct Survey<'a> {
    pub(super) manner: Manner,
    records: Records<'a>,
    /// Columns that are read.
    pub(super) width: usize,
    /// Columns at the right end in which nothing was found so far.
    pub(super) spare: usize,
    /// Titles of the columns, where there are any.
    pub(super) titles: Option<Titles>,
    /// Columns of positions that the titles name.
    pub(super) places: Vec<Places>,
    /// A line above the numbers with one word and then numbers: the corner and an axis.
    pub(super) corner: Option<(String, Vec<f64>)>,
    /// The lines above the numbers, comments without their sign.
    pub(super) header: Vec<&'a str>,
    /// Columns with words in their first line; their values are blank.
    pub(super) words: Vec<usize>,
    /// Values of the lines that were tried, row by row.
    pub(super) sample: Vec<f64>,
}

/// What is wrong in one manner, and how many fields its first line of numbers has: the manner that sees most fields is
/// the one that the writer most likely meant.
pub(super) struct Failure {
    pub(super) fields: usize,
    pub(super) finding: Finding,
}

/// A field as it is quoted in a sentence.
pub(super) fn not_a_number(line: u64, column: usize, field: &str) -> Finding {
    Finding::NotANumber { line, field: column as u64 + 1, text: field.chars().take(20).collect() }
}

/// The same for a field of a record.
fn word_in(record: &Record<'_>, separator: Separator, column: usize) -> Finding {
    not_a_number(record.line, column, record.fields(separator).nth(column).unwrap_or_default())
}

/// True for numbers that rise or fall all along.
pub(super) fn is_monotone(values: &[f64]) -> bool {
    let rises = values.windows(2).all(|pair| pair[1] > pair[0]);
    let falls = values.windows(2).all(|pair| pair[1] < pair[0]);
    values.len() > 1 && (rises || falls)
}

/// True for a record of numbers and blanks only.
fn is_data(record: &Record<'_>, manner: Manner) -> bool {
    let (mut fields, mut is_any) = (record.fields(manner.separator), false);
    let mut count = 0;
    while let Some(value) = fields.value(manner.mark) {
        match value {
            Ok(value) => is_any |= !value.is_nan(),
            Err(_) => return false,
        }
        count += 1;
    }
    is_any || count > 1
}

/// Fields of a line, how many of them are numbers, and which is the first that is none.
fn numbers_in(record: &Record<'_>, manner: Manner) -> (usize, usize, Option<usize>) {
    let (mut count, mut numbers, mut first_word) = (0, 0, None);
    for field in record.fields(manner.separator) {
        match number::read(field, manner.mark) {
            Some((value, _)) => numbers += usize::from(!value.is_nan()),
            None => first_word = first_word.or(Some(count)),
        }
        count += 1;
    }
    (count, numbers, first_word)
}

/// The places that `titles` name, if `record` has numbers there and as many fields.
fn places_for(titles: &Titles, record: &Record<'_>, manner: Manner) -> Option<(Vec<Places>, Vec<usize>)> {
    let fields: Vec<&str> = record.fields(manner.separator).collect();
    let rest = fields.get(titles.width()..)?;
    if rest.iter().any(|field| !field.is_empty()) {
        return None;
    }
    let places = titles.places();
    let read = |column: usize, mark: Mark| fields.get(column).and_then(|field| number::read(field, mark));
    let is_number = |column: usize| read(column, manner.mark).is_some_and(|(value, _)| !value.is_nan());
    let fits = |place: &Places| [place.x, place.y].into_iter().flatten().all(|(column, _)| is_number(column));
    let places: Vec<Places> = places.into_iter().filter(fits).collect();
    let words: Vec<usize> =
        (0..titles.width()).filter(|&column| read(column, manner.mark).is_none()).collect();
    // What is a number with the other mark is no word.
    let is_other =
        |&column: &usize| [Mark::Point, Mark::Comma].iter().any(|&mark| read(column, mark).is_some());
    if words.iter().any(is_other) {
        return None;
    }
    (!places.is_empty()).then_some((places, words))
}

impl<'a> Survey<'a> {
    /// Looks at the start of a text.
    ///
    /// # Errors
    /// What keeps the text from being a table in this manner.
    pub(super) fn of(text: &'a str, manner: Manner) -> Result<Self, Failure> {
        let mut out = Self::start(text, manner)?;
        out.try_lines()?;
        Ok(out)
    }

    /// Finds the first line of numbers and reads what stands above.
    fn start(text: &'a str, manner: Manner) -> Result<Self, Failure> {
        let mut nearest = Failure { fields: 0, finding: Finding::UnknownFormat };
        let separator = manner.separator;
        let mut records = Records::new(text);
        let mut header: Vec<(Record<'a>, bool)> = Vec::new();
        // The last line that names positions, with a line of units below it.
        let mut named: Option<Titles> = None;
        while header.len() < HEADER.0 {
            let Some(record) = records.next().filter(|record| record.start <= HEADER.1) else {
                return Err(nearest);
            };
            if record.is_empty(separator) {
                continue;
            }
            let comment = record.comment();
            let found = match (&named, comment) {
                (Some(titles), None) => places_for(titles, &record, manner),
                _ => None,
            };
            let is_start = found.is_some() || (comment.is_none() && is_data(&record, manner));
            if !is_start {
                let (count, numbers, word) = numbers_in(&record, manner);
                if comment.is_none() && numbers > 1 && numbers * 2 >= count && nearest.fields == 0 {
                    let (fields, finding) = (count, word_in(&record, separator, word.unwrap_or_default()));
                    nearest = Failure { fields, finding };
                }
                let said = comment.unwrap_or(record.text);
                let titles = Titles::of(said, &record, separator);
                if !titles.places().is_empty() {
                    named = Some(titles);
                } else if let Some(titles) = &mut named {
                    titles.take_units(&Record { text: said, ..record }, separator);
                }
                header.push((Record { text: said, ..record }, comment.is_some()));
                continue;
            }
            let mut out = Self {
                manner,
                records: records.from(record.start, record.line),
                width: record.fields(separator).count(),
                spare: 0,
                titles: None,
                places: Vec::new(),
                corner: None,
                header: header.iter().map(|(record, _)| record.text).collect(),
                words: Vec::new(),
                sample: Vec::new(),
            };
            if let Some((places, words)) = found {
                (out.titles, out.places, out.words) = (named, places, words);
            } else {
                out.read_header(&header)?;
            }
            return Ok(out);
        }
        Err(nearest)
    }

    /// The last lines above the numbers: titles, units, an axis, or a line of numbers with a slip in it.
    fn read_header(&mut self, header: &[(Record<'a>, bool)]) -> Result<(), Failure> {
        let Some((last, _)) = header.last() else { return Ok(()) };
        let separator = self.manner.separator;
        for (number, (record, _)) in header.iter().enumerate().filter(|(_, (_, is_comment))| !is_comment) {
            if let Some(column) = self.slip(record, number + 1 == header.len()) {
                return Err(Failure { fields: self.width, finding: word_in(record, separator, column) });
            }
        }
        let (count, numbers, first_word) = numbers_in(last, self.manner);
        if count == self.width && count > 1 && first_word == Some(0) && numbers == count - 1 {
            let mut fields = last.fields(separator);
            let name = fields.next().unwrap_or_default().to_owned();
            let values =
                std::iter::from_fn(|| fields.value(self.manner.mark)).filter_map(Result::ok).collect();
            self.corner = Some((name, values));
            return Ok(());
        }
        let titles = Titles::of(last.text, last, separator);
        let before = header.len().checked_sub(2).and_then(|index| header.get(index));
        let above =
            before.map(|(record, _)| Titles::of(record.text, record, separator)).and_then(|mut above| {
                (above.names.len() == self.width && above.take_units(last, separator)).then_some(above)
            });
        self.titles = Some(above.unwrap_or(titles))
            .filter(|titles| titles.names.len() == self.width && titles.width() > 0);
        Ok(())
    }

    /// The field that keeps a line above the numbers from being one of them, where it seems meant to be one: it has as
    /// many fields, and no word at all, or more numbers than words right above the others.
    fn slip(&self, record: &Record<'a>, is_last: bool) -> Option<usize> {
        let (count, numbers, first_word) = numbers_in(record, self.manner);
        let column = first_word.filter(|_| count == self.width && count > 1 && numbers > 0)?;
        let mut fields = record.fields(self.manner.separator);
        let is_wordless = !record.text.contains(char::is_alphabetic);
        let is_mostly_numbers = is_last && numbers > 1 && numbers * 2 >= count;
        let is_meant = match column {
            // "y;1;2" is a corner with an axis, "1x;9;3" is not.
            0 => {
                let has_digit =
                    fields.next().is_some_and(|field| field.contains(|c: char| c.is_ascii_digit()));
                let values: Vec<f64> =
                    fields.filter_map(|field| number::value(field, self.manner.mark)).collect();
                is_mostly_numbers && has_digit && (values.len() < 4 || !is_monotone(&values))
            }
            _ => is_mostly_numbers,
        };
        (is_wordless || is_meant).then_some(column)
    }

    /// Reads the first lines, and with them the width.
    fn try_lines(&mut self) -> Result<(), Failure> {
        let first = self.width;
        if first as u64 > MOST_PIXELS {
            let finding = Finding::TooLarge { width: first as u64, height: 1, limit: MOST_PIXELS };
            return Err(Failure { fields: first, finding });
        }
        let failed = |finding: Finding| Failure { fields: first, finding };
        let titled = self.titles.as_ref().map_or(0, Titles::width).min(first);
        let (mut used, mut shortest) = (titled, (first, 0));
        let (mut lines, mut bytes) = (0, 0);
        let mut records = self.records.clone();
        let mut rows: Vec<Vec<f64>> = Vec::new();
        while lines < SAMPLE.0 && bytes < SAMPLE.1 {
            let Some(record) = records.next() else { break };
            if record.is_empty(self.manner.separator) || record.comment().is_some() {
                continue;
            }
            let mut fields = record.fields(self.manner.separator);
            let (mut row, mut last) = (Vec::new(), 0);
            while let Some(value) = fields.value(self.manner.mark) {
                let column = row.len();
                let value = match value {
                    Err(_) if self.words.contains(&column) => f64::NAN,
                    Err(field) => return Err(failed(not_a_number(record.line, column, field))),
                    Ok(value) => value,
                };
                row.push(value);
                if !value.is_nan() {
                    last = row.len();
                }
            }
            let count = row.len();
            // Words such as "nan" fill a column; empty fields at the end may be separators only.
            if last < count {
                let written =
                    record.fields(self.manner.separator).enumerate().filter(|(_, field)| !field.is_empty());
                last = written.last().map_or(last, |(column, _)| column + 1);
            }
            let ragged =
                || Finding::Ragged { line: record.line, found: count as u64, expected: first as u64 };
            let may_be_cut = records.is_at_end() && (!self.places.is_empty() || lines >= Rows::WHOLE_LINES);
            if count < shortest.0 && !may_be_cut {
                shortest = (count, record.line);
            }
            if last > first {
                return Err(failed(ragged()));
            }
            used = used.max(last);
            row.resize(first, f64::NAN);
            rows.push(row);
            lines += 1;
            bytes += record.text.len();
        }
        if shortest.0 < used {
            let (found, line) = shortest;
            let (found, expected) = (found as u64, first as u64);
            return Err(failed(Finding::Ragged { line, found, expected }));
        }
        // Separators without anything between them.
        if used == 0 {
            return Err(Failure { fields: 0, finding: Finding::UnknownFormat });
        }
        self.width = used;
        self.spare = first - self.width;
        self.sample = rows.iter().flat_map(|row| &row[..self.width]).copied().collect();
        Ok(())
    }

    /// Reads every line of numbers.
    pub(super) fn rows(&self) -> Rows<'_, 'a> {
        Rows { survey: self, records: self.records.clone(), count: 0, cut: None }
    }

    /// True if the first column has no title and counts the lines of a table with one line a pixel.
    pub(super) fn has_running_number(&self) -> bool {
        let is_untitled = self.titles.as_ref().is_none_or(|titles| titles.name(0).is_empty());
        let mut numbers = self.sample.iter().step_by(self.width.max(1));
        let mut before = numbers.next().copied();
        let mut counts = |value: &f64| before.replace(*value).is_some_and(|before| value - before == 1.0);
        self.width >= 4 && is_untitled && self.sample.len() >= 4 * self.width && numbers.all(&mut counts)
    }

    /// The line on which the numbers start, from 1.
    pub(super) fn first_line(&self) -> u64 {
        self.records.clone().next().map_or(0, |record| record.line)
    }

    /// At most so many lines of numbers follow.
    pub(super) fn most_lines(&self, text: &str) -> u64 {
        let start = self.records.clone().next().map_or(text.len(), |record| record.start);
        let bytes = &text.as_bytes()[start..];
        let count = |sign: u8| bytes.iter().filter(|&&byte| byte == sign).count() as u64;
        count(b'\n').max(count(b'\r')) + u64::from(!text.ends_with(['\n', '\r']))
    }

    /// Takes the columns in at the right end that seemed empty; `false` if there are none.
    pub(super) fn widen(&mut self) -> bool {
        let spare = std::mem::take(&mut self.spare);
        self.width += spare;
        spare > 0
    }

    /// True if all lines would be numbers with the other mark too; a line that would not ends the search.
    pub(super) fn reads_with(&self, mark: Mark) -> bool {
        let mut numbers = self
            .records
            .clone()
            .filter(|record| record.comment().is_none() && !record.is_empty(self.manner.separator))
            .flat_map(|record| record.fields(self.manner.separator).enumerate());
        numbers.all(|(column, field)| self.words.contains(&column) || number::read(field, mark).is_some())
    }

    /// What the marks in the first lines say.
    pub(super) fn marks(&self) -> Marks {
        let width = self.width;
        let mut of_column = vec![(0_u32, 0_u32); width.min(4_096)];
        let mut out = Marks { is_mixed: false, points: 0, commas: 0 };
        let (mut lines, mut plain) = (0, 0);
        let mut bytes = 0;
        for record in self.records.clone().take(SAMPLE.0) {
            if record.is_empty(self.manner.separator) || record.comment().is_some() {
                continue;
            }
            if bytes > SAMPLE.1 {
                break;
            }
            bytes += record.text.len();
            lines += 1;
            for (column, field) in record.fields(self.manner.separator).enumerate() {
                let Some((_, shape)) = number::read(field, self.manner.mark) else { continue };
                out.points += u32::from(shape == Shape::ThreeDigits && field.contains('.'));
                out.commas += u32::from(shape == Shape::ThreeDigits && field.contains(','));
                plain += u32::from(shape == Shape::Plain);
                if let Some((marked, whole)) = of_column.get_mut(column) {
                    *marked += u32::from(shape == Shape::ThreeDigits);
                    *whole += u32::from(shape == Shape::Plain);
                }
            }
        }
        // In a table of many lines each column has its own form; a few long lines have one form together.
        out.is_mixed = match lines > 8 && width <= 4_096 {
            true => of_column.iter().any(|(marked, whole)| *marked > 0 && *whole > 0),
            false => plain > 0,
        };
        out
    }
}

/// Which marks occur where both readings are possible.
#[derive(Debug, Clone, Copy)]
pub(super) struct Marks {
    /// Numbers with and without the mark stand together, as where it groups thousands.
    pub(super) is_mixed: bool,
    pub(super) points: u32,
    pub(super) commas: u32,
}
