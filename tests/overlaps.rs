//! Lines of other elements in a map: what they could give is neither detected nor apart, and what goes beyond it is. Made
//! counts; energies and their distances are those of two libraries (see `tests/reference`).
#![allow(clippy::unwrap_used, clippy::panic)] // a test may fail

use limner::ask::{self, Answer, Known, LineWarning, Raster, Rasters, Subject};
use limner::element::{Element, Line};
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

/// Lead alone along the top.
fn in_border(i: usize) -> bool {
    at(i).1 < 8
}

/// Bare paper on the left.
fn on_support(i: usize) -> bool {
    let (x, y) = at(i);
    x < 10 && y >= 12
}

/// Two passages side by side.
fn in_white(i: usize) -> bool {
    let (x, y) = at(i);
    (16..36).contains(&x) && (20..50).contains(&y)
}

fn in_blue(i: usize) -> bool {
    let (x, y) = at(i);
    (42..60).contains(&x) && (20..50).contains(&y)
}

fn counts(seed: u64, mean: impl Fn(usize) -> f64) -> Samples {
    let mut chance = Chance::new(seed);
    let values = (0..PIXELS).map(|i| chance.poisson(mean(i)) as u32).collect();
    Samples::U32(Grid::from_vec(SIDE, SIDE, values).unwrap())
}

#[derive(Default)]
struct Scene {
    stack: Stack,
    regions: Vec<Region>,
    known: Known,
}

impl Scene {
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

    fn with_region(
        mut self,
        name: &str,
        role: RegionRole,
        pure: Option<&str>,
        inside: impl Fn(usize) -> bool,
    ) -> Self {
        let mask = Mask::from_vec(SIDE, SIDE, (0..PIXELS).map(inside).collect()).unwrap();
        let id = format!("r{}", self.regions.len() + 1);
        self.regions.push(Region {
            id,
            name: name.into(),
            role,
            makers: Vec::new(),
            pure: pure.and_then(Element::from_symbol),
            caution: String::new(),
            mask,
        });
        self
    }

    fn with_passages(self) -> Self {
        self.with_region("white", RegionRole::Passage, None, in_white)
            .with_region("blue", RegionRole::Passage, None, in_blue)
            .with_region("paper", RegionRole::BareSupport, None, on_support)
    }

    fn subject(&self) -> Subject<'_> {
        Subject::new(&self.stack, &self.regions, None).with_known(&self.known)
    }

    fn ask(&self, question: &str, settings: Value) -> (Answer, Rasters) {
        ask::ask(question, settings, &self.subject(), &mut |_, _| {}).unwrap()
    }

    fn faint(&self, map: &str, region: &str) -> Answer {
        self.ask("faint", json!({"map": map, "region": region})).0
    }

    fn warnings(&self, map: &str) -> Vec<LineWarning> {
        let all = ask::overlaps(&self.subject()).unwrap();
        all.into_iter().filter(|warning| warning.map == map).collect()
    }
}

/// Lead of the border and of the white passage, arsenic of the blue one; `share` of the lead falls into the arsenic.
fn lead(i: usize) -> f64 {
    3.0 + if in_border(i) {
        400.0
    } else if in_white(i) {
        250.0
    } else {
        0.0
    }
}

fn arsenic(share: f64, own_in_white: f64) -> impl Fn(usize) -> f64 {
    move |i| {
        let own = if in_blue(i) { 40.0 } else { 0.0 } + if in_white(i) { own_in_white } else { 0.0 };
        2.0 + share * (lead(i) - 3.0) + own
    }
}

fn lead_and_arsenic(seed: u64, share: f64, own_in_white: f64) -> Scene {
    Scene::default()
        .with("As K", Kind::Window, counts(seed, arsenic(share, own_in_white)))
        .with("Pb L", Kind::Window, counts(seed + 1000, lead))
        .with_passages()
}

fn with_border(scene: Scene) -> Scene {
    scene.with_region("border", RegionRole::Passage, Some("Pb"), in_border)
}

#[test]
fn false_arsenic_over_lead_cannot_be_judged_and_arsenic_beside_it_is_detected() {
    // By theory As Kα and Pb Lα are one peak (10.54 and 10.55 keV): all of it could be lead.
    let scene = lead_and_arsenic(1, 0.8, 0.0);
    let white = scene.faint("As K", "white");
    assert_eq!(white.verdict, "cannot be judged here", "{}", white.sentence);
    assert!(
        white.sentence.contains("lines of Pb L") && white.sentence.contains("Pb Lα"),
        "{}",
        white.sentence
    );
    let blue = scene.faint("As K", "blue");
    assert_eq!(blue.verdict, "detected", "{}", blue.sentence);
    let caution = |answer: &Answer| answer.cautions.iter().any(|c| c.contains("Pb Lα lies"));
    assert!(caution(&white) && caution(&blue), "{:#?}", blue.cautions);
    let (_, rasters) = scene.ask("faint", json!({"map": "As K"}));
    let Raster::U8(classes) = &rasters["classes"] else { panic!() };
    let in_white = (0..PIXELS).filter(|&i| in_white(i)).map(|i| classes.data()[i]);
    assert!(in_white.clone().all(|class| class == 5), "{:?}", in_white.collect::<Vec<_>>());
    let blue = || (0..PIXELS).filter(|&i| in_blue(i));
    let detected = blue().filter(|&i| classes.data()[i] == 2).count();
    // Some pixels count more of the background of Pb L than others.
    assert!(10 * detected > 9 * blue().count(), "{detected}");
}

#[test]
fn what_counts_no_more_than_background_is_not_detected_whatever_could_overlap() {
    let scene = lead_and_arsenic(2, 0.0, 0.0);
    let white = scene.faint("As K", "white");
    assert_eq!(white.verdict, "not detected (below x)", "{}", white.sentence);
}

#[test]
fn a_share_measured_in_a_region_taken_as_pure_stands_for_theory() {
    let scene = with_border(lead_and_arsenic(3, 0.041, 0.0));
    let warnings = scene.warnings("m1");
    let lead = warnings.iter().find(|warning| warning.by_map.as_deref() == Some("m2")).unwrap();
    assert_eq!((lead.by.as_str(), lead.how, lead.grade), ("Pb Lα", "line", "same peak"));
    assert_eq!((lead.mark.as_str(), lead.measured_in.as_deref()), ("overlap Pb", Some("border")));
    assert!(lead.share.value.is_some_and(|v| (v - 0.041).abs() < 0.002), "{:?}", lead.share);
    assert!(lead.share.low.unwrap() < 0.041 && 0.041 < lead.share.high.unwrap(), "{:?}", lead.share);
    assert!(lead.text.contains("In “border”, taken as lead only, As K is 0.041 ± 0.00"), "{}", lead.text);
    assert!(lead.consequence.contains("Lead paint looks like arsenic") && !lead.check.is_empty());
    // As much again is more than the border explains; the same is not.
    assert_eq!(scene.faint("As K", "white").verdict, "cannot be judged here");
    let more = with_border(lead_and_arsenic(3, 0.041, 12.0));
    let white = more.faint("As K", "white");
    assert_eq!(white.verdict, "detected", "{}", white.sentence);
    // Without the border theory alone cannot say so.
    assert_eq!(lead_and_arsenic(3, 0.041, 12.0).faint("As K", "white").verdict, "cannot be judged here");
}

#[test]
fn overlap_is_never_called_detected_nor_apart_nor_one_pattern() {
    for seed in 0..12 {
        // The lead of the passage is laid on thinner: its share is 8 % larger than in the border.
        let share = |i: usize| if in_white(i) { 0.054 } else { 0.05 };
        let mean = move |i: usize| 2.0 + share(i) * (lead(i) - 3.0);
        let scene = Scene::default().with("As K", Kind::Window, counts(10 + seed, mean)).with(
            "Pb L",
            Kind::Window,
            counts(500 + seed, lead),
        );
        let scene = with_border(scene.with_passages());
        assert_eq!(scene.faint("As K", "white").verdict, "cannot be judged here", "{seed}");
        let pair = json!({"a": "As K", "b": "Pb L"});
        for question in ["apart", "together", "ratio"] {
            let (answer, _) = scene.ask(question, pair.clone());
            assert_eq!(answer.verdict, "cannot be judged", "{question} {seed}: {}", answer.sentence);
        }
    }
}

#[test]
fn arsenic_without_lead_is_found_beside_lead_that_makes_a_false_one() {
    let scene = lead_and_arsenic(4, 0.8, 0.0);
    let (answer, rasters) = scene.ask("apart", json!({"a": "As K", "b": "Pb L"}));
    let Raster::U8(classes) = &rasters["classes"] else { panic!() };
    assert!((0..PIXELS).filter(|&i| in_white(i) || in_border(i)).all(|i| classes.data()[i] == 5));
    assert!(["more A than accompanies B", "cannot be judged"].contains(&answer.verdict.as_str()));
}

#[test]
fn a_third_element_cannot_make_a_without_b() {
    // Titanium that is nothing but barium, beside iron: it is not "titanium without iron".
    let barium = |i: usize| 3.0 + if in_blue(i) { 120.0 } else { 0.0 };
    let titanium = move |i: usize| 2.0 + 0.7 * (barium(i) - 3.0) + if in_white(i) { 20.0 } else { 0.0 };
    let iron = |i: usize| 4.0 + if in_white(i) { 150.0 } else { 0.0 };
    let scene = Scene::default().with("Ti K", Kind::Window, counts(5, titanium)).with(
        "Fe K",
        Kind::Window,
        counts(6, iron),
    );
    let alone = scene.with_passages();
    let (answer, _) = alone.ask("apart", json!({"a": "Ti K", "b": "Fe K"}));
    assert_eq!(answer.verdict, "more A than accompanies B");
    assert!(
        answer.cautions.iter().any(|c| c.contains("Ba was not measured")),
        "it is at least cautioned: {:#?}",
        answer.cautions
    );
    let with_barium = alone.with("Ba L", Kind::Window, counts(7, barium));
    let (answer, _) = with_barium.ask("apart", json!({"a": "Ti K", "b": "Fe K"}));
    assert_eq!(answer.verdict, "cannot be judged", "{}", answer.sentence);
    assert!(answer.sentence.contains("Ba L"), "{}", answer.sentence);
}

#[test]
fn a_job_gets_the_maps_that_interfere_and_the_pure_regions() {
    let scene = with_border(lead_and_arsenic(8, 0.041, 0.0));
    let settings = json!({"map": "As K", "region": "white"});
    let maps = ask::maps_needed("faint", &settings, &scene.subject()).unwrap();
    let maps: Vec<&str> = maps.iter().map(MapId::as_str).collect();
    assert_eq!(maps, ["m1", "m2"]);
    let regions = ask::regions_needed("faint", &settings, &scene.subject()).unwrap();
    let names: Vec<&str> = regions.iter().map(|region| region.name.as_str()).collect();
    assert_eq!(names, ["white", "paper", "border"]);
}

#[test]
fn a_picture_of_the_other_map_makes_its_strong_pixels_doubtful() {
    let copy = (0..PIXELS).map(|i| if lead(i) > 100.0 { 200u8 } else { 10 }).collect();
    let scene = Scene::default()
        .with("As K", Kind::Window, counts(9, arsenic(0.8, 0.0)))
        .with("Pb L", Kind::DisplayCopy, Samples::U8(Grid::from_vec(SIDE, SIDE, copy).unwrap()))
        .with_passages();
    assert_eq!(scene.faint("As K", "white").verdict, "cannot be judged here");
    assert_eq!(scene.faint("As K", "blue").verdict, "detected");
}

#[test]
fn a_line_of_the_instrument_counts_only_beyond_a_region() {
    let iron = |i: usize| 20.0 + if in_blue(i) { 17.0 } else { 0.0 };
    let made = || Scene::default().with("Fe K", Kind::Window, counts(11, iron));
    let region = |scene: Scene| scene.with_region("blue", RegionRole::Passage, None, in_blue);
    let known = Known { own_lines: vec![Line::parse("Fe K").unwrap()], ..Known::default() };
    let plain = region(made());
    assert_eq!(plain.faint("Fe K", "blue").verdict, "detected");
    let own = Scene { known: known.clone(), ..region(made()) };
    let answer = own.faint("Fe K", "blue");
    assert_eq!(answer.verdict, "cannot be judged here", "{}", answer.sentence);
    assert!(answer.sentence.contains("the instrument itself gives Fe K"), "{}", answer.sentence);
    let held = Scene { known, ..made().with_passages() };
    let answer = held.faint("Fe K", "blue");
    assert_eq!(answer.verdict, "detected", "{}", answer.sentence);
    assert!(answer.cautions.iter().any(|c| c.contains("instrument itself")), "{:#?}", answer.cautions);
}

#[test]
fn strong_neighbours_leave_a_strong_map_alone() {
    // Mn Kβ lies at Fe Kα and Fe Kβ at Co Kα: small beside a strong iron, large beside a faint cobalt.
    let iron = |i: usize| 5.0 + if in_white(i) { 400.0 } else { 0.0 };
    let manganese = |i: usize| 3.0 + if in_white(i) { 60.0 } else { 0.0 };
    let cobalt = |i: usize| 3.0 + if in_white(i) { 12.0 } else { 0.0 } + if in_blue(i) { 50.0 } else { 0.0 };
    let scene = Scene::default()
        .with("Mn K", Kind::Window, counts(12, manganese))
        .with("Fe K", Kind::Window, counts(13, iron))
        .with("Co K", Kind::Window, counts(14, cobalt))
        .with_passages();
    assert_eq!(scene.faint("Fe K", "white").verdict, "detected");
    assert_eq!(scene.faint("Mn K", "white").verdict, "detected");
    assert_eq!(scene.faint("Co K", "white").verdict, "cannot be judged here");
    assert_eq!(scene.faint("Co K", "blue").verdict, "detected");
    let (ratio, _) = scene.ask("ratio", json!({"a": "Mn K", "b": "Fe K", "region": "white"}));
    assert_eq!(ratio.verdict, "one value", "{}", ratio.sentence);
}
