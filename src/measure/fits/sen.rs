//! The Theil-Sen line: the median of the slopes of all pairs.

use super::{Line, is_usable};
use crate::numerics::order;
use crate::numerics::special::normal_tail_inverse;

/// The line with the 95 % interval of its slope.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TheilSen {
    /// Slope, and the offset: median of A less slope times median of B.
    pub line: Line,
    /// Lower end of the interval of the slope; NaN where ties leave no variance.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Pixels it rests on.
    pub pixels: usize,
}

/// More pixels than this are thinned, since the cost grows with their square.
const MOST_PIXELS: usize = 3000;

/// Median slope over all pairs with different B, and its interval from the ranks of Kendall's test. Above 3000 pixels
/// only every so many is used (a fixed choice, no chance), at most 3000.
///
/// Source: P. K. Sen, J. Am. Stat. Assoc. 63 (1968) 1379, equation 2.6 for the variance with ties, as scipy's
/// `theilslopes` has it.
pub fn theil_sen(a: &[f64], b: &[f64]) -> Option<TheilSen> {
    if !is_usable(a, b) {
        return None;
    }
    let every = a.len().div_ceil(MOST_PIXELS);
    let thin = |all: &[f64]| -> Vec<f64> { all.iter().copied().step_by(every).collect() };
    let (a, b) = (thin(a), thin(b));
    let mut slopes = Vec::new();
    for i in 0..b.len() {
        for j in 0..i {
            let run = b[i] - b[j];
            if run.abs() > 0.0 {
                slopes.push((a[i] - a[j]) / run);
            }
        }
    }
    order::sort(&mut slopes);
    let k = order::quantile(&slopes, 0.5)?;
    let median = |values: &[f64]| {
        let mut sorted = values.to_vec();
        order::sort(&mut sorted);
        order::quantile(&sorted, 0.5)
    };
    let line = Line { b: median(&a)? - k * median(&b)?, k };
    let n = a.len() as f64;
    let variance = (n * (n - 1.0) * (2.0 * n + 5.0) - ties(&b) - ties(&a)) / 18.0;
    let arm = normal_tail_inverse(0.025) * variance.max(0.0).sqrt();
    let total = slopes.len() as f64;
    let last = slopes.len() - 1;
    let rank = |place: f64| (place.round_ties_even().max(0.0) as usize).min(last);
    // Ranks from 1 at the lower end and from 0 at the upper end, as the source counts them.
    let low = slopes[rank(((total - arm) / 2.0).round_ties_even() - 1.0)];
    let high = slopes[rank((total + arm) / 2.0)];
    let (low, high) = if variance > 0.0 { (low, high) } else { (f64::NAN, f64::NAN) };
    Some(TheilSen { line, low, high, pixels: a.len() })
}

/// Σ t (t - 1)(2t + 5) over the groups of equal values.
fn ties(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    order::sort(&mut sorted);
    let groups = sorted.chunk_by(|one, other| one == other);
    groups.map(|group| group.len() as f64).map(|t| t * (t - 1.0) * (2.0 * t + 5.0)).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_wild_pixel_does_not_move_the_line_and_many_are_thinned() {
        let b: Vec<f64> = (0..7001).map(f64::from).collect();
        let mut a: Vec<f64> = b.iter().map(|b| 1.0 + 2.0 * b).collect();
        a[3] = 1e9;
        let found = theil_sen(&a, &b).unwrap();
        assert!((found.line.k - 2.0).abs() < 1e-9 && found.pixels == 2334, "{found:?}");
    }
}
