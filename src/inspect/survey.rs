//! One pass over a map: what every detector needs, kept small.

use super::strips::Strips;
use crate::grid::{SampleType, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::sums;
use crate::stack::Plane;

/// Cells of the coarse picture across and down, whatever the map's shape.
pub(super) const CELLS: usize = 32;

/// Writes row `y` of the *stored* numbers into `out` (`width` places), NaN where the pixel is blank by any reason.
/// `scratch` is of the same length.
pub(super) fn stored_row(plane: &Plane, y: u32, out: &mut [f64], scratch: &mut [f64]) {
    if plane.reading().is_plain() {
        plane.read_row(y, out);
        return;
    }
    plane.samples().read_row(y, out);
    plane.read_row(y, scratch);
    for (stored, used) in out.iter_mut().zip(scratch.iter()) {
        if used.is_nan() {
            *stored = f64::NAN;
        }
    }
}

/// The stored number at a pixel, NaN where it is blank, `None` outside.
pub(super) fn stored(plane: &Plane, x: u32, y: u32) -> Option<f64> {
    let used = plane.value(x, y)?;
    if used.is_nan() { Some(f64::NAN) } else { plane.samples().value(x, y) }
}

/// A row as a whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Row {
    /// No pixel has data.
    Blank,
    /// Every pixel holds this number.
    Constant(f64),
    /// Values that differ, and not those of the row before.
    Data,
    /// Values that differ, each as in the row before.
    Repeated,
}

/// What one pass sees. Numbers are as stored, blanks left out.
#[derive(Debug, Clone)]
pub(super) struct Survey {
    pub size: (u32, u32),
    /// Smallest and largest; `None` when all is blank.
    pub range: Option<(f64, f64)>,
    /// Pixels at the smallest.
    pub low_count: u64,
    /// Pixels at the largest.
    pub high_count: u64,
    /// Pixels without data.
    pub blank: u64,
    /// Every number is whole.
    pub is_whole: bool,
    pub rows: Vec<Row>,
    /// Mean of each cell of the coarse picture, row by row; NaN where it has no data.
    pub coarse: Vec<f64>,
    /// Profiles of bands, for lines right across the map.
    pub strips: Strips,
}

impl Survey {
    /// The cost is one reading of every pixel.
    pub fn of(plane: &Plane) -> Result<Self, OutOfMemory> {
        let (width, height) = plane.size();
        let mut row = try_filled_vec(u64::from(width), 0.0)?;
        let mut before = try_filled_vec(u64::from(width), 0.0)?;
        let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
        let mut rows = try_vec(u64::from(height))?;
        let mut strips = Strips::of((width, height))?;
        let mut cell_sums = [0.0; CELLS * CELLS];
        let mut cell_pixels = [0u64; CELLS * CELLS];
        let edges: Vec<usize> = (0..=CELLS).map(|i| i * width as usize / CELLS).collect();
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let (mut low_count, mut high_count, mut blank) = (0u64, 0u64, 0u64);
        let is_float = matches!(plane.sample_type(), SampleType::F32 | SampleType::F64);
        let mut is_whole = true;
        for y in 0..height {
            stored_row(plane, y, &mut row, &mut scratch);
            let (row_low, row_high) = range(&row);
            if row_low < low {
                (low, low_count) = (row_low, 0);
            }
            if row_low == low {
                low_count += count(&row, low);
            }
            if row_high > high {
                (high, high_count) = (row_high, 0);
            }
            if row_high == high {
                high_count += count(&row, high);
            }
            if is_float && is_whole {
                is_whole = row.iter().all(|v| v.is_nan() || v.fract() == 0.0);
            }
            let down = y as usize * CELLS / height as usize;
            let has_blank = sums::sum(&row).is_nan();
            for across in 0..CELLS {
                let part = &row[edges[across]..edges[across + 1]];
                let cell = down * CELLS + across;
                if has_blank {
                    for &v in part.iter().filter(|v| !v.is_nan()) {
                        cell_sums[cell] += v;
                        cell_pixels[cell] += 1;
                    }
                } else {
                    cell_sums[cell] += sums::sum(part);
                    cell_pixels[cell] += part.len() as u64;
                }
            }
            strips.add(y, &row, has_blank);
            if has_blank {
                blank += row.iter().filter(|v| v.is_nan()).count() as u64;
            }
            rows.push(match row.first() {
                _ if row_low > row_high => Row::Blank,
                Some(&first) if row.iter().all(|&v| v == first) => Row::Constant(first),
                _ if y > 0 && row == before => Row::Repeated,
                _ => Row::Data,
            });
            core::mem::swap(&mut row, &mut before);
        }
        let coarse = cell_sums
            .iter()
            .zip(cell_pixels)
            .map(|(sum, n)| if n > 0 { sum / n as f64 } else { f64::NAN })
            .collect();
        Ok(Self {
            size: (width, height),
            range: (low <= high).then_some((low, high)),
            low_count,
            high_count,
            blank,
            is_whole,
            rows,
            coarse,
            strips,
        })
    }

    /// Pixels with data.
    pub fn used(&self) -> u64 {
        u64::from(self.size.0) * u64::from(self.size.1) - self.blank
    }
}

/// Smallest and largest number of a slice, NaN left out; infinities the wrong way round where there is none.
fn range(values: &[f64]) -> (f64, f64) {
    let mut low = [f64::INFINITY; 8];
    let mut high = [f64::NEG_INFINITY; 8];
    let chunks = values.chunks_exact(8);
    let rest = chunks.remainder();
    let mut take = |lane: usize, v: f64| {
        low[lane] = if v < low[lane] { v } else { low[lane] };
        high[lane] = if v > high[lane] { v } else { high[lane] };
    };
    for chunk in chunks {
        for (lane, &v) in chunk.iter().enumerate() {
            take(lane, v);
        }
    }
    for (lane, &v) in rest.iter().enumerate() {
        take(lane, v);
    }
    (low.into_iter().fold(f64::INFINITY, f64::min), high.into_iter().fold(f64::NEG_INFINITY, f64::max))
}

fn count(values: &[f64], wanted: f64) -> u64 {
    values.iter().map(|&v| u64::from(v == wanted)).sum()
}

/// Rows to look at, at most `most` of `height`, evenly spread; always ascending and the same.
pub(super) fn spread(height: u32, most: u32) -> impl Iterator<Item = u32> {
    let n = height.min(most.max(1));
    (0..n).map(move |i| ((u64::from(i) * 2 + 1) * u64::from(height) / (u64::from(n) * 2)) as u32)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};
    use crate::stack::Reading;

    #[test]
    fn a_pass_sees_range_counts_and_rows() {
        let data = vec![0u16, 5, 9, 0, 5, 9, 0, 0, 0, 1, 9, 2];
        let plane = Plane::new(Samples::U16(Grid::from_vec(3, 4, data).unwrap()));
        let survey = Survey::of(&plane).unwrap();
        assert_eq!((survey.range, survey.low_count, survey.high_count), (Some((0.0, 9.0)), 5, 3));
        assert_eq!(survey.rows, [Row::Data, Row::Repeated, Row::Constant(0.0), Row::Data]);
        let plane = plane.read_as(Reading { fill_values: vec![0.0], ..Reading::default() });
        let survey = Survey::of(&plane).unwrap();
        assert_eq!((survey.range, survey.low_count, survey.blank), (Some((1.0, 9.0)), 1, 5));
        assert_eq!(survey.rows[2], Row::Blank);
    }

    #[test]
    fn nothing_has_no_range() {
        let plane = Plane::new(Samples::F64(Grid::from_vec(2, 1, vec![f64::NAN; 2]).unwrap()));
        let survey = Survey::of(&plane).unwrap();
        assert_eq!((survey.range, survey.blank, survey.used()), (None, 2, 0));
    }

    #[test]
    fn rows_are_spread_evenly_and_never_twice() {
        assert_eq!(spread(3, 9).collect::<Vec<_>>(), [0, 1, 2]);
        assert_eq!(spread(100, 4).collect::<Vec<_>>(), [12, 37, 62, 87]);
        assert_eq!(spread(0, 4).count(), 0);
    }
}
