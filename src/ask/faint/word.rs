//! The words of `faint`.

use super::{Found, Judged, Q, alone, classes};
use crate::ask::answer::{Answer, Cell, Figure, Method, Number, Raster, Rasters, Row, Shown, Table};
use crate::ask::evidence::{Evidence, Side};
use crate::ask::plot::{Bar, Plot};
use crate::ask::verdict::{DETECTED, NOT_DETECTED};
use crate::ask::words;
use crate::class::Class;
use crate::kind::Noise;
use crate::measure::{self, BINS, LevelSource, Share, Z_95};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::counting::{Interval, garwood};
use crate::numerics::empty::surely_beyond;
use crate::numerics::figure::{between, count, figure, percent, stated_percent, whole};

const NO_BLOCK: &str = "no whole block of this size lies in it";
const NO_LIMIT: &str = "it is no background of counts";

pub(super) fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
    let Some(side) = evidence.sides.first() else { return Ok((blank_answer(evidence), Rasters::new())) };
    Ok(match found {
        Found::Abstained(reason) => (abstained(evidence, side, &reason), Rasters::new()),
        Found::Judged(judged) => (judged_answer(evidence, side, &judged), rasters(side, &judged)?),
    })
}

fn rasters(side: &Side, judged: &Judged) -> Result<Rasters, OutOfMemory> {
    Ok(Rasters::from([("classes".to_owned(), Raster::U8(classes(side, &judged.level)?))]))
}

/// What the classes of a pixel are called.
pub(in crate::ask) fn class_labels(map: &str) -> [String; Class::COUNT] {
    [
        "no data".into(),
        format!("{map} not detected"),
        format!("{map} detected"),
        String::new(),
        String::new(),
        "cannot be judged".into(),
    ]
}

/// What stands behind a figure: "counts a pixel".
fn unit(side: &Side) -> String {
    match side.kind.unit() {
        "" => " a pixel".into(),
        unit => format!(" {unit} a pixel"),
    }
}

fn sentence(evidence: &Evidence, side: &Side, judged: &Judged) -> String {
    let (label, place, unit) = (side.label(), evidence.place(), unit(side));
    let net = judged.presence.net;
    match judged.verdict {
        DETECTED if judged.standing.sum => format!(
            "{label} is detected {place}: on average {}{unit} above a background of {}.",
            figure(net.value),
            figure(judged.level.background)
        ),
        DETECTED => format!(
            "{label} is detected {place}, in {} that stand out from the background; on average over all of its pixels it is no more than background.",
            words::counted(judged.standing.pixels)
        ),
        NOT_DETECTED if judged.level.source == LevelSource::QuietPart => format!(
            "{label} is not detected {place}: it counts no more there than in the quiet part of the field, and even if all that was counted were {label}, it would be below {}{unit} on average.",
            figure(judged.below())
        ),
        NOT_DETECTED => format!(
            "{label} is not detected {place}: whatever is there gives less than {}{unit} on average.",
            figure(judged.below())
        ),
        _ => format!(
            "Whether {label} is more than background {place} cannot be judged, because {}.",
            judged.reason
        ),
    }
}

fn judged_answer(evidence: &Evidence, side: &Side, judged: &Judged) -> Answer {
    let mut answer = Answer {
        judged_pixels: judged.presence.pixels,
        sentence: sentence(evidence, side, judged),
        figures: figures(side, judged),
        table: table(&judged.shares),
        shows: vec![Shown { show: "classes".into(), label: "Where it is detected".into() }],
        plots: plots(&judged.shares),
        ..blank_answer(evidence)
    };
    if judged.verdict == NOT_DETECTED {
        answer.verdict_text = format!("not detected (below {}{})", figure(judged.below()), unit(side));
    }
    numbers(&mut answer, side, judged);
    answer.cautions = cautions(evidence, side, judged);
    answer
}

/// The interval of a mean background from its pixels.
fn of_background(side: &Side, judged: &Judged) -> Option<Interval> {
    let level = &judged.level;
    let m = level.pixels? as f64;
    if side.noise() == Noise::Counting {
        let of_sum = garwood((m * level.background).round(), 0.05);
        return Some(Interval { low: of_sum.low / m, high: of_sum.high / m });
    }
    let arm = Z_95 * (level.variance / m).sqrt();
    Some(Interval { low: level.background - arm, high: level.background + arm })
}

fn numbers(answer: &mut Answer, side: &Side, judged: &Judged) {
    let (level, presence) = (&judged.level, &judged.presence);
    let unit = side.kind.unit();
    let mut put = |name: &str, number: Number| answer.numbers.insert(name.into(), number);
    let background = Number::of(level.background, unit).within(of_background(side, judged), None);
    put("background", background);
    put("critical_level", Number::of(level.critical, unit));
    put("detection_limit", Number::of(level.detection_limit, unit));
    put(
        "net_mean",
        Number::of(presence.net.value, unit).within(Some(presence.net.interval), Some(presence.net_all)),
    );
    put("upper_limit", Number::of(judged.below(), unit));
    let dispersion =
        Some(level.dispersion).filter(|_| level.pixels.is_some() && side.noise() == Noise::Counting);
    put("dispersion", Number::or_reason(dispersion, "", NO_LIMIT));
    put("p_on_off", Number::of(presence.p_counting, ""));
    put("p_on_off_floor", Number::of(presence.p, ""));
    put("p_on_off_floor_doubled", Number::of(judged.doubled.p, ""));
    put("discovered_pixels", Number::of(judged.discoveries.pixels as f64, "pixels"));
    let readable = measure::readable(&judged.shares, presence.net.value);
    put(
        "readable_bin",
        Number::or_reason(
            readable.map(f64::from),
            "pixels a side",
            "even blocks of 16 × 16 pixels would not show its mean signal",
        ),
    );
    for share in &judged.shares {
        let bin = share.bin;
        put(&format!("share_above_{bin}"), Number::or_reason(share.share(), "", NO_BLOCK));
        let expected = Some(share.expected).filter(|_| share.blocks > 0);
        put(&format!("expected_share_{bin}"), Number::or_reason(expected, "", NO_BLOCK));
    }
}

fn figures(side: &Side, judged: &Judged) -> Vec<Figure> {
    let (level, presence) = (&judged.level, &judged.presence);
    let line = |label: &str, value: String, detail: String| Figure { label: label.into(), value, detail };
    let net = presence.net;
    let mut out = vec![line(
        "mean signal of a pixel",
        // What is not detected is only a limit.
        if judged.verdict == NOT_DETECTED {
            format!("below {}", figure(judged.below()))
        } else {
            figure(net.value)
        },
        format!(
            "{} {}, {} with floor",
            between(net.interval.low, net.interval.high),
            if side.noise() == Noise::Counting { "by counting" } else { "by scatter" },
            between(presence.net_all.low, presence.net_all.high)
        ),
    )];
    out.push(words::level_figure(side, level));
    out.push(line(
        "chance that background alone gives this sum",
        words::chance(presence.p),
        format!(
            "{} by counting alone; {} with the floor doubled",
            words::chance(presence.p_counting),
            words::chance(judged.doubled.p)
        ),
    ));
    let found = &judged.discoveries;
    out.push(line(
        "pixels that stand out",
        whole(found.pixels),
        match found.from {
            Some(from) => format!(
                "from {}; of these at most {} are expected to be background",
                count(from),
                stated_percent(Q)
            ),
            None => format!("of {}, their number taken into account", whole(found.looked_at)),
        },
    ));
    let readable = measure::readable(&judged.shares, net.value);
    out.push(line(
        "readable from blocks of",
        match readable {
            Some(bin) => block(bin),
            None if net.value > 0.0 => "more than 16 × 16 pixels".into(),
            None => "no size".into(),
        },
        "the smallest in which the mean signal would hardly ever be missed".into(),
    ));
    out
}

fn block(bin: u32) -> String {
    if bin == 1 { "1 pixel".into() } else { format!("{bin} × {bin} pixels") }
}

fn table(shares: &[Share]) -> Table {
    let columns =
        ["blocks", "above background from", "share above", "background alone", "shows a pixel's signal from"];
    let rows = shares.iter().filter(|share| share.blocks > 0).map(|share| Row {
        label: block(share.bin),
        cells: vec![
            Cell::number(share.blocks as f64, whole(share.blocks)),
            Cell::number(share.critical, count(share.critical)),
            share.share().map_or_else(Cell::default, |value| Cell::number(value, percent(value))),
            Cell::number(share.expected, percent(share.expected)),
            Cell::number(share.limit_per_pixel, figure(share.limit_per_pixel)),
        ],
    });
    Table { columns: columns.map(str::to_owned).to_vec(), rows: rows.collect() }
}

fn plots(shares: &[Share]) -> Vec<Plot> {
    let seen: Vec<(&Share, f64)> = shares.iter().filter_map(|share| Some((share, share.share()?))).collect();
    if seen.is_empty() {
        return Vec::new();
    }
    let longest =
        seen.iter().fold(f64::MIN_POSITIVE, |most, (share, value)| most.max(*value).max(share.expected));
    let rows = seen.iter().map(|(share, value)| Bar {
        label: block(share.bin),
        share: value / longest,
        text: percent(*value),
        beside: share.expected / longest,
        beside_text: percent(share.expected),
    });
    let in_words: Vec<String> = seen
        .iter()
        .map(|(share, value)| {
            format!(
                "{}: {} (background alone {})",
                block(share.bin),
                percent(*value),
                percent(share.expected)
            )
        })
        .collect();
    vec![Plot::Bars {
        key: "shares".into(),
        label: format!(
            "Share of blocks above background, {} to {} pixels a side",
            BINS[0],
            BINS[BINS.len() - 1]
        ),
        rows: rows.collect(),
        note: format!(
            "Beside each share what background alone would give, with the floor. {}.",
            in_words.join("; ")
        ),
    }]
}

fn cautions(evidence: &Evidence, side: &Side, judged: &Judged) -> Vec<String> {
    let mut out = words::level_cautions(evidence);
    let (level, presence) = (&judged.level, &judged.presence);
    if level.source == LevelSource::Region {
        if let Some(pixels) = level.pixels
            && side.noise() == Noise::Counting
            && surely_beyond(level.dispersion, pixels) > 0.5
        {
            out.push(
                "The region that stands for the background is not even: it may hold some of the element itself, and then too little is called detected.".into(),
            );
        }
        out.push(
            "A background region that was chosen for being dark in this map makes too much look detected: choose it on the photo or another map.".into(),
        );
    }
    let lonely = alone(side, level, &judged.discoveries);
    if judged.verdict == DETECTED && !judged.standing.sum && 2 * lonely > judged.standing.pixels {
        out.push(format!(
            "Most of the pixels that stand out ({} of {}) lie alone: hot pixels or specks would look the same.",
            whole(lonely),
            whole(judged.standing.pixels)
        ));
    }
    if presence.p_counting <= evidence.rules().alpha && presence.p > evidence.rules().alpha {
        out.push(format!(
            "By counting alone the sum is more than background; that is less than a background that varies by {} would make.",
            stated_percent(evidence.rules().floor)
        ));
    }
    out.push(
        "Signal above background is no amount, and an overlapping line of another element gives it too."
            .into(),
    );
    out
}

fn blank_answer(evidence: &Evidence) -> Answer {
    let own = vec![
        Method::published(
            "Region against background: chance of so many counts given both together, exact (binomial); with the floor by a Poisson count whose mean varies (negative binomial).",
            "J. Przyborowski and H. Wilenski, Biometrika 31 (1940) 313",
        ),
        Method::own(
            "Detected: the sum of the region, or at least five of its pixels, must be more than background with the floor and again with the floor doubled.",
        ),
        Method::published(
            "Pixels that stand out: false-discovery rate of 5 % over all pixels asked about.",
            "Y. Benjamini and Y. Hochberg, Journal of the Royal Statistical Society B 57 (1995) 289",
        ),
        Method::own(
            "Blocks of 1 to 16 pixels a side, whole ones only: share with a sum at or above the critical level, beside the chance of that by background alone. Scatter of the background that is surely beyond counting is taken as common to a block.",
        ),
        Method::published("Interval of a count.", "F. Garwood, Biometrika 28 (1936) 437"),
    ];
    words::blank_answer(evidence, "faint", own)
}

fn abstained(evidence: &Evidence, side: &Side, reason: &str) -> Answer {
    let mut answer = blank_answer(evidence);
    let names = [
        "background",
        "critical_level",
        "detection_limit",
        "net_mean",
        "upper_limit",
        "dispersion",
        "p_on_off",
        "p_on_off_floor",
        "p_on_off_floor_doubled",
        "discovered_pixels",
        "readable_bin",
    ];
    for name in names {
        answer.numbers.insert(name.into(), Number::or_reason(None, "", reason));
    }
    for bin in BINS {
        answer.numbers.insert(format!("share_above_{bin}"), Number::or_reason(None, "", reason));
        answer.numbers.insert(format!("expected_share_{bin}"), Number::or_reason(None, "", reason));
    }
    answer.sentence = format!(
        "Whether {} is more than background {} cannot be judged, because {reason}.",
        side.label(),
        evidence.place()
    );
    answer.cautions = words::level_cautions(evidence);
    answer
}
