//! Files made byte by byte, so that any part of them can lie.

use std::io::Write;

/// An NPY file with this header, version 1.0.
pub fn npy(type_code: &str, is_fortran: &str, shape: &str, data: &[u8]) -> Vec<u8> {
    npy_of(&format!("{{'descr': '{type_code}', 'fortran_order': {is_fortran}, 'shape': {shape}, }}\n"), data)
}

/// An NPY file with any header.
pub fn npy_of(header: &str, data: &[u8]) -> Vec<u8> {
    let mut out = b"\x93NUMPY\x01\x00".to_vec();
    out.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
    out.extend(header.as_bytes());
    out.extend(data);
    out
}

/// A chunk of a PNG with its checksum.
pub fn chunk(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let mut out = u32::try_from(data.len()).unwrap().to_be_bytes().to_vec();
    let body = [name.as_slice(), data].concat();
    out.extend(&body);
    out.extend(crc32fast::hash(&body).to_be_bytes());
    out
}

/// The header chunk of a PNG.
pub fn png_header(width: u32, height: u32, colour: u8, depth: u8) -> Vec<u8> {
    let mut data = [width.to_be_bytes(), height.to_be_bytes()].concat();
    data.extend([depth, colour, 0, 0, 0]);
    chunk(b"IHDR", &data)
}

pub const PNG_START: &[u8] = b"\x89PNG\r\n\x1a\n";

pub fn deflated(data: &[u8]) -> Vec<u8> {
    let mut encoder = flate2::write::ZlibEncoder::new(Vec::new(), flate2::Compression::default());
    encoder.write_all(data).unwrap();
    encoder.finish().unwrap()
}

/// A PNG of rows without a filter.
pub fn png(width: u32, height: u32, colour: u8, depth: u8, pixels: &[u8]) -> Vec<u8> {
    let row = pixels.len() / height as usize;
    let rows: Vec<u8> = pixels.chunks(row).flat_map(|row| [&[0], row].concat()).collect();
    [
        PNG_START,
        &png_header(width, height, colour, depth),
        &chunk(b"IDAT", &deflated(&rows)),
        &chunk(b"IEND", &[]),
    ]
    .concat()
}

/// A grey JPEG.
pub fn jpeg(width: u32, height: u32) -> Vec<u8> {
    use image::ImageEncoder;
    let mut file = Vec::new();
    let pixels: Vec<u8> = (0..width * height).map(|v| (v * 3) as u8).collect();
    image::codecs::jpeg::JpegEncoder::new(&mut file)
        .write_image(&pixels, width, height, image::ExtendedColorType::L8)
        .unwrap();
    file
}

/// A tag of a TIFF: number, type, count, value or place.
pub type Tag = (u16, u16, u32, u32);

/// Where the pixels of [`tiff`] stand.
pub const PIXELS_AT: u32 = 8;

/// Tags of a grey page in one strip behind the header.
pub fn plain_tags(width: u32, height: u32, bits: u32, length: u32) -> Vec<Tag> {
    vec![
        (256, 4, 1, width),
        (257, 4, 1, height),
        (258, 3, 1, bits),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, PIXELS_AT),
        (277, 3, 1, 1),
        (278, 4, 1, height),
        (279, 4, 1, length),
    ]
}

/// Tags with others in their place, or added.
pub fn with(mut tags: Vec<Tag>, changed: &[Tag]) -> Vec<Tag> {
    for tag in changed {
        tags.retain(|(number, ..)| number != &tag.0);
        tags.push(*tag);
    }
    tags.sort_unstable();
    tags
}

/// Tags without some.
pub fn without(mut tags: Vec<Tag>, left_out: &[u16]) -> Vec<Tag> {
    tags.retain(|(number, ..)| !left_out.contains(number));
    tags
}

/// One directory: its tags and where the next one is.
pub fn directory(tags: &[Tag], next: u32) -> Vec<u8> {
    let mut out = u16::try_from(tags.len()).unwrap().to_le_bytes().to_vec();
    for (number, kind, count, value) in tags {
        out.extend(number.to_le_bytes());
        out.extend(kind.to_le_bytes());
        out.extend(count.to_le_bytes());
        out.extend(value.to_le_bytes());
    }
    out.extend(next.to_le_bytes());
    out
}

/// A little-endian TIFF: header, pixels, directory.
pub fn tiff(tags: &[Tag], pixels: &[u8]) -> Vec<u8> {
    let at = PIXELS_AT + u32::try_from(pixels.len()).unwrap();
    [b"II\x2a\0".as_slice(), &at.to_le_bytes(), pixels, &directory(tags, 0)].concat()
}

/// A file in an archive as it is listed.
pub struct Packed<'a> {
    pub name: &'a str,
    pub data: &'a [u8],
    pub method: u16,
    pub flags: u16,
    pub unpacked: u32,
    pub checksum: u32,
}

impl<'a> Packed<'a> {
    pub fn stored(name: &'a str, data: &'a [u8]) -> Self {
        let unpacked = u32::try_from(data.len()).unwrap();
        Self { name, data, method: 0, flags: 0, unpacked, checksum: crc32fast::hash(data) }
    }
}

/// A ZIP of stored files.
pub fn zip(files: &[(&str, &[u8])]) -> Vec<u8> {
    zip_of(&files.iter().map(|(name, data)| Packed::stored(name, data)).collect::<Vec<_>>())
}

/// A ZIP that lists whatever it is told to.
pub fn zip_of(files: &[Packed<'_>]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for file in files {
        let at = u32::try_from(out.len()).unwrap();
        let mut shared = 20u16.to_le_bytes().to_vec();
        shared.extend(file.flags.to_le_bytes());
        shared.extend(file.method.to_le_bytes());
        shared.extend([0; 4]);
        shared.extend(file.checksum.to_le_bytes());
        shared.extend(u32::try_from(file.data.len()).unwrap().to_le_bytes());
        shared.extend(file.unpacked.to_le_bytes());
        shared.extend(u16::try_from(file.name.len()).unwrap().to_le_bytes());
        shared.extend([0, 0]);
        out.extend(b"PK\x03\x04");
        out.extend(&shared);
        out.extend(file.name.as_bytes());
        out.extend(file.data);
        list.extend(b"PK\x01\x02\x14\0");
        list.extend(shared);
        list.extend([0; 10]);
        list.extend(at.to_le_bytes());
        list.extend(file.name.as_bytes());
    }
    let at = u32::try_from(out.len()).unwrap();
    let count = u16::try_from(files.len()).unwrap().to_le_bytes();
    let length = u32::try_from(list.len()).unwrap();
    out.extend(list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend(count);
    out.extend(count);
    out.extend(length.to_le_bytes());
    out.extend(at.to_le_bytes());
    out.extend([0, 0]);
    out
}

/// Raw deflate.
pub fn packed(data: &[u8]) -> Vec<u8> {
    let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::default());
    encoder.write_all(data).unwrap();
    encoder.finish().unwrap()
}
