//! Two maps over the same pixels, cut to where both have values.

use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// Values of two maps over one rectangle, with the pixels that count. The others hold 0 and are never looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Pairs {
    width: usize,
    height: usize,
    a: Vec<f64>,
    b: Vec<f64>,
    valid: Vec<bool>,
    count: usize,
    /// Column and row of the rectangle's first pixel in the maps that it was cut from.
    origin: (usize, usize),
}

impl Pairs {
    /// Cuts the smallest rectangle that holds every pixel for which `valid` is true and both values are finite. `a` and
    /// `b` are row-major with `width` pixels in a row; pixels beyond the shorter of them don't count.
    ///
    /// # Errors
    /// No memory.
    pub fn of(
        width: usize,
        a: &[f64],
        b: &[f64],
        valid: impl Fn(usize) -> bool,
    ) -> Result<Self, OutOfMemory> {
        let len = a.len().min(b.len());
        let counts = |i: usize| i < len && a[i].is_finite() && b[i].is_finite() && valid(i);
        let (mut left, mut right, mut top, mut bottom) = (usize::MAX, 0, usize::MAX, 0);
        for i in (0..len).filter(|&i| counts(i)) {
            let (x, y) = (i % width, i / width);
            (left, right, top, bottom) = (left.min(x), right.max(x), top.min(y), bottom.max(y));
        }
        if left == usize::MAX {
            return Self::empty(0, 0, (0, 0));
        }
        let mut out = Self::empty(right - left + 1, bottom - top + 1, (left, top))?;
        for y in 0..out.height {
            for x in 0..out.width {
                let (from, to) = ((top + y) * width + left + x, y * out.width + x);
                if counts(from) {
                    out.set(to, a[from], b[from]);
                }
            }
        }
        Ok(out)
    }

    fn empty(width: usize, height: usize, origin: (usize, usize)) -> Result<Self, OutOfMemory> {
        let len = (width * height) as u64;
        let (a, b) = (try_filled_vec(len, 0.0)?, try_filled_vec(len, 0.0)?);
        Ok(Self { width, height, a, b, valid: try_filled_vec(len, false)?, count: 0, origin })
    }

    fn set(&mut self, at: usize, a: f64, b: f64) {
        (self.a[at], self.b[at], self.valid[at]) = (a, b, true);
        self.count += 1;
    }

    /// Pixels that count.
    pub fn count(&self) -> usize {
        self.count
    }

    /// Pixels in a row and rows of the rectangle; (0, 0) where nothing counts.
    pub fn size(&self) -> (usize, usize) {
        (self.width, self.height)
    }

    /// Column and row of the rectangle's first pixel in the maps it was cut from (in bins after [`Pairs::binned`]).
    pub fn origin(&self) -> (usize, usize) {
        self.origin
    }

    /// Both values of a pixel of the rectangle, `None` where it doesn't count.
    pub fn get(&self, at: usize) -> Option<(f64, f64)> {
        self.valid[at].then(|| (self.a[at], self.b[at]))
    }

    /// Values of both maps and which of them count, row by row of the rectangle.
    pub fn slices(&self) -> (&[f64], &[f64], &[bool]) {
        (&self.a, &self.b, &self.valid)
    }

    /// The values of the pixels that count, row by row: A's and B's.
    ///
    /// # Errors
    /// No memory.
    pub fn lists(&self) -> Result<(Vec<f64>, Vec<f64>), OutOfMemory> {
        let (mut a, mut b) = (try_vec(self.count as u64)?, try_vec(self.count as u64)?);
        for i in (0..self.valid.len()).filter(|&i| self.valid[i]) {
            a.push(self.a[i]);
            b.push(self.b[i]);
        }
        Ok((a, b))
    }

    /// Squares of `side` x `side` pixels counted from the rectangle's corner, each with the mean of its pixels. A square
    /// of which less than half counts is left out. `side` 1 (or 0) copies.
    ///
    /// # Errors
    /// No memory.
    pub fn binned(&self, side: usize) -> Result<Self, OutOfMemory> {
        let side = side.max(1);
        let (width, height) = (self.width.div_ceil(side), self.height.div_ceil(side));
        let mut out = Self::empty(width, height, (self.origin.0 / side, self.origin.1 / side))?;
        for y in 0..height {
            for x in 0..width {
                let (mut a, mut b, mut n) = (0.0, 0.0, 0usize);
                for row in y * side..((y + 1) * side).min(self.height) {
                    for i in row * self.width + x * side..row * self.width + ((x + 1) * side).min(self.width)
                    {
                        if self.valid[i] {
                            (a, b, n) = (a + self.a[i], b + self.b[i], n + 1);
                        }
                    }
                }
                if n > 0 && 2 * n >= side * side {
                    out.set(y * width + x, a / n as f64, b / n as f64);
                }
            }
        }
        Ok(out)
    }

    /// The same pixels with other values: `change` gets column and row in the rectangle and both values.
    pub fn map(mut self, mut change: impl FnMut(usize, usize, f64, f64) -> (f64, f64)) -> Self {
        for i in 0..self.valid.len() {
            if self.valid[i] {
                (self.a[i], self.b[i]) = change(i % self.width, i / self.width, self.a[i], self.b[i]);
            }
        }
        self
    }

    /// Both maps less the means of their rows and columns within the pixels that count, by `ROUNDS` turns of rows and columns: what
    /// runs along lines of the scan, as drift does, is then gone.
    ///
    /// # Errors
    /// No memory.
    pub fn without_lines(&self) -> Result<Self, OutOfMemory> {
        /// Whole rectangles need one turn; ragged ones come close in a few.
        const ROUNDS: usize = 6;
        let mut out = self.clone();
        for values in [&mut out.a, &mut out.b] {
            for _ in 0..ROUNDS {
                for along_rows in [true, false] {
                    let lines = if along_rows { self.height } else { self.width };
                    let line_of = |i: usize| if along_rows { i / self.width } else { i % self.width };
                    let mut sums = try_filled_vec(lines as u64, (0.0, 0.0))?;
                    for i in (0..values.len()).filter(|&i| self.valid[i]) {
                        let (sum, n) = &mut sums[line_of(i)];
                        (*sum, *n) = (*sum + values[i], *n + 1.0);
                    }
                    for i in (0..values.len()).filter(|&i| self.valid[i]) {
                        let (sum, n) = sums[line_of(i)];
                        values[i] -= sum / n;
                    }
                }
            }
        }
        Ok(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_rectangle_is_cut_and_blanks_do_not_count() {
        let a: Vec<f64> = (0..12).map(f64::from).collect();
        let mut b = a.clone();
        b[6] = f64::NAN;
        let pairs = Pairs::of(4, &a, &b, |i| [5, 6, 7, 10].contains(&i)).unwrap();
        assert_eq!((pairs.size(), pairs.origin(), pairs.count()), ((3, 2), (1, 1), 3));
        assert_eq!(pairs.get(0), Some((5.0, 5.0)));
        assert_eq!(pairs.get(1), None);
        assert_eq!(pairs.lists().unwrap().0, [5.0, 7.0, 10.0]);
        assert_eq!(Pairs::of(4, &a, &b, |_| false).unwrap().count(), 0);
        assert_eq!(Pairs::of(0, &[], &[], |_| true).unwrap().size(), (0, 0));
    }

    #[test]
    fn squares_hold_means_and_need_half_of_their_pixels() {
        let a = [1.0, 3.0, 5.0, f64::NAN, f64::NAN, f64::NAN];
        let pairs = Pairs::of(3, &a, &[2.0; 6], |_| true).unwrap();
        let bins = pairs.binned(2).unwrap();
        // The rectangle is one row high: the first square has two of four pixels, the second one of four.
        assert_eq!((bins.size(), bins.count(), bins.get(0)), ((2, 1), 1, Some((2.0, 2.0))));
    }

    #[test]
    fn stripes_are_gone_without_lines() {
        let a: Vec<f64> = (0..30).map(|i| f64::from(i / 6) * 3.0 + f64::from(i % 6)).collect();
        let flat = Pairs::of(6, &a, &a, |_| true).unwrap().without_lines().unwrap();
        assert!(flat.lists().unwrap().0.iter().all(|v| v.abs() < 1e-12));
    }
}
