//! What is laid on the board, layer by layer: signal of each element, how much of what lies below still shows, colour.

use crate::random::rough;
use crate::shape::{Line, Point};

/// Step between two measured points, in millimetres.
pub const STEP_MM: f64 = 0.5;
/// Measured points in a row.
pub const WIDTH: usize = 150;
/// Rows of measured points.
pub const HEIGHT: usize = 110;
/// Cells of the canvas along one step.
pub const FINE: usize = 4;
/// The measured lines in the order of every array here, with the part of the file name that says them.
pub const LINES: [&str; 8] = ["Ca-K", "Ti-K", "Mn-K", "Fe-K", "Cu-K", "Zn-K", "Pb-L", "Hg-L"];
/// Number of measured lines.
pub const COUNT: usize = LINES.len();

/// What the eye sees at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    Nothing,
    Oak,
    Paper,
    IronGall,
    RedEarth,
    CopperGreen,
    RedLead,
    LeadWhite,
    Vermilion,
    Repair,
    Iron,
}

/// A material: everything is invented, chosen to look plausible, and derived from no measurement.
pub struct Paint {
    /// Counts that a full layer adds, by line.
    pub adds: [f64; COUNT],
    /// Share of the signal from below that still comes through a full layer, by line.
    pub passes: [f64; COUNT],
    /// Colour of a full layer, sRGB.
    pub colour: [u8; 3],
    /// How far a full layer hides what lies below it from the eye, 0 to 1.
    pub hides: f64,
    /// What is seen where it hides what lies below; `None` for one that only darkens, dirt and shade.
    pub seen: Option<Seen>,
}

/// The sheet while it is being painted, `FINE` cells to the step in both directions.
pub struct Canvas {
    signal: Vec<[f64; COUNT]>,
    light: Vec<[f64; 3]>,
    seen: Vec<Seen>,
}

impl Canvas {
    /// Cells in a row.
    pub const WIDE: usize = WIDTH * FINE;
    /// Rows of cells.
    pub const HIGH: usize = HEIGHT * FINE;
    /// Side of a cell in millimetres.
    pub const CELL_MM: f64 = STEP_MM / FINE as f64;

    /// Nothing at all: no signal, no light.
    pub fn new() -> Self {
        let cells = Self::WIDE * Self::HIGH;
        Self {
            signal: vec![[0.0; COUNT]; cells],
            light: vec![[0.0; 3]; cells],
            seen: vec![Seen::Nothing; cells],
        }
    }

    /// The uppermost layer that hides at least half of what lies below it, row by row.
    pub fn seen(&self) -> &[Seen] {
        &self.seen
    }

    /// Mean counts of each line, row by row.
    pub fn signal(&self) -> &[[f64; COUNT]] {
        &self.signal
    }

    /// Linear light (0 to 1) in red, green and blue at a place in millimetres, from the nearest four cells.
    pub fn light_at(&self, p: Point) -> Option<[f64; 3]> {
        let (x, y) = (p.0 / Self::CELL_MM - 0.5, p.1 / Self::CELL_MM - 0.5);
        let (wide, high) = ((Self::WIDE - 1) as f64, (Self::HIGH - 1) as f64);
        if !(0.0..wide).contains(&x) || !(0.0..high).contains(&y) {
            return None;
        }
        let (column, row) = (libm::floor(x), libm::floor(y));
        let (u, v) = (x - column, y - row);
        let first = row as usize * Self::WIDE + column as usize;
        let mut out = [0.0; 3];
        for (step, weight) in [
            (0, (1.0 - u) * (1.0 - v)),
            (1, u * (1.0 - v)),
            (Self::WIDE, (1.0 - u) * v),
            (Self::WIDE + 1, u * v),
        ] {
            for (total, part) in out.iter_mut().zip(self.light[first + step]) {
                *total += weight * part;
            }
        }
        Some(out)
    }

    /// Lays `paint` with the thickness (0 to 1, more where the brush left more) that `thickness` gives at each place
    /// inside `bounds` (left, top, right, bottom in millimetres).
    pub fn lay(&mut self, paint: &Paint, bounds: [f64; 4], thickness: impl Fn(Point) -> f64) {
        let colour = paint.colour.map(|part| decode(f64::from(part) / 255.0));
        let cell = |mm: f64, most: usize| (libm::floor(mm / Self::CELL_MM).max(0.0) as usize).min(most);
        for row in cell(bounds[1], Self::HIGH)..cell(bounds[3] + Self::CELL_MM, Self::HIGH) {
            let y = (row as f64 + 0.5) * Self::CELL_MM;
            for column in cell(bounds[0], Self::WIDE)..cell(bounds[2] + Self::CELL_MM, Self::WIDE) {
                let laid = thickness(((column as f64 + 0.5) * Self::CELL_MM, y));
                if laid <= 0.0 {
                    continue;
                }
                let cover = laid.min(1.0);
                let index = row * Self::WIDE + column;
                for ((signal, adds), passes) in
                    self.signal[index].iter_mut().zip(paint.adds).zip(paint.passes)
                {
                    *signal = *signal * (1.0 - cover * (1.0 - passes)) + laid * adds;
                }
                for (light, own) in self.light[index].iter_mut().zip(colour) {
                    *light += cover * paint.hides * (own - *light);
                }
                if let Some(seen) = paint.seen.filter(|_| cover * paint.hides >= 0.5) {
                    self.seen[index] = seen;
                }
            }
        }
    }

    /// Fills an outline; `unevenness` 0 to 1 is how blotchy the brush leaves it, `seed` which blotches.
    pub fn fill(&mut self, paint: &Paint, outline: &Line, unevenness: f64, seed: u64) {
        self.lay(paint, outline.bounds(1.0), |p| {
            let edge = soft(outline.depth(tremble(p, seed)));
            edge * blotch(p, unevenness, seed)
        });
    }

    /// Draws a line of the given width with a pen that runs dry and wet.
    pub fn draw(&mut self, paint: &Paint, line: &Line, width: f64, seed: u64) {
        self.lay(paint, line.bounds(1.0), |p| {
            let wet = 1.0 + 0.35 * rough(seed, p.0 / 1.7, p.1 / 1.7);
            soft(line.distance(tremble(p, seed)) - 0.5 * width * wet) * blotch(p, 0.3, seed)
        });
    }
}

/// 1 inside, 0 outside, with a ramp of one cell where `depth` (negative inside) is zero.
pub fn soft(depth: f64) -> f64 {
    (0.5 - depth / Canvas::CELL_MM).clamp(0.0, 1.0)
}

/// Where an unsteady hand would have put the place `p`.
pub fn tremble(p: Point, seed: u64) -> Point {
    (
        p.0 + 0.13 * rough(seed ^ 0x51, p.0 / 2.3, p.1 / 2.3),
        p.1 + 0.13 * rough(seed ^ 0x52, p.0 / 2.3, p.1 / 2.3),
    )
}

/// Thickness of paint about 1, uneven by a share `unevenness`.
pub fn blotch(p: Point, unevenness: f64, seed: u64) -> f64 {
    1.0 + unevenness
        * (0.7 * rough(seed ^ 0x61, p.0 / 3.1, p.1 / 3.1) + 0.5 * rough(seed ^ 0x62, p.0 / 0.8, p.1 / 0.8))
}

/// sRGB value (0 to 1) to linear light, IEC 61966-2-1.
fn decode(value: f64) -> f64 {
    if value <= 0.04045 { value / 12.92 } else { libm::pow((value + 0.055) / 1.055, 2.4) }
}

/// Linear light (0 to 1) to an 8-bit sRGB value, IEC 61966-2-1.
pub fn encode(light: f64) -> u8 {
    let light = light.clamp(0.0, 1.0);
    let value =
        if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * libm::pow(light, 1.0 / 2.4) - 0.055 };
    libm::floor(255.0 * value + 0.5) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_layer_adds_and_hides_as_stated() {
        let below = Paint {
            adds: [10.0; COUNT],
            passes: [0.0; COUNT],
            colour: [255, 255, 255],
            hides: 1.0,
            seen: Some(Seen::Paper),
        };
        let above = Paint {
            adds: [1.0; COUNT],
            passes: [0.5; COUNT],
            colour: [0, 0, 0],
            hides: 1.0,
            seen: Some(Seen::Oak),
        };
        let mut canvas = Canvas::new();
        canvas.lay(&below, [0.0, 0.0, 80.0, 60.0], |_| 1.0);
        canvas.lay(&above, [0.0, 0.0, 80.0, 60.0], |p| if p.0 < 10.0 { 1.0 } else { 0.0 });
        assert_eq!(canvas.signal()[0], [6.0; COUNT]);
        assert_eq!(canvas.signal()[Canvas::WIDE * Canvas::HIGH - 1], [10.0; COUNT]);
        assert_eq!(canvas.light_at((5.0, 5.0)), Some([0.0; 3]));
        assert_eq!(canvas.light_at((90.0, 5.0)), None);
        assert_eq!((canvas.seen()[0], canvas.seen()[Canvas::WIDE - 1]), (Seen::Oak, Seen::Paper));
    }

    #[test]
    fn a_thin_layer_and_dirt_leave_what_is_seen() {
        let ground = Paint {
            adds: [0.0; COUNT],
            passes: [0.0; COUNT],
            colour: [9; 3],
            hides: 1.0,
            seen: Some(Seen::Paper),
        };
        let thin = Paint { hides: 0.9, seen: Some(Seen::RedEarth), ..ground };
        let dirt = Paint { hides: 0.9, seen: None, ..ground };
        let field = [0.0, 0.0, 80.0, 60.0];
        let mut canvas = Canvas::new();
        canvas.lay(&ground, field, |_| 1.0);
        canvas.lay(&thin, field, |p| if p.0 < 10.0 { 0.5 } else { 0.6 });
        canvas.lay(&dirt, field, |_| 1.0);
        assert_eq!((canvas.seen()[0], canvas.seen()[Canvas::WIDE - 1]), (Seen::Paper, Seen::RedEarth));
    }

    #[test]
    fn colours_survive_decoding_and_encoding() {
        for value in 0..=255_u8 {
            assert_eq!(encode(decode(f64::from(value) / 255.0)), value);
        }
    }
}
