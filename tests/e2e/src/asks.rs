//! A table whose commas can be read in two ways: both are shown, the user chooses, and the choice outlives the worker.

use crate::keyboard::tab_to;
use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use thirtyfour::Key;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report
        .check(stage, "a table that can be read in two ways asks, and its choice comes back", two_ways)
        .await;
}

/// Two columns without decimals, or one column with decimal commas.
pub const TWO_WAYS: &str = "1,5\n2,5\n3,25\n";

/// Opens the table under this name.
///
/// # Errors
/// The page does not ask.
pub async fn open(stage: &Stage, name: &str) -> Result<Value> {
    let source = "const file = { name: args[0], bytes: new TextEncoder().encode(args[1]) };
        const { asks, maps } = await limner.open([file]);
        return { asks, maps }";
    let opened = stage.script(source, json!([name, TWO_WAYS])).await?;
    let is_asked = "document.querySelector('.asks').checkVisibility() && document.querySelectorAll('.ask-file-take').length === 2";
    stage.browser.wait(is_asked, 5).await.context("the page does not ask")?;
    Ok(opened)
}

async fn two_ways(stage: &Stage) -> Result<String> {
    let opened = open(stage, "Fe-K.csv").await?;
    ensure!(opened["maps"] == json!([]), "it is read before anybody chose: {opened}");
    let ask = &opened["asks"][0];
    let ways = ask["ways"].as_array().context("there are no ways")?;
    let shown = "return [...document.querySelectorAll('.ask-file-way')].map((one) =>
        [one.querySelector('.ask-file-take').textContent, one.querySelector('.ask-file-sample').textContent])";
    let shown = stage.script(shown, json!([])).await?;
    let wanted: Vec<Value> = ways.iter().map(|way| json!([way["text"], way["sample"]])).collect();
    ensure!(shown == json!(wanted) && shown[0] != shown[1], "{shown} is shown, not {wanted:?}");
    let text = stage.script("return document.querySelector('.asks').innerText", json!([])).await?;
    ensure!(text.as_str().is_some_and(|text| text.contains("Fe-K.csv")), "the file is not named: {text}");

    // the second way, by keys
    tab_to(stage, ".ask-file-way:nth-child(2) .ask-file-take").await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("(await limner.maps()).length === 1 && document.querySelector('.asks').hidden", 10)
        .await?;
    stage.sees("\"map\"").await?;
    let values = "const { width, height, data } = await limner.map((await limner.maps())[0].id);
        return [(await limner.maps())[0].label, width, height, [...data]]";
    let before = stage.script(values, json!([])).await?;
    let is_either = |found: &Value| {
        *found == json!(["Fe K", 2, 3, [1, 5, 2, 5, 3, 25]])
            || *found == json!(["Fe K", 1, 3, [1.5, 2.5, 3.25]])
    };
    ensure!(is_either(&before), "the map is {before}");
    let commas_apart = ways[1]["key"].as_str().is_some_and(|key| key.starts_with("comma."));
    ensure!(commas_apart == (before[1] == 2), "{} was chosen, {before} was read", ways[1]);

    // what was chosen comes back with the worker, unasked
    let call = "const worker = e2e.session();
        const picture = limner.picture({ map: 'Fe K' });
        worker.terminate();
        await picture;
        return worker !== e2e.session()";
    ensure!(stage.script(call, json!([])).await? == true, "no new worker was made");
    let after = stage.script(values, json!([])).await?;
    ensure!(before == after, "{before} came back as {after}");
    ensure!(
        stage.script("return document.querySelector('.asks').hidden", json!([])).await? == true,
        "it asks again"
    );
    let told =
        "[...document.querySelectorAll('.notice')].some((one) => one.innerText.includes('started again'))";
    stage.browser.wait(told, 5).await.context("the page does not say that it started again")?;
    Ok(format!("{} or {}", shown[0], shown[1]))
}
