//! What the titles of columns say: which hold positions and in which unit. Words are common practice, no source.

use super::lines::{Record, Separator};
use crate::element::{Guess, guess_line};

/// The unit of a position.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unit {
    /// A length, as many micrometres.
    Micrometres(f64),
    /// Numbers of pixels, or of columns and lines.
    Pixels,
    /// Not said, or a word that is not known.
    Unknown,
}

/// Across or down.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Axis {
    X,
    Y,
}

const X_WORDS: [&str; 9] =
    ["x", "col", "column", "spalte", "colonne", "colonna", "columna", "kolom", "kolumn"];
const Y_WORDS: [&str; 9] = ["y", "row", "zeile", "ligne", "riga", "fila", "rij", "rad", "reihe"];
/// Words beside the axis that change nothing.
const FILLERS: [&str; 33] = [
    "pos",
    "position",
    "positions",
    "posizione",
    "posicion",
    "posición",
    "positie",
    "coord",
    "coordinate",
    "coordinates",
    "coordonnée",
    "coordinata",
    "koordinate",
    "koord",
    "stage",
    "motor",
    "sample",
    "scan",
    "table",
    "axis",
    "achse",
    "axe",
    "asse",
    "eje",
    "as",
    "actual",
    "real",
    "ist",
    "center",
    "centre",
    "nr",
    "no",
    "of",
];
/// Words beside the axis that make it a number of pixels.
const COUNTS: [&str; 8] = ["pixel", "pixels", "px", "index", "idx", "indice", "number", "nummer"];

/// A unit by its word; the powers of ten are those of the SI brochure (9th edition, table 7), the inch is 25.4 mm.
fn unit_of(word: &str) -> Option<Unit> {
    Some(match word {
        "nm" => Unit::Micrometres(1e-3),
        "um" | "µm" | "μm" | "micron" | "microns" | "micrometer" | "micrometers" | "micrometre"
        | "micrometres" | "mikrometer" | "mu" => Unit::Micrometres(1.0),
        "mm" | "millimeter" | "millimeters" | "millimetre" | "millimetres" => Unit::Micrometres(1e3),
        "cm" | "centimeter" | "centimetre" => Unit::Micrometres(1e4),
        "m" | "meter" | "metre" => Unit::Micrometres(1e6),
        "in" | "inch" | "inches" => Unit::Micrometres(25_400.0),
        "px" | "pixel" | "pixels" => Unit::Pixels,
        _ => return None,
    })
}

/// Units too short to be believed without brackets.
const ONLY_IN_BRACKETS: [&str; 3] = ["m", "in", "mu"];

/// The title without what stands in brackets or behind a slash, and that.
fn without_brackets(title: &str) -> (&str, Option<&str>) {
    for (open, close) in [('[', ']'), ('(', ')'), ('{', '}'), ('<', '>')] {
        if let Some((before, rest)) = title.split_once(open)
            && let Some((inside, after)) = rest.split_once(close)
            && after.trim().is_empty()
        {
            return (before, Some(inside));
        }
    }
    match title.rsplit_once('/') {
        Some((before, unit)) if unit_of(&unit.trim().to_lowercase()).is_some() => (before, Some(unit)),
        _ => (title, None),
    }
}

/// The unit that a title names, alone ("mm") or in brackets ("y/x [mm]").
pub(super) fn unit(title: &str) -> Unit {
    let (before, inside) = without_brackets(title.trim());
    let word = inside.unwrap_or(before).trim().to_lowercase();
    unit_of(&word).unwrap_or(Unit::Unknown)
}

/// The axis and unit of a column, where its title is that of a position: "x", "X [mm]", "pos_x", "yPos / µm", "Spalte".
/// "Y K" is a line of yttrium.
pub(super) fn position(title: &str) -> Option<(Axis, Unit)> {
    if title.len() > 60 {
        return None;
    }
    let (before, inside) = without_brackets(title.trim());
    let mut unit = inside.and_then(|inside| unit_of(&inside.trim().to_lowercase()));
    let mut axis = None;
    for word in words(before) {
        let stem = |ending: &str| word.strip_suffix(ending).or_else(|| word.strip_prefix(ending));
        let letter = ["pos", "position", "coord", "pixel", "index", "idx", "motor", "stage"].iter().find_map(
            |filler| stem(filler).filter(|rest| *rest == "x" || *rest == "y").map(|rest| (rest, *filler)),
        );
        let (word, filler) = letter.map_or((word.as_str(), ""), |(rest, filler)| (rest, filler));
        let found = match word {
            _ if X_WORDS.contains(&word) => Some(Axis::X),
            _ if Y_WORDS.contains(&word) => Some(Axis::Y),
            _ => None,
        };
        if found.is_some() {
            if axis.is_some() {
                return None;
            }
            axis = found;
            if word.len() > 1 || COUNTS.contains(&filler) {
                unit = unit.or(Some(Unit::Pixels));
            }
        } else if COUNTS.contains(&word) {
            unit = unit.or(Some(Unit::Pixels));
        } else if let Some(said) = unit_of(word).filter(|_| !ONLY_IN_BRACKETS.contains(&word)) {
            unit = Some(said);
        } else if !FILLERS.contains(&word) {
            return None;
        }
    }
    // A word in brackets that is no unit belongs to something else: "x (Kα)".
    if inside.is_some_and(|inside| guess_line(inside) != Guess::Nothing) {
        return None;
    }
    Some((axis?, unit.unwrap_or(Unit::Unknown)))
}

/// Words in small letters; "PosX" and "xPos" are two each.
fn words(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut was_small = false;
    let mut is_inside = false;
    for letter in text.chars() {
        if !letter.is_alphanumeric() {
            is_inside = false;
            continue;
        }
        let starts = !is_inside || (was_small && letter.is_uppercase());
        if starts {
            out.push(String::new());
        }
        if let Some(word) = out.last_mut() {
            word.extend(letter.to_lowercase());
        }
        was_small = letter.is_lowercase();
        is_inside = true;
    }
    out
}

/// A line of more fields is none of titles; one more than any table is read with would not fit it.
const MOST_TITLES: usize = 5_000;

/// The titles of the columns, and what a line of units below them adds.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Titles {
    /// One a column, empty where there is none.
    pub(super) names: Vec<String>,
    /// One a column or none at all.
    pub(super) units: Vec<Unit>,
}

/// Columns that hold positions.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Places {
    /// Column of x and its unit.
    pub(super) x: Option<(usize, Unit)>,
    /// Column of y and its unit.
    pub(super) y: Option<(usize, Unit)>,
}

impl Titles {
    /// The fields of a line of titles.
    pub(super) fn of(text: &str, record: &Record<'_>, separator: Separator) -> Self {
        let record = Record { text, ..*record };
        let names = record.fields(separator).take(MOST_TITLES).map(plain_title).collect();
        Self { names, units: Vec::new() }
    }

    /// Takes a line of units; `false` if it is none.
    pub(super) fn take_units(&mut self, record: &Record<'_>, separator: Separator) -> bool {
        let mut units = Vec::new();
        for field in record.fields(separator) {
            let (before, inside) = without_brackets(field);
            let word = inside.unwrap_or(before).trim().to_lowercase();
            units.push(unit_of(&word).unwrap_or(Unit::Unknown));
        }
        let is_one = units.len() == self.names.len() && units.iter().any(|unit| *unit != Unit::Unknown);
        if is_one {
            self.units = units;
        }
        is_one
    }

    /// The title of a column, as far as there is one.
    pub(super) fn name(&self, column: usize) -> &str {
        self.names.get(column).map_or("", String::as_str)
    }

    /// Columns up to the last with a title.
    pub(super) fn width(&self) -> usize {
        self.names.iter().rposition(|name| !name.is_empty()).map_or(0, |last| last + 1)
    }

    /// Which columns hold positions, the pair that is best first: lengths before numbers of pixels. Empty where the
    /// titles name no position beside a value.
    pub(super) fn places(&self) -> Vec<Places> {
        let of = |wanted: Axis| -> Vec<(usize, Unit)> {
            let found = self.names.iter().enumerate().filter_map(|(column, name)| match position(name) {
                Some((axis, unit)) if axis == wanted => {
                    let below = self.units.get(column).copied().unwrap_or(Unit::Unknown);
                    Some((column, if below == Unit::Unknown { unit } else { below }))
                }
                _ => None,
            });
            let mut found: Vec<_> = found.collect();
            found.sort_by_key(|(_, unit)| !matches!(unit, Unit::Micrometres(_)));
            found
        };
        let (xs, ys) = (of(Axis::X), of(Axis::Y));
        let others = |used: usize| self.width() > used;
        if xs.is_empty() || ys.is_empty() {
            // One position alone is a line scan only where the other columns are element lines.
            let alone = Places { x: xs.first().copied(), y: ys.first().copied() };
            let is_mostly_lines = || {
                let lines = self.lines();
                lines > 0 && lines * 2 >= self.width() - 1
            };
            let is_one = xs.len() + ys.len() == 1 && is_mostly_lines();
            return if is_one { vec![alone] } else { Vec::new() };
        }
        let mut out = Vec::new();
        for x in &xs {
            // Of several, the one that is written like its partner: "Y" beside "X" is no yttrium.
            let alike = |y: &&(usize, Unit)| {
                let swapped: String = self
                    .name(x.0)
                    .chars()
                    .map(|c| match c {
                        'x' => 'y',
                        'X' => 'Y',
                        c => c,
                    })
                    .collect();
                swapped == self.name(y.0)
            };
            let partner = ys.iter().find(alike).or_else(|| ys.iter().find(|y| y.1 == x.1)).or(ys.first());
            if let Some(y) = partner.filter(|_| others(2)) {
                out.push(Places { x: Some(*x), y: Some(*y) });
            }
        }
        out
    }

    /// Titles that read as element lines.
    pub(super) fn lines(&self) -> usize {
        self.names.iter().filter(|name| matches!(guess_line(name), Guess::Line(_))).count()
    }
}

/// A title on one line, without doubled quotes; long ones are cut.
fn plain_title(field: &str) -> String {
    let joined: Vec<&str> = field.split_whitespace().collect();
    joined.join(" ").replace("\"\"", "\"").chars().take(80).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn titles_of_positions_are_known_with_their_units() {
        let (mm, um) = (Unit::Micrometres(1e3), Unit::Micrometres(1.0));
        let cases = [
            ("x", Axis::X, Unit::Unknown),
            ("Y", Axis::Y, Unit::Unknown),
            ("X [mm]", Axis::X, mm),
            ("y (µm)", Axis::Y, um),
            ("x / mm", Axis::X, mm),
            ("x/µm", Axis::X, um),
            ("pos_x", Axis::X, Unit::Unknown),
            ("PosY", Axis::Y, Unit::Unknown),
            ("xpos", Axis::X, Unit::Unknown),
            ("x_mm", Axis::X, mm),
            ("Y position (mm)", Axis::Y, mm),
            ("Stage X [um]", Axis::X, um),
            ("Spalte", Axis::X, Unit::Pixels),
            ("Zeile", Axis::Y, Unit::Pixels),
            ("col", Axis::X, Unit::Pixels),
            ("row", Axis::Y, Unit::Pixels),
            ("x index", Axis::X, Unit::Pixels),
            ("x [px]", Axis::X, Unit::Pixels),
            ("Pixel X", Axis::X, Unit::Pixels),
        ];
        for (title, axis, unit) in cases {
            assert_eq!(position(title), Some((axis, unit)), "{title}");
        }
        for title in ["", "x0", "Y K", "Y-Ka", "Cu K", "x ray", "time", "xy", "index", "x/y", "mm", "maxx"] {
            assert_eq!(position(title), None, "{title}");
        }
    }

    #[test]
    fn places_are_pairs() {
        let titles = |names: &[&str]| Titles {
            names: names.iter().map(|n| (*n).to_owned()).collect(),
            units: Vec::new(),
        };
        let pair = |names: &[&str]| {
            titles(names).places().first().map(|places| (places.x.map(|x| x.0), places.y.map(|y| y.0)))
        };
        assert_eq!(pair(&["x", "y", "Cu K"]), Some((Some(0), Some(1))));
        assert_eq!(pair(&["Cu", "row", "col"]), Some((Some(2), Some(1))));
        assert_eq!(pair(&["X", "Y", "y", "Cu"]), Some((Some(0), Some(1))));
        assert_eq!(pair(&["x", "Y", "y", "Cu"]), Some((Some(0), Some(2))));
        assert_eq!(pair(&["col", "row", "x [mm]", "y [mm]", "Cu"]), Some((Some(2), Some(3))));
        assert_eq!(pair(&["x [mm]", "Cu K", "Fe K"]), Some((Some(0), None)));
        assert_eq!(pair(&["x", "y"]), None);
        assert_eq!(pair(&["x0", "x1", "x2"]), None);
        assert_eq!(pair(&["y", "0", "1", "2"]), None);
    }
}
