//! Two-dimensional arrays: [`Grid`] for computed values, [`Samples`] for pixels in the type they came in.
//! Imports only `notice` (an allocation may fail) and `geometry` (how pictures are laid). Knows nothing of elements, files or colours.

mod lay;
mod samples;

pub use lay::{Laid, Onto, Share, for_each_share, lay};
pub(crate) use samples::with_grid;
pub use samples::{ByteOrder, SampleType, Samples};

use crate::geometry::{Frame, Orientation};
use crate::notice::OutOfMemory;
use ndarray::ArrayView2;

/// An empty vector with room for `len` items, or a clean error where the ordinary allocation would abort.
pub fn try_vec<T>(len: u64) -> Result<Vec<T>, OutOfMemory> {
    let bytes = len.saturating_mul(size_of::<T>() as u64);
    let mut vec = Vec::new();
    let len = usize::try_from(len).map_err(|_| OutOfMemory(bytes))?;
    vec.try_reserve_exact(len).map_err(|_| OutOfMemory(bytes))?;
    Ok(vec)
}

/// `len` copies of `value`, or a clean error.
pub fn try_filled_vec<T: Clone>(len: u64, value: T) -> Result<Vec<T>, OutOfMemory> {
    let mut vec = try_vec(len)?;
    vec.resize(len as usize, value);
    Ok(vec)
}

/// A row-major array of `width` x `height` values. Sides are `u32` so that they mean the same on every target;
/// their product fits memory because a grid can only be made from data that exists.
#[derive(Debug, Clone, PartialEq)]
pub struct Grid<T> {
    width: u32,
    height: u32,
    data: Vec<T>,
}

/// A set of pixels; `true` is inside.
pub type Mask = Grid<bool>;

impl<T> Grid<T> {
    /// Wraps `data`; `None` if its length is not `width * height`.
    pub fn from_vec(width: u32, height: u32, data: Vec<T>) -> Option<Self> {
        let len = u64::from(width) * u64::from(height);
        (len == data.len() as u64).then_some(Self { width, height, data })
    }

    /// Pixels in a row.
    pub fn width(&self) -> u32 {
        self.width
    }

    /// Rows.
    pub fn height(&self) -> u32 {
        self.height
    }

    /// Number of pixels.
    pub fn len(&self) -> u64 {
        self.data.len() as u64
    }

    /// True for a grid without pixels.
    pub fn is_empty(&self) -> bool {
        self.data.is_empty()
    }

    /// All values, row by row.
    pub fn data(&self) -> &[T] {
        &self.data
    }

    /// All values, to be changed in place.
    pub fn data_mut(&mut self) -> &mut [T] {
        &mut self.data
    }

    /// Gives the values away.
    pub fn into_vec(self) -> Vec<T> {
        self.data
    }

    /// One row; empty if `y` is outside.
    pub fn row(&self, y: u32) -> &[T] {
        if y >= self.height {
            return &[];
        }
        let start = y as usize * self.width as usize;
        &self.data[start..start + self.width as usize]
    }

    /// Rows from the top; none for a grid of width zero.
    pub fn rows(&self) -> impl Iterator<Item = &[T]> {
        self.data.chunks_exact((self.width as usize).max(1))
    }

    /// The value at a pixel, `None` outside.
    pub fn get(&self, x: u32, y: u32) -> Option<&T> {
        (x < self.width && y < self.height).then(|| &self.data[y as usize * self.width as usize + x as usize])
    }

    /// The same memory as an `ndarray` view of shape `[height, width]`, for interfaces.
    pub fn view(&self) -> ArrayView2<'_, T> {
        let shape = (self.height as usize, self.width as usize);
        // The constructor has checked the length, so the fallback (an empty view) is never taken.
        ArrayView2::from_shape(shape, &self.data)
            .unwrap_or_else(|_| ArrayView2::from_shape((0, 0), &[]).unwrap_or_else(|_| unreachable!()))
    }
}

impl<T: Clone> Grid<T> {
    /// A grid of one value; an error if the memory is not there.
    pub fn try_filled(width: u32, height: u32, value: T) -> Result<Self, OutOfMemory> {
        Ok(Self { width, height, data: try_filled_vec(u64::from(width) * u64::from(height), value)? })
    }
}

impl<T: Copy + Default> Grid<T> {
    /// Turned and mirrored.
    ///
    /// # Errors
    /// No memory.
    pub fn oriented(&self, orientation: Orientation) -> Result<Self, OutOfMemory> {
        let size = (self.width, self.height);
        let (width, height) = orientation.size(size);
        let mut out = Self::try_filled(width, height, T::default())?;
        if self.is_empty() {
            return Ok(out);
        }
        // Along a row of the source the target moves by one step that is the same everywhere, and may be backward.
        let index = |(x, y): (u32, u32)| y as usize * width as usize + x as usize;
        for (y, row) in self.rows().enumerate() {
            let first = index(orientation.place((0, y as u32), size));
            let second = if self.width > 1 { index(orientation.place((1, y as u32), size)) } else { first };
            let step = second.wrapping_sub(first);
            let mut at = first;
            for &value in row {
                out.data[at] = value;
                at = at.wrapping_add(step);
            }
        }
        Ok(out)
    }
}

impl<T: Copy + Default> Grid<T> {
    /// The part that a frame shows; zero where it reaches beside the grid.
    ///
    /// # Errors
    /// No memory.
    pub fn framed(&self, frame: &Frame) -> Result<Self, OutOfMemory> {
        let mut out = Self::try_filled(frame.width, frame.height, T::default())?;
        let Some(inside) = frame.inside((self.width, self.height)) else { return Ok(out) };
        let columns = inside.x as usize..(inside.x + inside.width) as usize;
        for y in inside.y..inside.y + inside.height {
            let source = self.row((i64::from(y) + frame.y) as u32);
            let start = (i64::from(inside.x) + frame.x) as usize;
            let row = y as usize * frame.width as usize;
            out.data[row + columns.start..row + columns.end]
                .copy_from_slice(&source[start..start + inside.width as usize]);
        }
        Ok(out)
    }
}

/// Pixels of `mask` and every pixel whose 8-neighbourhood of `radius` (Chebyshev distance) touches it.
/// Radius 0 gives a copy.
pub fn grown(mask: &Mask, radius: u32) -> Result<Mask, OutOfMemory> {
    let (width, height) = (mask.width() as usize, mask.height() as usize);
    let radius = radius as usize;
    let mut across = Mask::try_filled(mask.width(), mask.height(), false)?;
    for (source, target) in mask.rows().zip(across.data.chunks_exact_mut(width.max(1))) {
        for x in 0..width {
            if source[x] {
                target[x.saturating_sub(radius)..(x + radius + 1).min(width)].fill(true);
            }
        }
    }
    let mut out = Mask::try_filled(mask.width(), mask.height(), false)?;
    for y in 0..height {
        for near in y.saturating_sub(radius)..(y + radius + 1).min(height) {
            for x in 0..width {
                out.data[y * width + x] |= across.data[near * width + x];
            }
        }
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grid_is_only_made_from_as_many_values_as_it_has_pixels() {
        assert!(Grid::from_vec(2, 2, vec![1, 2, 3]).is_none());
        let grid = Grid::from_vec(3, 2, vec![1, 2, 3, 4, 5, 6]).unwrap();
        assert_eq!(grid.row(1), &[4, 5, 6]);
        assert_eq!(grid.get(2, 1), Some(&6));
        assert_eq!(grid.get(3, 0), None);
        assert_eq!(grid.row(2), &[] as &[i32]);
        assert_eq!(grid.view()[[1, 0]], 4);
    }

    #[test]
    fn impossible_memory_is_an_error_not_an_abort() {
        assert!(try_vec::<f64>(u64::MAX).is_err());
        assert!(Grid::<f64>::try_filled(u32::MAX, u32::MAX, 0.0).is_err());
    }

    #[test]
    fn turning_four_times_and_mirroring_twice_lead_back() {
        let grid = Grid::from_vec(3, 2, vec![1, 2, 3, 4, 5, 6]).unwrap();
        let turned = grid.oriented(Orientation::new(1, false)).unwrap();
        assert_eq!((turned.width(), turned.height(), turned.data()), (2, 3, &[4, 1, 5, 2, 6, 3][..]));
        let back = (0..3).fold(turned, |g, _| g.oriented(Orientation::new(1, false)).unwrap());
        assert_eq!(back, grid);
        let mirrored = grid.oriented(Orientation::new(0, true)).unwrap();
        assert_eq!(mirrored.data(), [3, 2, 1, 6, 5, 4]);
        let empty = Grid::<u8>::from_vec(0, 4, vec![]).unwrap();
        assert_eq!(empty.oriented(Orientation::new(1, false)).unwrap().width(), 4);
    }

    #[test]
    fn a_frame_cuts_and_pads() {
        let grid = Grid::from_vec(3, 2, vec![1, 2, 3, 4, 5, 6]).unwrap();
        let framed = grid.framed(&Frame { x: 1, y: -1, width: 3, height: 2 }).unwrap();
        assert_eq!(framed.data(), [0, 0, 0, 2, 3, 0]);
        let beside = grid.framed(&Frame { x: 5, y: 0, width: 1, height: 1 }).unwrap();
        assert_eq!(beside.data(), [0]);
    }

    #[test]
    fn growing_by_one_takes_the_eight_neighbours_and_stays_inside() {
        let mut mask = Mask::try_filled(4, 3, false).unwrap();
        mask.data_mut()[0] = true;
        let grown = grown(&mask, 1).unwrap();
        let inside: Vec<usize> = (0..12).filter(|&i| grown.data()[i]).collect();
        assert_eq!(inside, [0, 1, 4, 5]);
    }
}
