//! Whether counts of a map may be those of another element's line.

use super::states::OfMap;
use crate::ask::evidence::Evidence;
use crate::element::{Element, Family, Line};
use crate::physics::{Grade, How, Overlap, overlaps};
use crate::pigment::State;

/// Width of a line at Mn Kα (eV) where it is not stated. Common practice, no source.
const USUAL_WIDTH_EV: f64 = 140.0;
/// More than what overlaps could give at most, by so much: two maps of one window scatter against each other. Common practice,
/// no source.
const MARGIN: f64 = 1.1;
/// A line that was not measured must bring so many counts for each of its own to be thought of.
const MUCH: f64 = 0.3;
/// Elements that painted objects so commonly hold that their lines are thought of even where they were not measured. Common
/// practice, no source.
const COMMON: [&str; 6] = ["K", "Ca", "Ti", "Ba", "Hg", "Pb"];

/// Why the counts of a map that is more than its background may be those of another element, as a clause; `None` where nothing
/// that may be there has a line there, or where it is too weak to give them. Only what is surely not there gives nothing.
pub(super) fn doubt_of(evidence: &Evidence, map: &OfMap, all: &[OfMap]) -> Option<String> {
    let width = evidence.beside.known.measuring.resolution_ev.unwrap_or(USUAL_WIDTH_EV);
    let others: Vec<&OfMap> = all
        .iter()
        .filter(|other| other.line.element != map.line.element && other.state != State::NotDetected)
        .collect();
    let lines: Vec<Line> = others.iter().map(|other| other.line).collect();
    let (mut sum, mut most) = (0.0, None::<(f64, Overlap)>);
    for overlap in overlaps(map.line, &lines, width) {
        let by = others.iter().find(|other| other.line == overlap.by)?;
        let gives = match by.net {
            Some(net) => overlap.share.high * net.max(0.0),
            None if overlap.grade == Grade::SamePeak && overlap.how == How::Line => f64::INFINITY,
            None => 0.0,
        };
        sum += gives;
        if most.as_ref().is_none_or(|(largest, _)| gives > *largest) {
            most = Some((gives, overlap));
        }
    }
    if let Some((_, overlap)) = most
        && map.net.is_none_or(|net| net < MARGIN * sum)
    {
        return Some(lies(&overlap));
    }
    let is_measured = |element: Element| all.iter().any(|map| map.line.element == element);
    let unmeasured = COMMON.iter().filter_map(|symbol| Element::from_symbol(symbol));
    let lines: Vec<Line> = unmeasured
        .filter(|element| *element != map.line.element && !is_measured(*element))
        .flat_map(|element| {
            [Family::K, Family::L, Family::M].map(|family| Line {
                element,
                family: Some(family),
                member: None,
            })
        })
        .collect();
    let found = overlaps(map.line, &lines, width).into_iter().find(|overlap| {
        overlap.grade == Grade::SamePeak && overlap.how == How::Line && overlap.share.value >= MUCH
    });
    found.map(|overlap| format!("{}, and {} was not measured", lies(&overlap), overlap.by.element.symbol()))
}

/// "Pb Lα lies on it".
fn lies(overlap: &Overlap) -> String {
    let symbol = overlap.by.element.symbol();
    match overlap.how {
        How::Line => format!("{symbol} {} lies on it", overlap.via),
        How::Escape => format!("the escape peak of {symbol} {} lies on it", overlap.via),
        How::Sum(other) => format!("the pile-up of {symbol} {} with {other} lies on it", overlap.via),
    }
}
