//! How much of one map is a line of another element: measured where only that element is.

use super::ratio::{Part, usable};
use super::{FEWEST_PIXELS, Level, Rules, Scatter, Signal};
use crate::grid::Mask;
use crate::numerics::counting::{Bounded, Interval, ratio_interval};

/// Counts of A for each count of B where A is nothing but overlap.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Calibration {
    /// Ratio of the sums above background.
    pub value: f64,
    /// 95 % interval by counting, for maps without counts by their scatter.
    pub counting: Interval,
    /// The same with the floor of both backgrounds.
    pub all: Interval,
    /// Pixels it was measured in.
    pub pixels: u64,
}

/// Ratio of the sums of both maps above their backgrounds over the pixels of a region, each pixel usable in both. `None` with
/// fewer than 30 of them, where the noise of a map is not known, or where B is not surely there.
pub fn calibration(
    (a, b): (&Signal, &Signal),
    at: (&Level, &Level),
    region: &Mask,
    rules: &Rules,
) -> Option<Calibration> {
    let scatter = (usable(Scatter::of(a))?, usable(Scatter::of(b))?);
    let (mut of_a, mut of_b) = (Part::default(), Part::default());
    for i in region.data().iter().enumerate().filter(|(_, inside)| **inside).map(|(i, _)| i) {
        if let (Some(in_a), Some(in_b)) = (a.anywhere(i), b.anywhere(i)) {
            of_a.take(in_a, scatter.0.variance(a, i));
            of_b.take(in_b, scatter.1.variance(b, i));
        }
    }
    if of_a.pixels < FEWEST_PIXELS as u64 {
        return None;
    }
    let n = of_a.pixels as f64;
    let nets = |floor: f64| {
        let off = |level: &Level| floor * n * level.background.max(0.0);
        (of_a.net(at.0, scatter.0, off(at.0)), of_b.net(at.1, scatter.1, off(at.1)))
    };
    let (x, y) = nets(0.0);
    // Within a fifth of its own size B is known well enough to divide by.
    if y.value <= 0.0 || y.value - y.interval.low > 0.2 * y.value {
        return None;
    }
    let counting = ratio_interval(x, y)?;
    let (x_all, y_all) = nets(rules.floor);
    let all = ratio_interval(x_all, y_all)?;
    Some(Calibration { value: x.value / y.value, counting, all, pixels: of_a.pixels })
}

/// Mean signal of a pixel above background over the pixels of a region that can be used in a map and in another; by counting
/// (for maps without counts by their scatter), and with the floor of the background. `None` with fewer than 30 of them or
/// where the noise of the map is not known.
pub fn net_mean(
    (a, level): (&Signal, &Level),
    beside: &Signal,
    region: &Mask,
    rules: &Rules,
) -> Option<(Bounded, Bounded)> {
    let scatter = usable(Scatter::of(a))?;
    let mut of = Part::default();
    for i in region.data().iter().enumerate().filter(|(_, inside)| **inside).map(|(i, _)| i) {
        if let Some(value) = a.anywhere(i).filter(|_| beside.anywhere(i).is_some()) {
            of.take(value, scatter.variance(a, i));
        }
    }
    if of.pixels < FEWEST_PIXELS as u64 {
        return None;
    }
    let n = of.pixels as f64;
    let each = |sum: Bounded| Bounded {
        value: sum.value / n,
        interval: Interval { low: sum.interval.low / n, high: sum.interval.high / n },
    };
    let floor = rules.floor * n * level.background.max(0.0);
    Some((each(of.net(level, scatter, 0.0)), each(of.net(level, scatter, floor))))
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::*;

    #[test]
    fn a_share_is_measured_where_only_the_other_is() {
        // 400 counts of B over 10 and 4 % of that in A over 2: (18 - 2) / (410 - 10).
        let (a, b) = (counts(10, 10, vec![18.0; 100]), counts(10, 10, vec![410.0; 100]));
        let at = (stated(2.0), stated(10.0));
        let all = Mask::try_filled(10, 10, true).unwrap();
        let found = calibration((&a, &b), (&at.0, &at.1), &all, &Rules::default()).unwrap();
        assert!((found.value - 0.04).abs() < 1e-12 && found.pixels == 100);
        assert!(found.all.low < found.counting.low && found.counting.high < found.all.high);
        assert!(found.counting.low > 0.037 && found.counting.high < 0.043, "{found:?}");
        let few = Mask::from_vec(10, 10, (0..100).map(|i| i < 29).collect()).unwrap();
        assert_eq!(calibration((&a, &b), (&at.0, &at.1), &few, &Rules::default()), None);
        let dark = counts(10, 10, vec![10.0; 100]);
        assert_eq!(calibration((&a, &dark), (&at.0, &at.1), &all, &Rules::default()), None);
    }
}
