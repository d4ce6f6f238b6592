//! A photo laid on the maps, and the object's edges marked, by keyboard alone.

use crate::keyboard::{becomes, open_example, tab_to, tab_to_button};
use crate::report::Report;
use crate::stage::{Stage, photo_to_grid};
use anyhow::{Context, Result, bail, ensure};
use serde_json::json;
use std::time::Duration;
use thirtyfour::Key;

/// Hundreds of keys are pressed one by one.
const LONG: Duration = Duration::from_secs(300);

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check_within(stage, "a photo is laid on the maps by keys", LONG, by_keys).await;
    report
        .check_within(
            stage,
            "the object's edges are marked by keys, and places are said from them",
            LONG,
            edges,
        )
        .await;
    report.check_within(stage, "a photo is found, looked at and taken over", LONG, found).await;
}

/// Where a place of the example's photo lies on its grid, as the example was made.
fn truth(at: (f64, f64)) -> Result<(f64, f64)> {
    Ok(through(&photo_to_grid()?, at))
}

/// A place taken through a matrix.
fn through(matrix: &[f64; 9], (u, v): (f64, f64)) -> (f64, f64) {
    let row = |k: usize| matrix[k] * u + matrix[k + 1] * v + matrix[k + 2];
    (row(0) / row(6), row(3) / row(6))
}

/// Details of the photo, in its pixels.
const DETAILS: [(f64, f64); 5] = [(80.0, 72.0), (540.0, 80.0), (560.0, 380.0), (90.0, 400.0), (316.0, 236.0)];

async fn opened(stage: &Stage) -> Result<()> {
    open_example(stage).await?;
    tab_to(stage, ".sheet-align").await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("document.activeElement.matches('.aligning-column:first-child .view-canvas')", 10)
        .await
        .context("the focus is not in the photo")?;
    let drawn = "[...document.querySelectorAll('.aligning .view-canvas')].every((one) => one.dataset.shown)";
    stage.browser.wait(drawn, 20).await.context("the pictures do not come")
}

/// The same key so many times.
async fn keys(stage: &Stage, key: char, times: u32, with_shift: bool) -> Result<()> {
    let mut chain = stage.browser.web.action_chain();
    if with_shift {
        chain = chain.key_down(Key::Shift);
    }
    for _ in 0..times {
        chain = chain.key_down(key).key_up(key);
    }
    if with_shift {
        chain = chain.key_up(Key::Shift);
    }
    Ok(chain.perform().await?)
}

/// The keys that move along x and along y, forward and back.
fn arrows() -> [(char, char, bool); 2] {
    [(Key::Right.into(), Key::Left.into(), true), (Key::Down.into(), Key::Up.into(), false)]
}

/// Where the cross is, as it is said aloud.
async fn said(stage: &Stage) -> Result<(f64, f64)> {
    let text = stage
        .script("return document.querySelector('.aligning-stage > .visually-hidden').textContent", json!([]))
        .await?;
    let text = text.as_str().unwrap_or_default().to_owned();
    let mut parts = text.split(", ").map(str::parse::<f64>);
    match (parts.next(), parts.next()) {
        (Some(Ok(x)), Some(Ok(y))) => Ok((x, y)),
        _ => bail!("no place is said but {text:?}"),
    }
}

/// Moves the cross to the pixel that is nearest, by arrows and by single pixels.
async fn cross_to(stage: &Stage, (x, y): (f64, f64)) -> Result<()> {
    for (forward, back, is_x) in arrows() {
        let along = |place: (f64, f64)| if is_x { place.0 } else { place.1 };
        let wanted = along((x, y));
        keys(stage, forward, 1, true).await?;
        let before = along(said(stage).await?);
        keys(stage, back, 1, false).await?;
        let stride = before - along(said(stage).await?);
        ensure!(stride >= 1.0, "an arrow moves the cross by {stride}");
        let far = wanted - along(said(stage).await?);
        let times = (far.abs() / stride).floor() as u32;
        keys(stage, if far < 0.0 { back } else { forward }, times, false).await?;
        let rest = wanted - along(said(stage).await?);
        keys(stage, if rest < 0.0 { back } else { forward }, rest.abs().round() as u32, true).await?;
        let off = (along(said(stage).await?) - wanted).abs();
        ensure!(off < 0.75, "the cross is {off} off");
    }
    Ok(())
}

/// The places of all points on one side.
async fn places(stage: &Stage, side: &str) -> Result<Vec<(f64, f64)>> {
    let selector = format!(".aligning-column:{side}-child .view-canvas");
    let text =
        stage.script("return document.querySelector(args[0]).dataset.points", json!([selector])).await?;
    Ok(serde_json::from_str::<Vec<(f64, f64)>>(text.as_str().unwrap_or("[]"))?)
}

/// Moves the chosen point on the maps to within a twentieth of a pixel of where it belongs.
async fn nudge(stage: &Stage, number: usize, wanted: (f64, f64)) -> Result<()> {
    for (forward, back, is_x) in arrows() {
        let at = *places(stage, "last").await?.get(number).context("the point is not there")?;
        let far = if is_x { wanted.0 - at.0 } else { wanted.1 - at.1 };
        let tenths = (far.abs() * 10.0).round() as u32;
        let key = if far < 0.0 { back } else { forward };
        keys(stage, key, tenths / 10, false).await?;
        keys(stage, key, tenths % 10, true).await?;
    }
    let at = *places(stage, "last").await?.get(number).context("the point is not there")?;
    let off = (at.0 - wanted.0).hypot(at.1 - wanted.1);
    ensure!(off < 0.09, "point {} is {off} px off after nudging", number + 1);
    Ok(())
}

async fn by_keys(stage: &Stage) -> Result<String> {
    opened(stage).await?;
    for (number, detail) in DETAILS.into_iter().enumerate() {
        cross_to(stage, detail).await.with_context(|| format!("point {} in the photo", number + 1))?;
        stage.browser.press(Key::Enter).await?;
        let on_maps = "document.activeElement.matches('.aligning-column:last-child .view-canvas')";
        stage.browser.wait(on_maps, 5).await.context("the focus does not go on to the maps")?;
        let from = *places(stage, "first").await?.get(number).context("no point was set")?;
        if number < 3 {
            cross_to(stage, truth(from)?)
                .await
                .with_context(|| format!("point {} on the maps", number + 1))?;
        }
        // From the fourth on the place is proposed, and the cross stands there already.
        stage.browser.press(Key::Enter).await?;
        let set = format!(
            "JSON.parse(document.querySelector('.aligning-column:last-child .view-canvas').dataset.points)[{number}] !== null"
        );
        stage.browser.wait(&set, 5).await?;
        let at = places(stage, "last").await?[number];
        let wanted = truth(from)?;
        let off = (at.0 - wanted.0).hypot(at.1 - wanted.1);
        ensure!(number < 3 || off < 2.0, "point {} was proposed {off} px off", number + 1);
        nudge(stage, number, wanted).await?;
        stage.browser.press(Key::Enter).await?;
        let told = format!(
            "await limner.photos().then(([{{ alignment }}]) => String(alignment?.points.length === {}))",
            number + 1
        );
        becomes(stage, &told, "true").await?;
        stage.pause().await;
        keys(stage, Key::Tab.into(), 1, true).await?;
    }
    let alignment = stage.script("return (await limner.photos())[0].alignment", json!([])).await?;
    ensure!(alignment["trouble"] == "", "{alignment}");
    let matrix: [f64; 9] = serde_json::from_value(alignment["transform"].clone())?;
    let mut squares = 0.0;
    for i in 0..25 {
        let at = (60.0 + 128.0 * f64::from(i % 5), 40.0 + 98.0 * f64::from(i / 5));
        let (lies, wanted) = (through(&matrix, at), truth(at)?);
        squares += (lies.0 - wanted.0).powi(2) + (lies.1 - wanted.1).powi(2);
    }
    let rms = (squares / 25.0).sqrt();
    ensure!(rms < 0.5, "the photo lies {rms} px off at places that were not set");
    // The last point is chosen by its key and removed, and the place is left.
    stage.browser.press("p").await?;
    stage.browser.press(Key::Delete).await?;
    becomes(stage, "await limner.photos().then(([{ alignment }]) => String(alignment.points.length))", "4")
        .await?;
    stage.browser.press(Key::Escape).await?;
    let left = "document.querySelector('.aligning').hidden && document.activeElement.matches('.sheet-align')";
    stage.browser.wait(left, 5).await.context("Escape does not lead back to the photo's word")?;
    Ok(format!("{rms:.3} px off at 25 other places"))
}

async fn edges(stage: &Stage) -> Result<String> {
    opened(stage).await?;
    tab_to_button(stage, "Mark them").await?;
    stage.browser.press(Key::Enter).await?;
    let on_maps = "document.activeElement.matches('.aligning-column:last-child .view-canvas')";
    stage.browser.wait(on_maps, 5).await.context("the focus does not go to the maps")?;
    for place in [(20.0, 16.0), (280.0, 16.0), (20.0, 200.0)] {
        cross_to(stage, place).await?;
        stage.browser.press(Key::Enter).await?;
    }
    becomes(stage, "await limner.object().then((object) => String(object?.corner))", "upper left").await?;
    let text = stage.script("return (await limner.read_out(150.5, 110.5)).text", json!([])).await?;
    let text = text.as_str().unwrap_or_default().to_owned();
    ensure!(text.contains("from the left") && text.contains("upper edge"), "the place is said as {text:?}");
    let shown = "document.querySelector('.aligning-side').textContent.includes('Places are counted')";
    stage.browser.wait(shown, 5).await?;
    tab_to_button(stage, "Forget them").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, "await limner.object().then(String)", "null").await?;
    Ok(text)
}

async fn found(stage: &Stage) -> Result<String> {
    opened(stage).await?;
    tab_to_button(stage, "Find it for me").await?;
    stage.browser.press(Key::Enter).await?;
    let there = "[...document.querySelectorAll('.aligning .button')].some((one) => one.checkVisibility() && ['No', 'Close'].includes(one.textContent))";
    stage.browser.wait(there, 120).await.context("the search does not end")?;
    let before = stage.script("return (await limner.photos())[0].alignment", json!([])).await?;
    ensure!(before.is_null(), "it was taken over by itself: {before}");
    let text = stage
        .script(
            "return document.querySelector('[aria-label=\"Find it for me\"] .aligning-text').textContent",
            json!([]),
        )
        .await?;
    let accepted = stage.script("return [...document.querySelectorAll('.aligning .button')].some((one) => one.checkVisibility() && one.textContent === 'Take it over')", json!([])).await?;
    ensure!(accepted == true, "the example's photo is not found: {text}");
    tab_to_button(stage, "Take it over").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, "await limner.photos().then(([{ alignment }]) => String(alignment?.model))", "found")
        .await?;
    let corner = stage.script("return (await limner.photos())[0].alignment.corners[0]", json!([])).await?;
    let wanted = truth((0.0, 0.0))?;
    let at = (corner[0].as_f64().unwrap_or(f64::NAN), corner[1].as_f64().unwrap_or(f64::NAN));
    let off = (at.0 - wanted.0).hypot(at.1 - wanted.1);
    ensure!(off < 3.0, "its corner is found {off} px off");
    Ok(text.as_str().unwrap_or_default().to_owned())
}
