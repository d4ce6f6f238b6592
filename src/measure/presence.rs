//! Whether a part of a map holds more than background: the test of its sum, and discoveries among its pixels.

use super::blocks::{beyond_counting, spread};
use super::{Level, LevelSource, Rules, Scatter, Signal, Z_95, net_sum};
use crate::grid::{Grid, try_vec};
use crate::kind::Noise;
use crate::notice::OutOfMemory;
use crate::numerics::counting::{Bounded, Interval, poisson_tail, upper_limit, wide_poisson_tail};
use crate::numerics::discovery::{Dependence, largest_discovered};
use crate::numerics::on_off::on_off;
use crate::numerics::special::{normal_tail, normal_tail_inverse};

/// The sum of a part against its background.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Presence {
    /// Pixels: asked about, with data, not saturated.
    pub pixels: u64,
    /// Sum of their values.
    pub sum: f64,
    /// Mean signal above background of a pixel, with its 95 % interval from counting (for maps without counts: from their
    /// scatter).
    pub net: Bounded,
    /// The same with the floor.
    pub net_all: Interval,
    /// Chance of such a sum or more from background alone, counting only (on against off; exact).
    pub p_counting: f64,
    /// The same with the floor and an uneven background.
    pub p: f64,
    /// Chance of such a sum or less from background alone, with the floor.
    pub p_less: f64,
    /// 95 % upper limit (one-sided, with the floor) of the mean signal of a pixel, taken as if at least the background had
    /// been counted, so that a region darker than its background gives no limit that is too low.
    pub upper: f64,
    /// The same if all that was counted were signal, the background included.
    pub upper_of_all: f64,
}

/// Tests a part. `None` where no pixel of it can be used.
pub fn presence(signal: &Signal, level: &Level, rules: &Rules) -> Option<Presence> {
    let (mut pixels, mut sum) = (0u64, 0.0);
    for value in (0..signal.values.data().len()).filter_map(|i| signal.valid(i)) {
        pixels += 1;
        sum += value;
    }
    if pixels == 0 {
        return None;
    }
    let n = pixels as f64;
    let off = n * level.background;
    let is_counts = signal.kind.noise() == Noise::Counting;
    let one_sided = normal_tail_inverse(0.05);
    let (net, net_all, tails, arm) = if is_counts {
        let floor = rules.floor * off;
        let (net, all) = (net_sum(sum, pixels, level, 0.0), net_sum(sum, pixels, level, floor));
        let of_mean = level.pixels.map_or(0.0, |m| n * n * level.background / m as f64);
        let seen = sum.max(off);
        let counted = upper_limit(seen, 0.95) - seen;
        let arm = (counted * counted + one_sided * one_sided * (of_mean + floor * floor)).sqrt();
        (net, all, counted_tails(sum, n, level, rules), arm)
    } else {
        let own = Scatter::of(signal).map(|scatter| scatter.of_sum(signal));
        let within = |rules: &Rules| {
            let sd = spread(level, n, own, rules);
            (sd, Interval { low: sum - off - Z_95 * sd, high: sum - off + Z_95 * sd })
        };
        let (plain, interval) = within(&Rules { floor: 0.0, ..*rules });
        let (sd, all) = within(rules);
        let z = |sd: f64| if sd > 0.0 { (sum - off) / sd } else { 0.0 };
        let tails = (normal_tail(z(plain)), normal_tail(z(sd)), normal_tail(-z(sd)));
        let net = Bounded { value: sum - off, interval };
        (net, Bounded { value: sum - off, interval: all }, tails, one_sided * sd)
    };
    let each = |i: Interval| Interval { low: i.low / n, high: i.high / n };
    Some(Presence {
        pixels,
        sum,
        net: Bounded { value: net.value / n, interval: each(net.interval) },
        net_all: each(net_all.interval),
        p_counting: tails.0,
        p: tails.1,
        p_less: tails.2,
        upper: (net.value.max(0.0) + arm) / n,
        upper_of_all: if is_counts { upper_limit(sum, 0.95) / n } else { (sum.max(off) + arm) / n },
    })
}

/// Chances of such a sum or more: counting only, and with all that is not known; and of such a sum or less with all.
fn counted_tails(sum: f64, n: f64, level: &Level, rules: &Rules) -> (f64, f64, f64) {
    let off = n * level.background;
    let count = sum.max(0.0).ceil() as u64;
    let counting = match (level.source, level.pixels) {
        (LevelSource::Stated, _) | (_, None) => poisson_tail(count, off),
        (_, Some(m)) => on_off(count as f64, (m as f64 * level.background).round(), m as f64 / n),
    };
    let beyond = beyond_counting(level, n, rules);
    let wide = wide_poisson_tail(count, off, beyond);
    let less = 1.0 - wide_poisson_tail(count.saturating_add(1), off, beyond);
    (counting, wide.max(counting), less)
}

/// Pixels that stand out from background when the number of pixels is taken into account.
#[derive(Debug, Clone, PartialEq)]
pub struct Discoveries {
    /// How many.
    pub pixels: u64,
    /// How many were looked at.
    pub looked_at: u64,
    /// The smallest value that is one; `None` without any.
    pub from: Option<f64>,
}

/// False-discovery control over the pixels that are asked about: of those it names, a share of at most `q` is expected to be
/// background. Chances are those of one pixel of background, with the floor and an uneven background; discrete for
/// counts, which keeps the share below `q`.
///
/// # Errors
/// No memory.
pub fn discoveries(
    signal: &Signal,
    level: &Level,
    rules: &Rules,
    q: f64,
) -> Result<Discoveries, OutOfMemory> {
    // Chances rise as values fall, so that the sorted chances stay beside their values.
    let mut values = signal.valid_values()?;
    values.sort_unstable_by(|a, b| b.total_cmp(a));
    let mut chances = try_vec(values.len() as u64)?;
    let is_counts = signal.kind.noise() == Noise::Counting;
    let beyond = beyond_counting(level, 1.0, rules);
    let sd = spread(level, 1.0, None, rules);
    let mut before = (f64::NAN, 1.0);
    for &value in &values {
        if value != before.0 {
            let p = if is_counts {
                let count = value.max(0.0).ceil() as u64;
                match level.pixels.filter(|_| level.background == 0.0) {
                    Some(m) => on_off(count as f64, 0.0, m as f64),
                    None => wide_poisson_tail(count, level.background, beyond),
                }
            } else if sd > 0.0 {
                normal_tail((value - level.background) / sd)
            } else {
                1.0
            };
            before = (value, p);
        }
        chances.push(before.1);
    }
    let limit = largest_discovered(&mut chances, q, Dependence::Positive);
    let pixels = limit.map_or(0, |limit| chances.partition_point(|&p| p <= limit));
    Ok(Discoveries {
        pixels: pixels as u64,
        looked_at: values.len() as u64,
        from: pixels.checked_sub(1).map(|last| values[last]),
    })
}

/// Where a pixel is detected: 0 blank (or not asked about), 1 not detected, 2 detected, 5 cannot be judged (saturated, or
/// overlaps could give it), as in [`crate::class::Class`].
///
/// # Errors
/// No memory.
pub fn detected(signal: &Signal, level: &Level) -> Result<Grid<u8>, OutOfMemory> {
    use crate::class::Class;
    let mut out = Grid::try_filled(signal.values.width(), signal.values.height(), Class::Blank as u8)?;
    for (i, class) in out.data_mut().iter_mut().enumerate() {
        *class = match signal.valid(i) {
            Some(_) if signal.is_doubtful(i, level) => Class::CannotBeJudged,
            Some(value) if value >= level.critical => Class::AOnly,
            Some(_) => Class::Neither,
            None if signal.saturated.data()[i] && !signal.values.data()[i].is_nan() => Class::CannotBeJudged,
            None => Class::Blank,
        } as u8;
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::*;
    use crate::numerics::counting::garwood;

    fn rules(floor: f64) -> Rules {
        Rules { floor, ..Rules::default() }
    }

    #[test]
    fn a_stated_background_and_no_floor_is_the_plain_poisson_test() {
        let found = presence(&counts(5, 2, vec![3.0; 10]), &stated(2.0), &rules(0.0)).unwrap();
        assert_eq!((found.pixels, found.sum), (10, 30.0));
        assert!((found.p_counting - poisson_tail(30, 20.0)).abs() < 1e-15 && found.p == found.p_counting);
        let garwood = garwood(30.0, 0.05);
        assert!((found.net.interval.low - (garwood.low - 20.0) / 10.0).abs() < 1e-12);
        assert!((found.upper - (upper_limit(30.0, 0.95) - 20.0) / 10.0).abs() < 1e-12);
    }

    #[test]
    fn a_background_from_pixels_is_the_binomial_test_of_on_against_off() {
        let level = Level { pixels: Some(100), source: LevelSource::Region, ..stated(0.2) };
        // 12 in 10 pixels against 20 in 100.
        let found = presence(&counts(12, 1, vec![1.0; 12]), &level, &rules(0.0)).unwrap();
        assert!((found.p_counting - on_off(12.0, 20.0, 100.0 / 12.0)).abs() < 1e-12);
    }

    #[test]
    fn the_floor_takes_a_small_excess_away() {
        // 1 % more than 400 in 10 000 pixels: 20 standard deviations of counting, a fifth of the floor.
        let level = Level { pixels: Some(10_000), source: LevelSource::Region, ..stated(400.0) };
        let found = presence(&counts(100, 100, vec![404.0; 10_000]), &level, &rules(0.05)).unwrap();
        assert!(found.p_counting < 1e-20 && found.p > 0.3, "{found:?}");
        assert!(found.net.interval.low > 0.0 && found.net_all.low < 0.0);
    }

    #[test]
    fn nothing_counted_is_a_limit_and_not_zero() {
        let level = Level { pixels: Some(900), source: LevelSource::QuietPart, ..stated(0.0) };
        let found = presence(&counts(10, 10, vec![0.0; 100]), &level, &rules(0.05)).unwrap();
        assert_eq!(found.p, 1.0);
        assert!((found.upper - 0.029_957_3).abs() < 1e-6, "{}", found.upper);
        assert_eq!(presence(&counts(2, 1, vec![f64::NAN; 2]), &level, &rules(0.05)), None);
    }

    #[test]
    fn a_darker_region_gives_no_limit_below_what_its_background_allows() {
        let dark = presence(&counts(10, 10, vec![1.0; 100]), &stated(4.0), &rules(0.05)).unwrap();
        let even = presence(&counts(10, 10, vec![4.0; 100]), &stated(4.0), &rules(0.05)).unwrap();
        assert!(dark.p_less < 1e-12 && (dark.upper - even.upper).abs() < 1e-12 && dark.upper > 0.0);
    }

    #[test]
    fn discoveries_are_what_stands_out_of_all_pixels() {
        let mut values = vec![2.0; 990];
        values.extend([60.0; 10]);
        let signal = counts(100, 10, values);
        let found = discoveries(&signal, &stated(2.0), &rules(0.05), 0.05).unwrap();
        assert_eq!((found.pixels, found.looked_at, found.from), (10, 1000, Some(60.0)));
        let none = discoveries(&counts(10, 1, vec![2.0; 10]), &stated(2.0), &rules(0.05), 0.05).unwrap();
        assert_eq!((none.pixels, none.from), (0, None));
        assert_eq!(detected(&signal, &stated(2.0)).unwrap().data()[988..992], [1, 1, 2, 2]);
    }
}
