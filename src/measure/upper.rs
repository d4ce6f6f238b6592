//! How much A may be there on its own where B is.

use super::two::{Sums, Two};
use super::{Accompaniment, Z_ONE_SIDED};
use crate::numerics::special::gamma_q_inverse;

/// One-sided 95 % upper limits of A beyond what accompanies B, over all pixels in which B is detected.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UpperLimit {
    /// Mean of a pixel, with the factor as it was found.
    pub per_pixel: f64,
    /// The same with the lower end of the factor's band and the floor of the background: what thickness, dilution and cover
    /// could hide too.
    pub per_pixel_with_band: f64,
    /// Pixels it is the mean of.
    pub pixels: u64,
}

/// (One-sided 95 % upper end of the sum of A) less k times the sum of B, both above background, for each pixel. What counting leaves open in B and in the means of both backgrounds lengthens the arm. Not below 0. `None` where no
/// pixel holds B or the noise is not known.
pub fn upper_limit(two: &Two<'_>, with: &Accompaniment) -> Option<UpperLimit> {
    let all =
        (0..two.len()).filter(|&i| two.has_b(i)).filter_map(|i| two.one(i)).fold(Sums::default(), Sums::and);
    if all.n <= 0.0 || !two.is_testable() {
        return None;
    }
    let of_a = if two.are_counts() {
        let raw = (all.x + all.n * two.at.0.background).max(0.0);
        gamma_q_inverse(raw + 1.0, 0.05) - raw
    } else {
        Z_ONE_SIDED * all.noise_a.sqrt()
    };
    let of_means = |k: f64| {
        let of =
            |level: &super::Level| level.pixels.map_or(0.0, |m| all.n * all.n * level.variance / m as f64);
        of(two.at.0) + k * k * of(two.at.1)
    };
    let limit = |k: f64, floor: f64| {
        let of_b = k * k * (two.variance(&all, 1.0) - all.noise_a - all.y.max(0.0) * two.counts_a()).max(0.0);
        let rest = of_b + of_means(k) + floor;
        let arm = (of_a * of_a + Z_ONE_SIDED * Z_ONE_SIDED * rest).sqrt();
        ((all.x - k * all.y + arm) / all.n).max(0.0)
    };
    Some(UpperLimit {
        per_pixel: limit(with.k, 0.0),
        per_pixel_with_band: limit(with.k_low, two.floor(&all, with.k_low)),
        pixels: all.n.round() as u64,
    })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::super::{Rules, Two};
    use super::*;

    #[test]
    fn it_is_the_upper_end_of_the_sum_less_what_goes_with_b() {
        let (a, b) = (counts(10, 10, vec![27.0; 100]), counts(10, 10, vec![103.0; 100]));
        let at = (stated(2.0), stated(3.0));
        let two = Two { a: &a, b: &b, at: (&at.0, &at.1), rules: Rules::default() };
        let found = upper_limit(&two, &Accompaniment::stated(0.25, 0.2)).unwrap();
        // 2700 counts: 95 % one-sided 2787.1 (scipy.stats.gamma.ppf(0.95, 2701)); B: 10300 counts, 0.25 sqrt(10300) = 25.4.
        let arm = f64::sqrt(87.1 * 87.1 + 1.644_854 * 1.644_854 * 25.37 * 25.37);
        assert!((found.per_pixel - arm / 100.0).abs() < 0.003, "{found:?} {arm}");
        // 25 - 100 / 4.8 = 4.17 more with the band.
        assert!(found.per_pixel_with_band > 5.0 && found.per_pixel_with_band < 5.4, "{found:?}");
        assert_eq!(found.pixels, 100);
    }
}
