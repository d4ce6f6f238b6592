//! A second scan: stated in the table of names, aligned, compared with the first, outlined over it, and laid on its grid.

use crate::keyboard::becomes;
use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::json;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "a second scan is stated, aligned, compared and laid on the grid", second).await;
}

/// Two scans of one design, made in the page.
const SCANS: &str = include_str!("scans.js");

/// True where the page shows an element with this text.
fn seen(selector: &str, text: &str) -> String {
    format!(
        "[...document.querySelectorAll({})].some((one) => one.checkVisibility() && one.textContent.includes({}))",
        json!(selector),
        json!(text)
    )
}

async fn second(stage: &Stage) -> Result<String> {
    let maps = stage.script(SCANS, json!([])).await?;
    ensure!(
        maps == "Fe K (m1) 160,Ca K (m2) 160,Fe K (m3) 100,Ca K (m4) 100",
        "before the scans are told apart the maps are {maps}"
    );

    // stated in the table: one row stands for its folder
    stage.browser.wait(&seen(".sheet-naming", "Name the maps"), 10).await?;
    stage.browser.click("Name the maps").await?;
    stage.click(".naming-list > :nth-child(3) .naming-scan").await?;
    let choice = "[...document.querySelectorAll('.listbox-option')].find((one) => one.textContent.startsWith('second scan, with its folder'))";
    stage.browser.wait(&format!("{choice} !== undefined"), 5).await.context("its folder is not offered")?;
    stage.script(&format!("{choice}.click()"), json!([])).await?;
    stage.browser.click("Set 2 maps").await?;
    let fields = "await limner.maps().then((maps) => maps.map(({ field }) => field).join())";
    becomes(stage, fields, "0,0,1,1").await?;
    stage.browser.wait(&seen(".sheet-scan .sheet-title", "Second scan"), 10).await?;

    // four matching points; the place of a pixel of the second scan as it was made
    let align = "const second = (await limner.maps())[2].id;
        const at = [[10, 12], [90, 15], [85, 118], [12, 110]];
        const points = at.map(([u, v]) => ({ from: [u, v], to: [0.8 * u + 76.5, 0.8 * v + 8.5] }));
        const { trouble, corners } = await limner.align({ map: second, points });
        return [trouble, corners]";
    let aligned = stage.script(align, json!([])).await?;
    ensure!(aligned[0] == "", "it is not aligned: {aligned}");
    let corners: Vec<(f64, f64)> = serde_json::from_value(aligned[1].clone())?;
    for ((x, y), (a, b)) in corners.iter().zip([(76.5, 8.5), (156.5, 8.5), (156.5, 112.5), (76.5, 112.5)]) {
        ensure!((x - a).hypot(y - b) < 1e-6, "a corner lies at {x}, {y}");
    }
    // outlined over the first scan, and not over itself
    stage.click(".sheet-list [aria-label='Show Fe K']").await?;
    stage.browser.wait("e2e.views()[0].dataset.scans === 'second scan'", 10).await.context("no outline")?;
    stage.click(".sheet-scan [aria-label='Show Fe K (second scan)']").await?;
    stage
        .browser
        .wait("e2e.views()[0].dataset.scans === ''", 10)
        .await
        .context("it is outlined over itself")?;

    // compared in the place where it is aligned: the same line of both is proposed
    stage.click(".sheet-scan .sheet-align").await?;
    stage.browser.wait(&seen(".aligning-title", "Align the second scan"), 5).await?;
    let proposed = "[...document.querySelectorAll('.aligning-part .sentence-setting')].filter((one) => one.checkVisibility()).slice(0, 2).map((one) => one.textContent).join() === 'Fe K,Fe K'";
    stage.browser.wait(proposed, 5).await.context("the same line is not proposed")?;
    stage.browser.click("Compare their counts").await?;
    stage
        .browser
        .wait(&seen(".aligning-compared", "times the counts"), 30)
        .await
        .context("nothing is said of the counts")?;
    let compared = "const { ratio, low, high, text } = await limner.compare_scans({ map: (await limner.maps())[2].id });
        return [ratio, low, high, [...document.querySelectorAll('.aligning-compared')][0].textContent === text.join('')]";
    let compared = stage.script(compared, json!([])).await?;
    let number = |at: usize| compared[at].as_f64().unwrap_or(f64::NAN);
    ensure!((number(0) - 0.87).abs() < 0.02, "made 0.87 as bright, it is found {compared}");
    ensure!(number(1) < number(0) && number(0) < number(2), "the interval is {compared}");
    ensure!(compared[3] == true, "the page does not say what the core says");

    // laid on the grid: a map of its size, whose counts are those of the second scan but for its rim
    stage.browser.click("Lay on the grid").await?;
    stage.browser.wait(&seen(".aligning-made", "Made: "), 30).await.context("it is not laid")?;
    let laid = "const map = (await limner.maps()).find(({ derived }) => derived);
        const { width, height, data } = await limner.map(map.id);
        const sum = (all) => all.reduce((total, value) => total + (Number.isFinite(value) ? value : 0), 0);
        return [width, height, sum(data) / sum(e2e.second), map.marks.join()]";
    let laid = stage.script(laid, json!([])).await?;
    ensure!(laid[0] == 160 && laid[1] == 120, "it is {laid}");
    let kept = laid[2].as_f64().unwrap_or(f64::NAN);
    ensure!((0.95..=1.0).contains(&kept), "{kept} of the counts are kept");
    stage.browser.wait("document.querySelector('.sheet-made .sheet-item') !== null", 10).await?;
    stage.browser.click("Done").await?;
    let back = "document.activeElement.matches('.sheet-scan .sheet-align')";
    stage.browser.wait(back, 5).await.context("the focus does not go back to the scan's word")?;
    Ok(format!("{:.3} as bright, {:.1} % of the counts laid, marked {}", number(0), 100.0 * kept, laid[3]))
}
