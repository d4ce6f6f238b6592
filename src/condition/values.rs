//! What the recipes share: variances of inputs, kinds of results, grids turned on their side, blanks counted.

use super::{Direction, Input};
use crate::grid::{Grid, try_vec};
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::whole;
use std::borrow::Cow;

/// The variance of every value: of the error map if there is one, else of counting for counts (the count itself, 0
/// below 0), else not known.
pub fn variance(input: &Input<'_>) -> Result<Option<Grid<f64>>, OutOfMemory> {
    Ok(match (input.sigma, input.kind) {
        (Some(sigma), _) => Some(mapped(sigma, |s| s * s)?),
        (None, Kind::Window) => Some(mapped(input.values, |v| if v < 0.0 { 0.0 } else { v })?),
        (None, _) => None,
    })
}

/// The grid with every value replaced.
pub fn mapped(grid: &Grid<f64>, change: impl Fn(f64) -> f64) -> Result<Grid<f64>, OutOfMemory> {
    let mut out = try_vec(grid.len())?;
    out.extend(grid.data().iter().map(|&v| change(v)));
    wrapped(grid.width(), grid.height(), out)
}

/// Two grids of one size, value by value. Pixels beyond the shorter one cannot occur: sizes were compared.
pub fn zipped(
    a: &Grid<f64>,
    b: &Grid<f64>,
    join: impl Fn(f64, f64) -> f64,
) -> Result<Grid<f64>, OutOfMemory> {
    let mut out = try_vec(a.len())?;
    out.extend(a.data().iter().zip(b.data()).map(|(&a, &b)| join(a, b)));
    wrapped(a.width(), a.height(), out)
}

/// Values of a known number as a grid.
pub fn wrapped(width: u32, height: u32, data: Vec<f64>) -> Result<Grid<f64>, OutOfMemory> {
    let bytes = 8 * data.len() as u64;
    Grid::from_vec(width, height, data).ok_or(OutOfMemory(bytes))
}

/// A copy.
pub fn copied(grid: &Grid<f64>) -> Result<Grid<f64>, OutOfMemory> {
    mapped(grid, |v| v)
}

/// Standard deviations out of variances.
pub fn roots(variance: Option<Grid<f64>>) -> Option<Grid<f64>> {
    variance.map(|mut grid| {
        grid.data_mut().iter_mut().for_each(|v| *v = v.sqrt());
        grid
    })
}

/// Standard deviations blank where the values are.
pub fn blanked(values: &Grid<f64>, sigma: Option<Grid<f64>>) -> Option<Grid<f64>> {
    sigma.map(|mut sigma| {
        for (s, v) in sigma.data_mut().iter_mut().zip(values.data()) {
            if v.is_nan() {
                *s = f64::NAN;
            }
        }
        sigma
    })
}

/// The grid with lines as rows: itself, or turned on its side for lines that run down. The same call turns it back.
pub fn by_lines(grid: &Grid<f64>, direction: Direction) -> Result<Grid<f64>, OutOfMemory> {
    if direction == Direction::Across {
        return copied(grid);
    }
    const TILE: usize = 32;
    let (width, height) = (grid.width() as usize, grid.height() as usize);
    let mut out = Grid::try_filled(grid.height(), grid.width(), f64::NAN)?;
    let (source, target) = (grid.data(), out.data_mut());
    for top in (0..height).step_by(TILE) {
        for left in (0..width).step_by(TILE) {
            for y in top..(top + TILE).min(height) {
                for x in left..(left + TILE).min(width) {
                    target[x * height + y] = source[y * width + x];
                }
            }
        }
    }
    Ok(out)
}

/// As [`by_lines`] for looking only: no copy where lines are rows.
pub fn lines_of(grid: &Grid<f64>, direction: Direction) -> Result<Cow<'_, Grid<f64>>, OutOfMemory> {
    Ok(match direction {
        Direction::Across => Cow::Borrowed(grid),
        Direction::Down => Cow::Owned(by_lines(grid, direction)?),
    })
}

/// The way back of [`by_lines`] for a grid that is no longer needed as it is.
pub fn back_from_lines(grid: Grid<f64>, direction: Direction) -> Result<Grid<f64>, OutOfMemory> {
    if direction == Direction::Across { Ok(grid) } else { by_lines(&grid, direction) }
}

/// What a map of counts becomes when its values are no longer counts; every other kind stays what it is. `Net` because
/// its noise is taken from an error map or from the spread of the values, never from counting.
pub fn no_longer_counts(kind: Kind) -> Kind {
    if kind == Kind::Window { Kind::Net } else { kind }
}

/// The kind of a sum or difference of two kinds; `None` where such numbers cannot be added. Shape only makes shape only.
pub fn added(a: Kind, b: Kind) -> Option<Kind> {
    match (a, b) {
        (a, b) if a == b => Some(a),
        (Kind::DisplayCopy, _) | (_, Kind::DisplayCopy) => Some(Kind::DisplayCopy),
        (Kind::Fitted, b) if b.is_like_counts() => Some(Kind::Fitted),
        (a, Kind::Fitted) if a.is_like_counts() => Some(Kind::Fitted),
        (a, b) if a.is_like_counts() && b.is_like_counts() => Some(Kind::Net),
        _ => None,
    }
}

/// The fault for numbers that cannot be added.
pub fn different_kinds(a: &Input<'_>, b: &Input<'_>) -> Fault {
    Fault::new(
        "different_kinds",
        format!(
            "{} holds {} values and {} holds {} values, which cannot be added or subtracted. State their kinds if these are wrong.",
            a.label,
            a.kind.word(),
            b.label,
            b.kind.word()
        ),
    )
}

/// Pixels without data.
pub fn blanks(grid: &Grid<f64>) -> u64 {
    grid.data().iter().filter(|v| v.is_nan()).count() as u64
}

/// Sum of all pixels that have data, in a fixed order.
pub fn total(values: &[f64]) -> f64 {
    let mut lanes = [0.0f64; 8];
    for chunk in values.chunks(8) {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            *lane += if value.is_nan() { 0.0 } else { *value };
        }
    }
    ((lanes[0] + lanes[4]) + (lanes[2] + lanes[6])) + ((lanes[1] + lanes[5]) + (lanes[3] + lanes[7]))
}

/// "1 pixel", "1 010 pixels".
pub fn pixels(count: u64) -> String {
    if count == 1 { "1 pixel".into() } else { format!("{} pixels", whole(count)) }
}

/// "1 pixel is", "3 pixels are".
pub fn pixels_are(count: u64) -> String {
    format!("{} {}", pixels(count), if count == 1 { "is" } else { "are" })
}

/// What must be said where the error of a result is not known.
pub fn unknown_error(labels: &[&str]) -> String {
    format!(
        "Its error is not known, because that of {} is not: state the kind or name an error map.",
        labels.join(" and ")
    )
}
