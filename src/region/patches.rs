//! Patches of a mask: pixels that hang together over edges or corners (8-connected).

use crate::grid::{Grid, Mask, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// The patches of a mask, numbered from 1 in the order of their first pixels, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Patches {
    /// The number of each pixel's patch; 0 outside.
    numbers: Grid<u32>,
    /// Pixels of each patch, the first at 0.
    sizes: Vec<u64>,
}

/// The first of a chain of labels that are one patch.
fn root(parents: &[u32], mut label: u32) -> u32 {
    while parents[label as usize] != label {
        label = parents[label as usize];
    }
    label
}

impl Patches {
    /// Finds them, by two passes and a table of labels that are one (A. Rosenfeld and J. L. Pfaltz, Journal of the ACM 13
    /// (1966) 471).
    ///
    /// # Errors
    /// No memory.
    pub fn of(mask: &Mask) -> Result<Self, OutOfMemory> {
        let (width, height) = (mask.width() as usize, mask.height() as usize);
        let mut numbers = Grid::try_filled(mask.width(), mask.height(), 0u32)?;
        // No two neighbours begin a patch, so a quarter of the pixels is enough.
        let most = u64::from(mask.width()).div_ceil(2) * u64::from(mask.height()).div_ceil(2);
        let mut parents: Vec<u32> = try_vec(most + 1)?;
        parents.push(0);
        let labels = numbers.data_mut();
        for y in 0..height {
            for x in 0..width {
                let here = y * width + x;
                if !mask.data()[here] {
                    continue;
                }
                let left = if x > 0 { labels[here - 1] } else { 0 };
                let above = |dx: usize| if y > 0 { labels[here - width + dx - 1] } else { 0 };
                let before = [
                    left,
                    if x > 0 { above(0) } else { 0 },
                    above(1),
                    if x + 1 < width { above(2) } else { 0 },
                ];
                let mut own = 0;
                for label in before.into_iter().filter(|&label| label > 0) {
                    let label = root(&parents, label);
                    if own == 0 {
                        own = label;
                    } else if label != own {
                        // The smaller one stays, so that numbers go by first pixels.
                        parents[label.max(own) as usize] = label.min(own);
                        own = label.min(own);
                    }
                }
                if own == 0 {
                    own = parents.len() as u32;
                    parents.push(own);
                }
                labels[here] = own;
            }
        }
        // The number of each label, then of each pixel.
        let mut final_numbers: Vec<u32> = try_filled_vec(parents.len() as u64, 0)?;
        let mut found = 0u32;
        for label in 1..parents.len() {
            let first = root(&parents, label as u32) as usize;
            parents[label] = first as u32;
            if first == label {
                found += 1;
                final_numbers[label] = found;
            } else {
                final_numbers[label] = final_numbers[first];
            }
        }
        let mut sizes = try_filled_vec(u64::from(found), 0u64)?;
        for label in labels.iter_mut().filter(|label| **label > 0) {
            *label = final_numbers[*label as usize];
            sizes[*label as usize - 1] += 1;
        }
        Ok(Self { numbers, sizes })
    }

    /// How many there are.
    pub fn len(&self) -> usize {
        self.sizes.len()
    }

    /// True without any.
    pub fn is_empty(&self) -> bool {
        self.sizes.is_empty()
    }

    /// Pixels of each, in order of their numbers.
    pub fn sizes(&self) -> &[u64] {
        &self.sizes
    }

    /// The number of the patch at a pixel, or of the nearest of its eight neighbours that is inside; `None` where there is none,
    /// and beside the grid.
    pub fn near(&self, x: i64, y: i64) -> Option<u32> {
        let at = |dx: i64, dy: i64| {
            let (x, y) = (x.saturating_add(dx), y.saturating_add(dy));
            let (x, y) = (u32::try_from(x).ok()?, u32::try_from(y).ok()?);
            self.numbers.get(x, y).copied().filter(|&number| number > 0)
        };
        let edges = [(0, 0), (0, -1), (-1, 0), (1, 0), (0, 1)];
        let corners = [(-1, -1), (1, -1), (-1, 1), (1, 1)];
        edges.into_iter().chain(corners).find_map(|(dx, dy)| at(dx, dy))
    }

    /// The pixels of those patches that `keep` wants, by number and size.
    ///
    /// # Errors
    /// No memory.
    pub fn kept(&self, keep: impl Fn(u32, u64) -> bool) -> Result<Mask, OutOfMemory> {
        let mut wanted: Vec<bool> = try_vec(self.sizes.len() as u64 + 1)?;
        wanted.push(false);
        wanted.extend((1u32..).zip(&self.sizes).map(|(number, &size)| keep(number, size)));
        let mut out = Mask::try_filled(self.numbers.width(), self.numbers.height(), false)?;
        for (inside, &number) in out.data_mut().iter_mut().zip(self.numbers.data()) {
            *inside = wanted[number as usize];
        }
        Ok(out)
    }

    /// How many patches have a pixel in a mask of the same size.
    ///
    /// # Errors
    /// No memory.
    pub fn touched(&self, mask: &Mask) -> Result<usize, OutOfMemory> {
        let mut seen = try_filled_vec(self.sizes.len() as u64 + 1, false)?;
        for (&number, _) in self.numbers.data().iter().zip(mask.data()).filter(|&(_, &inside)| inside) {
            seen[number as usize] = true;
        }
        Ok(seen.iter().skip(1).filter(|&&seen| seen).count())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask(width: u32, text: &str) -> Mask {
        let data: Vec<bool> = text.chars().filter(|c| !c.is_whitespace()).map(|c| c == '#').collect();
        Mask::from_vec(width, data.len() as u32 / width, data).unwrap()
    }

    #[test]
    fn corners_hang_together_and_a_late_bridge_makes_one_patch() {
        let of = mask(7, "#..#..# .#..##. #..#... ..#...#");
        let patches = Patches::of(&of).unwrap();
        assert_eq!(patches.sizes(), [3, 6, 1]);
        assert_eq!((patches.near(0, 0), patches.near(6, 0), patches.near(6, 3)), (Some(1), Some(2), Some(3)));
        assert_eq!((patches.near(5, 3), patches.near(-1, -1), patches.near(9, 9)), (Some(3), Some(1), None));
        let small = patches.kept(|_, size| size < 2).unwrap();
        assert_eq!(small, mask(7, "....... ....... ....... ......#"));
        assert_eq!(patches.touched(&small).unwrap(), 1);
        assert_eq!(patches.touched(&of).unwrap(), 3);
    }

    #[test]
    fn a_spiral_is_one_and_nothing_is_none() {
        let spiral = mask(6, "###### .....# ####.# #..#.# #....# ######");
        assert_eq!(Patches::of(&spiral).unwrap().sizes(), [23]);
        let none = Patches::of(&mask(3, "......")).unwrap();
        assert!(none.is_empty() && none.near(1, 1).is_none());
        assert_eq!(Patches::of(&Mask::try_filled(0, 0, false).unwrap()).unwrap().len(), 0);
    }
}
