use super::*;
use crate::geometry::Step;
use crate::grid::{Grid, Samples};
use crate::reading::{Content, Page};
use ::png::{BitDepth, Unit};
use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, ImageEncoder};

fn png(
    data: &[u8],
    size: (u32, u32),
    colour: ::png::ColorType,
    depth: BitDepth,
    per_metre: Option<(u32, u32)>,
) -> Vec<u8> {
    let mut file = Vec::new();
    let mut encoder = ::png::Encoder::new(&mut file, size.0, size.1);
    encoder.set_color(colour);
    encoder.set_depth(depth);
    encoder.set_pixel_dims(per_metre.map(|(xppu, yppu)| ::png::PixelDimensions {
        xppu,
        yppu,
        unit: Unit::Meter,
    }));
    if colour == ::png::ColorType::Indexed {
        encoder.set_palette(vec![200, 10, 10, 10, 200, 10]);
    }
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(data).unwrap();
    writer.finish().unwrap();
    file
}

fn map(file: &[u8]) -> (Page, Vec<Finding>) {
    let reading = read_png(file, None).unwrap();
    let Content::Maps(mut pages) = reading.content else { panic!() };
    (pages.remove(0), reading.findings)
}

#[test]
fn grey_is_a_map_with_the_step_that_it_states() {
    let deep =
        png(&[1, 44, 255, 255], (2, 1), ::png::ColorType::Grayscale, BitDepth::Sixteen, Some((2000, 4000)));
    let (page, findings) = map(&deep);
    assert_eq!(page.samples, Samples::U16(Grid::from_vec(2, 1, vec![300, 65_535]).unwrap()));
    assert_eq!((page.step, findings), (Step::new(500.0, 250.0), vec![]));
    let (page, findings) =
        map(&png(&[5], (1, 1), ::png::ColorType::Grayscale, BitDepth::Eight, Some((3780, 3780))));
    assert_eq!(page.step, None);
    assert_eq!(findings, [Finding::ScreenResolution { dots_per_inch: 96.0 }]);
}

#[test]
fn transparency_is_dropped_and_said() {
    let file =
        png(&[1, 44, 0, 0, 2, 0, 9, 9], (2, 1), ::png::ColorType::GrayscaleAlpha, BitDepth::Sixteen, None);
    let (page, findings) = map(&file);
    assert_eq!(page.samples, Samples::U16(Grid::from_vec(2, 1, vec![300, 512]).unwrap()));
    assert_eq!(findings, [Finding::TransparencyDropped]);
}

#[test]
fn colours_are_a_photo() {
    let cases: [(&[u8], ::png::ColorType, BitDepth, [u8; 3]); 4] = [
        (&[1, 2, 3, 255], ::png::ColorType::Rgba, BitDepth::Eight, [1, 2, 3]),
        (&[9, 8, 7], ::png::ColorType::Rgb, BitDepth::Eight, [9, 8, 7]),
        (&[0, 0, 128, 128, 255, 255], ::png::ColorType::Rgb, BitDepth::Sixteen, [0, 128, 255]),
        (&[1], ::png::ColorType::Indexed, BitDepth::Eight, [10, 200, 10]),
    ];
    for (data, colour, depth, want) in cases {
        let reading = read_png(&png(data, (1, 1), colour, depth, None), None).unwrap();
        let Content::Photo(photo) = reading.content else { panic!("{colour:?}") };
        assert_eq!(photo.pixels.data(), [want], "{colour:?}");
    }
}

#[test]
fn too_few_bits_are_no_counts() {
    let file = png(&[0b1010_0000], (3, 1), ::png::ColorType::Grayscale, BitDepth::One, None);
    assert!(read_png(&file, None).unwrap_err().to_string().contains("1 bit a pixel"));
}

#[test]
fn a_grey_jpeg_is_a_photo_or_a_picture_of_a_map() {
    let mut file = Vec::new();
    JpegEncoder::new(&mut file).write_image(&[128; 64], 8, 8, ExtendedColorType::L8).unwrap();
    let asked = read_jpeg(&file, None).unwrap();
    assert!(matches!(asked.content, Content::Ask { .. }), "{asked:?}");
    let photo = read_jpeg(&file, Some("photo")).unwrap();
    assert!(matches!(photo.content, Content::Photo(_)));
    let reading = read_jpeg(&file, Some("map")).unwrap();
    assert!(matches!(reading.content, Content::Maps(_)));
    assert_eq!(reading.findings, [Finding::GreyPicture { format: "JPEG" }]);
}

#[test]
fn cut_files_are_damaged() {
    let file = png(&[9; 100], (10, 10), ::png::ColorType::Grayscale, BitDepth::Eight, None);
    for length in 8..file.len() - 12 {
        assert!(read_png(&file[..length], None).is_err(), "cut at {length}");
    }
}
