//! Borders of one number, and scans that stopped early.

use super::survey::{Row, Survey, stored, stored_row};
use crate::grid::try_filled_vec;
use crate::notice::{OutOfMemory, Patch, Sign};
use crate::stack::Plane;

/// Lines of one number at each side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(super) struct Border {
    pub left: u32,
    pub right: u32,
    pub top: u32,
    pub bottom: u32,
}

impl Border {
    fn is_none(self) -> bool {
        self == Self::default()
    }

    /// On every side of both.
    fn common(self, other: Border) -> Border {
        Border {
            left: self.left.min(other.left),
            right: self.right.min(other.right),
            top: self.top.min(other.top),
            bottom: self.bottom.min(other.bottom),
        }
    }

    /// The four strips without overlaps; those of width zero left out.
    pub fn patches(self, (width, height): (u32, u32)) -> Vec<Patch> {
        let middle = height - self.top - self.bottom;
        [
            Patch { x: 0, y: 0, width, height: self.top },
            Patch { x: 0, y: height - self.bottom, width, height: self.bottom },
            Patch { x: 0, y: self.top, width: self.left, height: middle },
            Patch { x: width - self.right, y: self.top, width: self.right, height: middle },
        ]
        .into_iter()
        .filter(|patch| patch.width > 0 && patch.height > 0)
        .collect()
    }

    /// What is left.
    pub fn inside(self, (width, height): (u32, u32)) -> Patch {
        Patch {
            x: self.left,
            y: self.top,
            width: width - self.left - self.right,
            height: height - self.top - self.bottom,
        }
    }
}

/// The border of one number of a map and that number; no border on a map that holds one number only.
pub(super) fn border(plane: &Plane, survey: &Survey) -> Result<(Border, f64), OutOfMemory> {
    let none = (Border::default(), f64::NAN);
    let (width, height) = survey.size;
    if survey.range.is_none_or(|(low, high)| low == high) {
        return Ok(none);
    }
    // The number is that of a corner where two sides meet, or of a side alone.
    let corners = [(0, 0), (width - 1, height - 1), (0, height - 1), (width - 1, 0)];
    let mut values: Vec<f64> = corners.iter().filter_map(|&(x, y)| stored(plane, x, y)).collect();
    values.retain(|v| !v.is_nan());
    values.dedup();
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    let mut best = none;
    for value in values {
        let is_border = |row: &&Row| **row == Row::Constant(value);
        let top = survey.rows.iter().take_while(is_border).count() as u32;
        let bottom = survey.rows.iter().rev().take_while(is_border).count() as u32;
        // What every row has of it at its ends.
        let (mut left, mut right) = (width, width);
        for y in top..height - bottom {
            stored_row(plane, y, &mut row, &mut scratch);
            let is_it = |v: &&f64| **v == value;
            left = row[..left as usize].iter().take_while(is_it).count() as u32;
            right = row[(width - right) as usize..].iter().rev().take_while(is_it).count() as u32;
            if left + right == 0 {
                break;
            }
        }
        let found = Border { left, right, top, bottom };
        let size = |b: Border| b.left + b.right + b.top + b.bottom;
        if size(found) > size(best.0) {
            best = (found, value);
        }
    }
    Ok(best)
}

/// Rows in data before which a stop is believed.
const FEWEST_BEFORE: u32 = 3;

/// A border or a stop that all maps share; `None` with fewer than two maps or without one. All of one size.
///
/// One line is enough for a border: it takes every map of the stack to be constant there. A stack in which every map counts
/// nothing around the object looks the same as one with a border of zeros, so zeros are only asked about.
pub(super) fn shared(maps: &[(&Plane, &Survey)]) -> Result<Option<Sign>, OutOfMemory> {
    let Some((first, _)) = maps.first().filter(|_| maps.len() >= 2) else { return Ok(None) };
    let size = first.size();
    let mut borders: Vec<(Border, f64)> = Vec::new();
    for (plane, survey) in maps {
        borders.push(border(plane, survey)?);
    }
    let common = borders.iter().map(|(border, _)| *border).reduce(Border::common).unwrap_or_default();
    if common.is_none() || borders.iter().any(|(_, value)| value.is_nan()) {
        return Ok(None);
    }
    let is_zero = borders.iter().all(|(_, value)| *value == 0.0);
    let one_side = common.left + common.right == 0 && (common.top == 0) != (common.bottom == 0);
    if one_side
        && common.top.max(common.bottom) >= 2
        && let Some(sign) = stopped(maps, &borders, common)
    {
        return Ok(Some(sign));
    }
    Ok(Some(Sign::Margin { patches: common.patches(size), is_zero, maps: maps.len() as u64 }))
}

/// A scan that stopped, its last row included where it ends in the middle in all maps: rows before it must hold at least 20
/// values beyond that column.
fn stopped(maps: &[(&Plane, &Survey)], borders: &[(Border, f64)], common: Border) -> Option<Sign> {
    let (width, height) = maps.first()?.0.size();
    let at_top = common.top > 0;
    let empty = common.top.max(common.bottom);
    if empty + FEWEST_BEFORE > height {
        return None;
    }
    // Rows from the last measured one back into the data.
    let row = |back: u32| if at_top { empty + back } else { height - 1 - empty - back };
    let held = |y: u32, x: u32| {
        maps.iter()
            .zip(borders)
            .any(|((plane, _), (_, value))| stored(plane, x, y).is_some_and(|v| !v.is_nan() && v != *value))
    };
    let last = (0..width).rev().find(|&x| held(row(0), x))?;
    let start = last + 1;
    let beyond: usize =
        (start..width).map(|x| (1..FEWEST_BEFORE).filter(|&back| held(row(back), x)).count()).sum();
    let column = (start < width && beyond >= 20).then_some(start);
    let whole = if at_top { (0, empty) } else { (height - empty, empty) };
    let mut patches = vec![Patch { x: 0, y: whole.0, width, height: whole.1 }];
    if column.is_some() {
        patches.push(Patch { x: start, y: row(0), width: width - start, height: 1 });
    }
    let edge = if at_top { empty - 1 } else { height - empty };
    Some(Sign::Aborted { row: edge, at_top, column, patches })
}
