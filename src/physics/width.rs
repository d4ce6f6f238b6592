//! Width of lines in a silicon detector.

use crate::numerics::math::erfc;

/// Manganese Kα, at which widths are stated, keV.
const MN_KEV: f64 = 5.895;
/// 8 ln 2 times the Fano factor (0.115) times the energy of a pair in silicon (3.65 eV), both from memory: eV² per eV.
const PER_EV: f64 = 5.545_177_444_479_562 * 0.115 * 3.65;
/// FWHM in standard deviations.
pub(super) const FWHM: f64 = 2.354_820_045_030_949_3;

/// Full width at half maximum in eV of a line, from the width of the detector at manganese Kα: FWHM² = N² + 8 ln 2 · F · ε · E. For a
/// stated width below what silicon can do (117 eV) that of a detector without noise. Real maps at a high rate are 5 to 30 eV wider
/// (common practice, no source).
pub fn line_width_ev(kev: f64, width_at_mn_ev: f64) -> f64 {
    let noise = (width_at_mn_ev * width_at_mn_ev - PER_EV * MN_KEV * 1000.0).max(0.0);
    (noise + PER_EV * kev.max(0.0) * 1000.0).sqrt()
}

/// Share of a Gaussian line at `at_kev` of the given width (eV) that falls within `half_ev` of `centre_kev`.
pub(super) fn leak(at_kev: f64, width_ev: f64, centre_kev: f64, half_ev: f64) -> f64 {
    let scale = width_ev / FWHM * std::f64::consts::SQRT_2;
    let off = (centre_kev - at_kev) * 1000.0;
    // By tails, so that small shares keep their digits.
    let tail = |x: f64| 0.5 * erfc(x / scale);
    let (near, far) = (off.abs() - half_ev, off.abs() + half_ev);
    tail(near) - tail(far)
}
