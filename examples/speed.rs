//! Times the core on two maps of 2048 x 2048 counts; `benches/speed.py` runs it beside numpy and scipy. Prints one line
//! for each task: its name and the best of five runs in milliseconds.
#![allow(clippy::disallowed_methods, clippy::unwrap_used)] // a clock and a file are what this is about

use limner::ask::picture::PictureSettings;
use limner::condition::{Input, Recipe, derive, hot_pixels};
use limner::export::export;
use limner::kind::Kind;
use limner::measure::together::{Pairs, Spatial, spearman};
use limner::measure::{Rules, Signal, classes, level, ratio};
use limner::numerics::discovery::{Dependence, adjusted};
use limner::region::polygon;
use limner::study::Study;
use serde_json::json;
use std::hint::black_box;
use std::time::Instant;

fn best(name: &str, mut task: impl FnMut()) {
    let mut best = f64::INFINITY;
    for _ in 0..5 {
        let start = Instant::now();
        task();
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
    }
    println!("{name}\t{best}");
}

fn main() {
    let folder = std::env::args().nth(1).unwrap();
    let bytes = |name: &str| std::fs::read(format!("{folder}/{name}")).unwrap();
    let (a, b) = (bytes("Ti-K.tif"), bytes("Fe-K.tif"));
    best("read a deflated TIFF", || {
        black_box(limner::reading::read(&a, None).unwrap());
    });
    let mut study = Study::new();
    study.open("Ti-K.tif", &a);
    study.open("Fe-K.tif", &b);
    best("write a map as a float TIFF", || {
        black_box(export(&mut study, "map", json!({"map": "Ti K"})).unwrap());
    });
    let rules = Rules::default();
    let signal = |name: &str| Signal::of(study.stack().find(name).unwrap()).unwrap();
    let (a, b) = (signal("Ti K"), signal("Fe K"));
    best("background", || {
        black_box(level(&a, &rules).unwrap().unwrap());
    });
    let (level_a, level_b) = (level(&a, &rules).unwrap().unwrap(), level(&b, &rules).unwrap().unwrap());
    println!("value critical\t{}", level_a.critical);
    best("classes with rims", || {
        black_box(classes(&a, &b, (&level_a, &level_b), Some(0.3), 1).unwrap());
    });
    best("ratio of each pixel and of the sums", || {
        black_box(ratio(&a, &b, (&level_a, &level_b), 0.05, 0.2).unwrap());
    });
    let (values, counts) = (&a.values, study.stack().find("Ti K").unwrap().plane.samples().clone());
    best("look at a new map: range, median, percentile", || {
        black_box(
            limner::stack::Map::new(
                limner::stack::MapId::new(1),
                limner::stack::Source { file: String::new(), page: 0, sha256: String::new() },
                String::new(),
                None,
                counts.clone(),
            )
            .unwrap(),
        );
    });
    let input = Input { values, sigma: None, kind: Kind::Window, ceiling: None, label: "Ti K" };
    let derived = |name: &str, recipe: serde_json::Value| {
        let recipe: Recipe = serde_json::from_value(recipe).unwrap();
        best(name, || {
            black_box(derive(&recipe, &[input]).unwrap());
        });
    };
    derived("sums of 4 x 4", json!({"how": "bin", "by": 4}));
    derived("smoothed over 2 px on the stabilised map", json!({"how": "smooth", "sigma_px": 2}));
    derived("median of 3 x 3", json!({"how": "smooth", "filter": "median"}));
    best("hot pixels", || {
        black_box(hot_pixels(&[input]).unwrap());
    });
    best("correlation of ranks", || {
        black_box(spearman(a.values.data(), b.values.data()).unwrap());
    });
    // A cut of 256 x 256, as large as the tests of `together` let a region be before they bin it.
    let cut = |i: usize| (1000..1256).contains(&(i % 2048)) && (900..1156).contains(&(i / 2048));
    best("independent places of 256 x 256", || {
        let pairs = Pairs::of(2048, a.values.data(), b.values.data(), cut).unwrap();
        black_box(Spatial::of(&pairs).unwrap().unwrap().effective_n(None).unwrap());
    });
    let pairs = Pairs::of(2048, a.values.data(), b.values.data(), cut).unwrap();
    println!(
        "value independent\t{}",
        Spatial::of(&pairs).unwrap().unwrap().effective_n(None).unwrap().unwrap()
    );
    let chances: Vec<f64> =
        (0..4_194_304u64).map(|i| (i * 2_654_435_761 % 4_194_304) as f64 / 4_194_304.0).collect();
    best("false discoveries among 4 million", || {
        black_box(adjusted(&chances, Dependence::Positive));
    });
    // A star of 400 corners.
    let corners: Vec<(f64, f64)> = (0..400)
        .map(|i| {
            let (angle, radius) =
                (f64::from(i) * std::f64::consts::TAU / 400.0, if i % 2 == 0 { 900.0 } else { 500.0 });
            (1024.0 + radius * angle.cos(), 1024.0 + radius * angle.sin())
        })
        .collect();
    best("mask of a polygon of 400 corners", || {
        black_box(polygon((2048, 2048), &corners).unwrap());
    });
    for (question, settings) in [
        ("faint", json!({"map": "Ti K"})),
        ("together", json!({"a": "Ti K", "b": "Fe K"})),
        ("apart", json!({"a": "Ti K", "b": "Fe K"})),
        ("ratio", json!({"a": "Ti K", "b": "Fe K"})),
    ] {
        best(&format!("question {question}"), || {
            black_box(study.ask(question, settings.clone(), &mut |_, _| {}).unwrap());
        });
    }
    let mut picture = |name: &str, settings: serde_json::Value| {
        let settings = PictureSettings::read(settings).unwrap();
        best(name, || {
            black_box(study.picture(&settings).unwrap());
        });
    };
    let lights = json!([{"map": "Ti K", "low": 10, "high": 90}, {"map": "Fe K", "low": 20, "high": 300}]);
    picture("overlay of two, one to one", json!({"lights": lights}));
    let view = json!({"x": 0, "y": 0, "width": 2048, "height": 2048, "out_width": 512});
    picture("overlay of two, a quarter of the size", json!({"lights": lights, "view": view}));
}
