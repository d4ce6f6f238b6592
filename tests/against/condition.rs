//! Repaired and derived maps against numpy, scipy and scikit-image (`parts/condition.py`).

use crate::support::{Section, counts_of, list, number};
use limner::condition::{
    Direction, Divisor, Filter, Input, Recipe, derive, estimate_line_shift, hot_pixels, line_factors,
    moved_line, true_rate,
};
use limner::grid::Grid;
use limner::kind::Kind;
use limner::numerics::stabilise::{anscombe, freeman_tukey, inverse_algebraic, inverse_unbiased};
use serde_json::Value;

const FILE: &str = "condition/values.json";

/// Iron, copper, zinc and lead of `parts/arrays.py`, by the same integer formulas.
fn array(name: &str) -> Grid<f64> {
    let of = |x: u64, y: u64| {
        let ripple = |a: u64, b: u64, c: u64, m: u64| (a * x + b * y + c * x * y) % m;
        let square = |v: u64, centre: u64| v.abs_diff(centre) * v.abs_diff(centre);
        let one = square(x, 18) + square(y, 16) <= 144;
        let two = square(x, 46) + square(y, 30) <= 100;
        let rectangle = (8..30).contains(&x) && (24..44).contains(&y);
        match name {
            "iron" => {
                let first = if one { 24 + 3 * (y - 4) } else { 0 };
                let second = if two { 15 + 2 * (x - 36) } else { 0 };
                4 + ripple(37, 101, 7, 9) + first + second
            }
            "copper" => 2 + ripple(29, 61, 5, 7) + 25 * u64::from(rectangle),
            "zinc" => 1 + ripple(31, 17, 11, 5) + 14 * u64::from(rectangle),
            _ => 20 + ripple(41, 73, 13, 23) + x,
        }
    };
    let values = (0..48).flat_map(|y| (0..64).map(move |x| (x, y))).map(|(x, y)| of(x, y) as f64).collect();
    Grid::from_vec(64, 48, values).unwrap()
}

fn input<'a>(values: &'a Grid<f64>, kind: Kind) -> Input<'a> {
    Input { values, sigma: None, ceiling: None, kind, label: "the map" }
}

fn at(grid: &Grid<f64>, row: &Value) -> f64 {
    let side = |key: &str| u32::try_from(row[key].as_u64().unwrap()).unwrap();
    *grid.get(side("x"), side("y")).unwrap()
}

#[test]
fn the_arrays_are_those_of_the_script() {
    // Sums as the reference prints them.
    for (name, want) in [("iron", 61_180.0), ("copper", 27_684.0), ("zinc", 15_962.0), ("lead", 193_377.0)] {
        let sum: f64 = array(name).data().iter().sum();
        assert!((sum - want).abs() < 0.5, "{name}: {sum}");
    }
}

#[test]
fn stabilised() {
    let (mut section, values) = Section::of_file(FILE, "stabilised");
    for row in list(&values["forward"]) {
        section.row();
        let n = number(&row["n"]);
        section.near(format!("{n} counts"), anscombe(n), &row["anscombe"]);
        section.near(format!("{n} counts, Freeman and Tukey"), freeman_tukey(n), &row["freeman_tukey"]);
    }
    for row in list(&values["back"]) {
        section.row();
        let d = number(&row["d"]);
        section.near(format!("{d} back"), inverse_algebraic(d), &row["algebraic"]);
        section.near(format!("{d} back without bias"), inverse_unbiased(d), &row["closed_form"]);
        let off = (inverse_unbiased(d) - number(&row["exact"])).abs();
        section.same(format!("{d} back, near the exact inverse ({off})"), off < 0.02, true);
    }
    section.finish();
}

#[test]
fn filters() {
    let (mut section, values) = Section::of_file(FILE, "filters");
    let iron = array("iron");
    let smooth = |kind, sigma_px, filter| {
        let made = derive(&Recipe::Smooth { sigma_px, filter }, &[input(&iron, kind)]).unwrap();
        assert_eq!((made.kind, made.sigma), (Kind::DisplayCopy, None));
        made.values
    };
    // Values that are no counts are smoothed as they are.
    let plain = smooth(Kind::Net, 1.0, Filter::Gaussian);
    let wide = smooth(Kind::Net, 13.0, Filter::Gaussian);
    let stable = smooth(Kind::Window, 1.0, Filter::Gaussian);
    let median = smooth(Kind::Window, 1.0, Filter::Median);
    section.near("sum", plain.data().iter().sum::<f64>(), &values["plain_sum"]);
    section.near("sum of medians", median.data().iter().sum::<f64>(), &values["median_sum"]);
    for row in list(&values["rows"]) {
        section.row();
        for (name, grid) in
            [("plain", &plain), ("wide", &wide), ("on_stabilised", &stable), ("median", &median)]
        {
            section.near(format!("{name} at {} {}", row["x"], row["y"]), at(grid, row), &row[name]);
        }
    }
    section.finish();
}

#[test]
fn bins() {
    let (mut section, values) = Section::of_file(FILE, "bins");
    let iron = array("iron");
    for row in list(&values["rows"]) {
        section.row();
        let by = u32::try_from(row["by"].as_u64().unwrap()).unwrap();
        let recipe = Recipe::Bin { by, take: None, most_blank: 0.0 };
        let made = derive(&recipe, &[input(&iron, Kind::Window)]).unwrap();
        let sums = &made.values;
        section.near(format!("{by}, width"), f64::from(sums.width()), &row["width"]);
        section.near(format!("{by}, height"), f64::from(sums.height()), &row["height"]);
        section.near(format!("{by}, sum"), sums.data().iter().sum::<f64>(), &row["sum"]);
        let last = sums.data().len() - 4;
        for i in 0..4 {
            section.near(format!("{by}, first {i}"), sums.data()[i], &row["first"][i]);
            section.near(format!("{by}, last {i}"), sums.data()[last + i], &row["last"][i]);
        }
    }
    section.finish();
}

#[test]
fn hot() {
    let (mut section, values) = Section::of_file(FILE, "hot");
    let mut iron = array("iron");
    iron.data_mut()[20 * 64 + 50] += 90.0;
    let mut found = hot_pixels(&[input(&iron, Kind::Window)]).unwrap().unwrap().listed;
    found.retain(|hot| (1..63).contains(&hot.x) && (1..47).contains(&hot.y));
    found.sort_by_key(|hot| (hot.y, hot.x));
    section.same("how many", found.len(), list(&values["rows"]).len());
    for (got, row) in found.iter().zip(list(&values["rows"])) {
        section.row();
        section.near("x", f64::from(got.x), &row["x"]);
        section.near("y", f64::from(got.y), &row["y"]);
        section.near("value", got.value, &row["value"]);
        section.near("replacement", got.replacement, &row["replacement"]);
        section.near("z", got.z, &row["z"]);
    }
    section.finish();
}

#[test]
fn line_levels() {
    let (mut section, values) = Section::of_file(FILE, "line_levels");
    let mut lead = array("lead");
    for (line, factor) in [(7, 1.25), (31, 0.8)] {
        lead.data_mut()[line * 64..(line + 1) * 64].iter_mut().for_each(|v| *v *= factor);
    }
    let found = line_factors(&input(&lead, Kind::Window), 9, Direction::Across).unwrap().unwrap();
    for (y, want) in list(&values["factors"]).iter().enumerate() {
        section.row();
        section.near(format!("line {y}"), found.factors[y], want);
    }
    let recipe = Recipe::LineDrift { window: 9, reference: None, direction: Direction::Across, beyond: 3.0 };
    let made = derive(&recipe, &[input(&lead, Kind::Window)]).unwrap();
    section.near("corrected", made.values.data()[7 * 64 + 10], &values["corrected"]);
    let sigma = made.sigma.unwrap().data()[7 * 64 + 10];
    section.same("error of the corrected", (sigma - 55.0f64.sqrt() / 1.25).abs() < 1e-12, true);
    section.finish();
}

#[test]
fn moved() {
    let (mut section, values) = Section::of_file(FILE, "moved");
    let copper = array("copper");
    for row in list(&values["rows"]) {
        section.row();
        let (line, shift) = (copper.row(25), number(&row["shift"]));
        let mut out = vec![0.0; line.len()];
        moved_line(line, shift, &mut out);
        for (x, want) in list(&row["line"]).iter().enumerate() {
            section.near(format!("{shift} px, {x}"), out[x], want);
        }
        section.near(
            format!("{shift} px, sum"),
            out.iter().filter(|v| !v.is_nan()).sum::<f64>(),
            &row["sum"],
        );
    }
    section.finish();
}

#[test]
fn shift() {
    let (mut section, values) = Section::of_file(FILE, "shift");
    let (_, signal) = counts_of("condition/displaced.npy");
    let found = estimate_line_shift(&[input(&signal.values, Kind::Window)], Direction::Across).unwrap();
    section.row();
    // Another estimator by others: the two agree on the move, and both on what was put in.
    section.near("move", found.shift_px, &values["move_px"]);
    let off = found.shift_px.unwrap() + number(&values["put_in"]);
    println!("{:?}, off by {off}", found.text);
    section.same("put in", off.abs() < 0.05, true);
    section.finish();
}

#[test]
fn errors() {
    let (mut section, values) = Section::of_file(FILE, "errors");
    let (a, b) = (array("zinc"), array("copper"));
    let inputs = [input(&a, Kind::Window), input(&b, Kind::Window)];
    let made = |recipe: Recipe, n: usize| {
        let made = derive(&recipe, &inputs[..n]).unwrap();
        (made.values, made.sigma.unwrap())
    };
    let recipes = [
        ("sum", made(Recipe::Sum, 2)),
        ("difference", made(Recipe::Subtract { k: 0.3 }, 2)),
        ("ratio", made(Recipe::Divide { by: Divisor::Map }, 2)),
        ("rate", made(Recipe::Dwell { seconds: 0.05 }, 1)),
        ("true_rate", made(Recipe::DeadTime { tau_us: 2.0, dwell_s: 0.05 }, 1)),
    ];
    for row in list(&values["rows"]) {
        section.row();
        for (name, (value, sigma)) in &recipes {
            section.near(format!("{name} at {} {}", row["x"], row["y"]), at(value, row), &row[*name]);
            let key = format!("{name}_sigma");
            section.near(format!("{key} at {} {}", row["x"], row["y"]), at(sigma, row), &row[&key]);
        }
    }
    for row in list(&values["dead_time"]) {
        section.row();
        let tau = number(&row["tau_us"]) * 1e-6;
        section.near("dead time", true_rate(number(&row["measured"]), tau), &row["true"]);
    }
    assert_eq!(true_rate(5e5, 2e-6), None);
    section.finish();
}
