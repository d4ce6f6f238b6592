//! How often values occur in a map, for choosing the limits of its picture.

use super::axis::{Axis, Scale};
use super::key::Tick;
use crate::grid::{SampleType, try_filled_vec};
use crate::notice::OutOfMemory;
use crate::numerics::figure::{count, whole};
use crate::stack::{Plane, Stats, Tally};

/// What is asked for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HistogramSettings {
    /// How values spread along the axis.
    pub scale: Scale,
    /// About how many bars; kept within 2 to 1024.
    pub bins: u32,
    /// Where the axis shall start instead of at the lowest value.
    pub low: Option<f64>,
    /// Where it shall end instead of at the highest value.
    pub high: Option<f64>,
}

impl Default for HistogramSettings {
    fn default() -> Self {
        Self { scale: Scale::Linear, bins: 256, low: None, high: None }
    }
}

/// A value marked on the axis.
#[derive(Debug, Clone, PartialEq)]
pub struct Mark {
    /// Place along the axis, 0 to 1.
    pub at: f64,
    /// The value.
    pub value: f64,
    /// What it is.
    pub text: String,
}

/// The histogram of a map. Without bars where there is nothing to spread: `text` says why.
#[derive(Debug, Clone, PartialEq)]
pub struct Histogram {
    /// The axis from the first edge to the last.
    pub axis: Axis,
    /// Values at which bars begin and end, ascending: one more than bars, or none. A value on an edge is counted above it;
    /// on the last edge, in the last bar.
    pub edges: Vec<f64>,
    /// The places of the edges along the axis, 0 to 1. On a square-root or logarithmic axis of whole numbers bars differ in
    /// width.
    pub places: Vec<f64>,
    /// Pixels in each bar.
    pub counts: Vec<u64>,
    /// Heights for drawing, 0 to 1, the highest 1: the square root of the pixels for each length of the axis, so that few
    /// pixels can be seen beside many. Bars of one width compare as the roots of their counts.
    pub bars: Vec<f64>,
    /// Marks at round values.
    pub ticks: Vec<Tick>,
    /// Marks that were handed in and lie within the axis.
    pub marks: Vec<Mark>,
    /// Pixels with data before the first edge.
    pub below: u64,
    /// Pixels with data beyond the last edge.
    pub above: u64,
    /// Pixels without data, counted nowhere else.
    pub blank: u64,
    /// All this in a sentence.
    pub text: String,
}

/// Makes it; `stats` are those of the plane, `marks` are values with what they are (critical level, high percentile).
///
/// Bars of whole numbers begin and end midway between two numbers and hold at least one, on a linear axis all the same
/// number of them, so that no bar is low only because fewer numbers fall into it. The same holds for the stored steps of
/// integers read with a gain.
pub fn histogram(
    plane: &Plane,
    stats: &Stats,
    settings: &HistogramSettings,
    marks: &[(f64, &str)],
) -> Result<Histogram, OutOfMemory> {
    let grain = Grain::of(plane, stats);
    let none = |low: f64, high: f64, text: String| Histogram {
        axis: Axis::new(settings.scale, low, high),
        edges: Vec::new(),
        places: Vec::new(),
        counts: Vec::new(),
        bars: Vec::new(),
        ticks: Vec::new(),
        marks: Vec::new(),
        below: 0,
        above: 0,
        blank: stats.blank,
        text,
    };
    let (Some(lowest), Some(highest)) = (stats.low, stats.high) else {
        return Ok(none(0.0, 0.0, "No pixel holds data, so there is no histogram.".into()));
    };
    if lowest >= highest {
        let text = format!("Every pixel with data holds {}, so there is nothing to spread.", count(lowest));
        return Ok(none(lowest, lowest, text));
    }
    let stated = |limit: Option<f64>, otherwise: f64| limit.filter(|v| v.is_finite()).unwrap_or(otherwise);
    let (low, high) = (stated(settings.low, lowest), stated(settings.high, highest));
    let bins = settings.bins.clamp(2, 1024);
    let edges = edges(Axis::new(settings.scale, low, high), bins, grain);
    let (Some(&first), Some(&last)) = (edges.first(), edges.last()) else {
        let text = match settings.scale {
            Scale::Logarithmic if high <= 0.0 => {
                "No value is above 0, so none has a place on a logarithmic axis.".into()
            }
            _ => format!("There is no room for bars between {} and {}.", count(low), count(high)),
        };
        return Ok(none(low, high, text));
    };
    let axis = Axis::new(settings.scale, first, last);
    let half = grain.map_or(0.0, |grain| grain.step / 2.0);
    let tallied = tallied(plane, &edges)?;
    let places: Vec<f64> = edges.iter().map(|&edge| axis.place(edge)).collect();
    let density = |(n, ends): (&u64, &[f64])| *n as f64 / (ends[1] - ends[0]).max(f64::MIN_POSITIVE);
    let densities: Vec<f64> = tallied.counts.iter().zip(places.windows(2)).map(density).collect();
    let most = densities.iter().copied().fold(0.0, f64::max);
    let height = |density: &f64| if most > 0.0 { (density / most).sqrt() } else { 0.0 };
    let is_inside = |value: f64| value >= first && value <= last;
    Ok(Histogram {
        axis,
        bars: densities.iter().map(height).collect(),
        text: sentence(&tallied, (first + half, last - half), stats.blank),
        counts: tallied.counts,
        ticks: axis.round_ticks(),
        marks: marks
            .iter()
            .filter(|(value, _)| is_inside(*value))
            .map(|&(value, text)| Mark { at: axis.place(value), value, text: text.into() })
            .collect(),
        below: tallied.below,
        above: tallied.above,
        blank: stats.blank,
        edges,
        places,
    })
}

fn sentence(tallied: &Tallied, (first, last): (f64, f64), blank: u64) -> String {
    let inside: u64 = tallied.counts.iter().sum();
    let pixels = |n: u64| if n == 1 { "1 pixel".to_owned() } else { format!("{} pixels", whole(n)) };
    let mut text = format!("{} from {} to {}", pixels(inside), count(first), count(last));
    for (n, what) in [(tallied.below, "below"), (tallied.above, "above"), (blank, "without data")] {
        if n > 0 {
            text += &format!(", {} {what}", whole(n));
        }
    }
    text + "."
}

/// Values that can occur: `start` and every `step` from it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Grain {
    start: f64,
    step: f64,
}

impl Grain {
    /// `None` where values may lie anywhere.
    fn of(plane: &Plane, stats: &Stats) -> Option<Self> {
        let reading = plane.reading();
        let grain = match plane.sample_type() {
            SampleType::F32 | SampleType::F64 => {
                return stats.is_whole.then_some(Self { start: 0.0, step: 1.0 });
            }
            _ => Self { start: -reading.offset / reading.gain, step: 1.0 / reading.gain },
        };
        (grain.step > 0.0 && grain.step.is_finite() && grain.start.is_finite()).then_some(grain)
    }

    /// The nearest place midway between two values.
    fn midway(self, value: f64) -> f64 {
        self.start + (((value - self.start) / self.step - 0.5).round() + 0.5) * self.step
    }
}

/// Where bars begin and end, ascending; empty where there is no room.
fn edges(axis: Axis, bins: u32, grain: Option<Grain>) -> Vec<f64> {
    if !axis.has_length() {
        return Vec::new();
    }
    let even = |axis: Axis| (0..=bins).map(move |i| axis.value(f64::from(i) / f64::from(bins)));
    let mut edges: Vec<f64> = match grain {
        None => even(axis).collect(),
        Some(grain) => {
            let before = grain.midway(axis.low() - grain.step / 4.0);
            // A logarithmic axis cannot reach 0.
            let is_reachable = axis.scale() != Scale::Logarithmic || before > 0.0;
            let first = if is_reachable { before } else { axis.low() };
            let last = grain.midway(axis.high() + grain.step / 4.0);
            match axis.scale() {
                Scale::Linear => {
                    let values = ((last - first) / grain.step).round();
                    let width = (values / f64::from(bins)).ceil().max(1.0) * grain.step;
                    let bars = ((last - first) / width - 1e-9).ceil() as u32;
                    (0..=bars).map(|i| first + f64::from(i) * width).collect()
                }
                scale => {
                    let inner = even(Axis::new(scale, first, last)).map(|edge| grain.midway(edge));
                    let inner = inner.filter(|&edge| edge > first && edge < last);
                    [first].into_iter().chain(inner).chain([last]).collect()
                }
            }
        }
    };
    edges.dedup();
    if edges.len() < 2 || edges.windows(2).any(|pair| pair[1] <= pair[0]) { Vec::new() } else { edges }
}

/// Even parts of the axis by which a value's bar is found.
const CELLS: u32 = 1 << 14;

struct Tallied {
    counts: Vec<u64>,
    below: u64,
    above: u64,
}

/// Counts values into at least one bar.
fn tallied(plane: &Plane, edges: &[f64]) -> Result<Tallied, OutOfMemory> {
    let bars = edges.len() - 1;
    let (first, last) = (edges[0], edges[bars]);
    let mut out = Tallied { counts: try_filled_vec(bars as u64, 0)?, below: 0, above: 0 };
    // The range in even cells, with the bar that is not yet over where each begins (a cell earlier, so that rounding does
    // not matter): from there it is rarely a step to the right one.
    let for_each = f64::from(CELLS) / (last - first);
    let bar_of = |value: f64| edges.partition_point(|&edge| edge <= value).clamp(1, bars) - 1;
    let begins: Vec<usize> =
        (0..=CELLS).map(|cell| bar_of(first + (f64::from(cell) - 1.0) / for_each)).collect();
    let mut add = |value: f64, n: u64| {
        if value < first {
            out.below += n;
        } else if value > last {
            out.above += n;
        } else {
            let mut bar = begins[(((value - first) * for_each) as usize).min(CELLS as usize)];
            while bar + 1 < bars && edges[bar + 1] <= value {
                bar += 1;
            }
            out.counts[bar] += n;
        }
    };
    if let Some(tally) = Tally::of(plane)? {
        tally.occurring().for_each(|(value, n)| add(value, n));
        return Ok(out);
    }
    let mut row = try_filled_vec(u64::from(plane.width()), 0.0)?;
    for y in 0..plane.height() {
        plane.read_row(y, &mut row);
        row.iter().filter(|v| !v.is_nan()).for_each(|&value| add(value, 1));
    }
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::element::Line;
    use crate::grid::{Grid, Samples};
    use crate::stack::{Map, MapId, Reading, Source};

    fn made(samples: Samples, settings: HistogramSettings, marks: &[(f64, &str)]) -> Histogram {
        let source = Source { file: String::new(), page: 0, sha256: String::new() };
        let line = Line::parse("Fe K");
        let map = Map::new(MapId::new(1), source, String::new(), line, samples).unwrap();
        histogram(&map.plane, &map.stats, &settings, marks).unwrap()
    }

    fn row<T>(values: Vec<T>) -> Grid<T> {
        Grid::from_vec(values.len() as u32, 1, values).unwrap()
    }

    #[test]
    fn whole_numbers_stand_in_the_middle_of_their_bars() {
        let settings = HistogramSettings { bins: 10, ..HistogramSettings::default() };
        let of = |values: Vec<u16>| {
            made(Samples::U16(row(values)), settings, &[(2.0, "critical level"), (99.0, "x")])
        };
        let some = of(vec![0, 1, 1, 1, 1, 4]);
        assert_eq!(some.edges, [-0.5, 0.5, 1.5, 2.5, 3.5, 4.5]);
        assert_eq!(some.counts, [1, 4, 0, 0, 1]);
        assert_eq!(some.bars, [0.5, 1.0, 0.0, 0.0, 0.5]);
        assert_eq!(some.marks, [Mark { at: 0.5, value: 2.0, text: "critical level".into() }]);
        assert_eq!(some.text, "6 pixels from 0 to 4.");
        // 25 numbers into at most 10 bars: three in each, each number once, so no bar stands out.
        let even = of((0..25).collect());
        assert_eq!(even.counts, [3, 3, 3, 3, 3, 3, 3, 3, 1]);
    }

    #[test]
    fn no_comb_on_any_axis() {
        // Every number from 1 to 2000 as often as its share of the axis: bars of about one height.
        for scale in Scale::ALL {
            let settings = HistogramSettings { scale, bins: 97, ..HistogramSettings::default() };
            let every = made(Samples::U16(row((1..=2000).collect())), settings, &[]);
            assert_eq!(every.counts.iter().sum::<u64>(), 2000);
            assert!(every.counts.iter().all(|&n| n > 0), "{scale:?}");
            // On these axes the heights of evenly spread values rise smoothly or stay.
            for pair in every.bars[..every.bars.len() - 1].windows(2) {
                assert!(pair[1] > pair[0] * 0.97, "{scale:?} {pair:?}");
            }
        }
    }

    #[test]
    fn a_gain_keeps_the_steps_and_what_has_no_place_is_counted_apart() {
        let plane = Plane::new(Samples::U8(row(vec![0, 2, 4, 6, 255])));
        let plane = plane.read_as(Reading { gain: 2.0, fill_values: vec![255.0], ..Reading::default() });
        let stats = Stats {
            low: Some(0.0),
            high: Some(3.0),
            median: Some(1.5),
            near_high: Some(3.0),
            blank: 1,
            saturated: 0,
            is_whole: true,
        };
        let settings = HistogramSettings { low: Some(1.0), high: Some(2.0), ..HistogramSettings::default() };
        let part = histogram(&plane, &stats, &settings, &[]).unwrap();
        assert_eq!(part.edges, [0.75, 1.25, 1.75, 2.25]);
        assert_eq!((part.counts, part.below, part.above, part.blank), (vec![1, 0, 1], 1, 1, 1));
        assert!(part.text.ends_with("1 below, 1 above, 1 without data."), "{}", part.text);
    }

    #[test]
    fn floats_fill_even_bars_and_the_highest_is_in_the_last() {
        let settings = HistogramSettings { bins: 4, ..HistogramSettings::default() };
        let some = made(Samples::F32(row(vec![0.0, 0.5, 1.0, 1.75, 2.0, f32::NAN])), settings, &[]);
        assert_eq!(some.edges, [0.0, 0.5, 1.0, 1.5, 2.0]);
        assert_eq!((some.counts, some.blank), (vec![1, 1, 1, 2], 1));
        let log = HistogramSettings { scale: Scale::Logarithmic, ..settings };
        let some = made(Samples::F64(row(vec![-1.5, 0.0, 0.25, 3.7, 20.25])), log, &[]);
        assert_eq!((some.below, some.axis.low(), some.counts.iter().sum::<u64>()), (3, 1.0, 2));
    }

    #[test]
    fn every_pixel_is_counted_between_its_edges() {
        let mut state = 77u32;
        let mut next = || {
            state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            f64::from(state >> 8) / f64::from(1 << 24)
        };
        for (scale, reach) in Scale::ALL.into_iter().flat_map(|s| [1e-9, 1.0, 3e4].map(|r| (s, r))) {
            let mut values: Vec<f64> =
                (0..3000).map(|_| next() * next() * next() * reach - reach / 50.0).collect();
            let settings = HistogramSettings { scale, bins: 200, low: None, high: Some(reach / 2.0) };
            // Values on the edges too.
            values.extend(made(Samples::F64(row(values.clone())), settings, &[]).edges);
            let some = made(Samples::F64(row(values.clone())), settings, &[]);
            let last = some.counts.len() - 1;
            for (bar, ends) in some.edges.windows(2).enumerate() {
                let is_in = |v: &&f64| **v >= ends[0] && (**v < ends[1] || (bar == last && **v == ends[1]));
                assert_eq!(some.counts[bar], values.iter().filter(is_in).count() as u64, "{scale:?} {bar}");
            }
            let all = some.counts.iter().sum::<u64>() + some.below + some.above;
            assert_eq!(all, values.len() as u64);
        }
    }

    #[test]
    fn nothing_to_spread_is_said_and_not_drawn() {
        for scale in Scale::ALL {
            let settings = HistogramSettings { scale, ..HistogramSettings::default() };
            let flat = made(Samples::U8(row(vec![7, 7])), settings, &[(7.0, "critical level")]);
            assert!(flat.bars.is_empty() && flat.text.contains("holds 7"), "{}", flat.text);
            let blank = made(Samples::F32(row(vec![f32::NAN])), settings, &[]);
            assert!(blank.bars.is_empty() && blank.text.contains("No pixel holds data"));
            let empty = made(Samples::F32(Grid::from_vec(0, 0, Vec::new()).unwrap()), settings, &[]);
            assert!(empty.bars.is_empty());
            let wrong = HistogramSettings { low: Some(5.0), high: Some(1.0), ..settings };
            assert!(made(Samples::U8(row(vec![1, 9])), wrong, &[]).bars.is_empty());
        }
        let settings = HistogramSettings { scale: Scale::Logarithmic, ..HistogramSettings::default() };
        let negative = made(Samples::I16(row(vec![-9, -2])), settings, &[]);
        assert!(negative.bars.is_empty() && negative.text.contains("No value is above 0"));
    }
}
