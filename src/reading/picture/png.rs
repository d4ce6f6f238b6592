//! PNG by the crate `png`. Grey is a map, colour a photo.

use super::{MOST_INFLATION, TOO_MUCH_MEMORY, claims_too_much, damaged, not_read};
use crate::grid::{ByteOrder, SampleType, Samples, try_filled_vec, try_vec};
use crate::notice::Finding;
use crate::reading::photo::{
    AS_MAP, AS_PHOTO, Decoded, Rows, asked_for_its_notes, laid_by_exif, profile_finding,
};
use crate::reading::{
    Content, MOST_PIXELS, Page, Reading, check_photo_size, check_size, resolution, step_of_16_bits,
};
use flate2::read::ZlibDecoder;
use png::{BitDepth, ColorType, DecodingError, Transformations, Unit};
use std::io::{Cursor, Read};

/// Bytes of a colour profile that are looked at.
const MOST_OF_A_PROFILE: u64 = 1_000_000;

type Decoder<'a> = png::Decoder<Cursor<&'a [u8]>>;

/// A decoder that has read the header and nothing else.
fn opened(bytes: &[u8]) -> Result<(Decoder<'_>, ColorType, BitDepth), Finding> {
    let mut decoder =
        png::Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: (MOST_PIXELS * 8) as usize });
    decoder.set_transformations(Transformations::IDENTITY);
    decoder.set_ignore_text_chunk(true);
    decoder.set_ignore_iccp_chunk(true);
    let header = decoder.read_header_info().map_err(|error| png_finding(&error))?;
    let (colour, depth) = (header.color_type, header.bit_depth);
    Ok((decoder, colour, depth))
}

fn is_grey(colour: ColorType) -> bool {
    matches!(colour, ColorType::Grayscale | ColorType::GrayscaleAlpha)
}

/// The picture of a PNG in colour, or of a grey one that shall be read as a photo; `None` for a grey one otherwise, and for
/// one whose header cannot be read.
pub(in crate::reading) fn photo_of_png(bytes: &[u8], way: Option<&str>) -> Option<Result<Decoded, Finding>> {
    let (decoder, colour, _) = opened(bytes).ok()?;
    (!is_grey(colour) || way == Some(AS_PHOTO)).then(|| decoded(bytes, decoder, way))
}

pub(in crate::reading) fn read_png(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    let wrong = |error: DecodingError| png_finding(&error);
    let (mut decoder, colour, depth) = opened(bytes)?;
    if !is_grey(colour) || way == Some(AS_PHOTO) {
        return decoded(bytes, decoder, way)?.into_reading(way);
    }
    if way != Some(AS_MAP) && chunks(bytes).any(|(kind, _)| kind == b"eXIf") {
        return Ok(asked_for_its_notes());
    }
    let header = decoder.read_header_info().map_err(wrong)?;
    let size = check_size(u64::from(header.width), u64::from(header.height))?;
    if header.raw_bytes() as u64 > (bytes.len() as u64).saturating_mul(MOST_INFLATION) {
        return Err(claims_too_much("PNG", size, bytes));
    }
    let mut reader = decoder.read_info().map_err(wrong)?;
    let length = reader.output_buffer_size().ok_or_else(|| not_read("PNG", TOO_MUCH_MEMORY))?;
    let mut pixels = try_filled_vec(length as u64, 0u8)?;
    reader.next_frame(&mut pixels).map_err(wrong)?;
    if !matches!(depth, BitDepth::Eight | BitDepth::Sixteen) {
        let bits = depth as u8;
        let plural = if bits == 1 { "bit" } else { "bits" };
        return Err(not_read(
            "PNG",
            &format!("it has {bits} {plural} a pixel: too few for counts. Save the map with 8 or 16 bits."),
        ));
    }
    let mut findings = Vec::new();
    let wide = if depth == BitDepth::Sixteen { 2 } else { 1 };
    if colour == ColorType::GrayscaleAlpha {
        findings.push(Finding::TransparencyDropped);
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

/// Grey without the transparency behind each pixel.
fn without_second(pixels: &[u8], wide: usize) -> Result<Vec<u8>, Finding> {
    let mut out = try_vec(pixels.len() as u64 / 2)?;
    for pixel in pixels.chunks_exact(2 * wide) {
        out.extend_from_slice(&pixel[..wide]);
    }
    Ok(out)
}

/// The colours of a picture, row by row where it is not interlaced.
fn decoded(bytes: &[u8], mut decoder: Decoder<'_>, way: Option<&str>) -> Result<Decoded, Finding> {
    let wrong = |error: DecodingError| png_finding(&error);
    let header = decoder.read_header_info().map_err(wrong)?;
    let size = check_photo_size(u64::from(header.width), u64::from(header.height))?;
    let is_interlaced = header.interlaced;
    if header.raw_bytes() as u64 > (bytes.len() as u64).saturating_mul(MOST_INFLATION) {
        return Err(claims_too_much("PNG", size, bytes));
    }
    if header.color_type == ColorType::Indexed || (header.bit_depth as u8) < 8 {
        decoder.set_transformations(Transformations::EXPAND);
    }
    let mut reader = decoder.read_info().map_err(wrong)?;
    let (colour, depth) = reader.output_color_type();
    let form =
        Form { channels: colour.samples(), is_grey: is_grey(colour), is_deep: depth == BitDepth::Sixteen };
    let mut findings = Vec::new();
    if matches!(colour, ColorType::GrayscaleAlpha | ColorType::Rgba) {
        findings.push(Finding::TransparencyDropped);
    }
    if !form.is_grey {
        findings.extend(profile(bytes).and_then(|profile| profile_finding(&profile)));
    }
    let exif = chunks(bytes).find(|(kind, _)| *kind == b"eXIf").map(|(_, data)| data);
    let mut rows = Rows::new("PNG", size, laid_by_exif(exif), way)?;
    let mut line: Vec<[u8; 3]> = try_vec(u64::from(size.0))?;
    if is_interlaced {
        let length = reader.output_buffer_size().ok_or_else(|| not_read("PNG", TOO_MUCH_MEMORY))?;
        let mut pixels = try_filled_vec(length as u64, 0u8)?;
        reader.next_frame(&mut pixels).map_err(wrong)?;
        for row in pixels.chunks_exact((length / (size.1 as usize).max(1)).max(1)) {
            form.colours(row, &mut line);
            rows.push(&line);
        }
    } else {
        while let Some(row) = reader.next_row().map_err(wrong)? {
            form.colours(row.data(), &mut line);
            rows.push(&line);
        }
    }
    // What stands behind the pixels may say how they lie.
    reader.finish().map_err(wrong)?;
    Ok(Decoded { findings, ..rows.finish()? })
}

/// How colours stand in a row.
struct Form {
    channels: usize,
    is_grey: bool,
    is_deep: bool,
}

impl Form {
    /// The colours of a row as 8 bits; a deep channel stands with its larger byte first and becomes its nearest step.
    fn colours(&self, row: &[u8], out: &mut Vec<[u8; 3]>) {
        out.clear();
        let place = |channel: usize| if self.is_grey { 0 } else { channel };
        if self.is_deep {
            out.extend(row.chunks_exact(2 * self.channels).map(|pixel| {
                [0, 1, 2].map(|channel| {
                    let at = 2 * place(channel);
                    step_of_16_bits(u16::from_be_bytes([pixel[at], pixel[at + 1]]))
                })
            }));
        } else {
            out.extend(
                row.chunks_exact(self.channels).map(|pixel| [0, 1, 2].map(|channel| pixel[place(channel)])),
            );
        }
    }
}

/// The chunks of a PNG, each with its name and data, as far as they are whole. Source: PNG (third edition), 5.3.
fn chunks(bytes: &[u8]) -> impl Iterator<Item = (&[u8; 4], &[u8])> {
    let mut rest = bytes.get(8..).unwrap_or_default();
    std::iter::from_fn(move || {
        let (length, after) = rest.split_first_chunk::<4>()?;
        let (kind, after) = after.split_first_chunk::<4>()?;
        let length = usize::try_from(u32::from_be_bytes(*length)).ok()?;
        let data = after.get(..length)?;
        // Behind the data stands a checksum.
        rest = after.get(length + 4..).unwrap_or_default();
        Some((kind, data))
    })
}

/// The colour profile, as far as it can be unpacked; `None` where there is none or the file says that it is sRGB.
fn profile(bytes: &[u8]) -> Option<Vec<u8>> {
    let before_pixels = || chunks(bytes).take_while(|(kind, _)| *kind != b"IDAT");
    if before_pixels().any(|(kind, _)| kind == b"sRGB") {
        return None;
    }
    let (_, data) = before_pixels().find(|(kind, _)| *kind == b"iCCP")?;
    // A name, a zero, and how it is packed, of which there is one way.
    let name = data.iter().position(|&byte| byte == 0)?;
    let mut out = Vec::new();
    let packed = data.get(name + 2..)?;
    // What is damaged counts as far as it goes.
    let _ = ZlibDecoder::new(packed).take(MOST_OF_A_PROFILE).read_to_end(&mut out);
    Some(out)
}

/// The libraries' own sentences are for programmers; what they mean for a file is one of a few things.
pub(super) fn png_finding(error: &DecodingError) -> Finding {
    match error {
        DecodingError::LimitsExceeded => not_read("PNG", TOO_MUCH_MEMORY),
        DecodingError::IoError(_) => damaged("PNG", "it ends too early"),
        other if other.to_string().contains("CRC") => damaged("PNG", "a checksum does not fit"),
        _ => damaged("PNG", "its parts contradict each other"),
    }
}
