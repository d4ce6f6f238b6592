//! How many zones: by what the other half of the counts says.
//!
//! Zones are made on one half and tested on the other. A zone too many is made of noise, which the other half does not have:
//! there it costs more than it saves. The number is the smallest that takes 99 of 100 parts of the largest fall of that
//! cost from one zone on; 1 where no number lowers it by more than chance does.

use super::field::Field;
use super::halves::Halves;
use super::kmeans::{Points, best_of, distance, nearest};
use super::nmf::{Parts, of_count, step_of_pixel, sums_of};
use super::{By, Progress, Wish, agree, started};
use crate::notice::OutOfMemory;

/// The most zones there can be.
pub const MOST_ZONES: usize = 10;
/// Pixels on which numbers are tried with means.
const TRIED_BY_MEANS: usize = 20_000;
/// The same with parts, which take longer.
const TRIED_BY_PARTS: usize = 6_000;
/// Starts and rounds of a trial.
const EFFORT: (u32, u32) = (5, 60);
const ROUNDS: u32 = 60;
/// The share of the largest fall that is enough.
const ENOUGH: f64 = 0.99;
/// A fall of so many standard errors is more than chance.
const SURE: f64 = 4.0;

/// A number and what speaks for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Chosen {
    /// How many zones.
    pub count: usize,
    /// For 1, 2, 3 ... zones what the tested half costs, over what it costs with one zone; empty where the number was given.
    pub curve: Vec<f64>,
    /// Adjusted Rand index of the zones that either half makes by itself, with this number; `None` with one zone.
    pub agreement: Option<f64>,
}

/// Chooses the number, or looks at the one that is wished.
///
/// # Errors
/// No memory.
pub fn choose(halves: &Halves, wish: &Wish, progress: Progress<'_>) -> Result<Chosen, OutOfMemory> {
    let (first, second) = (halves.first(), halves.second());
    let a = first.standardised(None)?;
    let b = second.standardised(Some(&a))?;
    // Parts of single pixels fit their noise: a part that counted nothing by chance is ruled out for good.
    let reach = if wish.by == By::Parts { wish.reach().max(1) } else { wish.reach() };
    let smooth = |field: &Field| match reach {
        0 => Ok(field.clone()),
        reach => field.smoothed(reach),
    };
    let (smooth_a, smooth_b) = (smooth(&a)?, smooth(&b)?);
    let most = if wish.by == By::Means { TRIED_BY_MEANS } else { TRIED_BY_PARTS };
    let places = a.sample(most, wish.seed)?;
    let maps = a.maps();
    let (rows_a, rows_b) = (smooth_a.rows(&places)?, smooth_b.rows(&places)?);
    let points = Points { values: &rows_a, maps };
    let mut curve = Vec::new();
    let mut count = wish.zones.unwrap_or(1);
    if wish.zones.is_none() {
        let tested = b.rows(&places)?;
        let counts: Vec<f64> =
            places.iter().flat_map(|&i| second.maps.iter().map(move |map| map.values[i].max(0.0))).collect();
        let highest = wish.highest(maps).min(places.len());
        let mut costs: Vec<Vec<f64>> = Vec::new();
        for k in 1..=highest {
            progress(k as f64 / (highest + 1) as f64, &format!("{k} zones on half the counts"));
            let groups = best_of(points, k, EFFORT, wish.seed);
            costs.push(match wish.by {
                By::Means => {
                    let of = tested.chunks_exact(maps).zip(&groups.labels);
                    of.map(|(row, &label)| distance(row, centre(&groups.centres, label, maps))).collect()
                }
                By::Parts => {
                    let (x, mut parts) = started(&smooth_a, &rows_a, &groups);
                    parts.improve(&x, ROUNDS);
                    deviances(&parts, &counts)
                }
            });
        }
        (count, curve) = smallest(&costs);
    }
    let agreement = (count > 1).then(|| {
        let of = |rows: &[f64], seed: u64| -> Vec<u8> {
            let groups = best_of(Points { values: rows, maps }, count, EFFORT, seed);
            match wish.by {
                By::Means => groups.labels.iter().map(|&label| label as u8 + 1).collect(),
                By::Parts => {
                    let (x, mut parts) = started(&smooth_a, rows, &groups);
                    parts.improve(&x, ROUNDS);
                    parts.normalise();
                    strongest(&parts)
                }
            }
        };
        agree::adjusted_rand(&of(&rows_a, wish.seed), &of(&rows_b, wish.seed.wrapping_add(1)))
    });
    Ok(Chosen { count, curve, agreement })
}

fn centre(centres: &[f64], label: u32, maps: usize) -> &[f64] {
    &centres[label as usize * maps..(label as usize + 1) * maps]
}

/// Twice the divergence of each pixel.
fn deviances(parts: &Parts, counts: &[f64]) -> Vec<f64> {
    let rows = counts.chunks_exact(parts.maps).zip(parts.w.chunks_exact(parts.count));
    rows.map(|(row, w)| {
        let of = |j: usize| w.iter().enumerate().map(|(c, s)| s * parts.h[c * parts.maps + j]).sum::<f64>();
        row.iter().enumerate().map(|(j, &value)| 2.0 * of_count(value, of(j))).sum()
    })
    .collect()
}

/// Of every pixel the part that counts most in it, from 1 on.
fn strongest(parts: &Parts) -> Vec<u8> {
    parts.w.chunks_exact(parts.count).map(strongest_of).collect()
}

/// The place of the largest strength, from 1 on; the first of several.
pub fn strongest_of(w: &[f64]) -> u8 {
    let mut best = 0;
    for (part, strength) in w.iter().enumerate() {
        if *strength > w[best] {
            best = part;
        }
    }
    best as u8 + 1
}

/// The smallest number that is as good as any, and the mean cost with each over that with one.
fn smallest(costs: &[Vec<f64>]) -> (usize, Vec<f64>) {
    let mean = |costs: &Vec<f64>| costs.iter().sum::<f64>() / (costs.len() as f64).max(1.0);
    let means: Vec<f64> = costs.iter().map(mean).collect();
    let Some(&of_one) = means.first().filter(|mean| **mean > 0.0) else { return (1, Vec::new()) };
    let curve = means.iter().map(|mean| mean / of_one).collect();
    let mut best = 0;
    for (i, mean) in means.iter().enumerate() {
        if *mean < means[best] {
            best = i;
        }
    }
    let fall = of_one - means[best];
    let n = costs[0].len() as f64;
    let squares: f64 =
        costs[0].iter().zip(&costs[best]).map(|(x, y)| (x - y - fall) * (x - y - fall)).sum::<f64>();
    if best == 0 || fall <= SURE * (squares / n / (n - 1.0).max(1.0)).sqrt() {
        return (1, curve);
    }
    let count = means.iter().position(|mean| of_one - mean >= ENOUGH * fall).unwrap_or(best);
    (count + 1, curve)
}

/// Labels of all pixels of a field by the nearest centre; 0 where it is not used.
pub fn by_centres(field: &Field, centres: &[f64], out: &mut [u8]) {
    let mut row = vec![0.0; field.maps()];
    for (i, label) in out.iter_mut().enumerate() {
        *label = 0;
        if field.used[i] {
            widen(field.pixel(i), &mut row);
            *label = nearest(&row, centres).0 as u8 + 1;
        }
    }
}

pub fn widen(from: &[f32], to: &mut [f64]) {
    for (to, from) in to.iter_mut().zip(from) {
        *to = f64::from(*from);
    }
}

/// Rounds for the strengths of a pixel where the spectra are settled.
const ROUNDS_OF_PIXEL: u32 = 25;

/// Strengths of parts in a pixel of a field, with spectra that sum to 1 each.
pub fn strengths(field: &Field, i: usize, h: &[f64], w: &mut [f64], (x, buffer): (&mut [f64], &mut [f64])) {
    for ((x, value), scaling) in x.iter_mut().zip(field.pixel(i)).zip(&field.scalings) {
        *x = scaling.value(f64::from(*value)).max(0.0);
    }
    let sums = sums_of(h, x.len());
    w.fill(x.iter().sum::<f64>() / w.len() as f64 + 1e-9);
    for _ in 0..ROUNDS_OF_PIXEL {
        step_of_pixel(x, w, h, &sums, buffer);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_smallest_number_that_is_as_good_as_any_is_taken() {
        let costs = |means: [f64; 4]| {
            means.map(|m| (0..100).map(|i| m + f64::from(i % 2) * 0.01).collect::<Vec<_>>())
        };
        assert_eq!(smallest(&costs([10.0, 4.0, 3.97, 3.99])).0, 2);
        assert_eq!(smallest(&costs([10.0, 4.0, 3.0, 3.1])).0, 3);
        assert_eq!(smallest(&costs([10.0, 10.5, 11.0, 12.0])).0, 1);
        assert_eq!(smallest(&[]).0, 1);
        // A fall that is within chance.
        let noisy =
            |shift: f64| (0..100).map(|i| 10.0 + shift + f64::from(i * 37 % 100) * shift.signum()).collect();
        assert_eq!(smallest(&[noisy(0.5), noisy(-0.5)]).0, 2);
        let one: Vec<f64> = (0..100).map(|i| f64::from(i * 37 % 100)).collect();
        let two: Vec<f64> = (0..100).map(|i| f64::from((i * 53 + 1) % 100) - 0.5).collect();
        assert_eq!(smallest(&[one, two]).0, 1);
    }
}
