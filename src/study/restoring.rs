//! The record of everything that was stated, and stating it again.

use super::Study;
use super::record::{self, GridRecord, Record};
use crate::notice::Fault;
use crate::stack::StepSource;

impl Study {
    /// The state, without pixels.
    pub fn record(&self) -> Record {
        let step = match self.stack.step() {
            Some((step, StepSource::Stated)) => Some(step),
            _ => None,
        };
        let orientation = self.stack.orientation();
        let grid = (step.is_some() || !orientation.is_plain()).then(|| GridRecord {
            step_x_um: step.map(|step| step.x_um()),
            step_y_um: step.map(|step| step.y_um()),
            turns: (!orientation.is_plain()).then_some(orientation.quarter_turns()),
            mirror: (!orientation.is_plain()).then_some(orientation.is_mirrored()),
        });
        let mut inputs = self.inputs.clone();
        inputs.extend(self.expected.iter().cloned());
        inputs.sort_by_key(|input| input.before);
        let mut derived = self.derived.clone();
        derived.extend(self.expected_derived.iter().cloned());
        derived.sort_by_key(|record| record.number);
        let (scan, maps) = (self.scan.clone(), self.stated.clone());
        let regions = self.region_records();
        let (photos, object) = (self.photo_stated.clone(), self.object.clone());
        let (fields, points) = (self.field_stated.clone(), self.points.clone());
        let spectra = self.spectra.iter().map(|held| held.record().clone()).collect();
        Record {
            record: record::VERSION,
            inputs,
            grid,
            scan,
            maps,
            derived,
            regions,
            photos,
            fields,
            object,
            points,
            spectra,
            about: self.about.clone(),
            findings: self.findings.clone(),
            left_out: self.left_out.clone(),
        }
    }

    /// States again what a record states: of what is open at once, of what is still to be opened when it comes.
    ///
    /// # Errors
    /// A record of another version or one that does not fit; what fits before the fault is stated.
    pub fn apply(&mut self, record: Record) -> Result<(), Fault> {
        record.is_readable()?;
        self.set_scan(record.scan)?;
        if let Some(grid) = record.grid {
            self.set_grid(grid)?;
        }
        self.expected = record
            .inputs
            .into_iter()
            .filter(|input| self.inputs.iter().all(|i| i.sha256 != input.sha256))
            .collect();
        for (maps, photos) in self.expected.iter().map(|input| input.before) {
            self.made = (self.made.0.max(maps), self.made.1.max(photos));
        }
        for (key, stated) in record.maps {
            let open = self.map_by_key(&key).cloned();
            self.stated.insert(key, stated);
            if let Some(map) = open {
                self.put(self.restated(map)?);
            }
        }
        self.expect_derived(record.derived)?;
        self.link_errors()?;
        self.derive_expected()?;
        self.apply_object(record.object)?;
        self.apply_photos(record.photos)?;
        self.apply_fields(record.fields)?;
        self.apply_points(record.points)?;
        self.apply_spectra(record.spectra)?;
        self.apply_regions(record.regions)?;
        self.set_about(record.about)?;
        self.apply_left_out(record.left_out)?;
        self.apply_findings(record.findings)
    }
}
