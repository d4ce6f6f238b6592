//! Two maps over the same pixels: correlations, how far they lie in the same places, and whether that is more than two
//! patchy maps give by chance. Knows no sentences.

mod corrected;
mod correlation;
mod many;
mod overlap;
mod pairs;
mod parting;
mod passage;
mod shuffle;
mod significance;
mod spatial;

pub use corrected::{
    BACKGROUND_VARIES, Corrected, NoiseOf, SharedBackground, Unreliable, corrected, least_reliability,
};
pub use correlation::{Moments, average_ranks, kendall_tau_b, moments, partial, pearson, spearman};
pub use many::{chained, holm};
pub use overlap::{Products, Sets, products, same_side, share_inside};
pub use pairs::Pairs;
pub use parting::{Parting, Threshold, parting};
pub use passage::{FEWEST_OF_PASSAGE, How, Passage, passage};
pub use shuffle::{Blocks, FEWEST_BLOCKS, Shuffled, shifted_round, shuffle_test, shuffled};
pub use significance::{FEWEST_EFFECTIVE, Finding, MOST_PIXELS, Significance, binning_for, significance};
pub use spatial::{Spatial, moran, p_of_correlation};
