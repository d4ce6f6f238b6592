//! What is true of the example and can be measured on no scan: where the photo lies, which paint is seen where, what each
//! passage is made of and what of it the maps can show.

use std::fmt::Write as _;
use std::fs::{self, File};
use std::io::BufWriter;
use std::path::Path;

use anyhow::{Context, Result};
use image::codecs::png::{CompressionType, FilterType, PngEncoder};
use image::{ExtendedColorType, ImageEncoder};

use crate::chart::FRAME;
use crate::elements::{self, Means};
use crate::figures::COMPASS;
use crate::paint::{Canvas, FINE, HEIGHT, STEP, Seen, UNIT_MM, WIDTH};
use crate::palette::{ALL, EDGE, INDIGO, OAK, PAPER, RED_LEAD, SHADE, STAIN, VARNISH};
use crate::shape::Point;
use crate::{PHOTO, SEED, passages, photo};

/// A painted passage as it is seen.
pub struct Passage {
    /// Name of its file.
    pub name: &'static str,
    paint: Seen,
    /// What it is, in a few words.
    text: &'static str,
    /// The colour that it shows.
    colour: &'static str,
    /// What it is painted with, from above; ids of the list of pigments.
    made_of: &'static [&'static str],
    /// Which part of the sheet it is of, and what must or must not lie there.
    part: Part,
}

/// Where a passage is to be looked for.
#[derive(Clone, Copy, PartialEq)]
enum Part {
    Anywhere,
    Frame,
    Compass,
    /// Where a layer of this paint lies.
    With(u8),
    /// Where none does.
    Without(u8),
    /// Of the compass, where none does.
    CompassWithout(u8),
    /// Where nothing but the support lies within reach of the beam.
    Clean,
}

#[rustfmt::skip]
const PASSAGES: [Passage; 21] = [
    Passage { name: "hills", paint: Seen::RedEarth, text: "hills of red earth", colour: "red", made_of: &["red_ochre"], part: Part::Anywhere },
    Passage { name: "shore", paint: Seen::CopperGreen, text: "shore in copper green", colour: "green", made_of: &["verdigris"], part: Part::Anywhere },
    Passage { name: "red-lead", paint: Seen::RedLead, text: "all red lead: frame, scroll, scale, ring, buoy", colour: "orange", made_of: &["red_lead"], part: Part::Anywhere },
    Passage { name: "frame-red", paint: Seen::RedLead, text: "red lead of the frame", colour: "orange", made_of: &["red_lead"], part: Part::Frame },
    Passage { name: "frame-white", paint: Seen::LeadWhite, text: "lead white of the frame", colour: "white", made_of: &["lead_white"], part: Part::Frame },
    Passage { name: "compass-disc", paint: Seen::LeadWhite, text: "lead white of the compass", colour: "white", made_of: &["lead_white"], part: Part::Compass },
    Passage { name: "compass-star", paint: Seen::Vermilion, text: "vermilion of the compass, over its lead white", colour: "red", made_of: &["vermilion", "lead_white"], part: Part::Compass },
    Passage { name: "star-bare", paint: Seen::Vermilion, text: "the star but for its varnished point", colour: "red", made_of: &["vermilion", "lead_white"], part: Part::CompassWithout(VARNISH.index) },
    Passage { name: "star-varnished", paint: Seen::Vermilion, text: "the western point of the star, under old varnish", colour: "red", made_of: &["vermilion", "lead_white"], part: Part::With(VARNISH.index) },
    Passage { name: "smalt", paint: Seen::Smalt, text: "band of smalt in the rose", colour: "blue", made_of: &["smalt"], part: Part::Anywhere },
    Passage { name: "yellow", paint: Seen::Yellow, text: "points of lead-tin yellow around the rose", colour: "yellow", made_of: &["lead_tin_yellow_i"], part: Part::Anywhere },
    Passage { name: "lettering", paint: Seen::IronGall, text: "lettering and lines in iron-gall ink, where they fill more than half of a point", colour: "black", made_of: &["iron_gall_ink"], part: Part::Anywhere },
    Passage { name: "hull", paint: Seen::BoneBlack, text: "hull of the ship in bone black", colour: "black", made_of: &["bone_black"], part: Part::Anywhere },
    Passage { name: "pennant", paint: Seen::Pennant, text: "worn pennant, what is left of its vermilion", colour: "red", made_of: &["vermilion"], part: Part::Anywhere },
    Passage { name: "gold", paint: Seen::Gold, text: "gilded sun: leaf on bole", colour: "gold", made_of: &["gold_leaf", "bole"], part: Part::Anywhere },
    Passage { name: "repair", paint: Seen::Repair, text: "later repair, but for where it covers the buoy", colour: "white", made_of: &["titanium_white_rutile", "barium_sulfate"], part: Part::Without(RED_LEAD.index) },
    Passage { name: "repair-over-buoy", paint: Seen::Repair, text: "later repair over the red lead of the buoy", colour: "white", made_of: &["titanium_white_rutile", "barium_sulfate", "red_lead"], part: Part::With(RED_LEAD.index) },
    Passage { name: "paper", paint: Seen::Paper, text: "all bare paper", colour: "brown", made_of: &["paper_filler"], part: Part::Anywhere },
    Passage { name: "support", paint: Seen::Paper, text: "bare paper with no paint within reach of the beam", colour: "brown", made_of: &["paper_filler"], part: Part::Clean },
    Passage { name: "sea", paint: Seen::Indigo, text: "sea: a wash of indigo on the paper", colour: "blue", made_of: &["indigo"], part: Part::Anywhere },
    Passage { name: "board", paint: Seen::Oak, text: "bare oak board", colour: "brown", made_of: &[], part: Part::Anywhere },
];

/// All passages with their masks: where more than half of a measured point shows their paint; and the inner parts of these.
pub fn masks(canvas: &Canvas) -> Vec<(&'static Passage, Vec<bool>, Vec<bool>)> {
    PASSAGES
        .iter()
        .map(|passage| {
            let whole = mask(canvas, passage);
            let inner = inner(canvas, passage, &whole);
            if passage.part == Part::Clean {
                (passage, inner.clone(), inner)
            } else {
                (passage, whole, inner)
            }
        })
        .collect()
}

/// The part of a mask with no foreign paint within 2.5 points, and away from the mask's own edge by as much of 2 points as
/// leaves enough to measure.
fn inner(canvas: &Canvas, passage: &Passage, mask: &[bool]) -> Vec<bool> {
    let mut own: Vec<u8> = stack(canvas, mask).into_iter().map(|(paint, _)| paint).collect();
    own.extend([OAK.index, SHADE.index, PAPER.index, EDGE.index, STAIN.index]);
    if passage.part != Part::Clean {
        own.push(INDIGO.index);
    }
    let is_own = |point: usize| {
        cells(point).all(|cell| {
            canvas.layers()[cell].iter().all(|layer| layer.amount < 0.004 || own.contains(&layer.paint))
        })
    };
    let pure: Vec<bool> = (0..WIDTH * HEIGHT).map(is_own).collect();
    let near = |of: &[bool], point: usize, reach: f64| {
        let (x, y) = ((point % WIDTH).cast_signed(), (point / WIDTH).cast_signed());
        let (wide, high) = (WIDTH.cast_signed(), HEIGHT.cast_signed());
        let far = libm::floor(reach) as isize;
        (-far..=far).all(|dy| {
            (-far..=far).all(|dx| {
                let (u, v) = (x + dx, y + dy);
                let inside = (0..wide).contains(&u) && (0..high).contains(&v);
                (dx * dx + dy * dy) as f64 > reach * reach || !inside || of[(v * wide + u).cast_unsigned()]
            })
        })
    };
    let clean: Vec<bool> = (0..mask.len()).map(|point| mask[point] && near(&pure, point, 2.5)).collect();
    for reach in [2.0, 1.0] {
        let smaller: Vec<bool> =
            (0..mask.len()).map(|point| clean[point] && near(mask, point, reach)).collect();
        if smaller.iter().filter(|&&inside| inside).count() >= 100 {
            return smaller;
        }
    }
    clean
}

fn is_in(passage: &Passage, canvas: &Canvas, cell: usize, p: Point) -> bool {
    let lies =
        |paint: u8| canvas.layers()[cell].iter().any(|layer| layer.paint == paint && layer.amount > 0.3);
    let compass = {
        let (x, y) = (p.0 - COMPASS.0, p.1 - COMPASS.1);
        x * x + y * y < 12.0 * 12.0
    };
    canvas.seen()[cell] == passage.paint
        && match passage.part {
            Part::Anywhere | Part::Clean => true,
            Part::Frame => {
                let [left, top, right, bottom] = FRAME[1];
                p.0 < left || p.0 > right || p.1 < top || p.1 > bottom
            }
            Part::Compass => compass,
            Part::With(paint) => lies(paint),
            Part::Without(paint) => !lies(paint),
            Part::CompassWithout(paint) => compass && !lies(paint),
        }
}

fn cells(point: usize) -> impl Iterator<Item = usize> {
    let (row, column) = (point / WIDTH, point % WIDTH);
    (0..FINE * FINE).map(move |i| (row * FINE + i / FINE) * Canvas::WIDE + column * FINE + i % FINE)
}

fn mask(canvas: &Canvas, passage: &Passage) -> Vec<bool> {
    let place = |cell: usize| {
        let (x, y) = (cell % Canvas::WIDE, cell / Canvas::WIDE);
        ((x as f64 + 0.5) * Canvas::CELL, (y as f64 + 0.5) * Canvas::CELL)
    };
    let is_of = |point: usize| {
        2 * cells(point).filter(|&cell| is_in(passage, canvas, cell, place(cell))).count() > FINE * FINE
    };
    (0..WIDTH * HEIGHT).map(is_of).collect()
}

/// Paints that lie in more than half of the cells of a mask, from the board upward, with their mean thickness there in um.
fn stack(canvas: &Canvas, mask: &[bool]) -> Vec<(u8, f64)> {
    let (mut sums, mut found, mut all) = ([0.0; ALL.len()], [0_usize; ALL.len()], 0_usize);
    let mut order: Vec<u8> = Vec::new();
    for cell in (0..mask.len()).filter(|&point| mask[point]).flat_map(cells) {
        all += 1;
        for layer in &canvas.layers()[cell] {
            sums[usize::from(layer.paint)] += layer.amount;
            found[usize::from(layer.paint)] += 1;
            if !order.contains(&layer.paint) {
                order.push(layer.paint);
            }
        }
    }
    let left_out = [OAK.index, SHADE.index, EDGE.index, STAIN.index];
    order.retain(|paint| 2 * found[usize::from(*paint)] > all && !left_out.contains(paint));
    // In the order in which they are laid, which the first cell need not have shown.
    order.sort_by_key(|paint| crate::palette::laid(*paint));
    order
        .into_iter()
        .map(|paint| {
            let place = usize::from(paint);
            (paint, sums[place] / found[place] as f64 * ALL[place].full_um)
        })
        .collect()
}

/// Writes `truth.json`, `passages.txt` (see [`passages::rows`]) and a mask for each passage.
pub fn write(folder: &Path, canvas: &Canvas, means: &Means<'_>) -> Result<()> {
    fs::create_dir_all(folder).with_context(|| format!("cannot make the folder {}", folder.display()))?;
    let masks = masks(canvas);
    let bare = &masks.iter().find(|(passage, ..)| passage.name == "support").context("no support")?.2;
    let bare = means.of(bare);
    let mut rows = Vec::new();
    for (passage, whole, mask) in &masks {
        let (file, inner) = (format!("{}.png", passage.name), format!("{}-inner.png", passage.name));
        for (file, mask) in [(&file, whole), (&inner, mask)] {
            let path = folder.join(file);
            write_mask(&path, mask).with_context(|| format!("cannot write {}", path.display()))?;
        }
        let [pixels, inner_pixels] = [whole, mask].map(|mask| mask.iter().filter(|&&inside| inside).count());
        let stack = stack(canvas, mask);
        let mut layers = String::new();
        for (index, (paint, um)) in stack.iter().rev().enumerate() {
            let comma = if index == 0 { "" } else { ", " };
            write!(layers, r#"{comma}{{"id": "{}", "um": {}}}"#, ALL[usize::from(*paint)].id, rounded(*um))?;
        }
        let paints: Vec<u8> =
            stack.iter().map(|(paint, _)| *paint).filter(|&paint| paint != PAPER.index).collect();
        let elements = elements::rows(means, &means.of(mask), &bare, inner_pixels, &paints)?;
        let Passage { name, text, colour, made_of, .. } = passage;
        let made_of: Vec<String> = made_of.iter().map(|id| format!("\"{id}\"")).collect();
        rows.push(format!(
            "    {{\"name\": \"{name}\", \"mask\": \"{file}\", \"text\": \"{text}\", \"pixels\": {pixels}, \"inner\": \"{inner}\", \"inner_pixels\": {inner_pixels}, \"colour\": \"{colour}\",\n     \"materials\": [{}],\n     \"layers\": [{layers}],\n     \"elements\": {{\n{elements}\n     }}}}",
            made_of.join(", ")
        ));
    }
    let [a, b, c, d, e, f, ..] = photo_to_grid();
    let json = format!(
        r#"{{
  "about": "What was drawn: a photo place (px, pixel centres at half-integers) times the matrix is a place on the grid of the maps (px). Inner masks keep away from foreign paint and, where they can, from the passage's edge; layers (from above, with their mean thickness) and elements are of these. Elements: whether they lie there beyond the bare paper and whether these maps can say so; mean counts of a point in the element's window, without chance: its own lines, the lines of others, the continuum.",
  "seed": {SEED},
  "proposed": [1640, 1670],
  "photo": {{"file": "photo.png", "width": {}, "height": {}}},
  "grid": {{"width": {WIDTH}, "height": {HEIGHT}, "step_um": {}}},
  "photo_to_grid": [[{a}, {b}, {c}], [{d}, {e}, {f}], [0, 0, 1]],
  "wrongly_named": {{"tern_Cr-K.tif": "holds the pixels of tern_Mn-K.tif (energy windows only)"}},
  "stretched": {{"tern_S-K.tif": "8 bit, stretched to its own range (energy windows only)"}},
  "passages": [
{}
  ]
}}
"#,
        PHOTO.0,
        PHOTO.1,
        STEP * UNIT_MM * 1000.0,
        rows.join(",\n")
    );
    let path = folder.join("passages.txt");
    let text = passages::rows(canvas).join("\n") + "\n";
    fs::write(&path, text).with_context(|| format!("cannot write {}", path.display()))?;
    let path = folder.join("truth.json");
    fs::write(&path, json).with_context(|| format!("cannot write {}", path.display()))
}

/// Three significant digits.
pub fn rounded(value: f64) -> f64 {
    if value == 0.0 {
        return 0.0;
    }
    let unit = libm::pow(10.0, libm::floor(libm::log10(value.abs())) - 2.0);
    let scaled = libm::floor(value / unit + 0.5);
    // Divided by a power of ten where that is exact, so that 0.3 is written as 0.3.
    if unit < 1.0 { scaled / libm::floor(1.0 / unit + 0.5) } else { scaled * unit }
}

/// Row by row, from places of the photo to places of the grid, both in pixels.
fn photo_to_grid() -> [f64; 9] {
    let at = |u: f64, v: f64| {
        let (x, y) = photo::place((u, v));
        (x / STEP, y / STEP)
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

fn write_mask(path: &Path, mask: &[bool]) -> Result<()> {
    let bytes: Vec<u8> = mask.iter().map(|&inside| if inside { 255 } else { 0 }).collect();
    let writer = BufWriter::new(File::create(path)?);
    PngEncoder::new_with_quality(writer, CompressionType::Best, FilterType::NoFilter).write_image(
        &bytes,
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
        // By hand: 0.25 mm to a photo pixel, shifted by (3.8, 4.8) mm, turned by 0.009, 0.5 mm to a map pixel.
        let [a, b, c, d, e, f, ..] = photo_to_grid();
        for (u, v) in [(0.0, 0.0), (632.0, 0.0), (40.5, 400.25)] {
            let (x, y) = (0.25 * u - 3.8, 0.25 * v - 4.8);
            let (sine, cosine) = (libm::sin(0.009), libm::cos(0.009));
            let by_hand = (2.0 * (cosine * x + sine * y), 2.0 * (cosine * y - sine * x));
            let by_matrix = (a * u + b * v + c, d * u + e * v + f);
            assert!((by_hand.0 - by_matrix.0).abs() < 1e-10 && (by_hand.1 - by_matrix.1).abs() < 1e-10);
        }
    }

    #[test]
    fn passages_lie_beside_each_other_and_none_is_empty() {
        let masks = masks(&crate::chart::paint());
        let of = |name: &str| &masks.iter().find(|(passage, ..)| passage.name == name).unwrap().1;
        for (passage, mask, inner) in &masks {
            assert!(inner.iter().filter(|&&inside| inside).count() > 15, "{}", passage.name);
            assert!(mask.iter().filter(|&&inside| inside).count() > 20, "{}", passage.name);
        }
        let apart = [
            "hills",
            "shore",
            "red-lead",
            "compass-star",
            "smalt",
            "yellow",
            "hull",
            "pennant",
            "gold",
            "paper",
            "sea",
        ];
        for (index, a) in apart.iter().enumerate() {
            for b in &apart[index + 1..] {
                assert!(of(a).iter().zip(of(b)).all(|(&a, &b)| !(a && b)), "{a} {b}");
            }
        }
    }

    #[test]
    fn numbers_are_short() {
        assert_eq!([0.123_456, 12_345.6, 0.3, 40.0].map(rounded), [0.123, 12_300.0, 0.3, 40.0]);
    }
}
