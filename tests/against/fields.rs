//! Second scans against numpy and scipy (`parts/fields.py`): laying by areas, the ratio in an overlap, a line with errors in both.

use crate::support::{Section, list, number, text};
use limner::geometry::{PlaneTransform, Transform};
use limner::grid::{Grid, Mask, Onto, lay};
use limner::kind::Kind;
use limner::measure::Signal;
use limner::measure::overlap::{Known, overlap, straight_line};
use serde_json::Value;

const FILE: &str = "fields.json";

/// A painted map of whole numbers, by the formula of the part.
fn first_map(width: i64, height: i64) -> Vec<i64> {
    let at = |x: i64, y: i64| {
        let disc = (x - 40) * (x - 40) + (y - 34) * (y - 34) <= 400;
        20 + (37 * x + 101 * y + 7 * x * y) % 9 + if disc { 30 + x % 5 } else { 0 }
    };
    (0..height).flat_map(|y| (0..width).map(move |x| at(x, y))).collect()
}

fn grid(width: u32, height: u32, data: &[i64]) -> Grid<f64> {
    Grid::from_vec(width, height, data.iter().map(|&v| v as f64).collect()).unwrap()
}

fn numbers(value: &Value) -> Vec<f64> {
    list(value).iter().map(number).collect()
}

/// Sums as gathered: where a pixel is covered in part, before they are scaled up.
fn gathered(map: &Grid<f64>, rule: &Transform, size: (u32, u32)) -> (Vec<f64>, f64) {
    let laid = lay(map, None, &Onto::grid(rule, size), 1e-12).unwrap();
    let both = laid.values.data().iter().zip(laid.coverage.data());
    (both.map(|(v, covered)| if v.is_nan() { 0.0 } else { v * covered }).collect(), laid.beside)
}

#[test]
fn along_axes() {
    let (mut section, values) = Section::of_file(FILE, "along axes");
    let map = grid(31, 23, &first_map(31, 23));
    for row in list(&values["rows"]) {
        section.row();
        let of = |key: &str| number(&row[key]);
        let rule =
            PlaneTransform::affine([of("scale_x"), 0.0, of("shift_x")], [0.0, of("scale_y"), of("shift_y")]);
        let rule = Transform::Plane(rule.unwrap());
        let (sums, beside) = gathered(&map, &rule, (of("width") as u32, of("height") as u32));
        section.near("beside", beside, &row["beside"]);
        for (i, (got, want)) in sums.iter().zip(list(&row["sums"])).enumerate() {
            section.near(format!("pixel {i}"), *got, want);
        }
    }
    section.finish();
}

#[test]
fn turned() {
    let (mut section, values) = Section::of_file(FILE, "turned");
    let map = grid(6, 5, &first_map(6, 5));
    for row in list(&values["rows"]) {
        section.row();
        let matrix = numbers(&row["matrix"]);
        let rule = PlaneTransform::new(core::array::from_fn(|i| matrix[i])).unwrap();
        let (sums, _) = gathered(&map, &Transform::Plane(rule), (11, 11));
        for (i, (got, want)) in sums.iter().zip(list(&row["sums"])).enumerate() {
            section.near(format!("pixel {i}"), *got, want);
        }
    }
    section.finish();
}

#[test]
fn overlaps() {
    let (mut section, values) = Section::of_file(FILE, "overlap");
    section.row();
    let (width, height) = (96, 80);
    let first = first_map(width, height);
    let second: Vec<i64> = (0..height)
        .flat_map(|y| (0..width).map(move |x| (x, y)))
        .zip(&first)
        .map(|((x, y), v)| (87 * v + (53 * x + 29 * y + 3 * x * y) % 700 - 350).div_euclid(100))
        .collect();
    let signal = |data: &[i64]| Signal {
        values: grid(96, 80, data),
        saturated: Mask::try_filled(96, 80, false).unwrap(),
        kind: Kind::Window,
        sigma: None,
        region: None,
        doubt: None,
    };
    let same = Transform::Plane(PlaneTransform::identity());
    let found = overlap(&signal(&first), &signal(&second), &same, Known::default()).unwrap().unwrap();
    section.same("blocks", found.blocks as f64, number(&values["blocks"]));
    section.near("ratio", found.ratio, &values["ratio"]);
    section.near("jackknife", found.by_blocks, &values["jackknife"]);
    section.near("counting", found.by_counting, &values["counting"]);
    section.near("low", found.interval.0, &values["low"]);
    section.near("high", found.interval.1, &values["high"]);
    // A bootstrap of the blocks says the same but for its own chance and terms of second order.
    let bootstrap = number(&values["bootstrap"]);
    section.same("near the bootstrap", (found.by_blocks / bootstrap - 1.0).abs() < 0.05, true);
    section.finish();
}

#[test]
fn lines_with_errors_in_both() {
    let (mut section, values) = Section::of_file(FILE, "line");
    for row in list(&values["rows"]) {
        section.row();
        let of = |key: &str| numbers(&row[key]);
        let line = straight_line(&of("x"), &of("y"), &of("variance_x"), &of("variance_y")).unwrap();
        let name = text(&row["name"]);
        section.near(format!("{name}, offset"), line.offset.value, &row["offset"]);
        section.near(format!("{name}, slope"), line.slope.value, &row["slope"]);
        section.near(format!("{name}, scatter"), line.scatter, &row["scatter"]);
    }
    section.finish();
}
