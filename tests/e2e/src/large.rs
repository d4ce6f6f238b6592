//! A large stack, 20 maps of 16 megapixels: it opens, can be looked at while something changes, and nothing stops answering. The
//! figures are told; what is checked is that it works and that no call takes longer than anybody would wait.

use crate::report::Report;
use crate::stage::{Form, Stage};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use std::time::{Duration, Instant};

const ELEMENTS: [&str; 20] = [
    "Ca-K", "Ti-K", "V-K", "Cr-K", "Mn-K", "Fe-K", "Co-K", "Ni-K", "Cu-K", "Zn-K", "As-K", "Se-K", "Br-K",
    "Rb-K", "Sr-K", "Sn-L", "Ba-L", "Au-L", "Hg-L", "Pb-L",
];

/// In milliseconds; a single call that takes longer has stopped answering.
const LONGEST: f64 = 8000.0;

/// All checks of this theme; slow.
pub async fn check(report: &mut Report, stage: &Stage) {
    if stage.form == Form::OneFile && report.is_slow {
        report.check_within(stage, "20 maps of 4096 x 4096", Duration::from_secs(900), large).await;
    }
}

async fn large(stage: &Stage) -> Result<String> {
    let before = stage.browser.memory_mb()?;
    let start = Instant::now();
    // some at a time, because no script may take longer than two minutes
    let (mut reading, mut largest) = (Vec::new(), 0);
    for some in ELEMENTS.chunks(4) {
        let times = stage.script(include_str!("large.js"), json!([some, reading.len()])).await?;
        reading.extend(times["reading"].as_array().into_iter().flatten().filter_map(Value::as_f64));
        largest = largest.max(stage.browser.memory_mb()?);
    }
    let all = format!(
        "document.querySelectorAll('.sheet-canvas').length === {} && document.querySelector('.view-canvas').dataset.shown && e2e.sheet_is_drawn()",
        ELEMENTS.len()
    );
    stage.browser.wait(&all, 60).await.context("the sheet does not fill")?;
    let sheet = start.elapsed().as_secs_f64();
    let mut told =
        vec![format!("made and on the sheet in {sheet:.1} s"), format!("reading {}", spread(&reading)?)];

    let last = "const all = [...document.querySelectorAll('.sheet-canvas')];
        all.at(-1).scrollIntoView();
        const begin = performance.now();
        while (all.at(-1).dataset.state !== 'drawn' && performance.now() - begin < 60000) await new Promise(requestAnimationFrame);
        return performance.now() - begin";
    let last = stage.script(last, json!([])).await?.as_f64().context("no time")?;
    ensure!(last < 60_000.0, "scrolled to the end of the sheet, the last small picture does not come");
    told.push(format!("the end of the sheet is drawn {last:.0} ms after scrolling there"));

    // the page looks through the whole stack by itself once it rests: how long a picture asked for meanwhile waits
    let waited = "const begin = performance.now();
        await limner.picture({ map: 'Fe K', view: { x: 0, y: 0, width: 4096, height: 2867, out_width: 1000, out_height: 700 } });
        return performance.now() - begin";
    let mut waits = Vec::new();
    let begin = Instant::now();
    while begin.elapsed() < Duration::from_secs(10) {
        waits.push(stage.script(waited, json!([])).await?.as_f64().context("no time")?);
        tokio::time::sleep(Duration::from_millis(100)).await;
    }
    told.push(format!("pictures while it looks through the stack {}", spread(&waits)?));
    let inspected =
        "const begin = performance.now(); await limner.inspect(); return performance.now() - begin";
    let again = stage.script(inspected, json!([])).await?.as_f64().context("no time")?;
    told.push(format!("looking again {again:.0} ms"));

    let mut longest = waits.iter().copied().fold(again, f64::max);
    for (name, change) in
        [("while a limit changes", "lights[0].high -= 2"), ("while panning", "view.x += 13; view.y += 7")]
    {
        let view = if name.ends_with("panning") {
            "{ x: 900, y: 700, width: 2000, height: 1400, out_width: 1000, out_height: 700 }"
        } else {
            "{ x: 0, y: 0, width: 4096, height: 2867, out_width: 1000, out_height: 700 }"
        };
        let source = format!(
            "const lights = (await limner.lights(['Fe K', 'Pb L', 'Hg L'])).map(({{ map, colour, low, high, gamma }}) => ({{ map, colour, low, high, gamma }}));
             const view = {view};
             const times = [];
             for (let run = 0; run < 60; run += 1) {{
               {change};
               const begin = performance.now();
               const {{ width, rgba }} = await limner.picture({{ lights, view: {{ ...view }} }});
               times.push(performance.now() - begin);
               if (width !== 1000 || rgba.length !== 2800000) throw new Error(`${{width}} wide`);
             }}
             return times"
        );
        let times = stage.script(&source, json!([])).await.with_context(|| name.to_string())?;
        let times: Vec<f64> = times.as_array().into_iter().flatten().filter_map(Value::as_f64).collect();
        longest = times.iter().copied().fold(longest, f64::max);
        told.push(format!("three lights {name} {}", spread(&times)?));
    }
    let source = "return e2e.tell(e2e.session(), { measure: true })";
    let core = stage.script(source, json!([])).await?.as_f64().context("no size of the core's memory")?;
    let now = stage.browser.memory_mb()?;
    told.push(format!(
        "memory of the core {:.0} MB; of the whole browser {before} MB before, {} MB at most, {now} MB after",
        core / 1e6,
        largest.max(now)
    ));
    ensure!(longest < LONGEST, "a call took {longest:.0} ms: {}", told.join(", "));
    let value =
        "const { data } = await limner.map('Cu K'); return [data.length, data[0], data[4096 * 2000 + 1000]]";
    let value = stage.script(value, json!([])).await?;
    ensure!(
        value[0] == 4096 * 4096 && value[1].is_u64() && value[1] != value[2],
        "Cu K came back as {value}"
    );
    told.push(lost_and_looked_at(stage, &value).await?);
    Ok(told.join(", "))
}

/// The worker is lost, comes back with all maps, and looks through the stack as if for the first time; a picture that is asked
/// for meanwhile waits for that.
async fn lost_and_looked_at(stage: &Stage, value: &Value) -> Result<String> {
    let source = "const begin = performance.now();
        e2e.session().terminate();
        const { data } = await limner.map('Cu K');
        return [[data.length, data[0], data[4096 * 2000 + 1000]], performance.now() - begin]";
    let back = stage.script(source, json!([])).await?;
    ensure!(back[0] == *value, "Cu K came back as {}, not {value}", back[0]);
    let source = "const begin = performance.now();
        const looking = limner.inspect().then(() => performance.now() - begin);
        while (!e2e.session().e2e_actions.has('inspect')) await new Promise((resolve) => setTimeout(resolve, 0));
        const picture = limner.picture({ map: 'Fe K', view: { x: 0, y: 0, width: 4096, height: 2867, out_width: 1000, out_height: 700 } }).then(() => performance.now() - begin);
        return [await looking, await picture]";
    let first = stage.script(source, json!([])).await?;
    let ms = |value: &Value| value.as_f64().context("no time");
    let (looking, picture) = (ms(&first[0])?, ms(&first[1])?);
    ensure!(
        looking < LONGEST && picture < LONGEST,
        "looking {looking:.0} ms, a picture meanwhile {picture:.0} ms"
    );
    Ok(format!(
        "all back {:.1} s after the worker was lost, looking for the first time {looking:.0} ms, a picture meanwhile {picture:.0} ms",
        ms(&back[1])? / 1000.0
    ))
}

/// Median, 95th percentile and largest of some milliseconds.
fn spread(times: &[f64]) -> Result<String> {
    let mut sorted = times.to_vec();
    sorted.sort_by(f64::total_cmp);
    let last = sorted.len().checked_sub(1).context("no times")?;
    let at = |per_cent: usize| sorted[(last * per_cent).div_ceil(100)];
    Ok(format!("{:.0} ms (95 % within {:.0}, longest {:.0}, {} runs)", at(50), at(95), at(100), sorted.len()))
}
