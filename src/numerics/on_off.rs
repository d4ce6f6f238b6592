//! Two counts against each other: a region and an empty one, or two regions.

use super::math::{exp, ln};
use super::special::{beta_inc, ln_binomial, normal_tail_inverse};

/// Chance of `on` counts or more in a region, if it holds nothing but what `off` counts came from: exact, from the binomial
/// distribution of `on` given `on + off`. `tau` is the exposure behind `off` over that behind `on` (pixels times dwell).
/// J. Przyborowski and H. Wilenski, Biometrika 31 (1940) 313 (from memory).
///
/// 1 for `on` = 0; NaN for a count below 0 or a `tau` not above 0.
pub fn on_off(on: f64, off: f64, tau: f64) -> f64 {
    if is_no_count(on) || is_no_count(off) || tau.is_nan() || tau <= 0.0 {
        return f64::NAN;
    }
    if on == 0.0 {
        return 1.0;
    }
    beta_inc(on, off + 1.0, 1.0 / (1.0 + tau), tau / (1.0 + tau))
}

/// A one-sided chance as a number of standard deviations of a normal distribution; ±infinity at 0 and 1.
pub fn as_sigmas(p: f64) -> f64 {
    if p <= 0.0 {
        return f64::INFINITY;
    }
    if p >= 1.0 {
        return f64::NEG_INFINITY;
    }
    normal_tail_inverse(p)
}

/// Excess of `on` over `off` in standard deviations by the ratio of likelihoods; below 0 where there is less than expected.
/// T.-P. Li and Y.-Q. Ma, Astrophys. J. 272 (1983) 317, eq. 17 (from memory). `None` where a count is 0 (or no count):
/// there [`on_off`] decides.
pub fn li_ma(on: f64, off: f64, tau: f64) -> Option<f64> {
    if is_no_count(on) || is_no_count(off) || on == 0.0 || off == 0.0 || tau.is_nan() || tau <= 0.0 {
        return None;
    }
    let both = on + off;
    let twice = on * ln((1.0 + tau) * on / both) + off * ln((1.0 + 1.0 / tau) * off / both);
    let size = (2.0 * twice.max(0.0)).sqrt();
    Some(if on * tau < off { -size } else { size })
}

/// Two-sided chance of counts as unlike as `a` and `b`, if their means per exposure had the ratio `ratio`; `exposure` is
/// a's over b's. All outcomes of the same sum that are no more likely than the one seen are added up, with the tolerance
/// of 1e-7 that R's `binom.test` uses against rounding.
///
/// 1 where both are 0; NaN for a count below 0, not whole, or a factor not above 0.
pub fn two_counts(a: f64, b: f64, exposure: f64, ratio: f64) -> f64 {
    let odds = exposure * ratio;
    if is_no_count(a)
        || is_no_count(b)
        || a.fract() != 0.0
        || b.fract() != 0.0
        || odds.is_nan()
        || odds <= 0.0
    {
        return f64::NAN;
    }
    let (n, p, rest) = (a + b, odds / (1.0 + odds), 1.0 / (1.0 + odds));
    if n == 0.0 {
        return 1.0;
    }
    // P(X = k): 0 outside of 0..=n.
    let chance = |k: f64| {
        if k < 0.0 || k > n {
            return 0.0;
        }
        exp(ln_binomial(k, n, p, rest))
    };
    // P(X >= k) and P(X <= k).
    let from = |k: f64| {
        if k <= 0.0 {
            1.0
        } else if k > n {
            0.0
        } else {
            beta_inc(k, n - k + 1.0, p, rest)
        }
    };
    let to = |k: f64| {
        if k >= n {
            1.0
        } else if k < 0.0 {
            0.0
        } else {
            beta_inc(n - k, k + 1.0, rest, p)
        }
    };
    let limit = chance(a) * (1.0 + 1e-7);
    let middle = n * p;
    if a == middle {
        return 1.0;
    }
    // On the other side of the middle chances fall away from it: the first that is no more likely than the one seen.
    let other = |near: f64, far: f64| {
        let (mut near, mut far) = (near, far);
        if chance(near) <= limit {
            return near;
        }
        while (far - near).abs() > 1.0 {
            let between = (0.5 * (near + far)).floor();
            if chance(between) <= limit { far = between } else { near = between }
        }
        far
    };
    let sum = if a < middle {
        to(a) + from(other(middle.ceil(), n + 1.0))
    } else {
        from(a) + to(other(middle.floor(), -1.0))
    };
    sum.min(1.0)
}

fn is_no_count(value: f64) -> bool {
    !value.is_finite() || value < 0.0
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(got: f64, want: f64, tolerance: f64) {
        assert!((got - want).abs() <= tolerance, "{got} is not {want} to {tolerance}");
    }

    #[test]
    fn the_first_pair_that_is_detected_is_five_against_none() {
        // Published as the exact paired result: L. A. Currie, ACS Symp. Ser. 945 (2007), ch. 3.
        near(on_off(5.0, 0.0, 1.0), 0.031_25, 1e-15);
        near(on_off(4.0, 0.0, 1.0), 0.062_5, 1e-15);
        near(as_sigmas(on_off(12.0, 20.0, 10.0)), 4.213_134_26, 1e-7);
        near(li_ma(12.0, 20.0, 10.0).unwrap(), 4.361_404_188_701_5, 1e-10);
    }

    #[test]
    fn a_deficit_is_below_zero_and_nothing_is_no_finding() {
        assert!(li_ma(3.0, 100.0, 10.0).unwrap() < 0.0);
        assert_eq!((li_ma(0.0, 5.0, 1.0), li_ma(5.0, 0.0, 1.0)), (None, None));
        assert_eq!(on_off(0.0, 5.0, 1.0), 1.0);
        assert!(on_off(-1.0, 5.0, 1.0).is_nan() && on_off(1.0, 5.0, 0.0).is_nan());
        assert_eq!((as_sigmas(0.0), as_sigmas(1.0)), (f64::INFINITY, f64::NEG_INFINITY));
    }

    #[test]
    fn two_counts_as_r_prints_it() {
        // R: poisson.test(c(11, 6+8+7), c(800, 1083+1050+878)), p-value = 0.07967.
        near(two_counts(11.0, 21.0, 800.0 / 3011.0, 1.0), 0.079_668_633, 1e-9);
    }

    #[test]
    fn two_counts_by_adding_up_every_outcome() {
        for (a, b, odds) in
            [(3u32, 9u32, 0.7), (0, 8, 1.0), (12, 0, 2.5), (5, 5, 1.0), (1, 30, 0.1), (7, 3, 0.01)]
        {
            let n = a + b;
            let p: f64 = odds / (1.0 + odds);
            let choose = |k: u32| (0..k).fold(1.0, |c, i| c * f64::from(n - i) / f64::from(i + 1));
            let chance = |k: u32| choose(k) * p.powi(k.cast_signed()) * (1.0 - p).powi((n - k).cast_signed());
            let want: f64 = (0..=n).map(chance).filter(|c| *c <= chance(a) * (1.0 + 1e-7)).sum();
            near(two_counts(f64::from(a), f64::from(b), odds, 1.0), want.min(1.0), 1e-12);
        }
        assert_eq!(two_counts(0.0, 0.0, 1.0, 1.0), 1.0);
        assert!(two_counts(1.5, 2.0, 1.0, 1.0).is_nan() && two_counts(1.0, 2.0, -1.0, 1.0).is_nan());
    }
}
