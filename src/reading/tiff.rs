//! TIFF 6.0 and BigTIFF, decoded by the crate `tiff`. Grey pages are maps, an RGB page is a photo.

use super::{Content, MOST_PIXELS, Page, Photo, Reading, check_size, step_of_16_bits};
use crate::geometry::Step;
use crate::grid::{ByteOrder, SampleType, Samples, try_filled_vec};
use crate::notice::Finding;
use std::io::Cursor;
use tiff::TiffError;
use tiff::decoder::ifd::Value;
use tiff::decoder::{Decoder, DecodingSampleType, Limits};
use tiff::tags::Tag;
use tiff::{ColorType, TiffResult};

type TiffDecoder<'a> = Decoder<Cursor<&'a [u8]>>;

/// What deflate and LZW can at most make of a byte (deflate 1032; LZW with codes of 12 bits 2730): a file that claims
/// more pixels than this allows is lying, and is refused before memory is taken.
const MOST_EXPANSION: u64 = 2800;
const MOST_PAGES: u32 = 512;
/// Tag 285 of TIFF 6.0.
const PAGE_NAME: Tag = Tag::Unknown(285);
/// Resolutions that screens and printers write for want of a better one. Common practice, no source.
const SCREEN_DPI: [f64; 7] = [1.0, 72.0, 90.0, 96.0, 150.0, 300.0, 600.0];

const NAME: &str = "TIFF";

fn damaged(what: impl ToString) -> Finding {
    Finding::Damaged { format: NAME, what: what.to_string() }
}

fn not_read(what: &str) -> Finding {
    Finding::NotRead { format: NAME, what: what.into() }
}

impl From<TiffError> for Finding {
    fn from(error: TiffError) -> Self {
        match error {
            TiffError::UnsupportedError(what) => {
                not_read(&format!("{what}. Save it uncompressed, or with deflate or LZW."))
            }
            TiffError::LimitsExceeded => {
                not_read("it needs more memory than is allowed. Bin or crop the map before opening it.")
            }
            TiffError::IoError(_) => damaged("it ends too early"),
            other => damaged(other.to_string().trim_end_matches('.')),
        }
    }
}

/// Reads every page. A page that cannot be read is a finding, unless it is the only one.
pub(super) fn read(bytes: &[u8], _way: Option<&str>) -> Result<Reading, Finding> {
    let mut limits = Limits::default();
    limits.decoding_buffer_size = (MOST_PIXELS * 8) as usize;
    limits.intermediate_buffer_size = (MOST_PIXELS * 8) as usize;
    limits.ifd_value_size = bytes.len().clamp(1 << 16, 1 << 26);
    let mut decoder = Decoder::new(Cursor::new(bytes))?.with_limits(limits);
    let (mut pages, mut findings) = (Vec::new(), Vec::new());
    let mut number = 0;
    loop {
        match read_page(&mut decoder, bytes.len() as u64, number, &mut findings) {
            Ok(PageContent::Map(page)) => pages.push(page),
            Ok(PageContent::Photo(photo)) if number == 0 && !decoder.more_images() => {
                return Ok(Reading { content: Content::Photo(photo), findings });
            }
            Ok(PageContent::Photo(_)) => findings.push(not_read(&format!(
                "page {} is a colour picture among others. Save it as a file of its own.",
                number + 1
            ))),
            Ok(PageContent::Thumbnail) => {}
            Err(finding) => findings.push(finding),
        }
        number += 1;
        if !decoder.more_images() || number >= MOST_PAGES {
            break;
        }
        if let Err(error) = decoder.next_image() {
            findings.push(error.into());
            break;
        }
    }
    if pages.is_empty() {
        return Err(findings.into_iter().next().unwrap_or_else(|| damaged("it holds no picture")));
    }
    Ok(Reading { content: Content::Maps(pages), findings })
}

enum PageContent {
    Map(Page),
    Photo(Photo),
    Thumbnail,
}

fn read_page(
    decoder: &mut TiffDecoder<'_>,
    file_length: u64,
    number: u32,
    findings: &mut Vec<Finding>,
) -> Result<PageContent, Finding> {
    // NewSubfileType, bit 0: a smaller copy of another page.
    if decoder.find_tag_unsigned::<u32>(Tag::NewSubfileType)?.is_some_and(|bits| bits & 1 == 1) {
        return Ok(PageContent::Thumbnail);
    }
    let (width, height) = decoder.dimensions()?;
    let size = check_size(u64::from(width), u64::from(height))?;
    let layout = decoder.image_buffer_layout()?;
    if layout.complete_len as u64 > file_length.saturating_mul(MOST_EXPANSION) {
        return Err(damaged(format!(
            "it claims {width} × {height} pixels, which its {file_length} bytes cannot hold"
        )));
    }
    let colour = decoder.colortype()?;
    if layout.planes > 1 {
        return Err(not_read(
            "its channels are stored one after the other. Save each channel as a file or page of its own.",
        ));
    }
    let mut bytes = try_filled_vec(layout.complete_len as u64, 0u8)?;
    decoder.read_image_bytes(&mut bytes)?;
    match colour {
        ColorType::Gray(1..=7) => {
            Err(not_read("it has less than 8 bits a pixel, so it is no map of counts."))
        }
        ColorType::Gray(_) => {
            let samples = grey(layout.sample_type, size, &bytes)?;
            if decoder.find_tag_unsigned::<u16>(Tag::PhotometricInterpretation)? == Some(0) {
                findings.push(Finding::WhiteIsZero);
            }
            let step = step(decoder, findings)?;
            let title =
                decoder.find_tag(PAGE_NAME)?.and_then(|value| value.into_string().ok()).unwrap_or_default();
            Ok(PageContent::Map(Page {
                number,
                title: title.trim().to_owned(),
                samples,
                step,
                entry: String::new(),
            }))
        }
        ColorType::RGB(8) => photo(size, bytes.chunks_exact(3).map(|p| [p[0], p[1], p[2]])),
        ColorType::RGBA(8) => photo(size, bytes.chunks_exact(4).map(|p| [p[0], p[1], p[2]])),
        ColorType::RGB(16) => {
            photo(size, bytes.chunks_exact(6).map(|p| [0, 2, 4].map(|i| step_of_16_bits(&p[i..]))))
        }
        ColorType::Palette(_) => Err(not_read(
            "its colours are numbers of a palette. Save it as grey values, or as RGB if it is a photo.",
        )),
        ColorType::GrayA(_) => Err(not_read("it has a transparency channel. Save it without.")),
        _ => Err(not_read("it has several channels. Save each channel as a file or page of its own.")),
    }
}

fn grey(stored: Option<DecodingSampleType>, size: (u32, u32), bytes: &[u8]) -> Result<Samples, Finding> {
    let sample_type = match stored {
        Some(DecodingSampleType::U8) => SampleType::U8,
        Some(DecodingSampleType::I8) => SampleType::I8,
        Some(DecodingSampleType::U16) => SampleType::U16,
        Some(DecodingSampleType::I16) => SampleType::I16,
        Some(DecodingSampleType::U32) => SampleType::U32,
        Some(DecodingSampleType::I32) => SampleType::I32,
        Some(DecodingSampleType::F32) => SampleType::F32,
        Some(DecodingSampleType::F64) => SampleType::F64,
        _ => {
            return Err(not_read(
                "its numbers are neither integers of 8, 16 or 32 bits nor floats of 32 or 64. Save it as one of these.",
            ));
        }
    };
    Samples::from_bytes(sample_type, size, bytes, ByteOrder::NATIVE)?
        .ok_or_else(|| damaged("its size and its data differ"))
}

fn photo(size: (u32, u32), colours: impl Iterator<Item = [u8; 3]>) -> Result<PageContent, Finding> {
    Photo::of(size, NAME, colours).map(PageContent::Photo)
}

/// The step out of the resolution tags; a screen's resolution is a finding and no step.
fn step(decoder: &mut TiffDecoder<'_>, findings: &mut Vec<Finding>) -> TiffResult<Option<Step>> {
    let mut per_unit = |tag| -> TiffResult<Option<f64>> {
        let value = match decoder.find_tag(tag)? {
            Some(Value::Rational(n, d)) => f64::from(n) / f64::from(d),
            Some(value) => value.into_f64().unwrap_or(0.0),
            None => return Ok(None),
        };
        Ok(Some(value).filter(|v| v.is_finite() && *v > 0.0))
    };
    let (Some(x), Some(y)) = (per_unit(Tag::XResolution)?, per_unit(Tag::YResolution)?) else {
        return Ok(None);
    };
    let unit_um = match decoder.find_tag_unsigned::<u16>(Tag::ResolutionUnit)?.unwrap_or(2) {
        2 => 25_400.0,
        3 => 10_000.0,
        _ => return Ok(None),
    };
    let dots_per_inch = x * 25_400.0 / unit_um;
    if let Some(screen) = SCREEN_DPI.into_iter().find(|dpi| (dots_per_inch - dpi).abs() < 0.1) {
        if screen > 1.0 {
            findings.push(Finding::ScreenResolution { dots_per_inch: screen });
        }
        return Ok(None);
    }
    Ok(Step::new(unit_um / x, unit_um / y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use tiff::encoder::colortype::{Gray8, Gray16, RGB8};
    use tiff::encoder::{Rational, TiffEncoder};
    use tiff::tags::ResolutionUnit;

    fn written(write: impl FnOnce(&mut TiffEncoder<&mut Cursor<Vec<u8>>>)) -> Vec<u8> {
        let mut file = Cursor::new(Vec::new());
        write(&mut TiffEncoder::new(&mut file).unwrap());
        file.into_inner()
    }

    #[test]
    fn pages_become_maps_and_a_scans_resolution_its_step() {
        let file = written(|encoder| {
            let mut page = encoder.new_image::<Gray16>(2, 1).unwrap();
            page.resolution(ResolutionUnit::Centimeter, Rational { n: 20, d: 1 });
            page.write_data(&[1, 60_000]).unwrap();
            let mut page = encoder.new_image::<Gray8>(1, 1).unwrap();
            page.resolution(ResolutionUnit::Inch, Rational { n: 72, d: 1 });
            page.write_data(&[7]).unwrap();
        });
        let reading = read(&file, None).unwrap();
        let Content::Maps(pages) = &reading.content else { panic!("{reading:?}") };
        assert_eq!(pages.len(), 2);
        assert_eq!(pages[0].step, Step::new(500.0, 500.0));
        assert_eq!(pages[0].samples.le_bytes().unwrap(), [1, 0, 0x60, 0xea]);
        assert_eq!((pages[1].step, pages[1].number), (None, 1));
        assert_eq!(reading.findings, [Finding::ScreenResolution { dots_per_inch: 72.0 }]);
    }

    #[test]
    fn a_colour_page_is_a_photo() {
        let file = written(|encoder| encoder.write_image::<RGB8>(1, 2, &[1, 2, 3, 4, 5, 6]).unwrap());
        let Content::Photo(photo) = read(&file, None).unwrap().content else { panic!() };
        assert_eq!(photo.pixels.data(), [[1, 2, 3], [4, 5, 6]]);
    }

    #[test]
    fn every_cut_of_a_file_is_an_error_or_a_map_and_never_a_panic() {
        let file = written(|encoder| encoder.write_image::<Gray16>(5, 4, &[9; 20]).unwrap());
        for length in 0..file.len() {
            if let Ok(reading) = super::super::read(&file[..length], None) {
                let Content::Maps(pages) = reading.content else { panic!() };
                assert_eq!(pages[0].samples.len(), 20, "cut at {length}");
            }
        }
    }

    #[test]
    fn a_file_that_claims_more_than_it_can_hold_is_refused_before_memory_is_taken() {
        let mut file = written(|encoder| encoder.write_image::<Gray8>(1, 1, &[9]).unwrap());
        // ImageWidth (256) and ImageLength (257) as the encoder writes them: LONG, count 1.
        for (tag, value) in [(256u16, 60_000u32), (257, 60_000)] {
            let head = [tag.to_ne_bytes().as_slice(), &4u16.to_ne_bytes(), &1u32.to_ne_bytes()].concat();
            let at = file.windows(8).position(|w| w == head).unwrap();
            file[at + 8..at + 12].copy_from_slice(&value.to_ne_bytes());
        }
        assert!(matches!(read(&file, None), Err(Finding::TooLarge { .. })), "{:?}", read(&file, None));
    }
}
