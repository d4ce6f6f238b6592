//! Count ratio of two maps, pixel by pixel and over a field.

use super::{Level, Scatter, Signal, Z_95, net_sum};
use crate::class::Class;
use crate::grid::Grid;
use crate::notice::OutOfMemory;
use crate::numerics::counting::{Bounded, Interval, exact_ratio, ratio_interval};
use crate::numerics::math::exp;
use crate::numerics::special::normal_tail;

/// Where choosing pixels by B makes its sum too large by more than this share, the sums are not taken over these pixels.
const MOST_SELECTION: f64 = 0.02;

/// A ratio of sums with its intervals, and the ratio of each pixel.
#[derive(Debug, Clone, PartialEq)]
pub struct Ratio {
    /// (A - its background) / (B - its background) where both are valid and B is detected, else NaN.
    pub raster: Grid<f64>,
    /// What is detected where: the classes of [`Class`], saturated pixels and those that overlaps could
    /// explain as *cannot be judged*, no other rule applied. The latter are in the sums.
    pub states: Grid<u8>,
    /// Pixels with a ratio.
    pub pixels: u64,
    /// Those among them where A is detected too.
    pub pixels_of_both: u64,
    /// Pixels where A is detected and B is not: the ratio is at least something there.
    pub only_a: u64,
    /// What it is at least over these pixels together: the lower end of A's sum over the upper end of B's (95 %, counting).
    /// `None` without such pixels or where their noise is not known.
    pub at_least: Option<f64>,
    /// By what share the sum of B over the pixels with a ratio is too large, about, because they were chosen by B itself: near
    /// the critical level only pixels that happened to count more are in it. 0 where B is far above it.
    pub selection: f64,
    /// Whether the sums are over all pixels that are asked about and not over those with a ratio: in a region, where
    /// `selection` is above 2 % or B is detected in no single pixel, if the sum of B is more than background.
    pub is_whole: bool,
    /// Pixels in the sums.
    pub summed: u64,
    /// Ratio of the sums; `None` without pixels, and where only `selection` speaks against it and no region is asked about.
    pub of_sums: Option<f64>,
    /// 95 % interval from noise alone: from counting, or for maps without counts from their errors or the scatter of
    /// neighbours. `None` where that is not known.
    pub counting: Option<Interval>,
    /// The same with the floor of both backgrounds and the band.
    pub with_systematic: Option<Interval>,
    /// How the noise of A and of B is known.
    pub scatter: (Option<Scatter>, Option<Scatter>),
}

/// Pixels of one map added up.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Part {
    sum: f64,
    pub pixels: u64,
    /// Variance of the sum by noise; only of maps without counts.
    variance: f64,
}

impl Part {
    pub fn take(&mut self, value: f64, variance: f64) {
        self.sum += value;
        self.pixels += 1;
        self.variance += variance;
    }

    /// The sum less its background, with its 95 % interval; `systematic` is a standard deviation of the sum.
    pub fn net(self, level: &Level, scatter: Scatter, systematic: f64) -> Bounded {
        if scatter == Scatter::Counting {
            return net_sum(self.sum, self.pixels, level, systematic);
        }
        let n = self.pixels as f64;
        let value = self.sum - n * level.background;
        let of_mean = level.pixels.map_or(0.0, |m| n * n * level.variance / m as f64);
        let arm = Z_95 * (self.variance + of_mean + systematic * systematic).sqrt();
        Bounded { value, interval: Interval { low: value - arm, high: value + arm } }
    }
}

/// By how much a value that was kept because it reached `critical` is too large, about, if its own scatter is `sd`: the
/// mean of a normal distribution cut off there, less its mean, with the value taken for that mean.
fn too_large(value: f64, critical: f64, sd: f64) -> f64 {
    // A count is kept from half a step below the level on.
    let z = (value - critical + 0.5) / sd.max(f64::MIN_POSITIVE);
    if z > 6.0 {
        return 0.0;
    }
    const ROOT_2_PI: f64 = 2.506_628_274_631_000_2;
    sd * exp(-0.5 * z * z) / ROOT_2_PI / normal_tail(-z)
}

/// The noise of a map, where sums of its pixels can be trusted to it.
pub(super) fn usable(scatter: Option<Scatter>) -> Option<Scatter> {
    scatter.filter(|scatter| !matches!(scatter, Scatter::Linked(_)))
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
    let scatter = (Scatter::of(a), Scatter::of(b));
    let noise = |scatter: &Option<Scatter>, signal: &Signal, i: usize| {
        scatter.as_ref().map_or(0.0, |scatter| scatter.variance(signal, i))
    };
    let (mut of_a, mut of_b) = (Part::default(), Part::default());
    let (mut alone_a, mut alone_b) = (Part::default(), Part::default());
    let (mut all_a, mut all_b) = (Part::default(), Part::default());
    let mut excess_b = 0.0;
    let mut pixels_of_both = 0u64;
    for i in 0..raster.data().len() {
        if !a.is_asked(i) || a.values.data()[i].is_nan() || b.values.data()[i].is_nan() {
            continue;
        }
        let (Some(in_a), Some(in_b)) = (a.valid(i), b.valid(i)) else {
            states.data_mut()[i] = Class::CannotBeJudged as u8;
            continue;
        };
        let has_a = in_a >= at.0.critical;
        let is_doubtful = a.is_doubtful(i, at.0) || b.is_doubtful(i, at.1);
        let variances = (noise(&scatter.0, a, i), noise(&scatter.1, b, i));
        all_a.take(in_a, variances.0);
        all_b.take(in_b, variances.1);
        let class = if in_b >= at.1.critical {
            let own =
                if scatter.1 == Some(Scatter::Counting) { in_b } else { variances.1.max(at.1.variance) };
            excess_b += too_large(in_b, at.1.critical, own.max(0.0).sqrt());
            raster.data_mut()[i] = (in_a - at.0.background) / (in_b - at.1.background);
            of_a.take(in_a, variances.0);
            of_b.take(in_b, variances.1);
            pixels_of_both += u64::from(has_a);
            if has_a { Class::Both } else { Class::BOnly }
        } else if has_a {
            alone_a.take(in_a, variances.0);
            alone_b.take(in_b, variances.1);
            Class::AOnly
        } else {
            Class::Neither
        };
        states.data_mut()[i] = if is_doubtful { Class::CannotBeJudged } else { class } as u8;
    }
    let pixels = of_a.pixels;
    let is_plain = |level: &Level| level.background == 0.0 && level.pixels.is_none();
    let nets = |parts: (Part, Part), floor: f64| {
        let (one, other) = (usable(scatter.0)?, usable(scatter.1)?);
        let off = |part: Part, level: &Level| floor * part.pixels as f64 * level.background;
        Some((parts.0.net(at.0, one, off(parts.0, at.0)), parts.1.net(at.1, other, off(parts.1, at.1))))
    };
    let net = |part: Part, level: &Level| part.sum - part.pixels as f64 * level.background;
    let of_chosen = net(of_b, at.1);
    let selection = if of_chosen > 0.0 { excess_b / of_chosen } else { 0.0 };
    let is_chosen_badly = pixels == 0 || selection > MOST_SELECTION;
    let is_whole = is_chosen_badly
        && a.region.is_some()
        && nets((all_a, all_b), floor).is_some_and(|(_, y)| y.interval.low > 0.0);
    if is_whole {
        (of_a, of_b) = (all_a, all_b);
    }
    let (x, y) = (net(of_a, at.0), net(of_b, at.1));
    let is_usable = is_whole || !is_chosen_badly;
    let of_sums = (is_usable && of_b.pixels > 0 && y > 0.0).then(|| x / y);
    let are_counts = scatter == (Some(Scatter::Counting), Some(Scatter::Counting));
    let counting = of_sums.and_then(|_| {
        if are_counts && is_plain(at.0) && is_plain(at.1) {
            return Some(exact_ratio(of_a.sum, of_b.sum, 0.05));
        }
        let (x, y) = nets((of_a, of_b), 0.0)?;
        ratio_interval(x, y)
    });
    let with_systematic = of_sums.and_then(|value| {
        let (x, y) = nets((of_a, of_b), floor)?;
        let interval = ratio_interval(x, y)?;
        Some(Bounded { value, interval }.widened(band * value.abs()).interval)
    });
    let at_least = nets((alone_a, alone_b), floor).and_then(|(x, y)| {
        let is_known = alone_a.pixels > 0 && x.interval.low > 0.0 && y.interval.high > 0.0;
        is_known.then(|| x.interval.low / y.interval.high)
    });
    let only_a = alone_a.pixels;
    Ok(Ratio {
        raster,
        states,
        pixels,
        pixels_of_both,
        only_a,
        at_least,
        selection,
        is_whole,
        summed: of_b.pixels,
        of_sums,
        counting,
        with_systematic,
        scatter,
    })
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

    #[test]
    fn where_b_is_not_detected_the_ratio_is_at_least_something() {
        let a = counts(2, 1, vec![102.0, 7.0]);
        let b = counts(2, 1, vec![3.0, 2.0]);
        let found = ratio(&a, &b, (&stated(2.0), &stated(3.0)), 0.0, 0.2).unwrap();
        assert_eq!((found.only_a, found.of_sums), (1, None));
        // 102 counts are at least 83.2, less 2; 3 counts are at most 8.77, less 3.
        let least = found.at_least.unwrap();
        assert!((least - (83.171 - 2.0) / (8.767 - 3.0)).abs() < 0.01, "{least}");
    }

    #[test]
    fn maps_without_counts_have_intervals_from_their_errors_only() {
        let fitted = |values: Vec<f64>, sigma: Option<f64>| {
            let plain = counts(2, 1, values);
            let sigma = sigma.map(|s| Grid::try_filled(2, 1, s).unwrap());
            Signal { kind: crate::kind::Kind::Fitted, sigma, ..plain }
        };
        let at = (&stated(0.0), &stated(0.0));
        let of =
            |sigma| ratio(&fitted(vec![50.0, 50.0], sigma), &fitted(vec![100.0, 100.0], sigma), at, 0.0, 0.0);
        let known = of(Some(3.0)).unwrap();
        // Arms 1.96 * 3 √2 of both 100 and 200: by Fieller's formula.
        let (g, r) = ((Z_95 * 18.0f64.sqrt() / 200.0).powi(2), 0.5);
        let half = (r * r * g + g - g * g).sqrt() / (1.0 - g);
        let interval = known.counting.unwrap();
        assert!((interval.high - (r / (1.0 - g) + half)).abs() < 1e-9, "{interval:?}");
        let unknown = of(None).unwrap();
        assert_eq!((unknown.of_sums, unknown.counting, unknown.with_systematic), (Some(0.5), None, None));
    }
}
