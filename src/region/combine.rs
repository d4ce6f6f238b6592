//! Masks of other masks.

use crate::geometry::Orientation;
use crate::grid::{Mask, grown};
use crate::notice::OutOfMemory;

/// How masks become one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// In all of them.
    And,
    /// In any of them.
    Or,
    /// In the first and in none of the others.
    Without,
    /// In the first, or at most so many pixels from it across and down.
    Grown(u32),
    /// In the first, with nothing that is outside of it at most so many pixels away.
    Shrunk(u32),
}

/// One mask of others of one size. Those of another size than the first, and for growing and shrinking all but the first, are
/// not looked at. `None` without any.
///
/// # Errors
/// No memory.
pub fn combined(how: How, masks: &[&Mask]) -> Result<Option<Mask>, OutOfMemory> {
    let Some((first, others)) = masks.split_first() else { return Ok(None) };
    match how {
        How::Grown(by) => return grown(first, by).map(Some),
        How::Shrunk(by) => return shrunk(first, by).map(Some),
        How::And | How::Or | How::Without => {}
    }
    let mut out = copy(first)?;
    let same_size = |mask: &&&Mask| (mask.width(), mask.height()) == (first.width(), first.height());
    for other in others.iter().filter(same_size) {
        for (inside, &also) in out.data_mut().iter_mut().zip(other.data()) {
            *inside = match how {
                How::And => *inside && also,
                How::Or => *inside || also,
                How::Without => *inside && !also,
                How::Grown(_) | How::Shrunk(_) => *inside,
            };
        }
    }
    Ok(Some(out))
}

/// Pixels of `mask` whose whole square neighbourhood of `radius` is inside; what lies beside the grid is not looked at, so that
/// the border of the grid takes nothing away. The counterpart of [`grown`].
///
/// # Errors
/// No memory.
pub fn shrunk(mask: &Mask, radius: u32) -> Result<Mask, OutOfMemory> {
    let mut outside = copy(mask)?;
    for pixel in outside.data_mut() {
        *pixel = !*pixel;
    }
    let mut out = grown(&outside, radius)?;
    for pixel in out.data_mut() {
        *pixel = !*pixel;
    }
    Ok(out)
}

/// A mask of a binned map as one of the scan's own pixels: each of its pixels stands for `cell` of these, across and down, and
/// what is left over at the right and the lower border is outside. `laid` is how the map lies now, seen from how it was binned;
/// `cell` and `size` are as it lies now. `None` where that many pixels do not fit the size.
///
/// # Errors
/// No memory.
pub fn enlarged(
    mask: &Mask,
    cell: (u32, u32),
    laid: Orientation,
    size: (u32, u32),
) -> Result<Option<Mask>, OutOfMemory> {
    let back = laid.inverse();
    let (across, down) = back.size(cell);
    let (width, height) = back.size(size);
    let (columns, rows) = back.size((mask.width(), mask.height()));
    if across == 0 || down == 0 || columns != width / across || rows != height / down {
        return Ok(None);
    }
    let small = mask.oriented(back)?;
    let mut out = Mask::try_filled(width, height, false)?;
    for (y, row) in out.data_mut().chunks_exact_mut((width as usize).max(1)).enumerate() {
        let source = small.row(y as u32 / down);
        for (pixels, &inside) in row.chunks_exact_mut(across as usize).zip(source) {
            pixels.fill(inside);
        }
    }
    out.oriented(laid).map(Some)
}

fn copy(mask: &Mask) -> Result<Mask, OutOfMemory> {
    let mut out = Mask::try_filled(mask.width(), mask.height(), false)?;
    out.data_mut().copy_from_slice(mask.data());
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mask(width: u32, text: &str) -> Mask {
        let data: Vec<bool> = text.chars().filter(|c| !c.is_whitespace()).map(|c| c == '#').collect();
        Mask::from_vec(width, data.len() as u32 / width, data).unwrap()
    }

    #[test]
    fn and_or_without() {
        let (a, b, c) = (mask(4, "##.."), mask(4, "#.#."), mask(4, "#..#"));
        let of = |how, masks: &[&Mask]| combined(how, masks).unwrap().unwrap();
        assert_eq!(of(How::And, &[&a, &b, &c]), mask(4, "#..."));
        assert_eq!(of(How::Or, &[&a, &b]), mask(4, "###."));
        assert_eq!(of(How::Without, &[&a, &b, &c]), mask(4, ".#.."));
        assert_eq!(of(How::Or, &[&a]), a);
        assert_eq!(combined(How::Or, &[]).unwrap(), None);
        assert_eq!(of(How::Or, &[&a, &mask(2, "####")]), a, "of another size");
    }

    #[test]
    fn shrinking_takes_the_rim_but_not_at_the_border_of_the_grid() {
        let all = mask(5, "##### ##### #####");
        assert_eq!(shrunk(&all, 2).unwrap(), all);
        let part = mask(5, "####. ####. ####.");
        assert_eq!(shrunk(&part, 1).unwrap(), mask(5, "###.. ###.. ###.."));
        assert_eq!(shrunk(&part, 0).unwrap(), part);
        assert_eq!(combined(How::Shrunk(1), &[&part]).unwrap(), Some(shrunk(&part, 1).unwrap()));
        assert_eq!(combined(How::Grown(9), &[&part]).unwrap(), Some(all));
    }

    #[test]
    fn a_mask_of_bins_covers_their_pixels_however_the_map_was_turned_since() {
        let small = mask(2, "#. .#");
        let plain = enlarged(&small, (2, 1), Orientation::default(), (5, 2)).unwrap();
        assert_eq!(plain, Some(mask(5, "##... ..##.")));
        let plain = plain.unwrap();
        for i in 0..8 {
            let laid = Orientation::new(i % 4, i >= 4);
            let turned = small.oriented(laid).unwrap();
            let out = enlarged(&turned, laid.size((2, 1)), laid, laid.size((5, 2))).unwrap();
            assert_eq!(out, Some(plain.oriented(laid).unwrap()), "{laid:?}");
        }
        assert_eq!(enlarged(&small, (2, 1), Orientation::default(), (6, 2)).unwrap(), None);
        assert_eq!(enlarged(&small, (0, 1), Orientation::default(), (5, 2)).unwrap(), None);
    }
}
