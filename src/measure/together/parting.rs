//! The threshold below which two maps have no positive correlation.

use super::correlation::{moments, pearson};
use crate::grid::try_vec;
use crate::notice::OutOfMemory;

/// Where the walk stopped.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parting {
    /// Slope of the orthogonal line B = slope A + offset.
    pub slope: f64,
    /// Its value at A = 0.
    pub offset: f64,
    /// The threshold found; `None` where the correlation below never falls to 0: then the background itself is correlated.
    pub found: Option<Threshold>,
}

/// A threshold for both maps.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Threshold {
    /// Threshold of A.
    pub a: f64,
    /// Threshold of B, on the line.
    pub b: f64,
    /// Correlation of the pixels that are not above both.
    pub below: f64,
    /// Pixels above both.
    pub above: u64,
}

/// More steps than this are never walked; a wider range is walked in so many equal steps.
const MOST_STEPS: f64 = 4096.0;

/// Goes down from the largest A in steps of 1 along the orthogonal line through the pairs, until the pixels that are not
/// above both thresholds have a correlation of 0 or less. The correlation is not monotone, so that a search by halves
/// could stop elsewhere. `None` where there is no line: fewer than three values, or no positive covariance.
/// Source: S. V. Costes and others, Biophysical Journal 86 (2004) 3993, in its sequential form.
///
/// # Errors
/// No memory.
pub fn parting(a: &[f64], b: &[f64]) -> Result<Option<Parting>, OutOfMemory> {
    let Some(found) = moments(a, b).filter(|m| a.len() > 2 && m.covariance > 0.0 && m.covariance.is_finite())
    else {
        return Ok(None);
    };
    // Slope and offset don't depend on whether moments have 1 / n or 1 / (n - 1).
    let difference = found.variance_b - found.variance_a;
    let twice = 2.0 * found.covariance;
    let slope = (difference + (difference * difference + twice * twice).sqrt()) / twice;
    let offset = found.mean_b - slope * found.mean_a;
    let low = a.iter().copied().fold(f64::INFINITY, f64::min);
    let high = a.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let step = if high - low > MOST_STEPS { (high - low) / MOST_STEPS } else { 1.0 };
    let (mut below_a, mut below_b) = (try_vec(a.len() as u64)?, try_vec(a.len() as u64)?);
    let mut t = high.trunc();
    while t > low {
        let on_line = slope * t + offset;
        below_a.clear();
        below_b.clear();
        for (x, y) in a.iter().zip(b).filter(|(x, y)| **x <= t || **y <= on_line) {
            below_a.push(*x);
            below_b.push(*y);
        }
        if below_a.len() > 2
            && let Some(below) = pearson(&below_a, &below_b)
            && below <= 0.0
        {
            let above = (a.len() - below_a.len()) as u64;
            return Ok(Some(Parting {
                slope,
                offset,
                found: Some(Threshold { a: t, b: on_line, below, above }),
            }));
        }
        t -= step;
    }
    Ok(Some(Parting { slope, offset, found: None }))
}
