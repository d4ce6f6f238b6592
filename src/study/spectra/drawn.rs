//! A spectrum as a drawing, with the places where lines of chosen elements would be.

use super::{HeldSpectrum, SpectrumHow, SpectrumView};
use crate::ask::{LineMark, Plot, PlotAxis, Tick};
use crate::display::{Axis, Scale};
use crate::element::{Element, Family, Line, Member};
use crate::notice::Fault;
use crate::numerics::figure::{THIN_SPACE, count, figure, rounded};
use crate::numerics::math::log10;
use crate::physics;
use crate::study::Study;

/// More points than this nobody can see beside each other; then one stands for several channels.
const MOST_POINTS: usize = 2_048;
/// Labels nearer than this share of the axis would write over each other.
const ROOM: f64 = 0.05;
/// More elements than this would hide the spectrum.
const MOST_ELEMENTS: usize = 20;

impl Study {
    /// A spectrum as a drawing.
    ///
    /// # Errors
    /// There is none of this id; something that is no element; limits between which there is no channel.
    pub fn spectrum(&self, id: &str, view: &SpectrumView) -> Result<Plot, Fault> {
        let held = self.find_spectrum(id)?;
        let elements = elements_of(&view.elements)?;
        let (low, high) = limits(held, view)?;
        let x = Axis::new(Scale::Linear, low, high);
        let inside = channels_within(held, (low, high));
        let shown: Vec<f64> = inside.iter().map(|(_, counts)| *counts).collect();
        let top = shown.iter().copied().fold(0.0, f64::max);
        if inside.len() < 2 || top <= 0.0 {
            return Err(Fault::bad_setting(format!(
                "The spectrum has no counts between {} and {}{THIN_SPACE}keV.",
                figure(low),
                figure(high)
            )));
        }
        let y = counts_axis(&shown, top);
        let each = inside.len().div_ceil(MOST_POINTS);
        let points: Vec<[f64; 2]> = inside
            .chunks(each)
            .filter_map(|part| part.iter().copied().max_by(|a, b| a.1.total_cmp(&b.1)))
            .map(|(kev, counts)| [x.place(kev), y.place(counts)])
            .collect();
        let marks =
            in_rows(elements.iter().flat_map(|&element| self.marks_of(element, (low, high), &x)).collect());
        let record = &held.record;
        let words = self.spectrum_words(record);
        let mut note = format!(
            "{words}, from {} to {}{THIN_SPACE}keV; the largest channel has {} counts.",
            rounded(low, 3),
            rounded(high, 4),
            count(top)
        );
        if each > 1 {
            note.push_str(&format!(" Each point is the largest of {each} channels beside each other."));
        }
        if record.how == SpectrumHow::MaximumPixel {
            note.push_str(
                " Channels may be of different pixels, so their heights are no spectrum of one paint.",
            );
        }
        if !marks.is_empty() {
            note.push_str(
                " Marks say where lines of these elements lie, not that they were found: lines of several elements can be one peak.",
            );
        }
        Ok(Plot::Spectrum {
            key: super::id_of(record.number),
            label: record.name.clone(),
            x: plot_axis(&x, "energy, keV"),
            y: plot_axis(
                &y,
                &format!("counts, {}", if record.how == SpectrumHow::Sum { "sum" } else { "maximum pixel" }),
            ),
            points,
            marks,
            note,
        })
    }

    /// Lines of an element within limits, each with its share of the strongest of its family.
    fn marks_of(&self, element: Element, (low, high): (f64, f64), x: &Axis) -> Vec<LineMark> {
        let kv = self.scan().kv;
        let inside = |(_, kev): &(Line, f64)| (low..=high).contains(kev);
        lines_of(element)
            .into_iter()
            .filter(inside)
            .map(|(line, kev)| {
                let label = line.to_string();
                let excited = kv.is_none_or(|kv| kev < kv);
                let text = format!("{label}, {}{THIN_SPACE}keV", rounded(kev, 4));
                let text = match (excited, kv) {
                    (false, Some(kv)) => format!("{text}, not excited at {}{THIN_SPACE}kV", figure(kv)),
                    _ => text,
                };
                LineMark {
                    element: element.symbol().into(),
                    label,
                    at: x.place(kev),
                    row: 0,
                    is_excited: excited,
                    text,
                }
            })
            .collect()
    }
}

/// From left to right, each label in the first row in which it has room.
fn in_rows(mut marks: Vec<LineMark>) -> Vec<LineMark> {
    marks.sort_by(|a, b| a.at.total_cmp(&b.at).then_with(|| a.label.cmp(&b.label)));
    let mut ends: Vec<f64> = Vec::new();
    for mark in &mut marks {
        let row = ends.iter().position(|end| mark.at - end >= ROOM).unwrap_or(ends.len());
        match ends.get_mut(row) {
            Some(end) => *end = mark.at,
            None => ends.push(mark.at),
        }
        mark.row = row as u32;
    }
    marks
}

/// The lines of an element whose energies are known, in keV.
fn lines_of(element: Element) -> Vec<(Line, f64)> {
    let mut out = Vec::new();
    for family in [Family::K, Family::L, Family::M] {
        for member in [Member::Alpha, Member::Beta, Member::Gamma] {
            let line = Line { element, family: Some(family), member: Some(member) };
            out.extend(physics::energy_kev(line).map(|kev| (line, kev)));
        }
    }
    out
}

fn elements_of(symbols: &[String]) -> Result<Vec<Element>, Fault> {
    let mut out: Vec<Element> = Vec::new();
    for symbol in symbols.iter().map(|symbol| symbol.trim()).filter(|symbol| !symbol.is_empty()) {
        let element = Line::parse_typed(symbol).filter(|line| line.family.is_none()).map(|line| line.element);
        let element = element.ok_or_else(|| {
            let shown: String = symbol.chars().take(40).collect();
            Fault::bad_setting(format!("“{shown}” is no element. Write it as a symbol, for example Pb."))
        })?;
        if !out.contains(&element) {
            out.push(element);
        }
    }
    if out.len() > MOST_ELEMENTS {
        return Err(Fault::bad_setting(format!(
            "Lines of at most {MOST_ELEMENTS} elements are marked at once."
        )));
    }
    Ok(out)
}

/// From where to where it is drawn, in keV.
fn limits(held: &HeldSpectrum, view: &SpectrumView) -> Result<(f64, f64), Fault> {
    let low = view.low_kev.unwrap_or_else(|| held.record.first_kev.max(0.0));
    let high = view.high_kev.unwrap_or_else(|| held.last_kev());
    let is_sound = low.is_finite() && high.is_finite() && low < high && high - low >= held.record.step_kev;
    if is_sound {
        return Ok((low, high));
    }
    Err(Fault::bad_setting(
        "A spectrum is drawn from a lower to a higher energy: `low_kev` must be below `high_kev`.",
    ))
}

/// Energies and counts of the channels whose middle is within limits.
fn channels_within(held: &HeldSpectrum, (low, high): (f64, f64)) -> Vec<(f64, f64)> {
    let kev = |i: usize| held.record.first_kev + held.record.step_kev * i as f64;
    let all = held.counts.iter().enumerate().map(|(i, counts)| (kev(i), *counts));
    all.filter(|(kev, _)| (low..=high).contains(kev)).collect()
}

/// A logarithmic axis: from the power of ten below the least counts, or from the first count where channels are empty.
fn counts_axis(counts: &[f64], top: f64) -> Axis {
    let least = counts.iter().copied().fold(f64::INFINITY, f64::min);
    let decade = if least > 0.0 { log10(least).floor() as i32 } else { 0 };
    let power = (0..decade.abs()).fold(1.0, |power, _| power * 10.0);
    let from = match least > 0.0 {
        true if decade < 0 => 1.0 / power,
        true => power,
        false => 0.0,
    };
    // A flat spectrum still has a height.
    Axis::new(Scale::Logarithmic, from, if from < top { top } else { top * 10.0 })
}

fn plot_axis(axis: &Axis, label: &str) -> PlotAxis {
    let ticks = axis.round_ticks().into_iter().map(|tick| Tick { at: tick.at, text: tick.text }).collect();
    PlotAxis {
        label: label.into(),
        ticks,
        low: axis.low(),
        high: axis.high(),
        scale: axis.scale().word().into(),
    }
}
