//! Points shifted to their centre and scaled, so that sums over them lose no digits.

use crate::geometry::{PlaneTransform, Point};

/// Shift and scale of a set of points; afterwards their mean is 0 and the root of their mean squared distance from it is that
/// of 2 (R. I. Hartley, IEEE Trans. Pattern Anal. Mach. Intell. 19 (1997) 580, from memory).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Normal {
    centre: Point,
    /// Normalised lengths per length, above 0.
    scale: f64,
}

impl Normal {
    /// Of points that are not all the same.
    pub fn of(points: &[Point]) -> Self {
        let n = points.len() as f64;
        let centre =
            (points.iter().map(|p| p.0).sum::<f64>() / n, points.iter().map(|p| p.1).sum::<f64>() / n);
        let squares: f64 = points
            .iter()
            .map(|p| (p.0 - centre.0) * (p.0 - centre.0) + (p.1 - centre.1) * (p.1 - centre.1))
            .sum();
        let scale = (2.0 * n / squares).sqrt();
        Self { centre, scale }
    }

    /// A place, shifted and scaled.
    pub fn at(&self, point: Point) -> Point {
        ((point.0 - self.centre.0) * self.scale, (point.1 - self.centre.1) * self.scale)
    }

    /// The same as a transform.
    pub fn transform(&self) -> Option<PlaneTransform> {
        let s = self.scale;
        PlaneTransform::affine([s, 0.0, -s * self.centre.0], [0.0, s, -s * self.centre.1])
    }
}

/// A transform between normalised places as one between places.
pub fn between(normalised: &PlaneTransform, from: &Normal, to: &Normal) -> Option<PlaneTransform> {
    from.transform()?.then(normalised)?.then(&to.transform()?.inverse())
}
