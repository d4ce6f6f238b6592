//! The same bytes on every target: hashes of pictures and answers, checked here natively and by the end-to-end test in
//! the browser. `GOLDEN=accept cargo test --test golden` writes them anew; look at what changed before committing it.
#![allow(clippy::disallowed_methods, clippy::unwrap_used)] // a test reads files, and may fail

use limner::ask::picture::PictureSettings;
use limner::digest::sha256_hex;
use limner::study::{AlignSettings, GridRecord, Study};
use serde_json::{Map, Value, json};
use std::path::PathBuf;

fn at(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

fn chart() -> Vec<String> {
    let lines = ["Ca-K", "Ti-K", "Mn-K", "Fe-K", "Cu-K", "Zn-K", "Pb-L", "Hg-L"];
    let maps = lines.iter().map(|line| format!("demo-data/tern-sound/tern_{line}.tif"));
    maps.chain(["demo-data/tern-sound/photo.png".to_owned()]).collect()
}

fn hand() -> Vec<String> {
    vec!["tests/reference/hand/Ti-K.npy".into(), "tests/reference/hand/Fe-K.npy".into()]
}

/// The integer arrays of the reference: iron, manganese, copper, zinc.
fn arrays() -> Vec<String> {
    ["iron", "manganese", "copper", "zinc"]
        .map(|name| format!("tests/reference/background/{name}.npy"))
        .into()
}

/// What is drawn and asked, without the hashes.
fn cases() -> Vec<Value> {
    let view = json!({"x": -21.5, "y": 6.25, "width": 342.0, "height": 198.0, "out_width": 640});
    let small = json!({"x": 0, "y": 0, "width": 300, "height": 220, "out_width": 61});
    let alone = ["demo-data/tern-sound/tern_Ti-K.tif", "demo-data/tern-sound/tern_Fe-K.tif"];
    let three = json!([{"map": "Fe K"}, {"map": "Pb L"}, {"map": "Hg L"}]);
    let stated = json!({"a": "Ti K", "b": "Fe K", "background": {"Ti K": 2, "Fe K": 3}, "k": 0.25});
    let step = json!({"step_x_um": 500, "step_y_um": 500});
    // Half a millimetre a pixel of the grid, a quarter a pixel of the photo, which is turned by 0.009 and shifted: as the example
    // was made (demo-data/maker).
    let lies = json!({"photo": "p1", "points": [], "transform":
        [0.499979750137, 0.00449993925, -7.686091035682, -0.00449993925, 0.499979750137, -9.531212126021, 0, 0, 1]});
    let aslant = json!([0.5, 0.02, -7.0, -0.03, 0.52, -9.0, 5e-5, -1e-5, 1.0]);
    let regions = json!([
        {"name": "square", "rectangle": {"x": 9, "y": 25, "width": 20, "height": 18}},
        {"name": "disc", "polygon": [[46, 20], [53, 23], [56, 30], [53, 37], [46, 40], [39, 37], [36, 30], [39, 23]]},
        {"name": "beside", "role": "reference", "rectangle": {"x": 32, "y": 0, "width": 32, "height": 16}},
        {"name": "bright iron", "threshold": {"map": "m1", "low": 30}},
    ]);
    // The answer that is meant is the one that the case asks for.
    let files = json!([
        ["map", {"map": "m1"}], ["map", {"map": "m2", "format": "npz"}], ["map", {"map": "m3", "format": "npy"}],
        ["raster", {"answer": "asked", "raster": "classes", "format": "npz"}],
        ["raster", {"answer": "asked", "raster": "excess_sigma"}],
        ["mask", {"region": "bright iron"}], ["mask", {"region": "disc", "format": "tiff"}],
        ["mask", {"region": "disc", "format": "npz", "as_file_of": "m4"}], ["mask", {"region": "square", "format": "csv"}],
        ["answer", {"answer": "asked"}], ["regions_table", {}], ["files", {}], ["record", {}],
    ]);
    vec![
        json!({"name": "one map", "open": chart(), "picture": {"map": "Fe K"}}),
        json!({"name": "one map in a window", "open": chart(), "picture": {"map": "Pb L", "low": 5, "high": 300, "view": view}}),
        json!({"name": "overlay", "open": chart(), "picture": {"lights": three}}),
        json!({"name": "overlay magnified", "open": chart(), "picture": {"lights": three, "view": view}}),
        json!({"name": "overlay scaled down", "open": chart(), "picture": {"lights": three, "view": small}}),
        json!({"name": "share that overlaps could give", "open": chart(), "picture": {"overlap": "Zn K", "view": view}}),
        json!({"name": "photo scaled down", "open": chart(), "picture": {"photo": "p1", "view": small}}),
        json!({"name": "photo laid on the grid", "open": chart(), "align": lies, "picture": {"photo": "p1", "on": "grid"}}),
        json!({"name": "photo laid as proposed, magnified", "open": chart(), "picture":
            {"photo": "p1", "on": "grid", "photo_transform": aslant, "view": {"x": 41.5, "y": 60.25, "width": 82, "height": 54, "out_width": 410}}}),
        json!({"name": "map mixed with the photo", "open": chart(), "align": lies, "picture":
            {"map": "Fe K", "photo": "p1", "mix": 0.4, "view": view}}),
        json!({"name": "overlay divided from the photo", "open": chart(), "align": lies, "picture":
            {"lights": three, "photo": "p1", "divide": 0.45, "divide_along": "y", "view": view}}),
        json!({"name": "apart", "open": chart(), "ask": {"question": "apart", "settings": {"a": "Ti K", "b": "Fe K"}}}),
        json!({"name": "apart of two maps alone", "open": alone, "ask": {"question": "apart", "settings": {"a": "Ti K", "b": "Fe K"}}}),
        json!({"name": "apart in lead", "open": chart(), "ask": {"question": "apart", "settings": {"a": "Pb L", "b": "Hg L", "floor": 0.1}}}),
        json!({"name": "ratio", "open": chart(), "ask": {"question": "ratio", "settings": {"a": "Mn K", "b": "Fe K"}}}),
        json!({"name": "apart by hand", "open": hand(), "open_grid": step, "ask": {"question": "apart", "settings": stated}}),
        json!({"name": "ratio by hand", "open": hand(), "open_grid": step, "ask": {"question": "ratio", "settings":
            {"a": "Ti K", "b": "Fe K", "background": {"Ti K": 2, "Fe K": 3}}}}),
        json!({"name": "faint on the arrays", "open": arrays(), "ask": {"question": "faint", "settings": {"map": "m2"}}}),
        json!({"name": "faint in a region", "open": arrays(), "regions": regions, "ask": {"question": "faint", "settings":
            {"map": "m4", "region": "square", "background": "beside"}}}),
        json!({"name": "described where its own map made the region", "open": arrays(), "regions": regions,
            "ask": {"question": "faint", "settings": {"map": "m1", "region": "bright iron"}}}),
        json!({"name": "together on the arrays", "open": arrays(), "ask": {"question": "together", "settings":
            {"a": "m1", "b": "m2"}}}),
        json!({"name": "together in a region", "open": arrays(), "regions": regions, "ask": {"question": "together",
            "settings": {"a": "m3", "b": "m4", "region": "square", "seed": 7}}}),
        json!({"name": "all pairs of the arrays", "open": arrays(), "ask": {"question": "together", "settings":
            {"maps": ["m1", "m2", "m3", "m4"]}}}),
        json!({"name": "apart on the arrays", "open": arrays(), "ask": {"question": "apart", "settings": {"a": "m2", "b": "m1"}}}),
        json!({"name": "ratio in a region", "open": arrays(), "open_grid": step, "regions": regions, "ask": {"question": "ratio",
            "settings": {"a": "m4", "b": "m3", "region": "square"}}}),
        json!({"name": "regions with a line", "open": arrays(), "regions": regions, "ask": {"question": "regions", "settings":
            {"regions": ["square", "disc"], "maps": ["m1", "m2", "m3"], "line": {"from": [4, 10], "to": [60, 40], "width_px": 3}}}}),
        json!({"name": "zones of the chart", "open": chart(), "ask": {"question": "regions", "settings": {"zones": 0}}}),
        json!({"name": "parts of the arrays in a region", "open": arrays(), "regions": regions, "ask": {"question": "regions",
            "settings": {"zones": 3, "zones_by": "parts", "coherence": 1, "region": "beside", "maps": ["m1", "m2", "m3", "m4"]}}}),
        json!({"name": "zones of the arrays", "open": arrays(), "open_grid": step, "ask": {"question": "regions", "settings":
            {"zones": 4, "coherence": 0, "seed": 3}}}),
        json!({"name": "five zones of the arrays", "open": arrays(), "open_grid": step, "ask": {"question": "regions", "settings":
            {"zones": 5}}}),
        json!({"name": "together on the chart", "open": chart(), "ask": {"question": "together", "settings":
            {"a": "Fe K", "b": "Ti K"}}}),
        json!({"name": "files for other programs", "open": arrays(), "open_grid": step, "regions": regions,
            "ask": {"question": "apart", "settings": {"a": "m2", "b": "m1"}}, "files": files}),
        json!({"name": "plate of one map", "open": chart(), "open_grid": step, "export":
            {"settings": {"map": "Pb L"}, "width_px": 700, "title": "Tern Sound chart, Pb L"}}),
        json!({"name": "plate of a map with the photo", "open": chart(), "open_grid": step, "align": lies, "export":
            {"settings": {"map": "Fe K", "photo": "p1", "divide": 0.5}, "width_px": 700, "title": "Tern Sound chart"}}),
        json!({"name": "plate of an overlay", "open": chart(), "open_grid": step, "export":
            {"settings": {"lights": three}, "width_mm": 80, "dpi": 300, "title": ""}}),
    ]
}

fn picture(study: &mut Study, settings: Value) -> String {
    let settings = PictureSettings::read(settings).unwrap();
    sha256_hex(&study.picture(&settings).unwrap().picture.rgba)
}

/// The case with its hashes.
fn computed(case: &Value) -> Value {
    let mut study = Study::new();
    for path in case["open"].as_array().unwrap() {
        let path = path.as_str().unwrap();
        let opened = study.open(path.rsplit('/').next().unwrap(), &std::fs::read(at(path)).unwrap());
        assert_eq!(opened.maps.len() + opened.photos.len(), 1, "{path}: {:?}", opened.notices);
    }
    if let Some(grid) = case.get("open_grid") {
        let grid: GridRecord = serde_json::from_value(grid.clone()).unwrap();
        study.set_grid(grid).unwrap();
    }
    if let Some(settings) = case.get("align") {
        study.align(AlignSettings::read(settings.clone()).unwrap()).unwrap();
    }
    for region in case["regions"].as_array().into_iter().flatten() {
        study.add_region(serde_json::from_value(region.clone()).unwrap()).unwrap();
    }
    let mut done = case.clone();
    if let Some(settings) = case.get("picture") {
        done["sha256"] = picture(&mut study, settings.clone()).into();
    }
    if let Some(options) = case.get("export") {
        let file = limner::export::export(&mut study, "picture", options.clone()).unwrap();
        done["file_sha256"] = sha256_hex(&file.bytes).into();
    }
    if let Some(asked) = case.get("ask") {
        let question = asked["question"].as_str().unwrap();
        let (answer, rasters) = study.ask(question, asked["settings"].clone(), &mut |_, _| {}).unwrap();
        let rasters: Map<String, Value> = rasters
            .iter()
            .map(|(name, raster)| (name.clone(), sha256_hex(&raster.le_bytes()).into()))
            .collect();
        let pictures: Vec<Value> = answer
            .shows
            .iter()
            .map(|shown| {
                let settings = json!({"answer": answer.id, "show": shown.show});
                json!({"show": shown.show, "sha256": picture(&mut study, settings)})
            })
            .collect();
        done["answer_id"] = answer.id.into();
        done["rasters"] = rasters.into();
        done["pictures"] = pictures.into();
    }
    if let Some(files) = case.get("files").and_then(Value::as_array) {
        let hash = |study: &mut Study, what: &Value, options: &Value| {
            let mut options = options.clone();
            if options["answer"] == "asked" {
                options["answer"] = done["answer_id"].clone();
            }
            sha256_hex(&limner::export::export(study, what.as_str().unwrap(), options).unwrap().bytes)
        };
        let hashes: Vec<String> = files.iter().map(|file| hash(&mut study, &file[0], &file[1])).collect();
        done["files_sha256"] = hashes.into();
    }
    done
}

#[test]
fn pictures_and_answers_are_the_committed_bytes() {
    let file = at("tests/golden/same_bytes.json");
    let now = json!({"cases": cases().iter().map(computed).collect::<Vec<_>>()});
    if std::env::var("GOLDEN").as_deref() == Ok("accept") {
        std::fs::write(&file, serde_json::to_string_pretty(&now).unwrap() + "\n").unwrap();
    }
    let committed: Value = serde_json::from_slice(&std::fs::read(&file).unwrap()).unwrap();
    let (now, committed) = (now["cases"].as_array().unwrap(), committed["cases"].as_array().unwrap());
    assert_eq!(now.len(), committed.len());
    for (now, committed) in now.iter().zip(committed) {
        assert_eq!(now, committed, "{}", now["name"]);
    }
}
