//! Frame, compass, sun, buoy, ship and writing.

use core::f64::consts::TAU;

use crate::chart::{FIELD, FRAME};
use crate::land::coasts;
use crate::letters;
use crate::paint::{Canvas, blotch, soft, tremble};
use crate::palette::{
    BOLE, BONE_BLACK, GOLD, INDIGO, IRON_GALL, LEAD_WHITE, RED_LEAD, SMALT, VARNISH, VERMILION, WORN, YELLOW,
};
use crate::random::rough;
use crate::shape::{Line, Point};

/// Middle of the compass star.
pub const COMPASS: Point = (49.5, 29.0);
/// Middle of the gilded sun.
pub const SUN: Point = (66.0, 17.5);
/// Middle of the buoy.
pub const BUOY: Point = (58.6, 44.0);

/// Frame in red lead and lead white by turns, with a pen line on both sides.
pub fn frame(canvas: &mut Canvas) {
    let [outer, inner] = FRAME;
    let depth =
        |p: Point, edge: &[f64; 4]| (edge[0] - p.0).max(p.0 - edge[2]).max(edge[1] - p.1).max(p.1 - edge[3]);
    let band = |p: Point| depth(p, &outer).max(-depth(p, &inner));
    // Degrees marked along the frame: which of the two colours a place has is counted from the upper left corner.
    let red = |p: Point| {
        let beside = p.0 < inner[0] || p.0 > inner[2];
        let turn = if beside { (p.1 - inner[1]) / 4.43 } else { (p.0 - inner[0]) / 4.585 };
        libm::floor(turn).rem_euclid(2.0) < 0.5
    };
    canvas.lay(&LEAD_WHITE, FIELD, |p| {
        if band(p) > 0.5 {
            return 0.0;
        }
        let q = tremble(p, 41);
        if red(q) { 0.0 } else { soft(band(q)) * blotch(p, 0.25, 42) }
    });
    canvas.lay(&RED_LEAD, FIELD, |p| {
        if band(p) > 0.5 {
            return 0.0;
        }
        let q = tremble(p, 41);
        if red(q) { soft(band(q)) * blotch(p, 0.28, 43) } else { 0.0 }
    });
    for (edge, width) in [(outer, 0.16), (inner, 0.12)] {
        canvas.lay(&IRON_GALL, FIELD, |p| {
            if band(p) > 0.5 {
                return 0.0;
            }
            soft(depth(tremble(p, 44), &edge).abs() - width / 2.0) * 0.4 * blotch(p, 0.4, 45)
        });
    }
}

/// The sea: a wash of indigo up to the coasts, left out in the scroll and under the patch of the buoy.
pub fn sea(canvas: &mut Canvas) {
    let coasts = coasts();
    let scroll = scroll();
    canvas.lay(&INDIGO, FRAME[1], |p| {
        if scroll.depth(p) < 0.0 {
            return 0.0;
        }
        let away = coasts.iter().map(|coast| coast.depth(tremble(p, 90))).fold(f64::INFINITY, f64::min);
        let edge = soft(-away + 0.05) * soft(FRAME[1][0] - p.0) * soft(p.1 - FRAME[1][3]);
        // Deeper along the coasts, streaked along the wind.
        let depth = 0.86 + 0.5 * libm::exp(-away.max(0.0) / 1.6) + 0.1 * rough(92, p.0 / 6.0, p.1 / 1.1);
        edge * depth * blotch(p, 0.16, 91)
    });
}

/// A gilded sun: leaf on bole, burnished, with a ring in ink.
pub fn sun(canvas: &mut Canvas) {
    let disc = Line::circle(SUN, 1.75);
    canvas.fill(&BOLE, &Line::circle(SUN, 1.95), 0.15, 350);
    canvas.fill(&GOLD, &disc, 0.06, 351);
    for index in 0..12_u8 {
        let angle = (f64::from(index) + 0.5) * TAU / 12.0;
        let at =
            |angle: f64, radius: f64| (SUN.0 + radius * libm::sin(angle), SUN.1 - radius * libm::cos(angle));
        let ray = Line::straight(&[at(angle - 0.13, 2.15), at(angle, 3.1), at(angle + 0.13, 2.15)], true);
        canvas.fill(&BOLE, &ray, 0.15, 352);
        canvas.fill(&GOLD, &ray, 0.1, 353);
    }
    canvas.draw(&IRON_GALL, &disc, 0.1, 354);
}

/// A buoy of red lead, half of which the later patch covers.
pub fn buoy(canvas: &mut Canvas) {
    let (x, y) = BUOY;
    let body = [(x - 1.5, y), (x, y - 1.3), (x + 1.5, y), (x, y + 1.3)];
    canvas.fill(&RED_LEAD, &Line::straight(&body, true), 0.15, 360);
    canvas.draw(&IRON_GALL, &Line::straight(&[(x, y - 1.2), (x - 0.1, y - 2.6)], false), 0.14, 361);
}

/// Compass star: vermilion points over a disc of lead white with a ring of red lead; faint ink lines across the sea.
pub fn compass(canvas: &mut Canvas) {
    let coasts = coasts();
    let sea = |p: Point| coasts.iter().map(|coast| soft(0.5 - coast.depth(p))).product::<f64>();
    let turn = |angle: f64, radius: f64| {
        (COMPASS.0 + radius * libm::sin(angle), COMPASS.1 - radius * libm::cos(angle))
    };
    for index in 0..16_u8 {
        let angle = f64::from(index) * TAU / 16.0;
        let ray = Line::straight(&[turn(angle, 13.2), turn(angle, 60.0)], false);
        let strength = if index % 2 == 0 { 0.2 } else { 0.12 };
        canvas.lay(&IRON_GALL, FRAME[1], |p| {
            let within = soft(FRAME[1][0] - p.0) * soft(p.0 - FRAME[1][2]);
            let line = within * soft(ray.distance(p) - 0.05) * strength;
            if line > 0.0 { line * sea(p) * blotch(p, 0.5, 50) } else { 0.0 }
        });
    }
    // A band of smalt between the points, and points of lead-tin yellow outside it.
    canvas.lay(&SMALT, Line::circle(COMPASS, 10.4).bounds(0.5), |p| {
        let q = tremble(p, 85);
        let (x, y) = (q.0 - COMPASS.0, q.1 - COMPASS.1);
        let radius = (x * x + y * y).sqrt();
        let band = (radius - 9.95).max(8.35 - radius);
        // Left open where the long points cross it.
        let open = 0.42 - x.abs().min(y.abs());
        soft(band.max(open)) * blotch(p, 0.14, 86)
    });
    for index in 0..16_u8 {
        // None at the long points, and none beside the letter and the name.
        if index % 4 == 0 || index == 1 || index == 15 {
            continue;
        }
        let angle = f64::from(index) * TAU / 16.0;
        let (near, far) = if index % 2 == 0 { (10.5, 13.0) } else { (10.5, 12.2) };
        let middle = 0.5 * (near + far);
        let point = Line::straight(
            &[turn(angle, near), turn(angle + 0.055, middle), turn(angle, far), turn(angle - 0.055, middle)],
            true,
        );
        canvas.fill(&YELLOW, &point, 0.12, 87);
    }
    canvas.fill(&LEAD_WHITE, &Line::circle(COMPASS, 7.1), 0.22, 51);
    canvas.draw(&RED_LEAD, &Line::circle(COMPASS, 7.4), 0.75, 52);
    canvas.draw(&IRON_GALL, &Line::circle(COMPASS, 7.95), 0.1, 53);
    // The short points lie under the long ones; each has a full and a thin half, divided by its axis.
    for (first, reach, waist, seed) in [(1_u8, 6.4, 1.7, 60), (0, 10.4, 2.35, 70)] {
        for index in (first..8).step_by(2) {
            let angle = f64::from(index) * TAU / 8.0;
            for (side, thickness) in [(1.0, 1.0), (-1.0, 0.3)] {
                let flank = turn(angle + side * TAU / 16.0, waist);
                let half = Line::straight(&[COMPASS, flank, turn(angle, reach)], true);
                canvas.lay(&VERMILION, half.bounds(0.5), |p| {
                    soft(half.depth(tremble(p, seed))) * thickness * blotch(p, 0.22, seed + u64::from(index))
                });
            }
        }
    }
    // Old varnish that ran over the western point and was never taken off.
    let run =
        [(38.6, 27.6), (43.0, 26.9), (47.2, 27.6), (48.0, 29.1), (47.0, 30.4), (42.8, 31.0), (38.7, 30.3)];
    canvas.fill(&VARNISH, &Line::curved(&run, true), 0.04, 88);
    canvas.fill(&LEAD_WHITE, &Line::circle(COMPASS, 0.95), 0.1, 80);
    canvas.fill(&VERMILION, &Line::circle(COMPASS, 0.45), 0.1, 81);
    for stroke in letters::strokes("N", (COMPASS.0 - 0.75, COMPASS.1 - 13.2), 2.2, 0.0) {
        canvas.draw(&IRON_GALL, &stroke, 0.3, 82);
    }
}

/// A small ship under two sails of lead white, with a hull of bone black and a long worn pennant.
pub fn ship(canvas: &mut Canvas) {
    let at = |points: &[Point]| -> Vec<Point> { points.iter().map(|p| (31.0 + p.0, 24.6 + p.1)).collect() };
    let hull = at(&[(-3.3, -1.1), (-2.3, 1.1), (1.7, 1.2), (3.2, -1.5), (1.6, -0.8), (-1.8, -0.7)]);
    let main = at(&[(-0.2, -5.4), (1.8, -4.9), (2.1, -3.0), (1.5, -1.6), (-0.1, -1.7), (0.3, -3.4)]);
    let fore = at(&[(-2.2, -4.6), (-0.9, -4.5), (-0.6, -3.1), (-1.0, -1.5), (-2.6, -1.6), (-2.1, -3.0)]);
    let pennant =
        at(&[(0.0, -7.2), (-3.0, -7.0), (-6.4, -7.5), (-5.6, -6.8), (-6.6, -6.0), (-3.0, -5.6), (0.0, -5.9)]);
    for (index, sail) in [&main, &fore].into_iter().enumerate() {
        let sail = Line::curved(sail, true);
        canvas.fill(&LEAD_WHITE, &sail, 0.2, 300 + index as u64);
        canvas.lay(&IRON_GALL, sail.bounds(0.5), |p| soft(sail.distance(p) - 0.07) * 0.5);
    }
    canvas.fill(&BONE_BLACK, &Line::straight(&hull, true), 0.2, 310);
    for (top, bottom) in [((-0.05, -7.3), (0.0, -0.6)), ((-1.6, -5.2), (-1.7, -0.6))] {
        canvas.draw(&IRON_GALL, &Line::straight(&at(&[top, bottom]), false), 0.14, 312);
    }
    canvas.fill(&WORN, &Line::straight(&pennant, true), 0.3, 314);
}

/// Title in a scroll, names, soundings and a scale, in iron-gall ink.
pub fn writing(canvas: &mut Canvas) {
    canvas.draw(&RED_LEAD, &scroll(), 0.42, 400);
    let texts = [
        ("TERN SOUND", (35.4, 8.5), 3.5, 0.36, 0.0),
        ("OAR BAY", (20.2, 15.4), 1.55, 0.14, 0.0),
        ("GULL I", (30.2, 36.4), 1.6, 0.14, 0.04),
        ("LONGSTRAND", (14.4, 46.7), 1.6, 0.14, 0.05),
        ("TROUGH", (53.8, 18.0), 1.7, 0.14, -0.1),
    ];
    for (index, (text, start, height, width, slope)) in texts.into_iter().enumerate() {
        for (stroke, line) in letters::strokes(text, start, height, slope).iter().enumerate() {
            canvas.draw(&IRON_GALL, line, width, 410 + 40 * index as u64 + stroke as u64);
        }
    }
    for (index, &(x, y)) in [
        (37.5, 19.0),
        (34.0, 28.0),
        (40.5, 39.0),
        (62.5, 22.5),
        (64.5, 31.0),
        (21.8, 33.0),
        (60.0, 37.0),
        (24.0, 42.8),
    ]
    .iter()
    .enumerate()
    {
        let seed = 600 + index as u64;
        for (dx, dy) in [(0.0, 0.0), (0.75, 0.1), (0.35, -0.65)] {
            canvas.fill(&IRON_GALL, &Line::circle((x + dx, y + dy), 0.17), 0.3, seed);
        }
    }
    // Scale: a pen line with ticks, every other part filled with red lead.
    for part in 0..5_u8 {
        let x = 46.8 + 2.0 * f64::from(part);
        if part % 2 == 0 {
            let bar = [(x, 46.9), (x + 2.0, 46.9), (x + 2.0, 47.7), (x, 47.7)];
            canvas.fill(&RED_LEAD, &Line::straight(&bar, true), 0.2, 640);
        }
        canvas.draw(&IRON_GALL, &Line::straight(&[(x, 46.4), (x, 48.0)], false), 0.16, 641);
    }
    let bar = [(56.8, 46.4), (56.8, 47.75), (46.8, 47.75)];
    canvas.draw(&IRON_GALL, &Line::straight(&bar, false), 0.18, 642);
}

/// Outline of the scroll around the title.
fn scroll() -> Line {
    Line::curved(
        &[
            (33.0, 7.6),
            (38.0, 7.0),
            (46.0, 7.4),
            (54.0, 6.9),
            (62.0, 7.3),
            (66.4, 6.9),
            (67.6, 8.4),
            (66.9, 10.6),
            (67.5, 12.6),
            (65.8, 13.4),
            (58.0, 13.0),
            (50.0, 13.5),
            (42.0, 13.1),
            (36.0, 13.6),
            (32.6, 13.0),
            (33.5, 10.8),
            (32.2, 9.2),
        ],
        true,
    )
}
