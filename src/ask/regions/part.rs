//! What a map counts in a region, and whether the element is detected there.

use crate::ask::evidence::{Asked, Evidence, Side, crop};
use crate::ask::verdict::CANNOT_HERE;
use crate::ask::{faint, words};
use crate::grid::{Grid, Mask, try_vec};
use crate::kind::Noise;
use crate::measure::compare::{FEWEST_EFFECTIVE, PatchyMean, Spread, patchy_mean, student_quantile};
use crate::measure::{FEWEST_PIXELS, Refusal, Rules, Signal, Z_95};
use crate::notice::Fault;
use crate::numerics::counting::{Bounded, Interval, garwood};
use crate::numerics::figure::{rounded, whole};

/// More saturated pixels than this share make a mean too low to be tested.
const MOST_SATURATED: f64 = 0.01;

/// One of the three states, as the question *faint* gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct State {
    /// The verdict word.
    pub word: &'static str,
    /// What "below x" is filled with.
    pub below: Option<f64>,
    /// Why it cannot be judged.
    pub reason: String,
}

impl State {
    fn cannot(reason: impl Into<String>) -> Self {
        Self { word: CANNOT_HERE, below: None, reason: reason.into() }
    }
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
    /// The most that overlaps could give, on average over its pixels.
    pub overlap: f64,
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

/// A map in a region, with the values that can be used.
pub type Described = (Part, Vec<f64>);

/// What may be off about the mean of a background of a region as a whole: one standard deviation. Without a known background
/// it may be up to `otherwise`, the mean itself.
pub fn floor_of(side: &Side, rules: &Rules, otherwise: f64) -> f64 {
    let background = side.level.as_ref().map_or(otherwise, |level| level.background);
    rules.floor * background.max(0.0)
}

/// Describes a map in a region (the whole field without `asked`), with the values that can be used, row by row.
pub fn part(
    evidence: &Evidence,
    side: &Side,
    (asked, mask): (Option<&Asked>, &Mask),
) -> Result<Described, Fault> {
    let rules = &evidence.rules();
    let is_maker = asked.is_some_and(|asked| side.roots.iter().any(|root| asked.makers.contains(root)));
    let signal = crop(side, mask)?;
    let pixels = signal.asked();
    let saturated =
        (0..signal.values.data().len()).filter(|&i| signal.is_asked(i) && is_saturated(&signal, i));
    let saturated = saturated.count() as u64;
    let mut cropped = Grid::try_filled(signal.values.width(), signal.values.height(), f64::NAN)?;
    for (i, value) in cropped.data_mut().iter_mut().enumerate() {
        *value = signal.valid(i).unwrap_or(f64::NAN);
    }
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
    let overlap = signal.mean_overlap();
    let state = state(evidence, side, (asked, signal), is_maker)?;
    Ok((
        Part { pixels, judged, saturated, sum, spread, counting, all, patchy, overlap, state, refused },
        values,
    ))
}

fn is_saturated(signal: &Signal, i: usize) -> bool {
    signal.saturated.data()[i] && !signal.values.data()[i].is_nan()
}

fn refusal(
    side: &Side,
    (pixels, judged, saturated): (u64, u64, u64),
    is_maker: bool,
    patchy: Option<&PatchyMean>,
) -> Option<String> {
    if side.noise() == Noise::Unknown {
        return Some(words::refused(Refusal::ShapeOnly(side.kind), &side.label()));
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
    if 2 * judged < pixels {
        return Some("more than half of its pixels are blank or saturated".into());
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

/// Whether the element is detected, by the question that asks it. Not wanted in a trial.
fn state(
    evidence: &Evidence,
    side: &Side,
    (asked, signal): (Option<&Asked>, Signal),
    is_maker: bool,
) -> Result<State, Fault> {
    if evidence.is_trial() {
        return Ok(State::cannot(""));
    }
    if is_maker {
        return Ok(State::cannot("the region was made from this map"));
    }
    if signal.values.is_empty() {
        return Ok(State::cannot("the region has no pixel"));
    }
    let asked = asked.map_or_else(|| evidence.asked.clone(), |asked| Asked { mask: None, ..asked.clone() });
    let one = Evidence { asked, ..evidence.of_one(side, signal, None) };
    let (word, below, reason) = faint::state(&one)?;
    Ok(State { word, below, reason })
}
