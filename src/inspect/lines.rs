//! Lines that were lost or stand twice.

use super::survey::{Row, Survey, spread, stored, stored_row};
use crate::grid::try_filled_vec;
use crate::notice::{Lines, OutOfMemory, Sign};
use crate::stack::Plane;

/// Places at which both neighbours of a lost line hold something: a Poisson line is empty at all of them by chance less
/// often than once in e^30.
const FEWEST_FULL: usize = 30;
/// Adjacent lost lines; more are a gap of the object or the end of a scan.
const MOST_LOST: usize = 3;
/// Places other than the line's commonest value that two equal lines must have; equal by chance less often than 2^-40 even
/// if each place could hold two values only.
const FEWEST_EQUAL: usize = 40;

fn read(plane: &Plane, y: u32) -> Result<Vec<f64>, OutOfMemory> {
    let mut row = try_filled_vec(u64::from(plane.width()), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(plane.width()), 0.0)?;
    stored_row(plane, y, &mut row, &mut scratch);
    Ok(row)
}

fn read_column(plane: &Plane, x: u32) -> Result<Vec<f64>, OutOfMemory> {
    let mut column = try_filled_vec(u64::from(plane.height()), f64::NAN)?;
    for (y, v) in column.iter_mut().enumerate() {
        *v = stored(plane, x, y as u32).unwrap_or(f64::NAN);
    }
    Ok(column)
}

/// True if the lines beside a run of lost lines are both full.
fn between_full(before: &[f64], after: &[f64], lost: f64) -> bool {
    let is_full = |v: f64| !v.is_nan() && v != lost && v != 0.0;
    let (n, both) =
        (before.len(), before.iter().zip(after).filter(|(a, b)| is_full(**a) && is_full(**b)).count());
    both >= FEWEST_FULL && both * 4 >= n
}

/// Pixels that carry something: that differ from the one before.
fn changes(line: &[f64]) -> usize {
    line.windows(2).filter(|pair| pair[0] != pair[1] && !pair[0].is_nan() && !pair[1].is_nan()).count()
}

/// Columns as [`Row`]s, looked at in 64 rows first; all rows are read only while suspects are left.
fn columns(plane: &Plane) -> Result<Vec<Row>, OutOfMemory> {
    let (width, height) = plane.size();
    let n = width as usize;
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut first = try_filled_vec(u64::from(width), f64::NAN)?;
    let mut is_constant = try_filled_vec(u64::from(width), true)?;
    let mut is_repeated = try_filled_vec(u64::from(width), true)?;
    for (i, y) in spread(height, 64).enumerate() {
        stored_row(plane, y, &mut row, &mut scratch);
        if i == 0 {
            first.copy_from_slice(&row);
        }
        for x in 0..n {
            is_constant[x] &= row[x] == first[x];
            is_repeated[x] &= x > 0 && row[x] == row[x - 1];
        }
    }
    let mut suspects: Vec<usize> = (0..n).filter(|&x| is_constant[x] || is_repeated[x]).collect();
    for y in 0..height {
        if suspects.is_empty() {
            break;
        }
        stored_row(plane, y, &mut row, &mut scratch);
        suspects.retain(|&x| {
            is_constant[x] &= row[x] == first[x];
            is_repeated[x] &= x > 0 && row[x] == row[x - 1];
            is_constant[x] || is_repeated[x]
        });
    }
    let mut out = try_filled_vec(u64::from(width), Row::Data)?;
    for x in suspects {
        out[x] = if is_constant[x] { Row::Constant(first[x]) } else { Row::Repeated };
    }
    Ok(out)
}

/// Runs of `Constant` of at most three lines with full lines on both sides.
fn lost(rows: &[Row], line: &dyn Fn(u32) -> Result<Vec<f64>, OutOfMemory>) -> Result<Vec<u32>, OutOfMemory> {
    let mut out = Vec::new();
    let mut at = 1;
    while at + 1 < rows.len() {
        let Row::Constant(value) = rows[at] else {
            at += 1;
            continue;
        };
        let run = rows[at..].iter().take_while(|row| **row == Row::Constant(value)).count();
        let after = at + run;
        let has_data = |i: usize| matches!(rows.get(i), Some(Row::Data | Row::Repeated));
        if run <= MOST_LOST
            && has_data(at - 1)
            && has_data(after)
            && between_full(&line(at as u32 - 1)?, &line(after as u32)?, value)
        {
            out.extend((at..after).map(|i| i as u32));
        }
        at = after;
    }
    Ok(out)
}

/// Lines that are copies of the line before and hold enough to make that no chance.
fn repeated(
    rows: &[Row],
    line: &dyn Fn(u32) -> Result<Vec<f64>, OutOfMemory>,
) -> Result<Vec<u32>, OutOfMemory> {
    let mut out = Vec::new();
    for at in (1..rows.len()).filter(|&at| rows[at] == Row::Repeated) {
        if changes(&line(at as u32)?) >= FEWEST_EQUAL {
            out.push(at as u32);
        }
    }
    Ok(out)
}

/// How often each line stands, where all lines (but for a rest at the end) stand equally often; else 1.
fn times(rows: &[Row]) -> u32 {
    let repeats = rows.iter().filter(|row| **row == Row::Repeated).count();
    if repeats * 3 < rows.len() {
        return 1;
    }
    (2u32..=16)
        .find(|&n| {
            let n = n as usize;
            let fits = rows.iter().enumerate().all(|(i, row)| match row {
                Row::Data => i % n == 0,
                Row::Repeated => i % n != 0,
                _ => true,
            });
            fits && repeats * n * 10 >= rows.len() * (n - 1) * 5
        })
        .unwrap_or(1)
}

/// Lost and repeated rows and columns, and maps enlarged by copying pixels.
///
/// Not seen: lost lines in maps too faint to tell (fewer than 30 places where both neighbours hold something), lost lines at
/// the border, more than three side by side; copies of lines with fewer than 40 changes along them.
pub(super) fn look(plane: &Plane, survey: &Survey) -> Result<Vec<Sign>, OutOfMemory> {
    let columns = columns(plane)?;
    let (across, down) = (times(&columns), times(&survey.rows));
    if across > 1 && down > 1 {
        return Ok(vec![Sign::Enlarged { across, down }]);
    }
    let row = |y: u32| read(plane, y);
    let column = |x: u32| read_column(plane, x);
    let mut out = Vec::new();
    for (lines, numbers) in
        [(Lines::Rows, lost(&survey.rows, &row)?), (Lines::Columns, lost(&columns, &column)?)]
    {
        if !numbers.is_empty() {
            out.push(Sign::DroppedLines { lines, numbers });
        }
    }
    for (lines, numbers) in
        [(Lines::Rows, repeated(&survey.rows, &row)?), (Lines::Columns, repeated(&columns, &column)?)]
    {
        if !numbers.is_empty() {
            out.push(Sign::RepeatedLines { lines, numbers });
        }
    }
    Ok(out)
}
