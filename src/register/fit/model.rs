//! What is assumed of an alignment: how much the picture may be turned, stretched and warped.

/// Which rule takes places of the picture to places of the grid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Model {
    /// Turned, scaled alike in all directions, shifted; never mirrored. Four numbers.
    Similarity,
    /// Also stretched and sheared; parallel lines stay parallel. Six numbers.
    Affine,
    /// A plane seen aslant; straight lines stay straight. Eight numbers.
    Homography,
    /// A cockled or warped support: every point is met exactly, and between points each triangle goes its own way.
    Piecewise,
}

impl Model {
    /// All of them, the stiffest first.
    pub const ALL: [Self; 4] = [Self::Similarity, Self::Affine, Self::Homography, Self::Piecewise];

    /// The word in calls and records.
    pub fn word(self) -> &'static str {
        match self {
            Self::Similarity => "similarity",
            Self::Affine => "affine",
            Self::Homography => "homography",
            Self::Piecewise => "piecewise",
        }
    }

    /// The model of a word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|model| model.word() == word)
    }

    /// The fewest pairs that it can be fitted to.
    pub fn fewest(self) -> usize {
        match self {
            Self::Similarity => 2,
            Self::Affine => 3,
            Self::Homography => 4,
            Self::Piecewise => 10,
        }
    }

    /// The model for so many pairs if nothing more is known: a plane seen aslant only from eight pairs on, since eight
    /// numbers leave too little of fewer to see an error by. Warps are never suggested: the user must know of them.
    pub fn suggested(pairs: usize) -> Self {
        match pairs {
            0..=2 => Self::Similarity,
            3..=7 => Self::Affine,
            _ => Self::Homography,
        }
    }
}
