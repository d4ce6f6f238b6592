//! Zones in words: sentence, table, cautions, method.

use super::judge::{Found, Zone};
use crate::ask::answer::{Answer, Cell, Figure, Method, Number, Raster, Rasters, Row, Shown, Table};
use crate::ask::evidence::{Evidence, Side, WHOLE_FIELD};
use crate::ask::words::{area, area_number, capital, counted, listed, share, share_text};
use crate::grid::Grid;
use crate::kind::{Kind, Noise};
use crate::measure::zones::{By, Way, Zones};
use crate::notice::Fault;
use crate::numerics::figure::{figure, percent, rounded, whole};

/// A map sets a zone apart where the zone lies so many standard deviations off.
const APART: f64 = 0.5;
/// So many maps are named of a zone.
const MOST_NAMED: usize = 3;
/// So many zones are named in the sentence.
const MOST_ZONES_NAMED: usize = 5;
/// Zones that keep less than this share of their pixels with half the counts are told to be unsure.
const UNSURE: f64 = 0.8;

pub fn word(evidence: &Evidence, found: Found) -> Result<(Answer, Rasters), Fault> {
    let kept = |places: &[usize]| places.iter().map(|&i| &evidence.sides[i]).collect::<Vec<_>>();
    let sides = kept(&found.kept);
    let mut answer = Answer {
        program: crate::PROGRAM.into(),
        inputs: sides.iter().map(|side| side.input.clone()).collect(),
        question: "regions".into(),
        settings: evidence.settings.clone(),
        pixels: evidence.pixels(),
        judged_pixels: found.used,
        method: methods(&found),
        verdict_text: "cannot be judged: zones are described, not tested".into(),
        ..Answer::default()
    };
    let makeups: Vec<String> = found.zones.iter().map(|zone| makeup(zone, &sides)).collect();
    answer.sentence = sentence(evidence, &found, &sides, &makeups);
    answer.cautions = cautions(&found, &sides);
    numbers(&mut answer, evidence, &found);
    let mut rasters = Rasters::new();
    if let Some(made) = found.made.as_ref().filter(|made| made.count > 1) {
        answer.table = table(evidence, &found, made, &sides);
        answer.figures = figures(evidence, &found, made, &makeups);
        answer.zones = std::iter::once("no data".to_owned())
            .chain(makeups.iter().enumerate().map(|(i, makeup)| format!("zone {}: {makeup}", i + 1)))
            .collect();
        answer.shows.push(Shown { show: "zones".into(), label: "Zones".into() });
    }
    let is_parted = !answer.zones.is_empty();
    if let (Some(made), Some(side), true) = (found.made, evidence.sides.first(), is_parted) {
        let values = &side.signal.values;
        if let Some(grid) = Grid::from_vec(values.width(), values.height(), made.labels) {
            rasters.insert("zones".into(), Raster::U8(grid));
        }
    }
    Ok((answer, rasters))
}

/// "more Fe K and Mn K, less Ca K".
fn makeup(zone: &Zone, sides: &[&Side]) -> String {
    let mut order: Vec<usize> = (0..sides.len()).collect();
    order.sort_by(|&a, &b| zone.maps[b].off.abs().total_cmp(&zone.maps[a].off.abs()));
    let named: Vec<usize> =
        order.into_iter().filter(|&j| zone.maps[j].off.abs() >= APART).take(MOST_NAMED).collect();
    let of = |is_more: bool| -> Vec<String> {
        named.iter().filter(|&&j| (zone.maps[j].off > 0.0) == is_more).map(|&j| sides[j].label()).collect()
    };
    let (more, less) = (of(true), of(false));
    match (more.is_empty(), less.is_empty()) {
        (true, true) => "nothing that sets it apart".into(),
        (false, true) => format!("more {}", listed(&more)),
        (true, false) => format!("less {}", listed(&less)),
        (false, false) => format!("more {}, less {}", listed(&more), listed(&less)),
    }
}

fn maps_text(sides: &[&Side]) -> String {
    match sides {
        [] => "No map".into(),
        [one] => one.label(),
        [_, _] | [_, _, _] => listed(&sides.iter().map(|side| side.label()).collect::<Vec<_>>()),
        many => format!("{} maps", many.len()),
    }
}

fn place(evidence: &Evidence) -> String {
    if evidence.asked.id.is_none() { WHOLE_FIELD.into() } else { format!("“{}”", evidence.asked.name) }
}

fn sentence(evidence: &Evidence, found: &Found, sides: &[&Side], makeups: &[String]) -> String {
    let place = place(evidence);
    let Some(made) = &found.made else {
        return format!("Zones of {place} cannot be made: {}.", found.reason);
    };
    if made.count < 2 {
        let half = half(made);
        return format!(
            "Nothing in {} parts {place}: zones made on {} of it say no more about {} than one mean does.",
            if sides.len() > 3 { format!("these {} maps", sides.len()) } else { maps_text(sides) },
            half.0,
            half.1
        );
    }
    let zone = |i: usize| {
        format!("zone {} ({}) has {}", i + 1, share_text(found.zones[i].pixels, found.used), makeups[i])
    };
    let named: Vec<String> = (0..made.count.min(MOST_ZONES_NAMED)).map(zone).collect();
    let more = match made.count.saturating_sub(MOST_ZONES_NAMED) {
        0 => String::new(),
        1 => "; one more stands in the table".into(),
        more => format!("; {more} more stand in the table"),
    };
    let verb = if sides.len() == 1 { "parts" } else { "part" };
    let number = if found.wish.zones.is_some() { "as asked" } else { "a number chosen by them" };
    let sure = stays_all(found, made).map_or_else(String::new, |share| {
        format!(" With half {}, {} of the pixels stay in their zone.", what(made), percent(share))
    });
    format!(
        "{} {verb} {place} into {} zones ({number}): {}{more}.{sure}",
        capital(&maps_text(sides)),
        made.count,
        named.join("; "),
    )
}

/// What halves are halves of.
fn what(made: &Zones) -> &'static str {
    if made.is_thinned { "the counts" } else { "the columns of pixels" }
}

/// The half that makes zones and the half that tests them, in words.
fn half(made: &Zones) -> (&'static str, &'static str) {
    if made.is_thinned {
        ("one half of the counts", "the other half")
    } else {
        ("every other column", "the columns between")
    }
}

/// Share of all pixels that stay in their zone.
fn stays_all(found: &Found, made: &Zones) -> Option<f64> {
    let parts = made
        .stays
        .iter()
        .zip(&found.zones)
        .filter_map(|(stays, zone)| Some((*stays.as_ref()?, zone.pixels as f64)));
    let (sum, pixels) =
        parts.fold((0.0, 0.0), |(sum, n), (share, pixels)| (sum + share * pixels, n + pixels));
    (pixels > 0.0).then(|| sum / pixels)
}

fn numbers(answer: &mut Answer, evidence: &Evidence, found: &Found) {
    let reason = &found.reason;
    let made = found.made.as_ref();
    let mut put = |name: &str, value: Option<f64>, unit: &str, why: &str| {
        answer.numbers.insert(name.into(), Number::or_reason(value, unit, why));
    };
    put("zones", made.map(|made| made.count as f64), "", reason);
    let one = if reason.is_empty() { "there is one zone" } else { reason };
    let several = made.filter(|made| made.count > 1);
    put("share_that_stays", several.and_then(|made| stays_all(found, made)), "", one);
    put("agreement_of_halves", several.and_then(|made| made.chosen.agreement), "", one);
    put("specks", several.map(|made| made.specks.1 as f64), "", one);
    if found.wish.by == By::Parts {
        put("deviance_per_degree", made.and_then(|made| made.deviance_per_df), "", reason);
    }
    for (i, zone) in found.zones.iter().enumerate().filter(|_| several.is_some()) {
        answer.numbers.insert(
            format!("share_of_zone_{}", i + 1),
            Number::or_reason(share(zone.pixels, found.used), "", ""),
        );
        answer.numbers.insert(format!("area_of_zone_{}", i + 1), area_number(zone.pixels, evidence.step));
    }
}

fn number_cell(value: Option<f64>) -> Cell {
    value.filter(|v| v.is_finite()).map_or_else(Cell::default, |v| Cell::number(v, figure(v)))
}

/// A row for each zone, and below it one for each map in it.
fn table(evidence: &Evidence, found: &Found, made: &Zones, sides: &[&Side]) -> Table {
    let unit = sides.first().map_or("", |side| side.kind.unit());
    let is_one = !unit.is_empty() && sides.iter().all(|side| side.kind.unit() == unit);
    let of_mean = |text: &str| if is_one { format!("{text} ({unit} per pixel)") } else { text.to_owned() };
    let columns = vec![
        "pixels".to_owned(),
        "share of the pixels".into(),
        "area".into(),
        "stays with half".into(),
        of_mean("mean"),
        of_mean("from, with patches"),
        of_mean("to, with patches"),
        "ratio to the mean of all".into(),
        "standard deviations off".into(),
    ];
    let mut rows = Vec::new();
    for (i, zone) in found.zones.iter().enumerate() {
        let part = share(zone.pixels, found.used);
        let stays = made.stays.get(i).copied().flatten();
        let shown = |value: Option<f64>| value.map_or_else(Cell::default, |v| Cell::number(v, percent(v)));
        let mm2 = area_number(zone.pixels, evidence.step).value;
        let mut cells = vec![
            Cell::number(zone.pixels as f64, whole(zone.pixels)),
            shown(part),
            mm2.map_or_else(Cell::default, |v| Cell::number(v, area(zone.pixels, evidence.step))),
            shown(stays),
        ];
        cells.resize(columns.len(), Cell::default());
        rows.push(Row { label: format!("zone {}", i + 1), cells });
        for ((map, side), mean) in zone.maps.iter().zip(sides).zip(&found.means) {
            let mut cells = vec![Cell::default(); 4];
            cells.extend([
                number_cell(Some(map.mean)),
                number_cell(map.interval.map(|i| i.low)),
                number_cell(map.interval.map(|i| i.high)),
                number_cell((*mean > 0.0).then(|| map.mean / mean)),
                Cell::number(map.off, rounded(map.off, 2)),
            ]);
            rows.push(Row { label: format!("zone {}, {}", i + 1, side.label()), cells });
        }
    }
    Table { columns, rows }
}

fn figures(evidence: &Evidence, found: &Found, made: &Zones, makeups: &[String]) -> Vec<Figure> {
    let of = |(i, zone): (usize, &Zone)| {
        let mut detail = vec![makeups[i].clone(), area(zone.pixels, evidence.step)];
        detail.extend(
            made.stays
                .get(i)
                .copied()
                .flatten()
                .map(|share| format!("{} of it stays with half {}", percent(share), what(made))),
        );
        Figure {
            label: format!("zone {}", i + 1),
            value: share_text(zone.pixels, found.used),
            detail: detail.join("; "),
        }
    };
    let mut out: Vec<Figure> = found.zones.iter().enumerate().map(of).collect();
    if let Some(agreement) = made.chosen.agreement {
        out.push(Figure {
            label: "agreement of halves".into(),
            value: rounded(agreement, 2),
            detail: "adjusted Rand index of the zones that either half makes: 1 the same, 0 as by chance"
                .into(),
        });
    }
    out
}

fn cautions(found: &Found, sides: &[&Side]) -> Vec<String> {
    let mut out = vec![
        "Zones are parts that look alike in these maps. They are no materials: one paint can fall into several by its thickness or what lies over it, and several can share one.".to_owned(),
        "These maps made the zones, so the zones are described on them and not tested; a region made of one is tested only on other maps.".to_owned(),
    ];
    if !found.left_out.is_empty() {
        let all: Vec<&str> = found.left_out.iter().map(|(_, why)| why.as_str()).collect();
        out.push(format!("Left out: {}.", all.join("; ")));
    }
    let named = |is: &dyn Fn(&Side) -> bool| -> Vec<String> {
        sides.iter().filter(|side| is(side)).map(|side| side.label()).collect()
    };
    let copies = named(&|side| side.kind == Kind::DisplayCopy);
    if !copies.is_empty() {
        out.push(format!("Of {} only the shape can be used: it is a picture of a map and not its counts, and how it was stretched decides how much it weighs.", listed(&copies)));
    }
    if found.wish.by == By::Parts {
        out.push("Parts go by the proportions of the maps and not by how much is counted: a thin and a thick layer of one make-up, or a ground beside a board that counts the same element, are one part.".into());
    }
    let scaled = named(&|side| side.noise() == Noise::Empirical);
    if !scaled.is_empty() {
        out.push(match found.wish.by {
            By::Means => format!("{} holds no counts: it is weighed by its own spread.", listed(&scaled)),
            By::Parts => format!("{} holds no counts and is weighed as if it did, values below 0 as 0: the parts lean to maps of large numbers.", listed(&scaled)),
        });
    }
    if found.saturated > 0 {
        out.push(format!(
            "{} of the zones are saturated in a map: there is at least as much as was counted.",
            counted(found.saturated)
        ));
    }
    let Some(made) = &found.made else { return out };
    let pooled: Vec<String> = sides
        .iter()
        .zip(&made.scalings)
        .filter_map(|(side, scaling)| match scaling.way {
            Way::Pooled(n) => Some(format!("{} ({n} × {n})", side.label())),
            _ => None,
        })
        .collect();
    if !pooled.is_empty() {
        out.push(format!(
            "Too faint alone, summed over squares of pixels: {}. Their edges are that much less sharp.",
            listed(&pooled)
        ));
    }
    if found.wish.zones.is_none() && made.count == found.highest && made.count > 1 {
        out.push(format!("{} is the most there can be; more zones might say more.", made.count));
    }
    let unsure: Vec<String> = made
        .stays
        .iter()
        .enumerate()
        .filter(|(_, stays)| stays.is_some_and(|share| share < UNSURE))
        .map(|(i, _)| format!("zone {}", i + 1))
        .collect();
    if !unsure.is_empty() && made.count > 1 {
        out.push(format!(
            "Unsure: of {} less than {} stays with half {}.",
            listed(&unsure),
            percent(UNSURE),
            what(made)
        ));
    }
    if made.nowhere > 0 {
        out.push(format!("{} of the parts counts most in no pixel and makes no zone.", made.nowhere));
    }
    if made.count > 1 && made.specks.1 > 0 {
        out.push(format!(
            "{} lie in specks, patches of fewer than 5 pixels that hang together.",
            counted(made.specks.0)
        ));
    }
    out
}

fn methods(found: &Found) -> Vec<Method> {
    let mut out = vec![
        Method::published(
            "Counts are given an even scatter, 2 √(n + 3/8), then mean 0 and standard deviation 1; other values are taken less their median, over their own spread (5th to 95th percentile).",
            "F. J. Anscombe, Biometrika 35 (1948) 246",
        ),
        Method::own(
            "A map takes part where neighbours are more alike than chance makes them: lag-one correlation above four standard errors. Counts with a mean below 2 and no bright part are summed over squares of 3, 5 or 7 pixels first.",
        ),
    ];
    if found.wish.coherence > 0 {
        out.push(Method::published(format!("Every pixel is taken together with those within {} that differ from it by no more than noise.", counted(u64::from(found.wish.coherence))), "after J.-S. Lee, Computer Vision, Graphics, and Image Processing 24 (1983) 255"));
        out.push(Method::published(format!("Each of the 8 neighbours in another zone costs {} of half a squared standard deviation; every pixel in turn takes the cheapest zone.", rounded(0.5 * f64::from(found.wish.coherence), 2)), "J. Besag, Journal of the Royal Statistical Society B 48 (1986) 259"));
    }
    match found.wish.by {
        By::Means => {
            out.push(Method::published("Groups of like pixels: k-means.", "S. P. Lloyd, IEEE Trans. Inf. Theory 28 (1982) 129"));
            out.push(Method::published("Ten starts spread by chance from the seed; the best is kept.", "D. Arthur and S. Vassilvitskii, Proc. 18th ACM-SIAM Symp. Discrete Algorithms (2007) 1027"));
        }
        By::Parts => out.push(Method::published("Parts of the counts: non-negative factors under the Kullback-Leibler divergence, which is the Poisson likelihood; a pixel belongs to the part that explains most of its counts.", "D. D. Lee and H. S. Seung, Advances in Neural Information Processing Systems 13 (2001) 556")),
    }
    if let Some(made) = &found.made {
        let halves = if made.is_thinned {
            "Every count is dealt to one of two halves by chance"
        } else {
            "Columns of pixels are dealt to two halves in turn"
        };
        out.push(Method::own(format!("{halves}; zones made on one are held against the other. The number is the smallest that takes 99 of 100 parts of the largest fall of what the other half costs, 1 where that fall may be chance. Tried on {} and made on {}; all pixels are then put into zones.", counted(made.tried_on as u64), counted(made.fitted_on as u64))));
        out.push(Method::published(
            "Agreement: adjusted Rand index.",
            "L. Hubert and P. Arabie, Journal of Classification 2 (1985) 193",
        ));
    }
    out.push(Method::published("Interval of a zone's mean: as of a region whose neighbouring pixels are alike, 64 block means at most.", "H. D. Patterson and R. Thompson, Biometrika 58 (1971) 545"));
    out
}
