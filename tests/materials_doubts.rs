//! What `materials` and `dates` must not say: made passages in which a reader would have been told too much, or the wrong
//! reason. Integer means, counts by chance.

#![allow(clippy::unwrap_used, clippy::panic, clippy::disallowed_methods, missing_docs)] // a test may fail

use limner::ask::{Answer, Known, Subject, ask};
use limner::element::Line;
use limner::grid::{Grid, Mask, Samples};
use limner::kind::Kind;
use limner::numerics::chance::Chance;
use limner::region::{Region, RegionRole};
use limner::stack::{Map, MapId, Source, Stack};
use serde_json::{Value, json};

const WIDTH: u32 = 80;
const HEIGHT: u32 = 60;

fn inside((x0, y0, width, height): (u32, u32, u32, u32)) -> Vec<bool> {
    let is_in = |x: u32, y: u32| (x0..x0 + width).contains(&x) && (y0..y0 + height).contains(&y);
    (0..WIDTH * HEIGHT).map(|i| is_in(i % WIDTH, i / WIDTH)).collect()
}

fn region(id: &str, name: &str, role: RegionRole, mask: Vec<bool>) -> Region {
    Region {
        id: id.into(),
        name: name.into(),
        role,
        makers: Vec::new(),
        pure: None,
        caution: String::new(),
        mask: Mask::from_vec(WIDTH, HEIGHT, mask).unwrap(),
    }
}

/// Maps of a line with mean counts on the paper and in the passage, which is one pixel wide where `is_thin`.
fn asked(question: &str, maps: &[(&str, f64, f64)], is_thin: bool, mut settings: Value) -> Answer {
    let passage = inside(if is_thin { (10, 10, 40, 1) } else { (10, 10, 30, 24) });
    let mut stack = Stack::default();
    for (number, (line, paper, paint)) in (1u32..).zip(maps) {
        let mut chance = Chance::new(u64::from(number) + 300);
        let counts: Vec<u16> =
            passage.iter().map(|is_in| chance.poisson(if *is_in { *paint } else { *paper }) as u16).collect();
        let source = Source { file: format!("{line}.tif"), page: 0, sha256: format!("hash of {line}") };
        let samples = Samples::U16(Grid::from_vec(WIDTH, HEIGHT, counts).unwrap());
        let mut map =
            Map::new(MapId::new(number), source, String::new(), Line::parse(line), samples).unwrap();
        map.kind = Kind::Window;
        stack.push(map);
    }
    let regions = [
        region("r1", "border", RegionRole::Passage, passage),
        region("r2", "paper", RegionRole::BareSupport, inside((52, 6, 22, 40))),
    ];
    settings["region"] = json!("border");
    let known = Known::default();
    let subject = Subject::new(&stack, &regions, None).with_known(&known);
    let (answer, _) = ask(question, settings, &subject, &mut |_, _| {}).unwrap();
    println!("\n{}: {}\n{:?}", answer.verdict, answer.sentence, answer.stability.as_ref().map(|s| &s.text));
    for row in answer.materials.iter().flat_map(|part| &part.elements) {
        println!("  {}", row.text);
    }
    answer
}

fn element<'a>(answer: &'a Answer, symbol: &str) -> (&'a str, &'a str) {
    let rows = &answer.materials.as_ref().unwrap().elements;
    let row = rows.iter().find(|row| row.element == symbol).unwrap_or_else(|| panic!("no {symbol}"));
    (&row.state, &row.text)
}

fn verdict<'a>(answer: &'a Answer, id: &str) -> &'a str {
    let rows = &answer.materials.as_ref().unwrap().materials;
    rows.iter().find(|row| row.id == id).map_or("", |row| &row.verdict)
}

#[test]
fn a_little_under_strong_harder_lines_may_be_their_tail() {
    let maps = [
        ("Ba L", 3.0, 8.7),
        ("Ti K", 1.0, 1.0),
        ("Hg L", 20.0, 13_900.0),
        ("Pb L", 60.0, 8_600.0),
        ("Fe K", 30.0, 20.0),
    ];
    let answer = asked("materials", &maps, false, json!({"colour": "red"}));
    let (state, text) = element(&answer, "Ba");
    assert_eq!(state, "cannot be judged", "{text}");
    assert!(text.contains("the tail that strong lines, as Hg L, leave"), "{text}");
    assert_ne!(verdict(&answer, "barium_sulfate"), "consistent with");
    // The same counts without strong lines beside them are barium.
    let alone = [
        ("Ba L", 3.0, 8.7),
        ("Ti K", 1.0, 1.0),
        ("Hg L", 20.0, 20.0),
        ("Pb L", 60.0, 60.0),
        ("Fe K", 30.0, 30.0),
    ];
    assert_eq!(element(&asked("materials", &alone, false, json!({})), "Ba").0, "detected");
}

#[test]
fn paint_that_scatters_less_than_paper_is_no_place_for_what_neither_holds() {
    // A continuum of 20 on the paper and of 8 on the lead: no tin in either.
    let maps = [("Sn K", 20.0, 8.0), ("Pb L", 60.0, 20_000.0), ("Ca K", 600.0, 40.0), ("Hg L", 20.0, 20.0)];
    let answer = asked("materials", &maps, false, json!({"colour": "yellow"}));
    assert_eq!(element(&answer, "Sn").0, "not detected");
    assert_ne!(verdict(&answer, "lead_tin_yellow_i"), "consistent with");
    // What the paper holds stays hidden below the paint.
    assert_eq!(element(&answer, "Ca").0, "as below");
}

#[test]
fn only_what_is_detected_is_named_as_an_absorber() {
    // Bismuth, a shoulder of the lead here, cannot be judged.
    let maps =
        [("Bi L", 22.0, 100.0), ("Pb L", 60.0, 20_000.0), ("Cu K", 16.0, 16.0), ("As K", 24.0, 15_000.0)];
    let answer = asked("materials", &maps, false, json!({"colour": "white"}));
    assert_eq!(element(&answer, "Bi").0, "cannot be judged");
    let (state, text) = element(&answer, "Cu");
    assert!(state == "not detected" && text.contains("Pb in the passage swallows Cu K"), "{text}");
}

#[test]
fn a_green_is_first_told_as_what_is_mostly_green() {
    let maps = [
        ("Cu K", 16.0, 8_000.0),
        ("Fe K", 30.0, 30.0),
        ("Pb L", 60.0, 60.0),
        ("Ba L", 3.0, 3.0),
        ("Ti K", 1.0, 3.0),
    ];
    let answer = asked("materials", &maps, false, json!({"colour": "green"}));
    assert!(
        answer.sentence.starts_with("The green of “border” is consistent with verdigris"),
        "{}",
        answer.sentence
    );
    // Neither a white nor its barium is worth a word in a green.
    assert!(!answer.sentence.contains("Ti cannot"), "{}", answer.sentence);
    assert_eq!(verdict(&answer, "azurite"), "consistent with");
    // What is the same for many is said once.
    let rows = &answer.materials.as_ref().unwrap().materials;
    let malachite = rows.iter().find(|row| row.id == "malachite").unwrap();
    let alike =
        malachite.reasons.iter().filter(|reason| reason.text.starts_with("XRF does not tell it from"));
    assert_eq!(alike.count(), 1, "{:?}", malachite.reasons);
}

#[test]
fn a_thin_region_made_smaller_tips_no_verdict() {
    let maps = [("Cu K", 16.0, 8_000.0), ("Fe K", 30.0, 30.0), ("Pb L", 60.0, 60.0)];
    let stability = asked("materials", &maps, true, json!({"colour": "green"})).stability.unwrap();
    assert!(!stability.text.contains("1 pixel smaller"), "{}", stability.text);
    assert!(stability.text.contains("1 pixel larger"), "{}", stability.text);
}

#[test]
fn what_cannot_be_judged_is_not_said_to_be_seen() {
    let maps = [("Cu K", 16.0, 8_000.0), ("Ti K", 1.0, 3.0), ("Ba L", 1.0, 3.0), ("Fe K", 30.0, 30.0)];
    let answer = asked("dates", &maps, false, json!({"from": 1640, "to": 1670}));
    if answer.verdict == "cannot be judged" {
        assert!(answer.sentence.contains("which could tell, cannot be judged there"), "{}", answer.sentence);
        assert!(!answer.sentence.contains("older explanations"), "{}", answer.sentence);
    } else {
        assert_ne!(answer.verdict, "does not fit", "{}", answer.sentence);
    }
}

#[test]
fn a_soft_line_alone_shows_no_element_whose_hard_line_is_no_more_than_below() {
    // Gold L stands out on the paper, and is less under the paint: what its soft line counts there is something else.
    let maps = [
        ("Au L", 60.0, 20.0),
        ("Hg L", 20.0, 20.0),
        ("Zn K", 18.0, 18.0),
        ("Au M", 5.0, 100.0),
        ("Hg M", 1.0, 1.0),
        ("P K", 1.0, 1.0),
        ("S K", 3.0, 3.0),
        ("Pb M", 3.0, 3.0),
    ];
    let (state, text) = {
        let answer = asked("materials", &maps, false, json!({"colour": "gold"}));
        let (state, text) = element(&answer, "Au");
        (state.to_owned(), text.to_owned())
    };
    assert_eq!(state, "cannot be judged", "{text}");
}

#[test]
fn a_passage_without_any_element_is_said_to_look_as_a_dye_would() {
    let maps = [("Fe K", 30.0, 30.0), ("Cu K", 16.0, 16.0), ("Pb L", 60.0, 60.0), ("Bi L", 22.0, 22.0)];
    let answer = asked("materials", &maps, false, json!({"colour": "blue"}));
    assert!(answer.sentence.contains("which XRF does not see, would look like that"), "{}", answer.sentence);
    assert_eq!(verdict(&answer, "indigo"), "no evidence in these maps");
}
