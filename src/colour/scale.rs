//! Colour scales for a single map.

use super::palette::diverging;
use super::space::Rgb;

/// Steps of a scale.
pub const STEPS: usize = 256;

/// Three published scales, one after the other, each 256 colours of three bytes; sources at [`ColourScale`].
const PUBLISHED: &[u8; 3 * STEPS * 3] = include_bytes!("scales.bin");

/// The colours in which a single map can be drawn, from the lower to the upper limit.
///
/// Sources: viridis and magma by S. van der Walt and N. Smith (2015), released as CC0; cividis by J. R. Nuñez,
/// C. R. Anderton and R. S. Renslow, PLoS ONE 13 (2018) e0199239, free of copyright. The lightness L* of these three and of
/// grey rises from end to end (over any two steps; from one to the next the rounding to 8 bits may take 0.03 back), so that an
/// order of colours is an order of values. The diverging scale is our own.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ColourScale {
    /// From black to white in even steps of sRGB.
    #[default]
    Grey,
    /// Violet, green, yellow.
    Viridis,
    /// Blue, grey, yellow; made to look alike with and without a colour-vision deficiency.
    Cividis,
    /// Black, purple, pale yellow.
    Magma,
    /// Ochre, pale grey, teal: for values that fall to either side of the middle between the limits.
    Diverging,
}

impl ColourScale {
    /// Every scale, the default first.
    pub const fn all() -> [ColourScale; 5] {
        use ColourScale::{Cividis, Diverging, Grey, Magma, Viridis};
        [Grey, Viridis, Cividis, Magma, Diverging]
    }

    /// The word in settings.
    pub fn key(self) -> &'static str {
        match self {
            ColourScale::Grey => "grey",
            ColourScale::Viridis => "viridis",
            ColourScale::Cividis => "cividis",
            ColourScale::Magma => "magma",
            ColourScale::Diverging => "diverging",
        }
    }

    /// The words on the page.
    pub fn label(self) -> &'static str {
        match self {
            ColourScale::Grey => "grey",
            ColourScale::Viridis => "viridis: violet, green, yellow",
            ColourScale::Cividis => "cividis: blue, grey, yellow",
            ColourScale::Magma => "magma: black, purple, pale yellow",
            ColourScale::Diverging => "diverging: ochre, pale grey, teal",
        }
    }

    /// The scale of a word; `None` for any other word.
    pub fn from_key(key: &str) -> Option<Self> {
        Self::all().into_iter().find(|scale| scale.key() == key)
    }

    /// Its colour at a step from 0 to 255.
    pub fn colour(self, step: u8) -> Rgb {
        let published = |place: usize| {
            let at = (place * STEPS + usize::from(step)) * 3;
            Rgb([PUBLISHED[at], PUBLISHED[at + 1], PUBLISHED[at + 2]])
        };
        match self {
            ColourScale::Grey => Rgb([step; 3]),
            ColourScale::Viridis => published(0),
            ColourScale::Cividis => published(1),
            ColourScale::Magma => published(2),
            ColourScale::Diverging => diverging(f64::from(step) / 127.5 - 1.0),
        }
    }

    /// All its colours, from the lower to the upper limit.
    pub fn table(self) -> [Rgb; STEPS] {
        let mut table = [Rgb([0; 3]); STEPS];
        for (slot, step) in table.iter_mut().zip(0..=255u8) {
            *slot = self.colour(step);
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::lab_of;

    #[test]
    fn lightness_rises_from_step_to_step_or_to_the_middle_and_back() {
        for scale in ColourScale::all() {
            let lightness: Vec<f64> = scale.table().iter().map(|&colour| lab_of(colour)[0]).collect();
            if scale == ColourScale::Diverging {
                let highest = lightness.iter().copied().fold(0.0, f64::max);
                assert!(highest - lightness[127].min(lightness[128]) < 0.5);
                for step in 0..128 {
                    assert!((lightness[step] - lightness[255 - step]).abs() < 1.0, "{step}");
                }
                // Steps of 8 bits: the rise shows over four of them.
                assert!((0..124).all(|i| lightness[i + 4] > lightness[i]));
            } else {
                // Rounded to 8 bits, a step of the published scales may fall by some hundredths; two steps always rise.
                assert!(lightness.windows(2).all(|pair| pair[1] > pair[0] - 0.04), "{scale:?}");
                assert!(lightness.windows(3).all(|three| three[2] > three[0] + 0.1), "{scale:?}");
            }
        }
    }

    #[test]
    fn every_scale_is_found_by_its_word() {
        for scale in ColourScale::all() {
            assert_eq!(ColourScale::from_key(scale.key()), Some(scale));
        }
        assert_eq!(ColourScale::from_key("Grey"), None);
    }
}
