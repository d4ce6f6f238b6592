//! What else makes two maps rise and fall together, or hides that they do: lines that lie near each other, a third element
//! under both, soft lines under a heavy one.

use crate::ask::evidence::Side;
use crate::element::{Line, Member};
use crate::physics::{energy_kev, lines_in_window};

/// Lines nearer than this (keV) are one peak to a detector of the usual resolution. Common practice, no source.
const ONE_PEAK_KEV: f64 = 0.15;
/// Lines below this energy (keV) hardly come through a layer of a heavy element. Common practice, no source.
const SOFT_KEV: f64 = 5.0;
/// From this atomic number on an element is heavy here (tin and above).
const HEAVY: u8 = 50;

/// What two lines have to do with each other.
#[derive(Debug, Clone, Default, PartialEq)]
pub(in crate::ask) struct Causes {
    /// Why each may hold counts of the other, as a sentence.
    pub overlap: Option<String>,
    /// A weaker line of one lies at the other, as a sentence.
    pub near: Option<String>,
    /// A third element that has lines at both, as a sentence.
    pub third: Option<String>,
    /// Which is weakened where the other is, as a sentence.
    pub shadow: Option<String>,
    /// Both are of one element.
    pub same_element: bool,
}

/// Energies of the lines that a map of this line holds, the strongest first.
fn energies(line: Line) -> Vec<f64> {
    let members = line.member.map_or_else(|| vec![Member::Alpha, Member::Beta], |member| vec![member]);
    members.into_iter().filter_map(|member| energy_kev(Line { member: Some(member), ..line })).collect()
}

fn are_one_peak(one: f64, other: f64) -> bool {
    (one - other).abs() < ONE_PEAK_KEV
}

pub(super) fn causes(a: &Side, b: &Side) -> Causes {
    let (Some(of_a), Some(of_b)) = (a.line, b.line) else { return Causes::default() };
    let (at_a, at_b) = (energies(of_a), energies(of_b));
    let (Some(&first_a), Some(&first_b)) = (at_a.first(), at_b.first()) else { return Causes::default() };
    let (label_a, label_b) = (a.label(), b.label());
    let same_element = of_a.element == of_b.element;
    let is_overlap = are_one_peak(first_a, first_b);
    let overlap = is_overlap.then(|| {
        format!("{label_a} and {label_b} lie so near to each other that counts of one may stand in the map of the other")
    });
    let meets = |one: &[f64], other: f64| one.iter().skip(1).any(|e| are_one_peak(*e, other));
    let near = match (meets(&at_a, first_b), meets(&at_b, first_a)) {
        _ if is_overlap || same_element => None,
        (true, _) => Some((&label_a, &label_b)),
        (_, true) => Some((&label_b, &label_a)),
        _ => None,
    };
    let near = near.map(|(of, at)| {
        format!("A weaker line of {of} lies at {at}: if it was not taken off, {at} holds some counts of {of} and follows it.")
    });
    Causes {
        third: if same_element {
            None
        } else {
            third((of_a, first_a), (of_b, first_b), (&label_a, &label_b))
        },
        shadow: shadow((a, of_a, first_a), (b, of_b, first_b))
            .or_else(|| shadow((b, of_b, first_b), (a, of_a, first_a))),
        overlap,
        near,
        same_element,
    }
}

/// An element other than both that has a principal line at each.
fn third((of_a, at_a): (Line, f64), (of_b, at_b): (Line, f64), labels: (&str, &str)) -> Option<String> {
    let at = |energy: f64| lines_in_window(energy - ONE_PEAK_KEV, energy + ONE_PEAK_KEV);
    let others = at(at_b);
    let mut names: Vec<&'static str> = Vec::new();
    for (line, _) in at(at_a) {
        let is_third = line.element != of_a.element && line.element != of_b.element;
        // Two different lines of it: its L and M, its α and β.
        if is_third
            && others.iter().any(|(other, _)| other.element == line.element && *other != line)
            && !names.contains(&line.element.symbol())
        {
            names.push(line.element.symbol());
        }
    }
    (!names.is_empty()).then(|| {
        format!(
            "{} has lines at both {} and {}: where it is, both maps may hold its counts and rise together without a material of their own.",
            names.join(" or "),
            labels.0,
            labels.1
        )
    })
}

fn shadow(
    (soft, of_soft, energy): (&Side, Line, f64),
    (heavy, of_heavy, _): (&Side, Line, f64),
) -> Option<String> {
    let is_shadow =
        energy < SOFT_KEV && of_heavy.element.number() >= HEAVY && of_soft.element != of_heavy.element;
    is_shadow.then(|| {
        format!(
            "The soft X-rays of {} are swallowed where {} lies over them: {} may be under it and not be seen",
            soft.label(),
            heavy.label(),
            of_soft.element.symbol()
        )
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(text: &str) -> (Line, f64) {
        let line = Line::parse(text).unwrap();
        (line, energies(line)[0])
    }

    #[test]
    fn lead_lies_at_arsenic_and_at_sulphur() {
        let found = third(line("As K"), line("S K"), ("As K", "S K")).unwrap();
        assert!(found.starts_with("Pb has lines at both") || found.contains("Pb"), "{found}");
        assert_eq!(third(line("Cu K"), line("Zn K"), ("Cu K", "Zn K")), None);
    }

    #[test]
    fn near_lines_are_one_peak() {
        assert!(are_one_peak(line("As K").1, line("Pb L").1));
        assert!(are_one_peak(line("Ti K").1, line("Ba L").1));
        assert!(!are_one_peak(line("Fe K").1, line("Mn K").1));
        // Mn Kβ at Fe Kα.
        assert!(energies(line("Mn K").0).iter().any(|e| are_one_peak(*e, line("Fe K").1)));
    }
}
