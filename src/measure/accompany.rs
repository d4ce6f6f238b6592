//! How much of A accompanies B: the factor k of A's signal to B's where B is detected.

use super::background::FEWEST_PIXELS;
use super::{Level, Signal, are_counts, net_sum};
use crate::numerics::counting::{Interval, ratio_interval};
use crate::numerics::order;

/// A's signal for each unit of B's, where A is taken to accompany B.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accompaniment {
    /// Best value, not below 0.
    pub k: f64,
    /// 95 % interval from counting alone; just k where the maps hold no counts or it was stated.
    pub counting: Interval,
    /// Lower end with the band for thickness, dilution and cover.
    pub k_low: f64,
    /// Upper end with the band.
    pub k_high: f64,
    /// Pixels it rests on; 0 where it was stated.
    pub pixels: u64,
    /// Whether these are pixels where both are detected; else it is only what could hide.
    pub is_of_both: bool,
}

impl Accompaniment {
    /// A factor that the caller knows, with the band.
    pub fn stated(k: f64, band: f64) -> Self {
        let (k_low, k_high) = (k / (1.0 + band), k * (1.0 + band));
        Self { k, counting: Interval { low: k, high: k }, k_low, k_high, pixels: 0, is_of_both: true }
    }
}

/// A pixel this many standard deviations from the median ratio is left out.
const APART: f64 = 3.0;

/// Estimates k where A and B are both detected: the ratio of the sums over the pixels within three standard deviations
/// of the median ratio (over all of them, if fewer than 30 are that near). It is the share that A has where it
/// accompanies B; B in another material without A does not lower it. With fewer than 30 such pixels, A hardly ever
/// accompanies B, and k is what could still hide: the ratio of the sums where B is detected and A is not.
/// `None` with fewer than 30 pixels of that sort too.
///
/// The interval is of counting alone: Garwood's for both sums, the uncertainty of the mean backgrounds added to its
/// arms, the quotient by [`ratio_interval`].
pub fn accompaniment(a: &Signal, b: &Signal, at: (&Level, &Level), band: f64) -> Option<Accompaniment> {
    let with_b = (0..a.values.data().len())
        .filter_map(|i| Some((a.valid(i)?, b.valid(i).filter(|&v| v >= at.1.critical)?)));
    let (both, hidden): (Vec<_>, Vec<_>) = with_b.partition(|(a, _)| *a >= at.0.critical);
    let is_of_both = both.len() >= FEWEST_PIXELS;
    let kept = if is_of_both { near_the_median(both, at)? } else { hidden };
    if kept.len() < FEWEST_PIXELS {
        return None;
    }
    let pixels = kept.len() as u64;
    let (raw_a, raw_b) = kept.iter().fold((0.0, 0.0), |(x, y), (a, b)| (x + a, y + b));
    let (x, y) = (net_sum(raw_a, pixels, at.0, 0.0), net_sum(raw_b, pixels, at.1, 0.0));
    if y.value <= 0.0 {
        return None;
    }
    let k = (x.value / y.value).max(0.0);
    let counting = if are_counts(a, b) {
        let interval = ratio_interval(x, y)?;
        Interval { low: interval.low.max(0.0), high: interval.high.max(0.0) }
    } else {
        Interval { low: k, high: k }
    };
    Some(Accompaniment {
        k,
        counting,
        k_low: counting.low / (1.0 + band),
        k_high: counting.high * (1.0 + band),
        pixels,
        is_of_both,
    })
}

fn near_the_median(both: Vec<(f64, f64)>, at: (&Level, &Level)) -> Option<Vec<(f64, f64)>> {
    let net = |(a, b): (f64, f64)| (a - at.0.background, b - at.1.background);
    let mut ratios: Vec<f64> = both.iter().map(|&pixel| net(pixel)).map(|(a, b)| a / b).collect();
    order::sort(&mut ratios);
    let k = order::quantile(&ratios, 0.5)?;
    let is_near = |pixel: &(f64, f64)| {
        let (a, b) = net(*pixel);
        let variance = at.0.variance + k * b + k * k * (b + at.1.variance);
        (a - k * b).abs() < APART * variance.max(f64::MIN_POSITIVE).sqrt()
    };
    let near: Vec<_> = both.iter().copied().filter(is_near).collect();
    Some(if near.len() >= FEWEST_PIXELS { near } else { both })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::*;

    #[test]
    fn a_fixed_share_is_found_beside_pixels_of_a_alone() {
        // B of 100 over background 2 with A a quarter of it; ten pixels hold much more A.
        let a: Vec<f64> = (0..100).map(|i| if i < 10 { 90.0 } else { 26.0 }).collect();
        let b = vec![102.0; 100];
        let found =
            accompaniment(&counts(10, 10, a), &counts(10, 10, b), (&stated(1.0), &stated(2.0)), 0.2).unwrap();
        assert_eq!((found.k, found.pixels), (0.25, 90));
        assert!(found.counting.low < 0.25 && found.counting.high > 0.25);
        assert!((found.k_high - found.counting.high * 1.2).abs() < 1e-12);
    }

    #[test]
    fn few_pixels_of_b_give_no_factor() {
        let a = counts(10, 10, vec![5.0; 100]);
        let b = counts(10, 10, (0..100).map(|i| if i < 29 { 200.0 } else { 1.0 }).collect());
        assert_eq!(accompaniment(&a, &b, (&stated(1.0), &stated(2.0)), 0.2), None);
    }

    #[test]
    fn b_in_a_second_material_without_a_does_not_lower_the_share() {
        // Sixty pixels of an ink with B alone, forty of an earth with a quarter of A.
        let a: Vec<f64> = (0..100).map(|i| if i < 60 { 1.0 } else { 26.0 }).collect();
        let found = |a: Vec<f64>| {
            let b = counts(10, 10, vec![102.0; 100]);
            accompaniment(&counts(10, 10, a), &b, (&stated(1.0), &stated(2.0)), 0.2).unwrap()
        };
        assert_eq!((found(a.clone()).k, found(a).pixels), (0.25, 40));
        // Where A is never detected with B, the factor is what could hide.
        let nowhere = found(vec![1.0; 100]);
        assert!(nowhere.k == 0.0 && nowhere.k_high > 0.0 && nowhere.k_high < 0.01, "{nowhere:?}");
    }
}
