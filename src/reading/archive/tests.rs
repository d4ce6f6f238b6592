use super::*;
use crate::reading::read as read_any;
use std::io::Write;

/// An archive of files, each as (name, content, deflated).
fn zip(files: &[(&str, &[u8], bool)]) -> Vec<u8> {
    let (mut out, mut list) = (Vec::new(), Vec::new());
    for (name, content, is_deflated) in files {
        let packed = if *is_deflated {
            let mut encoder = flate2::write::DeflateEncoder::new(Vec::new(), flate2::Compression::default());
            encoder.write_all(content).unwrap();
            encoder.finish().unwrap()
        } else {
            content.to_vec()
        };
        let at = out.len() as u32;
        let mut shared = vec![20, 0, 0, 0, if *is_deflated { 8 } else { 0 }, 0, 0, 0, 0, 0];
        shared.extend(crc32fast::hash(content).to_le_bytes());
        shared.extend((packed.len() as u32).to_le_bytes());
        shared.extend((content.len() as u32).to_le_bytes());
        shared.extend((name.len() as u16).to_le_bytes());
        shared.extend([0, 0]);
        out.extend(b"PK\x03\x04");
        out.extend(&shared);
        out.extend(name.as_bytes());
        out.extend(packed);
        list.extend(b"PK\x01\x02\x14\0");
        list.extend(shared);
        list.extend([0; 10]);
        list.extend(at.to_le_bytes());
        list.extend(name.as_bytes());
    }
    let at = out.len() as u32;
    let count = files.len() as u16;
    out.extend(&list);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend(count.to_le_bytes());
    out.extend(count.to_le_bytes());
    out.extend((list.len() as u32).to_le_bytes());
    out.extend(at.to_le_bytes());
    out.extend([0, 0]);
    out
}

const TABLE: &[u8] = b"1;2;3\n4;5;7\n";

fn entries(bytes: &[u8]) -> Vec<Entry> {
    match read_any(bytes, None).unwrap().content {
        Content::Archive(entries) => entries,
        other => panic!("{other:?}"),
    }
}

#[test]
fn entries_are_read_in_order_and_what_fails_stops_nothing() {
    let file = zip(&[
        ("maps/Fe-K.csv", TABLE, true),
        ("maps/", b"", false),
        ("__MACOSX/._Fe-K.csv", b"x", false),
        ("maps/.hidden", b"x", false),
        ("../../Cu-K.csv", TABLE, false),
        ("notes.txt", b"A letter.\n", true),
    ]);
    let entries = entries(&file);
    let paths: Vec<&str> = entries.iter().map(|entry| entry.path.as_str()).collect();
    assert_eq!(paths, ["../../Cu-K.csv", "maps/Fe-K.csv", "notes.txt"]);
    for (number, entry) in entries.iter().enumerate().take(2) {
        let Content::Maps(pages) = &entry.reading.as_ref().unwrap().content else { panic!() };
        assert_eq!((pages[0].number as usize, &pages[0].entry), (number, &entry.path));
        assert_eq!(pages[0].samples.value(2, 1), Some(7.0));
    }
    assert!(entries[2].reading.is_err());
}

#[test]
fn an_archive_in_an_archive_is_not_opened() {
    let inner = zip(&[("a.csv", TABLE, false)]);
    let found = entries(&zip(&[("a.csv", TABLE, false), ("b.zip", &inner, true)]));
    assert!(found[1].reading.as_ref().unwrap_err().to_string().contains("within an archive"));
}

#[test]
fn office_documents_are_named() {
    let file = zip(&[("[Content_Types].xml", b"<a/>", true), ("xl/workbook.xml", b"<a/>", true)]);
    assert!(read_any(&file, None).unwrap_err().to_string().contains("save the sheet as CSV"));
}

#[test]
fn every_cut_and_every_flipped_bit_is_a_sentence_or_the_maps() {
    let file = zip(&[("a.csv", TABLE, true), ("b.csv", TABLE, false)]);
    for length in 1..file.len() {
        if let Ok(reading) = read_any(&file[..length], None) {
            assert!(matches!(reading.content, Content::Archive(_)), "cut at {length}");
        }
    }
    for at in 0..file.len() {
        for bit in 0..8 {
            let mut changed = file.clone();
            changed[at] ^= 1 << bit;
            if let Ok(Reading { content: Content::Archive(entries), .. }) = read_any(&changed, None) {
                for entry in entries {
                    if let Ok(reading) = entry.reading {
                        let Content::Maps(pages) = reading.content else { panic!() };
                        assert_eq!(pages[0].samples.value(2, 1), Some(7.0), "byte {at}, bit {bit}");
                    }
                }
            }
        }
    }
}

#[test]
fn what_claims_to_unpack_to_too_much_is_refused() {
    let zeros = vec![0; 3_000_000];
    let mut file = zip(&[("a.csv", TABLE, true), ("b.bin", &zeros, true)]);
    let at = file.windows(4).rposition(|part| part == b"PK\x01\x02").unwrap() + 24;
    for (claim, want) in [
        (400_000_000u32, "which no map does"),
        (4_000_000_000, "at most 2000 are read"),
        (5000, "what it claims"),
    ] {
        file[at..at + 4].copy_from_slice(&claim.to_le_bytes());
        let said = match read_any(&file, None) {
            Err(finding) => finding.to_string(),
            Ok(Reading { content: Content::Archive(entries), .. }) => {
                entries[1].reading.clone().unwrap_err().to_string()
            }
            other => panic!("{other:?}"),
        };
        assert!(said.contains(want), "{claim}: {said}");
    }
}
