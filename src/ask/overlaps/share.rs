//! How many counts of a map come with each count of another, measured in a region that the user takes as pure, else by theory.

use super::ways::{Way, cells};
use crate::ask::evidence::{Change, Subject, level_for};
use crate::ask::settings::Settings;
use crate::grid::{Grid, Mask, try_vec};
use crate::kind::Noise;
use crate::measure::{Calibration, Level, Rules, Signal, calibration};
use crate::notice::{Fault, OutOfMemory};
use crate::physics::{Between, Grade, How};
use crate::stack::Map;

/// What is known of a share.
#[derive(Debug, Clone, PartialEq)]
pub struct Share {
    /// Between these it lies; `None` where nothing can be said in numbers.
    pub used: Option<Between>,
    /// What was measured and the name of the region it was measured in.
    pub measured: Option<(Calibration, String)>,
    /// The most that it is where the other element surely is, if that is less than theory says.
    pub at_most: Option<f64>,
}

/// A map with the values that shares are taken from.
pub struct Held<'a> {
    /// The map.
    pub map: &'a Map,
    /// Its values on the pixels of the map that is asked about.
    pub signal: Signal,
    /// Its background, if it has one.
    pub level: Option<Level>,
}

/// The other map of a way with its background, on the pixels of `map`.
///
/// # Errors
/// No memory.
pub fn held<'a>(
    subject: &Subject<'a>,
    map: &Map,
    way: &Way<'a>,
    settings: &Settings,
    rules: &Rules,
) -> Result<Held<'a>, Fault> {
    let other = way.map;
    let signal = Signal::of(other)?;
    let level = level_for(subject, other, &signal, settings, (rules, Change::Nothing))?;
    let Some((across, down)) = cells(other, map).filter(|cell| *cell != (1, 1)) else {
        return Ok(Held { map: other, signal, level });
    };
    // Of a binned map the pixels of the other are taken together as its own were.
    let is_sum = map.kind.is_like_counts();
    let times = if is_sum { f64::from(across) * f64::from(down) } else { 1.0 };
    let binned = binned(&signal, map.plane.size(), (across, down), is_sum)?;
    let level = level.map(|level| Level {
        background: level.background * times,
        variance: level.variance * times,
        critical: level.background * times + (level.critical - level.background) * times.sqrt(),
        ..level
    });
    Ok(Held { map: other, signal: binned, level })
}

fn binned(
    signal: &Signal,
    (width, height): (u32, u32),
    (across, down): (u32, u32),
    is_sum: bool,
) -> Result<Signal, OutOfMemory> {
    let mut values = Grid::try_filled(width, height, f64::NAN)?;
    let mut saturated = Mask::try_filled(width, height, false)?;
    let of = f64::from(across) * f64::from(down);
    for y in 0..height {
        for x in 0..width {
            let (mut sum, mut is_full) = (0.0, false);
            for row in 0..down {
                for column in 0..across {
                    let at = (x * across + column, y * down + row);
                    sum += signal.values.get(at.0, at.1).copied().unwrap_or(f64::NAN);
                    is_full |= signal.saturated.get(at.0, at.1) == Some(&true);
                }
            }
            let i = y as usize * width as usize + x as usize;
            values.data_mut()[i] = if is_sum { sum } else { sum / of };
            saturated.data_mut()[i] = is_full;
        }
    }
    Ok(Signal { values, saturated, kind: signal.kind, sigma: None, region: None, doubt: None })
}

/// The share of a way: measured where a region is taken as pure in the other element, none of whose makers is the map itself,
/// that has enough pixels; else by theory.
///
/// # Errors
/// No memory.
pub fn share(
    subject: &Subject<'_>,
    (map, signal, level): (&Map, &Signal, Option<&Level>),
    (way, other): (&Way<'_>, &Held<'_>),
    (settings, rules): (&Settings, &Rules),
) -> Result<Share, Fault> {
    let mut measured: Option<(Calibration, String)> = None;
    if let (Some(level), Some(of_other)) = (level, &other.level) {
        let element = way.nearest.by.element;
        let pure = subject.regions().iter().filter(|region| region.pure == Some(element));
        for region in pure.filter(|region| !map.roots().iter().any(|root| region.makers.contains(root))) {
            let Ok(mask) = subject.mask_on(region, map) else { continue };
            let found = calibration((signal, &other.signal), (level, of_other), &mask, rules);
            // Of several the one that is known best.
            let width = |c: &Calibration| c.all.high - c.all.low;
            if let Some(found) = found.filter(|found| found.all.high.is_finite())
                && measured.as_ref().is_none_or(|(best, _)| width(&found) < width(best))
            {
                measured = Some((found, region.name.clone()));
            }
        }
    }
    let used = match &measured {
        Some((found, _)) => {
            let (down, up) = way.elsewhere;
            let low = (found.all.low * (1.0 - down)).max(0.0);
            let high = found.all.high.max(0.0) * (1.0 + up);
            // A soft line is weaker in thick paint than it would be in thin.
            let thin = way.theory.filter(|_| way.is_soft).map_or(0.0, |theory| theory.high);
            Some(Between { value: found.value.max(0.0), low, high: high.max(thin) })
        }
        None => way.theory,
    };
    let is_large = measured.is_none() && used.is_some_and(|share| share.high > LARGE);
    let bound = match level.filter(|_| is_large) {
        Some(level) => bound(subject, (signal, level), (way, other), (settings, rules))?,
        None => None,
    };
    let at_most = bound.filter(|bound| used.is_some_and(|share| *bound < share.high));
    let used = match (used, at_most) {
        (Some(share), Some(high)) => {
            Some(Between { value: share.value.min(high), low: share.low.min(high), high })
        }
        _ => used,
    };
    let of_fit = measured.as_ref().map_or(0.0, |(found, _)| found.all.low.abs().max(found.all.high.abs()));
    let used = used.map(|share| match is_shared_by_a_fit(map, way) {
        true => Between { high: share.high.max(of_fit).max(OF_A_FIT), ..share },
        false => share,
    });
    Ok(Share { used, measured, at_most })
}

/// A fit shares one peak between two elements with an error of up to a fifth of the larger, to either side. Common practice, no
/// source.
const OF_A_FIT: f64 = 0.2;

/// Whether a fit had to share one peak between the elements of both maps.
fn is_shared_by_a_fit(map: &Map, way: &Way<'_>) -> bool {
    let is_one_peak = way.nearest.grade == Grade::SamePeak && matches!(way.nearest.how, How::Line);
    is_one_peak && map.kind.is_parted()
}

/// A share below this need not be bounded by the maps.
pub const LARGE: f64 = 0.1;
/// Side of the blocks in which it is, in pixels.
const BLOCK: u32 = 8;
/// The share is bounded by the third smallest of the blocks, so that two faults bound nothing.
const FAULTS: usize = 2;
/// If more of the other map than this could itself be lines of other elements, it bounds nothing there.
const UNSURE: f64 = 0.2;
/// A pixel that holds more than this of a block may be a fault.
const OF_ONE_PIXEL: f64 = 0.2;
/// Standard deviations that are added to what is counted.
const SURELY: f64 = 3.0;

/// The most that a share can be because so little is counted in this map where the other element surely is: even if all of it were
/// overlap. From blocks of 8 x 8 pixels; `None` where there are too few. Our own rule.
fn bound(
    subject: &Subject<'_>,
    (signal, level): (&Signal, &Level),
    (way, other): (&Way<'_>, &Held<'_>),
    (settings, rules): (&Settings, &Rules),
) -> Result<Option<f64>, Fault> {
    let Some(of_other) = &other.level else { return Ok(None) };
    let (width, height) = (other.signal.values.width(), other.signal.values.height());
    if other.map.plane.size() != (width, height) {
        return Ok(None);
    }
    // What could be lines of other elements in the other map, this one's among them.
    let mut unsure: Grid<f32> = Grid::try_filled(width, height, 0.0)?;
    for way in subject.ways(other.map) {
        let third = held(subject, other.map, &way, settings, rules)?;
        let theory = Share { used: way.theory, measured: None, at_most: None };
        if let Some(own) = most(&way, &third, &theory)? {
            unsure.data_mut().iter_mut().zip(own.data()).for_each(|(sum, one)| *sum += *one);
        }
    }
    let mut found: Vec<f64> = Vec::new();
    for y in (0..height / BLOCK).map(|y| y * BLOCK) {
        for x in (0..width / BLOCK).map(|x| x * BLOCK) {
            let inside = (y..y + BLOCK).flat_map(|y| (x..x + BLOCK).map(move |x| (x, y)));
            let (mut a, mut b, mut open, mut largest, mut n) = (0.0f64, 0.0f64, 0.0f64, 0.0f64, 0.0f64);
            for (x, y) in inside {
                let i = y as usize * width as usize + x as usize;
                let (Some(in_a), Some(in_b)) = (signal.anywhere(i), other.signal.anywhere(i)) else {
                    continue;
                };
                let net = in_b - of_other.background;
                (a, b, n) = (a + in_a - level.background, b + net, n + 1.0);
                open += f64::from(unsure.data()[i]);
                largest = largest.max(net);
            }
            let noise = (n * (level.variance + a.max(0.0) / n.max(1.0))).sqrt();
            let most = a.max(0.0) + SURELY * noise + rules.floor * n * level.background.max(0.0);
            let is_full = n >= f64::from(BLOCK * BLOCK);
            let is_sure = b > 0.0 && open <= UNSURE * b && largest <= OF_ONE_PIXEL * b;
            if is_full && is_sure && b >= n * (of_other.critical - of_other.background) {
                found.push(most / ((1.0 - UNSURE) * b));
            }
        }
    }
    crate::numerics::order::sort(&mut found);
    Ok(found.get(FAULTS).map(|most| most * (1.0 + way.elsewhere.1)))
}

/// Where nothing is known in numbers, a pixel in which the other map is strong.
const STRONG: f64 = 0.2;

/// A saturated pixel may hold so many times the most that is counted elsewhere.
const BEYOND_COUNTING: f64 = 10.0;

/// The most that the other map could give in each pixel of `map`; `None` where nothing can be said but that it may be.
///
/// # Errors
/// No memory.
pub fn most(way: &Way<'_>, other: &Held<'_>, share: &Share) -> Result<Option<Grid<f32>>, OutOfMemory> {
    let signal = &other.signal;
    let stats = &other.map.stats;
    let (low, high) = (stats.low.unwrap_or(0.0), stats.near_high.or(stats.high).unwrap_or(0.0));
    let strong = match &other.level {
        Some(level) => level.critical,
        None => low + STRONG * (high - low),
    };
    let is_known = share.used.is_some() && signal.kind.noise() != Noise::Unknown;
    if !is_known && way.nearest.grade != Grade::SamePeak {
        return Ok(None);
    }
    let background = other.level.map_or(0.0, |level| level.background);
    let most_share = share.used.map_or(0.0, |share| share.high);
    let mut data = try_vec(signal.values.len())?;
    data.extend((0..signal.values.data().len()).map(|i| match signal.anywhere(i) {
        // Blank or saturated: it may be far more than anything that was counted.
        None if is_known => (most_share * BEYOND_COUNTING * (high - background).max(0.0)) as f32,
        None => f32::INFINITY,
        Some(value) if is_known => (most_share * (value - background).max(0.0)) as f32,
        Some(value) if value >= strong => f32::INFINITY,
        Some(_) => 0.0,
    }));
    let (width, height) = (signal.values.width(), signal.values.height());
    Ok(Grid::from_vec(width, height, data))
}
