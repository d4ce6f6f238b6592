//! How many photons of a line a thin layer gives for the mass of its element.

use super::data::{Atom, atom};
use super::facts::{Between, Emission, emissions};
use super::matter::Matter;
use crate::element::{Element, Line, Member};
use crate::numerics::math::{exp, ln};

/// What excites.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Excitation {
    /// One energy, keV.
    Mono {
        /// Energy.
        kev: f64,
    },
    /// A tube without a filter: Kramers' continuum N(E) ~ (kV − E) / E above 0.9 keV. It has no lines of the anode,
    /// no window and no optic: beside [`Self::Mono`] it brackets what a real tube does, and does not estimate it.
    Tube {
        /// Voltage, kV.
        kv: f64,
        /// Anode, where it is known: its lines bound ratios ([`sensitivity_ratio`]).
        anode: Option<Element>,
    },
    /// The same behind 0.5 mm of aluminium.
    Filtered {
        /// Voltage, kV.
        kv: f64,
    },
}

/// Lowest energy of the continuum, keV: below it no line that is held is excited.
const FROM_KEV: f64 = 0.9;
/// Highest energy that the data hold, keV.
const TO_KEV: f64 = 60.0;
/// Steps between two edges.
const STEPS: u32 = 24;

/// Cross-sections of the two ways of computing.
pub(super) type Two = [f64; 2];

impl Atom {
    /// Vacancies by the beam itself in each shell, cm²/g at one energy: after Kissel, and from the photoelectric part
    /// of attenuation divided by jump ratios.
    fn struck(&self, kev: f64) -> Option<[Two; 9]> {
        let mut rest = (self.total.at(kev)? - self.scatter.at(kev)?).max(0.0);
        let mut out = [[0.0; 2]; 9];
        for ((shell, partial), struck) in self.shells.iter().zip(&self.partial).zip(&mut out) {
            if let (Some(edge), Some(jump)) = (shell.edge, shell.jump)
                && kev > edge
            {
                let by_jump = rest * (1.0 - 1.0 / jump);
                rest /= jump;
                *struck = [partial.at(kev).unwrap_or(by_jump), by_jump];
            }
        }
        Some(out)
    }

    /// Vacancies with those that come from deeper shells, times the yield: photons of each shell, cm²/g.
    fn shining(&self, kev: f64) -> Option<[Two; 9]> {
        let struck = self.struck(kev)?;
        let mut out = [[0.0; 2]; 9];
        for (at, (shell, shine)) in self.shells.iter().zip(&mut out).enumerate() {
            let [one, other] = shell.yields;
            let yields = [one.or(other).unwrap_or(0.0), other.or(one).unwrap_or(0.0)];
            for way in 0..2 {
                let vacancies: f64 = struck
                    .iter()
                    .zip(&self.cascade)
                    .take(at + 1)
                    .map(|(made, row)| made[way] * row[at])
                    .sum();
                shine[way] = vacancies * yields[way];
            }
        }
        Some(out)
    }

    /// The same over a spectrum of photons, per photon; `weight` of an energy, from `FROM_KEV` to `to`. Simpson's
    /// rule in ln E between edges.
    fn shining_over(&self, to: f64, weight: impl Fn(f64) -> f64) -> Option<[Two; 9]> {
        let to = to.min(TO_KEV);
        let mut ends: Vec<f64> =
            self.shells.iter().filter_map(|s| s.edge).filter(|e| *e > FROM_KEV && *e < to).collect();
        ends.extend([FROM_KEV, to]);
        ends.sort_by(f64::total_cmp);
        let (mut sums, mut photons) = ([[0.0; 2]; 9], 0.0);
        for pair in ends.windows(2) {
            // Just inside, so that each side of an edge has its own value.
            let (from, upto) = (ln(pair[0] * (1.0 + 1e-6)), ln(pair[1] * (1.0 - 1e-6)));
            if upto <= from {
                continue;
            }
            let step = (upto - from) / f64::from(STEPS);
            for i in 0..=STEPS {
                let kev = exp(from + step * f64::from(i));
                let simpson = if i == 0 || i == STEPS {
                    1.0
                } else if i % 2 == 1 {
                    4.0
                } else {
                    2.0
                };
                let amount = simpson * step / 3.0 * kev * weight(kev);
                photons += amount;
                let shining = self.shining(kev)?;
                for (sum, part) in sums.iter_mut().zip(shining) {
                    *sum = [sum[0] + amount * part[0], sum[1] + amount * part[1]];
                }
            }
        }
        (photons > 0.0).then(|| sums.map(|sum| sum.map(|s| s / photons)))
    }
}

impl Excitation {
    /// Photons of each shell of an element, cm²/g, in the two ways. `None` where the numbers make no sense or nothing
    /// is known.
    pub(super) fn shining(self, element: Element) -> Option<[Two; 9]> {
        let atom = atom(element)?;
        match self {
            Self::Mono { kev } => atom.shining(kev),
            Self::Tube { kv, .. } => {
                (kv > FROM_KEV && kv.is_finite()).then_some(())?;
                atom.shining_over(kv, |e| ((kv - e) / e).max(0.0))
            }
            Self::Filtered { kv } => {
                (kv > FROM_KEV && kv.is_finite()).then_some(())?;
                let aluminium = Matter::of_formula("Al", 2.70).ok()?;
                let through = |e: f64| aluminium.transmission(500.0, 90.0, e).map_or(0.0, |t| t.value);
                atom.shining_over(kv, |e| ((kv - e) / e).max(0.0) * through(e))
            }
        }
    }
}

/// Whether a line belongs to what a map of `line` counts: all lines of the family, or those that bear the member's
/// letter.
pub(super) fn is_of(line: Line, emission: &Emission) -> bool {
    let letter = match line.member {
        None => return line.family == Some(emission.family),
        Some(Member::Alpha) => "a",
        Some(Member::Beta) => "b",
        Some(Member::Gamma) => "g",
    };
    line.family == Some(emission.family) && emission.name.get(1..2) == Some(letter)
}

/// A rate in the two ways.
pub(super) fn two_rates(emission: &Emission) -> Two {
    // The value is the first source's; the second's is whichever end is not it.
    let Between { value, low, high } = emission.rates;
    [value, if value == low { high } else { low }]
}

/// The two ways of one line, photons in cm²/g.
fn two_ways(line: Line, excitation: Excitation) -> Option<Two> {
    let shining = excitation.shining(line.element)?;
    let mut sum = [0.0; 2];
    for emission in emissions(line.element).iter().filter(|e| is_of(line, e)) {
        let (rates, of_shell) = (two_rates(emission), shining[emission.shell.index()]);
        sum = [sum[0] + rates[0] * of_shell[0], sum[1] + rates[1] * of_shell[1]];
    }
    (sum[0] > 0.0 && sum[1] > 0.0).then_some(sum)
}

/// Photons of a line (all of its family where no member is given) that a thin layer gives, in cm²/g: for one photon
/// of the beam and one g/cm² of the element, over all directions: σ = τ of the shell · ω · g, vacancies that come
/// from deeper shells included; before air, window and detector. For a tube for one photon of its spectrum.
///
/// Two ways: Kissel's cross-sections of shells with xraylib's yields and rates (the value), and τ·(1 − 1/J) with
/// xraydb's. Both use xraylib's cascade of vacancies. They differ by about 7 % for K of iron and copper, more for L,
/// most for M. `None` where the line is not excited, below 0.9 or above 40 keV, or its family not given.
pub fn sensitivity(line: Line, excitation: Excitation) -> Option<Between> {
    Between::of(two_ways(line, excitation)?)
}

/// How many times more of line `a` than of line `b` the same mass gives in a thin layer, with the systematic spread:
/// what two ways of computing give, and for a tube also what the same tube gives behind a filter and what the Kα or
/// Lα line of its anode alone gives, because filter and optic are seldom known. For neighbours in energy only: air,
/// window, depth and detector are not in it. `None` as for [`sensitivity`].
pub fn sensitivity_ratio(a: Line, b: Line, excitation: Excitation) -> Option<Between> {
    let mut spectra = vec![excitation];
    if let Excitation::Tube { kv, anode } = excitation {
        spectra.push(Excitation::Filtered { kv });
        let strongest = anode.and_then(|anode| {
            emissions(anode)
                .into_iter()
                .filter(|e| matches!(e.name, "Ka1" | "La1"))
                .find(|e| super::edge_kev(anode, e.shell).is_some_and(|edge| edge < kv))
        });
        spectra.extend(strongest.map(|line| Excitation::Mono { kev: line.kev }));
    }
    let mut ratios = Vec::new();
    for (at, spectrum) in spectra.into_iter().enumerate() {
        match (two_ways(a, spectrum), two_ways(b, spectrum)) {
            (Some(a), Some(b)) => ratios.extend([a[0] / b[0], a[1] / b[1]]),
            // The anode's line alone may be too soft for one of them; the spectrum itself must do.
            _ if at == 0 => return None,
            _ => {}
        }
    }
    Between::of(ratios)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(text: &str) -> Line {
        Line::parse(text).unwrap()
    }

    #[test]
    fn what_is_not_excited_gives_nothing() {
        let beam = |kev| Excitation::Mono { kev };
        assert!(sensitivity(line("Sn K"), beam(20.2)).is_none());
        assert!(sensitivity(line("Sn L"), beam(20.2)).is_some());
        assert!(sensitivity(line("Pb K"), beam(50.0)).is_none());
        assert!(sensitivity(line("Fe"), beam(20.2)).is_none());
        for kv in [0.5, f64::NAN, f64::INFINITY, -1.0] {
            assert!(sensitivity(line("Fe K"), Excitation::Tube { kv, anode: None }).is_none());
            assert!(sensitivity(line("Fe K"), Excitation::Filtered { kv }).is_none());
            assert!(sensitivity(line("Fe K"), beam(kv)).is_none());
        }
        assert!(sensitivity_ratio(line("Sn K"), line("Cu K"), beam(20.2)).is_none());
    }

    #[test]
    fn a_softer_tube_gives_more_of_soft_lines() {
        let ratio =
            |kv| sensitivity_ratio(line("Pb M"), line("Pb L"), Excitation::Tube { kv, anode: None }).unwrap();
        assert!(ratio(20.0).value > ratio(50.0).value);
        // And the range knows that the spectrum is not known.
        assert!(ratio(50.0).low < 0.3 * ratio(50.0).high);
    }

    #[test]
    fn parts_of_a_family_add_up_to_less_than_it() {
        let beam = Excitation::Mono { kev: 20.2 };
        let of = |text: &str| sensitivity(line(text), beam).unwrap().value;
        let parts = of("Pb Lα") + of("Pb Lβ") + of("Pb Lγ");
        // Ll and Lη are in none of them.
        assert!(parts < of("Pb L") && parts > 0.95 * of("Pb L"));
        assert!((of("Fe Kα") + of("Fe Kβ") - of("Fe K")).abs() < 1e-9);
    }
}
