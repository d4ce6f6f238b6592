//! The question on materials by the public calls, on made stacks: integer formulas for the means, counts by chance. What each
//! passage is, is known; what must not be said of it, too.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail

use limner::ask::{AnalysisPoint, Answer, Known, Measuring, Says, Subject, ask};
use limner::element::Line;
use limner::grid::{Grid, Mask, Samples};
use limner::kind::Kind;
use limner::numerics::chance::Chance;
use limner::region::{Region, RegionRole};
use limner::stack::{Map, MapId, Source, Stack};
use serde_json::{Value, json};

const WIDTH: u32 = 80;
const HEIGHT: u32 = 60;
/// Where the passage lies, and bare paper.
const PASSAGE: (u32, u32, u32, u32) = (10, 10, 30, 24);
const PAPER: (u32, u32, u32, u32) = (52, 6, 22, 40);

fn is_in((x, y, width, height): (u32, u32, u32, u32), u: u32, v: u32) -> bool {
    (x..x + width).contains(&u) && (y..y + height).contains(&v)
}

fn region(id: &str, name: &str, role: RegionRole, at: (u32, u32, u32, u32)) -> Region {
    let inside = (0..WIDTH * HEIGHT).map(|i| is_in(at, i % WIDTH, i / WIDTH)).collect();
    Region {
        id: id.into(),
        name: name.into(),
        role,
        makers: Vec::new(),
        pure: None,
        caution: String::new(),
        mask: Mask::from_vec(WIDTH, HEIGHT, inside).unwrap(),
    }
}

fn regions() -> Vec<Region> {
    vec![
        region("r1", "border", RegionRole::Passage, PASSAGE),
        region("r2", "paper", RegionRole::BareSupport, PAPER),
    ]
}

/// A map of a line: mean counts beside the passage, and inside.
struct Of(&'static str, f64, f64);

fn counts(number: u32, Of(line, beside, inside): &Of) -> Map {
    let mut chance = Chance::new(u64::from(number) + 100);
    let values: Vec<u16> = (0..WIDTH * HEIGHT)
        .map(|i| {
            let (x, y) = (i % WIDTH, i / WIDTH);
            // Paint is not laid on evenly: a wave of a tenth over some ten pixels.
            let wave = 1.0 + 0.02 * (f64::from((x + 2 * y) % 11) - 5.0);
            let mean = if is_in(PASSAGE, x, y) { inside * wave } else { *beside };
            chance.poisson(mean) as u16
        })
        .collect();
    map(number, line, Kind::Window, Samples::U16(Grid::from_vec(WIDTH, HEIGHT, values).unwrap()))
}

fn map(number: u32, line: &str, kind: Kind, samples: Samples) -> Map {
    let source = Source { file: format!("{line}.tif"), page: 0, sha256: format!("hash of {line}") };
    let mut map = Map::new(MapId::new(number), source, String::new(), Line::parse(line), samples).unwrap();
    map.kind = kind;
    map
}

fn stack(maps: &[Of]) -> Stack {
    let mut stack = Stack::default();
    for (i, of) in maps.iter().enumerate() {
        stack.push(counts(i as u32 + 1, of));
    }
    stack
}

fn asked(stack: &Stack, regions: &[Region], known: &Known, settings: Value) -> Answer {
    let subject = Subject::new(stack, regions, None).with_known(known);
    let (answer, _) = ask("materials", settings, &subject, &mut |_, _| {}).unwrap();
    // To be read with --nocapture.
    println!("\n{}: {}\n  {:?}", answer.verdict, answer.sentence, answer.stability.as_ref().map(|s| &s.text));
    let part = answer.materials.as_ref().unwrap();
    for row in &part.elements {
        println!("  {} [{}] {}", row.element, row.state, row.text);
    }
    for row in &part.materials {
        println!("  {}: {} ({})", row.name, row.verdict_text, row.reasons.first().map_or("", |r| &r.text));
    }
    for set in &part.sets {
        println!("  set: {}", set.text);
    }
    for next in &part.measure_next {
        println!("  next: {} at {}: {} {:?}", next.technique, next.place_text, next.reason, next.between);
    }
    answer
}

fn state<'a>(answer: &'a Answer, element: &str) -> &'a str {
    let rows = &answer.materials.as_ref().unwrap().elements;
    &rows.iter().find(|row| row.element == element).unwrap_or_else(|| panic!("no {element}")).state
}

/// The verdict on a material; empty where it is not listed.
fn verdict<'a>(answer: &'a Answer, id: &str) -> &'a str {
    let rows = &answer.materials.as_ref().unwrap().materials;
    rows.iter().find(|row| row.id == id).map_or("", |row| &row.verdict)
}

/// A border of red lead, whose lead falls into the window of arsenic: 8 of 10 counts, as of two lines 9 eV apart.
fn red_lead() -> Vec<Of> {
    vec![
        Of("Pb L", 2.0, 400.0),
        Of("As K", 1.0, 320.0),
        Of("Hg L", 1.5, 1.5),
        Of("Ca K", 60.0, 4.0),
        Of("Fe K", 3.0, 3.0),
        Of("Cu K", 1.0, 1.0),
        Of("Zn K", 1.2, 1.2),
    ]
}

#[test]
fn red_lead_is_consistent_and_its_false_arsenic_cannot_be_judged() {
    let answer = asked(
        &stack(&red_lead()),
        &regions(),
        &Known::default(),
        json!({"region": "border", "colour": "red", "from": 1640, "to": 1670}),
    );
    assert_eq!(answer.verdict, "consistent with");
    assert_eq!((state(&answer, "Pb"), state(&answer, "As")), ("detected", "cannot be judged"));
    assert_eq!(state(&answer, "Hg"), "not detected");
    // The paper holds more than the paint over it: no material of the paint, none excluded.
    assert_eq!(state(&answer, "Ca"), "as below");
    assert_eq!(verdict(&answer, "red_lead"), "consistent with");
    assert_eq!(verdict(&answer, "vermilion"), "would have been seen above x at the surface");
    // Nothing may rest on arsenic here.
    for id in ["orpiment", "realgar"] {
        assert!(
            !["consistent with", "identified (technique, point)"].contains(&verdict(&answer, id)),
            "{id}"
        );
    }
    assert!(answer.sentence.starts_with("The red of “border” is consistent with"), "{}", answer.sentence);
    assert!(answer.sentence.contains("As cannot be judged there, because"), "{}", answer.sentence);
    assert!(answer.sentence.contains("Pb L"), "{}", answer.sentence);
    for word in ["contains", "proves", "amount"] {
        assert!(!answer.sentence.contains(word), "{}", answer.sentence);
    }
    assert!(answer.stability.is_some());
    let limit = answer.numbers["limit_Hg"].value.unwrap();
    assert!(limit > 1.5 && limit < 1.8, "all that was counted taken for signal: {limit}");
}

#[test]
fn places_to_measure_lie_inside_and_apart() {
    let known = Known::default();
    let answer = asked(&stack(&red_lead()), &regions(), &known, json!({"region": "border", "colour": "red"}));
    let next = &answer.materials.as_ref().unwrap().measure_next;
    assert!(next.len() > 1, "{next:?}");
    for place in next {
        let [x, y] = place.at;
        assert!(is_in((11, 11, 28, 22), x as u32, y as u32), "off the rim: {place:?}");
        assert!(place.place_text.contains("pixel") && !place.reason.is_empty(), "{place:?}");
    }
    let again = asked(&stack(&red_lead()), &regions(), &known, json!({"region": "border", "colour": "red"}));
    assert_eq!(answer, again, "the same answer in every byte");
}

#[test]
fn vermilion_is_consistent_where_mercury_is_detected() {
    let maps = [
        Of("Hg L", 1.5, 260.0),
        Of("Pb L", 2.0, 2.0),
        Of("Ca K", 60.0, 4.0),
        Of("Fe K", 3.0, 2.5),
        Of("Cu K", 1.0, 1.0),
    ];
    let answer =
        asked(&stack(&maps), &regions(), &Known::default(), json!({"region": "border", "colour": "red"}));
    assert_eq!((answer.verdict.as_str(), state(&answer, "Hg")), ("consistent with", "detected"));
    assert_eq!(verdict(&answer, "vermilion"), "consistent with");
    assert_ne!(verdict(&answer, "red_lead"), "consistent with");
}

#[test]
fn smalt_keeps_its_arsenic_where_there_is_no_lead() {
    let maps = [
        Of("Co K", 1.0, 180.0),
        Of("Ni K", 1.0, 25.0),
        Of("As K", 1.0, 70.0),
        Of("K K", 6.0, 40.0),
        Of("Bi L", 0.5, 12.0),
        Of("Pb L", 2.0, 2.0),
        Of("Ca K", 60.0, 30.0),
        Of("Fe K", 3.0, 12.0),
        Of("Cu K", 1.0, 1.0),
    ];
    let answer =
        asked(&stack(&maps), &regions(), &Known::default(), json!({"region": "border", "colour": "blue"}));
    assert_eq!((state(&answer, "As"), state(&answer, "Co")), ("detected", "detected"));
    assert_eq!(verdict(&answer, "smalt"), "consistent with");
    assert_ne!(verdict(&answer, "azurite"), "consistent with");
}

#[test]
fn a_copper_green_on_paper_with_chalk_leaves_the_chalk_to_the_paper() {
    let maps = [
        Of("Cu K", 1.0, 320.0),
        Of("Zn K", 1.2, 1.2),
        Of("As K", 1.0, 1.0),
        Of("Pb L", 2.0, 2.0),
        Of("Ca K", 80.0, 35.0),
        Of("Fe K", 3.0, 3.0),
        Of("Cr K", 1.0, 1.0),
    ];
    let answer =
        asked(&stack(&maps), &regions(), &Known::default(), json!({"region": "border", "colour": "green"}));
    assert_eq!((state(&answer, "Cu"), state(&answer, "Ca")), ("detected", "as below"));
    assert_eq!(answer.verdict, "consistent with");
    let sets = &answer.materials.as_ref().unwrap().sets;
    assert!(sets.iter().all(|set| !set.materials.iter().any(|id| id.contains("chalk"))), "{sets:?}");
}

#[test]
fn where_nothing_is_seen_nothing_is_said() {
    let maps = [Of("Cu K", 1.0, 1.0), Of("Pb L", 2.0, 2.0), Of("Fe K", 3.0, 3.0), Of("Ca K", 60.0, 55.0)];
    let answer =
        asked(&stack(&maps), &regions(), &Known::default(), json!({"region": "border", "colour": "blue"}));
    assert_eq!(answer.verdict, "no evidence in these maps");
    assert!(answer.sentence.contains("no element is detected"), "{}", answer.sentence);
    let part = answer.materials.as_ref().unwrap();
    assert!(part.materials.iter().all(|row| row.verdict != "consistent with"), "{:?}", part.materials);
}

#[test]
fn pictures_of_maps_and_normalised_ones_cannot_be_judged() {
    let mut stack = Stack::default();
    for (number, line, kind) in [(1, "Cu K", Kind::DisplayCopy), (2, "Pb L", Kind::Normalised)] {
        let values = (0..WIDTH * HEIGHT).map(|i| if is_in(PASSAGE, i % WIDTH, i / WIDTH) { 200 } else { 3 });
        let samples = Samples::U8(Grid::from_vec(WIDTH, HEIGHT, values.collect()).unwrap());
        stack.push(map(number, line, kind, samples));
    }
    let answer = asked(&stack, &regions(), &Known::default(), json!({"region": "border"}));
    assert_eq!((state(&answer, "Cu"), state(&answer, "Pb")), ("cannot be judged", "cannot be judged"));
    assert_eq!(answer.verdict, "no evidence in these maps");
    assert!(answer.sentence.starts_with("Nothing can be said of"), "{}", answer.sentence);
}

#[test]
fn a_region_is_no_evidence_for_the_map_that_made_it() {
    let mut regions = regions();
    regions[0].makers = vec![MapId::new(1)];
    let answer = asked(&stack(&red_lead()), &regions, &Known::default(), json!({"region": "border"}));
    assert_eq!(state(&answer, "Pb"), "cannot be judged");
    let part = answer.materials.as_ref().unwrap();
    assert!(part.elements.iter().any(|row| row.text.contains("was made from Pb L")), "{:?}", part.elements);
    assert_eq!(answer.verdict, "no evidence in these maps", "{}", answer.sentence);
}

#[test]
fn maps_of_the_same_numbers_are_not_both_believed() {
    let mut stack = stack(&red_lead());
    let same = stack.maps()[0].plane.samples().clone();
    stack.push(map(20, "Sn L", Kind::Window, same));
    let answer = asked(&stack, &regions(), &Known::default(), json!({"region": "border"}));
    assert_eq!((state(&answer, "Pb"), state(&answer, "Sn")), ("cannot be judged", "cannot be judged"));
}

#[test]
fn a_line_that_the_tube_does_not_excite_was_not_measured() {
    let known = Known { measuring: Measuring { kv: Some(9.0), ..Measuring::default() }, ..Known::default() };
    let answer = asked(&stack(&red_lead()), &regions(), &known, json!({"region": "border"}));
    for element in ["Pb", "Hg", "As"] {
        assert_eq!(state(&answer, element), "not measured", "{element}");
    }
    assert_ne!(verdict(&answer, "vermilion"), "would have been seen above x at the surface");
}

#[test]
fn a_point_identifies_inside_and_nothing_from_outside() {
    let point = |at: (f64, f64), says: Says| AnalysisPoint {
        id: "p1".into(),
        name: "7".into(),
        at,
        technique: "Raman".into(),
        result: "bands near 253 and 343".into(),
        pigment: Some("vermilion".into()),
        says,
    };
    let maps = [Of("Hg L", 1.5, 260.0), Of("Pb L", 2.0, 2.0), Of("Ca K", 60.0, 4.0), Of("Fe K", 3.0, 2.5)];
    let stack = stack(&maps);
    let settings = || json!({"region": "border", "colour": "red"});
    let with = |points: Vec<AnalysisPoint>| {
        asked(&stack, &regions(), &Known { points, ..Known::default() }, settings())
    };
    let inside = with(vec![point((20.5, 20.5), Says::Found)]);
    assert_eq!(inside.verdict, "identified (technique, point)");
    assert!(inside.sentence.contains("vermilion or cinnabar (Raman, point “7”)"), "{}", inside.sentence);
    let outside = with(vec![point((70.5, 20.5), Says::Found)]);
    assert_eq!(outside.verdict, "consistent with");
    // What was not found excludes nothing.
    let not_found = with(vec![point((20.5, 20.5), Says::NotFound)]);
    assert_eq!(verdict(&not_found, "vermilion"), "consistent with");
}

#[test]
fn odd_settings_get_one_sentence() {
    let (stack, regions) = (stack(&red_lead()), regions());
    let subject = Subject::new(&stack, &regions, None);
    for (settings, want) in [
        (json!({"colour": "beige"}), "`colour` is “beige”"),
        (json!({"from": 1670, "to": 1640}), "must not be the later one"),
        (json!({"region": "nowhere"}), "no region “nowhere”"),
        (json!({"map": "Cu K"}), "`map` is no setting of this question"),
    ] {
        let fault = ask("materials", settings.clone(), &subject, &mut |_, _| {}).unwrap_err();
        assert!(fault.message.contains(want), "{settings}: {}", fault.message);
    }
    let empty = Stack::default();
    let fault = ask("materials", json!({}), &Subject::new(&empty, &[], None), &mut |_, _| {}).unwrap_err();
    assert!(fault.message.starts_with("There is no map of a known element"), "{}", fault.message);
}

fn dated(stack: &Stack, regions: &[Region], settings: Value) -> Answer {
    let known = Known::default();
    let subject = Subject::new(stack, regions, None).with_known(&known);
    let (answer, _) = ask("dates", settings, &subject, &mut |_, _| {}).unwrap();
    println!("\n{}: {}", answer.verdict, answer.sentence);
    for row in &answer.dates.as_ref().unwrap().rows {
        println!("  {}: {} {:?}", row.name, row.verdict_text, row.explanations);
    }
    answer
}

#[test]
fn titanium_without_iron_is_later_and_its_innocent_explanation_comes_first() {
    // Titanium white; of its counts at Ba Lα a fit has left little.
    let maps = [
        Of("Ti K", 1.0, 400.0),
        Of("Ba L", 1.0, 40.0),
        Of("Fe K", 3.0, 3.0),
        Of("Ca K", 60.0, 50.0),
        Of("Zn K", 1.2, 1.2),
        Of("Pb L", 2.0, 2.0),
    ];
    let settings = json!({"region": "border", "from": 1640, "to": 1670});
    let answer = dated(&stack(&maps), &regions(), settings);
    assert_eq!(answer.verdict, "does not fit", "{}", answer.sentence);
    assert!(answer.sentence.starts_with("A later repair, retouching"), "{}", answer.sentence);
    assert!(answer.sentence.contains("Ti in “border”") && answer.sentence.contains("1640 to 1670"));
    let rows = &answer.dates.as_ref().unwrap().rows;
    let titanium = rows.iter().find(|row| row.id == "Ti").unwrap();
    assert!(titanium.is_element && titanium.verdict == "does not fit", "{titanium:?}");
    assert!(!titanium.explanations.is_empty() && !titanium.basis.is_empty());
    // Barium hides behind titanium here, so nothing is said of it.
    assert!(rows.iter().all(|row| row.id != "Ba" || row.verdict == "cannot be judged"), "{rows:?}");
}

#[test]
fn old_materials_fit_and_support_no_date() {
    let settings = json!({"region": "border", "from": 1640, "to": 1670});
    let answer = dated(&stack(&red_lead()), &regions(), settings);
    assert_ne!(answer.verdict, "does not fit", "{}", answer.sentence);
    let rows = &answer.dates.as_ref().unwrap().rows;
    assert!(rows.iter().all(|row| row.verdict != "does not fit"), "{rows:?}");
}

#[test]
fn titanium_that_goes_with_iron_is_an_accessory_of_an_earth() {
    let maps = [
        Of("Ti K", 1.0, 14.0),
        Of("Fe K", 3.0, 300.0),
        Of("Ba L", 1.0, 1.0),
        Of("Ca K", 60.0, 50.0),
        Of("Mn K", 1.0, 6.0),
        Of("Pb L", 2.0, 2.0),
    ];
    let settings = json!({"region": "border", "from": 1640, "to": 1670});
    let answer = dated(&stack(&maps), &regions(), settings);
    assert_ne!(answer.verdict, "does not fit", "{}", answer.sentence);
}

#[test]
fn dates_ask_for_a_span() {
    let (stack, regions) = (stack(&red_lead()), regions());
    let subject = Subject::new(&stack, &regions, None);
    for settings in [json!({}), json!({"from": 1640})] {
        let fault = ask("dates", settings, &subject, &mut |_, _| {}).unwrap_err();
        assert!(fault.message.starts_with("`from` and `to` are not given"), "{}", fault.message);
    }
}
