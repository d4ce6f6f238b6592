//! One ratio or several: whether blocks of a field scatter more than noise makes them.

use super::ratio::usable;
use super::{BINS, Level, Ratio, Scatter, Signal};
use crate::numerics::order;
use crate::numerics::special::gamma_p_q;

/// Fewer blocks than this say nothing about scatter.
pub const FEWEST_BLOCKS: u64 = 10;
/// A block with less than this share of used pixels is left out.
const LEAST_USED: f64 = 0.5;
/// Blocks in which fewer counts of A or B are expected (median) are too few for chi squared (W. G. Cochran, Biometrics 10
/// (1954) 417, from memory).
const FEWEST_COUNTS: f64 = 5.0;

/// Scatter of the ratio between blocks.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homogeneity {
    /// Side of a block in pixels.
    pub side: u32,
    /// Blocks used.
    pub blocks: u64,
    /// Chi squared over its degrees of freedom: 1 where noise explains the scatter.
    pub scatter: f64,
    /// Chance of as much scatter by noise and the floor of the backgrounds alone.
    pub p: f64,
    /// Relative standard deviation between blocks beyond them.
    pub spread: f64,
    /// Relative uncertainty of the median block.
    pub resolution: f64,
}

/// Compares blocks of 2, 4, 8 and 16 pixels a side with the ratio of sums (K. Pearson's chi squared; the spread by the method
/// of moments). A background that is off by `floor` moves blocks with little of both against the others, so that the floor is
/// part of the scatter that is expected.
///
/// A size is left out with fewer than 10 blocks at least half used or fewer than five counts in a block. Empty with a ratio not
/// above 0 and where noise is not known.
pub fn homogeneity(
    a: &Signal,
    b: &Signal,
    at: (&Level, &Level),
    found: &Ratio,
    floor: f64,
) -> Vec<Homogeneity> {
    let noise = (usable(found.scatter.0), usable(found.scatter.1));
    let (Some(ratio), (Some(of_a), Some(of_b))) = (found.of_sums.filter(|&r| r > 0.0), noise) else {
        return Vec::new();
    };
    let sides = BINS.into_iter().filter(|&side| side > 1);
    sides.filter_map(|side| of_side((a, b), at, found, (ratio, floor, of_a, of_b), side)).collect()
}

/// One block: used pixels, net A, net B, variance by noise of maps without counts.
#[derive(Default)]
struct Block {
    pixels: f64,
    net_a: f64,
    net_b: f64,
    noise_a: f64,
    noise_b: f64,
}

fn of_side(
    (a, b): (&Signal, &Signal),
    at: (&Level, &Level),
    found: &Ratio,
    (ratio, floor, of_a, of_b): (f64, f64, Scatter, Scatter),
    side: u32,
) -> Option<Homogeneity> {
    let (width, height) = (found.raster.width(), found.raster.height());
    let (mut chi, mut beyond, mut squares) = (0.0, 0.0, 0.0);
    let (mut relative, mut expected) = (Vec::new(), Vec::new());
    for top in (0..height).step_by(side as usize) {
        for left in (0..width).step_by(side as usize) {
            let mut block = Block::default();
            for y in top..(top + side).min(height) {
                for x in left..(left + side).min(width) {
                    let i = y as usize * width as usize + x as usize;
                    let is_used = if found.is_whole {
                        a.valid(i).is_some() && b.valid(i).is_some()
                    } else {
                        !found.raster.data()[i].is_nan()
                    };
                    if is_used {
                        block.pixels += 1.0;
                        block.net_a += a.values.data()[i] - at.0.background;
                        block.net_b += b.values.data()[i] - at.1.background;
                        block.noise_a += of_a.variance(a, i);
                        block.noise_b += of_b.variance(b, i);
                    }
                }
            }
            if block.pixels < LEAST_USED * f64::from(side * side) || block.net_b <= 0.0 {
                continue;
            }
            let off = block.net_a - ratio * block.net_b;
            let of_counts = |scatter: Scatter, level: &Level, counts: f64, own: f64| {
                if scatter == Scatter::Counting { block.pixels * level.variance + counts } else { own }
            };
            let systematic = |level: &Level| (floor * block.pixels * level.background).powi(2);
            let variance = of_counts(of_a, at.0, ratio * block.net_b, block.noise_a)
                + systematic(at.0)
                + ratio * ratio * (of_counts(of_b, at.1, block.net_b, block.noise_b) + systematic(at.1));
            chi += off * off / variance;
            beyond += off * off - variance;
            squares += block.net_b * block.net_b;
            relative.push(variance.sqrt() / (ratio * block.net_b));
            let counts = |scatter: Scatter, level: &Level, net: f64| {
                if scatter == Scatter::Counting {
                    block.pixels * level.background + net
                } else {
                    f64::INFINITY
                }
            };
            expected.push(counts(of_a, at.0, ratio * block.net_b).min(counts(of_b, at.1, block.net_b)));
        }
    }
    let blocks = relative.len() as u64;
    if blocks < FEWEST_BLOCKS {
        return None;
    }
    order::sort(&mut relative);
    order::sort(&mut expected);
    if order::quantile(&expected, 0.5)? < FEWEST_COUNTS {
        return None;
    }
    let freedom = blocks as f64 - 1.0;
    Some(Homogeneity {
        side,
        blocks,
        scatter: chi / freedom,
        p: gamma_p_q(0.5 * freedom, 0.5 * chi).1,
        spread: (beyond / squares).max(0.0).sqrt() / ratio,
        resolution: order::quantile(&relative, 0.5)?,
    })
}

#[cfg(test)]
mod tests {
    use super::super::ratio;
    use super::super::testing::{counts, stated};
    use super::*;

    fn of(a: Vec<f64>, backgrounds: f64, floor: f64) -> Vec<Homogeneity> {
        let (a, b) = (counts(24, 24, a), counts(24, 24, vec![400.0; 576]));
        let at = (&stated(backgrounds), &stated(backgrounds));
        let found = ratio(&a, &b, at, 0.05, 0.2).unwrap();
        homogeneity(&a, &b, at, &found, floor)
    }

    #[test]
    fn an_even_field_scatters_less_than_counting_and_two_halves_more() {
        let even = of(vec![100.0; 576], 0.0, 0.05);
        let sides: Vec<(u32, u64)> = even.iter().map(|h| (h.side, h.blocks)).collect();
        // Of 16 x 16 pixels there is one whole block and some that are half used.
        assert_eq!(sides, [(2, 144), (4, 36)]);
        assert_eq!((even[1].scatter, even[1].spread), (0.0, 0.0));
        assert!(even[1].p > 0.999);
        let halves: Vec<f64> = (0..576).map(|i| if i % 24 < 12 { 50.0 } else { 150.0 }).collect();
        for found in of(halves, 0.0, 0.05) {
            assert!(found.p < 1e-9 && (found.spread - 0.5).abs() < 0.01, "{found:?}");
        }
    }

    #[test]
    fn what_a_wrong_background_would_do_is_expected() {
        // A of 104 over a background of 100, in one half 8 and in the other 0: four times what counting does in blocks of 4 x 4.
        let halves: Vec<f64> = (0..576).map(|i| if i % 24 < 12 { 100.0 } else { 108.0 }).collect();
        let of_floor = |floor| of(halves.clone(), 100.0, floor)[1];
        assert!(of_floor(0.0).p < 1e-3 && of_floor(0.05).p > 0.5, "{:?}", of_floor(0.0));
    }

    #[test]
    fn a_small_field_and_few_counts_say_nothing() {
        let (a, b) = (counts(4, 4, vec![9.0; 16]), counts(4, 4, vec![400.0; 16]));
        let at = (&stated(0.0), &stated(0.0));
        let found = ratio(&a, &b, at, 0.05, 0.2).unwrap();
        assert_eq!(homogeneity(&a, &b, at, &found, 0.05), Vec::new());
        let sparse = of((0..576).map(|i| f64::from(u8::from(i % 4 == 0))).collect(), 0.0, 0.05);
        // A quarter of a count in a pixel: blocks of 4 x 4 hold 4, of 8 x 8 there are nine.
        assert_eq!(sparse, Vec::new());
    }
}
