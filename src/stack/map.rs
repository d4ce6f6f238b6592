//! One map.

use super::{Plane, Reading, Stats};
use crate::element::{Line, Role};
use crate::geometry::{Frame, Orientation};
use crate::grid::{Grid, Samples};
use crate::kind::{Evidence, Kind, Proposal, propose};
use crate::notice::{Fault, OutOfMemory};
use std::fmt;

/// Names a map within a study; the same inputs in the same order give the same ids. In order of their numbers, maps that
/// were read before derived ones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapId(String);

impl MapId {
    /// A map that was read: `m1`, `m2`, ...
    pub fn new(number: u32) -> Self {
        Self(format!("m{number}"))
    }

    /// A derived map: `d1`, `d2`, ...
    pub fn derived(number: u32) -> Self {
        Self(format!("d{number}"))
    }

    /// Takes a written id, without checking that such a map exists.
    pub fn from_text(text: &str) -> Self {
        Self(text.to_owned())
    }

    /// As written.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// True for derived maps.
    pub fn is_derived(&self) -> bool {
        self.0.starts_with('d')
    }

    fn order(&self) -> (bool, u64, &str) {
        let number = self.0.get(1..).and_then(|digits| digits.parse().ok()).unwrap_or(u64::MAX);
        (self.is_derived(), number, &self.0)
    }
}

impl Ord for MapId {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.order().cmp(&other.order())
    }
}

impl PartialOrd for MapId {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for MapId {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// Where a map came from: enough to name it again in a saved study.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Source {
    /// File name as the user knows it (untrusted text).
    pub file: String,
    /// Page in the file, from 0.
    pub page: u32,
    /// SHA-256 of the file's bytes, in hexadecimal.
    pub sha256: String,
}

/// How a derived map was made.
#[derive(Debug, Clone, PartialEq)]
pub struct Making {
    /// What it is made of.
    pub of: Vec<MapId>,
    /// The maps that were read which it rests on in the end.
    pub roots: Vec<MapId>,
    /// The word of the recipe ("sum").
    pub how: String,
    /// In words ("Fe K + Fe K").
    pub text: String,
    /// What was done, with its numbers.
    pub account: Vec<String>,
    /// Pixels of the scan in one of its own, across and down, as it was made.
    pub cell: (u32, u32),
    /// The kind that follows from how it was made.
    pub kind: Kind,
    /// How the stack lay when it was made.
    pub laid: Orientation,
    /// The field that it lies in, as [`Map::field`].
    pub field: u32,
}

/// One element map, or a map without an element line.
#[derive(Debug, Clone, PartialEq)]
pub struct Map {
    /// Its name in this study.
    pub id: MapId,
    /// Where it came from.
    pub source: Source,
    /// Title of the page in the file, if it has one (untrusted text).
    pub title: String,
    /// What the user calls it; empty for what it is called by itself.
    pub name: String,
    /// What tells it from others that would be called the same; empty where none would. The stack sees to it.
    pub distinction: String,
    /// Element and line that its title or name says; `None` when that says none.
    pub named: Option<Line>,
    /// Element and line, as named or stated; `None` when unknown.
    pub line: Option<Line>,
    /// How it was made, as proposed or stated.
    pub kind: Kind,
    /// The kind that its numbers as read, its name or its making speak for.
    pub proposal: Proposal,
    /// Its pixels, as they lie now.
    pub plane: Plane,
    /// How they lie, seen from the file.
    pub orientation: Orientation,
    /// The part of the file's map that is used, in pixels of the file; `None` for all of it.
    pub frame: Option<Frame>,
    /// All pixels as read, where a frame shows a part or more than them.
    whole: Option<Samples>,
    /// Values at a glance.
    pub stats: Stats,
    /// What it holds instead of an element's counts, as named or stated; `None` for an element map.
    pub role: Option<Role>,
    /// What its title or name says of that.
    pub named_role: Option<Role>,
    /// Number of the detector, where its name gives one.
    pub detector: Option<u32>,
    /// The map that holds its errors.
    pub error_map: Option<MapId>,
    /// One standard deviation of each value, where it is known; lies as the pixels do.
    pub sigma: Option<Grid<f64>>,
    /// The scan that it belongs to: 0 is the first, on whose grid everything lies; others have grids of their own.
    pub field: u32,
    /// How it was made of others; `None` for a map that was read.
    pub making: Option<Making>,
}

impl Map {
    /// Looks at the values once and proposes a kind.
    pub fn new(
        id: MapId,
        source: Source,
        title: String,
        line: Option<Line>,
        samples: Samples,
    ) -> Result<Self, OutOfMemory> {
        let plane = Plane::new(samples);
        let stats = Stats::of(&plane)?;
        Ok(Self::with_stats(id, source, title, line, (plane, stats)))
    }

    /// A map whose values were looked at before.
    pub fn with_stats(
        id: MapId,
        source: Source,
        title: String,
        line: Option<Line>,
        (plane, stats): (Plane, Stats),
    ) -> Self {
        let evidence = Evidence::of(plane.sample_type(), stats.is_whole, stats.low, stats.high);
        let proposal = propose(&evidence);
        let (name, orientation) = (String::new(), Orientation::default());
        Self {
            id,
            source,
            title,
            name,
            distinction: String::new(),
            named: line,
            line,
            kind: proposal.kind,
            proposal,
            plane,
            orientation,
            frame: None,
            whole: None,
            stats,
            role: None,
            named_role: None,
            detector: None,
            error_map: None,
            sigma: None,
            field: 0,
            making: None,
        }
    }

    /// A map made of others; it lies as they did.
    ///
    /// # Errors
    /// No memory.
    pub fn derived(
        id: MapId,
        source: Source,
        making: Making,
        values: Grid<f64>,
        sigma: Option<Grid<f64>>,
    ) -> Result<Self, OutOfMemory> {
        let map = Self::new(id, source, String::new(), None, Samples::F64(values))?;
        let reason = "It follows from how the map was made.".to_owned();
        let proposal = Proposal { kind: making.kind, reason };
        Ok(Self { kind: making.kind, proposal, sigma, field: making.field, making: Some(making), ..map })
    }

    /// The pixels as they lie in the file, every bit as stored.
    ///
    /// # Errors
    /// No memory.
    pub fn as_read(&self) -> Result<Samples, OutOfMemory> {
        match &self.whole {
            Some(whole) => Ok(whole.clone()),
            None => self.plane.samples().oriented(self.orientation.inverse()),
        }
    }

    /// Width and height in the file.
    pub fn size_as_read(&self) -> (u32, u32) {
        self.whole.as_ref().map_or_else(
            || self.orientation.inverse().size(self.plane.size()),
            |whole| (whole.width(), whole.height()),
        )
    }

    /// Turns the map from how it lies now.
    ///
    /// # Errors
    /// No memory; nothing is changed then.
    pub fn turn(&mut self, turn: Orientation) -> Result<(), OutOfMemory> {
        let size = self.plane.size();
        let mut reading = self.plane.reading().clone();
        reading.blank_areas = reading.blank_areas.iter().filter_map(|&area| turn.area(area, size)).collect();
        self.lay(self.orientation.then(turn), self.frame, reading)
    }

    /// Pixels of the scan in one of its own, across and down, as it lies now.
    pub fn cell(&self) -> (u32, u32) {
        let (across, down) = self.making.as_ref().map_or((1, 1), |making| making.cell);
        if self.orientation.swaps_sides() { (down, across) } else { (across, down) }
    }

    /// The maps that were read which its numbers come from.
    pub fn roots(&self) -> &[MapId] {
        self.making.as_ref().map_or(std::slice::from_ref(&self.id), |making| &making.roots)
    }

    /// True if both have numbers from the same map, so that they agree by arithmetic alone.
    pub fn shares_numbers_with(&self, other: &Map) -> bool {
        self.roots().iter().any(|root| other.roots().contains(root))
    }

    /// True if both are of one known line of one scan, and their names do not say that they are of different detectors: they
    /// may hold the same counts, in other files.
    pub fn may_hold_the_counts_of(&self, other: &Map) -> bool {
        let are_told_apart =
            self.detector.is_some() && other.detector.is_some() && self.detector != other.detector;
        self.line.is_some() && self.line == other.line && self.field == other.field && !are_told_apart
    }

    /// Lays the pixels, takes the part that is used, and what is stated of their numbers. `reading` speaks of pixels as
    /// they then lie.
    ///
    /// # Errors
    /// No memory; nothing is changed then.
    pub fn lay(
        &mut self,
        orientation: Orientation,
        frame: Option<Frame>,
        reading: Reading,
    ) -> Result<(), OutOfMemory> {
        let turn = self.orientation.inverse().then(orientation);
        if turn.is_plain() && frame == self.frame && reading == *self.plane.reading() {
            return Ok(());
        }
        let (samples, whole) = if frame == self.frame {
            (self.plane.samples().oriented(turn)?, self.whole.clone())
        } else {
            let whole = self.as_read()?;
            match frame {
                Some(frame) => (whole.framed(&frame)?.oriented(orientation)?, Some(whole)),
                None => (whole.oriented(orientation)?, None),
            }
        };
        let sigma = match &self.sigma {
            Some(sigma) if frame == self.frame => Some(sigma.oriented(turn)?),
            _ => None,
        };
        let plane = Plane::new(samples).read_as(reading);
        self.stats = Stats::of(&plane)?;
        if sigma.is_none() {
            self.error_map = None;
        }
        (self.plane, self.whole, self.sigma) = (plane, whole, sigma);
        (self.orientation, self.frame) = (orientation, frame);
        Ok(())
    }

    /// What it is called, told apart from others of the same name: "Fe K", or "Fe K (scan_2)" where there are two.
    pub fn label(&self) -> String {
        match self.distinction.as_str() {
            "" => self.plain_label(),
            distinction => format!("{} ({distinction})", self.plain_label()),
        }
    }

    /// The name that the user gave, else what it holds, else its making, page title or file name.
    pub fn plain_label(&self) -> String {
        if !self.name.is_empty() {
            return self.name.clone();
        }
        if let Some(making) = self.making.as_ref().filter(|making| !making.text.is_empty()) {
            return making.text.clone();
        }
        match (self.line, self.role, self.detector) {
            (Some(line), None, None) => line.to_string(),
            (Some(line), None, Some(detector)) => format!("{line} (detector {detector})"),
            (Some(line), Some(role), _) => format!("{line} ({})", role.word()),
            (None, Some(role), None) => role.word().to_owned(),
            (None, Some(role), Some(detector)) => format!("{} (detector {detector})", role.word()),
            (None, None, _) if !self.title.is_empty() => self.title.clone(),
            (None, None, _) => self.source.file.clone(),
        }
    }

    /// True for maps whose pixels lie on each other.
    pub fn has_size_of(&self, other: &Map) -> bool {
        self.field == other.field && self.plane.size() == other.plane.size()
    }

    /// Why the pixels of both do not lie on each other; `None` where they do.
    pub fn misfit(&self, other: &Map) -> Option<Fault> {
        if self.field != other.field {
            return Some(Fault::different_fields(&self.label(), &other.label()));
        }
        (!self.has_size_of(other)).then(|| Fault::different_sizes(&self.label(), &other.label()))
    }
}
