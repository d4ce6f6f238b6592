//! Single pixels far above all their neighbours. Particles of paint look the same, so they are listed, never replaced
//! unless the user names them.

use super::values::{no_longer_counts, pixels, roots, unknown_error, variance};
use super::{Derived, Found, Input, Recipe, Replacement};
use crate::grid::Grid;
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::{count, rounded};
use crate::numerics::order;
use crate::numerics::stabilise::anscombe;
use serde::Serialize;

/// Most pixels that are listed, the strongest first.
pub const LISTED: usize = 200;
/// Above this many standard deviations a pixel is listed.
const HOT: f64 = 5.0;
/// Above this many it is said of another map that it has the pixel too.
const TOO: f64 = 3.0;
/// The neighbours agree if the largest and smallest of them lie within this many standard deviations: eight equal
/// counts exceed it with a chance below 1 in 100 (range of 8 normal values, tables from memory; tried in the tests).
const AGREE: f64 = 5.0;
/// Beside an edge they cannot agree; there the pixel must stand this far above the largest of them, which no tip or
/// corner of a feature does.
const ABOVE_ALL: f64 = 5.0;
/// Fewer neighbours than this decide nothing.
const FEWEST: usize = 5;

/// A pixel far above its neighbours.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HotPixel {
    /// Column.
    pub x: u32,
    /// Row.
    pub y: u32,
    /// What stands there.
    pub value: f64,
    /// Median of its neighbours (the upper of the middle two).
    pub replacement: f64,
    /// How far above, in standard deviations of stabilised counts.
    pub z: f64,
    /// Other maps that have it too, by what the user calls them: a particle rather than a fault.
    pub also_in: Vec<String>,
}

/// Pixels far above neighbours that agree among themselves, or far above all of them.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HotPixels {
    /// The strongest, at most [`LISTED`], strongest first.
    pub listed: Vec<HotPixel>,
    /// How many there are.
    pub total: u64,
}

/// Values of the neighbours that have data and are not left out.
fn neighbours(
    values: &Grid<f64>,
    x: u32,
    y: u32,
    is_left_out: impl Fn(u32, u32) -> bool,
) -> ([f64; 8], usize) {
    let (mut out, mut n) = ([f64::NAN; 8], 0);
    for near_y in y.saturating_sub(1)..=y.saturating_add(1) {
        for near_x in x.saturating_sub(1)..=x.saturating_add(1) {
            let Some(&value) = values.get(near_x, near_y) else { continue };
            if (near_x, near_y) != (x, y) && !value.is_nan() && !is_left_out(near_x, near_y) {
                out[n] = value;
                n += 1;
            }
        }
    }
    order::sort(&mut out[..n]);
    (out, n)
}

/// Distance of two values in standard deviations of stabilised counts, or of the error map where there is one.
fn distance(input: &Input<'_>, from: f64, to: f64, x: u32, y: u32) -> f64 {
    match input.sigma.and_then(|sigma| sigma.get(x, y)) {
        Some(&sigma) => (to - from) / sigma,
        None => anscombe(to) - anscombe(from),
    }
}

/// Whether the noise of the map is known, so that a pixel can be called far off.
fn has_known_noise(input: &Input<'_>) -> bool {
    input.kind == Kind::Window || input.sigma.is_some()
}

/// z, the median of the neighbours and whether the pixel is single: these agree, or it is above all of them. `None` with
/// fewer than five neighbours.
fn looked_at(input: &Input<'_>, x: u32, y: u32) -> Option<(f64, f64, bool)> {
    let value = *input.values.get(x, y)?;
    let (near, n) = neighbours(input.values, x, y, |_, _| false);
    if value.is_nan() || n < FEWEST {
        return None;
    }
    let median = near[n / 2];
    let z = distance(input, median, value, x, y);
    let agree = distance(input, near[0], near[n - 1], x, y) <= AGREE;
    let above_all = distance(input, near[n - 1], value, x, y) > ABOVE_ALL;
    Some((z, median, agree || above_all)).filter(|(z, _, _)| !z.is_nan())
}

/// A quick look at counts: false only where z cannot exceed the limit.
fn may_be_hot(rows: [&[f64]; 3], x: usize) -> bool {
    let value = rows[1][x];
    let below = anscombe(value) - HOT;
    if below.is_nan() || below <= 0.0 {
        return false;
    }
    // The median, the fifth of eight, exceeds this limit if more than three of the eight do.
    let limit = 0.25 * below * below - 0.375;
    let above = |v: &&f64| **v > limit;
    let sides = [rows[1][x - 1], rows[1][x + 1]];
    let over =
        rows[0][x - 1..=x + 1].iter().chain(&rows[2][x - 1..=x + 1]).chain(&sides).filter(above).count();
    over <= 4
}

/// Pixels of the first map more than 5 standard deviations above the median of their neighbours, where these lie within
/// 5 of each other or the pixel more than 5 above the largest of them. `None` where the noise of the map is not known (no counts and no error map).
pub fn hot_pixels(inputs: &[Input<'_>]) -> Result<Option<HotPixels>, OutOfMemory> {
    let Some((first, others)) = inputs.split_first() else { return Ok(None) };
    if !has_known_noise(first) {
        return Ok(None);
    }
    let (width, height) = (first.values.width(), first.values.height());
    let mut found: Vec<HotPixel> = Vec::new();
    let mut total = 0u64;
    for y in 0..height {
        let is_inner_row = y > 0 && y + 1 < height;
        let row = |dy: u32| first.values.row((y + dy).saturating_sub(1));
        let rows = [row(0), row(1), row(2)];
        for x in 0..width {
            let is_inner = is_inner_row && x > 0 && x + 1 < width;
            if is_inner && first.sigma.is_none() && !may_be_hot(rows, x as usize) {
                continue;
            }
            let Some((z, replacement, true)) = looked_at(first, x, y).filter(|(z, _, _)| *z > HOT) else {
                continue;
            };
            total += 1;
            let value = first.values.get(x, y).copied().unwrap_or(f64::NAN);
            found.push(HotPixel { x, y, value, replacement, z, also_in: Vec::new() });
            if found.len() >= 2 * LISTED {
                keep_strongest(&mut found);
            }
        }
    }
    keep_strongest(&mut found);
    for hot in &mut found {
        let has_it = |other: &&Input<'_>| {
            has_known_noise(other) && looked_at(other, hot.x, hot.y).is_some_and(|(z, _, _)| z > TOO)
        };
        hot.also_in = others.iter().filter(has_it).map(|other| other.label.to_owned()).collect();
    }
    Ok(Some(HotPixels { listed: found, total }))
}

fn keep_strongest(found: &mut Vec<HotPixel>) {
    found.sort_by(|a, b| b.z.total_cmp(&a.z).then((a.y, a.x).cmp(&(b.y, b.x))));
    found.truncate(LISTED);
}

pub(super) fn repair(inputs: &[Input<'_>], named: &[[u32; 2]], to: Replacement) -> Result<Derived, Fault> {
    let input = &inputs[0];
    let mut named: Vec<[u32; 2]> = named.to_vec();
    named.sort_unstable_by_key(|&[x, y]| (y, x));
    named.dedup();
    let is_named = |x: u32, y: u32| named.binary_search_by_key(&(y, x), |&[x, y]| (y, x)).is_ok();
    let mut values = super::values::copied(input.values)?;
    let mut sigma = roots(variance(input)?);
    let mut replaced = Vec::new();
    let width = values.width() as usize;
    for &[x, y] in &named {
        let Some(&value) = input.values.get(x, y) else {
            return Err(Fault::bad_setting(format!(
                "{} has no pixel at x {x}, y {y}. Take that one off the list.",
                input.label
            )));
        };
        let (near, n) = neighbours(input.values, x, y, is_named);
        let median = if n == 0 { f64::NAN } else { near[n / 2] };
        let new = if to == Replacement::Median { median } else { f64::NAN };
        let index = y as usize * width + x as usize;
        values.data_mut()[index] = new;
        if let Some(sigma) = &mut sigma {
            // What stands there now was not counted: it may be off by as much as its neighbours differ.
            let mean = crate::numerics::sums::mean(&near[..n]).unwrap_or(f64::NAN);
            let spread = crate::numerics::sums::squared_deviations(&near[..n], mean) / (n.max(2) - 1) as f64;
            let least = if input.kind == Kind::Window { new.max(0.0) } else { 0.0 };
            sigma.data_mut()[index] = if new.is_nan() { f64::NAN } else { spread.max(least).sqrt() };
        }
        let z = if has_known_noise(input) { distance(input, median, value, x, y) } else { f64::NAN };
        replaced.push(HotPixel { x, y, value, replacement: new, z, also_in: Vec::new() });
    }
    let recipe = Recipe::HotPixels { pixels: named, r#as: to };
    let label = recipe.sentence(&[input.label.to_owned()]);
    let mut account = vec![format!(
        "{} named by the user {} {}.",
        pixels(replaced.len() as u64),
        if replaced.len() == 1 { "was" } else { "were" },
        if to == Replacement::Blank { "made blank" } else { "replaced by the median of their neighbours" }
    )];
    for hot in replaced.iter().take(20) {
        let z = if hot.z.is_nan() { String::new() } else { format!(", {} σ above them", rounded(hot.z, 2)) };
        let now = if hot.replacement.is_nan() { "blank".into() } else { count(hot.replacement) };
        account.push(format!("x {}, y {}: {} became {now}{z}.", hot.x, hot.y, count(hot.value)));
    }
    let mut findings =
        vec!["A particle of paint looks like a hot pixel. The original map is kept as it was.".to_owned()];
    let kind = if to == Replacement::Median { no_longer_counts(input.kind) } else { input.kind };
    if kind != input.kind {
        findings.push("Values that were never counted stand in it, so it does not pass for counts any more. Made blank, the pixels would leave it a map of counts.".into());
    }
    if sigma.is_none() && input.kind != Kind::DisplayCopy {
        findings.push(unknown_error(&[input.label]));
    }
    Ok(Derived {
        values,
        sigma,
        kind,
        cell: (1, 1),
        recipe,
        account,
        findings,
        found: Found::HotPixels(replaced),
        label,
    })
}
