//! Undo and redo: every state comes back as it was, with its maps, regions and pictures, and the page follows.

use crate::report::Report;
use crate::stage::{Stage, carried, repository};
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "220 changes are undone and done again, each state as it was", many_steps).await;
    report
        .check(stage, "undo over turned maps, regions of regions, made maps, points and files", all_sorts)
        .await;
    report.check(stage, "undo while files are read, and after the worker was lost", in_between).await;
    report.check(stage, "a study file takes the place of a study, and gives it back", study_file).await;
}

/// What the core says of everything, as text. The number of the last finding is never given again, so it is left out.
const SEEN: &str = "const { findings_made: _, ...record } = await limner.record();
    const all = [record, await limner.maps(), await limner.photos(), await limner.grid(), await limner.regions(), await limner.points(),
      await limner.scan(), await limner.object(), await limner.about(), await limner.findings()];
    return JSON.stringify(all)";

/// Undoes until nothing is left and does it all again. `e2e.states` holds what was seen after each step; every `step`-th is held against it.
///
/// # Errors
/// A state did not come back.
async fn there_and_back(stage: &Stage, step: usize) -> Result<usize> {
    let source = format!(
        "const seen = async () => {{ {SEEN} }};
        const step = args[0];
        const wrong = [];
        const last = e2e.states.length - 1;
        for (let at = last - 1; at >= 0; at -= 1) {{
          await limner.undo();
          if (at % step === 0 && (await seen()) !== e2e.states[at]) wrong.push(`undo ${{at}}`);
        }}
        const end = await limner.undo().then(() => 'undone', ({{ code }}) => code);
        for (let at = 1; at <= last; at += 1) {{
          await limner.redo();
          if ((at % step === 0 || at === last) && (await seen()) !== e2e.states[at]) wrong.push(`redo ${{at}}`);
        }}
        return [wrong, end, last, await limner.history()]"
    );
    let end = stage.script(&source, json!([step])).await?;
    ensure!(end[0] == json!([]), "these states did not come back: {}", end[0]);
    ensure!(end[1] == "nothing_to_undo", "before the first step undo gives {}", end[1]);
    ensure!(
        end[3]["undo"] == end[2] && end[3]["redo"] == 0,
        "of {} steps the history says {}",
        end[2],
        end[3]
    );
    usize::try_from(end[2].as_u64().context("no number of steps")?).context("too many steps")
}

async fn many_steps(stage: &Stage) -> Result<String> {
    stage.fresh().await?;
    let files = ["Fe-K", "Ti-K"].map(|name| repository(&format!("demo-data/tern-sound/tern_{name}.tif")));
    let source = format!(
        "const seen = async () => {{ {SEEN} }};
        e2e.states = [await seen()];
        await limner.open(e2e.files(args[0]));
        e2e.states.push(await seen());
        const start = performance.now();
        for (let at = 1; at < 220; at += 1) {{
          const place = {{ x: at, y: at % 50, width: 20, height: 10 + (at % 7) }};
          if (at % 4 === 1) await limner.add_region({{ name: `part ${{at}}`, rectangle: place }});
          else if (at % 4 === 2) await limner.set_grid({{ step_x_um: 100 + at, step_y_um: 100 }});
          else if (at % 4 === 3) await limner.set_region(`r${{(at + 1) / 4}}`, {{ name: `part ${{at}} renamed` }});
          else await limner.set_map('m1', {{ kind: at % 8 === 0 ? 'net' : 'window' }});
          e2e.states.push(at % 20 === 19 || at === 219 ? await seen() : '');
        }}
        return performance.now() - start"
    );
    let time = stage.script(&source, json!([carried(&files)?])).await?;
    let started = std::time::Instant::now();
    let steps = there_and_back(stage, 20).await?;
    ensure!(steps == 220, "there are {steps} steps");
    let both = started.elapsed().as_secs_f64();
    Ok(format!("made in {:.1} s, there and back in {both:.1} s", time.as_f64().unwrap_or(f64::NAN) / 1000.0))
}

/// Changes of every sort, one step each; each is called with the ids of what the ones before made.
const CHANGES: &str = "[
    () => limner.open(e2e.files(args[0].slice(0, 3))),
    () => limner.set_map('m3', { line: 'Sr K', kind: 'net' }),
    () => limner.set_maps([{ id: 'm1', gain: 2 }, { id: 'm2', fill_value: 0 }]),
    () => limner.add_region({ name: 'left', rectangle: { x: 10, y: 10, width: 60, height: 80 } }),
    () => limner.add_region({ name: 'bright', threshold: { map: 'm1', low: 5, high: null } }),
    () => limner.add_region({ name: 'both', combine: { how: 'and', of: ['left', 'bright'] } }),
    () => limner.add_region({ name: 'grown', combine: { how: 'grown', of: ['both'], by_px: 3 } }),
    () => limner.add_region({ name: 'handed in', mask: new Uint8Array(300 * 220).map((_, at) => (at % 300 < 40 ? 1 : 0)) }),
    () => limner.set_grid({ turns: 1, mirror: true }),
    () => limner.derive({ how: 'sum', of: ['m1', 'm2'] }),
    () => limner.derive({ how: 'bin', of: ['m1'], by: 2 }),
    () => limner.add_point({ x_mm: 12, y_mm: 14, name: 'P1', technique: 'Raman', result: 'band at 253', says: 'open' }),
    () => limner.set_point('a1', { says: 'found', pigment: 'vermilion' }),
    () => limner.set_scan({ anode: 'Rh', kv: 50 }),
    () => limner.set_object({ corner: 'upper left', at: [4, 4], across: [150, 5], down: [5, 180] }),
    () => limner.set_grid({ step_x_um: 400, step_y_um: 300 }),
    () => limner.set_about({ object: 'Chart of a sound', number: '17' }),
    () => limner.open(e2e.files(args[0].slice(3))),
    () => limner.set_photo('p1', { side: 'recto', name: 'in daylight' }),
    () => limner.align({ photo: 'p1', points: [[10, 10], [200, 12], [190, 250], [12, 240]].map(([x, y]) => ({ from: [2 * x, 2 * y], to: [x, y] })) }),
    () => limner.add_region({ name: 'of a colour', colour: { photo: 'p1', at: [[60, 60]], alike: 20 } }),
    async () => limner.keep((await limner.ask('apart', { a: 'm1', b: 'm2' })).answer.id, { title: 'Ti without Fe', note: 'look again' }),
    () => limner.keep(null, { title: 'as it is', picture: { map: 'm2' } }),
    () => limner.set_finding('f2', { place: 1 }),
    () => limner.set_finding('f1', { note: 'looked again' }),
    () => limner.remove('grown'),
    () => limner.remove('both'),
    () => limner.remove('left'),
    () => limner.rename('d1', 'both elements'),
    () => limner.remove('d2'),
    () => limner.remove('a1'),
    () => limner.set_grid({ turns: 0, mirror: false }),
    () => limner.remove('f2'),
    () => limner.reset(),
  ]";

/// The pictures of all maps, by a hash of their bytes.
const DRAWN: &str = "const drawn = [];
    for (const map of await limner.maps()) drawn.push((await limner.picture({ map: map.id })).rgba.reduce((sum, one) => (Math.imul(sum, 31) + one) | 0, 7));
    return drawn.join(' ')";

async fn all_sorts(stage: &Stage) -> Result<String> {
    stage.fresh().await?;
    let mut files: Vec<_> = ["Fe-K", "Ti-K", "Zn-K"]
        .map(|name| repository(&format!("demo-data/tern-sound/tern_{name}.tif")))
        .into();
    files.push(repository("demo-data/tern-sound/photo.png"));
    let source = format!(
        "const seen = async () => {{ {SEEN} }};
        const drawn = async () => {{ {DRAWN} }};
        const changes = {CHANGES};
        e2e.states = [await seen()];
        e2e.drawn = [await drawn()];
        for (const [at, change] of changes.entries()) {{
          await change().catch((thrown) => {{ throw new Error(`change ${{at}}: ${{thrown.message}}`); }});
          const state = await seen();
          if (state !== e2e.states.at(-1)) {{ e2e.states.push(state); e2e.drawn.push(await drawn()); }}
          const {{ undo, undo_text }} = await limner.history();
          if (undo !== e2e.states.length - 1 || undo_text === '') throw new Error(`after change ${{at}} the history says ${{undo}} ${{undo_text}}`);
        }}
        return [changes.length, e2e.states.length - 1]"
    );
    let made = stage.script(&source, json!([carried(&files)?])).await?;
    ensure!(made[0] == made[1], "of {} changes {} are steps", made[0], made[1]);
    let steps = there_and_back(stage, 1).await?;
    // the pictures of each state are those that were drawn there at first
    let source = format!(
        "const drawn = async () => {{ {DRAWN} }};
        const wrong = [];
        for (let at = e2e.states.length - 2; at >= 0; at -= 1) {{
          await limner.undo();
          if ((await drawn()) !== e2e.drawn[at]) wrong.push(at);
        }}
        return wrong"
    );
    let wrong = stage.script(&source, json!([])).await?;
    ensure!(wrong == json!([]), "pictures are others in the states {wrong}");
    Ok(format!("{steps} steps"))
}

async fn in_between(stage: &Stage) -> Result<String> {
    stage.fresh().await?;
    let files =
        ["Fe-K", "Ti-K", "Zn-K"].map(|name| repository(&format!("demo-data/tern-sound/tern_{name}.tif")));
    let source = "const opening = limner.open(e2e.files(args[0]));
        const undone = limner.undo();
        await opening;
        const first = [await undone, (await limner.maps()).length];
        const { text } = await limner.redo();
        await limner.add_region({ name: 'sky', rectangle: { x: 5, y: 5, width: 30, height: 30 } });
        await limner.undo();
        const worker = e2e.session();
        worker.terminate();
        const again = await limner.redo();
        return [first, text, again.text, (await limner.regions()).length, (await limner.maps()).length, worker !== e2e.session(), await limner.history()]";
    let end = stage.script(source, json!([carried(&files)?])).await?;
    ensure!(
        end[0] == json!([{"text": "3 files opened", "undo": 0, "redo": 1}, 0]),
        "undone while files are read: {}",
        end[0]
    );
    ensure!(
        end[1] == "3 files opened" && end[2] == "region “sky” added",
        "redo says {} and {}",
        end[1],
        end[2]
    );
    ensure!(end[3] == 1 && end[4] == 3 && end[5] == true, "after the worker was lost: {end}");
    ensure!(end[6]["undo"] == 2 && end[6]["redo"] == 0, "the history says {}", end[6]);
    // the page shows what is there
    let shown = "document.querySelectorAll('.sheet-picture').length === 3";
    stage.browser.wait(shown, 10).await.context("the sheet does not show the maps")?;
    stage.script("await limner.undo(); await limner.undo()", json!([])).await?;
    stage
        .browser
        .wait("document.querySelectorAll('.sheet-picture').length === 0", 10)
        .await
        .context("the sheet still shows maps")?;
    Ok(String::new())
}

async fn study_file(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Ti-K"]).await?;
    let source = format!(
        "const seen = async () => {{ {SEEN} }};
        await limner.add_region({{ name: 'left', rectangle: {{ x: 10, y: 10, width: 60, height: 80 }} }});
        const {{ answer }} = await limner.ask('ratio', {{ a: 'Ti K', b: 'Fe K', region: 'left' }});
        await limner.keep(answer.id, {{ title: 'one' }});
        const file = await limner.save();
        const saved = await seen();
        await limner.reset();
        await limner.open([e2e.files(args[0])[0]]);
        await limner.set_map('Zn K', {{ kind: 'net' }});
        const other = await seen();
        const bad = await limner.restore(file.slice(0, file.size - 100)).then(() => 'restored', ({{ code }}) => code);
        const kept = (await seen()) === other;
        const {{ maps }} = await limner.restore(file);
        const restored = (await seen()) === saved;
        const worker = e2e.session();
        worker.terminate();
        const raised = (await seen()) === saved;
        await limner.undo();
        const back = (await seen()) === other;
        await limner.redo();
        const again = (await seen()) === saved;
        const reproduced = await limner.reproduce();
        return [bad, kept, maps.length, restored, raised, back, again, reproduced.map(({{ same, text }}) => [same, text]), file.size]"
    );
    let other = [repository("demo-data/tern-sound/tern_Zn-K.tif")];
    let end = stage.script(&source, json!([carried(&other)?])).await?;
    ensure!(end[0] != "restored" && end[1] == true, "a file that ends too early: {end}");
    ensure!(
        end[2] == 2 && end[3] == true && end[4] == true,
        "restored, and after the worker was lost: {end}"
    );
    ensure!(end[5] == true && end[6] == true, "back to what was open, and to the study again: {end}");
    let same = |one: &Value| one[0] == true;
    ensure!(
        end[7].as_array().is_some_and(|list| list.len() == 1 && list.iter().all(same)),
        "reproduced: {}",
        end[7]
    );
    Ok(format!("{} bytes", end[8]))
}
