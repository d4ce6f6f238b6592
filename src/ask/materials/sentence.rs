//! The one sentence of `materials`.

use super::elements::OfElement;
use super::{Found, name_of};
use crate::ask::evidence::Evidence;
use crate::ask::words::listed;
use crate::element::Element;
use crate::pigment::{Colour, ExplainingSet, MaterialReading, State, Verdict, knowledge};

/// Names in the sentence; the others stand in the table.
const MOST_NAMES: usize = 3;
/// Elements that cannot be judged, in the sentence.
const MOST_DOUBTS: usize = 2;

/// "The red of “border”", "“border”", "The red of the whole field".
pub(super) fn subject(evidence: &Evidence) -> String {
    let place = match evidence.asked.id {
        Some(_) => format!("“{}”", evidence.asked.name),
        None => evidence.asked.name.clone(),
    };
    match &evidence.settings.colour {
        Some(colour) => format!("The {colour} of {place}"),
        None => crate::ask::words::capital(&place),
    }
}

pub(super) fn sentence(evidence: &Evidence, found: &Found) -> String {
    let mut out = first(evidence, found);
    let has_detected = !with_state(found, State::Detected).is_empty();
    let is_all_open = found.passed.elements.iter().all(|one| one.seen.state == State::CannotBeJudged);
    // Overlaps first: counts stand there, whosever they are.
    let mut elements: Vec<&OfElement> = found.passed.elements.iter().collect();
    elements.sort_by_key(|one| one.overlap.is_empty());
    let doubts: Vec<String> = elements
        .into_iter()
        .filter(|one| one.seen.state == State::CannotBeJudged && !one.is_specks)
        // Beside what is detected only overlaps are worth a word, and only of elements on which a listed material of the
        // stated colour hangs; the others stand in the list.
        .filter(|one| match (has_detected, is_all_open) {
            (true, _) => !one.overlap.is_empty() && tells(evidence, found, one.seen.element),
            (false, true) => true,
            (false, false) => !one.overlap.is_empty(),
        })
        .take(MOST_DOUBTS)
        .map(|one| {
            let why = if one.overlap.is_empty() { &one.seen.why } else { &one.overlap };
            format!("{} cannot be judged there, because {why}", one.seen.element.symbol())
        })
        .collect();
    let unexplained: Vec<&str> = found.reading.unexplained.iter().map(|element| element.symbol()).collect();
    if !unexplained.is_empty() && !consistent(found).is_empty() {
        let (is, none) = if unexplained.len() == 1 { ("is", "it") } else { ("are", "them") };
        out.push_str(&format!(
            "; {} {is} seen, and no material of the list explains {none}",
            listed(&unexplained)
        ));
    }
    for doubt in doubts {
        out.push_str("; ");
        out.push_str(&doubt);
    }
    format!("{}.", out.trim_end_matches('.'))
}

/// Whether a listed material that has the stated colour, or any that is consistent without one, must show the element.
fn tells(evidence: &Evidence, found: &Found, element: Element) -> bool {
    let colour = evidence.settings.colour.as_deref();
    found.reading.materials.iter().filter(|one| one.material.must.contains(&element)).any(
        |one| match colour {
            Some(word) => one.material.colours.iter().any(|own| own.word() == word),
            None => one.verdict == Verdict::Consistent,
        },
    )
}

fn consistent(found: &Found) -> Vec<&MaterialReading> {
    found.reading.materials.iter().filter(|one| one.verdict == Verdict::Consistent).collect()
}

fn first(evidence: &Evidence, found: &Found) -> String {
    let subject = subject(evidence);
    let identified: Vec<String> = found
        .reading
        .materials
        .iter()
        .filter_map(|one| match &one.verdict {
            Verdict::Identified { technique, point } => {
                Some(format!("{} ({}, {})", one.material.name, technique.words(), point_words(point)))
            }
            _ => None,
        })
        .collect();
    if !identified.is_empty() {
        let rest = match sets_in_words(found) {
            Some(sets) => format!("; its maps are consistent with {sets}"),
            None => String::new(),
        };
        return format!("In {} {} is identified{rest}", lower(&subject), listed(&identified));
    }
    if let Some(sets) = sets_in_words(found) {
        return format!("{subject} is consistent with {sets}");
    }
    let single = consistent(found);
    if !single.is_empty() {
        let mut names: Vec<&str> =
            single.iter().filter(|one| one.fits_colour).map(|one| one.material.name).collect();
        if names.is_empty() {
            names = single.iter().map(|one| one.material.name).collect();
        }
        return format!("{subject} is consistent with {}", or_listed(&names));
    }
    let detected: Vec<&str> = with_state(found, State::Detected);
    if !detected.is_empty() {
        return format!(
            "In {} {} {} detected, and these maps give no evidence for one of the materials that are known here",
            lower(&subject),
            listed(&detected),
            if detected.len() == 1 { "is" } else { "are" }
        );
    }
    if found.passed.elements.is_empty() {
        return format!("Nothing can be said of {}, because no element was measured there", lower(&subject));
    }
    if found.passed.elements.iter().all(|one| one.seen.state == State::CannotBeJudged) {
        return format!("Nothing can be said of {}", lower(&subject));
    }
    if found.passed.elements.iter().any(|one| one.seen.state == State::CannotBeJudged && !one.is_specks) {
        let is_open = |one: &&OfElement| one.seen.state == State::CannotBeJudged && !one.is_specks;
        let of_overlap = found.passed.elements.iter().filter(is_open).any(|one| !one.overlap.is_empty());
        let others = found.passed.elements.iter().filter(is_open).filter(|one| one.overlap.is_empty());
        let others: Vec<&str> = others.map(|one| one.seen.element.symbol()).collect();
        let mut out = format!(
            "In {} no element is surely detected beyond background, support and ground",
            lower(&subject)
        );
        if !others.is_empty() {
            out.push_str(&format!(", where {} cannot be judged", listed(&others)));
        }
        // Where nothing stands out, not even for another element.
        if !of_overlap {
            out.push_str("; dyes, lakes and carbon blacks, which XRF does not see, would look like that");
        }
        return out;
    }
    let specks: Vec<&str> = found
        .passed
        .elements
        .iter()
        .filter(|one| one.is_specks)
        .map(|one| one.seen.element.symbol())
        .collect();
    let but = match specks.as_slice() {
        [] => String::new(),
        _ => format!(" (but for single pixels of {})", listed(&specks)),
    };
    format!(
        "In {} no element is detected beyond background, support and ground{but}, so these maps say nothing of its materials; dyes, lakes and carbon blacks, which XRF does not see, would look like that",
        lower(&subject)
    )
}

fn with_state(found: &Found, state: State) -> Vec<&'static str> {
    let of = found.passed.elements.iter().filter(|one| one.seen.state == state);
    of.map(|one| one.seen.element.symbol()).collect()
}

/// "The red of x" within a sentence.
fn lower(subject: &str) -> String {
    match subject.strip_prefix("The ") {
        Some(rest) => format!("the {rest}"),
        None => subject.to_owned(),
    }
}

/// “point 3”, as the user named it.
pub(super) fn point_words(name: &str) -> String {
    format!("point “{name}”")
}

/// "a, b or c", "a, b, c or 4 more".
pub(super) fn or_listed(names: &[&str]) -> String {
    let more = names.len().saturating_sub(MOST_NAMES);
    let mut shown: Vec<String> = names.iter().take(MOST_NAMES).map(|name| (*name).to_owned()).collect();
    if more > 0 {
        shown.push(format!("{more} more"));
    }
    match shown.as_slice() {
        [] => String::new(),
        [one] => one.clone(),
        // "red ochre or haematite" is one name.
        [before @ .., last] => {
            let comma = if shown.iter().any(|name| name.contains(" or ")) { "," } else { "" };
            format!("{}{comma} or {last}", before.join(", "))
        }
    }
}

/// The smallest sets: "red lead", "red lead or massicot", "vermilion with lead white, or one of 3 other sets as small".
fn sets_in_words(found: &Found) -> Option<String> {
    let size = found.reading.sets.first()?.materials.len();
    let mut smallest: Vec<&ExplainingSet> =
        found.reading.sets.iter().filter(|set| set.materials.len() == size).collect();
    // Where some hold a material of the stated colour, the others are left to the list.
    let fits = |set: &&&ExplainingSet| {
        let rows = found.reading.materials.iter().filter(|one| set.materials.contains(&one.material.id));
        found.passed.passage.colour.is_none() || rows.into_iter().any(|one| one.fits_colour)
    };
    let fitting: Vec<&ExplainingSet> = smallest.iter().filter(fits).copied().collect();
    if !fitting.is_empty() {
        smallest = fitting;
    }
    let smallest: Vec<Vec<String>> =
        smallest.iter().map(|set| colour_first(set, found.passed.passage.colour)).collect();
    if size == 1 {
        let names: Vec<&str> = smallest.iter().flatten().map(String::as_str).collect();
        return Some(or_listed(&names));
    }
    let first = match smallest.first()?.as_slice() {
        [first, rest @ ..] => format!("{first} together with {}", listed(rest)),
        [] => return None,
    };
    Some(match smallest.len() - 1 {
        0 => first,
        1 => format!("{first}, or with one other set as small"),
        n => format!("{first}, or with one of {n} other sets as small"),
    })
}

/// The names of a set, those of the stated colour first.
pub(super) fn colour_first(set: &ExplainingSet, colour: Option<Colour>) -> Vec<String> {
    let gives = |id: &str| {
        let material = knowledge().material(id);
        colour.is_some_and(|colour| material.is_some_and(|material| material.colours.contains(&colour)))
    };
    let mut ids = set.materials.clone();
    ids.sort_by_key(|id| !gives(id));
    ids.into_iter().map(name_of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_many_names_three_are_said_and_the_others_counted() {
        assert_eq!(or_listed(&["red lead"]), "red lead");
        assert_eq!(or_listed(&["a", "b"]), "a or b");
        assert_eq!(or_listed(&["a", "b", "c", "d", "e"]), "a, b, c or 2 more");
        assert_eq!(or_listed(&["red ochre or haematite", "bole"]), "red ochre or haematite, or bole");
        assert_eq!(or_listed(&[]), "");
    }
}
