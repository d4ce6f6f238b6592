//! Overlaps in words.

use super::share::Share;
use super::ways::{ESCAPE_KEV, Missing, Way, line_of, principal};
use crate::numerics::figure::{between, rounded, whole};
use crate::physics::{self, Grade, How, Overlap};
use crate::stack::Map;

fn distance(ev: f64) -> String {
    let side = if ev < 0.0 { "below" } else { "above" };
    format!("{} eV {side}", whole(ev.abs().round() as u64))
}

/// "Pb Lα lies 9 eV above As Kα: one peak", without a stop.
fn place(overlap: &Overlap) -> String {
    let (line, wanted, at) = (line_of(overlap), principal(overlap.wanted), distance(overlap.delta_ev));
    match overlap.how {
        How::Line => format!("{line} lies {at} {wanted}"),
        How::Escape => {
            format!("The escape peak of {line}, {} keV below it, lies {at} {wanted}", rounded(ESCAPE_KEV, 3))
        }
        How::Sum(with) => {
            let sum = physics::energy_kev(overlap.wanted).unwrap_or(f64::NAN) + overlap.delta_ev / 1000.0;
            let what = if with == overlap.by {
                format!("Two counts of {} at once", principal(with))
            } else {
                format!("Counts of {} and {} at once", principal(overlap.by), principal(with))
            };
            format!("{what} look like one of {} keV, {at} {wanted}", rounded(sum, 4))
        }
    }
}

/// A sentence that says what lies where and how far it can be told apart.
pub fn way_text(overlap: &Overlap) -> String {
    let how_far = match overlap.grade {
        Grade::SamePeak => "one peak",
        Grade::Near => "two peaks that run into each other",
        Grade::Partly => "its edge reaches in",
    };
    format!("{}: {how_far}.", place(overlap))
}

/// How much it may be, as a sentence.
pub fn share_text(map: &Map, way: &Way<'_>, found: &Share) -> String {
    let (a, b) = (map.label(), way.map.label());
    match (&found.measured, found.used) {
        (Some((measured, region)), _) => {
            let arm = 0.5 * (measured.all.high - measured.all.low);
            format!(
                "In “{region}”, taken as {} only, {a} is {} of {b}.",
                way.nearest.by.element.name(),
                with_arm(measured.value, arm)
            )
        }
        (None, Some(share)) if found.at_most.is_some() => format!(
            "Where {b} surely is, {a} has at most {} counts for each count of it, and no more than that is overlap.",
            rounded(share.high, 2)
        ),
        (None, Some(share)) if share.low <= 0.0 => {
            format!("By theory up to {} counts of {a} come with each count of {b}.", rounded(share.high, 2))
        }
        (None, Some(share)) => {
            let (low, high) = (share.low, share.high);
            format!("By theory {} counts of {a} come with each count of {b}.", between_of(low, high))
        }
        (None, None) => format!("How much of {a} that is cannot be said from the numbers of {b}."),
    }
}

/// "0.571 ± 0.007": as many places as the uncertainty tells.
fn with_arm(value: f64, arm: f64) -> String {
    if !(arm.is_finite() && arm > 0.0) {
        return rounded(value, 2);
    }
    let places = (-crate::numerics::math::log10(arm)).ceil().clamp(0.0, 6.0) as usize;
    format!("{value:.places$} ± {arm:.places$}")
}

fn between_of(low: f64, high: f64) -> String {
    if high < 0.01 { format!("up to {}", rounded(high, 1)) } else { between(low, high) }
}

/// "Ba Lα lies 44 eV below Ti Kα, one peak with it, and Ba was not measured", without a stop.
pub fn missing_text(missing: &Missing) -> String {
    let why = if missing.picture.is_empty() {
        format!("{} was not measured", missing.element.symbol())
    } else {
        format!("{} is a picture of a map and not its counts", missing.picture)
    };
    format!("{}, one peak with it, and {why}", place(&missing.overlap))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_share_has_as_many_places_as_its_uncertainty() {
        assert_eq!(with_arm(0.5712, 0.0007), "0.5712 ± 0.0007");
        assert_eq!(with_arm(0.041, 0.002), "0.041 ± 0.002");
        assert_eq!(with_arm(3.4, 1.2), "3 ± 1");
        assert_eq!(with_arm(0.5712, f64::INFINITY), "0.57");
    }
}
