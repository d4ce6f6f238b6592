//! The one point that the others contradict.

use super::super::Pair;
use super::spread::{Spread, parameters};
use super::{Model, squared};
use crate::geometry::Point;
use crate::numerics::math::pow;

/// Chance that one of the points of a set without mistakes is named.
const FALSE_ALARM: f64 = 0.01;

/// The pair with the largest error against the others, if an error of that size would occur by chance in fewer than one of a
/// hundred sets (F test with 2 and m degrees of freedom, whose tail is (1 + 2 F / m)^(-m/2), times the number of pairs;
/// R. D. Cook and S. Weisberg, Residuals and Influence in Regression, 1982, from memory). `None` also where too few are left
/// to judge by, and for warps, where every point stands for itself.
pub fn doubtful(pairs: &[Pair], model: Model, errors: &[Point], spread: &Spread) -> Option<usize> {
    // Degrees of freedom without the two coordinates of the pair in question.
    let free = 2.0 * pairs.len() as f64 - parameters(model) as f64 - 2.0;
    if model == Model::Piecewise || free < 2.0 {
        return None;
    }
    let total: f64 = errors.iter().map(squared).sum();
    let chance = |i: usize| {
        // e' (1 - H)^-1 e: what the sum of squares loses without the pair.
        let ((x, y), [xx, xy, yy]) = (errors[i], spread.leverage(pairs[i].from));
        let (a, b, c) = (1.0 - xx, -xy, 1.0 - yy);
        let own = (c * x * x - 2.0 * b * x * y + a * y * y) / (a * c - b * b).max(1e-12);
        // Sets without any error have no doubtful point: rounding is not one.
        let others = (total - own).max(1e-12 * total).max(1e-12);
        pow(1.0 + own / others, -0.5 * free) * pairs.len() as f64
    };
    let chances = (0..pairs.len()).map(|i| (i, chance(i)));
    let (worst, least) = chances.min_by(|a, b| a.1.total_cmp(&b.1))?;
    (least < FALSE_ALARM).then_some(worst)
}
