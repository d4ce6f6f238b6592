//! Places on the object in words: "83 mm from the left, 121 mm from the lower edge, ± 0.8 mm".

use crate::geometry::object::ObjectPlace;
use crate::numerics::figure::{THIN_SPACE, rounded, whole};

/// The place in one phrase, with no more digits than its half-width allows: rounding changes a distance by less than the
/// half-width. Beside the object: "4 mm beyond the left edge".
pub fn object_words(place: &ObjectPlace) -> String {
    let plus_minus = upward(place.plus_minus());
    let unit = unit(plus_minus);
    let (side, level) = (place.corner.side(), place.corner.level());
    let across = match distance(place.from_side, unit, place.is_mm) {
        Distance::Inside(text) => format!("{text} from the {side}"),
        Distance::Beyond(text) => format!("{text} beyond the {side} edge"),
        Distance::At => format!("at the {side} edge"),
    };
    let down = match distance(place.from_level, unit, place.is_mm) {
        Distance::Inside(text) => format!("{text} from the {level} edge"),
        Distance::Beyond(text) => format!("{text} beyond the {level} edge"),
        Distance::At => format!("at the {level} edge"),
    };
    let digits = if leading(plus_minus).0 < 2.0 { 2 } else { 1 };
    let most = with_unit(&rounded(plus_minus, digits), place.is_mm);
    format!("{across}, {down}, ±{THIN_SPACE}{most}")
}

enum Distance {
    Inside(String),
    Beyond(String),
    At,
}

fn distance(value: f64, unit: f64, is_mm: bool) -> Distance {
    let steps = (value.abs() / unit).round();
    if steps == 0.0 {
        return Distance::At;
    }
    let text = if unit >= 1.0 {
        whole((steps * unit).round() as u64)
    } else {
        // Decimals of the unit: 1 for 0.1, 2 for 0.01 ...
        let decimals = (1..).find(|&d| unit > 0.5 * 0.1f64.powi(d)).unwrap_or(1) as usize;
        format!("{:.decimals$}", steps * unit)
    };
    let text = with_unit(&text, is_mm);
    if value < 0.0 { Distance::Beyond(text) } else { Distance::Inside(text) }
}

fn with_unit(figure: &str, is_mm: bool) -> String {
    let unit = match (is_mm, figure) {
        (true, _) => "mm",
        (false, "1") => "pixel",
        (false, _) => "pixels",
    };
    format!("{figure}{THIN_SPACE}{unit}")
}

/// First digits and power of ten: 0.83 is (8.3, 0.1). (1, 1) for what is not above 0.
fn leading(value: f64) -> (f64, f64) {
    if !(value > 0.0 && value.is_finite()) {
        return (1.0, 1.0);
    }
    let mut power = 1.0;
    while value >= power * 10.0 {
        power *= 10.0;
    }
    while value < power {
        power /= 10.0;
    }
    (value / power, power)
}

/// Rounded up to one digit, or to two where the first is a 1, so that no half-width is said smaller than it is. At least a
/// micrometre (or a thousandth of a pixel).
fn upward(value: f64) -> f64 {
    let value = value.max(0.001);
    let (first, power) = leading(value);
    let grain = if first < 2.0 { 0.1 * power } else { power };
    // The hair keeps a figure that is round already.
    (value / grain - 1e-9).ceil() * grain
}

/// The last digit that distances are said to: a power of ten, not above twice the half-width.
fn unit(plus_minus: f64) -> f64 {
    let (first, power) = leading(plus_minus);
    if first < 5.0 { power } else { 10.0 * power }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::object::Corner;

    fn said(from_side: f64, from_level: f64, plus_minus: f64, is_mm: bool) -> String {
        let place = ObjectPlace {
            corner: Corner::LowerLeft,
            from_side,
            from_level,
            from_side_plus_minus: plus_minus,
            from_level_plus_minus: 0.5 * plus_minus,
            is_mm,
        };
        object_words(&place).replace(THIN_SPACE, " ")
    }

    #[test]
    fn figures_as_good_as_they_are_known() {
        let cases = [
            (83.2, 121.4, 0.79, "83 mm from the left, 121 mm from the lower edge, ± 0.8 mm"),
            (83.2, 121.4, 0.8, "83 mm from the left, 121 mm from the lower edge, ± 0.8 mm"),
            (83.26, 121.0, 0.31, "83.3 mm from the left, 121.0 mm from the lower edge, ± 0.4 mm"),
            (83.26, 121.0, 0.13, "83.3 mm from the left, 121.0 mm from the lower edge, ± 0.13 mm"),
            (83.256, 121.0, 0.06, "83.3 mm from the left, 121.0 mm from the lower edge, ± 0.06 mm"),
            (83.256, 121.0, 0.04, "83.26 mm from the left, 121.00 mm from the lower edge, ± 0.04 mm"),
            (83.2, 1214.0, 7.1, "80 mm from the left, 1 210 mm from the lower edge, ± 8 mm"),
            (83.2, 1214.0, 14.2, "80 mm from the left, 1 210 mm from the lower edge, ± 15 mm"),
            (-4.1, 121.4, 0.79, "4 mm beyond the left edge, 121 mm from the lower edge, ± 0.8 mm"),
            (-0.3, -2.0, 0.79, "at the left edge, 2 mm beyond the lower edge, ± 0.8 mm"),
        ];
        for (side, level, plus_minus, want) in cases {
            assert_eq!(said(side, level, plus_minus, true), want);
        }
        assert_eq!(
            said(83.2, 1.2, 0.87, false),
            "83 pixels from the left, 1 pixel from the lower edge, ± 0.9 pixels"
        );
        assert_eq!(said(0.0, 3.0, 0.96, true), "at the left edge, 3 mm from the lower edge, ± 1.0 mm");
        assert!(said(3.0, 3.0, f64::NAN, true).contains('±'));
    }

    #[test]
    fn rounding_is_never_coarser_than_what_is_known() {
        for i in 1..4000 {
            let plus_minus = f64::from(i) * 0.0137;
            let up = upward(plus_minus);
            assert!(up >= plus_minus * (1.0 - 1e-9) && up <= 1.5 * plus_minus, "{plus_minus} {up}");
            assert!(0.5 * unit(up) <= up * (1.0 + 1e-9), "{up}");
        }
    }
}
