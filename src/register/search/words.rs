//! What is said of a search.

use std::fmt;

/// Why nothing is offered.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Refusal {
    /// Photo or maps cannot be searched with.
    Unfit(String),
    /// The colours tell nothing of the maps.
    NoLink(f64),
    /// Turned or mirrored the photo fits much better.
    OtherSide { side: usize, there: f64, here: f64 },
    /// Other places are as good.
    NotAlone { best: f64, other: f64 },
    /// Halves of the maps lead to different places.
    HalvesDisagree(Option<f64>),
    /// As good to one side.
    Flat { found: f64, beside: f64 },
    /// The start was as good.
    NoBetter { found: f64, start: f64 },
}

/// How the photo was laid, for each side of `SIDES`.
const LAID: [&str; 8] = [
    "as it is",
    "mirrored from left to right",
    "mirrored from top to bottom",
    "turned upside down",
    "turned by a quarter",
    "turned by a quarter and mirrored",
    "turned by a quarter and mirrored",
    "turned by a quarter",
];

impl fmt::Display for Refusal {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Not found: ")?;
        match self {
            Self::Unfit(why) => write!(f, "{why}."),
            Self::NoLink(measure) => {
                write!(
                    f,
                    "the colours of the photo tell nothing of the maps anywhere ({measure:.2} nats a pixel)."
                )
            }
            Self::OtherSide { side, there, here } => write!(
                f,
                "{} the photo fits far better ({there:.2} nats a pixel against {here:.2}). Lay it so and look again.",
                LAID[*side]
            ),
            Self::NotAlone { best, other } => write!(
                f,
                "the best place ({best:.2} nats a pixel) does not stand out from others, the photo mirrored or upside down \
                 among them ({other:.2}). The photo may not show what was scanned, or its scale, turn or place lies beyond \
                 what was tried."
            ),
            Self::HalvesDisagree(Some(px)) => write!(
                f,
                "half of the maps by themselves fit better elsewhere, {px:.0} pixels away. Lay it by matching points."
            ),
            Self::HalvesDisagree(None) => {
                write!(f, "half of the maps by themselves fit nowhere. Lay it by matching points.")
            }
            Self::Flat { found, beside } => write!(
                f,
                "one pixel aside the photo fits as well ({beside:.2} nats a pixel against {found:.2}), as with stripes."
            ),
            Self::NoBetter { found, start } => write!(
                f,
                "nothing better than where it lies now ({found:.2} nats a pixel against {start:.2})."
            ),
        }
    }
}

/// The sentence of a place that passed; `apart`: how far from it the halves of the maps have their best places, in pixels.
pub(super) fn accepted(found: f64, start: f64, (best, other): (f64, f64), apart: f64, side: usize) -> String {
    let laid = if side == 0 { String::new() } else { format!(", the photo {}", LAID[side]) };
    format!(
        "Found{laid}: colours and maps agree by {found:.2} here and by {start:.2} before (what the colours tell of the maps, in nats a pixel); \
         on smaller pictures by {best:.2} here and by at most {other:.2} anywhere else, also mirrored or upside down; each \
         half of the maps by itself fits best here, within {apart:.1} pixels. Check it at places you know."
    )
}
