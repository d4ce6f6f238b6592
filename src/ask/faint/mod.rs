//! `faint`: is a map more than background?

mod word;

pub(super) use word::class_labels;

use super::answer::{Answer, Rasters};
use super::driver::Question;
use super::evidence::{Change, Evidence, Side, Subject};
use super::settings::Settings;
use super::verdict::{CANNOT_HERE, DETECTED, NOT_DETECTED};
use super::{Progress, words};
use crate::measure::{self, Discoveries, Level, LevelSource, Presence, Rules, Share};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::stated_percent;

/// Of the pixels that are named as standing out, this share is expected to be background.
const Q: f64 = 0.05;
/// Fewer pixels that stand out say nothing: a few may be hot.
const FEWEST_STANDING: u64 = 5;
/// Where more than this share of the pixels asked about cannot be used, "not detected" would say too much.
const MOST_UNUSED: f64 = 0.5;

/// Is a map more than background?
pub(super) struct Faint;

/// What is found.
pub(super) enum Found {
    /// Nothing can be said, and why.
    Abstained(String),
    /// A region against its background.
    Judged(Box<Judged>),
}

/// What the rules make of a map.
pub(super) struct Judged {
    level: Level,
    presence: Presence,
    /// With the floor doubled.
    doubled: Presence,
    shares: Vec<Share>,
    discoveries: Discoveries,
    standing: Standing,
    verdict: &'static str,
    /// Why it cannot be judged.
    reason: String,
}

/// What stands out: the sum of the region, single pixels of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Standing {
    sum: bool,
    pixels: u64,
}

impl Standing {
    fn is_more(self) -> bool {
        self.sum || self.pixels >= FEWEST_STANDING
    }
}

impl Judged {
    /// What "below x" is filled with: the limit of the mean signal of a pixel. Where the background comes from the field
    /// itself, all that was counted is taken for signal: the field cannot say that its quiet part holds none.
    fn below(&self) -> f64 {
        if self.level.source == LevelSource::QuietPart {
            self.presence.upper_of_all
        } else {
            self.presence.upper
        }
    }
}

impl Question for Faint {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        let map = subject.find(Settings::named(settings.map.as_ref(), "map")?)?;
        Ok(vec![map.id.to_string()])
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        let Some(side) = evidence.sides.first() else {
            return Ok(Found::Abstained("there is no map".into()));
        };
        let level = match &side.level {
            Ok(level) => *level,
            Err(reason) => return Ok(Found::Abstained(reason.clone())),
        };
        let rules = evidence.rules();
        progress(0.2, "The region against its background");
        // In the trial with twice the floor it is doubled already.
        let times = if evidence.change == Change::TwiceTheFloor { 1.0 } else { 2.0 };
        let twice = Rules { floor: times * rules.floor, ..rules };
        let (Some(presence), Some(doubled)) = (
            measure::presence(&side.signal, &level, &rules),
            measure::presence(&side.signal, &level, &twice),
        ) else {
            return Ok(Found::Abstained("none of its pixels there can be used".into()));
        };
        progress(0.4, "Pixels that stand out");
        let discoveries = measure::discoveries(&side.signal, &level, &rules, Q)?;
        let standing = standing(side, &level, &presence, &rules, &discoveries);
        let of_twice = measure::discoveries(&side.signal, &level, &twice, Q)?;
        let mut after = standing_twice(side, &level, &doubled, &twice, &of_twice);
        let is_more = standing.is_more() && after.is_more();
        let mut is_overlap = false;
        if is_more && side.signal.doubt.is_some() {
            // What is left when overlaps give their most, with the floor doubled.
            after = beyond(side, &level, &twice, &of_twice);
            is_overlap = !after.is_more();
        }
        progress(0.7, "Blocks of pixels");
        let shares =
            if evidence.is_trial() { Vec::new() } else { measure::shares(&side.signal, &level, &rules)? };
        let mut judged = Judged {
            level,
            presence,
            doubled,
            shares,
            discoveries,
            standing,
            verdict: CANNOT_HERE,
            reason: String::new(),
        };
        (judged.verdict, judged.reason) = if is_overlap {
            (CANNOT_HERE, side.overlaps.reason(&side.label()))
        } else {
            verdict(evidence, side, &judged, after)
        };
        Ok(Found::Judged(Box::new(judged)))
    }

    fn verdict(found: &Found) -> &'static str {
        match found {
            Found::Abstained(_) => CANNOT_HERE,
            Found::Judged(judged) => judged.verdict,
        }
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        word::word(evidence, found)
    }
}

/// What the first map of an evidence says, for questions that tell it of many.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Closer {
    /// The verdict word.
    pub word: &'static str,
    /// Why it cannot be judged; empty otherwise.
    pub reason: String,
    /// What it rests on; `None` where there is no level or no pixel.
    pub found: Option<Sums>,
}

/// What the verdict rests on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Sums {
    /// Mean signal of a pixel above background.
    pub net: f64,
    /// The limit of the mean signal of a pixel that a negative verdict names.
    pub below: f64,
    /// The same if all that was counted were signal, the background included.
    pub of_all: f64,
    /// Whether the sum of the region is more than background; else it is single pixels.
    pub is_sum: bool,
    /// Pixels that stand out.
    pub pixels: u64,
    /// Whether it counts less than its background, with the floor doubled.
    pub is_less: bool,
    /// Whether its sum is more than background by counting alone, and by more than the floor.
    pub is_hinted: bool,
}

/// The verdict of the first map of an evidence, with what it rests on.
pub(super) fn closer(evidence: &Evidence) -> Result<Closer, Fault> {
    let rules = evidence.rules();
    Ok(match Faint::judge(evidence, &mut |_, _| {})? {
        Found::Abstained(reason) => Closer { word: CANNOT_HERE, reason, found: None },
        Found::Judged(judged) => Closer {
            word: judged.verdict,
            found: Some(Sums {
                net: judged.presence.net.value,
                below: judged.below(),
                of_all: judged.presence.upper_of_all,
                is_sum: judged.standing.sum,
                pixels: judged.standing.pixels,
                is_less: judged.doubled.p_less <= rules.alpha,
                is_hinted: judged.presence.p_counting <= rules.alpha
                    && judged.presence.net.value > rules.floor * judged.level.background.max(0.0),
            }),
            reason: judged.reason,
        },
    })
}

/// The verdict of the first map of an evidence, with the limit in it, and why where it cannot be judged.
pub(super) fn state(evidence: &Evidence) -> Result<(&'static str, Option<f64>, String), Fault> {
    let Closer { word, reason, found } = closer(evidence)?;
    let below = found.filter(|_| word == NOT_DETECTED).map(|found| found.below);
    Ok((word, below, reason))
}

fn standing(side: &Side, level: &Level, presence: &Presence, rules: &Rules, found: &Discoveries) -> Standing {
    let from = found.from.map_or(f64::INFINITY, |from| from.max(level.critical));
    let values = (0..side.signal.values.data().len()).filter_map(|i| side.signal.valid(i));
    Standing { sum: presence.p <= rules.alpha, pixels: values.filter(|&value| value >= from).count() as u64 }
}

/// The same with the floor doubled, which moves the critical level too.
fn standing_twice(
    side: &Side,
    level: &Level,
    doubled: &Presence,
    twice: &Rules,
    found: &Discoveries,
) -> Standing {
    let moved = side.level_under(twice).map_or(level.critical, |moved| moved.critical.max(level.critical));
    standing(side, &Level { critical: moved, ..*level }, doubled, twice, found)
}

/// What stands out even if overlaps gave the most that they could.
fn beyond(side: &Side, level: &Level, rules: &Rules, found: &Discoveries) -> Standing {
    let signal = &side.signal;
    let moved = side.level_under(rules).map_or(level.critical, |moved| moved.critical.max(level.critical));
    let level = Level { critical: moved, ..*level };
    let mean = signal.mean_overlap();
    let sum = mean.is_finite()
        && measure::presence(signal, &level.with_overlap(mean), rules).is_some_and(|p| p.p <= rules.alpha);
    let from = found.from.map_or(f64::INFINITY, |from| from.max(level.critical));
    let stands =
        |i: usize| signal.valid(i).is_some_and(|value| value >= from) && !signal.is_doubtful(i, &level);
    let pixels = (0..signal.values.data().len()).filter(|&i| stands(i)).count() as u64;
    Standing { sum, pixels }
}

/// The verdict word, and why where it cannot be judged.
fn verdict(evidence: &Evidence, side: &Side, judged: &Judged, after: Standing) -> (&'static str, String) {
    let rules = evidence.rules();
    let label = side.label();
    let cannot = |reason: String| (CANNOT_HERE, reason);
    if judged.standing.is_more() {
        if after.is_more() {
            return (DETECTED, String::new());
        }
        return cannot(format!(
            "it is more than background if that is uncertain by {}, but not if it is by {}",
            stated_percent(rules.floor),
            stated_percent(2.0 * rules.floor)
        ));
    }
    let unused =
        words::share(evidence.pixels() - judged.presence.pixels.min(evidence.pixels()), evidence.pixels());
    if unused.is_none_or(|share| share > MOST_UNUSED) {
        return cannot("more than half of its pixels are blank or saturated".into());
    }
    match saturated(side) {
        0 => {}
        pixels => {
            return cannot(format!(
                "it is saturated in {}, and only its other pixels are no more than background",
                words::counted(pixels)
            ));
        }
    }
    if judged.standing.pixels > 0 {
        return cannot(format!(
            "{} far more than its background, too few to tell a small feature from faults of single pixels",
            match judged.standing.pixels {
                1 => "1 pixel counts".to_owned(),
                n => format!("{n} pixels count"),
            }
        ));
    }
    if side.is_uneven {
        return cannot(format!(
            "the quiet part of the field, from which its background comes, is itself uneven, so that {label} spread over part of it would not be told from background; name a region without {label} as background"
        ));
    }
    if judged.doubled.p_less <= rules.alpha {
        return cannot(format!(
            "{label} counts less there than its background, which therefore is not the background of this place"
        ));
    }
    if judged.level.source == LevelSource::QuietPart && judged.below() >= judged.level.detection_limit {
        return cannot(format!(
            "it counts about the same everywhere, and whether that is background or {label} everywhere this map cannot tell; name a region without {label} as background, or state its counts"
        ));
    }
    (NOT_DETECTED, String::new())
}

/// Of the pixels that stand out, those with none beside them (of eight) that does.
fn alone(side: &Side, level: &Level, found: &Discoveries) -> u64 {
    let signal = &side.signal;
    let Some(from) = found.from.map(|from| from.max(level.critical)) else { return 0 };
    let (width, height) = (signal.values.width() as usize, signal.values.height() as usize);
    let stands = |i: usize| signal.valid(i).is_some_and(|value| value >= from);
    let beside = |at: usize, end: usize| at.saturating_sub(1)..(at + 2).min(end);
    let has_company = |i: usize| {
        let (x, y) = (i % width, i / width);
        let mut near = beside(y, height).flat_map(|v| beside(x, width).map(move |u| v * width + u));
        near.any(|other| other != i && stands(other))
    };
    (0..signal.values.data().len()).filter(|&i| stands(i) && !has_company(i)).count() as u64
}

/// Saturated pixels among those asked about.
fn saturated(side: &Side) -> u64 {
    let signal = &side.signal;
    let marks = signal.saturated.data().iter().enumerate();
    marks.filter(|(i, saturated)| **saturated && signal.is_asked(*i)).count() as u64
}

/// The classes of [`measure::detected`], for the picture.
fn classes(side: &Side, level: &Level) -> Result<crate::grid::Grid<u8>, OutOfMemory> {
    measure::detected(&side.signal, level)
}
