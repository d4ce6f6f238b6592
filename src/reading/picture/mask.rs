//! A PNG as a mask.

use super::png::png_finding;
use super::{MOST_INFLATION, TOO_MUCH_MEMORY, claims_too_much, not_read};
use crate::grid::{Mask, try_filled_vec, try_vec};
use crate::notice::Finding;
use crate::reading::{MOST_PIXELS, check_size};
use ::png::Transformations;
use std::io::Cursor;

/// Which pixels of a PNG are inside. Where the picture has transparency that differs between pixels, those at least half opaque;
/// else those at least half as bright as white can be: the mean of the three channels of a coloured one. Any depth, also one
/// bit; no gamma is applied.
///
/// # Errors
/// A finding that says why it cannot be read.
pub fn mask_of_png(bytes: &[u8]) -> Result<Mask, Finding> {
    let wrong = |error| png_finding(&error);
    let limits = ::png::Limits { bytes: (MOST_PIXELS * 8) as usize };
    let mut decoder = ::png::Decoder::new_with_limits(Cursor::new(bytes), limits);
    // Palettes as colours, fewer than 8 bits as 8, the transparent colour as transparency; the upper byte of 16 bits.
    decoder.set_transformations(Transformations::EXPAND | Transformations::STRIP_16);
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    let header = decoder.read_header_info().map_err(wrong)?;
    let size = check_size(u64::from(header.width), u64::from(header.height))?;
    if header.raw_bytes() as u64 > (bytes.len() as u64).saturating_mul(MOST_INFLATION) {
        return Err(claims_too_much("PNG", size, bytes));
    }
    let mut reader = decoder.read_info().map_err(wrong)?;
    let length = reader.output_buffer_size().ok_or_else(|| not_read("PNG", TOO_MUCH_MEMORY))?;
    let mut bytes = try_filled_vec(length as u64, 0u8)?;
    reader.next_frame(&mut bytes).map_err(wrong)?;
    let (colour, _) = reader.output_color_type();
    let channels = colour.samples();
    let alpha =
        matches!(colour, ::png::ColorType::GrayscaleAlpha | ::png::ColorType::Rgba).then(|| channels - 1);
    let is_even = |place: usize| bytes.chunks_exact(channels).all(|pixel| pixel[place] == bytes[place]);
    let alpha = alpha.filter(|&place| !is_even(place));
    let mut inside: Vec<bool> = try_vec(u64::from(size.0) * u64::from(size.1))?;
    inside.extend(bytes.chunks_exact(channels).map(|pixel| match alpha {
        Some(place) => pixel[place] >= 128,
        None if channels >= 3 => {
            // 3 x 127.5, so that grey as colour parts where grey does.
            pixel[..3].iter().map(|&channel| u32::from(channel)).sum::<u32>() >= 383
        }
        None => pixel[0] >= 128,
    }));
    Mask::from_vec(size.0, size.1, inside)
        .ok_or_else(|| super::damaged("PNG", "its size and its data differ"))
}
