//! k-means by Lloyd's algorithm, from given centres or from centres spread by chance with a seed.

use crate::numerics::chance::Chance;

/// Points in rows: `maps` numbers each, one after the other.
#[derive(Debug, Clone, Copy)]
pub struct Points<'a> {
    /// All numbers; as many as points times maps.
    pub values: &'a [f64],
    /// Numbers of a point; at least 1.
    pub maps: usize,
}

impl<'a> Points<'a> {
    /// The points, in order.
    pub fn rows(&self) -> impl ExactSizeIterator<Item = &'a [f64]> {
        self.values.chunks_exact(self.maps.max(1))
    }

    fn row(&self, i: usize) -> &'a [f64] {
        &self.values[i * self.maps..(i + 1) * self.maps]
    }
}

/// Groups of points.
#[derive(Debug, Clone, PartialEq)]
pub struct Groups {
    /// The mean of each group, one after the other.
    pub centres: Vec<f64>,
    /// The group of each point.
    pub labels: Vec<u32>,
    /// Sum of squared distances of the points from the centres of their groups.
    pub inertia: f64,
    /// Rounds until no point changed its group.
    pub rounds: u32,
}

/// Squared distance of two points.
pub fn distance(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(x, y)| (x - y) * (x - y)).sum()
}

/// The nearest centre and the squared distance to it; the first of several.
pub fn nearest(point: &[f64], centres: &[f64]) -> (u32, f64) {
    let mut best = (0, f64::INFINITY);
    for (group, centre) in (0u32..).zip(centres.chunks_exact(point.len().max(1))) {
        let far = distance(point, centre);
        if far < best.1 {
            best = (group, far);
        }
    }
    best
}

/// Lloyd's algorithm from given centres, until no point changes its group or for `most` rounds. A group that loses all its
/// points takes the point that is furthest from its own centre.
///
/// Source: S. P. Lloyd, IEEE Trans. Inf. Theory 28 (1982) 129.
pub fn lloyd(points: Points<'_>, mut centres: Vec<f64>, most: u32) -> Groups {
    let (n, maps) = (points.rows().len(), points.maps);
    let k = centres.len() / maps.max(1);
    let mut labels = vec![u32::MAX; n];
    let mut far = vec![0.0; n];
    let mut rounds = 0;
    loop {
        let mut changed = false;
        for (i, row) in points.rows().enumerate() {
            let (label, distance) = nearest(row, &centres);
            changed |= labels[i] != label;
            (labels[i], far[i]) = (label, distance);
        }
        if !changed || rounds >= most || n == 0 {
            break;
        }
        rounds += 1;
        let mut members = vec![0u64; k];
        let mut sums = vec![0.0; k * maps];
        for (row, &label) in points.rows().zip(&labels) {
            let label = label as usize;
            members[label] += 1;
            for (sum, value) in sums[label * maps..(label + 1) * maps].iter_mut().zip(row) {
                *sum += value;
            }
        }
        for group in 0..k {
            if members[group] > 0 {
                continue;
            }
            let mut furthest = 0;
            for i in 1..n {
                if far[i] > far[furthest] && members[labels[i] as usize] > 1 {
                    furthest = i;
                }
            }
            let from = labels[furthest] as usize;
            if members[from] > 1 {
                members[from] -= 1;
                for (j, value) in points.row(furthest).iter().enumerate() {
                    sums[from * maps + j] -= value;
                    sums[group * maps + j] = *value;
                }
                members[group] = 1;
                labels[furthest] = group as u32;
                far[furthest] = 0.0;
            }
        }
        for group in 0..k {
            if members[group] > 0 {
                for j in 0..maps {
                    centres[group * maps + j] = sums[group * maps + j] / members[group] as f64;
                }
            }
        }
    }
    Groups { inertia: far.iter().sum(), centres, labels, rounds }
}

/// Centres to begin with: the first by chance, each next one with a chance that grows with the squared distance from those
/// there are. Fewer than `k` where there are fewer different points.
///
/// Source: D. Arthur and S. Vassilvitskii, Proc. 18th ACM-SIAM Symp. Discrete Algorithms (2007) 1027.
pub fn spread_centres(points: Points<'_>, k: usize, chance: &mut Chance) -> Vec<f64> {
    let n = points.rows().len();
    if n == 0 || k == 0 {
        return Vec::new();
    }
    let mut centres = points.row(chance.below(n as u64) as usize).to_vec();
    let mut far: Vec<f64> = points.rows().map(|row| distance(row, &centres)).collect();
    while centres.len() < k * points.maps {
        let total: f64 = far.iter().sum();
        if total <= 0.0 || total.is_nan() {
            break;
        }
        let mut left = chance.share() * total;
        let mut next = n - 1;
        for (i, &share) in far.iter().enumerate() {
            left -= share;
            if left < 0.0 {
                next = i;
                break;
            }
        }
        let centre = points.row(next);
        for (row, far) in points.rows().zip(&mut far) {
            *far = far.min(distance(row, centre));
        }
        centres.extend_from_slice(centre);
    }
    centres
}

/// The best of several starts: the least inertia, the first of several equal ones.
pub fn best_of(points: Points<'_>, k: usize, (starts, most): (u32, u32), seed: u64) -> Groups {
    let mut chance = Chance::new(seed.wrapping_mul(0x2_0003).wrapping_add(k as u64));
    let mut best: Option<Groups> = None;
    for _ in 0..starts.max(1) {
        let centres = spread_centres(points, k, &mut chance);
        let found = lloyd(points, centres, most);
        if best.as_ref().is_none_or(|best| found.inertia < best.inertia) {
            best = Some(found);
        }
    }
    best.unwrap_or(Groups { centres: Vec::new(), labels: Vec::new(), inertia: 0.0, rounds: 0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_empty_group_takes_the_furthest_point() {
        let values = [0.0, 1.0, 2.0, 50.0];
        let points = Points { values: &values, maps: 1 };
        // The second centre is nearest to none.
        let found = lloyd(points, vec![1.0, -900.0], 50);
        assert_eq!(found.labels, [0, 0, 0, 1]);
        assert_eq!((found.centres.clone(), found.inertia), (vec![1.0, 50.0], 2.0));
    }

    #[test]
    fn equal_points_give_fewer_centres_and_nothing_gives_none() {
        let values = [3.0; 10];
        let points = Points { values: &values, maps: 2 };
        assert_eq!(spread_centres(points, 3, &mut Chance::new(1)), [3.0, 3.0]);
        assert_eq!(best_of(points, 3, (4, 20), 1).inertia, 0.0);
        let none = Points { values: &[], maps: 2 };
        assert!(best_of(none, 3, (4, 20), 1).labels.is_empty());
    }

    #[test]
    fn the_same_seed_gives_the_same_groups() {
        let values: Vec<f64> =
            (0..600).map(|i| f64::from(i * 7919 % 101) + f64::from(i % 3) * 90.0).collect();
        let points = Points { values: &values, maps: 3 };
        let one = best_of(points, 4, (3, 50), 5);
        assert_eq!(one, best_of(points, 4, (3, 50), 5));
        assert_eq!(one.labels.len(), 200);
    }
}
