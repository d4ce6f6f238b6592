//! Relations between elements: what the measured ones suggest, and what they forbid.

use super::material::{Knowledge, Material};
use super::passage::{Passage, Relation};
use super::reading::Reason;
use super::relation::RelationReading;
use super::sight::{self, Sight};
use super::words::{by_fact, by_maps, capital, sentence};
use crate::element::Element;

/// What the measured relations suggest, in the order of the data: the measured sentence, the reading, what it cannot
/// exclude, what would tell.
pub(super) fn readings(passage: &Passage, knowledge: &Knowledge) -> Vec<Reason> {
    let mut out: Vec<Reason> = Vec::new();
    for reading in held(passage, knowledge) {
        let Some(measured) = measured(reading, passage) else { continue };
        let cannot = match reading.alternatives.as_slice() {
            [] => String::new(),
            some => format!(" It cannot exclude: {}.", some.join("; ")),
        };
        let next = match reading.next {
            "" => String::new(),
            next => format!(" {}", sentence(next)),
        };
        let text = format!("{} {}{cannot}{next}", sentence(&measured), sentence(reading.reading.text));
        out.push(by_fact(text, &reading.reading, knowledge));
    }
    out.dedup();
    out
}

/// Readings whose relation was measured and that are offered, in the order of the data.
pub(super) fn held<'k>(passage: &Passage, knowledge: &'k Knowledge) -> Vec<&'k RelationReading> {
    let is_held =
        |reading: &&RelationReading| is_offered(reading, passage) && measured(reading, passage).is_some();
    knowledge.relations.iter().filter(is_held).collect()
}

/// Whether the other elements and the colour are those for which a reading is offered.
pub(super) fn is_offered(reading: &RelationReading, passage: &Passage) -> bool {
    reading.with.iter().all(|element| sight::is_seen(passage, *element))
        && !reading.without.iter().any(|element| sight::is_seen(passage, *element))
        && (reading.colours.is_empty()
            || passage.colour.is_none_or(|colour| reading.colours.contains(&colour)))
}

/// The measured sentence of the relation that a reading is of; `None` where it was not found.
fn measured(reading: &RelationReading, passage: &Passage) -> Option<String> {
    let (a, b) = (reading.a, reading.b);
    let is_either_way = matches!(reading.relation, Relation::Together | Relation::NoPattern);
    let asked = passage.relations.iter().find(|related| {
        related.relation == reading.relation
            && ((related.a, related.b) == (a, b) || is_either_way && (related.a, related.b) == (b, a))
    });
    if let Some(related) = asked {
        return Some(related.sentence.clone());
    }
    let is_alone = reading.relation == Relation::MoreThanAccompanies
        && sight::is_seen(passage, a)
        && sight::of(passage, b) == Sight::Silent;
    is_alone.then(|| format!("{} is detected and {} is not", capital(a.name()), b.name()))
}

/// What the measured relations between elements of one material say of it, each with its sentence.
pub(super) fn of_material(material: &Material, passage: &Passage) -> Vec<Reason> {
    let brings = |element: Element| {
        material.key.contains(&element) || material.often.iter().any(|often| often.element == element)
    };
    let mut out = Vec::new();
    for related in &passage.relations {
        let (a, b) = (related.a, related.b);
        let is_of_it = material.must.contains(&b) && brings(a)
            || related.relation == Relation::Together && material.must.contains(&a) && brings(b);
        let says = match related.relation {
            Relation::Together | Relation::NoMoreThanAccompanies => "Both may belong to it.".to_owned(),
            Relation::MoreThanAccompanies => {
                format!("The {} that is in excess needs another source.", a.name())
            }
            Relation::NoPattern | Relation::CannotBeJudged => continue,
        };
        if is_of_it && a != b {
            out.push(by_maps(format!("{} {says}", sentence(&related.sentence))));
        }
    }
    out
}

/// Whether a relation was measured that forbids explaining an element by a material, and as what.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ban {
    /// Nothing forbids it.
    None,
    /// It is no companion of that material: there is more of it than accompanies the material's own element.
    AsCompanion,
    /// Nor does the formula explain it: there is more of it than accompanies another element that must show.
    Both,
}

/// What the measured relations forbid a material to explain of one element.
pub(super) fn ban(material: &Material, element: Element, passage: &Passage) -> Ban {
    let carriers = passage
        .relations
        .iter()
        .filter(|related| related.relation == Relation::MoreThanAccompanies && related.a == element)
        .map(|related| related.b)
        .filter(|carrier| *carrier != element);
    let mut out = Ban::None;
    for carrier in carriers {
        if material.must.contains(&carrier) {
            return Ban::Both;
        }
        if material.key.contains(&carrier) {
            out = Ban::AsCompanion;
        }
    }
    out
}

/// Whether a measured relation backs an element as a companion of a material.
pub(super) fn is_backed(material: &Material, element: Element, passage: &Passage) -> bool {
    let own = |e: Element| material.must.contains(&e);
    passage.relations.iter().any(|related| match related.relation {
        Relation::Together => {
            related.a == element && own(related.b) || related.b == element && own(related.a)
        }
        Relation::NoMoreThanAccompanies => related.a == element && own(related.b),
        _ => false,
    })
}
