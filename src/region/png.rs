//! A mask as a PNG file (ISO/IEC 15948): grey, 8 bits, 255 inside and 0 outside.

use crate::geometry::Step;
use crate::grid::{Mask, try_vec};
use crate::notice::Fault;
use png::{BitDepth, ColorType, Compression, Encoder, PixelDimensions, Unit};

/// The bytes of the file; the texts that are not empty stand in it under their keyword. The character U+0000, which the format
/// does not allow, is written as U+FFFD.
///
/// # Errors
/// A mask without pixels, which the format cannot hold; no memory.
pub fn png_of(mask: &Mask, texts: &[(&str, &str)]) -> Result<Vec<u8>, Fault> {
    png_with_step(mask, texts, None)
}

/// The same with the step between its pixels, as whole pixels in a metre (pHYs), which is all that the format holds.
///
/// # Errors
/// As [`png_of`].
pub fn png_with_step(mask: &Mask, texts: &[(&str, &str)], step: Option<Step>) -> Result<Vec<u8>, Fault> {
    let fault =
        |e: png::EncodingError| Fault::new("not_written", format!("The mask could not be written: {e}."));
    let mut pixels: Vec<u8> = try_vec(mask.len())?;
    pixels.extend(mask.data().iter().map(|&inside| if inside { 255 } else { 0 }));
    let mut out = Vec::new();
    let mut encoder = Encoder::new(&mut out, mask.width(), mask.height());
    encoder.set_color(ColorType::Grayscale);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Balanced);
    if let Some(step) = step {
        let per_metre = |um: f64| (1e6 / um).round() as u32;
        let (xppu, yppu) = (per_metre(step.x_um()), per_metre(step.y_um()));
        encoder.set_pixel_dims(Some(PixelDimensions { xppu, yppu, unit: Unit::Meter }));
    }
    for (keyword, text) in texts.iter().filter(|(_, text)| !text.is_empty()) {
        let text = text.replace('\0', "\u{fffd}");
        encoder.add_itxt_chunk((*keyword).into(), text).map_err(fault)?;
    }
    let mut writer = encoder.write_header().map_err(fault)?;
    writer.write_image_data(&pixels).map_err(fault)?;
    writer.finish().map_err(fault)?;
    Ok(out)
}
