//! Samples of a page by the crate `tiff`, which is shown each page in a form that it reads right.

use super::damaged;
use super::directory::{Change, Directory, Overlay};
use super::page::{Layout, tag};
use crate::grid::try_filled_vec;
use crate::notice::Finding;
use crate::reading::MOST_PIXELS;
use tiff::decoder::{Decoder, Limits};

/// What the decoder is shown otherwise. White as zero is hidden from it, because it would turn floats over at 1 and refuse
/// numbers with a sign.
fn changes(page: &Directory<'_>) -> Vec<Change> {
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
    changes
}

/// The changes that leave one of several channels behind each other, as a grey page of its own: the decoder mistakes the
/// tiles at the edge of all channels but the first.
fn changes_for_channel(page: &Directory<'_>, layout: &Layout, channel: u64) -> Result<Vec<Change>, Finding> {
    let mut changes = changes(page);
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
    changes.extend(lists.iter().filter(|&&tag| page.has(tag)).map(|&tag| {
        let count = page.count(tag) / layout.samples;
        Change::Part(tag, channel * count, count)
    }));
    Ok(changes)
}

/// All samples in the machine's byte order as they are stored; channels behind each other one by one.
pub(super) fn decoded(page: &Directory<'_>, layout: &Layout) -> Result<Vec<u8>, Finding> {
    let mut bytes = try_filled_vec(layout.bytes(), 0u8)?;
    if !layout.is_planar {
        decode(page, layout, &changes(page), &mut bytes)?;
        return Ok(bytes);
    }
    let plane = bytes.len() / layout.samples as usize;
    for (channel, bytes) in (0..layout.samples).zip(bytes.chunks_exact_mut(plane)) {
        decode(page, layout, &changes_for_channel(page, layout, channel)?, bytes)?;
    }
    Ok(bytes)
}

/// Calls `each` with the samples of every row from the first on, in the machine's byte order. Only one row of strips or
/// tiles is held at a time. Channels that lie behind each other in the file do so in a row.
pub(super) fn rows_of(
    page: &Directory<'_>,
    layout: &Layout,
    mut each: impl FnMut(&[u8]),
) -> Result<(), Finding> {
    let (width, height) = (layout.size.0 as usize, layout.size.1 as usize);
    let row = layout.bytes() as usize / height.max(1);
    let mut parts: Vec<Part<'_>> = Vec::new();
    if layout.is_planar {
        for channel in 0..layout.samples {
            let changes = changes_for_channel(page, layout, channel)?;
            let pixel = row / (width * layout.samples as usize).max(1);
            parts.push(Part::new(page, layout, &changes, pixel, channel as usize * width * pixel)?);
        }
    } else {
        parts.push(Part::new(page, layout, &changes(page), row / width.max(1), 0)?);
    }
    let Some(down) = parts.first().map(|part| part.side.1) else { return Ok(()) };
    // The last row of strips or tiles may be lower.
    let mut rows = try_filled_vec((row * down.min(height)) as u64, 0u8)?;
    for (number, top) in (0..height).step_by(down).enumerate() {
        let count = down.min(height - top);
        for part in &mut parts {
            part.read(number, width, &mut rows, row)?;
        }
        rows.chunks_exact(row).take(count).for_each(&mut each);
    }
    Ok(())
}

/// A decoder of a page, or of one of its channels, and where its pixels go in a row.
struct Part<'a> {
    decoder: Decoder<Overlay<'a>>,
    /// Width and height of a strip or tile.
    side: (usize, usize),
    /// Bytes of a pixel in it.
    pixel: usize,
    /// Where its first pixel goes.
    at: usize,
    chunk: Vec<u8>,
}

impl<'a> Part<'a> {
    fn new(
        page: &Directory<'a>,
        layout: &Layout,
        changes: &[Change],
        pixel: usize,
        at: usize,
    ) -> Result<Self, Finding> {
        let mut decoder = decoder(page, layout, changes)?;
        let whole = u64::from(layout.size.0) * u64::from(layout.size.1) * pixel as u64;
        if decoder.image_buffer_layout()?.complete_len as u64 != whole {
            return Err(damaged("its tags contradict each other"));
        }
        let (across, down) = decoder.chunk_dimensions();
        if across == 0 || down == 0 {
            return Err(damaged("its tags contradict each other"));
        }
        Ok(Self { decoder, side: (across as usize, down as usize), pixel, at, chunk: Vec::new() })
    }

    /// Reads a row of strips or tiles into rows of `row` bytes.
    fn read(&mut self, number: usize, width: usize, rows: &mut [u8], row: usize) -> Result<(), Finding> {
        let across = width.div_ceil(self.side.0);
        for place in 0..across {
            let index = u32::try_from(number * across + place)
                .map_err(|_| damaged("its tags contradict each other"))?;
            let (columns, lines) = self.decoder.chunk_data_dimensions(index);
            let line = columns as usize * self.pixel;
            let length = line * lines as usize;
            if self.chunk.len() < length {
                self.chunk = try_filled_vec(length as u64, 0u8)?;
            }
            self.decoder.read_chunk_bytes(index, &mut self.chunk[..length])?;
            let start = self.at + place * self.side.0 * self.pixel;
            for (from, to) in self.chunk[..length].chunks_exact(line.max(1)).zip(rows.chunks_exact_mut(row)) {
                to[start..start + line].copy_from_slice(from);
            }
        }
        Ok(())
    }
}

fn decoder<'a>(
    page: &Directory<'a>,
    layout: &Layout,
    changes: &[Change],
) -> Result<Decoder<Overlay<'a>>, Finding> {
    let mut limits = Limits::default();
    limits.decoding_buffer_size = (MOST_PIXELS * 8) as usize;
    limits.intermediate_buffer_size = (MOST_PIXELS * 8) as usize;
    limits.ifd_value_size = (page.file_length() as usize).clamp(1 << 16, 1 << 26);
    let mut decoder = Decoder::new(page.alone(changes))?.with_limits(limits);
    if decoder.dimensions()? != layout.size {
        return Err(damaged("its tags contradict each other"));
    }
    Ok(decoder)
}

/// Decodes the page, or what the changes leave of it, into exactly as many bytes as there is room for.
fn decode(
    page: &Directory<'_>,
    layout: &Layout,
    changes: &[Change],
    bytes: &mut [u8],
) -> Result<(), Finding> {
    let mut decoder = decoder(page, layout, changes)?;
    if decoder.image_buffer_layout()?.complete_len != bytes.len() {
        return Err(damaged("its tags contradict each other"));
    }
    decoder.read_image_bytes(bytes)?;
    Ok(())
}
