//! Alignment against numpy, scipy and scikit-image (`parts/alignment.py`).

use crate::support::{Section, list, number, text};
use limner::geometry::{PlaneTransform, Point, Transform};
use limner::register::{Fitted, Model, Pair, direct_homography, fit};
use serde_json::Value;

const FILE: &str = "alignment.json";

fn point(value: &Value) -> Point {
    (number(&value[0]), number(&value[1]))
}

fn pairs(row: &Value) -> Vec<Pair> {
    let pair = |v: &Value| Pair { from: point(v), to: (number(&v[2]), number(&v[3])) };
    list(&row["pairs"]).iter().map(pair).collect()
}

fn places(section: &mut Section, what: &str, row: &Value, at: impl Fn(Point) -> Option<Point>) {
    for (place, want) in list(&row["places"]).iter().zip(list(&row["at"])) {
        let got = at(point(place));
        section.near(format!("{what} at {place}, x"), got.map(|p| p.0), &want[0]);
        section.near(format!("{what} at {place}, y"), got.map(|p| p.1), &want[1]);
    }
}

/// From pair number `first` on.
fn left_out(section: &mut Section, what: &str, row: &Value, fitted: &Fitted, first: usize) {
    let Some(wanted) = row.get("left_out") else { return };
    for (i, want) in list(wanted).iter().enumerate() {
        let got = fitted.left_out[first + i];
        section.near(format!("{what} without {}, x", first + i), got.map(|e| e.0), &want[0]);
        section.near(format!("{what} without {}, y", first + i), got.map(|e| e.1), &want[1]);
    }
}

fn direct(section: &mut Section, what: &str, row: &Value, plane: &PlaneTransform) {
    places(section, what, row, |place| plane.at(place));
}

fn planes(name: &str) {
    let (mut section, values) = Section::of_file(FILE, name);
    for row in list(&values["rows"]) {
        section.row();
        let (pairs, word) = (pairs(row), text(&row["model"]));
        let what = format!("{}, {word}", text(&row["name"]));
        if word == "direct" {
            direct(&mut section, &what, row, &direct_homography(&pairs).expect(&what));
            continue;
        }
        let fitted = fit(&pairs, Model::from_word(word).unwrap()).expect(&what);
        places(&mut section, &what, row, |place| fitted.transform.at(place));
        section.near(format!("{what}, rms"), fitted.rms, &row["rms"]);
        left_out(&mut section, &what, row, &fitted, 0);
    }
    section.finish();
}

#[test]
fn similarity_and_affine() {
    planes("linear");
}

#[test]
fn homographies() {
    planes("projective");
}

#[test]
fn triangles() {
    let (mut section, values) = Section::of_file(FILE, "triangles");
    for row in list(&values["rows"]) {
        section.row();
        let (pairs, what) = (pairs(row), text(&row["name"]));
        let fitted = fit(&pairs, Model::Piecewise).expect(what);
        places(&mut section, what, row, |place| fitted.transform.at(place));
        for (place, to) in list(&row["places"]).iter().zip(list(&row["at"])) {
            // The place itself; whole numbers of a reference must be met exactly, so it is compared here.
            let (got, want) = (fitted.transform.back(point(to)).unwrap(), point(place));
            assert!(
                (got.0 - want.0).abs() < 1e-8 && (got.1 - want.1).abs() < 1e-8,
                "{what} {got:?} {want:?}"
            );
        }
        // The first four are the corners: scikit-image has nothing outside.
        left_out(&mut section, what, row, &fitted, 4);
        let Transform::Piecewise(net) = &fitted.transform else { panic!("{what}") };
        section.near(format!("{what}, triangles"), net.triangles().count() as f64, &row["triangles"]);
    }
    section.finish();
}
