//! Photos laid on the grid against scipy and scikit-image (`parts/laid.py`).

use crate::support::{Section, bytes_of, json_of, list, number, text};
use limner::ask::picture::PictureSettings;
use limner::colour::Rgb;
use limner::study::Study;
use serde_json::{Value, json};

const FILE: &str = "laid.json";

fn hex(digits: &str) -> Vec<u8> {
    let byte = |at: usize| u8::from_str_radix(&digits[at..at + 2], 16).unwrap();
    (0..digits.len()).step_by(2).map(byte).collect()
}

/// A study with a map, for there is no grid without one, and the photo.
fn study() -> Study {
    let mut study = Study::new();
    study.open("Ti-K.npy", &bytes_of("hand/Ti-K.npy"));
    assert_eq!(study.open("photo.png", &hex(text(&json_of(FILE)["photo"]))).photos, ["p1"]);
    study
}

fn laid(study: &mut Study, row: &Value) -> Vec<u8> {
    let settings =
        json!({"photo": "p1", "on": "grid", "photo_transform": row["matrix"], "view": row["view"]});
    study.picture(&PictureSettings::read(settings).unwrap()).unwrap().picture.rgba
}

/// The core encodes by a table that may give a neighbouring step at a border.
#[test]
fn enlarged_and_reduced_by_whole_numbers() {
    let mut study = study();
    for name in ["enlarged", "reduced"] {
        let (mut section, values) = Section::of_file(FILE, name);
        for row in list(&values["rows"]) {
            section.row();
            section.pictures(text(&row["name"]), &laid(&mut study, row), &hex(text(&row["rgba"])), 1);
        }
        section.finish();
    }
}

/// The box of the core lies along the photo's rows; the reference counts under the turned picture pixel, on a lattice.
#[test]
fn reduced_between_whole_numbers() {
    let mut study = study();
    let (mut section, values) = Section::of_file(FILE, "reduced_between");
    for row in list(&values["rows"]) {
        section.row();
        let rgba = laid(&mut study, row);
        let inside: String = rgba.chunks_exact(4).map(|p| if p[3] == 255 { '#' } else { '.' }).collect();
        section.same(format!("{}, reach", row["name"]), inside.as_str(), text(&row["inside"]));
        let light =
            rgba.chunks_exact(4).filter(|p| p[3] == 255).flat_map(|p| Rgb([p[0], p[1], p[2]]).linear());
        let (mut sum, mut count, mut most) = (0.0, 0.0, 0.0f64);
        for (got, want) in light.zip(list(&row["light"])) {
            section.near(text(&row["name"]), got, want);
            let apart = (got - number(want)).abs();
            (sum, count, most) = (sum + apart, count + 1.0, most.max(apart));
        }
        let mean = sum / count;
        println!("{}: light apart by {mean:.5}, at most {most:.5}", row["name"]);
        let limit = number(&values[if number(&row["turned"]) == 0.0 { "unturned" } else { "mean_apart" }]);
        section.same(format!("{}: {mean} apart", row["name"]), mean <= limit, true);
    }
    section.finish();
}
