//! Areas of pixels that hang together.

use crate::grid::{Mask, try_filled_vec};
use crate::notice::OutOfMemory;

/// Keeps the areas (8 neighbours) of a mask with at least `least` pixels. Returns them as a mask, and the pixels of each,
/// row by row within an area, the largest area first (equal ones in the order of their first pixel).
///
/// An empty mask gives no area; `least` of 0 or 1 keeps all.
///
/// # Errors
/// No memory.
pub fn connected(mask: &Mask, least: usize) -> Result<(Mask, Vec<Vec<usize>>), OutOfMemory> {
    let (width, height) = (mask.width() as usize, mask.height() as usize);
    let mut is_seen: Vec<bool> = try_filled_vec(mask.len(), false)?;
    let mut kept = Mask::try_filled(mask.width(), mask.height(), false)?;
    let mut areas: Vec<Vec<usize>> = Vec::new();
    let mut waiting: Vec<usize> = Vec::new();
    for start in 0..mask.data().len() {
        if !mask.data()[start] || is_seen[start] {
            continue;
        }
        let mut area = Vec::new();
        is_seen[start] = true;
        waiting.push(start);
        while let Some(at) = waiting.pop() {
            area.push(at);
            let (x, y) = (at % width, at / width);
            for near_y in y.saturating_sub(1)..(y + 2).min(height) {
                for near_x in x.saturating_sub(1)..(x + 2).min(width) {
                    let near = near_y * width + near_x;
                    if mask.data()[near] && !is_seen[near] {
                        is_seen[near] = true;
                        waiting.try_reserve(1).map_err(|_| OutOfMemory(waiting.len() as u64 * 8))?;
                        waiting.push(near);
                    }
                }
            }
        }
        if area.len() >= least {
            area.sort_unstable();
            area.iter().for_each(|&at| kept.data_mut()[at] = true);
            areas.push(area);
        }
    }
    areas.sort_by_key(|area| std::cmp::Reverse(area.len()));
    Ok((kept, areas))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn areas_hang_together_over_corners_and_small_ones_go() {
        let rows = ["#..##", ".#...", "....#", "##..#"];
        let data = rows.iter().flat_map(|row| row.bytes().map(|b| b == b'#')).collect();
        let mask = Mask::from_vec(5, 4, data).unwrap();
        let (kept, areas) = connected(&mask, 2).unwrap();
        assert_eq!(areas, [vec![0, 6], vec![3, 4], vec![14, 19], vec![15, 16]]);
        assert_eq!(kept.data().iter().filter(|v| **v).count(), 8);
        assert_eq!(connected(&mask, 3).unwrap().1, Vec::<Vec<usize>>::new());
        assert_eq!(connected(&Mask::try_filled(3, 1, false).unwrap(), 1).unwrap().1.len(), 0);
    }
}
