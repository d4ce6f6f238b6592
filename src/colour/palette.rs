//! The colours of this program: lights, classes, the ratio scale, places without data.

use super::space::{Rgb, rgb_of_lab};

/// Default colours of lights, in the order in which maps are switched on: members of the palette of M. Okabe and K. Ito
/// (2008), made to stay apart under colour-vision deficiency. `tests/colour_vision.rs` states by how much they and their
/// sums do.
pub const LIGHT_COLOURS: [Rgb; 4] =
    [Rgb([230, 159, 0]), Rgb([86, 180, 233]), Rgb([204, 121, 167]), Rgb([0, 158, 115])];

/// A pattern laid over a colour, in picture pixels, so that it is the same at every magnification.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Pattern {
    /// None.
    Plain,
    /// Diagonal stripes.
    Stripes,
    /// Dots.
    Dots,
}

impl Pattern {
    /// The word used in the key.
    pub fn word(self) -> &'static str {
        match self {
            Pattern::Plain => "plain",
            Pattern::Stripes => "stripes",
            Pattern::Dots => "dots",
        }
    }

    /// Whether the second colour stands at this picture pixel.
    pub fn is_marked(self, x: u32, y: u32) -> bool {
        match self {
            Pattern::Plain => false,
            Pattern::Stripes => (x + y) % 6 < 2,
            Pattern::Dots => x % 5 < 2 && y % 5 < 2,
        }
    }
}

/// How a class is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ClassColour {
    /// Ground.
    pub ground: Rgb,
    /// What the pattern draws.
    pub mark: Rgb,
    /// The pattern.
    pub pattern: Pattern,
}

const fn plain(rgb: [u8; 3]) -> ClassColour {
    ClassColour { ground: Rgb(rgb), mark: Rgb(rgb), pattern: Pattern::Plain }
}

/// A pixel without data.
pub const NO_DATA: ClassColour =
    ClassColour { ground: Rgb([76, 72, 68]), mark: Rgb([108, 103, 98]), pattern: Pattern::Stripes };

/// A ratio of which only a lower limit is known: the teal of the upper end of [`diverging`], subdued.
pub const LOWER_LIMIT: ClassColour =
    ClassColour { ground: Rgb([16, 50, 70]), mark: Rgb([70, 116, 122]), pattern: Pattern::Stripes };

/// A ratio of which only an upper limit is known: the ochre of the lower end, subdued.
pub const UPPER_LIMIT: ClassColour =
    ClassColour { ground: Rgb([72, 52, 24]), mark: Rgb([124, 92, 48]), pattern: Pattern::Stripes };

/// The classes of `apart` by their number: blank, neither, A only, B only, both, cannot be judged. Lightness rises
/// neither < B only < cannot be judged < both < A only, in steps of at least 13 L*; cannot be judged and both carry
/// patterns too, and so does blank, which is nearly as light as B only. So the classes can be told apart in grey.
pub const CLASS_COLOURS: [ClassColour; 6] = [
    NO_DATA,
    plain([22, 22, 24]),
    plain([255, 196, 61]),
    plain([0, 92, 138]),
    ClassColour { ground: Rgb([176, 164, 190]), mark: Rgb([140, 126, 158]), pattern: Pattern::Dots },
    ClassColour { ground: Rgb([124, 124, 124]), mark: Rgb([176, 176, 176]), pattern: Pattern::Stripes },
];

const fn striped(ground: [u8; 3], mark: [u8; 3]) -> ClassColour {
    ClassColour { ground: Rgb(ground), mark: Rgb(mark), pattern: Pattern::Stripes }
}

const fn dotted(ground: [u8; 3], mark: [u8; 3]) -> ClassColour {
    ClassColour { ground: Rgb(ground), mark: Rgb(mark), pattern: Pattern::Dots }
}

/// Zones, from the first on: found by search for the largest of the smallest CIEDE2000 differences, over the four kinds of
/// colour vision and with places without data among them (17.9; `tests/colour_vision.rs` holds it to 15). Any two differ by
/// ten L* or by pattern.
pub const ZONE_COLOURS: [ClassColour; 10] = [
    dotted([136, 160, 136], [120, 144, 120]),
    plain([232, 112, 16]),
    plain([88, 16, 232]),
    dotted([232, 232, 16], [204, 204, 12]),
    plain([88, 16, 88]),
    plain([112, 232, 232]),
    striped([160, 64, 16], [186, 92, 44]),
    striped([208, 112, 232], [184, 92, 206]),
    plain([136, 112, 136]),
    striped([208, 232, 184], [182, 208, 158]),
];

/// Diverging scale for t from -1 (ochre) through 0 (pale grey) to 1 (teal), straight in CIELAB on either side; both
/// ends have the lightness 42, the middle 93. Values outside are clipped.
pub fn diverging(t: f64) -> Rgb {
    let t = t.clamp(-1.0, 1.0);
    let middle = [93.0, 0.0, 2.0];
    let end = if t < 0.0 { [42.0, 22.0, 46.0] } else { [42.0, -28.0, -8.0] };
    let share = t.abs();
    rgb_of_lab([0, 1, 2].map(|i| middle[i] + (end[i] - middle[i]) * share))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::lab_of;

    #[test]
    fn classes_differ_in_lightness() {
        let mut lightness: Vec<f64> = CLASS_COLOURS[1..].iter().map(|c| lab_of(c.ground)[0]).collect();
        lightness.sort_unstable_by(f64::total_cmp);
        for pair in lightness.windows(2) {
            assert!(pair[1] - pair[0] >= 13.0, "{lightness:?}");
        }
        let of = |i: usize| lab_of(CLASS_COLOURS[i].ground)[0];
        assert!(of(1) < of(3) && of(3) < of(5) && of(5) < of(4) && of(4) < of(2));
    }

    #[test]
    fn the_diverging_scale_is_symmetric_in_lightness_and_falls_to_both_sides() {
        let mut before = f64::INFINITY;
        for i in 0..=20 {
            let t = f64::from(i) / 20.0;
            let (left, right) = (lab_of(diverging(-t))[0], lab_of(diverging(t))[0]);
            assert!((left - right).abs() < 1.0, "{t}: {left} and {right}");
            assert!(right < before);
            before = right;
        }
        assert_eq!(diverging(7.0), diverging(1.0));
    }
}
