use super::*;

/// All parts as one file; what is elsewhere is left out, with its place and size.
fn joined(pieces: &[Piece]) -> (Vec<u8>, Vec<(u64, u64)>) {
    let (mut bytes, mut gaps, mut left_out) = (Vec::new(), Vec::new(), 0);
    for piece in pieces {
        match piece {
            Piece::Bytes(part) => bytes.extend_from_slice(part),
            Piece::Elsewhere { size, .. } => {
                gaps.push((bytes.len() as u64 + left_out, *size));
                left_out += size;
            }
        }
    }
    (bytes, gaps)
}

fn named<'a>(path: &str, content: Content<'a>) -> (String, Content<'a>) {
    (path.to_owned(), content)
}

#[test]
fn what_is_written_is_read_back_and_the_bytes_are_always_the_same() {
    let text = "counts of a map, row by row\n".repeat(40);
    let noise: Vec<u8> = {
        let next = |state: &u32| Some(state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223));
        std::iter::successors(Some(1u32), next).map(|state| (state >> 24) as u8).take(600).collect()
    };
    let entries = [
        named("first.txt", Content::Stored(b"first")),
        named("a/b/text.txt", Content::Deflated(text.as_bytes())),
        named("Größe µ.bin", Content::Deflated(&noise)),
        named("empty", Content::Deflated(b"")),
    ];
    let file = write_whole(&entries).unwrap();
    assert_eq!(file, write_whole(&entries).unwrap());
    let end = end_in(&file).unwrap();
    assert_eq!((end.count, end.wide_at), (4, None));
    let (mut at, mut listed) = (end.at as usize, Vec::new());
    for _ in 0..end.count {
        let (entry, next) = listed_at(&file, at).unwrap();
        listed.push(entry);
        at = next;
    }
    assert_eq!(at as u64, end.at + end.size);
    let methods: Vec<u64> = listed.iter().map(|entry| entry.method).collect();
    assert_eq!(methods, [STORED, DEFLATED, STORED, STORED], "noise gets no smaller");
    for (entry, (path, content)) in listed.iter().zip(&entries) {
        let (Content::Stored(bytes) | Content::Deflated(bytes)) = content else { panic!() };
        let start = entry.at as usize;
        let start = start + local_length(&file[start..]).unwrap() as usize;
        let packed = &file[start..start + entry.packed as usize];
        let back = if entry.method == DEFLATED {
            inflated(packed, entry.unpacked).unwrap().unwrap()
        } else {
            packed.to_vec()
        };
        assert_eq!((&entry.path, back.as_slice(), entry.flags), (path, *bytes, 1 << 11));
        assert_eq!(entry.crc32, u64::from(crc32fast::hash(bytes)));
    }
    // Of this file as it was made once by this program: it holds for every system and for the browser.
    assert_eq!((file.len(), crc32fast::hash(&file)), (1053, 4_157_199_046));
}

#[test]
fn sizes_and_places_beyond_four_gigabytes_are_written_in_eight_bytes() {
    let large = |name: &str, size| {
        named(name, Content::Elsewhere { size, crc32: 0x1234_5678, name_of_source: format!("of {name}") })
    };
    let entries = [
        large("small.tif", 10),
        large("large.tif", 5_000_000_000),
        large("last that fits.tif", 0xffff_fffe),
        large("first that does not.tif", 0xffff_ffff),
        named("after.txt", Content::Stored(b"after")),
    ];
    let pieces = write(&entries).unwrap();
    let (bytes, gaps) = joined(&pieces);
    let sizes: Vec<u64> = gaps.iter().map(|gap| gap.1).collect();
    assert_eq!(sizes, [10, 5_000_000_000, 0xffff_fffe, 0xffff_ffff]);
    let left_out: u64 = sizes.iter().sum();
    let end = end_in(&bytes).unwrap();
    // What is before a place in the file without what is elsewhere.
    let wide = end.wide_at.unwrap() - left_out;
    let (count, size, at) = wide_end(&bytes[wide as usize..]).unwrap();
    assert_eq!((count, at + size, end.at), (5, end.wide_at.unwrap(), 0xffff_ffff));
    let (mut place, mut listed) = ((at - left_out) as usize, Vec::new());
    for _ in 0..count {
        let (entry, next) = listed_at(&bytes, place).unwrap();
        listed.push(entry);
        place = next;
    }
    for (entry, (place, size)) in listed.iter().zip(&gaps) {
        assert_eq!((entry.packed, entry.unpacked, entry.crc32), (*size, *size, 0x1234_5678));
        let before: u64 = gaps.iter().filter(|gap| gap.0 < *place).map(|gap| gap.1).sum();
        let head = &bytes[(entry.at - before) as usize..];
        assert_eq!(entry.at + local_length(head).unwrap(), *place, "{}", entry.path);
    }
    assert_eq!((listed[4].unpacked, &listed[4].path), (5, &"after.txt".to_owned()));
}

#[test]
fn more_entries_than_two_bytes_count() {
    let entries: Vec<_> = (0..70_000).map(|n| named(&format!("{n}"), Content::Stored(b""))).collect();
    let file = write_whole(&entries).unwrap();
    let end = end_in(&file).unwrap();
    assert_eq!(end.count, 0xffff);
    let (count, ..) = wide_end(&file[end.wide_at.unwrap() as usize..]).unwrap();
    assert_eq!(count, 70_000);
}

#[test]
fn names_that_lead_elsewhere_are_refused() {
    for path in ["", "/a", "../a", "a/../b", "a//b", "a/", "./a", "a\\b", "C:a", "a\nb", &"x".repeat(241)] {
        let fault = write(&[named(path, Content::Stored(b""))]).unwrap_err();
        assert_eq!(fault.code, "bad_name", "{path}");
    }
    let twice = [named("a.txt", Content::Stored(b"")), named("A.txt", Content::Stored(b""))];
    assert!(write(&twice).unwrap_err().message.contains("another of this name"));
    assert!(write_whole(&[named("a..b", Content::Stored(b""))]).is_ok());
}

#[test]
fn a_bomb_is_known_by_its_claim() {
    assert!(is_bomb(1000, 1_200_000) && is_bomb(1_000_000, 300_000_000) && is_bomb(0, 2000));
    assert!(!is_bomb(1000, 900_000) && !is_bomb(0, 0) && !is_bomb(2_000_000, 300_000_000));
    assert_eq!(inflated(b"\x03\x00", 5).unwrap(), None);
    assert!(inflated(b"", u64::MAX).is_err());
}
