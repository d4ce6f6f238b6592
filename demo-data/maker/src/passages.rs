//! Which passage every measured point lies in, by what was painted and before anything was counted.

use crate::paint::{COUNT, Canvas, FINE, HEIGHT, WIDTH};

/// A passage where every cell of a point holds what only this material adds, by wide margins; 0 for all others (edges, thin
/// strokes, mixtures), which are passed over. 1 paper, 2 red earth, 3 copper green, 4 lead, 5 vermilion, 6 repair, 7 ink,
/// 8 bare board.
fn passage(mean: &[f64; COUNT]) -> u8 {
    let [ca, ti, _, fe, cu, zn, pb, hg] = *mean;
    match () {
        () if hg > 80.0 => 5,
        () if pb > 80.0 => 4,
        () if ti > 25.0 && zn > 40.0 && fe < 10.0 => 6,
        () if ti > 12.0 && fe > 60.0 => 2,
        () if cu > 60.0 && fe < 20.0 => 3,
        () if fe > 35.0 && ti < 3.0 && cu < 10.0 => 7,
        () if ca > 40.0 && fe < 8.0 && [ti, cu, zn, pb, hg].iter().all(|&v| v < 5.0) => 1,
        () if ca < 12.0 && fe < 8.0 && [ti, cu, zn, pb, hg].iter().all(|&v| v < 5.0) => 8,
        () => 0,
    }
}

/// A row of digits for each row of points.
pub fn rows(canvas: &Canvas) -> Vec<String> {
    let cells = canvas.signal();
    let of_point = |x: usize, y: usize| {
        let inside = (0..FINE * FINE)
            .map(|i| passage(&cells[(y * FINE + i / FINE) * Canvas::WIDE + x * FINE + i % FINE]));
        let mut all: Vec<u8> = inside.collect();
        all.dedup();
        if let [one] = all.as_slice() { char::from(b'0' + one) } else { '0' }
    };
    (0..HEIGHT).map(|y| (0..WIDTH).map(|x| of_point(x, y)).collect()).collect()
}
