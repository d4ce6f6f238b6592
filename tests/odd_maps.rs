//! Maps that hold next to nothing, or nothing that can be counted, through every question: an answer or an abstention with its
//! reason, never a panic, never a verdict that such a map cannot carry.
#![allow(clippy::unwrap_used)] // a test may fail

use limner::ask::{self, Answer, verdict};
use limner::study::{MapRecord, Study};
use serde_json::{Value, json};

/// A NumPy file (format 1.0) of one map.
fn npy(descr: &str, width: usize, height: usize, bytes: &[u8]) -> Vec<u8> {
    let header = format!("{{'descr': '{descr}', 'fortran_order': False, 'shape': ({height}, {width}), }}\n");
    let mut out = b"\x93NUMPY\x01\x00".to_vec();
    out.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
    out.extend(header.as_bytes());
    out.extend(bytes);
    out
}

const WIDTH: usize = 48;
const HEIGHT: usize = 40;

fn whole(value: impl Fn(usize, usize) -> u16) -> Vec<u8> {
    let bytes: Vec<u8> = (0..HEIGHT)
        .flat_map(|y| (0..WIDTH).map(move |x| (x, y)))
        .flat_map(|(x, y)| value(x, y).to_le_bytes())
        .collect();
    npy("<u2", WIDTH, HEIGHT, &bytes)
}

fn real(value: impl Fn(usize, usize) -> f32) -> Vec<u8> {
    let bytes: Vec<u8> = (0..HEIGHT)
        .flat_map(|y| (0..WIDTH).map(move |x| (x, y)))
        .flat_map(|(x, y)| value(x, y).to_le_bytes())
        .collect();
    npy("<f4", WIDTH, HEIGHT, &bytes)
}

/// A background of 0 to 6 counts with a painted square of about 90.
fn painted(x: usize, y: usize) -> u16 {
    let background = ((x * 37 + y * 101 + x * y * 7) % 7) as u16;
    if (10..30).contains(&x) && (8..30).contains(&y) { 90 + 2 * background } else { background }
}

struct Odd {
    name: &'static str,
    bytes: Vec<u8>,
    /// Its kind, where it is stated.
    kind: Option<&'static str>,
    /// Whether any question may give a verdict other than that it cannot be judged.
    may_judge: bool,
}

fn odd_maps() -> Vec<Odd> {
    let odd = |name, bytes, kind, may_judge| Odd { name, bytes, kind, may_judge };
    vec![
        odd("all zero", whole(|_, _| 0), Some("window"), false),
        odd("constant", whole(|_, _| 7), Some("window"), false),
        odd("all blank", real(|_, _| f32::NAN), Some("window"), false),
        odd(
            "one pixel with data",
            real(|x, y| if (x, y) == (5, 5) { 9.0 } else { f32::NAN }),
            Some("window"),
            false,
        ),
        odd("saturated everywhere", whole(|_, _| u16::MAX), Some("window"), false),
        odd(
            "saturated in part",
            whole(|x, y| if x < 24 { u16::MAX } else { painted(x, y) }),
            Some("window"),
            true,
        ),
        odd("negative", real(|x, y| -50.0 - f32::from(painted(x, y))), Some("net"), true),
        odd("net around zero", real(|x, y| f32::from(painted(x, y)) - 3.0), Some("net"), true),
        odd(
            "fitted without negative values",
            real(|x, y| (f32::from(painted(x, y)) * 1.37 - 4.0).max(0.0)),
            Some("fitted"),
            true,
        ),
        odd(
            "8 bit, stretched",
            npy("|u1", WIDTH, HEIGHT, &{
                let stretch = |x: usize, y: usize| (u32::from(painted(x, y)) * 255 / 102) as u8;
                (0..HEIGHT).flat_map(|y| (0..WIDTH).map(move |x| stretch(x, y))).collect::<Vec<_>>()
            }),
            Some("display copy"),
            false,
        ),
        odd("auxiliary", whole(|x, y| painted(x + 3, y)), Some("auxiliary"), false),
        odd("shares of a whole", real(|x, y| f32::from(painted(x, y)) / 200.0), Some("normalised"), true),
    ]
}

fn settings(question: &str) -> Vec<Value> {
    match question {
        "faint" => vec![
            json!({"map": "m1"}),
            json!({"map": "m1", "region": "left"}),
            json!({"map": "m1", "background": "right"}),
        ],
        "regions" => vec![
            json!({"maps": ["m1", "m2"]}),
            json!({"maps": ["m1"], "regions": ["left"], "line": {"from": [1, 1], "to": [40, 30]}}),
        ],
        "together" => {
            vec![json!({"a": "m1", "b": "m2"}), json!({"a": "m2", "b": "m1"}), json!({"maps": ["m1", "m2"]})]
        }
        "materials" => vec![json!({}), json!({"region": "left", "colour": "red"})],
        "dates" => {
            vec![json!({"from": 1640, "to": 1670}), json!({"region": "left", "from": 1640, "to": 1670})]
        }
        "covered" => vec![json!({"region": "left", "against": "right"})],
        _ => vec![
            json!({"a": "m1", "b": "m2"}),
            json!({"a": "m2", "b": "m1"}),
            json!({"a": "m1", "b": "m2", "region": "left"}),
        ],
    }
}

/// Whether an answer says something of the map that is asked about: it does not abstain, and does not rest on the other, sound
/// one alone.
fn says_something(answer: &Answer) -> bool {
    if let Some(part) = &answer.materials {
        return part.elements.iter().any(|row| {
            row.element == "Cu"
                && !["cannot be judged", "as below", "not measured"].contains(&row.state.as_str())
        });
    }
    let is_of_dates = answer.dates.is_some();
    !verdict::abstains(&answer.verdict) && !is_of_dates
}

/// What must hold of any answer.
fn sound(what: &str, question: &str, answer: &Answer) {
    assert!(verdict::words(question).contains(&answer.verdict.as_str()), "{what}: “{}”", answer.verdict);
    assert!(answer.sentence.ends_with('.') && answer.sentence.len() > 20, "{what}: “{}”", answer.sentence);
    assert!(
        !answer.sentence.contains("NaN") && !answer.sentence.contains("inf"),
        "{what}: {}",
        answer.sentence
    );
    for (name, number) in &answer.numbers {
        assert!(
            number.value.is_some() || !number.reason.is_empty(),
            "{what}: {name} has neither value nor reason"
        );
        assert!(number.value.is_none_or(f64::is_finite), "{what}: {name}");
    }
    for figure in &answer.figures {
        assert!(!figure.value.contains("NaN") && !figure.detail.contains("NaN"), "{what}: {figure:?}");
    }
    assert!(answer.judged_pixels <= answer.pixels, "{what}");
    for row in &answer.table.rows {
        assert_eq!(row.cells.len(), answer.table.columns.len(), "{what}: {}", row.label);
    }
    assert!(serde_json::to_string(answer).is_ok_and(|text| !text.contains("NaN")));
}

#[test]
fn odd_maps_get_an_answer_or_a_reason() {
    for odd in odd_maps() {
        let mut study = Study::new();
        assert_eq!(study.open("Cu-K.npy", &odd.bytes).maps, ["m1"], "{}", odd.name);
        assert_eq!(study.open("Fe-K.npy", &whole(painted)).maps, ["m2"]);
        for (id, kind) in [("m1", odd.kind), ("m2", Some("window"))] {
            let kind = kind.map(str::to_owned);
            study.set_map(id, MapRecord { kind, ..MapRecord::default() }).unwrap();
        }
        for (name, x) in [("left", 2), ("right", 26)] {
            let region = json!({"name": name, "rectangle": {"x": x, "y": 2, "width": 20, "height": 36}});
            study.add_region(serde_json::from_value(region).unwrap()).unwrap();
        }
        for question in ask::KEYS {
            for settings in settings(question) {
                let what = format!("{}, {question} {settings}", odd.name);
                match study.ask(question, settings.clone(), &mut |_, _| {}) {
                    Ok((answer, _)) => {
                        sound(&what, question, &answer);
                        let judged = says_something(&answer);
                        assert!(odd.may_judge || !judged, "{what}: {} {}", answer.verdict, answer.sentence);
                        println!("{what}: {} | {}", answer.verdict, answer.sentence);
                    }
                    Err(fault) => panic!("{what}: {fault:?}"),
                }
            }
        }
    }
}

#[test]
fn a_map_of_one_pixel_gets_a_reason() {
    let mut study = Study::new();
    study.open("Cu-K.npy", &npy("<u2", 1, 1, &[9, 0]));
    study.open("Fe-K.npy", &npy("<u2", 1, 1, &[4, 0]));
    for question in ask::KEYS {
        for settings in settings(question).into_iter().filter(|s| {
            s.get("region").is_none() && s.get("background").is_none() && s.get("regions").is_none()
        }) {
            let (answer, _) = study.ask(question, settings.clone(), &mut |_, _| {}).unwrap();
            sound(question, question, &answer);
            assert!(!says_something(&answer), "{question}: {}", answer.sentence);
        }
    }
}
