//! What points must be before anything is fitted to them.

use super::super::Pair;
use super::trouble::Side;
use super::{MOST_PAIRS, Model, Trouble};
use crate::geometry::Point;

/// No place of a picture is farther out.
const FARTHEST: f64 = 1e7;
/// Points nearer to each other than this share of the span of all are one.
const SAME: f64 = 1e-6;
/// The spread of points across their best line over the spread along it; below, they count as on a line. At 0.02 the
/// points of a line 500 pixels long lie some 3 pixels off it, which is how well points are set.
pub const FLATTEST: f64 = 0.02;

/// The first thing that is wrong with the pairs.
pub fn checked(pairs: &[Pair], model: Model) -> Result<(), Trouble> {
    let is_place = |(x, y): Point| x.abs() <= FARTHEST && y.abs() <= FARTHEST;
    if let Some(point) = pairs.iter().position(|pair| !(is_place(pair.from) && is_place(pair.to))) {
        return Err(Trouble::NotFinite { point });
    }
    if pairs.len() < model.fewest() {
        return Err(Trouble::TooFew { model, pairs: pairs.len() });
    }
    if pairs.len() > MOST_PAIRS {
        return Err(Trouble::TooMany { pairs: pairs.len() });
    }
    for side in [Side::From, Side::To] {
        if let Some((first, second)) = fallen_together(&places(pairs, side)) {
            return Err(Trouble::SamePlace { first, second, side });
        }
    }
    hold(pairs, model)
}

/// Whether sound pairs are enough for a model and spread widely enough.
pub fn hold(pairs: &[Pair], model: Model) -> Result<(), Trouble> {
    if pairs.len() < model.fewest() {
        return Err(Trouble::TooFew { model, pairs: pairs.len() });
    }
    let is_flat = |side: &Side| model != Model::Similarity && flatness(&places(pairs, *side)) < FLATTEST;
    match [Side::From, Side::To].into_iter().find(is_flat) {
        Some(side) => Err(Trouble::OnALine { side }),
        None => Ok(()),
    }
}

/// The places of one side.
pub fn places(pairs: &[Pair], side: Side) -> Vec<Point> {
    let place = |pair: &Pair| if side == Side::From { pair.from } else { pair.to };
    pairs.iter().map(place).collect()
}

/// The first two points that are one.
fn fallen_together(points: &[Point]) -> Option<(usize, usize)> {
    let ends = |values: &mut dyn Iterator<Item = f64>| {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        values.for_each(|v| (low, high) = (low.min(v), high.max(v)));
        high - low
    };
    let span = ends(&mut points.iter().map(|p| p.0)).max(ends(&mut points.iter().map(|p| p.1)));
    let near = (span * SAME) * (span * SAME);
    let is_same = |a: Point, b: Point| (a.0 - b.0) * (a.0 - b.0) + (a.1 - b.1) * (a.1 - b.1) <= near;
    (0..points.len())
        .find_map(|i| (i + 1..points.len()).find(|&k| is_same(points[i], points[k])).map(|k| (i, k)))
}

/// Spread across the best line through points over the spread along it, 0 to 1; 0 where they have no spread.
pub fn flatness(points: &[Point]) -> f64 {
    let n = points.len() as f64;
    let centre = (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for point in points {
        let (x, y) = (point.0 - centre.0, point.1 - centre.1);
        (xx, xy, yy) = (xx + x * x, xy + x * y, yy + y * y);
    }
    let largest = 0.5 * (xx + yy + ((xx - yy) * (xx - yy) + 4.0 * xy * xy).sqrt());
    let ratio = (xx * yy - xy * xy) / (largest * largest);
    if ratio > 0.0 { ratio.sqrt() } else { 0.0 }
}
