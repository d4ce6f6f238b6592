//! The whole work with the keyboard alone: from opening the example over all eight questions, each kept, to one shared file; with
//! the number of keys that it takes.

use crate::answers::{answer_to, question};
use crate::found::year;
use crate::keyboard::{choose, open_example, tab_to, tab_to_button};
use crate::regions::{begin_polygon, far};
use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::json;
use thirtyfour::Key;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    let name = "the whole story by keys: eight questions, eight findings, one shared file";
    report.check_within(stage, name, std::time::Duration::from_secs(600), story).await;
}

/// Counts keys as they go down, and keeps the files that the page hands over.
const COUNT: &str = "e2e.keys = { all: 0, tab: 0 };
    e2e.handed = [];
    addEventListener('keydown', (event) => { e2e.keys.all += 1; e2e.keys.tab += event.key === 'Tab'; }, true);
    const hand_over = URL.createObjectURL;
    URL.createObjectURL = (blob) => { e2e.handed.push(blob); return hand_over(blob); };";

/// A triangle from the pointer's place, `right` tens of pixels wide, under this name.
async fn region(stage: &Stage, name: &str, moves: &[(Key, usize)]) -> Result<()> {
    begin_polygon(stage).await?;
    stage.browser.press(Key::Right).await?;
    for (key, tens) in moves {
        far(stage, key.clone(), *tens).await?;
    }
    stage.browser.press(" ").await?;
    far(stage, Key::Right, 2).await?;
    stage.browser.press(" ").await?;
    far(stage, Key::Down, 2).await?;
    stage.browser.press(" ").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.region-name')", 10).await.context("its name")?;
    stage.browser.press(name).await?;
    stage.browser.press(Key::Enter).await?;
    let made = format!("(await limner.regions()).some((one) => one.name === {})", json!(name));
    stage.browser.wait(&made, 10).await.with_context(|| format!("there is no region {name}"))
}

/// Keeps the answer under the title that is proposed.
async fn keep(stage: &Stage, count: usize) -> Result<()> {
    let done = "document.querySelector('.answer-keep')?.checkVisibility() && document.querySelector('.ask-progress').hidden";
    stage.browser.wait(done, 120).await.context("the answer is not there to be kept")?;
    // In a field of the sentence a letter is a letter.
    let in_field = stage.script("return document.activeElement.matches('input')", json!([])).await? == true;
    if in_field {
        tab_to(stage, ".answer-keep").await?;
        stage.browser.press(Key::Enter).await?;
    } else {
        stage.browser.press("k").await?;
    }
    let kept = format!("(await limner.findings()).length === {count}");
    stage.browser.wait(&kept, 20).await.with_context(|| format!("finding {count} is not kept"))?;
    stage.browser.wait("document.activeElement?.matches('.keeping-title')", 20).await.context("no title")?;
    stage.browser.press(Key::Enter).await?;
    Ok(())
}

async fn story(stage: &Stage) -> Result<String> {
    stage.script(COUNT, json!([])).await?;
    open_example(stage).await?;
    region(stage, "Compass", &[]).await?;
    region(stage, "Land", &[(Key::Left, 8)]).await?;
    let asked: [(&str, &[(&str, &str)]); 7] = [
        ("faint", &[("map", "Co K"), ("region", "Compass")]),
        ("together", &[("a", "Cu K"), ("b", "Zn K")]),
        ("apart", &[("a", "Fe K"), ("b", "Mn K")]),
        ("ratio", &[("a", "Pb L"), ("b", "Hg L")]),
        ("regions", &[]),
        ("materials", &[("region", "Compass")]),
        ("covered", &[("region", "Compass"), ("against", "Land")]),
    ];
    for (place, (key, words)) in asked.iter().enumerate() {
        question(stage, key).await?;
        for (setting, label) in *words {
            choose(stage, setting, label).await.with_context(|| format!("{key}: {setting}"))?;
        }
        answer_to(stage, key).await?;
        // The answer to what the sentence said before its last word was chosen may still stand there.
        let labels: Vec<&str> = words.iter().map(|(_, label)| *label).collect();
        let of_these = format!(
            "{}.every((one) => [...document.querySelectorAll('.answer-used dd')].some(({{ textContent }}) => textContent === one))",
            json!(labels)
        );
        stage
            .browser
            .wait(&of_these, 60)
            .await
            .with_context(|| format!("{key}: no answer about {labels:?}"))?;
        keep(stage, place + 1).await.with_context(|| (*key).to_string())?;
    }
    question(stage, "dates").await?;
    year(stage, "from", "1640").await?;
    year(stage, "to", "1670").await?;
    answer_to(stage, "dates").await?;
    keep(stage, 8).await?;
    tab_to(stage, "[data-column='findings']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.querySelector('.findings').checkVisibility()", 5).await?;
    let label = "return [...document.querySelectorAll('.hand-go')].map((one) => one.textContent)";
    let labels = stage.script(label, json!([])).await?;
    let share = labels
        .as_array()
        .into_iter()
        .flatten()
        .filter_map(|one| one.as_str())
        .find(|one| one.contains("hare"));
    tab_to_button(stage, share.with_context(|| format!("nothing shares: {labels}"))?).await?;
    stage.browser.press(Key::Enter).await?;
    let shared = "e2e.handed.some((blob) => blob.type === 'text/html')";
    stage.browser.wait(shared, 120).await.context("no file to share came")?;
    let end = "const blob = e2e.handed.find(({ type }) => type === 'text/html');
        const questions = (await limner.findings()).map(({ question }) => question);
        return [blob.size, e2e.keys.all, e2e.keys.tab, new Set(questions).size]";
    let end = stage.script(end, json!([])).await?;
    ensure!(end[3] == 8, "kept are answers to {} questions", end[3]);
    ensure!(end[0].as_u64() > Some(1_000_000), "the file has {} bytes", end[0]);
    Ok(format!("{} keys, of these {} times Tab; the file has {} bytes", end[1], end[2], end[0]))
}
