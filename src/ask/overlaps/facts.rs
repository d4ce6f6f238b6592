//! What known overlaps lead to and how they are checked, in our own words. Energies come from `physics`; this only says what
//! follows on painted objects.

use crate::element::{Element, Line};
use crate::physics::How;

/// What is said of one overlap.
pub struct Said {
    /// What it leads to.
    pub consequence: &'static str,
    /// How to check it.
    pub check: &'static str,
    /// Whether a map without the other's map can say nothing of its element, because the other is so common.
    pub is_ruinous: bool,
    pub basis: &'static str,
    pub source: &'static str,
}

type Row = (&'static str, &'static str, Way, bool, &'static str, &'static str, &'static str);

/// How it comes in.
#[derive(Clone, Copy, PartialEq)]
enum Way {
    Line,
    Escape,
    Sum,
}
use Way::{Escape, Line as L, Sum};

const MEMORY: &str = "from memory";
const PRACTICE: &str = "common practice, no source";
const HANDBOOK: &str =
    "R. E. Van Grieken and A. A. Markowicz (eds), Handbook of X-Ray Spectrometry, 2nd ed., 2002";
const ARTEFACTS: &str =
    "R. Tanaka and others, Artificial peaks in energy dispersive X-ray spectra, X-Ray Spectrometry, 2016";

/// Map, other element, how, whether ruinous, consequence, check, source ("" for common practice).
const ROWS: [Row; 43] = [
    (
        "As K",
        "Pb",
        L,
        true,
        "Lead paint looks like arsenic: a map of As K that copies Pb L shows lead.",
        "Look for As Kβ at 11.73 keV, and hold As K against Pb L where nothing but lead is.",
        HANDBOOK,
    ),
    (
        "Pb L",
        "As",
        L,
        false,
        "An arsenic pigment looks like lead.",
        "Look for Pb Lβ at 12.61 keV or Pb M, which arsenic has not.",
        HANDBOOK,
    ),
    (
        "S K",
        "Pb",
        L,
        true,
        "Sulfur cannot be mapped over lead: Pb M is one peak with it.",
        "Trust S only where Pb L shows no lead.",
        HANDBOOK,
    ),
    (
        "S K",
        "Hg",
        L,
        true,
        "The sulfur of vermilion and of gypsum under it are one peak with Hg M.",
        "Trust S only where Hg L shows no mercury.",
        HANDBOOK,
    ),
    (
        "Pb M",
        "S",
        L,
        true,
        "Sulfates and sulfides look like lead at the surface.",
        "Hold Pb M against Pb L: lead near the surface shows in both.",
        HANDBOOK,
    ),
    (
        "Hg M",
        "S",
        L,
        true,
        "Sulfates and sulfides look like mercury at the surface.",
        "Hold Hg M against Hg L.",
        HANDBOOK,
    ),
    ("Pb M", "Hg", L, false, "Vermilion reaches into Pb M.", "Hold Pb M against Pb L.", ""),
    ("Hg M", "Pb", L, false, "Lead paint reaches into Hg M.", "Hold Hg M against Hg L.", ""),
    (
        "Ti K",
        "Ba",
        L,
        true,
        "Barium white looks like titanium white, and with it a wrong modern date.",
        "Look for Ti Kβ at 4.93 and Ba Lβ at 4.83 keV, or for Ba K at 32 keV with a tube above 40 kV.",
        HANDBOOK,
    ),
    (
        "Ba L",
        "Ti",
        L,
        true,
        "Titanium white looks like barium.",
        "Look for Ba Lβ at 4.83 and Lγ at 5.53 keV, or for Ba K with a tube above 40 kV.",
        HANDBOOK,
    ),
    (
        "K K",
        "Cd",
        L,
        false,
        "Cadmium yellow looks like potassium.",
        "Look for Cd K at 23.2 keV, and Cd Lα at 3.13 keV.",
        HANDBOOK,
    ),
    (
        "Cd L",
        "K",
        L,
        false,
        "Potassium of earths, glass and paper looks like cadmium.",
        "Look for Cd K at 23.2 keV.",
        "",
    ),
    (
        "K K",
        "Sn",
        L,
        false,
        "Lead-tin yellow and tin leaf raise potassium.",
        "Look for Sn K at 25.3 keV.",
        HANDBOOK,
    ),
    (
        "Ca K",
        "Sn",
        L,
        false,
        "Lead-tin yellow and tin leaf raise calcium a little.",
        "Look for Sn K at 25.3 keV; hold Ca against Sn where nothing but lead-tin yellow is.",
        HANDBOOK,
    ),
    (
        "Sn L",
        "Ca",
        L,
        false,
        "Chalk and gypsum hide tin or look like it.",
        "Look for Sn K at 25.3 keV.",
        HANDBOOK,
    ),
    ("Sn L", "K", L, false, "Potassium looks like tin.", "Look for Sn K at 25.3 keV.", ""),
    (
        "Ca K",
        "K",
        L,
        false,
        "Much potassium raises calcium beside it.",
        "Look for Ca Kβ at 4.01 keV.",
        HANDBOOK,
    ),
    ("Ca K", "Sb", L, false, "Lead antimonate raises calcium.", "Look for Sb K at 26.4 keV.", HANDBOOK),
    (
        "Sb L",
        "Ca",
        L,
        false,
        "Chalk and gypsum hide antimony or look like it.",
        "Look for Sb K at 26.4 keV.",
        HANDBOOK,
    ),
    ("Sb L", "K", L, false, "Potassium looks like antimony.", "Look for Sb K at 26.4 keV.", HANDBOOK),
    (
        "V K",
        "Ti",
        L,
        true,
        "Titanium looks like vanadium.",
        "Hold V against Ti where nothing but titanium white is.",
        HANDBOOK,
    ),
    (
        "Cr K",
        "V",
        L,
        false,
        "Vanadium looks like chromium.",
        "Look for V Kα at 4.95 keV, itself beside Ti Kβ.",
        "",
    ),
    (
        "Cr K",
        "Ba",
        L,
        false,
        "Much barium raises chromium.",
        "Look for Cr Kβ at 5.95 keV; hold Cr against Ba in baryte alone.",
        HANDBOOK,
    ),
    (
        "Mn K",
        "Cr",
        L,
        true,
        "Chrome pigments look like manganese.",
        "Does Mn copy Cr? Mn Kβ at 6.49 keV helps only where iron is not.",
        HANDBOOK,
    ),
    ("Fe K", "Mn", L, false, "Much manganese raises iron a little.", "Fit Mn Kα and Kβ together.", HANDBOOK),
    (
        "Co K",
        "Fe",
        L,
        false,
        "Iron makes a ghost of cobalt: a map of Co that copies Fe is none.",
        "Look for Co Kβ at 7.65 keV and for nickel beside it.",
        HANDBOOK,
    ),
    (
        "Ni K",
        "Co",
        L,
        false,
        "Cobalt raises nickel.",
        "A steady Ni for each Co, whatever the passage, is overlap.",
        HANDBOOK,
    ),
    ("Cu K", "Ni", L, false, "Much nickel raises copper a little.", "Fit Ni Kα and Kβ together.", ""),
    (
        "Zn K",
        "Cu",
        L,
        false,
        "Much copper raises zinc a little: a trace of Zn in a copper green may be Cu Kβ.",
        "Look for Zn Kβ at 9.57 keV; hold Zn against Cu where nothing but copper is.",
        HANDBOOK,
    ),
    (
        "Au L",
        "Zn",
        L,
        false,
        "Zinc white and brass look like faint gilding.",
        "Look for Au Lβ at 11.44 keV.",
        HANDBOOK,
    ),
    (
        "Au L",
        "Hg",
        L,
        false,
        "Vermilion beside or under gilding raises gold.",
        "Look for Au Lβ at 11.44 and Hg Lβ at 11.82 keV.",
        HANDBOOK,
    ),
    ("Hg L", "Au", L, false, "Gilding raises mercury.", "Look for Hg Lβ at 11.82 keV.", HANDBOOK),
    (
        "Bi L",
        "Pb",
        L,
        false,
        "Bismuth is a shoulder on lead: a little of it, as in smalt, is lost over lead.",
        "Look for Bi Lβ at 13.02 keV where there is no lead.",
        HANDBOOK,
    ),
    ("Br K", "Hg", L, false, "Vermilion looks like bromine.", "Look for Br Kβ at 13.29 keV.", HANDBOOK),
    (
        "As K",
        "Hg",
        L,
        false,
        "Much vermilion raises arsenic a little.",
        "Is As a faint copy of Hg? As Kβ is no check there, because Hg Lβ touches it.",
        HANDBOOK,
    ),
    (
        "Cl K",
        "Pb",
        L,
        false,
        "Lead M lines lie under chlorine.",
        "Trust Cl only where Pb L shows no lead.",
        HANDBOOK,
    ),
    ("Cl K", "Rh", L, false, "A rhodium tube scatters a false chlorine.", "Measure a blank.", HANDBOOK),
    (
        "P K",
        "Ca",
        Escape,
        false,
        "Much calcium makes a false phosphorus, and with it a false bone black.",
        "The escape peak is a fixed small share of Ca; only P above it counts.",
        ARTEFACTS,
    ),
    ("Fe K", "Cu", Escape, false, "Copper makes a faint false iron.", "Is Fe a faint copy of Cu?", ARTEFACTS),
    ("Co K", "Zn", Escape, false, "Zinc makes a faint false cobalt.", "Is Co a faint copy of Zn?", ARTEFACTS),
    ("Zn K", "Pb", Escape, false, "Lead makes a faint false zinc.", "Is Zn a faint copy of Pb?", ARTEFACTS),
    (
        "Cd K",
        "Pb",
        Sum,
        false,
        "Much lead at a high rate makes a false cadmium.",
        "Does Cd follow Pb squared? Measure slower.",
        ARTEFACTS,
    ),
    (
        "Sn K",
        "Pb",
        Sum,
        false,
        "Much lead at a high rate makes a false tin, and with it a false lead-tin yellow.",
        "Does Sn follow Pb squared? Measure slower.",
        ARTEFACTS,
    ),
];

/// What is said of an overlap; general words for one without an entry of its own.
pub fn said(wanted: Line, by: Element, how: How) -> Said {
    let way = match how {
        How::Line => L,
        How::Escape => Escape,
        How::Sum(_) => Sum,
    };
    let of_family = Line { member: None, ..wanted }.to_string();
    let row = ROWS.iter().find(|row| row.0 == of_family && row.1 == by.symbol() && row.2 == way);
    match row {
        Some(&(_, _, _, is_ruinous, consequence, check, source)) => Said {
            consequence,
            check,
            is_ruinous,
            basis: if source == HANDBOOK {
                MEMORY
            } else if source.is_empty() {
                PRACTICE
            } else {
                "published"
            },
            source,
        },
        None => {
            let (consequence, check) = match way {
                L => (
                    "Counts of the one may stand in the map of the other.",
                    "Look for another line of the element that is asked about, and hold both maps against each other where only the other is.",
                ),
                Escape => (
                    "Where the other is strong, it makes a faint copy of itself.",
                    "Is the map a faint copy of the other? An escape peak is a fixed small share of it.",
                ),
                Sum => (
                    "Where the other is strong and the rate high, it makes a faint false signal.",
                    "Does the map follow the square of the other? Measure slower.",
                ),
            };
            Said { consequence, check, is_ruinous: false, basis: PRACTICE, source: "" }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_row_names_a_line_and_an_element_once() {
        for (i, row) in ROWS.iter().enumerate() {
            assert!(Line::parse(row.0).is_some_and(|line| line.family.is_some()), "{}", row.0);
            assert!(Element::from_symbol(row.1).is_some(), "{}", row.1);
            assert!(!row.4.is_empty() && !row.5.is_empty());
            let same = |other: &&Row| (other.0, other.1) == (row.0, row.1) && other.2 == row.2;
            assert_eq!(ROWS[i + 1..].iter().find(same).map(|other| other.0), None, "{} {}", row.0, row.1);
        }
    }

    #[test]
    fn what_has_no_entry_is_told_in_general_words() {
        let line = Line::parse("Rb Kα").unwrap();
        let uranium = Element::from_symbol("U").unwrap();
        let found = said(line, uranium, How::Line);
        assert!(!found.is_ruinous && found.basis == PRACTICE);
        let arsenic = Line::parse("As Kα").unwrap();
        assert!(said(arsenic, Element::from_symbol("Pb").unwrap(), How::Line).is_ruinous);
    }
}
