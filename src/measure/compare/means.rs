//! Two means with an effective number of pixels each, and the size of their difference in standard deviations.

use super::student::{student_quantile, student_two_sided};
use crate::numerics::counting::Interval;
use crate::numerics::sums;

/// Number, mean and variance of values.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// How many.
    pub n: f64,
    /// Their mean.
    pub mean: f64,
    /// Their variance over `n - 1`; NaN for a single value.
    pub variance: f64,
}

impl Spread {
    /// Of finite values; `None` without values.
    pub fn of(values: &[f64]) -> Option<Self> {
        let (mean, n) = (sums::mean(values)?, values.len() as f64);
        let variance =
            if values.len() > 1 { sums::squared_deviations(values, mean) / (n - 1.0) } else { f64::NAN };
        Some(Self { n, mean, variance })
    }
}

/// Difference of two means with unequal variances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Welch {
    /// First mean less the second.
    pub difference: f64,
    /// Its standard error.
    pub standard_error: f64,
    /// Difference over standard error.
    pub t: f64,
    /// Degrees of freedom (Welch and Satterthwaite).
    pub freedom: f64,
    /// Two-sided chance of a difference as large where there is none.
    pub p: f64,
}

impl Welch {
    /// Interval of the difference at level `1 - alpha`.
    pub fn interval(&self, alpha: f64) -> Interval {
        let arm = student_quantile(alpha, self.freedom) * self.standard_error;
        Interval { low: self.difference - arm, high: self.difference + arm }
    }
}

/// Welch's t for two means, each with its own variance and number (B. L. Welch, Biometrika 34 (1947) 28, from memory). The
/// numbers are `effective`: those of independent values that know the mean as well, not above `n`; plain numbers give the
/// plain test. `None` where an effective number is not above 1, a variance is missing, or neither side varies (then a
/// difference has no scale).
pub fn welch(a: &Spread, b: &Spread, effective: (f64, f64)) -> Option<Welch> {
    let usable = |s: &Spread, n: f64| n > 1.0 && n.is_finite() && s.variance >= 0.0 && s.variance.is_finite();
    if !usable(a, effective.0) || !usable(b, effective.1) {
        return None;
    }
    let (of_a, of_b) = (a.variance / effective.0, b.variance / effective.1);
    let square = of_a + of_b;
    if square <= 0.0 {
        return None;
    }
    let freedom = square * square / (of_a * of_a / (effective.0 - 1.0) + of_b * of_b / (effective.1 - 1.0));
    let (difference, standard_error) = (a.mean - b.mean, square.sqrt());
    let t = difference / standard_error;
    Some(Welch { difference, standard_error, t, freedom, p: student_two_sided(t, freedom) })
}

/// A difference of means in pooled standard deviations.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Standardised {
    /// Cohen's d: the difference over the pooled standard deviation.
    pub d: f64,
    /// Hedges' g: d times 1 - 3 / (4 N - 9), N the number of all values.
    pub g: f64,
}

/// Cohen's d and Hedges' g (L. V. Hedges, J. Educ. Stat. 6 (1981) 107, the short factor, from memory). They describe; they
/// don't depend on effective numbers. `None` with fewer than two values on a side or where nothing varies.
pub fn standardised(a: &Spread, b: &Spread) -> Option<Standardised> {
    if a.n < 2.0 || b.n < 2.0 {
        return None;
    }
    let pooled = ((a.n - 1.0) * a.variance + (b.n - 1.0) * b.variance) / (a.n + b.n - 2.0);
    if pooled.is_nan() || pooled <= 0.0 {
        return None;
    }
    let d = (a.mean - b.mean) / pooled.sqrt();
    Some(Standardised { d, g: d * (1.0 - 3.0 / (4.0 * (a.n + b.n) - 9.0)) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_variance_or_numbers_there_is_no_test() {
        let flat = Spread::of(&[4.0; 20]).unwrap();
        let other = Spread::of(&[5.0; 20]).unwrap();
        assert_eq!((welch(&flat, &other, (20.0, 20.0)), standardised(&flat, &other)), (None, None));
        let one = Spread::of(&[4.0]).unwrap();
        let two = Spread::of(&[4.0, 6.0]).unwrap();
        assert_eq!((welch(&one, &two, (1.0, 2.0)), standardised(&one, &two)), (None, None));
        assert_eq!(Spread::of(&[]), None);
    }

    #[test]
    fn fewer_effective_pixels_widen_the_interval_around_the_same_difference() {
        let a = Spread::of(&(0..100).map(|i| f64::from(i % 10)).collect::<Vec<_>>()).unwrap();
        let b = Spread::of(&(0..100).map(|i| f64::from(i % 10) + 1.0).collect::<Vec<_>>()).unwrap();
        let (plain, few) = (welch(&a, &b, (100.0, 100.0)).unwrap(), welch(&a, &b, (9.0, 9.0)).unwrap());
        assert_eq!(plain.difference, few.difference);
        let (narrow, wide) = (plain.interval(0.05), few.interval(0.05));
        assert!(wide.low < narrow.low && narrow.high < wide.high);
        assert!(narrow.high < 0.0 && wide.high > 0.0, "{narrow:?} {wide:?}");
    }

    #[test]
    fn the_interval_ends_where_p_is_alpha() {
        let a = Spread { n: 40.0, mean: 3.0, variance: 2.0 };
        let b = Spread { n: 50.0, mean: 2.0, variance: 1.0 };
        let found = welch(&a, &b, (12.0, 30.0)).unwrap();
        let at_end = found.interval(found.p);
        assert!(at_end.low.abs() < 1e-9, "{at_end:?}");
    }
}
