//! Times the core on two maps of 2048 x 2048 counts; `benches/speed.py` runs it beside numpy and scipy. Prints one line
//! for each task: its name and the best of five runs in milliseconds.
#![allow(clippy::disallowed_methods, clippy::unwrap_used)] // a clock and a file are what this is about

use limner::ask::picture::PictureSettings;
use limner::condition::{Input, Recipe, derive, hot_pixels};
use limner::kind::Kind;
use limner::measure::{Rules, Signal, classes, level, ratio};
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
