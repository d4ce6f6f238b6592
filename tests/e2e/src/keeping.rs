//! Work is kept as it goes: a page that is loaded again goes on, one tab writes, nothing is written from disk unless it is
//! wanted, and a browser that is killed at any moment loses at most two seconds of work.

use crate::browser::Browser;
use crate::report::Report;
use crate::stage::{Form, Stage, carried, repository};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use std::cell::RefCell;
use std::process::Command;
use std::time::{Duration, SystemTime, UNIX_EPOCH};

/// Trials of killing the browser in the long run, and in the short one.
const TRIALS: (u64, u64) = (20, 2);
/// Most seconds of work that may be missing.
const MOST_MISSING_S: f64 = 2.0;
const KEEP: &str = "Keep my work in this browser";
/// All that was written is on the disk.
const IS_KEPT: &str = "document.querySelector('.top-bar-kept')?.checkVisibility() && document.querySelector('.top-bar-kept').textContent === 'Kept'";

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    let minutes = Duration::from_secs(60);
    report
        .check_within(
            stage,
            "work is kept, gone on with after loading again, and read only in a second tab",
            minutes * 4,
            goes_on,
        )
        .await;
    let trials = if report.is_slow { TRIALS.0 } else { TRIALS.1 };
    let name = "the browser is killed at random moments of work";
    report
        .check_within(stage, name, minutes * 2 * u32::try_from(trials).unwrap_or(1), async |stage| {
            killed(stage, trials).await
        })
        .await;
}

/// A browser of its own, in which things stay.
async fn browser(stage: &Stage, name: &str) -> Result<Browser> {
    let name = format!("{}-{name}", stage.form.name().replace(' ', "-"));
    let browser = Browser::start(&stage.programs, &stage.proxy, &name).await?;
    browser.open(&stage.url).await?;
    Ok(browser)
}

/// What was loaded of the site is no request of the page.
fn loaded(stage: &Stage) {
    if stage.form == Form::Site {
        stage.proxy.clear();
    }
}

/// Opens two maps, and says that work is to be kept where that is asked.
async fn begin(stage: &Stage, browser: &Browser) -> Result<()> {
    if stage.form == Form::OneFile {
        browser
            .wait(&format!("document.querySelector('.kept')?.innerText.includes({})", json!(KEEP)), 10)
            .await?;
        browser.click(KEEP).await?;
    }
    let files: Vec<_> =
        ["Fe-K", "Hg-L"].map(|name| repository(&format!("demo-data/tern-sound/tern_{name}.tif"))).into();
    browser.script("await limner.open(e2e.files(args[0]))", json!([carried(&files)?])).await?;
    browser.wait(IS_KEPT, 30).await.context("what was opened is not kept")
}

const STATE: &str = "return JSON.stringify([await limner.record(), await limner.maps(), await limner.regions(), await limner.points(), await limner.findings(), await limner.history()])";

async fn goes_on(stage: &Stage) -> Result<String> {
    let browser = browser(stage, "keeping").await?;
    if stage.form == Form::OneFile {
        // Nothing is written before it is wanted, whatever is done.
        let names = browser.script("await limner.add_region({ name: 'early', rectangle: { x: 0, y: 0, width: 2, height: 2 } }).catch(() => 0);
            await new Promise((resolve) => setTimeout(resolve, 1500)); return [(await indexedDB.databases()).length, localStorage.length]", json!([])).await?;
        ensure!(names == json!([0, 0]), "the page from disk wrote before it was asked: {names}");
    }
    begin(stage, &browser).await?;
    let work = "await limner.add_region({ name: 'Sky', rectangle: { x: 4, y: 4, width: 30, height: 20 } });
        await limner.add_region({ name: 'Sea', rectangle: { x: 40, y: 60, width: 30, height: 20 } });
        await limner.rename('Sea', 'Harbour'); await limner.undo();
        await limner.keep(null, { title: 'One', note: 'A note', picture: { map: 'Fe K' } });";
    browser.script(work, json!([])).await?;
    browser.wait(IS_KEPT, 10).await?;
    let before = browser.script(STATE, json!([])).await?;

    // loaded again, it goes on by itself, and what was done can be undone
    browser.web.refresh().await?;
    browser.wait("document.documentElement.dataset.state === 'ready'", 30).await?;
    browser.wait(IS_KEPT, 30).await.context("it does not go on by itself")?;
    let after = browser.script(STATE, json!([])).await?;
    ensure!(before == after, "{before} became {after}");
    let undone = browser
        .script("const { undo } = await limner.undo(); await limner.redo(); return undo", json!([]))
        .await?;
    ensure!(undone.as_u64() >= Some(2), "{undone} steps are left to undo");
    let picture =
        "const [one] = await limner.findings(); return (await limner.finding(one.id)).picture.size > 1000";
    ensure!(browser.script(picture, json!([])).await? == true, "the picture of the finding is gone");

    // a second tab reads only, and takes over when the first is closed
    let first = browser.web.window().await?;
    let second = browser.web.new_tab().await?;
    browser.web.switch_to_window(second.clone()).await?;
    browser.open(&stage.url).await?;
    browser
        .wait("document.querySelector('.kept-study') !== null", 10)
        .await
        .context("the study is not offered")?;
    browser.click("Go on").await?;
    browser
        .wait("document.querySelector('.keeping')?.innerText.includes('another tab')", 30)
        .await
        .context("it is not said")?;
    let code = "return limner.rename('Sky', 'Ground').then(() => 'changed', ({ code }) => code)";
    let refused = browser.script(code, json!([])).await?;
    ensure!(refused == "read_only", "a change in the second tab: {refused}");
    ensure!(browser.script(STATE, json!([])).await? == after, "the second tab shows another state");
    browser.web.switch_to_window(first).await?;
    browser.script("await limner.rename('Sky', 'Heaven')", json!([])).await?;
    browser.wait(IS_KEPT, 10).await?;
    browser.web.close_window().await?;
    browser.web.switch_to_window(second).await?;
    browser.wait("document.querySelector('.keeping')?.innerText.includes('Go on with it here')", 20).await?;
    browser.click("Go on with it here").await?;
    browser.wait(IS_KEPT, 20).await?;
    let names = "return (await limner.regions()).map(({ name }) => name).join()";
    let names = browser.script(names, json!([])).await?;
    ensure!(names == "Heaven,Sea", "what the first tab did last is not there: {names}");

    // forgotten, nothing is left
    browser.click("Kept").await?;
    browser
        .click(if stage.form == Form::Site {
            "Forget this study here"
        } else {
            "Forget all and keep nothing"
        })
        .await?;
    browser.wait("document.querySelector('.top-bar-kept').textContent === 'Not kept'", 10).await?;
    let left = "await new Promise((resolve) => setTimeout(resolve, 500));
        if (!(await indexedDB.databases()).some(({ name }) => name === 'limner')) return [0, localStorage.length];
        const db = await new Promise((resolve) => { const one = indexedDB.open('limner'); one.onsuccess = () => resolve(one.result); });
        const count = (name) => new Promise((resolve) => { const one = db.transaction(name).objectStore(name).count(); one.onsuccess = () => resolve(one.result); });
        const counts = await Promise.all([...db.objectStoreNames].map(count)); db.close();
        return [counts.reduce((sum, one) => sum + one, 0), localStorage.length]";
    let left = browser.script(left, json!([])).await?;
    ensure!(left == json!([0, 0]), "after forgetting there is still {left}");
    let complaints = browser.complaints().await?;
    ensure!(complaints.is_empty(), "the page complains: {complaints:?}");
    browser.quit().await?;
    loaded(stage);
    Ok(String::new())
}

/// What is done in the page: one change, its number in what it says, and when it was done. `args[0]` is the number, `args[1]` any number.
const CHANGE: &str = "const [number, any] = args;
    const started = Date.now();
    const place = { x: any % 200, y: any % 150, width: 5 + any % 40, height: 5 + any % 30 };
    const [last] = (await limner.regions()).slice(-1);
    const [found] = (await limner.findings()).slice(-1);
    const mark = `#${number}#`;
    if (number === 1 || any % 5 === 0) await limner.add_region({ name: `Region ${mark}`, rectangle: place });
    else if (any % 5 === 1) await limner.rename(last.id, `Region ${mark}`);
    else if (any % 5 === 2) await limner.add_point({ at: [place.x, place.y], name: `Point ${mark}`, technique: (await limner.techniques())[0], result: mark, says: 'open' });
    else if (any % 5 === 3 || found === undefined) await limner.keep(null, { title: `Finding ${mark}`, note: mark, picture: { map: 'Fe K' } });
    else await limner.set_finding(found.id, { note: mark });
    const done = Date.now();
    return [started, done, await limner.record().then((record) => JSON.stringify(record))];";

/// A change: its number, when it was begun and done, and the record after it.
struct Change {
    number: u64,
    done_ms: f64,
    record: String,
}

async fn killed(stage: &Stage, trials: u64) -> Result<String> {
    let mut missing = Vec::new();
    let mut changes = 0;
    for trial in 0..trials {
        let (one, done) = trial_of(stage, trial).await.with_context(|| format!("trial {trial}"))?;
        ensure!(one <= MOST_MISSING_S, "trial {trial}: {one:.2} s of work are missing");
        missing.push(one);
        changes += done;
    }
    missing.sort_by(f64::total_cmp);
    let at = |share: f64| -> f64 {
        let last = missing.len().saturating_sub(1);
        // small numbers
        #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, clippy::cast_precision_loss)]
        let index = (last as f64 * share).round() as usize;
        missing.get(index).copied().unwrap_or(f64::NAN)
    };
    let list: Vec<String> = missing.iter().map(|one| format!("{one:.3}")).collect();
    Ok(format!(
        "{trials}/{trials} with at most {MOST_MISSING_S} s missing; least {:.3} s, median {:.3} s, most {:.3} s ({}), {changes} changes",
        at(0.0),
        at(0.5),
        at(1.0),
        list.join(" ")
    ))
}

/// One trial: the seconds of work that are missing, and how many changes were made.
async fn trial_of(stage: &Stage, trial: u64) -> Result<(f64, u64)> {
    let mut chance = Chance(0x9e37_79b9_7f4a_7c15 ^ (trial + 1).wrapping_mul(0x2545_f491_4f6c_dd1d));
    let name = format!("kill-{trial}");
    let first = browser(stage, &name).await?;
    begin(stage, &first).await?;
    let log: RefCell<Vec<Change>> = RefCell::new(Vec::new());
    // When the change under way was asked for; it may or may not be there afterwards.
    let asked_ms = RefCell::new(0.0);
    let work = async {
        for number in 1.. {
            *asked_ms.borrow_mut() = now_ms();
            let told = first.script(CHANGE, json!([number, chance.next() % 100_000])).await?;
            let done_ms = told[1].as_f64().context("no time")?;
            log.borrow_mut().push(Change {
                number,
                done_ms,
                record: told[2].as_str().unwrap_or_default().to_string(),
            });
            if chance.next() % 4 == 0 {
                tokio::time::sleep(Duration::from_millis(chance.next() % 900)).await;
            }
        }
        anyhow::Ok(())
    };
    let process = first.process()?;
    let mut moment = Chance(trial.wrapping_mul(0x9e37_79b9) ^ 0x51f1_5e5d);
    let life = Duration::from_millis(700 + moment.next() % 5300);
    tokio::select! {
        ended = work => ended.context("the work ended by itself")?,
        () = tokio::time::sleep(life) => {}
    }
    let killed_ms = now_ms();
    let kill = Command::new("kill").args(["-KILL", &process.to_string()]).status()?;
    ensure!(kill.success(), "the browser could not be killed");
    first.is_gone().await?;

    let again = browser(stage, &name).await?;
    again.wait("document.querySelector('.kept-study') !== null", 20).await.context("nothing is offered")?;
    again.click("Go on").await?;
    again.wait(IS_KEPT, 60).await.context("it cannot be gone on with")?;
    let state = again.script(STATE, json!([])).await?;
    let state = state.as_str().context("no state")?;
    let record = again.script("return JSON.stringify(await limner.record())", json!([])).await?;
    let pictures = "return (await Promise.all((await limner.findings()).map(({ id }) => limner.finding(id)))).every(({ picture }) => picture?.size > 1000)";
    ensure!(again.script(pictures, json!([])).await? == true, "a finding lost its picture");
    let maps = again.script("return (await limner.maps()).length", json!([])).await?;
    ensure!(maps == 2, "{maps} maps came back of 2");
    again.quit().await?;
    loaded(stage);

    let log = log.into_inner();
    let there = log.iter().rev().find(|one| Value::String(one.record.clone()) == record);
    let under_way = log.last().map_or(1, |one| one.number + 1);
    // The change under way may have been made and kept.
    let is_newest = state.contains(&format!("#{under_way}#"));
    let done = u64::try_from(log.len())?;
    let seconds = match there {
        _ if is_newest => 0.0,
        Some(one) if one.number + 1 == under_way => {
            // All that was told as done is there; of the one under way at most all is missing.
            ((killed_ms - *asked_ms.borrow()) / 1000.0).min((killed_ms - one.done_ms) / 1000.0)
        }
        Some(one) => (killed_ms - one.done_ms) / 1000.0,
        None => {
            ensure!(log.len() <= 1, "what came back is the state after none of {done} changes: {record}");
            log.first().map_or(0.0, |one| (killed_ms - one.done_ms) / 1000.0)
        }
    };
    Ok((seconds, done))
}

fn now_ms() -> f64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0.0, |time| time.as_secs_f64() * 1000.0)
}

/// Numbers without a pattern (xorshift, Marsaglia 2003).
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 >> 11
    }
}
