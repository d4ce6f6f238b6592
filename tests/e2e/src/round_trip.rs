//! A rich study (`tests/cases/round_trip.json`), made in the page by the calls that the native test makes: its file is that of
//! the native program byte by byte, it comes back from it, and every finding is computed again the same.

use crate::report::Report;
use crate::stage::{Stage, repository};
use anyhow::{Context, Result, ensure};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde_json::{Map, Value, json};

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report
        .check(
            stage,
            "a rich study has the file that it has natively, and comes back from it",
            there_and_back,
        )
        .await;
}

fn read(path: &str) -> Result<Vec<u8>> {
    std::fs::read(repository(path)).with_context(|| format!("{path} cannot be read"))
}

/// Every file that the step names, by its path.
fn files_of(step: &Value, out: &mut Map<String, Value>) -> Result<()> {
    let mut take = |path: &Value| -> Result<()> {
        let path = path.as_str().context("a path is no text")?;
        out.insert(path.to_owned(), STANDARD.encode(read(path)?).into());
        Ok(())
    };
    for path in step["open"].as_array().into_iter().flatten() {
        take(path)?;
    }
    for argument in step["args"].as_array().into_iter().flatten() {
        for path in [&argument["mask_png"]["bytes_of"], &argument["bytes"]["bytes_of"]] {
            if path.is_string() {
                take(path)?;
            }
        }
    }
    Ok(())
}

const STEP: &str = "const [step, files] = args;
    const bytes = (path) => Uint8Array.fromBase64(files[path]);
    if (step.open) {
      const { notices } = await limner.open(step.open.map((path) => ({ name: path.split('/').pop(), bytes: bytes(path) })));
      return notices.filter(({ severity }) => severity === 'error').map(({ text }) => text).join();
    }
    if ('keep' in step) {
      const picture = step.picture;
      let id = null;
      if (step.keep !== null) {
        id = (await limner.ask(step.keep, step.settings)).answer.id;
        if (picture !== null) picture.answer = id;
      }
      const { title, note, scene } = step;
      await limner.keep(id, { ...(picture ? { picture } : {}), ...(title ? { title } : {}), ...(note ? { note } : {}), ...(scene ? { scene } : {}) });
      return '';
    }
    const filled = (value) => value !== null && typeof value === 'object' && !Array.isArray(value)
      ? Object.fromEntries(Object.entries(value).map(([name, one]) => [name, one?.bytes_of ? bytes(one.bytes_of) : one])) : value;
    await limner[step.call](...step.args.map(filled));
    return ''";

/// Hash and size of the saved study, and what the findings say.
const SAVED: &str = "const blob = await limner.save();
    globalThis.e2e.study = blob;
    const sha256 = [...new Uint8Array(await crypto.subtle.digest('SHA-256', await blob.arrayBuffer()))];
    const findings = await limner.findings();
    return { sha256: sha256.map((byte) => byte.toString(16).padStart(2, '0')).join(''), bytes: blob.size, findings }";

async fn there_and_back(stage: &Stage) -> Result<String> {
    let steps: Vec<Value> = serde_json::from_slice(&read("tests/cases/round_trip.json")?)?;
    for step in &steps {
        let mut files = Map::new();
        files_of(step, &mut files)?;
        let said = stage.script(STEP, json!([step, files])).await.with_context(|| step.to_string())?;
        ensure!(said == "", "{step}: {said}");
    }
    let golden: Value = serde_json::from_slice(&read("tests/golden/study_file.json")?)?;
    let first = stage.script(SAVED, json!([])).await?;
    let pictures = |saved: &Value| -> Vec<Value> {
        let all = saved["findings"].as_array().into_iter().flatten();
        all.map(|one| json!([one["id"], one["picture"]["png"]])).collect()
    };
    let natively = golden["findings"].as_array().into_iter().flatten().map(|one| json!([one[0], one[2]]));
    ensure!(
        pictures(&first) == natively.collect::<Vec<_>>(),
        "the pictures of the findings are not those of the native test"
    );
    ensure!(
        first["sha256"] == golden["sha256"],
        "the file has {} bytes and the hash {}, natively {} and {}",
        first["bytes"],
        first["sha256"],
        golden["bytes"],
        golden["sha256"]
    );
    stage.script("await limner.reset()", json!([])).await?;
    let empty = stage
        .script("return [(await limner.maps()).length, (await limner.findings()).length]", json!([]))
        .await?;
    ensure!(empty == json!([0, 0]), "after the reset there are {empty}");
    stage.script("await limner.restore(e2e.study)", json!([])).await?;
    let second = stage.script(SAVED, json!([])).await?;
    ensure!(first == second, "the study that came back is another one");
    let made = stage.script("return limner.reproduce()", json!([])).await?;
    let made = made.as_array().context("nothing was computed again")?;
    let wrong: Vec<&Value> = made.iter().filter(|one| one["same"] != true).collect();
    ensure!(made.len() >= 20 && wrong.is_empty(), "{wrong:?}");
    Ok(format!("{} bytes, {} findings identical", first["bytes"], made.len()))
}
