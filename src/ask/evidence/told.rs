//! What an evidence tells of itself: its levels, where it is asked, what is to be said of regions and overlaps.

use super::{Change, Evidence, WHOLE_FIELD, is_of_materials};
use crate::ask::answer::AskedRegion;
use crate::measure::{Level, Rules};
use crate::stack::MapId;

impl Evidence {
    /// The levels of all maps; or which map has none, and why.
    pub fn levels(&self) -> Result<Vec<&Level>, String> {
        self.sides.iter().map(|side| side.level.as_ref().map_err(Clone::clone)).collect()
    }

    /// Whether this is a trial of another evidence: only the verdict is wanted.
    pub fn is_trial(&self) -> bool {
        self.change != Change::Nothing
    }

    /// The rules in force.
    pub fn rules(&self) -> Rules {
        self.change.rules(self.settings.rules())
    }

    /// Pixels that are asked about.
    pub fn pixels(&self) -> u64 {
        self.sides.first().map_or(0, |side| side.signal.asked())
    }

    /// Where it is asked, for a sentence: "in the whole field", "in “sky”".
    pub fn place(&self) -> String {
        if self.asked.id.is_none() {
            format!("in {WHOLE_FIELD}")
        } else {
            format!("in “{}”", self.asked.name)
        }
    }

    /// What is to be said of lines of other elements in the maps that are asked about.
    pub fn overlap_cautions(&self) -> Vec<String> {
        // These ask all maps, and say it of those that matter.
        if is_of_materials(&self.settings.question) {
            return Vec::new();
        }
        self.sides.iter().flat_map(|side| side.overlaps.cautions(&side.label())).collect()
    }

    /// What is to be said of how the regions were made, each named.
    pub fn region_cautions(&self) -> Vec<String> {
        let all = self.regions.iter().chain([&self.asked]).filter(|asked| !asked.caution.is_empty());
        all.map(|asked| format!("“{}”: {}", asked.name, asked.caution)).collect()
    }

    /// The regions that an answer names.
    pub fn asked_regions(&self) -> Vec<AskedRegion> {
        let all = self.regions.iter().chain(self.asked.id.is_some().then_some(&self.asked));
        let named = all.filter_map(|asked| {
            Some(AskedRegion {
                id: asked.id.clone()?,
                name: asked.name.clone(),
                role: asked.role.into(),
                makers: asked.makers.iter().map(MapId::to_string).collect(),
            })
        });
        named.collect()
    }
}
