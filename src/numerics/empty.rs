//! The background from counts of a part that should hold nothing but it.

use super::counting::{Interval, garwood};
use super::special::gamma_p_q;
use super::sums;

/// Fewer pixels than this carry no background (a convention of this program).
pub const FEWEST: usize = 30;

/// Mean of an empty part and whether it scatters as counts do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Empty {
    /// Pixels.
    pub pixels: u64,
    /// Counts in all of them.
    pub sum: f64,
    /// Mean of a pixel. The mean, because the median of few counts is a whole number and biased.
    pub mean: f64,
    /// 95 % interval of the mean from counting alone (Garwood on the sum).
    pub interval: Interval,
    /// Sum of squared deviations over the mean: chi squared with `pixels - 1` degrees of freedom for counts of one mean
    /// (R. A. Fisher's test of dispersion, common practice). 0 where no pixel counted anything.
    pub chi_squared: f64,
    /// That over its degrees of freedom: 1 for counts; above it there is structure or drift, below it smoothing or scaling.
    pub dispersion: f64,
    /// Chance of as much scatter or more by counting alone.
    pub p_more: f64,
    /// Chance of as little scatter or less.
    pub p_less: f64,
}

/// Looks at the counts of a part; NaN (blank) pixels are left out. `None` with fewer than 30 others, or a mean below 0
/// (then these are no counts).
pub fn empty(counts: &[f64]) -> Option<Empty> {
    let kept: Vec<f64> = counts.iter().copied().filter(|v| !v.is_nan()).collect();
    let sum = sums::sum(&kept);
    if kept.len() < FEWEST || !sum.is_finite() || sum < 0.0 {
        return None;
    }
    let n = kept.len() as f64;
    let mean = sum / n;
    let freedom = n - 1.0;
    let chi_squared = if mean > 0.0 { sums::squared_deviations(&kept, mean) / mean } else { 0.0 };
    let (p_less, p_more) = if mean > 0.0 { gamma_p_q(0.5 * freedom, 0.5 * chi_squared) } else { (1.0, 1.0) };
    let of_sum = garwood(sum, 0.05);
    Some(Empty {
        pixels: kept.len() as u64,
        sum,
        mean,
        interval: Interval { low: of_sum.low / n, high: of_sum.high / n },
        chi_squared,
        dispersion: if mean > 0.0 { chi_squared / freedom } else { 1.0 },
        p_more,
        p_less,
    })
}

/// The part of a dispersion above 1 that is beyond doubt: the lower end of its one-sided 95 % interval less 1, never below
/// 0. `dispersion` is [`Empty::dispersion`] of so many `pixels`; the interval is by the approximation of E. B. Wilson and
/// M. M. Hilferty (Proc. Natl. Acad. Sci. 17 (1931) 684, from memory) to chi squared, good to a per mille from 30 pixels
/// on.
pub fn surely_beyond(dispersion: f64, pixels: u64) -> f64 {
    let freedom = pixels as f64 - 1.0;
    if freedom < 1.0 || dispersion.is_nan() {
        return 0.0;
    }
    let part = 2.0 / (9.0 * freedom);
    let upper = 1.0 - part + 1.644_853_626_951_472_2 * part.sqrt();
    (dispersion / (upper * upper * upper) - 1.0).max(0.0)
}

#[cfg(test)]
mod tests {
    use super::super::special::gamma_q_inverse;
    use super::*;

    #[test]
    fn a_part_of_one_level_by_hand() {
        // Twenty of 3 and twenty of 5: mean 4, squared deviations 40, chi squared 10 with 39 degrees of freedom.
        let found = empty(&(0..40).map(|i| if i < 20 { 3.0 } else { 5.0 }).collect::<Vec<_>>()).unwrap();
        assert_eq!((found.mean, found.chi_squared, found.pixels), (4.0, 10.0, 40));
        assert!(found.p_less < 1e-6 && (found.p_less + found.p_more - 1.0).abs() < 1e-12);
        assert!((found.interval.low * 40.0 - garwood(160.0, 0.05).low).abs() < 1e-9);
    }

    #[test]
    fn too_few_or_no_counts_are_refused_and_an_empty_part_is_not_certain_to_be_empty() {
        assert_eq!(empty(&[1.0; 29]), None);
        assert_eq!(empty(&[f64::NAN; 100]), None);
        assert_eq!(empty(&[-1.0; 100]), None);
        let nothing = empty(&[0.0; 100]).unwrap();
        assert_eq!((nothing.mean, nothing.dispersion, nothing.p_more), (0.0, 1.0, 1.0));
        assert!((nothing.interval.high - 0.036_888_79).abs() < 1e-8);
    }

    #[test]
    fn what_is_surely_beyond_counting_by_chi_squared_itself() {
        for (dispersion, pixels) in [(1.6, 30u64), (1.2, 300), (1.05, 5000), (3.0, 64)] {
            let freedom = pixels as f64 - 1.0;
            let want = dispersion * freedom / (2.0 * gamma_q_inverse(0.5 * freedom, 0.05)) - 1.0;
            let got = surely_beyond(dispersion, pixels);
            assert!((got - want.max(0.0)).abs() < 1e-3, "{dispersion} of {pixels}: {got}, {want}");
        }
        assert_eq!(
            (surely_beyond(1.01, 100), surely_beyond(0.5, 100), surely_beyond(2.0, 1)),
            (0.0, 0.0, 0.0)
        );
    }
}
