//! Lines through points: with errors in both, and with weights on several causes.

/// An estimate that may be nothing.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Slope {
    /// The estimate.
    pub value: f64,
    /// Its standard deviation, widened where points scatter more than they should; infinite where the data do not fix it.
    pub error: f64,
}

impl Slope {
    /// Nothing is known.
    pub const UNKNOWN: Slope = Slope { value: 0.0, error: f64::INFINITY };

    /// Beyond `z` standard deviations, and of at least this size.
    pub fn is_beyond(&self, z: f64, least: f64) -> bool {
        self.value.abs() > z * self.error && self.value.abs() >= least
    }
}

/// y = offset + slope x.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StraightLine {
    /// Where x is 0.
    pub offset: Slope,
    /// y for each x.
    pub slope: Slope,
    /// Chi squared over its degrees of freedom.
    pub scatter: f64,
}

/// A point with the variances of both coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Point {
    pub x: f64,
    pub y: f64,
    pub variance_x: f64,
    pub variance_y: f64,
}

const MOST_ROUNDS: u32 = 200;

/// The line of least weighted distance where both coordinates have errors, independent of each other (D. York et al., Am. J.
/// Phys. 72 (2004) 367, from memory; the same line as orthogonal distance regression with these weights). Errors are
/// widened by the root of the scatter where that is above 1. Slices of one length: x, y and their variances.
///
/// `None` with fewer than three points, with a variance that is not above 0, and where all x are alike.
pub fn straight_line(x: &[f64], y: &[f64], variance_x: &[f64], variance_y: &[f64]) -> Option<StraightLine> {
    let points: Vec<Point> = x
        .iter()
        .zip(y)
        .zip(variance_x.iter().zip(variance_y))
        .map(|((&x, &y), (&variance_x, &variance_y))| Point { x, y, variance_x, variance_y })
        .collect();
    through(&points)
}

pub(super) fn through(points: &[Point]) -> Option<StraightLine> {
    let is_sound = |p: &Point| p.x.is_finite() && p.y.is_finite() && p.variance_x > 0.0 && p.variance_y > 0.0;
    if points.len() < 3 || !points.iter().all(is_sound) {
        return None;
    }
    let start = plain_slope(points)?;
    let mut slope = start;
    for _ in 0..MOST_ROUNDS {
        let next = better(points, slope)?;
        let is_done = (next - slope).abs() <= 1e-14 * slope.abs();
        slope = next;
        if is_done {
            break;
        }
    }
    let weight = |p: &Point| 1.0 / (p.variance_y + slope * slope * p.variance_x);
    let (all, mean_x, mean_y) = middle(points, slope);
    let offset = mean_y - slope * mean_x;
    // Where the points would lie on the line.
    let adjusted: Vec<f64> = points
        .iter()
        .map(|p| {
            let (u, v) = (p.x - mean_x, p.y - mean_y);
            mean_x + weight(p) * (u * p.variance_y + slope * v * p.variance_x)
        })
        .collect();
    let centre = points.iter().zip(&adjusted).map(|(p, x)| weight(p) * x).sum::<f64>() / all;
    let spread: f64 =
        points.iter().zip(&adjusted).map(|(p, x)| weight(p) * (x - centre) * (x - centre)).sum();
    let chi: f64 = points.iter().map(|p| weight(p) * (p.y - offset - slope * p.x).powi(2)).sum();
    let scatter = chi / (points.len() as f64 - 2.0);
    let widened = scatter.max(1.0);
    let of_slope = 1.0 / spread;
    let line = StraightLine {
        offset: Slope { value: offset, error: (widened * (1.0 / all + centre * centre * of_slope)).sqrt() },
        slope: Slope { value: slope, error: (widened * of_slope).sqrt() },
        scatter,
    };
    (line.offset.error.is_finite() && line.slope.error.is_finite()).then_some(line)
}

/// Sum of weights, weighted means of x and y.
fn middle(points: &[Point], slope: f64) -> (f64, f64, f64) {
    let (mut all, mut x, mut y) = (0.0, 0.0, 0.0);
    for p in points {
        let weight = 1.0 / (p.variance_y + slope * slope * p.variance_x);
        all += weight;
        x += weight * p.x;
        y += weight * p.y;
    }
    (all, x / all, y / all)
}

fn plain_slope(points: &[Point]) -> Option<f64> {
    let (_, mean_x, mean_y) = middle(points, 0.0);
    let (mut xx, mut xy) = (0.0, 0.0);
    for p in points {
        xx += (p.x - mean_x) * (p.x - mean_x) / p.variance_y;
        xy += (p.x - mean_x) * (p.y - mean_y) / p.variance_y;
    }
    (xx > 0.0).then_some(xy / xx)
}

fn better(points: &[Point], slope: f64) -> Option<f64> {
    let (_, mean_x, mean_y) = middle(points, slope);
    let (mut up, mut low) = (0.0, 0.0);
    for p in points {
        let weight = 1.0 / (p.variance_y + slope * slope * p.variance_x);
        let (u, v) = (p.x - mean_x, p.y - mean_y);
        let beta = weight * (u * p.variance_y + slope * v * p.variance_x);
        up += weight * beta * v;
        low += weight * beta * u;
    }
    let next = up / low;
    next.is_finite().then_some(next)
}

/// Weighted least squares of `y` on a constant and three causes; errors widened where the points scatter more than their
/// variances say. Causes that the data do not fix are unknown, and then all are.
pub(super) fn causes(rows: &[([f64; 3], f64, f64)]) -> [Slope; 3] {
    const N: usize = 4;
    let mut normal = [[0.0; N]; N];
    let mut right = [0.0; N];
    for &(causes, y, variance) in rows {
        let row = [1.0, causes[0], causes[1], causes[2]];
        for i in 0..N {
            for j in 0..N {
                normal[i][j] += row[i] * row[j] / variance;
            }
            right[i] += row[i] * y / variance;
        }
    }
    let Some(inverse) = inverted(normal) else { return [Slope::UNKNOWN; 3] };
    let found: [f64; N] = core::array::from_fn(|i| (0..N).map(|j| inverse[i][j] * right[j]).sum());
    let chi: f64 = rows
        .iter()
        .map(|&(causes, y, variance)| {
            let fitted = found[0] + (0..3).map(|i| found[i + 1] * causes[i]).sum::<f64>();
            (y - fitted) * (y - fitted) / variance
        })
        .sum();
    let widened = (chi / (rows.len() as f64 - N as f64)).max(1.0);
    core::array::from_fn(|i| Slope { value: found[i + 1], error: (widened * inverse[i + 1][i + 1]).sqrt() })
}

/// The inverse of a small symmetric matrix by Gauss and Jordan; `None` where it has none.
fn inverted<const N: usize>(mut matrix: [[f64; N]; N]) -> Option<[[f64; N]; N]> {
    let scale: [f64; N] = core::array::from_fn(|i| matrix[i][i]);
    let mut out: [[f64; N]; N] =
        core::array::from_fn(|i| core::array::from_fn(|j| f64::from(u8::from(i == j))));
    for column in 0..N {
        let pivot = (column..N).fold(column, |best, row| {
            if matrix[row][column].abs() > matrix[best][column].abs() { row } else { best }
        });
        matrix.swap(column, pivot);
        out.swap(column, pivot);
        let head = matrix[column][column];
        if head.is_nan() || head.abs() <= 1e-10 * scale[column].abs() {
            return None;
        }
        for j in 0..N {
            matrix[column][j] /= head;
            out[column][j] /= head;
        }
        for row in (0..N).filter(|&row| row != column) {
            let by = matrix[row][column];
            for j in 0..N {
                matrix[row][j] -= by * matrix[column][j];
                out[row][j] -= by * out[column][j];
            }
        }
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// K. Pearson's data with D. York's weights, the usual test of such fits: slope −0.4805, offset 5.4799, chi squared over
    /// degrees of freedom 1.4833, errors 0.0576 and 0.2920 before widening (published values, from memory; scipy's odr with
    /// the same weights gives them in `tests/reference`).
    #[test]
    fn pearsons_data_with_yorks_weights() {
        let x = [0.0, 0.9, 1.8, 2.6, 3.3, 4.4, 5.2, 6.1, 6.5, 7.4];
        let y = [5.9, 5.4, 4.4, 4.6, 3.5, 3.7, 2.8, 2.8, 2.4, 1.5];
        let of = |weights: [f64; 10]| weights.map(|w| 1.0 / w);
        let wx = of([1000.0, 1000.0, 500.0, 800.0, 200.0, 80.0, 60.0, 20.0, 1.8, 1.0]);
        let wy = of([1.0, 1.8, 4.0, 8.0, 20.0, 20.0, 70.0, 70.0, 100.0, 500.0]);
        let line = straight_line(&x, &y, &wx, &wy).unwrap();
        assert!((line.slope.value + 0.480_533_4).abs() < 1e-6, "{line:?}");
        assert!((line.offset.value - 5.479_910_2).abs() < 1e-6, "{line:?}");
        assert!((line.scatter - 1.483_294).abs() < 1e-5, "{line:?}");
        let widened = line.scatter.sqrt();
        assert!((line.slope.error / widened - 0.057_98).abs() < 1e-3, "{line:?}");
        assert!((line.offset.error / widened - 0.294_97).abs() < 5e-3, "{line:?}");
    }

    #[test]
    fn what_fixes_no_line_gives_none() {
        assert_eq!(straight_line(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0], &[1.0; 3], &[1.0; 3]), None);
        assert_eq!(straight_line(&[1.0, 2.0], &[1.0, 2.0], &[1.0; 2], &[1.0; 2]), None);
        assert_eq!(straight_line(&[1.0, 2.0, 3.0], &[1.0, 2.0, 3.0], &[0.0; 3], &[1.0; 3]), None);
        let alike = [([0.1, 0.2, 0.3], 1.0, 1.0); 6];
        assert!(causes(&alike).iter().all(|slope| slope.error.is_infinite()));
    }

    #[test]
    fn causes_without_noise_are_found() {
        let rows: Vec<_> = (0..30)
            .map(|i| {
                let c = [f64::from(i % 5) / 5.0, f64::from(i / 5) / 6.0, f64::from(i * i % 7) / 7.0];
                (c, 0.2 + 0.5 * c[0] - 0.3 * c[1] + 0.1 * c[2], 1e-4)
            })
            .collect();
        let found = causes(&rows);
        for (slope, truth) in found.iter().zip([0.5, -0.3, 0.1]) {
            assert!((slope.value - truth).abs() < 1e-9 && slope.error < 0.02, "{found:?}");
        }
    }
}
