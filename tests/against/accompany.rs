//! Whether A only accompanies B. Lines, residuals, chances and areas against numpy, scipy and statsmodels.

use crate::support::{Section, bytes_of, list, number};
use limner::grid::{Grid, Mask};
use limner::measure::{Under, connected, deficit_p, excess_p, fits};
use limner::numerics::discovery::{Dependence, adjusted};
use serde_json::Value;

const FILE: &str = "accompany.json";

/// A map of the reference as numbers.
fn values_of(file: &str) -> Grid<f64> {
    crate::support::counts_of(file).1.values
}

/// Manganese and iron, and where iron is detected.
fn arrays(critical: f64) -> (Grid<f64>, Grid<f64>, Vec<usize>) {
    assert!(!bytes_of("background/manganese.npy").is_empty());
    let (a, b) = (values_of("background/manganese.npy"), values_of("background/iron.npy"));
    let where_b = (0..b.data().len()).filter(|&i| b.data()[i] >= critical).collect();
    (a, b, where_b)
}

fn of(grid: &Grid<f64>, at: &[usize]) -> Vec<f64> {
    at.iter().map(|&i| grid.data()[i]).collect()
}

fn line(section: &mut Section, what: &str, found: fits::Line, row: &Value) {
    section.near(format!("{what}, offset"), found.b, &row["b"]);
    section.near(format!("{what}, slope"), found.k, &row["k"]);
}

#[test]
fn lines() {
    let (mut section, values) = Section::of_file(FILE, "lines");
    for row in list(&values["rows"]) {
        section.row();
        let (a, b, at) = arrays(number(&row["critical"]));
        section.near("pixels of iron", at.len() as f64, &row["pixels"]);
        let (a, b) = (of(&a, &at), of(&b, &at));
        section.near("ratio of sums", fits::ratio_of_sums(&a, &b), &row["ratio_of_sums"]);
        line(&mut section, "numpy lstsq", fits::least_squares(&a, &b).unwrap(), &row["least_squares"]);
        let weights: Vec<f64> = a.iter().map(|a| 1.0 / a.max(1.0)).collect();
        let weighted = fits::weighted_least_squares(&a, &b, &weights).unwrap();
        line(&mut section, "statsmodels WLS", weighted, &row["weighted"]);
        let (found, want) = (fits::poisson_identity(&a, &b).unwrap(), &row["poisson"]);
        line(&mut section, "statsmodels GLM", found.line, want);
        section.near("GLM, error of the offset", found.errors.b, &want["error_b"]);
        section.near("GLM, error of the slope", found.errors.k, &want["error_k"]);
        section.near("GLM, deviance", found.deviance, &want["deviance"]);
        section.near("GLM, Pearson", found.pearson, &want["pearson"]);
        let (found, want) = (fits::theil_sen(&a, &b).unwrap(), &row["sen"]);
        line(&mut section, "scipy theilslopes", found.line, want);
        section.near("theilslopes, low", found.low, &want["low"]);
        section.near("theilslopes, high", found.high, &want["high"]);
        let (found, want) = (fits::huber(&a, &b).unwrap(), &row["huber"]);
        line(&mut section, "statsmodels RLM", found.line, want);
        section.near("RLM, scale", found.scale, &want["scale"]);
        let (found, want) = (fits::clipped_ratio(&a, &b).unwrap(), &row["clipped"]);
        section.near("clipped ratio", found.k, &want["k"]);
        section.near("clipped ratio, kept", found.kept as f64, &want["kept"]);
        section.near("clipped ratio, rounds", f64::from(found.rounds), &want["rounds"]);
        for case in list(&row["attenuation"]) {
            let found = fits::attenuation(number(&case["variance"]), number(&case["noise"]));
            section.near("attenuation", found, &case["factor"]);
        }
    }
    section.finish();
}

#[test]
fn beyond() {
    let (mut section, values) = Section::of_file(FILE, "beyond");
    let critical = number(&Section::of_file(FILE, "lines").1["rows"][0]["critical"]);
    let (a, b, at) = arrays(critical);
    for row in list(&values["rows"]) {
        section.row();
        let k = fits::clipped_ratio(&of(&a, &at), &of(&b, &at)).unwrap().k;
        section.near("k", k, &row["k"]);
        let none = Under::default();
        for pixel in list(&row["pixels"]) {
            let at = (number(&pixel["x"]) as u32, number(&pixel["y"]) as u32);
            let (in_a, in_b) = (*a.get(at.0, at.1).unwrap(), *b.get(at.0, at.1).unwrap());
            section.near(format!("A at {at:?}"), in_a, &pixel["a"]);
            section.near(format!("B at {at:?}"), in_b, &pixel["b"]);
            section.near(format!("z at {at:?}"), fits::residual(in_a, in_b, k), &pixel["z"]);
            section.near(format!("p at {at:?}"), excess_p(in_a, in_b, k, none), &pixel["p"]);
            let deficit = deficit_p(in_a, in_b, k, none);
            section.near(format!("p of a deficit at {at:?}"), deficit, &pixel["p_deficit"]);
        }
        let pixels = |test: &dyn Fn(usize) -> bool| at.iter().filter(|&&i| test(i)).count() as f64;
        let above = pixels(&|i| fits::residual(a.data()[i], b.data()[i], k) > 3.0);
        section.near("residuals above 3", above, &row["residuals_above_3"]);
        let p = |chance: fn(f64, f64, f64, Under) -> f64| -> Vec<f64> {
            let each = at.iter().map(|&i| chance(a.data()[i], b.data()[i], k, none));
            adjusted(&each.collect::<Vec<_>>(), Dependence::Positive)
        };
        let found = p(excess_p);
        let discoveries = found.iter().filter(|p| **p <= 0.01).count();
        section.near("discoveries", discoveries as f64, &row["discoveries_at_1_percent"]);
        let deficits = p(deficit_p).iter().filter(|p| **p <= 0.01).count();
        section.near("deficits", deficits as f64, &row["deficits_at_1_percent"]);
        let mut mask = Mask::try_filled(a.width(), a.height(), false).unwrap();
        at.iter().zip(&found).for_each(|(&i, p)| mask.data_mut()[i] = *p <= 0.01);
        section.near("areas", connected(&mask, 1).unwrap().1.len() as f64, &row["areas"]);
        let areas = connected(&mask, 10).unwrap().1;
        section.near("areas of 10", areas.len() as f64, &row["areas_of_10"]);
        let in_them: usize = areas.iter().map(Vec::len).sum();
        section.near("pixels in them", in_them as f64, &row["pixels_in_areas_of_10"]);
    }
    section.finish();
}

#[test]
fn mixed() {
    let (mut section, values) = Section::of_file(FILE, "mixed");
    for row in list(&values["rows"]) {
        section.row();
        let under = Under { a: number(&row["under_a"]), b: number(&row["under_b"]), variance: 0.0 };
        let found = excess_p(number(&row["a"]), number(&row["b"]), number(&row["k"]), under);
        section.near(format!("{row}"), found, &row["p"]);
    }
    section.finish();
}
