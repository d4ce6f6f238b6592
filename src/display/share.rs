//! A share of what a map counts, 0 to 100 %.

use super::single::{MapScale, picture_of_map};
use super::{Axis, KeyEntry, Picture, Scale};
use crate::colour::ColourScale;
use crate::geometry::Window;
use crate::grid::{Grid, Samples};
use crate::notice::OutOfMemory;
use crate::stack::Plane;

/// Draws per cents on a scale from dark to light; pixels without a share are patterned, and `without` says why in the key.
///
/// # Errors
/// No memory.
pub fn picture_of_share(
    per_cent: &Grid<f64>,
    (label, without): (&str, &str),
    colours: ColourScale,
    window: &Window,
) -> Result<Picture, OutOfMemory> {
    let mut data = crate::grid::try_vec(per_cent.len())?;
    data.extend_from_slice(per_cent.data());
    let has_blank = data.iter().any(|v| v.is_nan());
    let (width, height) = (per_cent.width(), per_cent.height());
    let own = Grid::from_vec(width, height, data).ok_or(OutOfMemory(per_cent.len()))?;
    let plane = Plane::new(Samples::F64(own));
    let scale =
        MapScale { label: label.into(), colours, axis: Axis::new(Scale::Linear, 0.0, 100.0), has_blank };
    let mut picture = picture_of_map(&plane, &scale, window)?;
    for entry in &mut picture.key {
        if let KeyEntry::Fill { label, .. } = entry {
            *label = without.into();
        }
    }
    Ok(picture)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn shares_run_from_nothing_to_all_and_the_key_says_why_some_have_none() {
        let shares = Grid::from_vec(3, 1, vec![0.0, 100.0, f64::NAN]).unwrap();
        let words = ("% of As K", "not above background");
        let picture = picture_of_share(&shares, words, ColourScale::Grey, &Window::whole(3, 1)).unwrap();
        assert_eq!((picture.rgba[0], picture.rgba[4]), (0, 255));
        assert!(matches!(&picture.key[0], KeyEntry::Bar { label, .. } if label == "% of As K"));
        assert!(matches!(&picture.key[1], KeyEntry::Fill { label, .. } if label == "not above background"));
    }
}
