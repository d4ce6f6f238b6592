//! Whether a common pattern is more than what a few pixels or lines of the scan make.

use super::judge::{ALPHA, STRICT};
use crate::measure::together::{Finding, Pairs, significance};
use crate::notice::OutOfMemory;
use crate::numerics::chance::Chance;
use crate::numerics::order;

/// Whether the common pattern is still found when the hundredth of the pixels that is brightest in either map is left out.
pub(super) fn survives_without_the_brightest(
    pairs: &Pairs,
    most_pixels: usize,
    seed: u64,
) -> Result<bool, OutOfMemory> {
    let (mut a, mut b) = pairs.lists()?;
    order::sort(&mut a);
    order::sort(&mut b);
    let (Some(top_a), Some(top_b)) = (order::quantile(&a, 0.99), order::quantile(&b, 0.99)) else {
        return Ok(false);
    };
    let (values_a, values_b, valid) = pairs.slices();
    let is_kept = |i: usize| valid[i] && values_a[i] <= top_a && values_b[i] <= top_b;
    let rest = Pairs::of(pairs.size().0, values_a, values_b, is_kept)?;
    let mut chance = Chance::new(seed);
    let index = |n: usize| chance.below(n as u64) as usize;
    let test = significance(&rest, most_pixels, super::numbers::SHUFFLES, index)?;
    Ok(test.is_some_and(|test| test.finding(ALPHA) == Finding::Together))
}

/// Whether the common pattern is still found when means of lines and columns are taken off.
pub(super) fn survives_without_lines(
    pairs: &Pairs,
    most_pixels: usize,
    seed: u64,
) -> Result<bool, OutOfMemory> {
    let mut chance = Chance::new(seed);
    let index = |n: usize| chance.below(n as u64) as usize;
    let flat = pairs.without_lines()?;
    let test = significance(&flat, most_pixels, super::numbers::SHUFFLES, index)?;
    Ok(test.is_some_and(|test| test.finding(STRICT) == Finding::Together))
}
