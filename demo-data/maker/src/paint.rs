//! What is laid on the board, layer by layer, and how it looks.

use crate::random::rough;
use crate::shape::{Line, Point};

/// Millimetres in one unit of the drawing; all places in this program are in these units.
pub const UNIT_MM: f64 = 2.0;
/// Step between two measured points, in units of the drawing.
pub const STEP: f64 = 0.25;
/// Measured points in a row.
pub const WIDTH: usize = 300;
/// Rows of measured points.
pub const HEIGHT: usize = 220;
/// Cells of the canvas along one step.
pub const FINE: usize = 4;

/// What the eye sees at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Seen {
    Nothing,
    Oak,
    Paper,
    Indigo,
    IronGall,
    RedEarth,
    CopperGreen,
    RedLead,
    LeadWhite,
    Vermilion,
    Pennant,
    Smalt,
    Yellow,
    BoneBlack,
    Gold,
    Repair,
    Iron,
}

/// A material: what a full layer of it is made of. Invented for the example, chosen to be plausible.
#[derive(Debug)]
pub struct Paint {
    /// Its place among [`crate::palette::ALL`].
    pub index: u8,
    /// Id in the list of pigments, or a word of our own for what is none.
    pub id: &'static str,
    /// Elements with their shares of the mass.
    pub made_of: &'static [(&'static str, f64)],
    /// Density of the dry layer, g/cm3.
    pub density: f64,
    /// Thickness of a full layer in micrometres.
    pub full_um: f64,
    /// Colour of a full layer, sRGB.
    pub colour: [u8; 3],
    /// How far a full layer hides what lies below it from the eye, 0 to 1.
    pub hides: f64,
    /// What is seen where it hides what lies below; `None` for one that only darkens, dirt and shade.
    pub seen: Option<Seen>,
}

/// How much of a paint lies at a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// The paint's `index`.
    pub paint: u8,
    /// In full layers.
    pub amount: f64,
}

/// The sheet while it is being painted, `FINE` cells to the step in both directions.
pub struct Canvas {
    layers: Vec<Vec<Layer>>,
    light: Vec<[f64; 3]>,
    seen: Vec<Seen>,
}

impl Canvas {
    /// Cells in a row.
    pub const WIDE: usize = WIDTH * FINE;
    /// Rows of cells.
    pub const HIGH: usize = HEIGHT * FINE;
    /// Side of a cell.
    pub const CELL: f64 = STEP / FINE as f64;

    /// Nothing at all: no layers, no light.
    pub fn new() -> Self {
        let cells = Self::WIDE * Self::HIGH;
        Self {
            layers: vec![Vec::new(); cells],
            light: vec![[0.0; 3]; cells],
            seen: vec![Seen::Nothing; cells],
        }
    }

    /// The uppermost layer that hides at least half of what lies below it, row by row.
    pub fn seen(&self) -> &[Seen] {
        &self.seen
    }

    /// What lies in each cell, from the board upward, row by row.
    pub fn layers(&self) -> &[Vec<Layer>] {
        &self.layers
    }

    /// Linear light (0 to 1) in red, green and blue at a place, from the nearest four cells.
    pub fn light_at(&self, p: Point) -> Option<[f64; 3]> {
        let (x, y) = (p.0 / Self::CELL - 0.5, p.1 / Self::CELL - 0.5);
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
    /// inside `bounds` (left, top, right, bottom).
    pub fn lay(&mut self, paint: &Paint, bounds: [f64; 4], thickness: impl Fn(Point) -> f64) {
        let colour = paint.colour.map(|part| decode(f64::from(part) / 255.0));
        let cell = |mm: f64, most: usize| (libm::floor(mm / Self::CELL).max(0.0) as usize).min(most);
        for row in cell(bounds[1], Self::HIGH)..cell(bounds[3] + Self::CELL, Self::HIGH) {
            let y = (row as f64 + 0.5) * Self::CELL;
            for column in cell(bounds[0], Self::WIDE)..cell(bounds[2] + Self::CELL, Self::WIDE) {
                let laid = thickness(((column as f64 + 0.5) * Self::CELL, y));
                if laid <= 0.0 {
                    continue;
                }
                let cover = laid.min(1.0);
                let index = row * Self::WIDE + column;
                match self.layers[index].last_mut() {
                    Some(top) if top.paint == paint.index => top.amount += laid,
                    _ => self.layers[index].push(Layer { paint: paint.index, amount: laid }),
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
    (0.5 - depth / Canvas::CELL).clamp(0.0, 1.0)
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

    use crate::palette::{INDIGO, OAK, PAPER, STAIN};

    #[test]
    fn layers_lie_on_each_other_and_hide_as_stated() {
        let field = [0.0, 0.0, 80.0, 60.0];
        let mut canvas = Canvas::new();
        canvas.lay(&OAK, field, |_| 1.0);
        canvas.lay(&PAPER, field, |p| if p.0 < 10.0 { 0.8 } else { 0.0 });
        canvas.lay(&PAPER, field, |p| if p.0 < 10.0 { 0.1 } else { 0.0 });
        let (first, last) = (&canvas.layers()[0], &canvas.layers()[Canvas::WIDE * Canvas::HIGH - 1]);
        assert_eq!((first.len(), last.len()), (2, 1));
        assert!((first[1].amount - 0.9).abs() < 1e-12);
        assert_eq!((canvas.seen()[0], canvas.seen()[Canvas::WIDE - 1]), (Seen::Paper, Seen::Oak));
        assert_eq!(canvas.light_at((90.0, 5.0)), None);
    }

    #[test]
    fn a_thin_layer_and_dirt_leave_what_is_seen() {
        let field = [0.0, 0.0, 80.0, 60.0];
        let mut canvas = Canvas::new();
        canvas.lay(&PAPER, field, |_| 1.0);
        canvas.lay(&INDIGO, field, |p| if p.0 < 10.0 { 0.5 } else { 1.0 });
        canvas.lay(&STAIN, field, |_| 1.0);
        assert_eq!((canvas.seen()[0], canvas.seen()[Canvas::WIDE - 1]), (Seen::Paper, Seen::Indigo));
    }

    #[test]
    fn colours_survive_decoding_and_encoding() {
        for value in 0..=255_u8 {
            assert_eq!(encode(decode(f64::from(value) / 255.0)), value);
        }
    }
}
