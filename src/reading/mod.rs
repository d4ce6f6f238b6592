//! From the bytes of a file to maps, a photo, and findings. All input is untrusted: sizes are checked before memory is
//! taken, nothing panics, and what is wrong is said in one sentence. One file per format. Knows nothing of a stack.

mod archive;
mod colour_scale;
mod npy;
mod photo;
mod picture;
mod resolution;
mod signature;
mod spectrum;
mod text;
mod tiff;
mod widen;

pub use archive::Entry;
pub use photo::{Decoded, Doubt, MOST_KEPT_PIXELS, Photo};
pub use picture::mask_of_png;
pub use spectrum::{Calibration, MOST_CHANNELS, SpectrumText, looks_like_spectrum, read_spectrum};

use crate::geometry::Step;
use crate::grid::Samples;
use crate::notice::Finding;

/// The most pixels that a map may have: a scan of today has up to ten million.
pub const MOST_PIXELS: u64 = 100_000_000;

/// The most pixels that a photo may have, and along a side.
pub const MOST_PHOTO_PIXELS: u64 = 120_000_000;
/// The most pixels along a side of a photo.
pub const LONGEST_PHOTO_SIDE: u64 = 65_535;

/// The most maps that are read from one file.
pub const MOST_MAPS: u32 = 2048;

/// A map as it stands in a file.
#[derive(Debug, Clone, PartialEq)]
pub struct Page {
    /// Its place in the file, from 0.
    pub number: u32,
    /// Its title in the file; empty without one (untrusted text).
    pub title: String,
    /// Pixels in the type they came in.
    pub samples: Samples,
    /// Step of the scan, where the file states one that can be believed.
    pub step: Option<Step>,
    /// Path of the file within an archive; empty outside of one (untrusted text).
    pub entry: String,
}

/// A 16-bit channel as an 8-bit one, to the nearest step.
fn step_of_16_bits(value: u16) -> u8 {
    ((u32::from(value) + 128) / 257) as u8
}

/// One of several ways in which a file can be read.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Way {
    /// A stable word that names it in calls and records ("decimal_comma").
    pub key: String,
    /// What it makes of the file, in a few words ("one column with decimal commas, 1 × 200 pixels").
    pub text: String,
    /// The first values as they would be read, for the eye; may be empty.
    pub sample: String,
}

/// A line of a list that names maps.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NamedMap {
    /// File name without its ending, or the number of the channel, as written.
    pub map: String,
    /// The name it is given, as written ("Cu K").
    pub name: String,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq)]
pub enum Content {
    /// Maps, in the order of the file.
    Maps(Vec<Page>),
    /// A photo.
    Photo(Photo),
    /// It can be read in several ways and nothing decides: the user is asked, and the file is read again with `way`.
    Ask {
        /// The question, one sentence.
        question: String,
        /// At least two.
        ways: Vec<Way>,
    },
    /// No map, but a list of names of maps.
    Names(Vec<NamedMap>),
    /// The files of an archive, in the order of their names, each with what it holds or why it could not be read.
    /// Pages are numbered through the archive, and each bears the name of its entry.
    Archive(Vec<Entry>),
}

/// A file that could be read, in whole or in part.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// What it holds.
    pub content: Content,
    /// What should be known about it.
    pub findings: Vec<Finding>,
}

/// Reads a file. Its format is told by its first bytes, never by its name. `way` is the key of one of the [`Way`]s
/// that an earlier reading asked about; a file with one reading only takes no notice of it.
///
/// # Errors
/// One finding of severity error when nothing could be read.
pub fn read(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    let reading = match bytes {
        [] => return Err(Finding::Empty),
        _ if signature::is_archive(bytes) => archive::read(bytes, way),
        _ => read_single(bytes, way),
    }?;
    match &reading.content {
        Content::Maps(pages) if pages.iter().all(|page| page.samples.is_empty()) => {
            Err(Finding::Damaged { format: "map", what: "it has no pixels".into() })
        }
        _ => Ok(reading),
    }
}

/// Reads a file that is no archive.
fn read_single(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    if let Some(finding) = signature::refused(bytes) {
        return Err(finding);
    }
    match bytes {
        [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => tiff::read(bytes, way),
        [0x89, b'P', b'N', b'G', ..] => picture::read_png(bytes, way),
        [0xff, 0xd8, 0xff, ..] => picture::read_jpeg(bytes, way),
        [0x93, b'N', b'U', b'M', b'P', b'Y', ..] => npy::read(bytes, way),
        _ => text::read(bytes, way),
    }
}

/// The picture of a file that holds one colour picture alone (a JPEG, a PNG in colour, a TIFF of one page in RGB), decoded
/// and not yet decided about, so that it can be decoded in one place and decided about in another:
/// [`Decoded::into_reading`] gives what [`read`] would, where it [`Decoded::suffices`]. `None` for any other file.
///
/// # Errors
/// As [`read`].
pub fn read_photo(bytes: &[u8], way: Option<&str>) -> Option<Result<Decoded, Finding>> {
    match bytes {
        [b'I', b'I', 42 | 43, 0, ..] | [b'M', b'M', 0, 42 | 43, ..] => tiff::photo_of_tiff(bytes, way),
        [0x89, b'P', b'N', b'G', ..] => picture::photo_of_png(bytes, way),
        [0xff, 0xd8, 0xff, ..] => Some(picture::photo_of_jpeg(bytes, way)),
        _ => None,
    }
}

/// Checks a claimed size before memory is taken.
fn check_size(width: u64, height: u64) -> Result<(u32, u32), Finding> {
    let too_large = Finding::TooLarge { width, height, limit: MOST_PIXELS };
    match width.checked_mul(height) {
        Some(pixels) if pixels <= MOST_PIXELS => {}
        _ => return Err(too_large),
    }
    match (u32::try_from(width), u32::try_from(height)) {
        (Ok(width), Ok(height)) => Ok((width, height)),
        _ => Err(too_large),
    }
}

/// The same for a photo.
fn check_photo_size(width: u64, height: u64) -> Result<(u32, u32), Finding> {
    let (limit, side) = (MOST_PHOTO_PIXELS, LONGEST_PHOTO_SIDE);
    // Sides of this length multiply without overflow.
    if width > side || height > side || width * height > limit {
        return Err(Finding::PhotoTooLarge { width, height, limit, side });
    }
    Ok((width as u32, height as u32))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_map_is_refused_with_a_sentence() {
        assert_eq!(read(&[], None), Err(Finding::Empty));
        assert_eq!(read(&[0, 1, 2, 3], None), Err(Finding::UnknownFormat));
        assert!(matches!(read(b"%PDF-1.7\n\x80\x81", None), Err(Finding::NotRead { format: "PDF", .. })));
        assert!(matches!(read(b"II*\0", None), Err(Finding::Damaged { format: "TIFF", .. })));
        assert!(matches!(read(b"\x89PNG\r\n", None), Err(Finding::Damaged { format: "PNG", .. })));
        assert!(matches!(read(b"\xff\xd8\xff\xe0", None), Err(Finding::Damaged { format: "JPEG", .. })));
        assert!(matches!(read(b"\x93NUMPY", None), Err(Finding::Damaged { format: "NPY", .. })));
    }

    #[test]
    fn sizes_are_checked_as_a_product() {
        assert!(check_size(10_000, 10_000).is_ok());
        assert!(check_size(10_001, 10_000).is_err());
        assert!(check_size(u64::MAX, 2).is_err());
        assert_eq!(check_size(0, 5), Ok((0, 5)));
        assert_eq!(check_photo_size(12_000, 10_000), Ok((12_000, 10_000)));
        assert!(check_photo_size(12_001, 10_000).is_err() && check_photo_size(65_536, 1).is_err());
        assert!(check_photo_size(65_535, 1).is_ok() && check_photo_size(u64::MAX, u64::MAX).is_err());
    }
}
