//! Every second row beside its neighbours, as in a scan in both directions.

use super::survey::{spread, stored_row};
use crate::grid::try_filled_vec;
use crate::notice::{OutOfMemory, Sign};
use crate::stack::Plane;

/// Largest shift looked for, in pixels.
const REACH: usize = 5;
const LAGS: usize = 2 * REACH + 1;
/// Bands of rows that each give a shift of their own.
const BANDS: usize = 8;
/// Odd rows looked at in a map.
const ROWS: u32 = 256;
/// A shift smaller than this is not spoken of.
const LEAST_SHIFT: f64 = 0.3;

/// The difference of the pixels on both sides; 0 where one is blank.
fn slopes(row: &[f64], out: &mut [f64]) {
    for (slot, w) in out.iter_mut().zip(row.windows(3)) {
        let slope = w[2] - w[0];
        *slot = if slope.is_nan() { 0.0 } else { slope };
    }
}

/// Products of odd rows and the mean of their even neighbours at each lag, for each band, over the whole energy.
fn products(plane: &Plane) -> Result<[[f64; LAGS]; BANDS], OutOfMemory> {
    let (width, height) = plane.size();
    let mut out = [[0.0; LAGS]; BANDS];
    let n = u64::from(width) - 2;
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut odd = try_filled_vec(n, 0.0)?;
    let mut even = try_filled_vec(n, 0.0)?;
    let mut other = try_filled_vec(n, 0.0)?;
    let odd_rows = (height - 1) / 2;
    let mut energy = 0.0;
    for i in spread(odd_rows, ROWS) {
        let y = 2 * i + 1;
        stored_row(plane, y, &mut row, &mut scratch);
        slopes(&row, &mut odd);
        stored_row(plane, y - 1, &mut row, &mut scratch);
        slopes(&row, &mut even);
        stored_row(plane, y + 1, &mut row, &mut scratch);
        slopes(&row, &mut other);
        for (a, b) in even.iter_mut().zip(&other) {
            *a = 0.5 * (*a + b);
        }
        let band = &mut out[i as usize * BANDS / odd_rows.max(1) as usize];
        let inner = REACH..odd.len() - REACH;
        for (lag, slot) in band.iter_mut().enumerate() {
            let shifted = &odd[lag..lag + inner.len()];
            let mut lanes = [0.0f64; 4];
            let (a, b) = (shifted.chunks_exact(4), even[inner.clone()].chunks_exact(4));
            for (p, q) in a.zip(b) {
                for lane in 0..4 {
                    lanes[lane] += p[lane] * q[lane];
                }
            }
            *slot += (lanes[0] + lanes[2]) + (lanes[1] + lanes[3]);
        }
        energy += even.iter().map(|v| v * v).sum::<f64>();
    }
    if energy > 0.0 && energy.is_finite() {
        out.iter_mut().flatten().for_each(|v| *v /= energy);
        Ok(out)
    } else {
        Ok([[0.0; LAGS]; BANDS])
    }
}

/// Place of the highest point by a parabola through it and its neighbours; `None` at the ends or where nothing rises.
fn peak(values: &[f64; LAGS]) -> Option<f64> {
    let at = (0..LAGS).fold(0, |best, i| if values[i] > values[best] { i } else { best });
    if at == 0 || at + 1 == LAGS || values[at] <= 0.0 {
        return None;
    }
    let (before, here, after) = (values[at - 1], values[at], values[at + 1]);
    let bend = before - 2.0 * here + after;
    let part = if bend < 0.0 { (0.5 * (before - after) / bend).clamp(-0.5, 0.5) } else { 0.0 };
    Some(at as f64 - REACH as f64 + part)
}

/// The shift of odd rows over all maps of one size together. Said from 0.3 pixels, and only if it is five times its standard
/// error from 8 bands of rows of which at least 6 give one, each the same way. Cross products of different rows hold no
/// counting noise in common, so that faint maps blur the answer and don't bend it. Not seen: below 0.3 and above 4 pixels,
/// maps without edges across the rows, fewer than 32 rows or 32 columns.
pub(super) fn look(maps: &[&Plane]) -> Result<Option<Sign>, OutOfMemory> {
    let mut pooled = [[0.0; LAGS]; BANDS];
    for plane in maps {
        let (width, height) = plane.size();
        if width < 32 || height < 32 {
            continue;
        }
        let of_map = products(plane)?;
        for (total, part) in pooled.iter_mut().flatten().zip(of_map.iter().flatten()) {
            *total += part;
        }
    }
    let mut whole = [0.0; LAGS];
    for band in &pooled {
        for (total, part) in whole.iter_mut().zip(band) {
            *total += part;
        }
    }
    let Some(pixels) = peak(&whole) else { return Ok(None) };
    let of_bands: Vec<f64> = pooled.iter().filter_map(peak).collect();
    let same_way = of_bands.iter().filter(|b| b.signum() == pixels.signum()).count();
    if pixels.abs() < LEAST_SHIFT || same_way < 6 || same_way < of_bands.len() {
        return Ok(None);
    }
    let n = of_bands.len() as f64;
    let mean = of_bands.iter().sum::<f64>() / n;
    let spread = of_bands.iter().map(|b| (b - mean) * (b - mean)).sum::<f64>() / (n - 1.0);
    let error = (spread / n).sqrt();
    Ok((pixels.abs() > 5.0 * error).then_some(Sign::LineShift { pixels, error }))
}
