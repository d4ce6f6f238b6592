//! Alignment: from matching points, or found from the pictures themselves, to a transform with its errors.
//! Knows no study and no page.

mod fit;
mod outline;
pub mod search;

pub use fit::{Fitted, MOST_PAIRS, Model, SETTING_PX, Side, Trouble, direct_homography, fit};
pub use outline::{edge, outline};

use crate::geometry::Point;

/// Two places that are one: in what is aligned and on the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pair {
    /// In pixels of what is aligned.
    pub from: Point,
    /// In pixels of the grid.
    pub to: Point,
}
