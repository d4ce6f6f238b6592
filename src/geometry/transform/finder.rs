//! Which triangle holds a place, without asking all of them.

use super::Point;

/// A place this far outside a triangle, as a share of its size, still counts as on its edge: neighbours leave no gap.
const EDGE: f64 = 1e-6;

/// Lists of triangles for the cells of a square net over and around the points; far away only triangles that reach there.
#[derive(Debug, Clone, PartialEq)]
pub struct Finder {
    low: Point,
    cell: Point,
    side: usize,
    cells: Vec<Vec<u32>>,
    far: Vec<u32>,
}

impl Finder {
    /// Of triangles between points of which the first `ring` lie far out around the others.
    pub fn new(points: &[Point], ring: usize, triangles: &[[usize; 3]]) -> Self {
        let (mut low, mut high) = ((f64::INFINITY, f64::INFINITY), (f64::NEG_INFINITY, f64::NEG_INFINITY));
        for &(x, y) in &points[ring..] {
            low = (low.0.min(x), low.1.min(y));
            high = (high.0.max(x), high.1.max(y));
        }
        // As much again on every side.
        let size = (high.0 - low.0, high.1 - low.1);
        let side = (4.0 * (points.len() as f64).sqrt()).ceil().clamp(12.0, 120.0) as usize;
        let cell = (3.0 * size.0 / side as f64, 3.0 * size.1 / side as f64);
        let low = (low.0 - size.0, low.1 - size.1);
        let mut finder = Self { low, cell, side, cells: vec![Vec::new(); side * side], far: Vec::new() };
        for (number, &triangle) in triangles.iter().enumerate() {
            finder.enter(number as u32, triangle.map(|i| points[i]));
            if triangle.iter().any(|&i| i < ring) {
                finder.far.push(number as u32);
            }
        }
        finder
    }

    fn enter(&mut self, number: u32, corners: [Point; 3]) {
        let span = |low: f64, cell: f64, values: [f64; 3]| {
            let place = |v: f64| ((v - low) / cell).floor().clamp(-1.0, self.side as f64);
            let (first, last) =
                values.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(f, l), &v| (f.min(v), l.max(v)));
            // One cell more, against rounding.
            (place(first) - 1.0).max(0.0) as usize..((place(last) + 2.0).max(0.0) as usize).min(self.side)
        };
        let columns = span(self.low.0, self.cell.0, corners.map(|c| c.0));
        let rows = span(self.low.1, self.cell.1, corners.map(|c| c.1));
        for row in rows {
            for column in columns.clone() {
                if self.may_meet(corners, column, row) {
                    self.cells[row * self.side + column].push(number);
                }
            }
        }
    }

    /// False if one edge has the whole cell, and a little more, on its outer side.
    fn may_meet(&self, corners: [Point; 3], column: usize, row: usize) -> bool {
        let at = |c: f64, r: f64| (self.low.0 + c * self.cell.0, self.low.1 + r * self.cell.1);
        let (c, r) = (column as f64, row as f64);
        let cell = [at(c - 0.1, r - 0.1), at(c + 1.1, r - 0.1), at(c - 0.1, r + 1.1), at(c + 1.1, r + 1.1)];
        let whole = turn(corners[0], corners[1], corners[2]);
        (0..3).all(|i| {
            let (a, b) = (corners[i], corners[(i + 1) % 3]);
            cell.iter().any(|&p| turn(a, b, p) * whole >= 0.0)
        })
    }

    /// The triangle that holds a place, and the weights of its three corners there.
    pub fn find(
        &self,
        points: &[Point],
        triangles: &[[usize; 3]],
        place: Point,
    ) -> Option<(usize, [f64; 3])> {
        let (column, row) = ((place.0 - self.low.0) / self.cell.0, (place.1 - self.low.1) / self.cell.1);
        let side = self.side as f64;
        let is_near = (0.0..side).contains(&column) && (0.0..side).contains(&row);
        let list = if is_near { &self.cells[row as usize * self.side + column as usize] } else { &self.far };
        best(points, list.iter().map(|&n| (n as usize, triangles[n as usize])), place)
    }
}

/// The triangle out of a list that holds a place.
pub fn best(
    points: &[Point],
    list: impl Iterator<Item = (usize, [usize; 3])>,
    place: Point,
) -> Option<(usize, [f64; 3])> {
    let mut found = None;
    let mut margin = -EDGE;
    for (number, corners) in list {
        let weights = weights(corners.map(|i| points[i]), place);
        let least = weights[0].min(weights[1]).min(weights[2]);
        if least >= 0.0 {
            return Some((number, weights));
        }
        if least > margin {
            (margin, found) = (least, Some((number, weights)));
        }
    }
    found
}

/// Weights of three corners whose mean a place is; they sum to 1. NaN without area.
fn weights([a, b, c]: [Point; 3], p: Point) -> [f64; 3] {
    let whole = turn(a, b, c);
    let (of_a, of_b) = (turn(p, b, c) / whole, turn(p, c, a) / whole);
    [of_a, of_b, 1.0 - of_a - of_b]
}

/// Twice the area of a triangle; positive where it runs from x to y.
pub fn turn(a: Point, b: Point, c: Point) -> f64 {
    (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0)
}
