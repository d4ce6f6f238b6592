//! How much the values of a map scatter by noise where the map holds no counts.

use super::gain::difference_variance;
use super::{FEWEST_PIXELS, Signal};
use crate::kind::Noise;

/// Noise of the pixels of a map.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scatter {
    /// Counts: each pixel by its own counts.
    Counting,
    /// By the map of errors; pixels without an error get the mean variance of the others, which stands here.
    Errors(f64),
    /// The same in each pixel, from differences of neighbours in the region that is asked about: too large where the paint
    /// is grainy, never too small.
    Neighbours(f64),
    /// As before, but values two pixels apart differ more than neighbours do, as after smoothing: sums of pixels are less
    /// certain than they look, and how much is not known.
    Linked(f64),
}

/// Variance of pixels two apart over that of neighbours from which on neighbours are taken to be linked.
const LINKED: f64 = 1.3;

impl Scatter {
    /// Of the pixels that are asked about. `None` where it is not known: a kind that permits no statement, or neither a map
    /// of errors nor 30 pairs of neighbours.
    pub fn of(signal: &Signal) -> Option<Self> {
        match signal.kind.noise() {
            Noise::Counting => return Some(Self::Counting),
            Noise::Unknown => return None,
            Noise::Empirical => {}
        }
        let pixels = signal.values.data().len();
        if let Some(sigma) = &signal.sigma {
            let known = |i: usize| Some(sigma.data()[i]).filter(|s| s.is_finite());
            let squares = (0..pixels).filter(|&i| signal.valid(i).is_some()).filter_map(known);
            let (sum, number) = squares.fold((0.0, 0u64), |(sum, n), s| (sum + s * s, n + 1));
            if number > 0 && sum > 0.0 {
                return Some(Self::Errors(sum / number as f64));
            }
        }
        let variance = |apart| difference_variance(signal.values.width(), pixels, apart, |i| signal.valid(i));
        let (near, pairs) = variance(1)?;
        if pairs < FEWEST_PIXELS as u64 || near <= 0.0 {
            return None;
        }
        match variance(2) {
            Some((apart, _)) if apart > LINKED * near => Some(Self::Linked(apart)),
            _ => Some(Self::Neighbours(near)),
        }
    }

    /// Variance of one pixel of a map without counts; 0 for counts, which bring their own.
    pub fn variance(&self, signal: &Signal, index: usize) -> f64 {
        match *self {
            Self::Counting => 0.0,
            Self::Errors(mean) => signal
                .sigma
                .as_ref()
                .and_then(|sigma| sigma.data().get(index))
                .filter(|sigma| sigma.is_finite())
                .map_or(mean, |sigma| sigma * sigma),
            Self::Neighbours(variance) | Self::Linked(variance) => variance,
        }
    }

    /// Sum of the variances of all pixels that are asked about and can be used.
    pub fn of_sum(&self, signal: &Signal) -> f64 {
        let pixels = (0..signal.values.data().len()).filter(|&i| signal.valid(i).is_some());
        pixels.map(|i| self.variance(signal, i)).sum()
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::counts;
    use super::*;
    use crate::grid::Grid;
    use crate::kind::Kind;

    fn fitted(values: Vec<f64>) -> Signal {
        Signal { kind: Kind::Fitted, ..counts(values.len() as u32, 1, values) }
    }

    #[test]
    fn noise_by_errors_by_neighbours_and_not_at_all() {
        assert_eq!(Scatter::of(&counts(2, 1, vec![1.0, 2.0])), Some(Scatter::Counting));
        let even = fitted((0..100).map(|i| if i % 2 == 0 { 9.0 } else { 11.0 }).collect());
        assert_eq!(Scatter::of(&even), Some(Scatter::Neighbours(2.0)));
        let mut with_errors = even.clone();
        let sigma = (0..100).map(|i| if i == 0 { f64::NAN } else { 3.0 }).collect();
        with_errors.sigma = Grid::from_vec(100, 1, sigma);
        let scatter = Scatter::of(&with_errors).unwrap();
        assert_eq!((scatter, scatter.of_sum(&with_errors)), (Scatter::Errors(9.0), 900.0));
        assert_eq!(Scatter::of(&fitted(vec![5.0; 100])), None);
        assert_eq!(Scatter::of(&fitted(vec![5.0, 6.0])), None);
        let copy = Signal { kind: Kind::DisplayCopy, ..even };
        assert_eq!(Scatter::of(&copy), None);
    }

    #[test]
    fn smoothed_values_are_linked() {
        let smooth = fitted((0..100).map(|i| f64::from((i % 10 - 5i32).abs())).collect());
        assert!(matches!(Scatter::of(&smooth), Some(Scatter::Linked(_))), "{:?}", Scatter::of(&smooth));
    }
}
