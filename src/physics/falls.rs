//! What of one element's lines falls into the window of another's line, computed from bare thin layers.

use super::facts::{
    Between, Emission, edge_kev, emissions, fluorescence_yield, jump_ratio, mass_attenuation,
};
use super::matter::air_transmission;
use super::names::{Shell, principal_group};
use super::overlap::Grade;
use super::sensitivity::{Excitation, two_rates};
use super::width::{line_width_ev, window_leak};
use crate::element::{Element, Family, Line};
use crate::numerics::math::ln;
use std::sync::OnceLock;

/// Half a window, in widths: the usual one, a narrow and a wide one (common practice, no source).
const HALVES: [f64; 3] = [0.6, 0.5, 1.0];
/// How much wider than stated lines may be at a high rate, eV at manganese.
const WIDER_EV: [f64; 2] = [0.0, 30.0];
/// Share of a line that is seen between one and two widths off, at most: tails and the background of fits count for
/// more than the Gaussian there (common practice, no source).
const TAIL: f64 = 0.05;
/// A cover weakens soft lines by up to this against hard ones: Pb Lα/Mα under 10 µm of vermilion, the largest that is
/// tabulated.
const COVER: f64 = 400.0;
/// Silicon Kα, keV.
pub(super) const SI_KEV: f64 = 1.740;
/// Excitations that shares are computed for. The first that excites everything of the element that any of them does
/// gives the value.
const USUAL: [Excitation; 3] = [
    Excitation::Mono { kev: 20.2 },
    Excitation::Tube { kv: 40.0, anode: None },
    Excitation::Filtered { kv: 50.0 },
];
/// Air to the detector, mm.
const AIR_MM: f64 = 10.0;

/// One line of an element with what a thin layer gives of it behind air, in one way of computing.
#[derive(Debug, Clone, Copy)]
struct Part {
    emission: Emission,
    amount: f64,
}

/// Lines of an element under the usual excitations in both ways; only those that excite as many lines as any does.
/// Computed once.
fn ways(element: Element) -> &'static [Vec<Part>] {
    static KNOWN: [OnceLock<Vec<Vec<Part>>>; 93] = [const { OnceLock::new() }; 93];
    KNOWN.get(usize::from(element.number())).map_or(&[], |known| known.get_or_init(|| computed(element)))
}

fn computed(element: Element) -> Vec<Vec<Part>> {
    let lines = emissions(element);
    let mut out: Vec<Vec<Part>> = Vec::new();
    for shining in USUAL.into_iter().filter_map(|excitation| excitation.shining(element)) {
        let amount = |emission: &Emission, way: fn([f64; 2]) -> f64| {
            let through_air = air_transmission(emission.kev, AIR_MM).unwrap_or(0.0);
            way(two_rates(emission)) * way(shining[emission.shell.index()]) * through_air
        };
        for way in [|two: [f64; 2]| two[0], |two: [f64; 2]| two[1]] {
            let part = |emission: &Emission| Part { emission: *emission, amount: amount(emission, way) };
            out.push(lines.iter().map(part).filter(|part| part.amount > 0.0).collect());
        }
    }
    let most = out.iter().map(Vec::len).max().unwrap_or(0);
    out.retain(|parts| parts.len() == most && most > 0);
    out
}

/// Energy of a group: mean of its lines by their rates. `None` where the element has none of it.
fn group_kev(lines: &[Emission], group: &str) -> Option<f64> {
    let (mut sum, mut weight) = (0.0, 0.0);
    for line in lines.iter().filter(|line| line.group == group) {
        sum += line.kev * line.rate;
        weight += line.rate;
    }
    (weight > 0.0).then(|| sum / weight)
}

/// Energy that a map of this line is set on, keV: the mean of Kα1 and Kα2, of the Kβ lines, of Lα1 and Lα2, Lβ1, Lγ1,
/// the mean of Mα1 and Mα2, Mβ, Mγ. `None` where the family is not given, and outside 0.9 to 40 keV.
pub fn set_on_kev(line: Line) -> Option<f64> {
    group_kev(&emissions(line.element), principal_group(line.family?, line.member))
}

/// Every line of a map's family with its counts for each of those that the map is set on ([`set_on_kev`]), as photons
/// of a bare thin layer behind 10 mm of air: the range of two ways of computing and of a beam of 20 keV, a tube of 40
/// kV, and one of 50 kV behind a filter. Paint over it and depth in it change these, soft lines most. Empty where
/// nothing is excited, or the family is not given.
pub fn family_lines(line: Line) -> Vec<(Emission, Between)> {
    let Some(family) = line.family else { return Vec::new() };
    let group = principal_group(family, line.member);
    let ways = ways(line.element);
    let shares = |emission: &Emission| {
        Between::of(ways.iter().filter_map(|parts| {
            let own: f64 = parts.iter().filter(|p| p.emission.group == group).map(|p| p.amount).sum();
            let part = parts.iter().find(|p| p.emission.name == emission.name)?;
            (own > 0.0).then_some(part.amount / own)
        }))
    };
    emissions(line.element)
        .into_iter()
        .filter(|emission| emission.family == family)
        .filter_map(|emission| Some((emission, shares(&emission)?)))
        .collect()
}

/// Share of a silicon detector's counts of a line (keV) that escape with silicon Kα and are counted 1.740 keV below:
/// ½ ω (1 − 1/J) [1 − (µ'/µ) ln(1 + µ/µ')], µ at the line and µ' at silicon Kα, for a beam that falls in straight on
/// a thick detector (S. J. B. Reed and N. G. Ware, J. Phys. E 5 (1972) 582, from memory). The range takes half and
/// twice of it, for slanting beams and the sources' yields. `None` below silicon's edge and above 60 keV.
pub fn escape_share(kev: f64) -> Option<Between> {
    let silicon = Element::from_number(14)?;
    (kev > edge_kev(silicon, Shell::K)?).then_some(())?;
    let yields = fluorescence_yield(silicon, Shell::K)?;
    let jump = jump_ratio(silicon, Shell::K)?;
    let ratio = mass_attenuation(silicon, SI_KEV)?.value / mass_attenuation(silicon, kev)?.value;
    let share = 0.5 * (1.0 - 1.0 / jump) * (1.0 - ratio * ln(1.0 + 1.0 / ratio));
    Some(Between {
        value: yields.value * share,
        low: yields.low * share / 2.0,
        high: yields.high * share * 2.0,
    })
}

/// What falls into a window: all of it, and by the group that gives most within two widths.
pub(super) struct Falls {
    pub share: Between,
    pub via: &'static str,
    pub delta_ev: f64,
    pub grade: Grade,
}

/// Where the wanted line lies and how wide lines are at manganese.
pub(super) struct Window {
    pub kev: f64,
    pub width_at_mn_ev: f64,
}

/// What becomes of a line at an energy: where it is counted, and which share of it.
pub(super) type Moved<'a> = &'a dyn Fn(f64) -> Option<(f64, Between)>;

impl Window {
    /// Distance of an energy in widths.
    pub(super) fn widths_off(&self, kev: f64) -> f64 {
        let width = line_width_ev(f64::midpoint(kev, self.kev), self.width_at_mn_ev);
        (kev - self.kev).abs() * 1000.0 / width
    }

    /// Counts of an element's lines of these families in this window for each in the window of its own line.
    pub(super) fn falls(&self, by: Line, families: &[Family], moved: Moved<'_>) -> Option<Falls> {
        let family = by.family?;
        let (own_group, own_kev) = (principal_group(family, by.member), set_on_kev(by)?);
        let of_families = |parts: &Vec<Part>| -> Vec<Part> {
            parts.iter().copied().filter(|p| families.contains(&p.emission.family)).collect()
        };
        let ways: Vec<Vec<Part>> = ways(by.element)
            .iter()
            .map(of_families)
            .filter(|parts| parts.iter().any(|p| p.emission.group == own_group))
            .collect();
        let first = ways.first()?;
        let (via, amount) = self.weightiest(first, moved)?;
        let (there, kept) = moved(group_kev(&emissions(by.element), via)?)?;
        let grade = Grade::of(self.widths_off(there))?;

        let mut share: Option<Between> = None;
        for parts in &ways {
            for half in HALVES {
                for wider in WIDER_EV {
                    let width = self.width_at_mn_ev + wider;
                    let one = self.share(parts, (family, own_kev), moved, half, width);
                    share = Some(share.map_or(one, |all| Between {
                        low: all.low.min(one.low),
                        high: all.high.max(one.high),
                        ..all
                    }));
                }
            }
        }
        let mut share = share?;
        if grade == Grade::Partly {
            let own: f64 = first.iter().filter(|p| p.emission.group == own_group).map(|p| p.amount).sum();
            share = Between { low: 0.0, high: share.high.max(TAIL * kept.high * amount / own), ..share };
        }
        Some(Falls { share, via, delta_ev: (there - self.kev) * 1000.0, grade })
    }

    /// The share for one way of computing, one half width of windows and one width of lines.
    fn share(
        &self,
        parts: &[Part],
        (family, own_kev): (Family, f64),
        moved: Moved<'_>,
        half: f64,
        width: f64,
    ) -> Between {
        let own: f64 = parts
            .iter()
            .filter(|p| p.emission.family == family)
            .map(|p| p.amount * window_leak(p.emission.kev, own_kev, half, width))
            .sum();
        let mut sum = Between::exactly(0.0);
        for part in parts {
            let Some((kev, kept)) = moved(part.emission.kev) else { continue };
            let here = part.amount / own * window_leak(kev, self.kev, half, width);
            // Between families matrix and cover decide: soft lines may be gone, or all that is left of hard ones is
            // more.
            let (low, high) = match part.emission.family == family {
                true => (1.0, 1.0),
                false if part.emission.kev < own_kev => (0.0, 1.0),
                false => (0.0, COVER),
            };
            sum.value += here * kept.value;
            sum.low += here * kept.low * low;
            sum.high += here * kept.high * high;
        }
        sum
    }

    /// The group of which most is counted in this window, of those within two widths, and its amount.
    fn weightiest(&self, parts: &[Part], moved: Moved<'_>) -> Option<(&'static str, f64)> {
        let lines: Vec<Emission> = parts.iter().map(|part| part.emission).collect();
        let mut groups: Vec<&'static str> = lines.iter().map(|line| line.group).collect();
        groups.sort_unstable();
        groups.dedup();
        let mut most: Option<(&'static str, f64, f64)> = None;
        for group in groups {
            let Some((there, kept)) = group_kev(&lines, group).and_then(moved) else { continue };
            if self.widths_off(there) >= 2.0 {
                continue;
            }
            let amount: f64 = parts.iter().filter(|p| p.emission.group == group).map(|p| p.amount).sum();
            let here = amount * kept.value * window_leak(there, self.kev, HALVES[0], self.width_at_mn_ev);
            if most.is_none_or(|known| here > known.2) {
                most = Some((group, amount, here));
            }
        }
        most.map(|(group, amount, _)| (group, amount))
    }
}
