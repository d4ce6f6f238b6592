//! The connected patch of one class around a pixel.

use crate::grid::{Grid, Mask};
use crate::notice::OutOfMemory;

/// Pixels of the class at `(x, y)` that hang together with it (8 neighbours), and how many they are; `None` outside of
/// the map. Every pixel is looked at a few times at most.
///
/// # Errors
/// No memory.
pub fn patch(classes: &Grid<u8>, x: u32, y: u32) -> Result<Option<(Mask, u64)>, OutOfMemory> {
    let Some(&class) = classes.get(x, y) else { return Ok(None) };
    let (width, height) = (classes.width() as usize, classes.height() as usize);
    let mut mask = Mask::try_filled(classes.width(), classes.height(), false)?;
    let mut pixels = 0;
    // Runs of a row, from which the rows above and below are looked at.
    let mut waiting: Vec<(usize, usize)> = vec![(x as usize, y as usize)];
    let data = classes.data();
    while let Some((x, y)) = waiting.pop() {
        let row = y * width;
        let is_open = |mask: &Mask, x: usize| data[row + x] == class && !mask.data()[row + x];
        if !is_open(&mask, x) {
            continue;
        }
        let mut first = x;
        while first > 0 && is_open(&mask, first - 1) {
            first -= 1;
        }
        let mut end = x + 1;
        while end < width && is_open(&mask, end) {
            end += 1;
        }
        mask.data_mut()[row + first..row + end].fill(true);
        pixels += (end - first) as u64;
        for near in [y.wrapping_sub(1), y + 1] {
            if near >= height {
                continue;
            }
            let row = near * width;
            let (from, to) = (first.saturating_sub(1), (end + 1).min(width));
            let mut was_open = false;
            for at in from..to {
                let is_open = data[row + at] == class && !mask.data()[row + at];
                if is_open && !was_open {
                    waiting.try_reserve(1).map_err(|_| OutOfMemory(waiting.len() as u64 * 16))?;
                    waiting.push((at, near));
                }
                was_open = is_open;
            }
        }
    }
    Ok(Some((mask, pixels)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(rows: &[&str], x: u32, y: u32) -> (String, u64) {
        let width = rows[0].len() as u32;
        let data = rows.iter().flat_map(|row| row.bytes()).collect();
        let classes = Grid::from_vec(width, rows.len() as u32, data).unwrap();
        let (mask, pixels) = patch(&classes, x, y).unwrap().unwrap();
        (mask.data().iter().map(|&inside| if inside { '#' } else { '.' }).collect(), pixels)
    }

    #[test]
    fn a_patch_goes_round_corners_and_over_diagonals_and_stops_at_other_classes() {
        let rows = ["aab", "bba", "abb"];
        assert_eq!(of(&rows, 0, 0), ("##...#...".into(), 3));
        assert_eq!(of(&rows, 2, 0), ("..###..##".into(), 5));
        assert_eq!(of(&["a"], 0, 0), ("#".into(), 1));
        let spiral = ["aaaaa", "bbbba", "aaaba", "abbba", "aaaaa"];
        assert_eq!(of(&spiral, 2, 2).1, 17);
    }

    #[test]
    fn outside_there_is_none() {
        let classes = Grid::from_vec(1, 1, vec![0]).unwrap();
        assert_eq!(patch(&classes, 1, 0).unwrap(), None);
    }
}
