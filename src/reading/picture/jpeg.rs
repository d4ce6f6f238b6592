//! JPEG by the crate `image`. It changes values, so a grey one is no map that can be counted: it is a photo in black and
//! white or the picture of a map, and which of them is asked.

use super::{TOO_MUCH_MEMORY, claims_too_much, damaged, not_read};
use crate::grid::try_filled_vec;
use crate::notice::Finding;
use crate::reading::photo::{Decoded, Rows, laid_by_exif, profile_finding};
use crate::reading::{MOST_PHOTO_PIXELS, Reading, check_photo_size};
use image::codecs::jpeg::JpegDecoder;
use image::{ColorType, ImageDecoder, ImageError, Limits};
use std::io::Cursor;

/// Pixels that a byte of a JPEG can at most stand for: a block of 64 takes a bit or more.
const MOST_JPEG_PIXELS_A_BYTE: u64 = 512;

pub(in crate::reading) fn read_jpeg(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    photo_of_jpeg(bytes, way)?.into_reading(way)
}

/// The picture of a JPEG.
pub(in crate::reading) fn photo_of_jpeg(bytes: &[u8], way: Option<&str>) -> Result<Decoded, Finding> {
    let wrong = |error: ImageError| jpeg_finding(&error);
    let frame = Frame::of(bytes);
    frame.check()?;
    let mut decoder = JpegDecoder::new(Cursor::new(bytes)).map_err(wrong)?;
    let (width, height) = decoder.dimensions();
    let size = check_photo_size(u64::from(width), u64::from(height))?;
    let most = (bytes.len() as u64).saturating_mul(MOST_JPEG_PIXELS_A_BYTE);
    if u64::from(width) * u64::from(height) > most {
        return Err(claims_too_much("JPEG", size, bytes));
    }
    if !frame.is_whole {
        // The decoder would fill what is missing with grey.
        return Err(damaged("JPEG", "it ends too early"));
    }
    let mut findings = Vec::new();
    if frame.channels == 4 {
        if !frame.is_adobe {
            return Err(not_read(
                "JPEG",
                "it has four channels and does not say for which colours they stand. Save it as RGB.",
            ));
        }
        findings.push(Finding::PrintColours);
    } else if frame.channels == 3 {
        let profile = decoder.icc_profile().ok().flatten();
        findings.extend(profile.and_then(|profile| profile_finding(&profile)));
    }
    let laid = laid_by_exif(decoder.exif_metadata().ok().flatten().as_deref());
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_PHOTO_PIXELS * 8);
    decoder.set_limits(limits).map_err(wrong)?;
    let colour = decoder.color_type();
    let channels = match colour {
        ColorType::L8 => 1,
        ColorType::Rgb8 => 3,
        _ => return Err(not_read("JPEG", "its colours are not RGB. Save it as RGB.")),
    };
    let mut rows = Rows::new("JPEG", size, laid, way)?;
    let mut pixels = try_filled_vec(u64::from(width) * u64::from(height) * channels as u64, 0u8)?;
    decoder.read_image(&mut pixels).map_err(wrong)?;
    let mut grey = Vec::new();
    for row in pixels.chunks_exact((width as usize * channels).max(1)) {
        if channels == 3 {
            rows.push(row.as_chunks().0);
        } else {
            grey.clear();
            grey.extend(row.iter().map(|&value| [value; 3]));
            rows.push(&grey);
        }
    }
    // One copy of the pixels is enough while what is kept is laid.
    drop(pixels);
    Ok(Decoded { findings, ..rows.finish()? })
}

/// What the markers of a JPEG say. Source: ITU-T T.81, annex B; the marker of Adobe is application data 14.
struct Frame {
    /// The marker of the frame, which says how it is packed; 0 without one.
    sort: u8,
    bits: u8,
    channels: u8,
    is_adobe: bool,
    /// Whether the mark of the end is there.
    is_whole: bool,
}

impl Frame {
    fn of(bytes: &[u8]) -> Self {
        let mut frame = Self { sort: 0, bits: 0, channels: 0, is_adobe: false, is_whole: false };
        let mut at = 2;
        while let Some(marker) = next_marker(bytes, &mut at) {
            if marker == 0xd9 {
                frame.is_whole = true;
                break;
            }
            let Some(&[high, low]) = bytes.get(at..at + 2) else { break };
            let segment = bytes.get(at..).unwrap_or_default();
            match marker {
                // Frames; the numbers between them define tables.
                0xc0..=0xcf if !matches!(marker, 0xc4 | 0xc8 | 0xcc) => {
                    frame.sort = marker;
                    frame.bits = segment.get(2).copied().unwrap_or(0);
                    frame.channels = segment.get(7).copied().unwrap_or(0);
                }
                0xee => frame.is_adobe |= segment.get(2..7) == Some(b"Adobe"),
                _ => {}
            }
            at += usize::from(u16::from_be_bytes([high, low]));
        }
        frame
    }

    /// Refuses what the decoder does not read: it would be called damaged. Without a frame it is.
    fn check(&self) -> Result<(), Finding> {
        match (self.sort, self.bits) {
            (0, _) | (0xc0..=0xc2, 0 | 8) => Ok(()),
            (0xc0..=0xc2, bits) => Err(not_read(
                "JPEG",
                &format!("its channels have {bits} bits. Save it with 8 bits a channel, or as PNG."),
            )),
            _ => Err(not_read(
                "JPEG",
                "it is packed in a way that is not read (without loss, or with arithmetic coding). Save it as a plain JPEG, or as PNG.",
            )),
        }
    }
}

/// The next marker with what belongs to it behind `at`; packed pixels and what stands alone are passed over.
fn next_marker(bytes: &[u8], at: &mut usize) -> Option<u8> {
    loop {
        let start = bytes.get(*at..)?;
        let gap = start.iter().position(|&byte| byte == 0xff)?;
        *at += gap + 1;
        match *bytes.get(*at)? {
            // A byte of 255 in packed pixels, restarts, a temporary mark.
            0x00 | 0xd0..=0xd7 | 0x01 => *at += 1,
            // Fill before a marker.
            0xff => {}
            marker => {
                *at += 1;
                return Some(marker);
            }
        }
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
