//! Zones: parts of the field that look alike in several maps. By groups of like pixels (k-means on standardised,
//! variance-stabilised maps) or by parts of the counts (non-negative factors under the Kullback-Leibler divergence).
//!
//! A zone is no material: it is made by these maps, and is described and not tested on them. Pixels that are blank in a map
//! are in no zone; saturated ones are.
//!
//! Cost: the centres and spectra come from at most [`MOST_FITTED`] pixels that lie all over the field, the number of zones
//! from at most [`halves::MOST_TRIED`]; every pixel is then labelled. Beside the maps themselves (8 bytes a pixel and map)
//! this takes 8 bytes a pixel and map: for 20 maps of 2 million pixels about 320 MB each.

pub mod agree;
mod choose;
mod coherent;
pub mod field;
pub mod halves;
pub mod kmeans;
pub mod nmf;
mod smooth;

pub use choose::{Chosen, MOST_ZONES};
pub use coherent::{SPECK, specks};
pub use field::{Layer, Layers, Scaling, Way};

use crate::grid::{try_filled_vec, try_vec};
use crate::notice::OutOfMemory;
use crate::numerics::math::ln;
use choose::{by_centres, strengths, strongest_of, widen};
use field::Field;
use halves::{Halves, labels_there};
use kmeans::{Groups, Points, best_of};
use nmf::Parts;

/// Told how far it is, from 0 to 1, and what it does.
pub type Progress<'a> = &'a mut dyn FnMut(f64, &str);

/// How zones are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum By {
    /// Groups of like pixels.
    Means,
    /// Parts of the counts: a pixel belongs to the one that explains most of its counts.
    Parts,
}

/// What is wished.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// How.
    pub by: By,
    /// How many, 1 to [`MOST_ZONES`]; `None` to choose.
    pub zones: Option<usize>,
    /// How much neighbours count, 0 (not at all) to 3.
    pub coherence: u32,
    /// Where chance begins.
    pub seed: u64,
}

/// Zones of a field.
#[derive(Debug, Clone, PartialEq)]
pub struct Zones {
    /// The zone of each pixel, from 1 on; 0 where a map is blank or nothing is asked. Groups: the largest is 1. Parts: the one
    /// that counts most is 1.
    pub labels: Vec<u8>,
    /// How many zones there are.
    pub count: usize,
    /// Mean standardised value of each zone in each map, zone by zone.
    pub centres: Vec<f64>,
    /// How each map was made ready.
    pub scalings: Vec<Scaling>,
    /// Share of each zone's pixels that are in it again where only half is used; `None` where none of them was tried.
    pub stays: Vec<Option<f64>>,
    /// Pixels in specks, and specks.
    pub specks: (u64, u64),
    /// The number and what speaks for it.
    pub chosen: Chosen,
    /// Whether halves were made by dealing counts; else by columns.
    pub is_thinned: bool,
    /// Of parts: what each counts in each map, summing to 1, the strongest part first.
    pub spectra: Vec<f64>,
    /// Of parts: deviance over degrees of freedom on the pixels the spectra come from.
    pub deviance_per_df: Option<f64>,
    /// Parts that are nowhere the strongest, and so no zone.
    pub nowhere: usize,
    /// Pixels from which centres or spectra come, and on which numbers were tried.
    pub fitted_on: usize,
    /// The same for the number.
    pub tried_on: usize,
}

/// Pixels from which centres come.
pub const MOST_FITTED: usize = 40_000;
/// The same of parts, which take longer.
const MOST_FITTED_BY_PARTS: usize = 15_000;
const EFFORT: (u32, u32) = (10, 100);
const ROUNDS: u32 = 150;
/// What a neighbour in another zone costs, for each step of coherence, in units of half a squared standard deviation.
const PENALTY: f64 = 0.5;

impl Wish {
    /// How far neighbours are smoothed with.
    fn reach(&self) -> usize {
        self.coherence as usize
    }

    /// The largest number that can be had from so many maps.
    pub fn highest(&self, maps: usize) -> usize {
        match self.by {
            By::Means => MOST_ZONES,
            By::Parts => maps.saturating_sub(1).clamp(1, MOST_ZONES),
        }
    }
}

/// Makes zones. With one zone nothing parts the field. Layers without a pixel give labels 0 and no zone.
///
/// # Errors
/// No memory.
pub fn zones(layers: &Layers<'_>, wish: &Wish, progress: Progress<'_>) -> Result<Zones, OutOfMemory> {
    let halves = Halves::of(layers, wish.seed)?;
    let chosen = choose::choose(&halves, wish, &mut |share, text| progress(0.05 + 0.4 * share, text))?;
    progress(0.46, "All pixels");
    let mut field = layers.standardised(None)?;
    if wish.reach() > 0 {
        field = field.smoothed(wish.reach())?;
    }
    progress(0.6, "Zones");
    let most = if wish.by == By::Means { MOST_FITTED } else { MOST_FITTED_BY_PARTS };
    let places = field.sample(most, wish.seed)?;
    let rows = field.rows(&places)?;
    let count = chosen.count.min(places.len()).max(usize::from(!places.is_empty()));
    let mut out = Zones {
        labels: try_filled_vec(layers.pixels() as u64, 0)?,
        count,
        centres: Vec::new(),
        scalings: field.scalings.clone(),
        stays: Vec::new(),
        specks: (0, 0),
        chosen,
        is_thinned: halves.is_thinned,
        spectra: Vec::new(),
        deviance_per_df: None,
        nowhere: 0,
        fitted_on: places.len(),
        tried_on: halves.places.len(),
    };
    if count == 0 {
        return Ok(out);
    }
    let groups = best_of(Points { values: &rows, maps: field.maps() }, count, EFFORT, wish.seed);
    progress(0.7, "Zones");
    let how = match wish.by {
        By::Means => How::means(&groups, &rows),
        By::Parts => {
            let (x, mut parts) = started(&field, &rows, &groups);
            parts.improve(&x, ROUNDS);
            out.deviance_per_df = parts.deviance_per_df(&x);
            parts.normalise();
            out.spectra.clone_from(&parts.h);
            How::Parts { h: parts.h, count: parts.count }
        }
    };
    progress(0.8, "Labels");
    how.label(&field, wish, &mut out.labels)?;
    renumber(&mut out, wish.by);
    out.specks = specks(&out.labels, field.width)?;
    out.centres = means_of(&field, &out.labels, out.count);
    progress(0.9, "Half the counts");
    out.stays = stays(&halves, &out, &how, wish)?;
    Ok(out)
}

/// What labels a pixel.
enum How {
    Means { centres: Vec<f64>, variance: f64 },
    Parts { h: Vec<f64>, count: usize },
}

impl How {
    fn means(groups: &Groups, rows: &[f64]) -> Self {
        let variance = groups.inertia / (rows.len() as f64).max(1.0);
        Self::Means { centres: groups.centres.clone(), variance: variance.max(1e-6) }
    }

    /// Labels of all used pixels of a field: each for itself, then with its neighbours.
    fn label(&self, field: &Field, wish: &Wish, labels: &mut [u8]) -> Result<(), OutOfMemory> {
        let p = field.maps();
        let (mut x, mut buffer) = (vec![0.0; p], vec![0.0; p]);
        let penalty = PENALTY * f64::from(wish.coherence);
        match self {
            Self::Means { centres, variance } => {
                by_centres(field, centres, labels);
                let zones = centres.len() / p.max(1);
                coherent::coherent(labels, field.width, zones, penalty, |i, out| {
                    widen(field.pixel(i), &mut x);
                    for (cost, centre) in out.iter_mut().zip(centres.chunks_exact(p)) {
                        *cost = kmeans::distance(&x, centre) / (2.0 * variance);
                    }
                })
            }
            Self::Parts { h, count } => {
                let mut w = vec![0.0; *count];
                for (i, label) in labels.iter_mut().enumerate() {
                    *label = 0;
                    if field.used[i] {
                        strengths(field, i, h, &mut w, (&mut x, &mut buffer));
                        *label = strongest_of(&w);
                    }
                }
                coherent::coherent(labels, field.width, *count, penalty, |i, out| {
                    strengths(field, i, h, &mut w, (&mut x, &mut buffer));
                    let total: f64 = w.iter().sum::<f64>() + 1e-9;
                    for (cost, strength) in out.iter_mut().zip(&w) {
                        *cost = -PARTS_COST * ln((strength / total).max(1e-3));
                    }
                })
            }
        }
    }
}

/// What a share of the counts is worth against neighbours.
const PARTS_COST: f64 = 4.0;

/// Counts of some pixels (those of `rows`) and factors to begin with: the mean spectrum of each group, and in each pixel
/// nine parts of ten of its own group's.
fn started(field: &Field, rows: &[f64], groups: &Groups) -> (Vec<f64>, Parts) {
    let p = field.maps().max(1);
    let count = (groups.centres.len() / p).max(1);
    let value = |(value, scaling): (&f64, &Scaling)| scaling.value(*value).max(0.0);
    let x: Vec<f64> =
        rows.chunks_exact(p).flat_map(|row| row.iter().zip(&field.scalings).map(value)).collect();
    let n = (x.len() / p).max(1) as f64;
    let (mut h, mut members) = (vec![0.0; count * p], vec![0.0; count]);
    let mut mean = vec![0.0; p];
    for (row, &label) in x.chunks_exact(p).zip(&groups.labels) {
        members[label as usize] += 1.0;
        for (j, value) in row.iter().enumerate() {
            h[label as usize * p + j] += value;
            mean[j] += value / n;
        }
    }
    for (spectrum, &members) in h.chunks_exact_mut(p).zip(&members) {
        for (value, mean) in spectrum.iter_mut().zip(&mean) {
            *value = if members > 0.0 { *value / members } else { 0.0 } + 0.01 * mean + 1e-9;
        }
    }
    let mut w = vec![0.1 / count as f64; groups.labels.len() * count];
    for (row, &label) in w.chunks_exact_mut(count).zip(&groups.labels) {
        row[label as usize] += 0.9;
    }
    (x, Parts { w, h, count, maps: p })
}

/// Leaves out zones without a pixel; groups in the order of their size.
fn renumber(out: &mut Zones, by: By) {
    let mut sizes = vec![0u64; out.count + 1];
    out.labels.iter().for_each(|&label| sizes[usize::from(label).min(out.count)] += 1);
    let mut order: Vec<usize> = (1..=out.count).filter(|&zone| sizes[zone] > 0).collect();
    if by == By::Means {
        order.sort_by_key(|&zone| std::cmp::Reverse(sizes[zone]));
    }
    let mut to = [0u8; 256];
    for (new, &old) in (1u8..).zip(&order) {
        to[old] = new;
    }
    out.labels.iter_mut().for_each(|label| *label = to[usize::from(*label)]);
    out.nowhere = out.count - order.len();
    out.count = order.len();
    if by == By::Parts {
        let p = out.scalings.len().max(1);
        let kept: Vec<f64> =
            order.iter().flat_map(|&zone| out.spectra[(zone - 1) * p..zone * p].to_vec()).collect();
        out.spectra = kept;
    }
}

/// Mean standardised values of each zone, zone by zone; 0 for one without pixels.
fn means_of(field: &Field, labels: &[u8], zones: usize) -> Vec<f64> {
    let p = field.maps();
    let (mut sums, mut members) = (vec![0.0f64; zones * p], vec![0.0f64; zones]);
    for (i, &label) in labels.iter().enumerate().filter(|(i, label)| **label > 0 && field.used[*i]) {
        let zone = usize::from(label) - 1;
        members[zone] += 1.0;
        for (sum, value) in sums[zone * p..(zone + 1) * p].iter_mut().zip(field.pixel(i)) {
            *sum += f64::from(*value);
        }
    }
    for (row, members) in sums.chunks_exact_mut(p.max(1)).zip(&members) {
        row.iter_mut().for_each(|sum| *sum /= members.max(1.0));
    }
    sums
}

/// Share of the pixels of each zone that are in it again where only the first half is used: the zones' means in that half
/// stand for the centres; spectra stay.
fn stays(halves: &Halves, zones: &Zones, how: &How, wish: &Wish) -> Result<Vec<Option<f64>>, OutOfMemory> {
    let first = halves.first();
    let mut field = first.standardised(None)?;
    if wish.reach() > 0 {
        field = field.smoothed(wish.reach())?;
    }
    let there = labels_there(halves, &zones.labels)?;
    let how = match how {
        How::Means { variance, .. } => {
            How::Means { centres: means_of(&field, &there, zones.count), variance: *variance }
        }
        How::Parts { .. } => How::Parts { h: zones.spectra.clone(), count: zones.count },
    };
    let mut again = try_filled_vec(there.len() as u64, 0)?;
    how.label(&field, wish, &mut again)?;
    let mut same: Vec<(u64, u64)> = try_vec(zones.count as u64)?;
    same.resize(zones.count, (0, 0));
    for (&label, &again) in there.iter().zip(&again).filter(|(label, _)| **label > 0) {
        let (kept, all) = &mut same[usize::from(label) - 1];
        *kept += u64::from(label == again);
        *all += 1;
    }
    Ok(same.into_iter().map(|(kept, all)| (all > 0).then(|| kept as f64 / all as f64)).collect())
}

#[cfg(test)]
mod tests;
