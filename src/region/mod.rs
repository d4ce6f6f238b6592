//! Regions: named sets of pixels with a role, each remembering which maps made it.

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
    /// The maps whose values made it; empty for a drawn one. On these it is described and not tested.
    pub makers: Vec<MapId>,
    /// Its pixels, of the size of the grid, as the maps lie now.
    pub mask: Mask,
}
