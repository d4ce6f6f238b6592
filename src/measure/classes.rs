//! The class of each pixel for "where is A without B": what is detected, and where that cannot be judged.

use super::{Level, Signal};
use crate::class::Class;
use crate::grid::{Grid, Mask, grown};
use crate::notice::OutOfMemory;

/// How many pixels there are of what.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// By class number, as in the raster.
    pub by_class: [u64; 6],
    /// A without B before rims are left out.
    pub a_only_with_rims: u64,
    /// A detected, whatever B.
    pub a: u64,
    /// B detected, whatever A.
    pub b: u64,
    /// Left out because B would not have been seen there.
    pub b_unseen: u64,
    /// Left out at a rim.
    pub rim: u64,
    /// Saturated in A or B.
    pub saturated: u64,
    /// A counts as much as where it is detected, and overlaps could give that.
    pub doubtful_a: u64,
    /// Those among them where B is not detected.
    pub doubtful_alone: u64,
    /// The same of B where A is detected.
    pub doubtful_b: u64,
}

/// The raster and its counts.
#[derive(Debug, Clone, PartialEq)]
pub struct Classes {
    /// Class numbers.
    pub raster: Grid<u8>,
    /// How many of what.
    pub counts: Counts,
}

/// Classes of two maps of one size.
///
/// In this order: blank; saturated in A or B; what counts as detected and overlaps could give, which is not judged; what is
/// detected (a value of the critical level or more). Then *A only*
/// stands only where the B that accompanies that much A (`k_high`; `None` when it is not known, then nowhere) would
/// reach B's detection limit, and *A only* and *B only* not within `rim_px` of a pixel where the other is detected, be that
/// pixel asked about or not. Pixels that are not asked about are blank and counted nowhere.
pub fn classes(
    a: &Signal,
    b: &Signal,
    at: (&Level, &Level),
    k_high: Option<f64>,
    rim_px: u32,
) -> Result<Classes, OutOfMemory> {
    let (width, height) = (a.values.width(), a.values.height());
    let mut raster = Grid::try_filled(width, height, Class::Blank as u8)?;
    let mut detected = (Mask::try_filled(width, height, false)?, Mask::try_filled(width, height, false)?);
    let mut counts = Counts::default();
    for (mask, signal, level) in [(&mut detected.0, a, at.0), (&mut detected.1, b, at.1)] {
        for (i, mark) in mask.data_mut().iter_mut().enumerate() {
            *mark = signal.anywhere(i).is_some_and(|value| value >= level.critical);
        }
    }
    let is_asked = |i: usize| a.is_asked(i) && b.is_asked(i);
    for i in 0..raster.data().len() {
        if !is_asked(i) || a.values.data()[i].is_nan() || b.values.data()[i].is_nan() {
            continue;
        }
        let class = match (a.valid(i), b.valid(i)) {
            (Some(in_a), Some(_)) => {
                let (has_a, has_b) = (detected.0.data()[i], detected.1.data()[i]);
                let (no_a, no_b) = (a.is_doubtful(i, at.0), b.is_doubtful(i, at.1));
                counts.a += u64::from(has_a && !no_a);
                counts.b += u64::from(has_b && !no_b);
                counts.doubtful_a += u64::from(no_a);
                counts.doubtful_alone += u64::from(no_a && !has_b);
                counts.doubtful_b += u64::from(no_b && has_a && !no_a);
                match (has_a, has_b) {
                    _ if no_a || no_b => Class::CannotBeJudged,
                    (false, false) => Class::Neither,
                    (false, true) => Class::BOnly,
                    (true, true) => Class::Both,
                    (true, false) if would_be_seen(in_a - at.0.background, k_high, at.1) => Class::AOnly,
                    (true, false) => {
                        counts.b_unseen += 1;
                        Class::CannotBeJudged
                    }
                }
            }
            _ => {
                counts.saturated += 1;
                Class::CannotBeJudged
            }
        };
        raster.data_mut()[i] = class as u8;
    }
    counts.a_only_with_rims = raster.data().iter().filter(|&&c| c == Class::AOnly as u8).count() as u64;
    // A saturated pixel is a strong feature too: it has a rim.
    let mark = |mask: &mut Mask, signal: &Signal| {
        for (slot, saturated) in mask.data_mut().iter_mut().zip(signal.saturated.data()) {
            *slot |= *saturated;
        }
    };
    mark(&mut detected.0, a);
    mark(&mut detected.1, b);
    let near = (grown(&detected.0, rim_px)?, grown(&detected.1, rim_px)?);
    for (i, class) in raster.data_mut().iter_mut().enumerate() {
        let at_rim = (*class == Class::AOnly as u8 && near.1.data()[i])
            || (*class == Class::BOnly as u8 && near.0.data()[i]);
        if at_rim {
            *class = Class::CannotBeJudged as u8;
            counts.rim += 1;
        }
        counts.by_class[usize::from(*class)] += u64::from(is_asked(i));
    }
    Ok(Classes { raster, counts })
}

impl Classes {
    /// Pixels of A that were not judged one by one, but in an area: they become *A only*.
    pub fn promote(&mut self, pixels: &[usize]) {
        for &i in pixels {
            let class = &mut self.raster.data_mut()[i];
            if *class == Class::CannotBeJudged as u8 {
                *class = Class::AOnly as u8;
                self.counts.by_class[Class::CannotBeJudged as usize] -= 1;
                self.counts.by_class[Class::AOnly as usize] += 1;
                self.counts.b_unseen = self.counts.b_unseen.saturating_sub(1);
            }
        }
    }
}

fn would_be_seen(signal: f64, k_high: Option<f64>, b: &Level) -> bool {
    k_high.is_some_and(|k| signal >= k * b.detection_limit)
}

#[cfg(test)]
mod tests {
    use super::super::testing::{counts, stated};
    use super::*;

    #[test]
    fn every_class_by_hand() {
        // Backgrounds 2 and 3 stated: critical levels 9 and 11, B's detection limit 13.96 (see the tables of the
        // reference). k_high 0.3: B would be seen from a signal of 4.2 in A on, so wherever A is detected.
        let a = counts(6, 1, vec![f64::NAN, 2.0, 60.0, 2.0, 70.0, 60.0]);
        let b = counts(6, 1, vec![3.0, 3.0, 3.0, 3.0, 3.0, 90.0]);
        let found = classes(&a, &b, (&stated(2.0), &stated(3.0)), Some(0.3), 1).unwrap();
        // The pixel of A alone beside the one with both is a rim.
        assert_eq!(found.raster.data(), [0, 1, 2, 1, 5, 4]);
        assert_eq!(
            (found.counts.a_only_with_rims, found.counts.rim, found.counts.a, found.counts.b),
            (2, 1, 3, 1)
        );
        let unknown = classes(&a, &b, (&stated(2.0), &stated(3.0)), None, 1).unwrap();
        assert_eq!(unknown.raster.data(), [0, 1, 5, 1, 5, 4]);
        assert_eq!(unknown.counts.b_unseen, 2);
    }

    #[test]
    fn faint_a_says_nothing_where_its_b_would_be_below_the_detection_limit() {
        let a = counts(1, 1, vec![12.0]);
        let b = counts(1, 1, vec![3.0]);
        let of = |k: f64| classes(&a, &b, (&stated(2.0), &stated(3.0)), Some(k), 1).unwrap().raster.data()[0];
        assert_eq!((of(0.5), of(2.0)), (2, 5));
    }

    #[test]
    fn what_overlaps_could_give_is_neither_a_nor_b_alone() {
        let mut a = counts(4, 1, vec![60.0, 60.0, 2.0, 60.0]);
        let b = counts(4, 1, vec![3.0, 3.0, 90.0, 3.0]);
        let most = Grid::from_vec(4, 1, vec![70.0, 0.0, 0.0, 0.0]).unwrap();
        a.doubt = Some(crate::measure::Doubt::new(most, 1.0, 0.001));
        let found = classes(&a, &b, (&stated(2.0), &stated(3.0)), Some(0.3), 0).unwrap();
        assert_eq!(found.raster.data(), [5, 2, 3, 2]);
        assert_eq!((found.counts.a, found.counts.doubtful_a, found.counts.doubtful_alone), (2, 1, 1));
        let mut b = b;
        let most = Grid::from_vec(4, 1, vec![0.0, 0.0, 99.0, 0.0]).unwrap();
        b.doubt = Some(crate::measure::Doubt::new(most, 1.0, 0.001));
        let found = classes(&a, &b, (&stated(2.0), &stated(3.0)), Some(0.3), 0).unwrap();
        assert_eq!((found.raster.data()[2], found.counts.b), (5, 0));
    }

    #[test]
    fn a_saturated_pixel_is_not_judged_and_has_a_rim() {
        let mut b = counts(3, 1, vec![200.0, 3.0, 3.0]);
        b.saturated.data_mut()[0] = true;
        let a = counts(3, 1, vec![60.0, 60.0, 60.0]);
        let found = classes(&a, &b, (&stated(2.0), &stated(3.0)), Some(0.3), 1).unwrap();
        assert_eq!(found.raster.data(), [5, 5, 2]);
    }
}
