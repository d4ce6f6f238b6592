//! Which maps part the field, into which zones, and what each of these counts.

use crate::ask::Progress;
use crate::ask::evidence::{Evidence, Side};
use crate::grid::{Grid, try_vec};
use crate::kind::{Kind, Noise};
use crate::measure::FEWEST_PIXELS;
use crate::measure::compare::{patchy_mean, student_quantile};
use crate::measure::zones::{By, Layer, Layers, Wish, Zones, zones};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::counting::Interval;

/// A lag-one correlation of fewer standard errors than this may be chance.
const SURE: f64 = 4.0;
/// Of a larger field every second, third ... pixel across and down stands for the others in an interval.
const MOST_FOR_INTERVAL: u64 = 400_000;

/// A zone on a map.
#[derive(Debug, Clone, PartialEq)]
pub struct OfMap {
    /// Mean in the zone.
    pub mean: f64,
    /// Its 95 % interval, which respects that neighbours are alike; `None` where it cannot be had.
    pub interval: Option<Interval>,
    /// Standard deviations of the whole by which it lies off the mean of all, after counts were stabilised.
    pub off: f64,
}

/// A zone.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    pub pixels: u64,
    /// One for each map that took part, in their order.
    pub maps: Vec<OfMap>,
}

/// What is found.
pub struct Found {
    /// Places of the maps that took part among those asked about.
    pub kept: Vec<usize>,
    /// The others, with why as a clause that names the map.
    pub left_out: Vec<(usize, String)>,
    /// Pixels asked about with data in every map that took part.
    pub used: u64,
    /// Saturated pixels among them, in any map.
    pub saturated: u64,
    /// Mean of every kept map over these.
    pub means: Vec<f64>,
    pub zones: Vec<Zone>,
    /// What the computation gave; `None` where there is nothing to part.
    pub made: Option<Zones>,
    /// Why there is nothing to part; else empty.
    pub reason: String,
    pub wish: Wish,
    /// The largest number there can be.
    pub highest: usize,
}

/// Takes part, or why not as far as a map alone says.
fn refused(side: &Side, by: By, before: &[&Side]) -> Option<String> {
    let label = side.label();
    if side.kind == Kind::Auxiliary {
        return Some(format!("{label} holds no element line"));
    }
    if side.kind == Kind::DisplayCopy && by == By::Parts {
        return Some(format!(
            "{label} is a picture of a map and not its counts, so it has no parts of counts"
        ));
    }
    if !side.signal.values.data().iter().any(|v| v.is_finite()) {
        return Some(format!("{label} has no data"));
    }
    let other = before.iter().find(|other| other.roots.iter().any(|root| side.roots.contains(root)))?;
    Some(format!("{label} has numbers of {}, which takes part", other.label()))
}

/// The map as zones are made of it.
fn layer(side: &Side) -> Layer<'_> {
    Layer { values: side.signal.values.data(), is_counts: side.noise() == Noise::Counting }
}

pub fn judge(evidence: &Evidence, progress: Progress<'_>) -> Result<Found, Fault> {
    let wish = evidence.settings.zones_wished();
    let mut kept: Vec<usize> = Vec::new();
    let mut left_out = Vec::new();
    for (place, side) in evidence.sides.iter().enumerate() {
        let before: Vec<&Side> = kept.iter().map(|&i| &evidence.sides[i]).collect();
        match refused(side, wish.by, &before) {
            Some(why) => left_out.push((place, why)),
            None => kept.push(place),
        }
    }
    let width = evidence.sides.first().map_or(0, |side| side.signal.values.width() as usize);
    let mut layers = Layers {
        width,
        maps: kept.iter().map(|&i| layer(&evidence.sides[i])).collect(),
        used: used(evidence, &kept)?,
    };
    let mut patterned = Vec::new();
    for (i, &place) in kept.iter().enumerate() {
        progress(0.1 * i as f64 / kept.len() as f64, &evidence.sides[place].label());
        let label = evidence.sides[place].label();
        match layers.pattern(i) {
            Some((_, sure)) if sure >= SURE => patterned.push(place),
            Some(_) => left_out.push((place, format!("{label} has no more pattern than chance makes"))),
            None => left_out.push((place, format!("{label} has one value everywhere"))),
        }
    }
    left_out.sort_by_key(|(place, _)| *place);
    let kept = patterned;
    layers.maps = kept.iter().map(|&i| layer(&evidence.sides[i])).collect();
    layers.used = used(evidence, &kept)?;
    let pixels = layers.used.iter().filter(|&&used| used).count() as u64;
    let highest = wish.highest(kept.len());
    let wish = Wish { zones: wish.zones.map(|n| n.min(highest)), ..wish };
    let mut found = Found {
        left_out,
        used: pixels,
        saturated: saturated(evidence, &kept, &layers.used),
        means: means(evidence, &kept, &layers.used),
        zones: Vec::new(),
        made: None,
        reason: nothing_to_part(kept.len(), pixels, wish.by),
        wish,
        highest,
        kept,
    };
    if found.reason.is_empty() {
        let made = zones(&layers, &wish, &mut |share, text| progress(0.1 + 0.75 * share, text))?;
        found.zones = described(evidence, &found.kept, &made, &mut |share, text| {
            progress(0.85 + 0.15 * share, text);
        })?;
        found.made = Some(made);
    }
    Ok(found)
}

fn nothing_to_part(maps: usize, pixels: u64, by: By) -> String {
    match (maps, pixels, by) {
        (0, ..) => "none of the maps has a pattern".into(),
        (1 | 2, _, By::Parts) => "parts of the counts need three maps or more that have a pattern".into(),
        (_, pixels, _) if pixels < FEWEST_PIXELS as u64 => {
            "fewer than 30 pixels have data in every map".into()
        }
        _ => String::new(),
    }
}

/// Pixels that are asked about and have data in all these maps; none without maps.
fn used(evidence: &Evidence, kept: &[usize]) -> Result<Vec<bool>, OutOfMemory> {
    let len = evidence.sides.first().map_or(0, |side| side.signal.values.len());
    let mut out = try_vec(len)?;
    let sides: Vec<&Side> = kept.iter().map(|&i| &evidence.sides[i]).collect();
    out.extend((0..len as usize).map(|i| {
        !sides.is_empty()
            && sides.iter().all(|side| side.signal.values.data()[i].is_finite() && side.signal.is_asked(i))
    }));
    Ok(out)
}

fn saturated(evidence: &Evidence, kept: &[usize], used: &[bool]) -> u64 {
    let is_saturated = |i: usize| kept.iter().any(|&place| evidence.sides[place].signal.saturated.data()[i]);
    (0..used.len()).filter(|&i| used[i] && is_saturated(i)).count() as u64
}

fn means(evidence: &Evidence, kept: &[usize], used: &[bool]) -> Vec<f64> {
    let mean = |side: &Side| {
        let values = side.signal.values.data().iter().zip(used).filter(|(_, used)| **used);
        let (sum, n) = values.fold((0.0, 0.0), |(sum, n), (value, _)| (sum + value, n + 1.0));
        sum / f64::max(n, 1.0)
    };
    kept.iter().map(|&place| mean(&evidence.sides[place])).collect()
}

fn described(
    evidence: &Evidence,
    kept: &[usize],
    made: &Zones,
    progress: Progress<'_>,
) -> Result<Vec<Zone>, Fault> {
    let width = evidence.sides.first().map_or(0, |side| side.signal.values.width());
    let mut out = Vec::new();
    for zone in 1..=made.count {
        progress(zone as f64 / (made.count + 1) as f64, &format!("What zone {zone} counts"));
        let area = Area::of(&made.labels, zone as u8, width as usize);
        let mut maps = Vec::new();
        for (j, &place) in kept.iter().enumerate() {
            let values = evidence.sides[place].signal.values.data();
            let sum: f64 = area.pixels(&made.labels, 1).map(|i| values[i]).sum();
            let interval = interval(&area.cropped(&made.labels, values)?)?;
            let mean = sum / (area.count as f64).max(1.0);
            // Around the mean of all pixels, also where only some of them stand in the interval.
            let interval = interval.map(|(arm, _)| Interval { low: mean - arm, high: mean + arm });
            maps.push(OfMap { mean, interval, off: made.centres[(zone - 1) * kept.len() + j] });
        }
        out.push(Zone { pixels: area.count, maps });
    }
    Ok(out)
}

/// Half the width of the 95 % interval of a mean, and the mean.
fn interval(values: &Grid<f64>) -> Result<Option<(f64, f64)>, OutOfMemory> {
    let found = patchy_mean(values)?.filter(|found| found.freedom() > 0.0);
    Ok(found.map(|p| (student_quantile(0.05, p.freedom()) * p.variance_of_mean.sqrt(), p.mean)))
}

/// The pixels of a zone, and the box around them.
struct Area {
    zone: u8,
    count: u64,
    /// Left, top, right and bottom.
    of: [usize; 4],
    width: usize,
    stride: usize,
}

impl Area {
    fn of(labels: &[u8], zone: u8, width: usize) -> Self {
        let mut out = Self { zone, count: 0, of: [usize::MAX, usize::MAX, 0, 0], width, stride: 1 };
        for (i, _) in labels.iter().enumerate().filter(|(_, label)| **label == zone) {
            let (x, y) = (i % width, i / width);
            let [left, top, right, bottom] = out.of;
            out.of = [left.min(x), top.min(y), right.max(x + 1), bottom.max(y + 1)];
            out.count += 1;
        }
        let [left, top, right, bottom] = out.of;
        let size = right.saturating_sub(left) as u64 * bottom.saturating_sub(top) as u64;
        while size / (out.stride * out.stride) as u64 > MOST_FOR_INTERVAL {
            out.stride += 1;
        }
        out
    }

    /// Its pixels, every `stride`-th across and down.
    fn pixels<'a>(&self, labels: &'a [u8], stride: usize) -> impl Iterator<Item = usize> + use<'a> {
        let ([left, top, right, bottom], width, zone) = (self.of, self.width, self.zone);
        (top..bottom)
            .step_by(stride)
            .flat_map(move |y| (left..right).step_by(stride).map(move |x| y * width + x))
            .filter(move |&i| labels[i] == zone)
    }

    fn cropped(&self, labels: &[u8], values: &[f64]) -> Result<Grid<f64>, OutOfMemory> {
        let [left, top, right, bottom] = self.of;
        let side = |from: usize, to: usize| to.saturating_sub(from).div_ceil(self.stride) as u32;
        let (width, height) = (side(left, right), side(top, bottom));
        let mut out = Grid::try_filled(width, height, f64::NAN)?;
        for i in self.pixels(labels, self.stride) {
            let (x, y) = ((i % self.width - left) / self.stride, (i / self.width - top) / self.stride);
            out.data_mut()[y * width as usize + x] = values[i];
        }
        Ok(out)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_zone_is_cut_out_with_nothing_beside_it() {
        let labels = [0, 1, 2, 2, 1, 2, 2, 0, 0];
        let area = Area::of(&labels, 2, 3);
        assert_eq!((area.count, area.of), (4, [0, 0, 3, 3]));
        let values: Vec<f64> = (0..9).map(f64::from).collect();
        let cut = area.cropped(&labels, &values).unwrap();
        let seen: Vec<f64> = cut.data().iter().copied().filter(|v| !v.is_nan()).collect();
        assert_eq!(seen, [2.0, 3.0, 5.0, 6.0]);
        assert_eq!(Area::of(&labels, 9, 3).cropped(&labels, &values).unwrap().len(), 0);
    }
}
