//! A photo of 60 megapixels beside a stack of 20 maps of 2 megapixels: it opens without holding up the page, can be stopped, and
//! comes back with a lost worker. Times are told; what is checked is that nothing stops answering.

use crate::report::Report;
use crate::stage::{Form, Stage};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use std::time::Duration;

/// In milliseconds: how long the page may do nothing else, and how long a stop may take.
const LONGEST_GAP: f64 = 500.0;
const LONGEST_STOP: f64 = 1000.0;

/// All checks of this theme; slow.
pub async fn check(report: &mut Report, stage: &Stage) {
    if stage.form == Form::OneFile && report.is_slow {
        let most = Duration::from_secs(600);
        report.check_within(stage, "a photo of 60 megapixels beside 20 maps", most, beside_maps).await;
    }
}

async fn beside_maps(stage: &Stage) -> Result<String> {
    let before = stage.browser.memory_mb()?;
    let told = stage.script(include_str!("photo.js"), json!([9000, 6667])).await?;
    let ms = |name: &str| told[name].as_f64().with_context(|| format!("no {name}: {told}"));
    ensure!(told["photo"]["width"] == 9000 && told["photo"]["height"] == 6667, "{}", told["photo"]);
    ensure!(told["notices"].as_array().is_some_and(Vec::is_empty), "{}", told["notices"]);
    ensure!(ms("gap")? < LONGEST_GAP, "the page did nothing else for {:.0} ms: {told}", ms("gap")?);
    ensure!(
        told["code"] == "cancelled" && told["kept"] == true,
        "stopped: {} {}",
        told["code"],
        told["kept"]
    );
    ensure!(ms("stop")? < LONGEST_STOP, "a stop took {:.0} ms", ms("stop")?);
    ensure!(told["same"] == true, "the photo did not come back");
    let waits: Vec<f64> = told["waits"].as_array().into_iter().flatten().filter_map(Value::as_f64).collect();
    let longest = waits.iter().copied().fold(0.0, f64::max);
    Ok(format!(
        "{:.1} MB opened in {:.0} ms, the page busy for at most {:.0} ms of them, {} pictures of a map meanwhile in at most {longest:.0} ms; the whole photo {:.0} ms, a part {:.0} ms; stopped in {:.0} ms; back after a loss in {:.0} ms; memory of the whole browser {before} MB before, {} MB after",
        ms("mb")?,
        ms("open")?,
        ms("gap")?,
        waits.len(),
        ms("whole")?,
        ms("close")?,
        ms("stop")?,
        ms("back")?,
        stage.browser.memory_mb()?
    ))
}
