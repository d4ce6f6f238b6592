//! From two maps to a verdict.

use super::causes::{Causes, causes};
use super::numbers::{Alike, Noises, noise_of};
use super::overlap::overlap;
use super::survives::{survives_without_lines, survives_without_the_brightest};
use crate::ask::evidence::{Evidence, Side};
use crate::ask::pair::Pair;
use crate::ask::verdict::{CANNOT, NO_PATTERN, TOGETHER};
use crate::ask::{Progress, words};
use crate::kind::Noise;
use crate::measure::together::{
    BACKGROUND_VARIES, FEWEST_EFFECTIVE, Finding, How, MOST_PIXELS, NoiseOf, Pairs, Passage, Sets,
    SharedBackground, Significance, moments, passage, products, same_side,
};
use crate::measure::{FEWEST_PIXELS, Level, Z_95};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::{rounded, stated_percent};
use crate::numerics::special::normal_tail_inverse;

/// Nothing is found where both tests give this chance or more.
pub(super) const ALPHA: f64 = 0.05;
/// A common pattern is said only where both give less than this; between the two it cannot be judged.
pub(super) const STRICT: f64 = 0.01;
/// A variation that all lines share: distance and tilt of the surface, dwell, dead time, drift, thickness. Both maps have to
/// vary together by more before it is said of them. Common practice, no source.
pub(super) const ALL_SHARE: f64 = 0.2;
/// "No common pattern" is said only where a true correlation of this size would have been found.
pub(super) const MUST_BE_SEEN: f64 = 0.6;
/// Part of a signal that is no offset worth a word.
const NO_OFFSET: f64 = 0.2;
/// Pixels without either that tell how far a shared background varies.
const FEWEST_OF_BACKGROUND: usize = 200;
/// Changed together, so that no two procedures of an answer use the same run of numbers.
const FIELD_SEED: u64 = 0x5eed_0001;
const LINES_SEED: u64 = 0x5eed_0002;
const BRIGHTEST_SEED: u64 = 0x5eed_0003;
const PASSAGE_SEED: u64 = 0x5eed_0003;

/// How much is computed.
#[derive(Debug, Clone, Copy)]
pub(super) struct Effort {
    /// Everything that an answer shows, or only what the verdict rests on.
    pub everything: bool,
    /// Larger rectangles are binned for the tests.
    pub most_pixels: usize,
}

impl Effort {
    pub fn of(evidence: &Evidence) -> Self {
        Self { everything: !evidence.is_trial(), most_pixels: MOST_PIXELS }
    }
}

/// A share of one signal where the other is detected, with the threshold as it is and moved both ways.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(in crate::ask) struct Share {
    pub value: Option<f64>,
    pub low: Option<f64>,
    pub high: Option<f64>,
}

/// How B goes with A inside the passage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::ask) enum Line {
    /// B is a factor times A.
    Proportional,
    /// About this share of B doesn't go with A.
    RestOfB(f64),
    /// About this share of A doesn't go with B.
    RestOfA(f64),
}

/// What is found of two maps.
#[derive(Debug, Clone, Default)]
pub(in crate::ask) struct Judged {
    pub field: Alike,
    pub cosine: Option<f64>,
    pub same_side: Option<f64>,
    pub sets: Option<Sets>,
    pub shares: [Share; 2],
    pub passage: Option<Passage>,
    /// Numbers inside the passage; those of the field where everything is the passage.
    pub within: Option<Alike>,
    pub line: Option<Line>,
    /// The correlation that would have been seen, without noise, in what the verdict rests on.
    pub would_be_seen: Option<f64>,
    pub causes: Causes,
    pub verdict: &'static str,
    /// Why it cannot be judged; empty otherwise.
    pub reason: String,
}

impl Judged {
    pub fn nothing(reason: &str) -> Self {
        Self { verdict: CANNOT, reason: reason.into(), ..Self::default() }
    }

    /// What the verdict rests on.
    pub fn basis(&self) -> &Alike {
        self.within.as_ref().unwrap_or(&self.field)
    }
}

pub(super) fn judge(pair: &Pair<'_>, effort: Effort, progress: Progress<'_>) -> Result<Judged, Fault> {
    let (a, b) = (pair.a, pair.b);
    let seed = pair.evidence.settings.seed.unwrap_or(1);
    let mut found = Judged { causes: causes(a, b), verdict: CANNOT, ..Judged::default() };
    let levels = pair.levels();
    if let Ok(at) = levels {
        found.passage = Some(passage(&a.signal, &b.signal, at, pair.evidence.rim_px)?);
    }
    let how = found.passage.as_ref().map_or(How::TooSmall, |passage| passage.how);
    progress(0.1, "Correlation over everything asked");
    if effort.everything || how != How::WhereBoth {
        let everything = cut(pair, |_| true)?;
        found.field = Alike::of(&everything, effort.most_pixels, seed ^ FIELD_SEED)?;
        let noise = noise_of(a, b, &everything, found.causes.overlap.is_some())?;
        let background = levels.as_ref().ok().map(|at| shared_background(pair, *at, how)).transpose()?;
        found.field = std::mem::take(&mut found.field).corrected_by(
            &noise,
            background.unwrap_or_default(),
            (&a.label(), &b.label()),
        );
        if effort.everything {
            describe(pair, &everything, &mut found)?;
        }
    }
    let at = match levels {
        Ok(at) => at,
        Err(reason) => return Ok(Judged { reason, ..found }),
    };
    progress(0.4, "Correlation inside the passage");
    let mask = found.passage.as_ref().map(|passage| &passage.mask);
    let inside = match (how, mask) {
        (How::WhereBoth, Some(mask)) => Some(cut(pair, |i| mask.data()[i])?),
        _ => None,
    };
    if let Some(inside) = &inside {
        let noise: Noises = noise_of(a, b, inside, found.causes.overlap.is_some())?;
        let background = shared_background(pair, at, how)?;
        let within = Alike::of(inside, effort.most_pixels, seed ^ PASSAGE_SEED)?;
        found.within = Some(within.corrected_by(&noise, background, (&a.label(), &b.label())));
    }
    progress(0.7, "What else would do it");
    found.would_be_seen = would_be_seen(pair, found.basis());
    (found.verdict, found.reason) = verdict(pair, at, &found)?;
    let keep = |i: usize| match (how, mask) {
        (How::WhereBoth, Some(mask)) => mask.data()[i],
        _ => true,
    };
    if let Some(reason) = overlap(pair, found.verdict, keep) {
        (found.verdict, found.reason) = (CANNOT, reason);
    }
    if found.verdict == TOGETHER {
        let tested = match inside {
            Some(inside) => inside,
            None => cut(pair, |_| true)?,
        };
        if !survives_without_lines(&tested, effort.most_pixels, seed ^ LINES_SEED)? {
            found.verdict = CANNOT;
            found.reason =
                "what they have in common runs along lines or columns of the scan, as drift does".into();
        } else if !survives_without_the_brightest(&tested, effort.most_pixels, seed ^ BRIGHTEST_SEED)? {
            found.verdict = CANNOT;
            found.reason =
                "what they have in common lies in a hundredth of the pixels; the others do not show it"
                    .into();
        } else {
            found.line = line(found.basis(), at);
        }
    }
    Ok(found)
}

fn cut(pair: &Pair<'_>, keep: impl Fn(usize) -> bool) -> Result<Pairs, OutOfMemory> {
    let (a, b) = (&pair.a.signal, &pair.b.signal);
    let width = a.values.width() as usize;
    Pairs::of(width, a.values.data(), b.values.data(), |i| {
        keep(i) && a.valid(i).is_some() && b.valid(i).is_some()
    })
}

/// What both backgrounds share: from pixels without either, where there are enough beside the passage, else from the floor.
fn shared_background(
    pair: &Pair<'_>,
    at: (&Level, &Level),
    how: How,
) -> Result<SharedBackground, OutOfMemory> {
    let floor = pair.evidence.rules().floor;
    let stated = SharedBackground::of_floor(at.0.background.max(0.0), at.1.background.max(0.0), floor);
    let (a, b) = (&pair.a.signal, &pair.b.signal);
    let are_counts = pair.a.noise() == Noise::Counting && pair.b.noise() == Noise::Counting;
    if how == How::Everything || !are_counts {
        return Ok(stated);
    }
    let is_neither = |i: usize| {
        let below = |value: Option<f64>, level: &Level| value.is_some_and(|value| value < level.critical);
        below(a.anywhere(i), at.0) && below(b.anywhere(i), at.1)
    };
    let pairs = Pairs::of(a.values.width() as usize, a.values.data(), b.values.data(), is_neither)?;
    let (in_a, in_b) = pairs.lists()?;
    Ok(match moments(&in_a, &in_b).filter(|_| pairs.count() >= FEWEST_OF_BACKGROUND) {
        Some(found) => {
            let noise = NoiseOf { a: found.mean_a.max(0.0), b: found.mean_b.max(0.0) };
            SharedBackground::seen(&found, noise, floor)
        }
        None => stated,
    })
}

/// Numbers that no verdict rests on.
fn describe(pair: &Pair<'_>, everything: &Pairs, found: &mut Judged) -> Result<(), OutOfMemory> {
    let (a, b) = everything.lists()?;
    found.cosine = products(&a, &b).map(|products| products.cosine);
    found.same_side = same_side(&a, &b);
    if let Ok(at) = pair.levels() {
        found.sets =
            Some(Sets::count(a.iter().zip(&b).map(|(a, b)| (*a >= at.0.critical, *b >= at.1.critical))));
        found.shares = [share((&a, at.0), (&b, at.1)), share((&b, at.1), (&a, at.0))];
    }
    Ok(())
}

/// Share of the signal of one (less its background) in pixels where the other is detected.
fn share((of, at): (&[f64], &Level), (other, level): (&[f64], &Level)) -> Share {
    let net: f64 = of.iter().map(|value| value - at.background).sum();
    let inside = |times: f64| {
        let from = level.background + times * (level.critical - level.background);
        let part: f64 =
            of.iter().zip(other).filter(|(_, o)| **o >= from).map(|(v, _)| v - at.background).sum();
        (net > 0.0).then(|| part / net)
    };
    let (lower, higher) = (inside(0.8), inside(1.2));
    let least = |x: Option<f64>, y: Option<f64>| Some(x?.min(y?));
    let most = |x: Option<f64>, y: Option<f64>| Some(x?.max(y?));
    Share { value: inside(1.0), low: least(lower, higher), high: most(lower, higher) }
}

/// Whether a map is more than background over everything asked, though perhaps in no single pixel.
fn is_there(
    floor: f64,
    side: &Side,
    level: &Level,
    pixels: [u64; 2],
    mean: Option<f64>,
    test: Option<&Significance>,
) -> bool {
    if pixels[0] >= FEWEST_PIXELS as u64 {
        return true;
    }
    let n = test.and_then(|test| test.effective_n).unwrap_or(1.0).max(1.0);
    let floor = floor * level.background;
    let spread = (floor * floor + side_variance(side, level, mean) / n).sqrt();
    mean.is_some_and(|mean| mean - level.background > 3.0 * spread)
}

fn side_variance(side: &Side, level: &Level, mean: Option<f64>) -> f64 {
    if side.noise() == Noise::Counting { mean.unwrap_or(0.0).max(level.variance) } else { level.variance }
}

/// The true correlation that would have been found: larger than what is found in the values, where these are noisy.
fn would_be_seen(pair: &Pair<'_>, basis: &Alike) -> Option<f64> {
    let r = basis.test?.would_be_seen(Z_95 + normal_tail_inverse(pair.evidence.rules().beta))?;
    Some(basis.reliability().map_or(r, |reliability| r / reliability))
}

/// The verdict word, and why where it cannot be judged.
fn verdict(pair: &Pair<'_>, at: (&Level, &Level), found: &Judged) -> Result<(&'static str, String), Fault> {
    let cannot = |reason: String| Ok((CANNOT, reason));
    let Some(passage) = &found.passage else { return cannot("there are no pixels".into()) };
    let (how, valid) = (passage.how, passage.valid);
    let basis = found.basis();
    for (side, level, seen, is_a) in
        [(pair.a, at.0, passage.detected[0], true), (pair.b, at.1, passage.detected[1], false)]
    {
        let mean = basis.moments.map(|m| if is_a { m.mean_a } else { m.mean_b });
        if !is_there(pair.evidence.rules().floor, side, level, [seen, valid], mean, basis.test.as_ref()) {
            return cannot(format!("{} is detected {}", side.label(), words::in_only(seen)));
        }
    }
    let Some(test) = basis.test else {
        return cannot(
            "one of them has the same value throughout, or fewer than two pixels can be used".into(),
        );
    };
    let moments = basis.moments.unwrap_or(crate::measure::together::Moments {
        mean_a: 0.0,
        mean_b: 0.0,
        variance_a: 0.0,
        variance_b: 0.0,
        covariance: 0.0,
    });
    let is_noise = pair.a.noise() == Noise::Counting
        && pair.b.noise() == Noise::Counting
        && matches!(basis.corrected, Some(Err(_)))
        && found.causes.overlap.is_none();
    let (common, spearman) = (basis.common_variation().unwrap_or(0.0), basis.spearman);
    let finding = match (test.finding(STRICT), test.finding(ALPHA)) {
        (clear @ (Finding::Together | Finding::Against), _) => clear,
        (_, Finding::Together | Finding::Against) => {
            return cannot(format!(
                "a pattern is only hinted at: one of the tests gives it a chance between {} and {}",
                stated_percent(STRICT),
                stated_percent(ALPHA)
            ));
        }
        (_, other) => other,
    };
    match finding {
        Finding::TooFew if test.effective_n.is_some_and(|n| n >= FEWEST_EFFECTIVE) => cannot(format!(
            "{} hold too few blocks as large as the patches of the maps to shuffle them",
            words::counted(test.n as u64 * (test.binned * test.binned) as u64)
        )),
        Finding::TooFew => cannot(format!(
            "the maps are patchy there: {} make no more than {} independent places",
            words::counted(test.n as u64 * (test.binned * test.binned) as u64),
            test.effective_n.map_or_else(|| "a few".into(), |n| rounded(n, 2))
        )),
        Finding::Undecided => cannot("the two tests disagree".into()),
        Finding::Against => cannot(match &found.causes.shadow {
            Some(shadow) => format!("where one rises the other falls. {shadow}"),
            None => "where one rises the other falls, as when one lies over the other or stands in its place"
                .into(),
        }),
        Finding::Together if how == How::TooSmall => cannot(
            "they lie in the same places, as materials that fill one figure do, and no passage of 100 pixels holds both away from edges, where it would show whether they belong together"
                .into(),
        ),
        Finding::Together if found.causes.overlap.is_some() => {
            cannot(found.causes.overlap.clone().unwrap_or_default())
        }
        Finding::Together if spearman.is_none_or(|r| r <= 0.0) => {
            cannot("a few extreme pixels make the correlation; the ranks of the others do not show it".into())
        }
        Finding::Together if moments.mean_a <= 0.0 || moments.mean_b <= 0.0 => cannot(
            "the mean of a map is not above 0, so whether they vary by more than all lines do cannot be said"
                .into(),
        ),
        Finding::Together if common <= ALL_SHARE => cannot(format!(
            "they vary together by {} of their means, and what all lines share (distance, dwell, dead time, drift, thickness) may vary by {}",
            stated_percent((common * 100.0).round() / 100.0),
            stated_percent(ALL_SHARE)
        )),
        Finding::Together
            if moments.covariance
                <= BACKGROUND_VARIES * BACKGROUND_VARIES * at.0.background * at.1.background =>
        {
            cannot(
                "what they have in common is no more than an uneven background under both lines gives".into(),
            )
        }
        Finding::Together => Ok((TOGETHER, String::new())),
        Finding::Nothing if found.causes.shadow.is_some() => {
            cannot(found.causes.shadow.clone().unwrap_or_default())
        }
        Finding::Nothing if is_noise => {
            let reason = match &basis.corrected {
                Some(Err(reason)) => reason.clone(),
                _ => String::new(),
            };
            cannot(reason)
        }
        Finding::Nothing => match found.would_be_seen {
            Some(r) if r <= MUST_BE_SEEN => Ok((NO_PATTERN, String::new())),
            Some(r) if r < 1.0 => {
                cannot(format!("only a correlation of {} or more would have been found", rounded(r, 2)))
            }
            _ => cannot("no correlation, however close, would have been found".into()),
        },
    }
}

/// Whether B is a factor times A or has an offset. The slope is freed of A's noise where that is known.
fn line(alike: &Alike, at: (&Level, &Level)) -> Option<Line> {
    let found = alike.moments?;
    let slope = match &alike.corrected {
        Some(Ok(corrected)) => found.covariance / (corrected.reliability_a * found.variance_a),
        _ => (found.variance_b / found.variance_a).sqrt(),
    };
    let (net_a, net_b) = (found.mean_a - at.0.background, found.mean_b - at.1.background);
    if net_a <= 0.0 || net_b <= 0.0 || slope.is_nan() || slope <= 0.0 {
        return None;
    }
    let (rest_of_b, rest_of_a) = (1.0 - slope * net_a / net_b, 1.0 - net_b / (slope * net_a));
    Some(match (rest_of_b, rest_of_a) {
        (rest, _) if rest > NO_OFFSET => Line::RestOfB(rest.min(0.99)),
        (_, rest) if rest > NO_OFFSET => Line::RestOfA(rest.min(0.99)),
        _ => Line::Proportional,
    })
}
