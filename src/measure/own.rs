//! A beyond what accompanies B, in areas: where single pixels cannot say it, some that hang together can.

use super::accompany::sure_of_b;
use super::squares::each_square;
use super::two::{Sums, Two};
use super::{Accompaniment, connected, order_of};
use crate::grid::{Mask, grown, try_vec};
use crate::notice::OutOfMemory;

/// Pixels of A that must hang together to be an area of its own.
pub const FEWEST_CONNECTED: usize = 10;
/// Standard deviations by which an area must exceed what accompanies B.
const BEYOND: f64 = 5.0;
/// The same for a square of 3 x 3 pixels that may be part of an area.
const PART: f64 = 4.0;
/// B at more than this share of what is expected is there, if faintly.
const A_LITTLE: f64 = 0.05;
/// If more of the pixels of B than this hold more A than usual, what is usual is not known.
const MOST_INSIDE: f64 = 0.05;
/// The factor must leave what is usual by so many of its own standard deviations from place to place.
const SPREADS: f64 = 5.0;
/// A square this many standard deviations beyond what accompanies B is odd, band or not.
const ODD: f64 = 5.0;

/// An area of A.
#[derive(Debug, Clone, PartialEq)]
pub struct Area {
    /// Its pixels, row by row.
    pub pixels: Vec<usize>,
    /// A above background, over all of them.
    pub a: f64,
    /// B above background, over all of them.
    pub b: f64,
}

/// Areas of A where B is not detected, away from B itself.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Alone {
    /// The B that accompanies so much A would be seen in the area as a whole, and is not there.
    pub without_b: Vec<Area>,
    /// B is there as well, too faint for single pixels.
    pub with_faint_b: Vec<Area>,
    /// It cannot be said: A or the expected B is too little.
    pub open: Vec<Area>,
}

fn area(two: &Two<'_>, pixels: Vec<usize>) -> (Area, Sums) {
    let all = two.sum(&pixels);
    (Area { pixels, a: all.x, b: all.y }, all)
}

/// Whether the sum of B shows some of it, at more than a twentieth of what goes with so much A, where `richest` is the
/// largest factor of accompaniment. Three standard deviations and twice the floor are not enough to say so.
fn has_faint_b(two: &Two<'_>, of: &Sums, richest: f64) -> bool {
    let by_chance = 3.0 * of.noise_b.sqrt() + 2.0 * two.rules.floor * of.n * two.at.1.background;
    of.y > by_chance && of.y * richest > A_LITTLE * of.x
}

/// Pixels within `px` of B: of pixels, asked about or not, in which it is detected together with two of their neighbours, so
/// that single pixels that chance puts anywhere have no surroundings.
///
/// # Errors
/// No memory.
pub fn near_b(two: &Two<'_>, px: u32) -> Result<Mask, OutOfMemory> {
    let (width, height) = (two.b.values.width(), two.b.values.height());
    let has = |x: u32, y: u32| {
        let i = y as usize * width as usize + x as usize;
        two.b.anywhere(i).is_some_and(|value| value >= two.at.1.critical)
    };
    let mut sure = Mask::try_filled(width, height, false)?;
    for y in 0..height {
        for x in 0..width {
            let near = (y.saturating_sub(1)..(y + 2).min(height))
                .flat_map(|y| (x.saturating_sub(1)..(x + 2).min(width)).map(move |x| (x, y)));
            // The pixel itself and two neighbours.
            sure.data_mut()[y as usize * width as usize + x as usize] =
                has(x, y) && near.filter(|&(x, y)| has(x, y)).count() >= 3;
        }
    }
    grown(&sure, px)
}

/// Whether B is there after all, too faint for single pixels, in the pixels `chosen`.
pub fn is_faintly_there(two: &Two<'_>, chosen: &[usize], richest: f64) -> bool {
    has_faint_b(two, &two.sum(chosen), richest)
}

/// Looks at every area of at least ten connected pixels with A and without B, `rim_px` away from pixels with B.
///
/// # Errors
/// No memory.
pub fn alone(two: &Two<'_>, with: &Accompaniment, rim_px: u32) -> Result<Alone, OutOfMemory> {
    let near = grown(&two.mask(|i| is_strong(two, i))?, rim_px)?;
    let away = two.mask(|i| two.has_a(i) && !two.has_b(i) && !near.data()[i])?;
    let mut out = Alone::default();
    for pixels in connected(&away, FEWEST_CONNECTED)?.1 {
        let (area, all) = area(two, pixels);
        let k = with.richest;
        let expected = all.x - k * all.y.max(0.0);
        let of_b = two.rules.floor * all.n * two.at.1.background;
        let wide = two.variance(&all, k) + two.floor(&all, 0.0) + k * k * of_b * of_b;
        let would_be_seen = all.x >= k * two.limit_of_b(&all);
        if has_faint_b(two, &all, k) {
            out.with_faint_b.push(area);
        } else if would_be_seen && expected >= BEYOND * wide.max(f64::MIN_POSITIVE).sqrt() {
            out.without_b.push(area);
        } else {
            out.open.push(area);
        }
    }
    Ok(out)
}

/// B is detected or saturated, asked about or not: a feature that has a rim.
fn is_strong(two: &Two<'_>, i: usize) -> bool {
    two.b.saturated.data()[i] || two.b.anywhere(i).is_some_and(|v| v >= two.at.1.critical)
}

/// Areas inside B that hold more A than goes with it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Inside {
    /// Areas where B is as around them, or so little different that the excess is larger than that could make it.
    pub more: Vec<Area>,
    /// Areas where it may be thickness, cover or another material.
    pub open: Vec<Area>,
}

/// Looks for areas of at least ten connected pixels, `rim_px` within the pixels sure of B, in which squares of 3 x 3 pixels
/// exceed the usual factor: its band, the largest factor seen in a twentieth of the blocks, and five times its spread from
/// place to place. *More* is said only if all of them together are at most a twentieth of B, and the ratio to the usual is
/// beyond the square of the change of B against a ring around the area: thickness, dilution and cover change A and B both.
/// Our own rule; its rates stand in `docs/STUDIES.md`.
///
/// # Errors
/// No memory.
pub fn inside(two: &Two<'_>, with: &Accompaniment, rim_px: u32) -> Result<Inside, OutOfMemory> {
    let mut out = Inside::default();
    if !with.is_of_both || !two.is_testable() {
        return Ok(out);
    }
    let sure = sure_of_b(two)?;
    let others = grown(&two.mask(|i| !sure.data()[i])?, rim_px)?;
    let usual = with.richest.max(with.k * (1.0 + SPREADS * with.spread));
    let mut is_more = two.mask(|_| false)?;
    each_square(two, 1, |i, all| {
        let wide = two.variance(all, usual) + two.floor(all, usual);
        let is_beyond = all.n > 0.0 && all.x - usual * all.y.max(0.0) >= PART * wide.max(0.0).sqrt();
        is_more.data_mut()[i] = !others.data()[i] && is_beyond;
    })?;
    let areas = connected(&is_more, FEWEST_CONNECTED)?.1;
    if areas.is_empty() {
        return Ok(out);
    }
    let count = |mask: &Mask| mask.data().iter().filter(|inside| **inside).count() as f64;
    let is_usual_known = count(&is_more) <= MOST_INSIDE * count(&sure);
    let marked = grown(&is_more, rim_px)?;
    for pixels in areas {
        let ring = ring(two, &pixels, &marked, rim_px)?;
        let (area, all) = area(two, pixels);
        let of_ring = two.sum(&ring);
        let change = if of_ring.n > 0.0 { (all.y / all.n) / (of_ring.y / of_ring.n) } else { f64::NAN };
        let change = change.max(1.0 / change);
        let is_own = ring.len() >= FEWEST_CONNECTED && all.x / all.y >= usual * change * change;
        if is_own && is_usual_known { out.more.push(area) } else { out.open.push(area) }
    }
    Ok(out)
}

/// Pixels with B around an area, from `rim_px` beside it to two pixels farther, without those that are marked.
fn ring(two: &Two<'_>, area: &[usize], marked: &Mask, rim_px: u32) -> Result<Vec<usize>, OutOfMemory> {
    let (width, height) = (marked.width() as usize, marked.height() as usize);
    let arm = rim_px as usize + 2;
    let ends = |values: &mut dyn Iterator<Item = usize>, size: usize| {
        let (low, high) = values.fold((size, 0), |(low, high), v| (low.min(v), high.max(v)));
        (low.saturating_sub(arm), (high + arm + 1).min(size))
    };
    let (left, right) = ends(&mut area.iter().map(|i| i % width), width);
    let (top, bottom) = ends(&mut area.iter().map(|i| i / width), height);
    let across = right.saturating_sub(left);
    let mut own = Mask::try_filled(across as u32, bottom.saturating_sub(top) as u32, false)?;
    for &i in area {
        own.data_mut()[(i / width - top) * across + i % width - left] = true;
    }
    let (near, far) = (grown(&own, rim_px)?, grown(&own, rim_px + 2)?);
    let mut out = Vec::new();
    for (place, (&is_far, &is_near)) in far.data().iter().zip(near.data()).enumerate() {
        let i = (top + place / across) * width + left + place % across;
        if is_far && !is_near && !marked.data()[i] && two.has_b(i) {
            out.push(i);
        }
    }
    Ok(out)
}

/// Whether any square of 3 x 3 or 7 x 7 pixels, B or not, holds A so far beyond the usual factor, band not taken off, that
/// neither noise nor the spread of the factor makes it: then "no more" would say too much. The noise is taken from the
/// squares themselves where it is larger than counting.
///
/// # Errors
/// No memory.
pub fn is_odd_anywhere(two: &Two<'_>, with: &Accompaniment) -> Result<bool, OutOfMemory> {
    let every = two.len().div_ceil(MOST_SAMPLES).max(1);
    for radius in [1usize, 3] {
        let full = ((2 * radius + 1) * (2 * radius + 1)) as f64;
        let mut sample: Vec<f64> = try_vec(two.len().div_ceil(every) as u64)?;
        let (mut highest, mut taken) = (f64::NEG_INFINITY, 0usize);
        each_square(two, radius, |i, of| {
            if two.one(i).is_none() || 2.0 * of.n < full {
                return;
            }
            let varied = with.spread * with.k * of.y.max(0.0);
            let wide = two.variance(of, with.k) + two.floor(of, 0.0) + varied * varied;
            let z = (of.x - with.k * of.y) / wide.max(f64::MIN_POSITIVE).sqrt();
            highest = highest.max(z);
            if taken % every == 0 {
                sample.push(z);
            }
            taken += 1;
        })?;
        let Some(middle) = order_of(sample.iter().copied(), 0.5) else { continue };
        let Some(off) = order_of(sample.iter().map(|z| (z - middle).abs()), 0.5) else { continue };
        if highest >= ODD * (MAD * off).max(1.0) {
            return Ok(true);
        }
    }
    Ok(false)
}

/// More squares than this are thinned to find how they scatter.
const MOST_SAMPLES: usize = 1_000_000;
/// From the median distance to a standard deviation, for normal values.
const MAD: f64 = 1.482_602_218_505_602;
