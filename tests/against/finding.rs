//! Building blocks of finding a photo against scikit-image and numpy (`tests/reference/parts/finding.py`).

use crate::support::{Section, list, number, text};
use crate::together::map;
use limner::grid::Grid;
use limner::numerics::fft::{Complex, Way};
use limner::numerics::fft_any::{AnyFft, transform_2d};
use limner::numerics::math::{cos, sin};
use limner::register::search::{gaussian_half, information, phase_shift};
use std::f64::consts::TAU;

const FILE: &str = "finding.json";

fn grid(name: &str) -> Grid<f64> {
    Grid::from_vec(64, 48, map(name)).unwrap()
}

/// Moved along with what leaves coming in on the other side.
fn rolled(grid: &Grid<f64>, across: usize, down: usize) -> Grid<f64> {
    let (w, h) = (grid.width() as usize, grid.height() as usize);
    let at = |i: usize| grid.data()[(i / w + h - down) % h * w + (i % w + w - across) % w];
    Grid::from_vec(grid.width(), grid.height(), (0..w * h).map(at).collect()).unwrap()
}

/// Moved by parts of a pixel by the phases of its transform.
fn between(grid: &Grid<f64>, across: f64, down: f64) -> Grid<f64> {
    let (w, h) = (grid.width() as usize, grid.height() as usize);
    let mut data: Vec<Complex> = grid.data().iter().map(|v| Complex::new(*v, 0.0)).collect();
    assert!(transform_2d(&mut data, w, h, Way::Forward));
    let frequency =
        |i: usize, n: usize| if i > (n - 1) / 2 { i as f64 - n as f64 } else { i as f64 } / n as f64;
    for (i, v) in data.iter_mut().enumerate() {
        let angle = -TAU * (across * frequency(i % w, w) + down * frequency(i / w, h));
        *v = *v * Complex::new(cos(angle), sin(angle));
    }
    transform_2d(&mut data, w, h, Way::Backward);
    Grid::from_vec(grid.width(), grid.height(), data.iter().map(|v| v.re).collect()).unwrap()
}

#[test]
fn information_of_two_maps() {
    let (mut section, values) = Section::of_file(FILE, "information");
    for row in list(&values["rows"]) {
        section.row();
        let (a, b) = (text(&row["a"]), text(&row["b"]));
        let other = rolled(&grid(b), 0, number(&row["rows_down"]) as usize);
        let got = information(&grid(a), &other, number(&row["bins"]) as usize).unwrap().unwrap();
        section.near(format!("{a} {b}, mutual"), got.mutual, &row["mutual"]);
        section.near(format!("{a} {b}, normalised"), got.normalised, &row["normalised"]);
    }
    section.finish();
}

#[test]
fn shifts_by_phase() {
    let (mut section, values) = Section::of_file(FILE, "shifts");
    let iron = grid("iron");
    for row in list(&values["rows"]) {
        section.row();
        let moving = match text(&row["moving"]) {
            "rolled" => rolled(&iron, 61, 5),
            "between" => between(&iron, -1.5, 2.25),
            _ => rolled(&grid("manganese"), 6, 4),
        };
        let (upsample, phase) = (number(&row["upsample"]) as u32, row["phase"] == true);
        let got = phase_shift(&iron, &moving, upsample, phase).unwrap().unwrap();
        let name = format!("{} {upsample} {phase}", text(&row["moving"]));
        section.near(format!("{name}, x"), got.0, &row["x"]);
        section.near(format!("{name}, y"), got.1, &row["y"]);
    }
    section.finish();
}

#[test]
fn half_as_large() {
    let (mut section, values) = Section::of_file(FILE, "halves");
    for row in list(&values["rows"]) {
        section.row();
        let whole = grid(text(&row["map"]));
        let cut = number(&row["cut"]) as u32;
        let data: Vec<f64> =
            (0..48 - cut).flat_map(|y| whole.row(y)[..(64 - cut) as usize].to_vec()).collect();
        let half = gaussian_half(&Grid::from_vec(64 - cut, 48 - cut, data).unwrap()).unwrap();
        let name = format!("{} {cut}", text(&row["map"]));
        section.near(format!("{name}, width"), f64::from(half.width()), &row["width"]);
        section.near(format!("{name}, height"), f64::from(half.height()), &row["height"]);
        let pixels: Vec<f64> = half.data().iter().step_by(37).copied().collect();
        section.same(format!("{name}, pixels"), pixels.len(), list(&row["pixels"]).len());
        for (i, (got, want)) in pixels.iter().zip(list(&row["pixels"])).enumerate() {
            section.near(format!("{name}, pixel {i}"), *got, want);
        }
    }
    section.finish();
}

#[test]
fn transforms_of_any_length() {
    let (mut section, values) = Section::of_file(FILE, "transforms");
    for row in list(&values["rows"]) {
        section.row();
        let n = number(&row["length"]) as usize;
        let mut data: Vec<Complex> =
            (0..n).map(|i| Complex::new(((7 * i) % 11) as f64, ((5 * i) % 3) as f64)).collect();
        AnyFft::new(n).unwrap().run(&mut data, Way::Forward);
        for (k, got) in data.iter().step_by(5).enumerate() {
            section.near(format!("{n}, {k}, real"), got.re, &row["re"][k]);
            section.near(format!("{n}, {k}, imaginary"), got.im, &row["im"][k]);
        }
    }
    section.finish();
}
