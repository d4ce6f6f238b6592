//! Words on a saved picture: measured, broken into lines and drawn with a subset of Noto Sans (see `assets/font`). The
//! outlines are read by `ttf-parser` and filled by `ab_glyph_rasterizer`; both add, multiply and round single-precision
//! numbers only, so the pixels are the same on every target. A character that the subset does not have is drawn as an
//! empty box.

use crate::notice::Fault;
use ab_glyph_rasterizer::{Rasterizer, point};
use ttf_parser::gpos::{PairAdjustment, PositioningSubtable};
use ttf_parser::{Face, GlyphId, OutlineBuilder};

const REGULAR: &[u8] = include_bytes!("../../../assets/font/NotoSans-Regular-subset.ttf");
const BOLD: &[u8] = include_bytes!("../../../assets/font/NotoSans-Bold-subset.ttf");
const SYMBOLS: &[u8] = include_bytes!("../../../assets/font/NotoSansMath-subset.ttf");

/// Distance of two lines of text, in sizes of it.
pub const LINE: f32 = 1.36;
/// Height of a capital letter, in sizes of the text.
pub const CAPITAL: f32 = 0.714;
/// Width of the box for a character that the font does not have, in sizes of the text.
const BOX: f32 = 0.62;

/// How words look.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Size in pixels.
    pub size: f32,
    /// Bold or regular.
    pub is_bold: bool,
    /// Its grey, from 0 (black) to 255.
    pub grey: u8,
}

/// The faces of the font.
pub struct Type {
    faces: [Face<'static>; 3],
}

/// A character in its place.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Placed {
    x: f32,
    /// Which face, and the glyph in it; `None` is a box.
    glyph: Option<(usize, GlyphId)>,
}

impl Type {
    /// Reads the built-in font.
    ///
    /// # Errors
    /// The font that this program was built with is damaged.
    pub fn new() -> Result<Self, Fault> {
        let parsed = |bytes| {
            Face::parse(bytes, 0)
                .map_err(|e| Fault::new("no_font", format!("The font of this program is damaged: {e}.")))
        };
        Ok(Self { faces: [parsed(REGULAR)?, parsed(BOLD)?, parsed(SYMBOLS)?] })
    }

    fn glyph(&self, style: Style, character: char) -> Option<(usize, GlyphId)> {
        let own = usize::from(style.is_bold);
        [own, 2].into_iter().find_map(|i| Some((i, self.faces[i].glyph_index(character)?)))
    }

    /// True if the font has it.
    #[cfg(test)]
    pub fn has(&self, character: char) -> bool {
        self.glyph(Style { size: 1.0, is_bold: false, grey: 0 }, character).is_some()
    }

    /// Puts characters beside each other; returns the width.
    fn place(&self, text: &str, style: Style, mut each: impl FnMut(Placed)) -> f32 {
        let (mut x, mut before) = (0.0, None);
        for character in text.chars() {
            let character = if character == '\t' { ' ' } else { character };
            let glyph = self.glyph(style, character);
            let Some((face, id)) = glyph else {
                each(Placed { x, glyph });
                x += BOX * style.size;
                before = None;
                continue;
            };
            let scale = style.size / f32::from(self.faces[face].units_per_em());
            if let Some((face_before, id_before)) = before
                && face_before == face
            {
                x += scale * f32::from(kerning(&self.faces[face], id_before, id));
            }
            each(Placed { x, glyph });
            x += scale * f32::from(self.faces[face].glyph_hor_advance(id).unwrap_or(0));
            before = glyph;
        }
        x
    }

    /// Width of a line in pixels.
    pub fn width(&self, text: &str, style: Style) -> f32 {
        self.place(text, style, |_| {})
    }

    /// Breaks text into lines no wider than `width` pixels: at line ends, else at spaces, and within a word only where
    /// it is wider than a line. Spaces that do not break (U+00A0, U+2007, U+2009, U+202F) hold their words together, and
    /// so does the space between an element and its line ("Fe K").
    /// Every other character stands in some line.
    pub fn lines(&self, text: &str, width: f32, style: Style) -> Vec<String> {
        let mut lines = Vec::new();
        for paragraph in text.replace("\r\n", "\n").split(['\n', '\r']) {
            let mut line = String::new();
            for word in words(paragraph) {
                let longer = if line.is_empty() { word.clone() } else { format!("{line} {word}") };
                if self.width(&longer, style) <= width {
                    line = longer;
                    continue;
                }
                if !line.is_empty() {
                    lines.push(core::mem::take(&mut line));
                }
                let mut parts = self.parts(&word, width, style);
                line = parts.pop().unwrap_or_default();
                lines.append(&mut parts);
            }
            lines.push(line);
        }
        lines
    }

    /// A word in parts no wider than a line, at least one character each.
    fn parts(&self, word: &str, width: f32, style: Style) -> Vec<String> {
        let (mut parts, mut part, mut so_far) = (Vec::new(), String::new(), 0.0);
        for character in word.chars() {
            // Kerning is left out here: it only ever matters in the last place of a line.
            let advance = self.width(character.encode_utf8(&mut [0; 4]), style);
            if !part.is_empty() && so_far + advance > width {
                parts.push(core::mem::take(&mut part));
                so_far = 0.0;
            }
            part.push(character);
            so_far += advance;
        }
        parts.push(part);
        parts
    }

    /// Draws a line from `x` on with its baseline at `y`. `pixel` gets a place and how much of it is covered, 0 to 1.
    pub fn draw(&self, text: &str, style: Style, (x, y): (f32, f32), mut pixel: impl FnMut(i64, i64, f32)) {
        self.place(text, style, |placed| {
            let mut outline = Outline::default();
            match placed.glyph {
                Some((face, id)) => {
                    outline.scale = style.size / f32::from(self.faces[face].units_per_em());
                    outline.origin = (x + placed.x, y);
                    self.faces[face].outline_glyph(id, &mut outline);
                }
                None => {
                    outline.scale = style.size;
                    outline.origin = (x + placed.x, y);
                    outline.frame(BOX);
                }
            }
            outline.fill(&mut pixel);
        });
    }
}

/// Words as they may be parted: at spaces, but not before K, L or M alone, with or without a mark behind it.
fn words(paragraph: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    for word in paragraph.split([' ', '\t']) {
        let mut letters = word.chars();
        let is_line = matches!(letters.next(), Some('K' | 'L' | 'M')) && !letters.any(char::is_alphanumeric);
        match words.last_mut() {
            Some(before) if is_line && !before.is_empty() => {
                before.push(' ');
                before.push_str(word);
            }
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// What a pair of glyphs is moved together, in units of the font.
fn kerning(face: &Face<'_>, left: GlyphId, right: GlyphId) -> i16 {
    let Some(table) = face.tables().gpos else { return 0 };
    for i in 0..table.lookups.len() {
        let Some(lookup) = table.lookups.get(i) else { continue };
        for subtable in lookup.subtables.into_iter::<PositioningSubtable<'_>>() {
            let PositioningSubtable::Pair(pair) = subtable else { continue };
            let Some(index) = pair.coverage().get(left) else { continue };
            let found = match pair {
                PairAdjustment::Format1 { sets, .. } => sets.get(index).and_then(|set| set.get(right)),
                PairAdjustment::Format2 { classes, matrix, .. } => {
                    matrix.get((classes.0.get(left), classes.1.get(right)))
                }
            };
            if let Some((first, _)) = found {
                return first.x_advance;
            }
        }
    }
    0
}

/// The lines and curves of a glyph, in pixels.
#[derive(Default)]
struct Outline {
    scale: f32,
    origin: (f32, f32),
    steps: Vec<Step>,
    start: (f32, f32),
    at: (f32, f32),
}

enum Step {
    Line([(f32, f32); 2]),
    Quad([(f32, f32); 3]),
    Cubic([(f32, f32); 4]),
}

impl Step {
    fn points(&self) -> &[(f32, f32)] {
        match self {
            Step::Line(points) => points,
            Step::Quad(points) => points,
            Step::Cubic(points) => points,
        }
    }
}

impl Outline {
    fn pixel(&self, x: f32, y: f32) -> (f32, f32) {
        (self.origin.0 + x * self.scale, self.origin.1 - y * self.scale)
    }

    /// An empty box of this width, as high as a capital letter.
    fn frame(&mut self, width: f32) {
        let thick = 0.06;
        for (inset, is_hole) in [(0.06, false), (0.06 + thick, true)] {
            let (left, right, top, bottom) = (inset, width - inset, CAPITAL - inset + 0.06, inset - 0.06);
            let mut corners = [(left, bottom), (left, top), (right, top), (right, bottom)];
            if is_hole {
                corners.reverse();
            }
            self.move_to(corners[0].0, corners[0].1);
            for (x, y) in &corners[1..] {
                self.line_to(*x, *y);
            }
            self.close();
        }
    }

    /// Fills it: `pixel` gets every place that is covered at all.
    fn fill(&self, pixel: &mut impl FnMut(i64, i64, f32)) {
        let points = || self.steps.iter().flat_map(|step| step.points());
        let (Some(left), Some(top)) =
            (points().map(|p| p.0).reduce(f32::min), points().map(|p| p.1).reduce(f32::min))
        else {
            return;
        };
        let (left, top) = (left.floor(), top.floor());
        let right = points().map(|p| p.0).fold(left, f32::max).ceil();
        let bottom = points().map(|p| p.1).fold(top, f32::max).ceil();
        let (width, height) = ((right - left) as usize + 1, (bottom - top) as usize + 1);
        let mut raster = Rasterizer::new(width, height);
        let at = |(x, y): (f32, f32)| point(x - left, y - top);
        for step in &self.steps {
            match *step {
                Step::Line([a, b]) => raster.draw_line(at(a), at(b)),
                Step::Quad([a, b, c]) => raster.draw_quad(at(a), at(b), at(c)),
                Step::Cubic([a, b, c, d]) => raster.draw_cubic(at(a), at(b), at(c), at(d)),
            }
        }
        raster.for_each_pixel_2d(|x, y, covered| {
            let covered = covered.clamp(0.0, 1.0);
            if covered > 0.0 {
                pixel(left as i64 + i64::from(x), top as i64 + i64::from(y), covered);
            }
        });
    }
}

impl OutlineBuilder for Outline {
    fn move_to(&mut self, x: f32, y: f32) {
        self.at = self.pixel(x, y);
        self.start = self.at;
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let to = self.pixel(x, y);
        self.steps.push(Step::Line([self.at, to]));
        self.at = to;
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (by, to) = (self.pixel(x1, y1), self.pixel(x, y));
        self.steps.push(Step::Quad([self.at, by, to]));
        self.at = to;
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (first, second, to) = (self.pixel(x1, y1), self.pixel(x2, y2), self.pixel(x, y));
        self.steps.push(Step::Cubic([self.at, first, second, to]));
        self.at = to;
    }

    fn close(&mut self) {
        if self.at != self.start {
            self.steps.push(Step::Line([self.at, self.start]));
        }
        self.at = self.start;
    }
}
