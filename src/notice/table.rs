//! What can be found in a file of delimited text, each with its wording.

use super::Severity;
use std::fmt;

/// One thing about a table of text. Titles and fields in it are untrusted text.
#[derive(Debug, Clone, PartialEq)]
pub enum TableFinding {
    /// Two lines give a value to one pixel.
    DuplicatePixel {
        /// Number of the earlier line, from 1.
        first: u64,
        /// Number of the later line.
        second: u64,
    },
    /// Positions that fit no grid of pixels.
    NoGrid {
        /// What does not fit, as the end of a sentence.
        what: String,
    },
    /// More columns than can be meant as maps.
    TooManyColumns {
        /// Columns with values.
        columns: u64,
        /// The most that are read.
        limit: u64,
    },
    /// No line with a position, or no column of values beside the positions.
    NoValues,
    /// Positions read, and which way they run in the map.
    Direction {
        /// What the column for x is called.
        x: String,
        /// What the column for y is called.
        y: String,
    },
    /// The columns have no titles and were taken in the usual order.
    FirstColumnIsX,
    /// Positions that lie beside the grid.
    Jitter {
        /// The largest distance, in percent of a step.
        percent: u32,
    },
    /// Pixels of the grid that no line names.
    MissingPixels {
        /// How many.
        missing: u64,
        /// Pixels of the grid.
        of: u64,
    },
    /// Positions without a unit.
    NoUnit {
        /// Distance of neighbours in x, in that unit.
        x: f64,
        /// The same in y.
        y: f64,
    },
    /// The last line ends early.
    CutLine {
        /// Its number, from 1.
        line: u64,
        /// Values in it.
        found: u64,
        /// Values in the lines before.
        expected: u64,
    },
    /// The first line or column holds positions and was left out of the map.
    AxesLeftOut {
        /// The first line was.
        row: bool,
        /// The first column was.
        column: bool,
        /// The positions in the first column fall, so that y points upward.
        is_y_upward: bool,
    },
    /// Every number has three digits behind its only mark: read as decimals, though it could group thousands.
    ThreeDigits {
        /// The mark.
        mark: char,
    },
    /// The first column counts the lines and has no title.
    RunningNumber,
    /// Columns with words in every line.
    TextColumns {
        /// Their titles.
        titles: Vec<String>,
    },
    /// Columns without any value at the right end.
    EmptyColumns {
        /// How many.
        columns: u64,
    },
}

impl TableFinding {
    /// How much it matters.
    pub fn severity(&self) -> Severity {
        match self {
            TableFinding::DuplicatePixel { .. }
            | TableFinding::NoGrid { .. }
            | TableFinding::TooManyColumns { .. }
            | TableFinding::NoValues => Severity::Error,
            TableFinding::FirstColumnIsX
            | TableFinding::Jitter { .. }
            | TableFinding::MissingPixels { .. }
            | TableFinding::CutLine { .. } => Severity::Warning,
            _ => Severity::Info,
        }
    }

    /// A stable word for programs.
    pub fn code(&self) -> &'static str {
        match self {
            TableFinding::DuplicatePixel { .. } => "duplicate_pixel",
            TableFinding::NoGrid { .. } => "no_grid",
            TableFinding::TooManyColumns { .. } => "too_many_columns",
            TableFinding::NoValues => "no_values",
            TableFinding::Direction { .. } => "direction_of_y",
            TableFinding::FirstColumnIsX => "first_column_is_x",
            TableFinding::Jitter { .. } => "jitter",
            TableFinding::MissingPixels { .. } => "missing_pixels",
            TableFinding::NoUnit { .. } => "no_unit",
            TableFinding::CutLine { .. } => "cut_line",
            TableFinding::AxesLeftOut { .. } => "axes_left_out",
            TableFinding::ThreeDigits { .. } => "three_digits",
            TableFinding::RunningNumber => "running_number",
            TableFinding::TextColumns { .. } => "text_columns",
            TableFinding::EmptyColumns { .. } => "empty_columns",
        }
    }
}

impl fmt::Display for TableFinding {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            TableFinding::DuplicatePixel { first, second } => {
                write!(f, "Lines {first} and {second} give values to the same pixel. Remove one of them.")
            }
            TableFinding::NoGrid { what } => write!(
                f,
                "The positions make no grid of pixels: {what}. Export the map with evenly spaced positions or as a matrix."
            ),
            TableFinding::TooManyColumns { columns, limit } => write!(
                f,
                "The table has {columns} columns of values; at most {limit} are read as maps. Leave out columns that are not needed."
            ),
            TableFinding::NoValues => {
                write!(f, "No line of the table holds a value beside its positions. Export the table again.")
            }
            TableFinding::Direction { x, y } => write!(
                f,
                "Placed by “{x}” to the right and “{y}” downward, each from its smallest number on. The file does not say which way is up; mirror the maps if they stand on their head."
            ),
            TableFinding::FirstColumnIsX => write!(
                f,
                "The columns have no titles; the first was taken as x and the second as y. Check that the map does not lie on its side."
            ),
            TableFinding::Jitter { percent } => write!(
                f,
                "Positions lie up to {percent} % of a step beside an even grid; each value was put into the nearest pixel. Check fine detail."
            ),
            TableFinding::MissingPixels { missing, of } => {
                write!(f, "{missing} of {of} pixels are not in the file; they stay blank.")
            }
            TableFinding::NoUnit { x, y } => write!(
                f,
                "Neighbouring pixels are {x} apart in x and {y} in y, in a unit that the file does not state. State the step of the scan."
            ),
            TableFinding::CutLine { line, found, expected } => write!(
                f,
                "The last line ({line}) ends after {found} of {expected} values; what is not whole stays blank. Check whether the scan was broken off."
            ),
            TableFinding::AxesLeftOut { row, column, is_y_upward } => {
                let what = match (row, column) {
                    (true, true) => "first line and the first column hold positions and were",
                    (true, false) => "first line holds positions and was",
                    _ => "first column holds positions and was",
                };
                write!(f, "The {what} left out of the map.")?;
                if *is_y_upward {
                    write!(f, " The numbers in the first column fall; the lines were kept in their order.")?;
                }
                Ok(())
            }
            TableFinding::ThreeDigits { mark } => write!(
                f,
                "Every number has three digits after its “{mark}”; they were read as decimals. If the mark groups thousands, write the numbers without it."
            ),
            TableFinding::RunningNumber => {
                write!(f, "The first column counts the lines and was left out.")
            }
            TableFinding::TextColumns { titles } => write!(
                f,
                "Columns that hold words were left out: {}.",
                titles.iter().map(|title| format!("“{title}”")).collect::<Vec<_>>().join(", ")
            ),
            TableFinding::EmptyColumns { columns } => {
                write!(f, "{columns} columns without any value at the right end were left out.")
            }
        }
    }
}
