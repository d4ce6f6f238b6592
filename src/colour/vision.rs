//! How colours look to people with a colour-vision deficiency, and how well a set of colours keeps apart for them.

use super::difference::ciede2000;
use super::space::{Rgb, lab_of_linear};

/// A kind of colour vision.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Vision {
    /// All three kinds of cone as usual.
    Normal,
    /// Cones for long waves deviate or are missing.
    Protan,
    /// Cones for middle waves deviate or are missing.
    Deutan,
    /// Cones for short waves deviate or are missing. The authors of the model hold it to be less sure here.
    Tritan,
}

/// How far a deficiency goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Severity {
    /// 0.5 of the model: sensitivities of the cones shifted half way.
    Half,
    /// 1.0 of the model: the cones are missing.
    Full,
}

type Matrix = [[f64; 3]; 3];

// G. M. Machado, M. M. Oliveira and L. A. F. Fernandes, IEEE Trans. Visualization and Computer Graphics 15 (2009)
// 1291-1298, the tables for severity 0.5 and 1.0. They work on linear sRGB; rows sum to 1, so greys stay.
const PROTAN: [Matrix; 2] = [
    [
        [0.458_064, 0.679_578, -0.137_642],
        [0.092_785, 0.846_313, 0.060_902],
        [-0.007_494, -0.016_807, 1.024_301],
    ],
    [
        [0.152_286, 1.052_583, -0.204_868],
        [0.114_503, 0.786_281, 0.099_216],
        [-0.003_882, -0.048_116, 1.051_998],
    ],
];
const DEUTAN: [Matrix; 2] = [
    [
        [0.547_494, 0.607_765, -0.155_259],
        [0.181_692, 0.781_742, 0.036_566],
        [-0.010_410, 0.027_275, 0.983_136],
    ],
    [
        [0.367_322, 0.860_646, -0.227_968],
        [0.280_085, 0.672_501, 0.047_413],
        [-0.011_820, 0.042_940, 0.968_881],
    ],
];
const TRITAN: [Matrix; 2] = [
    [
        [1.017_277, 0.027_029, -0.044_306],
        [-0.006_113, 0.958_479, 0.047_634],
        [0.006_379, 0.248_708, 0.744_913],
    ],
    [
        [1.255_528, -0.076_749, -0.178_779],
        [-0.078_411, 0.930_809, 0.147_602],
        [0.004_733, 0.691_367, 0.303_900],
    ],
];

impl Vision {
    /// Every kind, the usual one first.
    pub const ALL: [Vision; 4] = [Vision::Normal, Vision::Protan, Vision::Deutan, Vision::Tritan];

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Vision::Normal => "normal",
            Vision::Protan => "protan",
            Vision::Deutan => "deutan",
            Vision::Tritan => "tritan",
        }
    }

    /// Linear light as it looks, each channel clipped to 0..1.
    pub fn seen_linear(self, light: [f64; 3], severity: Severity) -> [f64; 3] {
        let tables = match self {
            Vision::Normal => return light.map(|l| l.clamp(0.0, 1.0)),
            Vision::Protan => PROTAN,
            Vision::Deutan => DEUTAN,
            Vision::Tritan => TRITAN,
        };
        let matrix = tables[usize::from(severity == Severity::Full)];
        let [r, g, b] = light;
        matrix.map(|row| (row[0] * r + row[1] * g + row[2] * b).clamp(0.0, 1.0))
    }

    /// A colour as it looks, rounded to steps of sRGB.
    pub fn seen(self, colour: Rgb, severity: Severity) -> Rgb {
        if self == Vision::Normal {
            colour
        } else {
            Rgb::from_linear(self.seen_linear(colour.linear(), severity))
        }
    }

    /// The CIEDE2000 difference of two colours as they look where the deficiency is full.
    pub fn difference(self, one: Rgb, other: Rgb) -> f64 {
        let [one, other] =
            [one, other].map(|colour| lab_of_linear(self.seen_linear(colour.linear(), Severity::Full)));
        ciede2000(one, other)
    }
}

/// The two colours of a set that are hardest to tell apart.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// To whom.
    pub vision: Vision,
    /// Their CIEDE2000 difference.
    pub difference: f64,
    /// Their places in the set.
    pub pair: (usize, usize),
}

/// The two nearest colours of a set for each of [`Vision::ALL`], deficiencies at their full severity; the first pair
/// of several that are equally near. `None` for a set of fewer than two.
pub fn smallest_difference(colours: &[Rgb]) -> Option<[Nearest; 4]> {
    if colours.len() < 2 {
        return None;
    }
    Some(Vision::ALL.map(|vision| {
        let mut nearest = Nearest { vision, difference: f64::INFINITY, pair: (0, 1) };
        for (i, &one) in colours.iter().enumerate() {
            for (j, &other) in colours.iter().enumerate().skip(i + 1) {
                let difference = vision.difference(one, other);
                if difference < nearest.difference {
                    nearest = Nearest { vision, difference, pair: (i, j) };
                }
            }
        }
        nearest
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn greys_look_the_same_to_all_and_red_does_not() {
        for vision in Vision::ALL {
            for severity in [Severity::Half, Severity::Full] {
                for grey in [0, 1, 77, 128, 254, 255] {
                    assert_eq!(vision.seen(Rgb([grey; 3]), severity), Rgb([grey; 3]));
                }
            }
        }
        // colour-science 0.4.7 with the same tables: 108.79, 95.03, 0; 163.22, 144.28, 0; 255, 0, 14.89.
        let red = |vision: Vision| vision.seen(Rgb([255, 0, 0]), Severity::Full);
        assert_eq!(red(Vision::Protan), Rgb([109, 95, 0]));
        assert_eq!(red(Vision::Deutan), Rgb([163, 144, 0]));
        assert_eq!(red(Vision::Tritan), Rgb([255, 0, 15]));
    }

    #[test]
    fn one_colour_has_no_nearest() {
        assert_eq!(smallest_difference(&[Rgb([1, 2, 3])]), None);
        let same = smallest_difference(&[Rgb([9, 9, 9]), Rgb([200, 9, 9]), Rgb([9, 9, 9])]).unwrap();
        assert!(same.iter().all(|nearest| nearest.difference == 0.0 && nearest.pair == (0, 2)));
    }
}
