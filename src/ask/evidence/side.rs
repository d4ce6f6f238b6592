//! One map of the evidence: what it is, its values, its background.

use super::{Asked, Change, Overlaps, Subject, doubt};
use crate::ask::answer::Input;
use crate::ask::settings::{Background, MapBackground, Settings};
use crate::ask::words;
use crate::element::Line;
use crate::kind::{Kind, Noise};
use crate::measure::{Level, Refusal, Rules, Signal, is_uneven, level, level_of_region, stated_level};
use crate::notice::Fault;
use crate::region::Region;
use crate::stack::{Map, MapId};
use std::collections::BTreeMap;

/// A map as a question sees it.
#[derive(Debug, Clone)]
pub struct Side {
    /// Its id.
    pub id: MapId,
    /// How it was made.
    pub kind: Kind,
    /// Element and line, where they are known.
    pub line: Option<Line>,
    /// Its values, saturated pixels and errors, with the region that is asked about.
    pub signal: Signal,
    /// Background and critical level; or why there is none, as a clause that names the map.
    pub level: Result<Level, String>,
    /// Whether the quiet part that was taken for background is itself uneven.
    pub is_uneven: bool,
    /// Name of the region from which the background was taken, if it was.
    pub background_region: Option<String>,
    /// The map that suggested the question, for which this one is tested.
    pub stands_for: Option<String>,
    /// The maps that were read which its numbers come from.
    pub roots: Vec<MapId>,
    /// Saturated pixels in the whole map.
    pub saturated: u64,
    /// What lines of other elements could give in it.
    pub overlaps: Overlaps,
    /// A value from which on the caller takes it for detected.
    pub presence: Option<f64>,
    /// How an answer names it.
    pub input: Input,
}

impl Side {
    /// What it is called.
    pub fn label(&self) -> String {
        self.input.label.clone()
    }

    /// How its noise is known.
    pub fn noise(&self) -> Noise {
        self.kind.noise()
    }

    /// Its background under other rules; a threshold stated by hand stays.
    pub fn level_under(&self, rules: &Rules) -> Option<Level> {
        let level = self.level.as_ref().ok()?.under(rules, self.kind);
        Some(with_presence(level, self.presence, self.kind, rules))
    }
}

fn with_presence(level: Level, presence: Option<f64>, kind: Kind, rules: &Rules) -> Level {
    presence.filter(|p| p.is_finite()).map_or(level, |threshold| level.with_threshold(threshold, kind, rules))
}

pub(super) fn side(
    subject: &Subject<'_>,
    named: &Map,
    settings: &Settings,
    (asked, place): (&Asked, u64),
    (change, before): (Change, Option<&Side>),
) -> Result<Side, Fault> {
    let (map, stands_for) = match settings.held_out.get(named.id.as_str()) {
        None => (named, None),
        Some(other) => (held_out(subject, named, other)?, Some(named.label())),
    };
    let seed = settings.seed.unwrap_or(1);
    let signal = change.signal(Signal::of(map)?, seed, place);
    let rules = change.rules(settings.rules());
    let presence =
        settings.presence.get(map.id.as_str()).or_else(|| settings.presence.get(named.id.as_str()));
    let presence = presence.map(|&value| change.stated(value));
    let (level, background_region) = match before.filter(|_| change != Change::HalfTheCounts) {
        Some(before) => {
            let level = match &before.level {
                Ok(_) => before.level_under(&rules).ok_or_else(String::new),
                Err(reason) => Err(reason.clone()),
            };
            (level, before.background_region.clone())
        }
        // Zones rest on no critical level, and finding one takes a while.
        None if settings.is_of_zones() => (Err("zones rest on no background".into()), None),
        None => {
            let (found, region) = background(subject, map, &signal, settings, (&rules, change))?;
            let level = found.map(|level| with_presence(level, presence, map.kind, &rules));
            (level.map_err(|refusal| words::refused(refusal, &map.label())), region)
        }
    };
    let is_uneven = match (before.filter(|_| change != Change::HalfTheCounts), &level) {
        (Some(before), _) => before.is_uneven,
        (None, Ok(level)) => is_uneven(&signal, level, &rules)?,
        (None, Err(_)) => false,
    };
    let (doubt, overlaps) = match before {
        Some(before) => (Side::doubt_in(before, change), before.overlaps.clone()),
        None if settings.is_of_zones() => (None, Overlaps::default()),
        None => {
            doubt::of(subject, (map, &signal, level.as_ref().ok()), asked.mask.as_ref(), (settings, &rules))?
        }
    };
    let level = level.map(|level| change.level(level, map.kind, &rules));
    let signal = Signal { region: asked.mask.clone(), doubt, ..signal };
    Ok(Side {
        id: map.id.clone(),
        kind: map.kind,
        line: map.line,
        signal,
        level,
        is_uneven,
        background_region,
        stands_for,
        roots: map.roots().to_vec(),
        saturated: map.stats.saturated,
        overlaps,
        presence,
        input: Input {
            id: map.id.to_string(),
            label: map.label(),
            kind: map.kind.word().into(),
            file: map.source.file.clone(),
            page: map.source.page,
            file_sha256: map.source.sha256.clone(),
        },
    })
}

/// The map on which another is tested: of the same element, measured apart, of the same size.
fn held_out<'a>(subject: &Subject<'a>, named: &Map, other: &str) -> Result<&'a Map, Fault> {
    let map = subject.find(other)?;
    let element = |map: &Map| map.line.map(|line| line.element);
    let (one, two) = (named.label(), map.label());
    if element(named).is_none() || element(named) != element(map) {
        return Err(Fault::bad_setting(format!(
            "{two} cannot be held out for {one}: both must be of one element."
        )));
    }
    if map.may_hold_the_counts_of(named) {
        return Err(Fault::bad_setting(format!(
            "{two} cannot be held out for {one}: both are the same line, perhaps of the same counts. Choose another line of the element, or say in the names which detector each is of."
        )));
    }
    if named.shares_numbers_with(map) {
        return Err(Fault::bad_setting(format!(
            "{two} cannot be held out for {one}: they have numbers from the same map. Choose another line or detector."
        )));
    }
    if let Some(fault) = named.misfit(map) {
        return Err(fault);
    }
    Ok(map)
}

/// The background of a map beside those that are asked about, as evidence would take it; `None` without one.
///
/// # Errors
/// No memory.
pub(in crate::ask) fn level_for(
    subject: &Subject<'_>,
    map: &Map,
    signal: &Signal,
    settings: &Settings,
    (rules, change): (&Rules, Change),
) -> Result<Option<Level>, Fault> {
    // A region named for the maps that are asked about may be made from this one, or lie on another grid.
    let named = match &settings.background {
        Some(Background::Region(name)) => Some(subject.region(name)?),
        _ => None,
    };
    let is_of_use = named.is_none_or(|region| {
        !map.roots().iter().any(|root| region.makers.contains(root)) && subject.mask_on(region, map).is_ok()
    });
    let plain;
    let settings = if is_of_use {
        settings
    } else {
        plain = Settings { background: None, ..settings.clone() };
        &plain
    };
    Ok(background(subject, map, signal, settings, (rules, change))?.0.ok())
}

type Found = (Result<Level, Refusal>, Option<String>);

/// The background that the caller names, else a region whose role gives one, else the rule.
fn background(
    subject: &Subject<'_>,
    map: &Map,
    signal: &Signal,
    settings: &Settings,
    (rules, change): (&Rules, Change),
) -> Result<Found, Fault> {
    let stated = match &settings.background {
        Some(Background::Region(name)) => Some(MapBackground::Region(name.clone())),
        Some(Background::ByMap(by_map)) => by_map.get(map.id.as_str()).cloned(),
        None => None,
    };
    match stated {
        Some(MapBackground::Value(value)) => {
            return Ok((stated_level(signal, change.stated(value), rules)?, None));
        }
        Some(MapBackground::Region(name)) => {
            return from_region(subject, subject.region(&name)?, map, signal, rules);
        }
        None => {}
    }
    // Never one that this map itself made: the darkest part of a map is darker than its background. One that is taken as pure in
    // an element holds that element, and counts of it in the maps of others.
    let is_free = |region: &&Region| {
        region.role.gives_background()
            && region.pure.is_none()
            && Some(&region.id) != settings.region.as_ref()
            && !map.roots().iter().any(|root| region.makers.contains(root))
    };
    let mut free: Vec<&Region> = subject.regions.iter().filter(is_free).collect();
    // A chosen reference first, then bare support, then ground; the first of several.
    let rank = |region: &Region| match region.role {
        crate::region::RegionRole::Reference => 0,
        crate::region::RegionRole::BareSupport => 1,
        _ => 2,
    };
    free.sort_by_key(|region| rank(region));
    for region in free {
        if subject.mask_on(region, map).is_ok()
            && let (Ok(found), name) = from_region(subject, region, map, signal, rules)?
        {
            return Ok((Ok(found), name));
        }
    }
    Ok((level(signal, rules)?, None))
}

fn from_region(
    subject: &Subject<'_>,
    region: &Region,
    map: &Map,
    signal: &Signal,
    rules: &Rules,
) -> Result<Found, Fault> {
    if map.roots().iter().any(|root| region.makers.contains(root)) {
        return Ok((Err(Refusal::MadeOfIt), Some(region.name.clone())));
    }
    let mask = subject.mask_on(region, map)?;
    let found = level_of_region(signal, &mask, rules)?;
    Ok((found, Some(region.name.clone())))
}

pub(super) fn background_by_id(subject: &Subject<'_>, background: &Background) -> Result<Background, Fault> {
    let region = |name: &String| subject.region(name).map(|region| region.id.clone());
    Ok(match background {
        Background::Region(name) => Background::Region(region(name)?),
        Background::ByMap(by_map) => {
            let mut out = BTreeMap::new();
            for (name, one) in by_map {
                let one = match one {
                    MapBackground::Value(value) => MapBackground::Value(*value),
                    MapBackground::Region(name) => MapBackground::Region(region(name)?),
                };
                out.insert(subject.find(name)?.id.to_string(), one);
            }
            Background::ByMap(out)
        }
    })
}
