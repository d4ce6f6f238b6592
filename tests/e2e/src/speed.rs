//! How large the file is and how long it takes. The size is a check; times depend on the machine and are only told.

use crate::report::Report;
use crate::stage::{Form, Stage, repository};
use anyhow::{Context, Result, ensure};
use serde_json::json;

/// Bytes of the one file without the example. It carries the core with its readers of files, the names of all lines and the
/// letters of saved pictures, packed and then as base64.
const LARGEST: usize = 5_500_000;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    if stage.form == Form::OneFile {
        report.check(stage, "without the example the file is no larger than 5.5 MB", size).await;
    }
    report
        .check(stage, "time from opening the page to the first picture of the example", first_picture)
        .await;
    report.check(stage, "times of calls on the example", calls).await;
}

async fn size(_: &Stage) -> Result<String> {
    let page = std::fs::read_to_string(repository("dist/limner.html"))?;
    let (_, after) = page.split_once("id=\"demo-base64\">").context("the page holds no example")?;
    let demo = after.split_once("</script>").context("the example does not end")?.0.len();
    ensure!(demo > 100_000, "the example has only {demo} bytes");
    let rest = page.len() - demo;
    ensure!(rest <= LARGEST, "{rest} bytes without the example");
    Ok(format!("{rest} bytes, and {demo} of the example"))
}

/// Asks for the example as soon as the page's script has run, and notes when its picture stands in the view, in ms since the
/// navigation began.
const HURRY: &str = r#"addEventListener("DOMContentLoaded", () => {
  e2e.parsed = performance.now();
  limner.open_demo();
  const look = () => {
    if (!e2e.ready && document.documentElement.dataset.state === "ready") e2e.ready = performance.now();
    if (document.querySelector(".view-canvas")?.dataset.shown) e2e.first_picture = performance.now();
    else requestAnimationFrame(look);
  };
  look();
});"#;

async fn first_picture(stage: &Stage) -> Result<String> {
    let script =
        stage.browser.command("Page.addScriptToEvaluateOnNewDocument", json!({"source": HURRY})).await?;
    let mut runs = Vec::new();
    for _ in 0..5 {
        stage.browser.web.goto("about:blank").await?;
        stage.browser.open(&stage.url).await?;
        stage.browser.wait("e2e.first_picture", 30).await?;
        let times = stage.script("return [e2e.parsed, e2e.ready, e2e.first_picture]", json!([])).await?;
        runs.push([0, 1, 2].map(|part| times[part].as_f64().unwrap_or(f64::NAN)));
    }
    stage
        .browser
        .command("Page.removeScriptToEvaluateOnNewDocument", json!({"identifier": script["identifier"]}))
        .await?;
    stage.fresh().await?;
    let middle = |part: usize| {
        let mut list: Vec<f64> = runs.iter().map(|run| run[part]).collect();
        list.sort_by(f64::total_cmp);
        list[list.len() / 2]
    };
    ensure!(middle(2).is_finite(), "no time was measured");
    Ok(format!(
        "{:.0} ms (page parsed {:.0}, core ready {:.0}; middle of {} runs)",
        middle(2),
        middle(0),
        middle(1),
        runs.len()
    ))
}

/// Calls that are timed, each the middle of several runs.
const CALLS: [(&str, &str); 5] = [
    (
        "overlay of three maps",
        "limner.picture({ lights: [{ map: 'Fe K' }, { map: 'Pb L' }, { map: 'Hg L' }] })",
    ),
    (
        "one map at 1200 px",
        "limner.picture({ map: 'Fe K', view: { x: 0, y: 0, width: 300, height: 220, out_width: 1200 } })",
    ),
    ("read-out", "limner.read_out(140, 100)"),
    ("apart", "limner.ask('apart', { a: 'Ti K', b: 'Fe K' })"),
    ("ratio", "limner.ask('ratio', { a: 'Ti K', b: 'Fe K' })"),
];

async fn calls(stage: &Stage) -> Result<String> {
    stage.example().await?;
    let mut told = Vec::new();
    for (name, call) in CALLS {
        let source = format!(
            "const times = [];
             for (let run = 0; run < 7; run += 1) {{
               const start = performance.now();
               await {call};
               times.push(performance.now() - start);
             }}
             return times.sort((a, b) => a - b)[3]"
        );
        let time = stage.script(&source, json!([])).await.with_context(|| name.to_string())?;
        told.push(format!("{name} {:.1} ms", time.as_f64().context("no time")?));
    }
    Ok(told.join(", "))
}
