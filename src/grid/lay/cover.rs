//! How much of each pixel of a grid a quadrilateral covers: by cutting it along the lines of the grid.

use crate::geometry::Point;

/// A pixel of the grid and the area of it that is covered, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Its place in the grid, row by row.
    pub cell: usize,
    /// Above 0, at most 1 but for rounding.
    pub area: f64,
}

/// Corners that a quadrilateral can have after four cuts, also where it is bent inward.
const MOST_CORNERS: usize = 24;

/// A polygon in memory of its own.
#[derive(Clone, Copy)]
struct Polygon {
    corners: [Point; MOST_CORNERS],
    many: usize,
}

impl Polygon {
    fn of(corners: &[Point]) -> Self {
        let mut out = Self { corners: [(0.0, 0.0); MOST_CORNERS], many: 0 };
        corners.iter().for_each(|&corner| out.push(corner));
        out
    }

    fn push(&mut self, corner: Point) {
        if let Some(slot) = self.corners.get_mut(self.many) {
            *slot = corner;
            self.many += 1;
        }
    }

    fn corners(&self) -> &[Point] {
        &self.corners[..self.many]
    }

    /// Twice the area, with the sign of the sense in which the corners run (the shoelace rule).
    fn doubled_area(&self) -> f64 {
        let Some((&first, rest)) = self.corners().split_first() else { return 0.0 };
        rest.windows(2)
            .map(|pair| {
                let (a, b) =
                    ((pair[0].0 - first.0, pair[0].1 - first.1), (pair[1].0 - first.0, pair[1].1 - first.1));
                a.0 * b.1 - b.0 * a.1
            })
            .sum()
    }

    /// The part on one side of a line across the axes (I. E. Sutherland & G. W. Hodgman, Commun. ACM 17 (1974) 32, from
    /// memory). `depth` is how far a corner lies on the side that is kept, `onto` sets its coordinate to the line's.
    fn cut(&self, depth: impl Fn(Point) -> f64, onto: impl Fn(Point) -> Point) -> Self {
        let mut out = Self::of(&[]);
        let corners = self.corners();
        let Some(&last) = corners.last() else { return out };
        let mut before = (last, depth(last));
        for &corner in corners {
            let here = depth(corner);
            if (here >= 0.0) != (before.1 >= 0.0) {
                let t = before.1 / (before.1 - here);
                let (a, b) = (before.0, corner);
                out.push(onto((a.0 + t * (b.0 - a.0), a.1 + t * (b.1 - a.1))));
            }
            if here >= 0.0 {
                out.push(corner);
            }
            before = (corner, here);
        }
        out
    }

    fn range(&self, of: impl Fn(&Point) -> f64) -> (f64, f64) {
        let all = || self.corners().iter().map(&of);
        (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max))
    }
}

/// Whole steps of a side of `cells` that a range touches.
fn touched((low, high): (f64, f64), cells: u32) -> core::ops::Range<u32> {
    let edge = f64::from(cells);
    // Saturating casts: what lies beside the grid ends at its border.
    low.floor().clamp(0.0, edge) as u32..high.ceil().clamp(0.0, edge) as u32
}

/// Pixels of the grid that lie within the bounds of a quadrilateral: what [`cover`] would look at.
pub(super) fn looked_at(corners: &[Point; 4], (width, height): (u32, u32)) -> u64 {
    let quad = Polygon::of(corners);
    let (x, y) = (touched(quad.range(|p| p.0), width), touched(quad.range(|p| p.1), height));
    x.len() as u64 * y.len() as u64
}

/// Cuts a quadrilateral along the lines of a grid; gives its whole area, also of what lies beside the grid.
/// Corners in order around it, finite.
pub(super) fn cover(corners: &[Point; 4], (width, height): (u32, u32), out: &mut Vec<Share>) -> f64 {
    out.clear();
    let quad = Polygon::of(corners);
    let doubled = quad.doubled_area();
    let sense = if doubled < 0.0 { -0.5 } else { 0.5 };
    for y in touched(quad.range(|p| p.1), height) {
        let (top, bottom) = (f64::from(y), f64::from(y + 1));
        let row = quad.cut(|p| p.1 - top, |p| (p.0, top)).cut(|p| bottom - p.1, |p| (p.0, bottom));
        for x in touched(row.range(|p| p.0), width) {
            let (left, right) = (f64::from(x), f64::from(x + 1));
            let cell = row.cut(|p| p.0 - left, |p| (left, p.1)).cut(|p| right - p.0, |p| (right, p.1));
            let area = sense * cell.doubled_area();
            if area > 0.0 {
                out.push(Share { cell: y as usize * width as usize + x as usize, area });
            }
        }
    }
    sense * doubled
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shares(corners: [Point; 4], size: (u32, u32)) -> (Vec<Share>, f64) {
        let mut out = Vec::new();
        let whole = cover(&corners, size, &mut out);
        (out, whole)
    }

    #[test]
    fn a_square_on_its_corner_covers_what_a_ruler_says() {
        // A rhombus with half diagonals of 1 about (2, 2): half of each of four pixels.
        let (out, whole) = shares([(2.0, 1.0), (3.0, 2.0), (2.0, 3.0), (1.0, 2.0)], (4, 4));
        assert_eq!(whole, 2.0);
        assert_eq!(
            out.iter().map(|s| (s.cell, s.area)).collect::<Vec<_>>(),
            [(5, 0.5), (6, 0.5), (9, 0.5), (10, 0.5)]
        );
    }

    #[test]
    fn what_lies_beside_the_grid_is_in_the_whole_alone() {
        let (out, whole) = shares([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)], (3, 3));
        assert_eq!((out.as_slice(), whole), ([Share { cell: 0, area: 0.25 }].as_slice(), 1.0));
        let (out, whole) = shares([(8.0, 8.0), (9.0, 8.0), (9.0, 9.0), (8.0, 9.0)], (3, 3));
        assert!(out.is_empty() && whole == 1.0);
    }

    #[test]
    fn the_sense_of_the_corners_does_not_matter_and_parts_make_the_whole() {
        let quad = [(0.3, 0.4), (3.7, 0.9), (4.1, 3.8), (0.9, 2.6)];
        let mut mirrored = quad;
        mirrored.reverse();
        for corners in [quad, mirrored] {
            let (out, whole) = shares(corners, (5, 4));
            let sum: f64 = out.iter().map(|s| s.area).sum();
            assert!(whole > 0.0 && (sum - whole).abs() < 1e-12, "{sum} of {whole}");
        }
    }
}
