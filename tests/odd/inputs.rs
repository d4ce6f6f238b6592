//! The odd inputs, each with its name.

use crate::making::{
    PIXELS_AT, PNG_START, Packed, chunk, deflated, directory, jpeg, npy, npy_of, packed, plain_tags, png,
    png_header, tiff, with, without, zip, zip_of,
};

/// Name and bytes of every input.
pub fn all() -> Vec<(String, Vec<u8>)> {
    let parts = [tiffs(), pictures(), arrays(), archives(), texts(), others()];
    parts.into_iter().flatten().map(|(name, bytes)| (name.to_owned(), bytes)).collect()
}

type Inputs = Vec<(&'static str, Vec<u8>)>;

/// Twelve bytes: 3 × 2 pixels of 16 bits.
const PIXELS: [u8; 12] = [1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6, 0];

fn tiffs() -> Inputs {
    let plain = || plain_tags(3, 2, 16, 12);
    let of = |changed: &[_]| tiff(&with(plain(), changed), &PIXELS);
    // Two directories whose second points at the first again.
    let first = directory(&plain(), 0).len() as u32;
    let two = |next: u32| {
        let start = PIXELS_AT + 12;
        [
            b"II\x2a\0".as_slice(),
            &start.to_le_bytes(),
            &PIXELS,
            &directory(&plain(), start + first),
            &directory(&plain(), next),
        ]
        .concat()
    };
    vec![
        ("TIFF header only", b"II\x2a\0\x08\0\0\0".to_vec()),
        ("TIFF cut within its header", b"MM\0\x2a\0".to_vec()),
        ("BigTIFF cut within its header", b"II\x2b\0\x08\0\0\0\xff\xff".to_vec()),
        ("TIFF with its first directory beyond the end", b"II\x2a\0\xff\xff\xff\x7f".to_vec()),
        ("TIFF that claims 60000 × 60000 pixels", of(&[(256, 4, 1, 60_000), (257, 4, 1, 60_000)])),
        (
            "TIFF that claims 9000 × 9000 deflated pixels",
            of(&[(256, 4, 1, 9000), (257, 4, 1, 9000), (259, 3, 1, 8)]),
        ),
        ("TIFF of no width", of(&[(256, 4, 1, 0)])),
        ("TIFF of no height", of(&[(257, 4, 1, 0)])),
        ("TIFF without its width", tiff(&without(plain(), &[256]), &PIXELS)),
        ("TIFF without strips", tiff(&without(plain(), &[273, 279]), &PIXELS)),
        ("TIFF that does not say grey or colour", tiff(&without(plain(), &[262]), &PIXELS)),
        ("TIFF without any tag", tiff(&[], &PIXELS)),
        ("TIFF with its strip beyond the end", of(&[(273, 4, 1, 4_000_000_000)])),
        ("TIFF with a strip too short, 30 rows for 2", of(&[(257, 4, 1, 30), (278, 4, 1, 30)])),
        ("TIFF with strips without rows", of(&[(278, 4, 1, 0)])),
        ("TIFF with one strip where two are due", of(&[(278, 4, 1, 1)])),
        ("TIFF with a billion strips", of(&[(273, 4, 1_000_000_000, 8), (279, 4, 1_000_000_000, 8)])),
        (
            "TIFF with tiles of 4 billion pixels a side",
            tiff(
                &with(
                    without(plain(), &[273, 278, 279]),
                    &[(322, 4, 1, u32::MAX), (323, 4, 1, u32::MAX), (324, 4, 1, 8), (325, 4, 1, 12)],
                ),
                &PIXELS,
            ),
        ),
        (
            "TIFF with tiles and strips",
            of(&[(322, 4, 1, 16), (323, 4, 1, 16), (324, 4, 1, 8), (325, 4, 1, 12)]),
        ),
        (
            "TIFF with tiles of no size",
            tiff(
                &with(
                    without(plain(), &[273, 278, 279]),
                    &[(322, 4, 1, 0), (323, 4, 1, 16), (324, 4, 1, 8), (325, 4, 1, 12)],
                ),
                &PIXELS,
            ),
        ),
        ("TIFF with pages in a circle", two(PIXELS_AT + 12)),
        ("TIFF with its third page beyond the end", two(90_000)),
        ("TIFF of 12 bits", of(&[(258, 3, 1, 12)])),
        ("TIFF of 1 bit", of(&[(258, 3, 1, 1)])),
        ("TIFF of no bits", of(&[(258, 3, 1, 0)])),
        ("TIFF of complex numbers", of(&[(339, 3, 1, 6), (258, 3, 1, 64)])),
        ("TIFF of 65535 channels", of(&[(277, 3, 1, 65_535)])),
        ("TIFF of no channels", of(&[(277, 3, 1, 0)])),
        ("TIFF with more extra channels than channels", of(&[(338, 3, 2, 0)])),
        ("TIFF with a palette", of(&[(262, 3, 1, 3)])),
        ("TIFF for printing", of(&[(262, 3, 1, 5)])),
        ("TIFF packed as JPEG", of(&[(259, 3, 1, 7)])),
        ("TIFF packed as Zstandard", of(&[(259, 3, 1, 50_000)])),
        ("TIFF packed in no known way", of(&[(259, 3, 1, 4321)])),
        (
            "TIFF of a photo that claims 65535 × 65535 pixels",
            of(&[(256, 4, 1, 65_535), (257, 4, 1, 65_535), (262, 3, 1, 2), (277, 3, 1, 3)]),
        ),
        (
            "TIFF of a photo that claims 9000 × 9000 deflated pixels",
            of(&[(256, 4, 1, 9000), (257, 4, 1, 9000), (259, 3, 1, 8), (262, 3, 1, 2), (277, 3, 1, 3)]),
        ),
        ("TIFF of deflated noise", of(&[(259, 3, 1, 8)])),
        ("TIFF of LZW noise", of(&[(259, 3, 1, 5)])),
        ("TIFF with a predictor for floats on integers", of(&[(317, 3, 1, 3)])),
        ("TIFF with a predictor that does not exist", of(&[(317, 3, 1, 99)])),
        ("TIFF with a resolution of 0 / 0", of(&[(282, 5, 1, 8), (283, 5, 1, 8)])),
        (
            "TIFF of whole numbers of 64 bits that don't fit",
            tiff(&plain_tags(1, 1, 64, 8), &0xffff_ffff_ffff_ffffu64.to_le_bytes()),
        ),
    ]
}

fn pictures() -> Inputs {
    let good = png(3, 2, 0, 16, &PIXELS);
    let mut bad_checksum = good.clone();
    bad_checksum[30] ^= 1;
    let no_end = good[..good.len() - 12].to_vec();
    let bomb = deflated(&vec![0; 3_000_000]);
    let claims = |width, height| {
        [PNG_START, &png_header(width, height, 0, 8), &chunk(b"IDAT", &bomb), &chunk(b"IEND", &[])].concat()
    };
    let photo = jpeg(64, 64);
    let mut wide_jpeg = photo.clone();
    // The frame header's size: 16 bits down, 16 bits across.
    let frame = wide_jpeg.windows(2).position(|pair| pair == [0xff, 0xc0]).unwrap();
    wide_jpeg[frame + 5..frame + 9].copy_from_slice(&[0xff; 4]);
    let with_frame = |at: usize, value: u8| {
        let mut changed = photo.clone();
        changed[frame + at] = value;
        changed
    };
    let colour_bomb = |width, height| {
        [PNG_START, &png_header(width, height, 2, 8), &chunk(b"IDAT", &bomb), &chunk(b"IEND", &[])].concat()
    };
    vec![
        ("PNG signature only", PNG_START.to_vec()),
        ("PNG with a wrong checksum", bad_checksum),
        ("PNG cut before its end chunk", no_end),
        ("PNG cut in the middle", good[..good.len() / 2 + 8].to_vec()),
        ("PNG that claims 60000 × 60000 pixels", claims(60_000, 60_000)),
        ("PNG that claims 9000 × 9000 pixels", claims(9000, 9000)),
        ("PNG that unpacks to more than its pixels", claims(10, 10)),
        ("PNG of no width", claims(0, 5)),
        ("PNG of 1 bit", png(8, 2, 0, 1, &[0xaa, 0x55])),
        ("PNG of 3 bits", png(8, 2, 0, 3, &[0xaa, 0x55])),
        ("PNG without pixels", [PNG_START, &png_header(3, 2, 0, 8), &chunk(b"IEND", &[])].concat()),
        ("JPEG cut after 3 bytes", photo[..3].to_vec()),
        ("JPEG cut within its header", photo[..40].to_vec()),
        ("JPEG that claims 65535 × 65535 pixels", wide_jpeg),
        ("JPEG without its end", photo[..photo.len() - 2].to_vec()),
        ("JPEG cut in its pixels", photo[..photo.len() - 20].to_vec()),
        ("JPEG of 12 bits", with_frame(4, 12)),
        ("JPEG with arithmetic coding", with_frame(1, 0xc9)),
        ("JPEG without loss", with_frame(1, 0xc3)),
        ("JPEG in grey", photo.clone()),
        ("PNG of a photo that claims 65535 × 65535 pixels", colour_bomb(65_535, 65_535)),
        ("PNG of a photo that claims 70000 × 10 pixels", colour_bomb(70_000, 10)),
        ("PNG of a photo that claims 9000 × 9000 pixels", colour_bomb(9000, 9000)),
        ("JPEG without pixels", b"\xff\xd8\xff\xd9".to_vec()),
    ]
}

fn arrays() -> Inputs {
    let array = |shape: &str| npy("<u2", "False", shape, &PIXELS);
    vec![
        ("NPY signature only", b"\x93NUMPY".to_vec()),
        ("NPY of version 9", b"\x93NUMPY\x09\x00\x10\x00{}".to_vec()),
        ("NPY with a header of 4 GB", b"\x93NUMPY\x02\x00\xff\xff\xff\xff{'descr'".to_vec()),
        ("NPY that claims 60000 × 60000 numbers", array("(60000, 60000)")),
        ("NPY that claims 3000 × 3000 numbers", array("(3000, 3000)")),
        ("NPY whose product of sides overflows", array("(4294967296, 4294967296, 4294967296)")),
        ("NPY of negative sides", array("(-2, 3)")),
        ("NPY of no rows", array("(0, 3)")),
        ("NPY of one dimension", array("(6,)")),
        ("NPY of no dimensions", array("()")),
        ("NPY of three dimensions", array("(1, 2, 3)")),
        ("NPY of three long dimensions", npy("|u1", "False", "(2, 3, 2)", &PIXELS)),
        ("NPY of four dimensions", array("(1, 1, 2, 3)")),
        ("NPY of Python objects", npy("|O", "False", "(1, 1)", b"cos\nsystem\n(S'true'\ntR.")),
        (
            "NPY of records",
            npy_of("{'descr': [('a', '<f4')], 'fortran_order': False, 'shape': (1, 3), }\n", &PIXELS),
        ),
        ("NPY of complex numbers", npy("<c8", "False", "(1, 1)", &PIXELS)),
        ("NPY of dates", npy("<M8[s]", "False", "(1, 1)", &PIXELS)),
        ("NPY with code in its header", npy_of("{'descr': __import__('os'), 'shape': (1, 1)}", &PIXELS)),
        ("NPY with a header of brackets", npy_of(&"(".repeat(5000), &PIXELS)),
    ]
}

fn archives() -> Inputs {
    let array = npy("<u2", "False", "(2, 3)", &PIXELS);
    let zeros = vec![0; 2_000_000];
    let small = packed(&zeros);
    let bomb =
        |unpacked| Packed { name: "bomb.npy", data: &small, method: 8, flags: 0, unpacked, checksum: 0 };
    let mut cut = zip(&[("Cu-K.npy", &array)]);
    cut.truncate(cut.len() - 30);
    let inner = zip(&[("Cu-K.npy", &array)]);
    let wrong = Packed { checksum: 1, ..Packed::stored("Cu-K.npy", &array) };
    let locked = Packed { flags: 1, ..Packed::stored("Cu-K.npy", &array) };
    let other = Packed { method: 12, ..Packed::stored("Cu-K.npy", &array) };
    let asks = npy("|u1", "False", "(2, 3, 2)", &PIXELS);
    vec![
        ("ZIP of nothing", b"PK\x05\x06\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0\0".to_vec()),
        ("ZIP without its list", cut),
        ("ZIP of hidden files only", zip(&[("__MACOSX/._Cu-K.npy", &array), (".hidden", &array)])),
        ("ZIP with a password", zip_of(&[locked])),
        ("ZIP packed with bzip2", zip_of(&[other])),
        ("ZIP with a wrong checksum", zip_of(&[wrong])),
        ("ZIP whose file claims 1.5 GB", zip_of(&[bomb(1_500_000_000)])),
        ("ZIP whose file claims 4 GB", zip_of(&[bomb(4_000_000_000)])),
        ("ZIP whose file unpacks to more than it claims", zip_of(&[bomb(1000)])),
        ("ZIP in a ZIP", zip(&[("inner.zip", &inner)])),
        ("ZIP with paths that climb", zip(&[("../../../etc/Cu-K.npy", &array)])),
        ("ZIP with one good file and one bad", zip(&[("Cu-K.npy", &array), ("notes.bin", &[0, 1, 2])])),
        (
            "ZIP with a file that can be read in several ways",
            zip(&[("Cu-K.npy", &array), ("stack.npy", &asks)]),
        ),
        ("a spreadsheet", zip(&[("[Content_Types].xml", b"<Types/>"), ("xl/workbook.xml", b"<workbook/>")])),
        ("an open document", zip(&[("mimetype", b"application/x"), ("content.xml", b"<office/>")])),
    ]
}

fn texts() -> Inputs {
    vec![
        ("nothing at all", Vec::new()),
        ("one byte", vec![7]),
        ("zeros", vec![0; 4096]),
        ("text in UTF-16 with its mark", b"\xff\xfe1\0;\x002\0\n\0".to_vec()),
        ("text in UTF-16, large byte first", b"\xfe\xff\x001\0;\x002\0\n".to_vec()),
        ("a letter", b"Dear reader,\nhere is a letter.\n".to_vec()),
        ("a web page", b"<!DOCTYPE html><html></html>".to_vec()),
        ("a table cut short", b"1;2;3\n4;5\n".to_vec()),
    ]
}

fn others() -> Inputs {
    let with_start = |start: &[u8]| [start, &[0x80; 40]].concat();
    let mut medical = vec![0; 128];
    medical.extend(b"DICM\x02\0");
    vec![
        ("a PDF", b"%PDF-1.7\n1 2 3\n".to_vec()),
        ("HDF5", with_start(b"\x89HDF\r\n\x1a\n")),
        ("an old office document", with_start(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1")),
        ("a camera's raw picture", with_start(b"II\x2a\0\x10\0\0\0CR\x02\0")),
        ("gzip", with_start(b"\x1f\x8b\x08")),
        ("7z", with_start(b"7z\xbc\xaf\x27\x1c")),
        ("GIF", with_start(b"GIF89a")),
        ("BMP", with_start(b"BM\x46\0")),
        ("a medical picture", medical),
        ("FITS", b"SIMPLE  =                    T".to_vec()),
        ("a program", with_start(b"MZ\x90\0")),
    ]
}
