//! The pixels of a map as they are used: as read, with what was stated to be blank left out and a stated scale undone.
//! The original is never changed.

use crate::geometry::Area;
use crate::grid::{Grid, SampleType, Samples, try_filled_vec};
use crate::notice::OutOfMemory;

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
}

/// The pixels of a map with what was stated of them.
#[derive(Debug, Clone, PartialEq)]
pub struct Plane {
    samples: Samples,
    reading: Reading,
}

impl Plane {
    /// Pixels as they were read, nothing stated.
    pub fn new(samples: Samples) -> Self {
        Self { samples, reading: Reading::default() }
    }

    /// The same pixels with what is stated of them.
    pub fn read_as(self, reading: Reading) -> Self {
        Self { samples: self.samples, reading }
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
        for v in out.iter_mut() {
            *v = self.reading.value(*v);
        }
        for area in &self.reading.blank_areas {
            if let Some(columns) = area.columns_of_row(y, self.width()) {
                out[columns].fill(f64::NAN);
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
mod tests {
    use super::*;

    #[test]
    fn what_is_stated_changes_what_is_used_and_never_what_is_stored() {
        let samples = Samples::U16(Grid::from_vec(3, 2, vec![65_535, 10, 20, 30, 40, 50]).unwrap());
        let plane = Plane::new(samples.clone());
        assert_eq!((plane.value(0, 0), plane.ceiling()), (Some(65_535.0), Some(65_535.0)));
        let plane = plane.read_as(Reading {
            fill_values: vec![65_535.0],
            blank_areas: vec![Area { x: 1, y: 1, width: 9, height: 9 }],
            gain: 10.0,
            offset: 10.0,
        });
        let values = plane.to_f64().unwrap();
        assert!(values.data()[0].is_nan() && values.data()[4].is_nan() && values.data()[5].is_nan());
        assert_eq!(values.data()[1..4], [0.0, 1.0, 2.0]);
        assert!(plane.value(2, 1).unwrap().is_nan());
        assert_eq!((plane.value(3, 0), plane.ceiling()), (None, None));
        assert_eq!(plane.samples(), &samples);
    }

    #[test]
    fn infinite_is_blank() {
        let plane = Plane::new(Samples::F32(Grid::from_vec(2, 1, vec![f32::INFINITY, 1.5]).unwrap()));
        let mut row = [0.0; 2];
        plane.read_row(0, &mut row);
        assert!(row[0].is_nan() && plane.value(0, 0).unwrap().is_nan());
        assert_eq!(row[1], 1.5);
    }
}
