//! How much of A accompanies B: the factor k of A's signal to B's, and how far it varies.

mod units;

pub(super) use units::sure_of_b;

use super::background::FEWEST_PIXELS;
use super::two::{Sums, Two};
use super::{net_sum, order_of};
use crate::grid::Mask;
use crate::notice::OutOfMemory;
use crate::numerics::counting::{Interval, ratio_interval};
use units::units;

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
    /// Whether A was seen in them; else it is only what could hide.
    pub is_of_both: bool,
    /// Pixels along a side of the blocks in which it was found (1, 2, 4 or 8); 0 where it was stated or could only hide.
    pub bin: u32,
    /// Standard deviation of the factor from place to place as a share of it, noise taken off; 0 where it is not seen.
    pub spread: f64,
    /// The largest factor seen: in the richest twentieth of the blocks, or where B is faint; at least `k_high`. What would
    /// accompany B in the material that holds most A.
    pub richest: f64,
}

impl Accompaniment {
    /// A factor that the caller knows, with the band.
    pub fn stated(k: f64, band: f64) -> Self {
        let (k_low, k_high) = (k / (1.0 + band), k * (1.0 + band));
        let counting = Interval { low: k, high: k };
        Self { k, counting, k_low, k_high, pixels: 0, is_of_both: true, bin: 0, spread: 0.0, richest: k_high }
    }
}

/// A block this many standard deviations beyond the band is another material.
const APART: f64 = 3.0;
/// Sides of the blocks, in pixels.
const SIDES: [u32; 4] = [1, 2, 4, 8];
const MOST_ROUNDS: usize = 20;

/// Estimates k over the pixels that surely hold B (detected, and their neighbours too: see `sure_of_b`), whatever their A, in
/// the smallest blocks (1, 2, 4, 8 pixels along a side) in which A would be seen.
///
/// A block counts where k times its B would be seen in A with chance 1 - beta and A is seen. So A is asked for only where
/// it can hardly fail to be seen if it is there: a faint A is not taken only from its lucky pixels, and B of a second
/// material without A does not lower k. The median ratio says which material is meant; blocks with less A than its band
/// allows are left out; then the ratio of sums is clipped from above beyond the band, again and again
/// (`fits::clipped_ratio` is the same rule without band, background and blocks).
///
/// Where no size of block gives 30 of them, k is what could hide: the ratio of the sums over all pixels sure of B. `None`
/// with fewer than 30 of these.
///
/// The interval is of counting alone: Garwood's for both sums, the uncertainty of the mean backgrounds added to its
/// arms, the quotient by [`ratio_interval`].
///
/// # Errors
/// No memory.
pub fn accompaniment(two: &Two<'_>, band: f64) -> Result<Option<Accompaniment>, OutOfMemory> {
    let sure = sure_of_b(two)?;
    for side in SIDES {
        let blocks = units(two, &sure, side)?;
        if blocks.len() < FEWEST_PIXELS {
            break;
        }
        if let Some(kept) = one_material(two, &blocks, band) {
            let found = finished(two, &kept, band, side);
            return Ok(match found {
                Some(found) => Some(with_variety(two, &sure, band, found)?),
                None => None,
            });
        }
    }
    let sum = |all: Sums, i: usize| two.one(i).filter(|_| sure.data()[i]).map_or(all, |one| all.and(one));
    let all = (0..two.len()).fold(Sums::default(), sum);
    Ok(if all.n < FEWEST_PIXELS as f64 { None } else { finished(two, &[all], band, 0) })
}

/// The blocks of one material in which A would be seen and is.
fn one_material(two: &Two<'_>, blocks: &[Sums], band: f64) -> Option<Vec<Sums>> {
    let seen: Vec<Sums> = blocks.iter().filter(|b| b.y > 0.0 && b.x >= two.critical(b)).copied().collect();
    let mut k = median_ratio(&seen)?;
    let mut kept: Vec<Sums> = Vec::new();
    for _ in 0..5 {
        kept = seen.iter().filter(|b| k * b.y >= two.limit(b)).copied().collect();
        if kept.len() < FEWEST_PIXELS {
            return None;
        }
        let next = median_ratio(&kept)?;
        if (next - k).abs() <= 1e-12 * k.abs() {
            break;
        }
        k = next;
    }
    // Where A is mostly seen in blocks too faint for it, it is seen by luck.
    if 2 * kept.len() < seen.len() {
        return None;
    }
    let arm = |b: &Sums, k: f64| APART * two.variance(b, k).max(f64::MIN_POSITIVE).sqrt();
    kept.retain(|b| b.x >= k / (1.0 + band) * b.y - arm(b, k));
    let is_under = |b: &Sums, k: f64| b.x - k * (1.0 + band) * b.y < arm(b, k);
    let mut inside: Vec<Sums> = kept.iter().filter(|b| is_under(b, k)).copied().collect();
    for _ in 0..MOST_ROUNDS {
        let all = inside.iter().copied().fold(Sums::default(), Sums::and);
        if all.y <= 0.0 {
            return None;
        }
        k = all.x / all.y;
        let next: Vec<Sums> = kept.iter().filter(|b| is_under(b, k)).copied().collect();
        if next == inside {
            break;
        }
        inside = next;
    }
    (inside.len() >= FEWEST_PIXELS).then_some(inside)
}

fn median_ratio(blocks: &[Sums]) -> Option<f64> {
    if blocks.len() < FEWEST_PIXELS {
        return None;
    }
    order_of(blocks.iter().map(|b| b.x / b.y), 0.5)
}

fn finished(two: &Two<'_>, kept: &[Sums], band: f64, bin: u32) -> Option<Accompaniment> {
    let all = kept.iter().copied().fold(Sums::default(), Sums::and);
    let pixels = all.n.round() as u64;
    let raw = |net: f64, background: f64| net + all.n * background;
    let x = net_sum(raw(all.x, two.at.0.background), pixels, two.at.0, 0.0);
    let y = net_sum(raw(all.y, two.at.1.background), pixels, two.at.1, 0.0);
    if y.value <= 0.0 {
        return None;
    }
    let k = (x.value / y.value).max(0.0);
    let counting = if two.are_counts() {
        let interval = ratio_interval(x, y)?;
        Interval { low: interval.low.max(0.0), high: interval.high.max(0.0) }
    } else {
        Interval { low: k, high: k }
    };
    let k_high = counting.high * (1.0 + band);
    Some(Accompaniment {
        k,
        counting,
        k_low: counting.low / (1.0 + band),
        k_high,
        pixels,
        is_of_both: bin > 0,
        bin,
        spread: 0.0,
        richest: k_high,
    })
}

/// Adds how far the factor varies, and the largest that is seen.
fn with_variety(
    two: &Two<'_>,
    sure: &Mask,
    band: f64,
    found: Accompaniment,
) -> Result<Accompaniment, OutOfMemory> {
    let k = found.k;
    let (mut spread, mut richest) = (0.0f64, found.k_high);
    for side in SIDES {
        let mut blocks = units(two, sure, side)?;
        if blocks.len() < FEWEST_PIXELS {
            break;
        }
        blocks.retain(|b| b.x >= two.critical(b) && k * b.y >= 2.0 * two.critical(b));
        if blocks.len() < FEWEST_PIXELS {
            continue;
        }
        let ratios: Vec<f64> = blocks.iter().map(|b| b.x / (k * b.y)).collect();
        let noises = blocks.iter().map(|b| two.variance(b, k).sqrt() / (k * b.y));
        let (Some(middle), Some(noise)) = (order_of(ratios.iter().copied(), 0.5), order_of(noises, 0.5))
        else {
            continue;
        };
        let Some(off) = order_of(ratios.iter().map(|r| (r - middle).abs()), 0.5) else { continue };
        let own = (MAD * off) * (MAD * off) - noise * noise;
        spread = spread.max(own.max(0.0).sqrt());
        if let Some(top) = order_of(ratios.iter().copied(), 0.95) {
            let by_noise = Z_OF_TWENTIETH * noise;
            let above = (top / middle - 1.0) * (top / middle - 1.0) - by_noise * by_noise;
            richest = richest.max(k * middle * (1.0 + above.max(0.0).sqrt()));
        }
    }
    let faint = units::at_faint_b(two, sure)?.map_or(0.0, |k| k * (1.0 + band));
    Ok(Accompaniment { spread, richest: richest.max(faint), ..found })
}

/// From the median distance to a standard deviation, for normal values.
const MAD: f64 = 1.482_602_218_505_602;
/// The standard deviations above which a twentieth of normal values lie.
const Z_OF_TWENTIETH: f64 = 1.644_853_626_951_472_2;

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::super::{Rules, Signal};
    use super::*;

    fn found(a: &Signal, b: &Signal) -> Option<Accompaniment> {
        let at = (stated(1.0), stated(2.0));
        let two = Two { a, b, at: (&at.0, &at.1), rules: Rules::default() };
        accompaniment(&two, 0.2).unwrap()
    }

    #[test]
    fn a_fixed_share_is_found_beside_pixels_of_a_alone() {
        // B of 100 over background 2 with A a quarter of it; ten pixels hold much more A.
        let a: Vec<f64> = (0..100).map(|i| if i < 10 { 90.0 } else { 26.0 }).collect();
        let found = found(&counts(10, 10, a), &counts(10, 10, vec![102.0; 100])).unwrap();
        assert_eq!((found.k, found.pixels, found.bin), (0.25, 90, 1));
        assert!(found.counting.low < 0.25 && found.counting.high > 0.25);
        assert!((found.k_high - found.counting.high * 1.2).abs() < 1e-12);
    }

    #[test]
    fn few_pixels_of_b_give_no_factor() {
        let b = counts(10, 10, (0..100).map(|i| if i < 29 { 200.0 } else { 1.0 }).collect());
        assert_eq!(found(&counts(10, 10, vec![5.0; 100]), &b), None);
    }

    #[test]
    fn b_in_a_second_material_without_a_does_not_lower_the_share() {
        // Sixty pixels of an ink with B alone, forty of an earth with a quarter of A.
        let a: Vec<f64> = (0..100).map(|i| if i < 60 { 1.0 } else { 26.0 }).collect();
        let b = counts(10, 10, vec![102.0; 100]);
        let with = found(&counts(10, 10, a), &b).unwrap();
        assert_eq!((with.k, with.pixels, with.is_of_both), (0.25, 40, true));
        // Where A is never detected with B, the factor is what could hide.
        let nowhere = found(&counts(10, 10, vec![1.0; 100]), &b).unwrap();
        assert!(nowhere.k == 0.0 && !nowhere.is_of_both, "{nowhere:?}");
        assert!(nowhere.k_high > 0.0 && nowhere.k_high < 0.01, "{nowhere:?}");
    }

    #[test]
    fn a_second_material_with_more_a_leaves_k_and_shows_as_the_richest() {
        let a: Vec<f64> = (0..400).map(|i| if i < 100 { 101.0 } else { 26.0 }).collect();
        let found = found(&counts(20, 20, a), &counts(20, 20, vec![102.0; 400])).unwrap();
        assert_eq!((found.k, found.pixels), (0.25, 300));
        assert!((found.richest - 1.0).abs() < 0.05, "{found:?}");
    }
}
