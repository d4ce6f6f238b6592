//! A photo drawn where it lies on the maps: alone, mixed with their picture, or beside it.
//!
//! For each picture pixel the place in the photo is looked up. What it shows is the mean of the light over a box of the
//! size that the picture pixel has there, and of one cell at least: bilinear interpolation where a photo is enlarged, the
//! mean by area where it is made smaller. The box lies along the photo's own rows and columns; of a photo that is turned
//! it has the spread that the turned picture pixel has across and down. Screen and export go the same way.

use super::photo::PhotoPyramid;
use super::{Picture, STEPS, canvas, step};
use crate::colour::Rgb;
use crate::geometry::{Point, Transform, Window};
use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// A photo and where it lies.
#[derive(Debug, Clone, Copy)]
pub struct LaidPhoto<'a> {
    /// Width and height of the full photo, in which its places are counted.
    pub size: (u32, u32),
    /// Its pixels, as they are kept.
    pub pixels: &'a Grid<[u8; 3]>,
    /// The same made smaller.
    pub pyramid: &'a PhotoPyramid,
    /// From places of the full photo to places of the grid.
    pub transform: &'a Transform,
}

/// The direction that a dividing line is moved along.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Along {
    /// The line stands upright: what is before it is to the left.
    X,
    /// The line lies flat: what is before it is above.
    Y,
}

/// Side of the squares that a picture is drawn in, in picture pixels.
const TILE: u32 = 64;
/// The most cells that are laid out at once for one of them; more and a coarser level is taken.
const MOST_CELLS: u64 = 1 << 20;

/// Draws it alone; transparent where it does not reach. The window is on the grid.
///
/// # Errors
/// No memory.
pub fn picture_of_laid_photo(photo: &LaidPhoto<'_>, window: &Window) -> Result<Picture, OutOfMemory> {
    let mut rgba = canvas(window)?;
    let steps = &**STEPS;
    each(photo, window, (0, 0), |pixel, light| {
        let [r, g, b] = light.map(|light| step(steps, light));
        rgba[pixel * 4..pixel * 4 + 4].copy_from_slice(&[r, g, b, 255]);
    })?;
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key: Vec::new() })
}

/// Light of a picture of maps times `1 - share` plus light of the photo times `share`, 0 to 1. The picture keeps its edges:
/// where the photo does not reach the maps stand alone, and beside the maps there is nothing. The window is that of the
/// picture, on the grid.
///
/// # Errors
/// No memory.
pub fn mix_photo(
    picture: &mut Picture,
    photo: &LaidPhoto<'_>,
    window: &Window,
    share: f64,
) -> Result<(), OutOfMemory> {
    let (steps, linear) = (&**STEPS, linear());
    let share = share.clamp(0.0, 1.0) as f32;
    if share <= 0.0 {
        return Ok(());
    }
    let rgba = &mut picture.rgba;
    each(photo, window, (0, 0), |pixel, light| {
        let Some([r, g, b, 255]) = rgba.get_mut(pixel * 4..pixel * 4 + 4) else { return };
        for (channel, light) in [r, g, b].into_iter().zip(light) {
            let maps = linear[usize::from(*channel)];
            *channel = step(steps, maps * (1.0 - share) + light * share);
        }
    })
}

/// The maps before a line at the share `at` of the picture, the photo after it, and the line: a hair of black beside a
/// hair of white, which is seen on any ground. The window is that of the picture, on the grid.
///
/// # Errors
/// No memory.
pub fn divide_by_photo(
    picture: &mut Picture,
    photo: &LaidPhoto<'_>,
    window: &Window,
    at: f64,
    along: Along,
) -> Result<(), OutOfMemory> {
    let (width, height) = (window.out_width, window.out_height());
    let length = if along == Along::X { width } else { height };
    let line = ((f64::from(length) * at.clamp(0.0, 1.0)).round() as u32).min(length);
    let (left, top) = if along == Along::X { (line, 0) } else { (0, line) };
    let (steps, rgba) = (&**STEPS, &mut picture.rgba);
    let rows = || (0..height as usize).map(|y| y * width as usize);
    for row in rows().skip(top as usize) {
        rgba[(row + left as usize) * 4..(row + width as usize) * 4].fill(0);
    }
    each(photo, window, (left, top), |pixel, light| {
        let [r, g, b] = light.map(|light| step(steps, light));
        rgba[pixel * 4..pixel * 4 + 4].copy_from_slice(&[r, g, b, 255]);
    })?;
    let hair = (width.min(height) / 900).max(1);
    for (first, end, shade) in [(line.saturating_sub(hair), line, 0), (line, (line + hair).min(length), 255)]
    {
        let (first, end) = (first as usize, end as usize);
        let pixels = |(y, row): (usize, usize)| match along {
            Along::X => row + first..row + end,
            Along::Y if (first..end).contains(&y) => row..row + width as usize,
            Along::Y => row..row,
        };
        for range in rows().enumerate().map(pixels) {
            for pixel in rgba[range.start * 4..range.end * 4].chunks_exact_mut(4) {
                if pixel[3] == 255 {
                    pixel[..3].fill(shade);
                }
            }
        }
    }
    Ok(())
}

fn linear() -> [f32; 256] {
    let mut out = [0.0; 256];
    for (i, light) in (0u8..=255).zip(&mut out) {
        *light = Rgb([i; 3]).linear()[0] as f32;
    }
    out
}

/// Calls `draw` with the number of each picture pixel that the photo reaches, row by row from the upper left, and its light;
/// of the pixels from column `left` and row `top` on.
fn each(
    photo: &LaidPhoto<'_>,
    window: &Window,
    (left, top): (u32, u32),
    mut draw: impl FnMut(usize, [f32; 3]),
) -> Result<(), OutOfMemory> {
    let (width, height) = (window.out_width, window.out_height());
    let linear = linear();
    let mut places = try_filled_vec(u64::from(TILE * TILE), (f64::NAN, f64::NAN))?;
    let mut patch = Patch { first: (0, 0), width: 0, light: try_vec(0)? };
    let mut weights = Vec::new();
    for tile_top in (top..height).step_by(TILE as usize) {
        for tile_left in (left..width).step_by(TILE as usize) {
            let tile = Tile {
                left: tile_left,
                top: tile_top,
                width: TILE.min(width - tile_left),
                height: TILE.min(height - tile_top),
            };
            let Some(reach) = tile.find(photo, window, &mut places) else { continue };
            let (cell, cells, span) = reach.cells(photo);
            patch.lay_out(cells, &span.cells, &linear)?;
            for y in 0..tile.height {
                let row = (tile.top + y) as usize * width as usize + tile.left as usize;
                let found = &places[(y * TILE) as usize..(y * TILE + tile.width) as usize];
                for (x, &place) in found.iter().enumerate() {
                    if !place.0.is_nan() {
                        draw(row + x, patch.mean((place.0 / cell, place.1 / cell), &span, &mut weights));
                    }
                }
            }
        }
    }
    Ok(())
}

/// A part of a picture.
struct Tile {
    left: u32,
    top: u32,
    width: u32,
    height: u32,
}

/// Where the pixels of a tile lie in the photo, in its pixels.
struct Reach {
    low: Point,
    high: Point,
    /// Width and height of the box that a picture pixel covers.
    covers: (f64, f64),
}

/// Which cells of a level a tile looks at, and how.
struct Span {
    /// Columns and rows.
    cells: (core::ops::Range<u32>, core::ops::Range<u32>),
    /// Half of the box that a picture pixel covers, at least half a cell.
    half: (f64, f64),
    /// Width and height of the photo; not whole where its border cuts a cell.
    end: (f64, f64),
}

impl Tile {
    /// The photo's place of each pixel, NaN where there is none or where it is beside the photo; `None` if there is none at all.
    fn find(&self, photo: &LaidPhoto<'_>, window: &Window, places: &mut [Point]) -> Option<Reach> {
        let (step_x, step_y) = window.map_per_picture();
        let (width, height) = (f64::from(photo.size.0), f64::from(photo.size.1));
        let back = |x: f64, y: f64| {
            photo.transform.back((
                window.x + (f64::from(self.left) + x) * step_x,
                window.y + (f64::from(self.top) + y) * step_y,
            ))
        };
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
        for (y, row) in (0..self.height).zip(places.chunks_exact_mut(TILE as usize)) {
            for (x, place) in (0..self.width).zip(row) {
                *place = match back(f64::from(x) + 0.5, f64::from(y) + 0.5) {
                    Some((px, py)) if px >= 0.0 && py >= 0.0 && px < width && py < height => {
                        low = (low.0.min(px), low.1.min(py));
                        high = (high.0.max(px), high.1.max(py));
                        (px, py)
                    }
                    _ => (f64::NAN, f64::NAN),
                };
            }
        }
        if low.0 > high.0 {
            return None;
        }
        let (last_x, last_y) = (f64::from(self.width) - 0.5, f64::from(self.height) - 0.5);
        let looked_at =
            [(last_x / 2.0, last_y / 2.0), (0.5, 0.5), (last_x, 0.5), (0.5, last_y), (last_x, last_y)];
        let covers = looked_at.into_iter().find_map(|(x, y)| {
            let across = apart(back(x + 0.5, y)?, back(x - 0.5, y)?);
            let down = apart(back(x, y + 0.5)?, back(x, y - 0.5)?);
            Some((length(across.0, down.0), length(across.1, down.1)))
        });
        Some(Reach { low, high, covers: covers.unwrap_or((1.0, 1.0)) })
    }
}

fn apart(a: Point, b: Point) -> Point {
    (a.0 - b.0, a.1 - b.1)
}

/// The side of a box that is spread as a parallelogram whose sides reach so far in this direction.
fn length(across: f64, down: f64) -> f64 {
    (across * across + down * down).sqrt()
}

impl Reach {
    /// Side of a cell in pixels of the photo, the cells, and which of them are looked at: the coarsest that are not larger than
    /// a picture pixel.
    fn cells<'a>(&self, photo: &LaidPhoto<'a>) -> (f64, &'a Grid<[u8; 3]>, Span) {
        let mut finest = self.covers.0.min(self.covers.1);
        loop {
            let (side, cells) = photo.pyramid.cells_for(photo.pixels, finest);
            let side = f64::from(side);
            let half = ((self.covers.0 / side).max(1.0) / 2.0, (self.covers.1 / side).max(1.0) / 2.0);
            let end = (f64::from(photo.size.0) / side, f64::from(photo.size.1) / side);
            let range = |low: f64, high: f64, half: f64, count: u32| {
                let first = (low / side - half).max(0.0) as u32;
                let last = ((high / side + half).ceil() as u32).min(count);
                first.min(last)..last
            };
            let columns = range(self.low.0, self.high.0, half.0, cells.width());
            let rows = range(self.low.1, self.high.1, half.1, cells.height());
            let count = u64::from(columns.end - columns.start) * u64::from(rows.end - rows.start);
            // Nearly edge-on one tile may look at all of the photo; the coarsest level is always small enough.
            let coarser = photo.pyramid.cells_for(photo.pixels, side * 4.0).0;
            if count <= MOST_CELLS || f64::from(coarser) <= side {
                return (side, cells, Span { cells: (columns, rows), half, end });
            }
            finest = side * 4.0;
        }
    }
}

/// Cells as light, laid out for quick reading.
struct Patch {
    /// Column and row of the first.
    first: (u32, u32),
    width: usize,
    /// Red, green, blue and nothing.
    light: Vec<[f32; 4]>,
}

impl Patch {
    fn lay_out(
        &mut self,
        cells: &Grid<[u8; 3]>,
        (columns, rows): &(core::ops::Range<u32>, core::ops::Range<u32>),
        linear: &[f32; 256],
    ) -> Result<(), OutOfMemory> {
        self.first = (columns.start, rows.start);
        self.width = columns.len();
        self.light.clear();
        let count = self.width * rows.len();
        self.light
            .try_reserve(count)
            .map_err(|_| OutOfMemory(count as u64 * size_of::<[f32; 4]>() as u64))?;
        for y in rows.clone() {
            let row = &cells.row(y)[columns.start as usize..columns.end as usize];
            self.light.extend(row.iter().map(|pixel| {
                let [r, g, b] = pixel.map(|step| linear[usize::from(step)]);
                [r, g, b, 0.0]
            }));
        }
        Ok(())
    }

    /// The mean over the box around a place, in cells. `weights` is room for those of one row.
    fn mean(&self, at: Point, span: &Span, weights: &mut Vec<f32>) -> [f32; 3] {
        let (left, right) = ((at.0 - span.half.0).max(0.0), (at.0 + span.half.0).min(span.end.0));
        let (top, bottom) = ((at.1 - span.half.1).max(0.0), (at.1 + span.half.1).min(span.end.1));
        let (from_x, from_y) = (left as u32, top as u32);
        let (to_x, to_y) = (right.ceil() as u32, bottom.ceil() as u32);
        let share = |cell: u32, low: f64, high: f64| {
            (high.min(f64::from(cell) + 1.0) - low.max(f64::from(cell))) as f32
        };
        weights.clear();
        weights.extend((from_x..to_x).map(|x| share(x, left, right)));
        let mut sum = [0.0f32; 4];
        for y in from_y..to_y {
            let down = share(y, top, bottom);
            let start = (y - self.first.1) as usize * self.width + (from_x - self.first.0) as usize;
            let row = self.light.get(start..start + weights.len()).unwrap_or_default();
            for (cell, across) in row.iter().zip(&*weights) {
                let weight = down * across;
                for (sum, channel) in sum.iter_mut().zip(cell) {
                    *sum += weight * channel;
                }
            }
        }
        let whole = ((right - left) * (bottom - top)) as f32;
        [sum[0] / whole, sum[1] / whole, sum[2] / whole]
    }
}

#[cfg(test)]
mod tests;
