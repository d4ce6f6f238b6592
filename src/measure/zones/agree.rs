//! How well two ways of parting the same pixels agree, and how well parted groups are.

use super::kmeans::{Points, distance};

/// Adjusted Rand index of two labellings of the same things: 1 where they are the same but for the names, about 0 where they
/// agree by chance. Pixels with the label 0 in either (no data) are passed over. 1 where both put all into one group.
///
/// Source: L. Hubert and P. Arabie, Journal of Classification 2 (1985) 193.
pub fn adjusted_rand(a: &[u8], b: &[u8]) -> f64 {
    let mut table = vec![0u64; 256 * 256];
    let mut n = 0u64;
    for (&x, &y) in a.iter().zip(b) {
        if x > 0 && y > 0 {
            table[usize::from(x) * 256 + usize::from(y)] += 1;
            n += 1;
        }
    }
    let pairs = |count: u64| count as f64 * (count as f64 - 1.0) / 2.0;
    let both: f64 = table.iter().map(|&count| pairs(count)).sum();
    let of_a: f64 = table.chunks_exact(256).map(|row| pairs(row.iter().sum())).sum();
    let of_b: f64 = (0..256).map(|y| pairs(table.iter().skip(y).step_by(256).sum())).sum();
    let expected = if n < 2 { 0.0 } else { of_a * of_b / pairs(n) };
    let most = (of_a + of_b) / 2.0;
    if (most - expected).abs() < 1e-12 * most.max(1.0) { 1.0 } else { (both - expected) / (most - expected) }
}

/// Mean silhouette of all points: how much nearer a point is to its own group than to the next one, from -1 to 1; 0 for a
/// point that is alone. `None` with fewer than two groups. The cost grows with the square of the number of points.
///
/// Source: P. J. Rousseeuw, Journal of Computational and Applied Mathematics 20 (1987) 53.
pub fn silhouette(points: Points<'_>, labels: &[u32]) -> Option<f64> {
    let groups = labels.iter().max().map_or(0, |most| *most as usize + 1);
    let mut members = vec![0u64; groups];
    labels.iter().for_each(|&label| members[label as usize] += 1);
    if members.iter().filter(|&&count| count > 0).count() < 2 {
        return None;
    }
    let mut total = 0.0;
    for (row, &own) in points.rows().zip(labels) {
        let mut sums = vec![0.0; groups];
        for (other, &label) in points.rows().zip(labels) {
            sums[label as usize] += distance(row, other).sqrt();
        }
        let own = own as usize;
        if members[own] < 2 {
            continue;
        }
        let within = sums[own] / (members[own] - 1) as f64;
        let others = (0..groups).filter(|&group| group != own && members[group] > 0);
        let next = others.map(|group| sums[group] / members[group] as f64).fold(f64::INFINITY, f64::min);
        let most = within.max(next);
        if most > 0.0 {
            total += (next - within) / most;
        }
    }
    Some(total / labels.len() as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_do_not_matter_and_chance_is_taken_off() {
        assert_eq!(adjusted_rand(&[1, 1, 2, 2], &[7, 7, 3, 3]), 1.0);
        // scikit-learn's adjusted_rand_score: 0.571428... and -0.5 (its documentation).
        assert!((adjusted_rand(&[1, 1, 2, 3], &[1, 1, 2, 2]) - 4.0 / 7.0).abs() < 1e-12);
        assert!((adjusted_rand(&[1, 1, 2, 2], &[1, 2, 1, 2]) + 0.5).abs() < 1e-12);
        assert_eq!(adjusted_rand(&[1, 1, 0, 2], &[2, 2, 1, 0]), 1.0, "blank pixels are passed over");
    }

    #[test]
    fn one_group_has_no_silhouette() {
        let values = [1.0, 2.0, 9.0];
        assert_eq!(silhouette(Points { values: &values, maps: 1 }, &[0, 0, 0]), None);
        let two = silhouette(Points { values: &values, maps: 1 }, &[0, 0, 1]).unwrap();
        // (7.5 - 1) ... by hand: 1 - 1/8, 1 - 1/7, 0, over three.
        assert!((two - (7.0 / 8.0 + 6.0 / 7.0) / 3.0).abs() < 1e-12);
    }
}
