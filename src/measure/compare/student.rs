//! Student's t distribution with any positive number of degrees of freedom, whole or not.

use crate::numerics::special::{beta_inc, beta_inverse_odds, normal_tail, normal_tail_inverse};

/// From so many degrees of freedom on the normal distribution stands in, with the first correction (M. Abramowitz and
/// I. Stegun, 26.7.8 and 26.7.5, from memory): what is left is of the order of the freedom to the power of -2, while the
/// beta function loses digits there.
const NORMAL_FROM: f64 = 1e6;

/// P(|T| >= |t|) for Student's t with `freedom` > 0 degrees of freedom: the incomplete beta function I_x(freedom/2, 1/2)
/// with x = freedom / (freedom + t²). 1 at t = 0, 0 at infinity; NaN where `t` is NaN or `freedom` is not above 0.
pub fn student_two_sided(t: f64, freedom: f64) -> f64 {
    if t.is_nan() || freedom.is_nan() || freedom <= 0.0 {
        return f64::NAN;
    }
    let square = t * t;
    if square == 0.0 {
        return 1.0;
    }
    if square.is_infinite() {
        return 0.0;
    }
    if freedom >= NORMAL_FROM {
        let root = (1.0 + square / (2.0 * freedom)).sqrt();
        return 2.0 * normal_tail(square.sqrt() * (1.0 - 0.25 / freedom) / root);
    }
    beta_inc(0.5 * freedom, 0.5, freedom / (freedom + square), square / (freedom + square))
}

/// The t > 0 with P(|T| >= t) = `alpha`, for 0 < `alpha` < 1 and `freedom` > 0; NaN for other arguments.
pub fn student_quantile(alpha: f64, freedom: f64) -> f64 {
    if !(alpha > 0.0 && alpha < 1.0) || freedom.is_nan() || freedom <= 0.0 {
        return f64::NAN;
    }
    if freedom >= NORMAL_FROM {
        let z = normal_tail_inverse(0.5 * alpha);
        return z + z * (z * z + 1.0) / (4.0 * freedom);
    }
    (freedom / beta_inverse_odds(0.5 * freedom, 0.5, alpha)).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_degree_of_freedom_is_the_cauchy_distribution() {
        // P(|T| >= 1) = 1/2 for the Cauchy distribution.
        assert!((student_two_sided(1.0, 1.0) - 0.5).abs() < 1e-14);
        assert!((student_quantile(0.5, 1.0) - 1.0).abs() < 1e-12);
    }

    #[test]
    fn ends_and_arguments_that_are_none() {
        assert_eq!(student_two_sided(0.0, 3.0), 1.0);
        assert_eq!(student_two_sided(f64::INFINITY, 3.0), 0.0);
        assert!(student_two_sided(1.0, 0.0).is_nan() && student_two_sided(f64::NAN, 3.0).is_nan());
        assert!(student_quantile(0.0, 3.0).is_nan() && student_quantile(0.05, -1.0).is_nan());
    }

    #[test]
    fn the_step_to_the_normal_distribution_cannot_be_seen() {
        for t in [0.5, 1.96, 4.0] {
            let (below, above) = (student_two_sided(t, 999_999.0), student_two_sided(t, 1e6));
            assert!((below / above - 1.0).abs() < 1e-8, "{t}: {below} {above}");
        }
    }
}
