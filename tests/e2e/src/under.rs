//! The photo seen with the maps: mixed by the slider, divided by a line that is dragged and moved by keys, side by side in one
//! plane, alone laid and as taken.

use crate::report::Report;
use crate::stage::{Stage, photo_to_grid};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use thirtyfour::prelude::*;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "the photo is mixed with the maps and divided from them", mixed_and_divided).await;
    report.check(stage, "maps and photo stand side by side and move together", side_by_side).await;
}

/// The settings of the picture that a view shows.
fn shown(view: usize) -> String {
    format!("JSON.parse(e2e.views()[{view}].dataset.shown ?? '[{{}}]')[0]")
}

async fn mixed_and_divided(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    stage.click("[aria-label='Show Fe K']").await?;

    // before it is aligned, the word says what to do, and takes nothing
    stage.browser.click("Photo").await?;
    let greyed =
        "document.querySelector('.listbox-option[aria-disabled=true]')?.textContent.includes('align first')";
    stage.browser.wait(greyed, 5).await.context("a photo that is not aligned is not greyed")?;
    stage.browser.press("\u{e00c}").await?;
    let align = "await limner.align({ photo: 'p1', points: [], transform: args[0] })";
    stage.script(align, json!([photo_to_grid()?])).await?;
    let bare = e2e_look(stage).await?;
    stage.browser.click("Photo").await?;
    stage
        .browser
        .wait("document.querySelector('.listbox-option:not([aria-disabled])') !== null", 10)
        .await
        .context("the photo is not offered after it was aligned")?;
    stage.click(".listbox-option:not([aria-disabled])").await?;
    stage.browser.wait(&format!("{}.mix === 0.5", shown(0)), 10).await?;
    let half = e2e_look(stage).await?;
    ensure!(half != bare, "the picture with the photo is that of the map alone");

    // by keys
    stage.click(".under-slider").await?;
    stage.browser.press("\u{e011}").await?;
    stage.browser.wait(&format!("{}.mix === 0", shown(0)), 10).await.context("Home on the slider")?;
    stage.browser.press("\u{e014}\u{e014}\u{e014}").await?;
    stage.browser.wait(&format!("{}.mix === 0.03", shown(0)), 10).await.context("arrows on the slider")?;
    let told = stage
        .script("return document.querySelector('.under-slider').getAttribute('aria-valuetext')", json!([]))
        .await?;
    ensure!(told == "3\u{202f}% photo", "the slider says {told}");

    // the line
    stage.browser.click("Divide").await?;
    stage.browser.wait(&format!("{}.divide === 0.5", shown(0)), 10).await?;
    let line = stage.browser.web.find(By::Css(".divide-line:not([hidden])")).await?;
    stage.browser.web.action_chain().drag_and_drop_element_by_offset(&line, -120, 0).perform().await?;
    stage.browser.wait(&format!("{}.divide < 0.45", shown(0)), 10).await.context("the line was dragged")?;
    let before = stage.script(&format!("return {}.divide", shown(0)), json!([])).await?;
    stage.browser.press("\u{e014}").await?;
    let before = before.as_f64().context("no line")?;
    let moved = format!("Math.abs({}.divide - {before} - 0.01) < 0.002", shown(0));
    stage.browser.wait(&moved, 10).await.context("an arrow on the line")?;
    stage.browser.click("Turn the line").await?;
    stage.browser.wait(&format!("{}.divide_along === 'y'", shown(0)), 10).await?;
    let role = "return [...document.querySelectorAll('.divide-line:not([hidden])')].map((one) => [one.getAttribute('role'), one.getAttribute('aria-orientation'), one.getAttribute('aria-valuetext')])";
    let role = stage.script(role, json!([])).await?;
    ensure!(
        role[0][0] == "slider" && role[0][1] == "vertical" && role.as_array().map(Vec::len) == Some(1),
        "{role}"
    );

    // what lies elsewhere is drawn anew
    let then = e2e_look(stage).await?;
    let mut elsewhere = photo_to_grid()?;
    elsewhere[2] += 20.0;
    stage.script(align, json!([elsewhere])).await?;
    changed(stage, &then).await.context("the photo was laid elsewhere")?;
    stage.browser.click("Without").await?;
    stage.browser.wait(&format!("{}.photo === undefined", shown(0)), 10).await?;
    Ok(role[0][2].as_str().unwrap_or_default().to_string())
}

async fn side_by_side(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    let align = "await limner.align({ photo: 'p1', points: [], transform: args[0] })";
    stage.script(align, json!([photo_to_grid()?])).await?;
    stage.browser.click("Photo").await?;
    stage.browser.wait("document.querySelector('.listbox-option:not([aria-disabled])') !== null", 10).await?;
    stage.browser.press("Side").await?;
    stage.browser.press("\u{e007}").await?;
    let both =
        format!("e2e.views().length === 2 && {}.on === 'grid' && {}.map !== undefined", shown(1), shown(0));
    stage.browser.wait(&both, 10).await.context("maps and photo side by side")?;
    let window = "const last = (found) => e2e.asked_pictures.findLast((one) => found(one) && one.view?.out_width > 200).view;
        const [maps, photo] = [last((one) => one.map && !one.photo), last((one) => one.on === 'grid')];
        return [maps.x - photo.x, maps.width - photo.width, maps.width]";
    stage.click(".view-canvas").await?;
    stage.browser.press("++").await?;
    stage.pause().await;
    let found = stage.script(window, json!([])).await?;
    ensure!(found[0] == 0.0 && found[1] == 0.0, "the two views look at different places: {found}");

    // alone: laid on the maps, or as it was taken
    stage.browser.click("1 view").await?;
    stage.click("[aria-label^='Show the photo']").await?;
    stage.browser.wait(&format!("{}.on === 'grid'", shown(0)), 10).await.context("laid")?;
    stage.browser.click("As taken").await?;
    let taken = format!("{}.photo === 'p1' && {}.on === undefined", shown(0), shown(0));
    stage.browser.wait(&taken, 10).await.context("as taken")?;
    stage.browser.click("Laid on the maps").await?;
    stage.browser.wait(&format!("{}.on === 'grid'", shown(0)), 10).await?;
    Ok(format!("{} map pixels across", found[2]))
}

/// A hash of what the first view shows, once it has come to rest.
async fn e2e_look(stage: &Stage) -> Result<Value> {
    stage.pause().await;
    stage.script("return e2e.look(e2e.views()[0])", json!([])).await
}

/// Waits until the first view looks otherwise.
async fn changed(stage: &Stage, before: &Value) -> Result<()> {
    for _ in 0..40 {
        if e2e_look(stage).await? != *before {
            return Ok(());
        }
    }
    anyhow::bail!("the view did not change")
}
