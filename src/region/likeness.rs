//! How alike colours of a photo are to colours that were picked from it.

use crate::colour::{Rgb, ciede2000, lab_of_linear};
use crate::grid::try_filled_vec;
use crate::notice::OutOfMemory;

/// A colour in CIELAB.
pub type Lab = [f64; 3];

/// Places for colours that are remembered with their difference, as a power of two: 2 MB, enough for most colours of a photo.
const REMEMBERED_BITS: u32 = 18;
/// No colour: it has more than 24 bits.
const NONE: u32 = u32::MAX;

/// Differences from colours that are wanted, where none that is not wanted is nearer.
#[derive(Debug)]
pub struct Likeness {
    wanted: Vec<Lab>,
    unwanted: Vec<Lab>,
    light: Vec<f64>,
    /// Colour and difference, at a place that the colour gives.
    remembered: Vec<(u32, f32)>,
}

/// True where a channel is at an end of its range: the camera may have been able to tell no more there.
pub fn is_clipped(colour: [u8; 3]) -> bool {
    colour.iter().any(|&channel| channel == 0 || channel == 255)
}

fn light_of_steps() -> Vec<f64> {
    (0..=255u8).map(|step| Rgb([step; 3]).linear()[0]).collect()
}

fn lab_by(light: &[f64], colour: [u8; 3]) -> Lab {
    lab_of_linear(colour.map(|channel| light[usize::from(channel)]))
}

/// The median of each CIELAB coordinate, which single odd pixels do not move; clipped pixels are left out, `None` where all are.
/// Of an even number the mean of the two in the middle.
pub fn typical_colour(pixels: &[[u8; 3]]) -> Option<Lab> {
    let light = light_of_steps();
    let labs: Vec<Lab> =
        pixels.iter().filter(|pixel| !is_clipped(**pixel)).map(|pixel| lab_by(&light, *pixel)).collect();
    if labs.is_empty() {
        return None;
    }
    Some(core::array::from_fn(|i| {
        let mut sorted: Vec<f64> = labs.iter().map(|lab| lab[i]).collect();
        sorted.sort_by(f64::total_cmp);
        let n = sorted.len();
        f64::midpoint(sorted[(n - 1) / 2], sorted[n / 2])
    }))
}

impl Likeness {
    /// To these colours, and not to those.
    ///
    /// # Errors
    /// No memory.
    pub fn new(wanted: Vec<Lab>, unwanted: Vec<Lab>) -> Result<Self, OutOfMemory> {
        let remembered = try_filled_vec(1 << REMEMBERED_BITS, (NONE, 0.0))?;
        Ok(Self { wanted, unwanted, light: light_of_steps(), remembered })
    }

    /// The CIEDE2000 difference to the nearest wanted colour; infinite where an unwanted one is nearer than that. As near to
    /// both counts as wanted.
    pub fn of(&mut self, colour: [u8; 3]) -> f32 {
        let key = u32::from_be_bytes([0, colour[0], colour[1], colour[2]]);
        // Multiplicative hashing: the upper bits.
        let place = (key.wrapping_mul(0x9e37_79b1) >> (32 - REMEMBERED_BITS)) as usize;
        let (known, difference) = self.remembered[place];
        if known == key {
            return difference;
        }
        let lab = lab_by(&self.light, colour);
        let nearest =
            |to: &[Lab]| to.iter().map(|&other| ciede2000(lab, other)).fold(f64::INFINITY, f64::min);
        let wanted = nearest(&self.wanted);
        let difference = if nearest(&self.unwanted) < wanted { f32::INFINITY } else { wanted as f32 };
        self.remembered[place] = (key, difference);
        difference
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::lab_of;

    #[test]
    fn it_is_the_difference_to_the_nearest_wanted_colour_unless_an_unwanted_one_is_nearer() {
        let lab = |r, g, b| lab_of(Rgb([r, g, b]));
        let (red, white, pink) = (lab(200, 60, 40), lab(240, 236, 222), lab(220, 148, 131));
        let mut alike = Likeness::new(vec![red, white], Vec::new()).unwrap();
        // The light of each step comes from a table, so the last bits may differ.
        assert!(alike.of([200, 60, 40]) < 1e-5 && alike.of([240, 236, 222]) < 1e-5);
        let between = alike.of([220, 148, 131]);
        let want = ciede2000(pink, red).min(ciede2000(pink, white)) as f32;
        assert!((between - want).abs() < 1e-4);
        // Asked again it comes from memory.
        assert_eq!(alike.of([220, 148, 131]), between);
        let mut without = Likeness::new(vec![red], vec![pink]).unwrap();
        assert_eq!(without.of([222, 150, 131]), f32::INFINITY);
        assert!(without.of([202, 62, 40]) < 2.0);
        let mut both = Likeness::new(vec![red], vec![red]).unwrap();
        assert!(both.of([202, 62, 40]).is_finite());
    }

    #[test]
    fn every_colour_keeps_its_own_difference_whichever_was_asked_before() {
        let wanted = vec![lab_of(Rgb([120, 90, 60]))];
        let mut alike = Likeness::new(wanted.clone(), Vec::new()).unwrap();
        let colours = (0..40_000u32).map(|i| [(i % 251) as u8, (i / 251) as u8, (i % 7 * 30) as u8]);
        for colour in colours.clone().chain(colours) {
            let fresh = ciede2000(lab_of(Rgb(colour)), wanted[0]) as f32;
            assert!((alike.of(colour) - fresh).abs() < 1e-4, "{colour:?}");
        }
    }

    #[test]
    fn the_typical_colour_is_not_moved_by_odd_or_clipped_pixels() {
        let mut pixels = vec![[100, 110, 120]; 13];
        pixels.extend([[9, 9, 9], [250, 10, 10], [255, 255, 255], [0, 0, 0], [255, 110, 120]]);
        let typical = typical_colour(&pixels).unwrap();
        let want = lab_of(Rgb([100, 110, 120]));
        assert!((0..3).all(|i| (typical[i] - want[i]).abs() < 1e-9));
        assert_eq!(typical_colour(&[[255, 1, 1], [3, 0, 3]]), None);
        assert_eq!(typical_colour(&[]), None);
    }
}
