//! A small knowledge made for tests of the logic, and passages to read with it. Formulas and years of the trade, from
//! memory; the real data have their own tests.

mod dates;
mod points;
mod properties;
mod reading;
mod relations;
mod sets;

use super::material::{
    Alike, Basis, Colour, Fact, Knowledge, Material, Often, Settle, Source, Stands, Technique, Use,
};
use super::passage::{Found, Passage, Reach, Related, Relation, Seen, State};
use super::read::read_with;
use super::reading::{MaterialReading, PassageReading, Verdict};
use super::relation::RelationReading;
use crate::element::Element;

use Colour::{Black, Blue, Green, Orange, Red, White, Yellow};
use Use::{Companion, Lake, Later, Pigment};

pub(super) fn e(symbol: &str) -> Element {
    Element::from_symbol(symbol).unwrap()
}

fn es(symbols: &str) -> Vec<Element> {
    symbols.split_whitespace().map(e).collect()
}

fn fact(text: &'static str, basis: Basis) -> Fact {
    Fact { text, basis, sources: vec!["made"] }
}

type Row = (
    &'static str,
    Use,
    &'static [Colour],
    &'static str, // key
    &'static str, // must
    &'static str, // often
    Option<i32>,
    Option<i32>,
    &'static str, // alike
);

const ROWS: [Row; 34] = [
    ("azurite", Pigment, &[Blue], "Cu", "Cu", "Ba Fe Zn As Pb", Some(-2500), Some(1800), "malachite"),
    ("blue_verditer", Pigment, &[Blue], "Cu", "Cu", "Ca", Some(1300), Some(1850), "azurite"),
    ("ultramarine_natural", Pigment, &[Blue], "S Ca Cl", "", "Fe", Some(500), None, ""),
    ("smalt", Pigment, &[Blue], "Co K", "Co", "Ni As Bi Fe", Some(1450), Some(1820), ""),
    ("cobalt_blue", Pigment, &[Blue], "Co", "Co", "As Ni", Some(1804), None, "smalt"),
    ("cerulean_blue", Pigment, &[Blue], "Co Sn", "Co Sn", "", Some(1860), None, ""),
    ("prussian_blue", Pigment, &[Blue], "Fe K", "Fe", "Ca", Some(1706), None, ""),
    ("indigo", Lake, &[Blue], "", "", "Ca K Fe", None, None, ""),
    ("malachite", Pigment, &[Green], "Cu", "Cu", "Zn As Sb Ca", None, Some(1850), "azurite"),
    ("malachite_rosasite", Pigment, &[Green], "Cu Zn", "Cu Zn", "As", Some(1100), Some(1850), ""),
    ("verdigris", Pigment, &[Green], "Cu", "Cu", "Cl Zn", Some(-300), Some(1850), ""),
    ("brass_green", Pigment, &[Green], "Cu Zn Cl", "Cu Zn", "Pb", Some(1200), Some(1800), ""),
    ("scheeles_green", Pigment, &[Green], "Cu As", "Cu As", "", Some(1775), Some(1870), ""),
    ("chromium_oxide", Pigment, &[Green], "Cr", "Cr", "Fe", Some(1810), None, ""),
    ("green_earth", Pigment, &[Green], "Fe K", "Fe", "Ti Mn Cr", Some(-300), None, ""),
    ("orpiment", Pigment, &[Yellow], "As S", "As", "Sb Fe", None, Some(1880), "realgar"),
    ("realgar", Pigment, &[Orange], "As S", "As", "Sb", None, Some(1850), "orpiment"),
    ("lead_tin_yellow_i", Pigment, &[Yellow], "Pb Sn", "Pb Sn", "", Some(1400), Some(1750), ""),
    ("massicot", Pigment, &[Yellow], "Pb", "Pb", "Sn", None, Some(1900), ""),
    ("chrome_yellow", Pigment, &[Yellow], "Pb Cr S", "Pb Cr", "Ba Zn", Some(1810), None, ""),
    ("yellow_ochre", Pigment, &[Yellow], "Fe", "Fe", "K Ti Ca Mn", None, None, "red_ochre"),
    ("red_ochre", Pigment, &[Red], "Fe", "Fe", "K Ti Ca Mn", None, None, ""),
    ("umber", Pigment, &[Colour::Brown], "Fe Mn", "Fe Mn", "K Ti", None, None, ""),
    ("vermilion", Pigment, &[Red], "Hg S", "Hg", "Pb", None, Some(1950), ""),
    ("red_lead", Pigment, &[Orange, Red], "Pb", "Pb", "", Some(-300), None, ""),
    ("red_lake_alum", Lake, &[Red], "Ca", "", "K S", Some(1000), Some(1900), ""),
    ("carbon_black", Pigment, &[Black], "", "", "K Ca", None, None, ""),
    ("manganese_black", Pigment, &[Black], "Mn Fe", "Mn", "Ba", None, Some(1950), ""),
    ("lead_white", Pigment, &[White], "Pb", "Pb", "Ca", Some(-400), None, ""),
    ("chalk", Companion, &[White], "Ca", "Ca", "Sr", None, None, ""),
    ("zinc_white", Pigment, &[White], "Zn", "Zn", "Pb", Some(1782), None, ""),
    ("barium_sulfate", Companion, &[White], "Ba S", "Ba", "Sr", Some(1782), None, ""),
    ("titanium_white_rutile", Pigment, &[White], "Ti", "Ti", "Ba Zn", Some(1938), None, ""),
    ("conservation_fills", Later, &[], "Ti Zn Ba Ca Cr", "", "Pb", Some(1800), None, ""),
];

fn material(row: &Row) -> Material {
    let (id, used_as, colours, key, must, often, from, to, alike) = *row;
    let often = es(often).into_iter();
    let is_proxy = id == "ultramarine_natural";
    Material {
        id,
        name: id,
        other_names: Vec::new(),
        used_as,
        colours: colours.to_vec(),
        formulas: Vec::new(),
        composition: fact("", Basis::Memory),
        key: es(key),
        must: es(must),
        often: often.map(|element| Often { element, fact: fact("it comes with it", Basis::Found) }).collect(),
        invisible: Vec::new(),
        stands: if is_proxy {
            vec![Stands {
                element: e("K"),
                stands_for: es("Al Si"),
                fact: fact("mica and feldspar of the rock", Basis::Practice),
            }]
        } else {
            Vec::new()
        },
        from,
        to,
        years: fact("years", Basis::Memory),
        is_start_weak: id == "brass_green",
        alike: alike
            .split_whitespace()
            .map(|other| Alike {
                id: ROWS.iter().find(|row| row.0 == other).unwrap().0,
                fact: fact("the same elements", Basis::Reasoned),
            })
            .collect(),
        settle: [
            (Technique::Raman, id != "chalk"),
            (Technique::Reflectance, false),
            (Technique::PointXrf, true),
        ]
        .into_iter()
        .map(|(technique, identifies)| Settle { technique, fact: fact("a band", Basis::Memory), identifies })
        .collect(),
        hazard: if must.contains("Pb") { "toxic" } else { "" },
    }
}

fn relation(id: &'static str, a: &str, b: &str, relation: Relation) -> RelationReading {
    RelationReading {
        id,
        a: e(a),
        b: e(b),
        relation,
        with: Vec::new(),
        without: Vec::new(),
        colours: Vec::new(),
        reading: fact("This is what it suggests", Basis::Practice),
        alternatives: vec!["another thing", "a third"],
        next: "Look at it",
        materials: Vec::new(),
    }
}

/// Made once and never freed: readings hold materials for as long as the program runs.
pub(super) fn knowledge() -> &'static Knowledge {
    static MADE: std::sync::OnceLock<Knowledge> = std::sync::OnceLock::new();
    MADE.get_or_init(|| Knowledge {
        layers: Vec::new(),
        materials: ROWS.iter().map(material).collect(),
        relations: vec![
            relation("mn_alone", "Mn", "Fe", Relation::MoreThanAccompanies),
            relation("mn_fe", "Mn", "Fe", Relation::Together),
            RelationReading { with: es("Pb"), ..relation("sn_pb", "Sn", "Pb", Relation::Together) },
            RelationReading {
                without: es("Zn"),
                colours: vec![Green],
                ..relation("co_alone", "Co", "Ni", Relation::MoreThanAccompanies)
            },
        ],
        sources: vec![Source { id: "made", text: "Made for tests", is_from_memory: false }],
    })
}

fn seen(symbol: &str, state: State) -> Seen {
    Seen {
        element: e(symbol),
        label: format!("{symbol} K"),
        state,
        why: if state == State::CannotBeJudged { "overlap of Pb".to_owned() } else { String::new() },
        mean: None,
        below: (state == State::NotDetected).then_some(2.5),
        below_share: (state == State::NotDetected).then_some(0.01),
        reach: Reach::Hard,
        no_exclusion: String::new(),
    }
}

/// A passage out of "Cu Pb=below Co=not As=open S=soft Fe=under": nothing beside an element says that it is detected.
pub(super) fn passage(text: &str) -> Passage {
    let mut elements: Vec<Seen> = text
        .split_whitespace()
        .map(|part| match part.split_once('=') {
            None => seen(part, State::Detected),
            Some((symbol, "below")) => seen(symbol, State::AsBelow),
            Some((symbol, "not")) => seen(symbol, State::NotDetected),
            Some((symbol, "open")) => seen(symbol, State::CannotBeJudged),
            Some((symbol, "soft")) => Seen { reach: Reach::Soft, ..seen(symbol, State::NotDetected) },
            Some((symbol, "under")) => {
                Seen { no_exclusion: "lead lies over it".to_owned(), ..seen(symbol, State::NotDetected) }
            }
            Some((_, word)) => panic!("no such word: {word}"),
        })
        .collect();
    elements.sort_by_key(|seen| seen.element);
    Passage { elements, ..Passage::default() }
}

fn looks(colour: Colour, text: &str) -> Passage {
    Passage { colour: Some(colour), ..passage(text) }
}

fn related(mut passage: Passage, relations: &[(&str, &str, Relation)]) -> Passage {
    passage.relations = relations
        .iter()
        .map(|(a, b, relation)| Related {
            a: e(a),
            b: e(b),
            relation: *relation,
            sentence: format!("{a} against {b}, 3 of 4"),
        })
        .collect();
    passage
}

fn found(mut passage: Passage, results: &[(&str, Technique, &str, Option<bool>)]) -> Passage {
    passage.found = results
        .iter()
        .map(|(point, technique, material, is_found)| Found {
            point: (*point).to_owned(),
            technique: *technique,
            material: (*material).to_owned(),
            is_found: *is_found,
        })
        .collect();
    passage
}

fn read(passage: &Passage) -> PassageReading {
    read_with(passage, knowledge())
}

fn row<'a>(reading: &'a PassageReading, id: &str) -> &'a MaterialReading {
    reading.materials.iter().find(|row| row.material.id == id).unwrap_or_else(|| panic!("no row of {id}"))
}

fn has(reading: &PassageReading, id: &str) -> bool {
    reading.materials.iter().any(|row| row.material.id == id)
}

fn is_consistent(reading: &PassageReading, id: &str) -> bool {
    has(reading, id) && row(reading, id).verdict == Verdict::Consistent
}

fn says(reading: &MaterialReading, text: &str) -> bool {
    reading.reasons.iter().any(|reason| reason.text.contains(text))
}
