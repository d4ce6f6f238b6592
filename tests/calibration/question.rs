//! The question through its public calls: numbers, joint histogram and its way back, matrix, regions that may only be described.

use limner::ask::{self, Answer, Plot, Raster, Rasters, cloud_of, joint_of, verdict};
use limner::grid::Mask;
use limner::measure::together::pearson;
use limner::region::{Region, RegionRole};
use limner::stack::{MapId, Stack};
use limner::study::Study;
use serde_json::{Value, json};
use std::path::Path;

const WIDTH: u32 = 300;
const HEIGHT: u32 = 220;

/// Eight maps of the example.
fn chart() -> Study {
    let mut study = Study::new();
    for line in ["Ca-K", "Ti-K", "Mn-K", "Fe-K", "Cu-K", "Zn-K", "Pb-L", "Hg-L"] {
        let path = format!("demo-data/tern-sound/tern_{line}.tif");
        let bytes = std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join(&path)).unwrap();
        study.open(path.rsplit('/').next().unwrap(), &bytes);
    }
    assert_eq!(study.maps().len(), 8);
    study
}

fn asked(stack: &Stack, regions: &[Region], settings: Value) -> (Answer, Rasters) {
    ask::ask("together", settings, &ask::Subject::new(stack, regions, None), &mut |_, _| {}).unwrap()
}

fn values(stack: &Stack, name: &str) -> Vec<f64> {
    stack.find(name).unwrap().plane.to_f64().unwrap().into_vec()
}

fn half(makers: Vec<MapId>) -> Region {
    let inside = (0..WIDTH * HEIGHT).map(|i| i % WIDTH < 150).collect();
    let mask = Mask::from_vec(WIDTH, HEIGHT, inside).unwrap();
    Region {
        id: "r1".into(),
        name: "left".into(),
        role: RegionRole::Passage,
        makers,
        pure: None,
        caution: String::new(),
        mask,
    }
}

#[test]
fn a_pair_of_the_example() {
    let study = chart();
    let (answer, rasters) = asked(study.stack(), &[], json!({"a": "Fe K", "b": "Mn K"}));
    println!("{}\n{:?}\n{:#?}\n{:?}", answer.sentence, answer.verdict, answer.figures, answer.stability);
    println!("{:?}", answer.cautions);
    assert!(verdict::words("together").contains(&answer.verdict.as_str()));
    let (a, b) = (values(study.stack(), "Fe K"), values(study.stack(), "Mn K"));
    assert!((answer.numbers["pearson"].value.unwrap() - pearson(&a, &b).unwrap()).abs() < 1e-12);
    for name in [
        "pearson",
        "pearson_noise_corrected",
        "spearman",
        "share_of_a_where_b",
        "share_of_b_where_a",
        "cosine",
        "same_side",
        "jaccard",
        "dice",
        "effective_n",
        "p_effective_n",
        "p_block_shuffle",
    ] {
        assert!(answer.numbers.contains_key(name), "{name}");
    }
    let share = &answer.numbers["share_of_a_where_b"];
    assert!(share.low.unwrap() <= share.value.unwrap() && share.value.unwrap() <= share.high.unwrap());
    let Raster::F64(joint) = &rasters["joint"] else { panic!("counts are numbers") };
    assert_eq!(joint.data().iter().sum::<f64>(), f64::from(WIDTH * HEIGHT));
    // The same again is the same record.
    assert_eq!(asked(study.stack(), &[], json!({"a": "m4", "b": "m3"})).0.id, answer.id);
}

#[test]
fn a_cloud_leads_to_values_and_a_region_to_the_cloud() {
    let study = chart();
    let regions = [half(Vec::new())];
    let (answer, rasters) = asked(study.stack(), &regions, json!({"a": "Fe K", "b": "Mn K"}));
    let all = cloud_of(&answer, [1.0, 0.0], [0.0, 1.0]).unwrap();
    let (a, b) = (values(study.stack(), "Fe K"), values(study.stack(), "Mn K"));
    assert_eq!((all.a.as_str(), all.b.as_str()), ("m4", "m3"));
    let inside = |cloud: &limner::ask::Cloud| {
        a.iter()
            .zip(&b)
            .filter(|(a, b)| {
                (cloud.a_low..=cloud.a_high).contains(*a) && (cloud.b_low..=cloud.b_high).contains(*b)
            })
            .count()
    };
    assert_eq!(inside(&all), a.len());
    // The upper half of the plot by values holds what the upper rows of its raster hold, as far as bins are cut by it.
    let Raster::F64(joint) = &rasters["joint"] else { panic!("counts are numbers") };
    let rows = joint.height() / 2;
    let upper =
        cloud_of(&answer, [0.0, 1.0 - f64::from(rows) / f64::from(joint.height())], [1.0, 1.0]).unwrap();
    let counted: f64 = (0..rows).flat_map(|y| joint.row(y)).sum();
    assert!((inside(&upper) as f64 - counted).abs() < 0.5, "{} {counted}", inside(&upper));
    let subject = ask::Subject::new(study.stack(), &regions, None);
    let left = joint_of(&answer, &subject, "left").unwrap();
    assert_eq!((left.width(), left.height()), (joint.width(), joint.height()));
    assert_eq!(left.data().iter().sum::<f64>(), f64::from(150 * HEIGHT));
    assert!(left.data().iter().zip(joint.data()).all(|(part, whole)| part <= whole));
    assert!(joint_of(&answer, &subject, "right").is_err());
    assert!(cloud_of(&answer, [f64::NAN, 0.0], [1.0, 1.0]).is_err());
    assert!(cloud_of(&Answer::default(), [0.0, 0.0], [1.0, 1.0]).is_err());
}

#[test]
fn a_region_that_a_map_made_is_described_and_not_tested() {
    let study = chart();
    let settings = json!({"a": "Fe K", "b": "Mn K", "region": "left"});
    let (free, _) = asked(study.stack(), &[half(Vec::new())], settings.clone());
    assert!(free.numbers["p_effective_n"].value.is_some());
    let made = half(vec![study.stack().find("Fe K").unwrap().id.clone()]);
    let (answer, _) = asked(study.stack(), &[made], settings);
    assert_eq!(answer.verdict, verdict::CANNOT);
    assert_eq!(
        (answer.numbers["p_effective_n"].value, answer.numbers["p_block_shuffle"].value),
        (None, None)
    );
    assert_eq!(answer.numbers["pearson"].value, free.numbers["pearson"].value);
    let told = format!("{} {}", answer.sentence, answer.cautions.join(" "));
    assert!(told.contains("was made from Fe K"), "{told}");
}

#[test]
fn every_two_of_eight_maps() {
    let study = chart();
    let mut told = Vec::new();
    let subject = ask::Subject::new(study.stack(), &[], None);
    let (answer, rasters) =
        ask::ask("together", json!({}), &subject, &mut |share, text| told.push((share, text.to_owned())))
            .unwrap();
    println!("{}", answer.sentence);
    for row in &answer.table.rows {
        println!("{}: {:?}", row.label, row.cells.iter().map(|cell| cell.text.as_str()).collect::<Vec<_>>());
    }
    assert!(rasters.is_empty() && answer.stability.is_none());
    assert_eq!((answer.table.rows.len(), answer.table.columns.len()), (28, 6));
    let Some(Plot::Matrix { maps, cells, .. }) = answer.plots.first() else { panic!("{:?}", answer.plots) };
    let mut ids: Vec<&str> = maps.iter().map(|map| map.id.as_str()).collect();
    ids.sort_unstable();
    assert_eq!(ids, ["m1", "m2", "m3", "m4", "m5", "m6", "m7", "m8"]);
    assert_eq!(cells.len(), 28);
    assert!(cells.iter().all(|cell| cell.a < cell.b
        && cell.b < 8
        && verdict::words("together").contains(&cell.verdict.as_str())));
    assert!(told.iter().filter(|(_, text)| text.contains(" and ")).count() >= 28);
    // Figures that merely lie in the same places are no common pattern, however high their correlation.
    for row in &answer.table.rows {
        assert!(
            !row.cells[5].text.starts_with(verdict::TOGETHER) || row.cells[2].text != row.cells[0].text,
            "{}: {:?}",
            row.label,
            row.cells
        );
    }
    // A cell says what the pair says of the whole field.
    let first = &cells[0];
    let pair = json!({"a": maps[first.a as usize].id, "b": maps[first.b as usize].id});
    let alone = asked(study.stack(), &[], pair).0;
    assert_eq!(
        alone.numbers["pearson"].value.map(|r| (r * 1e9).round()),
        first.shade.map(|r| (r * 1e9).round())
    );
}

#[test]
fn settings_that_cannot_be_asked_are_refused() {
    let study = chart();
    let subject = ask::Subject::new(study.stack(), &[], None);
    for (settings, want) in [
        (json!({"a": "Fe K"}), "`b` is not given"),
        (json!({"a": "Fe K", "b": "Fe K"}), "with itself"),
        (json!({"a": "Fe K", "b": "Mn K", "maps": ["Fe K", "Mn K"]}), "not both"),
        (json!({"maps": ["Fe K"]}), "takes two"),
        (json!({"maps": ["Fe K", "Fe K"]}), "named twice"),
        (json!({"maps": ["Fe K", "Au L"]}), "Au L"),
    ] {
        let fault = ask::ask("together", settings.clone(), &subject, &mut |_, _| {}).unwrap_err();
        assert!(fault.message.contains(want), "{settings}: {fault}");
    }
    assert_eq!(ask::maps_needed("together", &json!({}), &subject).unwrap().len(), 8);
}
