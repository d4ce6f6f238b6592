use super::*;
use crate::numerics::chance::Chance;

/// Five passages of different make-up, one thin, one faint: truth from 1 on, and six maps of Poisson counts.
pub fn scene(seed: u64) -> (usize, Vec<u8>, Vec<Vec<f64>>) {
    let (width, height) = (120i64, 90i64);
    let means: [[f64; 6]; 5] = [
        [20.0, 3.0, 2.0, 30.0, 1.0, 4.0],
        [60.0, 9.0, 2.0, 30.0, 1.0, 4.0],
        [20.0, 3.0, 40.0, 20.0, 1.0, 12.0],
        [20.0, 3.0, 2.0, 22.0, 25.0, 4.0],
        [20.0, 6.5, 2.0, 33.0, 1.0, 4.0],
    ];
    let mut truth = Vec::new();
    for y in 0..height {
        for x in 0..width {
            truth.push(if (x - 30) * (x - 30) + (y - 30) * (y - 30) < 400 {
                2
            } else if (61..110).contains(&x) && (11..40).contains(&y) {
                3
            } else if (10 * y - 600 - x).abs() < 20 {
                4
            } else if (71..112).contains(&x) && (73..86).contains(&y) {
                5
            } else {
                1
            });
        }
    }
    let mut chance = Chance::new(seed);
    let maps = (0..6)
        .map(|j| {
            (0..width * height)
                .map(|i| {
                    // Paint that lies thicker here and thinner there, in steps of a few per cent.
                    let thick = 1.0 + 0.02 * ((i % width / 9 + i / width / 7) % 7 - 3) as f64;
                    chance.poisson(means[usize::from(truth[i as usize]) - 1][j] * thick) as f64
                })
                .collect()
        })
        .collect();
    (width as usize, truth, maps)
}

fn layers(width: usize, maps: &[Vec<f64>], is_counts: bool) -> Layers<'_> {
    let used = (0..maps[0].len()).map(|i| maps.iter().all(|map| map[i].is_finite())).collect();
    Layers { width, maps: maps.iter().map(|values| Layer { values, is_counts }).collect(), used }
}

fn made(width: usize, maps: &[Vec<f64>], wish: Wish) -> Zones {
    zones(&layers(width, maps, true), &wish, &mut |_, _| {}).unwrap()
}

const MEANS: Wish = Wish { by: By::Means, zones: None, coherence: 1, seed: 1 };

#[test]
fn five_passages_are_found_in_either_manner() {
    let (width, truth, maps) = scene(3);
    for (by, zones) in [(By::Means, None), (By::Means, Some(5)), (By::Parts, None), (By::Parts, Some(5))] {
        for coherence in 0..4 {
            let found = made(width, &maps, Wish { by, zones, coherence, seed: 1 });
            let ari = agree::adjusted_rand(&truth, &found.labels);
            println!(
                "{by:?} {zones:?} coherence {coherence}: {} zones, ARI {ari:.3}, stays {:.2?}, curve {:.3?}, agreement {:?}, dev {:?} specks {:?}",
                found.count,
                found.stays,
                found.chosen.curve,
                found.chosen.agreement,
                found.deviance_per_df,
                found.specks
            );
        }
    }
}

#[test]
fn nothing_but_noise_is_parted_into_one() {
    let mut chance = Chance::new(8);
    for mean in [0.6, 5.0, 80.0] {
        let maps: Vec<Vec<f64>> =
            (0..5).map(|_| (0..8000).map(|_| chance.poisson(mean) as f64).collect()).collect();
        for by in [By::Means, By::Parts] {
            for coherence in 0..3 {
                let found = made(100, &maps, Wish { by, coherence, ..MEANS });
                println!("{mean} {by:?} {coherence}: {} {:.3?}", found.count, found.chosen.curve);
                assert_eq!(found.count, 1, "{mean} {by:?} {coherence}: {:?}", found.chosen);
            }
        }
    }
}
