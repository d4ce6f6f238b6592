//! Regions: named sets of pixels. What a region is; shapes, values and other regions as masks; masks as text and as PNG.
//! Knows no question and no page.

mod combine;
mod png;
mod runs;
mod shape;
mod values;

pub use combine::{How, combined, enlarged, shrunk};
pub use png::png_of;
pub use runs::{mask_of_runs, runs_of};
pub use shape::{Place, Rectangle, polygon, rectangle, turned_place, turned_rectangle};
pub use values::{between, classes};

use crate::geometry::Area;
use crate::grid::Mask;
use crate::stack::MapId;

/// What a region is in the picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum RegionRole {
    /// A part of the painting.
    #[default]
    Passage,
    /// Beside the object: air, the stage of the scanner.
    OffTheObject,
    /// Canvas, wood, paper without paint.
    BareSupport,
    /// Ground without paint on it.
    Ground,
    /// Chosen to compare with.
    Reference,
}

impl RegionRole {
    /// All of them.
    pub const ALL: [Self; 5] =
        [Self::Passage, Self::OffTheObject, Self::BareSupport, Self::Ground, Self::Reference];

    /// As it is written.
    pub fn word(self) -> &'static str {
        match self {
            Self::Passage => "passage",
            Self::OffTheObject => "off the object",
            Self::BareSupport => "bare support",
            Self::Ground => "ground",
            Self::Reference => "reference",
        }
    }

    /// By its word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// A named set of pixels.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// "r1", "r2", ...
    pub id: String,
    /// What the user calls it (untrusted text).
    pub name: String,
    /// What it is.
    pub role: RegionRole,
    /// The maps that made it, and those that these were made of: on them it is described, not tested. Empty for a region
    /// that was drawn or handed in.
    pub makers: Vec<MapId>,
    /// Its pixels.
    pub mask: Mask,
}

/// Pixels inside.
pub fn pixels(mask: &Mask) -> u64 {
    mask.data().iter().map(|&inside| u64::from(inside)).sum()
}

/// The smallest rectangle of whole pixels around the pixels inside; `None` without any.
pub fn bounds(mask: &Mask) -> Option<Area> {
    let mut found: Option<(u32, u32, u32, u32)> = None;
    for (y, row) in mask.rows().enumerate() {
        let Some(first) = row.iter().position(|&inside| inside) else { continue };
        let last = row.iter().rposition(|&inside| inside).unwrap_or(first);
        let (first, last, y) = (first as u32, last as u32, y as u32);
        found = Some(match found {
            None => (first, y, last, y),
            Some((left, top, right, _)) => (left.min(first), top, right.max(last), y),
        });
    }
    found.map(|(left, top, right, lower)| Area {
        x: left,
        y: top,
        width: right - left + 1,
        height: lower - top + 1,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn roles_are_known_by_their_word() {
        assert!(RegionRole::ALL.iter().all(|role| RegionRole::from_word(role.word()) == Some(*role)));
        assert_eq!((RegionRole::from_word("sky"), RegionRole::default()), (None, RegionRole::Passage));
    }

    #[test]
    fn the_rectangle_around_the_pixels_inside() {
        let mut mask = Mask::try_filled(4, 3, false).unwrap();
        assert_eq!((pixels(&mask), bounds(&mask)), (0, None));
        for i in [2, 5] {
            mask.data_mut()[i] = true;
        }
        assert_eq!((pixels(&mask), bounds(&mask)), (2, Some(Area { x: 1, y: 0, width: 2, height: 2 })));
        assert_eq!(bounds(&Mask::try_filled(0, 0, false).unwrap()), None);
    }
}
