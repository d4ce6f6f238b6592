//! Places counted from the edges of the object: a corner and a point along each of its two edges are marked on the grid.

mod trouble;

pub use trouble::ObjectTrouble;

use super::{Orientation, Point, Step};

/// Half-width of setting a mark, in grid pixels. Common practice, no source.
pub const MARKING_PX: f64 = 0.5;
/// A mark nearer to the corner than this says too little of where its edge runs, in grid pixels.
pub const NEAREST_MARK_PX: f64 = 5.0;

/// A corner of the object, as the maps lie.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs)] // the names say it all
pub enum Corner {
    UpperLeft,
    UpperRight,
    LowerRight,
    LowerLeft,
}

impl Corner {
    /// All of them, clockwise.
    pub const ALL: [Self; 4] = [Self::UpperLeft, Self::UpperRight, Self::LowerRight, Self::LowerLeft];

    /// The words in calls and records.
    pub fn words(self) -> &'static str {
        match self {
            Self::UpperLeft => "upper left",
            Self::UpperRight => "upper right",
            Self::LowerRight => "lower right",
            Self::LowerLeft => "lower left",
        }
    }

    /// The corner of such words.
    pub fn from_words(words: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|corner| corner.words() == words)
    }

    /// The vertical edge that ends in it: "left" or "right".
    pub fn side(self) -> &'static str {
        if self.is_left() { "left" } else { "right" }
    }

    /// The horizontal edge that ends in it: "upper" or "lower".
    pub fn level(self) -> &'static str {
        if self.is_upper() { "upper" } else { "lower" }
    }

    fn is_left(self) -> bool {
        matches!(self, Self::UpperLeft | Self::LowerLeft)
    }

    fn is_upper(self) -> bool {
        matches!(self, Self::UpperLeft | Self::UpperRight)
    }

    /// The same corner of a picture that is laid otherwise.
    fn oriented(self, orientation: Orientation) -> Self {
        let at = (u32::from(!self.is_left()), u32::from(!self.is_upper()));
        match orientation.place(at, (2, 2)) {
            (0, 0) => Self::UpperLeft,
            (1, 0) => Self::UpperRight,
            (1, 1) => Self::LowerRight,
            _ => Self::LowerLeft,
        }
    }
}

/// Where the object lies on the grid. All places are of the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ObjectFrame {
    /// Which corner is marked.
    pub corner: Corner,
    /// The corner itself.
    pub at: Point,
    /// A point along the horizontal edge that ends in the corner.
    pub across: Point,
    /// A point along the vertical edge that ends in the corner.
    pub down: Point,
}

/// What limits how well a place is known. Half-widths; they are added in squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Of setting each mark, in grid pixels.
    pub marking_px: f64,
    /// Distance by which places of the photo that the marks were set on may lie wrong on the grid, in grid pixels; 0 for
    /// marks that were set on a map.
    pub alignment_px: f64,
    /// Diameter of the beam in micrometres, where it is known.
    pub beam_um: Option<f64>,
}

impl Default for Limits {
    /// Marks that were set on a map, with [`MARKING_PX`].
    fn default() -> Self {
        Self { marking_px: MARKING_PX, alignment_px: 0.0, beam_um: None }
    }
}

/// A place counted from two edges.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ObjectPlace {
    /// The corner in which the two edges meet.
    pub corner: Corner,
    /// Distance from the left or right edge; negative beyond it.
    pub from_side: f64,
    /// Distance from the upper or lower edge; negative beyond it.
    pub from_level: f64,
    /// Half-width of `from_side`.
    pub from_side_plus_minus: f64,
    /// Half-width of `from_level`.
    pub from_level_plus_minus: f64,
    /// True for millimetres, false for grid pixels, where the step is not known.
    pub is_mm: bool,
}

impl ObjectPlace {
    /// The larger half-width of the two.
    pub fn plus_minus(&self) -> f64 {
        self.from_side_plus_minus.max(self.from_level_plus_minus)
    }
}

impl ObjectFrame {
    /// What is wrong with the marks, if anything. Angles are those of the object, so that they depend on the step.
    pub fn trouble(&self, step: Option<Step>) -> Option<ObjectTrouble> {
        let places = [self.at, self.across, self.down];
        // No grid is larger; this also refuses what is no number.
        if !places.iter().all(|p| p.0.abs() < 1e9 && p.1.abs() < 1e9) {
            return Some(ObjectTrouble::NotFinite);
        }
        let apart = |a: Point, b: Point| length((b.0 - a.0, b.1 - a.1));
        if apart(self.at, self.across) < NEAREST_MARK_PX {
            return Some(ObjectTrouble::TooNear { edge: self.corner.level() });
        }
        if apart(self.at, self.down) < NEAREST_MARK_PX {
            return Some(ObjectTrouble::TooNear { edge: self.corner.side() });
        }
        let scale = Scale::of(step);
        let (across, down) = (scale.between(self.at, self.across), scale.between(self.at, self.down));
        let (across_length, down_length) = (length(across), length(down));
        // Sine of the angle between the edges; 30 degrees are the least.
        if cross(across, down).abs() < 0.5 * across_length * down_length {
            return Some(ObjectTrouble::Parallel);
        }
        // Cosines of the angles with what the words say; 45 degrees are the most.
        let half = core::f64::consts::FRAC_1_SQRT_2;
        let rightward = if self.corner.is_left() { across.0 } else { -across.0 };
        let downward = if self.corner.is_upper() { down.1 } else { -down.1 };
        if rightward < half * across_length || downward < half * down_length {
            return Some(ObjectTrouble::OtherCorner { corner: self.corner });
        }
        None
    }

    /// A place of the grid, counted from the two edges: the distances at right angles to each, whatever the angle between them.
    /// In millimetres with a step, else in pixels. `None` where the marks are not sound (see [`Self::trouble`]) or the place
    /// is not finite.
    ///
    /// The half-widths follow from the marks with the lever that the place has beyond them, from the alignment of the photo
    /// (at worst it shifts both marks of an edge alike) and from half a step or half the beam, whichever is larger, for the
    /// place itself.
    pub fn place(&self, place: Point, step: Option<Step>, limits: &Limits) -> Option<ObjectPlace> {
        let is_sound = self.trouble(step).is_none() && place.0.is_finite() && place.1.is_finite();
        if !is_sound {
            return None;
        }
        let scale = Scale::of(step);
        let level = scale.distance((self.at, self.across), self.down, place, limits);
        let side = scale.distance((self.at, self.down), self.across, place, limits);
        Some(ObjectPlace {
            corner: self.corner,
            from_side: side.0,
            from_level: level.0,
            from_side_plus_minus: side.1,
            from_level_plus_minus: level.1,
            is_mm: step.is_some(),
        })
    }

    /// The same marks on a grid of `size` (before) that is laid so.
    pub fn oriented(&self, orientation: Orientation, size: (u32, u32)) -> Self {
        let (width, height) = (f64::from(size.0), f64::from(size.1));
        let place = |(x, y): Point| {
            let x = if orientation.is_mirrored() { width - x } else { x };
            match orientation.quarter_turns() {
                0 => (x, y),
                1 => (height - y, x),
                2 => (width - x, height - y),
                _ => (y, width - x),
            }
        };
        let (one, other) =
            if orientation.swaps_sides() { (self.down, self.across) } else { (self.across, self.down) };
        Self {
            corner: self.corner.oriented(orientation),
            at: place(self.at),
            across: place(one),
            down: place(other),
        }
    }
}

/// Lengths of a grid pixel across and down: millimetres, or 1 without a step.
struct Scale {
    x: f64,
    y: f64,
    is_mm: bool,
}

impl Scale {
    fn of(step: Option<Step>) -> Self {
        match step {
            Some(step) => Self { x: step.x_um() / 1000.0, y: step.y_um() / 1000.0, is_mm: true },
            None => Self { x: 1.0, y: 1.0, is_mm: false },
        }
    }

    fn between(&self, from: Point, to: Point) -> Point {
        ((to.0 - from.0) * self.x, (to.1 - from.1) * self.y)
    }

    /// Distance of a place from the line through two marks, positive on the side of `inside`, and its half-width.
    fn distance(&self, line: (Point, Point), inside: Point, place: Point, limits: &Limits) -> (f64, f64) {
        let along = self.between(line.0, line.1);
        let (to, in_it) = (self.between(line.0, place), self.between(line.0, inside));
        let long = length(along);
        let sign = if cross(along, in_it) < 0.0 { -1.0 } else { 1.0 };
        let distance = sign * cross(along, to) / long;
        // Half-widths are of pixels, across the line.
        let normal = (-along.1 / long, along.0 / long);
        let across = |x: f64, y: f64| length((normal.0 * x, normal.1 * y));
        let pixel = across(self.x, self.y);
        // Where the foot of the place lies: 0 at the first mark, 1 at the second.
        let share = (along.0 * to.0 + along.1 * to.1) / (long * long);
        let lever = (1.0 - share) * (1.0 - share) + share * share;
        let marks = limits.marking_px * pixel;
        // Per coordinate; a distance has two.
        let alignment = limits.alignment_px * pixel * core::f64::consts::FRAC_1_SQRT_2;
        let beam = limits.beam_um.filter(|_| self.is_mm).map_or(0.0, |um| 0.5 * um / 1000.0);
        let reading = (0.5 * pixel).max(beam);
        let squares = marks * marks * lever + alignment * alignment * lever.max(1.0) + reading * reading;
        (distance, squares.sqrt())
    }
}

fn cross(a: Point, b: Point) -> f64 {
    a.0 * b.1 - a.1 * b.0
}

fn length(v: Point) -> f64 {
    (v.0 * v.0 + v.1 * v.1).sqrt()
}

#[cfg(test)]
mod tests;
