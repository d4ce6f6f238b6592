//! Files written by other programs come back exactly: type, size and every bit, through the call and through the page's own
//! file input. What must come back is in `tests/reference/files/manifest.json`.

use crate::page::{half, reads_notice};
use crate::report::Report;
use crate::stage::{Stage, carried, repository, sha256};
use anyhow::{Context, Result, bail, ensure};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::path::PathBuf;

/// A name for the file that is cut off in its middle.
const BAD: &str = "cut_off_Fe-K.tif";

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "files of other programs come back exactly through limner.open", by_call).await;
    report.check(stage, "files of other programs come back exactly through the file input", by_input).await;
}

async fn by_call(stage: &Stage) -> Result<String> {
    let (entries, paths) = all_files(stage)?;
    let source = "return limner.open(e2e.files(args[0]))";
    let opened = stage.script(source, json!([carried(&paths)?])).await?;
    let errors: Vec<&Value> = notices(&opened).filter(|notice| notice["severity"] == "error").collect();
    ensure!(errors.len() == 1 && errors[0]["file"] == BAD, "one file is bad, the errors are {errors:?}");
    ensure!(count_of(&opened["maps"]) == entries.len(), "the opening gave {}", opened["maps"]);
    come_back(stage, &entries).await
}

async fn by_input(stage: &Stage) -> Result<String> {
    let (entries, paths) = all_files(stage)?;
    let mut list = Vec::new();
    for path in paths {
        list.push(path.canonicalize()?.display().to_string());
    }
    let input = stage.browser.web.find(thirtyfour::By::Css("#file-input")).await?;
    input.send_keys(list.join("\n")).await?;
    let all = format!("document.querySelectorAll('.sheet-picture').length === {}", entries.len());
    stage.browser.wait(&all, 60).await.context("the sheet does not fill")?;
    reads_notice(stage, BAD).await?;
    let told = stage.script("return document.querySelectorAll('.notice-error').length", json!([])).await?;
    ensure!(told == 1, "{told} errors are told on the page");
    come_back(stage, &entries).await
}

/// The manifest, and the files in its order with a bad one in their middle.
fn all_files(stage: &Stage) -> Result<(Vec<Value>, Vec<PathBuf>)> {
    let folder = repository("tests/reference/files");
    let text = std::fs::read_to_string(folder.join("manifest.json"));
    let manifest: Value =
        serde_json::from_str(&text.context("tests/reference/files/manifest.json cannot be read")?)?;
    let Value::Array(entries) = manifest else { bail!("the manifest is not a list") };
    ensure!(entries.len() >= 20, "only {} files", entries.len());
    let makers: BTreeSet<&str> = entries.iter().filter_map(|entry| entry["maker"].as_str()).collect();
    ensure!(makers == BTreeSet::from(["numpy", "pillow", "tifffile"]), "the makers are {makers:?}");
    let mut paths: Vec<PathBuf> =
        entries.iter().map(|entry| folder.join(entry["file"].as_str().unwrap_or_default())).collect();
    let bad = stage.scratch.join(BAD);
    std::fs::write(&bad, half(&std::fs::read(repository("demo-data/tern-sound/tern_Fe-K.tif"))?))?;
    paths.insert(paths.len() / 2, bad);
    Ok((entries, paths))
}

/// Every map is what the manifest says of its file.
async fn come_back(stage: &Stage, entries: &[Value]) -> Result<String> {
    let maps = stage.script("return limner.maps()", json!([])).await?;
    let maps = maps.as_array().context("no list of maps")?;
    ensure!(maps.len() == entries.len(), "{} maps for {} files", maps.len(), entries.len());
    let mut wrong = Vec::new();
    let mut patterns = BTreeSet::new();
    for entry in entries {
        let Some(map) = maps.iter().find(|map| map["file"] == entry["file"]) else {
            wrong.push(format!("{} did not come", entry["file"]));
            continue;
        };
        let shape = "e2e.raster = await limner.map(args[0]);
            return { width: e2e.raster.width, height: e2e.raster.height, type: e2e.raster.data.constructor.name }";
        let shape = stage.script(shape, json!([map["id"]])).await?;
        let bytes = stage.browser.bytes("return e2e.raster.data", json!([])).await?;
        let name = array_name(entry["dtype"].as_str().unwrap_or_default())?;
        let (found, wanted) = (
            json!([shape["width"], shape["height"], shape["type"], sha256(&bytes), map["line"]]),
            json!([entry["width"], entry["height"], name, entry["sha256_of_pixels"], entry["line"]]),
        );
        if found != wanted {
            wrong.push(format!("{} is {found}, not {wanted}", entry["file"]));
        }
        if entry["blank_pixels"].is_number() && entry["blank_pixels"] != map["blank"] {
            wrong.push(format!(
                "{} has {} blank pixels, not {}",
                entry["file"], map["blank"], entry["blank_pixels"]
            ));
        }
        patterns.extend(entry["nan_patterns"].as_array().into_iter().flatten().map(Value::to_string));
    }
    ensure!(wrong.is_empty(), "{}", wrong.join("; "));
    ensure!(patterns.len() >= 4, "the files hold only {} kinds of NaN", patterns.len());
    Ok(format!("{} files, {} kinds of NaN among them", entries.len(), patterns.len()))
}

/// The typed array of a sample type.
fn array_name(dtype: &str) -> Result<&'static str> {
    Ok(match dtype {
        "u8" => "Uint8Array",
        "i8" => "Int8Array",
        "u16" => "Uint16Array",
        "i16" => "Int16Array",
        "u32" => "Uint32Array",
        "i32" => "Int32Array",
        "f32" => "Float32Array",
        "f64" => "Float64Array",
        other => bail!("the manifest has a type {other:?}"),
    })
}

fn notices(opened: &Value) -> impl Iterator<Item = &Value> {
    opened["notices"].as_array().into_iter().flatten()
}

fn count_of(list: &Value) -> usize {
    list.as_array().map_or(0, Vec::len)
}
