//! Smoothed pictures of maps. For looking only: their pixels share counts, so nothing is tested on them.

use super::line_drift::mirrored;
use super::values::{mapped, pixels_are, wrapped};
use super::{Derived, Filter, Found, Input, Recipe};
use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::math::exp;
use crate::numerics::order;
use crate::numerics::stabilise::{anscombe, inverse_unbiased};

/// The Gaussian is cut off at this many standard deviations, as scipy does.
const CUT: f64 = 4.0;

/// Half of the Gaussian, from its middle outward, the whole summing to 1.
fn kernel(sigma: f64) -> Vec<f64> {
    let radius = (CUT * sigma + 0.5).floor() as i32;
    let half: Vec<f64> = (0..=radius).map(|i| exp(-0.5 * f64::from(i * i) / (sigma * sigma))).collect();
    let all = half[0] + 2.0 * half[1..].iter().sum::<f64>();
    half.iter().map(|v| v / all).collect()
}

/// Gaussian along x and y, ends mirrored, without blanks.
fn blurred(grid: &Grid<f64>, half: &[f64]) -> Result<Grid<f64>, OutOfMemory> {
    let (width, height) = (grid.width() as usize, grid.height() as usize);
    let reach = half.len() - 1;
    let mut down: Vec<f64> = try_filled_vec(grid.len(), 0.0)?;
    let source = grid.data();
    let row = |y: i64| {
        let y = mirrored(y, height);
        &source[y * width..(y + 1) * width]
    };
    for (y, target) in down.chunks_exact_mut(width.max(1)).enumerate() {
        let y = y as i64;
        target.iter_mut().zip(row(y)).for_each(|(t, v)| *t = half[0] * v);
        for (i, &weight) in half.iter().enumerate().skip(1) {
            let pair = row(y - i as i64).iter().zip(row(y + i as i64));
            target.iter_mut().zip(pair).for_each(|(t, (a, b))| *t += weight * (a + b));
        }
    }
    let mut long: Vec<f64> = try_filled_vec((width + 2 * reach) as u64, 0.0)?;
    for line in down.chunks_exact_mut(width.max(1)) {
        for (x, slot) in long.iter_mut().enumerate() {
            let inside = x >= reach && x < reach + width;
            *slot = if inside { line[x - reach] } else { line[mirrored(x as i64 - reach as i64, width)] };
        }
        line.iter_mut().zip(&long[reach..]).for_each(|(t, v)| *t = half[0] * v);
        for (i, &weight) in half.iter().enumerate().skip(1) {
            let pair = long[reach - i..].iter().zip(&long[reach + i..]);
            line.iter_mut().zip(pair).for_each(|(t, (a, b))| *t += weight * (a + b));
        }
    }
    wrapped(grid.width(), grid.height(), down)
}

/// The same with blanks: weights of what is there, blank where the pixel is.
fn blurred_around_blanks(grid: &Grid<f64>, half: &[f64]) -> Result<Grid<f64>, OutOfMemory> {
    if !grid.data().iter().any(|v| v.is_nan()) {
        return blurred(grid, half);
    }
    let sums = blurred(&mapped(grid, |v| if v.is_nan() { 0.0 } else { v })?, half)?;
    let mut weights = blurred(&mapped(grid, |v| if v.is_nan() { 0.0 } else { 1.0 })?, half)?;
    let all = weights.data_mut().iter_mut().zip(sums.data()).zip(grid.data());
    all.for_each(|((w, sum), v)| *w = if v.is_nan() { f64::NAN } else { sum / *w });
    Ok(weights)
}

/// Median of 3 x 3, ends mirrored; of what is there (the upper of the middle two), blank where the pixel is.
fn median_of_nine(grid: &Grid<f64>) -> Result<Grid<f64>, OutOfMemory> {
    let (width, height) = (grid.width() as usize, grid.height() as usize);
    let mut out = try_vec(grid.len())?;
    for y in 0..height {
        let line = |dy: i64| {
            let y = mirrored(y as i64 + dy, height);
            &grid.data()[y * width..(y + 1) * width]
        };
        let rows = [line(-1), line(0), line(1)];
        for x in 0..width {
            let columns = [mirrored(x as i64 - 1, width), x, mirrored(x as i64 + 1, width)];
            let mut nine = [f64::NAN; 9];
            let mut n = 0;
            for row in rows {
                for column in columns {
                    if !row[column].is_nan() {
                        nine[n] = row[column];
                        n += 1;
                    }
                }
            }
            out.push(match (rows[1][x].is_nan(), n) {
                (true, _) => f64::NAN,
                (false, 9) => fifth_of(nine),
                _ => {
                    order::sort(&mut nine[..n]);
                    nine[n / 2]
                }
            });
        }
    }
    wrapped(grid.width(), grid.height(), out)
}

/// The middle of nine values by comparisons in a fixed order (a network of J. L. Smith, from memory; tried against
/// sorting in the tests).
fn fifth_of(mut v: [f64; 9]) -> f64 {
    const PAIRS: [(usize, usize); 19] = [
        (1, 2),
        (4, 5),
        (7, 8),
        (0, 1),
        (3, 4),
        (6, 7),
        (1, 2),
        (4, 5),
        (7, 8),
        (0, 3),
        (5, 8),
        (4, 7),
        (3, 6),
        (1, 4),
        (2, 5),
        (4, 7),
        (4, 2),
        (6, 4),
        (4, 2),
    ];
    for (a, b) in PAIRS {
        let (low, high) = if v[a] <= v[b] { (v[a], v[b]) } else { (v[b], v[a]) };
        (v[a], v[b]) = (low, high);
    }
    v[4]
}

pub(super) fn smooth(input: &Input<'_>, sigma_px: f64, filter: Filter) -> Result<Derived, Fault> {
    let recipe = Recipe::Smooth { sigma_px, filter };
    let is_counts = input.kind == Kind::Window;
    let mut account = Vec::new();
    let values = match filter {
        Filter::Median => {
            account.push(
                "Each pixel is the median of itself and its eight neighbours; the sum is not kept."
                    .to_owned(),
            );
            median_of_nine(input.values)?
        }
        Filter::Gaussian => {
            let half = kernel(sigma_px);
            if is_counts {
                account.push("Counts were stabilised, smoothed and turned back without bias.".to_owned());
                let mut grid = blurred_around_blanks(&mapped(input.values, anscombe)?, &half)?;
                grid.data_mut().iter_mut().for_each(|v| *v = inverse_unbiased(*v));
                grid
            } else {
                account.push("The values were smoothed as they are, because they are no counts.".to_owned());
                blurred_around_blanks(input.values, &half)?
            }
        }
    };
    let empty = super::values::blanks(&values);
    if empty > 0 {
        account.push(format!(
            "{} blank as before; the pixels around them take from what is there.",
            pixels_are(empty)
        ));
    }
    let label = recipe.sentence(&[input.label.to_owned()]);
    Ok(Derived {
        values,
        sigma: None,
        kind: Kind::DisplayCopy,
        cell: (1, 1),
        recipe,
        account,
        findings: vec![
            "A smoothed map is for looking: its pixels share their counts, so no question that needs counts is answered from it. Bin instead.".into(),
        ],
        found: Found::Nothing,
        label,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_middle_of_nine_is_what_sorting_gives() {
        // Every arrangement of ties and orders that a small generator makes.
        let mut state = 7u64;
        for _ in 0..20_000 {
            let nine: [f64; 9] = core::array::from_fn(|_| {
                state = (1_664_525 * state + 1_013_904_223) % (1 << 32);
                (state >> 29) as f64
            });
            let mut sorted = nine;
            order::sort(&mut sorted);
            assert_eq!(fifth_of(nine), sorted[4], "{nine:?}");
        }
    }

    #[test]
    fn smoothing_keeps_a_constant_and_goes_around_blanks() {
        let grid = Grid::from_vec(3, 1, vec![5.0, f64::NAN, 5.0]).unwrap();
        let smooth = blurred_around_blanks(&grid, &kernel(1.0)).unwrap();
        assert!((smooth.data()[0] - 5.0).abs() < 1e-12 && smooth.data()[1].is_nan());
        let median = median_of_nine(&grid).unwrap();
        assert_eq!((median.data()[0], median.data()[1].is_nan()), (5.0, true));
        let nothing = Grid::from_vec(0, 0, Vec::new()).unwrap();
        assert!(blurred_around_blanks(&nothing, &kernel(1.0)).unwrap().is_empty());
        assert!(median_of_nine(&nothing).unwrap().is_empty());
    }
}
