//! A colour picture taken in row by row, so that a large one is never held whole.

use super::{AS_MAP, AS_PHOTO, Decoded, Doubt, Photo};
use crate::colour::Means;
use crate::geometry::Orientation;
use crate::grid::{Grid, try_vec};
use crate::notice::{Finding, OutOfMemory};
use crate::reading::colour_scale;

/// A photo above this many pixels is kept as means of its pixels.
pub const MOST_KEPT_PIXELS: u64 = 25_000_000;

/// Takes the rows of a file from the first on.
pub(in crate::reading) struct Rows {
    format: &'static str,
    size: (u32, u32),
    laid: Orientation,
    factor: u32,
    means: Means,
    stride: u32,
    looked_at: Vec<[u8; 3]>,
    is_grey: bool,
    rows: u32,
    /// A photo was asked for, so that nothing is asked.
    is_photo: bool,
}

/// The smallest whole factor that brings a photo to at most [`MOST_KEPT_PIXELS`].
fn factor_of((width, height): (u32, u32)) -> u32 {
    let kept = |factor: &u32| u64::from(width.div_ceil(*factor)) * u64::from(height.div_ceil(*factor));
    (1u32..).find(|factor| kept(factor) <= MOST_KEPT_PIXELS).unwrap_or(1)
}

impl Rows {
    /// For a picture of `size` in the file, which `laid` brings upright. Where it shall be read as a map all its pixels are
    /// kept.
    ///
    /// # Errors
    /// No memory for what is kept.
    pub(in crate::reading) fn new(
        format: &'static str,
        size: (u32, u32),
        laid: Orientation,
        way: Option<&str>,
    ) -> Result<Self, OutOfMemory> {
        let factor = if way == Some(AS_MAP) { 1 } else { factor_of(size) };
        let stride = colour_scale::stride(size);
        Ok(Self {
            format,
            size,
            laid,
            factor,
            means: Means::new(size, factor, laid.runs_backward())?,
            stride,
            looked_at: try_vec(u64::from(size.0.div_ceil(stride)) * u64::from(size.1.div_ceil(stride)))?,
            is_grey: true,
            rows: 0,
            is_photo: way == Some(AS_PHOTO),
        })
    }

    /// Takes the next row.
    pub(in crate::reading) fn push(&mut self, row: &[[u8; 3]]) {
        self.is_grey = self.is_grey && row.iter().all(|[r, g, b]| r == g && g == b);
        if self.rows.is_multiple_of(self.stride) {
            self.looked_at.extend(row.iter().step_by(self.stride as usize));
        }
        self.rows = self.rows.saturating_add(1);
        self.means.push(row);
    }

    /// The photo, upright, and what speaks against its being one.
    ///
    /// # Errors
    /// Rows that are not exactly those of the picture; no memory.
    pub(in crate::reading) fn finish(self) -> Result<Decoded, Finding> {
        let differs =
            || Finding::Damaged { format: self.format, what: "its size and its data differ".into() };
        let kept = self.means.finish().ok_or_else(differs)?;
        let (across, down) = (self.size.0.div_ceil(self.stride), self.size.1.div_ceil(self.stride));
        let looked_at = Grid::from_vec(across, down, self.looked_at).ok_or_else(differs)?;
        let doubt = if self.is_photo {
            Doubt::None
        } else if self.is_grey && !kept.is_empty() {
            Doubt::Grey
        } else if colour_scale::is_colour_mapped(&looked_at)? {
            Doubt::Scale
        } else {
            Doubt::None
        };
        drop(looked_at);
        let pixels = if self.laid.is_plain() { kept } else { kept.oriented(self.laid)? };
        let photo = Photo { pixels, size: self.laid.size(self.size), factor: self.factor };
        Ok(Decoded { format: self.format, photo, doubt, findings: Vec::new() })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_factor_is_the_smallest_that_suffices() {
        assert_eq!(factor_of((5000, 5000)), 1);
        assert_eq!(factor_of((5001, 5000)), 2);
        assert_eq!(factor_of((10_000, 10_000)), 2);
        assert_eq!(factor_of((12_000, 10_000)), 3);
        // Cells at the border count as whole ones.
        assert_eq!(factor_of((10_001, 10_000)), 3);
        assert_eq!((factor_of((0, 7)), factor_of((65_535, 1))), (1, 1));
    }
}
