//! A spectrum as a drawing, with the places where lines of chosen elements would be.

use super::{HeldSpectrum, SpectrumHow, SpectrumView};
use crate::ask::{LineMark, Plot, PlotAxis, Tick};
use crate::display::{Axis, Scale};
use crate::element::{Element, Family, Line};
use crate::notice::Fault;
use crate::numerics::figure::{THIN_SPACE, count, figure, rounded};
use crate::numerics::math::log10;
use crate::physics::{self, Shell};
use crate::study::Study;

/// More points than this nobody can see beside each other; then one stands for several channels.
const MOST_POINTS: usize = 2_048;
/// Labels nearer than this share of the axis would write over each other.
const ROOM: f64 = 0.05;
/// Lines that are a smaller share of the strongest of their family are not marked.
const WEAKEST: f64 = 0.01;
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
        let mut words = self.spectrum_words(record);
        if let Some(first) = words.get_mut(..1) {
            first.make_ascii_uppercase();
        }
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
        let without: Vec<&str> = elements
            .iter()
            .map(|element| element.symbol())
            .filter(|symbol| is_unmarked(&marks, symbol))
            .collect();
        if !without.is_empty() {
            note.push_str(&format!(" No line of {} lies here.", without.join(", ")));
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

    /// Lines of an element within limits, each with how strong it is within its family.
    fn marks_of(&self, element: Element, (low, high): (f64, f64), x: &Axis) -> Vec<LineMark> {
        let kv = self.scan().kv;
        let inside = |lines: &Lines| (low..=high).contains(&lines.kev);
        lines_of(element)
            .into_iter()
            .filter(inside)
            .map(|Lines { group, shell, kev, share, .. }| {
                let label = format!("{} {group}", element.symbol());
                let edge = physics::edge_kev(element, shell);
                // Without a voltage, or an edge, nothing is said against it.
                let excited = kv.zip(edge).is_none_or(|(kv, edge)| edge < kv);
                let text = format!("{label}, {}{THIN_SPACE}keV", rounded(kev, 4));
                let text = match (excited, kv) {
                    (false, Some(kv)) => format!("{text}, not excited at {}{THIN_SPACE}kV", figure(kv)),
                    _ => text,
                };
                LineMark {
                    element: element.symbol().into(),
                    label,
                    at: x.place(kev),
                    share,
                    row: 0,
                    is_excited: excited,
                    text,
                }
            })
            .collect()
    }
}

fn is_unmarked(marks: &[LineMark], symbol: &str) -> bool {
    marks.iter().all(|mark| mark.element != symbol)
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

/// Lines of one shell that a detector does not part.
struct Lines {
    family: Family,
    group: &'static str,
    shell: Shell,
    /// Energy of the strongest of them.
    kev: f64,
    /// How strong they are beside the strongest lines of the family, roughly.
    share: f64,
}

/// The lines of an element, those that a detector does not part as one, without the weakest and those without a name of their
/// own.
///
/// How strong they are beside each other is rough, for the eye: rate within the shell x fluorescence yield x the shell's part
/// of the absorption just above its edge, 1 - 1/jump. What passes from shell to shell, the spectrum of the tube and
/// absorption on the way out are left out.
fn lines_of(element: Element) -> Vec<Lines> {
    let weight = |shell: Shell| {
        let jump = physics::jump_ratio(element, shell).filter(|jump| *jump > 1.0)?;
        Some(physics::fluorescence_yield(element, shell)?.value * (1.0 - 1.0 / jump))
    };
    let mut all: Vec<(Lines, f64)> = Vec::new();
    for emission in physics::emissions(element).iter().filter(|emission| !emission.group.contains('-')) {
        let rate = emission.rate * weight(emission.shell).unwrap_or(0.0);
        let of =
            |(lines, _): &&mut (Lines, f64)| (lines.group, lines.shell) == (emission.group, emission.shell);
        match all.iter_mut().find(of) {
            Some((lines, strongest)) => {
                lines.share += rate;
                if rate > *strongest {
                    (lines.kev, *strongest) = (emission.kev, rate);
                }
            }
            None => {
                let (family, group) = (emission.family, emission.group);
                let lines = Lines { family, group, shell: emission.shell, kev: emission.kev, share: rate };
                all.push((lines, rate));
            }
        }
    }
    let mut out: Vec<Lines> = Vec::new();
    for family in [Family::K, Family::L, Family::M] {
        let of = |lines: &&(Lines, f64)| lines.0.family == family;
        let most = all.iter().filter(of).map(|(lines, _)| lines.share).fold(0.0, f64::max);
        for (lines, _) in all.extract_if(.., |lines| lines.0.family == family) {
            let lines = Lines { share: lines.share / most, ..lines };
            let is_named = out.iter().any(|other| other.group == lines.group && other.share >= lines.share);
            if most > 0.0 && lines.share >= WEAKEST && !is_named {
                out.retain(|other| other.group != lines.group);
                out.push(lines);
            }
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
