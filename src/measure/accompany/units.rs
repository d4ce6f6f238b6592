//! Pixels that surely hold B, and blocks of them.

use super::super::order_of;
use super::super::two::{Sums, Two};
use crate::grid::{Mask, try_vec};
use crate::notice::OutOfMemory;

/// The mean of B's neighbours (up to eight, the pixel itself left out) above background; `None` with fewer than three.
/// Neighbours beyond the region count too.
fn around(two: &Two<'_>, i: usize) -> Option<f64> {
    let (width, height) = (two.b.values.width() as usize, two.b.values.height() as usize);
    let (x, y) = (i % width, i / width);
    let (mut sum, mut n) = (0.0, 0u32);
    for near_y in y.saturating_sub(1)..(y + 2).min(height) {
        for near_x in x.saturating_sub(1)..(x + 2).min(width) {
            let near = near_y * width + near_x;
            if let Some(value) = two.b.anywhere(near).filter(|_| near != i) {
                sum += value - two.at.1.background;
                n += 1;
            }
        }
    }
    (n >= 3).then(|| sum / f64::from(n))
}

/// Pixels in which B is detected and whose neighbours hold as much of it as would be detected in a pixel. A pixel's own
/// noise hardly takes part in choosing it, so B is not only looked at where it happens to be high.
pub(in super::super) fn sure_of_b(two: &Two<'_>) -> Result<Mask, OutOfMemory> {
    two.mask(|i| two.has_b(i) && around(two, i).is_some_and(|mean| mean >= two.at.1.detection_limit))
}

/// More blocks than this are thinned by rows.
const MOST_BLOCKS: u64 = 1_000_000;

/// Sums over blocks of `side` x `side` pixels from the corner of the grid, of the pixels in `mask`; only of blocks at least
/// half of whose pixels are in it.
pub(super) fn units(two: &Two<'_>, mask: &Mask, side: u32) -> Result<Vec<Sums>, OutOfMemory> {
    let (width, height) = (mask.width(), mask.height());
    let (across, down) = (width.div_ceil(side), height.div_ceil(side));
    // Of very many blocks some rows are enough; so memory stays bounded.
    let every = (u64::from(across) * u64::from(down)).div_ceil(MOST_BLOCKS).max(1) as usize;
    let mut out = try_vec((u64::from(across) * u64::from(down)).div_ceil(every as u64) + u64::from(across))?;
    for block_y in (0..down).step_by(every) {
        for block_x in 0..across {
            let mut all = Sums::default();
            for y in block_y * side..((block_y + 1) * side).min(height) {
                for x in block_x * side..((block_x + 1) * side).min(width) {
                    let i = y as usize * width as usize + x as usize;
                    if let Some(one) = two.one(i).filter(|_| mask.data()[i]) {
                        all = all.and(one);
                    }
                }
            }
            if all.n > 0.0 && 2.0 * all.n >= f64::from(side * side) {
                out.push(all);
            }
        }
    }
    Ok(out)
}

/// B up to so many times its detection limit is faint.
const FAINT: f64 = 3.0;
/// Fewer blocks than this say nothing of the faint part.
const FEWEST_BLOCKS: usize = 8;

/// The median factor where B is faint, in blocks of 4, else 8 pixels; `None` where that is too little. Where paint is thin
/// a factor may be another than where it is thick (self-absorption), and there A without B would be looked for.
pub(super) fn at_faint_b(two: &Two<'_>, sure: &Mask) -> Result<Option<f64>, OutOfMemory> {
    let faint = two.mask(|i| {
        sure.data()[i] && around(two, i).is_some_and(|mean| mean < FAINT * two.at.1.detection_limit)
    })?;
    for side in [4, 8] {
        let blocks = units(two, &faint, side)?;
        if blocks.len() >= FEWEST_BLOCKS {
            return Ok(order_of(blocks.iter().filter(|b| b.y > 0.0).map(|b| b.x / b.y), 0.5));
        }
    }
    Ok(None)
}
