//! Coefficients of correlation over two lists of values.

use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::sums::{mean, squared_deviations, sum};

/// Product-moment correlation. `None` below two values, for lists of different length, a constant list, or values that
/// are not finite. Source: K. Pearson, Philosophical Transactions A 187 (1896) 253.
pub fn pearson(a: &[f64], b: &[f64]) -> Option<f64> {
    let found = moments(a, b)?;
    let r = found.covariance / (found.variance_a * found.variance_b).sqrt();
    r.is_finite().then(|| r.clamp(-1.0, 1.0))
}

/// Means, variances and covariance, all with 1 / n.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moments {
    /// Mean of A.
    pub mean_a: f64,
    /// Mean of B.
    pub mean_b: f64,
    /// Variance of A.
    pub variance_a: f64,
    /// Variance of B.
    pub variance_b: f64,
    /// Covariance.
    pub covariance: f64,
}

/// First and second moments of two lists. `None` below two values or for lists of different length. A list whose
/// values are all the same has variance 0, also where rounding of the mean would leave a rest.
pub fn moments(a: &[f64], b: &[f64]) -> Option<Moments> {
    if a.len() != b.len() || a.len() < 2 {
        return None;
    }
    let n = a.len() as f64;
    let (mean_a, mean_b) = (mean(a)?, mean(b)?);
    let mut lanes = [0.0f64; 8];
    for (one, other) in a.chunks(8).zip(b.chunks(8)) {
        for (lane, (x, y)) in lanes.iter_mut().zip(one.iter().zip(other)) {
            *lane += (x - mean_a) * (y - mean_b);
        }
    }
    let variance = |values: &[f64], mean: f64| {
        let is_constant = values.iter().all(|v| *v == values[0]);
        if is_constant { 0.0 } else { squared_deviations(values, mean) / n }
    };
    Some(Moments {
        mean_a,
        mean_b,
        variance_a: variance(a, mean_a),
        variance_b: variance(b, mean_b),
        covariance: sum(&lanes) / n,
    })
}

/// Ranks from 1; values that are the same share the mean of their ranks.
///
/// # Errors
/// No memory.
pub fn average_ranks(values: &[f64]) -> Result<Vec<f64>, OutOfMemory> {
    let order = order_of(values, |_| 0.0)?;
    let mut ranks = try_filled_vec(values.len() as u64, 0.0)?;
    let mut first = 0;
    while first < order.len() {
        let mut end = first + 1;
        while end < order.len() && values[order[end]] == values[order[first]] {
            end += 1;
        }
        // Ranks first + 1 ..= end.
        let rank = f64::midpoint(first as f64 + 1.0, end as f64);
        for &i in &order[first..end] {
            ranks[i] = rank;
        }
        first = end;
    }
    Ok(ranks)
}

/// Places in the order of their values, then of `second`.
fn order_of(values: &[f64], second: impl Fn(usize) -> f64) -> Result<Vec<usize>, OutOfMemory> {
    let mut order = try_vec(values.len() as u64)?;
    order.extend(0..values.len());
    // 0 and -0 are the same value and must lie together.
    let key = |i: usize| (values[i] + 0.0, second(i) + 0.0);
    order.sort_unstable_by(|&i, &j| {
        let (one, other) = (key(i), key(j));
        one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)).then(i.cmp(&j))
    });
    Ok(order)
}

/// Rank correlation: [`pearson`] of the average ranks, which is right with ties. `None` as there.
/// Source: C. Spearman, American Journal of Psychology 15 (1904) 72.
///
/// # Errors
/// No memory.
pub fn spearman(a: &[f64], b: &[f64]) -> Result<Option<f64>, OutOfMemory> {
    if a.len() != b.len() || a.iter().chain(b).any(|v| !v.is_finite()) {
        return Ok(None);
    }
    Ok(pearson(&average_ranks(a)?, &average_ranks(b)?))
}

/// Kendall's tau-b: pairs of pixels in the same order less pairs in the opposite, over the root of the pairs that are not
/// tied in A times those not tied in B. `None` as for [`pearson`]. The cost is n log n: W. R. Knight, Journal of the
/// American Statistical Association 61 (1966) 436.
///
/// # Errors
/// No memory.
pub fn kendall_tau_b(a: &[f64], b: &[f64]) -> Result<Option<f64>, OutOfMemory> {
    if a.len() != b.len() || a.len() < 2 || a.iter().chain(b).any(|v| !v.is_finite()) {
        return Ok(None);
    }
    let order = order_of(a, |i| b[i])?;
    let tied_in = |same: &dyn Fn(usize, usize) -> bool| -> f64 {
        let (mut total, mut run) = (0.0, 1u64);
        for i in 1..=order.len() {
            if i < order.len() && same(i - 1, i) {
                run += 1;
            } else {
                total += (run * (run - 1) / 2) as f64;
                run = 1;
            }
        }
        total
    };
    let tied_a = tied_in(&|i, j| a[order[i]] == a[order[j]]);
    let tied_both = tied_in(&|i, j| a[order[i]] == a[order[j]] && b[order[i]] == b[order[j]]);
    let mut column = try_vec(b.len() as u64)?;
    column.extend(order.iter().map(|&i| b[i]));
    let against = exchanges(&mut column)? as f64;
    // The column is sorted now.
    let tied_b = {
        let (mut total, mut run) = (0.0, 1u64);
        for i in 1..=column.len() {
            if i < column.len() && column[i] == column[i - 1] {
                run += 1;
            } else {
                total += (run * (run - 1) / 2) as f64;
                run = 1;
            }
        }
        total
    };
    let n = a.len() as f64;
    let all = 0.5 * n * (n - 1.0);
    let difference = all - tied_a - tied_b + tied_both - 2.0 * against;
    let tau = difference / ((all - tied_a).sqrt() * (all - tied_b).sqrt());
    Ok(tau.is_finite().then(|| tau.clamp(-1.0, 1.0)))
}

/// How many exchanges of neighbours sort the values (pairs in strictly wrong order); sorts them.
fn exchanges(values: &mut [f64]) -> Result<u64, OutOfMemory> {
    let mut other = try_filled_vec(values.len() as u64, 0.0)?;
    let (mut count, mut width) = (0u64, 1);
    while width < values.len() {
        for start in (0..values.len()).step_by(2 * width) {
            let (middle, end) = ((start + width).min(values.len()), (start + 2 * width).min(values.len()));
            let (mut i, mut j) = (start, middle);
            for place in &mut other[start..end] {
                if i < middle && (j >= end || values[i] <= values[j]) {
                    *place = values[i];
                    i += 1;
                } else {
                    *place = values[j];
                    count += (middle - i) as u64;
                    j += 1;
                }
            }
        }
        values.copy_from_slice(&other);
        width *= 2;
    }
    Ok(count)
}

/// Correlation of A and B with what both share with C taken out. `None` where one of the three is constant or C explains
/// one of the others wholly. Source: G. U. Yule, Proceedings of the Royal Society A 79 (1907) 182.
pub fn partial(ab: f64, ac: f64, bc: f64) -> Option<f64> {
    let r = (ab - ac * bc) / ((1.0 - ac * ac) * (1.0 - bc * bc)).sqrt();
    r.is_finite().then(|| r.clamp(-1.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn constant_lists_have_no_correlation() {
        let constant = [0.1; 7];
        let other = [1.0, 2.0, 3.0, 1.0, 2.0, 3.0, 9.0];
        assert_eq!(pearson(&constant, &other), None);
        assert_eq!(spearman(&other, &constant).unwrap(), None);
        assert_eq!(kendall_tau_b(&other, &constant).unwrap(), None);
        assert_eq!(pearson(&[1.0], &[1.0]), None);
        assert_eq!(pearson(&[], &[]), None);
        assert_eq!(spearman(&[1.0, f64::NAN], &[1.0, 2.0]).unwrap(), None);
        assert_eq!(partial(0.5, 1.0, 0.5), None);
    }

    #[test]
    fn order_alone_gives_one() {
        let (a, b) = ([1.0, 2.0, 3.0, 4.0], [1.0, 8.0, 27.0, 640.0]);
        assert_eq!(spearman(&a, &b).unwrap(), Some(1.0));
        assert_eq!(kendall_tau_b(&a, &b).unwrap(), Some(1.0));
        assert_eq!(kendall_tau_b(&a, &[4.0, 3.0, 2.0, 1.0]).unwrap(), Some(-1.0));
        assert!(pearson(&a, &b).unwrap() < 0.9);
    }

    #[test]
    fn signs_of_zero_are_one_value() {
        assert_eq!(average_ranks(&[0.0, -1.0, -0.0]).unwrap(), [2.5, 1.0, 2.5]);
    }
}
