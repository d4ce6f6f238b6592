//! What is known beside the maps, on the page: analysis points by keys, warnings of lines, a reference taken as pure, spectra of regions.

use crate::keyboard::{tab_to, tab_to_button};
use crate::report::Report;
use crate::stage::{Stage, repository};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use thirtyfour::prelude::*;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "an analysis point by keys: set, said, shown, moved, removed", point).await;
    report
        .check(stage, "a mark on the picture is chosen by a press, and a point is set by one", point_by_hand)
        .await;
    report.check(stage, "a line warning by keys, and what overlaps could give", warning).await;
    report.check(stage, "a reference is taken as pure, and no element is refused", pure).await;
    report.check(stage, "spectra of regions, with marks of lines", spectrum).await;
}

async fn points(stage: &Stage) -> Result<Value> {
    stage.script("return limner.points()", json!([])).await
}

/// Opens the word "Draw" by its key and takes the choice for a point.
async fn begin_point(stage: &Stage) -> Result<()> {
    tab_to(stage, ".view-canvas").await?;
    stage.browser.press("r").await?;
    stage.browser.wait("document.activeElement.matches('.view > .listbox')", 5).await.context("the list")?;
    stage.browser.press("Add an").await?;
    stage.browser.press(Key::Enter).await?;
    let places = "document.activeElement.matches('.view-canvas.view-picking')";
    stage.browser.wait(places, 5).await.context("the picture does not take the focus for a place")
}

async fn point(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L"]).await?;
    begin_point(stage).await?;
    // The first press sets the cross where one looks, in the middle; the second moves it by a pixel.
    stage.browser.press(Key::Right).await?;
    stage.browser.press(Key::Right).await?;
    stage.browser.press(" ").await?;
    stage
        .browser
        .wait("document.activeElement.matches('.point-technique')", 5)
        .await
        .context("the technique is not asked for")?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('[role=listbox]')", 5).await?;
    stage.browser.press("Raman").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.querySelector('.point-technique').textContent === 'Raman'", 5).await?;
    tab_to(stage, "#point-material").await?;
    stage.browser.press("vermil").await?;
    stage.browser.wait("!document.querySelector('.combobox-list').hidden", 5).await?;
    stage.browser.press(Key::Down).await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.querySelector('#point-material').value.startsWith('vermilion')", 5).await?;
    tab_to_button(stage, "found").await?;
    stage.browser.press(Key::Enter).await?;
    tab_to(stage, "#point-result").await?;
    stage.browser.press("band at 253").await?;
    tab_to_button(stage, "Add the point").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("(await limner.points()).length === 1", 10).await.context("no point is added")?;
    let [point] =
        points(stage).await?.as_array().context("no list")?.clone().try_into().ok().context("one")?;
    let grid = stage.script("return limner.grid()", json!([])).await?;
    let middle = |side: &str| grid[side].as_f64().map(|v| (v / 2.0).floor() + 0.5);
    ensure!(
        point["at"][0].as_f64() == middle("width").map(|x| x + 1.0)
            && point["at"][1].as_f64() == middle("height"),
        "it is at {}",
        point["at"]
    );
    ensure!(
        (&point["pigment"], &point["says"], &point["result"])
            == (&json!("vermilion"), &json!("found"), &json!("band at 253")),
        "it says {point}"
    );
    let shown = "document.activeElement.matches('.point-name') && document.querySelector('.view-canvas').dataset.points.split(', ').includes('Point 1')
        && document.querySelector('.point-line').textContent === args[0]";
    let shown = shown.replace("args[0]", &point["text"].to_string());
    stage.browser.wait(&shown, 5).await.context("its line, its mark or the focus")?;

    // Its place is another by keys.
    tab_to_button(stage, "edit").await?;
    stage.browser.press(Key::Enter).await?;
    tab_to_button(stage, "set on the picture").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.view-canvas.view-picking')", 5).await?;
    stage.browser.press(Key::Down).await?;
    stage.browser.press(Key::Down).await?;
    stage.browser.press(Key::Enter).await?;
    let moved = format!(
        "(await limner.points())[0].at.join() === '{},{}'",
        middle("width").unwrap_or_default() + 1.0,
        middle("height").unwrap_or_default() + 1.0
    );
    stage.browser.wait(&moved, 5).await.context("it does not move")?;

    tab_to_button(stage, "Cancel").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.point-name')", 5).await.context("the focus")?;
    tab_to_button(stage, "remove").await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait(
            "(await limner.points()).length === 0 && document.activeElement.textContent === 'Add a point'",
            5,
        )
        .await
        .context("it does not go")?;
    Ok(point["text"].as_str().unwrap_or_default().to_string())
}

async fn point_by_hand(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L"]).await?;
    let hostile = "<img src=x onerror=alert(1)>";
    stage
        .script(
            "return limner.add_point({ at: [60, 40], technique: 'Raman', name: args[0], result: args[0] })",
            json!([hostile]),
        )
        .await?;
    let there = format!("document.querySelector('.view-canvas').dataset.points === {}", json!(hostile));
    stage.browser.wait(&there, 5).await.context("no mark")?;
    let at = crate::regions::places(stage, &[(60, 40), (90, 60)]).await?;
    stage.browser.web.action_chain().move_to(at[0].0, at[0].1).click().perform().await?;
    let chosen = "document.querySelector('.point.region-lit') !== null && document.querySelector('.points').checkVisibility()";
    stage.browser.wait(chosen, 5).await.context("the mark is not chosen")?;
    ensure!(
        stage.script("return document.querySelector('.points img')", json!([])).await?.is_null(),
        "a name became markup"
    );
    stage.browser.click("Add a point").await?;
    stage.browser.wait("document.activeElement.matches('.view-canvas.view-picking')", 5).await?;
    // The picture has another size beside what is to be done.
    stage.pause().await;
    stage.pause().await;
    let at = crate::regions::places(stage, &[(90, 60)]).await?;
    stage.browser.web.action_chain().move_to(at[0].0, at[0].1).click().perform().await?;
    stage.browser.wait("document.activeElement.matches('.point-technique')", 10).await?;
    stage.browser.press(Key::Escape).await?;
    stage.browser.wait("document.querySelector('.point-form').hidden", 5).await.context("Escape")?;
    ensure!(points(stage).await?.as_array().is_some_and(|all| all.len() == 1), "it was added unasked");
    Ok(hostile.to_string())
}

async fn warning(stage: &Stage) -> Result<String> {
    stage.example().await?;
    let warnings = stage.script("const as = (await limner.maps()).find(({ label }) => label === 'As K').id; return (await limner.overlaps()).filter(({ map }) => map === as)", json!([])).await?;
    let first = warnings[0]["text"].as_str().context("As K is not warned of")?.to_string();
    ensure!(first.contains("Pb"), "it is warned of {first}");
    let mark = "[...document.querySelectorAll('.sheet-item')].find((one) => one.querySelector('.sheet-label').textContent === 'As K').textContent.replaceAll('\\u00a0', ' ').includes('overlap Pb')";
    stage.browser.wait(mark, 5).await.context("no mark on the sheet")?;
    stage.click("[aria-label='Show As K']").await?;
    let line = "document.querySelector('.warnings-head')?.checkVisibility() && document.querySelector('.warnings-head').textContent.replaceAll('\\u00a0', ' ').replaceAll('\\u2060', '').includes(args[0])";
    let line = line.replace("args[0]", &json!(first).to_string());
    stage.browser.wait(&line, 10).await.context("no line under the picture")?;
    tab_to(stage, ".warnings-head").await?;
    stage.browser.press(Key::Enter).await?;
    let says = format!(
        "document.querySelectorAll('.warning').length === {} && document.querySelector('.warning').textContent.includes('To check:')",
        warnings.as_array().map_or(0, Vec::len)
    );
    stage.browser.wait(&says, 5).await.context("the list does not open")?;
    tab_to(stage, ".warnings-turn").await?;
    stage.browser.press(Key::Enter).await?;
    stage.sees("\"overlap\"").await.context("no picture of what overlaps could give")?;
    let key = "[...document.querySelectorAll('.key-list > *')].some((one) => one.textContent.includes('%') && one.textContent.includes('As'))";
    stage.browser.wait(key, 5).await.context("it has no key")?;
    let saved = stage
        .script(
            "const map = (await limner.maps()).find(({ label }) => label === 'As K').id;
             return (await (await limner.export('picture', { settings: { overlap: map }, width_px: 400 })).arrayBuffer()).byteLength",
            json!([]),
        )
        .await?;
    ensure!(saved.as_u64().is_some_and(|bytes| bytes > 1000), "saved it has {saved} bytes");
    ensure!(
        stage.script("return document.activeElement.matches('.warnings-turn')", json!([])).await? == true,
        "the focus is lost"
    );
    stage.browser.press(Key::Enter).await?;
    stage.sees("\"map\"").await.context("no way back")?;
    tab_to(stage, ".warnings-head").await?;
    stage.browser.press(Key::Escape).await?;
    stage
        .browser
        .wait("document.querySelector('.warnings-list').hidden", 5)
        .await
        .context("it stays open")?;
    Ok(first)
}

async fn pure(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L"]).await?;
    stage.script("const { width, height } = await limner.grid(); return limner.add_region({ name: 'Lead', role: 'reference', rectangle: { x: 0, y: 0, width: Math.round(width / 4), height: Math.round(height / 4) } })", json!([])).await?;
    stage.browser.wait("document.querySelector('.region') !== null", 15).await.context("no region")?;
    stage.browser.click("Draw").await?;
    stage.browser.wait("document.querySelector('.view > .listbox') !== null", 5).await?;
    let list = "//*[@role='option'][.//span[@class='listbox-text' and .='List of regions']]";
    stage.browser.web.find(By::XPath(list)).await?.click().await?;
    tab_to(stage, ".region-pure").await?;
    stage.browser.press("Xx").await?;
    stage.browser.press(Key::Enter).await?;
    let refused = "document.querySelector('.region-pure').getAttribute('aria-invalid') === 'true' && [...document.querySelectorAll('.region > .region-trouble')].some((one) => one.textContent.includes('Xx'))";
    stage.browser.wait(refused, 5).await.context("Xx passes as an element")?;
    let field = stage.browser.web.find(By::Css(".region-pure")).await?;
    field.click().await?;
    stage.script("document.querySelector('.region-pure').select()", json!([])).await?;
    stage.browser.press("Pb").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("(await limner.regions())[0].pure === 'Pb' && !document.querySelector('.region-pure').hasAttribute('aria-invalid')", 5).await.context("Pb is not taken")?;
    // It is asked of references alone.
    stage.script("await limner.set_region('Lead', { role: 'passage' })", json!([])).await?;
    stage.browser.wait("!document.querySelector('.region-pure').checkVisibility()", 5).await?;
    Ok(String::new())
}

async fn spectrum(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L"]).await?;
    stage
        .script(
            "return limner.add_region({ name: 'Frame', rectangle: { x: 10, y: 10, width: 20, height: 10 } })",
            json!([]),
        )
        .await?;
    stage.browser.wait("document.querySelector('.region') !== null", 5).await?;
    stage.browser.click("Draw").await?;
    stage.browser.wait("document.querySelector('.view > .listbox') !== null", 5).await?;
    let list = "//*[@role='option'][.//span[@class='listbox-text' and .='List of regions']]";
    stage.browser.web.find(By::XPath(list)).await?.click().await?;
    // Counts alone: their energies are asked for.
    let with = std::fs::read_to_string(repository("demo-data/spectra/frame-red-sum.txt"))?;
    let counts: Vec<&str> = with.lines().skip(1).filter_map(|line| line.split_whitespace().nth(1)).collect();
    let bare = stage.scratch.join(format!("counts {}.txt", stage.form.name()));
    std::fs::write(&bare, counts.join("\n"))?;
    let input = stage.browser.web.find(By::Css(".region input[type=file]")).await?;
    input.send_keys(bare.to_string_lossy()).await?;
    let open = "document.querySelector('.region .spectrum-form').checkVisibility() && !document.querySelector('.region .spectrum-energies').checkVisibility()";
    stage.browser.wait(open, 5).await.context("how the pixels became one is not asked")?;
    stage.browser.press(Key::Enter).await?;
    let asks = "document.activeElement.matches('.region .spectrum-energy')";
    stage.browser.wait(asks, 10).await.context("the energies are not asked for")?;
    stage.browser.press("1.52").await?;
    stage.browser.press(Key::Tab).await?;
    stage.browser.press("0.04").await?;
    stage.browser.press(Key::Enter).await?;
    let seen = "document.activeElement.matches('.spectrum-elements') && document.querySelector('.plot-spectrum canvas')?.checkVisibility()";
    stage.browser.wait(seen, 10).await.context("the spectrum is not seen")?;
    let added = stage.script("return limner.spectra()", json!([])).await?;
    ensure!(added[0]["region"] == "r1" && added[0]["first_kev"] == 1.52, "it was added as {added}");
    stage.browser.press("Pb As Hg").await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("document.querySelectorAll('.spectrum-label').length > 5", 10)
        .await
        .context("no marks")?;
    stage.pause().await;
    let apart = "const boxes = [...document.querySelectorAll('.spectrum-label')].map((one) => one.getBoundingClientRect());
        return boxes.some((a, i) => boxes.some((b, j) => i < j && a.left < b.right && b.left < a.right && a.top < b.bottom - 1 && b.top < a.bottom - 1))";
    ensure!(stage.script(apart, json!([])).await? == false, "labels cover each other");
    stage.browser.press(Key::Tab).await?;
    tab_to(stage, "[aria-label='Close the spectrum']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("!document.querySelector('.view-spectrum').checkVisibility()", 5).await?;
    // One with energies is not asked about.
    let input = stage.browser.web.find(By::Css(".region input[type=file]")).await?;
    input.send_keys(repository("demo-data/spectra/smalt-sum.txt").canonicalize()?.to_string_lossy()).await?;
    stage.browser.wait(open, 5).await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait(seen, 10).await.context("the second spectrum is not seen")?;
    stage.click("[aria-label='remove smalt-sum.txt']").await?;
    stage.browser.wait("(await limner.spectra()).length === 1 && !document.querySelector('.view-spectrum').checkVisibility()", 5).await.context("it does not go")?;
    Ok(added[0]["text"].as_str().unwrap_or_default().to_string())
}
