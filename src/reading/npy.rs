//! NPY, numpy's file of one array (format description: numpy.lib.format). The header is parsed here because the shape
//! that it claims must be held against the bytes that are there before memory is taken.

use super::widen::Stored;
use super::{Content, MOST_MAPS, Page, Reading, Way, check_size};
use crate::grid::{ByteOrder, SampleType, Samples, try_vec};
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

/// Keys of the ways to read three dimensions: which axis counts the maps.
const AXES: [&str; 3] = ["axis0", "axis1", "axis2"];

pub(super) fn read(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    let (header, data) = split(bytes)?;
    let header = parse(header)?;
    let (stored, order) = type_of(header.type_code)?;
    let cube = Cube::of(&header)?;
    let data = cube.data(data, stored)?;
    let chosen = AXES.iter().position(|key| way == Some(key));
    let axis = match (cube.axis, chosen) {
        (Some(axis), _) | (None, Some(axis)) => axis,
        (None, None) => return Ok(Reading { content: cube.question(), findings: Vec::new() }),
    };
    let mut pages = Vec::new();
    if cube.shape[axis] > u64::from(MOST_MAPS) {
        return Err(not_read(format!(
            "read this way it holds {} maps; at most {MOST_MAPS} are read from a file. Save fewer, or choose another axis.",
            cube.shape[axis]
        )));
    }
    for number in 0..cube.shape[axis] as u32 {
        let samples = cube.map(axis, u64::from(number), data, stored, order)?;
        pages.push(Page { number, title: String::new(), samples, step: None, entry: String::new() });
    }
    Ok(Reading { content: Content::Maps(pages), findings: Vec::new() })
}

/// An array of three dimensions as it lies in the file; one of two has a first axis of length 1.
struct Cube {
    shape: [u64; 3],
    /// Numbers from one place along an axis to the next.
    strides: [u64; 3],
    /// The axis that counts the maps, where the shape leaves no doubt.
    axis: Option<usize>,
}

impl Cube {
    fn of(header: &Header<'_>) -> Result<Self, Finding> {
        let shape = match header.shape.as_slice() {
            &[height, width] => [1, height, width],
            &[a, b, c] => [a, b, c],
            [] => {
                return Err(not_read(
                    "it holds a single number and no map. Save the map as an array of two dimensions.",
                ));
            }
            [length] => {
                return Err(not_read(format!(
                    "it holds a row of {length} numbers and no map. Save the map as an array of two dimensions."
                )));
            }
            shape => {
                return Err(not_read(format!(
                    "it holds an array of {} dimensions. Save each map as an array of two dimensions, or all maps as one of three.",
                    shape.len()
                )));
            }
        };
        if shape.contains(&0) {
            return Err(damaged("it has no pixels"));
        }
        // Only an axis of length 1 leaves no doubt, and only when there is one such axis.
        let mut single = (0..3).filter(|&axis| shape[axis] == 1);
        let axis = match (header.shape.len(), single.next(), single.next()) {
            (2, ..) => Some(0),
            (_, Some(axis), None) => Some(axis),
            _ => None,
        };
        if let Some(axis) = axis {
            let (down, across) = Self::others(axis);
            check_size(shape[across], shape[down])?;
        }
        let product =
            |a: u64, b: u64| a.checked_mul(b).ok_or_else(|| damaged("its shape is too large to be true"));
        let strides = if header.is_fortran {
            [1, shape[0], product(shape[0], shape[1])?]
        } else {
            [product(shape[1], shape[2])?, shape[2], 1]
        };
        Ok(Self { shape, strides, axis })
    }

    /// The bytes of all numbers, when they are there.
    fn data<'a>(&self, data: &'a [u8], stored: Stored) -> Result<&'a [u8], Finding> {
        let numbers = self.shape.iter().try_fold(1u64, |product, &side| product.checked_mul(side));
        let length = numbers.and_then(|numbers| numbers.checked_mul(stored.size()));
        length.and_then(|length| data.get(..usize::try_from(length).ok()?)).ok_or_else(|| {
            let sides: Vec<String> = self.shape.iter().map(u64::to_string).collect();
            let claimed = if self.shape[0] == 1 { sides[1..].join(" × ") } else { sides.join(" × ") };
            damaged(format!("it claims {claimed} numbers and holds {}", data.len() as u64 / stored.size()))
        })
    }

    /// The two axes of a map, downwards and across.
    fn others(axis: usize) -> (usize, usize) {
        match axis {
            0 => (1, 2),
            1 => (0, 2),
            _ => (0, 1),
        }
    }

    fn map(
        &self,
        axis: usize,
        number: u64,
        data: &[u8],
        stored: Stored,
        order: ByteOrder,
    ) -> Result<Samples, Finding> {
        let (down, across) = Self::others(axis);
        let size = check_size(self.shape[across], self.shape[down])?;
        let wide = stored.size() as usize;
        let start = number * self.strides[axis];
        if self.strides[across] == 1 && self.strides[down] == self.shape[across] {
            let first = start as usize * wide;
            let length = size.0 as usize * size.1 as usize * wide;
            return stored.samples("NPY", size, &data[first..first + length], order);
        }
        let mut bytes = try_vec(u64::from(size.0) * u64::from(size.1) * stored.size())?;
        for y in 0..u64::from(size.1) {
            for x in 0..u64::from(size.0) {
                let at = (start + y * self.strides[down] + x * self.strides[across]) as usize * wide;
                bytes.extend_from_slice(&data[at..at + wide]);
            }
        }
        stored.samples("NPY", size, &bytes, order)
    }

    fn question(&self) -> Content {
        let shape = self.shape;
        let way = |axis: usize| {
            let (down, across) = Self::others(axis);
            let maps = if shape[axis] == 1 { "1 map".to_owned() } else { format!("{} maps", shape[axis]) };
            let place = ["first", "second", "third"][axis];
            Way {
                key: AXES[axis].to_owned(),
                text: format!(
                    "{maps} of {} × {} pixels, counted along the {place} axis",
                    shape[across], shape[down]
                ),
                sample: String::new(),
            }
        };
        Content::Ask {
            question: format!(
                "It holds an array of {} × {} × {} numbers: which axis counts the maps?",
                shape[0], shape[1], shape[2]
            ),
            ways: (0..3).map(way).collect(),
        }
    }
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
fn type_of(code: &str) -> Result<(Stored, ByteOrder), Finding> {
    let (order, name) = match code.split_at_checked(1) {
        Some(("<", name)) => (ByteOrder::Little, name),
        Some((">", name)) => (ByteOrder::Big, name),
        Some(("|" | "=", name)) => (ByteOrder::NATIVE, name),
        _ => (ByteOrder::NATIVE, code),
    };
    let stored = match name {
        "u1" | "b1" => Stored::Kept(SampleType::U8),
        "i1" => Stored::Kept(SampleType::I8),
        "u2" => Stored::Kept(SampleType::U16),
        "i2" => Stored::Kept(SampleType::I16),
        "u4" => Stored::Kept(SampleType::U32),
        "i4" => Stored::Kept(SampleType::I32),
        "u8" => Stored::U64,
        "i8" => Stored::I64,
        "f2" => Stored::F16,
        "f4" => Stored::Kept(SampleType::F32),
        "f8" => Stored::Kept(SampleType::F64),
        name if name.starts_with('c') => {
            return Err(not_read("its numbers are complex. Save their amount as a map."));
        }
        _ => {
            return Err(not_read(format!(
                "its numbers are of type “{code}”. Save it as integers or as floats of 16, 32 or 64 bits."
            )));
        }
    };
    Ok((stored, order))
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
                // Python 2 wrote long integers with an L.
                let sides = inside.split(',').map(str::trim).filter(|side| !side.is_empty());
                shape = Some(
                    sides
                        .map(|side| side.strip_suffix('L').unwrap_or(side).parse().map_err(|_| wrong()))
                        .collect::<Result<Vec<u64>, _>>()?,
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Grid;

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
    fn three_dimensions_are_asked_about_and_read_along_the_chosen_axis() {
        let numbers: Vec<u8> = (0..24).collect();
        let c = file("{'descr': '|u1', 'fortran_order': False, 'shape': (2, 3, 4)}", &numbers);
        let f = file("{'descr': '|u1', 'fortran_order': True, 'shape': (2, 3, 4)}", &numbers);
        let Content::Ask { ways, .. } = read(&c, None).unwrap().content else { panic!() };
        assert_eq!(ways[1].text, "3 maps of 4 × 2 pixels, counted along the second axis");
        for (bytes, place) in [(&c, [12, 4, 1]), (&f, [1, 2, 6])] {
            for (axis, key) in AXES.iter().enumerate() {
                let Content::Maps(pages) = read(bytes, Some(key)).unwrap().content else { panic!() };
                assert_eq!(pages.len(), [2, 3, 4][axis]);
                let (down, across) = Cube::others(axis);
                let last = pages.last().unwrap();
                let want = place[axis] * (pages.len() - 1) + place[down] + place[across];
                assert_eq!(last.samples.value(1, 1), Some(want as f64), "{key}");
            }
        }
        let single = file("{'descr': '|u1', 'fortran_order': False, 'shape': (2, 3, 1)}", &numbers);
        let Content::Maps(pages) = read(&single, None).unwrap().content else { panic!() };
        assert_eq!((pages.len(), pages[0].samples.width(), pages[0].samples.height()), (1, 3, 2));
        let row = file("{'descr': '|u1', 'fortran_order': False, 'shape': (1, 1, 4)}", &numbers);
        assert!(matches!(read(&row, None).unwrap().content, Content::Ask { .. }));
    }

    #[test]
    fn what_is_no_map_of_numbers_is_refused_with_a_reason() {
        let cases = [
            ("{'descr': '<f4', 'fortran_order': False, 'shape': (2, 2, 2, 1)}", "4 dimensions"),
            ("{'descr': '<f4', 'fortran_order': False, 'shape': ()}", "single number"),
            ("{'descr': '<f4', 'fortran_order': False, 'shape': (0, 5)}", "no pixels"),
            ("{'descr': '<c8', 'fortran_order': False, 'shape': (1, 1)}", "complex"),
            (
                "{'descr': '<u1', 'fortran_order': False, 'shape': (4294967296, 4294967296, 4294967296)}",
                "too large",
            ),
            ("{'descr': '<u1', 'fortran_order': True, 'shape': (4294967296, 1000, 1000)}", "claims"),
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
