//! `ratio`: how do A and B compare?

use super::answer::{Answer, Figure, Method, Number, Raster, Rasters, Shown};
use super::settings::{Pair, PairSettings};
use super::{Progress, Subject, words};
use crate::measure::{self, FEWEST_PIXELS, Homogeneity, Level, Ratio};
use crate::notice::Fault;
use crate::numerics::counting::Interval;
use crate::numerics::figure::{between, figure, relative, stated_percent, whole};

const ONE: &str = "one value";
const SEVERAL: &str = "several values";
const CANNOT: &str = "cannot be judged";
/// Blocks scatter more than counting where chance would do it less often than this.
const ALPHA: f64 = 0.001;

pub(super) fn ask(
    subject: &Subject<'_>,
    settings: PairSettings,
    progress: Progress<'_>,
) -> Result<(Answer, Rasters), Fault> {
    let pair = Pair::find(subject, settings)?;
    let sides = match pair.sides(progress)? {
        Ok(sides) => sides,
        Err(reason) => return Ok((abstained(&pair, &reason, Vec::new()).named(), Rasters::new())),
    };
    progress(0.6, "Ratio of each pixel");
    let (a, b, at) = (&sides.a, &sides.b, sides.at());
    let found = measure::ratio(a, b, at, pair.settings.floor, pair.settings.k_band)?;
    let figures = vec![words::level_figure(pair.a, at.0), words::level_figure(pair.b, at.1)];
    let Some(of_sums) = found
        .of_sums
        .filter(|_| found.pixels >= FEWEST_PIXELS as u64 || !pair.settings.background.is_empty())
    else {
        let reason = format!("{} is detected in only {}", pair.b.label(), words::counted(found.pixels));
        return Ok((abstained(&pair, &reason, figures).named(), Rasters::new()));
    };
    progress(0.8, "One value or several");
    let blocks = measure::homogeneity(a, b, at, &found);
    let answer = worded(&pair, at, &found, of_sums, blocks.as_ref(), figures);
    let mut rasters = Rasters::from([("count_ratio".to_owned(), Raster::F64(found.raster))]);
    rasters.insert("classes".to_owned(), Raster::U8(found.states));
    progress(1.0, "");
    Ok((answer.named(), rasters))
}

/// The verdict word, and why where it cannot be judged.
fn verdict(found: &Ratio, blocks: Option<&Homogeneity>, band: f64) -> (&'static str, String) {
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
    found: &Ratio,
    of_sums: f64,
    blocks: Option<&Homogeneity>,
    mut level_figures: Vec<Figure>,
) -> Answer {
    let (a, b, band) = (pair.a.label(), pair.b.label(), pair.settings.k_band);
    let gives = format!("Where {b} is detected, {a} gives {} counts for each count of {b}", figure(of_sums));
    let spread = blocks.map_or_else(String::new, |blocks| relative(blocks.spread));
    let (verdict, sentence) = match found.with_systematic {
        // With its systematic part the signal of A may be nothing.
        Some(all) if all.low <= 0.0 => (
            CANNOT,
            format!(
                "Where {b} is detected, {a} is no more than its background: at most {} counts for each count of {b}.",
                figure(all.high)
            ),
        ),
        _ => {
            let (verdict, reason) = verdict(found, blocks, band);
            let second = match verdict {
                SEVERAL => format!(
                    "it is not one value: between blocks of 4 × 4 pixels it scatters by {spread}, more than counting explains"
                ),
                ONE => format!("within the band of {} it is one value", stated_percent(band)),
                _ => format!("whether that is one value or several cannot be judged, because {reason}"),
            };
            (verdict, format!("{gives}; {second}."))
        }
    };
    let range = |i: Option<Interval>| i.map_or_else(|| "no interval".into(), |i| between(i.low, i.high));
    let line = |label: &str, value: String, detail: String| Figure { label: label.into(), value, detail };
    let mut figures = vec![
        line("count ratio of the sums", figure(of_sums), format!("{} by counting", range(found.counting))),
        line(
            "with systematic part",
            range(found.with_systematic),
            format!("floor {}, band {}", stated_percent(pair.settings.floor), stated_percent(band)),
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
    figures.append(&mut level_figures);
    let mut answer = Answer {
        pixels: found.raster.len(),
        judged_pixels: found.pixels,
        verdict: verdict.into(),
        sentence,
        figures,
        shows: vec![Shown { show: "count_ratio".into(), label: "Count ratio".into() }],
        ..blank_answer(pair)
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
    answer.cautions = cautions(pair, at, found);
    answer
}

fn cautions(pair: &Pair<'_>, at: (&Level, &Level), found: &Ratio) -> Vec<String> {
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
    out.extend(words::level_cautions(pair, [(pair.a, at.0), (pair.b, at.1)]));
    out
}

fn blank_answer(pair: &Pair<'_>) -> Answer {
    let mut own = vec![Method::own(
        "Ratio of a pixel: (A - background of A) / (B - background of B) where B is detected. Ratio of the sums over these pixels, not the mean of their ratios.",
    )];
    own.extend(words::interval_methods());
    own.push(Method::practice(
        "One value or several: chi squared over blocks of 4 × 4 pixels; the scatter beyond counting by the method of moments, held against the band.",
    ));
    words::blank_answer(pair, "ratio", own)
}

fn abstained(pair: &Pair<'_>, reason: &str, figures: Vec<Figure>) -> Answer {
    let mut answer = Answer { figures, ..blank_answer(pair) };
    for name in ["count_ratio", "valid_pixels", "homogeneity", "spread", "mass_ratio"] {
        answer.numbers.insert(name.into(), Number::or_reason(None, "", reason));
    }
    answer.pixels = pair.a.plane.len();
    answer.verdict = CANNOT.into();
    answer.sentence =
        format!("How {} and {} compare cannot be judged. {reason}.", pair.a.label(), pair.b.label());
    answer
}

/// What the key calls pixels without a ratio.
pub(super) fn fill_labels(a: &str, b: &str) -> [String; 3] {
    let limit = |missing: &str, which: &str| format!("{missing} not detected: {which} limit only");
    [limit(b, "lower"), limit(a, "upper"), "neither detected".into()]
}
