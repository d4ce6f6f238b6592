//! The key on a saved picture.

use super::layout::{Column, HAIRLINE, INK, Measures, PALE_INK};
use super::sheet::{Item, Place};
use super::text::{CAPITAL, LINE};
use crate::colour::{ClassColour, Rgb};
use crate::display::{KeyEntry, Tick};

/// Entries in the order in which they stand.
pub struct Key<'a> {
    /// Of the picture.
    pub entries: &'a [KeyEntry],
    /// Sheet pixels for each picture pixel, so that patterns are those of the picture.
    pub grain: u32,
}

/// What is seen of an entry beside its words.
enum Swatch {
    /// At full and at half.
    Pair(Rgb, Rgb),
    /// A class or fill.
    Class(ClassColour),
}

/// Width of a swatch, in text sizes.
const SWATCH: f32 = 3.4;
/// Height of a swatch.
const HEIGHT: f32 = 1.2;
/// From a swatch to its words.
const TO_WORDS: f32 = 0.6;
/// Between columns.
const BETWEEN: f32 = 1.6;
/// The most columns.
const MOST_COLUMNS: u32 = 4;

impl Key<'_> {
    /// Puts all entries into a column: scales over its width, the others in as many columns as there is room for.
    pub fn put(&self, column: &mut Column<'_>, items: &mut Vec<Item>) {
        let mut cells: Vec<(&str, Swatch)> = Vec::new();
        for entry in self.entries {
            match entry {
                KeyEntry::Light { label, full, half } | KeyEntry::Both { label, full, half } => {
                    cells.push((label, Swatch::Pair(*full, *half)));
                }
                KeyEntry::Class { label, colour, .. } | KeyEntry::Fill { label, colour } => {
                    cells.push((label, Swatch::Class(*colour)));
                }
                KeyEntry::Bar { label, colours, ticks } => scale(column, label, colours, ticks, items),
            }
        }
        put_cells(column, &cells, self.grain, items);
        if cells.iter().any(|(_, swatch)| matches!(swatch, Swatch::Pair(..))) {
            let style = column.measures.style(0.85, false, PALE_INK);
            column.text("Left: at the upper limit. Right: midway between the limits.", style, items);
        }
    }
}

fn put_cells(column: &mut Column<'_>, cells: &[(&str, Swatch)], grain: u32, items: &mut Vec<Item>) {
    if cells.is_empty() {
        return;
    }
    let measures = column.measures;
    let style = measures.style(1.0, false, INK);
    let to_words = measures.em(SWATCH + TO_WORDS);
    let between = measures.em(BETWEEN);
    let longest = cells.iter().map(|(label, _)| column.faces.width(label, style).ceil() as u32 + 1).max();
    // A label that is longer than half of the room is broken into lines where there are several entries.
    let most = if cells.len() > 3 { (column.width - between) / 2 } else { column.width };
    let natural = (to_words + longest.unwrap_or(0)).min(most).max(1);
    let columns = ((column.width + between) / (natural + between)).clamp(1, MOST_COLUMNS);
    let rows = cells.len().div_ceil(columns as usize);
    let line = (style.size * LINE).ceil() as u32;
    let (width, height) = (measures.em(SWATCH), measures.em(HEIGHT));
    let (top, mut bottom) = (column.y, column.y);
    for (place, cells) in (0u32..).zip(cells.chunks(rows)) {
        let x = column.x + place * (natural + between);
        let mut words = Column { x: x + to_words, width: natural - to_words, y: top, ..*column };
        for (label, swatch) in cells {
            let y = words.y + line.saturating_sub(height) / 2;
            match swatch {
                Swatch::Pair(full, half) => {
                    let one = (width - measures.em(0.2)) / 2;
                    let left = Place { x, y, width: one, height };
                    framed(measures, left, items, |inner| Item::Fill(inner, *full));
                    let right = Place { x: x + width - one, ..left };
                    framed(measures, right, items, |inner| Item::Fill(inner, *half));
                }
                Swatch::Class(colour) => {
                    let all = Place { x, y, width, height };
                    framed(measures, all, items, |inner| Item::Patterned(inner, *colour, grain));
                }
            }
            words.text(label, style, items);
            words.y += measures.em(0.3);
        }
        bottom = bottom.max(words.y);
    }
    column.y = bottom;
}

/// A hairline around a place, and what stands inside.
fn framed(measures: Measures, place: Place, items: &mut Vec<Item>, inside: impl Fn(Place) -> Item) {
    let hairline = measures.hairline();
    items.push(Item::Fill(place, HAIRLINE));
    items.push(inside(Place {
        x: place.x + hairline,
        y: place.y + hairline,
        width: place.width.saturating_sub(2 * hairline),
        height: place.height.saturating_sub(2 * hairline),
    }));
}

/// A continuous scale: what it measures, its colours, and its marks below, in a second row where they would touch.
fn scale(column: &mut Column<'_>, label: &str, colours: &[Rgb], ticks: &[Tick], items: &mut Vec<Item>) {
    let measures = column.measures;
    let style = measures.style(1.0, false, INK);
    column.text(label, style, items);
    column.gap(0.15);
    let (width, height) = (column.width.min(measures.em(30.0)), measures.em(1.1));
    let place = Place { x: column.x, y: column.y, width, height };
    framed(measures, place, items, |inner| Item::Scale(inner, colours.to_vec()));
    let tick_height = measures.em(0.35);
    let line = (style.size * LINE).ceil() as u32;
    let mut ends = [f32::NEG_INFINITY; 2];
    let mut rows = 1;
    for tick in ticks {
        let at = tick.at.clamp(0.0, 1.0) as f32 * (width - measures.hairline()) as f32;
        let x = column.x + (at + 0.5) as u32;
        let text_width = column.faces.width(&tick.text, style);
        let latest = (width as f32 - text_width).max(0.0);
        let left = column.x as f32 + (at - text_width / 2.0).clamp(0.0, latest);
        let row = usize::from(left < ends[0] + style.size * 0.5);
        // What touches in both rows is pushed to the right of what stands in the second.
        let left = if row == 1 { left.max(ends[1] + style.size * 0.5) } else { left };
        ends[row] = left + text_width;
        rows = rows.max(row as u32 + 1);
        let reach = tick_height + row as u32 * line;
        let mark = Place { x, y: column.y + height, width: measures.hairline(), height: reach };
        items.push(Item::Fill(mark, HAIRLINE));
        let top = column.y + height + reach;
        let baseline = (top as f32 + style.size * (0.15 + CAPITAL)).floor();
        items.push(Item::Text { x: left, y: baseline, text: tick.text.clone(), style });
    }
    column.y += height + tick_height + line * if ticks.is_empty() { 0 } else { rows };
    column.gap(0.5);
}
