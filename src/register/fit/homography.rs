//! A plane seen aslant: a direct solution, then the smallest error on the grid.

use super::super::Pair;
use super::linear::normalised;
use super::normal::between;
use super::{Model, Trouble, checks};
use crate::geometry::{PlaneTransform, Point};
use crate::numerics::{cholesky, eigen};

/// The second smallest singular value of the equations over the largest; below, they have more than one solution. Four
/// points of which one lies off the line of two others by a hundredth of their span have 0.005.
const LEAST_CONDITION: f64 = 0.005;
const MOST_STEPS: usize = 100;

/// The direct solution by normalised linear equations (R. I. Hartley, 1997; see [`super::normal::Normal`]): the eigenvector
/// of the smallest eigenvalue. It minimises no error that can be seen on the grid; [`homography`] starts from it.
pub fn direct_homography(pairs: &[Pair]) -> Result<PlaneTransform, Trouble> {
    checks::checked(pairs, Model::Homography)?;
    let (from, to, both) = normalised(pairs);
    let start = direct(&both)?;
    let plane = PlaneTransform::new(nine(&start)).ok_or(Trouble::Horizon)?;
    seen(between(&plane, &from, &to), pairs)
}

/// The homography with the smallest sum of squared errors on the grid, by damped Gauss-Newton steps (D. W. Marquardt, J. SIAM
/// 11 (1963) 431, from memory).
pub fn homography(pairs: &[Pair]) -> Result<PlaneTransform, Trouble> {
    let (from, to, both) = normalised(pairs);
    let found = refined(direct(&both)?, &both)?;
    let plane = PlaneTransform::new(nine(&found)).ok_or(Trouble::Horizon)?;
    seen(between(&plane, &from, &to), pairs)
}

/// The transform, if every point of the picture is on this side of its horizon.
fn seen(plane: Option<PlaneTransform>, pairs: &[Pair]) -> Result<PlaneTransform, Trouble> {
    let plane = plane.ok_or(Trouble::Horizon)?;
    let all = pairs.iter().all(|pair| plane.at(pair.from).is_some());
    if all { Ok(plane) } else { Err(Trouble::Horizon) }
}

fn nine(h: &[f64; 8]) -> [f64; 9] {
    [h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0]
}

/// Eight numbers of the matrix between normalised places, the ninth being 1.
fn direct(both: &[(Point, Point)]) -> Result<[f64; 8], Trouble> {
    let mut sums = [0.0; 81];
    for &((x, y), (u, v)) in both {
        let rows =
            [[x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y, -u], [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y, -v]];
        for row in rows {
            for i in 0..9 {
                (0..9).for_each(|k| sums[9 * i + k] += row[i] * row[k]);
            }
        }
    }
    let solutions = eigen::symmetric(&sums, 9);
    let [(largest, _), .., (second, _), (_, best)] = solutions.as_slice() else {
        return Err(Trouble::NoResult);
    };
    if second.max(0.0).sqrt() < LEAST_CONDITION * largest.sqrt() {
        return Err(Trouble::ThreeOnALine);
    }
    // The centre of the points must be on this side of the horizon.
    let last = best[8];
    let h: [f64; 8] = core::array::from_fn(|i| best[i] / last);
    let is_seen = |&((x, y), _): &(Point, Point)| h[6] * x + h[7] * y + 1.0 > 1e-9;
    let all = h.iter().all(|v| v.is_finite()) && both.iter().all(is_seen);
    if all { Ok(h) } else { Err(Trouble::Horizon) }
}

/// Where a normalised place goes, and how that changes with each of the eight numbers: two rows.
pub fn place_and_slopes(h: &[f64], (x, y): Point) -> (Point, [[f64; 8]; 2]) {
    let w = h[6] * x + h[7] * y + 1.0;
    let (u, v) = ((h[0] * x + h[1] * y + h[2]) / w, (h[3] * x + h[4] * y + h[5]) / w);
    let (a, b, c) = (x / w, y / w, 1.0 / w);
    let rows = [[a, b, c, 0.0, 0.0, 0.0, -u * a, -u * b], [0.0, 0.0, 0.0, a, b, c, -v * a, -v * b]];
    ((u, v), rows)
}

/// Sum of squared errors; infinite where a point is beyond the horizon.
fn misfit(h: &[f64; 8], both: &[(Point, Point)]) -> f64 {
    both.iter().fold(0.0, |sum, &(from, to)| {
        if h[6] * from.0 + h[7] * from.1 + 1.0 <= 1e-9 {
            return f64::INFINITY;
        }
        let ((u, v), _) = place_and_slopes(h, from);
        sum + (u - to.0) * (u - to.0) + (v - to.1) * (v - to.1)
    })
}

fn refined(start: [f64; 8], both: &[(Point, Point)]) -> Result<[f64; 8], Trouble> {
    let mut h = start;
    let mut error = misfit(&h, both);
    let mut damping = 1e-6;
    for _ in 0..MOST_STEPS {
        let (matrix, right) = equations(&h, both);
        let mut damped = matrix;
        (0..8).for_each(|i| damped[9 * i] *= 1.0 + damping);
        let mut step = right;
        if cholesky::decompose(&mut damped, 8).is_none() {
            damping = f64::max(10.0 * damping, 1e-9);
            continue;
        }
        cholesky::solve(&damped, 8, &mut step);
        let next: [f64; 8] = core::array::from_fn(|i| h[i] + step[i]);
        let length = step.iter().fold(0.0f64, |most, v| most.max(v.abs()));
        let next_error = misfit(&next, both);
        if !length.is_finite() {
            return Err(Trouble::NoResult);
        }
        // Near the end the error differs by rounding only, while the step still leads nearer.
        if next_error <= error * (1.0 + 1e-12) {
            (h, error, damping) = (next, next_error, damping * 0.1);
        } else {
            damping = f64::max(10.0 * damping, 1e-9);
        }
        // A step of this length no longer changes the error but by rounding.
        if length < 1e-13 {
            break;
        }
    }
    if error.is_finite() { Ok(h) } else { Err(Trouble::NoResult) }
}

/// Sums of products of the slopes, 8 x 8, and of slopes and errors.
fn equations(h: &[f64; 8], both: &[(Point, Point)]) -> ([f64; 64], [f64; 8]) {
    let (mut matrix, mut right) = ([0.0; 64], [0.0; 8]);
    for &(from, to) in both {
        let ((u, v), rows) = place_and_slopes(h, from);
        for (row, left) in rows.iter().zip([to.0 - u, to.1 - v]) {
            for i in 0..8 {
                right[i] += row[i] * left;
                (0..8).for_each(|k| matrix[8 * i + k] += row[i] * row[k]);
            }
        }
    }
    (matrix, right)
}
