//! Colour: sRGB after IEC 61966-2-1, CIELAB (D65), and the colours of this program.
//! Imports `numerics` only. Knows nothing of maps.

mod palette;
mod space;

pub use palette::{
    CLASS_COLOURS, ClassColour, LIGHT_COLOURS, LOWER_LIMIT, NO_DATA, Pattern, UPPER_LIMIT, diverging,
};
pub use space::{Encoder, Rgb, decode, encode, lab_of, rgb_of_lab};
