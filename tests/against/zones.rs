//! Zones against scikit-learn (`parts/zones.py`), and against what is true of a simulated scene and of the example.

#![allow(clippy::disallowed_methods)] // a test reads its files itself

use crate::support::{Section, bytes_of, counts_of, in_project, list, number, text};
use limner::ask::Raster;
use limner::measure::zones::agree::{adjusted_rand, silhouette};
use limner::measure::zones::kmeans::{Points, lloyd};
use limner::measure::zones::nmf::Parts;
use limner::measure::zones::{By, Layer, Layers, Wish, zones};
use limner::numerics::chance::Chance;
use limner::numerics::stabilise::anscombe;
use limner::study::Study;
use serde_json::json;

const FILE: &str = "zones.json";
const LABELS: &str = "zones/labels.txt";

/// Maps of the integer arrays, one after the other.
fn arrays(names: &[&str]) -> Vec<Vec<f64>> {
    names.iter().map(|name| counts_of(&format!("background/{name}.npy")).1.values.into_vec()).collect()
}

/// As many rows as pixels.
fn rows_of(maps: &[Vec<f64>]) -> Vec<f64> {
    (0..maps[0].len()).flat_map(|i| maps.iter().map(move |map| map[i])).collect()
}

fn standardised() -> Vec<f64> {
    let mut maps = arrays(&["iron", "manganese", "copper", "zinc"]);
    for map in &mut maps {
        let n = map.len() as f64;
        map.iter_mut().for_each(|v| *v = anscombe(*v));
        let mean = map.iter().sum::<f64>() / n;
        let deviation = (map.iter().map(|v| (v - mean) * (v - mean)).sum::<f64>() / n).sqrt();
        map.iter_mut().for_each(|v| *v = (*v - mean) / deviation);
    }
    rows_of(&maps)
}

#[test]
fn groups_of_like_pixels() {
    let (mut section, values) = Section::of_file(FILE, "means");
    let rows = standardised();
    let points = Points { values: &rows, maps: 4 };
    for row in list(&values["rows"]) {
        section.row();
        let name = text(&row["name"]);
        let first = list(&row["first"]).iter().map(|i| number(i) as usize);
        let centres: Vec<f64> = first.flat_map(|i| rows[i * 4..i * 4 + 4].to_vec()).collect();
        let found = lloyd(points, centres, 300);
        section.near(format!("{name}, inertia"), found.inertia, &row["inertia"]);
        let sizes: Vec<u64> = (0..found.centres.len() / 4)
            .map(|group| found.labels.iter().filter(|&&label| label as usize == group).count() as u64)
            .collect();
        let want: Vec<u64> = list(&row["sizes"]).iter().map(|size| number(size) as u64).collect();
        section.same(format!("{name}, sizes"), sizes, want);
        for (got, want) in found.centres.iter().zip(list(&row["centres"])) {
            section.near(format!("{name}, a centre"), *got, want);
        }
        let every: Vec<usize> = (0..points.rows().len()).step_by(7).collect();
        let some: Vec<f64> = every.iter().flat_map(|&i| rows[i * 4..i * 4 + 4].to_vec()).collect();
        let labels: Vec<u32> = every.iter().map(|&i| found.labels[i]).collect();
        let wide = silhouette(Points { values: &some, maps: 4 }, &labels).unwrap();
        section.near(format!("{name}, silhouette"), wide, &row["silhouette"]);
    }
    section.finish();
}

/// The published section of the methods: values of scikit-learn, from memory of its run.
#[test]
fn groups_and_parts_have_the_values_stated_with_the_methods() {
    let rows = standardised();
    let points = Points { values: &rows, maps: 4 };
    let at =
        |places: &[usize]| places.iter().flat_map(|&i| rows[i * 4..i * 4 + 4].to_vec()).collect::<Vec<_>>();
    let found = lloyd(points, at(&[10 * 64 + 20, 30 * 64 + 50, 30 * 64 + 15, 0]), 300);
    assert!((found.inertia - 2108.82).abs() < 0.01 && (8..=9).contains(&found.rounds), "{found:?}");
    for (k, want) in [(2, 7925.57), (3, 2551.59), (4, 2266.61), (5, 2102.02), (6, 1666.67), (7, 1615.13)] {
        let first: Vec<usize> = (0..k).map(|j| (37 * j * j + 11 * j) % 3072).collect();
        let found = lloyd(points, at(&first), 300);
        assert!((found.inertia - want).abs() < 0.01, "{k}: {}", found.inertia);
    }
    let x = rows_of(&arrays(&["iron", "manganese", "copper", "zinc", "lead"]));
    let mut parts = start(&x, 3);
    assert!((parts.divergence(&x) / 322_351.0 - 1.0).abs() < 1e-5);
    let mut done = 0;
    for (rounds, want) in [(1, 49_427.6), (10, 13_610.7), (100, 2_005.43)] {
        parts.improve(&x, rounds - done);
        done = rounds;
        assert!((parts.divergence(&x) / want - 1.0).abs() < 5e-6, "{rounds}: {}", parts.divergence(&x));
    }
}

fn start(x: &[f64], count: usize) -> Parts {
    let n = x.len() / 5;
    let w = (0..n).flat_map(|i| (0..count).map(move |c| 1.0 + ((i * (3 + 2 * c)) % 7) as f64)).collect();
    let h = (0..count).flat_map(|c| (0..5).map(move |j| 1.0 + ((5 * c + 3 * j) % 4) as f64)).collect();
    Parts { w, h, count, maps: 5 }
}

#[test]
fn parts_of_counts() {
    let (mut section, values) = Section::of_file(FILE, "parts");
    let x = rows_of(&arrays(&["iron", "manganese", "copper", "zinc", "lead"]));
    for row in list(&values["rows"]) {
        section.row();
        let (count, rounds) = (number(&row["parts"]) as usize, number(&row["rounds"]) as u32);
        let mut parts = start(&x, count);
        parts.improve(&x, rounds);
        let what = format!("{count} parts, {rounds} rounds");
        section.near(&what, parts.divergence(&x), &row["divergence"]);
        section.near(&what, parts.deviance_per_df(&x).unwrap(), &row["deviance_per_df"]);
    }
    let mut parts = start(&x, 3);
    parts.improve(&x, 100);
    parts.normalise();
    for (got, want) in parts.h.iter().zip(list(&values["spectra"])) {
        section.near("a spectrum", *got, want);
    }
    section.finish();
}

/// Five passages of different make-up, one thin, one faint: truth from 1 on, and six maps of Poisson counts.
fn scene(seed: u64) -> (usize, Vec<u8>, Vec<Vec<f64>>) {
    let (width, height) = (120i64, 90i64);
    let means: [[f64; 6]; 5] = [
        [20.0, 3.0, 2.0, 30.0, 1.0, 4.0],
        [60.0, 9.0, 2.0, 30.0, 1.0, 4.0],
        [20.0, 3.0, 40.0, 20.0, 1.0, 12.0],
        [20.0, 3.0, 2.0, 22.0, 25.0, 4.0],
        [20.0, 6.5, 2.0, 33.0, 1.0, 4.0],
    ];
    let passage = |x: i64, y: i64| match () {
        () if (x - 30) * (x - 30) + (y - 30) * (y - 30) < 400 => 2u8,
        () if (61..110).contains(&x) && (11..40).contains(&y) => 3,
        () if (10 * y - 600 - x).abs() < 20 => 4,
        () if (71..112).contains(&x) && (73..86).contains(&y) => 5,
        () => 1,
    };
    let truth: Vec<u8> = (0..width * height).map(|i| passage(i % width, i / width)).collect();
    let mut chance = Chance::new(seed);
    let maps = (0..6).map(|j| {
        let count = |i: i64| {
            // Paint that lies thicker here and thinner there, in steps of a few per cent.
            let thick = 1.0 + 0.02 * ((i % width / 9 + i / width / 7) % 7 - 3) as f64;
            chance.poisson(means[usize::from(truth[i as usize]) - 1][j] * thick) as f64
        };
        (0..width * height).map(count).collect()
    });
    let maps = maps.collect();
    (width as usize, truth, maps)
}

fn of_scene(by: By, zones_wished: Option<usize>) -> (Vec<u8>, usize) {
    let (width, truth, maps) = scene(3);
    let layers = Layers {
        width,
        maps: maps.iter().map(|values| Layer { values, is_counts: true }).collect(),
        used: vec![true; truth.len()],
    };
    let wish = Wish { by, zones: zones_wished, coherence: 2, seed: 1 };
    let found = zones(&layers, &wish, &mut |_, _| {}).unwrap();
    (found.labels, found.count)
}

/// Zones of the example by the question, as the page asks it.
fn of_demo(by: &str, count: u32) -> (Vec<u8>, String) {
    let mut study = Study::new();
    for line in ["Ca-K", "Ti-K", "Mn-K", "Fe-K", "Cu-K", "Zn-K", "Pb-L", "Hg-L"] {
        let name = format!("tern_{line}.tif");
        study.open(&name, &std::fs::read(in_project("demo-data/tern-sound").join(&name)).unwrap());
    }
    let settings = json!({"zones": count, "zones_by": by});
    let (answer, rasters) = study.ask("regions", settings, &mut |_, _| {}).unwrap();
    let Some(Raster::U8(labels)) = rasters.get("zones") else { panic!("{}", answer.sentence) };
    // To be looked at: `ZONES_PICTURE=folder cargo test --test reference zones`.
    if let Ok(folder) = std::env::var("ZONES_PICTURE") {
        let picture = json!({"settings": {"answer": answer.id, "show": "zones"}, "width_px": 1000});
        let bytes = limner::export::export(&mut study, "picture", picture).unwrap().bytes;
        std::fs::write(format!("{folder}/{by}-{count}.png"), bytes).unwrap();
        std::fs::write(format!("{folder}/{by}-{count}.json"), serde_json::to_string_pretty(&answer).unwrap())
            .unwrap();
    }
    (labels.data().to_vec(), answer.sentence)
}

fn as_rows(labels: &[u8], width: usize) -> String {
    let row = |row: &[u8]| row.iter().map(|label| format!("{label:x}")).collect::<String>();
    labels.chunks_exact(width).map(row).collect::<Vec<_>>().join("\n")
}

/// What the core makes is what is committed; scikit-learn has computed its agreement with the truth, which is at least 0.8.
#[test]
fn zones_agree_with_what_is_true() {
    let (width, truth, _) = scene(3);
    let demo_truth: Vec<u8> = std::fs::read_to_string(in_project("demo-data/truth/passages.txt"))
        .unwrap()
        .lines()
        .flat_map(|line| line.chars().map(|sign| sign.to_digit(16).unwrap() as u8).collect::<Vec<_>>())
        .collect();
    let mut blocks: Vec<(String, Vec<u8>, usize)> =
        vec![("truth".into(), truth.clone(), width), ("demo truth".into(), demo_truth.clone(), 300)];
    for (name, by) in [("means", By::Means), ("parts", By::Parts)] {
        for wished in [None, Some(5)] {
            let (labels, count) = of_scene(by, wished);
            let how = if wished.is_none() { "chosen" } else { "given" };
            println!("{name}, {how}: {count} zones, {:.4}", adjusted_rand(&truth, &labels));
            blocks.push((format!("{name}, {how}"), labels, width));
        }
        for wished in [0, 8] {
            if name == "parts" && wished == 8 {
                continue;
            }
            let (labels, sentence) = of_demo(name, wished);
            println!("demo {name}, {wished}: {:.4} {sentence}", adjusted_rand(&demo_truth, &labels));
            blocks.push((format!("demo {name}, {wished}"), labels, 300));
        }
    }
    let whole: String = blocks
        .iter()
        .map(|(name, labels, width)| format!("# {name}\n{}\n", as_rows(labels, *width)))
        .collect();
    if std::env::var("ZONES").as_deref() == Ok("accept") {
        std::fs::write(in_project("tests/reference").join(LABELS), &whole).unwrap();
    }
    assert!(whole.as_bytes() == bytes_of(LABELS), "other labels than those committed");
    let (mut section, values) = Section::of_file(FILE, "agreement");
    for row in list(&values["rows"]) {
        section.row();
        let name = text(&row["name"]);
        let (_, labels, _) = blocks.iter().find(|(block, ..)| block == name).unwrap();
        let truth = if name.starts_with("demo") { &demo_truth } else { &truth };
        section.near(name, adjusted_rand(truth, labels), &row["index"]);
        // Parts go by proportions: paper and board, which both count calcium and little else, are one part of the chart.
        assert!(number(&row["index"]) >= 0.8 || name == "demo parts, 0", "{name}: {}", row["index"]);
    }
    section.finish();
}
