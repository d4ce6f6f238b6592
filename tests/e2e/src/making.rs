//! Maps made of others, with refusal, cancelling and removing; and what the look through the stack offers, carried out by its
//! button.

use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::json;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "maps are made, refused, cancelled and removed", derived).await;
    report.check(stage, "a mirrored map is found, and its button lays it right", mirrored).await;
}

/// A scan of three maps that show the same, made in the page; its argument says whether the third lies mirrored.
pub const SCENE: &str = include_str!("scene.js");

async fn derived(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Ar-K", "Fe-K", "Mn-K", "Pb-L"]).await?;
    let source = "const made = await limner.derive({ how: 'sum', of: ['Fe K', 'Mn K'] });
        const [sum, a, b] = await Promise.all([made.id, 'Fe K', 'Mn K'].map((one) => limner.map(one)));
        const wrong = sum.data.findIndex((value, at) => value !== a.data[at] + b.data[at]);
        return [made.derived.how, made.derived.of.length, made.id, wrong, sum.data.length]";
    let made = stage.script(source, json!([])).await?;
    ensure!(made[0] == "sum" && made[1] == 2, "the sum is made {made}");
    ensure!(made[3] == -1 && made[4] == 300 * 220, "the sum is wrong at {} of {}", made[3], made[4]);
    let on_sheet =
        "[...document.querySelectorAll('.sheet-made .sheet-item')].some((one) => one.checkVisibility())";
    stage.browser.wait(on_sheet, 10).await.context("the sum is not on the sheet")?;

    // Ar K shows nothing by which lines could be seen to be shifted, and the core says so rather than move them
    let refused = "return limner.derive({ how: 'line_shift', of: ['Ar K'] }).then(() => null, ({ code, message }) => ({ code, message }))";
    let refused = stage.script(refused, json!([])).await?;
    let code = refused["code"].as_str().unwrap_or_default().to_string();
    ensure!(
        ["nothing_to_repair", "cannot_be_judged"].contains(&code.as_str()),
        "a line shift ends as {refused}"
    );
    ensure!(refused["message"].as_str().is_some_and(|text| text.ends_with('.')), "it says {refused}");

    let cancelled = "const before = new Set(e2e.workers);
        const stop = new AbortController();
        const making = limner.derive({ how: 'smooth', of: ['Pb L'], sigma_px: 2 }, { signal: stop.signal });
        while (!e2e.workers.some((worker) => !before.has(worker) && worker.e2e_actions.has('load'))) {
          await new Promise((resolve) => setTimeout(resolve, 0));
        }
        stop.abort();
        const end = await making.then(() => 'made', ({ code }) => code);
        return [end, (await limner.maps()).length]";
    let cancelled = stage.script(cancelled, json!([])).await?;
    ensure!(cancelled == json!(["cancelled", 5]), "cancelled, it ends as {cancelled}");

    let removed = "await limner.remove(args[0]);
        const read = await limner.remove((await limner.maps())[0].id).then(() => 'removed', ({ code }) => code);
        return [(await limner.maps()).length, read]";
    let removed = stage.script(removed, json!([made[2]])).await?;
    ensure!(removed[0] == 4, "after removing there are {} maps", removed[0]);
    ensure!(removed[1] != "removed", "a map that was read from a file was removed");
    let off_sheet = "document.querySelectorAll('.sheet-made .sheet-item').length === 0";
    stage.browser.wait(off_sheet, 10).await.context("the sum is still on the sheet")?;
    Ok(format!("a line shift is refused as {code}, removing what was read as {}", removed[1]))
}

async fn mirrored(stage: &Stage) -> Result<String> {
    // first as it should be: nothing may be said
    let labels = stage.script(SCENE, json!([false])).await?;
    ensure!(labels == "Fe K,Cu K,Zn K", "the maps are {labels}");
    let found = "return (await limner.inspect()).filter(({ offers }) => offers.length > 0)";
    let clean = stage.script(found, json!([])).await?;
    ensure!(clean == json!([]), "a stack without fault is told of {clean}");
    stage.fresh().await?;

    stage.script(SCENE, json!([true])).await?;
    let found = stage.script(found, json!([])).await?;
    ensure!(found.as_array().is_some_and(|list| list.len() == 1), "the look finds {found}");
    let (map, offers) = (&found[0]["map"], &found[0]["offers"]);
    let third = stage.script("return (await limner.maps())[2].id", json!([])).await?;
    ensure!(*map == third && offers.as_array().is_some_and(|list| list.len() == 1), "it finds {found}");
    let label = offers[0]["label"].as_str().context("the offer has no label")?.to_string();
    let there = format!(
        "[...document.querySelectorAll('.notice-offer')].some((one) => one.checkVisibility() && one.textContent === {})",
        json!(label)
    );
    stage.browser.wait(&there, 10).await.context("the page does not show the offer")?;
    stage.browser.click(&label).await?;
    stage.browser.wait(&format!("!{there}"), 10).await.context("the offer stays")?;
    // every value lies where it was before the map was mirrored
    let same = "const values = await Promise.all(args[1].map(async ([x, y]) => {
          const { values } = await limner.read_out(x + 0.5, y + 0.5);
          const { text } = values.find(({ map }) => map === args[0]);
          return text.split(/[^0-9]+/).includes(String(e2e.straight[y * 96 + x]));
        }));
        return [values, (await limner.inspect()).filter(({ offers }) => offers.length > 0).length]";
    let same = stage.script(same, json!([third, [[20, 20], [75, 10], [70, 60], [20, 60], [0, 71]]])).await?;
    ensure!(
        same[0] == json!([true, true, true, true, true]),
        "the values do not lie as they were made: {same}"
    );
    ensure!(same[1] == 0, "after it was laid right, {} offers are left", same[1]);
    Ok(label)
}
