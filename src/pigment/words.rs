//! How reasons are worded and what they rest on.

use super::material::{Basis, Fact, Knowledge};
use super::passage::Passage;
use super::reading::Reason;
use super::sight::{self, Sight};
use crate::element::Element;

/// What a reason rests on that the maps give.
const MAPS: &str = "these maps";

/// A reason that the maps give.
pub(super) fn by_maps(text: String) -> Reason {
    Reason { text, basis: Basis::Computed, source: MAPS.to_owned() }
}

/// A reason that follows from other facts.
pub(super) fn reasoned(text: String) -> Reason {
    Reason { text, basis: Basis::Reasoned, source: String::new() }
}

/// A reason that rests on a fact; its sources in words.
pub(super) fn by_fact(text: String, fact: &Fact, knowledge: &Knowledge) -> Reason {
    Reason { text, basis: fact.basis, source: knowledge.sources_text(fact) }
}

/// "copper", "copper and lead", "copper, lead and tin".
pub(super) fn listed<T: AsRef<str>>(names: &[T]) -> String {
    match names {
        [] => String::new(),
        [only] => only.as_ref().to_owned(),
        [rest @ .., last] => {
            let rest: Vec<&str> = rest.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", rest.join(", "), last.as_ref())
        }
    }
}

/// As [`listed`], of elements by name.
pub(super) fn named(elements: &[Element]) -> String {
    let names: Vec<&str> = elements.iter().map(|element| element.name()).collect();
    listed(&names)
}

/// "is" or "are".
pub(super) fn verb(count: usize) -> &'static str {
    if count == 1 { "is" } else { "are" }
}

/// The same sentence with a capital at its beginning.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}

/// A clause as a sentence: capital, full stop.
pub(super) fn sentence(text: &str) -> String {
    let text = capital(text.trim());
    if text.ends_with(['.', '!', '?']) || text.is_empty() { text } else { format!("{text}.") }
}

/// A year: "1704", "2500 BCE".
pub(super) fn year(year: i32) -> String {
    if year < 0 { format!("{} BCE", year.unsigned_abs()) } else { year.to_string() }
}

/// "1704 to 1950", "until 1850", "from 1704", "no limits stated".
pub(super) fn years(from: Option<i32>, to: Option<i32>) -> String {
    match (from, to) {
        (Some(from), Some(to)) => format!("{} to {}", year(from), year(to)),
        (Some(from), None) => format!("from {}", year(from)),
        (None, Some(to)) => format!("until {}", year(to)),
        (None, None) => "no limits stated".to_owned(),
    }
}

/// What the maps say of one element that belongs to a material, as one sentence.
pub(super) fn of_element(passage: &Passage, element: Element) -> String {
    let name = capital(element.name());
    let seen = passage.of(element);
    let label = seen.map(|seen| seen.label.as_str()).filter(|label| !label.is_empty());
    let by = label.map_or_else(String::new, |label| format!(" ({label})"));
    match sight::of(passage, element) {
        Sight::Beyond => format!("{name}{by} is detected."),
        Sight::Held => format!("{name}{by} is no more than support or ground hold."),
        Sight::Silent => format!("{name}{by} must show at the surface and is not detected."),
        Sight::Mute => match seen.map(|seen| seen.no_exclusion.trim()).filter(|why| !why.is_empty()) {
            Some(why) => {
                format!("{name}{by} is not detected, which excludes nothing here: {}", clause(why))
            }
            None => format!(
                "{name}{by} is not detected, which excludes nothing: its rays come from the outermost micrometres or are lost in air."
            ),
        },
        Sight::Open => match seen.map(|seen| seen.why.trim()).filter(|why| !why.is_empty()) {
            Some(why) => format!("{name}{by} cannot be judged here: {}", clause(why)),
            None => format!("{name}{by} cannot be judged here."),
        },
        Sight::Unmeasured => format!("{name} was not measured."),
    }
}

/// A clause that closes a sentence.
pub(super) fn clause(text: &str) -> String {
    let text = text.trim();
    if text.ends_with(['.', '!', '?']) { text.to_owned() } else { format!("{text}.") }
}

/// Names of materials by id, in the order given; an unknown id stands for itself.
pub(super) fn materials_named(ids: &[&'static str], knowledge: &Knowledge) -> Vec<&'static str> {
    ids.iter().map(|id| knowledge.material(id).map_or(*id, |material| material.name)).collect()
}
