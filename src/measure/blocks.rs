//! Blocks of pixels taken together: what share of them is above background, and what share background alone would give.

use super::{Level, Rules, Signal};
use crate::grid::try_filled_vec;
use crate::kind::Noise;
use crate::notice::OutOfMemory;
use crate::numerics::counting::{critical_count, detection_limit, wide_poisson_tail};
use crate::numerics::empty::surely_beyond;
use crate::numerics::on_off::on_off;
use crate::numerics::special::normal_tail_inverse;

/// Sides of the blocks that are looked at, in pixels.
pub const BINS: [u32; 5] = [1, 2, 4, 8, 16];

/// What is known of the background of several pixels together.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BlockLevel {
    /// Its mean.
    pub background: f64,
    /// A sum of this or more is above background.
    pub critical: f64,
    /// The smallest signal, in all the pixels together, that would be above background with chance `1 - beta`.
    pub detection_limit: f64,
    /// Chance of such a sum from background alone, with the floor and what else is not known of the background.
    pub expected: f64,
    /// Relative variance of the background's mean that is common to the pixels (counts only).
    pub relative_variance: f64,
}

/// Relative variance of a background summed over `pixels` pixels beyond counting: the floor, its mean known from a finite
/// number of pixels, and a dispersion above 1. What of that is beyond doubt is taken as common to pixels side by side, as a
/// slope would make it; the rest as scatter from pixel to pixel, which averages out.
pub(super) fn beyond_counting(level: &Level, pixels: f64, rules: &Rules) -> f64 {
    let mut out = rules.floor * rules.floor;
    if let Some(m) = level.pixels.filter(|_| level.background > 0.0) {
        let beyond = (level.dispersion - 1.0).max(0.0);
        let common = surely_beyond(level.dispersion, m).min(beyond);
        out += 1.0 / (m as f64 * level.background);
        out += (common + (beyond - common) / pixels) / level.background;
    }
    out
}

/// Standard deviation of the sum of `pixels` pixels of background in a map that holds no counts; `own` is the sum of the
/// squared errors of these pixels, where they are known.
pub(super) fn spread(level: &Level, pixels: f64, own: Option<f64>, rules: &Rules) -> f64 {
    let of_pixels = own.unwrap_or(0.0).max(pixels * level.variance);
    let of_mean = level.pixels.map_or(0.0, |m| pixels * pixels * level.variance / m as f64);
    let floor = rules.floor * pixels * level.background;
    (of_pixels + of_mean + floor * floor).sqrt()
}

/// The level of `pixels` pixels together.
pub fn block_level(level: &Level, noise: Noise, pixels: u64, rules: &Rules) -> BlockLevel {
    let n = pixels as f64;
    let background = n * level.background;
    if noise == Noise::Empirical {
        let sd = spread(level, n, None, rules);
        let critical = background + normal_tail_inverse(rules.alpha) * sd;
        let limit = critical - background + normal_tail_inverse(rules.beta) * (n * level.variance).sqrt();
        return BlockLevel {
            background,
            critical,
            detection_limit: limit,
            expected: rules.alpha,
            relative_variance: 0.0,
        };
    }
    // Nothing was counted in the background's pixels: how much more it could be follows from how many they were.
    if let (true, Some(m)) = (level.background == 0.0, level.pixels) {
        let tau = m as f64 / n;
        let critical =
            (1u32..).map(f64::from).find(|&count| on_off(count, 0.0, tau) <= rules.alpha).unwrap_or(1.0);
        return BlockLevel {
            background,
            critical,
            detection_limit: detection_limit(critical as u64, 0.0, rules.beta),
            expected: on_off(critical, 0.0, tau),
            relative_variance: 0.0,
        };
    }
    let relative_variance = beyond_counting(level, n, rules);
    let critical = critical_count(background, relative_variance, rules.alpha);
    BlockLevel {
        background,
        critical: critical as f64,
        detection_limit: detection_limit(critical, background, rules.beta),
        expected: wide_poisson_tail(critical, background, relative_variance),
        relative_variance,
    }
}

/// Blocks of one size.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Share {
    /// Side of a block.
    pub bin: u32,
    /// Whole blocks: every pixel is asked about, holds data and is not saturated.
    pub blocks: u64,
    /// Pixels asked about, with data, that no whole block holds.
    pub left_out: u64,
    /// Blocks above background.
    pub above: u64,
    /// A block with this sum or more is above background.
    pub critical: f64,
    /// The smallest signal a pixel that such a block would show with chance `1 - beta`.
    pub limit_per_pixel: f64,
    /// Share that background alone would give, with the floor.
    pub expected: f64,
}

impl Share {
    /// Share of the blocks that are above background; `None` without a whole block.
    pub fn share(&self) -> Option<f64> {
        (self.blocks > 0).then(|| self.above as f64 / self.blocks as f64)
    }
}

/// Blocks of 1, 2, 4, 8 and 16 pixels a side, laid from the map's corner. Single pixels are judged by the map's own level
/// (a threshold by hand included), larger blocks by [`block_level`].
///
/// # Errors
/// No memory.
pub fn shares(signal: &Signal, level: &Level, rules: &Rules) -> Result<Vec<Share>, OutOfMemory> {
    let pixels = (0..signal.values.data().len()).filter(|&i| signal.valid(i).is_some()).count() as u64;
    let mut out = Vec::new();
    for bin in BINS {
        let area = u64::from(bin) * u64::from(bin);
        let of_block = block_level(level, signal.kind.noise(), area, rules);
        let (critical, limit, expected) = if bin == 1 {
            let expected = match signal.kind.noise() {
                Noise::Counting if level.background > 0.0 => {
                    let beyond = beyond_counting(level, 1.0, rules);
                    wide_poisson_tail(level.critical.max(0.0).ceil() as u64, level.background, beyond)
                }
                _ => of_block.expected,
            };
            (level.critical, level.detection_limit, expected)
        } else {
            (of_block.critical, of_block.detection_limit / area as f64, of_block.expected)
        };
        let (mut blocks, mut above) = (0, 0);
        each_block(signal, bin, |sum| {
            blocks += 1;
            above += u64::from(sum >= critical);
        })?;
        out.push(Share {
            bin,
            blocks,
            left_out: pixels - blocks * area,
            above,
            critical,
            limit_per_pixel: limit,
            expected,
        });
    }
    Ok(out)
}

/// Calls `take` with the sum of every whole block.
fn each_block(signal: &Signal, bin: u32, mut take: impl FnMut(f64)) -> Result<(), OutOfMemory> {
    let (width, side) = (signal.values.width() as usize, bin as usize);
    let columns = width / side;
    for band in 0..signal.values.height() / bin {
        let mut sums = try_filled_vec(columns as u64, (0.0, true))?;
        for y in (band * bin) as usize..((band + 1) * bin) as usize {
            for (column, (sum, is_whole)) in sums.iter_mut().enumerate() {
                let first = y * width + column * side;
                for i in first..first + side {
                    match signal.valid(i) {
                        Some(value) => *sum += value,
                        None => *is_whole = false,
                    }
                }
            }
        }
        sums.into_iter().filter(|(_, is_whole)| *is_whole).for_each(|(sum, _)| take(sum));
    }
    Ok(())
}

/// The smallest block in which the mean signal `net` of a pixel would be above background with chance `1 - beta`: from it
/// on the map can be read. `None` where no block is large enough, or there is no signal.
pub fn readable(shares: &[Share], net: f64) -> Option<u32> {
    shares.iter().find(|share| net > 0.0 && share.limit_per_pixel <= net).map(|share| share.bin)
}

#[cfg(test)]
mod tests {
    use super::super::LevelSource;
    use super::super::testing::{counts, stated};
    use super::*;

    #[test]
    fn blocks_are_whole_and_judged_by_their_sum() {
        // 5 x 4 pixels of 2 counts with one blank: four whole blocks of 2 x 2 less one.
        let mut values = vec![2.0; 20];
        values[0] = f64::NAN;
        values[2] = 40.0;
        let found = shares(&counts(5, 4, values), &stated(2.0), &Rules::default()).unwrap();
        assert_eq!((found[0].blocks, found[0].above, found[0].critical), (19, 1, 9.0));
        assert_eq!((found[1].blocks, found[1].left_out, found[1].above), (3, 7, 1));
        assert_eq!((found[2].blocks, found[3].blocks, found[4].share()), (0, 0, None));
        // Four pixels: 8 counts, and 10 % more or less is a standard deviation of 0.4.
        let plain = critical_count(8.0, 0.0025, 0.001) as f64;
        assert_eq!(found[1].critical, plain);
        assert!(found[1].expected <= 0.001 && found[1].expected > 1e-5);
    }

    #[test]
    fn a_background_without_a_count_is_known_only_as_far_as_it_was_looked_at() {
        let level = Level { pixels: Some(1000), source: LevelSource::QuietPart, ..stated(0.0) };
        let of = |pixels| block_level(&level, Noise::Counting, pixels, &Rules::default());
        assert_eq!(of(1).critical, 1.0);
        // (256 / 1256)^n <= 0.001 from n = 5 on.
        assert_eq!(of(256).critical, 5.0);
        assert!((of(256).expected - (256.0f64 / 1256.0).powi(5)).abs() < 1e-12);
    }

    #[test]
    fn an_uneven_background_asks_for_more_in_large_blocks() {
        let even = Level { pixels: Some(5000), ..stated(4.0) };
        let uneven = Level { dispersion: 1.3, ..even };
        let of = |level: &Level| block_level(level, Noise::Counting, 256, &Rules::default()).critical;
        // 0.26 / 4 of relative variance: a quarter of the background, one standard deviation.
        assert!(of(&even) < 1300.0 && of(&uneven) > 1900.0, "{} {}", of(&even), of(&uneven));
    }

    #[test]
    fn a_map_becomes_readable_where_its_signal_passes_the_limit() {
        let found = shares(&counts(64, 64, vec![3.0; 4096]), &stated(2.0), &Rules::default()).unwrap();
        assert!(found.windows(2).all(|pair| pair[1].limit_per_pixel < pair[0].limit_per_pixel));
        assert_eq!(readable(&found, 20.0), Some(1));
        assert_eq!(readable(&found, 1.5), Some(8));
        assert_eq!(readable(&found, 0.1), None);
        assert_eq!(readable(&found, -1.0), None);
    }
}
