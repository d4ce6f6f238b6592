//! The discrete Fourier transform of sides that are powers of two, in one and two dimensions.
//!
//! Our own, because libraries for it take sines from the standard library and choose vector instructions at run time, and
//! so give other bits native than in wasm. Here the twiddle factors come from [`super::math`] and every butterfly is the
//! same arithmetic everywhere. Radix 2, decimation in time, after J. W. Cooley and J. W. Tukey, Mathematics of Computation
//! 19 (1965) 297. Checked against numpy in `tests/reference`: error below 1e-13 of the largest value.

use super::math::{cos, sin};

/// A complex number.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Complex {
    /// Real part.
    pub re: f64,
    /// Imaginary part.
    pub im: f64,
}

impl Complex {
    /// From its parts.
    pub fn new(re: f64, im: f64) -> Self {
        Self { re, im }
    }

    /// Square of the absolute value.
    pub fn squared(self) -> f64 {
        self.re * self.re + self.im * self.im
    }

    fn times(self, other: Self) -> Self {
        Self::new(self.re * other.re - self.im * other.im, self.re * other.im + self.im * other.re)
    }
}

impl std::ops::Mul for Complex {
    type Output = Self;
    fn mul(self, other: Self) -> Self {
        self.times(other)
    }
}

/// Which way: forward has exp(-2 pi i k x / n) and no factor, backward exp(+2 pi i k x / n) and the factor 1 / n.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Way {
    /// From values to frequencies.
    Forward,
    /// From frequencies to values.
    Backward,
}

/// A transform of one length, made ready.
#[derive(Debug, Clone)]
pub struct Fft {
    /// exp(-2 pi i k / n) for k below n / 2.
    twiddles: Vec<Complex>,
    bits: u32,
}

impl Fft {
    /// For a length of 2^`bits`, at most 2^20.
    pub fn new(bits: u32) -> Self {
        let bits = bits.min(20);
        let n = 1usize << bits;
        let turn = -2.0 * std::f64::consts::PI / n as f64;
        let twiddles = (0..n / 2).map(|k| Complex::new(cos(turn * k as f64), sin(turn * k as f64))).collect();
        Self { twiddles, bits }
    }

    /// Numbers in a transform.
    pub fn len(&self) -> usize {
        1 << self.bits
    }

    /// Never: the shortest transform has one number.
    pub fn is_empty(&self) -> bool {
        false
    }

    /// Transforms in place. Numbers beyond the length are left alone; fewer than the length are left as they are.
    pub fn run(&self, data: &mut [Complex], way: Way) {
        let n = self.len();
        let Some(data) = data.get_mut(..n) else { return };
        if self.bits == 0 {
            return;
        }
        for i in 0..n {
            let j = i.reverse_bits() >> (usize::BITS - self.bits);
            if i < j {
                data.swap(i, j);
            }
        }
        let mut half = 1;
        while half < n {
            let stride = n / (2 * half);
            for block in data.chunks_exact_mut(2 * half) {
                let (low, high) = block.split_at_mut(half);
                for (k, (one, other)) in low.iter_mut().zip(high).enumerate() {
                    let mut factor = self.twiddles[k * stride];
                    if way == Way::Backward {
                        factor.im = -factor.im;
                    }
                    let turned = other.times(factor);
                    (*one, *other) = (
                        Complex::new(one.re + turned.re, one.im + turned.im),
                        Complex::new(one.re - turned.re, one.im - turned.im),
                    );
                }
            }
            half *= 2;
        }
        if way == Way::Backward {
            let part = 1.0 / n as f64;
            for value in data {
                (value.re, value.im) = (value.re * part, value.im * part);
            }
        }
    }
}

/// Columns that are carried together, so that memory is read by lines and not by single numbers.
const COLUMNS: usize = 8;

/// A transform in two dimensions, made ready.
#[derive(Debug, Clone)]
pub struct Fft2 {
    across: Fft,
    down: Fft,
}

impl Fft2 {
    /// The smallest that holds `width` x `height`, sides at most 2^20.
    pub fn holding(width: usize, height: usize) -> Self {
        let bits = |side: usize| side.max(1).next_power_of_two().trailing_zeros();
        Self { across: Fft::new(bits(width)), down: Fft::new(bits(height)) }
    }

    /// Numbers in a row, and rows.
    pub fn size(&self) -> (usize, usize) {
        (self.across.len(), self.down.len())
    }

    /// Transforms of two real maps out of the one transform that held them as real and imaginary part, at a frequency.
    pub fn parted(&self, both: &[Complex], x: usize, y: usize) -> (Complex, Complex) {
        let (across, down) = self.size();
        let (here, there) = (both[y * across + x], both[(down - y) % down * across + (across - x) % across]);
        let a = Complex::new(0.5 * (here.re + there.re), 0.5 * (here.im - there.im));
        (a, Complex::new(0.5 * (here.im + there.im), 0.5 * (there.re - here.re)))
    }

    /// Transforms row-major data in place; data of another size are left as they are.
    pub fn run(&self, data: &mut [Complex], way: Way) {
        let (width, height) = self.size();
        if data.len() != width * height {
            return;
        }
        for row in data.chunks_exact_mut(width) {
            self.across.run(row, way);
        }
        let mut columns = vec![Complex::default(); COLUMNS * height];
        for first in (0..width).step_by(COLUMNS) {
            let count = COLUMNS.min(width - first);
            for (y, row) in data.chunks_exact(width).enumerate() {
                for (c, value) in row[first..first + count].iter().enumerate() {
                    columns[c * height + y] = *value;
                }
            }
            for column in columns.chunks_exact_mut(height).take(count) {
                self.down.run(column, way);
            }
            for (y, row) in data.chunks_exact_mut(width).enumerate() {
                for (c, value) in row[first..first + count].iter_mut().enumerate() {
                    *value = columns[c * height + y];
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_impulse_is_flat_and_there_and_back_is_the_same() {
        let fft = Fft2::holding(8, 4);
        let mut impulse = vec![Complex::default(); 32];
        impulse[0].re = 1.0;
        fft.run(&mut impulse, Way::Forward);
        assert!(impulse.iter().all(|v| *v == Complex::new(1.0, 0.0)));
        let given: Vec<Complex> = (0..32).map(|i| Complex::new(f64::from(i % 7), f64::from(i % 5))).collect();
        let mut turned = given.clone();
        fft.run(&mut turned, Way::Forward);
        assert!((turned[0].re - given.iter().map(|v| v.re).sum::<f64>()).abs() < 1e-12);
        fft.run(&mut turned, Way::Backward);
        for (got, want) in turned.iter().zip(&given) {
            assert!((got.re - want.re).abs() < 1e-13 && (got.im - want.im).abs() < 1e-13);
        }
    }

    #[test]
    fn a_cosine_is_two_lines() {
        let fft = Fft::new(4);
        let mut wave: Vec<Complex> = (0..16)
            .map(|x| Complex::new(cos(2.0 * std::f64::consts::PI * 3.0 * f64::from(x) / 16.0), 0.0))
            .collect();
        fft.run(&mut wave, Way::Forward);
        for (k, value) in wave.iter().enumerate() {
            let want = if k == 3 || k == 13 { 8.0 } else { 0.0 };
            assert!((value.re - want).abs() < 1e-13 && value.im.abs() < 1e-13, "{k}: {value:?}");
        }
    }

    #[test]
    fn a_single_number_and_a_wrong_size_are_left_alone() {
        let mut one = [Complex::new(3.0, 4.0)];
        Fft2::holding(1, 1).run(&mut one, Way::Forward);
        assert_eq!(one[0].squared(), 25.0);
        Fft2::holding(2, 2).run(&mut one, Way::Forward);
        assert_eq!(one[0], Complex::new(3.0, 4.0));
    }
}
