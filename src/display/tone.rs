//! From a value to the intensity of a light.

use super::axis::{Axis, Scale};
use crate::numerics::math::pow;

const STEPS: usize = 16_384;

/// Rises from 0 at `low` to 1 at `high`, as a power of the share between them.
pub struct Tone {
    low: f64,
    scale: f64,
    gamma: f64,
    table: Vec<f32>,
    /// Where the share of the way is not that of the value.
    curved: Option<Axis>,
}

impl Tone {
    /// `gamma` is kept within 0.1 to 10; `high` not above `low` gives a step at `low`.
    pub fn new(low: f64, high: f64, gamma: f64) -> Self {
        let gamma = if gamma.is_finite() { gamma.clamp(0.1, 10.0) } else { 1.0 };
        let scale = if high > low { 1.0 / (high - low) } else { f64::INFINITY };
        let table = (0..=STEPS).map(|i| pow(i as f64 / STEPS as f64, gamma) as f32).collect();
        Self { low, scale, gamma, table, curved: None }
    }

    /// The same with the share of the way along an axis of this scale.
    pub fn along(self, scale: Scale, low: f64, high: f64) -> Self {
        let curved = (scale != Scale::Linear).then(|| Axis::new(scale, low, high));
        Self { curved, ..self }
    }

    /// Intensity from 0 to 1.
    pub fn intensity(&self, value: f64) -> f32 {
        if let Some(axis) = &self.curved {
            // NaN gives no place, and so no light.
            return pow(axis.place(value).max(0.0), self.gamma) as f32;
        }
        let above = value - self.low;
        if above.is_nan() || above <= 0.0 {
            return 0.0;
        }
        let share = (above * self.scale).min(1.0);
        // Near black the eye (and sRGB) tells apart what the table would round together.
        if share < 1.0 / 64.0 {
            return pow(share, self.gamma) as f32;
        }
        self.table[(share * STEPS as f64 + 0.5) as usize]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn intensities_follow_the_power_between_the_limits() {
        let tone = Tone::new(10.0, 110.0, 2.0);
        assert_eq!((tone.intensity(10.0), tone.intensity(110.0), tone.intensity(500.0)), (0.0, 1.0, 1.0));
        assert_eq!((tone.intensity(60.0), tone.intensity(f64::NAN), tone.intensity(-3.0)), (0.25, 0.0, 0.0));
        assert!((f64::from(tone.intensity(35.3)) - 0.064_009).abs() < 1e-4);
    }

    #[test]
    fn along_another_scale_the_share_is_that_of_the_axis() {
        let tone = Tone::new(1.0, 100.0, 2.0).along(Scale::Logarithmic, 1.0, 100.0);
        assert!((tone.intensity(10.0) - 0.25).abs() < 1e-6);
        assert_eq!((tone.intensity(0.5), tone.intensity(f64::NAN), tone.intensity(1e9)), (0.0, 0.0, 1.0));
        let tone = Tone::new(0.0, 100.0, 1.0).along(Scale::SquareRoot, 0.0, 100.0);
        assert!((tone.intensity(25.0) - 0.5).abs() < 1e-6);
    }

    #[test]
    fn limits_without_a_distance_make_a_step() {
        let tone = Tone::new(5.0, 5.0, 1.0);
        assert_eq!((tone.intensity(5.0), tone.intensity(5.1)), (0.0, 1.0));
    }
}
