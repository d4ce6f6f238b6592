//! Background of a map, and from what value on a pixel is more than it.
//!
//! The rule *quiet part* takes the background from the map itself: a start from its lowest quarter, then all pixels below
//! the critical level, until that set stays the same. It finds what most of the quiet part of the field counts; an
//! element that is everywhere at one level is invisible to it, and the answers say so. A region of like matrix without the
//! element is better, and is taken where the user names one.

use super::Signal;
use crate::grid::Mask;
use crate::kind::{Kind, Noise};
use crate::notice::OutOfMemory;
use crate::numerics::counting::{critical_count, detection_limit, poisson_tail};
use crate::numerics::order;
use crate::numerics::special::{gamma_q_inverse, normal_tail_inverse};
use crate::numerics::sums;

/// How strict the decision is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rules {
    /// Systematic uncertainty of the background as a share of it (one standard deviation).
    pub floor: f64,
    /// Chance that background alone reaches the critical level in a pixel.
    pub alpha: f64,
    /// Chance that a signal at the detection limit stays below the critical level.
    pub beta: f64,
}

impl Default for Rules {
    fn default() -> Self {
        Self { floor: 0.05, alpha: 0.001, beta: 0.05 }
    }
}

/// Where a background comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LevelSource {
    /// The rule *quiet part*.
    QuietPart,
    /// The pixels of a region that was chosen as background.
    Region,
    /// The caller's value.
    Stated,
}

/// Background and what follows from it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// Mean of the background in a pixel.
    pub background: f64,
    /// Pixels it was taken from; `None` where it was stated.
    pub pixels: Option<u64>,
    /// Variance of those pixels over what counting alone would give; 1 where it is not known.
    pub dispersion: f64,
    /// A pixel with this value or more is *detected*.
    pub critical: f64,
    /// The smallest signal above background that would be detected with chance `1 - beta`.
    pub detection_limit: f64,
    /// Variance of one background pixel, without the floor.
    pub variance: f64,
    /// Where it comes from.
    pub source: LevelSource,
}

/// Why no background can be given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Refusal {
    /// The kind permits no statement about single pixels.
    ShapeOnly(Kind),
    /// Fewer than 30 pixels can be used.
    TooFewPixels,
    /// Every pixel has the same value.
    Constant,
    /// One value is piled up at the low end, as a fit without negative results leaves it.
    PiledUp,
    /// The rule came to no end.
    NoQuietPart,
    /// Even the critical level lies below 0, where no signal can be.
    BelowZero,
    /// The region it should come from was made from the map itself.
    MadeOfIt,
    /// A stated value that cannot be one.
    BadValue,
}

/// Fewer pixels than this carry no background and no factor of accompaniment.
pub const FEWEST_PIXELS: usize = 30;
const MOST_ROUNDS: usize = 100;
/// A share of equal lowest values above this is a pile and not a coincidence.
pub(super) const PILE: f64 = 0.05;

impl Level {
    /// From a background of counts that the caller knows; exact but for the floor. Other values have a scatter that must be
    /// taken from their map: [`stated_level`].
    ///
    /// # Errors
    /// A value below 0 or not finite; a kind that holds no counts.
    pub fn stated(background: f64, kind: Kind, rules: &Rules) -> Result<Self, Refusal> {
        if !background.is_finite() || background < 0.0 {
            return Err(Refusal::BadValue);
        }
        if kind.noise() != Noise::Counting {
            return Err(Refusal::ShapeOnly(kind));
        }
        Ok(counting(background, None, 1.0, LevelSource::Stated, rules))
    }

    /// The same background under other rules.
    pub fn under(&self, rules: &Rules, kind: Kind) -> Self {
        match kind.noise() {
            Noise::Empirical => empirical(self.background, self.variance, self.pixels, self.source, rules),
            _ => counting(self.background, self.pixels, self.dispersion, self.source, rules),
        }
    }

    /// The same background, but a pixel counts as detected from `critical` on, as the caller states.
    pub fn with_threshold(self, critical: f64, kind: Kind, rules: &Rules) -> Self {
        let limit = match kind.noise() {
            Noise::Empirical => {
                critical - self.background + normal_tail_inverse(rules.beta) * self.variance.sqrt()
            }
            _ => detection_limit(critical.max(0.0).ceil() as u64, self.background, rules.beta),
        };
        Self { critical, detection_limit: limit, ..self }
    }
}

pub(super) fn counting(
    background: f64,
    pixels: Option<u64>,
    dispersion: f64,
    source: LevelSource,
    rules: &Rules,
) -> Level {
    let mut relative_variance = rules.floor * rules.floor;
    if background > 0.0 {
        relative_variance += pixels.map_or(0.0, |m| 1.0 / (m as f64 * background));
        relative_variance += (dispersion - 1.0).max(0.0) / background;
    }
    let critical = critical_count(background, relative_variance, rules.alpha);
    Level {
        background,
        pixels,
        dispersion,
        critical: critical as f64,
        detection_limit: detection_limit(critical, background, rules.beta),
        variance: background * dispersion.max(1.0),
        source,
    }
}

pub(super) fn empirical(
    background: f64,
    variance: f64,
    pixels: Option<u64>,
    source: LevelSource,
    rules: &Rules,
) -> Level {
    let of_mean = pixels.map_or(0.0, |pixels| variance / pixels as f64);
    let wide = variance + of_mean + (rules.floor * background) * (rules.floor * background);
    let critical = background + normal_tail_inverse(rules.alpha) * wide.sqrt();
    Level {
        background,
        pixels,
        dispersion: 1.0,
        critical,
        detection_limit: critical - background + normal_tail_inverse(rules.beta) * variance.sqrt(),
        variance,
        source,
    }
}

/// Background of a map by the rule *quiet part*.
///
/// Counts (kind *window*): exact Poisson critical levels, widened by the floor, by the finite number of pixels and by a
/// dispersion above 1. Other kinds: mean and variance of the quiet pixels, clipped above. Cost: one sort.
///
/// # Errors
/// Out of memory. The inner result refuses where no honest background can be had.
pub fn level(signal: &Signal, rules: &Rules) -> Result<Result<Level, Refusal>, OutOfMemory> {
    if signal.kind.noise() == Noise::Unknown {
        return Ok(Err(Refusal::ShapeOnly(signal.kind)));
    }
    let mut sorted = signal.values_anywhere()?;
    order::sort(&mut sorted);
    if sorted.len() < FEWEST_PIXELS {
        return Ok(Err(Refusal::TooFewPixels));
    }
    if sorted.first() == sorted.last() {
        return Ok(Err(Refusal::Constant));
    }
    Ok(match signal.kind.noise() {
        Noise::Counting => quiet_counts(&sorted, rules),
        _ => quiet_values(&sorted, rules).map(|found| at_least_the_errors(found, signal, None, rules)),
    })
}

/// A level whose scatter is no less than the map of errors says for its background pixels (those of `region`, else those
/// below the critical level).
pub(super) fn at_least_the_errors(
    found: Level,
    signal: &Signal,
    region: Option<&Mask>,
    rules: &Rules,
) -> Level {
    let Some(sigma) = &signal.sigma else { return found };
    let is_background = |i: usize| match region {
        Some(region) => region.data()[i],
        None => signal.anywhere(i).is_some_and(|value| value < found.critical),
    };
    let (mut squares, mut pixels) = (0.0, 0u64);
    for (i, &sigma) in sigma.data().iter().enumerate() {
        if sigma.is_finite() && signal.anywhere(i).is_some() && is_background(i) {
            squares += sigma * sigma;
            pixels += 1;
        }
    }
    let stated = if pixels == 0 { 0.0 } else { squares / pixels as f64 };
    if stated <= found.variance {
        return found;
    }
    empirical(found.background, stated, found.pixels, found.source, rules)
}

fn quiet_counts(sorted: &[f64], rules: &Rules) -> Result<Level, Refusal> {
    let n = sorted.len();
    let Some(quarter) = order::low_quantile(sorted, 0.25) else { return Err(Refusal::TooFewPixels) };
    let mut kept = sorted.partition_point(|&v| v <= quarter);
    let share = (kept as f64 / n as f64).min((n as f64 - 0.5) / n as f64);
    // The mean of a Poisson distribution whose share up to the quarter's value is the share seen.
    let mut background = gamma_q_inverse(quarter.max(0.0) + 1.0, share);
    for _ in 0..MOST_ROUNDS {
        let mut variance = rules.floor * rules.floor;
        if background > 0.0 {
            variance += 1.0 / (kept as f64 * background);
        }
        let critical = critical_count(background, variance, rules.alpha) as f64;
        let next = sorted.partition_point(|&v| v < critical);
        let Some(mean) = sums::mean(&sorted[..next]) else { return Err(Refusal::NoQuietPart) };
        background = mean;
        if next == kept {
            return finished(&sorted[..kept], background, rules);
        }
        kept = next;
    }
    Err(Refusal::NoQuietPart)
}

fn finished(kept: &[f64], background: f64, rules: &Rules) -> Result<Level, Refusal> {
    if kept.len() < FEWEST_PIXELS {
        return Err(Refusal::NoQuietPart);
    }
    let dispersion = if background > 0.0 {
        sums::squared_deviations(kept, background) / (kept.len() as f64 - 1.0) / background
    } else {
        1.0
    };
    Ok(counting(background, Some(kept.len() as u64), dispersion, LevelSource::QuietPart, rules))
}

/// Whether values end at 0 instead of scattering around it: hardly any lie below.
pub(super) fn is_cut_off(zeros: usize, negative: usize) -> bool {
    10 * negative < zeros
}

fn quiet_values(sorted: &[f64], rules: &Rules) -> Result<Level, Refusal> {
    let n = sorted.len();
    let lowest = sorted.partition_point(|&v| v <= sorted[0]);
    let negative = sorted.partition_point(|&v| v < 0.0);
    let zeros = sorted.partition_point(|&v| v <= 0.0) - negative;
    // Areas in whole numbers are often 0; a fit without negative results leaves none below.
    let piled = if is_cut_off(zeros, negative) { zeros } else { 0 };
    if lowest.max(piled) as f64 > PILE * n as f64 {
        return Err(Refusal::PiledUp);
    }
    let z = normal_tail_inverse(rules.alpha);
    let Some(quarter) = order::low_quantile(sorted, 0.25) else { return Err(Refusal::TooFewPixels) };
    let mut kept = sorted.partition_point(|&v| v <= quarter);
    for _ in 0..MOST_ROUNDS {
        let Some(mean) = sums::mean(&sorted[..kept]) else { return Err(Refusal::NoQuietPart) };
        let variance = sums::squared_deviations(&sorted[..kept], mean) / (kept as f64 - 1.0).max(1.0);
        let next = sorted.partition_point(|&v| v <= mean + z * variance.sqrt());
        if next == kept {
            if kept < FEWEST_PIXELS {
                return Err(Refusal::NoQuietPart);
            }
            let found = empirical(mean, variance, Some(kept as u64), LevelSource::QuietPart, rules);
            return if found.critical < 0.0 { Err(Refusal::BelowZero) } else { Ok(found) };
        }
        kept = next;
    }
    Err(Refusal::NoQuietPart)
}

/// Chance that background alone makes a pixel *detected*, for counting how many would be expected by chance.
pub fn false_alarms(level: &Level, rules: &Rules) -> f64 {
    if level.source == LevelSource::Stated || level.variance <= 0.0 {
        return rules.alpha;
    }
    let plain = poisson_tail(level.critical.max(0.0).ceil() as u64, level.background);
    // Never taken for less than a tenth of alpha: the background is not known better than that.
    plain.clamp(0.1 * rules.alpha, rules.alpha)
}

#[cfg(test)]
mod tests {
    use super::super::testing::counts;
    use super::*;

    /// Counts of one mean by inverting the distribution at evenly spaced shares: a sample without luck.
    fn even_poisson(mean: f64, n: usize) -> Vec<f64> {
        (0..n)
            .map(|i| {
                let share = (i as f64 + 0.5) / n as f64;
                (0..).find(|&k: &u64| 1.0 - poisson_tail(k + 1, mean) >= share).unwrap() as f64
            })
            .collect()
    }

    #[test]
    fn an_even_background_is_found_and_a_painted_part_left_out() {
        for mean in [0.05, 0.7, 4.0, 60.0] {
            let mut values = even_poisson(mean, 900);
            values.extend(even_poisson(mean * 8.0 + 30.0, 300));
            let found = level(&counts(40, 30, values), &Rules::default()).unwrap().unwrap();
            assert!((found.background / mean - 1.0).abs() < 0.05, "{mean}: {found:?}");
            assert!((found.dispersion - 1.0).abs() < 0.1, "{found:?}");
        }
    }

    #[test]
    fn a_map_without_a_single_count_in_its_quiet_part_detects_one_count() {
        let mut values = vec![0.0; 890];
        values.extend(vec![9.0; 10]);
        let found = level(&counts(30, 30, values), &Rules::default()).unwrap().unwrap();
        assert_eq!((found.background, found.critical), (0.0, 1.0));
    }

    #[test]
    fn where_nothing_can_be_said_it_refuses() {
        let rules = Rules::default();
        assert_eq!(level(&counts(4, 5, even_poisson(3.0, 20)), &rules).unwrap(), Err(Refusal::TooFewPixels));
        assert_eq!(level(&counts(10, 10, vec![4.0; 100]), &rules).unwrap(), Err(Refusal::Constant));
        assert_eq!(level(&counts(10, 10, vec![f64::NAN; 100]), &rules).unwrap(), Err(Refusal::TooFewPixels));
        let mut copy = counts(10, 10, even_poisson(3.0, 100));
        copy.kind = Kind::DisplayCopy;
        assert_eq!(level(&copy, &rules).unwrap(), Err(Refusal::ShapeOnly(Kind::DisplayCopy)));
        let mut fitted = counts(10, 10, (0..100).map(|i| f64::from((i - 50).max(0)) * 0.7).collect());
        fitted.kind = Kind::Fitted;
        assert_eq!(level(&fitted, &rules).unwrap(), Err(Refusal::PiledUp));
        assert_eq!(Level::stated(-1.0, Kind::Window, &rules), Err(Refusal::BadValue));
        // From a net map whose background was taken for far too much.
        let mut below = counts(10, 10, (0..100).map(|i| f64::from(i * 37 % 100) * 0.1 - 90.0).collect());
        below.kind = Kind::Net;
        assert_eq!(level(&below, &rules).unwrap(), Err(Refusal::BelowZero));
    }

    #[test]
    fn a_fitted_map_takes_its_scatter_from_itself() {
        // Symmetric scatter around 2 with standard deviation about 1.15, and a bright part.
        let mut values: Vec<f64> =
            (0..1000).map(|i| 2.0 + ((i * 7919 % 1000) as f64 - 499.5) / 250.0).collect();
        values.extend(vec![40.0; 100]);
        let mut signal = counts(50, 22, values);
        signal.kind = Kind::Fitted;
        let found = level(&signal, &Rules::default()).unwrap().unwrap();
        assert!((found.background - 2.0).abs() < 0.02, "{found:?}");
        assert!((found.critical - (2.0 + 3.09 * 1.16)).abs() < 0.1, "{found:?}");
    }
}
