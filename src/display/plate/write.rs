//! A sheet as PNG (ISO/IEC 15948).

use super::sheet::Sheet;
use crate::PROGRAM;
use crate::notice::Fault;
use png::{BitDepth, ColorType, Compression, Encoder, PixelDimensions, SrgbRenderingIntent, Unit};

/// What is written into the file beside the pixels.
pub struct Words<'a> {
    /// Title.
    pub title: &'a str,
    /// Caption.
    pub description: &'a str,
    /// Settings, as JSON.
    pub settings: &'a str,
}

/// The bytes of the file: 8 bits a channel, sRGB, with the resolution (pHYs) and texts (iTXt). A text that is empty is
/// left out; the character U+0000, which the format does not allow, is written as U+FFFD.
pub fn png_of(sheet: &Sheet, dots_per_inch: f64, words: &Words<'_>) -> Result<Vec<u8>, Fault> {
    let fault =
        |e: png::EncodingError| Fault::new("not_written", format!("The picture could not be written: {e}."));
    let mut out = Vec::new();
    let mut encoder = Encoder::new(&mut out, sheet.width, sheet.height);
    encoder.set_color(ColorType::Rgb);
    encoder.set_depth(BitDepth::Eight);
    encoder.set_compression(Compression::Balanced);
    encoder.set_source_srgb(SrgbRenderingIntent::RelativeColorimetric);
    let per_metre = (dots_per_inch / 0.0254).round() as u32;
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: per_metre, yppu: per_metre, unit: Unit::Meter }));
    for (keyword, text) in [
        ("Title", words.title),
        ("Description", words.description),
        ("Software", PROGRAM),
        ("Settings", words.settings),
    ] {
        if !text.is_empty() {
            let text = text.replace('\0', "\u{fffd}");
            encoder.add_itxt_chunk(keyword.into(), text).map_err(fault)?;
        }
    }
    let mut writer = encoder.write_header().map_err(fault)?;
    writer.write_image_data(&sheet.rgb).map_err(fault)?;
    writer.finish().map_err(fault)?;
    Ok(out)
}
