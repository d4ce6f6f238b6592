//! The *Tern Sound chart*: an invented hand-coloured paper sea chart on an oak board.

use crate::figures::{buoy, compass, frame, sea, ship, sun, writing};
use crate::land::land;
use crate::paint::{Canvas, blotch, soft, tremble};
use crate::palette::{EDGE, IRON, OAK, PAPER, REPAIR, RUST, SHADE, STAIN};
use crate::random::{noise, rough};
use crate::shape::{Line, Point};

/// The scanned field: left, top, right, bottom.
pub const FIELD: [f64; 4] = [0.0, 0.0, 75.0, 55.0];
/// Outer and inner edge of the coloured frame: left, top, right, bottom.
pub const FRAME: [[f64; 4]; 2] = [[3.9, 3.8, 71.3, 51.3], [5.5, 5.4, 69.7, 49.7]];

/// The painted chart.
pub fn paint() -> Canvas {
    let mut canvas = Canvas::new();
    sheet(&mut canvas);
    sea(&mut canvas);
    land(&mut canvas);
    frame(&mut canvas);
    compass(&mut canvas);
    sun(&mut canvas);
    buoy(&mut canvas);
    ship(&mut canvas);
    writing(&mut canvas);
    later(&mut canvas);
    canvas
}

/// Oak board, paper with a torn corner and a tide line.
fn sheet(canvas: &mut Canvas) {
    let grain = |p: Point| rough(11, p.0 / 26.0 + 0.6 * noise(14, p.0 / 9.0, p.1 / 5.0), p.1 / 0.9);
    canvas.lay(&OAK, FIELD, |p| 1.0 + 0.45 * grain(p));
    canvas.lay(&SHADE, FIELD, |p| (0.4 + 0.9 * grain(p)).clamp(0.0, 1.0));
    let outline = Line::curved(
        &[
            (2.0, 2.3),
            (14.0, 1.9),
            (30.0, 2.2),
            (48.0, 1.8),
            (63.0, 2.1),
            (73.1, 1.9),
            (73.4, 15.0),
            (73.0, 31.0),
            (73.3, 46.0),
            (73.0, 50.2),
            (71.9, 51.9),
            (70.4, 53.3),
            (58.0, 53.1),
            (40.0, 53.4),
            (22.0, 53.0),
            (2.2, 53.3),
            (1.8, 38.0),
            (2.1, 20.0),
        ],
        true,
    );
    canvas.fill(&PAPER, &outline, 0.16, 21);
    canvas.lay(&EDGE, FIELD, |p| {
        let [left, top, right, bottom] = FRAME[1];
        if p.0 > left && p.0 < right && p.1 > top && p.1 < bottom {
            return 0.0;
        }
        let inside = -outline.depth(tremble(p, 21));
        if inside < 0.0 { 0.0 } else { (0.9 - inside / 3.2).max(0.0) * blotch(p, 0.6, 24) }
    });
    let tide = Line::curved(&[(28.0, 53.0), (30.0, 43.0), (38.0, 39.0), (44.0, 43.5), (47.0, 53.0)], false);
    canvas.lay(&STAIN, [20.0, 30.0, 60.0, 53.0], |p| {
        let across = tide.distance(tremble(tremble(p, 31), 32));
        soft(outline.depth(p)) * (1.0 - across / 0.8).max(0.0) * 0.8
    });
}

/// What came later: a patch over a tear with titanium white and barium sulfate, iron tacks with rust.
fn later(canvas: &mut Canvas) {
    let patch = Line::curved(
        &[
            (59.2, 40.0),
            (62.6, 39.2),
            (66.4, 39.5),
            (68.3, 40.6),
            (68.7, 43.3),
            (68.2, 45.9),
            (66.4, 47.4),
            (62.4, 47.0),
            (59.6, 47.3),
            (58.4, 45.6),
            (58.7, 42.3),
        ],
        true,
    );
    canvas.lay(&REPAIR, patch.bounds(1.0), |p| {
        // Brush strokes run a little downhill.
        let stroke = noise(700, (p.0 + 0.3 * p.1) / 5.0, (p.1 - 0.25 * p.0) / 0.7);
        soft(patch.depth(tremble(p, 701))) * (0.92 + 0.16 * stroke) * blotch(p, 0.15, 702)
    });
    for (index, &place) in [(2.95, 3.0), (72.2, 2.95), (2.9, 52.3)].iter().enumerate() {
        canvas.lay(&RUST, [place.0 - 1.5, place.1 - 1.5, place.0 + 1.5, place.1 + 1.5], |p| {
            let away = length(p.0 - place.0, p.1 - place.1);
            (1.0 - away / 1.5).max(0.0) * blotch(p, 0.5, 710)
        });
        canvas.fill(&IRON, &Line::circle(place, 0.55), 0.1, 720 + index as u64);
    }
}

/// Length of a vector, by `sqrt` alone: the standard library's `hypot` may differ between machines.
fn length(x: f64, y: f64) -> f64 {
    (x * x + y * y).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::palette::{INDIGO, RED_EARTH, RED_LEAD};

    #[test]
    fn the_patch_lies_over_the_buoy_and_the_hills_over_paper() {
        let canvas = paint();
        let at = |x: f64, y: f64| {
            let cell = |place: f64| (place / Canvas::CELL) as usize;
            let layers = &canvas.layers()[cell(y) * Canvas::WIDE + cell(x)];
            layers.iter().map(|layer| layer.paint).collect::<Vec<_>>()
        };
        let (patch, hill) = (at(59.5, 44.0), at(12.3, 11.0));
        let order = [OAK.index, SHADE.index, PAPER.index, INDIGO.index, RED_LEAD.index, REPAIR.index];
        assert!(
            order.iter().filter(|&&paint| paint != SHADE.index).all(|paint| patch.contains(paint)),
            "{patch:?}"
        );
        assert!(hill.contains(&RED_EARTH.index) && !hill.contains(&INDIGO.index), "{hill:?}");
    }
}
