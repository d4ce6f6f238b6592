//! Critical level, detection limit and limit of quantification in the normal approximation.
//!
//! L. A. Currie, Anal. Chem. 40 (1968) 586-593: paired observations give 2.33 √B and 2.71 + 4.65 √B, a well-known
//! background 1.64 √B and 2.71 + 3.29 √B, both at 5 %. Below about 10 background counts, and at a background of 0 always,
//! the exact forms of [`super::counting`] are to be used: here a background of 0 has the critical level 0, at which
//! everything would be detected.

use super::special::normal_tail_inverse;

/// The three levels, in net counts (above the background).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// A net count above it is *detected*. It decides.
    pub critical: f64,
    /// A true signal of this size would be detected with chance 95 % (`1 - alpha`). It tells a capability and never
    /// decides.
    pub detection_limit: f64,
    /// A true signal of this size is known to 10 % (one standard deviation).
    pub quantification_limit: f64,
}

/// Currie's levels for a background of mean `background` >= 0 in a pixel (or region), both chances of error `alpha`.
///
/// `ratio` is how many times the pixel's exposure went into the background: m pixels of the same size, or n_off / n_on
/// pixels times dwell for a region; 1 for a paired blank, infinity for a well-known background. `dispersion` is the
/// variance of the background over what counting gives (1 for counting alone; below 1 it is taken as 1).
/// NaN for a background below 0 or a ratio not above 0.
pub fn levels(background: f64, ratio: f64, dispersion: f64, alpha: f64) -> Levels {
    if background.is_nan() || background < 0.0 || ratio.is_nan() || ratio <= 0.0 {
        return Levels { critical: f64::NAN, detection_limit: f64::NAN, quantification_limit: f64::NAN };
    }
    let k = normal_tail_inverse(alpha);
    let variance = dispersion.max(1.0) * background * (1.0 + 1.0 / ratio);
    let critical = k * variance.sqrt();
    Levels {
        critical,
        detection_limit: k * k + 2.0 * critical,
        // The S with S = 10 √(S + variance).
        quantification_limit: 50.0 * (1.0 + (1.0 + variance / 25.0).sqrt()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_printed_factors_of_currie_1968() {
        // Table II of the source: 2.33 √B and 2.71 + 4.65 √B paired, 1.64 √B and 2.71 + 3.29 √B well known.
        for root in [1.0, 2.0, 10.0, 20.0] {
            let paired = levels(root * root, 1.0, 1.0, 0.05);
            let known = levels(root * root, f64::INFINITY, 1.0, 0.05);
            assert!((paired.critical - 2.33 * root).abs() < 0.005 * root);
            assert!((paired.detection_limit - (2.71 + 4.65 * root)).abs() < 0.005 * (1.0 + root));
            assert!((known.critical - 1.64 * root).abs() < 0.005 * root + 1e-9);
            assert!((known.detection_limit - (2.71 + 3.29 * root)).abs() < 0.005 * (1.0 + root));
        }
    }

    #[test]
    fn the_limit_of_quantification_solves_its_definition() {
        let found = levels(40.0, 3.0, 1.5, 0.05).quantification_limit;
        let variance = 1.5 * 40.0 * (1.0 + 1.0 / 3.0);
        assert!((found - 10.0 * (found + variance).sqrt()).abs() < 1e-9);
    }

    #[test]
    fn nothing_follows_from_a_background_that_is_none() {
        assert!(levels(-1.0, 1.0, 1.0, 0.05).critical.is_nan());
        assert!(levels(f64::NAN, 1.0, 1.0, 0.05).detection_limit.is_nan());
        assert!(levels(4.0, 0.0, 1.0, 0.05).critical.is_nan());
    }
}
