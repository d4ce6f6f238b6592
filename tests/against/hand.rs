//! The example of 6 x 4 pixels that can be worked out on paper, asked over a study.

use crate::pairs;
use crate::support::{Section, bytes_of, counts_of, list, number, text};
use limner::ask::picture::PictureSettings;
use limner::digest::sha256_hex;
use limner::kind::Kind;
use limner::measure::{Level, Rules};
use limner::study::{GridRecord, Study};
use serde_json::{Value, json};

/// A study of both maps with the step of the example.
fn study(form: &Value, settings: &Value, section: &mut Section) -> Study {
    let mut study = Study::new();
    for letter in ["a", "b"] {
        let map = &form[letter];
        let file = text(&map["file"]);
        let name = file.rsplit('/').next().expect("a name");
        let opened = study.open(name, &bytes_of(file));
        assert_eq!(opened.maps.len(), 1, "{file}: {:?}", opened.notices);
        let line = text(&map["line"]);
        let samples = study.samples(line).unwrap_or_else(|fault| panic!("{line}: {fault:?}"));
        let hash = sha256_hex(&samples.le_bytes().unwrap());
        section.same(file, hash.as_str(), text(&map["sha256_of_pixels"]));
    }
    let step = |axis: &str| settings[axis].as_f64();
    let grid =
        GridRecord { step_x_um: step("step_x_um"), step_y_um: step("step_y_um"), ..GridRecord::default() };
    study.set_grid(grid).unwrap();
    study
}

fn level(section: &mut Section, map: &Value) -> Level {
    let found = Level::stated(number(&map["background"]), Kind::Window, &Rules::default()).unwrap();
    let line = text(&map["line"]);
    section.near(format!("{line}, critical level"), found.critical, &map["critical_level"]);
    section.near(format!("{line}, detection limit"), found.detection_limit, &map["detection_limit"]);
    found
}

/// The bytes of a picture that stands in the reference as rows of pixels.
fn rgba(rows: &Value) -> Vec<u8> {
    let bytes = list(rows).iter().flat_map(list).flat_map(list);
    bytes.map(|v| u8::try_from(v.as_u64().expect("a byte")).expect("a byte")).collect()
}

fn picture(
    study: &mut Study,
    section: &mut Section,
    what: &str,
    wanted: &Value,
    lines: [&str; 2],
    steps: u64,
) {
    let mut lights = wanted["lights"].clone();
    for (light, line) in lights.as_array_mut().expect("lights").iter_mut().zip(lines) {
        light["map"] = json!(line);
    }
    let mut settings = json!({"lights": lights});
    if let Some(view) = wanted.get("view") {
        settings["view"] = view.clone();
    }
    let shown = study.picture(&PictureSettings::read(settings).unwrap()).unwrap();
    section.pictures(what, &shown.picture.rgba, &rgba(&wanted["rgba"]), steps);
}

#[test]
fn hand() {
    let (mut section, values) = Section::of("hand");
    let settings = &values["settings"];
    let steps = values["tolerance"]["colour_steps"].as_u64().expect("steps of colour");
    for name in ["whole", "blank"] {
        section.row();
        let form = &values[name];
        let (a, b) = (text(&form["a"]["line"]), text(&form["b"]["line"]));
        let mut study = study(form, settings, &mut section);
        let (level_a, level_b) = (level(&mut section, &form["a"]), level(&mut section, &form["b"]));
        let at = (&level_a, &level_b);
        let (_, signal_a) = counts_of(text(&form["a"]["file"]));
        let (_, signal_b) = counts_of(text(&form["b"]["file"]));
        let signals = (&signal_a, &signal_b);
        let backgrounds = json!({a: settings["background_a"], b: settings["background_b"]});

        for row in list(&form["apart"]) {
            section.row();
            let k = &row["settings"]["k"];
            let what = format!("{name}, k {k}");
            let asked = json!({"a": a, "b": b, "background": backgrounds, "k": k});
            let (answer, rasters) = study.ask("apart", asked, &mut |_, _| {}).unwrap();
            section.near(format!("{what}, floor"), answer.settings.floor, &settings["floor"]);
            section.near(format!("{what}, alpha"), answer.settings.alpha, &settings["alpha"]);
            for number in ["k", "k_low", "k_high"] {
                section.near(format!("{what}, {number}"), answer.numbers[number].value, &row[number]);
            }
            pairs::compare_apart(&mut section, &what, &answer, row);
            pairs::compare_detected(&mut section, &what, signals, at, row);
            let want: Vec<u8> = pairs::flat(&row["classes"]).iter().map(|&class| class as u8).collect();
            pairs::compare_classes(&mut section, &what, &rasters, &want);
        }

        let asked = json!({"a": a, "b": b, "background": backgrounds, "k_band": 0.2});
        let (answer, rasters) = study.ask("ratio", asked, &mut |_, _| {}).unwrap();
        let row = &form["ratio"];
        pairs::compare_ratio(&mut section, &format!("{name}, ratio"), signals, at, &answer, row);
        let relative = number(&values["tolerance"]["relative"]);
        let want = pairs::flat(&row["count_ratio"]);
        section.rasters(format!("{name}, count ratios"), pairs::count_ratio(&rasters), &want, relative);

        for kind in ["overlay", "coarse"] {
            section.row();
            let what = format!("{name}, {kind}");
            picture(&mut study, &mut section, &what, &form[kind], [a, b], steps);
        }
    }
    section.finish();
}
