//! First look at one material: what of it is seen, what must show and does not, what could not be looked at.

use super::common;
use super::material::{Basis, Colour, Knowledge, Material, Use};
use super::passage::Passage;
use super::sight::{self, Bits, Sight, bits};
use crate::element::Element;

/// Places in the order of commonness by which a material moves back whose first colour is not the stated one: half of the
/// list of common ones, so that a common one stays before those that are not.
const OTHER_COLOUR: usize = 17;

/// What the maps alone say of a material. The words of the verdict come later, from all materials together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Maps {
    /// All that must show is seen, or is hidden in what support and ground hold beside something of it that is seen.
    Whole,
    /// Something of it is seen; something that must show could not be looked at.
    Part,
    /// An element that must show is not detected.
    Excluded(Element),
    /// Nothing of it is seen, or only what others show as well, and nothing that must show is missing.
    Mute,
}

/// A material as the maps show it.
#[derive(Debug, Clone)]
pub(super) struct Judged {
    /// The material.
    pub material: &'static Material,
    /// What the maps say.
    pub maps: Maps,
    /// Elements of its formulas that are detected.
    pub seen: Bits,
    /// Elements that are detected, are none of its own and often come with it.
    pub companions: Bits,
    /// Elements that are detected, are none of its own and stand for what cannot be seen.
    pub proxies: Bits,
    /// Elements that must show and could not be looked at.
    pub open: Vec<Element>,
    /// Whether the stated colour is one of its own.
    pub gives_colour: bool,
    /// False where the stated colour speaks against it.
    pub fits_colour: bool,
    /// How its years and the proposed span meet.
    pub years: Years,
    /// Place in the order of commonness.
    pub rank: usize,
}

/// How years of use and a proposed span meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Years {
    /// They meet, or nothing is known or proposed.
    Meet,
    /// It begins after the span, by a year that a verdict may rest on.
    Later,
    /// It begins after the span, by a year too weak for a verdict.
    WeaklyLater,
    /// Its common use fades out before the span.
    Faded,
}

impl Judged {
    /// Whether the stated colour speaks against it and it is neither white nor black, which go into every colour.
    pub(super) fn is_off_colour(&self) -> bool {
        let is_neutral = |colour: &Colour| matches!(colour, Colour::White | Colour::Black);
        !self.fits_colour && !self.material.colours.iter().any(is_neutral)
    }

    /// Whether it is no paint: what came later, or support without a colour of its own.
    pub(super) fn is_no_paint(&self) -> bool {
        is_later(self.material) || self.material.used_as == Use::Companion && self.material.colours.is_empty()
    }

    /// Whether the maps are consistent with it as far as it was looked at.
    pub(super) fn is_possible(&self) -> bool {
        matches!(self.maps, Maps::Whole | Maps::Part)
    }
}

/// The proposed span with its first year first.
pub(super) fn span(passage: &Passage) -> (Option<i32>, Option<i32>) {
    match (passage.from, passage.to) {
        (Some(from), Some(to)) => (Some(from.min(to)), Some(from.max(to))),
        open => open,
    }
}

/// Whether a verdict may rest on a material's first year.
pub(super) fn is_start_firm(material: &Material) -> bool {
    material.from.is_some()
        && !material.is_start_weak
        && matches!(material.years.basis, Basis::Found | Basis::Memory | Basis::Computed)
}

/// How a material's years meet the proposed span.
pub(super) fn years(material: &Material, passage: &Passage) -> Years {
    let (from, to) = span(passage);
    // An open span has no end: nothing begins after it.
    if let (Some(start), Some(end)) = (material.from, to)
        && start > end
    {
        return if is_start_firm(material) { Years::Later } else { Years::WeaklyLater };
    }
    if let (Some(end), Some(first)) = (material.to, from)
        && end < first
    {
        return Years::Faded;
    }
    Years::Meet
}

/// Every material as the maps show it, in the order of the data.
pub(super) fn all(passage: &Passage, knowledge: &'static Knowledge) -> Vec<Judged> {
    let seen = sight::seen(passage);
    let mut out: Vec<Judged> = knowledge
        .materials
        .iter()
        .enumerate()
        .map(|(index, material)| one(passage, material, seen, index))
        .collect();
    // A material of which nothing must show says nothing through elements that others show entirely: those of the stated
    // colour, or white and black.
    let whole = out.iter().filter(|judged| judged.maps == Maps::Whole && !judged.is_off_colour());
    let explained = whole.fold(0, |all, judged| all | judged.seen);
    for judged in &mut out {
        let own = (judged.seen | judged.proxies) & !explained;
        // Of another colour than the one stated it is not even a hint.
        if judged.material.must.is_empty()
            && judged.maps == Maps::Part
            && (own == 0 || judged.is_off_colour())
        {
            judged.maps = Maps::Mute;
        }
    }
    out
}

fn one(passage: &Passage, material: &'static Material, seen: Bits, index: usize) -> Judged {
    let own = (bits(&material.key) | bits(&material.must)) & seen;
    let proxies = bits(material.stands.iter().map(|stands| &stands.element)) & seen;
    let often = bits(material.often.iter().map(|often| &often.element)) & seen;
    let silent = material.must.iter().find(|element| sight::of(passage, **element) == Sight::Silent);
    let open: Vec<Element> = material
        .must
        .iter()
        .copied()
        .filter(|e| matches!(sight::of(passage, *e), Sight::Open | Sight::Mute | Sight::Unmeasured))
        .collect();
    let maps = match silent {
        Some(element) => Maps::Excluded(*element),
        // Nothing of it must show: what is seen of it is never the whole.
        None if material.must.is_empty() => {
            if own | proxies != 0 {
                Maps::Part
            } else {
                Maps::Mute
            }
        }
        // What need not show, seen without anything that must, may belong to anything.
        None if bits(&material.must) & seen == 0 => Maps::Mute,
        None if open.is_empty() => Maps::Whole,
        None => Maps::Part,
    };
    let gives_colour = passage.colour.is_some_and(|colour| material.colours.contains(&colour));
    Judged {
        material,
        maps,
        seen: own,
        companions: often & !own & !proxies,
        proxies: proxies & !own,
        open,
        gives_colour,
        fits_colour: passage.colour.is_none() || gives_colour || material.colours.is_empty(),
        years: years(material, passage),
        // A material that mostly has another colour comes after those that mostly have the stated one.
        rank: common::rank(material.id, index)
            + if gives_colour && material.colours.first() != passage.colour.as_ref() {
                OTHER_COLOUR
            } else {
                0
            },
    }
}

/// Whether it came later than the paint and is no paint: it never explains a passage.
pub(super) fn is_later(material: &Material) -> bool {
    material.used_as == Use::Later
}
