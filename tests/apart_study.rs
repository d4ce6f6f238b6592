//! How often `apart` is right, wrong and abstains, on scenes whose truth is known.
//!
//! `cargo test --test apart_study -- --ignored --nocapture` prints the table of `docs/STUDIES.md`, section "Apart"; the
//! ordinary run takes some seeds of every scene. `SEEDS` and `SCENE` (a part of a name) choose less or more.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]

#[path = "cases/apart/scenes.rs"]
mod scenes;

use scenes::{MORE, NO_MORE, Scene};
use serde_json::json;
use std::collections::BTreeMap;

/// How often which verdict, the reasons of those that are none, and the median of k over its truth.
#[derive(Default)]
struct Tally {
    right: u32,
    wrong: u32,
    open: u32,
    reasons: BTreeMap<String, u32>,
    factors: Vec<f64>,
}

fn tally(scene: &Scene, seeds: std::ops::Range<u64>) -> Tally {
    let mut out = Tally::default();
    for seed in seeds {
        let mut study = scenes::study(scene, seed);
        let (answer, _) =
            study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).expect("an answer");
        match answer.verdict.as_str() {
            verdict if verdict == scene.truth => out.right += 1,
            MORE | NO_MORE => {
                out.wrong += 1;
                println!("wrong: {}, seed {seed}: {}", scene.name, answer.sentence);
            }
            _ => {
                out.open += 1;
                let reason = answer.sentence.split("judged").nth(1).unwrap_or_default();
                *out.reasons.entry(reason.chars().take(70).collect()).or_default() += 1;
            }
        }
        out.factors.extend(answer.numbers["k"].value.map(|k| k / scene.k));
    }
    out.factors.sort_by(f64::total_cmp);
    out
}

fn from_environment(name: &str) -> Option<String> {
    #[allow(clippy::disallowed_methods)] // a test may look at its environment
    std::env::var(name).ok()
}

#[test]
#[ignore = "some minutes; prints the table of docs/STUDIES.md"]
fn rates() {
    let seeds: u64 = from_environment("SEEDS").map_or(200, |text| text.parse().expect("a number"));
    let part = from_environment("SCENE").unwrap_or_default();
    let mut scenes = scenes::all();
    scenes.push(scenes::small_second());
    println!("| scene | truth | right | wrong | cannot be judged | k found / true |");
    println!("| --- | --- | --: | --: | --: | --: |");
    for scene in scenes.iter().filter(|scene| scene.name.contains(&part)) {
        let found = tally(scene, 0..seeds);
        let share = |n: u32| format!("{:.1} %", 100.0 * f64::from(n) / seeds as f64);
        let k = found.factors.get(found.factors.len() / 2).map_or("none".into(), |k| format!("{k:.2}"));
        let truth = if scene.truth == MORE { "more" } else { "no more" };
        println!(
            "| {} | {truth} | {} | {} | {} | {k} |",
            scene.name,
            share(found.right),
            share(found.wrong),
            share(found.open)
        );
        if from_environment("REASONS").is_some() {
            println!("  {:?}", found.reasons);
        }
        let is_told = scene.name == scenes::small_second().name;
        assert!(is_told || f64::from(found.wrong) <= 0.01 * seeds as f64, "{}: too often wrong", scene.name);
    }
}

/// The same with few seeds: at most one wrong statement in all.
#[test]
fn hardly_ever_a_wrong_statement() {
    let (mut wrong, mut right, mut all) = (0, 0, 0);
    for scene in scenes::all() {
        let found = tally(&scene, 1000..1003);
        wrong += found.wrong;
        right += found.right;
        all += found.right + found.wrong + found.open;
    }
    assert!(wrong <= 1, "{wrong} of {all} are wrong");
    // It must not abstain its way out: more than a third is answered, and answered well.
    assert!(3 * right > all, "{right} of {all} are right");
}
