mod aligning;
mod colours;
mod fields;
mod files;
mod finding;
mod findings;
mod laid_photos;
mod made;
mod object;
mod odd_regions;
mod points;
mod region_answers;
mod regions;
mod restating;
mod spectra;

use super::*;
use crate::ask::picture::PictureSettings;
use serde_json::json;

/// A small map of counts as NPY: a field of background with a painted square.
pub(crate) fn file(bright: u16, left: u32) -> Vec<u8> {
    let header = "{'descr': '<u2', 'fortran_order': False, 'shape': (20, 30), }\n";
    let mut bytes = b"\x93NUMPY\x01\x00".to_vec();
    bytes.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
    bytes.extend(header.as_bytes());
    for y in 0..20u32 {
        for x in 0..30u32 {
            let background = [2u16, 1, 3, 2, 0, 4, 2, 1][((x * 5 + y * 3) % 8) as usize];
            let is_painted = (left..left + 12).contains(&x) && (4..16).contains(&y);
            bytes.extend((background + if is_painted { bright } else { 0 }).to_le_bytes());
        }
    }
    bytes
}

/// Two such maps.
pub(crate) fn study() -> Study {
    let mut study = Study::new();
    assert_eq!(study.open("Ti-K.npy", &file(80, 8)).maps, ["m1"]);
    assert_eq!(study.open("Fe-K.npy", &file(200, 14)).maps, ["m2"]);
    study
}

#[test]
fn a_bad_file_changes_nothing_and_the_same_file_is_taken_once() {
    let mut study = study();
    let bad = study.open("x.tif", b"II*\0");
    assert_eq!(
        (bad.maps.len(), bad.notices[0].severity.as_str(), bad.notices[0].file.as_str()),
        (0, "error", "x.tif")
    );
    let again = study.open("copy of Ti-K.npy", &file(80, 8));
    assert_eq!((again.maps.len(), again.notices[0].code.as_str()), (0, "already_open"));
    assert_eq!(study.maps().len(), 2);
}

#[test]
fn apart_and_ratio_answer_over_a_study_and_show_their_pictures() {
    let mut study = study();
    study.set_grid(GridRecord { step_x_um: Some(500.0), step_y_um: None, ..GridRecord::default() }).unwrap();
    let (answer, rasters) = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    assert_eq!(answer.verdict, "more A than accompanies B", "{}", answer.sentence);
    // Six columns of twelve pixels lie outside the square of Fe; one column is rim.
    assert_eq!(answer.numbers["a_without_b_pixels"].value, Some(72.0));
    assert_eq!(answer.numbers["a_without_b_pixels_inner"].value, Some(60.0));
    assert_eq!(answer.numbers["a_without_b_area_mm2_inner"].value, Some(15.0));
    assert_eq!(rasters["classes"].size(), (30, 20));
    let of = |show: &str| PictureSettings::read(json!({"answer": answer.id, "show": show})).unwrap();
    assert_eq!(study.picture(&of("classes")).unwrap().picture.rgba.len(), 30 * 20 * 4);
    assert_eq!(study.picture(&of("count_ratio")).unwrap_err().code, "bad_setting");
    let (ratio, _) = study.ask("ratio", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    let count_ratio = &ratio.numbers["count_ratio"];
    assert!(
        (count_ratio.value.unwrap() - 0.2).abs() < 0.01 && ratio.verdict == "several values",
        "{}",
        ratio.sentence
    );
}

#[test]
fn without_anything_to_say_it_says_why_and_gives_no_number() {
    let mut study = study();
    study.set_map("Fe K", MapRecord { kind: Some("display copy".into()), ..MapRecord::default() }).unwrap();
    for question in ["apart", "ratio"] {
        let (answer, rasters) =
            study.ask(question, json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
        assert_eq!((answer.verdict.as_str(), rasters.len(), answer.shows.len()), ("cannot be judged", 0, 0));
        assert!(answer.numbers.values().all(|n| n.value.is_none() && n.reason.contains("only its shape")));
        assert!(answer.sentence.contains("because Fe K is a picture of a map"), "{}", answer.sentence);
    }
}

#[test]
fn values_that_are_no_counts_get_no_interval_from_counting_and_no_negative_verdict() {
    let mut study = study();
    for id in ["m1", "m2"] {
        study.set_map(id, MapRecord { kind: Some("fitted".into()), ..MapRecord::default() }).unwrap();
    }
    let (ratio, _) = study.ask("ratio", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    let number = &ratio.numbers["count_ratio"];
    assert!(number.low.is_none() && number.low_all.is_none(), "{number:?}");
    assert_eq!(ratio.verdict, "cannot be judged", "{}", ratio.sentence);
    let settings = json!({"a": "Fe K", "b": "Ti K", "background": {"Ti K": 2, "Fe K": 2}});
    let (apart, _) = study.ask("apart", settings, &mut |_, _| {}).unwrap();
    assert_ne!(apart.verdict, "no more A than accompanies B", "{}", apart.sentence);
}

#[test]
fn a_record_with_the_same_files_brings_the_same_answers_and_pictures() {
    let mut first = study();
    first
        .set_grid(GridRecord { step_x_um: Some(250.0), step_y_um: Some(500.0), ..GridRecord::default() })
        .unwrap();
    first.set_map("m1", MapRecord { line: Some("V K".into()), ..MapRecord::default() }).unwrap();
    let mut second = study();
    second.apply(first.record()).unwrap();
    assert_eq!(second.record(), first.record());
    assert_eq!(second.maps()[0].line.as_deref(), Some("V K"));
    let settings = PictureSettings::read(json!({"lights": [{"map": "V K"}, {"map": "Fe K"}]})).unwrap();
    assert_eq!(second.picture(&settings), first.picture(&settings));
    let ask = |study: &mut Study| {
        study.ask("apart", json!({"a": "V K", "b": "Fe K"}), &mut |_, _| {}).unwrap().0.id
    };
    assert_eq!(ask(&mut second), ask(&mut first));
}

#[test]
fn slips_are_refused_with_a_sentence_and_change_nothing() {
    let mut study = study();
    let before = study.record();
    let of = |kind: &str, line: &str| MapRecord {
        kind: Some(kind.into()),
        line: Some(line.into()),
        ..MapRecord::default()
    };
    assert!(study.set_map("m1", of("counts", "Ti K")).unwrap_err().message.contains("no kind of map"));
    assert!(study.set_map("m1", of("window", "Titanic")).unwrap_err().message.contains("no element line"));
    assert!(
        study
            .set_grid(GridRecord { step_x_um: Some(-1.0), step_y_um: None, ..GridRecord::default() })
            .is_err()
    );
    assert_eq!(study.ask("why", json!({}), &mut |_, _| {}).unwrap_err().code, "unknown_question");
    assert_eq!(study.ask("apart", json!({"a": "m1"}), &mut |_, _| {}).unwrap_err().code, "bad_setting");
    assert_eq!(
        study.ask("apart", json!({"a": "m1", "b": "m1"}), &mut |_, _| {}).unwrap_err().code,
        "bad_setting"
    );
    assert_eq!(
        study.ask("apart", json!({"a": "m1", "b": "m9"}), &mut |_, _| {}).unwrap_err().code,
        "unknown_map"
    );
    assert_eq!(study.record(), before);
}

#[test]
fn forgetting_a_stated_step_brings_back_the_one_of_the_file_here_and_after_a_return() {
    let open = || {
        let mut study = Study::new();
        study.open("tern_Ti-K.tif", include_bytes!("../../../demo-data/tern-sound/tern_Ti-K.tif"));
        study
    };
    let mut study = open();
    study.set_grid(GridRecord { step_x_um: Some(250.0), step_y_um: None, ..GridRecord::default() }).unwrap();
    assert_eq!((study.grid().step_x_um, study.grid().source.as_str()), (Some(250.0), "stated"));
    study.set_grid(GridRecord::default()).unwrap();
    assert_eq!((study.grid().step_x_um, study.grid().source.as_str()), (Some(500.0), "file"));
    let mut again = open();
    again.apply(study.record()).unwrap();
    assert_eq!(again.grid(), study.grid());
}

#[test]
fn of_many_answers_the_oldest_makes_room() {
    let mut study = study();
    let ask = |study: &mut Study, floor: usize| {
        let settings = json!({"a": "Ti K", "b": "Fe K", "floor": floor as f64 / 100.0});
        study.ask("apart", settings, &mut |_, _| {}).unwrap().0.id
    };
    let ids: Vec<String> = (0..=MOST_ANSWERS).map(|floor| ask(&mut study, floor)).collect();
    let mut picture = |id: &String| {
        study.picture(&PictureSettings::read(json!({"answer": id, "show": "classes"})).unwrap())
    };
    assert_eq!(picture(&ids[0]).unwrap_err().code, "answer_not_held");
    for id in &ids[1..] {
        assert!(picture(id).is_ok());
    }
}

#[test]
fn a_read_out_has_every_map_that_has_the_pixel() {
    let mut study = study();
    let read_out = study.read_out(15.9, 5.0, None).unwrap();
    assert_eq!(read_out.text, "column 15, row 5");
    assert_eq!(read_out.values.len(), 2);
    assert_eq!(study.read_out(-0.1, 5.0, None).unwrap(), ReadOut::default());
    assert_eq!(study.read_out(f64::NAN, 5.0, None).unwrap(), ReadOut::default());
    assert_eq!(study.read_out(30.0, 5.0, None).unwrap(), ReadOut::default());
}

#[test]
fn a_map_whose_file_is_missing_after_a_return_leaves_all_others_what_they_were() {
    let mut first = study();
    first.set_map("m2", MapRecord { line: Some("V K".into()), ..MapRecord::default() }).unwrap();
    let mut second = Study::new();
    second.apply(first.record()).unwrap();
    assert_eq!(second.open("Fe-K.npy", &file(200, 14)).maps, ["m2"]);
    assert_eq!(second.maps()[0].line.as_deref(), Some("V K"));
    assert_eq!(second.record(), first.record(), "what is missing is still expected");
    assert_eq!(second.open("new.npy", &file(77, 3)).maps, ["m3"]);
    assert_eq!(second.open("Ti-K.npy", &file(80, 8)).maps, ["m1"]);
    assert_eq!(second.maps().iter().map(|m| m.id.as_str()).collect::<Vec<_>>(), ["m1", "m2", "m3"]);
}

#[test]
fn a_turned_stack_gives_back_its_pixels_as_read_and_stays_turned_after_a_return() {
    let mut study = study();
    let as_read = study.samples("m1").unwrap();
    let areas = vec![AreaRecord { x: 0, y: 0, width: 30, height: 2 }];
    study.set_map("m1", MapRecord { blank_areas: Some(areas), ..MapRecord::default() }).unwrap();
    study
        .set_grid(GridRecord { step_x_um: Some(100.0), step_y_um: Some(200.0), ..GridRecord::default() })
        .unwrap();
    let grid = study.set_grid(GridRecord { turns: Some(1), ..GridRecord::default() }).unwrap();
    assert_eq!((grid.width, grid.height, grid.step_x_um, grid.step_y_um), (20, 30, Some(200.0), Some(100.0)));
    assert_eq!(study.maps()[0].blank, 60);
    // The two rows at the top have become the two columns at the right.
    assert_eq!(study.read_out(19.5, 0.5, None).unwrap().values[0].text, "no data");
    assert_ne!(study.read_out(17.5, 0.5, None).unwrap().values[0].text, "no data");
    assert_eq!(study.samples("m1").unwrap(), as_read);
    let areas = vec![AreaRecord { x: 0, y: 0, width: 1, height: 30 }];
    study.set_map("m2", MapRecord { blank_areas: Some(areas), ..MapRecord::default() }).unwrap();
    assert_eq!(study.read_out(0.5, 29.5, None).unwrap().values[1].text, "no data");
    let mut second = Study::new();
    second.apply(study.record()).unwrap();
    second.open("Ti-K.npy", &file(80, 8));
    second.open("Fe-K.npy", &file(200, 14));
    assert_eq!((second.maps(), second.grid(), second.record()), (study.maps(), study.grid(), study.record()));
}

#[test]
fn what_is_stated_of_numbers_is_used_and_can_be_taken_back() {
    let mut study = study();
    let before = study.maps();
    let stated = MapRecord {
        fill_value: Some(1.0),
        gain: Some(2.0),
        name: Some(" ink ".into()),
        ..MapRecord::default()
    };
    let summary = study.set_map("m1", stated).unwrap();
    assert!(summary.blank > 0 && summary.high == Some(42.0) && summary.label == "ink", "{summary:?}");
    let back = MapRecord {
        fill_values: Some(vec![]),
        gain: Some(1.0),
        name: Some(String::new()),
        ..MapRecord::default()
    };
    study.set_map("m1", back).unwrap();
    assert_eq!(study.maps(), before);
    let nonsense = MapRecord { gain: Some(0.0), ..MapRecord::default() };
    assert!(study.set_map("m1", nonsense).unwrap_err().message.contains("gain"));
    let itself = MapRecord { error_map: Some("m1".into()), ..MapRecord::default() };
    assert!(study.set_map("m1", itself).unwrap_err().message.contains("another map"));
    assert_eq!(study.maps(), before);
}

#[test]
fn over_an_answer_the_patch_under_the_pointer_is_read_too() {
    let mut study = study();
    study.set_grid(GridRecord { step_x_um: Some(500.0), ..GridRecord::default() }).unwrap();
    let (answer, _) = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    let at = |study: &mut Study, x: f64| study.read_out(x, 6.5, Some(&answer.id)).unwrap().region.unwrap();
    let both = at(&mut study, 16.5);
    assert!(both.text.starts_with("both detected, patch of "), "{}", both.text);
    assert!(both.text.ends_with("mm²"), "{}", both.text);
    assert_eq!(both.values.len(), 2);
    assert_eq!(at(&mut study, 16.5), both);
    assert_ne!(at(&mut study, 9.5), both);
    assert_eq!(study.read_out(99.0, 6.5, Some(&answer.id)).unwrap().region, None);
    assert_eq!(study.read_out(9.5, 6.5, Some("no such answer")).unwrap().region, None);
}
