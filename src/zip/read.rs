//! The low parts of reading. Every number is untrusted: nothing here allocates by one, but [`inflated`], which says first
//! whether the memory is there.

use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;
use flate2::{Decompress, FlushDecompress, Status};

/// The end of a ZIP file that is sure to hold its end record: 22 bytes, a comment of at most 65 535, and the locator before.
pub const TAIL: u64 = 22 + 65_535 + 20;
/// Bytes of the larger end record that are read.
pub const WIDE_END: u64 = 56;
/// Bytes of the head in front of an entry, without its name.
pub const LOCAL_HEAD: u64 = 30;

/// From this size on, an entry that is this many times smaller when packed is taken for a bomb: deflate reaches 1032.
const LARGE: u64 = 100_000_000;
const MOST_RATIO: u64 = 200;

/// Where the list of entries is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct End {
    /// Entries.
    pub count: u64,
    /// Bytes of the list.
    pub size: u64,
    /// Its place in the file.
    pub at: u64,
    /// The place of the larger end record, where there is one: it is the one that counts then.
    pub wide_at: Option<u64>,
    /// The place of this record in the bytes that were looked through.
    pub place: usize,
    /// Bytes of the comment behind it.
    pub comment: u64,
}

impl End {
    /// Bytes of this record with its comment.
    pub fn length(&self) -> u64 {
        22 + self.comment
    }
}

/// What the list says of an entry.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Listed {
    /// Its path (untrusted text), control characters replaced.
    pub path: String,
    /// Bit 0: locked; bit 11: the name is UTF-8.
    pub flags: u64,
    /// How it is packed.
    pub method: u64,
    /// CRC-32 of what it holds.
    pub crc32: u64,
    /// Bytes in the file.
    pub packed: u64,
    /// Bytes unpacked, as claimed.
    pub unpacked: u64,
    /// The place of its head in the file.
    pub at: u64,
    /// Bytes of its name.
    pub name: u64,
}

/// A number of 2, 4 or 8 bytes, the lowest first.
fn number(bytes: &[u8], at: usize, size: usize) -> Option<u64> {
    let part = bytes.get(at..at.checked_add(size)?)?;
    Some(part.iter().rev().fold(0, |number, &byte| number << 8 | u64::from(byte)))
}

/// The end record in the last [`TAIL`] bytes of a file, or in all of it; the last one, if there seem to be several.
pub fn end_in(bytes: &[u8]) -> Option<End> {
    let earliest = bytes.len().saturating_sub(22 + 65_535);
    let last = bytes.len().checked_sub(22)?;
    let place = (earliest..=last).rev().find(|&at| bytes[at..].starts_with(b"PK\x05\x06"))?;
    let locator = place.checked_sub(20).and_then(|at| bytes.get(at..));
    let locator = locator.filter(|bytes| bytes.starts_with(b"PK\x06\x07"));
    Some(End {
        count: number(bytes, place + 10, 2)?,
        size: number(bytes, place + 12, 4)?,
        at: number(bytes, place + 16, 4)?,
        wide_at: locator.and_then(|locator| number(locator, 8, 8)),
        place,
        comment: number(bytes, place + 20, 2)?,
    })
}

/// The larger end record at the start of some bytes: count, size and place of the list.
pub fn wide_end(bytes: &[u8]) -> Option<(u64, u64, u64)> {
    let record = bytes.starts_with(b"PK\x06\x06").then_some(bytes)?;
    Some((number(record, 32, 8)?, number(record, 40, 8)?, number(record, 48, 8)?))
}

/// The entry of a list at a place in it, and where the next one is.
pub fn listed_at(bytes: &[u8], at: usize) -> Option<(Listed, usize)> {
    let part = bytes.get(at..).filter(|part| part.starts_with(b"PK\x01\x02"))?;
    let of = |at, size| number(part, at, size);
    let (name, extra, comment) = (of(28, 2)? as usize, of(30, 2)? as usize, of(32, 2)? as usize);
    let raw = part.get(46..46 + name)?;
    // Bit 11 says UTF-8; without it names are in some code page, of which only ASCII is sure.
    let path =
        String::from_utf8_lossy(raw).chars().map(|c| if c.is_control() { '\u{fffd}' } else { c }).collect();
    let (mut packed, mut unpacked, mut start) = (of(20, 4)?, of(24, 4)?, of(42, 4)?);
    // ZIP64: numbers that don't fit stand in an extra field, in this order.
    let mut extras = part.get(46 + name..46 + name + extra)?;
    while let (Some(kind), Some(length)) = (number(extras, 0, 2), number(extras, 2, 2)) {
        let Some(field) = extras.get(4..4 + length as usize) else { break };
        if kind == 1 {
            let mut place = 0;
            for value in [&mut unpacked, &mut packed, &mut start] {
                if *value == 0xffff_ffff {
                    *value = number(field, place, 8)?;
                    place += 8;
                }
            }
        }
        extras = &extras[4 + length as usize..];
    }
    let (flags, method, crc32) = (of(8, 2)?, of(10, 2)?, of(16, 4)?);
    let entry = Listed { path, flags, method, crc32, packed, unpacked, at: start, name: name as u64 };
    Some((entry, at + 46 + name + extra + comment))
}

/// Bytes from the head of an entry to what it holds, from the first [`LOCAL_HEAD`] bytes of the head.
pub fn local_length(head: &[u8]) -> Option<u64> {
    let head = head.starts_with(b"PK\x03\x04").then_some(head)?;
    Some(LOCAL_HEAD + number(head, 26, 2)? + number(head, 28, 2)?)
}

/// True where an entry claims to unpack to more than anything but a bomb does.
pub fn is_bomb(packed: u64, unpacked: u64) -> bool {
    (unpacked > LARGE && unpacked / MOST_RATIO > packed) || unpacked / 1100 > packed
}

/// Inflates to exactly the length that was claimed; `None` where that is not what comes out.
///
/// # Errors
/// No memory.
pub fn inflated(packed: &[u8], length: u64) -> Result<Option<Vec<u8>>, OutOfMemory> {
    let mut out = try_filled_vec(length, 0u8)?;
    let mut inflater = Decompress::new(false);
    let status = inflater.decompress(packed, &mut out, FlushDecompress::Finish);
    let is_whole = matches!(status, Ok(Status::StreamEnd)) && inflater.total_out() == length;
    Ok(is_whole.then_some(out))
}
