//! Which line an energy window holds.

use super::facts::emissions;
use super::names::principal_group;
use super::table::PRINCIPAL;
use crate::element::{Element, Line, Member};

/// Elements that scans of painted and metal objects commonly show, argon of the air and rhodium of the tube included.
/// Common practice, no source.
const COMMON: [&str; 32] = [
    "Al", "Si", "P", "S", "Cl", "Ar", "K", "Ca", "Ti", "Cr", "Mn", "Fe", "Co", "Ni", "Cu", "Zn", "As", "Se",
    "Br", "Sr", "Zr", "Rh", "Ag", "Cd", "Sn", "Sb", "I", "Ba", "Au", "Hg", "Pb", "Bi",
];

/// The line of an energy window.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum WindowLine {
    /// One line is meant.
    One(Line),
    /// These are in it, the nearest to its middle first; which one is meant is to be asked.
    Candidates(Vec<Line>),
    /// No principal line is in it.
    Nothing,
}

/// Principal lines with their energies in keV, in the order of atomic number.
fn principal() -> impl Iterator<Item = (Line, f64)> {
    PRINCIPAL.iter().filter_map(|&(z, family, member, xraylib, xraydb)| {
        let line = Line { element: Element::from_number(z)?, family: Some(family), member: Some(member) };
        Some((line, if xraylib.is_nan() { xraydb } else { xraylib }))
    })
}

/// Energy in keV of the strongest component (Kα1, Kβ1, Lα1, Lβ1, Mα1) of a line; for a family without member that of
/// its α line. For lines outside the table the strongest of that member that [`emissions`] has. `None` where neither
/// has one or the family is not given.
pub fn energy_kev(line: Line) -> Option<f64> {
    let wanted = Line { member: line.member.or(Some(Member::Alpha)), ..line };
    let listed = principal().find(|(known, _)| *known == wanted).map(|found| found.1);
    listed.or_else(|| {
        let group = principal_group(line.family?, line.member);
        let lines = emissions(line.element).into_iter().filter(|e| e.group == group);
        lines.max_by(|a, b| a.rate.total_cmp(&b.rate)).map(|e| e.kev)
    })
}

/// Principal lines whose energy (keV) lies in the window, both ends included, the nearest to its middle first. Empty
/// for a window whose ends are not numbers or not in order.
pub fn lines_in_window(low_kev: f64, high_kev: f64) -> Vec<(Line, f64)> {
    let middle = f64::midpoint(low_kev, high_kev);
    let mut found: Vec<(Line, f64)> =
        principal().filter(|(_, energy)| (low_kev..=high_kev).contains(energy)).collect();
    // Equal distances keep the order of the table.
    found.sort_by(|a, b| (a.1 - middle).abs().total_cmp(&(b.1 - middle).abs()));
    found
}

/// The line that a window is set on (ends in keV).
///
/// One is believed only where a single α line (K, L or M) of a commonly seen element is inside, it stands in the middle
/// half, and no β line of such an element is nearer to the middle. Else everything inside is a candidate.
pub fn line_of_window(low_kev: f64, high_kev: f64) -> WindowLine {
    let inside = lines_in_window(low_kev, high_kev);
    if inside.is_empty() {
        return WindowLine::Nothing;
    }
    let common: Vec<&(Line, f64)> =
        inside.iter().filter(|(line, _)| COMMON.contains(&line.element.symbol())).collect();
    let is_alpha = |line: &Line| line.member == Some(Member::Alpha);
    if let Some((line, energy)) = common.first()
        && is_alpha(line)
        && common.iter().filter(|(line, _)| is_alpha(line)).count() == 1
        && (energy - f64::midpoint(low_kev, high_kev)).abs() <= (high_kev - low_kev) / 4.0
    {
        return WindowLine::One(*line);
    }
    WindowLine::Candidates(inside.into_iter().map(|(line, _)| line).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(text: &str) -> Line {
        Line::parse(text).unwrap()
    }

    #[test]
    fn two_libraries_agree() {
        // xraylib 4.3.0 and xraydb 4.5.8. 8 eV is the largest difference of these lines (U Mα, 7.2 eV); K of U
        // differs by 6 eV; all others by 6 eV or less, most below 1 eV.
        let mut compared = 0;
        for (z, family, member, xraylib, xraydb) in PRINCIPAL {
            if xraylib.is_nan() || xraydb.is_nan() {
                assert_eq!((z, family, member), (12, crate::element::Family::K, Member::Beta));
                continue;
            }
            assert!((xraylib - xraydb).abs() < 0.008, "{z} {family:?} {member:?}: {xraylib} {xraydb}");
            compared += 1;
        }
        assert_eq!(compared, PRINCIPAL.len() - 1);
    }

    #[test]
    fn energies_are_those_of_handbooks() {
        // Kα1, Lα1, Mα1 as in the X-ray data booklets, from memory, to 10 eV.
        for (text, kev) in [
            ("S Kα", 2.31),
            ("Ca Kα", 3.69),
            ("Ti Kα", 4.51),
            ("Fe Kα", 6.40),
            ("Fe Kβ", 7.06),
            ("Cu Kα", 8.05),
            ("Zn Kα", 8.64),
            ("As Kα", 10.54),
            ("Pb Lα", 10.55),
            ("Hg Lα", 9.99),
            ("Au Lα", 9.71),
            ("Pb Lβ", 12.61),
            ("Pb Mα", 2.35),
            ("Sn Kα", 25.27),
            ("Sn Lα", 3.44),
        ] {
            let got = energy_kev(line(text)).unwrap();
            assert!((got - kev).abs() < 0.01, "{text}: {got}");
        }
        assert_eq!(energy_kev(line("Fe K")), energy_kev(line("Fe Kα")));
        assert_eq!(energy_kev(line("Fe")), None);
        assert_eq!(energy_kev(line("H K")), None);
    }

    #[test]
    fn the_table_is_in_order_and_has_physical_order() {
        // Moseley's law: within one line the energy grows with the atomic number.
        for (i, a) in PRINCIPAL.iter().enumerate() {
            for b in &PRINCIPAL[i + 1..] {
                assert!(a.0 <= b.0 && (a.0, a.1, a.2) != (b.0, b.1, b.2));
                if a.1 == b.1 && a.2 == b.2 && !a.3.is_nan() {
                    assert!(a.3 < b.3, "{a:?} {b:?}");
                }
            }
        }
        let elements: std::collections::BTreeSet<u8> = PRINCIPAL.iter().map(|p| p.0).collect();
        assert_eq!(elements.len(), 47);
        for symbol in COMMON {
            assert!(elements.contains(&Element::from_symbol(symbol).unwrap().number()), "{symbol}");
        }
    }

    #[test]
    fn a_window_is_named_only_where_one_line_is_meant() {
        for (low, high, want) in [
            (6.25, 6.55, "Fe Kα"),
            (3.62, 3.78, "Ca Kα"),
            (7.9, 8.2, "Cu Kα"),
            (8.5, 8.8, "Zn Kα"),
            (5.75, 6.05, "Mn Kα"),
            (9.9, 10.1, "Hg Lα"),
        ] {
            assert_eq!(line_of_window(low, high), WindowLine::One(line(want)), "{low}-{high}");
        }
        // Both in one window; on the shoulder; a β line in the middle; only a line that few see.
        for (low, high, candidate) in [
            (10.4, 10.7, "As Kα"),
            (10.4, 10.7, "Pb Lα"),
            (2.2, 2.45, "S Kα"),
            (2.2, 2.45, "Pb Mα"),
            (6.38, 6.9, "Fe Kα"),
            (6.9, 7.2, "Fe Kβ"),
            (4.4, 4.6, "Ba Lα"),
            (3.6, 3.8, "Sb Lα"),
            (14.9, 15.0, "Y Kα"),
            (0.5, 100.0, "Fe Kα"),
        ] {
            match line_of_window(low, high) {
                WindowLine::Candidates(lines) => {
                    assert!(lines.contains(&line(candidate)), "{low}-{high}: {lines:?}")
                }
                other => panic!("{low}-{high}: {other:?}"),
            }
        }
        assert_eq!(line_of_window(0.2, 0.4), WindowLine::Nothing);
        assert_eq!(line_of_window(f64::NAN, 7.0), WindowLine::Nothing);
        assert_eq!(line_of_window(7.0, 6.0), WindowLine::Nothing);
        assert_eq!(line_of_window(f64::NEG_INFINITY, -1.0), WindowLine::Nothing);
    }

    #[test]
    fn lines_of_a_window_come_nearest_first() {
        let names: Vec<String> = lines_in_window(6.3, 7.2).iter().map(|(line, _)| line.to_string()).collect();
        // Distances from 6.75: Co 0.18, Mn Kβ 0.26, Fe Kβ 0.308, Fe Kα 0.346.
        assert_eq!(names, ["Co Kα", "Mn Kβ", "Fe Kβ", "Fe Kα"]);
    }
}
