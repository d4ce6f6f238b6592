//! Spectra of regions: read, drawn with the lines of elements, kept.

use super::*;
use crate::ask::{LineMark, Plot};
use crate::numerics::figure::THIN_SPACE;
use serde_json::Value;

/// Counts of a channel of 20 eV: a falling continuum with peaks of whole numbers at Fe Kα, Pb Lα and Pb Lβ.
fn counts(channel: u32) -> u32 {
    let peak = |at: u32, height: u32| {
        let off = channel.abs_diff(at);
        if off < 12 { height * (12 - off) * (12 - off) / 144 } else { 0 }
    };
    (40_000 / (channel + 40)).saturating_sub(40) + peak(320, 9_000) + peak(527, 22_000) + peak(630, 15_000)
}

/// As a file: 1024 channels from 0 keV.
fn text() -> Vec<u8> {
    let lines = (0..1024).map(|i| format!("{:.2}\t{}\n", f64::from(i) * 0.02, counts(i)));
    format!("Energy / keV\tCounts\n{}", lines.collect::<String>()).into_bytes()
}

fn add(study: &mut Study, settings: Value, bytes: &[u8]) -> Result<SpectrumSummary, Fault> {
    study.add_spectrum(SpectrumSettings::read(settings)?, bytes)
}

fn with_region() -> Study {
    let mut study = study();
    let region = json!({"name": "sky", "rectangle": {"x": 2, "y": 2, "width": 6, "height": 6}});
    study.add_region(RegionSettings::read(region).unwrap()).unwrap();
    study
}

fn drawn(study: &Study, id: &str, view: Value) -> Result<Value, Fault> {
    Ok(serde_json::to_value(study.spectrum(id, &SpectrumView::read(view)?)?).unwrap())
}

#[test]
fn a_spectrum_is_of_a_region_and_says_itself() {
    let mut study = with_region();
    let first =
        add(&mut study, json!({"name": "border sum.txt", "region": "sky", "how": "sum"}), &text()).unwrap();
    assert_eq!((first.id.as_str(), first.region.as_deref(), first.channels), ("s1", Some("r1"), 1024));
    assert_eq!((first.first_kev, first.step_kev), (0.0, 0.02));
    let total: u32 = (0..1024).map(counts).sum();
    let said = first.text.replace(THIN_SPACE, "");
    assert_eq!(
        said,
        format!("border sum.txt: sum over sky, 1024 channels from 0 to 20.46keV, {total} counts")
    );
    // Energies that are stated count more than those of the file; one column needs them.
    let stated = json!({"name": "", "how": "maximum pixel", "first_kev": -0.1, "step_kev": 0.01});
    let second = add(&mut study, stated, &text()).unwrap();
    assert_eq!((second.name.as_str(), second.first_kev, second.step_kev), ("Spectrum 2", -0.1, 0.01));
    assert!(second.text.contains("largest counts of a pixel of the whole field"), "{}", second.text);
    let alone: String = (0..1024).map(|i| format!("{}\n", counts(i))).collect();
    let asked = add(&mut study, json!({"name": "x.txt", "how": "sum"}), alone.as_bytes()).unwrap_err();
    assert_eq!(asked.code, "no_calibration");
    assert!(asked.message.starts_with("x.txt: Nothing in it says the energies"), "{asked}");
    let told = json!({"name": "x.txt", "how": "sum", "first_kev": 0, "step_kev": 0.02});
    assert_eq!(add(&mut study, told, alone.as_bytes()).unwrap().last_kev, 20.46);
    // A region that has a spectrum stays, under any name.
    study.rename("sky", "border").unwrap();
    assert!(study.spectra()[0].text.contains("sum over border"));
    assert!(study.remove("border").unwrap_err().message.contains("is a spectrum of this region"));
    assert_eq!(study.remove("s1"), Ok("spectrum"));
    assert_eq!(study.remove("border"), Ok("region"));
    assert_eq!(study.spectrum("s1", &SpectrumView::default()).unwrap_err().code, "unknown_spectrum");
    assert_eq!(study.spectra().len(), 2);
}

#[test]
fn it_is_drawn_on_a_logarithmic_axis_with_the_lines_of_elements_where_they_lie() {
    let mut study = with_region();
    add(&mut study, json!({"name": "sum", "region": "sky", "how": "sum"}), &text()).unwrap();
    let view = SpectrumView::read(json!({"elements": ["Pb", "as"], "low_kev": 2, "high_kev": 16})).unwrap();
    let Plot::Spectrum { x, y, points, marks, note, .. } = study.spectrum("s1", &view).unwrap() else {
        panic!("no spectrum")
    };
    assert_eq!((x.low, x.high, x.scale.as_str(), y.scale.as_str()), (2.0, 16.0, "linear", "logarithmic"));
    assert!(points.iter().flatten().all(|v| (0.0..=1.0).contains(v)) && points.len() == 701);
    assert!(points.windows(2).all(|pair| pair[0][0] < pair[1][0]));
    // The highest point is the peak at channel 527, 10.54 keV: where Pb Lα (10.551 keV, as in the booklets) is marked too.
    let top = points.iter().max_by(|a, b| a[1].total_cmp(&b[1])).unwrap();
    assert!((top[0] - (10.54 - 2.0) / 14.0).abs() < 1e-9 && top[1] == 1.0);
    let at = |label: &str| marks.iter().find(|mark: &&LineMark| mark.label == label).unwrap();
    for (label, kev) in [
        ("Pb Lα", 10.551),
        ("As Kα", 10.544),
        ("Pb Lβ1", 12.614),
        ("As Kβ", 11.726),
        ("Pb Mα", 2.346),
        ("Pb Lγ1", 14.764),
    ] {
        assert!((at(label).at - (kev - 2.0) / 14.0).abs() < 0.01 / 14.0, "{label} {}", at(label).at);
    }
    assert_ne!(at("Pb Lα").row, at("As Kα").row, "labels of one place stand in two rows");
    assert!(at("Pb Lα").text.starts_with("Pb Lα, 10.55"), "{}", at("Pb Lα").text);
    assert!(note.starts_with("Sum over sky, from 2.00 to 16.00"), "{note}");
    assert!(note.contains("not that they were found") && !note.contains("No line of"), "{note}");
    let light = drawn(&study, "s1", json!({"elements": ["C", "Pb", "O"], "low_kev": 2})).unwrap();
    assert!(light["note"].as_str().unwrap().contains("No line of C, O lies here."), "{light}");
    assert!(marks.iter().all(|mark| mark.is_excited), "without a voltage nothing is said against a line");
    assert!(at("Pb Lα").share > 0.7 && at("Pb Ll").share < 0.1);
    // Edges of lead as in the booklets: L3 13.035, L2 15.200, L1 15.861 keV; of arsenic K 11.867 keV. At 14 kV the vacancies of
    // L2 and L1 are missing, though Lβ1 itself lies below.
    study.set_scan(ScanRecord { kv: Some(14.0), ..ScanRecord::default() }).unwrap();
    let Plot::Spectrum { marks, .. } = study.spectrum("s1", &view).unwrap() else { panic!("no spectrum") };
    let at = |label: &str| marks.iter().find(|mark| mark.label == label).unwrap();
    assert!(at("Pb Lα").is_excited && at("As Kα").is_excited && at("Pb Mα").is_excited);
    assert!(!at("Pb Lβ1").is_excited && !at("Pb Lγ1").is_excited);
    let said = &at("Pb Lβ1").text;
    assert!(said.ends_with(&format!("not excited at 14.0{THIN_SPACE}kV")), "{said}");
}

#[test]
fn empty_channels_lie_at_the_foot_and_many_channels_are_drawn_by_their_largest() {
    let mut study = study();
    let lines: String = (0..8192u32).map(|i| format!("{}\n", if i % 4 == 3 { i } else { 0 })).collect();
    let of = json!({"name": "many", "how": "maximum pixel", "first_kev": 0, "step_kev": 0.005});
    add(&mut study, of, lines.as_bytes()).unwrap();
    let Plot::Spectrum { points, y, note, .. } = study.spectrum("s1", &SpectrumView::default()).unwrap()
    else {
        panic!("no spectrum")
    };
    assert_eq!((points.len(), y.low, y.high), (2048, 1.0, 8191.0));
    assert!(points.iter().all(|point| point[1] > 0.0), "each point is the largest of its channels");
    assert!(note.contains("largest of 4 channels") && note.contains("no spectrum of one paint"), "{note}");
    let part = drawn(&study, "s1", json!({"low_kev": 1, "high_kev": 2})).unwrap();
    let points = part["points"].as_array().unwrap();
    assert_eq!((points.len(), points[0][1].as_f64()), (201, Some(0.0)));
    // Without an empty channel the axis begins at a power of ten.
    let flat = "50\n".repeat(64);
    let of = json!({"name": "flat", "how": "sum", "first_kev": 0, "step_kev": 0.1});
    add(&mut study, of, flat.as_bytes()).unwrap();
    let flat = drawn(&study, "s2", json!({})).unwrap();
    assert_eq!((flat["y"]["low"].as_f64(), flat["y"]["high"].as_f64()), (Some(10.0), Some(50.0)));
}

#[test]
fn slips_are_refused_in_one_sentence_and_change_nothing() {
    let mut study = with_region();
    add(&mut study, json!({"name": "sum", "how": "sum"}), &text()).unwrap();
    let before = study.record();
    for (settings, said) in [
        (json!({"name": "a"}), "what the spectrum is"),
        (json!({"name": "a", "how": "mean"}), "what the spectrum is"),
        (json!({"name": "a", "how": "sum", "region": "ship"}), "no region called “ship”"),
        (json!({"name": "a", "how": "sum", "first_kev": 0}), "give both"),
        (json!({"name": "a", "how": "sum", "first_kev": 0, "step_kev": 0}), "No detector"),
        (json!({"name": "a", "how": "sum", "first_kev": 0, "step_kev": 10}), "No detector"),
        (json!({"name": "a", "how": "sum", "file": "x"}), "not understood"),
    ] {
        let message = add(&mut study, settings.clone(), &text()).unwrap_err().message;
        assert!(message.contains(said), "{settings}: {message}");
    }
    let bad = add(&mut study, json!({"name": "a\u{7}b", "how": "sum"}), b"no numbers\n").unwrap_err();
    assert_eq!((bad.code, bad.message.starts_with("a b: It is no text")), ("bad_spectrum", true), "{bad}");
    for (view, said) in [
        (json!({"elements": ["Xx"]}), "“Xx” is no element"),
        (json!({"elements": ["Pb L"]}), "is no element"),
        (json!({"low_kev": 8, "high_kev": 3}), "must be below"),
        (json!({"low_kev": 90, "high_kev": 99}), "no counts between"),
        (json!({"element": "Pb"}), "not understood"),
        (json!({"elements": (11..60).map(|z| z.to_string()).collect::<Vec<_>>()}), "at most 20"),
    ] {
        let message = drawn(&study, "s1", view.clone()).unwrap_err().message;
        assert!(message.contains(said), "{view}: {message}");
    }
    let one = json!({"name": "a", "how": "sum", "first_kev": 0, "step_kev": 0.001});
    for _ in 0..3 {
        add(&mut study, one.clone(), "1\n".repeat(65_536).as_bytes()).unwrap();
    }
    let full = add(&mut study, one, "1\n".repeat(65_536).as_bytes()).unwrap_err();
    assert!(full.message.contains("which is the most that a study holds"), "{full}");
    for id in ["s2", "s3", "s4"] {
        study.remove(id).unwrap();
    }
    assert_eq!(study.record(), before);
}

#[test]
fn spectra_come_back_with_the_record_and_damage_is_refused() {
    let mut first = with_region();
    add(&mut first, json!({"name": "sum", "region": "r1", "how": "sum"}), &text()).unwrap();
    let scaled: String = (0..64).map(|i| format!("{}\n", f64::from(i) / 7.0)).collect();
    let of = json!({"name": "parts", "how": "maximum pixel", "first_kev": -0.5, "step_kev": 0.1});
    add(&mut first, of, scaled.as_bytes()).unwrap();
    let written = serde_json::to_string(&first.record()).unwrap();
    assert!(written.len() < 12_000, "{}", written.len());
    let mut second = Study::new();
    second.apply(serde_json::from_str(&written).unwrap()).unwrap();
    second.open("Ti-K.npy", &file(80, 8));
    second.open("Fe-K.npy", &file(200, 14));
    assert_eq!((second.spectra(), second.record()), (first.spectra(), first.record()));
    for id in ["s1", "s2"] {
        let view = json!({"elements": ["Fe"]});
        assert_eq!(drawn(&second, id, view.clone()), drawn(&first, id, view));
    }
    assert_eq!(add(&mut second, json!({"name": "next", "how": "sum"}), &text()).unwrap().id, "s3");
    let good = serde_json::to_value(first.record()).unwrap();
    for (path, value) in [
        ("/spectra/0/counts", json!("1 2 x")),
        ("/spectra/0/counts", json!("1*9999999")),
        ("/spectra/0/counts", json!("0*64")),
        ("/spectra/0/counts", json!("-1 2")),
        ("/spectra/0/step_kev", json!(0)),
        ("/spectra/0/first_kev", json!(1e9)),
        ("/spectra/0/name", json!("")),
        ("/spectra/0/sha256", json!("zz")),
        ("/spectra/0/number", json!(u32::MAX)),
        ("/spectra/1/number", json!(1)),
    ] {
        let mut record = good.clone();
        *record.pointer_mut(path).unwrap() = value;
        let mut back = Study::new();
        assert_eq!(
            back.apply(serde_json::from_value(record).unwrap()).unwrap_err().code,
            "bad_setting",
            "{path}"
        );
        assert!(back.spectra().is_empty(), "{path}");
    }
    let mut other_how = good.clone();
    other_how["spectra"][0]["how"] = json!("mean");
    assert!(serde_json::from_value::<Record>(other_how).is_err());
    let mut gone = good;
    gone["spectra"][0]["region"] = json!(77);
    let mut back = Study::new();
    back.apply(serde_json::from_value(gone).unwrap()).unwrap();
    assert!(back.spectra()[0].text.contains("the region r77"));
}

#[test]
fn a_record_that_an_earlier_version_wrote_is_read() {
    // As the fourth version wrote it, word by word.
    let old = r#"{"record":4,"inputs":[],"grid":{"step_x_um":500.0,"step_y_um":500.0},"scan":{"anode":"Rh","kv":40.0,
        "current_ua":null,"filter":null,"dwell_ms":null,"beam_um":300.0,"incidence_deg":null,"takeoff_deg":null,
        "distance_mm":null,"detectors":null,"path":"air","date":null},"maps":{},"derived":[],"regions":[{"number":2,
        "name":"sky","role":"passage","shape":{"how":"rectangle","rectangle":{"x":1.0,"y":2.0,"width":9.0,"height":5.0},
        "laid":{"turns":0,"mirror":false,"width":30,"height":20}}}],"object":{"corner":"upper left","at":[2.0,3.0],
        "across":[28.0,3.0],"down":[2.0,19.0],"alignment_px":0.0,"laid":{"turns":0,"mirror":false,"width":30,"height":20}}}"#;
    let mut study = Study::new();
    study.apply(serde_json::from_str(old).unwrap()).unwrap();
    study.open("Ti-K.npy", &file(80, 8));
    assert_eq!(study.regions()[0].name, "sky");
    let record = study.record();
    assert_eq!((record.record, record.points.len(), record.spectra.len()), (6, 0, 0));
    assert_eq!((record.scan.kv, record.scan.resolution_ev), (Some(40.0), None));
    assert!(study.known().object.is_some() && study.known().measuring.kv == Some(40.0));
    assert_eq!(study.known().measuring.resolution_ev, None);
}

#[test]
fn a_spectrum_that_is_opened_as_a_map_is_told() {
    let told = |name: &str, bytes: &[u8]| {
        let opened = Study::new().open(name, bytes);
        let is_read = opened.maps.len() + opened.asks.len() == 1;
        (is_read, opened.notices.iter().any(|notice| notice.code == "looks_like_spectrum"))
    };
    assert_eq!(told("lead.txt", &text()), (true, true));
    let alone: String = (0..1024).map(|i| format!("{}\n", counts(i))).collect();
    assert_eq!(told("counts.txt", alone.as_bytes()), (true, false));
    assert_eq!(told("Ti-K.npy", &file(80, 8)), (true, false));
    let wide: String = (0..300).map(|i| format!("{} {} {}\n", i, counts(i), i % 7)).collect();
    assert_eq!(told("map.txt", wide.as_bytes()), (true, false));
}

/// The drawing of the spectrum of whole numbers: the browser draws the same (tests/wasm.rs).
/// `GOLDEN=accept` writes it anew; look at what changed before committing it.
#[test]
#[allow(clippy::disallowed_methods)] // a test reads files
fn the_drawing_is_the_one_that_was_looked_at() {
    let mut study = with_region();
    let file = include_bytes!("../../../tests/cases/spectra/lead.txt");
    assert_eq!(text(), file, "the file is that of the formula");
    add(&mut study, json!({"name": "sum", "how": "sum"}), file).unwrap();
    let view = json!({"elements": ["Fe", "Pb", "As"], "low_kev": 1.5, "high_kev": 16});
    let view = SpectrumView::read(view).unwrap();
    let now = serde_json::to_string(&study.spectrum("s1", &view).unwrap()).unwrap() + "\n";
    let path = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/golden/spectrum.json");
    if std::env::var("GOLDEN").as_deref() == Ok("accept") {
        std::fs::write(&path, &now).unwrap();
    }
    assert!(std::fs::read_to_string(&path).unwrap() == now, "the drawing differs from {}", path.display());
}
