//! What the detector makes of lines and continuum: peaks of its width, escape, a low shelf, sums of two photons, dead time.

use crate::xray::{CONTS, Tables};

/// First channel, in keV.
pub const FIRST_KEV: f64 = 1.5;
/// Width of a channel, in keV.
pub const STEP_KEV: f64 = 0.04;
/// Channels.
pub const CHANNELS: usize = 640;
/// Share of a line's counts that lands anywhere below it.
const SHELF: f64 = 0.004;
/// Sums of two photons: counts for each pair of counts in a point.
const PILE: f64 = 2e-8;
/// Time lost for each count, as a share of the time spent on a point.
const DEAD: f64 = 6e-7;

/// Full width at half maximum of a peak, in keV: 140 eV at 5.9 keV, Fano factor 0.12, 3.65 eV for a pair.
pub fn width_kev(kev: f64) -> f64 {
    (5.28e-3 + 5.545 * 3.65e-3 * 0.12 * kev).sqrt()
}

/// Middle of a channel, in keV.
pub fn middle_kev(channel: usize) -> f64 {
    FIRST_KEV + (channel as f64 + 0.5) * STEP_KEV
}

/// A shape over part of the channels.
#[derive(Debug, Clone)]
pub struct Shape {
    pub first: usize,
    pub values: Vec<f64>,
}

impl Shape {
    fn new(values: &[f64]) -> Self {
        let first = values.iter().position(|&v| v > 0.0).unwrap_or(0);
        let last = values.iter().rposition(|&v| v > 0.0).unwrap_or(0);
        Self { first, values: values[first..=last].to_vec() }
    }

    /// Adds `times` the shape.
    pub fn add(&self, times: f64, out: &mut [f64]) {
        for (out, value) in out[self.first..].iter_mut().zip(&self.values) {
            *out += times * value;
        }
    }
}

/// A peak of one count in all.
fn peak(kev: f64, width: f64, out: &mut [f64], times: f64) {
    let sigma = width / 2.354_82;
    let below = |kev_edge: f64| 0.5 * libm::erfc(-(kev_edge - kev) / (sigma * core::f64::consts::SQRT_2));
    for (channel, out) in out.iter_mut().enumerate() {
        let low = FIRST_KEV + channel as f64 * STEP_KEV;
        if (low - kev).abs() < 5.5 * sigma + STEP_KEV {
            *out += times * (below(low + STEP_KEV) - below(low));
        }
    }
}

/// The detector's answer to everything that a point gives.
pub struct Detector {
    /// For each line, then each point of the continuum.
    pub shapes: Vec<Shape>,
    /// The same without the shelves of the lines.
    peaks: Vec<Shape>,
    /// For each line the channel below which its shelf lies.
    ends: Vec<usize>,
    /// Pairs of strong lines and the peak of their sum.
    sums: Vec<(usize, usize, Shape)>,
}

impl Detector {
    /// From the tables.
    pub fn new(tables: &Tables) -> Self {
        let (mut shapes, mut peaks, mut ends) = (Vec::new(), Vec::new(), Vec::new());
        for line in &tables.lines {
            let mut values = vec![0.0; CHANNELS];
            peak(line.kev, width_kev(line.kev), &mut values, 1.0 - SHELF);
            if line.kev - 1.74 > FIRST_KEV {
                peak(line.kev - 1.74, width_kev(line.kev - 1.74), &mut values, line.escape);
            }
            peaks.push(Shape::new(&values));
            let below = ((line.kev - FIRST_KEV) / STEP_KEV) as usize;
            ends.push(below);
            for value in &mut values[..below] {
                *value += SHELF / below as f64;
            }
            shapes.push(Shape::new(&values));
        }
        for n in 0..CONTS {
            shapes.push(continuum(tables, n));
            peaks.push(continuum(tables, n));
        }
        let strong = [
            ("K", "Ka"),
            ("Ca", "Ka"),
            ("Ti", "Ka"),
            ("Ba", "La1"),
            ("Fe", "Ka"),
            ("Cu", "Ka"),
            ("Hg", "La1"),
            ("Hg", "Lb1"),
            ("Pb", "Ma"),
            ("Pb", "La1"),
            ("Pb", "Lb1"),
        ];
        let strong: Vec<usize> =
            strong.iter().filter_map(|(element, name)| tables.line(element, name)).collect();
        let mut sums = Vec::new();
        for (index, &a) in strong.iter().enumerate() {
            for &b in &strong[index..] {
                let kev = tables.lines[a].kev + tables.lines[b].kev;
                let mut values = vec![0.0; CHANNELS];
                peak(kev, width_kev(kev), &mut values, if a == b { 0.5 * PILE } else { PILE });
                if values.iter().any(|&v| v > 0.0) {
                    sums.push((a, b, Shape::new(&values)));
                }
            }
        }
        Self { shapes, peaks, ends, sums }
    }

    /// Sums of two photons in channels `first` to before `last`.
    pub fn sums(&self, given: &[f64], first: usize, last: usize) -> f64 {
        let inside = |shape: &Shape| -> f64 {
            (first..last).filter_map(|channel| shape.values.get(channel.checked_sub(shape.first)?)).sum()
        };
        self.sums.iter().map(|(a, b, shape)| given[*a] * given[*b] * inside(shape)).sum()
    }

    /// Mean counts in each channel for what a point gives.
    pub fn answer(&self, given: &[f64], out: &mut [f64]) {
        out.fill(0.0);
        // Shelves are gathered from above, so that each line costs its peak alone.
        let mut shelf = [0.0; CHANNELS];
        for (&end, &times) in self.ends.iter().zip(given) {
            shelf[end - 1] += times * SHELF / end as f64;
        }
        let mut above = 0.0;
        for (out, shelf) in out.iter_mut().zip(shelf).rev() {
            above += shelf;
            *out = above;
        }
        for (shape, &times) in self.peaks.iter().zip(given).filter(|&(_, &times)| times > 0.0) {
            shape.add(times, out);
        }
        for (a, b, shape) in &self.sums {
            shape.add(given[*a] * given[*b], out);
        }
        let live = 1.0 / (1.0 + DEAD * out.iter().sum::<f64>());
        out.iter_mut().for_each(|value| *value *= live);
    }
}

/// One point of the continuum: a hat between its neighbours; the tube's own K lines, sent back, are peaks.
fn continuum(tables: &Tables, n: usize) -> Shape {
    let mut values = vec![0.0; CHANNELS];
    let at = |n: usize| tables.conts[n].0;
    match n {
        // The weights are keV of continuum that give as many photons. 2.7 keV: Rh L lines; 19.2 and 20.2 keV: Rh Kα, with and
        // without loss of energy.
        3 => peak(2.71, 0.13, &mut values, 0.7),
        11 => peak(19.2, 0.75, &mut values, 5.5),
        12 => peak(20.17, width_kev(20.17), &mut values, 2.0),
        _ => {}
    }
    let (low, high) =
        (if n == 0 { FIRST_KEV - 0.4 } else { at(n - 1) }, if n + 1 < CONTS { at(n + 1) } else { 29.0 });
    for (channel, value) in values.iter_mut().enumerate() {
        let kev = middle_kev(channel);
        let hat = if kev < at(n) { (kev - low) / (at(n) - low) } else { (high - kev) / (high - at(n)) };
        *value += STEP_KEV * hat.max(0.0);
    }
    Shape::new(&values)
}
