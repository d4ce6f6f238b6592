//! Two maps pixel by pixel and in sums, with what their noise is.

use super::{Level, Rules, Signal, Under, excess_p};
use crate::grid::Mask;
use crate::kind::Noise;
use crate::notice::OutOfMemory;
use crate::numerics::special::{normal_tail, normal_tail_inverse};

/// Two maps of one size with their backgrounds, and how strict decisions are.
#[derive(Debug, Clone, Copy)]
pub struct Two<'a> {
    /// The map that is asked about.
    pub a: &'a Signal,
    /// The map that it may accompany.
    pub b: &'a Signal,
    /// Their levels.
    pub at: (&'a Level, &'a Level),
    /// The rules.
    pub rules: Rules,
}

/// Some pixels taken together.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Sums {
    /// How many.
    pub n: f64,
    /// A above its background.
    pub x: f64,
    /// B above its background.
    pub y: f64,
    /// Variance of A but for what counting adds to its signal.
    pub noise_a: f64,
    /// Variance of B, the same.
    pub noise_b: f64,
}

impl Sums {
    /// With other pixels.
    pub fn and(self, other: Self) -> Self {
        Self {
            n: self.n + other.n,
            x: self.x + other.x,
            y: self.y + other.y,
            noise_a: self.noise_a + other.noise_a,
            noise_b: self.noise_b + other.noise_b,
        }
    }

    /// Without some of them.
    pub fn without(self, other: Self) -> Self {
        Self {
            n: self.n - other.n,
            x: self.x - other.x,
            y: self.y - other.y,
            noise_a: self.noise_a - other.noise_a,
            noise_b: self.noise_b - other.noise_b,
        }
    }
}

fn counts(signal: &Signal) -> bool {
    signal.kind.noise() == Noise::Counting
}

/// Variance of a pixel: from the map of errors; for counts and where none is known, of its background.
fn noise(signal: &Signal, level: &Level, i: usize) -> f64 {
    let error = signal.sigma.as_ref().map(|sigma| sigma.data()[i]).filter(|_| !counts(signal));
    error.filter(|s| s.is_finite() && *s >= 0.0).map_or(level.variance, |s| s * s)
}

impl Two<'_> {
    /// Pixels of the field.
    pub fn len(&self) -> usize {
        self.a.values.data().len()
    }

    /// Whether there are none.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Whether the noise of every pixel is known, so that single pixels can be tested: counts, or a map of errors.
    pub fn is_testable(&self) -> bool {
        [self.a, self.b].iter().all(|s| counts(s) || s.sigma.is_some())
    }

    /// Whether both hold counts.
    pub fn are_counts(&self) -> bool {
        counts(self.a) && counts(self.b)
    }

    /// A pixel that is asked about and can be used in both.
    pub(super) fn one(&self, i: usize) -> Option<Sums> {
        let (a, b) = (self.a.valid(i)?, self.b.valid(i)?);
        Some(Sums {
            n: 1.0,
            x: a - self.at.0.background,
            y: b - self.at.1.background,
            noise_a: noise(self.a, self.at.0, i),
            noise_b: noise(self.b, self.at.1, i),
        })
    }

    /// All of some pixels that can be used.
    pub(super) fn sum(&self, pixels: &[usize]) -> Sums {
        pixels.iter().filter_map(|&i| self.one(i)).fold(Sums::default(), Sums::and)
    }

    /// Whether A is detected in a pixel that can be used in both, beyond what overlaps could give.
    pub fn has_a(&self, i: usize) -> bool {
        self.b.valid(i).is_some()
            && self.a.valid(i).is_some_and(|v| v >= self.at.0.critical)
            && !self.a.is_doubtful(i, self.at.0)
    }

    /// Whether B is detected in a pixel that can be used in both.
    pub fn has_b(&self, i: usize) -> bool {
        self.a.valid(i).is_some() && self.b.valid(i).is_some_and(|v| v >= self.at.1.critical)
    }

    /// Variance of A - kB if A only accompanies B with the factor k: backgrounds, and for counts what the signals add. The
    /// floor of the backgrounds is apart ([`Self::floor`]), since it is alike in all pixels.
    pub(super) fn variance(&self, of: &Sums, k: f64) -> f64 {
        let signal = of.y.max(0.0);
        let in_a = of.noise_a + if counts(self.a) { k * signal } else { 0.0 };
        let in_b = of.noise_b + if counts(self.b) { signal } else { 0.0 };
        in_a + k * k * in_b
    }

    /// 1 where A holds counts, else 0.
    pub(super) fn counts_a(&self) -> f64 {
        f64::from(u8::from(counts(self.a)))
    }

    /// Variance that the floor leaves in A - kB.
    pub(super) fn floor(&self, of: &Sums, k: f64) -> f64 {
        let of_a = self.rules.floor * of.n * self.at.0.background;
        let of_b = k * self.rules.floor * of.n * self.at.1.background;
        of_a * of_a + of_b * of_b
    }

    /// Net A from which a sum counts as detected.
    pub(super) fn critical(&self, of: &Sums) -> f64 {
        if of.n <= 1.0 {
            return self.at.0.critical - self.at.0.background;
        }
        normal_tail_inverse(self.rules.alpha) * (of.noise_a + self.floor(of, 0.0)).sqrt()
    }

    /// Net A that would be detected in a sum with chance 1 - beta.
    pub(super) fn limit(&self, of: &Sums) -> f64 {
        let critical = self.critical(of);
        let wide = of.noise_a + if counts(self.a) { critical.max(0.0) } else { 0.0 };
        critical + normal_tail_inverse(self.rules.beta) * wide.sqrt()
    }

    /// Net B that would be detected in a sum with chance 1 - beta.
    pub(super) fn limit_of_b(&self, of: &Sums) -> f64 {
        let floor = self.rules.floor * of.n * self.at.1.background;
        let critical = normal_tail_inverse(self.rules.alpha) * (of.noise_b + floor * floor).sqrt();
        let wide = of.noise_b + if counts(self.b) { critical.max(0.0) } else { 0.0 };
        critical + normal_tail_inverse(self.rules.beta) * wide.sqrt()
    }

    /// P(so much A or more | B seen, factor k) of a pixel: exact for counts ([`excess_p`]), normal with a map of errors.
    /// NaN where the pixel cannot be used or its noise is not known.
    pub fn p_excess(&self, i: usize, k: f64) -> f64 {
        let Some(of) = self.one(i).filter(|_| self.is_testable()) else { return f64::NAN };
        if self.are_counts() {
            let (in_a, in_b) = (of.x + self.at.0.background, of.y + self.at.1.background);
            return excess_p(in_a, in_b, k, self.under(&of, k));
        }
        normal_tail((of.x - k * of.y.max(0.0)) / self.wide(&of, k))
    }

    /// P(so little A or less | B seen, factor k) of a pixel, in the same way.
    pub fn p_deficit(&self, i: usize, k: f64) -> f64 {
        let Some(of) = self.one(i).filter(|_| self.is_testable()) else { return f64::NAN };
        if self.are_counts() {
            let (in_a, in_b) = (of.x + self.at.0.background, of.y + self.at.1.background);
            return super::deficit_p(in_a, in_b, k, self.under(&of, k));
        }
        normal_tail((k * of.y.max(0.0) - of.x) / self.wide(&of, k))
    }

    fn wide(&self, of: &Sums, k: f64) -> f64 {
        (self.variance(of, k) + self.floor(of, k)).max(f64::MIN_POSITIVE).sqrt()
    }

    fn under(&self, of: &Sums, k: f64) -> Under {
        let (a, b) = (self.at.0.background, self.at.1.background);
        let dispersion = (of.noise_a - a).max(0.0) + k * k * (of.noise_b - b).max(0.0);
        Under { a, b, variance: dispersion + self.floor(of, k) }
    }

    /// A mask of the field.
    pub(super) fn mask(&self, is_in: impl Fn(usize) -> bool) -> Result<Mask, OutOfMemory> {
        let mut mask = Mask::try_filled(self.a.values.width(), self.a.values.height(), false)?;
        mask.data_mut().iter_mut().enumerate().for_each(|(i, mark)| *mark = is_in(i));
        Ok(mask)
    }
}
