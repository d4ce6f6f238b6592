//! Tables with one line a pixel: positions in two columns (or one, for a line scan), a map in each of the others.

use super::lattice::{Lattice, best_pair, lattices};
use super::survey::{Survey, not_a_number};
use super::titles::{Places, Unit};
use crate::geometry::Step;
use crate::grid::{Grid, Samples, try_filled_vec, try_vec};
use crate::notice::{Finding, TableFinding};
use crate::reading::{Page, check_size};

/// The most columns that are read as maps.
pub(super) const MOST_COLUMNS: usize = 512;
/// A line without a position.
const NOWHERE: u32 = u32::MAX;

/// Where every line belongs.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    places: Places,
    across: Lattice,
    down: Lattice,
    width: u32,
    height: u32,
    /// Pixel of each line of numbers.
    pixels: Vec<u32>,
    /// Lines with a position.
    lines: u64,
    /// Which position changes from most lines to the next.
    pub(super) fast: Fast,
}

/// The position that changes from line to line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fast {
    X,
    Y,
    Neither,
}

fn no_grid(what: String) -> Finding {
    Finding::Table(TableFinding::NoGrid { what })
}

/// Reads the positions and finds their grid.
///
/// # Errors
/// No even grid, two lines for a pixel, too many pixels, and what a table can have wrong.
pub(super) fn place(text: &str, survey: &Survey<'_>, places: Places) -> Result<Placed, Finding> {
    let values = survey.width.saturating_sub(2);
    if values > MOST_COLUMNS {
        return Err(Finding::Table(TableFinding::TooManyColumns {
            columns: values as u64,
            limit: MOST_COLUMNS as u64,
        }));
    }
    let (xs, ys) = positions(text, survey, places)?;
    let lines = xs.iter().zip(&ys).filter(|(x, y)| !x.is_nan() && !y.is_nan()).count() as u64;
    if lines == 0 {
        return Err(Finding::Table(TableFinding::NoValues));
    }
    let (across, down) =
        (rows_of_places(&xs, "x", survey, places.x)?, rows_of_places(&ys, "y", survey, places.y)?);
    let finest = (across[0], down[0]);
    let (across, down) =
        best_pair(&across, &down, lines).ok_or_else(|| no_grid("there are no positions".into()))?;
    let (cells, needed) = (across.count as f64 * down.count as f64, lines as f64);
    if cells > 5.0 * needed + 16.0 {
        return Err(no_grid(format!(
            "{lines} lines would be scattered over {} × {} places",
            across.count, down.count
        )));
    }
    if across.count > 1 && down.count > 1 && lines <= across.count.max(down.count) {
        return Err(no_grid(format!("{lines} lines share hardly a column or a row")));
    }
    let (width, height) = check_size(across.count, down.count)?;
    let mut pixels: Vec<u32> = try_vec(xs.len() as u64)?;
    let mut taken: Vec<u32> = try_filled_vec(u64::from(width) * u64::from(height), 0)?;
    let (mut changes_x, mut changes_y, mut before) = (0_u64, 0_u64, None);
    for (line, (&x, &y)) in xs.iter().zip(&ys).enumerate() {
        if x.is_nan() || y.is_nan() {
            pixels.push(NOWHERE);
            continue;
        }
        let (column, row) = (across.index(x) as u32, down.index(y) as u32);
        let pixel = row * width + column;
        let Some(place) = taken.get_mut(pixel as usize) else { return Err(Finding::UnknownFormat) };
        if *place != 0 {
            let first = *place as usize - 1;
            // In a finer grid they would be two: then this grid is none, rather than a line too many.
            let apart = |values: &[f64], best: &Lattice, finest: &Lattice| {
                let (one, other) = (values[first], values[line]);
                finest.index(one) != finest.index(other) || (one - other).abs() > 0.1 * best.step
            };
            let is_apart = apart(&xs, &across, &finest.0) || apart(&ys, &down, &finest.1);
            return Err(duplicate(survey, *place - 1, line as u32, is_apart));
        }
        *place = line as u32 + 1;
        pixels.push(pixel);
        if let Some((x, y)) = before.replace((column, row)) {
            changes_x += u64::from(x != column);
            changes_y += u64::from(y != row);
        }
    }
    let fast = match (changes_x > 2 * changes_y, changes_y > 2 * changes_x) {
        (true, _) => Fast::X,
        (_, true) => Fast::Y,
        _ => Fast::Neither,
    };
    Ok(Placed { places, across, down, width, height, pixels, lines, fast })
}

/// Positions of every line; NaN where an empty line has none.
fn positions(text: &str, survey: &Survey<'_>, places: Places) -> Result<(Vec<f64>, Vec<f64>), Finding> {
    let (x, y) = (places.x.map(|x| x.0), places.y.map(|y| y.0));
    let most = x.max(y).map_or(1, |last| last + 1);
    let lines = survey.most_lines(text);
    let (mut xs, mut ys) = (try_vec(lines)?, try_vec(lines)?);
    let mut rows = survey.rows();
    let mut row = Vec::new();
    let of = |row: &[f64], column: Option<usize>| {
        column.map_or(0.0, |column| row.get(column).copied().unwrap_or(f64::NAN))
    };
    while rows.next_row(&mut row, most)?.is_some() {
        xs.push(of(&row, x));
        ys.push(of(&row, y));
        if xs.len() as u64 >= u64::from(NOWHERE) {
            return Err(Finding::TooLarge {
                width: xs.len() as u64,
                height: 1,
                limit: crate::reading::MOST_PIXELS,
            });
        }
    }
    Ok((xs, ys))
}

/// The even rows of places that positions could follow.
fn rows_of_places(
    positions: &[f64],
    axis: &str,
    survey: &Survey<'_>,
    column: Option<(usize, Unit)>,
) -> Result<Vec<Lattice>, Finding> {
    let mut sorted: Vec<f64> = try_vec(positions.len() as u64)?;
    let mut before = f64::NAN;
    for &position in positions {
        if position != before && !position.is_nan() {
            sorted.push(position);
        }
        before = position;
    }
    sorted.sort_unstable_by(f64::total_cmp);
    sorted.dedup();
    let found = lattices(&sorted);
    if found.is_empty() {
        let title = column
            .and_then(|(column, _)| survey.titles.as_ref().map(|titles| titles.name(column).to_owned()));
        let name = title.filter(|title| !title.is_empty()).unwrap_or_else(|| axis.to_owned());
        return Err(no_grid(format!("the {} positions in “{name}” are not evenly spaced", sorted.len())));
    }
    Ok(found)
}

/// Numbers of the lines that hold the same pixel.
fn duplicate(survey: &Survey<'_>, first: u32, second: u32, is_apart: bool) -> Finding {
    let mut rows = survey.rows();
    let (mut row, mut index, mut earlier) = (Vec::new(), 0, 0);
    while let Ok(Some(line)) = rows.next_row(&mut row, 1) {
        if index == first {
            earlier = line;
        }
        if index == second && is_apart {
            return no_grid(format!(
                "no even step gives every line a pixel of its own (lines {earlier} and {line} meet)"
            ));
        }
        if index == second {
            return Finding::Table(TableFinding::DuplicatePixel { first: earlier, second: line });
        }
        index += 1;
    }
    Finding::UnknownFormat
}

impl Placed {
    /// Width and height of the maps.
    pub(super) fn size(&self) -> (u32, u32) {
        (self.width, self.height)
    }

    /// True where positions cannot be values of a map by chance: a whole grid of some size.
    pub(super) fn is_sure(&self) -> bool {
        let cells = u64::from(self.width) * u64::from(self.height);
        let is_whole = self.lines * 10 >= cells * 9;
        self.lines >= 16 && self.width >= 3 && self.height >= 3 && is_whole
    }

    /// True where they may be positions: at least half of a grid.
    pub(super) fn is_likely(&self) -> bool {
        let cells = u64::from(self.width) * u64::from(self.height);
        self.lines >= 4 && self.width >= 2 && self.height >= 2 && self.lines * 2 >= cells
    }

    /// The same with x and y exchanged.
    pub(super) fn turned(&self) -> Result<Self, Finding> {
        let mut pixels = try_vec(self.pixels.len() as u64)?;
        let turned = |pixel: u32| pixel % self.width * self.height + pixel / self.width;
        pixels.extend(self.pixels.iter().map(|&pixel| if pixel == NOWHERE { pixel } else { turned(pixel) }));
        let fast = match self.fast {
            Fast::X => Fast::Y,
            Fast::Y => Fast::X,
            Fast::Neither => Fast::Neither,
        };
        let places = Places { x: self.places.y, y: self.places.x };
        let (across, down, width, height) = (self.down, self.across, self.height, self.width);
        Ok(Self { places, across, down, width, height, pixels, lines: self.lines, fast })
    }

    /// Columns that become maps.
    pub(super) fn columns(&self, survey: &Survey<'_>) -> Vec<usize> {
        let of = |place: Option<(usize, Unit)>| place.map(|(column, _)| column);
        let (x, y) = (of(self.places.x), of(self.places.y));
        let is_running = survey.has_running_number();
        let is_place = |column: usize| Some(column) == x || Some(column) == y || (is_running && column == 0);
        (0..survey.width).filter(|&column| !is_place(column) && !survey.words.contains(&column)).collect()
    }

    /// "x, y, value" of the first lines.
    pub(super) fn sample(&self, survey: &Survey<'_>) -> String {
        let columns = self.columns(survey);
        let lines = survey.sample.chunks_exact(survey.width.max(1)).take(3).map(|row| {
            let of = |place: Option<(usize, Unit)>| place.map_or(0.0, |(column, _)| row[column]);
            let values = super::first_values(columns.iter().map(|&column| row[column]));
            format!("x {}, y {}: {values}", of(self.places.x), of(self.places.y))
        });
        lines.collect::<Vec<_>>().join("; ")
    }

    /// Reads the values into one map a column.
    ///
    /// # Errors
    /// What a table can have wrong behind its positions; no column of numbers.
    pub(super) fn into_pages(self, survey: &Survey<'_>) -> Result<(Vec<Page>, Vec<Finding>), Finding> {
        let columns = self.columns(survey);
        if columns.is_empty() {
            return Err(Finding::Table(TableFinding::NoValues));
        }
        let cells = u64::from(self.width) * u64::from(self.height);
        let mut maps: Vec<Vec<f64>> = Vec::new();
        for _ in &columns {
            maps.push(try_filled_vec(cells, f64::NAN)?);
        }
        let mut rows = survey.rows();
        let mut row = Vec::new();
        for &pixel in &self.pixels {
            let Some(line) = rows.next_row(&mut row, usize::MAX)? else { break };
            if pixel == NOWHERE {
                // A line of empty fields is none; values without a place would be lost.
                match row.iter().position(|value| !value.is_nan()) {
                    Some(_) if !rows.is_at_cut() => {
                        return Err(not_a_number(line, self.missing_column(&row), ""));
                    }
                    _ => continue,
                }
            }
            for (map, &column) in maps.iter_mut().zip(&columns) {
                map[pixel as usize] = row[column];
            }
        }
        let mut findings = self.findings(survey);
        findings.extend(rows.cut());
        let step = self.step(&mut findings);
        let mut pages = Vec::new();
        for ((number, &column), map) in (0..).zip(&columns).zip(maps) {
            let title = match survey.titles.as_ref().map(|titles| titles.name(column)) {
                Some(name) if !name.is_empty() => name.to_owned(),
                _ if columns.len() == 1 => String::new(),
                _ => format!("column {}", column + 1),
            };
            let grid = Grid::from_vec(self.width, self.height, map).ok_or(Finding::UnknownFormat)?;
            pages.push(Page { number, title, samples: Samples::F64(grid), step, entry: String::new() });
        }
        Ok((pages, findings))
    }

    /// True for a column of positions.
    fn holds(&self, column: usize) -> bool {
        [self.places.x, self.places.y].into_iter().flatten().any(|place| place.0 == column)
    }

    fn missing_column(&self, row: &[f64]) -> usize {
        let is_missing = |place: &(usize, Unit)| row.get(place.0).is_none_or(|value| value.is_nan());
        [self.places.x, self.places.y].into_iter().flatten().find(is_missing).map_or(0, |place| place.0)
    }

    fn findings(&self, survey: &Survey<'_>) -> Vec<Finding> {
        let name = |place: Option<(usize, Unit)>, axis: &str| match (place, &survey.titles) {
            (Some((column, _)), Some(titles)) if !titles.name(column).is_empty() => {
                titles.name(column).to_owned()
            }
            (Some((column, _)), _) => format!("column {}", column + 1),
            (None, _) => axis.to_owned(),
        };
        let mut out = Vec::new();
        if self.height > 1 && self.width > 1 {
            out.push(TableFinding::Direction { x: name(self.places.x, "x"), y: name(self.places.y, "y") });
        }
        let jitter = self.across.jitter.max(self.down.jitter);
        if jitter > 0.02 {
            out.push(TableFinding::Jitter { percent: (jitter * 100.0).ceil() as u32 });
        }
        let of = u64::from(self.width) * u64::from(self.height);
        if self.lines < of {
            out.push(TableFinding::MissingPixels { missing: of - self.lines, of });
        }
        if survey.has_running_number() && !self.holds(0) {
            out.push(TableFinding::RunningNumber);
        }
        if !survey.words.is_empty() {
            let title = |&column: &usize| name(Some((column, Unit::Unknown)), "");
            out.push(TableFinding::TextColumns { titles: survey.words.iter().map(title).collect() });
        }
        out.into_iter().map(Finding::Table).collect()
    }

    /// The step of the scan, where both positions are lengths.
    fn step(&self, findings: &mut Vec<Finding>) -> Option<Step> {
        let (Some((_, unit_x)), Some((_, unit_y))) = (self.places.x, self.places.y) else { return None };
        if self.across.step <= 0.0 || self.down.step <= 0.0 {
            return None;
        }
        match (unit_x, unit_y) {
            (Unit::Micrometres(x), Unit::Micrometres(y)) => {
                Step::new(super::rounded(self.across.step * x), super::rounded(self.down.step * y))
            }
            (Unit::Pixels, Unit::Pixels) => None,
            _ => {
                let (x, y) = (super::rounded(self.across.step), super::rounded(self.down.step));
                findings.push(Finding::Table(TableFinding::NoUnit { x, y }));
                None
            }
        }
    }
}

/// Columns whose values in the first lines could be positions: the first two, or the two behind a running number.
pub(super) fn likely_places(survey: &Survey<'_>) -> Option<Places> {
    let width = survey.width;
    if width < 3 {
        return None;
    }
    let column =
        |column: usize| -> Vec<f64> { survey.sample.iter().skip(column).step_by(width).copied().collect() };
    let start = usize::from(survey.has_running_number());
    let (a, b) = (column(start), column(start + 1));
    if a.len() < 4 || a.iter().chain(&b).any(|value| value.is_nan()) {
        return None;
    }
    let is_row = |values: &[f64]| {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        sorted.dedup();
        lattices(&sorted).iter().any(|found| found.count <= 4 * values.len() as u64)
    };
    let place = |column| Some((column, Unit::Unknown));
    (is_row(&a) && is_row(&b)).then_some(Places { x: place(start), y: place(start + 1) })
}
