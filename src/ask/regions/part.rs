//! What a map counts in a region, and whether the element is detected there.

use crate::ask::evidence::Side;
use crate::ask::words;
use crate::grid::{Grid, Mask, try_vec};
use crate::kind::Noise;
use crate::measure::compare::{FEWEST_EFFECTIVE, PatchyMean, Spread, patchy_mean, student_quantile};
use crate::measure::{FEWEST_PIXELS, Level, Refusal, Rules, Z_95};
use crate::notice::OutOfMemory;
use crate::numerics::counting::{Bounded, Interval, critical_count, detection_limit, garwood};
use crate::numerics::figure::{rounded, whole};
use crate::numerics::special::normal_tail_inverse;

/// More saturated pixels than this share make a mean too low to be tested.
const MOST_SATURATED: f64 = 0.01;

/// One of the three states.
#[derive(Debug, Clone, PartialEq)]
pub enum State {
    Detected,
    /// Nothing above this signal of a pixel.
    NotDetected(f64),
    /// Why.
    Cannot(String),
}

/// A map in a region.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Pixels of the region.
    pub pixels: u64,
    /// Those that can be used.
    pub judged: u64,
    pub saturated: u64,
    pub sum: f64,
    /// Of the pixels that can be used; `None` without them.
    pub spread: Option<Spread>,
    /// 95 % interval of the mean from counting alone.
    pub counting: Option<Interval>,
    /// The same for another place of the same pattern, with the floor.
    pub all: Option<Interval>,
    pub patchy: Option<PatchyMean>,
    pub state: State,
    /// Why it is described and not tested.
    pub refused: Option<String>,
}

impl Part {
    /// The mean; `None` without pixels.
    pub fn mean(&self) -> Option<f64> {
        self.spread.map(|spread| spread.mean)
    }
}

/// What may be off about the mean of a background of a region as a whole: one standard deviation. Without a known background
/// it may be up to `otherwise`, the mean itself.
pub fn floor_of(side: &Side, rules: &Rules, otherwise: f64) -> f64 {
    let background = side.level.as_ref().map_or(otherwise, |level| level.background);
    rules.floor * background.max(0.0)
}

/// Describes a map in a region, with the values that can be used, row by row.
pub fn part(
    side: &Side,
    mask: &Mask,
    is_maker: bool,
    rules: &Rules,
) -> Result<(Part, Vec<f64>), OutOfMemory> {
    let (cropped, pixels, saturated) = crop(side, mask)?;
    let mut values = try_vec(cropped.len())?;
    values.extend(cropped.data().iter().copied().filter(|v| !v.is_nan()));
    let spread = Spread::of(&values);
    let judged = values.len() as u64;
    let sum = spread.map_or(0.0, |s| s.mean * s.n);
    let noise = side.noise();
    let counting = spread.filter(|s| noise == Noise::Counting && s.mean >= 0.0).map(|s| {
        let Interval { low, high } = garwood(sum, 0.05);
        Interval { low: low / s.n, high: high / s.n }
    });
    let patchy = patchy_mean(&cropped)?;
    let all = patchy.filter(|p| noise != Noise::Unknown && p.freedom() > 0.0).map(|p| {
        let arm = student_quantile(0.05, p.freedom()) * p.variance_of_mean.sqrt();
        let interval = Interval { low: p.mean - arm, high: p.mean + arm };
        Bounded { value: p.mean, interval }.widened(Z_95 * floor_of(side, rules, p.mean)).interval
    });
    let refused = refusal(side, (pixels, judged, saturated), is_maker, patchy.as_ref());
    let state = state(side, spread.as_ref(), is_maker, rules);
    Ok((Part { pixels, judged, saturated, sum, spread, counting, all, patchy, state, refused }, values))
}

/// The part of the map in the box around a region, NaN where it is not in the region or cannot be used; pixels of the region,
/// saturated ones among them.
fn crop(side: &Side, mask: &Mask) -> Result<(Grid<f64>, u64, u64), OutOfMemory> {
    let (width, signal) = (mask.width() as usize, &side.signal);
    let (mut left, mut right, mut top, mut bottom) = (u32::MAX, 0, u32::MAX, 0);
    let (mut pixels, mut saturated) = (0, 0);
    for y in 0..mask.height() {
        for (x, _) in mask.row(y).iter().enumerate().filter(|(_, inside)| **inside) {
            pixels += 1;
            let i = y as usize * width + x;
            saturated += u64::from(signal.saturated.data()[i] && !signal.values.data()[i].is_nan());
            (left, right) = (left.min(x as u32), right.max(x as u32 + 1));
            (top, bottom) = (top.min(y), bottom.max(y + 1));
        }
    }
    if pixels == 0 {
        return Ok((Grid::try_filled(0, 0, f64::NAN)?, 0, 0));
    }
    let mut out = Grid::try_filled(right - left, bottom - top, f64::NAN)?;
    let across = (right - left) as usize;
    for y in top..bottom {
        for x in left..right {
            let i = y as usize * width + x as usize;
            if mask.data()[i]
                && let Some(value) = signal.anywhere(i)
            {
                out.data_mut()[(y - top) as usize * across + (x - left) as usize] = value;
            }
        }
    }
    Ok((out, pixels, saturated))
}

fn refusal(
    side: &Side,
    (pixels, judged, saturated): (u64, u64, u64),
    is_maker: bool,
    patchy: Option<&PatchyMean>,
) -> Option<String> {
    if side.noise() == Noise::Unknown {
        return Some(words::refused(Refusal::ShapeOnly(side.kind)).into());
    }
    if is_maker {
        return Some("the region was made from this map, so it is described and not tested".into());
    }
    if judged < FEWEST_PIXELS as u64 {
        return Some(format!(
            "only {} of its {} can be used, and 30 are needed",
            whole(judged),
            words::counted(pixels)
        ));
    }
    if saturated as f64 > MOST_SATURATED * pixels as f64 {
        return Some(format!("{} of it are saturated, so its mean is too low", words::counted(saturated)));
    }
    let Some(patchy) = patchy else { return Some("all its pixels have the same value".into()) };
    (patchy.effective < FEWEST_EFFECTIVE).then(|| {
        format!(
            "its pattern is so coarse that its mean is worth only {} independent pixels, and six are needed",
            rounded(patchy.effective, 2)
        )
    })
}

/// Whether the sum of a region is more than background makes it, with the floor.
fn state(side: &Side, spread: Option<&Spread>, is_maker: bool, rules: &Rules) -> State {
    let level = match &side.level {
        Ok(level) => level,
        Err(reason) => return State::Cannot(reason.clone()),
    };
    if is_maker {
        return State::Cannot("the region was made from this map".into());
    }
    let Some(spread) = spread.filter(|s| s.n >= FEWEST_PIXELS as f64) else {
        return State::Cannot("fewer than 30 of its pixels can be used".into());
    };
    let (critical, limit) = match side.presence {
        Some(_) => (level.critical, (level.critical - level.background).max(0.0)),
        None if side.noise() == Noise::Counting => of_counts(level, spread.n, rules),
        None => of_values(level, spread.n, rules),
    };
    if spread.mean >= critical { State::Detected } else { State::NotDetected(limit) }
}

/// The mean from which on a region of `n` pixels is detected, and the signal of a pixel that would be.
fn of_counts(level: &Level, n: f64, rules: &Rules) -> (f64, f64) {
    let off = n * level.background;
    let mut wide = rules.floor * rules.floor;
    if off > 0.0 {
        wide += level.pixels.map_or(0.0, |m| 1.0 / (m as f64 * level.background));
        wide += (level.dispersion - 1.0).max(0.0) / off;
    }
    let critical = critical_count(off, wide, rules.alpha);
    // What the floor leaves open of the background must be seen through too.
    let open = normal_tail_inverse(rules.beta) * wide.sqrt() * off;
    (critical as f64 / n, (detection_limit(critical, off, rules.beta) + open) / n)
}

fn of_values(level: &Level, n: f64, rules: &Rules) -> (f64, f64) {
    let of_mean = level.pixels.map_or(0.0, |m| 1.0 / m as f64);
    let floor = rules.floor * level.background;
    let sd = (level.variance * (1.0 / n + of_mean) + floor * floor).sqrt();
    let arm = normal_tail_inverse(rules.alpha) * sd;
    (level.background + arm, arm + normal_tail_inverse(rules.beta) * sd)
}
