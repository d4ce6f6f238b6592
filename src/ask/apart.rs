//! `apart`: where is A without B?

use super::answer::{Answer, Cell, Figure, Method, Number, Raster, Rasters, Row, Shown, Table};
use super::driver::Question;
use super::evidence::{Evidence, Subject};
use super::pair::Pair;
use super::settings::Settings;
use super::verdict::{CANNOT, MORE, NO_MORE};
use super::{Progress, words};
use crate::class::Class;
use crate::geometry::Step;
use crate::measure::{self, Accompaniment, Classes, Excess, FEWEST_PIXELS, Level, Rules};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::counting::critical_count;
use crate::numerics::figure::{between, figure, whole};

/// Of what is expected by chance, this share (one standard deviation) is not known.
const CHANCE_IS_UNSURE: f64 = 0.5;
/// So many pixels of A alone, each beyond what background reaches anywhere in the field, are no chance however few.
const FAR_BEYOND: usize = 5;
/// If more of A than this lies where B would not have been seen, "no more" would say too much.
const MOST_UNSEEN: f64 = 0.2;

/// What the rules make of two maps.
pub(super) struct Outcome {
    with: Option<Accompaniment>,
    classes: Classes,
    excess: Option<Excess>,
    /// A alone in more pixels than chance explains, rims left out.
    is_apart: bool,
    /// The same with rims.
    is_apart_at_rims: bool,
    /// A beyond the band in more pixels than chance explains.
    has_excess: bool,
}

/// Where is A without B?
pub(super) struct Apart;

/// What is found.
pub(super) enum Found {
    /// Nothing can be said, and why.
    Abstained(String),
    /// Classes and more.
    Judged { outcome: Box<Outcome>, doubled: Box<Outcome>, verdict: &'static str, reason: String },
}

impl Question for Apart {
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
        progress(0.2, "Where each is detected");
        let rules = evidence.rules();
        let outcome = outcome(&pair, at, &rules)?;
        progress(0.6, "The same with twice the floor");
        let twice = Rules { floor: rules.floor * 2.0, ..rules };
        let doubled = match (pair.a.level_under(&twice), pair.b.level_under(&twice)) {
            (Some(a), Some(b)) => self::outcome(&pair, (&a, &b), &twice)?,
            _ => return Ok(Found::Abstained("There is no background".into())),
        };
        let (verdict, reason) = verdict(&pair, &outcome, &doubled);
        Ok(Found::Judged { outcome: Box::new(outcome), doubled: Box::new(doubled), verdict, reason })
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
            (Found::Judged { outcome, doubled, verdict, reason }, Ok(at)) => {
                let answer = worded(&pair, at, &outcome, &doubled, (verdict, &reason), evidence.step);
                let outcome = *outcome;
                let mut rasters = Rasters::from([("classes".to_owned(), Raster::U8(outcome.classes.raster))]);
                if let Some(excess) = outcome.excess {
                    rasters.insert("excess_sigma".to_owned(), Raster::F64(excess.sigma));
                }
                Ok((answer, rasters))
            }
            (Found::Abstained(reason), _) | (_, Err(reason)) => {
                Ok((abstained(&pair, &reason), Rasters::new()))
            }
        }
    }
}

fn outcome(pair: &Pair<'_>, at: (&Level, &Level), rules: &Rules) -> Result<Outcome, OutOfMemory> {
    let (a, b, band) = (&pair.a.signal, &pair.b.signal, pair.evidence.k_band);
    let with = match pair.evidence.settings.k {
        Some(k) => Some(Accompaniment::stated(k, band)),
        None => measure::accompaniment(a, b, at, band),
    };
    let k_high = with.map(|w| w.k_high);
    let classes = measure::classes(a, b, at, k_high, pair.evidence.rim_px)?;
    let excess = match &with {
        Some(with) if measure::are_counts(a, b) => {
            Some(measure::excess(a, b, at, with, rules.floor, rules.alpha)?)
        }
        _ => None,
    };
    let without_b = classes.counts.by_class[Class::Neither as usize] + classes.counts.a_only_with_rims;
    let by_chance = without_b as f64 * measure::false_alarms(at.0, rules);
    let is_more = |pixels: u64, by_chance: f64| {
        pixels >= critical_count(by_chance, CHANCE_IS_UNSURE * CHANCE_IS_UNSURE, rules.alpha)
    };
    let inner = classes.counts.by_class[Class::AOnly as usize];
    let is_apart = is_more(inner, by_chance) || far_beyond(pair, at.0, &classes, rules) >= FAR_BEYOND;
    let has_excess = excess.as_ref().is_some_and(|e| is_more(e.pixels, e.looked_at as f64 * rules.alpha));
    Ok(Outcome {
        with,
        is_apart,
        is_apart_at_rims: is_more(classes.counts.a_only_with_rims, by_chance),
        has_excess,
        classes,
        excess,
    })
}

/// Pixels of A alone that background would reach with chance `alpha` in the whole field, not in a pixel.
fn far_beyond(pair: &Pair<'_>, level: &Level, classes: &Classes, rules: &Rules) -> usize {
    let field = classes.raster.len().max(1) as f64;
    let strict = Rules { alpha: rules.alpha / field, ..*rules };
    let far = level.under(&strict, pair.a.kind).critical.max(level.critical);
    let pixels = classes.raster.data().iter().zip(pair.a.signal.values.data());
    pixels.filter(|(class, value)| **class == Class::AOnly as u8 && **value >= far).count()
}

/// The verdict word, and why where it cannot be judged.
fn verdict(pair: &Pair<'_>, found: &Outcome, doubled: &Outcome) -> (&'static str, String) {
    let (a, b) = pair.labels();
    let counts = &found.classes.counts;
    let cannot = |reason: String| (CANNOT, reason);
    if counts.a < FEWEST_PIXELS as u64 {
        return cannot(format!("{a} is detected in only {}", words::counted(counts.a)));
    }
    if found.with.is_none() {
        return cannot(format!(
            "{b} is detected in only {}, so how much {a} goes with it is not known",
            words::counted(counts.b)
        ));
    }
    if found.is_apart && doubled.is_apart {
        return (MORE, String::new());
    }
    if found.is_apart {
        return cannot("with twice the uncertainty of the background the finding is gone".into());
    }
    if found.is_apart_at_rims {
        let inner = counts.by_class[Class::AOnly as usize];
        return cannot(match inner {
            0 => format!("{a} without {b} lies only beside {b} itself, where the beam sees both"),
            _ => format!(
                "away from {b} itself, {a} is alone in only {}, which chance could explain",
                words::counted(inner)
            ),
        });
    }
    if found.has_excess {
        return cannot(format!(
            "{a} is nowhere without {b}, but in some of its pixels there is more {a} than usual for {b}; thickness, cover or a second material could do that"
        ));
    }
    if words::share(counts.b_unseen + counts.saturated, counts.a).is_some_and(|share| share > MOST_UNSEEN) {
        return cannot(format!("where {a} is faint, the {b} it would accompany would not have been seen"));
    }
    if found.excess.is_none() {
        return cannot(format!(
            "{a} is nowhere without {b}, but whether there is more of it than usual cannot be tested on values that are no counts"
        ));
    }
    (NO_MORE, String::new())
}

fn worded(
    pair: &Pair<'_>,
    at: (&Level, &Level),
    found: &Outcome,
    doubled: &Outcome,
    (verdict, reason): (&str, &str),
    step: Option<Step>,
) -> Answer {
    let (a, b) = (pair.a.label(), pair.b.label());
    let counts = &found.classes.counts;
    let inner = counts.by_class[Class::AOnly as usize];
    let sentence = match verdict {
        MORE => {
            let then = match found.with {
                Some(with) if !with.is_of_both => {
                    format!("both are found together in only {}", words::counted(counts_both(found)))
                }
                _ => format!("the {b} that usually goes with so much {a} would have been seen there"),
            };
            format!(
                "{a} is detected without {b} on {}, {} of the area where it is detected; {then}.",
                words::area(inner, step),
                words::share_text(inner, counts.a)
            )
        }
        NO_MORE => {
            let but = if inner > 0 {
                format!(" (but for {}, which chance explains)", words::counted(inner))
            } else {
                String::new()
            };
            format!(
                "Where {a} is detected, {b} is detected too, or so little of it would be expected that it could not be seen{but}: no more {a} than accompanies {b}."
            )
        }
        _ => format!("Whether {a} is there without {b} cannot be judged: {reason}."),
    };
    let row = |class: usize| {
        let pixels = counts.by_class[class];
        let mut cells = vec![Cell::number(pixels as f64, whole(pixels))];
        cells.extend(
            step.map(|s| Cell::number(pixels as f64 * s.pixel_area_mm2(), words::area(pixels, step))),
        );
        Row { label: words::class_labels(&a, &b)[class].clone(), cells }
    };
    let columns =
        ["pixels", "area"].into_iter().take(1 + usize::from(step.is_some())).map(str::to_owned).collect();
    let table = Table { columns, rows: (0..Class::COUNT).map(row).collect() };
    let pixels: u64 = counts.by_class.iter().sum();
    let not_judged = counts.by_class[Class::Blank as usize] + counts.by_class[Class::CannotBeJudged as usize];
    let answer = Answer {
        judged_pixels: pixels - not_judged,
        sentence,
        table,
        figures: figures(pair, at, found, step),
        shows: vec![Shown { show: "classes".into(), label: "Classes".into() }],
        ..blank_answer(pair.evidence)
    };
    let mut answer = numbered(answer, found, step);
    answer.cautions = cautions(pair, found, doubled, verdict);
    answer
}

/// What the six classes are called.
fn figures(pair: &Pair<'_>, at: (&Level, &Level), found: &Outcome, step: Option<Step>) -> Vec<Figure> {
    let (a, b) = (pair.a.label(), pair.b.label());
    let counts = &found.classes.counts;
    let inner = counts.by_class[Class::AOnly as usize];
    let line = |label: String, value: String, detail: String| Figure { label, value, detail };
    let mut out = vec![line(
        format!("{a} without {b}"),
        words::area(inner, step),
        format!(
            "{} of {} with {a}; {} with rims",
            whole(inner),
            whole(counts.a),
            whole(counts.a_only_with_rims)
        ),
    )];
    out.push(line(
        "both detected".into(),
        words::area(counts.by_class[Class::Both as usize], step),
        words::counted(counts.by_class[Class::Both as usize]),
    ));
    let unjudged = counts.by_class[Class::CannotBeJudged as usize];
    let why = [
        ("at rims".to_owned(), counts.rim),
        (format!("{b} would not be seen"), counts.b_unseen),
        ("saturated".to_owned(), counts.saturated),
    ];
    let why: Vec<String> = why
        .into_iter()
        .filter(|(_, pixels)| *pixels > 0)
        .map(|(why, pixels)| format!("{why} {}", whole(pixels)))
        .collect();
    out.push(line("cannot be judged".into(), words::area(unjudged, step), why.join(", ")));
    match &found.with {
        Some(with) if with.pixels == 0 => {
            out.push(line(
                format!("{a} for each {b}"),
                figure(with.k),
                format!("stated; band {}", between(with.k_low, with.k_high)),
            ));
        }
        Some(with) => out.push(line(
            if with.is_of_both { format!("{a} for each {b}") } else { format!("{a} hidden in {b}") },
            figure(with.k),
            match (between(with.counting.low, with.counting.high), between(with.k_low, with.k_high)) {
                (_, band) if found.excess.is_none() => format!("{band} with the band"),
                (counting, band) => format!("{counting} by counting; {band} with the band"),
            },
        )),
        None => {}
    }
    out.push(words::level_figure(pair.a, at.0));
    out.push(words::level_figure(pair.b, at.1));
    out
}

fn numbered(mut answer: Answer, found: &Outcome, step: Option<Step>) -> Answer {
    let counts = &found.classes.counts;
    let inner = counts.by_class[Class::AOnly as usize];
    for (ending, pixels) in [("", counts.a_only_with_rims), ("_inner", inner)] {
        let mut put =
            |name: &str, number: Number| answer.numbers.insert(format!("a_without_b_{name}{ending}"), number);
        put("pixels", Number::of(pixels as f64, "pixels"));
        put("area_mm2", words::area_number(pixels, step));
        put("share", Number::or_reason(words::share(pixels, counts.a), "", "A is detected nowhere"));
    }
    let unknown = "B is detected in fewer than 30 pixels";
    let with = found.with;
    let k = Number::or_reason(with.map(|w| w.k), "", unknown).within(with.map(|w| w.counting), None);
    answer.numbers.insert("k".into(), k);
    answer.numbers.insert("k_low".into(), Number::or_reason(with.map(|w| w.k_low), "", unknown));
    answer.numbers.insert("k_high".into(), Number::or_reason(with.map(|w| w.k_high), "", unknown));
    let excess = found.excess.as_ref().map(|e| e.pixels);
    let untested = if with.is_some() { "the maps hold no counts" } else { unknown };
    let pixels = Number::or_reason(excess.map(|n| n as f64), "pixels", untested);
    answer.numbers.insert("excess_pixels".into(), pixels);
    let area =
        excess.map_or_else(|| Number::or_reason(None, "mm²", untested), |n| words::area_number(n, step));
    answer.numbers.insert("excess_area_mm2".into(), area);
    answer
}

fn cautions(pair: &Pair<'_>, found: &Outcome, doubled: &Outcome, verdict: &str) -> Vec<String> {
    let (a, b) = (pair.a.label(), pair.b.label());
    let mut out = Vec::new();
    if verdict == MORE {
        let inner = doubled.classes.counts.by_class[Class::AOnly as usize];
        out.push(format!("With twice the uncertainty of the background {} remain.", words::counted(inner)));
        out.push(format!(
            "A layer over it, or a line of another element counted as {a}, could look the same. The maps do not tell which compound it is."
        ));
        if found.has_excess {
            let pixels = found.excess.as_ref().map_or(0, |e| e.pixels);
            out.push(format!(
                "In {} with both there is more {a} than usual for {b}.",
                words::counted(pixels)
            ));
        }
    }
    if verdict == NO_MORE {
        out.push(format!("A material of {a} that always lies together with {b} cannot be told from an accessory by these two maps."));
    }
    if let Some(with) = found.with.filter(|with| with.pixels > 0 && 2 * with.pixels < counts_both(found)) {
        out.push(format!(
            "Where both are detected their ratio varies widely: only {} of {} pixels lie near its median, on which the {a} for each {b} stands.",
            whole(with.pixels),
            whole(counts_both(found))
        ));
    }
    out.extend(words::level_cautions(pair.evidence));
    out
}

fn counts_both(found: &Outcome) -> u64 {
    found.classes.counts.by_class[Class::Both as usize]
}

fn blank_answer(evidence: &Evidence) -> Answer {
    let mut own = vec![
        Method::own(
            "A without B counts only where the B that accompanies that much A would reach B's detection limit, and not within the rim of a pixel where B is detected.",
        ),
        Method::own(
            "A for each B: ratio of the sums where both are detected, within three standard deviations of the median ratio; where that is hardly ever, what could hide where B is detected alone. The band stands for thickness, dilution and cover.",
        ),
    ];
    own.extend(words::interval_methods());
    words::blank_answer(evidence, "apart", own)
}

fn abstained(pair: &Pair<'_>, reason: &str) -> Answer {
    let mut answer = blank_answer(pair.evidence);
    let names = ["pixels", "area_mm2", "share"]
        .into_iter()
        .flat_map(|n| [format!("a_without_b_{n}"), format!("a_without_b_{n}_inner")]);
    let more = ["k", "k_low", "k_high", "excess_pixels", "excess_area_mm2"].map(str::to_owned);
    for name in names.chain(more) {
        answer.numbers.insert(name, Number::or_reason(None, "", reason));
    }
    answer.sentence =
        format!("Whether {} is there without {} cannot be judged. {reason}.", pair.a.label(), pair.b.label());
    answer
}
