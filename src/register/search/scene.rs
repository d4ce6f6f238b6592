//! The pictures in several sizes, and the way from the smallest to the largest.

use super::classes::Shares;
use super::coarse::{self, Place, Reach};
use super::fine;
use super::lay::{Lay, times};
use super::parts::{self, Patterns};
use super::prepare;
use super::{SearchInput, SearchSettings};
use crate::grid::Grid;
use crate::notice::OutOfMemory;

/// Pixels of a map on which every scale, turn and shift is tried, at most. The work grows with its third power.
const COARSE_PIXELS: u32 = 700;
/// The smallest maps on which places are followed have more pixels than this.
const FINE_PIXELS: usize = 3000;
/// From one scale or turn to the next the corners move by about so many pixels of the smallest maps.
const COARSE_STEP: f64 = 1.5;
/// Places that are followed from the smallest pictures.
const FOLLOWED: usize = 10;
/// Two places nearer than so many pixels of the smallest maps are one.
const ONE_PLACE: f64 = 3.0;
/// A map has a pattern if neighbours, on pixels of four, are alike at least so much.
const LEAST_LIKENESS: f64 = 0.15;

/// How many times as long as the maps a photo may be: the work grows with its square.
const SIZES: core::ops::RangeInclusive<f64> = 0.1..=10.0;

/// Everything that is looked at.
pub(super) struct Scene {
    /// Largest first; each half as large as the one before.
    maps: Vec<Vec<Grid<f32>>>,
    /// On which every place is tried, and pixels of the reduced maps in one of theirs.
    coarse_maps: Vec<Grid<f32>>,
    coarse_px: u32,
    coarse: Shares,
    fine: Vec<Shares>,
    pub photo_size: (f64, f64),
    pub map_size: (f64, f64),
    /// From the reduced maps to the reduced photo where the search starts.
    pub start: Lay,
}

/// Patterns of the same maps in several sizes.
pub(super) struct Sizes {
    /// Largest first; each half as large as the one before.
    pub fine: Vec<Patterns>,
    coarse: Patterns,
}

/// What cannot be searched with, in words.
pub(super) type Unfit = String;

impl Scene {
    /// Maps of one size that have a pattern, and the photo, made ready.
    pub(super) fn of(
        input: &SearchInput,
        settings: &SearchSettings,
    ) -> Result<Result<Self, Unfit>, OutOfMemory> {
        let (photo, photo_factor) = (&input.photo, input.photo_factor);
        let Some(first) = input.maps.first() else { return Ok(Err("there are no maps".into())) };
        let size = (first.width(), first.height());
        if input.maps.iter().any(|m| (m.width(), m.height()) != size) {
            return Ok(Err("the maps are not of one size".into()));
        }
        if size.0.min(size.1) < 8 || photo.width().min(photo.height()) < 8 {
            return Ok(Err("the photo or the maps have fewer than 8 pixels along a side".into()));
        }
        let mut usable = Vec::new();
        for map in &input.maps {
            let blank = map.data().iter().filter(|v| !v.is_finite()).count();
            if 2 * blank <= map.data().len()
                && parts::likeness_of_neighbours(&parts::halved(map)?) >= LEAST_LIKENESS
            {
                usable.push(map.clone());
            }
        }
        if usable.len() < 2 {
            let found = if usable.is_empty() { "none of these has one" } else { "only one of these has one" };
            return Ok(Err(format!(
                "at least two maps with a pattern are needed, so that one can check the other, and {found}"
            )));
        }
        let map_size = (f64::from(size.0), f64::from(size.1));
        let photo_size = (f64::from(photo.width()), f64::from(photo.height()));
        let centre = (0.5 * map_size.0, 0.5 * map_size.1);
        let start = match &input.start {
            Some(transform) => Lay::of(transform, photo_factor, input.map_factor, centre),
            None => {
                let ratio = photo_size.0.max(photo_size.1) / map_size.0.max(map_size.1 * input.aspect);
                let m = [ratio, 0.0, 0.0, ratio * input.aspect];
                Some(Lay { m, at: (0.5 * photo_size.0, 0.5 * photo_size.1), centre })
            }
        };
        let Some(start) = start else {
            return Ok(Err("the start gives the maps no place on the photo".into()));
        };
        let ratio = (start.m[0] * start.m[3] - start.m[1] * start.m[2]).abs().sqrt();
        // How many times as long as the maps the photo would be.
        let length = photo_size.0.max(photo_size.1) / ratio / map_size.0.max(map_size.1);
        let (low, high) = (length * settings.scales.0, length * settings.scales.1);
        if !(SIZES.contains(&low) && SIZES.contains(&high)) {
            return Ok(Err(
                "the photo would be less than a tenth or more than ten times as long as the maps".into(),
            ));
        }
        let (shares, classes) = Shares::of(photo);
        if classes < 3 {
            return Ok(Err("the photo has hardly any colours that differ".into()));
        }
        let mut maps = vec![usable];
        let mut coarse_px = 1;
        while (size.0 / coarse_px) * (size.1 / coarse_px) > COARSE_PIXELS {
            coarse_px += 1;
        }
        let coarse_maps: Vec<Grid<f32>> =
            maps[0].iter().map(|m| prepare::summed_again(m, coarse_px)).collect::<Result<_, _>>()?;
        while let Some(last) = maps.last().filter(|m| m[0].data().len() > 4 * FINE_PIXELS) {
            let next = last.iter().map(parts::halved).collect::<Result<_, _>>()?;
            maps.push(next);
        }
        let px = |level: usize| f64::from(1u32 << level);
        let by = |pixels: f64| (ratio * pixels).round().max(1.0) as usize;
        let coarse = shares.reduced(by(f64::from(coarse_px)));
        let fine = (0..maps.len()).map(|l| shares.reduced(by(px(l) / 1.5)).softened()).collect();
        if coarse.data.is_empty() {
            return Ok(Err("the photo is too small for the scale that was stated".into()));
        }
        Ok(Ok(Self { maps, coarse_maps, coarse_px, coarse, fine, photo_size, map_size, start }))
    }

    /// Patterns of the chosen maps; `None` where they have too few pixels in common.
    pub(super) fn patterns(&self, which: impl Fn(usize) -> bool) -> Option<Sizes> {
        let of = |maps: &[Grid<f32>], px: f64| {
            let chosen: Vec<&Grid<f32>> =
                maps.iter().enumerate().filter(|(i, _)| which(*i)).map(|(_, m)| m).collect();
            Patterns::of(&chosen, px)
        };
        let levels = self.maps.iter().enumerate();
        Some(Sizes {
            fine: levels.map(|(level, maps)| of(maps, f64::from(1u32 << level))).collect::<Option<_>>()?,
            coarse: of(&self.coarse_maps, f64::from(self.coarse_px))?,
        })
    }

    /// The start with the photo turned and mirrored about its middle by `side`.
    pub(super) fn start_on(&self, side: [f64; 4]) -> Lay {
        let middle = (0.5 * self.photo_size.0, 0.5 * self.photo_size.1);
        let (x, y) = (self.start.at.0 - middle.0, self.start.at.1 - middle.1);
        let at = (middle.0 + side[0] * x + side[1] * y, middle.1 + side[2] * x + side[3] * y);
        Lay { m: times(side, self.start.m), at, centre: self.start.centre }
    }

    /// The level on which places are compared with each other: the second largest where there is one.
    fn compared_on(&self) -> usize {
        usize::from(self.maps.len() > 1)
    }

    /// How well a place fits on the pictures of a level.
    pub(super) fn measure(&self, all: &Sizes, level: usize, lay: &Lay, least: f64) -> f64 {
        fine::fit(&all.fine[level], &self.fine[level], lay).measure(least)
    }

    /// Share of the pixels with data that the photo covers there.
    pub(super) fn overlap(&self, all: &Sizes, lay: &Lay) -> f64 {
        fine::fit(&all.fine[0], &self.fine[0], lay).overlap
    }

    /// Looks everywhere on the smallest pictures and follows the best places, and those in `also`, up to where they are
    /// compared; best first, each a place of its own, at least one unless nothing overlaps enough.
    pub(super) fn everywhere(
        &self,
        all: &Sizes,
        start: &Lay,
        also: &[Lay],
        settings: &SearchSettings,
        tick: &mut dyn FnMut(f64),
    ) -> Vec<Place> {
        let patterns = &all.coarse;
        let step = coarse::steps((patterns.width, patterns.height), COARSE_STEP);
        let reach = Reach {
            base: start.m,
            at: start.at,
            scales: coarse::scales(settings.scales.0, settings.scales.1, step),
            turns: coarse::turns(settings.turn.to_radians(), step),
            shift: settings.shift.map(|share| share * self.map_size.0.max(self.map_size.1)),
            overlap: settings.overlap,
        };
        let distinct = ONE_PLACE * patterns.px;
        let mut found =
            coarse::look(patterns, &self.coarse, &reach, FOLLOWED, distinct, &mut |share| tick(0.8 * share));
        found.extend(also.iter().map(|lay| Place { lay: *lay, measure: 0.0 }));
        let mut kept = FOLLOWED;
        let mut step = 0.35 * patterns.px;
        for level in (self.compared_on()..all.fine.len()).rev() {
            for place in &mut found {
                let search = (4, step, 70);
                let (lay, measure) =
                    fine::climb(&all.fine[level], &self.fine[level], &place.lay, search, settings.overlap);
                *place = Place { lay, measure };
            }
            found.sort_by(|a, b| b.measure.total_cmp(&a.measure));
            let mut apart: Vec<Place> = Vec::new();
            for place in found {
                if apart.iter().all(|other| other.lay.apart(&place.lay, self.map_size) > distinct) {
                    apart.push(place);
                }
            }
            kept = (kept / 3).max(3);
            step = 0.35 * all.fine[level].px;
            apart.truncate(kept);
            found = apart;
        }
        tick(1.0);
        found.retain(|place| place.measure > 0.0);
        found
    }

    /// From a place that was found to the best on the largest pictures: first similar, then with all six numbers.
    pub(super) fn to_the_end(&self, all: &Sizes, place: &Lay, least: f64) -> Place {
        let one = |lay: &Lay, search| {
            let (lay, measure) = fine::climb(&all.fine[0], &self.fine[0], lay, search, least);
            Place { lay, measure }
        };
        let similar = one(place, (4, 0.5, 80));
        let full = one(&similar.lay, (6, 0.3, 200));
        // Six numbers that run away from four have found something else.
        let stays = similar.lay.apart(&full.lay, self.map_size) < 3.0;
        if stays && full.measure > similar.measure { full } else { similar }
    }
}
