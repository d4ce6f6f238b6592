//! The joint histogram: pixels by their values in two maps, and the way back from it to pixels.

use super::judge::Judged;
use crate::ask::answer::{Answer, Raster};
use crate::ask::evidence::{Evidence, Subject};
use crate::ask::pair::Pair;
use crate::ask::plot::{Plot, PlotAxis, PlotLine, Tick};
use crate::ask::settings::Settings;
use crate::display::{Axis, Scale};
use crate::grid::Grid;
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::{count, whole};
use serde::{Deserialize, Serialize};

/// Name of the raster and key of the plot.
pub(super) const RASTER: &str = "joint";
/// Bins along an axis; fewer where whole values in a short range each get one.
const BINS: u32 = 48;
/// Values this many times as large as the median lie far out: then the axis is drawn together by its square root.
const FAR_OUT: f64 = 8.0;

/// A part of a joint histogram by values: from `low` to `high`, both ends included.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cloud {
    /// Map across, by id.
    pub a: String,
    /// Map upward, by id.
    pub b: String,
    /// Least value of A.
    pub a_low: f64,
    /// Largest value of A.
    pub a_high: f64,
    /// Least value of B.
    pub b_low: f64,
    /// Largest value of B.
    pub b_high: f64,
}

/// An axis over values, in any order. Whole values in a short range get a bin each.
fn axis_of(values: &mut [f64]) -> Axis {
    values.sort_unstable_by(f64::total_cmp);
    let (Some(&low), Some(&high)) = (values.first(), values.last()) else {
        return Axis::new(Scale::Linear, 0.0, 1.0);
    };
    let is_whole = values.iter().all(|v| *v == v.round());
    if is_whole && high - low < f64::from(BINS) {
        return Axis::new(Scale::Linear, low - 0.5, high + 0.5);
    }
    if high <= low {
        return Axis::new(Scale::Linear, low - 0.5, low + 0.5);
    }
    let median = values[values.len() / 2] - low;
    let scale = if high - low > FAR_OUT * median { Scale::SquareRoot } else { Scale::Linear };
    Axis::new(scale, low, high)
}

fn bins_of(axis: &Axis) -> u32 {
    let range = axis.high() - axis.low();
    let is_each =
        axis.scale() == Scale::Linear && range <= f64::from(BINS) && (axis.low() + 0.5).fract() == 0.0;
    if is_each && range.fract() == 0.0 { range as u32 } else { BINS }
}

fn read_back(axis: &PlotAxis) -> Axis {
    Axis::new(Scale::from_word(&axis.scale).unwrap_or_default(), axis.low, axis.high)
}

fn plot_axis(axis: &Axis, label: String) -> PlotAxis {
    let ticks = axis.round_ticks().into_iter().map(|tick| Tick { at: tick.at, text: tick.text }).collect();
    PlotAxis { label, ticks, low: axis.low(), high: axis.high(), scale: axis.scale().word().into() }
}

/// Counts pixels into bins; the first row of the raster is at the top. Values beyond the axes lie in the outermost bins.
fn counted(
    pair: &Pair<'_>,
    (x, y): (&Axis, &Axis),
    is_inside: impl Fn(usize) -> bool,
) -> Result<Grid<f64>, OutOfMemory> {
    let (across, up) = (bins_of(x), bins_of(y));
    let mut out = Grid::try_filled(across, up, 0.0)?;
    let bin =
        |axis: &Axis, bins: u32, value: f64| ((axis.place(value) * f64::from(bins)) as u32).min(bins - 1);
    for i in (0..pair.a.signal.values.data().len()).filter(|&i| is_inside(i)) {
        if let (Some(a), Some(b)) = (pair.a.signal.valid(i), pair.b.signal.valid(i)) {
            let (column, row) = (bin(x, across, a), up - 1 - bin(y, up, b));
            out.data_mut()[(row * across + column) as usize] += 1.0;
        }
    }
    Ok(out)
}

/// The plot and its raster; `None` where no pixel has both values.
pub(super) fn joint(pair: &Pair<'_>, found: &Judged) -> Result<Option<(Plot, Raster)>, OutOfMemory> {
    let r = found
        .field
        .pearson
        .map_or_else(String::new, |r| format!(" Correlation {}.", crate::numerics::figure::rounded(r, 2)));
    histogram(pair, &r, |_, _| Vec::new())
}

/// Pixels by their values, the first map of the pair across. Critical levels are drawn, and what `more` adds for the axes
/// across and upward; `told` follows in the note.
pub(in crate::ask) fn histogram(
    pair: &Pair<'_>,
    told: &str,
    more: impl FnOnce(&Axis, &Axis) -> Vec<PlotLine>,
) -> Result<Option<(Plot, Raster)>, OutOfMemory> {
    let both = |i: usize| pair.a.signal.valid(i).zip(pair.b.signal.valid(i));
    let mut a = crate::grid::try_vec(pair.a.signal.values.len())?;
    let mut b = crate::grid::try_vec(pair.a.signal.values.len())?;
    for (in_a, in_b) in (0..pair.a.signal.values.data().len()).filter_map(both) {
        a.push(in_a);
        b.push(in_b);
    }
    if a.is_empty() {
        return Ok(None);
    }
    let pixels = a.len() as u64;
    let (x, y) = (axis_of(&mut a), axis_of(&mut b));
    let raster = counted(pair, (&x, &y), |_| true)?;
    let (label_a, label_b) = pair.labels();
    let unit = |side: &crate::ask::evidence::Side| match side.kind.unit() {
        "" => side.label(),
        unit => format!("{}, {unit}", side.label()),
    };
    let mut lines = Vec::new();
    if let Ok((at_a, at_b)) = pair.levels() {
        let from = |label: &str, value: f64| format!("{label} detected from {}", count(value));
        let (u, v) = (x.place(at_a.critical), y.place(at_b.critical));
        lines.push(PlotLine { label: from(&label_a, at_a.critical), points: vec![[u, 0.0], [u, 1.0]] });
        lines.push(PlotLine { label: from(&label_b, at_b.critical), points: vec![[0.0, v], [1.0, v]] });
    }
    lines.extend(more(&x, &y));
    let note = format!(
        "{} {} by their values: {label_a} to the right from {} to {}, {label_b} upward from {} to {}.{told} Draw a rectangle to make a region of its pixels.",
        whole(pixels),
        if pixels == 1 { "pixel" } else { "pixels" },
        count(a[0]),
        count(a[a.len() - 1]),
        count(b[0]),
        count(b[b.len() - 1]),
    );
    let plot = Plot::Joint {
        key: RASTER.into(),
        label: format!("{label_a} and {label_b} pixel by pixel"),
        raster: RASTER.into(),
        x: plot_axis(&x, unit(pair.a)),
        y: plot_axis(&y, unit(pair.b)),
        lines,
        note,
    };
    Ok(Some((plot, Raster::F64(raster))))
}

/// Which of an answer's maps are drawn across and upward: `apart` draws B across, as what A may go with.
fn maps_of(answer: &Answer) -> [usize; 2] {
    if answer.question == "apart" { [1, 0] } else { [0, 1] }
}

fn axes(answer: &Answer) -> Result<(Axis, Axis), Fault> {
    let found = answer.plots.iter().find_map(|plot| match plot {
        Plot::Joint { x, y, .. } => Some((read_back(x), read_back(y))),
        _ => None,
    });
    found.ok_or_else(|| {
        Fault::bad_setting(
            "This answer has no joint histogram. Ask whether two maps rise and fall together first.",
        )
    })
}

/// A rectangle of an answer's joint histogram as values of its two maps. `from` and `to` are opposite corners as shares
/// of the axes, 0 to 1, upward.
///
/// # Errors
/// The answer has no joint histogram, or a corner is not a number.
pub fn cloud_of(answer: &Answer, from: [f64; 2], to: [f64; 2]) -> Result<Cloud, Fault> {
    let (x, y) = axes(answer)?;
    let [across, up] = maps_of(answer);
    let [Some(a), Some(b)] = [answer.inputs.get(across), answer.inputs.get(up)] else {
        return Err(Fault::bad_setting("This answer does not rest on two maps."));
    };
    if from.iter().chain(&to).any(|place| !place.is_finite()) {
        return Err(Fault::bad_setting("`from` and `to` must be numbers from 0 to 1."));
    }
    let ends = |axis: &Axis, one: f64, other: f64| (axis.value(one.min(other)), axis.value(one.max(other)));
    let ((a_low, a_high), (b_low, b_high)) = (ends(&x, from[0], to[0]), ends(&y, from[1], to[1]));
    Ok(Cloud { a: a.id.clone(), b: b.id.clone(), a_low, a_high, b_low, b_high })
}

/// The pixels of a region in the bins of an answer's joint histogram: where a region of the map lies in the cloud. Row 0
/// is at the top, as in the raster `joint`.
///
/// # Errors
/// The answer has no joint histogram, its maps or the region are not there, the region has no pixel of them, no memory.
pub fn joint_of(answer: &Answer, subject: &Subject<'_>, region: &str) -> Result<Grid<f64>, Fault> {
    let (x, y) = axes(answer)?;
    let inputs = maps_of(answer).into_iter().filter_map(|place| answer.inputs.get(place));
    let ids: Vec<String> = inputs.map(|input| input.id.clone()).collect();
    let settings =
        Settings { region: Some(region.to_owned()), question: "together".into(), ..Settings::default() };
    let evidence: Evidence = subject.evidence(&settings, &ids)?;
    match Pair::of(&evidence) {
        Some(pair) => Ok(counted(&pair, (&x, &y), |_| true)?),
        None => Err(Fault::bad_setting("This answer does not rest on two maps.")),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_values_in_a_short_range_get_a_bin_each() {
        let axis = axis_of(&mut [3.0, 0.0, 9.0]);
        assert_eq!((axis.low(), axis.high(), bins_of(&axis)), (-0.5, 9.5, 10));
        for value in 0..10 {
            assert_eq!((axis.place(f64::from(value)) * 10.0) as u32, value);
        }
        let one = axis_of(&mut [4.0, 4.0]);
        assert_eq!((one.low(), one.high(), bins_of(&one)), (3.5, 4.5, 1));
        let flat = axis_of(&mut [0.25, 0.25]);
        assert_eq!((flat.low(), flat.high(), bins_of(&flat)), (-0.25, 0.75, BINS));
    }

    #[test]
    fn far_out_values_draw_the_axis_together() {
        let mut values: Vec<f64> = (0..100).map(|i| f64::from(i % 10)).collect();
        values.push(900.0);
        let axis = axis_of(&mut values);
        assert_eq!((axis.scale(), bins_of(&axis)), (Scale::SquareRoot, BINS));
        assert!(axis_of(&mut []).has_length());
    }
}
