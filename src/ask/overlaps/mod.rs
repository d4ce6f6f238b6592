//! Line warnings: overlaps, escape peaks and pile-up among the maps of a stack, how much they matter, what follows from them and
//! how to check. The same facts stand behind every question as a doubt about single pixels ([`super::evidence`]).

mod facts;
mod share;
mod view;
mod ways;
mod words;

pub(super) use facts::said;
pub(super) use share::{Share, held, most, share};
pub use view::overlap_view;
pub(super) use ways::{Missing, Way};
pub(super) use words::{missing_text, share_text, way_text};

use super::answer::Number;
use super::evidence::{Change, Subject, level_for};
use super::settings::Settings;
use crate::measure::Signal;
use crate::notice::Fault;
use crate::numerics::counting::Interval;
use crate::physics::{Grade, How};
use crate::stack::Map;
use serde::Serialize;

/// A line of another element in the peak of a map.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LineWarning {
    /// The map that is warned of, by id.
    pub map: String,
    /// The line that comes in ("Pb Lα").
    pub by: String,
    /// The map of its element, by id; `None` where there is none.
    pub by_map: Option<String>,
    /// "line", "escape" or "sum".
    pub how: &'static str,
    /// "same peak", "near" or "partly".
    pub grade: &'static str,
    /// Counts of the map for each count of the other: measured with its interval, or by theory between its ends.
    pub share: Number,
    /// Name of the region taken as pure in which it was measured.
    pub measured_in: Option<String>,
    /// What lies where, and how much it may be.
    pub text: String,
    /// What it leads to.
    pub consequence: String,
    /// How to check it.
    pub check: String,
    /// What the consequence and the check rest on.
    pub basis: &'static str,
    /// Their source; empty without one.
    pub source: &'static str,
    /// In two words, for the sheet.
    pub mark: String,
}

/// How an overlap comes in, as a word.
fn how_word(how: How) -> &'static str {
    match how {
        How::Line => "line",
        How::Escape => "escape",
        How::Sum(_) => "sum",
    }
}

fn grade_word(grade: Grade) -> &'static str {
    match grade {
        Grade::SamePeak => "same peak",
        Grade::Near => "near",
        Grade::Partly => "partly",
    }
}

/// "overlap Pb", "escape Cu", "pile-up Ca".
fn mark(how: How, symbol: &str) -> String {
    let word = match how {
        How::Line => "overlap",
        How::Escape => "escape",
        How::Sum(_) => "pile-up",
    };
    format!("{word} {symbol}")
}

/// Maps of more pixels are not looked at for a warning, which is to come at once; questions look at every pixel.
const FEW_PIXELS: u64 = 1_000_000;

/// Every warning that matters, map by map, the nearest line first.
///
/// # Errors
/// No memory.
pub fn overlaps(subject: &Subject<'_>) -> Result<Vec<LineWarning>, Fault> {
    let settings = Settings::default();
    let rules = settings.rules();
    let mut out = Vec::new();
    for map in subject.maps() {
        let ways = subject.ways(map);
        let is_small = u64::from(map.plane.size().0) * u64::from(map.plane.size().1) <= FEW_PIXELS;
        let may_be_measured = |way: &Way<'_>| {
            (is_small && way.theory.is_some_and(|share| share.high > share::LARGE))
                || subject.regions().iter().any(|region| region.pure == Some(way.nearest.by.element))
        };
        // Pixels are looked at only where a share can be measured.
        let own = if ways.iter().any(may_be_measured) {
            let signal = Signal::of(map)?;
            let level = level_for(subject, map, &signal, &settings, (&rules, Change::Nothing))?;
            Some((signal, level))
        } else {
            None
        };
        let mut of_map = Vec::new();
        for way in &ways {
            let found = match own.as_ref().filter(|_| may_be_measured(way)) {
                Some((signal, level)) => {
                    let other = held(subject, map, way, &settings, &rules)?;
                    share(subject, (map, signal, level.as_ref()), (way, &other), (&settings, &rules))?
                }
                None => Share { used: way.theory, measured: None, at_most: None },
            };
            if matters(way, &found) {
                of_map.push((way.nearest.grade, warning(map, way, &found)));
            }
        }
        for missing in subject.missing(map) {
            of_map.push((Grade::SamePeak, warning_of_missing(map, &missing)));
        }
        of_map.sort_by_key(|(grade, warning)| (warning.how != "line", *grade));
        out.extend(of_map.into_iter().map(|(_, warning)| warning));
    }
    Ok(out)
}

/// Marks of a map for the sheet: what may be seen in it.
pub fn marks(subject: &Subject<'_>, map: &Map) -> Vec<String> {
    let symbol = |element: crate::element::Element| element.symbol();
    let mut out: Vec<String> = Vec::new();
    for way in subject.ways(map) {
        let found = Share { used: way.theory, measured: None, at_most: None };
        if is_seen(map, &way) && matters(&way, &found) {
            out.push(mark(way.how, symbol(way.nearest.by.element)));
        }
    }
    let ruinous = subject.missing(map).into_iter();
    let ruinous = ruinous.filter(|m| said(m.overlap.wanted, m.element, How::Line).is_ruinous);
    out.extend(ruinous.map(|m| mark(How::Line, symbol(m.element))));
    out
}

/// The most that is counted in a map, but for a few pixels.
fn strongest(map: &Map) -> f64 {
    let most = map.stats.high.unwrap_or(0.0);
    map.stats.near_high.unwrap_or(0.0).max(0.1 * most)
}

/// Whether a way is to be warned of: at least a count in the other's strong pixels, or a fifth of one that is a thousandth of
/// the other.
fn matters(way: &Way<'_>, found: &Share) -> bool {
    let Some(share) = found.used else { return way.nearest.grade != Grade::Partly };
    let counts = share.high * strongest(way.map);
    counts >= 1.0 || (share.high >= ways::LITTLE && counts >= 0.2)
}

/// Whether it is worth a mark: where it could make much of what the map shows.
fn is_seen(map: &Map, way: &Way<'_>) -> bool {
    let Some(share) = way.theory else { return way.nearest.grade == Grade::SamePeak };
    share.high * strongest(way.map) >= 3.0 + 0.1 * strongest(map)
}

fn number(found: &Share) -> Number {
    let between = |share: crate::physics::Between| Interval { low: share.low, high: share.high };
    match (&found.measured, found.used) {
        (Some((measured, _)), used) => {
            Number::of(measured.value, "").within(Some(measured.counting), used.map(between))
        }
        (None, Some(share)) => Number::of(share.value, "").within(None, Some(between(share))),
        (None, None) => Number::or_reason(None, "", "the numbers of the two maps cannot be compared"),
    }
}

fn warning(map: &Map, way: &Way<'_>, found: &Share) -> LineWarning {
    let by = way.nearest.by.element;
    let said = said(way.nearest.wanted, by, way.how);
    LineWarning {
        map: map.id.to_string(),
        by: ways::line_of(&way.nearest),
        by_map: Some(way.map.id.to_string()),
        how: how_word(way.how),
        grade: grade_word(way.nearest.grade),
        share: number(found),
        measured_in: found.measured.as_ref().map(|(_, region)| region.clone()),
        text: format!("{} {}", way_text(&way.nearest), share_text(map, way, found)),
        consequence: said.consequence.into(),
        check: said.check.into(),
        basis: said.basis,
        source: said.source,
        mark: mark(way.how, by.symbol()),
    }
}

fn warning_of_missing(map: &Map, missing: &Missing) -> LineWarning {
    let said = said(missing.overlap.wanted, missing.element, How::Line);
    let share = missing.overlap.share;
    LineWarning {
        map: map.id.to_string(),
        by: missing.line.clone(),
        by_map: None,
        how: how_word(How::Line),
        grade: grade_word(missing.overlap.grade),
        share: Number::of(share.value, "").within(None, Some(Interval { low: share.low, high: share.high })),
        measured_in: None,
        text: format!("{}.", missing_text(missing)),
        consequence: said.consequence.into(),
        check: said.check.into(),
        basis: said.basis,
        source: said.source,
        mark: mark(How::Line, missing.element.symbol()),
    }
}
