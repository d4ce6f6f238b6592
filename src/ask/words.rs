//! Sentences that several questions share.

use super::answer::{Answer, Figure, Method, Number};
use super::evidence::{Evidence, Side};
use crate::class::Class;
use crate::geometry::Step;
use crate::kind::{Kind, Noise};
use crate::measure::{Level, LevelSource, Refusal};
use crate::numerics::figure::{THIN_SPACE, count, figure, percent, rounded, whole};

/// Area with its unit, to two or three figures; pixels where the step is not known.
pub(super) fn area(pixels: u64, step: Option<Step>) -> String {
    match step {
        Some(step) => format!("{}{THIN_SPACE}mm²", figure_of_area(pixels as f64 * step.pixel_area_mm2())),
        None => counted(pixels),
    }
}

fn figure_of_area(mm2: f64) -> String {
    if mm2 >= 100.0 { whole(mm2.round() as u64) } else { rounded(mm2, 2) }
}

/// "in no pixel", "in only 12 pixels".
pub(super) fn in_only(pixels: u64) -> String {
    if pixels == 0 { "in no pixel".into() } else { format!("in only {}", counted(pixels)) }
}

/// "1 pixel", "1 010 pixels".
pub(super) fn counted(pixels: u64) -> String {
    if pixels == 1 { "1 pixel".into() } else { format!("{} pixels", whole(pixels)) }
}

pub(super) const NO_STEP: &str = "the step of the scan is not stated";

pub(super) fn area_number(pixels: u64, step: Option<Step>) -> Number {
    Number::or_reason(step.map(|s| pixels as f64 * s.pixel_area_mm2()), "mm²", NO_STEP)
}

/// A share, or nothing where there is nothing to share.
pub(super) fn share(part: u64, of: u64) -> Option<f64> {
    (of > 0).then(|| part as f64 / of as f64)
}

pub(super) fn share_text(part: u64, of: u64) -> String {
    share(part, of).map_or_else(|| "no value".into(), percent)
}

/// The line of figures for a map's critical level.
pub(super) fn level_figure(map: &Side, level: &Level) -> Figure {
    let source = match (level.source, &map.background_region) {
        (LevelSource::Stated, _) => "stated background".to_owned(),
        (LevelSource::Region, Some(region)) => format!("background of “{region}”"),
        _ => "background".to_owned(),
    };
    Figure {
        label: format!("{} detected from", map.label()),
        value: count(level.critical),
        detail: format!(
            "{source} {}, detection limit {} above it",
            figure(level.background),
            figure(level.detection_limit)
        ),
    }
}

/// Why a map has no background, as a clause.
pub(super) fn refused(refusal: Refusal, map: &str) -> String {
    match refusal {
        Refusal::ShapeOnly(Kind::Auxiliary) => format!("{map} holds no element line"),
        Refusal::ShapeOnly(_) => {
            format!("{map} is a picture of a map and not its counts, so only its shape can be used")
        }
        Refusal::TooFewPixels => format!("fewer than 30 pixels of {map} can be used"),
        Refusal::Constant => format!("all pixels of {map} have the same value"),
        Refusal::PiledUp => format!(
            "many pixels of {map} share the lowest value, as a fit without negative results leaves them, so that their scatter says nothing about the background"
        ),
        Refusal::NoQuietPart => format!("{map} has no quiet part from which a background could be taken"),
        Refusal::BelowZero => format!(
            "the quiet part of {map} lies far below 0, as where too much background was taken off; state a background, or a region that has none of it"
        ),
        Refusal::MadeOfIt => format!(
            "the region chosen as background was made from {map} itself, and the darkest part of a map is darker than its background"
        ),
        Refusal::BadValue => format!("the background stated for {map} is not a number of 0 or more"),
    }
}

/// What must be said about the backgrounds.
pub(super) fn level_cautions(evidence: &Evidence) -> Vec<String> {
    let mut out = Vec::new();
    let sides = || evidence.sides.iter().filter_map(|side| Some((side, side.level.as_ref().ok()?)));
    let from_rule: Vec<String> = sides()
        .filter(|(_, level)| level.source == LevelSource::QuietPart)
        .map(|(map, _)| map.label())
        .collect();
    if !from_rule.is_empty() {
        let (names, quiet) = match from_rule.as_slice() {
            [one] => (one.clone(), "its quiet part is"),
            _ => (listed(&from_rule), "their quiet parts are"),
        };
        out.push(format!(
            "The background of {names} comes from the field itself: {quiet} taken as empty. An element present everywhere at one level, as in a ground, is not seen by this rule."
        ));
    }
    for (map, level) in sides() {
        if level.dispersion > 1.5 {
            out.push(format!(
                "The background of {} scatters {} times as much as counting does: it is uneven, and the critical level is set higher for that.",
                map.label(),
                rounded(level.dispersion, 2)
            ));
        }
        if level.pixels.is_some() && level.dispersion < 0.8 {
            out.push(format!(
                "{} scatters less than counts do, as smoothed or scaled values would. State its kind; the intervals are too narrow if it was smoothed.",
                map.label()
            ));
        }
        if map.noise() != Noise::Counting {
            out.push(format!(
                "{} holds {} values, not counts: its scatter is taken from {}, and intervals from counting do not apply to it.",
                map.label(),
                map.kind.word(),
                if map.signal.sigma.is_some() { "the map of its errors or from its own, whichever is wider" } else { "the map" }
            ));
        }
        if map.saturated > 0 {
            out.push(format!(
                "{} is saturated in {}; these are not judged.",
                map.label(),
                counted(map.saturated)
            ));
        }
    }
    if evidence.sides.iter().any(|side| side.presence.is_some()) {
        out.push("A threshold stated by hand stands in for a critical level.".into());
    }
    for side in &evidence.sides {
        if let Some(named) = &side.stands_for {
            out.push(format!(
                "{named} suggested the question; it is tested on {}, which was held out.",
                side.label()
            ));
        }
        if let (Some(region), Ok(level)) = (&side.background_region, &side.level)
            && level.source == LevelSource::Region
        {
            out.push(format!(
                "{} is held against “{region}”: what “{region}” itself holds of it is not seen.",
                side.label()
            ));
        }
        if side.is_uneven {
            out.push(format!(
                "The quiet part of {} is uneven: a faint {} spread over part of the field may hide in it. Name a region without it as background.",
                side.label(),
                side.label()
            ));
        }
        if matches!(side.kind, Kind::Normalised | Kind::Quantified) {
            out.push(format!(
                "{} was scaled to shares: where values must add up to a whole, one rises because another falls, without any common material.",
                side.label()
            ));
        }
    }
    out
}

/// With its first letter large.
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// "a, b and c".
pub(super) fn listed(parts: &[impl AsRef<str>]) -> String {
    match parts {
        [] => String::new(),
        [one] => one.as_ref().to_owned(),
        [first @ .., last] => {
            let first: Vec<&str> = first.iter().map(AsRef::as_ref).collect();
            format!("{} and {}", first.join(", "), last.as_ref())
        }
    }
}

/// An answer with nothing said yet: what it rests on and how backgrounds are found, then `own`.
pub(super) fn blank_answer(evidence: &Evidence, question: &str, own: Vec<Method>) -> Answer {
    Answer {
        program: crate::PROGRAM.into(),
        inputs: evidence.sides.iter().map(|side| side.input.clone()).collect(),
        question: question.into(),
        settings: evidence.settings.clone(),
        pixels: evidence.pixels(),
        method: level_methods(evidence).into_iter().chain(own).collect(),
        ..Answer::default()
    }
}

/// How intervals of sums and of their quotients are found.
pub(super) fn interval_methods() -> [Method; 2] {
    [
        Method::published("Interval of a count.", "F. Garwood, Biometrika 28 (1936) 437"),
        Method::published(
            "Interval of a quotient from the intervals of its parts.",
            "A. Donner and G. Zou, Statistical Methods in Medical Research 21 (2012) 347",
        ),
    ]
}

fn level_methods(evidence: &Evidence) -> Vec<Method> {
    let is_from = |source: LevelSource| {
        evidence.sides.iter().filter_map(|side| side.level.as_ref().ok()).any(|level| level.source == source)
    };
    let mut out = Vec::new();
    if is_from(LevelSource::Region) {
        out.push(Method::practice(
            "Background from a region that is taken to hold nothing of the element: mean and scatter of its pixels.",
        ));
    }
    if is_from(LevelSource::QuietPart) {
        out.push(Method::own(
            "Background by the rule “quiet part”: start from the lowest quarter of the pixels, then keep all below the critical level until that set stays the same.",
        ));
    }
    out.extend([
        Method::published(
            "Critical level and detection limit, exact for counts: background alone reaches the critical level with chance alpha, a signal at the detection limit stays below it with chance beta.",
            "L. A. Currie, Analytical Chemistry 40 (1968) 586",
        ),
        Method::own(
            "The critical level is widened for a background that varies with the paint around it (floor), for the number of pixels it comes from, and for background pixels that scatter more than counting.",
        ),
    ]);
    out
}

/// A chance; never 0.
pub(super) fn chance(p: f64) -> String {
    if p < 1e-6 { "below 0.000001".into() } else { rounded(p, 2) }
}

/// What the classes of a pixel are called.
pub(super) fn class_labels(a: &str, b: &str) -> [String; Class::COUNT] {
    [
        "no data".into(),
        "neither detected".into(),
        format!("{a} without {b}"),
        format!("{b} without {a}"),
        "both detected".into(),
        "cannot be judged".into(),
    ]
}
