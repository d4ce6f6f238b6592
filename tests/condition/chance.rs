//! A fixed generator, Poisson counts, and invented scenes.

use limner::grid::Grid;
use limner::numerics::math::ln_gamma;

/// A linear congruential generator modulo 2^64 (multiplier and increment of D. E. Knuth's MMIX, from memory); its upper
/// 53 bits are used.
pub struct Chance(u64);

impl Chance {
    pub fn new(seed: u64) -> Self {
        let mut chance = Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) ^ 0xD1B5_4A32_D192_ED03);
        for _ in 0..8 {
            chance.uniform();
        }
        chance
    }

    /// Between 0 and 1, never either.
    pub fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((self.0 >> 11) as f64 + 0.5) / (1u64 << 53) as f64
    }

    /// A count of this mean: products of uniform values below 10, above it the transformed rejection of W. Hörmann,
    /// Insurance: Mathematics and Economics 12 (1993) 39 (constants from memory; mean and variance are tried below).
    pub fn poisson(&mut self, mean: f64) -> f64 {
        if mean < 10.0 {
            let limit = (-mean).exp();
            let (mut n, mut product) = (0.0, self.uniform());
            while product > limit {
                n += 1.0;
                product *= self.uniform();
            }
            return n;
        }
        let b = 0.931 + 2.53 * mean.sqrt();
        let a = -0.059 + 0.024_83 * b;
        let inverse_alpha = 1.1239 + 1.1328 / (b - 3.4);
        let quick = 0.9277 - 3.6224 / (b - 2.0);
        loop {
            let (u, v) = (self.uniform() - 0.5, self.uniform());
            let us = 0.5 - u.abs();
            let k = ((2.0 * a / us + b) * u + mean + 0.43).floor();
            if us >= 0.07 && v <= quick {
                return k;
            }
            if k < 0.0 || (us < 0.013 && v > us) {
                continue;
            }
            let left = v.ln() + inverse_alpha.ln() - (a / (us * us) + b).ln();
            if left <= -mean + k * mean.ln() - ln_gamma(k + 1.0) {
                return k;
            }
        }
    }

    /// A map of counts of these means.
    pub fn count(&mut self, means: &Grid<f64>) -> Grid<f64> {
        let counts = means.data().iter().map(|&mean| self.poisson(mean)).collect();
        Grid::from_vec(means.width(), means.height(), counts).unwrap()
    }
}

#[test]
fn counts_have_the_mean_and_variance_of_their_distribution() {
    for mean in [0.3, 4.0, 12.0, 150.0] {
        let (mut chance, n) = (Chance::new(3), 200_000);
        let counts: Vec<f64> = (0..n).map(|_| chance.poisson(mean)).collect();
        let got = counts.iter().sum::<f64>() / f64::from(n);
        let variance = counts.iter().map(|c| (c - got) * (c - got)).sum::<f64>() / f64::from(n);
        let error = (mean / f64::from(n)).sqrt();
        assert!((got - mean).abs() < 5.0 * error, "{got} is not {mean}");
        assert!((variance / mean - 1.0).abs() < 0.03 + 5.0 * error / mean, "{variance} is not {mean}");
    }
}

/// Discs, slanted bars and a slope; everything at places between pixels.
pub struct Scene {
    ground: f64,
    slope: f64,
    discs: Vec<[f64; 4]>,
    bars: Vec<[f64; 4]>,
}

impl Scene {
    /// A scene with `ground` counts in each pixel and features of up to `above` more.
    pub fn new(seed: u64, ground: f64, above: f64) -> Self {
        let mut chance = Chance::new(seed ^ 0x5CE4E);
        let mut draw = |low: f64, high: f64| low + (high - low) * chance.uniform();
        let discs = (0..7)
            .map(|_| [draw(5.0, 115.0), draw(5.0, 91.0), draw(4.0, 16.0), above * draw(0.4, 1.0)])
            .collect();
        let bars = (0..3)
            .map(|_| [draw(0.0, 120.0), draw(-0.8, 0.8), draw(1.5, 4.0), above * draw(0.3, 0.8)])
            .collect();
        Self { ground, slope: 0.2 * above / 120.0, discs, bars }
    }

    fn at(&self, x: f64, y: f64) -> f64 {
        let mut value = self.ground + self.slope * x.clamp(0.0, 120.0);
        for [cx, cy, r, height] in &self.discs {
            if (x - cx) * (x - cx) + (y - cy) * (y - cy) <= r * r {
                value += height;
            }
        }
        for [start, lean, width, height] in &self.bars {
            let from = start + lean * (y - 48.0);
            if x >= from && x < from + width {
                value += height;
            }
        }
        value
    }

    /// Means of the pixels, line `y` displaced to the right by `shift(y)`: what is at x in the scene is counted at
    /// x + shift. Each pixel takes 16 places along its line.
    pub fn seen(&self, (width, height): (u32, u32), shift: impl Fn(u32) -> f64) -> Grid<f64> {
        let mut out = Vec::new();
        for y in 0..height {
            for x in 0..width {
                let mut sum = 0.0;
                for part in 0..16 {
                    let at_x = f64::from(x) + (f64::from(part) + 0.5) / 16.0 - shift(y);
                    sum += self.at(at_x, f64::from(y) + 0.5);
                }
                out.push(sum / 16.0);
            }
        }
        Grid::from_vec(width, height, out).unwrap()
    }
}
