//! The questions as sentences with settings to choose, and whether they can be asked of what is open.

mod further;
mod said;

pub use said::sentence_of;

use super::KEYS;
use super::evidence::WHOLE_FIELD;
use super::settings::COHERENCE;
use crate::measure::Rules;
use crate::measure::zones::MOST_ZONES;
use crate::stack::Stack;
use serde::Serialize;
use std::collections::BTreeMap;

/// A part of a sentence: plain words, or a setting that is chosen.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Part {
    /// Words; for a setting what stands there before anything is chosen.
    pub text: String,
    /// Name of the setting; `None` for plain words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setting: Option<&'static str>,
    /// What can be chosen: "map", "second map" (of the same element), "maps", "region", "regions", "line", "choice" or "number".
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<&'static str>,
    /// What the setting is called where it is not part of a sentence.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<&'static str>,
    /// Whether the question waits until it is chosen, as for a map.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub needed: bool,
    /// The setting that names the map which this one is said of: it is handed in by map.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub of: Option<&'static str>,
    /// What can be chosen, for a "choice".
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub choices: Vec<Choice>,
    /// For a number, how it is typed.
    #[serde(flatten, skip_serializing_if = "Option::is_none")]
    pub number: Option<Typed>,
}

/// One of the things that can be chosen for a setting.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Choice {
    /// What the setting then is.
    pub value: &'static str,
    /// What stands in the sentence.
    pub text: &'static str,
}

/// How a number is typed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Typed {
    /// Unit beside it; may be empty.
    pub unit: &'static str,
    /// Least, in this unit.
    pub low: f64,
    /// Most.
    pub high: f64,
    /// How far an arrow key takes it.
    pub step: f64,
    /// What stands there at first; `None` where the program finds it.
    pub start: Option<f64>,
    /// How much of the setting one of the unit is: 0.01 for per cent.
    pub per: f64,
}

/// A question of more, in a sentence of its own.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Form {
    /// Its key among the forms.
    pub key: &'static str,
    /// What leads to it.
    pub label: &'static str,
    /// The sentence.
    pub parts: Vec<Part>,
    /// As in [`Question`].
    pub more: Vec<Part>,
    /// As in [`Question`].
    pub rest: Vec<Part>,
    /// Settings that are asked with unless something else is chosen for them: they make the question one of this form.
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    pub settings: BTreeMap<&'static str, u32>,
}

/// A question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Question {
    /// Key for `ask`.
    pub key: &'static str,
    /// Name in the row of questions.
    pub label: &'static str,
    /// The sentence.
    pub parts: Vec<Part>,
    /// The settings behind it, as a second sentence.
    pub more: Vec<Part>,
    /// Those that are seldom touched.
    pub rest: Vec<Part>,
    /// Other sentences for the same question.
    pub forms: Vec<Form>,
    /// What leads back from them; empty without any.
    pub back: &'static str,
    /// Whether it can be asked now.
    pub ready: bool,
    /// Why not.
    pub reason: &'static str,
}

fn say(text: &str) -> Part {
    Part { text: text.into(), ..Part::default() }
}

fn set(setting: &'static str, kind: &'static str, text: &str, label: &'static str) -> Part {
    Part {
        text: text.into(),
        setting: Some(setting),
        kind: Some(kind),
        label: Some(label).filter(|label| !label.is_empty()),
        ..Part::default()
    }
}

fn map(setting: &'static str) -> Part {
    set(setting, "map", "", "")
}

fn region() -> Part {
    set("region", "region", WHOLE_FIELD, "Region")
}

fn number(setting: &'static str, text: &str, label: &'static str, typed: Typed) -> Part {
    Part { number: Some(typed), ..set(setting, "number", text, label) }
}

fn per_cent(high: f64, step: f64, start: Option<f64>) -> Typed {
    Typed { unit: "%", low: 0.0, high, step, start, per: 0.01 }
}

/// Where backgrounds come from and how far they are trusted.
fn background() -> Vec<Part> {
    let floor = (Rules::default().floor * 1000.0).round() / 10.0;
    vec![
        say("Background from "),
        set("background", "region", "the quiet part of each map", "Background from"),
        say(", uncertain by "),
        number("floor", "", "Uncertainty of the background", per_cent(100.0, 1.0, Some(floor))),
        say("."),
    ]
}

/// From which value on maps count as detected.
fn presence(settings: &[&'static str]) -> Vec<Part> {
    let typed = || Typed { unit: "", low: -1e9, high: 1e9, step: 1.0, start: None, per: 1.0 };
    let mut parts = Vec::new();
    for (i, &setting) in settings.iter().enumerate() {
        parts.push(match (setting, i) {
            ("map", _) => say("It counts as detected from "),
            ("a", _) => say("A counts as detected from "),
            _ => say(", B from "),
        });
        let label = if setting == "b" { "Detected from, B" } else { "Detected from" };
        let part = number("presence", "its critical level", label, typed());
        parts.push(Part { of: Some(setting), ..part });
    }
    parts.push(say(". "));
    parts
}

fn rims() -> Vec<Part> {
    let typed = Typed { unit: "px", low: 0.0, high: 64.0, step: 1.0, start: None, per: 1.0 };
    vec![
        say("Rims of "),
        number("rim_px", "the beam's width", "Rims", typed),
        say(" around strong features are left out. "),
    ]
}

fn band() -> Vec<Part> {
    vec![
        say("Thickness, dilution and cover change a ratio by "),
        number("k_band", "20 %, or 10 % for neighbours in energy", "Band", per_cent(1000.0, 5.0, None)),
        say(". "),
    ]
}

fn seed() -> Vec<Part> {
    let typed = Typed { unit: "", low: 0.0, high: 1e9, step: 1.0, start: Some(1.0), per: 1.0 };
    vec![
        say("Where chance is used it begins from "),
        number("seed", "", "Where chance begins", typed),
        say(". "),
    ]
}

/// Only where an element has a second map is there something to choose.
fn held_out(setting: &'static str, stack: &Stack) -> Vec<Part> {
    let maps = stack.maps();
    let has_two = maps.iter().enumerate().any(|(i, a)| {
        a.line.is_some_and(|line| {
            maps[i + 1..]
                .iter()
                .any(|b| b.has_size_of(a) && b.line.is_some_and(|other| other.element == line.element))
        })
    });
    if !has_two {
        return Vec::new();
    }
    let part = set("held_out", "second map", "no second map of the element", "Tested on");
    vec![
        say(if setting == "a" { "What A suggests is tested on " } else { "What it suggests is tested on " }),
        Part { of: Some(setting), ..part },
        say(". "),
    ]
}

/// Which zones maps part the field into.
fn zones() -> Form {
    let typed = |low, high, start| Typed { unit: "", low, high, step: 1.0, start, per: 1.0 };
    let by = vec![
        Choice { value: "means", text: "groups of like pixels" },
        Choice { value: "parts", text: "parts of the counts" },
    ];
    Form {
        key: "zones",
        label: "Part the field into zones",
        parts: vec![
            say("Which zones do "),
            set("maps", "maps", "all element maps", "Maps"),
            say(" part "),
            region(),
            say(" into, as "),
            Part { choices: by, ..set("zones_by", "choice", "groups of like pixels", "How zones are made") },
            say("?"),
        ],
        more: vec![
            say("Their number is "),
            number(
                "zones",
                "chosen by half the counts",
                "Number of zones",
                typed(2.0, MOST_ZONES as f64, None),
            ),
            say("; neighbours count "),
            number("coherence", "", "How much neighbours count", typed(0.0, 3.0, Some(f64::from(COHERENCE)))),
            say(" of 3."),
        ],
        rest: seed(),
        settings: BTreeMap::from([("zones", 0)]),
    }
}

/// All questions that can be asked, in the order in which they are offered.
pub fn questions(stack: &Stack) -> Vec<Question> {
    let maps = stack.maps();
    let has_pair = maps.iter().enumerate().any(|(i, a)| maps[i + 1..].iter().any(|b| a.has_size_of(b)));
    let of_pair = if has_pair { "" } else { "Open two maps of one scan to ask this." };
    let of_map = if maps.is_empty() { "Open a map to ask this." } else { "" };
    let question = |key, label, parts: Vec<Part>, rest: Vec<Vec<Part>>, reason: &'static str| Question {
        key,
        label,
        parts,
        more: background(),
        rest: rest.concat(),
        forms: Vec::new(),
        back: "",
        ready: reason.is_empty(),
        reason,
    };
    let pair = ["a", "b"];
    let mut all = vec![
        question(
            "faint",
            "Faint?",
            vec![say("Is "), map("map"), say(" more than background, in "), region(), say("?")],
            vec![presence(&["map"]), held_out("map", stack), seed()],
            of_map,
        ),
        question(
            "together",
            "Together?",
            vec![
                say("Do "),
                map("a"),
                say(" and "),
                map("b"),
                say(" rise and fall together, in "),
                region(),
                say("?"),
            ],
            vec![presence(&pair), rims(), held_out("a", stack), seed()],
            of_pair,
        ),
        question(
            "apart",
            "Apart?",
            vec![say("Where is "), map("a"), say(" without "), map("b"), say(", in "), region(), say("?")],
            vec![presence(&pair), rims(), band(), held_out("a", stack), seed()],
            of_pair,
        ),
        question(
            "ratio",
            "Ratio",
            vec![say("How do "), map("a"), say(" and "), map("b"), say(" compare, in "), region(), say("?")],
            vec![presence(&pair), rims(), band(), held_out("a", stack), seed()],
            of_pair,
        ),
        question(
            "regions",
            "Regions",
            vec![
                say("How do "),
                set("regions", "regions", "all regions", "Regions"),
                say(" differ in "),
                set("maps", "maps", "all element maps", "Maps"),
                say(", and along "),
                set("line", "line", "no line", "Line over the picture"),
                say("?"),
            ],
            vec![rims(), seed()],
            of_map,
        ),
        further::materials(of_map),
        further::covered(of_pair),
        further::dates(of_map),
    ];
    if let Some(together) = all.iter_mut().find(|question| question.key == "together") {
        together.back = "One pair of maps";
        together.forms.push(Form {
            key: "all",
            label: "All pairs of maps",
            parts: vec![
                say("Which of "),
                set("maps", "maps", "all element maps", "Maps"),
                say(" rise and fall together, in "),
                region(),
                say("?"),
            ],
            more: background(),
            rest: [rims(), seed()].concat(),
            settings: BTreeMap::new(),
        });
    }
    if let Some(differ) = all.iter_mut().find(|question| question.key == "regions") {
        differ.back = "How regions differ";
        differ.forms.push(zones());
    }
    all.retain(|question| KEYS.contains(&question.key));
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ask::settings::Settings;

    #[test]
    fn sentences_name_only_settings_that_their_question_takes() {
        let stack = Stack::default();
        let all = questions(&stack);
        assert_eq!(all.len(), KEYS.len(), "every question has a sentence");
        for question in &all {
            let taken = Settings::taken(question.key);
            let forms = question.forms.iter().flat_map(|form| [&form.parts, &form.more, &form.rest]);
            for part in [&question.parts, &question.more, &question.rest].into_iter().chain(forms).flatten() {
                if let Some(setting) = part.setting {
                    assert!(taken.contains(&setting), "{}: {setting}", question.key);
                    assert_eq!(part.kind == Some("number"), part.number.is_some(), "{setting}");
                }
                for name in [part.setting, part.of].into_iter().flatten() {
                    assert!(taken.contains(&name), "{}: {name}", question.key);
                }
            }
            assert!(!question.ready && !question.reason.is_empty(), "{}: nothing is open", question.key);
        }
    }

    #[test]
    fn the_floor_that_stands_there_is_the_one_in_force() {
        let stated = background().into_iter().find_map(|part| part.number).unwrap();
        let start = stated.start.unwrap() * stated.per;
        assert!((start - Rules::default().floor).abs() < 1e-12, "{start}");
    }
}
