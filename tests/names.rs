//! What names of maps say, by `cases/names.csv`: file names, titles, headers and folders.
//!
//! Names follow common practice, no source; element names of languages are dictionary forms, from memory; levels and
//! lines follow the correspondence of IUPAC's nomenclature system for X-ray spectroscopy (1991), from memory.

#![allow(clippy::unwrap_used, clippy::disallowed_methods)] // a test may fail and look at the clock

use limner::element::{Guess, KindHint, NameReading, guess_line, read_name};
use std::time::{Duration, Instant};

/// Cases in the table; a lost line must not pass.
const CASES: usize = 279;

/// Fields of a line, with quotes around those that hold commas.
fn fields(line: &str) -> Vec<String> {
    let (mut out, mut field, mut is_quoted) = (Vec::new(), String::new(), false);
    for c in line.chars() {
        match c {
            '"' => is_quoted = !is_quoted,
            ',' if !is_quoted => out.push(std::mem::take(&mut field)),
            c => field.push(c),
        }
    }
    out.push(field);
    out
}

fn kind_word(hint: KindHint) -> &'static str {
    match hint {
        KindHint::Counts => "counts",
        KindHint::Rate => "rate",
        KindHint::Net => "net",
        KindHint::Fitted => "fitted",
        KindHint::Normalised => "normalised",
        KindHint::Quantified => "quantified",
        KindHint::DisplayCopy => "display copy",
    }
}

/// A reading as the columns of the table.
fn columns(reading: NameReading) -> [String; 5] {
    [
        match reading.line {
            Guess::Line(line) => line.to_string(),
            Guess::Ambiguous(a, b) => {
                assert_ne!(a, b);
                "?".into()
            }
            Guess::Nothing => String::new(),
        },
        reading.role.map_or(String::new(), |role| role.word().into()),
        reading.detector.map_or(String::new(), |number| number.to_string()),
        reading.window_kev.map_or(String::new(), |(low, high)| format!("{low}-{high}")),
        reading.kind_hint.map_or(String::new(), |hint| kind_word(hint).into()),
    ]
}

#[test]
fn every_name_of_the_table_is_read_as_written_there() {
    let table = include_str!("cases/names.csv");
    let mut lines = table.lines();
    assert_eq!(lines.next(), Some("name,line,role,detector,window,kind,note"));
    let (mut count, mut wrong) = (0, Vec::new());
    for line in lines {
        let row = fields(line);
        assert_eq!(row.len(), 7, "{line}");
        let got = columns(read_name(&row[0]));
        if got[..] != row[1..6] {
            wrong.push(format!("{:?}: wanted {:?}, got {got:?}", row[0], &row[1..6]));
        }
        assert_eq!(guess_line(&row[0]), read_name(&row[0]).line);
        count += 1;
    }
    let names: std::collections::BTreeSet<&str> = table.lines().collect();
    assert_eq!(names.len(), count + 1, "a case stands twice");
    assert!(wrong.is_empty(), "{} wrong:\n{}", wrong.len(), wrong.join("\n"));
    assert_eq!(count, CASES);
}

/// A generator of numbers for names (xorshift, Marsaglia 2003); any would do.
struct Numbers(u64);

impl Numbers {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
}

#[test]
fn a_name_without_words_says_nothing() {
    for name in ["", " ", "/", "//.tif", "...", "\0"] {
        assert_eq!(columns(read_name(name)), ["", "", "", "", ""], "{name:?}");
    }
}

#[test]
fn no_name_panics() {
    let mut numbers = Numbers(0x5eed_1234_9876_abcd);
    let pieces = [
        "Fe", "K", "a", "α", "-", "+", ",", "L3", "M5", "_", " ", "26", "z", "=", "keV", "6.25", "–", "to",
        "det", "2", "wt%", "or", "é", "e\u{301}", "🦆", "\0", "/", ".tif", "\u{202e}", "铅", "ß", "K\u{300}",
        "error", "%", "Mg", "İ",
    ];
    for _ in 0..40_000 {
        let length = numbers.next() % 12;
        let name: String = (0..length)
            .map(|_| pieces[usize::try_from(numbers.next() % pieces.len() as u64).unwrap()])
            .collect();
        read_name(&name);
        limner::element::Line::parse_typed(&name);
        let bytes: Vec<u8> = (0..length * 3).map(|_| u8::try_from(numbers.next() & 255).unwrap()).collect();
        read_name(&String::from_utf8_lossy(&bytes));
    }
}

#[test]
fn long_names_take_time_in_proportion() {
    // A quadratic walk over a million signs takes minutes; the bound leaves room for a slow machine.
    for piece in [
        "Fe ", "K+", "a", "Kα+", "6.25-", "keV", "1,", "det1 ", "/", "or ", "K-L3,", "é", "🦆", "Fe/.tif",
        ".tif",
    ] {
        let name = piece.repeat(1_000_000 / piece.len());
        let start = Instant::now();
        read_name(&name);
        limner::element::Line::parse_typed(&name);
        assert!(start.elapsed() < Duration::from_secs(20), "{piece:?} took {:?}", start.elapsed());
    }
}
