//! Eigenvalues and eigenvectors of small symmetric matrices.

/// Sweeps over all pairs after which the work ends in any case; a matrix of a hundred rows needs about ten.
const MOST_SWEEPS: usize = 60;

/// Eigenvalues from the largest to the smallest, each with its vector of length 1, of a symmetric matrix of `n` rows given
/// row by row; of the vector the number that is largest in size is positive. Jacobi's cyclic rotations (G. H. Golub and
/// C. F. Van Loan, Matrix Computations, section 8.5, from memory): exact to about 1e-14 of the largest value. Empty if the
/// matrix has not n x n finite numbers, or the sweeps do not end.
pub fn symmetric(matrix: &[f64], n: usize) -> Vec<(f64, Vec<f64>)> {
    if matrix.len() != n * n || matrix.iter().any(|v| !v.is_finite()) {
        return Vec::new();
    }
    let mut a = matrix.to_vec();
    let mut turned = vec![0.0; n * n];
    (0..n).for_each(|i| turned[i * n + i] = 1.0);
    let scale = a.iter().fold(0.0f64, |most, v| most.max(v.abs()));
    for _ in 0..MOST_SWEEPS {
        let beside = (0..n).flat_map(|i| (0..i).map(move |j| (i, j)));
        let off = beside.fold(0.0f64, |most, (i, j)| most.max(a[i * n + j].abs()));
        if off <= 1e-17 * scale {
            return sorted(&a, &turned, n);
        }
        for p in 0..n {
            for q in p + 1..n {
                rotate(&mut a, &mut turned, n, (p, q));
            }
        }
    }
    Vec::new()
}

fn sorted(a: &[f64], turned: &[f64], n: usize) -> Vec<(f64, Vec<f64>)> {
    let mut out: Vec<(f64, Vec<f64>)> = (0..n)
        .map(|k| {
            let vector: Vec<f64> = (0..n).map(|i| turned[i * n + k]).collect();
            let largest = vector.iter().fold(0.0f64, |m, v| if v.abs() > m.abs() + 1e-12 { *v } else { m });
            (a[k * n + k], vector.iter().map(|v| if largest < 0.0 { -v } else { *v }).collect())
        })
        .collect();
    out.sort_by(|one, other| other.0.total_cmp(&one.0));
    out
}

/// One rotation in the plane of two axes, after which their common number is 0.
fn rotate(a: &mut [f64], turned: &mut [f64], n: usize, (p, q): (usize, usize)) {
    let at = a[p * n + q];
    if at == 0.0 {
        return;
    }
    let theta = (a[q * n + q] - a[p * n + p]) / (2.0 * at);
    let t = theta.signum() / (theta.abs() + (theta * theta + 1.0).sqrt());
    let c = 1.0 / (t * t + 1.0).sqrt();
    let s = t * c;
    for k in 0..n {
        let (one, other) = (a[k * n + p], a[k * n + q]);
        (a[k * n + p], a[k * n + q]) = (c * one - s * other, s * one + c * other);
    }
    for k in 0..n {
        let (one, other) = (a[p * n + k], a[q * n + k]);
        (a[p * n + k], a[q * n + k]) = (c * one - s * other, s * one + c * other);
        let (one, other) = (turned[k * n + p], turned[k * n + q]);
        (turned[k * n + p], turned[k * n + q]) = (c * one - s * other, s * one + c * other);
    }
    (a[p * n + q], a[q * n + p]) = (0.0, 0.0);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_small_matrix_by_hand() {
        // [2 1; 1 2]: 3 along (1, 1), 1 along (1, -1).
        let found = symmetric(&[2.0, 1.0, 1.0, 2.0], 2);
        assert!((found[0].0 - 3.0).abs() < 1e-14 && (found[1].0 - 1.0).abs() < 1e-14);
        assert!(
            (found[0].1[0] - 0.5f64.sqrt()).abs() < 1e-14 && (found[0].1[1] - 0.5f64.sqrt()).abs() < 1e-14
        );
    }

    #[test]
    fn values_times_vectors_give_the_matrix_again() {
        let n = 7;
        let matrix: Vec<f64> =
            (0..n * n).map(|i| ((i / n * (i % n) * 5 + 3 * (i / n + i % n)) % 11) as f64 - 4.0).collect();
        let found = symmetric(&matrix, n);
        for i in 0..n {
            for j in 0..n {
                let again: f64 = found.iter().map(|(value, v)| value * v[i] * v[j]).sum();
                assert!((again - matrix[i * n + j]).abs() < 1e-12, "{i} {j}");
            }
        }
    }

    #[test]
    fn what_is_no_matrix_has_no_values() {
        assert!(symmetric(&[1.0, 2.0], 2).is_empty());
        assert!(symmetric(&[f64::NAN], 1).is_empty());
        assert!(symmetric(&[], 0).is_empty());
        assert_eq!(symmetric(&[4.0], 1), [(4.0, vec![1.0])]);
    }

    #[test]
    fn a_matrix_with_known_eigenvalues() {
        // 2 on the diagonal, -1 beside it: 2 + sqrt 2, 2, 2 - sqrt 2.
        let matrix = [2.0, -1.0, 0.0, -1.0, 2.0, -1.0, 0.0, -1.0, 2.0];
        let found = symmetric(&matrix, 3);
        let root = 2.0f64.sqrt();
        for ((value, vector), want) in found.iter().zip([2.0 + root, 2.0, 2.0 - root]) {
            assert!((value - want).abs() < 1e-14, "{value} {want}");
            for (row, own) in matrix.chunks(3).zip(vector) {
                let image: f64 = row.iter().zip(vector).map(|(m, v)| m * v).sum();
                assert!((image - value * own).abs() < 1e-14);
            }
        }
    }

    #[test]
    fn odd_matrices() {
        assert_eq!(symmetric(&[0.0; 4], 2).len(), 2);
        assert!(symmetric(&[f64::NAN; 4], 2).is_empty() && symmetric(&[1.0; 3], 2).is_empty());
        // The identity but for a factor: every direction is one.
        let same = symmetric(&[3.0, 0.0, 0.0, 3.0], 2);
        assert_eq!((same[0].0, same[1].0), (3.0, 3.0));
        // Rank one: 1 1' has the eigenvalues 4, 0, 0, 0.
        let flat: Vec<f64> = symmetric(&[1.0; 16], 4).iter().map(|e| e.0).collect();
        assert!(flat[1..].iter().all(|v| v.abs() < 1e-14) && (flat[0] - 4.0).abs() < 1e-14);
    }
}
