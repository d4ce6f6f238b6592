//! TIFF 6.0 and BigTIFF. The directories are walked here, so that every page stands for itself and every claim is held
//! against the file before memory is taken; the crate `tiff` decodes. A grey page is a map, or one for each channel; an
//! RGB page is a photo.

mod decode;
mod directory;
mod page;
mod photo;
mod title;

use super::photo::{AS_MAP, AS_PHOTO, Decoded, asked_for_its_notes};
use super::{Content, Page, Reading};
use crate::notice::Finding;
use directory::{Directory, File};
use page::{PageContent, has_notes, is_colour, is_thumbnail, push_once};
use tiff::{TiffError, TiffFormatError};

const MOST_PAGES: usize = 512;

const NAME: &str = "TIFF";

fn damaged(what: impl ToString) -> Finding {
    Finding::Damaged { format: NAME, what: what.to_string() }
}

fn not_read(what: &str) -> Finding {
    Finding::NotRead { format: NAME, what: what.into() }
}

impl From<TiffError> for Finding {
    fn from(error: TiffError) -> Self {
        match error {
            TiffError::UnsupportedError(_) => not_read(
                "it is written in a way that is not read. Save it uncompressed, or with deflate or LZW.",
            ),
            TiffError::LimitsExceeded => {
                not_read("it needs more memory than is allowed. Bin or crop the map before opening it.")
            }
            TiffError::IoError(error) if error.kind() == std::io::ErrorKind::UnexpectedEof => {
                damaged("it ends too early")
            }
            TiffError::IoError(_) => damaged("its compressed pixels make no sense"),
            TiffError::FormatError(TiffFormatError::InconsistentSizesEncountered) => {
                damaged("it has more or fewer strips or tiles than its size needs")
            }
            _ => damaged("its tags contradict each other"),
        }
    }
}

/// Reads every page. A page that cannot be read is a finding, unless there is no other.
pub(super) fn read(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    let mut findings = Vec::new();
    let directories = directories(bytes, &mut findings)?;
    let (mut maps, mut photos): (Vec<Page>, Vec<(usize, Decoded)>) = (Vec::new(), Vec::new());
    let mut refused = Vec::new();
    let titles = title::of_pages(&directories);
    let names = directories.first().map(title::channels).unwrap_or_default();
    let alone = alone(&directories);
    if alone.is_some_and(has_notes) && !matches!(way, Some(AS_PHOTO | AS_MAP)) {
        return Ok(asked_for_its_notes());
    }
    let mut number = 0;
    for (place, (directory, title)) in directories.iter().zip(titles).enumerate() {
        match page::read(directory, way, alone.is_some(), &mut findings) {
            Ok(PageContent::Maps { channels, step }) => {
                let several = channels.len() > 1;
                let is_named =
                    if several { names.len() == channels.len() } else { names.len() == directories.len() };
                for (channel, samples) in channels.into_iter().enumerate() {
                    let name = is_named.then(|| names[if several { channel } else { place }].clone());
                    let title = match name.filter(|name| !name.is_empty()) {
                        Some(name) => name,
                        None if several => format!("channel {}", channel + 1),
                        None => title.clone(),
                    };
                    maps.push(Page { number, title, samples, step, entry: String::new() });
                    number += 1;
                }
                continue;
            }
            Ok(PageContent::Photo(photo)) => photos.push((place, photo)),
            Ok(PageContent::Thumbnail) => {}
            Err(finding) => refused.push((place, finding)),
        }
        number += 1;
    }
    if maps.is_empty() && photos.len() == 1 {
        let (_, mut photo) = photos.remove(0);
        findings.append(&mut photo.findings);
        findings.extend(refused.into_iter().map(|(_, finding)| finding));
        return Decoded { findings, ..photo }.into_reading(way);
    }
    for (place, _) in photos {
        let what = "it is a colour picture among others. Save it as a file of its own.";
        refused.push((place, not_read(what)));
    }
    refused.sort_by_key(|(place, _)| *place);
    if maps.is_empty() {
        let first = refused.into_iter().map(|(_, finding)| finding).chain(findings).next();
        return Err(first.unwrap_or_else(|| damaged("it holds no picture")));
    }
    // The sentence of a page names it; what is damaged is said of the page too.
    for (place, finding) in refused {
        let said = match finding {
            Finding::NotRead { what, .. } => not_read(&format!("page {}: {what}", place + 1)),
            Finding::Damaged { what, .. } => damaged(format!("page {}: {what}", place + 1)),
            other => other,
        };
        push_once(&mut findings, said);
    }
    Ok(Reading { content: Content::Maps(maps), findings })
}

/// The one page of a file that is no smaller copy of another; `None` where there are several, or none.
fn alone<'a, 'b>(pages: &'a [Directory<'b>]) -> Option<&'a Directory<'b>> {
    let mut pages = pages.iter().filter(|page| !is_thumbnail(page));
    pages.next().filter(|_| pages.next().is_none())
}

/// The photo of a file that holds one colour picture, or a grey one that shall be read as a photo, and nothing else but
/// smaller copies; `None` for any other file.
pub(super) fn photo_of_tiff(bytes: &[u8], way: Option<&str>) -> Option<Result<Decoded, Finding>> {
    let mut findings = Vec::new();
    let directories = directories(bytes, &mut findings).ok()?;
    let page = alone(&directories).filter(|page| is_colour(page) || way == Some(AS_PHOTO))?;
    match page::read(page, way, true, &mut findings) {
        Ok(PageContent::Photo(mut photo)) => {
            findings.append(&mut photo.findings);
            Some(Ok(Decoded { findings, ..photo }))
        }
        Ok(_) => None,
        Err(finding) => Some(Err(finding)),
    }
}

/// All directories in their order. A chain that breaks or bites its tail is a finding behind the pages before.
fn directories<'a>(bytes: &'a [u8], findings: &mut Vec<Finding>) -> Result<Vec<Directory<'a>>, Finding> {
    let file = File::open(bytes).ok_or_else(|| damaged("its header is cut off or wrong"))?;
    let mut at = file.first().ok_or_else(|| damaged("it ends too early"))?;
    let (mut pages, mut seen) = (Vec::new(), Vec::new());
    while at != 0 && pages.len() < MOST_PAGES {
        if seen.contains(&at) {
            findings.push(damaged("its list of pages runs in a circle; the pages before are read"));
            break;
        }
        seen.push(at);
        match file.directory(at) {
            Some(directory) => {
                at = directory.next();
                pages.push(directory);
            }
            None if pages.is_empty() => return Err(damaged("it ends too early")),
            None => {
                findings.push(damaged("its list of pages is cut off; the pages before are read"));
                break;
            }
        }
    }
    if pages.len() >= MOST_PAGES && at != 0 {
        findings.push(not_read(&format!(
            "it has more than {MOST_PAGES} pages, of which the first {MOST_PAGES} are read. Save the others as files of their own."
        )));
    }
    if pages.is_empty() {
        return Err(damaged("it holds no picture"));
    }
    Ok(pages)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Step;
    use std::io::Cursor;
    use tiff::encoder::colortype::{Gray8, Gray16, RGB8};
    use tiff::encoder::{Rational, TiffEncoder};
    use tiff::tags::ResolutionUnit;

    fn written(write: impl FnOnce(&mut TiffEncoder<&mut Cursor<Vec<u8>>>)) -> Vec<u8> {
        let mut file = Cursor::new(Vec::new());
        write(&mut TiffEncoder::new(&mut file).unwrap());
        file.into_inner()
    }

    #[test]
    fn pages_become_maps_and_a_scans_resolution_its_step() {
        let file = written(|encoder| {
            let mut page = encoder.new_image::<Gray16>(2, 1).unwrap();
            page.resolution(ResolutionUnit::Centimeter, Rational { n: 20, d: 1 });
            page.write_data(&[1, 60_000]).unwrap();
            let mut page = encoder.new_image::<Gray8>(1, 1).unwrap();
            page.resolution(ResolutionUnit::Inch, Rational { n: 72, d: 1 });
            page.write_data(&[7]).unwrap();
        });
        let reading = read(&file, None).unwrap();
        let Content::Maps(pages) = &reading.content else { panic!("{reading:?}") };
        assert_eq!(pages.len(), 2);
        assert_eq!(pages[0].step, Step::new(500.0, 500.0));
        assert_eq!(pages[0].samples.le_bytes().unwrap(), [1, 0, 0x60, 0xea]);
        assert_eq!((pages[1].step, pages[1].number), (None, 1));
        assert_eq!(reading.findings, [Finding::ScreenResolution { dots_per_inch: 72.0 }]);
    }

    #[test]
    fn a_colour_page_is_a_photo() {
        let file = written(|encoder| encoder.write_image::<RGB8>(1, 2, &[1, 2, 3, 4, 5, 6]).unwrap());
        let Content::Photo(photo) = read(&file, None).unwrap().content else { panic!() };
        assert_eq!(photo.pixels.data(), [[1, 2, 3], [4, 5, 6]]);
    }

    #[test]
    fn every_cut_of_a_file_is_an_error_or_a_map_and_never_a_panic() {
        let file = written(|encoder| encoder.write_image::<Gray16>(5, 4, &[9; 20]).unwrap());
        for length in 0..file.len() {
            if let Ok(reading) = super::super::read(&file[..length], None) {
                let Content::Maps(pages) = reading.content else { panic!() };
                assert_eq!(pages[0].samples.len(), 20, "cut at {length}");
            }
        }
    }

    #[test]
    fn a_file_that_claims_more_than_it_can_hold_is_refused_before_memory_is_taken() {
        let mut file = written(|encoder| encoder.write_image::<Gray8>(1, 1, &[9]).unwrap());
        // ImageWidth (256) and ImageLength (257) as the encoder writes them: LONG, count 1.
        for (tag, value) in [(256u16, 60_000u32), (257, 60_000)] {
            let head = [tag.to_ne_bytes().as_slice(), &4u16.to_ne_bytes(), &1u32.to_ne_bytes()].concat();
            let at = file.windows(8).position(|w| w == head).unwrap();
            file[at + 8..at + 12].copy_from_slice(&value.to_ne_bytes());
        }
        assert!(matches!(read(&file, None), Err(Finding::TooLarge { .. })), "{:?}", read(&file, None));
    }
}
