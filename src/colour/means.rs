//! Pictures made smaller: means of square cells in linear light, taken row by row.

use super::{Rgb, STEPS, step};
use crate::grid::{Grid, try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// Takes rows of a picture and keeps the means of its cells, in linear light, as steps of 8 bits. Holds one row of sums
/// and the cells, never the picture. A cell is `factor` pixels wide and high, and smaller at one border: the right and
/// lower one, or the left and upper one where the picture runs backward, so that it is always the right and lower one once
/// the picture is laid as it shall lie.
pub struct Means {
    size: (u32, u32),
    factor: u32,
    /// Pixels that the first cell across and down lacks.
    lack: (u32, u32),
    linear: [f32; 256],
    sums: Vec<[f32; 3]>,
    /// Rows taken, and those of them that are in the sums.
    rows: u32,
    summed: u32,
    cells: Vec<[u8; 3]>,
}

/// Linear light of every step.
fn linear() -> [f32; 256] {
    let mut out = [0.0; 256];
    for (i, light) in (0u8..=255).zip(&mut out) {
        *light = Rgb([i; 3]).linear()[0] as f32;
    }
    out
}

impl Means {
    /// For a picture of `size`; a `factor` of 0 is taken as 1. `backward` says whether its columns and whether its rows run
    /// against the way of what is made of it.
    ///
    /// # Errors
    /// No memory for the cells.
    pub fn new(size: (u32, u32), factor: u32, backward: (bool, bool)) -> Result<Self, OutOfMemory> {
        let factor = factor.max(1);
        let (width, height) = (size.0.div_ceil(factor), size.1.div_ceil(factor));
        let lack = |side: u32, is_backward: bool| match side % factor {
            part if is_backward && part > 0 => factor - part,
            _ => 0,
        };
        Ok(Self {
            size,
            factor,
            lack: (lack(size.0, backward.0), lack(size.1, backward.1)),
            linear: linear(),
            sums: try_filled_vec(if factor == 1 { 0 } else { u64::from(width) }, [0.0; 3])?,
            rows: 0,
            summed: 0,
            cells: try_vec(u64::from(width) * u64::from(height))?,
        })
    }

    /// Takes the next row. A row of another width, or one too many, is passed over; [`Means::finish`] then gives nothing.
    pub fn push(&mut self, row: &[[u8; 3]]) {
        if row.len() != self.size.0 as usize || self.rows >= self.size.1 {
            self.rows = u32::MAX;
            return;
        }
        self.rows += 1;
        if self.factor == 1 {
            self.cells.extend_from_slice(row);
            return;
        }
        let linear = &self.linear;
        let add = |sum: &mut [f32; 3], pixels: &[[u8; 3]]| {
            for pixel in pixels {
                for (sum, channel) in sum.iter_mut().zip(pixel) {
                    *sum += linear[usize::from(*channel)];
                }
            }
        };
        let (first, rest) = row.split_at(self.first_column().min(row.len()));
        if let Some((sum, sums)) = self.sums.split_first_mut() {
            add(sum, first);
            for (sum, pixels) in sums.iter_mut().zip(rest.chunks(self.factor as usize)) {
                add(sum, pixels);
            }
        }
        self.summed += 1;
        if self.rows == self.size.1 || (self.rows + self.lack.1).is_multiple_of(self.factor) {
            self.close_row();
        }
    }

    /// Pixels across in the first cell.
    fn first_column(&self) -> usize {
        (self.factor - self.lack.0) as usize
    }

    fn close_row(&mut self) {
        let (width, factor, lack) = (self.size.0, self.factor, self.lack.0);
        let rows = self.summed;
        let steps = &**STEPS;
        let columns = |cell: u32| {
            let start = (cell * factor).saturating_sub(lack);
            ((cell + 1) * factor - lack).min(width) - start
        };
        self.cells.extend((0u32..).zip(&self.sums).map(|(cell, sum)| {
            let covered = (u64::from(columns(cell)) * u64::from(rows)) as f32;
            sum.map(|light| step(steps, light / covered))
        }));
        self.sums.fill([0.0; 3]);
        self.summed = 0;
    }

    /// The cells; `None` when not exactly the rows of the picture were taken.
    pub fn finish(self) -> Option<Grid<[u8; 3]>> {
        let (width, height) = (self.size.0.div_ceil(self.factor), self.size.1.div_ceil(self.factor));
        let is_whole = self.rows == self.size.1 || self.size.0 == 0;
        if is_whole { Grid::from_vec(width, height, self.cells) } else { None }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::colour::decode;
    use crate::geometry::Orientation;

    fn picture(width: u32, height: u32) -> Grid<[u8; 3]> {
        let pixels = (0..width * height).map(|i| [(i * 37) as u8, (i * i) as u8, 255 - (i * 5 % 256) as u8]);
        Grid::from_vec(width, height, pixels.collect()).unwrap()
    }

    fn means(picture: &Grid<[u8; 3]>, factor: u32, backward: (bool, bool)) -> Grid<[u8; 3]> {
        let mut means = Means::new((picture.width(), picture.height()), factor, backward).unwrap();
        picture.rows().for_each(|row| means.push(row));
        means.finish().unwrap()
    }

    #[test]
    fn cells_are_means_of_the_light() {
        let pixels = picture(7, 5);
        assert_eq!(means(&pixels, 1, (true, true)), pixels);
        let cells = means(&pixels, 3, (false, false));
        assert_eq!((cells.width(), cells.height()), (3, 2));
        for y in 0..2 {
            for x in 0..3 {
                for channel in 0..3 {
                    let inside = (y * 3..(y * 3 + 3).min(5))
                        .flat_map(|row| (x * 3..(x * 3 + 3).min(7)).map(move |column| (column, row)));
                    let light: Vec<f64> = inside
                        .map(|(column, row)| {
                            decode(f64::from(pixels.get(column, row).unwrap()[channel]) / 255.0)
                        })
                        .collect();
                    let mean = light.iter().sum::<f64>() / light.len() as f64;
                    let want = crate::colour::encode(mean) * 255.0;
                    let got = f64::from(cells.get(x, y).unwrap()[channel]);
                    assert!((got - want).abs() < 0.56, "{x} {y} {channel}: {got}, {want}");
                }
            }
        }
    }

    #[test]
    fn made_smaller_and_then_laid_is_laid_and_then_made_smaller() {
        for (width, height) in [(7, 5), (8, 4), (1, 9), (10, 11)] {
            let pixels = picture(width, height);
            for number in 1..=8 {
                let laid = Orientation::of_tag(number);
                for factor in 2..=4 {
                    let first = means(&pixels, factor, laid.runs_backward()).oriented(laid).unwrap();
                    let then = means(&pixels.oriented(laid).unwrap(), factor, (false, false));
                    // The order of a sum differs, which may turn a rounding over.
                    let apart = first.data().iter().flatten().zip(then.data().iter().flatten());
                    let most = apart.map(|(a, b)| a.abs_diff(*b)).max();
                    assert!(most <= Some(1), "{width} × {height}, {number}, {factor}: {most:?}");
                    assert_eq!((first.width(), first.height()), (then.width(), then.height()));
                }
            }
        }
    }

    #[test]
    fn other_rows_than_those_of_the_picture_give_nothing() {
        let mut short = Means::new((2, 2), 2, (false, false)).unwrap();
        short.push(&[[0; 3]; 2]);
        assert_eq!(short.finish(), None);
        let mut narrow = Means::new((2, 1), 1, (false, false)).unwrap();
        narrow.push(&[[0; 3]; 3]);
        assert_eq!(narrow.finish(), None);
        let mut many = Means::new((1, 1), 1, (false, false)).unwrap();
        (0..2).for_each(|_| many.push(&[[0; 3]]));
        assert_eq!(many.finish(), None);
    }
}
