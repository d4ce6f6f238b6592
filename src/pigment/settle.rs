//! What would settle an open alternative: which technique, what it looks for in each material, where the maps show it.

use super::judge::Judged;
use super::material::{Knowledge, Settle, Technique};
use super::passage::Passage;
use super::points::can_identify;
use super::read::is_consistent;
use super::reading::{MaterialReading, ToSettle, Verdict};
use super::sight::{self, elements};
use super::words::{by_fact, capital};
use crate::element::Element;

/// Alternatives that are given at most.
const GROUPS: usize = 8;
/// Techniques for each at most.
const TECHNIQUES: usize = 3;

/// What would settle what is open: first between materials that XRF does not tell apart, then what the maps are silent on.
/// Where a colour was stated only for materials that fit it.
pub(super) fn propose(
    rows: &[(Judged, MaterialReading)],
    passage: &Passage,
    knowledge: &'static Knowledge,
) -> Vec<ToSettle> {
    let mut out = Vec::new();
    for group in alternatives(rows, passage.colour.is_some()).into_iter().take(GROUPS) {
        let members: Vec<&Judged> = group.iter().map(|at| &rows[*at].0).collect();
        let at = places(&members, passage);
        for technique in techniques(&members) {
            let told: Vec<&&Judged> =
                members.iter().filter(|judged| settle(judged, technique).is_some()).collect();
            out.push(ToSettle {
                between: members.iter().map(|judged| judged.material.id).collect(),
                technique,
                looks_for: told
                    .iter()
                    .filter_map(|judged| Some((judged, settle(judged, technique)?)))
                    .map(|(judged, settle)| {
                        let text = format!("{}: {}", capital(judged.material.name), looked_for(settle));
                        by_fact(text, &settle.fact, knowledge)
                    })
                    .collect(),
                at: at.clone(),
            });
        }
    }
    out
}

fn looked_for(settle: &Settle) -> String {
    let only = if can_identify(settle) { "" } else { " This narrows and does not identify." };
    let text = settle.fact.text.trim();
    let stop = if text.ends_with(['.', '!', '?']) { "" } else { "." };
    format!("{text}{stop}{only}")
}

/// What a technique looks for in a material; what identifies it first.
fn settle(judged: &Judged, technique: Technique) -> Option<&'static Settle> {
    let own = || judged.material.settle.iter().filter(|settle| settle.technique == technique);
    own().find(|settle| can_identify(settle)).or_else(|| own().next())
}

/// Groups of rows between which the maps do not decide, in the order of their first row. A group in which one is
/// identified is settled.
fn alternatives(rows: &[(Judged, MaterialReading)], has_colour: bool) -> Vec<Vec<usize>> {
    let mut taken = vec![false; rows.len()];
    let mut out: Vec<Vec<usize>> = Vec::new();
    let index = |id: &str| rows.iter().position(|(judged, _)| judged.material.id == id);
    for at in 0..rows.len() {
        let (judged, row) = &rows[at];
        if taken[at] || !judged.fits_colour || !is_consistent(row) || super::judge::is_later(judged.material)
        {
            continue;
        }
        let mut group: Vec<usize> = std::iter::once(at)
            .chain(row.alike.iter().filter_map(|id| index(id)))
            .filter(|other| rows[*other].0.fits_colour)
            .collect();
        for (other, (_, its)) in rows.iter().enumerate() {
            if let Verdict::NotDistinguishable { from } = &its.verdict
                && from.contains(&judged.material.id)
            {
                group.push(other);
            }
        }
        group.sort_unstable();
        group.dedup();
        let is_settled =
            group.iter().any(|other| matches!(rows[*other].1.verdict, Verdict::Identified { .. }));
        for other in &group {
            taken[*other] = true;
        }
        if !is_settled {
            out.push(group);
        }
    }
    // One material without an alternative comes after those between which something is open.
    out.sort_by_key(|group| (group.len() == 1, group.first().copied()));
    // Without a colour only what no map can ever show: the rest is open because it was not measured.
    let silent: Vec<usize> = (0..rows.len())
        .filter(|at| {
            let (judged, row) = &rows[*at];
            row.verdict == Verdict::NoEvidence
                && (judged.gives_colour || !has_colour && judged.material.must.is_empty())
        })
        .collect();
    if !silent.is_empty() {
        out.truncate(GROUPS - 1);
        out.push(silent);
    }
    out
}

/// The techniques that tell most of a group, best first: those that identify most, then those that speak of most.
fn techniques(members: &[&Judged]) -> Vec<Technique> {
    let count = |technique: Technique| {
        let own = || members.iter().filter_map(|judged| settle(judged, technique));
        (own().filter(|settle| can_identify(settle)).count(), own().count())
    };
    let mut out: Vec<(usize, usize, Technique)> = Technique::ALL
        .into_iter()
        .map(|technique| (count(technique), technique))
        .filter(|((_, speaks), _)| *speaks > 0)
        .map(|((identifies, speaks), technique)| {
            (members.len() - identifies, members.len() - speaks, technique)
        })
        .collect();
    out.sort_unstable();
    out.into_iter().take(TECHNIQUES).map(|(_, _, technique)| technique).collect()
}

/// Elements whose maps show where to measure: what must show and is seen of every member, else of any.
fn places(members: &[&Judged], passage: &Passage) -> Vec<Element> {
    let seen = sight::seen(passage);
    let must = |judged: &&Judged| sight::bits(&judged.material.must) & seen;
    let shared = members.iter().map(must).fold(seen, |all, own| all & own);
    let any = members.iter().fold(0, |all, judged| all | must(judged) | judged.seen | judged.proxies);
    elements(if shared != 0 { shared } else { any })
}
