//! The values of a map at a glance.

use super::{Plane, Tally};
use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;

/// What is seen of the values at a glance. Blank pixels are left out of the first three.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stats {
    /// Smallest value; `None` when every pixel is blank.
    pub low: Option<f64>,
    /// Largest value.
    pub high: Option<f64>,
    /// Median (mean of the middle two for an even number).
    pub median: Option<f64>,
    /// Value that 99.5 % of the pixels do not exceed: where a picture's scale may end.
    pub near_high: Option<f64>,
    /// Pixels without data.
    pub blank: u64,
    /// Pixels at the largest value of an integer type.
    pub saturated: u64,
    /// Every value is a whole number.
    pub is_whole: bool,
}

/// Share of the pixels that [`Stats::near_high`] is not exceeded by.
const NEAR_HIGH: f64 = 0.995;

impl Stats {
    /// Integers of up to 16 bits are counted; of other types only the values near the ranks that are wanted are looked at
    /// twice. Both give what sorting all values gives, to the last bit.
    pub(super) fn of(plane: &Plane) -> Result<Self, OutOfMemory> {
        match Tally::of(plane)? {
            Some(tally) => Ok(Self::of_tally(&tally, plane.ceiling())),
            None => Self::of_values(plane),
        }
    }

    fn of_tally(tally: &Tally, ceiling: Option<f64>) -> Self {
        let n = tally.with_data();
        let ranks = tally.ranks();
        let mut at = |rank: u64| ranks.value(rank);
        Self {
            low: tally.low(),
            high: tally.high(),
            median: quantile(n, 0.5, &mut at),
            near_high: quantile(n, NEAR_HIGH, &mut at),
            blank: tally.blank(),
            saturated: ceiling
                .map_or(0, |c| tally.occurring().filter(|(v, _)| *v >= c).map(|(_, n)| n).sum()),
            is_whole: tally.occurring().all(|(v, _)| v.fract() == 0.0),
        }
    }

    fn of_values(plane: &Plane) -> Result<Self, OutOfMemory> {
        let mut row = try_filled_vec(u64::from(plane.width()), 0.0)?;
        let mut each = |look: &mut dyn FnMut(f64)| {
            for y in 0..plane.height() {
                plane.read_row(y, &mut row);
                row.iter().filter(|v| !v.is_nan()).for_each(|&v| look(v));
            }
        };
        // First how many values share the upper bits of their order, then the values of the few groups that matter.
        let ceiling = plane.ceiling().unwrap_or(f64::NAN);
        let mut groups = try_filled_vec(GROUPS, 0u64)?;
        let (mut ends, mut saturated, mut is_whole) = (None, 0, true);
        each(&mut |v| {
            groups[group(v)] += 1;
            saturated += u64::from(v >= ceiling);
            is_whole &= v.fract() == 0.0;
            let (low, high) = ends.get_or_insert((v, v));
            if v.total_cmp(low).is_lt() {
                *low = v;
            }
            if v.total_cmp(high).is_gt() {
                *high = v;
            }
        });
        let n: u64 = groups.iter().sum();
        let mut is_wanted = try_filled_vec(GROUPS, false)?;
        let mut below = try_filled_vec(GROUPS, 0u64)?;
        let wanted =
            [0.5, NEAR_HIGH].into_iter().filter_map(|q| ranks(n, q)).flat_map(|(rank, next, _)| [rank, next]);
        for rank in wanted {
            is_wanted[group_of_rank(&groups, rank)] = true;
        }
        // Where the values of each wanted group start among those kept, and how many others lie below them.
        let (mut kept, mut left_out) = (0, 0);
        for (place, count) in groups.iter().enumerate() {
            below[place] = left_out;
            *(if is_wanted[place] { &mut kept } else { &mut left_out }) += count;
        }
        let mut values: Vec<f64> = try_vec(kept)?;
        each(&mut |v| {
            if is_wanted[group(v)] {
                values.push(v);
            }
        });
        let mut at = |rank: u64| {
            let rank = rank - below[group_of_rank(&groups, rank)];
            *values.select_nth_unstable_by(rank as usize, f64::total_cmp).1
        };
        Ok(Self {
            low: ends.map(|(low, _)| low),
            high: ends.map(|(_, high)| high),
            median: quantile(n, 0.5, &mut at),
            near_high: quantile(n, NEAR_HIGH, &mut at),
            blank: plane.len() - n,
            saturated,
            is_whole,
        })
    }
}

/// Groups into which the upper 16 bits of their place in the total order divide numbers.
const GROUPS: u64 = 1 << 16;

/// The group of a number; groups ascend as numbers do.
fn group(value: f64) -> usize {
    let bits = value.to_bits();
    let ascending = if bits >> 63 == 1 { !bits } else { bits | 1 << 63 };
    (ascending >> 48) as usize
}

/// The group in which a rank lies, given how many numbers each holds; the last for a rank beyond all.
fn group_of_rank(groups: &[u64], rank: u64) -> usize {
    let mut seen = 0;
    let holds = |count: &u64| {
        seen += count;
        seen > rank
    };
    groups.iter().position(holds).unwrap_or(groups.len() - 1)
}

/// The ranks between which a quantile of `n` values lies, and its share of the way; `None` without values.
fn ranks(n: u64, q: f64) -> Option<(u64, u64, f64)> {
    let last = n.checked_sub(1)?;
    let rank = q * last as f64;
    let below = (rank.floor() as u64).min(last);
    Some((below, (below + 1).min(last), rank - below as f64))
}

/// [`crate::numerics::order::quantile`] of `n` values of which only those at two ranks are asked for.
fn quantile(n: u64, q: f64, at: &mut impl FnMut(u64) -> f64) -> Option<f64> {
    let (rank, next, share) = ranks(n, q)?;
    let value = at(rank);
    Some(value + (at(next) - value) * share)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Samples};

    #[test]
    fn blanks_and_saturated_pixels_are_counted_apart() {
        let floats = Samples::F32(Grid::from_vec(2, 2, vec![f32::NAN, 1.0, 3.0, f32::INFINITY]).unwrap());
        let stats = Stats::of(&Plane::new(floats)).unwrap();
        assert_eq!(
            (stats.low, stats.high, stats.median, stats.blank, stats.saturated),
            (Some(1.0), Some(3.0), Some(2.0), 2, 0)
        );
        let counts = Samples::U16(Grid::from_vec(3, 1, vec![65_535, 7, 65_535]).unwrap());
        assert_eq!(Stats::of(&Plane::new(counts)).unwrap().saturated, 2);
    }

    /// As it was done at first: all values sorted.
    fn by_sorting(plane: &Plane) -> Stats {
        use crate::numerics::order;
        let mut values: Vec<f64> = plane.to_f64().unwrap().into_vec();
        let total = values.len() as u64;
        values.retain(|v| !v.is_nan());
        order::sort(&mut values);
        let ceiling = plane.ceiling();
        Stats {
            low: values.first().copied(),
            high: values.last().copied(),
            median: order::quantile(&values, 0.5),
            near_high: order::quantile(&values, 0.995),
            blank: total - values.len() as u64,
            saturated: ceiling.map_or(0, |c| values.iter().rev().take_while(|&&v| v >= c).count() as u64),
            is_whole: values.iter().all(|v| v.fract() == 0.0),
        }
    }

    fn bits(stats: &Stats) -> ([Option<u64>; 4], u64, u64, bool) {
        let values = [stats.low, stats.high, stats.median, stats.near_high];
        (values.map(|v| v.map(f64::to_bits)), stats.blank, stats.saturated, stats.is_whole)
    }

    #[test]
    fn counting_and_selecting_give_what_sorting_gives() {
        use crate::geometry::Area;
        use crate::stack::Reading;
        let mut state = 12_345u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            state >> 8
        };
        let readings = [
            Reading::default(),
            Reading { fill_values: vec![0.0, 65_535.0, -1.0], ..Reading::default() },
            Reading { gain: 3.0, offset: 7.0, ..Reading::default() },
            Reading {
                fill_values: vec![5.0, 127.0],
                blank_areas: vec![
                    Area { x: 1, y: 0, width: 2, height: 9 },
                    Area { x: 2, y: 1, width: 90, height: 2 },
                ],
                gain: 0.1,
                offset: -2.5,
            },
        ];
        let mut compared = 0;
        for (width, height) in [(0, 0), (1, 1), (2, 1), (3, 1), (7, 5), (40, 31)] {
            let n = (width * height) as usize;
            // Few values and many, with ends of the types among them.
            for spread in [2u32, 9, 300, 70_000] {
                let mut raw = || -> Vec<u32> { (0..n).map(|_| next() % spread).collect() };
                let grid = |values: Vec<u32>| Grid::from_vec(width, height, values).unwrap();
                fn cast<T>(grid: Grid<u32>, with: impl Fn(u32) -> T) -> Grid<T> {
                    let (width, height) = (grid.width(), grid.height());
                    Grid::from_vec(width, height, grid.data().iter().map(|&v| with(v)).collect()).unwrap()
                }
                let odd = [f64::NAN, f64::INFINITY, -0.0, 0.0, f64::NEG_INFINITY, 1e300, -1e-300];
                let float = |v: u32| if v % 11 < 7 { odd[v as usize % 11] } else { f64::from(v) / 7.0 };
                let all = [
                    Samples::U8(cast(grid(raw()), |v| v as u8)),
                    Samples::I8(cast(grid(raw()), |v| v as i8)),
                    Samples::U16(cast(grid(raw()), |v| v as u16)),
                    Samples::I16(cast(grid(raw()), |v| v as i16)),
                    Samples::U32(cast(grid(raw()), |v| v.wrapping_mul(70_001))),
                    Samples::I32(cast(grid(raw()), |v| v.wrapping_mul(70_001).cast_signed())),
                    Samples::F32(cast(grid(raw()), |v| float(v) as f32)),
                    Samples::F64(cast(grid(raw()), float)),
                ];
                for samples in all {
                    for reading in &readings {
                        let plane = Plane::new(samples.clone()).read_as(reading.clone());
                        let (got, want) = (Stats::of(&plane).unwrap(), by_sorting(&plane));
                        assert_eq!(bits(&got), bits(&want), "{plane:?}\n{got:?}\n{want:?}");
                        compared += 1;
                    }
                }
            }
        }
        assert_eq!(compared, 6 * 4 * 8 * 4);
    }

    #[test]
    fn a_map_of_blanks_has_no_values() {
        let blank = Samples::F64(Grid::from_vec(1, 2, vec![f64::NAN; 2]).unwrap());
        let stats = Stats::of(&Plane::new(blank)).unwrap();
        assert_eq!((stats.low, stats.high, stats.median, stats.blank), (None, None, None, 2));
    }
}
