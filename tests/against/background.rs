//! The rule "quiet part" and the constant of accompaniment on the maps in `tests/reference/background`.

use crate::pairs;
use crate::support::{Section, counts_of, list, number, text};
use limner::digest::sha256_hex;
use limner::grid::Samples;
use limner::measure::{Level, Refusal, Rules, Signal, Two, accompaniment, level};
use limner::numerics::counting::critical_count;
use limner::numerics::order;
use limner::numerics::special::gamma_q_inverse;
use serde_json::Value;

/// The word of the reference for the type of some pixels.
pub fn dtype(samples: &Samples) -> String {
    format!("{:?}", samples.sample_type()).to_lowercase()
}

/// Everything that the reference says of a background.
pub fn compare_level(section: &mut Section, what: &str, signal: &Signal, found: &Level, row: &Value) {
    let mut sorted = signal.valid_values().unwrap();
    order::sort(&mut sorted);
    let quarter = order::low_quantile(&sorted, 0.25).unwrap();
    section.near(format!("{what}, quarter"), quarter, &row["quarter_value"]);
    let (n, below) = (sorted.len() as f64, sorted.iter().filter(|&&v| v <= quarter).count() as f64);
    section.near(format!("{what}, share"), (below / n).min((n - 0.5) / n), &row["share_at_quarter"]);
    let start = gamma_q_inverse(number(&row["quarter_value"]) + 1.0, number(&row["share_at_quarter"]));
    section.near(format!("{what}, start"), start, &row["start"]);
    section.near(format!("{what}, background"), found.background, &row["background"]);
    section.near(format!("{what}, pixels"), found.pixels.map(|m| m as f64), &row["pixels"]);
    section.near(format!("{what}, dispersion"), found.dispersion, &row["dispersion"]);
    section.near(format!("{what}, critical level"), found.critical, &row["critical_level"]);
    section.near(format!("{what}, detection limit"), found.detection_limit, &row["detection_limit"]);
    if let Some(variance) = row["relative_variance"].as_f64() {
        let level = critical_count(found.background, variance, Rules::default().alpha);
        section.near(format!("{what}, critical level of the variance"), level as f64, &row["critical_level"]);
    }
    let detected = sorted.iter().filter(|&&v| v >= found.critical).count();
    section.near(format!("{what}, detected"), detected as f64, &row["detected_pixels"]);
}

#[test]
fn background() {
    let (mut section, values) = Section::of("background");
    let (mut given, mut refused) = (0, 0);
    for row in list(&values["rows"]) {
        section.row();
        let name = text(&row["name"]);
        let (map, signal) = counts_of(text(&row["file"]));
        section.same(format!("{name}, type"), dtype(map.plane.samples()).as_str(), text(&row["dtype"]));
        let hash = sha256_hex(&map.plane.samples().le_bytes().unwrap());
        section.same(format!("{name}, pixels"), hash.as_str(), text(&row["sha256_of_pixels"]));
        let valid = signal.valid_values().unwrap().len() as f64;
        section.near(format!("{name}, valid"), valid, &row["valid_pixels"]);
        let found = level(&signal, &Rules::default()).unwrap();
        match row.get("reason").map(text) {
            None => {
                given += 1;
                match found {
                    Ok(found) => compare_level(&mut section, name, &signal, &found, row),
                    Err(refusal) => section.same(name, Some(refusal), None),
                }
            }
            Some(reason) => {
                refused += 1;
                let want = match reason {
                    "fewer than 30 valid pixels" => Refusal::TooFewPixels,
                    "all valid pixels are equal" => Refusal::Constant,
                    "nothing lies below the critical level" => Refusal::NoQuietPart,
                    other => panic!("{name}: a reason that is not known here: {other}"),
                };
                section.same(name, found.err(), Some(want));
            }
        }
    }
    assert!(given > 0 && refused > 0);
    section.finish();
}

#[test]
fn accompaniment_of_two_maps() {
    let (mut section, values) = Section::of("accompaniment");
    for row in list(&values["rows"]) {
        section.row();
        let (file_a, file_b) = (text(&row["a"]), text(&row["b"]));
        let what = format!("{file_a} for {file_b}");
        let ((_, a), (_, b)) = (counts_of(file_a), counts_of(file_b));
        let of = |signal: &Signal| level(signal, &Rules::default()).unwrap().unwrap();
        let (level_a, level_b) = (of(&a), of(&b));
        let two = Two { a: &a, b: &b, at: (&level_a, &level_b), rules: Rules::default() };
        let found = accompaniment(&two, 0.2).unwrap();
        pairs::compare_constant(&mut section, &what, found.as_ref(), row);
        section.same(format!("{what}, is there"), found.is_some(), text(&row["k_rests_on"]) != "nothing");
        section.near(format!("{what}, k"), found.map(|f| f.k), &row["k"]);
        section.near(format!("{what}, k low 95"), found.map(|f| f.counting.low), &row["k_low_95"]);
        section.near(format!("{what}, k high 95"), found.map(|f| f.counting.high), &row["k_high_95"]);
        section.near(format!("{what}, k low"), found.map(|f| f.k_low), &row["k_low"]);
        section.near(format!("{what}, k high"), found.map(|f| f.k_high), &row["k_high"]);
        let pixels = found.map_or(0.0, |f| f.pixels as f64);
        section.near(format!("{what}, pixels of k"), pixels, &row["k_pixels"]);
    }
    section.finish();
}
