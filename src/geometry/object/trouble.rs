//! Why marks give no edges, with the wording.

use super::Corner;
use core::fmt;

/// What is wrong with the marks of an object.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ObjectTrouble {
    /// A mark has no place.
    NotFinite,
    /// A mark along an edge lies almost at the corner.
    TooNear {
        /// The edge: "upper", "lower", "left" or "right".
        edge: &'static str,
    },
    /// The two edges run almost alike.
    Parallel,
    /// The edges don't leave the corner as its name says.
    OtherCorner {
        /// The corner that was named.
        corner: Corner,
    },
}

impl fmt::Display for ObjectTrouble {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotFinite => {
                f.write_str("A mark of the object has no place that is a number; set it again.")
            }
            Self::TooNear { edge } => write!(
                f,
                "The mark along the {edge} edge lies almost at the corner; set it as far along the edge as can be seen."
            ),
            Self::Parallel => f.write_str(
                "The two edges of the object run almost alike; set one mark along its upper or lower edge \
                 and one along its left or right edge.",
            ),
            Self::OtherCorner { corner } => {
                let (across, down) = match corner {
                    Corner::UpperLeft => ("right", "down"),
                    Corner::UpperRight => ("left", "down"),
                    Corner::LowerRight => ("left", "up"),
                    Corner::LowerLeft => ("right", "up"),
                };
                write!(
                    f,
                    "From the {} corner the edges run to the {across} and {down}; these marks lie otherwise. \
                     Name the other corner, or exchange the marks.",
                    corner.words()
                )
            }
        }
    }
}
