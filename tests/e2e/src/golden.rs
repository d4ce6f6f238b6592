//! The browser computes the same bytes as the native build: pictures, answers and saved files of `tests/golden/same_bytes.json`, which the
//! native tests hold too.

use crate::report::Report;
use crate::stage::{Stage, carried, repository, sha256};
use anyhow::{Context, Result, bail, ensure};
use serde_json::{Value, json};
use std::path::PathBuf;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report
        .check(stage, "pictures, answers and saved files have the same bytes as natively", same_bytes)
        .await;
}

async fn same_bytes(stage: &Stage) -> Result<String> {
    let text = std::fs::read_to_string(repository("tests/golden/same_bytes.json"));
    let golden: Value = serde_json::from_str(&text.context("tests/golden/same_bytes.json cannot be read")?)?;
    let Some(cases) = golden["cases"].as_array().filter(|cases| !cases.is_empty()) else {
        bail!("tests/golden/same_bytes.json has no cases")
    };
    let (mut compared, mut wrong) = (0, Vec::new());
    for case in cases {
        stage.browser.open(&stage.url).await?;
        for (what, found, wanted) in
            one_case(stage, case).await.with_context(|| format!("{}", case["name"]))?
        {
            compared += 1;
            if json!(found) != wanted {
                wrong.push(format!("{}, {what}: {found}, natively {wanted}", case["name"]));
            }
        }
    }
    // the pages in between were loaded on purpose
    if stage.form == crate::stage::Form::Site {
        stage.proxy.clear();
    }
    ensure!(wrong.is_empty(), "{}", wrong.join("; "));
    Ok(format!("{} cases, {compared} hashes", cases.len()))
}

/// What, its hash here, its hash natively.
type Compared = (String, String, Value);

async fn one_case(stage: &Stage, case: &Value) -> Result<Vec<Compared>> {
    let open = case["open"].as_array().context("`open` is not a list")?;
    let paths: Vec<PathBuf> = open.iter().map(|path| repository(path.as_str().unwrap_or_default())).collect();
    let grid = &case["open_grid"];
    let source = "const { notices } = await limner.open(e2e.files(args[0]));
        if (args[1] !== null) await limner.set_grid(args[1]);
        if (args[3] !== null) await limner.align(args[3]);
        for (const region of args[2] ?? []) await limner.add_region(region);
        return notices.filter(({ severity }) => severity === 'error')";
    let errors =
        stage.script(source, json!([carried(&paths)?, grid, case["regions"], case["align"]])).await?;
    ensure!(errors == json!([]), "reading gives {errors}");
    let mut list = Vec::new();
    if case["picture"].is_object() {
        let hash = picture(stage, &case["picture"]).await?;
        list.push(("picture".to_string(), hash, case["sha256"].clone()));
    }
    if case["export"].is_object() {
        // twice, because a file must not hold the time or the chance of its making
        for run in ["first", "second"] {
            let source = "const file = await limner.export('picture', args[0]);
                if (file.type !== 'image/png') throw new Error(file.type);
                return new Uint8Array(await file.arrayBuffer())";
            let bytes = stage.browser.bytes(source, json!([case["export"]])).await?;
            list.push((format!("{run} file"), sha256(&bytes), case["file_sha256"].clone()));
        }
    }
    if case["ask"].is_object() {
        let source = "e2e.result = await limner.ask(args[0], args[1]); return e2e.result.answer.id";
        let id = stage.script(source, json!([case["ask"]["question"], case["ask"]["settings"]])).await?;
        let id = id.as_str().unwrap_or_default().to_string();
        list.push(("answer.id".to_string(), id.clone(), case["answer_id"].clone()));
        for (name, wanted) in case["rasters"].as_object().into_iter().flatten() {
            let bytes = stage.browser.bytes("return e2e.result.rasters[args[0]].data", json!([name])).await;
            let bytes = bytes.with_context(|| format!("raster {name}"))?;
            list.push((format!("raster {name}"), sha256(&bytes), wanted.clone()));
        }
        for entry in case["pictures"].as_array().into_iter().flatten() {
            let mut settings = entry.clone();
            let parts = settings.as_object_mut().context("an entry of `pictures` is not an object")?;
            let wanted = parts.remove("sha256").unwrap_or_default();
            parts.insert("answer".to_string(), json!(id));
            let hash = picture(stage, &settings).await?;
            list.push((format!("picture of {}", entry["show"]), hash, wanted));
        }
    }
    let files = case["files"].as_array().into_iter().flatten();
    for (file, wanted) in files.zip(case["files_sha256"].as_array().into_iter().flatten()) {
        let mut options = file[1].clone();
        if options["answer"] == "asked" {
            options["answer"] = case["answer_id"].clone();
        }
        let source = "const file = await limner.export(args[0], args[1]);
            return new Uint8Array(await file.arrayBuffer())";
        let bytes = stage.browser.bytes(source, json!([file[0], options])).await;
        let bytes = bytes.with_context(|| format!("file {file}"))?;
        list.push((format!("file {file}"), sha256(&bytes), wanted.clone()));
    }
    ensure!(!list.is_empty(), "nothing is asked");
    Ok(list)
}

/// The hash of a picture's bytes.
async fn picture(stage: &Stage, settings: &Value) -> Result<String> {
    let source = "return (await limner.picture(args[0])).rgba";
    Ok(sha256(&stage.browser.bytes(source, json!([settings])).await?))
}
