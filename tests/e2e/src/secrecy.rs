//! Nothing leaves the page: no request by what it does, none by what it might be made to do, and the same proxy does hear a
//! page that asks.

use crate::report::Report;
use crate::stage::{Form, Stage, carried, repository};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
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
    stage.sees("\"map\"").await?;
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

/// Ways in which a script might reach another machine. Each gives text that says whether it got through.
const WAYS: &str = r#"
const at = (name) => `http://${name}.canary.invalid/`;
const fail = (make) => new Promise((resolve) => {
  const element = make();
  element.onload = () => resolve("answered");
  element.onerror = () => resolve("refused");
  document.head.append(element);
});
const make = (tag, props) => () => Object.assign(document.createElement(tag), props);
const attempt = async (run) => { try { return await run(); } catch { return "refused"; } };
const ways = {
  fetch: () => fetch(at("fetch"), { mode: "no-cors" }).then(() => "answered"),
  xhr: () => new Promise((resolve) => {
    const request = new XMLHttpRequest();
    request.onload = () => resolve("answered");
    request.onerror = () => resolve("refused");
    request.open("GET", at("xhr"));
    request.send();
  }),
  beacon: () => (navigator.sendBeacon(at("beacon"), "x"), "refused"),
  websocket: () => new Promise((resolve) => {
    const socket = new WebSocket("ws://socket.canary.invalid/");
    socket.onopen = () => resolve("answered");
    socket.onerror = () => resolve("refused");
  }),
  events: () => new Promise((resolve) => {
    const source = new EventSource(at("events"));
    source.onopen = () => resolve("answered");
    source.onerror = () => { source.close(); resolve("refused"); };
  }),
  image: () => fail(make("img", { src: at("image") })),
  style: () => fail(make("link", { rel: "stylesheet", href: at("style") })),
  prefetch: () => (document.head.append(make("link", { rel: "prefetch", href: at("prefetch") })()), "refused"),
  script: () => fail(make("script", { src: at("script") })),
  frame: () => (document.body.append(make("iframe", { src: at("frame") })()), "refused"),
  media: () => fail(make("audio", { src: at("media"), preload: "auto" })),
  worker: () => (new Worker(at("worker")), "answered"),
  evaluate: () => (0, eval)(`fetch("${at("evaluate")}").then(() => "answered")`),
  form: () => {
    const form = make("form", { action: at("form"), method: "post", target: "_self" })();
    document.body.append(form);
    form.submit();
    return "refused";
  },
};
const ends = {};
for (const [name, run] of Object.entries(ways)) ends[name] = await attempt(run);
ends.in_worker = await e2e.tell(e2e.session(), { reach: at("inside") });
return ends;
"#;

async fn refused(stage: &Stage) -> Result<String> {
    stage.example().await?;
    let ends = stage.script(WAYS, json!([])).await?;
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
    let source = "const ends = [];
        for (const url of args[0]) ends.push(await fetch(url, { mode: 'no-cors' }).then(() => 'answered', () => 'refused'));
        ends.push(await e2e.tell(e2e.session(), { reach: args[1] }));
        new Image().src = args[2];
        return ends";
    let [plain, secure, inside, image] = ["http://plain", "https://secure", "http://inside", "http://image"]
        .map(|host| format!("{host}.canary.invalid/"));
    let ends = stage.script(source, json!([[plain, secure], inside, image])).await?;
    // the proxy answers 502, which a page that does not look calls an answer; it opens no secure connection at all
    ensure!(ends == json!(["answered", "refused", "answered"]), "the control page says {ends}");
    stage.pause().await;
    let heard: BTreeSet<String> = stage.proxy.lines().into_iter().collect();
    let wanted = [
        format!("GET {plain} HTTP/1.1"),
        "CONNECT secure.canary.invalid:443 HTTP/1.1".to_string(),
        format!("GET {inside} HTTP/1.1"),
        format!("GET {image} HTTP/1.1"),
    ];
    ensure!(heard == BTreeSet::from(wanted), "the proxy heard {heard:?}");
    let complaints: Vec<Value> = stage.browser.complaints().await?.into_iter().map(Value::from).collect();
    ensure!(complaints.iter().all(|one| one.to_string().contains("canary.invalid")), "{complaints:?}");
    stage.fresh().await?;
    Ok(format!("{} requests", heard.len()))
}
