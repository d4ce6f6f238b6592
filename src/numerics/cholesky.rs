//! Cholesky's decomposition of a small symmetric matrix, row by row in place, and what it solves.

/// Replaces the lower half of the n x n `matrix` by L with L L' = matrix and gives ln of the determinant of the matrix.
/// `None` where it is not positive definite; the content is then of no use. The upper half is not read or written.
pub fn decompose(matrix: &mut [f64], n: usize) -> Option<f64> {
    let mut log_determinant = 0.0;
    for i in 0..n {
        for j in 0..=i {
            let (before, row) = matrix.split_at_mut(i * n);
            let other = if j < i { &before[j * n..j * n + j] } else { &row[..0] };
            if j < i {
                let done = dot(&row[..j], other);
                row[j] = (row[j] - done) / before[j * n + j];
            } else {
                let pivot = row[i] - dot(&row[..i], &row[..i]);
                // Rounding leaves a pivot of about 1e-16 times the size where the matrix has no full rank.
                if pivot.is_nan() || pivot <= 1e-13 * row[i].abs() {
                    return None;
                }
                row[i] = pivot.sqrt();
                log_determinant += super::math::ln(pivot);
            }
        }
    }
    Some(log_determinant)
}

/// Solves L x = b in place.
pub fn solve_lower(lower: &[f64], n: usize, b: &mut [f64]) {
    for i in 0..n {
        let done = dot(&lower[i * n..i * n + i], &b[..i]);
        b[i] = (b[i] - done) / lower[i * n + i];
    }
}

/// Solves L L' x = b in place.
pub fn solve(lower: &[f64], n: usize, b: &mut [f64]) {
    solve_lower(lower, n, b);
    for i in (0..n).rev() {
        let done: f64 = (i + 1..n).map(|k| lower[k * n + i] * b[k]).sum();
        b[i] = (b[i] - done) / lower[i * n + i];
    }
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut lanes = [0.0f64; 4];
    let (chunks_a, chunks_b) = (a.chunks_exact(4), b.chunks_exact(4));
    let (rest_a, rest_b) = (chunks_a.remainder(), chunks_b.remainder());
    for (x, y) in chunks_a.zip(chunks_b) {
        for i in 0..4 {
            lanes[i] += x[i] * y[i];
        }
    }
    for (i, (x, y)) in rest_a.iter().zip(rest_b).enumerate() {
        lanes[i] += x * y;
    }
    (lanes[0] + lanes[2]) + (lanes[1] + lanes[3])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_with_known_factors() {
        // L = [[2, 0, 0], [1, 3, 0], [-1, 2, 1]]; determinant (2 * 3 * 1)² = 36.
        let mut matrix = vec![4.0, 0.0, 0.0, 2.0, 10.0, 0.0, -2.0, 5.0, 6.0];
        let log_determinant = decompose(&mut matrix, 3).unwrap();
        assert!((log_determinant - crate::numerics::math::ln(36.0)).abs() < 1e-14);
        assert_eq!(matrix, [2.0, 0.0, 0.0, 1.0, 3.0, 0.0, -1.0, 2.0, 1.0]);
        let mut b = [2.0, 7.0, 6.0];
        solve_lower(&matrix, 3, &mut b);
        assert_eq!(b, [1.0, 2.0, 3.0]);
        // The matrix times (1, -1, 2).
        let mut b = [-2.0, 2.0, 5.0];
        solve(&matrix, 3, &mut b);
        assert_eq!(b, [1.0, -1.0, 2.0]);
    }
}
