//! Triangles between points, none of whose circles holds another point (Delaunay), by inserting one point after the other and
//! flipping edges (C. L. Lawson, 1977; L. Guibas and J. Stolfi, ACM Trans. Graphics 4 (1985) 74, both from memory).
//!
//! What lies on which side is decided on whole numbers, so that no rounding tears the net: points are put on a lattice of
//! 2^30 steps across all of them. Only the choice of triangles rests on it.

use super::Point;

/// No triangle: beyond the outer edge.
const NONE: usize = usize::MAX;
const LATTICE: f64 = (1u64 << 30) as f64;

/// A net of triangles with positive area (x to the right, y upward; with y downward they run clockwise), each with its
/// neighbours.
#[derive(Debug, Clone)]
pub struct Mesh {
    places: Vec<(i64, i64)>,
    /// Three points each.
    pub triangles: Vec<[usize; 3]>,
    /// The neighbours across from each of the three points.
    beside: Vec<[usize; 3]>,
}

impl Mesh {
    /// The net of all points. The first `ring` of them are the corners of a convex polygon with positive area, and all others
    /// lie inside. The order of the others does not matter. `None` if they don't, or if two fall together.
    pub fn of(points: &[Point], ring: usize) -> Option<Self> {
        let places = lattice(points)?;
        let triangles: Vec<[usize; 3]> = (1..ring - 1).map(|i| [0, i, i + 1]).collect();
        let last = triangles.len() - 1;
        // Of the fan from point 0: the triangle before has the edge to `i`, the one after that to `i + 1`.
        let beside = (0..=last)
            .map(|t| [NONE, if t < last { t + 1 } else { NONE }, if t > 0 { t - 1 } else { NONE }])
            .collect();
        let mut mesh = Self { places, triangles, beside };
        let mut order: Vec<usize> = (ring..points.len()).collect();
        order.sort_by_key(|&i| mesh.places[i]);
        let mut near = 0;
        for point in order {
            near = mesh.insert(point, near)?;
        }
        Some(mesh)
    }

    /// Twice the area of a triangle on the lattice.
    fn turn(&self, a: usize, b: usize, c: usize) -> i64 {
        let ((ax, ay), (bx, by), (cx, cy)) = (self.places[a], self.places[b], self.places[c]);
        (bx - ax) * (cy - ay) - (by - ay) * (cx - ax)
    }

    /// Whether `d` lies inside the circle through the three corners of a triangle with positive area.
    fn in_circle(&self, a: usize, b: usize, c: usize, d: usize) -> bool {
        let (dx, dy) = self.places[d];
        let row = |i: usize| {
            let (x, y) = (self.places[i].0 - dx, self.places[i].1 - dy);
            (x, y, i128::from(x * x + y * y))
        };
        let ((ax, ay, aa), (bx, by, bb), (cx, cy, cc)) = (row(a), row(b), row(c));
        let minor = |px: i64, py: i64, qx: i64, qy: i64| i128::from(px * qy - py * qx);
        aa * minor(bx, by, cx, cy) - bb * minor(ax, ay, cx, cy) + cc * minor(ax, ay, bx, by) > 0
    }

    /// The triangle that holds a point, found by walking from another.
    fn holding(&self, point: usize, start: usize) -> Option<usize> {
        let outside = |t: usize| {
            let v = self.triangles[t];
            (0..3).find(|&i| self.turn(v[(i + 1) % 3], v[(i + 2) % 3], point) < 0)
        };
        let mut t = start;
        for _ in 0..self.triangles.len() {
            match outside(t) {
                None => return Some(t),
                Some(i) if self.beside[t][i] != NONE => t = self.beside[t][i],
                Some(_) => return None,
            }
        }
        (0..self.triangles.len()).find(|&t| outside(t).is_none())
    }

    /// Adds a point; gives a triangle near it.
    fn insert(&mut self, p: usize, near: usize) -> Option<usize> {
        let t = self.holding(p, near)?;
        let [a, b, c] = self.triangles[t];
        if [a, b, c].iter().any(|&corner| self.places[corner] == self.places[p]) {
            return None;
        }
        let [across_a, across_b, across_c] = self.beside[t];
        let (t1, t2) = (self.triangles.len(), self.triangles.len() + 1);
        self.triangles[t] = [a, b, p];
        self.beside[t] = [t1, t2, across_c];
        self.triangles.extend([[b, c, p], [c, a, p]]);
        self.beside.extend([[t2, t, across_a], [t, t1, across_b]]);
        self.relink(across_a, t, t1);
        self.relink(across_b, t, t2);
        let mut open = vec![t, t1, t2];
        while let Some(t) = open.pop() {
            // The new point is always the third.
            let ([a, b, _], n) = (self.triangles[t], self.beside[t][2]);
            if n == NONE {
                continue;
            }
            let d = self.corner_across(n, t)?;
            // A point on an edge makes a triangle without area, which must go.
            if self.turn(a, b, p) == 0 || self.in_circle(a, b, p, d) {
                self.flip(t, n);
                open.extend([t, n]);
            }
        }
        Some(t)
    }

    fn relink(&mut self, triangle: usize, before: usize, now: usize) {
        if triangle != NONE {
            self.beside[triangle].iter_mut().filter(|n| **n == before).for_each(|n| *n = now);
        }
    }

    /// The corner of `n` that is not shared with its neighbour `t`.
    fn corner_across(&self, n: usize, t: usize) -> Option<usize> {
        self.beside[n].iter().position(|&b| b == t).map(|i| self.triangles[n][i])
    }

    /// Two triangles `a b p` and `b a d` become `a d p` and `d b p`.
    fn flip(&mut self, t: usize, n: usize) {
        let Some(j) = self.beside[n].iter().position(|&b| b == t) else { return };
        let ([a, b, p], d) = (self.triangles[t], self.triangles[n][j]);
        let [beyond_bp, beyond_pa, _] = self.beside[t];
        // In `n` the corners after d are b... as `n` runs d, b, a: across from b lies a d, across from a lies d b.
        let across = |corner: usize| {
            (0..3).find(|&i| self.triangles[n][i] == corner).map_or(NONE, |i| self.beside[n][i])
        };
        let (beyond_ad, beyond_db) = (across(b), across(a));
        self.triangles[t] = [a, d, p];
        self.beside[t] = [n, beyond_pa, beyond_ad];
        self.triangles[n] = [d, b, p];
        self.beside[n] = [beyond_bp, t, beyond_db];
        self.relink(beyond_ad, n, t);
        self.relink(beyond_bp, t, n);
    }

    /// Flips edges of triangles that are not sound (by `is_sound`, given three corners) where both triangles that come of it
    /// are. Gives those that stay unsound.
    pub fn mended(&mut self, is_sound: impl Fn([usize; 3]) -> bool) -> Vec<[usize; 3]> {
        for _ in 0..2 * self.triangles.len() {
            let unsound = (0..self.triangles.len()).filter(|&t| !is_sound(self.triangles[t]));
            let way = unsound.flat_map(|t| (0..3).map(move |i| (t, i))).find(|&(t, i)| {
                let n = self.beside[t][i];
                if n == NONE {
                    return false;
                }
                let v = self.triangles[t];
                let (a, b, p) = (v[(i + 1) % 3], v[(i + 2) % 3], v[i]);
                let Some(d) = self.corner_across(n, t) else { return false };
                let is_convex = self.turn(a, d, p) > 0 && self.turn(d, b, p) > 0;
                is_convex && is_sound([a, d, p]) && is_sound([d, b, p])
            });
            let Some((t, i)) = way else { break };
            self.triangles[t].rotate_left((i + 1) % 3);
            self.beside[t].rotate_left((i + 1) % 3);
            self.flip(t, self.beside[t][2]);
        }
        self.triangles.iter().copied().filter(|&t| !is_sound(t)).collect()
    }
}

/// Points as whole numbers from 0 to [`LATTICE`]; `None` if one is not finite or they have no extent.
fn lattice(points: &[Point]) -> Option<Vec<(i64, i64)>> {
    let mut low = (f64::INFINITY, f64::INFINITY);
    let mut high = (f64::NEG_INFINITY, f64::NEG_INFINITY);
    for &(x, y) in points {
        low = (low.0.min(x), low.1.min(y));
        high = (high.0.max(x), high.1.max(y));
    }
    let step = (high.0 - low.0).max(high.1 - low.1) / LATTICE;
    let is_sound =
        step.is_finite() && step > 0.0 && points.iter().all(|p| p.0.is_finite() && p.1.is_finite());
    let whole = |v: f64, low: f64| ((v - low) / step).round() as i64;
    is_sound.then(|| points.iter().map(|p| (whole(p.0, low.0), whole(p.1, low.1))).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    const SQUARE: [Point; 4] = [(-900.0, -900.0), (1000.0, -900.0), (1000.0, 1000.0), (-900.0, 1000.0)];

    /// Every pair of neighbours knows each other, areas are positive and fill the square, circles are empty.
    fn assert_sound(mesh: &Mesh) {
        let mut area = 0;
        for (t, &[a, b, c]) in mesh.triangles.iter().enumerate() {
            let own = mesh.turn(a, b, c);
            assert!(own > 0);
            area += own;
            for (i, &n) in mesh.beside[t].iter().enumerate().filter(|(_, n)| **n != NONE) {
                assert!(mesh.beside[n].contains(&t));
                assert!(!mesh.triangles[n].contains(&mesh.triangles[t][i]));
            }
            assert!((0..mesh.places.len()).all(|d| !mesh.in_circle(a, b, c, d)));
        }
        assert_eq!(area, 2 << 60, "{} triangles", mesh.triangles.len());
    }

    #[test]
    fn circles_are_empty_also_of_points_in_rows() {
        // A lattice: every square has its four corners on one circle, and points fall on edges.
        let mut points = SQUARE.to_vec();
        points.extend((0..49).map(|i| (f64::from(i % 7) * 10.0, f64::from(i / 7) * 10.0)));
        assert_sound(&Mesh::of(&points, 4).unwrap());
        // Scattered, in another order.
        let place = |i: i64| ((i * 7919 % 1009) as f64 - 400.0, (i * 104_729 % 997) as f64 - 400.0);
        let mut points = SQUARE.to_vec();
        points.extend((1..400).map(place));
        let mesh = Mesh::of(&points, 4).unwrap();
        assert_sound(&mesh);
        assert_eq!(mesh.triangles.len(), 2 * 399 + 2);
        points[4..].reverse();
        let mut other: Vec<[usize; 3]> = Mesh::of(&points, 4)
            .unwrap()
            .triangles
            .iter()
            .map(|t| t.map(|i| if i < 4 { i } else { 406 - i }))
            .collect();
        let mut one = mesh.triangles;
        one.iter_mut().chain(&mut other).for_each(|t| t.sort_unstable());
        one.sort_unstable();
        other.sort_unstable();
        assert_eq!(one, other);
    }

    #[test]
    fn what_gives_no_net() {
        let with = |more: &[Point]| Mesh::of(&[&SQUARE, more].concat(), 4).map(|m| m.triangles.len());
        assert_eq!(with(&[]), Some(2));
        assert_eq!(with(&[(1.0, 1.0)]), Some(4));
        assert_eq!(with(&[(1.0, 1.0), (1.0, 1.0)]), None);
        assert_eq!(with(&[(f64::NAN, 1.0)]), None);
        assert_eq!(with(&[(5000.0, 1.0)]), None);
    }
}
