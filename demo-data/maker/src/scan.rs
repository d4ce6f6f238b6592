//! The measurement: the beam walks over the sheet line by line and looks at a little more than one step; what each point
//! gives is counted in channels.

use std::collections::{BTreeMap, VecDeque};

use crate::layers::Physics;
use crate::paint::{Canvas, FINE, HEIGHT, Layer, STEP, UNIT_MM, WIDTH};
use crate::palette::{EDGE, INDIGO, OAK, SHADE, STAIN};
use crate::random::{Stream, noise};
use crate::spectrum::{CHANNELS, Detector, FIRST_KEV, STEP_KEV};
use crate::xray::Tables;

/// Counts for a unit of the tube.
const SCALE: f64 = 2.5e4;
/// Cells beyond a point that its beam still sees.
const REACH: usize = 8;
/// How far every other row of points lies to the right, in steps.
const EVERY_OTHER: f64 = 0.08;
/// Distance from the sheet to the detector, in millimetres, where the sheet is flat.
const DISTANCE_MM: f64 = 25.0;
/// Counts that the air and the instrument give at every point: argon, iron, nickel, copper.
const OWN: [(&str, f64); 4] = [("Ar", 26.0), ("Fe", 1.4), ("Ni", 0.8), ("Cu", 0.6)];
/// Points where a pulse of noise was counted: place, channel's energy in keV, counts.
const HOT: [(usize, usize, f64, f64); 5] = [
    (41, 158, 8.64, 90.0),
    (236, 31, 6.92, 130.0),
    (187, 196, 9.98, 70.0),
    (118, 74, 5.88, 110.0),
    (262, 131, 25.2, 60.0),
];

/// What each point gives on the mean, before the detector: lines, then points of the continuum.
pub struct Given {
    pub values: Vec<f64>,
    pub width: usize,
}

impl Given {
    /// Of one point.
    pub fn of(&self, point: usize) -> &[f64] {
        &self.values[point * self.width..(point + 1) * self.width]
    }
}

/// Full width at half maximum of the beam in steps: an optic spreads soft photons more.
fn beam_steps(kev: f64) -> f64 {
    (0.5 + 0.4 / kev) / (STEP * UNIT_MM)
}

/// How far the sheet has sunk below its frame, in millimetres: a warped board, a cockled paper.
fn relief_mm(x: f64, y: f64) -> f64 {
    let (u, v) = (x / 75.0 - 0.5, y / 55.0 - 0.5);
    1.1 * (u * u - 0.5 * v * v) + 0.22 * noise(801, x / 14.0, y / 11.0)
}

/// What the tube gives at a row: it loses a little and wavers.
fn drift(row: usize) -> f64 {
    let t = row as f64 / HEIGHT as f64;
    1.0 - 0.02 * t + 0.004 * libm::sin(11.0 * t)
}

/// The scan without chance.
pub fn give(canvas: &Canvas, tables: &Tables, physics: &Physics) -> Given {
    let width = physics.width();
    let kev: Vec<f64> =
        tables.lines.iter().map(|line| line.kev).chain(tables.conts.iter().map(|&(kev, _)| kev)).collect();
    let weights =
        |shift: f64| -> Vec<Vec<f64>> { kev.iter().map(|&kev| beam(beam_steps(kev), shift)).collect() };
    let (down, straight, aside) = (weights(0.0), weights(0.0), weights(EVERY_OTHER));
    let mut values = vec![0.0; WIDTH * HEIGHT * width];
    let (mut rows, mut known): (VecDeque<(usize, Vec<f64>)>, Known) = (VecDeque::new(), Known::new());
    for row in 0..HEIGHT {
        let last = (row * FINE + FINE + REACH).min(Canvas::HIGH);
        let next = rows.back().map_or(0, |(row, _)| row + 1);
        for cells in next..last {
            rows.push_back((cells, cell_row(canvas, physics, cells, &mut known)));
        }
        while rows.front().is_some_and(|(first, _)| first + REACH < row * FINE) {
            rows.pop_front();
        }
        let sum = look_down(&rows, row, &down, width);
        let across = if row % 2 == 0 { &straight } else { &aside };
        for column in 0..WIDTH {
            let (x, y) = ((column as f64 + 0.5) * STEP, (row as f64 + 0.5) * STEP);
            let sunk = relief_mm(x, y);
            let solid = DISTANCE_MM / (DISTANCE_MM + sunk);
            let times = SCALE * drift(row) * solid * solid;
            let out = &mut values[(row * WIDTH + column) * width..][..width];
            for (index, weights) in across.iter().enumerate() {
                let mut total = 0.0;
                for (step, weight) in weights.iter().enumerate() {
                    let cell = (column * FINE + step).saturating_sub(REACH).min(Canvas::WIDE - 1);
                    total += weight * sum[cell * width + index];
                }
                out[index] = times * total * air(kev[index], sunk);
            }
            for (element, counts) in OWN {
                if let Some(line) = tables.line(element, "Ka") {
                    out[line] += counts * drift(row) * if element == "Ar" { 1.0 + 0.05 * sunk } else { 1.0 };
                }
            }
        }
    }
    Given { values, width }
}

/// What more (or less) air takes, near the 10 mm of the tables: a power law through 0.53 at 2.0 keV and 0.86 at 3.3 keV.
fn air(kev: f64, more_mm: f64) -> f64 {
    libm::exp(-0.0635 * libm::pow(2.0 / kev, 2.9) * more_mm)
}

/// Stacks that were worked out, by their layers and amounts.
type Known = BTreeMap<Vec<(u8, u16)>, Vec<f64>>;

/// What each cell of a row gives. Amounts are rounded to a 48th of a full layer, so that a stack is worked out once.
fn cell_row(canvas: &Canvas, physics: &Physics, row: usize, known: &mut Known) -> Vec<f64> {
    let width = physics.width();
    let mut out = vec![0.0; Canvas::WIDE * width];
    for (stack, out) in
        canvas.layers()[row * Canvas::WIDE..][..Canvas::WIDE].iter().zip(out.chunks_mut(width))
    {
        let rounded: Vec<(u8, u16)> = stack
            .iter()
            .filter(|layer| layer.paint != SHADE.index && layer.paint != EDGE.index)
            .map(|layer| {
                // The board is one plank, whatever its grain looks like, and a wash lets everything through.
                let parts = match layer.paint {
                    paint if paint == OAK.index => return (paint, 48),
                    paint if paint == INDIGO.index || paint == STAIN.index => 8.0,
                    _ => 48.0,
                };
                (layer.paint, (libm::floor(layer.amount * parts + 0.5) * 48.0 / parts) as u16)
            })
            .filter(|&(_, amount)| amount > 0)
            .collect();
        let given = known.entry(rounded).or_insert_with_key(|rounded| {
            let stack: Vec<Layer> = rounded
                .iter()
                .map(|&(paint, amount)| Layer { paint, amount: f64::from(amount) / 48.0 })
                .collect();
            let mut given = vec![0.0; width];
            physics.give(&stack, &mut given);
            given
        });
        out.copy_from_slice(given);
    }
    out
}

/// Cells of one row of points, seen by the beam from top to bottom.
fn look_down(rows: &VecDeque<(usize, Vec<f64>)>, row: usize, weights: &[Vec<f64>], width: usize) -> Vec<f64> {
    let mut sum = vec![0.0; Canvas::WIDE * width];
    for step in 0..2 * REACH + FINE {
        let cells = (row * FINE + step).saturating_sub(REACH).min(Canvas::HIGH - 1);
        let Some((_, given)) = rows.iter().find(|(at, _)| *at == cells) else { continue };
        let weight: Vec<f64> = weights.iter().map(|weights| weights[step]).collect();
        for (out, given) in sum.chunks_mut(width).zip(given.chunks(width)) {
            for ((out, given), weight) in out.iter_mut().zip(given).zip(&weight) {
                *out += given * weight;
            }
        }
    }
    sum
}

/// Weights of the cells before, in and after a point: a Gaussian of this width in steps, shifted to the right.
fn beam(steps: f64, shift: f64) -> Vec<f64> {
    let sigma = steps * FINE as f64 / (2.0 * (2.0 * core::f64::consts::LN_2).sqrt());
    let middle = REACH as f64 + 0.5 * FINE as f64 - 0.5 + shift * FINE as f64;
    let mut weights: Vec<f64> = (0..2 * REACH + FINE)
        .map(|cell| libm::exp(-0.5 * (cell as f64 - middle) * (cell as f64 - middle) / (sigma * sigma)))
        .collect();
    let sum: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|weight| *weight /= sum);
    weights
}

/// Counts each point, channel by channel, and hands them over point by point.
pub fn count(given: &Given, detector: &Detector, seed: u64, mut each: impl FnMut(usize, &[u32])) {
    let (mut mean, mut counts) = (vec![0.0; CHANNELS], vec![0_u32; CHANNELS]);
    for point in 0..WIDTH * HEIGHT {
        // Each point has a stream of its own, so that a change in one place leaves the others as they are.
        let mut stream = Stream::new((seed << 20).wrapping_add(point as u64));
        detector.answer(given.of(point), &mut mean);
        for &(x, y, kev, pulse) in &HOT {
            if y * WIDTH + x == point {
                mean[((kev - FIRST_KEV) / STEP_KEV) as usize] += pulse;
            }
        }
        for (count, &mean) in counts.iter_mut().zip(&mean) {
            *count = stream.poisson(mean);
        }
        each(point, &counts);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_beam_keeps_an_even_signal_and_its_place() {
        for (steps, shift) in [(1.0, 0.0), (1.4, 0.0), (1.0, EVERY_OTHER)] {
            let weights = beam(steps, shift);
            assert!((weights.iter().sum::<f64>() - 1.0).abs() < 1e-12);
            let middle: f64 = weights.iter().enumerate().map(|(cell, weight)| cell as f64 * weight).sum();
            let wanted = REACH as f64 + 1.5 + shift * FINE as f64;
            assert!((middle - wanted).abs() < 0.01, "{middle} {wanted}");
        }
    }

    #[test]
    fn the_air_is_near_that_of_the_tables() {
        for (kev, share) in [(2.0, 0.53), (2.31, 0.66), (3.31, 0.85), (6.4, 0.98)] {
            assert!((air(kev, 10.0) - share).abs() < 0.03, "{kev} {}", air(kev, 10.0));
        }
    }
}
