//! `ratio`: how do A and B compare?

use super::answer::{Answer, Figure, Method, Number, Raster, Rasters, Shown};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::pair::Pair;
use super::settings::Settings;
use super::verdict::{CANNOT, ONE, SEVERAL};
use super::{Progress, words};
use crate::measure::{self, FEWEST_PIXELS, Homogeneity, Level, LevelSource};
use crate::notice::Fault;
use crate::numerics::counting::Interval;
use crate::numerics::figure::{between, figure, relative, stated_percent, whole};

/// Blocks scatter more than counting where chance would do it less often than this.
const ALPHA: f64 = 0.001;

/// How do A and B compare?
pub(super) struct Ratio;

/// What is found.
pub(super) enum Found {
    /// Nothing can be said, and why.
    Abstained(String),
    /// A ratio.
    Judged {
        ratio: measure::Ratio,
        of_sums: f64,
        blocks: Option<Homogeneity>,
        verdict: &'static str,
        reason: String,
    },
}

impl Question for Ratio {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        Pair::maps(settings, subject)
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        let Some(pair) = Pair::of(evidence) else {
            return Ok(Found::Abstained("There are no two maps".into()));
        };
        let at = match pair.levels() {
            Ok(at) => at,
            Err(reason) => return Ok(Found::Abstained(reason)),
        };
        progress(0.3, "Ratio of each pixel");
        let (a, b) = (&pair.a.signal, &pair.b.signal);
        let ratio = measure::ratio(a, b, at, evidence.rules().floor, evidence.k_band)?;
        let is_stated = [at.0, at.1].iter().any(|level| level.source == LevelSource::Stated);
        let Some(of_sums) = ratio.of_sums.filter(|_| ratio.pixels >= FEWEST_PIXELS as u64 || is_stated)
        else {
            let reason = format!("{} is detected in only {}", pair.b.label(), words::counted(ratio.pixels));
            return Ok(Found::Abstained(reason));
        };
        progress(0.7, "One value or several");
        let blocks = measure::homogeneity(a, b, at, &ratio);
        let (verdict, reason) = match ratio.with_systematic {
            // With its systematic part the signal of A may be nothing.
            Some(all) if all.low <= 0.0 => (CANNOT, String::new()),
            _ => verdict(&ratio, blocks.as_ref(), evidence.k_band),
        };
        Ok(Found::Judged { ratio, of_sums, blocks, verdict, reason })
    }

    fn verdict(found: &Found) -> &'static str {
        match found {
            Found::Abstained(_) => CANNOT,
            Found::Judged { verdict, .. } => verdict,
        }
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        let Some(pair) = Pair::of(evidence) else { return Ok((blank_answer(evidence), Rasters::new())) };
        match (found, pair.levels()) {
            (Found::Judged { ratio, of_sums, blocks, verdict, reason }, Ok(at)) => {
                let answer = worded(&pair, at, &ratio, of_sums, blocks.as_ref(), (verdict, &reason));
                let mut rasters = Rasters::from([("count_ratio".to_owned(), Raster::F64(ratio.raster))]);
                rasters.insert("classes".to_owned(), Raster::U8(ratio.states));
                Ok((answer, rasters))
            }
            (Found::Abstained(reason), _) | (_, Err(reason)) => {
                Ok((abstained(&pair, &reason), Rasters::new()))
            }
        }
    }
}

/// The verdict word, and why where it cannot be judged.
fn verdict(found: &measure::Ratio, blocks: Option<&Homogeneity>, band: f64) -> (&'static str, String) {
    if found.counting.is_none() {
        return (CANNOT, "the maps hold no counts, and how much a value scatters is not known".into());
    }
    let Some(blocks) = blocks else {
        return (CANNOT, "there are fewer than ten blocks of 4 × 4 pixels to compare".into());
    };
    if blocks.p < ALPHA && blocks.spread > band {
        return (SEVERAL, String::new());
    }
    if blocks.resolution > band {
        return (CANNOT, format!("a block of 4 × 4 pixels is known only to {}", relative(blocks.resolution)));
    }
    (ONE, String::new())
}

fn worded(
    pair: &Pair<'_>,
    at: (&Level, &Level),
    found: &measure::Ratio,
    of_sums: f64,
    blocks: Option<&Homogeneity>,
    (verdict, reason): (&'static str, &str),
) -> Answer {
    let ((a, b), band) = (pair.labels(), pair.evidence.k_band);
    let gives = format!("Where {b} is detected, {a} gives {} counts for each count of {b}", figure(of_sums));
    let spread = blocks.map_or_else(String::new, |blocks| relative(blocks.spread));
    let sentence = match found.with_systematic {
        // With its systematic part the signal of A may be nothing.
        Some(all) if all.low <= 0.0 => format!(
            "Where {b} is detected, {a} is no more than its background: at most {} counts for each count of {b}.",
            figure(all.high)
        ),
        _ => {
            let second = match verdict {
                SEVERAL => format!(
                    "it is not one value: between blocks of 4 × 4 pixels it scatters by {spread}, more than counting explains"
                ),
                ONE => format!("within the band of {} it is one value", stated_percent(band)),
                _ => format!("whether that is one value or several cannot be judged, because {reason}"),
            };
            format!("{gives}; {second}.")
        }
    };
    let range = |i: Option<Interval>| i.map_or_else(|| "no interval".into(), |i| between(i.low, i.high));
    let line = |label: &str, value: String, detail: String| Figure { label: label.into(), value, detail };
    let mut figures = vec![
        line("count ratio of the sums", figure(of_sums), format!("{} by counting", range(found.counting))),
        line(
            "with systematic part",
            range(found.with_systematic),
            format!("floor {}, band {}", stated_percent(pair.evidence.rules().floor), stated_percent(band)),
        ),
        line(
            "pixels with a ratio",
            whole(found.pixels),
            format!("{} with {a} detected too", whole(found.pixels_of_both)),
        ),
    ];
    if let Some(blocks) = blocks {
        let detail =
            format!("{} blocks; a block is known to {}", whole(blocks.blocks), relative(blocks.resolution));
        figures.push(line("scatter between blocks", spread.clone(), detail));
    }
    figures.extend([words::level_figure(pair.a, at.0), words::level_figure(pair.b, at.1)]);
    let mut answer = Answer {
        judged_pixels: found.pixels,
        sentence,
        figures,
        shows: vec![Shown { show: "count_ratio".into(), label: "Count ratio".into() }],
        ..blank_answer(pair.evidence)
    };
    let number = Number::of(of_sums, "").within(found.counting, found.with_systematic);
    answer.numbers.insert("count_ratio".into(), number);
    answer.numbers.insert("valid_pixels".into(), Number::of(found.pixels as f64, "pixels"));
    let scatter = blocks.map(|blocks| blocks.scatter);
    let too_few = "fewer than ten blocks of 4 × 4 pixels";
    answer.numbers.insert("homogeneity".into(), Number::or_reason(scatter, "", too_few));
    answer.numbers.insert("spread".into(), Number::or_reason(blocks.map(|b| b.spread), "", too_few));
    answer.numbers.insert(
        "mass_ratio".into(),
        Number::or_reason(None, "", "sensitivities of the lines are not computed yet"),
    );
    answer.cautions = cautions(pair, found);
    answer
}

fn cautions(pair: &Pair<'_>, found: &measure::Ratio) -> Vec<String> {
    let (a, b) = (pair.a.label(), pair.b.label());
    let mut out = vec![
        "A count ratio is no ratio of masses: how strongly an element counts depends on its line, on the matrix and on what lies over it."
            .to_owned(),
    ];
    if found.only_a > 0 {
        out.push(format!(
            "In {} {a} is detected and {b} is not; there the ratio has only a lower limit, and it is left out of the sums.",
            words::counted(found.only_a)
        ));
    }
    if words::share(found.pixels_of_both, found.pixels).is_some_and(|share| share < 0.5) {
        out.push(format!("In most of these pixels {a} itself is not detected; the ratio of the sums is then an average over little."));
    }
    out.extend(words::level_cautions(pair.evidence));
    out
}

fn blank_answer(evidence: &Evidence) -> Answer {
    let mut own = vec![Method::own(
        "Ratio of a pixel: (A - background of A) / (B - background of B) where B is detected. Ratio of the sums over these pixels, not the mean of their ratios.",
    )];
    own.extend(words::interval_methods());
    own.push(Method::practice(
        "One value or several: chi squared over blocks of 4 × 4 pixels; the scatter beyond counting by the method of moments, held against the band.",
    ));
    words::blank_answer(evidence, "ratio", own)
}

fn abstained(pair: &Pair<'_>, reason: &str) -> Answer {
    let levels = [pair.a, pair.b].into_iter().filter_map(|side| Some((side, side.level.as_ref().ok()?)));
    let figures = levels.map(|(side, level)| words::level_figure(side, level)).collect();
    let mut answer = Answer { figures, ..blank_answer(pair.evidence) };
    for name in ["count_ratio", "valid_pixels", "homogeneity", "spread", "mass_ratio"] {
        answer.numbers.insert(name.into(), Number::or_reason(None, "", reason));
    }
    answer.sentence =
        format!("How {} and {} compare cannot be judged. {reason}.", pair.a.label(), pair.b.label());
    answer
}

/// What the key calls pixels without a ratio.
pub(super) fn fill_labels(a: &str, b: &str) -> [String; 3] {
    let limit = |missing: &str, which: &str| format!("{missing} not detected: {which} limit only");
    [limit(b, "lower"), limit(a, "upper"), "neither detected".into()]
}
