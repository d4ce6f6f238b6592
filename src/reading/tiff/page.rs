//! One page of a TIFF file: what its tags claim is checked first, then it is decoded, then channels are taken apart.

use super::decode::decoded;
use super::directory::Directory;
use super::photo::photo;
use super::{NAME, damaged, not_read};
use crate::geometry::Step;
use crate::grid::{ByteOrder, SampleType, Samples, try_vec};
use crate::notice::Finding;
use crate::reading::photo::{AS_PHOTO, Decoded};
use crate::reading::widen::Stored;
use crate::reading::{MOST_PIXELS, check_photo_size, check_size, resolution};
use std::borrow::Cow;

/// What deflate and LZW can at most make of a byte (deflate 1032; LZW with codes of 12 bits 2730): a file that claims
/// more pixels than this allows is lying, and is refused before memory is taken.
const MOST_EXPANSION: u64 = 2800;
/// The most channels of a page.
const MOST_CHANNELS: u64 = 512;

/// Tags of TIFF 6.0.
pub(super) mod tag {
    pub const NEW_SUBFILE_TYPE: u16 = 254;
    pub const WIDTH: u16 = 256;
    pub const LENGTH: u16 = 257;
    pub const BITS: u16 = 258;
    pub const COMPRESSION: u16 = 259;
    pub const PHOTOMETRIC: u16 = 262;
    pub const STRIP_OFFSETS: u16 = 273;
    pub const ORIENTATION: u16 = 274;
    pub const SAMPLES: u16 = 277;
    pub const ROWS_PER_STRIP: u16 = 278;
    pub const STRIP_LENGTHS: u16 = 279;
    pub const X_RESOLUTION: u16 = 282;
    pub const Y_RESOLUTION: u16 = 283;
    pub const PLANAR: u16 = 284;
    pub const RESOLUTION_UNIT: u16 = 296;
    pub const PREDICTOR: u16 = 317;
    pub const TILE_WIDTH: u16 = 322;
    pub const TILE_LENGTH: u16 = 323;
    pub const TILE_OFFSETS: u16 = 324;
    pub const TILE_LENGTHS: u16 = 325;
    pub const EXTRA_SAMPLES: u16 = 338;
    pub const SAMPLE_FORMAT: u16 = 339;
    pub const CHROMA: u16 = 530;
    pub const EXIF: u16 = 34_665;
    pub const PROFILE: u16 = 34_675;
    /// All that the decoder reads values of.
    pub const READ: [u16; 19] = [
        WIDTH,
        LENGTH,
        BITS,
        COMPRESSION,
        PHOTOMETRIC,
        STRIP_OFFSETS,
        SAMPLES,
        ROWS_PER_STRIP,
        STRIP_LENGTHS,
        PLANAR,
        PREDICTOR,
        TILE_WIDTH,
        TILE_LENGTH,
        TILE_OFFSETS,
        TILE_LENGTHS,
        EXTRA_SAMPLES,
        SAMPLE_FORMAT,
        CHROMA,
        NEW_SUBFILE_TYPE,
    ];
}

/// What a page holds.
pub(super) enum PageContent {
    /// A map for each channel.
    Maps { channels: Vec<Samples>, step: Option<Step> },
    /// A colour picture.
    Photo(Decoded),
    /// A smaller copy of another page.
    Thumbnail,
}

/// How samples lie in a decoded page.
pub(super) struct Layout {
    pub(super) size: (u32, u32),
    pub(super) stored: Stored,
    bits: u64,
    pub(super) samples: u64,
    /// Channels that are transparency.
    alpha: Vec<u64>,
    pub(super) is_planar: bool,
}

/// A smaller copy of another page.
pub(super) fn is_thumbnail(page: &Directory<'_>) -> bool {
    page.number(tag::NEW_SUBFILE_TYPE).is_some_and(|bits| bits & 1 == 1)
}

/// True for a page in colours that are read.
pub(super) fn is_colour(page: &Directory<'_>) -> bool {
    page.number(tag::PHOTOMETRIC) == Some(2)
}

/// True for a grey page of 8 or 16 bits with a camera's notes.
pub(super) fn has_notes(page: &Directory<'_>) -> bool {
    let numbers = (page.number(tag::BITS), page.number(tag::SAMPLE_FORMAT).unwrap_or(1));
    let is_grey = matches!(page.number(tag::PHOTOMETRIC), Some(0 | 1));
    is_grey && page.has(tag::EXIF) && matches!(numbers, (Some(8 | 16), 1)) && !is_several(page)
}

fn is_several(page: &Directory<'_>) -> bool {
    let extra = page.numbers(tag::EXTRA_SAMPLES).map_or(0, Iterator::count);
    page.number(tag::SAMPLES).unwrap_or(1) != 1 + extra as u64
}

/// Reads a page in the `way` that was chosen, if one was. A grey page of one channel that `is_alone` is read as a photo where
/// that is the way.
pub(super) fn read(
    page: &Directory<'_>,
    way: Option<&str>,
    is_alone: bool,
    findings: &mut Vec<Finding>,
) -> Result<PageContent, Finding> {
    if is_thumbnail(page) {
        return Ok(PageContent::Thumbnail);
    }
    if tag::READ.iter().any(|&tag| page.is_cut(tag)) {
        return Err(damaged("it ends too early"));
    }
    let size = size(page)?;
    check_compression(page)?;
    let photometric = page.number(tag::PHOTOMETRIC);
    let (is_grey, is_white_zero) = match photometric {
        Some(0) => (true, true),
        Some(1) => (true, false),
        Some(2) => (false, false),
        other => return Err(other_colours(other)),
    };
    let layout = layout(page, size, is_grey)?;
    check_chunks(page, &layout)?;
    if !layout.alpha.is_empty() {
        push_once(findings, Finding::TransparencyDropped);
    }
    let is_photo = !is_grey || is_alone && way == Some(AS_PHOTO) && !is_several(page);
    if !is_photo {
        let mut bytes = decoded(page, &layout)?;
        if is_white_zero {
            push_once(findings, turned_over(layout.stored, &mut bytes));
        }
        let mut channels = Vec::new();
        for channel in (0..layout.samples).filter(|channel| !layout.alpha.contains(channel)) {
            let bytes = layout.channel(channel, &bytes)?;
            channels.push(layout.stored.samples(NAME, size, &bytes, ByteOrder::NATIVE)?);
        }
        return Ok(PageContent::Maps { channels, step: step(page, findings) });
    }
    photo(page, &layout, way, is_white_zero).map(PageContent::Photo)
}

fn size(page: &Directory<'_>) -> Result<(u32, u32), Finding> {
    let (Some(width), Some(height)) = (page.number(tag::WIDTH), page.number(tag::LENGTH)) else {
        return Err(damaged("it does not say how many pixels it has"));
    };
    if width == 0 || height == 0 {
        return Err(damaged("it has no pixels"));
    }
    if is_colour(page) { check_photo_size(width, height) } else { check_size(width, height) }
}

fn check_compression(page: &Directory<'_>) -> Result<(), Finding> {
    let name = match page.number(tag::COMPRESSION).unwrap_or(1) {
        1 | 5 | 8 | 32_773 | 32_946 => return Ok(()),
        2..=4 => "a fax code",
        6 | 7 => "JPEG",
        9 | 10 | 34_661 => "JBIG",
        33_003 | 33_005 | 34_712 => "JPEG 2000",
        34_887 => "LERC",
        34_925 => "LZMA",
        34_927 | 50_001 => "WebP",
        50_000 => "Zstandard",
        50_002 | 52_546 => "JPEG XL",
        other => {
            return Err(not_read(&format!(
                "it is compressed in a way that is not read here (number {other}). Save it uncompressed, or with deflate or LZW."
            )));
        }
    };
    Err(not_read(&format!(
        "it is compressed with {name}, which is not read here. Save it uncompressed, or with deflate or LZW."
    )))
}

fn other_colours(photometric: Option<u64>) -> Finding {
    not_read(match photometric {
        None => "it does not say whether its pixels are grey or coloured. Save it again as grey values.",
        Some(3) => {
            "its colours are numbers of a palette. Save it as grey values, or as RGB if it is a photo."
        }
        Some(4) => "it is a transparency mask. Save the map itself as grey values.",
        Some(5) => "its colours are for printing (CMYK). Save it as RGB.",
        Some(6) => "its colours are YCbCr. Save it as RGB.",
        Some(32_803 | 34_892) => "it is a camera's raw picture. Save it as RGB.",
        Some(_) => {
            "its colours are neither grey nor RGB. Save it as grey values, or as RGB if it is a photo."
        }
    })
}

fn layout(page: &Directory<'_>, size: (u32, u32), is_grey: bool) -> Result<Layout, Finding> {
    let samples = page.number(tag::SAMPLES).unwrap_or(1);
    if samples == 0 {
        return Err(damaged("it has no channels"));
    }
    let bits = same_for_all(page, tag::BITS, 1, "bits")?;
    let format = same_for_all(page, tag::SAMPLE_FORMAT, 1, "types")?;
    let stored = match (format, bits) {
        (_, 0) => return Err(damaged("its numbers have no bits")),
        (_, 1..=7) => {
            let plural = if bits == 1 { "bit" } else { "bits" };
            return Err(not_read(&format!(
                "it has {bits} {plural} a pixel: too few for counts. Save the map with 8 bits or more."
            )));
        }
        (1 | 4, 8) => Stored::Kept(SampleType::U8),
        (2, 8) => Stored::Kept(SampleType::I8),
        (1 | 4, 16) => Stored::Kept(SampleType::U16),
        (2, 16) => Stored::Kept(SampleType::I16),
        (3, 16) => Stored::F16,
        (1 | 4, 32) => Stored::Kept(SampleType::U32),
        (2, 32) => Stored::Kept(SampleType::I32),
        (3, 32) => Stored::Kept(SampleType::F32),
        (1 | 4, 64) => Stored::U64,
        (2, 64) => Stored::I64,
        (3, 64) => Stored::Kept(SampleType::F64),
        (5 | 6, _) => return Err(not_read("its numbers are complex. Save their amount as a map.")),
        _ => {
            return Err(not_read(&format!(
                "its numbers have {bits} bits in a form that is not read. Save it as integers of 8, 16 or 32 bits, or as floats."
            )));
        }
    };
    let extra: Vec<u64> = page.numbers(tag::EXTRA_SAMPLES).map(Iterator::collect).unwrap_or_default();
    let colours = samples.checked_sub(extra.len() as u64);
    let Some(first_extra) = colours else {
        return Err(damaged("it has more extra channels than channels"));
    };
    let alpha: Vec<u64> = (first_extra..)
        .zip(&extra)
        .filter(|(_, kind)| matches!(kind, 1 | 2))
        .map(|(channel, _)| channel)
        .collect();
    if is_grey && alpha.len() as u64 == samples {
        return Err(damaged("it has transparency and nothing else"));
    }
    let is_rgb = samples == 3 && extra.is_empty() || samples == 4 && extra.len() <= 1;
    if !is_grey && !is_rgb {
        return Err(not_read(&format!(
            "it has {samples} channels in colours. Save it as RGB if it is a photo, or each channel as a page of grey values."
        )));
    }
    let is_planar = page.number(tag::PLANAR) == Some(2) && samples > 1;
    if samples > MOST_CHANNELS || u64::from(size.0) * u64::from(size.1) * samples > 4 * MOST_PIXELS {
        return Err(not_read(&format!(
            "it has {samples} channels of {} × {} pixels, more than can be held. Save fewer channels in a file.",
            size.0, size.1
        )));
    }
    let alpha = if !is_grey && samples == 4 { vec![3] } else { alpha };
    Ok(Layout { size, stored, bits, samples, alpha, is_planar })
}

/// The number that a tag gives for each channel, which must be the same for all.
fn same_for_all(page: &Directory<'_>, tag: u16, default: u64, what: &str) -> Result<u64, Finding> {
    let Some(mut numbers) = page.numbers(tag) else { return Ok(default) };
    let Some(first) = numbers.next() else { return Err(damaged(format!("it has no {what} of numbers"))) };
    if numbers.any(|number| number != first) {
        return Err(not_read(&format!(
            "its channels have different {what} of numbers. Save each channel as a file or page of its own."
        )));
    }
    Ok(first)
}

/// Holds the claimed size against the bytes that are there, and tiles and strips against the size.
fn check_chunks(page: &Directory<'_>, layout: &Layout) -> Result<(), Finding> {
    let (width, height) = (u64::from(layout.size.0), u64::from(layout.size.1));
    let total = layout.bytes();
    let file_length = page.file_length();
    let most = match page.number(tag::COMPRESSION).unwrap_or(1) {
        1 => file_length,
        32_773 => file_length.saturating_mul(64),
        _ => file_length.saturating_mul(MOST_EXPANSION),
    };
    if total > most {
        return Err(damaged(format!(
            "it claims {width} × {height} pixels, which its {file_length} bytes cannot hold"
        )));
    }
    let is_float = matches!(layout.stored, Stored::F16 | Stored::Kept(SampleType::F32 | SampleType::F64));
    match page.number(tag::PREDICTOR).unwrap_or(1) {
        1 | 2 => {}
        3 if is_float => {}
        3 => return Err(damaged("its numbers are packed as floats and are none")),
        other => {
            return Err(not_read(&format!(
                "its numbers are prepared for packing in a way that is not read (number {other}). Save it uncompressed."
            )));
        }
    }
    if page.has(tag::TILE_OFFSETS) {
        if page.has(tag::STRIP_OFFSETS) {
            return Err(damaged("it has both strips and tiles"));
        }
        let (across, down) = (page.number(tag::TILE_WIDTH), page.number(tag::TILE_LENGTH));
        let (Some(across), Some(down)) = (across, down) else {
            return Err(damaged("it does not say how large its tiles are"));
        };
        // A tile may reach beyond the picture, but not by much more than the usual 256 pixels.
        if across == 0 || down == 0 || across > width + 4096 || down > height + 4096 {
            return Err(damaged(format!("it claims tiles of {across} × {down} pixels")));
        }
    } else if !page.has(tag::STRIP_OFFSETS) || !page.has(tag::STRIP_LENGTHS) {
        return Err(damaged("it does not say where its pixels are"));
    } else if page.number(tag::ROWS_PER_STRIP) == Some(0) {
        return Err(damaged("it claims strips without rows"));
    }
    Ok(())
}

impl Layout {
    /// Bytes of all channels.
    pub(super) fn bytes(&self) -> u64 {
        u64::from(self.size.0) * u64::from(self.size.1) * self.samples * (self.bits / 8)
    }

    /// The bytes of one channel.
    fn channel<'a>(&self, channel: u64, bytes: &'a [u8]) -> Result<Cow<'a, [u8]>, Finding> {
        let wide = (self.bits / 8) as usize;
        let channel = channel as usize;
        let length = bytes.len() / self.samples as usize;
        if self.is_planar || self.samples == 1 {
            return Ok(Cow::Borrowed(
                bytes.get(channel * length..(channel + 1) * length).unwrap_or_default(),
            ));
        }
        let mut out = try_vec(length as u64)?;
        for pixel in bytes.chunks_exact(wide * self.samples as usize) {
            out.extend_from_slice(&pixel[channel * wide..][..wide]);
        }
        Ok(Cow::Owned(out))
    }
}

/// Turns unsigned numbers over at the largest of their type. Numbers with a sign and floats have no end to turn over
/// at and stay as they are.
fn turned_over(stored: Stored, bytes: &mut [u8]) -> Finding {
    match stored {
        Stored::Kept(SampleType::U8 | SampleType::U16 | SampleType::U32) | Stored::U64 => {
            // The largest number has all bits set: it less a number is the number with every bit the other way.
            bytes.iter_mut().for_each(|byte| *byte = !*byte);
            Finding::WhiteIsZero
        }
        _ => Finding::WhiteIsZeroKept,
    }
}

/// The step out of the resolution tags.
fn step(page: &Directory<'_>, findings: &mut Vec<Finding>) -> Option<Step> {
    let per_unit = (page.fraction(tag::X_RESOLUTION)?, page.fraction(tag::Y_RESOLUTION)?);
    let unit_um = match page.number(tag::RESOLUTION_UNIT).unwrap_or(2) {
        2 => 25_400.0,
        3 => 10_000.0,
        _ => return None,
    };
    let (step, finding) = resolution::step(per_unit, unit_um);
    finding.into_iter().for_each(|finding| push_once(findings, finding));
    step
}

/// What holds for many pages is said once.
pub(super) fn push_once(findings: &mut Vec<Finding>, finding: Finding) {
    if !findings.contains(&finding) {
        findings.push(finding);
    }
}
