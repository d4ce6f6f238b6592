//! Parts of maps: a table of counts as a sum of a few spectra, each with its own strength in every pixel.
//!
//! The Kullback-Leibler divergence is, but for a constant, the Poisson likelihood: the fit weighs counts as they scatter.
//! Source: D. D. Lee and H. S. Seung, Advances in Neural Information Processing Systems 13 (2001) 556.

use crate::numerics::math::ln;

/// Divisors no smaller than this, as in scikit-learn.
const LEAST: f64 = 1.192_092_895_507_812_5e-7;

/// Both factors: pixels times parts, and parts times maps, row by row.
#[derive(Debug, Clone, PartialEq)]
pub struct Parts {
    /// Strength of each part in each pixel.
    pub w: Vec<f64>,
    /// What each part counts in each map.
    pub h: Vec<f64>,
    /// How many parts there are; at least 1.
    pub count: usize,
    /// How many maps there are; at least 1.
    pub maps: usize,
}

/// What the factors say a pixel counts.
fn fitted(w: &[f64], h: &[f64], maps: usize, out: &mut [f64]) {
    out.fill(0.0);
    for (&strength, spectrum) in w.iter().zip(h.chunks_exact(maps)) {
        for (sum, part) in out.iter_mut().zip(spectrum) {
            *sum += strength * part;
        }
    }
}

/// One multiplicative step for the strengths of a pixel; `sums` are those of the rows of `h`, `buffer` has room for a pixel.
pub fn step_of_pixel(x: &[f64], w: &mut [f64], h: &[f64], sums: &[f64], buffer: &mut [f64]) {
    let maps = x.len();
    fitted(w, h, maps, buffer);
    for (quotient, &value) in buffer.iter_mut().zip(x) {
        *quotient = value / quotient.max(LEAST);
    }
    for ((strength, spectrum), &sum) in w.iter_mut().zip(h.chunks_exact(maps)).zip(sums) {
        let up: f64 = buffer.iter().zip(spectrum).map(|(q, part)| q * part).sum();
        *strength *= up / if sum > 0.0 { sum } else { LEAST };
    }
}

/// What every part counts in all maps together.
pub fn sums_of(h: &[f64], maps: usize) -> Vec<f64> {
    h.chunks_exact(maps.max(1)).map(|row| row.iter().sum()).collect()
}

impl Parts {
    /// So many multiplicative rounds on `x` (pixels times maps, none below 0), strengths first. What is 0 stays 0, so a start
    /// must be above 0.
    pub fn improve(&mut self, x: &[f64], rounds: u32) {
        let (c, p) = (self.count, self.maps);
        let mut buffer = vec![0.0; p];
        for _ in 0..rounds {
            let sums = sums_of(&self.h, p);
            for (row, w) in x.chunks_exact(p).zip(self.w.chunks_exact_mut(c)) {
                step_of_pixel(row, w, &self.h, &sums, &mut buffer);
            }
            let (mut up, mut down) = (vec![0.0; c * p], vec![0.0; c]);
            for (row, w) in x.chunks_exact(p).zip(self.w.chunks_exact(c)) {
                fitted(w, &self.h, p, &mut buffer);
                for (quotient, &value) in buffer.iter_mut().zip(row) {
                    *quotient = value / quotient.max(LEAST);
                }
                for (part, &strength) in w.iter().enumerate() {
                    down[part] += strength;
                    for (sum, quotient) in up[part * p..(part + 1) * p].iter_mut().zip(&buffer) {
                        *sum += strength * quotient;
                    }
                }
            }
            for part in 0..c {
                let by = if down[part] > 0.0 { down[part] } else { LEAST };
                for j in 0..p {
                    self.h[part * p + j] *= up[part * p + j] / by;
                }
            }
        }
    }

    /// Sum of x ln(x / fit) - x + fit, with 0 ln 0 = 0; half the Poisson deviance.
    pub fn divergence(&self, x: &[f64]) -> f64 {
        let mut buffer = vec![0.0; self.maps];
        let mut total = 0.0;
        for (row, w) in x.chunks_exact(self.maps).zip(self.w.chunks_exact(self.count)) {
            fitted(w, &self.h, self.maps, &mut buffer);
            total += row.iter().zip(&buffer).map(|(&value, &fit)| of_count(value, fit)).sum::<f64>();
        }
        total
    }

    /// Deviance over the degrees of freedom, n p - c (n + p - c); near 1 where a model fits counts. `None` without any left.
    pub fn deviance_per_df(&self, x: &[f64]) -> Option<f64> {
        let (n, p, c) = ((x.len() / self.maps.max(1)) as f64, self.maps as f64, self.count as f64);
        let df = n * p - c * (n + p - c);
        (df > 0.0).then(|| 2.0 * self.divergence(x) / df)
    }

    /// Every part with spectra that sum to 1, so that its strength is what it counts; the strongest first.
    pub fn normalise(&mut self) {
        let (c, p) = (self.count, self.maps);
        let sums = sums_of(&self.h, p);
        let mut strengths = vec![0.0; c];
        for w in self.w.chunks_exact_mut(c) {
            for (part, strength) in w.iter_mut().enumerate() {
                *strength *= sums[part];
                strengths[part] += *strength;
            }
        }
        let mut order: Vec<usize> = (0..c).collect();
        order.sort_by(|&a, &b| strengths[b].total_cmp(&strengths[a]));
        let h = self.h.clone();
        for (to, &from) in order.iter().enumerate() {
            let by = if sums[from] > 0.0 { sums[from] } else { 1.0 };
            for j in 0..p {
                self.h[to * p + j] = h[from * p + j] / by;
            }
        }
        let mut before = vec![0.0; c];
        for w in self.w.chunks_exact_mut(c) {
            before.copy_from_slice(w);
            for (to, &from) in order.iter().enumerate() {
                w[to] = before[from];
            }
        }
    }
}

/// What a pixel of one map adds to the divergence.
pub fn of_count(value: f64, fit: f64) -> f64 {
    let fit = fit.max(LEAST);
    let own = if value > 0.0 { value * ln(value / fit) } else { 0.0 };
    own - value + fit
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normalised_parts_fit_the_same_and_the_strongest_comes_first() {
        let x: Vec<f64> = (0..60).map(|i| f64::from(i * 13 % 17)).collect();
        let mut parts = Parts {
            w: (0..40).map(|i| 1.0 + f64::from(i * 5 % 7)).collect(),
            h: vec![1.0, 2.0, 0.5, 3.0, 1.0, 1.0],
            count: 2,
            maps: 3,
        };
        let first = parts.divergence(&x);
        parts.improve(&x, 30);
        let before = parts.divergence(&x);
        assert!(before < first);
        parts.normalise();
        assert!((parts.divergence(&x) - before).abs() < 1e-9 * before);
        for row in parts.h.chunks_exact(3) {
            assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-12);
        }
        let sum = |part: usize| parts.w.iter().skip(part).step_by(2).sum::<f64>();
        assert!(sum(0) >= sum(1));
    }

    #[test]
    fn nothing_counted_costs_what_was_expected() {
        assert_eq!(of_count(0.0, 3.0), 3.0);
        assert!(of_count(2.0, 2.0).abs() < 1e-15);
        assert!(of_count(2.0, 0.0).is_finite());
    }
}
