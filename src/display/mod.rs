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
mod share;
mod single;
mod spans;
mod tone;
mod zones;

pub use axis::{Axis, Scale};
pub use classes::picture_of_classes;
pub use histogram::{Histogram, HistogramSettings, Mark, histogram};
pub use key::{KeyEntry, ScaleBar, Tick, scale_bar};
pub use laid::{Along, LaidPhoto, divide_by_photo, mix_photo, picture_of_laid_photo};
pub use lights::{Light, picture_of_lights};
pub use photo::{PhotoPyramid, picture_of_large_photo, picture_of_photo};
pub use ratio::{RatioScale, picture_of_ratio};
pub use share::picture_of_share;
pub use single::{MapScale, picture_of_map};
pub use zones::picture_of_zones;

use crate::class::Class;
use crate::colour::{ClassColour, Rgb, STEPS, step};
use crate::geometry::Window;
use crate::grid::{Grid, try_filled_vec};
use crate::notice::OutOfMemory;

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
