//! Lines brighter or darker than their neighbours, and a slow change of brightness seen at a margin.

use super::values::{
    back_from_lines, lines_of, mapped, no_longer_counts, roots, unknown_error, variance, zipped,
};
use super::{Derived, Direction, Found, Input, Recipe};
use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::{figure, rounded, whole};
use crate::numerics::order;
use serde::Serialize;

/// A line's median must be at least this many counts, or it comes in steps too coarse for a factor.
const FEWEST_COUNTS: f64 = 10.0;
/// The margin must hold this many counts in each window: a factor to a tenth.
const FEWEST_IN_MARGIN: f64 = 100.0;

/// A factor for each line, and its relative standard error. A line without data has 1 and an error of 0.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DriftFactors {
    /// Brightness against the neighbours or the mean of the margin; values are divided by it.
    pub factors: Vec<f64>,
    /// Standard error of each.
    pub standard_errors: Vec<f64>,
}

impl DriftFactors {
    fn of_lines(lines: usize) -> Result<Self, OutOfMemory> {
        let column = |value| try_filled_vec(lines as u64, value);
        Ok(Self { factors: column(1.0)?, standard_errors: column(0.0)? })
    }

    /// Lines whose factor differs from 1 by more than `beyond` standard errors.
    pub fn beyond(&self, beyond: f64) -> u64 {
        let off = |(f, e): (&f64, &f64)| *f != 1.0 && (f - 1.0).abs() > beyond * e;
        self.factors.iter().zip(&self.standard_errors).filter(|&pair| off(pair)).count() as u64
    }
}

/// The index `at - back` within `0..n`, the ends mirrored (d c b a | a b c d | d c b a). `n` must not be 0.
pub(super) fn mirrored(at: usize, back: usize, n: usize) -> usize {
    let period = 2 * n;
    let inside = (at % period + period - back % period) % period;
    if inside < n { inside } else { period - 1 - inside }
}

/// Scatter of one value about what it would be: of its error map or of counting, else that of neighbours along lines
/// (1.4826 times the median distance, over the root of 2).
fn scatter(input: &Input<'_>, lines: &Grid<f64>, direction: Direction) -> Result<Grid<f64>, OutOfMemory> {
    if let Some(v) = variance(input)? {
        return mapped(lines_of(&v, direction)?.as_ref(), f64::sqrt);
    }
    let mut steps = try_vec(lines.len())?;
    for row in lines.rows() {
        steps.extend(row.windows(2).map(|p| (p[1] - p[0]).abs()).filter(|d| !d.is_nan()));
    }
    let middle = order::low_quantile_unsorted(&mut steps, 0.5).unwrap_or(0.0);
    mapped(lines, |_| 1.482_6 * middle / 2.0f64.sqrt())
}

/// Factor of each line: its median over the running median of `window` lines, ends mirrored.
/// Lines of `input` run in `direction`. `Err(text)` is why it cannot be judged: a median below 10 counts, or a line of
/// which less than half lies within a factor of 2 of the level of its neighbours.
pub fn line_factors(
    input: &Input<'_>,
    window: u32,
    direction: Direction,
) -> Result<Result<DriftFactors, String>, OutOfMemory> {
    let grid = lines_of(input.values, direction)?;
    let sigma = scatter(input, &grid, direction)?;
    let lines = grid.height() as usize;
    let mut medians = try_filled_vec(lines as u64, f64::NAN)?;
    let mut room = try_vec(u64::from(grid.width()))?;
    for (row, median) in grid.rows().zip(&mut medians) {
        room.clear();
        room.extend(row.iter().copied().filter(|v| !v.is_nan()));
        *median = middle(&mut room).unwrap_or(f64::NAN);
    }
    let is_counts = matches!(input.kind, Kind::Window | Kind::Net | Kind::Fitted);
    let is_whole = grid.data().iter().all(|v| v.is_nan() || v.fract() == 0.0);
    let mut out = DriftFactors::of_lines(lines)?;
    let reach = window as usize / 2;
    let mut judged = 0u64;
    for (y, row) in grid.rows().enumerate() {
        if medians[y].is_nan() {
            continue;
        }
        room.clear();
        let near = (0..=2 * reach).map(|d| medians[mirrored(y + d, reach, lines)]);
        room.extend(near.filter(|m| !m.is_nan()));
        let Some(level) = middle(&mut room) else { continue };
        if level.is_nan()
            || level <= 0.0
            || medians[y] <= 0.0
            || (is_counts && level.min(medians[y]) < FEWEST_COUNTS)
        {
            return Ok(Err(format!(
                "line {} has a median of {}, and a factor needs at least {FEWEST_COUNTS} counts",
                whole(y as u64 + 1),
                figure(medians[y])
            )));
        }
        let valid = row.iter().filter(|v| !v.is_nan()).count();
        let ordinary = row.iter().filter(|&&v| (0.5 * level..=2.0 * level).contains(&v)).count();
        if 2 * ordinary <= valid {
            return Ok(Err(format!(
                "most of line {} lies more than a factor of 2 from the level of the lines around it",
                whole(y as u64 + 1)
            )));
        }
        let y32 = u32::try_from(y).unwrap_or(u32::MAX);
        let of_median = error_of_median(row, sigma.row(y32), medians[y]);
        // Medians of whole numbers come in whole steps.
        let of_step = if is_whole { 1.0 / 12.0 } else { 0.0 };
        let of_level = 1.0 + 1.5 / f64::from(window);
        out.factors[y] = medians[y] / level;
        out.standard_errors[y] = ((of_median * of_median + of_step) * of_level).sqrt() / level;
        judged += 1;
    }
    if judged < 3 {
        return Ok(Err("fewer than three of its lines hold data".into()));
    }
    Ok(Ok(out))
}

/// The median; the mean of the middle two for an even number.
fn middle(values: &mut [f64]) -> Option<f64> {
    let n = values.len();
    let upper = *values.select_nth_unstable_by(n.checked_div(2).filter(|_| n > 0)?, f64::total_cmp).1;
    if n % 2 == 1 {
        return Some(upper);
    }
    let lower = values[..n / 2].iter().copied().fold(f64::NEG_INFINITY, f64::max);
    Some(0.5 * (lower + upper))
}

/// Standard error of the median of values that differ among themselves and each scatter by their own sigma: the root of
/// the sum of p (1 - p) over the density at the median, p the chance that a value falls below it. Scatter is taken as
/// uniform of the same variance, which needs no special function.
fn error_of_median(values: &[f64], sigma: &[f64], median: f64) -> f64 {
    let (mut chance, mut density) = (0.0, 0.0);
    for (v, s) in values.iter().zip(sigma) {
        let width = 12.0f64.sqrt() * s;
        let p = (median - v) / width + 0.5;
        if width > 0.0 && (0.0..=1.0).contains(&p) {
            chance += p * (1.0 - p);
            density += 1.0 / width;
        }
    }
    if density > 0.0 { f64::sqrt(chance) / density } else { 0.0 }
}

/// Factor of each line by a margin that should be uniform: the mean of positions `first` to `last` of the lines, over
/// `window` lines (ends mirrored), over the mean of the whole margin. `Err(text)` is why it cannot be judged.
pub fn margin_factors(
    input: &Input<'_>,
    [first, last]: [u32; 2],
    window: u32,
    direction: Direction,
) -> Result<Result<DriftFactors, String>, OutOfMemory> {
    let grid = lines_of(input.values, direction)?;
    if last >= grid.width() {
        return Ok(Err(format!(
            "the margin ends at {last}, the lines at {}",
            grid.width().saturating_sub(1)
        )));
    }
    let variances = match variance(input)? {
        Some(v) => Some(back_from_lines(v, direction)?),
        None => None,
    };
    let lines = grid.height() as usize;
    let mut sums = try_filled_vec(lines as u64, (0.0, 0.0, 0.0))?;
    let part = first as usize..=last as usize;
    for (y, slot) in sums.iter_mut().enumerate() {
        let y32 = u32::try_from(y).unwrap_or(u32::MAX);
        let own_variances = variances.as_ref().map(|v| &v.row(y32)[part.clone()]);
        for (i, value) in grid.row(y32)[part.clone()].iter().enumerate().filter(|(_, v)| !v.is_nan()) {
            slot.0 += value;
            slot.1 += 1.0;
            slot.2 += own_variances.map_or(0.0, |v| v[i]);
        }
    }
    let (all, pixels) = sums.iter().fold((0.0, 0.0), |a, s| (a.0 + s.0, a.1 + s.1));
    let mean = all / pixels;
    if mean.is_nan() || mean <= 0.0 {
        return Ok(Err("the margin holds nothing".into()));
    }
    let mut out = DriftFactors::of_lines(lines)?;
    let reach = window as usize / 2;
    let is_counts = matches!(input.kind, Kind::Window | Kind::Net | Kind::Fitted);
    for y in 0..lines {
        let near = || (0..=2 * reach).map(|d| sums[mirrored(y + d, reach, lines)]);
        let (sum, n, v) = near().fold((0.0, 0.0, 0.0), |a, s| (a.0 + s.0, a.1 + s.1, a.2 + s.2));
        if n == 0.0 || sum <= 0.0 || (is_counts && sum < FEWEST_IN_MARGIN) {
            return Ok(Err(format!(
                "the margin holds only {} in the {window} lines around line {}, and a factor needs {FEWEST_IN_MARGIN} counts; name a wider margin or more lines",
                figure(sum),
                whole(y as u64 + 1)
            )));
        }
        out.factors[y] = sum / n / mean;
        // Without known errors: from the scatter of the lines' own means around theirs.
        let spread = || near().map(|s| (s.0 - s.1 * sum / n).powi(2)).sum::<f64>();
        out.standard_errors[y] = if variances.is_some() { v.sqrt() } else { spread().sqrt() } / sum;
    }
    Ok(Ok(out))
}

pub(super) fn repair(
    input: &Input<'_>,
    window: u32,
    reference: Option<[u32; 2]>,
    direction: Direction,
    beyond: f64,
) -> Result<Derived, Fault> {
    let found = match reference {
        None => line_factors(input, window, direction)?,
        Some(margin) => margin_factors(input, margin, window, direction)?,
    };
    let mut drift = found.map_err(|reason| {
        let ways = "State a margin that should be uniform, or leave the lines as they are.";
        Fault::new(
            "cannot_be_judged",
            format!("The drift of the lines of {} cannot be judged: {reason}. {ways}", input.label),
        )
    })?;
    let lines = drift.beyond(beyond);
    if lines == 0 {
        return Err(Fault::new(
            "nothing_to_repair",
            format!(
                "No line of {} differs from its level by more than {} standard errors. It is left as it is.",
                input.label,
                figure(beyond)
            ),
        ));
    }
    if reference.is_none() {
        for (factor, error) in drift.factors.iter_mut().zip(&drift.standard_errors) {
            if (*factor - 1.0).abs() <= beyond * error {
                *factor = 1.0;
            }
        }
    }
    let factor_of = Grid::from_vec(input.values.width(), input.values.height(), {
        let mut all = try_vec(input.values.len())?;
        let width = input.values.width().max(1) as usize;
        let line = |i: usize| if direction == Direction::Across { i / width } else { i % width };
        all.extend((0..input.values.data().len()).map(|i| drift.factors[line(i)]));
        all
    })
    .ok_or(OutOfMemory(input.values.len()))?;
    let values = zipped(input.values, &factor_of, |v, f| v / f)?;
    let error = match variance(input)? {
        Some(v) => Some(zipped(&v, &factor_of, |v, f| v / (f * f))?),
        None => None,
    };
    let (low, high) = drift.factors.iter().fold((f64::INFINITY, 0.0f64), |a, &f| (a.0.min(f), a.1.max(f)));
    let recipe = Recipe::LineDrift { window, reference, direction, beyond };
    let label = recipe.sentence(&[input.label.to_owned()]);
    let what = match reference {
        None => format!(
            "{} of {} lines were divided by their median over that of the {window} lines around them; the others do not differ by more than {} standard errors.",
            whole(lines),
            whole(drift.factors.len() as u64),
            figure(beyond)
        ),
        Some([first, last]) => format!(
            "Each line was divided by the level of its margin ({first} to {last}, mean of {window} lines) over that of the whole margin."
        ),
    };
    let mut findings = vec![match reference {
        None => "A feature of the object that fills just one line is taken away with the drift. Look at the lines that were changed.".to_owned(),
        Some(_) => "This is right only if the margin is uniform: what differs along it in the object is divided into the whole map.".to_owned(),
    }];
    findings.push("The values are no counts any more; their error is that of the counts divided by the same factor, and the factor's own error, alike along a line, is not in it.".into());
    if error.is_none() && input.kind != Kind::DisplayCopy {
        findings.push(unknown_error(&[input.label]));
    }
    Ok(Derived {
        values,
        sigma: roots(error),
        kind: no_longer_counts(input.kind),
        cell: (1, 1),
        recipe,
        account: vec![what, format!("The factors reach from {} to {}.", rounded(low, 4), rounded(high, 4))],
        findings,
        found: Found::LineFactors(drift),
        label,
    })
}
