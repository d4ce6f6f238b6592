//! Derived maps, and many maps stated in one go.

use super::*;

pub(super) fn derive(study: &mut Study, settings: serde_json::Value) -> Result<MapSummary, Fault> {
    study.derive(&Derivation::read(settings)?)
}

#[test]
fn a_sum_is_a_map_like_others_and_is_never_compared_with_its_part() {
    let mut study = study();
    study.open("Fe-K_2.npy", &file(100, 14));
    let sum = derive(&mut study, json!({"how": "sum", "of": ["m2", "m3"]})).unwrap();
    assert_eq!((sum.id.as_str(), sum.line.as_deref(), sum.kind.as_str()), ("d1", Some("Fe K"), "window"));
    let ask = |study: &mut Study, b: &str| {
        study.ask("ratio", json!({"a": b, "b": "d1"}), &mut |_, _| {}).map(|(answer, _)| answer.id)
    };
    assert!(ask(&mut study, "m2").unwrap_err().message.contains("arithmetic"));
    assert!(ask(&mut study, "m1").is_ok());
    let again = derive(&mut study, json!({"how": "sum", "of": ["m2", "m3"]}));
    assert!(again.unwrap_err().message.contains("derived before"));
    assert!(study.remove("m1").unwrap_err().message.contains("read from a file"));
    let net =
        derive(&mut study, json!({"how": "subtract", "k": 0.5, "of": ["d1", "m1"], "name": "iron alone"}))
            .unwrap();
    assert_eq!((net.label.as_str(), net.kind.as_str()), ("iron alone", "net"));
    assert!(study.remove("d1").unwrap_err().message.contains("iron alone is made of"));
    assert!(study.remove("d2").is_ok() && study.remove("d1").is_ok());
    assert_eq!(study.maps().len(), 3);
}

#[test]
fn derived_maps_come_back_with_their_inputs_also_turned_and_follow_what_is_stated_of_them() {
    let mut first = study();
    first.set_grid(GridRecord { turns: Some(1), ..GridRecord::default() }).unwrap();
    derive(&mut first, json!({"how": "bin", "by": 2, "of": ["m1"]})).unwrap();
    let binned = &first.maps()[2];
    assert_eq!((binned.width, binned.height), (10, 15));
    let smooth = derive(&mut first, json!({"how": "smooth", "of": ["m2"]})).unwrap();
    assert_eq!(smooth.kind, "display copy");
    let before = first.samples("d1").unwrap();
    first.set_map("m1", MapRecord { fill_value: Some(1.0), ..MapRecord::default() }).unwrap();
    assert_ne!(first.samples("d1").unwrap().le_bytes(), before.le_bytes());
    first.set_grid(GridRecord { turns: Some(2), mirror: Some(true), ..GridRecord::default() }).unwrap();
    assert_eq!((first.maps()[2].width, first.maps()[2].height), (15, 10));
    let mut second = Study::new();
    second.apply(first.record()).unwrap();
    second.open("Fe-K.npy", &file(200, 14));
    assert_eq!(second.maps().iter().map(|m| m.id.as_str()).collect::<Vec<_>>(), ["m2", "d2"]);
    assert_eq!(second.record(), first.record());
    second.open("Ti-K.npy", &file(80, 8));
    assert_eq!((second.maps(), second.record()), (first.maps(), first.record()));
    let bits = |study: &Study| study.samples("d1").unwrap().le_bytes().unwrap();
    assert_eq!(bits(&second), bits(&first));
}

#[test]
fn many_maps_are_stated_in_one_go_or_not_at_all() {
    let mut study = study();
    let change = |id: &str, line: &str| json!({"id": id, "line": line}).as_object().unwrap().clone();
    let changes = |list: Vec<_>| MapChange::read(list).unwrap();
    let before = (study.maps(), study.record());
    let fault = study.set_maps(changes(vec![change("m1", "V K"), change("m2", "Titanic")])).unwrap_err();
    assert!(fault.message.contains("no element line"), "{fault}");
    assert_eq!((study.maps(), study.record()), before);
    // The names change places: both are found before either is changed.
    study.set_maps(changes(vec![change("Ti K", "Fe K"), change("Fe K", "Ti K")])).unwrap();
    let lines: Vec<_> = study.maps().into_iter().map(|map| map.line.unwrap()).collect();
    assert_eq!(lines, ["Fe K", "Ti K"]);
    let slip = json!({"id": "m1", "lime": "Fe K"}).as_object().unwrap().clone();
    assert!(MapChange::read(vec![slip]).unwrap_err().message.contains("lime"));
}
