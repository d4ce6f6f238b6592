//! A map made smaller beforehand, so that a picture of a large map need not read every pixel: area means of 4 x 4
//! pixels, of 8 x 8, and so on.

use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// The side of a cell of the finest level, in map pixels. With it a pyramid without blanks takes a third of a byte for
/// each pixel, a sixth of what a map of 16 bits takes itself, and with blanks twice that.
pub const FINEST: u32 = 4;
/// No level is made of one that is not larger than this on either side.
const SMALLEST_SIDE: u32 = 128;

/// One level: the map in square cells of `factor` x `factor` pixels. Cells at the right and lower border may cover fewer
/// pixels; mean and share are over those that they cover.
#[derive(Debug, Clone)]
pub struct Level {
    factor: u32,
    means: Grid<f32>,
    /// `None` where every pixel has data.
    shares: Option<Grid<f32>>,
}

impl Level {
    /// The side of a cell in map pixels.
    pub fn factor(&self) -> u32 {
        self.factor
    }

    /// Means of the pixels with data, 0 in a cell without any.
    pub fn means(&self) -> &Grid<f32> {
        &self.means
    }

    /// The share of a cell's pixels that have data, 0 to 1; `None` where all have.
    pub fn shares(&self) -> Option<&Grid<f32>> {
        self.shares.as_ref()
    }
}

/// All levels of one map, the finest first.
#[derive(Debug, Clone)]
pub struct Pyramid {
    levels: Vec<Level>,
}

impl Pyramid {
    /// Reads a map of `width` x `height` pixels once, row by row; `read` writes a row, NaN where it is blank. Means are in
    /// single precision: right to about a ten-millionth of the largest value in the cell.
    pub fn build(
        (width, height): (u32, u32),
        mut read: impl FnMut(u32, &mut [f32]),
    ) -> Result<Self, OutOfMemory> {
        let mut levels = try_vec(32)?;
        let mut row = try_filled_vec(u64::from(width), 0.0f32)?;
        let cells = width.div_ceil(FINEST);
        let mut builder = Builder::new(width, height, FINEST)?;
        let mut counts = try_filled_vec(u64::from(cells), 0.0f32)?;
        let mut sums = try_filled_vec(u64::from(cells), 0.0f32)?;
        for top in (0..height).step_by(FINEST as usize) {
            let rows = FINEST.min(height - top);
            sums.fill(0.0);
            counts.fill(0.0);
            for y in top..top + rows {
                read(y, &mut row);
                add_cells(&row, &mut sums, &mut counts);
            }
            builder.push(&sums, &counts, rows);
        }
        levels.push(builder.finish());
        while let Some(finer) = levels.last() {
            if finer.means.width() <= SMALLEST_SIDE && finer.means.height() <= SMALLEST_SIDE {
                break;
            }
            let coarser = halved(finer, (width, height))?;
            levels.push(coarser);
        }
        Ok(Self { levels })
    }

    /// The coarsest level whose cells are at most half of this many map pixels; `None` where even the finest is coarser.
    pub fn level_for(&self, map_pixels: f64) -> Option<&Level> {
        self.levels.iter().rev().find(|level| f64::from(level.factor) <= map_pixels / 2.0)
    }

    /// All levels, the finest first.
    pub fn levels(&self) -> &[Level] {
        &self.levels
    }

    /// True where some pixel has no data.
    pub fn has_blank(&self) -> bool {
        self.levels.first().is_some_and(|level| level.shares.is_some())
    }

    /// Bytes that the levels take.
    pub fn bytes(&self) -> u64 {
        let planes = |level: &Level| level.means.len() * (4 + 4 * u64::from(level.shares.is_some()));
        self.levels.iter().map(planes).sum()
    }
}

/// Adds the pixels of a row to the cells that they lie in, and counts those with data.
fn add_cells(row: &[f32], sums: &mut [f32], counts: &mut [f32]) {
    const SIDE: usize = FINEST as usize;
    let mut cells = row.chunks_exact(SIDE);
    for ((cell, sum), count) in (&mut cells).zip(sums.iter_mut()).zip(counts.iter_mut()) {
        let (mut total, mut with_data) = (0.0, 0.0);
        for &v in cell {
            total += if v.is_nan() { 0.0 } else { v };
            with_data += if v.is_nan() { 0.0 } else { 1.0 };
        }
        *sum += total;
        *count += with_data;
    }
    let whole = row.len() / SIDE;
    for &v in cells.remainder().iter().filter(|v| !v.is_nan()) {
        sums[whole] += v;
        counts[whole] += 1.0;
    }
}

/// A level of half the resolution: of each four cells the mean by pixels with data.
fn halved(finer: &Level, (width, height): (u32, u32)) -> Result<Level, OutOfMemory> {
    let mut builder = Builder::new(width, height, finer.factor * 2)?;
    let cells = u64::from(builder.cells);
    let mut sums = try_filled_vec(cells, 0.0f32)?;
    let mut counts = try_filled_vec(cells, 0.0f32)?;
    let covered = |at: u32, length: u32| finer.factor.min(length - at * finer.factor) as f32;
    for y in 0..height.div_ceil(builder.factor) {
        sums.fill(0.0);
        counts.fill(0.0);
        let lines = (2 * y)..(2 * y + 2).min(finer.means.height());
        for line in lines {
            let down = covered(line, height);
            let shares = finer.shares.as_ref().map(|shares| shares.row(line));
            for (x, &mean) in finer.means.row(line).iter().enumerate() {
                let pixels = covered(x as u32, width) * down * shares.map_or(1.0, |shares| shares[x]);
                sums[x / 2] += pixels * mean;
                counts[x / 2] += pixels;
            }
        }
        let rows = builder.factor.min(height - y * builder.factor);
        builder.push(&sums, &counts, rows);
    }
    Ok(builder.finish())
}

/// A level row by row.
struct Builder {
    factor: u32,
    cells: u32,
    width: u32,
    height: u32,
    means: Vec<f32>,
    shares: Vec<f32>,
    has_blank: bool,
    wanted: u64,
}

impl Builder {
    fn new(width: u32, height: u32, factor: u32) -> Result<Self, OutOfMemory> {
        let cells = width.div_ceil(factor);
        let wanted = u64::from(cells) * u64::from(height.div_ceil(factor));
        let (means, shares) = (try_vec(wanted)?, try_vec(wanted)?);
        Ok(Self { factor, cells, width, height, means, shares, has_blank: false, wanted })
    }

    /// Takes a row of cells that cover `rows` rows of the map.
    fn push(&mut self, sums: &[f32], counts: &[f32], rows: u32) {
        let whole = (self.factor * rows) as f32;
        let last = ((self.width - (self.cells - 1) * self.factor) * rows) as f32;
        for (x, (&sum, &count)) in sums.iter().zip(counts).enumerate() {
            let covered = if x + 1 == sums.len() { last } else { whole };
            self.has_blank |= count < covered;
            self.means.push(if count > 0.0 { sum / count } else { 0.0 });
            self.shares.push(count / covered);
        }
    }

    fn finish(self) -> Level {
        debug_assert_eq!(self.means.len() as u64, self.wanted);
        let rows = self.height.div_ceil(self.factor);
        let grid = |data| Grid::from_vec(self.cells, rows, data).unwrap_or_else(|| unreachable!());
        let shares = self.has_blank.then(|| grid(self.shares));
        Level { factor: self.factor, means: grid(self.means), shares }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The mean of the pixels with data in a cell, and their share, straight from the definition.
    fn by_hand(values: &[f32], width: u32, factor: u32, (cx, cy): (u32, u32)) -> (f64, f64) {
        let height = values.len() as u32 / width;
        let (mut sum, mut with_data, mut covered) = (0.0, 0.0, 0.0);
        for y in cy * factor..((cy + 1) * factor).min(height) {
            for x in cx * factor..((cx + 1) * factor).min(width) {
                let v = values[(y * width + x) as usize];
                covered += 1.0;
                if !v.is_nan() {
                    sum += f64::from(v);
                    with_data += 1.0;
                }
            }
        }
        (if with_data > 0.0 { sum / with_data } else { 0.0 }, with_data / covered)
    }

    #[test]
    fn every_cell_is_the_mean_of_its_pixels_with_data() {
        let (width, height) = (1029u32, 331u32);
        let values: Vec<f32> = (0..width * height)
            .map(|i| {
                let v = (i.wrapping_mul(2_654_435_761) >> 20) as f32;
                if v > 3000.0 || i % width < 9 { f32::NAN } else { v }
            })
            .collect();
        let read = |y: u32, row: &mut [f32]| {
            row.copy_from_slice(&values[(y * width) as usize..((y + 1) * width) as usize]);
        };
        let pyramid = Pyramid::build((width, height), read).unwrap();
        let factors: Vec<u32> = pyramid.levels().iter().map(Level::factor).collect();
        assert_eq!(factors, [4, 8, 16]);
        assert!(pyramid.has_blank());
        for level in pyramid.levels() {
            for (cy, row) in (0u32..).zip(level.means().rows()) {
                for (cx, &mean) in (0u32..).zip(row) {
                    let (want, share) = by_hand(&values, width, level.factor(), (cx, cy));
                    assert!((f64::from(mean) - want).abs() <= 4096.0 * 1e-6, "{cx} {cy}: {mean} {want}");
                    let got = f64::from(*level.shares().unwrap().get(cx, cy).unwrap());
                    assert!((got - share).abs() < 1e-6);
                }
            }
        }
    }

    #[test]
    fn a_map_without_blanks_needs_no_shares_and_a_sixth_of_its_own_bytes() {
        let pyramid = Pyramid::build((2048, 1024), |_, row| row.fill(7.0)).unwrap();
        assert!(!pyramid.has_blank());
        assert!(pyramid.bytes() as f64 <= 0.17 * 2.0 * 2048.0 * 1024.0);
        let blanks = Pyramid::build((2048, 1024), |_, row| {
            row.fill(7.0);
            row[5] = f32::NAN;
        })
        .unwrap();
        assert!(blanks.bytes() as f64 <= 0.34 * 2.0 * 2048.0 * 1024.0);
    }

    #[test]
    fn cells_are_at_most_half_of_a_picture_pixel() {
        let pyramid = Pyramid::build((4096, 4096), |_, row| row.fill(1.0)).unwrap();
        let factor = |step| pyramid.level_for(step).map(Level::factor);
        assert_eq!((factor(7.9), factor(8.0), factor(16.5), factor(1e6)), (None, Some(4), Some(8), Some(32)));
    }
}
