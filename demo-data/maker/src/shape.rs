//! Lines and outlines in millimetres, x to the right and y downward.

/// A point in millimetres.
pub type Point = (f64, f64);

/// A chain of straight pieces, open or closed.
pub struct Line {
    points: Vec<Point>,
    /// Runs of pieces, each with its box, so that far runs are passed over.
    runs: Vec<Run>,
}

/// The pieces between points `first` and `last`, and the smallest box around them: left, top, right, bottom.
struct Run {
    first: usize,
    last: usize,
    box_mm: [f64; 4],
}

impl Line {
    /// The chain through `points` as they are.
    pub fn straight(points: &[Point], closed: bool) -> Self {
        let mut points = points.to_vec();
        if let (true, Some(first)) = (closed, points.first().copied()) {
            points.push(first);
        }
        let mut runs = Vec::new();
        let mut first = 0;
        while first + 1 < points.len() {
            let last = (first + 8).min(points.len() - 1);
            runs.push(Run { first, last, box_mm: around(&points[first..=last]) });
            first = last;
        }
        Self { points, runs }
    }

    /// A smooth curve through `points` (Catmull-Rom), in pieces short enough to look round.
    pub fn curved(points: &[Point], closed: bool) -> Self {
        let count = points.len();
        if count < 3 {
            return Self::straight(points, closed);
        }
        let at = |index: usize, back: usize, ahead: usize| {
            if closed {
                points[(index + count + ahead - back) % count]
            } else {
                points[(index + ahead).saturating_sub(back).min(count - 1)]
            }
        };
        let spans = if closed { count } else { count - 1 };
        let mut out = Vec::with_capacity(spans * 8 + 1);
        for index in 0..spans {
            let (a, b, c, d) = (at(index, 1, 0), at(index, 0, 0), at(index, 0, 1), at(index, 0, 2));
            for step in 0..8_u8 {
                let t = f64::from(step) / 8.0;
                let blend = |a: f64, b: f64, c: f64, d: f64| {
                    0.5 * (2.0 * b
                        + (c - a) * t
                        + (2.0 * a - 5.0 * b + 4.0 * c - d) * t * t
                        + (3.0 * b - a - 3.0 * c + d) * t * t * t)
                };
                out.push((blend(a.0, b.0, c.0, d.0), blend(a.1, b.1, c.1, d.1)));
            }
        }
        if !closed {
            out.push(points[count - 1]);
        }
        Self::straight(&out, closed)
    }

    /// A closed circle in short pieces.
    pub fn circle(centre: Point, radius: f64) -> Self {
        let points: Vec<Point> = (0..64_u8)
            .map(|step| {
                let angle = f64::from(step) / 64.0 * core::f64::consts::TAU;
                (centre.0 + radius * libm::cos(angle), centre.1 + radius * libm::sin(angle))
            })
            .collect();
        Self::straight(&points, true)
    }

    /// Distance from `p` to the nearest piece of the line, in millimetres.
    pub fn distance(&self, p: Point) -> f64 {
        let mut best = f64::INFINITY;
        for run in &self.runs {
            let [left, top, right, bottom] = run.box_mm;
            let (dx, dy) = ((left - p.0).max(p.0 - right).max(0.0), (top - p.1).max(p.1 - bottom).max(0.0));
            if dx * dx + dy * dy >= best {
                continue;
            }
            for pair in self.points[run.first..=run.last].windows(2) {
                best = best.min(squared_distance(p, pair[0], pair[1]));
            }
        }
        best.sqrt()
    }

    /// Distance to the outline, negative inside; an open line has no inside.
    pub fn depth(&self, p: Point) -> f64 {
        let mut inside = false;
        for run in &self.runs {
            if p.1 < run.box_mm[1] || p.1 > run.box_mm[3] {
                continue;
            }
            for pair in self.points[run.first..=run.last].windows(2) {
                let (a, b) = (pair[0], pair[1]);
                if (a.1 > p.1) != (b.1 > p.1) && p.0 < (b.0 - a.0) * (p.1 - a.1) / (b.1 - a.1) + a.0 {
                    inside = !inside;
                }
            }
        }
        if inside { -self.distance(p) } else { self.distance(p) }
    }

    /// The smallest upright box around the line, widened by `margin`: left, top, right, bottom.
    pub fn bounds(&self, margin: f64) -> [f64; 4] {
        let [left, top, right, bottom] = around(&self.points);
        [left - margin, top - margin, right + margin, bottom + margin]
    }
}

/// The smallest upright box around the points: left, top, right, bottom.
fn around(points: &[Point]) -> [f64; 4] {
    let mut bounds = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    for p in points {
        bounds = [bounds[0].min(p.0), bounds[1].min(p.1), bounds[2].max(p.0), bounds[3].max(p.1)];
    }
    bounds
}

/// Square of the distance from `p` to the piece from `a` to `b`.
fn squared_distance(p: Point, a: Point, b: Point) -> f64 {
    let (along, across) = ((b.0 - a.0, b.1 - a.1), (p.0 - a.0, p.1 - a.1));
    let length = along.0 * along.0 + along.1 * along.1;
    let t =
        if length > 0.0 { ((across.0 * along.0 + across.1 * along.1) / length).clamp(0.0, 1.0) } else { 0.0 };
    let (dx, dy) = (across.0 - t * along.0, across.1 - t * along.1);
    dx * dx + dy * dy
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn depth_is_negative_inside_and_positive_outside() {
        let square = Line::straight(&[(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (0.0, 4.0)], true);
        assert!((square.depth((2.0, 1.0)) + 1.0).abs() < 1e-12);
        assert!((square.depth((5.0, 2.0)) - 1.0).abs() < 1e-12);
        assert!((square.depth((-3.0, -4.0)) - 5.0).abs() < 1e-12);
    }

    #[test]
    fn a_curve_passes_through_its_points() {
        let points = [(0.0, 0.0), (3.0, 1.0), (5.0, -2.0), (7.0, 0.0)];
        let curve = Line::curved(&points, false);
        for p in points {
            assert!(curve.distance(p) < 1e-12);
        }
    }

    #[test]
    fn passing_over_far_runs_changes_no_distance() {
        let circle = Line::circle((3.0, 4.0), 5.0);
        for step in 0..50_u8 {
            let p = (f64::from(step) * 0.37 - 4.0, f64::from(step) * 0.29 - 2.0);
            let plain = circle.points.windows(2).map(|pair| squared_distance(p, pair[0], pair[1]));
            assert_eq!(circle.distance(p), plain.fold(f64::INFINITY, f64::min).sqrt());
        }
    }
}
