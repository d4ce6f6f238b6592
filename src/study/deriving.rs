//! Derived maps: made of others on request, kept with their making, made again when what they rest on changes.

use super::Study;
use super::record::{GridRecord, map_key};
use super::summary::MapSummary;
use crate::condition::{self, Derived, Input, Recipe};
use crate::digest::sha256_hex;
use crate::geometry::Orientation;
use crate::grid::Grid;
use crate::notice::Fault;
use crate::stack::{Making, Map, MapId, Source, Stack};
use serde::{Deserialize, Serialize};

/// What shall be made of which maps.
#[derive(Debug, Clone, PartialEq)]
pub struct Derivation {
    /// Maps by id or by a unique label.
    pub of: Vec<String>,
    /// How.
    pub recipe: Recipe,
    /// A name of the user's own; empty for the recipe in words.
    pub name: String,
}

/// A derived map as it stands in a record.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DerivedRecord {
    /// Number in its id.
    pub number: u32,
    /// What it is made of, as [`super::Record::maps`] names maps.
    pub of: Vec<String>,
    /// How, with every default filled in.
    pub recipe: Recipe,
    /// How the maps lay when it was made.
    pub laid: GridRecord,
}

impl Derivation {
    /// Reads `{how, of, name?, ...}`.
    ///
    /// # Errors
    /// `bad_setting` with one sentence.
    pub fn read(settings: serde_json::Value) -> Result<Self, Fault> {
        let serde_json::Value::Object(mut fields) = settings else {
            return Err(Fault::bad_setting("Say what to derive: {how, of}."));
        };
        let of = fields.remove("of").unwrap_or_default();
        let of: Vec<String> = serde_json::from_value(of)
            .map_err(|_| Fault::bad_setting("`of` is missing: name the maps to derive from, as a list."))?;
        let name = match fields.remove("name") {
            Some(serde_json::Value::String(name)) => name,
            _ => String::new(),
        };
        let recipe = serde_json::from_value(serde_json::Value::Object(fields))
            .map_err(|error| Fault::bad_setting(format!("How to derive is not understood: {error}.")))?;
        Ok(Self { of, recipe, name })
    }

    /// The maps, in order.
    ///
    /// # Errors
    /// None are named, or one is not there.
    pub fn maps<'a>(&self, stack: &'a Stack) -> Result<Vec<&'a Map>, Fault> {
        if self.of.is_empty() {
            return Err(Fault::bad_setting("`of` is empty: name the maps to derive from."));
        }
        self.of.iter().map(|name| stack.find(name)).collect()
    }

    /// Computes it. Long for large maps: for a worker of its own.
    ///
    /// # Errors
    /// As [`Derivation::maps`]; maps that do not fit each other or the recipe; no memory.
    pub fn made_of(&self, stack: &Stack) -> Result<Derived, Fault> {
        let maps = self.maps(stack)?;
        if let Some(other) = maps.iter().find(|map| map.field != maps[0].field) {
            return Err(Fault::different_fields(&maps[0].label(), &other.label()));
        }
        made_of(&maps, &self.recipe)
    }
}

fn made_of(maps: &[&Map], recipe: &Recipe) -> Result<Derived, Fault> {
    let values: Vec<Grid<f64>> = maps.iter().map(|map| map.plane.to_f64()).collect::<Result<_, _>>()?;
    // As they are called by themselves: what tells them from others may change as maps come and go.
    let labels: Vec<String> = maps.iter().map(|map| map.plain_label()).collect();
    let inputs: Vec<Input<'_>> = maps
        .iter()
        .zip(&values)
        .zip(&labels)
        .map(|((map, values), label)| Input {
            values,
            sigma: map.sigma.as_ref(),
            kind: map.kind,
            ceiling: map.plane.ceiling(),
            label,
        })
        .collect();
    condition::derive(recipe, &inputs)
}

impl Study {
    /// Maps that a derivation needs, by id.
    ///
    /// # Errors
    /// As [`Derivation::maps`].
    pub fn maps_to_derive(&self, derivation: &Derivation) -> Result<Vec<MapId>, Fault> {
        Ok(derivation.maps(&self.stack)?.into_iter().map(|map| map.id.clone()).collect())
    }

    /// Makes a map of others, here.
    ///
    /// # Errors
    /// As [`Derivation::made_of`].
    pub fn derive(&mut self, derivation: &Derivation) -> Result<MapSummary, Fault> {
        let made = derivation.made_of(&self.stack)?;
        self.adopt_derived(derivation, made)
    }

    /// Takes in a map that was made elsewhere out of copies of the same maps.
    ///
    /// # Errors
    /// A map is no longer there; the same was derived before; no memory.
    pub fn adopt_derived(&mut self, derivation: &Derivation, made: Derived) -> Result<MapSummary, Fault> {
        let of: Vec<String> = derivation.maps(&self.stack)?.iter().map(|map| map_key(&map.source)).collect();
        let now = self.stack.orientation();
        let laid = GridRecord {
            turns: Some(now.quarter_turns()),
            mirror: Some(now.is_mirrored()),
            ..GridRecord::default()
        };
        let number = self.derived_made + 1;
        let record = DerivedRecord { number, of, recipe: made.recipe.clone(), laid };
        let source = record.source();
        if let Some(same) = self.stack.maps().iter().find(|map| map.source.sha256 == source.sha256) {
            return Err(Fault::bad_setting(format!(
                "This was derived before: it is {} ({}).",
                same.label(),
                same.id
            )));
        }
        self.derived_made = number;
        let map = self.map_of(&record, made)?;
        let id = map.id.clone();
        self.stack.push(map);
        // It need not wait to be made any longer.
        self.expected_derived.retain(|record| record.source() != source);
        self.stack.tell_apart();
        self.derived.push(record);
        self.make_expected_regions();
        if !derivation.name.trim().is_empty() {
            let name = Some(derivation.name.clone());
            self.set_map(id.as_str(), super::MapRecord { name, ..super::MapRecord::default() })?;
        }
        self.stack.find(id.as_str()).map(|map| self.summary(map))
    }

    /// The map of a record, as it lies now and with what was stated of it.
    fn map_of(&self, record: &DerivedRecord, made: Derived) -> Result<Map, Fault> {
        let inputs: Vec<&Map> = record.of.iter().filter_map(|key| self.map_by_key(key)).collect();
        let mut roots: Vec<MapId> = inputs.iter().flat_map(|map| map.roots()).cloned().collect();
        roots.sort();
        roots.dedup();
        let making = Making {
            of: inputs.iter().map(|map| map.id.clone()).collect(),
            roots,
            how: word(&record.recipe),
            text: match (&record.recipe, self.common_line(&record.of, &record.recipe)) {
                (Recipe::Sum, Some(line)) if inputs.iter().all(|map| map.line == Some(line)) => {
                    format!("{line}, sum of {} maps", inputs.len())
                }
                _ => made.label.clone(),
            },
            account: made.account.iter().chain(&made.findings).cloned().collect(),
            cell: made.cell,
            kind: made.kind,
            laid: record.orientation(),
            field: match record.recipe {
                Recipe::LayOnGrid { .. } => 0,
                _ => inputs.first().map_or(0, |map| map.field),
            },
        };
        let mut map =
            Map::derived(MapId::derived(record.number), record.source(), making, made.values, made.sigma)?;
        // A sum of detectors, or a map with its faults mended, is still a map of that line.
        map.named = self.common_line(&record.of, &record.recipe);
        self.restated(map)
    }

    fn common_line(&self, of: &[String], recipe: &Recipe) -> Option<crate::element::Line> {
        let mut lines = of.iter().map(|key| self.map_by_key(key).and_then(|map| map.line));
        let first = lines.next()??;
        match recipe {
            Recipe::Sum if lines.all(|line| line == Some(first)) => Some(first),
            Recipe::Sum => {
                let all_of_element = of.iter().all(|key| {
                    self.map_by_key(key)
                        .and_then(|map| map.line)
                        .is_some_and(|line| line.element == first.element && line.family == first.family)
                });
                all_of_element.then_some(crate::element::Line { member: None, ..first })
            }
            _ => Some(first),
        }
    }

    pub(super) fn map_by_key(&self, key: &str) -> Option<&Map> {
        self.stack.maps().iter().find(|map| map_key(&map.source) == key)
    }

    /// Takes over the derived maps of a record, to be made once their inputs are there. One whose number another map has here
    /// gets a new one.
    ///
    /// # Errors
    /// One that is made of nothing.
    pub(super) fn expect_derived(&mut self, records: Vec<DerivedRecord>) -> Result<(), Fault> {
        if let Some(record) = records.iter().find(|record| record.of.is_empty()) {
            let number = record.number;
            return Err(Fault::bad_setting(format!("The map d{number} of the record is made of nothing.")));
        }
        self.derived_made = records.iter().map(|made| made.number).fold(self.derived_made, u32::max);
        self.expected_derived.clear();
        for mut record in records {
            let all = || self.derived.iter().chain(&self.expected_derived);
            if all().any(|made| made.source() == record.source()) {
                continue;
            }
            if all().any(|made| made.number == record.number) {
                record.number = self.derived_made + 1;
                self.derived_made = record.number;
            }
            self.expected_derived.push(record);
        }
        Ok(())
    }

    /// Makes every derived map of the record whose inputs are there and which is not; those that cannot be made wait.
    ///
    /// # Errors
    /// Why the first of these could not be made.
    pub(super) fn derive_expected(&mut self) -> Result<(), Fault> {
        let (mut waiting, mut outcome) = (Vec::new(), Ok(()));
        loop {
            let ready = self
                .expected_derived
                .iter()
                .position(|record| record.of.iter().all(|key| self.map_by_key(key).is_some()));
            let Some(place) = ready else { break };
            let record = self.expected_derived.remove(place);
            match self.make_again(&record) {
                Ok(map) => {
                    self.stack.push(map);
                    self.derived.push(record);
                    self.derived.sort_by_key(|record| record.number);
                    self.stack.tell_apart();
                }
                Err(fault) => {
                    outcome = outcome.and(Err(fault));
                    waiting.push(record);
                }
            }
        }
        self.expected_derived.extend(waiting);
        self.make_expected_regions();
        outcome
    }

    fn make_again(&self, record: &DerivedRecord) -> Result<Map, Fault> {
        let mut inputs = Vec::new();
        for key in &record.of {
            let Some(map) = self.map_by_key(key) else { return Err(Fault::unknown_map(key)) };
            let mut map = map.clone();
            // As the maps lay when it was made first.
            let turn = self.stack.orientation().inverse().then(record.orientation());
            map.turn(turn)?;
            inputs.push(map);
        }
        let made = made_of(&inputs.iter().collect::<Vec<_>>(), &record.recipe)?;
        self.map_of(record, made)
    }

    /// Makes again what rests on a map that has changed, and what rests on that.
    pub(super) fn derive_after(&mut self, changed: &MapId) -> Result<(), Fault> {
        let mut changed = vec![changed.clone()];
        while let Some(id) = changed.pop() {
            let Some(key) = self.stack.by_id(&id).map(|map| map_key(&map.source)) else { continue };
            let resting: Vec<DerivedRecord> =
                self.derived.iter().filter(|record| record.of.contains(&key)).cloned().collect();
            for record in resting {
                let map = self.make_again(&record)?;
                changed.push(map.id.clone());
                self.put(map);
            }
        }
        self.regions_after_maps();
        Ok(())
    }

    /// Takes a derived map away.
    ///
    /// # Errors
    /// It was read from a file, or another one or a region rests on it.
    pub(super) fn remove_map(&mut self, name: &str) -> Result<(), Fault> {
        let map = self.stack.find(name)?;
        let (id, key, label) = (map.id.clone(), map_key(&map.source), map.label());
        if !id.is_derived() {
            return Err(Fault::bad_setting(format!(
                "{label} was read from a file; only derived maps can be removed."
            )));
        }
        if let Some(resting) = self.derived.iter().find(|record| record.of.contains(&key)) {
            let resting = MapId::derived(resting.number);
            let resting = self.stack.by_id(&resting).map_or_else(|| resting.to_string(), Map::label);
            return Err(Fault::bad_setting(format!("{resting} is made of {label}. Remove it first.")));
        }
        if let Some(region) = self.region_on(&key) {
            return Err(Fault::bad_setting(format!(
                "The region {region} is made from {label}. Remove it first."
            )));
        }
        self.derived.retain(|record| MapId::derived(record.number) != id);
        self.stated.remove(&key);
        self.levels.remove(&id);
        self.stack.remove(&id);
        self.stack.tell_apart();
        self.forget_reads();
        Ok(())
    }
}

/// The word that names a recipe in records and calls.
fn word(recipe: &Recipe) -> String {
    let written = serde_json::to_value(recipe).unwrap_or_default();
    written.get("how").and_then(|how| how.as_str()).unwrap_or_default().to_owned()
}

impl DerivedRecord {
    fn orientation(&self) -> Orientation {
        Orientation::new(self.laid.turns.unwrap_or(0), self.laid.mirror.unwrap_or(false))
    }

    /// How a record names the map: by what it is made of and how.
    pub fn key(&self) -> String {
        map_key(&self.source())
    }

    /// Named by what it is made of and how, so that the same making has the same name in any study.
    fn source(&self) -> Source {
        // The fields are texts and finite numbers, so that writing them cannot fail.
        let making = serde_json::to_vec(&(&self.of, &self.recipe, &self.laid)).unwrap_or_default();
        Source { file: String::new(), page: 0, sha256: sha256_hex(&making) }
    }
}
