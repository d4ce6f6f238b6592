//! How well a photo fits where it is laid, pixel by pixel, and small steps to where it fits better.

use super::classes::{CLASSES, Shares};
use super::lay::Lay;
use super::parts::{PARTS, Patterns};
use crate::numerics::math::ln;

/// What of the size of the classes is added to the diagonal: classes that don't occur have no say.
const RIDGE: f64 = 1e-4;

/// How well it fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Fit {
    /// What the colours tell of the maps, in nats for a pixel.
    pub information: f64,
    /// Share of the pixels with data that the photo covers.
    pub overlap: f64,
}

impl Fit {
    /// What is made as large as possible; 0 where less overlaps than `least`.
    pub(super) fn measure(&self, least: f64) -> f64 {
        if self.overlap < least { 0.0 } else { self.information * self.overlap.sqrt() }
    }
}

/// Patterns of maps explained by straight lines in the shares of colours.
pub(super) fn fit(patterns: &Patterns, photo: &Shares, lay: &Lay) -> Fit {
    let mut n = 0.0;
    let mut gram = [[0.0f64; CLASSES]; CLASSES];
    let mut cross = [[0.0f64; PARTS]; CLASSES];
    let (mut sums, mut squares) = ([0.0f64; PARTS], [0.0f64; PARTS]);
    let mut at = 0;
    while at < patterns.places.len() {
        // Rows of a band are summed in single precision, bands in double.
        let end = (at + 512).min(patterns.places.len());
        let mut band_gram = [[0.0f32; CLASSES]; CLASSES];
        let mut band_cross = [[0.0f32; PARTS]; CLASSES];
        let (mut band_sums, mut band_squares) = ([0.0f32; PARTS], [0.0f32; PARTS]);
        for ((x, y), values) in patterns.places[at..end].iter().zip(&patterns.values[at..end]) {
            let place = ((f64::from(*x) + 0.5) * patterns.px, (f64::from(*y) + 0.5) * patterns.px);
            let Some(shares) = shares_at(photo, lay.photo(place)) else { continue };
            n += 1.0;
            for k in 0..CLASSES {
                let share = shares[k];
                // The other side of the diagonal is the same; steps of four are what is added at once.
                for l in k / 4 * 4..CLASSES {
                    band_gram[k][l] += share * shares[l];
                }
                for j in 0..PARTS {
                    band_cross[k][j] += share * values[j];
                }
            }
            for j in 0..PARTS {
                band_sums[j] += values[j];
                band_squares[j] += values[j] * values[j];
            }
        }
        for k in 0..CLASSES {
            (0..CLASSES).for_each(|l| gram[k][l] += f64::from(band_gram[k][l]));
            (0..PARTS).for_each(|j| cross[k][j] += f64::from(band_cross[k][j]));
        }
        for j in 0..PARTS {
            sums[j] += f64::from(band_sums[j]);
            squares[j] += f64::from(band_squares[j]);
        }
        at = end;
    }
    let overlap = if patterns.places.is_empty() { 0.0 } else { n / patterns.places.len() as f64 };
    if n < 2.0 {
        return Fit { information: 0.0, overlap };
    }
    let upper = gram;
    for (k, row) in gram.iter_mut().enumerate() {
        row.iter_mut().take(k).zip(&upper).for_each(|(slot, of)| *slot = of[k]);
    }
    // The shares of a pixel sum to 1, so a row sums to what its class covers.
    let covered: [f64; CLASSES] = core::array::from_fn(|k| gram[k].iter().sum());
    for k in 0..CLASSES {
        for l in 0..CLASSES {
            gram[k][l] -= covered[k] * covered[l] / n;
        }
        gram[k][k] += RIDGE * n;
        for j in 0..PARTS {
            cross[k][j] -= covered[k] * sums[j] / n;
        }
    }
    let explained = explained(gram, &cross);
    let mut left = 1.0;
    for j in 0..patterns.count {
        let all = squares[j] - sums[j] * sums[j] / n;
        if all > 1e-3 * n {
            left *= (1.0 - explained[j] / all).clamp(1e-3, 1.0);
        }
    }
    let classes = covered.iter().filter(|c| **c > 0.5).count() as f64;
    let by_chance = 0.5 * (classes - 1.0) * patterns.count as f64 / n;
    Fit { information: -0.5 * ln(left) - by_chance, overlap }
}

/// Shares of the classes at a place of the reduced photo, between pixels in proportion; `None` beside it.
fn shares_at(photo: &Shares, place: (f64, f64)) -> Option<[f32; CLASSES]> {
    let (u, v) = (place.0 / photo.px, place.1 / photo.px);
    if !(u >= 0.0 && v >= 0.0 && u <= photo.width as f64 && v <= photo.height as f64) {
        return None;
    }
    let (u, v) = ((u - 0.5).max(0.0), (v - 0.5).max(0.0));
    let (x, y) = ((u as usize).min(photo.width - 1), (v as usize).min(photo.height - 1));
    let (right, below) = ((x + 1).min(photo.width - 1), (y + 1).min(photo.height - 1));
    let (fx, fy) = ((u - x as f64) as f32, (v - y as f64) as f32);
    let corner = |x: usize, y: usize| &photo.data[y * photo.width + x];
    let (a, b, c, d) = (corner(x, y), corner(right, y), corner(x, below), corner(right, below));
    let (wa, wb, wc, wd) = ((1.0 - fx) * (1.0 - fy), fx * (1.0 - fy), (1.0 - fx) * fy, fx * fy);
    Some(core::array::from_fn(|k| wa * a[k] + wb * b[k] + wc * c[k] + wd * d[k]))
}

/// For each pattern b' G^-1 b, by Cholesky's factors of G (positive by the ridge).
fn explained(mut gram: [[f64; CLASSES]; CLASSES], cross: &[[f64; PARTS]; CLASSES]) -> [f64; PARTS] {
    let mut out = [0.0; PARTS];
    let mut solved = *cross;
    for k in 0..CLASSES {
        let (before, here) = solved.split_at_mut(k);
        let here = &mut here[0];
        for (factor, row) in gram[k][..k].iter().zip(before) {
            here.iter_mut().zip(row.iter()).for_each(|(h, v)| *h -= factor * v);
        }
        let lost: f64 = gram[k][..k].iter().map(|factor| factor * factor).sum();
        let root = (gram[k][k] - lost).max(1e-12).sqrt();
        let row = gram[k];
        for below in &mut gram[k + 1..] {
            let before: f64 = below[..k].iter().zip(&row).map(|(a, b)| a * b).sum();
            below[k] = (below[k] - before) / root;
        }
        for (value, sum) in here.iter_mut().zip(&mut out) {
            *value /= root;
            *sum += *value * *value;
        }
    }
    out
}

/// Climbs from a place by the simplex of J. A. Nelder and R. Mead, Computer Journal 7 (1965) 308, over the first `numbers`
/// of [`Lay::moved`], first step `step` pixels of the maps, at most `most` trials, until the simplex is smaller than a
/// fiftieth of a pixel of this size.
pub(super) fn climb(
    patterns: &Patterns,
    photo: &Shares,
    start: &Lay,
    (numbers, step, most): (usize, f64, usize),
    least_overlap: f64,
) -> (Lay, f64) {
    let reach = 0.35 * f64::from(patterns.width + patterns.height) * patterns.px * 0.5;
    let value = |p: &[f64]| -fit(patterns, photo, &start.moved(p, reach)).measure(least_overlap);
    let mut corners: Vec<(f64, Vec<f64>)> = (0..=numbers)
        .map(|i| {
            let mut p = vec![0.0; numbers];
            if i > 0 {
                p[i - 1] = step;
            }
            (value(&p), p)
        })
        .collect();
    let mut trials = numbers + 1;
    while trials < most {
        corners.sort_by(|a, b| a.0.total_cmp(&b.0));
        let spread = (0..numbers)
            .map(|i| corners.iter().map(|c| (c.1[i] - corners[0].1[i]).abs()).fold(0.0, f64::max))
            .fold(0.0, f64::max);
        if spread < 0.02 * patterns.px {
            break;
        }
        let middle: Vec<f64> = (0..numbers)
            .map(|i| corners[..numbers].iter().map(|c| c.1[i]).sum::<f64>() / numbers as f64)
            .collect();
        let along = |t: f64| -> Vec<f64> {
            middle.iter().zip(&corners[numbers].1).map(|(m, w)| m + t * (m - w)).collect()
        };
        let reflected = along(1.0);
        let at = value(&reflected);
        trials += 1;
        let worst = if at < corners[0].0 {
            let (further, beyond) = {
                let p = along(2.0);
                (value(&p), p)
            };
            trials += 1;
            Some(if further < at { (further, beyond) } else { (at, reflected) })
        } else if at < corners[numbers - 1].0 {
            Some((at, reflected))
        } else {
            let t = if at < corners[numbers].0 { 0.5 } else { -0.5 };
            let p = along(t);
            let inner = value(&p);
            trials += 1;
            (inner < at.min(corners[numbers].0)).then_some((inner, p))
        };
        if let Some(corner) = worst {
            corners[numbers] = corner;
        } else {
            let best = corners[0].1.clone();
            for corner in &mut corners[1..] {
                corner.1.iter_mut().zip(&best).for_each(|(p, b)| *p = b + 0.5 * (*p - b));
                corner.0 = value(&corner.1);
                trials += 1;
            }
        }
    }
    corners.sort_by(|a, b| a.0.total_cmp(&b.0));
    (start.moved(&corners[0].1, reach), -corners[0].0)
}
