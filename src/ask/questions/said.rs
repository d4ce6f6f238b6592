//! A question that was asked, as a sentence again.

use super::super::answer::Answer;
use super::super::words::listed;
use super::{Part, questions};
use crate::stack::Stack;

/// The question that an answer is of, as a sentence with the names that maps and regions had then. `asked` are the settings it was
/// asked with; what these leave out stands as it does before anything is chosen.
pub fn sentence_of(answer: &Answer, asked: &serde_json::Value) -> String {
    let all = questions(&Stack::default());
    let Some(question) = all.iter().find(|question| question.key == answer.question) else {
        return String::new();
    };
    let is_set = |name: &str| asked.get(name).is_some_and(|value| !value.is_null());
    // Another form is meant where its own settings are there, or where those that only the first one needs are not.
    let is_needed = |part: &&Part| part.needed || part.kind == Some("map");
    let needed = |parts: &[Part]| parts.iter().filter(is_needed).filter_map(|part| part.setting).all(is_set);
    let by_settings = question
        .forms
        .iter()
        .find(|form| !form.settings.is_empty() && form.settings.keys().any(|&name| is_set(name)));
    let other = || question.forms.iter().find(|form| form.settings.is_empty() && needed(&form.parts));
    let parts = match by_settings {
        Some(form) => &form.parts,
        None if needed(&question.parts) => &question.parts,
        None => other().map_or(&question.parts, |form| &form.parts),
    };
    let mut out = String::new();
    for (place, part) in parts.iter().enumerate() {
        // Along no line: neither the words before it nor itself.
        let is_no_line = |part: &Part| part.kind == Some("line") && !part.setting.is_some_and(is_set);
        if is_no_line(part) || parts.get(place + 1).is_some_and(is_no_line) {
            continue;
        }
        out.push_str(&said(part, answer, asked));
    }
    out
}

/// A part with what was chosen for it.
fn said(part: &Part, answer: &Answer, asked: &serde_json::Value) -> String {
    let value = part.setting.and_then(|name| asked.get(name)).filter(|value| !value.is_null());
    let Some(value) = value else { return part.text.clone() };
    let named = |id: &str| {
        let map = answer.inputs.iter().find(|input| input.id == id).map(|input| input.label.clone());
        map.or_else(|| answer.regions.iter().find(|region| region.id == id).map(|region| region.name.clone()))
    };
    let one = |value: &serde_json::Value| match value {
        serde_json::Value::String(text) => {
            let choice = part.choices.iter().find(|choice| choice.value == text);
            named(text)
                .unwrap_or_else(|| choice.map_or_else(|| text.clone(), |choice| choice.text.to_owned()))
        }
        other => other.to_string(),
    };
    match value {
        serde_json::Value::Array(items) => listed(&items.iter().map(one).collect::<Vec<_>>()),
        serde_json::Value::Object(_) => match part.kind {
            Some("line") => "a line".into(),
            _ => part.text.clone(),
        },
        plain => one(plain),
    }
}
