//! First and last pixels of the lines counted longer, because the scanner slows down and turns there.

use super::values::{by_lines, no_longer_counts, roots, unknown_error, variance};
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

/// Factor and standard error of one place in one map: median over groups of lines of the group's sum there over what a
/// straight line through the 8 inner places lets expect. `None` where a group holds nothing.
fn place(grid: &Grid<f64>, at: usize, is_end: bool) -> Option<(f64, f64)> {
    let (width, height) = (grid.width() as usize, grid.height() as usize);
    let many = (height / 4).min(GROUPS.1);
    if many < GROUPS.0 || width < 2 * (PLACES + INNER) {
        return None;
    }
    let position = |i: usize| if is_end { width - 1 - i } else { i };
    // Weights of a least-squares line through the inner places, at this place.
    let centre = (PLACES as f64) + (INNER as f64 - 1.0) / 2.0;
    let squares: f64 = (0..INNER).map(|j| (PLACES as f64 + j as f64 - centre).powi(2)).sum();
    let weight =
        |j: usize| 1.0 / INNER as f64 + (at as f64 - centre) * (PLACES as f64 + j as f64 - centre) / squares;
    let mut sums = [(0.0, 0.0); GROUPS.1];
    for (y, row) in grid.rows().enumerate() {
        let expected: f64 = (0..INNER).map(|j| weight(j) * row[position(PLACES + j)]).sum();
        let seen = row[position(at)];
        if !seen.is_nan() && !expected.is_nan() {
            let sum = &mut sums[y * many / height];
            sum.0 += seen;
            sum.1 += expected;
        }
    }
    let mut ratios = [0.0; GROUPS.1];
    for (ratio, (seen, expected)) in ratios.iter_mut().zip(&sums[..many]) {
        if *expected <= 0.0 {
            return None;
        }
        *ratio = seen / expected;
    }
    let ratios = &mut ratios[..many];
    order::sort(ratios);
    let factor = order::quantile(ratios, 0.5)?;
    let mut off: Vec<f64> = ratios.iter().map(|r| (r - factor).abs()).collect();
    order::sort(&mut off);
    // Of normal scatter: 1.4826 medians of the distance are a standard deviation, 1.2533 its error of a median.
    let error = 1.253_3 * 1.482_6 * order::quantile(&off, 0.5)? / (many as f64).sqrt();
    Some((factor, error)).filter(|(f, e)| f.is_finite() && e.is_finite() && *e > 0.0)
}

/// Joins the maps of one scan: mean weighted by their errors. The error is widened where they scatter more than that;
/// the last is whether they agree.
fn joined(found: &[(f64, f64)]) -> Option<(f64, f64, bool)> {
    let weights: f64 = found.iter().map(|(_, e)| 1.0 / (e * e)).sum();
    let mean = found.iter().map(|(f, e)| f / (e * e)).sum::<f64>() / weights;
    let chi: f64 = found.iter().map(|(f, e)| ((f - mean) / e).powi(2)).sum();
    let freedom = found.len().checked_sub(1)? as f64;
    let wide = if freedom > 0.0 { (chi / freedom).max(1.0).sqrt() } else { 1.0 };
    Some((mean, wide / weights.sqrt(), chi <= freedom + 3.0 * (2.0 * freedom).sqrt()))
}

/// How much longer the ends of the lines were counted, from all maps of a scan together: a longer dwell raises all
/// maps alike, an object's edge does not. Total: where nothing can be told the lists are empty. Maps of another size
/// than the first are not used.
pub fn edge_factors(inputs: &[Input<'_>], direction: Direction) -> Result<EdgeFactors, OutOfMemory> {
    let mut out = EdgeFactors::default();
    let Some(first) = inputs.first() else { return Ok(out) };
    let size = |i: &Input<'_>| (i.values.width(), i.values.height());
    let mut found: [[Vec<(f64, f64)>; PLACES]; 2] = Default::default();
    for input in inputs.iter().filter(|input| size(input) == size(first)) {
        let grid = by_lines(input.values, direction)?;
        for (side, places) in found.iter_mut().enumerate() {
            for (at, list) in places.iter_mut().enumerate() {
                list.extend(place(&grid, at, side == 1));
            }
        }
    }
    for (places, side) in found.iter().zip([&mut out.start, &mut out.end]) {
        let mut unbroken = true;
        for (factor, standard_error, agree) in places.iter().map_while(|list| joined(list)) {
            unbroken &= agree && factor >= LEAST && factor - 1.0 > BEYOND * standard_error;
            side.push(EdgeFactor { factor, standard_error, is_proposed: unbroken });
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
    let values = by_lines(&grid, direction)?;
    let error = match variance(input)? {
        Some(v) => {
            let mut v = by_lines(&v, direction)?;
            divided(&mut v, [&start, &end], 2);
            Some(by_lines(&v, direction)?)
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
