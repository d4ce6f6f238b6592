//! Chance that is the same on every machine: integer generators, and the one `exp` from the crate `libm`.

/// The splitmix64 step: scrambles `state` so that neighbouring values give unrelated results.
fn scramble(state: u64) -> u64 {
    let mut z = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

/// The upper 53 bits as a number in (0, 1]; zero is left out so that a product of draws never sticks at 0.
fn unit(bits: u64) -> f64 {
    ((bits >> 11) + 1) as f64 / 9_007_199_254_740_992.0
}

/// A stream of random numbers, fixed by its seed.
pub struct Stream {
    state: u64,
}

impl Stream {
    /// The stream that belongs to `seed`.
    pub fn new(seed: u64) -> Self {
        Self { state: scramble(seed) }
    }

    /// The next number in (0, 1].
    pub fn uniform(&mut self) -> f64 {
        let bits = scramble(self.state);
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        unit(bits)
    }

    /// A Poisson count of the given mean; 0 for a mean that is not positive.
    ///
    /// Small means: a product of uniform numbers falls below `exp(-mean)` after exactly a Poisson number of factors. From 12 on
    /// Hörmann's transformed rejection (1993, algorithm PTRS).
    pub fn poisson(&mut self, mean: f64) -> u32 {
        if mean >= 12.0 {
            return self.poisson_of_many(mean);
        }
        if mean.is_nan() || mean <= 0.0 {
            return 0;
        }
        let (limit, mut count, mut product) = (libm::exp(-mean), 0, self.uniform());
        while product > limit {
            count += 1;
            product *= self.uniform();
        }
        count
    }

    fn poisson_of_many(&mut self, mean: f64) -> u32 {
        let (root, log) = (mean.sqrt(), libm::log(mean));
        let b = 0.931 + 2.53 * root;
        let a = -0.059 + 0.024_83 * b;
        let inverse_alpha = 1.1239 + 1.1328 / (b - 3.4);
        let quick = 0.9277 - 3.6224 / (b - 2.0);
        loop {
            let (u, v) = (self.uniform() - 0.5, self.uniform());
            let side = 0.5 - u.abs();
            let count = libm::floor((2.0 * a / side + b) * u + mean + 0.43);
            if side >= 0.07 && v <= quick {
                return count as u32;
            }
            if count < 0.0 || (side < 0.013 && v > side) {
                continue;
            }
            let (left, right) = (
                libm::log(v * inverse_alpha / (a / (side * side) + b)),
                count * log - mean - libm::lgamma(count + 1.0),
            );
            if left <= right {
                return count as u32;
            }
        }
    }
}

/// A fixed random number in [-1, 1] for each point of an integer lattice.
fn lattice(seed: u64, column: i64, row: i64) -> f64 {
    let mixed = scramble(scramble(scramble(seed) ^ column.cast_unsigned()) ^ row.cast_unsigned());
    2.0 * unit(mixed) - 1.0
}

/// Smooth noise in [-1, 1] with features about 1 unit across.
pub fn noise(seed: u64, x: f64, y: f64) -> f64 {
    let (column, row) = (libm::floor(x), libm::floor(y));
    let ease = |t: f64| t * t * (3.0 - 2.0 * t);
    let (u, v) = (ease(x - column), ease(y - row));
    let (column, row) = (column as i64, row as i64);
    let top = lattice(seed, column, row) * (1.0 - u) + lattice(seed, column + 1, row) * u;
    let bottom = lattice(seed, column, row + 1) * (1.0 - u) + lattice(seed, column + 1, row + 1) * u;
    top * (1.0 - v) + bottom * v
}

/// Noise with detail at 1, 1/2 and 1/4 unit, in [-1, 1].
pub fn rough(seed: u64, x: f64, y: f64) -> f64 {
    (noise(seed, x, y) + 0.5 * noise(seed + 1, 2.0 * x, 2.0 * y) + 0.25 * noise(seed + 2, 4.0 * x, 4.0 * y))
        / 1.75
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn poisson_has_the_mean_and_the_variance_it_should() {
        for mean in [0.3, 5.0, 16.0, 240.0] {
            let mut stream = Stream::new(7);
            let draws: Vec<f64> = (0..40_000).map(|_| f64::from(stream.poisson(mean))).collect();
            let found = draws.iter().sum::<f64>() / 40_000.0;
            let spread = draws.iter().map(|v| (v - found) * (v - found)).sum::<f64>() / 39_999.0;
            // Five standard errors: sd of the mean is sqrt(m/n), of the variance about m*sqrt((2 + 1/m)/n).
            let error = 5.0 * (mean / 40_000.0_f64).sqrt();
            assert!((found - mean).abs() < error, "mean {found} for {mean}");
            let error = 5.0 * mean * ((2.0 + 1.0 / mean) / 40_000.0_f64).sqrt();
            assert!((spread - mean).abs() < error, "variance {spread} for {mean}");
        }
    }

    #[test]
    fn poisson_of_nothing_is_nothing() {
        assert_eq!(Stream::new(1).poisson(0.0), 0);
        assert_eq!(Stream::new(1).poisson(-3.0), 0);
        assert_eq!(Stream::new(1).poisson(f64::NAN), 0);
    }

    #[test]
    fn the_generator_is_the_published_splitmix64() {
        // First output for state 0, from the reference implementation by S. Vigna (public domain), from memory.
        assert_eq!(scramble(0), 0xe220_a839_7b1d_cdaf);
    }

    #[test]
    fn noise_stays_in_range_and_is_smooth() {
        for step in 0..2000 {
            let x = f64::from(step) * 0.013 - 9.0;
            let here = noise(3, x, 0.4);
            assert!((-1.0..=1.0).contains(&here));
            assert!((noise(3, x + 1e-6, 0.4) - here).abs() < 1e-5);
        }
    }
}
