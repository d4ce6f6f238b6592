//! What files bring: ways of reading, lists of names, belonging together, frames, archives.

use super::made::derive;
use super::*;

/// A small grey file of 8-bit counts as NPY, `value(x, y)`.
pub(super) fn bytes_file(width: u32, height: u32, value: impl Fn(u32, u32) -> u8) -> Vec<u8> {
    let header = format!("{{'descr': '|u1', 'fortran_order': False, 'shape': ({height}, {width}), }}\n");
    let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
    bytes.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
    bytes.extend(header.as_bytes());
    bytes.extend((0..height).flat_map(|y| (0..width).map(move |x| (x, y))).map(|(x, y)| value(x, y)));
    bytes
}

#[test]
fn a_file_that_can_be_read_in_two_ways_is_asked_about_and_comes_back_as_it_was_chosen() {
    let mut study = Study::new();
    let file = b"1,5\n2,5\n3,5\n".as_slice();
    let opened = study.open("doubtful.csv", file);
    assert!(opened.maps.is_empty() && !opened.is_kept && study.record().inputs.is_empty());
    let ask = &opened.asks[0];
    assert!(ask.ways.len() >= 2 && ask.file == "doubtful.csv", "{ask:?}");
    let way = ask.ways.iter().find(|way| way.key.contains("decimal_comma")).unwrap().key.clone();
    assert_eq!(study.open_as("doubtful.csv", file, Some(&way)).maps, ["m1"]);
    assert_eq!((study.maps()[0].width, study.maps()[0].high), (1, Some(3.5)));
    let mut second = Study::new();
    second.apply(study.record()).unwrap();
    second.open("doubtful.csv", file);
    assert_eq!((second.maps(), second.record()), (study.maps(), study.record()));
}

#[test]
fn a_list_names_maps_before_and_after_they_are_opened() {
    let mut study = Study::new();
    study.open("map_03.npy", &file(80, 8));
    let list = b"map_03;Fe K\nmap_04;Hg L\n".as_slice();
    let opened = study.open("list.txt", list);
    assert_eq!((opened.notices[0].code.as_str(), opened.is_kept), ("names_taken", true));
    assert!(opened.notices[0].text.contains("1 map"), "{}", opened.notices[0].text);
    study.open("map_04.npy", &file(81, 9));
    let lines: Vec<_> = study.maps().into_iter().map(|map| map.line).collect();
    assert_eq!(lines, [Some("Fe K".into()), Some("Hg L".into())]);
    let mut second = Study::new();
    second.apply(study.record()).unwrap();
    for (name, bytes) in
        [("map_03.npy", file(80, 8)), ("list.txt", list.to_vec()), ("map_04.npy", file(81, 9))]
    {
        second.open(name, &bytes);
    }
    assert_eq!((second.maps(), second.record()), (study.maps(), study.record()));
}

#[test]
fn errors_of_a_fit_belong_to_it_by_name_and_detectors_to_each_other() {
    let mut study = Study::new();
    let float = |add: f32| {
        let header = "{'descr': '<f4', 'fortran_order': False, 'shape': (20, 30), }\n";
        let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
        bytes.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
        bytes.extend(header.as_bytes());
        (0..600).for_each(|i| bytes.extend((add + i as f32 / 7.0).to_le_bytes()));
        bytes
    };
    study.open("Fe-K.npy", &float(0.5));
    study.open("Fe-K_error.npy", &float(1.25));
    let maps = study.maps();
    assert_eq!((maps[1].role.as_str(), maps[1].belongs_to.as_deref()), ("fit error", Some("m1")));
    assert_eq!((maps[0].kind_text.as_str(), maps[1].kind.as_str()), ("fitted, error map", "auxiliary"));
    assert_eq!(study.read_out(0.5, 0.5, None).unwrap().values[0].text, "0.500 ± 1.25");
    // Said not to be one, it is none; taken back, it is again.
    let none = MapRecord { error_map: Some(String::new()), ..MapRecord::default() };
    assert_eq!(study.set_map("m1", none).unwrap().kind_text, "fitted");
    for (detector, add) in [(1, 3.0), (2, 4.0)] {
        study.open(&format!("Cu_Ka_det{detector}.npy"), &float(add));
    }
    let maps = study.maps();
    assert_eq!(
        (maps[2].label.as_str(), &maps[2].group),
        ("Cu Kα (detector 1)", &vec!["m3".to_owned(), "m4".into()])
    );
    let sum = derive(&mut study, json!({"how": "sum", "of": ["m3", "m4"]})).unwrap();
    assert_eq!((sum.label.as_str(), sum.line.as_deref()), ("Cu Kα, sum of 2 maps", Some("Cu Kα")));
}

#[test]
fn a_cropped_map_is_laid_on_the_grid_and_its_pixels_stay_as_read() {
    let mut study = study();
    let scene = |x: u32, y: u32| ((x * x + 3 * y * y + x * y * 5) % 97) as u8;
    study.open("Cu-K.npy", &bytes_file(30, 20, scene));
    study.open("Cu-K part.npy", &bytes_file(20, 12, |x, y| scene(x + 4, y + 3)));
    let as_read = study.samples("m4").unwrap();
    let frame = FrameRecord { x: -4, y: -3, width: 30, height: 20 };
    let laid = study.set_map("m4", MapRecord { frame: Some(frame), ..MapRecord::default() }).unwrap();
    assert_eq!((laid.width, laid.height, laid.blank), (30, 20, 600 - 240));
    let at = |study: &mut Study, x: f64, y: f64| {
        let out = study.read_out(x, y, None).unwrap();
        (out.values[2].text.clone(), out.values[3].text.clone())
    };
    let (whole, part) = at(&mut study, 10.5, 7.5);
    assert_eq!(whole, part);
    assert_eq!(at(&mut study, 2.5, 7.5).1, "no data");
    study.set_grid(GridRecord { turns: Some(3), ..GridRecord::default() }).unwrap();
    let (whole, part) = at(&mut study, 7.5, 29.5 - 10.0);
    assert_eq!(whole, part);
    assert_eq!(study.samples("m4").unwrap(), as_read);
    for far in [FrameRecord { x: i64::MAX, ..frame }, FrameRecord { width: 0, ..frame }] {
        let fault = study.set_map("m4", MapRecord { frame: Some(far), ..MapRecord::default() }).unwrap_err();
        assert!(fault.message.contains("frame"), "{fault}");
    }
    let back = MapRecord { frame: Some(FrameRecord::default()), ..MapRecord::default() };
    let whole = study.set_map("m4", back).unwrap();
    assert_eq!((whole.width, whole.height, whole.blank), (12, 20, 0));
}

#[test]
fn what_the_inspection_offers_can_be_done_as_it_stands() {
    let mut study = Study::new();
    let scene = |x: u32, y: u32| {
        let blob = |cx: i64, cy: i64, r: i64| {
            let d = (i64::from(x) - cx).pow(2) + (i64::from(y) - cy).pow(2);
            (r * r - d).max(0) as u32
        };
        ((x * 7 + y * 13 + x * y) % 5 + blob(14, 20, 11) + blob(44, 12, 8)) as u8
    };
    study.open("Fe-K.npy", &bytes_file(64, 48, scene));
    study.open("Cu-K.npy", &bytes_file(64, 48, |x, y| scene(x, y) / 2 + ((x * 11 + y * 5) % 3) as u8));
    study.open("Zn-K.npy", &bytes_file(64, 48, |x, y| scene(x, y) / 3 + ((x * 5 + y * 9) % 4) as u8));
    study.open("Pb-L.npy", &bytes_file(64, 48, |x, y| scene(63 - x, y) / 2 + ((x + y * 3) % 3) as u8));
    let notices = study.inspect().unwrap();
    let turned =
        notices.iter().find(|notice| notice.map.as_deref() == Some("m4") && !notice.offers.is_empty());
    let Some(turned) = turned else { panic!("{notices:?}") };
    let offer = &turned.offers[0];
    assert_eq!(offer.call, "set_maps");
    let changes = serde_json::from_value(offer.args[0].clone()).unwrap();
    study.set_maps(MapChange::read(changes).unwrap()).unwrap();
    let after = study.inspect().unwrap();
    assert!(after.iter().all(|notice| notice.map.as_deref() != Some("m4")), "{after:?}");
}

#[test]
fn what_was_accepted_is_not_told_again() {
    let mut study = Study::new();
    let noise = |x: u32, y: u32, a: u32, b: u32| (x * a + y * b + x * y) % 11;
    let iron = |x: u32, y: u32| (noise(x, y, 7, 13) + 60 * u32::from(x < 30 && y > 8)) as u8;
    let copper = |x: u32, y: u32| (noise(x, y, 5, 3) + 50 * u32::from(x > 20 && y < 30)) as u8;
    study.open("Fe-K.npy", &bytes_file(64, 48, iron));
    study.open("Cu-K.npy", &bytes_file(64, 48, copper));
    study.open("all.npy", &bytes_file(64, 48, |x, y| iron(x, y) + copper(x, y)));
    let told = |study: &mut Study| study.inspect().unwrap().into_iter().find(|n| n.code == "sum_of");
    let Some(sum) = told(&mut study) else { panic!("{:?}", study.inspect()) };
    let changes = serde_json::from_value(sum.offers[0].args[0].clone()).unwrap();
    study.set_maps(MapChange::read(changes).unwrap()).unwrap();
    assert_eq!(told(&mut study), None);
}

#[test]
fn an_archive_is_its_files() {
    use std::io::Write;
    let mut study = Study::new();
    // A stored entry by hand: local header, bytes, central directory, end (ZIP application note 6.3).
    let entry = file(80, 8);
    let mut hasher = crc32fast::Hasher::new();
    hasher.update(&entry);
    let (crc, size, name) = (hasher.finalize(), entry.len() as u32, b"stack/Ti-K.npy");
    let mut zip = Vec::new();
    let fields = |out: &mut Vec<u8>, is_central: bool| {
        out.extend(if is_central { *b"PK\x01\x02\x14\0" } else { *b"PK\x03\x04\x14\0" });
        if is_central {
            out.extend([20, 0]);
        }
        out.extend([0; 8]);
        for number in [crc, size, size] {
            out.extend(number.to_le_bytes());
        }
        out.extend((name.len() as u16).to_le_bytes());
        out.extend([0, 0]);
        if is_central {
            out.extend([0; 14]);
        }
    };
    fields(&mut zip, false);
    // The two blocks above leave out what local headers have no room for.
    zip.write_all(name).unwrap();
    zip.write_all(&entry).unwrap();
    let start = zip.len() as u32;
    fields(&mut zip, true);
    zip.truncate(start as usize + 42);
    zip.extend(0u32.to_le_bytes());
    zip.write_all(name).unwrap();
    let length = zip.len() as u32 - start;
    zip.extend(*b"PK\x05\x06");
    zip.extend([0, 0, 0, 0, 1, 0, 1, 0]);
    zip.extend(length.to_le_bytes());
    zip.extend(start.to_le_bytes());
    zip.extend([0, 0]);
    let opened = study.open("stack.zip", &zip);
    assert_eq!(opened.maps, ["m1"], "{:?}", opened.notices);
    let map = &study.maps()[0];
    assert_eq!((map.file.as_str(), map.line.as_deref()), ("stack.zip/stack/Ti-K.npy", Some("Ti K")));
}

#[test]
fn a_sound_stack_is_left_in_peace_and_a_hot_pixel_is_told_with_its_place() {
    let mut study = Study::new();
    for name in ["Ca-K", "Cu-K", "Fe-K", "Hg-L", "Mn-K", "Pb-L", "Ti-K", "Zn-K"] {
        let path = format!("{}/demo-data/tern-sound/tern_{name}.tif", env!("CARGO_MANIFEST_DIR"));
        #[allow(clippy::disallowed_methods)] // a test may read files
        study.open(&format!("tern_{name}.tif"), &std::fs::read(path).unwrap());
    }
    assert_eq!(study.inspect().unwrap(), []);
    let mut hot = Study::new();
    let mut bytes = file(80, 8);
    let at = bytes.len() - 600 * 2 + (12 * 30 + 3) * 2;
    bytes[at..at + 2].copy_from_slice(&50_000u16.to_le_bytes());
    hot.open("Ti-K.npy", &bytes);
    let notices = hot.inspect().unwrap();
    let told = notices.iter().find(|notice| notice.code == "hot_pixels").unwrap();
    assert!(told.text.contains("column 4, row 13"), "{}", told.text);
    let derived = derive(&mut hot, told.offers[0].args[0].clone()).unwrap();
    assert_eq!((derived.blank, derived.high), (1, Some(84.0)));
}

#[test]
fn an_expected_file_that_cannot_be_read_as_chosen_stays_expected() {
    let mut first = Study::new();
    let file = b"1,5\n2,5\n3,5\n".as_slice();
    let way = first.open("doubtful.csv", file).asks[0].ways[0].key.clone();
    first.open_as("doubtful.csv", file, Some(&way));
    let mut second = Study::new();
    second.apply(first.record()).unwrap();
    // Asked for in a way that there is not, it asks again and changes nothing.
    assert!(!second.open_as("doubtful.csv", file, Some("no such way")).is_kept);
    assert_eq!(second.record(), first.record());
    second.open("doubtful.csv", file);
    assert_eq!((second.maps(), second.record()), (first.maps(), first.record()));
}
