//! A ratio of two counts: with its first-order error, and as a logarithm.

use super::math::ln;

/// A count, the background under it and the pixels from which that was taken.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gross {
    /// Counts with the background.
    pub counts: f64,
    /// Background counts expected in it.
    pub background: f64,
    /// How many times its exposure the background was taken from; infinite for a well-known one.
    pub exposure: f64,
}

impl Gross {
    /// Net counts.
    pub fn net(&self) -> f64 {
        self.counts - self.background
    }

    /// Variance of the net counts: the counts and what the mean of the background leaves open.
    pub fn variance(&self) -> f64 {
        self.counts + self.background / self.exposure
    }
}

/// Net a over net b and its variance by first-order propagation: V_a / b² + a² V_b / b⁴, with no covariance (right for
/// windows that do not overlap, not for two peaks of one fit). `None` where net b is not above five standard deviations:
/// there the first order fails and an interval must be used ([`super::counting::ratio_interval`]).
pub fn net_ratio(a: Gross, b: Gross) -> Option<(f64, f64)> {
    let (x, y) = (a.net(), b.net());
    let (v, w) = (a.variance(), b.variance());
    if !(x.is_finite() && v.is_finite() && y > 5.0 * w.max(0.0).sqrt()) {
        return None;
    }
    Some((x / y, v / (y * y) + x * x * w / (y * y * y * y)))
}

/// ln((a + ½) / (b + ½)) of two counts and its approximate standard deviation √(1/(a + ½) + 1/(b + ½)); ½ after J. B. S.
/// Haldane and F. J. Anscombe (from memory). For counts as they are: after scaling the ½ would be another share. NaN for
/// a count below 0.
pub fn log_ratio(a: f64, b: f64) -> (f64, f64) {
    if a.is_nan() || b.is_nan() || a < 0.0 || b < 0.0 {
        return (f64::NAN, f64::NAN);
    }
    let (a, b) = (a + 0.5, b + 0.5);
    (ln(a / b), (1.0 / a + 1.0 / b).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_net_ratio_by_a_calculator() {
        let gross = |counts, background| Gross { counts, background, exposure: 100.0 };
        // (60.06 / 36² + 54² 40.04 / 36⁴).
        let (ratio, variance) = net_ratio(gross(60.0, 6.0), gross(40.0, 4.0)).unwrap();
        assert!((ratio - 1.5).abs() < 1e-15 && (variance - 0.115_856_481_481_481).abs() < 1e-12);
        // 10 counts over 4 are no more than two standard deviations.
        assert_eq!(net_ratio(gross(60.0, 6.0), gross(10.0, 4.0)), None);
        assert_eq!(net_ratio(gross(f64::NAN, 6.0), gross(400.0, 4.0)), None);
    }

    #[test]
    fn a_logarithm_of_nothing_is_still_one() {
        let (value, sd) = log_ratio(0.0, 3.0);
        assert!((value + ln(7.0)).abs() < 1e-15 && sd > 1.5);
        assert!(log_ratio(-1.0, 3.0).0.is_nan());
    }
}
