//! Regions on the page: drawn by mouse and by keys, named and changed in place, made of limits and of each other, and as files.

use crate::keyboard::tab_to;
use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use thirtyfour::prelude::*;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "a rectangle is drawn by mouse, named, seen and hidden", by_mouse).await;
    report
        .check(stage, "freehand and a clicked polygon are drawn by mouse; a corner is dragged", by_hand)
        .await;
    report.check(stage, "a polygon is drawn and changed by keys", by_keys).await;
    report.check(stage, "regions of limits, of each other and of a file", made_of).await;
    report.check(stage, "a region of a class of an answer, and of a mask in a file", of_class_and_file).await;
    report.check(stage, "a region comes back with a lost worker, and goes for good", kept).await;
}

/// The regions as the core has them.
///
/// # Errors
/// The page does not answer.
pub async fn regions(stage: &Stage) -> Result<Value> {
    stage.script("return limner.regions()", json!([])).await
}

/// Opens the word "Draw" above the picture and takes one of its choices.
async fn draw(stage: &Stage, choice: &str) -> Result<()> {
    stage.browser.click("Draw").await?;
    stage.browser.wait("document.querySelector('.view > .listbox') !== null", 5).await?;
    let path = format!("//*[@role='option'][.//span[@class='listbox-text' and .='{choice}']]");
    stage.browser.web.find(By::XPath(&path)).await.with_context(|| choice.to_string())?.click().await?;
    let draws =
        "document.activeElement.matches('.view-drawing') && !document.querySelector('.view-strip').hidden";
    stage.browser.wait(draws, 5).await.context("the picture does not take the focus to be drawn on")
}

/// Where corners of pixels of the grid stand in the window, from the view that the picture was last asked for.
///
/// # Errors
/// No picture was asked for.
pub async fn places(stage: &Stage, corners: &[(i64, i64)]) -> Result<Vec<(i64, i64)>> {
    stage.pause().await;
    let source = "const box = document.querySelector('.view-canvas').getBoundingClientRect();
        const { view } = e2e.asked_pictures.findLast(({ view }) => view?.out_width === document.querySelector('.view-canvas').width);
        return args[0].map(([x, y]) => [box.left + ((x - view.x) / view.width) * box.width, box.top + ((y - view.y) / view.height) * box.height])";
    let found = stage.script(source, json!([corners])).await?;
    let list = found.as_array().context("no places")?;
    let place = |at: &Value| Some((at[0].as_f64()?.round() as i64, at[1].as_f64()?.round() as i64));
    list.iter().map(|at| place(at).context("no place")).collect()
}

/// What the picture looks like when it has come to rest, with nothing pointed at.
async fn look(stage: &Stage) -> Result<Value> {
    stage.browser.web.action_chain().move_to(5, 5).perform().await?;
    stage.pause().await;
    stage.script("return e2e.look(document.querySelector('.view-canvas'))", json!([])).await
}

/// Presses keys while Shift is held.
pub async fn far(stage: &Stage, key: Key, times: usize) -> Result<()> {
    for _ in 0..times {
        let keys =
            stage.browser.web.action_chain().key_down(Key::Shift).send_keys(key.clone()).key_up(Key::Shift);
        keys.perform().await?;
    }
    Ok(())
}

async fn by_mouse(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L"]).await?;
    let bare = look(stage).await?;
    draw(stage, "Draw a rectangle").await?;
    let at = places(stage, &[(30, 20), (45, 40), (60, 50)]).await?;
    let hand = stage.browser.web.action_chain().move_to(at[0].0, at[0].1).click_and_hold();
    hand.move_to(at[1].0, at[1].1).move_to(at[2].0, at[2].1).release().perform().await?;
    let asked =
        "document.activeElement.matches('.region-name') && document.activeElement.value === 'Region 1'";
    stage.browser.wait(asked, 10).await.context("its name is not asked for")?;
    stage.browser.press("Bay").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("(await limner.regions())[0].name === 'Bay'", 5).await.context("its name")?;
    stage.browser.wait("document.activeElement.matches('.view-canvas')", 5).await.context("the focus")?;

    let [region] =
        regions(stage).await?.as_array().context("no list")?.clone().try_into().ok().context("one region")?;
    let wanted = json!({"x": 30, "y": 20, "width": 30, "height": 30});
    ensure!(region["rectangle"] == wanted, "it is {}", region["rectangle"]);
    ensure!(region["pixels"] == 900, "it has {} pixels", region["pixels"]);
    // 900 pixels of 0.5 mm by 0.5 mm
    let area = region["area_text"].as_str().unwrap_or_default().to_string();
    ensure!(area.starts_with("225"), "its area is {area}");
    let shown = "document.querySelector('.region-area').textContent === args[0] && document.querySelector('.region-name').value === 'Bay'";
    ensure!(
        stage.script(&format!("return {shown}"), json!([area])).await? == true,
        "the list does not show it"
    );

    let outlined = look(stage).await?;
    ensure!(outlined != bare, "no outline is drawn");
    stage.browser.press("o").await?;
    stage.browser.wait("document.querySelector('.view-canvas').dataset.regions === ''", 5).await?;
    ensure!(look(stage).await? == bare, "without outlines the picture is not as it was");
    stage.browser.press("o").await?;
    stage.browser.wait("document.querySelector('.view-canvas').dataset.regions === 'r1'", 5).await?;
    ensure!(look(stage).await? == outlined, "the outline does not come back");

    // seen in every view
    stage.browser.click("2 views").await?;
    let both = "e2e.views().length === 2 && e2e.views().every((one) => one.dataset.regions === 'r1')";
    stage.browser.wait(both, 10).await.context("not seen in both views")?;
    Ok(area)
}

async fn by_hand(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    // a circle of 25 pixels around 60, 50
    draw(stage, "Draw freehand").await?;
    let circle: Vec<(i64, i64)> = (0..=40)
        .map(|step| {
            let (sin, cos) = (f64::from(step) * std::f64::consts::TAU / 40.0).sin_cos();
            ((60.0 + 25.0 * cos).round() as i64, (50.0 + 25.0 * sin).round() as i64)
        })
        .collect();
    let at = places(stage, &circle).await?;
    let mut hand = stage.browser.web.action_chain().move_to(at[0].0, at[0].1).click_and_hold();
    for &(x, y) in &at[1..] {
        hand = hand.move_to(x, y);
    }
    hand.release().perform().await?;
    stage.browser.wait("(await limner.regions()).length === 1", 10).await.context("no freehand region")?;
    let pixels = regions(stage).await?[0]["pixels"].as_f64().unwrap_or_default();
    let area = std::f64::consts::PI * 25.0 * 25.0;
    ensure!((pixels / area - 1.0).abs() < 0.03, "the circle has {pixels} pixels, not {area:.0}");
    stage.browser.wait("document.activeElement.matches('.region-name')", 5).await?;
    stage.browser.press(Key::Enter).await?;

    // a square point by point, closed by a double click on the last
    draw(stage, "Draw a polygon").await?;
    let corners = places(stage, &[(90, 20), (110, 20), (110, 40), (90, 40)]).await?;
    let mut hand = stage.browser.web.action_chain();
    for &(x, y) in &corners {
        hand = hand.move_to(x, y).click();
    }
    hand.click().perform().await?;
    stage.browser.wait("(await limner.regions()).length === 2", 10).await.context("no polygon")?;
    let square = regions(stage).await?[1].clone();
    ensure!(square["polygon"].as_array().map(Vec::len) == Some(4), "its corners are {}", square["polygon"]);
    ensure!(square["pixels"] == 400, "the square has {} pixels", square["pixels"]);
    stage.browser.wait("document.activeElement.matches('.region-name')", 5).await?;
    stage.browser.press(Key::Enter).await?;

    // its upper left corner ten pixels up
    stage.click("[aria-label='reshape Region 2']").await?;
    stage.browser.wait("document.querySelector('.strip').checkVisibility()", 5).await?;
    let ends = places(stage, &[(90, 20), (90, 10)]).await?;
    let hand = stage.browser.web.action_chain().move_to(ends[0].0, ends[0].1).click_and_hold();
    hand.move_to(ends[1].0, ends[1].1).release().perform().await?;
    stage.browser.click("Done").await?;
    // the triangle of 20 by 10 pixels above it is half inside
    let grown = "(await limner.regions())[1].pixels > 480 && (await limner.regions())[1].pixels < 520";
    stage.browser.wait(grown, 10).await.context("the corner was not dragged")?;
    Ok(format!("{pixels} pixels in the circle"))
}

async fn of_class_and_file(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Hg-L", "Pb-L"]).await?;
    stage.ask("apart", &[("a", "Pb L"), ("b", "Hg L")]).await?;
    stage.sees("classes").await?;
    stage.browser.click("region of a class").await?;
    stage.browser.wait("document.querySelector('.view-foot .listbox') !== null", 5).await?;
    stage.click(".view-foot .listbox-option").await?;
    stage.browser.wait("document.querySelector('.strip-area').textContent !== ''", 10).await?;
    stage.browser.click("Add region").await?;
    stage.browser.wait("(await limner.regions()).length === 1", 10).await.context("no region")?;
    // the first class of the key is A without B, 2 in the raster
    let source = "const { rasters } = await limner.ask('apart', { a: 'Pb L', b: 'Hg L' });
        const { mask, makers } = await limner.region((await limner.regions())[0].id);
        const wrong = mask.data.findIndex((inside, at) => (inside !== 0) !== (rasters.classes.data[at] === 2));
        return [wrong, mask.data.filter(Boolean).length, makers.length]";
    let class = stage.script(source, json!([])).await?;
    ensure!(class[0] == -1 && class[1] != 0 && class[2] == 2, "the class is wrong: {class}");

    let file = stage.scratch.join(format!("left half {}.png", stage.form.name()));
    let source =
        "const { id } = await limner.add_region({ rectangle: { x: 0, y: 0, width: 150, height: 220 } });
        const png = await limner.export('mask', { region: id });
        await limner.remove(id);
        return new Uint8Array(await png.arrayBuffer())";
    std::fs::write(&file, stage.browser.bytes(source, json!([])).await?)?;
    let input = stage.browser.web.find(By::Css(".regions input[type=file]")).await?;
    input.send_keys(file.to_string_lossy()).await?;
    let come = format!("(await limner.regions())[1]?.name === 'left half {}'", stage.form.name());
    stage.browser.wait(&come, 10).await.context("the mask does not come under its file's name")?;
    ensure!(regions(stage).await?[1]["pixels"] == 150 * 220, "it has {}", regions(stage).await?[1]["pixels"]);
    Ok(format!("{} pixels of the class", class[1]))
}

/// Takes the tool for corners in hand, by keys.
///
/// # Errors
/// It is not reached.
pub async fn begin_polygon(stage: &Stage) -> Result<()> {
    tab_to(stage, ".view-canvas").await?;
    stage.browser.press("r").await?;
    stage.browser.wait("document.activeElement.matches('.view > .listbox')", 5).await.context("the list")?;
    stage.browser.press(Key::Down).await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.view-drawing')", 5).await.context("the picture")
}

async fn by_keys(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    begin_polygon(stage).await?;
    // a right triangle with legs of 20 pixels from the middle; one corner too many is taken back
    stage.browser.press(Key::Right).await?;
    stage.browser.press(" ").await?;
    far(stage, Key::Right, 2).await?;
    stage.browser.press(" ").await?;
    far(stage, Key::Down, 2).await?;
    stage.browser.press(" ").await?;
    far(stage, Key::Right, 1).await?;
    stage.browser.press(" ").await?;
    stage.browser.press(Key::Backspace).await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.region-name')", 10).await.context("its name")?;
    stage.browser.press(Key::Enter).await?;
    let region = regions(stage).await?[0].clone();
    ensure!(region["polygon"] == json!([[150, 110], [170, 110], [170, 130]]), "it is {}", region["polygon"]);
    // 190 centres of pixels lie inside, 20 more on the slope
    let pixels = region["pixels"].as_u64().unwrap_or_default();
    ensure!((190..=210).contains(&pixels), "it has {pixels} pixels");

    // its second corner goes ten pixels to the right
    tab_to(stage, "[aria-label^='reshape']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.view-drawing')", 5).await.context("reshaping")?;
    stage.browser.press(Key::PageDown).await?;
    far(stage, Key::Right, 1).await?;
    stage.browser.press(Key::Enter).await?;
    let moved = "JSON.stringify((await limner.regions())[0].polygon) === '[[150,110],[180,110],[170,130]]'";
    stage.browser.wait(moved, 10).await.context("the corner did not move")?;
    // and given up, a change is none
    tab_to(stage, "[aria-label^='reshape']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.activeElement.matches('.view-drawing')", 5).await?;
    far(stage, Key::Right, 3).await?;
    stage.browser.press(Key::Escape).await?;
    stage.browser.wait("document.querySelector('.view-strip').hidden", 5).await?;
    ensure!(stage.script(&format!("return {moved}"), json!([])).await? == true, "Escape kept the change");
    Ok(format!("{pixels} pixels"))
}

async fn made_of(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    // what the map is shown from upward, held against the values
    stage.browser.click("as region").await?;
    let proposed = "document.querySelector('.strip-area').textContent !== ''";
    stage.browser.wait(proposed, 10).await.context("no area before it is added")?;
    ensure!(regions(stage).await? == json!([]), "it is kept before it is added");
    stage.browser.click("Add region").await?;
    stage.browser.wait("(await limner.regions()).length === 1", 10).await?;
    let same = "const [region] = await limner.regions();
        const { data } = await limner.map(region.threshold.map);
        const { mask } = await limner.region(region.id);
        const { low, high } = region.threshold;
        const wrong = mask.data.findIndex((inside, at) => (inside !== 0) !== (data[at] >= low && data[at] <= (high ?? Infinity)));
        return [wrong, region.pixels, mask.data.filter(Boolean).length, region.makers.length, document.querySelector('.histogram-handle').getAttribute('aria-valuenow') === String(low)]";
    let same = stage.script(same, json!([])).await?;
    ensure!(
        same[0] == -1 && same[1] == same[2] && same[3] == 1 && same[4] == true,
        "the threshold is wrong: {same}"
    );

    // without a rectangle, by the sentence in the list
    stage
        .script(
            "return limner.add_region({ name: 'Box', rectangle: { x: 20, y: 20, width: 60, height: 60 } })",
            json!([]),
        )
        .await?;
    stage.browser.wait("document.querySelectorAll('.region').length === 2", 5).await?;
    stage.click(".regions-combine summary").await?;
    let open = "document.querySelector(\"[data-setting='way']\")?.checkVisibility()";
    stage.browser.wait(open, 5).await.context("the sentence")?;
    stage.click("[data-setting='way']").await?;
    let path = "//*[@role='option'][.//span[@class='listbox-text' and .='without']]";
    stage.browser.web.find(By::XPath(path)).await?.click().await?;
    let ready = "!document.querySelector('.regions-combine .button').disabled";
    stage.browser.wait(ready, 10).await.context("it cannot be made")?;
    stage.click(".regions-combine .button").await?;
    stage.browser.wait("(await limner.regions()).length === 3", 10).await.context("it is not made")?;
    let without = "const masks = await Promise.all((await limner.regions()).map(({ id }) => limner.region(id).then(({ mask }) => mask.data)));
        const [a, b, made] = masks;
        return made.findIndex((inside, at) => (inside !== 0) !== (a[at] !== 0 && b[at] === 0))";
    let wrong = stage.script(without, json!([])).await?;
    ensure!(wrong == -1, "it is wrong at {wrong}");
    stage.browser.wait("document.activeElement.matches('.region-name')", 5).await?;
    stage.browser.press("Rest").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("(await limner.regions())[2].name === 'Rest'", 5).await?;

    // out of the page and back, the same pixels
    stage.script("e2e.saved.length = 0", json!([])).await?;
    stage.click("[aria-label='save mask Rest']").await?;
    stage.browser.wait("e2e.saved.length === 1", 10).await.context("no file")?;
    let back = "const mask_png = new Uint8Array(await e2e.saved[0].arrayBuffer());
        const { id } = await limner.add_region({ name: 'Back', mask_png });
        const [a, b] = await Promise.all([limner.region('Rest'), limner.region(id)]);
        return a.mask.data.findIndex((one, at) => (one !== 0) !== (b.mask.data[at] !== 0))";
    ensure!(stage.script(back, json!([])).await? == -1, "the mask comes back as another");

    // a name that is taken is refused beside it, and stays to be mended
    let name = stage.browser.web.find(By::Css("[aria-label='Name of Back']")).await?;
    name.click().await?;
    stage.script("document.activeElement.select()", json!([])).await?;
    stage.browser.press("Rest").await?;
    stage.browser.press(Key::Enter).await?;
    let refused = "document.querySelector('.region-name[aria-invalid]')?.value === 'Rest' && [...document.querySelectorAll('.region .region-trouble')].some((one) => one.checkVisibility())";
    stage.browser.wait(refused, 5).await.context("a name that is taken is not refused")?;
    Ok(format!("{} pixels", same[1]))
}

async fn kept(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    stage.script("return limner.add_region({ name: 'Box', role: 'ground', rectangle: { x: 20, y: 20, width: 60, height: 60 } })", json!([])).await?;
    let before = regions(stage).await?;
    stage.script("return e2e.tell(e2e.session(), { spoil: true })", json!([])).await?;
    stage.script("return limner.lights(['Fe K']).catch(() => null)", json!([])).await?;
    let after = regions(stage).await?;
    ensure!(after == before, "{before} came back as {after}");
    stage.browser.wait("document.querySelectorAll('.region').length === 1", 5).await?;
    stage.script("return limner.remove('Box')", json!([])).await?;
    stage.browser.wait("document.querySelectorAll('.region').length === 0", 5).await.context("the list")?;
    stage.browser.wait("document.querySelector('.view-canvas').dataset.regions === ''", 5).await?;
    Ok(after[0]["text"].as_str().unwrap_or_default().to_string())
}
