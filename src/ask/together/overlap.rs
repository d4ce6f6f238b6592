//! Whether what two maps have in common, or not, may be lines of other elements.

use crate::ask::pair::Pair;
use crate::ask::verdict::{CANNOT, TOGETHER};

/// Overlaps that could give more than this share of a map make a pattern of their own.
const MOST_OVERLAP: f64 = 0.1;
/// And more than this could hide one.
const MOST_HIDDEN: f64 = 0.5;

/// Why a common pattern, or none, may be one of overlaps.
pub(super) fn overlap(pair: &Pair<'_>, verdict: &str, keep: impl Fn(usize) -> bool) -> Option<String> {
    let most = match verdict {
        TOGETHER => MOST_OVERLAP,
        CANNOT => return None,
        _ => MOST_HIDDEN,
    };
    let shares = [pair.a, pair.b].map(|side| (side, side.overlap_share(&keep)));
    let (side, share) = shares.into_iter().find(|(_, share)| *share > most)?;
    Some(side.overlap_reason(share, ""))
}
