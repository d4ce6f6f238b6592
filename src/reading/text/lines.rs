//! Lines, fields and values of a text, without copying any of it.

use super::number::{self, Mark};

/// What stands between two values.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Separator {
    Tab,
    Semicolon,
    Comma,
    /// Any run of blanks.
    Blanks,
}

impl Separator {
    pub(super) const ALL: [Separator; 4] =
        [Separator::Tab, Separator::Semicolon, Separator::Comma, Separator::Blanks];

    fn byte(self) -> u8 {
        match self {
            Separator::Tab => b'\t',
            Separator::Semicolon => b';',
            Separator::Comma => b',',
            Separator::Blanks => b' ',
        }
    }

    /// The stable word in the key of a way.
    pub(super) fn key(self) -> &'static str {
        match self {
            Separator::Tab => "tab",
            Separator::Semicolon => "semicolon",
            Separator::Comma => "comma",
            Separator::Blanks => "blank",
        }
    }

    /// The word in a sentence.
    pub(super) fn name(self) -> &'static str {
        match self {
            Separator::Tab => "tabs",
            Separator::Semicolon => "semicolons",
            Separator::Comma => "commas",
            Separator::Blanks => "blanks",
        }
    }

    fn is_at(self, byte: u8) -> bool {
        match self {
            Separator::Blanks => is_gap(byte),
            _ => byte == self.byte(),
        }
    }

    /// Blanks that only pad a field.
    fn is_padding(self, byte: u8) -> bool {
        is_gap(byte) && !(self == Separator::Tab && byte == b'\t')
    }
}

fn is_gap(byte: u8) -> bool {
    matches!(byte, b' ' | b'\t' | 0x0b | 0x0c)
}

/// A line, or several where a quoted field goes over their ends (RFC 4180, section 2, 6).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Record<'a> {
    /// Number of its first line, from 1.
    pub(super) line: u64,
    /// Where it starts, in bytes.
    pub(super) start: usize,
    pub(super) text: &'a str,
}

impl<'a> Record<'a> {
    /// The text behind a sign for comments; `None` for a line that is none.
    pub(super) fn comment(&self) -> Option<&'a str> {
        let text = self.text.trim_start();
        let rest = text.strip_prefix(['#', '%']).or_else(|| text.strip_prefix("//"))?;
        // "#N/A" at the start of a line is a value.
        let word = text.split([';', ',', '\t', ' ']).next().unwrap_or(text);
        if text.starts_with('#') && number::is_blank(word) {
            return None;
        }
        Some(rest.trim_start_matches(['#', '%', '/']).trim())
    }

    /// True without anything but blanks; tabs count where they separate.
    pub(super) fn is_empty(&self, separator: Separator) -> bool {
        match self.text.as_bytes().first() {
            None => true,
            Some(byte) if byte.is_ascii_graphic() => false,
            _ => match separator {
                Separator::Tab => self.text.trim_matches(|c: char| c.is_whitespace() && c != '\t').is_empty(),
                _ => self.text.trim().is_empty(),
            },
        }
    }

    /// Its fields.
    pub(super) fn fields(&self, separator: Separator) -> Fields<'a> {
        Fields { text: self.text, at: 0, has_ended: false, separator }
    }
}

/// The records from a place on; lines end with LF, CR LF or CR.
#[derive(Debug, Clone)]
pub(super) struct Records<'a> {
    text: &'a str,
    at: usize,
    line: u64,
    has_quotes: bool,
}

/// A quoted field goes over at most so many ends of lines: a stray quote must not swallow a file.
const LONGEST_QUOTE: usize = 8;

impl<'a> Records<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Self { text, at: 0, line: 1, has_quotes: text.contains('"') }
    }

    /// From a record on that was given before.
    pub(super) fn from(&self, start: usize, line: u64) -> Self {
        Self { at: start, line, ..self.clone() }
    }

    /// True if nothing but blanks follows.
    pub(super) fn is_at_end(&self) -> bool {
        self.text.as_bytes()[self.at..].iter().all(u8::is_ascii_whitespace)
    }

    /// True if the text does not end with the end of a line.
    pub(super) fn ends_within_line(&self) -> bool {
        !self.text.ends_with(['\n', '\r'])
    }

    /// End of the line that starts at `at`, and start of the next.
    fn line_end(&self, at: usize) -> (usize, usize) {
        let bytes = self.text.as_bytes();
        let end =
            bytes[at..].iter().position(|&byte| byte == b'\n' || byte == b'\r').map(|length| at + length);
        match end {
            None => (bytes.len(), bytes.len()),
            Some(end) if bytes[end..].starts_with(b"\r\n") => (end, end + 2),
            Some(end) => (end, end + 1),
        }
    }
}

impl<'a> Iterator for Records<'a> {
    type Item = Record<'a>;

    fn next(&mut self) -> Option<Record<'a>> {
        if self.at >= self.text.len() {
            return None;
        }
        let start = self.at;
        let (mut end, mut next) = self.line_end(start);
        let mut lines = 1;
        if self.has_quotes && has_open_quote(&self.text[start..end]) {
            let mut from = next;
            for more in 2..=LONGEST_QUOTE {
                if from >= self.text.len() {
                    break;
                }
                let (longer, after) = self.line_end(from);
                if has_open_quote(&self.text[from..longer]) {
                    (end, next, lines) = (longer, after, more as u64);
                    break;
                }
                from = after;
            }
        }
        let record = Record { line: self.line, start, text: &self.text[start..end] };
        self.at = next;
        self.line += lines;
        Some(record)
    }
}

fn has_open_quote(line: &str) -> bool {
    line.bytes().filter(|&byte| byte == b'"').count() % 2 == 1
}

/// The fields of a record, without blanks and quotes around them.
#[derive(Debug, Clone)]
pub(super) struct Fields<'a> {
    text: &'a str,
    at: usize,
    has_ended: bool,
    separator: Separator,
}

impl<'a> Fields<'a> {
    fn skip_padding(&mut self) {
        let bytes = self.text.as_bytes();
        while bytes.get(self.at).is_some_and(|&byte| self.separator.is_padding(byte)) {
            self.at += 1;
        }
    }

    /// Over what follows a field: true if that is its end.
    fn finish(&mut self) -> bool {
        let before = self.at;
        self.skip_padding();
        match self.text.as_bytes().get(self.at) {
            None => self.has_ended = true,
            Some(&byte) if self.separator != Separator::Blanks && byte == self.separator.byte() => {
                self.at += 1
            }
            Some(_) => return self.separator == Separator::Blanks && self.at > before,
        }
        true
    }

    /// True where no field follows.
    fn is_over(&mut self) -> bool {
        if !self.has_ended {
            self.skip_padding();
            self.has_ended = self.separator == Separator::Blanks && self.at >= self.text.len();
        }
        self.has_ended
    }

    /// The field at the present place.
    fn field(&mut self) -> &'a str {
        let bytes = self.text.as_bytes();
        let start = self.at;
        if bytes.get(start) == Some(&b'"') {
            let mut end = start + 1;
            while let Some(&byte) = bytes.get(end) {
                if byte == b'"' {
                    if bytes.get(end + 1) != Some(&b'"') {
                        break;
                    }
                    end += 1;
                }
                end += 1;
            }
            if end < bytes.len() {
                self.at = end + 1;
                if self.finish() {
                    return self.text[start + 1..end].trim();
                }
                self.at = start;
            }
        }
        let rest = &bytes[start..];
        let length = rest.iter().position(|&byte| self.separator.is_at(byte)).unwrap_or(rest.len());
        self.at = start + length;
        self.finish();
        self.text[start..start + length].trim()
    }

    /// The next field as a number; what stands there if it is none.
    pub(super) fn value(&mut self, mark: Mark) -> Option<Result<f64, &'a str>> {
        if self.is_over() {
            return None;
        }
        let start = self.at;
        let decimal = if mark.byte() == self.separator.byte() { 0 } else { mark.byte() };
        if let Some((value, length)) = number::plain(&self.text.as_bytes()[start..], decimal) {
            self.at = start + length;
            if self.finish() {
                return Some(Ok(value));
            }
            self.at = start;
        }
        let field = self.field();
        Some(number::value(field, mark).ok_or(field))
    }
}

impl<'a> Iterator for Fields<'a> {
    type Item = &'a str;

    fn next(&mut self) -> Option<&'a str> {
        (!self.is_over()).then(|| self.field())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fields(text: &str, separator: Separator) -> Vec<&str> {
        Records::new(text).next().map(|record| record.fields(separator).collect()).unwrap_or_default()
    }

    #[test]
    fn fields_are_cut_as_rfc_4180_and_padding_say() {
        assert_eq!(fields("1, 2 ,3", Separator::Comma), ["1", "2", "3"]);
        assert_eq!(fields("1;;3;", Separator::Semicolon), ["1", "", "3", ""]);
        assert_eq!(fields("\"1,5\",\"a \"\"b\"\"\" ,x", Separator::Comma), ["1,5", "a \"\"b\"\"", "x"]);
        assert_eq!(fields("  1 \t 2  ", Separator::Blanks), ["1", "2"]);
        assert_eq!(fields("1\t\t 3", Separator::Tab), ["1", "", "3"]);
        assert_eq!(fields("\"Cu K\" 5", Separator::Blanks), ["Cu K", "5"]);
        assert_eq!(fields("5\" wide;2", Separator::Semicolon), ["5\" wide", "2"]);
        assert_eq!(fields("\"5;2", Separator::Semicolon), ["\"5", "2"]);
    }

    #[test]
    fn lines_end_in_three_ways_and_quotes_hold_them_together() {
        let lines: Vec<(u64, &str)> = Records::new("a\r\nb\rc\n\"x\n[mm]\";d\ne\"\nf")
            .map(|record| (record.line, record.text))
            .collect();
        assert_eq!(lines, [(1, "a"), (2, "b"), (3, "c"), (4, "\"x\n[mm]\";d"), (6, "e\""), (7, "f")]);
    }

    #[test]
    fn values_are_fields_read_as_numbers() {
        let values = |text, separator, mark| -> Vec<Result<f64, &str>> {
            let mut fields = Fields { text, at: 0, has_ended: false, separator };
            std::iter::from_fn(|| fields.value(mark)).collect()
        };
        assert_eq!(values("1,2.5,x", Separator::Comma, Mark::Point), [Ok(1.0), Ok(2.5), Err("x")]);
        assert_eq!(values("1,2,5", Separator::Comma, Mark::Comma), [Ok(1.0), Ok(2.0), Ok(5.0)]);
        assert_eq!(values("\"1,5\",2", Separator::Comma, Mark::Comma), [Ok(1.5), Ok(2.0)]);
        assert_eq!(values("1 234;5", Separator::Semicolon, Mark::Point), [Ok(1234.0), Ok(5.0)]);
        assert_eq!(values("1.5D+03  2", Separator::Blanks, Mark::Point), [Ok(1500.0), Ok(2.0)]);
    }
}
