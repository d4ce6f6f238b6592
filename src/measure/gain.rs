//! Whether neighbours in a flat part differ as counts do.

use crate::grid::{Grid, Mask};

/// Variance from neighbour differences.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NeighbourGain {
    /// Half the mean squared difference of pixels side by side: the variance of one pixel, whatever slow slope lies under it.
    pub variance: f64,
    /// Pairs it rests on.
    pub pairs: u64,
    /// Mean of the part.
    pub mean: f64,
    /// Variance over mean: 1 for counts, g for counts times g. Below 1 also where values were smoothed.
    pub gain: f64,
}

/// Looks at the pairs side by side in a row of which both lie in `part` and hold a value (not NaN). `None` without a
/// pair, with a mean not above 0, or where `part` is of another size.
pub fn neighbour_gain(values: &Grid<f64>, part: &Mask) -> Option<NeighbourGain> {
    if (values.width(), values.height()) != (part.width(), part.height()) {
        return None;
    }
    let used = |i: usize| Some(values.data()[i]).filter(|v| part.data()[i] && !v.is_nan());
    let (variance, pairs) = difference_variance(values.width(), values.data().len(), 1, used)?;
    let (sum, pixels) =
        (0..values.data().len()).filter_map(used).fold((0.0, 0u64), |(s, n), v| (s + v, n + 1));
    let mean = sum / pixels as f64;
    (mean > 0.0).then_some(NeighbourGain { variance, pairs, mean, gain: variance / mean })
}

/// Half the mean squared difference of used pixels that lie `apart` pixels from each other in a row, and how many pairs there
/// are; `None` without one.
pub(super) fn difference_variance(
    width: u32,
    pixels: usize,
    apart: usize,
    used: impl Fn(usize) -> Option<f64>,
) -> Option<(f64, u64)> {
    let width = width as usize;
    let (mut squares, mut pairs) = (0.0, 0u64);
    for i in 0..pixels {
        if i % width.max(1) + apart >= width {
            continue;
        }
        if let (Some(one), Some(other)) = (used(i), used(i + apart)) {
            squares += (other - one) * (other - one);
            pairs += 1;
        }
    }
    (pairs > 0).then(|| (0.5 * squares / pairs as f64, pairs))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slope_is_no_noise_and_blank_pixels_make_no_pair() {
        let of = |values: Vec<f64>| {
            let grid = Grid::from_vec(values.len() as u32, 1, values).unwrap();
            let part = Grid::try_filled(grid.width(), 1, true).unwrap();
            neighbour_gain(&grid, &part)
        };
        let found = of(vec![10.0, 12.0, 10.0, f64::NAN, 12.0]).unwrap();
        assert_eq!((found.variance, found.pairs, found.mean), (2.0, 2, 11.0));
        assert_eq!(of(vec![5.0, f64::NAN]), None);
        assert_eq!(of(vec![0.0, 0.0]), None);
        let grid = Grid::from_vec(2, 1, vec![1.0, 2.0]).unwrap();
        assert_eq!(neighbour_gain(&grid, &Grid::try_filled(1, 1, true).unwrap()), None);
    }
}
