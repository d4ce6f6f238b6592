//! The main way through the program by keyboard alone, with the focus to be seen at every stop.

use crate::report::Report;
use crate::stage::{Stage, maps_of_example};
use anyhow::{Context, Result, bail, ensure};
use serde_json::json;
use thirtyfour::Key;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "from the empty page to an answer by keys", to_an_answer).await;
    report.check(stage, "lights and modes by keys", lights).await;
    report.check(stage, "a list of choices by arrows, letters, Home, End and Escape", list).await;
    report.check(stage, "the picture moves and is read by keys", picture).await;
    report.check(stage, "name, kind and step are set in place by keys", set_in_place).await;
}

/// Presses Tab until the focus is on what matches, and makes sure that it can be seen there.
///
/// # Errors
/// It is never reached, or the focus cannot be seen there.
pub async fn tab_to(stage: &Stage, selector: &str) -> Result<()> {
    let mut passed = Vec::new();
    for _ in 0..300 {
        stage.browser.press(Key::Tab).await?;
        let source = "const on = document.activeElement;
            const style = getComputedStyle(on);
            const seen = on.matches(':focus-visible') && (style.outlineStyle !== 'none' || style.boxShadow !== 'none');
            return [on.matches(args[0]), seen, on.getAttribute('aria-label') ?? on.innerText]";
        let at = stage.script(source, json!([selector])).await?;
        if at[0] == true {
            ensure!(at[1] == true, "the focus on {selector} cannot be seen");
            return Ok(());
        }
        passed.push(at[2].to_string());
    }
    bail!("Tab does not come to {selector}; it passes {}", passed.join(", "))
}

/// What has the focus, by attribute.
async fn focused(stage: &Stage, attribute: &str) -> Result<String> {
    let value =
        stage.script("return document.activeElement.getAttribute(args[0])", json!([attribute])).await?;
    Ok(value.as_str().unwrap_or_default().to_string())
}

/// As [`tab_to`], for the button that reads so.
///
/// # Errors
/// As there, or there is no such button.
pub async fn tab_to_button(stage: &Stage, label: &str) -> Result<()> {
    let mark = "let found = 0;
        for (const one of document.querySelectorAll('button')) {
          const is_it = one.textContent === args[0] && one.checkVisibility();
          one.classList.toggle('e2e-wanted', is_it);
          found += is_it;
        }
        return found";
    let found = stage.script(mark, json!([label])).await?;
    ensure!(found == 1, "{found} visible buttons read {label:?}");
    tab_to(stage, ".e2e-wanted").await.with_context(|| label.to_string())
}

/// Opens the example from the empty page.
///
/// # Errors
/// It is not offered, or no picture comes.
pub async fn open_example(stage: &Stage) -> Result<()> {
    tab_to_button(stage, "Open the example").await?;
    stage.browser.press(Key::Enter).await?;
    stage.example_has_come().await
}

/// Switches a light with its dot.
///
/// # Errors
/// It cannot be reached or does not take.
pub async fn light(stage: &Stage, label: &str, on: bool) -> Result<()> {
    let selector = format!("[aria-label='{label} as a light']");
    tab_to(stage, &selector).await?;
    stage.browser.press(" ").await?;
    let pressed =
        format!("document.querySelector({}).getAttribute('aria-pressed') === '{on}'", json!(selector));
    stage.browser.wait(&pressed, 10).await.with_context(|| format!("{label} as a light"))
}

/// Chooses a map for a setting: opens its list, types the beginning of the label, takes it.
///
/// # Errors
/// It is not offered, or the focus is lost.
pub async fn choose(stage: &Stage, setting: &str, label: &str) -> Result<()> {
    tab_to(stage, &format!("[data-setting='{setting}']")).await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('[role=listbox]')", 5).await.context("the list")?;
    stage.browser.press(label).await?;
    stage.browser.press(Key::Enter).await?;
    let chosen =
        format!("document.querySelector('[data-setting={setting}]').textContent === {}", json!(label));
    stage.browser.wait(&chosen, 5).await?;
    ensure!(focused(stage, "data-setting").await? == setting, "the focus did not come back to the word");
    Ok(())
}

async fn to_an_answer(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    tab_to_button(stage, &stage.label_of("apart").await?).await.context("the question")?;
    stage.browser.press(" ").await?;
    stage
        .browser
        .wait("document.querySelector('.e2e-wanted').getAttribute('aria-pressed') === 'true'", 5)
        .await?;
    choose(stage, "a", "Ti K").await?;
    choose(stage, "b", "Fe K").await?;
    let sentence = stage.answer().await?;
    stage.sees("classes").await?;
    Ok(sentence)
}

async fn lights(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    for (label, on) in [("Ti K", true), ("Fe K", true), ("Ti K", false)] {
        light(stage, label, on).await?;
    }
    let one =
        "(document.querySelector('.view-canvas').dataset.shown?.match(/\"gamma\"/g) ?? []).length === 1";
    stage.browser.wait(one, 10).await.context("the view does not show the one light that is on")?;
    tab_to(stage, ".view-switch-button:first-child").await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("!document.querySelector('.view-canvas').dataset.shown.includes('lights')", 10)
        .await?;
    Ok(String::new())
}

async fn list(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    tab_to_button(stage, &stage.label_of("apart").await?).await?;
    stage.browser.press(" ").await?;
    tab_to(stage, "[data-setting='a']").await?;
    stage.browser.press(Key::Down).await?;
    stage.browser.wait("document.activeElement.matches('[role=listbox]')", 5).await?;
    let count = stage.script("return document.querySelectorAll('[role=option]').length", json!([])).await?;
    let maps = maps_of_example()?;
    ensure!(count == maps, "the list offers {count} maps");
    let active = "return [...document.querySelectorAll('[role=option]')]
        .findIndex((one) => one.id === document.activeElement.getAttribute('aria-activedescendant'))";
    for (keys, wanted) in [
        (thirtyfour::TypingData::from(Key::Home), 0),
        (Key::Down.into(), 1),
        (Key::Down.into(), 2),
        (Key::Up.into(), 1),
        (Key::End.into(), maps - 1),
        (Key::Down.into(), maps - 1),
        (Key::Home.into(), 0),
        (Key::Up.into(), 0),
    ] {
        stage.browser.press(keys).await?;
        let at = stage.script(active, json!([])).await?;
        ensure!(at == wanted, "at {at}, not at {wanted}");
    }
    stage.browser.press("pb").await?;
    let letters = "return document.getElementById(document.activeElement.getAttribute('aria-activedescendant')).textContent";
    let at = stage.script(letters, json!([])).await?;
    ensure!(at.as_str().is_some_and(|text| text.starts_with("Pb L")), "the letters lead to {at}");
    let before =
        stage.script("return document.querySelector('[data-setting=a]').textContent", json!([])).await?;
    stage.browser.press(Key::Escape).await?;
    let closed = "[...document.querySelectorAll('[role=listbox]')].every((one) => !one.checkVisibility())";
    stage.browser.wait(closed, 5).await.context("Escape leaves the list open")?;
    let after =
        stage.script("return document.querySelector('[data-setting=a]').textContent", json!([])).await?;
    ensure!(before == after, "Escape chose {after}");
    ensure!(focused(stage, "data-setting").await? == "a", "the focus did not come back to the word");
    Ok(String::new())
}

async fn picture(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    // one that shows something everywhere
    tab_to(stage, "[aria-label='Show Pb L']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.sees("\"Pb L\"").await?;
    tab_to(stage, ".view-canvas").await?;
    // the hash of what the canvas shows changes with each movement, and comes back with "fit"
    let look = "return e2e.look(document.querySelector('.view-canvas'))";
    let start = stage.script(look, json!([])).await?;
    let mut seen = vec![start.clone()];
    for key in ["+", "+", "-"] {
        stage.browser.press(key).await?;
        stage.pause().await;
        let now = stage.script(look, json!([])).await?;
        ensure!(seen.last() != Some(&now), "{key} changes nothing");
        seen.push(now);
    }
    stage.browser.press(Key::Right).await?;
    stage.pause().await;
    let moved = stage.script(look, json!([])).await?;
    ensure!(seen.last() != Some(&moved), "the arrow moves nothing");
    stage.browser.press("0").await?;
    stage.pause().await;
    let fitted = stage.script(look, json!([])).await?;
    ensure!(fitted == start, "fitting again shows another picture than at first");
    let keys = stage.browser.web.action_chain().key_down(Key::Shift).send_keys(Key::Down).key_up(Key::Shift);
    keys.perform().await?;
    stage.browser.wait("document.querySelectorAll('.view-value').length === 1", 10).await?;
    let spoken = stage
        .script("return document.querySelector('.view [aria-live=polite]').textContent", json!([]))
        .await?;
    ensure!(spoken.as_str().is_some_and(|text| !text.is_empty()), "nothing is said aloud");
    Ok(format!("said aloud: {}", spoken.as_str().unwrap_or_default()))
}

/// Waits until a call of the page gives a value.
///
/// # Errors
/// It gives another one for ten seconds.
pub async fn becomes(stage: &Stage, call: &str, wanted: &str) -> Result<()> {
    let start = std::time::Instant::now();
    loop {
        let now = stage.script(&format!("return {call}"), json!([])).await?;
        if now == wanted {
            return Ok(());
        }
        ensure!(start.elapsed().as_secs() < 10, "{call} stays {now}, not {wanted:?}");
        stage.pause().await;
    }
}

async fn set_in_place(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    tab_to(stage, "[aria-label='Show Zn K']").await?;
    stage.browser.press(Key::Enter).await?;
    let id = stage
        .script("return (await limner.maps()).find(({ label }) => label === 'Zn K').id", json!([]))
        .await?;
    let map = format!("(await limner.maps()).find(({{ id }}) => id === {id})");

    tab_to(stage, ".subject-name").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.subject-field')", 5).await?;
    stage.browser.press("sr k").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, &format!("{map}.label"), "Sr K").await?;

    tab_to(stage, ".subject-word[aria-haspopup='listbox']").await?;
    stage.browser.press(Key::Down).await?;
    stage.browser.wait("document.activeElement.matches('[role=listbox]')", 5).await?;
    stage.browser.press("fitted").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, &format!("{map}.kind"), "fitted").await?;

    for (typed, steps) in [("0,25", "[250,250]"), ("0.25 \u{d7} 0.4", "[250,400]"), ("half", "[250,400]")] {
        tab_to(stage, ".key-change").await?;
        stage.browser.press(Key::Enter).await?;
        stage.browser.wait("document.activeElement.matches('#step-field')", 5).await?;
        stage.browser.press(typed).await?;
        stage.browser.press(Key::Enter).await?;
        let grid = "await limner.grid().then((grid) => JSON.stringify([grid.step_x_um, grid.step_y_um]))";
        becomes(stage, grid, steps).await.with_context(|| format!("the step {typed}"))?;
    }
    // what is no length is told, and the field stays
    let told = "document.querySelector('.key-trouble').checkVisibility() && document.querySelector('.key-trouble').textContent.includes('millimetres')";
    stage.browser.wait(told, 5).await.context("nothing is said of a step that is no length")?;
    Ok(String::new())
}
