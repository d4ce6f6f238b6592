//! Odd photo files.

use crate::making::{self, chunk, deflated, plain_tags, png, png_header, tiff, with, without, zip};
use crate::passages::{LONGEST, case, counts, photo, picture, seen, told};
use limner::numerics::chance::Chance;
use limner::reading::{Content, read};
use limner::study::{PhotoSettings, Study, find_alignment};
use serde_json::json;
use std::time::Instant;

/// A JPEG with Exif data after its start.
fn with_exif(exif: &[u8]) -> Vec<u8> {
    let plain = case("laid_1.jpg");
    let body = [b"Exif\0\0".as_slice(), exif].concat();
    let length = u16::try_from(body.len() + 2).unwrap().to_be_bytes();
    [&plain[..2], b"\xff\xe1", &length, &body, &plain[2..]].concat()
}

/// An Exif directory with one entry, and where the next one is.
fn exif(tag: u16, kind: u16, count: u32, value: u32, next: u32) -> Vec<u8> {
    [b"II\x2a\0\x08\0\0\0".as_slice(), &making::directory(&[(tag, kind, count, value)], next)].concat()
}

fn odd_photos() -> Vec<(&'static str, Vec<u8>)> {
    let rgb = |width: u32, height: u32| {
        let pixels: Vec<u8> = (0..width * height * 3).map(|v| (v * 5) as u8).collect();
        let tags = with(plain_tags(width, height, 8, pixels.len() as u32), &[(262, 3, 1, 2), (277, 3, 1, 3)]);
        (tags, pixels)
    };
    let of = |width, height, changed: &[making::Tag]| {
        let (tags, pixels) = rgb(width, height);
        tiff(&with(tags, changed), &pixels)
    };
    let untiled = {
        let (tags, pixels) = rgb(5, 4);
        tiff(
            &with(
                without(tags, &[273, 278, 279]),
                &[(322, 3, 1, 0), (323, 3, 1, 7), (324, 4, 1, 8), (325, 4, 1, 60)],
            ),
            &pixels,
        )
    };
    let picture = photo(9, 7, 0);
    let jpeg = case("laid_6.jpg");
    let control = |frames: u32| [frames.to_be_bytes(), [0; 4]].concat();
    let moving = [
        making::PNG_START,
        &png_header(2, 1, 2, 8),
        &chunk(b"acTL", &control(u32::MAX)),
        &chunk(b"fcTL", &[0; 26]),
        &chunk(b"IDAT", &deflated(&[0, 1, 2, 3, 4, 5, 6])),
        &chunk(b"fdAT", &[0; 9]),
        &chunk(b"IEND", &[]),
    ]
    .concat();
    vec![
        ("orientation 0", with_exif(&exif(274, 3, 1, 0, 0))),
        ("orientation 9", with_exif(&exif(274, 3, 1, 9, 0))),
        ("orientation 65535", with_exif(&exif(274, 3, 1, 65_535, 0))),
        ("orientation as text", with_exif(&exif(274, 2, 4, 6, 0))),
        ("4 billion orientations", with_exif(&exif(274, 3, u32::MAX, 6, 0))),
        ("orientation of no value", with_exif(&exif(274, 3, 0, 6, 0))),
        ("directory that is its own next", with_exif(&exif(274, 3, 1, 6, 8))),
        ("directory that is its own part", with_exif(&exif(34665, 4, 1, 8, 8))),
        ("directory beyond the end", with_exif(b"II\x2a\0\xff\xff\xff\xff")),
        ("Exif of two bytes", with_exif(b"II")),
        ("no Exif in Exif", with_exif(&[])),
        ("TIFF of 1 x 9", of(1, 9, &[])),
        ("TIFF of 9 x 1", of(9, 1, &[])),
        ("TIFF of 0 x 9", of(5, 4, &[(256, 4, 1, 0)])),
        ("TIFF with orientation 0", of(5, 4, &[(274, 3, 1, 0)])),
        ("TIFF with orientation 65535", of(5, 4, &[(274, 3, 1, 65_535)])),
        ("TIFF with strips of 4 billion rows", of(5, 4, &[(278, 4, 1, u32::MAX)])),
        ("TIFF with strips of 3 rows", of(5, 4, &[(278, 4, 1, 3)])),
        ("TIFF with a strip of no bytes", of(5, 4, &[(279, 4, 1, 0)])),
        ("TIFF with a strip of 4 billion bytes", of(5, 4, &[(279, 4, 1, u32::MAX)])),
        ("TIFF of bytes one plane after the other", of(5, 4, &[(284, 3, 1, 2)])),
        ("TIFF for print without a fourth ink", of(5, 4, &[(262, 3, 1, 5)])),
        ("TIFF of brightness and colour", of(5, 4, &[(262, 3, 1, 6)])),
        ("TIFF with an alpha that is none", of(5, 4, &[(338, 3, 1, 9)])),
        ("TIFF of 16 bits with half of them", of(5, 4, &[(258, 3, 1, 16)])),
        ("TIFF in tiles of no width", untiled),
        ("PNG of 1 x 1", photo(1, 1, 0)),
        ("PNG of 1 x 400", photo(1, 400, 0)),
        ("PNG of 400 x 1", photo(400, 1, 0)),
        ("PNG of 16 bits", png(2, 2, 2, 16, &[7; 24])),
        ("PNG with alpha", png(2, 2, 6, 8, &[9; 16])),
        ("PNG of 16 bits with alpha", png(1, 2, 6, 16, &[200; 16])),
        ("PNG that moves", moving),
        ("PNG twice in one file", [picture.as_slice(), &picture].concat()),
        ("JPEG and PNG in one file", [jpeg.as_slice(), &picture].concat()),
        ("JPEG twice in one file", [jpeg.as_slice(), &jpeg].concat()),
        ("PNG before an archive", [picture.as_slice(), &zip(&[("Cu-K.npy", &counts(3, 2, 0))])].concat()),
        (
            "archive of a photo",
            zip(&[("a/photo.png", &picture), ("b/photo.png", &picture), ("Cu-K.jpg", &jpeg)]),
        ),
        ("archive of a cut photo", zip(&[("photo.jpg", &jpeg[..jpeg.len() / 2])])),
    ]
}

#[test]
fn odd_photos_are_read_or_refused_in_a_sentence() {
    for (name, bytes) in odd_photos() {
        let start = Instant::now();
        let mut study = Study::new();
        let opened = study.open("Cu-K.png", &bytes);
        for notice in &opened.notices {
            assert!(
                notice.text.ends_with(['.', '?']) && !notice.text.contains('\n'),
                "{name}: {}",
                notice.text
            );
        }
        let is_something = !opened.photos.is_empty() || !opened.maps.is_empty() || !opened.asks.is_empty();
        assert!(is_something || !opened.notices.is_empty(), "{name}: nothing was said");
        if let Some(id) = opened.photos.first().cloned() {
            let summary = study.photos().remove(0);
            assert!(summary.width > 0 && summary.height > 0, "{name}");
            let settings =
                json!({"photo": id, "view": {"x": -3, "y": -3, "width": 9, "height": 9, "out_width": 5}});
            picture(&mut study, settings).unwrap();
            for turns in [1, 255] {
                study
                    .set_photo(
                        &id,
                        PhotoSettings { turns: Some(turns), mirror: Some(true), ..Default::default() },
                    )
                    .unwrap();
            }
            // Beside maps, on which it may be looked for in vain.
            study.open("Fe-K.npy", &counts(30, 20, 1));
            if summary.width.min(summary.height) < 60 {
                let search = study.subject_to_align(&id).unwrap();
                told(&find_alignment(&search, &mut |_, _| {}).unwrap());
            }
        }
        if !opened.photos.is_empty() {
            seen(&mut study);
        }
        let took = start.elapsed();
        println!(
            "{name}: {} photos, {} maps, {:?}, {took:?}",
            opened.photos.len(),
            opened.maps.len(),
            opened.notices.first().map(|n| &n.text)
        );
        assert!(took < LONGEST, "{name} took {took:?}");
    }
}

#[test]
fn spoiled_photos_are_read_or_refused_in_a_sentence() {
    let mut chance = Chance::new(5);
    for name in [
        "laid_6.jpg",
        "progressive.jpg",
        "print_colours_ycck.jpg",
        "laid_6.png",
        "palette.png",
        "laid_6.tif",
        "wide_gamut.tif",
    ] {
        let good = case(name);
        for round in 0..60 {
            let mut bytes = good.clone();
            match round % 3 {
                0 => bytes.truncate(chance.below(good.len() as u64) as usize),
                // Several bytes; mostly in the head, where sizes and tables are.
                _ => {
                    for _ in 0..=chance.below(6) {
                        let reach = if chance.below(3) > 0 { good.len().min(700) } else { good.len() };
                        let at = chance.below(reach as u64) as usize;
                        bytes[at] = chance.bits() as u8;
                    }
                }
            }
            let start = Instant::now();
            match read(&bytes, None) {
                Err(finding) => assert!(finding.to_string().ends_with('.'), "{name}: {finding}"),
                Ok(reading) => {
                    if let Content::Photo(photo) = reading.content {
                        assert!(
                            photo.pixels.width().div_ceil(1) > 0 && photo.pixels.data().len() < 30_000_000
                        );
                    }
                }
            }
            assert!(start.elapsed() < LONGEST, "{name}, round {round}");
        }
    }
}

#[test]
fn a_photo_is_one_photo_however_it_comes() {
    let mut study = Study::new();
    let bytes = photo(9, 7, 0);
    assert_eq!(study.open("Cu-K.png", &bytes).photos, ["p1"]);
    assert_eq!(study.open("again.png", &bytes).notices[0].code, "already_open");
    // In an archive it is another file.
    let opened = study.open("photos.zip", &zip(&[("Cu-K.png", &bytes), ("two.png", &bytes)]));
    assert_eq!(opened.photos, ["p2", "p3"]);
    assert_eq!(study.set_photo("nobody", PhotoSettings::default()).unwrap_err().code, "unknown_photo");
    let name = Some("Cu K".to_owned());
    study.set_photo("p1", PhotoSettings { name: name.clone(), ..Default::default() }).unwrap();
    study.set_photo("p2", PhotoSettings { name, ..Default::default() }).unwrap();
    assert_eq!(study.set_photo("Cu K", PhotoSettings::default()).unwrap_err().code, "ambiguous_photo");
    seen(&mut study);
}
