//! What a cover does to two lines of one element, and how thick a cover does so much.

use crate::ask::known::Measuring;
use crate::element::{Element, Line};
use crate::notice::Fault;
use crate::numerics::math::{exp, ln, pow, sin};
use crate::physics::{self, Between, Excitation, Matter};
use crate::pigment::Layer;

/// Angles to the surface where they are not stated: the beam straight on, the detector at 45°. Common practice, no source.
const BEAM_DEG: f64 = 90.0;
const DETECTOR_DEG: f64 = 45.0;
/// A detector's angle that is not stated lies between these.
const UNSTATED_DEG: [f64; 2] = [30.0, 60.0];
/// Voltage of a tube where it is not stated, kV.
const KV: f64 = 50.0;
/// The one energy for all that is taken as a beam of a tube's own line, keV: that of rhodium.
const MONO_KEV: f64 = 20.2;
/// Energies of a tube's spectrum.
const STEPS: usize = 32;
/// No cover is thicker, µm.
pub const THICKEST_UM: f64 = 2000.0;
const UM_PER_CM: f64 = 1e4;

/// Share of the beam at an energy, and how much it excites of the hard and of the soft line.
type Excited = (f64, f64, f64);

/// A change of ln(hard / soft): the value, its ends by counting, and with all that is not known of it.
pub type Change = (f64, (f64, f64), (f64, f64));

/// Two lines with the beams that may excite them.
#[derive(Debug, Clone)]
pub struct Through {
    hard_kev: f64,
    soft_kev: f64,
    beams: Vec<Vec<Excited>>,
    beam_deg: f64,
    /// The detector's angle and the ends that it may have.
    detector_deg: [f64; 3],
}

/// A thickness in µm: the best value, by the interval of the ratio alone, and with everything that is not known. An end is
/// infinite where the ratio does not bound it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Thickness {
    pub value: f64,
    pub counting: (f64, f64),
    pub all: (f64, f64),
}

/// A layer as matter.
///
/// # Errors
/// A formula that is none; the data hold no such.
pub fn matter(layer: &Layer) -> Result<Matter, Fault> {
    let parts: Vec<(Matter, f64)> = layer
        .parts
        .iter()
        .map(|part| Ok((Matter::of_formula(part.formula, part.density_g_cm3)?, part.share)))
        .collect::<Result<_, Fault>>()?;
    let parts: Vec<(&Matter, f64)> = parts.iter().map(|(matter, share)| (matter, *share)).collect();
    Ok(Matter::mixed(&parts))
}

impl Through {
    /// `None` where a line is not known or no usual beam excites both.
    pub fn new(hard: Line, soft: Line, measuring: &Measuring) -> Option<Self> {
        let (hard_kev, soft_kev) = (physics::energy_kev(hard)?, physics::energy_kev(soft)?);
        let kv = measuring.kv.unwrap_or(KV);
        let excited = |kev: f64, share: f64| -> Option<Excited> {
            let of = |line| physics::sensitivity(line, Excitation::Mono { kev }).map_or(0.0, |s| s.value);
            Some((kev, share * of(hard), share * of(soft))).filter(|(_, h, s)| *h > 0.0 || *s > 0.0)
        };
        let aluminium = Matter::of_formula("Al", 2.7).ok()?;
        let energies = || (0..STEPS).map(|i| kv * pow(1.5 / kv, 1.0 - (i as f64 + 0.5) / STEPS as f64));
        // Even in ln E, so that a step is as wide as its energy.
        let tube: Vec<Excited> = energies().filter_map(|kev| excited(kev, kv - kev)).collect();
        let behind = |kev: f64| aluminium.transmission(500.0, 90.0, kev).map_or(0.0, |t| t.value);
        let filtered: Vec<Excited> =
            energies().filter_map(|kev| excited(kev, (kv - kev) * behind(kev))).collect();
        let mono: Vec<Excited> = excited(MONO_KEV, 1.0).into_iter().collect();
        let excites_both = |beam: &Vec<Excited>| {
            let sums = beam.iter().fold((0.0, 0.0), |sum, one| (sum.0 + one.1, sum.1 + one.2));
            sums.0 > 0.0 && sums.1 > 0.0
        };
        let beams: Vec<Vec<Excited>> = [filtered, tube, mono].into_iter().filter(excites_both).collect();
        if beams.is_empty() {
            return None;
        }
        let detector_deg = match measuring.takeoff_deg {
            Some(stated) => [stated; 3],
            None => [DETECTOR_DEG, UNSTATED_DEG[0], UNSTATED_DEG[1]],
        };
        let beam_deg = measuring.incidence_deg.unwrap_or(BEAM_DEG);
        Some(Self { hard_kev, soft_kev, beams, beam_deg, detector_deg })
    }

    /// A cover with its attenuation at all energies, looked up once.
    fn under(&self, cover: &Matter) -> Option<Under> {
        let (hard, soft) = (cover.attenuation(self.hard_kev)?, cover.attenuation(self.soft_kev)?);
        let beam = |beam: &Vec<Excited>| -> Option<Vec<Excited>> {
            beam.iter().map(|&(kev, h, s)| Some((cover.attenuation(kev)?.value, h, s))).collect()
        };
        let beams = self.beams.iter().map(beam).collect::<Option<Vec<_>>>()?;
        Some(Under { hard, soft, beams, density: cover.density(), beam_sine: sine(self.beam_deg) })
    }

    /// How thick a cover changes ln(hard / soft) so much: `ln_change` with its interval by counting and with all that is not
    /// known of it. `None` where the cover does not weaken the soft line more, or the energies are not held.
    pub fn thickness(&self, cover: &Matter, (value, counting, all): Change) -> Option<Thickness> {
        let under = self.under(cover)?;
        let (first, deg) = (under.beams.first()?, self.detector_deg[0]);
        if under.change(1.0, first, deg, -1.0) <= 0.0 {
            return None;
        }
        let own = |wanted: f64| under.solve(wanted, first, deg, 0.0);
        let mut ends = (f64::INFINITY, 0.0f64);
        for beam in &under.beams {
            for deg in self.detector_deg {
                for end in [-1.0, 1.0] {
                    ends.0 = ends.0.min(under.solve(all.0, beam, deg, end)?);
                    ends.1 = ends.1.max(under.solve(all.1, beam, deg, end)?);
                }
            }
        }
        Some(Thickness { value: own(value)?, counting: (own(counting.0)?, own(counting.1)?), all: ends })
    }

    /// By what a cover of this thickness changes hard / soft: the least and the most.
    pub fn factor(&self, cover: &Matter, um: f64) -> Option<(f64, f64)> {
        let under = self.under(cover)?;
        let mut ends = (f64::INFINITY, 0.0f64);
        for beam in &under.beams {
            for deg in self.detector_deg {
                for end in [-1.0, 1.0] {
                    let factor = exp(under.change(um, beam, deg, end));
                    ends = (ends.0.min(factor), ends.1.max(factor));
                }
            }
        }
        Some(ends)
    }

    /// The angles in words.
    pub fn angles(measuring: &Measuring) -> String {
        let beam = match measuring.incidence_deg {
            Some(stated) => format!("beam at {stated}°"),
            None => format!("beam taken at {BEAM_DEG}°"),
        };
        match measuring.takeoff_deg {
            Some(stated) => format!("{beam}, detector at {stated}°"),
            None => format!(
                "{beam}, detector taken at {DETECTOR_DEG}° ({} to {}°, because it is not stated)",
                UNSTATED_DEG[0], UNSTATED_DEG[1]
            ),
        }
    }
}

/// A cover: attenuation of both lines and of the beams (in the place of their energies).
struct Under {
    hard: Between,
    soft: Between,
    beams: Vec<Vec<Excited>>,
    density: f64,
    beam_sine: f64,
}

impl Under {
    /// ln of hard / soft under the cover over hard / soft without, for one beam, one angle and attenuation at the ends that the
    /// sources leave (`end` from -1, least, to 1).
    fn change(&self, um: f64, beam: &[Excited], deg: f64, end: f64) -> f64 {
        let depth = um / UM_PER_CM * self.density;
        let of = |mu: Between, end: f64| match end {
            e if e > 0.0 => mu.high,
            e if e < 0.0 => mu.low,
            _ => mu.value,
        };
        let leaving = (of(self.soft, end) - of(self.hard, -end)) * depth / sine(deg);
        let mut sums = (0.0, 0.0, 0.0, 0.0);
        for &(mu, of_hard, of_soft) in beam {
            let through = exp(-mu * depth / self.beam_sine);
            sums.0 += of_hard;
            sums.1 += of_hard * through;
            sums.2 += of_soft;
            sums.3 += of_soft * through;
        }
        leaving + ln((sums.1 / sums.0) / (sums.3 / sums.2))
    }

    /// The thickness at which ln(hard / soft) has changed by `wanted`; 0 for nothing or less, infinite where no cover does.
    fn solve(&self, wanted: f64, beam: &[Excited], deg: f64, end: f64) -> Option<f64> {
        if wanted.is_nan() {
            return None;
        }
        if wanted <= 0.0 {
            return Some(0.0);
        }
        // Twice as thick until it is too thick; a change beyond all bounds is no number and surely enough.
        let is_less = |um: f64| self.change(um, beam, deg, end) < wanted;
        let mut high = 1.0;
        while is_less(high) {
            high *= 2.0;
            if high > 2.0 * THICKEST_UM {
                return Some(f64::INFINITY);
            }
        }
        let mut low = 0.0;
        for _ in 0..40 {
            let middle = 0.5 * (low + high);
            if is_less(middle) { low = middle } else { high = middle }
        }
        Some(0.5 * (low + high))
    }
}

fn sine(deg: f64) -> f64 {
    sin(deg * std::f64::consts::PI / 180.0)
}

/// Paint in which an element usually lies, for the depth that its lines come from: formula, density, share of the volume.
const PAINTS: [(&str, &str, &str, f64, f64); 10] = [
    ("Pb", "lead white in oil", "Pb3(CO3)2(OH)2", 6.7, 0.4),
    ("Hg", "vermilion in oil", "HgS", 8.09, 0.4),
    ("Cu", "azurite in oil", "Cu3(CO3)2(OH)2", 3.8, 0.4),
    ("Fe", "red earth in oil", "Fe2O3", 5.2, 0.2),
    ("Sn", "lead-tin yellow in oil", "Pb2SnO4", 8.3, 0.4),
    ("Ca", "chalk in glue", "CaCO3", 2.7, 0.6),
    ("Ba", "barium white in oil", "BaSO4", 4.4, 0.4),
    ("Zn", "zinc white in oil", "ZnO", 5.6, 0.3),
    ("Ti", "titanium white in oil", "TiO2", 4.2, 0.3),
    ("Au", "gold leaf", "Au", 19.3, 1.0),
];

/// Out of what depth half of a line comes in the paint that its element usually makes, µm, and the name of that paint.
pub fn half_depth(line: Line, measuring: &Measuring) -> Option<(&'static str, Between)> {
    let symbol = line.element.symbol();
    let &(_, name, formula, density, share) = PAINTS.iter().find(|paint| paint.0 == symbol)?;
    let pigment = Matter::of_formula(formula, density).ok()?;
    let paint = if share < 1.0 { pigment.in_oil(share) } else { pigment };
    let out = measuring.takeoff_deg.unwrap_or(DETECTOR_DEG);
    let beam = (MONO_KEV, measuring.incidence_deg.unwrap_or(BEAM_DEG));
    paint.information_depth_um(0.5, beam, (physics::energy_kev(line)?, out)).map(|depth| (name, depth))
}

/// Whether a layer itself gives the lines of an element, so that it is no mere cover for them.
pub fn holds(layer: &Layer, element: Element) -> bool {
    matter(layer).is_ok_and(|matter| matter.mass_fraction(element) > 0.0)
}
