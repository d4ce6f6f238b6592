//! The levels of a map's histogram, and where methods divide them (see [`super::threshold`]).

use super::threshold::Method;
use crate::grid::{SampleType, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::numerics::math::ln;
use crate::stack::{Plane, Stats, Tally};

/// The most levels that single numbers get.
const MOST_LEVELS: f64 = 65_536.0;
/// Levels of values that are not whole.
const EVEN_LEVELS: usize = 256;

/// A histogram of values at even distances: the first value, the distance, and how many pixels lie on each level. The
/// first and the last level occur. Methods count in levels, so that their arithmetic is exact, and give a value at the end.
pub(super) struct Levels {
    first: f64,
    step: f64,
    counts: Vec<u64>,
}

impl Levels {
    /// Of a map, without blank and saturated pixels; without levels where none is left. `stats` are those of the plane.
    pub(super) fn of(plane: &Plane, stats: &Stats) -> Result<Self, OutOfMemory> {
        if let Some(tally) = Tally::of(plane)? {
            let ceiling = plane.ceiling().unwrap_or(f64::INFINITY);
            let values = tally.values();
            let (first, second) = (values.first().copied().unwrap_or(0.0), values.get(1).copied());
            let mut counts = tally.counts().to_vec();
            // Saturated pixels go, and with them the empty levels below that they had kept.
            let last = values.iter().zip(&counts).rposition(|(&v, &n)| v < ceiling && n > 0);
            counts.truncate(last.map_or(0, |last| last + 1));
            return Ok(Self { first, step: second.map_or(1.0, |second| second - first), counts });
        }
        let (Some(low), Some(high)) = (stats.low, stats.high) else {
            return Ok(Self { first: 0.0, step: 1.0, counts: Vec::new() });
        };
        let grain = match plane.sample_type() {
            SampleType::F32 | SampleType::F64 => stats.is_whole.then_some(1.0),
            _ => Some(1.0 / plane.reading().gain),
        };
        let single = grain.filter(|grain| *grain > 0.0 && (high - low) / grain < MOST_LEVELS);
        let step = single.unwrap_or((high - low) / EVEN_LEVELS as f64);
        let levels = single.map_or(EVEN_LEVELS, |step| ((high - low) / step).round() as usize + 1);
        // Where the first level begins, and the value in its middle.
        let (border, first) =
            if single.is_some() { (low - step / 2.0, low) } else { (low, low + step / 2.0) };
        let mut counts = try_filled_vec(levels as u64, 0u64)?;
        let mut row = try_filled_vec(u64::from(plane.width()), 0.0)?;
        for y in 0..plane.height() {
            plane.read_row(y, &mut row);
            for &value in row.iter().filter(|v| !v.is_nan()) {
                // Without a distance (a constant map) the place is NaN or infinite and becomes the first or the last.
                counts[(((value - border) / step) as usize).min(levels - 1)] += 1;
            }
        }
        Ok(Self { first, step, counts })
    }

    /// Levels with at least one pixel.
    pub(super) fn occurring(&self) -> usize {
        self.counts.iter().filter(|&&n| n > 0).count()
    }

    /// The value of a place in levels.
    fn value(&self, level: f64) -> f64 {
        self.first + level * self.step
    }

    /// What a method finds, given at least two levels that occur.
    pub(super) fn threshold(&self, method: Method) -> Option<f64> {
        let level = match method {
            Method::Otsu => self.cheapest(|lower, upper| {
                let between = lower.mean() - upper.mean();
                Some(-(lower.n as f64 * upper.n as f64 * between * between))
            }),
            Method::Triangle => self.triangle(),
            Method::Isodata => self.isodata(),
            Method::Li => self.li(),
            Method::MinimumError => self.cheapest(|lower, upper| {
                // ln of the variance twice the ln of the deviation; a share's ln goes off twice.
                let cost = |part: &Part| {
                    let share = part.n as f64 / (lower.n + upper.n) as f64;
                    Some(share * (ln(part.variance()?) - 2.0 * ln(share)))
                };
                Some(cost(lower)? + cost(upper)?)
            }),
            Method::PoissonMinimumError => self.cheapest(|lower, upper| {
                let cost = |part: &Part| {
                    let share = part.n as f64 / (lower.n + upper.n) as f64;
                    let mean = self.value(part.mean());
                    (mean > 0.0).then(|| -share * (ln(share) + mean * ln(mean)))
                };
                Some(cost(lower)? + cost(upper)?)
            }),
            Method::Valley => self.valley(),
        };
        level.map(|level| self.value(level))
    }

    /// The level above which dividing costs least; the first of several.
    fn cheapest(&self, cost: impl Fn(&Part, &Part) -> Option<f64>) -> Option<f64> {
        let whole = Part::of(&self.counts);
        let mut lower = Part::default();
        let mut best: Option<(f64, usize)> = None;
        for (level, &n) in self.counts.iter().enumerate() {
            lower.add(level, n);
            let upper = whole.without(&lower);
            if lower.n == 0 || upper.n == 0 {
                continue;
            }
            if let Some(cost) = cost(&lower, &upper)
                && best.is_none_or(|(least, _)| cost < least)
            {
                best = Some((cost, level));
            }
        }
        best.map(|(_, level)| level as f64)
    }

    /// From the peak, the line runs to the farther end of the levels that occur.
    fn triangle(&self) -> Option<f64> {
        let peak_height = *self.counts.iter().max()?;
        let peak = self.counts.iter().position(|&n| n == peak_height)?;
        let last = self.counts.len() - 1;
        let is_right = peak < last - peak;
        let width = if is_right { last - peak } else { peak };
        let mut best: Option<(f64, usize)> = None;
        for step in 0..width {
            let level = if is_right { last - step } else { step };
            let below = peak_height as f64 * step as f64 - width as f64 * self.counts[level] as f64;
            if best.is_none_or(|(most, _)| below > most) {
                best = Some((below, level));
            }
        }
        best.map(|(_, level)| level as f64)
    }

    fn isodata(&self) -> Option<f64> {
        let whole = Part::of(&self.counts);
        let mut lower = Part::default();
        for (level, &n) in self.counts.iter().enumerate() {
            lower.add(level, n);
            let upper = whole.without(&lower);
            if lower.n > 0 && upper.n > 0 {
                let beyond = f64::midpoint(lower.mean(), upper.mean()) - level as f64;
                if (0.0..1.0).contains(&beyond) {
                    return Some(level as f64);
                }
            }
        }
        None
    }

    fn li(&self) -> Option<f64> {
        let occurring = (0..self.counts.len()).filter(|&level| self.counts[level] > 0);
        let nearest = occurring.clone().zip(occurring.skip(1)).map(|(one, next)| next - one).min()?;
        let tolerance = nearest as f64 / 2.0;
        let whole = Part::of(&self.counts);
        let mut threshold = whole.mean();
        // It closes in within some ten rounds; the limit is a precaution.
        for _ in 0..1000 {
            let lower = Part::of(&self.counts[..=(threshold as usize).min(self.counts.len() - 1)]);
            let upper = whole.without(&lower);
            if lower.n == 0 || upper.n == 0 || lower.sum == 0 {
                return Some(threshold);
            }
            let before = threshold;
            let (low, high) = (lower.mean(), upper.mean());
            threshold = (low - high) / (ln(low) - ln(high));
            if (threshold - before).abs() <= tolerance {
                return Some(threshold);
            }
        }
        None
    }

    /// Smooths with the mean of three until fewer than three humps are left.
    fn valley(&self) -> Option<f64> {
        let mut heights: Vec<f64> = self.counts.iter().map(|&n| n as f64).collect();
        let rounds = (MOST_SMOOTHING / heights.len().max(1)).min(10_000);
        for _ in 0..rounds {
            let mut before = heights.first().copied()?;
            for i in 0..heights.len() {
                let after = heights.get(i + 1).copied().unwrap_or(heights[i]);
                let smooth = (before + heights[i] + after) / 3.0;
                before = std::mem::replace(&mut heights[i], smooth);
            }
            match humps(&heights).as_slice() {
                [] | [_] => return None,
                [left, right] => {
                    let lowest = (*left..=*right).min_by(|&a, &b| heights[a].total_cmp(&heights[b]))?;
                    return Some(lowest as f64);
                }
                _ => {}
            }
        }
        None
    }
}

/// The most that smoothing may cost, in levels: some tenths of a second. Histograms of some thousand levels may reach it.
const MOST_SMOOTHING: usize = 1 << 25;

/// Levels after which heights fall that rose before; the last level is none.
fn humps(heights: &[f64]) -> Vec<usize> {
    let mut out = Vec::new();
    let mut rises = true;
    for (level, pair) in heights.windows(2).enumerate() {
        if rises && pair[1] < pair[0] {
            out.push(level);
            rises = false;
        } else if !rises && pair[1] > pair[0] {
            rises = true;
        }
    }
    out
}

/// Sums over a run of levels.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
struct Part {
    n: u64,
    sum: u64,
    squares: u128,
}

impl Part {
    fn of(counts: &[u64]) -> Self {
        let mut part = Self::default();
        counts.iter().enumerate().for_each(|(level, &n)| part.add(level, n));
        part
    }

    fn add(&mut self, level: usize, n: u64) {
        let level = level as u64;
        self.n += n;
        self.sum += n * level;
        self.squares += u128::from(n * level) * u128::from(level);
    }

    fn without(&self, other: &Self) -> Self {
        Self { n: self.n - other.n, sum: self.sum - other.sum, squares: self.squares - other.squares }
    }

    fn mean(&self) -> f64 {
        self.sum as f64 / self.n as f64
    }

    /// `None` where all pixels lie on one level.
    fn variance(&self) -> Option<f64> {
        let n = u128::from(self.n);
        let spread = n * self.squares - u128::from(self.sum) * u128::from(self.sum);
        (spread > 0).then(|| spread as f64 / (n * n) as f64)
    }
}
