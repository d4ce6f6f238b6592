//! How often each value of a map occurs, for types with few values.

use super::Plane;
use crate::geometry::Area;
use crate::grid::{Samples, try_filled_vec};
use crate::notice::OutOfMemory;

/// How often each value occurs in a map of integers of up to 16 bits, with what was stated of it: fill values and blank
/// areas are blank, gain and offset are undone. Values stand in ascending order, one for each step in which they were
/// stored, from the lowest that occurs to the highest; a step between them that does not occur has the count 0.
#[derive(Debug, Clone, PartialEq)]
pub struct Tally {
    values: Vec<f64>,
    counts: Vec<u64>,
    with_data: u64,
    blank: u64,
}

impl Tally {
    /// Counts every pixel once; `None` for types of more than 16 bits.
    ///
    /// # Errors
    /// No memory.
    pub fn of(plane: &Plane) -> Result<Option<Self>, OutOfMemory> {
        // Stored number of the first count, and the counts of all numbers of the type.
        let (first, mut counts): (i32, Vec<u64>) = match plane.samples() {
            Samples::U8(grid) => (0, counted(plane, grid.rows(), 256, |v| usize::from(*v))?),
            Samples::I8(grid) => (-128, counted(plane, grid.rows(), 256, |v| place(i32::from(*v) + 128))?),
            Samples::U16(grid) => (0, counted(plane, grid.rows(), 65_536, |v| usize::from(*v))?),
            Samples::I16(grid) => {
                (-32_768, counted(plane, grid.rows(), 65_536, |v| place(i32::from(*v) + 32_768))?)
            }
            Samples::U32(_) | Samples::I32(_) | Samples::F32(_) | Samples::F64(_) => return Ok(None),
        };
        let stored = |place: usize| f64::from(first) + place as f64;
        for fill in &plane.reading().fill_values {
            let at = fill - f64::from(first);
            if at >= 0.0 && at < counts.len() as f64 && at.fract() == 0.0 {
                counts[at as usize] = 0;
            }
        }
        let occurs = |n: &u64| *n > 0;
        let with_data: u64 = counts.iter().sum();
        let blank = plane.len() - with_data;
        let (Some(low), Some(high)) = (counts.iter().position(occurs), counts.iter().rposition(occurs))
        else {
            return Ok(Some(Self { values: Vec::new(), counts: Vec::new(), with_data, blank }));
        };
        let reading = plane.reading();
        let values = (low..=high).map(|place| (stored(place) - reading.offset) / reading.gain).collect();
        counts.truncate(high + 1);
        counts.drain(..low);
        Ok(Some(Self { values, counts, with_data, blank }))
    }

    /// One value for each stored step from the lowest that occurs to the highest; empty where every pixel is blank.
    pub fn values(&self) -> &[f64] {
        &self.values
    }

    /// How many pixels hold each of [`Tally::values`].
    pub fn counts(&self) -> &[u64] {
        &self.counts
    }

    /// Values that occur, ascending, each with its pixels.
    pub fn occurring(&self) -> impl Iterator<Item = (f64, u64)> + '_ {
        self.values.iter().copied().zip(self.counts.iter().copied()).filter(|(_, n)| *n > 0)
    }

    /// Smallest value; `None` where every pixel is blank.
    pub fn low(&self) -> Option<f64> {
        self.values.first().copied()
    }

    /// Largest value.
    pub fn high(&self) -> Option<f64> {
        self.values.last().copied()
    }

    /// Pixels that are not blank.
    pub fn with_data(&self) -> u64 {
        self.with_data
    }

    /// Pixels without data.
    pub fn blank(&self) -> u64 {
        self.blank
    }

    /// The value at each rank, as if all were sorted.
    pub(super) fn ranks(&self) -> Ranks {
        let mut total = 0;
        let ends = self.counts.iter().map(|n| {
            total += n;
            total
        });
        Ranks { ends: ends.collect(), values: self.values.clone() }
    }
}

/// Where in the sorted order each value ends.
pub(super) struct Ranks {
    ends: Vec<u64>,
    values: Vec<f64>,
}

impl Ranks {
    /// The value at a rank from 0; NaN beyond the last, which nobody asks for.
    pub(super) fn value(&self, rank: u64) -> f64 {
        let place = self.ends.partition_point(|&end| end <= rank);
        self.values.get(place).copied().unwrap_or(f64::NAN)
    }
}

/// A shifted number of at least 0.
fn place(shifted: i32) -> usize {
    shifted.unsigned_abs() as usize
}

/// Counts of all numbers of a type outside the blank areas.
fn counted<'a, T: 'a>(
    plane: &Plane,
    rows: impl Iterator<Item = &'a [T]>,
    numbers: u64,
    place: impl Fn(&T) -> usize,
) -> Result<Vec<u64>, OutOfMemory> {
    let mut counts = try_filled_vec(numbers, 0u64)?;
    let areas: &[Area] = &plane.reading().blank_areas;
    for (y, row) in rows.enumerate() {
        let blank: Vec<_> =
            areas.iter().filter_map(|area| area.columns_of_row(y as u32, plane.width())).collect();
        if blank.is_empty() {
            for value in row {
                counts[place(value)] += 1;
            }
            continue;
        }
        for (x, value) in row.iter().enumerate() {
            if !blank.iter().any(|columns| columns.contains(&x)) {
                counts[place(value)] += 1;
            }
        }
    }
    Ok(counts)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::Grid;
    use crate::stack::Reading;

    #[test]
    fn steps_that_do_not_occur_stand_between_those_that_do() {
        let plane = Plane::new(Samples::I8(Grid::from_vec(5, 1, vec![-3, 0, 0, 127, -1]).unwrap()));
        let plane =
            plane.read_as(Reading { fill_values: vec![127.0, 0.5, 1e9, f64::NAN], ..Reading::default() });
        let tally = Tally::of(&plane).unwrap().unwrap();
        assert_eq!(tally.values(), [-3.0, -2.0, -1.0, 0.0]);
        assert_eq!((tally.counts(), tally.with_data(), tally.blank()), (&[1, 0, 1, 2][..], 4, 1));
        let floats = Plane::new(Samples::F32(Grid::from_vec(1, 1, vec![1.0]).unwrap()));
        assert!(Tally::of(&floats).unwrap().is_none());
    }
}
