//! Seams: a straight line right across the map, upright or level or up to three degrees aslant, at which every map of the
//! stack changes by one and the same factor. So do scans that were joined, and a tube whose current changed; paint does not,
//! because its edges change one element more than another.

use super::strips::{Bands, Strips};
use super::survey::Survey;
use crate::element::{Element, Role};
use crate::kind::Kind;
use crate::notice::{Lines, Sign};
use crate::numerics::math::{exp, ln};
use crate::numerics::order;
use crate::stack::Map;

/// Width of the strips that are compared, in pixels.
const WIDTH: i64 = 4;
/// Pixels left out on both sides of the line: they may lie in both scans.
const GAP: i64 = 1;
/// Slope of a degree, and slopes looked at on each side.
const DEGREE: f64 = 0.017_455;
const SLOPES: i32 = 6;
/// Factors that are spoken of: smaller ones are drift, larger ones the end of the object.
const FACTORS: (f64, f64) = (1.02, 2.5);
/// Places that are looked at closely in each direction.
const MOST_PLACES: usize = 12;
/// Seams that are told at most.
const MOST_SEAMS: usize = 4;
/// Elements that must show it.
const FEWEST_ELEMENTS: usize = 3;
const FEWEST_BANDS: usize = 6;
/// Standard deviations by which the factor must differ from 1.
const SURE: f64 = 8.0;

/// A line: where it crosses the middle of the map, and its slope.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Place {
    at: f64,
    slope: f64,
}

impl Place {
    /// The first pixel behind the line, in a band.
    fn pixel(&self, bands: &Bands, band: usize, centre: f64) -> i64 {
        (self.at + self.slope * (bands.middles[band] - centre)).round() as i64
    }
}

/// Logarithm of a ratio with its variance by counting.
#[derive(Debug, Clone, Copy)]
struct Step {
    value: f64,
    variance: f64,
}

/// The median of steps, each by its weight (the lower one of two halves).
fn weighted_median(steps: &mut [Step]) -> Option<f64> {
    steps.sort_by(|a, b| a.value.total_cmp(&b.value));
    let all: f64 = steps.iter().map(|s| 1.0 / s.variance).sum();
    let mut below = 0.0;
    steps
        .iter()
        .find(|step| {
            below += 1.0 / step.variance;
            below >= 0.5 * all
        })
        .map(|step| step.value)
}

/// Median with its standard deviation: by the spread of the steps or by counting, whichever is larger. For normal errors the
/// median is √(π/2) as uncertain as the mean.
fn summary(steps: &mut [Step]) -> Option<(f64, f64)> {
    const OF_MEDIAN: f64 = 1.253_314;
    let middle = weighted_median(steps)?;
    let mut off: Vec<f64> = steps.iter().map(|step| (step.value - middle).abs()).collect();
    order::sort(&mut off);
    let spread = 1.482_6 * order::quantile(&off, 0.5)? / (steps.len() as f64).sqrt();
    let counted = 1.0 / steps.iter().map(|s| 1.0 / s.variance).sum::<f64>().sqrt();
    Some((middle, OF_MEDIAN * spread.max(counted)))
}

/// Strips on both sides of a line in one band: from `near` to `far` pixels away.
fn step(bands: &Bands, band: usize, pixel: i64, (near, far): (i64, i64)) -> Option<Step> {
    let before = bands.part(band, pixel - far, pixel - near);
    let behind = bands.part(band, pixel + near, pixel + far);
    let whole = (far - near) as u32 * bands.lines_of(band);
    let is_full = |pixels: u32| 4 * pixels >= 3 * whole;
    if !is_full(before.1) || !is_full(behind.1) || before.0 <= 0.0 || behind.0 <= 0.0 {
        return None;
    }
    let value = ln((behind.0 / f64::from(behind.1)) / (before.0 / f64::from(before.1)));
    Some(Step { value, variance: 1.0 / before.0 + 1.0 / behind.0 })
}

/// A map in one direction.
struct Seen<'a> {
    element: Option<Element>,
    bands: &'a Bands,
}

impl Seen<'_> {
    /// The step in each band, by place; few counts give none.
    fn steps(&self, place: Place, centre: f64, strips: (i64, i64)) -> Vec<Option<Step>> {
        (0..self.bands.middles.len())
            .map(|band| step(self.bands, band, place.pixel(self.bands, band, centre), strips))
            .map(|step| step.filter(|step| step.variance < 0.25))
            .collect()
    }
}

/// All maps as one, each weighing as the root of its mean: strong ones don't hide what faint ones show.
fn pooled(maps: &[Seen<'_>]) -> Bands {
    let Some(first) = maps.first() else { return Bands::default() };
    let mut out = first.bands.clone();
    out.sums.fill(0.0);
    out.pixels.fill(1);
    for map in maps {
        let bands = map.bands;
        let all: f64 = bands.sums.iter().map(|&v| f64::from(v)).sum();
        let pixels: f64 = bands.pixels.iter().map(|&n| f64::from(n)).sum();
        if all <= 0.0 || pixels <= 0.0 {
            continue;
        }
        let weight = 1.0 / (all / pixels).sqrt();
        for (slot, (sum, &n)) in out.sums.iter_mut().zip(bands.sums.iter().zip(&bands.pixels)) {
            *slot += (f64::from(*sum) / f64::from(n) * weight) as f32;
        }
    }
    for (sum, pixels) in out.sums.iter_mut().zip(&mut out.pixels) {
        if !sum.is_finite() {
            (*sum, *pixels) = (0.0, 0);
        }
    }
    out
}

/// Running sums of the pool, so that every place costs little.
struct Running {
    sums: Vec<f64>,
    pixels: Vec<u32>,
    length: usize,
}

impl Running {
    fn of(bands: &Bands) -> Self {
        let length = bands.length + 1;
        let (mut sums, mut pixels) = (Vec::new(), Vec::new());
        for band in 0..bands.middles.len() {
            let (mut sum, mut n) = (0.0, 0);
            sums.push(sum);
            pixels.push(n);
            for i in band * bands.length..(band + 1) * bands.length {
                sum += f64::from(bands.sums[i]);
                n += u32::from(bands.pixels[i]);
                sums.push(sum);
                pixels.push(n);
            }
        }
        Self { sums, pixels, length }
    }

    /// Logarithm of what lies behind over what lies before a place; `None` near the border and at blanks.
    fn step(&self, band: usize, pixel: i64) -> Option<f64> {
        let at = |i: i64| {
            let i = usize::try_from(i).ok().filter(|&i| i < self.length)?;
            Some((self.sums[band * self.length + i], self.pixels[band * self.length + i]))
        };
        let (before, here, behind) = (at(pixel - WIDTH)?, at(pixel)?, at(pixel + WIDTH)?);
        let (low, high) = (here.0 - before.0, behind.0 - here.0);
        let is_full = here.1 - before.1 == WIDTH as u32 && behind.1 - here.1 == WIDTH as u32;
        (is_full && low > 0.0 && high > 0.0).then(|| ln(high / low))
    }
}

/// Places in the pool where most bands change the same way, the clearest first, none beside a better one.
fn places(pool: &Bands, centre: f64) -> Vec<Place> {
    let running = Running::of(pool);
    let bands = pool.middles.len();
    let mut found: Vec<(f64, Place)> = Vec::new();
    let mut steps = Vec::new();
    for slope in (-SLOPES..=SLOPES).map(|n| 0.5 * f64::from(n) * DEGREE) {
        for at in WIDTH..pool.length as i64 - WIDTH {
            let place = Place { at: at as f64, slope };
            steps.clear();
            steps.extend((0..bands).filter_map(|b| running.step(b, place.pixel(pool, b, centre))));
            if steps.len() < FEWEST_BANDS.max(bands * 6 / 10) {
                continue;
            }
            order::sort(&mut steps);
            let of = |q: f64| order::quantile(&steps, q).unwrap_or(0.0);
            let (low, middle, high) = (of(0.2), of(0.5), of(0.8));
            let is_one_way = (low > 0.0) == (high > 0.0);
            if is_one_way && middle.abs() >= ln(FACTORS.0) && middle.abs() <= 1.2 * ln(FACTORS.1) {
                found.push((middle.abs() - 0.5 * (high - low), place));
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut out: Vec<Place> = Vec::new();
    for (_, place) in found {
        if out.len() < MOST_PLACES && out.iter().all(|other| (other.at - place.at).abs() > 3.0 * WIDTH as f64) {
            out.push(place);
        }
    }
    out.into_iter().map(|place| refined(&running, pool, centre, place)).collect()
}

/// Where near a place the mean step is largest.
fn refined(running: &Running, pool: &Bands, centre: f64, from: Place) -> Place {
    let mean = |place: Place| {
        let steps = (0..pool.middles.len()).filter_map(|b| running.step(b, place.pixel(pool, b, centre)));
        let (n, sum) = steps.fold((0.0, 0.0), |(n, sum), v| (n + 1.0, sum + v));
        if n > 0.0 { f64::abs(sum / n) } else { 0.0 }
    };
    let mut best = (mean(from), from);
    for turn in -6..=6 {
        for shift in -8..=8 {
            let place = Place {
                at: from.at + 0.25 * f64::from(shift),
                slope: from.slope + 0.125 * f64::from(turn) * DEGREE,
            };
            let here = mean(place);
            if here > best.0 {
                best = (here, place);
            }
        }
    }
    best.1
}

/// What a place is worth: factor (as a logarithm) and its error, where it is a seam.
fn judged(maps: &[Seen<'_>], place: Place, centre: f64) -> Option<(f64, f64)> {
    let near = (GAP, GAP + WIDTH);
    let steps: Vec<Vec<Option<Step>>> = maps.iter().map(|map| map.steps(place, centre, near)).collect();
    let bands = steps.first()?.len();
    let of_map = |steps: &Vec<Option<Step>>| {
        let mut held: Vec<Step> = steps.iter().flatten().copied().collect();
        // Where bands are left out because they hold too little, those that are left are the bright ones.
        if held.len() < FEWEST_BANDS.max(bands * 6 / 10) { None } else { summary(&mut held) }
    };
    let of_maps: Vec<Option<(f64, f64)>> = steps.iter().map(of_map).collect();
    let mut all: Vec<Step> = of_maps
        .iter()
        .flatten()
        .map(|&(value, error)| Step { value, variance: error * error + 1e-4 })
        .collect();
    let factor = weighted_median(&mut all)?;
    let size = factor.abs();
    if size < ln(FACTORS.0) || size > ln(FACTORS.1) {
        return None;
    }
    // One factor in all maps, those that show nothing of it included.
    let mut elements: Vec<Option<Element>> = Vec::new();
    let (mut weights, mut mean) = (0.0, 0.0);
    for (map, found) in maps.iter().zip(&of_maps) {
        let Some((value, error)) = *found else { continue };
        let off = (value - factor).abs();
        if off > 4.0 * error + 0.2 * size {
            return None;
        }
        if error < 0.25 * size {
            if off > 2.5 * error + 0.2 * size {
                return None;
            }
            elements.push(map.element);
            weights += 1.0 / (error * error);
            mean += value / (error * error);
        }
    }
    elements.sort_by_key(|element| element.map(|element| element.symbol()));
    elements.dedup();
    let (mean, error) = (mean / weights, 1.0 / weights.sqrt());
    if elements.len() < FEWEST_ELEMENTS || mean.abs() < SURE * error {
        return None;
    }
    // One factor along the whole line.
    let (mut informed, mut agree) = (0, 0);
    for band in 0..bands {
        let mut held: Vec<Step> = steps.iter().filter_map(|of_map| of_map[band]).collect();
        for step in &mut held {
            step.variance = step.variance.max(4e-4);
        }
        let error = 1.25 / held.iter().map(|s| 1.0 / s.variance).sum::<f64>().sqrt();
        let Some(value) = weighted_median(&mut held) else { continue };
        if error < 0.4 * size {
            informed += 1;
            agree += usize::from((value - mean).abs() <= 3.0 * error + 0.4 * size);
        }
    }
    if informed < FEWEST_BANDS.max(bands * 6 / 10) || 10 * agree < 8 * informed {
        return None;
    }
    // A step and no slope, and one that stays.
    let beside = |shift: i64| {
        let place = Place { at: place.at + shift as f64, ..place };
        median_of(maps, place, centre, near)
    };
    let is_flat = |step: Option<f64>| step.is_none_or(|step| step.abs() <= size / 3.0);
    let far = median_of(maps, place, centre, (GAP + WIDTH, GAP + 3 * WIDTH));
    let stays = far.is_none_or(|far| far / mean > 0.5 && far / mean < 1.7);
    let shift = WIDTH + 2 * GAP;
    (is_flat(beside(-shift)) && is_flat(beside(shift)) && stays).then_some((mean, error))
}

/// The median step of all maps and bands at a place.
fn median_of(maps: &[Seen<'_>], place: Place, centre: f64, strips: (i64, i64)) -> Option<f64> {
    let mut of_maps: Vec<Step> = maps
        .iter()
        .filter_map(|map| {
            let mut held: Vec<Step> = map.steps(place, centre, strips).into_iter().flatten().collect();
            if held.len() < FEWEST_BANDS {
                return None;
            }
            let (value, error) = summary(&mut held)?;
            Some(Step { value, variance: error * error + 1e-4 })
        })
        .collect();
    weighted_median(&mut of_maps)
}

/// Maps that should change at a seam as counts do.
fn is_measured(map: &Map) -> bool {
    let is_line_or_scatter =
        matches!(map.role, None | Some(Role::CoherentScatter | Role::IncoherentScatter | Role::Scatter));
    is_line_or_scatter && map.kind != Kind::DisplayCopy
}

/// Seams of maps of one size. Asked of each: at least three elements that show the factor with an error below a quarter of it,
/// no map against it, six tenths of the line informed and eight tenths of that in agreement, no slope beside it, the same
/// step farther out, and eight standard errors. Not seen: factors below 1.02 and above 2.5, seams that cross only a part
/// of the map, lines more than three degrees aslant, maps without names, scans whose seam was evened out, and sides below 40
/// pixels.
pub(super) fn look(maps: &[(&Map, &Survey)]) -> Vec<Sign> {
    let mut found: Vec<(f64, Sign)> = Vec::new();
    let measured: Vec<&(&Map, &Survey)> = maps.iter().filter(|(map, _)| is_measured(map)).collect();
    let Some((_, first)) = measured.first() else { return Vec::new() };
    let directions: [(Lines, fn(&Strips) -> &Bands, u32); 2] =
        [(Lines::Columns, |s| &s.across, first.size.1), (Lines::Rows, |s| &s.down, first.size.0)];
    for (lines, of, across) in directions {
        let seen: Vec<Seen<'_>> = measured
            .iter()
            .map(|(map, survey)| Seen {
                element: map.line.map(|line| line.element),
                bands: of(&survey.strips),
            })
            .collect();
        let pool = pooled(&seen);
        if pool.middles.len() < FEWEST_BANDS {
            continue;
        }
        let centre = 0.5 * f64::from(across);
        for place in places(&pool, centre) {
            let Some((factor, error)) = judged(&seen, place, centre) else { continue };
            let end = |far: f64| place.at + place.slope * (far - centre);
            let (from, to) = (end(0.0), end(f64::from(across)));
            let sign = Sign::Seam {
                lines,
                from,
                to,
                factor: exp(factor),
                error: exp(factor) * error,
                maps: seen.len() as u64,
            };
            found.push((factor.abs() / error, sign));
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.into_iter().take(MOST_SEAMS).map(|(_, sign)| sign).collect()
}
