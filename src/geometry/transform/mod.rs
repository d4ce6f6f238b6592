//! From places of one picture to places of another: planes seen flat or aslant, supports that warp.

mod finder;
mod mesh;
mod piecewise;
mod plane;

pub use piecewise::Piecewise;
pub use plane::PlaneTransform;

/// A place: x to the right, y downward, in pixels, with pixel centres at half-integers.
pub type Point = (f64, f64);

/// From places of what is aligned (a photo, a second scan) to places of the grid.
#[derive(Debug, Clone, PartialEq)]
pub enum Transform {
    /// One rule for the whole plane.
    Plane(PlaneTransform),
    /// A rule for each triangle between points.
    Piecewise(Piecewise),
}

impl Transform {
    /// Where a place of what is aligned lies on the grid; `None` where the rule gives no place.
    pub fn at(&self, from: Point) -> Option<Point> {
        match self {
            Self::Plane(plane) => plane.at(from),
            Self::Piecewise(triangles) => triangles.at(from),
        }
    }

    /// Which place of what is aligned lies at this place of the grid.
    pub fn back(&self, to: Point) -> Option<Point> {
        match self {
            Self::Plane(plane) => plane.back(to),
            Self::Piecewise(triangles) => triangles.back(to),
        }
    }

    /// How the place on the grid changes with x and with y: `[dx'/dx, dx'/dy, dy'/dx, dy'/dy]`.
    pub fn slopes(&self, from: Point) -> Option<[f64; 4]> {
        match self {
            Self::Plane(plane) => plane.slopes(from),
            Self::Piecewise(triangles) => triangles.slopes(from),
        }
    }

    /// The rule as nine numbers, where one holds for the whole plane.
    pub fn plane(&self) -> Option<&PlaneTransform> {
        match self {
            Self::Plane(plane) => Some(plane),
            Self::Piecewise(_) => None,
        }
    }
}
