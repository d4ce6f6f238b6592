//! The stack: all maps of one scan, each with its identity, kind and pixels; and the grid they share.
//! Does not know where maps came from beyond a file name and a hash.

mod map;
mod plane;
mod pyramid;
mod stats;
mod tally;

pub use map::{Making, Map, MapId, Source};
pub use plane::{Plane, Reading};
pub use pyramid::{Level, Pyramid};
pub use stats::Stats;
pub use tally::Tally;

use crate::geometry::{Orientation, Step};
use crate::notice::Fault;

/// Where the step of the scan was taken from.
#[derive(Debug, Clone, PartialEq)]
pub enum StepSource {
    /// From resolution tags of this file.
    File(String),
    /// Stated by the user.
    Stated,
}

/// Maps in the order in which they were opened, and the step of the scan. Maps of different sizes may stand side by
/// side; only maps of one size can be combined.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Stack {
    maps: Vec<Map>,
    /// Steps that files give, in the order in which they came; all as the files lie.
    offers: Vec<(Step, String)>,
    step_of_file: Option<(Step, StepSource)>,
    stated_step: Option<(Step, StepSource)>,
    orientation: Orientation,
}

impl Stack {
    /// All maps.
    pub fn maps(&self) -> &[Map] {
        &self.maps
    }

    /// Takes a map in, at its place by the number of its id.
    pub fn push(&mut self, map: Map) {
        let place = self.maps.partition_point(|other| other.id <= map.id);
        self.maps.insert(place, map);
    }

    /// Takes a map away; nothing happens where there is none.
    pub fn remove(&mut self, id: &MapId) {
        self.maps.retain(|map| map.id != *id);
    }

    /// Puts these in the place of all maps.
    pub fn replace(&mut self, maps: Vec<Map>) {
        self.maps = maps;
    }

    /// By id.
    pub fn by_id(&self, id: &MapId) -> Option<&Map> {
        self.maps.iter().find(|map| map.id == *id)
    }

    /// By id, to be changed.
    pub fn by_id_mut(&mut self, id: &MapId) -> Option<&mut Map> {
        self.maps.iter_mut().find(|map| map.id == *id)
    }

    /// By id or, where that is unique, by label ("Cu K"). Of several maps of a line the only one that holds the line itself
    /// is meant, not its errors.
    pub fn find(&self, name: &str) -> Result<&Map, Fault> {
        if let Some(map) = self.maps.iter().find(|map| map.id.as_str() == name) {
            return Ok(map);
        }
        if let [map] = self.maps.iter().filter(|map| map.label() == name).collect::<Vec<_>>().as_slice() {
            return Ok(map);
        }
        let named: Vec<&Map> = self.maps.iter().filter(|map| map.plain_label() == name).collect();
        match named.as_slice() {
            [] => Err(Fault::unknown_map(name)),
            [map] => Ok(map),
            several => {
                let ids: Vec<String> = several.iter().map(|map| map.id.to_string()).collect();
                Err(Fault::ambiguous_map(name, &ids))
            }
        }
    }

    /// Gives maps that would be called the same what tells them apart: of several scans the scan, those of the first keeping
    /// the bare name; where the files differ the file's name, else the page, else the id. To be called when maps came, went or were stated anew.
    pub fn tell_apart(&mut self) {
        let plain: Vec<String> = self.maps.iter().map(Map::plain_label).collect();
        let mut distinctions = Vec::new();
        let stem = |map: &Map| file_stem(&map.source.file).to_owned();
        for (map, label) in self.maps.iter().zip(&plain) {
            let same: Vec<&Map> = self
                .maps
                .iter()
                .zip(&plain)
                .filter(|(_, other)| *other == label)
                .map(|(map, _)| map)
                .collect();
            let is_unique = |of: &dyn Fn(&Map) -> String| {
                let mut all: Vec<String> = same.iter().map(|map| of(map)).collect();
                all.sort();
                all.windows(2).all(|pair| pair[0] != pair[1]) && all.iter().all(|text| !text.is_empty())
            };
            let scan = |map: &Map| map.field.to_string();
            let page = |map: &Map| format!("page {}", map.source.page + 1);
            let id = |map: &Map| map.id.to_string();
            distinctions.push(match same.len() {
                1 => String::new(),
                _ if is_unique(&scan) && map.field == 0 => String::new(),
                _ if is_unique(&scan) => scan_word(map.field),
                _ if is_unique(&stem) => stem(map),
                _ if is_unique(&page) => page(map),
                _ => id(map),
            });
        }
        for (map, distinction) in self.maps.iter_mut().zip(distinctions) {
            map.distinction = distinction;
        }
    }

    /// Step of the scan as the maps lie now, and from where it is known. What was stated goes before what a file says.
    pub fn step(&self) -> Option<(Step, &StepSource)> {
        let (step, source) = self.stated_step.as_ref().or(self.step_of_file.as_ref())?;
        Some((step.oriented(self.orientation), source))
    }

    /// Step between the pixels of one map: that of the scan, more for a binned map. Not known for maps of another scan.
    pub fn step_of(&self, map: &Map) -> Option<Step> {
        if map.field != 0 {
            return None;
        }
        let (step, _) = self.step()?;
        let (across, down) = map.cell();
        Step::new(step.x_um() * f64::from(across), step.y_um() * f64::from(down))
    }

    /// Every step that a file gave, with the file's name.
    pub fn offers(&self) -> &[(Step, String)] {
        &self.offers
    }

    /// The maps alone.
    pub fn into_maps(self) -> Vec<Map> {
        self.maps
    }

    /// Takes the step that a file gives, unless an earlier file gave one.
    pub fn offer_step(&mut self, step: Step, file: &str) {
        if self.offers.last().is_none_or(|(last, of)| *last != step || of != file) {
            self.offers.push((step, file.to_owned()));
        }
        self.step_of_file.get_or_insert_with(|| (step, StepSource::File(file.to_owned())));
    }

    /// States the step as the maps lie now; `None` forgets what was stated, and what a file gave stands again.
    pub fn state_step(&mut self, step: Option<Step>) {
        self.stated_step = step.map(|step| (step.oriented(self.orientation), StepSource::Stated));
    }

    /// How all maps are laid, beside what is stated of single ones.
    pub fn orientation(&self) -> Orientation {
        self.orientation
    }

    /// States it. The pixels of the maps are turned by whoever calls this.
    pub fn state_orientation(&mut self, orientation: Orientation) {
        self.orientation = orientation;
    }

    /// Maps of the first scan, on whose grid everything lies.
    pub fn on_grid(&self) -> impl Iterator<Item = &Map> {
        self.maps.iter().filter(|map| map.field == 0)
    }

    /// The size that most maps of the first scan have; of sizes equally common the one that comes first. `None` without any.
    pub fn commonest_size(&self) -> Option<(u32, u32)> {
        let times = |size| self.on_grid().filter(|map| map.plane.size() == size).count();
        let mut best: Option<((u32, u32), usize)> = None;
        for map in self.on_grid() {
            let now = (map.plane.size(), times(map.plane.size()));
            if best.is_none_or(|(_, most)| now.1 > most) {
                best = Some(now);
            }
        }
        best.map(|(size, _)| size)
    }

    /// Size of the first map of the first scan, the measure for those that follow; `None` without any.
    pub fn size(&self) -> Option<(u32, u32)> {
        self.on_grid().next().map(|map| map.plane.size())
    }
}

/// File name without folders and ending; empty for an empty one.
pub fn file_stem(file: &str) -> &str {
    let name = file.rsplit(['/', '\\']).next().unwrap_or(file);
    name.rsplit_once('.').map_or(name, |(stem, _)| if stem.is_empty() { name } else { stem })
}

/// What a scan is called, by its number: "first scan", "second scan", "scan 3".
pub fn scan_word(field: u32) -> String {
    match field {
        0 => "first scan".into(),
        1 => "second scan".into(),
        more => format!("scan {}", u64::from(more) + 1),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::element::Line;
    use crate::grid::{Grid, Samples};

    fn map(id: u32, line: &str) -> Map {
        let samples = Samples::U8(Grid::from_vec(2, 1, vec![1, 2]).unwrap());
        let source = Source { file: format!("{line}.tif"), page: 0, sha256: String::new() };
        Map::new(MapId::new(id), source, String::new(), Line::parse(line), samples).unwrap()
    }

    #[test]
    fn maps_are_found_by_id_or_by_a_unique_label() {
        let mut stack = Stack::default();
        for (id, line) in [(1, "Cu K"), (2, "Fe K"), (3, "Fe K")] {
            stack.push(map(id, line));
        }
        assert_eq!(stack.find("Cu K").unwrap().id.as_str(), "m1");
        assert_eq!(stack.find("m3").unwrap().label(), "Fe K");
        assert_eq!(stack.find("Fe K").unwrap_err().code, "ambiguous_map");
        assert_eq!(stack.find("Au L").unwrap_err().code, "unknown_map");
        stack.tell_apart();
        let labels: Vec<String> = stack.maps().iter().map(Map::label).collect();
        assert_eq!(labels, ["Cu K", "Fe K (m2)", "Fe K (m3)"], "same file name, same page");
        assert_eq!(stack.find("Fe K (m3)").unwrap().id.as_str(), "m3");
        stack.maps[2].field = 1;
        stack.tell_apart();
        let labels: Vec<String> = stack.maps().iter().map(Map::label).collect();
        assert_eq!(labels, ["Cu K", "Fe K", "Fe K (second scan)"]);
        assert_eq!(stack.find("Fe K").unwrap().id.as_str(), "m2", "the first scan's");
    }
}
