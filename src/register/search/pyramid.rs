//! Smaller and smaller pictures, each smoothed before it is made smaller.

use crate::grid::{Grid, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::numerics::math::exp;

/// Standard deviation of the Gaussian before halving, in pixels.
const SIGMA: f64 = 2.0 / 3.0;
/// The Gaussian is cut off at this many standard deviations.
const CUT: f64 = 4.0;

/// Half as large, sides rounded up: smoothed by a Gaussian of 2/3 pixels with mirrored ends, then read between pixels in
/// proportion at the places that the new pixels' centres have. Blank pixels take no part; where the Gaussian finds none
/// with data, the result is blank. P. J. Burt and E. H. Adelson, IEEE Trans. Commun. 31 (1983) 532 (from memory), with the
/// weights of scikit-image's `pyramid_reduce`.
///
/// # Errors
/// No memory.
pub fn gaussian_half(grid: &Grid<f64>) -> Result<Grid<f64>, OutOfMemory> {
    let (width, height) = (grid.width() as usize, grid.height() as usize);
    let (out_width, out_height) = (grid.width().div_ceil(2), grid.height().div_ceil(2));
    if grid.is_empty() {
        return Grid::try_filled(out_width, out_height, f64::NAN);
    }
    let reach = (CUT * SIGMA + 0.5) as usize;
    let half: Vec<f64> = (0..=reach).map(|i| exp(-0.5 * (i * i) as f64 / (SIGMA * SIGMA))).collect();
    // Values and what of them there is, both smoothed alike.
    let mut now: Vec<[f64; 2]> = try_filled_vec(grid.len(), [0.0; 2])?;
    for (slot, v) in now.iter_mut().zip(grid.data()).filter(|(_, v)| v.is_finite()) {
        *slot = [*v, 1.0];
    }
    let mut next: Vec<[f64; 2]> = try_filled_vec(grid.len(), [0.0; 2])?;
    for (stride, side) in [(1, width), (width, height)] {
        for (i, slot) in next.iter_mut().enumerate() {
            let at = i / stride % side;
            let first = i - at * stride;
            let mut sum = now[i].map(|v| v * half[0]);
            for (k, weight) in half.iter().enumerate().skip(1) {
                for place in [mirrored(at + 2 * side * reach - k, side), mirrored(at + k, side)] {
                    let from = now[first + place * stride];
                    (0..2).for_each(|c| sum[c] += weight * from[c]);
                }
            }
            *slot = sum;
        }
        core::mem::swap(&mut now, &mut next);
    }
    let mut out = Grid::try_filled(out_width, out_height, f64::NAN)?;
    let place = |i: usize, from: usize, to: u32| {
        let at = ((i as f64 + 0.5) * from as f64 / f64::from(to) - 0.5).clamp(0.0, (from - 1) as f64);
        let low = (at as usize).min(from - 1);
        (low, (low + 1).min(from - 1), at - low as f64)
    };
    for (i, slot) in out.data_mut().iter_mut().enumerate() {
        let (left, right, fx) = place(i % out_width as usize, width, out_width);
        let (above, below, fy) = place(i / out_width as usize, height, out_height);
        let (mut sum, mut there) = (0.0, 0.0);
        for (x, y, weight) in [
            (left, above, (1.0 - fx) * (1.0 - fy)),
            (right, above, fx * (1.0 - fy)),
            (left, below, (1.0 - fx) * fy),
            (right, below, fx * fy),
        ] {
            let [value, part] = now[y * width + x];
            if part > 0.0 {
                sum += weight * value / part;
                there += weight;
            }
        }
        if there > 0.0 {
            *slot = sum / there;
        }
    }
    Ok(out)
}

/// The pixel that stands beyond an edge: the edge pixel twice, then back; the same again every two sides.
fn mirrored(at: usize, side: usize) -> usize {
    let around = at % (2 * side);
    if around < side { around } else { 2 * side - 1 - around }
}

/// The picture and its halves, up to `levels` of them in all or until a side is 1.
///
/// # Errors
/// No memory.
pub fn gaussian_pyramid(grid: Grid<f64>, levels: usize) -> Result<Vec<Grid<f64>>, OutOfMemory> {
    let mut out = vec![grid];
    while let Some(last) = out.last().filter(|g| out.len() < levels && g.width().min(g.height()) > 1) {
        let next = gaussian_half(last)?;
        out.push(next);
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_constant_stays_and_blanks_are_gone_around() {
        let mut grid = Grid::try_filled(9, 6, 5.0).unwrap();
        grid.data_mut()[13] = f64::NAN;
        let all = gaussian_pyramid(grid, 9).unwrap();
        assert_eq!(
            all.iter().map(|g| (g.width(), g.height())).collect::<Vec<_>>(),
            [(9, 6), (5, 3), (3, 2), (2, 1)]
        );
        assert!(all[1..].iter().flat_map(|g| g.data()).all(|v| (v - 5.0).abs() < 1e-12));
        let blank = Grid::try_filled(20, 20, f64::NAN).unwrap();
        assert!(gaussian_half(&blank).unwrap().data().iter().all(|v| v.is_nan()));
        assert!(gaussian_half(&Grid::from_vec(0, 4, vec![]).unwrap()).unwrap().is_empty());
    }
}
