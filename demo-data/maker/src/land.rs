//! Coasts and hills.

use crate::chart::FRAME;
use crate::paint::{Canvas, blotch, soft, tremble};
use crate::palette::{COPPER_GREEN, IRON_GALL, RED_EARTH};
use crate::random::{noise, rough};
use crate::shape::{Line, Point};

/// Outline of the mainland, the southern cape and the islands.
pub fn coasts() -> Vec<Line> {
    // The land runs on below the frame, so that neither wash nor pen line follows the frame.
    let (left, top, bottom) = (FRAME[1][0] - 6.0, FRAME[1][1] - 6.0, FRAME[1][3] + 6.0);
    let mainland = [
        (25.0, top),
        (26.6, 4.6),
        (24.6, 7.4),
        (26.2, 9.6),
        (24.9, 11.7),
        (21.4, 12.6),
        (18.3, 15.0),
        (17.7, 17.6),
        (19.9, 19.5),
        (23.2, 20.3),
        (24.8, 22.8),
        (23.6, 25.8),
        (20.4, 27.5),
        (17.0, 28.6),
        (15.2, 31.3),
        (16.6, 34.2),
        (18.9, 36.0),
        (18.0, 39.2),
        (14.4, 40.9),
        (12.3, 43.4),
        (12.6, 46.4),
        (11.0, 50.2),
        (10.6, bottom),
    ];
    let mut points = mainland.to_vec();
    points.extend([(left, bottom), (left, 42.0), (left, 30.0), (left, 18.0), (left, top), (16.0, top)]);
    let cape = [
        (27.4, bottom),
        (29.0, 50.0),
        (30.4, 47.6),
        (33.0, 46.8),
        (35.1, 44.4),
        (38.3, 43.7),
        (41.2, 45.2),
        (42.4, 47.5),
        (44.4, 50.0),
        (46.0, bottom),
        (37.0, bottom),
    ];
    let gull = [(29.4, 33.0), (31.3, 31.4), (34.1, 31.9), (35.0, 33.6), (33.2, 35.0), (30.7, 35.1)];
    let skerry = [(26.0, 38.2), (27.3, 37.5), (28.2, 38.5), (27.0, 39.4)];
    vec![
        Line::curved(&points, true),
        Line::curved(&cape, true),
        Line::curved(&gull, true),
        Line::curved(&skerry, true),
    ]
}

/// Green wash along the coasts, hills of red earth, the coast line in ink.
pub fn land(canvas: &mut Canvas) {
    let coasts = coasts();
    for (index, coast) in coasts.iter().enumerate() {
        let seed = 100 + index as u64;
        canvas.lay(&COPPER_GREEN, FRAME[1], |p| {
            let inside = -coast.depth(tremble(p, seed));
            // The wash is wettest at the shore and fades out inland, where the brush was drawn away.
            let band = 2.3 + 0.9 * rough(seed + 3, p.0 / 4.0, p.1 / 4.0);
            let fade =
                if inside < 0.45 { 1.0 } else { 0.85 * (1.0 - (inside - 0.45) / band).clamp(0.0, 1.0) };
            soft(-inside) * fade * blotch(p, 0.3, seed)
        });
    }
    let hills = [
        (11.5, 12.0, 4.6),
        (17.8, 11.2, 4.2),
        (8.8, 16.6, 4.2),
        (14.0, 17.2, 3.4),
        (9.9, 22.4, 4.6),
        (16.2, 23.8, 4.4),
        (8.4, 28.0, 3.9),
        (13.0, 29.0, 3.0),
        (9.3, 34.6, 4.4),
        (13.8, 37.0, 3.2),
        (8.6, 40.6, 3.4),
        (37.4, 49.2, 4.0),
    ];
    for (index, &(x, y, size)) in hills.iter().enumerate() {
        hill(canvas, (x, y), size, 200 + 5 * index as u64);
    }
    hill(canvas, (32.3, 34.2), 1.9, 290);
    for (index, coast) in coasts.iter().enumerate() {
        let seed = 120 + index as u64;
        canvas.lay(&IRON_GALL, FRAME[1], |p| {
            let within =
                soft(FRAME[1][0] + 0.2 - p.0) * soft(FRAME[1][1] + 0.2 - p.1) * soft(p.1 - FRAME[1][3] + 0.2);
            within * soft(coast.depth(tremble(p, seed - 20)).abs() - 0.09) * blotch(p, 0.35, seed) * 0.62
        });
    }
}

/// One hill in profile, as chart makers drew them: a heap, light on the left, dark on the right, with a ridge in ink.
fn hill(canvas: &mut Canvas, foot: Point, size: f64, seed: u64) {
    let (half, height) = (0.55 * size, 0.78 * size);
    let lean = 0.12 * noise(seed, 0.3, 0.7);
    let ridge: Vec<Point> = (-6..=6)
        .map(|step| {
            let t = f64::from(step) / 6.0;
            let rise = (1.0 - t * t) * (1.0 - 0.22 * t * t) + 0.07 * noise(seed + 1, 3.0 * t, 0.5);
            (foot.0 + half * (t + lean * rise), foot.1 - height * rise.max(0.0))
        })
        .collect();
    let mut outline = ridge.clone();
    outline.push((foot.0, foot.1 + 0.12 * size));
    let outline = Line::straight(&outline, true);
    canvas.lay(&RED_EARTH, outline.bounds(0.5), |p| {
        let across = (p.0 - foot.0) / half;
        let shade = (0.62 + 0.42 * across).clamp(0.3, 1.0);
        soft(outline.depth(tremble(p, seed))) * shade * blotch(p, 0.3, seed)
    });
    let crest = Line::straight(&ridge[3..], false);
    canvas.lay(&IRON_GALL, outline.bounds(0.5), |p| soft(crest.distance(tremble(p, seed)) - 0.07) * 0.6);
}
