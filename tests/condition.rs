//! Repairs on simulated scans: what was put in must be found, within the errors that are stated, and nothing where
//! nothing was put in. `cargo test --test condition -- --nocapture` prints the figures.
//!
//! Scans are of invented scenes: discs, bars and a slope with edges at random places between pixels, seen by pixels
//! that integrate over their area, counted with Poisson noise from a fixed generator.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic, clippy::disallowed_methods, missing_docs)]

#[path = "condition/chance.rs"]
mod chance;
#[path = "condition/recipes.rs"]
mod recipes;

use chance::{Chance, Scene};
use limner::condition::{
    Direction, Input, derive, edge_factors, estimate_line_shift, line_factors, margin_factors,
};
use limner::condition::{Found, Lines, Recipe};
use limner::grid::Grid;
use limner::kind::Kind;

const SEEDS: u64 = 100;
const SIZE: (u32, u32) = (120, 96);

fn counts<'a>(values: &'a Grid<f64>, label: &'a str) -> Input<'a> {
    Input { values, sigma: None, ceiling: None, kind: Kind::Window, label }
}

struct Row {
    answered: u64,
    told: u64,
    bias: f64,
    scatter: f64,
    stated: f64,
    covered: u64,
}

/// The odd lines of a scan are displaced by `shift` to the right; the estimate must be a move of `-shift`.
fn shift_row(scene: &dyn Fn(u64) -> Scene, shift: f64, maps: u64) -> Row {
    let mut row = Row { answered: 0, told: 0, bias: 0.0, scatter: 0.0, stated: 0.0, covered: 0 };
    for seed in 0..SEEDS {
        let scans: Vec<Grid<f64>> = (0..maps)
            .map(|m| {
                let mut chance = Chance::new(1000 * seed + 17 * m + 1);
                let drawn = scene(seed + 7919 * m);
                chance.count(&drawn.seen(SIZE, |y| if y % 2 == 1 { shift } else { 0.0 }))
            })
            .collect();
        let inputs: Vec<Input<'_>> = scans.iter().map(|scan| counts(scan, "Fe K")).collect();
        let found = estimate_line_shift(&inputs, Direction::Across).unwrap();
        row.told += u64::from(found.is_told);
        let (Some(move_px), Some(error)) = (found.shift_px, found.standard_error_px) else { continue };
        let off = move_px + shift;
        row.answered += 1;
        row.bias += off;
        row.scatter += off * off;
        row.stated += error * error;
        row.covered += u64::from(off.abs() <= 2.0 * error);
    }
    let n = row.answered.max(1) as f64;
    row.bias /= n;
    row.scatter = (row.scatter / n).sqrt();
    row.stated = (row.stated / n).sqrt();
    row
}

#[test]
fn shifts_of_every_second_line_are_found_within_their_stated_errors() {
    println!(
        "scene               maps  shift  answers  told  bias      rms error  stated    within 2 errors"
    );
    let (mut weak, mut weak_covered) = (0, 0);
    let scenes: [(&str, f64, f64, u64); 6] = [
        ("faint", 0.7, 3.0, 1),
        ("faint", 0.7, 3.0, 4),
        ("middle", 4.0, 25.0, 1),
        ("strong", 20.0, 300.0, 1),
        ("nearly featureless", 30.0, 6.0, 1),
        ("featureless", 30.0, 0.0, 1),
    ];
    let mut wrong = Vec::new();
    for (name, ground, above, maps) in scenes {
        for shift in [0.0, 0.25, 0.5, 1.3, -0.8] {
            let row = shift_row(&|seed| Scene::new(seed, ground, above), shift, maps);
            println!(
                "{name:<20}{maps:>4}{shift:>7}{:>9}{:>6}{:>10.4}{:>11.4}{:>10.4}{:>10}",
                row.answered, row.told, row.bias, row.scatter, row.stated, row.covered
            );
            let mut demand = |holds: bool, what: &str| {
                if !holds {
                    wrong.push(format!("{name}, {maps} maps, {shift} px: {what}"));
                }
            };
            if shift == 0.0 {
                demand(row.told <= 5, "a repair where nothing is wrong");
            }
            match name {
                "featureless" => {
                    demand(row.answered <= 2, "an answer without a feature");
                    demand(row.told <= 1, "a repair without a feature");
                }
                "nearly featureless" => {
                    (weak, weak_covered) = (weak + row.answered, weak_covered + row.covered);
                }
                _ => {
                    let is_faint = row.stated > 0.1;
                    demand(row.answered >= if is_faint { 80 } else { 98 }, "too few answers");
                    let share = row.covered as f64 / row.answered as f64;
                    demand((0.85..=0.99).contains(&share), "stated errors do not cover");
                    if shift.abs() > 5.0 * row.stated {
                        demand(row.told >= 95 * row.answered / 100, "a shift that is there is not told");
                    }
                }
            }
        }
    }
    // Few of these scans give an answer; those that do must not do so wrongly.
    println!("nearly featureless: {weak_covered} of {weak} answers within 2 stated errors");
    assert!(weak <= 25, "{weak} answers where there is next to nothing");
    assert!(weak - weak_covered <= 4, "{weak_covered} of {weak}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_repair_brings_lines_back_and_invents_no_counts() {
    println!(
        "shift   found   sum before  sum after  left at ends  rms before  rms after (of displaced lines, noise-free)"
    );
    for shift in [0.25, 0.5, 1.3, -0.8] {
        let scene = Scene::new(5, 4.0, 60.0);
        let scan = Chance::new(11).count(&scene.seen(SIZE, |y| if y % 2 == 1 { shift } else { 0.0 }));
        let recipe = Recipe::LineShift { shift_px: None, lines: Lines::Odd, direction: Direction::Across };
        let made = derive(&recipe, &[counts(&scan, "Fe K")]).unwrap();
        let Recipe::LineShift { shift_px: Some(found), .. } = made.recipe else {
            panic!("{:?}", made.recipe)
        };
        let sum = |grid: &Grid<f64>| grid.data().iter().filter(|v| !v.is_nan()).sum::<f64>();
        let (before, after) = (sum(&scan), sum(&made.values));
        // Every line alone: what is there after is what was there before, less what may leave at the ends.
        let mut left = 0.0;
        for (y, (old, new)) in scan.rows().zip(made.values.rows()).enumerate() {
            let kept: f64 = new.iter().filter(|v| !v.is_nan()).sum();
            let all: f64 = old.iter().sum();
            let blank = new.iter().filter(|v| v.is_nan()).count();
            if y % 2 == 0 {
                assert_eq!((kept, blank), (all, 0), "line {y} must be left alone");
                continue;
            }
            let by = found.abs();
            let (whole, part) = (by.floor() as usize, by - by.floor());
            assert_eq!(blank, whole + usize::from(part > 0.0));
            // Two ends: one half of the shared pixel beside nothing, and what moved out.
            let n = old.len();
            let (inner, outer) = if found > 0.0 {
                (old[0] * (1.0 - part), old[n - whole..].iter().sum::<f64>() + part * old[n - 1 - whole])
            } else {
                (old[n - 1] * (1.0 - part), old[..whole].iter().sum::<f64>() + part * old[whole])
            };
            let lost = all - kept;
            assert!(lost >= 0.0 && (lost - inner - outer).abs() < 1e-9 * all.max(1.0), "line {y}: {lost}");
            left += lost;
        }
        assert!((before - after - left).abs() < 1e-6);
        // Without noise: the repaired scene is nearer to the scene than the displaced one.
        let (truth, displaced) = (scene.seen(SIZE, |_| 0.0), scene.seen(SIZE, |_| shift));
        let again =
            Recipe::LineShift { shift_px: Some(found), lines: Lines::Odd, direction: Direction::Across };
        let repaired = derive(&again, &[counts(&displaced, "Fe K")]).unwrap().values;
        let rms = |grid: &Grid<f64>| {
            let off = grid.rows().zip(truth.rows()).skip(1).step_by(2).flat_map(|(a, b)| a.iter().zip(b));
            let squares: Vec<f64> = off.map(|(a, b)| (a - b) * (a - b)).filter(|v| !v.is_nan()).collect();
            (squares.iter().sum::<f64>() / squares.len() as f64).sqrt()
        };
        let (was, is) = (rms(&displaced), rms(&repaired));
        println!("{shift:>5}{found:>9.3}{before:>12}{after:>12.1}{left:>12.1}{was:>12.3}{is:>12.3}");
        assert!(is < 0.75 * was, "{is} is not much less than {was}");
        assert_eq!(made.kind, Kind::Net);
    }
}

#[test]
fn drift_from_line_to_line_is_found_within_its_stated_errors() {
    println!("counts  lines off  within 2 errors  told of those off  told of those not off");
    for level in [14.0, 60.0, 400.0] {
        let (mut off, mut even, mut told, mut false_told, mut covered, mut judged) =
            (0u64, 0u64, 0u64, 0u64, 0u64, 0u64);
        for seed in 0..20 {
            let mut chance = Chance::new(seed + 31);
            let scene = Scene::new(seed, level, 0.3 * level);
            let drift: Vec<f64> = (0..SIZE.1)
                .map(|_| if chance.uniform() < 0.15 { 1.0 + 0.6 * (chance.uniform() - 0.5) } else { 1.0 })
                .collect();
            let mut clean = scene.seen(SIZE, |_| 0.0);
            for (y, row) in clean.data_mut().chunks_exact_mut(SIZE.0 as usize).enumerate() {
                row.iter_mut().for_each(|v| *v *= drift[y]);
            }
            let scan = chance.count(&clean);
            let found = line_factors(&counts(&scan, "Pb L"), 9, Direction::Across).unwrap().unwrap();
            for (y, truth) in drift.iter().enumerate() {
                let (factor, error) = (found.factors[y], found.standard_errors[y]);
                judged += 1;
                covered += u64::from((factor - truth).abs() <= 2.0 * error);
                let is_told = (factor - 1.0).abs() > 3.0 * error;
                // One that is off by at least five errors must be told.
                if (truth - 1.0).abs() > 5.0 * error {
                    off += 1;
                    told += u64::from(is_told);
                } else if *truth == 1.0 {
                    even += 1;
                    false_told += u64::from(is_told);
                }
            }
        }
        println!(
            "{level:>6}{off:>11}{:>12} of {judged}{told:>14} of {off}{false_told:>14} of {even}",
            covered
        );
        let share = covered as f64 / judged as f64;
        assert!((0.85..=0.995).contains(&share), "{level}: {share}");
        assert!(told as f64 >= 0.9 * off as f64, "{level}: {told} of {off}");
        assert!(false_told as f64 <= 0.03 * even as f64, "{level}: {false_told} of {even}");
    }
}

#[test]
fn slow_drift_is_found_at_a_margin_within_its_stated_errors() {
    println!("counts in margin pixels  within 2 errors");
    for level in [2.0, 20.0] {
        let (mut covered, mut judged) = (0u64, 0u64);
        for seed in 0..50 {
            let drift = |y: u32| 1.0 + 0.2 * (f64::from(y) / 95.0 - 0.5);
            let mut clean = Scene::new(seed, level, 20.0).seen(SIZE, |_| 0.0);
            for (y, row) in clean.data_mut().chunks_exact_mut(SIZE.0 as usize).enumerate() {
                row[..20].fill(level);
                row.iter_mut().for_each(|v| *v *= drift(u32::try_from(y).unwrap()));
            }
            let scan = Chance::new(seed + 3).count(&clean);
            let found =
                margin_factors(&counts(&scan, "Ar K"), [0, 19], 9, Direction::Across).unwrap().unwrap();
            for y in 4..SIZE.1 - 4 {
                let (factor, error) = (found.factors[y as usize], found.standard_errors[y as usize]);
                judged += 1;
                covered += u64::from((factor - drift(y)).abs() <= 2.0 * error);
            }
        }
        println!("{level:>22}{covered:>10} of {judged}");
        assert!((0.85..=0.99).contains(&(covered as f64 / judged as f64)), "{covered} of {judged}");
    }
    let faint = Grid::try_filled(40, 40, 0.1).unwrap();
    let reason = margin_factors(&counts(&faint, "Ar K"), [0, 5], 9, Direction::Across).unwrap().unwrap_err();
    assert!(reason.contains("100 counts"), "{reason}");
}

#[test]
fn longer_dwell_at_the_turns_is_found_within_its_stated_errors() {
    println!("scene   maps  place  truth  mean found  within 2 errors  proposed");
    for (name, ground, above, maps) in [("faint", 3.0, 5.0, 3u64), ("strong", 40.0, 100.0, 1)] {
        let truth = [1.6, 1.2, 1.0, 1.0];
        let (mut covered, mut proposed, mut sum) = ([0u64; 4], [0u64; 4], [0.0; 4]);
        let (mut plain, mut plain_proposed) = (0u64, 0u64);
        let mut answers = 0u32;
        for seed in 0..SEEDS {
            let scans: Vec<Grid<f64>> = (0..maps)
                .map(|m| {
                    let mut clean = Scene::new(seed + 100 * m, ground, above).seen(SIZE, |_| 0.0);
                    for row in clean.data_mut().chunks_exact_mut(SIZE.0 as usize) {
                        let n = row.len();
                        (row[0], row[1], row[n - 1]) =
                            (row[0] * truth[0], row[1] * truth[1], row[n - 1] * truth[0]);
                    }
                    Chance::new(seed * 10 + m).count(&clean)
                })
                .collect();
            let inputs: Vec<Input<'_>> = scans.iter().map(|scan| counts(scan, "Fe K")).collect();
            let found = edge_factors(&inputs, Direction::Across).unwrap();
            if found.start.len() < 4 {
                continue;
            }
            answers += 1;
            // A first place that lies five errors above 1 must be proposed, unless maps of few counts disagree by chance.
            if truth[0] - 1.0 > 5.0 * found.start[0].standard_error {
                plain += 1;
                plain_proposed += u64::from(found.start[0].is_proposed);
            }
            for (at, factor) in found.start.iter().enumerate() {
                covered[at] += u64::from((factor.factor - truth[at]).abs() <= 2.0 * factor.standard_error);
                proposed[at] += u64::from(factor.is_proposed);
                sum[at] += factor.factor;
            }
        }
        for at in 0..4 {
            println!(
                "{name:<8}{maps:>4}{at:>7}{:>7}{:>12.3}{:>12} of {answers}{:>10}",
                truth[at],
                sum[at] / f64::from(answers),
                covered[at],
                proposed[at]
            );
            assert!(covered[at] * 100 >= 85 * u64::from(answers), "{name}, place {at}");
        }
        println!("{name}: {plain_proposed} proposed of {plain} that lie five errors off");
        assert!(answers >= 90, "{name}: {answers}");
        assert!(plain > 0 && plain_proposed * 100 >= 80 * plain, "{name}");
        assert!(proposed[2] <= 5, "{name}");
    }
}

#[test]
fn dead_time_and_dwell_come_back() {
    // Rates behind a detector that rests: counted rate is n / (1 + n tau).
    let truth = [100.0, 1e4, 1e5];
    let (tau, dwell) = (2e-6, 0.5);
    let counted: Vec<f64> = truth.iter().map(|n| n / (1.0 + n * tau) * dwell).collect();
    let scan = Grid::from_vec(3, 1, counted).unwrap();
    let made = derive(&Recipe::DeadTime { tau_us: 2.0, dwell_s: dwell }, &[counts(&scan, "Ca K")]).unwrap();
    for (got, want) in made.values.data().iter().zip(truth) {
        assert!((got - want).abs() < 1e-9 * want, "{got} is not {want}");
    }
    assert_eq!((made.kind, made.found), (Kind::Rate, Found::Nothing));
}

/// Not a check: a machine's speed is its own. `cargo test --release --test condition -- --ignored --nocapture`.
#[test]
#[ignore = "prints times"]
fn speed_on_a_megapixel() {
    let seen = Scene::new(4, 12.0, 60.0).seen((1024, 1024), |y| if y % 2 == 1 { 0.4 } else { 0.0 });
    let scan = Chance::new(4).count(&seen);
    let other = Chance::new(5).count(&seen);
    let mut holes = scan.clone();
    holes.data_mut().iter_mut().step_by(1001).for_each(|v| *v = f64::NAN);
    let inputs = [counts(&scan, "Fe K"), counts(&other, "Mn K")];
    let best = |name: &str, task: &dyn Fn()| {
        let time = || {
            let start = std::time::Instant::now();
            task();
            start.elapsed().as_secs_f64() * 1e3
        };
        let times: Vec<f64> = (0..5).map(|_| time()).collect();
        println!("{name:<28}{:>8.1} ms", times.into_iter().fold(f64::INFINITY, f64::min));
    };
    best("estimate a line shift", &|| drop(estimate_line_shift(&inputs[..1], Direction::Across).unwrap()));
    best("the same, lines down", &|| drop(estimate_line_shift(&inputs[..1], Direction::Down).unwrap()));
    best("ends of lines", &|| drop(edge_factors(&inputs[..1], Direction::Across).unwrap()));
    best("levels of lines", &|| drop(line_factors(&inputs[0], 9, Direction::Across).unwrap()));
    best("hot pixels", &|| drop(limner::condition::hot_pixels(&inputs[..1]).unwrap()));
    for (name, text, n) in [
        ("move lines by a stated shift", r#"{"how": "line_shift", "shift_px": 0.4}"#, 1),
        ("sum of two", r#"{"how": "sum"}"#, 2),
        ("A - k B", r#"{"how": "subtract", "k": 0.1}"#, 2),
        ("A / B", r#"{"how": "divide"}"#, 2),
        ("dead time", r#"{"how": "dead_time", "tau_us": 2.0, "dwell_s": 0.1}"#, 1),
        ("bin 3 x 3", r#"{"how": "bin", "by": 3}"#, 1),
        ("smooth, 1 px", r#"{"how": "smooth", "sigma_px": 1.0}"#, 1),
        ("smooth, 5 px", r#"{"how": "smooth", "sigma_px": 5.0}"#, 1),
        ("median 3 x 3", r#"{"how": "smooth", "filter": "median"}"#, 1),
    ] {
        let recipe: Recipe = serde_json::from_str(text).unwrap();
        best(name, &|| drop(derive(&recipe, &inputs[..n]).unwrap()));
    }
    let recipe = Recipe::Smooth { sigma_px: 1.0, filter: limner::condition::Filter::Gaussian };
    best("smooth, 1 px, with blanks", &|| drop(derive(&recipe, &[counts(&holes, "Fe K")]).unwrap()));
}
