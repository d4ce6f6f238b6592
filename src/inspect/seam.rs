//! Seams: a straight line right across the map, upright or level or up to three degrees aslant, at which every map of the
//! stack changes by one and the same factor. So do scans that were joined, and a tube whose current changed; paint does not,
//! because its edges change one element more than another.

use super::strips::{Bands, Strips};
use super::survey::Survey;
use crate::element::{Element, Role};
use crate::kind::Kind;
use crate::notice::{Lines, Sign};
use crate::numerics::math::{exp, ln};
use crate::stack::Map;
use std::borrow::Cow;

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
/// Share of the line that must agree in each map (the rest may be painted edges), and on average.
const LEAST_SHARE: f64 = 0.35;
const MEAN_SHARE: f64 = 0.55;
/// What is said for a line along rows or columns beforehand: a scan ends so on its own grid.
const STRAIGHT: f64 = 6.0;
/// Chi squared for each step that agrees: one factor scatters by counting and smooth paint, several by more.
const MOST_SCATTER: f64 = 2.2;
/// Least that must be said for a place to be looked at.
const LEAST_SAID: f64 = 15.0;
/// Places in a profile that are looked at; longer ones are binned first.
const LONGEST: u32 = 512;
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

/// Strips on both sides of a line in one band: from `near` to `far` pixels away.
fn step(bands: &Bands, band: usize, pixel: i64, (near, far): (i64, i64)) -> Option<Step> {
    let before = bands.part(band, pixel - far, pixel - near);
    let behind = bands.part(band, pixel + near, pixel + far);
    let whole = (far - near) as u32 * bands.most_of(band);
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
    bands: Cow<'a, Bands>,
}

impl Seen<'_> {
    /// The step in each band, by place; few counts give none.
    fn steps(&self, place: Place, centre: f64, strips: (i64, i64)) -> Vec<Option<Step>> {
        (0..self.bands.middles.len())
            .map(|band| step(&self.bands, band, place.pixel(&self.bands, band, centre), strips))
            .map(|step| step.filter(|step| step.variance < 0.25))
            .collect()
    }
}

/// The step of every map in every band.
type Cells = Vec<Vec<Option<Step>>>;

fn cells(maps: &[Seen<'_>], place: Place, centre: f64, strips: (i64, i64)) -> Cells {
    maps.iter().map(|map| map.steps(place, centre, strips)).collect()
}

/// Share of the step that paint beside the line may have added or taken in all maps alike.
const UNSURE: f64 = 0.15;
/// Factors that are tried, as logarithms, on both sides of 0.
const TRIED: [f64; 9] = [0.025, 0.04, 0.065, 0.1, 0.15, 0.22, 0.33, 0.5, 0.75];
/// A cell of a map in a band has no more to say than this, for or against: most of the line may be painted over.
const MOST_SAID: f64 = 4.0;
/// Paint that is called smooth still changes by this across a strip.
const SMOOTH: f64 = 0.02;

/// How much better one factor explains a cell than none does.
fn said(step: &Step, factor: f64) -> f64 {
    let even = step.variance + SMOOTH * SMOOTH;
    let off = step.value - factor;
    let none = 0.5 * step.value * step.value / even;
    let one = 0.5 * off * off / (even + 0.02 * factor * factor);
    none.min(MOST_SAID) - one.min(MOST_SAID)
}

/// How much better one factor explains the cells than none does, and which: the logarithm of the likelihoods' ratio, each
/// cell's share of it limited, so that painted edges say nothing.
fn speaks(all: &[Step]) -> (f64, f64) {
    let mut best = (0.0, 0.0);
    for factor in TRIED.into_iter().flat_map(|size| [size, -size]) {
        let said: f64 = all.iter().map(|step| said(step, factor)).sum();
        if said > best.0 {
            best = (said, factor);
        }
    }
    best
}

fn said_at(maps: &[Seen<'_>], place: Place, centre: f64, strips: (i64, i64)) -> (f64, f64) {
    let all: Vec<Step> = cells(maps, place, centre, strips).into_iter().flatten().flatten().collect();
    speaks(&all)
}

/// Places that speak for one factor, the clearest first, none beside a better one. Long profiles are binned for it.
fn places(maps: &[Seen<'_>], centre: f64) -> Vec<(Place, f64)> {
    let Some(length) = maps.first().map(|map| map.bands.length) else { return Vec::new() };
    let bin = (length as u32).div_ceil(LONGEST);
    let edge = f64::from(bin);
    let binned: Vec<Seen<'_>> = maps
        .iter()
        .map(|map| Seen { element: map.element, bands: Cow::Owned(map.bands.binned(bin)) })
        .collect();
    let mut found: Vec<(f64, Place)> = Vec::new();
    for slope in (-SLOPES..=SLOPES).map(|n| 0.5 * f64::from(n) * DEGREE) {
        for at in WIDTH..i64::try_from(length / bin as usize).unwrap_or(0) - WIDTH {
            // In bins; the slope is then less steep by as much.
            let place = Place { at: at as f64, slope: slope / edge };
            let (said, _) = said_at(&binned, place, centre, (GAP, GAP + WIDTH));
            if said >= LEAST_SAID {
                found.push((said, Place { at: at as f64 * edge, slope }));
            }
        }
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut out: Vec<Place> = Vec::new();
    for (_, place) in found {
        let apart = (2 * WIDTH) as f64 * edge;
        if out.len() < MOST_PLACES && out.iter().all(|other| (other.at - place.at).abs() > apart) {
            out.push(place);
        }
    }
    out.into_iter().map(|place| refined(maps, centre, place, edge)).collect()
}

/// Where near a place most is said for one factor, and that factor. Strips that touch tell the place, because any pixel in
/// the wrong one weakens the step; narrow ones meet less paint.
fn refined(maps: &[Seen<'_>], centre: f64, from: Place, edge: f64) -> (Place, f64) {
    let mut best = (f64::NEG_INFINITY, from, 0.0);
    let near = (-4..=4).map(|turn| from.slope + 0.125 * f64::from(turn) * DEGREE);
    for slope in near.chain([0.0]) {
        for shift in -6..=6 {
            let place = Place { at: from.at + 0.5 * f64::from(shift) * edge, slope };
            let (said, factor) = said_at(maps, place, centre, (0, WIDTH));
            let said = said + said_at(maps, place, centre, (0, WIDTH / 2)).0;
            let said = if slope.abs() < 0.1 * DEGREE { said + STRAIGHT } else { said };
            if said > best.0 {
                best = (said, place, factor);
            }
        }
    }
    (best.1, best.2)
}

/// Whether a step agrees with a factor.
fn agrees(step: &Step, factor: f64) -> bool {
    (step.value - factor).abs() <= 3.0 * step.variance.sqrt() + 0.25 * factor.abs()
}

/// Weighted mean of the steps that agree with a factor, its error (widened by their scatter), and their share.
fn agreeing(steps: &[Option<Step>], factor: f64) -> Option<(f64, f64, f64)> {
    let (mut many, mut kept, mut weights, mut sum) = (0.0, 0.0, 0.0, 0.0);
    for step in steps.iter().flatten() {
        many += 1.0;
        if agrees(step, factor) {
            kept += 1.0;
            weights += 1.0 / step.variance;
            sum += step.value / step.variance;
        }
    }
    let mean = sum / weights;
    let held = steps.iter().flatten().filter(|step| agrees(step, factor));
    let chi: f64 = held.map(|step| (step.value - mean).powi(2) / step.variance).sum();
    let widened = if kept > 1.0 { (chi / (kept - 1.0)).max(1.0) } else { 1.0 };
    (kept > 0.0).then(|| (mean, (widened / weights).sqrt(), kept / many))
}

/// How many steps agree with a factor, and chi squared of these about it; smooth paint is part of what is expected.
fn scatter_of(steps: &[Option<Step>], factor: f64) -> (f64, f64) {
    let kept = steps.iter().flatten().filter(|step| agrees(step, factor));
    kept.fold((0.0, 0.0), |(n, chi), step| {
        (n + 1.0, chi + (step.value - factor).powi(2) / (step.variance + SMOOTH * SMOOTH))
    })
}

/// What a place is worth: factor (as a logarithm) and its error, where it is a seam.
fn judged(maps: &[Seen<'_>], (place, start): (Place, f64), centre: f64) -> Option<(f64, f64)> {
    let near = (GAP, GAP + WIDTH);
    let steps = cells(maps, place, centre, near);
    let bands = steps.first()?.len();
    let fewest = FEWEST_BANDS.max(bands * 6 / 10);
    let all: Vec<Option<Step>> = steps.iter().flatten().copied().collect();
    let mut factor = start;
    for _ in 0..4 {
        // As few as agree, a strong map counts no more than the rest.
        let capped: Vec<Option<Step>> = all
            .iter()
            .map(|step| step.map(|s| Step { variance: s.variance.max(0.04 * factor * factor), ..s }))
            .collect();
        factor = agreeing(&capped, factor)?.0;
    }
    let size = factor.abs();
    if size < ln(FACTORS.0) || size > ln(FACTORS.1) {
        return None;
    }
    // One factor in all maps, those that show nothing of it included.
    let mut elements: Vec<Option<Element>> = Vec::new();
    let (mut weights, mut mean, mut shares, mut informed) = (0.0, 0.0, 0.0, 0.0);
    for (map, steps) in maps.iter().zip(&steps) {
        // Where bands are left out because they hold too little, those that are left are the bright ones.
        if steps.iter().flatten().count() < fewest {
            continue;
        }
        let (value, error, share) = agreeing(steps, factor)?;
        let off = (value - factor).abs();
        if share < LEAST_SHARE || off > 4.0 * error + 0.2 * size {
            return None;
        }
        if error < 0.25 * size {
            if off > 2.5 * error + 0.2 * size {
                return None;
            }
            elements.push(map.element);
            shares += share;
            informed += 1.0;
            weights += 1.0 / (error * error);
            mean += value / (error * error);
        }
    }
    elements.sort_by_key(|element| element.map(|element| element.symbol()));
    elements.dedup();
    let (mean, error) = (mean / weights, 1.0 / weights.sqrt());
    let is_shared = shares >= MEAN_SHARE * informed;
    let (kept, chi) = scatter_of(&all, factor);
    let is_one = chi <= MOST_SCATTER * kept;
    if elements.len() < FEWEST_ELEMENTS || mean.abs() < SURE * error || !is_shared || !is_one {
        return None;
    }
    // One factor along the whole line.
    let (mut informed, mut agree) = (0, 0);
    let mut thirds = [(0, 0); 3];
    for band in 0..bands {
        let held: Vec<Step> = steps.iter().filter_map(|of_map| of_map[band]).collect();
        // What it could say at most, were every cell of that factor.
        let could: f64 = held.iter().map(|step| said(&Step { value: mean, ..*step }, mean)).sum();
        if could >= 1.5 {
            let does = usize::from(held.iter().map(|step| said(step, mean)).sum::<f64>() > 0.0);
            informed += 1;
            agree += does;
            let third = &mut thirds[3 * band / bands];
            *third = (third.0 + 1, third.1 + does);
        }
    }
    if informed < fewest || 3 * agree < 2 * informed {
        return None;
    }
    if thirds.iter().any(|&(informed, agree)| informed == 0 || 2 * agree < informed) {
        return None;
    }
    // A step and no slope, and one that stays.
    let speak = |of: &Cells| of.iter().flatten().flatten().map(|step| said(step, mean)).sum::<f64>();
    let is_flat = |shift: i64| {
        let place = Place { at: place.at + shift as f64, ..place };
        4.0 * speak(&cells(maps, place, centre, near)) < speak(&steps)
    };
    let stays = speak(&cells(maps, place, centre, (GAP + WIDTH, GAP + 3 * WIDTH))) > 0.0;
    let shift = WIDTH + 2 * GAP;
    (is_flat(-shift) && is_flat(shift) && stays)
        .then(|| (mean, (error * error + SMOOTH * SMOOTH + UNSURE * UNSURE * size * size).sqrt()))
}

/// Maps that should change at a seam as counts do.
fn is_measured(map: &Map) -> bool {
    let is_line_or_scatter =
        matches!(map.role, None | Some(Role::CoherentScatter | Role::IncoherentScatter | Role::Scatter));
    is_line_or_scatter && map.kind != Kind::DisplayCopy
}

/// Which way a line runs, the bands that it crosses, and how long it is.
type Direction = (Lines, fn(&Strips) -> &Bands, u32);

/// Seams of maps of one size. Asked of each: at least three elements that show the factor with an error below a quarter of it,
/// no map against it, six tenths of the line informed and two thirds of that in agreement (half of each third of the line), no slope beside it, the same
/// step farther out, and eight standard errors. Not seen: factors below 1.02 (about 1.1, and above about 1.5, where much paint
/// crosses the line) and above 2.5, seams that cross only a part
/// of the map, lines more than three degrees aslant, maps without names, scans whose seam was evened out, and sides below 40
/// pixels.
pub(super) fn look(maps: &[(&Map, &Survey)]) -> Vec<Sign> {
    let mut found: Vec<(f64, Sign)> = Vec::new();
    let measured: Vec<&(&Map, &Survey)> = maps.iter().filter(|(map, _)| is_measured(map)).collect();
    let Some((_, first)) = measured.first() else { return Vec::new() };
    let directions: [Direction; 2] =
        [(Lines::Columns, |s| &s.across, first.size.1), (Lines::Rows, |s| &s.down, first.size.0)];
    for (lines, of, across) in directions {
        let seen: Vec<Seen<'_>> = measured
            .iter()
            .map(|(map, survey)| Seen {
                element: map.line.map(|line| line.element),
                bands: Cow::Borrowed(of(&survey.strips)),
            })
            .collect();
        if seen[0].bands.middles.len() < FEWEST_BANDS {
            continue;
        }
        let centre = 0.5 * f64::from(across);
        for (place, start) in places(&seen, centre) {
            let Some((factor, error)) = judged(&seen, (place, start), centre) else { continue };
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
