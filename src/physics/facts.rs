//! Lines, edges, yields, jumps and attenuation, as the data hold them.

use super::data::{Atom, atom};
use super::names::{LINES, Shell};
use crate::element::{Element, Family, Line, Member};

/// A number on which sources disagree: `low` <= `value` <= `high`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Between {
    /// The one that is computed with.
    pub value: f64,
    /// Smallest that a source gives.
    pub low: f64,
    /// Largest that a source gives.
    pub high: f64,
}

impl Between {
    /// One source alone.
    pub fn exactly(value: f64) -> Self {
        Self { value, low: value, high: value }
    }

    /// The first of the values with the range of all. `None` for no values.
    pub fn of(values: impl IntoIterator<Item = f64>) -> Option<Self> {
        let mut values = values.into_iter();
        let first = Self::exactly(values.next()?);
        Some(values.fold(first, |b, v| Self { low: b.low.min(v), high: b.high.max(v), ..b }))
    }

    /// The same multiplied by a factor that is not negative.
    pub fn times(self, factor: f64) -> Self {
        Self { value: self.value * factor, low: self.low * factor, high: self.high * factor }
    }

    /// Values through a function that rises or falls throughout.
    pub fn through(self, f: impl Fn(f64) -> f64) -> Self {
        let (a, b) = (f(self.low), f(self.high));
        Self { value: f(self.value), low: a.min(b), high: a.max(b) }
    }
}

/// One X-ray line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Emission {
    /// Its family.
    pub family: Family,
    /// The member that its name says; for those without a Greek letter of their own the one of the same shell (Ll and Mζ1: α; Lη and
    /// Mζ2: β; lines of M1 and M2: γ). A map of a member does not count them.
    pub member: Member,
    /// "Ka1", "Lb2,15"; by levels where Siegbahn has no name ("M2-N4").
    pub name: &'static str,
    /// Lines that a detector does not part from it ("Kα", "Lβ3,4").
    pub group: &'static str,
    /// The shell whose vacancy it fills.
    pub shell: Shell,
    /// Energy, keV.
    pub kev: f64,
    /// Share of its shell's lines.
    pub rate: f64,
    /// The same with what the second source gives.
    pub rates: Between,
}

/// Lines of 0.9 to 40 keV that are at least 0.2 % of their shell's, from the innermost shell outwards. Energies after
/// xraylib, or after xraydb where it has none; rates of both. Nothing for elements lighter than sodium.
pub fn emissions(element: Element) -> Vec<Emission> {
    let lines = atom(element).map_or(&[][..], |atom| &atom.lines);
    lines
        .iter()
        .filter_map(|line| {
            let (name, shell, member, group) = LINES[line.name];
            let rates = Between::of(line.rates.into_iter().flatten())?;
            let (family, kev) = (shell.family(), line.kev);
            Some(Emission { family, member, name, group, shell, kev, rate: rates.value, rates })
        })
        .collect()
}

/// Energy of an absorption edge in keV (xraylib). `None` for shells that the element does not fill.
pub fn edge_kev(element: Element, shell: Shell) -> Option<f64> {
    atom(element)?.shell(shell).edge
}

/// Fluorescence yield of a shell after xraylib, with the range of xraylib and xraydb (Krause 1979 for K and L there).
pub fn fluorescence_yield(element: Element, shell: Shell) -> Option<Between> {
    Between::of(atom(element)?.shell(shell).yields.into_iter().flatten())
}

/// How much attenuation steps up at an edge (xraylib; xraydb has the same numbers, so there is no range).
pub fn jump_ratio(element: Element, shell: Shell) -> Option<f64> {
    atom(element)?.shell(shell).jump
}

/// Standard atomic weight, g/mol (xraylib).
pub fn atomic_weight(element: Element) -> Option<f64> {
    atom(element).map(|atom| atom.mass)
}

impl Atom {
    /// Attenuation with the range of the sources.
    pub(super) fn attenuation(&self, kev: f64) -> Option<Between> {
        let first = self.total.at(kev)?;
        Between::of([Some(first), self.chantler.at(kev), self.kissel.at(kev)].into_iter().flatten())
    }
}

/// Mass attenuation in cm²/g, photoelectric and scattered, 0.9 to 60 keV; `None` outside. At an edge the value above it.
///
/// The value is xraylib's `CS_Total` (the table of W. T. Elam et al. 2002, which is xraydb's `mu_elam` as well); the range takes in
/// Chantler's (FFAST), and from Z 70 below 6.5 keV Kissel's, because about the M edges of gold, mercury, lead and bismuth
/// the sources differ by up to a factor of two. Each source has its edges at its own energy, so the range is wide
/// within some eV of an edge.
pub fn mass_attenuation(element: Element, kev: f64) -> Option<Between> {
    atom(element)?.attenuation(kev)
}

/// The shells of a family that can hold a vacancy of this line: the outermost is excited first.
fn outermost(family: Family) -> Shell {
    match family {
        Family::K => Shell::K,
        Family::L => Shell::L3,
        Family::M => Shell::M5,
    }
}

/// Whether a tube at this voltage can excite a line: the edge lies below. For a family's sum and for α the outermost shell
/// of the family, for β and γ the shell of the strongest of them. `None` where the family is not given, the element has no such edge or
/// the voltage is not a number. A line that is not excited was *not measured*.
pub fn is_excited(line: Line, kv: f64) -> Option<bool> {
    let family = line.family?;
    let shell = match (family, line.member) {
        (Family::L, Some(Member::Beta | Member::Gamma)) => Shell::L2,
        (Family::M, Some(Member::Beta)) => Shell::M4,
        (Family::M, Some(Member::Gamma)) => Shell::M3,
        _ => outermost(family),
    };
    let edge = edge_kev(line.element, shell)?;
    (!kv.is_nan()).then_some(edge < kv)
}
