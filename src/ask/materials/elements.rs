//! From maps to elements: several maps of one element are taken together, soft lines only add, and nothing is excluded by a
//! line that would not come out.

use super::states::OfMap;
use crate::ask::evidence::Evidence;
use crate::element::{Element, Line};
use crate::numerics::figure::percent;
use crate::physics::{energy_kev, is_excited};
use crate::pigment::{Reach, Seen, State};

/// Lines below this energy (keV) come from the outermost micrometres of paint, or hardly through air: of 10 µm of ultramarine in
/// oil over it K Kα keeps half, of lead white one part in 250, and S Kα a third less through 1 cm of air. METHODS 10c and 10e,
/// from the tables of xraylib.
pub(super) const SOFT_KEV: f64 = 4.0;
/// Under 10 µm of lead white in oil Fe Kα keeps 29 %, Cu Kα 50 %, Pb Lα 70 %; under vermilion 20, 41 and 64 % (the same tables). Lines
/// below this energy (keV) do not exclude where a strong absorber is.
pub(super) const ABSORBED_KEV: f64 = 9.0;
/// From this atomic number on (silver) a detected element is a strong absorber.
const ABSORBER: u8 = 47;
/// From this one on (hafnium) it may be one even where it cannot be judged.
const HEAVIEST: u8 = 72;
/// A limit of more than this share of the strongest passage excludes nothing.
const WEAK_LIMIT: f64 = 0.25;

/// One element with the map that decided.
#[derive(Debug, Clone, PartialEq)]
pub struct OfElement {
    /// What goes into reasoning.
    pub seen: Seen,
    /// Place of the map that decided, among those of the evidence.
    pub place: usize,
    /// For *as below* what holds as much.
    pub holds: String,
    /// Why lines of other elements make it doubtful, in short; empty where they do not.
    pub overlap: String,
    /// Whether only single pixels of it stand out.
    pub is_specks: bool,
}

/// Elements that were measured, in order of their number; and lines that the tube did not excite.
pub(super) fn elements(evidence: &Evidence, maps: Vec<OfMap>) -> (Vec<OfElement>, Vec<Line>) {
    let kv = evidence.beside.known.measuring.kv;
    let (maps, idle): (Vec<OfMap>, Vec<OfMap>) =
        maps.into_iter().partition(|map| kv.and_then(|kv| is_excited(map.line, kv)) != Some(false));
    let mut found: Vec<OfElement> = Vec::new();
    let mut all: Vec<Element> = maps.iter().map(|map| map.line.element).collect();
    all.sort_by_key(|element| element.number());
    all.dedup();
    for element in all {
        let of: Vec<&OfMap> = maps.iter().filter(|map| map.line.element == element).collect();
        found.extend(element_of(evidence, element, &of));
    }
    let heavy = absorber(&found);
    for one in &mut found {
        one.seen.no_exclusion = no_exclusion(evidence, one, heavy);
    }
    let idle = idle.into_iter().map(|map| map.line).collect();
    (found, idle)
}

fn reach(map: &OfMap) -> Reach {
    if map.kev.is_some_and(|kev| kev >= SOFT_KEV) { Reach::Hard } else { Reach::Soft }
}

/// The hard line decides; a soft one only adds.
fn element_of(evidence: &Evidence, element: Element, maps: &[&OfMap]) -> Option<OfElement> {
    let of = |reach_is: Reach, state: State| {
        let mut found: Vec<&&OfMap> =
            maps.iter().filter(|map| reach(map) == reach_is && map.state == state).collect();
        // The strongest of several; maps keep their order.
        found.sort_by(|a, b| {
            b.net.unwrap_or(0.0).total_cmp(&a.net.unwrap_or(0.0)).then(a.place.cmp(&b.place))
        });
        found.first().map(|map| **map)
    };
    let hard = |state| of(Reach::Hard, state);
    let soft = |state| of(Reach::Soft, state);
    let hard_no = hard(State::NotDetected).or_else(|| hard(State::AsBelow));
    if let (None, Some(no), Some(yes)) = (hard(State::Detected), hard_no, soft(State::Detected)) {
        let label = |map: &OfMap| evidence.sides.get(map.place).map_or_else(String::new, |side| side.label());
        let why = format!(
            "{} is more than background, support and ground hold and {} is not, so that {0} may hold counts of something else",
            label(yes),
            label(no)
        );
        return one(evidence, element, &no.cannot(why));
    }
    let chosen = hard(State::Detected)
        .or_else(|| soft(State::Detected))
        .or_else(|| hard(State::AsBelow))
        .or_else(|| hard(State::NotDetected))
        .or_else(|| hard(State::CannotBeJudged))
        .or_else(|| soft(State::AsBelow))
        .or_else(|| soft(State::NotDetected))
        .or_else(|| soft(State::CannotBeJudged))?;
    one(evidence, element, chosen)
}

fn one(evidence: &Evidence, element: Element, map: &OfMap) -> Option<OfElement> {
    let side = evidence.sides.get(map.place)?;
    let strongest = evidence.beside.strongest.get(map.place).copied().flatten();
    let below = map.below.filter(|_| map.state == State::NotDetected);
    let is_as_below = map.state == State::AsBelow;
    Some(OfElement {
        seen: Seen {
            element,
            label: side.label(),
            state: map.state,
            why: if map.state == State::CannotBeJudged { map.why.clone() } else { String::new() },
            mean: map.net,
            below,
            below_share: below.zip(strongest).map(|(below, most)| (below / most).min(1.0)),
            reach: reach(map),
            no_exclusion: String::new(),
        },
        place: map.place,
        overlap: map.overlap.clone(),
        is_specks: map.is_specks,
        holds: if is_as_below { map.why.clone() } else { String::new() },
    })
}

/// A strong absorber in the passage, and whether it is detected: the heaviest that is, else the heaviest that may be there.
fn absorber(found: &[OfElement]) -> Option<(&'static str, bool)> {
    let is_one = |one: &&OfElement| {
        let z = one.seen.element.number();
        match one.seen.state {
            State::Detected => z >= ABSORBER,
            State::CannotBeJudged => z >= HEAVIEST && !one.is_specks,
            _ => false,
        }
    };
    found
        .iter()
        .filter(is_one)
        .map(|one| (one.seen.state == State::Detected, one.seen.element))
        .max_by_key(|(is_detected, element)| (*is_detected, element.number()))
        .map(|(is_detected, element)| (element.symbol(), is_detected))
}

/// Why silence excludes nothing, beside a soft line; empty where it may.
fn no_exclusion(evidence: &Evidence, one: &OfElement, heavy: Option<(&str, bool)>) -> String {
    if !one.holds.is_empty() {
        return format!("{} holds as much", one.holds);
    }
    if one.seen.state != State::NotDetected {
        return String::new();
    }
    let line = evidence.sides.get(one.place).and_then(|side| side.line);
    let kev = line.and_then(energy_kev);
    if let Some((heavy, is_detected)) = heavy.filter(|(heavy, _)| *heavy != one.seen.element.symbol())
        && kev.is_none_or(|kev| kev < ABSORBED_KEV)
    {
        let label = &one.seen.label;
        // What cannot be judged is not said to be there.
        return match is_detected {
            true => format!("{heavy} in the passage swallows {label} from below the surface"),
            false => format!("{heavy}, if it is in the passage, swallows {label} from below the surface"),
        };
    }
    match one.seen.below_share {
        Some(share) if share > WEAK_LIMIT => {
            format!("only more than {} of its strongest passage would have been seen", percent(share))
        }
        _ => String::new(),
    }
}
