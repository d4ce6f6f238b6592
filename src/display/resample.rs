//! Rows of a picture out of the rows of a map.
//!
//! Where a picture pixel covers several map pixels it shows their mean by area. Of a map of a million pixels and more
//! this is computed in single precision: from the map's own pixels as long as the picture's are less than eight of them
//! wide, and from the level of its pyramid whose cells are at most half a picture pixel beyond that. A cell that a border
//! between two picture pixels cuts is taken to be even, so its values may be given to the wrong neighbour; see the test
//! for how much that is. Screen and export go the same way.

use super::spans::{Span, spans};
use crate::geometry::Window;
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;
use crate::stack::{Level, Plane};
use core::ops::Range;

/// A value in a picture pixel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Sampled {
    /// Outside the map.
    Outside,
    /// No map pixel with data falls on it.
    Blank,
    /// The mean of those that do.
    Value(f64),
}

/// Where the rows and columns of a picture lie on a plane of pixels.
pub struct Sampler {
    window: Window,
    size: (u32, u32),
    across: Vec<Option<Span>>,
    down: Vec<Option<Span>>,
    columns: Range<usize>,
    sums: Vec<f64>,
    shares: Vec<f64>,
    row: Vec<f64>,
    narrow: Vec<f32>,
    reduced: Option<Reduced>,
}

/// What is needed to average a large map: spans on the cells of one level, and sums of its columns.
struct Reduced {
    factor: u32,
    across: Vec<Option<Span>>,
    down: Vec<Option<Span>>,
    columns: Range<usize>,
    line: Vec<f32>,
    sums: Vec<f32>,
    shares: Vec<f32>,
}

/// The columns that spans touch, from the first to one past the last.
fn touched(spans: &[Option<Span>]) -> Range<usize> {
    let first = spans.iter().flatten().map(|span| span.first).min().unwrap_or(0);
    let end = spans.iter().flatten().map(|span| span.end).max().unwrap_or(0);
    first as usize..(end as usize).max(first as usize)
}

impl Reduced {
    fn new(window: &Window, (width, height): (u32, u32), factor: u32) -> Result<Self, OutOfMemory> {
        let (step_x, step_y) = window.map_per_picture();
        let cell = f64::from(factor);
        let across = spans(window.x / cell, step_x / cell, window.out_width, f64::from(width) / cell)?;
        let down = spans(window.y / cell, step_y / cell, window.out_height(), f64::from(height) / cell)?;
        let columns = u64::from(width.div_ceil(factor));
        let [line, sums, shares] = [(); 3].map(|()| try_filled_vec(columns, 0.0f32));
        let columns = touched(&across);
        Ok(Self { factor, across, down, columns, line: line?, sums: sums?, shares: shares? })
    }

    /// Picture row `y`, NaN where no pixel has data. `level` is `None` where the map's own pixels are read.
    fn row(
        &mut self,
        plane: &Plane,
        (level, has_blank): (Option<&Level>, bool),
        down: Span,
        out: &mut [f32],
    ) {
        let columns = self.columns.clone();
        let (sums, shares) = (&mut self.sums[columns.clone()], &mut self.shares[columns.clone()]);
        sums.fill(0.0);
        // Without blanks every column has the same share, and it need not be added up.
        shares.fill(if has_blank { 0.0 } else { down.total() as f32 });
        for line in down.first..down.end {
            let weight = down.share(line) as f32;
            match level {
                None if !has_blank => plane.add_part(line, columns.start as u32, weight, sums),
                None => {
                    let row = &mut self.line[columns.clone()];
                    plane.read_part_f32(line, columns.start as u32, row);
                    add(row, None, weight, Some(&mut *shares), sums);
                }
                Some(level) => {
                    let means = level.means().row(line);
                    let with_data = level.shares().map(|shares| &shares.row(line)[columns.clone()]);
                    add(&means[columns.clone()], with_data, weight, has_blank.then_some(&mut *shares), sums);
                }
            }
        }
        let start = columns.start as u32;
        for (slot, span) in out.iter_mut().zip(&self.across) {
            let Some(span) = span else { continue };
            // Nothing over nothing is not a number: a blank.
            *slot = if has_blank {
                span.sum_of(start, sums) / span.sum_of(start, shares)
            } else {
                span.sum_of(start, sums) / (span.total() * down.total()) as f32
            };
        }
    }
}

/// Adds a row of values to the sums of the columns. With `shares` the row may hold blanks: NaN in pixels, a share of 0 in
/// cells (`with_data`).
fn add(row: &[f32], with_data: Option<&[f32]>, weight: f32, shares: Option<&mut [f32]>, sums: &mut [f32]) {
    match (shares, with_data) {
        (None, _) => {
            for (sum, &v) in sums.iter_mut().zip(row) {
                *sum += weight * v;
            }
        }
        (Some(shares), None) => {
            for ((sum, share), &v) in sums.iter_mut().zip(shares).zip(row) {
                *sum += if v.is_nan() { 0.0 } else { weight * v };
                *share += if v.is_nan() { 0.0 } else { weight };
            }
        }
        (Some(shares), Some(with_data)) => {
            for (((sum, share), &v), &part) in sums.iter_mut().zip(shares).zip(row).zip(with_data) {
                *sum += weight * part * v;
                *share += weight * part;
            }
        }
    }
}

impl Sampler {
    /// For a window on a plane of `width` x `height` pixels.
    pub fn new(window: &Window, width: u32, height: u32) -> Result<Self, OutOfMemory> {
        Self::of_cells(window, (width, height), 1)
    }

    /// For a window on a plane of `width` x `height` pixels of which only the means of square cells are at hand, `side`
    /// pixels wide, fewer at the right and lower border. Rows and places are those of cells.
    pub fn of_cells(window: &Window, (width, height): (u32, u32), side: u32) -> Result<Self, OutOfMemory> {
        let (step_x, step_y) = window.map_per_picture();
        let cell = f64::from(side);
        let across = spans(window.x / cell, step_x / cell, window.out_width, f64::from(width) / cell)?;
        let down = spans(window.y / cell, step_y / cell, window.out_height(), f64::from(height) / cell)?;
        let (width, height) = (width.div_ceil(side), height.div_ceil(side));
        let count = u64::from(window.out_width);
        Ok(Self {
            window: *window,
            size: (width, height),
            columns: touched(&across),
            across,
            down,
            sums: try_filled_vec(count, 0.0)?,
            shares: try_filled_vec(count, 0.0)?,
            row: try_filled_vec(u64::from(width), 0.0)?,
            narrow: try_filled_vec(count, 0.0)?,
            reduced: None,
        })
    }

    /// The map pixel under the centre of a picture pixel; `None` outside.
    pub fn nearest(&self, x: u32, y: u32) -> Option<(u32, u32)> {
        let middle = |span: &Span| span.first + (span.end - span.first - 1) / 2;
        let (across, down) = (self.across.get(x as usize)?.as_ref()?, self.down.get(y as usize)?.as_ref()?);
        Some((middle(across), middle(down)))
    }

    /// Picture row `y`: `each` is called for every column. `fill` writes a row of the map as f64, NaN where it is blank.
    pub fn row(&mut self, y: u32, mut fill: impl FnMut(u32, &mut [f64]), each: impl FnMut(usize, Sampled)) {
        self.exact_row(y, |line, row, _| fill(line, row), each);
    }

    /// The columns of the picture that lie on the map.
    pub fn inside(&self) -> Range<usize> {
        let first = self.across.iter().position(Option::is_some).unwrap_or(0);
        first..self.across.iter().rposition(Option::is_some).map_or(first, |last| last + 1)
    }

    /// True where picture row `y` lies on the map.
    pub fn is_inside(&self, y: u32) -> bool {
        self.down.get(y as usize).is_some_and(Option::is_some)
    }

    /// True where picture row `y` shows the same pixels as the row above it.
    pub fn repeats(&self, y: u32) -> bool {
        y > 0 && self.down.get(y as usize) == self.down.get(y as usize - 1)
    }

    /// As [`Sampler::row`], of a map of this sampler's size.
    ///
    /// # Errors
    /// No memory for the pyramid of a large map.
    pub fn row_of(
        &mut self,
        plane: &Plane,
        y: u32,
        mut each: impl FnMut(usize, Sampled),
    ) -> Result<(), OutOfMemory> {
        if !self.is_reduced(plane) {
            let part = |line: u32, row: &mut [f64], columns: Range<usize>| {
                plane.read_part(line, columns.start as u32, &mut row[columns]);
            };
            self.exact_row(y, part, each);
            return Ok(());
        }
        let mut out = core::mem::take(&mut self.narrow);
        let done = self.narrow_row_of(plane, y, &mut out);
        let is_inside = self.is_inside(y);
        for (x, (span, &value)) in self.across.iter().zip(&out).enumerate() {
            each(
                x,
                match span {
                    Some(_) if is_inside && !value.is_nan() => Sampled::Value(f64::from(value)),
                    Some(_) if is_inside => Sampled::Blank,
                    _ => Sampled::Outside,
                },
            );
        }
        self.narrow = out;
        done
    }

    /// As [`Sampler::row_of`], in single precision, into `out` of a place for each column: NaN where there is no data;
    /// places outside of the map stay as they are.
    ///
    /// # Errors
    /// No memory for the pyramid of a large map.
    pub fn narrow_row_of(&mut self, plane: &Plane, y: u32, out: &mut [f32]) -> Result<(), OutOfMemory> {
        let Some(Some(down)) = self.down.get(y as usize).copied() else { return Ok(()) };
        if !self.is_reduced(plane) {
            return self.row_of(plane, y, |x, sampled| match sampled {
                Sampled::Outside => {}
                Sampled::Blank => out[x] = f32::NAN,
                Sampled::Value(value) => out[x] = value as f32,
            });
        }
        let (step_x, step_y) = self.window.map_per_picture();
        let pyramid = plane.pyramid()?;
        let level = pyramid.level_for(step_x.min(step_y));
        let factor = level.map_or(1, Level::factor);
        // Maps of one size have the same levels, so this is made once for a picture.
        let mut reduced = match self.reduced.take() {
            Some(reduced) if reduced.factor == factor => reduced,
            _ => Reduced::new(&self.window, self.size, factor)?,
        };
        let down = if factor == 1 { Some(down) } else { reduced.down.get(y as usize).copied().flatten() };
        if let Some(down) = down {
            reduced.row(plane, (level, pyramid.has_blank()), down, out);
        }
        self.reduced = Some(reduced);
        Ok(())
    }

    /// True for a large map that is scaled down.
    fn is_reduced(&self, plane: &Plane) -> bool {
        let (step_x, step_y) = self.window.map_per_picture();
        plane.is_large() && plane.size() == self.size && (step_x > 1.0 || step_y > 1.0)
    }

    /// A row from the pixels themselves. `fill` gets the line, a whole row to write to, and the columns that are looked at.
    fn exact_row(
        &mut self,
        y: u32,
        mut fill: impl FnMut(u32, &mut [f64], Range<usize>),
        mut each: impl FnMut(usize, Sampled),
    ) {
        let Some(Some(down)) = self.down.get(y as usize).copied() else {
            (0..self.across.len()).for_each(|x| each(x, Sampled::Outside));
            return;
        };
        let columns = self.columns.clone();
        let (step_x, step_y) = self.window.map_per_picture();
        if step_x <= 1.0 && step_y <= 1.0 {
            fill(down.first, &mut self.row, columns);
            for (x, span) in self.across.iter().enumerate() {
                each(
                    x,
                    match span.map(|span| self.row[span.first as usize]) {
                        None => Sampled::Outside,
                        Some(value) if value.is_finite() => Sampled::Value(value),
                        Some(_) => Sampled::Blank,
                    },
                );
            }
            return;
        }
        self.sums.fill(0.0);
        self.shares.fill(0.0);
        for line in down.first..down.end {
            fill(line, &mut self.row, columns.clone());
            let share_down = down.share(line);
            for (x, span) in self.across.iter().enumerate() {
                let Some(span) = span else { continue };
                for pixel in span.first..span.end {
                    let value = self.row[pixel as usize];
                    if value.is_finite() {
                        let share = share_down * span.share(pixel);
                        self.sums[x] += share * value;
                        self.shares[x] += share;
                    }
                }
            }
        }
        for (x, span) in self.across.iter().enumerate() {
            each(
                x,
                match span {
                    None => Sampled::Outside,
                    Some(_) if self.shares[x] <= 0.0 => Sampled::Blank,
                    // One whole pixel keeps its value to the last bit.
                    Some(_) if self.shares[x] == 1.0 => Sampled::Value(self.sums[x]),
                    Some(_) => Sampled::Value(self.sums[x] / self.shares[x]),
                },
            );
        }
    }
}

#[cfg(test)]
mod tests;
