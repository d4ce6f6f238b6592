//! Nothing leaves the page: no request by what it does, none by what it might be made to do, and the same proxy does hear a
//! page that asks.

use crate::report::Report;
use crate::stage::{Form, Stage, carried, repository};
use anyhow::{Context, Result, ensure};
use serde_json::json;
use std::collections::BTreeSet;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "no request while the page is used", used).await;
    report.check(stage, "the policy refuses every way out of page and worker", refused).await;
    report.check(stage, "the proxy hears a page and a worker that do ask (control)", heard).await;
}

async fn used(stage: &Stage) -> Result<String> {
    // the loading itself, heard from its beginning
    stage.proxy.clear();
    stage.browser.open(&stage.url).await?;
    stage.pause().await;
    let loading = stage.proxy.lines();
    let wanted = match stage.form {
        Form::OneFile => vec![],
        Form::Site => vec![format!("GET {} HTTP/1.1", stage.url)],
    };
    ensure!(loading == wanted, "loading made the requests {loading:?}");
    stage.proxy.clear();

    stage.browser.click("Open the example").await?;
    stage.example_has_come().await?;
    for label in ["Fe K", "Pb L"] {
        stage.click(&format!("[aria-label='{label} as a light']")).await?;
    }
    stage.sees("\"lights\"").await?;
    stage.ask("ratio", &[("a", "Ti K"), ("b", "Fe K")]).await?;
    stage.sees("count_ratio").await?;
    stage.ask("apart", &[]).await?;
    stage.sees("classes").await?;
    let more =
        [repository("demo-data/tern-sound/photo.png"), repository("demo-data/tern-sound/tern_Zn-K.tif")];
    stage
        .script(
            "await limner.open(e2e.files(args[0])); await limner.read_out(10, 10)",
            json!([carried(&more)?]),
        )
        .await?;
    stage.pause().await;
    let after = stage.proxy.lines();
    ensure!(after.is_empty(), "using the page made the requests {after:?}");
    Ok(format!("{} to load, none after", loading.len()))
}

/// Tries every way out that a script has.
const WAYS: &str = include_str!("ways.js");

async fn refused(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    let ends = stage.script(WAYS, json!([[]])).await?;
    let ends = ends.as_object().context("no list of ways")?;
    let through: Vec<&String> =
        ends.iter().filter(|(_, end)| *end != "refused").map(|(name, _)| name).collect();
    ensure!(through.is_empty(), "these got through: {through:?}");
    stage.pause().await;
    let lines = stage.proxy.lines();
    ensure!(lines.is_empty(), "the refused ways made requests: {lines:?}");
    let complaints = stage.browser.complaints().await?;
    ensure!(
        complaints.iter().any(|one| one.contains("connect-src")),
        "no violation was told: {complaints:?}"
    );
    if stage.form == Form::Site {
        // the worker's listener does work, so that its refusal above was the policy's: its own site answers and is heard
        let own = format!("{}?from-the-worker", stage.url);
        let end = stage.script("return e2e.tell(e2e.session(), { reach: args[0] })", json!([own])).await?;
        ensure!(end == "answered", "the page's own site was {end} to the worker");
        let lines = stage.proxy.lines();
        ensure!(lines == [format!("GET {own} HTTP/1.1")], "the proxy heard {lines:?}");
        stage.proxy.clear();
    }
    // the refused elements and complaints are of this check's own making
    stage.fresh().await?;
    Ok(format!("{} ways", ends.len()))
}

/// The same listener in a worker of a page without any policy.
const CONTROL: &str = r#"<!doctype html><title>control</title><p>Without a policy.
<script>
const source = "addEventListener('message', () => {})";
const worker = new Worker(URL.createObjectURL(new Blob([source], { type: "text/javascript" })));
worker.e2e_actions.add("maps");
</script>"#;

async fn heard(stage: &Stage) -> Result<String> {
    let file = stage.scratch.join("control.html");
    std::fs::write(&file, CONTROL)?;
    stage.browser.web.goto(format!("file://{}", file.display())).await?;
    stage.proxy.clear();
    stage.script(WAYS, json!([["form"]])).await?;
    let last = "await fetch('https://secure.canary.invalid/').catch(() => null);
        const form = Object.assign(document.createElement('form'), { action: 'http://form.canary.invalid/', method: 'post' });
        document.body.append(form);
        setTimeout(() => form.submit(), 0);";
    stage.script(last, json!([])).await?;
    // all that is refused above, but for the worker from another address: no browser makes one, whatever the policy
    let got = [
        "fetch", "xhr", "events", "image", "style", "prefetch", "script", "frame", "media", "evaluate",
        "inside",
    ];
    let wanted = got.iter().map(|name| format!("GET http://{name}.canary.invalid/ HTTP/1.1"));
    let posted = ["beacon", "form"].map(|name| format!("POST http://{name}.canary.invalid/ HTTP/1.1"));
    let connected =
        ["secure.canary.invalid:443", "socket.canary.invalid:80"].map(|at| format!("CONNECT {at} HTTP/1.1"));
    let wanted: BTreeSet<String> = wanted.chain(posted).chain(connected).collect();
    // some of these wait until the browser has nothing better to do
    let mut heard = BTreeSet::new();
    for _ in 0..20 {
        stage.pause().await;
        heard = stage.proxy.lines().into_iter().collect();
        if heard == wanted {
            break;
        }
    }
    ensure!(heard == wanted, "the proxy heard {heard:?}, not {wanted:?}");
    stage.fresh().await?;
    Ok(format!("{} requests", heard.len()))
}
