//! What is true of the example and can be measured on no scan: where the photo lies, and which paint is seen where.

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::BufWriter;
use std::path::Path;

use anyhow::{Context, Result};
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};

use crate::chart::FRAME;
use crate::figures::COMPASS;
use crate::land::coasts;
use crate::paint::{Canvas, FINE, HEIGHT, STEP_MM, Seen, WIDTH};
use crate::shape::Point;
use crate::{PHOTO, passages, photo};

/// A painted passage as it is seen.
struct Passage {
    /// Name of its file.
    name: &'static str,
    paint: Seen,
    /// What it is, in a few words.
    text: &'static str,
    /// Which part of the sheet it is of, in millimetres.
    part: fn(Point) -> bool,
}

const PASSAGES: [Passage; 11] = [
    Passage { name: "hills", paint: Seen::RedEarth, text: "hills of red earth", part: |_| true },
    Passage { name: "shore", paint: Seen::CopperGreen, text: "shore in copper green", part: |_| true },
    Passage {
        name: "red-lead",
        paint: Seen::RedLead,
        text: "all red lead: frame, scroll, scale, ring",
        part: |_| true,
    },
    Passage { name: "frame-red", paint: Seen::RedLead, text: "red lead of the frame", part: in_frame },
    Passage { name: "frame-white", paint: Seen::LeadWhite, text: "lead white of the frame", part: in_frame },
    Passage {
        name: "compass-disc",
        paint: Seen::LeadWhite,
        text: "lead white of the compass",
        part: in_compass,
    },
    Passage {
        name: "compass-star",
        paint: Seen::Vermilion,
        text: "vermilion of the compass",
        part: in_compass,
    },
    Passage { name: "repair", paint: Seen::Repair, text: "later repair", part: |_| true },
    Passage { name: "paper", paint: Seen::Paper, text: "all bare paper", part: |_| true },
    Passage {
        name: "sea",
        paint: Seen::Paper,
        text: "bare paper of the sea, within the frame",
        part: |_| true,
    },
    Passage { name: "board", paint: Seen::Oak, text: "bare oak board", part: |_| true },
];

fn in_frame(p: Point) -> bool {
    let [left, top, right, bottom] = FRAME[1];
    p.0 < left || p.0 > right || p.1 < top || p.1 > bottom
}

fn in_compass(p: Point) -> bool {
    let (x, y) = (p.0 - COMPASS.0, p.1 - COMPASS.1);
    x * x + y * y < 12.0 * 12.0
}

/// Writes `truth.json`, `passages.txt` (see [`passages::rows`]) and a mask for each passage: 255 where most of a measured point is covered by its paint.
pub fn write(folder: &Path, canvas: &Canvas) -> Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("cannot make the folder {}", folder.display()))?;
    let coasts = coasts();
    let at_sea = |p: Point| !in_frame(p) && coasts.iter().all(|coast| coast.depth(p) > 0.0);
    let mut rows = String::new();
    for (index, passage) in PASSAGES.iter().enumerate() {
        let part = |p: Point| (passage.part)(p) && (passage.name != "sea" || at_sea(p));
        let mask = mask(canvas, passage.paint, part);
        let file = format!("{}.png", passage.name);
        let path = folder.join(&file);
        write_mask(&path, &mask).with_context(|| format!("cannot write {}", path.display()))?;
        let pixels = mask.iter().filter(|&&pixel| pixel == 255).count();
        let comma = if index + 1 < PASSAGES.len() { "," } else { "" };
        let Passage { name, text, .. } = passage;
        writeln!(
            rows,
            r#"    {{"name": "{name}", "mask": "{file}", "text": "{text}", "pixels": {pixels}}}{comma}"#
        )?;
    }
    let [a, b, c, d, e, f, ..] = photo_to_grid();
    let json = format!(
        r#"{{
  "about": "What was drawn: a photo place (px, pixel centres at half-integers) times the matrix is a place on the grid of the maps (px).",
  "photo": {{"file": "photo.png", "width": {}, "height": {}}},
  "grid": {{"width": {WIDTH}, "height": {HEIGHT}, "step_um": {}}},
  "photo_to_grid": [[{a}, {b}, {c}], [{d}, {e}, {f}], [0, 0, 1]],
  "passages": [
{rows}  ]
}}
"#,
        PHOTO.0,
        PHOTO.1,
        STEP_MM * 1000.0
    );
    let path = folder.join("passages.txt");
    let text = passages::rows(canvas).join("\n") + "\n";
    fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
    let path = folder.join("truth.json");
    fs::write(&path, json).with_context(|| format!("cannot write {}", path.display()))
}

/// Row by row, from places of the photo to places of the grid, both in pixels.
fn photo_to_grid() -> [f64; 9] {
    let at = |u: f64, v: f64| {
        let (x, y) = photo::place_mm((u, v));
        (x / STEP_MM, y / STEP_MM)
    };
    let (origin, right, down) = (at(0.0, 0.0), at(1.0, 0.0), at(0.0, 1.0));
    [
        right.0 - origin.0,
        down.0 - origin.0,
        origin.0,
        right.1 - origin.1,
        down.1 - origin.1,
        origin.1,
        0.0,
        0.0,
        1.0,
    ]
}

fn mask(canvas: &Canvas, paint: Seen, part: impl Fn(Point) -> bool) -> Vec<u8> {
    let mut out = Vec::with_capacity(WIDTH * HEIGHT);
    for row in 0..HEIGHT {
        for column in 0..WIDTH {
            let cells = (0..FINE * FINE).filter(|cell| {
                let (x, y) = (column * FINE + cell % FINE, row * FINE + cell / FINE);
                let place = ((x as f64 + 0.5) * Canvas::CELL_MM, (y as f64 + 0.5) * Canvas::CELL_MM);
                canvas.seen()[y * Canvas::WIDE + x] == paint && part(place)
            });
            out.push(if 2 * cells.count() > FINE * FINE { 255 } else { 0 });
        }
    }
    out
}

fn write_mask(path: &Path, mask: &[u8]) -> Result<()> {
    let writer = BufWriter::new(File::create(path)?);
    PngEncoder::new_with_quality(writer, CompressionType::Best, FilterType::NoFilter).write_image(
        mask,
        u32::try_from(WIDTH)?,
        u32::try_from(HEIGHT)?,
        ExtendedColorType::L8,
    )?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_matrix_is_the_turn_and_shift_of_the_photo() {
        // By hand: 0.25 mm to a photo pixel, shifted by (1.9, 2.4) mm, turned by 0.009, 0.5 mm to a map pixel.
        let [a, b, c, d, e, f, ..] = photo_to_grid();
        for (u, v) in [(0.0, 0.0), (316.0, 0.0), (40.5, 200.25)] {
            let (x, y) = (0.25 * u - 1.9, 0.25 * v - 2.4);
            let (sine, cosine) = (libm::sin(0.009), libm::cos(0.009));
            let by_hand = (2.0 * (cosine * x + sine * y), 2.0 * (cosine * y - sine * x));
            let by_matrix = (a * u + b * v + c, d * u + e * v + f);
            assert!((by_hand.0 - by_matrix.0).abs() < 1e-10 && (by_hand.1 - by_matrix.1).abs() < 1e-10);
        }
    }

    #[test]
    fn passages_of_one_sheet_do_not_lie_on_each_other() {
        let canvas = crate::chart::paint();
        let own = |paint| mask(&canvas, paint, |_| true);
        let (hills, paper) = (own(Seen::RedEarth), own(Seen::Paper));
        assert!(hills.iter().zip(&paper).all(|(&a, &b)| a == 0 || b == 0));
        // A hill of the mainland, and the sea east of the compass.
        assert_eq!((hills[20 * WIDTH + 24], paper[50 * WIDTH + 130]), (255, 255));
    }
}
