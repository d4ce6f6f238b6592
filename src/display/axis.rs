//! From a value to its place between two limits, and round values for its marks.

use super::key::Tick;
use crate::numerics::figure::count;
use crate::numerics::math::{exp, ln, log10};

/// How values spread between the limits of a picture or a histogram.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Scale {
    /// Evenly.
    #[default]
    Linear,
    /// By the square root of the distance from the lower limit.
    SquareRoot,
    /// By the logarithm of the value. Only values above 0 have one: see [`Axis::new`].
    Logarithmic,
}

impl Scale {
    /// Every scale, the default first.
    pub const ALL: [Scale; 3] = [Scale::Linear, Scale::SquareRoot, Scale::Logarithmic];

    /// The word in settings and on the page.
    pub fn word(self) -> &'static str {
        match self {
            Scale::Linear => "linear",
            Scale::SquareRoot => "square root",
            Scale::Logarithmic => "logarithmic",
        }
    }

    /// The scale of a word; `None` for any other word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|scale| scale.word() == word)
    }
}

/// A scale between two limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Axis {
    scale: Scale,
    low: f64,
    high: f64,
    is_raised: bool,
}

/// Ticks nearer to each other than this share of the axis would write over each other.
const CLOSEST: f64 = 0.14;

impl Axis {
    /// An axis from `low` to `high`.
    ///
    /// A logarithmic axis cannot start at 0 or below. Where `low` is not above 0 it starts at 1 if `high` is at least 10 (the
    /// first count), else at a thousandth of `high`; [`Axis::low`] says where. Values at or below the start lie at the start.
    /// Where `high` is not above 0 either, nothing has a place above the start. A limit that is not finite counts as 0.
    pub fn new(scale: Scale, low: f64, high: f64) -> Self {
        let [low, high] = [low, high].map(|limit| if limit.is_finite() { limit } else { 0.0 });
        let is_raised = scale == Scale::Logarithmic && low <= 0.0 && high > 0.0;
        let start = if high >= 10.0 { 1.0 } else { high / 1000.0 };
        Self { scale, low: if is_raised { start } else { low }, high, is_raised }
    }

    /// Where it starts.
    pub fn low(&self) -> f64 {
        self.low
    }

    /// Where it ends.
    pub fn high(&self) -> f64 {
        self.high
    }

    /// How values spread.
    pub fn scale(&self) -> Scale {
        self.scale
    }

    /// False where there is no distance between the limits, so that every place is 0.
    pub fn has_length(&self) -> bool {
        let range = self.high - self.low;
        range > 0.0 && range.is_finite() && (self.scale != Scale::Logarithmic || self.low > 0.0)
    }

    /// The place of a value: 0 at the start and below, 1 at the end and above; 0 for NaN and on an axis without length.
    pub fn place(&self, value: f64) -> f64 {
        if !self.has_length() || value.is_nan() {
            return 0.0;
        }
        let share = ((value - self.low) / (self.high - self.low)).clamp(0.0, 1.0);
        match self.scale {
            Scale::Linear => share,
            Scale::SquareRoot => share.sqrt(),
            Scale::Logarithmic => {
                (ln(value.max(self.low) / self.low) / ln(self.high / self.low)).clamp(0.0, 1.0)
            }
        }
    }

    /// The value at a place from 0 to 1.
    pub fn value(&self, place: f64) -> f64 {
        let place = place.clamp(0.0, 1.0);
        match self.scale {
            _ if !self.has_length() || place == 0.0 => self.low,
            _ if place == 1.0 => self.high,
            Scale::Linear => self.low + place * (self.high - self.low),
            Scale::SquareRoot => self.low + place * place * (self.high - self.low),
            Scale::Logarithmic => self.low * exp(place * ln(self.high / self.low)),
        }
    }

    /// Marks at both ends and at round values between them, with room for their text; only the start on an axis
    /// without length. A start that had to be raised says "≤", as all values below it look the same.
    pub fn ticks(&self) -> Vec<Tick> {
        let at_or_below = if self.is_raised { "≤ " } else { "" };
        let start = Tick { at: 0.0, text: format!("{at_or_below}{}", count(self.low)) };
        if !self.has_length() {
            return vec![start];
        }
        let end = Tick { at: 1.0, text: count(self.high) };
        self.with_round_ticks(vec![start, end])
    }

    /// Marks at round values only; none on an axis without length.
    pub fn round_ticks(&self) -> Vec<Tick> {
        if self.has_length() { self.with_round_ticks(Vec::new()) } else { Vec::new() }
    }

    /// Adds round values wherever there is room for their text.
    fn with_round_ticks(&self, mut ticks: Vec<Tick>) -> Vec<Tick> {
        for value in self.round_values() {
            let at = self.place(value);
            if ticks.iter().all(|other| (other.at - at).abs() >= CLOSEST) {
                ticks.push(Tick { at, text: count(value) });
            }
        }
        ticks.sort_by(|a, b| a.at.total_cmp(&b.at));
        ticks
    }

    /// Round values within the limits, those that deserve a mark most first.
    fn round_values(&self) -> Vec<f64> {
        let (low, high) = (self.low, self.high);
        let inside = |values: Vec<f64>| -> Vec<f64> {
            values.into_iter().filter(|&value| value >= low && value <= high).collect()
        };
        match self.scale {
            Scale::Linear => {
                let Some(step) = round_step((high - low) / 6.0) else { return Vec::new() };
                let first = (low / step).ceil();
                inside((0..=7).map(|i| (first + f64::from(i)) * step).collect())
            }
            // Steps of an even axis crowd where this one is narrow: one round value near each quarter and the ends.
            Scale::SquareRoot => {
                let quarters = [0.5, 0.75, 0.25, 0.0, 0.95].map(|place| self.value(place));
                let round = |value: f64| {
                    let step = round_step((high - low) / 20.0)?;
                    Some((value / step).round() * step)
                };
                inside(quarters.into_iter().filter_map(round).collect())
            }
            Scale::Logarithmic => {
                let decades = (log10(low).floor() as i32)..=(log10(high).ceil() as i32);
                let every = f64::from(decades.end() - decades.start()) / 6.0;
                let every = (every.ceil() as usize).max(1);
                let powers: Vec<f64> = decades.step_by(every).map(power_of_ten).collect();
                let others = |times: f64| powers.iter().map(move |power| power * times).collect::<Vec<f64>>();
                let few = if every == 1 { [others(5.0), others(2.0)].concat() } else { Vec::new() };
                inside([powers.clone(), few].concat())
            }
        }
    }
}

/// The smallest of 1, 2 and 5 times a power of ten that is not below `step`; `None` unless that is above 0 and finite.
pub(super) fn round_step(step: f64) -> Option<f64> {
    if !step.is_finite() || step <= 0.0 {
        return None;
    }
    let decade = power_of_ten(log10(step).floor() as i32);
    [1.0, 2.0, 5.0, 10.0].map(|m| m * decade).into_iter().find(|&round| round >= step * (1.0 - 1e-9))
}

/// Ten to a whole power: for powers that matter the nearest number to it.
fn power_of_ten(power: i32) -> f64 {
    let times = |n: i32| (0..n).fold(1.0, |product, _| product * 10.0);
    if power >= 0 { times(power) } else { 1.0 / times(-power) }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn texts(axis: Axis) -> Vec<String> {
        axis.ticks().into_iter().map(|tick| tick.text).collect()
    }

    #[test]
    fn places_and_values_are_the_inverse_of_each_other() {
        for scale in Scale::ALL {
            assert_eq!(Scale::from_word(scale.word()), Some(scale));
            for (low, high) in [(0.0, 255.0), (3.0, 17_000.0), (-4.0, 0.5), (0.0, 0.8)] {
                let axis = Axis::new(scale, low, high);
                for step in 0..=100 {
                    let place = f64::from(step) / 100.0;
                    assert!((axis.place(axis.value(place)) - place).abs() < 1e-12, "{axis:?} {place}");
                }
                assert_eq!(
                    (axis.place(low - 1.0), axis.place(high + 1.0), axis.place(f64::NAN)),
                    (0.0, 1.0, 0.0)
                );
            }
        }
        // By hand: a quarter of the way by the root of a sixteenth; 10 in the middle between 1 and 100.
        assert_eq!(Axis::new(Scale::SquareRoot, 0.0, 160.0).place(10.0), 0.25);
        assert!((Axis::new(Scale::Logarithmic, 1.0, 100.0).place(10.0) - 0.5).abs() < 1e-15);
    }

    #[test]
    fn a_logarithmic_axis_states_where_it_starts() {
        let start = |low, high| Axis::new(Scale::Logarithmic, low, high).low();
        assert_eq!((start(0.0, 500.0), start(-7.0, 10.0), start(0.0, 5.0)), (1.0, 1.0, 0.005));
        assert_eq!(start(0.25, 5.0), 0.25);
        let nothing = Axis::new(Scale::Logarithmic, -3.0, 0.0);
        assert_eq!((nothing.has_length(), nothing.place(-1.0), nothing.place(9.0)), (false, 0.0, 0.0));
    }

    #[test]
    fn ticks_are_round_between_the_ends_and_have_room() {
        assert_eq!(texts(Axis::new(Scale::Linear, 0.0, 255.0)), ["0", "50", "100", "150", "200", "255"]);
        assert_eq!(texts(Axis::new(Scale::Linear, 5.0, 5.0)), ["5"]);
        assert_eq!(
            texts(Axis::new(Scale::Logarithmic, 0.0, 20_000.0)),
            ["≤ 1", "10", "100", "1\u{202f}000", "20\u{202f}000"]
        );
        assert_eq!(texts(Axis::new(Scale::SquareRoot, 0.0, 400.0)), ["0", "20", "100", "220", "400"]);
        assert_eq!(
            texts(Axis::new(Scale::Linear, -1.0, 1.0)),
            ["\u{2212}1", "\u{2212}0.500", "0", "0.500", "1"]
        );
        let round = |axis: Axis| -> Vec<String> { axis.round_ticks().into_iter().map(|t| t.text).collect() };
        assert_eq!(round(Axis::new(Scale::Linear, -0.5, 11.5)), ["0", "2", "4", "6", "8", "10"]);
        assert_eq!(round(Axis::new(Scale::Logarithmic, 0.5, 300.0)), ["1", "10", "100"]);
        assert_eq!(round(Axis::new(Scale::SquareRoot, -0.5, 100.5)), ["0", "20", "60", "90"]);
        for scale in Scale::ALL {
            for high in [1e-30, 0.7, 3.0, 9.9, 65_535.0, 1e12, 1e300] {
                for low in [-1e9, -1.0, 0.0, 0.1, 2.0] {
                    let ticks = Axis::new(scale, low, high).ticks();
                    assert!(ticks.windows(2).all(|pair| pair[1].at - pair[0].at >= CLOSEST));
                }
            }
        }
    }
}
