//! Values that divide a map's histogram in two, for choosing what a picture shows.
//!
//! **These are display thresholds, never a presence decision.** They look for two humps in a histogram, find a value
//! whether or not there are two, and on one map differ by a factor of three. What is detected is decided by
//! [`super::level`].

use super::levels::Levels;
use crate::notice::OutOfMemory;
use crate::stack::{Plane, Stats};

/// How a threshold is found. Pixels above it are the upper part.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Method {
    /// The largest variance between the parts. N. Otsu, IEEE Trans. Systems, Man, and Cybernetics 9 (1979) 62-66.
    Otsu,
    /// Farthest below the line from the peak to the far end. G. W. Zack, W. E. Rogers and S. A. Latt, J. Histochemistry &
    /// Cytochemistry 25 (1977) 741-753.
    Triangle,
    /// Midway between the means of the parts. T. W. Ridler and S. Calvard, IEEE Trans. Systems, Man, and Cybernetics 8
    /// (1978) 630-632.
    Isodata,
    /// The smallest cross entropy, by iteration. C. H. Li and P. K. S. Tam, Pattern Recognition Letters 19 (1998) 771-776.
    Li,
    /// The smallest error of two normal distributions. J. Kittler and J. Illingworth, Pattern Recognition 19 (1986) 41-47.
    MinimumError,
    /// The same for two Poisson distributions. N. R. Pal and D. Bhandari, Signal Processing 33 (1993) 139-158 (from
    /// memory).
    PoissonMinimumError,
    /// The lowest place between the two humps that smoothing leaves. J. M. S. Prewitt and M. L. Mendelsohn, Annals of the
    /// New York Academy of Sciences 128 (1966) 1035-1053.
    Valley,
}

impl Method {
    /// Every method.
    pub const ALL: [Method; 7] = [
        Method::Otsu,
        Method::Triangle,
        Method::Isodata,
        Method::Li,
        Method::MinimumError,
        Method::PoissonMinimumError,
        Method::Valley,
    ];

    /// Its name.
    pub fn name(self) -> &'static str {
        match self {
            Method::Otsu => "Otsu",
            Method::Triangle => "triangle",
            Method::Isodata => "isodata",
            Method::Li => "Li",
            Method::MinimumError => "minimum error",
            Method::PoissonMinimumError => "minimum error for counts",
            Method::Valley => "valley",
        }
    }
}

/// The thresholds of one map.
#[derive(Debug, Clone, PartialEq)]
pub struct Thresholds {
    /// One for each of [`Method::ALL`], in that order. `None` where the method finds none: there is no valley between
    /// two humps, no part has a spread, a part that must be above 0 is not.
    pub found: [(Method, Option<f64>); 7],
    /// The only value where all pixels hold the same: then no method finds anything.
    pub only_value: Option<f64>,
    /// Pixels at the ceiling of their type, which were left out: what they hold is not known.
    pub saturated: u64,
}

/// Display thresholds of a map (see the module: never a presence decision); `stats` are those of the plane. `None` without a
/// pixel that is neither blank nor saturated.
///
/// Whole numbers (and the stored steps of integers read with a gain) get a level each, up to 65 536; other values are
/// divided into 256 even levels between the lowest and the highest, as is usual.
pub fn thresholds(plane: &Plane, stats: &Stats) -> Result<Option<Thresholds>, OutOfMemory> {
    let levels = Levels::of(plane, stats)?;
    let saturated = stats.saturated;
    if levels.occurring() < 2 {
        // The lowest value is then the only one that is not saturated.
        let only_value = stats.low.filter(|_| levels.occurring() == 1);
        let found = Method::ALL.map(|method| (method, None));
        return Ok(only_value.map(|_| Thresholds { found, only_value, saturated }));
    }
    let found = Method::ALL.map(|method| (method, levels.threshold(method)));
    Ok(Some(Thresholds { found, only_value: None, saturated }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};
    use crate::stack::{Map, MapId, Reading, Source};

    fn map(samples: Samples) -> Map {
        let source = Source { file: String::new(), page: 0, sha256: String::new() };
        Map::new(MapId::new(1), source, String::new(), None, samples).unwrap()
    }

    fn of(samples: Samples) -> Option<Thresholds> {
        let map = map(samples);
        thresholds(&map.plane, &map.stats).unwrap()
    }

    fn row<T>(values: Vec<T>) -> Grid<T> {
        Grid::from_vec(values.len() as u32, 1, values).unwrap()
    }

    /// Two humps, around 4 and around 41.
    const TWO: [u8; 16] = [2, 3, 4, 4, 4, 4, 5, 6, 39, 40, 41, 41, 41, 42, 43, 44];

    #[test]
    fn every_method_that_answers_divides_two_humps_between_them() {
        let found = of(Samples::U8(row(TWO.to_vec()))).unwrap();
        assert_eq!((found.only_value, found.saturated), (None, 0));
        for (method, value) in found.found {
            // The triangle looks for the foot of one hump, the others for what lies between two.
            let value = value.unwrap_or_else(|| panic!("{method:?}"));
            assert!((4.0..40.0).contains(&value), "{method:?} {value}");
        }
    }

    #[test]
    fn the_same_numbers_give_the_same_in_every_type_and_follow_a_gain() {
        let want = of(Samples::U8(row(TWO.to_vec()))).unwrap();
        assert_eq!(of(Samples::U32(row(TWO.map(u32::from).to_vec()))).unwrap(), want);
        assert_eq!(of(Samples::F32(row(TWO.map(f32::from).to_vec()))).unwrap(), want);
        // Two counts for each stored step.
        let plane = Plane::new(Samples::U8(row(TWO.to_vec())));
        let plane = plane.read_as(Reading { gain: 0.5, ..Reading::default() });
        let stats = map(Samples::U8(row(TWO.map(|v| 2 * v).to_vec()))).stats;
        let doubled = thresholds(&plane, &stats).unwrap().unwrap();
        for ((method, doubled), (_, want)) in doubled.found.iter().zip(want.found) {
            // Twice as many counts are less of a Poisson distribution.
            if *method != Method::PoissonMinimumError {
                assert!((doubled.unwrap() - 2.0 * want.unwrap()).abs() < 1e-9, "{method:?}");
            }
        }
    }

    #[test]
    fn a_constant_map_has_a_value_and_no_threshold() {
        for samples in [Samples::U16(row(vec![7; 5])), Samples::F32(row(vec![7.0; 5]))] {
            let found = of(samples).unwrap();
            assert_eq!(found.only_value, Some(7.0));
            assert!(found.found.iter().all(|(_, value)| value.is_none()));
        }
        assert_eq!(of(Samples::F64(row(vec![0.1; 3]))).unwrap().only_value, Some(0.1));
        assert_eq!(of(Samples::F32(row(vec![f32::NAN; 2]))), None);
        assert_eq!(of(Samples::U8(row(vec![255; 2]))), None);
        assert_eq!(of(Samples::U8(Grid::from_vec(0, 0, Vec::new()).unwrap())), None);
    }

    #[test]
    fn saturated_pixels_are_left_out_and_counted() {
        let mut values = TWO.to_vec();
        values.extend([255; 20]);
        let found = of(Samples::U8(row(values))).unwrap();
        assert_eq!(found.saturated, 20);
        assert_eq!(found.found, of(Samples::U8(row(TWO.to_vec()))).unwrap().found);
    }

    #[test]
    fn no_map_makes_it_fail() {
        let mut state = 9u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1 << 24)
        };
        for n in 1..60 {
            for range in [1e-300, 1.0, 3.0, 1e5, 1e300] {
                let values: Vec<f64> = (0..n).map(|_| (next() - 0.3) * range).collect();
                for values in [values.clone(), values.iter().map(|v| v.round()).collect()] {
                    let found = of(Samples::F64(row(values.clone())));
                    let found = found.unwrap_or_else(|| panic!("{values:?}"));
                    assert!(found.found.iter().all(|(_, v)| v.is_none_or(f64::is_finite)), "{values:?}");
                }
            }
        }
    }
}
