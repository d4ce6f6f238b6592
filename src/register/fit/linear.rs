//! Similarity and affine alignment: least squares in closed form.

use super::super::Pair;
use super::Trouble;
use super::checks::places;
use super::normal::{Normal, between};
use super::trouble::Side;
use crate::geometry::{PlaneTransform, Point};

/// The normalisations of both sides and the normalised places, one pair after the other.
pub fn normalised(pairs: &[Pair]) -> (Normal, Normal, Vec<(Point, Point)>) {
    let (from, to) = (Normal::of(&places(pairs, Side::From)), Normal::of(&places(pairs, Side::To)));
    let both = pairs.iter().map(|pair| (from.at(pair.from), to.at(pair.to))).collect();
    (from, to, both)
}

/// Turn, scale and shift with the smallest sum of squared errors; never mirrored (S. Umeyama, IEEE Trans. Pattern Anal. Mach.
/// Intell. 13 (1991) 376, from memory; in the plane it is the least-squares solution for a complex factor).
pub fn similarity(pairs: &[Pair]) -> Result<PlaneTransform, Trouble> {
    let (from, to, both) = normalised(pairs);
    let (mut length, mut other_length) = (0.0, 0.0);
    // Sums of conj(from) * to and, as if mirrored, of from * to.
    let (mut turned, mut mirrored) = ((0.0, 0.0), (0.0, 0.0));
    for ((x, y), (u, v)) in both {
        length += x * x + y * y;
        other_length += u * u + v * v;
        turned = (turned.0 + x * u + y * v, turned.1 + x * v - y * u);
        mirrored = (mirrored.0 + x * u - y * v, mirrored.1 + x * v + y * u);
    }
    let explained = |(re, im): Point| (re * re + im * im) / length;
    let rest = |sum: Point| (other_length - explained(sum)).max(0.0);
    // A mirrored fit that is far better. Two points, and points on a line, fit both ways.
    let is_mirrored = rest(mirrored) < 0.25 * rest(turned) && rest(turned) > 1e-4 * other_length;
    if is_mirrored || explained(turned) < 1e-12 * other_length {
        return Err(Trouble::Mirrored);
    }
    let (a, b) = (turned.0 / length, turned.1 / length);
    let plane = PlaneTransform::affine([a, -b, 0.0], [b, a, 0.0]).ok_or(Trouble::NoResult)?;
    between(&plane, &from, &to).ok_or(Trouble::NoResult)
}

/// Ordinary least squares for each row of the matrix.
pub fn affine(pairs: &[Pair]) -> Result<PlaneTransform, Trouble> {
    let (from, to, both) = normalised(pairs);
    let scatter = Scatter::of(both.iter().map(|pair| pair.0));
    let row = |target: fn(&Point) -> f64| {
        let (x, y) = both
            .iter()
            .fold((0.0, 0.0), |(x, y), (place, to)| (x + place.0 * target(to), y + place.1 * target(to)));
        let (a, b) = scatter.solve((x, y));
        [a, b, 0.0]
    };
    let plane = PlaneTransform::affine(row(|to| to.0), row(|to| to.1)).ok_or(Trouble::NoResult)?;
    between(&plane, &from, &to).ok_or(Trouble::NoResult)
}

/// How much of the error of each pair the affine fit has taken away: the diagonal of X (X'X)^-1 X'.
pub fn leverages(pairs: &[Pair]) -> Vec<f64> {
    let (.., both) = normalised(pairs);
    let scatter = Scatter::of(both.iter().map(|pair| pair.0));
    let n = both.len() as f64;
    let of = |place: Point| {
        let (x, y) = scatter.solve(place);
        1.0 / n + place.0 * x + place.1 * y
    };
    both.into_iter().map(|(place, _)| of(place)).collect()
}

/// Sums of squares of centred places.
struct Scatter {
    xx: f64,
    xy: f64,
    yy: f64,
}

impl Scatter {
    fn of(places: impl Iterator<Item = Point>) -> Self {
        places.fold(Self { xx: 0.0, xy: 0.0, yy: 0.0 }, |sums, (x, y)| Self {
            xx: sums.xx + x * x,
            xy: sums.xy + x * y,
            yy: sums.yy + y * y,
        })
    }

    fn solve(&self, (x, y): Point) -> Point {
        let determinant = self.xx * self.yy - self.xy * self.xy;
        ((self.yy * x - self.xy * y) / determinant, (self.xx * y - self.xy * x) / determinant)
    }
}
