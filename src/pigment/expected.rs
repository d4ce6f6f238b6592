//! Relations worth asking for, before anything is said of a passage.

use std::collections::BTreeMap;

use super::common;
use super::judge::{self, Judged, Maps, Years, is_later};
use super::material::Knowledge;
use super::passage::{Expected, Passage, Relation};
use super::relate::is_offered;
use super::sight::{self, bit};

/// Relations that are proposed at most.
const ASKED: usize = 8;
/// What a relation is worth on which a reading rests; a companion of one material is worth 1 to 48.
const READING: u32 = 40;

/// Relations between detected elements whose answer would change what is said: those that a reading rests on, those that
/// tell a companion from a material of its own, those that tell one material from two. The most useful first, each element
/// in turn, at most eight; empty where fewer than two elements are detected.
pub fn expected(passage: &Passage) -> Vec<Expected> {
    expected_with(passage, super::knowledge())
}

/// As [`expected`], with the knowledge handed in.
pub(super) fn expected_with(passage: &Passage, knowledge: &'static Knowledge) -> Vec<Expected> {
    let all = judge::all(passage, knowledge);
    let mut use_of: BTreeMap<Expected, u32> = BTreeMap::new();
    let mut add = |ask: Expected, weight: u32| *use_of.entry(ask).or_default() += weight;
    for reading in &knowledge.relations {
        let (a, b) = (reading.a, reading.b);
        if sight::is_seen(passage, a) && sight::is_seen(passage, b) && is_offered(reading, passage) {
            let is_apart =
                matches!(reading.relation, Relation::MoreThanAccompanies | Relation::NoMoreThanAccompanies);
            add(pair(a, b, is_apart), READING);
        }
    }
    for judged in all.iter().filter(|judged| judged.is_possible() && !is_later(judged.material)) {
        let weight =
            (1 + u32::from(judged.fits_colour)) * (1 + u32::from(common::is_common(judged.material.id)));
        let must: Vec<_> =
            judged.material.must.iter().filter(|element| sight::is_seen(passage, **element)).collect();
        for (at, b) in must.iter().enumerate() {
            for often in judged.material.often.iter().filter(|o| judged.companions & bit(o.element) != 0) {
                add(pair(often.element, **b, true), weight * own(&all, often.element));
            }
            for a in &must[..at] {
                add(pair(**a, **b, false), 3 * weight);
            }
        }
    }
    let mut left: Vec<(Expected, u32)> = use_of.into_iter().filter(|(_, weight)| *weight > 0).collect();
    let mut out: Vec<Expected> = Vec::new();
    while out.len() < ASKED && !left.is_empty() {
        // What was asked of the same two, or of the same element, leaves less to ask; of equals the first by number.
        let worth =
            |(ask, weight): &(Expected, u32)| weight >> out.iter().map(|done| shared(done, ask)).sum::<u32>();
        let best = left.iter().map(worth).max();
        let Some(at) = left.iter().position(|one| Some(worth(one)) == best) else { break };
        out.push(left.remove(at).0);
    }
    out
}

/// How much of one relation another has answered, in halvings.
fn shared(done: &Expected, ask: &Expected) -> u32 {
    let is_same_pair = (done.a, done.b) == (ask.a, ask.b) || (done.a, done.b) == (ask.b, ask.a);
    u32::from(done.a == ask.a) + 2 * u32::from(is_same_pair)
}

/// How much hangs on whether an element has a material of its own: nothing where it has none, most where every one began
/// after the proposed span.
fn own(all: &[Judged], element: crate::element::Element) -> u32 {
    let own: Vec<&Judged> = all
        .iter()
        .filter(|j| j.maps == Maps::Whole && j.seen & bit(element) != 0 && !is_later(j.material))
        .collect();
    match own.len() {
        0 => 1,
        _ if own.iter().all(|judged| judged.years == Years::Later) => 12,
        _ => 4,
    }
}

/// For rising and falling together the order means nothing.
fn pair(a: crate::element::Element, b: crate::element::Element, is_apart: bool) -> Expected {
    if is_apart || a < b { Expected { a, b, is_apart } } else { Expected { a: b, b: a, is_apart } }
}
