//! What could be repaired, without doing it.

use super::recipe::{Direction, Lines, Recipe};
use super::{
    DriftFactors, EdgeFactors, HotPixels, Input, LineShift, edge_factors, estimate_line_shift, hot_pixels,
    line_factors,
};
use crate::notice::OutOfMemory;
use crate::numerics::figure::{rounded, whole};
use serde::Serialize;

/// Estimates for the first of several maps of one scan, and what may be offered.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proposal {
    /// Shift of the odd lines, from all maps.
    pub line_shift: LineShift,
    /// Longer counting at the ends of the lines, from all maps.
    pub edge_factors: EdgeFactors,
    /// Brightness of each line of the first map; absent with the reason in `drift_text`.
    pub drift: Option<DriftFactors>,
    /// What is to be said of the lines' brightness.
    pub drift_text: String,
    /// Hot pixels of the first map; absent where its noise is not known.
    pub hot_pixels: Option<HotPixels>,
    /// Recipes that may be offered, each with its sentence; never hot pixels, which the user must name.
    pub offers: Vec<(Recipe, String)>,
    /// What was seen, in whole sentences.
    pub text: Vec<String>,
}

/// "the first pixel and the last 2 of each line".
fn ends(start: usize, end: usize) -> String {
    let part = |word: &str, n: usize| match n {
        0 => String::new(),
        1 => format!("the {word} pixel"),
        _ => format!("the {word} {n} pixels"),
    };
    let parts = [part("first", start), part("last", end)];
    let named: Vec<&str> = parts.iter().map(String::as_str).filter(|p| !p.is_empty()).collect();
    format!("{} of the lines", named.join(" and "))
}

/// Looks at the first map, with the others of the same scan as evidence. Offers only what is surely there.
pub fn propose(inputs: &[Input<'_>], direction: Direction) -> Result<Proposal, OutOfMemory> {
    let line_shift = estimate_line_shift(inputs, direction)?;
    let edges = edge_factors(inputs, direction)?;
    let mut out = Proposal {
        text: vec![line_shift.text.clone()],
        line_shift,
        edge_factors: edges,
        drift: None,
        drift_text: "There is no map to look at.".into(),
        hot_pixels: hot_pixels(inputs)?,
        offers: Vec::new(),
    };
    let Some(first) = inputs.first() else { return Ok(out) };
    let labels = [first.label.to_owned()];
    let mut offer = |recipe: Recipe| {
        let sentence = recipe.sentence(&labels);
        out.offers.push((recipe, sentence));
    };
    if let (true, Some(shift)) = (out.line_shift.is_told, out.line_shift.shift_px) {
        let shift_px = Some((shift * 1e3).round() / 1e3);
        offer(Recipe::LineShift { shift_px, lines: Lines::Odd, direction });
    }
    let (start, end) = out.edge_factors.proposed();
    if !start.is_empty() || !end.is_empty() {
        out.text.push(format!(
            "The ends of the lines were counted longer, or the object is brighter there: {} hold up to {} times what the pixels behind let expect.",
            ends(start.len(), end.len()),
            rounded(start.iter().chain(&end).copied().fold(1.0, f64::max), 3)
        ));
        let short = |list: Vec<f64>| Some(list.into_iter().map(|f| (f * 1e4).round() / 1e4).collect());
        offer(Recipe::TurnRound { start: short(start), end: short(end), direction });
    }
    match line_factors(first, 9, direction)? {
        Err(reason) => out.drift_text = format!("The brightness of the lines cannot be judged: {reason}."),
        Ok(drift) => {
            let lines = drift.beyond(3.0);
            out.drift_text = if lines == 0 {
                "No line differs from its neighbours in brightness.".into()
            } else {
                offer(Recipe::LineDrift { window: 9, reference: None, direction, beyond: 3.0 });
                let are = if lines == 1 { "line differs" } else { "lines differ" };
                format!("{} {are} in brightness from those around.", whole(lines))
            };
            out.drift = Some(drift);
        }
    }
    out.text.push(out.drift_text.clone());
    let total = out.hot_pixels.as_ref().map_or(0, |hot| hot.total);
    if total > 0 {
        out.text.push(format!(
            "{} far above what surrounds them. Particles of paint look the same: look at each before replacing it.",
            super::values::pixels_are(total)
        ));
    }
    Ok(out)
}
