//! `apart`: where is A without B?

mod beside;
mod joint;
mod numbers;
mod sentence;

use super::answer::{Answer, Raster, Rasters};
use super::driver::Question;
use super::evidence::{Evidence, Side, Subject};
use super::pair::Pair;
use super::settings::Settings;
use super::verdict::{CANNOT, MORE, NO_MORE};
use super::{Progress, words};
use crate::class::Class;
use crate::measure::own::{self, Alone, Inside};
use crate::measure::{self, Accompaniment, Classes, Excess, FEWEST_PIXELS, Level, Rules, Two};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::counting::critical_count;

/// Of what is expected by chance, this share (one standard deviation) is not known.
const CHANCE_IS_UNSURE: f64 = 0.5;
/// So many pixels of A alone, each beyond what background reaches anywhere in the field, are no chance however few.
const FAR_BEYOND: usize = 5;
/// Maps may be shifted against each other by so many pixels without anybody seeing it. Common practice, no source.
const REGISTER: u32 = 2;
/// If more of A than this lies where B would not have been seen, "no more" would say too much.
const MOST_UNSEEN: f64 = 0.2;

/// An excess of which overlaps could give more than this share may be overlap.
const MOST_OVERLAP: f64 = 0.1;

/// What the rules make of two maps.
struct Outcome {
    with: Option<Accompaniment>,
    classes: Classes,
    excess: Option<Excess>,
    /// Areas of A away from B.
    alone: Alone,
    /// Areas of more A inside B.
    inside: Inside,
    /// A alone in more pixels than chance explains, rims left out, or in an area.
    is_apart: bool,
    /// The same with rims.
    is_apart_at_rims: bool,
    /// The same still some pixels further from B, where a shift between the maps does not reach.
    is_apart_far_off: bool,
    /// Where A is alone, B is there after all, too faint for single pixels.
    is_b_faintly_there: bool,
    /// Somewhere A is beyond what accompanies B by more than chance, within the band or not.
    is_odd: bool,
}

/// Why there is more A.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum How {
    /// A where B is not.
    Alone,
    /// More A than usual where B is.
    Inside,
}

/// Where is A without B?
pub(super) struct Apart;

/// What is found.
pub(super) enum Found {
    /// Nothing can be said, and why.
    Abstained(String),
    /// Classes and more.
    Judged(Box<Judged>),
}

/// A verdict with what it rests on.
pub(super) struct Judged {
    outcome: Outcome,
    verdict: &'static str,
    /// Why it is no verdict; empty where it is one.
    reason: String,
    /// Why it is "more".
    how: How,
    /// Pixels of A alone that twice the floor leaves; only where they were counted.
    with_twice_the_floor: Option<u64>,
}

impl Question for Apart {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        Pair::maps(settings, subject)
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        let (pair, at) = match Pair::with_levels(evidence) {
            Ok(ready) => ready,
            Err(reason) => return Ok(Found::Abstained(reason)),
        };
        progress(0.1, "Where each is detected");
        let rules = evidence.rules();
        let outcome = outcome(&pair, at, &rules)?;
        let (verdict, reason, how) = verdict(&pair, &outcome);
        let mut judged = Judged { outcome, verdict, reason, how, with_twice_the_floor: None };
        if verdict == MORE {
            progress(0.6, "The same with twice the floor");
            let twice = Rules { floor: rules.floor * 2.0, ..rules };
            let (Some(a), Some(b)) = (pair.a.level_under(&twice), pair.b.level_under(&twice)) else {
                return Ok(Found::Abstained("There is no background".into()));
            };
            let doubled = self::outcome(&pair, (&a, &b), &twice)?;
            judged.with_twice_the_floor = Some(doubled.classes.counts.by_class[Class::AOnly as usize]);
            if self::verdict(&pair, &doubled).0 != MORE {
                judged.verdict = CANNOT;
                judged.reason = "with twice the uncertainty of the background the finding is gone".into();
            }
        }
        Ok(Found::Judged(Box::new(judged)))
    }

    fn verdict(found: &Found) -> &'static str {
        match found {
            Found::Abstained(_) => CANNOT,
            Found::Judged(judged) => judged.verdict,
        }
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        let Some(pair) = Pair::of(evidence) else {
            return Ok((sentence::blank_answer(evidence), Rasters::new()));
        };
        match (found, pair.levels()) {
            (Found::Judged(judged), Ok(at)) => {
                let mut answer = sentence::worded(&pair, at, &judged);
                let drawn = joint::joint(&pair, at, judged.outcome.with.as_ref())?;
                let Outcome { classes, excess, .. } = judged.outcome;
                let mut rasters = Rasters::from([("classes".to_owned(), Raster::U8(classes.raster))]);
                if let Some(excess) = excess {
                    rasters.insert("excess_sigma".to_owned(), Raster::F64(excess.sigma));
                }
                if let Some((plot, raster)) = drawn {
                    answer.plots.push(plot);
                    rasters.insert("joint".to_owned(), raster);
                }
                Ok((answer, rasters))
            }
            (Found::Abstained(reason), _) | (_, Err(reason)) => {
                Ok((sentence::abstained(&pair, &reason), Rasters::new()))
            }
        }
    }
}

/// The verdict of `apart` alone, without the trials that say whether it holds and without sentences: for studies of many
/// scenes.
///
/// # Errors
/// As [`ask`](crate::ask::ask).
pub fn verdict_of(settings: serde_json::Value, subject: &Subject<'_>) -> Result<&'static str, Fault> {
    let settings = Settings::read("apart", settings)?;
    let names = Apart::maps(&settings, subject)?;
    let evidence = subject.evidence(&settings, &names)?;
    if evidence.untested.is_some() {
        return Ok(CANNOT);
    }
    Ok(Apart::verdict(&Apart::judge(&evidence, &mut |_, _| {})?))
}

fn two<'a>(pair: &Pair<'a>, at: (&'a Level, &'a Level), rules: &Rules) -> Two<'a> {
    Two { a: &pair.a.signal, b: &pair.b.signal, at, rules: *rules }
}

fn outcome(pair: &Pair<'_>, at: (&Level, &Level), rules: &Rules) -> Result<Outcome, OutOfMemory> {
    let (band, rim_px) = (pair.evidence.k_band, pair.evidence.rim_px);
    let two = two(pair, at, rules);
    let with = match pair.evidence.settings.k {
        Some(k) => Some(Accompaniment::stated(k, band)),
        None => measure::accompaniment(&two, band)?,
    };
    let mut classes = measure::classes(two.a, two.b, at, with.map(|w| w.richest), rim_px)?;
    let Some(with) = with else {
        return Ok(Outcome {
            with: None,
            classes,
            excess: None,
            alone: Alone::default(),
            inside: Inside::default(),
            is_apart: false,
            is_apart_at_rims: false,
            is_apart_far_off: false,
            is_b_faintly_there: false,
            is_odd: false,
        });
    };
    let excess = measure::excess(&two, &with)?;
    let alone = own::alone(&two, &with, rim_px)?;
    let mut inside = own::inside(&two, &with, rim_px)?;
    // More A inside B that overlaps could give a good part of is no finding.
    let is_overlap = |area: &own::Area| {
        let most: f64 = area.pixels.iter().map(|&i| two.a.overlap_at(i)).sum();
        most > MOST_OVERLAP * (area.a - with.k * area.b)
    };
    let (open, more): (Vec<_>, Vec<_>) = inside.more.drain(..).partition(is_overlap);
    inside.open.extend(open);
    inside.more = more;
    let is_odd = own::is_odd_anywhere(&two, &with)?;
    let by_class = |classes: &Classes, class: Class| classes.counts.by_class[class as usize];
    let without_b = by_class(&classes, Class::Neither) + classes.counts.a_only_with_rims;
    let by_chance = without_b as f64 * measure::false_alarms(at.0, rules);
    let is_more = |pixels: usize| {
        pixels as u64 >= critical_count(by_chance, CHANCE_IS_UNSURE * CHANCE_IS_UNSURE, rules.alpha)
    };
    // A pixel carries the verdict only if its A, beside the B counted there, is no chance even at the largest factor.
    let is_strict = |i: &usize| !two.is_testable() || two.p_excess(*i, with.richest) <= rules.alpha;
    let chosen: Vec<usize> = pixels_of(&classes, Class::AOnly).filter(is_strict).collect();
    let at_rims = (0..two.len())
        .filter(|i| two.has_a(*i) && !two.has_b(*i))
        .filter(|i| would_be_seen(&two, *i, &with))
        .filter(is_strict)
        .count();
    let is_many = is_more(chosen.len()) || far_beyond(pair, at.0, &chosen, rules) >= FAR_BEYOND;
    // Away from all that is surely B, not from the single pixels that chance puts anywhere.
    let near_b = own::near_b(&two, rim_px + REGISTER)?;
    let is_far = |i: &usize| !near_b.data()[*i];
    let far: Vec<usize> = chosen.iter().copied().filter(is_far).collect();
    let is_apart_far_off = is_more(far.len())
        || far_beyond(pair, at.0, &far, rules) >= FAR_BEYOND
        || alone.without_b.iter().any(|area| area.pixels.iter().any(is_far));
    let is_faint = is_many && own::is_faintly_there(&two, &chosen, with.richest);
    for area in &alone.without_b {
        classes.promote(&area.pixels);
    }
    Ok(Outcome {
        with: Some(with),
        is_apart: (is_many && !is_faint) || !alone.without_b.is_empty(),
        is_apart_at_rims: is_more(at_rims),
        is_apart_far_off,
        is_b_faintly_there: is_faint || !alone.with_faint_b.is_empty(),
        is_odd,
        classes,
        excess,
        alone,
        inside,
    })
}

fn pixels_of(classes: &Classes, class: Class) -> impl Iterator<Item = usize> + '_ {
    let all = classes.raster.data().iter().enumerate();
    all.filter(move |(_, found)| **found == class as u8).map(|(i, _)| i)
}

fn would_be_seen(two: &Two<'_>, i: usize, with: &Accompaniment) -> bool {
    two.a.valid(i).is_some_and(|v| v - two.at.0.background >= with.richest * two.at.1.detection_limit)
}

/// Of the pixels chosen those that background would reach with chance `alpha` in the whole field, not in a pixel.
fn far_beyond(pair: &Pair<'_>, level: &Level, chosen: &[usize], rules: &Rules) -> usize {
    let field = pair.a.signal.values.len().max(1) as f64;
    let strict = Rules { alpha: rules.alpha / field, ..*rules };
    let far = level.under(&strict, pair.a.kind).critical.max(level.critical);
    chosen.iter().filter(|&&i| pair.a.signal.values.data()[i] >= far).count()
}

/// The verdict word, why where it cannot be judged, and how there is more.
fn verdict(pair: &Pair<'_>, found: &Outcome) -> (&'static str, String, How) {
    let (a, b) = pair.labels();
    let counts = &found.classes.counts;
    let cannot = |reason: String| (CANNOT, reason, How::Alone);
    let of_overlap = || pair.a.overlaps.reason(&a);
    if counts.a < FEWEST_PIXELS as u64 && counts.doubtful_a > counts.a {
        return cannot(format!(
            "{a} is detected {}, and elsewhere {}",
            words::in_only(counts.a),
            of_overlap()
        ));
    }
    if counts.a < FEWEST_PIXELS as u64 {
        return cannot(format!("{a} is detected {}", words::in_only(counts.a)));
    }
    let Some(with) = &found.with else {
        return cannot(format!(
            "{b} is surely there in fewer than {FEWEST_PIXELS} pixels, so how much {a} goes with it is not known"
        ));
    };
    let uneven = |side: &Side| {
        cannot(format!(
            "the quiet part of {0}, from which its background comes, is itself uneven, so that {0} spread over part of the field is not told from background; name a region without {0} as background",
            side.label()
        ))
    };
    if found.is_apart && pair.b.is_uneven {
        return uneven(pair.b);
    }
    if found.is_apart && !found.is_apart_far_off {
        return cannot(format!(
            "{a} without {b} lies within {REGISTER} more pixels of {b}, as maps that are shifted against each other show it"
        ));
    }
    if found.is_apart {
        return (MORE, String::new(), How::Alone);
    }
    if found.is_b_faintly_there {
        return cannot(format!(
            "where {a} seems to be without {b}, {b} is there too, fainter than a single pixel shows; a second material with another share of {a} would look like that"
        ));
    }
    if found.is_apart_at_rims {
        let inner = counts.by_class[Class::AOnly as usize];
        return cannot(match inner {
            0 => format!("{a} without {b} lies only beside {b} itself, where the beam sees both"),
            _ => format!(
                "away from {b} itself, {a} is alone {}, which chance could explain",
                words::in_only(inner)
            ),
        });
    }
    if !found.alone.open.is_empty() {
        return cannot(format!(
            "where {a} is detected without {b}, so little {b} would go with it that it would not have been seen"
        ));
    }
    if !found.inside.more.is_empty() {
        return (MORE, String::new(), How::Inside);
    }
    if found.excess.as_ref().is_some_and(Excess::is_there) || !found.inside.open.is_empty() {
        return cannot(format!(
            "{a} is nowhere without {b}, but in some of its pixels there is more {a} than usual for {b}; thickness, cover or a second material could do that"
        ));
    }
    let is_much = |pixels: u64| words::share(pixels, counts.a).is_some_and(|share| share > MOST_UNSEEN);
    if is_much(counts.doubtful_alone) {
        return cannot(format!("where {b} is not detected, {}", of_overlap()));
    }
    if is_much(counts.doubtful_b) {
        return cannot(format!("where {a} is detected, {}", pair.b.overlaps.reason(&b)));
    }
    if is_much(counts.b_unseen + counts.saturated) {
        return cannot(format!("where {a} is faint, the {b} it would accompany would not have been seen"));
    }
    if found.excess.is_none() {
        return cannot(format!(
            "{a} is nowhere without {b}, but whether there is more of it than usual cannot be tested on values without errors that are no counts"
        ));
    }
    if found.is_odd {
        return cannot(format!(
            "somewhere there is more {a} than counting explains, though less than thickness, dilution and cover could make"
        ));
    }
    if pair.a.is_uneven {
        return uneven(pair.a);
    }
    if !with.is_of_both {
        return cannot(format!("{a} is too faint where {b} is to say how much of it goes with {b}"));
    }
    (NO_MORE, String::new(), How::Alone)
}
