//! What one map says of its element in the passage: more than its background, and more than support and ground hold.

use crate::ask::evidence::{Evidence, Interference, Side, crop, is_free, level_below};
use crate::ask::faint::{Sums, closer};
use crate::ask::verdict::{DETECTED, NOT_DETECTED};
use crate::ask::words;
use crate::element::Line;
use crate::grid::Mask;
use crate::kind::{Kind, Noise};
use crate::measure::{self, LevelSource, Signal};
use crate::notice::{Fault, OutOfMemory};
use crate::numerics::figure::stated_percent;
use crate::numerics::{order, sums};
use crate::physics::energy_kev;
use crate::pigment::State;
use crate::region::RegionRole;

/// The instrument's own lines vary with the paint: only more than so many times the background is detected. Common practice,
/// no source.
const OWN_LINES: f64 = 1.0;
/// A background of more than so many times what maps beside it in energy usually have may hold the element itself. Common
/// practice, no source.
const STANDS_OUT: f64 = 2.0;
/// An overlap that could give less than this share of the largest is not named.
const MUCH: f64 = 0.2;
/// So many counts in a window may be left there by each count of a harder line: the shelf and tail of a silicon detector.
/// Common practice, no source.
const TAIL: f64 = 5e-4;
/// So much of the strong lines a fit may leave in the area of any other. Common practice, no source.
const OF_FIT: f64 = 5e-3;
/// Maps on either side whose backgrounds it is held against.
const BESIDE: usize = 2;

/// What one map says.
#[derive(Debug, Clone, PartialEq)]
pub struct OfMap {
    /// Its place among the maps of the evidence.
    pub place: usize,
    /// Its line.
    pub line: Line,
    /// Energy of the line in keV.
    pub kev: Option<f64>,
    /// What it says.
    pub state: State,
    /// Why it cannot be judged, as a clause; for *as below* what holds as much.
    pub why: String,
    /// Why lines of other elements make it doubtful, in short ("its counts could be lines of Pb L"); empty where they do not.
    pub overlap: String,
    /// Whether only single pixels of it stand out.
    pub is_specks: bool,
    /// Mean signal of a pixel above background.
    pub net: Option<f64>,
    /// The limit above which it would have been detected, all that was counted taken for signal.
    pub below: Option<f64>,
}

impl OfMap {
    pub(super) fn cannot(&self, why: impl Into<String>) -> Self {
        Self { state: State::CannotBeJudged, why: why.into(), below: None, ..self.clone() }
    }
}

/// What every map of a known line says, in the order of the evidence.
pub(super) fn of_maps(evidence: &Evidence) -> Result<Vec<OfMap>, Fault> {
    let sides = evidence.sides.iter().enumerate();
    let known = sides.filter_map(|(place, side)| Some((place, side, side.line?)));
    known.map(|(place, side, line)| of_map(evidence, place, side, line)).collect()
}

/// The pixels that are asked about.
pub(super) fn mask(evidence: &Evidence, side: &Side) -> Result<Mask, OutOfMemory> {
    match &evidence.asked.mask {
        Some(mask) => Ok(mask.clone()),
        None => Mask::try_filled(side.signal.values.width(), side.signal.values.height(), true),
    }
}

fn of_map(evidence: &Evidence, place: usize, side: &Side, line: Line) -> Result<OfMap, Fault> {
    let blank = OfMap {
        place,
        line,
        kev: energy_kev(line),
        state: State::CannotBeJudged,
        why: String::new(),
        overlap: String::new(),
        is_specks: false,
        net: None,
        below: None,
    };
    if let Some(reason) = refusal(evidence, place, side) {
        return Ok(blank.cannot(reason));
    }
    let rules = evidence.rules();
    let signal = crop(side, &mask(evidence, side)?)?;
    if signal.values.is_empty() {
        return Ok(blank.cannot("there is no pixel"));
    }
    // A ground lies on the support: it is no background for it.
    let own = match is_ground_under_support(evidence, side) {
        true => measure::level(&side.signal, &rules)?.ok(),
        false => None,
    };
    let is_from_below = own.is_none() && is_below(evidence, side);
    let found = closer(&evidence.of_one(side, signal.clone(), own))?;
    let Some(sums) = found.found else { return Ok(blank.cannot(found.reason)) };
    let of_all = match side.level.as_ref().map(|level| level.source) {
        Ok(LevelSource::Stated) => sums.below,
        _ => sums.of_all,
    };
    let here = OfMap { net: Some(sums.net), below: Some(of_all), ..blank };
    let silent = |here: OfMap| match (lost_in_a_fit(side, &here), may_hold(evidence, place, side)) {
        (Some(why), _) => here.cannot(why),
        (None, Some(name)) => OfMap { state: State::AsBelow, why: name, below: None, ..here },
        (None, None) => OfMap { state: State::NotDetected, ..here },
    };
    Ok(match found.word {
        DETECTED => detected(evidence, side, (&signal, &sums), here)?,
        NOT_DETECTED if sums.is_hinted => here.cannot(format!(
            "by counting alone it is more than background, but a background that varies by {} could make that",
            stated_percent(rules.floor)
        )),
        NOT_DETECTED => silent(here),
        // Paint hides what lies below it. Where nothing below holds the element, paint only scatters less: all that is counted
        // is the limit then.
        _ if sums.is_less && is_from_below => silent(here),
        _ => overlapped(evidence, side, &here, &found.reason).unwrap_or_else(|| here.cannot(found.reason)),
    })
}

/// Why a fitted map that is no more than background tells nothing: what the fit gave to a line of the same peak may hold more
/// than its limit. `None` for counts in a window, where an overlap only adds.
fn lost_in_a_fit(side: &Side, here: &OfMap) -> Option<String> {
    let most =
        side.overlaps.by.iter().filter(|by| by.mean.is_finite()).max_by(|a, b| a.mean.total_cmp(&b.mean))?;
    (side.kind.is_parted() && here.below.is_some_and(|below| most.mean > below)).then(|| {
        format!(
            "a fit parted its peak from {}, and an error of that could hide more than the limit of {}",
            most.label,
            side.label()
        )
    })
}

/// Mean of what a map counts in the region above its background, at least 0.
fn net_of(side: &Side) -> Option<f64> {
    let background = side.level.as_ref().ok()?.background;
    let values = side.signal.valid_values().ok()?;
    sums::mean(&values).map(|mean| (mean - background).max(0.0))
}

/// Why a little signal may be no line at all: strong lines leave a tail and a shelf below them, and a fit leaves some of them where
/// it parts peaks. `None` where there is more than that.
fn tail(evidence: &Evidence, side: &Side, net: f64) -> Option<String> {
    let own = energy_kev(side.line?)?;
    let is_fit = side.kind.is_parted();
    let share = if is_fit { OF_FIT } else { TAIL };
    let counts = |other: &&Side| {
        let is_harder = other.line.and_then(energy_kev).is_some_and(|kev| kev > own);
        other.noise() != Noise::Unknown && other.line != side.line && (is_fit || is_harder)
    };
    let others = evidence.sides.iter().filter(counts);
    let mut all: Vec<(f64, &Side)> =
        others.filter_map(|other| Some((net_of(other)?, other))).filter(|(net, _)| net.is_finite()).collect();
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let most: f64 = all.iter().map(|(net, _)| share * net).sum();
    let (_, strongest) = all.first().filter(|_| net < most)?;
    let strongest = strongest.label();
    Some(if is_fit {
        format!("so little of it could be what a fit leaves of strong lines, as {strongest}")
    } else {
        format!(
            "so little of it could be the tail that strong lines, as {strongest}, leave at lower energies in a detector"
        )
    })
}

/// The maps whose lines could give most of what a map counts in the region, the strongest first; empty without overlaps. Maps
/// whose own counts there could be lines of others are named only where the others do not suffice: over lead a map of arsenic is
/// lead itself.
fn by_whom<'e>(evidence: &'e Evidence, side: &'e Side) -> Vec<&'e Interference> {
    let of = |by: &'e Interference| {
        let other = evidence.sides.iter().find(|other| other.label() == by.label);
        let mean = other.and_then(net_of);
        let gives = match (by.share, mean) {
            (Some(share), Some(mean)) => share.high * mean,
            // What has no numbers has no bound.
            _ => f64::INFINITY,
        };
        let is_sure = other.zip(mean).is_some_and(|(other, mean)| other.signal.mean_overlap() < mean);
        (gives, is_sure, by)
    };
    let mut all: Vec<(f64, bool, &Interference)> = side.overlaps.by.iter().map(of).collect();
    let sure: f64 = all.iter().filter(|(_, is_sure, _)| *is_sure).map(|(gives, ..)| gives).sum();
    if sure > 0.0 && net_of(side).is_some_and(|net| net <= sure) {
        all.retain(|(_, is_sure, _)| *is_sure);
    }
    all.sort_by(|a, b| b.0.total_cmp(&a.0));
    let most = all.first().map_or(0.0, |(gives, ..)| *gives);
    all.into_iter().filter(|(gives, ..)| *gives >= MUCH * most).map(|(.., by)| by).take(2).collect()
}

/// The map as one that overlaps make doubtful, where the reason is theirs; `None` where it is another.
fn overlapped(evidence: &Evidence, side: &Side, here: &OfMap, reason: &str) -> Option<OfMap> {
    let by = by_whom(evidence, side);
    let first = by.first().filter(|_| side.overlaps.reason(&side.label()) == reason)?;
    let names: Vec<&str> = by.iter().map(|by| by.label.as_str()).collect();
    let names = words::listed(&names);
    let text = crate::ask::evidence::as_clause(&first.text);
    Some(OfMap {
        overlap: format!("its counts could be lines of {names}"),
        ..here.cannot(format!("all that counts above background could be lines of {names}: {text}"))
    })
}

/// Why nothing can be said of a map, whatever it counts.
fn refusal(evidence: &Evidence, place: usize, side: &Side) -> Option<String> {
    let label = side.label();
    if matches!(side.kind, Kind::Normalised | Kind::Quantified) {
        return Some(format!(
            "{label} was scaled to shares, where one element rises because another falls; open its counts"
        ));
    }
    if !is_free(&evidence.asked.makers, side) {
        return Some(format!(
            "“{}” was made from {label}, and a region is no evidence for what it was chosen by",
            evidence.asked.name
        ));
    }
    let twin = evidence.beside.same.iter().find_map(|&(a, b)| match place {
        _ if place == a => Some(b),
        _ if place == b => Some(a),
        _ => None,
    });
    let twin = twin
        .and_then(|other| evidence.sides.get(other))
        .filter(|other| other.line.map(|line| line.element) != side.line.map(|line| line.element));
    twin.map(|other| {
        format!(
            "{label} and {} hold the same numbers in every pixel, so one of them is named wrongly",
            other.label()
        )
    })
}

fn region_of_background<'e>(evidence: &'e Evidence, side: &Side) -> Option<&'e crate::ask::evidence::Asked> {
    let name = side.background_region.as_ref()?;
    evidence.beside.below.iter().find(|asked| asked.name == *name)
}

fn is_below(evidence: &Evidence, side: &Side) -> bool {
    region_of_background(evidence, side).is_some()
}

/// The background was taken from a ground, and the support is asked about.
fn is_ground_under_support(evidence: &Evidence, side: &Side) -> bool {
    evidence.asked.role == RegionRole::BareSupport.word()
        && side.background_region.is_some()
        && evidence.settings.background.is_none()
}

/// More than the background: is it more than each of support and ground too?
fn detected(
    evidence: &Evidence,
    side: &Side,
    (signal, sums): (&Signal, &Sums),
    here: OfMap,
) -> Result<OfMap, Fault> {
    let rules = evidence.rules();
    if !sums.is_sum {
        let why = format!(
            "only {} of it stand out, while its sum is no more than background; draw a region around these to ask about them",
            words::counted(sums.pixels)
        );
        return Ok(OfMap { is_specks: true, ..here.cannot(why) });
    }
    let background = side.level.as_ref().map_or(0.0, |level| level.background);
    if evidence.beside.known.is_own(here.line) && sums.net < OWN_LINES * background {
        return Ok(here.cannot(format!(
            "the instrument itself gives {}, and what is counted here beyond that is less than it gives",
            here.line
        )));
    }
    let mut least = here;
    for asked in &evidence.beside.below {
        if side.background_region.as_ref() == Some(&asked.name) {
            continue;
        }
        let Some(level) = level_below(side, asked, &rules)? else { continue };
        let level = evidence.change.of_level(level, side.kind, &rules);
        let found = closer(&evidence.of_one(side, signal.clone(), Some(level)))?;
        let name = format!("“{}”", asked.name);
        let as_below = || OfMap { state: State::AsBelow, why: name.clone(), below: None, ..least.clone() };
        match (found.word, found.found) {
            (DETECTED, Some(over)) if over.is_sum => {
                least.net = Some(least.net.map_or(over.net, |net| net.min(over.net)));
            }
            (NOT_DETECTED | DETECTED, _) => return Ok(as_below()),
            (_, Some(over)) if over.is_less => return Ok(as_below()),
            _ => {
                if let Some(doubtful) = overlapped(evidence, side, &least, &found.reason) {
                    return Ok(doubtful);
                }
                return Ok(least.cannot(format!(
                    "it is more than {name} holds if that is uncertain by {}, but not surely if it is by {}",
                    stated_percent(rules.floor),
                    stated_percent(2.0 * rules.floor)
                )));
            }
        }
    }
    // An element that was not measured may give all of it.
    if let Some(why) = side.overlap_doubt() {
        return Ok(OfMap { overlap: why.clone(), ..least.cannot(why) });
    }
    if let Some(why) = least.net.and_then(|net| tail(evidence, side, net)) {
        return Ok(least.cannot(why));
    }
    Ok(OfMap { state: State::Detected, below: None, ..least })
}

/// What may hold the element where it is no more than background: a support or ground that counts more than the quiet part of
/// the field, or a background that stands out from those of the maps beside it in energy. In quotes for a region.
fn may_hold(evidence: &Evidence, place: usize, side: &Side) -> Option<String> {
    let named = |name: &String| format!("“{name}”");
    if let Some(Some(name)) = evidence.beside.held_by.get(place) {
        return Some(named(name));
    }
    let level = side.level.as_ref().ok()?;
    if level.source == LevelSource::Stated {
        return None;
    }
    let own = energy_kev(side.line?)?;
    let mut others: Vec<(f64, f64)> = evidence
        .sides
        .iter()
        .enumerate()
        .filter(|(i, other)| *i != place && other.kind == side.kind)
        .filter(|(_, other)| other.background_region == side.background_region)
        .filter_map(|(_, other)| {
            let kev = energy_kev(other.line?)?;
            Some((kev, other.level.as_ref().ok()?.background))
        })
        .collect();
    others.sort_by(|a, b| a.0.total_cmp(&b.0));
    let at = others.partition_point(|(kev, _)| *kev < own);
    let near = &others[at.saturating_sub(BESIDE)..(at + BESIDE).min(others.len())];
    let mut usual: Vec<f64> = near.iter().map(|(_, background)| background.max(0.0)).collect();
    order::sort(&mut usual);
    let usual = order::quantile(&usual, 0.5)?;
    let scatter = level.pixels.map_or(0.0, |pixels| 3.0 * (level.variance / pixels as f64).sqrt());
    let stands_out = level.background - scatter > STANDS_OUT * usual;
    stands_out.then(|| match &side.background_region {
        Some(name) => named(name),
        None => "the quiet part of the field".into(),
    })
}
