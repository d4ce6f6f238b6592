//! Where another technique should measure: inside the passage, away from rims, where the element that matters is strongest
//! and everything around is even.

use super::elements::OfElement;
use super::part::NextPlace;
use super::sentence::or_listed;
use super::{name_of, place, states};
use crate::ask::evidence::{Evidence, Side};
use crate::grid::Mask;
use crate::notice::OutOfMemory;
use crate::numerics::figure::figure;
use crate::numerics::order;
use crate::pigment::{Reach, State, ToSettle};

/// Places for one alternative.
const MOST_PLACES: usize = 3;
/// Alternatives for which places are proposed.
const MOST_ALTERNATIVES: usize = 3;
/// Materials of an alternative that are named.
const MOST_NAMES: usize = 5;
/// Deeper inside than this many rims is not better.
const DEEP: u32 = 3;

/// Two or three places for each open alternative.
pub(super) fn next(
    evidence: &Evidence,
    found: &[OfElement],
    to_settle: &[ToSettle],
) -> Result<Vec<NextPlace>, OutOfMemory> {
    let Some(first) = evidence.sides.first() else { return Ok(Vec::new()) };
    let mask = states::mask(evidence, first)?;
    let depth = depths(&mask);
    let mut out = Vec::new();
    let mut done: Vec<&[&'static str]> = Vec::new();
    for settle in to_settle {
        // One alternative with several techniques: the same places serve all.
        if done.contains(&settle.between.as_slice()) || done.len() == MOST_ALTERNATIVES {
            continue;
        }
        done.push(&settle.between);
        let same = to_settle.iter().filter(|other| other.between == settle.between);
        let techniques: Vec<&str> = same.map(|other| other.technique.words()).collect();
        let is_there = |one: &&OfElement| one.seen.state == State::Detected;
        let of = |element| found.iter().filter(is_there).find(|one| one.seen.element == element);
        let seen: Vec<&OfElement> = settle.at.iter().filter_map(|element| of(*element)).collect();
        // A soft line shows the outermost micrometres only.
        let wanted = seen.iter().find(|one| one.seen.reach == Reach::Hard).or(seen.first()).copied();
        // What no map shows is measured anywhere; once is enough.
        if wanted.is_none() && !out.is_empty() {
            continue;
        }
        let others: Vec<&OfElement> =
            found.iter().filter(|one| Some(one.place) != wanted.map(|w| w.place)).collect();
        for chosen in chosen(evidence, (&mask, &depth), wanted, &others) {
            let at = (f64::from(chosen.x) + 0.5, f64::from(chosen.y) + 0.5);
            out.push(NextPlace {
                at: [at.0, at.1],
                place_text: place::words(evidence, at),
                technique: or_listed(&techniques),
                between: between(&settle.between),
                reason: reason(evidence, &chosen, wanted),
            });
        }
    }
    Ok(out)
}

/// The names of an alternative; of many the first, and how many more.
fn between(ids: &[&str]) -> Vec<String> {
    let more = ids.len().saturating_sub(MOST_NAMES);
    let mut names: Vec<String> = ids.iter().take(MOST_NAMES).map(|id| name_of(id)).collect();
    if more > 0 {
        names.push(format!("{more} more"));
    }
    names
}

/// A place that may be proposed.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Candidate {
    x: u32,
    y: u32,
    depth: u32,
    radius: u32,
    /// Mean signal above background around it, of the element that matters.
    net: f64,
    score: f64,
}

fn reason(evidence: &Evidence, at: &Candidate, wanted: Option<&OfElement>) -> String {
    let side = 2 * at.radius + 1;
    let inside = match evidence.asked.id {
        Some(_) => format!("{} px inside the edge of “{}”", at.depth, evidence.asked.name),
        None => format!("{} px inside the field", at.depth),
    };
    match wanted {
        Some(one) => format!(
            "{} is strong and even there ({} above background over {side} × {side} pixels), with little change in the other elements, {inside}.",
            one.seen.label,
            match evidence.sides.get(one.place).map_or("", |side| side.kind.unit()) {
                "" => format!("{} a pixel", figure(at.net)),
                unit => format!("{} {unit} a pixel", figure(at.net)),
            }
        ),
        None => format!(
            "No map shows the materials in question; the other elements change little there, {inside}."
        ),
    }
}

/// How far inside each pixel lies (chessboard distance to the nearest pixel outside, the grid's border counting as outside); 0
/// outside.
fn depths(mask: &Mask) -> Vec<u32> {
    let (width, height) = (mask.width() as usize, mask.height() as usize);
    let mut out: Vec<u32> = mask.data().iter().map(|&inside| if inside { u32::MAX } else { 0 }).collect();
    let step = |out: &mut Vec<u32>, x: usize, y: usize, forward: bool| {
        let i = y * width + x;
        if out[i] == 0 {
            return;
        }
        let mut least = u32::MAX;
        let near: [(isize, isize); 4] =
            if forward { [(-1, 0), (-1, -1), (0, -1), (1, -1)] } else { [(1, 0), (1, 1), (0, 1), (-1, 1)] };
        for (dx, dy) in near {
            let beside = x.checked_add_signed(dx).zip(y.checked_add_signed(dy));
            let beside = beside.filter(|(u, v)| *u < width && *v < height);
            least = least.min(beside.map_or(0, |(u, v)| out[v * width + u]));
        }
        out[i] = out[i].min(least.saturating_add(1));
    };
    for y in 0..height {
        for x in 0..width {
            step(&mut out, x, y, true);
        }
    }
    for y in (0..height).rev() {
        for x in (0..width).rev() {
            step(&mut out, x, y, false);
        }
    }
    out
}

fn chosen(
    evidence: &Evidence,
    (mask, depth): (&Mask, &[u32]),
    wanted: Option<&OfElement>,
    others: &[&OfElement],
) -> Vec<Candidate> {
    let deepest = depth.iter().copied().max().unwrap_or(0);
    let rim = evidence.rim_px.max(1);
    let least = (rim + 1).min(deepest);
    let radius = rim.min(least.saturating_sub(1)).min(3);
    let width = mask.width() as usize;
    let side_of = |one: &OfElement| evidence.sides.get(one.place);
    let mut all: Vec<Candidate> = Vec::new();
    let inside = || depth.iter().enumerate().filter(|(_, d)| **d > 0 && **d >= least).map(|(i, _)| i);
    let around: Vec<Vec<f64>> = others
        .iter()
        .filter_map(|one| side_of(one))
        .filter(|side| side.level.is_ok())
        .map(|side| inside().map(|i| mean_around(side, (i % width, i / width), radius).0).collect())
        .collect();
    let medians: Vec<f64> = around
        .iter()
        .map(|values| {
            let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
            order::sort(&mut sorted);
            order::quantile(&sorted, 0.5).unwrap_or(0.0)
        })
        .collect();
    let level = wanted.and_then(side_of).and_then(|side| side.level.as_ref().ok());
    for (place, i) in inside().enumerate() {
        let (x, y) = (i % width, i / width);
        let (net, flat) = match (wanted.and_then(side_of), level) {
            (Some(side), Some(level)) => {
                let (mean, variance) = mean_around(side, (x, y), radius);
                let by_chance = level.variance.max(mean).max(1e-9);
                (mean - level.background, 1.0 / (variance / by_chance).max(1.0))
            }
            _ => (1.0, 1.0),
        };
        if !net.is_finite() || net <= 0.0 {
            continue;
        }
        let stir: f64 = around
            .iter()
            .zip(&medians)
            .map(|(values, median)| ((values[place] - median) / (median.abs() + 1.0)).max(0.0))
            .filter(|v| v.is_finite())
            .sum();
        let deep = f64::from(depth[i].min(DEEP * rim)) / f64::from(DEEP * rim);
        let score = net * flat * deep / (1.0 + stir);
        all.push(Candidate { x: x as u32, y: y as u32, depth: depth[i], radius, net, score });
    }
    // The first in reading order of equal ones.
    all.sort_by(|a, b| b.score.total_cmp(&a.score).then((a.y, a.x).cmp(&(b.y, b.x))));
    let pixels = depth.iter().filter(|d| **d > 0).count() as f64;
    spread_out(&all, (pixels.sqrt() / 3.0).max(f64::from(2 * rim + 1)))
}

/// The best ones, no two nearer to each other than `apart`; nearer where there would be only one.
fn spread_out(all: &[Candidate], apart: f64) -> Vec<Candidate> {
    let pick = |apart: f64| {
        let mut out: Vec<Candidate> = Vec::new();
        for one in all {
            let is_far = |other: &Candidate| {
                let (dx, dy) = (f64::from(one.x) - f64::from(other.x), f64::from(one.y) - f64::from(other.y));
                dx * dx + dy * dy >= apart * apart
            };
            if out.len() < MOST_PLACES && out.iter().all(is_far) {
                out.push(*one);
            }
        }
        out
    };
    let far = pick(apart);
    if far.len() > 1 { far } else { pick(apart / 3.0) }
}

/// Mean and variance of the values around a place; NaN without any.
fn mean_around(side: &Side, (x, y): (usize, usize), radius: u32) -> (f64, f64) {
    let (width, height) = (side.signal.values.width() as usize, side.signal.values.height() as usize);
    let r = radius as usize;
    let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
    for v in y.saturating_sub(r)..(y + r + 1).min(height) {
        for u in x.saturating_sub(r)..(x + r + 1).min(width) {
            if let Some(value) = side.signal.anywhere(v * width + u) {
                n += 1.0;
                sum += value;
                squares += value * value;
            }
        }
    }
    let mean = sum / n;
    let variance = if n > 1.0 { (squares - n * mean * mean).max(0.0) / (n - 1.0) } else { 0.0 };
    (mean, variance)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn depth_is_the_chessboard_distance_to_what_lies_outside() {
        let rows = [".....", ".###.", ".###.", ".###.", "....."].concat();
        let mask = Mask::from_vec(5, 5, rows.bytes().map(|c| c == b'#').collect()).unwrap();
        let depth = depths(&mask);
        assert_eq!((depth[12], depth[6], depth[0]), (2, 1, 0));
        let whole = Mask::try_filled(5, 5, true).unwrap();
        assert_eq!(depths(&whole)[12], 3, "the border of the grid is outside");
    }

    #[test]
    fn places_lie_apart() {
        let at = |x, score| Candidate { x, y: 0, depth: 1, radius: 1, net: 1.0, score };
        let all = [at(10, 5.0), at(11, 4.0), at(20, 3.0), at(2, 2.0), at(30, 1.0)];
        let chosen: Vec<u32> = spread_out(&all, 8.0).iter().map(|one| one.x).collect();
        assert_eq!(chosen, [10, 20, 2]);
    }
}
