//! Counting statistics: critical counts, detection limits, intervals for counts and for ratios of counts.

use super::special::{beta_inc, beta_inverse_odds, gamma_p_q, gamma_q_inverse};

/// An interval; an end may be infinite where the data do not bound it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

/// P(N >= n) for a Poisson count with mean `mean` >= 0.
pub fn poisson_tail(n: u64, mean: f64) -> f64 {
    if n == 0 { 1.0 } else { gamma_p_q(n as f64, mean).0 }
}

/// P(N >= n) for a count with mean `mean` and variance `mean + mean^2 * relative_variance`: a Poisson count whose own
/// mean is uncertain, gamma distributed (negative binomial). A relative variance of 0 is the plain Poisson tail.
pub fn wide_poisson_tail(n: u64, mean: f64, relative_variance: f64) -> f64 {
    if n == 0 {
        return 1.0;
    }
    if mean <= 0.0 {
        return 0.0;
    }
    // Below this the gamma distribution is a point to twelve digits and the beta function would lose its own.
    if relative_variance <= 1e-12 {
        return poisson_tail(n, mean);
    }
    let shape = 1.0 / relative_variance;
    beta_inc(n as f64, shape, mean / (shape + mean), shape / (shape + mean))
}

/// The smallest count that background alone reaches with a chance of at most `alpha`: a pixel with this count or more
/// is *detected*. Background has mean `mean` and the variance of [`wide_poisson_tail`].
///
/// Mean 0 gives 1. Source of the exact form: L. A. Currie, Anal. Chem. 40 (1968) 586, carried from the normal to the
/// Poisson distribution; the widening by an uncertain mean is ours.
pub fn critical_count(mean: f64, relative_variance: f64, alpha: f64) -> u64 {
    let exceeds = |n: u64| wide_poisson_tail(n, mean, relative_variance) > alpha;
    let (mut low, mut high) = (0u64, 1u64);
    while exceeds(high) {
        low = high;
        high = high.saturating_mul(2).max(mean as u64);
        if high > 1 << 52 {
            return high;
        }
    }
    // Now exceeds(low) and not exceeds(high).
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        if exceeds(middle) { low = middle } else { high = middle }
    }
    high
}

/// The signal that would be detected with chance 1 - `beta`: the mean S with P(N < critical | background + S) = beta.
/// Currie's detection limit, exact for Poisson counts. Never below 0.
pub fn detection_limit(critical: u64, background: f64, beta: f64) -> f64 {
    (gamma_q_inverse(critical as f64, beta) - background).max(0.0)
}

/// Central interval for the mean of a Poisson count at level `1 - alpha` (Garwood, Biometrika 28 (1936) 437).
/// A count of 0 has the lower end 0. `count` may be a sum over many pixels.
pub fn garwood(count: f64, alpha: f64) -> Interval {
    let low = if count <= 0.0 { 0.0 } else { gamma_q_inverse(count, 1.0 - 0.5 * alpha) };
    Interval { low, high: gamma_q_inverse(count.max(0.0) + 1.0, 0.5 * alpha) }
}

/// One-sided upper limit for the mean of a Poisson count: below it with chance `confidence`. At 84.13 % (one standard
/// deviation of a normal distribution) these are the limits of N. Gehrels, Astrophys. J. 303 (1986) 336 (values from
/// memory). Of 0 counts it is -ln(1 - confidence), never 0.
pub fn upper_limit(count: f64, confidence: f64) -> f64 {
    gamma_q_inverse(count.max(0.0) + 1.0, 1.0 - confidence)
}

/// The lower limit of the same source; 0 for 0 counts.
pub fn lower_limit(count: f64, confidence: f64) -> f64 {
    if count <= 0.0 { 0.0 } else { gamma_q_inverse(count, confidence) }
}

/// Interval for the ratio of two Poisson means from counts `a` and `b` without background: exact, from the binomial
/// distribution of `a` given `a + b` (Clopper and Pearson). (0, inf) where both are 0.
pub fn exact_ratio(a: f64, b: f64, alpha: f64) -> Interval {
    let low = if a <= 0.0 { 0.0 } else { beta_inverse_odds(a, b + 1.0, 0.5 * alpha) };
    let high = if b <= 0.0 { f64::INFINITY } else { beta_inverse_odds(a + 1.0, b, 1.0 - 0.5 * alpha) };
    Interval { low, high }
}

/// A quantity with an interval that need not be symmetric.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bounded {
    /// Best value.
    pub value: f64,
    /// Its interval.
    pub interval: Interval,
}

impl Bounded {
    /// The same with both arms lengthened by `extra` (a standard-error-like length of the same level), in quadrature.
    pub fn widened(self, extra: f64) -> Self {
        let down = (self.value - self.interval.low).max(0.0);
        let up = (self.interval.high - self.value).max(0.0);
        let arm = |a: f64| (a * a + extra * extra).sqrt();
        Self {
            value: self.value,
            interval: Interval { low: self.value - arm(down), high: self.value + arm(up) },
        }
    }
}

/// Interval for x / y from the intervals of x and y (independent): each arm is recovered from the arms of x and y, as
/// Fieller does from their variances (MOVER; A. Donner and G. Zou, Stat. Methods Med. Res. 21 (2012) 347, the formula
/// from memory and derived again in the tests). An end is infinite where the interval of y reaches 0; `None` where y
/// itself is not above 0.
pub fn ratio_interval(x: Bounded, y: Bounded) -> Option<Interval> {
    if y.value.is_nan() || y.value <= 0.0 || x.value.is_nan() {
        return None;
    }
    // The end L solves (x - L y)^2 = a^2 + L^2 c^2, a the arm of x and c the arm of y that works against it; for an end
    // below zero that is the other arm of y.
    let solve = |end: f64, sign: f64| {
        let is_upper_arm = (end < 0.0) != (sign < 0.0);
        let c = if is_upper_arm { y.interval.high - y.value } else { y.value - y.interval.low };
        let a = x.value - end;
        let scale = y.value * y.value - c * c;
        let root = (x.value * y.value).powi(2) - scale * (x.value * x.value - a * a);
        if scale <= 0.0 || root < 0.0 {
            sign * f64::INFINITY
        } else {
            (x.value * y.value + sign * root.sqrt()) / scale
        }
    };
    Some(Interval { low: solve(x.interval.low, -1.0), high: solve(x.interval.high, 1.0) })
}

#[cfg(test)]
mod tests {
    use super::super::special::normal_tail;
    use super::*;

    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} is not {want} to {tolerance}");
    }

    #[test]
    fn critical_counts_of_plain_poisson_backgrounds() {
        // scipy.stats.poisson.sf, see tests/reference/values.json for the recorded run.
        let at_5_percent = [(0.0, 1), (0.5, 3), (1.0, 4), (2.0, 6), (5.0, 10), (10.0, 16)];
        for (mean, want) in at_5_percent {
            assert_eq!(critical_count(mean, 0.0, 0.05), want, "mean {mean}");
        }
        let at_1_per_mille = [(0.0, 1), (0.5, 5), (1.0, 6), (2.0, 9), (5.0, 14), (10.0, 22)];
        for (mean, want) in at_1_per_mille {
            assert_eq!(critical_count(mean, 0.0, 0.001), want, "mean {mean}");
        }
    }

    #[test]
    fn an_uncertain_background_asks_for_more() {
        assert!(critical_count(400.0, 0.0025, 0.001) > critical_count(400.0, 0.0, 0.001));
        // Normal approximation: 400 + 3.09 * sqrt(400 + 400) = 487.
        assert!((485..495).contains(&critical_count(400.0, 0.0025, 0.001)));
    }

    #[test]
    fn detection_limits_without_and_with_background() {
        near(detection_limit(1, 0.0, 0.05), 2.995_732, 1e-6);
        near(detection_limit(16, 10.0, 0.05), 13.097_130, 1e-6);
    }

    #[test]
    fn garwood_as_published() {
        // 95 % for 25 counts: 16.18 to 36.90 (published table of a statistics guide, seen in transcription).
        let i = garwood(25.0, 0.05);
        near(i.low, 16.178_682, 1e-6);
        near(i.high, 36.904_932, 1e-6);
        assert_eq!(garwood(0.0, 0.05).low, 0.0);
        near(garwood(0.0, 0.05).high, 3.688_879, 1e-6);
    }

    #[test]
    fn one_sided_limits_of_nothing_and_of_one_standard_deviation() {
        near(upper_limit(0.0, 0.95), 2.995_732, 1e-6);
        let one_sigma = 1.0 - normal_tail(1.0);
        for (n, want) in [(0.0, 1.841), (1.0, 3.300), (2.0, 4.638)] {
            near(upper_limit(n, one_sigma), want, 5e-4);
        }
        assert_eq!(lower_limit(0.0, 0.95), 0.0);
        near(lower_limit(1.0, 0.95), 0.051_293, 1e-6);
    }

    #[test]
    fn exact_ratio_as_published() {
        // R's poisson.test(c(11, 21), c(800, 3011)): ratio 1.971488, 95 % 0.8584264 to 4.2772659.
        let i = exact_ratio(11.0, 21.0, 0.05);
        let exposure = 3011.0 / 800.0;
        near(i.low * exposure, 0.858_426_4, 1e-6);
        near(i.high * exposure, 4.277_265_9, 1e-6);
        assert_eq!(exact_ratio(0.0, 0.0, 0.05), Interval { low: 0.0, high: f64::INFINITY });
    }

    #[test]
    fn ratio_interval_ends_solve_their_defining_equation() {
        let x = Bounded { value: 120.0, interval: Interval { low: 100.0, high: 143.0 } };
        let y = Bounded { value: 400.0, interval: Interval { low: 360.0, high: 442.0 } };
        let i = ratio_interval(x, y).unwrap();
        near((120.0 - i.low * 400.0).powi(2), 20.0f64.powi(2) + (i.low * 42.0).powi(2), 1e-9);
        near((120.0 - i.high * 400.0).powi(2), 23.0f64.powi(2) + (i.high * 40.0).powi(2), 1e-9);
        assert!(i.low < 0.3 && 0.3 < i.high);
    }

    #[test]
    fn a_ratio_over_something_that_may_be_zero_has_no_upper_end() {
        let x = Bounded { value: 10.0, interval: Interval { low: 5.0, high: 18.0 } };
        let y = Bounded { value: 3.0, interval: Interval { low: -0.5, high: 9.0 } };
        assert_eq!(ratio_interval(x, y).unwrap().high, f64::INFINITY);
        let nothing = Bounded { value: 0.0, interval: Interval { low: 0.0, high: 3.0 } };
        assert_eq!(ratio_interval(x, nothing), None);
    }

    #[test]
    fn a_negative_net_signal_has_an_interval_around_zero() {
        let x = Bounded { value: -2.0, interval: Interval { low: -8.0, high: 6.0 } };
        let y = Bounded { value: 100.0, interval: Interval { low: 81.0, high: 121.0 } };
        let i = ratio_interval(x, y).unwrap();
        assert!(i.low < -0.02 && i.high > 0.0, "{i:?}");
    }
}
