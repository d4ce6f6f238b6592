//! What the user states: of maps, of the grid, of the scan.

use super::Study;
use super::record::{self, FrameRecord, GridRecord, MapChange, MapRecord, Record, map_key};
use super::scan::ScanRecord;
use super::summary::{GridSummary, MapSummary};
use crate::ask::Answer;
use crate::element::{Guess, guess_line};
use crate::geometry::{Area, Frame, Orientation, Step};
use crate::notice::Fault;
use crate::reading::{MOST_PIXELS, NamedMap};
use crate::stack::{Map, MapId, Reading, file_stem};

impl Study {
    /// States what a map is.
    ///
    /// # Errors
    /// No such map; a word that is not understood. Nothing is changed then.
    pub fn set_map(&mut self, name: &str, settings: MapRecord) -> Result<MapSummary, Fault> {
        let before = settings.field.is_some().then(|| self.record());
        let summary = self.state_map(name, settings)?;
        if let (Some(before), Some(fault)) = (before, self.mixed_fields()) {
            self.take_back(&[MapId::from_text(&summary.id)], before)?;
            return Err(fault);
        }
        Ok(summary)
    }

    /// Why maps cannot belong to the scans that are stated: one is made of maps of several.
    fn mixed_fields(&self) -> Option<Fault> {
        self.stack.maps().iter().find_map(|map| {
            let making = map.making.as_ref()?;
            let mut of = making.of.iter().filter_map(|id| self.stack.by_id(id));
            let first = of.next()?;
            let other = of.find(|other| other.field != first.field)?;
            Some(Fault::bad_setting(format!(
                "{} is made of {} and {}, which would then be of different scans. State both at once, or remove it first.",
                map.label(),
                first.label(),
                other.label()
            )))
        })
    }

    fn state_map(&mut self, name: &str, settings: MapRecord) -> Result<MapSummary, Fault> {
        let map = self.stack.find(name)?;
        let (id, key) = (map.id.clone(), map_key(&map.source));
        if settings.field.is_some() && map.making.is_some() {
            return Err(Fault::bad_setting(format!(
                "{} belongs to the scan of the maps that it is made of. State theirs.",
                map.label()
            )));
        }
        self.check_kind(map, &settings)?;
        let mut settings = settings;
        if let Some(areas) = settings.blank_areas.take() {
            settings.blank_areas = Some(in_file(map, areas));
        }
        if let Some(frame) = settings.frame.filter(|frame| *frame != FrameRecord::default()) {
            settings.frame = Some(frame_in_file(map, sound(frame.into())?).into());
        }
        if let Some(error_map) = settings.error_map.as_deref().filter(|name| !name.is_empty()) {
            let error_map = self.stack.find(error_map)?;
            if !error_map.has_size_of(map) || error_map.id == id {
                return Err(Fault::bad_setting(format!(
                    "{} cannot hold the errors of {}: it must be another map of the same size.",
                    error_map.label(),
                    map.label()
                )));
            }
            settings.error_map = Some(map_key(&error_map.source));
        }
        let mut stated = self.stated.get(&key).cloned().unwrap_or_default();
        // An element alone takes the line with it, and a line the element.
        if settings.element.is_some() || settings.line.is_some() {
            (stated.element, stated.line) = (None, None);
        }
        stated.overlay(settings);
        let mut changed = map.clone();
        self.apply_stated(&mut changed, &stated)?;
        if stated.element.take().is_some() {
            stated.line = Some(changed.line.map_or_else(String::new, |line| line.to_string()));
        }
        self.stated.insert(key, stated);
        if self.put(changed) {
            self.derive_after(&id)?;
        }
        self.link_errors()?;
        self.stack.find(id.as_str()).map(|map| self.summary(map))
    }

    /// States what many maps are; if one cannot be stated, none is.
    ///
    /// # Errors
    /// As [`Study::set_map`], of the first that cannot be.
    pub fn set_maps(&mut self, changes: Vec<MapChange>) -> Result<Vec<MapSummary>, Fault> {
        let before = self.record();
        // Ids first: a change of one map's name must not change which map the next one names.
        let ids = changes
            .iter()
            .map(|change| Ok(self.stack.find(&change.id)?.id.clone()))
            .collect::<Result<Vec<_>, Fault>>()?;
        let mut summaries = Vec::new();
        for (id, change) in ids.iter().zip(changes) {
            match self.state_map(id.as_str(), change.stated) {
                Ok(summary) => summaries.push(summary),
                Err(fault) => {
                    let touched: Vec<MapId> = ids.iter().take(summaries.len()).cloned().collect();
                    self.take_back(&touched, before)?;
                    return Err(Fault { detail: id.to_string(), ..fault });
                }
            }
        }
        if let Some(fault) = self.mixed_fields() {
            self.take_back(&ids, before)?;
            return Err(fault);
        }
        Ok(summaries)
    }

    /// Maps as an earlier record states them.
    fn take_back(&mut self, ids: &[MapId], before: Record) -> Result<(), Fault> {
        self.stated = before.maps;
        for id in ids {
            let Some(map) = self.stack.by_id(id) else { continue };
            if self.put(self.restated(map.clone())?) {
                self.derive_after(id)?;
            }
        }
        Ok(self.link_errors()?)
    }

    /// A map as what is stated of it now makes it.
    ///
    /// # Errors
    /// Something stated that does not fit it; no memory.
    pub(super) fn restated(&self, mut map: Map) -> Result<Map, Fault> {
        let stated = self.stated.get(&map_key(&map.source)).cloned().unwrap_or_default();
        self.apply_stated(&mut map, &stated)?;
        Ok(map)
    }

    /// Puts a map in the place of the one of its id. True where its numbers or its kind are others than that one's; what
    /// was found on that one is no longer held then.
    pub(super) fn put(&mut self, map: Map) -> bool {
        let Some(place) = self.stack.by_id_mut(&map.id) else { return false };
        let is_other = place.plane != map.plane || place.kind != map.kind || place.field != map.field;
        if is_other {
            self.levels.remove(&map.id);
            self.looks.remove(&map.id);
        }
        if place.orientation != map.orientation || place.frame != map.frame {
            // Pixels of answers lie as the map lay.
            let is_of = |answer: &Answer| answer.inputs.iter().any(|input| input.id == map.id.as_str());
            self.answers.retain(|(answer, _)| !is_of(answer));
        }
        *place = map;
        self.forget_reads();
        is_other
    }

    /// A map as what is stated of it makes it, seen from how it was read. On a fault the map may be half changed.
    pub(super) fn apply_stated(&self, map: &mut Map, stated: &MapRecord) -> Result<(), Fault> {
        let own = Orientation::new(stated.turns.unwrap_or(0), stated.mirror.unwrap_or(false));
        // A derived map was made as the stack lay then.
        let from = map.making.as_ref().map(|making| making.laid.inverse()).unwrap_or_default();
        let orientation = own.then(from).then(self.stack.orientation());
        let file_size = map.size_as_read();
        let frame = stated.frame.filter(|frame| *frame != FrameRecord::default());
        let frame = frame.map(|frame| sound(frame.into())).transpose()?;
        let framed_size = frame.map_or(file_size, |frame| (frame.width, frame.height));
        let stated_areas = stated.blank_areas.iter().flatten().map(|&area| Area::from(area));
        let areas = stated_areas
            .filter_map(|area| frame.map_or(Some(area), |frame| frame.area(area)))
            .chain(frame.iter().flat_map(|frame| frame.padding(file_size)));
        let fill_values = match (&stated.fill_values, stated.fill_value) {
            (Some(many), _) => many.clone(),
            (None, one) => one.into_iter().collect(),
        };
        let (gain, offset) = (stated.gain.unwrap_or(1.0), stated.offset.unwrap_or(0.0));
        if !(gain.is_finite() && gain > 0.0 && offset.is_finite()) {
            return Err(Fault::bad_setting(
                "The gain (stored steps for each count) must be above 0, and the offset a number.",
            ));
        }
        let reading = Reading {
            fill_values,
            blank_areas: areas.filter_map(|area| orientation.area(area, framed_size)).collect(),
            gain,
            offset,
        };
        let kind = stated.kind()?;
        let line = stated.line_over(map.named)?;
        let role = stated.role_over(map.named_role)?;
        map.lay(orientation, frame, reading)?;
        map.role = role;
        map.line = line;
        map.kind = kind.filter(|_| !self.is_laid(map)).unwrap_or(map.proposal.kind);
        map.field = map.making.as_ref().map_or(stated.field.unwrap_or(0), |making| making.field);
        map.name = stated.name.as_deref().unwrap_or("").trim().chars().take(120).collect();
        Ok(())
    }

    /// The grid of the scan.
    pub fn grid(&self) -> GridSummary {
        GridSummary::of(&self.stack)
    }

    /// States the step and how the maps lie. Without any field, forgets the step that was stated.
    ///
    /// # Errors
    /// A step that cannot be one; no memory. Nothing is changed then.
    pub fn set_grid(&mut self, grid: GridRecord) -> Result<GridSummary, Fault> {
        let step = match (grid.step_x_um, grid.step_y_um) {
            (None, None) => None,
            (Some(one), None) | (None, Some(one)) => Some((one, one)),
            (Some(x), Some(y)) => Some((x, y)),
        };
        let step = match step {
            None => None,
            Some((x, y)) => Some(Step::new(x, y).ok_or_else(|| {
                Fault::bad_setting("The step must lie between 0.01 µm and 1 m. Give it in micrometres: 500 for half a millimetre.")
            })?),
        };
        if grid.turns.is_some() || grid.mirror.is_some() {
            let now = self.stack.orientation();
            let turns = grid.turns.unwrap_or(now.quarter_turns());
            self.lay_stack(Orientation::new(turns, grid.mirror.unwrap_or(now.is_mirrored())))?;
        }
        if step.is_some() || (grid.turns.is_none() && grid.mirror.is_none()) {
            self.stack.state_step(step);
            self.forget_reads();
            // The border that is left out depends on the step.
            self.regions_after_photos();
        }
        Ok(self.grid())
    }

    /// Turns every map; what was found on the old ones is no longer held.
    fn lay_stack(&mut self, orientation: Orientation) -> Result<(), Fault> {
        let before = self.stack.orientation();
        if before == orientation {
            return Ok(());
        }
        self.stack.state_orientation(orientation);
        let turned: Result<Vec<Map>, Fault> =
            self.stack.maps().iter().map(|map| self.restated(map.clone())).collect();
        match turned {
            Ok(maps) => self.stack.replace(maps),
            Err(fault) => {
                self.stack.state_orientation(before);
                return Err(fault);
            }
        }
        self.levels.clear();
        self.looks.clear();
        self.answers.clear();
        self.align_all();
        self.remake_regions(|_| true);
        self.know();
        Ok(())
    }

    /// What is known of the scan.
    pub fn scan(&self) -> &ScanRecord {
        &self.scan
    }

    /// States how the scan was made, all of it in one go.
    ///
    /// # Errors
    /// A value that cannot be one. Nothing is changed then.
    pub fn set_scan(&mut self, scan: ScanRecord) -> Result<&ScanRecord, Fault> {
        let beam = self.scan.beam_um;
        self.scan = scan.checked()?;
        self.know();
        if self.scan.beam_um != beam {
            // The border that is left out depends on the beam.
            self.regions_after_photos();
        }
        Ok(&self.scan)
    }

    /// Gives maps the names of a list, as if the user had; maps that already have an element keep it. How many were named.
    pub(super) fn take_names(&mut self, names: Vec<NamedMap>) -> usize {
        self.names.extend(names);
        let nameless: Vec<MapId> =
            self.stack.maps().iter().filter(|map| map.line.is_none()).map(|map| map.id.clone()).collect();
        nameless.into_iter().filter(|id| self.name_by_list(id)).count()
    }

    /// True if the list has a name for this map.
    pub(super) fn name_by_list(&mut self, id: &MapId) -> bool {
        let Some(map) = self.stack.by_id(id) else { return false };
        let stem = file_stem(&map.source.file);
        let number = trailing_number(stem);
        let listed = self.names.iter().find(|named| {
            let listed = file_stem(&named.map);
            listed.eq_ignore_ascii_case(stem) || (number.is_some() && listed.parse().ok() == number)
        });
        let Some(Guess::Line(line)) = listed.map(|named| guess_line(&named.name)) else { return false };
        let settings = MapRecord { line: Some(line.to_string()), ..MapRecord::default() };
        let name = id.to_string();
        self.set_map(&name, settings).is_ok()
    }
}

/// Areas as the map lies now, as they lie in its file.
fn in_file(map: &Map, areas: Vec<record::AreaRecord>) -> Vec<record::AreaRecord> {
    let back = map.orientation.inverse();
    let unframed = |area: Area| map.frame.map_or(Some(area), |frame| frame.area_on_map(area));
    let of_file = |area: record::AreaRecord| back.area(area.into(), map.plane.size()).and_then(unframed);
    areas.into_iter().filter_map(of_file).map(Into::into).collect()
}

/// A frame that can be laid around a map.
///
/// # Errors
/// It has no pixels, too many, or lies too far from any map.
fn sound(frame: Frame) -> Result<Frame, Fault> {
    if frame.is_sound() && u64::from(frame.width) * u64::from(frame.height) <= MOST_PIXELS {
        return Ok(frame);
    }
    Err(Fault::bad_setting("The frame must have pixels, not too many, and lie near the map."))
}

/// A frame of the map as it lies now, as it lies in its file; of a map that is framed already, of what is shown of it.
fn frame_in_file(map: &Map, frame: Frame) -> Frame {
    let back = frame.oriented(map.orientation.inverse(), map.plane.size());
    let (x, y) = map.frame.map_or((0, 0), |frame| (frame.x, frame.y));
    Frame { x: back.x + x, y: back.y + y, ..back }
}

fn trailing_number(stem: &str) -> Option<u32> {
    let digits = stem.len() - stem.trim_end_matches(|c: char| c.is_ascii_digit()).len();
    stem[stem.len() - digits..].parse().ok()
}
