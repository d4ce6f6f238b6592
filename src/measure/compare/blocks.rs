//! Resampling whole blocks of pixels, so that what neighbours share stays together.

use crate::grid::{Grid, Mask, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::counting::Interval;
use crate::numerics::{order, sums};

/// Fewer blocks than this cannot be resampled: the few different draws would pretend to an interval.
pub const FEWEST_BLOCKS: usize = 10;

/// What a square of pixels holds of a region.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Sum of the first map.
    pub a: f64,
    /// Sum of the second map.
    pub b: f64,
    /// Pixels of the region in the square, at least one.
    pub pixels: f64,
}

/// Sums over squares of `side` pixels laid from the map's first pixel, row by row; squares without a pixel of `inside` are
/// left out, and so are pixels that are NaN in either map. Empty for a side of 0 or maps of different sizes.
///
/// # Errors
/// Out of memory.
pub fn blocks(a: &Grid<f64>, b: &Grid<f64>, inside: &Mask, side: u32) -> Result<Vec<Block>, OutOfMemory> {
    let size = (a.width(), a.height());
    if side == 0 || (b.width(), b.height()) != size || (inside.width(), inside.height()) != size {
        return Ok(Vec::new());
    }
    let mut out = try_vec(u64::from(size.0.div_ceil(side)) * u64::from(size.1.div_ceil(side)))?;
    for top in (0..size.1).step_by(side as usize) {
        for left in (0..size.0).step_by(side as usize) {
            let mut block = Block { a: 0.0, b: 0.0, pixels: 0.0 };
            for y in top..top.saturating_add(side).min(size.1) {
                let row = y as usize * size.0 as usize;
                for i in row + left as usize..row + left.saturating_add(side).min(size.0) as usize {
                    let (in_a, in_b) = (a.data()[i], b.data()[i]);
                    if inside.data()[i] && !in_a.is_nan() && !in_b.is_nan() {
                        block.a += in_a;
                        block.b += in_b;
                        block.pixels += 1.0;
                    }
                }
            }
            if block.pixels > 0.0 {
                out.push(block);
            }
        }
    }
    Ok(out)
}

/// What came of resampling.
#[derive(Debug, Clone, PartialEq)]
pub struct Resampled {
    /// Blocks that were drawn from.
    pub blocks: usize,
    /// The statistic of every draw that has one, ascending.
    pub draws: Vec<f64>,
    /// Mean of the draws.
    pub mean: f64,
    /// Standard deviation of the draws, over their number less one.
    pub sd: f64,
}

impl Resampled {
    /// Percentile interval at level `1 - alpha`, linear between ranks.
    pub fn interval(&self, alpha: f64) -> Option<Interval> {
        let low = order::quantile(&self.draws, 0.5 * alpha)?;
        Some(Interval { low, high: order::quantile(&self.draws, 1.0 - 0.5 * alpha)? })
    }
}

/// Draws as many blocks as there are, with replacement, `draws` times, and computes `statistic` of their summed block (a
/// ratio of sums: `|s| Some(s.a / s.b)`; a mean: `|s| Some(s.a / s.pixels)`). Blocks should be at least as large as what
/// neighbours share reaches. `index(n)` gives the next number from 0 to n - 1. Draws without a finite statistic are left
/// out. `Ok(None)` with fewer than [`FEWEST_BLOCKS`] blocks or fewer than two draws with a statistic.
/// (B. Efron, Ann. Stat. 7 (1979) 1, for blocks H. R. Künsch, Ann. Stat. 17 (1989) 1217; both from memory.)
///
/// # Errors
/// Out of memory.
pub fn block_bootstrap(
    blocks: &[Block],
    draws: u32,
    statistic: impl Fn(&Block) -> Option<f64>,
    mut index: impl FnMut(usize) -> usize,
) -> Result<Option<Resampled>, OutOfMemory> {
    if blocks.len() < FEWEST_BLOCKS {
        return Ok(None);
    }
    let mut found = try_vec(u64::from(draws))?;
    for _ in 0..draws {
        let mut all = Block { a: 0.0, b: 0.0, pixels: 0.0 };
        for _ in 0..blocks.len() {
            let drawn = &blocks[index(blocks.len()).min(blocks.len() - 1)];
            all.a += drawn.a;
            all.b += drawn.b;
            all.pixels += drawn.pixels;
        }
        found.extend(statistic(&all).filter(|v| v.is_finite()));
    }
    order::sort(&mut found);
    let Some(mean) = sums::mean(&found).filter(|_| found.len() > 1) else { return Ok(None) };
    let sd = (sums::squared_deviations(&found, mean) / (found.len() as f64 - 1.0)).sqrt();
    Ok(Some(Resampled { blocks: blocks.len(), draws: found, mean, sd }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn few_blocks_are_refused_and_nothing_is_no_block() {
        let block = Block { a: 1.0, b: 2.0, pixels: 1.0 };
        let mean = |s: &Block| Some(s.a / s.pixels);
        assert_eq!(block_bootstrap(&[block; 9], 100, mean, |_| 0).unwrap(), None);
        let ten = block_bootstrap(&[block; 10], 100, mean, |_| 0).unwrap().unwrap();
        assert_eq!((ten.mean, ten.sd, ten.interval(0.05).unwrap().high), (1.0, 0.0, 1.0));
        assert_eq!(block_bootstrap(&[block; 10], 100, |_| None, |_| 0).unwrap(), None);
        let blank = Grid::try_filled(5, 5, f64::NAN).unwrap();
        let inside = Mask::try_filled(5, 5, true).unwrap();
        assert_eq!(blocks(&blank, &blank, &inside, 2).unwrap(), []);
    }

    #[test]
    fn blocks_are_cut_at_the_edge_of_the_map() {
        let map = Grid::from_vec(5, 3, (0..15).map(f64::from).collect()).unwrap();
        let inside = Mask::try_filled(5, 3, true).unwrap();
        let found = blocks(&map, &map, &inside, 2).unwrap();
        let pixels: Vec<f64> = found.iter().map(|b| b.pixels).collect();
        assert_eq!(pixels, [4.0, 4.0, 2.0, 2.0, 2.0, 1.0]);
        assert_eq!(found.iter().map(|b| b.a).sum::<f64>(), 105.0);
    }
}
