//! Everywhere at once, on small pictures: every scale, turn and shift.

use super::classes::{CLASSES, Shares};
use super::lay::{Lay, inverse, times, turn};
use super::parts::{PARTS, Patterns};
use crate::numerics::math::{exp, ln};

/// Beside the photo.
const NOWHERE: u8 = CLASSES as u8;

/// Where to look: scales as factors and turns in radians, both about `base`, from the reduced maps to the reduced photo.
pub(super) struct Reach {
    pub base: [f64; 4],
    /// Where the middle of the maps lies on the photo if nothing is shifted, for a reach of shifts.
    pub at: (f64, f64),
    pub scales: Vec<f64>,
    pub turns: Vec<f64>,
    /// Farthest that the photo may be shifted, in pixels of the reduced maps; `None`: as far as enough overlaps.
    pub shift: Option<f64>,
    /// Share of the pixels with data that the photo must cover at least.
    pub overlap: f64,
}

/// A place and how well it fits.
#[derive(Debug, Clone, Copy)]
pub(super) struct Place {
    pub lay: Lay,
    pub measure: f64,
}

/// Steps of scale and of angle so that the corner of a picture of this size moves by about `pixels` from one to the next.
pub(super) fn steps(size: (u32, u32), pixels: f64) -> f64 {
    let (w, h) = (f64::from(size.0), f64::from(size.1));
    pixels / (0.5 * (w * w + h * h).sqrt()).max(1.0)
}

/// Factors from `low` to `high`, spread evenly by their logarithm with steps of at most `step`.
pub(super) fn scales(low: f64, high: f64, step: f64) -> Vec<f64> {
    let length = ln(high / low);
    let n = (length / step).ceil().max(0.0) as usize;
    (0..=n).map(|i| low * exp(length * if n == 0 { 0.5 } else { i as f64 / n as f64 })).collect()
}

/// Angles from `-most` to `most` with steps of at most `step`.
pub(super) fn turns(most: f64, step: f64) -> Vec<f64> {
    let half = (most / step).ceil().max(0.0) as i32;
    (-half..=half).map(|i| if half == 0 { 0.0 } else { most * f64::from(i) / f64::from(half) }).collect()
}

/// Sums over the pixels that a shift lays on the photo.
struct Sums {
    values: [[f32; PARTS]; CLASSES + 1],
    squares: [f32; PARTS],
    counts: [f32; CLASSES + 1],
}

impl Sums {
    /// With the photo's middle on pixel (`kx`, `ky`).
    fn of(patterns: &Patterns, lattice: &Lattice, (kx, ky): (i64, i64)) -> Self {
        // Neighbours are often of one class: four sums side by side need not wait for each other.
        let mut lanes: [Self; 4] = core::array::from_fn(|_| Self::nothing());
        let (columns, rows) = (2 * lattice.half.0 + 1, 2 * lattice.half.1 + 1);
        for row in &patterns.rows {
            let Some(first) = patterns.places.get(row.start) else { continue };
            let y = i64::from(first.1) - ky + lattice.half.1;
            if y < 0 || y >= rows {
                continue;
            }
            let labels = &lattice.labels[(y * columns) as usize..((y + 1) * columns) as usize];
            let shift = lattice.half.0 - kx;
            let pixels = patterns.places[row.clone()].iter().zip(&patterns.values[row.clone()]);
            for (i, ((x, _), values)) in pixels.enumerate() {
                // Beside the lattice on the left it wraps to far too large an index.
                let at = (i64::from(*x) + shift) as usize;
                let label = labels.get(at).map_or(usize::from(NOWHERE), |l| usize::from(*l).min(CLASSES));
                let inside = if label < CLASSES { 1.0 } else { 0.0 };
                let sums = &mut lanes[i % 4];
                sums.counts[label] += 1.0;
                let target = &mut sums.values[label];
                for j in 0..PARTS {
                    target[j] += values[j];
                    sums.squares[j] += inside * values[j] * values[j];
                }
            }
        }
        let mut all = Self::nothing();
        for lane in &lanes {
            for (target, values) in all.values.iter_mut().zip(&lane.values) {
                target.iter_mut().zip(values).for_each(|(t, v)| *t += v);
            }
            all.squares.iter_mut().zip(&lane.squares).for_each(|(t, v)| *t += v);
            all.counts.iter_mut().zip(&lane.counts).for_each(|(t, v)| *t += v);
        }
        all
    }

    fn nothing() -> Self {
        Self { values: [[0.0; PARTS]; CLASSES + 1], squares: [0.0; PARTS], counts: [0.0; CLASSES + 1] }
    }

    /// What the classes tell of the patterns, in nats for a pixel: -1/2 of the summed logarithms of the shares of their
    /// variance that are not explained, less what as many classes tell of noise.
    fn measure(&self, patterns: usize) -> f64 {
        let n: f64 = self.counts[..CLASSES].iter().map(|c| f64::from(*c)).sum();
        let (mut between, mut sum) = ([0.0f64; PARTS], [0.0f64; PARTS]);
        for (values, count) in
            self.values[..CLASSES].iter().zip(&self.counts).filter(|(_, count)| **count > 0.0)
        {
            let over = 1.0 / f64::from(*count);
            for j in 0..PARTS {
                let value = f64::from(values[j]);
                between[j] += value * value * over;
                sum[j] += value;
            }
        }
        let mut left = 1.0;
        for j in 0..patterns {
            let mean = sum[j] * sum[j] / n;
            let all = f64::from(self.squares[j]) - mean;
            if all > 1e-3 * n {
                left *= (1.0 - (between[j] - mean) / all).clamp(1e-3, 1.0);
            }
        }
        let classes = self.counts[..CLASSES].iter().filter(|c| **c > 0.0).count() as f64;
        -0.5 * ln(left) - 0.5 * (classes - 1.0) * patterns as f64 / n
    }
}

/// Classes of the photo on a lattice of map pixels around its centre: row by row, from (-`half.0`, -`half.1`).
struct Lattice {
    half: (i64, i64),
    labels: Vec<u8>,
}

impl Lattice {
    fn of(labels: &[u8], photo: &Shares, m: [f64; 4], px: f64) -> Self {
        let (w, h) = (photo.width as f64 * photo.px, photo.height as f64 * photo.px);
        let back = inverse(m);
        let reach = |a: f64, b: f64| (0.5 * (a.abs() * w + b.abs() * h) / px).ceil() as i64;
        let half = (reach(back[0], back[1]), reach(back[2], back[3]));
        let mut out = Vec::new();
        for y in -half.1..=half.1 {
            for x in -half.0..=half.0 {
                let (dx, dy) = (x as f64 * px, y as f64 * px);
                let u = (0.5 * w + m[0] * dx + m[1] * dy) / photo.px;
                let v = (0.5 * h + m[2] * dx + m[3] * dy) / photo.px;
                let inside = u >= 0.0 && v >= 0.0 && u < photo.width as f64 && v < photo.height as f64;
                out.push(if inside { labels[v as usize * photo.width + u as usize] } else { NOWHERE });
            }
        }
        Self { half, labels: out }
    }
}

/// The best places, best first, at most `most`, no two nearer than `distinct` pixels of the reduced maps. `tick` is called
/// after each scale with the share that is done.
pub(super) fn look(
    patterns: &Patterns,
    photo: &Shares,
    reach: &Reach,
    most: usize,
    distinct: f64,
    tick: &mut dyn FnMut(f64),
) -> Vec<Place> {
    let labels = photo.labels();
    let mut best: Vec<Place> = Vec::new();
    for (i, scale) in reach.scales.iter().enumerate() {
        for angle in &reach.turns {
            let m = times(reach.base, inverse(turn(*angle, *scale)));
            let lattice = Lattice::of(&labels, photo, m, patterns.px);
            for place in shifts(patterns, photo, &lattice, m, reach) {
                keep(&mut best, place, most, distinct, patterns);
            }
        }
        tick((i + 1) as f64 / reach.scales.len() as f64);
    }
    best
}

/// Puts a place into the list where it belongs, unless a better one is near; worse ones near it go.
fn keep(best: &mut Vec<Place>, place: Place, most: usize, distinct: f64, patterns: &Patterns) {
    if best.len() == most && best.last().is_some_and(|last| last.measure >= place.measure) {
        return;
    }
    let size = (f64::from(patterns.width) * patterns.px, f64::from(patterns.height) * patterns.px);
    let is_near = |other: &Place| place.lay.apart(&other.lay, size) < distinct;
    if best.iter().any(|other| other.measure >= place.measure && is_near(other)) {
        return;
    }
    best.retain(|other| !is_near(other));
    let at = best.partition_point(|other| other.measure >= place.measure);
    best.insert(at, place);
    best.truncate(most);
}

/// The two best shifts of one scale and turn, three or more pixels apart.
fn shifts(patterns: &Patterns, photo: &Shares, lattice: &Lattice, m: [f64; 4], reach: &Reach) -> Vec<Place> {
    let (w, h) = (i64::from(patterns.width), i64::from(patterns.height));
    let px = patterns.px;
    let centre = (0.5 * w as f64 * px, 0.5 * h as f64 * px);
    let middle = (0.5 * photo.width as f64 * photo.px, 0.5 * photo.height as f64 * photo.px);
    let least = (reach.overlap * patterns.places.len() as f64).max(2.0);
    let mut found: Vec<(f64, i64, i64)> = Vec::new();
    // The photo's middle lies on the middle of map pixel (kx, ky).
    for ky in -lattice.half.1..h + lattice.half.1 {
        let down = (ky + lattice.half.1 + 1).min(h) - (ky - lattice.half.1).max(0);
        for kx in -lattice.half.0..w + lattice.half.0 {
            let across = (kx + lattice.half.0 + 1).min(w) - (kx - lattice.half.0).max(0);
            if ((down * across) as f64) < least {
                continue;
            }
            if let Some(limit) = reach.shift {
                // Where the middle of the maps lies now, and where it would without a shift.
                let (dx, dy) = (centre.0 - (kx as f64 + 0.5) * px, centre.1 - (ky as f64 + 0.5) * px);
                let at = (
                    middle.0 + m[0] * dx + m[1] * dy - reach.at.0,
                    middle.1 + m[2] * dx + m[3] * dy - reach.at.1,
                );
                let back = inverse(m);
                let (x, y) = (back[0] * at.0 + back[1] * at.1, back[2] * at.0 + back[3] * at.1);
                if x * x + y * y > limit * limit {
                    continue;
                }
            }
            let sums = Sums::of(patterns, lattice, (kx, ky));
            let inside: f64 = sums.counts[..CLASSES].iter().map(|c| f64::from(*c)).sum();
            if inside < least {
                continue;
            }
            let share = inside / patterns.places.len() as f64;
            found.push((sums.measure(patterns.count) * share.sqrt(), kx, ky));
        }
    }
    let largest = |from: &[(f64, i64, i64)], away: Option<(i64, i64)>| {
        from.iter()
            .filter(|(_, x, y)| away.is_none_or(|(ax, ay)| (x - ax).abs().max((y - ay).abs()) > 2))
            .fold(
                None,
                |best: Option<(f64, i64, i64)>, f| {
                    if best.is_none_or(|b| f.0 > b.0) { Some(*f) } else { best }
                },
            )
    };
    let first = largest(&found, None);
    let second = first.and_then(|(_, x, y)| largest(&found, Some((x, y))));
    let place = |(measure, kx, ky): (f64, i64, i64)| {
        let (dx, dy) = (centre.0 - (kx as f64 + 0.5) * px, centre.1 - (ky as f64 + 0.5) * px);
        let at = (middle.0 + m[0] * dx + m[1] * dy, middle.1 + m[2] * dx + m[3] * dy);
        Place { lay: Lay { m, at, centre }, measure }
    };
    first.into_iter().chain(second).map(place).collect()
}
