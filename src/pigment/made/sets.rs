//! Small sets that explain everything seen.

use super::*;

fn sets(passage: &Passage) -> Vec<Vec<&'static str>> {
    let reading = read(passage);
    let ids = reading.materials.iter().map(|row| row.material.id).collect::<Vec<_>>();
    for set in &reading.sets {
        assert!(set.materials.len() <= 4 && !set.materials.is_empty());
        assert!(set.materials.iter().all(|id| ids.contains(id)));
    }
    assert!(reading.sets.len() <= 6);
    reading.sets.into_iter().map(|set| set.materials).collect()
}

fn sorted(mut set: Vec<&'static str>) -> Vec<&'static str> {
    set.sort_unstable();
    set
}

#[test]
fn one_material_where_one_is_enough() {
    assert_eq!(sets(&looks(Yellow, "Pb Sn"))[0], ["lead_tin_yellow_i"]);
    assert_eq!(sets(&looks(Red, "Hg"))[0], ["vermilion"]);
    assert_eq!(sets(&looks(Blue, "Cu"))[..2], [["azurite"], ["blue_verditer"]]);
}

#[test]
fn by_formula_and_by_company_are_both_given() {
    let reading = read(&looks(Blue, "Cu Pb"));
    assert_eq!(reading.sets[0].materials, ["azurite"]);
    assert_eq!(reading.sets[0].as_companions, es("Pb"));
    let own = reading.sets.iter().find(|set| set.as_companions.is_empty()).unwrap();
    assert_eq!(sorted(own.materials.clone()), ["azurite", "lead_white"]);
}

#[test]
fn one_material_for_two_elements_beats_two_loose_companions() {
    // Lead and tin beside a copper blue: lead-tin yellow is one assumption, two companions are two.
    let first = sets(&looks(Green, "Cu Pb Sn"))[0].clone();
    assert!(first.contains(&"lead_tin_yellow_i"), "{first:?}");
}

#[test]
fn smalt_explains_its_companions() {
    let reading = read(&looks(Blue, "Co Ni As K Bi"));
    assert_eq!(reading.sets[0].materials, ["smalt"]);
    assert_eq!(reading.sets[0].as_companions, es("Ni As Bi"));
}

#[test]
fn a_set_gives_the_stated_colour_where_it_can() {
    for set in sets(&looks(Green, "Cu")) {
        assert!(
            ["malachite", "verdigris"].contains(&set[0]) || set[0] == "azurite" || set[0] == "blue_verditer"
        );
    }
    assert_eq!(sets(&looks(Green, "Cu"))[0], ["verdigris"]);
}

#[test]
fn an_element_with_more_than_its_carrier_needs_a_material_of_its_own() {
    // Manganese that does not follow iron is no accessory of an earth (common practice, no source).
    let base = || looks(Red, "Fe Mn");
    assert_eq!(sets(&base())[0], ["red_ochre"]);
    let apart = related(base(), &[("Mn", "Fe", Relation::MoreThanAccompanies)]);
    let all = sets(&apart);
    assert!(all.iter().all(|set| set.contains(&"manganese_black")), "{all:?}");
    assert!(!all.iter().any(|set| set.contains(&"umber") && set.len() == 1));
    // Titanium without iron likewise.
    let apart = related(looks(White, "Fe Ti"), &[("Ti", "Fe", Relation::MoreThanAccompanies)]);
    assert!(sets(&apart).iter().all(|set| set.contains(&"titanium_white_rutile")));
}

#[test]
fn a_measured_relation_backs_a_companion() {
    let backed = related(
        looks(Red, "Fe Mn Ti"),
        &[("Mn", "Fe", Relation::NoMoreThanAccompanies), ("Fe", "Ti", Relation::Together)],
    );
    let first = &read(&backed).sets[0];
    assert_eq!(
        (first.materials.as_slice(), first.as_companions.as_slice()),
        (["red_ochre"].as_slice(), es("Ti Mn").as_slice())
    );
}

#[test]
fn what_came_later_and_is_no_paint_explains_nothing() {
    let all = sets(&passage("Ti Zn Ba Ca Cr"));
    assert!(all.iter().all(|set| !set.contains(&"conservation_fills")));
}

#[test]
fn more_than_four_gives_none() {
    // Six elements, of which no material holds two and none comes with another.
    let reading = read(&passage("Hg Ca Ti Cr Co Sb As Mn Sn=not"));
    assert!(reading.sets.iter().all(|set| set.materials.len() <= 4));
    for set in &reading.sets {
        let held = set.materials.iter().flat_map(|id| &row(&reading, id).material.key).copied();
        let held: Vec<Element> = held.chain(set.as_companions.iter().copied()).collect();
        let wanted = es("Hg Ca Ti Cr Co Sb As Mn").into_iter().filter(|e| !reading.unexplained.contains(e));
        assert!(wanted.into_iter().all(|e| held.contains(&e)));
    }
}

#[test]
fn an_identified_material_stands_in_the_first_set() {
    let raman = [("P1", Technique::Raman, "blue_verditer", Some(true))];
    let reading = read(&found(looks(Blue, "Cu"), &raman));
    assert_eq!(reading.sets[0].materials, ["blue_verditer"]);
}

#[test]
#[allow(clippy::disallowed_methods)] // a test may look at the clock
fn everything_seen_is_searched_in_time() {
    let all = "S Cl K Ca Ti Cr Mn Fe Co Ni Cu Zn As Sn Sb Ba Hg Pb Bi Sr";
    let start = std::time::Instant::now();
    let reading = read(&passage(all));
    let took = start.elapsed();
    assert!(reading.sets.iter().all(|set| set.materials.len() <= 4));
    assert!(
        took.as_millis() < 2000,
        "{took:?}: far above what it takes, so that a busy machine does not fail"
    );
}
