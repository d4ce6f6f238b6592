//! A copy of the page with the study in it: alone from disk it is alive and asks for nothing; copied again it is the same; what was left
//! out of it is gone; and a link opens a study beside the page, and nothing else.

use crate::report::Report;
use crate::stage::{Form, Stage, carried, maps_of_example, repository};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report
        .check(stage, "a shared copy is alive without a network, and a copy of it is the same", alive)
        .await;
    report.check(stage, "a copy with the findings alone is small and shows them", findings_only).await;
    report.check(stage, "what is left out of a copy is nowhere in it", left_out).await;
    report.check(stage, "a link opens a study beside the page, and nothing else", link).await;
}

/// What is kept before something is shared: an answer with its picture, a view, a note.
const KEEP: &str = "
    const { answer } = await limner.ask('apart', { a: 'Ti K', b: 'Fe K' });
    await limner.keep(answer.id, { title: 'Titanium alone', note: 'Seen by the restorer.' });
    await limner.keep(null, { title: 'Iron and lead', picture: { lights: [{ map: 'Fe K' }, { map: 'Pb L' }] } });
    await limner.set_about({ object: 'Panel of the canary', number: 'CANARY-17' });";

/// Makes a copy, writes it to disk and gives its address. The size that was said before is the size that it has.
async fn copy(stage: &Stage, options: Value, name: &str) -> Result<(PathBuf, Vec<u8>)> {
    let said = stage.script("return limner.share_size(args[0])", json!([options])).await?;
    let body = "const copy = await limner.share(args[0]); return new Uint8Array(await copy.arrayBuffer())";
    let bytes = stage.browser.bytes(body, json!([options])).await?;
    let is_whole = options == json!({});
    if is_whole {
        ensure!(said["bytes"] == bytes.len(), "{said} was said, it has {} bytes", bytes.len());
    }
    let file = stage.scratch.join(format!("{name}-{}.html", stage.form.name().replace(' ', "-")));
    std::fs::write(&file, &bytes)?;
    Ok((file, bytes))
}

/// Opens a copy from disk; whatever it asks of the network is heard from its beginning.
async fn open(stage: &Stage, file: &Path) -> Result<f64> {
    stage.browser.web.goto("about:blank").await?;
    stage.proxy.clear();
    stage.browser.open(&format!("file://{}", file.display())).await
}

async fn alive(stage: &Stage) -> Result<String> {
    stage.example().await?;
    stage.script(KEEP, json!([])).await?;
    let before =
        stage.script("return (await limner.findings()).map(({ sentence }) => sentence)", json!([])).await?;
    let (file, bytes) = copy(stage, json!({}), "copy").await?;
    // A copy is the one-file form, wherever it was made.
    let other = stage.scratch.join("copy-one-file.html");
    if stage.form == Form::Site && other.exists() {
        ensure!(std::fs::read(&other)? == bytes, "made from the site, the copy is another");
    }
    ensure!(!bytes.windows(18).any(|part| part == b"connect-src 'self'"), "the copy may connect");

    let seconds = open(stage, &file).await?;
    let maps = maps_of_example()?;
    let all = format!("document.querySelectorAll('.sheet-picture').length === {}", maps + 1);
    stage.browser.wait(&all, 60).await.context("the copy does not open its study")?;
    stage.looked_through().await?;
    stage.sees("\"map\"").await?;
    let said = stage.script("return document.querySelector('.top-bar').innerText", json!([])).await?;
    ensure!(said.as_str().is_some_and(|text| text.contains("A copy")), "the top reads {said}");
    let offers =
        stage.script("return document.body.innerText.includes('Open the example')", json!([])).await?;
    ensure!(offers == false, "a copy offers the example");
    // pan, lights, ask, read-out
    let look = "return e2e.look(e2e.views()[0])";
    let first = stage.script(look, json!([])).await?;
    stage.script("e2e.views()[0].focus()", json!([])).await?;
    for keys in ["+", "+", "l"] {
        stage.browser.press(keys).await?;
    }
    stage.pause().await;
    ensure!(stage.script(look, json!([])).await? != first, "the picture does not move");
    for label in ["Fe K", "Pb L"] {
        stage.click(&format!("[aria-label='{label} as a light']")).await?;
    }
    stage.sees("\"lights\"").await?;
    let sentence = stage.ask("ratio", &[("a", "Ti K"), ("b", "Fe K")]).await?;
    ensure!(!sentence.is_empty(), "no answer");
    let read = stage.script("return (await limner.read_out(150.5, 110.5)).values.length", json!([])).await?;
    ensure!(read == maps, "the read-out has {read} values");
    let now =
        stage.script("return (await limner.findings()).map(({ sentence }) => sentence)", json!([])).await?;
    ensure!(now == before, "findings: {before} became {now}");
    let lines = stage.proxy.lines();
    ensure!(lines.is_empty(), "the copy asked for {lines:?}");
    // asked and looked at, nothing of the study has changed
    let (_, again) = copy(stage, json!({}), "copy-of-copy").await?;
    ensure!(again == bytes, "the copy of the copy differs: {} and {} bytes", again.len(), bytes.len());
    Ok(format!("{:.1} MB, ready after {seconds:.1} s", bytes.len() as f64 / 1e6))
}

async fn findings_only(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Ti-K", "Pb-L"]).await?;
    stage.script(KEEP, json!([])).await?;
    let (whole, _) = copy(stage, json!({}), "whole").await?;
    let (file, bytes) = copy(stage, json!({"findings_only": true}), "findings").await?;
    let page = std::fs::metadata(repository("dist/limner.html"))?.len();
    let whole = std::fs::metadata(whole)?.len();
    ensure!((bytes.len() as u64) < whole.min(page), "it has {} bytes, the whole {whole}", bytes.len());
    open(stage, &file).await?;
    stage.browser.wait("document.documentElement.dataset.begin === ''", 30).await?;
    let seen = stage.script("return [await limner.maps(), (await limner.findings()).map(({ title, changed, can_renew }) => [title, changed.length, can_renew]), (await limner.record()).left_out]", json!([])).await?;
    ensure!(
        seen == json!([[], [["Titanium alone", 0, false], ["Iron and lead", 0, false]], ["maps"]]),
        "the copy holds {seen}"
    );
    let picture = stage.script("return (await limner.finding('f1')).picture.size", json!([])).await?;
    ensure!(picture.as_u64().is_some_and(|size| size > 1000), "the picture has {picture} bytes");
    let text = stage.browser.text().await?;
    ensure!(
        text.contains("Titanium alone") && text.contains("A copy without maps"),
        "the page reads: {text}"
    );
    stage.browser.screenshot(&stage.scratch.join(format!("findings-{}.png", stage.form.name()))).await?;
    Ok(format!("{:.2} MB of {:.2} MB", bytes.len() as f64 / 1e6, whole as f64 / 1e6))
}

async fn left_out(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Ti-K", "Pb-L"]).await?;
    stage.script(KEEP, json!([])).await?;
    let words = ["photo", "file names", "notes", "coordinates", "object"];
    let progress = "const seen = []; await limner.share(args[0], { on_progress: ({ fraction }) => seen.push(fraction) });
        return [seen.length > 3, seen.every((one, at) => one >= (seen[at - 1] ?? 0)), seen.at(-1)]";
    let seen = stage.script(progress, json!([{"leave_out": words}])).await?;
    ensure!(seen == json!([true, true, 1]), "progress: {seen}");
    let stopped = "const stop = new AbortController();
        return limner.share(args[0], { signal: stop.signal, on_progress: () => stop.abort() }).then(() => 'made', ({ code }) => code)";
    let end = stage.script(stopped, json!([{"leave_out": words}])).await?;
    ensure!(end == "cancelled", "stopped, it ended as {end}");
    let (file, bytes) = copy(stage, json!({"leave_out": words}), "less").await?;
    open(stage, &file).await?;
    stage.browser.wait("document.querySelectorAll('.sheet-picture').length === 3", 30).await?;
    // all that the copy has, and the study file that it would save
    let all = "const parts = [await limner.record(), await limner.maps(), await limner.photos(), await limner.findings(), await limner.finding('f1'), await limner.about()];
        const study = new Uint8Array(await (await limner.save()).arrayBuffer());
        let raw = ''; for (let at = 0; at < study.length; at += 30000) raw += String.fromCharCode(...study.subarray(at, at + 30000));
        return JSON.stringify(parts) + raw";
    let held = stage.script(all, json!([])).await?;
    let held = held.as_str().context("no text")?;
    for secret in ["tern_", "photo.png", "restorer", "canary", "CANARY"] {
        ensure!(!held.contains(secret), "{secret} is still in the copy");
    }
    let findings = stage
        .script("return (await limner.findings()).map(({ changed }) => changed.length)", json!([]))
        .await?;
    ensure!(findings == json!([0, 0]), "findings: {findings}");
    let same = stage
        .script("return (await limner.reproduce()).map(({ same, text }) => same || text)", json!([]))
        .await?;
    ensure!(same == json!([true, true]), "computed again: {same}");
    let top = stage.script("return document.querySelector('.top-bar').innerText", json!([])).await?;
    ensure!(
        top.as_str().is_some_and(
            |text| text.contains("A copy without photo, file names, notes, coordinates and object")
        ),
        "the top reads {top}"
    );
    stage.browser.screenshot(&stage.scratch.join(format!("less-{}.png", stage.form.name()))).await?;
    Ok(format!("{:.2} MB", bytes.len() as f64 / 1e6))
}

/// Written beside the site's page while the check runs.
struct Beside(Vec<PathBuf>);

impl Drop for Beside {
    fn drop(&mut self) {
        for file in &self.0 {
            // one that was never written is not there
            let _ = std::fs::remove_file(file);
        }
    }
}

async fn link(stage: &Stage) -> Result<String> {
    let notice = "[...document.querySelectorAll('.notice-error')].map((one) => one.innerText).join(' | ')";
    let told = async |path: &str| -> Result<String> {
        stage.browser.web.goto("about:blank").await?;
        stage.proxy.clear();
        stage.browser.open(&format!("{}#study={path}", stage.url)).await?;
        stage
            .browser
            .wait(&format!("{notice} !== ''"), 20)
            .await
            .with_context(|| format!("nothing is told of {path}"))?;
        let text = stage.script(&format!("return {notice}"), json!([])).await?;
        Ok(text.as_str().unwrap_or_default().to_owned())
    };
    if stage.form == Form::OneFile {
        let text = told("a.zip").await?;
        ensure!(text.contains("connects to nothing"), "told: {text}");
        return Ok("from disk it says why not".into());
    }
    let site = repository("dist/site");
    let files = Beside(vec![site.join("e2e-study.zip"), site.join("e2e-other.zip")]);
    let paths =
        [repository("demo-data/tern-sound/tern_Fe-K.tif"), repository("demo-data/tern-sound/tern_Ti-K.tif")];
    stage.script("await limner.open(e2e.files(args[0]))", json!([carried(&paths)?])).await?;
    let study = "return new Uint8Array(await (await limner.save()).arrayBuffer())";
    std::fs::write(&files.0[0], stage.browser.bytes(study, json!([])).await?)?;
    std::fs::write(&files.0[1], b"PK\x03\x04 and nothing more")?;

    stage.browser.web.goto("about:blank").await?;
    stage.proxy.clear();
    stage.browser.open(&format!("{}#study=e2e-study.zip", stage.url)).await?;
    stage.browser.wait("document.querySelectorAll('.sheet-picture').length === 2", 30).await?;
    stage.pause().await;
    let wanted = ["", "e2e-study.zip"].map(|path| format!("GET {}{path} HTTP/1.1", stage.url));
    ensure!(stage.proxy.lines() == wanted, "the proxy heard {:?}", stage.proxy.lines());
    ensure!(stage.browser.complaints().await?.is_empty(), "the page complains");

    let page = format!("GET {} HTTP/1.1", stage.url);
    // A way up from the root of a site is the root again, so that it is not among them; the page's units try it below the root.
    for path in ["http://canary.invalid/a.zip", "//canary.invalid/a.zip", "%2f%2fcanary.invalid%2fa.zip"] {
        let text = told(path).await?;
        ensure!(text.contains("own folder"), "{path}: {text}");
        ensure!(stage.proxy.lines() == [page.clone()], "{path} made the requests {:?}", stage.proxy.lines());
    }
    let text = told("e2e-other.zip").await?;
    ensure!(!text.is_empty(), "a file that is no study");
    let missing = told("e2e-missing.zip").await?;
    ensure!(missing.contains("is not there"), "told: {missing}");
    // what is not there is noted by the browser as well
    stage.fresh().await?;
    Ok(format!("another file: {text}"))
}
