//! Other scans of the object: laid on the grid of the first, and held against it.

use super::{AlignSettings, Aligned, AlignmentRecord, AlignmentText, alignment_of};
use crate::condition::Recipe;
use crate::geometry::Orientation;
use crate::notice::Fault;
use crate::stack::{Map, scan_word};
use crate::study::{Laid, OverlapText, Study};
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Another scan at a glance.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FieldText {
    /// Its number; the first scan is 0 and is not among these.
    pub field: u32,
    /// "second scan".
    pub label: String,
    /// Its maps, by id.
    pub maps: Vec<String>,
    /// Pixels across, as its maps lie now.
    pub width: u32,
    /// Pixels down.
    pub height: u32,
    /// Where it lies on the grid of the first scan.
    pub alignment: Option<AlignmentText>,
}

/// Which maps of two scans are compared.
#[derive(Debug, Clone, Default, PartialEq, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct CompareSettings {
    /// A map of another scan.
    pub map: String,
    /// The map of the first scan; left out, the only one of the same line.
    pub first: Option<String>,
}

/// How a map of another scan lies: seen from its file, with the size that it has there.
fn lie(map: &Map) -> (Orientation, (u32, u32)) {
    (map.orientation, map.orientation.inverse().size(map.plane.size()))
}

impl Study {
    /// Other scans than the first.
    pub fn fields(&self) -> Vec<FieldText> {
        let numbers: BTreeSet<u32> =
            self.stack.maps().iter().map(|map| map.field).filter(|&n| n > 0).collect();
        let text = |field| {
            let maps: Vec<&Map> = self.stack.maps().iter().filter(|map| map.field == field).collect();
            let size = maps.first().map_or((0, 0), |map| map.plane.size());
            FieldText {
                field,
                label: scan_word(field),
                maps: maps.iter().map(|map| map.id.to_string()).collect(),
                width: size.0,
                height: size.1,
                alignment: self.aligned_field(field).map(|aligned| aligned.text(size, &self.stack)),
            }
        };
        numbers.into_iter().map(text).collect()
    }

    /// Where another scan lies; `None` where nothing was stated, or none of its maps is open.
    pub(super) fn aligned_field(&self, field: u32) -> Option<Aligned> {
        let record = self.field_stated.get(&field)?;
        let (own, file_size) = lie(self.stack.maps().iter().find(|map| map.field == field)?);
        Some(Aligned::of(record, own, file_size, self.stack.orientation()))
    }

    pub(super) fn align_field(
        &mut self,
        name: &str,
        settings: &AlignSettings,
        laid: Laid,
    ) -> Result<Option<AlignmentText>, Fault> {
        let map = self.other_scan(name)?;
        let (field, size) = (map.field, map.plane.size());
        let (own, file_size) = lie(map);
        match alignment_of(settings, own, file_size, laid)? {
            Some(record) => self.field_stated.insert(field, record),
            None => self.field_stated.remove(&field),
        };
        Ok(self.aligned_field(field).map(|aligned| aligned.text(size, &self.stack)))
    }

    /// A map that belongs to another scan than the first.
    fn other_scan(&self, name: &str) -> Result<&Map, Fault> {
        let map = self.stack.find(name)?;
        if map.field > 0 {
            return Ok(map);
        }
        Err(Fault::bad_setting(format!(
            "{} belongs to the first scan, on whose grid everything lies. State first that it is of another scan.",
            map.label()
        )))
    }

    /// The map with where its scan lies.
    fn laid_scan(&self, name: &str) -> Result<(&Map, Aligned), Fault> {
        let map = self.other_scan(name)?;
        let what = scan_word(map.field);
        let aligned = self.aligned_field(map.field).ok_or_else(|| {
            Fault::new("not_aligned", format!("The {what} does not lie on the first yet. Align it first."))
        })?;
        Ok((map, aligned))
    }

    /// How bright a map of another scan is against the first, where they overlap.
    ///
    /// # Errors
    /// A map of the first scan, a scan that is not aligned, or as [`Study::compare_fields`].
    pub fn compare_scans(&self, settings: &CompareSettings) -> Result<OverlapText, Fault> {
        let (map, aligned) = self.laid_scan(&settings.map)?;
        let transform = aligned.transform().map_err(|trouble| Fault::new("not_aligned", trouble))?;
        let grid = self.grid_size().unwrap_or_default();
        let error_px = aligned.error_shared(map.plane.size(), grid).unwrap_or_default();
        self.compare_fields(map.id.as_str(), settings.first.as_deref(), transform, (error_px, None))
    }

    /// The recipe that lays a map of another scan on the grid of the first, as it is aligned now.
    ///
    /// # Errors
    /// A map of the first scan; a scan that is not aligned, or not by one rule for the whole plane.
    pub fn laying(&self, name: &str) -> Result<Recipe, Fault> {
        let (map, aligned) = self.laid_scan(name)?;
        let transform = aligned.transform().map_err(|trouble| Fault::new("not_aligned", trouble))?;
        let Some(plane) = transform.plane() else {
            return Err(Fault::bad_setting(format!(
                "The {} is aligned piece by piece; counts are kept only by one rule for the whole plane. Choose another way to align it.",
                scan_word(map.field)
            )));
        };
        let (width, height) = self.grid_size().unwrap_or_default();
        Ok(Recipe::LayOnGrid { transform: *plane.matrix(), width, height, least_covered: 1.0 })
    }

    /// Takes over where a record says that other scans lie.
    ///
    /// # Errors
    /// Something that no program of ours has written. Nothing is taken over then.
    pub(in crate::study) fn apply_fields(
        &mut self,
        stated: BTreeMap<u32, AlignmentRecord>,
    ) -> Result<(), Fault> {
        // The first scan, of the number 0, is what others are laid on.
        if stated.contains_key(&0) || !stated.values().all(AlignmentRecord::is_sound) {
            return Err(Fault::bad_setting("What the record states of another scan is damaged."));
        }
        self.field_stated.extend(stated);
        Ok(())
    }
}
