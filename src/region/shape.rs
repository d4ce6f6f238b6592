//! Drawn shapes as masks. A pixel is inside where its centre is; what lies beside the grid is cut.

use crate::geometry::{Orientation, PlaneTransform};
use crate::grid::Mask;
use crate::notice::OutOfMemory;

/// A place on the grid in pixels: (0, 0) is the upper left corner of the upper left pixel, whose centre is (0.5, 0.5).
pub type Place = (f64, f64);

/// A rectangle in pixels of the grid, not necessarily whole ones.
#[derive(Debug, Clone, Copy, PartialEq)]
#[allow(missing_docs)] // the names say it all
pub struct Rectangle {
    pub x: f64,
    pub y: f64,
    pub width: f64,
    pub height: f64,
}

/// The first pixel of a row or column of `length` whose centre is at `place` or beyond; `length` where there is none.
/// NaN counts as before the first.
fn first_from(place: f64, length: u32) -> usize {
    // A float becomes the nearest number that the type holds, and NaN becomes 0.
    ((place - 0.5).ceil().max(0.0) as u64).min(u64::from(length)) as usize
}

/// Pixels with their centre in a rectangle, whose left and upper edge belong to it and whose right and lower edge don't: two
/// rectangles side by side share no pixel. A width or height that is not above 0 gives no pixel.
///
/// # Errors
/// No memory.
pub fn rectangle((width, height): (u32, u32), of: Rectangle) -> Result<Mask, OutOfMemory> {
    let mut mask = Mask::try_filled(width, height, false)?;
    let columns = first_from(of.x, width)..first_from(of.x + of.width, width);
    let rows = first_from(of.y, height)..first_from(of.y + of.height, height);
    if columns.is_empty() || rows.is_empty() {
        return Ok(mask);
    }
    for row in mask.data_mut().chunks_exact_mut(width as usize).take(rows.end).skip(rows.start) {
        row[columns.clone()].fill(true);
    }
    Ok(mask)
}

/// Pixels with their centre in a polygon by the even-odd rule: inside where a line from the centre to the far left crosses
/// its border an odd number of times. The polygon closes itself, may wind either way and may cross itself; what it goes round
/// twice is outside. A centre exactly on the border belongs to one side only, so that polygons with a common border share no
/// pixel and leave none out. Fewer than three corners, or corners that are not finite, enclose nothing.
///
/// Source of the rule: crossing number, as in M. Shimrat, Algorithm 112, Communications of the ACM 5 (1962) 434.
///
/// # Errors
/// No memory.
pub fn polygon((width, height): (u32, u32), corners: &[Place]) -> Result<Mask, OutOfMemory> {
    let mut mask = Mask::try_filled(width, height, false)?;
    let finite = corners.iter().all(|(x, y)| x.is_finite() && y.is_finite());
    if corners.len() < 3 || !finite || mask.is_empty() {
        return Ok(mask);
    }
    let columns = width as usize;
    let data = mask.data_mut();
    let next = corners.iter().cycle().skip(1);
    for (&one, &other) in corners.iter().zip(next) {
        // From the upper to the lower end, so that an edge is the same whichever way it is walked.
        let ((ax, ay), (bx, by)) = if one.1 <= other.1 { (one, other) } else { (other, one) };
        for row in first_from(ay, height)..first_from(by, height) {
            let centre = row as f64 + 0.5;
            // Both ends weighted, so that no difference of far corners can overflow.
            let share = (centre / 2.0 - ay / 2.0) / (by / 2.0 - ay / 2.0);
            let crossing = ax * (1.0 - share) + bx * share;
            let column = first_from(crossing, width);
            if column < columns {
                data[row * columns + column] ^= true;
            }
        }
    }
    // From here on every mark says: the inside begins or ends.
    for row in data.chunks_exact_mut(columns) {
        let mut inside = false;
        for pixel in row {
            inside ^= *pixel;
            *pixel = inside;
        }
    }
    Ok(mask)
}

/// Where a place on a grid of `size` (before) goes when it is laid so.
pub fn turned_place(place: Place, turn: Orientation, size: (u32, u32)) -> Place {
    PlaneTransform::laid(turn, size).at(place).unwrap_or(place)
}

/// The same for a rectangle.
pub fn turned_rectangle(of: Rectangle, turn: Orientation, size: (u32, u32)) -> Rectangle {
    let (ax, ay) = turned_place((of.x, of.y), turn, size);
    let (bx, by) = turned_place((of.x + of.width, of.y + of.height), turn, size);
    let (width, height) = if turn.swaps_sides() { (of.height, of.width) } else { (of.width, of.height) };
    Rectangle { x: ax.min(bx), y: ay.min(by), width, height }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::region::pixels;

    fn inside(mask: &Mask) -> Vec<(u32, u32)> {
        let width = mask.width();
        (0..width * mask.height())
            .map(|i| (i % width, i / width))
            .filter(|&(x, y)| mask.get(x, y) == Some(&true))
            .collect()
    }

    #[test]
    fn a_rectangle_takes_the_pixels_whose_centre_it_holds_and_is_cut_at_the_border() {
        let of = |x, y, width, height| inside(&rectangle((4, 3), Rectangle { x, y, width, height }).unwrap());
        assert_eq!(of(1.0, 1.0, 2.0, 1.0), [(1, 1), (2, 1)]);
        assert_eq!(of(0.5, 0.0, 1.0, 1.0), [(0, 0)], "the left edge belongs to it, the right one does not");
        assert_eq!(of(-9.0, 1.6, 9.6, 9.0), [(0, 2)]);
        for empty in [
            (1.0, 1.0, -1.0, 1.0),
            (0.6, 0.0, 0.8, 1.0),
            (9.0, 0.0, 1.0, 1.0),
            (f64::NAN, 0.0, f64::NAN, 9.0),
        ] {
            assert_eq!(of(empty.0, empty.1, empty.2, empty.3), [], "{empty:?}");
        }
        assert_eq!(
            pixels(
                &rectangle(
                    (4, 3),
                    Rectangle { x: -1e300, y: -1e300, width: f64::INFINITY, height: f64::INFINITY }
                )
                .unwrap()
            ),
            12
        );
        assert!(rectangle((0, 3), Rectangle { x: 0.0, y: 0.0, width: 1.0, height: 1.0 }).unwrap().is_empty());
    }

    #[test]
    fn polygons_with_a_common_border_share_no_pixel_and_leave_none_out() {
        let (size, middle) = ((9, 7), (4.5, 3.5));
        // The middle and the border run through centres of pixels.
        let rim =
            [(0.0, 0.0), (4.5, 0.0), (9.0, 0.0), (9.0, 3.5), (9.0, 7.0), (4.5, 7.0), (0.0, 7.0), (0.0, 3.5)];
        let mut times = [0u32; 63];
        for (i, &corner) in rim.iter().enumerate() {
            let part = polygon(size, &[middle, corner, rim[(i + 1) % 8]]).unwrap();
            for (times, &inside) in times.iter_mut().zip(part.data()) {
                *times += u32::from(inside);
            }
        }
        assert_eq!(times, [1; 63]);
    }

    #[test]
    fn either_winding_and_any_start_give_the_same_and_what_is_enclosed_twice_is_outside() {
        let star = [(5.0, 0.2), (8.1, 9.7), (0.3, 3.6), (9.7, 3.7), (1.8, 9.8)];
        let mask = polygon((10, 10), &star).unwrap();
        assert!(!mask.get(5, 5).unwrap() && *mask.get(4, 2).unwrap());
        let backward: Vec<Place> = star.into_iter().rev().collect();
        assert_eq!(polygon((10, 10), &backward).unwrap(), mask);
        let later: Vec<Place> = star.into_iter().cycle().skip(2).take(5).collect();
        assert_eq!(polygon((10, 10), &later).unwrap(), mask);
    }

    #[test]
    fn what_encloses_nothing_gives_no_pixel() {
        let of = |corners: &[Place]| pixels(&polygon((6, 5), corners).unwrap());
        assert_eq!(of(&[]), 0);
        assert_eq!(of(&[(0.0, 0.0), (6.0, 5.0)]), 0);
        assert_eq!(of(&[(0.0, 0.0), (6.0, f64::NAN), (0.0, 5.0)]), 0);
        assert_eq!(of(&[(0.0, 0.0), (f64::INFINITY, 0.0), (0.0, 5.0)]), 0);
        assert_eq!(of(&[(1.0, 1.0), (3.0, 3.0), (5.0, 5.0)]), 0, "no area");
        assert_eq!(
            of(&[(-1e308, -1e308), (1e308, -1e308), (1e308, 1e308), (-1e308, 1e308)]),
            30,
            "all of it"
        );
        assert!(polygon((0, 5), &[(0.0, 0.0), (1.0, 0.0), (0.0, 1.0)]).unwrap().is_empty());
    }

    #[test]
    fn shapes_turn_as_masks_do() {
        let size = (7, 5);
        let corners = [(0.7, 0.3), (6.4, 1.1), (3.2, 4.8)];
        let of = Rectangle { x: 1.2, y: 0.1, width: 3.1, height: 2.2 };
        for i in 0..8 {
            let turn = Orientation::new(i % 4, i >= 4);
            let now = turn.size(size);
            let turned: Vec<Place> = corners.iter().map(|&corner| turned_place(corner, turn, size)).collect();
            let mask = polygon(size, &corners).unwrap().oriented(turn).unwrap();
            assert_eq!(polygon(now, &turned).unwrap(), mask, "{turn:?}");
            let mask = rectangle(size, of).unwrap().oriented(turn).unwrap();
            assert_eq!(rectangle(now, turned_rectangle(of, turn, size)).unwrap(), mask, "{turn:?}");
        }
    }
}
