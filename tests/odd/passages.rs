//! A small study with a photo and another scan, and what every call on it must keep to.

use crate::making::{npy, png};
use limner::ask::picture::PictureSettings;
use limner::notice::Fault;
use limner::numerics::chance::Chance;
use limner::study::{AlignSettings, MapRecord, Record, RegionSettings, Study};
use serde_json::{Value, json};
use std::path::Path;
use std::time::Duration;

/// No call on these small things may take longer, on a slow and busy machine with debug assertions.
pub const LONGEST: Duration = Duration::from_secs(20);
pub const SAME: [f64; 9] = [1.0, 0.0, 0.0, 0.0, 1.0, 0.0, 0.0, 0.0, 1.0];

pub const CORNERS: [&str; 4] = ["upper left", "upper right", "lower right", "lower left"];

pub fn case(name: &str) -> Vec<u8> {
    std::fs::read(Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/cases/photos").join(name)).unwrap()
}

/// Counts by a formula, `turn` apart from each other.
pub fn counts(width: u32, height: u32, turn: u32) -> Vec<u8> {
    let value = |i: u32| {
        let (x, y) = (i % width, i / width);
        let painted = if (x / 8 + y / 8 + turn).is_multiple_of(3) { 60 } else { 4 };
        (painted + (x * 5 + y * 3 + turn) % 8) as u16
    };
    let data: Vec<u8> = (0..width * height).flat_map(|i| value(i).to_le_bytes()).collect();
    npy("<u2", "False", &format!("({height}, {width})"), &data)
}

/// A photo of patches of colour.
pub fn photo(width: u32, height: u32, shade: u32) -> Vec<u8> {
    let colour = |i: u32| {
        let (x, y) = (i % width, i / width);
        let patch = if (x / 10 + y / 10) % 2 == 0 { [180, 60, 50] } else { [60, 90, 150] };
        patch.map(|v: u32| (v + (x + 2 * y + shade) % 7) as u8)
    };
    let pixels: Vec<u8> = (0..width * height).flat_map(colour).collect();
    png(width, height, 2, 8, &pixels)
}

/// Two maps of 30 x 20, a third that is of another scan, and a photo of twice their size that lies on them.
pub fn study() -> Study {
    let mut study = Study::new();
    for (name, turn) in [("Cu-K.npy", 0), ("Fe-K.npy", 1)] {
        assert_eq!(study.open(name, &counts(30, 20, turn)).maps.len(), 1);
    }
    study.open("other Cu-K.npy", &counts(24, 26, 0));
    study
        .set_map("m3", MapRecord { field: Some(1), line: Some("Cu K".into()), ..MapRecord::default() })
        .unwrap();
    study.open("photo.png", &photo(60, 40, 0));
    align(&mut study, json!({"photo": "p1", "transform": [0.5, 0, 0, 0, 0.5, 0, 0, 0, 1]})).unwrap();
    study
}

pub fn align(study: &mut Study, settings: Value) -> Result<Value, Fault> {
    study.align(AlignSettings::read(settings)?).map(|text| told(&text))
}

/// No number of it is none, and no sentence tells of one.
pub fn told(value: &(impl serde::Serialize + std::fmt::Debug)) -> Value {
    let text = format!("{value:?}");
    assert!(!text.contains("NaN") && !text.contains("inf,") && !text.contains("inf)"), "{text}");
    serde_json::to_value(value).unwrap()
}

/// A sentence that says something.
pub fn said(fault: &Fault) {
    let text = &fault.message;
    assert!(text.len() > 15 && text.ends_with(['.', '?']), "{text}");
    assert!(!text.contains("NaN") && !text.contains("\n"), "{text}");
}

/// Everything that is seen of a study; its record is read back and is the same.
pub fn seen(study: &mut Study) {
    told(&study.photos());
    told(&study.fields());
    told(&study.regions());
    told(&study.object());
    told(&study.points());
    told(&study.spectra());
    told(&study.read_out(3.0, 4.0, None).unwrap());
    let record = study.record();
    let text = serde_json::to_value(&record).unwrap();
    let back: Record = serde_json::from_value(text.clone()).unwrap();
    assert_eq!(back, record);
    let mut other = Study::new();
    other.apply(back).unwrap_or_else(|fault| panic!("its own record is refused: {fault}\n{text}"));
    // Stated once more, nothing is another.
    study.apply(record.clone()).unwrap();
    assert_eq!(study.record(), record);
}

pub fn region(study: &mut Study, colour: Value) -> Result<Value, Fault> {
    let settings = RegionSettings::read(json!({ "colour": colour }))?;
    study.preview_region(settings).map(|(summary, _)| told(&summary))
}

pub fn picture(study: &mut Study, settings: Value) -> Result<(u32, u32), Fault> {
    let shown = study.picture(&PictureSettings::read(settings)?)?;
    let (width, height) = (shown.picture.width, shown.picture.height);
    assert_eq!(shown.picture.rgba.len(), width as usize * height as usize * 4);
    assert!(!shown.caption.contains("NaN"), "{}", shown.caption);
    Ok((width, height))
}

/// Numbers that are odd, and some that are not.
pub fn odd(chance: &mut Chance) -> f64 {
    const ODD: [f64; 18] = [
        f64::NAN,
        f64::INFINITY,
        f64::NEG_INFINITY,
        1e300,
        -1e300,
        1e-300,
        1e7,
        -1e7,
        1e6,
        0.0,
        -0.0,
        1.0,
        -1.0,
        0.5,
        1e-9,
        30.0,
        20.0,
        65_535.0,
    ];
    if chance.below(2) == 0 { ODD[chance.below(18) as usize] } else { chance.share() * 60.0 - 5.0 }
}
