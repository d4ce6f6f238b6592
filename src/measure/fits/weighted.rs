//! Least squares, plain and weighted once or again and again.

use super::{Line, is_usable};
use crate::numerics::math::ln;
use crate::numerics::order;
use crate::numerics::sums::sum;

/// What the Poisson regression gives beside its line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct IdentityFit {
    /// The line.
    pub line: Line,
    /// Standard errors of offset and slope.
    pub errors: Line,
    /// Deviance: twice the log-likelihood lost against a perfect fit.
    pub deviance: f64,
    /// Σ (A - μ)²/μ.
    pub pearson: f64,
}

/// What the Huber line leaves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Huber {
    /// The line.
    pub line: Line,
    /// Scale of the residuals: their median size / 0.6745.
    pub scale: f64,
}

/// Line by weighted least squares, and the inverse of its matrix (var b, cov, var k for unit variance).
fn solve(a: &[f64], b: &[f64], weights: &[f64]) -> Option<(Line, [f64; 3])> {
    let over = |value: &dyn Fn(usize) -> f64| sum(&(0..a.len()).map(value).collect::<Vec<_>>());
    let total = sum(weights);
    // About the mean, so that a far origin costs no digits.
    let (mean_a, mean_b) = (over(&|i| weights[i] * a[i]) / total, over(&|i| weights[i] * b[i]) / total);
    let spread = over(&|i| weights[i] * (b[i] - mean_b) * (b[i] - mean_b));
    let common = over(&|i| weights[i] * (b[i] - mean_b) * (a[i] - mean_a));
    let k = common / spread;
    let line = Line { b: mean_a - k * mean_b, k };
    let inverse = [1.0 / total + mean_b * mean_b / spread, -mean_b / spread, 1.0 / spread];
    (spread > 0.0 && total > 0.0 && line.b.is_finite() && line.k.is_finite()).then_some((line, inverse))
}

/// Ordinary least squares of A on B. The noise of B shrinks its slope (see [`super::attenuation`]).
pub fn least_squares(a: &[f64], b: &[f64]) -> Option<Line> {
    weighted_least_squares(a, b, &vec![1.0; a.len()])
}

/// Least squares with weights (1 / variance). Weights of 1 / max(A, 1) follow the noise of A and pull the line down.
pub fn weighted_least_squares(a: &[f64], b: &[f64], weights: &[f64]) -> Option<Line> {
    let fits = is_usable(a, b) && weights.len() == a.len() && weights.iter().all(|w| *w >= 0.0);
    if !fits {
        return None;
    }
    Some(solve(a, b, weights)?.0)
}

/// The smallest mean that the Poisson regression gives a pixel.
const LEAST_MEAN: f64 = 1e-9;
const MOST_ROUNDS: usize = 500;

/// Whether a line stays where it was, as far as its digits reach.
fn has_settled(one: Line, other: Line) -> bool {
    let near = |x: f64, y: f64| (x - y).abs() <= 1e-12 * (x.abs() + y.abs()) + 1e-300;
    near(one.b, other.b) && near(one.k, other.k)
}

/// Poisson regression with identity link, μ = b + kB, by least squares with weights 1/μ taken again until the line stays.
/// Means are kept above 1e-9. `None` also for negative A, or where it does not settle in 500 rounds.
/// Source: P. McCullagh and J. A. Nelder, Generalized Linear Models (1989), as statsmodels has it.
pub fn poisson_identity(a: &[f64], b: &[f64]) -> Option<IdentityFit> {
    if !is_usable(a, b) || a.iter().any(|a| *a < 0.0) {
        return None;
    }
    let middle = sum(a) / a.len() as f64;
    let mut means: Vec<f64> = a.iter().map(|a| f64::midpoint(*a, middle)).collect();
    let mut before = None;
    for _ in 0..MOST_ROUNDS {
        let weights: Vec<f64> = means.iter().map(|mean| 1.0 / mean.max(LEAST_MEAN)).collect();
        let (line, inverse) = solve(a, b, &weights)?;
        means = b.iter().map(|b| (line.b + line.k * b).max(LEAST_MEAN)).collect();
        if before.is_some_and(|before| has_settled(line, before)) {
            let each = |value: &dyn Fn(f64, f64) -> f64| {
                sum(&a.iter().zip(&means).map(|(a, mean)| value(*a, *mean)).collect::<Vec<_>>())
            };
            let lost = |a: f64, mean: f64| if a > 0.0 { a * ln(a / mean) - (a - mean) } else { mean };
            return Some(IdentityFit {
                line,
                errors: Line { b: inverse[0].sqrt(), k: inverse[2].sqrt() },
                deviance: 2.0 * each(&lost),
                pearson: each(&|a, mean| (a - mean) * (a - mean) / mean),
            });
        }
        before = Some(line);
    }
    None
}

/// Where Huber's weights begin to fall, in scales of the residuals.
const HUBER: f64 = 1.345;
/// The upper quartile of the standard normal distribution.
const QUARTILE: f64 = 0.674_489_750_196_081_7;

/// Huber's line: residuals beyond 1.345 scales weigh less, the scale is the median size of the residuals over 0.6745 and
/// is taken anew each round. A scale of 0 (more than half of the pixels on the line) ends it. `None` where it does not
/// settle in 500 rounds. Source: P. J. Huber, Robust Statistics (1981), as statsmodels has it.
pub fn huber(a: &[f64], b: &[f64]) -> Option<Huber> {
    let mut line = least_squares(a, b)?;
    for _ in 0..MOST_ROUNDS {
        let left: Vec<f64> = a.iter().zip(b).map(|(a, b)| (a - line.b - line.k * b).abs()).collect();
        let mut sorted = left.clone();
        order::sort(&mut sorted);
        let scale = order::quantile(&sorted, 0.5)? / QUARTILE;
        if scale <= 1e-12 * sorted.last().copied().unwrap_or(0.0) {
            return Some(Huber { line, scale });
        }
        let weights: Vec<f64> =
            left.iter().map(|r| if *r <= HUBER * scale { 1.0 } else { HUBER * scale / r }).collect();
        let next = solve(a, b, &weights)?.0;
        if has_settled(next, line) {
            return Some(Huber { line: next, scale });
        }
        line = next;
    }
    None
}
