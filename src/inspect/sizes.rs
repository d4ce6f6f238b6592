//! Maps of another size than the rest of their stack: a line short, padded, cropped, turned, binned.

use super::margins::border;
use super::survey::{Survey, spread, stored_row};
use super::turn::{best_way, correlation, evened};
use crate::grid::{try_filled_vec, try_vec};
use crate::notice::{Other, OutOfMemory, Sign, Turn};
use crate::numerics::math::ln_1p;
use crate::stack::Plane;

/// A map with what was seen of it.
#[derive(Clone, Copy)]
pub(super) struct Seen<'a> {
    pub plane: &'a Plane,
    pub survey: &'a Survey,
    pub other: &'a Other,
}

/// Lines more or less that are "a few".
const FEW: i64 = 3;
/// References compared with; each costs a few readings.
const MOST_REFERENCES: usize = 6;
/// Blocks along each side by which a place must be better than any other, on average and for sure.
const BLOCKS: usize = 8;
/// Mean over standard error of that advantage. Few blocks may carry it, so that this alone is not asked to be large.
const SURE: f64 = 2.5;
/// Difference of the two correlations (Fisher's z) in standard errors, if every 25 pixels were one.
const SURE_BY_Z: f64 = 4.0;

fn square_root(v: f64) -> f64 {
    if v > 0.0 { v.sqrt() } else { v }
}

/// How a map fits a reference at one offset.
#[derive(Debug, Clone)]
struct Fit {
    /// Pearson's r over all pixels looked at.
    r: f64,
    /// Their number.
    n: f64,
    /// What each of 8 x 8 blocks adds to it.
    shares: [f64; BLOCKS * BLOCKS],
}

/// Fits of map pixel (x, y) to reference pixel (x + dx, y + dy) for each offset, over at most `most_rows` rows and about
/// `most_columns` columns; only pixels that have a partner at every offset.
fn at_offsets(
    map: &Plane,
    reference: &Plane,
    offsets: &[(i64, i64)],
    (most_rows, most_columns): (u32, u32),
) -> Result<Vec<Fit>, OutOfMemory> {
    let (width, height) = map.size();
    let (grid_width, grid_height) = reference.size();
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut grid_row = try_filled_vec(u64::from(grid_width), 0.0)?;
    let mut grid_scratch = try_filled_vec(u64::from(grid_width), 0.0)?;
    let is_inside = |v: i64, end: u32| (0..i64::from(end)).contains(&v);
    let columns: Vec<u32> = spread(width, most_columns)
        .filter(|&x| offsets.iter().all(|o| is_inside(i64::from(x) + o.0, grid_width)))
        .collect();
    let rows: Vec<u32> = spread(height, most_rows)
        .filter(|&y| offsets.iter().all(|o| is_inside(i64::from(y) + o.1, grid_height)))
        .collect();
    let n = (rows.len() * columns.len()) as u64;
    let mut order: Vec<usize> = (0..offsets.len()).collect();
    order.sort_by_key(|&i| (offsets[i].1, offsets[i].0));
    let mut mine: Vec<f64> = try_vec(n)?;
    let mut theirs: Vec<Vec<f64>> = Vec::new();
    for _ in offsets {
        theirs.push(try_vec(n)?);
    }
    let mut blocks: Vec<usize> = try_vec(n)?;
    for (i, &y) in rows.iter().enumerate() {
        stored_row(map, y, &mut row, &mut scratch);
        mine.extend(columns.iter().map(|&x| square_root(row[x as usize])));
        let down = i * BLOCKS / rows.len();
        blocks.extend((0..columns.len()).map(|j| down * BLOCKS + j * BLOCKS / columns.len()));
        let mut read = None;
        for &o in &order {
            let at = (i64::from(y) + offsets[o].1) as u32;
            if read != Some(at) {
                stored_row(reference, at, &mut grid_row, &mut grid_scratch);
                read = Some(at);
            }
            theirs[o].extend(
                columns.iter().map(|&x| square_root(grid_row[(i64::from(x) + offsets[o].0) as usize])),
            );
        }
    }
    Ok(theirs.iter().map(|theirs| fit(&mine, theirs, &blocks)).collect())
}

/// Pearson's r and the part of each block in it; r is 0 without spread.
fn fit(mine: &[f64], theirs: &[f64], blocks: &[usize]) -> Fit {
    let mut out = Fit { r: 0.0, n: 0.0, shares: [0.0; BLOCKS * BLOCKS] };
    let pairs = || mine.iter().zip(theirs).zip(blocks).filter(|((a, b), _)| !a.is_nan() && !b.is_nan());
    let n = pairs().count() as f64;
    if correlation(mine, theirs).is_none() {
        return out;
    }
    let (mut x, mut y, mut xx, mut yy) = (0.0, 0.0, 0.0, 0.0);
    pairs().for_each(|((a, b), _)| (x, y) = (x + a / n, y + b / n));
    pairs().for_each(|((a, b), _)| (xx, yy) = (xx + (a - x) * (a - x), yy + (b - y) * (b - y)));
    let scale = (xx * yy).sqrt();
    for ((a, b), &block) in pairs() {
        out.shares[block] += (a - x) * (b - y) / scale;
    }
    (out.r, out.n) = (out.shares.iter().sum(), n);
    out
}

/// The offset that fits best, if r is at least 0.3 and it surely beats every other: with how surely.
fn sure(offsets: &[(i64, i64)], fits: &[Fit]) -> Option<((i64, i64), f64)> {
    let best = (0..offsets.len()).reduce(|a, b| if fits[b].r > fits[a].r { b } else { a })?;
    if fits[best].r < 0.3 {
        return None;
    }
    let n = (BLOCKS * BLOCKS) as f64;
    let z = |r: f64| 0.5 * (ln_1p(r.min(1.0 - 1e-12)) - ln_1p(-r.min(1.0 - 1e-12)));
    let mut least = f64::INFINITY;
    for other in (0..offsets.len()).filter(|&o| o != best) {
        let ahead: Vec<f64> = fits[best].shares.iter().zip(&fits[other].shares).map(|(a, b)| a - b).collect();
        let mean = ahead.iter().sum::<f64>() / n;
        let variance = ahead.iter().map(|d| (d - mean) * (d - mean)).sum::<f64>() / (n - 1.0);
        if mean / (variance / n).sqrt() < SURE {
            return None;
        }
        least = least.min((z(fits[best].r) - z(fits[other].r)) * (fits[best].n / 25.0).sqrt());
    }
    (least >= SURE_BY_Z).then_some((offsets[best], least))
}

/// True if the two lie on each other pixel by pixel: better so than shifted by up to 2 pixels any way.
pub(super) fn lie_on_each_other(map: &Plane, reference: &Plane) -> Result<bool, OutOfMemory> {
    let offsets: Vec<(i64, i64)> = (-2..=2).flat_map(|dy| (-2..=2).map(move |dx| (dx, dy))).collect();
    let fits = at_offsets(map, reference, &offsets, (384, 512))?;
    let middle = offsets.len() / 2;
    Ok(fits[middle].r >= 0.3 && fits.iter().enumerate().all(|(o, fit)| o == middle || fit.r < fits[middle].r))
}

/// Where a map with a few lines more or less lies: by the reference that shows it most surely.
fn place_of_lines(
    map: Seen<'_>,
    stack: &[Seen<'_>],
    by: (i64, i64),
) -> Result<Option<(i64, i64)>, OutOfMemory> {
    let range = |n: i64| if n < 0 { 0..=-n } else { -n..=0 };
    let offsets: Vec<(i64, i64)> = range(by.1).flat_map(|dy| range(by.0).map(move |dx| (dx, dy))).collect();
    let mut best: Option<((i64, i64), f64)> = None;
    for reference in nearest(map, stack) {
        let fits = at_offsets(map.plane, reference.plane, &offsets, (384, 512))?;
        if let Some((place, how_sure)) = sure(&offsets, &fits)
            && best.is_none_or(|(_, least)| how_sure > least)
        {
            best = Some((place, how_sure));
        }
    }
    Ok(best.map(|(place, _)| place))
}

/// Maps of the stack, those first that look most like this one in their coarse pictures.
fn nearest<'a>(map: Seen<'_>, stack: &[Seen<'a>]) -> Vec<Seen<'a>> {
    let mine = evened(&map.survey.coarse);
    let mut found: Vec<(f64, usize)> = stack
        .iter()
        .enumerate()
        .map(|(i, seen)| (correlation(&mine, &evened(&seen.survey.coarse)).unwrap_or(-1.0), i))
        .collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    found.into_iter().take(MOST_REFERENCES).map(|(_, i)| stack[i]).collect()
}

/// Means of `factor` x `factor` pixels; a rest at the right and below is left out.
fn shrunk(plane: &Plane, factor: u32) -> Result<(Vec<f64>, usize, usize), OutOfMemory> {
    let (width, height) = ((plane.width() / factor) as usize, (plane.height() / factor) as usize);
    let mut row = try_filled_vec(u64::from(plane.width()), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(plane.width()), 0.0)?;
    let mut out = try_filled_vec((width * height) as u64, 0.0)?;
    let side = factor as usize;
    for y in 0..height * side {
        stored_row(plane, y as u32, &mut row, &mut scratch);
        for (x, part) in row.chunks_exact(side).enumerate() {
            out[y / side * width + x] += part.iter().sum::<f64>();
        }
    }
    for v in &mut out {
        *v = square_root(*v);
    }
    Ok((out, width, height))
}

/// Where a smaller map lies within the grid: coarse search at means of pixels, then finer. Needs r of 0.85 and no other place
/// within 0.15, and 8 x 8 coarse pixels.
fn place_of_part<'a>(map: Seen<'_>, stack: &[Seen<'a>]) -> Result<Option<(u32, u32, Seen<'a>)>, OutOfMemory> {
    let (grid_width, grid_height) = stack[0].plane.size();
    let factor = grid_width.max(grid_height).div_ceil(64);
    let (small, width, height) = shrunk(map.plane, factor)?;
    if width < 8 || height < 8 {
        return Ok(None);
    }
    let mut best: Option<(f64, u32, u32, Seen<'a>)> = None;
    for reference in stack.iter().take(MOST_REFERENCES) {
        let (large, large_width, large_height) = shrunk(reference.plane, factor)?;
        let mut found = Vec::new();
        let mut part = try_vec((width * height) as u64)?;
        for top in 0..=large_height.saturating_sub(height) {
            for left in 0..=large_width.saturating_sub(width) {
                part.clear();
                for y in top..(top + height).min(large_height) {
                    let start = y * large_width + left;
                    part.extend_from_slice(&large[start..start + width.min(large_width - left)]);
                }
                if part.len() == small.len() {
                    found.push((correlation(&small, &part).unwrap_or(-1.0), left, top));
                }
            }
        }
        found.sort_by(|a, b| b.0.total_cmp(&a.0).then((a.2, a.1).cmp(&(b.2, b.1))));
        let Some(&(fit, left, top)) = found.first() else { continue };
        let elsewhere =
            found.iter().find(|f| f.1.abs_diff(left) > 2 || f.2.abs_diff(top) > 2).map_or(-1.0, |f| f.0);
        let is_clear = fit >= 0.85 && fit >= elsewhere + 0.15;
        if is_clear && best.as_ref().is_none_or(|b| fit > b.0) {
            best = Some((fit, left as u32 * factor, top as u32 * factor, *reference));
        }
    }
    let Some((_, mut x, mut y, reference)) = best else { return Ok(None) };
    let mut step = factor.div_ceil(8);
    let mut reach = factor + 1;
    let end = (grid_width - map.plane.width(), grid_height - map.plane.height());
    loop {
        let axis = |at: u32, end: u32| {
            (at.saturating_sub(reach)..=(at + reach).min(end)).step_by(step as usize).map(i64::from)
        };
        let offsets: Vec<(i64, i64)> =
            axis(y, end.1).flat_map(|dy| axis(x, end.0).map(move |dx| (dx, dy))).collect();
        let found = at_offsets(map.plane, reference.plane, &offsets, (48, 128))?;
        let best = (0..offsets.len()).reduce(|a, b| if found[b].r > found[a].r { b } else { a });
        let Some(o) = best else { return Ok(None) };
        (x, y) = (offsets[o].0 as u32, offsets[o].1 as u32);
        if step == 1 {
            return Ok(Some((x, y, reference)));
        }
        (reach, step) = (step, step.div_ceil(8));
    }
}

/// Pixels of the grid in one of the map, if one whole number fits: rests at the end may be left out or kept.
fn binned_by(grid: u32, map: u32) -> Option<u32> {
    let factor = (f64::from(grid) / f64::from(map.max(1))).round() as u32;
    (factor >= 1 && (grid / factor == map || grid.div_ceil(factor) == map)).then_some(factor)
}

/// What a map of another size is, against the maps of the commonest size (`stack`, at least one). `None` where nothing fits:
/// that it has another size is said elsewhere.
pub(super) fn look(map: Seen<'_>, stack: &[Seen<'_>]) -> Result<Option<Sign>, OutOfMemory> {
    let (grid_width, grid_height) = stack[0].plane.size();
    let (width, height) = map.plane.size();
    if width == 0 || height == 0 {
        return Ok(None);
    }
    let columns = i64::from(width) - i64::from(grid_width);
    let rows = i64::from(height) - i64::from(grid_height);
    let inside = border(map.plane, map.survey)?.0.inside((width, height));
    if (inside.width, inside.height) == (grid_width, grid_height) {
        return Ok(Some(Sign::Padded { inside }));
    }
    if columns.abs() <= FEW && rows.abs() <= FEW {
        let place = place_of_lines(map, stack, (columns, rows))?;
        return Ok(Some(Sign::LineCount { columns, rows, place }));
    }
    if (width, height) == (grid_height, grid_width) {
        let ways: Vec<Turn> = Turn::ALL.into_iter().filter(|turn| turn.swaps_sides()).collect();
        let mine = evened(&map.survey.coarse);
        let best = stack
            .iter()
            .filter_map(|seen| best_way(&mine, &evened(&seen.survey.coarse), &ways))
            .max_by(|a, b| a.1.total_cmp(&b.1));
        return Ok(Some(Sign::SidesSwapped { turn: best.filter(|b| b.1 >= 0.8).map(|b| b.0) }));
    }
    let is_smaller = columns <= 0 && rows <= 0;
    let looks_alike = nearest(map, stack)
        .first()
        .and_then(|seen| correlation(&evened(&map.survey.coarse), &evened(&seen.survey.coarse)));
    let binned = match (binned_by(grid_width, width), binned_by(grid_height, height)) {
        (Some(across), Some(down)) if across * down > 1 => Some(Sign::Binned { across, down }),
        _ => None,
    };
    if binned.is_some() && looks_alike.is_some_and(|r| r >= 0.6) {
        return Ok(binned);
    }
    if is_smaller && let Some((x, y, like)) = place_of_part(map, stack)? {
        return Ok(Some(Sign::Cropped { x, y, like: like.other.clone() }));
    }
    Ok(binned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_binned_side_is_one_whole_number_with_the_rest_kept_or_not() {
        assert_eq!((binned_by(100, 50), binned_by(101, 50), binned_by(101, 51)), (Some(2), Some(2), Some(2)));
        assert_eq!((binned_by(100, 34), binned_by(100, 70), binned_by(100, 0)), (Some(3), None, None));
    }
}
