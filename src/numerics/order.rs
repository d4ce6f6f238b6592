//! Order statistics.

/// Sorts ascending by value; NaN last. Total order, so that the result never depends on the input order.
pub fn sort(values: &mut [f64]) {
    values.sort_unstable_by(f64::total_cmp);
}

/// The rank `floor(q * (n - 1))`; `None` without values, `q` outside 0..=1 is clamped.
fn low_rank(n: usize, q: f64) -> Option<usize> {
    let last = n.checked_sub(1)?;
    Some(((q.clamp(0.0, 1.0) * last as f64).floor() as usize).min(last))
}

/// The value of sorted values at rank `floor(q * (n - 1))`: an observed value, never an interpolated one.
/// `None` without values; `q` outside 0..=1 is clamped.
pub fn low_quantile(sorted: &[f64], q: f64) -> Option<f64> {
    Some(sorted[low_rank(sorted.len(), q)?])
}

/// As [`low_quantile`], of values in any order, which are left in another. The cost is linear.
pub fn low_quantile_unsorted(values: &mut [f64], q: f64) -> Option<f64> {
    let rank = low_rank(values.len(), q)?;
    Some(*values.select_nth_unstable_by(rank, f64::total_cmp).1)
}

/// Quantile with linear interpolation between ranks (the definition numpy calls "linear").
/// `None` without values; `q` outside 0..=1 is clamped.
pub fn quantile(sorted: &[f64], q: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let rank = q.clamp(0.0, 1.0) * last as f64;
    let below = (rank.floor() as usize).min(last);
    let above = (below + 1).min(last);
    Some(sorted[below] + (sorted[above] - sorted[below]) * (rank - below as f64))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_four_values_as_numpy_gives_them() {
        let sorted = [1.0, 2.0, 4.0, 8.0];
        assert_eq!(quantile(&sorted, 0.5), Some(3.0));
        assert_eq!(quantile(&sorted, 0.25), Some(1.75));
        assert_eq!(low_quantile(&sorted, 0.5), Some(2.0));
        assert_eq!(low_quantile_unsorted(&mut [4.0, 1.0, 3.0, 2.0], 0.5), Some(2.0));
        assert_eq!(quantile(&[], 0.5), None);
    }

    #[test]
    fn nan_sorts_last() {
        let mut values = [f64::NAN, 2.0, 1.0];
        sort(&mut values);
        assert_eq!(&values[..2], &[1.0, 2.0]);
    }
}
