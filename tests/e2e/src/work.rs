//! A piece of work from the first file to the picture for a report, by keyboard alone.

use crate::keyboard::{becomes, light, open_example, tab_to, tab_to_button};
use crate::report::Report;
use crate::stage::{Stage, maps_of_example};
use anyhow::{Context, Result, ensure};
use serde_json::json;
use thirtyfour::Key;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "names, overlay, limits and a saved picture by keys", from_names_to_file).await;
}

async fn from_names_to_file(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    correct_a_name(stage).await?;
    light(stage, "Fe K", true).await?;
    light(stage, "Sr K", true).await?;
    let two =
        "(document.querySelector('.view-canvas').dataset.shown?.match(/\"gamma\"/g) ?? []).length === 2";
    stage.browser.wait(two, 10).await.context("the overlay of two maps")?;
    move_a_limit(stage).await?;
    save(stage).await
}

const LABELS: &str = "(await limner.maps()).map(({ label }) => label).join()";

/// Renames Zn K in the table of names, going there by the arrow and leaving by Enter after Enter.
async fn correct_a_name(stage: &Stage) -> Result<()> {
    let before = stage.script(&format!("return {LABELS}"), json!([])).await?;
    let before = before.as_str().context("no labels")?;
    ensure!(before.contains("Zn K") && !before.contains("Sr K"), "the maps are {before}");
    tab_to(stage, ".sheet-naming").await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("document.activeElement.matches('.naming-line')", 5)
        .await
        .context("the first name")?;
    for _ in 0..maps_of_example()? {
        let at = stage.script("return document.activeElement.value", json!([])).await?;
        if at == "Zn K" {
            break;
        }
        stage.browser.press(Key::Down).await?;
    }
    stage.browser.press("sr k").await?;
    let shown = "document.activeElement.classList.contains('naming-changed') && document.activeElement.value === 'sr k'";
    stage.browser.wait(shown, 5).await.context("what was typed does not replace Zn K")?;
    let mut steps = 0;
    while stage.script("return document.activeElement.matches('.naming-line')", json!([])).await? == true {
        ensure!(steps < 8, "Enter does not lead through the table to its button");
        stage.browser.press(Key::Enter).await?;
        steps += 1;
    }
    let button = stage.script("return document.activeElement.textContent", json!([])).await?;
    ensure!(button == "Set 1 map", "after the last map the focus is on {button}");
    stage.browser.press(Key::Enter).await?;
    becomes(stage, LABELS, &before.replace("Zn K", "Sr K")).await?;
    let back = "document.querySelector('.naming').hidden && document.activeElement.matches('.sheet-naming')";
    stage.browser.wait(back, 5).await.context("the focus does not come back to the sheet")
}

/// Moves the upper limit of the first light down by the arrow, and makes sure that the picture follows.
async fn move_a_limit(stage: &Stage) -> Result<()> {
    let handle = ".histogram-handle[data-end='high']";
    tab_to(stage, handle).await?;
    let now =
        format!("return Number(document.querySelector({}).getAttribute('aria-valuenow'))", json!(handle));
    let before = stage.script(&now, json!([])).await?.as_f64().context("the limit is no number")?;
    let look = "return e2e.look(document.querySelector('.view-canvas'))";
    stage.pause().await;
    let picture = stage.script(look, json!([])).await?;
    for _ in 0..6 {
        stage.browser.press(Key::Left).await?;
    }
    stage.pause().await;
    let after = stage.script(&now, json!([])).await?.as_f64().context("the limit is no number")?;
    ensure!(after < before, "six arrows to the left take the limit from {before} to {after}");
    let asked = "const [light] = e2e.asked_pictures.findLast(({ lights }) => lights?.length === 2).lights; return light.high";
    let asked = stage.script(asked, json!([])).await?;
    ensure!(asked.as_f64() == Some(after), "the limit is {after}, the picture is asked for with {asked}");
    let focus = format!("return document.activeElement.matches({})", json!(handle));
    ensure!(stage.script(&focus, json!([])).await? == true, "the focus left the handle");
    ensure!(stage.script(look, json!([])).await? != picture, "the picture did not follow the limit");
    Ok(())
}

/// Millimetres per inch.
const INCH: f64 = 25.4;

/// Saves the picture 90 mm wide at 300 dots per inch, and takes the file apart.
async fn save(stage: &Stage) -> Result<String> {
    let folder = stage.scratch.join(format!("saved-{}", stage.form.name().replace(' ', "-")));
    std::fs::create_dir_all(&folder)?;
    let behaviour = json!({"behavior": "allow", "downloadPath": folder});
    stage.browser.command("Browser.setDownloadBehavior", behaviour).await?;
    tab_to_button(stage, "Save picture").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('#save-title')", 5).await.context("the form")?;
    stage.browser.press("By keys").await?;
    tab_to(stage, "#save-width").await?;
    stage.browser.press("90").await?;
    let typed = "document.activeElement.value === '90'";
    stage.browser.wait(typed, 5).await.context("what is typed does not replace the width")?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("e2e.saved.length === 1", 60).await.context("no file was handed over")?;
    let said = "document.querySelector('.save-said').textContent.includes('By keys.png')";
    stage.browser.wait(said, 10).await.context("the form does not say what was saved")?;
    let source = "return new Uint8Array(await e2e.saved[0].arrayBuffer())";
    let bytes = stage.browser.bytes(source, json!([])).await?;
    let (width, height, per_metre) = png_size(&bytes)?;
    let (want_width, want_density) = ((90.0 / INCH * 300.0_f64).round(), (300.0 / INCH * 1000.0_f64).round());
    ensure!(f64::from(width) == want_width, "it is {width} pixels wide, not {want_width}");
    ensure!(per_metre.map(f64::from) == [want_density; 2], "its pHYs is {per_metre:?}, not {want_density}");
    ensure!(height > 300, "it is {height} pixels high");
    let file = folder.join("By keys.png");
    for _ in 0..25 {
        if file.exists() {
            break;
        }
        stage.pause().await;
    }
    let kept = std::fs::read(&file).context("the browser kept no file")?;
    ensure!(kept == bytes, "the kept file has {} bytes, the page's {}", kept.len(), bytes.len());
    stage.browser.press(Key::Escape).await?;
    let closed = "document.activeElement.textContent === 'Save picture'";
    stage.browser.wait(closed, 5).await.context("Escape does not lead back to the tool")?;
    Ok(format!("{width} x {height} pixels, {} bytes", bytes.len()))
}

/// Width, height and pixels per metre across and down of a PNG file, by its specification (PNG, third edition: 11.2.1 IHDR,
/// 11.3.4.3 pHYs).
///
/// # Errors
/// It is no PNG file, or it has no pHYs in metres.
pub fn png_size(bytes: &[u8]) -> Result<(u32, u32, [u32; 2])> {
    ensure!(bytes.starts_with(b"\x89PNG\r\n\x1a\n"), "it is no PNG file");
    let number = |at: usize| -> Result<u32> {
        let four = bytes.get(at..at + 4).context("it ends too early")?;
        Ok(u32::from_be_bytes(four.try_into()?))
    };
    let (mut at, mut size, mut density) = (8, None, None);
    while at < bytes.len() {
        match bytes.get(at + 4..at + 8).context("it ends too early")? {
            b"IHDR" => size = Some((number(at + 8)?, number(at + 12)?)),
            b"pHYs" if bytes.get(at + 16) == Some(&1) => density = Some([number(at + 8)?, number(at + 12)?]),
            b"IDAT" => break,
            _ => {}
        }
        at += 12 + usize::try_from(number(at)?)?;
    }
    let (width, height) = size.context("it has no IHDR")?;
    Ok((width, height, density.context("it has no pHYs in metres")?))
}
