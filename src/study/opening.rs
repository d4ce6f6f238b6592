//! Files come in: maps, photos, lists of names, archives of all of these, and what has to be asked about them.

use super::photos::photo_key;
use super::record::{InputRecord, map_key};
use super::summary::{AskText, NoticeText, Opened};
use super::{PhotoShape, Study};
use crate::digest::sha256_hex;
use crate::inspect::Look;
use crate::kind::{Kind, propose};
use crate::notice::{Fault, Finding, Notice, OutOfMemory};
use crate::reading::{self, Content, Decoded, Doubt, Page, Photo, Reading};
use crate::stack::{Map, MapId, Source};

/// A file, or an entry of an archive, while it is taken in.
#[derive(Clone, Copy)]
struct File<'a> {
    name: &'a str,
    sha256: &'a str,
    /// A picture whose values are those of a picture, whatever they look like.
    is_picture: bool,
}

/// How a file came.
struct Came<'a> {
    name: &'a str,
    sha256: String,
    size: u64,
    crc32: u32,
}

/// How a grey picture was read before it was asked about.
const AS_BEFORE: &str = "map";

/// A file that holds a photo alone, decoded elsewhere.
#[derive(Debug, Clone, PartialEq)]
pub struct PhotoFile {
    /// SHA-256 of the file.
    pub sha256: String,
    /// Its bytes.
    pub size: u64,
    /// CRC-32 of the file.
    pub crc32: u32,
    /// What it holds, its findings told in `notices`; `None` for a file that cannot be read.
    pub decoded: Option<Decoded>,
    /// What is to be said of it.
    pub notices: Vec<NoticeText>,
}

impl PhotoFile {
    /// Decodes the photo of a file; `None` for a file that holds anything else, and is to be opened as it is.
    pub fn of(name: &str, bytes: &[u8], way: Option<&str>) -> Option<Self> {
        let told = |finding: Finding| NoticeText::of(&Notice { file: name.to_owned(), finding });
        let (decoded, notices) = match reading::read_photo(bytes, way)? {
            Ok(mut decoded) => {
                let notices = std::mem::take(&mut decoded.findings).into_iter().map(told).collect();
                (Some(decoded), notices)
            }
            Err(finding) => (None, vec![told(finding)]),
        };
        let (sha256, size, crc32) = (sha256_hex(bytes), bytes.len() as u64, crc32fast::hash(bytes));
        Some(Self { sha256, size, crc32, decoded, notices })
    }
}

impl Study {
    /// Reads a file and takes in what it holds. A file that cannot be read changes nothing and is said in a notice; one
    /// that can be read in several ways is asked about.
    pub fn open(&mut self, name: &str, bytes: &[u8]) -> Opened {
        self.open_as(name, bytes, None)
    }

    /// Reads a file in the `way` that was chosen after it was asked about.
    pub fn open_as(&mut self, name: &str, bytes: &[u8], way: Option<&str>) -> Opened {
        let (sha256, size, crc32) = (sha256_hex(bytes), bytes.len() as u64, crc32fast::hash(bytes));
        let came = Came { name, sha256, size, crc32 };
        let (expected, way) = self.expected_of(&came, way);
        let reading = || {
            let reading = reading::read(bytes, way.as_deref())?;
            match &reading.content {
                // What stands in a record without a way was read without being asked about.
                Content::Ask { ways, .. }
                    if expected && way.is_none() && ways.iter().any(|w| w.key == AS_BEFORE) =>
                {
                    reading::read(bytes, Some(AS_BEFORE))
                }
                _ => Ok(reading),
            }
        };
        let mut opened = Opened::default();
        if !self.is_open(&came, &mut opened) {
            let reading = reading();
            self.take_file(came, way, reading, &mut opened);
        }
        // Two columns are a map of one pixel a line, or asked about; a file of maps holds more.
        let is_narrow = opened.maps.len() + opened.asks.len() == 1 && opened.photos.is_empty();
        if is_narrow && self.is_narrow(&opened) && reading::looks_like_spectrum(bytes) {
            opened.tell(name, Finding::LooksLikeSpectrum);
        }
        opened
    }

    /// Takes in a photo that was decoded elsewhere, with what [`Study::open_as`] would make of its file: the same ids, notices,
    /// questions and record. `None` where the file must be read here after all, because not enough of it was kept.
    pub fn open_photo(&mut self, name: &str, photo: PhotoFile, way: Option<&str>) -> Option<Opened> {
        let came = Came { name, sha256: photo.sha256, size: photo.size, crc32: photo.crc32 };
        let (expected, way) = self.expected_of(&came, way);
        let mut opened = Opened::default();
        if self.is_open(&came, &mut opened) {
            return Some(opened);
        }
        let Some(decoded) = photo.decoded else {
            opened.notices = photo.notices;
            return Some(opened);
        };
        let is_as_before = expected && way.is_none() && decoded.doubt == Doubt::Grey;
        let read_as = if is_as_before { Some(AS_BEFORE) } else { way.as_deref() };
        if !decoded.suffices(read_as) {
            return None;
        }
        let reading = decoded.into_reading(read_as);
        if reading.is_ok() {
            opened.notices = photo.notices;
        }
        self.take_file(came, way, reading, &mut opened);
        Some(opened)
    }

    /// Whether a record waits for the file, and the way in which it is to be read.
    fn expected_of(&self, came: &Came<'_>, way: Option<&str>) -> (bool, Option<String>) {
        let expected = self.expected.iter().find(|input| input.sha256 == came.sha256);
        (expected.is_some(), way.map(str::to_owned).or_else(|| expected.and_then(|input| input.way.clone())))
    }

    /// Whether the map that was opened, if one was, is at most two pixels wide.
    fn is_narrow(&self, opened: &Opened) -> bool {
        opened.maps.iter().all(|id| {
            let map = self.stack.by_id(&MapId::from_text(id));
            map.is_some_and(|map| map.size_as_read().0 <= 2)
        })
    }

    /// True for a file that is open already, which is then told.
    fn is_open(&self, came: &Came<'_>, opened: &mut Opened) -> bool {
        let first = self.inputs.iter().find(|input| input.sha256 == came.sha256);
        if let Some(first) = first {
            opened.tell(came.name, Finding::AlreadyOpen { first_name: first.name.clone() });
        }
        first.is_some()
    }

    /// Takes in what was made of a file.
    fn take_file(
        &mut self,
        came: Came<'_>,
        way: Option<String>,
        reading: Result<Reading, Finding>,
        opened: &mut Opened,
    ) {
        let Came { name, sha256, size, crc32 } = came;
        let reading = match reading {
            Ok(reading) => reading,
            Err(finding) => return opened.tell(name, finding),
        };
        let expected = self.expected.iter().find(|input| input.sha256 == sha256);
        // Numbers as they were, unless other files have taken them since.
        let before = expected.map(|input| input.before);
        let before =
            before.filter(|before| self.are_free(*before, many(&reading.content))).unwrap_or(self.made);
        let grid = self.grid_size();
        let mut numbers = before;
        self.take_in(File { name, sha256: &sha256, is_picture: false }, reading, &mut numbers, opened);
        self.made = (self.made.0.max(numbers.0), self.made.1.max(numbers.1));
        opened.is_kept |= opened.maps.len() + opened.photos.len() > 0;
        if opened.is_kept {
            self.expected.retain(|input| input.sha256 != sha256);
            opened.sha256 = Some(sha256.clone());
            let name = name.to_owned();
            self.inputs.push(InputRecord { name, sha256, size, crc32: Some(crc32), way, before });
            self.inputs.sort_by_key(|input| input.before);
        }
        let linked = self.link_errors().map_err(Fault::from);
        if let Err(fault) = linked.and_then(|()| self.derive_expected()) {
            opened.notices.push(NoticeText::fault(name, &fault));
        }
        if self.grid_size() != grid {
            self.regions_after_maps();
        }
        if self.grid_size() != grid || !opened.photos.is_empty() {
            self.regions_after_photos();
        }
    }

    /// True if no map and no photo has one of the numbers that follow `before`.
    fn are_free(&self, before: (u32, u32), (maps, photos): (u32, u32)) -> bool {
        let map = |n: u32| self.stack.by_id(&MapId::new(n)).is_some();
        let photo = |n: u32| self.photos.iter().any(|photo| photo.number == n);
        !(1..=maps).any(|n| map(before.0 + n)) && !(1..=photos).any(|n| photo(before.1 + n))
    }

    fn take_in(&mut self, file: File<'_>, reading: Reading, numbers: &mut (u32, u32), opened: &mut Opened) {
        let is_picture = reading.findings.iter().any(|f| matches!(f, Finding::GreyPicture { .. }));
        let file = File { is_picture, ..file };
        for finding in reading.findings {
            opened.tell(file.name, finding);
        }
        match reading.content {
            Content::Maps(pages) => {
                for page in pages {
                    numbers.0 += 1;
                    self.take_page(file, numbers.0, page, opened);
                }
            }
            Content::Photo(photo) => {
                numbers.1 += 1;
                self.take_photo(file, (numbers.1, opened.photos.len() as u32), photo, opened);
            }
            Content::Archive(entries) => {
                for entry in entries {
                    let name = format!("{}/{}", file.name, entry.path);
                    match entry.reading {
                        Ok(reading) => self.take_in(File { name: &name, ..file }, reading, numbers, opened),
                        Err(finding) => opened.tell(&name, finding),
                    }
                }
            }
            Content::Names(names) => {
                let named = self.take_names(names);
                opened.tell(file.name, Finding::NamesTaken { named });
                opened.is_kept = true;
            }
            Content::Ask { question, ways } => {
                opened.asks.push(AskText::of(file.name, file.sha256, question, ways));
            }
        }
    }

    fn take_page(&mut self, file: File<'_>, number: u32, page: Page, opened: &mut Opened) {
        let step = page.step;
        let (map, look) = match self.map_of_page(file, number, page) {
            Ok(made) => made,
            Err(error) => return opened.tell(file.name, error.into()),
        };
        let (id, key) = (map.id.clone(), map_key(&map.source));
        let mut map = map;
        let stated = self.stated.get(&key).cloned().unwrap_or_default();
        if let Err(fault) = self.apply_stated(&mut map, &stated) {
            // A record that was made for these bytes fits them; if not, what was read is still worth having.
            opened.notices.push(NoticeText::fault(file.name, &fault));
        }
        if let Err(error) = map.plane.prepare() {
            return opened.tell(file.name, error.into());
        }
        let has_line = map.line.is_some();
        let is_copy = map.kind == Kind::DisplayCopy && stated.kind.is_none();
        if is_copy && !file.is_picture {
            let reason = map.proposal.reason.clone();
            opened.tell_of(file.name, &id, Finding::DisplayCopy { reason });
        }
        if let Some(step) = step {
            self.stack.offer_step(step, file.name);
        }
        // What was seen of the file's pixels holds only where nothing changed how they lie and are read.
        if map.orientation.is_plain() && map.frame.is_none() && map.plane.reading().is_plain() {
            self.looks.insert(id.clone(), look);
        }
        self.stack.push(map);
        if !has_line && !self.name_by_list(&id) {
            opened.tell_of(file.name, &id, Finding::NoElement);
        }
        opened.maps.push(id.to_string());
    }

    /// The map of a page with the kind that its numbers and its name speak for.
    fn map_of_page(&self, file: File<'_>, number: u32, page: Page) -> Result<(Map, Look), OutOfMemory> {
        let source = Source { file: file.name.to_owned(), page: page.number, sha256: file.sha256.to_owned() };
        let named = super::naming::Named::of(&page.title, file.name);
        let mut map = Map::new(MapId::new(number), source, page.title, named.line, page.samples)?;
        let look = Look::of(&map.plane)?;
        if file.is_picture {
            map.proposal.kind = Kind::DisplayCopy;
            map.proposal.reason = "It was stored as a picture.".into();
        } else {
            map.proposal = propose(&look.evidence(&map.plane, named.hint, false));
        }
        if let Some(role) = named.role {
            map.proposal.kind = Kind::Auxiliary;
            map.proposal.reason = format!("Its name says that it holds no element but “{}”.", role.word());
        }
        map.kind = map.proposal.kind;
        map.named_role = named.role;
        map.role = named.role;
        map.detector = named.detector;
        Ok((map, look))
    }

    fn take_photo(
        &mut self,
        file: File<'_>,
        (number, in_file): (u32, u32),
        photo: Photo,
        opened: &mut Opened,
    ) {
        let shape = PhotoShape {
            number,
            key: photo_key(file.sha256, in_file),
            file: file.name.to_owned(),
            file_sha256: file.sha256.to_owned(),
            size: photo.size,
            pixels: photo.pixels,
            factor: photo.factor,
        };
        match self.take_in_photo(shape) {
            Ok(id) => opened.photos.push(id),
            Err(error) => opened.tell(file.name, error.into()),
        }
    }
}

/// How many maps and photos a file holds.
fn many(content: &Content) -> (u32, u32) {
    match content {
        Content::Maps(pages) => (pages.len() as u32, 0),
        Content::Photo(_) => (0, 1),
        Content::Archive(entries) => {
            let read = entries.iter().filter_map(|entry| entry.reading.as_ref().ok());
            read.map(|reading| many(&reading.content)).fold((0, 0), |a, b| (a.0 + b.0, a.1 + b.1))
        }
        Content::Names(_) | Content::Ask { .. } => (0, 0),
    }
}

impl Opened {
    fn tell(&mut self, file: &str, finding: Finding) {
        self.notices.push(NoticeText::of(&Notice { file: file.to_owned(), finding }));
    }

    fn tell_of(&mut self, file: &str, map: &MapId, finding: Finding) {
        let notice = NoticeText::of(&Notice { file: file.to_owned(), finding });
        self.notices.push(NoticeText { map: Some(map.to_string()), ..notice });
    }
}
