//! Whether neighbours differ as counting makes them.

use super::survey::{spread, stored_row};
use crate::grid::{try_filled_vec, try_vec};
use crate::kind::Gain;
use crate::notice::OutOfMemory;
use crate::numerics::math::ln;
use crate::numerics::order;
use crate::stack::Plane;

/// Side of a block.
const BLOCK: u32 = 8;
/// Bands of blocks looked at.
const BANDS: u32 = 48;
/// Blocks of a smaller mean are left out: the median of their variance is biased by whole numbers.
const LEAST_MEAN: f64 = 4.0;
/// Blocks in a bin of means.
const FEWEST_BLOCKS: usize = 12;

/// A block: its mean, variance by neighbours, variance by pixels two apart.
type Block = (f64, f64, f64);

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    order::sort(&mut values);
    order::quantile(&values, 0.5).unwrap_or(f64::NAN)
}

/// Blocks of 8 x 8 pixels that hold data throughout; at most 48 bands of them.
fn blocks(plane: &Plane) -> Result<Vec<Block>, OutOfMemory> {
    let (width, height) = plane.size();
    let (columns, bands) = (width / BLOCK, height / BLOCK);
    let side = BLOCK as usize;
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut out = try_vec(u64::from(columns) * u64::from(bands.min(BANDS)))?;
    for band in spread(bands, BANDS) {
        let mut sums = try_filled_vec(u64::from(columns), (0.0, 0.0, 0.0))?;
        for y in band * BLOCK..(band + 1) * BLOCK {
            stored_row(plane, y, &mut row, &mut scratch);
            for (part, sum) in row.chunks_exact(side).zip(sums.iter_mut()) {
                sum.0 += part.iter().sum::<f64>();
                sum.1 += part.windows(2).map(|w| (w[1] - w[0]) * (w[1] - w[0])).sum::<f64>();
                sum.2 += part.windows(3).map(|w| (w[2] - w[0]) * (w[2] - w[0])).sum::<f64>();
            }
        }
        let n = f64::from(BLOCK);
        let blocks = sums
            .into_iter()
            .map(|(sum, near, apart)| {
                (sum / (n * n), near / (2.0 * n * (n - 1.0)), apart / (2.0 * n * (n - 2.0)))
            })
            .filter(|(mean, near, apart)| mean.is_finite() && near.is_finite() && apart.is_finite());
        out.extend(blocks);
    }
    Ok(out)
}

/// Gain out of neighbour differences: variance = half the mean squared difference of pixels side by side, by blocks, the
/// median of blocks of about the same mean. `is_straight` only where variance against mean has slope 1 (± 0.15, in
/// logarithms) with no bin off by more than 25 % over at least a decade of means from 4 up. Edges and texture raise the
/// gain and never lower it. `None` with fewer than three bins of 12 blocks.
pub(super) fn gain(plane: &Plane) -> Result<Option<Gain>, OutOfMemory> {
    let mut blocks = blocks(plane)?;
    blocks.retain(|block| block.0 >= LEAST_MEAN);
    blocks.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)).then(a.2.total_cmp(&b.2)));
    // Three bins a decade; ln(10) / 3.
    let bin_of = |mean: f64| (ln(mean / LEAST_MEAN) / 0.767_528_364_331_348_6) as u32;
    let mut points: Vec<(f64, f64, f64)> = Vec::new();
    for bin in blocks.chunk_by(|a, b| bin_of(a.0) == bin_of(b.0)) {
        if bin.len() >= FEWEST_BLOCKS {
            let mean = median(bin.iter().map(|b| b.0));
            points.push((mean, median(bin.iter().map(|b| b.1)), median(bin.iter().map(|b| b.2))));
        }
    }
    if points.len() < 3 {
        return Ok(None);
    }
    let n = points.len() as f64;
    let correlation = median(points.iter().map(|p| if p.1 > 0.0 { p.2 / p.1 } else { 1.0 }));
    let gain = median(points.iter().map(|p| p.1 / p.0));
    let reach = points[points.len() - 1].0 / points[0].0;
    let is_straight = reach >= 10.0 && points.iter().all(|p| p.1 > 0.0) && {
        let logs: Vec<(f64, f64)> = points.iter().map(|p| (ln(p.0), ln(p.1))).collect();
        let (x, y) = logs.iter().fold((0.0, 0.0), |(x, y), l| (x + l.0 / n, y + l.1 / n));
        let xx: f64 = logs.iter().map(|l| (l.0 - x) * (l.0 - x)).sum();
        let xy: f64 = logs.iter().map(|l| (l.0 - x) * (l.1 - y)).sum();
        let slope = xy / xx;
        (slope - 1.0).abs() <= 0.15 && points.iter().all(|p| (p.1 / p.0 / gain - 1.0).abs() <= 0.25)
    };
    Ok(Some(Gain { gain, is_straight, correlation }))
}
