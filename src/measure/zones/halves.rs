//! Two halves of what was measured, of which one parts the field and the other tests the parting.

use super::field::{Layer, Layers};
use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::chance::Chance;

/// Pixels on which numbers of zones are tried; of a larger field square tiles that lie all over it.
pub const MOST_TRIED: usize = 160_000;
/// Pixels along the side of a tile.
const TILE: usize = 32;

/// Both halves, of one size.
pub struct Halves {
    width: usize,
    used: Vec<bool>,
    are_counts: Vec<bool>,
    /// For each map, its values in either half.
    a: Vec<Vec<f64>>,
    b: Vec<Vec<f64>>,
    /// Which pixel of the field a pixel of the halves is.
    pub places: Vec<usize>,
    /// Whether every count was dealt to one of the halves by chance; else columns of pixels were dealt in turn.
    pub is_thinned: bool,
}

impl Halves {
    /// Of all maps. Counts: each X-ray goes to either half with chance one half, so that the halves are independent Poisson
    /// counts of half the mean (binomial thinning). If one map holds other values: columns 0, 2, 4 ... and 1, 3, 5 ...,
    /// whose noise is independent while neighbours are mostly of one paint.
    ///
    /// # Errors
    /// No memory.
    pub fn of(layers: &Layers<'_>, seed: u64) -> Result<Self, OutOfMemory> {
        let (width, places) = tried(layers, seed)?;
        let mut used = try_vec(places.len() as u64)?;
        used.extend(places.iter().map(|&place| layers.used.get(place) == Some(&true)));
        let are_counts: Vec<bool> = layers.maps.iter().map(|map| map.is_counts).collect();
        let is_thinned = are_counts.iter().all(|&counts| counts);
        let mut out = Self { width, used, are_counts, a: Vec::new(), b: Vec::new(), places, is_thinned };
        let mut chance = Chance::new(seed.wrapping_mul(0x1_0005).wrapping_add(3));
        for map in &layers.maps {
            let value = |place: usize| map.values.get(place).copied().unwrap_or(f64::NAN);
            let (mut a, mut b) = (try_vec(out.places.len() as u64)?, try_vec(out.places.len() as u64)?);
            for (&place, used) in out.places.iter().zip(&out.used) {
                let count = if *used { value(place) } else { f64::NAN };
                let kept = if is_thinned && count > 0.0 {
                    chance.half_of(count.round() as u64) as f64
                } else {
                    count
                };
                a.push(kept);
                b.push(if is_thinned { count - kept } else { count });
            }
            out.a.push(a);
            out.b.push(b);
        }
        if !is_thinned {
            out.deal_columns();
        }
        Ok(out)
    }

    fn deal_columns(&mut self) {
        let (width, half) = (self.width, self.width / 2);
        let columns =
            |first: usize, n: usize| (0..n).filter(move |i| i % width < 2 * half && i % width % 2 == first);
        let n = self.used.len();
        for (a, b) in self.a.iter_mut().zip(&mut self.b) {
            *b = columns(1, n).map(|i| a[i]).collect();
            *a = columns(0, n).map(|i| a[i]).collect();
        }
        self.used = columns(0, n).map(|i| self.used[i] && self.used[i + 1]).collect();
        self.places = columns(0, n).map(|i| self.places[i]).collect();
        self.width = half;
    }

    /// The first half.
    pub fn first(&self) -> Layers<'_> {
        self.layers(&self.a)
    }

    /// The second half.
    pub fn second(&self) -> Layers<'_> {
        self.layers(&self.b)
    }

    fn layers<'a>(&self, values: &'a [Vec<f64>]) -> Layers<'a> {
        let maps = values.iter().zip(&self.are_counts);
        let maps = maps.map(|(values, &is_counts)| Layer { values, is_counts }).collect();
        Layers { width: self.width, maps, used: self.used.clone() }
    }
}

/// The pixels that are tried as an image of this width: all, or tiles one below the other. `usize::MAX` beside the field.
fn tried(layers: &Layers<'_>, seed: u64) -> Result<(usize, Vec<usize>), OutOfMemory> {
    let (width, n) = (layers.width, layers.pixels());
    let mut places = try_vec(n.min(2 * MOST_TRIED) as u64)?;
    if n <= MOST_TRIED {
        places.extend(0..n);
        return Ok((width, places));
    }
    let height = n / width.max(1);
    let (across, down) = (width.div_ceil(TILE), height.div_ceil(TILE));
    let has_pixels = |tile: usize| {
        let (left, top) = (tile % across * TILE, tile / across * TILE);
        (top..(top + TILE).min(height))
            .any(|y| (left..(left + TILE).min(width)).any(|x| layers.used[y * width + x]))
    };
    let tiles: Vec<usize> = (0..across * down).filter(|&tile| has_pixels(tile)).collect();
    let wanted = (MOST_TRIED / (TILE * TILE)).min(tiles.len());
    let mut chance = Chance::new(seed.wrapping_mul(0x1_000f).wrapping_add(7));
    for k in 0..wanted {
        let (from, to) = (k * tiles.len() / wanted, (k + 1) * tiles.len() / wanted);
        let tile = tiles[from + chance.below((to - from) as u64) as usize];
        let (left, top) = (tile % across * TILE, tile / across * TILE);
        for y in top..top + TILE {
            for x in left..left + TILE {
                places.push(if x < width && y < height { y * width + x } else { usize::MAX });
            }
        }
    }
    Ok((TILE, places))
}

/// The labels of the field in the pixels of the halves.
///
/// # Errors
/// No memory.
pub fn labels_there(halves: &Halves, labels: &[u8]) -> Result<Vec<u8>, OutOfMemory> {
    let mut out = try_filled_vec(halves.places.len() as u64, 0)?;
    for ((slot, &place), &used) in out.iter_mut().zip(&halves.places).zip(&halves.used) {
        *slot = if used { labels.get(place).copied().unwrap_or(0) } else { 0 };
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn layers(width: usize, values: &[f64], is_counts: bool) -> Layers<'_> {
        let used = values.iter().map(|v| v.is_finite()).collect();
        Layers { width, maps: vec![Layer { values, is_counts }], used }
    }

    #[test]
    fn both_halves_add_up_to_the_counts() {
        let values: Vec<f64> = (0..60).map(|i| f64::from(i * 7 % 23)).collect();
        let halves = Halves::of(&layers(10, &values, true), 1).unwrap();
        for (i, value) in values.iter().enumerate() {
            assert_eq!(halves.a[0][i] + halves.b[0][i], *value);
        }
        assert!(halves.is_thinned && halves.a != halves.b);
    }

    #[test]
    fn of_other_values_columns_are_dealt() {
        let values: Vec<f64> = (0..15).map(f64::from).collect();
        let halves = Halves::of(&layers(5, &values, false), 1).unwrap();
        assert_eq!(halves.a[0], [0.0, 2.0, 5.0, 7.0, 10.0, 12.0]);
        assert_eq!(halves.b[0], [1.0, 3.0, 6.0, 8.0, 11.0, 13.0]);
        assert_eq!((halves.width, halves.places.clone()), (2, vec![0, 2, 5, 7, 10, 12]));
    }

    #[test]
    fn of_a_large_field_tiles_are_tried_that_lie_in_it() {
        let values = vec![3.0; 700 * 500];
        let of = layers(700, &values, true);
        let halves = Halves::of(&of, 1).unwrap();
        assert_eq!(halves.places.len(), MOST_TRIED / 1024 * 1024);
        assert!(halves.places.iter().zip(&halves.used).all(|(&place, &used)| used == (place < values.len())));
        assert!(halves.places.iter().any(|&p| p != usize::MAX && p > 600 * 499));
    }
}
