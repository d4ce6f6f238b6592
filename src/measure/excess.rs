//! By how much A exceeds what accompanies B, or stays below it, pixel by pixel.

use super::two::Two;
use super::{Accompaniment, FEWEST_PIXELS};
use crate::grid::{Grid, Mask, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::discovery::{Dependence, largest_discovered};

/// Of the pixels said to exceed the band, this share is expected to be there by chance.
pub const FALSE_SHARE: f64 = 0.01;

/// The raster and what stands out in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Excess {
    /// 0 within the band, above 0 where A exceeds `k_high` times B, below 0 where it stays under `k_low` times B, in standard
    /// deviations; NaN where a pixel cannot be used or B is not detected.
    pub sigma: Grid<f64>,
    /// Pixels that exceed the band: discoveries by the exact chances, of which a hundredth is expected to be false.
    pub found: Mask,
    /// How many these are.
    pub pixels: u64,
    /// Pixels that stay below the band, by the same rule.
    pub deficit_pixels: u64,
    /// Pixels that were looked at.
    pub looked_at: u64,
}

impl Excess {
    /// Whether so many pixels exceed the band that the rest is no measure: more than are expected to be false, and at least
    /// five.
    pub fn is_there(&self) -> bool {
        self.pixels >= FEWEST_PIXELS as u64 / 6
    }
}

/// Looks at every pixel where B is detected. `None` where the noise of single pixels is not known (neither counts nor a map
/// of errors).
///
/// # Errors
/// No memory.
pub fn excess(two: &Two<'_>, with: &Accompaniment) -> Result<Option<Excess>, OutOfMemory> {
    if !two.is_testable() {
        return Ok(None);
    }
    let mut sigma = Grid::try_filled(two.a.values.width(), two.a.values.height(), f64::NAN)?;
    for i in (0..two.len()).filter(|&i| two.has_b(i)) {
        let Some(of) = two.one(i) else { continue };
        let beyond = |k: f64| {
            let wide = two.variance(&of, k) + two.floor(&of, k);
            (of.x - k * of.y.max(0.0)) / wide.max(f64::MIN_POSITIVE).sqrt()
        };
        sigma.data_mut()[i] = beyond(with.k_high).max(0.0) + beyond(with.k_low).min(0.0);
    }
    let looked_at = sigma.data().iter().filter(|v| !v.is_nan()).count() as u64;
    // Within the band or on its other side nothing is discovered, so that the chance there need not be computed.
    let in_excess = |i: usize| if sigma.data()[i] > 0.0 { two.p_excess(i, with.k_high) } else { 1.0 };
    let (found, pixels) = discoveries(two, in_excess)?;
    let in_deficit = |i: usize| if sigma.data()[i] < 0.0 { two.p_deficit(i, with.k_low) } else { 1.0 };
    let (_, deficit_pixels) = discoveries(two, in_deficit)?;
    Ok(Some(Excess { sigma, found, pixels, deficit_pixels, looked_at }))
}

fn discoveries(two: &Two<'_>, chance: impl Fn(usize) -> f64) -> Result<(Mask, u64), OutOfMemory> {
    let mut p = Grid::try_filled(two.a.values.width(), two.a.values.height(), f64::NAN)?;
    for i in (0..two.len()).filter(|&i| two.has_b(i)) {
        p.data_mut()[i] = chance(i);
    }
    let mut sorted = try_vec(two.len() as u64)?;
    sorted.extend(p.data().iter().filter(|p| !p.is_nan()));
    let largest = largest_discovered(&mut sorted, FALSE_SHARE, Dependence::Positive);
    let found = two.mask(|i| largest.is_some_and(|largest| p.data()[i] <= largest))?;
    let pixels = found.data().iter().filter(|found| **found).count() as u64;
    Ok((found, pixels))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::super::{Rules, Signal};
    use super::*;
    use crate::kind::Kind;

    fn excess_of(a: &Signal, b: &Signal) -> Option<Excess> {
        let at = (stated(2.0), stated(3.0));
        let two = Two { a, b, at: (&at.0, &at.1), rules: Rules::default() };
        excess(&two, &Accompaniment::stated(0.25, 0.2)).unwrap()
    }

    #[test]
    fn only_what_leaves_the_band_is_an_excess() {
        let a = counts(5, 1, vec![27.0, 30.0, 102.0, 50.0, 3.0]);
        let b = counts(5, 1, vec![103.0, 103.0, 103.0, 3.0, 203.0]);
        let found = excess_of(&a, &b).unwrap();
        let sigma = found.sigma.data();
        assert_eq!((sigma[0], sigma[1]), (0.0, 0.0));
        // 100 against 0.3 * 100, variance 2 + 0.1^2 + 30 + 0.09 * (100 + 3 + 0.15^2).
        assert!((sigma[2] - 70.0 / (2.01f64 + 30.0 + 0.09 * 103.0225).sqrt()).abs() < 1e-12);
        assert!(sigma[3].is_nan() && sigma[4] < -4.0);
        assert_eq!((found.pixels, found.deficit_pixels, found.looked_at), (1, 1, 4));
        assert_eq!(found.found.data(), [false, false, true, false, false]);
    }

    #[test]
    fn with_errors_fitted_values_can_be_tested_and_without_they_cannot() {
        let fitted = |values: Vec<f64>, sigma: f64| {
            let mut signal = counts(4, 1, values);
            signal.kind = Kind::Fitted;
            signal.sigma = (sigma > 0.0).then(|| Grid::try_filled(4, 1, sigma).unwrap());
            signal
        };
        let (a, b) = (vec![27.0, 27.0, 102.0, 2.0], vec![103.0; 4]);
        assert_eq!(excess_of(&fitted(a.clone(), 0.0), &fitted(b.clone(), 5.0)), None);
        let found = excess_of(&fitted(a, 5.0), &fitted(b, 5.0)).unwrap();
        assert_eq!((found.pixels, found.deficit_pixels), (1, 1));
    }
}
