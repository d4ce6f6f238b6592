//! Numbers and masks out of maps: background, accompaniment, classes, ratios. Knows no sentences and no colours.

mod accompany;
mod background;
mod beyond;
mod blocks;
mod calibration;
mod classes;
pub mod compare;
mod connected;
mod doubt;
mod excess;
pub mod fits;
mod gain;
mod homogeneity;
mod levels;
mod named_background;
mod noise;
pub mod overlap;
pub mod own;
mod patch;
mod presence;
mod ratio;
mod squares;
mod threshold;
pub mod together;
mod two;
mod uneven;
mod upper;
pub mod zones;

pub use accompany::{Accompaniment, accompaniment};
pub use background::{FEWEST_PIXELS, Level, LevelSource, Refusal, Rules, false_alarms, level};
pub use beyond::{Under, deficit_p, excess_p};
pub use blocks::{BINS, BlockLevel, Share, block_level, readable, shares};
pub use calibration::{Calibration, calibration, net_mean};
pub use classes::{Classes, Counts, classes};
pub use connected::connected;
pub use doubt::Doubt;
pub use excess::{Excess, FALSE_SHARE, excess};
pub use gain::{NeighbourGain, neighbour_gain};
pub use homogeneity::{Homogeneity, homogeneity};
pub use named_background::{level_of_region, stated_level};
pub use noise::Scatter;
pub use patch::patch;
pub use presence::{Discoveries, Presence, detected, discoveries, presence};
pub use ratio::{Ratio, ratio};
pub use threshold::{Method, Thresholds, thresholds};
pub use two::Two;
pub use uneven::is_uneven;
pub use upper::{UpperLimit, upper_limit};

use crate::grid::{Grid, Mask};
use crate::kind::{Kind, Noise};
use crate::notice::OutOfMemory;
use crate::numerics::counting::{Bounded, Interval, garwood};
use crate::stack::Map;

/// A map's values made ready for computing.
#[derive(Debug, Clone, PartialEq)]
pub struct Signal {
    /// Values; NaN where the pixel is blank.
    pub values: Grid<f64>,
    /// Pixels at the largest value of their type: counting stopped there.
    pub saturated: Mask,
    /// How the map was made.
    pub kind: Kind,
    /// One standard deviation of each value, where a map of errors gives it.
    pub sigma: Option<Grid<f64>>,
    /// The pixels that are asked about; `None` for the whole field. Backgrounds and rims look beyond it.
    pub region: Option<Mask>,
    /// What lines of other elements could give in its pixels; `None` where none is known to matter.
    pub doubt: Option<Doubt>,
}

impl Signal {
    /// Copies a map.
    pub fn of(map: &Map) -> Result<Self, OutOfMemory> {
        let values = map.plane.to_f64()?;
        let mut saturated = Mask::try_filled(values.width(), values.height(), false)?;
        if let Some(ceiling) = map.plane.ceiling() {
            for (mark, value) in saturated.data_mut().iter_mut().zip(values.data()) {
                *mark = *value >= ceiling;
            }
        }
        Ok(Self { values, saturated, kind: map.kind, sigma: map.sigma.clone(), region: None, doubt: None })
    }

    /// Whether a pixel is asked about.
    pub fn is_asked(&self, index: usize) -> bool {
        self.region.as_ref().is_none_or(|region| region.data()[index])
    }

    /// Value of a pixel that is asked about and can be computed with: neither blank nor saturated.
    pub fn valid(&self, index: usize) -> Option<f64> {
        self.anywhere(index).filter(|_| self.is_asked(index))
    }

    /// Value of a pixel, asked about or not, that can be computed with.
    pub fn anywhere(&self, index: usize) -> Option<f64> {
        let value = self.values.data()[index];
        (!value.is_nan() && !self.saturated.data()[index]).then_some(value)
    }

    /// Values of the pixels that can be computed with, row by row, whatever is asked about.
    pub fn values_anywhere(&self) -> Result<Vec<f64>, OutOfMemory> {
        let mut out = crate::grid::try_vec(self.values.len())?;
        out.extend((0..self.values.data().len()).filter_map(|i| self.anywhere(i)));
        Ok(out)
    }

    /// Values of the pixels that are asked about and can be computed with, row by row.
    pub fn valid_values(&self) -> Result<Vec<f64>, OutOfMemory> {
        let mut out = crate::grid::try_vec(self.values.len())?;
        out.extend((0..self.values.data().len()).filter_map(|i| self.valid(i)));
        Ok(out)
    }

    /// How many pixels are asked about.
    pub fn asked(&self) -> u64 {
        self.region
            .as_ref()
            .map_or(self.values.len(), |r| r.data().iter().filter(|&&inside| inside).count() as u64)
    }
}

/// Whether both maps hold counts, so that counting statistics apply to them.
pub fn are_counts(a: &Signal, b: &Signal) -> bool {
    a.kind.noise() == Noise::Counting && b.kind.noise() == Noise::Counting
}

/// A quantile of values in any order (linear between ranks); `None` without values.
fn order_of(values: impl Iterator<Item = f64>, q: f64) -> Option<f64> {
    let mut sorted: Vec<f64> = values.collect();
    crate::numerics::order::sort(&mut sorted);
    crate::numerics::order::quantile(&sorted, q)
}

/// A sum of counts over `pixels` pixels less their background, with its 95 % interval: Garwood's for the sum, its arms
/// lengthened by what the mean of the background leaves open and by `systematic` (a standard deviation of the sum).
fn net_sum(sum: f64, pixels: u64, level: &Level, systematic: f64) -> Bounded {
    let (n, counted) = (pixels as f64, garwood(sum, 0.05));
    let off = n * level.background;
    let interval = Interval { low: counted.low - off, high: counted.high - off };
    let of_mean = level.pixels.map_or(0.0, |m| n * (level.background / m as f64).sqrt());
    Bounded { value: sum - off, interval }
        .widened(Z_95 * (of_mean * of_mean + systematic * systematic).sqrt())
}

/// Quantile of the standard normal distribution that leaves 2.5 % above (95 % two-sided).
pub const Z_95: f64 = 1.959_963_984_540_054;

/// Quantile of the standard normal distribution that leaves 5 % above.
const Z_ONE_SIDED: f64 = 1.644_853_626_951_472_2;

#[cfg(test)]
pub(crate) mod testing {
    use super::*;

    /// A signal of counts.
    pub fn counts(width: u32, height: u32, values: Vec<f64>) -> Signal {
        let values = Grid::from_vec(width, height, values).unwrap();
        let saturated = Mask::try_filled(width, height, false).unwrap();
        Signal { values, saturated, kind: Kind::Window, sigma: None, region: None, doubt: None }
    }

    /// A stated level without uncertainty beyond the floor.
    pub fn stated(background: f64) -> Level {
        Level::stated(background, Kind::Window, &Rules::default()).unwrap()
    }
}
