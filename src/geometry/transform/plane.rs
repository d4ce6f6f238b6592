//! A projective map of the plane; similarity and affine maps are among them.

use super::super::Orientation;
use super::Point;

/// A map of the plane by a 3 x 3 matrix, `(x, y, 1)` as a column; with the last row `0 0 1` it is affine. It can always be
/// turned back.
#[derive(Debug, Clone, PartialEq)]
pub struct PlaneTransform {
    /// Row by row; the last number is 1 wherever that can be had.
    forward: [f64; 9],
    back: [f64; 9],
}

impl PlaneTransform {
    /// From a matrix, row by row. `None` if a number is not finite or the plane would fall into a line.
    pub fn new(matrix: [f64; 9]) -> Option<Self> {
        let forward = normalised(matrix)?;
        let back = normalised(adjugate(&forward))?;
        // What is left of the area of a unit square, held against the lengths of its sides.
        let [a, b, _, d, e, ..] = forward;
        let (across, down) = ((a * a + d * d).sqrt(), (b * b + e * e).sqrt());
        let is_flat = (a * e - b * d).abs() <= 1e-12 * across * down;
        // The horizon must not lie between the two origins, or places would not come back.
        let comes_back = project(&forward, (0.0, 0.0)).is_some_and(|to| project(&back, to).is_some());
        (!is_flat && comes_back).then_some(Self { forward, back })
    }

    /// Affine, from two rows.
    pub fn affine([a, b, c]: [f64; 3], [d, e, f]: [f64; 3]) -> Option<Self> {
        Self::new([a, b, c, d, e, f, 0.0, 0.0, 1.0])
    }

    /// Nothing moves.
    pub fn identity() -> Self {
        let same = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0];
        Self { forward: same, back: same }
    }

    /// How places of a picture of `size` (before) move when it is laid so.
    pub fn laid(orientation: Orientation, (width, height): (u32, u32)) -> Self {
        let (width, height) = (f64::from(width), f64::from(height));
        // x is mirrored first.
        let (sign, start) = if orientation.is_mirrored() { (-1.0, width) } else { (1.0, 0.0) };
        let forward = match orientation.quarter_turns() {
            0 => [sign, 0.0, start, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0],
            1 => [0.0, -1.0, height, sign, 0.0, start, 0.0, 0.0, 1.0],
            2 => [-sign, 0.0, width - start, 0.0, -1.0, height, 0.0, 0.0, 1.0],
            _ => [0.0, 1.0, 0.0, -sign, 0.0, width - start, 0.0, 0.0, 1.0],
        };
        Self::new(forward).unwrap_or_else(Self::identity)
    }

    /// The matrix, row by row.
    pub fn matrix(&self) -> &[f64; 9] {
        &self.forward
    }

    /// Where a place goes; `None` on or beyond the horizon of a plane seen aslant.
    pub fn at(&self, from: Point) -> Option<Point> {
        project(&self.forward, from)
    }

    /// Where a place comes from.
    pub fn back(&self, to: Point) -> Option<Point> {
        project(&self.back, to)
    }

    /// How the place changes with x and with y of where it comes from: `[dx'/dx, dx'/dy, dy'/dx, dy'/dy]`.
    pub fn slopes(&self, from: Point) -> Option<[f64; 4]> {
        let (u, v) = self.at(from)?;
        let m = &self.forward;
        let w = m[6] * from.0 + m[7] * from.1 + m[8];
        Some([(m[0] - u * m[6]) / w, (m[1] - u * m[7]) / w, (m[3] - v * m[6]) / w, (m[4] - v * m[7]) / w])
    }

    /// What takes it back.
    pub fn inverse(&self) -> Self {
        Self { forward: self.back, back: self.forward }
    }

    /// This first, then `next`; `None` where the product has no finite form.
    pub fn then(&self, next: &Self) -> Option<Self> {
        Self::new(product(&next.forward, &self.forward))
    }

    /// True if parallel lines stay parallel.
    pub fn is_affine(&self) -> bool {
        self.forward[6] == 0.0 && self.forward[7] == 0.0
    }
}

fn project(m: &[f64; 9], (x, y): Point) -> Option<Point> {
    let w = m[6] * x + m[7] * y + m[8];
    if w <= 1e-12 {
        return None;
    }
    let place = ((m[0] * x + m[1] * y + m[2]) / w, (m[3] * x + m[4] * y + m[5]) / w);
    (place.0.is_finite() && place.1.is_finite()).then_some(place)
}

/// Scaled so that the last number is 1; `None` where it is 0 or anything is not finite.
fn normalised(matrix: [f64; 9]) -> Option<[f64; 9]> {
    let last = matrix[8];
    let scaled = matrix.map(|v| v / last);
    scaled.iter().all(|v| v.is_finite()).then_some(scaled)
}

fn product(a: &[f64; 9], b: &[f64; 9]) -> [f64; 9] {
    let at = |row: usize, column: usize| (0..3).map(|k| a[3 * row + k] * b[3 * k + column]).sum::<f64>();
    core::array::from_fn(|i| at(i / 3, i % 3))
}

/// The inverse but for a factor.
fn adjugate(m: &[f64; 9]) -> [f64; 9] {
    [
        m[4] * m[8] - m[5] * m[7],
        m[2] * m[7] - m[1] * m[8],
        m[1] * m[5] - m[2] * m[4],
        m[5] * m[6] - m[3] * m[8],
        m[0] * m[8] - m[2] * m[6],
        m[2] * m[3] - m[0] * m[5],
        m[3] * m[7] - m[4] * m[6],
        m[1] * m[6] - m[0] * m[7],
        m[0] * m[4] - m[1] * m[3],
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    fn near(a: Point, b: Point) -> bool {
        (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9
    }

    #[test]
    fn there_and_back_also_aslant() {
        let aslant = PlaneTransform::new([2.1, -0.1, 12.5, 0.12, 2.1, 11.7, 6e-5, -3e-6, 1.0]).unwrap();
        for place in [(0.0, 0.0), (31.5, 170.25), (200.0, 3.0)] {
            assert!(near(aslant.back(aslant.at(place).unwrap()).unwrap(), place));
            assert!(near(aslant.inverse().at(aslant.at(place).unwrap()).unwrap(), place));
        }
        let there_and_back = aslant.then(&aslant.inverse()).unwrap();
        assert!(near(there_and_back.at((7.0, 9.0)).unwrap(), (7.0, 9.0)));
        assert_eq!(aslant.at((-1.0 / 6e-5, 0.0)), None, "the horizon");
        let (here, right) = (aslant.at((31.0, 40.0)).unwrap(), aslant.at((31.0 + 1e-6, 40.0)).unwrap());
        let slopes = aslant.slopes((31.0, 40.0)).unwrap();
        assert!((slopes[0] - (right.0 - here.0) / 1e-6).abs() < 1e-6);
        assert!((slopes[2] - (right.1 - here.1) / 1e-6).abs() < 1e-6);
        assert!(!aslant.is_affine() && PlaneTransform::identity().is_affine());
    }

    #[test]
    fn turned_as_pixels_are_turned() {
        for i in 0..8 {
            let turn = Orientation::new(i % 4, i >= 4);
            let (x, y) = turn.place((4, 1), (6, 3));
            let centre = PlaneTransform::laid(turn, (6, 3)).at((4.5, 1.5)).unwrap();
            assert!(near(centre, (f64::from(x) + 0.5, f64::from(y) + 0.5)), "{turn:?}");
        }
    }

    #[test]
    fn a_plane_that_falls_into_a_line_is_none() {
        assert!(PlaneTransform::affine([1.0, 2.0, 0.0], [2.0, 4.0, 1.0]).is_none());
        assert!(PlaneTransform::affine([f64::NAN, 2.0, 0.0], [2.0, 4.0, 1.0]).is_none());
        assert!(PlaneTransform::new([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 0.0]).is_none());
    }
}
