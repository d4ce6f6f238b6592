//! Records edited by hand, and records and files in any order.

use crate::passages::{SAME, align, counts, photo, region, said, seen, study};
use limner::numerics::chance::Chance;
use limner::study::{
    Derivation, ObjectSettings, PointSettings, Record, RegionSettings, ScanRecord, SpectrumSettings, Study,
};
use serde_json::{Value, json};

/// A record with one part exchanged.
fn edited(study: &Study, path: &str, value: Value) -> Result<Record, serde_json::Error> {
    let mut record = serde_json::to_value(study.record()).unwrap();
    *record.pointer_mut(path).unwrap_or_else(|| panic!("{path}")) = value;
    serde_json::from_value(record)
}

#[test]
fn records_edited_by_hand_are_refused_or_harmless() {
    let mut study = study();
    align(&mut study, json!({"map": "m3", "transform": SAME})).unwrap();
    region(&mut study, json!({"photo": "p1", "at": [[5, 5]]})).unwrap();
    study
        .add_region(
            RegionSettings::read(json!({"colour": {"photo": "p1", "at": [[5, 5]], "rim": false}})).unwrap(),
        )
        .unwrap();
    study
        .set_object(
            ObjectSettings::read(
                json!({"corner": "upper left", "at": [0, 0], "across": [29, 0], "down": [0, 19]}),
            )
            .unwrap(),
        )
        .unwrap();
    study.derive(&Derivation::read(json!({"how": "smooth", "of": ["m1"]})).unwrap()).unwrap();
    let point = json!({"at": [3, 4], "technique": "Raman", "pigment": "azurite", "says": "found", "result": "band at 400"});
    study.add_point(PointSettings::read(point).unwrap()).unwrap();
    let spectrum = SpectrumSettings::read(json!({"name": "sum", "region": "r1", "how": "sum"})).unwrap();
    study.add_spectrum(spectrum, include_bytes!("../cases/spectra/lead.txt")).unwrap();
    study.set_scan(ScanRecord { own_lines: vec!["Rh L".into()], ..ScanRecord::default() }).unwrap();
    let key = study.record().photos.keys().next().unwrap().replace('/', "~1");
    let photo_at = |rest: &str| format!("/photos/{key}{rest}");
    // (where, what, whether it is refused)
    let edits: Vec<(String, Value, bool)> = vec![
        ("/record".into(), json!(7), true),
        ("/record".into(), json!(0), true),
        ("/record".into(), json!(u32::MAX), true),
        ("/record".into(), json!("5"), true),
        (photo_at(""), json!("recto"), true),
        (photo_at(""), json!({"turns": 255}), false),
        (photo_at(""), json!({"turns": 256}), true),
        (photo_at(""), json!({"light": "moon"}), true),
        (photo_at(""), json!({"name": ""}), true),
        (photo_at(""), json!({"name": "x".repeat(100_000)}), true),
        (photo_at(""), json!({"unknown": 1}), true),
        (photo_at("/alignment/transform"), json!([0, 0, 0, 0, 0, 0, 0, 0, 0]), true),
        (photo_at("/alignment/transform"), json!([1, 0, 0]), true),
        (photo_at("/alignment/points"), json!([{"from": [1e300, 0], "to": [0, 0]}]), true),
        (photo_at("/alignment/points"), json!(vec![json!({"from": [1, 1], "to": [0, 0]}); 600]), true),
        (
            photo_at("/alignment/laid"),
            json!({"turns": 255, "mirror": true, "width": u32::MAX, "height": 0}),
            false,
        ),
        ("/photos".into(), json!({"of another file/0": {"side": "verso"}, "": {}}), false),
        (
            "/fields".into(),
            json!({"4294967295": {"points": [], "transform": SAME, "laid": {"turns": 0, "mirror": false, "width": 3, "height": 3}}}),
            false,
        ),
        (
            "/fields".into(),
            json!({"0": {"points": [], "transform": SAME, "laid": {"turns": 0, "mirror": false, "width": 3, "height": 3}}}),
            true,
        ),
        ("/fields".into(), json!({"-1": {}}), true),
        ("/object/corner".into(), json!("middle"), true),
        ("/object/at".into(), json!([1e9, 0]), true),
        ("/object/alignment_px".into(), json!(-3), true),
        ("/regions/0/colour/alike".into(), json!(1e9), true),
        ("/regions/0/number".into(), json!(u32::MAX), true),
        ("/points/0/at".into(), json!([f64::MAX, 0]), true),
        ("/points/0/at".into(), json!([-50, 4]), false),
        (
            "/points/0/laid".into(),
            json!({"turns": 255, "mirror": true, "width": u32::MAX, "height": 0}),
            false,
        ),
        ("/points/0/result".into(), json!("x".repeat(100_000)), true),
        ("/points/0/pigment".into(), json!("a pigment of another version"), true),
        ("/points/0/pigment".into(), json!("of_another_version"), false),
        ("/points/0/technique".into(), json!("raman"), true),
        ("/points/0".into(), json!({"number": 1, "name": "x"}), true),
        ("/points/0/number".into(), json!(u32::MAX), true),
        ("/spectra/0/counts".into(), json!("1 2*65536"), true),
        ("/spectra/0/counts".into(), json!(""), true),
        ("/spectra/0/counts".into(), json!("5e11 0*9 3"), false),
        ("/spectra/0/region".into(), json!(999), false),
        ("/spectra/0/first_kev".into(), json!(-1e300), true),
        ("/scan/own_lines".into(), json!("Rh L, Ar K"), false),
        ("/scan/own_lines".into(), json!(["Ar"]), true),
        ("/scan/resolution_ev".into(), json!(5), true),
        ("/derived/0/number".into(), json!(u32::MAX), true),
        ("/derived/0/of".into(), json!([]), true),
        ("/inputs/0/before".into(), json!([u32::MAX, u32::MAX]), true),
        ("/inputs/3/before".into(), json!([0, 0]), false),
        ("/inputs/1/before".into(), json!([0, 0]), false),
    ];
    let files = [
        ("Cu-K.npy", counts(30, 20, 0)),
        ("Fe-K.npy", counts(30, 20, 1)),
        ("other Cu-K.npy", counts(24, 26, 0)),
        ("photo.png", photo(60, 40, 0)),
    ];
    let mut unexpected = Vec::new();
    for (path, value, is_refused) in edits {
        let path = if serde_json::to_value(study.record()).unwrap().pointer(&path).is_none() {
            path.replace("/colour/", "/shape/")
        } else {
            path
        };
        let shown = value.to_string().chars().take(60).collect::<String>();
        let mut back = Study::new();
        let outcome = match edited(&study, &path, value) {
            Err(_) => Err(()),
            Ok(record) => back.apply(record).map_err(|fault| said(&fault)),
        };
        if outcome.is_err() != is_refused {
            unexpected.push(format!("{path} = {shown}: {outcome:?}"));
        }
        for (name, bytes) in &files {
            back.open(name, bytes);
        }
        back.open("new.npy", &counts(30, 20, 2));
        let rectangle = json!({"rectangle": {"x": 0, "y": 0, "width": 9, "height": 9}, "name": "new"});
        back.add_region(RegionSettings::read(rectangle).unwrap()).unwrap();
        let last = back.maps().pop().unwrap().id;
        back.derive(&Derivation::read(json!({"how": "bin", "by": 2, "of": [last]})).unwrap()).unwrap();
        once(&back);
        seen(&mut back);
    }
    assert!(unexpected.is_empty(), "{unexpected:#?}");
}

/// Every id is the id of one thing.
fn once(study: &Study) {
    let ids =
        study.maps().into_iter().map(|map| map.id).chain(study.photos().into_iter().map(|photo| photo.id));
    let ids = ids.chain(study.points().into_iter().map(|point| point.id));
    let ids = ids.chain(study.spectra().into_iter().map(|spectrum| spectrum.id));
    let mut ids: Vec<String> = ids.chain(study.regions().into_iter().map(|region| region.id)).collect();
    ids.sort();
    let all = ids.len();
    ids.dedup();
    assert_eq!(ids.len(), all, "{ids:?}");
}

#[test]
fn records_and_files_in_any_order_leave_every_id_to_one_thing() {
    let mut first = study();
    first.derive(&Derivation::read(json!({"how": "smooth", "of": ["m1"]})).unwrap()).unwrap();
    first.open("photo 2.png", &photo(30, 20, 5));
    let files = [
        ("Cu-K.npy", counts(30, 20, 0)),
        ("Fe-K.npy", counts(30, 20, 1)),
        ("other Cu-K.npy", counts(24, 26, 0)),
        ("photo.png", photo(60, 40, 0)),
        ("photo 2.png", photo(30, 20, 5)),
        ("new.npy", counts(30, 20, 2)),
        ("new.png", photo(12, 10, 9)),
    ];
    let mut chance = Chance::new(6);
    for round in 0..40 {
        let mut order: Vec<usize> = (0..files.len()).collect();
        chance.shuffle(&mut order);
        let applied = chance.below(files.len() as u64 + 1) as usize;
        let mut study = Study::new();
        for (place, &file) in order.iter().enumerate() {
            if place == applied {
                study.apply(first.record()).unwrap();
            }
            if place == 2 && round % 2 == 0 && !study.maps().is_empty() {
                let id = study.maps()[0].id.clone();
                study.derive(&Derivation::read(json!({"how": "bin", "by": 2, "of": [id]})).unwrap()).unwrap();
            }
            study.open(files[file].0, &files[file].1);
            once(&study);
        }
        assert_eq!(
            (study.photos().len(), study.maps().iter().filter(|map| map.id.starts_with('m')).count()),
            (3, 4)
        );
        // As it is saved and opened again.
        let mut back = Study::new();
        back.apply(study.record()).unwrap();
        for (name, bytes) in &files {
            back.open(name, bytes);
        }
        once(&back);
        assert_eq!(back.maps().len(), study.maps().len(), "round {round}");
    }
}
