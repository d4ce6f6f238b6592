//! Backgrounds that the caller names: the pixels of a region, or a value.

use super::background::{PILE, at_least_the_errors, counting, empirical, is_cut_off};
use super::{FEWEST_PIXELS, Level, LevelSource, Refusal, Rules, Signal, level};
use crate::grid::{Mask, try_vec};
use crate::kind::Noise;
use crate::notice::OutOfMemory;
use crate::numerics::sums;

/// Background of a map from the pixels of a region that holds nothing of the element, as the caller says: mean and scatter of
/// its valid pixels, whatever is asked about. The region should lie on a like matrix.
///
/// # Errors
/// Out of memory. The inner result refuses with fewer than 30 pixels, a pile of equal lowest values in a map that holds no
/// counts, no scatter at all in one, or a map of one value.
pub fn level_of_region(
    signal: &Signal,
    region: &Mask,
    rules: &Rules,
) -> Result<Result<Level, Refusal>, OutOfMemory> {
    if signal.kind.noise() == Noise::Unknown {
        return Ok(Err(Refusal::ShapeOnly(signal.kind)));
    }
    let mut values = try_vec(signal.values.len())?;
    let inside = region.data().iter().enumerate().filter(|(_, inside)| **inside);
    values.extend(inside.filter_map(|(i, _)| signal.anywhere(i)));
    let n = values.len();
    // A map of one value was perhaps never filled; a region of it says nothing.
    let first = values.first().copied();
    if n >= FEWEST_PIXELS
        && (0..signal.values.data().len()).filter_map(|i| signal.anywhere(i)).all(|v| Some(v) == first)
    {
        return Ok(Err(Refusal::Constant));
    }
    let Some(background) = sums::mean(&values).filter(|_| n >= FEWEST_PIXELS) else {
        return Ok(Err(Refusal::TooFewPixels));
    };
    let variance = sums::squared_deviations(&values, background) / (n as f64 - 1.0);
    let source = LevelSource::Region;
    if signal.kind.noise() == Noise::Counting {
        let dispersion = if background > 0.0 { variance / background } else { 1.0 };
        return Ok(Ok(counting(background.max(0.0), Some(n as u64), dispersion, source, rules)));
    }
    let zeros = values.iter().filter(|&&v| v == 0.0).count();
    let negative = values.iter().filter(|&&v| v < 0.0).count();
    if is_cut_off(zeros, negative) && zeros as f64 > PILE * n as f64 {
        return Ok(Err(Refusal::PiledUp));
    }
    if variance <= 0.0 {
        return Ok(Err(Refusal::Constant));
    }
    let found = empirical(background, variance, Some(n as u64), source, rules);
    Ok(Ok(at_least_the_errors(found, signal, Some(region), rules)))
}

/// A background that the caller knows. The scatter of values that are no counts is that of the rule *quiet part*.
///
/// # Errors
/// Out of memory. The inner result refuses a value that is not finite (for counts below 0), and what the rule refuses.
pub fn stated_level(
    signal: &Signal,
    background: f64,
    rules: &Rules,
) -> Result<Result<Level, Refusal>, OutOfMemory> {
    if signal.kind.noise() != Noise::Empirical {
        return Ok(Level::stated(background, signal.kind, rules));
    }
    if !background.is_finite() {
        return Ok(Err(Refusal::BadValue));
    }
    let found = level(signal, rules)?;
    Ok(found.map(|found| empirical(background, found.variance, None, LevelSource::Stated, rules)))
}

#[cfg(test)]
mod tests {
    use super::super::testing::counts;
    use super::*;
    use crate::kind::Kind;

    fn mask(first: usize, n: usize) -> Mask {
        Mask::from_vec(20, 20, (0..400).map(|i| (first..first + n).contains(&i)).collect()).unwrap()
    }

    #[test]
    fn a_region_gives_its_mean_and_too_small_a_one_refuses() {
        // 0, 1, ... 6 in turn: mean 3, variance 4.
        let mut signal = counts(20, 20, (0..400).map(|i| f64::from(i % 7)).collect());
        let rules = Rules::default();
        let found = level_of_region(&signal, &mask(0, 70), &rules).unwrap().unwrap();
        assert_eq!((found.background, found.pixels, found.source), (3.0, Some(70), LevelSource::Region));
        assert!((found.dispersion - 4.0 * 70.0 / 69.0 / 3.0).abs() < 1e-12, "{found:?}");
        // What is asked about does not matter.
        signal.region = Some(mask(300, 10));
        assert_eq!(level_of_region(&signal, &mask(0, 70), &rules).unwrap(), Ok(found));
        assert_eq!(level_of_region(&signal, &mask(0, 29), &rules).unwrap(), Err(Refusal::TooFewPixels));
        assert_eq!(level_of_region(&signal, &mask(0, 0), &rules).unwrap(), Err(Refusal::TooFewPixels));
    }

    #[test]
    fn values_that_are_no_counts_keep_their_scatter_and_that_of_their_errors() {
        let mut signal = counts(20, 20, (0..400).map(|i| f64::from(i % 7) - 3.0).collect());
        signal.kind = Kind::Net;
        let rules = Rules::default();
        // Cut off at 0, as a fit without negative results leaves them.
        let mut cut = signal.clone();
        cut.values.data_mut().iter_mut().for_each(|value| *value = value.max(0.0));
        assert_eq!(level_of_region(&cut, &mask(0, 70), &rules).unwrap(), Err(Refusal::PiledUp));
        // A seventh of the values is 0 here too, but as many lie below as above: areas in whole numbers.
        let whole = level_of_region(&signal, &mask(0, 70), &rules).unwrap().unwrap();
        assert_eq!(whole.background, 0.0);
        signal.values.data_mut().iter_mut().for_each(|value| *value += 0.25);
        let plain = level_of_region(&signal, &mask(0, 70), &rules).unwrap().unwrap();
        assert!((plain.variance - 4.0 * 70.0 / 69.0).abs() < 1e-12);
        signal.sigma = Some(crate::grid::Grid::try_filled(20, 20, 5.0).unwrap());
        let wide = level_of_region(&signal, &mask(0, 70), &rules).unwrap().unwrap();
        assert!(wide.variance == 25.0 && wide.critical > plain.critical);
        for (i, value) in signal.values.data_mut().iter_mut().enumerate() {
            *value = (i * 7919 % 1000) as f64 / 250.0 - 2.0;
        }
        let stated = stated_level(&signal, -1.0, &rules).unwrap().unwrap();
        assert!(stated.background == -1.0 && stated.variance > 0.0 && stated.source == LevelSource::Stated);
        assert_eq!(Level::stated(1.0, Kind::Net, &rules), Err(Refusal::ShapeOnly(Kind::Net)));
    }
}
