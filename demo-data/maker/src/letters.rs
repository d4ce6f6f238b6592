//! A few pen letters, each a set of strokes in a box 1 high (0 at the top) and as wide as stated.

use crate::shape::{Line, Point};

/// Width of a letter and its strokes; an unknown letter is an empty space.
fn letter(sign: char) -> (f64, &'static [&'static [Point]]) {
    match sign {
        'A' => (0.66, &[&[(0.0, 1.0), (0.34, 0.0), (0.66, 1.0)], &[(0.13, 0.65), (0.55, 0.62)]]),
        'B' => (
            0.5,
            &[
                &[(0.02, 1.0), (0.0, 0.0), (0.32, 0.03), (0.42, 0.22), (0.3, 0.44), (0.03, 0.48)],
                &[(0.3, 0.46), (0.48, 0.7), (0.36, 0.96), (0.02, 1.0)],
            ],
        ),
        'D' => (
            0.6,
            &[&[(0.03, 1.0), (0.0, 0.0), (0.3, 0.04), (0.55, 0.28), (0.57, 0.62), (0.38, 0.93), (0.03, 1.0)]],
        ),
        'E' => {
            (0.46, &[&[(0.46, 0.02), (0.0, 0.0), (0.03, 1.0), (0.48, 0.97)], &[(0.02, 0.48), (0.36, 0.46)]])
        }
        'G' => (
            0.6,
            &[&[
                (0.55, 0.15),
                (0.32, 0.0),
                (0.06, 0.22),
                (0.02, 0.62),
                (0.2, 0.96),
                (0.5, 0.95),
                (0.57, 0.6),
                (0.36, 0.58),
            ]],
        ),
        'H' => {
            (0.58, &[&[(0.0, 0.0), (0.02, 1.0)], &[(0.56, 0.0), (0.55, 1.0)], &[(0.02, 0.5), (0.55, 0.47)]])
        }
        'I' => (0.08, &[&[(0.04, 0.0), (0.05, 1.0)]]),
        'L' => (0.44, &[&[(0.0, 0.0), (0.02, 1.0), (0.44, 0.96)]]),
        'N' => (0.6, &[&[(0.0, 1.0), (0.03, 0.0), (0.55, 1.0), (0.58, 0.0)]]),
        'O' => (
            0.64,
            &[&[
                (0.32, 0.0),
                (0.1, 0.16),
                (0.02, 0.5),
                (0.14, 0.88),
                (0.34, 1.0),
                (0.54, 0.84),
                (0.62, 0.46),
                (0.5, 0.12),
                (0.3, 0.0),
            ]],
        ),
        'R' => (
            0.54,
            &[
                &[(0.02, 1.0), (0.0, 0.0), (0.34, 0.03), (0.46, 0.24), (0.32, 0.47), (0.04, 0.5)],
                &[(0.22, 0.5), (0.55, 1.0)],
            ],
        ),
        'S' => (
            0.48,
            &[&[
                (0.45, 0.14),
                (0.24, 0.0),
                (0.04, 0.2),
                (0.14, 0.44),
                (0.36, 0.56),
                (0.45, 0.8),
                (0.22, 1.0),
                (0.0, 0.86),
            ]],
        ),
        'T' => (0.58, &[&[(0.0, 0.03), (0.58, 0.0)], &[(0.29, 0.02), (0.31, 1.0)]]),
        'U' => (
            0.58,
            &[&[(0.0, 0.0), (0.02, 0.66), (0.14, 0.95), (0.32, 0.99), (0.5, 0.86), (0.55, 0.5), (0.56, 0.0)]],
        ),
        'Y' => (0.56, &[&[(0.0, 0.0), (0.28, 0.5), (0.56, 0.0)], &[(0.28, 0.5), (0.27, 1.0)]]),
        _ => (0.34, &[]),
    }
}

/// The strokes of `text` with its upper left corner at `start`, letters `height` mm high, rising by `slope` per mm.
pub fn strokes(text: &str, start: Point, height: f64, slope: f64) -> Vec<Line> {
    let mut x = start.0;
    let mut lines = Vec::new();
    for sign in text.chars() {
        let (width, parts) = letter(sign);
        for part in parts {
            // Letters lean a little to the right, as a right hand writes them.
            let place = |p: &Point| {
                let across = x + (p.0 + 0.1 * (1.0 - p.1)) * height;
                (across, start.1 + p.1 * height - slope * (across - start.0))
            };
            let points: Vec<Point> = part.iter().map(place).collect();
            // Round letters are drawn in one curve; those of few points keep their corners.
            lines.push(if points.len() > 5 {
                Line::curved(&points, false)
            } else {
                Line::straight(&points, false)
            });
        }
        x += (width + 0.3) * height;
    }
    lines
}
