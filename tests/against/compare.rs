//! Comparing two regions: against scipy and numpy, and the published examples by name.

use crate::support::{Section, congruential, list, number, text};
use limner::grid::{Grid, Mask};
use limner::measure::compare::{
    Band, Spread, ar1_effective_n, block_bootstrap, blocks, effective_n, effective_n_of_matrix, mann_whitney,
    poisson_means_test, profile, rate_ratio, ring_correlations, standardised, student_quantile,
    student_two_sided, welch,
};
use serde_json::Value;

fn section(name: &str) -> (Section, Value) {
    Section::of_file("compare.json", name)
}

/// The integer arrays of `arrays.counting_arrays`, made again from their formulas.
fn array(name: &str) -> Grid<f64> {
    let ripple = |x: i64, y: i64, (a, b, c, m): (i64, i64, i64, i64)| (a * x + b * y + c * x * y) % m;
    let at = |x: i64, y: i64| {
        let one = i64::from((x - 18).pow(2) + (y - 16).pow(2) <= 144);
        let two = i64::from((x - 46).pow(2) + (y - 30).pow(2) <= 100);
        let rectangle = i64::from((8..30).contains(&x) && (24..44).contains(&y));
        let iron = 4 + ripple(x, y, (37, 101, 7, 9)) + one * (24 + 3 * (y - 4)) + two * (15 + 2 * (x - 36));
        match name {
            "iron" => iron,
            "manganese" => (15 * iron + ripple(x, y, (53, 29, 3, 100))) / 100 + 12 * two * i64::from(x >= 46),
            "copper" => 2 + ripple(x, y, (29, 61, 5, 7)) + 25 * rectangle,
            "zinc" => 1 + ripple(x, y, (31, 17, 11, 5)) + 14 * rectangle,
            "lead" => 20 + ripple(x, y, (41, 73, 13, 23)) + x,
            "ground" => ripple(x, y, (19, 47, 9, 4)),
            other => panic!("no array {other}"),
        }
    };
    Grid::from_vec(64, 48, (0..3072).map(|i| at(i % 64, i / 64) as f64).collect()).unwrap()
}

fn place(name: &str) -> Mask {
    let inside = |x: i64, y: i64| match name {
        "disc one" => (x - 18).pow(2) + (y - 16).pow(2) <= 144,
        "disc two" => (x - 46).pow(2) + (y - 30).pow(2) <= 100,
        "rectangle" => (8..30).contains(&x) && (24..44).contains(&y),
        "whole" => true,
        other => panic!("no place {other}"),
    };
    Mask::from_vec(64, 48, (0..3072).map(|i| inside(i % 64, i / 64)).collect()).unwrap()
}

/// The values of an array in a place, NaN elsewhere.
fn part(name: &str, where_: &str) -> Grid<f64> {
    let mut values = array(name);
    for (value, inside) in values.data_mut().iter_mut().zip(place(where_).data()) {
        if !inside {
            *value = f64::NAN;
        }
    }
    values
}

fn listed(values: &Grid<f64>) -> Vec<f64> {
    values.data().iter().copied().filter(|v| !v.is_nan()).collect()
}

fn pair(value: &Value) -> (f64, f64) {
    (number(&value[0]), number(&value[1]))
}

#[test]
fn ratios_of_rates_as_scipy() {
    let (mut section, values) = section("rates");
    for row in list(&values["rows"]) {
        section.row();
        let of = |count: &str, exposure: &str| (number(&row[count]), number(&row[exposure]));
        let found = rate_ratio(of("a", "exposure_a"), of("b", "exposure_b"), 0.05).unwrap();
        section.near(format!("{row}, ratio"), found.value, &row["ratio"]);
        section.near(format!("{row}, low"), found.interval.low, &row["low"]);
        section.near(format!("{row}, high"), found.interval.high, &row["high"]);
    }
    section.finish();
}

#[test]
fn the_published_ratio_of_two_rates() {
    // R's documentation of poisson.test: 11 cases over 800 against 6 + 8 + 7 over 1083 + 1050 + 878.
    let found = rate_ratio((11.0, 800.0), (21.0, 3011.0), 0.05).unwrap();
    assert!((found.value - 1.971_488).abs() < 5e-7, "{found:?}");
    assert!((found.interval.low - 0.858_426_4).abs() < 5e-8, "{found:?}");
    assert!((found.interval.high - 4.277_265_9).abs() < 5e-8, "{found:?}");
}

#[test]
fn the_test_of_two_poisson_means_as_scipy() {
    let (mut section, values) = section("means_test");
    for row in list(&values["rows"]) {
        section.row();
        let of = |count: &str, exposure: &str| (number(&row[count]), number(&row[exposure]));
        let found = poisson_means_test(of("a", "exposure_a"), of("b", "exposure_b")).unwrap();
        section.near(format!("{row}, statistic"), found.statistic, &row["statistic"]);
        section.near(format!("{row}, p"), found.p, &row["p"]);
    }
    section.finish();
    // The example of scipy's documentation, after Krishnamoorthy and Thomson (2004).
    let found = poisson_means_test((0.0, 100.0), (3.0, 100.0)).unwrap();
    assert!(
        (found.statistic + 1.732_050_8).abs() < 1e-7 && (found.p - 0.088_379_0).abs() < 1e-7,
        "{found:?}"
    );
}

#[test]
fn students_distribution_as_scipy() {
    let (mut section, values) = section("student");
    for row in list(&values["rows"]) {
        section.row();
        let freedom = number(&row["freedom"]);
        if row["t"].is_null() {
            section.near(row, student_quantile(number(&row["alpha"]), freedom), &row["quantile"]);
        } else {
            section.near(row, student_two_sided(number(&row["t"]), freedom), &row["p"]);
        }
    }
    section.finish();
}

#[test]
fn effective_numbers_by_rings() {
    let (mut section, values) = section("effective");
    for row in list(&values["rows"]) {
        section.row();
        let name = format!("{} in {}", text(&row["map"]), text(&row["place"]));
        let part = part(text(&row["map"]), text(&row["place"]));
        let found = effective_n(&part).unwrap().unwrap();
        section.near(format!("{name}, n"), found.n as f64, &row["n"]);
        section.near(format!("{name}, effective"), found.effective, &row["effective"]);
        section.near(format!("{name}, stopped"), f64::from(found.stopped_at), &row["stopped_at"]);
        let want = list(&row["correlations"]);
        section.same(format!("{name}, rings"), found.correlations.len(), want.len());
        for (k, (got, want)) in found.correlations.iter().zip(want).enumerate() {
            section.near(format!("{name}, ring {k}"), *got, want);
        }
        let last = found.correlations.len() as u32 - 1;
        section.same(
            format!("{name}, rings alone"),
            ring_correlations(&part, last).unwrap().unwrap(),
            found.correlations,
        );
    }
    section.finish();
}

#[test]
fn effective_numbers_along_a_line_and_by_a_matrix() {
    let (mut section_ar1, values) = section("ar1");
    for row in list(&values["rows"]) {
        section_ar1.row();
        let found = ar1_effective_n(number(&row["n"]) as u32, number(&row["rho"]));
        section_ar1.near(row, found, &row["effective"]);
    }
    section_ar1.finish();
    // N. Cressie, Statistics for Spatial Data (1993): ten values with 0.26 are worth 6.2 (from memory).
    assert!((ar1_effective_n(10, 0.26).unwrap() - 6.2).abs() < 0.05);

    let (mut section, values) = section("matrix");
    for row in list(&values["rows"]) {
        section.row();
        let (width, length) = (number(&row["width"]) as usize, number(&row["length"]));
        let n = width * number(&row["height"]) as usize;
        let distance = |i: usize, j: usize| {
            let (dx, dy) = ((i % width).abs_diff(j % width) as f64, (i / width).abs_diff(j / width) as f64);
            (dx * dx + dy * dy).sqrt()
        };
        let matrix: Vec<f64> =
            (0..n * n).map(|k| limner::numerics::math::exp(-distance(k / n, k % n) / length)).collect();
        let found = effective_n_of_matrix(&matrix).unwrap().unwrap();
        section.near(format!("{row}, best"), found.of_best_mean, &row["of_best_mean"]);
        section.near(format!("{row}, plain"), found.of_plain_mean, &row["of_plain_mean"]);
    }
    section.finish();
}

#[test]
fn two_means_by_welch_ranks_and_effect_sizes() {
    let (mut section, values) = section("means");
    let row = &values["row"];
    section.row();
    let (a, b) = (part("manganese", "disc one"), part("manganese", "disc two"));
    let (mut in_a, mut in_b) = (listed(&a), listed(&b));
    let (of_a, of_b) = (Spread::of(&in_a).unwrap(), Spread::of(&in_b).unwrap());
    for (i, spread) in [of_a, of_b].iter().enumerate() {
        section.near(format!("n {i}"), spread.n, &row["n"][i]);
        section.near(format!("mean {i}"), spread.mean, &row["mean"][i]);
        section.near(format!("variance {i}"), spread.variance, &row["variance"][i]);
        section.near(format!("sum {i}"), (spread.n * spread.mean).round(), &row["sum"][i]);
    }
    let plain = welch(&of_a, &of_b, (of_a.n, of_b.n)).unwrap();
    section.near("t", plain.t, &row["t"]);
    section.near("freedom", plain.freedom, &row["freedom"]);
    section.near("p", plain.p, &row["p"]);
    section.near("low", plain.interval(0.05).low, &row["interval"][0]);
    section.near("high", plain.interval(0.05).high, &row["interval"][1]);
    let effective = |grid: &Grid<f64>| effective_n(grid).unwrap().unwrap().effective;
    let few = welch(&of_a, &of_b, (effective(&a), effective(&b))).unwrap();
    let (want_a, want_b) = pair(&row["effective"]);
    assert!((effective(&a) - want_a).abs() < 1e-9 && (effective(&b) - want_b).abs() < 1e-9);
    section.near("effective t", few.t, &row["effective_t"]);
    section.near("effective freedom", few.freedom, &row["effective_freedom"]);
    section.near("effective p", few.p, &row["effective_p"]);
    section.near("effective low", few.interval(0.05).low, &row["effective_interval"][0]);
    section.near("effective high", few.interval(0.05).high, &row["effective_interval"][1]);
    let sizes = standardised(&of_a, &of_b).unwrap();
    section.near("d", sizes.d, &row["cohen_d"]);
    section.near("g", sizes.g, &row["hedges_g"]);
    let ranks = mann_whitney(&mut in_a, &mut in_b).unwrap();
    section.near("U", ranks.u, &row["u"]);
    section.near("delta", ranks.delta, &row["cliff_delta"]);
    section.finish();
}

#[test]
fn blocks_drawn_again_by_the_same_numbers() {
    let (mut section, values) = section("bootstrap");
    for row in list(&values["rows"]) {
        section.row();
        let name = format!("{} by {}", text(&row["a"]), text(&row["b"]));
        let side = number(&row["side"]) as u32;
        let found =
            blocks(&array(text(&row["a"])), &array(text(&row["b"])), &place(text(&row["place"])), side);
        let drawn = block_bootstrap(
            &found.unwrap(),
            number(&row["draws"]) as u32,
            |sum| Some(sum.a / sum.b),
            congruential(number(&row["seed"]) as u64),
        );
        let drawn = drawn.unwrap().unwrap();
        section.near(format!("{name}, blocks"), drawn.blocks as f64, &row["blocks"]);
        section.near(format!("{name}, mean"), drawn.mean, &row["mean"]);
        section.near(format!("{name}, sd"), drawn.sd, &row["sd"]);
        section.near(format!("{name}, low"), drawn.interval(0.05).unwrap().low, &row["low"]);
        section.near(format!("{name}, high"), drawn.interval(0.05).unwrap().high, &row["high"]);
    }
    section.finish();
}

fn steps_of(row: &Value) -> Vec<limner::measure::compare::Step> {
    let band = Band { from: pair(&row["from"]), to: pair(&row["to"]), width: number(&row["width"]) };
    profile(&array("lead"), &Mask::try_filled(64, 48, false).unwrap(), &band).unwrap()
}

#[test]
fn profiles_along_rows_columns_and_aslant() {
    let (mut plain, values) = section("profile");
    for row in list(&values["rows"]) {
        plain.row();
        let steps = steps_of(row);
        plain.same(format!("{row}, steps"), steps.len(), list(&row["means"]).len());
        for (k, step) in steps.iter().enumerate() {
            plain.near(format!("{} at {k}", row["from"]), step.mean, &row["means"][k]);
            plain.near(format!("{} area {k}", row["from"]), step.area, &row["areas"][k]);
        }
    }
    plain.finish();
    let (mut slanting, values) = section("slanting");
    for row in list(&values["rows"]) {
        slanting.row();
        let steps = steps_of(row);
        slanting.same(format!("{}, steps", row["from"]), steps.len(), list(&row["means"]).len());
        for (k, step) in steps.iter().enumerate() {
            slanting.near(format!("{} at {k}", row["from"]), step.mean, &row["means"][k]);
        }
    }
    slanting.finish();
}

#[test]
fn intervals_of_weighted_counts() {
    let (mut section, values) = section("weighted");
    for row in list(&values["rows"]) {
        section.row();
        // Three pixels below each other; a band along x that begins within the first and ends within the last.
        let counts: Vec<f64> = list(&row["counts"]).iter().map(number).collect();
        let weights: Vec<f64> = list(&row["weights"]).iter().map(number).collect();
        let (top, bottom) = (1.0 - weights[0], 2.0 + weights[2]);
        let middle = 0.5 * (top + bottom);
        let band = Band { from: (0.0, middle), to: (1.0, middle), width: bottom - top };
        let map = Grid::from_vec(1, 3, counts).unwrap();
        let steps = profile(&map, &Mask::try_filled(1, 3, false).unwrap(), &band).unwrap();
        section.same("steps", steps.len(), 1);
        section.near(format!("{row}, low"), steps[0].counting.map(|i| i.low), &row["low"]);
        section.near(format!("{row}, high"), steps[0].counting.map(|i| i.high), &row["high"]);
    }
    section.finish();
}
