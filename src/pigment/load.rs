//! The data files, read once. They are part of the program, and a test reads every one: a fault in them never reaches a user.

use super::layer::{Layer, LayerPart};
use super::material::{
    Alike, Basis, Colour, Fact, Knowledge, Material, Often, Settle, Source, Stands, Technique, Use,
};
use super::passage::Relation;
use super::relation::RelationReading;
use crate::element::Element;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::OnceLock;

const MATERIALS: [&str; 4] = [
    include_str!("data/blue_green.json"),
    include_str!("data/yellow_red_brown.json"),
    include_str!("data/white_black.json"),
    include_str!("data/metals_and_companions.json"),
];
const ALIKE: &str = include_str!("data/alike.json");
const RELATIONS: &str = include_str!("data/relations.json");
const LAYERS: &str = include_str!("data/layers.json");
const HAZARDS: &str = include_str!("data/hazards.json");
const SOURCES: &str = include_str!("data/sources.json");

type Text = &'static str;
/// Text, basis, sources apart by spaces.
type FactRow = (Text, Text, Text);
/// Element or elements, text, basis, sources.
type ElementRow = (Text, Text, Text, Text);

#[derive(Deserialize)]
#[serde(deny_unknown_fields, bound(deserialize = "'de: 'static"))]
struct MaterialRow {
    id: Text,
    name: Text,
    other_names: Vec<Text>,
    #[serde(rename = "use")]
    used_as: Text,
    colours: Text,
    formulas: Text,
    key: Text,
    must: Text,
    invisible: Text,
    composition: FactRow,
    often: Vec<ElementRow>,
    #[serde(default)]
    stands: Vec<(Text, Text, Text, Text, Text)>,
    from: Option<i32>,
    to: Option<i32>,
    is_start_weak: bool,
    years: FactRow,
    settle: Vec<(Text, bool, Text, Text, Text)>,
    hazard: Text,
}

/// Materials that XRF does not tell from each other, and why.
#[derive(Deserialize)]
#[serde(deny_unknown_fields, bound(deserialize = "'de: 'static"))]
struct AlikeRow {
    why: FactRow,
    ids: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, bound(deserialize = "'de: 'static"))]
struct RelationRow {
    id: Text,
    a: Text,
    b: Text,
    relation: Text,
    with: Text,
    without: Text,
    colours: Text,
    reading: FactRow,
    alternatives: Vec<Text>,
    next: Text,
    materials: Text,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields, bound(deserialize = "'de: 'static"))]
struct LayerRow {
    id: Text,
    name: Text,
    parts: Vec<(Text, f64, f64)>,
    fact: FactRow,
}

fn parsed<T: Deserialize<'static>>(name: &str, text: Text) -> Result<T, String> {
    serde_json::from_str(text).map_err(|fault| format!("{name}: {fault}"))
}

fn words(text: Text) -> Vec<Text> {
    text.split(' ').filter(|word| !word.is_empty()).collect()
}

fn element(symbol: &str) -> Result<Element, String> {
    Element::from_symbol(symbol).ok_or_else(|| format!("'{symbol}' is no element"))
}

fn elements(text: Text) -> Result<Vec<Element>, String> {
    words(text).into_iter().map(element).collect()
}

fn colours(text: Text) -> Result<Vec<Colour>, String> {
    words(text)
        .into_iter()
        .map(|word| Colour::from_word(word).ok_or_else(|| format!("'{word}' is no colour")))
        .collect()
}

fn fact((text, basis, sources): FactRow) -> Result<Fact, String> {
    let basis = match basis {
        "found" => Basis::Found,
        "memory" => Basis::Memory,
        "computed" => Basis::Computed,
        "reasoned" => Basis::Reasoned,
        "practice" => Basis::Practice,
        _ => return Err(format!("'{basis}' is no basis ('{text}')")),
    };
    Ok(Fact { text, basis, sources: words(sources) })
}

fn used_as(word: Text) -> Result<Use, String> {
    Ok(match word {
        "pigment" => Use::Pigment,
        "lake" => Use::Lake,
        "metal" => Use::Metal,
        "ink" => Use::Ink,
        "companion" => Use::Companion,
        "later" => Use::Later,
        _ => return Err(format!("'{word}' is no use")),
    })
}

fn relation(word: Text) -> Result<Relation, String> {
    Ok(match word {
        "together" => Relation::Together,
        "no pattern" => Relation::NoPattern,
        "more than accompanies" => Relation::MoreThanAccompanies,
        "no more than accompanies" => Relation::NoMoreThanAccompanies,
        _ => return Err(format!("'{word}' is no relation")),
    })
}

fn settle(
    (technique, identifies, text, basis, sources): (Text, bool, Text, Text, Text),
) -> Result<Settle, String> {
    Ok(Settle {
        technique: Technique::from_words(technique)
            .ok_or_else(|| format!("'{technique}' is no technique"))?,
        fact: fact((text, basis, sources))?,
        identifies,
    })
}

fn material(row: MaterialRow, hazards: &BTreeMap<Text, Text>) -> Result<Material, String> {
    let hazard = match row.hazard {
        "" => "",
        key => hazards.get(key).copied().ok_or_else(|| format!("'{key}' is no hazard"))?,
    };
    Ok(Material {
        id: row.id,
        name: row.name,
        other_names: row.other_names,
        used_as: used_as(row.used_as)?,
        colours: colours(row.colours)?,
        formulas: words(row.formulas),
        composition: fact(row.composition)?,
        key: elements(row.key)?,
        must: elements(row.must)?,
        often: row
            .often
            .into_iter()
            .map(|(symbol, text, basis, sources)| {
                Ok(Often { element: element(symbol)?, fact: fact((text, basis, sources))? })
            })
            .collect::<Result<_, String>>()?,
        invisible: elements(row.invisible)?,
        stands: row
            .stands
            .into_iter()
            .map(|(symbol, others, text, basis, sources)| {
                Ok(Stands {
                    element: element(symbol)?,
                    stands_for: elements(others)?,
                    fact: fact((text, basis, sources))?,
                })
            })
            .collect::<Result<_, String>>()?,
        from: row.from,
        to: row.to,
        years: fact(row.years)?,
        is_start_weak: row.is_start_weak,
        alike: Vec::new(),
        settle: row.settle.into_iter().map(settle).collect::<Result<_, String>>()?,
        hazard,
    })
}

/// Makes every two of a group alike, both ways; the first group that names a pair says why.
fn make_alike(materials: &mut [Material], group: AlikeRow) -> Result<(), String> {
    let ids = words(group.ids);
    let why = fact(group.why)?;
    for id in &ids {
        let material = materials
            .iter_mut()
            .find(|material| material.id == *id)
            .ok_or_else(|| format!("'{id}' is no material"))?;
        for other in ids.iter().filter(|other| *other != id) {
            if !material.alike.iter().any(|known| known.id == *other) {
                material.alike.push(Alike { id: other, fact: why.clone() });
            }
        }
    }
    Ok(())
}

fn reading(row: RelationRow) -> Result<RelationReading, String> {
    Ok(RelationReading {
        id: row.id,
        a: element(row.a)?,
        b: element(row.b)?,
        relation: relation(row.relation)?,
        with: elements(row.with)?,
        without: elements(row.without)?,
        colours: colours(row.colours)?,
        reading: fact(row.reading)?,
        alternatives: row.alternatives,
        next: row.next,
        materials: words(row.materials),
    })
}

fn layer(row: LayerRow) -> Result<Layer, String> {
    Ok(Layer {
        id: row.id,
        name: row.name,
        parts: row
            .parts
            .into_iter()
            .map(|(formula, density_g_cm3, share)| LayerPart { formula, density_g_cm3, share })
            .collect(),
        fact: fact(row.fact)?,
    })
}

/// Reads all of it; says what is wrong with a file that it cannot read.
pub(super) fn load() -> Result<Knowledge, String> {
    let hazards: BTreeMap<Text, Text> = parsed("hazards", HAZARDS)?;
    let mut materials = Vec::new();
    for text in MATERIALS {
        for row in parsed::<Vec<MaterialRow>>("materials", text)? {
            let id = row.id;
            materials.push(material(row, &hazards).map_err(|fault| format!("{id}: {fault}"))?);
        }
    }
    for group in parsed::<Vec<AlikeRow>>("alike", ALIKE)? {
        make_alike(&mut materials, group)?;
    }
    let mut relations = Vec::new();
    for row in parsed::<Vec<RelationRow>>("relations", RELATIONS)? {
        let id = row.id;
        relations.push(reading(row).map_err(|fault| format!("{id}: {fault}"))?);
    }
    let layers =
        parsed::<Vec<LayerRow>>("layers", LAYERS)?.into_iter().map(layer).collect::<Result<_, String>>()?;
    let sources = parsed::<Vec<(Text, Text, bool)>>("sources", SOURCES)?
        .into_iter()
        .map(|(id, text, is_from_memory)| Source { id, text, is_from_memory })
        .collect();
    Ok(Knowledge { materials, relations, layers, sources })
}

/// All that is known, read once.
pub fn knowledge() -> &'static Knowledge {
    static KNOWLEDGE: OnceLock<Knowledge> = OnceLock::new();
    KNOWLEDGE.get_or_init(|| load().unwrap_or_else(|fault| unreachable!("{fault}")))
}

impl Knowledge {
    /// A material by its id.
    pub fn material(&self, id: &str) -> Option<&Material> {
        self.materials.iter().find(|material| material.id == id)
    }

    /// Materials of which an element is a key or must-show element, in the order of the data.
    pub fn holding(&self, element: Element) -> impl Iterator<Item = &Material> {
        self.materials.iter().filter(move |material| material.key.contains(&element))
    }

    /// Materials that an element often comes with and does not belong to, in the order of the data.
    pub fn accompanied_by(&self, element: Element) -> impl Iterator<Item = &Material> {
        self.materials.iter().filter(move |material| {
            !material.key.contains(&element) && material.often.iter().any(|often| often.element == element)
        })
    }

    /// A source by its key.
    pub fn source(&self, id: &str) -> Option<&Source> {
        self.sources.iter().find(|source| source.id == id)
    }

    /// The sources of a fact in words, one after the other; empty without any.
    pub fn sources_text(&self, fact: &Fact) -> String {
        let texts: Vec<Text> =
            fact.sources.iter().filter_map(|id| self.source(id)).map(|source| source.text).collect();
        texts.join("; ")
    }
}
