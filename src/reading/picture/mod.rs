//! PNG by the crate `png`, JPEG by the crate `image`. Grey is a map, colour a photo. JPEG changes values, so a grey JPEG
//! is a picture of a map, which can be looked at and not counted.

mod mask;

pub use mask::mask_of_png;

use super::photo::Photo;
use super::{Content, MOST_PIXELS, Page, Reading, check_size, resolution};
use crate::grid::{ByteOrder, SampleType, Samples, try_filled_vec};
use crate::notice::Finding;
use image::codecs::jpeg::JpegDecoder;
use image::{ColorType, ImageDecoder, ImageError, Limits};
use png::{BitDepth, DecodingError, Transformations, Unit};
use std::io::Cursor;

/// What deflate can at most make of a byte.
const MOST_INFLATION: u64 = 1032;
/// Pixels that a byte of a JPEG can at most stand for: a block of 64 takes a bit or more.
const MOST_JPEG_PIXELS_A_BYTE: u64 = 512;

pub(super) fn read_png(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    let wrong = |error: DecodingError| png_finding(&error);
    let mut decoder =
        png::Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: (MOST_PIXELS * 8) as usize });
    decoder.set_transformations(Transformations::IDENTITY);
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    let header = decoder.read_header_info().map_err(wrong)?;
    let (colour, depth) = (header.color_type, header.bit_depth);
    let size = check_size(u64::from(header.width), u64::from(header.height))?;
    if header.raw_bytes() as u64 > (bytes.len() as u64).saturating_mul(MOST_INFLATION) {
        return Err(claims_too_much("PNG", size, bytes));
    }
    if colour == png::ColorType::Indexed {
        decoder.set_transformations(Transformations::EXPAND);
    }
    let mut reader = decoder.read_info().map_err(wrong)?;
    let length = reader.output_buffer_size().ok_or_else(|| not_read("PNG", TOO_MUCH_MEMORY))?;
    let mut pixels = try_filled_vec(length as u64, 0u8)?;
    reader.next_frame(&mut pixels).map_err(wrong)?;
    let mut findings = Vec::new();
    let (out_colour, _) = reader.output_color_type();
    let channels = out_colour.samples();
    let wide = if depth == BitDepth::Sixteen { 2 } else { 1 };
    if matches!(colour, png::ColorType::GrayscaleAlpha | png::ColorType::Rgba) {
        findings.push(Finding::TransparencyDropped);
    }
    match colour {
        png::ColorType::Grayscale if !matches!(depth, BitDepth::Eight | BitDepth::Sixteen) => {
            let bits = depth as u8;
            let plural = if bits == 1 { "bit" } else { "bits" };
            Err(not_read(
                "PNG",
                &format!(
                    "it has {bits} {plural} a pixel: too few for counts. Save the map with 8 or 16 bits."
                ),
            ))
        }
        png::ColorType::Grayscale | png::ColorType::GrayscaleAlpha => {
            if channels == 2 {
                pixels = without_second(&pixels, wide)?;
            }
            let sample_type = if wide == 2 { SampleType::U16 } else { SampleType::U8 };
            let samples = Samples::from_bytes(sample_type, size, &pixels, ByteOrder::Big)?
                .ok_or_else(|| damaged("PNG", "its size and its data differ"))?;
            let physical = reader.info().pixel_dims.filter(|physical| physical.unit == Unit::Meter);
            let (step, finding) = match physical {
                Some(physical) => resolution::step((f64::from(physical.xppu), f64::from(physical.yppu)), 1e6),
                None => (None, None),
            };
            findings.extend(finding);
            let page = Page { number: 0, title: String::new(), samples, step, entry: String::new() };
            Ok(Reading { content: Content::Maps(vec![page]), findings })
        }
        png::ColorType::Rgb | png::ColorType::Rgba | png::ColorType::Indexed => {
            // A deep channel stands with its larger byte first; its nearest step of 8 bits.
            let channel = |pixel: &[u8], place: usize| match wide {
                2 => super::step_of_16_bits(u16::from_be_bytes([pixel[2 * place], pixel[2 * place + 1]])),
                _ => pixel[place],
            };
            let colours = pixels
                .chunks_exact(channels * wide)
                .map(|pixel| [0, 1, 2].map(|place| channel(pixel, place.min(channels - 1))));
            Photo::of(size, "PNG", colours)?.into_reading("PNG", findings, way)
        }
    }
}

/// Grey without the transparency behind each pixel.
fn without_second(pixels: &[u8], wide: usize) -> Result<Vec<u8>, Finding> {
    let mut out = crate::grid::try_vec(pixels.len() as u64 / 2)?;
    for pixel in pixels.chunks_exact(2 * wide) {
        out.extend_from_slice(&pixel[..wide]);
    }
    Ok(out)
}

pub(super) fn read_jpeg(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    let mut decoder = JpegDecoder::new(Cursor::new(bytes)).map_err(|error| jpeg_finding(&error))?;
    let (width, height) = decoder.dimensions();
    let size = check_size(u64::from(width), u64::from(height))?;
    let most = (bytes.len() as u64).saturating_mul(MOST_JPEG_PIXELS_A_BYTE);
    if u64::from(width) * u64::from(height) > most {
        return Err(claims_too_much("JPEG", size, bytes));
    }
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_PIXELS * 8);
    decoder.set_limits(limits).map_err(|error| jpeg_finding(&error))?;
    let colour = decoder.color_type();
    let length = u64::from(width) * u64::from(height) * u64::from(colour.bytes_per_pixel());
    let mut pixels = try_filled_vec(length, 0u8)?;
    decoder.read_image(&mut pixels).map_err(|error| jpeg_finding(&error))?;
    match colour {
        ColorType::L8 => {
            let samples = Samples::from_bytes(SampleType::U8, size, &pixels, ByteOrder::NATIVE)?
                .ok_or_else(|| damaged("JPEG", "its size and its data differ"))?;
            let mut reading = Reading::of_map(samples);
            reading.findings.push(Finding::GreyPicture { format: "JPEG" });
            Ok(reading)
        }
        ColorType::Rgb8 => Photo::of(size, "JPEG", pixels.chunks_exact(3).map(|p| [p[0], p[1], p[2]]))?
            .into_reading("JPEG", Vec::new(), way),
        _ => Err(not_read("JPEG", "its colours are not RGB. Save it as RGB.")),
    }
}

fn claims_too_much(format: &'static str, (width, height): (u32, u32), bytes: &[u8]) -> Finding {
    damaged(
        format,
        &format!("it claims {width} × {height} pixels, which its {} bytes cannot hold", bytes.len()),
    )
}

const TOO_MUCH_MEMORY: &str = "it needs more memory than is allowed. Bin or crop it before opening it.";

fn not_read(format: &'static str, what: &str) -> Finding {
    Finding::NotRead { format, what: what.into() }
}

fn damaged(format: &'static str, what: &str) -> Finding {
    Finding::Damaged { format, what: what.to_owned() }
}

/// The libraries' own sentences are for programmers; what they mean for a file is one of a few things.
fn png_finding(error: &DecodingError) -> Finding {
    match error {
        DecodingError::LimitsExceeded => not_read("PNG", TOO_MUCH_MEMORY),
        DecodingError::IoError(_) => damaged("PNG", "it ends too early"),
        other if other.to_string().contains("CRC") => damaged("PNG", "a checksum does not fit"),
        _ => damaged("PNG", "its parts contradict each other"),
    }
}

fn jpeg_finding(error: &ImageError) -> Finding {
    let text = error.to_string();
    match error {
        ImageError::Limits(_) => not_read("JPEG", TOO_MUCH_MEMORY),
        ImageError::Unsupported(_) => {
            not_read("JPEG", "it is of a sort that is not read. Save it as a plain JPEG, or as PNG.")
        }
        _ if text.contains("Not enough bytes") || text.contains("Premature") => {
            damaged("JPEG", "it ends too early")
        }
        _ => damaged("JPEG", "its parts contradict each other"),
    }
}

#[cfg(test)]
mod tests;
