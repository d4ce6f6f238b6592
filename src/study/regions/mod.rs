//! Regions of a study: added, changed, taken away; made again when the maps that they are made of change or are turned.

mod colour;
mod held;
mod making;
mod record;
mod shapes;
mod summary;

pub use colour::{ColourRecord, ColourSettings, ColourText};
pub use record::{
    ClassesSettings, CloudSettings, CombineSettings, CombineWord, LONGEST_NAME, Laid, MOST_CORNERS,
    MOST_GROWTH, MOST_REGIONS, RectangleRecord, RegionRecord, RegionSettings, Shape, ThresholdSettings,
};
pub use summary::{CloudText, CombineText, RegionSummary, ThresholdText};

use super::record::map_key;
use super::{MapRecord, MapSummary, Study};
use crate::grid::Mask;
use crate::notice::Fault;
use crate::region;
pub(super) use held::Regions;
use held::{Held, HeldRegion};
use serde::Serialize;
use std::collections::BTreeSet;
pub(super) use summary::pixels_text;

/// What was renamed.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Renamed {
    /// A region.
    Region(Box<RegionSummary>),
    /// A map.
    Map(Box<MapSummary>),
}

fn id_of(number: u32) -> String {
    format!("r{number}")
}

impl Study {
    /// All regions whose maps and photos are open.
    pub fn regions(&self) -> Vec<RegionSummary> {
        self.regions.iter().map(|held| self.region_summary(held)).collect()
    }

    /// The regions that a question needs.
    ///
    /// # Errors
    /// As [`crate::ask::regions_needed`].
    pub fn regions_needed(
        &self,
        question: &str,
        settings: &serde_json::Value,
    ) -> Result<Vec<&region::Region>, Fault> {
        crate::ask::regions_needed(question, settings, &self.subject())
    }

    /// A region, by id or name, with its pixels.
    ///
    /// # Errors
    /// There is none, or its maps are not open.
    pub fn region(&self, name: &str) -> Result<(RegionSummary, &Mask), Fault> {
        let held = self.find_region(name)?;
        Ok((self.region_summary(held), &held.region.mask))
    }

    /// Adds a region.
    ///
    /// # Errors
    /// Not exactly one shape, or one that cannot be made here; a name that is taken; no pixel inside. Nothing is changed then.
    pub fn add_region(&mut self, settings: RegionSettings) -> Result<RegionSummary, Fault> {
        if self.regions.len() + self.expected_regions.len() >= MOST_REGIONS {
            return Err(Fault::bad_setting(format!(
                "There are {MOST_REGIONS} regions, which is the most that a study holds. Remove one first."
            )));
        }
        let number = self.regions_made + 1;
        // What a zone is made up of is a better name than a number, unless another region has it.
        let of_zone = match &settings.name {
            None => self.name_of_zone(&settings).and_then(|name| self.name_for(Some(&name), number).ok()),
            Some(_) => None,
        };
        let name = match of_zone {
            Some(name) => name,
            None => self.name_for(settings.name.as_deref(), number)?,
        };
        let role = record::role_of(settings.role.as_deref().unwrap_or(region::RegionRole::default().word()))?;
        let pure = record::pure_of(settings.pure.as_deref())?;
        let shape = self.shape_of(settings, None)?;
        let record = RegionRecord { number, name, role: role.word().into(), pure, shape };
        let held = with_pixels(self.region_of(record)?)?;
        self.regions_made = number;
        let summary = self.region_summary(held.look());
        self.regions.put(held);
        self.forget_reads();
        Ok(summary)
    }

    /// What a region would be, without adding it; it may be without pixels. Its name may be one that is taken.
    ///
    /// # Errors
    /// As [`Study::add_region`].
    pub fn preview_region(&self, settings: RegionSettings) -> Result<(RegionSummary, Mask), Fault> {
        let role = record::role_of(settings.role.as_deref().unwrap_or(region::RegionRole::default().word()))?;
        let name = settings.name.clone().unwrap_or_default();
        let pure = record::pure_of(settings.pure.as_deref())?;
        let shape = self.shape_of(settings, None)?;
        let record = RegionRecord { number: 0, name, role: role.word().into(), pure, shape };
        let held = self.region_of(record)?;
        let summary = RegionSummary { id: String::new(), ..self.region_summary(held.look()) };
        Ok((summary, held.region.mask))
    }

    /// Changes a region: its name, its role, its shape. What is combined of it changes with it.
    ///
    /// # Errors
    /// As [`Study::add_region`]; a shape made of itself. Nothing is changed then.
    pub fn set_region(&mut self, name: &str, settings: RegionSettings) -> Result<RegionSummary, Fault> {
        let old = self.find_region(name)?.making.record.clone();
        let mut record = old.clone();
        if settings.name.is_some() {
            record.name = self.name_for(settings.name.as_deref(), old.number)?;
        }
        if let Some(word) = &settings.role {
            record.role = record::role_of(word)?.word().into();
        }
        if settings.pure.is_some() {
            record.pure = record::pure_of(settings.pure.as_deref())?;
        }
        let has_shape = settings.shapes() > 0;
        if has_shape {
            record.shape = self.shape_of(settings, Some(old.number))?;
        }
        // One that cannot be made now can still be renamed.
        let held =
            if has_shape { with_pixels(self.region_of(record)?)? } else { self.region_or_trouble(record)? };
        self.regions.put(held);
        if has_shape {
            self.remake_regions(Shape::follows);
        }
        self.forget_reads();
        Ok(self.region_summary(self.find_region(&id_of(old.number))?))
    }

    /// Gives a region or a map another name.
    ///
    /// # Errors
    /// There is none of that name, or several; a name that is taken.
    pub fn rename(&mut self, name: &str, new: &str) -> Result<Renamed, Fault> {
        if self.is_region(name)? {
            let settings = RegionSettings { name: Some(new.to_owned()), ..RegionSettings::default() };
            return Ok(Renamed::Region(Box::new(self.set_region(name, settings)?)));
        }
        let stated = MapRecord { name: Some(new.to_owned()), ..MapRecord::default() };
        Ok(Renamed::Map(Box::new(self.set_map(name, stated)?)))
    }

    /// Takes a region, a derived map, an analysis point, a spectrum or a finding away, and says which it was: "region", "map",
    /// "point", "spectrum" or "finding".
    ///
    /// # Errors
    /// There is none of that name, or several; something else is made of it; a map that was read from a file.
    pub fn remove(&mut self, name: &str) -> Result<&'static str, Fault> {
        if let Some(what) = self.remove_evidence(name)? {
            return Ok(what);
        }
        if !self.is_region(name)? {
            self.remove_map(name)?;
            return Ok("map");
        }
        let number = self.number_of_region(name)?;
        let id = id_of(number);
        let all = || self.all_regions();
        if let Some(other) = all().find(|record| record.shape.regions().contains(&number)) {
            let own = all().find(|record| record.number == number).map_or(id.as_str(), |record| &record.name);
            return Err(Fault::bad_setting(format!("{} is made of {own}. Remove it first.", other.name)));
        }
        if let Some(spectrum) = self.spectrum_of_region(number) {
            return Err(Fault::bad_setting(format!(
                "{spectrum} is a spectrum of this region. Remove it first."
            )));
        }
        self.regions.take(|record| record.number == number);
        self.expected_regions.retain(|record| record.number != number);
        self.forget_reads();
        Ok("region")
    }

    /// The pixels of a region as a PNG file of the size of the grid, with its name and how it is made.
    ///
    /// # Errors
    /// There is none; no memory.
    pub fn saved_mask(&self, name: &str) -> Result<Vec<u8>, Fault> {
        let (summary, mask) = self.region(name)?;
        let about: Vec<String> =
            [summary.role, summary.text, summary.makers_text].into_iter().filter(|t| !t.is_empty()).collect();
        let about = about.join("; ");
        region::png_of(
            mask,
            &[("Title", &summary.name), ("Description", &about), ("Software", crate::PROGRAM)],
        )
    }

    /// The first region that rests on a map, by name.
    pub(super) fn region_on(&self, key: &str) -> Option<&str> {
        let on = |record: &&RegionRecord| record.shape.maps().contains(&key);
        self.all_regions().find(on).map(|record| record.name.as_str())
    }

    /// Every region, also those that wait for their maps or photos.
    pub(super) fn all_regions(&self) -> impl Iterator<Item = &RegionRecord> {
        self.regions.iter().map(|held| &held.making.record).chain(&self.expected_regions)
    }

    fn held_region(&self, number: u32) -> Option<Held<'_>> {
        self.regions.get(number)
    }

    fn find_region(&self, name: &str) -> Result<Held<'_>, Fault> {
        let number = self.number_of_region(name)?;
        self.held_region(number).ok_or_else(|| {
            Fault::new(
                "region_waits",
                format!(
                    "The region “{name}” is made of maps or photos that are not open. Open their files first."
                ),
            )
        })
    }

    /// The number of a region that may be waiting, by id or name.
    pub(in crate::study) fn number_of_region(&self, name: &str) -> Result<u32, Fault> {
        let by_id = self.all_regions().find(|record| id_of(record.number) == name);
        let found = by_id.or_else(|| self.all_regions().find(|record| record.name == name.trim()));
        found.map(|record| record.number).ok_or_else(|| {
            Fault::new(
                "unknown_region",
                format!("There is no region called “{}”. Name it by its id or its name.", shortened(name)),
            )
        })
    }

    /// Whether a name is that of a region, and not that of a map.
    fn is_region(&self, name: &str) -> Result<bool, Fault> {
        let is_id = self.all_regions().any(|record| id_of(record.number) == name);
        match (is_id, self.number_of_region(name), self.stack.find(name)) {
            (true, ..) => Ok(true),
            (_, Ok(_), Ok(map)) if map.id.as_str() == name => Ok(false),
            (_, Ok(number), Ok(map)) => Err(Fault::bad_setting(format!(
                "A map and a region are called “{name}”. Name one by its id: {} is the map, {} the region.",
                map.id,
                id_of(number)
            ))),
            (_, Ok(_), Err(_)) => Ok(true),
            (_, Err(_), Ok(_)) => Ok(false),
            (_, Err(_), Err(fault)) if fault.code == "ambiguous_map" => Err(fault),
            (_, Err(_), Err(_)) => Err(Fault::new(
                "unknown_map",
                format!("There is no map and no region called “{}”.", shortened(name)),
            )),
        }
    }

    /// A name for the region of this number: the wanted one, or one of its own.
    ///
    /// # Errors
    /// It is taken, too long, or would be mistaken for an id.
    fn name_for(&self, wanted: Option<&str>, number: u32) -> Result<String, Fault> {
        let taken: BTreeSet<&str> = self
            .all_regions()
            .filter(|record| record.number != number)
            .map(|record| record.name.as_str())
            .collect();
        let wanted = cleaned(wanted.unwrap_or_default());
        if wanted.is_empty() {
            // There are fewer regions than numbers.
            let free = (number..).map(|n| format!("Region {n}")).find(|name| !taken.contains(name.as_str()));
            return Ok(free.unwrap_or_default());
        }
        if wanted.chars().count() > LONGEST_NAME {
            return Err(Fault::bad_setting(format!(
                "The name of a region can have {LONGEST_NAME} characters. This one is longer."
            )));
        }
        let digits = wanted.strip_prefix('r').unwrap_or_default();
        if !digits.is_empty() && digits.bytes().all(|byte| byte.is_ascii_digit()) {
            return Err(Fault::bad_setting(format!(
                "“{wanted}” could be mistaken for the id of a region. Choose another name."
            )));
        }
        if taken.contains(wanted.as_str()) {
            return Err(Fault::bad_setting(format!(
                "There is a region called “{wanted}” already. Choose another name."
            )));
        }
        Ok(wanted)
    }
}

/// A region that is to be added or changed has pixels.
fn with_pixels(held: HeldRegion) -> Result<HeldRegion, Fault> {
    if held.making.pixels > 0 {
        return Ok(held);
    }
    let why = match held.making.record.shape {
        Shape::Colour(_) => return Err(Fault::new("empty_region", colour::said(&held.making.note))),
        Shape::Rectangle { .. } | Shape::Polygon { .. } => {
            "No pixel of the grid has its centre in this shape. Draw it larger, and on the maps."
        }
        Shape::Mask { .. } => "No pixel of this mask is inside, so there is no region.",
        Shape::Threshold { .. } | Shape::Cloud { .. } => {
            "No pixel has values within these limits, so there is no region."
        }
        Shape::Classes { .. } => "The answer has no pixel of these classes, so there is no region.",
        Shape::Combine { .. } => "No pixel is left when these regions are combined so.",
    };
    Err(Fault::new("empty_region", why))
}

/// A name as it is kept: without control characters and without space around it.
fn cleaned(name: &str) -> String {
    let plain: String = name.chars().map(|c| if c.is_control() { ' ' } else { c }).collect();
    plain.trim().to_owned()
}

/// A name for a sentence that says that there is none.
fn shortened(name: &str) -> String {
    name.chars().take(LONGEST_NAME).collect()
}
