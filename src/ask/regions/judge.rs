//! Which regions differ in which maps.

use super::part::{Described, Part, floor_of, part};
use crate::ask::Progress;
use crate::ask::evidence::{Asked, Evidence, Side};
use crate::ask::verdict::{CANNOT, DETECTED, DIFFER, NO_DIFFERENCE};
use crate::ask::words;
use crate::grid::Mask;
use crate::measure::compare::{Step, Welch, mann_whitney, patchy_difference, profile, student_quantile};
use crate::measure::{Rules, Z_95};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::counting::{Bounded, Interval, ratio_interval};

/// Chance that an answer says *differ* of regions of one pattern, shared among all that is tested.
pub const ALPHA: f64 = 0.05;
/// Up to so many regions every pair is compared; of more, the first with each other one.
const MOST_FOR_PAIRS: usize = 4;
/// Regions that share more than this part of the smaller one are not compared; shared pixels are left out of both.
const MOST_SHARED: f64 = 0.1;
/// The same in a trial: neighbours that are grown by a pixel share the seam.
const MOST_SHARED_GROWN: f64 = 0.5;

/// Everything that is found.
pub struct Judged {
    /// One for each map, in their order.
    pub maps: Vec<OfMap>,
    /// How many differences were tested.
    pub tested: u32,
    pub verdict: &'static str,
    /// Steps along the line, for each map; empty without a line.
    pub profiles: Vec<Vec<Step>>,
}

/// A map in all regions.
pub struct OfMap {
    /// One for each region, or one for the whole field.
    pub parts: Vec<Part>,
    pub pairs: Vec<Pair>,
    pub verdict: &'static str,
}

/// Two regions in a map.
pub struct Pair {
    /// Places of the regions in their list.
    pub a: usize,
    pub b: usize,
    /// Mean of the first less that of the second; `None` where one has no pixels.
    pub difference: Option<f64>,
    pub counting: Option<Interval>,
    /// For other places of the same patterns, with the floor, and for all comparisons of the answer at once.
    pub all: Option<Interval>,
    /// Signal above background of the first over that of the second, where the second is detected.
    pub ratio: Option<f64>,
    pub ratio_counting: Option<Interval>,
    pub ratio_all: Option<Interval>,
    /// Cliff's delta.
    pub delta: Option<f64>,
    /// Chance of such a difference, not corrected for the number of comparisons.
    pub p: Option<f64>,
    /// The difference that would have been seen in 95 of 100 cases.
    pub would_be_seen: Option<f64>,
    pub verdict: &'static str,
    /// Why it cannot be judged.
    pub reason: String,
    /// The test, until the number of comparisons is known.
    welch: Option<Welch>,
}

/// Judges all maps and regions.
pub fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Judged, Fault> {
    let rules = evidence.rules();
    let whole = match evidence.sides.first().filter(|_| evidence.regions.is_empty()) {
        Some(side) => {
            let (width, height) = (side.signal.values.width(), side.signal.values.height());
            Some(Mask::try_filled(width, height, true)?)
        }
        None => None,
    };
    let regions: Vec<(Option<&Asked>, &Mask)> = match &whole {
        Some(mask) => vec![(None, mask)],
        None => evidence.regions.iter().filter_map(|r| Some((Some(r), r.mask.as_ref()?))).collect(),
    };
    let most = if evidence.is_trial() { MOST_SHARED_GROWN } else { MOST_SHARED };
    let shared =
        pairs(regions.len()).into_iter().map(|(a, b)| shared((regions[a].1, regions[b].1), (a, b), most));
    let shared = shared.collect::<Result<Vec<_>, _>>()?;
    let mut maps = Vec::new();
    for (i, side) in evidence.sides.iter().enumerate() {
        progress(i as f64 / evidence.sides.len() as f64, &side.label());
        let mut parts = Vec::new();
        for &(asked, mask) in &regions {
            parts.push(part(evidence, side, (asked, mask))?);
        }
        let mut found = Vec::new();
        for shared in &shared {
            found.push(match &shared.left {
                None => compare(side, (&parts[shared.a], &parts[shared.b]), shared, &rules),
                Some((a, b)) => {
                    let of = |i: usize, mask| part(evidence, side, (regions[i].0, mask));
                    let two = (of(shared.a, a)?, of(shared.b, b)?);
                    compare(side, (&two.0, &two.1), shared, &rules)
                }
            });
        }
        let parts = parts.into_iter().map(|(part, _)| part).collect();
        maps.push(OfMap { parts, pairs: found, verdict: CANNOT });
    }
    let tested = maps.iter().flat_map(|map| &map.pairs).filter(|pair| pair.welch.is_some()).count() as u32;
    for map in &mut maps {
        for pair in &mut map.pairs {
            let means = [pair.a, pair.b].map(|i| map.parts.get(i).and_then(Part::mean));
            let larger = means.into_iter().flatten().fold(f64::NEG_INFINITY, f64::max);
            close(pair, tested, larger);
            let higher = if pair.difference.is_some_and(|d| d > 0.0) { pair.a } else { pair.b };
            let overlap = map.parts.get(higher).map_or(0.0, |part| part.overlap);
            if pair.verdict == DIFFER
                && pair.all.is_some_and(|all| all.low.abs().min(all.high.abs()) <= overlap)
            {
                pair.verdict = CANNOT;
                pair.reason = "lines of other elements could make the difference".into();
            }
        }
        map.verdict = of_all(map.pairs.iter().map(|pair| pair.verdict));
    }
    let mut profiles = Vec::new();
    if let Some(line) = evidence.settings.line.filter(|_| !evidence.is_trial()) {
        for side in &evidence.sides {
            profiles.push(profile(&side.signal.values, &side.signal.saturated, &super::band(&line))?);
        }
    }
    let mut verdict = of_all(maps.iter().map(|map| map.verdict));
    // A map that could not be judged may differ as much as it likes.
    if verdict == NO_DIFFERENCE && maps.iter().any(|map| map.verdict == CANNOT) {
        verdict = CANNOT;
    }
    Ok(Judged { maps, tested, verdict, profiles })
}

/// *differ* where one does, else *no difference seen* where one was tested.
fn of_all(verdicts: impl Iterator<Item = &'static str>) -> &'static str {
    verdicts.fold(CANNOT, |all, one| match (all, one) {
        (DIFFER, _) | (_, DIFFER) => DIFFER,
        (NO_DIFFERENCE, _) | (_, NO_DIFFERENCE) => NO_DIFFERENCE,
        _ => CANNOT,
    })
}

/// Which regions are compared.
fn pairs(regions: usize) -> Vec<(usize, usize)> {
    let firsts = if regions > MOST_FOR_PAIRS { 1 } else { regions };
    (0..firsts).flat_map(|a| (a + 1..regions).map(move |b| (a, b))).collect()
}

/// Two regions that are compared, and what they have in common.
struct Shared {
    a: usize,
    b: usize,
    pixels: u64,
    is_too_much: bool,
    /// Both without what they share; `None` where they share nothing or too much.
    left: Option<(Mask, Mask)>,
}

fn shared((a, b): (&Mask, &Mask), at: (usize, usize), most: f64) -> Result<Shared, OutOfMemory> {
    let count = |mask: &Mask| mask.data().iter().filter(|&&inside| inside).count() as u64;
    let both = a.data().iter().zip(b.data()).filter(|(a, b)| **a && **b).count() as u64;
    let is_too_much = both as f64 > most * count(a).min(count(b)) as f64;
    let mut out = Shared { a: at.0, b: at.1, pixels: both, is_too_much, left: None };
    if both > 0 && !is_too_much {
        let without = |one: &Mask, other: &Mask| -> Result<Mask, OutOfMemory> {
            let mut left = Mask::try_filled(one.width(), one.height(), false)?;
            for (i, mark) in left.data_mut().iter_mut().enumerate() {
                *mark = one.data()[i] && !other.data()[i];
            }
            Ok(left)
        };
        out.left = Some((without(a, b)?, without(b, a)?));
    }
    Ok(out)
}

fn compare(
    side: &Side,
    ((a, in_a), (b, in_b)): (&Described, &Described),
    shared: &Shared,
    rules: &Rules,
) -> Pair {
    let difference = a.mean().zip(b.mean()).map(|(x, y)| x - y);
    let reason = if shared.is_too_much {
        format!("the regions share {}", words::counted(shared.pixels))
    } else {
        a.refused.clone().or_else(|| b.refused.clone()).unwrap_or_default()
    };
    let counting = a.counting.zip(b.counting).zip(a.mean().zip(b.mean())).map(|((of_a, of_b), (x, y))| {
        let arm = |p: f64, q: f64| (p * p + q * q).sqrt();
        Interval {
            low: x - y - arm(x - of_a.low, of_b.high - y),
            high: x - y + arm(of_a.high - x, y - of_b.low),
        }
    });
    let welch = a
        .patchy
        .zip(b.patchy)
        .filter(|_| reason.is_empty())
        .and_then(|(p, q)| patchy_difference(&p, &q, floor_of(side, rules, p.mean.min(q.mean))));
    let delta = mann_whitney(&mut in_a.clone(), &mut in_b.clone()).map(|ranks| ranks.delta);
    let (ratio, ratio_counting, ratio_all) = ratio(side, a, b);
    Pair {
        a: shared.a,
        b: shared.b,
        difference,
        counting,
        all: None,
        ratio,
        ratio_counting,
        ratio_all,
        delta,
        p: welch.map(|found| found.p),
        would_be_seen: None,
        verdict: CANNOT,
        reason,
        welch,
    }
}

/// Signal of the first over that of the second, with both intervals; nothing where the second is not detected.
fn ratio(side: &Side, a: &Part, b: &Part) -> (Option<f64>, Option<Interval>, Option<Interval>) {
    let Some(level) = side.level.as_ref().ok().filter(|_| b.state.word == DETECTED) else {
        return (None, None, None);
    };
    let off = level.background;
    let of_mean = level.pixels.map_or(0.0, |m| Z_95 * (level.variance / m as f64).sqrt());
    let net = |part: &Part, interval: Option<Interval>| {
        let Interval { low, high } = interval?;
        let interval = Interval { low: low - off, high: high - off };
        Some(Bounded { value: part.mean()? - off, interval }.widened(of_mean))
    };
    let value = a.mean().zip(b.mean()).map(|(x, y)| (x - off) / (y - off)).filter(|v| v.is_finite());
    let counting = net(a, a.counting).zip(net(b, b.counting)).and_then(|(x, y)| ratio_interval(x, y));
    let all = net(a, a.all).zip(net(b, b.all)).and_then(|(x, y)| ratio_interval(x, y));
    (value, counting, all)
}

/// The interval and the verdict, now that the number of comparisons is known.
fn close(pair: &mut Pair, tested: u32, larger_mean: f64) {
    let Some(found) = pair.welch else {
        if pair.reason.is_empty() {
            pair.reason = "one of the regions has no pixel that can be used".into();
        }
        return;
    };
    let alpha = ALPHA / f64::from(tested.max(1));
    let interval = found.interval(alpha);
    // A difference of this size is seen where chance takes away less than the one-sided 5 % quantile.
    let chance = student_quantile(0.1, found.freedom) * found.standard_error;
    let would_be_seen = 0.5 * (interval.high - interval.low) + chance;
    pair.would_be_seen = Some(would_be_seen);
    pair.all = Some(interval);
    pair.verdict = if found.p < alpha {
        DIFFER
    } else if larger_mean > 0.0 && would_be_seen > larger_mean {
        // All of one region could be missing from the other, and it would not be seen.
        pair.reason =
            "its pattern is so coarse that only a difference larger than either mean would have been seen"
                .into();
        CANNOT
    } else {
        NO_DIFFERENCE
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn up_to_four_regions_every_pair_is_compared_and_of_more_the_first_with_each() {
        assert_eq!(pairs(1), []);
        assert_eq!(pairs(3), [(0, 1), (0, 2), (1, 2)]);
        assert_eq!(pairs(4).len(), 6);
        assert_eq!(pairs(6), [(0, 1), (0, 2), (0, 3), (0, 4), (0, 5)]);
    }

    #[test]
    fn one_that_differs_is_enough_and_one_that_was_tested_says_more_than_none() {
        assert_eq!(of_all([CANNOT, NO_DIFFERENCE, DIFFER].into_iter()), DIFFER);
        assert_eq!(of_all([CANNOT, NO_DIFFERENCE].into_iter()), NO_DIFFERENCE);
        assert_eq!(of_all([].into_iter()), CANNOT);
    }
}
