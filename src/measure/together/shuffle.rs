//! Shuffling blocks of one map over the other, and shifting it round: what correlation comes from patches alone.

use super::correlation::moments;
use super::pairs::Pairs;
use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::fft::{Complex, Fft2, Way};

/// The order of `n` things by Fisher and Yates: for i from n - 1 down to 1, exchange i with `index(i + 1)`, which must be
/// below i + 1 (a larger one is taken as i). The source of chance is the caller's, and with it the seed.
///
/// # Errors
/// No memory.
pub fn shuffled(n: usize, mut index: impl FnMut(usize) -> usize) -> Result<Vec<usize>, OutOfMemory> {
    let mut order = try_vec(n as u64)?;
    order.extend(0..n);
    for i in (1..n).rev() {
        order.swap(i, index(i + 1).min(i));
    }
    Ok(order)
}

/// A rectangle of pairs cut into square blocks.
#[derive(Debug, Clone)]
pub struct Blocks<'a> {
    pairs: &'a Pairs,
    side: usize,
    /// Column and row of the first pixel of each block that takes part, row by row.
    places: Vec<(usize, usize)>,
}

impl<'a> Blocks<'a> {
    /// Whole blocks of `side` pixels from the rectangle's corner. What is left at the right and below takes no part, nor
    /// does a block of which less than half counts.
    ///
    /// # Errors
    /// No memory.
    pub fn of(pairs: &'a Pairs, side: usize) -> Result<Self, OutOfMemory> {
        let side = side.max(1);
        let (width, height) = pairs.size();
        let (across, down) = (width / side, height / side);
        let valid = pairs.slices().2;
        let mut places = try_vec((across * down) as u64)?;
        for (x, y) in (0..down).flat_map(|y| (0..across).map(move |x| (x * side, y * side))) {
            let rows = (y..y + side).map(|row| &valid[row * width + x..row * width + x + side]);
            let inside = rows.flatten().filter(|valid| **valid).count();
            if 2 * inside >= side * side {
                places.push((x, y));
            }
        }
        Ok(Self { pairs, side, places })
    }

    /// Blocks that take part.
    pub fn count(&self) -> usize {
        self.places.len()
    }

    /// Correlation of A with B where block i of B is the one at `order[i]`, mirrored as `turned(i)` says (bit 0 left to
    /// right, bit 1 top to bottom). Pixels count where both have a value. `None` where too few do or one is constant; an
    /// order that doesn't name every block leaves the missing ones out.
    pub fn correlation(&self, order: &[usize], turned: impl Fn(usize) -> u32) -> Option<f64> {
        let (a, b, valid) = self.pairs.slices();
        let (width, side) = (self.pairs.size().0, self.side);
        // Sums about a value near the mean, so that little is lost; one pass, because it is done hundreds of times.
        let mut sums = Running::default();
        for (i, &(x, y)) in self.places.iter().enumerate() {
            let Some(&(from_x, from_y)) = order.get(i).and_then(|&from| self.places.get(from)) else {
                continue;
            };
            let mirror = turned(i);
            for row in 0..side {
                let from_row = if mirror & 2 == 0 { row } else { side - 1 - row };
                let (to, from) = ((y + row) * width + x, (from_y + from_row) * width + from_x);
                for column in 0..side {
                    let from = from + if mirror & 1 == 0 { column } else { side - 1 - column };
                    if valid[to + column] && valid[from] {
                        sums.add(a[to + column], b[from]);
                    }
                }
            }
        }
        sums.correlation()
    }
}

/// Running sums of two variables.
#[derive(Default)]
struct Running {
    n: f64,
    centre: Option<(f64, f64)>,
    x: f64,
    y: f64,
    xx: f64,
    yy: f64,
    xy: f64,
}

impl Running {
    fn add(&mut self, x: f64, y: f64) {
        let centre = *self.centre.get_or_insert((x, y));
        let (x, y) = (x - centre.0, y - centre.1);
        self.n += 1.0;
        self.x += x;
        self.y += y;
        self.xx += x * x;
        self.yy += y * y;
        self.xy += x * y;
    }

    fn correlation(&self) -> Option<f64> {
        let n = self.n;
        let (xx, yy) = (self.xx - self.x * self.x / n, self.yy - self.y * self.y / n);
        let r = (self.xy - self.x * self.y / n) / (xx * yy).sqrt();
        (n >= 2.0 && xx > 0.0 && yy > 0.0 && r.is_finite()).then(|| r.clamp(-1.0, 1.0))
    }
}

/// What shuffling gives.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shuffled {
    /// Side of a block in pixels.
    pub side: usize,
    /// Blocks that took part.
    pub blocks: usize,
    /// Correlation over these blocks as they lie.
    pub observed: f64,
    /// Standard deviation of the correlations of shuffled blocks.
    pub spread: f64,
    /// (1 + shuffles at least as far from 0) / (1 + shuffles).
    pub p: f64,
}

/// Fewer blocks than this give too few orders to tell chance by.
pub const FEWEST_BLOCKS: usize = 6;

/// Shuffles blocks of `side` pixels `times` times, each mirrored at random as well, and counts how often the correlation is at
/// least as far from 0 as it is. Blocks must be at least as large as patches of the map, not as pixels: of pixels alone
/// every two patchy maps would differ from chance. `index(n)` gives whole numbers below n. `None` with fewer than
/// [`FEWEST_BLOCKS`] blocks or a constant map.
/// Source: S. V. Costes and others, Biophysical Journal 86 (2004) 3993; mirroring is this program's.
///
/// # Errors
/// No memory.
pub fn shuffle_test(
    pairs: &Pairs,
    side: usize,
    times: usize,
    mut index: impl FnMut(usize) -> usize,
) -> Result<Option<Shuffled>, OutOfMemory> {
    let blocks = Blocks::of(pairs, side)?;
    let count = blocks.count();
    if count < FEWEST_BLOCKS {
        return Ok(None);
    }
    let mut order = try_vec(count as u64)?;
    order.extend(0..count);
    let Some(observed) = blocks.correlation(&order, |_| 0) else { return Ok(None) };
    let (mut as_far, mut found) = (0usize, try_vec(times as u64)?);
    let mut turns = try_filled_vec(count as u64, 0u32)?;
    for _ in 0..times {
        let order = shuffled(count, &mut index)?;
        for turn in &mut turns {
            *turn = index(4) as u32;
        }
        let Some(r) = blocks.correlation(&order, |i| turns[i]) else { continue };
        as_far += usize::from(r.abs() >= observed.abs());
        found.push(r);
    }
    let spread = moments(&found, &found).map_or(0.0, |m| m.variance_a.sqrt());
    let p = (1 + as_far) as f64 / (1 + found.len()) as f64;
    Ok(Some(Shuffled { side: blocks.side, blocks: count, observed, spread, p }))
}

/// Correlations of A with B shifted round the rectangle by (rows down, columns right): entry `dy * width + dx`. Shifting
/// keeps the patches of both, but what leaves at one edge comes in at the other. `None` unless every pixel of the
/// rectangle counts and neither map is constant.
/// Source: H. W. Lotwick and B. W. Silverman, Journal of the Royal Statistical Society B 44 (1982) 406.
///
/// # Errors
/// No memory.
pub fn shifted_round(pairs: &Pairs) -> Result<Option<Vec<f64>>, OutOfMemory> {
    let (width, height) = pairs.size();
    let (values_a, values_b, _) = pairs.slices();
    let Some(found) = moments(values_a, values_b) else { return Ok(None) };
    if pairs.count() != width * height || found.variance_a == 0.0 || found.variance_b == 0.0 {
        return Ok(None);
    }
    // Circular sums from a transform that is large enough for every lag of both signs: lags that differ by a whole
    // turn are added up afterwards, so that sides need not be powers of two.
    let fft = Fft2::holding(2 * width - 1, 2 * height - 1);
    let (across, down) = fft.size();
    let scale = (found.variance_a * found.variance_b).sqrt() * pairs.count() as f64;
    let mut both = try_filled_vec((across * down) as u64, Complex::default())?;
    for y in 0..height {
        for x in 0..width {
            let i = y * width + x;
            both[y * across + x] = Complex::new(values_a[i] - found.mean_a, values_b[i] - found.mean_b);
        }
    }
    fft.run(&mut both, Way::Forward);
    let mut cross = try_filled_vec((across * down) as u64, Complex::default())?;
    for y in 0..down {
        for x in 0..across {
            let (a, b) = fft.parted(&both, x, y);
            // A times the conjugate of B: the sum over x of A(x + d) B(x).
            cross[y * across + x] = Complex::new(a.re * b.re + a.im * b.im, a.im * b.re - a.re * b.im);
        }
    }
    fft.run(&mut cross, Way::Backward);
    let mut out = try_filled_vec((width * height) as u64, 0.0)?;
    for dy in 0..height {
        for dx in 0..width {
            // At lag d and at lag d - side; lag 0 has no second.
            let rows = [dy, if dy == 0 { usize::MAX } else { down - (height - dy) }];
            let columns = [dx, if dx == 0 { usize::MAX } else { across - (width - dx) }];
            for y in rows.into_iter().filter(|y| *y < down) {
                for x in columns.into_iter().filter(|x| *x < across) {
                    out[dy * width + dx] += cross[y * across + x].re / scale;
                }
            }
        }
    }
    Ok(Some(out))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blocks_as_they_lie_give_the_correlation_and_few_give_nothing() {
        let a: Vec<f64> = (0..64).map(|i| f64::from((i * 7) % 11)).collect();
        let b: Vec<f64> = (0..64).map(|i| f64::from((i * 5) % 13)).collect();
        let pairs = Pairs::of(8, &a, &b, |_| true).unwrap();
        let blocks = Blocks::of(&pairs, 2).unwrap();
        let order: Vec<usize> = (0..blocks.count()).collect();
        let whole = super::super::pearson(&a, &b).unwrap();
        assert!((blocks.correlation(&order, |_| 0).unwrap() - whole).abs() < 1e-12);
        assert_eq!(shuffle_test(&pairs, 4, 9, |_| 0).unwrap(), None);
        let constant = Pairs::of(8, &[1.0; 64], &b, |_| true).unwrap();
        assert_eq!(shuffle_test(&constant, 2, 9, |_| 0).unwrap(), None);
        assert_eq!(shifted_round(&constant).unwrap(), None);
    }

    #[test]
    fn mirrored_blocks_hold_the_same_values() {
        let a: Vec<f64> = (0..16).map(f64::from).collect();
        let pairs = Pairs::of(4, &a, &a, |_| true).unwrap();
        let blocks = Blocks::of(&pairs, 4).unwrap();
        // Turned both ways, the ramp runs backward.
        assert!((blocks.correlation(&[0], |_| 3).unwrap() + 1.0).abs() < 1e-12);
        // Rows turned only.
        let want: Vec<f64> = (0..16).map(|i| f64::from(12 - i / 4 * 4 + i % 4)).collect();
        let direct = super::super::pearson(&a, &want).unwrap();
        assert!((blocks.correlation(&[0], |_| 2).unwrap() - direct).abs() < 1e-12);
    }

    #[test]
    fn an_order_names_everything_once() {
        let mut order = shuffled(50, |n| n / 2).unwrap();
        order.sort_unstable();
        assert!(order.iter().copied().eq(0..50));
        assert!(shuffled(0, |_| 0).unwrap().is_empty());
    }
}
