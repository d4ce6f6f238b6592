//! Numbers that mean "no data".

use super::levels::Levels;
use super::survey::{Survey, spread, stored, stored_row};
use crate::grid::{SampleType, try_filled_vec};
use crate::notice::{OutOfMemory, Sign};
use crate::numerics::order;
use crate::stack::Plane;

/// Numbers below 0 that stand for "no data" by habit. Common practice, no source.
const HABITUAL: [f64; 6] = [-1.0, -99.0, -999.0, -9999.0, -99_999.0, -32_768.0];

/// The least number of the type, for types with a sign.
fn floor(sample_type: SampleType) -> Option<f64> {
    match sample_type {
        SampleType::I8 => Some(f64::from(i8::MIN)),
        SampleType::I16 => Some(f64::from(i16::MIN)),
        SampleType::I32 => Some(f64::from(i32::MIN)),
        SampleType::F32 => Some(f64::from(f32::MIN)),
        SampleType::F64 => Some(f64::MIN),
        SampleType::U8 | SampleType::U16 | SampleType::U32 => None,
    }
}

/// The full value of the type where it is no plausible count of a map that holds far less.
fn top(sample_type: SampleType) -> Option<f64> {
    match sample_type {
        SampleType::U16 => Some(f64::from(u16::MAX)),
        SampleType::I16 => Some(f64::from(i16::MAX)),
        SampleType::U32 => Some(f64::from(u32::MAX)),
        SampleType::I32 => Some(f64::from(i32::MAX)),
        _ => None,
    }
}

/// Values next to the ends: the smallest above `low` and the largest below `high`. One reading of every pixel.
fn next_to_ends(plane: &Plane, (low, high): (f64, f64)) -> Result<Option<(f64, f64)>, OutOfMemory> {
    let (width, height) = plane.size();
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let (mut above, mut below) = (f64::INFINITY, f64::NEG_INFINITY);
    for y in 0..height {
        stored_row(plane, y, &mut row, &mut scratch);
        for &v in &row {
            above = if v > low && v < above { v } else { above };
            below = if v < high && v > below { v } else { below };
        }
    }
    Ok((above.is_finite() && below.is_finite()).then_some((above, below)))
}

/// Median of the pixels beside those that hold `value`, of up to 400 of them; `None` where there are none.
fn beside(plane: &Plane, value: f64) -> Result<Option<f64>, OutOfMemory> {
    let (width, height) = plane.size();
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut near = Vec::new();
    for y in spread(height, height) {
        stored_row(plane, y, &mut row, &mut scratch);
        for x in 0..width {
            if row[x as usize] != value || near.len() >= 1600 {
                continue;
            }
            let places = [
                (x.checked_sub(1), Some(y)),
                (Some(x + 1), Some(y)),
                (Some(x), y.checked_sub(1)),
                (Some(x), Some(y + 1)),
            ];
            near.extend(
                places
                    .into_iter()
                    .filter_map(|(x, y)| stored(plane, x?, y?))
                    .filter(|v| !v.is_nan() && *v != value),
            );
        }
    }
    order::sort(&mut near);
    Ok(order::low_quantile(&near, 0.5))
}

/// Numbers that stand apart at an end of the range.
///
/// Seen: a number of 10^15 and more in size where all others are a million times smaller; -1, -99, -999 ..., the least
/// number of the type and any whole number below 0 held by 3 pixels or more, if it is the only number below 0; the full
/// value of an integer type of 16 or 32 bits where nothing else reaches half of it. Not seen: 0 inside a map (a real
/// count), 255 (saturation or a picture), and -1 where it may be 0 counts less a background of 1: unless the pixels beside
/// it hold 8 and more.
pub(super) fn fill_values(plane: &Plane, survey: &Survey) -> Result<Vec<(f64, u64)>, OutOfMemory> {
    let Some((low, high)) = survey.range else { return Ok(Vec::new()) };
    let is_huge = |v: f64| v.abs() >= 1e15;
    let is_top = top(plane.sample_type()) == Some(high);
    if low >= 0.0 && !is_top && !is_huge(high) || low == high {
        return Ok(Vec::new());
    }
    let Some((above, below)) = next_to_ends(plane, (low, high))? else { return Ok(Vec::new()) };
    let mut out = Vec::new();
    // Where the map holds two numbers only, one end is enough.
    let others_below_high = if below == low { above } else { below };
    let is_floor = floor(plane.sample_type()) == Some(low);
    let apart = above >= 0.0 && (HABITUAL.contains(&low) || is_floor || survey.low_count >= 3);
    if low < 0.0 {
        let is_fill = if is_huge(low) {
            above.abs() < 1e-6 * low.abs() || is_huge(above)
        } else if above >= 0.0 || (low <= -99.0 && above > 0.1 * low) {
            let is_known = HABITUAL.contains(&low) || is_floor;
            let may_count = low.fract() == 0.0 && (apart || is_known);
            may_count && (low < -16.0 || beside(plane, low)?.is_some_and(|v| v >= 8.0))
        } else {
            false
        };
        if is_fill {
            out.push((low, survey.low_count));
        }
    }
    let rest_is_small = others_below_high.abs() < 0.5 * high && below != low;
    if (is_top && rest_is_small) || (is_huge(high) && others_below_high.abs() < 1e-6 * high) {
        out.push((high, survey.high_count));
    }
    Ok(out)
}

/// The same as signs, and the levels that are left.
pub(super) fn look(
    plane: &Plane,
    survey: &Survey,
    levels: Levels,
) -> Result<(Vec<Sign>, Levels), OutOfMemory> {
    let found = fill_values(plane, survey)?;
    let values: Vec<f64> = found.iter().map(|(value, _)| *value).collect();
    let signs = found.into_iter().map(|(value, pixels)| Sign::FillValue { value, pixels }).collect();
    Ok((signs, levels.without(&values)))
}
