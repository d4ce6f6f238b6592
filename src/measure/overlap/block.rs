//! The overlap cut into blocks: sums of both scans, and of the second once more when it is moved a little.

use super::super::Signal;
use crate::geometry::Transform;
use crate::grid::{Grid, Onto, for_each_share, try_filled_vec, try_vec};
use crate::kind::Noise;
use crate::notice::{Fault, OutOfMemory};

/// To the right, to the left, down, up: how the second scan is moved on the grid.
const MOVES: [(f64, f64); 4] = [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)];
/// A block covered up to this is covered wholly.
const WHOLLY: f64 = 1.0 - 1e-6;

/// One block that both scans measured wholly, also when the second is moved by a pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Block {
    /// Its middle, in pixels of the grid.
    pub middle: (f64, f64),
    /// Sum of the first scan, and its variance (0 where noise is not known).
    pub first: f64,
    pub variance_of_first: f64,
    /// Sum of the second by shares of pixels, its variance, and how many pixels the shares make.
    pub second: f64,
    pub variance_of_second: f64,
    pub pixels: f64,
    /// Sum and pixels of the second, moved each way.
    pub moved: [(f64, f64); 4],
}

/// All that are used.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Blocks {
    pub side: u32,
    pub used: Vec<Block>,
    /// Variance of the sum of the second over all of them: pixels that lie in two count once.
    pub variance_of_second: f64,
}

/// The variance of a pixel, where it is known.
fn variance(signal: &Signal, at: usize, value: f64) -> f64 {
    match (&signal.sigma, signal.kind.noise()) {
        (Some(sigma), _) => sigma.data()[at] * sigma.data()[at],
        (None, Noise::Counting) => value.max(0.0),
        (None, _) => 0.0,
    }
}

/// Sums of the second scan over every block.
struct Gathered {
    sum: Vec<f64>,
    variance: Vec<f64>,
    pixels: Vec<f64>,
    covered: Vec<f64>,
}

fn gathered(second: &Signal, onto: &Onto<'_>) -> Result<Gathered, Fault> {
    let many = u64::from(onto.size.0) * u64::from(onto.size.1);
    let none = || try_filled_vec(many, 0.0);
    let mut out = Gathered { sum: none()?, variance: none()?, pixels: none()?, covered: none()? };
    for_each_share((second.values.width(), second.values.height()), onto, |pixel, shares, area| {
        let Some(value) = second.anywhere(pixel) else { return };
        let of_pixel = variance(second, pixel, value);
        for share in shares {
            let weight = share.area / area;
            out.sum[share.cell] += weight * value;
            out.variance[share.cell] += weight * weight * of_pixel;
            out.pixels[share.cell] += weight;
            out.covered[share.cell] += share.area;
        }
    })?;
    Ok(out)
}

/// Sum and variance of the first scan over each block; NaN where a pixel of it is blank or saturated.
fn sums_of_first(first: &Signal, side: u32, size: (u32, u32)) -> Result<Grid<(f64, f64)>, OutOfMemory> {
    let mut out = Grid::try_filled(size.0, size.1, (0.0, 0.0))?;
    let width = first.values.width() as usize;
    for y in 0..size.1 * side {
        for x in 0..size.0 * side {
            let pixel = y as usize * width + x as usize;
            let block = (y / side) as usize * size.0 as usize + (x / side) as usize;
            let (sum, spread) = &mut out.data_mut()[block];
            let value = first.anywhere(pixel).unwrap_or(f64::NAN);
            *sum += value;
            *spread += variance(first, pixel, value);
        }
    }
    Ok(out)
}

/// Blocks of `side` pixels from the grid's upper left corner.
pub(super) fn blocks(
    first: &Signal,
    second: &Signal,
    to_first: &Transform,
    side: u32,
) -> Result<Blocks, Fault> {
    let size = (first.values.width() / side, first.values.height() / side);
    let of_first = sums_of_first(first, side, size)?;
    let edge = f64::from(side);
    // The second moved to the right is the blocks moved to the left.
    let onto = |(dx, dy): (f64, f64)| Onto { transform: to_first, origin: (-dx, -dy), side: edge, size };
    let still = gathered(second, &onto((0.0, 0.0)))?;
    let mut moved = Vec::new();
    for by in MOVES {
        moved.push(gathered(second, &onto(by))?);
    }
    let many = of_first.len();
    let mut is_used = try_filled_vec(many, false)?;
    let mut used = try_vec(many)?;
    for (at, &(sum, variance_of_first)) in of_first.data().iter().enumerate() {
        let is_covered = |of: &Gathered| of.covered[at] >= WHOLLY;
        if sum.is_nan() || !is_covered(&still) || !moved.iter().all(is_covered) {
            continue;
        }
        is_used[at] = true;
        let (x, y) = (at % size.0 as usize, at / size.0 as usize);
        used.push(Block {
            middle: ((x as f64 + 0.5) * edge, (y as f64 + 0.5) * edge),
            first: sum,
            variance_of_first,
            second: still.sum[at],
            variance_of_second: still.variance[at],
            pixels: still.pixels[at],
            moved: core::array::from_fn(|way| (moved[way].sum[at], moved[way].pixels[at])),
        });
    }
    let mut variance_of_second = 0.0;
    for_each_share(
        (second.values.width(), second.values.height()),
        &onto((0.0, 0.0)),
        |pixel, shares, area| {
            let Some(value) = second.anywhere(pixel) else { return };
            let weight: f64 = shares.iter().filter(|s| is_used[s.cell]).map(|s| s.area / area).sum();
            variance_of_second += weight * weight * variance(second, pixel, value);
        },
    )?;
    Ok(Blocks { side, used, variance_of_second })
}
