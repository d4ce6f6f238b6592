//! The built page in a real browser, as one file from disk and as a site: `limner-e2e CHROMIUM DRIVER [TEXT...]` runs every
//! check, or those whose name holds one of the texts, and closes with their count. With `LIMNER_SLOW=1` also those that take minutes.

mod aligning;
mod answers;
mod asks;
mod browser;
mod colours;
mod files;
mod findings;
mod found;
mod golden;
mod handed;
mod history;
mod hostile;
mod keeping;
mod keyboard;
mod large;
mod linked;
mod making;
mod marks;
mod page;
mod photo;
mod pictures;
mod proxy;
mod recovery;
mod regions;
mod report;
mod round_trip;
mod scans;
mod secrecy;
#[path = "../../../xtask/src/serve.rs"]
mod serve;
mod share;
mod speed;
mod stage;
mod story;
mod under;
mod work;

use anyhow::{Context, Result, bail};
use browser::Programs;
use report::Report;
use stage::{Form, Stage, repository};
use std::path::PathBuf;
use std::process::ExitCode;

#[tokio::main]
async fn main() -> ExitCode {
    match run().await {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

async fn run() -> Result<bool> {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let (programs, only) = match words.as_slice() {
        [chromium, driver] => ((chromium, driver), None),
        [chromium, driver, only @ ..] => ((chromium, driver), (!only.is_empty()).then(|| only.to_vec())),
        _ => bail!("limner-e2e CHROMIUM DRIVER [TEXT IN THE NAMES OF CHECKS ...]"),
    };
    let scratch = repository("target/e2e");
    if scratch.exists() {
        std::fs::remove_dir_all(&scratch).context("target/e2e cannot be emptied")?;
    }
    std::fs::create_dir_all(&scratch)?;
    let scratch = scratch.canonicalize()?;
    let programs =
        Programs { chromium: PathBuf::from(programs.0), driver: PathBuf::from(programs.1), scratch };
    let is_slow = std::env::var("LIMNER_SLOW").is_ok_and(|value| value == "1");
    let mut report = Report::new(only, is_slow);
    for form in [Form::OneFile, Form::Site] {
        match Stage::set_up(&programs, form).await {
            Ok(stage) => {
                checks(&mut report, &stage).await;
                stage.browser.quit().await?;
            }
            Err(error) => report.note(form.name(), Err(error)),
        }
    }
    Ok(report.close())
}

async fn checks(report: &mut Report, stage: &Stage) {
    page::check(report, stage).await;
    files::check(report, stage).await;
    golden::check(report, stage).await;
    round_trip::check(report, stage).await;
    secrecy::check(report, stage).await;
    share::check(report, stage).await;
    recovery::check(report, stage).await;
    keeping::check(report, stage).await;
    history::check(report, stage).await;
    hostile::check(report, stage).await;
    keyboard::check(report, stage).await;
    aligning::check(report, stage).await;
    work::check(report, stage).await;
    asks::check(report, stage).await;
    answers::check(report, stage).await;
    found::check(report, stage).await;
    findings::check(report, stage).await;
    handed::check(report, stage).await;
    linked::check(report, stage).await;
    making::check(report, stage).await;
    marks::check(report, stage).await;
    regions::check(report, stage).await;
    colours::check(report, stage).await;
    scans::check(report, stage).await;
    under::check(report, stage).await;
    speed::check(report, stage).await;
    large::check(report, stage).await;
    photo::check(report, stage).await;
    pictures::check(report, stage).await;
    story::check(report, stage).await;
}
