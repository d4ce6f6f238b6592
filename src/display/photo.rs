//! A photo, averaged in linear light where it is scaled down.

use super::resample::{Sampled, Sampler};
use super::{Picture, STEPS, canvas, step};
use crate::colour::Rgb;
use crate::geometry::Window;
use crate::grid::Grid;
use crate::notice::OutOfMemory;

/// Draws it.
pub fn picture_of_photo(pixels: &Grid<[u8; 3]>, window: &Window) -> Result<Picture, OutOfMemory> {
    let mut rgba = canvas(window)?;
    let mut sampler = Sampler::new(window, pixels.width(), pixels.height())?;
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
}
