//! The study: what is open, what was stated about it, which answers were given; and everything the page asks of it.
//! Small state is kept in a [`Record`]; with the input files it brings a study back exactly.

mod about;
mod aligning;
mod blobs;
mod choices;
mod deriving;
mod difference;
mod fields;
mod findings;
mod inspecting;
mod known;
mod naming;
mod object;
mod opening;
mod photos;
mod points;
mod read_out;
mod record;
mod regions;
mod restating;
mod restoring;
mod scan;
mod showing;
mod spectra;
mod stating;
mod summary;
mod viewing;

pub use about::{AboutRecord, LONGEST_LINE, LONGEST_REMARKS};
pub use aligning::{
    AlignSettings, AlignmentRecord, AlignmentText, CompareSettings, FieldText, FoundText, MOST_POINTS,
    PointPair, PointText, Search, find_alignment,
};
pub use choices::{LayerChoice, MaterialChoice, layers, materials, techniques};
pub use deriving::{Derivation, DerivedRecord};
pub use difference::difference;
pub use fields::OverlapText;
pub use findings::{
    Difference, FindingRecord, FindingSettings, FindingSummary, FindingWhole, Ground, GroundPart,
    KeepSettings, KeptPicture, LARGEST_SCENE, LONGEST_NOTE, LONGEST_TITLE, MOST_FINDINGS, NamedThing,
    PictureGlance, Reproduced, Way,
};
pub use object::{ObjectRecord, ObjectSettings, ObjectText};
pub use opening::PhotoFile;
pub use photos::{PhotoRecord, PhotoSettings, PhotoSummary};
pub use points::{LONGEST_RESULT, MOST_ANALYSIS_POINTS, PointRecord, PointSettings, PointSummary};
pub use read_out::{ReadOut, ReadRegion, ReadValue};
pub use record::{AreaRecord, FrameRecord, GridRecord, InputRecord, MapChange, MapRecord, Record, map_key};
pub use regions::{
    ClassesSettings, CloudSettings, CloudText, ColourRecord, ColourSettings, ColourText, CombineSettings,
    CombineText, CombineWord, LONGEST_NAME, Laid, MOST_CORNERS, MOST_GROWTH, MOST_REGIONS, RectangleRecord,
    RegionRecord, RegionSettings, RegionSummary, Renamed, Shape, ThresholdSettings, ThresholdText,
};
pub use restating::PLACES_LEFT_OUT;
pub use scan::ScanRecord;
pub use spectra::{
    MOST_CHANNELS_OF_ALL, MOST_SPECTRA, SpectrumHow, SpectrumRecord, SpectrumSettings, SpectrumSummary,
    SpectrumView,
};
pub use summary::{AskText, GridSummary, MapSummary, NoticeText, OfferText, Opened, WayText};
pub use viewing::{ColoursText, ExportSettings, HistogramRecord, HistogramText};

use crate::ask::{self, Answer, Known, LineWarning, Question, Rasters, Subject};
use crate::display::{Picture, ScaleBar};
use crate::grid::{Grid, Mask, Samples};
use crate::inspect::Look;
use crate::measure::{Level, Refusal};
use crate::notice::Fault;
use crate::reading::NamedMap;
use crate::stack::{Map, MapId, Stack};
use photos::{AlikeCache, HeldPhoto};
use regions::Regions;
use spectra::HeldSpectrum;
use std::collections::BTreeMap;

/// A photo as it was read, with what names it.
struct PhotoShape {
    number: u32,
    key: String,
    file: String,
    file_sha256: String,
    size: (u32, u32),
    pixels: Grid<[u8; 3]>,
    factor: u32,
}

/// A picture with what stands beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// Pixels and key.
    pub picture: Picture,
    /// The bar, where there is a scale.
    pub scale_bar: Option<ScaleBar>,
    /// Why there is none, or none but in pixels; empty otherwise.
    pub scale_bar_reason: String,
    /// The picture in words.
    pub caption: String,
    /// Size of what it is a picture of.
    pub source_size: (u32, u32),
}

/// A map and the numbers of maps and photos made so far, and its shares.
type OverlapSeen = ((MapId, (u32, u32), u32), Grid<f64>);

/// Everything of one study.
#[derive(Debug, Default)]
pub struct Study {
    stack: Stack,
    /// In order of their numbers.
    photos: Vec<HeldPhoto>,
    /// How alike the last colours are that a photo was asked for.
    alike: AlikeCache,
    /// What was stated of photos, by their key; also of those that are not open.
    photo_stated: BTreeMap<String, PhotoRecord>,
    /// Where other scans lie, by their numbers.
    field_stated: BTreeMap<u32, AlignmentRecord>,
    object: Option<ObjectRecord>,
    /// Analysis points by number; the last number.
    points: Vec<PointRecord>,
    points_made: u32,
    /// Spectra by number; the last number.
    spectra: Vec<HeldSpectrum>,
    spectra_made: u32,
    /// What questions may know beside maps and regions, of the scan, points and object as they are now.
    known: Known,
    inputs: Vec<InputRecord>,
    /// Inputs of a record that are still to be opened.
    expected: Vec<InputRecord>,
    /// What was stated of maps, by their key; also of those that are not open.
    stated: BTreeMap<String, MapRecord>,
    scan: ScanRecord,
    /// What was derived, by number; and what shall be once its inputs are open.
    derived: Vec<DerivedRecord>,
    expected_derived: Vec<DerivedRecord>,
    derived_made: u32,
    /// Regions by number; those of a record whose maps are not open; the last number.
    regions: Regions,
    expected_regions: Vec<RegionRecord>,
    regions_made: u32,
    /// Values over regions that were read out, by number; emptied when maps or regions change.
    region_reads: BTreeMap<u32, ReadRegion>,
    /// The patch last read out: of which answer, its pixels, what was read.
    patch: Option<(String, Mask, ReadRegion)>,
    /// The shares of a map that overlaps could give, last seen: of which map, when.
    overlap_seen: Option<OverlapSeen>,
    /// Lists of names that were opened.
    names: Vec<NamedMap>,
    /// The oldest first.
    answers: Vec<(Answer, Rasters)>,
    /// What held answers were asked with, by their id.
    asked: Vec<(String, serde_json::Value)>,
    /// What is said of the object and the study.
    about: AboutRecord,
    /// Findings in the order of the list; the last number.
    findings: Vec<FindingRecord>,
    findings_made: u32,
    /// What was left out of this copy, in words.
    left_out: Vec<String>,
    /// Kept answers and pictures.
    blobs: blobs::Blobs,
    /// Levels by the default rules, for lights and marks; emptied when a map changes.
    levels: BTreeMap<MapId, Result<Level, Refusal>>,
    /// What was seen of maps as they are now.
    looks: BTreeMap<MapId, Look>,
    /// Numbers of the last map and photo.
    made: (u32, u32),
}

/// Answers whose pixels are held; the oldest would have to be asked again.
const MOST_ANSWERS: usize = 16;

impl Study {
    /// Nothing open.
    pub fn new() -> Self {
        Self::default()
    }

    /// The maps.
    pub fn stack(&self) -> &Stack {
        &self.stack
    }

    /// All maps at a glance.
    pub fn maps(&self) -> Vec<MapSummary> {
        self.stack.maps().iter().map(|map| self.summary(map)).collect()
    }

    fn summary(&self, map: &Map) -> MapSummary {
        let stated = self.stated.get(&map_key(&map.source));
        let mut summary =
            MapSummary::of(map, &self.stack, stated.is_some_and(|stated| stated.kind.is_some()));
        summary.marks.extend(ask::marks(&self.subject(), map));
        summary
    }

    /// What lines of other elements do in each map: overlaps, escape peaks, pile-up.
    ///
    /// # Errors
    /// No memory.
    pub fn overlaps(&self) -> Result<Vec<LineWarning>, Fault> {
        ask::overlaps(&self.subject())
    }

    /// The pixels of a map, as read.
    ///
    /// # Errors
    /// No such map, or several of this name; no memory.
    pub fn samples(&self, name: &str) -> Result<Samples, Fault> {
        Ok(self.stack.find(name)?.as_read()?)
    }

    /// The questions that can be asked.
    pub fn questions(&self) -> Vec<Question> {
        ask::questions(&self.stack)
    }

    /// What questions are about.
    pub fn subject(&self) -> Subject<'_> {
        Subject::new(&self.stack, self.regions.all(), self.scan.beam_um).with_known(&self.known)
    }

    /// The maps that a question needs, by id.
    ///
    /// # Errors
    /// As [`ask::maps_needed`].
    pub fn maps_needed(&self, question: &str, settings: &serde_json::Value) -> Result<Vec<MapId>, Fault> {
        ask::maps_needed(question, settings, &self.subject())
    }

    /// Asks a question here and keeps the answer.
    ///
    /// # Errors
    /// As [`ask::ask`].
    pub fn ask(
        &mut self,
        question: &str,
        settings: serde_json::Value,
        progress: ask::Progress<'_>,
    ) -> Result<(Answer, Rasters), Fault> {
        let (answer, rasters) = ask::ask(question, settings.clone(), &self.subject(), progress)?;
        self.adopt(answer.clone(), rasters.clone(), settings);
        Ok((answer, rasters))
    }

    /// A region in the bins of an answer's joint plot.
    ///
    /// # Errors
    /// As [`ask::joint_of`].
    pub fn joint(&self, answer: &str, region: &str) -> Result<Grid<f64>, Fault> {
        let (answer, _) = self.held(answer)?;
        ask::joint_of(answer, &self.subject(), region)
    }

    /// Holds an answer with its pixels and with what was asked, so that pictures can be made of it and it can be kept.
    pub fn adopt(&mut self, answer: Answer, rasters: Rasters, asked: serde_json::Value) {
        self.answers.retain(|(held, _)| held.id != answer.id);
        if self.answers.len() >= MOST_ANSWERS {
            self.answers.remove(0);
        }
        let answers = &self.answers;
        self.asked.retain(|(id, _)| *id != answer.id && answers.iter().any(|(held, _)| held.id == *id));
        self.asked.push((answer.id.clone(), asked));
        self.answers.push((answer, rasters));
    }
}

#[cfg(test)]
pub(crate) mod tests;
