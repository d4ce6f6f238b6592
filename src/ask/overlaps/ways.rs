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
/// Counts that come at once matter only where both lines count so much in a pixel. Common practice, no source.
const STRONG: f64 = 1000.0;
/// Lines below this energy (keV) hardly come through a layer of a heavy element. Common practice, no source.
const SOFT_KEV: f64 = 5.0;
/// Elements from this number on have their L lines where those of arsenic, zinc and others lie.
const HEAVY: u8 = 72;
/// A hard line against a soft one under a cover: as good as without bound (Pb Lα / M under 10 µm of vermilion: 400).
const UNBOUNDED: f64 = 400.0;
/// No line of another element is one peak with a line that lies farther off than this (keV).
const ONE_PEAK_KEV: f64 = 0.2;

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
#[derive(Debug, Clone, PartialEq)]
pub struct Missing {
    /// Its element.
    pub element: Element,
    /// Its line there by name.
    pub line: String,
    /// How it comes in.
    pub overlap: Overlap,
    /// What the map is called that only pictures it, and says no counts; empty without one.
    pub picture: String,
}

/// What lies there by name: "Pb Lα".
pub fn line_of(overlap: &Overlap) -> String {
    format!("{} {}", overlap.by.element.symbol(), overlap.via)
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
        let open = lines.iter().filter(|line| may_be_beta(**line));
        let betas: Vec<Line> = open.map(|line| Line { member: Some(Member::Beta), ..*line }).collect();
        lines.extend(betas);
        lines.sort();
        lines.dedup();
        let is_strong = |line: Line| {
            let of_line = others.iter().filter(|(other, own)| {
                let is_of = own.element == line.element && own.family == line.family;
                is_of && other.kind.noise() != Noise::Unknown
            });
            of_line
                .map(|(other, _)| other)
                .any(|other| other.stats.near_high.is_some_and(|high| high >= STRONG))
        };
        let matters = |overlap: &Overlap| match overlap.how {
            // Of one element with itself: for two of them to come at once both must be strong in one pixel.
            How::Sum(with) => {
                overlap.grade != Grade::Partly && with.element == overlap.by.element && is_strong(overlap.by)
            }
            _ => true,
        };
        let found = physics::overlaps(wanted, &lines, self.width_ev());
        let found: Vec<Overlap> = found.into_iter().filter(matters).collect();
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

    /// Every map that is looked at to say what comes into the peak of this one: all of the elements whose lines come in, and of
    /// those that would be missed if they had no map.
    pub(in crate::ask) fn reached(&self, map: &Map) -> Vec<&'a Map> {
        let mut elements: Vec<Element> = self.ways(map).iter().map(|way| way.nearest.by.element).collect();
        let at = usable_line(map).and_then(physics::energy_kev);
        let near =
            at.map(|at| physics::lines_in_window(at - ONE_PEAK_KEV, at + ONE_PEAK_KEV)).unwrap_or_default();
        elements.extend(near.iter().map(|(line, _)| line.element));
        let is_reached =
            |other: &&Map| usable_line(other).is_some_and(|line| elements.contains(&line.element));
        self.maps().iter().filter(is_reached).collect()
    }

    /// Common elements without a map, whose line is one peak with that of this map.
    pub(in crate::ask) fn missing(&self, map: &Map) -> Vec<Missing> {
        let Some(wanted) = usable_line(map) else { return Vec::new() };
        let Some(at) = physics::energy_kev(wanted) else { return Vec::new() };
        let near = physics::lines_in_window(at - ONE_PEAK_KEV, at + ONE_PEAK_KEV);
        let kv = self.known().and_then(|known| known.measuring.kv);
        let has_map = |element: Element| {
            self.maps().iter().any(|other| {
                // A picture of a map does not say how much there is.
                other.field == map.field
                    && other.kind.noise() != Noise::Unknown
                    && usable_line(other).is_some_and(|line| line.element == element)
            })
        };
        let mut out: Vec<Missing> = Vec::new();
        for element in COMMON.into_iter().filter_map(Element::from_symbol) {
            let of_element = near.iter().filter(|(line, _)| line.element == element);
            let mut lines: Vec<Line> = of_element.map(|(line, _)| Line { member: None, ..*line }).collect();
            lines.sort();
            lines.dedup();
            lines.retain(|line| kv.is_none_or(|kv| physics::is_excited(*line, kv) != Some(false)));
            if lines.is_empty() || element == wanted.element || has_map(element) {
                continue;
            }
            let found = physics::overlaps(wanted, &lines, self.width_ev());
            let one_peak =
                |o: &Overlap| o.how == How::Line && o.grade == Grade::SamePeak && o.share.high >= MUCH;
            let strongest =
                found.into_iter().filter(one_peak).min_by(|a, b| b.share.value.total_cmp(&a.share.value));
            let picture = self.maps().iter().find(|other| {
                other.field == map.field && usable_line(other).is_some_and(|line| line.element == element)
            });
            let picture = picture.map(Map::label).unwrap_or_default();
            out.extend(strongest.map(|overlap| Missing {
                element,
                line: line_of(&overlap),
                overlap,
                picture,
            }));
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
    (a.is_like_counts() && b.is_like_counts()) || (a == Kind::Rate && b == Kind::Rate)
}

fn way<'a>(map: &Map, other: &'a Map, found: &[Overlap], line: Line) -> Option<Way<'a>> {
    let own = found.iter().filter(|overlap| overlap.by == line);
    // Counts that come at once are taken only where nothing else comes in.
    let rank = |o: &Overlap| match o.how {
        How::Line => 0,
        How::Escape => 1,
        How::Sum(_) => 2,
    };
    let nearest = *own.clone().min_by(|a, b| rank(a).cmp(&rank(b)).then(a.grade.cmp(&b.grade)))?;
    let (mut elsewhere, mut is_soft) = ((0.1f64, 0.1f64), false);
    let mut theory = Between { value: 0.0, low: 0.0, high: 0.0 };
    for part in own.filter(|o| matches!(nearest.how, How::Sum(_)) || rank(o) < 2) {
        let Elsewhere { down, up, is_softer, is_in_theory } = elsewhere_of(part);
        let beta = Line { member: Some(Member::Beta), ..line };
        let on_beta = found.iter().find(|o| o.by == beta && o.how == part.how).map(|o| o.share);
        let share = on_beta.filter(|_| may_be_beta(line)).map_or(part.share, |beta| Between {
            low: part.share.low.min(beta.low),
            high: part.share.high.max(beta.high),
            ..part.share
        });
        let (less, more) = if is_in_theory { (1.0, 1.0) } else { (1.0 - down, 1.0 + up) };
        // A fit that takes lines apart may leave anything from nothing to all of it.
        let low = if matches!(map.kind, Kind::Fitted) { 0.0 } else { share.low * less };
        theory = Between {
            value: theory.value + share.value,
            low: theory.low + low,
            high: theory.high + share.high * more,
        };
        elsewhere = (elsewhere.0.max(down), elsewhere.1.max(up));
        is_soft |= is_softer;
    }
    let theory = Some(theory).filter(|_| are_comparable(map.kind, other.kind));
    Some(Way { map: other, nearest, how: nearest.how, theory, elsewhere, is_soft })
}

/// What cover, depth and thickness do to a share.
struct Elsewhere {
    /// By which share a measured one may be smaller.
    down: f64,
    /// And larger.
    up: f64,
    /// Whether the line is softer than the mapped one and of another family: weaker in thick paint than in thin.
    is_softer: bool,
    /// Whether the library's share knows of this already.
    is_in_theory: bool,
}

/// By which share a measured share may be smaller or larger under other paint. The line that is mapped itself keeps its share.
/// Lines of one family change against each other: L lines of heavy elements by less than a factor of 1.6 (Pb Lα / Lβ under 20 µm of
/// vermilion, whose edge lies between them), Kα / Kβ by 1.3 (Fe under 10 µm of lead white), soft ones by 1.5 where they come out at all; lines of
/// other families as the library has it. Computed with xraylib 4.3.0 for layers of 40 % pigment by volume.
fn elsewhere_of(part: &Overlap) -> Elsewhere {
    let mapped = Line { member: part.by.member.or(Some(Member::Alpha)), ..part.by };
    let is_family = part.by.family_text().chars().next() == part.via.chars().next();
    let of = |down, up| Elsewhere { down, up, is_softer: false, is_in_theory: !is_family };
    let kev = physics::energy_kev(part.by).unwrap_or(0.0);
    match part.how {
        How::Sum(_) => Elsewhere { is_in_theory: true, ..of(1.0, 2.0) },
        // Not known whether it is set on Lα or Lβ.
        _ if is_family && may_be_beta(part.by) => of(0.4, 0.6),
        _ if mapped.family_text() == part.via => of(0.1, 0.1),
        _ if is_family && part.by.family == Some(Family::L) && kev > SOFT_KEV => of(0.4, 0.6),
        _ if is_family && part.by.family == Some(Family::K) && kev < SOFT_KEV => of(0.4, 0.5),
        _ if is_family && part.by.family == Some(Family::K) => of(0.3, 0.35),
        _ if is_family => of(0.2, 0.2),
        _ if place_kev(part) < kev => Elsewhere { is_softer: true, ..of(1.0, 1.0) },
        _ => of(1.0, UNBOUNDED),
    }
}

/// Whether a map of an L family may as well be set on Lβ: of the heavy elements, whose Lα others lie on.
fn may_be_beta(line: Line) -> bool {
    line.member.is_none() && line.family == Some(Family::L) && line.element.number() >= HEAVY
}
