//! Answers about two maps against their rows in the reference.

use crate::support::{Section, list, number};
use limner::ask::{Answer, Raster, Rasters};
use limner::measure::{Accompaniment, Level, Rules, Signal, classes, ratio};
use limner::numerics::counting::{Bounded, Interval, garwood};
use serde_json::Value;

/// Which blocks k rests on, how far it varies and the largest that is seen.
pub fn compare_constant(section: &mut Section, what: &str, found: Option<&Accompaniment>, row: &Value) {
    section.near(format!("{what}, block"), f64::from(found.map_or(0, |f| f.bin)), &row["bin"]);
    section.near(format!("{what}, spread"), found.map(|f| f.spread), &row["spread"]);
    section.near(format!("{what}, richest"), found.map(|f| f.richest), &row["richest"]);
    let rests_on = found.map_or("nothing", |f| if f.is_of_both { "both" } else { "b" });
    section.same(format!("{what}, rests on"), rests_on, row["k_rests_on"].as_str().unwrap_or_default());
}

/// The numbers of `apart` that rest on classes, and how many pixels there are of each class.
pub fn compare_apart(section: &mut Section, what: &str, answer: &Answer, row: &Value) {
    let numbers = row["numbers"].as_object().expect("numbers by name");
    section.same(format!("{what}, numbers"), numbers.len(), 7);
    for (name, want) in numbers.iter().filter(|(name, _)| *name != "a_detected_pixels") {
        let got = answer.numbers.get(name).unwrap_or_else(|| panic!("{what}: no number {name}"));
        section.near(format!("{what}, {name}"), got.value, want);
    }
    section.same(format!("{what}, rows"), answer.table.rows.len(), list(&row["class_counts"]).len());
    for (got, want) in answer.table.rows.iter().zip(list(&row["class_counts"])) {
        section.near(format!("{what}, {}", got.label), got.cells[0].value.unwrap() as u64 as f64, want);
    }
}

/// Where A is detected, among the pixels that are valid in both.
pub fn compare_detected(
    section: &mut Section,
    what: &str,
    (a, b): (&Signal, &Signal),
    at: (&Level, &Level),
    row: &Value,
) {
    let counts = classes(a, b, at, Some(0.0), 1).unwrap().counts;
    let want = &row["numbers"]["a_detected_pixels"];
    section.near(format!("{what}, A detected"), counts.a as f64, want);
}

/// A raster of classes.
pub fn compare_classes(section: &mut Section, what: &str, rasters: &Rasters, want: &[u8]) {
    let Some(Raster::U8(got)) = rasters.get("classes") else { panic!("{what}: no classes") };
    section.same(format!("{what}, pixels"), got.data().len(), want.len());
    let missed: Vec<String> = (got.data().iter().zip(want).enumerate())
        .filter(|(_, (got, want))| got != want)
        .map(|(i, (got, want))| format!("pixel {i} is {got} and not {want}"))
        .collect();
    section.same(format!("{what}, classes that differ"), missed, Vec::new());
}

/// The ratio of sums with its intervals, and the sums and arms that it is made of.
pub fn compare_ratio(
    section: &mut Section,
    what: &str,
    (a, b): (&Signal, &Signal),
    at: (&Level, &Level),
    answer: &Answer,
    row: &Value,
) {
    let found = &answer.numbers["count_ratio"];
    for (name, got) in [
        ("value", found.value),
        ("low", found.low),
        ("high", found.high),
        ("low_all", found.low_all),
        ("high_all", found.high_all),
    ] {
        section.near(format!("{what}, {name}"), got, &row[name]);
    }
    section.near(format!("{what}, valid pixels"), answer.numbers["valid_pixels"].value, &row["valid_pixels"]);
    section.near(format!("{what}, pixels"), answer.judged_pixels as f64, &row["pixels"]);
    let raster = ratio(a, b, at, 0.05, 0.2).unwrap().raster;
    let used: Vec<usize> = (0..raster.data().len()).filter(|&i| !raster.data()[i].is_nan()).collect();
    let n = used.len() as f64;
    for (letter, signal, level) in [("a", a, at.0), ("b", b, at.1)] {
        let raw: f64 = used.iter().map(|&i| signal.valid(i).expect("a pixel with a ratio is valid")).sum();
        section.near(format!("{what}, raw sum {letter}"), raw, &row[format!("raw_sum_{letter}")]);
        let net = raw - n * level.background;
        section.near(format!("{what}, net sum {letter}"), net, &row[format!("net_sum_{letter}")]);
        let Interval { low, high } = garwood(raw, 0.05);
        let of_mean = level.pixels.map_or(0.0, |m| n * (level.background / m as f64).sqrt());
        let of_floor = Rules::default().floor * n * level.background;
        for (arms, floor) in [("arms", 0.0), ("arms_all", of_floor)] {
            let extra = limner::measure::Z_95 * (of_mean * of_mean + floor * floor).sqrt();
            let wide = Bounded { value: raw, interval: Interval { low, high } }.widened(extra).interval;
            let want = &row[format!("{arms}_{letter}")];
            section.near(format!("{what}, {arms} down of {letter}"), raw - wide.low, &want[0]);
            section.near(format!("{what}, {arms} up of {letter}"), wide.high - raw, &want[1]);
        }
    }
}

/// Rows of numbers with null for NaN, one after the other.
pub fn flat(rows: &Value) -> Vec<f64> {
    let value = |v: &Value| if v.is_null() { f64::NAN } else { number(v) };
    list(rows).iter().flat_map(|row| list(row).iter().map(value)).collect()
}

/// The count ratios of an answer.
pub fn count_ratio(rasters: &Rasters) -> &[f64] {
    let Some(Raster::F64(raster)) = rasters.get("count_ratio") else { panic!("no count ratios") };
    raster.data()
}
