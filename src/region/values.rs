//! Pixels by what maps or an answer hold there.

use crate::grid::{Grid, Mask, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::stack::Plane;

/// Pixels with a value from `low` to `high`, both included; `None` for no limit. A blank pixel is never inside, also where
/// there is no limit.
///
/// # Errors
/// No memory.
pub fn between(plane: &Plane, low: Option<f64>, high: Option<f64>) -> Result<Mask, OutOfMemory> {
    let (low, high) = (low.unwrap_or(f64::NEG_INFINITY), high.unwrap_or(f64::INFINITY));
    let mut mask = Mask::try_filled(plane.width(), plane.height(), false)?;
    let mut values = try_filled_vec(u64::from(plane.width()), 0.0)?;
    for (y, row) in mask.data_mut().chunks_exact_mut((plane.width() as usize).max(1)).enumerate() {
        plane.read_row(y as u32, &mut values);
        for (inside, &value) in row.iter_mut().zip(&values) {
            // False for NaN.
            *inside = low <= value && value <= high;
        }
    }
    Ok(mask)
}

/// Pixels of some classes.
///
/// # Errors
/// No memory.
pub fn classes(of: &Grid<u8>, wanted: &[u8]) -> Result<Mask, OutOfMemory> {
    let mut mask = Mask::try_filled(of.width(), of.height(), false)?;
    for (inside, class) in mask.data_mut().iter_mut().zip(of.data()) {
        *inside = wanted.contains(class);
    }
    Ok(mask)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Samples;
    use crate::stack::Reading;

    #[test]
    fn limits_belong_to_it_and_blank_pixels_never_do() {
        let values = vec![1.0, 2.0, f64::NAN, 3.0, -7.0, f64::INFINITY];
        let plane = Plane::new(Samples::F64(Grid::from_vec(3, 2, values).unwrap()));
        let of = |low, high| between(&plane, low, high).unwrap().into_vec();
        assert_eq!(of(Some(2.0), Some(3.0)), [false, true, false, true, false, false]);
        assert_eq!(of(None, None), [true, true, false, true, true, false], "infinity is read as blank");
        assert_eq!(of(Some(3.0), Some(2.0)), [false; 6]);
        let plane = plane.read_as(Reading { fill_values: vec![-7.0], gain: 2.0, ..Reading::default() });
        let of = |low, high| between(&plane, low, high).unwrap().into_vec();
        assert_eq!(of(None, Some(1.0)), [true, true, false, false, false, false]);
        let none = Plane::new(Samples::U8(Grid::from_vec(0, 2, vec![]).unwrap()));
        assert!(between(&none, None, None).unwrap().is_empty());
    }

    #[test]
    fn classes_are_those_that_are_named() {
        let of = Grid::from_vec(3, 1, vec![2u8, 5, 2]).unwrap();
        assert_eq!(classes(&of, &[2]).unwrap().data(), [true, false, true]);
        assert_eq!(classes(&of, &[]).unwrap().data(), [false; 3]);
    }
}
