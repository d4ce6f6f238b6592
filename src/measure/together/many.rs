//! Many pairs at once: chances corrected for their number, and an order in which like maps are neighbours.

use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// Chances corrected for their number, so that one false alarm among all of them has the chance that is asked for, however
/// they depend on each other. Each is the largest of (number of tests less those with a smaller chance) times the chance,
/// over itself and all smaller ones; at most 1. What is not a number stays so and doesn't count.
/// Source: S. Holm, Scandinavian Journal of Statistics 6 (1979) 65.
///
/// # Errors
/// No memory.
pub fn holm(chances: &[f64]) -> Result<Vec<f64>, OutOfMemory> {
    let mut order = try_vec(chances.len() as u64)?;
    order.extend((0..chances.len()).filter(|&i| !chances[i].is_nan()));
    order.sort_unstable_by(|&i: &usize, &j: &usize| chances[i].total_cmp(&chances[j]).then(i.cmp(&j)));
    let mut out = try_filled_vec(chances.len() as u64, f64::NAN)?;
    let mut largest = 0.0f64;
    for (rank, &i) in order.iter().enumerate() {
        largest = largest.max((order.len() - rank) as f64 * chances[i]).min(1.0);
        out[i] = largest;
    }
    Ok(out)
}

/// An order of `n` things in which neighbours are alike: it starts with the most alike pair and goes on, at either end, with
/// whatever is most like that end. `alike(i, j)` is symmetric; `None` counts as least. Of equals the first is taken, so that
/// the order is always the same.
///
/// # Errors
/// No memory.
pub fn chained(n: usize, alike: impl Fn(usize, usize) -> Option<f64>) -> Result<Vec<usize>, OutOfMemory> {
    let like = |i: usize, j: usize| alike(i, j).filter(|r| !r.is_nan()).unwrap_or(-2.0);
    let mut best: Option<(f64, usize, usize)> = None;
    for i in 0..n {
        for j in i + 1..n {
            if best.is_none_or(|(most, _, _)| like(i, j) > most) {
                best = Some((like(i, j), i, j));
            }
        }
    }
    let mut chain = try_vec(n as u64)?;
    let Some((_, first, second)) = best else {
        chain.extend(0..n);
        return Ok(chain);
    };
    chain.extend([first, second]);
    while chain.len() < n {
        let (start, end) = (chain[0], chain[chain.len() - 1]);
        let mut next: Option<(f64, usize, bool)> = None;
        for i in (0..n).filter(|i| !chain.contains(i)) {
            for (at_end, other) in [(true, end), (false, start)] {
                if next.is_none_or(|(most, _, _)| like(i, other) > most) {
                    next = Some((like(i, other), i, at_end));
                }
            }
        }
        match next {
            Some((_, i, true)) => chain.push(i),
            Some((_, i, false)) => chain.insert(0, i),
            None => break,
        }
    }
    Ok(chain)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_chance_is_multiplied_most() {
        // 0.01 × 4; 0.02 × 3; 0.03 × 2 = 0.06 as well; 0.5 × 1.
        let found = holm(&[0.03, 0.5, 0.01, f64::NAN, 0.02]).unwrap();
        for (got, want) in found.iter().zip([0.06, 0.5, 0.04, f64::NAN, 0.06]) {
            assert!((got - want).abs() < 1e-15 || (got.is_nan() && want.is_nan()), "{found:?}");
        }
        assert!(holm(&[]).unwrap().is_empty());
        assert_eq!(holm(&[0.9, 0.8]).unwrap(), [1.0, 1.0]);
    }

    #[test]
    fn like_things_are_neighbours() {
        // Places on a line: the nearer, the more alike.
        let places = [5.0f64, 1.0, 9.0, 2.0];
        let order = chained(4, |i, j| Some(1.0 - (places[i] - places[j]).abs() / 10.0)).unwrap();
        assert_eq!(order, [1, 3, 0, 2]);
        assert_eq!(chained(1, |_, _| None).unwrap(), [0]);
        assert_eq!(chained(3, |_, _| None).unwrap().len(), 3);
        assert!(chained(0, |_, _| None).unwrap().is_empty());
    }
}
