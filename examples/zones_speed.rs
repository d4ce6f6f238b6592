//! Times zones: the loops beside scikit-learn (`benches/zones.py`), and the whole on 20 maps of 2 million counts. Prints one
//! line for each task: its name and milliseconds, best of three (the whole: once).
#![allow(clippy::disallowed_methods, clippy::unwrap_used)] // a clock is what this is about

use limner::measure::zones::kmeans::{Points, lloyd};
use limner::measure::zones::nmf::Parts;
use limner::measure::zones::{By, Layer, Layers, Wish, zones};
use limner::numerics::chance::Chance;
use std::hint::black_box;
use std::time::Instant;

const MAPS: usize = 20;

fn best(name: &str, times: u32, mut task: impl FnMut()) {
    let mut best = f64::INFINITY;
    for _ in 0..times {
        let start = Instant::now();
        task();
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
    }
    println!("{name}\t{best}");
}

/// The same whole numbers as in `benches/zones.py`: five groups with a ripple.
fn table(pixels: usize) -> Vec<f64> {
    (0..pixels * MAPS)
        .map(|i| {
            let (pixel, map) = (i / MAPS, i % MAPS);
            let group = pixel * 7919 % 5;
            (4 + 11 * (group * (map + 3) % 7) + (37 * pixel + 101 * map + 7 * pixel * map) % 13) as f64
        })
        .collect()
}

fn main() {
    let rows = table(40_000);
    let points = Points { values: &rows, maps: MAPS };
    best("k-means, 40 000 pixels of 20 maps, 8 groups, from given rows", 3, || {
        let centres = rows[..8 * MAPS].to_vec();
        let found = lloyd(points, centres, 300);
        println!("value inertia\t{}\t{}", found.inertia, found.rounds);
    });
    let rows = table(15_000);
    best("parts, 15 000 pixels of 20 maps, 5 parts, 150 rounds", 3, || {
        let w = (0..15_000 * 5).map(|i| 1.0 + ((i / 5 * (3 + 2 * (i % 5))) % 7) as f64).collect();
        let h = (0..5 * MAPS).map(|i| 1.0 + ((5 * (i / MAPS) + 3 * (i % MAPS)) % 4) as f64).collect();
        let mut parts = Parts { w, h, count: 5, maps: MAPS };
        parts.improve(&rows, 150);
        println!("value divergence\t{}", parts.divergence(&rows));
    });
    // Five passages in bands and discs, each with its own means.
    let (width, height) = (1600usize, 1250usize);
    let mut chance = Chance::new(1);
    let passage = |i: usize| {
        let (x, y) = ((i % width) as f64, (i / width) as f64);
        match () {
            () if (x - 400.0) * (x - 400.0) + (y - 400.0) * (y - 400.0) < 62_500.0 => 1,
            () if x > 900.0 && y < 500.0 => 2,
            () if (y - 800.0).abs() < 6.0 => 3,
            () if x > 1000.0 && y > 950.0 => 4,
            () => 0usize,
        }
    };
    let maps: Vec<Vec<f64>> = (0..MAPS)
        .map(|map| {
            let mean = |passage: usize| 3.0 + 5.0 * ((passage * (map + 3)) % 7) as f64;
            (0..width * height).map(|i| chance.poisson(mean(passage(i))) as f64).collect()
        })
        .collect();
    let layers = Layers {
        width,
        maps: maps.iter().map(|values| Layer { values, is_counts: true }).collect(),
        used: vec![true; width * height],
    };
    for (name, by) in [("means", By::Means), ("parts", By::Parts)] {
        for number in [None, Some(5)] {
            best(&format!("zones by {name}, 20 maps of 2 million, {number:?}"), 1, || {
                let wish = Wish { by, zones: number, coherence: 2, seed: 1 };
                let start = Instant::now();
                let found = black_box(zones(&layers, &wish, &mut |share, text| {
                    println!("  {share:.2} {:.1} s {text}", start.elapsed().as_secs_f64());
                }));
                println!("value zones\t{}", found.unwrap().count);
            });
        }
    }
}
