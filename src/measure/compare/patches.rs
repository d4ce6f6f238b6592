//! How well the mean of a patchy region is known, where the region may be only a few patches large.
//!
//! The form by rings ([`super::effective_n`]) takes the mean from the very pixels whose resemblance it measures, so that in a
//! small region the patches look smaller than they are, and two patches of one field then "differ" far too often. Here the
//! region is cut into at most 64 blocks, and the resemblance of their means is described by an exponential fall with distance
//! (where blocks are single pixels also with a part that they don't share, their noise); its length is the most likely one when
//! the unknown mean is allowed for (restricted maximum likelihood: H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545, from memory). The variance of
//! the region's mean follows from it as n² / 1'R1 does.

use super::means::Welch;
use super::student::student_two_sided;
use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::cholesky;
use crate::numerics::math::{exp, ln};
use crate::numerics::sums;

/// A region worth fewer independent pixels than this is not compared: how patchy it is cannot be told from so few patches.
pub const FEWEST_EFFECTIVE: f64 = 6.0;
/// Most blocks that a region is cut into.
const MOST_BLOCKS: usize = 64;
/// The shortest length that is tried, in sides of a block; each next is longer by the root of two.
const SHORTEST: f64 = 0.35;

/// The mean of a region and how well it is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PatchyMean {
    /// Pixels with a value.
    pub n: u64,
    /// Their mean.
    pub mean: f64,
    /// Their variance over `n - 1`.
    pub variance: f64,
    /// Variance of the mean, as of one draw of the pattern.
    pub variance_of_mean: f64,
    /// How many independent pixels would know the mean as well; not above `n`.
    pub effective: f64,
    /// Blocks that this was taken from.
    pub blocks: usize,
    /// Distance, in pixels, over which resemblance falls to 1/e; `None` where blocks don't resemble each other.
    pub length: Option<f64>,
}

impl PatchyMean {
    /// Degrees of freedom of the variance of the mean: one less than what the mean rests on, pixels' worth or blocks.
    pub fn freedom(&self) -> f64 {
        self.effective.min(self.blocks as f64) - 1.0
    }
}

/// Difference of two means as in [`super::welch`], each with its variance of the mean, and `floor`, a standard deviation by
/// which the background of either may be off on its own. It says nothing of whether the regions are large enough
/// ([`FEWEST_EFFECTIVE`]); `None` where the freedom of one is not above 0.
pub fn patchy_difference(a: &PatchyMean, b: &PatchyMean, floor: f64) -> Option<Welch> {
    if a.freedom() <= 0.0 || b.freedom() <= 0.0 {
        return None;
    }
    let square = a.variance_of_mean + b.variance_of_mean + 2.0 * floor * floor;
    let own = |one: &PatchyMean| one.variance_of_mean * one.variance_of_mean / one.freedom();
    let (difference, standard_error) = (a.mean - b.mean, square.sqrt());
    let (t, freedom) = (difference / standard_error, square * square / (own(a) + own(b)));
    let p = student_two_sided(t, freedom);
    (p.is_finite()).then_some(Welch { difference, standard_error, t, freedom, p })
}

/// A block: its mean, share of the region and middle.
struct Cell {
    mean: f64,
    share: f64,
    x: f64,
    y: f64,
}

/// Of the values that are not NaN. `Ok(None)` with fewer than four of them, or where nothing varies.
///
/// The cost is that of some twenty decompositions of a 64 x 64 matrix, whatever the size of the region.
///
/// # Errors
/// Out of memory.
pub fn patchy_mean(values: &Grid<f64>) -> Result<Option<PatchyMean>, OutOfMemory> {
    let mut seen = try_vec(values.len())?;
    seen.extend(values.data().iter().copied().filter(|v| !v.is_nan()));
    let n = seen.len() as f64;
    let Some(mean) = sums::mean(&seen).filter(|_| seen.len() >= 4) else { return Ok(None) };
    let variance = sums::squared_deviations(&seen, mean) / (n - 1.0);
    if variance <= 0.0 || !variance.is_finite() {
        return Ok(None);
    }
    let mut side = (n / MOST_BLOCKS as f64).sqrt().floor().max(1.0) as u32;
    let cells = loop {
        let cells = cut(values, side, mean, n)?;
        if cells.len() <= MOST_BLOCKS {
            break cells;
        }
        side += 1 + side / 8;
    };
    let found = most_likely(&cells, f64::from(side), n.sqrt())?;
    let (variance_of_mean, length) = found.unwrap_or((variance / n, None));
    let effective = ((variance + variance_of_mean) / variance_of_mean).min(n);
    let blocks = cells.len();
    Ok(Some(PatchyMean { n: seen.len() as u64, mean, variance, variance_of_mean, effective, blocks, length }))
}

/// Squares of `side` pixels from the first pixel, those that hold a value; their means less `mean`.
fn cut(values: &Grid<f64>, side: u32, mean: f64, n: f64) -> Result<Vec<Cell>, OutOfMemory> {
    let across = values.width().div_ceil(side) as usize;
    let mut row = try_filled_vec(across as u64, [0.0f64; 4])?;
    let mut cells = Vec::new();
    for top in (0..values.height()).step_by(side as usize) {
        row.iter_mut().for_each(|sums| *sums = [0.0; 4]);
        for y in top..top.saturating_add(side).min(values.height()) {
            for (x, value) in values.row(y).iter().enumerate().filter(|(_, value)| !value.is_nan()) {
                let sums = &mut row[x / side as usize];
                for (sum, more) in sums.iter_mut().zip([1.0, value - mean, x as f64, f64::from(y)]) {
                    *sum += more;
                }
            }
        }
        for &[pixels, sum, x, y] in row.iter().filter(|sums| sums[0] > 0.0) {
            cells.push(Cell { mean: sum / pixels, share: pixels / n, x: x / pixels, y: y / pixels });
        }
    }
    Ok(cells)
}

/// Variance of the mean and length under the most likely resemblance; `None` where the blocks say nothing.
fn most_likely(cells: &[Cell], side: f64, longest: f64) -> Result<Option<(f64, Option<f64>)>, OutOfMemory> {
    let m = cells.len();
    if m < 2 {
        return Ok(None);
    }
    let mut matrix = try_filled_vec((m * m) as u64, 0.0)?;
    let (mut ones, mut means) = (try_filled_vec(m as u64, 0.0)?, try_filled_vec(m as u64, 0.0)?);
    let mut best: Option<(f64, (f64, Option<f64>))> = None;
    let lengths = (0..40).map(|i| SHORTEST * side * root_of_two_to(i)).take_while(|l| *l <= longest);
    let noise: &[f64] = if side > 1.0 { &[0.0] } else { &[0.0, 0.5] };
    let models = lengths.flat_map(|length| noise.iter().map(move |&apart| (Some(length), apart)));
    for (length, apart) in std::iter::once((None, 1.0)).chain(models) {
        // 1'R1 with the blocks' shares as weights.
        let mut of_mean = 0.0;
        for i in 0..m {
            for j in 0..=i {
                let own = if i == j { apart / (cells[i].share * m as f64) } else { 0.0 };
                let entry = (1.0 - apart) * length.map_or(0.0, |l| alike(&cells[i], &cells[j], l)) + own;
                matrix[i * m + j] = entry;
                of_mean += cells[i].share * cells[j].share * if i == j { entry } else { 2.0 * entry };
            }
        }
        let Some(log_determinant) = cholesky::decompose(&mut matrix, m) else { continue };
        ones.iter_mut().for_each(|one| *one = 1.0);
        means.iter_mut().zip(cells).for_each(|(value, cell)| *value = cell.mean);
        cholesky::solve_lower(&matrix, m, &mut ones);
        cholesky::solve_lower(&matrix, m, &mut means);
        let product = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
        let information = product(&ones, &ones);
        let crossed = product(&ones, &means);
        let left = product(&means, &means) - crossed * crossed / information;
        if left <= 0.0 || !left.is_finite() {
            continue;
        }
        let freedom = m as f64 - 1.0;
        let likelihood = -0.5 * log_determinant - 0.5 * ln(information) - 0.5 * freedom * ln(left);
        if best.is_none_or(|(other, _)| likelihood > other) {
            best = Some((likelihood, (left / freedom * of_mean, length)));
        }
    }
    Ok(best.map(|(_, found)| found))
}

fn alike(a: &Cell, b: &Cell, length: f64) -> f64 {
    let (dx, dy) = (a.x - b.x, a.y - b.y);
    exp(-(dx * dx + dy * dy).sqrt() / length)
}

fn root_of_two_to(i: i32) -> f64 {
    let even = (0..i / 2).fold(1.0, |product, _| product * 2.0);
    if i % 2 == 0 { even } else { even * std::f64::consts::SQRT_2 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numerics::chance::Chance;

    #[test]
    fn independent_pixels_are_worth_about_their_number_and_a_slope_next_to_nothing() {
        let mut chance = Chance::new(5);
        let noise = Grid::from_vec(40, 40, (0..1600).map(|_| chance.normal()).collect()).unwrap();
        let found = patchy_mean(&noise).unwrap().unwrap();
        assert!(found.effective > 700.0 && found.effective <= 1600.0, "{found:?}");
        let slope = Grid::from_vec(40, 40, (0..1600).map(|i| f64::from(i % 40)).collect()).unwrap();
        let found = patchy_mean(&slope).unwrap().unwrap();
        assert!(found.effective < 10.0, "{found:?}");
    }

    #[test]
    fn shape_and_holes_of_a_region_don_t_stop_it() {
        let mut chance = Chance::new(6);
        // A ring, one pixel wide for the most part, with a hole in the middle.
        let values = (0..3600).map(|i| {
            let (dx, dy) = (f64::from(i % 60) - 29.5, f64::from(i / 60) - 29.5);
            let distance = (dx * dx + dy * dy).sqrt();
            if (26.0..27.5).contains(&distance) { 5.0 + chance.normal() } else { f64::NAN }
        });
        let ring = Grid::from_vec(60, 60, values.collect()).unwrap();
        let found = patchy_mean(&ring).unwrap().unwrap();
        assert!(found.blocks <= 64 && found.effective > 40.0 && (found.mean - 5.0).abs() < 0.3, "{found:?}");
    }

    #[test]
    fn nothing_constant_and_alternating() {
        let of = |values: Vec<f64>| patchy_mean(&Grid::from_vec(8, 8, values).unwrap()).unwrap();
        assert_eq!(of(vec![f64::NAN; 64]), None);
        assert_eq!(of(vec![3.0; 64]), None);
        // Blocks of one pixel here; the pattern is worth its pixels and no more.
        let alternating = of((0..64).map(|i| f64::from((i + i / 8) % 2)).collect()).unwrap();
        assert_eq!(alternating.effective, 64.0);
    }
}
