//! Sums over squares of pixels, in memory of a few rows.

use super::two::{Sums, Two};
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;

/// Gives every pixel with the sums over the square of `2 radius + 1` pixels around it, as far as the grid goes, row by row.
///
/// # Errors
/// No memory.
pub(super) fn each_square(
    two: &Two<'_>,
    radius: usize,
    mut take: impl FnMut(usize, &Sums),
) -> Result<(), OutOfMemory> {
    let (width, height) = (two.a.values.width() as usize, two.a.values.height() as usize);
    let mut columns = try_filled_vec(width as u64, Sums::default())?;
    let mut before = try_filled_vec(width as u64 + 1, Sums::default())?;
    for y in 0..height {
        columns.fill(Sums::default());
        for row in y.saturating_sub(radius)..(y + radius + 1).min(height) {
            for (x, column) in columns.iter_mut().enumerate() {
                if let Some(one) = two.one(row * width + x) {
                    *column = column.and(one);
                }
            }
        }
        for x in 0..width {
            before[x + 1] = before[x].and(columns[x]);
        }
        for x in 0..width {
            let square = before[(x + radius + 1).min(width)].without(before[x.saturating_sub(radius)]);
            take(y * width + x, &square);
        }
    }
    Ok(())
}
