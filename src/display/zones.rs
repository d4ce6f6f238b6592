//! Zones of a field, told apart by lightness and pattern as well as by hue.

use super::key::KeyEntry;
use super::resample::Sampler;
use super::{Picture, canvas, patterned};
use crate::colour::{NO_DATA, ZONE_COLOURS};
use crate::geometry::Window;
use crate::grid::Grid;
use crate::notice::OutOfMemory;

/// Draws a raster of zones, 0 where there is no data; `labels` are what the key calls them, from 0 on. Zones that do not
/// occur are left out of the key; those beyond the colours take them again from the first.
///
/// # Errors
/// No memory.
pub fn picture_of_zones(
    raster: &Grid<u8>,
    labels: &[String],
    window: &Window,
) -> Result<Picture, OutOfMemory> {
    let colour_of = |zone: u8| match usize::from(zone).checked_sub(1) {
        Some(place) => ZONE_COLOURS[place % ZONE_COLOURS.len()],
        None => NO_DATA,
    };
    let mut rgba = canvas(window)?;
    let sampler = Sampler::new(window, raster.width(), raster.height())?;
    for (y, row) in rgba.chunks_exact_mut(window.out_width as usize * 4).enumerate() {
        for (x, pixel) in row.chunks_exact_mut(4).enumerate() {
            let (x, y) = (x as u32, y as u32);
            if let Some(&zone) = sampler.nearest(x, y).and_then(|(x, y)| raster.get(x, y)) {
                pixel.copy_from_slice(&patterned(&colour_of(zone), x, y));
            }
        }
    }
    let mut occurs = [false; 256];
    raster.data().iter().for_each(|&zone| occurs[usize::from(zone)] = true);
    // What is not known comes last.
    let named = (1..=255u8).chain([0]).filter(|&zone| occurs[usize::from(zone)]);
    let key = named
        .map(|number| KeyEntry::Class {
            number,
            label: labels.get(usize::from(number)).cloned().unwrap_or_default(),
            colour: colour_of(number),
        })
        .collect();
    Ok(Picture { width: window.out_width, height: window.out_height(), rgba, key })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_key_names_the_zones_that_occur_and_no_data_last() {
        let raster = Grid::from_vec(3, 1, vec![0, 3, 1]).unwrap();
        let labels = ["no data", "zone 1", "zone 2", "zone 3"].map(str::to_owned);
        let picture = picture_of_zones(&raster, &labels, &Window::whole(3, 1)).unwrap();
        let named: Vec<(u8, &str)> = picture
            .key
            .iter()
            .map(|entry| match entry {
                KeyEntry::Class { number, label, .. } => (*number, label.as_str()),
                _ => (9, "?"),
            })
            .collect();
        assert_eq!(named, [(1, "zone 1"), (3, "zone 3"), (0, "no data")]);
        assert_eq!(&picture.rgba[8..11], &ZONE_COLOURS[0].ground.0);
    }
}
