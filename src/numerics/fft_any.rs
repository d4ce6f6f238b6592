//! The discrete Fourier transform of any length, by way of lengths that are powers of two.

use super::fft::{Complex, Fft, Way};
use super::math::{cos, sin};

/// A transform of one length, made ready: L. I. Bluestein's chirps (IEEE Trans. Audio Electroacoust. 18 (1970) 451, from
/// memory) turn it into a convolution. Checked against numpy in `tests/reference`.
#[derive(Debug, Clone)]
pub struct AnyFft {
    /// exp(-pi i k² / n).
    chirp: Vec<Complex>,
    /// Transform of the conjugate chirp, wrapped around.
    filter: Vec<Complex>,
    inner: Fft,
}

impl AnyFft {
    /// For a length of at most 2^18; `None` for 0 and above.
    pub fn new(n: usize) -> Option<Self> {
        if n == 0 || n > 1 << 18 {
            return None;
        }
        // k² is kept below 2 n, so that the angle is as exact for the last as for the first.
        let angle = |k: usize| std::f64::consts::PI * ((k * k) % (2 * n)) as f64 / n as f64;
        let chirp: Vec<Complex> = (0..n).map(|k| Complex::new(cos(angle(k)), -sin(angle(k)))).collect();
        let inner = Fft::new((2 * n - 1).next_power_of_two().trailing_zeros());
        let mut filter = vec![Complex::default(); inner.len()];
        for (k, c) in chirp.iter().enumerate() {
            let conjugate = Complex::new(c.re, -c.im);
            filter[k] = conjugate;
            if k > 0 {
                let from_end = filter.len() - k;
                filter[from_end] = conjugate;
            }
        }
        inner.run(&mut filter, Way::Forward);
        Some(Self { chirp, filter, inner })
    }

    /// Transforms in place; data of another length are left as they are.
    pub fn run(&self, data: &mut [Complex], way: Way) {
        let n = self.chirp.len();
        if data.len() != n {
            return;
        }
        // Backward is forward of the conjugate, conjugated, over n.
        let turned = |v: Complex| if way == Way::Backward { Complex::new(v.re, -v.im) } else { v };
        let mut work = vec![Complex::default(); self.inner.len()];
        for ((slot, v), c) in work.iter_mut().zip(data.iter()).zip(&self.chirp) {
            *slot = turned(*v) * *c;
        }
        self.inner.run(&mut work, Way::Forward);
        work.iter_mut().zip(&self.filter).for_each(|(w, f)| *w = *w * *f);
        self.inner.run(&mut work, Way::Backward);
        let part = if way == Way::Backward { 1.0 / n as f64 } else { 1.0 };
        for ((slot, w), c) in data.iter_mut().zip(&work).zip(&self.chirp) {
            let value = turned(*w * *c);
            *slot = Complex::new(value.re * part, value.im * part);
        }
    }
}

/// Row-major data of any width and height, in place. Data of another size and sides that [`AnyFft::new`] refuses are left as
/// they are, and the answer is false.
pub fn transform_2d(data: &mut [Complex], width: usize, height: usize, way: Way) -> bool {
    let (Some(across), Some(down)) = (AnyFft::new(width), AnyFft::new(height)) else { return false };
    if data.len() != width * height {
        return false;
    }
    data.chunks_exact_mut(width).for_each(|row| across.run(row, way));
    let mut column = vec![Complex::default(); height];
    for x in 0..width {
        column.iter_mut().enumerate().for_each(|(y, slot)| *slot = data[y * width + x]);
        down.run(&mut column, way);
        column.iter().enumerate().for_each(|(y, v)| data[y * width + x] = *v);
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_length_by_the_sum_itself_and_back() {
        for n in [1, 2, 3, 5, 12, 48, 97] {
            let given: Vec<Complex> =
                (0..n).map(|i| Complex::new(((i * 7) % 11) as f64, ((i * 5) % 3) as f64)).collect();
            let mut turned = given.clone();
            let fft = AnyFft::new(n).unwrap();
            fft.run(&mut turned, Way::Forward);
            for (k, got) in turned.iter().enumerate() {
                let mut want = Complex::default();
                for (i, v) in given.iter().enumerate() {
                    let angle = -2.0 * std::f64::consts::PI * ((i * k) % n) as f64 / n as f64;
                    let term = *v * Complex::new(cos(angle), sin(angle));
                    want = Complex::new(want.re + term.re, want.im + term.im);
                }
                assert!((got.re - want.re).abs() < 1e-10 && (got.im - want.im).abs() < 1e-10, "{n} {k}");
            }
            fft.run(&mut turned, Way::Backward);
            for (got, want) in turned.iter().zip(&given) {
                assert!((got.re - want.re).abs() < 1e-12 && (got.im - want.im).abs() < 1e-12, "{n}");
            }
        }
    }

    #[test]
    fn what_has_no_length_is_left_alone() {
        assert!(AnyFft::new(0).is_none() && AnyFft::new(1 << 19).is_none());
        let mut two = [Complex::new(1.0, 2.0), Complex::new(3.0, 4.0)];
        assert!(!transform_2d(&mut two, 3, 1, Way::Forward));
        assert_eq!(two[1], Complex::new(3.0, 4.0));
    }
}
