//! Arrays as NPY, version 1.0 of the format that numpy documents (`numpy.lib.format`): a header in words, then the numbers,
//! row by row, little-endian. And several of them with a record as NPZ, which is a ZIP file.

use crate::grid::try_vec;
use crate::notice::{Fault, OutOfMemory};
use crate::zip::{self, Content};

/// The numbers begin at a multiple of this.
const ALIGNED: usize = 64;

/// Begins the file of an array of `(width, height)`, with room for its numbers, each of so many bytes. `descr` names their
/// type as numpy does: "<f4", "|u1", "|b1". The numbers are then to be appended, row by row.
///
/// # Errors
/// No memory for all of it.
pub fn begin(descr: &str, (width, height): (u32, u32), bytes_each: u64) -> Result<Vec<u8>, OutOfMemory> {
    let mut words = format!("{{'descr': '{descr}', 'fortran_order': False, 'shape': ({height}, {width}), }}");
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
    use crate::reading::{Content as Read, read};

    #[test]
    fn the_header_is_a_multiple_of_64_bytes_and_our_own_reader_reads_it() {
        for size in [(1, 1), (3, 2), (1234, 1), (10, 99_999)] {
            let begun = begin("<f4", size, 0).unwrap();
            assert_eq!(begun.len() % 64, 0, "{size:?}");
            assert_eq!(begun.last(), Some(&b'\n'));
        }
        let mut bytes = begin("<u2", (3, 2), 2).unwrap();
        (0..6u16).for_each(|v| bytes.extend(v.to_le_bytes()));
        let Read::Maps(pages) = read(&bytes, None).unwrap().content else { panic!("maps") };
        assert_eq!((pages[0].samples.width(), pages[0].samples.value(2, 1)), (3, Some(5.0)));
    }
}
