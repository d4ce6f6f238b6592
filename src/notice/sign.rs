//! Signs of trouble in the numbers of a map, and what may be done about each: [`Sign`] says what is seen, what it would
//! mean and what to do; [`Offer`] is the change that the user may accept. Nothing here is ever done unasked.

use super::{Offer, Severity};
use std::fmt;

/// A rectangle of whole pixels of a map, as `geometry::Area` (this module imports nothing).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it all
pub struct Patch {
    pub x: u32,
    pub y: u32,
    pub width: u32,
    pub height: u32,
}

/// How a map must be laid to lie as the others do: mirrored left to right first (if `mirror`), then turned clockwise by
/// `quarter_turns` (0 to 3) quarters.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // said above
pub struct Turn {
    pub quarter_turns: u8,
    pub mirror: bool,
}

impl Turn {
    /// As it is.
    pub const NONE: Turn = Turn { quarter_turns: 0, mirror: false };

    /// All eight ways, as it is first.
    pub const ALL: [Turn; 8] = [
        Turn { quarter_turns: 0, mirror: false },
        Turn { quarter_turns: 1, mirror: false },
        Turn { quarter_turns: 2, mirror: false },
        Turn { quarter_turns: 3, mirror: false },
        Turn { quarter_turns: 0, mirror: true },
        Turn { quarter_turns: 1, mirror: true },
        Turn { quarter_turns: 2, mirror: true },
        Turn { quarter_turns: 3, mirror: true },
    ];

    /// True where width and height change places.
    pub fn swaps_sides(self) -> bool {
        self.quarter_turns % 2 == 1
    }

    /// What to do, in words: "mirror it left to right", "turn it by half a turn".
    pub fn in_words(self) -> &'static str {
        match (self.quarter_turns % 4, self.mirror) {
            (0, false) => "leave it as it is",
            (1, false) => "turn it a quarter clockwise",
            (2, false) => "turn it by half a turn",
            (3, false) => "turn it a quarter anticlockwise",
            (0, true) => "mirror it left to right",
            (1, true) => "swap its rows and columns, counted from the other corner",
            (2, true) => "mirror it top to bottom",
            (_, true) => "swap its rows and columns",
            (_, false) => "leave it as it is",
        }
    }
}

/// Another map that a sign speaks of.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Other {
    /// Its id.
    pub id: String,
    /// What the user calls it (untrusted text).
    pub label: String,
}

/// How larger counts were brought to smaller steps in an export.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Curve {
    /// Steps as of a logarithm.
    Logarithmic,
    /// Steps as of a square root.
    SquareRoot,
    /// Steps as of this power, below 1.
    Power(f64),
}

impl fmt::Display for Curve {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Curve::Logarithmic => write!(f, "a logarithm"),
            Curve::SquareRoot => write!(f, "a square root"),
            Curve::Power(power) => write!(f, "a power of about {power:.2} (a gamma curve)"),
        }
    }
}

/// Rows or columns.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it all
pub enum Lines {
    Rows,
    Columns,
}

/// What is seen in the numbers of a map or a stack. `Display` says what is seen, what it would mean and what to do.
/// Rows and columns are numbered from 0 here and from 1 in sentences.
#[derive(Debug, Clone, PartialEq)]
pub enum Sign {
    /// One number that stands apart from all others: "no data".
    FillValue {
        /// As stored.
        value: f64,
        /// Pixels that hold it.
        pixels: u64,
    },
    /// A border of one number, the same in every map looked at.
    Margin {
        /// The border, without overlaps.
        patches: Vec<Patch>,
        /// The number is 0 in every map, which counting can give too.
        is_zero: bool,
        /// Maps that show it.
        maps: u64,
    },
    /// Letters or a bar drawn into the picture.
    BurntIn {
        /// Around what was drawn.
        patches: Vec<Patch>,
        /// Maps with exactly the same drawing; 1 is weak evidence.
        maps: u64,
    },
    /// The steps between values shrink towards the bright end.
    Curved {
        /// What fits the steps.
        curve: Curve,
    },
    /// Values between populated ones never occur: the numbers were spread by a factor.
    Stretched {
        /// Mean step between neighbouring values.
        step: f64,
    },
    /// Many pixels hold exactly the largest value, which is no limit of the type.
    Clipped {
        /// The largest value.
        value: f64,
        /// Pixels that hold it.
        pixels: u64,
    },
    /// Every map of the stack ends at the same full value of its type.
    CommonMaximum {
        /// 255 or 65535.
        value: f64,
        /// Maps that end there.
        maps: u64,
    },
    /// Lines of one number between lines with data.
    DroppedLines {
        /// Rows or columns.
        lines: Lines,
        /// Their numbers, ascending.
        numbers: Vec<u32>,
    },
    /// Lines that are exact copies of the line before.
    RepeatedLines {
        /// Rows or columns.
        lines: Lines,
        /// Their numbers, ascending.
        numbers: Vec<u32>,
    },
    /// Every pixel stands several times: enlarged by copying.
    Enlarged {
        /// Times across.
        across: u32,
        /// Times down.
        down: u32,
    },
    /// From one row on nothing changes any more, in every map.
    Aborted {
        /// First row without data, or the last one where the empty part is at the top.
        row: u32,
        /// The empty part is at the top.
        at_top: bool,
        /// Column at which the last measured row ends, where that is seen.
        column: Option<u32>,
        /// The part without data.
        patches: Vec<Patch>,
    },
    /// A few lines more or less than the stack has.
    LineCount {
        /// Columns more than the stack (negative: fewer).
        columns: i64,
        /// Rows more than the stack (negative: fewer).
        rows: i64,
        /// Where its upper left corner lies on the grid, where the numbers decide it.
        place: Option<(i64, i64)>,
    },
    /// A part of the grid.
    Cropped {
        /// Column of its upper left corner on the grid.
        x: u32,
        /// Row of the same.
        y: u32,
        /// The map that it was laid on.
        like: Other,
    },
    /// As large as the stack once its constant border is taken off.
    Padded {
        /// The part with data.
        inside: Patch,
    },
    /// Width and height have changed places against the stack.
    SidesSwapped {
        /// How it lies as the others do, where the numbers decide it.
        turn: Option<Turn>,
    },
    /// Lies like another map only if it is turned or mirrored.
    Turned {
        /// How.
        turn: Turn,
        /// The map that it then looks like.
        like: Other,
        /// Nothing says which of the two lies wrong.
        is_either: bool,
    },
    /// Several pixels of the grid in one.
    Binned {
        /// Pixels of the grid across.
        across: u32,
        /// Pixels of the grid down.
        down: u32,
    },
    /// Every second row lies beside its neighbours.
    LineShift {
        /// Pixels by which rows 2, 4, 6 ... (counted from 1) lie to the right of the others; negative: to the left.
        pixels: f64,
        /// Standard error from independent bands of rows.
        error: f64,
    },
    /// A straight line right across the maps, at which all of them change by one factor.
    Seam {
        /// Columns for an upright line, rows for a level one.
        lines: Lines,
        /// Where it meets the upper border (the left one of a level line), in pixels from the corner.
        from: f64,
        /// Where it meets the opposite border.
        to: f64,
        /// Brightness to the right of it (below a level line) over that to the left (above).
        factor: f64,
        /// Standard error of the factor.
        error: f64,
        /// Maps looked at.
        maps: u64,
    },
    /// Neighbours differ less than counting allows, along a straight line of variance against mean.
    Smoothed {
        /// Variance over mean of neighbouring pixels.
        gain: f64,
        /// Pixels two apart differ more than neighbours: smoothed. Otherwise the numbers may only be scaled down.
        is_correlated: bool,
    },
    /// Holds the same numbers as another map.
    SameAs {
        /// The other.
        other: Other,
    },
    /// Is the sum of other maps.
    SumOf {
        /// The parts.
        others: Vec<Other>,
        /// To the last digit, on every pixel looked at.
        is_exact: bool,
    },
    /// Follows another map pixel by pixel and grows as its square root.
    RootOf {
        /// The other.
        other: Other,
    },
}

impl Sign {
    /// How much it matters. Never an error: a sign changes nothing.
    pub fn severity(&self) -> Severity {
        match self {
            Sign::Margin { is_zero: true, .. }
            | Sign::Aborted { column: None, .. }
            | Sign::BurntIn { maps: 0 | 1, .. }
            | Sign::SumOf { .. }
            | Sign::RootOf { .. }
            | Sign::Binned { .. }
            | Sign::Smoothed { is_correlated: false, .. } => Severity::Info,
            _ => Severity::Warning,
        }
    }

    /// A stable word for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Sign::FillValue { .. } => "fill_value",
            Sign::Margin { .. } => "margin",
            Sign::BurntIn { .. } => "burnt_in",
            Sign::Curved { .. } => "curved",
            Sign::Stretched { .. } => "stretched",
            Sign::Clipped { .. } => "clipped",
            Sign::CommonMaximum { .. } => "common_maximum",
            Sign::DroppedLines { .. } => "dropped_lines",
            Sign::RepeatedLines { .. } => "repeated_lines",
            Sign::Enlarged { .. } => "enlarged",
            Sign::Aborted { .. } => "aborted",
            Sign::LineCount { .. } => "line_count",
            Sign::Cropped { .. } => "cropped",
            Sign::Padded { .. } => "padded",
            Sign::SidesSwapped { .. } => "sides_swapped",
            Sign::Turned { .. } => "turned",
            Sign::Binned { .. } => "binned",
            Sign::LineShift { .. } => "line_shift",
            Sign::Seam { .. } => "seam",
            Sign::Smoothed { .. } => "smoothed",
            Sign::SameAs { .. } => "same_as",
            Sign::SumOf { .. } => "sum_of",
            Sign::RootOf { .. } => "root_of",
        }
    }

    /// True where it says how a map of another size lies on the others.
    pub fn is_about_size(&self) -> bool {
        matches!(
            self,
            Sign::LineCount { .. }
                | Sign::Padded { .. }
                | Sign::Cropped { .. }
                | Sign::SidesSwapped { .. }
                | Sign::Binned { .. }
        )
    }

    /// The change that could be made; `None` where there is nothing to do or nothing decides what.
    pub fn offer(&self) -> Option<Offer> {
        match self {
            Sign::FillValue { value, .. } => Some(Offer::FillValue(*value)),
            Sign::Margin { patches, .. } | Sign::BurntIn { patches, .. } | Sign::Aborted { patches, .. } => {
                Some(Offer::BlankAreas(patches.clone()))
            }
            Sign::Curved { .. }
            | Sign::Stretched { .. }
            | Sign::Clipped { .. }
            | Sign::CommonMaximum { .. } => Some(Offer::Kind("display copy")),
            Sign::Smoothed { is_correlated, .. } => is_correlated.then_some(Offer::Kind("display copy")),
            Sign::DroppedLines { lines, numbers } | Sign::RepeatedLines { lines, numbers } => {
                Some(Offer::BlankLines { lines: *lines, numbers: numbers.clone() })
            }
            Sign::LineCount { place, .. } => place.map(|(x, y)| Offer::Place { x, y }),
            Sign::Cropped { x, y, .. } => Some(Offer::Place { x: i64::from(*x), y: i64::from(*y) }),
            Sign::Padded { inside } => Some(Offer::Crop(*inside)),
            Sign::SidesSwapped { turn } => turn.map(Offer::Turn),
            Sign::Turned { turn, .. } => Some(Offer::Turn(*turn)),
            Sign::LineShift { pixels, .. } => Some(Offer::ShiftRows { pixels: *pixels }),
            Sign::SumOf { .. } => Some(Offer::Sum),
            Sign::RootOf { other } => Some(Offer::ErrorMap { of: other.clone() }),
            Sign::Seam { lines, from, to, .. } => Some(Offer::Sides { lines: *lines, from: *from, to: *to }),
            Sign::Enlarged { .. } | Sign::Binned { .. } | Sign::SameAs { .. } => None,
        }
    }
}
