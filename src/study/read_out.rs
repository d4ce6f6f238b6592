//! What the page shows of a place: values of all maps there and over the patch around it.

use super::regions::pixels_text;
use crate::grid::{Mask, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::numerics::figure::{THIN_SPACE, count, figure, whole};
use crate::numerics::sums::sum;
use crate::region::Region;
use crate::stack::{Map, Stack};
use serde::Serialize;

/// Values of all maps at a place.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct ReadOut {
    /// The place.
    pub text: String,
    /// One for each map that has this pixel.
    pub values: Vec<ReadValue>,
    /// The patch around it, where an answer is shown that has classes.
    pub region: Option<ReadRegion>,
    /// The named regions around it, the smallest first.
    pub regions: Vec<ReadRegion>,
    /// How many more there are, in words; empty without any.
    pub more_regions: String,
}

/// Means over a connected patch or a region.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct ReadRegion {
    /// What it is and how large.
    pub text: String,
    /// The mean of each map that has its pixels.
    pub values: Vec<ReadValue>,
}

/// A value of a read-out.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ReadValue {
    /// Id of the map.
    pub map: String,
    /// What it is called.
    pub label: String,
    /// Its value there, or "no data".
    pub text: String,
}

impl ReadOut {
    /// Maps of one scan at a place on its grid.
    pub(super) fn at(stack: &Stack, field: u32, x: f64, y: f64) -> Self {
        let inside = |v: f64| (0.0..4.2e9).contains(&v).then_some(v as u32);
        let (Some(column), Some(row)) = (inside(x), inside(y)) else { return Self::default() };
        let values: Vec<ReadValue> = stack
            .maps()
            .iter()
            .filter(|map| map.field == field)
            .filter_map(|map| {
                let (across, down) = map.cell();
                let (column, row) = (column / across.max(1), row / down.max(1));
                let value = map.plane.value(column, row)?;
                let sigma =
                    map.sigma.as_ref().and_then(|sigma| sigma.get(column, row)).filter(|s| s.is_finite());
                let text = match (value.is_finite(), sigma) {
                    (false, _) => "no data".into(),
                    (true, None) => count(value),
                    (true, Some(&sigma)) => format!("{} ± {}", count(value), figure(sigma)),
                };
                Some(ReadValue { map: map.id.to_string(), label: map.label(), text })
            })
            .collect();
        if values.is_empty() {
            return Self::default();
        }
        let text = match stack.step().filter(|_| field == 0) {
            // The middle of the pixel, to a tenth of a millimetre.
            Some((step, _)) => {
                let mm = |index: u32, um: f64| (f64::from(index) + 0.5) * um / 1000.0;
                format!(
                    "x {:.1}{THIN_SPACE}mm, y {:.1}{THIN_SPACE}mm",
                    mm(column, step.x_um()),
                    mm(row, step.y_um())
                )
            }
            None => format!("column {column}, row {row}"),
        };
        Self { text, values, ..Self::default() }
    }
}

impl ReadRegion {
    /// Means of every map of the mask's size over it.
    ///
    /// # Errors
    /// No memory.
    pub(super) fn of(
        (stack, field): (&Stack, u32),
        mask: &Mask,
        pixels: u64,
        name: String,
    ) -> Result<Self, OutOfMemory> {
        let sized = stack
            .maps()
            .iter()
            .find(|map| map.field == field && map.plane.size() == (mask.width(), mask.height()));
        let area = sized.and_then(|map| stack.step_of(map)).map(|step| {
            let area = pixels as f64 * step.pixel_area_mm2();
            format!(", {}{THIN_SPACE}mm²", figure(area))
        });
        let many = if pixels == 1 { "pixel" } else { "pixels" };
        let text = format!("{name}, patch of {} {many}{}", whole(pixels), area.unwrap_or_default());
        let values = values_over(stack, field, mask, |total, pixels| figure(total / pixels as f64))?;
        Ok(Self { text, values })
    }

    /// Means and sums of every map of the mask's size over a named region.
    ///
    /// # Errors
    /// No memory.
    pub(super) fn of_region(stack: &Stack, region: &Region, pixels: u64) -> Result<Self, OutOfMemory> {
        let area = stack.step().map(|(step, _)| {
            let area = pixels as f64 * step.pixel_area_mm2();
            format!(", {}{THIN_SPACE}mm²", count(area))
        });
        let text = format!("in {} ({}{})", region.name, pixels_text(pixels), area.unwrap_or_default());
        let values = values_over(stack, 0, &region.mask, |total, pixels| {
            format!("mean {}, sum {}", figure(total / pixels as f64), count(total))
        })?;
        Ok(Self { text, values })
    }
}

/// What `word` says of the sum and the number of pixels with data of each map of the mask's size.
fn values_over(
    stack: &Stack,
    field: u32,
    mask: &Mask,
    word: impl Fn(f64, u64) -> String,
) -> Result<Vec<ReadValue>, OutOfMemory> {
    let size = (mask.width(), mask.height());
    let fitting = stack.maps().iter().filter(|map| map.field == field && map.plane.size() == size);
    fitting
        .map(|map| {
            let text = match sum_over(map, mask)? {
                (_, 0) => "no data".into(),
                (total, pixels) => word(total, pixels),
            };
            Ok(ReadValue { map: map.id.to_string(), label: map.label(), text })
        })
        .collect()
}

/// Sum over the pixels with data, and their number.
fn sum_over(map: &Map, mask: &Mask) -> Result<(f64, u64), OutOfMemory> {
    let mut row = try_filled_vec(u64::from(mask.width()), 0.0)?;
    let (mut total, mut pixels) = (0.0, 0u64);
    for (y, inside) in mask.rows().enumerate() {
        if !inside.contains(&true) {
            continue;
        }
        map.plane.read_row(y as u32, &mut row);
        for (value, inside) in row.iter_mut().zip(inside) {
            let counts = *inside && !value.is_nan();
            pixels += u64::from(counts);
            if !counts {
                *value = 0.0;
            }
        }
        total += sum(&row);
    }
    Ok((total, pixels))
}
