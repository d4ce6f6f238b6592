//! Photos laid on the grid by matching points: what turns with the pictures, what the record keeps.

use super::*;

const PHOTO: &[u8] = include_bytes!("../../../demo-data/tern-sound/photo.png");
const OTHER: &[u8] = include_bytes!("../../../tests/cases/pictures/photo_sky.png");
/// Width and height of the first.
const SIZE: (f64, f64) = (632.0, 472.0);

fn with_photo() -> Study {
    let mut study = study();
    assert_eq!(study.open("photo.png", PHOTO).photos, ["p1"]);
    assert_eq!((study.photos()[0].width, study.photos()[0].height), (632, 472));
    study
}

/// Where a place of the photo lies on the grid of 30 x 20: a twentieth as large, sheared and shifted.
fn laid([x, y]: [f64; 2]) -> [f64; 2] {
    [0.05 * x + 0.005 * y - 1.0, 0.045 * y - 0.0025 * x + 0.5]
}

const PLACES: [[f64; 2]; 5] = [[40.0, 60.0], [560.0, 80.0], [540.0, 400.0], [66.0, 380.0], [301.0, 222.5]];

fn pair(from: [f64; 2]) -> serde_json::Value {
    json!({"from": from, "to": laid(from)})
}

fn align(study: &mut Study, settings: serde_json::Value) -> Result<Option<AlignmentText>, Fault> {
    study.align(AlignSettings::read(settings)?)
}

fn aligned(study: &mut Study) -> AlignmentText {
    let points: Vec<_> = PLACES.into_iter().map(pair).collect();
    align(study, json!({"photo": "p1", "model": "affine", "points": points})).unwrap().unwrap()
}

fn now(study: &Study) -> AlignmentText {
    study.photos()[0].alignment.clone().unwrap()
}

fn near(a: [f64; 2], b: [f64; 2]) -> bool {
    (a[0] - b[0]).abs() < 1e-9 && (a[1] - b[1]).abs() < 1e-9
}

/// Every point is laid where it was said to lie.
fn holds(alignment: &AlignmentText) -> bool {
    alignment.points.iter().all(|point| near(point.error_px.unwrap(), [0.0, 0.0]))
}

#[test]
fn points_lay_the_photo_and_are_said_with_their_errors() {
    let mut study = with_photo();
    let alignment = aligned(&mut study);
    assert!(holds(&alignment) && alignment.trouble.is_empty(), "{alignment:?}");
    assert_eq!((alignment.model.as_str(), alignment.model_stated.as_deref()), ("affine", Some("affine")));
    assert!(near(alignment.corners[2].unwrap(), laid([SIZE.0, SIZE.1])));
    assert_eq!(study.photos()[0].text, "visible light, recto, aligned");
    // one point 2 px off: the others are pulled along, and it is the farthest off
    let mut points: Vec<_> = PLACES.into_iter().map(pair).collect();
    points[4]["to"] = json!([laid(PLACES[4])[0] + 2.0, laid(PLACES[4])[1]]);
    let off =
        align(&mut study, json!({"photo": "p1", "model": "affine", "points": points})).unwrap().unwrap();
    let size = |i: usize| off.points[i].error_px.unwrap()[0].abs();
    assert!((0..4).all(|i| size(i) < size(4)) && size(4) < 2.0 && off.rms_px.unwrap() > 0.3, "{off:?}");
    assert!(off.points[4].text.starts_with("off by "), "{}", off.points[4].text);
}

#[test]
fn points_turn_with_the_maps_and_with_the_photo() {
    let mut study = with_photo();
    aligned(&mut study);
    study.set_grid(GridRecord { turns: Some(1), ..GridRecord::default() }).unwrap();
    let turned = now(&study);
    // a quarter clockwise: what was at (x, y) of 30 x 20 is at (20 - y, x)
    for (point, from) in turned.points.iter().zip(PLACES) {
        let [x, y] = laid(from);
        assert!(near(point.to, [20.0 - y, x]) && near(point.from, from), "{point:?}");
    }
    assert!(holds(&turned));
    study.set_grid(GridRecord { turns: Some(0), mirror: Some(true), ..GridRecord::default() }).unwrap();
    assert!(near(now(&study).points[0].to, [30.0 - laid(PLACES[0])[0], laid(PLACES[0])[1]]));
    study.set_photo("p1", PhotoSettings { turns: Some(3), ..PhotoSettings::default() }).unwrap();
    let both = now(&study);
    let [x, y] = PLACES[0];
    assert!(near(both.points[0].from, [y, SIZE.0 - x]) && holds(&both), "{both:?}");
    assert_eq!((study.photos()[0].width, study.photos()[0].height), (472, 632));
    // what is stated now is stated of both as they lie now, and comes back as it was when they are turned back
    let again = both.points.iter().map(|point| json!({"from": point.from, "to": point.to}));
    let again: Vec<_> = again.collect();
    align(&mut study, json!({"photo": "p1", "model": "affine", "points": again})).unwrap();
    study.set_photo("p1", PhotoSettings { turns: Some(0), ..PhotoSettings::default() }).unwrap();
    study.set_grid(GridRecord { turns: Some(0), mirror: Some(false), ..GridRecord::default() }).unwrap();
    let back = now(&study);
    assert!(back.points.iter().zip(PLACES).all(|(p, from)| near(p.from, from) && near(p.to, laid(from))));
    assert!(holds(&back));
}

#[test]
fn a_verso_is_mirrored_with_its_points_unless_it_is_stated_how_it_lies() {
    let mut study = with_photo();
    aligned(&mut study);
    let verso = PhotoSettings { side: Some("verso".into()), ..PhotoSettings::default() };
    let summary = study.set_photo("p1", verso).unwrap();
    assert!(summary.mirror && summary.text == "visible light, verso, mirrored, aligned", "{}", summary.text);
    let mirrored = now(&study);
    assert!(near(mirrored.points[0].from, [SIZE.0 - PLACES[0][0], PLACES[0][1]]) && holds(&mirrored));
    study.set_photo("p1", PhotoSettings { mirror: Some(false), ..PhotoSettings::default() }).unwrap();
    assert!(near(now(&study).points[0].from, PLACES[0]));
    let wrong = PhotoSettings { side: Some("back".into()), ..PhotoSettings::default() };
    let fault = study.set_photo("p1", wrong).unwrap_err();
    assert_eq!((fault.code, study.photos()[0].side.as_str()), ("bad_setting", "verso"));
}

#[test]
fn the_record_brings_the_alignment_back_whichever_comes_first() {
    let mut first = with_photo();
    aligned(&mut first);
    first.set_grid(GridRecord { turns: Some(1), ..GridRecord::default() }).unwrap();
    let infrared = PhotoSettings {
        light: Some("infrared".into()),
        name: Some("from the left".into()),
        turns: Some(2),
        ..PhotoSettings::default()
    };
    first.set_photo("p1", infrared).unwrap();
    let record = serde_json::to_value(first.record()).unwrap();
    let read = || serde_json::from_value(record.clone()).unwrap();
    let mut applied_first = Study::new();
    applied_first.apply(read()).unwrap();
    applied_first.open("photo.png", PHOTO);
    applied_first.open("Ti-K.npy", &file(80, 8));
    applied_first.open("Fe-K.npy", &file(200, 14));
    let mut opened_first = with_photo();
    opened_first.apply(read()).unwrap();
    for other in [&applied_first, &opened_first] {
        assert_eq!(other.photos(), first.photos());
        assert_eq!(serde_json::to_value(other.record()).unwrap(), record);
    }
    assert_eq!(first.photos()[0].name, "from the left");
}

#[test]
fn too_few_points_are_kept_with_what_is_wrong_and_none_at_all_takes_it_away() {
    let mut study = with_photo();
    let one = align(&mut study, json!({"photo": "p1", "points": [pair(PLACES[0])]})).unwrap().unwrap();
    assert!(!one.trouble.is_empty() && one.transform.is_none() && one.points.len() == 1, "{one:?}");
    assert_eq!(
        (one.points[0].error_px, study.photos()[0].text.as_str()),
        (None, "visible light, recto, alignment not complete")
    );
    let mut again = with_photo();
    again.apply(study.record()).unwrap();
    assert_eq!(now(&again), one);
    assert_eq!(align(&mut study, json!({"photo": "p1", "points": []})), Ok(None));
    assert_eq!(study.photos()[0].alignment, None);
}

#[test]
fn every_photo_has_its_own_alignment() {
    let mut study = with_photo();
    aligned(&mut study);
    assert_eq!(study.open("sky.png", OTHER).photos, ["p2"]);
    align(&mut study, json!({"photo": "p2", "transform": [0.1, 0, 1, 0, 0.1, 2, 0, 0, 1]})).unwrap();
    let photos = study.photos();
    let found = photos[1].alignment.as_ref().unwrap();
    assert_eq!((found.model.as_str(), found.error_px, found.rms_px), ("found", Some(1.0), None));
    assert!(near(found.corners[0].unwrap(), [1.0, 2.0]));
    assert!(holds(photos[0].alignment.as_ref().unwrap()));
    // points beside a found transform check it, and say how far it is off
    let point = json!({"from": [10, 10], "to": [2.5, 3.0]});
    let settings = json!({"photo": "p2", "transform": [0.1, 0, 1, 0, 0.1, 2, 0, 0, 1], "points": [point]});
    let checked = align(&mut study, settings).unwrap().unwrap();
    assert!(
        near(checked.points[0].error_px.unwrap(), [-0.5, 0.0]) && checked.text.contains("0.5"),
        "{checked:?}"
    );
}

#[test]
fn slips_are_refused_in_one_sentence_and_change_nothing() {
    let mut study = with_photo();
    aligned(&mut study);
    let before = study.record();
    for (settings, said) in [
        (json!({"photo": "p9", "points": []}), "no photo called"),
        (json!({"photo": "p1", "model": "rubber", "points": []}), "no way to align"),
        (json!({"photo": "p1", "points": [{"from": [1, 2]}]}), "not understood"),
        (json!({"photo": "p1", "points": [{"from": [1, 1e9], "to": [1, 1]}]}), "two places"),
        (json!({"photo": "p1", "transform": [0, 0, 0, 0, 0, 0, 0, 0, 1]}), "on a line"),
        (json!({"points": []}), "Name what is to be aligned"),
    ] {
        let message = align(&mut study, settings.clone()).unwrap_err().message;
        assert!(message.contains(said), "{settings}: {message}");
    }
    let points: Vec<_> = (0..=MOST_POINTS).map(|i| pair([i as f64, 1.0])).collect();
    let many = align(&mut study, json!({"photo": "p1", "points": points})).unwrap_err().message;
    assert!(many.contains("at most"), "{many}");
    assert_eq!(study.record(), before);
    let mut empty = Study::new();
    empty.open("photo.png", PHOTO);
    let no_maps = align(&mut empty, json!({"photo": "p1", "points": [pair(PLACES[0])]})).unwrap_err();
    assert!(no_maps.message.contains("no maps yet"), "{}", no_maps.message);
}

/// Twelve points in a corner of the photo, each set some tenths of a pixel off: they agree with each other and say little of
/// the other end.
#[test]
fn points_in_a_corner_are_said_to_leave_the_rest_unsure() {
    let mut study = with_photo();
    let off = [0.2, -0.3, 0.1, -0.1, 0.3, -0.2, 0.05, 0.25, -0.15, 0.15, -0.25, -0.05];
    let mut set = |reach: f64| {
        let points: Vec<_> = (0..12)
            .map(|i| {
                let from = [20.0 + reach * 198.0 * f64::from(i % 4), 20.0 + reach * 214.0 * f64::from(i / 4)];
                let [x, y] = laid(from);
                let (dx, dy) = (off[i as usize], off[(5 * i as usize + 3) % 12]);
                json!({"from": from, "to": [x + dx, y + dy]})
            })
            .collect();
        align(&mut study, json!({"photo": "p1", "model": "affine", "points": points})).unwrap().unwrap()
    };
    let (wide, narrow) = (set(1.0), set(0.1));
    assert!(wide.error_px.unwrap() < 0.5 && !wide.text.contains("Far from"), "{}", wide.text);
    assert!(narrow.left_out_rms_px.unwrap() < 0.5 && narrow.error_px.unwrap() > 1.0, "{narrow:?}");
    assert!(narrow.text.contains("Far from them it is known less well"), "{}", narrow.text);
}

#[test]
fn points_that_check_a_found_transform_do_not_make_it_exact_nor_speak_for_where_they_are_not() {
    let mut study = with_photo();
    let found = [0.05, 0.005, -1.0, -0.0025, 0.045, 0.5, 0.0, 0.0, 1.0];
    let mut check = |places: &[[f64; 2]]| {
        let points: Vec<_> = places.iter().copied().map(pair).collect();
        align(&mut study, json!({"photo": "p1", "transform": found, "points": points})).unwrap().unwrap()
    };
    let wide = check(&PLACES);
    // One point of 1 px beside five without error.
    assert!((wide.error_px.unwrap() - 1.0 / 6f64.sqrt()).abs() < 1e-9, "{:?}", wide.error_px);
    assert!(wide.text.contains("off by less than 0.01") && !wide.text.contains("rest"), "{}", wide.text);
    let narrow = check(&[[40.0, 60.0], [48.0, 60.0], [44.0, 70.0]]);
    assert_eq!(narrow.error_px, Some(1.0), "as where nothing checks it");
    assert!(narrow.text.contains("say nothing of the rest"), "{}", narrow.text);
    assert!(check(&PLACES[..1]).text.contains("nothing of places far from it"));
}

#[test]
fn a_point_on_the_horizon_is_said_and_gives_no_number() {
    let mut study = with_photo();
    let aslant = json!([0.1, 0, 0, 0, 0.1, 0, -0.01, 0, 1]);
    let point = json!({"from": [100.0, 50.0], "to": [3.0, 3.0]});
    let alignment =
        align(&mut study, json!({"photo": "p1", "transform": aslant, "points": [point]})).unwrap().unwrap();
    assert!(alignment.trouble.contains("beyond the horizon"), "{alignment:?}");
    assert_eq!((alignment.error_px, alignment.rms_px), (None, None));
    assert!(!alignment.text.contains("NaN"), "{}", alignment.text);
}

#[test]
fn errors_in_millimetres_follow_the_step_of_each_direction_and_rounding_is_no_error() {
    let mut study = with_photo();
    let step = GridRecord { step_x_um: Some(500.0), step_y_um: Some(2000.0), ..GridRecord::default() };
    study.set_grid(step).unwrap();
    let exact = aligned(&mut study);
    assert!(exact.text.contains("less than 0.01") && !exact.text.contains("e-"), "{}", exact.text);
    // Every point half a pixel off, down the object: 1 mm.
    let points: Vec<_> = PLACES
        .into_iter()
        .map(|from| json!({"from": from, "to": [laid(from)[0], laid(from)[1] + 0.5]}))
        .collect();
    let found = [0.05, 0.005, -1.0, -0.0025, 0.045, 0.5, 0.0, 0.0, 1.0];
    let checked =
        align(&mut study, json!({"photo": "p1", "transform": found, "points": points})).unwrap().unwrap();
    assert!((checked.rms_px.unwrap() - 0.5).abs() < 1e-9 && (checked.rms_mm.unwrap() - 1.0).abs() < 1e-9);
    let words = checked.text.replace('\u{202f}', " ");
    assert!(words.contains("0.5") && words.contains("(1.0 mm)"), "{words}");
}
