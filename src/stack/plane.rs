//! The pixels of a map as they are used: as read, with what was stated to be blank left out and a stated scale undone.
//! The original is never changed.

use super::pyramid::Pyramid;
use crate::geometry::Area;
use crate::grid::{Grid, SampleType, Samples, try_filled_vec, with_grid};
use crate::notice::OutOfMemory;
use std::cell::OnceCell;

/// From this many pixels on, a map is drawn by way of its [`Pyramid`] where it is scaled down far enough.
const LARGE: u64 = 1 << 20;
/// Pixels converted at once on the way to single precision.
const CHUNK: usize = 512;

/// What was stated of a map's numbers. The default changes nothing.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// Values that mean "no data", beside those that are not finite.
    pub fill_values: Vec<f64>,
    /// Parts of the picture that hold no data (burnt-in text, bars, margins).
    pub blank_areas: Vec<Area>,
    /// Stored steps for each count; above 0.
    pub gain: f64,
    /// What is stored where nothing was counted.
    pub offset: f64,
}

impl Default for Reading {
    fn default() -> Self {
        Self { fill_values: Vec::new(), blank_areas: Vec::new(), gain: 1.0, offset: 0.0 }
    }
}

impl Reading {
    /// True where the numbers are used as stored.
    pub fn is_plain(&self) -> bool {
        *self == Self::default()
    }

    /// True where a stored number is one of the fill values.
    fn is_fill(&self, stored: f64) -> bool {
        self.fill_values.contains(&stored)
    }

    fn value(&self, stored: f64) -> f64 {
        if stored.is_finite() && !self.is_fill(stored) {
            (stored - self.offset) / self.gain
        } else {
            f64::NAN
        }
    }

    /// [`Reading::value`] of many, one rule after the other, so that each is a plain loop.
    fn apply(&self, stored: &mut [f64]) {
        for v in stored.iter_mut() {
            *v = if v.is_finite() { *v } else { f64::NAN };
        }
        for &fill in &self.fill_values {
            for v in stored.iter_mut() {
                *v = if *v == fill { f64::NAN } else { *v };
            }
        }
        if self.gain == 1.0 && self.offset == 0.0 {
            return;
        }
        for v in stored.iter_mut() {
            *v = (*v - self.offset) / self.gain;
        }
    }
}

/// The pixels of a map with what was stated of them. Equal by these alone; a copy makes its own [`Pyramid`] when needed.
#[derive(Debug)]
pub struct Plane {
    samples: Samples,
    reading: Reading,
    pyramid: OnceCell<Pyramid>,
}

impl Clone for Plane {
    fn clone(&self) -> Self {
        Self { samples: self.samples.clone(), reading: self.reading.clone(), pyramid: OnceCell::new() }
    }
}

impl PartialEq for Plane {
    fn eq(&self, other: &Self) -> bool {
        self.samples == other.samples && self.reading == other.reading
    }
}

impl Plane {
    /// Pixels as they were read, nothing stated.
    pub fn new(samples: Samples) -> Self {
        Self { samples, reading: Reading::default(), pyramid: OnceCell::new() }
    }

    /// The same pixels with what is stated of them.
    pub fn read_as(self, reading: Reading) -> Self {
        let pyramid = if reading == self.reading { self.pyramid } else { OnceCell::new() };
        Self { samples: self.samples, reading, pyramid }
    }

    /// True for a map that is drawn by way of its pyramid when scaled down.
    pub fn is_large(&self) -> bool {
        self.len() >= LARGE
    }

    /// The map made smaller beforehand; made at the first call and kept. In single precision: limits of a picture that
    /// are closer together than a ten-millionth of the values cannot be told apart in it.
    ///
    /// # Errors
    /// No memory for it; nothing is kept then, and a later call tries again.
    pub fn pyramid(&self) -> Result<&Pyramid, OutOfMemory> {
        if let Some(pyramid) = self.pyramid.get() {
            return Ok(pyramid);
        }
        let made = Pyramid::build(self.size(), |y, row| self.read_part_f32(y, 0, row))?;
        Ok(self.pyramid.get_or_init(|| made))
    }

    /// Makes what later pictures need, if the map is large enough to need it: to be called where waiting is expected, as
    /// when a map is opened.
    ///
    /// # Errors
    /// No memory for it.
    pub fn prepare(&self) -> Result<(), OutOfMemory> {
        if self.is_large() {
            self.pyramid()?;
        }
        Ok(())
    }

    /// What was stated.
    pub fn reading(&self) -> &Reading {
        &self.reading
    }

    /// The pixels as read, every bit as stored.
    pub fn samples(&self) -> &Samples {
        &self.samples
    }

    /// Pixels in a row.
    pub fn width(&self) -> u32 {
        self.samples.width()
    }

    /// Rows.
    pub fn height(&self) -> u32 {
        self.samples.height()
    }

    /// Width and height.
    pub fn size(&self) -> (u32, u32) {
        (self.width(), self.height())
    }

    /// Number of pixels.
    pub fn len(&self) -> u64 {
        self.samples.len()
    }

    /// True without pixels.
    pub fn is_empty(&self) -> bool {
        self.samples.is_empty()
    }

    /// The type of a stored pixel.
    pub fn sample_type(&self) -> SampleType {
        self.samples.sample_type()
    }

    /// The value at a pixel: `None` outside, NaN where it is blank.
    pub fn value(&self, x: u32, y: u32) -> Option<f64> {
        let stored = self.samples.value(x, y)?;
        let is_blank = self.reading.blank_areas.iter().any(|area| area.contains(x, y));
        Some(if is_blank { f64::NAN } else { self.reading.value(stored) })
    }

    /// Writes row `y` into `out`, which must have `width` places; NaN where a pixel is blank. A row outside writes nothing.
    pub fn read_row(&self, y: u32, out: &mut [f64]) {
        self.samples.read_row(y, out);
        if y >= self.height() {
            return;
        }
        if self.reading.is_plain() {
            if matches!(self.sample_type(), SampleType::F32 | SampleType::F64) {
                for v in out.iter_mut().filter(|v| !v.is_finite()) {
                    *v = f64::NAN;
                }
            }
            return;
        }
        self.reading.apply(out);
        for area in &self.reading.blank_areas {
            if let Some(columns) = area.columns_of_row(y, self.width()) {
                out[columns].fill(f64::NAN);
            }
        }
    }

    /// As [`Plane::read_row`], but only `out.len()` columns from column `first`; all of them must be inside.
    pub fn read_part(&self, y: u32, first: u32, out: &mut [f64]) {
        let columns = first as usize..first as usize + out.len();
        #[allow(clippy::unnecessary_cast)] // one arm is f64 already
        {
            with_grid!(&self.samples, g => {
                let Some(row) = g.row(y).get(columns) else { return };
                for (slot, &v) in out.iter_mut().zip(row) { *slot = v as f64 }
            });
        }
        let is_integer = !matches!(self.sample_type(), SampleType::F32 | SampleType::F64);
        if !(is_integer && self.reading.is_plain()) {
            self.reading.apply(out);
        }
        self.blank_part(y, first, out, f64::NAN);
    }

    /// As [`Plane::read_part`], in single precision.
    pub fn read_part_f32(&self, y: u32, first: u32, out: &mut [f32]) {
        // Types that single precision holds exactly need no wider numbers to be compared with fill values.
        let is_narrow = !matches!(self.sample_type(), SampleType::U32 | SampleType::I32 | SampleType::F64);
        let is_unscaled = self.reading.gain == 1.0 && self.reading.offset == 0.0;
        if self.reading.is_plain() || (is_narrow && is_unscaled) {
            let columns = first as usize..first as usize + out.len();
            #[allow(clippy::unnecessary_cast)] // one arm is f32 already
            {
                with_grid!(&self.samples, g => {
                    let Some(row) = g.row(y).get(columns) else { return };
                    for (slot, &v) in out.iter_mut().zip(row) { *slot = v as f32 }
                });
            }
            for &fill in self.reading.fill_values.iter().filter(|&&fill| f64::from(fill as f32) == fill) {
                for v in out.iter_mut() {
                    *v = if *v == fill as f32 { f32::NAN } else { *v };
                }
            }
            if matches!(self.sample_type(), SampleType::F32 | SampleType::F64) {
                for v in out.iter_mut() {
                    *v = if v.is_finite() { *v } else { f32::NAN };
                }
            }
            self.blank_part(y, first, out, f32::NAN);
            return;
        }
        let mut buffer = [0.0f64; CHUNK];
        for (i, part) in out.chunks_mut(CHUNK).enumerate() {
            let wide = &mut buffer[..part.len()];
            self.read_part(y, first + (i * CHUNK) as u32, wide);
            for (slot, &v) in part.iter_mut().zip(wide.iter()) {
                let narrow = v as f32;
                *slot = if narrow.is_finite() { narrow } else { f32::NAN };
            }
        }
    }

    /// Adds `weight` times row `y` from column `first` to `sums`; for maps without blanks.
    pub fn add_part(&self, y: u32, first: u32, weight: f32, sums: &mut [f32]) {
        if self.reading.is_plain() {
            let columns = first as usize..first as usize + sums.len();
            #[allow(clippy::unnecessary_cast)] // one arm is f32 already
            {
                with_grid!(&self.samples, g => {
                    let Some(row) = g.row(y).get(columns) else { return };
                    for (sum, &v) in sums.iter_mut().zip(row) { *sum += weight * v as f32 }
                });
            }
            return;
        }
        let mut buffer = [0.0f32; CHUNK];
        for (i, part) in sums.chunks_mut(CHUNK).enumerate() {
            let row = &mut buffer[..part.len()];
            self.read_part_f32(y, first + (i * CHUNK) as u32, row);
            for (sum, &v) in part.iter_mut().zip(row.iter()) {
                *sum += weight * v;
            }
        }
    }

    /// Blanks the part of row `y` from column `first` that lies in a blank area.
    fn blank_part<T: Copy>(&self, y: u32, first: u32, out: &mut [T], blank: T) {
        let end = first as usize + out.len();
        for area in &self.reading.blank_areas {
            let Some(columns) = area.columns_of_row(y, self.width()) else { continue };
            let (from, to) = (columns.start.max(first as usize), columns.end.min(end));
            if from < to {
                out[from - first as usize..to - first as usize].fill(blank);
            }
        }
    }

    /// Every value, row by row; NaN where a pixel is blank.
    pub fn to_f64(&self) -> Result<Grid<f64>, OutOfMemory> {
        if self.reading.is_plain() {
            return self.samples.to_f64();
        }
        let mut data = try_filled_vec(self.len(), 0.0)?;
        for (y, row) in data.chunks_exact_mut((self.width() as usize).max(1)).enumerate() {
            self.read_row(y as u32, row);
        }
        Ok(Grid::from_vec(self.width(), self.height(), data).unwrap_or_else(|| unreachable!()))
    }

    /// The value at which counting stopped: that of the largest number of an integer type of 8 or 16 bits. `None` for
    /// other types and where that number means "no data".
    pub fn ceiling(&self) -> Option<f64> {
        let stored = self.samples.ceiling()?;
        let value = self.reading.value(stored);
        value.is_finite().then_some(value)
    }
}

#[cfg(test)]
mod tests;
