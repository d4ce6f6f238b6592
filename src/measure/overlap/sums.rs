//! Whether one ratio holds for all blocks: their scatter, what it follows, and a line with an offset.

use super::block::Block;
use super::fit::{Point, Slope, StraightLine, causes, through};
use crate::numerics::special::gamma_p_q;

pub(super) struct Scattered {
    pub scatter: Option<f64>,
    pub p: Option<f64>,
    pub spread: f64,
    pub across: Slope,
    pub down: Slope,
    pub with_brightness: Slope,
    pub line: Option<StraightLine>,
}

/// One block for each pixel: first, second, and their variances; of the second with the alignment's.
fn rates(b: &Block, cells: f64, axis: f64) -> Point {
    let moved = |one: usize, other: usize| {
        let rate = |way: usize| b.moved[way].0 / b.moved[way].1;
        0.5 * (rate(one) - rate(other)) * axis
    };
    Point {
        x: b.first / cells,
        y: b.second / b.pixels,
        variance_x: b.variance_of_first / (cells * cells),
        variance_y: b.variance_of_second / (b.pixels * b.pixels) + moved(0, 1).powi(2) + moved(2, 3).powi(2),
    }
}

/// Standard errors of a correlation of nothing beyond which blocks are brighter and darker together.
const TOGETHER: f64 = 4.0;

/// True where both scans tell brighter blocks from darker ones; else a line through the blocks is one through noise.
fn brighten_together(points: &[Point]) -> bool {
    let n = points.len() as f64;
    let mean = |of: fn(&Point) -> f64| points.iter().map(of).sum::<f64>() / n;
    let (x, y) = (mean(|p| p.x), mean(|p| p.y));
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for p in points {
        let (u, v) = (p.x - x, p.y - y);
        (xx, xy, yy) = (xx + u * u, xy + u * v, yy + v * v);
    }
    xx > 0.0 && yy > 0.0 && xy > 0.0 && xy * xy / (xx * yy) * n > TOGETHER * TOGETHER
}

/// `axis`: error of the alignment along each axis. Where noise is not known every block weighs as its brightness.
pub(super) fn scattered(used: &[Block], cells: f64, ratio: f64, axis: f64, is_known: bool) -> Scattered {
    let mut points: Vec<Point> = used.iter().map(|b| rates(b, cells, axis)).collect();
    let brightest = points.iter().fold(0.0f64, |most, p| most.max(p.x.max(p.y / ratio)));
    // A block without counts is not known without error.
    let least_x = 1.0 / (cells * cells);
    for (p, b) in points.iter_mut().zip(used) {
        if is_known {
            p.variance_x = p.variance_x.max(least_x);
            p.variance_y = p.variance_y.max(1.0 / (b.pixels * b.pixels));
        } else {
            let even = (p.x.abs() + p.y.abs() / ratio).max(1e-3 * brightest);
            (p.variance_x, p.variance_y) = (even, ratio * ratio * even);
        }
    }
    let n = points.len() as f64;
    let off = |p: &Point| (p.y - ratio * p.x, p.variance_y + ratio * ratio * p.variance_x);
    let chi: f64 = points.iter().map(|p| off(p).0.powi(2) / off(p).1).sum();
    let (mut beyond, mut squares) = (0.0, 0.0);
    for p in &points {
        let (d, v) = off(p);
        beyond += d * d - if is_known { v } else { 0.0 };
        squares += (ratio * p.x).powi(2);
    }
    let spread = if squares > 0.0 { (beyond.max(0.0) / squares).sqrt() } else { 0.0 };
    let range = |of: fn(&Block) -> f64| {
        let all = used.iter().map(of);
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
    };
    let place =
        |v: f64, (low, high): (f64, f64)| if high > low { (v - low) / (high - low) - 0.5 } else { 0.0 };
    let (xs, ys) = (range(|b| b.middle.0), range(|b| b.middle.1));
    let rows: Vec<([f64; 3], f64, f64)> = used
        .iter()
        .zip(&points)
        .filter(|(_, p)| p.x > 0.0 && p.x + p.y / ratio > 0.02 * brightest)
        .map(|(b, p)| {
            // Each side weighs by its own variance: the mean's noise is then none of the ratio's.
            let (of_x, of_y) = (1.0 / p.variance_x, ratio * ratio / p.variance_y);
            let bright = (p.x * of_x + p.y / ratio * of_y) / (of_x + of_y) / brightest;
            let (d, v) = off(p);
            let expected = ratio * bright * brightest;
            ([place(b.middle.0, xs), place(b.middle.1, ys), bright], d / expected, v / (expected * expected))
        })
        .collect();
    let [across, down, with_brightness] = if rows.len() > 8 { causes(&rows) } else { [Slope::UNKNOWN; 3] };
    Scattered {
        scatter: is_known.then(|| chi / (n - 1.0)),
        p: is_known.then(|| gamma_p_q(0.5 * (n - 1.0), 0.5 * chi).1),
        spread,
        across,
        down,
        with_brightness,
        line: through(&points).filter(|line| line.slope.value > 0.0 && brighten_together(&points)),
    }
}
