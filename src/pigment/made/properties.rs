//! What must hold of every passage, with all that is known: passages made by chance from a fixed seed.

use super::super::years::{DateOf, DateVerdict, date_rows_with};
use super::*;
use crate::pigment::{Expected, expected, knowledge, read};
use std::collections::BTreeSet;

/// Elements that a scan may give.
const PANEL: &str = "P S Cl K Ca Ti Cr Mn Fe Co Ni Cu Zn As Se Br Sr Mo Ag Cd Sn Sb I Ba Au Hg Pb Bi U";

/// Numbers by Marsaglia's xorshift (Journal of Statistical Software 8(14), 2003).
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % n
    }
}

/// A passage in which at most so many tenths of what was measured are detected.
fn any(chance: &mut Chance, most: u64) -> Passage {
    let share = 1 + chance.below(most);
    let words: Vec<String> = PANEL
        .split(' ')
        .filter_map(|symbol| match chance.below(12) {
            0 => None,
            _ if chance.below(10) < share => Some(symbol.to_owned()),
            at => {
                let word = ["not", "not", "not", "not", "below", "open", "soft", "under"];
                Some(format!("{symbol}={}", word[at as usize % word.len()]))
            }
        })
        .collect();
    let mut out = passage(&words.join(" "));
    out.colour = Colour::ALL.get(chance.below(16) as usize).copied();
    if chance.below(2) == 0 {
        (out.from, out.to) = (Some(1640), Some(1670));
    }
    for Expected { a, b, is_apart } in expected(&out) {
        let relation = match (chance.below(4), is_apart) {
            (0, _) => Relation::CannotBeJudged,
            (1, true) => Relation::NoMoreThanAccompanies,
            (_, true) => Relation::MoreThanAccompanies,
            (1, false) => Relation::NoPattern,
            (_, false) => Relation::Together,
        };
        out.relations.push(Related { a, b, relation, sentence: "Measured.".to_owned() });
    }
    let all = &knowledge().materials;
    for _ in 0..chance.below(3) {
        out.found.push(Found {
            point: format!("P{}", chance.below(2)),
            technique: Technique::ALL[chance.below(9) as usize],
            material: all[chance.below(all.len() as u64) as usize].id.to_owned(),
            is_found: [Some(true), Some(false), None][chance.below(3) as usize],
        });
    }
    out
}

#[test]
fn no_strong_word_without_what_bears_it() {
    let mut chance = Chance(0x9E37_79B9_7F4A_7C15);
    for _ in 0..300 {
        let passage = any(&mut chance, 9);
        let reading = read(&passage);
        assert_eq!(reading, read(&passage));
        for row in &reading.materials {
            let material = row.material;
            let excluded = material.must.iter().any(|e| passage.of(*e).is_some_and(Seen::excludes));
            let is_seen = |e: &Element| passage.of(*e).is_some_and(|seen| seen.state == State::Detected);
            match &row.verdict {
                Verdict::Identified { technique, point } => {
                    assert!(passage.found.iter().any(|found| found.is_found == Some(true)
                        && found.material == material.id
                        && found.point == *point
                        && found.technique == *technique));
                    assert!(material.settle.iter().any(|by| by.technique == *technique && by.identifies));
                }
                Verdict::WouldHaveBeenSeen { element, .. } => {
                    assert!(material.must.contains(element));
                    assert!(passage.of(*element).is_some_and(Seen::excludes));
                }
                Verdict::Consistent | Verdict::NotDistinguishable { .. } => {
                    assert!(!excluded, "{}", material.id);
                    let proxies = material.stands.iter().map(|stands| &stands.element);
                    assert!(material.key.iter().chain(proxies).any(is_seen), "{}", material.id);
                }
                Verdict::NoEvidence => assert!(!excluded, "{}", material.id),
            }
            assert!(!row.alike.contains(&material.id));
        }
    }
}

#[test]
fn sets_and_what_is_unexplained_are_all_that_is_seen() {
    let mut chance = Chance(0x0123_4567_89AB_CDEF);
    let mut none = 0;
    for _ in 0..300 {
        let passage = any(&mut chance, 3);
        let reading = read(&passage);
        let detected: Vec<Element> = passage
            .elements
            .iter()
            .filter(|seen| seen.state == State::Detected)
            .map(|seen| seen.element)
            .collect();
        none += usize::from(reading.sets.is_empty() && detected.len() > reading.unexplained.len());
        let mut met = BTreeSet::new();
        for set in &reading.sets {
            let members: Vec<&Material> = set.materials.iter().map(|id| row(&reading, id).material).collect();
            assert!((1..=4).contains(&members.len()) && met.insert(&set.materials));
            for element in detected.iter().filter(|e| !reading.unexplained.contains(e)) {
                let own = members.iter().any(|member| member.key.contains(element));
                let company = members.iter().any(|member| {
                    member.often.iter().any(|often| often.element == *element)
                        || member.stands.iter().any(|stands| stands.element == *element)
                });
                let is_company = set.as_companions.contains(element);
                assert!(if is_company { company || own } else { own }, "{element:?} {set:?}");
            }
        }
        assert!(reading.sets.len() <= 6);
    }
    // Some passages of so many elements need more than four materials; most do not.
    assert!(none < 60, "{none}");
}

#[test]
fn nothing_fails_to_fit_that_an_older_material_explains() {
    let mut chance = Chance(0xDEAD_BEEF_CAFE_F00D);
    let mut misfits = 0;
    for _ in 0..300 {
        let mut passage = any(&mut chance, 9);
        (passage.from, passage.to) = (Some(1640), Some(1670));
        for row in date_rows_with(&passage, &read(&passage), knowledge()) {
            let (DateOf::Element(element), DateVerdict::Misfit) = (row.of, row.verdict) else { continue };
            misfits += 1;
            assert_eq!(passage.of(element).unwrap().state, State::Detected);
            assert!(row.from.unwrap() > 1670);
            assert!(row.explanations[0].text.contains("later repair"));
            for material in &knowledge().materials {
                let is_possible = !material.must.iter().any(|e| passage.of(*e).is_some_and(Seen::excludes));
                let is_banned = passage.relations.iter().any(|related| {
                    related.relation == Relation::MoreThanAccompanies
                        && related.a == element
                        && material.key.contains(&related.b)
                });
                let is_old = material.from.is_none_or(|from| from <= 1670) || material.is_start_weak;
                assert!(
                    !(material.key.contains(&element)
                        && is_possible
                        && is_old
                        && !is_banned
                        && material.used_as != Later),
                    "{element:?}: {}",
                    material.id
                );
            }
        }
    }
    assert!(misfits > 20, "{misfits}: passages that do not test it");
}

#[test]
fn every_sentence_is_one() {
    let mut chance = Chance(0x0F1E_2D3C_4B5A_6978);
    let mut wrong = BTreeSet::new();
    for _ in 0..200 {
        let passage = any(&mut chance, 6);
        let reading = read(&passage);
        let rows = date_rows_with(&passage, &reading, knowledge());
        let reasons = reading
            .materials
            .iter()
            .flat_map(|row| &row.reasons)
            .chain(&reading.readings)
            .chain(reading.to_settle.iter().flat_map(|settle| &settle.looks_for))
            .chain(rows.iter().flat_map(|row| std::iter::once(&row.years).chain(&row.explanations)))
            .map(|reason| &reason.text);
        for text in reasons.chain(&reading.hazards) {
            let is_sentence = text.ends_with('.')
                && !text.starts_with(|letter: char| letter.is_ascii_lowercase())
                && !["..", "  ", " .", " ,", ".:", "::"].iter().any(|odd| text.contains(odd));
            let lower = text.to_lowercase();
            let is_careful = !["prove", "probab", "certainly"].iter().any(|word| lower.contains(word));
            if !(is_sentence && is_careful) {
                wrong.insert(text.clone());
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}
