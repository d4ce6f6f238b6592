//! Files come in: maps, photos, lists of names, and what has to be asked about them.

use super::record::{InputRecord, map_key};
use super::summary::{AskText, NoticeText, Opened, PhotoSummary};
use super::{HeldPhoto, Study};
use crate::digest::sha256_hex;
use crate::display::PhotoPyramid;
use crate::element::{Guess, guess_line};
use crate::kind::Kind;
use crate::notice::{Finding, Notice};
use crate::reading::{self, Content, Page, Photo};
use crate::stack::{Map, MapId, Source};

/// A file while it is taken in.
struct File<'a> {
    name: &'a str,
    sha256: String,
}

impl Study {
    /// Reads a file and takes in what it holds. A file that cannot be read changes nothing and is said in a notice; one
    /// that can be read in several ways is asked about.
    pub fn open(&mut self, name: &str, bytes: &[u8]) -> Opened {
        self.open_as(name, bytes, None)
    }

    /// Reads a file in the `way` that was chosen after it was asked about.
    pub fn open_as(&mut self, name: &str, bytes: &[u8], way: Option<&str>) -> Opened {
        let mut opened = Opened::default();
        let file = File { name, sha256: sha256_hex(bytes) };
        if let Some(first) = self.inputs.iter().find(|input| input.sha256 == file.sha256) {
            opened.tell(name, Finding::AlreadyOpen { first_name: first.name.clone() });
            return opened;
        }
        let expected = self.expected.iter().position(|input| input.sha256 == file.sha256);
        let expected = expected.map(|place| self.expected.remove(place));
        let way = way.or(expected.as_ref().and_then(|input| input.way.as_deref()));
        let reading = match reading::read(bytes, way) {
            Ok(reading) => reading,
            Err(finding) => {
                opened.tell(name, finding);
                return opened;
            }
        };
        for finding in reading.findings {
            opened.tell(name, finding);
        }
        let before = expected.as_ref().map_or(self.made, |input| input.before);
        let (mut map_number, mut photo_number) = before;
        match reading.content {
            Content::Maps(pages) => {
                for page in pages {
                    map_number += 1;
                    self.take_page(&file, map_number, page, &mut opened);
                }
            }
            Content::Photo(photo) => {
                photo_number += 1;
                self.take_photo(&file, photo_number, photo, &mut opened);
            }
            Content::Names(names) => {
                let named = self.take_names(names);
                opened.tell(name, Finding::NamesTaken { named });
                opened.is_kept = true;
            }
            Content::Ask { question, ways } => {
                opened.asks.push(AskText::of(name, &file.sha256, question, ways));
                return opened;
            }
        }
        self.made = (self.made.0.max(map_number), self.made.1.max(photo_number));
        opened.is_kept |= opened.maps.len() + opened.photos.len() > 0;
        if opened.is_kept {
            let way = way.map(str::to_owned);
            let input = InputRecord {
                name: name.to_owned(),
                sha256: file.sha256,
                size: bytes.len() as u64,
                way,
                before,
            };
            self.inputs.push(input);
            self.inputs.sort_by_key(|input| input.before);
        }
        if let Err(fault) = self.derive_expected() {
            opened.notices.push(NoticeText::fault(name, &fault));
        }
        opened
    }

    fn take_page(&mut self, file: &File<'_>, number: u32, page: Page, opened: &mut Opened) {
        let shown_name = if page.entry.is_empty() {
            file.name.to_owned()
        } else {
            format!("{}/{}", file.name, page.entry)
        };
        // A title in the file says more than its name.
        let line = [&page.title, &shown_name].into_iter().find_map(|text| match guess_line(text) {
            Guess::Line(line) => Some(line),
            _ => None,
        });
        let source = Source { file: shown_name.clone(), page: page.number, sha256: file.sha256.clone() };
        let id = MapId::new(number);
        let mut map = match Map::new(id.clone(), source, page.title, line, page.samples) {
            Ok(map) => map,
            Err(error) => return opened.tell(&shown_name, error.into()),
        };
        let stated = self.stated.get(&map_key(&map.source)).cloned().unwrap_or_default();
        if let Err(fault) = self.apply_stated(&mut map, &stated) {
            // A record that was made for these bytes fits them; if not, what was read is still worth having.
            opened.notices.push(NoticeText::fault(&shown_name, &fault));
        }
        let has_line = map.line.is_some();
        if map.kind == Kind::DisplayCopy {
            opened.tell_of(&shown_name, &id, Finding::DisplayCopy);
        }
        if let Some((stack_width, stack_height)) = self.stack.size() {
            let (width, height) = map.plane.size();
            if (width, height) != (stack_width, stack_height) {
                let finding = Finding::OtherSize { width, height, stack_width, stack_height };
                opened.tell_of(&shown_name, &id, finding);
            }
        }
        if let Some(step) = page.step {
            self.stack.offer_step(step, file.name);
        }
        self.stack.push(map);
        if !has_line && !self.name_by_list(&id) {
            opened.tell_of(&shown_name, &id, Finding::NoElement);
        }
        opened.maps.push(id.to_string());
    }

    fn take_photo(&mut self, file: &File<'_>, number: u32, photo: Photo, opened: &mut Opened) {
        let summary = PhotoSummary {
            id: format!("p{number}"),
            file: file.name.to_owned(),
            width: photo.pixels.width(),
            height: photo.pixels.height(),
            file_sha256: file.sha256.clone(),
        };
        match PhotoPyramid::build(&photo.pixels) {
            Ok(pyramid) => {
                opened.photos.push(summary.id.clone());
                self.photos.push(HeldPhoto { summary, pixels: photo.pixels, pyramid });
            }
            Err(error) => opened.tell(file.name, error.into()),
        }
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
