//! Which of two sets of values tends to be larger, without regard to how much.

use crate::numerics::order;

/// Mann and Whitney's U and Cliff's delta.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ranks {
    /// Pairs in which the first value is larger, ties as one half (H. B. Mann and D. R. Whitney, Ann. Math. Stat. 18 (1947)
    /// 50, from memory).
    pub u: f64,
    /// Cliff's delta: the share of pairs in which the first value is larger less the share in which it is smaller; -1 to 1
    /// (N. Cliff, Psychol. Bull. 114 (1993) 494, from memory).
    pub delta: f64,
}

/// Compares all pairs of `a` and `b` by sorting; both are left sorted. Values must not be NaN. `None` if a side is empty.
/// No p is given: neighbouring pixels are no independent values.
pub fn mann_whitney(a: &mut [f64], b: &mut [f64]) -> Option<Ranks> {
    if a.is_empty() || b.is_empty() {
        return None;
    }
    order::sort(a);
    order::sort(b);
    let (mut below, mut up_to) = (0, 0);
    // Twice U, so that ties stay whole numbers: exact up to 2^53 pairs.
    let mut twice = 0.0;
    for &value in a.iter() {
        while below < b.len() && b[below] < value {
            below += 1;
        }
        while up_to < b.len() && b[up_to] <= value {
            up_to += 1;
        }
        twice += (below + up_to) as f64;
    }
    let pairs = a.len() as f64 * b.len() as f64;
    Some(Ranks { u: 0.5 * twice, delta: twice / pairs - 1.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn all_larger_all_equal_and_nothing() {
        assert_eq!(mann_whitney(&mut [5.0, 6.0], &mut [1.0, 2.0, 3.0]), Some(Ranks { u: 6.0, delta: 1.0 }));
        assert_eq!(mann_whitney(&mut [2.0, 2.0], &mut [2.0]), Some(Ranks { u: 1.0, delta: 0.0 }));
        assert_eq!(mann_whitney(&mut [], &mut [2.0]), None);
    }
}
