//! Correlation between neighbours, and what it leaves of the number of pixels.
//!
//! All sums over pairs of pixels come from transforms of the map and of its mask, padded with zeros so that nothing wraps
//! round: the cost is n log n. A *ring* k holds the pairs whose distance rounds to k (floor(distance + 1/2)), both orders
//! counted; ring 0 is each pixel with itself.

use super::pairs::Pairs;
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;
use crate::numerics::fft::{Complex, Fft2, Way};
use crate::numerics::math::exp;
use crate::numerics::special::beta_inc;

/// Sums over pairs of pixels of two maps, lag by lag and ring by ring.
#[derive(Debug, Clone)]
pub struct Spatial {
    fft: Fft2,
    size: (usize, usize),
    valid: Vec<bool>,
    n: f64,
    /// Transform of the mask.
    mask: Vec<Complex>,
    /// Pairs of pixels at each lag.
    pairs: Vec<f64>,
    /// Ring of each lag.
    ring: Vec<u32>,
    /// Sum of products of A's deviations at each lag, and of B's, each over its variance.
    products: Vec<Complex>,
    /// Pairs of pixels in each ring.
    ring_pairs: Vec<f64>,
    /// Mean correlation in each ring, of A and of B.
    rings: [Vec<f64>; 2],
}

impl Spatial {
    /// Of two maps. `None` where fewer than two pixels count or a map is constant.
    ///
    /// # Errors
    /// No memory: about 80 bytes for each pixel of the padded rectangle.
    pub fn of(pairs: &Pairs) -> Result<Option<Self>, OutOfMemory> {
        let (a, b) = pairs.lists()?;
        let Some(moments) =
            super::correlation::moments(&a, &b).filter(|m| m.variance_a > 0.0 && m.variance_b > 0.0)
        else {
            return Ok(None);
        };
        let (width, height) = pairs.size();
        let fft = Fft2::holding(2 * width - 1, 2 * height - 1);
        let (across, down) = fft.size();
        let len = (across * down) as u64;
        let (values_a, values_b, valid) = pairs.slices();
        let (sigma_a, sigma_b) = (moments.variance_a.sqrt(), moments.variance_b.sqrt());

        // Both maps in one transform, as real and imaginary part.
        let mut both = try_filled_vec(len, Complex::default())?;
        let mut mask = try_filled_vec(len, Complex::default())?;
        for y in 0..height {
            for x in 0..width {
                let (from, to) = (y * width + x, y * across + x);
                if valid[from] {
                    let (one, other) = (values_a[from] - moments.mean_a, values_b[from] - moments.mean_b);
                    both[to] = Complex::new(one / sigma_a, other / sigma_b);
                    mask[to].re = 1.0;
                }
            }
        }
        fft.run(&mut both, Way::Forward);
        let mut products = powers(&fft, &both)?;
        drop(both);
        fft.run(&mut products, Way::Backward);

        fft.run(&mut mask, Way::Forward);
        let mut counts = try_filled_vec(len, Complex::default())?;
        for (count, value) in counts.iter_mut().zip(&mask) {
            count.re = value.squared();
        }
        fft.run(&mut counts, Way::Backward);
        let mut at_lag = try_filled_vec(len, 0.0)?;
        for (pairs, count) in at_lag.iter_mut().zip(&counts) {
            *pairs = count.re.round();
        }
        drop(counts);

        let (ring, most) = rings_of(across, down)?;
        let mut ring_pairs = try_filled_vec(u64::from(most) + 1, 0.0)?;
        let mut rings =
            [try_filled_vec(u64::from(most) + 1, 0.0)?, try_filled_vec(u64::from(most) + 1, 0.0)?];
        for ((k, pairs), product) in ring.iter().zip(&at_lag).zip(&products) {
            if *pairs > 0.0 {
                let k = *k as usize;
                ring_pairs[k] += pairs;
                rings[0][k] += product.re;
                rings[1][k] += product.im;
            }
        }
        for (k, pairs) in ring_pairs.iter().enumerate() {
            if *pairs > 0.0 {
                rings[0][k] /= pairs;
                rings[1][k] /= pairs;
            }
        }
        let n = pairs.count() as f64;
        let valid = valid.to_vec();
        let size = (width, height);
        Ok(Some(Self { fft, size, valid, n, mask, pairs: at_lag, ring, products, ring_pairs, rings }))
    }

    /// Mean correlation in rings 0, 1, ... of A and of B; 0 in a ring without pairs.
    pub fn autocorrelation(&self) -> [&[f64]; 2] {
        [&self.rings[0], &self.rings[1]]
    }

    /// The largest ring with a pair.
    pub fn last_ring(&self) -> usize {
        self.ring_pairs.iter().rposition(|n| *n > 0.0).unwrap_or(0)
    }

    /// The first ring in which the correlation is below 1 / e of what it is in ring `from`, of A and of B. From ring 0 it
    /// is the plain length; from ring 1 that of the pattern without the noise, which has no neighbours: noise hides
    /// the length of a faint pattern and would make blocks too small. A map that is hardly correlated in ring 1 has
    /// length 1. `None` where the correlation never falls so far.
    pub fn lengths(&self, from: usize) -> [Option<usize>; 2] {
        let last = self.last_ring();
        [0, 1].map(|map| {
            let rings = &self.rings[map];
            let start = rings.get(from).copied().unwrap_or(0.0);
            if start < HARDLY {
                return Some(1);
            }
            (from..=last).find(|k| rings[*k] < start * exp(-1.0))
        })
    }

    /// Effective number of pixels for the correlation of two maps: 1 + tr(P SA) tr(P SB) / tr(P SA P SB), where S holds the
    /// correlations of pixels by ring (1 on the diagonal, 0 beyond ring `most`) and P takes the mean off. `most` `None`
    /// takes every ring. `None` where the sums give no positive number, as few pixels of a strong gradient do.
    /// Source: P. Dutilleul, Biometrics 49 (1993) 305, after P. Clifford, S. Richardson and D. Hémon, Biometrics 45
    /// (1989) 123.
    ///
    /// # Errors
    /// No memory.
    pub fn effective_n(&self, most: Option<usize>) -> Result<Option<f64>, OutOfMemory> {
        let most = most.unwrap_or(usize::MAX);
        self.effective_n_by(|lag| {
            let k = self.ring[lag] as usize;
            if k <= most { Complex::new(self.rings[0][k], self.rings[1][k]) } else { Complex::default() }
        })
    }

    /// As [`Spatial::effective_n`], with correlations that are known as functions of the distance in pixels.
    ///
    /// # Errors
    /// No memory.
    pub fn effective_n_known(
        &self,
        a: impl Fn(f64) -> f64,
        b: impl Fn(f64) -> f64,
    ) -> Result<Option<f64>, OutOfMemory> {
        let (across, down) = self.fft.size();
        self.effective_n_by(|lag| {
            let (y, x) = (lag / across, lag % across);
            let (dy, dx) = (y.min(down - y) as f64, x.min(across - x) as f64);
            let distance = (dy * dy + dx * dx).sqrt();
            Complex::new(a(distance), b(distance))
        })
    }

    /// `correlation` gives that of A and of B at a lag.
    fn effective_n_by(&self, correlation: impl Fn(usize) -> Complex) -> Result<Option<f64>, OutOfMemory> {
        let (across, _) = self.fft.size();
        let mut kernel = try_filled_vec(self.ring.len() as u64, Complex::default())?;
        for (lag, (place, pairs)) in kernel.iter_mut().zip(&self.pairs).enumerate() {
            if *pairs > 0.0 {
                *place = correlation(lag);
            }
        }
        kernel[0] = Complex::new(1.0, 1.0);
        // Sum over pairs of pixels of SA SB.
        let squares: f64 = kernel.iter().zip(&self.pairs).map(|(s, pairs)| pairs * s.re * s.im).sum();
        self.fft.run(&mut kernel, Way::Forward);
        for (value, mask) in kernel.iter_mut().zip(&self.mask) {
            // The kernels are even, so that their transforms are real and can share one.
            *value = *value * *mask;
        }
        self.fft.run(&mut kernel, Way::Backward);
        let (mut u, mut v, mut uv) = (0.0, 0.0, 0.0);
        for y in 0..self.size.1 {
            for x in 0..self.size.0 {
                if self.valid[y * self.size.0 + x] {
                    let row = kernel[y * across + x];
                    (u, v, uv) = (u + row.re, v + row.im, uv + row.re * row.im);
                }
            }
        }
        let n = self.n;
        let (trace_a, trace_b) = (n - u / n, n - v / n);
        let trace = squares + (u * v / n - 2.0 * uv) / n;
        let found = 1.0 + trace_a * trace_b / trace;
        Ok((trace > 0.0 && found.is_finite()).then_some(found))
    }

    /// The short form 1 + 1 / var(r), var(r) = sum over lags of N C_A C_B / (n² s_A² s_B²): over every lag apart, or with
    /// the lags of rings 0 to `most` taken together. It differs from [`Spatial::effective_n`] by a factor of two and
    /// more on the same maps, and is here for comparison. `None` where the sum is not positive.
    /// Source: P. Clifford, S. Richardson and D. Hémon, Biometrics 45 (1989) 123 (the form from memory).
    pub fn effective_n_short(&self, most: Option<usize>) -> Option<f64> {
        let n = self.n;
        let variance: f64 = match most {
            None => {
                let lags = self.products.iter().zip(&self.pairs).filter(|(_, pairs)| **pairs > 0.0);
                lags.map(|(product, pairs)| product.re * product.im / pairs).sum()
            }
            Some(most) => {
                let [a, b] = &self.rings;
                let rings = a.iter().zip(b).zip(&self.ring_pairs).take(most.saturating_add(1));
                rings.map(|((a, b), pairs)| pairs * a * b).sum()
            }
        };
        let variance = variance / (n * n);
        (variance > 0.0).then(|| 1.0 + 1.0 / variance)
    }
}

/// A correlation between neighbours below this is none: its length would be that of chance.
const HARDLY: f64 = 0.02;

/// Powers of two real maps that lie in one transform: |FA|² as real part, |FB|² as imaginary part.
fn powers(fft: &Fft2, both: &[Complex]) -> Result<Vec<Complex>, OutOfMemory> {
    let (across, down) = fft.size();
    let mut out = try_filled_vec(both.len() as u64, Complex::default())?;
    for y in 0..down {
        for x in 0..across {
            let (a, b) = fft.parted(both, x, y);
            out[y * across + x] = Complex::new(a.squared(), b.squared());
        }
    }
    Ok(out)
}

/// Ring of each lag of a padded rectangle, and the largest ring.
fn rings_of(across: usize, down: usize) -> Result<(Vec<u32>, u32), OutOfMemory> {
    let mut ring = try_filled_vec((across * down) as u64, 0u32)?;
    let mut most = 0;
    for y in 0..down {
        for x in 0..across {
            let (dy, dx) = (y.min(down - y) as f64, x.min(across - x) as f64);
            let k = ((dy * dy + dx * dx).sqrt() + 0.5).floor() as u32;
            ring[y * across + x] = k;
            most = most.max(k);
        }
    }
    Ok((ring, most))
}

/// Chance of a correlation at least as far from 0 as `r` between maps that are not connected, with `effective_n` pixels:
/// P(F(1, n - 2) >= (n - 2) r² / (1 - r²)). `None` for n of 2 or less, and for numbers that are none.
pub fn p_of_correlation(r: f64, effective_n: f64) -> Option<f64> {
    let freedom = effective_n - 2.0;
    let explained = r * r;
    if freedom.is_nan() || freedom <= 0.0 || explained.is_nan() || explained > 1.0 {
        return None;
    }
    // With F = (n - 2) r² / (1 - r²) the tail is I_{1 - r²}((n - 2) / 2, 1 / 2).
    Some(beta_inc(0.5 * freedom, 0.5, 1.0 - explained, explained))
}

/// Moran's I of one map with its four neighbours, weights 1; `values` row-major with `width` in a row. `None` where fewer
/// than two pixels or no neighbours count, or the map is constant.
/// Source: P. A. P. Moran, Biometrika 37 (1950) 17.
pub fn moran(width: usize, values: &[f64], valid: impl Fn(usize) -> bool) -> Option<f64> {
    let counts = |i: usize| i < values.len() && values[i].is_finite() && valid(i);
    let of: Vec<f64> = (0..values.len()).filter(|&i| counts(i)).map(|i| values[i]).collect();
    let mean = crate::numerics::sums::mean(&of)?;
    let spread = crate::numerics::sums::squared_deviations(&of, mean);
    let (mut sum, mut weights) = (0.0, 0.0);
    for i in (0..values.len()).filter(|&i| counts(i)) {
        let right = (i % width + 1 < width).then_some(i + 1);
        for other in [right, Some(i + width)].into_iter().flatten().filter(|&j| counts(j)) {
            sum += 2.0 * (values[i] - mean) * (values[other] - mean);
            weights += 2.0;
        }
    }
    let is_constant = of.iter().all(|v| *v == of[0]);
    let found = of.len() as f64 / weights * sum / spread;
    (!is_constant && weights > 0.0 && found.is_finite()).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(width: usize, a: &[f64], b: &[f64]) -> Option<Spatial> {
        Spatial::of(&Pairs::of(width, a, b, |_| true).unwrap()).unwrap()
    }

    #[test]
    fn nothing_and_constants_have_no_neighbours() {
        assert!(of(1, &[], &[]).is_none());
        assert!(of(1, &[1.0], &[2.0]).is_none());
        assert!(of(2, &[1.0; 4], &[1.0, 2.0, 3.0, 4.0]).is_none());
        assert_eq!(moran(2, &[1.0; 4], |_| true), None);
        assert_eq!(moran(0, &[], |_| true), None);
        assert_eq!(p_of_correlation(0.5, 2.0), None);
        assert_eq!(p_of_correlation(0.0, 10.0), Some(1.0));
        assert_eq!(p_of_correlation(1.0, 10.0), Some(0.0));
    }

    #[test]
    fn a_chequered_board_has_its_neighbours_against_it() {
        let board: Vec<f64> = (0..64).map(|i| f64::from((i / 8 + i % 8) % 2)).collect();
        assert!((moran(8, &board, |_| true).unwrap() + 1.0).abs() < 1e-12);
        let found = of(8, &board, &board).unwrap();
        assert!(found.autocorrelation()[0][1] < 0.0);
        assert!((found.autocorrelation()[1][0] - 1.0).abs() < 1e-12);
        assert_eq!(found.lengths(1), [Some(1), Some(1)]);
    }

    #[test]
    fn a_gradient_leaves_little_of_the_number_of_pixels() {
        let ramp: Vec<f64> = (0..400).map(|i| f64::from(i % 20)).collect();
        let found = of(20, &ramp, &ramp).unwrap();
        assert!(found.effective_n(None).unwrap().unwrap() < 20.0);
        assert!(found.lengths(0)[0].unwrap() > 4);
    }
}
