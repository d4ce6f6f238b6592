//! The classes of "where is A without B", told apart by lightness and pattern.

use super::key::KeyEntry;
use super::resample::Sampler;
use super::{Picture, canvas, occurring, patterned};
use crate::colour::CLASS_COLOURS;
use crate::geometry::Window;
use crate::grid::Grid;
use crate::notice::OutOfMemory;

/// Draws a raster of class numbers; `labels` are what the key calls the classes. Classes that do not occur are left out
/// of the key.
pub fn picture_of_classes(
    raster: &Grid<u8>,
    labels: &[String; 6],
    window: &Window,
) -> Result<Picture, OutOfMemory> {
    let mut rgba = canvas(window)?;
    let sampler = Sampler::new(window, raster.width(), raster.height())?;
    for (y, row) in rgba.chunks_exact_mut(window.out_width as usize * 4).enumerate() {
        for (x, pixel) in row.chunks_exact_mut(4).enumerate() {
            let (x, y) = (x as u32, y as u32);
            let class = sampler.nearest(x, y).and_then(|(x, y)| raster.get(x, y));
            if let Some(colour) = class.and_then(|&class| CLASS_COLOURS.get(usize::from(class))) {
                pixel.copy_from_slice(&patterned(colour, x, y));
            }
        }
    }
    let occurs = occurring(raster);
    // What was asked for first, then what else is seen, then what is not known.
    let key = [2u8, 4, 3, 1, 5, 0]
        .into_iter()
        .filter(|&class| occurs[usize::from(class)])
        .map(|number| {
            let class = usize::from(number);
            KeyEntry::Class { number, label: labels[class].clone(), colour: CLASS_COLOURS[class] }
        })
        .collect();
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_key_names_the_classes_that_occur() {
        let raster = Grid::from_vec(2, 1, vec![2, 4]).unwrap();
        let labels = ["0", "1", "2", "3", "4", "5"].map(str::to_owned);
        let picture = picture_of_classes(&raster, &labels, &Window::whole(2, 1)).unwrap();
        let named: Vec<(u8, &str)> = picture
            .key
            .iter()
            .map(|entry| match entry {
                KeyEntry::Class { number, label, .. } => (*number, label.as_str()),
                _ => (0, "?"),
            })
            .collect();
        assert_eq!(named, [(2, "2"), (4, "4")]);
        assert_eq!(&picture.rgba[..3], &CLASS_COLOURS[2].ground.0);
    }
}
