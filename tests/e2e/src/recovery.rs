//! A worker that dies takes nothing with it: the same pictures return, byte for byte, with names and step as they were set.

use crate::report::Report;
use crate::stage::{Stage, sha256};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "the worker is killed while pictures are made", killed).await;
    report.check(stage, "the worker is killed while it looks through the stack", killed_looking).await;
    report.check(stage, "the core traps", trapped).await;
    report.check(stage, "the core traps in the worker of a question", trapped_in_job).await;
}

/// Everything that must survive: hashes of three pictures and what the session says of itself.
#[derive(PartialEq, Debug)]
struct Kept {
    pictures: Vec<String>,
    state: Value,
}

/// Opens the example, changes it, and asks; leaves the settings of three pictures in the page.
async fn prepare(stage: &Stage) -> Result<Kept> {
    stage.part_of_example(&["Fe-K", "Hg-L", "Ti-K", "Zn-K"]).await?;
    let source = "const [zinc] = (await limner.maps()).filter(({ label }) => label === 'Zn K');
        await limner.set_map(zinc.id, { line: 'Sr K' });
        await limner.set_grid({ step_x_um: 250, step_y_um: 400 });
        const { answer } = await limner.ask('apart', { a: 'Ti K', b: 'Fe K' });
        e2e.pictures = [
          { lights: (await limner.lights([zinc.id, 'Fe K', 'Hg L'])).map(({ label, ...light }) => light) },
          { answer: answer.id, show: 'classes' },
          { map: 'Sr K', view: { x: 10, y: 10, width: 60, height: 40, out_width: 240 } },
        ];";
    stage.script(source, json!([])).await?;
    let kept = look(stage).await?;
    let unlike: std::collections::BTreeSet<&String> = kept.pictures.iter().collect();
    ensure!(unlike.len() == 3, "two of the pictures are the same");
    ensure!(kept.state["grid"]["step_y_um"] == 400.0, "the step was not set: {}", kept.state["grid"]);
    ensure!(kept.state["maps"].to_string().contains("\"Sr K\""), "the map was not renamed");
    Ok(kept)
}

async fn look(stage: &Stage) -> Result<Kept> {
    let mut pictures = Vec::new();
    for index in 0..3 {
        let source = "return (await limner.picture(e2e.pictures[args[0]])).rgba";
        let bytes = stage.browser.bytes(source, json!([index])).await;
        pictures.push(sha256(&bytes.with_context(|| format!("picture {index}"))?));
    }
    let source = "return { maps: await limner.maps(), photos: await limner.photos(), grid: await limner.grid(), record: await limner.record() }";
    Ok(Kept { pictures, state: stage.script(source, json!([])).await? })
}

/// The page says that it started the worker again, and everything is as before.
async fn is_back(stage: &Stage, before: &Kept) -> Result<()> {
    let told =
        "[...document.querySelectorAll('.notice')].some((one) => one.innerText.includes('started again'))";
    stage.browser.wait(told, 5).await.context("the page does not say that it started again")?;
    let after = look(stage).await?;
    ensure!(before.pictures == after.pictures, "pictures {:?} became {:?}", before.pictures, after.pictures);
    ensure!(before.state == after.state, "{} became {}", before.state, after.state);
    Ok(())
}

async fn killed(stage: &Stage) -> Result<String> {
    let before = prepare(stage).await?;
    let source = "const worker = e2e.session();
        const calls = e2e.pictures.map((settings) => limner.picture(settings));
        worker.terminate();
        const start = performance.now();
        e2e.after = await Promise.all(calls);
        return [performance.now() - start, worker !== e2e.session()]";
    let end = stage.script(source, json!([])).await?;
    ensure!(end[1] == true, "no new worker was made");
    for (index, wanted) in before.pictures.iter().enumerate() {
        let bytes = stage.browser.bytes("return e2e.after[args[0]].rgba", json!([index])).await?;
        ensure!(
            sha256(&bytes) == *wanted,
            "picture {index}, asked for when the worker was killed, is another"
        );
    }
    is_back(stage, &before).await?;
    Ok(format!("the open calls were answered after {:.1} s", end[0].as_f64().unwrap_or(f64::NAN) / 1000.0))
}

async fn killed_looking(stage: &Stage) -> Result<String> {
    let before = prepare(stage).await?;
    let source = "const worker = e2e.session();
        worker.e2e_actions.delete('inspect');
        const looking = limner.inspect();
        while (!worker.e2e_actions.has('inspect')) await new Promise((resolve) => setTimeout(resolve, 0));
        const picture = limner.picture(e2e.pictures[0]);
        worker.terminate();
        const start = performance.now();
        e2e.after = [await picture];
        await looking;
        return [performance.now() - start, worker !== e2e.session()]";
    let end = stage.script(source, json!([])).await?;
    ensure!(end[1] == true, "no new worker was made");
    let time = end[0].as_f64().context("no time")?;
    ensure!(time < 20_000.0, "the loss of the worker was noticed only after {time:.0} ms");
    is_back(stage, &before).await?;
    Ok(format!("back after {:.1} s", time / 1000.0))
}

async fn trapped(stage: &Stage) -> Result<String> {
    let before = prepare(stage).await?;
    let source = "const worker = e2e.session();
        const spoiled = await e2e.tell(worker, { spoil: true });
        const start = performance.now();
        const first = await limner.picture(e2e.pictures[0]).then(() => 'drawn', ({ code }) => code);
        await limner.picture(e2e.pictures[0]);
        return [spoiled, first, worker !== e2e.session(), performance.now() - start]";
    let end = stage.script(source, json!([])).await?;
    ensure!(end[0] == "spoiled", "the memory could not be spoiled: {end}");
    // the call that met the trap is given up, because it may be its cause; the next one finds everything again
    ensure!(end[1] == "core_stopped" && end[2] == true, "the trap was not noticed: {end}");
    is_back(stage, &before).await?;
    Ok(format!("back after {:.0} ms", end[3].as_f64().unwrap_or(f64::NAN)))
}

async fn trapped_in_job(stage: &Stage) -> Result<String> {
    let before = prepare(stage).await?;
    // the worker of the next question is spoiled as soon as it has loaded the core
    let source = "const session = e2e.session();
        const post = Worker.prototype.postMessage;
        Worker.prototype.postMessage = function (message, transfer) {
          if (message?.action === 'run') e2e.tell(this, { spoil: true });
          post.call(this, message, transfer);
        };
        const first = await limner.ask('ratio', { a: 'Ti K', b: 'Fe K' }).then(() => 'answered', ({ code }) => code);
        Worker.prototype.postMessage = post;
        const second = await limner.ask('ratio', { a: 'Ti K', b: 'Fe K' });
        return [first, second.answer.question, session === e2e.session()]";
    let end = stage.script(source, json!([])).await?;
    ensure!(end == json!(["core_stopped", "ratio", true]), "first, second, the same session: {end}");
    let after = look(stage).await?;
    ensure!(before == after, "{before:?} became {after:?}");
    Ok(String::new())
}
