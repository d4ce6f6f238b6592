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
    /// The lines of its element that lie there ("Lα", "Mα"): perhaps of another family than the map's. Of a sum the
    /// lines of `by`.
    pub via: &'static str,
    /// How they come there.
    pub how: How,
    /// How near.
    pub grade: Grade,
    /// Energy of what lies there less that of the wanted line, eV.
    pub delta_ev: f64,
    /// Counts in the wanted line's window for each count in the window of `by`'s own line. From bare thin layers
    /// under the usual excitations, for windows of half and of a whole width to each side, and lines up to 30 eV
    /// wider than stated. Where the lines there are of another family than the map, cover and depth decide, and the
    /// range is wide. A fitted map may hold anything from nothing to this. A region that holds `by` alone is the
    /// better measure.
    pub share: Between,
}

/// Smallest share that is told.
const LEAST: f64 = 2e-4;
/// Pile-up of two lines: at most this for each count of the first. It depends on the rate, which is not known here;
/// rejection of pile-up normally keeps it below (common practice, no source).
const SUM_MOST: f64 = 0.01;

/// The line with a family: where only the element is named the K lines up to tin, else the L lines.
fn with_family(line: Line) -> Line {
    let family = line.family.unwrap_or(if line.element.number() <= 50 { Family::K } else { Family::L });
    Line { family: Some(family), ..line }
}

/// What lies on a line, from the lines of other maps: lines of their elements (also of families without a map of
/// their own), escape peaks of a silicon detector, and sums of the lines that two of the maps are set on. Two maps of
/// one family each tell the whole of it: their shares don't add up. The nearest first: by grade, then by share. Lines
/// of the wanted element itself are left out, and what gives less than 0.02 %. Where a line names no family the K
/// lines are meant up to tin, else the L lines. Nothing for a wanted line outside 0.9 to 40 keV.
///
/// `width_at_mn_ev` is the detector's width at manganese Kα. Whether a tube excites the lines is not asked here
/// ([`super::is_excited`]).
pub fn overlaps(wanted: Line, others: &[Line], width_at_mn_ev: f64) -> Vec<Overlap> {
    let mut out = Vec::new();
    let Some(kev) = set_on_kev(with_family(wanted)) else { return out };
    let window = Window { kev, width_at_mn_ev };
    let others: Vec<(Line, Line)> =
        others.iter().filter(|by| by.element != wanted.element).map(|by| (*by, with_family(*by))).collect();
    for (by, full) in &others {
        // Lines of a family that has a map of its own are told by that map.
        let is_mapped = |family: Family| {
            let mut same = others.iter().filter(|(_, other)| other.element == full.element);
            same.any(|(_, other)| other.family == Some(family))
        };
        let families: Vec<Family> = [Family::K, Family::L, Family::M]
            .into_iter()
            .filter(|family| full.family == Some(*family) || !is_mapped(*family))
            .collect();
        let found = |how, falls: Falls| {
            let Falls { share, via, delta_ev, grade } = falls;
            Overlap { wanted, by: *by, via, how, grade, delta_ev, share }
        };
        let direct = window.falls(*full, &families, &|at| Some((at, Between::exactly(1.0))));
        out.extend(direct.map(|falls| found(How::Line, falls)));
        let escaped = window.falls(*full, &families, &|at| Some((at - SI_KEV, escape_share(at)?)));
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::physics::family_lines;

    fn line(text: &str) -> Line {
        Line::parse(text).unwrap()
    }

    fn on(wanted: &str, others: &[&str]) -> Vec<Overlap> {
        let others: Vec<Line> = others.iter().map(|text| line(text)).collect();
        overlaps(line(wanted), &others, 135.0)
    }

    #[test]
    fn one_peak() {
        let found = on("As K", &["Pb L", "Fe K"]);
        assert_eq!((found[0].via, found[0].how, found[0].grade), ("Lα", How::Line, Grade::SamePeak));
        assert!(found[0].delta_ev > 5.0 && found[0].delta_ev < 12.0);
        assert!(found[0].share.low > 0.9 && found[0].share.high < 1.1);
        // Its Kβ is free of lead: that is how to check.
        assert!(on("As Kβ", &["Pb L"]).iter().all(|o| o.grade != Grade::SamePeak || o.share.high < 0.05));
        assert!(on("Ni K", &["Pb L"]).iter().all(|o| o.how != How::Line));
    }

    #[test]
    fn lines_of_another_family_than_the_map() {
        // Sulphur under lead is met by the M lines, also where only the L lines are mapped.
        let found = on("S K", &["Pb L"]);
        assert_eq!((found[0].via, found[0].grade), ("Mα", Grade::SamePeak));
        assert_eq!(found[0].share.low, 0.0);
        assert!(found[0].share.high > 1.0);
        // Where the M lines have a map of their own, that map tells.
        let found = on("S K", &["Pb L", "Pb M"]);
        assert!(
            found.iter().filter(|o| o.how == How::Line).all(|o| o.by == line("Pb M") && o.share.low > 0.5)
        );
        // And chlorine by the L lines of a rhodium anode.
        assert_eq!(on("Cl K", &["Rh K"])[0].via, "Lα");
    }

    #[test]
    fn copper_in_zinc() {
        // 6.0e-4 of copper's counts in a window of 0.6 widths, computed from the normal distribution; a fit is worse.
        let found = on("Zn K", &["Cu K"]);
        assert_eq!((found[0].via, found[0].grade), ("Kβ", Grade::Partly));
        assert!((found[0].share.value - 6.0e-4).abs() < 2e-5 && found[0].share.low == 0.0);
        assert!(found[0].share.high > 0.005);
    }

    #[test]
    fn escape_peaks() {
        // Cu Kα less 1.740 keV is 6.301 keV, beside Fe Kα at 6.400.
        let found = on("Fe K", &["Cu K"]);
        let escape = found.iter().find(|o| o.how == How::Escape).unwrap();
        assert!((escape.delta_ev + 98.0).abs() < 3.0 && escape.grade == Grade::Near);
        assert!(escape.share.high < 0.01 && escape.share.low > 0.0);
        // About 1 % of calcium, 0.1 % of copper (common practice, no source).
        assert!(escape_share(3.69).is_some_and(|s| s.low < 0.01 && s.high > 0.01));
        assert!(escape_share(8.04).is_some_and(|s| s.low < 0.001 && s.high > 0.001));
        assert!(escape_share(1.5).is_none() && escape_share(f64::NAN).is_none());
    }

    #[test]
    fn sums_have_a_grade_and_no_number() {
        // Fe Kα twice is 12.80 keV; K Kα and Ca Kα are 7.00 keV, beside Co Kα at 6.925.
        let found = on("Co K", &["K K", "Ca K", "Pb L"]);
        let sum = found.iter().find(|o| o.how == How::Sum(line("Ca K")) && o.by == line("K K")).unwrap();
        assert!((sum.delta_ev - 78.0).abs() < 4.0 && sum.grade == Grade::Near);
        assert_eq!((sum.share.low, sum.share.value), (0.0, 0.0));
        let found = on("Pb Lβ", &["Fe K"]);
        assert!(found.iter().any(|o| o.how == How::Sum(line("Fe K"))));
    }

    #[test]
    fn nothing_of_the_element_itself_and_nothing_unknown() {
        assert!(on("Pb M", &["Pb L", "Pb Lβ"]).is_empty());
        assert!(on("Pb K", &["Bi L"]).is_empty());
        assert!(on("H K", &["Bi L"]).is_empty());
        assert!(on("As K", &["H K", "Pb K"]).is_empty());
        // Without a family the usual one.
        assert_eq!(on("As", &["Pb"])[0].via, "Lα");
        assert_eq!(on("As", &["Pb"])[0].wanted, line("As"));
    }

    #[test]
    fn lines_of_a_family_beside_the_mapped_one() {
        let lines = family_lines(line("Pb L"));
        let of = |name: &str| lines.iter().find(|l| l.0.name == name).unwrap().1;
        let alpha = of("La1").value + of("La2").value;
        assert!((alpha - 1.0).abs() < 1e-9);
        // Lβ1 of lead is about two thirds of Lα (handbook tables of relative intensities, from memory: 66 of 111).
        assert!(of("Lb1").low < 0.7 && of("Lb1").high > 0.5 && of("Lb1").low > 0.3, "{:?}", of("Lb1"));
        assert!(family_lines(line("Pb")).is_empty() && family_lines(line("H K")).is_empty());
    }

    #[test]
    fn every_pair_of_lines_has_sane_shares() {
        let lines: Vec<Line> = [
            "Al K", "S K", "Cl K", "K K", "Ca K", "Ti K", "Ba L", "Mn K", "Fe K", "Co K", "Cu K", "Zn K",
            "Au L", "Hg L", "Pb L", "Pb M", "As K", "Bi L", "Sr K", "Ag L", "Cd L", "Sn L", "Sb L", "Rh L",
        ]
        .map(line)
        .to_vec();
        for wanted in &lines {
            for o in overlaps(*wanted, &lines, 140.0) {
                let Between { value, low, high } = o.share;
                assert!(0.0 <= low && low <= value && value <= high && high.is_finite(), "{o:?}");
                assert!(o.by.element != wanted.element && o.delta_ev.is_finite() && !o.via.is_empty());
            }
        }
    }
}
