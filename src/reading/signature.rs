//! Files that are known by their first bytes and not read: what they are, and what to do instead. Signatures are those
//! that the formats' own descriptions state.

use crate::notice::Finding;

/// A signature: where it stands, its bytes, the name of the format, and what to do.
type Signature = (usize, &'static [u8], &'static str, &'static str);

const UNPACK: &str = "an archive of another kind. Unpack it, or pack the files as ZIP.";
const PICTURE: &str = "a picture of a sort that is not read. Save it as PNG or TIFF.";
const SPREADSHEET: &str = "not read here. If it is a spreadsheet, save the sheet as CSV.";
const RAW: &str = "a camera's raw picture. Save it as TIFF or JPEG.";
const CONTAINER: &str = "a container of arrays that is not read. Export each map as TIFF, NPY or text.";

const SIGNATURES: [Signature; 36] = [
    (0, b"%PDF", "PDF", "a page to print. Export the map itself as TIFF, PNG or text."),
    (0, b"%!PS", "PostScript", "a page to print. Export the map itself as TIFF, PNG or text."),
    (0, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "office document", SPREADSHEET),
    (0, b"\x89HDF\r\n\x1a\n", "HDF5", CONTAINER),
    (0, b"\x0e\x03\x13\x01", "HDF4", CONTAINER),
    (0, b"CDF\x01", "NetCDF", CONTAINER),
    (0, b"CDF\x02", "NetCDF", CONTAINER),
    (0, b"MATLAB 5.0", "MAT-file", CONTAINER),
    (0, b"SIMPLE  =", "FITS", CONTAINER),
    (128, b"DICM", "DICOM", "a medical picture. Save it as TIFF."),
    (0, b"II*\0\x10\0\0\0CR", "RAW", RAW),
    (0, b"IIU\0", "RAW", RAW),
    (0, b"IIRO", "RAW", RAW),
    (0, b"MMOR", "RAW", RAW),
    (0, b"FUJIFILMCCD-RAW", "RAW", RAW),
    (0, b"\x1f\x8b", "gzip", UNPACK),
    (0, b"Rar!\x1a\x07", "RAR", UNPACK),
    (0, b"7z\xbc\xaf\x27\x1c", "7z", UNPACK),
    (0, b"BZh", "bzip2", UNPACK),
    (0, b"\xfd7zXZ\0", "xz", UNPACK),
    (0, b"\x28\xb5\x2f\xfd", "Zstandard", UNPACK),
    (257, b"ustar", "tar", UNPACK),
    (0, b"GIF8", "GIF", PICTURE),
    (0, b"BM", "BMP", PICTURE),
    (8, b"WEBP", "WebP", PICTURE),
    (0, b"8BPS", "PSD", PICTURE),
    (0, b"\0\0\0\x0cjP  \r\n\x87\n", "JPEG 2000", PICTURE),
    (0, b"\xff\x4f\xff\x51", "JPEG 2000", PICTURE),
    (0, b"\0\0\0\x0cJXL \r\n\x87\n", "JPEG XL", PICTURE),
    (4, b"ftyp", "HEIF or film", PICTURE),
    (0, b"v/1\x01", "OpenEXR", PICTURE),
    (0, b"SQLite format 3\0", "SQLite", "a database. Export each map as TIFF, NPY or text."),
    (0, b"PAR1", "Parquet", CONTAINER),
    (0, b"MZ", "program", "no map. Take it out of the folder."),
    (0, b"\x7fELF", "program", "no map. Take it out of the folder."),
    (0, b"\x80\x02", "pickle", "objects of a program. Save the map with numpy as NPY, without pickling."),
];

/// True for a ZIP with entries or an empty one.
pub(super) fn is_archive(bytes: &[u8]) -> bool {
    matches!(bytes, [b'P', b'K', 3, 4, ..] | [b'P', b'K', 5, 6, ..])
}

/// The sentence about a file of a format that is known and not read.
pub(super) fn refused(bytes: &[u8]) -> Option<Finding> {
    let not_read = |format, what: &str| Some(Finding::NotRead { format, what: what.into() });
    if let Some((_, _, format, what)) = SIGNATURES
        .iter()
        .find(|(at, signature, ..)| bytes.get(*at..).is_some_and(|rest| rest.starts_with(signature)))
    {
        // Two letters are not much: text may begin with them.
        let is_short = matches!(*format, "BMP" | "program" | "bzip2") && std::str::from_utf8(bytes).is_ok();
        if !is_short {
            return not_read(format, what);
        }
    }
    let start = bytes.get(..64).unwrap_or(bytes).trim_ascii_start();
    if start.starts_with(b"<") {
        return not_read(
            "markup",
            "a page or a drawing (HTML, XML or SVG). Export the map as TIFF, NPY or text.",
        );
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_signature_is_known_and_text_that_begins_like_one_is_not() {
        for (at, signature, format, _) in SIGNATURES {
            let mut bytes = vec![b'.'; at];
            bytes.extend_from_slice(signature);
            bytes.push(0x80);
            let Some(Finding::NotRead { format: named, .. }) = refused(&bytes) else { panic!("{format}") };
            assert_eq!(named, format);
        }
        assert_eq!(refused(b"BM;1;2\n3;4;5\n"), None);
        assert_eq!(refused(b"1;2\n3;4\n"), None);
        assert!(refused(b"\xff\xfe1\0;\0").is_none(), "text in UTF-16");
        assert!(refused(b"  <svg xmlns=").is_some());
    }
}
