//! The regions that a study holds: as questions take them, all in one row, each with how it is made.

use super::record::RegionRecord;
use crate::region::Region;

/// A region with how it is made.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::study) struct HeldRegion {
    pub region: Region,
    pub making: Making,
}

/// How a region is made, and whether it could be.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::study) struct Making {
    pub record: RegionRecord,
    /// Pixels inside.
    pub pixels: u64,
    /// Why its pixels could not be made as things are now; empty otherwise. Without pixels then.
    pub trouble: String,
    /// What else is to be said of its pixels; empty where nothing is.
    pub note: String,
}

/// A look at a held region.
#[derive(Debug, Clone, Copy)]
pub(in crate::study) struct Held<'a> {
    pub region: &'a Region,
    pub making: &'a Making,
}

/// Regions in order of their numbers. Both rows have the same length and order, which only the functions here can change.
#[derive(Debug, Default)]
pub(in crate::study) struct Regions {
    regions: Vec<Region>,
    makings: Vec<Making>,
}

impl HeldRegion {
    pub fn look(&self) -> Held<'_> {
        Held { region: &self.region, making: &self.making }
    }
}

impl Regions {
    /// As questions take them.
    pub fn all(&self) -> &[Region] {
        &self.regions
    }

    pub fn len(&self) -> usize {
        self.regions.len()
    }

    pub fn iter(&self) -> impl Iterator<Item = Held<'_>> {
        self.regions.iter().zip(&self.makings).map(|(region, making)| Held { region, making })
    }

    pub fn get(&self, number: u32) -> Option<Held<'_>> {
        self.iter().find(|held| held.making.record.number == number)
    }

    /// Puts a region at its place, for the one of its number where there is one.
    pub fn put(&mut self, HeldRegion { region, making }: HeldRegion) {
        let place = self.makings.partition_point(|other| other.record.number < making.record.number);
        let is_there =
            self.makings.get(place).is_some_and(|other| other.record.number == making.record.number);
        if is_there {
            (self.regions[place], self.makings[place]) = (region, making);
        } else {
            self.regions.insert(place, region);
            self.makings.insert(place, making);
        }
    }

    /// Takes those out that are meant, and gives their records.
    pub fn take(&mut self, which: impl Fn(&RegionRecord) -> bool) -> Vec<RegionRecord> {
        let (mut taken, mut kept) = (Vec::new(), Self::default());
        let all = std::mem::take(self);
        for (region, making) in all.regions.into_iter().zip(all.makings) {
            if which(&making.record) {
                taken.push(making.record);
            } else {
                kept.regions.push(region);
                kept.makings.push(making);
            }
        }
        *self = kept;
        taken
    }
}
