//! What is known of one passage, as the questions found it: the record that is reasoned from.

use super::material::{Colour, Technique};
use crate::element::Element;

/// Whether a line of this energy comes out of paint and air so that its silence says something.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reach {
    /// It does.
    Hard,
    /// It comes from the outermost micrometres or is swallowed by air: its silence excludes nothing.
    Soft,
}

/// What the maps say of one element in the passage.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum State {
    /// Detected, beyond what support and ground hold and what overlaps could give.
    Detected,
    /// Detected, but no more than support or ground hold: it asks for no material, and excludes none.
    AsBelow,
    /// Not detected, below the limit of the record.
    NotDetected,
    /// It cannot be judged here; `why` says why.
    CannotBeJudged,
}

/// One element, from all maps of its lines taken together. An element that is not in the record was not measured.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The element.
    pub element: Element,
    /// The map that decided ("Cu K").
    pub label: String,
    /// What it says.
    pub state: State,
    /// Why it cannot be judged; empty otherwise.
    pub why: String,
    /// Mean counts of a pixel above its background, where they are known.
    pub mean: Option<f64>,
    /// The limit, in the map's own numbers, above which it would have been detected.
    pub below: Option<f64>,
    /// The same as a share of the element's strongest passage in this scan, where it has one.
    pub below_share: Option<f64>,
    /// Whether its silence says something.
    pub reach: Reach,
    /// Why its silence excludes nothing beside `reach`: a strong absorber over it, support and ground that hold it. Empty
    /// where it may exclude.
    pub no_exclusion: String,
}

impl Seen {
    /// Whether its silence excludes a material that must show it, at the surface and above the limit.
    pub fn excludes(&self) -> bool {
        self.state == State::NotDetected && self.reach == Reach::Hard && self.no_exclusion.is_empty()
    }
}

/// A relation between two elements in the passage, by a measuring question.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Relation {
    /// They rise and fall together.
    Together,
    /// No common pattern.
    NoPattern,
    /// More A than accompanies B.
    MoreThanAccompanies,
    /// No more A than accompanies B.
    NoMoreThanAccompanies,
    /// It cannot be judged.
    CannotBeJudged,
}

/// A relation that was asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Related {
    /// First element.
    pub a: Element,
    /// Second element.
    pub b: Element,
    /// What was found.
    pub relation: Relation,
    /// The sentence with its numbers, as the question gave it.
    pub sentence: String,
}

/// A relation that reasoning would like to know, before it is asked for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Expected {
    /// First element.
    pub a: Element,
    /// Second element.
    pub b: Element,
    /// True for `apart` (A without B), false for `together`.
    pub is_apart: bool,
}

/// What a technique found in the passage.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// The point's name.
    pub point: String,
    /// The technique.
    pub technique: Technique,
    /// The material that the result speaks of, by id.
    pub material: String,
    /// True for found, `None` for open; false excludes nothing.
    pub is_found: Option<bool>,
}

/// All that is known of a passage.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Passage {
    /// Elements that were measured, in order of their number, each once.
    pub elements: Vec<Seen>,
    /// Relations that were asked for.
    pub relations: Vec<Related>,
    /// Results of other techniques at points inside.
    pub found: Vec<Found>,
    /// What it looks like.
    pub colour: Option<Colour>,
    /// First year of the proposed span.
    pub from: Option<i32>,
    /// Last year of it.
    pub to: Option<i32>,
}

impl Passage {
    /// What the maps say of an element; `None` for one that was not measured.
    pub fn of(&self, element: Element) -> Option<&Seen> {
        self.elements.iter().find(|seen| seen.element == element)
    }
}
