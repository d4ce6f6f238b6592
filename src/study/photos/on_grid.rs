//! Colours of a photo where the pixels of the grid are.

use super::HeldPhoto;
use crate::colour::rgb_of_lab;
use crate::geometry::{Orientation, PlaneTransform, Point, Transform};
use crate::grid::{Grid, try_vec};
use crate::notice::{Fault, OutOfMemory};
use crate::region::{Lab, Likeness, is_clipped, typical_colour};
use std::cell::RefCell;
use std::rc::Rc;

/// Samples in a pixel of the grid along a side. Held against the example's truth: one in the middle and 3 x 3 agree about as
/// well for compact passages, 3 x 3 better for narrow ones.
const SIDE: usize = 3;
const SAMPLES: usize = SIDE * SIDE;
/// Cells of the photo along a side of the patch of which a picked colour is the median. Common practice, no source.
const PATCH: i64 = 5;

/// How alike each pixel of the grid is.
#[derive(Debug, PartialEq)]
pub(in crate::study) struct AlikeMap {
    /// The median of the samples' differences: at most `d` where more than half of the samples differ by at most `d`.
    /// Infinite beside the photo, where it is clipped, and where an unwanted colour is nearer.
    pub differences: Grid<f32>,
    /// Pixels in which more than half of the samples are clipped.
    pub clipped: u64,
}

/// What an [`AlikeMap`] was made of.
#[derive(Debug, Clone, PartialEq)]
struct Key {
    photo: String,
    orientation: Orientation,
    transform: Transform,
    size: (u32, u32),
    wanted: Vec<Lab>,
    unwanted: Vec<Lab>,
}

/// The last one that was made, so that saying how alike is a matter of a look at it. Whatever it was made of is part of its
/// key, so that nothing has to be forgotten.
#[derive(Debug, Default)]
pub(in crate::study) struct AlikeCache(RefCell<Option<(Key, Rc<AlikeMap>)>>);

/// A row of corners of pixels, as places of the photo.
type Corners = Vec<Option<Point>>;

impl HeldPhoto {
    /// From places of the file to places as it lies now.
    fn laid(&self) -> PlaneTransform {
        PlaneTransform::laid(self.orientation(), self.file_size())
    }

    /// The place of the file that lies at a place of the grid.
    ///
    /// # Errors
    /// It is not aligned; the place is beside the photo.
    pub fn file_place(&self, on_grid: Point) -> Result<Point, Fault> {
        let (width, height) = (f64::from(self.size.0), f64::from(self.size.1));
        let inside = |&(x, y): &Point| (0.0..width).contains(&x) && (0.0..height).contains(&y);
        let place = self.transform()?.back(on_grid).filter(inside);
        place.and_then(|place| self.laid().back(place)).ok_or_else(|| {
            Fault::bad_setting(format!("A picked place is beside {}. Pick one on it.", self.name()))
        })
    }

    /// Where a place of the file lies on the grid; `None` where it lies nowhere.
    pub fn grid_place(&self, of_file: Point) -> Option<Point> {
        self.transform().ok()?.at(self.laid().at(of_file)?)
    }

    /// Its pixels, or means of them where many would fall between two samples; with the width of one in pixels of the photo.
    fn cells(&self, transform: &Transform, size: (u32, u32)) -> (f64, &Grid<[u8; 3]>) {
        let middle = (f64::from(size.0) / 2.0, f64::from(size.1) / 2.0);
        let at = |dx: f64, dy: f64| transform.back((middle.0 + dx, middle.1 + dy));
        let width = match (at(-0.5, 0.0), at(0.5, 0.0), at(0.0, -0.5), at(0.0, 0.5)) {
            (Some(left), Some(right), Some(up), Some(down)) => {
                let (across, along) = ((right.0 - left.0, right.1 - left.1), (down.0 - up.0, down.1 - up.1));
                (across.0 * along.1 - across.1 * along.0).abs().sqrt()
            }
            _ => 1.0,
        };
        let (factor, cells) = self.pyramid.cells_for(&self.pixels, width / SIDE as f64);
        (f64::from(factor), cells)
    }

    /// The colour around a place of the file: the median of 5 x 5 cells, clipped ones left out.
    ///
    /// # Errors
    /// It is not aligned; everything there is clipped.
    pub fn colour_at(&self, of_file: Point, size: (u32, u32)) -> Result<Lab, Fault> {
        let (factor, cells) = self.cells(self.transform()?, size);
        let (x, y) = self.laid().at(of_file).unwrap_or(of_file);
        let (column, row) = ((x / factor).floor() as i64, (y / factor).floor() as i64);
        let half = PATCH / 2;
        let mut patch = Vec::new();
        for dy in -half..=half {
            for dx in -half..=half {
                let place = u32::try_from(column + dx).ok().zip(u32::try_from(row + dy).ok());
                patch.extend(place.and_then(|(x, y)| cells.get(x, y)).copied());
            }
        }
        typical_colour(&patch).ok_or_else(|| {
            Fault::bad_setting(format!(
                "{} is clipped, black or white at the end of its range, at a picked place. Pick another place.",
                self.name()
            ))
        })
    }

    /// How alike it is to colours, on a grid of this size; the one that was made last is not made again.
    ///
    /// # Errors
    /// It is not aligned; no memory.
    pub fn alike(
        &self,
        cache: &AlikeCache,
        size: (u32, u32),
        wanted: Vec<Lab>,
        unwanted: Vec<Lab>,
    ) -> Result<Rc<AlikeMap>, Fault> {
        let key = Key {
            photo: self.key.clone(),
            orientation: self.orientation(),
            transform: self.transform()?.clone(),
            size,
            wanted,
            unwanted,
        };
        if let Some((held, map)) = &*cache.0.borrow()
            && *held == key
        {
            return Ok(Rc::clone(map));
        }
        let map = Rc::new(self.made_alike(&key)?);
        cache.0.replace(Some((key, Rc::clone(&map))));
        Ok(map)
    }

    fn made_alike(&self, key: &Key) -> Result<AlikeMap, OutOfMemory> {
        let (width, height) = key.size;
        let (factor, cells) = self.cells(&key.transform, key.size);
        let mut likeness = Likeness::new(key.wanted.clone(), key.unwanted.clone())?;
        let mut differences = Grid::try_filled(width, height, f32::INFINITY)?;
        let mut clipped = 0;
        let mut lower = corners(&key.transform, width, 0)?;
        for (y, row) in differences.data_mut().chunks_exact_mut((width as usize).max(1)).enumerate() {
            let upper = lower;
            lower = corners(&key.transform, width, y as u32 + 1)?;
            for (x, out) in row.iter_mut().enumerate() {
                let (mut samples, mut lost) = ([f32::INFINITY; SAMPLES], 0);
                let around = (upper[x], upper[x + 1], lower[x], lower[x + 1]);
                for (i, sample) in samples.iter_mut().enumerate() {
                    let (u, v) = (middle_of(i % SIDE), middle_of(i / SIDE));
                    let place = match around {
                        (Some(a), Some(b), Some(c), Some(d)) => Some(between((a, b, c, d), u, v)),
                        _ => key.transform.back((x as f64 + u, y as f64 + v)),
                    };
                    match place.and_then(|(x, y)| sampled(cells, x / factor, y / factor)) {
                        Some(Sample::Colour(colour)) => *sample = likeness.of(colour),
                        Some(Sample::Clipped) => lost += 1,
                        None => {}
                    }
                }
                samples.sort_unstable_by(f32::total_cmp);
                *out = samples[SAMPLES / 2];
                clipped += u64::from(2 * lost > SAMPLES);
            }
        }
        Ok(AlikeMap { differences, clipped })
    }
}

/// The place of a sample in its pixel, along a side.
fn middle_of(i: usize) -> f64 {
    (i as f64 + 0.5) / SIDE as f64
}

/// Upper corners of a row of pixels; of one more row than there is for the lower ones.
fn corners(transform: &Transform, width: u32, y: u32) -> Result<Corners, OutOfMemory> {
    let mut out = try_vec(u64::from(width) + 1)?;
    out.extend((0..=width).map(|x| transform.back((f64::from(x), f64::from(y)))));
    Ok(out)
}

/// Between four corners, upper ones first: exact where parallels stay parallel, and within a pixel as good as that elsewhere.
fn between((a, b, c, d): (Point, Point, Point, Point), u: f64, v: f64) -> Point {
    let of = |a: f64, b: f64, c: f64, d: f64| {
        let (upper, lower) = (a + u * (b - a), c + u * (d - c));
        upper + v * (lower - upper)
    };
    (of(a.0, b.0, c.0, d.0), of(a.1, b.1, c.1, d.1))
}

enum Sample {
    Colour([u8; 3]),
    Clipped,
}

/// The colour at a place in cells, between the four nearest cells (bilinear, in encoded steps); `None` beside the photo.
fn sampled(cells: &Grid<[u8; 3]>, x: f64, y: f64) -> Option<Sample> {
    let (width, height) = (cells.width() as usize, cells.height() as usize);
    if !(x >= 0.0 && y >= 0.0 && x < width as f64 && y < height as f64) {
        return None;
    }
    let data = cells.data();
    if is_clipped(data[y as usize * width + x as usize]) {
        return Some(Sample::Clipped);
    }
    // Up to the border the outermost cells go on.
    let (x, y) = ((x - 0.5).max(0.0), (y - 0.5).max(0.0));
    let (column, row) = (x as usize, y as usize);
    let (right, below) = (usize::from(column + 1 < width), usize::from(row + 1 < height) * width);
    // Shares in 256ths.
    let (u, v) = (((x - column as f64) * 256.0) as u32, ((y - row as f64) * 256.0) as u32);
    let here = row * width + column;
    let [a, b, c, d] = [data[here], data[here + right], data[here + below], data[here + below + right]];
    Some(Sample::Colour(core::array::from_fn(|i| {
        let [a, b, c, d] = [a, b, c, d].map(|cell| u32::from(cell[i]));
        let (upper, lower) = (a * (256 - u) + b * u, c * (256 - u) + d * u);
        ((upper * (256 - v) + lower * v + (1 << 15)) >> 16) as u8
    })))
}

/// As a page writes it.
pub(in crate::study) fn hex(lab: Lab) -> String {
    rgb_of_lab(lab).hex()
}
