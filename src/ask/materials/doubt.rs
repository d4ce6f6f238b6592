//! Whether counts of a map may be those of another element's line.

use super::states::OfMap;
use crate::ask::evidence::Evidence;
use crate::element::{Element, Family, Line, Member};
use crate::physics::energy_kev;
use crate::pigment::State;

/// Lines nearer than this (keV) are one peak to a detector of the usual resolution. Common practice, no source.
const ONE_PEAK_KEV: f64 = 0.15;
/// Of the line of another element so much may stand in a map, against the counts in its own. Common practice, no source.
const MOST_SHARED: f64 = 1.5;
/// A Kβ line has at most this share of its Kα (METHODS 10.0), β lines of L as much as α.
const K_BETA: f64 = 0.2;
/// Elements that painted objects so commonly hold that their lines are thought of even where they were not measured. Common
/// practice, no source.
const COMMON: [&str; 11] = ["S", "K", "Ca", "Ti", "Mn", "Fe", "Cu", "Zn", "Ba", "Hg", "Pb"];

/// Why the counts of a map that is more than its background may be those of another element, as a clause; `None` where nothing
/// that was detected or not measured has a line there, or where it is too weak to give them.
pub(super) fn doubt_of(evidence: &Evidence, map: &OfMap, all: &[OfMap]) -> Option<String> {
    let own = map.kev?;
    let _ = evidence;
    let others = all.iter().filter(|other| other.line.element != map.line.element);
    for other in others.clone().filter(|other| other.state == State::Detected) {
        if let Some((line, _)) = nearest(other.line.element, own)
            && other.net.zip(map.net).is_none_or(|(by, net)| net < MOST_SHARED * share(line) * by)
        {
            return Some(format!("{line} lies on it"));
        }
    }
    let is_measured = |element: Element| all.iter().any(|map| map.line.element == element);
    let unmeasured = COMMON.iter().filter_map(|symbol| Element::from_symbol(symbol));
    unmeasured
        .filter(|element| *element != map.line.element && !is_measured(*element))
        .find_map(|element| nearest(element, own))
        .map(|(line, _)| format!("{line} lies on it, and {} was not measured", line.element.symbol()))
}

fn share(line: Line) -> f64 {
    match (line.family, line.member) {
        (Some(Family::K), Some(Member::Beta)) => K_BETA,
        _ => 1.0,
    }
}

/// The principal line of an element that lies within one peak of an energy.
fn nearest(element: Element, kev: f64) -> Option<(Line, f64)> {
    let families = [Family::K, Family::L, Family::M];
    let members = [Member::Alpha, Member::Beta];
    let all = families.into_iter().flat_map(|family| {
        members.map(|member| Line { element, family: Some(family), member: Some(member) })
    });
    let near = all.filter_map(|line| Some((line, (energy_kev(line)? - kev).abs())));
    near.filter(|(_, distance)| *distance < ONE_PEAK_KEV).min_by(|a, b| a.1.total_cmp(&b.1))
}
