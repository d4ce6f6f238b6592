//! Two scans of one object where they overlap: how bright the second is against the first, for one line.
//!
//! Counts are never interpolated for it. The overlap is cut into blocks of the first grid; a pixel of the second scan gives
//! to each block the share of its counts that its area has there. The ratio is that of mean counts for each pixel, so that
//! an alignment whose scale is a little off does not bend it.

mod block;
mod fit;
mod sums;

pub use fit::{Slope, StraightLine, straight_line};

use super::Signal;
use crate::geometry::{Step, Transform};
use crate::kind::Noise;
use crate::notice::Fault;
use block::{Block, Blocks, blocks};

/// Fewer blocks than this give no scatter to judge by.
pub const FEWEST_BLOCKS: usize = 12;
/// Blocks that are aimed at: enough for their scatter, each with as many counts as that leaves.
const AIMED_AT: f64 = 120.0;
/// Sides of blocks, in pixels of the grid or of the second scan, whichever are larger.
const SIDES: (f64, f64) = (4.0, 64.0);

/// Why there is no ratio.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoRatio {
    /// The scans share nothing, by this alignment.
    Apart,
    /// Fewer than [`FEWEST_BLOCKS`] blocks are measured in both.
    TooSmall {
        /// How many there are.
        blocks: usize,
    },
    /// A sum that is not above 0: net counts about zero, or nothing there.
    Nothing,
}

/// The second scan against the first, in their overlap.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlap {
    /// Mean counts of a pixel of the second over mean counts of a pixel of the first.
    pub ratio: f64,
    /// Standard deviation of the ratio, with all that follows.
    pub error: f64,
    /// 95 % interval: by Student's t with the blocks' degrees of freedom.
    pub interval: (f64, f64),
    /// Standard deviation by counting (or by maps of errors) alone; `None` where noise is not known.
    pub by_counting: Option<f64>,
    /// Standard deviation by leaving out one block after the other.
    pub by_blocks: f64,
    /// Standard deviation by the error of the alignment.
    pub by_alignment: f64,
    /// The ratio with the second scan moved by one pixel of the grid: to the right, to the left, down, up.
    pub moved: [f64; 4],
    /// The same for each unit of area by the steps of the scans, where both are known.
    pub per_area: Option<f64>,
    /// Pixels of the second for each pixel of the first, by the alignment.
    pub density: f64,
    /// Sums over the blocks: of the first, of the second.
    pub sums: (f64, f64),
    /// Blocks that are used.
    pub blocks: usize,
    /// Their side, in pixels of the grid.
    pub side: u32,
    /// Chi squared of the blocks about the one ratio over its degrees of freedom; `None` where noise is not known.
    pub scatter: Option<f64>,
    /// Chance of as much scatter by counting and alignment alone.
    pub scatter_p: Option<f64>,
    /// Standard deviation between blocks beyond that, as a share of the ratio.
    pub spread: f64,
    /// Change of the ratio, as shares of it, from the left to the right end of the overlap.
    pub across: Slope,
    /// From its upper to its lower end.
    pub down: Slope,
    /// From nothing to the brightest block.
    pub with_brightness: Slope,
    /// Second = offset + slope x first, both for each pixel, errors in both; `None` where all blocks are alike but for
    /// noise.
    pub line: Option<StraightLine>,
}

/// What is known of the two scans beside their maps.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Known {
    /// Root mean square error of the alignment, in pixels of the grid.
    pub alignment_px: f64,
    /// Steps of the first and the second scan.
    pub steps: Option<(Step, Step)>,
}

/// Compares two maps of one line. `to_first` takes places of the second to places of the first. Saturated and blank pixels
/// leave out the blocks that they lie in.
///
/// The error takes the larger of counting and of the scatter between blocks (the jackknife; B. Efron & C. Stein, Ann.
/// Statist. 9 (1981) 586, from memory), and the alignment's on top: half the change of the ratio over two pixels, times the
/// error along each axis. Counting is the variance of the whole sums, so that pixels which two blocks share count once.
///
/// # Errors
/// No memory, an alignment seen edge-on.
pub fn overlap(
    first: &Signal,
    second: &Signal,
    to_first: &Transform,
    known: Known,
) -> Result<Result<Overlap, NoRatio>, Fault> {
    let size = (first.values.width(), first.values.height());
    let of_second = (second.values.width(), second.values.height());
    let shared = shared_pixels(size, of_second, to_first);
    if shared == 0.0 {
        return Ok(Err(NoRatio::Apart));
    }
    // Pixels of the second for each of the first, roughly.
    let coarse = pixel_side(of_second, to_first).max(1.0);
    let mut side =
        (shared / AIMED_AT).sqrt().floor().clamp(SIDES.0 * coarse, SIDES.1 * coarse).floor() as u32;
    let least = (SIDES.0 * coarse).floor() as u32;
    let found = loop {
        let found = blocks(first, second, to_first, side)?;
        if found.used.len() >= FEWEST_BLOCKS || side <= least {
            break found;
        }
        side = (side / 2).max(least);
    };
    if found.used.len() < FEWEST_BLOCKS {
        return Ok(Err(NoRatio::TooSmall { blocks: found.used.len() }));
    }
    let is_known = |signal: &Signal| signal.sigma.is_some() || signal.kind.noise() == Noise::Counting;
    Ok(compared(&found, is_known(first) && is_known(second), known))
}

/// Pixels of the first grid whose centres lie in the second scan, by a look at no more than about 65 000 of them.
fn shared_pixels((width, height): (u32, u32), second: (u32, u32), to_first: &Transform) -> f64 {
    let step = (f64::from(width) * f64::from(height) / 65_536.0).sqrt().ceil().max(1.0);
    let inside = |x: f64, y: f64| {
        to_first.back((x, y)).is_some_and(|(x, y)| {
            (0.0..f64::from(second.0)).contains(&x) && (0.0..f64::from(second.1)).contains(&y)
        })
    };
    let (mut many, mut y) = (0.0, 0.5 * step);
    while y < f64::from(height) {
        let mut x = 0.5 * step;
        while x < f64::from(width) {
            many += f64::from(u8::from(inside(x, y)));
            x += step;
        }
        y += step;
    }
    many * step * step
}

/// The side of a pixel of the second scan on the first grid, about its middle; 1 where that has no place.
fn pixel_side((width, height): (u32, u32), to_first: &Transform) -> f64 {
    let (x, y) = (0.5 * f64::from(width), 0.5 * f64::from(height));
    let corner = |dx: f64, dy: f64| to_first.at((x + dx, y + dy));
    match (corner(-0.5, 0.0), corner(0.5, 0.0), corner(0.0, -0.5), corner(0.0, 0.5)) {
        (Some(a), Some(b), Some(c), Some(d)) => {
            (((b.0 - a.0) * (d.1 - c.1) - (b.1 - a.1) * (d.0 - c.0)).abs()).sqrt()
        }
        _ => 1.0,
    }
}

/// Everything out of the blocks.
fn compared(found: &Blocks, is_known: bool, known: Known) -> Result<Overlap, NoRatio> {
    let used = &found.used;
    let of = |get: fn(&Block) -> f64| used.iter().map(get).sum::<f64>();
    let cells = f64::from(found.side) * f64::from(found.side);
    let pixels_of_first = cells * used.len() as f64;
    let (first, second, pixels) = (of(|b| b.first), of(|b| b.second), of(|b| b.pixels));
    if first <= 0.0 || second <= 0.0 || pixels <= 0.0 {
        return Err(NoRatio::Nothing);
    }
    let ratio = (second / pixels) / (first / pixels_of_first);
    let moved = core::array::from_fn(|way| {
        let (sum, pixels) =
            used.iter().fold((0.0, 0.0), |(s, p), b| (s + b.moved[way].0, p + b.moved[way].1));
        (sum / pixels) / (first / pixels_of_first)
    });
    // Root mean square of a place; along each axis less by √2.
    let axis = known.alignment_px / core::f64::consts::SQRT_2;
    let half = |one: f64, other: f64| 0.5 * (one - other) * axis;
    let by_alignment = (half(moved[0], moved[1]).powi(2) + half(moved[2], moved[3]).powi(2)).sqrt();
    let by_counting = is_known.then(|| {
        ratio
            * (found.variance_of_second / (second * second) + of(|b| b.variance_of_first) / (first * first))
                .sqrt()
    });
    let by_blocks = jackknife(used, (first, second, pixels), cells);
    let in_overlap = by_counting.unwrap_or(0.0).max(by_blocks);
    let error = (in_overlap * in_overlap + by_alignment * by_alignment).sqrt();
    let reach = error * student_975((used.len() - 1) as f64);
    let scattered = sums::scattered(used, cells, ratio, axis, is_known);
    Ok(Overlap {
        ratio,
        error,
        interval: ((ratio - reach).max(0.0), ratio + reach),
        by_counting,
        by_blocks,
        by_alignment,
        moved,
        per_area: known.steps.map(|(one, other)| ratio * one.pixel_area_mm2() / other.pixel_area_mm2()),
        density: pixels / pixels_of_first,
        sums: (first, second),
        blocks: used.len(),
        side: found.side,
        scatter: scattered.scatter,
        scatter_p: scattered.p,
        spread: scattered.spread,
        across: scattered.across,
        down: scattered.down,
        with_brightness: scattered.with_brightness,
        line: scattered.line,
    })
}

/// Standard deviation of the ratio by leaving out one block after the other.
fn jackknife(used: &[Block], (first, second, pixels): (f64, f64, f64), cells: f64) -> f64 {
    let n = used.len() as f64;
    let without: Vec<f64> = used
        .iter()
        .map(|b| (second - b.second) / (pixels - b.pixels) / ((first - b.first) / (cells * (n - 1.0))))
        .collect();
    let mean = without.iter().sum::<f64>() / n;
    ((n - 1.0) / n * without.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>()).sqrt()
}

/// Student's t that leaves 2.5 % above, by the expansion about the normal quantile (M. Abramowitz & I. A. Stegun, Handbook
/// of Mathematical Functions, 26.7.5, from memory); within 0.1 % from 8 degrees of freedom on.
pub fn student_975(freedom: f64) -> f64 {
    let z = super::Z_95;
    let (z3, z5, z7) = (z.powi(3), z.powi(5), z.powi(7));
    z + (z3 + z) / (4.0 * freedom)
        + (5.0 * z5 + 16.0 * z3 + 3.0 * z) / (96.0 * freedom.powi(2))
        + (3.0 * z7 + 19.0 * z5 + 17.0 * z3 - 15.0 * z) / (384.0 * freedom.powi(3))
}

#[cfg(test)]
mod tests;
