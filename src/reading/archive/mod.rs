//! ZIP: every entry is read as a file of its own. Only the central directory, stored and deflated entries are needed,
//! so they are read here (APPNOTE.TXT 6.3.10 of the format's maintainer): the limits must be held before an entry is
//! unpacked, and names are labels here and never paths.

use super::{Content, MOST_MAPS, Reading, read_single, signature};
use crate::grid::try_filled_vec;
use crate::notice::Finding;
use flate2::{Decompress, FlushDecompress, Status};

/// A file of an archive.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its path in the archive (untrusted text).
    pub path: String,
    /// What it holds, or the sentence why it could not be read.
    pub reading: Result<Reading, Finding>,
}

/// The most files of an archive.
const MOST_ENTRIES: usize = 4096;
/// The most bytes that an archive may unpack to.
const MOST_BYTES: u64 = 2_000_000_000;
/// From this size on, an entry that is this many times smaller when packed is taken for a bomb: deflate reaches 1032.
const LARGE: u64 = 100_000_000;
const MOST_RATIO: u64 = 200;

const NAME: &str = "ZIP";

fn damaged(what: impl Into<String>) -> Finding {
    Finding::Damaged { format: NAME, what: what.into() }
}

fn not_read(what: impl Into<String>) -> Finding {
    Finding::NotRead { format: NAME, what: what.into() }
}

/// What the central directory says of an entry.
struct Listed {
    path: String,
    flags: u64,
    method: u64,
    checksum: u64,
    packed: u64,
    unpacked: u64,
    at: u64,
}

/// A number of 2, 4 or 8 bytes, the lowest first.
fn number(bytes: &[u8], at: usize, size: usize) -> Option<u64> {
    let part = bytes.get(at..at.checked_add(size)?)?;
    Some(part.iter().rev().fold(0, |number, &byte| number << 8 | u64::from(byte)))
}

pub(super) fn read(bytes: &[u8], _way: Option<&str>) -> Result<Reading, Finding> {
    let mut listed = directory(bytes)?;
    if listed.iter().any(|entry| entry.path == "[Content_Types].xml") {
        return Err(Finding::NotRead {
            format: "office document",
            what: "not read here. If it is a spreadsheet, save the sheet as CSV.".into(),
        });
    }
    if listed.iter().any(|entry| entry.path == "mimetype")
        && listed.iter().any(|entry| entry.path == "content.xml")
    {
        return Err(Finding::NotRead {
            format: "open document",
            what: "not read here. If it is a spreadsheet, save the sheet as CSV.".into(),
        });
    }
    listed.retain(|entry| !is_passed_over(&entry.path));
    listed.sort_by(|a, b| a.path.cmp(&b.path));
    if listed.is_empty() {
        return Err(not_read("it holds no files. Pack the maps again."));
    }
    let total = listed.iter().fold(0u64, |total, entry| total.saturating_add(entry.unpacked));
    if total > MOST_BYTES {
        return Err(not_read(format!(
            "it would unpack to {} MB; at most {} are read at once. Pack fewer maps, or open them without packing.",
            total / 1_000_000,
            MOST_BYTES / 1_000_000
        )));
    }
    let (mut entries, mut maps) = (Vec::new(), 0);
    for entry in listed {
        let reading = read_entry(bytes, &entry).and_then(|reading| numbered(reading, &entry.path, &mut maps));
        entries.push(Entry { path: entry.path, reading });
    }
    // One sentence is enough where nothing could be read and all for one reason.
    if let Some(Err(first)) = entries.first().map(|entry| entry.reading.clone())
        && entries.iter().all(|entry| entry.reading.as_ref().err() == Some(&first))
    {
        return Err(first);
    }
    Ok(Reading { content: Content::Archive(entries), findings: Vec::new() })
}

/// Folders, hidden files, and what systems leave in archives.
fn is_passed_over(path: &str) -> bool {
    let name = path.rsplit(['/', '\\']).next().unwrap_or_default();
    name.is_empty()
        || path
            .split(['/', '\\'])
            .any(|part| (part.starts_with('.') && part != "." && part != "..") || part == "__MACOSX")
        || matches!(name, "Thumbs.db" | "desktop.ini")
}

/// Gives the pages of an entry their numbers in the archive and its name; what asks is told to be opened alone.
fn numbered(reading: Reading, path: &str, maps: &mut u32) -> Result<Reading, Finding> {
    match reading.content {
        Content::Ask { question, .. } => Err(not_read(format!(
            "it can be read in several ways. {question} Take it out of the archive and open it alone to choose."
        ))),
        Content::Maps(mut pages) => {
            for page in &mut pages {
                page.number = *maps;
                page.entry = path.to_owned();
                *maps += 1;
            }
            if *maps > MOST_MAPS {
                return Err(not_read(format!(
                    "the archive holds more than {MOST_MAPS} maps; this one and those after it are left out. Pack fewer maps."
                )));
            }
            Ok(Reading { content: Content::Maps(pages), findings: reading.findings })
        }
        _ => Ok(reading),
    }
}

fn read_entry(bytes: &[u8], entry: &Listed) -> Result<Reading, Finding> {
    let unpacked = unpacked(bytes, entry)?;
    if unpacked.is_empty() {
        return Err(Finding::Empty);
    }
    if signature::is_archive(&unpacked) {
        return Err(not_read("it is an archive within an archive. Unpack it and open its files."));
    }
    let reading = read_single(&unpacked, None)?;
    match &reading.content {
        Content::Maps(pages) if pages.iter().all(|page| page.samples.is_empty()) => {
            Err(Finding::Damaged { format: "map", what: "it has no pixels".into() })
        }
        _ => Ok(reading),
    }
}

/// The entries of the central directory.
fn directory(bytes: &[u8]) -> Result<Vec<Listed>, Finding> {
    let cut = || damaged("its list of files is cut off");
    // The end record has 22 bytes and a comment of at most 65535 behind it.
    let earliest = bytes.len().saturating_sub(22 + 65_535);
    let end =
        (earliest..=bytes.len().saturating_sub(22)).rev().find(|&at| bytes[at..].starts_with(b"PK\x05\x06"));
    let end = end.ok_or_else(cut)?;
    let (mut count, mut at) =
        (number(bytes, end + 10, 2).ok_or_else(cut)?, number(bytes, end + 16, 4).ok_or_else(cut)?);
    // ZIP64: a locator of 20 bytes before the end record says where the larger record is.
    if let Some(locator) = end.checked_sub(20)
        && bytes[locator..].starts_with(b"PK\x06\x07")
        && let Some(record) = number(bytes, locator + 8, 8).and_then(|at| usize::try_from(at).ok())
        && bytes.get(record..).is_some_and(|rest| rest.starts_with(b"PK\x06\x06"))
    {
        count = number(bytes, record + 32, 8).ok_or_else(cut)?;
        at = number(bytes, record + 48, 8).ok_or_else(cut)?;
    }
    if count > MOST_ENTRIES as u64 {
        return Err(not_read(format!(
            "it lists {count} files; at most {MOST_ENTRIES} are read. Pack the maps in several archives."
        )));
    }
    let mut at = usize::try_from(at).map_err(|_| cut())?;
    let mut listed = Vec::new();
    for _ in 0..count {
        let (entry, next) = listed_at(bytes, at).ok_or_else(cut)?;
        listed.push(entry);
        at = next;
    }
    Ok(listed)
}

/// The entry of the central directory at a place, and where the next one is.
fn listed_at(bytes: &[u8], at: usize) -> Option<(Listed, usize)> {
    let part = bytes.get(at..).filter(|part| part.starts_with(b"PK\x01\x02"))?;
    let of = |at, size| number(part, at, size);
    let (name, extra, comment) = (of(28, 2)? as usize, of(30, 2)? as usize, of(32, 2)? as usize);
    let flags = of(8, 2)?;
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
    let entry = Listed { path, flags, method: of(10, 2)?, checksum: of(16, 4)?, packed, unpacked, at: start };
    Some((entry, at + 46 + name + extra + comment))
}

/// The bytes of an entry. Nothing is taken before its sizes are believed.
fn unpacked(bytes: &[u8], entry: &Listed) -> Result<Vec<u8>, Finding> {
    let cut = || damaged("the file in it is cut off");
    if entry.flags & 1 == 1 {
        return Err(not_read("the file in it is locked with a password. Pack it without."));
    }
    let ratio_ends = entry.unpacked > LARGE && entry.unpacked / MOST_RATIO > entry.packed;
    if ratio_ends || entry.unpacked / 1100 > entry.packed {
        return Err(not_read(format!(
            "the file in it claims to unpack from {} to {} bytes, which no map does. Open the map without packing.",
            entry.packed, entry.unpacked
        )));
    }
    let at = usize::try_from(entry.at).map_err(|_| cut())?;
    let head = bytes.get(at..).filter(|head| head.starts_with(b"PK\x03\x04")).ok_or_else(cut)?;
    let (name, extra) = (number(head, 26, 2).ok_or_else(cut)?, number(head, 28, 2).ok_or_else(cut)?);
    let start = 30 + name as usize + extra as usize;
    let length = usize::try_from(entry.packed).map_err(|_| cut())?;
    let packed = head.get(start..).and_then(|rest| rest.get(..length)).ok_or_else(cut)?;
    let unpacked = match entry.method {
        0 if entry.packed == entry.unpacked => packed.to_vec(),
        0 => return Err(damaged("the sizes of the file in it contradict each other")),
        8 => inflated(packed, entry.unpacked)?,
        method => {
            return Err(not_read(format!(
                "the file in it is packed in a way that is not read (number {method}). Pack it with deflate."
            )));
        }
    };
    if u64::from(crc32fast::hash(&unpacked)) != entry.checksum {
        return Err(damaged("the checksum of the file in it does not fit"));
    }
    Ok(unpacked)
}

/// Inflates to exactly the length that was claimed.
fn inflated(packed: &[u8], length: u64) -> Result<Vec<u8>, Finding> {
    let wrong = || damaged("the file in it does not unpack to what it claims");
    let mut out = try_filled_vec(length, 0u8)?;
    let mut inflater = Decompress::new(false);
    let status = inflater.decompress(packed, &mut out, FlushDecompress::Finish).map_err(|_| wrong())?;
    if status != Status::StreamEnd || inflater.total_out() != length {
        return Err(wrong());
    }
    Ok(out)
}

#[cfg(test)]
mod tests;
