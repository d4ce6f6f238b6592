//! Two and four views show the same part of their maps, whichever of them is moved, and point at the same pixel.

use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use std::collections::BTreeSet;
use thirtyfour::prelude::*;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "two and four views move and point together", together).await;
}

async fn together(stage: &Stage) -> Result<String> {
    stage.example().await?;
    for views in [2_usize, 4] {
        stage.browser.click(&format!("{views} views")).await?;
        together_in(stage, views).await.with_context(|| format!("{views} views"))?;
        stage.browser.click("Fit").await?;
    }
    let text = stage.script("return document.querySelector('.view-place').textContent", json!([])).await?;
    Ok(text.as_str().unwrap_or_default().to_string())
}

async fn together_in(stage: &Stage, views: usize) -> Result<()> {
    let shown = format!(
        "e2e.views().length === {views} && new Set(e2e.views().map((one) => one.dataset.shown)).size === {views} && e2e.views().every((one) => one.dataset.shown)"
    );
    stage.browser.wait(&shown, 20).await.context("not every view shows a map of its own")?;
    stage.pause().await;
    let start = windows(stage, views).await?;

    // nearer by keys in the last view, then dragged in the first
    let canvases = stage.browser.web.find_all(By::Css(".view-canvas")).await?;
    let mut seen = Vec::new();
    for canvas in canvases {
        if canvas.is_displayed().await? {
            seen.push(canvas);
        }
    }
    ensure!(seen.len() == views, "{} canvases are displayed", seen.len());
    let last = seen.last().context("no view")?;
    last.click().await?;
    stage.browser.press("++").await?;
    stage.pause().await;
    let nearer = windows(stage, views).await?;
    ensure!(nearer["width"].as_f64() < start["width"].as_f64(), "{start} did not become smaller: {nearer}");
    let before = looks(stage).await?;
    let chain = stage.browser.web.action_chain().move_to_element_center(&seen[0]).click_and_hold();
    chain.move_by_offset(40, 25).release().perform().await?;
    stage.pause().await;
    let moved = windows(stage, views).await?;
    ensure!(
        moved["x"].as_f64() < nearer["x"].as_f64() && moved["y"].as_f64() < nearer["y"].as_f64(),
        "dragged to the right and down, {nearer} became {moved}"
    );
    ensure!(moved["width"] == nearer["width"], "dragging changed the size: {nearer} became {moved}");
    let after = looks(stage).await?;
    ensure!(before.iter().zip(&after).all(|(one, other)| one != other), "a view did not move with the first");

    // pointed at in the last, the others show where
    stage
        .browser
        .web
        .action_chain()
        .move_to_element_center(&stage.browser.web.find(By::Css(".top-bar")).await?)
        .perform()
        .await?;
    stage.pause().await;
    let away = looks(stage).await?;
    stage.browser.web.action_chain().move_to_element_with_offset(last, 12, 9).perform().await?;
    let read = format!("document.querySelectorAll('.view-value').length === {views}");
    stage.browser.wait(&read, 10).await.context("the read-out")?;
    stage.pause().await;
    let pointed = looks(stage).await?;
    let changed: Vec<bool> = away.iter().zip(&pointed).map(|(one, other)| one != other).collect();
    let (own, others) = changed.split_last().context("no view")?;
    ensure!(!own && others.iter().all(|&one| one), "pointed at in the last view, these change: {changed:?}");
    let place = stage.script("return document.querySelector('.view-place').textContent", json!([])).await?;
    ensure!(place.as_str().is_some_and(|text| text.chars().any(|c| c.is_ascii_digit())), "it reads {place}");
    Ok(())
}

/// Hashes of what the views show.
async fn looks(stage: &Stage) -> Result<Vec<String>> {
    let found = stage.script("return e2e.views().map(e2e.look)", json!([])).await?;
    Ok(found.as_array().into_iter().flatten().map(Value::to_string).collect())
}

/// The window in which the maps of all views were last asked for: one and the same.
async fn windows(stage: &Stage, views: usize) -> Result<Value> {
    let source = "const maps = e2e.views().map((one) => JSON.parse(one.dataset.shown)[0].map);
        return maps.map((map) => {
          const { x, y, width, height } = e2e.asked_pictures.findLast((one) => one.map === map && one.view && one.low === undefined && one.view.out_width > 200).view;
          return { x, y, width, height };
        })";
    let found = stage.script(source, json!([])).await?;
    let list = found.as_array().context("no windows")?;
    ensure!(list.len() == views, "{found}");
    let unlike: BTreeSet<String> = list.iter().map(Value::to_string).collect();
    ensure!(unlike.len() == 1, "the views look at different places: {found}");
    Ok(list[0].clone())
}
