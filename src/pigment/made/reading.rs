//! Verdicts on materials.

use super::*;

#[test]
fn a_material_is_consistent_where_all_that_must_show_is_seen() {
    let reading = read(&passage("Cu Zn=not Pb=not Co=not"));
    assert!(is_consistent(&reading, "azurite") && is_consistent(&reading, "verdigris"));
    let Verdict::WouldHaveBeenSeen { element, below, below_share } = &row(&reading, "smalt").verdict else {
        panic!("{:?}", row(&reading, "smalt"));
    };
    assert_eq!((*element, *below, *below_share), (e("Co"), Some(2.5), Some(0.01)));
    assert!(says(row(&reading, "azurite"), "Copper is detected and belongs to it."));
}

#[test]
fn only_a_hard_silence_excludes() {
    for word in ["open", "soft", "under", "below"] {
        let reading = read(&looks(Blue, &format!("Cu={word}")));
        assert_eq!(row(&reading, "azurite").verdict, Verdict::NoEvidence, "{word}");
    }
    let reading = read(&looks(Blue, "Pb=not"));
    assert_eq!(row(&reading, "azurite").verdict, Verdict::NoEvidence, "not measured is never absent");
    let reading = read(&looks(Blue, "Cu=not"));
    assert!(matches!(row(&reading, "azurite").verdict, Verdict::WouldHaveBeenSeen { .. }));
}

#[test]
fn an_accessory_or_soft_element_that_is_missing_excludes_nothing() {
    // S of vermilion and orpiment is key and need not show; K of smalt leaches; Ni is a companion only.
    let reading = read(&passage("Hg S=not As Co K=not Ni=not"));
    for id in ["vermilion", "orpiment", "smalt"] {
        assert!(is_consistent(&reading, id), "{id}");
    }
}

#[test]
fn what_was_not_measured_is_said_and_leaves_it_not_distinguishable_or_consistent() {
    // Chromium was not measured: chrome yellow hides among the lead yellows that are seen whole.
    let reading = read(&looks(Yellow, "Pb Sn=not"));
    let chrome = row(&reading, "chrome_yellow");
    assert_eq!(chrome.verdict, Verdict::NotDistinguishable { from: vec!["massicot"] });
    assert!(says(chrome, "Chromium was not measured."));
    assert!(is_consistent(&reading, "massicot"));
    // Cerulean blue where tin cannot be judged and no other blue is seen whole would be consistent.
    let reading = read(&looks(Yellow, "Sn Pb=open"));
    assert!(is_consistent(&reading, "lead_tin_yellow_i"));
    assert!(says(row(&reading, "lead_tin_yellow_i"), "Lead (Pb K) cannot be judged here: overlap of Pb."));
}

#[test]
fn an_element_only_in_the_support_asks_for_nothing_and_excludes_nothing() {
    let reading = read(&looks(White, "Ca=below Pb=below Zn=not"));
    for id in ["chalk", "lead_white"] {
        assert_eq!(row(&reading, id).verdict, Verdict::NoEvidence, "{id}");
        assert!(says(row(&reading, id), "no more than support or ground hold"), "{id}");
    }
    assert!(matches!(row(&reading, "zinc_white").verdict, Verdict::WouldHaveBeenSeen { .. }));
    assert!(reading.sets.is_empty() && reading.unexplained.is_empty());
    // Beside tin that is seen, the lead of the ground does not keep lead-tin yellow out.
    let reading = read(&looks(Yellow, "Sn Pb=below"));
    assert!(is_consistent(&reading, "lead_tin_yellow_i"));
}

#[test]
fn invisible_materials_are_never_absent_and_listed_by_colour() {
    let everything_silent = "S=soft Ca=not K=not Cu=not Co=not Fe=not Sn=not";
    let reading = read(&looks(Blue, everything_silent));
    for id in ["indigo", "ultramarine_natural"] {
        assert_eq!(row(&reading, id).verdict, Verdict::NoEvidence, "{id}");
    }
    assert!(says(row(&reading, "indigo"), "None of its elements shows in XRF in air"));
    assert!(!has(&reading, "carbon_black") && !has(&reading, "red_lake_alum"));
    // Without a colour the common ones.
    let reading = read(&passage(everything_silent));
    assert!(has(&reading, "carbon_black") && has(&reading, "indigo"));
    assert!(!has(&reading, "cerulean_blue"), "what would have been seen: the common ones only");
}

#[test]
fn colour_narrows_and_excludes_nothing() {
    let reading = read(&looks(Blue, "Cu Pb"));
    assert!(!row(&reading, "malachite").fits_colour && is_consistent(&reading, "malachite"));
    assert!(says(row(&reading, "malachite"), "colour narrows the list and excludes nothing"));
    assert_eq!(reading.materials[0].material.id, "azurite", "fitting colour first, then the commonest");
    let first_off = reading.materials.iter().position(|row| !row.fits_colour).unwrap();
    assert!(
        reading.materials[first_off..]
            .iter()
            .all(|row| !row.fits_colour || row.verdict != Verdict::Consistent)
    );
}

#[test]
fn xrf_cannot_tell_which_arsenic_sulfide_nor_which_copper_carbonate() {
    // Common practice, no source.
    let reading = read(&passage("As S=soft Cu"));
    assert!(row(&reading, "orpiment").alike.contains(&"realgar"));
    assert!(row(&reading, "realgar").alike.contains(&"orpiment"));
    assert!(says(row(&reading, "orpiment"), "XRF does not tell it from realgar"));
    let azurite = row(&reading, "azurite");
    assert!(azurite.alike.contains(&"malachite") && azurite.alike.contains(&"blue_verditer"));
    // Blue and green by sight: only what the knowledge names is named across colours.
    assert!(!azurite.alike.contains(&"verdigris"));
}

#[test]
fn a_proxy_is_never_more_than_consistent() {
    let reading = read(&looks(Blue, "K Cu=not Co=not Fe=not"));
    assert!(is_consistent(&reading, "ultramarine_natural"));
    let text = "Potassium is detected; it may stand for aluminium and silicon";
    assert!(says(row(&reading, "ultramarine_natural"), text));
    // Copper and potassium together: ultramarine over a copper blue is not left out.
    let reading = read(&looks(Blue, "K Cu"));
    assert!(is_consistent(&reading, "ultramarine_natural") && is_consistent(&reading, "azurite"));
}

#[test]
fn elements_that_others_explain_say_nothing_for_what_need_not_show() {
    // Calcium of chalk is no evidence of a red lake or of ultramarine.
    let reading = read(&looks(Red, "Ca Hg"));
    assert_eq!(row(&reading, "red_lake_alum").verdict, Verdict::NoEvidence);
    assert!(!has(&reading, "conservation_fills"));
}

#[test]
fn a_hint_is_of_the_stated_colour_or_none() {
    // Potassium may stand for what is in ultramarine; in a red passage that is no hint of a blue.
    let reading = read(&looks(Red, "K Hg"));
    assert!(!has(&reading, "ultramarine_natural"));
    assert!(is_consistent(&read(&passage("K Hg")), "ultramarine_natural"), "without a colour it is");
}

#[test]
fn where_nothing_speaks_for_a_material_its_reasons_do_not_sound_so() {
    let reading = read(&looks(Blue, "K Fe=below Co=not"));
    for id in ["prussian_blue", "smalt"] {
        assert!(!says(row(&reading, id), "belongs to it"), "{id}");
        assert!(!says(row(&reading, id), "as well"), "{id}");
    }
    assert_eq!(row(&reading, "prussian_blue").verdict, Verdict::NoEvidence);
}

#[test]
fn years_narrow_and_say_so_and_weak_starts_do_not() {
    let mut blue = looks(Blue, "Co");
    (blue.from, blue.to) = (Some(1640), Some(1670));
    let reading = read(&blue);
    assert!(is_consistent(&reading, "cobalt_blue") && !row(&reading, "cobalt_blue").fits_years);
    assert!(says(row(&reading, "cobalt_blue"), "begin after the proposed span (1640 to 1670)"));
    assert_eq!(reading.materials[0].material.id, "smalt");
    // Use that faded out is a remark, not a misfit.
    let mut old = looks(Yellow, "Pb Sn");
    (old.from, old.to) = (Some(1900), Some(1920));
    let reading = read(&old);
    assert!(row(&reading, "lead_tin_yellow_i").fits_years);
    assert!(says(row(&reading, "lead_tin_yellow_i"), "fades out before the proposed span"));
    let mut green = looks(Green, "Cu Zn");
    (green.from, green.to) = (Some(1000), Some(1050));
    let reading = read(&green);
    assert!(row(&reading, "brass_green").fits_years, "its start is weak");
    assert!(says(row(&reading, "brass_green"), "too weak"));
    assert!(!row(&reading, "malachite_rosasite").fits_years);
}

#[test]
fn nothing_measured_gives_no_strong_word() {
    for passage in [Passage::default(), looks(Blue, "")] {
        let reading = read(&passage);
        assert!(!reading.materials.is_empty());
        assert!(reading.materials.iter().all(|row| row.verdict == Verdict::NoEvidence));
        assert!(reading.sets.is_empty() && reading.unexplained.is_empty());
    }
}

#[test]
fn everything_beyond_judgement_gives_no_strong_word() {
    let all = "S=open Cl=open K=open Ca=open Ti=open Cr=open Mn=open Fe=open Co=open Ni=open Cu=open Zn=open As=open \
               Sn=open Sb=open Ba=open Hg=open Pb=open Bi=open Sr=open";
    let reading = read(&looks(Green, all));
    assert!(reading.materials.iter().all(|row| row.verdict == Verdict::NoEvidence));
    assert!(reading.sets.is_empty() && reading.unexplained.is_empty());
}

#[test]
fn every_reason_has_words_and_readings_are_repeatable() {
    let all = "S Cl K Ca Ti Cr Mn Fe Co Ni Cu Zn As Sn Sb Ba Hg Pb Bi Sr";
    let mut passage = looks(Green, all);
    (passage.from, passage.to) = (Some(1640), Some(1670));
    let reading = read(&passage);
    assert_eq!(reading, read(&passage));
    for reason in reading.materials.iter().flat_map(|row| &row.reasons) {
        assert!(reason.text.ends_with('.') && !reason.text.contains("  "), "{}", reason.text);
        assert!(!reason.text.to_lowercase().contains("prove"), "{}", reason.text);
        assert!(!reason.text.contains("absent"), "{}", reason.text);
    }
}

#[test]
fn what_nothing_consistent_explains_is_left_unexplained() {
    let reading = read(&passage("Cu Bi Ni Co=not"));
    assert_eq!(reading.unexplained, es("Ni Bi"));
    assert!(!reading.sets.is_empty(), "the sets explain the rest");
}

#[test]
fn hazards_are_said_once() {
    let reading = read(&looks(White, "Pb"));
    assert_eq!(reading.hazards, ["Lead_white: Toxic."]);
}
