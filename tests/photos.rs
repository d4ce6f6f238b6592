//! Photos against Pillow and numpy (`tests/cases/photos/make.py`): how they lie, what becomes of their colours, and how they
//! are reduced. And that a photo decoded elsewhere is taken in as one that is opened.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

use limner::reading::{Content, Photo, Reading, read, read_photo};
use limner::study::{PhotoFile, Study};
use serde_json::Value;
use std::path::{Path, PathBuf};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/photos")
}

fn bytes(name: &str) -> Vec<u8> {
    std::fs::read(folder().join(name)).unwrap_or_else(|error| panic!("{name}: {error}"))
}

fn expected() -> Value {
    serde_json::from_slice(&bytes("expected.json")).unwrap()
}

fn photo_of(reading: Reading, name: &str) -> Photo {
    let Content::Photo(photo) = reading.content else { panic!("{name}: {:?}", reading.content) };
    photo
}

fn from_hex(text: &str) -> Vec<u8> {
    let pairs = text.as_bytes().as_chunks::<2>().0.iter();
    pairs.map(|pair| u8::from_str_radix(std::str::from_utf8(pair).unwrap(), 16).unwrap()).collect()
}

/// Steps by which the decoders may differ, at most and in the mean. PNG and TIFF: none. JPEG: both round within the standard,
/// each in its own place; where chroma is halved they enlarge it by different rules, most of all at the border.
fn allowed(name: &str) -> (u8, f64) {
    match name {
        // The second has its chroma halved as well.
        "chroma_halved.jpg" | "print_colours_ycck.jpg" => (8, 1.0),
        _ if name.ends_with(".jpg") => (2, 0.5),
        _ => (0, 0.0),
    }
}

#[test]
fn photos_lie_and_look_as_pillow_has_them() {
    let expected = expected();
    let files = expected["files"].as_object().unwrap();
    assert!(files.len() >= 38, "{}", files.len());
    let mut wrong = Vec::new();
    for (name, want) in files {
        let way = want.get("way").and_then(Value::as_str);
        let reading = read(&bytes(name), way).unwrap_or_else(|finding| panic!("{name}: {finding}"));
        let photo = photo_of(reading, name);
        let size = (want["width"].as_u64().unwrap() as u32, want["height"].as_u64().unwrap() as u32);
        assert_eq!((photo.size, photo.factor), (size, 1), "{name}");
        assert_eq!((photo.pixels.width(), photo.pixels.height()), size, "{name}");
        let pixels = from_hex(want["pixels"].as_str().unwrap());
        let apart: Vec<u8> =
            photo.pixels.data().as_flattened().iter().zip(&pixels).map(|(a, b)| a.abs_diff(*b)).collect();
        let most = apart.iter().copied().max().unwrap();
        let mean = apart.iter().map(|&d| f64::from(d)).sum::<f64>() / apart.len() as f64;
        println!("{name}: at most {most}, in the mean {mean:.2}");
        let (most_allowed, mean_allowed) = allowed(name);
        if most > most_allowed || mean > mean_allowed {
            wrong.push(format!("{name}: at most {most} steps, in the mean {mean:.2}"));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn what_is_to_be_known_of_colours_is_said() {
    let said = |name: &str, way| -> Vec<String> {
        let reading = read(&bytes(name), way).unwrap();
        reading.findings.iter().map(|finding| format!("{}: {finding}", finding.code())).collect()
    };
    for name in ["wide_gamut.jpg", "wide_gamut.png", "wide_gamut.tif"] {
        let said = said(name, None);
        assert!(
            said.len() == 1
                && said[0].starts_with("colour_profile: Its colour profile (“Invented wide gamut”)"),
            "{name}: {said:?}"
        );
    }
    for name in ["print_colours.jpg", "print_colours_ycck.jpg"] {
        assert!(said(name, None)[0].starts_with("print_colours"), "{name}");
    }
    assert!(said("transparent.png", None)[0].starts_with("transparency_dropped"));
    for name in ["srgb_profile.png", "laid_6.jpg", "progressive.jpg", "palette.png"] {
        assert_eq!(said(name, None), [] as [String; 0], "{name}");
    }
}

#[test]
fn grey_files_are_asked_about_where_they_may_be_photos() {
    let asked = |name: &str| matches!(read(&bytes(name), None).unwrap().content, Content::Ask { .. });
    // Grey JPEG always; grey PNG only with a camera's notes.
    assert!(asked("grey.jpg") && asked("grey.png") && !asked("grey_16.png") && !asked("grey_16.tif"));
    for name in ["grey.jpg", "grey.png", "grey_16.png", "grey_16.tif"] {
        let reading = read(&bytes(name), Some("map")).unwrap();
        assert!(matches!(reading.content, Content::Maps(_)), "{name}");
    }
}

#[test]
fn exif_behind_the_pixels_of_a_png_counts_and_damaged_exif_is_none() {
    let file = bytes("laid_6.png");
    let plain = photo_of(read(&file, None).unwrap(), "as written");
    let at = file.windows(4).position(|kind| kind == b"eXIf").unwrap() - 4;
    let length = u32::from_be_bytes(file[at..at + 4].try_into().unwrap()) as usize + 12;
    let mut moved = file.clone();
    let chunk: Vec<u8> = moved.drain(at..at + length).collect();
    let end = moved.len() - 12;
    moved.splice(end..end, chunk);
    assert_eq!(photo_of(read(&moved, None).unwrap(), "moved"), plain);
    // Every byte of the Exif data of a JPEG is spoiled in turn: it is a photo all the same.
    let file = bytes("laid_6.jpg");
    let start = file.windows(4).position(|mark| mark == b"Exif").unwrap();
    let length = usize::from(u16::from_be_bytes([file[start - 2], file[start - 1]])) - 2;
    let mut laid_otherwise = 0;
    for at in start..start + length {
        for value in [0, 0xff, file[at] ^ 1] {
            let mut spoiled = file.clone();
            spoiled[at] = value;
            let photo = photo_of(read(&spoiled, None).unwrap(), "spoiled");
            laid_otherwise += usize::from(photo.size != plain.size);
        }
    }
    assert!(laid_otherwise > 0);
}

#[test]
fn a_photo_that_is_cut_off_is_refused_with_one_sentence() {
    for name in ["laid_1.jpg", "progressive.jpg", "print_colours.jpg", "laid_1.png", "laid_1.tif"] {
        let file = bytes(name);
        // Of a TIFF the directory comes last; of a PNG what ends it is needed too.
        for length in [file.len() / 3, file.len() / 2, file.len() - 30, file.len() - 3] {
            let outcome = read(&file[..length], None);
            let finding = outcome.err().unwrap_or_else(|| panic!("{name} cut at {length} was read"));
            assert_eq!(finding.code(), "damaged", "{name} cut at {length}: {finding}");
        }
    }
}

/// A TIFF of RGB in strips of 64 rows, uncompressed, as TIFF 6.0 has it.
fn tiff(width: u32, height: u32, orientation: u32, colour: impl Fn(u32, u32) -> [u8; 3]) -> Vec<u8> {
    let strips = height.div_ceil(64);
    let mut out = b"II\x2a\0\0\0\0\0".to_vec();
    for y in 0..height {
        for x in 0..width {
            out.extend(colour(x, y));
        }
    }
    let long = |value: u32| value.to_le_bytes();
    let offsets_at = out.len() as u32;
    (0..strips).for_each(|strip| out.extend(long(8 + strip * 64 * width * 3)));
    let counts_at = out.len() as u32;
    (0..strips).for_each(|strip| out.extend(long((height - strip * 64).min(64) * width * 3)));
    let bits_at = out.len() as u32;
    out.extend([8, 0, 8, 0, 8, 0]);
    let directory = out.len() as u32;
    out[4..8].copy_from_slice(&long(directory));
    let tags = [
        (256u16, 4u16, 1u32, width),
        (257, 4, 1, height),
        (258, 3, 3, bits_at),
        (259, 3, 1, 1),
        (262, 3, 1, 2),
        (273, 4, strips, offsets_at),
        (274, 3, 1, orientation),
        (277, 3, 1, 3),
        (278, 4, 1, 64),
        (279, 4, strips, counts_at),
    ];
    out.extend((tags.len() as u16).to_le_bytes());
    for (tag, kind, count, value) in tags {
        out.extend(tag.to_le_bytes());
        out.extend(kind.to_le_bytes());
        out.extend(long(count));
        out.extend(long(value));
    }
    out.extend([0; 4]);
    out
}

#[test]
fn above_25_million_pixels_means_of_the_light_are_kept_as_numpy_has_them() {
    let wanted = &expected()["means"];
    let number = |value: &Value| value.as_u64().unwrap() as u32;
    let file = tiff(5003, 5011, 6, |x, y| {
        [(x * 7 + y * 3) % 256, (x * x + y) % 251, (x / 9 + y / 5) % 256].map(|v| v as u8)
    });
    let photo = photo_of(read(&file, None).unwrap(), "wide");
    assert_eq!(photo.size, (number(&wanted["size"][0]), number(&wanted["size"][1])));
    assert_eq!(photo.factor, number(&wanted["factor"]));
    let kept = (photo.pixels.width(), photo.pixels.height());
    assert_eq!(kept, (number(&wanted["kept"][0]), number(&wanted["kept"][1])));
    let cells = wanted["cells"].as_array().unwrap();
    assert!(cells.len() >= 9);
    for cell in cells {
        let (x, y) = (number(&cell["x"]), number(&cell["y"]));
        let got = photo.pixels.get(x, y).unwrap();
        for channel in 0..3 {
            let want = cell["steps"][channel].as_f64().unwrap();
            // The table of light to steps is within 0.06 of the curve.
            assert!((f64::from(got[channel]) - want).abs() < 0.56, "{x}, {y}: {got:?}, {cell}");
        }
    }
    // In the study it has its full size, and a window is in its pixels.
    let mut study = Study::new();
    assert_eq!(study.open("wide.tif", &file).photos, ["p1"]);
    let summary = study.photos().remove(0);
    assert_eq!((summary.width, summary.height), photo.size);
    let settings = serde_json::json!({"photo": "p1", "view": {"x": 2000, "y": 154, "width": 2, "height": 2, "out_width": 1}});
    let settings = limner::ask::picture::PictureSettings::read(settings).unwrap();
    let shown = study.picture(&settings).unwrap();
    assert_eq!(shown.source_size, photo.size);
    assert_eq!(shown.picture.rgba[..3], *photo.pixels.get(1000, 77).unwrap());
}

/// Two studies opened the same files, one of them with photos decoded elsewhere: nothing may tell them apart.
fn same(one: &mut Study, other: &mut Study, name: &str, file: &[u8], way: Option<&str>) {
    let opened = one.open_as(name, file, way);
    let handed = match PhotoFile::of(name, file, way) {
        Some(photo) => other.open_photo(name, photo, way).unwrap_or_else(|| other.open_as(name, file, way)),
        None => other.open_as(name, file, way),
    };
    assert_eq!(opened, handed, "{name}");
    assert_eq!(one.photos(), other.photos(), "{name}");
    assert_eq!(one.maps(), other.maps(), "{name}");
    assert_eq!(
        serde_json::to_value(one.record()).unwrap(),
        serde_json::to_value(other.record()).unwrap(),
        "{name}"
    );
}

#[test]
fn a_photo_decoded_elsewhere_is_taken_in_as_one_that_is_opened() {
    let (mut one, mut other) = (Study::new(), Study::new());
    let steps: [(&str, Option<&str>); 11] = [
        ("grey_16.png", None),
        ("laid_6.jpg", None),
        ("laid_6.jpg", None),
        ("wide_gamut.png", None),
        ("grey.jpg", None),
        ("grey.jpg", Some("map")),
        ("grey.png", Some("photo")),
        ("grey.png", None),
        ("print_colours.jpg", None),
        ("laid_3.tif", None),
        ("transparent.png", Some("leave_out")),
    ];
    for (name, way) in steps {
        same(&mut one, &mut other, name, &bytes(name), way);
    }
    let cut = &bytes("laid_2.jpg")[..300];
    same(&mut one, &mut other, "cut.jpg", cut, None);
    assert_eq!((one.photos().len(), one.maps().len()), (5, 2));
    // Brought back from the record, in another order.
    let record = one.record();
    let (mut back, mut handed) = (Study::new(), Study::new());
    back.apply(record.clone()).unwrap();
    handed.apply(record).unwrap();
    for name in [
        "laid_3.tif",
        "grey.jpg",
        "print_colours.jpg",
        "grey.png",
        "grey_16.png",
        "wide_gamut.png",
        "laid_6.jpg",
    ] {
        same(&mut back, &mut handed, name, &bytes(name), None);
    }
    let by_id = |study: &Study| {
        let mut photos: Vec<(String, String)> =
            study.photos().into_iter().map(|photo| (photo.id, photo.file)).collect();
        photos.sort();
        photos
    };
    assert_eq!(by_id(&back), by_id(&one));
}

#[test]
fn a_record_made_before_grey_jpegs_were_asked_about_brings_them_back_as_maps() {
    let file = bytes("grey.jpg");
    let mut study = Study::new();
    study.open_as("grey.jpg", &file, Some("map"));
    let mut record = serde_json::to_value(study.record()).unwrap();
    assert_eq!(record["inputs"][0]["way"], "map");
    record["inputs"][0]["way"] = Value::Null;
    let (mut back, mut handed) = (Study::new(), Study::new());
    back.apply(serde_json::from_value(record.clone()).unwrap()).unwrap();
    handed.apply(serde_json::from_value(record).unwrap()).unwrap();
    same(&mut back, &mut handed, "grey.jpg", &file, None);
    assert_eq!(back.maps().len(), 1);
}

#[test]
fn only_a_picture_alone_is_decoded_elsewhere() {
    let is_photo = |name: &str| read_photo(&bytes(name), None).is_some();
    assert!(
        is_photo("laid_1.jpg") && is_photo("laid_1.png") && is_photo("laid_1.tif") && is_photo("grey.jpg")
    );
    assert!(!is_photo("grey_16.png") && !is_photo("grey_16.tif") && !is_photo("expected.json"));
    assert!(read_photo(&[], None).is_none());
    // A file that is refused has its sentence, and nothing else.
    let cut = PhotoFile::of("cut.jpg", &bytes("laid_1.jpg")[..200], None).unwrap();
    assert!(cut.decoded.is_none() && cut.notices.len() == 1 && cut.notices[0].code == "damaged");
}

#[test]
fn a_study_keeps_what_it_is_told_of_a_photo_that_is_kept_reduced() {
    let file = tiff(5003, 5011, 1, |x, y| [x as u8, y as u8, 90]);
    let decoded = read_photo(&file, None).unwrap().unwrap();
    assert!(decoded.suffices(None) && decoded.suffices(Some("photo")));
    // Grey, and too large to keep every pixel: as a map it has to be read anew.
    let grey = tiff(5003, 5011, 1, |x, y| [(x + y) as u8; 3]);
    let decoded = read_photo(&grey, None).unwrap().unwrap();
    assert!(!decoded.suffices(Some("map")) && decoded.suffices(None));
    let mut study = Study::new();
    let photo = PhotoFile::of("grey.tif", &grey, None).unwrap();
    assert!(study.open_photo("grey.tif", photo, Some("map")).is_none());
    assert!(study.record().inputs.is_empty());
    let Content::Maps(maps) = read(&grey, Some("map")).unwrap().content else { panic!() };
    assert_eq!((maps[0].samples.width(), maps[0].samples.height()), (5003, 5011));
}

/// The decoder has machine code of its own natively and none as WebAssembly: `tests/wasm.rs` holds the same table against what the
/// browser makes of these files. `LIMNER_WRITE_CASES=1` writes it.
#[test]
fn jpegs_have_the_bytes_that_they_have_in_the_browser() {
    let mut table = String::new();
    for name in ["laid_6.jpg", "progressive.jpg", "chroma_halved.jpg", "print_colours_ycck.jpg"] {
        let photo = photo_of(read(&bytes(name), None).unwrap(), name);
        let hash = limner::digest::sha256_hex(photo.pixels.data().as_flattened());
        table += &format!("{name},{hash}\n");
    }
    let path = folder().join("same_bytes.csv");
    if std::env::var_os("LIMNER_WRITE_CASES").is_some() {
        std::fs::write(&path, &table).unwrap();
    }
    assert_eq!(table, std::fs::read_to_string(&path).unwrap());
}
