//! How different two colours are to the eye.

use crate::numerics::math::{atan2, cos, exp, sin};

const FULL_TURN: f64 = 360.0;

/// The CIEDE2000 difference of two CIELAB colours, with all three weights 1 (CIE 142-2001). Symmetric; 0 for the same
/// colour. About 1 is just seen side by side, about 10 is told apart at a glance.
///
/// Written after G. Sharma, W. Wu and E. N. Dalal, Color Res. Appl. 30 (2005) 21-30, whose 34 test pairs it gives.
pub fn ciede2000(one: [f64; 3], other: [f64; 3]) -> f64 {
    let length = |x: f64, y: f64| (x * x + y * y).sqrt();
    let seventh = |x: f64| x * x * x * x * x * x * x;
    // Rises from 0 for greys to 1 for strong colours.
    let strength = |chroma: f64| (seventh(chroma) / (seventh(chroma) + seventh(25.0))).sqrt();
    let mean_chroma = (length(one[1], one[2]) + length(other[1], other[2])) / 2.0;
    let stretch = 1.0 + 0.5 * (1.0 - strength(mean_chroma));
    let [c1, c2] = [one, other].map(|lab| length(lab[1] * stretch, lab[2]));
    let [h1, h2] = [one, other].map(|lab| hue(lab[1] * stretch, lab[2]));
    let is_grey = c1 * c2 == 0.0;

    let turn = match h2 - h1 {
        _ if is_grey => 0.0,
        d if d > 180.0 => d - FULL_TURN,
        d if d < -180.0 => d + FULL_TURN,
        d => d,
    };
    let mean_hue = match h1 + h2 {
        sum if is_grey => sum,
        sum if (h1 - h2).abs() <= 180.0 => sum / 2.0,
        sum if sum < FULL_TURN => (sum + FULL_TURN) / 2.0,
        sum => (sum - FULL_TURN) / 2.0,
    };
    let mean_lightness = (one[0] + other[0]) / 2.0;
    let mean_chroma = (c1 + c2) / 2.0;
    let wave = |times: f64, shift: f64| cos((times * mean_hue + shift).to_radians());
    let t = 1.0 - 0.17 * wave(1.0, -30.0) + 0.24 * wave(2.0, 0.0) + 0.32 * wave(3.0, 6.0)
        - 0.20 * wave(4.0, -63.0);
    let from_middle = (mean_lightness - 50.0) * (mean_lightness - 50.0);
    let lightness = (other[0] - one[0]) / (1.0 + 0.015 * from_middle / (20.0 + from_middle).sqrt());
    let chroma = (c2 - c1) / (1.0 + 0.045 * mean_chroma);
    let hue = 2.0 * (c1 * c2).sqrt() * sin((turn / 2.0).to_radians()) / (1.0 + 0.015 * mean_chroma * t);
    let near_blue = (mean_hue - 275.0) / 25.0;
    let bend = 60.0 * exp(-near_blue * near_blue);
    let rotation = -sin(bend.to_radians()) * 2.0 * strength(mean_chroma);
    // Rounding can leave a zero just below zero.
    (lightness * lightness + chroma * chroma + hue * hue + rotation * chroma * hue).max(0.0).sqrt()
}

/// Degrees from 0 to below 360; 0 for a grey.
fn hue(a: f64, b: f64) -> f64 {
    if a == 0.0 && b == 0.0 {
        return 0.0;
    }
    let degrees = atan2(b, a).to_degrees();
    if degrees < 0.0 { degrees + FULL_TURN } else { degrees }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_colour_does_not_differ_from_itself_and_black_from_white_by_a_hundred() {
        for lab in [[50.0, 2.5, 0.0], [0.0, 0.0, 0.0], [30.0, -20.0, -70.0]] {
            assert_eq!(ciede2000(lab, lab), 0.0);
        }
        // Both are greys, and the weight of the lightness difference is 1 at the mean 50.
        assert!((ciede2000([0.0; 3], [100.0, 0.0, 0.0]) - 100.0).abs() < 1e-12);
    }

    #[test]
    fn the_order_does_not_matter() {
        let (a, b) = ([22.7, 20.1, -46.7], [61.0, -5.0, 29.0]);
        assert!((ciede2000(a, b) - ciede2000(b, a)).abs() < 1e-12);
    }
}
