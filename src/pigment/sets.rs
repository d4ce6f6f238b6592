//! Small sets of materials that together explain everything that is seen, on top of support and ground.
//!
//! Sets of at most four are searched whole (within a fixed number of steps). What counts is how much has to be assumed.
//! One assumption is every material (none where it is identified; two for a mixture, and where nothing of it must show;
//! three for such a filler beside what support and ground were seen to hold), every element that comes only as a frequent
//! companion and that no measured relation backs as one, every material that begins after the proposed span, and that none
//! of them has the stated colour. Among sets of as many assumptions the one of fewest materials stands first, then the one
//! that gives the stated colour, that fits the years, of whose materials a reading of a measured relation speaks together,
//! and whose materials are commonest. The best set that needs no companions is always among those given; where the best set
//! gives the stated colour, sets of other colours are left out.

use std::collections::BTreeSet;

use super::common;
use super::judge::{Judged, Years, is_later};
use super::material::Use;
use super::passage::{Passage, State};
use super::read::is_consistent;
use super::reading::{ExplainingSet, MaterialReading, Verdict};
use super::relate::{self, Ban};
use super::relation::RelationReading;
use super::sight::{self, Bits, bit, elements};
use crate::element::Element;

/// Materials of a set at most.
const SIZE: usize = 4;
/// Sets that are given at most.
const GIVEN: usize = 6;
/// Steps of the search at most; deterministic, and far more than passages need.
const STEPS: u32 = 5_000;
/// Candidates kept during the search.
const KEPT: usize = 16;
/// Materials of one kind that stand for one another in what is given.
const SPREAD: usize = 3;

/// What a material explains and how well it suits the passage: equal for materials that do the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Kind {
    by_formula: Bits,
    by_company: Bits,
    backed: Bits,
    /// Readings of measured relations that speak of it, a bit for each.
    read: u128,
    is_identified: bool,
    /// How much has to be assumed for it: 0 where it is identified.
    assumed: u32,
    gives_colour: bool,
    is_off_colour: bool,
    is_off_years: bool,
    is_faded: bool,
    has_no_colour: bool,
}

#[derive(Debug)]
struct Group {
    kind: Kind,
    /// Rank of commonness and id, the commonest first.
    members: Vec<(usize, &'static str)>,
}

/// How good a set is, the best first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Grade {
    /// What has to be assumed.
    assumed: u32,
    /// Materials.
    size: usize,
    /// Whether none of them has the stated colour.
    lacks_colour: bool,
    /// Materials that begin after the span or had faded out before it.
    off_years: u32,
    /// All but the readings of measured relations that speak of two of the materials.
    not_read_together: u32,
    /// Materials of another colour.
    off_colour: u32,
    /// Materials without a colour.
    without_colour: u32,
}

/// A set of groups in rising order, with its grade and the commonness of its commonest materials.
type Graded = (Grade, usize, Vec<usize>);

/// The sets, best first; empty where nothing is seen or no four materials explain it. Elements that nothing explains are
/// left out of what has to be explained.
pub(super) fn find(
    rows: &[(Judged, MaterialReading)],
    unexplained: &[Element],
    passage: &Passage,
    held: &[&RelationReading],
) -> Vec<ExplainingSet> {
    let wanted = sight::seen(passage) & !sight::bits(unexplained);
    if wanted == 0 {
        return Vec::new();
    }
    let groups = groups(rows, wanted, passage, held);
    let has_colour = passage.colour.is_some();
    let mut out = spread(&Search::run(&groups, wanted, has_colour, true), &groups);
    let own = spread(&Search::run(&groups, wanted, has_colour, false), &groups);
    if let Some(best) = own.into_iter().next()
        && !out.iter().any(|given| given.3 == wanted)
    {
        out.truncate(GIVEN - 1);
        out.push(best);
    }
    out.sort();
    out.into_iter()
        .map(|(_, _, ids, by_formula)| ExplainingSet {
            materials: ids,
            as_companions: elements(wanted & !by_formula),
        })
        .collect()
}

/// Concrete sets out of sets of groups, best first: of those that assume as much a few of each, then more of the same.
fn spread(found: &[Graded], groups: &[Group]) -> Vec<(Grade, usize, Vec<&'static str>, Bits)> {
    let mut out = Vec::new();
    let has_colour = found.first().is_some_and(|best| !best.0.lacks_colour);
    // Of another colour: nothing in it has the stated one, something has another than white or black.
    for (grade, _, set) in
        found.iter().filter(|set| !(has_colour && set.0.lacks_colour && set.0.off_colour > 0))
    {
        let mut partial: Vec<(usize, Vec<&'static str>)> = vec![(0, Vec::new())];
        for g in set {
            let mut longer = Vec::new();
            for (rank, ids) in &partial {
                for (own, id) in groups[*g].members.iter().take(GIVEN) {
                    let mut ids = ids.clone();
                    ids.push(*id);
                    longer.push((rank + own, ids));
                }
            }
            longer.sort();
            longer.truncate(GIVEN);
            partial = longer;
        }
        let by_formula = set.iter().fold(0, |all, g| all | groups[*g].kind.by_formula);
        for (at, (rank, ids)) in partial.into_iter().enumerate() {
            out.push((grade.assumed, at >= SPREAD, *grade, rank, ids, by_formula));
        }
    }
    out.sort();
    out.truncate(GIVEN);
    let mut out: Vec<_> =
        out.into_iter().map(|(_, _, grade, rank, ids, by_formula)| (grade, rank, ids, by_formula)).collect();
    out.sort();
    out
}

/// Materials that can explain something of what is wanted, those that explain the same together.
fn groups(
    rows: &[(Judged, MaterialReading)],
    wanted: Bits,
    passage: &Passage,
    held: &[&RelationReading],
) -> Vec<Group> {
    let has_below = passage.elements.iter().any(|seen| seen.state == State::AsBelow);
    let mut out: Vec<Group> = Vec::new();
    for (judged, row) in rows.iter().filter(|(judged, row)| is_consistent(row) && !is_later(judged.material))
    {
        let material = judged.material;
        let (by_formula, by_company) = explains(judged, passage);
        let (by_formula, by_company) = (by_formula & wanted, by_company & wanted);
        if by_formula == 0 && by_company == 0 {
            continue;
        }
        let is_identified = matches!(row.verdict, Verdict::Identified { .. });
        let is_backed = |element: &Element| relate::is_backed(material, *element, passage);
        let speaks = |(_, reading): &(usize, &&RelationReading)| reading.materials.contains(&material.id);
        let read = held.iter().take(128).enumerate().filter(speaks).fold(0, |all, (at, _)| all | 1 << at);
        let kind = Kind {
            read,
            by_formula,
            by_company,
            // An element that stands for what cannot be seen is why such a material is thought of at all.
            backed: allowed(by_company, is_backed) | judged.proxies & by_company,
            is_identified,
            assumed: if is_identified { 0 } else { assumed(judged, has_below) },
            gives_colour: judged.gives_colour,
            is_off_colour: judged.is_off_colour(),
            is_off_years: judged.years == Years::Later,
            is_faded: judged.years == Years::Faded,
            has_no_colour: material.colours.is_empty(),
        };
        match out.iter_mut().find(|group| group.kind == kind) {
            Some(group) => group.members.push((judged.rank, material.id)),
            None => out.push(Group { kind, members: vec![(judged.rank, material.id)] }),
        }
    }
    for group in &mut out {
        group.members.sort_unstable();
    }
    // Those that explain most by their formula first: good sets are met early, and the search can be cut.
    let key = |group: &Group| (u32::MAX - group.kind.by_formula.count_ones(), group.members[0], group.kind);
    out.sort_by_key(key);
    out
}

/// How much has to be assumed for a material that is not identified.
fn assumed(judged: &Judged, has_below: bool) -> u32 {
    let material = judged.material;
    if !material.must.is_empty() {
        return common::pigments(material.id);
    }
    2 + u32::from(has_below && material.used_as == Use::Companion)
}

/// What a material explains of what is seen, by its formula and as companions, where no measured relation forbids it.
fn explains(judged: &Judged, passage: &Passage) -> (Bits, Bits) {
    let ban = |element: &Element| relate::ban(judged.material, *element, passage);
    let by_formula = allowed(judged.seen, |element| ban(element) != Ban::Both);
    let brings = !judged.material.must.is_empty();
    // One of which nothing must show brings no companions: nobody knows that it is there.
    let company = if brings { judged.companions } else { 0 } | judged.proxies;
    (by_formula, allowed(company, |element| ban(element) == Ban::None))
}

/// Elements that are seen and that no consistent material explains, by its formula or as a companion, where measured
/// relations allow it. What came later and is no paint explains nothing.
pub(super) fn unexplained(rows: &[(Judged, MaterialReading)], passage: &Passage) -> Vec<Element> {
    let explained = rows
        .iter()
        .filter(|(judged, row)| is_consistent(row) && !is_later(judged.material))
        .map(|(judged, _)| explains(judged, passage))
        .fold(0, |all, (by_formula, by_company)| all | by_formula | by_company);
    elements(sight::seen(passage) & !explained)
}

fn allowed(of: Bits, is_allowed: impl Fn(&Element) -> bool) -> Bits {
    sight::bits(elements(of).iter().filter(|element| is_allowed(element)))
}

struct Search<'a> {
    groups: &'a [Group],
    wanted: Bits,
    has_colour: bool,
    /// Elements that are wanted, those that fewest explain first.
    rarest: Vec<Bits>,
    /// What each group may explain in this search.
    covers: Vec<Bits>,
    /// How many materials are identified: they cost nothing.
    identified: u32,
    /// How much one material explains at most.
    most: u32,
    steps: u32,
    found: Vec<Graded>,
    met: BTreeSet<u64>,
}

impl<'a> Search<'a> {
    /// The best sets; without companions only those in which a formula explains everything.
    fn run(groups: &'a [Group], wanted: Bits, has_colour: bool, with_companions: bool) -> Vec<Graded> {
        let covers: Vec<Bits> = groups
            .iter()
            .map(|g| g.kind.by_formula | if with_companions { g.kind.by_company } else { 0 })
            .collect();
        let mut rarest: Vec<(usize, Bits)> = elements(wanted)
            .into_iter()
            .map(|element| {
                (covers.iter().filter(|covers| **covers & bit(element) != 0).count(), bit(element))
            })
            .collect();
        rarest.sort_unstable();
        let mut search = Self {
            groups,
            wanted,
            has_colour,
            rarest: rarest.into_iter().map(|(_, bit)| bit).collect(),
            identified: groups.iter().filter(|group| group.kind.is_identified).count() as u32,
            most: covers.iter().map(|covers| covers.count_ones()).max().unwrap_or(1).max(1),
            covers,
            steps: 0,
            found: Vec::new(),
            met: BTreeSet::new(),
        };
        search.go(&mut Vec::new(), 0, 0);
        search.found
    }

    /// Adds one material after another: first what explains the element that fewest explain, then what explains by its
    /// formula that which until then is only a companion.
    fn go(&mut self, chosen: &mut Vec<usize>, covered: Bits, by_formula: Bits) {
        self.steps += 1;
        let is_whole = self.wanted & !covered == 0;
        if is_whole {
            self.take(chosen, by_formula);
        }
        // What is chosen stays, and what is still uncovered asks for at least so many more.
        let missing = (self.wanted & !covered).count_ones().div_ceil(self.most).max(u32::from(is_whole));
        let assumed: u32 = chosen.iter().map(|g| self.groups[*g].kind.assumed).sum();
        let least = (assumed + missing).saturating_sub(self.identified);
        let is_hopeless = chosen.len() + missing as usize > SIZE
            || self.found.len() == KEPT && least > self.found[KEPT - 1].0.assumed;
        if chosen.len() == SIZE || self.steps > STEPS || is_hopeless {
            return;
        }
        let target = match self.rarest.iter().find(|bit| **bit & covered == 0) {
            Some(bit) => *bit,
            None => self.wanted & !by_formula,
        };
        for g in 0..self.groups.len() {
            let own = self.groups[g].kind.by_formula;
            let adds = if is_whole { own } else { self.covers[g] };
            if adds & target == 0 || chosen.contains(&g) {
                continue;
            }
            chosen.push(g);
            if self.met.insert(key(chosen)) {
                self.go(chosen, covered | self.covers[g], by_formula | own);
            }
            chosen.pop();
        }
    }

    fn take(&mut self, chosen: &[usize], by_formula: Bits) {
        let grade = self.grade(chosen, by_formula);
        if self.has_idle(chosen, grade.assumed) {
            return;
        }
        let mut set = chosen.to_vec();
        set.sort_unstable();
        let rank = set.iter().map(|g| self.groups[*g].members[0].0).sum();
        let graded = (grade, rank, set);
        let at = self.found.partition_point(|other| *other < graded);
        if at < KEPT {
            self.found.insert(at, graded);
            self.found.truncate(KEPT);
        }
    }

    fn grade(&self, set: &[usize], by_formula: Bits) -> Grade {
        let kinds = || set.iter().map(|g| &self.groups[*g].kind);
        let count = |is: fn(&Kind) -> bool| kinds().map(|kind| u32::from(is(kind))).sum::<u32>();
        let backed = kinds().fold(0, |all, kind| all | kind.backed);
        let lacks_colour = self.has_colour && count(|kind| kind.gives_colour) == 0;
        let later = count(|kind| kind.is_off_years);
        let (_, twice) =
            kinds().fold((0, 0), |(once, twice), kind| (once | kind.read, twice | once & kind.read));
        Grade {
            assumed: kinds().map(|kind| kind.assumed).sum::<u32>()
                + later
                + u32::from(lacks_colour)
                + (self.wanted & !by_formula & !backed).count_ones(),
            size: set.len(),
            lacks_colour,
            off_years: later + count(|kind| kind.is_faded),
            not_read_together: u128::BITS - twice.count_ones(),
            off_colour: count(|kind| kind.is_off_colour),
            without_colour: count(|kind| kind.has_no_colour),
        }
    }

    /// Whether there is a material whose leaving out leaves fewer assumptions.
    fn has_idle(&self, set: &[usize], assumed: u32) -> bool {
        set.len() > 1
            && (0..set.len()).any(|out| {
                let mut rest = set.to_vec();
                rest.remove(out);
                let covered = rest.iter().fold(0, |all, g| all | self.covers[*g]);
                let by_formula = rest.iter().fold(0, |all, g| all | self.groups[*g].kind.by_formula);
                self.wanted & !covered == 0 && self.grade(&rest, by_formula).assumed < assumed
            })
    }
}

/// A set of up to four groups as one number, whatever their order.
fn key(chosen: &[usize]) -> u64 {
    let mut sorted = chosen.to_vec();
    sorted.sort_unstable();
    sorted.iter().fold(0, |key, g| key << 16 | (*g as u64 + 1))
}
