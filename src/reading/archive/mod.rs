//! ZIP: every entry is read as a file of its own. The limits are held before an entry is unpacked, and names are labels
//! here and never paths. The format itself is read in [`crate::zip`].

use super::{Content, MOST_MAPS, Reading, read_single, signature};
use crate::grid::try_vec;
use crate::notice::Finding;
use crate::zip::{DEFLATED, Listed, STORED, end_in, inflated, is_bomb, listed_at, local_length, wide_end};

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

const NAME: &str = "ZIP";

fn damaged(what: impl Into<String>) -> Finding {
    Finding::Damaged { format: NAME, what: what.into() }
}

fn not_read(what: impl Into<String>) -> Finding {
    Finding::NotRead { format: NAME, what: what.into() }
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
    if listed.iter().any(|entry| entry.path == "limner-study.txt")
        && listed.iter().any(|entry| entry.path == "study.json")
    {
        return Err(Finding::NotRead {
            format: "study file",
            what: "it holds a whole study and not single maps. Restore it: it then takes the place of what is open.".into(),
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
    let end = end_in(bytes).ok_or_else(cut)?;
    let wide = end.wide_at.and_then(|at| bytes.get(usize::try_from(at).ok()?..));
    let wide = wide.filter(|record| record.starts_with(b"PK\x06\x06"));
    let (count, at) = match wide {
        Some(record) => wide_end(record).map(|(count, _, at)| (count, at)).ok_or_else(cut)?,
        None => (end.count, end.at),
    };
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

/// The bytes of an entry. Nothing is taken before its sizes are believed.
fn unpacked(bytes: &[u8], entry: &Listed) -> Result<Vec<u8>, Finding> {
    let cut = || damaged("the file in it is cut off");
    if entry.flags & 1 == 1 {
        return Err(not_read("the file in it is locked with a password. Pack it without."));
    }
    if is_bomb(entry.packed, entry.unpacked) {
        return Err(not_read(format!(
            "the file in it claims to unpack from {} to {} bytes, which no map does. Open the map without packing.",
            entry.packed, entry.unpacked
        )));
    }
    let at = usize::try_from(entry.at).map_err(|_| cut())?;
    let head = bytes.get(at..).ok_or_else(cut)?;
    let start = local_length(head).ok_or_else(cut)? as usize;
    let length = usize::try_from(entry.packed).map_err(|_| cut())?;
    let packed = head.get(start..).and_then(|rest| rest.get(..length)).ok_or_else(cut)?;
    let unpacked = match entry.method {
        STORED if entry.packed == entry.unpacked => {
            let mut copy = try_vec(entry.unpacked)?;
            copy.extend_from_slice(packed);
            copy
        }
        STORED => return Err(damaged("the sizes of the file in it contradict each other")),
        DEFLATED => inflated(packed, entry.unpacked)?
            .ok_or_else(|| damaged("the file in it does not unpack to what it claims"))?,
        method => {
            return Err(not_read(format!(
                "the file in it is packed in a way that is not read (number {method}). Pack it with deflate."
            )));
        }
    };
    if u64::from(crc32fast::hash(&unpacked)) != entry.crc32 {
        return Err(damaged("the checksum of the file in it does not fit"));
    }
    Ok(unpacked)
}

#[cfg(test)]
mod tests;
