//! PNG and JPEG, decoded by the crate `image`. A grey PNG is a map; anything in colour, and every JPEG, is a photo:
//! JPEG changes values, so it can be looked at and not counted.

use super::{Content, MOST_PIXELS, Photo, Reading, check_size, step_of_16_bits};
use crate::grid::{ByteOrder, SampleType, Samples, try_filled_vec};
use crate::notice::Finding;
use image::codecs::jpeg::JpegDecoder;
use image::codecs::png::PngDecoder;
use image::{ColorType, ExtendedColorType, ImageDecoder, ImageError, Limits};
use std::io::Cursor;

pub(super) fn read_png(bytes: &[u8], _way: Option<&str>) -> Result<Reading, Finding> {
    let decoder =
        PngDecoder::with_limits(Cursor::new(bytes), limits()).map_err(|error| finding("PNG", &error))?;
    let size = size_of(&decoder)?;
    let stored = decoder.original_color_type();
    let (colour, pixels) = decode("PNG", decoder, size)?;
    match colour {
        ColorType::L8 | ColorType::L16
            if !matches!(stored, ExtendedColorType::L8 | ExtendedColorType::L16) =>
        {
            Err(not_read("PNG", "it has less than 8 bits a pixel, so it is no map of counts."))
        }
        ColorType::L8 => map(SampleType::U8, size, &pixels),
        ColorType::L16 => map(SampleType::U16, size, &pixels),
        ColorType::La8 | ColorType::La16 => {
            Err(not_read("PNG", "it has a transparency channel. Save it without."))
        }
        ColorType::Rgb8 => photo(size, pixels.chunks_exact(3).map(|p| [p[0], p[1], p[2]])),
        ColorType::Rgba8 => photo(size, pixels.chunks_exact(4).map(|p| [p[0], p[1], p[2]])),
        ColorType::Rgb16 | ColorType::Rgba16 => {
            let channels = usize::from(colour.channel_count());
            photo(
                size,
                pixels.chunks_exact(2 * channels).map(|p| [0, 2, 4].map(|i| step_of_16_bits(&p[i..]))),
            )
        }
        _ => Err(not_read(
            "PNG",
            "its pixels are of a sort that is not read. Save it as grey of 8 or 16 bits, or as RGB.",
        )),
    }
}

pub(super) fn read_jpeg(bytes: &[u8], _way: Option<&str>) -> Result<Reading, Finding> {
    let mut decoder = JpegDecoder::new(Cursor::new(bytes)).map_err(|error| finding("JPEG", &error))?;
    let size = size_of(&decoder)?;
    decoder.set_limits(limits()).map_err(|error| finding("JPEG", &error))?;
    let (colour, pixels) = decode("JPEG", decoder, size)?;
    match colour {
        ColorType::L8 => photo(size, pixels.iter().map(|&v| [v; 3])),
        ColorType::Rgb8 => photo(size, pixels.chunks_exact(3).map(|p| [p[0], p[1], p[2]])),
        _ => Err(not_read("JPEG", "its colours are not RGB. Save it as RGB.")),
    }
}

fn limits() -> Limits {
    let mut limits = Limits::no_limits();
    limits.max_alloc = Some(MOST_PIXELS * 8);
    limits
}

fn size_of(decoder: &impl ImageDecoder) -> Result<(u32, u32), Finding> {
    let (width, height) = decoder.dimensions();
    check_size(u64::from(width), u64::from(height))
}

fn decode(
    format: &'static str,
    decoder: impl ImageDecoder,
    size: (u32, u32),
) -> Result<(ColorType, Vec<u8>), Finding> {
    let colour = decoder.color_type();
    let length = u64::from(size.0) * u64::from(size.1) * u64::from(colour.bytes_per_pixel());
    let mut pixels = try_filled_vec(length, 0u8)?;
    decoder.read_image(&mut pixels).map_err(|error| finding(format, &error))?;
    Ok((colour, pixels))
}

fn map(sample_type: SampleType, size: (u32, u32), pixels: &[u8]) -> Result<Reading, Finding> {
    let samples = Samples::from_bytes(sample_type, size, pixels, ByteOrder::NATIVE)?;
    samples
        .map(Reading::of_map)
        .ok_or(Finding::Damaged { format: "PNG", what: "its size and its data differ".into() })
}

fn photo(size: (u32, u32), colours: impl Iterator<Item = [u8; 3]>) -> Result<Reading, Finding> {
    Ok(Reading { content: Content::Photo(Photo::of(size, "picture", colours)?), findings: Vec::new() })
}

fn not_read(format: &'static str, what: &str) -> Finding {
    Finding::NotRead { format, what: what.into() }
}

fn finding(format: &'static str, error: &ImageError) -> Finding {
    match error {
        ImageError::Limits(_) => {
            not_read(format, "it needs more memory than is allowed. Bin or crop it before opening it.")
        }
        ImageError::Unsupported(what) => not_read(format, &format!("{what}.")),
        ImageError::IoError(_) => Finding::Damaged { format, what: "it ends too early".into() },
        other => Finding::Damaged { format, what: other.to_string().trim_end_matches('.').to_owned() },
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Grid;
    use image::ImageEncoder;
    use image::codecs::jpeg::JpegEncoder;
    use image::codecs::png::PngEncoder;

    fn png(bytes: &[u8], width: u32, height: u32, colour: ExtendedColorType) -> Vec<u8> {
        let mut file = Vec::new();
        PngEncoder::new(&mut file).write_image(bytes, width, height, colour).unwrap();
        file
    }

    #[test]
    fn grey_is_a_map_and_colour_a_photo() {
        let deep: Vec<u8> = [300u16, 65_535].iter().flat_map(|v| v.to_ne_bytes()).collect();
        let Content::Maps(pages) = read_png(&png(&deep, 2, 1, ExtendedColorType::L16), None).unwrap().content
        else {
            panic!()
        };
        assert_eq!(pages[0].samples, Samples::U16(Grid::from_vec(2, 1, vec![300, 65_535]).unwrap()));
        let file = png(&[1, 2, 3, 255], 1, 1, ExtendedColorType::Rgba8);
        let Content::Photo(photo) = read_png(&file, None).unwrap().content else { panic!() };
        assert_eq!(photo.pixels.data(), [[1, 2, 3]]);
        let half: Vec<u8> = [0u16, 32_896, 65_535].iter().flat_map(|v| v.to_ne_bytes()).collect();
        let Content::Photo(photo) =
            read_png(&png(&half, 1, 1, ExtendedColorType::Rgb16), None).unwrap().content
        else {
            panic!()
        };
        assert_eq!(photo.pixels.data(), [[0, 128, 255]]);
    }

    #[test]
    fn a_grey_jpeg_is_a_photo_too() {
        let mut file = Vec::new();
        JpegEncoder::new(&mut file).write_image(&[128; 64], 8, 8, ExtendedColorType::L8).unwrap();
        assert!(matches!(read_jpeg(&file, None).unwrap().content, Content::Photo(_)));
    }

    #[test]
    fn cut_files_are_damaged() {
        let file = png(&[9; 100], 10, 10, ExtendedColorType::L8);
        for length in 8..file.len() - 12 {
            assert!(read_png(&file[..length], None).is_err(), "cut at {length}");
        }
    }
}
