//! The drawn legend of a picture, and its scale bar.

use crate::colour::{ClassColour, Rgb};
use crate::geometry::{Step, Window, round_length};
use crate::numerics::figure::THIN_SPACE;

/// A mark on a bar of the key.
#[derive(Debug, Clone, PartialEq)]
pub struct Tick {
    /// Place along the bar, 0 to 1.
    pub at: f64,
    /// What stands there.
    pub text: String,
}

/// One entry of a key.
#[derive(Debug, Clone, PartialEq)]
pub enum KeyEntry {
    /// A light alone, full and at half its range.
    Light {
        /// What it is.
        label: String,
        /// At its upper limit.
        full: Rgb,
        /// Midway between its limits.
        half: Rgb,
    },
    /// Lights that coincide somewhere in the map.
    Both {
        /// What they are.
        label: String,
        /// All at their upper limits.
        full: Rgb,
        /// All midway.
        half: Rgb,
    },
    /// A class of pixels.
    Class {
        /// What the raster holds where it is.
        number: u8,
        /// What it means.
        label: String,
        /// How it is drawn.
        colour: ClassColour,
    },
    /// Pixels that have no value for a stated reason.
    Fill {
        /// What it means.
        label: String,
        /// How they are drawn.
        colour: ClassColour,
    },
    /// A continuous scale.
    Bar {
        /// What it measures.
        label: String,
        /// Colours at even distances from left to right.
        colours: Vec<Rgb>,
        /// Marks.
        ticks: Vec<Tick>,
    },
}

/// A length to compare with.
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleBar {
    /// In picture pixels.
    pub length_px: f64,
    /// The length that it stands for.
    pub text: String,
}

/// A bar of a round length, at most a fifth of the picture and at most 160 picture pixels wide. Without a step it is a
/// number of map pixels, at least one.
pub fn scale_bar(window: &Window, step: Option<Step>) -> Option<ScaleBar> {
    let map_pixels = window.map_per_picture().0;
    let longest_px = (f64::from(window.out_width) / 5.0).min(160.0);
    let Some(step) = step else {
        let pixels = round_length(longest_px * map_pixels)?.max(1.0);
        let word = if pixels == 1.0 { "pixel" } else { "pixels" };
        return Some(ScaleBar { length_px: pixels / map_pixels, text: format!("{pixels} {word}") });
    };
    let um_a_picture_pixel = map_pixels * step.x_um();
    let length_um = round_length(longest_px * um_a_picture_pixel)?;
    let (unit_um, unit) = match length_um {
        long if long >= 1e5 => (1e4, "cm"),
        long if long >= 1e3 => (1e3, "mm"),
        _ => (1.0, "µm"),
    };
    let text = format!("{}{THIN_SPACE}{unit}", length_um / unit_um);
    Some(ScaleBar { length_px: length_um / um_a_picture_pixel, text })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_bar_is_as_long_as_it_says() {
        let step = Step::new(500.0, 500.0).unwrap();
        let window = Window { out_width: 600, ..Window::whole(150, 110) };
        // 125 µm a picture pixel; at most 120 picture pixels are 15 mm.
        let bar = scale_bar(&window, Some(step)).unwrap();
        assert_eq!((bar.length_px, bar.text.as_str()), (80.0, "10\u{202f}mm"));
        let wide = Window { out_width: 100, ..Window::whole(4000, 110) };
        assert_eq!(scale_bar(&wide, Some(step)).unwrap().text, "20\u{202f}cm");
        let bar = super::scale_bar(&window, None).unwrap();
        assert_eq!((bar.length_px, bar.text.as_str()), (80.0, "20 pixels"));
        let near = Window { out_width: 600, ..Window::whole(2, 2) };
        assert_eq!(scale_bar(&near, Some(step)).unwrap().text, "200\u{202f}µm");
    }
}
