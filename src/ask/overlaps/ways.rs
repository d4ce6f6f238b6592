//! Which lines of which maps come into the peak of a map, and how many counts they bring for each of their own.

use crate::ask::evidence::Subject;
use crate::element::{Element, Family, Line, Member};
use crate::kind::{Kind, Noise};
use crate::physics::{self, Between, Grade, How, Overlap};
use crate::stack::Map;

/// Width of a line at Mn Kα where it is not stated, in electronvolts. Common practice, no source: a silicon detector at a
/// high rate.
pub const WIDTH_EV: f64 = 140.0;
/// Elements whose lines paint, ground, support and metal commonly give. Common practice, no source.
const COMMON: [&str; 20] = [
    "S", "Cl", "K", "Ca", "Ti", "Cr", "Mn", "Fe", "Co", "Ni", "Cu", "Zn", "As", "Cd", "Sn", "Sb", "Ba", "Hg",
    "Pb", "Au",
];
/// A line must bring so many counts for each count of its own element's map to matter where that map is not there.
const MUCH: f64 = 0.3;
/// A share below this matters only where the other map is strong.
pub const LITTLE: f64 = 0.001;
/// Two counts that come at once are at most this share of the counts of a strong line. Common practice, no source.
const PILED_UP: f64 = 0.01;

/// A map whose lines come into the peak of another.
pub struct Way<'a> {
    /// The map.
    pub map: &'a Map,
    /// The nearest of its lines.
    pub nearest: Overlap,
    /// How its lines come in.
    pub how: How,
    /// Counts for each of the map's own, by theory, all its lines together; with what cover and thickness do to lines of
    /// other energy. `None` where the numbers of the two maps cannot be compared.
    pub theory: Option<Between>,
    /// By which share a measured one may be smaller or larger elsewhere.
    pub elsewhere: (f64, f64),
    /// Whether theory bounds a measured share from above: soft lines are weaker in thick paint than in thin.
    pub is_soft: bool,
}

/// An element without a map, a line of which is one peak with the map's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Missing {
    /// Its line there.
    pub line: Line,
    /// How it comes in.
    pub overlap: Overlap,
}

/// The line of an overlap by name: the principal line nearest to where it lies.
pub fn line_of(overlap: &Overlap) -> Line {
    let at = place_kev(overlap);
    let shift = if overlap.how == How::Escape { ESCAPE_KEV } else { 0.0 };
    let near = physics::lines_in_window(at + shift - 0.06, at + shift + 0.06);
    let own = near.into_iter().find(|(line, _)| line.element == overlap.by.element);
    own.map_or(overlap.by, |(line, _)| line)
}

/// The energy that silicon keeps back for a count of its own Kα.
pub const ESCAPE_KEV: f64 = 1.74;

/// Where the interfering peak lies.
fn place_kev(overlap: &Overlap) -> f64 {
    physics::energy_kev(overlap.wanted).unwrap_or(f64::NAN) + overlap.delta_ev / 1000.0
}

/// The line that stands for a map in words: with its strongest member where only the family is known.
pub fn principal(line: Line) -> Line {
    Line { member: line.member.or(line.family.map(|_| Member::Alpha)), ..line }
}

impl<'a> Subject<'a> {
    /// The width of a line at Mn Kα, as stated or assumed.
    pub(in crate::ask) fn width_ev(&self) -> f64 {
        self.known().and_then(|known| known.measuring.resolution_ev).unwrap_or(WIDTH_EV)
    }

    /// The maps whose lines come into the peak of this one: of each element one, that which tells most.
    pub(in crate::ask) fn ways(&self, map: &Map) -> Vec<Way<'a>> {
        let Some(wanted) = usable_line(map) else { return Vec::new() };
        let others: Vec<(&'a Map, Line)> = self
            .maps()
            .iter()
            .filter(|other| lies_on(other, map) && !other.shares_numbers_with(map))
            .filter_map(|other| Some((other, usable_line(other)?)))
            .filter(|(_, line)| line.element != wanted.element)
            .collect();
        let mut lines: Vec<Line> = others.iter().map(|(_, line)| *line).collect();
        lines.sort();
        lines.dedup();
        let found = physics::overlaps(wanted, &lines, self.width_ev());
        let mut elements: Vec<Element> = found.iter().map(|overlap| overlap.by.element).collect();
        elements.sort();
        elements.dedup();
        let mut out = Vec::new();
        for element in elements {
            let of_element = others.iter().filter(|(_, line)| line.element == element);
            let ways = of_element.filter_map(|&(other, line)| way(map, other, &found, line));
            let rank = |way: &Way<'_>| {
                let near =
                    (physics::energy_kev(way.nearest.by).unwrap_or(0.0) - place_kev(&way.nearest)).abs();
                (way.theory.is_none(), way.map.kind.noise() == Noise::Unknown, way.map.kind != map.kind, near)
            };
            let best = ways.min_by(|a, b| {
                let ((a0, a1, a2, a3), (b0, b1, b2, b3)) = (rank(a), rank(b));
                (a0, a1, a2).cmp(&(b0, b1, b2)).then(a3.total_cmp(&b3))
            });
            out.extend(best);
        }
        out
    }

    /// Common elements without a map, whose line is one peak with that of this map.
    pub(in crate::ask) fn missing(&self, map: &Map) -> Vec<Missing> {
        let Some(wanted) = usable_line(map) else { return Vec::new() };
        let kv = self.known().and_then(|known| known.measuring.kv);
        let has_map = |element: Element| {
            self.maps().iter().any(|other| {
                other.field == map.field && usable_line(other).is_some_and(|line| line.element == element)
            })
        };
        let mut out: Vec<Missing> = Vec::new();
        for element in COMMON.into_iter().filter_map(Element::from_symbol) {
            if element == wanted.element || has_map(element) {
                continue;
            }
            let lines = [Family::K, Family::L, Family::M];
            let lines = lines.map(|family| Line { element, family: Some(family), member: None });
            let can_be = |line: &Line| {
                physics::energy_kev(*line).is_some()
                    && kv.is_none_or(|kv| physics::is_excited(*line, kv) != Some(false))
            };
            let lines: Vec<Line> = lines.into_iter().filter(can_be).collect();
            let found = physics::overlaps(wanted, &lines, self.width_ev());
            let one_peak =
                |o: &Overlap| o.how == How::Line && o.grade == Grade::SamePeak && o.share.high >= MUCH;
            let strongest =
                found.into_iter().filter(one_peak).min_by(|a, b| b.share.value.total_cmp(&a.share.value));
            out.extend(strongest.map(|overlap| Missing { line: line_of(&overlap), overlap }));
        }
        out
    }
}

/// The line of an element map; `None` for one without, or without its family.
fn usable_line(map: &Map) -> Option<Line> {
    map.line.filter(|line| map.role.is_none() && line.family.is_some())
}

/// Whether the pixels of a map can be taken over the pixels of another: of one size, or the other binned from such.
fn lies_on(other: &Map, map: &Map) -> bool {
    cells(other, map).is_some()
}

/// Pixels of `other` in one of `map`, across and down; `None` where they do not lie on each other.
pub fn cells(other: &Map, map: &Map) -> Option<(u32, u32)> {
    if other.field != map.field {
        return None;
    }
    if other.has_size_of(map) {
        return Some((1, 1));
    }
    let ((across, down), (width, height)) = (map.cell(), map.plane.size());
    let is_of = |own: u32, cell: u32, of: u32| cell > 0 && of / cell == own;
    let (w, h) = other.plane.size();
    (other.cell() == (1, 1) && is_of(width, across, w) && is_of(height, down, h)).then_some((across, down))
}

/// Whether counts of one are counts of the other.
fn are_comparable(a: Kind, b: Kind) -> bool {
    let counts = |kind| matches!(kind, Kind::Window | Kind::Net | Kind::Fitted);
    (counts(a) && counts(b)) || (a == Kind::Rate && b == Kind::Rate)
}

fn way<'a>(map: &Map, other: &'a Map, found: &[Overlap], line: Line) -> Option<Way<'a>> {
    let own: Vec<&Overlap> = found.iter().filter(|overlap| overlap.by == line).collect();
    // Counts that come at once are taken only where nothing else comes in.
    let rank = |o: &Overlap| match o.how {
        How::Line => 0,
        How::Escape => 1,
        How::Sum(_) => 2,
    };
    let first = own.iter().map(|o| rank(o)).min()?;
    let nearest = **own
        .iter()
        .filter(|o| rank(o) == first)
        .min_by(|a, b| a.grade.cmp(&b.grade).then(b.share.value.total_cmp(&a.share.value)))?;
    let (mut elsewhere, mut is_soft) = ((0.1f64, 0.1f64), false);
    let mut theory = Between { value: 0.0, low: 0.0, high: 0.0 };
    for part in own.iter().filter(|o| first == 2 || rank(o) < 2) {
        let (share, band, soft) = widened(part, map.kind);
        theory.value += share.value;
        theory.low += share.low;
        theory.high += share.high;
        elsewhere = (elsewhere.0.max(band.0), elsewhere.1.max(band.1));
        is_soft |= soft;
    }
    let theory = Some(theory).filter(|_| are_comparable(map.kind, other.kind));
    Some(Way { map: other, nearest, how: nearest.how, theory, elsewhere, is_soft })
}

/// The share of one line with what is not known of it: how wide the window is set or how far the fit parts it, and what cover
/// and thickness do to it beside the line that is mapped. Also by what a measured share may be smaller or larger elsewhere,
/// and whether the line is softer than the mapped one. Our own rules.
fn widened(part: &Overlap, kind: Kind) -> (Between, (f64, f64), bool) {
    let Between { value, low, high } = part.share;
    let (mapped, at) = (physics::energy_kev(part.by).unwrap_or(f64::NAN), place_kev(part));
    let (low, high) = match part.how {
        How::Sum(_) => (0.0, if high.is_finite() && high > 0.0 { high } else { PILED_UP }),
        _ => (low, high),
    };
    // A fit takes lines apart that a window adds up, the better the farther they lie.
    let (low, high) = match (kind, part.grade) {
        (Kind::Window | Kind::Net | Kind::Rate, _) => (low / 1.3, high * 1.3),
        (_, Grade::SamePeak) => (0.0, high),
        (_, Grade::Near) => (0.0, 0.5 * high),
        (_, Grade::Partly) => (0.0, 0.25 * high),
    };
    let by_ratio = |ratio: f64| match ratio {
        r if (0.9..=1.1).contains(&r) => ((1.0, 1.0), (0.1, 0.1), false),
        r if (0.75..=1.3).contains(&r) => ((0.8, 1.25), (0.2, 0.2), false),
        r if r < 1.0 => ((0.0, 1.3), (1.0, 1.0), true),
        _ => ((0.7, 10.0), (0.7, 3.0), false),
    };
    let (times, band, is_soft) = match part.how {
        How::Line => by_ratio(at / mapped),
        How::Escape => ((0.5, 2.0), (0.1, 0.1), false),
        How::Sum(_) => ((0.0, 1.0), (1.0, 2.0), false),
    };
    (Between { value, low: low * times.0, high: high * times.1 }, band, is_soft)
}
