//! The core as WebAssembly, in a browser: the boundary, and numbers that must have the same bits as natively.
#![cfg(target_arch = "wasm32")]
#![allow(clippy::unwrap_used)] // a test may fail

use js_sys::{Array, Float32Array, Function, Object, Reflect, Uint8Array};
use limner::digest::sha256_hex;
use limner::wasm::{Session, StudyReader, derive, is_study, read_photo, run, version};
use wasm_bindgen::{JsCast, JsValue};
use wasm_bindgen_test::{wasm_bindgen_test, wasm_bindgen_test_configure};

wasm_bindgen_test_configure!(run_in_dedicated_worker);

const TI: &[u8] = include_bytes!("../demo-data/tern-sound/tern_Ti-K.tif");
const FE: &[u8] = include_bytes!("../demo-data/tern-sound/tern_Fe-K.tif");
const GOLDEN: &str = include_str!("golden/same_bytes.json");

fn get(value: &JsValue, name: &str) -> JsValue {
    Reflect::get(value, &name.into()).unwrap()
}

fn text(value: &JsValue, name: &str) -> String {
    get(value, name).as_string().unwrap()
}

fn object(fields: &[(&str, JsValue)]) -> JsValue {
    let out = Object::new();
    for (name, value) in fields {
        Reflect::set(&out, &(*name).into(), value).unwrap();
    }
    out.into()
}

fn session() -> Session {
    let mut session = Session::new();
    assert_eq!(Array::from(&get(&session.open("tern_Ti-K.tif", TI, None).unwrap(), "maps")).length(), 1);
    session.open("tern_Fe-K.tif", FE, None).unwrap();
    session
}

/// Names a part of the paper, without which the quiet part of Fe K is too uneven for a verdict.
fn add_paper(session: &mut Session) {
    let sides = [("x", 75), ("y", 165), ("width", 30), ("height", 22)].map(|(name, px)| (name, px.into()));
    session.add_region(&object(&[("name", "paper".into()), ("rectangle", object(&sides))])).unwrap();
}

#[wasm_bindgen_test]
fn a_question_goes_through_subject_run_and_adopt() {
    let mut session = session();
    add_paper(&mut session);
    let settings = object(&[("a", "Ti K".into()), ("b", "Fe K".into()), ("background", "paper".into())]);
    let subject = session.subject("apart", settings.clone()).unwrap();
    let listen = Function::new_with_args("fraction, text", "globalThis.told = (globalThis.told ?? 0) + 1");
    let result = run("apart", settings, &subject, &listen).unwrap();
    assert!(get(&js_sys::global(), "told").as_f64().is_some_and(|told| told > 2.0));
    let answer = session.adopt(&result).unwrap();
    assert_eq!(text(&answer, "verdict"), "more A than accompanies B");
    let show = object(&[("answer", get(&answer, "id")), ("show", "classes".into())]);
    let picture = session.picture(show).unwrap();
    assert_eq!(get(&picture, "width").as_f64(), Some(300.0));
    assert!(Array::from(&get(&picture, "key")).length() >= 4);
}

#[wasm_bindgen_test]
fn an_answer_over_the_same_inputs_has_the_id_that_it_has_natively() {
    // The whole chart is opened by the end-to-end test: beside other maps, whose lines overlap, the classes are others.
    let golden: serde_json::Value = serde_json::from_str(GOLDEN).unwrap();
    let case = golden["cases"]
        .as_array()
        .unwrap()
        .iter()
        .find(|case| case["name"] == "apart of two maps alone")
        .unwrap();
    let session = session();
    let settings = object(&[("a", "m1".into()), ("b", "m2".into())]);
    let subject = session.subject("apart", settings.clone()).unwrap();
    let result = run("apart", settings, &subject, &Function::new_no_args("")).unwrap();
    let classes =
        get(&get(&get(&result, "rasters"), "classes"), "data").unchecked_into::<Uint8Array>().to_vec();
    assert_eq!(text(&get(&result, "answer"), "id"), case["answer_id"].as_str().unwrap());
    assert_eq!(limner::digest::sha256_hex(&classes), case["rasters"]["classes"].as_str().unwrap());
}

#[wasm_bindgen_test]
fn a_question_about_binned_maps_counts_the_area_of_their_pixels() {
    let mut session = session();
    for map in ["Ti K", "Fe K"] {
        let of = Array::of1(&map.into());
        let settings = object(&[("how", "bin".into()), ("by", 2.into()), ("of", of.into())]);
        let made = derive(settings.clone(), &session.subject_to_derive(settings.clone()).unwrap()).unwrap();
        session.adopt_derived(settings, &made).unwrap();
    }
    let settings = object(&[("a", "d1".into()), ("b", "d2".into())]);
    let subject = session.subject("apart", settings.clone()).unwrap();
    let result = run("apart", settings, &subject, &Function::new_no_args("")).unwrap();
    let numbers = get(&get(&result, "answer"), "numbers");
    let value = |name: &str| get(&get(&numbers, name), "value").as_f64().unwrap();
    // The step is 500 µm, so that two by two pixels are one square millimetre.
    assert!(value("a_without_b_pixels") > 10.0);
    assert_eq!(value("a_without_b_area_mm2"), value("a_without_b_pixels"));
}

#[wasm_bindgen_test]
fn faults_are_thrown_as_records_and_nan_bits_cross_unharmed() {
    let mut session = session();
    let fault = session.picture(object(&[("map", "Au L".into())])).unwrap_err();
    assert_eq!(text(&fault, "code"), "unknown_map");
    let mut file = b"\x93NUMPY\x01\x00".to_vec();
    let header = "{'descr': '<f4', 'fortran_order': False, 'shape': (1, 2)}\n";
    file.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
    file.extend(header.as_bytes());
    file.extend([0xffc1_2345u32, 0x7f81_0001].iter().flat_map(|bits| bits.to_le_bytes()));
    session.open("odd.npy", &file, None).unwrap();
    let data = get(&session.map("m3").unwrap(), "data").unchecked_into::<Float32Array>();
    assert_eq!(Uint8Array::new(&data.buffer()).to_vec()[..8], file[file.len() - 8..]);
    assert_eq!(version(), env!("CARGO_PKG_VERSION"));
}

#[wasm_bindgen_test]
fn regions_cross_with_their_pixels_and_a_question_in_its_own_worker_knows_them() {
    let mut session = session();
    let (width, height) = (300, 220);
    let bytes: Vec<u8> = (0..width * height).map(|i| u8::from(i % width < 120)).collect();
    let mask = Uint8Array::from(bytes.as_slice());
    let left =
        session.add_region(&object(&[("name", "left".into()), ("mask", mask.clone().into())])).unwrap();
    assert_eq!((text(&left, "id"), get(&left, "pixels").as_f64()), ("r1".into(), Some(26400.0)));
    let back = get(&session.region("left").unwrap(), "mask");
    assert_eq!(get(&back, "data").unchecked_into::<Uint8Array>().to_vec(), bytes);
    // Out as a picture and in again, and the settings that were handed in are as they were.
    let file = session.export("mask", object(&[("region", "left".into())])).unwrap();
    let settings = object(&[("role", "ground".into()), ("mask_png", get(&file, "bytes"))]);
    let again = session.preview_region(&settings).unwrap();
    assert_eq!(get(&get(&again, "mask"), "data").unchecked_into::<Uint8Array>().to_vec(), bytes);
    assert!(get(&settings, "mask_png").is_instance_of::<Uint8Array>());
    add_paper(&mut session);
    // Every pixel, so that the question alone would have a verdict: it has none because of what made the region.
    let threshold = object(&[("map", "Ti K".into()), ("low", 0.into())]);
    let bright = object(&[("name", "bright".into()), ("threshold", threshold)]);
    session.add_region(&bright).unwrap();
    let ask = |session: &Session, region: &str| {
        let settings = object(&[
            ("a", "Ti K".into()),
            ("b", "Fe K".into()),
            ("background", "paper".into()),
            ("region", region.into()),
        ]);
        let subject = session.subject("apart", settings.clone()).unwrap();
        get(&run("apart", settings, &subject, &Function::new_no_args("")).unwrap(), "answer")
    };
    let answer = ask(&session, "left");
    assert_eq!(get(&answer, "pixels").as_f64(), Some(26400.0));
    let answer = ask(&session, "bright");
    assert_eq!(text(&answer, "verdict"), "cannot be judged");
    assert!(text(&answer, "sentence").contains("was made from Ti K"), "{}", text(&answer, "sentence"));
    // The record brings them back, mask and all.
    let mut second = Session::new();
    second.apply(session.record().unwrap()).unwrap();
    second.open("tern_Ti-K.tif", TI, None).unwrap();
    let back = get(&second.region("r1").unwrap(), "mask");
    assert_eq!(get(&back, "data").unchecked_into::<Uint8Array>().to_vec(), bytes);
    assert_eq!(Array::from(&second.regions().unwrap()).length(), 3);
    let short = object(&[("mask", Uint8Array::new_with_length(3).into())]);
    assert_eq!(text(&session.add_region(&short).unwrap_err(), "code"), "bad_setting");
    let gone = session.remove("bright").unwrap();
    assert_eq!(gone.as_string().as_deref(), Some("region"));
}

#[wasm_bindgen_test]
fn what_is_known_beside_maps_crosses_to_a_worker_of_its_own() {
    let mut session = session();
    let plain = |value: &JsValue| String::from(js_sys::JSON::stringify(value).unwrap());
    let scan = object(&[
        ("anode", "Rh".into()),
        ("kv", 40.into()),
        ("path", "air".into()),
        ("own_lines", "rh l, Ar K".into()),
    ]);
    session.set_scan(scan).unwrap();
    let place = Array::of2(&12.5.into(), &7.5.into());
    let point = object(&[
        ("at", place.into()),
        ("name", "P3".into()),
        ("technique", "Raman".into()),
        ("pigment", "vermilion".into()),
        ("says", "found".into()),
    ]);
    let point = session.add_point(point).unwrap();
    assert_eq!((text(&point, "id"), text(&point, "technique")), ("a1".into(), "Raman".into()));
    assert_eq!(plain(&session.points().unwrap()), format!("[{}]", plain(&point)));
    let settings = object(&[("a", "Ti K".into()), ("b", "Fe K".into())]);
    let subject = session.subject("apart", settings.clone()).unwrap();
    let known = get(&subject, "known");
    assert_eq!(
        plain(&get(&known, "points")),
        r#"[{"id":"a1","name":"P3","at":[12.5,7.5],"technique":"Raman","result":"","pigment":"vermilion","is_found":true}]"#
    );
    assert_eq!(plain(&get(&known, "own_lines")), r#"["Rh L","Ar K"]"#);
    assert_eq!(
        (get(&known, "kv").as_f64(), get(&known, "is_without_air").as_bool()),
        (Some(40.0), Some(false))
    );
    let silent = Function::new_no_args("");
    assert!(run("apart", settings.clone(), &subject, &silent).is_ok());
    // Handed in as it came, or not at all; a line that is none was not written by the session.
    Reflect::set(&known, &"own_lines".into(), &Array::of1(&"Xx K".into())).unwrap();
    assert_eq!(text(&run("apart", settings, &subject, &silent).unwrap_err(), "code"), "unexpected");
    assert_eq!(session.remove("a1").unwrap().as_string().as_deref(), Some("point"));
}

#[wasm_bindgen_test]
fn a_spectrum_is_drawn_as_natively_and_what_was_handed_in_stays() {
    let mut session = session();
    let bytes = Uint8Array::from(&include_bytes!("cases/spectra/lead.txt")[..]);
    let settings = object(&[("name", "sum".into()), ("bytes", bytes.into()), ("how", "sum".into())]);
    let spectrum = session.add_spectrum(&settings).unwrap();
    assert!(get(&settings, "bytes").is_instance_of::<Uint8Array>());
    assert_eq!((text(&spectrum, "id"), get(&spectrum, "channels").as_f64()), ("s1".into(), Some(1024.0)));
    let elements = Array::of3(&"Fe".into(), &"Pb".into(), &"As".into());
    let view = object(&[("elements", elements.into()), ("low_kev", 1.5.into()), ("high_kev", 16.into())]);
    let drawn = js_sys::JSON::stringify(&session.spectrum("s1", view).unwrap()).unwrap();
    let golden = js_sys::JSON::parse(include_str!("golden/spectrum.json")).unwrap();
    assert_eq!(String::from(drawn), String::from(js_sys::JSON::stringify(&golden).unwrap()));
    let without = object(&[("name", "sum".into()), ("how", "sum".into())]);
    assert_eq!(text(&session.add_spectrum(&without).unwrap_err(), "code"), "bad_setting");
    assert_eq!(session.remove("s1").unwrap().as_string().as_deref(), Some("spectrum"));
}

#[wasm_bindgen_test]
fn a_photo_decoded_in_a_worker_of_its_own_is_taken_in_as_one_that_is_opened() {
    let files: [(&str, &[u8]); 4] = [
        ("laid_6.jpg", include_bytes!("cases/photos/laid_6.jpg")),
        ("progressive.jpg", include_bytes!("cases/photos/progressive.jpg")),
        ("chroma_halved.jpg", include_bytes!("cases/photos/chroma_halved.jpg")),
        ("print_colours_ycck.jpg", include_bytes!("cases/photos/print_colours_ycck.jpg")),
    ];
    let plain = |value: &JsValue| String::from(js_sys::JSON::stringify(value).unwrap());
    let (mut one, mut other) = (Session::new(), Session::new());
    for ((name, file), line) in files.iter().zip(include_str!("cases/photos/same_bytes.csv").lines()) {
        let read = read_photo(name, file, None).unwrap();
        let pixels = get(&get(&read, "photo"), "pixels").unchecked_into::<Uint8Array>().to_vec();
        assert_eq!(format!("{name},{}", limner::digest::sha256_hex(&pixels)), line);
        let handed = other.open_photo(name, &read, None).unwrap();
        assert_eq!(plain(&one.open(name, file, None).unwrap()), plain(&handed));
    }
    assert_eq!(plain(&one.photos().unwrap()), plain(&other.photos().unwrap()));
    assert_eq!(plain(&one.record().unwrap()), plain(&other.record().unwrap()));
    let picture = other.picture(object(&[("photo", "p1".into())])).unwrap();
    assert_eq!(get(&picture, "width").as_f64(), Some(9.0));
    assert!(read_photo("tern_Ti-K.tif", TI, None).unwrap().is_null());
    let unfit = object(&[
        ("sha256", "a".into()),
        ("size", 1.into()),
        ("notices", Array::new().into()),
        ("photo", Object::new().into()),
    ]);
    assert_eq!(text(&other.open_photo("a.jpg", &unfit, None).unwrap_err(), "code"), "bad_setting");
}

/// The study file of two maps, a region and a view: its bytes are those of the native test in `tests/study_files.rs`.
#[wasm_bindgen_test]
fn a_study_file_has_the_same_bytes_and_is_read_in_parts() {
    let mut session = session();
    add_paper(&mut session);
    let view = object(&[("picture", object(&[("map", "m1".into())])), ("title", "one map".into())]);
    session.keep(view).unwrap();
    let mut file = Vec::new();
    for piece in Array::from(&session.save().unwrap()).iter() {
        match piece.dyn_into::<Uint8Array>() {
            Ok(bytes) => file.extend(bytes.to_vec()),
            Err(elsewhere) => {
                let bytes = [TI, FE]
                    .into_iter()
                    .find(|bytes| sha256_hex(bytes) == text(&elsewhere, "source"))
                    .unwrap();
                assert_eq!(get(&elsewhere, "size").as_f64(), Some(bytes.len() as f64));
                file.extend(bytes);
            }
        }
    }
    assert_eq!(sha256_hex(&file), include_str!("studies/same_bytes.txt").trim());
    assert!(is_study(&file[..64]));
    let mut reader = StudyReader::new(file.len() as f64);
    loop {
        let wish = reader.wants().unwrap();
        if wish.is_null() {
            break;
        }
        let end = |name: &str| get(&wish, name).as_f64().unwrap() as usize;
        reader.give(&file[end("from")..end("to")]).unwrap();
    }
    let back = reader.finish().unwrap();
    assert_eq!(Array::from(&get(&back.opened().unwrap(), "maps")).length(), 2);
    let first = Array::from(&back.inputs().unwrap()).get(0);
    let end = |name: &str| get(&first, name).as_f64().unwrap() as usize;
    assert!(file[end("from")..end("to")] == *TI);
    let mut again = back.session();
    assert_eq!(Array::from(&again.findings().unwrap()).length(), 1);
    let changed = again.changed().unwrap();
    assert_eq!(Array::from(&get(&changed, "blobs")).length(), 1, "the kept picture");
    // A file that is none is thrown in words.
    let mut reader = StudyReader::new(22.0);
    let fault = reader.give(&[0; 22]).unwrap_err();
    assert_eq!(text(&fault, "code"), "damaged_study");
}
