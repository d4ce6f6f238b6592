//! Are the colours of this program told apart by people with a colour-vision deficiency? Each pair of a set is compared by
//! CIEDE2000 as normal, protan, deutan and tritan vision see it, deficiencies at their full severity (Machado, Oliveira
//! and Fernandes 2009). That 10 is enough for categories is common practice, no source.

#![allow(clippy::unwrap_used)] // a test may fail

use limner::colour::{
    CLASS_COLOURS, LIGHT_COLOURS, LOWER_LIMIT, NO_DATA, Pattern, Rgb, UPPER_LIMIT, Vision, ZONE_COLOURS,
    diverging, lab_of, smallest_difference,
};

/// What must lie between two colours that mean different things.
const ENOUGH: f64 = 10.0;

/// Lights at full, added.
fn mixed(members: &[usize]) -> Rgb {
    let mut sum = [0.0; 3];
    for &member in members {
        for (total, channel) in sum.iter_mut().zip(LIGHT_COLOURS[member].linear()) {
            *total += channel;
        }
    }
    Rgb::from_linear(sum)
}

/// The smallest difference of all pairs of one set with another, over all visions.
fn between(some: &[Rgb], others: &[Rgb]) -> f64 {
    let pairs = some.iter().flat_map(|one| others.iter().map(move |other| (*one, *other)));
    let visions = pairs.flat_map(|(one, other)| Vision::ALL.map(|vision| vision.difference(one, other)));
    visions.fold(f64::INFINITY, f64::min)
}

fn within(colours: &[Rgb]) -> f64 {
    smallest_difference(colours)
        .unwrap()
        .iter()
        .map(|nearest| nearest.difference)
        .fold(f64::INFINITY, f64::min)
}

/// A figure and what it is at least: printed, so that a run shows how much there is to spare.
fn at_least(what: &str, got: f64, wanted: f64) {
    println!("{what}: {got:.2}, at least {wanted}");
    assert!(got >= wanted, "{what}: {got:.2} is below {wanted}");
}

#[test]
fn lights_at_full_and_the_dark_are_told_apart() {
    at_least("four lights", within(&LIGHT_COLOURS), ENOUGH);
    at_least("the first two lights", within(&LIGHT_COLOURS[..2]), 50.0);
    at_least("lights and the dark", between(&LIGHT_COLOURS, &[Rgb([0; 3])]), 40.0);
}

#[test]
fn zones_are_told_apart_by_all_and_in_grey_by_lightness_or_pattern() {
    let mut grounds: Vec<Rgb> = ZONE_COLOURS.iter().map(|colour| colour.ground).collect();
    grounds.push(NO_DATA.ground);
    at_least("ten zones and no data", within(&grounds), 15.0);
    for (i, one) in ZONE_COLOURS.iter().enumerate() {
        for other in &ZONE_COLOURS[i + 1..] {
            let apart = (lab_of(one.ground)[0] - lab_of(other.ground)[0]).abs();
            assert!(apart >= ENOUGH || one.pattern != other.pattern, "{one:?} {other:?}: {apart}");
        }
        // A pattern is seen, and stays nearer to its ground than to other zones.
        let own = Vision::ALL.map(|vision| vision.difference(one.ground, one.mark));
        let seen = own.iter().all(|&difference| difference > 3.0);
        assert!(seen || one.pattern == Pattern::Plain, "{one:?}: {own:?}");
    }
}

#[test]
fn coincidences_are_told_from_their_lights() {
    for members in [[0, 1], [0, 2], [0, 3], [1, 2], [1, 3], [2, 3]] {
        let [one, other] = members;
        let set = [LIGHT_COLOURS[one], LIGHT_COLOURS[other], mixed(&members)];
        println!("{members:?}: {:.2}", within(&set));
    }
    at_least("two lights and both", within(&[LIGHT_COLOURS[0], LIGHT_COLOURS[1], mixed(&[0, 1])]), 20.0);
    let sums = [mixed(&[0, 1]), mixed(&[0, 2]), mixed(&[1, 2]), mixed(&[0, 1, 2])];
    at_least("coincidences of three lights and single lights", between(&sums, &LIGHT_COLOURS[..3]), ENOUGH);
    at_least("coincidences of two out of three among each other", within(&sums[..3]), ENOUGH);
    // A weakness, stated: the first two lights together are nearly white already, so the third adds little to be seen.
    // The key and the read-out tell them apart; with normal vision too they are near.
    at_least("all three lights and any two", between(&sums[3..], &sums[..3]), 4.0);
}

#[test]
fn classes_are_told_apart() {
    let grounds = CLASS_COLOURS.map(|class| class.ground);
    at_least("classes", within(&grounds), ENOUGH);
}

#[test]
fn fills_of_a_ratio_picture_are_told_apart_and_from_its_scale() {
    let fills = [LOWER_LIMIT, UPPER_LIMIT, NO_DATA, CLASS_COLOURS[1], CLASS_COLOURS[5]];
    let grounds = fills.map(|fill| fill.ground);
    at_least("fills", within(&grounds), ENOUGH);
    let scale: Vec<Rgb> = (0..=64).map(|i| diverging(f64::from(i) / 32.0 - 1.0)).collect();
    let off_scale = [LOWER_LIMIT, UPPER_LIMIT, NO_DATA, CLASS_COLOURS[1]].map(|fill| fill.ground);
    at_least("fills and the scale", between(&off_scale, &scale), ENOUGH);
    // A weakness, stated: to protan vision some teal is the grey of saturated pixels. Those have stripes.
    at_least("saturated and the scale", between(&[CLASS_COLOURS[5].ground], &scale), 2.5);
    assert_eq!(CLASS_COLOURS[5].pattern, Pattern::Stripes);
}

#[test]
fn marks_of_patterns_are_seen_on_their_ground() {
    let patterned = CLASS_COLOURS.iter().chain([&LOWER_LIMIT, &UPPER_LIMIT, &NO_DATA]);
    for colour in patterned.filter(|colour| colour.pattern != Pattern::Plain) {
        at_least("a mark on its ground", between(&[colour.mark], &[colour.ground]), ENOUGH);
    }
}
