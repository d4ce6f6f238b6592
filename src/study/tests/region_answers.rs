//! Regions and answers: asked in regions, regions made of answers.

use super::regions::{add, fault, mask};
use super::*;
use crate::ask::Raster;
use crate::study::RegionSettings;
use serde_json::Value;

#[test]
fn classes_of_an_answer_are_kept_with_the_maps_that_it_rests_on() {
    let mut study = study();
    let (answer, rasters) = study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    let region =
        add(&mut study, json!({"name": "Ti only", "classes": {"answer": answer.id, "classes": [2, 5]}}));
    let Raster::U8(classes) = &rasters["classes"] else { panic!("classes are bytes") };
    let want: Vec<bool> = classes.data().iter().map(|&class| class == 2 || class == 5).collect();
    assert_eq!(mask(&study, "Ti only"), want);
    assert_eq!((region.how.as_str(), region.makers_text.as_str()), ("classes", "made from Ti K and Fe K"));
    assert!(
        region.text == "Ti K without Fe K or cannot be judged, from an answer to “apart”",
        "{}",
        region.text
    );
    let message = fault(&mut study, json!({"classes": {"answer": answer.id, "classes": [9]}})).message;
    assert!(message.contains("2 Ti K without Fe K"), "{message}");
    assert_eq!(
        fault(&mut study, json!({"classes": {"answer": "x", "classes": [2]}})).code,
        "answer_not_held"
    );
    let mut second = super::study();
    second.apply(study.record()).unwrap();
    assert_eq!(mask(&second, "Ti only"), want, "without the answer");
}

#[test]
fn questions_are_asked_in_regions_and_know_which_maps_made_them() {
    let mut study = study();
    let ask = |study: &mut Study, region: Value| {
        let settings = json!({"a": "Ti K", "b": "Fe K", "region": region});
        study.ask("apart", settings, &mut |_, _| {}).unwrap().0
    };
    let whole = ask(&mut study, Value::Null);
    add(&mut study, json!({"name": "left", "rectangle": {"x": 0, "y": 0, "width": 22, "height": 20}}));
    add(&mut study, json!({"name": "bright", "threshold": {"map": "Ti K", "low": 40}}));
    add(&mut study, json!({"name": "around", "combine": {"how": "grown", "of": ["bright"], "by_px": 3}}));
    let left = ask(&mut study, json!("left"));
    assert_eq!((left.pixels, whole.pixels), (440, 600));
    assert_eq!((left.regions[0].id.as_str(), left.regions[0].makers.len()), ("r1", 0));
    assert_eq!(left.verdict, whole.verdict, "{}", left.sentence);
    for name in ["bright", "around"] {
        let answer = ask(&mut study, json!(name));
        assert_eq!(answer.verdict, "cannot be judged", "{name}");
        assert!(answer.sentence.contains("was made from Ti K"), "{}", answer.sentence);
    }
    // Classes of an answer in a region are made also by the maps that made that one.
    let classes = |study: &mut Study, answer: &Answer| {
        let settings = json!({"classes": {"answer": answer.id, "classes": [2]}});
        study.preview_region(RegionSettings::read(settings).unwrap()).unwrap().0.makers
    };
    assert_eq!(classes(&mut study, &left), ["m1", "m2"]);
    study.open("Cu-K.npy", &file(50, 3));
    add(&mut study, json!({"name": "copper", "threshold": {"map": "Cu K", "low": 20}}));
    let copper = ask(&mut study, json!("copper"));
    assert_eq!(classes(&mut study, &copper), ["m1", "m2", "m3"]);
    // On a map that shares numbers with its maker a region is not tested either.
    study.derive(&Derivation::read(json!({"how": "sum", "of": ["m1", "m3"]})).unwrap()).unwrap();
    let settings = json!({"a": "d1", "b": "Fe K", "region": "bright"});
    let (answer, _) = study.ask("apart", settings, &mut |_, _| {}).unwrap();
    assert_eq!(answer.verdict, "cannot be judged");
    assert!(answer.sentence.contains("“bright” was made from"), "{}", answer.sentence);
}

#[test]
fn a_part_of_a_joint_plot_becomes_limits_in_both_maps_where_it_was_asked() {
    let mut study = study();
    add(&mut study, json!({"name": "left", "rectangle": {"x": 0, "y": 0, "width": 22, "height": 20}}));
    let settings = json!({"a": "Ti K", "b": "Fe K", "region": "left"});
    let (answer, rasters) = study.ask("together", settings, &mut |_, _| {}).unwrap();
    let Raster::F64(joint) = &rasters["joint"] else { panic!("counts") };
    // All of the plot is all of the region.
    let all = json!({"name": "all", "cloud": {"answer": answer.id, "from": [1, 1], "to": [0, 0]}});
    let all = add(&mut study, all);
    assert_eq!(mask(&study, "all"), mask(&study, "left"));
    assert_eq!((all.how.as_str(), all.makers_text.as_str()), ("cloud", "made from Ti K and Fe K"));
    assert!(all.text.ends_with(", in left"), "{}", all.text);
    // The right half holds the pixels of the right half of the bins.
    let (width, half) = (joint.width(), joint.width() / 2);
    let share = f64::from(half) / f64::from(width);
    let right = json!({"name": "right", "cloud": {"answer": answer.id, "from": [share, 0], "to": [1, 1]}});
    let right = add(&mut study, right);
    let want: f64 = joint.rows().flat_map(|row| &row[half as usize..]).sum();
    assert!(want > 10.0 && (right.pixels as f64 - want).abs() < 0.5, "{} for {want}", right.pixels);
    // By values in the record, so that it comes back without the answer.
    let mut second = super::study();
    second.apply(study.record()).unwrap();
    assert_eq!(second.regions(), study.regions());
    let (ratio, _) = study.ask("ratio", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    let none = json!({"cloud": {"answer": ratio.id, "from": [0, 0], "to": [1, 1]}});
    assert!(fault(&mut study, none).message.contains("no joint histogram"));
}

#[test]
fn zones_are_read_out_and_become_regions_that_their_maps_made() {
    let mut study = study();
    let (answer, rasters) = study.ask("regions", json!({"zones": 2}), &mut |_, _| {}).unwrap();
    assert_eq!(answer.verdict, "cannot be judged");
    assert!(
        answer.sentence.starts_with("Ti K and Fe K part the whole field into 2 zones"),
        "{}",
        answer.sentence
    );
    let Raster::U8(zones) = &rasters["zones"] else { panic!("zones are bytes") };
    let read = study.read_out(1.5, 1.5, Some(&answer.id)).unwrap().region.unwrap();
    assert!(read.text.starts_with(&format!("zone {}: ", zones.get(1, 1).unwrap())), "{}", read.text);
    let region = add(&mut study, json!({"classes": {"answer": answer.id, "classes": [2]}}));
    assert!(region.name.starts_with("Zone 2 ("), "{}", region.name);
    assert_eq!(region.makers_text, "made from Ti K and Fe K");
    let want: Vec<bool> = zones.data().iter().map(|&zone| zone == 2).collect();
    assert_eq!(mask(&study, "r1"), want);
    // The name is taken now; the next one has a number.
    let again = add(&mut study, json!({"classes": {"answer": answer.id, "classes": [2]}}));
    assert_eq!(again.name, "Region 2");
    let both = add(&mut study, json!({"classes": {"answer": answer.id, "classes": [1, 2]}}));
    assert!(both.name == "Region 3" && both.text.contains(" or zone 2: "), "{}", both.text);
    assert!(
        fault(&mut study, json!({"classes": {"answer": answer.id, "classes": [3]}}))
            .message
            .contains("1 zone 1")
    );
    // A verdict is not to be had on the maps that made them.
    let settings = json!({"regions": ["r1", "r3"], "maps": ["Ti K"]});
    assert_eq!(study.ask("regions", settings, &mut |_, _| {}).unwrap().0.verdict, "cannot be judged");
    // Zones in a zone.
    let (inner, _) = study.ask("regions", json!({"zones": 0, "region": "r1"}), &mut |_, _| {}).unwrap();
    assert_eq!(inner.pixels, want.iter().filter(|&&inside| inside).count() as u64);
    assert!(inner.cautions[0].contains("was made from"), "{:?}", inner.cautions);
}

#[test]
fn maps_that_cannot_make_zones_are_named() {
    let mut study = study();
    study.set_map("m1", MapRecord { kind: Some("display copy".into()), ..MapRecord::default() }).unwrap();
    let ask = |study: &mut Study, settings| study.ask("regions", settings, &mut |_, _| {}).unwrap().0;
    let parts = ask(&mut study, json!({"zones_by": "parts"}));
    assert!(parts.sentence.contains("three maps or more"), "{}", parts.sentence);
    assert!(
        parts.cautions.iter().any(|text| text.contains("Ti K is a picture of a map")),
        "{:?}",
        parts.cautions
    );
    assert_eq!(parts.numbers["zones"].value, None);
    let means = ask(&mut study, json!({"zones": 2}));
    assert!(means.cautions.iter().any(|text| text.contains("how it was stretched")), "{:?}", means.cautions);
    assert_eq!(means.inputs.len(), 2);
}
