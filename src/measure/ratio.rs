//! Count ratio of two maps, pixel by pixel and over a field.

use super::{Level, Signal, are_counts, net_sum};
use crate::class::Class;
use crate::grid::Grid;
use crate::notice::OutOfMemory;
use crate::numerics::counting::{Bounded, Interval, exact_ratio, ratio_interval};

/// A ratio of sums with its intervals, and the ratio of each pixel.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratio {
    /// (A - its background) / (B - its background) where both are valid and B is detected, else NaN.
    pub raster: Grid<f64>,
    /// What is detected where: the classes of [`Class`], saturated pixels as *cannot be judged*, no other rule applied.
    pub states: Grid<u8>,
    /// Pixels with a ratio.
    pub pixels: u64,
    /// Those among them where A is detected too.
    pub pixels_of_both: u64,
    /// Pixels where A is detected and B is not: the ratio is at least something there.
    pub only_a: u64,
    /// Ratio of the sums over the pixels with a ratio; `None` without such pixels.
    pub of_sums: Option<f64>,
    /// 95 % interval from counting alone; `None` where the maps hold no counts.
    pub counting: Option<Interval>,
    /// The same with the floor of both backgrounds and the band.
    pub with_systematic: Option<Interval>,
}

/// Computes it. `floor` is the systematic share of a background, `band` stands for thickness, dilution and cover.
pub fn ratio(
    a: &Signal,
    b: &Signal,
    at: (&Level, &Level),
    floor: f64,
    band: f64,
) -> Result<Ratio, OutOfMemory> {
    let (width, height) = (a.values.width(), a.values.height());
    let mut raster = Grid::try_filled(width, height, f64::NAN)?;
    let mut states = Grid::try_filled(width, height, Class::Blank as u8)?;
    let (mut sum_a, mut sum_b, mut pixels, mut pixels_of_both, mut only_a) = (0.0, 0.0, 0u64, 0u64, 0u64);
    for i in 0..raster.data().len() {
        if !a.is_asked(i) || a.values.data()[i].is_nan() || b.values.data()[i].is_nan() {
            continue;
        }
        let (Some(in_a), Some(in_b)) = (a.valid(i), b.valid(i)) else {
            states.data_mut()[i] = Class::CannotBeJudged as u8;
            continue;
        };
        let has_a = in_a >= at.0.critical;
        if in_b >= at.1.critical {
            raster.data_mut()[i] = (in_a - at.0.background) / (in_b - at.1.background);
            sum_a += in_a;
            sum_b += in_b;
            pixels += 1;
            pixels_of_both += u64::from(has_a);
            states.data_mut()[i] = if has_a { Class::Both as u8 } else { Class::BOnly as u8 };
        } else {
            only_a += u64::from(has_a);
            states.data_mut()[i] = if has_a { Class::AOnly as u8 } else { Class::Neither as u8 };
        }
    }
    let is_plain = |level: &Level| level.background == 0.0 && level.pixels.is_none();
    let (x, y) = (net_sum(sum_a, pixels, at.0, 0.0), net_sum(sum_b, pixels, at.1, 0.0));
    let of_sums = (pixels > 0 && y.value > 0.0).then(|| x.value / y.value);
    let of_counts = of_sums.filter(|_| are_counts(a, b));
    let counting = of_counts.and_then(|_| {
        if is_plain(at.0) && is_plain(at.1) {
            Some(exact_ratio(sum_a, sum_b, 0.05))
        } else {
            ratio_interval(x, y)
        }
    });
    let with_systematic = of_counts.and_then(|value| {
        let off = |level: &Level| floor * pixels as f64 * level.background;
        let x = net_sum(sum_a, pixels, at.0, off(at.0));
        let interval = ratio_interval(x, net_sum(sum_b, pixels, at.1, off(at.1)))?;
        Some(Bounded { value, interval }.widened(band * value.abs()).interval)
    });
    Ok(Ratio { raster, states, pixels, pixels_of_both, only_a, of_sums, counting, with_systematic })
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::*;

    #[test]
    fn ratios_stand_only_where_b_is_detected() {
        let a = counts(4, 1, vec![27.0, 7.0, 99.0, f64::NAN]);
        let b = counts(4, 1, vec![103.0, 53.0, 3.0, 103.0]);
        let found = ratio(&a, &b, (&stated(2.0), &stated(3.0)), 0.05, 0.2).unwrap();
        assert_eq!(&found.raster.data()[..2], [0.25, 0.1]);
        assert!(found.raster.data()[2].is_nan() && found.raster.data()[3].is_nan());
        assert_eq!(found.states.data(), [4, 3, 2, 0]);
        assert_eq!(found.of_sums, Some(0.2));
        let (counting, all) = (found.counting.unwrap(), found.with_systematic.unwrap());
        assert!(
            all.low < counting.low && counting.low < 0.2 && 0.2 < counting.high && counting.high < all.high
        );
    }

    #[test]
    fn without_background_the_interval_is_the_exact_one() {
        let a = counts(2, 1, vec![5.0, 6.0]);
        let b = counts(2, 1, vec![10.0, 11.0]);
        let found = ratio(&a, &b, (&stated(0.0), &stated(0.0)), 0.05, 0.0).unwrap();
        assert_eq!(found.counting, Some(exact_ratio(11.0, 21.0, 0.05)));
    }

    #[test]
    fn nothing_detected_is_no_ratio_and_not_zero() {
        let a = counts(2, 1, vec![5.0, 6.0]);
        let b = counts(2, 1, vec![3.0, 2.0]);
        let found = ratio(&a, &b, (&stated(2.0), &stated(3.0)), 0.05, 0.2).unwrap();
        assert_eq!(
            (found.of_sums, found.counting, found.with_systematic, found.pixels),
            (None, None, None, 0)
        );
    }
}
