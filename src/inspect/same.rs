//! Maps that are other maps of the stack again: copies, sums, roots.

use super::survey::{Survey, spread, stored_row};
use super::turn::correlation;
use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::order;
use crate::stack::Plane;

/// Pixels compared before any statement.
const SAMPLE: u32 = 2048;
/// More maps than this are not searched for sums.
const MOST_MAPS: usize = 64;

/// A relation between maps, by index.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Relation {
    /// The same numbers.
    Same(usize),
    /// Their sum, exactly or nearly.
    Sum(Vec<usize>, bool),
    /// Follows it as a square root.
    Root(usize),
}

/// Rows of values at the same places of all maps, places without data in any of them left out; values of 10^15 and more
/// count as none.
fn sample(maps: &[(&Plane, &Survey)]) -> Result<Vec<Vec<f64>>, OutOfMemory> {
    let (width, height) = maps[0].0.size();
    let rows: Vec<u32> = spread(height, 64).collect();
    let columns: Vec<u32> = spread(width, SAMPLE / rows.len().max(1) as u32).collect();
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut out = try_vec(maps.len() as u64)?;
    for (plane, _) in maps {
        let mut values = try_vec((rows.len() * columns.len()) as u64)?;
        for &y in &rows {
            stored_row(plane, y, &mut row, &mut scratch);
            values.extend(columns.iter().map(|&x| {
                let v = row[x as usize];
                if v.abs() < 1e15 { v } else { f64::NAN }
            }));
        }
        out.push(values);
    }
    let n = rows.len() * columns.len();
    let is_whole: Vec<bool> = (0..n).map(|i| out.iter().all(|map| !map[i].is_nan())).collect();
    for map in &mut out {
        let mut keep = is_whole.iter();
        map.retain(|_| keep.next() == Some(&true));
    }
    Ok(out)
}

fn are_equal(a: &Plane, b: &Plane) -> Result<bool, OutOfMemory> {
    let width = u64::from(a.width());
    let mut rows = [try_filled_vec(width, 0.0)?, try_filled_vec(width, 0.0)?];
    let mut scratch = try_filled_vec(width, 0.0)?;
    for y in 0..a.height() {
        stored_row(a, y, &mut rows[0], &mut scratch);
        stored_row(b, y, &mut rows[1], &mut scratch);
        if rows[0].iter().zip(&rows[1]).any(|(p, q)| p != q && !(p.is_nan() && q.is_nan())) {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Solves `gram · c = right` (symmetric, positive) by Cholesky's method; `None` if it is not positive.
fn solved(gram: &[Vec<f64>], right: &[f64]) -> Option<Vec<f64>> {
    let n = right.len();
    let mut lower = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let done: f64 = (0..j).map(|k| lower[i][k] * lower[j][k]).sum();
            let rest = gram[i][j] - done;
            if i == j {
                if rest <= 1e-12 * gram[i][i] {
                    return None;
                }
                lower[i][i] = rest.sqrt();
            } else {
                lower[i][j] = rest / lower[j][j];
            }
        }
    }
    let mut out = vec![0.0; n];
    for i in 0..n {
        let done: f64 = (0..i).map(|k| lower[i][k] * out[k]).sum();
        out[i] = (right[i] - done) / lower[i][i];
    }
    for i in (0..n).rev() {
        let done: f64 = (i + 1..n).map(|k| lower[k][i] * out[k]).sum();
        out[i] = (out[i] - done) / lower[i][i];
    }
    Some(out)
}

/// The parts of `target` among `from`, where least squares gives weights of 0 and 1 (± 0.02) only, at least two of 1, and what
/// is left over is nothing (exact) or less than a twentieth of the counting variance.
fn parts(
    values: &[Vec<f64>],
    gram: &[Vec<f64>],
    target: usize,
    from: &[usize],
) -> Option<(Vec<usize>, bool)> {
    let square: Vec<Vec<f64>> = from.iter().map(|&i| from.iter().map(|&j| gram[i][j]).collect()).collect();
    let right: Vec<f64> = from.iter().map(|&i| gram[i][target]).collect();
    let weights = solved(&square, &right)?;
    let is_part = |w: f64| (w - 1.0).abs() <= 0.02;
    if !weights.iter().all(|&w| is_part(w) || w.abs() <= 0.02) {
        return None;
    }
    let chosen: Vec<usize> =
        from.iter().zip(&weights).filter(|(_, w)| is_part(**w)).map(|(&i, _)| i).collect();
    if chosen.len() < 2 {
        return None;
    }
    let n = values[target].len() as f64;
    let (mut squares, mut largest, mut total, mut scale) = (0.0, 0.0f64, 0.0, 0.0f64);
    for (i, &value) in values[target].iter().enumerate() {
        let sum: f64 = chosen.iter().map(|&k| values[k][i]).sum();
        let rest = value - sum;
        squares += rest * rest;
        largest = largest.max(rest.abs());
        total += value.abs();
        scale = scale.max(value.abs());
    }
    let is_exact = largest <= 2e-6 * scale;
    (is_exact || squares / n < 0.05 * total / n).then_some((chosen, is_exact))
}

/// True if `map` is a root of `of`: of neighbours that differ in both, 95 % differ the same way, and its square follows the
/// other in a straight line better than it does itself. Needs 500 such neighbours and a fivefold range.
fn is_root(map: &Plane, of: &Plane, sampled: (&[f64], &[f64])) -> Result<bool, OutOfMemory> {
    let (root, value) = sampled;
    if root.iter().any(|&v| v < 0.0) || correlation(root, value).is_none_or(|r| r < 0.8) {
        return Ok(false);
    }
    let squared: Vec<f64> = root.iter().map(|v| v * v).collect();
    let (straight, bent) =
        (correlation(&squared, value).unwrap_or(0.0), correlation(root, value).unwrap_or(0.0));
    let mut sorted: Vec<f64> = value.to_vec();
    order::sort(&mut sorted);
    let (low, high) = (order::quantile(&sorted, 0.05), order::quantile(&sorted, 0.95));
    let has_range = low.zip(high).is_some_and(|(low, high)| high > 0.0 && high >= 5.0 * low);
    let left_over = |r: f64| 1.0 - r * r;
    if straight < 0.97 || 4.0 * left_over(straight) > left_over(bent) || !has_range {
        return Ok(false);
    }
    let width = u64::from(map.width());
    let (mut a, mut b) = (try_filled_vec(width, 0.0)?, try_filled_vec(width, 0.0)?);
    let mut scratch = try_filled_vec(width, 0.0)?;
    let (mut both, mut same) = (0u64, 0u64);
    for y in spread(map.height(), 64) {
        stored_row(map, y, &mut a, &mut scratch);
        stored_row(of, y, &mut b, &mut scratch);
        for (p, q) in a.windows(2).zip(b.windows(2)) {
            let (p, q) = (p[1] - p[0], q[1] - q[0]);
            if p != 0.0 && q != 0.0 && !p.is_nan() && !q.is_nan() {
                both += 1;
                same += u64::from((p > 0.0) == (q > 0.0));
            }
        }
    }
    Ok(both >= 500 && same * 100 >= both * 95)
}

/// Relations between maps of one size: (map, what it is). A copy is said of the later one; a map has one relation at most.
///
/// Not seen: sums that hold a part which is not in the stack, sums in stacks of more than 64 maps, copies times a factor,
/// errors of strong backgrounds (they hardly follow the map).
pub(super) fn relations(maps: &[(&Plane, &Survey)]) -> Result<Vec<(usize, Relation)>, OutOfMemory> {
    let mut out: Vec<(usize, Relation)> = Vec::new();
    let has_spread = |i: usize| maps[i].1.range.is_some_and(|(low, high)| low < high);
    let same_bits = |a: &[f64], b: &[f64]| a.iter().zip(b).all(|(p, q)| p == q || (p.is_nan() && q.is_nan()));
    let mut originals: Vec<usize> = Vec::new();
    for i in (0..maps.len()).filter(|&i| has_spread(i)) {
        let (plane, survey) = maps[i];
        let mut first = None;
        for &j in &originals {
            let (other, seen) = maps[j];
            let may_be = survey.range == seen.range
                && survey.high_count == seen.high_count
                && same_bits(&survey.coarse, &seen.coarse);
            if may_be && are_equal(plane, other)? {
                first = Some(j);
                break;
            }
        }
        match first {
            Some(j) => out.push((i, Relation::Same(j))),
            None => originals.push(i),
        }
    }
    if originals.len() < 2 {
        return Ok(out);
    }
    let kept: Vec<(&Plane, &Survey)> = originals.iter().map(|&i| maps[i]).collect();
    let values = sample(&kept)?;
    if values[0].len() < 100 {
        return Ok(out);
    }
    let n = kept.len();
    let mut explained = vec![false; n];
    if (3..=MOST_MAPS).contains(&n) {
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(p, q)| p * q).sum::<f64>();
        let gram: Vec<Vec<f64>> =
            (0..n).map(|i| (0..n).map(|j| dot(&values[i], &values[j])).collect()).collect();
        // The brightest first: a sum is brighter than its parts, and is then left out of what others are made of.
        let mut by_size: Vec<usize> = (0..n).collect();
        by_size.sort_by(|&a, &b| gram[b][b].total_cmp(&gram[a][a]).then(a.cmp(&b)));
        for target in by_size {
            let from: Vec<usize> = (0..n)
                .filter(|&i| {
                    i != target && !explained[i] && gram[i][i] > 0.0 && gram[i][i] <= gram[target][target]
                })
                .collect();
            if from.len() < 2 {
                continue;
            }
            if let Some((chosen, is_exact)) = parts(&values, &gram, target, &from) {
                explained[target] = true;
                let chosen = chosen.into_iter().map(|i| originals[i]).collect();
                out.push((originals[target], Relation::Sum(chosen, is_exact)));
            }
        }
    }
    for i in 0..n {
        for j in (0..n).filter(|&j| j != i && !explained[i]) {
            if is_root(kept[i].0, kept[j].0, (&values[i], &values[j]))? {
                out.push((originals[i], Relation::Root(originals[j])));
                break;
            }
        }
    }
    out.sort_by_key(|(i, _)| *i);
    Ok(out)
}
