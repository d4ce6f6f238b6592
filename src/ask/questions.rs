//! The questions as sentences with settings to choose, and whether they can be asked of what is open.

use crate::stack::Stack;
use serde::Serialize;

/// A part of a question's sentence.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Part {
    /// Words; for a setting what stands there before anything is chosen.
    pub text: String,
    /// Name of the setting; `None` for plain words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setting: Option<String>,
    /// What can be chosen; "map" is any map.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub kind: Option<String>,
}

/// A question.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Question {
    /// Key for `ask`.
    pub key: String,
    /// Name in the row of questions.
    pub label: String,
    /// The sentence.
    pub parts: Vec<Part>,
    /// Whether it can be asked now.
    pub ready: bool,
    /// Why not.
    pub reason: String,
}

fn say(text: &str) -> Part {
    Part { text: text.into(), setting: None, kind: None }
}

fn map(setting: &str) -> Part {
    Part { text: String::new(), setting: Some(setting.into()), kind: Some("map".into()) }
}

/// All questions, in the order in which they are offered.
pub fn questions(stack: &Stack) -> Vec<Question> {
    let maps = stack.maps();
    let has_pair = maps.iter().enumerate().any(|(i, a)| maps[i + 1..].iter().any(|b| a.has_size_of(b)));
    let question = |key: &str, label: &str, parts: Vec<Part>| Question {
        key: key.into(),
        label: label.into(),
        parts,
        ready: has_pair,
        reason: if has_pair { String::new() } else { "Open two maps of one scan to ask this.".into() },
    };
    let has_map = maps.iter().any(|map| map.role.is_none());
    let faint = Question {
        ready: has_map,
        reason: if has_map { String::new() } else { "Open an element map to ask this.".into() },
        ..question(
            "faint",
            "Faint",
            vec![say("Is "), map("map"), say(" more than background, in the whole field?")],
        )
    };
    vec![
        faint,
        question(
            "apart",
            "Apart",
            vec![say("Where is "), map("a"), say(" without "), map("b"), say(", in the whole field?")],
        ),
        question(
            "ratio",
            "Ratio",
            vec![say("How do "), map("a"), say(" and "), map("b"), say(" compare, in the whole field?")],
        ),
    ]
}
