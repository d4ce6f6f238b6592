//! The class of a pixel when two maps are compared. Imports nothing of this crate.

/// What is known of two elements in a pixel; the number is what the raster `classes` holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Class {
    /// No data in A or B.
    Blank = 0,
    /// Neither is detected.
    Neither = 1,
    /// A is detected, B is not.
    AOnly = 2,
    /// B is detected, A is not.
    BOnly = 3,
    /// Both are detected.
    Both = 4,
    /// Saturated, at a rim, or the other would not have been seen.
    CannotBeJudged = 5,
}

impl Class {
    /// How many there are.
    pub const COUNT: usize = 6;
}
