//! Colour: sRGB after IEC 61966-2-1, CIELAB (D65), differences after CIEDE2000, colour-vision simulation, colour scales
//! and the colours of this program, means of pixels in linear light. Imports `numerics`, `grid` and `notice` only. Knows nothing of maps.

mod difference;
mod means;
mod palette;
mod scale;
mod space;
mod vision;

pub use difference::ciede2000;
pub use means::Means;
pub use palette::{
    CLASS_COLOURS, ClassColour, LIGHT_COLOURS, LOWER_LIMIT, NO_DATA, Pattern, UPPER_LIMIT, ZONE_COLOURS,
    diverging,
};
pub use scale::ColourScale;
pub use space::{Encoder, Rgb, STEPS, decode, encode, lab_of, lab_of_linear, rgb_of_lab, step};
pub use vision::{Nearest, Severity, Vision, smallest_difference};
