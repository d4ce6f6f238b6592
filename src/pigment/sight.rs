//! What the maps say of one element, as reasoning takes it, and sets of elements as bits.

use super::passage::{Passage, State};
use crate::element::Element;

/// What the maps say of one element.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Sight {
    /// Detected beyond support and ground.
    Beyond,
    /// No more than support or ground hold.
    Held,
    /// Not detected, and its silence excludes.
    Silent,
    /// Not detected, but its silence excludes nothing.
    Mute,
    /// Cannot be judged.
    Open,
    /// Not in the record.
    Unmeasured,
}

/// What the maps say of an element.
pub(super) fn of(passage: &Passage, element: Element) -> Sight {
    match passage.of(element) {
        None => Sight::Unmeasured,
        Some(seen) => match seen.state {
            State::Detected => Sight::Beyond,
            State::AsBelow => Sight::Held,
            State::CannotBeJudged => Sight::Open,
            State::NotDetected if seen.excludes() => Sight::Silent,
            State::NotDetected => Sight::Mute,
        },
    }
}

/// Whether it is detected beyond support and ground.
pub(super) fn is_seen(passage: &Passage, element: Element) -> bool {
    of(passage, element) == Sight::Beyond
}

/// A set of elements: bit Z for the element of number Z.
pub(super) type Bits = u128;

/// The bit of one element.
pub(super) fn bit(element: Element) -> Bits {
    1 << element.number()
}

/// The bits of several.
pub(super) fn bits<'a>(elements: impl IntoIterator<Item = &'a Element>) -> Bits {
    elements.into_iter().fold(0, |all, element| all | bit(*element))
}

/// The elements of a set, in order of their number.
pub(super) fn elements(set: Bits) -> Vec<Element> {
    (1..=92).filter(|z| set >> z & 1 == 1).filter_map(Element::from_number).collect()
}

/// Elements that are detected beyond support and ground.
pub(super) fn seen(passage: &Passage) -> Bits {
    bits(passage.elements.iter().map(|seen| &seen.element).filter(|element| is_seen(passage, **element)))
}
