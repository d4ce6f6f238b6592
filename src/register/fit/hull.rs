//! The convex outline of points, and how far outside it a place lies.

use crate::geometry::Point;

/// Corners of the outline in one sense of turning (A. M. Andrew, Inf. Process. Lett. 9 (1979) 216, from memory).
pub fn outline(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let turn = |a: Point, b: Point, c: Point| (b.0 - a.0) * (c.1 - a.1) - (b.1 - a.1) * (c.0 - a.0);
    let half = |points: &mut dyn Iterator<Item = &Point>| {
        let mut chain: Vec<Point> = Vec::new();
        for &point in points {
            while let [.., a, b] = chain.as_slice()
                && turn(*a, *b, point) <= 0.0
            {
                chain.pop();
            }
            chain.push(point);
        }
        chain.pop();
        chain
    };
    let mut out = half(&mut sorted.iter());
    out.extend(half(&mut sorted.iter().rev()));
    out
}

/// Distance of a place from a convex outline; 0 inside.
pub fn distance_outside(outline: &[Point], place: Point) -> f64 {
    let mut nearest = f64::INFINITY;
    let mut is_inside = true;
    for (i, &a) in outline.iter().enumerate() {
        let b = outline[(i + 1) % outline.len()];
        let (along, to) = ((b.0 - a.0, b.1 - a.1), (place.0 - a.0, place.1 - a.1));
        is_inside &= along.0 * to.1 - along.1 * to.0 >= 0.0;
        let length = along.0 * along.0 + along.1 * along.1;
        let share =
            if length > 0.0 { ((along.0 * to.0 + along.1 * to.1) / length).clamp(0.0, 1.0) } else { 0.0 };
        let (x, y) = (to.0 - share * along.0, to.1 - share * along.1);
        nearest = nearest.min((x * x + y * y).sqrt());
    }
    if is_inside { 0.0 } else { nearest }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_square_with_points_inside_and_on_its_edge() {
        let points = [(0.0, 0.0), (5.0, 5.0), (10.0, 0.0), (0.0, 10.0), (5.0, 0.0), (10.0, 10.0), (3.0, 4.0)];
        let square = outline(&points);
        assert_eq!(square, [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]);
        assert_eq!(distance_outside(&square, (5.0, 5.0)), 0.0);
        assert_eq!(distance_outside(&square, (-3.0, 5.0)), 3.0);
        assert_eq!(distance_outside(&square, (13.0, 14.0)), 5.0);
    }
}
