//! Random fields and counts drawn from them.

use limner::numerics::chance::Chance;
use limner::numerics::math::exp;

/// Side of every map.
pub const SIDE: usize = 128;

/// A field of mean 0 and variance 1: white noise smoothed by a Gaussian of standard deviation `length`, cut from a larger
/// one so that its edges are not joined.
pub fn field(length: usize, chance: &mut Chance) -> Vec<f64> {
    let reach = 4 * length;
    let large = SIDE + 2 * reach;
    let mut values: Vec<f64> = (0..large * large).map(|_| chance.normal()).collect();
    if length == 0 {
        return values;
    }
    let sigma = length as f64;
    let mut kernel: Vec<f64> = (0..=2 * reach)
        .map(|i| {
            let d = i as f64 - reach as f64;
            exp(-d * d / (2.0 * sigma * sigma))
        })
        .collect();
    // Sums of squares of 1 in each direction keep the variance.
    let norm = kernel.iter().map(|k| k * k).sum::<f64>().sqrt();
    kernel.iter_mut().for_each(|k| *k /= norm);
    let mut rows = vec![0.0; large * SIDE];
    for y in 0..large {
        for x in 0..SIDE {
            rows[y * SIDE + x] = kernel.iter().enumerate().map(|(i, k)| k * values[y * large + x + i]).sum();
        }
    }
    values = vec![0.0; SIDE * SIDE];
    for y in 0..SIDE {
        for x in 0..SIDE {
            values[y * SIDE + x] = kernel.iter().enumerate().map(|(i, k)| k * rows[(y + i) * SIDE + x]).sum();
        }
    }
    values
}

/// Means that vary by a half of themselves and are never negative: mean × exp(z / 2 - 1 / 8).
pub fn lognormal(field: &[f64], mean: f64) -> Vec<f64> {
    field.iter().map(|z| mean * exp(0.5 * z - 0.125)).collect()
}

/// Means that vary by a half of themselves: mean × (1 + z / 2), no less than 0.
pub fn linear(field: &[f64], mean: f64) -> Vec<f64> {
    field.iter().map(|z| mean * (1.0 + 0.5 * z).max(0.0)).collect()
}

/// A field whose correlation with `one` is `r`.
pub fn mixed(one: &[f64], own: &[f64], r: f64) -> Vec<f64> {
    let rest = (1.0 - r * r).sqrt();
    one.iter().zip(own).map(|(a, b)| r * a + rest * b).collect()
}

/// Poisson counts.
pub fn draw(means: &[f64], chance: &mut Chance) -> Vec<f64> {
    means.iter().map(|mean| chance.poisson(*mean) as f64).collect()
}
