//! Lines A = b + k B through pixels, each estimator as its source defines it. They are laid side by side because they fail
//! differently: some are pulled by a second material, some by the noise of B. Slices are of one length, pixel by pixel,
//! without blanks; A and B that differ in length, are empty or hold a NaN give `None`, as does a line that the data do not
//! fix (all B alike).
//!
//! The question `apart` uses none of them as it stands (see [`super::accompaniment`]); it starts from [`clipped_ratio`].

mod sen;
mod weighted;

pub use sen::{TheilSen, theil_sen};
pub use weighted::{Huber, IdentityFit, huber, least_squares, poisson_identity, weighted_least_squares};

use crate::numerics::sums::sum;

/// A line A = b + k B.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Offset, in counts of A.
    pub b: f64,
    /// Slope: A for each B.
    pub k: f64,
}

/// What clipping from above leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clipped {
    /// Ratio of the sums of the pixels that are left.
    pub k: f64,
    /// How many are left.
    pub kept: usize,
    /// How often the ratio was taken.
    pub rounds: u32,
}

/// A residual this many standard deviations up leaves a pixel out of [`clipped_ratio`].
pub const CLIP: f64 = 3.0;
const MOST_ROUNDS: u32 = 20;

/// Whether two lists can be fitted at all.
fn is_usable(a: &[f64], b: &[f64]) -> bool {
    a.len() == b.len() && !a.is_empty() && a.iter().chain(b).all(|v| v.is_finite())
}

/// Sum of A over sum of B: the Poisson maximum-likelihood slope of a line through the origin, and the only one here that
/// the noise of B does not pull. `None` also where the sum of B is not above 0.
pub fn ratio_of_sums(a: &[f64], b: &[f64]) -> Option<f64> {
    let of_b = sum(b);
    (is_usable(a, b) && of_b > 0.0).then(|| sum(a) / of_b)
}

/// Ratio of sums without the pixels whose A lies three standard deviations or more above the line, taken again until
/// these stay the same (20 rounds at most). One-sided: a second source of A adds, it never takes away.
///
/// The standard deviation of a residual is √(kB + k²B): both counted. The rule is our own.
pub fn clipped_ratio(a: &[f64], b: &[f64]) -> Option<Clipped> {
    let mut is_kept = vec![true; a.len()];
    if !is_usable(a, b) {
        return None;
    }
    for round in 1..=MOST_ROUNDS {
        let of = |all: &[f64]| -> Vec<f64> {
            all.iter().zip(&is_kept).filter_map(|(&v, &kept)| kept.then_some(v)).collect()
        };
        let k = ratio_of_sums(&of(a), &of(b))?;
        let next: Vec<bool> = a.iter().zip(b).map(|(&a, &b)| residual(a, b, k) < CLIP).collect();
        let is_done = next == is_kept;
        if is_done || round == MOST_ROUNDS {
            let kept = is_kept.iter().filter(|kept| **kept).count();
            return Some(Clipped { k, kept, rounds: round });
        }
        is_kept = next;
    }
    None
}

/// (A - kB) / √(kB + k²B): how far a pixel without background lies above the line, in standard deviations of counting in
/// A and B. NaN where both the residual and its deviation are 0 (B = 0 and A = 0); infinite where B = 0 and A is not.
pub fn residual(a: f64, b: f64, k: f64) -> f64 {
    (a - k * b) / (k * b + k * k * b).sqrt()
}

/// By which factor the noise of B shrinks the slope of a least-squares line: λ = var / (var + noise), the variance of B
/// without noise over that with noise. For counts the noise is the mean of B. NaN where both are 0.
/// Source: common statistics ("errors in variables"), no single source.
pub fn attenuation(variance: f64, noise: f64) -> f64 {
    variance / (variance + noise)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_source_of_a_is_clipped_away() {
        // B = 100 and A = 25 in ninety pixels, A = 90 in ten.
        let a: Vec<f64> = (0..100).map(|i| if i < 10 { 90.0 } else { 25.0 }).collect();
        let b = vec![100.0; 100];
        assert_eq!(ratio_of_sums(&a, &b), Some(0.315));
        assert_eq!(clipped_ratio(&a, &b), Some(Clipped { k: 0.25, kept: 90, rounds: 2 }));
    }

    #[test]
    fn what_fixes_no_line_gives_none() {
        assert_eq!(ratio_of_sums(&[], &[]), None);
        assert_eq!(ratio_of_sums(&[1.0], &[0.0]), None);
        assert_eq!(clipped_ratio(&[1.0, f64::NAN], &[1.0, 2.0]), None);
        assert_eq!(clipped_ratio(&[1.0], &[1.0, 2.0]), None);
        assert_eq!(least_squares(&[1.0, 2.0], &[3.0, 3.0]), None);
        assert_eq!(theil_sen(&[1.0, 2.0], &[3.0, 3.0]), None);
        assert_eq!(huber(&[1.0, 2.0], &[3.0, 3.0]), None);
        assert_eq!(poisson_identity(&[1.0, 2.0], &[3.0, 3.0]), None);
    }

    #[test]
    fn a_line_without_noise_is_found_by_all() {
        let b: Vec<f64> = (0..40).map(|i| 10.0 + f64::from(i)).collect();
        let a: Vec<f64> = b.iter().map(|b| 2.0 + 0.5 * b).collect();
        let near = |line: Line| {
            assert!((line.b - 2.0).abs() < 1e-9 && (line.k - 0.5).abs() < 1e-9, "{line:?}");
        };
        near(least_squares(&a, &b).unwrap());
        near(weighted_least_squares(&a, &b, &vec![3.0; 40]).unwrap());
        near(poisson_identity(&a, &b).unwrap().line);
        near(theil_sen(&a, &b).unwrap().line);
        near(huber(&a, &b).unwrap().line);
    }
}
