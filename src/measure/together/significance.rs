//! Whether a correlation is more than two patchy maps give by chance: two tests side by side.

use super::correlation::pearson;
use super::pairs::Pairs;
use super::shuffle::{FEWEST_BLOCKS, Shuffled, shuffle_test};
use super::spatial::{Spatial, p_of_correlation};
use crate::notice::OutOfMemory;
use crate::numerics::math::{exp, ln, ln_1p};

/// Larger rectangles (in pixels) are binned before they are tested.
pub const MOST_PIXELS: usize = 256 * 256;
/// Below this effective number of pixels nothing is tested (common practice, no source).
pub const FEWEST_EFFECTIVE: f64 = 6.0;
/// Blocks are so many lengths wide.
const LENGTHS: usize = 3;
/// And where the rectangle holds too few such blocks, no less than this.
const FEWEST_LENGTHS: usize = 2;
/// Blocks that are worth making them narrower for.
const ENOUGH_BLOCKS: usize = 9;

/// What both tests found.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Significance {
    /// Correlation of what was tested: pixels, or squares of them.
    pub r: f64,
    /// Side of these squares in pixels; 1 where pixels were tested.
    pub binned: usize,
    /// Pixels or squares.
    pub n: usize,
    /// Effective number of them; `None` where the maps leave none.
    pub effective_n: Option<f64>,
    /// Two-sided chance by the modified t-test; `None` below an effective number of two.
    pub p_effective_n: Option<f64>,
    /// Distance in pixels over which the pattern of each map loses its correlation with itself; `None` if it never does.
    pub lengths: [Option<usize>; 2],
    /// By shuffling blocks, sides in tested pixels; `None` where the region holds too few blocks.
    pub shuffled: Option<Shuffled>,
}

/// What the two tests say together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Finding {
    /// Both find a positive correlation.
    Together,
    /// Both find a negative one.
    Against,
    /// Neither finds any.
    Nothing,
    /// One finds it, the other doesn't.
    Undecided,
    /// The maps are too patchy for the region: fewer than six independent places, or too few blocks.
    TooFew,
}

impl Significance {
    /// What both say at a chance of `alpha` (two-sided, each).
    pub fn finding(&self, alpha: f64) -> Finding {
        let (Some(n), Some(p), Some(shuffled)) = (self.effective_n, self.p_effective_n, self.shuffled) else {
            return Finding::TooFew;
        };
        if n < FEWEST_EFFECTIVE {
            return Finding::TooFew;
        }
        match (p < alpha, shuffled.p < alpha) {
            (true, true) if self.r > 0.0 && shuffled.observed > 0.0 => Finding::Together,
            (true, true) if self.r < 0.0 && shuffled.observed < 0.0 => Finding::Against,
            (false, false) => Finding::Nothing,
            _ => Finding::Undecided,
        }
    }

    /// The correlation that would have been found at `alpha` in all but `beta` of cases, from z (alpha / 2) + z (beta) in Fisher's
    /// transform with the effective number; `None` below an effective number of four.
    /// Source: R. A. Fisher, Metron 1 (1921) 3; the effective number in the place of n is common practice.
    pub fn would_be_seen(&self, z: f64) -> Option<f64> {
        let n = self.effective_n.filter(|n| *n > 4.0)?;
        Some(tanh(z / (n - 3.0).sqrt()))
    }

    /// Interval of the correlation, `z` standard errors in Fisher's transform each way, with the effective number.
    pub fn interval(&self, z: f64) -> Option<(f64, f64)> {
        let n = self.effective_n.filter(|n| *n > 4.0)?;
        let middle = 0.5 * (ln_1p(self.r) - ln(1.0 - self.r).max(-700.0));
        let arm = z / (n - 3.0).sqrt();
        Some((tanh(middle - arm), tanh(middle + arm)))
    }
}

/// Hyperbolic tangent.
fn tanh(x: f64) -> f64 {
    let e = exp(-2.0 * x.abs());
    (1.0 - e) / (1.0 + e) * x.signum()
}

/// Side of the squares in which a rectangle is tested: 1 up to `most_pixels` pixels.
pub fn binning_for(pairs: &Pairs, most_pixels: usize) -> usize {
    let (width, height) = pairs.size();
    (1..).find(|side| width.div_ceil(*side) * height.div_ceil(*side) <= most_pixels.max(1)).unwrap_or(1)
}

/// Side of a block for maps with these lengths in a rectangle of this size: three times the shorter length, because beyond
/// it one of the maps has lost its pattern, or no less than twice where that gives more of too few blocks. `None`
/// where no length is known.
fn block_side(lengths: [Option<usize>; 2], size: (usize, usize)) -> Option<usize> {
    let length = match lengths {
        [Some(a), Some(b)] => a.min(b),
        [one, other] => one.or(other)?,
    };
    let blocks = |side: usize| (size.0 / side) * (size.1 / side);
    let (least, most) = ((FEWEST_LENGTHS * length).max(1), (LENGTHS * length).max(1));
    (least..=most)
        .rev()
        .find(|side| blocks(*side) >= ENOUGH_BLOCKS)
        .or_else(|| (least..=most).rev().find(|side| blocks(*side) >= FEWEST_BLOCKS))
}

/// Tests the correlation of two maps in two ways that respect their patches: the t-test with an effective number of
/// pixels ([`Spatial::effective_n`], every ring) and `times` shuffles of blocks ([`shuffle_test`]). `index(n)` gives whole
/// numbers below n. `None` where there is no correlation: fewer than two pixels, or a constant map. A rectangle of more
/// than `most_pixels` pixels ([`MOST_PIXELS`] or less) is binned first, which changes the number of pixels and hardly the effective one.
///
/// # Errors
/// No memory.
pub fn significance(
    pairs: &Pairs,
    most_pixels: usize,
    times: usize,
    index: impl FnMut(usize) -> usize,
) -> Result<Option<Significance>, OutOfMemory> {
    let binned = binning_for(pairs, most_pixels);
    let squares;
    let tested = if binned > 1 {
        squares = pairs.binned(binned)?;
        &squares
    } else {
        pairs
    };
    let (a, b) = tested.lists()?;
    let Some(r) = pearson(&a, &b) else { return Ok(None) };
    let Some(spatial) = Spatial::of(tested)? else { return Ok(None) };
    let effective_n = spatial.effective_n(None)?;
    let lengths = spatial.lengths(1);
    drop(spatial);
    let shuffled = match block_side(lengths, tested.size()) {
        Some(side) => shuffle_test(tested, side, times, index)?,
        None => None,
    };
    Ok(Some(Significance {
        r,
        binned,
        n: tested.count(),
        effective_n,
        p_effective_n: effective_n.and_then(|n| p_of_correlation(r, n)),
        lengths: lengths.map(|length| length.map(|length| length * binned)),
        shuffled,
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_test_alone_decides_nothing() {
        let shuffled = Shuffled { side: 3, blocks: 20, observed: 0.4, spread: 0.1, p: 0.01 };
        let both = Significance {
            r: 0.4,
            binned: 1,
            n: 900,
            effective_n: Some(60.0),
            p_effective_n: Some(0.001),
            lengths: [Some(3), Some(3)],
            shuffled: Some(shuffled),
        };
        assert_eq!(both.finding(0.05), Finding::Together);
        assert_eq!(Significance { p_effective_n: Some(0.2), ..both }.finding(0.05), Finding::Undecided);
        assert_eq!(Significance { effective_n: Some(5.9), ..both }.finding(0.05), Finding::TooFew);
        assert_eq!(Significance { shuffled: None, ..both }.finding(0.05), Finding::TooFew);
        let against = Shuffled { observed: -0.4, ..shuffled };
        assert_eq!(Significance { r: -0.4, shuffled: Some(against), ..both }.finding(0.05), Finding::Against);
        assert_eq!(both.finding(0.0005), Finding::Nothing);
        // 1.96 + 1.645 standard errors of 1 / sqrt(57).
        assert!((both.would_be_seen(3.605).unwrap() - 0.444).abs() < 1e-3);
        let (low, high) = both.interval(1.96).unwrap();
        assert!((low - 0.163).abs() < 2e-3 && (high - 0.593).abs() < 2e-3, "{low} {high}");
    }

    #[test]
    fn blocks_are_three_lengths_wide_or_there_are_more_of_them() {
        assert_eq!(block_side([Some(4), Some(9)], (128, 128)), Some(12));
        assert_eq!(block_side([Some(16), Some(16)], (128, 128)), Some(42));
        assert_eq!(block_side([Some(60), Some(60)], (128, 128)), None);
        assert_eq!(block_side([None, None], (128, 128)), None);
    }

    #[test]
    fn constant_and_empty_maps_are_not_tested() {
        let none = Pairs::of(4, &[], &[], |_| true).unwrap();
        assert_eq!(significance(&none, MOST_PIXELS, 9, |_| 0).unwrap(), None);
        let flat = Pairs::of(4, &[1.0; 16], &[2.0; 16], |_| true).unwrap();
        assert_eq!(significance(&flat, MOST_PIXELS, 9, |_| 0).unwrap(), None);
    }
}
