//! Where everything stands on a saved picture.

use super::key::Key;
use super::sheet::{Item, Place};
use super::text::{CAPITAL, LINE, Style, Type};
use crate::colour::Rgb;

/// The surround of the picture: a neutral grey of about a third of the light of white, after ISO 3664, which asks for a
/// neutral and matt surround of 10 to 60 % (value from memory).
pub const SURROUND: Rgb = Rgb([154; 3]);
/// Text.
pub const INK: u8 = 24;
/// Text of second rank.
pub const PALE_INK: u8 = 96;
/// Lines around swatches.
pub const HAIRLINE: Rgb = Rgb([128; 3]);
/// A picture narrower than this share of the sheet has its key and caption beside it.
const NARROW: f32 = 0.62;

/// Sizes that everything else follows from, in pixels.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measures {
    /// Width of the sheet.
    pub width: u32,
    /// Size of the text.
    pub text: f32,
}

impl Measures {
    /// 8 points where that suits the width of the sheet; small and large sheets have smaller and larger text.
    pub fn new(width: u32, dots_per_inch: f64) -> Self {
        let points = (8.0 / 72.0 * dots_per_inch) as f32;
        let sheet = width as f32;
        Self { width, text: points.clamp(sheet / 88.0, sheet / 40.0).max(10.5) }
    }

    /// This many text sizes, in whole pixels.
    pub fn em(self, sizes: f32) -> u32 {
        (self.text * sizes + 0.5) as u32
    }

    /// White around everything.
    pub fn margin(self) -> u32 {
        self.em(1.9)
    }

    /// Grey around the picture.
    pub fn surround(self) -> u32 {
        self.em(0.9)
    }

    /// Width between the margins.
    pub fn content(self) -> u32 {
        self.width - 2 * self.margin()
    }

    /// The widest that the picture may be.
    pub fn widest_picture(self) -> u32 {
        self.content() - 2 * self.surround()
    }

    /// The highest that it may be: a sheet of it is about as high as a page is.
    pub fn highest_picture(self) -> u32 {
        self.content() * 6 / 5
    }

    /// The size of a pattern's unit on the sheet: a third of a point and more, so that it can be seen in print.
    pub fn grain(self) -> u32 {
        self.em(1.0 / 11.0).max(1)
    }

    /// A line of width that is seen, at least a pixel.
    pub fn hairline(self) -> u32 {
        self.em(0.05).max(1)
    }

    /// Text of this size, in text sizes.
    pub fn style(self, sizes: f32, is_bold: bool, grey: u8) -> Style {
        Style { size: self.text * sizes, is_bold, grey }
    }
}

/// A column into which things are put from the top.
pub struct Column<'a> {
    /// Sizes.
    pub measures: Measures,
    /// The font.
    pub faces: &'a Type,
    /// Left edge.
    pub x: u32,
    /// Width.
    pub width: u32,
    /// Where the next thing goes.
    pub y: u32,
}

impl Column<'_> {
    /// A paragraph.
    pub fn text(&mut self, text: &str, style: Style, items: &mut Vec<Item>) {
        for line in self.faces.lines(text, self.width as f32, style) {
            let baseline = self.y as f32 + style.size * (LINE + CAPITAL) / 2.0;
            items.push(Item::Text { x: self.x as f32, y: baseline.floor(), text: line, style });
            self.y += (style.size * LINE).ceil() as u32;
        }
    }

    /// An empty height, in text sizes.
    pub fn gap(&mut self, sizes: f32) {
        self.y += self.measures.em(sizes);
    }
}

/// What stands on the sheet beside the picture.
pub struct Words<'a> {
    /// Above the picture; may be empty.
    pub title: &'a str,
    /// Length of the scale bar in pixels and what it stands for.
    pub bar: Option<(u32, String)>,
    /// Below the key; may be empty.
    pub caption: &'a str,
    /// The last line.
    pub foot: &'a str,
}

/// Everything in its place, and the height of the sheet; `width` and `height` are those of the enlarged picture.
pub fn arranged(
    faces: &Type,
    measures: Measures,
    (width, height): (u32, u32),
    key: &Key<'_>,
    words: &Words<'_>,
) -> (Vec<Item>, u32) {
    let mut items = Vec::new();
    let margin = measures.margin();
    let mut column = Column { measures, faces, x: margin, width: measures.content(), y: margin };
    if !words.title.is_empty() {
        column.text(words.title, measures.style(1.4, true, INK), &mut items);
        column.gap(0.5);
    }
    let (top, surround) = (column.y, measures.surround());
    let is_beside = width as f32 <= NARROW * measures.widest_picture() as f32
        && height as f32 >= 0.2 * measures.widest_picture() as f32
        && measures.content() - width - 2 * surround >= measures.em(16.0);
    let band = if is_beside { width + 2 * surround } else { measures.content() };
    items.push(Item::Fill(Place { x: margin, y: top, width: band, height: height + 2 * surround }, SURROUND));
    items.push(Item::Picture { x: margin + (band - width) / 2, y: top + surround, grain: key.grain });
    let bottom = top + height + 2 * surround;
    if is_beside {
        let gap = measures.em(1.6);
        column.x = margin + band + gap;
        column.width = measures.content() - band - gap;
    } else {
        column.y = bottom;
        column.gap(0.8);
    }
    if let Some((length, text)) = &words.bar {
        scale_bar(&mut column, *length, text, &mut items);
        column.gap(0.7);
    }
    key.put(&mut column, &mut items);
    if !words.caption.is_empty() {
        column.gap(0.8);
        column.text(words.caption, measures.style(1.0, false, INK), &mut items);
    }
    let mut foot = Column { x: margin, width: measures.content(), y: column.y.max(bottom), ..column };
    foot.gap(0.8);
    foot.text(words.foot, measures.style(0.78, false, PALE_INK), &mut items);
    (items, foot.y + margin - measures.em(0.3))
}

/// A bar of exactly `length` pixels, what it stands for beside it or, where there is no room, below.
fn scale_bar(column: &mut Column<'_>, length: u32, text: &str, items: &mut Vec<Item>) {
    let measures = column.measures;
    let style = measures.style(1.0, false, INK);
    let thick = measures.em(0.3).max(2);
    let line = (style.size * LINE).ceil() as u32;
    let place = Place { x: column.x, y: column.y + (line - thick) / 2, width: length, height: thick };
    items.push(Item::Fill(place, Rgb([INK; 3])));
    let gap = measures.em(0.6);
    let beside = Column { x: column.x + length + gap, ..*column };
    if length + gap + column.faces.width(text, style).ceil() as u32 <= column.width {
        let mut beside = Column { width: column.width - length - gap, ..beside };
        beside.text(text, style, items);
        column.y = beside.y;
    } else {
        column.y += line;
        column.text(text, style, items);
    }
}
