//! Colour pictures: a photo, a grey picture in three equal channels, or the colour-mapped picture of a map, which is
//! neither a photo nor values and must not be taken for either without being asked.

use super::colour_scale;
use super::{Content, Page, Reading, Way};
use crate::grid::{Grid, Samples, try_vec};
use crate::notice::Finding;

/// A colour picture.
#[derive(Debug, Clone, PartialEq)]
pub struct Photo {
    /// Pixels in sRGB.
    pub pixels: Grid<[u8; 3]>,
}

/// Ways to read a colour picture in which not everything is plain.
const AS_PHOTO: &str = "photo";
const AS_MAP: &str = "map";
const AS_NOTHING: &str = "leave_out";

impl Photo {
    /// From pixels row by row.
    pub(super) fn of(
        (width, height): (u32, u32),
        format: &'static str,
        colours: impl Iterator<Item = [u8; 3]>,
    ) -> Result<Self, Finding> {
        let mut pixels = try_vec(u64::from(width) * u64::from(height))?;
        pixels.extend(colours);
        let pixels = Grid::from_vec(width, height, pixels);
        let differs = || Finding::Damaged { format, what: "its size and its data differ".into() };
        Ok(Self { pixels: pixels.ok_or_else(differs)? })
    }

    /// Content of a file that holds this picture alone. Asks where its colours stand for values or are all grey, unless
    /// a way is given.
    pub(super) fn into_reading(
        self,
        format: &'static str,
        mut findings: Vec<Finding>,
        way: Option<&str>,
    ) -> Result<Reading, Finding> {
        let choice =
            |key: &str, text: &str| Way { key: key.into(), text: text.into(), sample: String::new() };
        match way {
            Some(AS_PHOTO) => return Ok(Reading { content: Content::Photo(self), findings }),
            Some(AS_NOTHING) => {
                return Err(Finding::NotRead {
                    format,
                    what: "left out: the colours of a colour-mapped picture cannot be turned back into counts. Export the map as numbers."
                        .into(),
                });
            }
            _ => {}
        }
        let is_grey = !self.pixels.is_empty() && self.pixels.data().iter().all(|[r, g, b]| r == g && g == b);
        if is_grey && way == Some(AS_MAP) {
            let mut values = try_vec(self.pixels.len())?;
            values.extend(self.pixels.data().iter().map(|[grey, _, _]| *grey));
            let grid = Grid::from_vec(self.pixels.width(), self.pixels.height(), values);
            let samples = grid.map(Samples::U8).ok_or(Finding::UnknownFormat)?;
            let page = Page { number: 0, title: String::new(), samples, step: None, entry: String::new() };
            findings.push(Finding::GreyPicture { format });
            return Ok(Reading { content: Content::Maps(vec![page]), findings });
        }
        if is_grey {
            let content = Content::Ask {
                question: "It is stored in colour and all its pixels are grey: a photo in black and white, or a picture of a map?".into(),
                ways: vec![
                    choice(AS_PHOTO, "a photo"),
                    choice(AS_MAP, "a map, which can be looked at and not counted"),
                ],
            };
            return Ok(Reading { content, findings });
        }
        if colour_scale::is_colour_mapped(&self.pixels)? {
            let content = Content::Ask {
                question: "It looks like a map drawn in the colours of a scale: such colours cannot be turned back into counts. Export the map as numbers (TIFF, NPY or text), or is it a photo?".into(),
                ways: vec![
                    choice(AS_PHOTO, "a photo all the same"),
                    choice(AS_NOTHING, "not a photo: leave it out"),
                ],
            };
            return Ok(Reading { content, findings });
        }
        Ok(Reading { content: Content::Photo(self), findings })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn photo(of: impl Fn(u32, u32) -> [u8; 3]) -> Photo {
        let pixels = (0..60u32).flat_map(|y| (0..80u32).map(move |x| (x, y)));
        Photo::of((80, 60), "PNG", pixels.map(|(x, y)| of(x, y))).unwrap()
    }

    #[test]
    fn three_equal_channels_are_asked_about() {
        let grey = photo(|x, y| [(x + y) as u8; 3]);
        let asked = grey.clone().into_reading("PNG", Vec::new(), None).unwrap();
        let Content::Ask { ways, .. } = asked.content else { panic!() };
        assert_eq!(ways.iter().map(|way| way.key.as_str()).collect::<Vec<_>>(), ["photo", "map"]);
        let map = grey.clone().into_reading("PNG", Vec::new(), Some("map")).unwrap();
        let Content::Maps(pages) = map.content else { panic!() };
        assert_eq!(pages[0].samples.value(3, 4), Some(7.0));
        assert_eq!(map.findings, [Finding::GreyPicture { format: "PNG" }]);
        let photo = grey.into_reading("PNG", Vec::new(), Some("photo")).unwrap();
        assert!(matches!(photo.content, Content::Photo(_)));
    }

    #[test]
    fn a_picture_in_the_colours_of_a_scale_is_asked_about_and_a_gradient_is_a_photo() {
        // Blue over green to red by a value that wanders over the picture.
        let mapped = photo(|x, y| {
            let value = (x * x / 9 + y * 7 + x * y / 5) % 200;
            let (low, high) = (value.min(100), value.saturating_sub(100));
            [20 + 2 * high, 2 * low + 20 - high, 220 - 2 * low].map(|v| v as u8)
        });
        let asked = mapped.clone().into_reading("PNG", Vec::new(), None).unwrap();
        assert!(matches!(asked.content, Content::Ask { .. }), "{asked:?}");
        assert!(mapped.clone().into_reading("PNG", Vec::new(), Some("leave_out")).is_err());
        let kept = mapped.into_reading("PNG", Vec::new(), Some("photo")).unwrap();
        assert!(matches!(kept.content, Content::Photo(_)));
        let gradient = photo(|x, y| [x as u8 * 3, y as u8 * 4, 120]);
        let sky = photo(|_, y| [100 + y as u8, 150 + y as u8, 220]);
        for photo in [gradient, sky] {
            let read = photo.into_reading("PNG", Vec::new(), None).unwrap();
            assert!(matches!(read.content, Content::Photo(_)), "{read:?}");
        }
    }
}
