//! NPY, numpy's file of one array (format description: numpy.lib.format). The header is parsed here because the shape
//! that it claims must be held against the bytes that are there before memory is taken.

use super::{Reading, check_size};
use crate::grid::{ByteOrder, Grid, SampleType, Samples, try_vec};
use crate::notice::Finding;

fn damaged(what: impl Into<String>) -> Finding {
    Finding::Damaged { format: "NPY", what: what.into() }
}

fn not_read(what: impl Into<String>) -> Finding {
    Finding::NotRead { format: "NPY", what: what.into() }
}

/// What the header says.
struct Header<'a> {
    type_code: &'a str,
    is_fortran: bool,
    shape: Vec<u64>,
}

pub(super) fn read(bytes: &[u8], _way: Option<&str>) -> Result<Reading, Finding> {
    let (header, data) = split(bytes)?;
    let header = parse(header)?;
    let (sample_type, order) = type_of(header.type_code)?;
    let (height, width) = match header.shape.as_slice() {
        [height, width] => (*height, *width),
        [length] => {
            return Err(not_read(format!(
                "it holds a row of {length} numbers and no map. Save the map as an array of two dimensions."
            )));
        }
        shape => {
            return Err(not_read(format!(
                "it holds an array of {} dimensions. Save each map as an array of two dimensions in a file of its own.",
                shape.len()
            )));
        }
    };
    let size = check_size(width, height)?;
    let length = width * height * sample_type.size();
    let Some(data) = usize::try_from(length).ok().and_then(|length| data.get(..length)) else {
        return Err(damaged(format!(
            "it claims {width} × {height} numbers and holds {}",
            data.len() as u64 / sample_type.size()
        )));
    };
    // In Fortran order the first index runs fastest: the file is the transposed array, row by row.
    let stored = if header.is_fortran { (size.1, size.0) } else { size };
    let samples = Samples::from_bytes(sample_type, stored, data, order)?
        .ok_or_else(|| damaged("its size and its data differ"))?;
    Ok(Reading::of_map(if header.is_fortran { transposed(samples)? } else { samples }))
}

/// Header text and data.
fn split(bytes: &[u8]) -> Result<(&str, &[u8]), Finding> {
    let cut = || damaged("its header is cut off");
    let (start, length) = match bytes.get(6).ok_or_else(cut)? {
        1 => (10, bytes.get(8..10).map(|b| usize::from(u16::from_le_bytes([b[0], b[1]])))),
        2 | 3 => (12, bytes.get(8..12).map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]) as usize)),
        version => {
            return Err(not_read(format!(
                "it is of format version {version}. Save it with a current numpy."
            )));
        }
    };
    let end = length.and_then(|length| length.checked_add(start)).ok_or_else(cut)?;
    let header = bytes.get(start..end).ok_or_else(cut)?;
    let header = std::str::from_utf8(header).map_err(|_| damaged("its header is not text"))?;
    Ok((header, &bytes[end..]))
}

/// Item type and byte order of a type code such as "<u2".
fn type_of(code: &str) -> Result<(SampleType, ByteOrder), Finding> {
    let (order, name) = match code.split_at_checked(1) {
        Some(("<", name)) => (ByteOrder::Little, name),
        Some((">", name)) => (ByteOrder::Big, name),
        Some(("|" | "=", name)) => (ByteOrder::NATIVE, name),
        _ => (ByteOrder::NATIVE, code),
    };
    let sample_type = match name {
        "u1" | "b1" => SampleType::U8,
        "i1" => SampleType::I8,
        "u2" => SampleType::U16,
        "i2" => SampleType::I16,
        "u4" => SampleType::U32,
        "i4" => SampleType::I32,
        "f4" => SampleType::F32,
        "f8" => SampleType::F64,
        _ => {
            return Err(not_read(format!(
                "its numbers are of type “{code}”. Save it as integers of 8, 16 or 32 bits, or as floats of 32 or 64."
            )));
        }
    };
    Ok((sample_type, order))
}

/// The header is a Python dictionary of three known entries, in any order.
fn parse(header: &str) -> Result<Header<'_>, Finding> {
    let wrong = || damaged("its header is not understood");
    let body = header.trim().strip_prefix('{').and_then(|t| t.strip_suffix('}')).ok_or_else(wrong)?;
    let (mut type_code, mut is_fortran, mut shape) = (None, None, None);
    let mut rest = body.trim();
    while !rest.is_empty() {
        let (key, after) = quoted(rest).ok_or_else(wrong)?;
        let after = after.trim_start().strip_prefix(':').ok_or_else(wrong)?.trim_start();
        let after = match key {
            "descr" if after.starts_with('[') => {
                return Err(not_read(
                    "it holds records of several fields. Save each map as an array of numbers.",
                ));
            }
            "descr" => {
                let (code, after) = quoted(after).ok_or_else(wrong)?;
                type_code = Some(code);
                after
            }
            "fortran_order" => {
                let word = if after.starts_with("True") { "True" } else { "False" };
                is_fortran = Some(word == "True");
                after.strip_prefix(word).ok_or_else(wrong)?
            }
            "shape" => {
                let (inside, after) =
                    after.strip_prefix('(').and_then(|t| t.split_once(')')).ok_or_else(wrong)?;
                let sides = inside.split(',').map(str::trim).filter(|side| !side.is_empty());
                shape = Some(
                    sides.map(|side| side.parse().map_err(|_| wrong())).collect::<Result<Vec<u64>, _>>()?,
                );
                after
            }
            _ => return Err(wrong()),
        };
        rest = after.trim_start();
        rest = rest.strip_prefix(',').unwrap_or(rest).trim_start();
    }
    match (type_code, is_fortran, shape) {
        (Some(type_code), Some(is_fortran), Some(shape)) => Ok(Header { type_code, is_fortran, shape }),
        _ => Err(wrong()),
    }
}

/// A quoted word and what follows it.
fn quoted(text: &str) -> Option<(&str, &str)> {
    let quote = text.chars().next().filter(|c| matches!(c, '\'' | '"'))?;
    text[1..].split_once(quote)
}

fn transposed(samples: Samples) -> Result<Samples, Finding> {
    fn turn<T: Copy>(grid: &Grid<T>) -> Result<Grid<T>, Finding> {
        let mut out = try_vec(grid.len())?;
        for x in 0..grid.width() {
            out.extend((0..grid.height()).filter_map(|y| grid.get(x, y).copied()));
        }
        Grid::from_vec(grid.height(), grid.width(), out)
            .ok_or_else(|| damaged("its size and its data differ"))
    }
    Ok(match &samples {
        Samples::U8(g) => Samples::U8(turn(g)?),
        Samples::I8(g) => Samples::I8(turn(g)?),
        Samples::U16(g) => Samples::U16(turn(g)?),
        Samples::I16(g) => Samples::I16(turn(g)?),
        Samples::U32(g) => Samples::U32(turn(g)?),
        Samples::I32(g) => Samples::I32(turn(g)?),
        Samples::F32(g) => Samples::F32(turn(g)?),
        Samples::F64(g) => Samples::F64(turn(g)?),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::Content;

    fn file(header: &str, data: &[u8]) -> Vec<u8> {
        let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
        bytes.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
        bytes.extend(header.as_bytes());
        bytes.extend(data);
        bytes
    }

    fn samples(header: &str, data: &[u8]) -> Samples {
        let Content::Maps(mut pages) = read(&file(header, data), None).unwrap().content else { panic!() };
        pages.remove(0).samples
    }

    #[test]
    fn both_orders_of_bytes_and_of_axes() {
        let c = samples(
            "{'descr': '>u2', 'fortran_order': False, 'shape': (2, 3), }\n",
            &[0, 1, 0, 2, 0, 3, 0, 4, 0, 5, 0, 6],
        );
        assert_eq!(c, Samples::U16(Grid::from_vec(3, 2, vec![1, 2, 3, 4, 5, 6]).unwrap()));
        let f = samples("{'fortran_order': True, 'shape': (2, 3), 'descr': '|u1'}", &[1, 4, 2, 5, 3, 6]);
        assert_eq!(f, Samples::U8(Grid::from_vec(3, 2, vec![1, 2, 3, 4, 5, 6]).unwrap()));
    }

    #[test]
    fn what_is_no_map_of_numbers_is_refused_with_a_reason() {
        let cases = [
            ("{'descr': '<f4', 'fortran_order': False, 'shape': (2, 2, 2)}", "3 dimensions"),
            ("{'descr': '<f4', 'fortran_order': False, 'shape': (9,)}", "row of 9"),
            ("{'descr': '|O', 'fortran_order': False, 'shape': (1, 1)}", "type “|O”"),
            ("{'descr': [('a', '<f4')], 'fortran_order': False, 'shape': (1, 1)}", "several fields"),
            ("{'descr': '<f4', 'shape': (1, 1)}", "not understood"),
            ("{'descr': '<f4', 'fortran_order': Maybe, 'shape': (1, 1)}", "not understood"),
            ("{'descr': '<f8', 'fortran_order': False, 'shape': (100000, 100000)}", "at most"),
            ("{'descr': '<f8', 'fortran_order': False, 'shape': (18446744073709551615, 2)}", "at most"),
            ("{'descr': '<f8', 'fortran_order': False, 'shape': (3000, 3000)}", "claims 3000 × 3000"),
            ("{", "not understood"),
        ];
        for (header, want) in cases {
            let finding = read(&file(header, &[0; 8]), None).unwrap_err();
            assert!(finding.to_string().contains(want), "{header}: {finding}");
        }
    }
}
