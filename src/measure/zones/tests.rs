use super::*;
use crate::numerics::chance::Chance;

fn made(width: usize, maps: &[Vec<f64>], is_counts: bool, wish: Wish) -> Zones {
    let used = (0..maps[0].len()).map(|i| maps.iter().all(|map| map[i].is_finite())).collect();
    let maps = maps.iter().map(|values| Layer { values, is_counts }).collect();
    zones(&Layers { width, maps, used }, &wish, &mut |_, _| {}).unwrap()
}

const MEANS: Wish = Wish { by: By::Means, zones: None, coherence: 2, seed: 1 };

/// Four maps of 60 x 40 with a bright square in the first two, and a hole without data.
fn square(chance: &mut Chance) -> (Vec<u8>, Vec<Vec<f64>>) {
    let is_in = |i: usize| (20..40).contains(&(i % 60)) && (10..30).contains(&(i / 60));
    let truth = (0..2400).map(|i| if is_in(i) { 2 } else { 1 }).collect();
    let mut maps: Vec<Vec<f64>> = (0..4)
        .map(|j| {
            (0..2400).map(|i| chance.poisson(if is_in(i) && j < 2 { 20.0 } else { 8.0 }) as f64).collect()
        })
        .collect();
    maps[3][0] = f64::NAN;
    (truth, maps)
}

#[test]
fn a_square_is_a_zone_in_either_manner_and_of_other_values_too() {
    let (truth, maps) = square(&mut Chance::new(2));
    for (by, is_counts) in [(By::Means, true), (By::Parts, true), (By::Means, false)] {
        let found = made(60, &maps, is_counts, Wish { by, ..MEANS });
        let ari = agree::adjusted_rand(&truth, &found.labels);
        assert!(found.count == 2 && ari > 0.95, "{by:?} {is_counts}: {} zones, {ari}", found.count);
        assert_eq!(found.labels[0], 0, "a blank pixel is in no zone");
        assert!(found.stays.iter().all(|stays| stays.is_some_and(|share| share > 0.9)), "{:?}", found.stays);
        assert_eq!(found.is_thinned, is_counts);
    }
}

#[test]
fn nothing_but_noise_is_parted_into_one() {
    let mut chance = Chance::new(8);
    for mean in [0.6, 5.0, 80.0] {
        let maps: Vec<Vec<f64>> =
            (0..5).map(|_| (0..3000).map(|_| chance.poisson(mean) as f64).collect()).collect();
        for (by, is_counts) in [(By::Means, true), (By::Parts, true), (By::Means, false)] {
            let found = made(60, &maps, is_counts, Wish { by, ..MEANS });
            assert_eq!(found.count, 1, "{mean} {by:?} {is_counts}: {:?}", found.chosen);
        }
    }
}

#[test]
fn nothing_to_part_gives_no_zone() {
    let found = made(10, &[vec![f64::NAN; 100], vec![1.0; 100]], true, MEANS);
    assert_eq!((found.count, found.labels.contains(&1)), (0, false));
    let one = made(10, &[vec![3.0; 100]], true, Wish { zones: Some(3), ..MEANS });
    assert_eq!((one.count, one.nowhere), (1, 2), "equal pixels are one zone");
}
