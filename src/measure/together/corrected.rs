//! The correlation that two maps would have without counting noise.

use super::correlation::Moments;

/// What is known of the noise of two maps in the pixels at hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct NoiseOf {
    /// Mean variance of the noise of a pixel of A: the mean count for counts, the mean squared error of a fit with errors.
    pub a: f64,
    /// The same of B.
    pub b: f64,
}

/// How far a background that both maps share varies, to be taken off before anything is said of the signals.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SharedBackground {
    /// Mean background of A.
    pub mean_a: f64,
    /// Mean background of B.
    pub mean_b: f64,
    /// Variance of A's background from place to place, without noise.
    pub variance_a: f64,
    /// Variance of B's.
    pub variance_b: f64,
    /// Covariance of the two.
    pub covariance: f64,
}

impl SharedBackground {
    /// Backgrounds that vary by `floor` of themselves, both alike.
    pub fn of_floor(mean_a: f64, mean_b: f64, floor: f64) -> Self {
        let (a, b) = (floor * mean_a, floor * mean_b);
        Self { mean_a, mean_b, variance_a: a * a, variance_b: b * b, covariance: a * b }
    }

    /// From pixels in which neither map is more than background, with the noise there; never less than `floor` gives. What
    /// is subtracted from a correlation can only be positive: backgrounds that go against each other hide nothing.
    pub fn seen(found: &Moments, noise: NoiseOf, floor: f64) -> Self {
        let least = Self::of_floor(found.mean_a.max(0.0), found.mean_b.max(0.0), floor);
        Self {
            variance_a: (found.variance_a - noise.a).max(least.variance_a),
            variance_b: (found.variance_b - noise.b).max(least.variance_b),
            covariance: found.covariance.max(least.covariance),
            ..least
        }
    }
}

/// A correlation without noise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Corrected {
    /// The correlation, bound to -1 to 1.
    pub r: f64,
    /// Share of A's variance that is pattern, neither noise nor shared background.
    pub reliability_a: f64,
    /// The same of B.
    pub reliability_b: f64,
}

/// Why there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Unreliable {
    /// What varies is no more than a background that varies by half of itself would give.
    MostlyBackground {
        /// Which of the two.
        is_a: bool,
    },
    /// Too little of the variance is pattern; share, and the least that is enough here.
    MostlyNoise {
        /// Which of the two.
        is_a: bool,
        /// Share of pattern found.
        reliability: f64,
        /// Share that is enough.
        least: f64,
    },
    /// The pattern would have to be correlated by clearly more than 1: the noise is not what it was taken for.
    NoiseIsOther,
    /// Not finite, or nothing to compute from.
    Nothing,
}

/// The least share of pattern in the variance: below it a corrected correlation is an uncorrected one times more than ten.
pub const LEAST_RELIABILITY: f64 = 0.1;
/// The share must be so many standard errors of itself.
const ERRORS: f64 = 5.0;
/// A corrected correlation that is further above 1 than so many standard errors of the less reliable variance is no chance.
const ERRORS_ABOVE_ONE: f64 = 4.0;
/// A background may vary by this share of itself between places of different matrix (common practice, no source); a pattern
/// must vary by more.
pub const BACKGROUND_VARIES: f64 = 0.5;

/// Share of pattern that is enough for `pixels` pixels: [`LEAST_RELIABILITY`], or five standard errors sqrt(2 / n) of a
/// variance, if that is more.
pub fn least_reliability(pixels: usize) -> f64 {
    LEAST_RELIABILITY.max(ERRORS * (2.0 / pixels as f64).sqrt())
}

/// r / sqrt(reliability of A times reliability of B), with what a shared background explains taken off the covariance and
/// off both variances. Reliability is 1 - (noise + background) / variance. For counts of two lines in windows of their own
/// the noise of A and B is independent, so that the covariance needs no correction; between lines that overlap it
/// does, and this must not be used.
/// Source: C. Spearman, American Journal of Psychology 15 (1904) 72 (correction for attenuation); the share of background
/// is this program's.
///
/// # Errors
/// Why the correlation cannot be given; see [`Unreliable`].
pub fn corrected(
    found: &Moments,
    pixels: usize,
    noise: NoiseOf,
    background: SharedBackground,
) -> Result<Corrected, Unreliable> {
    let least = least_reliability(pixels);
    let reliability = |is_a: bool| {
        let (variance, noise, of_mean, of_variance) = if is_a {
            (found.variance_a, noise.a, background.mean_a, background.variance_a)
        } else {
            (found.variance_b, noise.b, background.mean_b, background.variance_b)
        };
        if variance <= 0.0 {
            return Err(Unreliable::Nothing);
        }
        let pattern = variance - noise - of_variance;
        let reliability = pattern / variance;
        if !reliability.is_finite() {
            return Err(Unreliable::Nothing);
        }
        if reliability < least {
            return Err(Unreliable::MostlyNoise { is_a, reliability: reliability.max(0.0), least });
        }
        if pattern < (BACKGROUND_VARIES * of_mean) * (BACKGROUND_VARIES * of_mean) {
            return Err(Unreliable::MostlyBackground { is_a });
        }
        Ok(reliability)
    };
    let (reliability_a, reliability_b) = (reliability(true)?, reliability(false)?);
    let pattern = (reliability_a * found.variance_a * reliability_b * found.variance_b).sqrt();
    let covariance = match found.covariance > 0.0 {
        true => (found.covariance - background.covariance).max(0.0),
        false => found.covariance,
    };
    let r = covariance / pattern;
    if !r.is_finite() {
        return Err(Unreliable::Nothing);
    }
    let error = (2.0 / pixels as f64).sqrt() / reliability_a.min(reliability_b);
    if r.abs() > 1.0 + ERRORS_ABOVE_ONE * error {
        return Err(Unreliable::NoiseIsOther);
    }
    Ok(Corrected { r: r.clamp(-1.0, 1.0), reliability_a, reliability_b })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moments(variance: f64, covariance: f64) -> Moments {
        Moments { mean_a: 4.0, mean_b: 4.0, variance_a: variance, variance_b: variance, covariance }
    }

    const NOISE: NoiseOf = NoiseOf { a: 4.0, b: 4.0 };

    #[test]
    fn noise_alone_and_background_alone_give_nothing() {
        let none = SharedBackground::default();
        assert!(matches!(
            corrected(&moments(4.1, 0.1), 10_000, NOISE, none),
            Err(Unreliable::MostlyNoise { is_a: true, .. })
        ));
        let shared = SharedBackground::of_floor(4.0, 4.0, 0.05);
        assert_eq!(
            corrected(&moments(6.0, 2.0), 10_000, NOISE, shared),
            Err(Unreliable::MostlyBackground { is_a: true })
        );
        assert_eq!(corrected(&moments(8.0, 5.0), 10_000, NOISE, none), Err(Unreliable::NoiseIsOther));
        assert_eq!(corrected(&moments(0.0, 0.0), 10_000, NOISE, none), Err(Unreliable::Nothing));
    }

    #[test]
    fn noise_is_taken_off_the_variances_and_background_off_all() {
        let plain = corrected(&moments(8.0, 3.0), 10_000, NOISE, SharedBackground::default()).unwrap();
        assert!((plain.r - 0.75).abs() < 1e-12 && (plain.reliability_a - 0.5).abs() < 1e-12);
        let shared =
            SharedBackground { mean_a: 1.0, mean_b: 1.0, variance_a: 1.0, variance_b: 1.0, covariance: 1.0 };
        let less = corrected(&moments(8.0, 3.0), 10_000, NOISE, shared).unwrap();
        assert!((less.r - 2.0 / 3.0).abs() < 1e-12);
        let against = corrected(&moments(8.0, -3.0), 10_000, NOISE, shared).unwrap();
        assert!((against.r + 1.0).abs() < 1e-12);
    }

    #[test]
    fn few_pixels_need_more_pattern() {
        assert!((least_reliability(1_000_000) - LEAST_RELIABILITY).abs() < 1e-12);
        assert!((least_reliability(200) - 0.5).abs() < 1e-12);
    }
}
