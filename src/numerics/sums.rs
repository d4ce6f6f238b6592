//! Sums in a fixed order, written in lanes so that the compiler can vectorise them on every target.

/// Sum of all values: eight lanes, then a fixed tree, so that the bits do not depend on the target.
/// Relative error about 1e-16 times the root of the length. Empty gives 0; a NaN gives NaN.
pub fn sum(values: &[f64]) -> f64 {
    let mut lanes = [0.0f64; 8];
    let chunks = values.chunks_exact(8);
    let rest = chunks.remainder();
    for chunk in chunks {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            *lane += value;
        }
    }
    for (lane, value) in lanes.iter_mut().zip(rest) {
        *lane += value;
    }
    ((lanes[0] + lanes[4]) + (lanes[2] + lanes[6])) + ((lanes[1] + lanes[5]) + (lanes[3] + lanes[7]))
}

/// Arithmetic mean; `None` without values.
pub fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| sum(values) / values.len() as f64)
}

/// Sum of squared deviations from `centre`, in the same fixed order.
pub fn squared_deviations(values: &[f64], centre: f64) -> f64 {
    let mut lanes = [0.0f64; 8];
    for chunk in values.chunks(8) {
        for (lane, value) in lanes.iter_mut().zip(chunk) {
            let d = value - centre;
            *lane += d * d;
        }
    }
    ((lanes[0] + lanes[4]) + (lanes[2] + lanes[6])) + ((lanes[1] + lanes[5]) + (lanes[3] + lanes[7]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_of_whole_numbers_are_exact_and_nothing_has_no_mean() {
        let values: Vec<f64> = (0..1003).map(f64::from).collect();
        assert_eq!(sum(&values), 502_503.0);
        assert_eq!(mean(&values), Some(501.0));
        assert_eq!(mean(&[]), None);
        assert_eq!(squared_deviations(&[1.0, 3.0], 2.0), 2.0);
    }
}
