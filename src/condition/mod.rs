//! Repaired and derived maps: values and their errors out of other values. Never alters an original; every result
//! says what was done. Imports levels 0 to 2 only; knows no files, colours or pages.
//!
//! [`derive`] is the one entry: a [`Recipe`] (what stands in the record), its inputs, and out comes a map with its
//! error, its kind, and an account. [`propose`] looks without doing. All of it is total: blank pixels stay blank, a
//! constant or empty map gives a reason, nothing panics.

mod arithmetic;
mod binning;
mod hot_pixels;
mod lay_on_grid;
mod line_drift;
mod line_shift;
mod move_lines;
mod propose;
mod recipe;
mod smooth;
mod turn_round;
mod values;

pub use arithmetic::true_rate;
pub use hot_pixels::{HotPixel, HotPixels, LISTED, hot_pixels};
pub use line_drift::{DriftFactors, line_factors, margin_factors};
pub use line_shift::{LineShift, estimate_line_shift};
pub use move_lines::moved_line;
pub use propose::{Proposal, propose};
pub use recipe::{Direction, Divisor, Filter, Lines, Recipe, Replacement, Take};
pub use turn_round::{EdgeFactor, EdgeFactors, edge_factors};

use crate::grid::Grid;
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};
use serde::Serialize;

/// A map to derive from: its values are only looked at.
#[derive(Debug, Clone, Copy)]
pub struct Input<'a> {
    /// Values; NaN where the pixel is blank.
    pub values: &'a Grid<f64>,
    /// Standard deviation of each value, if one is known beside what the kind says.
    pub sigma: Option<&'a Grid<f64>>,
    /// How the map was made.
    pub kind: Kind,
    /// Where counting stops (`stack::Plane::ceiling`): pixels of this value or more are saturated. They are blank in
    /// what is derived (but for smoothed pictures), because what was counted there is not known.
    pub ceiling: Option<f64>,
    /// What the user calls it.
    pub label: &'a str,
}

impl Input<'_> {
    fn is_saturated(&self, value: f64) -> bool {
        self.ceiling.is_some_and(|ceiling| value >= ceiling)
    }

    /// The values with saturated pixels blank, and how many these are; `None` where there are none.
    fn without_saturated(&self) -> Result<Option<(Grid<f64>, u64)>, OutOfMemory> {
        let many = self.values.data().iter().filter(|&&v| self.is_saturated(v)).count() as u64;
        if many == 0 {
            return Ok(None);
        }
        let blanked = values::mapped(self.values, |v| if self.is_saturated(v) { f64::NAN } else { v })?;
        Ok(Some((blanked, many)))
    }
}

/// What was found or used on the way, as plain numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Found {
    /// The recipe is plain arithmetic.
    Nothing,
    /// The shift of every second line; absent where the user stated it.
    LineShift(Option<LineShift>),
    /// One factor for each line; the values were divided by it.
    LineFactors(DriftFactors),
    /// Factors of the first and last columns; the values were divided by them.
    EdgeFactors(EdgeFactors),
    /// The pixels that were replaced.
    HotPixels(Vec<HotPixel>),
}

/// A derived map.
#[derive(Debug, Clone, PartialEq)]
pub struct Derived {
    /// Values; NaN where the pixel is blank.
    pub values: Grid<f64>,
    /// Standard deviation of each value; `None` where it is not known, which the account then says.
    pub sigma: Option<Grid<f64>>,
    /// What the numbers may be used for.
    pub kind: Kind,
    /// Size of a pixel in pixels of the inputs, across and down; (1, 1) unless binned.
    pub cell: (u32, u32),
    /// The recipe, completed with every default used: it gives the same map again.
    pub recipe: Recipe,
    /// What was done, in whole sentences.
    pub account: Vec<String>,
    /// What the user should know before using it, in whole sentences.
    pub findings: Vec<String>,
    /// Numbers found on the way.
    pub found: Found,
    /// What the map is called.
    pub label: String,
}

/// Makes a derived map.
///
/// Recipes of one map take the first input. Further inputs serve as evidence for a line shift, turn-round or hot pixels
/// (maps of the same scan), as B of `subtract` and `divide`, as summands of `sum`, and as the map of all counts of
/// `dead_time`.
///
/// Errors: `no_map`, `different_sizes`, `bad_setting`, `different_kinds` (numbers that cannot be combined),
/// `nothing_to_repair` (an estimate that cannot be told from nothing), `cannot_be_judged` (data that carry no estimate),
/// `no_memory`.
pub fn derive(recipe: &Recipe, inputs: &[Input<'_>]) -> Result<Derived, Fault> {
    recipe.check()?;
    let Some(first) = inputs.first() else {
        return Err(Fault::new("no_map", "No map was named to derive from. Name at least one."));
    };
    let size = |input: &Input<'_>| (input.values.width(), input.values.height());
    for input in inputs {
        if size(input) != size(first) {
            return Err(Fault::different_sizes(first.label, input.label));
        }
        if input.sigma.is_some_and(|s| (s.width(), s.height()) != size(first)) {
            return Err(Fault::different_sizes(input.label, &format!("the error map of {}", input.label)));
        }
    }
    let mut blanked = Vec::new();
    if !matches!(recipe, Recipe::Smooth { .. }) {
        for input in inputs {
            blanked.push(input.without_saturated()?);
        }
    }
    let mut used = inputs.to_vec();
    let mut findings = Vec::new();
    for (input, found) in used.iter_mut().zip(&blanked) {
        if let Some((values, many)) = found {
            input.values = values;
            findings.push(format!(
                "{} is saturated in {}; these are blank, because what was counted there is not known.",
                input.label,
                values::pixels(*many)
            ));
        }
    }
    let mut derived = made(recipe, &used)?;
    derived.findings.extend(findings);
    Ok(derived)
}

/// The map of a recipe whose settings and inputs were checked.
fn made(recipe: &Recipe, inputs: &[Input<'_>]) -> Result<Derived, Fault> {
    let Some((first, rest)) = inputs.split_first() else {
        return Err(Fault::new("no_map", "No map was named to derive from. Name at least one."));
    };
    match recipe {
        Recipe::Sum => arithmetic::sum(inputs),
        Recipe::Subtract { k } => arithmetic::subtract(first, arithmetic::second(rest, "subtract")?, *k),
        Recipe::Divide { by } => arithmetic::divide(first, arithmetic::second(rest, "divide by")?, *by),
        Recipe::Dwell { seconds } => arithmetic::dwell(first, *seconds),
        Recipe::DeadTime { tau_us, dwell_s } => arithmetic::dead_time(first, rest.first(), *tau_us, *dwell_s),
        Recipe::Bin { by, take, most_blank } => binning::bin(first, *by, *take, *most_blank),
        Recipe::Smooth { sigma_px, filter } => smooth::smooth(first, *sigma_px, *filter),
        Recipe::LineShift { shift_px, lines, direction } => {
            move_lines::repair(inputs, *shift_px, *lines, *direction)
        }
        Recipe::LineDrift { window, reference, direction, beyond } => {
            line_drift::repair(first, *window, *reference, *direction, *beyond)
        }
        Recipe::TurnRound { start, end, direction } => {
            turn_round::repair(inputs, start.as_deref(), end.as_deref(), *direction)
        }
        Recipe::LayOnGrid { transform, width, height, least_covered } => {
            lay_on_grid::lay_on_grid(first, *transform, (*width, *height), *least_covered)
        }
        Recipe::HotPixels { pixels, r#as } => hot_pixels::repair(inputs, pixels, *r#as),
    }
}
