//! Colour pictures: a photo, a grey picture in three equal channels, or the colour-mapped picture of a map, which is
//! neither a photo nor values and must not be taken for either without being asked.

mod profile;
mod rows;

pub(super) use profile::finding as profile_finding;
pub use rows::MOST_KEPT_PIXELS;
pub(super) use rows::Rows;

use super::{Content, Page, Reading, Way};
use crate::geometry::Orientation;
use crate::grid::{Grid, Samples, try_vec};
use crate::notice::Finding;
use image::metadata::Orientation as Tagged;

/// A colour picture, upright as its file says that it lies.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// What is kept of it, in sRGB: its pixels or, of a photo above [`MOST_KEPT_PIXELS`], means of `factor` x `factor`
    /// of them in linear light, fewer at the right and lower border.
    pub pixels: Grid<[u8; 3]>,
    /// Width and height of the photo itself.
    pub size: (u32, u32),
    /// Pixels of the photo in a kept one, along a side; 1 where all are kept.
    pub factor: u32,
}

/// What speaks against a colour picture being a photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Doubt {
    /// Nothing.
    None,
    /// All its pixels are grey.
    Grey,
    /// Its colours are those of a scale.
    Scale,
}

/// A file that holds one colour picture and nothing else, decoded and not yet decided about.
#[derive(Debug, Clone, PartialEq)]
pub struct Decoded {
    /// Name of the format.
    pub format: &'static str,
    /// The picture.
    pub photo: Photo,
    /// Why it may be none; a picture that was asked for as a photo is not doubted.
    pub doubt: Doubt,
    /// What should be known about it.
    pub findings: Vec<Finding>,
}

/// Ways to read a colour picture in which not everything is plain.
pub(super) const AS_PHOTO: &str = "photo";
pub(super) const AS_MAP: &str = "map";
const AS_NOTHING: &str = "leave_out";

/// How a picture lies by its Exif data; plain without any that can be read.
pub(super) fn laid_by_exif(exif: Option<&[u8]>) -> Orientation {
    let tagged = exif.and_then(Tagged::from_exif_chunk);
    Orientation::of_tag(tagged.map_or(1, |tagged| u64::from(tagged.to_exif())))
}

/// Asks about a grey file that bears a camera's notes and whose values may be counts all the same.
pub(super) fn asked_for_its_notes() -> Reading {
    let choice = |key: &str, text: &str| Way { key: key.into(), text: text.into(), sample: String::new() };
    let content = Content::Ask {
        question: "It is grey and bears a camera's notes (Exif): a photo in black and white, or a map?"
            .into(),
        ways: vec![choice(AS_PHOTO, "a photo"), choice(AS_MAP, "a map")],
    };
    Reading { content, findings: Vec::new() }
}

impl Decoded {
    /// False where `way` asks for pixels that are not all kept: the file must then be read anew in this way.
    pub fn suffices(&self, way: Option<&str>) -> bool {
        way != Some(AS_MAP) || self.doubt != Doubt::Grey || self.photo.factor == 1
    }

    /// Content of the file. Asks where its colours stand for values or are all grey, unless a way is given.
    ///
    /// # Errors
    /// It shall be left out; no memory.
    pub fn into_reading(self, way: Option<&str>) -> Result<Reading, Finding> {
        let Self { format, photo, doubt, mut findings } = self;
        let choice =
            |key: &str, text: &str| Way { key: key.into(), text: text.into(), sample: String::new() };
        let content = match (doubt, way) {
            (_, Some(AS_PHOTO)) => Content::Photo(photo),
            (_, Some(AS_NOTHING)) => {
                return Err(Finding::NotRead {
                    format,
                    what: "left out: the colours of a colour-mapped picture cannot be turned back into counts. Export the map as numbers."
                        .into(),
                });
            }
            (Doubt::Grey, Some(AS_MAP)) => {
                let mut values = try_vec(photo.pixels.len())?;
                values.extend(photo.pixels.data().iter().map(|[grey, _, _]| *grey));
                let grid = Grid::from_vec(photo.pixels.width(), photo.pixels.height(), values);
                let samples = grid.map(Samples::U8).ok_or(Finding::UnknownFormat)?;
                let page =
                    Page { number: 0, title: String::new(), samples, step: None, entry: String::new() };
                findings.push(Finding::GreyPicture { format });
                Content::Maps(vec![page])
            }
            (Doubt::Grey, _) => Content::Ask {
                question: "All its pixels are grey: a photo in black and white, or a picture of a map?".into(),
                ways: vec![
                    choice(AS_PHOTO, "a photo"),
                    choice(AS_MAP, "a map, which can be looked at and not counted"),
                ],
            },
            (Doubt::Scale, _) => Content::Ask {
                question: "It looks like a map drawn in the colours of a scale: such colours cannot be turned back into counts. Export the map as numbers (TIFF, NPY or text), or is it a photo?".into(),
                ways: vec![
                    choice(AS_PHOTO, "a photo all the same"),
                    choice(AS_NOTHING, "not a photo: leave it out"),
                ],
            },
            (Doubt::None, _) => Content::Photo(photo),
        };
        Ok(Reading { content, findings })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(of: impl Fn(u32, u32) -> [u8; 3], way: Option<&str>) -> Result<Reading, Finding> {
        let mut rows = Rows::new("PNG", (80, 60), Orientation::default(), way)?;
        for y in 0..60 {
            let row: Vec<[u8; 3]> = (0..80).map(|x| of(x, y)).collect();
            rows.push(&row);
        }
        rows.finish()?.into_reading(way)
    }

    #[test]
    fn three_equal_channels_are_asked_about() {
        let grey = |x: u32, y: u32| [(x + y) as u8; 3];
        let asked = read(grey, None).unwrap();
        let Content::Ask { ways, .. } = asked.content else { panic!() };
        assert_eq!(ways.iter().map(|way| way.key.as_str()).collect::<Vec<_>>(), ["photo", "map"]);
        let map = read(grey, Some("map")).unwrap();
        let Content::Maps(pages) = map.content else { panic!() };
        assert_eq!(pages[0].samples.value(3, 4), Some(7.0));
        assert_eq!(map.findings, [Finding::GreyPicture { format: "PNG" }]);
        let photo = read(grey, Some("photo")).unwrap();
        assert!(matches!(photo.content, Content::Photo(_)));
    }

    #[test]
    fn a_picture_in_the_colours_of_a_scale_is_asked_about_and_a_gradient_is_a_photo() {
        // Blue over green to red by a value that wanders over the picture.
        let mapped = |x: u32, y: u32| {
            let value = (x * x / 9 + y * 7 + x * y / 5) % 200;
            let (low, high) = (value.min(100), value.saturating_sub(100));
            [20 + 2 * high, 2 * low + 20 - high, 220 - 2 * low].map(|v| v as u8)
        };
        let asked = read(mapped, None).unwrap();
        assert!(matches!(asked.content, Content::Ask { .. }), "{asked:?}");
        assert!(read(mapped, Some("leave_out")).is_err());
        let kept = read(mapped, Some("photo")).unwrap();
        assert!(matches!(kept.content, Content::Photo(_)));
        let gradient = read(|x, y| [x as u8 * 3, y as u8 * 4, 120], None).unwrap();
        let sky = read(|_, y| [100 + y as u8, 150 + y as u8, 220], None).unwrap();
        for read in [gradient, sky] {
            assert!(matches!(read.content, Content::Photo(_)), "{read:?}");
        }
    }
}
