//! Answers on the page: every question by keys, a rectangle in the joint plot that lights pixels and becomes a region, the matrix
//! of all pairs and the way from it to one pair, the line over the picture.

use crate::keyboard::{becomes, choose, open_example, tab_to};
use crate::report::Report;
use crate::stage::{Stage, maps_of_example};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use thirtyfour::Key;
use thirtyfour::prelude::*;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "every question by keys", every_question).await;
    report.check(stage, "a rectangle in the joint plot lights pixels and becomes a region", brushing).await;
    report.check(stage, "the matrix leads to one pair, by mouse and keys", matrix).await;
    report.check(stage, "a line over the picture by keys, and its profile", line).await;
    report.check(stage, "odd maps get an answer or its reason from every question", odd_maps).await;
}

async fn odd_maps(stage: &Stage) -> Result<String> {
    let found = stage.script(include_str!("odd_maps.js"), json!([])).await?;
    ensure!(found["wrong"] == json!([]), "{}", found["wrong"]);
    ensure!(found["answers"] == 40, "{} answers", found["answers"]);
    Ok(format!("{} answers", found["answers"]))
}

/// Chooses a question by its button, by keys.
///
/// # Errors
/// It is not offered, or is not reached.
pub async fn question(stage: &Stage, key: &str) -> Result<()> {
    let mark = "for (const one of document.querySelectorAll('button')) one.classList.toggle('e2e-wanted', one.matches('.ask-question') && one.textContent === args[0])";
    stage.script(mark, json!([stage.label_of(key).await?])).await?;
    tab_to(stage, ".e2e-wanted").await.with_context(|| key.to_string())?;
    stage.browser.press(" ").await?;
    let on = "document.querySelector('.e2e-wanted').getAttribute('aria-pressed') === 'true'";
    stage.browser.wait(on, 5).await.with_context(|| key.to_string())
}

/// Waits for the answer to this question and gives its sentence.
///
/// # Errors
/// None comes.
pub async fn answer_to(stage: &Stage, key: &str) -> Result<String> {
    let come = format!("document.querySelector('.answer').dataset.question === {}", json!(key));
    stage.browser.wait(&come, 60).await.with_context(|| format!("no answer to {key}"))?;
    stage.answer().await
}

/// Two regions of the example: a part with much, and a part with little.
const REGIONS: &str =
    "await limner.add_region({ name: 'Left', rectangle: { x: 20, y: 20, width: 100, height: 100 } });
    await limner.add_region({ name: 'Right', rectangle: { x: 180, y: 100, width: 80, height: 80 } });
    return (await limner.regions()).map(({ name }) => name).join()";

async fn every_question(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    let names = stage.script(REGIONS, json!([])).await?;
    ensure!(names == "Left,Right", "the regions are {names}");
    let mut said = Vec::new();
    for (key, maps) in [
        ("faint", vec![("map", "Mn K")]),
        ("together", vec![("a", "Fe K"), ("b", "Mn K")]),
        ("apart", vec![("a", "Ti K"), ("b", "Fe K")]),
        ("ratio", vec![]), // what was chosen for the question before still stands
        ("regions", vec![]),
    ] {
        question(stage, key).await?;
        for (setting, label) in &maps {
            choose(stage, setting, label).await.with_context(|| format!("{key}: {setting}"))?;
        }
        // the answer to what the sentence said before its last word was chosen may still stand there
        let labels: Vec<&str> = maps.iter().map(|(_, label)| *label).collect();
        let of_these = format!(
            "{}.every((label) => document.querySelector('.answer-sentence').textContent.replaceAll('\\u00a0', ' ').includes(label))",
            json!(labels)
        );
        stage.browser.wait(&of_these, 60).await.with_context(|| format!("no answer on {labels:?}"))?;
        let sentence = answer_to(stage, key).await?;
        let parts = "const of = (one) => document.querySelector(one);
            return [of('.answer-verdict').innerText, [...document.querySelectorAll('.answer .plot')].length, of('.answer-stability').hidden]";
        let parts = stage.script(parts, json!([])).await?;
        ensure!(parts[0].as_str().is_some_and(|text| !text.is_empty()), "{key} has no verdict");
        clipped(stage).await.with_context(|| key.to_string())?;
        said.push(format!("{key}: {sentence} [{}]", parts[0].as_str().unwrap_or_default()));
    }
    // a question of one region, chosen by keys
    question(stage, "faint").await?;
    choose(stage, "region", "Left").await?;
    answer_to(stage, "faint").await?;
    // a region that is gone is not silently replaced
    stage.script("await limner.remove('Left')", json!([])).await?;
    let asked = "document.querySelector('[data-setting=region]').classList.contains('sentence-setting-open') && document.querySelector('.answer').hidden";
    stage.browser.wait(asked, 10).await.context("the region that is gone is still asked about")?;
    Ok(said.join(" | "))
}

/// Nothing of the answer stands out of its column, but for what scrolls inside itself.
///
/// # Errors
/// Something does.
pub async fn clipped(stage: &Stage) -> Result<()> {
    let source = "const column = document.querySelector('.ask').getBoundingClientRect();
        const scrolls = (one) => one.closest('.table-frame, .matrix-frame, .visually-hidden') !== null;
        return [...document.querySelectorAll('.answer *')].filter((one) => one.checkVisibility() && !scrolls(one))
          .filter((one) => { const box = one.getBoundingClientRect(); return box.width > 0 && (box.right > column.right + 1 || box.left < column.left - 1); })
          .map((one) => one.className || one.tagName)";
    let out = stage.script(source, json!([])).await?;
    ensure!(out == json!([]), "{out} stand out of the column");
    Ok(())
}

/// Asks about Ti K and Fe K, whose answer has a joint plot.
async fn joint_plot(stage: &Stage) -> Result<()> {
    stage.part_of_example(&["Fe-K", "Ti-K"]).await?;
    stage.ask("together", &[("a", "Ti K"), ("b", "Fe K")]).await?;
    answer_to(stage, "together").await?;
    let drawn = "(() => { const bins = document.querySelector('.joint-bins'); return bins && !bins.hidden && bins.width > 10 })()";
    stage.browser.wait(drawn, 10).await.context("there is no joint plot")
}

/// What stands beside the plot.
async fn lit(stage: &Stage) -> Result<String> {
    let text = stage.script("return document.querySelector('.joint-lit').textContent", json!([])).await?;
    Ok(text.as_str().unwrap_or_default().to_string())
}

async fn brushing(stage: &Stage) -> Result<String> {
    joint_plot(stage).await?;
    let look = "return e2e.look(document.querySelector('.view-canvas'))";
    stage.pause().await;
    let before = stage.script(look, json!([])).await?;
    let hint = lit(stage).await?;
    // by the mouse, from the corner of few counts to beyond the middle of the plot
    let surface = stage.browser.web.find(By::Css(".joint-surface")).await?;
    surface.scroll_into_view().await?;
    let size = surface.rect().await?;
    #[expect(clippy::cast_possible_truncation, reason = "pixels of a screen")]
    let (dx, dy) = ((0.4 * size.width) as i64, (0.4 * size.height) as i64);
    let drag = stage.browser.web.action_chain().move_to_element_with_offset(&surface, -dx, dy);
    drag.click_and_hold().move_by_offset(3 * dx / 2, -3 * dy / 2).release().perform().await?;
    let box_is = "document.querySelector('.joint-brush').checkVisibility()";
    stage.browser.wait(box_is, 5).await.context("no rectangle")?;
    stage
        .browser
        .wait("/\\d/.test(document.querySelector('.joint-lit').textContent)", 10)
        .await
        .context("nothing is said of what is lit")?;
    stage.pause().await;
    ensure!(stage.script(look, json!([])).await? != before, "nothing is lit in the picture");
    let said = lit(stage).await?;
    stage.click(".joint-said .quiet-button").await?;
    becomes(stage, "String((await limner.regions()).length)", "1").await?;
    let region = stage
        .script(
            "const [{ id }] = await limner.regions(); const { mask, how, pixels } = await limner.region(id);
        return [how, pixels, mask.data.reduce((sum, one) => sum + (one ? 1 : 0), 0)]",
            json!([]),
        )
        .await?;
    ensure!(
        region[0] == "cloud" && region[1] == region[2] && region[1] != json!(0),
        "the region is {region}"
    );
    // and back: a region is marked in the plot
    let marked = "document.querySelectorAll('.joint-bins')[1].hidden === false && document.querySelector('.joint-legend').checkVisibility()";
    stage.browser.wait(marked, 10).await.context("the region is not marked in the plot")?;
    // by keys
    stage.script("document.querySelector('.joint-surface').focus()", json!([])).await?;
    stage.browser.press(Key::Escape).await?;
    stage.browser.wait(&format!("!({box_is})"), 5).await.context("Escape leaves the rectangle")?;
    ensure!(lit(stage).await? == hint, "after Escape it says {}", lit(stage).await?);
    stage.browser.press(Key::Right).await?;
    stage.browser.wait(box_is, 5).await.context("an arrow begins no rectangle")?;
    let place = "return document.querySelector('.joint-brush').getAttribute('style')";
    let mut places = vec![stage.script(place, json!([])).await?];
    stage.browser.press(Key::Left).await?;
    places.push(stage.script(place, json!([])).await?);
    stage
        .browser
        .web
        .action_chain()
        .key_down(Key::Shift)
        .send_keys(Key::Up)
        .key_up(Key::Shift)
        .perform()
        .await?;
    places.push(stage.script(place, json!([])).await?);
    ensure!(
        places[0] != places[1] && places[1] != places[2],
        "the rectangle does not follow the keys: {places:?}"
    );
    Ok(said)
}

/// The pair that the sentence names.
async fn pair(stage: &Stage) -> Result<Value> {
    stage.script("return ['a', 'b'].map((name) => document.querySelector(`[data-setting=${name}]`)?.textContent ?? '')", json!([])).await
}

async fn matrix(stage: &Stage) -> Result<String> {
    stage.example().await?;
    stage.browser.click(&stage.label_of("together").await?).await?;
    let all = stage
        .script(
            "return (await limner.questions()).find(({ key }) => key === 'together').forms[0].label",
            json!([]),
        )
        .await?;
    let all = all.as_str().context("there is no form for all pairs")?.to_string();
    stage.browser.click(&all).await?;
    let maps = maps_of_example()?;
    let there = format!("document.querySelectorAll('.matrix-cell').length === {}", maps * (maps - 1));
    stage.browser.wait(&there, 120).await.with_context(|| format!("no matrix of {maps} maps"))?;
    clipped(stage).await?;
    let sentence = stage.answer().await?;
    let labels = "const cell = args[0] === null ? document.activeElement : document.querySelectorAll('.matrix-cell')[args[0]];
        const words = cell.getAttribute('aria-label').split(':')[0].split(' and ');
        return words.sort()";
    let sorted = |value: &Value| {
        let mut list: Vec<String> = value
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|one| one.as_str().map(str::to_owned))
            .collect();
        list.sort();
        json!(list)
    };
    // by the mouse
    let wanted = stage.script(labels, json!([9])).await?;
    let cells = stage.browser.web.find_all(By::Css(".matrix-cell")).await?;
    let cell = cells.get(9).context("no cell")?;
    cell.scroll_into_view().await?;
    cell.click().await?;
    let one = "document.querySelector('[data-setting=a]') !== null && document.querySelector('.matrix') === null && !document.querySelector('.answer').hidden";
    stage.browser.wait(one, 60).await.context("the cell does not lead to its pair")?;
    let got = sorted(&pair(stage).await?);
    ensure!(got == wanted, "the cell of {wanted} leads to {got}");
    // by keys
    stage.browser.click(&all).await?;
    stage.browser.wait(&there, 120).await.context("the matrix does not come back")?;
    tab_to(stage, ".matrix-cell").await?;
    for key in [Key::Down, Key::Down, Key::Right] {
        stage.browser.press(key).await?;
    }
    let wanted = stage.script(labels, json!([null])).await?;
    let detail =
        stage.script("return document.querySelector('.matrix-detail').textContent", json!([])).await?;
    for word in wanted.as_array().into_iter().flatten().filter_map(Value::as_str) {
        ensure!(detail.as_str().is_some_and(|text| text.contains(word)), "of {wanted} it says {detail}");
    }
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait(one, 60).await.context("Enter does not lead to the pair")?;
    let got = sorted(&pair(stage).await?);
    ensure!(got == wanted, "Enter on {wanted} leads to {got}");
    Ok(sentence)
}

async fn line(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    stage.script(REGIONS, json!([])).await?;
    question(stage, "regions").await?;
    answer_to(stage, "regions").await?;
    tab_to(stage, "[data-setting='line']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('[role=listbox]')", 5).await?;
    stage.browser.press(Key::Home).await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("document.activeElement.matches('.over-surface')", 5)
        .await
        .context("nothing to draw on")?;
    stage.browser.press(Key::Enter).await?;
    for _ in 0..3 {
        stage
            .browser
            .web
            .action_chain()
            .key_down(Key::Shift)
            .send_keys(Key::Right)
            .key_up(Key::Shift)
            .perform()
            .await?;
    }
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("document.querySelector('.over-surface') === null", 5)
        .await
        .context("the line is not taken")?;
    stage
        .browser
        .wait("document.querySelector('.plot-profile canvas')?.width > 10", 60)
        .await
        .context("no profile")?;
    let line =
        stage.script("return document.querySelector('[data-setting=line]').textContent", json!([])).await?;
    ensure!(line == "the line drawn", "the word is {line}");
    clipped(stage).await?;
    stage.answer().await
}
