//! How many independent values as many neighbouring pixels are worth.
//!
//! Neighbouring pixels resemble each other, so that the mean of `n` of them is known less well than the mean of `n`
//! independent values. Three published forms, each with what it needs: correlations by rings of distance, a correlation from
//! pixel to pixel along a line, or a whole matrix of correlations.

use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::sums;

/// The effective number by rings of distance.
#[derive(Debug, Clone, PartialEq)]
pub struct Effective {
    /// Pixels used.
    pub n: u64,
    /// What they are worth: n² over the sum of N_k rho_k.
    pub effective: f64,
    /// Correlations rho_0 (1) to the last one computed, the first that is not above 0 among them.
    pub correlations: Vec<f64>,
    /// The ring at which the sum stopped.
    pub stopped_at: u32,
}

/// n² / sum of N_k rho_k over rings k = floor(distance + 1/2), stopped before the first rho_k <= 0; N_k ordered pairs of
/// pixels lie in ring k. NaN pixels are left out. `Ok(None)` with fewer than two pixels or where nothing varies: a constant
/// has no correlation.
///
/// A region with a slope across it comes out as worth a handful of pixels, which is right for its mean. With very few
/// effective pixels the form gives too many (the mean was taken from the same pixels); see the question's own estimate.
///
/// # Errors
/// Out of memory.
pub fn effective_n(values: &Grid<f64>) -> Result<Option<Effective>, OutOfMemory> {
    let Some(mut rings) = Rings::of(values)? else { return Ok(None) };
    let furthest = values.width().max(values.height()) * 3 / 2;
    let (mut correlations, mut total) = (vec![1.0], rings.n as f64);
    let mut stopped_at = furthest;
    for k in 1..=furthest {
        let Some((pairs, correlation)) = rings.ring(k) else {
            stopped_at = k;
            break;
        };
        correlations.push(correlation);
        if correlation <= 0.0 {
            stopped_at = k;
            break;
        }
        total += pairs * correlation;
    }
    let n = rings.n as f64;
    Ok(Some(Effective { n: rings.n, effective: n * n / total, correlations, stopped_at }))
}

/// Correlations of pixels by rings of distance, rho_0 = 1 to rho of ring `last`; shorter where no pixels lie so far apart.
/// `Ok(None)` as in [`effective_n`].
///
/// # Errors
/// Out of memory.
pub fn ring_correlations(values: &Grid<f64>, last: u32) -> Result<Option<Vec<f64>>, OutOfMemory> {
    let Some(mut rings) = Rings::of(values)? else { return Ok(None) };
    let mut out = vec![1.0];
    for k in 1..=last {
        match rings.ring(k) {
            Some((_, correlation)) => out.push(correlation),
            None => break,
        }
    }
    Ok(Some(out))
}

/// Deviations from the mean (0 where there is no pixel) and which pixels there are, for products of shifted rows.
struct Rings {
    width: usize,
    height: usize,
    deviations: Vec<f64>,
    present: Vec<f64>,
    n: u64,
    variance: f64,
}

impl Rings {
    fn of(values: &Grid<f64>) -> Result<Option<Self>, OutOfMemory> {
        let mut seen = try_vec(values.len())?;
        seen.extend(values.data().iter().copied().filter(|v| !v.is_nan()));
        let Some(mean) = sums::mean(&seen) else { return Ok(None) };
        let variance = sums::squared_deviations(&seen, mean) / seen.len() as f64;
        if seen.len() < 2 || variance <= 0.0 || !variance.is_finite() {
            return Ok(None);
        }
        let mut deviations = try_filled_vec(values.len(), 0.0)?;
        let mut present = try_filled_vec(values.len(), 0.0)?;
        for (i, value) in values.data().iter().enumerate() {
            if !value.is_nan() {
                deviations[i] = value - mean;
                present[i] = 1.0;
            }
        }
        Ok(Some(Self {
            width: values.width() as usize,
            height: values.height() as usize,
            deviations,
            present,
            n: seen.len() as u64,
            variance,
        }))
    }

    /// Ordered pairs in ring `k` >= 1 and their mean product over the variance; `None` without pairs.
    fn ring(&mut self, k: u32) -> Option<(f64, f64)> {
        let (mut product, mut pairs) = (0.0, 0.0);
        let reach = i64::from(k) + 1;
        // One half of the plane: the other holds the same pairs the other way round.
        for dy in 0..=reach {
            for dx in -reach..=reach {
                if (dy == 0 && dx <= 0) || ring_of(dx, dy) != k {
                    continue;
                }
                let (of_values, of_pixels) = self.shifted(dx, dy as usize);
                product += of_values;
                pairs += of_pixels;
            }
        }
        (pairs > 0.0).then(|| (2.0 * pairs, product / pairs / self.variance))
    }

    /// Sum of products of pixels that lie (dx, dy) apart, and how many pairs of pixels there are.
    fn shifted(&self, dx: i64, dy: usize) -> (f64, f64) {
        let across = dx.unsigned_abs() as usize;
        if dy >= self.height || across >= self.width {
            return (0.0, 0.0);
        }
        let length = self.width - across;
        let (first, second) = if dx >= 0 { (0, across) } else { (across, 0) };
        let (mut product, mut pairs) = (0.0, 0.0);
        for y in 0..self.height - dy {
            let (from, to) = (y * self.width + first, (y + dy) * self.width + second);
            product += dot(&self.deviations[from..from + length], &self.deviations[to..to + length]);
            pairs += dot(&self.present[from..from + length], &self.present[to..to + length]);
        }
        (product, pairs)
    }
}

/// floor(distance + 1/2) without a root: the k with (k - 1/2)² <= d² < (k + 1/2)², that is k² - k < d² <= k² + k for whole d².
fn ring_of(dx: i64, dy: i64) -> u32 {
    let square = (dx * dx + dy * dy) as u64;
    let mut k = square.isqrt();
    if square > k * k + k {
        k += 1;
    }
    k as u32
}

/// Sum of products in eight lanes: the order is fixed.
fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0f64; 8];
    let (rest_a, rest_b) = (a.chunks_exact(8).remainder(), b.chunks_exact(8).remainder());
    for (x, y) in a.chunks_exact(8).zip(b.chunks_exact(8)) {
        for i in 0..8 {
            lanes[i] += x[i] * y[i];
        }
    }
    for (i, (x, y)) in rest_a.iter().zip(rest_b).enumerate() {
        lanes[i] += x * y;
    }
    ((lanes[0] + lanes[4]) + (lanes[2] + lanes[6])) + ((lanes[1] + lanes[5]) + (lanes[3] + lanes[7]))
}

/// n / (1 + 2 sum (1 - k/n) rho^k, k = 1..n-1): what `n` values along a line are worth where each has the correlation `rho`
/// with the next and no memory beyond (N. Cressie, Statistics for Spatial Data, 1993: n = 10, rho = 0.26 are worth 6.2).
/// `None` for n = 0 or `rho` outside -1 < rho < 1. A negative `rho` is worth more than n.
pub fn ar1_effective_n(n: u32, rho: f64) -> Option<f64> {
    if n == 0 || rho.is_nan() || rho.abs() >= 1.0 {
        return None;
    }
    let (mut total, mut power) = (1.0, 1.0);
    for k in 1..n {
        power *= rho;
        if power == 0.0 {
            break;
        }
        total += 2.0 * (1.0 - f64::from(k) / f64::from(n)) * power;
    }
    Some(f64::from(n) / total)
}

/// What n values are worth, from the matrix of their correlations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FormalEffective {
    /// 1' R^-1 1: for the best weighted mean (R. Vallejos and F. Osorio, Spat. Stat. 9 (2014) 88, from memory).
    pub of_best_mean: f64,
    /// n² / 1' R 1: for the plain mean. Not above the other.
    pub of_plain_mean: f64,
}

/// Both forms from `matrix`, n x n, row by row. `Ok(None)` where it is empty, not square, or not positive definite (by
/// Cholesky's decomposition; only the lower half is read for it).
///
/// # Errors
/// Out of memory.
pub fn effective_n_of_matrix(matrix: &[f64]) -> Result<Option<FormalEffective>, OutOfMemory> {
    let n = matrix.len().isqrt();
    if n == 0 || n * n != matrix.len() {
        return Ok(None);
    }
    let mut lower = try_vec(matrix.len() as u64)?;
    lower.extend_from_slice(matrix);
    if crate::numerics::cholesky::decompose(&mut lower, n).is_none() {
        return Ok(None);
    }
    let mut ones = try_filled_vec(n as u64, 1.0)?;
    crate::numerics::cholesky::solve_lower(&lower, n, &mut ones);
    let of_best_mean = ones.iter().map(|v| v * v).sum();
    Ok(Some(FormalEffective { of_best_mean, of_plain_mean: (n * n) as f64 / sums::sum(matrix) }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rings_are_those_of_the_rounded_distance() {
        for dy in 0..40i64 {
            for dx in -40..40i64 {
                let distance = ((dx * dx + dy * dy) as f64).sqrt();
                assert_eq!(f64::from(ring_of(dx, dy)), (distance + 0.5).floor(), "{dx} {dy}");
            }
        }
    }

    #[test]
    fn what_does_not_vary_has_no_effective_number() {
        let of = |values: Vec<f64>| effective_n(&Grid::from_vec(4, 3, values).unwrap()).unwrap();
        assert_eq!(of(vec![5.0; 12]), None);
        assert_eq!(of(vec![f64::NAN; 12]), None);
        let mut single = vec![f64::NAN; 12];
        single[3] = 7.0;
        assert_eq!(of(single), None);
    }

    #[test]
    fn an_alternating_pattern_is_worth_all_its_pixels() {
        let values = (0..64).map(|i| f64::from((i + i / 8) % 2)).collect();
        let found = effective_n(&Grid::from_vec(8, 8, values).unwrap()).unwrap().unwrap();
        assert_eq!((found.n, found.effective, found.stopped_at), (64, 64.0, 1));
    }

    #[test]
    fn the_matrix_must_be_one_of_correlations() {
        assert_eq!(effective_n_of_matrix(&[]).unwrap(), None);
        assert_eq!(effective_n_of_matrix(&[1.0, 0.5, 0.5]).unwrap(), None);
        assert_eq!(effective_n_of_matrix(&[1.0, 2.0, 2.0, 1.0]).unwrap(), None);
        let two = effective_n_of_matrix(&[1.0, 0.5, 0.5, 1.0]).unwrap().unwrap();
        // 1'R^-1 1 = 2 / (1 + rho), n² / 1'R1 = 4 / (2 + 2 rho): the same for two values.
        assert!(
            (two.of_best_mean - 4.0 / 3.0).abs() < 1e-15 && (two.of_plain_mean - 4.0 / 3.0).abs() < 1e-15
        );
    }
}
