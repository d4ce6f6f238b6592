//! sRGB and CIELAB.

use crate::numerics::math::{cbrt, pow};
use std::sync::LazyLock;

/// An sRGB colour of 8 bits a channel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rgb(pub [u8; 3]);

impl Rgb {
    /// Reads "#rrggbb"; `None` for anything else.
    pub fn from_hex(text: &str) -> Option<Self> {
        let digits = text.strip_prefix('#')?;
        if digits.len() != 6 || !digits.chars().all(|c| c.is_ascii_hexdigit()) {
            return None;
        }
        let channel = |i: usize| u8::from_str_radix(digits.get(i..i + 2)?, 16).ok();
        Some(Self([channel(0)?, channel(2)?, channel(4)?]))
    }

    /// Writes "#rrggbb".
    pub fn hex(self) -> String {
        let [r, g, b] = self.0;
        format!("#{r:02x}{g:02x}{b:02x}")
    }

    /// The three channels as linear light, 0 to 1.
    pub fn linear(self) -> [f64; 3] {
        self.0.map(|c| decode(f64::from(c) / 255.0))
    }

    /// From linear light; each channel is clipped to 0..1 and rounded to the nearest step.
    pub fn from_linear(light: [f64; 3]) -> Self {
        Self(light.map(|l| (encode(l.clamp(0.0, 1.0)) * 255.0).round() as u8))
    }
}

/// Encoded value (0 to 1) to linear light, IEC 61966-2-1.
pub fn decode(v: f64) -> f64 {
    if v <= 0.040_45 { v / 12.92 } else { pow((v + 0.055) / 1.055, 2.4) }
}

/// Linear light (0 to 1) to the encoded value, IEC 61966-2-1.
pub fn encode(l: f64) -> f64 {
    if l <= 0.003_130_8 { l * 12.92 } else { 1.055 * pow(l, 1.0 / 2.4) - 0.055 }
}

/// Linear light to an 8-bit step by a table of 2^16 entries. The steepest place of the curve (near black) moves
/// 0.05 steps from entry to entry, so the result is the nearest step or, at a rounding border, its neighbour.
pub struct Encoder {
    table: Vec<u8>,
}

impl Encoder {
    const LAST: f32 = 65_535.0;

    /// Makes the table; about a millisecond.
    pub fn new() -> Self {
        let last = f64::from(Self::LAST);
        Self { table: (0..=65_535u32).map(|i| (encode(f64::from(i) / last) * 255.0).round() as u8).collect() }
    }

    /// The step of a light, clipped to 0..1; 0 for NaN.
    pub fn step(&self, light: f32) -> u8 {
        let index = (light.clamp(0.0, 1.0) * Self::LAST + 0.5) as usize;
        self.table[index.min(65_535)]
    }
}

/// The table of [`Encoder`], made once, in a form of which no look-up can be outside.
pub static STEPS: LazyLock<Box<[u8; 1 << 16]>> = LazyLock::new(|| {
    let encoder = Encoder::new();
    let mut steps = Box::new([0; 1 << 16]);
    for (i, step) in steps.iter_mut().enumerate() {
        *step = encoder.step(i as f32 / 65_535.0);
    }
    steps
});

/// [`Encoder::step`]: the sRGB step of a light, clipped to 0..1; 0 for NaN.
pub fn step(steps: &[u8; 1 << 16], light: f32) -> u8 {
    steps[usize::from((light.clamp(0.0, 1.0) * 65_535.0 + 0.5) as u16)]
}

impl Default for Encoder {
    fn default() -> Self {
        Self::new()
    }
}

// D65 white of this matrix (its row sums), so that greys have a* = b* = 0 exactly.
const XYZ_OF_RGB: [[f64; 3]; 3] =
    [[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]];
const RGB_OF_XYZ: [[f64; 3]; 3] = [
    [3.240_625_477_320_05, -1.537_207_972_210_32, -0.498_628_598_698_248],
    [-0.968_930_714_729_32, 1.875_756_060_885_24, 0.041_517_523_842_954],
    [0.055_710_120_445_511, -0.204_021_050_598_487, 1.056_995_942_254_39],
];
const WHITE: [f64; 3] = [0.9505, 1.0, 1.089];

fn times(matrix: [[f64; 3]; 3], v: [f64; 3]) -> [f64; 3] {
    matrix.map(|row| row[0] * v[0] + row[1] * v[1] + row[2] * v[2])
}

/// CIELAB (L*, a*, b*) of an sRGB colour, white point D65 (CIE 15).
pub fn lab_of(colour: Rgb) -> [f64; 3] {
    lab_of_linear(colour.linear())
}

/// CIELAB (L*, a*, b*) of linear sRGB light, each channel 0 to 1.
pub fn lab_of_linear(light: [f64; 3]) -> [f64; 3] {
    let xyz = times(XYZ_OF_RGB, light);
    let limit = 6.0 / 29.0;
    let f = |i: usize| {
        let t = xyz[i] / WHITE[i];
        if t > limit * limit * limit { cbrt(t) } else { t / (3.0 * limit * limit) + 4.0 / 29.0 }
    };
    let (x, y, z) = (f(0), f(1), f(2));
    [116.0 * y - 16.0, 500.0 * (x - y), 200.0 * (y - z)]
}

/// The sRGB colour nearest to a CIELAB colour; channels outside the gamut are clipped.
pub fn rgb_of_lab(lab: [f64; 3]) -> Rgb {
    let limit = 6.0 / 29.0;
    let inverse = |t: f64| if t > limit { t * t * t } else { 3.0 * limit * limit * (t - 4.0 / 29.0) };
    let y = (lab[0] + 16.0) / 116.0;
    let f = [y + lab[1] / 500.0, y, y - lab[2] / 200.0];
    let xyz = [inverse(f[0]) * WHITE[0], inverse(f[1]) * WHITE[1], inverse(f[2]) * WHITE[2]];
    Rgb::from_linear(times(RGB_OF_XYZ, xyz))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} is not {want} to {tolerance}");
    }

    #[test]
    fn the_curve_of_the_standard() {
        // IEC 61966-2-1; values computed with colour-science 0.4.7 (eotf_sRGB).
        for (step, light) in [
            (1, 3.035_270e-4),
            (10, 0.003_035_270),
            (11, 0.003_346_536),
            (128, 0.215_860_50),
            (188, 0.502_886_46),
        ] {
            near(decode(f64::from(step) / 255.0), light, 5e-9);
        }
        assert_eq!((decode(0.0), encode(0.0), decode(1.0)), (0.0, 0.0, 1.0));
        near(encode(0.18), 0.461_356_13, 5e-9);
        near(encode(0.5), 0.735_356_98, 5e-9);
    }

    #[test]
    fn the_table_is_never_more_than_one_step_from_the_curve() {
        let encoder = Encoder::new();
        for i in 0..200_000 {
            let light = i as f32 / 199_999.0;
            let exact = encode(f64::from(light)) * 255.0;
            near(f64::from(encoder.step(light)), exact, 0.56);
        }
        assert_eq!(
            (encoder.step(0.0), encoder.step(1.0), encoder.step(f32::NAN), encoder.step(7.0)),
            (0, 255, 0, 255)
        );
    }

    #[test]
    fn the_table_made_once_gives_what_the_encoder_gives() {
        let encoder = Encoder::new();
        for i in 0..300_000 {
            let light = i as f32 / 299_999.0 * 1.2 - 0.1;
            assert_eq!(step(&STEPS, light), encoder.step(light), "{light}");
        }
        assert_eq!((step(&STEPS, f32::NAN), step(&STEPS, f32::INFINITY)), (0, 255));
    }

    #[test]
    fn lab_of_known_colours_and_back() {
        // colour-science 0.4.7; tolerance for the last digits of white point and matrix.
        for (rgb, lab) in
            [([255, 0, 0], [53.2329, 80.1112, 67.2237]), ([44, 92, 148], [38.4246, 3.1049, -35.5297])]
        {
            let got = lab_of(Rgb(rgb));
            for i in 0..3 {
                near(got[i], lab[i], 0.03);
            }
            assert_eq!(rgb_of_lab(got), Rgb(rgb));
        }
        let grey = lab_of(Rgb([128; 3]));
        near(grey[1], 0.0, 1e-9);
        near(grey[2], 0.0, 1e-9);
    }

    #[test]
    fn hex_is_strict() {
        assert_eq!(Rgb::from_hex("#0a10ff"), Some(Rgb([10, 16, 255])));
        assert_eq!(Rgb([10, 16, 255]).hex(), "#0a10ff");
        for wrong in ["0a10ff", "#0a10f", "#0a10fg", "", "#éé"] {
            assert_eq!(Rgb::from_hex(wrong), None, "{wrong}");
        }
    }
}
