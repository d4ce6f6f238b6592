//! The words of `covered`.

use super::judge::{Found, Pair, Says};
use super::part::{CoveredPart, DepthText, LayerText, OtherLayer, PairRow};
use super::through::{THICKEST_UM, Thickness, Through, half_depth, holds, matter};
use crate::ask::answer::{Answer, Cell, Figure, Method, Number, Row, Table};
use crate::ask::evidence::Evidence;
use crate::ask::verdict::{COVERED, NO_WEAKENING};
use crate::ask::words::{self as common, capital, listed};
use crate::measure::Calibration;
use crate::numerics::counting::Interval;
use crate::numerics::figure::{THIN_SPACE, percent, rounded, stated_percent};
use crate::pigment::{self, Layer};

/// What people think of first when something lies over paint.
const ALTERNATIVES: [&str; 4] = ["varnish", "dirt", "glue", "oil"];

pub(super) fn worded(evidence: &Evidence, found: &Found) -> Answer {
    let mut answer = common::blank_answer(evidence, "covered", methods(evidence));
    let rows: Vec<PairRow> = found.pairs.iter().map(|pair| row(evidence, pair)).collect();
    answer.sentence = sentence(evidence, found);
    answer.judged_pixels = evidence.pixels();
    answer.figures = figures(evidence, found, &rows);
    answer.table = table(&rows);
    answer.cautions = cautions(evidence, found);
    let thickness = thickness_number(found);
    answer.numbers.insert("thickness_um".into(), thickness.clone());
    if let Some((place, _)) = found.telling
        && let Some(telling) = rows.get(place)
    {
        answer.numbers.insert("change".into(), telling.ratio.clone());
    } else {
        let why = if found.reason.is_empty() { "no pair tells" } else { found.reason.as_str() };
        answer.numbers.insert("change".into(), Number::or_reason(None, "", why));
    }
    answer.covered = Some(CoveredPart {
        pairs: rows,
        layer: found.layer.filter(|_| !found.is_any).map(|layer| LayerText {
            id: layer.id.into(),
            name: layer.name.into(),
            text: layer.fact.text.into(),
        }),
        thickness_um: thickness,
        others: others(found),
        depth: depth(evidence),
    });
    answer
}

fn bare_name(evidence: &Evidence) -> String {
    evidence.regions.first().map_or_else(String::new, |bare| format!("“{}”", bare.name))
}

/// "12 µm (9 to 16)".
fn um(thickness: &Thickness) -> String {
    let (low, high) = thickness.all;
    let value = rounded(thickness.value.min(THICKEST_UM), 2);
    match (low.is_finite(), high.is_finite()) {
        (true, true) => format!("{value}{THIN_SPACE}µm ({} to {})", rounded(low, 2), rounded(high, 2)),
        (true, false) => format!("at least {}{THIN_SPACE}µm", rounded(low, 2)),
        _ => format!("more than {}{THIN_SPACE}µm", rounded(THICKEST_UM, 2)),
    }
}

fn sentence(evidence: &Evidence, found: &Found) -> String {
    let (place, bare) = (evidence.place(), bare_name(evidence));
    let label = |i: usize| evidence.sides.get(i).map_or_else(String::new, |side| side.label());
    match (found.verdict, &found.telling) {
        (COVERED, Some((at, thickness))) => {
            let pair = &found.pairs[*at];
            let as_if = match (found.layer, thickness) {
                (Some(layer), Some(thickness)) => {
                    format!(", as under {} of {}", um(thickness), layer.name)
                }
                _ => String::new(),
            };
            format!(
                "{} {} is weakened beside {} against {bare}: {}{as_if}; what covers it, these maps do not tell.",
                capital(&place),
                label(pair.soft),
                label(pair.hard),
                change_words(pair),
            )
        }
        (NO_WEAKENING, Some((at, thickness))) => {
            let pair = &found.pairs[*at];
            let seen = match (found.layer, thickness) {
                (Some(layer), Some(thickness)) if thickness.all.1.is_finite() => format!(
                    "; more than {}{THIN_SPACE}µm of {} would have been seen",
                    rounded(thickness.all.1, 2),
                    layer.name
                ),
                _ => String::new(),
            };
            format!(
                "{} {} is not weakened beside {} against {bare}{seen}.",
                capital(&place),
                label(pair.soft),
                label(pair.hard)
            )
        }
        _ => format!(
            "Whether anything is weakened {place} against {bare} cannot be judged, because {}.",
            found.reason.trim_end_matches('.')
        ),
    }
}

/// "it is left with 0.31 (0.27 to 0.36) of its share there".
fn change_words(pair: &Pair) -> String {
    pair.weakened.map_or_else(String::new, |(_, all)| {
        format!(
            "it is left with {} ({} to {}) of its share there",
            rounded(all.value.max(0.0), 2),
            rounded(all.interval.low.max(0.0), 2),
            rounded(all.interval.high, 2)
        )
    })
}

/// Hard for each soft, from soft for each hard.
fn turned(value: f64, counting: Interval, all: Interval) -> Number {
    let turn = |i: Interval| Interval {
        low: if i.high > 0.0 { 1.0 / i.high } else { f64::INFINITY },
        high: if i.low > 0.0 { 1.0 / i.low } else { f64::INFINITY },
    };
    let reason = "the softer line is not detected; only a lower end is known";
    Number::or_reason(Some(1.0 / value).filter(|_| value > 0.0), "", reason)
        .within(Some(turn(counting)), Some(turn(all)))
}

fn row(evidence: &Evidence, pair: &Pair) -> PairRow {
    let label = |i: usize| evidence.sides.get(i).map_or_else(String::new, |side| side.label());
    let (hard, soft) = (label(pair.hard), label(pair.soft));
    let of = |c: &Option<Calibration>| match c {
        Some(c) => turned(c.value, c.counting, c.all),
        None => Number::or_reason(None, "", &pair.reason),
    };
    let ratio = match pair.weakened {
        Some((plain, all)) => turned(plain.value, plain.interval, all.interval),
        None => Number::or_reason(None, "", &pair.reason),
    };
    let text = match pair.says {
        Says::Open => format!("Says nothing: {}.", pair.reason),
        _ => format!("{}.", capital(&pair.reason)),
    };
    PairRow {
        pair: format!("{hard} / {soft}"),
        here: of(&pair.here),
        bare: of(&pair.bare),
        ratio,
        text,
        usable: pair.is_usable(),
        hard,
        soft,
    }
}

fn shown(number: &Number) -> String {
    match (number.value, number.low_all, number.high_all) {
        (Some(value), Some(low), Some(high)) => {
            format!("{} ({} – {})", rounded(value, 3), rounded(low, 3), rounded(high, 3))
        }
        (Some(value), Some(low), None) => format!("{} (at least {})", rounded(value, 3), rounded(low, 3)),
        (Some(value), None, _) => rounded(value, 3),
        (None, Some(low), _) => format!("at least {}", rounded(low, 3)),
        (None, None, _) => "no value".into(),
    }
}

fn table(rows: &[PairRow]) -> Table {
    let columns = ["in the region", "bare", "change", "what follows"];
    let cell = |number: &Number| Cell { value: number.value, text: shown(number) };
    let rows = rows.iter().map(|row| Row {
        label: row.pair.clone(),
        cells: vec![cell(&row.here), cell(&row.bare), cell(&row.ratio), Cell::words(row.text.clone())],
    });
    Table { columns: columns.map(str::to_owned).to_vec(), rows: rows.collect() }
}

fn figures(evidence: &Evidence, found: &Found, rows: &[PairRow]) -> Vec<Figure> {
    let mut out = Vec::new();
    if let Some((place, thickness)) = &found.telling
        && let (Some(row), Some(pair)) = (rows.get(*place), found.pairs.get(*place))
    {
        out.push(Figure {
            label: format!("change of {}", row.pair),
            value: shown(&row.ratio),
            detail: format!(
                "with the floor; beyond {} by thickness of the own layer it tells",
                stated_percent(pair.band)
            ),
        });
        if let (Some(layer), Some(thickness)) = (found.layer, thickness) {
            let covered = found.verdict == COVERED;
            out.push(Figure {
                label: if covered {
                    format!("as under {}", layer.name)
                } else {
                    format!("{}, at most", layer.name)
                },
                value: if covered {
                    um(thickness)
                } else {
                    format!("{}{THIN_SPACE}µm", rounded(thickness.all.1, 2))
                },
                detail: Through::angles(&evidence.measuring),
            });
        }
    }
    out
}

fn number_of(thickness: &Thickness) -> Number {
    let interval = |(low, high): (f64, f64)| Interval { low, high };
    let beyond = "no thickness up to 2 mm weakens so much";
    Number::or_reason(Some(thickness.value), "µm", beyond)
        .within(Some(interval(thickness.counting)), Some(interval(thickness.all)))
}

fn thickness_number(found: &Found) -> Number {
    let none = |reason: &str| Number::or_reason(None, "µm", reason);
    match (&found.telling, found.layer) {
        (Some((_, Some(thickness))), Some(_)) if found.verdict == COVERED => number_of(thickness),
        (Some((_, Some(thickness))), Some(_)) => Number {
            high_all: Some(thickness.all.1).filter(|v| v.is_finite()),
            ..none("nothing is weakened; a thicker layer would have been seen")
        },
        (Some((_, None)), Some(layer)) => {
            none(&format!("{} does not weaken the softer of these lines more than the harder", layer.name))
        }
        _ if found.reason.is_empty() => none("no pair of lines tells it"),
        _ => none(&found.reason),
    }
}

/// Other layers that would weaken as much.
fn others(found: &Found) -> Vec<OtherLayer> {
    let Some(pair) = found.telling.as_ref().and_then(|(place, _)| found.pairs.get(*place)) else {
        return Vec::new();
    };
    let is_chosen = |layer: &Layer| !found.is_any && found.layer.is_some_and(|chosen| chosen.id == layer.id);
    // First what is thought of first.
    let rank =
        |layer: &&Layer| ALTERNATIVES.iter().position(|id| *id == layer.id).unwrap_or(ALTERNATIVES.len());
    let mut layers: Vec<&Layer> = pigment::layers().iter().filter(|layer| !is_chosen(layer)).collect();
    layers.sort_by_key(rank);
    let other = |layer: &Layer| {
        let thickness = pair.thickness(layer);
        let (number, text) = match (&thickness, found.verdict) {
            (None, _) => {
                let reason = "it does not weaken the softer line more";
                (Number::or_reason(None, "µm", reason), format!("{}: {reason}", layer.name))
            }
            (Some(thickness), COVERED) => {
                (number_of(thickness), format!("{}: {}", layer.name, um(thickness)))
            }
            (Some(thickness), _) => {
                let most = Some(thickness.all.1).filter(|v| v.is_finite());
                let reason = "nothing is weakened";
                let text = match most {
                    Some(most) => format!("{}: at most {}{THIN_SPACE}µm", layer.name, rounded(most, 2)),
                    None => format!("{}: any thickness could hide", layer.name),
                };
                (Number { high_all: most, ..Number::or_reason(None, "µm", reason) }, text)
            }
        };
        OtherLayer { id: layer.id.into(), name: layer.name.into(), thickness_um: number, text }
    };
    layers.into_iter().map(other).collect()
}

fn depth(evidence: &Evidence) -> Vec<DepthText> {
    let sides = evidence.sides.iter().filter_map(|side| Some((side, side.line?)));
    let text = |(side, line): (&crate::ask::evidence::Side, crate::element::Line)| {
        let label = side.label();
        match half_depth(line, &evidence.measuring) {
            Some((paint, depth)) => DepthText {
                text: format!(
                    "half of {label} comes from the top {}{THIN_SPACE}µm if the layer is {paint}",
                    rounded(depth.value, 2)
                ),
                line: label,
                half_um: Some(depth.value),
            },
            None => DepthText {
                text: format!(
                    "out of what depth {label} comes is not computed: no paint of it is among those known here"
                ),
                line: label,
                half_um: None,
            },
        }
    };
    sides.map(text).collect()
}

fn cautions(evidence: &Evidence, found: &Found) -> Vec<String> {
    let mut out = Vec::new();
    let label = |i: usize| evidence.sides.get(i).map_or_else(String::new, |side| side.label());
    if found.verdict == COVERED {
        let named: Vec<String> = others(found)
            .into_iter()
            .filter(|other| ALTERNATIVES.contains(&other.id.as_str()) && other.thickness_um.low_all.is_some())
            .map(|other| other.text)
            .collect();
        if !named.is_empty() {
            out.push(format!(
                "Varnish, dirt and glue are layers too. As much would be weakened by {}.",
                listed(&named)
            ));
        }
        out.push("A layer that covers and paint that lies deeper look the same; so does the own pigment mixed with a stronger absorber. It says nothing of the order of layers.".into());
    }
    if let Some((at, _)) = &found.telling {
        let pair = &found.pairs[*at];
        out.push(format!(
            "The ratio would differ also if the own layer is thinner or thicker than in {}; {} of it is allowed for that.",
            bare_name(evidence),
            stated_percent(pair.band)
        ));
        if let Some(layer) = found.layer {
            let element = evidence.sides.get(pair.hard).and_then(|side| side.line).map(|line| line.element);
            if element.is_some_and(|element| holds(layer, element)) {
                out.push(format!("{} itself gives both lines, so that as a cover of them it is not told from the own layer.", capital(layer.name)));
            }
        }
        out.push(format!(
            "The thickness holds for a layer as it is assumed here ({}), and for {}.",
            found.layer.map_or("none", |layer| layer.fact.text),
            Through::angles(&evidence.measuring)
        ));
    }
    if let Some(stated) = evidence.settings.thickness_um
        && let Some(layer) = found.layer
        && let Some(pair) = found.pairs.iter().find(|pair| pair.through.is_some())
        && let Some((low, high)) =
            pair.through.as_ref().and_then(|through| through.factor(&matter(layer).ok()?, stated))
    {
        out.push(format!(
            "{}{THIN_SPACE}µm of {} would change {} / {} by a factor of {} to {}.",
            rounded(stated, 3),
            layer.name,
            label(pair.hard),
            label(pair.soft),
            rounded(low, 3),
            rounded(high, 3)
        ));
    }
    for (place, left) in &found.single {
        let (low, high) = (left.interval.low.max(0.0), left.interval.high);
        out.push(format!(
            "{} alone gives {} ({} to {}) of what it gives in {}: a weaker argument, because there may simply be less of it.",
            label(*place),
            percent(left.value.clamp(0.0, 1.0)),
            rounded(low, 2),
            rounded(high, 2),
            bare_name(evidence)
        ));
    }
    out.extend(common::level_cautions(evidence));
    out
}

fn methods(evidence: &Evidence) -> Vec<Method> {
    let mut out = vec![
        Method::own(
            "Two lines of one element in the region and in the region taken as bare: ratio of the sums above background in each, and the change between them, each with its interval by counting and with the floor.",
        ),
        Method::own(
            "Consistent with covered: the softer line is weaker beside the harder one beyond counting, floor and a band for the thickness of the own layer (20 %, 10 % for neighbours in energy), and weaker by itself too.",
        ),
        Method::published(
            "Thickness: attenuation of both lines on their way out and of the beam on its way in, for three beams (one of 20.2 keV, a tube's continuum, the same behind 0.5 mm of aluminium); the interval holds all three, both ends of the attenuation where sources differ, the angles, counting, floor and band.",
            "M. Mantler and M. Schreiner, X-Ray Spectrometry 29 (2000) 3",
        ),
        Method::published(
            "Lead Lα against Lβ or M for what lies over lead white.",
            "R. Zito, L. Bonizzoni and N. Ludwig, Sustainability 16 (2024) 2467 (abstract)",
        ),
    ];
    out.extend(common::interval_methods());
    out.push(Method::practice(format!("Angles: {}.", Through::angles(&evidence.measuring))));
    out
}
