//! The colours of a photo as a few classes, and how much of each lies at a place.

use crate::colour::{decode, lab_of_linear};
use crate::grid::Grid;

/// Classes of colour.
pub(super) const CLASSES: usize = 12;
/// Pixels that the classes are found on, at most.
const LOOKED_AT: usize = 20_000;
/// Rounds of finding the classes.
const ROUNDS: usize = 20;

/// A photo as shares of its classes at each pixel, which sum to 1.
#[derive(Debug, Clone)]
pub(super) struct Shares {
    pub width: usize,
    pub height: usize,
    /// Pixels of the reduced photo in one of these, along a side.
    pub px: f64,
    pub data: Vec<[f32; CLASSES]>,
}

fn squared(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    (0..3).map(|i| (a[i] - b[i]) * (a[i] - b[i])).sum()
}

fn nearest(colour: &[f64; 3], centres: &[[f64; 3]]) -> (usize, f64) {
    centres.iter().enumerate().fold((0, f64::INFINITY), |best, (k, centre)| {
        let distance = squared(colour, centre);
        if distance < best.1 { (k, distance) } else { best }
    })
}

/// CIELAB of every pixel.
pub(super) fn lab(photo: &Grid<[u8; 3]>) -> Vec<[f64; 3]> {
    let light: [f64; 256] = core::array::from_fn(|i| decode(i as f64 / 255.0));
    photo.data().iter().map(|rgb| lab_of_linear(rgb.map(|c| light[usize::from(c)]))).collect()
}

/// Centres of at most [`CLASSES`] classes of colours: the first is nearest to the mean, each next one lies farthest from
/// all before it among what is common, then k-means (S. P. Lloyd, IEEE Trans. Inf. Theory 28 (1982) 129). No chance in it.
fn centres(colours: &[[f64; 3]]) -> Vec<[f64; 3]> {
    let step = colours.len().div_ceil(LOOKED_AT).max(1);
    // An odd step, so that no column of the picture is looked at alone.
    let looked_at: Vec<[f64; 3]> = colours.iter().step_by(step | 1).copied().collect();
    let n = looked_at.len() as f64;
    let mut mean = [0.0; 3];
    looked_at.iter().for_each(|c| (0..3).for_each(|i| mean[i] += c[i] / n));
    let Some(first) = looked_at.iter().min_by(|a, b| squared(a, &mean).total_cmp(&squared(b, &mean))) else {
        return Vec::new();
    };
    let mut centres = vec![*first];
    let mut distances: Vec<f64> = looked_at.iter().map(|c| squared(c, first)).collect();
    while centres.len() < CLASSES {
        // Farthest but for the outermost hundredth of what is left, which may be specks.
        let mut order: Vec<usize> = (0..looked_at.len()).collect();
        order.sort_by(|&a, &b| distances[a].total_cmp(&distances[b]));
        let next = looked_at[order[(order.len() - 1) * 199 / 200]];
        if nearest(&next, &centres).1 < 4.0 {
            break;
        }
        centres.push(next);
        distances.iter_mut().zip(&looked_at).for_each(|(d, c)| *d = d.min(squared(c, &next)));
    }
    for _ in 0..ROUNDS {
        let mut sums = vec![([0.0; 3], 0.0); centres.len()];
        for colour in &looked_at {
            let (sum, count) = &mut sums[nearest(colour, &centres).0];
            (0..3).for_each(|i| sum[i] += colour[i]);
            *count += 1.0;
        }
        let before = centres.clone();
        for (centre, (sum, count)) in centres.iter_mut().zip(sums) {
            if count > 0.0 {
                *centre = sum.map(|v| v / count);
            }
        }
        if before == centres {
            break;
        }
    }
    centres
}

impl Shares {
    /// Each pixel belongs to the class whose centre is nearest. Second: how many classes there are.
    pub(super) fn of(photo: &Grid<[u8; 3]>) -> (Self, usize) {
        let colours = lab(photo);
        let centres = centres(&colours);
        let data = colours
            .iter()
            .map(|c| {
                let mut shares = [0.0; CLASSES];
                shares[nearest(c, &centres).0] = 1.0;
                shares
            })
            .collect();
        let (width, height) = (photo.width() as usize, photo.height() as usize);
        (Self { width, height, px: 1.0, data }, centres.len())
    }

    /// Means of squares of `by` pixels; what is beyond the last whole square is left out.
    pub(super) fn reduced(&self, by: usize) -> Self {
        let by = by.max(1);
        let (width, height) = (self.width / by, self.height / by);
        let part = 1.0 / (by * by) as f32;
        let mut data = vec![[0.0f32; CLASSES]; width * height];
        for (y, row) in self.data.chunks_exact(self.width.max(1)).take(height * by).enumerate() {
            let target = &mut data[y / by * width..(y / by + 1) * width];
            for (square, slot) in row.chunks_exact(by).zip(target) {
                for shares in square {
                    slot.iter_mut().zip(shares).for_each(|(s, v)| *s += part * v);
                }
            }
        }
        Self { width, height, px: self.px * by as f64, data }
    }

    /// Blurred by 1/4, 1/2, 1/4 along both sides; the edge pixels are taken as going on.
    pub(super) fn softened(&self) -> Self {
        let (width, height) = (self.width, self.height);
        let blend = |a: &[f32; CLASSES], b: &[f32; CLASSES], c: &[f32; CLASSES]| -> [f32; CLASSES] {
            core::array::from_fn(|k| 0.25 * a[k] + 0.5 * b[k] + 0.25 * c[k])
        };
        let mut across = self.data.clone();
        for (row, target) in self.data.chunks_exact(width.max(1)).zip(across.chunks_exact_mut(width.max(1))) {
            for x in 0..width {
                target[x] = blend(&row[x.saturating_sub(1)], &row[x], &row[(x + 1).min(width - 1)]);
            }
        }
        let mut data = across.clone();
        for y in 0..height {
            let (above, below) = (y.saturating_sub(1) * width, (y + 1).min(height - 1) * width);
            for x in 0..width {
                data[y * width + x] = blend(&across[above + x], &across[y * width + x], &across[below + x]);
            }
        }
        Self { width, height, px: self.px, data }
    }

    /// The class with the largest share at each pixel.
    pub(super) fn labels(&self) -> Vec<u8> {
        let largest = |shares: &[f32; CLASSES]| {
            (0..CLASSES).fold(0, |best, k| if shares[k] > shares[best] { k } else { best }) as u8
        };
        self.data.iter().map(largest).collect()
    }
}
