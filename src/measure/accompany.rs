//! How much of A accompanies B: the factor k of A's signal to B's where B is detected.

use super::background::FEWEST_PIXELS;
use super::{Level, Signal, Z_95};
use crate::numerics::counting::{Bounded, Interval, garwood, ratio_interval};

/// A's signal for each unit of B's, where A is taken to accompany B.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accompaniment {
    /// Best value, not below 0.
    pub k: f64,
    /// 95 % interval from counting alone.
    pub counting: Interval,
    /// Lower end with the band for thickness, dilution and cover.
    pub k_low: f64,
    /// Upper end with the band.
    pub k_high: f64,
    /// Pixels it rests on; 0 where it was stated.
    pub pixels: u64,
}

impl Accompaniment {
    /// A factor that the caller knows, with the band.
    pub fn stated(k: f64, band: f64) -> Self {
        let (k_low, k_high) = (k / (1.0 + band), k * (1.0 + band));
        Self { k, counting: Interval { low: k, high: k }, k_low, k_high, pixels: 0 }
    }
}

const MOST_ROUNDS: usize = 50;
/// A pixel with this many standard deviations too much A is taken out as A's own.
const OWN: f64 = 3.0;

/// Estimates k over the pixels where B is detected: ratio of sums, leaving out pixels that hold more A than accompanies
/// B, until the set stays the same. `None` with fewer than 30 such pixels.
///
/// The interval is of counting alone: Garwood's for both sums, the uncertainty of the mean backgrounds added to its
/// arms, the quotient by [`ratio_interval`].
pub fn accompaniment(a: &Signal, b: &Signal, at: (&Level, &Level), band: f64) -> Option<Accompaniment> {
    let used: Vec<(f64, f64)> = (0..a.values.data().len())
        .filter_map(|i| Some((a.valid(i)?, b.valid(i).filter(|&v| v >= at.1.critical)?)))
        .collect();
    let mut kept = used.clone();
    let mut k = factor(&kept, at)?;
    for _ in 0..MOST_ROUNDS {
        let next: Vec<(f64, f64)> = used
            .iter()
            .copied()
            .filter(|&(a, b)| {
                let (own, with) = (a - at.0.background, b - at.1.background);
                let variance = at.0.variance + k * with + k * k * (with + at.1.variance);
                own - k * with < OWN * variance.max(f64::MIN_POSITIVE).sqrt()
            })
            .collect();
        let is_same = next.len() == kept.len();
        kept = next;
        k = factor(&kept, at)?;
        if is_same {
            break;
        }
    }
    let net = |raw: f64, level: &Level| {
        let n = kept.len() as f64;
        let interval = garwood(raw, 0.05);
        let off = n * level.background;
        let plain = Bounded {
            value: raw - off,
            interval: Interval { low: interval.low - off, high: interval.high - off },
        };
        plain.widened(Z_95 * level.pixels.map_or(0.0, |m| n * (level.background / m as f64).sqrt()))
    };
    let (raw_a, raw_b) = kept.iter().fold((0.0, 0.0), |(x, y), (a, b)| (x + a, y + b));
    let counting = ratio_interval(net(raw_a, at.0), net(raw_b, at.1))?;
    let (low, high) = (counting.low.max(0.0), counting.high.max(0.0));
    Some(Accompaniment {
        k,
        counting,
        k_low: low / (1.0 + band),
        k_high: high * (1.0 + band),
        pixels: kept.len() as u64,
    })
}

fn factor(kept: &[(f64, f64)], at: (&Level, &Level)) -> Option<f64> {
    if kept.len() < FEWEST_PIXELS {
        return None;
    }
    let (a, b) =
        kept.iter().fold((0.0, 0.0), |(x, y), (a, b)| (x + (a - at.0.background), y + (b - at.1.background)));
    (b > 0.0).then(|| (a / b).max(0.0))
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
}
