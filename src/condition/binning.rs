//! Blocks of pixels as one pixel.

use super::values::{no_longer_counts, pixels, pixels_are, unknown_error, variance, wrapped};
use super::{Derived, Found, Input, Recipe, Take};
use crate::grid::{Grid, try_vec};
use crate::kind::Kind;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::stated_percent;

/// Sums over blocks, scaled up where blank pixels are allowed. Gives the sums and how many blocks were scaled.
/// `weight` is the power of the scale: 1 for values, 2 for variances.
fn block_sums(
    grid: &Grid<f64>,
    by: usize,
    fewest: u64,
    weight: i32,
) -> Result<(Grid<f64>, u64), OutOfMemory> {
    let (width, height) = (grid.width() as usize / by, grid.height() as usize / by);
    let mut out: Vec<f64> = try_vec(width as u64 * height as u64)?;
    let mut counted: Vec<u64> = try_vec(width as u64)?;
    let mut scaled = 0;
    for band in 0..height {
        let start = out.len();
        out.resize(start + width, 0.0);
        counted.clear();
        counted.resize(width, 0);
        for y in band * by..(band + 1) * by {
            let row = grid.row(u32::try_from(y).unwrap_or(u32::MAX));
            for ((block, sum), n) in row.chunks_exact(by).zip(&mut out[start..]).zip(&mut counted) {
                for &value in block {
                    if !value.is_nan() {
                        *sum += value;
                        *n += 1;
                    }
                }
            }
        }
        let full = (by * by) as u64;
        for (sum, &n) in out[start..].iter_mut().zip(&counted) {
            if n < fewest || n == 0 {
                *sum = f64::NAN;
            } else if n < full {
                scaled += 1;
                *sum *= (full as f64 / n as f64).powi(weight);
            }
        }
    }
    let side = |v: usize| u32::try_from(v).unwrap_or(u32::MAX);
    Ok((wrapped(side(width), side(height), out)?, scaled))
}

pub(super) fn bin(input: &Input<'_>, by: u32, take: Option<Take>, most_blank: f64) -> Result<Derived, Fault> {
    if input.values.width() < by || input.values.height() < by {
        return Err(Fault::new(
            "bad_setting",
            format!("{} is smaller than one bin of {by} × {by} pixels. Choose a smaller bin.", input.label),
        ));
    }
    let take = take.unwrap_or(if input.kind.is_like_counts() { Take::Sum } else { Take::Mean });
    let full = u64::from(by) * u64::from(by);
    // The share that may be blank, as the fewest pixels that must not be.
    let fewest = full - ((full as f64 * most_blank).floor() as u64).min(full - 1);
    let (mut values, scaled) = block_sums(input.values, by as usize, fewest, 1)?;
    let mut sigma = match variance(input)? {
        Some(v) => Some(block_sums(&v, by as usize, fewest, 2)?.0),
        None => None,
    };
    let divisor = if take == Take::Mean { full as f64 } else { 1.0 };
    values.data_mut().iter_mut().for_each(|v| *v /= divisor);
    if let Some(sigma) = &mut sigma {
        sigma.data_mut().iter_mut().for_each(|v| *v = v.sqrt() / divisor);
    }
    let sigma = super::values::blanked(&values, sigma);
    let recipe = Recipe::Bin { by, take: Some(take), most_blank };
    let label = recipe.sentence(&[input.label.to_owned()]);
    let mut account = vec![format!(
        "{} of blocks of {by} × {by} pixels.",
        if take == Take::Sum { "Sums" } else { "Means" }
    )];
    let left = (input.values.width() % by, input.values.height() % by);
    if left != (0, 0) {
        account.push(format!(
            "Left out because they fill no block: the last {} of the columns and the last {} of the rows.",
            left.0, left.1
        ));
    }
    let empty = super::values::blanks(&values);
    if empty > 0 {
        let limit = if fewest == full {
            "at least one of their pixels is blank".to_owned()
        } else {
            format!("more than {} of their pixels are blank", stated_percent(most_blank))
        };
        account.push(format!("{} blank, because {limit}.", pixels_are(empty)));
    }
    if scaled > 0 {
        account.push(format!("{} scaled up from the part that is not blank.", pixels_are(scaled)));
    }
    let mut findings = Vec::new();
    if sigma.is_none() && input.kind != Kind::DisplayCopy {
        findings.push(unknown_error(&[input.label]));
    }
    let kind = if scaled > 0 || take == Take::Mean { no_longer_counts(input.kind) } else { input.kind };
    if kind == Kind::Fitted || kind == Kind::Rate {
        findings.push(format!(
            "Errors are added as if {} were fitted pixel by pixel, each without regard to the others.",
            pixels(full)
        ));
    }
    Ok(Derived {
        values,
        sigma,
        kind,
        cell: (by, by),
        recipe,
        account,
        findings,
        found: Found::Nothing,
        label,
    })
}
