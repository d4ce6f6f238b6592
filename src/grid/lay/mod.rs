//! Laying a map on another grid so that its counts are kept: every pixel gives its value to the pixels of the grid in
//! proportion to the area of it that lies in each.
//!
//! Exact for affine rules, where a pixel becomes a parallelogram. Seen aslant, or piecewise, it becomes a quadrilateral
//! whose counts are taken to lie evenly in it. Neighbours on the grid then hold counts of the same pixels: their noise is
//! correlated, which no variance of single pixels tells.

mod cover;

pub use cover::Share;

use super::{Grid, try_filled_vec, try_vec};
use crate::geometry::{Point, Transform};
use crate::notice::{Fault, OutOfMemory};
use cover::{cover, looked_at};

/// A pixel covered up to this is covered wholly: the rest is rounding.
const WHOLLY: f64 = 1.0 - 1e-6;
/// Pixels of the grid that one pixel may reach over; more is a plane seen nearly edge-on, or a slip of the points.
const MOST_REACHED: u64 = 1 << 14;

/// The grid on which something is laid, and by which rule.
#[derive(Debug, Clone, Copy)]
pub struct Onto<'a> {
    /// Takes places of what is laid to places of the first grid.
    pub transform: &'a Transform,
    /// Where the upper left corner of this grid lies on the first one.
    pub origin: Point,
    /// The side of a pixel of this grid in pixels of the first one, above 0.
    pub side: f64,
    /// Pixels across and down.
    pub size: (u32, u32),
}

impl<'a> Onto<'a> {
    /// The first grid itself.
    pub fn grid(transform: &'a Transform, size: (u32, u32)) -> Self {
        Self { transform, origin: (0.0, 0.0), side: 1.0, size }
    }

    fn at(&self, from: Point) -> Option<Point> {
        let (x, y) = self.transform.at(from)?;
        Some(((x - self.origin.0) / self.side, (y - self.origin.1) / self.side))
    }

    /// The edges of columns and of rows on the grid, where the rule only scales and shifts along the axes.
    fn edges(&self, (width, height): (u32, u32)) -> Result<Option<(Spans, Spans)>, OutOfMemory> {
        let Some([_, b, _, d, _, _, 0.0, 0.0, _]) = self.transform.plane().map(|plane| *plane.matrix())
        else {
            return Ok(None);
        };
        if b != 0.0 || d != 0.0 {
            return Ok(None);
        }
        let of = |n: u32, axis: fn(Point) -> f64, from: fn(f64) -> Point, cells: u32| {
            Spans::of(n, |i| self.at(from(i)).map(axis), cells)
        };
        let across = of(width, |p| p.0, |i| (i, 0.0), self.size.0)?;
        let down = of(height, |p| p.1, |i| (0.0, i), self.size.1)?;
        Ok(across.zip(down))
    }
}

/// What each column (or row) gives to those of the grid.
struct Spans {
    /// Where the parts of each begin.
    starts: Vec<usize>,
    /// Column of the grid, length of it that is covered.
    parts: Vec<(usize, f64)>,
    /// Length of each on the grid.
    lengths: Vec<f64>,
}

impl Spans {
    fn of(n: u32, at: impl Fn(f64) -> Option<f64>, cells: u32) -> Result<Option<Self>, OutOfMemory> {
        let mut out = Self {
            starts: try_vec(u64::from(n) + 1)?,
            parts: try_vec(u64::from(n) + u64::from(cells))?,
            lengths: try_vec(u64::from(n))?,
        };
        for i in 0..n {
            let (Some(one), Some(other)) = (at(f64::from(i)), at(f64::from(i) + 1.0)) else {
                return Ok(None);
            };
            let (low, high) = if one < other { (one, other) } else { (other, one) };
            out.starts.push(out.parts.len());
            out.lengths.push(high - low);
            let edge = f64::from(cells);
            for cell in low.floor().clamp(0.0, edge) as u32..high.ceil().clamp(0.0, edge) as u32 {
                let length = high.min(f64::from(cell) + 1.0) - low.max(f64::from(cell));
                if length > 0.0 {
                    out.parts.push((cell as usize, length));
                }
            }
        }
        out.starts.push(out.parts.len());
        Ok(Some(out))
    }

    fn parts(&self, i: usize) -> &[(usize, f64)] {
        &self.parts[self.starts[i]..self.starts[i + 1]]
    }
}

/// Walks over all pixels of a map of `size`, row by row: `visit(pixel, shares, area)` gets the pixel's place, what it
/// covers of the grid, and its whole area in pixels of the grid. Pixels that the rule gives no place, and those that cover
/// nothing of the grid, are not visited.
///
/// # Errors
/// A rule that draws single pixels out over a large part of the grid; no memory.
pub fn for_each_share(
    (width, height): (u32, u32),
    onto: &Onto<'_>,
    mut visit: impl FnMut(usize, &[Share], f64),
) -> Result<(), Fault> {
    let mut shares = Vec::new();
    let columns = onto.size.0 as usize;
    if let Some((across, down)) = onto.edges((width, height))? {
        for y in 0..height as usize {
            for x in 0..width as usize {
                shares.clear();
                for &(row, tall) in down.parts(y) {
                    let all = across.parts(x).iter();
                    shares.extend(
                        all.map(|&(column, wide)| Share { cell: row * columns + column, area: tall * wide }),
                    );
                }
                if !shares.is_empty() {
                    visit(y * width as usize + x, &shares, across.lengths[x] * down.lengths[y]);
                }
            }
        }
        return Ok(());
    }
    let mut above = try_filled_vec(u64::from(width) + 1, None)?;
    let mut below = try_filled_vec(u64::from(width) + 1, None)?;
    let corners_of = |y: u32, out: &mut [Option<Point>]| {
        for (x, slot) in out.iter_mut().enumerate() {
            *slot = onto.at((x as f64, f64::from(y)));
        }
    };
    corners_of(0, &mut below);
    for y in 0..height {
        core::mem::swap(&mut above, &mut below);
        corners_of(y + 1, &mut below);
        for x in 0..width as usize {
            let (Some(a), Some(b), Some(c), Some(d)) = (above[x], above[x + 1], below[x + 1], below[x])
            else {
                continue;
            };
            let corners = [a, b, c, d];
            if looked_at(&corners, onto.size) > MOST_REACHED {
                return Err(Fault::bad_setting(
                    "The alignment draws single pixels out over a large part of the grid, as of a plane seen edge-on. Check its points.",
                ));
            }
            let area = cover(&corners, onto.size, &mut shares);
            if !shares.is_empty() && area > 0.0 {
                visit(y as usize * width as usize + x, &shares, area);
            }
        }
    }
    Ok(())
}

/// A map laid on another grid.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// Sums of what lies in each pixel; NaN where less than was asked is covered. What is covered in part is scaled up to
    /// the whole pixel.
    pub values: Grid<f64>,
    /// The share of each pixel that pixels with data cover, 0 to 1.
    pub coverage: Grid<f64>,
    /// Variance of each value, where that of the map is known.
    pub variance: Option<Grid<f64>>,
    /// Sum of all that lies beside the grid.
    pub beside: f64,
}

/// Lays values on a grid and keeps their sum. A pixel of the grid is blank where less than `least` of it (above 0, at most
/// 1) is covered by pixels with data.
///
/// # Errors
/// As [`for_each_share`].
pub fn lay(
    values: &Grid<f64>,
    variance: Option<&Grid<f64>>,
    onto: &Onto<'_>,
    least: f64,
) -> Result<Laid, Fault> {
    let (width, height) = onto.size;
    let mut sums = Grid::try_filled(width, height, 0.0)?;
    let mut coverage = Grid::try_filled(width, height, 0.0)?;
    let mut spread = variance.map(|_| Grid::try_filled(width, height, 0.0)).transpose()?;
    let (mut all, mut on_grid) = (0.0, 0.0);
    let size = (values.width(), values.height());
    for value in values.data().iter().filter(|value| !value.is_nan()) {
        all += value;
    }
    for_each_share(size, onto, |pixel, shares, area| {
        let Some(&value) = values.data().get(pixel).filter(|value| !value.is_nan()) else { return };
        let of_pixel = variance.and_then(|variance| variance.data().get(pixel).copied());
        for share in shares {
            let weight = share.area / area;
            sums.data_mut()[share.cell] += weight * value;
            coverage.data_mut()[share.cell] += share.area;
            on_grid += weight * value;
            if let (Some(spread), Some(of_pixel)) = (spread.as_mut(), of_pixel) {
                spread.data_mut()[share.cell] += weight * weight * of_pixel;
            }
        }
    })?;
    let least = least.min(WHOLLY);
    for (cell, covered) in coverage.data_mut().iter_mut().enumerate() {
        let scale = if *covered < least {
            f64::NAN
        } else if *covered >= WHOLLY {
            *covered = 1.0;
            1.0
        } else {
            1.0 / *covered
        };
        sums.data_mut()[cell] *= scale;
        if let Some(spread) = spread.as_mut() {
            spread.data_mut()[cell] *= scale * scale;
        }
    }
    Ok(Laid { values: sums, coverage, variance: spread, beside: all - on_grid })
}
