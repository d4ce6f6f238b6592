//! Undo and redo: an open study becomes exactly that of any of its records.

use super::*;

/// Everything that can be seen of a study but its held answers.
fn seen(study: &Study) -> serde_json::Value {
    let samples: Vec<Vec<u8>> =
        study.maps().iter().map(|map| study.samples(&map.id).unwrap().le_bytes().unwrap()).collect();
    let masks: Vec<Vec<bool>> =
        study.regions().iter().map(|region| study.region(&region.id).unwrap().1.data().to_vec()).collect();
    json!([
        study.record(),
        study.maps(),
        study.regions(),
        study.points(),
        study.spectra(),
        study.photos(),
        study.grid(),
        study.scan(),
        study.object(),
        study.about(),
        study.findings(),
        samples,
        masks
    ])
}

fn region(study: &mut Study, settings: serde_json::Value) {
    study.add_region(RegionSettings::read(settings).unwrap()).unwrap();
}

/// Changes of every sort, one after the other.
fn steps() -> Vec<fn(&mut Study)> {
    vec![
        |study| drop(study.open("Ti-K.npy", &file(80, 8))),
        |study| drop(study.open("Fe-K.npy", &file(200, 14))),
        |study| drop(study.set_grid(GridRecord { step_x_um: Some(500.0), ..GridRecord::default() }).unwrap()),
        |study| {
            region(
                study,
                json!({"name": "square", "rectangle": {"x": 10, "y": 5, "width": 12, "height": 10}}),
            )
        },
        |study| region(study, json!({"name": "bright", "threshold": {"map": "Fe K", "low": 50.0}})),
        |study| region(study, json!({"name": "both", "combine": {"how": "and", "of": ["square", "bright"]}})),
        |study| {
            study.derive(&Derivation::read(json!({"how": "sum", "of": ["m1", "m2"]})).unwrap()).unwrap();
        },
        |study| region(study, json!({"name": "all", "threshold": {"map": "d1", "low": 20.0}})),
        |study| {
            let turned = GridRecord { turns: Some(1), mirror: Some(true), ..GridRecord::default() };
            study.set_grid(turned).unwrap();
        },
        |study| {
            let point = json!({"at": [5.5, 8.5], "technique": "Raman", "result": "rutile", "says": "open"});
            study.add_point(PointSettings::read(point).unwrap()).unwrap();
        },
        |study| {
            let fill = MapRecord { fill_value: Some(1.0), kind: Some("net".into()), ..MapRecord::default() };
            study.set_map("m1", fill).unwrap();
        },
        |study| {
            let (answer, _) = study.ask("ratio", json!({"a": "m1", "b": "m2"}), &mut |_, _| {}).unwrap();
            study.keep(KeepSettings { answer: Some(answer.id), ..KeepSettings::default() }).unwrap();
        },
        |study| {
            study.set_about(AboutRecord { object: "Chart".into(), ..AboutRecord::default() }).unwrap();
        },
        |study| {
            study
                .set_scan(serde_json::from_value(json!({"anode": "Rh", "beam_um": 300.0})).unwrap())
                .unwrap();
        },
        |study| {
            study.remove("all").unwrap();
        },
        |study| drop(study.rename("square", "field").unwrap()),
        |study| {
            let object =
                json!({"corner": "upper left", "at": [1.0, 1.0], "across": [15.0, 1.0], "down": [1.0, 25.0]});
            study.set_object(ObjectSettings::read(object).unwrap()).unwrap();
        },
        |study| drop(study.set_grid(GridRecord::default()).unwrap()),
        |study| {
            study.remove("f1").unwrap();
        },
        |study| {
            study.remove("a1").unwrap();
        },
    ]
}

#[test]
fn every_state_comes_back_exactly_from_every_other() {
    let mut study = Study::new();
    let mut states = vec![(study.record(), seen(&study))];
    for step in steps() {
        step(&mut study);
        states.push((study.record(), seen(&study)));
    }
    // Back one by one, forth one by one, then in leaps (a fixed walk that reaches every pair of a few distances).
    let n = states.len();
    let back = (0..n).rev();
    let leaps = (0..200).map(|i| (i * 7 + i * i * 3) % n);
    for at in back.chain(0..n).chain(leaps) {
        let missing = study.restate(states[at].0.clone()).unwrap();
        for input in missing {
            let (bright, left) = if input.name == "Ti-K.npy" { (80, 8) } else { (200, 14) };
            study.open(&input.name, &file(bright, left));
        }
        let now = seen(&study);
        assert_eq!(now[0], states[at].1[0], "the record of state {at}");
        assert_eq!(now, states[at].1, "state {at}");
    }
}

#[test]
fn what_is_not_understood_changes_nothing() {
    let mut study = study();
    let before = seen(&study);
    let mut record = study.record();
    record.record = 99;
    assert_eq!(study.restate(record).unwrap_err().code, "other_record");
    let mut record = study.record();
    record.about.object = "x".repeat(1000);
    study.restate(record).unwrap_err();
    assert_eq!(seen(&study), before);
}

#[test]
fn every_step_is_said_in_a_few_words() {
    let mut study = Study::new();
    let mut told = Vec::new();
    for step in steps() {
        let before = study.record();
        step(&mut study);
        told.push(difference(&before, &study.record()));
    }
    let want = [
        "file “Ti-K.npy” opened",
        "file “Fe-K.npy” opened",
        "step of the scan",
        "region “square” added",
        "region “bright” added",
        "region “both” added",
        "derived map “d1” made",
        "region “all” added",
        "maps turned",
        "analysis point “Point 1” added",
        "what a map is",
        "finding kept",
        "about the object",
        "how the scan was made",
        "region “all” removed",
        "region “field” changed",
        "the object's edges",
        "step of the scan",
        "finding removed",
        "analysis point “Point 1” removed",
    ];
    assert_eq!(told, want);
    assert_eq!(difference(&study.record(), &study.record()), "");
    let many = Record { inputs: Vec::new(), ..study.record() };
    assert_eq!(difference(&many, &study.record()), "files “Ti-K.npy” and “Fe-K.npy” opened");
}
