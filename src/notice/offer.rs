//! What may be done about a sign of trouble.

use super::{Lines, Other, Patch, Turn};

/// A change that the user may accept; each is one call of the page.
#[derive(Debug, Clone, PartialEq)]
pub enum Offer {
    /// Declare this stored number as "no data".
    FillValue(f64),
    /// Leave these parts out as blank.
    BlankAreas(Vec<Patch>),
    /// State this kind, by its word.
    Kind(&'static str),
    /// Lay the map another way.
    Turn(Turn),
    /// Lay the map's upper left corner on this pixel of the grid; negative: its first lines lie outside.
    Place {
        /// Column.
        x: i64,
        /// Row.
        y: i64,
    },
    /// Use this part of the map only.
    Crop(Patch),
    /// Declare these lines as blank.
    BlankLines {
        /// Rows or columns.
        lines: Lines,
        /// Their numbers.
        numbers: Vec<u32>,
    },
    /// Move every second row back by this many pixels (to the left where positive).
    ShiftRows {
        /// As in [`Sign::LineShift`].
        pixels: f64,
    },
    /// Make a region of each side of a line, as in [`Sign::Seam`].
    Sides {
        /// Columns for an upright line, rows for a level one.
        lines: Lines,
        /// Where it meets the upper (left) border.
        from: f64,
        /// Where it meets the opposite one.
        to: f64,
    },
    /// Take the map for the sum of others.
    Sum,
    /// Take the map for the fit error of another.
    ErrorMap {
        /// The other.
        of: Other,
    },
}
