//! Where a scan ends on the grid of another: a seam by its geometry.

use crate::geometry::{Point, Transform};
use crate::grid::{Mask, Onto, for_each_share};
use crate::notice::Fault;

/// Places along each side of a field, so that a piecewise rule is followed.
const PLACES: u32 = 32;

/// The border of a field of `size` pixels as a polygon on the grid, clockwise from its upper left corner: its corners, and
/// places between them where sides may be bent. Places that the rule does not reach are left out.
pub fn outline(transform: &Transform, (width, height): (u32, u32)) -> Vec<Point> {
    let (w, h) = (f64::from(width), f64::from(height));
    let is_straight = transform.plane().is_some();
    let many = if is_straight { 1 } else { PLACES };
    let corners = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)];
    let mut out = Vec::new();
    for (i, &(x, y)) in corners.iter().enumerate() {
        let (next_x, next_y) = corners[(i + 1) % 4];
        for place in 0..many {
            let t = f64::from(place) / f64::from(many);
            out.extend(transform.at((x + t * (next_x - x), y + t * (next_y - y))));
        }
    }
    out
}

/// Pixels of the grid that a field covers in part: those through which its border runs, and that hold something of it.
///
/// # Errors
/// An alignment seen edge-on; no memory.
pub fn edge(transform: &Transform, field: (u32, u32), grid: (u32, u32)) -> Result<Mask, Fault> {
    let mut covered = crate::grid::Grid::try_filled(grid.0, grid.1, 0.0)?;
    for_each_share(field, &Onto::grid(transform, grid), |_, shares, _| {
        for share in shares {
            covered.data_mut()[share.cell] += share.area;
        }
    })?;
    let mut out = Mask::try_filled(grid.0, grid.1, false)?;
    for (slot, &share) in out.data_mut().iter_mut().zip(covered.data()) {
        *slot = share > 1e-9 && share < 1.0 - 1e-6;
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::PlaneTransform;

    #[test]
    fn the_border_of_a_field_is_its_corners_and_the_pixels_that_it_crosses() {
        let rule = Transform::Plane(PlaneTransform::affine([0.5, 0.0, 2.25], [0.0, 0.5, 1.0]).unwrap());
        let corners = outline(&rule, (6, 4));
        assert_eq!(corners, [(2.25, 1.0), (5.25, 1.0), (5.25, 3.0), (2.25, 3.0)]);
        let mask = edge(&rule, (6, 4), (8, 5)).unwrap();
        let crossed: Vec<usize> = (0..40).filter(|&i| mask.data()[i]).collect();
        assert_eq!(crossed, [8 + 2, 8 + 5, 16 + 2, 16 + 5], "upper and lower border lie between pixels");
    }
}
