//! All that a map's name says: line, role, detector, energy window and how it was made.

use super::name::{self, Guess};
use super::role::{self, KindHint, Role};
use super::window;
use super::words::{self, Word};

/// What the name of a map says. Names are untrusted text of any length; every part may be missing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NameReading {
    /// Element and line. [`Guess::Nothing`] for auxiliary maps but those that belong to a line
    /// ([`Role::may_have_line`]).
    pub line: Guess,
    /// What the map is instead of an element's map.
    pub role: Option<Role>,
    /// Number of the detector, where a clear word stands before it.
    pub detector: Option<u32>,
    /// Energy window, low and high in keV.
    pub window_kev: Option<(f64, f64)>,
    /// How it was made, by words and units.
    pub kind_hint: Option<KindHint>,
}

const NOTHING: NameReading =
    NameReading { line: Guess::Nothing, role: None, detector: None, window_kev: None, kind_hint: None };

const ENDINGS: [&str; 20] = [
    "tif", "tiff", "png", "jpg", "jpeg", "npy", "npz", "csv", "txt", "tsv", "dat", "asc", "bmp", "gif",
    "raw", "zip", "gz", "bin", "xlsx", "mat",
];

/// Reads element and line from a name; the ending ".tif" and the like may still be on it.
pub fn guess_line(name: &str) -> Guess {
    read_name(name).line
}

/// Reads what a file name (with its folders), the title of a page or the header of a column says.
///
/// Folders are used only for what the file's own name does not say, the nearest first. Time grows with the length of the
/// name, not faster.
pub fn read_name(name: &str) -> NameReading {
    let (stem, has_ending) = without_endings(name);
    // Without a file's ending a slash is a sign like others ("counts/s", "Pb/Sn").
    if !has_ending {
        return read_part(stem);
    }
    let mut parts = stem.rsplit(['/', '\\']);
    let mut reading = read_part(parts.next().unwrap_or_default());
    // Deeper paths than these say where the project is kept.
    for folder in parts.take(4) {
        fill_from(&mut reading, read_part(folder));
    }
    reading
}

/// Adds what a folder says to what the file says.
fn fill_from(reading: &mut NameReading, folder: NameReading) {
    let is_silent = reading.line == Guess::Nothing && reading.window_kev.is_none();
    if reading.role.is_none() {
        // A folder of errors holds the errors of lines; other roles only hold files that say nothing else.
        let is_taken = matches!(folder.role, Some(Role::FitError | Role::FitQuality)) || is_silent;
        reading.role = folder.role.filter(|_| is_taken);
    }
    let may_have_line = reading.role.is_none_or(Role::may_have_line);
    if is_silent && may_have_line {
        (reading.line, reading.window_kev) = (folder.line, folder.window_kev);
    }
    reading.detector = reading.detector.or(folder.detector);
    reading.kind_hint = reading.kind_hint.or(folder.kind_hint);
}

/// One part of a path, or a title.
fn read_part(part: &str) -> NameReading {
    let folded = words::folded(part);
    let words = words::words(&folded);
    if words.is_empty() {
        return NOTHING;
    }
    let line = name::guess_of(&words);
    let has_line = line != Guess::Nothing;
    let role = role::role_of(&words, has_line, !has_line && name::is_only_of_maps(&words));
    let line = if role.is_none_or(Role::may_have_line) { line } else { Guess::Nothing };
    let window_kev = window::window_kev(&folded);
    let has_subject = has_line || role.is_some() || window_kev.is_some();
    NameReading {
        line,
        role,
        detector: detector(&words),
        window_kev,
        kind_hint: role::kind_hint(&words, has_subject),
    }
}

/// The name without endings of files ("a.tif", "a.csv.gz"), and whether it had one.
fn without_endings(name: &str) -> (&str, bool) {
    let (mut name, mut has_ending) = (name.trim(), false);
    for _ in 0..3 {
        match name.rsplit_once('.') {
            Some((stem, ending))
                if !stem.is_empty()
                    && ending.len() <= 4
                    && ENDINGS.contains(&ending.to_ascii_lowercase().as_str()) =>
            {
                (name, has_ending) = (stem, true);
            }
            _ => break,
        }
    }
    (name, has_ending)
}

/// "det2", "Detector 3", "SDD-1". `None` where two are named ("det1+2", "det1_det2") or none has a number.
fn detector(words: &[Word]) -> Option<u32> {
    let mut found = None;
    for (i, word) in words.iter().enumerate() {
        let (letters, number) = word.letters_and_number();
        if !matches!(letters, "det" | "detector" | "detektor" | "detecteur" | "rivelatore" | "sdd") {
            continue;
        }
        let (number, after) = match number {
            Some(number) => (Some(number), i + 1),
            None => (
                words.get(i + 1).filter(|next| !matches!(next.before, '+' | '/')).and_then(Word::number),
                i + 2,
            ),
        };
        let Some(number) = number.filter(|n| *n < 1000) else { continue };
        let is_list = words.get(after).is_some_and(|next| {
            (matches!(next.before, '+' | '&' | ',' | '-') && next.is_number())
                || (matches!(next.small.as_str(), "and" | "und" | "et" | "e" | "y" | "to")
                    && words.get(after + 1).is_some_and(Word::is_number))
        });
        if is_list || found.is_some_and(|other| other != number) {
            return None;
        }
        found = Some(number);
    }
    found
}
