//! One ratio or several: whether blocks of a field scatter more than counting makes them.

use super::{Level, Ratio, Signal, are_counts};
use crate::numerics::order;
use crate::numerics::special::gamma_p_q;

/// Side of a block in pixels.
const BLOCK: u32 = 4;
/// A block with fewer used pixels than this is left out.
const FEWEST_IN_BLOCK: u64 = 8;
/// Fewer blocks than this say nothing about scatter.
pub const FEWEST_BLOCKS: u64 = 10;

/// Scatter of the ratio between blocks of 4 x 4 pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homogeneity {
    /// Blocks used.
    pub blocks: u64,
    /// Chi squared over its degrees of freedom: 1 where counting explains the scatter.
    pub scatter: f64,
    /// Chance of as much scatter by counting alone.
    pub p: f64,
    /// Relative standard deviation between blocks beyond counting.
    pub spread: f64,
    /// Relative counting uncertainty of the median block.
    pub resolution: f64,
}

/// Compares the blocks with the ratio of sums (K. Pearson's chi squared; the spread by the method of moments).
/// `None` with fewer than 10 blocks of at least 8 used pixels, a ratio not above 0, or maps that hold no counts.
pub fn homogeneity(a: &Signal, b: &Signal, at: (&Level, &Level), found: &Ratio) -> Option<Homogeneity> {
    let ratio = found.of_sums.filter(|&r| r > 0.0 && are_counts(a, b))?;
    let (width, height) = (found.raster.width(), found.raster.height());
    let (mut chi, mut beyond, mut squares) = (0.0, 0.0, 0.0);
    let mut relative = Vec::new();
    for top in (0..height).step_by(BLOCK as usize) {
        for left in (0..width).step_by(BLOCK as usize) {
            let (mut n, mut net_a, mut net_b) = (0u64, 0.0, 0.0);
            for y in top..(top + BLOCK).min(height) {
                for x in left..(left + BLOCK).min(width) {
                    let i = y as usize * width as usize + x as usize;
                    if !found.raster.data()[i].is_nan() {
                        n += 1;
                        net_a += a.values.data()[i] - at.0.background;
                        net_b += b.values.data()[i] - at.1.background;
                    }
                }
            }
            if n < FEWEST_IN_BLOCK || net_b <= 0.0 {
                continue;
            }
            let pixels = n as f64;
            let off = net_a - ratio * net_b;
            let variance =
                pixels * at.0.variance + ratio * net_b + ratio * ratio * (net_b + pixels * at.1.variance);
            chi += off * off / variance;
            beyond += off * off - variance;
            squares += net_b * net_b;
            relative.push(variance.sqrt() / (ratio * net_b));
        }
    }
    let blocks = relative.len() as u64;
    if blocks < FEWEST_BLOCKS {
        return None;
    }
    order::sort(&mut relative);
    let freedom = blocks as f64 - 1.0;
    Some(Homogeneity {
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

    fn of(a: Vec<f64>) -> Option<Homogeneity> {
        let (a, b) = (counts(24, 24, a), counts(24, 24, vec![400.0; 576]));
        let at = (&stated(0.0), &stated(0.0));
        let found = ratio(&a, &b, at, 0.05, 0.2).unwrap();
        homogeneity(&a, &b, at, &found)
    }

    #[test]
    fn an_even_field_scatters_less_than_counting_and_two_halves_more() {
        let even = of(vec![100.0; 576]).unwrap();
        assert_eq!((even.blocks, even.scatter, even.spread), (36, 0.0, 0.0));
        assert!(even.p > 0.999);
        let halves = of((0..576).map(|i| if i % 24 < 12 { 50.0 } else { 150.0 }).collect()).unwrap();
        assert!(halves.p < 1e-9 && (halves.spread - 0.5).abs() < 0.01, "{halves:?}");
    }

    #[test]
    fn a_small_field_says_nothing() {
        let (a, b) = (counts(4, 4, vec![9.0; 16]), counts(4, 4, vec![400.0; 16]));
        let at = (&stated(0.0), &stated(0.0));
        let found = ratio(&a, &b, at, 0.05, 0.2).unwrap();
        assert_eq!(homogeneity(&a, &b, at, &found), None);
    }
}
