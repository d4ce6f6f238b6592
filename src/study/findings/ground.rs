//! What a finding rests on, as hashes: so that it can be said whether that is otherwise by now.

use super::super::Study;
use super::super::record::map_key;
use crate::ask::picture::PictureSettings;
use crate::digest::{canonical_json, sha256_hex};
use crate::notice::Fault;
use crate::region::Region;
use crate::stack::{Map, MapId};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};
use std::collections::BTreeSet;

/// Questions whose answers rest on analysis points and on the object's edges.
const OF_POINTS: [&str; 3] = ["materials", "covered", "dates"];
/// More parts than this no ground has: every map and every region.
const MOST_PARTS: usize = 100_000;

/// One thing that a finding rests on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Part {
    /// Its id.
    pub id: String,
    /// What it was called.
    pub name: String,
    /// SHA-256 of all of it that counts.
    pub sha256: String,
}

/// What a finding rests on. An empty hash is of nothing that counts.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Ground {
    /// Maps: their files, and what was stated of them.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub maps: Vec<Part>,
    /// Regions: their pixels, roles and makers.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub regions: Vec<Part>,
    /// Photos: their files, and how they lie.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub photos: Vec<Part>,
    /// Step and orientation.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub grid: String,
    /// How the scan was made.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub scan: String,
    /// Analysis points and the object's edges.
    #[serde(skip_serializing_if = "String::is_empty")]
    pub points: String,
}

impl Ground {
    pub(super) fn is_sound(&self) -> bool {
        let parts = [&self.maps, &self.regions, &self.photos];
        parts.iter().all(|parts| parts.len() <= MOST_PARTS)
    }

    /// What is otherwise now, in sentences.
    pub(super) fn changes(&self, now: &Self) -> Vec<String> {
        let mut told = Vec::new();
        let kinds = [
            ("", "is stated otherwise than when this was kept", &self.maps, &now.maps),
            ("The region ", "has changed since this was kept", &self.regions, &now.regions),
            ("The photo ", "lies otherwise than when this was kept", &self.photos, &now.photos),
        ];
        for (what, changed, before, after) in kinds {
            let quoted =
                |name: &str| if what.is_empty() { name.to_owned() } else { format!("{what}“{name}”") };
            for part in before {
                match after.iter().find(|other| other.id == part.id) {
                    None => told.push(format!("{} is no longer there.", quoted(&part.name))),
                    Some(other) if other.sha256 != part.sha256 => {
                        told.push(format!("{} {changed}.", quoted(&part.name)));
                    }
                    Some(_) => {}
                }
            }
            let added = after.iter().filter(|part| before.iter().all(|other| other.id != part.id));
            told.extend(added.map(|part| format!("{} now counts as well.", quoted(&part.name))));
        }
        let wholes = [
            (&self.grid, &now.grid, "The step of the scan or how the maps lie is stated otherwise."),
            (&self.scan, &now.scan, "How the scan was made is stated otherwise."),
            (&self.points, &now.points, "Analysis points or the object's edges are not as they were."),
        ];
        told.extend(
            wholes.iter().filter(|(before, after, _)| before != after).map(|(.., text)| (*text).to_owned()),
        );
        told
    }
}

fn hash(value: &Value) -> String {
    sha256_hex(canonical_json(value).as_bytes())
}

impl Study {
    /// What an answer rests on, as things are now: exactly what a question is handed.
    pub(super) fn ground_of_question(&self, question: &str, settings: &Value) -> Result<Ground, Fault> {
        let maps = self.maps_needed(question, settings)?;
        let regions = self.regions_needed(question, settings)?;
        let points = OF_POINTS.contains(&question).then(|| hash(&json!([self.points, self.object])));
        Ok(Ground {
            maps: maps.iter().filter_map(|id| self.stack.by_id(id)).map(|map| self.map_part(map)).collect(),
            regions: regions.into_iter().map(|region| self.region_part(region)).collect(),
            photos: Vec::new(),
            grid: self.grid_hash(),
            scan: hash(&json!(self.scan)),
            points: points.unwrap_or_default(),
        })
    }

    /// What a view rests on, as things are now.
    pub(super) fn ground_of_view(&self, settings: &Value) -> Result<Ground, Fault> {
        let read = PictureSettings::read(settings.clone())?;
        let inputs = self.inputs_of(&read);
        let ids: Vec<&str> =
            inputs.iter().filter_map(|input| input.get("id").and_then(Value::as_str)).collect();
        let of_photo = |id: &str| self.photos.iter().find(|photo| photo.id() == id);
        Ok(Ground {
            maps: ids
                .iter()
                .filter_map(|id| self.stack.by_id(&MapId::from_text(id)))
                .map(|map| self.map_part(map))
                .collect(),
            photos: ids
                .iter()
                .filter_map(|id| of_photo(id))
                .map(|photo| Part {
                    id: photo.id(),
                    name: photo.name().to_owned(),
                    sha256: hash(&json!([photo.key, photo.stated])),
                })
                .collect(),
            grid: self.grid_hash(),
            ..Ground::default()
        })
    }

    fn grid_hash(&self) -> String {
        let now = self.stack.orientation();
        let step = self.stack.step().map(|(step, _)| [step.x_um(), step.y_um()]);
        hash(&json!([step, now.quarter_turns(), now.is_mirrored()]))
    }

    /// A map with all that makes its numbers: its file, what was stated of it, and the same of what it rests on.
    fn map_part(&self, map: &Map) -> Part {
        let mut seen = BTreeSet::new();
        let mut all = Vec::new();
        self.makings(map, &mut seen, &mut all);
        let errors =
            map.error_map.as_ref().and_then(|id| self.stack.by_id(id)).map(|map| map_key(&map.source));
        let sha256 = hash(&json!([all, map.label(), map.kind.word(), errors]));
        Part { id: map.id.to_string(), name: map.label(), sha256 }
    }

    fn makings(&self, map: &Map, seen: &mut BTreeSet<MapId>, out: &mut Vec<Value>) {
        if !seen.insert(map.id.clone()) {
            return;
        }
        let key = map_key(&map.source);
        out.push(json!([key, self.stated.get(&key)]));
        for id in map.making.iter().flat_map(|making| &making.of) {
            if let Some(map) = self.stack.by_id(id) {
                self.makings(map, seen, out);
            }
        }
    }

    fn region_part(&self, region: &Region) -> Part {
        let inside: Vec<u8> = region.mask.data().iter().map(|&inside| u8::from(inside)).collect();
        let makers: Vec<&str> = region.makers.iter().map(MapId::as_str).collect();
        let pure = region.pure.map(|element| element.symbol());
        let size = [region.mask.width(), region.mask.height()];
        let sha256 = hash(&json!([
            region.name,
            region.role.word(),
            makers,
            pure,
            region.caution,
            size,
            sha256_hex(&inside)
        ]));
        Part { id: region.id.clone(), name: region.name.clone(), sha256 }
    }
}
