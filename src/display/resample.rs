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
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};

    fn sampled(values: Vec<f64>, width: u32, window: &Window) -> Vec<Sampled> {
        let height = values.len() as u32 / width;
        let plane = Plane::new(Samples::F64(Grid::from_vec(width, height, values).unwrap()));
        let mut sampler = Sampler::new(window, width, height).unwrap();
        let mut out = Vec::new();
        for y in 0..window.out_height() {
            sampler.row_of(&plane, y, |_, value| out.push(value)).unwrap();
        }
        out
    }

    #[test]
    fn means_are_by_area_and_leave_blanks_out() {
        use Sampled::Value;
        let whole = Window { out_width: 2, ..Window::whole(4, 2) };
        let got = sampled(vec![1.0, 3.0, 10.0, f64::NAN, 5.0, 7.0, 20.0, f64::NAN], 4, &whole);
        assert_eq!(got, [Value(4.0), Value(15.0)]);
        let thirds = Window { out_width: 2, ..Window::whole(3, 1) };
        // 1.5 pixels each: (0 + 6/2) / 1.5 and (6/2 + 12) / 1.5.
        assert_eq!(sampled(vec![0.0, 6.0, 12.0], 3, &thirds), [Value(2.0), Value(10.0)]);
    }

    #[test]
    fn magnified_pixels_are_squares_and_outside_is_outside() {
        use Sampled::{Blank, Outside, Value};
        let window = Window { x: -1.0, width: 4.0, out_width: 8, ..Window::whole(2, 1) };
        let got = sampled(vec![3.0, f64::NAN], 2, &window);
        let row = [Outside, Outside, Value(3.0), Value(3.0), Blank, Blank, Outside, Outside];
        assert_eq!(got, [row, row].concat());
    }

    /// A large map with edges, lines, noise and blanks, and the mean straight from the definition.
    fn large() -> (Vec<f32>, u32, u32) {
        let (width, height) = (1187u32, 953u32);
        let mut state = 1u32;
        let values = (0..width * height).map(|i| {
            let (x, y) = (i % width, i / width);
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let field = if (x / 97 + y / 61) % 2 == 0 { 900.0 } else { 100.0 };
            if (x / 40) % 9 == 4 && y % 50 < 20 { f32::NAN } else { field + (state >> 25) as f32 }
        });
        (values.collect(), width, height)
    }

    fn by_definition(values: &[f32], (width, height): (u32, u32), window: &Window, x: u32, y: u32) -> f64 {
        let (step_x, step_y) = window.map_per_picture();
        let ends = |start: f64, step: f64, at: u32, length: u32| {
            let low = (start + f64::from(at) * step).max(0.0);
            (low, (start + f64::from(at + 1) * step).min(f64::from(length)))
        };
        let (left, right) = ends(window.x, step_x, x, width);
        let (top, bottom) = ends(window.y, step_y, y, height);
        let share =
            |low: f64, high: f64, at: u32| (high.min(f64::from(at) + 1.0) - low.max(f64::from(at))).max(0.0);
        let (mut sum, mut area) = (0.0, 0.0);
        for line in top as u32..(bottom.ceil() as u32).min(height) {
            for column in left as u32..(right.ceil() as u32).min(width) {
                let value = f64::from(values[(line * width + column) as usize]);
                if value.is_finite() {
                    let part = share(left, right, column) * share(top, bottom, line);
                    (sum, area) = (sum + part * value, area + part);
                }
            }
        }
        sum / area
    }

    #[test]
    fn large_maps_show_the_mean_by_area_to_a_stated_error() {
        let (values, width, height) = large();
        let plane = Plane::new(Samples::F32(Grid::from_vec(width, height, values.clone()).unwrap()));
        assert!(plane.is_large());
        // Map pixels a picture pixel; the largest and the root mean square error that are allowed, of a range of 928.
        // Below 8 the map's own pixels are read: nothing but single precision. From 8 on cells are cut by borders: the
        // worst is a picture pixel of two cells a side on an edge, where a quarter of a cell and less changes sides.
        for (step, worst, mean) in [
            (1.7, 1e-3, 1e-4),
            (7.9, 1e-3, 1e-4),
            (8.0, 130.0, 16.0),
            (13.1, 130.0, 16.0),
            (16.5, 130.0, 16.0),
            (40.3, 130.0, 16.0),
        ] {
            let window = Window {
                x: -11.3,
                y: 5.7,
                width: 60.0 * step,
                height: 40.0 * step,
                out_width: 60,
                out_height: Some(40),
            };
            let mut sampler = Sampler::new(&window, width, height).unwrap();
            let (mut largest, mut squares, mut count) = (0.0f64, 0.0, 0u32);
            for y in 0..40 {
                sampler
                    .row_of(&plane, y, |x, sampled| {
                        let want = || by_definition(&values, (width, height), &window, x as u32, y);
                        let Sampled::Value(got) = sampled else {
                            let is_outside = sampled == Sampled::Outside;
                            return assert!(is_outside || want().is_nan(), "{step}: {x} {y}");
                        };
                        let error = (got - want()).abs();
                        // A cell with and without data, of which only the part without is covered, shows a value.
                        if !error.is_nan() {
                            (largest, squares, count) =
                                (largest.max(error), squares + error * error, count + 1);
                        }
                    })
                    .unwrap();
            }
            let root_mean_square = (squares / f64::from(count)).sqrt();
            println!("{step}: {largest} {root_mean_square} {count}");
            assert!(
                count > 200 && largest <= worst && root_mean_square <= mean,
                "{step}: {largest} {root_mean_square}"
            );
        }
    }

    #[test]
    fn cells_that_lie_as_picture_pixels_do_lose_nothing() {
        let (values, width, height) = large();
        let plane = Plane::new(Samples::F32(Grid::from_vec(width, height, values.clone()).unwrap()));
        let window =
            Window { x: 16.0, y: 8.0, width: 960.0, height: 800.0, out_width: 60, out_height: Some(50) };
        let mut sampler = Sampler::new(&window, width, height).unwrap();
        let mut seen = 0;
        for y in 0..50 {
            sampler
                .row_of(&plane, y, |x, sampled| {
                    if let Sampled::Value(got) = sampled {
                        let want = by_definition(&values, (width, height), &window, x as u32, y);
                        assert!((got - want).abs() < 1e-3, "{x} {y}: {got} {want}");
                        seen += 1;
                    }
                })
                .unwrap();
        }
        assert!(seen > 2900, "{seen}");
    }
}
