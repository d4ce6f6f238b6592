//! A mask as a PNG file (ISO/IEC 15948): grey, 8 bits, 255 inside and 0 outside.

use crate::grid::{Mask, try_vec};
use crate::notice::Fault;
use png::{BitDepth, ColorType, Compression, Encoder};

/// The bytes of the file; the texts that are not empty stand in it under their keyword. The character U+0000, which the format
/// does not allow, is written as U+FFFD.
///
/// # Errors
/// A mask without pixels, which the format cannot hold; no memory.
pub fn png_of(mask: &Mask, texts: &[(&str, &str)]) -> Result<Vec<u8>, Fault> {
    let fault =
        |e: png::EncodingError| Fault::new("not_written", format!("The mask could not be written: {e}."));
    let mut pixels: Vec<u8> = try_vec(mask.len())?;
    pixels.extend(mask.data().iter().map(|&inside| if inside { 255 } else { 0 }));
    let mut out = Vec::new();
    let mut encoder = Encoder::new(&mut out, mask.width(), mask.height());
    encoder.set_color(ColorType::Grayscale);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Balanced);
    for (keyword, text) in texts.iter().filter(|(_, text)| !text.is_empty()) {
        let text = text.replace('\0', "\u{fffd}");
        encoder.add_itxt_chunk((*keyword).into(), text).map_err(fault)?;
    }
    let mut writer = encoder.write_header().map_err(fault)?;
    writer.write_image_data(&pixels).map_err(fault)?;
    writer.finish().map_err(fault)?;
    Ok(out)
}
