//! Colour differences, simulations, scales, and thresholds of histograms.

use crate::support::{Section, bytes_of, counts_of, list, number, text};
use limner::colour::{ColourScale, Rgb, Severity, Vision, ciede2000, smallest_difference};
use limner::measure::{Method, thresholds};
use serde_json::Value;

/// Rows of a table of numbers with a header.
fn table(file: &str) -> (Vec<String>, Vec<Vec<String>>) {
    let text = String::from_utf8(bytes_of(file)).unwrap();
    let mut lines = text.lines().map(|line| line.split(',').map(str::to_owned).collect::<Vec<_>>());
    (lines.next().unwrap(), lines.collect())
}

fn three(value: &Value) -> [f64; 3] {
    [0, 1, 2].map(|i| number(&value[i]))
}

fn vision_of(word: &str) -> Vision {
    Vision::ALL.into_iter().find(|vision| vision.word() == word).unwrap()
}

#[test]
fn the_34_pairs_of_sharma_wu_and_dalal_to_four_decimals() {
    // Color Res. Appl. 30 (2005) 21-30, table 1.
    let (_, rows) = table("published/ciede2000.csv");
    assert_eq!(rows.len(), 34);
    for row in rows {
        let n: Vec<f64> = row[1..7].iter().map(|v| v.parse().unwrap()).collect();
        let (one, other) = ([n[0], n[1], n[2]], [n[3], n[4], n[5]]);
        assert_eq!(format!("{:.4}", ciede2000(one, other)), row[7], "pair {}", row[0]);
        assert_eq!(format!("{:.4}", ciede2000(other, one)), row[7], "pair {} the other way", row[0]);
    }
}

#[test]
fn differences() {
    let (mut section, values) = Section::of("ciede2000");
    for row in list(&values["rows"]) {
        section.row();
        section.near(row, ciede2000(three(&row["one"]), three(&row["other"])), &row["value"]);
    }
    section.finish();
}

#[test]
fn colour_vision() {
    let (mut section, values) = Section::of("colour_vision");
    for row in list(&values["rows"]) {
        section.row();
        let severity = if number(&row["severity"]) < 0.75 { Severity::Half } else { Severity::Full };
        let colour = Rgb::from_hex(text(&row["colour"])).unwrap();
        let seen = vision_of(text(&row["vision"])).seen_linear(colour.linear(), severity);
        for (channel, want) in seen.into_iter().zip(list(&row["light"])) {
            section.near(row, channel, want);
        }
    }
    section.finish();
}

#[test]
fn colour_sets() {
    let (mut section, values) = Section::of("colour_sets");
    for row in list(&values["rows"]) {
        section.row();
        let colours: Vec<Rgb> =
            list(&row["colours"]).iter().map(|hex| Rgb::from_hex(text(hex)).unwrap()).collect();
        let vision = vision_of(text(&row["vision"]));
        let all = smallest_difference(&colours).unwrap();
        let nearest = all.iter().find(|nearest| nearest.vision == vision).unwrap();
        section.near(row, nearest.difference, &row["value"]);
        section.near(row, nearest.pair.0 as f64, &row["pair"][0]);
        section.near(row, nearest.pair.1 as f64, &row["pair"][1]);
    }
    section.finish();
}

#[test]
fn published_scales() {
    // Tables of matplotlib 3.11.2.
    let (names, rows) = table("published/colour_scales.csv");
    assert_eq!(rows.len(), 256);
    for (place, scale) in [(1, ColourScale::Viridis), (4, ColourScale::Cividis), (7, ColourScale::Magma)] {
        assert_eq!(names[place], format!("{}_red", scale.key()));
        for (row, step) in rows.iter().zip(0..=255u8) {
            let channel = |i: usize| row[place + i].parse::<u8>().unwrap();
            assert_eq!(scale.colour(step), Rgb([channel(0), channel(1), channel(2)]), "{scale:?} {step}");
        }
    }
}

#[test]
fn display_thresholds() {
    let (mut section, values) = Section::of("thresholds");
    for row in list(&values["rows"]) {
        section.row();
        let (map, _) = counts_of(text(&row["file"]));
        let found = thresholds(&map.plane, &map.stats).unwrap().unwrap();
        for (method, value) in found.found {
            let key = match method {
                Method::Otsu => "otsu",
                Method::Triangle => "triangle",
                Method::Isodata => "isodata",
                Method::Li => "li",
                Method::MinimumError => "minimum_error",
                Method::PoissonMinimumError => "poisson_minimum_error",
                Method::Valley => "valley",
            };
            section.near(format!("{key} of {}", text(&row["name"])), value, &row[key]);
        }
    }
    section.finish();
}
