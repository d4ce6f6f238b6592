//! Compounds and mixtures, and what they let through.

use super::facts::{Between, atomic_weight, mass_attenuation};
use super::formula;
use crate::element::Element;
use crate::notice::Fault;
use crate::numerics::math::{exp, ln, sin};

/// Micrometres in a centimetre.
const UM_PER_CM: f64 = 1e4;
/// Dry air near sea level by mass, and its density in g/cm³ at 20 °C and 101.325 kPa (NIST, X-ray mass attenuation
/// coefficients, table of compounds).
const AIR: [(u8, f64); 4] = [(6, 0.000_124), (7, 0.755_267), (8, 0.231_781), (18, 0.012_827)];
const AIR_DENSITY: f64 = 1.205e-3;

/// Elements by mass, and a density.
#[derive(Debug, Clone, PartialEq)]
pub struct Matter {
    /// In order of atomic number; their sum is 1, or there are none.
    fractions: Vec<(Element, f64)>,
    density: f64,
}

/// Sine of an angle to the surface, from above 0 to 180 degrees.
fn slope(angle_deg: f64) -> Option<f64> {
    let slope = sin(angle_deg.to_radians());
    (angle_deg > 0.0 && angle_deg < 180.0 && slope > 0.0).then_some(slope)
}

impl Matter {
    /// A compound. Brackets, decimals, subscripts and dots of hydrates are read ("2PbCO3·Pb(OH)2").
    ///
    /// # Errors
    /// One sentence for what is not a formula, and for a density that is not a number above 0.
    pub fn of_formula(formula: &str, density_g_cm3: f64) -> Result<Self, Fault> {
        if !(density_g_cm3.is_finite() && density_g_cm3 > 0.0) {
            return Err(Fault::bad_setting(format!(
                "The density of “{formula}” must be a number above 0, in g/cm³; it is {density_g_cm3}."
            )));
        }
        let atoms = formula::atoms(formula)?;
        let masses =
            atoms.into_iter().map(|(element, n)| (element, n * atomic_weight(element).unwrap_or(0.0)));
        Ok(Self::of_masses(masses, density_g_cm3))
    }

    /// From masses in any unit, each element once or more.
    fn of_masses(masses: impl IntoIterator<Item = (Element, f64)>, density: f64) -> Self {
        let mut fractions: Vec<(Element, f64)> = masses.into_iter().filter(|(_, mass)| *mass > 0.0).collect();
        fractions.sort_by_key(|(element, _)| *element);
        fractions.dedup_by(|b, a| {
            let is_same = a.0 == b.0;
            if is_same {
                a.1 += b.1;
            }
            is_same
        });
        let sum: f64 = fractions.iter().map(|(_, mass)| mass).sum();
        for (_, mass) in &mut fractions {
            *mass /= sum;
        }
        Self { fractions, density }
    }

    /// A mixture by shares of volume, which need not add up to 1; shares that are not above 0 are left out. Without any
    /// share there is nothing: no elements, density 0.
    pub fn mixed(parts: &[(&Matter, f64)]) -> Self {
        let parts: Vec<(&Matter, f64)> =
            parts.iter().copied().filter(|(_, share)| share.is_finite() && *share > 0.0).collect();
        let volume: f64 = parts.iter().map(|(_, share)| share).sum();
        let mass: f64 = parts.iter().map(|(matter, share)| matter.density * share).sum();
        let masses = parts.iter().flat_map(|(matter, share)| {
            matter.fractions.iter().map(move |(element, part)| (*element, part * matter.density * share))
        });
        Self::of_masses(masses, if volume > 0.0 { mass / volume } else { 0.0 })
    }

    /// Dry air at 20 °C.
    pub fn air() -> Self {
        let parts = AIR.iter().filter_map(|(z, share)| Some((Element::from_number(*z)?, *share)));
        Self::of_masses(parts, AIR_DENSITY)
    }

    /// The binder that depths are computed with: a drying oil as C57H98O6 at 0.93 g/cm³ (from memory).
    pub fn oil() -> Self {
        let parts = [(1, 98.0), (6, 57.0), (8, 6.0)].into_iter().filter_map(|(z, n)| {
            let element = Element::from_number(z)?;
            Some((element, n * atomic_weight(element)?))
        });
        Self::of_masses(parts, 0.93)
    }

    /// Paint: this as pigment in oil. Real paint has 0.2 to 0.6 of its volume as pigment (common practice, no source).
    pub fn in_oil(&self, share_of_pigment: f64) -> Self {
        Self::mixed(&[(self, share_of_pigment), (&Self::oil(), 1.0 - share_of_pigment)])
    }

    /// Elements with their shares of the mass, in order of atomic number.
    pub fn mass_fractions(&self) -> &[(Element, f64)] {
        &self.fractions
    }

    /// Share of the mass of one element; 0 for one that is not there.
    pub fn mass_fraction(&self, element: Element) -> f64 {
        self.fractions.iter().find(|part| part.0 == element).map_or(0.0, |part| part.1)
    }

    /// g/cm³.
    pub fn density(&self) -> f64 {
        self.density
    }

    /// Mass attenuation in cm²/g at 0.9 to 60 keV by the rule of mixtures; `None` outside, and for nothing.
    pub fn attenuation(&self, kev: f64) -> Option<Between> {
        let mut sum = Between::exactly(0.0);
        for (element, share) in &self.fractions {
            let part = mass_attenuation(*element, kev)?;
            sum.value += share * part.value;
            sum.low += share * part.low;
            sum.high += share * part.high;
        }
        (!self.fractions.is_empty()).then_some(sum)
    }

    /// Attenuation in 1/cm.
    fn linear(&self, kev: f64) -> Option<Between> {
        Some(self.attenuation(kev)?.times(self.density))
    }

    /// Share of radiation that a layer lets through at an angle to its surface (90 is straight). `None` for a
    /// thickness below 0, an angle that is not between 0 and 180 degrees, or an energy outside 0.9 to 60 keV.
    pub fn transmission(&self, thickness_um: f64, angle_deg: f64, kev: f64) -> Option<Between> {
        let path = thickness_um / UM_PER_CM / slope(angle_deg)?;
        (path >= 0.0 && path.is_finite()).then_some(())?;
        Some(self.linear(kev)?.through(|mu| exp(-mu * path)))
    }

    /// Depth in µm out of which a share of all counts of a line comes, if the layer is thick: −ln(1−p) / (µ₀/sin ψ₁ +
    /// µ/sin ψ₂), with the energy and the angle to the surface of the beam and of the line. `None` for a share
    /// outside 0 to 1 (ends excluded) and as for [`Self::transmission`].
    pub fn information_depth_um(
        &self,
        share: f64,
        (in_kev, in_deg): (f64, f64),
        (out_kev, out_deg): (f64, f64),
    ) -> Option<Between> {
        (share > 0.0 && share < 1.0).then_some(())?;
        let (enter, leave) = (self.linear(in_kev)?, self.linear(out_kev)?);
        let (a, b) = (slope(in_deg)?, slope(out_deg)?);
        let depth = |mu0: f64, mu: f64| -ln(1.0 - share) / (mu0 / a + mu / b) * UM_PER_CM;
        Some(Between {
            value: depth(enter.value, leave.value),
            low: depth(enter.high, leave.high),
            high: depth(enter.low, leave.low),
        })
    }

    /// Depth in µm from which 1/e of a line comes out at an angle to the surface: sin ψ / µ. `None` as for
    /// [`Self::transmission`].
    pub fn escape_depth_um(&self, kev: f64, angle_deg: f64) -> Option<Between> {
        let slope = slope(angle_deg)?;
        Some(self.linear(kev)?.through(|mu| slope / mu * UM_PER_CM))
    }
}

/// Share of a line that dry air lets through on its way to the detector, 0.9 to 60 keV. `None` outside and for a
/// distance below 0. The beam side is left out: it is nearly 1 for what excites.
pub fn air_transmission(kev: f64, distance_mm: f64) -> Option<f64> {
    (distance_mm >= 0.0 && distance_mm.is_finite()).then_some(())?;
    Some(exp(-Matter::air().attenuation(kev)?.value * AIR_DENSITY * distance_mm / 10.0))
}

/// What a change of distance does to a signal: relief of the object prints into its maps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relief {
    /// Factor by more or less air.
    pub air: f64,
    /// Factor by the angle that a small detector fills, (d / (d + change))². A large detector that is near changes
    /// less.
    pub solid_angle: f64,
}

/// What a change of distance (mm, positive for further away) from `distance_mm` does to a line. `None` where either
/// distance is not above 0, or outside 0.9 to 60 keV.
pub fn relief(kev: f64, distance_mm: f64, change_mm: f64) -> Option<Relief> {
    let after = distance_mm + change_mm;
    (distance_mm > 0.0 && after > 0.0).then_some(())?;
    let air = air_transmission(kev, after)? / air_transmission(kev, distance_mm)?;
    Some(Relief { air, solid_angle: (distance_mm / after) * (distance_mm / after) })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn matter(formula: &str) -> Matter {
        Matter::of_formula(formula, 1.0).unwrap()
    }

    #[test]
    fn air_of_a_table() {
        // NIST, X-ray mass attenuation coefficients, table 4, dry air near sea level, in cm²/g.
        for (kev, want) in [
            (1.0, 3606.0),
            (1.5, 1191.0),
            (2.0, 527.9),
            (3.0, 162.5),
            (5.0, 40.27),
            (10.0, 5.120),
            (20.0, 0.7779),
        ] {
            let got = Matter::air().attenuation(kev).unwrap();
            assert!((got.value / want - 1.0).abs() < 3e-3, "{kev}: {got:?}");
        }
        let sum: f64 = Matter::air().mass_fractions().iter().map(|part| part.1).sum();
        assert!((sum - 1.0).abs() < 1e-12);
    }

    #[test]
    fn elements_of_a_table() {
        // NIST, table 3: lead at 10 keV, beryllium at 1 to 20 keV, in cm²/g.
        for (symbol, kev, want) in [
            ("Pb", 10.0, 130.6),
            ("Be", 1.0, 604.1),
            ("Be", 2.0, 74.69),
            ("Be", 5.0, 4.369),
            ("Be", 10.0, 0.6466),
            ("Be", 20.0, 0.2251),
        ] {
            let got = matter(symbol).attenuation(kev).unwrap().value;
            assert!((got / want - 1.0).abs() < 3e-3, "{symbol} {kev}: {got}");
        }
    }

    #[test]
    fn oxides_of_rosasite() {
        // Handbook of Mineralogy, rosasite, CuZn(CO3)(OH)2 with Cu : Zn 1 : 1, in per cent.
        let rosasite = matter("CuZn(CO3)(OH)2");
        let of = |z: &str| rosasite.mass_fraction(Element::from_symbol(z).unwrap());
        for (element, oxide, percent) in
            [("Cu", "CuO", 35.68), ("Zn", "ZnO", 36.50), ("C", "CO2", 19.74), ("H", "H2O", 8.08)]
        {
            let in_oxide = matter(oxide).mass_fraction(Element::from_symbol(element).unwrap());
            assert!((100.0 * of(element) / in_oxide - percent).abs() < 0.01, "{oxide}");
        }
    }

    #[test]
    fn mixtures_by_volume() {
        let (lead, oil) = (Matter::of_formula("2PbCO3·Pb(OH)2", 6.7).unwrap(), Matter::oil());
        let paint = Matter::mixed(&[(&lead, 2.0), (&oil, 3.0)]);
        for (element, share) in lead.in_oil(0.4).mass_fractions() {
            assert!((paint.mass_fraction(*element) - share).abs() < 1e-12);
        }
        assert!((paint.density() - (0.4 * 6.7 + 0.6 * 0.93)).abs() < 1e-12);
        // Straight through, a mixture takes as much as its parts one after the other.
        let parts = lead.transmission(4.0, 90.0, 8.0).unwrap().value
            * oil.transmission(6.0, 90.0, 8.0).unwrap().value;
        assert!((paint.transmission(10.0, 90.0, 8.0).unwrap().value / parts - 1.0).abs() < 1e-12);
        // The same element from two parts is there once.
        assert_eq!(paint.mass_fractions().len(), 4);

        let nothing = Matter::mixed(&[(&lead, 0.0), (&oil, f64::NAN)]);
        assert!(nothing.mass_fractions().is_empty() && nothing.attenuation(8.0).is_none());
        assert_eq!(nothing.density(), 0.0);
    }

    #[test]
    fn what_makes_no_sense_has_no_answer() {
        for density in [0.0, -1.0, f64::NAN, f64::INFINITY] {
            assert_eq!(Matter::of_formula("HgS", density).unwrap_err().code, "bad_setting");
        }
        let layer = matter("HgS");
        for (um, degrees, kev) in [
            (-1.0, 45.0, 8.0),
            (1.0, 0.0, 8.0),
            (1.0, 180.0, 8.0),
            (1.0, -45.0, 8.0),
            (1.0, f64::NAN, 8.0),
            (f64::NAN, 45.0, 8.0),
            (f64::INFINITY, 45.0, 8.0),
            (1.0, 45.0, 0.5),
            (1.0, 45.0, 61.0),
            (1.0, 45.0, f64::NAN),
        ] {
            assert_eq!(layer.transmission(um, degrees, kev), None, "{um} {degrees} {kev}");
        }
        assert_eq!(layer.transmission(0.0, 45.0, 8.0), Some(Between::exactly(1.0)));
        for share in [0.0, 1.0, -0.5, f64::NAN] {
            assert_eq!(layer.information_depth_um(share, (20.0, 90.0), (8.0, 45.0)), None);
        }
        assert!(air_transmission(8.0, -1.0).is_none() && air_transmission(8.0, f64::NAN).is_none());
        assert!(relief(8.0, 10.0, -10.0).is_none() && relief(8.0, 0.0, 1.0).is_none());
    }

    #[test]
    fn relief_by_one_millimetre() {
        // Computed by xraylib from NIST's air: Al 13.7 %, S 4.1 %, K 1.6 % for 1 mm; the angle by the square of
        // distances.
        for (kev, percent) in [(1.4866, 13.7), (2.3074, 4.1), (3.3129, 1.6)] {
            let got = relief(kev, 10.0, 1.0).unwrap();
            assert!((100.0 * (1.0 - got.air) - percent).abs() < 0.06, "{kev}: {got:?}");
            assert!((got.solid_angle - 100.0 / 121.0).abs() < 1e-12);
        }
    }

    #[test]
    fn an_edge_is_sharp_on_both_sides() {
        // Copper's K edge is at 8.979 keV; NIST, table 3, has 38.29 and 278.4 cm²/g on its sides.
        let copper = matter("Cu");
        let (below, above) =
            (copper.attenuation(8.978).unwrap().value, copper.attenuation(8.980).unwrap().value);
        assert!((below / 38.29 - 1.0).abs() < 0.01 && (above / 278.4 - 1.0).abs() < 0.01, "{below} {above}");
        // Between the M5 and M4 edges of mercury the sources are far apart, and the range says so.
        let range = matter("Hg").attenuation(2.3477).unwrap();
        assert!(range.low < 1600.0 && range.high > 2000.0, "{range:?}");
    }
}
