//! Two sums of counts, each over its own exposure. These know counting noise only: quote them beside the spread.

use crate::numerics::counting::{Bounded, Interval, exact_ratio};
use crate::numerics::math::{exp, ln, ln_gamma};
use crate::numerics::special::{gamma_p_q, normal_tail};

/// Ratio of two rates, `a.0 / a.1` over `b.0 / b.1` with counts first and exposures (pixels times dwell) second, and its
/// exact interval at level `1 - alpha`: Clopper and Pearson's for the share of `a` among all counts. `None` for an exposure
/// not above 0, a negative count, or no counts at all. A `b` without counts has the ratio infinity.
pub fn rate_ratio(a: (f64, f64), b: (f64, f64), alpha: f64) -> Option<Bounded> {
    if !usable(a) || !usable(b) || a.0 + b.0 <= 0.0 {
        return None;
    }
    let scale = b.1 / a.1;
    let Interval { low, high } = exact_ratio(a.0, b.0, alpha);
    Some(Bounded { value: a.0 / b.0 * scale, interval: Interval { low: low * scale, high: high * scale } })
}

fn usable((count, exposure): (f64, f64)) -> bool {
    count >= 0.0 && count.is_finite() && exposure > 0.0 && exposure.is_finite()
}

/// The E-test of two Poisson means.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MeansTest {
    /// Difference of the rates over its estimated standard deviation.
    pub statistic: f64,
    /// Two-sided chance of a statistic as large where the rates are the same.
    pub p: f64,
}

/// Counts from which the statistic is taken for normally distributed: its p differs by less than 0.5 % of itself there.
const NORMAL_FROM: f64 = 1e6;
/// Half the width, in standard deviations, of the range of counts that is summed over: beyond lies less than 1e-17.
const REACH: f64 = 9.0;

/// Whether two Poisson rates differ, from counts over exposures as in [`rate_ratio`] (K. Krishnamoorthy and J. Thomson,
/// J. Stat. Plan. Inference 119 (2004) 23, from memory; scipy's `poisson_means_test`). Exact for the estimated common rate.
/// `None` for an exposure not above 0 or a negative count; without any count the statistic is 0 and p is 1.
///
/// The cost grows with the root of the counts; above a million of them the normal distribution stands in.
pub fn poisson_means_test(a: (f64, f64), b: (f64, f64)) -> Option<MeansTest> {
    if !usable(a) || !usable(b) {
        return None;
    }
    let total = a.0 + b.0;
    if total <= 0.0 {
        return Some(MeansTest { statistic: 0.0, p: 1.0 });
    }
    let statistic = pivot(a, b);
    let size = statistic.abs();
    if total > NORMAL_FROM {
        return Some(MeansTest { statistic, p: 2.0 * normal_tail(size) });
    }
    let rate = total / (a.1 + b.1);
    let (mean_a, mean_b) = (rate * a.1, rate * b.1);
    let reach = |mean: f64| REACH * mean.sqrt() + 40.0;
    let first = (mean_a - reach(mean_a)).max(0.0).floor() as u64;
    let last = (mean_a + reach(mean_a)).ceil() as u64;
    // For a count x of the first, the statistic falls with the count y of the second: it is large enough up to y < `low`
    // and negative enough from y >= `high` on. Both bounds grow with x.
    let (mut low, mut high) = (0u64, 0u64);
    let is_large = |x: u64, y: u64| pivot((x as f64, a.1), (y as f64, b.1)) >= size;
    let is_small = |x: u64, y: u64| pivot((x as f64, a.1), (y as f64, b.1)) <= -size;
    let furthest = (mean_b + reach(mean_b)).ceil() as u64;
    let mut p = 0.0;
    for x in first..=last {
        while low <= furthest && is_large(x, low) {
            low += 1;
        }
        while high <= furthest && !is_small(x, high) {
            high += 1;
        }
        let up_to = if low == 0 { 0.0 } else { gamma_p_q(low as f64, mean_b).1 };
        let from = match high {
            0 => 1.0,
            _ => gamma_p_q(high as f64, mean_b).0,
        };
        // Where the statistic is 0 both sides hold everything.
        p += poisson(x, mean_a) * (up_to + from).min(1.0);
    }
    Some(MeansTest { statistic, p: p.min(1.0) })
}

/// Difference of two rates over its estimated standard deviation; 0 without counts.
fn pivot(a: (f64, f64), b: (f64, f64)) -> f64 {
    let (rate_a, rate_b) = (a.0 / a.1, b.0 / b.1);
    let variance = rate_a / a.1 + rate_b / b.1;
    if variance > 0.0 { (rate_a - rate_b) / variance.sqrt() } else { 0.0 }
}

fn poisson(x: u64, mean: f64) -> f64 {
    let x = x as f64;
    exp(x * ln(mean) - mean - ln_gamma(x + 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_compared() {
        assert_eq!(rate_ratio((0.0, 10.0), (0.0, 10.0), 0.05), None);
        assert_eq!(rate_ratio((1.0, 0.0), (2.0, 10.0), 0.05), None);
        assert_eq!(poisson_means_test((-1.0, 1.0), (2.0, 1.0)), None);
        assert_eq!(poisson_means_test((0.0, 1.0), (0.0, 1.0)).unwrap().p, 1.0);
        let no_counts = rate_ratio((3.0, 10.0), (0.0, 10.0), 0.05).unwrap();
        assert!(no_counts.value.is_infinite() && no_counts.interval.low > 0.0);
    }

    #[test]
    fn equal_rates_have_p_one() {
        let found = poisson_means_test((20.0, 100.0), (40.0, 200.0)).unwrap();
        assert!(found.statistic == 0.0 && (found.p - 1.0).abs() < 1e-12, "{found:?}");
    }

    #[test]
    fn the_step_to_the_normal_distribution_is_small() {
        let below = poisson_means_test((499_000.0, 1.0), (501_000.0, 1.0)).unwrap();
        let above = poisson_means_test((499_001.0, 1.0), (501_001.0, 1.0)).unwrap();
        assert!((below.p / above.p - 1.0).abs() < 0.005, "{below:?} {above:?}");
    }
}
