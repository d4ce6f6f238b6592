//! Which pixels of a map, along one axis, a pixel of a picture covers.

use crate::grid::try_vec;
use crate::notice::OutOfMemory;

/// Which map pixels one picture pixel covers along one axis: first, one past the last, and the shares of the outer two.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Span {
    /// The first pixel.
    pub first: u32,
    /// One past the last.
    pub end: u32,
    first_share: f64,
    last_share: f64,
}

/// The spans of all picture pixels of one axis; `None` where the pixel's centre is outside the map. A length that is not
/// whole ends within its last pixel.
pub fn spans(start: f64, step: f64, count: u32, length: f64) -> Result<Vec<Option<Span>>, OutOfMemory> {
    let mut out = try_vec(u64::from(count))?;
    let pixels = length.ceil() as u32;
    out.extend((0..count).map(|i| {
        let centre = start + (f64::from(i) + 0.5) * step;
        if centre < 0.0 || centre >= length {
            return None;
        }
        let nearest = centre as u32;
        if step <= 1.0 {
            return Some(Span { first: nearest, end: nearest + 1, first_share: 1.0, last_share: 1.0 });
        }
        let low = (start + f64::from(i) * step).max(0.0);
        let high = (start + f64::from(i + 1) * step).min(length);
        // Away from borders by rounding alone: a share below a millionth of a pixel is none.
        let first = (low + 1e-6).floor() as u32;
        let end = ((high - 1e-6).ceil() as u32).clamp(first + 1, pixels);
        let share = |pixel: u32| (high.min(f64::from(pixel + 1)) - low.max(f64::from(pixel))).clamp(0.0, 1.0);
        Some(Span { first, end, first_share: share(first), last_share: share(end - 1) })
    }));
    Ok(out)
}

impl Span {
    /// How much of a pixel is covered, 0 to 1.
    pub fn share(&self, pixel: u32) -> f64 {
        match pixel {
            p if p == self.first => self.first_share,
            p if p == self.end - 1 => self.last_share,
            _ => 1.0,
        }
    }

    /// How many pixels are covered.
    pub fn total(&self) -> f64 {
        match self.end - self.first {
            1 => self.first_share,
            several => self.first_share + f64::from(several - 2) + self.last_share,
        }
    }

    /// The sum of values by the shares covered; `values` begin at the pixel `start`, which is not after the first.
    pub fn sum_of(&self, start: u32, values: &[f32]) -> f32 {
        let covered = &values[(self.first - start) as usize..(self.end - start) as usize];
        match covered {
            [] => 0.0,
            [only] => self.first_share as f32 * only,
            [first, middle @ .., last] => {
                let mut sum = self.first_share as f32 * first;
                for v in middle {
                    sum += v;
                }
                sum + self.last_share as f32 * last
            }
        }
    }
}
