//! Maps that lie otherwise than the others, by their coarse pictures.

use super::survey::{CELLS, stored_row};
use crate::grid::{Grid, Samples, try_filled_vec};
use crate::notice::{OutOfMemory, Turn};
use crate::stack::Plane;

/// Correlation from which a turned map is believed to fit.
const FITS: f64 = 0.9;
/// Maps among which [`FITS`] is enough. Among more, some fit by chance: what is missing to 1 shrinks with their number.
const FEW_MAPS: f64 = 12.0;
/// As it lies it must fit worse than this.
const DOES_NOT_FIT: f64 = 0.6;
/// Two maps that exclude each other more than this are two halves of a design rather than one map laid wrong.
const EXCLUDES: f64 = -0.4;
/// The best way must be better than the second by this.
const CLEARLY: f64 = 0.15;

/// Pearson's r over places where both have data; `None` with fewer than 16 or without any spread.
pub(super) fn correlation(a: &[f64], b: &[f64]) -> Option<f64> {
    let (mut n, mut x, mut y, mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
    let (base_a, base_b) = (
        a.iter().copied().find(|v| !v.is_nan()).unwrap_or(0.0),
        b.iter().copied().find(|v| !v.is_nan()).unwrap_or(0.0),
    );
    for (p, q) in a.iter().zip(b) {
        let (p, q) = (p - base_a, q - base_b);
        if p.is_nan() || q.is_nan() {
            continue;
        }
        n += 1.0;
        x += p;
        y += q;
        xx += p * p;
        yy += q * q;
        xy += p * q;
    }
    let (var_x, var_y) = (xx - x * x / n, yy - y * y / n);
    let has_spread = n >= 16.0 && var_x > 1e-12 * xx && var_y > 1e-12 * yy && var_x > 0.0 && var_y > 0.0;
    has_spread.then(|| (xy - x * y / n) / (var_x.sqrt() * var_y.sqrt()))
}

/// A coarse picture with its bright parts drawn nearer, so that one spot does not decide.
pub(super) fn evened(coarse: &[f64]) -> Vec<f64> {
    let low = coarse.iter().copied().fold(f64::INFINITY, |m, v| if v < m { v } else { m });
    coarse.iter().map(|v| (v - low).max(0.0).sqrt() + if v.is_nan() { f64::NAN } else { 0.0 }).collect()
}

/// A coarse picture (32 x 32) laid another way.
pub(super) fn turned(coarse: &[f64], turn: Turn) -> Vec<f64> {
    let n = CELLS;
    let mut out = vec![f64::NAN; n * n];
    for y in 0..n {
        for x in 0..n {
            // Where this pixel comes from: back through the turns, then through the mirror.
            let (mut from_x, mut from_y) = (x, y);
            for _ in 0..turn.quarter_turns % 4 {
                (from_x, from_y) = (from_y, n - 1 - from_x);
            }
            if turn.mirror {
                from_x = n - 1 - from_x;
            }
            out[y * n + x] = coarse[from_y * n + from_x];
        }
    }
    out
}

/// A map laid another way, as stored, blanks as NaN; in 32 bits, which is enough to compare.
pub(super) fn turned_plane(plane: &Plane, turn: Turn) -> Result<Plane, OutOfMemory> {
    let (width, height) = plane.size();
    let (out_width, out_height) = if turn.swaps_sides() { (height, width) } else { (width, height) };
    let mut out = Grid::try_filled(out_width, out_height, f32::NAN)?;
    let mut row = try_filled_vec(u64::from(width), 0.0)?;
    let mut scratch = try_filled_vec(u64::from(width), 0.0)?;
    for y in 0..height {
        stored_row(plane, y, &mut row, &mut scratch);
        for (x, &v) in (0..width).zip(&row) {
            let (mut to_x, mut to_y, mut high, mut wide) = (x, y, height, width);
            if turn.mirror {
                to_x = width - 1 - to_x;
            }
            for _ in 0..turn.quarter_turns % 4 {
                (to_x, to_y) = (high - 1 - to_y, to_x);
                (wide, high) = (high, wide);
            }
            out.data_mut()[to_y as usize * out_width as usize + to_x as usize] = v as f32;
        }
    }
    Ok(Plane::new(Samples::F32(out)))
}

/// The turn that undoes `turn`.
pub(super) fn undone(turn: Turn) -> Turn {
    if turn.mirror { turn } else { Turn { quarter_turns: (4 - turn.quarter_turns % 4) % 4, mirror: false } }
}

/// The way in which `map` fits `reference` clearly best among `ways`, and how well.
pub(super) fn best_way(map: &[f64], reference: &[f64], ways: &[Turn]) -> Option<(Turn, f64)> {
    let mut found: Vec<(f64, Turn)> =
        ways.iter().filter_map(|&way| Some((correlation(&turned(map, way), reference)?, way))).collect();
    found.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    let (best, way) = *found.first()?;
    let second = found.get(1).map_or(-1.0, |f| f.0);
    (best >= second + CLEARLY).then_some((way, best))
}

/// A map that lies wrong.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Wrong {
    pub map: usize,
    pub like: usize,
    pub turn: Turn,
    pub is_either: bool,
    pub fit: f64,
}

/// Maps of one size that fit another only in another way: r at least 0.9 (more among many maps) turned, below 0.6 as they lie, no other way within
/// 0.15, and not each where the other is not. A symmetric design in two colours looks the same; whether the pixels lie on each
/// other about the middle of the map is checked by the caller. Of the two, the one with fewer maps that lie as it does (r at least 0.6) is taken to be wrong.
///
/// Not seen: maps without a partner they resemble that much, symmetric objects, faint maps.
pub(super) fn wrong(coarse: &[Vec<f64>], is_square: bool) -> Vec<Wrong> {
    let n = coarse.len();
    let ways: Vec<Turn> = Turn::ALL.into_iter().filter(|way| is_square || !way.swaps_sides()).collect();
    let evened: Vec<Vec<f64>> = coarse.iter().map(|c| evened(c)).collect();
    let as_is: Vec<Vec<f64>> = (0..n)
        .map(|i| (0..n).map(|j| correlation(&evened[i], &evened[j]).unwrap_or(0.0)).collect())
        .collect();
    let friends =
        |i: usize, not: usize| (0..n).filter(|&k| k != i && k != not && as_is[i][k] >= DOES_NOT_FIT).count();
    let fits = 1.0 - (1.0 - FITS) * (FEW_MAPS / n as f64).min(1.0);
    let mut out: Vec<Wrong> = Vec::new();
    for i in 0..n {
        for j in i + 1..n {
            if !(EXCLUDES..DOES_NOT_FIT).contains(&as_is[i][j]) {
                continue;
            }
            let Some((turn, fit)) = best_way(&evened[i], &evened[j], &ways) else { continue };
            if turn == Turn::NONE || fit < fits {
                continue;
            }
            let (of_i, of_j) = (friends(i, j), friends(j, i));
            let is_either = of_i == of_j;
            let found = if of_i < of_j {
                Wrong { map: i, like: j, turn, is_either, fit }
            } else {
                Wrong { map: j, like: i, turn: undone(turn), is_either, fit }
            };
            match out.iter_mut().find(|other| other.map == found.map) {
                Some(other) if found.fit > other.fit => *other = found,
                Some(_) => {}
                None => out.push(found),
            }
        }
    }
    out.sort_by_key(|wrong| wrong.map);
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turns_are_what_their_words_say() {
        let n = CELLS;
        let picture: Vec<f64> = (0..n * n).map(|i| i as f64).collect();
        let at = |turn: (u8, bool), x: usize, y: usize| {
            turned(&picture, Turn { quarter_turns: turn.0, mirror: turn.1 })[y * n + x] as usize
        };
        // The upper left pixel (0) and the upper right one (31).
        assert_eq!((at((1, false), n - 1, 0), at((1, false), n - 1, n - 1)), (0, n - 1));
        assert_eq!((at((2, false), n - 1, n - 1), at((2, false), 0, n - 1)), (0, n - 1));
        assert_eq!((at((0, true), n - 1, 0), at((0, true), 0, 0)), (0, n - 1));
        assert_eq!((at((2, true), 0, n - 1), at((2, true), n - 1, n - 1)), (0, n - 1));
        assert_eq!((at((3, true), 0, 0), at((3, true), 0, n - 1)), (0, n - 1));
        for turn in Turn::ALL {
            assert_eq!(turned(&turned(&picture, turn), undone(turn)), picture, "{turn:?}");
        }
    }

    #[test]
    fn a_map_turns_as_its_coarse_picture_does() {
        let n = CELLS as u32;
        let picture: Vec<f64> = (0..n * n).map(f64::from).collect();
        let plane = Plane::new(Samples::F64(Grid::from_vec(n, n, picture.clone()).unwrap()));
        for turn in Turn::ALL {
            let turned_map = turned_plane(&plane, turn).unwrap();
            assert_eq!(turned_map.to_f64().unwrap().data(), turned(&picture, turn), "{turn:?}");
        }
        let thin = Plane::new(Samples::U8(Grid::from_vec(3, 1, vec![1, 2, 3]).unwrap()));
        let thin = turned_plane(&thin, Turn { quarter_turns: 1, mirror: false }).unwrap();
        assert_eq!((thin.size(), thin.value(0, 0), thin.value(0, 2)), ((1, 3), Some(1.0), Some(3.0)));
    }

    #[test]
    fn no_spread_has_no_correlation() {
        assert_eq!(correlation(&[1.0; 40], &[2.0; 40]), None);
        let line: Vec<f64> = (0..40).map(f64::from).collect();
        assert!((correlation(&line, &line).unwrap() - 1.0).abs() < 1e-12);
        assert_eq!(correlation(&line[..10], &line[..10]), None);
    }
}
