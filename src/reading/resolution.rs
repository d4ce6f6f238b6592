//! Resolutions in files: the step of a scan, or what a screen's or printer's program wrote for want of a better one.

use crate::geometry::Step;
use crate::notice::Finding;

/// Resolutions of screens and printers, in dots per inch. Common practice, no source.
const SCREEN_DPI: [f64; 14] =
    [72.0, 75.0, 90.0, 96.0, 100.0, 120.0, 144.0, 150.0, 200.0, 300.0, 400.0, 600.0, 1200.0, 2400.0];

/// The step out of pixels per unit across and down, where one unit has `unit_um` micrometres. One pixel a unit is what
/// is written where nothing is known, and gives neither step nor finding; a screen's resolution gives a finding.
pub(super) fn step(per_unit: (f64, f64), unit_um: f64) -> (Option<Step>, Option<Finding>) {
    let (x, y) = per_unit;
    if !(x.is_finite() && y.is_finite() && x > 0.0 && y > 0.0) || (x == 1.0 && y == 1.0) {
        return (None, None);
    }
    let is_screens = |per_unit: f64| {
        let dots_per_inch = per_unit * 25_400.0 / unit_um;
        SCREEN_DPI.into_iter().find(|&dpi| (dots_per_inch - dpi).abs() < (dpi * 0.001).max(0.1))
    };
    match (is_screens(x), is_screens(y)) {
        (Some(dots_per_inch), Some(_)) => (None, Some(Finding::ScreenResolution { dots_per_inch })),
        _ => (Step::new(unit_um / x, unit_um / y), None),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_scans_resolution_is_a_step_and_a_screens_is_not() {
        assert_eq!(step((20.0, 40.0), 10_000.0), (Step::new(500.0, 250.0), None));
        // PNG: 2000 pixels a metre; 2835 and 11811 are 72 and 300 dpi, rounded.
        assert_eq!(step((2000.0, 2000.0), 1e6).0, Step::new(500.0, 500.0));
        for (per_metre, dpi) in [(2835.0, 72.0), (11811.0, 300.0), (3780.0, 96.0)] {
            let (step, finding) = step((per_metre, per_metre), 1e6);
            assert_eq!((step, finding), (None, Some(Finding::ScreenResolution { dots_per_inch: dpi })));
        }
        for nothing in [(1.0, 1.0), (0.0, 5.0), (f64::NAN, 5.0), (f64::INFINITY, 1.0)] {
            assert_eq!(step(nothing, 25_400.0), (None, None));
        }
    }
}
