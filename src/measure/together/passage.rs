//! The passage: where two maps are compared without what merely the drawing of the object does to them.
//!
//! Two materials that fill the same figure are correlated over the field however unrelated they are. So they are compared
//! where both are, away from the edges.

use crate::grid::{Mask, grown};
use crate::measure::{FEWEST_PIXELS, Level, Signal};
use crate::notice::OutOfMemory;

/// How the passage was found.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// Everything that is asked about: each map is detected nearly everywhere there or nearly nowhere.
    Everything,
    /// Where both are detected, rims left out.
    WhereBoth,
    /// That is fewer than [`FEWEST_OF_PASSAGE`] pixels.
    TooSmall,
}

/// A passage.
#[derive(Debug, Clone, PartialEq)]
pub struct Passage {
    /// Its pixels.
    pub mask: Mask,
    /// How it was found.
    pub how: How,
    /// How many they are.
    pub pixels: u64,
    /// Pixels asked about in which both maps have a value.
    pub valid: u64,
    /// Of these, pixels where A is detected, where B is, and where both are.
    pub detected: [u64; 3],
}

/// Fewer pixels than this are no passage.
pub const FEWEST_OF_PASSAGE: u64 = 100;
/// A map that is detected in a share of the pixels between these, and in [`FEWEST_PIXELS`] at least, is there in part: it
/// has edges. Below, it may be background that is detected by chance.
const IN_PART: std::ops::Range<f64> = 0.005..0.9;

/// Finds the passage of two maps of one size: everything that is asked about, where no map is there in part. Else pixels of
/// which more than half of the 3 × 3 around them (as far as they have values) hold both, and which no pixel without this
/// majority is nearer to than `rim_px`. Detected or not, the pixels inside all belong to it: choosing them one by one by
/// their counts would bend what is compared.
///
/// # Errors
/// No memory.
pub fn passage(a: &Signal, b: &Signal, at: (&Level, &Level), rim_px: u32) -> Result<Passage, OutOfMemory> {
    let (width, height) = (a.values.width(), a.values.height());
    let mut asked = Mask::try_filled(width, height, false)?;
    let (mut valid, mut detected) = (0u64, [0u64; 3]);
    for (i, slot) in asked.data_mut().iter_mut().enumerate() {
        if let (Some(in_a), Some(in_b)) = (a.valid(i), b.valid(i)) {
            *slot = true;
            valid += 1;
            let (has_a, has_b) = (in_a >= at.0.critical, in_b >= at.1.critical);
            for (count, has) in detected.iter_mut().zip([has_a, has_b, has_a && has_b]) {
                *count += u64::from(has);
            }
        }
    }
    let is_in_part =
        |n: u64| n >= FEWEST_PIXELS as u64 && IN_PART.contains(&(n as f64 / valid.max(1) as f64));
    if !is_in_part(detected[0]) && !is_in_part(detected[1]) {
        let how = if valid >= FEWEST_OF_PASSAGE { How::Everything } else { How::TooSmall };
        return Ok(Passage { mask: asked, how, pixels: valid, valid, detected });
    }
    // Where the majority is not, whatever is asked about: the edge of a region is no edge of paint.
    let mut without = Mask::try_filled(width, height, true)?;
    let (columns, rows) = (width as usize, height as usize);
    for y in 0..rows {
        for x in 0..columns {
            let (mut both, mut known) = (0u32, 0u32);
            for row in y.saturating_sub(1)..(y + 2).min(rows) {
                for column in x.saturating_sub(1)..(x + 2).min(columns) {
                    let i = row * columns + column;
                    if let (Some(in_a), Some(in_b)) = (a.anywhere(i), b.anywhere(i)) {
                        known += 1;
                        both += u32::from(in_a >= at.0.critical && in_b >= at.1.critical);
                    }
                }
            }
            without.data_mut()[y * columns + x] = 2 * both <= known;
        }
    }
    let near = grown(&without, rim_px)?;
    let mut pixels = 0;
    for (inside, near) in asked.data_mut().iter_mut().zip(near.data()) {
        *inside &= !near;
        pixels += u64::from(*inside);
    }
    let how = if pixels >= FEWEST_OF_PASSAGE { How::WhereBoth } else { How::TooSmall };
    Ok(Passage { mask: asked, how, pixels, valid, detected })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::testing::{counts, stated};

    #[test]
    fn a_figure_is_compared_inside_its_edges() {
        let figure = |x: usize, y: usize| (5..25).contains(&x) && (5..25).contains(&y);
        let values: Vec<f64> = (0..900).map(|i| if figure(i % 30, i / 30) { 40.0 } else { 1.0 }).collect();
        let (a, b) = (counts(30, 30, values.clone()), counts(30, 30, values));
        let found = passage(&a, &b, (&stated(1.0), &stated(1.0)), 2).unwrap();
        assert_eq!((found.how, found.valid, found.detected), (How::WhereBoth, 900, [400, 400, 400]));
        // The corners of the figure have no majority, so that the rim of two pixels begins at them.
        assert_eq!(found.pixels, 16 * 16 - 4);
        let none = passage(&a, &b, (&stated(1.0), &stated(1.0)), 8).unwrap();
        assert_eq!((none.how, none.pixels), (How::TooSmall, 12));
    }

    #[test]
    fn what_is_everywhere_or_nowhere_has_no_edges() {
        let (a, b) = (counts(20, 20, vec![50.0; 400]), counts(20, 20, vec![1.0; 400]));
        let found = passage(&a, &b, (&stated(1.0), &stated(1.0)), 3).unwrap();
        assert_eq!((found.how, found.pixels, found.detected), (How::Everything, 400, [400, 0, 0]));
        let (a, b) = (counts(3, 3, vec![50.0; 9]), counts(3, 3, vec![f64::NAN; 9]));
        let blank = passage(&a, &b, (&stated(1.0), &stated(1.0)), 1).unwrap();
        assert_eq!((blank.how, blank.pixels, blank.valid), (How::TooSmall, 0, 0));
    }
}
