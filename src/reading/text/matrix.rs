//! A matrix: one line of the map a line, perhaps with positions in the first line or column.

use super::lattice;
use super::lines::Record;
use super::number::Mark;
use super::survey::{Survey, is_monotone};
use super::titles::{self, Unit};
use crate::element::{Guess, guess_line};
use crate::geometry::Step;
use crate::grid::{Grid, Samples, try_vec};
use crate::notice::{Finding, TableFinding};
use crate::reading::{MOST_PIXELS, Page, check_size};
use std::rc::Rc;

/// What of a matrix is positions and left out of the map.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Axes {
    pub(super) row: bool,
    pub(super) column: bool,
}

impl Axes {
    const NONE: Axes = Axes { row: false, column: false };

    /// The stable word in the key of a way.
    pub(super) fn key(self) -> &'static str {
        match (self.row, self.column) {
            (false, false) => "all_values",
            (true, false) => "without_first_line",
            (false, true) => "without_first_column",
            (true, true) => "without_axes",
        }
    }

    /// What is left out, as the end of a sentence.
    pub(super) fn text(self) -> &'static str {
        match (self.row, self.column) {
            (false, false) => "",
            (true, false) => ", the first line taken as positions",
            (false, true) => ", the first column taken as positions",
            (true, true) => ", the first line and the first column taken as positions",
        }
    }
}

/// A matrix as it stands in the text.
#[derive(Debug, Clone)]
pub(super) struct Matrix {
    values: Grid<f64>,
    cut: Option<Finding>,
}

/// Every line of numbers.
///
/// # Errors
/// A line of another length, what is no number, too many pixels.
pub(super) fn read(text: &str, survey: &Survey<'_>) -> Result<Matrix, Finding> {
    let width = survey.width as u64;
    let most_lines = survey.most_lines(text);
    let mut data: Vec<f64> = try_vec(most_lines.saturating_mul(width).min(MOST_PIXELS))?;
    let mut rows = survey.rows();
    let mut row = Vec::new();
    let mut height: u64 = 0;
    while rows.next_row(&mut row, usize::MAX)?.is_some() {
        height += 1;
        if height * width > MOST_PIXELS {
            check_size(width, most_lines)?;
            return Err(Finding::TooLarge { width, height, limit: MOST_PIXELS });
        }
        data.extend_from_slice(&row);
    }
    data.shrink_to_fit();
    let (width, height) = check_size(width, height)?;
    let values = Grid::from_vec(width, height, data).ok_or(Finding::UnknownFormat)?;
    Ok(Matrix { values, cut: rows.cut() })
}

/// True for numbers that go on evenly, to a tenth of their step.
fn is_even(values: &[f64]) -> bool {
    let (Some(first), Some(last)) = (values.first(), values.last()) else { return false };
    let step = (last - first) / (values.len() as f64 - 1.0);
    values.windows(2).all(|pair| (pair[1] - pair[0] - step).abs() <= 0.1 * step.abs())
}

/// True for numbers that could be positions: they rise or fall all along, and are so many or so even that values of a
/// map hardly ever are. Eight values in random order do so once in 20 000 times, three once in 3.
fn could_be_axis(values: &[f64]) -> bool {
    is_monotone(values) && (values.len() >= 8 || (values.len() >= 4 && is_even(values)))
}

impl Matrix {
    fn column(&self, from: u32) -> Vec<f64> {
        (from..self.values.height()).filter_map(|y| self.values.get(0, y)).copied().collect()
    }

    /// What could be axes, the likeliest first; one entry where nothing needs to be asked.
    pub(super) fn axes(&self, survey: &Survey<'_>) -> Vec<Axes> {
        let (width, height) = (self.values.width(), self.values.height());
        let (row_only, column_only) = (Axes { row: true, column: false }, Axes { row: false, column: true });
        let both = Axes { row: true, column: true };
        if width < 2 {
            return vec![Axes::NONE];
        }
        if let Some((title, values)) = &survey.corner {
            // The first line is a header already; only the first column is in question.
            let column = self.column(0);
            let names_axis = is_corner_of_axes(title);
            return match (is_monotone(values), column.len() == 1 || is_monotone(&column)) {
                (true, true) => vec![Axes::NONE.with_column()],
                (false, true) if names_axis => vec![column_only],
                (false, true) if could_be_axis(&column) => vec![column_only, Axes::NONE],
                _ => vec![Axes::NONE],
            };
        }
        let first = self.values.row(0);
        if let Some(titles) = &survey.titles {
            let column = self.column(0);
            let is_index = titles.name(0).is_empty() || titles::position(titles.name(0)).is_some();
            let rest_is_titled = titles.names.iter().skip(1).all(|name| !name.is_empty());
            return match could_be_axis(&column) || (is_index && is_monotone(&column)) {
                true if is_index && rest_is_titled => vec![column_only],
                true if width > 2 || height > 2 => vec![column_only, Axes::NONE],
                _ => vec![Axes::NONE],
            };
        }
        if height < 2 {
            return vec![Axes::NONE];
        }
        let (row, column) = (&first[1..], &self.column(1)[..]);
        if first[0].is_nan() && is_monotone(row) && is_monotone(column) {
            return vec![both];
        }
        let mut out = Vec::new();
        if could_be_axis(row) && could_be_axis(column) {
            out.push(both);
        }
        // A blank corner is no position.
        let start = u32::from(first[0].is_nan());
        if could_be_axis(&first[start as usize..]) {
            out.push(row_only);
        }
        if could_be_axis(&self.column(start)) {
            out.push(column_only);
        }
        out.push(Axes::NONE);
        out
    }

    /// Size without the axes.
    pub(super) fn size(&self, axes: Axes) -> (u32, u32) {
        (self.values.width() - u32::from(axes.column), self.values.height() - u32::from(axes.row))
    }

    /// The first values of the first lines.
    pub(super) fn sample(&self, axes: Axes) -> String {
        let lines: Vec<String> = (u32::from(axes.row)..self.values.height())
            .take(2)
            .map(|y| super::first_values(self.values.row(y).iter().skip(usize::from(axes.column)).copied()))
            .collect();
        lines.join(" / ")
    }

    /// The map, with what should be known about it.
    ///
    /// # Errors
    /// When memory runs out.
    pub(super) fn page(
        self: Rc<Self>,
        survey: &Survey<'_>,
        axes: Axes,
    ) -> Result<(Page, Vec<Finding>), Finding> {
        let mut findings: Vec<Finding> = self.cut.clone().into_iter().collect();
        if survey.spare > 1 {
            findings.push(Finding::Table(TableFinding::EmptyColumns { columns: survey.spare as u64 }));
        }
        let row_values: Vec<f64> = match (&survey.corner, axes.row) {
            (Some((_, values)), _) => values.clone(),
            (None, true) => self.values.row(0)[usize::from(axes.column)..].to_vec(),
            _ => Vec::new(),
        };
        let has_row = axes.row || (survey.corner.is_some() && is_monotone(&row_values));
        let column_values = if axes.column { self.column(u32::from(axes.row)) } else { Vec::new() };
        let mut step = None;
        if has_row || axes.column {
            let is_y_upward = column_values.len() > 1 && column_values[0] > column_values[1];
            findings.push(Finding::Table(TableFinding::AxesLeftOut {
                row: has_row,
                column: axes.column,
                is_y_upward,
            }));
            let unit = survey.corner.as_ref().map_or(Unit::Unknown, |(title, _)| titles::unit(title));
            step = step_of(&row_values, &column_values, unit, &mut findings);
        }
        let page = Page {
            number: 0,
            title: title(survey),
            samples: self.cropped(axes)?,
            step,
            entry: String::new(),
        };
        Ok((page, findings))
    }

    /// A map one pixel wide for each column.
    ///
    /// # Errors
    /// More columns than can be meant as maps; when memory runs out.
    pub(super) fn columns(&self, survey: &Survey<'_>) -> Result<(Vec<Page>, Vec<Finding>), Finding> {
        let (width, height) = (self.values.width(), self.values.height());
        let limit = super::pixels::MOST_COLUMNS as u64;
        if u64::from(width) > limit {
            return Err(Finding::Table(TableFinding::TooManyColumns { columns: u64::from(width), limit }));
        }
        let mut pages = Vec::new();
        for column in 0..width {
            let mut data = try_vec(u64::from(height))?;
            data.extend(self.values.rows().map(|row| row[column as usize]));
            let grid = Grid::from_vec(1, height, data).ok_or(Finding::UnknownFormat)?;
            let title = survey.titles.as_ref().map_or("", |titles| titles.name(column as usize)).to_owned();
            pages.push(Page {
                number: column,
                title,
                samples: Samples::F64(grid),
                step: None,
                entry: String::new(),
            });
        }
        Ok((pages, self.cut.clone().into_iter().collect()))
    }

    fn cropped(self: Rc<Self>, axes: Axes) -> Result<Samples, Finding> {
        let (width, height) = self.size(axes);
        if axes == Axes::NONE {
            // The last way that holds the matrix gives it away.
            let values = match Rc::try_unwrap(self) {
                Ok(matrix) => matrix.values,
                Err(shared) => shared.values.clone(),
            };
            return Ok(Samples::F64(values));
        }
        let mut data = try_vec(u64::from(width) * u64::from(height))?;
        for row in self.values.rows().skip(usize::from(axes.row)) {
            data.extend_from_slice(&row[usize::from(axes.column)..]);
        }
        Grid::from_vec(width, height, data).map(Samples::F64).ok_or(Finding::UnknownFormat)
    }
}

impl Axes {
    fn with_column(self) -> Self {
        Self { column: true, ..self }
    }
}

/// "x", "y/x", "y \ x [mm]", "mm": what stands in the corner between two axes.
fn is_corner_of_axes(title: &str) -> bool {
    let is_unit = titles::unit(title) != Unit::Unknown;
    let mut sides = title.split(['/', '\\', '|']).map(str::trim);
    is_unit || sides.all(|side| titles::position(side).is_some())
}

/// The step that two even axes give, where their unit is known.
fn step_of(row: &[f64], column: &[f64], unit: Unit, findings: &mut Vec<Finding>) -> Option<Step> {
    let step = |values: &[f64]| -> Option<f64> {
        let mut sorted = values.to_vec();
        sorted.sort_unstable_by(f64::total_cmp);
        let found = lattice::lattices(&sorted).into_iter().next()?;
        (is_even(values) && found.step > 0.0).then_some(found.step)
    };
    let (x, y) = (step(row)?, step(column)?);
    match unit {
        Unit::Micrometres(scale) => Step::new(super::rounded(x * scale), super::rounded(y * scale)),
        Unit::Pixels => None,
        Unit::Unknown => {
            let (x, y) = (super::rounded(x), super::rounded(y));
            // Numbers of columns and lines are no lengths.
            if x != 1.0 || y != 1.0 {
                findings.push(Finding::Table(TableFinding::NoUnit { x, y }));
            }
            None
        }
    }
}

/// The one line above the numbers that names an element line, as the title of the map; empty where there is none or
/// several.
fn title(survey: &Survey<'_>) -> String {
    if let Some((corner, _)) =
        survey.corner.as_ref().filter(|(corner, _)| matches!(guess_line(corner), Guess::Line(_)))
    {
        return corner.clone();
    }
    let separator = survey.manner.separator;
    let named = survey.header.iter().filter(|line| {
        // A line of titles names columns.
        let record = Record { line: 0, start: 0, text: line };
        let titles = record.fields(separator).filter(|field| !field.is_empty()).count();
        (titles == 1 || titles != survey.width)
            && line.len() <= 80
            && matches!(guess_line(line), Guess::Line(read) if read.family.is_some())
    });
    let named: Vec<&&str> = named.collect();
    match named.as_slice() {
        [one] => one
            .trim_matches(|letter: char| matches!(letter, ';' | ',' | '"') || letter.is_whitespace())
            .to_owned(),
        _ => String::new(),
    }
}

/// The sign before decimals, as a part of a sentence.
pub(super) fn decimals_text(survey: &Survey<'_>) -> &'static str {
    match survey.manner.mark {
        Mark::Point => "decimal points",
        Mark::Comma => "decimal commas",
    }
}

/// How the numbers of a survey are told apart, as a part of a sentence.
pub(super) fn manner_text(survey: &Survey<'_>) -> String {
    let decimals = decimals_text(survey);
    match survey.width {
        0 | 1 => format!("one column with {decimals}"),
        _ => format!("columns separated by {} with {decimals}", survey.manner.separator.name()),
    }
}
