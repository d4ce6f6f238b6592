//! Pictures of the page in its main states, in two sizes and in light and dark, under `target/e2e/`. They are for eyes; what
//! is checked is that each state is reached by mouse, that nothing is cut off sideways, that the words of every button lie within
//! it, and that dark is not light.

use crate::report::Report;
use crate::stage::{Form, Stage, maps_of_example};
use anyhow::{Context, Result, ensure};
use serde_json::json;
use std::time::Duration;

/// Four albums of the whole example.
const LONG: Duration = Duration::from_secs(400);

const SIZES: [(u32, u32); 2] = [(1280, 800), (1680, 1050)];

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    if stage.form == Form::OneFile {
        report.check_within(stage, "pictures of every state", LONG, states).await;
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
        stage.example_has_come().await?;
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

        self.regions(&mut list).await?;
        self.beside(&mut list).await?;
        self.told(&mut list).await?;
        Ok(list)
    }

    /// Regions: one that is drawn, the list, and one that is proposed.
    async fn regions(&self, list: &mut Vec<(&'static str, Vec<u8>)>) -> Result<()> {
        let stage = self.stage;
        let source = "await limner.add_region({ name: 'Compass', rectangle: { x: 168, y: 68, width: 68, height: 88 } });
            await limner.add_region({ name: 'Coast', role: 'reference', threshold: { map: 'Cu K', low: 2000 } });
            await limner.add_region({ name: 'All but the compass', combine: { how: 'without', of: ['Coast', 'Compass'] } })";
        stage.script(source, json!([])).await?;
        stage.click("[aria-label='Show Pb L']").await?;
        stage.sees("\"Pb L\"").await?;
        stage.browser.click("Draw").await?;
        stage.browser.wait("document.querySelector('.view > .listbox') !== null", 5).await?;
        list.push(("regions-menu", self.take("regions-menu").await?));
        stage.click(".view > .listbox .listbox-option:nth-child(2)").await?;
        stage.browser.wait("document.querySelector('.strip').checkVisibility()", 5).await?;
        list.push(("regions-drawing", self.take("regions-drawing").await?));
        stage.browser.click("Cancel").await?;
        stage
            .script("document.querySelector('.sheet-part:has(.regions) > summary').click()", json!([]))
            .await?;
        stage.click(".regions-combine summary").await?;
        let ready = "document.querySelector('.regions-combine .making-said').textContent !== ''";
        stage.browser.wait(ready, 10).await.context("a region of others")?;
        list.push(("regions-combine", self.take("regions-combine").await?));
        stage.browser.click("as region").await?;
        stage.browser.wait("document.querySelector('.strip-area').textContent !== ''", 10).await?;
        list.push(("regions-of-limits", self.take("regions-of-limits").await?));
        stage.browser.click("Cancel").await?;
        stage
            .script("document.querySelector('.sheet-part:has(.regions) > summary').click()", json!([]))
            .await?;
        for name in ["All but the compass", "Coast", "Compass"] {
            stage.script("return limner.remove(args[0])", json!([name])).await?;
        }
        stage.browser.click("Answer").await?;
        stage.sees("classes").await
    }

    /// What opens beside and below the picture.
    async fn beside(&self, list: &mut Vec<(&'static str, Vec<u8>)>) -> Result<()> {
        let stage = self.stage;
        stage.browser.click("2 views").await?;
        stage.click("[aria-label='Show Pb L']").await?;
        let limits = "e2e.views().length === 2 && document.querySelector('.limits').checkVisibility() && document.querySelector('.histogram-handle').checkVisibility()";
        stage.browser.wait(limits, 20).await.context("two views with limits")?;
        list.push(("two-views-with-limits", self.take("two-views-with-limits").await?));

        stage.browser.click("4 views").await?;
        stage
            .browser
            .wait("e2e.views().length === 4 && e2e.views().every((one) => one.dataset.shown)", 20)
            .await?;
        list.push(("four-views", self.take("four-views").await?));

        stage.browser.click("1 view").await?;
        stage.browser.click("Save picture").await?;
        stage.browser.wait("document.querySelector('.save').checkVisibility()", 5).await?;
        list.push(("save-picture", self.take("save-picture").await?));
        stage.browser.click("Save picture").await?;

        stage.browser.click("Name the maps").await?;
        let maps = maps_of_example()?;
        let rows = format!("document.querySelectorAll('.naming-row .naming-line').length === {maps}");
        stage.browser.wait(&rows, 5).await?;
        list.push(("names", self.take("names").await?));
        stage.browser.click("Done").await?;

        for (name, body) in [("scan", ".scan"), ("make-a-map", ".making")] {
            let summary = format!(".sheet-part:has({body}) > summary");
            stage.click(&summary).await?;
            let open = format!("document.querySelector('{body}').checkVisibility()");
            stage.browser.wait(&open, 5).await.with_context(|| name.to_string())?;
            list.push((name, self.take(name).await?));
            stage.click(&summary).await?;
        }
        Ok(())
    }

    /// What the page says by itself.
    async fn told(&self, list: &mut Vec<(&'static str, Vec<u8>)>) -> Result<()> {
        let stage = self.stage;
        stage.fresh().await?;
        stage.script(crate::making::SCENE, json!([true])).await?;
        let offer = "document.querySelector('.notice-offer')?.checkVisibility()";
        stage.browser.wait(offer, 10).await.context("a notice with an offer")?;
        stage.sees("\"map\"").await?;
        list.push(("notice-with-offer", self.take("notice-with-offer").await?));

        stage.fresh().await?;
        crate::asks::open(stage, "Fe-K.csv").await?;
        list.push(("ask", self.take("ask").await?));
        Ok(())
    }

    async fn take(&self, state: &str) -> Result<Vec<u8>> {
        // fonts, thumbnails and the pointer's last hover come to rest
        self.stage.pause().await;
        let wide = "return document.documentElement.scrollWidth - innerWidth";
        let over = self.stage.script(wide, json!([])).await?;
        ensure!(over.as_i64().is_some_and(|over| over <= 0), "{state} is {over} pixels too wide");
        let burst = "return [...document.querySelectorAll('button')]
            .filter((one) => one.checkVisibility() && getComputedStyle(one).clipPath === 'none' && getComputedStyle(one).textOverflow !== 'ellipsis' && one.scrollWidth > one.clientWidth + 1)
              .map((one) => one.textContent)";
        let burst = self.stage.script(burst, json!([])).await?;
        ensure!(burst == json!([]), "{state}: the words of these buttons run over their edges: {burst}");
        let name = format!("{state}-{}x{}-{}.png", self.width, self.height, self.scheme);
        self.stage.browser.screenshot(&self.stage.scratch.join(name)).await
    }
}
