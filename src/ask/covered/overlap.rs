//! What overlaps do to a pair of lines.

use super::judge::Pair;
use crate::ask::evidence::Side;
use crate::grid::Mask;
use crate::measure::Level;
use crate::numerics::counting::Interval;

/// What overlaps could give at most of a map's signal in a region.
pub fn overlap_share(side: &Side, level: &Level, mask: &Mask) -> f64 {
    let inside = mask.data().iter().enumerate().filter(|(_, inside)| **inside).map(|(i, _)| i);
    let (mut most, mut net) = (0.0, 0.0);
    for i in inside {
        if let Some(value) = side.signal.anywhere(i) {
            most += side.signal.overlap_at(i);
            net += value - level.background;
        }
    }
    match (most > 0.0, net > 0.0) {
        (false, _) => 0.0,
        (true, true) => most / net,
        (true, false) => f64::INFINITY,
    }
}

/// Opens the intervals to what overlaps could give of the softer line: in the region it is then weaker than it looks, in the bare one
/// it was.
pub fn widen(pair: &mut Pair, soft: &Side, (here, bare): (&Mask, &Mask)) {
    let Ok(level) = &soft.level else { return };
    let [here, bare] = [here, bare].map(|mask| overlap_share(soft, level, mask).clamp(0.0, 1.0));
    let open = |i: Interval| Interval {
        low: if i.low > 0.0 { i.low * (1.0 - here) } else { i.low },
        high: if bare < 1.0 { i.high / (1.0 - bare) } else { f64::INFINITY },
    };
    if let Some((_, all)) = &mut pair.weakened {
        all.interval = open(all.interval);
    }
    if let Some(left) = &mut pair.soft_left {
        left.interval = open(left.interval);
    }
}
