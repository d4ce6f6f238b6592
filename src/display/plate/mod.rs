//! A picture to keep: on a white sheet with its title, scale bar, key and caption, as PNG. Deterministic: the same
//! content and size give the same bytes, native and in wasm.

mod key;
mod layout;
mod sheet;
mod text;
mod write;

use super::Picture;
use crate::digest::sha256_hex;
use crate::geometry::{Step, Window, round_length};
use crate::notice::Fault;
use crate::numerics::figure::THIN_SPACE;
use key::Key;
use layout::{Measures, Words, arranged};
use sheet::Sheet;
use text::Type;

/// The narrowest and the widest sheet, in pixels.
pub const WIDTHS: core::ops::RangeInclusive<u32> = 400..=8000;
/// The lowest and the highest resolution, in dots per inch.
pub const RESOLUTIONS: core::ops::RangeInclusive<f64> = 36.0..=2400.0;
/// Width of a sheet unless stated, in mm: the text of a page.
pub const WIDTH_MM: f64 = 170.0;
/// Resolution unless stated, in dots per inch.
pub const RESOLUTION: f64 = 300.0;
/// Name and version, as it stands on a sheet.
const PROGRAM: &str = concat!("Limner ", env!("CARGO_PKG_VERSION"));
/// The highest sheet: what is higher has a caption that nobody reads.
const HIGHEST: u32 = 20_000;

/// Size of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateSize {
    width_px: u32,
    dots_per_inch: f64,
}

impl PlateSize {
    /// From what is stated: a width in pixels, else in mm, and a resolution in dots per inch. With a width in pixels and
    /// in mm the resolution follows from both.
    ///
    /// # Errors
    /// A width or resolution outside of [`WIDTHS`] or [`RESOLUTIONS`], or three numbers that contradict each other.
    pub fn new(
        width_px: Option<u32>,
        width_mm: Option<f64>,
        dots_per_inch: Option<f64>,
    ) -> Result<Self, Fault> {
        if let Some(mm) = width_mm
            && !(mm.is_finite() && mm > 0.0)
        {
            return Err(Fault::bad_setting("`width_mm` must be a number above 0."));
        }
        let dots = match (width_px, width_mm, dots_per_inch) {
            (Some(_), Some(_), Some(_)) => {
                return Err(Fault::bad_setting(
                    "`width_px`, `width_mm` and `dpi` say the same thing twice: leave one of them out.",
                ));
            }
            (Some(pixels), Some(mm), None) => f64::from(pixels) / mm * 25.4,
            (_, _, stated) => stated.unwrap_or(RESOLUTION),
        };
        if !RESOLUTIONS.contains(&dots) {
            return Err(Fault::bad_setting(format!(
                "The resolution would be {dots:.0} dots per inch; it must lie between {:.0} and {:.0}.",
                RESOLUTIONS.start(),
                RESOLUTIONS.end()
            )));
        }
        let pixels = width_px.map_or_else(|| width_mm.unwrap_or(WIDTH_MM) / 25.4 * dots, f64::from).round();
        if !(f64::from(*WIDTHS.start())..=f64::from(*WIDTHS.end())).contains(&pixels) {
            return Err(Fault::bad_setting(format!(
                "The picture would be {pixels:.0} pixels wide; it must be between {} and {}. Choose another width or resolution.",
                WIDTHS.start(),
                WIDTHS.end()
            )));
        }
        Ok(Self { width_px: pixels as u32, dots_per_inch: dots })
    }

    /// Pixels across.
    pub fn width_px(self) -> u32 {
        self.width_px
    }

    /// Dots per inch.
    pub fn dots_per_inch(self) -> f64 {
        self.dots_per_inch
    }

    fn measures(self) -> Measures {
        Measures::new(self.width_px, self.dots_per_inch)
    }
}

/// What stands on a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlateContent<'a> {
    /// In bold above the picture; may be empty.
    pub title: &'a str,
    /// The picture with its key, drawn in the window of `placed`.
    pub picture: &'a Picture,
    /// What [`placed`] gave for a sheet of this size.
    pub placed: Placed,
    /// Step of the scan; without it the scale bar counts pixels of the map. Photos have no scale bar.
    pub scale: Scale,
    /// What the picture shows, in sentences; may be empty, may have several lines.
    pub caption: &'a str,
    /// The settings as JSON: written into the file, their hash into the last line; may be empty.
    pub settings: &'a str,
}

/// What a scale bar can be made from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Scale {
    /// The step of the scan.
    Step(Step),
    /// A map without a known step: the bar counts pixels of the map.
    Pixels,
    /// No scale bar.
    None,
}

/// How a picture comes onto a sheet: drawn in a window, then enlarged by a whole factor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Placed {
    /// The window in which the picture must be drawn.
    pub window: Window,
    /// Sheet pixels for each picture pixel.
    grain: u32,
}

/// How to bring this part of a map onto a sheet of this size. Where there is room for it every map pixel is enlarged by
/// the same whole factor across, so that it is an even square; else the picture is as wide as the sheet lets it be, and
/// averages by area. Part of the enlargement is done on the sheet, so that patterns, which are made of picture pixels, are
/// large enough for print.
///
/// # Errors
/// A window that cannot be drawn.
pub fn placed(view: &Window, size: PlateSize) -> Result<Placed, Fault> {
    if !view.is_sound() {
        return Err(Fault::bad_setting("`view` cannot be drawn: width and height must be above 0."));
    }
    let measures = size.measures();
    let (step_x, step_y) = view.map_per_picture();
    // Height of a map pixel for a width of 1. A height that is not stated is rounded, which is no other shape.
    let aspect = if view.out_height.is_some() { step_x / step_y } else { 1.0 };
    let (widest, highest) = (f64::from(measures.widest_picture()), f64::from(measures.highest_picture()));
    let largest = (widest / view.width).min(highest / (view.height * aspect));
    let (factor, grain) = if largest >= 1.0 { enlarged(largest, measures.grain()) } else { (largest, 1) };
    let sides = [view.width * factor, view.height * factor * aspect].map(|side| side.round().max(1.0));
    let window = Window {
        // Of a part that does not end with a pixel, as much as whole picture pixels hold: at most half of one more or less.
        width: if largest >= 1.0 { sides[0] / factor } else { view.width },
        height: if largest >= 1.0 { sides[1] / (factor * aspect) } else { view.height },
        out_width: sides[0] as u32,
        out_height: Some(sides[1] as u32),
        ..*view
    };
    Ok(Placed { window, grain })
}

/// Picture pixels for each map pixel, and sheet pixels for each picture pixel: the coarsest grain up to that wished for
/// which leaves the map at least 85 % as large as it could be.
fn enlarged(largest: f64, wished: u32) -> (f64, u32) {
    let whole = largest.floor();
    let of = |grain: u32| ((whole / f64::from(grain)).floor(), grain);
    (1..=wished)
        .rev()
        .map(of)
        .find(|&(factor, grain)| factor * f64::from(grain) >= 0.85 * whole)
        .unwrap_or((whole, 1))
}

/// Draws the sheet; the bytes of a PNG of its width and resolution, with the caption (iTXt "Description") and the
/// settings (iTXt "Settings") inside.
///
/// # Errors
/// A picture that was not drawn in the window of `content.placed` or is wider than the sheet, a caption longer than a sheet can be
/// high, no memory.
pub fn draw(content: &PlateContent<'_>, size: PlateSize) -> Result<Vec<u8>, Fault> {
    let (picture, Placed { window, grain }, measures) = (content.picture, content.placed, size.measures());
    let is_of_window = (picture.width, picture.height) == (window.out_width, window.out_height());
    if !is_of_window || picture.width.saturating_mul(grain) > measures.widest_picture() {
        return Err(Fault::bad_setting("The picture was not drawn for a sheet of this size."));
    }
    let faces = Type::new()?;
    let foot = if content.settings.is_empty() {
        PROGRAM.to_owned()
    } else {
        let hash = sha256_hex(content.settings.as_bytes());
        format!("{PROGRAM} · settings {}", hash.get(..8).unwrap_or(&hash))
    };
    let words = Words {
        title: content.title,
        bar: bar(&content.placed, content.scale, measures.content()),
        caption: content.caption,
        foot: &foot,
    };
    let key = Key { entries: &picture.key, grain };
    let picture_size = (picture.width * grain, picture.height * grain);
    let (items, height) = arranged(&faces, measures, picture_size, &key, &words);
    if height > HIGHEST {
        return Err(Fault::bad_setting(format!(
            "The sheet would be {height} pixels high; at most {HIGHEST} are made. Shorten the caption or choose a wider sheet."
        )));
    }
    let mut sheet = Sheet::new(size.width_px, height)?;
    for item in &items {
        sheet.put(item, &faces, picture);
    }
    let words =
        write::Words { title: content.title, description: content.caption, settings: content.settings };
    write::png_of(&sheet, size.dots_per_inch, &words)
}

/// A bar of a round length, at most a quarter of the picture's longer side and of the sheet: its length in sheet pixels,
/// and what it stands for.
fn bar(placed: &Placed, scale: Scale, sheet: u32) -> Option<(u32, String)> {
    let map_pixels = placed.window.map_per_picture().0 / f64::from(placed.grain);
    let (unit_px, text): (f64, &dyn Fn(f64) -> String) = match scale {
        Scale::None => return None,
        Scale::Step(step) => (step.x_um() * map_pixels, &|um| match um {
            long if long >= 1e5 => format!("{}{THIN_SPACE}cm", long / 1e4),
            long if long >= 1e3 => format!("{}{THIN_SPACE}mm", long / 1e3),
            _ => format!("{um}{THIN_SPACE}µm"),
        }),
        Scale::Pixels => {
            (map_pixels, &|pixels| format!("{pixels}{THIN_SPACE}px of the map (its step is not known)"))
        }
    };
    let longer = placed.window.out_width.max(placed.window.out_height()) * placed.grain;
    let length = round_length(f64::from(longer.min(sheet)) / 4.0 * unit_px)?;
    let length_px = (length / unit_px).round() as u32;
    (length_px > 0).then(|| (length_px, text(length)))
}

#[cfg(test)]
mod tests;
