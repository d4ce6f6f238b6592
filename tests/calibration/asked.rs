//! The question itself on pairs that share a cause but no material, and on pairs that share a material.

use crate::fields::{SIDE, draw, field, linear, lognormal, mixed};
use limner::ask::Answer;
use limner::ask::verdict::{CANNOT, NO_PATTERN, TOGETHER};
use limner::numerics::chance::Chance;
use limner::numerics::math::exp;
use limner::study::{MapRecord, Study};
use serde_json::json;

/// Counts as a NumPy file of 16 bits.
fn npy(values: &[f64]) -> Vec<u8> {
    let header = format!("{{'descr': '<u2', 'fortran_order': False, 'shape': ({SIDE}, {SIDE}), }}\n");
    let mut out = b"\x93NUMPY\x01\x00".to_vec();
    out.extend(u16::try_from(header.len()).unwrap().to_le_bytes());
    out.extend(header.as_bytes());
    out.extend(values.iter().flat_map(|v| (*v as u16).to_le_bytes()));
    out
}

/// Copper and iron, with these backgrounds or by the rule.
fn ask(a: &[f64], b: &[f64], background: Option<f64>) -> Answer {
    let mut study = Study::new();
    study.open("Cu-K.npy", &npy(a));
    study.open("Fe-K.npy", &npy(b));
    for id in ["m1", "m2"] {
        study.set_map(id, MapRecord { kind: Some("window".into()), ..MapRecord::default() }).unwrap();
    }
    let mut settings = json!({"a": "m1", "b": "m2"});
    if let Some(background) = background {
        settings["background"] = json!({"m1": background, "m2": background});
    }
    study.ask("together", settings, &mut |_, _| {}).unwrap().0
}

/// What two maps share, and what they hold of their own.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Sort {
    /// Nothing: patterns of their own over the whole field.
    Nothing,
    /// Figures that both fill, each with a pattern of its own inside.
    Layout,
    /// A background that varies by 30 %, and no element.
    ContinuumAlone,
    /// A background of a third of the counts that varies by 30 %, and patterns of their own.
    Continuum,
    /// Lines of the scan that rise and fall by 15 %.
    Drift,
    /// A surface whose tilt changes all counts by 10 %, over 12 pixels.
    Relief,
    /// Counts lost where a third element counts strongly: up to 20 %.
    DeadTime,
    /// The first and last columns dwelt on half as long again.
    Dwell,
    /// One pattern: a correlation of 0.6.
    SixTenths,
    /// One pattern inside a figure.
    OnePattern,
}

const SORTS: [(Sort, &str); 10] = [
    (Sort::Nothing, "nothing"),
    (Sort::Layout, "layout: figures that both fill"),
    (Sort::ContinuumAlone, "continuum varying by 30 %, no element"),
    (Sort::Continuum, "continuum varying by 30 %, a third of the counts"),
    (Sort::Drift, "drift of lines, 15 %"),
    (Sort::Relief, "relief, 10 %"),
    (Sort::DeadTime, "dead time, up to 20 %"),
    (Sort::Dwell, "dwell at the turns, half as long again"),
    (Sort::SixTenths, "a material: correlation 0.6"),
    (Sort::OnePattern, "a material inside a figure: correlation 1"),
];

/// Discs over about a third of the field.
fn figures(chance: &mut Chance) -> Vec<bool> {
    let discs: Vec<(f64, f64, f64)> = (0..6)
        .map(|_| (128.0 * chance.share(), 128.0 * chance.share(), 16.0 + 12.0 * chance.share()))
        .collect();
    let inside =
        |x: f64, y: f64| discs.iter().any(|(cx, cy, r)| (x - cx) * (x - cx) + (y - cy) * (y - cy) < r * r);
    (0..SIDE * SIDE).map(|i| inside((i % SIDE) as f64, (i / SIDE) as f64)).collect()
}

/// Two maps and the background that is stated for both; none where it is left to the rule.
fn pair(sort: Sort, chance: &mut Chance) -> (Vec<f64>, Vec<f64>, Option<f64>) {
    let own = |chance: &mut Chance| lognormal(&field(3, chance), 20.0);
    let (mut a, mut b) = (own(chance), own(chance));
    let mut background = Some(2.0);
    let both = |a: &mut [f64], b: &mut [f64], factor: &dyn Fn(usize) -> f64| {
        for i in 0..a.len() {
            a[i] *= factor(i);
            b[i] *= factor(i);
        }
    };
    let plus = |a: &mut [f64], b: &mut [f64], more: &dyn Fn(usize) -> f64| {
        for i in 0..a.len() {
            a[i] += more(i);
            b[i] += more(i);
        }
    };
    match sort {
        Sort::Nothing => plus(&mut a, &mut b, &|_| 2.0),
        Sort::Layout | Sort::OnePattern => {
            let inside = figures(chance);
            if sort == Sort::OnePattern {
                b.copy_from_slice(&a);
            }
            both(&mut a, &mut b, &|i| if inside[i] { 1.5 } else { 0.0 });
            plus(&mut a, &mut b, &|_| 2.0);
            background = None;
        }
        Sort::ContinuumAlone => {
            let continuum = field(6, chance);
            a = continuum.iter().map(|z| 10.0 * (1.0 + 0.3 * z).max(0.0)).collect();
            b.copy_from_slice(&a);
            background = None;
        }
        Sort::Continuum => {
            let continuum = field(6, chance);
            plus(&mut a, &mut b, &|i| 10.0 * (1.0 + 0.3 * continuum[i]).max(0.0));
            background = Some(10.0);
        }
        Sort::Drift => {
            let mut level = 0.0;
            let lines: Vec<f64> = (0..SIDE)
                .map(|_| {
                    level = 0.8 * level + 0.6 * chance.normal();
                    exp(0.15 * level)
                })
                .collect();
            plus(&mut a, &mut b, &|_| 2.0);
            both(&mut a, &mut b, &|i| lines[i / SIDE]);
        }
        Sort::Relief => {
            let tilt = field(12, chance);
            plus(&mut a, &mut b, &|_| 2.0);
            both(&mut a, &mut b, &|i| exp(0.1 * tilt[i]));
        }
        Sort::DeadTime => {
            let inside = figures(chance);
            plus(&mut a, &mut b, &|_| 2.0);
            both(&mut a, &mut b, &|i| if inside[i] { 0.8 } else { 1.0 });
        }
        Sort::Dwell => {
            plus(&mut a, &mut b, &|_| 2.0);
            both(&mut a, &mut b, &|i| if (4..SIDE - 4).contains(&(i % SIDE)) { 1.0 } else { 1.5 });
        }
        Sort::SixTenths => {
            let (one, other) = (field(3, chance), field(3, chance));
            a = linear(&one, 20.0);
            b = linear(&mixed(&one, &other, 0.6), 20.0);
            plus(&mut a, &mut b, &|_| 2.0);
        }
    }
    (draw(&a, chance), draw(&b, chance), background)
}

/// How often each verdict is given, as shares, and reasons of abstention.
fn verdicts(sort: Sort, count: usize, seed: u64) -> ([usize; 3], std::collections::BTreeMap<String, usize>) {
    let mut chance = Chance::new(seed);
    let mut found = [0; 3];
    let mut reasons = std::collections::BTreeMap::new();
    for _ in 0..count {
        let (a, b, background) = pair(sort, &mut chance);
        let answer = ask(&a, &b, background);
        let place = [TOGETHER, NO_PATTERN, CANNOT].iter().position(|word| *word == answer.verdict).unwrap();
        found[place] += 1;
        if place == 2 {
            let reason =
                answer.sentence.split("judged: ").nth(1).unwrap_or("").split('.').next().unwrap_or("");
            let words: Vec<&str> = reason.split(' ').take(6).collect();
            *reasons.entry(words.join(" ")).or_insert(0) += 1;
        }
    }
    (found, reasons)
}

#[test]
#[ignore = "long: 60 pairs of each sort through the whole question"]
fn what_pairs_share_without_a_material() {
    println!(
        "| what they share | rise and fall together | no common pattern | cannot be judged |\n| --- | --- | --- | --- |"
    );
    let count = 60;
    // One sort alone, by the beginning of its name.
    let only = std::env::var("LIMNER_ONLY").unwrap_or_default();
    for (i, (sort, name)) in SORTS.into_iter().enumerate().filter(|(_, (_, name))| name.starts_with(&only)) {
        let (found, reasons) = verdicts(sort, count, 301 + i as u64);
        let percent = found.map(|n| format!("{:.0}", 100.0 * n as f64 / count as f64));
        println!("| {name} | {} | {} | {} |", percent[0], percent[1], percent[2]);
        println!("    {reasons:?}");
    }
}

#[test]
fn no_cause_that_all_lines_share_is_taken_for_a_material() {
    for (i, (sort, name)) in SORTS.into_iter().enumerate().filter(|(_, (sort, _))| {
        [Sort::Layout, Sort::ContinuumAlone, Sort::Drift, Sort::Relief, Sort::DeadTime].contains(sort)
    }) {
        let (found, reasons) = verdicts(sort, 2, 401 + i as u64);
        assert_eq!(found[0], 0, "{name}: {found:?} {reasons:?}");
    }
    let (found, reasons) = verdicts(Sort::OnePattern, 2, 420);
    assert_eq!(found[0], 2, "{found:?} {reasons:?}");
}
