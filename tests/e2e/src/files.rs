//! Files written by other programs come back exactly: type, size and every bit, through the call and through the page's own
//! file input; those of several maps and photos as well, and those that can be read in several ways after the way was chosen.
//! What must come back is in `tests/reference/files/manifest.json`.

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
    let manifest = Manifest::read(stage)?;
    let source = "return limner.open(e2e.files(args[0]))";
    let opened = stage.script(source, json!([carried(&manifest.paths)?])).await?;
    let errors: Vec<&Value> =
        list(&opened["notices"]).filter(|notice| notice["severity"] == "error").collect();
    ensure!(errors.len() == 1 && errors[0]["file"] == BAD, "one file is bad, the errors are {errors:?}");
    let asks: BTreeSet<&str> = list(&opened["asks"]).filter_map(|ask| ask["file"].as_str()).collect();
    ensure!(asks == manifest.asking().collect(), "the files {asks:?} ask");
    let mut maps = list(&opened["maps"]).count();
    for ask in list(&opened["asks"]) {
        let entry = manifest.entry(&ask["file"]).context("a file that is not in the manifest asks")?;
        let call = "return (await limner.read_as(args[0], args[1])).maps.length";
        let read = stage.script(call, json!([ask["sha256"], entry["way"]])).await?;
        maps += usize::try_from(read.as_u64().context("no maps")?)?;
    }
    ensure!(maps == manifest.maps(), "{maps} maps came, not {}", manifest.maps());
    let photos = list(&opened["photos"]).count();
    ensure!(photos == manifest.photos().count(), "{photos} photos came");
    for entry in &manifest.entries {
        for code in list(&entry["findings"]) {
            let told = list(&opened["notices"]).any(|one| {
                one["code"] == *code && one["file"].as_str().is_some_and(|file| is_of(file, entry))
            });
            ensure!(told, "nothing is told of {} in {}", code, entry["file"]);
        }
    }
    come_back(stage, &manifest).await
}

async fn by_input(stage: &Stage) -> Result<String> {
    let manifest = Manifest::read(stage)?;
    // the words of the buttons are those of the call, which reads nothing yet
    let asking: Vec<PathBuf> =
        manifest.asking().map(|file| repository("tests/reference/files").join(file)).collect();
    let source = "return (await limner.open(e2e.files(args[0]))).asks";
    let asks = stage.script(source, json!([carried(&asking)?])).await?;
    stage.fresh().await?;

    let mut paths = Vec::new();
    for path in &manifest.paths {
        paths.push(path.canonicalize()?.display().to_string());
    }
    let input = stage.browser.web.find(thirtyfour::By::Css("#file-input")).await?;
    input.send_keys(paths.join("\n")).await?;
    let all_asked =
        "return [...document.querySelectorAll('.ask-file-names')].map((one) => one.title || one.textContent)";
    let read = "document.documentElement.dataset.stack === 'open' && (await limner.maps()).length > 0";
    stage.browser.wait(read, 60).await.context("nothing is read")?;
    let asked = stage.script(all_asked, json!([])).await?;
    for ask in list(&asks) {
        let entry = manifest.entry(&ask["file"]).context("a file that is not in the manifest asks")?;
        let way = list(&ask["ways"]).find(|way| way["key"] == entry["way"]);
        let text = way.with_context(|| format!("{} is not asked about {}", entry["file"], entry["way"]))?;
        // several files that ask the same stand together, and one press chooses for all of them
        let find = "const item = [...document.querySelectorAll('.ask-file')].find((one) => {
              const names = one.querySelector('.ask-file-names');
              return (names.title || names.textContent).split(/\\n|, /).includes(args[0]);
            });
            const button = [...item?.querySelectorAll('.ask-file-take') ?? []].find((one) => one.textContent === args[1]);
            button?.scrollIntoView({ block: 'nearest' });
            return [item !== undefined, button ?? null]";
        let found = stage
            .script(
                &format!("const [there] = await (async () => {{ {find} }})(); return there"),
                json!([ask["file"], text["text"]]),
            )
            .await?;
        if found == false {
            continue; // chosen with another one of the same question
        }
        let mark = format!("const [, button] = await (async () => {{ {find} }})();
            for (const one of document.querySelectorAll('.ask-file-take')) one.classList.toggle('e2e-wanted', one === button);
            return button !== null");
        let marked = stage.script(&mark, json!([ask["file"], text["text"]])).await?;
        ensure!(
            marked == true,
            "no button reads {} for {}; the page asks about {asked}",
            text["text"],
            ask["file"]
        );
        stage.click(".e2e-wanted").await?;
        stage.pause().await;
    }
    let all = format!("(await limner.maps()).length === {}", manifest.maps());
    stage.browser.wait(&all, 60).await.context("not all maps come")?;
    // detectors of one line may be folded together on the sheet, and every map is there to be seen
    let seen = "const maps = await limner.maps();
        const folded = maps.reduce((sum, { group }) => sum + (group.length > 0 ? 1 : 0), 0);
        const shown = document.querySelectorAll('.sheet-picture').length;
        return [shown, maps.length - folded, maps.length + (await limner.photos()).length]";
    let seen = stage.script(seen, json!([])).await?;
    ensure!(
        seen[0].as_u64() >= seen[1].as_u64() && seen[0].as_u64() <= seen[2].as_u64(),
        "of the sheet, at least and at most: {seen}"
    );
    reads_notice(stage, BAD).await?;
    let told = stage.script("return document.querySelectorAll('.notice-error').length", json!([])).await?;
    ensure!(told == 1, "{told} errors are told on the page");
    come_back(stage, &manifest).await
}

/// The manifest, and the files in its order with a bad one in their middle.
struct Manifest {
    entries: Vec<Value>,
    paths: Vec<PathBuf>,
}

impl Manifest {
    fn read(stage: &Stage) -> Result<Manifest> {
        let folder = repository("tests/reference/files");
        let text = std::fs::read_to_string(folder.join("manifest.json"));
        let manifest: Value =
            serde_json::from_str(&text.context("tests/reference/files/manifest.json cannot be read")?)?;
        let Value::Array(entries) = manifest else { bail!("the manifest is not a list") };
        ensure!(entries.len() >= 100, "only {} files", entries.len());
        let makers: BTreeSet<&str> = entries.iter().filter_map(|entry| entry["maker"].as_str()).collect();
        for maker in ["numpy", "pillow", "tifffile", "zipfile"] {
            ensure!(makers.contains(maker), "the makers are {makers:?}");
        }
        let mut paths: Vec<PathBuf> =
            entries.iter().map(|entry| folder.join(entry["file"].as_str().unwrap_or_default())).collect();
        let bad = stage.scratch.join(BAD);
        std::fs::write(&bad, half(&std::fs::read(repository("demo-data/tern-sound/tern_Fe-K.tif"))?))?;
        paths.insert(paths.len() / 2, bad);
        Ok(Manifest { entries, paths })
    }

    fn entry(&self, file: &Value) -> Option<&Value> {
        self.entries.iter().find(|entry| entry["file"] == *file)
    }

    /// Names of the files that can be read in several ways.
    fn asking(&self) -> impl Iterator<Item = &str> {
        self.entries
            .iter()
            .filter(|entry| entry["way"].is_string())
            .filter_map(|entry| entry["file"].as_str())
    }

    fn photos(&self) -> impl Iterator<Item = &Value> {
        self.entries.iter().filter(|entry| entry["photo"].is_object())
    }

    /// How many maps all files hold.
    fn maps(&self) -> usize {
        self.entries.iter().map(|entry| maps_of(entry).len()).sum()
    }
}

/// What the manifest says of each map of a file; an entry without a list is itself its only map.
fn maps_of(entry: &Value) -> Vec<&Value> {
    match (&entry["maps"], &entry["photo"]) {
        (Value::Array(maps), _) => maps.iter().collect(),
        (_, Value::Object(_)) => Vec::new(),
        _ => vec![entry],
    }
}

/// Whether this name is that of the file or of something in it.
fn is_of(name: &str, entry: &Value) -> bool {
    let file = entry["file"].as_str().unwrap_or_default();
    name.strip_prefix(file).is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

/// Every map and photo is what the manifest says of its file.
async fn come_back(stage: &Stage, manifest: &Manifest) -> Result<String> {
    let maps = stage.script("return limner.maps()", json!([])).await?;
    ensure!(list(&maps).count() == manifest.maps(), "{} maps", list(&maps).count());
    let mut wrong = Vec::new();
    let mut patterns = BTreeSet::new();
    for entry in &manifest.entries {
        let come: Vec<&Value> =
            list(&maps).filter(|map| map["file"].as_str().is_some_and(|name| is_of(name, entry))).collect();
        let wanted = maps_of(entry);
        if come.len() != wanted.len() {
            wrong.push(format!("{} gave {} maps, not {}", entry["file"], come.len(), wanted.len()));
            continue;
        }
        for (place, (map, want)) in come.into_iter().zip(wanted).enumerate() {
            wrong.extend(one_map(stage, entry, place, map, want).await?);
        }
        patterns.extend(list(&entry["nan_patterns"]).map(Value::to_string));
    }
    for entry in manifest.photos() {
        wrong.extend(one_photo(stage, entry).await?);
    }
    ensure!(wrong.is_empty(), "{}", wrong.join("; "));
    ensure!(patterns.len() >= 4, "the files hold only {} kinds of NaN", patterns.len());
    let (maps, photos) = (manifest.maps(), manifest.photos().count());
    Ok(format!(
        "{} files, {maps} maps, {photos} photos, {} kinds of NaN among them",
        manifest.entries.len(),
        patterns.len()
    ))
}

/// What is wrong with a map.
async fn one_map(
    stage: &Stage,
    entry: &Value,
    place: usize,
    map: &Value,
    want: &Value,
) -> Result<Option<String>> {
    let shape = "e2e.raster = await limner.map(args[0]);
        return { width: e2e.raster.width, height: e2e.raster.height, type: e2e.raster.data.constructor.name }";
    let shape = stage.script(shape, json!([map["id"]])).await?;
    let bytes = stage.browser.bytes("return e2e.raster.data", json!([])).await?;
    let name = array_name(want["dtype"].as_str().unwrap_or_default())?;
    let file = entry["file"].as_str().unwrap_or_default();
    // in an archive the maps are numbered through all its files
    let path = want["entry"].as_str().map_or(file.to_string(), |inside| format!("{file}/{inside}"));
    // an entry without a list of maps says nothing of the title
    let title = if want["title"].is_null() { &map["title"] } else { &want["title"] };
    let found = json!([
        shape["width"],
        shape["height"],
        shape["type"],
        sha256(&bytes),
        map["line"],
        map["title"],
        map["file"],
        map["page"]
    ]);
    let wanted = json!([
        want["width"],
        want["height"],
        name,
        want["sha256_of_pixels"],
        want["line"],
        title,
        path,
        place
    ]);
    if found != wanted {
        return Ok(Some(format!("{file}, map {place}, is {found}, not {wanted}")));
    }
    let blank = &entry["blank_pixels"];
    let is_other = blank.is_number() && *blank != map["blank"];
    Ok(is_other.then(|| format!("{file} has {} blank pixels, not {blank}", map["blank"])))
}

/// What is wrong with a photo: its picture in its own size is its pixels.
async fn one_photo(stage: &Stage, entry: &Value) -> Result<Option<String>> {
    let source = "const photo = (await limner.photos()).find(({ file }) => file === args[0]);
        if (!photo) return new Uint8Array();
        const { id, width, height } = photo;
        const view = { x: 0, y: 0, width, height, out_width: width, out_height: height };
        const { rgba } = await limner.picture({ photo: id, view });
        return new Uint8Array(rgba).filter((_, at) => at % 4 !== 3)";
    let pixels = stage.browser.bytes(source, json!([entry["file"]])).await?;
    let want = &entry["photo"];
    let count = want["width"].as_u64().zip(want["height"].as_u64()).map(|(width, height)| width * height * 3);
    let is_it =
        count == u64::try_from(pixels.len()).ok() && json!(sha256(&pixels)) == want["sha256_of_pixels"];
    Ok((!is_it).then(|| format!("{} has other pixels ({} bytes)", entry["file"], pixels.len())))
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

fn list(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}
