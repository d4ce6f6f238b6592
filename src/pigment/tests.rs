//! What must hold for everything that is known.

use super::{Basis, Fact, Relation, Use, knowledge, layers, load};
use crate::element::Element;
use crate::physics::{Matter, air_transmission, emissions};
use std::collections::{BTreeMap, BTreeSet};

/// Elements of a formula. Knows brackets of both kinds, "," inside them for elements that replace each other, "·" before a
/// part with a number of its own ("CaSO4·2H2O"), decimals ("Na6.9") and "x" for a number that varies.
fn elements_of(formula: &str) -> Result<BTreeSet<Element>, String> {
    let letters: Vec<char> = formula.chars().collect();
    let (mut at, mut open, mut out) = (0, Vec::new(), BTreeSet::new());
    let mut may_count = false; // whether a number may stand here
    while let Some(letter) = letters.get(at).copied() {
        at += 1;
        match letter {
            '(' | '[' => open.push(letter),
            ')' | ']' if open.pop() == Some(if letter == ')' { '(' } else { '[' }) => {}
            ',' if !open.is_empty() => {}
            '·' if open.is_empty() => {
                at += letters[at..].iter().take_while(|next| next.is_ascii_digit() || **next == 'x').count();
                if !letters.get(at).is_some_and(char::is_ascii_uppercase) {
                    return Err(format!("nothing after the dot in {formula}"));
                }
            }
            '0'..='9' if may_count => {
                let is_number = |next: &&char| next.is_ascii_digit() || **next == '.';
                at += letters[at..].iter().take_while(is_number).count();
                if letters[at - 1] == '.' {
                    return Err(format!("a dot and no digit in {formula}"));
                }
            }
            'A'..='Z' => {
                let symbol: String = [letter]
                    .into_iter()
                    .chain(letters.get(at).copied().filter(char::is_ascii_lowercase))
                    .collect();
                at += symbol.len() - 1;
                out.insert(Element::from_symbol(&symbol).ok_or_else(|| format!("{symbol} in {formula}"))?);
            }
            _ => return Err(format!("'{letter}' in {formula}")),
        }
        may_count = matches!(letter, ')' | ']' | 'A'..='Z');
    }
    if open.is_empty() { Ok(out) } else { Err(format!("open bracket in {formula}")) }
}

fn element(symbol: &str) -> Element {
    Element::from_symbol(symbol).unwrap()
}

fn set(symbols: &str) -> BTreeSet<Element> {
    symbols.split(' ').map(element).collect()
}

/// Every fact with what it is said of.
fn facts() -> Vec<(String, &'static Fact)> {
    let known = knowledge();
    let mut out = Vec::new();
    for material in &known.materials {
        let id = material.id;
        out.push((format!("{id}, composition"), &material.composition));
        out.push((format!("{id}, years"), &material.years));
        out.extend(
            material.often.iter().map(|often| (format!("{id}, {}", often.element.symbol()), &often.fact)),
        );
        out.extend(material.stands.iter().map(|stands| (format!("{id}, stands"), &stands.fact)));
        out.extend(material.alike.iter().map(|alike| (format!("{id}, {}", alike.id), &alike.fact)));
        out.extend(material.settle.iter().map(|by| (format!("{id}, {}", by.technique.words()), &by.fact)));
    }
    out.extend(known.relations.iter().map(|relation| (relation.id.to_owned(), &relation.reading)));
    out.extend(known.layers.iter().map(|layer| (layer.id.to_owned(), &layer.fact)));
    out
}

#[test]
fn every_data_file_can_be_read() {
    load::load().unwrap();
    assert!(knowledge().materials.len() >= 100, "{}", knowledge().materials.len());
}

#[test]
fn ids_are_unique_and_plain() {
    let known = knowledge();
    for ids in [
        known.materials.iter().map(|material| material.id).collect::<Vec<_>>(),
        known.relations.iter().map(|relation| relation.id).collect(),
        known.layers.iter().map(|layer| layer.id).collect(),
        known.sources.iter().map(|source| source.id).collect(),
    ] {
        let unique: BTreeSet<&str> = ids.iter().copied().collect();
        assert_eq!(unique.len(), ids.len());
        assert!(ids.iter().all(|id| id.chars().all(|c| c.is_ascii_alphanumeric() || c == '_')), "{ids:?}");
    }
    let names: BTreeSet<&str> = known.materials.iter().map(|material| material.name).collect();
    assert_eq!(names.len(), known.materials.len(), "two materials of one name");
}

#[test]
fn references_resolve_and_alike_holds_both_ways() {
    let known = knowledge();
    for material in &known.materials {
        for alike in &material.alike {
            let other = known.material(alike.id).unwrap_or_else(|| panic!("{}: {}", material.id, alike.id));
            assert_ne!(other.id, material.id);
            assert!(other.alike.iter().any(|back| back.id == material.id), "{} {}", material.id, other.id);
        }
        let unique: BTreeSet<&str> = material.alike.iter().map(|alike| alike.id).collect();
        assert_eq!(unique.len(), material.alike.len(), "{}", material.id);
    }
    for relation in &known.relations {
        assert!(!relation.materials.is_empty(), "{}", relation.id);
        for id in &relation.materials {
            assert!(known.material(id).is_some(), "{}: {id}", relation.id);
        }
    }
    let mut cited = BTreeSet::new();
    for (what, fact) in facts() {
        for id in &fact.sources {
            assert!(known.source(id).is_some(), "{what}: {id}");
            cited.insert(*id);
        }
    }
    for source in &known.sources {
        assert!(cited.contains(source.id), "{} is not cited", source.id);
    }
}

#[test]
fn what_must_show_of_one_of_two_alike_can_belong_to_the_other() {
    // Alike means that no element that must show in one speaks against the other.
    let known = knowledge();
    for material in &known.materials {
        for alike in &material.alike {
            let other = known.material(alike.id).unwrap();
            for must in &material.must {
                assert!(
                    other.key.contains(must) || other.often.iter().any(|often| often.element == *must),
                    "{} must show {}, {} has none",
                    material.id,
                    must.symbol(),
                    other.id
                );
            }
        }
    }
}

#[test]
fn formulas_hold_what_is_key_and_what_is_invisible_and_nothing_else() {
    for material in &knowledge().materials {
        let mut of_formulas = BTreeSet::new();
        for formula in &material.formulas {
            of_formulas
                .extend(elements_of(formula).unwrap_or_else(|fault| panic!("{}: {fault}", material.id)));
        }
        let stated: BTreeSet<Element> = material.key.iter().chain(&material.invisible).copied().collect();
        assert_eq!(of_formulas, stated, "{}", material.id);
        assert_eq!(stated.len(), material.key.len() + material.invisible.len(), "{}", material.id);
        assert!(material.key.iter().all(|element| element.number() > 14), "{}", material.id);
        assert!(material.invisible.iter().all(|element| element.number() <= 14), "{}", material.id);
        for often in &material.often {
            assert!(often.element.number() > 14, "{}: {}", material.id, often.element.symbol());
            assert!(!material.key.contains(&often.element), "{}: {}", material.id, often.element.symbol());
        }
    }
}

#[test]
fn formulas_are_taken_apart_as_they_are_written() {
    // By hand.
    assert_eq!(elements_of("Cu(CH3COO)2·3Cu(AsO2)2").unwrap(), set("Cu C H O As"));
    assert_eq!(elements_of("Fe4[Fe(CN)6]3·xH2O").unwrap(), set("Fe C N H O"));
    assert_eq!(elements_of("Na6.9Al5.6Si6.4O24S4.2").unwrap(), set("Na Al Si O S"));
    assert_eq!(elements_of("(Na,Ca)8(AlSiO4)6(SO4,S,Cl)2").unwrap(), set("Na Ca Al Si O S Cl"));
    assert_eq!(elements_of("KAl(SO4)2·12H2O").unwrap(), set("K Al S O H"));
    for wrong in ["Cu3(CO3", "Cu)", "CuCO3]", "Xy2", "2Cu", "Cu·", "Cu2.", "Cu(", "cu"] {
        assert!(elements_of(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn what_must_show_is_key_and_hard_enough_for_air() {
    // Phosphorus, sulfur, chlorine and potassium: soft, under the lines of heavier elements, or from many sources.
    let soft = set("P S Cl K");
    for material in &knowledge().materials {
        for must in &material.must {
            assert!(material.key.contains(must), "{}: {}", material.id, must.symbol());
            assert!(!soft.contains(must), "{}: {}", material.id, must.symbol());
            // Through 1 cm of air: Ca Kα 0.89, K Kα 0.85, S Kα 0.66 (attenuation of dry air, NIST).
            let passes = |kev: f64| (3.5..33.0).contains(&kev) && air_transmission(kev, 10.0).unwrap() > 0.86;
            assert!(
                emissions(*must).iter().any(|line| passes(line.kev)),
                "{}: {}",
                material.id,
                must.symbol()
            );
        }
        // A material of which nothing must show says why; calcium alone is enough where it is all that there is.
        if material.must.is_empty() {
            assert!(!material.composition.text.is_empty(), "{}", material.id);
        }
        for stands in &material.stands {
            assert!(
                stands.stands_for.iter().all(|soft| material.invisible.contains(soft)),
                "{}",
                material.id
            );
            assert!(!material.must.contains(&stands.element), "{}", material.id);
        }
    }
}

#[test]
fn every_fact_has_a_basis_and_the_source_that_the_basis_asks_for() {
    let known = knowledge();
    let mut counted: BTreeMap<&str, usize> = BTreeMap::new();
    for (what, fact) in facts() {
        match fact.basis {
            Basis::Reasoned | Basis::Practice => assert!(fact.sources.is_empty(), "{what}"),
            Basis::Memory => assert!(
                fact.sources.iter().any(|id| known.source(id).unwrap().is_from_memory),
                "{what}: no source named from memory"
            ),
            Basis::Found | Basis::Computed => {
                assert!(!fact.sources.is_empty(), "{what}");
                assert!(
                    fact.sources.iter().any(|id| !known.source(id).unwrap().is_from_memory),
                    "{what}: only sources that were not opened"
                );
            }
        }
        *counted.entry(fact.basis.words()).or_default() += 1;
    }
    println!("{} materials, facts {counted:?}", known.materials.len());
}

#[test]
fn years_are_in_order_and_doubtful_ones_are_marked() {
    for material in &knowledge().materials {
        if let (Some(from), Some(to)) = (material.from, material.to) {
            assert!(from < to, "{}", material.id);
        }
        for year in [material.from, material.to].into_iter().flatten() {
            assert!((-4000..=2026).contains(&year), "{}: {year}", material.id);
        }
        assert!(!material.years.text.is_empty(), "{}", material.id);
        // A first year before 1600 is where finds begin, not where use began.
        if material.from.is_some_and(|from| (1000..1600).contains(&from))
            && material.id != "mosaic_gold"
            && material.id != "tin_leaf"
        {
            assert!(material.is_start_weak, "{}", material.id);
        }
    }
    for id in [
        "brass_green",
        "calomel_white",
        "bismuth_white",
        "bone_white",
        "antimony_orange",
        "cobalt_violet_arsenate",
    ] {
        assert!(knowledge().material(id).unwrap().is_start_weak, "{id}");
    }
}

#[test]
fn every_material_says_what_would_settle_it() {
    for material in &knowledge().materials {
        assert!(!material.settle.is_empty(), "{}", material.id);
        for by in &material.settle {
            assert!(!by.fact.text.is_empty(), "{}", material.id);
        }
        // Mixtures and what comes later are shown by nothing alone.
        let is_mixed = ["azurite_lead_tin_yellow", "vergaut", "chrome_green"].contains(&material.id);
        if is_mixed || material.used_as == Use::Later {
            assert!(material.settle.iter().all(|by| !by.identifies), "{}", material.id);
        }
    }
}

#[test]
fn toxic_materials_say_so() {
    // Hazard classes from memory (Regulation (EC) 1272/2008): arsenic, lead, mercury, cadmium, cobalt and antimony compounds,
    // soluble barium, hexavalent chromium.
    let toxic = set("As Pb Hg Cd Co Sb");
    for material in &knowledge().materials {
        // Paint that may hold one of many pigments refers to those.
        let has_toxic_key = material.key.iter().any(|element| toxic.contains(element));
        if has_toxic_key && material.id != "retouching" {
            assert!(!material.hazard.is_empty(), "{}", material.id);
        }
        for (symbol, word) in [("As", "rsenic"), ("Pb", "ead"), ("Hg", "ercury"), ("Cd", "admium")] {
            if material.must.contains(&element(symbol)) && material.used_as != Use::Later {
                assert!(material.hazard.contains(word), "{}: {}", material.id, material.hazard);
            }
        }
        if !material.hazard.is_empty() {
            assert!(material.hazard.contains("local safety rules"), "{}", material.id);
            assert!(material.hazard.ends_with('.'), "{}", material.id);
        }
    }
    for id in [
        "chrome_yellow",
        "zinc_yellow",
        "strontium_yellow",
        "barium_yellow",
        "manganese_blue",
        "arsenic_biocide",
    ] {
        assert!(!knowledge().material(id).unwrap().hazard.is_empty(), "{id}");
    }
}

#[test]
fn no_text_claims_proof_or_speaks_of_signal_as_amount() {
    let known = knowledge();
    let mut texts: Vec<(String, &str)> = facts().into_iter().map(|(what, fact)| (what, fact.text)).collect();
    for relation in &known.relations {
        texts.extend(relation.alternatives.iter().map(|text| (relation.id.to_owned(), *text)));
        texts.push((relation.id.to_owned(), relation.next));
        assert!(!relation.alternatives.is_empty(), "{} excludes everything else", relation.id);
        assert!(relation.reading.text.ends_with('.') && relation.next.ends_with('.'), "{}", relation.id);
        assert_ne!(relation.a, relation.b, "{}", relation.id);
        assert_ne!(relation.relation, Relation::CannotBeJudged, "{}", relation.id);
    }
    for (what, text) in texts {
        for word in ["prove", "certainly", "definitely", "without doubt"] {
            assert!(!text.contains(word), "{what}: {text}");
        }
        assert!(!text.contains('…') && !text.contains("  "), "{what}: {text}");
    }
}

#[test]
fn layers_are_whole() {
    for layer in layers() {
        let whole: f64 = layer.parts.iter().map(|part| part.share).sum();
        assert!((whole - 1.0).abs() < 1e-9, "{}: {whole}", layer.id);
        for part in &layer.parts {
            let matter = Matter::of_formula(part.formula, part.density_g_cm3).unwrap();
            let elements: BTreeSet<Element> =
                matter.mass_fractions().iter().map(|(element, _)| *element).collect();
            assert_eq!(elements, elements_of(part.formula).unwrap(), "{}", layer.id);
            assert!((0.5..25.0).contains(&part.density_g_cm3), "{}", layer.id);
        }
    }
    assert!(
        layers().iter().any(|layer| layer.id == "varnish") && layers().iter().any(|layer| layer.id == "dirt")
    );
}
