//! What `apart` says.

use super::numbers::{NAMES, PER_PIXEL, limit_of, numbered};
use super::{How, Judged, Outcome, beside};
use crate::ask::answer::{Answer, Cell, Figure, Method, Number, Row, Shown, Table};
use crate::ask::evidence::Evidence;
use crate::ask::pair::Pair;
use crate::ask::verdict::{MORE, NO_MORE};
use crate::ask::words;
use crate::class::Class;
use crate::measure::own::{Area, FEWEST_CONNECTED};
use crate::measure::{Accompaniment, Excess, Level, UpperLimit};
use crate::numerics::figure::{between, figure, relative, stated_percent, whole};

pub(super) fn worded(pair: &Pair<'_>, at: (&Level, &Level), judged: &Judged) -> Answer {
    let (a, b) = pair.labels();
    let step = pair.evidence.step;
    let counts = &judged.outcome.classes.counts;
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
    let limit = limit_of(pair, at, judged);
    let answer = Answer {
        judged_pixels: pixels - not_judged,
        sentence: sentence(pair, judged),
        table,
        figures: figures(pair, at, &judged.outcome, limit.as_ref()),
        shows: vec![Shown { show: "classes".into(), label: "Classes".into() }],
        cautions: cautions(pair, judged),
        ..blank_answer(pair.evidence)
    };
    numbered(answer, pair, judged, limit.as_ref())
}

fn sentence(pair: &Pair<'_>, judged: &Judged) -> String {
    let (a, b) = pair.labels();
    let (found, step) = (&judged.outcome, pair.evidence.step);
    let counts = &found.classes.counts;
    let inner = counts.by_class[Class::AOnly as usize];
    match (judged.verdict, judged.how) {
        (MORE, How::Alone) => {
            let then = match found.with {
                Some(with) if !with.is_of_both => {
                    format!("both are found together {}", words::in_only(counts_both(found)))
                }
                _ => format!("the {b} that usually goes with so much {a} would have been seen there"),
            };
            format!(
                "{a} is detected without {b} on {}, {} of the area where it is detected; {then}.",
                words::area(inner, step),
                words::share_text(inner, counts.a)
            )
        }
        (MORE, How::Inside) => {
            let areas = &found.inside.more;
            let pixels: usize = areas.iter().map(|area| area.pixels.len()).sum();
            let usual = found.with.map_or(f64::NAN, |with| with.k);
            format!(
                "In {} ({}) there is more {a} than accompanies {b}: {} for each {b} instead of {}, while {b} is much as around {}. It may be {a} on its own, or a second material that holds both.",
                if areas.len() == 1 { "one place".into() } else { format!("{} places", areas.len()) },
                words::area(pixels as u64, step),
                figure(factor(areas)),
                figure(usual),
                if areas.len() == 1 { "it" } else { "them" }
            )
        }
        (NO_MORE, _) => {
            let but = if inner > 0 {
                format!(" (but for {}, which chance explains)", words::counted(inner))
            } else {
                String::new()
            };
            format!(
                "Where {a} is detected, {b} is detected too, or so little of it would be expected that it could not be seen{but}: no more {a} than accompanies {b}."
            )
        }
        _ => format!("Whether {a} is there without {b} cannot be judged, because {}.", judged.reason),
    }
}

/// A for each B over some areas.
fn factor(areas: &[Area]) -> f64 {
    let (a, b) = areas.iter().fold((0.0, 0.0), |(a, b), area| (a + area.a, b + area.b));
    a / b
}

fn figures(
    pair: &Pair<'_>,
    at: (&Level, &Level),
    found: &Outcome,
    limit: Option<&UpperLimit>,
) -> Vec<Figure> {
    let (a, b) = pair.labels();
    let step = pair.evidence.step;
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
            whole(counts.a_only_with_rims.max(inner))
        ),
    )];
    out.push(line(
        "both detected".into(),
        words::area(counts.by_class[Class::Both as usize], step),
        words::counted(counts_both(found)),
    ));
    let unjudged = counts.by_class[Class::CannotBeJudged as usize];
    let why = [
        ("at rims".to_owned(), counts.rim),
        (format!("{b} would not be seen"), counts.b_unseen),
        ("saturated".to_owned(), counts.saturated),
        ("could be overlap".to_owned(), counts.doubtful_a + counts.doubtful_b),
    ];
    let why: Vec<String> = why
        .into_iter()
        .filter(|(_, pixels)| *pixels > 0)
        .map(|(why, pixels)| format!("{why} {}", whole(pixels)))
        .collect();
    out.push(line("cannot be judged".into(), words::area(unjudged, step), why.join(", ")));
    out.extend(found.with.as_ref().map(|with| factor_figure(pair, found, with)));
    if let Some(excess) = &found.excess {
        out.push(line(
            format!("more {a} than the band"),
            words::area(excess.pixels, step),
            format!(
                "{} of {} with {b}; less than the band {}",
                whole(excess.pixels),
                whole(excess.looked_at),
                whole(excess.deficit_pixels)
            ),
        ));
    }
    if let Some(limit) = limit {
        out.push(line(
            format!("{a} on its own where {b} is"),
            below(limit.per_pixel),
            match limit.per_pixel_with_band {
                with_band if with_band > 0.0 => format!(
                    "95 %, on the average of {}; with the band {}",
                    words::counted(limit.pixels),
                    below(with_band)
                ),
                _ => format!("95 %, on the average of {}, with the band too", words::counted(limit.pixels)),
            },
        ));
    }
    out.push(words::level_figure(pair.a, at.0));
    out.push(words::level_figure(pair.b, at.1));
    out
}

/// A limit of what is there; where even that is 0, there is no room for any.
fn below(limit: f64) -> String {
    if limit > 0.0 { format!("below {} {PER_PIXEL}", figure(limit)) } else { "no room for any".into() }
}

fn factor_figure(pair: &Pair<'_>, found: &Outcome, with: &Accompaniment) -> Figure {
    let (a, b) = pair.labels();
    let band = between(with.k_low, with.k_high);
    let share = stated_percent(pair.evidence.k_band);
    if with.pixels == 0 {
        let detail = format!("stated; {band} with the band of {share}");
        return Figure { label: format!("{a} for each {b}"), value: figure(with.k), detail };
    }
    let counting = between(with.counting.low, with.counting.high);
    let detail = match &found.excess {
        Some(_) => format!("{counting} by counting; {band} with the band of {share}"),
        None => format!("{band} with the band of {share}"),
    };
    let label = if with.is_of_both { format!("{a} for each {b}") } else { format!("{a} hidden in {b}") };
    Figure { label, value: figure(with.k), detail }
}

fn cautions(pair: &Pair<'_>, judged: &Judged) -> Vec<String> {
    let (a, b) = pair.labels();
    let found = &judged.outcome;
    let mut out = Vec::new();
    if let (MORE, How::Alone, Some(pixels)) = (judged.verdict, judged.how, judged.with_twice_the_floor) {
        out.push(format!("With twice the uncertainty of the background {} remain.", words::counted(pixels)));
        out.push(format!(
            "A layer over it, or a line of another element counted as {a}, could look the same. The maps do not tell which compound it is."
        ));
    }
    if let Some(excess) = found.excess.as_ref().filter(|e| judged.verdict == MORE && e.is_there()) {
        out.push(format!(
            "In {} with both there is more {a} than usual for {b}.",
            words::counted(excess.pixels)
        ));
    }
    if judged.verdict == NO_MORE {
        out.push(format!("A material of {a} that always lies together with {b} cannot be told from an accessory by these two maps."));
    }
    let near = beside::beside(pair.a.line, pair.b.line).map_or_else(String::new, |(line, ev)| {
        let side = if ev < 0.0 { "below" } else { "above" };
        format!(
            " {line} lies {} eV {side} {a}, so part of it may have been counted as {a}.",
            whole(ev.abs().round() as u64)
        )
    });
    out.push(format!(
        "An accessory element in the material of {b} and a line of {b} counted as {a} look the same in two maps; which of them it is cannot be told from these.{near}"
    ));
    if let Some(with) = &found.with {
        out.extend(about_factor(pair, found, with));
    }
    out.extend(words::level_cautions(pair.evidence));
    out
}

/// What speaks against one factor for all.
fn about_factor(pair: &Pair<'_>, found: &Outcome, with: &Accompaniment) -> Vec<String> {
    let (a, b) = pair.labels();
    let mut out = Vec::new();
    if with.pixels > 0 && 2 * with.pixels < counts_both(found) && with.is_of_both {
        out.push(format!(
            "Where both are detected their ratio varies widely: only {} of {} pixels lie near its median, on which the {a} for each {b} stands.",
            whole(with.pixels),
            whole(counts_both(found))
        ));
    }
    if with.spread > pair.evidence.k_band {
        out.push(format!(
            "The {a} for each {b} varies from place to place by {} (one standard deviation, noise taken off), more than the band.",
            relative(with.spread)
        ));
    }
    let deficits = found.excess.as_ref().filter(|e| e.deficit_pixels * 20 > e.looked_at);
    if let Some(Excess { deficit_pixels, looked_at, .. }) = deficits {
        out.push(format!(
            "In {} of {} pixels with {b} there is less {a} than the band allows: {b} is there in more than one material, or its factor varies.",
            whole(*deficit_pixels),
            whole(*looked_at)
        ));
    }
    out
}

fn counts_both(found: &Outcome) -> u64 {
    found.classes.counts.by_class[Class::Both as usize]
}

pub(super) fn blank_answer(evidence: &Evidence) -> Answer {
    let mut own = vec![
        Method::own(
            "A without B counts only where the B that accompanies that much A, at the largest factor seen, would reach B's detection limit, where so much A beside the B that was counted is no chance, and not within the rim of a pixel where B is detected; or in an area of at least ten connected pixels for which that holds as a whole.",
        ),
        Method::own(
            "A for each B: over pixels whose neighbours surely hold B, in the smallest blocks (1, 2, 4 or 8 pixels along a side) in which A would be seen: ratio of the sums, blocks beyond the band clipped from above, of the material that the median ratio names; where A is never seen like that, what could hide. The band stands for thickness, dilution and cover.",
        ),
        Method::published(
            "Chance of so much A beside the B that was counted: exact for counts without background, binomial given the sum of both; with background a negative binomial distribution of the same mean and variance.",
            "J. Przyborowski and H. Wilenski, Biometrika 31 (1940) 313 (from memory)",
        ),
        Method::published(
            "Pixels beyond the band: a hundredth of those named is expected to be false.",
            "Y. Benjamini and Y. Hochberg, J. Royal Stat. Soc. B 57 (1995) 289",
        ),
        Method::own(format!(
            "More A where B is: only in areas of at least {FEWEST_CONNECTED} connected pixels, within at most a twentieth of B, beyond the largest factor seen elsewhere and beyond what the change of B against its surroundings could make.",
        )),
    ];
    own.extend(words::interval_methods());
    words::blank_answer(evidence, "apart", own)
}

pub(super) fn abstained(pair: &Pair<'_>, reason: &str) -> Answer {
    let (a, b) = pair.labels();
    let mut answer = blank_answer(pair.evidence);
    for name in NAMES {
        answer.numbers.insert(name.to_owned(), Number::or_reason(None, "", reason));
    }
    answer.sentence = format!("Whether {a} is there without {b} cannot be judged, because {reason}.");
    answer
}
