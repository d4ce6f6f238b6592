//! What is drawn beside the answer: means with their intervals, courses along the line.

use super::judge::Judged;
use super::worded::name_of;
use crate::ask::answer::{Raster, Rasters};
use crate::ask::evidence::Evidence;
use crate::ask::plot::{Dot, Plot, PlotAxis, Series, Tick};
use crate::display::{Axis, Scale};
use crate::geometry::Step;
use crate::grid::Grid;
use crate::kind::Noise;
use crate::measure::compare::Step as ProfileStep;
use crate::notice::Fault;
use crate::numerics::figure::{THIN_SPACE, figure, rounded};

/// Name of the raster that holds the courses: a column for each step; its rows are the distance in pixels, the distance in
/// mm (NaN where the step is not known), then for every map its mean, both ends of its interval, and the area used.
pub const PROFILE: &str = "profile";
/// Values further apart than this are drawn by their square roots, so that the small ones can be seen.
const FAR_APART: f64 = 20.0;

/// An axis that holds all values, from zero where they allow it.
fn axis(values: impl Iterator<Item = f64> + Clone) -> Axis {
    let finite = values.filter(|v| v.is_finite());
    let low = finite.clone().fold(0.0, f64::min);
    let high = finite.clone().fold(low, f64::max);
    let smallest = finite.filter(|&v| v > 0.0).fold(f64::INFINITY, f64::min);
    let is_far = low >= 0.0 && smallest.is_finite() && high > FAR_APART * smallest;
    Axis::new(
        if is_far { Scale::SquareRoot } else { Scale::Linear },
        low,
        if high > low { high } else { low + 1.0 },
    )
}

fn plot_axis(label: String, axis: &Axis) -> PlotAxis {
    PlotAxis {
        label,
        ticks: axis.ticks().into_iter().map(|tick| Tick { at: tick.at, text: tick.text }).collect(),
        low: axis.low(),
        high: axis.high(),
        scale: axis.scale().word().into(),
    }
}

/// Means of every map in every region on one axis; `None` where nothing has a mean.
pub fn dots(evidence: &Evidence, found: &Judged) -> Option<Plot> {
    let mut of_all = Vec::new();
    for (side, map) in evidence.sides.iter().zip(&found.maps) {
        for (i, part) in map.parts.iter().enumerate() {
            of_all.push((format!("{}, {}", side.label(), name_of(evidence, i)), part));
        }
    }
    let values = of_all.iter().flat_map(|(_, part)| {
        let ends = [part.counting, part.all].into_iter().flatten().flat_map(|i| [i.low, i.high]);
        ends.chain(part.mean())
    });
    let axis = axis(values);
    of_all.iter().find_map(|(_, part)| part.mean())?;
    let place = |v: f64| v.is_finite().then(|| axis.place(v));
    let rows = of_all.iter().map(|(label, part)| Dot {
        label: label.clone(),
        at: part.mean().and_then(place),
        low: part.counting.and_then(|i| place(i.low)),
        high: part.counting.and_then(|i| place(i.high)),
        low_all: part.all.and_then(|i| place(i.low)),
        high_all: part.all.and_then(|i| place(i.high)),
        text: part.mean().map_or_else(|| "no value".into(), figure),
    });
    Some(Plot::Dots {
        key: "means".into(),
        label: "Mean of a pixel".into(),
        x: plot_axis(unit_of_all(evidence).unwrap_or("value of a pixel".into()), &axis),
        rows: rows.collect(),
        note: "The mean of each map in each region. The inner interval is from counting alone: how well these very pixels are known. The outer one is for another place of the same pattern, with the uncertainty of the background.".into(),
    })
}

/// The unit of a pixel's value where all maps have the same.
fn unit_of_all(evidence: &Evidence) -> Option<String> {
    let unit = evidence.sides.first()?.kind.unit();
    let is_one = !unit.is_empty() && evidence.sides.iter().all(|side| side.kind.unit() == unit);
    is_one.then(|| format!("{unit} per pixel"))
}

/// Courses of all maps along the line, and the same as numbers; `None` without a line.
pub fn courses(evidence: &Evidence, found: &Judged, rasters: &mut Rasters) -> Result<Option<Plot>, Fault> {
    let (Some(line), Some(first)) = (evidence.settings.line, found.profiles.first()) else { return Ok(None) };
    let mm = evidence.step.map(|step| mm_of_a_pixel(line.from, line.to, step));
    rasters.insert(PROFILE.into(), Raster::F64(numbers(found, first, mm)?));
    let scale = mm.unwrap_or(1.0);
    let length = super::band(&line).length().unwrap_or(0.0) * scale;
    let along = Axis::new(Scale::Linear, 0.0, length);
    let is_counts: Vec<bool> = evidence.sides.iter().map(|side| side.noise() == Noise::Counting).collect();
    let steps = || found.profiles.iter().flatten();
    let values = axis(steps().flat_map(|step| step.mean.into_iter().chain(step.counting.map(|i| i.high))));
    let mut series = Vec::new();
    for ((side, steps), &is_counts) in evidence.sides.iter().zip(&found.profiles).zip(&is_counts) {
        let end = |pick: fn(crate::numerics::counting::Interval) -> f64| {
            let ends =
                steps.iter().map(|step| step.counting.filter(|_| is_counts).map(|i| values.place(pick(i))));
            ends.collect::<Vec<_>>()
        };
        series.push(Series {
            map: side.id.to_string(),
            label: side.label(),
            points: steps
                .iter()
                .map(|step| step.mean.map(|mean| [along.place(step.at * scale), values.place(mean)]))
                .collect(),
            low: end(|i| i.low),
            high: end(|i| i.high),
        });
    }
    let of_value = unit_of_all(evidence).unwrap_or("value of a pixel".into());
    Ok(Some(Plot::Profile {
        key: PROFILE.into(),
        label: "Along the line".into(),
        x: plot_axis(if mm.is_some() { "distance (mm)" } else { "distance (pixels)" }.into(), &along),
        y: plot_axis(of_value, &values),
        series,
        note: note(evidence, found, line.width_px),
    }))
}

fn note(evidence: &Evidence, found: &Judged, width: f64) -> String {
    let steps = found.profiles.first().map_or(0, Vec::len);
    let mut out = format!(
        "Means over a band {}{THIN_SPACE}pixels wide in {steps} steps of about one pixel; a pixel counts by the area that lies in the step. The interval is from counting alone.",
        rounded(width, 3)
    );
    let outside = found.profiles.first().into_iter().flatten().filter(|step| step.area <= 0.0).count();
    if outside > 0 {
        out.push_str(&format!(" In {outside} steps the band leaves the field."));
    }
    for (side, steps) in evidence.sides.iter().zip(&found.profiles) {
        let saturated = steps.iter().filter(|step| step.saturated > 0.0).count();
        if saturated > 0 {
            out.push_str(&format!(
                " In {saturated} steps {} is saturated; its mean would be too low and is left out.",
                side.label()
            ));
        }
    }
    out
}

fn mm_of_a_pixel(from: [f64; 2], to: [f64; 2], step: Step) -> f64 {
    let (dx, dy) = (to[0] - from[0], to[1] - from[1]);
    let (x, y) = (dx * step.x_um(), dy * step.y_um());
    ((x * x + y * y) / (dx * dx + dy * dy)).sqrt() / 1000.0
}

fn numbers(found: &Judged, first: &[ProfileStep], mm: Option<f64>) -> Result<Grid<f64>, Fault> {
    let (width, maps) = (first.len(), found.profiles.len());
    let mut out = Grid::try_filled(width as u32, (2 + 4 * maps) as u32, f64::NAN)?;
    let cells = out.data_mut();
    for (k, step) in first.iter().enumerate() {
        cells[k] = step.at;
        cells[width + k] = mm.map_or(f64::NAN, |mm| step.at * mm);
    }
    for (i, steps) in found.profiles.iter().enumerate() {
        for (k, step) in steps.iter().enumerate() {
            let ends = step.counting.map_or((f64::NAN, f64::NAN), |i| (i.low, i.high));
            let of_map = [step.mean.unwrap_or(f64::NAN), ends.0, ends.1, step.judged];
            for (row, value) in of_map.into_iter().enumerate() {
                cells[(2 + 4 * i + row) * width + k] = value;
            }
        }
    }
    Ok(out)
}
