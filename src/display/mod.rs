//! Pictures: RGBA, key and scale bar of maps, overlays, answers and photos, and histograms. What is exported is what is
//! shown.
//!
//! A picture is a [`Window`] on the map plane. Where several map pixels fall on a picture pixel their values are
//! averaged by area (classes: the one under the centre); where a map pixel covers several picture pixels it is drawn as
//! the square that it is. Outside the map the picture is transparent.

mod axis;
mod classes;
mod histogram;
mod key;
mod laid;
mod lights;
mod photo;
pub mod plate;
mod ratio;
mod resample;
mod single;
mod spans;
mod tone;

pub use axis::{Axis, Scale};
pub use classes::picture_of_classes;
pub use histogram::{Histogram, HistogramSettings, Mark, histogram};
pub use key::{KeyEntry, ScaleBar, Tick, scale_bar};
pub use laid::{Along, LaidPhoto, divide_by_photo, mix_photo, picture_of_laid_photo};
pub use lights::{Light, picture_of_lights};
pub use photo::{PhotoPyramid, picture_of_large_photo, picture_of_photo};
pub use ratio::{RatioScale, picture_of_ratio};
pub use single::{MapScale, picture_of_map};

use crate::class::Class;
use crate::colour::{ClassColour, Encoder, Rgb};
use crate::geometry::Window;
use crate::grid::{Grid, try_filled_vec};
use crate::notice::OutOfMemory;
use std::sync::LazyLock;

/// Pixels and their key.
#[derive(Debug, Clone, PartialEq)]
pub struct Picture {
    /// Picture pixels in a row.
    pub width: u32,
    /// Rows.
    pub height: u32,
    /// Four bytes a pixel: sRGB and opacity (0 outside the map, else 255).
    pub rgba: Vec<u8>,
    /// What the colours mean.
    pub key: Vec<KeyEntry>,
}

/// The table of [`Encoder`], made once, in a form of which no look-up can be outside.
static STEPS: LazyLock<Box<[u8; 1 << 16]>> = LazyLock::new(|| {
    let encoder = Encoder::new();
    let mut steps = Box::new([0; 1 << 16]);
    for (i, step) in steps.iter_mut().enumerate() {
        *step = encoder.step(i as f32 / 65_535.0);
    }
    steps
});

/// [`Encoder::step`]: the sRGB step of a light, clipped to 0..1; 0 for NaN.
fn step(steps: &[u8; 1 << 16], light: f32) -> u8 {
    steps[usize::from((light.clamp(0.0, 1.0) * 65_535.0 + 0.5) as u16)]
}

/// Transparent pixels to draw on.
fn canvas(window: &Window) -> Result<Vec<u8>, OutOfMemory> {
    try_filled_vec(u64::from(window.out_width) * u64::from(window.out_height()) * 4, 0)
}

/// Which classes a raster holds, by their number; other numbers are passed over.
fn occurring(classes: &Grid<u8>) -> [bool; Class::COUNT] {
    let mut occurs = [false; Class::COUNT];
    for (class, slot) in (0u8..).zip(&mut occurs) {
        *slot = classes.data().contains(&class);
    }
    occurs
}

fn opaque(Rgb([r, g, b]): Rgb) -> [u8; 4] {
    [r, g, b, 255]
}

fn patterned(colour: &ClassColour, x: u32, y: u32) -> [u8; 4] {
    opaque(if colour.pattern.is_marked(x, y) { colour.mark } else { colour.ground })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_table_made_once_gives_what_the_encoder_gives() {
        let encoder = Encoder::new();
        for i in 0..300_000 {
            let light = i as f32 / 299_999.0 * 1.2 - 0.1;
            assert_eq!(step(&STEPS, light), encoder.step(light), "{light}");
        }
        assert_eq!((step(&STEPS, f32::NAN), step(&STEPS, f32::INFINITY)), (0, 255));
    }
}
