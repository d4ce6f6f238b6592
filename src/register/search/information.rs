//! Mutual information of two pictures by their joint histogram.

use crate::grid::{Grid, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::numerics::math::ln;

/// What two pictures tell of each other.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Information {
    /// Mutual information in nats: the sum of p ln(p / (p_x p_y)); 0 or above but for rounding.
    pub mutual: f64,
    /// (H_x + H_y) / H_xy: 1 where they tell nothing of each other, 2 where each follows from the other; 1 for two constant
    /// pictures (C. Studholme, D. L. G. Hill and D. J. Hawkes, Pattern Recognition 32 (1999) 71, from memory).
    pub normalised: f64,
    /// Pixels at which both have a value.
    pub pixels: u64,
}

/// Of two pictures of one size, over the pixels at which both are finite, with `bins` bins (1 to 4096) of equal width from the
/// least to the largest value of each; the largest belongs to the last bin. `None` for other sizes, other numbers of bins, and
/// where no pixel has both. As scikit-image's `normalized_mutual_information`, but for blanks.
///
/// # Errors
/// No memory.
pub fn information(a: &Grid<f64>, b: &Grid<f64>, bins: usize) -> Result<Option<Information>, OutOfMemory> {
    if (a.width(), a.height()) != (b.width(), b.height()) || !(1..=4096).contains(&bins) {
        return Ok(None);
    }
    let pairs = || a.data().iter().zip(b.data()).filter(|(x, y)| x.is_finite() && y.is_finite());
    let nothing = (f64::INFINITY, f64::NEG_INFINITY, f64::INFINITY, f64::NEG_INFINITY);
    let (low_a, high_a, low_b, high_b) =
        pairs().fold(nothing, |(la, ha, lb, hb), (x, y)| (la.min(*x), ha.max(*x), lb.min(*y), hb.max(*y)));
    let mut joint: Vec<u64> = try_filled_vec((bins * bins) as u64, 0)?;
    let bin = |v: f64, low: f64, high: f64| {
        // A constant picture lies in one bin, whichever.
        let share = if high > low { (v - low) / (high - low) } else { 0.0 };
        ((share * bins as f64) as usize).min(bins - 1)
    };
    let mut pixels = 0u64;
    for (x, y) in pairs() {
        joint[bin(*x, low_a, high_a) * bins + bin(*y, low_b, high_b)] += 1;
        pixels += 1;
    }
    if pixels == 0 {
        return Ok(None);
    }
    let entropy = |counts: &mut dyn Iterator<Item = u64>| -> f64 {
        let part = |c: u64| {
            let p = c as f64 / pixels as f64;
            -p * ln(p)
        };
        counts.filter(|c| *c > 0).map(part).sum()
    };
    let of_a = entropy(&mut joint.chunks_exact(bins).map(|row| row.iter().sum()));
    let of_b = entropy(&mut (0..bins).map(|j| joint.iter().skip(j).step_by(bins).sum()));
    let of_both = entropy(&mut joint.iter().copied());
    let normalised = if of_both > 0.0 { (of_a + of_b) / of_both } else { 1.0 };
    Ok(Some(Information { mutual: of_a + of_b - of_both, normalised, pixels }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_picture_tells_all_of_itself_and_a_constant_nothing() {
        let grid = |of: fn(u32) -> f64| Grid::from_vec(4, 4, (0..16).map(of).collect()).unwrap();
        let quarters = grid(|i| f64::from(i % 4));
        let own = information(&quarters, &quarters, 4).unwrap().unwrap();
        // Four equal shares: ln 4.
        assert!((own.mutual - ln(4.0)).abs() < 1e-14 && (own.normalised - 2.0).abs() < 1e-14);
        let across = information(&quarters, &grid(|i| f64::from(i / 4)), 4).unwrap().unwrap();
        assert!(across.mutual.abs() < 1e-14 && (across.normalised - 1.0).abs() < 1e-14);
        let constant = grid(|_| 7.0);
        assert_eq!(information(&constant, &constant, 32).unwrap().unwrap().normalised, 1.0);
    }

    #[test]
    fn blanks_are_left_out_and_misfits_are_none() {
        let a = Grid::from_vec(2, 1, vec![1.0, f64::NAN]).unwrap();
        let b = Grid::from_vec(2, 1, vec![2.0, 3.0]).unwrap();
        assert_eq!(information(&a, &b, 8).unwrap().unwrap().pixels, 1);
        let blank = Grid::from_vec(2, 1, vec![f64::NAN; 2]).unwrap();
        assert!(information(&a, &blank, 8).unwrap().is_none());
        assert!(information(&a, &Grid::from_vec(1, 2, vec![1.0; 2]).unwrap(), 8).unwrap().is_none());
        assert!(information(&a, &b, 0).unwrap().is_none());
    }
}
