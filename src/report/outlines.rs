//! Where the regions lie, as a drawing of lines: the edges of their pixels, with the numbers that they have in the table.

use super::page::Page;
use crate::grid::Mask;
use crate::notice::Fault;
use crate::study::{RegionSummary, Study};

/// The drawing has at most so many cells along its longer side, so that its size does not depend on the scan's.
const CELLS: u32 = 300;
/// More than so many lines of a region are not drawn: it is a cloud of single pixels then.
const MOST_LINES: usize = 20_000;

/// From so many on they are drawn finer, so that other regions are seen.
const MANY_LINES: usize = 1_500;

/// A region on the cells of the drawing.
struct Cells {
    width: u32,
    height: u32,
    inside: Vec<bool>,
}

impl Cells {
    /// A cell is inside where the pixel in its middle is.
    fn of(mask: &Mask, width: u32, height: u32) -> Self {
        let at = |cell: u32, cells: u32, pixels: u32| {
            ((u64::from(cell) * 2 + 1) * u64::from(pixels) / (u64::from(cells) * 2)) as u32
        };
        let inside = (0..height)
            .flat_map(|y| (0..width).map(move |x| (x, y)))
            .map(|(x, y)| mask.get(at(x, width, mask.width()), at(y, height, mask.height())) == Some(&true));
        Self { width, height, inside: inside.collect() }
    }

    fn is_inside(&self, x: i64, y: i64) -> bool {
        let within = (0..i64::from(self.width)).contains(&x) && (0..i64::from(self.height)).contains(&y);
        within && self.inside.get((y * i64::from(self.width) + x) as usize) == Some(&true)
    }

    /// Its edges as the path of a drawing, each straight piece once; `None` for too many.
    fn path(&self) -> Option<String> {
        let (width, height) = (i64::from(self.width), i64::from(self.height));
        let mut pieces = Vec::new();
        let mut along = |outer: i64,
                         inner: i64,
                         is_edge: &dyn Fn(i64, i64) -> bool,
                         piece: &dyn Fn(i64, i64, i64) -> String| {
            for line in 0..=outer {
                let mut begin = None;
                for place in 0..=inner {
                    let edge = place < inner && is_edge(line, place);
                    match (edge, begin) {
                        (true, None) => begin = Some(place),
                        (false, Some(from)) => {
                            pieces.push(piece(line, from, place));
                            begin = None;
                        }
                        _ => {}
                    }
                }
            }
        };
        along(height, width, &|y, x| self.is_inside(x, y) != self.is_inside(x, y - 1), &|y, from, to| {
            format!("M{from} {y}H{to}")
        });
        along(width, height, &|x, y| self.is_inside(x, y) != self.is_inside(x - 1, y), &|x, from, to| {
            format!("M{x} {from}V{to}")
        });
        (pieces.len() <= MOST_LINES).then(|| pieces.concat())
    }

    /// The middle of the longest run of cells inside: there its number has most room.
    fn middle(&self) -> Option<(f64, f64)> {
        let mut best: Option<(u32, f64, f64)> = None;
        for y in 0..self.height {
            let mut from = None;
            for x in 0..=self.width {
                let inside = self.is_inside(i64::from(x), i64::from(y));
                match (inside, from) {
                    (true, None) => from = Some(x),
                    (false, Some(begin)) => {
                        let long = x - begin;
                        if best.is_none_or(|(most, ..)| long > most) {
                            best = Some((long, f64::from(begin + x) / 2.0, f64::from(y) + 0.5));
                        }
                        from = None;
                    }
                    _ => {}
                }
            }
        }
        best.map(|(_, x, y)| (x, y))
    }
}

/// The drawing; nothing without maps.
pub(super) fn drawing(page: &mut Page, study: &Study, regions: &[RegionSummary]) -> Result<(), Fault> {
    let grid = study.grid();
    let longer = grid.width.max(grid.height);
    if longer == 0 {
        return Ok(());
    }
    let scaled =
        |side: u32| (u64::from(side) * u64::from(longer.min(CELLS))).div_ceil(u64::from(longer)) as u32;
    let (width, height) = (scaled(grid.width), scaled(grid.height));
    // Pixels of the scan need not be square.
    let down = f64::from(height) * grid.pixel_aspect;
    let view = format!("-1 -1 {} {}", width + 2, down + 2.0);
    let words = "Outlines of the regions on the scan, with the numbers of the table below.";
    page.open("figure", &[]);
    page.open("svg", &[("viewBox", &view), ("class", "outlines"), ("role", "img"), ("aria-label", words)]);
    let (wide, high) = (width.to_string(), down.to_string());
    page.open("rect", &[("x", "0"), ("y", "0"), ("width", &wide), ("height", &high), ("class", "field")])
        .close();
    let stretched = format!("scale(1 {})", grid.pixel_aspect);
    let mut numbers = Vec::new();
    for (place, region) in regions.iter().enumerate() {
        let (_, mask) = study.region(&region.id)?;
        if (mask.width(), mask.height()) != (grid.width, grid.height) {
            continue;
        }
        let cells = Cells::of(mask, width, height);
        if let Some(path) = cells.path().filter(|path| !path.is_empty()) {
            let class = if path.matches('M').count() > MANY_LINES { "fine" } else { "" };
            page.open("path", &[("d", &path), ("transform", &stretched), ("class", class)]).close();
        }
        numbers.extend(cells.middle().map(|at| (place + 1, at)));
    }
    for (number, (x, y)) in numbers {
        let (x, y) = (format!("{x:.1}"), format!("{:.1}", y * grid.pixel_aspect + 2.4));
        page.put("text", &[("x", &x), ("y", &y)], &number.to_string());
    }
    page.close().close();
    Ok(())
}
