//! The directories of a TIFF file: where they lie, what their tags say, and each one as a file of its own for the
//! decoder. Sources: TIFF 6.0, section 2; BigTIFF as in the TIFF technical note of 2007.

use crate::grid::ByteOrder;
use std::collections::BTreeMap;
use std::io::{self, Read, Seek, SeekFrom};

/// A file and how its numbers are written.
#[derive(Debug, Clone, Copy)]
pub(super) struct File<'a> {
    bytes: &'a [u8],
    order: ByteOrder,
    is_big: bool,
}

/// An entry and where its value lies, both counted from the start of the file.
#[derive(Debug, Clone, Copy)]
struct Entry {
    entry_at: u64,
    kind: u16,
    count: u64,
    at: u64,
}

/// What the decoder shall find in a directory in the place of what is there.
#[derive(Debug, Clone, Copy)]
pub(super) enum Change {
    /// Another first number of a tag.
    First(u16, u64),
    /// Only some of the numbers of a tag: from which one on, and how many.
    Part(u16, u64, u64),
    /// No such tag.
    Hidden(u16),
}

/// A private tag that means nothing.
const NO_TAG: u64 = 65_000;

/// Bytes of one value of a type; 0 for an unknown type.
fn size_of_kind(kind: u16) -> u64 {
    match kind {
        1 | 2 | 6 | 7 => 1,
        3 | 8 => 2,
        4 | 9 | 11 | 13 => 4,
        5 | 10 | 12 | 16 | 17 | 18 => 8,
        _ => 0,
    }
}

/// One directory: the tags of one page.
#[derive(Debug)]
pub(super) struct Directory<'a> {
    file: File<'a>,
    at: u64,
    entries: BTreeMap<u16, Entry>,
    next: u64,
}

impl<'a> File<'a> {
    /// `None` when the first bytes are no TIFF header.
    pub(super) fn open(bytes: &'a [u8]) -> Option<Self> {
        let order = match bytes.get(..2)? {
            b"II" => ByteOrder::Little,
            b"MM" => ByteOrder::Big,
            _ => return None,
        };
        let file = Self { bytes, order, is_big: false };
        match file.number(2, 2)? {
            42 => Some(file),
            43 if file.number(4, 2)? == 8 => Some(Self { is_big: true, ..file }),
            _ => None,
        }
    }

    fn part(&self, at: u64, length: u64) -> Option<&'a [u8]> {
        let end = usize::try_from(at.checked_add(length)?).ok()?;
        self.bytes.get(usize::try_from(at).ok()?..end)
    }

    /// An unsigned number of 1, 2, 4 or 8 bytes.
    fn number(&self, at: u64, size: u64) -> Option<u64> {
        let part = self.part(at, size)?.iter().map(|&byte| u64::from(byte));
        Some(match self.order {
            ByteOrder::Little => part.rev().fold(0, |number, byte| number << 8 | byte),
            ByteOrder::Big => part.fold(0, |number, byte| number << 8 | byte),
        })
    }

    /// Where the first directory lies.
    pub(super) fn first(&self) -> Option<u64> {
        if self.is_big { self.number(8, 8) } else { self.number(4, 4) }
    }

    /// The directory at a place; `None` when it reaches beyond the end.
    pub(super) fn directory(self, at: u64) -> Option<Directory<'a>> {
        let (count_size, entry_size, word) = if self.is_big { (8, 20, 8) } else { (2, 12, 4) };
        let count = self.number(at, count_size)?;
        let start = at.checked_add(count_size)?;
        let end = start.checked_add(count.checked_mul(entry_size)?)?;
        self.part(start, end - start)?;
        let mut entries = BTreeMap::new();
        for number in 0..count {
            let at = start + number * entry_size;
            let (tag, kind) = (self.number(at, 2)?, self.number(at + 2, 2)?);
            let count = self.number(at + 4, word)?;
            let inline = at + 4 + word;
            let kind = kind as u16;
            let entry_at = at;
            let is_inline = count.checked_mul(size_of_kind(kind)).is_some_and(|length| length <= word);
            let at = if is_inline { inline } else { self.number(inline, word)? };
            entries.insert(tag as u16, Entry { entry_at, kind, count, at });
        }
        let next = self.number(end, word).unwrap_or(0);
        Some(Directory { file: self, at, entries, next })
    }
}

impl<'a> Directory<'a> {
    /// Where the next directory lies; 0 after the last.
    pub(super) fn next(&self) -> u64 {
        self.next
    }

    /// Bytes of the whole file.
    pub(super) fn file_length(&self) -> u64 {
        self.file.bytes.len() as u64
    }

    /// True when the file has the tag, whatever it says.
    pub(super) fn has(&self, tag: u16) -> bool {
        self.entries.contains_key(&tag)
    }

    /// The bytes of a tag's value; `None` without the tag or when they reach beyond the end.
    fn bytes(&self, tag: u16) -> Option<(Entry, &'a [u8])> {
        let entry = *self.entries.get(&tag)?;
        let length = entry.count.checked_mul(size_of_kind(entry.kind))?;
        Some((entry, self.file.part(entry.at, length)?))
    }

    /// The bytes of a tag as they stand, whatever they mean.
    pub(super) fn raw(&self, tag: u16) -> Option<&'a [u8]> {
        self.bytes(tag).map(|(_, bytes)| bytes)
    }

    /// True when the value of the tag reaches beyond the end of the file, or is of no known type.
    pub(super) fn is_cut(&self, tag: u16) -> bool {
        self.has(tag) && self.bytes(tag).is_none_or(|(entry, bytes)| bytes.is_empty() && entry.count > 0)
    }

    /// Whole numbers of a tag; `None` without the tag or where it holds something else.
    pub(super) fn numbers(&self, tag: u16) -> Option<impl Iterator<Item = u64> + use<'a>> {
        let (entry, _) = self.bytes(tag)?;
        let file = self.file;
        let size = match entry.kind {
            1 | 3 | 4 | 13 | 16 | 18 => size_of_kind(entry.kind),
            _ => return None,
        };
        Some((0..entry.count).filter_map(move |place| file.number(entry.at + place * size, size)))
    }

    /// The first whole number of a tag.
    pub(super) fn number(&self, tag: u16) -> Option<u64> {
        self.numbers(tag)?.next()
    }

    /// A fraction or a float.
    pub(super) fn fraction(&self, tag: u16) -> Option<f64> {
        let (entry, _) = self.bytes(tag)?;
        let word = |at: u64| self.file.number(at, 4).and_then(|v| u32::try_from(v).ok());
        match entry.kind {
            5 => Some(f64::from(word(entry.at)?) / f64::from(word(entry.at + 4)?)),
            11 => Some(f64::from(f32::from_bits(word(entry.at)?))),
            12 => Some(f64::from_bits(self.file.number(entry.at, 8)?)),
            _ => self.number(tag).map(|v| v as f64),
        }
    }

    /// A text without what follows its first zero byte; bytes that are not UTF-8 are taken as ISO 8859-1.
    pub(super) fn text(&self, tag: u16) -> Option<String> {
        let (entry, bytes) = self.bytes(tag)?;
        if !matches!(entry.kind, 1 | 2 | 7) {
            return None;
        }
        let bytes = bytes.split(|&byte| byte == 0).next()?;
        Some(match std::str::from_utf8(bytes) {
            Ok(text) => text.to_owned(),
            Err(_) => bytes.iter().map(|&byte| char::from(byte)).collect(),
        })
    }

    /// How many values a tag has.
    pub(super) fn count(&self, tag: u16) -> u64 {
        self.entries.get(&tag).map_or(0, |entry| entry.count)
    }

    /// The file with this directory as its first one, with changes.
    pub(super) fn alone(&self, changes: &[Change]) -> Overlay<'a> {
        let written = |number: u64, size: u64| -> Vec<u8> {
            let little = number.to_le_bytes().into_iter().take(size as usize);
            match self.file.order {
                ByteOrder::Little => little.collect(),
                ByteOrder::Big => little.rev().collect(),
            }
        };
        let (at, word) = if self.file.is_big { (8, 8) } else { (4, 4) };
        let mut patches = vec![(at, written(self.at, word))];
        for change in changes {
            let (Change::First(tag, _) | Change::Part(tag, ..) | Change::Hidden(tag)) = change;
            let Some((entry, bytes)) = self.bytes(*tag) else { continue };
            let size = size_of_kind(entry.kind);
            match *change {
                Change::First(_, number) if !bytes.is_empty() => {
                    patches.push((entry.at, written(number, size)))
                }
                Change::First(..) => {}
                Change::Hidden(_) => patches.push((entry.entry_at, written(NO_TAG, 2))),
                Change::Part(_, from, count) => {
                    let value_at = entry.entry_at + 4 + word;
                    let start = entry.at + from * size;
                    let value = match self.file.part(start, count * size) {
                        Some(part) if count * size <= word => part.to_vec(),
                        _ => written(start, word),
                    };
                    patches.push((entry.entry_at + 4, written(count, word)));
                    patches.push((value_at, value));
                }
            }
        }
        Overlay { bytes: self.file.bytes, at: 0, patches }
    }
}

/// A file read with a few bytes replaced.
#[derive(Debug)]
pub(super) struct Overlay<'a> {
    bytes: &'a [u8],
    at: u64,
    patches: Vec<(u64, Vec<u8>)>,
}

impl Read for Overlay<'_> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        let start = usize::try_from(self.at).unwrap_or(usize::MAX).min(self.bytes.len());
        let length = buffer.len().min(self.bytes.len() - start);
        buffer[..length].copy_from_slice(&self.bytes[start..start + length]);
        for (at, patch) in &self.patches {
            for (place, &byte) in (*at..).zip(patch) {
                if let Some(inside) = place.checked_sub(self.at)
                    && let Some(slot) = usize::try_from(inside).ok().and_then(|i| buffer[..length].get_mut(i))
                {
                    *slot = byte;
                }
            }
        }
        self.at += length as u64;
        Ok(length)
    }
}

impl Seek for Overlay<'_> {
    fn seek(&mut self, to: SeekFrom) -> io::Result<u64> {
        let at = match to {
            SeekFrom::Start(at) => Some(at),
            SeekFrom::Current(by) => self.at.checked_add_signed(by),
            SeekFrom::End(by) => (self.bytes.len() as u64).checked_add_signed(by),
        };
        self.at = at.ok_or(io::ErrorKind::InvalidInput)?;
        Ok(self.at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A file of both byte orders with one directory: width 3, a cut tag, a text and a fraction.
    fn file(order: ByteOrder) -> Vec<u8> {
        let two = |v: u16| if order == ByteOrder::Little { v.to_le_bytes() } else { v.to_be_bytes() };
        let four = |v: u32| if order == ByteOrder::Little { v.to_le_bytes() } else { v.to_be_bytes() };
        let mut out = if order == ByteOrder::Little { b"II".to_vec() } else { b"MM".to_vec() };
        out.extend(two(42));
        out.extend(four(16));
        out.extend(four(7));
        out.extend(four(2));
        out.extend(two(4));
        for (tag, kind, count, value) in [
            (256u16, 4u16, 1u32, 3u32),
            (273, 4, 9, 40),
            (282, 5, 1, 8),
            (285, 2, 3, u32::from_ne_bytes(*b"Cu\0\0")),
        ] {
            out.extend(two(tag));
            out.extend(two(kind));
            out.extend(four(count));
            if tag == 285 { out.extend(value.to_ne_bytes()) } else { out.extend(four(value)) }
        }
        out.extend(four(99));
        out
    }

    #[test]
    fn tags_are_read_in_both_byte_orders_and_a_cut_value_is_known() {
        for order in [ByteOrder::Little, ByteOrder::Big] {
            let bytes = file(order);
            let opened = File::open(&bytes).unwrap();
            let directory = opened.directory(opened.first().unwrap()).unwrap();
            assert_eq!((directory.number(256), directory.next()), (Some(3), 99));
            assert_eq!(directory.fraction(282), Some(3.5));
            assert_eq!(directory.text(285).as_deref(), Some("Cu"));
            assert!(directory.is_cut(273) && !directory.is_cut(256) && !directory.is_cut(1));
            assert!(opened.directory(99).is_none());
        }
    }

    #[test]
    fn an_overlay_replaces_bytes_wherever_reading_starts() {
        let bytes = file(ByteOrder::Big);
        let opened = File::open(&bytes).unwrap();
        let mut overlay = opened.directory(16).unwrap().alone(&[Change::First(256, 0x0102_0304)]);
        let mut whole = Vec::new();
        overlay.read_to_end(&mut whole).unwrap();
        assert_eq!(whole.len(), bytes.len());
        assert_eq!(&whole[26..30], [1, 2, 3, 4]);
        let mut part = [0; 2];
        overlay.seek(SeekFrom::Start(28)).unwrap();
        overlay.read_exact(&mut part).unwrap();
        assert_eq!(part, [3, 4]);
        // A part of a list stands where its first number does; a hidden tag has another number.
        let mut parts = opened.directory(16).unwrap().alone(&[Change::Part(282, 0, 1), Change::Hidden(285)]);
        let mut bytes = Vec::new();
        parts.read_to_end(&mut bytes).unwrap();
        assert_eq!(
            &bytes[18 + 24..][..12],
            [282u16.to_be_bytes().as_slice(), &[0, 5, 0, 0, 0, 1, 0, 0, 0, 8]].concat()
        );
        assert_eq!(&bytes[18 + 36..][..2], 65_000u16.to_be_bytes());
    }
}
