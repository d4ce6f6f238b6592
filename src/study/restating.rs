//! An open study made exactly that of a record: undo and redo. Files that are open stay open, and are not read again.

use super::Study;
use super::record::{InputRecord, Record, map_key};
use crate::notice::Fault;
use crate::stack::{Map, MapId};
use std::collections::BTreeSet;

/// The word in what was left out of a copy for what lies where: no place is proposed in such a copy.
pub const PLACES_LEFT_OUT: &str = "coordinates";
/// More texts than this are not left out of a copy, nor longer ones.
const MOST_LEFT_OUT: usize = 32;
const LONGEST_LEFT_OUT: usize = 500;

impl Study {
    /// Makes this study that of a record, with the files that are open. Gives the inputs of the record that are not, in
    /// order: they are to be opened, as after [`Study::apply`]. Numbers that were given since are not given again.
    ///
    /// # Errors
    /// As [`Study::apply`]; no memory. Where the record is not understood, nothing is changed.
    pub fn restate(&mut self, record: Record) -> Result<Vec<InputRecord>, Fault> {
        let mut new = Self::new();
        // Nothing is open in it, so what is not understood costs nothing.
        new.apply(record)?;
        let old = std::mem::take(self);
        new.blobs = old.blobs;
        new.names = old.names;
        new.region_reads.clear();
        let is_turned = old.stack.orientation() != new.stack.orientation();
        new.take_over_files(&old.inputs, old.stack.offers(), old.photos);
        let (kept, made): (Vec<Map>, Vec<Map>) =
            old.stack.into_maps().into_iter().partition(|map| map.making.is_none());
        let of_files: BTreeSet<String> = new.inputs.iter().map(|input| input.sha256.clone()).collect();
        let mut unchanged = BTreeSet::new();
        let mut outcome = Ok(());
        for map in kept.into_iter().filter(|map| of_files.contains(&map.source.sha256)) {
            let key = map_key(&map.source);
            let is_same = !is_turned && old.stated.get(&key) == new.stated.get(&key);
            if is_same {
                unchanged.insert(key);
            }
            outcome = outcome.and(new.take_over_map(map));
        }
        for map in made {
            // One that rests on what is as it was need not be made again.
            let number = old.derived.iter().find(|record| MapId::derived(record.number) == map.id);
            let waits =
                number.and_then(|record| new.expected_derived.iter().position(|other| other == record));
            let rests = number.is_some_and(|record| record.of.iter().all(|key| unchanged.contains(key)));
            if let (Some(place), true) = (waits, rests && !is_turned) {
                let record = new.expected_derived.remove(place);
                let key = map_key(&map.source);
                if old.stated.get(&key) == new.stated.get(&key) {
                    unchanged.insert(key);
                }
                outcome = outcome.and(new.take_over_map(map));
                new.derived.push(record);
                new.derived.sort_by_key(|record| record.number);
            }
        }
        if !is_turned {
            (new.answers, new.asked) = (old.answers, old.asked);
        }
        new.made = (new.made.0.max(old.made.0), new.made.1.max(old.made.1));
        new.derived_made = new.derived_made.max(old.derived_made);
        new.regions_made = new.regions_made.max(old.regions_made);
        new.points_made = new.points_made.max(old.points_made);
        new.spectra_made = new.spectra_made.max(old.spectra_made);
        new.findings_made = new.findings_made.max(old.findings_made);
        *self = new;
        outcome?;
        self.link_errors()?;
        self.derive_expected()?;
        self.align_all();
        self.regions_after_maps();
        self.regions_after_photos();
        self.know();
        Ok(self.expected.clone())
    }

    /// Files of the record that are open already are no longer waited for; their photos are taken over.
    fn take_over_files(
        &mut self,
        inputs: &[InputRecord],
        offers: &[(crate::geometry::Step, String)],
        photos: Vec<super::HeldPhoto>,
    ) {
        let mut open = Vec::new();
        self.expected.retain(|waited| {
            let held = inputs.iter().find(|input| {
                input.sha256 == waited.sha256 && input.before == waited.before && input.way == waited.way
            });
            open.extend(held.cloned());
            held.is_none()
        });
        for (step, file) in offers {
            let is_of =
                |input: &InputRecord| *file == input.name || file.starts_with(&format!("{}/", input.name));
            if open.iter().any(is_of) {
                self.stack.offer_step(*step, file);
            }
        }
        for photo in photos {
            if open.iter().any(|input| input.sha256 == photo.file_sha256) {
                self.take_over_photo(photo);
            }
        }
        self.inputs = open;
        self.inputs.sort_by_key(|input| input.before);
    }

    /// A map that was open, as what is stated of it now makes it.
    fn take_over_map(&mut self, mut map: Map) -> Result<(), Fault> {
        let stated = self.stated.get(&map_key(&map.source)).cloned().unwrap_or_default();
        let outcome = self.apply_stated(&mut map, &stated);
        map.plane.prepare()?;
        self.stack.push(map);
        outcome
    }

    /// Takes over what a record says of what was left out of it.
    ///
    /// # Errors
    /// Something that no program of ours has written.
    pub(super) fn apply_left_out(&mut self, left_out: Vec<String>) -> Result<(), Fault> {
        if left_out.len() > MOST_LEFT_OUT || left_out.iter().any(|text| text.len() > LONGEST_LEFT_OUT) {
            return Err(Fault::bad_setting("What the record says of what was left out is damaged."));
        }
        self.left_out = left_out;
        self.know();
        Ok(())
    }

    /// Says what was left out of this copy, in words.
    ///
    /// # Errors
    /// Too many words, or too long ones. Nothing is changed then.
    pub fn set_left_out(&mut self, left_out: Vec<String>) -> Result<(), Fault> {
        self.apply_left_out(left_out)
    }

    /// What was left out of this copy, in words; empty for a study that is whole.
    pub fn left_out(&self) -> &[String] {
        &self.left_out
    }

    /// The files that are open, in order.
    pub fn inputs(&self) -> &[InputRecord] {
        &self.inputs
    }
}
