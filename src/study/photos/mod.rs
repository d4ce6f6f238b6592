//! Photos of a study: what was stated of them, how they lie, where they lie on the grid.

mod on_grid;
mod record;
mod shown;
mod summary;

pub(in crate::study) use on_grid::{AlikeCache, hex};
pub use record::{PhotoRecord, PhotoSettings};
pub(super) use shown::no_grid;
pub use summary::PhotoSummary;

use super::aligning::Aligned;
use super::{PhotoShape, Study};
use crate::display::PhotoPyramid;
use crate::geometry::{Orientation, Transform};
use crate::grid::Grid;
use crate::notice::{Fault, OutOfMemory};
use std::collections::BTreeMap;

/// A photo of a study.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct HeldPhoto {
    /// Number in its id.
    pub number: u32,
    /// Names it in any study: hash of the file and its number in the file.
    pub key: String,
    pub file: String,
    pub file_sha256: String,
    /// Width and height of the full photo as it lies now.
    pub size: (u32, u32),
    /// What is kept of it as it lies now: means of `factor` x `factor` of its pixels, or the pixels themselves for a factor
    /// of 1. Turned, a photo whose sides `factor` does not divide moves by less than one of these.
    pub pixels: Grid<[u8; 3]>,
    pub factor: u32,
    /// Made smaller beforehand, for a quick look at the whole.
    pub pyramid: PhotoPyramid,
    pub stated: PhotoRecord,
    /// Where it lies on the grid, with what is wrong with it; `None` where nothing was stated.
    pub aligned: Option<Aligned>,
}

/// Names a photo by what it is, in any study.
pub(super) fn photo_key(sha256: &str, number_in_file: u32) -> String {
    format!("{sha256}/{number_in_file}")
}

impl HeldPhoto {
    pub fn id(&self) -> String {
        format!("p{}", self.number)
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        self.stated.name.as_deref().unwrap_or(&self.file)
    }

    /// Turned by the user, seen from how its file gives it.
    pub fn orientation(&self) -> Orientation {
        self.stated.orientation()
    }

    /// Width and height as its file gives it.
    pub fn file_size(&self) -> (u32, u32) {
        self.orientation().inverse().size(self.size)
    }

    /// Takes places of the photo as it lies now to the grid.
    ///
    /// # Errors
    /// It is not aligned, or cannot be.
    pub fn transform(&self) -> Result<&Transform, Fault> {
        let Some(aligned) = &self.aligned else {
            return Err(Fault::new(
                "not_aligned",
                format!("{} does not lie on the maps yet. Align it first.", self.name()),
            ));
        };
        aligned.transform().map_err(|trouble| {
            Fault::new("not_aligned", format!("{} cannot be laid on the maps: {trouble}", self.name()))
        })
    }

    /// Lays the pixels so, seen from how they lie now.
    fn turn(&mut self, turn: Orientation) -> Result<(), OutOfMemory> {
        if turn.is_plain() {
            return Ok(());
        }
        let pixels = self.pixels.oriented(turn)?;
        let size = turn.size(self.size);
        self.pyramid = PhotoPyramid::build(&pixels, size, self.factor)?;
        self.pixels = pixels;
        self.size = size;
        Ok(())
    }
}

impl Study {
    /// All photos.
    pub fn photos(&self) -> Vec<PhotoSummary> {
        self.photos.iter().map(|photo| PhotoSummary::of(photo, self.stack())).collect()
    }

    /// A photo by id, or by its name where that is unique.
    ///
    /// # Errors
    /// There is none, or several.
    pub(super) fn photo(&self, name: &str) -> Result<&HeldPhoto, Fault> {
        Ok(&self.photos[self.photo_place(name)?])
    }

    pub(super) fn photo_place(&self, name: &str) -> Result<usize, Fault> {
        if let Some(place) = self.photos.iter().position(|photo| photo.id() == name) {
            return Ok(place);
        }
        let named: Vec<usize> =
            (0..self.photos.len()).filter(|&place| self.photos[place].name() == name).collect();
        match named.as_slice() {
            [place] => Ok(*place),
            [] => Err(Fault::new("unknown_photo", format!("There is no photo called “{name}”."))),
            _ => Err(Fault::new(
                "ambiguous_photo",
                format!("Several photos are called “{name}”. Name one by its id."),
            )),
        }
    }

    /// How a record names a photo: by its file and its number in it.
    ///
    /// # Errors
    /// There is no such photo, or several.
    pub fn key_of_photo(&self, name: &str) -> Result<&str, Fault> {
        Ok(&self.photo(name)?.key)
    }

    /// The pixels of a photo as its file gives them; `None` of a large one, of which only means are kept.
    ///
    /// # Errors
    /// There is no such photo, or several; no memory.
    pub fn photo_as_read(&self, name: &str) -> Result<Option<Grid<[u8; 3]>>, Fault> {
        let photo = self.photo(name)?;
        if photo.factor != 1 {
            return Ok(None);
        }
        Ok(Some(photo.pixels.oriented(photo.orientation().inverse())?))
    }

    /// An open photo by its key.
    pub(super) fn photo_by_key(&self, key: &str) -> Option<&HeldPhoto> {
        self.photos.iter().find(|photo| photo.key == key)
    }

    /// States what a photo shows and how it lies. What is left out stays.
    ///
    /// # Errors
    /// No such photo; a word that is not understood; no memory. Nothing is changed then.
    pub fn set_photo(&mut self, name: &str, settings: PhotoSettings) -> Result<PhotoSummary, Fault> {
        let place = self.photo_place(name)?;
        let mut photo = self.photos[place].clone();
        let before = photo.orientation();
        photo.stated.take(settings)?;
        photo.turn(before.inverse().then(photo.orientation()))?;
        self.photo_stated.insert(photo.key.clone(), photo.stated.clone());
        self.photos[place] = photo;
        self.align_photo(place);
        self.regions_after_photos();
        Ok(PhotoSummary::of(&self.photos[place], self.stack()))
    }

    /// A photo that was read, as what was stated of it makes it.
    ///
    /// # Errors
    /// No memory.
    pub(super) fn take_in_photo(&mut self, shape: PhotoShape) -> Result<String, OutOfMemory> {
        let PhotoShape { number, key, file, file_sha256, size, pixels, factor } = shape;
        let pyramid = PhotoPyramid::build(&pixels, size, factor)?;
        let stated = self.photo_stated.get(&key).cloned().unwrap_or_default();
        let mut photo = HeldPhoto {
            number,
            key,
            file,
            file_sha256,
            size,
            pixels,
            factor,
            pyramid,
            stated,
            aligned: None,
        };
        photo.turn(photo.orientation())?;
        let id = photo.id();
        let place = self.photos.partition_point(|other| other.number < number);
        self.photos.insert(place, photo);
        self.align_photo(place);
        Ok(id)
    }

    /// A photo that was open, as what is stated of it now makes it. Where there is no memory to turn it, it stays as it lies.
    pub(super) fn take_over_photo(&mut self, mut photo: HeldPhoto) {
        let stated = self.photo_stated.get(&photo.key).cloned().unwrap_or_default();
        let turn = photo.orientation().inverse().then(stated.orientation());
        if photo.turn(turn).is_ok() {
            photo.stated = stated;
        }
        photo.aligned = None;
        let place = self.photos.partition_point(|other| other.number < photo.number);
        self.photos.insert(place, photo);
    }

    /// Takes over what a record states of photos, also of those that are still to be opened.
    ///
    /// # Errors
    /// Something that no program of ours has written. Nothing is taken over then.
    pub(super) fn apply_photos(&mut self, stated: BTreeMap<String, PhotoRecord>) -> Result<(), Fault> {
        if !stated.values().all(PhotoRecord::is_sound) {
            return Err(Fault::bad_setting("What the record states of a photo is damaged."));
        }
        for (key, record) in stated {
            if let Some(place) = self.photos.iter().position(|photo| photo.key == key) {
                let before = self.photos[place].orientation();
                self.photos[place].turn(before.inverse().then(record.orientation()))?;
                self.photos[place].stated = record.clone();
                self.align_photo(place);
            }
            self.photo_stated.insert(key, record);
        }
        self.regions_after_photos();
        Ok(())
    }

    /// Regions whose pixels come from photos are made again: to be called when photos came or were laid otherwise.
    pub(super) fn regions_after_photos(&mut self) {
        if self.all_regions().any(|record| record.shape.follows_photos()) {
            // And what is made of them.
            self.remake_regions(|shape| shape.follows_photos() || shape.follows());
        }
    }
}
