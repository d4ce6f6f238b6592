//! Whether anything speaks against a span.

use super::super::years::{DateOf, DateRow, DateVerdict, date_rows_with};
use super::*;
use DateVerdict::{Cannot, Fits, Misfit};

fn spanned(mut passage: Passage, from: i32, to: i32) -> Passage {
    (passage.from, passage.to) = (Some(from), Some(to));
    passage
}

fn rows(passage: &Passage) -> Vec<DateRow> {
    date_rows_with(passage, &read(passage), knowledge())
}

fn of_element(rows: &[DateRow], symbol: &str) -> Option<DateVerdict> {
    rows.iter().find(|row| row.of == DateOf::Element(e(symbol))).map(|row| row.verdict)
}

fn of_material(rows: &[DateRow], id: &str) -> Option<DateVerdict> {
    let is_it = |row: &&DateRow| matches!(row.of, DateOf::Material(material) if material.id == id);
    rows.iter().find(is_it).map(|row| row.verdict)
}

#[test]
fn titanium_without_iron_does_not_fit_an_old_span_and_repair_is_said_first() {
    let rows = rows(&spanned(passage("Ti Fe=below Ca=below"), 1640, 1670));
    assert_eq!(of_element(&rows, "Ti"), Some(Misfit));
    assert_eq!(of_material(&rows, "titanium_white_rutile"), Some(Misfit));
    assert_eq!(rows[0].of, DateOf::Element(e("Ti")));
    assert!(rows[0].explanations[0].text.contains("later repair or retouching"));
    assert!(rows[0].explanations.last().unwrap().text.contains("from 1938"));
    assert_eq!(rows[0].from, Some(1938));
}

#[test]
fn titanium_of_an_earth_fits_unless_there_is_more_of_it() {
    let base = || spanned(passage("Ti Fe"), 1640, 1670);
    assert_eq!(of_element(&rows(&base()), "Ti"), Some(Fits));
    assert_eq!(of_material(&rows(&base()), "titanium_white_rutile"), None, "older ones explain it");
    let apart = related(base(), &[("Ti", "Fe", Relation::MoreThanAccompanies)]);
    assert_eq!(of_element(&rows(&apart), "Ti"), Some(Misfit));
    for relation in [Relation::Together, Relation::NoMoreThanAccompanies, Relation::CannotBeJudged] {
        assert_eq!(of_element(&rows(&related(base(), &[("Ti", "Fe", relation)])), "Ti"), Some(Fits));
    }
}

#[test]
fn a_carrier_that_could_not_be_looked_at_leaves_it_open() {
    for carrier in ["", "Fe=open", "Fe=soft", "Fe=under"] {
        let rows = rows(&spanned(passage(&format!("Ti {carrier}")), 1640, 1670));
        assert_eq!(of_element(&rows, "Ti"), Some(Cannot), "{carrier}");
        assert_eq!(of_material(&rows, "titanium_white_rutile"), Some(Cannot), "{carrier}");
    }
    assert_eq!(of_element(&rows(&spanned(passage("Ti Fe=not"), 1640, 1670)), "Ti"), Some(Misfit));
}

#[test]
fn only_what_is_detected_beyond_support_can_fail_to_fit() {
    for word in ["below", "not", "soft", "under"] {
        let rows = rows(&spanned(passage(&format!("Ti={word} Fe=not")), 1640, 1670));
        assert_eq!(of_element(&rows, "Ti"), None, "{word}");
    }
    // Doubtful by overlap: it cannot be judged, and it is said why.
    let rows = rows(&spanned(passage("Ti=open Fe=not"), 1640, 1670));
    assert_eq!(of_element(&rows, "Ti"), Some(Cannot));
    assert!(rows[0].explanations[0].text.contains("overlap of Pb"));
}

#[test]
fn chromium_and_barium_begin_late() {
    // Chromates and chromium oxide from 1809-1810; baryte as an extender from the 1780s (handbooks, from memory).
    assert_eq!(of_element(&rows(&spanned(passage("Cr Fe=not"), 1640, 1670)), "Cr"), Some(Misfit));
    assert_eq!(of_element(&rows(&spanned(passage("Cr Fe=not"), 1840, 1860)), "Cr"), None);
    let rows = rows(&spanned(passage("Ba Cu=not Mn=not"), 1640, 1670));
    assert_eq!(of_element(&rows, "Ba"), Some(Misfit));
    // Baryte of the vein follows azurite.
    let rows = super::dates::rows(&spanned(passage("Ba Cu Mn=not"), 1640, 1670));
    assert_eq!(of_element(&rows, "Ba"), Some(Fits));
}

#[test]
fn a_weak_first_year_makes_no_misfit() {
    // Zinc beside copper before 1100: brass green's start is weak, so nothing is said.
    let rows = rows(&spanned(passage("Zn Cu Pb=not"), 300, 400));
    assert_eq!(of_material(&rows, "brass_green"), None);
    assert_eq!(of_element(&rows, "Zn"), Some(Fits));
    let at =
        |id| found(spanned(passage("Zn Cu Pb=not"), 300, 400), &[("P1", Technique::Raman, id, Some(true))]);
    assert_eq!(of_material(&super::dates::rows(&at("brass_green")), "brass_green"), Some(Cannot));
    assert_eq!(
        of_material(&super::dates::rows(&at("malachite_rosasite")), "malachite_rosasite"),
        Some(Misfit)
    );
}

#[test]
fn fading_out_is_a_remark_and_no_misfit() {
    let late = spanned(passage("Pb Sn"), 1900, 1920);
    let rows = rows(&late);
    assert!(rows.iter().all(|row| row.verdict != Misfit));
    let row = rows
        .iter()
        .find(|row| matches!(row.of, DateOf::Material(material) if material.id == "lead_tin_yellow_i"))
        .unwrap();
    assert_eq!(row.verdict, Fits);
    assert!(row.explanations[0].text.starts_with("A remark, no misfit"));
}

#[test]
fn an_identified_late_material_does_not_fit_and_of_a_consistent_one_nothing_is_said() {
    let base = || spanned(looks(Blue, "Co Fe=not"), 1640, 1670);
    assert_eq!(of_material(&rows(&base()), "cobalt_blue"), None);
    assert_eq!(of_material(&rows(&base()), "smalt"), Some(Fits));
    assert_eq!(of_element(&rows(&base()), "Co"), None, "smalt is common: cobalt speaks against nothing");
    let at = found(base(), &[("P1", Technique::Raman, "cobalt_blue", Some(true))]);
    assert_eq!(of_material(&rows(&at), "cobalt_blue"), Some(Misfit));
    assert_eq!(of_element(&rows(&at), "Co"), None, "smalt may be there as well");
}

#[test]
fn without_a_span_nothing_is_said_and_with_an_open_end_nothing_fails() {
    let all = "S Cl K Ca Ti Cr Mn Fe Co Ni Cu Zn As Sn Sb Ba Hg Pb Bi Sr";
    assert!(rows(&passage(all)).is_empty());
    let mut open = passage(all);
    open.from = Some(1640);
    assert!(rows(&open).iter().all(|row| row.verdict == Fits));
    // The years of a span in the wrong order are taken in the right one.
    let turned = spanned(passage("Ti Fe=not"), 1670, 1640);
    assert_eq!(of_element(&rows(&turned), "Ti"), Some(Misfit));
}

#[test]
fn nothing_measured_or_judged_never_fails_to_fit() {
    for text in ["", "Ti=open Cr=open Zn=open Ba=open Co=open", "Ti=below Cr=below Zn=below"] {
        let rows = rows(&spanned(passage(text), 1640, 1670));
        assert!(rows.iter().all(|row| row.verdict != Misfit), "{text}");
    }
}
