//! What other techniques found.

use super::*;
use Technique::{PointXrf, Raman, Reflectance};

fn identified(point: &str) -> Verdict {
    Verdict::Identified { technique: Raman, point: point.to_owned() }
}

#[test]
fn only_a_technique_that_identifies_raises() {
    let base = || looks(Blue, "Cu Co=not");
    let reading = read(&found(base(), &[("P1", Raman, "azurite", Some(true))]));
    assert_eq!(row(&reading, "azurite").verdict, identified("P1"));
    assert_eq!(reading.materials[0].material.id, "azurite");
    for technique in [Reflectance, PointXrf, Technique::Imaging] {
        let reading = read(&found(base(), &[("P1", technique, "azurite", Some(true))]));
        assert_eq!(row(&reading, "azurite").verdict, Verdict::Consistent, "{technique:?}");
        assert!(says(row(&reading, "azurite"), "does not identify it"), "{technique:?}");
    }
}

#[test]
fn not_found_and_open_change_nothing_and_are_said() {
    let base = || looks(Blue, "Cu Co=not");
    for (is_found, words) in
        [(Some(false), "did not find it, which excludes nothing"), (None, "left it open")]
    {
        let reading = read(&found(base(), &[("P1", Raman, "azurite", is_found)]));
        assert_eq!(row(&reading, "azurite").verdict, Verdict::Consistent);
        assert!(says(row(&reading, "azurite"), words));
    }
}

#[test]
fn an_invisible_material_is_identified_at_a_point() {
    let reading = read(&found(looks(Blue, "Cu=not"), &[("P1", Raman, "indigo", Some(true))]));
    assert_eq!(row(&reading, "indigo").verdict, identified("P1"));
}

#[test]
fn contradictory_points_are_both_said() {
    let two = [("P1", Raman, "azurite", Some(true)), ("P2", Raman, "azurite", Some(false))];
    let reading = read(&found(looks(Blue, "Cu"), &two));
    assert_eq!(row(&reading, "azurite").verdict, identified("P1"));
    assert!(says(row(&reading, "azurite"), "Raman at point “P2” did not find it"));
    // The same technique at the same point with both results decides nothing.
    let same = [("P1", Raman, "azurite", Some(true)), ("P1", Raman, "azurite", Some(false))];
    let reading = read(&found(looks(Blue, "Cu"), &same));
    assert_eq!(row(&reading, "azurite").verdict, Verdict::Consistent);
    assert!(says(row(&reading, "azurite"), "both as found and as not found"));
    // Two materials at two points are both identified.
    let both = [("P1", Raman, "azurite", Some(true)), ("P2", Raman, "indigo", Some(true))];
    let reading = read(&found(looks(Blue, "Cu"), &both));
    assert_eq!(row(&reading, "azurite").verdict, identified("P1"));
    assert_eq!(row(&reading, "indigo").verdict, identified("P2"));
}

#[test]
fn a_point_against_the_maps_holds_for_its_own_place() {
    let reading = read(&found(looks(Red, "Hg=not"), &[("P1", Raman, "vermilion", Some(true))]));
    let vermilion = row(&reading, "vermilion");
    assert_eq!(vermilion.verdict, identified("P1"));
    assert!(says(vermilion, "The point holds for its own place"));
    assert!(says(vermilion, "Mercury (Hg K) must show at the surface and is not detected."));
}

#[test]
fn a_material_that_a_point_speaks_of_is_listed_whatever_its_colour() {
    let reading = read(&found(looks(Blue, "Cr=not"), &[("P1", Raman, "chromium_oxide", Some(false))]));
    assert!(matches!(row(&reading, "chromium_oxide").verdict, Verdict::WouldHaveBeenSeen { .. }));
}

#[test]
fn an_unknown_material_is_said_and_not_used() {
    let reading = read(&found(looks(Blue, "Cu"), &[("P1", Raman, "unobtainium", Some(true))]));
    assert!(reading.readings.iter().any(|r| r.text.contains("not known here; it was not used")));
}

#[test]
fn what_would_settle_names_technique_materials_and_place() {
    let reading = read(&looks(Blue, "Cu Co=not Fe=not K=not"));
    let first = &reading.to_settle[0];
    assert_eq!(first.between, ["azurite", "blue_verditer"]);
    assert_eq!(first.technique, Raman);
    assert_eq!(first.at, es("Cu"));
    assert_eq!(first.looks_for.len(), 2);
    assert!(first.looks_for[0].text.starts_with("Azurite: a band."));
    let second = &reading.to_settle[1];
    assert!(second.looks_for[0].text.contains("narrows and does not identify"), "{second:?}");
    // What the maps are silent on comes last.
    assert!(reading.to_settle.last().unwrap().between.contains(&"indigo"));
    // Settled at a point: no longer open.
    let reading = read(&found(looks(Blue, "Cu Co=not"), &[("P1", Raman, "azurite", Some(true))]));
    assert!(!reading.to_settle.iter().any(|settle| settle.between.contains(&"azurite")));
}
