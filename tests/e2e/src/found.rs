//! What a passage could be painted with, whether something lies over it, and what speaks against its years: asked by keys, read in
//! their lists, with the places to measure on the picture.

use crate::answers::{answer_to, clipped, question};
use crate::keyboard::{choose, open_example, tab_to};
use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use thirtyfour::Key;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "materials by keys, and a place to measure shown in the view", materials).await;
    report.check(stage, "cover against a second region by keys", covered).await;
    report.check(stage, "years by keys, and what speaks against them", dates).await;
    report.check(stage, "the names of regions stand in lists as text", markup).await;
}

/// Two regions of the example: around the middle of the compass, and bare paper left of it.
const REGIONS: &str = "const { width, height } = await limner.grid();
    const part = (x, y, w, h) => ({ x: Math.round(x * width), y: Math.round(y * height), width: Math.round(w * width), height: Math.round(h * height) });
    await limner.add_region({ name: 'Compass', rectangle: part(0.6, 0.4, 0.12, 0.15) });
    await limner.add_region({ name: 'Paper', role: 'ground', rectangle: part(0.25, 0.75, 0.1, 0.1) });
    return (await limner.regions()).map(({ name }) => name).join()";

async fn with_regions(stage: &Stage) -> Result<()> {
    open_example(stage).await?;
    let names = stage.script(REGIONS, json!([])).await?;
    ensure!(names == "Compass,Paper", "the regions are {names}");
    Ok(())
}

/// Opens everything that folds, so that all of it is looked at.
async fn unfolded(stage: &Stage) -> Result<()> {
    stage
        .script("for (const one of document.querySelectorAll('.answer details')) one.open = true", json!([]))
        .await?;
    clipped(stage).await
}

/// Types a year into its field.
pub async fn year(stage: &Stage, setting: &str, text: &str) -> Result<()> {
    tab_to(stage, &format!("input[data-setting='{setting}']")).await?;
    stage.browser.press(text).await?;
    stage.browser.press(Key::Enter).await?;
    let typed = format!(
        "document.querySelector('input[data-setting={setting}]').value === {} && document.querySelector('.sentence-said').hidden",
        json!(text)
    );
    stage.browser.wait(&typed, 5).await.with_context(|| format!("{setting} is not {text}"))
}

async fn materials(stage: &Stage) -> Result<String> {
    with_regions(stage).await?;
    question(stage, "materials").await?;
    choose(stage, "region", "Compass").await?;
    let sentence = answer_to(stage, "materials").await?;
    // The sentence may still be that of the whole field.
    let of_region =
        "[...document.querySelectorAll('.answer-used dd')].some((one) => one.textContent === 'Compass')";
    stage.browser.wait(of_region, 60).await.context("no answer for the region")?;
    let parts = "const of = (one) => [...document.querySelectorAll(one)].map((two) => two.textContent.replaceAll('\\u00a0', ' '));
        return [of('.found-states dt'), of('.found-states dd').join(', '), of('.found-name'), of('.found-place')]";
    let parts = stage.script(parts, json!([])).await?;
    let states: Vec<&str> = parts[0].as_array().into_iter().flatten().filter_map(Value::as_str).collect();
    ensure!(!states.is_empty(), "no element stands there");
    let said = parts[1].as_str().unwrap_or_default();
    ensure!(said.contains("Hg") && said.contains("Pb"), "the elements are {said}");
    ensure!(parts[2] != json!([]), "no candidate stands there");
    unfolded(stage).await?;
    ensure!(
        stage
            .script("return document.querySelector('.answer-table table').checkVisibility()", json!([]))
            .await?
            == false,
        "what stands in lists stands in a table too"
    );
    // A place to measure, by keys: the picture shows it, and the focus stays in the list.
    let places = parts[3].as_array().map_or(0, Vec::len);
    ensure!(places > 0, "no place to measure is proposed on the compass");
    tab_to(stage, ".found-place").await?;
    stage.browser.press(Key::Enter).await?;
    let shown = "document.activeElement.matches('.found-place') && document.activeElement.getAttribute('aria-current') === 'true'
        && document.querySelector('.view-canvas').dataset.points.split(', ').includes('1')";
    stage.browser.wait(shown, 5).await.context("the place is not shown")?;
    let read = "/\\d/.test(document.querySelector('.view-place')?.textContent ?? '')";
    stage.browser.wait(read, 10).await.context("nothing is read there")?;
    // Another question takes the rings away.
    question(stage, "regions").await?;
    answer_to(stage, "regions").await?;
    let gone = "document.querySelector('.view-canvas').dataset.points === ''";
    stage.browser.wait(gone, 5).await.context("the rings stay")?;
    Ok(format!("{sentence} [{states:?}, {places} places]"))
}

async fn covered(stage: &Stage) -> Result<String> {
    with_regions(stage).await?;
    question(stage, "covered").await?;
    let waits = "document.querySelector('[data-setting=against]').classList.contains('sentence-setting-open') && document.querySelector('.answer').hidden";
    stage.browser.wait(waits, 5).await.context("the second region is not asked for")?;
    choose(stage, "region", "Compass").await?;
    choose(stage, "against", "Paper").await?;
    let sentence = answer_to(stage, "covered").await?;
    let verdict =
        stage.script("return document.querySelector('.answer-verdict').textContent", json!([])).await?;
    ensure!(verdict.as_str().is_some_and(|text| !text.is_empty()), "no verdict");
    unfolded(stage).await?;
    // A second region that is gone is not silently replaced.
    stage.script("await limner.remove('Paper')", json!([])).await?;
    stage.browser.wait(waits, 10).await.context("the region that is gone is still asked about")?;
    Ok(sentence)
}

async fn dates(stage: &Stage) -> Result<String> {
    with_regions(stage).await?;
    question(stage, "dates").await?;
    ensure!(
        stage.script("return document.querySelector('.answer').hidden", json!([])).await? == true,
        "it answers without years"
    );
    year(stage, "from", "1640").await?;
    year(stage, "to", "1670").await?;
    let sentence = answer_to(stage, "dates").await?;
    unfolded(stage).await?;
    let names = stage
        .script(
            "return [...document.querySelectorAll('.found-name')].map((one) => one.textContent)",
            json!([]),
        )
        .await?;
    ensure!(names != json!([]), "no material or element stands there");
    // What is no year is refused in place, and the answer stays.
    let again =
        "const field = document.querySelector('input[data-setting=to]'); field.focus(); field.select()";
    stage.script(again, json!([])).await?;
    stage.browser.press("1,670").await?;
    stage.browser.press(Key::Enter).await?;
    let refused = "!document.querySelector('.sentence-said').hidden && document.querySelector('input[data-setting=to]').getAttribute('aria-invalid') === 'true'
        && !document.querySelector('.answer').hidden";
    stage.browser.wait(refused, 5).await.context("1,670 passes as a year")?;
    Ok(format!("{sentence} {names}"))
}

async fn markup(stage: &Stage) -> Result<String> {
    stage.example().await?;
    let name = "<img src=x onerror=\"document.title='run'\"><b>Compass</b>";
    let made = "const { width, height } = await limner.grid();
        await limner.add_region({ name: args[0], rectangle: { x: Math.round(0.6 * width), y: Math.round(0.4 * height), width: Math.round(0.12 * width), height: Math.round(0.15 * height) } });
        return (await limner.regions())[0].name";
    let kept = stage.script(made, json!([name])).await?;
    stage.ask("materials", &[]).await?;
    stage.click("[data-setting='region']").await?;
    stage.browser.wait("document.querySelector('.listbox') !== null", 5).await?;
    stage.browser.press(Key::End).await?;
    stage.browser.press(Key::Enter).await?;
    let of_region = "document.querySelector('.answer-used').textContent.includes('onerror')";
    stage.browser.wait(of_region, 60).await.context("no answer for the region")?;
    let found = stage
        .script("return [document.querySelectorAll('.ask img, .ask b').length, document.title]", json!([]))
        .await?;
    ensure!(found[0] == 0 && found[1] != "run", "markup came to life: {found}");
    unfolded(stage).await?;
    Ok(kept.to_string())
}
