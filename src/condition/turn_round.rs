//! First and last pixels of the lines counted longer, because the scanner slows down and turns there.

use super::values::{back_from_lines, by_lines, lines_of, no_longer_counts, roots, unknown_error, variance};
use super::{Derived, Direction, Found, Input, Recipe};
use crate::grid::Grid;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::rounded;
use crate::numerics::order;
use serde::Serialize;

/// Places at each end of the lines that are looked at.
pub const PLACES: usize = 4;
/// Places behind them that give the level to compare with.
const INNER: usize = 8;
/// Groups of lines: fewest, most.
const GROUPS: (usize, usize) = (8, 24);
/// A place counts as longer beyond this many standard errors, and from this factor on.
const BEYOND: f64 = 3.0;
const LEAST: f64 = 1.02;

/// How much longer one place of the lines was counted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct EdgeFactor {
    /// Values there are this many times what the pixels behind let expect.
    pub factor: f64,
    /// Its standard error, from the scatter over groups of lines (and over maps).
    pub standard_error: f64,
    /// Whether it is proposed: surely above 1, alike in all maps, and without a gap to the end of the line.
    pub is_proposed: bool,
}

/// Factors of the first and last places of the lines, from the end inwards; empty where nothing can be told.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct EdgeFactors {
    /// At the first positions: 0, 1, ...
    pub start: Vec<EdgeFactor>,
    /// At the last positions: last, last but one, ...
    pub end: Vec<EdgeFactor>,
}

impl EdgeFactors {
    /// The proposed factors of both ends.
    pub fn proposed(&self) -> (Vec<f64>, Vec<f64>) {
        let of = |side: &[EdgeFactor]| side.iter().filter(|f| f.is_proposed).map(|f| f.factor).collect();
        (of(&self.start), of(&self.end))
    }
}

/// Sums of one place and of what is expected there, by group of lines.
type Groups = [(f64, f64); GROUPS.1];

/// Groups that the lines of a map are put into, its width along them; `None` for a map that is too small.
fn groups_of(width: u32, height: u32) -> Option<usize> {
    let many = (height as usize / 4).min(GROUPS.1);
    (many >= GROUPS.0 && width as usize >= 2 * (PLACES + INNER)).then_some(many)
}

/// Adds the lines of one map at one place: what is there, and what a straight line through the 8 inner places lets
/// expect.
fn gather(grid: &Grid<f64>, at: usize, is_end: bool, many: usize, sums: &mut Groups) {
    let (width, height) = (grid.width() as usize, grid.height() as usize);
    let position = |i: usize| if is_end { width - 1 - i } else { i };
    // Weights of a least-squares line through the inner places, at this place.
    let centre = (PLACES as f64) + (INNER as f64 - 1.0) / 2.0;
    let squares: f64 = (0..INNER).map(|j| (PLACES as f64 + j as f64 - centre).powi(2)).sum();
    let weight =
        |j: usize| 1.0 / INNER as f64 + (at as f64 - centre) * (PLACES as f64 + j as f64 - centre) / squares;
    let weights: [f64; INNER] = core::array::from_fn(weight);
    for (y, row) in grid.rows().enumerate() {
        let expected: f64 = weights.iter().enumerate().map(|(j, w)| w * row[position(PLACES + j)]).sum();
        let seen = row[position(at)];
        if !seen.is_nan() && !expected.is_nan() {
            let sum = &mut sums[y * many / height];
            sum.0 += seen;
            sum.1 += expected;
        }
    }
}

/// Factor and standard error of one place: the median of the groups' quotients, its error from the distance of their
/// quantiles at one standard deviation. A group of which nothing is to be expected there (an edge of the object in the
/// inner places leads the straight line below 0) is left out; `None` where that is more than a third of them.
fn judged(sums: &[(f64, f64)]) -> Option<(f64, f64)> {
    let (mut ratios, mut n) = ([0.0; GROUPS.1], 0);
    for (seen, expected) in sums.iter().filter(|(_, expected)| *expected > 0.0) {
        ratios[n] = seen / expected;
        n += 1;
    }
    if n < GROUPS.0 || 3 * n < 2 * sums.len() {
        return None;
    }
    let ratios = &mut ratios[..n];
    order::sort(ratios);
    let factor = order::quantile(ratios, 0.5)?;
    let deviation = 0.5 * (order::quantile(ratios, 0.841_3)? - order::quantile(ratios, 0.158_7)?);
    // The error of a median of normal values is 1.2533 times that of their mean; three tenths more because quotients of
    // few counts are not normal (tried on simulated scans).
    let error = 1.253_3 * 1.3 * deviation / (n as f64).sqrt();
    Some((factor, error)).filter(|(f, e)| f.is_finite() && e.is_finite() && *e > 0.0)
}

/// Whether maps give the same factor, within what their errors allow (chi squared at four of its deviations).
fn agree(found: &[(f64, f64)], mean: f64) -> bool {
    let chi: f64 = found.iter().map(|(f, e)| ((f - mean) / e).powi(2)).sum();
    let freedom = found.len().saturating_sub(1) as f64;
    found.len() < 2 || chi <= freedom + 4.0 * (2.0 * freedom).sqrt()
}

/// How much longer the ends of the lines were counted, from all maps of a scan together: a longer dwell raises all
/// maps alike, an object's edge does not. Total: where nothing can be told the lists are empty. Maps of another size
/// than the first are not used.
pub fn edge_factors(inputs: &[Input<'_>], direction: Direction) -> Result<EdgeFactors, OutOfMemory> {
    let mut out = EdgeFactors::default();
    let Some(first) = inputs.first() else { return Ok(out) };
    let size = |i: &Input<'_>| (i.values.width(), i.values.height());
    let (width, height) = match direction {
        Direction::Across => size(first),
        Direction::Down => (first.values.height(), first.values.width()),
    };
    let Some(many) = groups_of(width, height) else { return Ok(out) };
    let mut all = [[[(0.0, 0.0); GROUPS.1]; PLACES]; 2];
    let mut single: [[Vec<(f64, f64)>; PLACES]; 2] = Default::default();
    // Counts are added as they are, so that each map weighs by what it counted; other values by their own mean.
    let are_counts = inputs.iter().all(|input| input.kind == crate::kind::Kind::Window);
    for input in inputs.iter().filter(|input| size(input) == size(first)) {
        let grid = lines_of(input.values, direction)?;
        let pixels = grid.len() - super::values::blanks(&grid);
        let mean = super::values::total(grid.data()) / pixels as f64;
        let scale = if are_counts { 1.0 } else { mean };
        if !scale.is_finite() || scale <= 0.0 {
            continue;
        }
        for side in 0..2 {
            for at in 0..PLACES {
                let mut own: Groups = [(0.0, 0.0); GROUPS.1];
                gather(&grid, at, side == 1, many, &mut own);
                for (sum, own) in all[side][at].iter_mut().zip(&own) {
                    *sum = (sum.0 + own.0 / scale, sum.1 + own.1 / scale);
                }
                single[side][at].extend(judged(&own[..many]));
            }
        }
    }
    for (side, list) in [&mut out.start, &mut out.end].into_iter().enumerate() {
        let mut unbroken = true;
        for (sums, single) in all[side].iter().zip(&single[side]) {
            let Some((factor, standard_error)) = judged(&sums[..many]) else { break };
            unbroken &= agree(single, factor) && factor >= LEAST && factor - 1.0 > BEYOND * standard_error;
            list.push(EdgeFactor { factor, standard_error, is_proposed: unbroken });
        }
    }
    Ok(out)
}

fn divided(grid: &mut Grid<f64>, factors: [&[f64]; 2], power: i32) {
    let width = grid.width() as usize;
    for row in grid.data_mut().chunks_exact_mut(width.max(1)) {
        for (at, factor) in factors[0].iter().enumerate() {
            row[at] /= factor.powi(power);
        }
        for (at, factor) in factors[1].iter().enumerate() {
            row[width - 1 - at] /= factor.powi(power);
        }
    }
}

fn listed(factors: &[f64]) -> String {
    let text: Vec<String> = factors.iter().map(|&f| rounded(f, 4)).collect();
    text.join(", ")
}

pub(super) fn repair(
    inputs: &[Input<'_>],
    start: Option<&[f64]>,
    end: Option<&[f64]>,
    direction: Direction,
) -> Result<Derived, Fault> {
    let input = &inputs[0];
    let mut found = EdgeFactors::default();
    let (start, end) = if start.is_none() && end.is_none() {
        found = edge_factors(inputs, direction)?;
        let proposed = found.proposed();
        if proposed.0.is_empty() && proposed.1.is_empty() {
            return Err(Fault::new(
                "nothing_to_repair",
                format!(
                    "No longer counting at the ends of the lines of {} can be told from what the object does there. It is left as it is.",
                    input.label
                ),
            ));
        }
        let short = |list: Vec<f64>| list.into_iter().map(|f| (f * 1e4).round() / 1e4).collect::<Vec<f64>>();
        (short(proposed.0), short(proposed.1))
    } else {
        (start.unwrap_or_default().to_vec(), end.unwrap_or_default().to_vec())
    };
    let mut grid = by_lines(input.values, direction)?;
    if start.len() + end.len() > grid.width() as usize {
        return Err(Fault::bad_setting(
            "More factors were given for the ends of the lines than these have pixels.",
        ));
    }
    divided(&mut grid, [&start, &end], 1);
    let values = back_from_lines(grid, direction)?;
    let error = match variance(input)? {
        Some(v) => {
            let mut v = by_lines(&v, direction)?;
            divided(&mut v, [&start, &end], 2);
            Some(back_from_lines(v, direction)?)
        }
        None => None,
    };
    let mut account = Vec::new();
    for (factors, words) in [(&start, "first"), (&end, "last")] {
        if !factors.is_empty() {
            account.push(format!(
                "The {words} {} of each line, from its end inwards, divided by {}.",
                if factors.len() == 1 { "pixel".into() } else { format!("{} pixels", factors.len()) },
                listed(factors)
            ));
        }
    }
    let errors: Vec<f64> =
        (found.start.iter().chain(&found.end)).filter(|f| f.is_proposed).map(|f| f.standard_error).collect();
    if let Some(largest) = errors.iter().copied().reduce(f64::max) {
        account.push(format!(
            "The factors were found over all lines and maps; their standard errors are at most {}.",
            rounded(largest, 2)
        ));
    }
    let mut findings = vec![
        "A painted border, a frame or an edge along the ends of the lines looks the same. Stated factors stand above found ones.".to_owned(),
        "The values at the ends are no counts any more; their error is that of the counts divided by the same factor.".to_owned(),
    ];
    if error.is_none() && input.kind != crate::kind::Kind::DisplayCopy {
        findings.push(unknown_error(&[input.label]));
    }
    let recipe = Recipe::TurnRound { start: Some(start), end: Some(end), direction };
    let label = recipe.sentence(&[input.label.to_owned()]);
    Ok(Derived {
        values,
        sigma: roots(error),
        kind: no_longer_counts(input.kind),
        cell: (1, 1),
        recipe,
        account,
        findings,
        found: Found::EdgeFactors(found),
        label,
    })
}
