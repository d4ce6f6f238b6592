//! Arrays as NPY, version 1.0 of the format that numpy documents (`numpy.lib.format`): a header in words, then the numbers,
//! row by row, little-endian. And several of them with a record as NPZ, which is a ZIP file.

use crate::grid::{SampleType, try_vec};
use crate::notice::{Fault, OutOfMemory};
use crate::zip::{self, Content};

/// The numbers begin at a multiple of this.
const ALIGNED: usize = 64;

/// What numpy calls numbers of this type, little-endian.
pub fn descr(of: SampleType) -> &'static str {
    match of {
        SampleType::U8 => "|u1",
        SampleType::I8 => "|i1",
        SampleType::U16 => "<u2",
        SampleType::I16 => "<i2",
        SampleType::U32 => "<u4",
        SampleType::I32 => "<i4",
        SampleType::F32 => "<f4",
        SampleType::F64 => "<f8",
    }
}

/// Begins the file of an array of `(width, height)`, with room for its numbers, each of so many bytes. `descr` names their
/// type as numpy does: "<f4", "|u1", "|b1". The numbers are then to be appended, row by row.
///
/// # Errors
/// No memory for all of it.
pub fn begin(descr: &str, size: (u32, u32), bytes_each: u64) -> Result<Vec<u8>, OutOfMemory> {
    begin_spaced(descr, size, bytes_each, 0)
}

/// The same with so many more spaces in its header: two arrays of the same numbers are then two files. At most 60,000, so
/// that the header's length fits.
///
/// # Errors
/// No memory for all of it.
pub fn begin_spaced(
    descr: &str,
    (width, height): (u32, u32),
    bytes_each: u64,
    spaces: usize,
) -> Result<Vec<u8>, OutOfMemory> {
    let spaces = spaces.min(60_000);
    let mut words = format!(
        "{{'descr': '{descr}', 'fortran_order': False, 'shape': ({height}, {width}), {:spaces$}}}",
        ""
    );
    // Magic, version and length take ten bytes, the line end one.
    let padding = (ALIGNED - (words.len() + 11) % ALIGNED) % ALIGNED;
    words.extend(std::iter::repeat_n(' ', padding));
    words.push('\n');
    let numbers = u64::from(width) * u64::from(height) * bytes_each;
    let mut out: Vec<u8> = try_vec(numbers + 10 + words.len() as u64)?;
    out.extend_from_slice(b"\x93NUMPY\x01\x00");
    out.extend_from_slice(&(words.len() as u16).to_le_bytes());
    out.extend_from_slice(words.as_bytes());
    Ok(out)
}

/// Arrays under their names, and the record. Arrays of small numbers are deflated; of floats that gains too little.
///
/// # Errors
/// No memory.
pub fn npz(arrays: &[(&str, &[u8])], record: &str) -> Result<Vec<u8>, Fault> {
    let is_float = |array: &[u8]| array.windows(2).take(80).any(|pair| pair == b"<f");
    let mut entries: Vec<(String, Content<'_>)> = Vec::new();
    for &(name, array) in arrays {
        let content = if is_float(array) { Content::Stored(array) } else { Content::Deflated(array) };
        entries.push((format!("{name}.npy"), content));
    }
    entries.push(("record.json".into(), Content::Stored(record.as_bytes())));
    zip::write_whole(&entries)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_header_is_a_multiple_of_64_bytes() {
        for size in [(1, 1), (3, 2), (1234, 1), (10, 99_999)] {
            for spaces in [0, 1, 7, 59_999] {
                let begun = begin_spaced("<f4", size, 0, spaces).unwrap();
                assert_eq!(begun.len() % 64, 0, "{size:?}");
                assert_eq!(begun.last(), Some(&b'\n'));
                let length = u16::from_le_bytes([begun[8], begun[9]]);
                assert_eq!(usize::from(length) + 10, begun.len());
            }
        }
    }
}
