//! Width of lines in a silicon detector, and what of a line falls into a window.

use crate::numerics::math::erfc;

/// Manganese Kα, at which widths are stated, keV.
const MN_KEV: f64 = 5.895;
/// 8 ln 2 times the Fano factor (0.115) times the energy of a pair in silicon (3.65 eV), both from memory: eV² per eV.
const PER_EV: f64 = 5.545_177_444_479_562 * 0.115 * 3.65;
/// FWHM in standard deviations.
const FWHM: f64 = 2.354_820_045_030_949_3;

/// Full width at half maximum in eV of a line, from the width of the detector at manganese Kα: FWHM² = N² + 8 ln 2 ·
/// F · ε · E. For a stated width below what silicon can do (117 eV) that of a detector without noise. Real maps at a
/// high rate are 5 to 30 eV wider (common practice, no source).
pub fn line_width_ev(kev: f64, width_at_mn_ev: f64) -> f64 {
    let noise = (width_at_mn_ev * width_at_mn_ev - PER_EV * MN_KEV * 1000.0).max(0.0);
    (noise + PER_EV * kev.max(0.0) * 1000.0).sqrt()
}

/// Share of a Gaussian line at `at_kev` that falls into a window around `centre_kev`, from which it reaches `half`
/// times the width of a line there to either side. Tails and shelves of real detectors are not in it.
pub fn window_leak(at_kev: f64, centre_kev: f64, half: f64, width_at_mn_ev: f64) -> f64 {
    let scale = line_width_ev(at_kev, width_at_mn_ev) / FWHM * std::f64::consts::SQRT_2;
    let reach = half * line_width_ev(centre_kev, width_at_mn_ev);
    let off = ((centre_kev - at_kev) * 1000.0).abs();
    // By tails, so that small shares keep their digits.
    let tail = |x: f64| 0.5 * erfc(x / scale);
    tail(off - reach) - tail(off + reach)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn widths_of_a_drift_detector() {
        // Computed by numpy from the formula; a detector maker's note has 119 eV for the term of silicon alone at 5.9
        // keV.
        for (kev, ev) in [
            (1.74, 92.49),
            (2.31, 99.40),
            (3.69, 114.42),
            (5.895, 135.0),
            (8.04, 152.37),
            (10.55, 170.47),
            (14.98, 198.42),
            (20.17, 226.83),
            (25.2, 251.31),
        ] {
            assert!((line_width_ev(kev, 135.0) - ev).abs() < 0.01, "{kev}");
        }
        assert!((line_width_ev(MN_KEV, 50.0) - 117.137).abs() < 1e-3);
    }

    #[test]
    fn a_line_in_the_middle_of_its_window_and_far_off() {
        // 0.6 of a width is 1.4129 standard deviations: 0.8423 within (table of the normal distribution).
        assert!((window_leak(6.4, 6.4, 0.6, 135.0) - 0.8423).abs() < 1e-4);
        assert!((window_leak(6.4, 6.4, 10.0, 135.0) - 1.0).abs() < 1e-12);
        let far = window_leak(7.4, 6.4, 0.6, 135.0);
        assert!(far > 0.0 && far < 1e-30);
        // Which side does not matter but for the widths.
        assert!(window_leak(6.2, 6.4, 0.6, 135.0) < window_leak(6.6, 6.4, 0.6, 135.0));
    }
}
