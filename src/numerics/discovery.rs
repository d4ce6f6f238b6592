//! Many tests at once: which may be called discoveries so that only a stated share of them is expected to be false.

use super::order;

/// What is assumed of the tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dependence {
    /// Independent, or one test never speaks against another (positive dependence, as of neighbouring pixels): Y.
    /// Benjamini and Y. Hochberg, J. Royal Stat. Soc. B 57 (1995) 289-300.
    Positive,
    /// Any: Y. Benjamini and D. Yekutieli, Annals of Statistics 29 (2001) 1165-1188.
    Any,
}

/// Chances p adjusted for their number: a test is a discovery at the level q where its adjusted p is at most q. NaN (no test
/// was made) stays NaN and is not counted. Values outside 0..=1 are taken to its ends.
pub fn adjusted(p: &[f64], dependence: Dependence) -> Vec<f64> {
    let mut ranked: Vec<usize> = (0..p.len()).filter(|&i| !p[i].is_nan()).collect();
    ranked.sort_unstable_by(|&i, &j| p[i].total_cmp(&p[j]).then(i.cmp(&j)));
    let number = ranked.len() as f64 * factor(ranked.len(), dependence);
    let mut out: Vec<f64> = p.iter().map(|_| f64::NAN).collect();
    let mut least = 1.0f64;
    for (rank, &i) in ranked.iter().enumerate().rev() {
        least = least.min(p[i].max(0.0) * number / (rank as f64 + 1.0));
        out[i] = least;
    }
    out
}

/// The largest p that is still a discovery at the level `q`; `None` if none is. All with this p or less are discoveries:
/// the same decisions as by [`adjusted`], without a number for each. `p` is sorted on return; NaN comes last.
pub fn largest_discovered(p: &mut [f64], q: f64, dependence: Dependence) -> Option<f64> {
    order::sort(p);
    let tests = p.partition_point(|p| !p.is_nan());
    let number = tests as f64 * factor(tests, dependence);
    (0..tests).rev().find(|&rank| p[rank].max(0.0) * number <= (rank as f64 + 1.0) * q).map(|rank| p[rank])
}

fn factor(tests: usize, dependence: Dependence) -> f64 {
    match dependence {
        Dependence::Positive => 1.0,
        Dependence::Any => (1..=tests).rev().fold(0.0, |sum, i| sum + 1.0 / i as f64),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The fifteen of Benjamini and Hochberg 1995, section 4.
    const PUBLISHED: [f64; 15] = [
        0.0001, 0.0004, 0.0019, 0.0095, 0.0201, 0.0278, 0.0298, 0.0344, 0.0459, 0.3240, 0.4262, 0.5719,
        0.6528, 0.7590, 1.0,
    ];

    fn discovered(adjusted: &[f64]) -> usize {
        adjusted.iter().filter(|p| **p <= 0.05).count()
    }

    #[test]
    fn four_of_the_published_fifteen_are_discoveries() {
        let positive = adjusted(&PUBLISHED, Dependence::Positive);
        assert_eq!((discovered(&positive), discovered(&adjusted(&PUBLISHED, Dependence::Any))), (4, 3));
        for (i, want) in [(0, 0.0015), (3, 0.035_625), (5, 0.063_857_142_857), (14, 1.0)] {
            assert!((positive[i] - want).abs() < 1e-12, "{i}: {}", positive[i]);
        }
        let mut p = PUBLISHED;
        assert_eq!(largest_discovered(&mut p, 0.05, Dependence::Positive), Some(0.0095));
        assert_eq!(largest_discovered(&mut p, 0.05, Dependence::Any), Some(0.0019));
        assert_eq!(largest_discovered(&mut p, 0.001, Dependence::Positive), None);
    }

    #[test]
    fn order_does_not_matter_and_no_test_counts_for_nothing() {
        let mut mixed: Vec<f64> = PUBLISHED.iter().rev().copied().collect();
        mixed.insert(4, f64::NAN);
        let found = adjusted(&mixed, Dependence::Positive);
        assert!(found[4].is_nan());
        assert_eq!((discovered(&found), found[15]), (4, 0.0015));
        assert_eq!(largest_discovered(&mut mixed, 0.05, Dependence::Positive), Some(0.0095));
        assert!(adjusted(&[], Dependence::Any).is_empty());
        assert_eq!(largest_discovered(&mut [f64::NAN], 0.05, Dependence::Any), None);
    }
}
