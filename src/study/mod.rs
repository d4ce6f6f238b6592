//! The study: what is open, what was stated about it, which answers were given; and everything the page asks of it.
//! Small state is kept in a [`Record`]; with the input files it brings a study back exactly.

mod record;
mod summary;

pub use record::{GridRecord, InputRecord, MapRecord, Record};
pub use summary::{GridSummary, MapSummary, NoticeText, Opened, PhotoSummary, ReadOut, ReadValue};

use crate::ask::picture::{LightDefaults, PictureSettings, Source, caption, light_defaults};
use crate::ask::{self, Answer, Question, Rasters, Subject};
use crate::digest::sha256_hex;
use crate::display::{Picture, ScaleBar, picture_of_photo, scale_bar};
use crate::element::{Guess, Line, guess_line};
use crate::geometry::Step;
use crate::grid::{Grid, Samples};
use crate::kind::Kind;
use crate::measure::{self, Level, Refusal, Rules, Signal};
use crate::notice::{Fault, Finding, Notice};
use crate::reading::{self, Content, Page};
use crate::stack::{Map, MapId, Stack, StepSource};
use std::collections::BTreeMap;

/// A photo of a study.
#[derive(Debug, Clone, PartialEq)]
struct HeldPhoto {
    summary: PhotoSummary,
    pixels: Grid<[u8; 3]>,
}

/// A picture with what stands beside it.
#[derive(Debug, Clone, PartialEq)]
pub struct Shown {
    /// Pixels and key.
    pub picture: Picture,
    /// The bar, where there is a scale.
    pub scale_bar: Option<ScaleBar>,
    /// Why there is none; empty where there is one or where none belongs.
    pub scale_bar_reason: String,
    /// The picture in words.
    pub caption: String,
    /// Size of what it is a picture of.
    pub source_size: (u32, u32),
}

/// Everything of one study.
#[derive(Debug, Default)]
pub struct Study {
    stack: Stack,
    photos: Vec<HeldPhoto>,
    inputs: Vec<InputRecord>,
    stated: BTreeMap<String, MapRecord>,
    /// The oldest first.
    answers: Vec<(Answer, Rasters)>,
    /// Levels by the default rules, for lights and marks; emptied when a map changes.
    levels: BTreeMap<MapId, Result<Level, Refusal>>,
    maps_made: u32,
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

    /// Reads a file and takes in what it holds. A file that cannot be read changes nothing and is said in a notice.
    pub fn open(&mut self, name: &str, bytes: &[u8]) -> Opened {
        let mut opened = Opened::default();
        let tell = |opened: &mut Opened, finding: Finding| {
            opened.notices.push(NoticeText::of(&Notice { file: name.to_owned(), finding }));
        };
        let sha256 = sha256_hex(bytes);
        if let Some(first) = self.inputs.iter().find(|input| input.sha256 == sha256) {
            tell(&mut opened, Finding::AlreadyOpen { first_name: first.name.clone() });
            return opened;
        }
        let reading = match reading::read(bytes, None) {
            Ok(reading) => reading,
            Err(finding) => {
                tell(&mut opened, finding);
                return opened;
            }
        };
        self.take_in(name, &sha256, reading, &mut opened);
        if opened.maps.len() + opened.photos.len() > 0 {
            self.inputs.push(InputRecord { name: name.to_owned(), sha256, size: bytes.len() as u64 });
        }
        opened
    }

    /// Takes in what a file or an entry of an archive holds; `name` is what notices call it.
    fn take_in(&mut self, name: &str, sha256: &str, reading: reading::Reading, opened: &mut Opened) {
        let tell = |opened: &mut Opened, finding: Finding| {
            opened.notices.push(NoticeText::of(&Notice { file: name.to_owned(), finding }));
        };
        let is_picture =
            reading.findings.iter().any(|finding| matches!(finding, Finding::GreyPicture { .. }));
        for finding in reading.findings {
            tell(opened, finding);
        }
        match reading.content {
            Content::Ask { .. } | Content::Names(_) => {}
            Content::Archive(entries) => {
                for entry in entries {
                    let name = format!("{name} / {}", entry.path);
                    match entry.reading {
                        Ok(reading) => self.take_in(&name, sha256, reading, opened),
                        Err(finding) => opened.notices.push(NoticeText::of(&Notice { file: name, finding })),
                    }
                }
            }
            Content::Maps(pages) => {
                for page in pages {
                    match self.take_page(name, sha256, page) {
                        Ok((id, findings)) => {
                            if is_picture && let Some(map) = self.stack.by_id_mut(&id) {
                                map.kind = Kind::DisplayCopy;
                            }
                            opened.maps.push(id.to_string());
                            findings.into_iter().for_each(|finding| tell(opened, finding));
                        }
                        Err(finding) => tell(opened, finding),
                    }
                }
            }
            Content::Photo(photo) => {
                let id = format!("p{}", self.photos.len() + 1);
                let summary = PhotoSummary {
                    id: id.clone(),
                    file: name.to_owned(),
                    width: photo.pixels.width(),
                    height: photo.pixels.height(),
                    file_sha256: sha256.to_owned(),
                };
                self.photos.push(HeldPhoto { summary, pixels: photo.pixels });
                opened.photos.push(id);
            }
        }
    }

    fn take_page(&mut self, file: &str, sha256: &str, page: Page) -> Result<(MapId, Vec<Finding>), Finding> {
        let mut findings = Vec::new();
        // A title in the file says more than its name.
        let guess = match guess_line(&page.title) {
            Guess::Line(line) => Guess::Line(line),
            _ => guess_line(file),
        };
        let line = match guess {
            Guess::Line(line) => Some(line),
            _ => None,
        };
        let id = MapId::new(self.maps_made + 1);
        let source =
            crate::stack::Source { file: file.to_owned(), page: page.number, sha256: sha256.to_owned() };
        let map = Map::new(id.clone(), source, page.title, line, page.samples)?;
        self.maps_made += 1;
        if line.is_none() {
            findings.push(Finding::NoElement);
        }
        if map.kind == Kind::DisplayCopy {
            findings.push(Finding::DisplayCopy);
        }
        if let Some((stack_width, stack_height)) = self.stack.size() {
            let (width, height) = map.plane.size();
            if (width, height) != (stack_width, stack_height) {
                findings.push(Finding::OtherSize { width, height, stack_width, stack_height });
            }
        }
        if let Some(step) = page.step {
            self.stack.offer_step(step, file);
        }
        self.stack.push(map);
        Ok((id, findings))
    }

    /// All maps at a glance.
    pub fn maps(&self) -> Vec<MapSummary> {
        self.stack.maps().iter().map(|map| MapSummary::of(map, &self.stack)).collect()
    }

    /// All photos.
    pub fn photos(&self) -> Vec<PhotoSummary> {
        self.photos.iter().map(|photo| photo.summary.clone()).collect()
    }

    /// The pixels of a map, as read.
    ///
    /// # Errors
    /// No such map, or several of this name.
    pub fn samples(&self, name: &str) -> Result<&Samples, Fault> {
        Ok(self.stack.find(name)?.plane.samples())
    }

    /// States what a map is.
    ///
    /// # Errors
    /// No such map; a word that is not understood. Nothing is changed then.
    pub fn set_map(&mut self, name: &str, settings: MapRecord) -> Result<MapSummary, Fault> {
        let map = self.stack.find(name)?;
        let id = map.id.clone();
        let line = settings.line_over(map.line)?;
        let kind = settings.kind()?;
        if let Some(map) = self.stack.by_id_mut(&id) {
            map.line = line;
            map.kind = kind.unwrap_or(map.kind);
        }
        self.levels.remove(&id);
        let stated = self.stated.entry(id.to_string()).or_default();
        stated.line = line.map(|line: Line| line.to_string());
        stated.element = None;
        stated.kind = settings.kind.or_else(|| stated.kind.take());
        Ok(MapSummary::of(self.stack.find(id.as_str())?, &self.stack))
    }

    /// The grid of the scan.
    pub fn grid(&self) -> GridSummary {
        GridSummary::of(&self.stack)
    }

    /// States the step; both `None` forgets what was stated.
    ///
    /// # Errors
    /// A step that cannot be one.
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
        self.stack.state_step(step);
        Ok(self.grid())
    }

    /// Every map at a place, in map pixels; empty outside.
    pub fn read_out(&self, x: f64, y: f64) -> ReadOut {
        ReadOut::at(&self.stack, x, y)
    }

    /// The questions that can be asked.
    pub fn questions(&self) -> Vec<Question> {
        ask::questions(&self.stack)
    }

    /// Lights as they are unless asked otherwise, in the given order.
    ///
    /// # Errors
    /// No such map; no memory.
    pub fn lights(&mut self, names: &[String]) -> Result<Vec<LightDefaults>, Fault> {
        let mut out = Vec::new();
        for (place, name) in names.iter().enumerate() {
            let id = self.stack.find(name)?.id.clone();
            let level = self.level(&id)?;
            out.push(light_defaults(self.stack.find(name)?, &level, place));
        }
        Ok(out)
    }

    fn level(&mut self, id: &MapId) -> Result<Result<Level, Refusal>, Fault> {
        if let Some(level) = self.levels.get(id) {
            return Ok(*level);
        }
        let map = self.stack.by_id(id).ok_or_else(|| Fault::unknown_map(id.as_str()))?;
        let level = measure::level(&Signal::of(map)?, &Rules::default())?;
        self.levels.insert(id.clone(), level);
        Ok(level)
    }

    /// A picture.
    ///
    /// # Errors
    /// Settings that are not understood, something that is not there, no memory.
    pub fn picture(&mut self, settings: &PictureSettings) -> Result<Shown, Fault> {
        let (picture, source_size, answer) = match settings.source()? {
            Source::Map(name) => {
                let map = self.stack.find(name)?;
                (settings.of_map(map)?, map.plane.size(), None)
            }
            Source::Lights => {
                let names: Vec<String> =
                    settings.light_maps(&self.stack)?.iter().map(|map| map.id.to_string()).collect();
                let defaults = self.lights(&names)?;
                let maps = settings.light_maps(&self.stack)?;
                let size = maps[0].plane.size();
                (settings.of_lights(&maps, &defaults)?, size, None)
            }
            Source::Answer { id, show } => {
                let (answer, rasters) =
                    self.answers.iter().find(|(answer, _)| answer.id == id).ok_or_else(|| {
                        Fault::new(
                            "answer_not_held",
                            "The pixels of this answer are no longer held. Ask again to see them.",
                        )
                    })?;
                let size = rasters.get(show).map_or((0, 0), |raster| raster.size());
                (settings.of_answer(answer, rasters, show)?, size, Some(answer))
            }
            Source::Photo(id) => {
                let photo = self.photos.iter().find(|photo| photo.summary.id == id).ok_or_else(|| {
                    Fault::new("unknown_photo", format!("There is no photo called “{id}”."))
                })?;
                let size = (photo.pixels.width(), photo.pixels.height());
                (picture_of_photo(&photo.pixels, &settings.window(size)?)?, size, None)
            }
        };
        let is_photo = matches!(settings.source()?, Source::Photo(_));
        let window = settings.window(source_size)?;
        let (scale_bar, scale_bar_reason) = match self.stack.step() {
            _ if is_photo => (None, String::new()),
            Some((step, _)) => (scale_bar(&window, *step), String::new()),
            None => (None, "No scale bar: the step of the scan is not known.".to_owned()),
        };
        let caption = caption(&self.stack, answer, settings);
        Ok(Shown { picture, scale_bar, scale_bar_reason, caption, source_size })
    }

    /// The maps that a question needs, by id.
    ///
    /// # Errors
    /// As [`ask::maps_needed`].
    pub fn maps_needed(&self, question: &str, settings: &serde_json::Value) -> Result<Vec<MapId>, Fault> {
        ask::maps_needed(question, settings, &self.stack)
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
        let (answer, rasters) = ask::ask(question, settings, &Subject { stack: &self.stack }, progress)?;
        self.adopt(answer.clone(), rasters.clone());
        Ok((answer, rasters))
    }

    /// Keeps an answer with its pixels, so that pictures can be made of it.
    pub fn adopt(&mut self, answer: Answer, rasters: Rasters) {
        self.answers.retain(|(held, _)| held.id != answer.id);
        if self.answers.len() >= MOST_ANSWERS {
            self.answers.remove(0);
        }
        self.answers.push((answer, rasters));
    }

    /// The state, without pixels.
    pub fn record(&self) -> Record {
        let grid = match self.stack.step() {
            Some((step, StepSource::Stated)) => {
                Some(GridRecord { step_x_um: Some(step.x_um()), step_y_um: Some(step.y_um()) })
            }
            _ => None,
        };
        Record { record: record::VERSION, inputs: self.inputs.clone(), grid, maps: self.stated.clone() }
    }

    /// States again what a record states, over the same inputs opened in the same order.
    ///
    /// # Errors
    /// A record of a later version or one that does not fit; what fits before the fault is stated.
    pub fn apply(&mut self, record: Record) -> Result<(), Fault> {
        if record.record > record::VERSION {
            return Err(Fault::new(
                "later_record",
                "This was kept by a later version of the program. Open it there.",
            ));
        }
        if let Some(grid) = record.grid {
            self.set_grid(grid)?;
        }
        for (id, stated) in record.maps {
            // A map whose file could not be read again has been told of already.
            if self.stack.by_id(&MapId::from_text(&id)).is_some() {
                self.set_map(&id, stated)?;
            }
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests;
