//! Pictures of the page in its main states, in two sizes and in light and dark, under `target/e2e/`. They are for eyes; what
//! is checked is that each state is reached by mouse, that nothing is cut off sideways, and that dark is not light.

use crate::report::Report;
use crate::stage::{Form, Stage};
use anyhow::{Context, Result, ensure};
use serde_json::json;

const SIZES: [(u32, u32); 2] = [(1280, 800), (1680, 1050)];

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    if stage.form == Form::OneFile {
        report.check(stage, "pictures of every state", states).await;
    }
}

async fn states(stage: &Stage) -> Result<String> {
    let mut count = 0;
    for (width, height) in SIZES {
        let mut looks = Vec::new();
        for scheme in ["light", "dark"] {
            let album = Album { stage, width, height, scheme };
            looks.push(album.fill().await.with_context(|| format!("{width} x {height}, {scheme}"))?);
        }
        for (light, dark) in looks[0].iter().zip(&looks[1]) {
            ensure!(light.1 != dark.1, "{} looks the same in light and dark at {width} x {height}", light.0);
            count += 2;
        }
    }
    stage.browser.command("Emulation.clearDeviceMetricsOverride", json!({})).await?;
    stage.browser.command("Emulation.setEmulatedMedia", json!({"features": []})).await?;
    Ok(format!("{count} in target/e2e"))
}

/// The pictures of one size and scheme.
struct Album<'a> {
    stage: &'a Stage,
    width: u32,
    height: u32,
    scheme: &'a str,
}

impl Album<'_> {
    async fn fill(&self) -> Result<Vec<(&'static str, Vec<u8>)>> {
        let stage = self.stage;
        stage.browser.appear(self.width, self.height, self.scheme).await?;
        stage.fresh().await?;
        let mut list = vec![("empty", self.take("empty").await?)];

        stage.browser.click("Open the example").await?;
        stage.browser.wait("document.querySelectorAll('.sheet-picture').length === 9", 30).await?;
        stage.click("[aria-label='Show Fe K']").await?;
        stage.sees("\"Fe K\"").await?;
        list.push(("map", self.take("map").await?));

        for label in ["Fe K", "Pb L", "Hg L"] {
            stage.click(&format!("[aria-label='{label} as a light']")).await?;
        }
        let three =
            "(document.querySelector('.view-canvas').dataset.shown?.match(/\"gamma\"/g) ?? []).length === 3";
        stage.browser.wait(three, 20).await?;
        stage.sees("\"lights\"").await?;
        list.push(("overlay", self.take("overlay").await?));

        stage.ask("ratio", &[("a", "Mn K"), ("b", "Fe K")]).await?;
        stage.sees("count_ratio").await?;
        list.push(("ratio", self.take("ratio").await?));

        stage.ask("apart", &[("a", "Ti K"), ("b", "Fe K")]).await?;
        stage.sees("classes").await?;
        list.push(("apart", self.take("apart").await?));
        Ok(list)
    }

    async fn take(&self, state: &str) -> Result<Vec<u8>> {
        // fonts, thumbnails and the pointer's last hover come to rest
        self.stage.pause().await;
        let wide = "return document.documentElement.scrollWidth - innerWidth";
        let over = self.stage.script(wide, json!([])).await?;
        ensure!(over.as_i64().is_some_and(|over| over <= 0), "{state} is {over} pixels too wide");
        let name = format!("{state}-{}x{}-{}.png", self.width, self.height, self.scheme);
        self.stage.browser.screenshot(&self.stage.scratch.join(name)).await
    }
}
