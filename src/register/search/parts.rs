//! Maps of one grid as a few uncorrelated patterns, in several sizes.

use super::prepare::summed_again;
use crate::grid::Grid;
use crate::notice::OutOfMemory;
use crate::numerics::eigen;
use crate::numerics::order;
use crate::numerics::stabilise::anscombe;

/// Patterns that are looked at.
pub(super) const PARTS: usize = 8;

/// Maps as [`PARTS`] patterns of mean 0 and variance 1 (those that do not exist are 0), at the pixels where all have data.
#[derive(Debug, Clone)]
pub(super) struct Patterns {
    pub width: u32,
    pub height: u32,
    /// Pixels of the reduced map in one of these, along a side.
    pub px: f64,
    /// Column and row of each pixel that has data.
    pub places: Vec<(u32, u32)>,
    /// Which of them lie in one row, row after row.
    pub rows: Vec<core::ops::Range<usize>>,
    /// Patterns at those pixels.
    pub values: Vec<[f32; PARTS]>,
    /// Patterns that exist.
    pub count: usize,
}

/// Half as large: sums of squares of two pixels, scaled up where one is blank.
///
/// # Errors
/// No memory.
pub(super) fn halved(map: &Grid<f32>) -> Result<Grid<f32>, OutOfMemory> {
    summed_again(map, 2)
}

/// Counts with an even scatter and without the outermost thousandths; NaN where blank.
fn steadied(map: &Grid<f32>) -> Vec<f64> {
    let mut values: Vec<f64> = map.data().iter().map(|v| anscombe(f64::from(*v))).collect();
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    if let (Some(low), Some(high)) = (order::quantile(&sorted, 0.002), order::quantile(&sorted, 0.998)) {
        values.iter_mut().for_each(|v| *v = if v.is_finite() { v.clamp(low, high) } else { f64::NAN });
    }
    values
}

/// How alike neighbours are, -1 to 1: near 0 for noise, and 0 where there is nothing to see.
pub(super) fn likeness_of_neighbours(map: &Grid<f32>) -> f64 {
    let values = steadied(map);
    let (mut n, mut sum, mut square, mut product) = (0.0, 0.0, 0.0, 0.0);
    for row in values.chunks_exact((map.width() as usize).max(1)) {
        for pair in row.windows(2).filter(|p| p[0].is_finite() && p[1].is_finite()) {
            n += 1.0;
            sum += 0.5 * (pair[0] + pair[1]);
            square += 0.5 * (pair[0] * pair[0] + pair[1] * pair[1]);
            product += pair[0] * pair[1];
        }
    }
    let (variance, covariance) = (square - sum * sum / n, product - sum * sum / n);
    if n > 0.0 && variance > 1e-9 * square { covariance / variance } else { 0.0 }
}

impl Patterns {
    /// The patterns of maps of one size: principal components of their standardised values.
    pub(super) fn of(maps: &[&Grid<f32>], px: f64) -> Option<Self> {
        let first = maps.first()?;
        let width = first.width() as usize;
        let steadied: Vec<Vec<f64>> = maps.iter().map(|m| steadied(m)).collect();
        let with_data: Vec<usize> =
            (0..first.data().len()).filter(|&i| steadied.iter().all(|m| m[i].is_finite())).collect();
        let n = with_data.len() as f64;
        if n < 2.0 {
            return None;
        }
        let standard: Vec<Vec<f64>> = steadied
            .iter()
            .filter_map(|map| {
                let mean = with_data.iter().map(|&i| map[i]).sum::<f64>() / n;
                let variance = with_data.iter().map(|&i| (map[i] - mean) * (map[i] - mean)).sum::<f64>() / n;
                let is_flat = variance <= 1e-12 * (1.0 + mean * mean);
                (!is_flat).then(|| with_data.iter().map(|&i| (map[i] - mean) / variance.sqrt()).collect())
            })
            .collect();
        let m = standard.len();
        let mut covariance = vec![0.0; m * m];
        for i in 0..m {
            for j in i..m {
                let value = standard[i].iter().zip(&standard[j]).map(|(a, b)| a * b).sum::<f64>() / n;
                (covariance[i * m + j], covariance[j * m + i]) = (value, value);
            }
        }
        let mut values = vec![[0.0f32; PARTS]; with_data.len()];
        let found = eigen::symmetric(&covariance, m);
        let mut count = 0;
        for (part, (variance, vector)) in found.iter().take(PARTS).enumerate() {
            // The same map twice leaves a pattern of rounding errors.
            if *variance < 1e-6 {
                break;
            }
            count += 1;
            for (i, slot) in values.iter_mut().enumerate() {
                let value: f64 = standard.iter().zip(vector).map(|(map, weight)| weight * map[i]).sum();
                slot[part] = (value / variance.sqrt()) as f32;
            }
        }
        let places: Vec<(u32, u32)> =
            with_data.iter().map(|&i| ((i % width) as u32, (i / width) as u32)).collect();
        let mut rows: Vec<core::ops::Range<usize>> = Vec::new();
        for (i, place) in places.iter().enumerate() {
            match rows.last_mut().filter(|row| places[row.start].1 == place.1) {
                Some(row) => row.end = i + 1,
                None => rows.push(i..i + 1),
            }
        }
        (count > 0).then(|| Self {
            width: first.width(),
            height: first.height(),
            px,
            places,
            rows,
            values,
            count,
        })
    }
}
