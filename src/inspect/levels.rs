//! The values that occur and how they are spaced: counts as they are, counts times a factor, curves, cut ends.

use super::survey::{Survey, spread, stored_row};
use crate::grid::{SampleType, try_filled_vec, try_vec};
use crate::kind::Spacing;
use crate::notice::{Curve, OutOfMemory};
use crate::numerics::math::{ln, pow};
use crate::numerics::order;
use crate::stack::Plane;

/// Pixels looked at.
const SAMPLE: u32 = 1 << 17;
/// A value is common if at least this many of the pixels looked at hold it. If as many are expected of a value between
/// two common ones, it is missing by chance once in e^8 = 3000.
const COMMON: u64 = 8;
/// Fewer distinct values than this say nothing of their spacing.
const FEWEST_LEVELS: usize = 8;
/// Holes between common values that make a pattern.
const FEWEST_HOLES: usize = 5;

/// The least value of a function and where it is: on a grid, then by thirds between the neighbours of the best point.
fn least(of: impl Fn(f64) -> f64, (from, to): (f64, f64), steps: u32) -> (f64, f64) {
    let width = (to - from) / f64::from(steps);
    let (mut best, mut at) = (f64::INFINITY, from);
    for step in 0..=steps {
        let place = from + f64::from(step) * width;
        let value = of(place);
        if value < best {
            (best, at) = (value, place);
        }
    }
    let (mut low, mut high) = (at - width, at + width);
    for _ in 0..30 {
        let (one, two) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        if of(one) < of(two) { high = two } else { low = one }
    }
    let middle = 0.5 * (low + high);
    let value = of(middle);
    if value < best { (value, middle) } else { (best, at) }
}

/// Distinct stored numbers of a sample of pixels, ascending, each with how often it was met.
#[derive(Debug, Clone, Default)]
pub(super) struct Levels {
    pub values: Vec<f64>,
    pub counts: Vec<u64>,
    pub total: u64,
    is_integer_type: bool,
    is_f32: bool,
}

impl Levels {
    /// Looks at whole rows, at most about 130 000 pixels (every pixel of a smaller map).
    pub fn of(plane: &Plane) -> Result<Self, OutOfMemory> {
        let (width, height) = plane.size();
        let mut row = try_filled_vec(u64::from(width), 0.0)?;
        let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
        let most = SAMPLE.div_ceil(width.max(1));
        let mut sample = try_vec(u64::from(width) * u64::from(most.min(height)))?;
        for y in spread(height, most) {
            stored_row(plane, y, &mut row, &mut scratch);
            sample.extend(row.iter().copied().filter(|v| !v.is_nan()));
        }
        order::sort(&mut sample);
        let sample_type = plane.sample_type();
        let mut levels = Self {
            is_integer_type: !matches!(sample_type, SampleType::F32 | SampleType::F64),
            is_f32: sample_type == SampleType::F32,
            total: sample.len() as u64,
            ..Self::default()
        };
        for group in sample.chunk_by(|a, b| a == b) {
            levels.values.push(group[0]);
            levels.counts.push(group.len() as u64);
        }
        Ok(levels)
    }

    /// Without values that mean "no data".
    pub fn without(mut self, fill: &[f64]) -> Self {
        let kept: Vec<bool> = self.values.iter().map(|v| !fill.contains(v)).collect();
        self.total -= self.counts.iter().zip(&kept).filter(|(_, kept)| !**kept).map(|(n, _)| n).sum::<u64>();
        let mut keep = kept.iter();
        self.values.retain(|_| keep.next() == Some(&true));
        keep = kept.iter();
        self.counts.retain(|_| keep.next() == Some(&true));
        self
    }

    /// How finely a number of this type and size is known.
    fn rounding(&self) -> f64 {
        let largest = self.values.iter().fold(0.0f64, |m, v| m.max(v.abs()));
        if self.is_f32 { largest * 1.2e-7 } else { largest * 4e-16 }
    }

    /// The step of which every gap is a whole multiple, and that occurs; `None` without one. A step below 1/50000 of the
    /// largest value can't be told from the fineness of a picture of 16 bits and is not named.
    fn step(&self) -> Option<f64> {
        let (first, last) = (*self.values.first()?, *self.values.last()?);
        if self.values.len() < FEWEST_LEVELS || self.values.len() as u64 * 3 > self.total {
            return None;
        }
        let gaps = || self.values.windows(2).map(|pair| pair[1] - pair[0]);
        let slack = 4.0 * self.rounding();
        // Euclid's rule, with room for rounding.
        let mut step = 0.0f64;
        for gap in gaps() {
            let (mut a, mut b) = (step.max(gap), step.min(gap));
            while b > slack.max(a * 1e-6) {
                let rest = a % b;
                (a, b) = (b, if b - rest < slack.max(b * 1e-3) { 0.0 } else { rest });
            }
            step = a;
            if step < (last - first) / 5e4 {
                return None;
            }
        }
        let multiple = |v: f64| (v / step - (v / step).round()).abs() < 1e-3_f64.max(slack / step);
        let smallest = gaps().fold(f64::INFINITY, f64::min);
        ((self.is_integer_type || smallest < 1.5 * step) && self.values.iter().all(|&v| multiple(v)))
            .then_some(step)
    }

    /// How the values are spaced.
    pub fn spacing(&self) -> Spacing {
        if self.curve().is_some() {
            return Spacing::Shrinking;
        }
        if self.values.len() < FEWEST_LEVELS {
            return Spacing::Unknown;
        }
        let Some(step) = self.step() else {
            let is_continuous = self.values.len() as u64 * 3 > self.total && !self.is_integer_type;
            return if is_continuous { Spacing::Continuous } else { Spacing::Unknown };
        };
        match self.holes(step) {
            Some(mean) => Spacing::Holes { step: mean },
            None => Spacing::Even { step },
        }
    }

    /// Mean gap where common values regularly leave multiples of `step` between them that never occur.
    fn holes(&self, step: f64) -> Option<f64> {
        let (mut gaps, mut holes, mut length) = (0usize, 0usize, 0.0);
        for (pair, n) in self.values.windows(2).zip(self.counts.windows(2)) {
            let gap = (pair[1] - pair[0]) / step;
            // One wide gap separates a background from what lies on it; a factor gives many alike.
            if n[0] >= COMMON && n[1] >= COMMON && gap < 64.0 {
                gaps += 1;
                holes += usize::from(gap > 1.5);
                length += gap;
            }
        }
        // Half of all gaps hold a hole where the factor is 1.5, nearly all where it is above 2.
        (holes >= FEWEST_HOLES && holes * 4 >= gaps).then(|| length / gaps as f64 * step)
    }

    /// The curve that explains the first 8 to 24 values: they must be common, hold the values of consecutive counts,
    /// and start with steps at least twice as wide as where they end. Integer values may be off by rounding.
    pub fn curve(&self) -> Option<Curve> {
        let common = self.counts.iter().take(24).take_while(|&&n| n >= COMMON).count();
        if common < FEWEST_LEVELS || self.values.len() as u64 * 3 > self.total {
            return None;
        }
        let base = self.values[0];
        let heights: Vec<f64> = self.values[..common].iter().map(|v| v - base).collect();
        let end = heights[common - 1];
        let first = heights[1];
        let last = (end - heights[common - 4]) / 3.0;
        let unit = if self.is_integer_type { 1.0 } else { end * 2e-4 };
        if first < 2.0 * last || first < 4.0 * unit {
            return None;
        }
        let tolerance = if self.is_integer_type { 0.85 + end * 1e-4 } else { end * 1e-4 };
        let misfit = |curve: &dyn Fn(f64) -> f64| {
            let modelled: Vec<f64> = (0..common).map(|i| curve(i as f64)).collect();
            let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(x, y)| x * y).sum::<f64>();
            let factor = dot(&modelled, &heights) / dot(&modelled, &modelled);
            modelled.iter().zip(&heights).map(|(m, h)| (factor * m - h).abs()).fold(0.0, f64::max)
        };
        // The lowest value may be 0, 1 or 2 counts.
        let of_power = |power: f64| {
            [0.0, 1.0, 2.0]
                .into_iter()
                .map(|start| misfit(&|i| pow(i + start, power) - pow(start, power)))
                .fold(f64::INFINITY, f64::min)
        };
        // The simple ones first: where they fit within rounding, nothing more is known.
        if of_power(0.5) <= tolerance {
            return Some(Curve::SquareRoot);
        }
        let (off_log, _) = least(|soft| misfit(&|i| ln(1.0 + i / pow(2.0, soft))), (-4.0, 5.0), 36);
        let (off_power, power) = least(of_power, (0.15, 0.85), 35);
        if off_log <= tolerance.min(off_power) {
            Some(Curve::Logarithmic)
        } else {
            (off_power <= tolerance).then_some(Curve::Power(power))
        }
    }

    /// True if many pixels hold exactly the largest value while those just below are rare: the rest was cut off. Needs
    /// 30 pixels and 20 levels; says nothing of a type's own largest value, where counting stopped.
    pub fn is_clipped(&self, survey: &Survey, ceiling: Option<f64>) -> bool {
        let (Some((_, high)), n) = (survey.range, self.values.len()) else { return false };
        if n < 20 || survey.high_count < 30 || ceiling == Some(high) || self.values[n - 1] != high {
            return false;
        }
        // The 10 levels below together hold less than the last one alone, and lie near it.
        let below: u64 = self.counts[n - 11..n - 1].iter().sum();
        let span = high - self.values[0];
        self.counts[n - 1] >= 20 && below * 2 < self.counts[n - 1] && high - self.values[n - 11] < 0.5 * span
    }

    /// True if fractions occur, none is negative and far more pixels are exactly 0 than hold any other value.
    pub fn has_piled_zeros(&self) -> bool {
        let (Some(&first), Some(&zeros)) = (self.values.first(), self.counts.first()) else { return false };
        let others = self.counts[1..].iter().max().copied().unwrap_or(0);
        let has_fractions = self.values.iter().any(|v| v.fract() != 0.0);
        first == 0.0 && has_fractions && zeros * 100 >= self.total && zeros >= 20 && zeros > 10 * others
    }
}
