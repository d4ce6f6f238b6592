//! Calibration of `together`: how often unrelated maps are called related, how often related ones are found, and what becomes
//! of correlations when noise is taken out. The long studies print the tables of `docs/STUDIES.md`:
//! `cargo test --test calibration -- --ignored --nocapture`. Short forms of them run with every test.
//!
//! The maps are simulated: random fields with a Gaussian correlation, smoothed from white noise by a Gaussian of standard
//! deviation L pixels ("length L"), as means of Poisson counts.

#![allow(clippy::disallowed_methods, clippy::unwrap_used, clippy::expect_used, clippy::panic)] // a test may fail

#[path = "calibration/asked.rs"]
mod asked;
#[path = "calibration/fields.rs"]
mod fields;
#[path = "calibration/question.rs"]
mod question;

use fields::{SIDE, draw, field, linear, lognormal, mixed};
use limner::measure::together::{
    Finding, MOST_PIXELS, NoiseOf, Pairs, SharedBackground, Significance, Unreliable, corrected, moments,
    pearson, significance,
};
use limner::numerics::chance::Chance;

const SHUFFLES: usize = 399;
const LENGTHS: [usize; 5] = [0, 1, 2, 4, 8];

fn pairs(a: &[f64], b: &[f64]) -> Pairs {
    Pairs::of(SIDE, a, b, |_| true).unwrap()
}

fn test(a: &[f64], b: &[f64], seed: u64) -> Significance {
    let mut chance = Chance::new(seed);
    significance(&pairs(a, b), MOST_PIXELS, SHUFFLES, |n| chance.below(n as u64) as usize).unwrap().unwrap()
}

/// Shares of pairs that each test calls correlated at 5 %.
#[derive(Debug, Default)]
struct Rates {
    pairs: usize,
    naive: usize,
    t_test: usize,
    shuffle: usize,
    both: usize,
    undecided: usize,
    too_few: usize,
}

impl Rates {
    fn add(&mut self, found: &Significance) {
        self.pairs += 1;
        // Student's t with every pixel counted: beyond 1.96 standard errors of 1 / sqrt(n).
        self.naive += usize::from(found.r.abs() * (found.n as f64).sqrt() > 1.96);
        self.t_test += usize::from(found.p_effective_n.is_some_and(|p| p < 0.05));
        self.shuffle += usize::from(found.shuffled.is_some_and(|shuffled| shuffled.p < 0.05));
        match found.finding(0.05) {
            Finding::Together | Finding::Against => self.both += 1,
            Finding::Undecided => self.undecided += 1,
            Finding::TooFew => self.too_few += 1,
            Finding::Nothing => {}
        }
    }

    fn row(&self, name: &str) -> String {
        let percent = |n: usize| format!("{:.1}", 100.0 * n as f64 / self.pairs as f64);
        format!(
            "| {name} | {} | {} | {} | {} | {} | {} |",
            percent(self.naive),
            percent(self.t_test),
            percent(self.shuffle),
            percent(self.both),
            percent(self.undecided),
            percent(self.too_few)
        )
    }
}

const HEADINGS: &str = "| naive | t-test, effective n | blocks shuffled | both | they disagree | not tested |\n| --- | --- | --- | --- | --- | --- | --- |";

fn unrelated(lengths: (usize, usize), count: usize, mean: f64, seed: u64) -> Rates {
    let mut chance = Chance::new(seed);
    let mut rates = Rates::default();
    for i in 0..count {
        let a = draw(&lognormal(&field(lengths.0, &mut chance), mean), &mut chance);
        let b = draw(&lognormal(&field(lengths.1, &mut chance), mean), &mut chance);
        rates.add(&test(&a, &b, seed ^ i as u64));
    }
    rates
}

#[test]
#[ignore = "long: 300 pairs of each length"]
fn false_alarms_of_unrelated_maps() {
    println!("| length {HEADINGS}");
    for length in LENGTHS {
        println!("{}", unrelated((length, length), 300, 5.0, 11 + length as u64).row(&format!("{length}")));
    }
    for (one, other) in [(1, 8), (0, 8), (2, 4)] {
        let rates = unrelated((one, other), 300, 5.0, 31 + (10 * one + other) as u64);
        println!("{}", rates.row(&format!("{one} with {other}")));
    }
    println!("{}", unrelated((4, 4), 300, 0.5, 71).row("4, mean 0.5"));
    println!("{}", unrelated((4, 4), 300, 50.0, 72).row("4, mean 50"));
}

fn related(mean: f64, count: usize, seed: u64) -> (Rates, Vec<Result<f64, Unreliable>>) {
    let mut chance = Chance::new(seed);
    let (mut rates, mut without_noise) = (Rates::default(), Vec::new());
    for i in 0..count {
        let (one, own) = (field(2, &mut chance), field(2, &mut chance));
        let other = mixed(&one, &own, 0.6);
        let a = draw(&linear(&one, mean), &mut chance);
        let b = draw(&linear(&other, mean), &mut chance);
        rates.add(&test(&a, &b, seed ^ i as u64));
        without_noise.push(freed(&a, &b, SharedBackground::default()));
    }
    (rates, without_noise)
}

/// The noise-corrected correlation of two maps of counts.
fn freed(a: &[f64], b: &[f64], background: SharedBackground) -> Result<f64, Unreliable> {
    let found = moments(a, b).unwrap();
    let noise = NoiseOf { a: found.mean_a, b: found.mean_b };
    corrected(&found, a.len(), noise, background).map(|corrected| corrected.r)
}

/// Mean, standard deviation, least and largest of those that are given, and how many are not.
fn summary(found: &[Result<f64, Unreliable>]) -> (f64, f64, f64, f64, usize) {
    let given: Vec<f64> = found.iter().filter_map(|r| r.ok()).collect();
    let n = given.len() as f64;
    let mean = given.iter().sum::<f64>() / n;
    let spread = (given.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
    let least = given.iter().copied().fold(f64::INFINITY, f64::min);
    let most = given.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    (mean, spread, least, most, found.len() - given.len())
}

fn summary_row(name: &str, found: &[Result<f64, Unreliable>]) -> String {
    let (mean, spread, least, most, not) = summary(found);
    let share = 100.0 * not as f64 / found.len() as f64;
    match found.len() - not {
        0 => format!("| {name} | – | – | – | {share:.1} |"),
        1 => format!("| {name} | {mean:.3} | – | {least:.2} | {share:.1} |"),
        _ => format!("| {name} | {mean:.3} | {spread:.3} | {least:.2} to {most:.2} | {share:.1} |"),
    }
}

#[test]
#[ignore = "long: 300 pairs at each mean"]
fn power_for_a_correlation_of_six_tenths() {
    println!("| mean {HEADINGS}");
    let all: Vec<_> = [0.5, 1.0, 2.0, 5.0].map(|mean| (mean, related(mean, 300, 101))).into_iter().collect();
    for (mean, (rates, _)) in &all {
        println!("{}", rates.row(&format!("{mean}")));
    }
    println!(
        "\n| mean | noise-corrected correlation | its spread | range | abstains, % |\n| --- | --- | --- | --- | --- |"
    );
    for (mean, (_, without_noise)) in &all {
        println!("{}", summary_row(&format!("{mean}"), without_noise));
    }
}

/// Two draws of one pattern of length 4.
fn two_draws(mean: f64, count: usize, seed: u64) -> Vec<Result<f64, Unreliable>> {
    let mut chance = Chance::new(seed);
    (0..count)
        .map(|_| {
            let pattern = linear(&field(4, &mut chance), mean);
            let (a, b) = (draw(&pattern, &mut chance), draw(&pattern, &mut chance));
            freed(&a, &b, SharedBackground::default())
        })
        .collect()
}

/// Two maps that hold nothing but one background, which varies by `varies` of itself with length 4.
fn shared_background(mean: f64, varies: f64, count: usize, seed: u64) -> Vec<Result<f64, Unreliable>> {
    let mut chance = Chance::new(seed);
    (0..count)
        .map(|_| {
            let pattern: Vec<f64> =
                field(4, &mut chance).iter().map(|z| mean * (1.0 + varies * z).max(0.0)).collect();
            let (a, b) = (draw(&pattern, &mut chance), draw(&pattern, &mut chance));
            freed(&a, &b, SharedBackground::of_floor(mean, mean, 0.05))
        })
        .collect()
}

#[test]
#[ignore = "long: 200 pairs of each sort"]
fn correlation_without_noise() {
    println!("| maps | mean | spread | range | abstains, % |\n| --- | --- | --- | --- | --- |");
    for mean in [0.1, 0.3, 1.0, 3.0, 10.0] {
        println!(
            "{}",
            summary_row(&format!("two draws of one pattern, mean {mean}"), &two_draws(mean, 200, 201))
        );
    }
    for (mean, varies) in
        [(1.0, 0.3), (4.0, 0.1), (4.0, 0.3), (20.0, 0.1), (20.0, 0.3), (20.0, 0.45), (100.0, 0.3)]
    {
        let name = format!("shared background alone, mean {mean}, varies by {:.0} %", 100.0 * varies);
        println!("{}", summary_row(&name, &shared_background(mean, varies, 200, 202)));
    }
}

#[test]
#[ignore = "long: a map of a million pixels"]
fn time_of_a_large_map() {
    let mut chance = Chance::new(501);
    let tile = field(4, &mut chance);
    let side = 1000;
    let values: Vec<f64> = (0..side * side)
        .map(|i| chance.poisson(5.0 + tile[(i / side % SIDE) * SIDE + i % side % SIDE].max(-4.0)) as f64)
        .collect();
    let other: Vec<f64> = values.iter().map(|v| (v + chance.poisson(2.0) as f64).min(60.0)).collect();
    let start = std::time::Instant::now();
    let pairs = Pairs::of(side, &values, &other, |_| true).unwrap();
    let found = significance(&pairs, MOST_PIXELS, SHUFFLES, |n| chance.below(n as u64) as usize).unwrap();
    println!(
        "1000 x 1000: {:?}, both tests {:?}",
        found.map(|found| (found.binned, found.effective_n)),
        start.elapsed()
    );
    assert!(found.is_some());
}

#[test]
fn unrelated_maps_seldom_alarm() {
    for (length, seed) in [(0, 5), (2, 6)] {
        let rates = unrelated((length, length), 40, 5.0, seed);
        // At a true rate of 5 %, seven or more of 40 have a chance of 0.3 %.
        assert!(rates.t_test <= 6 && rates.shuffle <= 6 && rates.both <= 6, "{length}: {rates:?}");
    }
    assert!(
        unrelated((2, 2), 20, 5.0, 7).naive >= 3,
        "the naive test should alarm, else these maps show nothing"
    );
}

#[test]
fn a_correlation_of_six_tenths_is_found_at_a_mean_of_two() {
    let (rates, without_noise) = related(2.0, 10, 8);
    assert!(rates.both >= 9, "{rates:?}");
    let (mean, ..) = summary(&without_noise);
    assert!((mean - 0.6).abs() < 0.05, "{mean}");
}

#[test]
fn two_draws_of_one_pattern_at_mean_one_agree_and_a_shared_background_alone_does_not() {
    let (mean, .., not) = summary(&two_draws(1.0, 20, 9));
    assert!((mean - 1.0).abs() < 0.05 && not == 0, "{mean}, {not} not given");
    assert!(two_draws(0.05, 5, 10).iter().all(Result::is_err), "too faint");
    for (mean, varies) in [(1.0, 0.3), (20.0, 0.1), (20.0, 0.3)] {
        let found = shared_background(mean, varies, 5, 11);
        assert!(found.iter().all(|r| r.is_err_and(|_| true)), "mean {mean}, varies by {varies}: {found:?}");
    }
}

#[test]
fn pearson_of_the_simulation_is_what_it_should_be() {
    let mut chance = Chance::new(12);
    let (one, own) = (field(1, &mut chance), field(1, &mut chance));
    let r = pearson(&one, &mixed(&one, &own, 0.6)).unwrap();
    assert!((r - 0.6).abs() < 0.06, "{r}");
    let variance = one.iter().map(|z| z * z).sum::<f64>() / one.len() as f64;
    assert!((variance - 1.0).abs() < 0.1, "{variance}");
}
