//! Places counted from the object's edges.

use super::*;
use crate::numerics::figure::THIN_SPACE;

fn set(study: &mut Study, settings: serde_json::Value) -> Result<Option<ObjectText>, Fault> {
    study.set_object(ObjectSettings::read(settings)?)
}

fn marked() -> Study {
    let mut study = study();
    study.set_grid(GridRecord { step_x_um: Some(1000.0), ..GridRecord::default() }).unwrap();
    let settings = json!({"corner": "upper left", "at": [2, 3], "across": [28, 3], "down": [2, 19]});
    let object = set(&mut study, settings).unwrap().unwrap();
    assert_eq!(object.text, "Places are counted from the left and the upper edge of the object.");
    study
}

fn place(study: &mut Study, x: f64, y: f64) -> String {
    study.read_out(x, y, None).unwrap().text.replace(THIN_SPACE, " ")
}

#[test]
fn places_are_said_from_the_edges_until_these_are_forgotten() {
    let mut study = marked();
    // Column 12, row 7: their middle is 10.5 mm from the left and 4.5 mm from the upper edge. Marks 0.5 px, reading 0.5 px:
    // at most sqrt(0.25 (1 - s)² + 0.25 s² + 0.25) = 0.65 mm, which is 0.7 when rounded up.
    assert_eq!(place(&mut study, 12.3, 7.9), "11 mm from the left, 5 mm from the upper edge, ± 0.7 mm");
    assert!(place(&mut study, 0.5, 7.5).starts_with("2 mm beyond the left edge"));
    assert_eq!(place(&mut study, 99.0, 7.5), "", "beside the maps nothing is read");
    assert_eq!(set(&mut study, json!(null)), Ok(None));
    assert_eq!((study.object(), place(&mut study, 12.3, 7.9).as_str()), (None, "x 12.5 mm, y 7.5 mm"));
}

#[test]
fn the_edges_turn_with_the_maps() {
    let mut study = marked();
    study.set_grid(GridRecord { turns: Some(1), ..GridRecord::default() }).unwrap();
    let object = study.object().unwrap();
    // A quarter clockwise, (x, y) of 30 x 20 is at (20 - y, x): the upper left corner is the upper right one.
    assert_eq!((object.corner.as_str(), object.at), ("upper right", [17.0, 2.0]));
    assert_eq!((object.across, object.down), ([1.0, 2.0], [17.0, 28.0]));
    // The pixel (12, 7) is at (12, 12): 4.5 mm from what is now the right edge, 10.5 mm from the upper.
    assert_eq!(place(&mut study, 12.5, 12.5), "5 mm from the right, 11 mm from the upper edge, ± 0.7 mm");
    study.set_grid(GridRecord { turns: Some(0), ..GridRecord::default() }).unwrap();
    assert_eq!(study.object(), marked().object());
}

#[test]
fn without_a_step_they_are_pixels_and_the_beam_and_a_photo_widen_them() {
    let mut study = marked();
    study.set_grid(GridRecord::default()).unwrap();
    assert_eq!(
        place(&mut study, 12.3, 7.9),
        "11 pixels from the left, 5 pixels from the upper edge, ± 0.7 pixels"
    );
    let mut study = marked();
    study.set_scan(ScanRecord { beam_um: Some(4000.0), ..ScanRecord::default() }).unwrap();
    assert!(place(&mut study, 12.3, 7.9).ends_with("± 3 mm"), "half the beam is 2 mm");
    let settings =
        json!({"corner": "upper left", "at": [2, 3], "across": [28, 3], "down": [2, 19], "alignment_px": 4});
    let object = set(&mut study, settings).unwrap().unwrap();
    assert!(object.text.contains("within 4") && object.alignment_px == 4.0, "{}", object.text);
    // Per coordinate 4 / √2, half the beam 2: sqrt(8 + 4 + 0.1) = 3.5, rounded up.
    assert!(place(&mut study, 12.3, 7.9).ends_with("± 4 mm"), "{}", place(&mut study, 12.3, 7.9));
}

#[test]
fn the_record_keeps_them_and_damage_is_refused() {
    let mut first = marked();
    first.set_grid(GridRecord { turns: Some(1), mirror: Some(true), ..GridRecord::default() }).unwrap();
    let mut second = Study::new();
    second.apply(first.record()).unwrap();
    assert_eq!(second.record(), first.record());
    second.open("Ti-K.npy", &file(80, 8));
    assert_eq!(second.object(), first.object());
    let mut damaged = first.record();
    damaged.object.as_mut().unwrap().corner = "left".into();
    assert!(Study::new().apply(damaged).unwrap_err().message.contains("damaged"));
}

#[test]
fn slips_are_refused_in_one_sentence_and_change_nothing() {
    let mut study = marked();
    let before = study.object();
    let edges = |corner: &str, across: [f64; 2]| json!({"corner": corner, "at": [2, 3], "across": across, "down": [2, 19]});
    for (settings, said) in [
        (edges("top left", [28.0, 3.0]), "Corners are"),
        (edges("upper left", [3.0, 3.0]), "almost at the corner"),
        (edges("lower left", [28.0, 3.0]), "from the lower left corner"),
        (edges("upper left", [1e12, 3.0]), "near the maps"),
        (json!({"corner": "upper left"}), "not understood"),
    ] {
        let message = set(&mut study, settings.clone()).unwrap_err().message;
        assert!(message.to_lowercase().contains(&said.to_lowercase()), "{settings}: {message}");
    }
    let mut on_photo = edges("upper left", [28.0, 3.0]);
    on_photo["photo"] = json!("p1");
    assert!(set(&mut study, on_photo).unwrap_err().message.contains("no photo called"));
    assert_eq!(study.object(), before);
    let no_maps = set(&mut Study::new(), edges("upper left", [28.0, 3.0])).unwrap_err();
    assert!(no_maps.message.contains("no maps yet"));
}
