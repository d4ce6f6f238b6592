//! Writing. No clock, no system, no chance: the time of every entry is the earliest that the format has, 1 January 1980.

use super::{DEFLATED, STORED, trouble_of_name};
use crate::grid::{try_filled_vec, try_vec};
use crate::notice::Fault;
use flate2::{Compress, Compression, FlushCompress, Status};
use std::collections::BTreeSet;

/// What an entry holds.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Content<'a> {
    /// Bytes that are kept as they are.
    Stored(&'a [u8]),
    /// Bytes that are deflated, unless that makes them no smaller.
    Deflated(&'a [u8]),
    /// Bytes that whoever writes the file puts there: a [`Piece::Elsewhere`] stands in for them. They are kept as they are.
    Elsewhere {
        /// How many.
        size: u64,
        /// Their CRC-32.
        crc32: u32,
        /// What they are known by.
        name_of_source: String,
    },
}

/// A part of a ZIP file. All parts in their order are the file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Piece {
    /// These bytes.
    Bytes(Vec<u8>),
    /// Bytes that are not here.
    Elsewhere {
        /// What they are known by.
        source: String,
        /// How many there are.
        size: u64,
    },
}

/// Numbers that a field of two or four bytes does not hold stand elsewhere, and the field says so.
const FULL_2: u64 = 0xffff;
const FULL_4: u64 = 0xffff_ffff;
/// Versions of the format that a reader must know: for folders and deflate, and for numbers of eight bytes.
const PLAIN: u64 = 20;
const WIDE: u64 = 45;
/// Names are UTF-8.
const UTF_8: u64 = 1 << 11;
/// 1 January 1980, 0:00, as a date and a time of the format.
const DATE: u64 = 1 << 5 | 1;
const TIME: u64 = 0;
/// Made on a system whose files have permissions (3), and those of a plain file: without them `unzip` would make files
/// that nobody may read.
const MADE_BY: u64 = 3 << 8;
const PERMISSIONS: u64 = 0o100_644 << 16;

/// What is written of an entry in front of it and in the list.
struct Head<'a> {
    path: &'a str,
    method: u64,
    crc32: u32,
    packed: u64,
    unpacked: u64,
    at: u64,
}

/// Appends numbers of so many bytes each, the lowest byte first.
fn put(out: &mut Vec<u8>, numbers: &[(u64, usize)]) {
    for &(number, size) in numbers {
        out.extend_from_slice(&number.to_le_bytes()[..size]);
    }
}

impl Head<'_> {
    fn is_wide(&self) -> bool {
        self.packed >= FULL_4 || self.unpacked >= FULL_4
    }

    /// What both heads have in common: flags, method, time, checksum, sizes, length of the name, length of the extra field.
    fn shared(&self, is_wide: bool, extra: usize) -> [(u64, usize); 9] {
        let size = |size: u64| (if is_wide { FULL_4 } else { size }, 4);
        [
            (UTF_8, 2),
            (self.method, 2),
            (TIME, 2),
            (DATE, 2),
            (u64::from(self.crc32), 4),
            size(self.packed),
            size(self.unpacked),
            (self.path.len() as u64, 2),
            (extra as u64, 2),
        ]
    }

    /// The head in front of the bytes.
    fn local(&self, out: &mut Vec<u8>) {
        let is_wide = self.is_wide();
        out.extend(b"PK\x03\x04");
        put(out, &[(if is_wide { WIDE } else { PLAIN }, 2)]);
        put(out, &self.shared(is_wide, if is_wide { 20 } else { 0 }));
        out.extend(self.path.as_bytes());
        if is_wide {
            put(out, &[(1, 2), (16, 2), (self.unpacked, 8), (self.packed, 8)]);
        }
    }

    /// The line of the list.
    fn listed(&self, out: &mut Vec<u8>) {
        let (is_wide, is_far) = (self.is_wide(), self.at >= FULL_4);
        let wide = if is_wide { 16 } else { 0 } + if is_far { 8 } else { 0 };
        let version = if wide > 0 { WIDE } else { PLAIN };
        out.extend(b"PK\x01\x02");
        put(out, &[(MADE_BY | version, 2), (version, 2)]);
        put(out, &self.shared(is_wide, if wide > 0 { wide + 4 } else { 0 }));
        let at = if is_far { FULL_4 } else { self.at };
        put(out, &[(0, 2), (0, 2), (0, 2), (PERMISSIONS, 4), (at, 4)]);
        out.extend(self.path.as_bytes());
        if wide > 0 {
            put(out, &[(1, 2), (wide as u64, 2)]);
        }
        if is_wide {
            put(out, &[(self.unpacked, 8), (self.packed, 8)]);
        }
        if is_far {
            put(out, &[(self.at, 8)]);
        }
    }
}

/// The end of a file: where its list of `count` entries is.
fn end(out: &mut Vec<u8>, count: u64, size: u64, at: u64) {
    if count >= FULL_2 || size >= FULL_4 || at >= FULL_4 {
        out.extend(b"PK\x06\x06");
        put(out, &[(44, 8), (MADE_BY | WIDE, 2), (WIDE, 2), (0, 4), (0, 4), (count, 8), (count, 8)]);
        put(out, &[(size, 8), (at, 8)]);
        out.extend(b"PK\x06\x07");
        put(out, &[(0, 4), (at + size, 8), (1, 4)]);
    }
    out.extend(b"PK\x05\x06");
    let count = (count.min(FULL_2), 2);
    put(out, &[(0, 2), (0, 2), count, count, (size.min(FULL_4), 4), (at.min(FULL_4), 4), (0, 2)]);
}

/// Deflates; `None` where that makes nothing smaller. One call over the whole, so that the outcome depends on nothing else.
fn deflated(bytes: &[u8]) -> Result<Option<Vec<u8>>, Fault> {
    let mut out = try_filled_vec(bytes.len() as u64, 0u8)?;
    let mut packer = Compress::new(Compression::new(6), false);
    match packer.compress(bytes, &mut out, FlushCompress::Finish) {
        Ok(Status::StreamEnd) if packer.total_out() < bytes.len() as u64 => {
            out.truncate(packer.total_out() as usize);
            Ok(Some(out))
        }
        Ok(_) => Ok(None),
        Err(error) => Err(Fault {
            code: "not_written",
            message: "A part of the file could not be packed.".into(),
            detail: error.to_string(),
        }),
    }
}

/// Writes entries in their order.
///
/// # Errors
/// `bad_name` for a path that is not relative, leads out of its folder, or is there twice (letters in capitals or not); a
/// size or a place beyond what the format counts; no memory.
pub fn write(entries: &[(String, Content<'_>)]) -> Result<Vec<Piece>, Fault> {
    let (mut pieces, mut open, mut list) = (Vec::new(), Vec::new(), Vec::new());
    let (mut at, mut names) = (0u64, BTreeSet::new());
    for (path, content) in entries {
        let trouble = trouble_of_name(path)
            .or_else(|| (!names.insert(path.to_lowercase())).then_some("there is another of this name"));
        if let Some(trouble) = trouble {
            return Err(Fault::new(
                "bad_name",
                format!("“{path}” cannot be a name in a ZIP file: {trouble}."),
            ));
        }
        let packed = match content {
            Content::Deflated(bytes) => deflated(bytes)?,
            Content::Stored(_) | Content::Elsewhere { .. } => None,
        };
        let method = if packed.is_some() { DEFLATED } else { STORED };
        let (unpacked, crc32) = match content {
            Content::Stored(bytes) | Content::Deflated(bytes) => (bytes.len() as u64, crc32fast::hash(bytes)),
            Content::Elsewhere { size, crc32, .. } => (*size, *crc32),
        };
        let packed_size = packed.as_ref().map_or(unpacked, |packed| packed.len() as u64);
        let head = Head { path, method, crc32, packed: packed_size, unpacked, at };
        let before = open.len() as u64;
        head.local(&mut open);
        match content {
            Content::Stored(bytes) | Content::Deflated(bytes) => {
                let bytes = packed.as_deref().unwrap_or(bytes);
                open.try_reserve(bytes.len()).map_err(|_| no_memory(bytes.len()))?;
                open.extend_from_slice(bytes);
            }
            Content::Elsewhere { name_of_source, .. } => {
                let head = std::mem::take(&mut open);
                at = at.saturating_add(head.len() as u64 - before);
                pieces.push(Piece::Bytes(head));
                pieces.push(Piece::Elsewhere { source: name_of_source.clone(), size: unpacked });
            }
        }
        let grown = (open.len() as u64).saturating_sub(before);
        at = match content {
            Content::Elsewhere { .. } => at.checked_add(unpacked),
            _ => at.checked_add(grown),
        }
        .filter(|at| *at < 1 << 60)
        .ok_or_else(|| {
            Fault::new("too_large", "This is more than a ZIP file can count. Save less at once.")
        })?;
        head.listed(&mut list);
    }
    let size = list.len() as u64;
    open.append(&mut list);
    end(&mut open, entries.len() as u64, size, at);
    pieces.push(Piece::Bytes(open));
    Ok(pieces)
}

fn no_memory(bytes: usize) -> Fault {
    crate::notice::OutOfMemory(bytes as u64).into()
}

/// Writes entries of which none is elsewhere, as one array.
///
/// # Errors
/// As [`write`]; an entry that is elsewhere.
pub fn write_whole(entries: &[(String, Content<'_>)]) -> Result<Vec<u8>, Fault> {
    let mut whole = Vec::new();
    for piece in write(entries)? {
        match piece {
            Piece::Bytes(bytes) if whole.is_empty() => whole = bytes,
            Piece::Bytes(bytes) => {
                let mut room: Vec<u8> = try_vec((whole.len() + bytes.len()) as u64)?;
                room.extend_from_slice(&whole);
                room.extend_from_slice(&bytes);
                whole = room;
            }
            Piece::Elsewhere { source, .. } => {
                return Err(Fault::new("not_written", format!("The bytes of “{source}” are not at hand.")));
            }
        }
    }
    Ok(whole)
}
