//! Small pictures to search with: maps summed, a photo averaged.

use crate::colour::{decode, encode};
use crate::grid::{Grid, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::stack::Plane;

/// The longest side of a map that is searched on, in pixels.
pub const LONGEST_MAP_SIDE: u32 = 256;
/// The longest side of a photo that is searched on, in pixels.
pub const LONGEST_PHOTO_SIDE: u32 = 512;

/// How many pixels become one so that the longer side has at most `longest`; at least 1.
pub fn factor(size: (u32, u32), longest: u32) -> u32 {
    size.0.max(size.1).div_ceil(longest.max(1)).max(1)
}

/// Sums of `factor` x `factor` pixels. Where part of a square is blank, its sum is that of the rest scaled up; NaN where more
/// than half is. Pixels beyond the last whole square are left out, so that place (x, y) here is place (factor x, factor y)
/// there.
///
/// # Errors
/// No memory.
pub fn prepare(map: &Plane, factor: u32) -> Result<Grid<f32>, OutOfMemory> {
    let mut row: Vec<f64> = try_filled_vec(u64::from(map.width()), 0.0)?;
    summed(map.size(), factor, |y, sums, counts| {
        map.read_row(y, &mut row);
        add(&row, factor, sums, counts);
    })
}

/// As [`prepare`], of pixels that are at hand.
pub(super) fn summed_again(map: &Grid<f32>, factor: u32) -> Result<Grid<f32>, OutOfMemory> {
    let mut wide: Vec<f64> = try_filled_vec(u64::from(map.width()), 0.0)?;
    summed((map.width(), map.height()), factor, |y, sums, counts| {
        wide.iter_mut().zip(map.row(y)).for_each(|(w, v)| *w = f64::from(*v));
        add(&wide, factor, sums, counts);
    })
}

fn add(row: &[f64], factor: u32, sums: &mut [f64], counts: &mut [u32]) {
    for ((square, sum), count) in row.chunks_exact(factor as usize).zip(sums).zip(counts) {
        for v in square.iter().filter(|v| v.is_finite()) {
            *sum += v;
            *count += 1;
        }
    }
}

fn summed(
    size: (u32, u32),
    factor: u32,
    mut add_row: impl FnMut(u32, &mut [f64], &mut [u32]),
) -> Result<Grid<f32>, OutOfMemory> {
    let factor = factor.max(1);
    let (width, height) = (size.0 / factor, size.1 / factor);
    let mut out = Grid::try_filled(width, height, f32::NAN)?;
    let mut sums = try_filled_vec(u64::from(width), 0.0f64)?;
    let mut counts = try_filled_vec(u64::from(width), 0u32)?;
    let whole = factor * factor;
    for (band, target) in out.data_mut().chunks_exact_mut((width as usize).max(1)).enumerate() {
        sums.fill(0.0);
        counts.fill(0);
        for y in 0..factor {
            add_row(band as u32 * factor + y, &mut sums, &mut counts);
        }
        for ((slot, sum), &count) in target.iter_mut().zip(&sums).zip(&counts) {
            if 2 * count >= whole.max(2) || count == whole {
                *slot = (sum * f64::from(whole) / f64::from(count)) as f32;
            }
        }
    }
    Ok(out)
}

/// Means of the light of `factor` x `factor` pixels of a photo, in sRGB again. Pixels beyond the last whole square are left
/// out, as with maps.
///
/// # Errors
/// No memory.
pub fn prepare_photo(photo: &Grid<[u8; 3]>, factor: u32) -> Result<Grid<[u8; 3]>, OutOfMemory> {
    let factor = factor.max(1);
    let (width, height) = (photo.width() / factor, photo.height() / factor);
    let light: [f64; 256] = core::array::from_fn(|i| decode(i as f64 / 255.0));
    let mut out = Grid::try_filled(width, height, [0; 3])?;
    let mut sums = try_filled_vec(u64::from(width), [0.0f64; 3])?;
    let whole = f64::from(factor) * f64::from(factor);
    for (band, target) in out.data_mut().chunks_exact_mut((width as usize).max(1)).enumerate() {
        sums.fill([0.0; 3]);
        for y in 0..factor {
            let row = photo.row(band as u32 * factor + y);
            for (square, sum) in row.chunks_exact(factor as usize).zip(&mut sums) {
                for rgb in square {
                    (0..3).for_each(|c| sum[c] += light[usize::from(rgb[c])]);
                }
            }
        }
        for (slot, sum) in target.iter_mut().zip(&sums) {
            *slot = sum.map(|v| (encode(v / whole) * 255.0).round() as u8);
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Samples;

    #[test]
    fn squares_are_summed_and_blanks_are_no_zeros() {
        let data =
            vec![1.0, 2.0, f32::NAN, f32::NAN, 9.0, 3.0, 4.0, f32::NAN, 8.0, 9.0, 7.0, 7.0, 7.0, 7.0, 7.0];
        let grid = Grid::from_vec(5, 3, data).unwrap();
        let sums = summed_again(&grid, 2).unwrap();
        assert_eq!((sums.width(), sums.height()), (2, 1));
        assert_eq!(sums.data()[0], 10.0);
        assert!(sums.data()[1].is_nan(), "three of four are blank");
        let plane = Plane::new(Samples::F32(grid.clone()));
        assert_eq!(prepare(&plane, 2).unwrap().data()[0], 10.0);
        assert_eq!(prepare(&plane, 1).unwrap().data()[3..].len(), 12);
        assert_eq!((factor((316, 200), 256), factor((256, 1), 256), factor((0, 0), 256)), (2, 1, 1));
    }

    #[test]
    fn light_is_averaged_and_not_its_code() {
        let photo = Grid::from_vec(2, 2, vec![[0; 3], [255; 3], [0; 3], [255; 3]]).unwrap();
        // Half of the light: 188 of sRGB (IEC 61966-2-1).
        assert_eq!(prepare_photo(&photo, 2).unwrap().data(), [[188; 3]]);
        assert_eq!(prepare_photo(&photo, 1).unwrap(), photo);
    }
}
