//! Eigenvalues and eigenvectors of a small symmetric matrix.

/// Sweeps over the matrix; ten are enough for any matrix of this size.
const MOST_SWEEPS: usize = 60;

/// Eigenvalues in ascending order, each with its eigenvector of length 1, by Jacobi's cyclic rotations (G. H. Golub and
/// C. F. Van Loan, Matrix Computations, section 8.5, from memory). `matrix` is n x n, row by row, and symmetric. Empty where
/// a number is not finite or the sweeps do not end. The sign of an eigenvector is that of its largest component, made
/// positive.
pub fn eigen(matrix: &[f64], n: usize) -> Vec<(f64, Vec<f64>)> {
    if matrix.len() != n * n || matrix.iter().any(|v| !v.is_finite()) {
        return Vec::new();
    }
    let mut a = matrix.to_vec();
    let mut vectors = vec![0.0; n * n];
    (0..n).for_each(|i| vectors[i * n + i] = 1.0);
    let scale = a.iter().fold(0.0f64, |most, v| most.max(v.abs()));
    for _ in 0..MOST_SWEEPS {
        let rest = (0..n).flat_map(|i| (0..i).map(move |j| (i, j)));
        let off = rest.fold(0.0f64, |most, (i, j)| most.max(a[i * n + j].abs()));
        if off <= 1e-17 * scale {
            return sorted(&a, &vectors, n);
        }
        for p in 0..n {
            for q in p + 1..n {
                rotate(&mut a, &mut vectors, n, (p, q));
            }
        }
    }
    Vec::new()
}

/// One rotation in the plane of two axes, after which their common number is 0.
fn rotate(a: &mut [f64], vectors: &mut [f64], n: usize, (p, q): (usize, usize)) {
    let both = a[p * n + q];
    if both == 0.0 {
        return;
    }
    let half = (a[q * n + q] - a[p * n + p]) / (2.0 * both);
    let tangent = half.signum() / (half.abs() + (half * half + 1.0).sqrt());
    let cosine = 1.0 / (tangent * tangent + 1.0).sqrt();
    let sine = tangent * cosine;
    for k in 0..n {
        let (x, y) = (a[k * n + p], a[k * n + q]);
        (a[k * n + p], a[k * n + q]) = (cosine * x - sine * y, sine * x + cosine * y);
    }
    for k in 0..n {
        let (x, y) = (a[p * n + k], a[q * n + k]);
        (a[p * n + k], a[q * n + k]) = (cosine * x - sine * y, sine * x + cosine * y);
    }
    (a[p * n + q], a[q * n + p]) = (0.0, 0.0);
    for k in 0..n {
        let (x, y) = (vectors[k * n + p], vectors[k * n + q]);
        (vectors[k * n + p], vectors[k * n + q]) = (cosine * x - sine * y, sine * x + cosine * y);
    }
}

fn sorted(a: &[f64], vectors: &[f64], n: usize) -> Vec<(f64, Vec<f64>)> {
    let mut out: Vec<(f64, Vec<f64>)> = (0..n)
        .map(|i| {
            let vector: Vec<f64> = (0..n).map(|k| vectors[k * n + i]).collect();
            let largest = vector.iter().fold(0.0f64, |most, v| if v.abs() > most.abs() { *v } else { most });
            let sign = if largest < 0.0 { -1.0 } else { 1.0 };
            (a[i * n + i], vector.iter().map(|v| v * sign).collect())
        })
        .collect();
    out.sort_by(|one, other| one.0.total_cmp(&other.0));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_matrix_with_known_eigenvalues() {
        // 2 on the diagonal, -1 beside it: 2 - sqrt 2, 2, 2 + sqrt 2.
        let matrix = [2.0, -1.0, 0.0, -1.0, 2.0, -1.0, 0.0, -1.0, 2.0];
        let found = eigen(&matrix, 3);
        let root = 2.0f64.sqrt();
        for ((value, vector), want) in found.iter().zip([2.0 - root, 2.0, 2.0 + root]) {
            assert!((value - want).abs() < 1e-14, "{value} {want}");
            for (row, own) in matrix.chunks(3).zip(vector) {
                let image: f64 = row.iter().zip(vector).map(|(m, v)| m * v).sum();
                assert!((image - value * own).abs() < 1e-14);
            }
        }
    }

    #[test]
    fn odd_matrices() {
        assert_eq!(eigen(&[0.0; 4], 2).len(), 2);
        assert!(eigen(&[f64::NAN; 4], 2).is_empty() && eigen(&[1.0; 3], 2).is_empty());
        // The identity but for a factor: every direction is one.
        let same = eigen(&[3.0, 0.0, 0.0, 3.0], 2);
        assert_eq!((same[0].0, same[1].0), (3.0, 3.0));
        // Rank one: 1 1' has the eigenvalues 0, 0, 0, 4.
        let flat: Vec<f64> = eigen(&[1.0; 16], 4).iter().map(|e| e.0).collect();
        assert!(flat[..3].iter().all(|v| v.abs() < 1e-14) && (flat[3] - 4.0).abs() < 1e-14);
    }
}
