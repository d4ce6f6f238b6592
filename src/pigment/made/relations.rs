//! Relations: which are asked for, what they suggest.

use super::super::expected::expected_with;
use super::*;
use Relation::{CannotBeJudged, MoreThanAccompanies, NoPattern, Together};

fn asked(passage: &Passage) -> Vec<String> {
    let asked = expected_with(passage, knowledge());
    assert!(asked.len() <= 8);
    let word = |is_apart| if is_apart { "without" } else { "with" };
    asked.iter().map(|x| format!("{} {} {}", x.a.symbol(), word(x.is_apart), x.b.symbol())).collect()
}

#[test]
fn a_reading_stands_with_its_numbers_its_doubts_and_its_test() {
    let reading = read(&related(passage("Mn Fe"), &[("Mn", "Fe", MoreThanAccompanies)]));
    assert_eq!(
        reading.readings[0].text,
        "Mn against Fe, 3 of 4. This is what it suggests. It cannot exclude: another thing; a third. Look at it."
    );
    assert_eq!(reading.readings[0].source, "Made for tests");
}

#[test]
fn together_holds_either_way_and_apart_does_not() {
    assert_eq!(read(&related(passage("Mn Fe"), &[("Fe", "Mn", Together)])).readings.len(), 1);
    assert!(read(&related(passage("Mn Fe"), &[("Fe", "Mn", MoreThanAccompanies)])).readings.is_empty());
    for relation in [CannotBeJudged, NoPattern] {
        assert!(read(&related(passage("Mn Fe"), &[("Mn", "Fe", relation)])).readings.is_empty());
    }
}

#[test]
fn an_element_whose_partner_is_not_detected_reads_as_more_than_accompanies() {
    assert_eq!(read(&passage("Mn Fe=not")).readings.len(), 1);
    for silent in ["Mn Fe=open", "Mn Fe=soft", "Mn Fe=below", "Mn"] {
        assert!(read(&passage(silent)).readings.is_empty(), "{silent}");
    }
}

#[test]
fn readings_wait_for_their_elements_and_colours() {
    let apart = [("Co", "Ni", MoreThanAccompanies)];
    assert_eq!(read(&related(looks(Green, "Co Ni"), &apart)).readings.len(), 1);
    assert_eq!(read(&related(passage("Co Ni"), &apart)).readings.len(), 1, "no colour counts as any");
    assert!(read(&related(looks(Blue, "Co Ni"), &apart)).readings.is_empty());
    assert!(read(&related(looks(Green, "Co Ni Zn"), &apart)).readings.is_empty());
    assert!(read(&related(passage("Sn Pb=open"), &[("Sn", "Pb", Together)])).readings.is_empty());
}

#[test]
fn relations_are_asked_between_what_is_detected_only() {
    assert!(asked(&Passage::default()).is_empty());
    assert!(asked(&passage("Cu")).is_empty());
    assert!(asked(&passage("Mn=open Fe=below Ti=not")).is_empty());
    let first = asked(&passage("Mn Fe"));
    assert_eq!(first[0], "Mn without Fe");
    assert!(first.contains(&"Mn with Fe".to_owned()));
}

#[test]
fn what_only_late_materials_explain_is_asked_first() {
    let mut late = passage("Ti Fe K Ca");
    (late.from, late.to) = (Some(1640), Some(1670));
    assert_eq!(asked(&late)[0], "Ti without Fe");
}

#[test]
fn relations_stand_with_the_materials_that_they_speak_of() {
    let more = read(&related(passage("Mn Fe"), &[("Mn", "Fe", MoreThanAccompanies)]));
    assert!(says(
        row(&more, "red_ochre"),
        "Mn against Fe, 3 of 4. The manganese that is in excess needs another source."
    ));
    assert!(!says(row(&more, "manganese_black"), "3 of 4"), "iron need not show of it");
    let both = read(&related(passage("Mn Fe"), &[("Fe", "Mn", Together)]));
    assert!(says(row(&both, "umber"), "Fe against Mn, 3 of 4. Both may belong to it."));
    let unclear = read(&related(passage("Mn Fe"), &[("Mn", "Fe", CannotBeJudged)]));
    assert!(!says(row(&unclear, "umber"), "3 of 4"));
}
