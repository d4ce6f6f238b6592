//! By how much A exceeds what accompanies B, in standard deviations beyond the band.

use super::{Accompaniment, Level, Signal};
use crate::grid::Grid;
use crate::notice::OutOfMemory;
use crate::numerics::special::normal_tail_inverse;

/// The raster and what stands out in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Excess {
    /// 0 within the band, above 0 where A exceeds `k_high` times B, below 0 where it stays under `k_low` times B; NaN
    /// where a pixel cannot be used or B is not detected.
    pub sigma: Grid<f64>,
    /// Pixels that exceed the band by more than background would with chance `alpha`.
    pub pixels: u64,
    /// Pixels that were looked at.
    pub looked_at: u64,
}

/// Looks at every pixel where B is detected.
pub fn excess(
    a: &Signal,
    b: &Signal,
    at: (&Level, &Level),
    with: &Accompaniment,
    floor: f64,
    alpha: f64,
) -> Result<Excess, OutOfMemory> {
    let mut sigma = Grid::try_filled(a.values.width(), a.values.height(), f64::NAN)?;
    let systematic = |level: &Level| (floor * level.background) * (floor * level.background);
    let limit = normal_tail_inverse(alpha);
    let (mut pixels, mut looked_at) = (0, 0);
    for i in 0..sigma.data().len() {
        let (Some(in_a), Some(in_b)) = (a.valid(i), b.valid(i)) else { continue };
        if in_b < at.1.critical {
            continue;
        }
        let (own, other) = (in_a - at.0.background, (in_b - at.1.background).max(0.0));
        let beyond = |k: f64| {
            let variance = at.0.variance
                + systematic(at.0)
                + k * other
                + k * k * (other + at.1.variance + systematic(at.1));
            (own - k * other) / variance.max(f64::MIN_POSITIVE).sqrt()
        };
        let value = beyond(with.k_high).max(0.0) + beyond(with.k_low).min(0.0);
        sigma.data_mut()[i] = value;
        looked_at += 1;
        pixels += u64::from(value > limit);
    }
    Ok(Excess { sigma, pixels, looked_at })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::*;

    #[test]
    fn only_what_leaves_the_band_is_an_excess() {
        let with = Accompaniment::stated(0.25, 0.2);
        let a = counts(4, 1, vec![27.0, 30.0, 102.0, 50.0]);
        let b = counts(4, 1, vec![103.0, 103.0, 103.0, 3.0]);
        let found = excess(&a, &b, (&stated(2.0), &stated(3.0)), &with, 0.05, 0.001).unwrap();
        let sigma = found.sigma.data();
        assert_eq!((sigma[0], sigma[1]), (0.0, 0.0));
        // 100 against 0.3 * 100, variance 2 + 0.1^2 + 30 + 0.09 * (100 + 3 + 0.15^2).
        assert!((sigma[2] - 70.0 / (2.01f64 + 30.0 + 0.09 * 103.0225).sqrt()).abs() < 1e-12);
        assert!(sigma[3].is_nan());
        assert_eq!((found.pixels, found.looked_at), (1, 3));
    }
}
