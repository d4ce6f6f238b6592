//! A region by a photo's colours: picked on the picture by mouse and by keys, seen before it is kept, changed later.

use crate::keyboard::tab_to;
use crate::regions::{places, regions};
use crate::report::Report;
use crate::stage::{Stage, photo_to_grid, truth};
use anyhow::{Context, Result, ensure};
use serde_json::json;
use thirtyfour::prelude::*;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "without an aligned photo its colours cannot be picked", not_aligned).await;
    report.check(stage, "the repair is picked by the photo's colour, and changed", by_mouse).await;
    report.check(stage, "colours are picked and left out by keys", by_keys).await;
}

/// Opens the word "Draw" above the picture and takes the photo's colour.
async fn begin(stage: &Stage) -> Result<()> {
    stage.browser.click("Draw").await?;
    stage.browser.wait("document.querySelector('.view > .listbox') !== null", 5).await?;
    let path = "//*[@role='option'][.//span[@class='listbox-text' and .='By the photo’s colour']]";
    stage.browser.web.find(By::XPath(path)).await?.click().await?;
    Ok(())
}

/// The example with its photo laid as it truly lies (`demo-data/truth`).
async fn aligned(stage: &Stage) -> Result<()> {
    stage.part_of_example(&["Fe-K"]).await?;
    let source = "const [{ id }] = await limner.photos();
        return limner.align({ photo: id, transform: args[0] })";
    let alignment = stage.script(source, json!([photo_to_grid()?])).await?;
    ensure!(alignment["trouble"] == "", "it is not laid: {alignment}");
    begin(stage).await?;
    stage.browser.wait("document.activeElement.matches('.view-picking')", 5).await.context("the focus")
}

const SAID: &str = "document.querySelector('.colour-said').textContent";

async fn not_aligned(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    begin(stage).await?;
    let said = "[...document.querySelectorAll('.region-trouble')].some((one) => one.checkVisibility() && one.textContent.includes('Align a photo first'))";
    stage.browser.wait(said, 5).await.context("it does not say what to do")?;
    Ok(String::new())
}

async fn by_mouse(stage: &Stage) -> Result<String> {
    aligned(stage).await?;
    let at = places(stage, &[(254, 172)]).await?;
    stage.browser.web.action_chain().move_to(at[0].0, at[0].1).click().perform().await?;
    stage.browser.wait(&format!("{SAID}.includes('1 place')"), 10).await.context("no preview")?;
    let dashed = "document.querySelectorAll('.colour-swatches li').length === 1";
    stage.browser.wait(dashed, 5).await.context("no swatch")?;
    stage.browser.click("leave the border out").await?;
    stage.browser.wait(&format!("!{SAID}.includes('border')"), 10).await.context("the border stays out")?;
    stage.browser.click("Add region").await?;
    stage.browser.wait("(await limner.regions()).length === 1", 10).await.context("no region")?;
    let pixels = regions(stage).await?[0]["pixels"].as_u64().unwrap_or_default();
    let truth = truth()?;
    let repair = truth["passages"].as_array().into_iter().flatten().find(|one| one["name"] == "repair");
    let wanted = repair.and_then(|one| one["pixels"].as_u64()).context("no repair in truth")?;
    ensure!(pixels.abs_diff(wanted) * 8 < wanted, "the repair has {pixels} pixels, not {wanted}");
    stage.browser.wait("document.activeElement.matches('.region-name')", 5).await?;
    stage.browser.press(Key::Enter).await?;

    // changed later: the same strip comes back, with the border left out again
    stage.click("[aria-label='reshape Region 1']").await?;
    stage.browser.wait(&format!("{SAID}.includes('1 place')"), 10).await.context("the strip is not back")?;
    stage.browser.click("leave the border out").await?;
    stage.browser.wait(&format!("{SAID}.includes('border')"), 10).await?;
    stage.browser.click("Done").await?;
    let smaller = format!("(await limner.regions())[0].pixels < {pixels}");
    stage.browser.wait(&smaller, 10).await.context("the border was not left out")?;
    ensure!(regions(stage).await?[0]["makers"] == json!([]), "maps made it");
    Ok(format!("{pixels} pixels"))
}

async fn by_keys(stage: &Stage) -> Result<String> {
    aligned(stage).await?;
    // The first arrow shows the mark in the middle, on open water.
    stage.browser.press(Key::Right).await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait(&format!("{SAID}.includes('1 place')"), 10).await.context("no preview")?;
    tab_to(stage, ".colour-settings > .save-choice[aria-pressed]:last-child").await?;
    stage.browser.press(Key::Space).await?;
    stage.click(".view-canvas").await?;
    stage.browser.wait("document.querySelectorAll('.colour-swatches li').length === 2", 10).await?;
    stage.browser.wait(&format!("{SAID}.includes('not like that at 1 place')"), 10).await?;
    stage.browser.press(Key::Backspace).await?;
    stage.browser.wait("document.querySelectorAll('.colour-swatches li').length === 1", 10).await?;
    stage.browser.press(Key::Escape).await?;
    stage.browser.wait("document.querySelector('.colour-swatches').checkVisibility() === false", 5).await?;
    ensure!(regions(stage).await? == json!([]), "Escape kept it");
    Ok(String::new())
}
