//! Delimited text: matrices, tables with one line a pixel, and lists of names.
//!
//! Which sign separates values, which one marks decimals, and whether a column holds positions is not stated in such
//! files. So each manner is tried on the first lines, those that fit read all, and where two give different maps and
//! nothing decides, the user is asked. Positions are never told from values by their size.

mod columns;
mod decode;
mod lattice;
mod lines;
mod matrix;
mod names;
mod number;
mod pixels;
mod rows;
mod survey;
mod titles;

pub(super) use columns::{Columns, read as columns};

use super::{Content, Reading, Way};
use crate::notice::{Finding, TableFinding};
use lines::Separator;
use matrix::{Axes, Matrix};
use number::Mark;
use pixels::{Fast, Placed};
use std::rc::Rc;
use survey::{Manner, Survey};

/// One way to read a text, as far as it had to be read to know that it is one.
enum Candidate {
    Matrix {
        matrix: Rc<Matrix>,
        axes: Axes,
    },
    /// Each column a map one pixel wide.
    Columns(Rc<Matrix>),
    Pixels {
        placed: Placed,
        order: Order,
    },
}

/// How the columns of positions were told apart.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Order {
    Named,
    FirstIsX,
    FirstIsY,
}

/// Reads delimited text.
///
/// # Errors
/// One sentence with the number of the line; [`Finding::UnknownFormat`] for what is no table of numbers.
pub(super) fn read(bytes: &[u8], way: Option<&str>) -> Result<Reading, Finding> {
    let text = decode::decode(bytes)?;
    let text: &str = &text;
    // Other sorts of text that hold numbers: JSON, XML, HTML.
    if text.trim_start().starts_with(['{', '<']) {
        return Err(Finding::UnknownFormat);
    }
    if let Some(names) = names::read(text) {
        return Ok(Reading { content: Content::Names(names), findings: Vec::new() });
    }
    let (likely, unlikely, other) = surveys(text);
    // What is wrong with a manner in which the first lines are a table says more than what is wrong with the others.
    let mut failure = None;
    let count = likely.len();
    let mut ways: Vec<Way> = Vec::new();
    let mut first: Option<(Candidate, Survey<'_>)> = None;
    for (number, survey) in likely.into_iter().chain(unlikely).enumerate() {
        // What is unlikely is tried where a line farther down contradicts all that is likely.
        if number >= count && first.is_some() {
            break;
        }
        let (candidates, survey) = match candidates(text, survey) {
            Ok(found) => found,
            Err(finding) => {
                failure = failure.or(Some(finding));
                continue;
            }
        };
        for candidate in candidates {
            let made = candidate.way(&survey);
            if way == Some(made.key.as_str()) {
                return candidate.into_reading(survey);
            }
            ways.push(made);
            if first.is_none() {
                first = Some((candidate, survey.clone()));
            }
        }
    }
    match first {
        None => Err(failure.or(other).unwrap_or(Finding::UnknownFormat)),
        Some((candidate, survey)) if ways.len() == 1 => candidate.into_reading(survey),
        Some(_) => {
            Ok(Reading { content: Content::Ask { question: question(&ways), ways }, findings: Vec::new() })
        }
    }
}

/// Every manner in which the first lines are a table and that could be meant, and what is wrong with the best of the
/// others. The second list is of manners that would only be meant if no line farther down spoke against them.
fn surveys(text: &str) -> (Vec<Survey<'_>>, Vec<Survey<'_>>, Option<Finding>) {
    let mut out: Vec<Survey<'_>> = Vec::new();
    let mut failure: Option<survey::Failure> = None;
    let has_quotes = text.contains('"');
    for separator in Separator::ALL {
        for mark in [Mark::Point, Mark::Comma] {
            // Without a comma both marks read the same but for points between thousands.
            if separator == Separator::Comma && mark == Mark::Comma && !has_quotes {
                continue;
            }
            match Survey::of(text, Manner { separator, mark }) {
                Ok(survey) if out.iter().all(|other| !is_same(other, &survey)) => out.push(survey),
                Ok(_) => {}
                Err(failed) => {
                    if failed.fields > failure.as_ref().map_or(1, |most| most.fields) {
                        failure = Some(failed);
                    }
                }
            }
        }
    }
    prefer(&mut out);
    let unlikely = thousands(&mut out);
    (out, unlikely, failure.map(|failed| failed.finding))
}

/// True for two manners that read the same.
fn is_same(a: &Survey<'_>, b: &Survey<'_>) -> bool {
    let same_values = || a.sample.iter().zip(&b.sample).all(|(x, y)| x.to_bits() == y.to_bits() || x == y);
    a.width == b.width && a.sample.len() == b.sample.len() && a.places == b.places && same_values()
}

/// Leaves out manners that nobody can have meant.
fn prefer(surveys: &mut Vec<Survey<'_>>) {
    let any = |surveys: &[Survey<'_>], is: &dyn Fn(&Survey<'_>) -> bool| surveys.iter().any(is);
    if any(surveys, &|survey| !survey.places.is_empty()) {
        surveys.retain(|survey| !survey.places.is_empty());
    }
    // What is a line of numbers in one manner was no header.
    if let Some(start) = surveys.iter().map(Survey::first_line).min() {
        surveys.retain(|survey| survey.first_line() == start);
    }
    // Blanks pad what tabs, or semicolons, separate.
    if any(surveys, &|survey| survey.manner.separator == Separator::Tab && survey.width > 1) {
        surveys.retain(|survey| survey.manner.separator != Separator::Blanks);
    }
    // One column is what every wrong separator makes of a table: it counts only where nothing else does, or where its
    // decimal commas compete with commas that separate two columns.
    if any(surveys, &|survey| survey.width > 1) {
        surveys.retain(|survey| {
            survey.width > 1 || (survey.manner.mark == Mark::Comma && survey.marks().points == 0)
        });
    }
}

/// Takes out manners in which the only mark groups thousands: "1.234" and "1,234" throughout are decimals, unless
/// something speaks for thousands.
fn thousands<'a>(surveys: &mut Vec<Survey<'a>>) -> Vec<Survey<'a>> {
    let mut out = Vec::new();
    for separator in Separator::ALL {
        let pair = |mark: Mark| surveys.iter().position(|survey| survey.manner == Manner { separator, mark });
        let (Some(point), Some(comma)) = (pair(Mark::Point), pair(Mark::Comma)) else { continue };
        let marks = surveys[point].marks();
        let is_one_column = surveys[point].width == 1 && surveys.len() > 2;
        let unlikely = match (marks.points > 0, marks.commas > 0) {
            _ if (marks.is_mixed && !is_one_column) || separator == Separator::Comma => continue,
            (true, false) => comma,
            (false, true) => point,
            _ => continue,
        };
        out.push(surveys.remove(unlikely));
    }
    out
}

/// The ways to read a text in one manner, and the survey as it was when all of the text had been read.
fn candidates<'a>(text: &'a str, mut survey: Survey<'a>) -> Result<(Vec<Candidate>, Survey<'a>), Finding> {
    match shapes(text, &survey) {
        // Columns at the right end that were empty in the first lines are not so farther down.
        Err(Finding::Ragged { .. } | Finding::NotANumber { .. }) if survey.widen() => {
            let found = shapes(text, &survey)?;
            Ok((found, survey))
        }
        other => other.map(|found| (found, survey)),
    }
}

fn shapes(text: &str, survey: &Survey<'_>) -> Result<Vec<Candidate>, Finding> {
    if !survey.places.is_empty() {
        let mut failure = Finding::UnknownFormat;
        for (number, &places) in survey.places.iter().enumerate() {
            match pixels::place(text, survey, places) {
                Ok(placed) => return Ok(vec![Candidate::Pixels { placed, order: Order::Named }]),
                Err(finding) if number == 0 => failure = finding,
                Err(_) => {}
            }
        }
        return Err(failure);
    }
    let mut out = Vec::new();
    let placed = pixels::likely_places(survey).and_then(|places| pixels::place(text, survey, places).ok());
    if let Some(placed) = placed.filter(Placed::is_likely) {
        let is_sure = placed.is_sure();
        // Where x runs fastest, the usual order of columns and the usual way to scan agree.
        if placed.fast != Fast::X {
            let turned = placed.turned()?;
            out.push(Candidate::Pixels { placed: turned, order: Order::FirstIsY });
        }
        out.insert(0, Candidate::Pixels { placed, order: Order::FirstIsX });
        if is_sure {
            return Ok(out);
        }
    }
    let matrix = Rc::new(matrix::read(text, survey)?);
    let (width, height) = matrix.size(Axes { row: false, column: false });
    if width == 1 && height == 1 && !survey.header.is_empty() {
        // A number in a page of words.
        return Err(Finding::UnknownFormat);
    }
    let lines = survey.titles.as_ref().map_or(0, |titles| titles.lines());
    if survey.width > 1 && lines > 0 && lines * 2 >= survey.width && out.is_empty() {
        return Ok(vec![
            Candidate::Columns(Rc::clone(&matrix)),
            Candidate::Matrix { matrix, axes: Axes { row: false, column: false } },
        ]);
    }
    for axes in matrix.axes(survey) {
        out.push(Candidate::Matrix { matrix: Rc::clone(&matrix), axes });
    }
    Ok(out)
}

impl Candidate {
    /// What the user is shown of it. The key says all that was decided: separator, decimals, and what the lines are.
    fn way(&self, survey: &Survey<'_>) -> Way {
        let Manner { separator, mark } = survey.manner;
        let (shape, what, sample) = match self {
            Candidate::Matrix { matrix, axes } => {
                let (width, height) = matrix.size(*axes);
                let manner = matrix::manner_text(survey);
                let text = format!("a map of {width} × {height} pixels, {manner}{}", axes.text());
                (axes.key(), text, matrix.sample(*axes))
            }
            Candidate::Columns(matrix) => {
                let (width, height) = matrix.size(Axes { row: false, column: false });
                let text = format!("{width} maps of 1 × {height} pixels, one for each column");
                ("columns_are_maps", text, matrix.sample(Axes { row: false, column: false }))
            }
            Candidate::Pixels { placed, order } => {
                let (width, height) = placed.size();
                let maps = placed.columns(survey).len();
                let what = match maps {
                    1 => format!("a map of {width} × {height} pixels"),
                    _ => format!("{maps} maps of {width} × {height} pixels"),
                };
                let (key, order) = match order {
                    Order::Named | Order::FirstIsX => ("x_y_values", "x, y, value"),
                    Order::FirstIsY => ("y_x_values", "y, x, value"),
                };
                let decimals = matrix::decimals_text(survey);
                (key, format!("{what} from lines of {order}, with {decimals}"), placed.sample(survey))
            }
        };
        let decimals = match mark {
            Mark::Point => "decimal_point",
            Mark::Comma => "decimal_comma",
        };
        let separator = if survey.width == 1 { "line" } else { separator.key() };
        Way { key: format!("{separator}.{decimals}.{shape}"), text: what, sample }
    }

    fn into_reading(self, survey: Survey<'_>) -> Result<Reading, Finding> {
        let (pages, mut findings) = match self {
            Candidate::Matrix { matrix, axes } => {
                let (page, findings) = matrix.page(&survey, axes)?;
                (vec![page], findings)
            }
            Candidate::Columns(matrix) => matrix.columns(&survey)?,
            Candidate::Pixels { placed, order } => {
                let (pages, mut findings) = placed.into_pages(&survey)?;
                if order == Order::FirstIsX {
                    findings.push(Finding::Table(TableFinding::FirstColumnIsX));
                }
                (pages, findings)
            }
        };
        findings.extend(three_digits(&survey));
        Ok(Reading { content: Content::Maps(pages), findings })
    }
}

/// Says that marks were taken for decimals where they could group thousands.
fn three_digits(survey: &Survey<'_>) -> Option<Finding> {
    let other = match survey.manner.mark {
        Mark::Point => Mark::Comma,
        Mark::Comma => Mark::Point,
    };
    let mark = char::from(survey.manner.mark.byte());
    let marks = survey.marks();
    let is_marked = (if mark == '.' { marks.points } else { marks.commas }) > 0;
    let reads_too = || survey.reads_with(other);
    (is_marked && reads_too()).then_some(Finding::Table(TableFinding::ThreeDigits { mark }))
}

/// The question that the ways answer.
fn question(ways: &[Way]) -> String {
    let differs = |part: usize| {
        let mut parts = ways.iter().filter_map(|way| way.key.split('.').nth(part));
        let first = parts.next();
        parts.any(|other| Some(other) != first)
    };
    let shape = ways.iter().any(|way| way.key.ends_with("values") && !way.key.ends_with("all_values"));
    let text = match (differs(0) || differs(1), differs(2)) {
        (true, false) => {
            "The signs between and within the numbers can be read in several ways. Which one is meant?"
        }
        (false, true) if shape => {
            "Its first columns could be positions of pixels or values of a map. Which one is meant?"
        }
        (false, true) if ways.iter().any(|way| way.key.ends_with("columns_are_maps")) => {
            "The columns are named as element lines, but none says where a pixel lies. What is meant?"
        }
        (false, true) => {
            "Its first line or column could be positions or values of the map. Which one is meant?"
        }
        _ => "The table can be read in several ways. Which one is meant?",
    };
    text.to_owned()
}

/// The first few values, as they were read.
fn first_values(values: impl Iterator<Item = f64>) -> String {
    let mut out: Vec<String> = Vec::new();
    for value in values.take(6) {
        out.push(match out.len() {
            5 => "…".to_owned(),
            _ if value.is_nan() => "blank".to_owned(),
            _ => value.to_string(),
        });
    }
    out.join("  ")
}

/// A step without the last digits that reading decimals adds: nine digits are kept.
fn rounded(value: f64) -> f64 {
    format!("{value:.8e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests;
