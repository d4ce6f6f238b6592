//! Comparing two regions of a map: rates, means with an effective number of pixels, ranks, blocks, and the profile along a
//! line. Knows no sentences and no colours.
//!
//! The functions here are plain: values in, numbers out, `None` where there is nothing to say. What may be compared with
//! what (kinds, regions made from the map) is decided by the question.

mod blocks;
mod counts;
mod effective;
mod line;
mod means;
mod patches;
mod ranks;
mod student;

pub use blocks::{Block, FEWEST_BLOCKS, Resampled, block_bootstrap, blocks};
pub use counts::{MeansTest, poisson_means_test, rate_ratio};
pub use effective::{
    Effective, FormalEffective, ar1_effective_n, effective_n, effective_n_of_matrix, ring_correlations,
};
pub use line::{Band, Step, profile};
pub use means::{Spread, Standardised, Welch, standardised, welch};
pub use patches::{FEWEST_EFFECTIVE, PatchyMean, patchy_difference, patchy_mean};
pub use ranks::{Ranks, mann_whitney};
pub use student::{student_quantile, student_two_sided};
