//! Which lines lie on a line, and how much they could give.

use super::facts::Between;
use super::falls::{Falls, SI_KEV, Window, escape_share, set_on_kev};
use super::names::principal_group;
use crate::element::{Family, Line};

/// How counts of one element come into another's line.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum How {
    /// A line of it lies there.
    Line,
    /// A line of it less 1.740 keV, which silicon Kα carries out of the detector.
    Escape,
    /// Two photons counted as one, with this other line.
    Sum(Line),
}

/// How near, in widths at half maximum.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// Below 0.5: one peak.
    SamePeak,
    /// 0.5 to 1: parted only by fitting with a second line.
    Near,
    /// 1 to 2: depends on the fit.
    Partly,
}

impl Grade {
    /// Of a distance in widths; `None` from 2 on.
    pub(super) fn of(widths: f64) -> Option<Self> {
        match widths {
            w if w < 0.5 => Some(Self::SamePeak),
            w if w < 1.0 => Some(Self::Near),
            w if w < 2.0 => Some(Self::Partly),
            _ => None,
        }
    }
}

/// An overlap that matters for a line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overlap {
    /// The line that is wanted.
    pub wanted: Line,
    /// The other map's line.
    pub by: Line,
    /// The lines of its element that lie there ("Lα", "Mα"): perhaps of another family than the map's. Of a sum the lines of `by`.
    pub via: &'static str,
    /// How they come there.
    pub how: How,
    /// How near.
    pub grade: Grade,
    /// Energy of what lies there less that of the wanted line, eV.
    pub delta_ev: f64,
    /// Counts in the wanted line's window for each count in the window of `by`'s own line. From bare thin layers under the usual
    /// excitations, for windows of half and of a whole width to each side, and lines up to 30 eV wider than stated. Where the lines there are of another
    /// family than the map, cover and depth decide, and the range is wide. A fitted map may hold anything from nothing to this. A region that
    /// holds `by` alone is the better measure.
    pub share: Between,
}

/// Smallest share that is told.
const LEAST: f64 = 2e-4;
/// Pile-up of two lines: at most this for each count of the first. It depends on the rate, which is not known here; rejection
/// of pile-up normally keeps it below (common practice, no source).
const SUM_MOST: f64 = 0.01;

/// The line with a family: where only the element is named the K lines up to tin, else the L lines.
fn with_family(line: Line) -> Line {
    let family = line.family.unwrap_or(if line.element.number() <= 50 { Family::K } else { Family::L });
    Line { family: Some(family), ..line }
}

/// What lies on a line, from the lines of other maps: lines of their elements (of every family), escape peaks of a silicon detector, and
/// sums of the lines that two of the maps are set on. The nearest first: by grade, then by share. Lines of the wanted element itself
/// are left out, and what gives less than 0.02 %. Where a line names no family the K lines are meant up to tin, else the L lines. Nothing for a
/// wanted line outside 0.9 to 40 keV.
///
/// `width_at_mn_ev` is the detector's width at manganese Kα. Whether a tube excites the lines is not asked here ([`super::is_excited`]).
pub fn overlaps(wanted: Line, others: &[Line], width_at_mn_ev: f64) -> Vec<Overlap> {
    let mut out = Vec::new();
    let Some(kev) = set_on_kev(with_family(wanted)) else { return out };
    let window = Window { kev, width_at_mn_ev };
    let others: Vec<(Line, Line)> =
        others.iter().filter(|by| by.element != wanted.element).map(|by| (*by, with_family(*by))).collect();
    for (by, full) in &others {
        let found = |how, falls: Falls| {
            let Falls { share, via, delta_ev, grade } = falls;
            Overlap { wanted, by: *by, via, how, grade, delta_ev, share }
        };
        let direct = window.falls(*full, &|at| Some((at, Between::exactly(1.0))));
        out.extend(direct.map(|falls| found(How::Line, falls)));
        let escaped = window.falls(*full, &|at| Some((at - SI_KEV, escape_share(at)?)));
        out.extend(escaped.map(|falls| found(How::Escape, falls)));
    }
    out.retain(|overlap| overlap.share.high >= LEAST);
    for (at, (by, full)) in others.iter().enumerate() {
        for (second, full_second) in others.iter().skip(at) {
            let (Some(a), Some(b)) = (set_on_kev(*full), set_on_kev(*full_second)) else { continue };
            let Some(grade) = Grade::of(window.widths_off(a + b)) else { continue };
            out.push(Overlap {
                wanted,
                by: *by,
                via: full.family.map_or("", |family| principal_group(family, full.member)),
                how: How::Sum(*second),
                grade,
                delta_ev: (a + b - kev) * 1000.0,
                share: Between { value: 0.0, low: 0.0, high: SUM_MOST },
            });
        }
    }
    out.sort_by(|a, b| a.grade.cmp(&b.grade).then(b.share.high.total_cmp(&a.share.high)));
    out
}
