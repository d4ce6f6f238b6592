//! Smoothed pictures of maps. For looking only: their pixels share counts, so nothing is tested on them.

use super::line_drift::mirrored;
use super::values::{mapped, pixels_are, wrapped};
use super::{Derived, Filter, Found, Input, Recipe};
use crate::grid::{Grid, try_filled_vec};
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
    let row = |y: usize, back: usize| {
        let y = mirrored(y, back, height);
        &source[y * width..(y + 1) * width]
    };
    for (y, target) in down.chunks_exact_mut(width.max(1)).enumerate() {
        target.iter_mut().zip(row(y, 0)).for_each(|(t, v)| *t = half[0] * v);
        for (i, &weight) in half.iter().enumerate().skip(1) {
            let pair = row(y, i).iter().zip(row(y + i, 0));
            target.iter_mut().zip(pair).for_each(|(t, (a, b))| *t += weight * (a + b));
        }
    }
    let mut long: Vec<f64> = try_filled_vec((width + 2 * reach) as u64, 0.0)?;
    for line in down.chunks_exact_mut(width.max(1)) {
        for (x, slot) in long.iter_mut().enumerate() {
            let inside = x >= reach && x < reach + width;
            *slot = if inside { line[x - reach] } else { line[mirrored(x, reach, width)] };
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
    let mut out = try_filled_vec(grid.len(), f64::NAN)?;
    for (y, target) in out.chunks_exact_mut(width.max(1)).enumerate() {
        let line = |y: usize, back: usize| {
            let y = mirrored(y, back, height);
            &grid.data()[y * width..(y + 1) * width]
        };
        let rows = [line(y, 1), line(y, 0), line(y + 1, 0)];
        medians_of_row(rows, target);
        // The ends, and what lies at blanks, one by one.
        let has_blank = rows.iter().any(|row| row.iter().any(|v| v.is_nan()));
        for (x, slot) in target.iter_mut().enumerate() {
            let is_end = x == 0 || x + 1 == width;
            let near = x.saturating_sub(1)..(x + 2).min(width);
            let at_blank = |row: &&[f64]| row[near.clone()].iter().any(|v| v.is_nan());
            if is_end || (has_blank && rows.iter().any(at_blank)) {
                *slot = median_of_some(rows, x);
            }
        }
    }
    wrapped(grid.width(), grid.height(), out)
}

/// Medians of all pixels of a row but the first and last, where nothing is blank; eight at a time.
fn medians_of_row(rows: [&[f64]; 3], target: &mut [f64]) {
    const LANES: usize = 8;
    let width = target.len();
    let inner = 1..width.saturating_sub(1);
    let whole = inner.len() / LANES * LANES;
    for x in inner.clone().take(whole).step_by(LANES) {
        let nine = core::array::from_fn(|i| {
            let from = x + i % 3 - 1;
            let mut lane = [0.0; LANES];
            lane.copy_from_slice(&rows[i / 3][from..from + LANES]);
            lane
        });
        target[x..x + LANES].copy_from_slice(&fifth_of(nine));
    }
    for x in inner.skip(whole) {
        target[x] = fifth_of(core::array::from_fn(|i| [rows[i / 3][x + i % 3 - 1]]))[0];
    }
}

/// The median of one pixel and its neighbours, ends mirrored, without those that are blank.
fn median_of_some(rows: [&[f64]; 3], x: usize) -> f64 {
    let width = rows[1].len();
    if rows[1][x].is_nan() {
        return f64::NAN;
    }
    let columns = [mirrored(x, 1, width), x, mirrored(x + 1, 0, width)];
    let (mut nine, mut n) = ([f64::NAN; 9], 0);
    for value in rows.iter().flat_map(|row| columns.map(|column| row[column])).filter(|v| !v.is_nan()) {
        nine[n] = value;
        n += 1;
    }
    order::sort(&mut nine[..n]);
    nine[n / 2]
}

/// The smaller and the larger, lane by lane.
#[inline(always)]
fn ordered<const LANES: usize>(a: [f64; LANES], b: [f64; LANES]) -> ([f64; LANES], [f64; LANES]) {
    let low = core::array::from_fn(|i| if a[i] < b[i] { a[i] } else { b[i] });
    let high = core::array::from_fn(|i| if a[i] < b[i] { b[i] } else { a[i] });
    (low, high)
}

/// The middle of nine values, for several sets of nine at once: each column of three in order, then the largest of the
/// lows, the middle of the middles and the smallest of the highs, and the middle of these three. (A well-known scheme,
/// from memory; tried against sorting in the tests.)
fn fifth_of<const LANES: usize>(v: [[f64; LANES]; 9]) -> [f64; LANES] {
    let three = |a, b, c| {
        let (a, b) = ordered(a, b);
        let (b, c) = ordered(b, c);
        let (a, b) = ordered(a, b);
        (a, b, c)
    };
    let (low_1, middle_1, high_1) = three(v[0], v[3], v[6]);
    let (low_2, middle_2, high_2) = three(v[1], v[4], v[7]);
    let (low_3, middle_3, high_3) = three(v[2], v[5], v[8]);
    let low = ordered(ordered(low_1, low_2).1, low_3).1;
    let middle = three(middle_1, middle_2, middle_3).1;
    let high = ordered(ordered(high_1, high_2).0, high_3).0;
    three(low, middle, high).1
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
            assert_eq!(fifth_of(nine.map(|v| [v])), [sorted[4]], "{nine:?}");
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
