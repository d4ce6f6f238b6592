//! A page as a photo.

use super::decode::rows_of;
use super::directory::Directory;
use super::page::{Layout, tag};
use super::{NAME, not_read};
use crate::geometry::Orientation;
use crate::grid::{SampleType, try_vec};
use crate::notice::Finding;
use crate::reading::photo::{Decoded, Rows, profile_finding};
use crate::reading::widen::Stored;
use crate::reading::{check_photo_size, step_of_16_bits};

/// The colours of a page, a few rows at a time.
pub(super) fn photo(
    page: &Directory<'_>,
    layout: &Layout,
    way: Option<&str>,
    is_white_zero: bool,
) -> Result<Decoded, Finding> {
    let is_deep = match layout.stored {
        Stored::Kept(SampleType::U8) => false,
        Stored::Kept(SampleType::U16) => true,
        _ => return Err(not_read("its colours are neither of 8 nor of 16 bits. Save it as RGB of 8 bits.")),
    };
    check_photo_size(u64::from(layout.size.0), u64::from(layout.size.1))?;
    let laid = Orientation::of_tag(page.number(tag::ORIENTATION).unwrap_or(1));
    let mut rows = Rows::new(NAME, layout.size, laid, way)?;
    let mut line = try_vec(u64::from(layout.size.0))?;
    // How far apart in a row the channels of a pixel and the pixels of a channel are.
    let (apart, next) =
        if layout.is_planar { (layout.size.0 as usize, 1) } else { (1, layout.samples as usize) };
    let places = if layout.samples < 3 { [0; 3] } else { [0, apart, 2 * apart] };
    rows_of(page, layout, |row| {
        line.clear();
        let value = |place: usize| {
            let value = match is_deep {
                true => step_of_16_bits(u16::from_ne_bytes([row[2 * place], row[2 * place + 1]])),
                false => row[place],
            };
            if is_white_zero { 255 - value } else { value }
        };
        line.extend((0..layout.size.0 as usize).map(|x| places.map(|place| value(x * next + place))));
        rows.push(&line);
    })?;
    let findings = page.raw(tag::PROFILE).and_then(profile_finding).into_iter().collect();
    Ok(Decoded { findings, ..rows.finish()? })
}
