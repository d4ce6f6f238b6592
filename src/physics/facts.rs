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
    /// The member that its name says; for those without a Greek letter of their own the one of the same shell (Ll and
    /// Mζ1: α; Lη and Mζ2: β; lines of M1 and M2: γ). A map of a member does not count them.
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

/// Mass attenuation in cm²/g, photoelectric and scattered, 0.9 to 60 keV; `None` outside. At an edge the value above
/// it.
///
/// The value is xraylib's `CS_Total` (the table of W. T. Elam et al. 2002, which is xraydb's `mu_elam` as well); the
/// range takes in Chantler's (FFAST), and from Z 70 below 6.5 keV Kissel's, because about the M edges of gold,
/// mercury, lead and bismuth the sources differ by up to a factor of two. Each source has its edges at its own
/// energy, so the range is wide within some eV of an edge.
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

/// Whether a tube at this voltage can excite a line: the edge lies below. For a family's sum and for α the outermost
/// shell of the family, for β and γ the shell of the strongest of them. `None` where the family is not given, the
/// element has no such edge or the voltage is not a number. A line that is not excited was *not measured*.
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

#[cfg(test)]
mod tests {
    use super::*;

    fn of(symbol: &str) -> Element {
        Element::from_symbol(symbol).unwrap()
    }

    fn line(text: &str) -> Line {
        Line::parse(text).unwrap()
    }

    #[test]
    fn ranges() {
        assert_eq!(Between::of([2.0, 1.0, 3.0]), Some(Between { value: 2.0, low: 1.0, high: 3.0 }));
        assert_eq!(Between::of([]), None);
        let falling = Between { value: 2.0, low: 1.0, high: 4.0 }.through(|x| 1.0 / x);
        assert_eq!(falling, Between { value: 0.5, low: 0.25, high: 1.0 });
        assert_eq!(falling.times(2.0), Between { value: 1.0, low: 0.5, high: 2.0 });
    }

    #[test]
    fn what_a_tube_excites() {
        // Edges of handbooks, in keV: Sn K 29.20, Sb K 30.49, Pb L3 13.04, Pb L2 15.20, Ba K 37.44, Fe K 7.11, Hg M5
        // 2.30.
        for (text, kv, want) in [
            ("Sn K", 30.0, true),
            ("Sn K", 29.0, false),
            ("Sb Kβ", 30.0, false),
            ("Ba K", 37.0, false),
            ("Ba L", 37.0, true),
            ("Pb L", 13.5, true),
            ("Pb Lβ", 13.5, false),
            ("Pb Lα", 12.9, false),
            ("Pb K", 50.0, false),
            ("Fe K", 7.0, false),
            ("Hg M", 2.4, true),
            ("Fe K", 0.0, false),
        ] {
            assert_eq!(is_excited(line(text), kv), Some(want), "{text} at {kv} kV");
        }
        assert_eq!(is_excited(line("Fe"), 50.0), None);
        assert_eq!(is_excited(line("Fe M"), f64::NAN), None);
        assert_eq!(is_excited(line("H L"), 50.0), None);
    }

    #[test]
    fn yields_and_ratios_hold_what_is_published() {
        // M. O. Krause, J. Phys. Chem. Ref. Data 8 (1979) 307, from memory: ω of the K shell.
        for (symbol, want) in [("Fe", 0.340), ("Cu", 0.440), ("Zn", 0.474)] {
            let got = fluorescence_yield(of(symbol), Shell::K).unwrap();
            assert!(got.low < want * 1.035 && got.high > want * 0.995, "{symbol}: {got:?}");
        }
        // Kβ to Kα of the two sources, about a tenth apart.
        for (symbol, low, high) in
            [("Ca", 0.1257, 0.1350), ("Fe", 0.1344, 0.1434), ("Cu", 0.1338, 0.1472), ("Zn", 0.1369, 0.1485)]
        {
            let lines = emissions(of(symbol));
            let sum = |group: &str, f: fn(&Between) -> f64| -> f64 {
                lines.iter().filter(|line| line.group == group).map(|line| f(&line.rates)).sum()
            };
            let first = sum("Kβ", |r| r.value) / sum("Kα", |r| r.value);
            let second = sum("Kβ", |r| r.high) / sum("Kα", |r| r.low);
            assert!(
                (first - low).abs() < 4e-4 && (second - high).abs() < 1.2e-3,
                "{symbol}: {first} {second}"
            );
        }
        assert_eq!(fluorescence_yield(of("Fe"), Shell::M5), None);
        assert!(emissions(of("H")).is_empty());
        assert_eq!(mass_attenuation(of("Fe"), 0.5), None);
    }

    #[test]
    fn shares_of_a_shell_add_up_to_one_at_most() {
        for z in 11..=92 {
            let element = Element::from_number(z).unwrap();
            for shell in Shell::ALL {
                let sum: f64 = emissions(element).iter().filter(|e| e.shell == shell).map(|e| e.rate).sum();
                assert!(sum < 1.002, "{z} {shell:?}: {sum}");
            }
            // All K lines are there where all of them are between 0.9 and 40 keV.
            let k: f64 = emissions(element).iter().filter(|e| e.shell == Shell::K).map(|e| e.rate).sum();
            assert!(!(13..=55).contains(&z) || k > 0.98, "{z}: {k}");
        }
    }
}
