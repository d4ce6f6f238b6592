//! The measurement: the beam looks at a little more than one step, a background is everywhere, photons are counted.

use crate::paint::{COUNT, Canvas, FINE, HEIGHT, WIDTH};
use crate::random::Stream;

/// Full width at half maximum of the beam, in steps.
const BEAM_STEPS: f64 = 1.0;
/// Mean counts that every point has without any of the element, by line.
const BACKGROUND: [f64; COUNT] = [3.2, 2.4, 1.8, 4.1, 2.9, 2.2, 5.2, 0.7];
/// How much a full lead layer raises the background (it scatters more than paper does).
const RAISED_BY_LEAD: f64 = 0.12;
/// Lead counts taken as a full layer.
const FULL_LEAD: f64 = 250.0;
/// Place of lead in the arrays.
const LEAD: usize = 6;

/// The eight maps, each `HEIGHT` rows of `WIDTH` counts, as the scanner would have counted them.
pub fn scan(canvas: &Canvas, seed: u64) -> Vec<Vec<u16>> {
    let means = see(canvas.signal());
    (0..COUNT)
        .map(|line| {
            // Each map has a stream of its own, so that changing one line leaves the others as they are.
            let mut stream = Stream::new(seed.wrapping_add(line as u64));
            means
                .iter()
                .map(|mean| {
                    let raised = 1.0 + RAISED_BY_LEAD * (mean[LEAD] / FULL_LEAD).min(1.5);
                    let count = stream.poisson(mean[line] + BACKGROUND[line] * raised);
                    u16::try_from(count).unwrap_or(u16::MAX)
                })
                .collect()
        })
        .collect()
}

/// Mean signal at each measured point: the canvas under a Gaussian beam.
fn see(signal: &[[f64; COUNT]]) -> Vec<[f64; COUNT]> {
    // sigma = FWHM / (2 sqrt(2 ln 2))
    let sigma = BEAM_STEPS * FINE as f64 / (2.0 * (2.0 * core::f64::consts::LN_2).sqrt());
    let reach = 4 * FINE;
    // A point lies in the middle of its cells, between cell 1 and cell 2 of four.
    let offset = |index: usize| index as f64 - (reach as f64 - 0.5) - FINE as f64 / 2.0;
    let mut weights: Vec<f64> = (0..2 * reach + FINE)
        .map(|index| libm::exp(-0.5 * offset(index) * offset(index) / (sigma * sigma)))
        .collect();
    let sum: f64 = weights.iter().sum();
    weights.iter_mut().for_each(|weight| *weight /= sum);

    let near = |start: usize, index: usize, most: usize| (start + index).saturating_sub(reach).min(most - 1);
    let mut rows = vec![[0.0; COUNT]; Canvas::HIGH * WIDTH];
    for (place, out) in rows.iter_mut().enumerate() {
        let (row, column) = (place / WIDTH, place % WIDTH);
        for (index, weight) in weights.iter().enumerate() {
            add(out, &signal[row * Canvas::WIDE + near(column * FINE, index, Canvas::WIDE)], *weight);
        }
    }
    let mut points = vec![[0.0; COUNT]; HEIGHT * WIDTH];
    for (place, out) in points.iter_mut().enumerate() {
        let (row, column) = (place / WIDTH, place % WIDTH);
        for (index, weight) in weights.iter().enumerate() {
            add(out, &rows[near(row * FINE, index, Canvas::HIGH) * WIDTH + column], *weight);
        }
    }
    points
}

fn add(out: &mut [f64; COUNT], part: &[f64; COUNT], weight: f64) {
    for (total, value) in out.iter_mut().zip(part) {
        *total += weight * value;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_beam_keeps_an_even_signal_and_its_place() {
        let mut signal = vec![[3.0; COUNT]; Canvas::WIDE * Canvas::HIGH];
        for mean in see(&signal) {
            assert!((mean[0] - 3.0).abs() < 1e-9);
        }
        // One step in the middle lit: the brightest point is that step, and its neighbours see it equally.
        signal.iter_mut().for_each(|cell| *cell = [0.0; COUNT]);
        for row in 40..44 {
            for column in 80..84 {
                signal[row * Canvas::WIDE + column] = [1.0; COUNT];
            }
        }
        let seen = see(&signal);
        let at = |row: usize, column: usize| seen[row * WIDTH + column][0];
        assert!(at(10, 20) > 3.0 * at(10, 21));
        for (row, column) in [(10, 19), (9, 20), (11, 20)] {
            assert!((at(row, column) - at(10, 21)).abs() < 1e-12);
        }
    }
}
