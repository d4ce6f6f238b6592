//! From the shape in a record to pixels; again when something that it is made of changes.

use super::held::Making;
use super::record::{self, CombineWord, Laid, RegionRecord, Shape};
use super::{HeldRegion, id_of};
use crate::element::{Element, Role};
use crate::grid::{Mask, try_vec};
use crate::notice::Fault;
use crate::reading::MOST_PIXELS;
use crate::region::{self, How, Region};
use crate::stack::{Map, MapId};
use crate::study::Study;
use std::collections::BTreeSet;

impl Study {
    /// The region of a record as things are now.
    ///
    /// # Errors
    /// It does not fit the maps or the regions that it is made of; no memory.
    pub(super) fn region_of(&self, record: RegionRecord) -> Result<HeldRegion, Fault> {
        let (mask, note) = self.mask_of(&record.shape)?;
        self.held_as(record, mask, String::new(), note)
    }

    /// The same, without pixels and with the reason where it cannot be made.
    pub(super) fn region_or_trouble(&self, record: RegionRecord) -> Result<HeldRegion, Fault> {
        match self.mask_of(&record.shape) {
            Ok((mask, note)) => self.held_as(record, mask, String::new(), note),
            Err(fault) => {
                let (width, height) = self.grid_size().unwrap_or_default();
                let none = Mask::try_filled(width, height, false)?;
                let trouble = fault.message.trim_end_matches('.').to_owned();
                self.held_as(record, none, trouble, String::new())
            }
        }
    }

    /// Maps that were counted by the same X-rays as this one, in other files: all lines for a sum spectrum; for errors, quality or
    /// background of a fit their line; another map of the same line, unless the names say that it is of another detector.
    fn sharing_counts_with(&self, map: &Map) -> Vec<MapId> {
        let is_sum = map.role == Some(Role::Sum);
        let shares = |other: &&Map| {
            is_sum || other.error_map.as_ref() == Some(&map.id) || map.may_hold_the_counts_of(other)
        };
        self.stack.maps().iter().filter(shares).flat_map(|other| other.roots().iter().cloned()).collect()
    }

    fn held_as(
        &self,
        record: RegionRecord,
        mask: Mask,
        trouble: String,
        note: String,
    ) -> Result<HeldRegion, Fault> {
        let mut makers: Vec<MapId> = Vec::new();
        for map in self.makers_of(&record.shape) {
            makers.push(map.id.clone());
            makers.extend(map.roots().iter().cloned());
            makers.extend(self.sharing_counts_with(map));
        }
        makers.sort();
        makers.dedup();
        let region = Region {
            id: id_of(record.number),
            name: record.name.clone(),
            role: record::role_of(&record.role)?,
            makers,
            pure: record.pure.as_deref().and_then(Element::from_symbol),
            caution: self.caution_of(&record.shape),
            mask,
        };
        let pixels = region::pixels(&region.mask);
        Ok(HeldRegion { region, making: Making { record, pixels, trouble, note } })
    }

    /// Its pixels, and what is to be said of them.
    fn mask_of(&self, shape: &Shape) -> Result<(Mask, String), Fault> {
        match shape {
            Shape::Colour(of) => self.colour_mask(of),
            other => Ok((self.plain_mask_of(other)?, String::new())),
        }
    }

    fn plain_mask_of(&self, shape: &Shape) -> Result<Mask, Fault> {
        match shape {
            Shape::Colour(of) => self.colour_mask(of).map(|(mask, _)| mask),
            Shape::Rectangle { rectangle, laid } => {
                self.turned(&region::rectangle(sound(*laid)?, (*rectangle).into())?, *laid)
            }
            Shape::Polygon { polygon, laid } => {
                let mut corners = try_vec(polygon.len() as u64)?;
                corners.extend(polygon.iter().map(|&[x, y]| (x, y)));
                self.turned(&region::polygon(sound(*laid)?, &corners)?, *laid)
            }
            Shape::Mask { runs, laid } | Shape::Classes { runs, laid, .. } => {
                let mask = region::mask_of_runs(sound(*laid)?, runs)?;
                let mask = mask.ok_or_else(|| Fault::bad_setting("The mask in the record is damaged."))?;
                self.turned(&mask, *laid)
            }
            Shape::Threshold { map, low, high } => self.between(map, *low, *high),
            Shape::Cloud { a, b, a_low, a_high, b_low, b_high, within } => {
                let masks = [self.between(a, *a_low, *a_high)?, self.between(b, *b_low, *b_high)?];
                let mut all: Vec<&Mask> = masks.iter().collect();
                if let Some(number) = within {
                    all.push(self.part_mask(*number)?);
                }
                one_of(How::And, &all)
            }
            Shape::Combine { operation, of, by_px } => {
                let parts: Vec<&Mask> =
                    of.iter().map(|&number| self.part_mask(number)).collect::<Result<_, _>>()?;
                let how = match operation {
                    CombineWord::And => How::And,
                    CombineWord::Or => How::Or,
                    CombineWord::Without => How::Without,
                    CombineWord::Grown => How::Grown((*by_px).min(record::MOST_GROWTH)),
                    CombineWord::Shrunk => How::Shrunk((*by_px).min(record::MOST_GROWTH)),
                };
                one_of(how, &parts)
            }
        }
    }

    fn turned(&self, mask: &Mask, laid: Laid) -> Result<Mask, Fault> {
        Ok(mask.oriented(laid.turn_to(self.stack.orientation()))?)
    }

    fn between(&self, key: &str, low: Option<f64>, high: Option<f64>) -> Result<Mask, Fault> {
        let map: &Map = self.map_by_key(key).ok_or_else(|| Fault::unknown_map(key))?;
        self.on_grid(region::between(&map.plane, low, high)?, map)
    }

    fn part_mask(&self, number: u32) -> Result<&Mask, Fault> {
        let held = self.held_region(number);
        let held = held.filter(|held| held.making.trouble.is_empty());
        held.map(|held| &held.region.mask)
            .ok_or_else(|| Fault::bad_setting(format!("the region {} cannot be made now", id_of(number))))
    }

    /// Makes every region of the record whose maps, photos and parts are there; the others wait.
    pub(in crate::study) fn make_expected_regions(&mut self) {
        self.forget_reads();
        let ready = |study: &Self, record: &RegionRecord| {
            record.shape.maps().iter().all(|key| study.map_by_key(key).is_some())
                && record.shape.photo().is_none_or(|key| study.photo_by_key(key).is_some())
                && record.shape.regions().iter().all(|&number| study.held_region(number).is_some())
        };
        while let Some(place) = self.expected_regions.iter().position(|record| ready(self, record)) {
            let record = self.expected_regions.remove(place);
            match self.region_or_trouble(record.clone()) {
                Ok(held) => self.regions.put(held),
                // Not even an empty mask is to be had: it waits for a time with more memory.
                Err(_) => {
                    self.expected_regions.push(record);
                    return;
                }
            }
        }
    }

    /// Makes the regions of these shapes again, and what is made of them.
    pub(in crate::study) fn remake_regions(&mut self, which: impl Fn(&Shape) -> bool) {
        let again = self.regions.take(|record| which(&record.shape));
        self.expected_regions.extend(again);
        self.make_expected_regions();
    }

    /// Regions whose pixels come from maps are made again: to be called when numbers of maps have changed.
    pub(in crate::study) fn regions_after_maps(&mut self) {
        if self.regions.iter().any(|held| held.making.record.shape.follows()) {
            self.remake_regions(Shape::follows);
        } else {
            self.forget_reads();
        }
    }

    /// All regions as a record has them.
    pub(in crate::study) fn region_records(&self) -> Vec<RegionRecord> {
        let mut all: Vec<RegionRecord> = self.all_regions().cloned().collect();
        all.sort_by_key(|record| record.number);
        all
    }

    /// Takes over the regions of a record; one of a number that is there takes its place.
    ///
    /// # Errors
    /// One that no program of ours has written. None is taken over then.
    pub(in crate::study) fn apply_regions(&mut self, records: Vec<RegionRecord>) -> Result<(), Fault> {
        for record in &records {
            sound_record(record)?;
        }
        let numbers: BTreeSet<u32> = records.iter().map(|record| record.number).collect();
        if numbers.len() != records.len() {
            return Err(Fault::bad_setting("The record names two regions by one number."));
        }
        let held: BTreeSet<u32> = self
            .all_regions()
            .map(|record| record.number)
            .filter(|number| !numbers.contains(number))
            .collect();
        if held.len() + records.len() > record::MOST_REGIONS {
            return Err(Fault::bad_setting("The record has more regions than a study holds."));
        }
        self.regions.take(|record| numbers.contains(&record.number));
        self.expected_regions.retain(|record| !numbers.contains(&record.number));
        for mut record in records {
            self.regions_made = self.regions_made.max(record.number);
            let name = self.name_for(Some(&record.name), record.number);
            record.name = match name {
                Ok(name) => name,
                Err(_) => self.name_for(None, record.number)?,
            };
            self.expected_regions.push(record);
        }
        // What was made of others may now be made of other ones.
        self.remake_regions(Shape::follows);
        Ok(())
    }
}

/// One mask of masks of one size.
fn one_of(how: How, masks: &[&Mask]) -> Result<Mask, Fault> {
    let size = |mask: &Mask| (mask.width(), mask.height());
    if masks.windows(2).any(|pair| size(pair[0]) != size(pair[1])) {
        return Err(Fault::bad_setting(
            "These regions lie on grids of different sizes and cannot be combined.",
        ));
    }
    region::combined(how, masks)?
        .ok_or_else(|| Fault::bad_setting("Name the regions that shall be combined."))
}

/// A size that a mask can have.
fn sound(laid: Laid) -> Result<(u32, u32), Fault> {
    let (width, height) = laid.size();
    if u64::from(width) * u64::from(height) <= MOST_PIXELS {
        return Ok((width, height));
    }
    Err(Fault::bad_setting("The region lies on a grid with more pixels than a map can have."))
}

/// What a record must hold to be taken over; whether its maps are there is seen later.
fn sound_record(record: &RegionRecord) -> Result<(), Fault> {
    record::role_of(&record.role)?;
    let fault =
        || Err(Fault::bad_setting(format!("The region r{} of the record is damaged.", record.number)));
    match &record.shape {
        Shape::Polygon { polygon, laid } => {
            sound(*laid)?;
            let finite = polygon.iter().flatten().all(|v| v.is_finite());
            if polygon.len() > record::MOST_CORNERS || !finite { fault() } else { Ok(()) }
        }
        Shape::Rectangle { laid, .. } | Shape::Mask { laid, .. } | Shape::Classes { laid, .. } => {
            sound(*laid).map(drop)
        }
        Shape::Colour(of) if !of.is_sound() => fault(),
        Shape::Combine { of, .. } if of.is_empty() || of.len() > record::MOST_REGIONS => fault(),
        _ => Ok(()),
    }
}
