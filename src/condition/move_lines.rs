//! Every second line moved back along itself, so that counts are shared out and kept.

use super::line_shift::estimate_line_shift;
use super::recipe::moved_words;
use super::values::{
    back_from_lines, blanked, lines_of, no_longer_counts, roots, total, unknown_error, variance,
};
use super::{Derived, Direction, Found, Input, Lines, Recipe};
use crate::grid::Grid;
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::{count, rounded, whole};

/// One line moved by `shift` pixels towards larger indices, by overlap of areas: each pixel gives its content to the
/// two pixels it comes to lie on. A pixel of `out` is blank where part of it would lie on nothing or on a blank pixel.
/// The sum is kept but for what so becomes blank or leaves at the ends.
pub fn moved_line(line: &[f64], shift: f64, out: &mut [f64]) {
    share_out(line, shift, out, |v, part| v * part);
}

/// The same for variances: parts enter by their square.
fn moved_variance(line: &[f64], shift: f64, out: &mut [f64]) {
    share_out(line, shift, out, |v, part| v * part * part);
}

fn share_out(line: &[f64], shift: f64, out: &mut [f64], give: impl Fn(f64, f64) -> f64) {
    let by = shift.floor();
    let part = shift - by;
    let width = line.len() as f64;
    // Whole numbers far below 2^53, so that f64 holds them exactly.
    let at = |i: f64| if i >= 0.0 && i < width { line[i as usize] } else { f64::NAN };
    for (x, slot) in out.iter_mut().enumerate() {
        let from = x as f64 - by;
        let own = give(at(from), 1.0 - part);
        *slot = if part == 0.0 { own } else { own + give(at(from - 1.0), part) };
    }
}

/// Moves every second line; gives the grid and the counts that were lost at ends and blanks.
fn moved(
    grid: &Grid<f64>,
    shift: f64,
    lines: Lines,
    move_line: impl Fn(&[f64], f64, &mut [f64]),
) -> Result<(Grid<f64>, f64), OutOfMemory> {
    let mut out = super::values::copied(grid)?;
    let (width, mut lost) = (grid.width().max(1) as usize, 0.0);
    for (y, (source, target)) in grid.rows().zip(out.data_mut().chunks_exact_mut(width)).enumerate() {
        if lines.include(y) {
            move_line(source, shift, target);
            lost += total(source) - total(target);
        }
    }
    Ok((out, lost))
}

pub(super) fn repair(
    inputs: &[Input<'_>],
    stated: Option<f64>,
    lines: Lines,
    direction: Direction,
) -> Result<Derived, Fault> {
    let input = &inputs[0];
    let mut found = None;
    let shift = match stated {
        Some(shift) => shift,
        None => {
            let estimate = estimate_line_shift(inputs, direction)?;
            let (true, Some(odd)) = (estimate.is_told, estimate.shift_px) else {
                let text = format!("{} {} is left as it is.", estimate.text, input.label);
                return Err(Fault::new("nothing_to_repair", text));
            };
            found = Some(estimate);
            let rounded = (odd * 1e3).round() / 1e3;
            if lines == Lines::Odd { rounded } else { -rounded }
        }
    };
    let (grid, lost) = moved(lines_of(input.values, direction)?.as_ref(), shift, lines, moved_line)?;
    let values = back_from_lines(grid, direction)?;
    let error = match variance(input)? {
        Some(v) => {
            let (moved, _) = moved(lines_of(&v, direction)?.as_ref(), shift, lines, moved_variance)?;
            Some(back_from_lines(moved, direction)?)
        }
        None => None,
    };
    let is_whole = shift.fract() == 0.0;
    let kind = if is_whole { input.kind } else { no_longer_counts(input.kind) };
    let recipe = Recipe::LineShift { shift_px: Some(shift), lines, direction };
    let (_, long) = lines.words();
    let mut account = vec![format!(
        "Every second line ({long}) was moved by {}; the others were left as they are.",
        moved_words(shift, direction)
    )];
    if let Some(error) = found.as_ref().and_then(|f| f.standard_error_px) {
        account.push(format!(
            "The shift was found by comparing {} pairs of neighbouring lines; its standard error is {} px.",
            whole(found.as_ref().map_or(0, |f| f.lines)),
            rounded(error, 2)
        ));
    }
    let unit = if input.kind == Kind::Window { "counts" } else { "of the sum" };
    let all = total(input.values.data());
    account.push(format!(
        "The sum of each moved line is kept but for what left at its ends, which are blank: {} {unit} of {}.",
        count((lost * 1e3).round() / 1e3),
        count(all)
    ));
    let mut findings = Vec::new();
    if !is_whole {
        findings.push(
            "A pixel of a moved line is shared out between two, so its values are no counts any more and neighbours in it scatter together.".into(),
        );
    }
    if error.is_none() && input.kind != Kind::DisplayCopy {
        findings.push(unknown_error(&[input.label]));
    }
    let label = recipe.sentence(&[input.label.to_owned()]);
    let sigma = blanked(&values, roots(error));
    Ok(Derived {
        values,
        sigma,
        kind,
        cell: (1, 1),
        recipe,
        account,
        findings,
        found: Found::LineShift(found),
        label,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_moved_line_keeps_its_sum_but_for_its_ends() {
        let line = [4.0, 8.0, 2.0, 6.0];
        let mut out = [0.0; 4];
        moved_line(&line, 0.25, &mut out);
        assert!(out[0].is_nan());
        assert_eq!(&out[1..], &[0.25 * 4.0 + 0.75 * 8.0, 0.25 * 8.0 + 0.75 * 2.0, 0.25 * 2.0 + 0.75 * 6.0]);
        // 20 less the three quarters of the first pixel that lie beside nothing, and a quarter of the last.
        assert_eq!(total(&out), 20.0 - 0.75 * 4.0 - 0.25 * 6.0);
        moved_line(&line, -1.0, &mut out);
        assert_eq!(&out[..3], &[8.0, 2.0, 6.0]);
        assert!(out[3].is_nan());
        moved_line(&line, 9.0, &mut out);
        assert!(out.iter().all(|v| v.is_nan()));
    }

    #[test]
    fn a_blank_pixel_makes_blank_what_it_would_lie_on() {
        let mut out = [0.0; 5];
        moved_line(&[1.0, 2.0, f64::NAN, 4.0, 5.0], 0.5, &mut out);
        assert!(out[0].is_nan() && out[2].is_nan() && out[3].is_nan());
        assert_eq!((out[1], out[4]), (1.5, 4.5));
    }
}
