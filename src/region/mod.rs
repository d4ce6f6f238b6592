//! Regions: named sets of pixels with a role, each remembering which maps made it. Shapes, values, colours of a photo and other regions as masks;
//! masks as text and as PNG. Knows no question and no page.

mod combine;
mod likeness;
mod patches;
mod png;
mod runs;
mod shape;
mod values;

pub use combine::{How, combined, enlarged, shrunk};
pub use likeness::{Lab, Likeness, is_clipped, typical_colour};
pub use patches::Patches;
pub use png::{png_of, png_with_step};
pub use runs::{mask_of_runs, runs_of};
pub use shape::{Place, Rectangle, polygon, rectangle, turned_place, turned_rectangle};
pub use values::{between, classes};

use crate::element::Element;
use crate::geometry::Area;
use crate::grid::Mask;
use crate::stack::MapId;

/// What a region is to the object.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum RegionRole {
    /// A part that is asked about.
    #[default]
    Passage,
    /// Beside the object.
    OffTheObject,
    /// The support without ground or paint.
    BareSupport,
    /// The ground without paint.
    Ground,
    /// What others are held against, as the user chose it.
    Reference,
}

impl RegionRole {
    /// Every role, in the order in which they are offered.
    pub const ALL: [Self; 5] =
        [Self::Passage, Self::OffTheObject, Self::BareSupport, Self::Ground, Self::Reference];

    /// The word used in records, in calls and on screen.
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

    /// Whether a background may be taken from it unasked. Beside the object the matrix is another.
    pub fn gives_background(self) -> bool {
        matches!(self, Self::Reference | Self::BareSupport | Self::Ground)
    }
}

/// A region as questions use it.
#[derive(Debug, Clone, PartialEq)]
pub struct Region {
    /// Its id in this study ("r1").
    pub id: String,
    /// What the user calls it (untrusted text).
    pub name: String,
    /// What it is to the object.
    pub role: RegionRole,
    /// The maps whose values made it, and the maps that these were made of; empty for a drawn one. On all of these it is
    /// described and not tested.
    pub makers: Vec<MapId>,
    /// The one element that the user takes its strong lines for ("in the border, taken as lead only"): what other lines count
    /// there is then overlap. `None` for most.
    pub pure: Option<Element>,
    /// What every answer about it must say of how it was made; empty for most.
    pub caution: String,
    /// Its pixels, of the size of the grid, as the maps lie now.
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
