//! Analysis points, and what questions are told of them and of the scan.

use super::*;
use crate::ask::Says;
use crate::element::Line;
use crate::numerics::figure::THIN_SPACE;

fn settings(settings: serde_json::Value) -> PointSettings {
    PointSettings::read(settings).unwrap()
}

fn add(study: &mut Study, of: serde_json::Value) -> Result<PointSummary, Fault> {
    study.add_point(PointSettings::read(of)?)
}

fn with_step() -> Study {
    let mut study = study();
    study
        .set_grid(GridRecord { step_x_um: Some(500.0), step_y_um: Some(250.0), ..GridRecord::default() })
        .unwrap();
    study
}

/// What questions are told is what would be made of everything now.
fn is_current(study: &Study) {
    assert_eq!(*study.known(), study.known_now());
    assert!(study.subject().known().is_some_and(|known| known == study.known()));
}

#[test]
fn a_point_is_added_changed_and_taken_away_and_says_itself_in_one_sentence() {
    let mut study = with_step();
    let first = add(
        &mut study,
        json!({"x_mm": 6.25, "y_mm": 1.75, "technique": "raman", "result": " band at 253\nand 343 ", "pigment": "vermilion",
            "says": "found", "name": "P3"}),
    )
    .unwrap();
    assert_eq!((first.id.as_str(), first.at, first.technique.as_str()), ("a1", [12.5, 7.0], "Raman"));
    assert_eq!((first.x_mm, first.y_mm), (Some(6.25), Some(1.75)));
    assert_eq!(
        first.text.replace(THIN_SPACE, " "),
        "Raman at P3 (x 6.2 mm, y 1.8 mm): vermilion or cinnabar found, “band at 253 and 343”."
    );
    let second = add(&mut study, json!({"at": [3.5, 4.5], "technique": "point XRF"})).unwrap();
    assert_eq!((second.id.as_str(), second.name.as_str(), second.says.as_str()), ("a2", "Point 2", "open"));
    assert!(second.text.ends_with(": no result stated."), "{}", second.text);
    is_current(&study);
    // What is not given stays.
    let changed = study
        .set_point("a2", settings(json!({"pigment": "red_lead", "says": "found", "result": "Pb"})))
        .unwrap();
    assert_eq!((changed.at, changed.technique.as_str()), ([3.5, 4.5], "point XRF"));
    assert!(
        changed.text.contains("red lead found, “Pb”; XRF sees elements, not compounds."),
        "{}",
        changed.text
    );
    let not = study.set_point("a2", settings(json!({"says": "not found"}))).unwrap();
    assert!(not.text.contains("red lead not found, which excludes nothing, “Pb”."), "{}", not.text);
    // Without a material nothing is said of one.
    let forgotten = study.set_point("a2", settings(json!({"pigment": "", "name": ""}))).unwrap();
    assert_eq!(
        (forgotten.pigment, forgotten.says.as_str(), forgotten.name.as_str()),
        (None, "open", "Point 2")
    );
    let moved = study.set_point("a2", settings(json!({"x_mm": 1, "y_mm": 1}))).unwrap();
    assert_eq!(moved.at, [2.0, 4.0]);
    is_current(&study);
    assert_eq!(study.known().points[0].says, Says::Found);
    assert_eq!(study.known().points[0].pigment.as_deref(), Some("vermilion"));
    assert_eq!(study.remove("a1"), Ok("point"));
    assert_eq!(study.remove("a1").unwrap_err().code, "unknown_map");
    assert_eq!(study.set_point("a1", settings(json!({}))).unwrap_err().code, "unknown_point");
    assert_eq!((study.points().len(), study.known().points.len()), (1, 1));
    assert_eq!(add(&mut study, json!({"at": [1, 1], "technique": "imaging"})).unwrap().id, "a3");
}

#[test]
fn a_point_knows_the_regions_that_it_lies_in() {
    let mut study = study();
    let region = json!({"name": "sky", "rectangle": {"x": 2, "y": 2, "width": 6, "height": 6}});
    study.add_region(RegionSettings::read(region).unwrap()).unwrap();
    for (at, inside) in
        [([2.0, 2.0], 1), ([7.9, 7.9], 1), ([8.0, 7.0], 0), ([30.0, 20.0], 0), ([0.0, 0.0], 0)]
    {
        let point = add(&mut study, json!({"at": at, "technique": "Raman"})).unwrap();
        assert_eq!(point.regions.len(), inside, "{at:?}");
    }
}

#[test]
fn points_turn_with_the_maps_and_come_back_with_the_record() {
    for i in 0..8u8 {
        let mut study = with_step();
        let turns = GridRecord { turns: Some(i % 4), mirror: Some(i >= 4), ..GridRecord::default() };
        add(&mut study, json!({"at": [12.5, 7.25], "technique": "Raman", "name": "before"})).unwrap();
        study.set_grid(turns).unwrap();
        is_current(&study);
        let after = add(&mut study, json!({"at": [4.0, 3.0], "technique": "microscopy"})).unwrap();
        let orientation = crate::geometry::Orientation::new(i % 4, i >= 4);
        // The pixel in which it lies goes where pixels go.
        let pixel = orientation.place((12, 7), (30, 20));
        let now = study.points()[0].at;
        assert_eq!((now[0].floor() as u32, now[1].floor() as u32), pixel, "{i}");
        assert_eq!(study.known().points[0].at, (now[0], now[1]));
        let written = serde_json::to_string(&study.record()).unwrap();
        let mut again = Study::new();
        again.apply(serde_json::from_str(&written).unwrap()).unwrap();
        again.open("Ti-K.npy", &file(80, 8));
        again.open("Fe-K.npy", &file(200, 14));
        assert_eq!((again.points(), again.record()), (study.points(), study.record()), "{i}");
        is_current(&again);
        again.set_grid(GridRecord { turns: Some(0), mirror: Some(false), ..GridRecord::default() }).unwrap();
        assert_eq!(again.points()[0].at, [12.5, 7.25], "{i}");
        again.set_grid(turns).unwrap();
        assert_eq!(again.points()[1].at, after.at, "{i}");
    }
}

#[test]
fn a_place_is_said_from_the_edges_of_the_object_where_these_are_stated() {
    let mut study = study();
    study.set_grid(GridRecord { step_x_um: Some(1000.0), ..GridRecord::default() }).unwrap();
    add(&mut study, json!({"x_mm": 12.5, "y_mm": 7.5, "technique": "Raman"})).unwrap();
    let object = json!({"corner": "upper left", "at": [2, 3], "across": [28, 3], "down": [2, 19]});
    study.set_object(ObjectSettings::read(object).unwrap()).unwrap();
    is_current(&study);
    let place = study.points()[0].place_text.replace(THIN_SPACE, " ");
    assert_eq!(place, "11 mm from the left, 5 mm from the upper edge, ± 0.7 mm");
    study.set_object(None).unwrap();
    is_current(&study);
    assert_eq!(study.known().object, None);
    study.set_grid(GridRecord::default()).unwrap();
    assert_eq!(study.points()[0].place_text, "column 12, row 7");
}

#[test]
fn what_cannot_be_is_refused_in_one_sentence_and_changes_nothing() {
    let mut study = study();
    add(&mut study, json!({"at": [1, 1], "technique": "Raman"})).unwrap();
    let before = study.record();
    let long = "x".repeat(2001);
    for (of, said) in [
        (json!({"technique": "Raman"}), "Say where the point is"),
        (json!({"at": [1, 1]}), "by which technique"),
        (json!({"at": [1, 1], "technique": "dowsing"}), "“dowsing” is no technique"),
        (json!({"at": [1, 1], "technique": "Raman", "x_mm": 3, "y_mm": 3}), "given twice"),
        (json!({"x_mm": 3, "technique": "Raman"}), "both"),
        (json!({"x_mm": 3, "y_mm": 3, "technique": "Raman"}), "step of the scan is not known"),
        (json!({"at": [30.1, 1], "technique": "Raman"}), "beside the maps, which go from 0 to 30"),
        (json!({"at": [-0.1, 1], "technique": "Raman"}), "beside the maps"),
        (json!({"at": [1, 1], "technique": "Raman", "says": "maybe"}), "“maybe”"),
        (json!({"at": [1, 1], "technique": "Raman", "says": "found"}), "Name it in `pigment`"),
        (json!({"at": [1, 1], "technique": "Raman", "pigment": "<b>"}), "no material that is known"),
        (json!({"at": [1, 1], "technique": "Raman", "pigment": "Vermilion "}), "no material that is known"),
        (
            json!({"at": [1, 1], "technique": "Raman", "pigment": "unobtainium"}),
            "“unobtainium” is no material",
        ),
        (json!({"at": [1, 1], "technique": "Raman", "result": long}), "2000 characters"),
        (json!({"at": [1, 1], "technique": "Raman", "name": "x".repeat(121)}), "120 characters"),
        (json!({"at": [1, 1], "technique": "Raman", "pigments": "x"}), "not understood"),
        (json!({"at": [1, null], "technique": "Raman"}), "not understood"),
    ] {
        let message = add(&mut study, of.clone()).unwrap_err().message;
        assert!(message.contains(said), "{of}: {message}");
    }
    let beside = settings(json!({"at": [f64::from(u32::MAX), 3]}));
    assert!(study.set_point("a1", beside).unwrap_err().message.contains("beside the maps"));
    assert_eq!(study.record(), before);
    assert_eq!(
        add(&mut Study::new(), json!({"at": [1, 1], "technique": "Raman"})).unwrap_err().code,
        "no_maps"
    );
    let nan = PointSettings {
        at: Some([f64::NAN, 1.0]),
        technique: Some("Raman".into()),
        ..PointSettings::default()
    };
    assert!(study.add_point(nan).unwrap_err().message.contains("beside the maps"));
}

#[test]
fn a_name_that_is_the_id_of_a_point_takes_nothing_else_away() {
    let mut study = study();
    add(&mut study, json!({"at": [1, 1], "technique": "Raman"})).unwrap();
    let region = json!({"name": "a1", "rectangle": {"x": 2, "y": 2, "width": 6, "height": 6}});
    study.add_region(RegionSettings::read(region).unwrap()).unwrap();
    assert!(study.remove("a1").unwrap_err().message.contains("Rename that one"));
    assert_eq!((study.points().len(), study.regions().len()), (1, 1));
    study.rename("r1", "sky").unwrap();
    assert_eq!(study.remove("a1"), Ok("point"));
    assert_eq!(study.regions().len(), 1);
}

#[test]
fn damaged_points_of_a_record_are_refused_and_none_is_taken_over() {
    let mut study = study();
    add(&mut study, json!({"at": [1, 1], "technique": "Raman", "pigment": "azurite", "says": "found"}))
        .unwrap();
    let good = serde_json::to_value(study.record()).unwrap();
    for (path, value) in [
        ("/points/0/technique", json!("dowsing")),
        ("/points/0/says", json!("maybe")),
        ("/points/0/at", json!([1e9, 0])),
        ("/points/0/name", json!("")),
        ("/points/0/name", json!("x".repeat(121))),
        ("/points/0/pigment", json!("<script>")),
        ("/points/0/pigment", json!(null)),
        ("/points/0/number", json!(u32::MAX)),
    ] {
        let mut record = good.clone();
        *record.pointer_mut(path).unwrap() = value;
        let mut back = Study::new();
        let record: Record = serde_json::from_value(record).unwrap();
        assert_eq!(back.apply(record).unwrap_err().code, "bad_setting", "{path}");
        assert!(back.points().is_empty() && back.known().points.is_empty());
    }
    // A material that another version knows stays what it was.
    let mut other = good.clone();
    other["points"][0]["pigment"] = json!("new_blue");
    let mut back = self::study();
    back.apply(serde_json::from_value(other).unwrap()).unwrap();
    assert_eq!(
        (back.points()[0].pigment_name.as_str(), back.record().points[0].pigment.as_deref()),
        ("new blue", Some("new_blue"))
    );
    let mut twice = study.record();
    twice.points.push(twice.points[0].clone());
    assert!(Study::new().apply(twice).unwrap_err().message.contains("two analysis points by one number"));
    let mut many = study.record();
    many.points = (1..=10_001).map(|number| PointRecord { number, ..many.points[0].clone() }).collect();
    assert!(Study::new().apply(many.clone()).unwrap_err().message.contains("more analysis points"));
    many.points.pop();
    let mut full = self::study();
    full.apply(many).unwrap();
    let one_more = add(&mut full, json!({"at": [1, 1], "technique": "Raman"})).unwrap_err().message;
    assert!(one_more.contains("most that a study holds"), "{one_more}");
}

#[test]
fn everything_that_is_offered_can_be_handed_in() {
    let mut study = study();
    assert!(materials().len() > 100 && techniques().len() == 9 && layers().len() > 3);
    for technique in techniques() {
        let point = add(&mut study, json!({"at": [1, 1], "technique": technique})).unwrap();
        assert_eq!(point.technique, technique);
    }
    for material in materials() {
        let of = json!({"at": [1, 1], "technique": "Raman", "pigment": material.id, "says": "found"});
        assert!(add(&mut study, of).unwrap().text.contains(&format!("{} found", material.name)));
    }
    let vermilion = materials().into_iter().find(|of| of.id == "vermilion").unwrap();
    assert_eq!((vermilion.name, vermilion.colours[0]), ("vermilion or cinnabar", "red"));
    assert!(layers().iter().all(|layer| !layer.text.is_empty() && crate::pigment::layer(layer.id).is_some()));
}

#[test]
fn questions_are_told_how_the_scan_was_made() {
    let mut study = study();
    assert_eq!(*study.known(), Known::default());
    let scan = ScanRecord {
        anode: Some("Rh".into()),
        kv: Some(40.0),
        path: Some("helium".into()),
        resolution_ev: Some(140.0),
        own_lines: vec!["rh l".into(), "Ar K".into()],
        ..ScanRecord::default()
    };
    study.set_scan(scan).unwrap();
    is_current(&study);
    let known = study.known();
    assert_eq!(known.measuring.anode.map(|anode| anode.symbol()), Some("Rh"));
    assert_eq!((known.measuring.kv, known.measuring.resolution_ev), (Some(40.0), Some(140.0)));
    assert_eq!(known.measuring.is_without_air, Some(true));
    assert_eq!(known.own_lines, [Line::parse("Rh L").unwrap(), Line::parse("Ar K").unwrap()]);
    let mut again = Study::new();
    again.apply(study.record()).unwrap();
    is_current(&again);
    assert_eq!(again.scan(), study.scan());
    study.set_scan(ScanRecord { path: Some("air".into()), ..ScanRecord::default() }).unwrap();
    assert_eq!(study.known().measuring.is_without_air, Some(false));
    assert!(study.known().own_lines.is_empty());
    is_current(&study);
}
