//! A mask as text for records: the lengths of its runs, row after row without a break between rows, the first one outside.

use crate::grid::{Mask, try_vec};
use crate::notice::OutOfMemory;

/// More characters than this no mask takes in a record: half a million runs or more.
const LONGEST: usize = 4_000_000;

/// Lengths of runs as decimal numbers with spaces between: "3 2 7" is three pixels outside, two inside, seven outside. `None`
/// for a mask that is scattered so finely that the text would be longer than a record should be.
pub fn runs_of(mask: &Mask) -> Option<String> {
    let mut out = String::new();
    let mut put = |length: u64| {
        if !out.is_empty() {
            out.push(' ');
        }
        out.push_str(&length.to_string());
        out.len() <= LONGEST
    };
    let (mut inside, mut length) = (false, 0u64);
    for &pixel in mask.data() {
        if pixel != inside {
            if !put(length) {
                return None;
            }
            (inside, length) = (pixel, 0);
        }
        length += 1;
    }
    put(length).then_some(out)
}

/// The mask of a text of [`runs_of`]; `None` where the runs are not numbers or do not make as many pixels as the size has.
///
/// # Errors
/// No memory.
pub fn mask_of_runs((width, height): (u32, u32), runs: &str) -> Result<Option<Mask>, OutOfMemory> {
    let pixels = u64::from(width) * u64::from(height);
    // Before memory is taken.
    let mut sum = 0u64;
    for run in runs.split(' ') {
        let Ok(length) = run.parse::<u64>() else { return Ok(None) };
        sum = sum.saturating_add(length);
    }
    if sum != pixels {
        return Ok(None);
    }
    let mut data: Vec<bool> = try_vec(pixels)?;
    let mut inside = false;
    for length in runs.split(' ').filter_map(|run| run.parse::<usize>().ok()) {
        data.resize(data.len() + length, inside);
        inside = !inside;
    }
    Ok(Mask::from_vec(width, height, data))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn there_and_back() {
        for (width, height, pixels) in [
            (3, 2, vec![false, false, true, true, true, false]),
            (2, 2, vec![true; 4]),
            (2, 1, vec![false; 2]),
            (0, 4, vec![]),
        ] {
            let mask = Mask::from_vec(width, height, pixels).unwrap();
            let runs = runs_of(&mask).unwrap();
            assert_eq!(mask_of_runs((width, height), &runs).unwrap(), Some(mask), "{runs}");
        }
        let mask = Mask::from_vec(3, 2, vec![false, false, true, true, true, false]).unwrap();
        assert_eq!(runs_of(&mask).unwrap(), "2 3 1");
    }

    #[test]
    fn runs_that_do_not_fit_are_none_before_memory_is_taken() {
        for runs in [
            "",
            "2 3",
            "2 3 2",
            "2  3 1",
            "a",
            "-1 7",
            "6.0",
            "99999999999999999999 1",
            "18446744073709551615 7",
        ] {
            assert_eq!(mask_of_runs((3, 2), runs).unwrap(), None, "{runs}");
        }
        assert_eq!(mask_of_runs((u32::MAX, u32::MAX), "1 2 3").unwrap(), None);
    }

    #[test]
    fn dust_is_not_written() {
        let pixels = (0..2100 * 2100).map(|i| i % 2 == 0).collect();
        assert_eq!(runs_of(&Mask::from_vec(2100, 2100, pixels).unwrap()), None);
    }
}
