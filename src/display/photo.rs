//! A photo, averaged in linear light where it is scaled down.

use super::resample::{Sampled, Sampler};
use super::{Picture, STEPS, canvas, step};
use crate::colour::Rgb;
use crate::geometry::Window;
use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// A photo made smaller beforehand: means of 4 x 4 pixels in linear light, of 16 x 16, and so on, as steps of 8 bits;
/// together a fifteenth of its bytes. Made once, where a photo is opened.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoPyramid {
    /// Side of a cell in pixels of the photo, and the cells.
    levels: Vec<(u32, Grid<[u8; 3]>)>,
}

/// Pixels of one level in one cell of the next, along a side.
const SIDE: u32 = 4;
/// No level is made of one that is not larger than this on either side.
const SMALLEST_SIDE: u32 = 512;

impl PhotoPyramid {
    /// Makes all levels; none of a photo that is small already.
    ///
    /// # Errors
    /// No memory for them.
    pub fn build(pixels: &Grid<[u8; 3]>) -> Result<Self, OutOfMemory> {
        let mut levels: Vec<(u32, Grid<[u8; 3]>)> = try_vec(16)?;
        loop {
            let (factor, finer) = levels.last().map_or((1, pixels), |(factor, cells)| (*factor, cells));
            if finer.width() <= SMALLEST_SIDE && finer.height() <= SMALLEST_SIDE {
                return Ok(Self { levels });
            }
            let coarser = quartered(finer)?;
            levels.push((factor * SIDE, coarser));
        }
    }

    /// The coarsest cells of at most this many pixels of the photo, with their side; the pixels that are kept where there are none.
    pub(super) fn cells_for<'a>(&'a self, pixels: &'a Grid<[u8; 3]>, most: f64) -> (u32, &'a Grid<[u8; 3]>) {
        let level = self.levels.iter().rev().find(|(side, _)| f64::from(*side) <= most);
        level.map_or((1, pixels), |(side, cells)| (*side, cells))
    }

    /// The coarsest level whose cells are at most half of this many pixels.
    fn level_for(&self, step: f64) -> Option<&(u32, Grid<[u8; 3]>)> {
        self.levels.iter().rev().find(|(factor, _)| f64::from(*factor) <= step / 2.0)
    }
}

fn linear() -> [f32; 256] {
    let mut out = [0.0; 256];
    for (i, light) in (0u8..=255).zip(&mut out) {
        *light = Rgb([i; 3]).linear()[0] as f32;
    }
    out
}

/// Means of 4 x 4 pixels; fewer at the right and lower border.
fn quartered(finer: &Grid<[u8; 3]>) -> Result<Grid<[u8; 3]>, OutOfMemory> {
    let (linear, steps) = (linear(), &**STEPS);
    let (width, height) = (finer.width().div_ceil(SIDE), finer.height().div_ceil(SIDE));
    let mut cells = try_vec(u64::from(width) * u64::from(height))?;
    let mut sums = try_filled_vec(u64::from(width), [0.0f32; 3])?;
    for y in 0..height {
        sums.fill([0.0; 3]);
        let lines = y * SIDE..((y + 1) * SIDE).min(finer.height());
        let rows = lines.len();
        for line in lines {
            for (sum, pixels) in sums.iter_mut().zip(finer.row(line).chunks(SIDE as usize)) {
                for pixel in pixels {
                    for (sum, channel) in sum.iter_mut().zip(pixel) {
                        *sum += linear[usize::from(*channel)];
                    }
                }
            }
        }
        let columns = |x: u32| SIDE.min(finer.width() - x * SIDE);
        cells.extend((0u32..).zip(&sums).map(|(x, sum)| {
            let covered = (columns(x) as usize * rows) as f32;
            sum.map(|light| step(steps, light / covered))
        }));
    }
    Ok(Grid::from_vec(width, height, cells).unwrap_or_else(|| unreachable!()))
}

/// Draws it from its own pixels.
pub fn picture_of_photo(pixels: &Grid<[u8; 3]>, window: &Window) -> Result<Picture, OutOfMemory> {
    let sampler = Sampler::new(window, pixels.width(), pixels.height())?;
    drawn(pixels, sampler, window)
}

/// Draws it from the level of its pyramid whose cells are at most half a picture pixel wide, and as [`picture_of_photo`]
/// where there is none.
pub fn picture_of_large_photo(
    pixels: &Grid<[u8; 3]>,
    pyramid: &PhotoPyramid,
    window: &Window,
) -> Result<Picture, OutOfMemory> {
    let (step_x, step_y) = window.map_per_picture();
    match pyramid.level_for(step_x.min(step_y)) {
        None => picture_of_photo(pixels, window),
        Some((factor, cells)) => {
            let sampler = Sampler::of_cells(window, (pixels.width(), pixels.height()), *factor)?;
            drawn(cells, sampler, window)
        }
    }
}

fn drawn(pixels: &Grid<[u8; 3]>, mut sampler: Sampler, window: &Window) -> Result<Picture, OutOfMemory> {
    let mut rgba = canvas(window)?;
    let steps = &**STEPS;
    let linear: Vec<f64> = (0..=255u8).map(|v| Rgb([v; 3]).linear()[0]).collect();
    for (y, row) in rgba.chunks_exact_mut(window.out_width as usize * 4).enumerate() {
        for channel in 0..3 {
            let fill = |line: u32, out: &mut [f64]| {
                for (slot, pixel) in out.iter_mut().zip(pixels.row(line)) {
                    *slot = linear[usize::from(pixel[channel])];
                }
            };
            sampler.row(y as u32, fill, |x, sampled| {
                if let Sampled::Value(light) = sampled {
                    row[x * 4 + channel] = step(steps, light as f32);
                    row[x * 4 + 3] = 255;
                }
            });
        }
    }
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key: Vec::new() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn unscaled_it_is_itself_and_halved_it_is_the_mean_of_the_light() {
        let every: Vec<[u8; 3]> = (0..=255u8).map(|v| [v, 255 - v, v]).collect();
        let photo = Grid::from_vec(256, 1, every.clone()).unwrap();
        let picture = picture_of_photo(&photo, &Window::whole(256, 1)).unwrap();
        let got: Vec<[u8; 3]> = picture.rgba.chunks_exact(4).map(|p| [p[0], p[1], p[2]]).collect();
        assert_eq!(got, every);
        let pair = Grid::from_vec(2, 1, vec![[0; 3], [255; 3]]).unwrap();
        let half = picture_of_photo(&pair, &Window { out_width: 1, ..Window::whole(2, 1) }).unwrap();
        assert_eq!(half.rgba, [188, 188, 188, 255]);
    }

    #[test]
    fn from_its_pyramid_it_looks_as_from_its_pixels() {
        let (width, height) = (1203u32, 1001u32);
        let pixels = (0..width * height)
            .map(|i| {
                let (x, y) = (i % width, i / width);
                [(x / 5) as u8, (y / 4) as u8, if (x / 90 + y / 70) % 2 == 0 { 220 } else { 30 }]
            })
            .collect();
        let photo = Grid::from_vec(width, height, pixels).unwrap();
        let pyramid = PhotoPyramid::build(&photo).unwrap();
        assert_eq!(pyramid.levels.iter().map(|level| level.0).collect::<Vec<_>>(), [4]);
        let exactly = |a: &Picture, b: &Picture, most: u8| {
            let apart = a.rgba.iter().zip(&b.rgba).map(|(a, b)| a.abs_diff(*b));
            let (mut worst, mut sum) = (0, 0.0);
            apart.for_each(|d| (worst, sum) = (worst.max(d), sum + f64::from(d)));
            assert!(
                worst <= most && sum / a.rgba.len() as f64 <= 1.0,
                "{worst} {}",
                sum / a.rgba.len() as f64
            );
        };
        let view = |step: f64| Window {
            x: -20.5,
            y: 13.25,
            width: 100.0 * step,
            height: 80.0 * step,
            out_width: 100,
            out_height: None,
        };
        for step in [8.0, 9.7, 13.0] {
            let (near, far) = (
                picture_of_photo(&photo, &view(step)),
                picture_of_large_photo(&photo, &pyramid, &view(step)),
            );
            // Only edges between light and dark fields move, by less than a quarter of a picture pixel.
            exactly(&near.unwrap(), &far.unwrap(), 80);
        }
        // Cells that lie as the picture's pixels do: nothing moves but a rounding of each level.
        let even = Window {
            out_width: 150,
            out_height: Some(125),
            width: 1200.0,
            height: 1000.0,
            ..Window::whole(1, 1)
        };
        exactly(
            &picture_of_photo(&photo, &even).unwrap(),
            &picture_of_large_photo(&photo, &pyramid, &even).unwrap(),
            1,
        );
        let close = view(3.0);
        assert_eq!(picture_of_photo(&photo, &close), picture_of_large_photo(&photo, &pyramid, &close));
    }
}
