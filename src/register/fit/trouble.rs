//! Why points give no alignment, with the wording.

use super::{MOST_PAIRS, Model};
use std::fmt;

/// Where points lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// In the picture that is aligned.
    From,
    /// On the map.
    To,
}

impl Side {
    fn words(self) -> &'static str {
        match self {
            Self::From => "in the picture",
            Self::To => "on the map",
        }
    }
}

/// Why there is no alignment. Points are counted from 0 here and from 1 in the sentence.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Trouble {
    /// A coordinate is no number, or beyond any picture.
    NotFinite {
        /// Which pair.
        point: usize,
    },
    /// The model needs more pairs.
    TooFew {
        /// The model.
        model: Model,
        /// How many pairs there are.
        pairs: usize,
    },
    /// More pairs than are ever set by hand.
    TooMany {
        /// How many pairs there are.
        pairs: usize,
    },
    /// Two of the points are one.
    SamePlace {
        /// The earlier of the two.
        first: usize,
        /// The later of the two.
        second: usize,
        /// Where they fall together.
        side: Side,
    },
    /// All points lie on one line, or so nearly that nothing is known across it.
    OnALine {
        /// Where.
        side: Side,
    },
    /// The points agree only if the picture is mirrored.
    Mirrored,
    /// A view aslant needs four points of which no three lie on a line.
    ThreeOnALine,
    /// The points ask for a view so far aslant that its horizon crosses the picture.
    Horizon,
    /// The picture would be folded between these points: they lie round each other otherwise than on the map.
    Folded {
        /// The points of the folded triangles, ascending.
        points: Vec<usize>,
    },
    /// The computation came to no end. No set of points is known that does this.
    NoResult,
}

impl fmt::Display for Trouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFinite { point } => {
                write!(f, "Point {} has no place that is a number; remove it.", point + 1)
            }
            Self::TooFew { model, pairs } => {
                let needed = model.fewest();
                let what = match model {
                    Model::Similarity => "A similarity",
                    Model::Affine => "An affine alignment",
                    Model::Homography => "A view aslant (homography)",
                    Model::Piecewise => "A piecewise alignment",
                };
                let missing = needed - pairs.min(&needed);
                let points = if missing == 1 { "point" } else { "points" };
                write!(f, "{what} needs {needed} matching points: set {missing} more {points}.")
            }
            Self::TooMany { pairs } => {
                write!(
                    f,
                    "{pairs} matching points are more than are used at once; keep {MOST_PAIRS} at most."
                )
            }
            Self::SamePlace { first, second, side } => write!(
                f,
                "Points {} and {} lie at the same place {}; move or remove one of them.",
                first + 1,
                second + 1,
                side.words()
            ),
            Self::OnALine { side } => write!(
                f,
                "The points lie on one line {}, or nearly, so that nothing is known across it; \
                 set one well beside it.",
                side.words()
            ),
            Self::Mirrored => f.write_str(
                "The points agree only if the picture is mirrored; mirror it first, or check the points.",
            ),
            Self::ThreeOnALine => f.write_str(
                "A view aslant (homography) needs four points of which no three lie on one line, or nearly; \
                 set one more, or take an affine alignment.",
            ),
            Self::Horizon => f.write_str(
                "The points ask for a view so far aslant that the picture has no end; \
                 check the points, or take an affine alignment.",
            ),
            Self::Folded { points } => write!(
                f,
                "The picture would be folded at {}: they lie round each other otherwise than on the map; \
                 check them.",
                named(points)
            ),
            Self::NoResult => {
                f.write_str("The points gave no alignment; check them, or take a simpler kind of alignment.")
            }
        }
    }
}

/// `points 3, 7 and 9`; of many, the first six.
fn named(points: &[usize]) -> String {
    let numbers: Vec<String> = points.iter().take(6).map(|point| (point + 1).to_string()).collect();
    let more = points.len() - numbers.len();
    match (numbers.as_slice(), more) {
        ([], _) => "the points".into(),
        ([one], 0) => format!("point {one}"),
        ([before @ .., last], 0) => format!("points {} and {last}", before.join(", ")),
        (all, more) => format!("points {} and {more} more", all.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_trouble_says_what_to_do() {
        let cases = [
            (
                Trouble::TooFew { model: Model::Affine, pairs: 2 },
                "needs 3 matching points: set 1 more point.",
            ),
            (
                Trouble::TooFew { model: Model::Piecewise, pairs: 2 },
                "needs 10 matching points: set 8 more points.",
            ),
            (
                Trouble::SamePlace { first: 2, second: 4, side: Side::To },
                "Points 3 and 5 lie at the same place on the map",
            ),
            (Trouble::Folded { points: vec![0, 1, 8] }, "folded at points 1, 2 and 9: they"),
            (
                Trouble::Folded { points: (0..9).collect() },
                "folded at points 1, 2, 3, 4, 5, 6 and 3 more: they",
            ),
        ];
        for (trouble, want) in cases {
            let text = trouble.to_string();
            assert!(text.contains(want), "{text}");
        }
    }
}
