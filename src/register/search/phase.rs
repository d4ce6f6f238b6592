//! The shift between two pictures of one thing by the phases of their transforms, in parts of a pixel.

use crate::geometry::Point;
use crate::grid::{Grid, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::numerics::fft::{Complex, Way};
use crate::numerics::fft_any::transform_2d;
use crate::numerics::math::{cos, sin};

/// Pixels around the whole shift that are looked at more finely.
const AROUND: f64 = 1.5;
/// Frequencies with less than this share of the largest product are taken for rounding.
const NOTHING: f64 = 1e-13;

/// The shift (x, y) that lays `moving` on `reference`, pictures of one size taken as going on around their edges, to 1 /
/// `upsample` of a pixel (1 to 1000). With `phase` only the phases of the frequencies count, else also their sizes.
/// `None` for other sizes, blanks, and sides of 0 or above 2^18. Subtract the mean and let the edges fade out before, unless
/// the pictures do go on. Different elements may rise against each other: then there is no such shift.
///
/// M. Guizar-Sicairos, S. T. Thurman and J. R. Fienup, Opt. Lett. 33 (2008) 156 (from memory): the product of the transforms
/// is turned back around the whole shift only, on a finer lattice. As scikit-image's `phase_cross_correlation`.
///
/// # Errors
/// No memory.
pub fn phase_shift(
    reference: &Grid<f64>,
    moving: &Grid<f64>,
    upsample: u32,
    phase: bool,
) -> Result<Option<Point>, OutOfMemory> {
    let (width, height) = (reference.width() as usize, reference.height() as usize);
    if (moving.width() as usize, moving.height() as usize) != (width, height)
        || !(1..=1000).contains(&upsample)
    {
        return Ok(None);
    }
    if reference.data().iter().chain(moving.data()).any(|v| !v.is_finite()) {
        return Ok(None);
    }
    let transformed = |grid: &Grid<f64>| -> Result<Option<Vec<Complex>>, OutOfMemory> {
        let mut out = try_filled_vec(grid.len(), Complex::default())?;
        out.iter_mut().zip(grid.data()).for_each(|(o, v)| o.re = *v);
        Ok(transform_2d(&mut out, width, height, Way::Forward).then_some(out))
    };
    let (Some(mut product), Some(other)) = (transformed(reference)?, transformed(moving)?) else {
        return Ok(None);
    };
    let mut most = 0.0f64;
    for (a, b) in product.iter_mut().zip(&other) {
        *a = *a * Complex::new(b.re, -b.im);
        most = most.max(a.squared());
    }
    if phase {
        for a in &mut product {
            // What is only rounding has no phase.
            let size =
                if a.squared() > NOTHING * NOTHING * most { a.squared().sqrt() } else { f64::INFINITY };
            *a = Complex::new(a.re / size, a.im / size);
        }
    }
    let mut back = product.clone();
    transform_2d(&mut back, width, height, Way::Backward);
    let best = largest(&back);
    let signed = |at: usize, side: usize| if at > side / 2 { at as f64 - side as f64 } else { at as f64 };
    let whole = (signed(best % width, width), signed(best / width, height));
    if upsample == 1 {
        return Ok(Some(whole));
    }
    Ok(Some(finer(&product, (width, height), whole, f64::from(upsample))))
}

/// The first of the largest. What differs only by rounding is equal: half a pixel lies between two.
fn largest(values: &[Complex]) -> usize {
    let is_larger = |i: usize, best: usize| values[i].squared() > values[best].squared() * (1.0 + 1e-9);
    (0..values.len()).fold(0, |best, i| if is_larger(i, best) { i } else { best })
}

/// Turned back on a lattice of 1 / `upsample` pixels, `AROUND` pixels wide, about a whole shift.
fn finer(product: &[Complex], (width, height): (usize, usize), whole: Point, upsample: f64) -> Point {
    let region = (upsample * AROUND).ceil() as usize;
    let middle = (region as f64 / 2.0).floor();
    let place = |i: usize, shift: f64| shift + (i as f64 - middle) / upsample;
    // exp(2 pi i f s / n) for frequency f, from below 0 to above.
    let factor = |f: usize, side: usize, shift: f64| {
        let f = if f > (side - 1) / 2 { f as f64 - side as f64 } else { f as f64 };
        let angle = 2.0 * std::f64::consts::PI * f * shift / side as f64;
        Complex::new(cos(angle), sin(angle))
    };
    let add = |sum: Complex, term: Complex| Complex::new(sum.re + term.re, sum.im + term.im);
    // Along x first: for each row of frequencies its sums at the finer places across.
    let mut across = vec![Complex::default(); height * region];
    for i in 0..region {
        let factors: Vec<Complex> = (0..width).map(|f| factor(f, width, place(i, whole.0))).collect();
        for (y, row) in product.chunks_exact(width).enumerate() {
            across[y * region + i] =
                row.iter().zip(&factors).fold(Complex::default(), |sum, (v, f)| add(sum, *v * *f));
        }
    }
    let mut values = vec![Complex::default(); region * region];
    for j in 0..region {
        for y in 0..height {
            let down = factor(y, height, place(j, whole.1));
            for i in 0..region {
                values[j * region + i] = add(values[j * region + i], across[y * region + i] * down);
            }
        }
    }
    let best = largest(&values);
    (place(best % region, whole.0), place(best / region, whole.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_rolled_picture_is_rolled_back_and_misfits_are_none() {
        let of = |x: u32, y: u32| f64::from((x * x * 7 + y * 13 + x * y) % 29);
        let grid = |dx: u32, dy: u32| {
            let data = (0..30 * 21).map(|i| of((i % 30 + 30 - dx) % 30, (i / 30 + 21 - dy) % 21)).collect();
            Grid::from_vec(30, 21, data).unwrap()
        };
        for phase in [true, false] {
            assert_eq!(phase_shift(&grid(0, 0), &grid(4, 3), 1, phase).unwrap(), Some((-4.0, -3.0)));
            let fine = phase_shift(&grid(0, 0), &grid(27, 18), 10, phase).unwrap().unwrap();
            assert!((fine.0 - 3.0).abs() < 1e-9 && (fine.1 - 3.0).abs() < 1e-9, "{fine:?}");
        }
        let small = Grid::from_vec(1, 1, vec![1.0]).unwrap();
        assert!(phase_shift(&grid(0, 0), &small, 1, true).unwrap().is_none());
        let blank = Grid::from_vec(1, 1, vec![f64::NAN]).unwrap();
        assert!(phase_shift(&small, &blank, 1, true).unwrap().is_none());
    }
}
