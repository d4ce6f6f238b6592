//! `ratio`: how do A and B compare?

use super::answer::{Answer, Cell, Figure, Method, Number, Raster, Rasters, Row, Shown, Table};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::pair::Pair;
use super::settings::Settings;
use super::verdict::{CANNOT, ONE, SEVERAL};
use super::{Progress, words};
use crate::kind::Noise;
use crate::measure::{self, FEWEST_PIXELS, Homogeneity, Level, LevelSource, Scatter};
use crate::notice::Fault;
use crate::numerics::counting::Interval;
use crate::numerics::figure::{between, figure, relative, stated_percent, whole};

/// Blocks scatter more than noise where chance would do it less often than this, over all sizes of blocks together.
const ALPHA: f64 = 0.001;

/// How do A and B compare?
pub(super) struct Ratio;

/// What is found.
pub(super) enum Found {
    /// Nothing can be said, and why.
    Abstained(String),
    /// A ratio.
    Judged(Box<Judged>),
}

/// A ratio and what was made of it.
pub(super) struct Judged {
    levels: (Level, Level),
    ratio: measure::Ratio,
    of_sums: f64,
    /// By size of block, the small ones first.
    blocks: Vec<Homogeneity>,
    verdict: &'static str,
    /// Why it cannot be judged.
    reason: String,
}

impl Judged {
    /// The blocks that tell most: those that scatter most beyond chance where there are several values, else the smallest
    /// that are known well enough, else the best known.
    fn telling(&self, band: f64) -> Option<&Homogeneity> {
        let by = |of: fn(&Homogeneity) -> f64| self.blocks.iter().min_by(|a, b| of(a).total_cmp(&of(b)));
        if self.verdict == SEVERAL {
            return by(|h| h.p);
        }
        self.blocks.iter().find(|h| h.resolution <= band).or_else(|| by(|h| h.resolution))
    }
}

impl Question for Ratio {
    type Found = Found;

    fn maps(settings: &Settings, subject: &Subject<'_>) -> Result<Vec<String>, Fault> {
        Pair::maps(settings, subject)
    }

    fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
        let (pair, at) = match Pair::with_levels(evidence) {
            Ok(ready) => ready,
            Err(reason) => return Ok(Found::Abstained(reason)),
        };
        progress(0.3, "Ratio of each pixel");
        let (a, b, rules) = (&pair.a.signal, &pair.b.signal, evidence.rules());
        let ratio = measure::ratio(a, b, at, rules.floor, evidence.k_band)?;
        let is_stated = [at.0, at.1].iter().any(|level| level.source == LevelSource::Stated);
        let Some(of_sums) = ratio.of_sums.filter(|_| ratio.summed >= FEWEST_PIXELS as u64 || is_stated)
        else {
            return Ok(Found::Abstained(too_little(&pair, &ratio)));
        };
        progress(0.7, "One value or several");
        let blocks = measure::homogeneity(a, b, at, &ratio, rules.floor);
        let (verdict, reason) = match ratio.with_systematic {
            // With its systematic part the signal of A may be nothing.
            Some(all) if all.low <= 0.0 => (CANNOT, String::new()),
            _ => match [pair.a, pair.b].into_iter().find(|side| side.is_uneven) {
                Some(side) => (
                    CANNOT,
                    format!(
                        "the quiet part of {0}, from which its background comes, is itself uneven; name a region without {0} as background",
                        side.label()
                    ),
                ),
                None => verdict(&pair, &ratio, &blocks, evidence.k_band),
            },
        };
        let (verdict, reason) = match overlap(&pair, &ratio, evidence.k_band) {
            Some(reason) if verdict != CANNOT => (CANNOT, reason),
            _ => (verdict, reason),
        };
        Ok(Found::Judged(Box::new(Judged {
            levels: (*at.0, *at.1),
            ratio,
            of_sums,
            blocks,
            verdict,
            reason,
        })))
    }

    fn verdict(found: &Found) -> &'static str {
        match found {
            Found::Abstained(_) => CANNOT,
            Found::Judged(judged) => judged.verdict,
        }
    }

    fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
        let Some(pair) = Pair::of(evidence) else { return Ok((blank_answer(evidence), Rasters::new())) };
        match found {
            Found::Judged(judged) => {
                let answer = worded(&pair, &judged);
                let Judged { ratio, .. } = *judged;
                let mut rasters = Rasters::from([("count_ratio".to_owned(), Raster::F64(ratio.raster))]);
                rasters.insert("classes".to_owned(), Raster::U8(ratio.states));
                Ok((answer, rasters))
            }
            Found::Abstained(reason) => Ok((abstained(&pair, &reason), Rasters::new())),
        }
    }
}

/// Why the ratio may be one of overlaps: they could give more than the band of what is counted in one of the maps.
fn overlap(pair: &Pair<'_>, found: &measure::Ratio, band: f64) -> Option<String> {
    let is_summed = |i: usize| found.is_whole || !found.raster.data()[i].is_nan();
    let side = [pair.a, pair.b].into_iter().find(|side| side.overlap_share(is_summed) > band)?;
    Some(side.overlap_reason(side.overlap_share(is_summed), ", more than the band"))
}

/// Why there is no ratio of sums, with the lower limit where only A is detected.
fn too_little(pair: &Pair<'_>, ratio: &measure::Ratio) -> String {
    let (a, b) = pair.labels();
    let detected = match ratio.pixels {
        pixels if pixels >= FEWEST_PIXELS as u64 => format!(
            "in many of the {} in which {b} is detected it lies so near its critical level that choosing them makes {b} look stronger than it is, by about {}; ask in a region, of which all pixels are taken, or bin the maps",
            words::counted(pixels),
            relative(ratio.selection)
        ),
        pixels => format!("{b} is detected {} that can be used", words::in_only(pixels)),
    };
    match ratio.at_least {
        Some(least) => format!(
            "{detected}; in {} {a} is detected without it, at least {} for each of {b}",
            words::counted(ratio.only_a),
            figure(least)
        ),
        None => detected,
    }
}

/// What keeps the noise of a map from being known.
fn unknown_noise(pair: &Pair<'_>, found: &measure::Ratio) -> String {
    let sides = [(pair.a, found.scatter.0), (pair.b, found.scatter.1)];
    let reason = sides.iter().find_map(|(side, scatter)| match scatter {
        None => Some(format!("how much the values of {} scatter is not known", side.label())),
        Some(Scatter::Linked(_)) => Some(format!(
            "neighbouring values of {} hang together, as after smoothing, so that its scatter cannot be told",
            side.label()
        )),
        Some(_) => None,
    });
    reason.unwrap_or_else(|| "the scatter is too large for an interval".into())
}

/// The verdict word, and why where it cannot be judged.
fn verdict(
    pair: &Pair<'_>,
    found: &measure::Ratio,
    blocks: &[Homogeneity],
    band: f64,
) -> (&'static str, String) {
    if found.counting.is_none() {
        return (CANNOT, unknown_noise(pair, found));
    }
    let Some(best) = blocks.iter().min_by(|a, b| a.resolution.total_cmp(&b.resolution)) else {
        return (CANNOT, "there are fewer than ten blocks with enough signal to compare".into());
    };
    let alpha = ALPHA / blocks.len() as f64;
    if blocks.iter().any(|h| h.p < alpha && h.spread > band) {
        return (SEVERAL, String::new());
    }
    let Some(known) = blocks.iter().find(|h| h.resolution <= band) else {
        let size = block(best.side);
        return (CANNOT, format!("even a block of {size} is known only to {}", relative(best.resolution)));
    };
    if blocks.iter().any(|h| h.side >= known.side && h.spread > band) {
        return (
            CANNOT,
            format!(
                "blocks scatter more than the band of {}, but chance could do that",
                stated_percent(band)
            ),
        );
    }
    (ONE, String::new())
}

fn block(side: u32) -> String {
    format!("{side} × {side} pixels")
}

/// What is given for what: counts for counts, else values.
fn gives(pair: &Pair<'_>, found: &measure::Ratio, value: f64) -> String {
    let ((a, b), value) = (pair.labels(), figure(value));
    if found.scatter == (Some(Scatter::Counting), Some(Scatter::Counting)) {
        format!("{a} gives {value} counts for each count of {b}")
    } else {
        format!("{a} gives {value} for each unit of {b}")
    }
}

fn sentence(pair: &Pair<'_>, judged: &Judged) -> String {
    let (found, band) = (&judged.ratio, pair.evidence.k_band);
    let (a, b) = pair.labels();
    let place = pair.evidence.place();
    let place = match pair.evidence.asked.id {
        _ if found.is_whole => format!("Over all pixels {place}"),
        None => format!("Where {b} is detected"),
        Some(_) => format!("Where {b} is detected {place}"),
    };
    if let Some(all) = found.with_systematic.filter(|all| all.low <= 0.0) {
        // With its systematic part the signal of A may be nothing: only a limit is known.
        let most = if all.high.is_finite() {
            format!("at most {} for each of {b}", figure(all.high))
        } else {
            "how much at most is not known".into()
        };
        return format!("{place}, {a} is no more than its background: {most}.");
    }
    let spread = judged.telling(band).map(|h| (block(h.side), relative(h.spread)));
    let second = match (judged.verdict, spread) {
        (SEVERAL, Some((size, spread))) => format!(
            "it is not one value: between blocks of {size} it scatters by {spread}, more than noise explains"
        ),
        (ONE, _) => format!("within the band of {} it is one value", stated_percent(band)),
        _ => format!("whether that is one value or several cannot be judged, because {}", judged.reason),
    };
    format!("{place}, {}; {second}.", gives(pair, found, judged.of_sums))
}

fn table(blocks: &[Homogeneity]) -> Table {
    let columns =
        ["blocks", "scatter over noise", "chance of it", "spread beyond noise", "a block is known to"];
    let rows = blocks.iter().map(|h| Row {
        label: block(h.side),
        cells: vec![
            Cell::number(h.blocks as f64, whole(h.blocks)),
            Cell::number(h.scatter, figure(h.scatter)),
            Cell::number(h.p, words::chance(h.p)),
            Cell::number(h.spread, relative(h.spread)),
            Cell::number(h.resolution, relative(h.resolution)),
        ],
    });
    Table { columns: columns.map(str::to_owned).to_vec(), rows: rows.collect() }
}

fn worded(pair: &Pair<'_>, judged: &Judged) -> Answer {
    let (a, band) = (pair.a.label(), pair.evidence.k_band);
    let (found, of_sums, telling) = (&judged.ratio, judged.of_sums, judged.telling(band));
    let at = (&judged.levels.0, &judged.levels.1);
    let noise = if found.scatter == (Some(Scatter::Counting), Some(Scatter::Counting)) {
        "counting"
    } else {
        "scatter"
    };
    let range = |i: Option<Interval>| i.map_or_else(|| "no interval".into(), |i| between(i.low, i.high));
    let line = |label: &str, value: String, detail: String| Figure { label: label.into(), value, detail };
    let mut figures = vec![
        line("count ratio of the sums", figure(of_sums), format!("{} by {noise}", range(found.counting))),
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
    if let Some(least) = found.at_least {
        let detail = format!("{} with {a} alone: only a lower limit", words::counted(found.only_a));
        let label = format!("where {} is not detected, at least", pair.b.label());
        figures.push(line(&label, figure(least), detail));
    }
    if let Some(h) = telling {
        let detail = format!(
            "{} blocks of {}; one is known to {}",
            whole(h.blocks),
            block(h.side),
            relative(h.resolution)
        );
        figures.push(line("spread between blocks beyond noise", relative(h.spread), detail));
    }
    figures.extend([words::level_figure(pair.a, at.0), words::level_figure(pair.b, at.1)]);
    let mut answer = Answer {
        judged_pixels: found.pixels,
        sentence: sentence(pair, judged),
        figures,
        table: table(&judged.blocks),
        shows: vec![Shown { show: "count_ratio".into(), label: "Count ratio".into() }],
        ..blank_answer(pair.evidence)
    };
    let number = Number::of(of_sums, "").within(found.counting, found.with_systematic);
    answer.numbers.insert("count_ratio".into(), number);
    answer.numbers.insert("valid_pixels".into(), Number::of(found.pixels as f64, "pixels"));
    let too_few = "fewer than ten blocks with enough signal to compare";
    answer.numbers.insert("homogeneity".into(), Number::or_reason(telling.map(|h| h.scatter), "", too_few));
    answer.numbers.insert("spread".into(), Number::or_reason(telling.map(|h| h.spread), "", too_few));
    // Only an end is known: it stands as the lower end of a number without a value.
    let least = Number::or_reason(
        None,
        "",
        match found.at_least {
            Some(_) => "only a lower limit is known",
            None => "no pixel in which A is detected and B is not, or its noise is not known",
        },
    );
    answer.numbers.insert("count_ratio_where_b_not_detected".into(), Number { low: found.at_least, ..least });
    answer.numbers.insert(
        "mass_ratio".into(),
        Number::or_reason(None, "", "it is not given: counts become masses only by what the layers are made of and how thick they are"),
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
    if found.is_whole {
        out.push(format!(
            "{b} lies near its critical level in many pixels. Choosing pixels by it would make it look stronger than it is, so that all pixels of the region are in the sums, those without {b} too."
        ));
    } else if found.only_a > 0 {
        out.push(format!(
            "In {} {a} is detected and {b} is not; there the ratio has only a lower limit, and it is left out of the sums.",
            words::counted(found.only_a)
        ));
    }
    if words::share(found.pixels_of_both, found.pixels).is_some_and(|share| share < 0.5) {
        out.push(format!("In most of these pixels {a} itself is not detected; the ratio of the sums is then an average over little."));
    }
    if [pair.a, pair.b].iter().all(|side| side.noise() != Noise::Counting) {
        out.push(format!(
            "The noise of {a} and of {b} is taken as independent; where their lines were fitted together and overlap, it is not."
        ));
    }
    out.extend(words::level_cautions(pair.evidence));
    out
}

fn blank_answer(evidence: &Evidence) -> Answer {
    let mut own = vec![Method::own(
        "Ratio of a pixel: (A - background of A) / (B - background of B) where B is detected. Ratio of the sums over these pixels, not the mean of their ratios; where choosing them by B makes its sum too large by more than 2 %, over all pixels of the region, or none.",
    )];
    own.extend(words::interval_methods());
    own.push(Method::practice(
        "One value or several: chi squared over blocks of 2, 4, 8 and 16 pixels a side, the floor of the backgrounds among what is expected; the scatter beyond noise by the method of moments, held against the band.",
    ));
    words::blank_answer(evidence, "ratio", own)
}

fn abstained(pair: &Pair<'_>, reason: &str) -> Answer {
    let levels = [pair.a, pair.b].into_iter().filter_map(|side| Some((side, side.level.as_ref().ok()?)));
    let figures = levels.map(|(side, level)| words::level_figure(side, level)).collect();
    let mut answer = Answer { figures, ..blank_answer(pair.evidence) };
    let names = [
        "count_ratio",
        "valid_pixels",
        "homogeneity",
        "spread",
        "count_ratio_where_b_not_detected",
        "mass_ratio",
    ];
    for name in names {
        answer.numbers.insert(name.into(), Number::or_reason(None, "", reason));
    }
    answer.sentence =
        format!("How {} and {} compare cannot be judged, because {reason}.", pair.a.label(), pair.b.label());
    answer
}

/// What the key calls pixels without a ratio.
pub(super) fn fill_labels(a: &str, b: &str) -> [String; 3] {
    let limit = |missing: &str, which: &str| format!("{missing} not detected: {which} limit only");
    [limit(b, "lower"), limit(a, "upper"), "neither detected".into()]
}
