//! Numbers by chance that are the same everywhere: a seed gives the same run on every machine.
//!
//! The generator is SplitMix64 (G. L. Steele, D. Lea and C. H. Flood, OOPSLA 2014): 64 bits of state, no weak seeds, equal in
//! bits native and wasm because it is whole-number arithmetic. It is for resampling and simulation, never for secrets.

use super::math::{cos, exp, ln};

/// A run of numbers by chance.
#[derive(Debug, Clone)]
pub struct Chance {
    state: u64,
}

/// Up to this mean, a Poisson number is drawn by multiplying uniform numbers; a larger one is put together of parts.
const LARGEST_MEAN: f64 = 16.0;

impl Chance {
    /// The run of a seed.
    pub fn new(seed: u64) -> Self {
        Self { state: seed }
    }

    /// 64 even bits.
    pub fn bits(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.state;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even in [0, 1), on a lattice of 2^-53.
    pub fn share(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / 9_007_199_254_740_992.0
    }

    /// A whole number below `n`, each equally likely but for 2^-64 of it; 0 for `n` = 0.
    pub fn below(&mut self, n: u64) -> u64 {
        ((u128::from(self.bits()) * u128::from(n)) >> 64) as u64
    }

    /// Puts a list into an order by chance (Fisher and Yates).
    pub fn shuffle<T>(&mut self, list: &mut [T]) {
        for i in (1..list.len()).rev() {
            list.swap(i, self.below(i as u64 + 1) as usize);
        }
    }

    /// How many of `n` are kept if each is kept with chance one half: exactly binomial.
    pub fn half_of(&mut self, n: u64) -> u64 {
        let whole = (0..n / 64).map(|_| u64::from(self.bits().count_ones())).sum::<u64>();
        match n % 64 {
            0 => whole,
            rest => whole + u64::from((self.bits() >> (64 - rest)).count_ones()),
        }
    }

    /// A Poisson number; 0 for a mean that is not above 0. Cost grows with the mean.
    pub fn poisson(&mut self, mean: f64) -> u64 {
        if mean.is_nan() || mean <= 0.0 {
            return 0;
        }
        // A sum of Poisson numbers is one; so a large mean is drawn in equal parts.
        let parts = (mean / LARGEST_MEAN).ceil().max(1.0);
        let limit = exp(-mean / parts);
        let mut sum = 0;
        for _ in 0..parts as u64 {
            let mut product = self.share();
            while product > limit {
                product *= self.share();
                sum += 1;
            }
        }
        sum
    }

    /// A number of the standard normal distribution (G. E. P. Box and M. E. Muller 1958).
    pub fn normal(&mut self) -> f64 {
        let radius = (-2.0 * ln(1.0 - self.share())).sqrt();
        radius * cos(std::f64::consts::TAU * self.share())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_first_numbers_of_a_seed_are_the_published_ones() {
        // Rosetta Code, "Pseudo-random numbers/Splitmix64", seed 1234567 (from memory).
        let mut chance = Chance::new(1_234_567);
        let first: Vec<u64> = (0..5).map(|_| chance.bits()).collect();
        assert_eq!(
            first,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
                4_593_380_528_125_082_431,
                16_408_922_859_458_223_821
            ]
        );
    }

    /// Mean and variance over 20 000 draws.
    fn moments(mut draw: impl FnMut() -> f64) -> (f64, f64) {
        let values: Vec<f64> = (0..20_000).map(|_| draw()).collect();
        let mean = values.iter().sum::<f64>() / 20_000.0;
        (mean, values.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / 20_000.0)
    }

    #[test]
    fn means_and_variances_are_those_of_the_distributions() {
        let mut chance = Chance::new(7);
        for mean in [0.3, 5.0, 40.0] {
            // Five standard errors of 20 000 draws.
            let (found, variance) = moments(|| chance.poisson(mean) as f64);
            assert!((found - mean).abs() < 5.0 * (mean / 20_000.0).sqrt(), "{mean}: {found}");
            assert!((variance / mean - 1.0).abs() < 0.1, "{mean}: {variance}");
        }
        let (found, variance) = moments(|| chance.half_of(130) as f64);
        assert!((found - 65.0).abs() < 0.25 && (variance / 32.5 - 1.0).abs() < 0.06, "{found} {variance}");
        let (found, variance) = moments(|| chance.normal());
        assert!(found.abs() < 0.04 && (variance - 1.0).abs() < 0.06, "{found} {variance}");
        let (found, variance) = moments(|| chance.below(6) as f64);
        assert!(
            (found - 2.5).abs() < 0.07 && (variance * 12.0 / 35.0 - 1.0).abs() < 0.06,
            "{found} {variance}"
        );
    }

    #[test]
    fn nothing_is_drawn_from_nothing() {
        let mut chance = Chance::new(1);
        assert_eq!(
            (chance.poisson(f64::NAN), chance.poisson(-1.0), chance.half_of(0), chance.below(0)),
            (0, 0, 0, 0)
        );
    }

    #[test]
    fn a_shuffled_list_holds_the_same() {
        let mut list: Vec<u32> = (0..50).collect();
        Chance::new(3).shuffle(&mut list);
        assert_ne!(list, (0..50).collect::<Vec<_>>());
        list.sort_unstable();
        assert_eq!(list, (0..50).collect::<Vec<_>>());
    }
}
