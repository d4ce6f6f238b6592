//! Which lines lie on a line, and how much they could give.

use super::facts::{
    Between, Emission, edge_kev, emissions, fluorescence_yield, jump_ratio, mass_attenuation,
};
use super::matter::air_transmission;
use super::names::{Shell, principal_group};
use super::sensitivity::{Excitation, two_rates};
use super::width::{leak, line_width_ev};
use crate::element::{Element, Family, Line};
use crate::numerics::math::ln;

/// How counts of one element come into another's line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// A line of it lies there.
    Line,
    /// A line of it less 1.740 keV, which silicon Kα carries out of the detector.
    Escape,
    /// Two photons counted as one, with this other line.
    Sum(Line),
}

/// How near, in widths at half maximum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// Below 0.5: one peak.
    SamePeak,
    /// 0.5 to 1: parted only by fitting with a second line.
    Near,
    /// 1 to 2: depends on the fit.
    Partly,
}

impl Grade {
    /// Of a distance in widths; `None` from 2 on.
    fn of(widths: f64) -> Option<Self> {
        match widths {
            w if w < 0.5 => Some(Self::SamePeak),
            w if w < 1.0 => Some(Self::Near),
            w if w < 2.0 => Some(Self::Partly),
            _ => None,
        }
    }
}

/// An overlap that matters for a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// The line that is wanted.
    pub wanted: Line,
    /// The other map's line.
    pub by: Line,
    /// The lines of its element that lie there ("Lα", "Mα"): perhaps of another family than the map's.
    pub via: &'static str,
    /// How they come there.
    pub how: How,
    /// How near.
    pub grade: Grade,
    /// Energy of what lies there less that of the wanted line, eV.
    pub delta_ev: f64,
    /// Counts in the wanted line's window for each count in the window of `by`'s own line, from a bare thin layer. A guide:
    /// a region that holds `by` alone is the better measure.
    pub share: Between,
}

/// Half a window, in widths: the usual one, a narrow and a wide one (common practice, no source).
const HALVES: [f64; 3] = [0.6, 0.5, 1.0];
/// How much wider than stated lines may be at a high rate, eV at manganese.
const WIDER_EV: f64 = 30.0;
/// Smallest share that is told.
const LEAST: f64 = 2e-4;
/// Share of a line that is seen between one and two widths off, at most: tails and the background of fits count for more than
/// the Gaussian there (common practice, no source).
const TAIL: f64 = 0.05;
/// Pile-up of two lines: at most this for each count of the weaker one. It depends on the rate, which is not known here; rejection of pile-up
/// normally keeps it below (common practice, no source).
const SUM_MOST: f64 = 0.01;
/// A cover weakens soft lines by up to this against hard ones: Pb Lα/Mα under 10 µm of vermilion, the largest that is
/// tabulated.
const COVER: f64 = 400.0;
/// Silicon Kα, keV.
const SI_KEV: f64 = 1.740;
/// Excitations that shares are computed for, the first for the value.
const USUAL: [Excitation; 3] = [
    Excitation::Mono { kev: 20.2 },
    Excitation::Tube { kv: 40.0, anode: None },
    Excitation::Filtered { kv: 50.0 },
];
/// Air to the detector, mm.
const AIR_MM: f64 = 10.0;

/// One line of an element with what a thin layer gives of it, in one way of computing.
#[derive(Debug, Clone, Copy)]
struct Part {
    family: Family,
    group: &'static str,
    kev: f64,
    amount: f64,
}

/// Lines of an element under each usual excitation in both ways; the first is the one that is computed with.
fn ways(element: Element) -> Vec<Vec<Part>> {
    let lines = emissions(element);
    let mut out = Vec::new();
    for excitation in USUAL {
        let Some(shining) = excitation.shining(element) else { continue };
        for way in 0..2 {
            let part = |line: &Emission| Part {
                family: line.family,
                group: line.group,
                kev: line.kev,
                amount: two_rates(line)[way]
                    * shining[line.shell.index()][way]
                    * air_transmission(line.kev, AIR_MM).unwrap_or(0.0),
            };
            out.push(lines.iter().map(part).filter(|part| part.amount > 0.0).collect());
        }
    }
    out
}

/// The line with a family: where only the element is named the K lines up to tin's, else the L lines.
fn with_family(line: Line) -> Line {
    let family = line.family.unwrap_or(if line.element.number() <= 50 { Family::K } else { Family::L });
    Line { family: Some(family), ..line }
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

/// Energy that a map of this line is set on, keV.
fn set_on(line: Line) -> Option<f64> {
    group_kev(&emissions(line.element), principal_group(line.family?, line.member))
}

/// Share of a silicon detector's counts of a line that escape with silicon Kα: ½ ω (1 − 1/J) [1 − (µ'/µ) ln(1 + µ/µ')], µ at the
/// line and µ' at silicon Kα, for a beam that falls in straight on a thick detector (S. J. B. Reed and N. G. Ware, J. Phys. E 5
/// (1972) 582, from memory). The range takes half and twice of it, for slanting beams and the sources' yields.
fn escape_share(kev: f64) -> Option<Between> {
    let silicon = Element::from_number(14)?;
    let edge = edge_kev(silicon, Shell::K)?;
    (kev > edge).then_some(())?;
    let yields = fluorescence_yield(silicon, Shell::K)?;
    let jump = jump_ratio(silicon, Shell::K)?;
    let (own, of_line) = (mass_attenuation(silicon, SI_KEV)?.value, mass_attenuation(silicon, kev)?.value);
    let ratio = own / of_line;
    let share = 0.5 * (1.0 - 1.0 / jump) * (1.0 - ratio * ln(1.0 + 1.0 / ratio));
    Some(Between {
        value: yields.value * share,
        low: yields.low * share / 2.0,
        high: yields.high * share * 2.0,
    })
}

/// What falls into the wanted window, all of it and by the group that gives most within two widths.
struct Falls {
    share: Between,
    via: &'static str,
    delta_ev: f64,
    grade: Grade,
}

/// Where the wanted line lies and how wide lines are.
struct Window {
    kev: f64,
    width_at_mn_ev: f64,
}

impl Window {
    fn widths_off(&self, kev: f64) -> f64 {
        let width = line_width_ev(f64::midpoint(kev, self.kev), self.width_at_mn_ev);
        (kev - self.kev).abs() * 1000.0 / width
    }

    /// Share of a line at `kev` that falls into a window at `centre`.
    fn leak(kev: f64, centre: f64, half: f64, width_at_mn_ev: f64) -> f64 {
        leak(kev, line_width_ev(kev, width_at_mn_ev), centre, half * line_width_ev(centre, width_at_mn_ev))
    }

    /// Counts of `by`'s element in this window, `moved` giving what becomes of a line (its energy and share), for each count in its own.
    fn falls(&self, by: Line, moved: impl Fn(&Part) -> Option<(f64, Between)>) -> Option<Falls> {
        let own_family = by.family?;
        let own_group = principal_group(own_family, by.member);
        let own_kev = set_on(by)?;
        let lines = emissions(by.element);
        let ways = ways(by.element);
        let mut shares: Vec<Between> = Vec::new();
        let mut most: Option<(f64, &'static str)> = None;
        for parts in &ways {
            for half in HALVES {
                for wider in [0.0, WIDER_EV] {
                    let width = self.width_at_mn_ev + wider;
                    let own: f64 = parts
                        .iter()
                        .filter(|part| part.family == own_family)
                        .map(|part| part.amount * Self::leak(part.kev, own_kev, half, width))
                        .sum();
                    if own <= 0.0 || !parts.iter().any(|part| part.group == own_group) {
                        continue;
                    }
                    let mut sum = Between::exactly(0.0);
                    for part in parts {
                        let Some((kev, kept)) = moved(part) else { continue };
                        let here = part.amount / own * Self::leak(kev, self.kev, half, width);
                        let (mut low, mut high) = (here * kept.low, here * kept.high);
                        if part.family != own_family {
                            // Matrix and cover weaken the softer of two families, without a bound from theory.
                            let is_softer = part.kev < own_kev;
                            low = 0.0;
                            high *= if is_softer { 1.0 } else { COVER };
                        }
                        sum.value += here * kept.value;
                        sum.low += low;
                        sum.high += high;
                    }
                    shares.push(sum);
                }
            }
        }
        let parts = ways.first()?;
        for group in groups(parts) {
            let Some(kev) = group_kev(&lines, group) else { continue };
            let Some((there, kept)) =
                parts.iter().find(|p| p.group == group).and_then(|p| moved(&Part { kev, ..*p }))
            else {
                continue;
            };
            if self.widths_off(there) >= 2.0 {
                continue;
            }
            let amount: f64 = parts.iter().filter(|p| p.group == group).map(|p| p.amount).sum();
            let here = amount * kept.value * Self::leak(there, self.kev, HALVES[0], self.width_at_mn_ev);
            if most.is_none_or(|(known, _)| here > known) {
                most = Some((here, group));
            }
        }
        let via = most?.1;
        let kev = group_kev(&lines, via)?;
        let (there, _) = moved(&Part { kev, ..*parts.iter().find(|p| p.group == via)? })?;
        let first = *shares.first()?;
        let mut share = shares.iter().fold(first, |all, one| Between {
            value: all.value,
            low: all.low.min(one.low),
            high: all.high.max(one.high),
        });
        let grade = Grade::of(self.widths_off(there))?;
        if grade == Grade::Partly {
            let own: f64 = parts.iter().filter(|p| p.group == own_group).map(|p| p.amount).sum();
            let amount: f64 = parts.iter().filter(|p| p.group == via).map(|p| p.amount).sum();
            let kept = moved(parts.iter().find(|p| p.group == via)?)?.1.high;
            share = Between { low: 0.0, high: share.high.max(TAIL * kept * amount / own), ..share };
        }
        Some(Falls { share, via, delta_ev: (there - self.kev) * 1000.0, grade })
    }
}

fn groups(parts: &[Part]) -> Vec<&'static str> {
    let mut out: Vec<&'static str> = parts.iter().map(|part| part.group).collect();
    out.sort_unstable();
    out.dedup();
    out
}

/// What lies on a line, from the lines of other maps: lines of their elements (of every family), escape peaks of a silicon detector,
/// sums of two of their strongest lines. Nearest and weightiest first: by grade, then by share. Lines of the wanted element itself are left
/// out. `width_at_mn_ev` is the detector's width at manganese Kα.
pub fn overlaps(wanted: Line, others: &[Line], width_at_mn_ev: f64) -> Vec<Overlap> {
    let mut out = Vec::new();
    let line = with_family(wanted);
    let Some(kev) = set_on(line) else { return out };
    let window = Window { kev, width_at_mn_ev };
    let others: Vec<(Line, Line)> =
        others.iter().filter(|by| by.element != wanted.element).map(|by| (*by, with_family(*by))).collect();
    for (by, full) in &others {
        let found = |how, falls: Falls| Overlap {
            wanted,
            by: *by,
            via: falls.via,
            how,
            grade: falls.grade,
            delta_ev: falls.delta_ev,
            share: falls.share,
        };
        let direct = window.falls(*full, |part| Some((part.kev, Between::exactly(1.0))));
        out.extend(direct.map(|falls| found(How::Line, falls)));
        let escaped = window.falls(*full, |part| Some((part.kev - SI_KEV, escape_share(part.kev)?)));
        out.extend(escaped.map(|falls| found(How::Escape, falls)));
    }
    out.retain(|overlap| overlap.share.high >= LEAST);
    for (at, (by, full)) in others.iter().enumerate() {
        for (second, full_second) in &others[at..] {
            let (Some(a), Some(b)) = (set_on(*full), set_on(*full_second)) else { continue };
            let Some(grade) = Grade::of(window.widths_off(a + b)) else { continue };
            out.push(Overlap {
                wanted,
                by: *by,
                via: principal_group(full.family.unwrap_or(Family::K), full.member),
                how: How::Sum(*second),
                grade,
                delta_ev: (a + b - kev) * 1000.0,
                share: Between { value: 0.0, low: 0.0, high: SUM_MOST },
            });
        }
    }
    out.sort_by(|a, b| a.grade.cmp(&b.grade).then(b.share.high.total_cmp(&a.share.high)));
    out
}
