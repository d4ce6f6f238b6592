//! How often `apart` is right, wrong and abstains, on scenes whose truth is known.
//!
//! `cargo test --test apart_study -- --ignored --nocapture` prints the table of `docs/STUDIES.md`, section "Apart"; the
//! ordinary run takes some seeds of every scene. `SEEDS`, `SCENE` (a part of a name) and `PART` (0 or 1: every
//! second scene) choose less or more.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, missing_docs)]
#![allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]

#[path = "cases/apart/scenes.rs"]
mod scenes;

use limner::ask::{Answer, Subject, verdict_of_apart};
use limner::measure::{self, Rules, Signal, Two, fits};
use limner::study::{MapRecord, Study};
use scenes::{MORE, NO_MORE, Scene};
use serde_json::json;

/// How often which verdict, and the factors that three rules find, over the true one.
#[derive(Default)]
struct Tally {
    right: u32,
    wrong: u32,
    open: u32,
    factors: Vec<[f64; 3]>,
}

fn tally(scene: &Scene, seeds: std::ops::Range<u64>) -> Tally {
    let mut out = Tally::default();
    for seed in seeds {
        let study = scenes::study(scene, seed);
        let beam = scene.beams.0.max(scene.beams.1) * scenes::STEP_UM;
        let subject = Subject::new(study.stack(), &[], Some(beam));
        let settings = json!({"a": "Ti K", "b": "Fe K"});
        match verdict_of_apart(settings, &subject).expect("an answer") {
            verdict if verdict == scene.truth => out.right += 1,
            verdict @ (MORE | NO_MORE) => {
                out.wrong += 1;
                println!("wrong: {}, seed {seed}: {verdict}", scene.name);
            }
            _ => out.open += 1,
        }
        out.factors.extend(factors(&study).map(|factors| factors.map(|k| k / scene.k)));
    }
    out
}

/// A for each B by three rules: the one in use; near the median where both are detected; clipped over all of B.
fn factors(study: &Study) -> Option<[f64; 3]> {
    let signal = |name: &str| Signal::of(study.stack().find(name).expect("a map")).expect("memory");
    let (a, b) = (signal("Ti K"), signal("Fe K"));
    let rules = Rules::default();
    let level = |signal: &Signal| measure::level(signal, &rules).expect("memory").ok();
    let (level_a, level_b) = (level(&a)?, level(&b)?);
    let two = Two { a: &a, b: &b, at: (&level_a, &level_b), rules };
    let k = measure::accompaniment(&two, 0.2).expect("memory")?.k;
    let pixels = (0..two.len()).filter(|&i| two.has_b(i));
    let net = |i: usize| (a.values.data()[i] - level_a.background, b.values.data()[i] - level_b.background);
    let (over_a, over_b): (Vec<f64>, Vec<f64>) = pixels.clone().map(net).unzip();
    let clipped = fits::clipped_ratio(&over_a, &over_b).map_or(f64::NAN, |found| found.k);
    let mut both: Vec<f64> = pixels.filter(|&i| two.has_a(i)).map(net).map(|(a, b)| a / b).collect();
    both.sort_by(f64::total_cmp);
    Some([k, both.get(both.len() / 2).copied().unwrap_or(f64::NAN), clipped])
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
    let part_of = from_environment("PART").map(|text| text.parse::<usize>().expect("0 or 1"));
    let mut scenes = scenes::all();
    scenes.push(scenes::small_second());
    println!(
        "| scene | truth | right | wrong | cannot be judged | k found / true | near the median | clipped over B |"
    );
    println!("| --- | --- | --: | --: | --: | --: | --: | --: |");
    let chosen = scenes.iter().enumerate().filter(|(i, _)| part_of.is_none_or(|part| i % 2 == part));
    for scene in chosen.map(|(_, scene)| scene).filter(|scene| scene.name.contains(&part)) {
        let found = tally(scene, 0..seeds);
        let share = |n: u32| format!("{:.1} %", 100.0 * f64::from(n) / seeds as f64);
        let middle = |rule: usize| {
            let mut all: Vec<f64> = found.factors.iter().map(|factors| factors[rule]).collect();
            all.sort_by(f64::total_cmp);
            all.get(all.len() / 2).filter(|k| !k.is_nan()).map_or("none".into(), |k| format!("{k:.2}"))
        };
        let truth = if scene.truth == MORE { "more" } else { "no more" };
        println!(
            "| {} | {truth} | {} | {} | {} | {} | {} | {} |",
            scene.name,
            share(found.right),
            share(found.wrong),
            share(found.open),
            middle(0),
            middle(1),
            middle(2)
        );
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

/// A study of two maps, stated to be of some kind.
fn of_kind(a: &[u16], b: &[u16], kind: &str) -> Study {
    let mut study = Study::new();
    study.open("Ti-K.npy", &scenes::npy(a, scenes::WIDTH));
    study.open("Fe-K.npy", &scenes::npy(b, scenes::WIDTH));
    for map in ["Ti K", "Fe K"] {
        study.set_map(map, MapRecord { kind: Some(kind.into()), ..MapRecord::default() }).unwrap();
    }
    study
}

fn asked(study: &mut Study) -> Answer {
    study.ask("apart", json!({"a": "Ti K", "b": "Fe K"}), &mut |_, _| {}).expect("an answer").0
}

#[test]
fn a_second_material_within_b_is_named_with_its_factor() {
    let scene =
        scenes::all().into_iter().find(|scene| scene.name.starts_with("own material within B")).unwrap();
    let answer = asked(&mut scenes::study(&scene, 5));
    assert_eq!(answer.verdict, MORE, "{}", answer.sentence);
    assert!(answer.sentence.contains("instead of 0.2") && answer.sentence.contains("a second material"));
    let value = |name: &str| answer.numbers[name].value.unwrap();
    assert!((value("k") - 0.25).abs() < 0.01 && value("excess_pixels") > 5.0);
    let limit = &answer.numbers["independent_upper_limit"];
    // 50 pixels of 29 counts on 3000 pixels, and what counting leaves open.
    assert!((0.3..2.0).contains(&limit.value.unwrap()) && limit.high_all > limit.value, "{limit:?}");
    assert!(answer.cautions.iter().any(|text| text.contains("look the same")));
}

#[test]
fn a_line_beside_the_other_is_named_and_never_claimed() {
    let scene = scenes::all()[0];
    let (a, b) = scenes::counted(&scene, 1);
    let mut study = Study::new();
    study.open("Co-K.npy", &scenes::npy(&a, scenes::WIDTH));
    study.open("Fe-K.npy", &scenes::npy(&b, scenes::WIDTH));
    let (answer, _) = study.ask("apart", json!({"a": "Co K", "b": "Fe K"}), &mut |_, _| {}).unwrap();
    let caution = answer.cautions.iter().find(|text| text.contains("Fe Kβ")).expect("the overlap is named");
    assert!(caution.contains("eV above Co K") && caution.contains("may have been counted"), "{caution}");
    // Neighbours in energy have the narrower band.
    assert_eq!(answer.settings.k_band, Some(0.1));
}

#[test]
fn what_is_no_count_or_nothing_at_all_is_not_judged() {
    let (a, b) = scenes::counted(&scenes::all()[0], 3);
    let copy = asked(&mut of_kind(&a, &b, "display copy"));
    assert!(
        copy.verdict == "cannot be judged" && copy.sentence.contains("only its shape"),
        "{}",
        copy.sentence
    );
    // Fitted values without errors: no excess can be tested, so that "no more" is never said.
    let fitted = asked(&mut of_kind(&a, &b, "fitted"));
    assert_eq!(fitted.verdict, "cannot be judged", "{}", fitted.sentence);
    assert!(fitted.numbers["excess_pixels"].reason.contains("neither counts nor errors"));
    let nothing = vec![0u16; a.len()];
    let full = vec![u16::MAX; a.len()];
    let even = vec![5u16; a.len()];
    let mut one = nothing.clone();
    one[700] = 90;
    for odd in [&nothing, &full, &even, &one] {
        for (a, b) in [(odd, &b), (&a, odd), (odd, odd)] {
            if a == b {
                continue; // the same file is taken once
            }
            let answer = asked(&mut of_kind(a, b, "window"));
            assert_ne!(answer.verdict, NO_MORE, "{}", answer.sentence);
            assert!(!answer.sentence.is_empty());
        }
    }
}
