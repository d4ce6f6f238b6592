//! Samples of a page by the crate `tiff`, which is shown each page in a form that it reads right.

use super::damaged;
use super::directory::{Change, Directory};
use super::page::{Layout, tag};
use crate::grid::try_filled_vec;
use crate::notice::Finding;
use crate::reading::MOST_PIXELS;
use tiff::decoder::{Decoder, Limits};

/// All samples in the machine's byte order as they are stored. White as zero is hidden from the decoder, which would
/// turn floats over at 1 and refuse numbers with a sign. Channels behind each other are decoded one by one, each as a
/// grey page of its own, because the decoder mistakes the tiles at the edge of all channels but the first.
pub(super) fn decoded(page: &Directory<'_>, layout: &Layout) -> Result<Vec<u8>, Finding> {
    let mut changes = Vec::new();
    if page.number(tag::PHOTOMETRIC) == Some(0) {
        changes.push(Change::First(tag::PHOTOMETRIC, 1));
    }
    if page.number(tag::SAMPLE_FORMAT) == Some(4) {
        // "Undefined" is to be taken as unsigned (TIFF 6.0, page 80), which is what no tag means.
        changes.push(Change::Hidden(tag::SAMPLE_FORMAT));
    }
    if page.number(tag::PHOTOMETRIC) == Some(2) && page.number(tag::EXTRA_SAMPLES) == Some(0) {
        // The decoder leaves a fourth channel in only where it is transparency.
        changes.push(Change::First(tag::EXTRA_SAMPLES, 2));
    }
    let mut bytes = try_filled_vec(layout.bytes(), 0u8)?;
    if !layout.is_planar {
        decode(page, layout, &changes, &mut bytes)?;
        return Ok(bytes);
    }
    changes.extend([
        Change::First(tag::PHOTOMETRIC, 1),
        Change::First(tag::SAMPLES, 1),
        Change::First(tag::PLANAR, 1),
        Change::Part(tag::BITS, 0, 1),
        Change::Hidden(tag::EXTRA_SAMPLES),
    ]);
    if page.number(tag::SAMPLE_FORMAT) != Some(4) {
        changes.push(Change::Part(tag::SAMPLE_FORMAT, 0, 1));
    }
    let lists = [tag::STRIP_OFFSETS, tag::STRIP_LENGTHS, tag::TILE_OFFSETS, tag::TILE_LENGTHS];
    if !lists.iter().all(|&tag| page.count(tag).is_multiple_of(layout.samples)) {
        return Err(damaged("its channels have different numbers of strips or tiles"));
    }
    let plane = bytes.len() / layout.samples as usize;
    for (channel, bytes) in (0..layout.samples).zip(bytes.chunks_exact_mut(plane)) {
        let parts = lists.iter().filter(|&&tag| page.has(tag)).map(|&tag| {
            let count = page.count(tag) / layout.samples;
            Change::Part(tag, channel * count, count)
        });
        let all: Vec<Change> = changes.iter().copied().chain(parts).collect();
        decode(page, layout, &all, bytes)?;
    }
    Ok(bytes)
}

/// Decodes the page, or what the changes leave of it, into exactly as many bytes as there is room for.
fn decode(
    page: &Directory<'_>,
    layout: &Layout,
    changes: &[Change],
    bytes: &mut [u8],
) -> Result<(), Finding> {
    let mut limits = Limits::default();
    limits.decoding_buffer_size = (MOST_PIXELS * 8) as usize;
    limits.intermediate_buffer_size = (MOST_PIXELS * 8) as usize;
    limits.ifd_value_size = (page.file_length() as usize).clamp(1 << 16, 1 << 26);
    let mut decoder = Decoder::new(page.alone(changes))?.with_limits(limits);
    if decoder.dimensions()? != layout.size || decoder.image_buffer_layout()?.complete_len != bytes.len() {
        return Err(damaged("its tags contradict each other"));
    }
    decoder.read_image_bytes(bytes)?;
    Ok(())
}
