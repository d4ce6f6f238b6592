//! How far two maps lie in the same pixels, by thresholds and by products.
//!
//! Sources: E. M. M. Manders, F. J. Verbeek and J. A. Aten, Journal of Microscopy 169 (1993) 375 (shares, cosine, slopes);
//! Q. Li and others, Journal of Neuroscience 24 (2004) 4070 (same side); P. Jaccard (1901) and L. R. Dice (1945).

use crate::numerics::sums::mean;

/// Share of the sum of `of` that lies in pixels for which `inside` is true. `None` where the sum is not positive, the
/// lists have different lengths or one is empty. Negative values (of net maps) count as they are, and the share is then
/// not bound to 0 to 1.
pub fn share_inside(of: &[f64], inside: impl Fn(usize) -> bool) -> Option<f64> {
    let all: f64 = of.iter().sum();
    let part: f64 = of.iter().enumerate().filter(|(i, _)| inside(*i)).map(|(_, v)| v).sum();
    (all > 0.0 && part.is_finite()).then(|| part / all)
}

/// Sums of products.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Products {
    /// Cosine of the angle between the maps as vectors, from 0 to 1 for counts. An offset alone brings it near 1, which
    /// is why it is never judged by (J. Adler and I. Parmryd, Cytometry A 99 (2021) 910).
    pub cosine: f64,
    /// Sum of A B over sum of A A: B for each A.
    pub b_for_a: f64,
    /// Sum of A B over sum of B B: A for each B.
    pub a_for_b: f64,
}

/// Cosine and slopes through the origin. `None` where a map is 0 everywhere or the lists have different lengths.
pub fn products(a: &[f64], b: &[f64]) -> Option<Products> {
    if a.len() != b.len() {
        return None;
    }
    let (mut aa, mut bb, mut ab) = (0.0, 0.0, 0.0);
    for (x, y) in a.iter().zip(b) {
        (aa, bb, ab) = (aa + x * x, bb + y * y, ab + x * y);
    }
    (aa > 0.0 && bb > 0.0 && ab.is_finite()).then(|| Products {
        cosine: ab / (aa * bb).sqrt(),
        b_for_a: ab / aa,
        a_for_b: ab / bb,
    })
}

/// Share of pixels in which both maps are on the same side of their means, less one half: 0.5 where they always are, 0
/// without connection, -0.5 where they never are. A pixel at a mean is on no side. `None` without values.
pub fn same_side(a: &[f64], b: &[f64]) -> Option<f64> {
    let (mean_a, mean_b) = (mean(a)?, mean(b)?);
    if a.len() != b.len() {
        return None;
    }
    let same = a.iter().zip(b).filter(|(x, y)| (*x - mean_a) * (*y - mean_b) > 0.0).count();
    Some(same as f64 / a.len() as f64 - 0.5)
}

/// How two sets of pixels meet.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Sets {
    /// Pixels of the first.
    pub a: u64,
    /// Pixels of the second.
    pub b: u64,
    /// Pixels of both.
    pub both: u64,
}

impl Sets {
    /// Counts pixels: `of` gives for each whether it is in the first and in the second.
    pub fn count(of: impl Iterator<Item = (bool, bool)>) -> Self {
        of.fold(Self::default(), |sets, (a, b)| Self {
            a: sets.a + u64::from(a),
            b: sets.b + u64::from(b),
            both: sets.both + u64::from(a && b),
        })
    }

    /// Share of the first that is in the second; `None` where the first is empty.
    pub fn of_a_in_b(&self) -> Option<f64> {
        (self.a > 0).then(|| self.both as f64 / self.a as f64)
    }

    /// Share of the second that is in the first; `None` where the second is empty.
    pub fn of_b_in_a(&self) -> Option<f64> {
        (self.b > 0).then(|| self.both as f64 / self.b as f64)
    }

    /// Pixels of both over pixels of either (Jaccard); `None` where both are empty.
    pub fn jaccard(&self) -> Option<f64> {
        let either = self.a + self.b - self.both;
        (either > 0).then(|| self.both as f64 / either as f64)
    }

    /// Twice the pixels of both over the pixels of each (Dice); `None` where both are empty.
    pub fn dice(&self) -> Option<f64> {
        (self.a + self.b > 0).then(|| 2.0 * self.both as f64 / (self.a + self.b) as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_has_no_share() {
        assert_eq!(share_inside(&[], |_| true), None);
        assert_eq!(share_inside(&[0.0, 0.0], |_| true), None);
        assert_eq!(share_inside(&[1.0, 3.0], |i| i == 1), Some(0.75));
        assert_eq!(products(&[0.0], &[1.0]), None);
        assert_eq!(same_side(&[], &[]), None);
        let none = Sets::default();
        assert_eq!(
            (none.jaccard(), none.dice(), none.of_a_in_b(), none.of_b_in_a()),
            (None, None, None, None)
        );
    }

    #[test]
    fn a_constant_pair_is_on_no_side() {
        assert_eq!(same_side(&[2.0, 2.0], &[1.0, 1.0]), Some(-0.5));
        assert_eq!(products(&[2.0, 2.0], &[1.0, 1.0]).map(|p| p.a_for_b), Some(2.0));
    }
}
