//! `faint` and `ratio` over simulated maps whose truth is known: the right verdict, or none.
#![allow(clippy::unwrap_used, clippy::panic)] // a test may fail

use limner::ask::{self, Answer, Plot, Rasters, Subject};
use limner::element::Line;
use limner::grid::{Grid, Mask, Samples};
use limner::kind::Kind;
use limner::numerics::chance::Chance;
use limner::region::{Region, RegionRole};
use limner::stack::{Map, MapId, Source, Stack};
use serde_json::{Value, json};

const SIDE: u32 = 64;
const PIXELS: usize = (SIDE * SIDE) as usize;

fn at(i: usize) -> (u32, u32) {
    (i as u32 % SIDE, i as u32 / SIDE)
}

/// The passage: 32 x 32 pixels. The support: a band on the left.
fn in_passage(i: usize) -> bool {
    let (x, y) = at(i);
    (24..56).contains(&x) && (16..48).contains(&y)
}

fn on_support(i: usize) -> bool {
    at(i).0 < 16
}

fn counts(seed: u64, mean: impl Fn(usize) -> f64) -> Samples {
    let mut chance = Chance::new(seed);
    let values = (0..PIXELS).map(|i| chance.poisson(mean(i)) as u32).collect();
    Samples::U32(Grid::from_vec(SIDE, SIDE, values).unwrap())
}

/// Fitted values with normal errors; `sigma` is also their map of errors.
fn fits(seed: u64, sigma: f64, mean: impl Fn(usize) -> f64) -> Samples {
    let mut chance = Chance::new(seed);
    let values = (0..PIXELS).map(|i| mean(i) + sigma * chance.normal()).collect();
    Samples::F64(Grid::from_vec(SIDE, SIDE, values).unwrap())
}

struct Scene {
    stack: Stack,
    regions: Vec<Region>,
}

impl Scene {
    fn new() -> Self {
        Self { stack: Stack::default(), regions: Vec::new() }
    }

    fn with(mut self, line: &str, kind: Kind, samples: Samples) -> Self {
        let number = self.stack.maps().len() as u32 + 1;
        let source = Source { file: format!("{line}.npy"), page: 0, sha256: format!("{number}") };
        let line = Line::parse(line);
        assert!(line.is_some());
        let mut map = Map::new(MapId::new(number), source, String::new(), line, samples).unwrap();
        map.kind = kind;
        self.stack.push(map);
        self
    }

    /// The last map has these errors.
    fn with_errors(mut self, sigma: f64) -> Self {
        let id = self.stack.maps().last().unwrap().id.clone();
        self.stack.by_id_mut(&id).unwrap().sigma = Some(Grid::try_filled(SIDE, SIDE, sigma).unwrap());
        self
    }

    fn with_region(mut self, name: &str, role: RegionRole, inside: impl Fn(usize) -> bool) -> Self {
        let mask = Mask::from_vec(SIDE, SIDE, (0..PIXELS).map(inside).collect()).unwrap();
        let id = format!("r{}", self.regions.len() + 1);
        self.regions.push(Region {
            id,
            name: name.into(),
            role,
            makers: Vec::new(),
            pure: None,
            caution: String::new(),
            mask,
        });
        self
    }

    fn with_passage_and_support(self) -> Self {
        self.with_region("passage", RegionRole::Passage, in_passage).with_region(
            "support",
            RegionRole::BareSupport,
            on_support,
        )
    }

    fn ask(&self, question: &str, settings: Value) -> (Answer, Rasters) {
        let subject = Subject::new(&self.stack, &self.regions, None);
        ask::ask(question, settings, &subject, &mut |_, _| {}).unwrap()
    }

    fn faint(&self) -> Answer {
        self.ask("faint", json!({"map": "m1", "region": "passage"})).0
    }

    fn ratio(&self) -> Answer {
        self.ask("ratio", json!({"a": "m1", "b": "m2", "region": "passage"})).0
    }
}

fn faint(seed: u64, background: f64, signal: f64) -> Answer {
    let mean = |i| background + if in_passage(i) { signal } else { 0.0 };
    Scene::new().with("Cu K", Kind::Window, counts(seed, mean)).with_passage_and_support().faint()
}

fn value(answer: &Answer, name: &str) -> f64 {
    let number = answer.numbers.get(name).unwrap_or_else(|| panic!("no {name}"));
    number.value.unwrap_or_else(|| panic!("{name}: {}", number.reason))
}

#[test]
fn a_faint_map_is_read_in_blocks_where_its_pixels_show_nothing() {
    let answer = faint(1, 2.0, 1.0);
    assert_eq!(answer.verdict, "detected", "{}", answer.sentence);
    let net = &answer.numbers["net_mean"];
    assert!(net.low.unwrap() < 1.0 && 1.0 < net.high.unwrap(), "{net:?}");
    assert!(net.low_all.unwrap() < net.low.unwrap());
    // Single pixels hardly show it; blocks of 8 x 8 do, throughout.
    assert!(
        value(&answer, "share_above_1") < 0.03 && value(&answer, "share_above_8") > 0.9,
        "{:#?}",
        answer.numbers
    );
    assert!(value(&answer, "expected_share_8") <= 0.001);
    assert!([8.0, 16.0].contains(&value(&answer, "readable_bin")));
    assert_eq!(answer.table.rows.len(), 5);
    let [Plot::Bars { rows, .. }] = answer.plots.as_slice() else { panic!("{:?}", answer.plots) };
    assert!(rows.len() == 5 && rows.iter().all(|bar| bar.share <= 1.0 && bar.beside <= 1.0));
    assert!(answer.stability.as_ref().is_some_and(|stability| stability.holds));
    assert!(value(&answer, "p_on_off") < 1e-6 && value(&answer, "p_on_off_floor_doubled") < 0.001);
}

#[test]
fn a_strong_map_is_detected_pixel_by_pixel() {
    let scene =
        Scene::new().with("Cu K", Kind::Window, counts(2, |i| if in_passage(i) { 60.0 } else { 2.0 }));
    let (answer, rasters) = scene.ask("faint", json!({"map": "Cu K"}));
    assert_eq!(answer.verdict, "detected");
    assert_eq!((value(&answer, "readable_bin"), answer.pixels), (1.0, 4096));
    assert!((value(&answer, "share_above_1") - 0.25).abs() < 0.01);
    let ask::Raster::U8(classes) = &rasters["classes"] else { panic!() };
    assert_eq!(classes.data().iter().filter(|&&class| class == 2).count(), 1024);
    assert_eq!(&answer.class_labels()[1..3], ["Cu K not detected", "Cu K detected"]);
}

#[test]
fn nothing_is_a_limit_and_the_limit_holds() {
    let answer = faint(3, 2.0, 0.0);
    assert_eq!(answer.verdict, "not detected (below x)", "{}", answer.sentence);
    let limit = value(&answer, "upper_limit");
    assert!(limit > 0.1 && limit < 0.6, "{limit}");
    assert!(answer.verdict_text.starts_with("not detected (below 0."), "{}", answer.verdict_text);
    assert!(answer.figures[0].value.starts_with("below 0."), "{:?}", answer.figures[0]);
    // No count at all: still no zero.
    let none = Scene::new()
        .with("Cu K", Kind::Window, counts(4, |i| if in_passage(i) || on_support(i) { 0.0 } else { 1.0 }))
        .with_passage_and_support()
        .faint();
    assert_eq!(none.verdict, "not detected (below x)");
    assert!((value(&none, "upper_limit") - 2.995_732 / 1024.0).abs() < 1e-6);
}

#[test]
fn what_is_everywhere_alike_is_not_called_absent() {
    // 100 counts everywhere may be background or a ground full of it.
    let scene = |mean: f64| Scene::new().with("Ca K", Kind::Window, counts(5, move |_| mean));
    let (strong, _) = scene(100.0).ask("faint", json!({"map": "Ca K"}));
    assert_eq!(strong.verdict, "cannot be judged here");
    assert!(strong.sentence.contains("everywhere"), "{}", strong.sentence);
    // Two counts everywhere: whatever it is, it is less than that.
    let (weak, _) = scene(2.0).ask("faint", json!({"map": "Ca K"}));
    assert_eq!(weak.verdict, "not detected (below x)", "{}", weak.sentence);
    assert!(value(&weak, "upper_limit") > 2.0 && weak.sentence.contains("even if all"), "{}", weak.sentence);
    // A stated background settles it.
    let (stated, _) = scene(100.0).ask("faint", json!({"map": "Ca K", "background": {"Ca K": 20}}));
    assert_eq!(stated.verdict, "detected");
}

#[test]
fn an_excess_within_the_floor_is_not_called_detected() {
    // 3 % more than 400 is far beyond counting and within the floor of 5 %.
    let small = faint(6, 400.0, 12.0);
    assert!(value(&small, "p_on_off") < 1e-9);
    assert_eq!(small.verdict, "not detected (below x)", "{}", small.sentence);
    assert!(value(&small, "upper_limit") > 12.0);
    assert!(small.cautions.iter().any(|caution| caution.contains("By counting alone")));
    // 20 % more is beyond the floor and within twice the floor.
    let middle = faint(7, 400.0, 80.0);
    assert_eq!(middle.verdict, "cannot be judged here", "{}", middle.sentence);
    assert!(middle.sentence.contains("10"), "{}", middle.sentence);
    assert_eq!(faint(8, 400.0, 300.0).verdict, "detected");
}

#[test]
fn a_few_strong_pixels_are_detected_and_a_darker_place_is_not_judged() {
    let specks = |i: usize| in_passage(i) && i.is_multiple_of(97);
    let scene = |mean: fn(usize) -> f64| {
        Scene::new().with("Hg L", Kind::Window, counts(9, mean)).with_passage_and_support()
    };
    let number = (0..PIXELS).filter(|&i| specks(i)).count() as f64;
    let bright = Scene::new()
        .with("Hg L", Kind::Window, counts(9, |i| if specks(i) { 70.0 } else { 20.0 }))
        .with_passage_and_support()
        .faint();
    assert_eq!(bright.verdict, "detected", "{}", bright.sentence);
    // Of what is named, one in twenty may be background.
    assert!((number..=number + 2.0).contains(&value(&bright, "discovered_pixels")), "{number}");
    assert!(bright.cautions.iter().any(|caution| caution.contains("hot pixels")), "{:?}", bright.cautions);
    let dark = scene(|i| if in_passage(i) { 5.0 } else { 20.0 }).faint();
    assert_eq!(dark.verdict, "cannot be judged here");
    assert!(dark.sentence.contains("counts less there"), "{}", dark.sentence);
}

#[test]
fn a_place_with_saturated_pixels_is_not_called_empty() {
    let mut chance = Chance::new(12);
    let value =
        |i: usize, drawn: u64| if in_passage(i) && i.is_multiple_of(50) { u16::MAX } else { drawn as u16 };
    let values = (0..PIXELS).map(|i| value(i, chance.poisson(2.0))).collect();
    let samples = Samples::U16(Grid::from_vec(SIDE, SIDE, values).unwrap());
    let answer = Scene::new().with("Cu K", Kind::Window, samples).with_passage_and_support().faint();
    assert_eq!(answer.verdict, "cannot be judged here");
    assert!(answer.sentence.contains("saturated"), "{}", answer.sentence);
}

#[test]
fn where_there_is_no_background_or_the_map_made_the_region_nothing_is_tested() {
    let scene =
        || Scene::new().with("Cu K", Kind::Window, counts(10, |i| if in_passage(i) { 9.0 } else { 2.0 }));
    let small = scene().with_region("passage", RegionRole::Passage, in_passage).with_region(
        "corner",
        RegionRole::Reference,
        |i| at(i).0 < 5 && at(i).1 < 5,
    );
    let settings = json!({"map": "Cu K", "region": "passage", "background": "corner"});
    let (few, _) = small.ask("faint", settings);
    assert_eq!(few.verdict, "cannot be judged here");
    assert!(few.sentence.contains("30"), "{}", few.sentence);
    assert!(few.numbers.values().all(|number| number.value.is_none() && !number.reason.is_empty()));
    let mut made = scene().with_passage_and_support();
    made.regions[0].makers = vec![MapId::new(1)];
    let made = made.faint();
    assert_eq!(made.verdict, "cannot be judged here");
    assert!(made.numbers["p_on_off"].value.is_none() && value(&made, "net_mean") > 6.0);
}

#[test]
fn fitted_maps_are_judged_by_their_errors_and_pictures_not_at_all() {
    let mean = |i: usize| if in_passage(i) { 1.0 } else { 0.0 };
    let scene = |kind| Scene::new().with("Fe K", kind, fits(11, 2.0, mean)).with_passage_and_support();
    let fitted = scene(Kind::Fitted).with_errors(2.0).faint();
    assert_eq!(fitted.verdict, "detected", "{}", fitted.sentence);
    let net = &fitted.numbers["net_mean"];
    assert!(net.low.unwrap() < 1.0 && 1.0 < net.high.unwrap(), "{net:?}");
    assert_eq!(scene(Kind::Fitted).faint().verdict, "detected");
    let copy = scene(Kind::DisplayCopy).faint();
    assert!(
        copy.verdict == "cannot be judged here" && copy.sentence.contains("picture"),
        "{}",
        copy.sentence
    );
    // Errors far larger than the scatter are believed.
    let unsure = scene(Kind::Fitted).with_errors(60.0).faint();
    assert_ne!(unsure.verdict, "detected", "{}", unsure.sentence);
}

#[test]
fn an_empty_field_is_not_called_detected() {
    for seed in 0..40 {
        for background in [0.3, 3.0, 40.0] {
            let answer = faint(100 + seed, background, 0.0);
            assert_ne!(answer.verdict, "detected", "{seed}, {background}: {}", answer.sentence);
            let scene = Scene::new().with("Cu K", Kind::Window, counts(500 + seed, |_| background));
            let (whole, _) = scene.ask("faint", json!({"map": "m1"}));
            assert_ne!(whole.verdict, "detected", "{seed}, {background}: {}", whole.sentence);
        }
    }
}

fn pair(a: impl Fn(usize) -> f64, b: impl Fn(usize) -> f64) -> Scene {
    Scene::new()
        .with("Mn K", Kind::Window, counts(20, a))
        .with("Fe K", Kind::Window, counts(21, b))
        .with_passage_and_support()
}

#[test]
fn one_ratio_and_several() {
    let b = |i| if in_passage(i) { 203.0 } else { 3.0 };
    let one = pair(|i| if in_passage(i) { 42.0 } else { 2.0 }, b).ratio();
    assert_eq!(one.verdict, "one value", "{}", one.sentence);
    let ratio = &one.numbers["count_ratio"];
    assert!(ratio.low.unwrap() < 0.2 && 0.2 < ratio.high.unwrap(), "{ratio:?}");
    assert!(ratio.low_all.unwrap() < ratio.low.unwrap() && ratio.high.unwrap() < ratio.high_all.unwrap());
    assert_eq!((value(&one, "valid_pixels"), one.table.rows.len()), (1024.0, 3));
    assert!(one.numbers["mass_ratio"].value.is_none());
    let halves = |i: usize| {
        if !in_passage(i) {
            2.0
        } else if at(i).0 < 40 {
            22.0
        } else {
            62.0
        }
    };
    let several = pair(halves, b).ratio();
    assert_eq!(several.verdict, "several values", "{}", several.sentence);
    assert!((value(&several, "spread") - 0.5).abs() < 0.05, "{:?}", several.numbers["spread"]);
    // The same in blocks too faint for it.
    let faint = pair(|i| if in_passage(i) { 0.03 } else { 0.02 }, b).ratio();
    assert_eq!(faint.verdict, "cannot be judged", "{}", faint.sentence);
}

#[test]
fn where_b_is_missing_there_is_only_a_lower_limit() {
    let a = |i| if in_passage(i) { 50.0 } else { 2.0 };
    let b = |i: usize| if in_passage(i) && at(i).0 < 40 { 103.0 } else { 3.0 };
    let answer = pair(a, b).ratio();
    let limit = &answer.numbers["count_ratio_where_b_not_detected"];
    assert!(
        limit.value.is_none() && limit.low.unwrap() > 10.0 && limit.reason.contains("lower limit"),
        "{limit:?}"
    );
    let nowhere = pair(a, |_| 3.0).ratio();
    assert_eq!(nowhere.verdict, "cannot be judged");
    assert!(nowhere.numbers["count_ratio"].value.is_none());
}

#[test]
fn near_its_critical_level_b_does_not_choose_the_pixels() {
    let (a, b) = (|i| if in_passage(i) { 12.0 } else { 2.0 }, |i| if in_passage(i) { 8.0 } else { 2.0 });
    let scene = pair(a, b);
    let (field, _) = scene.ask("ratio", json!({"a": "m1", "b": "m2"}));
    assert_eq!(field.verdict, "cannot be judged");
    assert!(field.sentence.contains("near its critical level"), "{}", field.sentence);
    let region = scene.ratio();
    let ratio = &region.numbers["count_ratio"];
    assert!(ratio.low.unwrap() < 10.0 / 6.0 && 10.0 / 6.0 < ratio.high.unwrap(), "{ratio:?}");
    assert!(region.sentence.starts_with("Over all pixels in “passage”"), "{}", region.sentence);
}

#[test]
fn fitted_maps_have_ratios_with_the_intervals_of_their_errors() {
    let fitted = |a_sigma: f64, b_sigma: f64| {
        Scene::new()
            .with("Mn K", Kind::Fitted, fits(30, a_sigma, |i| if in_passage(i) { 40.0 } else { 0.0 }))
            .with_errors(a_sigma)
            .with("Fe K", Kind::Fitted, fits(31, b_sigma, |i| if in_passage(i) { 200.0 } else { 0.0 }))
            .with_errors(b_sigma)
            .with_passage_and_support()
            .ratio()
    };
    let answer = fitted(4.0, 8.0);
    let ratio = &answer.numbers["count_ratio"];
    assert!(ratio.low.unwrap() < 0.2 && 0.2 < ratio.high.unwrap(), "{ratio:?}");
    assert_eq!(answer.verdict, "one value", "{}", answer.sentence);
    assert!(answer.cautions.iter().any(|caution| caution.contains("independent")));
    let copies = Scene::new()
        .with("Mn K", Kind::DisplayCopy, counts(1, |_| 9.0))
        .with("Fe K", Kind::DisplayCopy, counts(2, |_| 9.0))
        .with_passage_and_support()
        .ratio();
    assert!(
        copies.verdict == "cannot be judged" && copies.sentence.contains("picture"),
        "{}",
        copies.sentence
    );
}
