//! What lines of other elements could give at most in the pixels of a map. Nothing is ever subtracted: it only says which
//! pixels cannot be judged.

use super::{Level, Signal};
use crate::grid::Grid;
use crate::notice::OutOfMemory;
use crate::numerics::special::normal_tail_inverse;
use std::sync::Arc;

/// The most that overlaps could give in each pixel, in the map's own numbers.
#[derive(Debug, Clone, PartialEq)]
pub struct Doubt {
    /// Shared, because every trial looks at the same.
    most: Arc<Grid<f32>>,
    /// What stands in the grid is to be taken so many times.
    scale: f64,
    /// Variance of a pixel for each unit of it: the counting of the map itself and of the maps that the overlap is of.
    spread: f64,
    /// Standard deviations of a pixel's critical level.
    z: f64,
}

impl Doubt {
    /// From the most of each pixel (0 where there is none, infinite where it has no bound); `spread` is the variance of a
    /// pixel for each unit of it, `alpha` the chance that background reaches the critical level.
    pub fn new(most: Grid<f32>, spread: f64, alpha: f64) -> Self {
        Self { most: Arc::new(most), scale: 1.0, spread, z: normal_tail_inverse(alpha) }
    }

    /// The same where all counts are `times` as many.
    #[must_use]
    pub fn scaled(&self, times: f64) -> Self {
        Self { scale: self.scale * times, ..self.clone() }
    }

    /// The same on a part of the grid, as `cut` takes it.
    ///
    /// # Errors
    /// No memory.
    pub fn part(
        &self,
        cut: impl FnOnce(&Grid<f32>) -> Result<Grid<f32>, OutOfMemory>,
    ) -> Result<Self, OutOfMemory> {
        Ok(Self { most: Arc::new(cut(&self.most)?), ..self.clone() })
    }

    /// The most that overlaps could give in a pixel; 0 outside the grid.
    pub fn most(&self, index: usize) -> f64 {
        self.most.data().get(index).map_or(0.0, |&most| self.scale * f64::from(most))
    }

    /// The value from which on a pixel holds more than background and overlap: as far above both as the critical level lies
    /// above the background, and what counting adds to that. The third moment of a Poisson count is taken from its series
    /// (E. A. Cornish and R. A. Fisher 1938, from memory).
    pub fn beyond(&self, index: usize, level: &Level) -> f64 {
        let most = self.most(index);
        if most <= 0.0 {
            return level.critical;
        }
        let margin = (level.critical - level.background).max(0.0);
        let skew = (self.z * self.z - 1.0).max(0.0) / 6.0;
        level.background
            + most
            + (margin * margin + self.z * self.z * self.spread * most).sqrt()
            + skew * most.min(1.0)
    }
}

impl Signal {
    /// Whether a pixel counts as much as a detected one and overlaps could give all of it above background.
    pub fn is_doubtful(&self, index: usize, level: &Level) -> bool {
        let Some(doubt) = &self.doubt else { return false };
        self.anywhere(index)
            .is_some_and(|value| value >= level.critical && value < doubt.beyond(index, level))
    }

    /// The most that overlaps could give in a pixel.
    pub fn overlap_at(&self, index: usize) -> f64 {
        self.doubt.as_ref().map_or(0.0, |doubt| doubt.most(index))
    }

    /// The same on average over the pixels that are asked about and can be used; 0 without any.
    pub fn mean_overlap(&self) -> f64 {
        let pixels = (0..self.values.data().len()).filter(|&i| self.valid(i).is_some());
        let (sum, n) = pixels.fold((0.0, 0.0), |(sum, n), i| (sum + self.overlap_at(i), n + 1.0));
        if n > 0.0 { sum / n } else { 0.0 }
    }

    /// What overlaps could give at most of what is counted above a background, over pixels that are asked about and kept:
    /// a share, infinite where no more than background is counted. 0 without overlaps.
    pub fn overlap_share(&self, background: f64, keep: impl Fn(usize) -> bool) -> f64 {
        if self.doubt.is_none() {
            return 0.0;
        }
        let pixels = (0..self.values.data().len()).filter(|&i| keep(i));
        let (most, net) = pixels
            .filter_map(|i| Some((self.overlap_at(i), self.valid(i)? - background)))
            .fold((0.0, 0.0), |(most, net), (overlap, value)| (most + overlap, net + value));
        match (most > 0.0, net > 0.0) {
            (false, _) => 0.0,
            (true, true) => most / net,
            (true, false) => f64::INFINITY,
        }
    }
}

impl Level {
    /// The same background with so much overlap on top of it, for the test of a sum. Its critical level is not moved.
    #[must_use]
    pub fn with_overlap(&self, mean: f64) -> Self {
        Self { background: self.background + mean, variance: self.variance + mean, ..*self }
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::*;
    use crate::numerics::counting::critical_count;

    #[test]
    fn what_lies_beyond_is_what_a_larger_background_asks_for() {
        // Exact: a Poisson background of 2 or 10 with that much overlap, without floor.
        for background in [0.0, 2.0, 10.0] {
            let rules = super::super::Rules { floor: 0.0, ..super::super::Rules::default() };
            let level = Level::stated(background, crate::kind::Kind::Window, &rules).unwrap();
            for most in [0.5f32, 3.0, 20.0, 200.0] {
                let doubt = Doubt::new(Grid::from_vec(1, 1, vec![most]).unwrap(), 1.0, rules.alpha);
                let exact = critical_count(background + f64::from(most), 0.0, rules.alpha) as f64;
                let found = doubt.beyond(0, &level);
                assert!(found > exact - 1.5 && found < exact + 2.5, "{background} {most}: {found} {exact}");
            }
        }
    }

    #[test]
    fn only_a_pixel_that_overlap_explains_is_doubtful() {
        let level = stated(2.0);
        let mut signal = counts(4, 1, vec![3.0, 40.0, 400.0, 40.0]);
        let most = Grid::from_vec(4, 1, vec![50.0, 50.0, 50.0, 0.0]).unwrap();
        signal.doubt = Some(Doubt::new(most, 1.0, 0.001));
        let doubtful: Vec<bool> = (0..4).map(|i| signal.is_doubtful(i, &level)).collect();
        assert_eq!(doubtful, [false, true, false, false]);
        assert_eq!(signal.mean_overlap(), 37.5);
        assert_eq!(signal.doubt.as_ref().unwrap().scaled(0.5).most(0), 25.0);
        let endless = Grid::from_vec(1, 1, vec![f32::INFINITY]).unwrap();
        let mut bright = counts(1, 1, vec![1e6]);
        bright.doubt = Some(Doubt::new(endless, 1.0, 0.001));
        assert!(bright.is_doubtful(0, &level));
    }
}
