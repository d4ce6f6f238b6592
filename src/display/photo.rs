//! A photo, averaged in linear light where it is scaled down.

use super::resample::{Sampled, Sampler};
use super::{Picture, STEPS, canvas, step};
use crate::colour::{Means, Rgb};
use crate::geometry::Window;
use crate::grid::{Grid, try_vec};
use crate::notice::OutOfMemory;

/// A photo made smaller beforehand: means of 4 x 4 of its pixels in linear light, of 16 x 16, and so on, as steps of 8
/// bits; together a fifteenth of its bytes. Made once, where a photo is opened. What is drawn is a window in pixels of the
/// full photo, also where only means of its pixels are kept.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoPyramid {
    /// Width and height of the full photo.
    size: (u32, u32),
    /// Side of a kept pixel in pixels of the full photo.
    factor: u32,
    /// Side of a cell in pixels of the full photo, and the cells.
    levels: Vec<(u32, Grid<[u8; 3]>)>,
}

/// Pixels of one level in one cell of the next, along a side.
const SIDE: u32 = 4;
/// No level is made of one that is not larger than this on either side.
const SMALLEST_SIDE: u32 = 512;

impl PhotoPyramid {
    /// Makes all levels; none of a photo that is small already. `pixels` are the means of `factor` x `factor` pixels of a
    /// photo of `size`, fewer at its right and lower border; the photo itself for a factor of 1.
    ///
    /// # Errors
    /// No memory for them.
    pub fn build(pixels: &Grid<[u8; 3]>, size: (u32, u32), factor: u32) -> Result<Self, OutOfMemory> {
        let mut levels: Vec<(u32, Grid<[u8; 3]>)> = try_vec(16)?;
        loop {
            let (side, finer) = levels.last().map_or((factor, pixels), |(side, cells)| (*side, cells));
            if finer.width() <= SMALLEST_SIDE && finer.height() <= SMALLEST_SIDE {
                return Ok(Self { size, factor, levels });
            }
            let coarser = quartered(finer)?;
            levels.push((side * SIDE, coarser));
        }
    }

    /// The coarsest cells of at most this many pixels of the photo, with their side; the pixels that are kept where there are none.
    pub fn cells_for<'a>(&'a self, pixels: &'a Grid<[u8; 3]>, most: f64) -> (u32, &'a Grid<[u8; 3]>) {
        let level = self.levels.iter().rev().find(|(side, _)| f64::from(*side) <= most);
        level.map_or((self.factor, pixels), |(side, cells)| (*side, cells))
    }

    /// The coarsest level whose cells are at most half of this many pixels.
    fn level_for(&self, step: f64) -> Option<&(u32, Grid<[u8; 3]>)> {
        self.levels.iter().rev().find(|(side, _)| f64::from(*side) <= step / 2.0)
    }
}

/// Means of 4 x 4 pixels; fewer at the right and lower border.
fn quartered(finer: &Grid<[u8; 3]>) -> Result<Grid<[u8; 3]>, OutOfMemory> {
    let mut means = Means::new((finer.width(), finer.height()), SIDE, (false, false))?;
    finer.rows().for_each(|row| means.push(row));
    Ok(means.finish().unwrap_or_else(|| unreachable!()))
}

/// Draws it from its own pixels.
pub fn picture_of_photo(pixels: &Grid<[u8; 3]>, window: &Window) -> Result<Picture, OutOfMemory> {
    let sampler = Sampler::new(window, pixels.width(), pixels.height())?;
    drawn(pixels, sampler, window)
}

/// Draws it from the level of its pyramid whose cells are at most half a picture pixel wide, and from the pixels that are
/// kept where there is none. The window is in pixels of the full photo.
pub fn picture_of_large_photo(
    pixels: &Grid<[u8; 3]>,
    pyramid: &PhotoPyramid,
    window: &Window,
) -> Result<Picture, OutOfMemory> {
    let (step_x, step_y) = window.map_per_picture();
    let level = pyramid.level_for(step_x.min(step_y));
    let (side, cells) = level.map_or((pyramid.factor, pixels), |(side, cells)| (*side, cells));
    drawn(cells, Sampler::of_cells(window, pyramid.size, side)?, window)
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
        let pyramid = PhotoPyramid::build(&photo, (width, height), 1).unwrap();
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

    #[test]
    fn of_a_reduced_photo_windows_are_in_pixels_of_the_full_one() {
        // 1203 x 1001 is no multiple of 3: the last cells are smaller.
        let (width, height) = (1203u32, 1001u32);
        let pixels = (0..width * height)
            .map(|i| [(i % width / 5) as u8, (i / width / 4) as u8, (i % 7) as u8])
            .collect();
        let photo = Grid::from_vec(width, height, pixels).unwrap();
        let mut means = Means::new((width, height), 3, (false, false)).unwrap();
        photo.rows().for_each(|row| means.push(row));
        let reduced = means.finish().unwrap();
        assert_eq!((reduced.width(), reduced.height()), (401, 334));
        let whole = PhotoPyramid::build(&photo, (width, height), 1).unwrap();
        let pyramid = PhotoPyramid::build(&reduced, (width, height), 3).unwrap();
        assert!(pyramid.levels.is_empty());
        let window = |x: f64, y: f64, width: f64, height: f64, out_width: u32| Window {
            x,
            y,
            width,
            height,
            out_width,
            out_height: None,
        };
        // Twelve pixels of the photo in one of the picture, and three: as from the full photo. The lower border, where
        // the last cell has two rows, is among them.
        for window in [window(0.0, 0.0, 1200.0, 996.0, 100), window(603.0, 801.0, 300.0, 201.0, 100)] {
            let full = picture_of_large_photo(&photo, &whole, &window).unwrap();
            let got = picture_of_large_photo(&reduced, &pyramid, &window).unwrap();
            let apart = full.rgba.iter().zip(&got.rgba).map(|(a, b)| a.abs_diff(*b)).max();
            assert!(apart <= Some(1), "{apart:?}");
            assert_eq!(got.rgba.chunks_exact(4).filter(|pixel| pixel[3] == 0).count(), 0);
        }
        // Enlarged, a kept pixel is drawn as the square of three pixels of the photo that it is, and the last as two.
        let close = picture_of_large_photo(&reduced, &pyramid, &window(0.0, 992.0, 12.0, 12.0, 12)).unwrap();
        let row = |y: usize| &close.rgba[y * 48..(y + 1) * 48];
        let cell = reduced.get(1, 333).unwrap();
        assert_eq!(row(7)[4 * 3..4 * 3 + 3], *cell);
        assert_eq!((row(7), row(7)[3]), (row(8), 255));
        assert_eq!(row(9)[3], 0, "below the photo");
        assert_ne!(row(6), row(7));
    }
}
