//! The page starts, says what is wrong in words and codes, reads out what is under the pointer, takes dropped files, and
//! never reads foreign text as HTML.

use crate::report::Report;
use crate::stage::{Stage, carried, maps_of_example, repository};
use anyhow::{Context, Result, ensure};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde_json::{Value, json};

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "it becomes ready and has a version", ready).await;
    report.check(stage, "errors of calls have code, message and detail", errors).await;
    report.check(stage, "a question can be cancelled", cancelled).await;
    report.check(stage, "the pointer reads every map", pointer).await;
    report.check(stage, "files are dropped, and a bad one is told on the page", dropped).await;
    report.check(stage, "names and titles with HTML in them appear as text", html_is_text).await;
}

async fn ready(stage: &Stage) -> Result<String> {
    let version = stage.script("return limner.version", json!([])).await?;
    let version = version.as_str().unwrap_or_default().to_string();
    let is_version =
        version.split('.').count() == 3 && version.split('.').all(|part| part.parse::<u32>().is_ok());
    ensure!(is_version, "limner.version is {version:?}");
    let text = stage.browser.text().await?;
    ensure!(text.contains("Open the example"), "the empty page reads: {text}");
    Ok(version)
}

/// Calls that cannot be answered, with the code that each must give.
const WRONG_CALLS: [(&str, &str); 4] = [
    ("limner.map('nothing')", "unknown_map"),
    ("limner.picture({map: 'nothing'})", "unknown_map"),
    ("limner.picture({answer: 'nothing', show: 'classes'})", "answer_not_held"),
    ("limner.ask('ratio', {a: 'Fe K', b: 'nothing'})", "unknown_map"),
];

async fn errors(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    for (call, code) in WRONG_CALLS {
        let source = format!(
            "return {call}.then(() => null, ({{ code, message, detail }}) => ({{ code, message, detail }}))"
        );
        let thrown = stage.script(&source, json!([])).await?;
        ensure!(thrown["code"] == code, "{call} gives {thrown}, not {code}");
        let message = thrown["message"].as_str().unwrap_or_default();
        ensure!(message.ends_with('.') && thrown["detail"].is_string(), "{call} gives {thrown}");
    }
    Ok(format!("{} calls", WRONG_CALLS.len()))
}

async fn cancelled(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Ti-K"]).await?;
    let source = "const stop = new AbortController();
        const asked = limner.ask('apart', { a: 'Ti K', b: 'Fe K' }, { signal: stop.signal });
        while (!e2e.workers.some((worker) => worker.e2e_actions.has('load') && worker !== e2e.session())) {
          await new Promise((resolve) => setTimeout(resolve, 0));
        }
        stop.abort();
        return asked.then(() => 'answered', ({ code }) => code)";
    let end = stage.script(source, json!([])).await?;
    ensure!(end == "cancelled", "the call ended as {end}");
    let again = stage
        .script("return (await limner.ask('apart', { a: 'Ti K', b: 'Fe K' })).answer.sentence", json!([]))
        .await?;
    ensure!(again.as_str().is_some_and(|text| !text.is_empty()), "asked again, it says {again}");
    Ok(String::new())
}

async fn pointer(stage: &Stage) -> Result<String> {
    stage.example().await?;
    let canvas = stage.browser.web.find(thirtyfour::By::Css(".view-canvas")).await?;
    stage.browser.web.action_chain().move_to_element_center(&canvas).perform().await?;
    let count = "document.querySelectorAll('.view-value').length";
    stage.browser.wait(&format!("{count} === 1"), 10).await.context("the map in view alone")?;
    // of many maps the others are folded away
    let maps = maps_of_example()?;
    stage.browser.click(&format!("All {maps} maps")).await?;
    stage.browser.web.action_chain().move_to_element_center(&canvas).perform().await?;
    stage.browser.wait(&format!("{count} === {maps}"), 10).await?;
    let read = "return [...document.querySelectorAll('.view-value')].map((one) => [...one.children].map((part) => part.textContent))";
    let shown = stage.script(read, json!([])).await?;
    // what stands there is what the call says of the same pixel
    let text = stage.script("return document.querySelector('.view-place').textContent", json!([])).await?;
    let call = "return (await limner.read_out(150.5, 110.5)).values.map(({ label, text }) => [label, text])";
    let called = stage.script(call, json!([])).await?;
    ensure!(called.as_array().is_some_and(|list| list.len() == maps), "limner.read_out gives {called}");
    let labels = |list: &Value| -> Vec<String> {
        let mut all: Vec<String> =
            list.as_array().into_iter().flatten().map(|pair| pair[0].to_string()).collect();
        // The map that is shown stands first on the page.
        all.sort();
        all
    };
    ensure!(labels(&shown) == labels(&called), "{shown} is shown, {called} is called");
    let numbers = |list: &Value| {
        list.as_array()
            .into_iter()
            .flatten()
            .filter(|pair| pair[1].as_str().is_some_and(|t| t.contains(|c: char| c.is_ascii_digit())))
            .count()
    };
    ensure!(numbers(&shown) == maps, "not every map has a number: {shown}");
    Ok(text.as_str().unwrap_or_default().to_string())
}

async fn dropped(stage: &Stage) -> Result<String> {
    let demo = |name: &str| repository(&format!("demo-data/tern-sound/tern_{name}.tif"));
    let bad = stage.scratch.join("half_of_Cu-K.tif");
    std::fs::write(&bad, half(&std::fs::read(demo("Cu-K"))?))?;
    let list = [demo("Fe-K"), bad.clone(), demo("Pb-L")];
    let source = "const data = new DataTransfer();
        for (const { name, bytes } of e2e.files(args[0])) data.items.add(new File([bytes], name));
        for (const type of ['dragenter', 'dragover', 'drop']) {
          document.body.dispatchEvent(new DragEvent(type, { dataTransfer: data, bubbles: true, cancelable: true }));
        }";
    stage.script(source, json!([carried(&list)?])).await?;
    let maps = |count: usize| format!("document.querySelectorAll('.sheet-picture').length === {count}");
    stage.browser.wait(&maps(2), 20).await?;
    reads_notice(stage, "half_of_Cu-K.tif").await?;

    // a real drag over the window, as the browser itself makes it
    let path = demo("Hg-L").canonicalize()?;
    let data = json!({"items": [], "files": [path], "dragOperationsMask": 1});
    for kind in ["dragEnter", "dragOver", "drop"] {
        let event = json!({"type": kind, "x": 600, "y": 400, "data": data});
        stage.browser.command("Input.dispatchDragEvent", event).await?;
    }
    stage.browser.wait(&maps(3), 20).await?;
    Ok("by script, and by the browser's own drag".to_string())
}

/// The first half of a file.
pub fn half(bytes: &[u8]) -> &[u8] {
    &bytes[..bytes.len() / 2]
}

/// A notice of an error that names the file can be read on the page.
///
/// # Errors
/// There is none, or it is hidden.
pub async fn reads_notice(stage: &Stage, file: &str) -> Result<()> {
    let found = "[...document.querySelectorAll('.notice-error')].some((one) => one.checkVisibility() && one.innerText.includes(";
    stage.browser.wait(&format!("{found}{}))", json!(file)), 10).await.context("no notice on the page")
}

/// Would change the page if it were read as HTML, and its script would be noted as an error.
const HTML: &str = "<image src=x onerror=\"e2e.errors.push('image')\"><b id=intruder>Bold & \u{e9}</b>";

async fn html_is_text(stage: &Stage) -> Result<String> {
    let name = HTML.replace('/', "\u{2215}"); // no file name holds a slash
    let files = json!([
        {"name": format!("{name}.tif"), "base64": STANDARD.encode(tiff_titled(HTML))},
        {"name": format!("{name} 2.tif"), "base64": STANDARD.encode(tiff_titled(""))},
        {"name": format!("{name} 3.tif"), "base64": STANDARD.encode(half(&tiff_titled("")))},
    ]);
    let source = "await limner.open(e2e.files(args[0])); return limner.maps()";
    let maps = stage.script(source, json!([files])).await?;
    ensure!(maps.as_array().is_some_and(|list| list.len() == 2), "two maps should be open: {maps}");
    ensure!(maps[0]["title"] == HTML && maps[1]["file"] == format!("{name} 2.tif"), "changed: {maps}");
    stage.sees("\"map\"").await?;
    reads_notice(stage, &format!("{name} 3.tif")).await?;
    let text = stage.browser.text().await?;
    ensure!(text.contains(HTML), "the title does not appear as it is; the page reads: {text}");
    // the question's lists hold labels too
    stage.click(".sentence-setting").await?;
    stage.browser.wait("document.querySelector('.listbox') !== null", 5).await?;
    let intruders =
        stage.script("return document.querySelectorAll('#intruder, img').length", json!([])).await?;
    ensure!(intruders == 0, "{intruders} elements came from a name or a title");
    Ok(String::new())
}

/// A TIFF of 4 x 3 pixels of 16 bits with a page name, made by hand after the TIFF 6.0 specification.
fn tiff_titled(title: &str) -> Vec<u8> {
    let pixels: Vec<u8> = (1..=12u16).flat_map(u16::to_le_bytes).collect();
    let mut text = title.as_bytes().to_vec();
    text.push(0);
    text.resize(text.len().max(5), 0); // at most 4 bytes would have to stand in the entry itself
    let (count, start) = (9u16, 8 + 2 + 9 * 12 + 4);
    let long = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
    let page_name = (285u16, 2u16, long(text.len()), start);
    let entries = [
        (256, 3, 1, 4),
        (257, 3, 1, 3),
        (258, 3, 1, 16),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, start + long(text.len())),
        (278, 3, 1, 3),
        (279, 4, 1, 24),
        page_name,
    ];
    let mut file = b"II*\0\x08\0\0\0".to_vec();
    file.extend(count.to_le_bytes());
    for (tag, kind, length, value) in entries {
        file.extend(tag.to_le_bytes());
        file.extend(kind.to_le_bytes());
        file.extend(length.to_le_bytes());
        file.extend(value.to_le_bytes());
    }
    file.extend([0; 4]);
    file.extend(text);
    file.extend(pixels);
    file
}
