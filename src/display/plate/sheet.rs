//! The sheet of a saved picture: what is placed on it, and its pixels.

use super::text::{Style, Type};
use crate::colour::{ClassColour, Rgb};
use crate::display::Picture;
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;

/// A rectangle of whole pixels.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Place {
    /// Left edge.
    pub x: u32,
    /// Upper edge.
    pub y: u32,
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
}

/// Something on the sheet.
#[derive(Debug, Clone, PartialEq)]
pub enum Item {
    /// An even colour.
    Fill(Place, Rgb),
    /// A class colour with its pattern, enlarged by a whole factor.
    Patterned(Place, ClassColour, u32),
    /// Colours at even distances from left to right, straight between them.
    Scale(Place, Vec<Rgb>),
    /// A line of text from `x` with its baseline at `y`.
    Text {
        /// Left end.
        x: f32,
        /// Baseline.
        y: f32,
        /// What it says.
        text: String,
        /// How it looks.
        style: Style,
    },
    /// The picture itself, enlarged by a whole factor.
    Picture {
        /// Its left edge.
        x: u32,
        /// Its upper edge.
        y: u32,
        /// Sheet pixels for each picture pixel.
        grain: u32,
    },
}

/// Pixels of three bytes, sRGB.
pub struct Sheet {
    /// Pixels across.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Row by row.
    pub rgb: Vec<u8>,
}

impl Sheet {
    /// A white one.
    pub fn new(width: u32, height: u32) -> Result<Self, OutOfMemory> {
        Ok(Self { width, height, rgb: try_filled_vec(u64::from(width) * u64::from(height) * 3, 255)? })
    }

    fn pixel(&mut self, x: u32, y: u32) -> Option<&mut [u8]> {
        if x >= self.width || y >= self.height {
            return None;
        }
        let at = (y as usize * self.width as usize + x as usize) * 3;
        self.rgb.get_mut(at..at + 3)
    }

    fn paint(&mut self, place: Place, colour: impl Fn(u32, u32) -> Rgb) {
        for y in 0..place.height {
            for x in 0..place.width {
                if let Some(pixel) = self.pixel(place.x + x, place.y + y) {
                    pixel.copy_from_slice(&colour(x, y).0);
                }
            }
        }
    }

    /// Puts an item on it; what would lie outside is left out.
    pub fn put(&mut self, item: &Item, faces: &Type, picture: &Picture) {
        match item {
            Item::Fill(place, colour) => self.paint(*place, |_, _| *colour),
            Item::Patterned(place, colour, grain) => self.paint(*place, |x, y| {
                if colour.pattern.is_marked(x / grain, y / grain) { colour.mark } else { colour.ground }
            }),
            Item::Scale(place, colours) => {
                let width = place.width;
                self.paint(*place, |x, _| between(colours, x, width));
            }
            Item::Text { x, y, text, style } => faces.draw(text, *style, (*x, *y), |x, y, covered| {
                let (Ok(x), Ok(y)) = (u32::try_from(x), u32::try_from(y)) else { return };
                for channel in self.pixel(x, y).into_iter().flatten() {
                    let ground = f32::from(*channel);
                    *channel = (ground + (f32::from(style.grey) - ground) * covered + 0.5) as u8;
                }
            }),
            Item::Picture { x: left, y: top, grain } => {
                let row_length = (picture.width as usize).max(1) * 4;
                for (y, row) in (0..).zip(picture.rgba.chunks_exact(row_length)) {
                    for (x, pixel) in (0..).zip(row.chunks_exact(4)) {
                        // A picture is opaque where it is on the map and nothing outside.
                        if pixel[3] == 255 {
                            let (x, y) = (left + x * grain, top + y * grain);
                            let place = Place { x, y, width: *grain, height: *grain };
                            self.paint(place, |_, _| Rgb([pixel[0], pixel[1], pixel[2]]));
                        }
                    }
                }
            }
        }
    }
}

/// The colour of column `x` of a scale of this width.
fn between(colours: &[Rgb], x: u32, width: u32) -> Rgb {
    let (Some(first), Some(last)) = (colours.first(), colours.last()) else { return Rgb([255; 3]) };
    let (steps, reach) = (colours.len() as u64 - 1, u64::from(width.max(2) - 1));
    let at = u64::from(x) * steps;
    let Some([low, high]) = colours.get((at / reach) as usize..(at / reach) as usize + 2) else {
        return if x == 0 { *first } else { *last };
    };
    let rest = at % reach;
    Rgb([0, 1, 2].map(|c| {
        let (low, high) = (u64::from(low.0[c]), u64::from(high.0[c]));
        ((low * (reach - rest) + high * rest + reach / 2) / reach) as u8
    }))
}
