//! A line of B beside the line of A: part of its counts may be taken as A.

use crate::element::Line;
use crate::physics;

/// Lines this near share the counts of a detector (about twice its resolution). Common practice, no source.
const NEAR_KEV: f64 = 0.3;

/// The line of B's element that lies nearest to the line of A, if it is near: its name, and how many eV it lies above A
/// (below 0: beneath). `None` where a line is not known, both are of one element, or none is near.
pub(super) fn beside(a: Option<Line>, b: Option<Line>) -> Option<(String, f64)> {
    let (a, b) = (a?, b?);
    if a.element == b.element {
        return None;
    }
    let energy = physics::energy_kev(a)?;
    let near = physics::lines_in_window(energy - NEAR_KEV, energy + NEAR_KEV);
    let (line, other) = near.into_iter().find(|(line, _)| line.element == b.element)?;
    Some((line.to_string(), 1000.0 * (other - energy)))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(a: &str, b: &str) -> Option<(String, f64)> {
        beside(Line::parse(a), Line::parse(b))
    }

    #[test]
    fn known_neighbours_are_found_and_others_not() {
        // Distances of principal lines by xraylib, to a few eV.
        for (a, b, want, distance) in [
            ("Mn K", "Cr K", "Cr Kβ", 52.0),
            ("Co K", "Fe K", "Fe Kβ", 133.0),
            ("As K", "Pb L", "Pb Lα", 9.0),
            ("Ti K", "Ba L", "Ba Lα", -44.0),
        ] {
            let (line, ev) = of(a, b).unwrap();
            assert_eq!(line, want);
            assert!((ev.abs() - f64::abs(distance)).abs() < 8.0, "{a}, {b}: {ev}");
        }
        assert_eq!(of("Ti K", "Fe K"), None);
        assert_eq!(of("Fe Kβ", "Fe K"), None);
        assert_eq!(beside(None, Line::parse("Fe K")), None);
    }
}
