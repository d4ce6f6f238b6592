//! Regions against scikit-image, scipy and Pillow (`parts/areas.py`).

use crate::support::{Section, list, number, text};
use limner::grid::{Mask, grown};
use limner::reading::mask_of_png;
use limner::region::{How, Patches, combined, mask_of_runs, polygon, runs_of, shrunk};
use serde_json::Value;

const FILE: &str = "areas.json";

fn mask_of(rows: &Value) -> Mask {
    let rows: Vec<&str> = list(rows).iter().map(text).collect();
    let data = rows.iter().flat_map(|row| row.chars()).map(|c| c == '#').collect();
    Mask::from_vec(rows[0].len() as u32, rows.len() as u32, data).unwrap()
}

#[test]
fn polygons() {
    let (mut section, values) = Section::of_file(FILE, "polygons");
    let size = (number(&values["width"]) as u32, number(&values["height"]) as u32);
    for row in list(&values["rows"]) {
        section.row();
        let corners = list(&row["corners"]).iter();
        let corners: Vec<(f64, f64)> =
            corners.map(|at| (number(&at[0]) / 1000.0, number(&at[1]) / 1000.0)).collect();
        let (got, want) = (polygon(size, &corners).unwrap(), mask_of(&row["mask"]));
        section.same(text(&row["name"]), &got, &want);
        let runs = runs_of(&want).unwrap();
        section.same(format!("{} as runs", row["name"]), mask_of_runs(size, &runs).unwrap(), Some(got));
    }
    section.finish();
}

#[test]
fn morphology() {
    let (mut section, values) = Section::of_file(FILE, "morphology");
    for row in list(&values["rows"]) {
        section.row();
        let (mask, by) = (mask_of(&row["mask"]), number(&row["by"]) as u32);
        let what = format!("{} by {by}", row["name"]);
        section.same(&what, grown(&mask, by).unwrap(), mask_of(&row["grown"]));
        section.same(&what, shrunk(&mask, by).unwrap(), mask_of(&row["shrunk"]));
        section.same(&what, combined(How::Shrunk(by), &[&mask]).unwrap(), Some(mask_of(&row["shrunk"])));
    }
    section.finish();
}

#[test]
fn patches() {
    let (mut section, values) = Section::of_file(FILE, "patches");
    for row in list(&values["rows"]) {
        section.row();
        let (mask, name) = (mask_of(&row["mask"]), text(&row["name"]));
        let patches = Patches::of(&mask).unwrap();
        let sizes: Vec<u64> = list(&row["sizes"]).iter().map(|size| number(size) as u64).collect();
        section.same(format!("{name}, sizes"), patches.sizes(), sizes.as_slice());
        for without in list(&row["without"]) {
            let below = number(&without["below"]) as u64;
            let got = patches.kept(|_, size| size >= below).unwrap();
            section.same(format!("{name} without specks below {below}"), got, mask_of(&without["mask"]));
        }
        // The pixel itself, where it is inside: `near` looks at its neighbours only where it is not.
        let (x, y) = (mask.width() / 2, mask.height() / 2);
        let middle = mask.get(x, y).filter(|&&inside| inside).and_then(|_| patches.near(x.into(), y.into()));
        let got = patches.kept(|number, _| Some(number) == middle).unwrap();
        section.same(format!("{name}, the patch in the middle"), got, mask_of(&row["in_the_middle"]));
    }
    section.finish();
}

#[test]
fn pictures() {
    let (mut section, values) = Section::of_file(FILE, "pictures");
    for row in list(&values["rows"]) {
        section.row();
        let digits = text(&row["png"]);
        let byte = |at: usize| u8::from_str_radix(&digits[at..at + 2], 16).unwrap();
        let bytes: Vec<u8> = (0..digits.len()).step_by(2).map(byte).collect();
        section.same(text(&row["name"]), mask_of_png(&bytes), Ok(mask_of(&row["mask"])));
    }
    section.finish();
}
