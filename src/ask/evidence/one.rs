//! Parts of an evidence: one map in the box around a region, two maps by themselves.

use super::{Evidence, Side, band};
use crate::grid::{Grid, Mask, try_vec};
use crate::measure::{Level, Signal};
use crate::notice::OutOfMemory;

/// The map in the box around a region, with the region's pixels as those that are asked about; empty without a pixel.
///
/// # Errors
/// No memory.
pub fn crop(side: &Side, mask: &Mask) -> Result<Signal, OutOfMemory> {
    let (mut left, mut right, mut top, mut bottom) = (u32::MAX, 0, u32::MAX, 0);
    for y in 0..mask.height() {
        for (x, _) in mask.row(y).iter().enumerate().filter(|(_, inside)| **inside) {
            (left, right) = (left.min(x as u32), right.max(x as u32 + 1));
            (top, bottom) = (top.min(y), bottom.max(y + 1));
        }
    }
    let at = (left.min(right), top.min(bottom), right, bottom);
    let signal = &side.signal;
    Ok(Signal {
        values: cut(&signal.values, at)?,
        saturated: cut(&signal.saturated, at)?,
        kind: side.kind,
        sigma: signal.sigma.as_ref().map(|sigma| cut(sigma, at)).transpose()?,
        region: Some(cut(mask, at)?),
        doubt: signal.doubt.as_ref().map(|doubt| doubt.part(|most| cut(most, at))).transpose()?,
    })
}

fn cut<T: Copy>(
    grid: &Grid<T>,
    (left, top, right, bottom): (u32, u32, u32, u32),
) -> Result<Grid<T>, OutOfMemory> {
    let (width, height) = (right - left, bottom - top);
    let size = u64::from(width) * u64::from(height);
    let mut data = try_vec(size)?;
    for y in top..bottom {
        data.extend_from_slice(&grid.row(y)[left as usize..right as usize]);
    }
    // The rows are as many and as long as the size says.
    Grid::from_vec(width, height, data).ok_or(OutOfMemory(size))
}

impl Evidence {
    /// The same question about one map with this signal and level. The level is taken for an even one where it is not the map's
    /// own.
    pub fn of_one(&self, side: &Side, signal: Signal, level: Option<Level>) -> Self {
        let one = Side {
            id: side.id.clone(),
            kind: side.kind,
            line: side.line,
            signal,
            is_uneven: side.is_uneven && level.is_none(),
            level: level.map_or_else(|| side.level.clone(), Ok),
            background_region: side.background_region.clone(),
            stands_for: side.stands_for.clone(),
            roots: side.roots.clone(),
            saturated: side.saturated,
            overlaps: side.overlaps.clone(),
            presence: side.presence,
            input: side.input.clone(),
        };
        self.with_sides(vec![one])
    }

    /// The same question about two of its maps; `None` where there are no such.
    pub fn of_pair(&self, a: usize, b: usize) -> Option<Self> {
        let sides = vec![self.sides.get(a)?.clone(), self.sides.get(b)?.clone()];
        let k_band = band(&sides);
        Some(Self { k_band, ..self.with_sides(sides) })
    }

    fn with_sides(&self, sides: Vec<Side>) -> Self {
        Self {
            sides,
            asked: self.asked.clone(),
            regions: Vec::new(),
            settings: self.settings.clone(),
            step: self.step,
            rim_px: self.rim_px,
            k_band: self.k_band,
            untested: None,
            measuring: self.measuring,
            beside: Default::default(),
            change: self.change,
        }
    }
}
