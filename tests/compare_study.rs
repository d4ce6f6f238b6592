//! How often two regions of one unrelated field are said to differ. A short form runs with the other tests;
//! `cargo test --test compare_study -- --ignored --nocapture` prints the tables of `docs/STUDIES.md`, section "Differences of
//! regions".
//!
//! A field of 128 x 128 pixels: a normal field g with a stated correlation length, counts drawn with the mean
//! 20 exp(0.3 g - 0.045). *Rough* fields are correlated by exp(-(|dx| + |dy|) / L), *smooth* ones by exp(-(d / L)²). The same
//! two regions lie in every field; the mean of the pattern is the same in both, so every "differ" is wrong.

#![allow(clippy::unwrap_used, clippy::panic, missing_docs)]

use limner::grid::Grid;
use limner::measure::compare::{
    FEWEST_EFFECTIVE, Spread, effective_n, patchy_difference, patchy_mean, welch,
};
use limner::numerics::chance::Chance;
use limner::numerics::math::exp;

const SIDE: usize = 128;
const AROUND: i64 = 128;

#[derive(Clone, Copy, PartialEq, Debug)]
enum Texture {
    Rough,
    Smooth,
}

/// A normal field of variance 1.
fn field(texture: Texture, length: f64, chance: &mut Chance) -> Vec<f64> {
    let mut out: Vec<f64> = (0..SIDE * SIDE).map(|_| chance.normal()).collect();
    if length <= 0.0 {
        return out;
    }
    for turn in 0..2 {
        let at = |line: usize, i: usize| if turn == 0 { line * SIDE + i } else { i * SIDE + line };
        for line in 0..SIDE {
            let before: Vec<f64> = (0..SIDE).map(|i| out[at(line, i)]).collect();
            match texture {
                Texture::Rough => {
                    let keep = exp(-1.0 / length);
                    let fresh = (1.0 - keep * keep).sqrt();
                    let mut last = before[0];
                    for (i, value) in before.iter().enumerate().skip(1) {
                        last = keep * last + fresh * value;
                        out[at(line, i)] = last;
                    }
                }
                Texture::Smooth => {
                    // Two numbers of this kernel's smoothing that lie d apart are correlated by exp(-(d / L)²); around a ring.
                    let reach = (3.0 * length).ceil() as i64;
                    let weights: Vec<f64> =
                        (-reach..=reach).map(|d| exp(-2.0 * (d as f64 / length).powi(2))).collect();
                    let norm = weights.iter().map(|w| w * w).sum::<f64>().sqrt();
                    for i in 0..AROUND {
                        let sum: f64 = weights
                            .iter()
                            .zip(-reach..)
                            .map(|(w, d)| w * before[(i + d).rem_euclid(AROUND) as usize])
                            .sum();
                        out[at(line, i as usize)] = sum / norm;
                    }
                }
            }
        }
    }
    out
}

#[derive(Clone, Copy)]
struct Shape {
    name: &'static str,
    width: usize,
    height: usize,
    is_disc: bool,
    places: [(usize, usize); 2],
}

const SHAPES: [Shape; 6] = [
    Shape { name: "60 x 40", width: 60, height: 40, is_disc: false, places: [(2, 2), (66, 86)] },
    Shape { name: "40 x 40", width: 40, height: 40, is_disc: false, places: [(8, 8), (72, 72)] },
    Shape { name: "disc of 40", width: 40, height: 40, is_disc: true, places: [(8, 8), (72, 72)] },
    Shape { name: "80 x 10", width: 80, height: 10, is_disc: false, places: [(8, 8), (40, 90)] },
    Shape { name: "24 x 24", width: 24, height: 24, is_disc: false, places: [(12, 12), (80, 80)] },
    Shape { name: "10 x 10", width: 10, height: 10, is_disc: false, places: [(20, 20), (90, 80)] },
];

/// The counts of a region, NaN beside it; `times` the mean of the field.
fn region(pattern: &[f64], shape: &Shape, place: usize, times: f64, chance: &mut Chance) -> Grid<f64> {
    let (left, top) = shape.places[place];
    let mut values = Vec::new();
    for y in 0..shape.height {
        for x in 0..shape.width {
            let (dx, dy) = (x as f64 - 19.5, y as f64 - 19.5);
            let g = pattern[(top + y) * SIDE + left + x];
            let count = chance.poisson(times * 20.0 * exp(0.3 * g - 0.045)) as f64;
            values.push(if shape.is_disc && dx * dx + dy * dy > 400.0 { f64::NAN } else { count });
        }
    }
    Grid::from_vec(shape.width as u32, shape.height as u32, values).unwrap()
}

/// How often what was said.
#[derive(Clone, Copy, Default, Debug)]
struct Rates {
    fields: f64,
    judged: f64,
    differ: f64,
    /// Where pixels are taken for independent.
    naive: f64,
    /// Where what they are worth is taken from rings.
    by_rings: f64,
}

fn rates(texture: Texture, length: f64, shape: &Shape, fields: u32, times: f64, seed: u64) -> Rates {
    let mut chance = Chance::new(seed);
    let mut out = Rates { fields: f64::from(fields), ..Rates::default() };
    for _ in 0..fields {
        let pattern = field(texture, length, &mut chance);
        let a = region(&pattern, shape, 0, 1.0, &mut chance);
        let b = region(&pattern, shape, 1, times, &mut chance);
        let (of_a, of_b) = (patchy_mean(&a).unwrap().unwrap(), patchy_mean(&b).unwrap().unwrap());
        if of_a.effective.min(of_b.effective) >= FEWEST_EFFECTIVE {
            out.judged += 1.0;
            out.differ += f64::from(patchy_difference(&of_a, &of_b, 0.0).unwrap().p < 0.05);
        }
        let spread = |p: &limner::measure::compare::PatchyMean| Spread {
            n: p.n as f64,
            mean: p.mean,
            variance: p.variance,
        };
        let (one, two) = (spread(&of_a), spread(&of_b));
        out.naive += f64::from(welch(&one, &two, (one.n, two.n)).unwrap().p < 0.05);
        let rings = |grid| effective_n(grid).unwrap().unwrap().effective.min(one.n);
        out.by_rings += f64::from(welch(&one, &two, (rings(&a), rings(&b))).is_some_and(|w| w.p < 0.05));
    }
    out
}

#[test]
fn two_regions_of_one_field_seldom_differ() {
    let square = &SHAPES[1];
    for (texture, length) in [(Texture::Rough, 0.0), (Texture::Smooth, 2.0), (Texture::Rough, 4.0)] {
        let found = rates(texture, length, square, 60, 1.0, 11);
        // Of 60 answers at 5 % more than 9 are wrong in fewer than one case of 1000 (binomial).
        assert!(found.differ <= 9.0, "{texture:?} {length}: {found:?}");
    }
    let rough = rates(Texture::Rough, 4.0, square, 60, 1.0, 11);
    assert!(rough.naive > 30.0, "pixels taken for independent must fail here: {rough:?}");
    let coarse = rates(Texture::Smooth, 8.0, square, 40, 1.0, 12);
    assert!(coarse.judged <= 10.0, "two or three patches are no sample: {coarse:?}");
    let different = rates(Texture::Smooth, 1.0, square, 20, 1.2, 13);
    assert!(different.differ >= 18.0, "one fifth more must be seen: {different:?}");
}

#[test]
#[ignore = "the long form, about ten minutes"]
fn differences_of_regions() {
    const FIELDS: u32 = 300;
    println!(
        "| field | length | regions | judged | differ, of all | differ, of those judged | by rings | naive |"
    );
    println!("| --- | --- | --- | --- | --- | --- | --- | --- |");
    let percent =
        |part: f64, of: f64| if of > 0.0 { format!("{:.1} %", 100.0 * part / of) } else { "-".into() };
    for texture in [Texture::Rough, Texture::Smooth] {
        for length in [0.0, 1.0, 2.0, 4.0, 8.0] {
            for (i, shape) in SHAPES.iter().enumerate() {
                let seed = 1000 + 10 * i as u64 + length as u64 + 100 * u64::from(texture == Texture::Smooth);
                let r = rates(texture, length, shape, FIELDS, 1.0, seed);
                println!(
                    "| {} | {length} | {} | {} | {} | {} | {} | {} |",
                    format!("{texture:?}").to_lowercase(),
                    shape.name,
                    percent(r.judged, r.fields),
                    percent(r.differ, r.fields),
                    percent(r.differ, r.judged),
                    percent(r.by_rings, r.fields),
                    percent(r.naive, r.fields)
                );
            }
        }
    }
    println!("\n| field | length | regions | second mean | judged | differ, of those judged |");
    println!("| --- | --- | --- | --- | --- | --- |");
    for (texture, length) in
        [(Texture::Rough, 0.0), (Texture::Rough, 2.0), (Texture::Smooth, 2.0), (Texture::Smooth, 4.0)]
    {
        for times in [1.05, 1.1, 1.2, 1.5] {
            let r = rates(texture, length, &SHAPES[1], 200, times, 5000 + (100.0 * times) as u64);
            println!(
                "| {} | {length} | {} | x {times} | {} | {} |",
                format!("{texture:?}").to_lowercase(),
                SHAPES[1].name,
                percent(r.judged, r.fields),
                percent(r.differ, r.judged)
            );
        }
    }
}
