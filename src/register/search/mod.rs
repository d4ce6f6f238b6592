//! "Find it for me": where a photo lies on the maps, from the pictures alone.
//!
//! The photo becomes shares of a few classes of colour, the maps become a few uncorrelated patterns, and a place is as good
//! as the classes tell of the patterns there: half the summed logarithms of what the colours leave unexplained, in nats for a
//! pixel, times the root of the share of the maps that the photo covers. For patterns scattered normally about the mean of
//! their class this is the mutual information of both. Colours need not be proportional to counts, and a dark colour may
//! stand for few counts or many. Every scale, turn and shift is tried on small pictures; the best places are followed to
//! larger ones.
//!
//! A place is believed only if it beats the start, stands out from every other place (also of the photo mirrored and upside
//! down, which has the same colours and edges), falls off to all sides, and is what each half of the maps alone prefers to
//! every other place.

mod classes;
mod coarse;
mod fine;
mod information;
mod lay;
mod parts;
mod phase;
mod prepare;
mod pyramid;
mod scene;
mod words;

pub use information::{Information, information};
pub use phase::phase_shift;
pub use prepare::{LONGEST_MAP_SIDE, LONGEST_PHOTO_SIDE, factor, prepare, prepare_photo};
pub use pyramid::{gaussian_half, gaussian_pyramid};

use crate::geometry::PlaneTransform;
use crate::grid::Grid;
use crate::notice::OutOfMemory;
use coarse::Place;
use lay::Lay;
use scene::{Scene, Sizes};
use words::{Refusal, accepted};

/// What is searched with: small pictures and how much smaller they are.
#[derive(Debug, Clone)]
pub struct SearchInput {
    /// A photo, sRGB, as [`prepare_photo`] makes it.
    pub photo: Grid<[u8; 3]>,
    /// Pixels of the full photo in one of it, along a side.
    pub photo_factor: f64,
    /// Maps of one size, as [`prepare`] makes them; NaN where blank.
    pub maps: Vec<Grid<f32>>,
    /// Pixels of the grid in one of theirs, along a side.
    pub map_factor: f64,
    /// Height of a pixel of the grid over its width.
    pub aspect: f64,
    /// Where the photo is thought to lie, from places of the full photo to places of the grid; `None`: middle on middle, the
    /// longer side as long as the maps'. The search takes from it size, turn and place in the middle of the maps.
    pub start: Option<PlaneTransform>,
}

/// Where to look.
#[derive(Debug, Clone, PartialEq)]
pub struct SearchSettings {
    /// Least and largest size of the photo on the grid, as factors of the start's.
    pub scales: (f64, f64),
    /// Largest turn against the start, in degrees.
    pub turn: f64,
    /// Largest shift against the start, as a share of the longer side of the grid; `None`: anywhere.
    pub shift: Option<f64>,
    /// Quarter turns and mirroring are tried as well.
    pub turned_too: bool,
    /// Share of the grid that the photo must cover at least.
    pub overlap: f64,
}

impl Default for SearchSettings {
    fn default() -> Self {
        Self { scales: (0.6, 1.6), turn: 15.0, shift: None, turned_too: false, overlap: 0.4 }
    }
}

impl SearchSettings {
    fn are_sound(&self) -> bool {
        let (low, high) = self.scales;
        (0.1..=10.0).contains(&low)
            && (low..=10.0).contains(&high)
            && (0.0..=45.0).contains(&self.turn)
            && self.shift.is_none_or(|s| (0.0..=100.0).contains(&s))
            && (0.05..=1.0).contains(&self.overlap)
    }
}

/// What came of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Found {
    /// From places of the full photo to places of the grid: what was found, also if it was not accepted; the start where
    /// nothing could be searched with.
    pub transform: PlaneTransform,
    /// How well the photo fits at the start: nats for a pixel; 0 where it covers too little of the maps.
    pub measure_start: f64,
    /// The same where it was found.
    pub measure_found: f64,
    /// The best of eight places one pixel of the searched maps aside.
    pub measure_beside: f64,
    /// What was found and the best other place, both on the half-size maps on which places are compared.
    pub stands_out: (f64, f64),
    /// How far from it each half of the maps has its own best place, in pixels of the grid, root mean square over the field; none
    /// where it covers too little everywhere.
    pub halves_px: [Option<f64>; 2],
    /// Share of the pixels with data that the photo covers.
    pub overlap: f64,
    /// True if every test was passed.
    pub is_accepted: bool,
    /// One sentence: what was found by which measure, or why nothing is offered.
    pub reason: String,
}

/// What is found must be so many times better than any other place.
pub const LEAST_RATIO: f64 = 1.5;
/// To be told to turn or mirror the photo takes so many times the measure of every other place.
const LEAST_RATIO_OF_SIDES: f64 = 2.0;
/// At one pixel aside, at most this share of the measure may be left.
pub const MOST_BESIDE: f64 = 0.99;
/// Each half of the maps must lead so near, in pixels of the searched maps.
pub const MOST_APART: f64 = 2.0;
/// Below this many nats for a pixel nothing is spoken of.
const LEAST_MEASURE: f64 = 0.15;

/// The photo as it is, mirrored both ways, upside down; then the same after a quarter turn.
const SIDES: [[f64; 4]; 8] = [
    [1.0, 0.0, 0.0, 1.0],
    [-1.0, 0.0, 0.0, 1.0],
    [1.0, 0.0, 0.0, -1.0],
    [-1.0, 0.0, 0.0, -1.0],
    [0.0, -1.0, 1.0, 0.0],
    [0.0, 1.0, 1.0, 0.0],
    [0.0, -1.0, -1.0, 0.0],
    [0.0, 1.0, -1.0, 0.0],
];

/// Looks for the photo on the maps. `on_progress` is called with the share that is done and what is being done. Takes about a
/// second for each look at all places, six of them (ten with quarter turns), whatever the size of the originals.
///
/// # Errors
/// No memory. That nothing was found is no error but an answer.
pub fn find(
    input: &SearchInput,
    settings: &SearchSettings,
    on_progress: &mut dyn FnMut(f64, &str),
) -> Result<Found, OutOfMemory> {
    let input = &reduced(input)?;
    let nothing = |why: String| Found {
        transform: input.start.clone().unwrap_or_else(PlaneTransform::identity),
        measure_start: 0.0,
        measure_found: 0.0,
        measure_beside: 0.0,
        stands_out: (0.0, 0.0),
        halves_px: [None; 2],
        overlap: 0.0,
        is_accepted: false,
        reason: Refusal::Unfit(why).to_string(),
    };
    if !settings.are_sound() || !is_sound(input) {
        return Ok(nothing("the settings are outside what can be searched".into()));
    }
    on_progress(0.0, "Sorting colours and patterns");
    let scene = match Scene::of(input, settings)? {
        Ok(scene) => scene,
        Err(why) => return Ok(nothing(why)),
    };
    let all = scene.patterns(|_| true);
    let halves = [scene.patterns(|i| i % 2 == 0), scene.patterns(|i| i % 2 == 1)];
    let (Some(all), [Some(first), Some(second)]) = (all, halves) else {
        return Ok(nothing("the maps have no pixels with data in common".into()));
    };
    if all.fine[0].count < 2 {
        return Ok(nothing("the maps all show the same, so that none can check another".into()));
    }
    Ok(search(input, &scene, &all, [first, second], settings, on_progress).unwrap_or_else(|| {
        nothing("nowhere within the range does the photo cover enough of the maps".into())
    }))
}

fn is_sound(input: &SearchInput) -> bool {
    [input.photo_factor, input.map_factor, input.aspect].iter().all(|v| (1e-3..=1e6).contains(v))
}

/// Within the sizes that are searched on, whatever was handed in.
fn reduced(input: &SearchInput) -> Result<SearchInput, OutOfMemory> {
    let mut out = input.clone();
    let by = factor((input.photo.width(), input.photo.height()), LONGEST_PHOTO_SIDE);
    if by > 1 {
        out.photo = prepare_photo(&input.photo, by)?;
        out.photo_factor *= f64::from(by);
    }
    let size = input.maps.first().map_or((0, 0), |m| (m.width(), m.height()));
    let by = factor(size, LONGEST_MAP_SIDE);
    if by > 1 {
        out.maps = input.maps.iter().map(|m| prepare::summed_again(m, by)).collect::<Result<_, _>>()?;
        out.map_factor *= f64::from(by);
    }
    Ok(out)
}

/// `None` if nothing overlaps enough anywhere.
fn search(
    input: &SearchInput,
    scene: &Scene,
    all: &Sizes,
    halves: [Sizes; 2],
    settings: &SearchSettings,
    on_progress: &mut dyn FnMut(f64, &str),
) -> Option<Found> {
    let least = settings.overlap;
    let tried = if settings.turned_too { 8 } else { 4 };
    let looks = (tried + 2) as f64;
    let mut by_side: Vec<Vec<Place>> = Vec::new();
    for (i, side) in SIDES.iter().take(tried).enumerate() {
        let what = if i == 0 || settings.turned_too {
            "Looking everywhere"
        } else {
            "Looking with the photo mirrored"
        };
        let mut tick = |share: f64| on_progress((i as f64 + share) / looks, what);
        let start = scene.start_on(*side);
        by_side.push(scene.everywhere(all, &start, &[start], settings, &mut tick));
    }
    // The side that is believed: the first, or the best of all where turning was asked for.
    let measure = |side: usize| by_side[side].first().map_or(0.0, |p| p.measure);
    let candidates = if settings.turned_too { tried } else { 1 };
    let side = (0..candidates).fold(0, |best, s| if measure(s) > measure(best) { s } else { best });
    let best = by_side[side].first()?;
    let (other_side, other) = (0..tried)
        .map(|s| (s, by_side[s].get(usize::from(s == side)).map_or(0.0, |p| p.measure)))
        .fold((side, 0.0), |best, this| if this.1 > best.1 { this } else { best });

    // Turned or mirrored it fits far better than anywhere else in any way.
    let elsewhere = (0..tried)
        .map(|s| by_side[s].get(usize::from(s == other_side)).map_or(0.0, |p| p.measure))
        .fold(0.0, f64::max);

    let start_on = scene.start_on(SIDES[side]);
    let ends: Vec<Option<Lay>> = halves
        .iter()
        .enumerate()
        .map(|(i, half)| {
            let mut tick = |share: f64| {
                on_progress(((tried + i) as f64 + share) / looks, "Looking with half of the maps")
            };
            // What was found is among what it may choose from, in the range or not.
            let found = scene.everywhere(half, &start_on, &[start_on, best.lay], settings, &mut tick);
            Some(found.first()?.lay)
        })
        .collect();
    let end = scene.to_the_end(all, &best.lay, least);
    let apart = [0, 1].map(|i| ends[i].map(|lay| end.lay.apart(&lay, scene.map_size)));
    let beside = (0..8).map(|i| {
        let angle = std::f64::consts::FRAC_PI_4 * f64::from(i);
        let step = [crate::numerics::math::cos(angle), crate::numerics::math::sin(angle)];
        scene.measure(all, 0, &end.lay.moved(&step, 1.0), least)
    });
    let measure_beside = beside.fold(0.0, f64::max);
    let measure_start = scene.measure(all, 0, &scene.start, least);
    let halves_px = apart.map(|a| a.map(|a| a * input.map_factor));
    let farthest = halves_px[0].zip(halves_px[1]).map(|(a, b)| a.max(b));
    let refusal = if end.measure < LEAST_MEASURE {
        Some(Refusal::NoLink(end.measure))
    } else if other_side != side && other >= LEAST_RATIO_OF_SIDES * elsewhere {
        Some(Refusal::OtherSide { side: other_side, there: other, here: best.measure })
    } else if best.measure < LEAST_RATIO * other {
        Some(Refusal::NotAlone { best: best.measure, other })
    } else if apart.iter().any(|a| a.is_none_or(|a| a > MOST_APART)) {
        Some(Refusal::HalvesDisagree(farthest))
    } else if measure_beside > MOST_BESIDE * end.measure {
        Some(Refusal::Flat { found: end.measure, beside: measure_beside })
    } else if end.measure <= measure_start {
        Some(Refusal::NoBetter { found: end.measure, start: measure_start })
    } else {
        None
    };
    let transform = end.lay.transform(input.photo_factor, input.map_factor)?;
    let reason = match &refusal {
        Some(refusal) => refusal.to_string(),
        None => accepted(end.measure, measure_start, (best.measure, other), farthest.unwrap_or(0.0), side),
    };
    Some(Found {
        transform,
        measure_start,
        measure_found: end.measure,
        measure_beside,
        stands_out: (best.measure, other),
        halves_px,
        overlap: scene.overlap(all, &end.lay),
        is_accepted: refusal.is_none(),
        reason,
    })
}
