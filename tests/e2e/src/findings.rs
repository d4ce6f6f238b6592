//! Findings by keyboard alone: kept, opened after everything was changed, edited, moved, removed and taken back, asked again.

use crate::keyboard::{becomes, choose, open_example, tab_to, tab_to_button};
use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Context, Result, ensure};
use serde_json::{Value, json};
use thirtyfour::Key;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "findings by keys: an answer is kept with its title and note", kept).await;
    report.check(stage, "findings by keys: a view is kept, and comes back after all was changed", view).await;
    report.check(stage, "findings by keys: opened as kept at once, then asked again", opened).await;
    report.check(stage, "findings by keys: edited, moved, removed, and taken back", edited).await;
    report
        .check(stage, "findings by keys: one whose ground has changed says so and is renewed", renewed)
        .await;
    report.check(stage, "the object is named by keys, and its name stands above", object).await;
    report.check(stage, "titles and notes with HTML in them appear as text", html_is_text).await;
}

/// The title's field of what was just kept, with the focus.
const ASKS_TITLE: &str =
    "document.activeElement?.matches('.keeping-title') && document.activeElement.checkVisibility()";

const SENTENCE: &str =
    "document.querySelector('.answer-sentence').textContent.replace(/\\u00a0/g, ' ').replace(/\\u2060/g, '')";

async fn findings(stage: &Stage) -> Result<Value> {
    stage.script("return limner.findings()", json!([])).await
}

/// Presses a key with another one held.
async fn with(stage: &Stage, held: Key, key: impl Into<thirtyfour::TypingData>) -> Result<()> {
    let keys = stage.browser.web.action_chain().key_down(held.clone()).send_keys(key).key_up(held);
    Ok(keys.perform().await?)
}

/// Asks where Ti K is without Fe K, from the question's button on.
async fn ask(stage: &Stage) -> Result<String> {
    tab_to_button(stage, &stage.label_of("apart").await?).await?;
    stage.browser.press(" ").await?;
    choose(stage, "a", "Ti K").await?;
    choose(stage, "b", "Fe K").await?;
    stage.answer().await?;
    stage.sees("classes").await?;
    sentence(stage).await
}

/// The sentence of the answer that is shown, as the core says it: on the page labels are held together by spaces of another kind.
async fn sentence(stage: &Stage) -> Result<String> {
    let text = stage.script(&format!("return {SENTENCE}"), json!([])).await?;
    Ok(text.as_str().unwrap_or_default().to_string())
}

/// Keeps the answer that is shown, under the title that is proposed.
async fn keep(stage: &Stage) -> Result<()> {
    stage.browser.press("k").await?;
    stage.browser.wait(ASKS_TITLE, 20).await.context("no title is asked for")?;
    stage.browser.press(Key::Escape).await?;
    stage.browser.wait("document.querySelector('.keeping-answer').hidden", 5).await?;
    Ok(())
}

/// Turns to the list of findings.
async fn to_findings(stage: &Stage) -> Result<()> {
    tab_to(stage, "[data-column='findings']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.querySelector('.findings').checkVisibility()", 5).await
}

async fn kept(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    let sentence = ask(stage).await?;
    tab_to_button(stage, "Keep as a finding").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait(ASKS_TITLE, 20).await.context("no title is asked for")?;
    stage.browser.press("Titanium alone").await?;
    stage.browser.press(Key::Tab).await?;
    stage.browser.press("Lower right.").await?;
    with(stage, Key::Control, Key::Enter).await?;
    stage.browser.wait("document.querySelector('.keeping-answer').hidden", 10).await?;
    stage
        .browser
        .wait("document.activeElement.matches('.answer-keep')", 5)
        .await
        .context("the focus is lost")?;
    let list = findings(stage).await?;
    let one = &list[0];
    ensure!(one["title"] == "Titanium alone" && one["note"] == "Lower right.", "it is {one}");
    ensure!(one["sentence"] == json!(sentence) && one["picture"]["width"].as_u64() > Some(0), "it is {one}");
    // the proposed title stays with Escape
    keep(stage).await?;
    let list = findings(stage).await?;
    ensure!(list[1]["title"].as_str().is_some_and(|title| !title.is_empty()), "the second is {}", list[1]);
    to_findings(stage).await?;
    let seen = stage
        .script(
            "return [...document.querySelectorAll('.finding-title')].map((one) => one.textContent)",
            json!([]),
        )
        .await?;
    ensure!(seen.as_array().is_some_and(|titles| titles.len() == 2), "the list reads {seen}");
    let thumbs = "[...document.querySelectorAll('.finding-picture')].every((one) => one.dataset.drawn !== undefined && one.width > 20)";
    stage.browser.wait(thumbs, 10).await.context("the small pictures do not come")?;
    Ok(seen.to_string())
}

/// What the view shows and where it stands, as it was last asked for.
const LOOK: &str = "const { view, ...rest } = e2e.asked_pictures.findLast(({ view }) => view?.out_width === document.querySelector('.view-canvas').width);
    return [rest, Math.round(view.x), Math.round(view.y), Math.round(view.width)]";

async fn view(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L", "Hg-L"]).await?;
    tab_to(stage, "[aria-label='Show Pb L']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.sees("\"map\"").await?;
    tab_to(stage, ".view-canvas").await?;
    for key in ["+", "+", "+", "+"] {
        stage.browser.press(key).await?;
    }
    stage.browser.press(Key::Right).await?;
    stage.pause().await;
    let before = stage.script(LOOK, json!([])).await?;
    stage.browser.press("k").await?;
    stage.browser.wait(ASKS_TITLE, 20).await.context("no title is asked for")?;
    stage.browser.press("The rose, near").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.querySelector('.keeping-view').hidden", 10).await?;
    // all of it otherwise
    tab_to(stage, ".view-canvas").await?;
    stage.browser.press("0").await?;
    tab_to(stage, "[aria-label='Show Hg L']").await?;
    stage.browser.press(Key::Enter).await?;
    tab_to(stage, ".view-canvas").await?;
    stage.browser.press("2").await?;
    stage.pause().await;
    ensure!(stage.script(LOOK, json!([])).await? != before, "nothing is otherwise");
    to_findings(stage).await?;
    tab_to(stage, ".finding-title").await?;
    stage.browser.press(Key::Enter).await?;
    stage
        .browser
        .wait("document.querySelectorAll('.view .pane:not([hidden])').length === 1", 10)
        .await
        .context("the layout does not come back")?;
    let start = std::time::Instant::now();
    loop {
        stage.pause().await;
        let after = stage.script(LOOK, json!([])).await?;
        if after == before {
            break;
        }
        ensure!(start.elapsed().as_secs() < 10, "it came back as {after}, was {before}");
    }
    Ok(String::new())
}

async fn opened(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    let sentence = ask(stage).await?;
    keep(stage).await?;
    // another question, so that the core holds the kept answer's picture no longer by chance
    tab_to_button(stage, &stage.label_of("faint").await?).await?;
    stage.browser.press(" ").await?;
    choose(stage, "map", "Sn K").await?;
    let other = "document.querySelector('.answer').dataset.question === 'faint' && document.querySelector('.answer-sentence').textContent.includes('Sn')";
    stage.browser.wait(other, 30).await.context("the other question is not answered")?;
    to_findings(stage).await?;
    tab_to(stage, ".finding-title").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, SENTENCE, &sentence).await?;
    let words = "[...document.querySelectorAll('.ask .sentence-setting')].map((one) => one.textContent)";
    let seen = stage.script(&format!("return {words}"), json!([])).await?;
    ensure!(seen[0] == "Ti K" && seen[1] == "Fe K", "the sentence says {seen}");
    becomes(stage, "document.querySelector('.as-kept-name').textContent", "Finding 1").await?;
    stage.sees("classes").await?;
    ensure!(
        stage.script(&format!("return {SENTENCE}"), json!([])).await? == json!(sentence),
        "it is answered otherwise"
    );
    // whoever asks something else has left it
    choose(stage, "b", "Pb L").await?;
    stage
        .browser
        .wait("document.querySelector('.as-kept').hidden", 10)
        .await
        .context("it is still said to be the finding")?;
    Ok(String::new())
}

async fn titles(stage: &Stage) -> Result<String> {
    let list = findings(stage).await?;
    let titles: Vec<&str> =
        list.as_array().into_iter().flatten().filter_map(|one| one["title"].as_str()).collect();
    Ok(titles.join(" "))
}

async fn edited(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L"]).await?;
    for title in ["one", "two", "three"] {
        stage
            .script("await limner.keep(null, { picture: { map: 'Fe K' }, title: args[0] })", json!([title]))
            .await?;
    }
    to_findings(stage).await?;
    stage.browser.wait("document.querySelectorAll('.finding').length === 3", 10).await?;
    tab_to(stage, "[aria-label='Edit: finding 2']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait(ASKS_TITLE, 5).await?;
    stage.browser.press("second").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait("document.querySelector('.finding-edit:not([hidden])') === null", 10).await?;
    ensure!(titles(stage).await? == "one second three", "edited: {}", titles(stage).await?);
    // the focus is on "Edit" again; the whole item moves with Alt and an arrow
    with(stage, Key::Alt, Key::Up).await?;
    becomes(stage, "(await limner.findings()).map(({ title }) => title).join(' ')", "second one three")
        .await?;
    with(stage, Key::Alt, Key::Down).await?;
    with(stage, Key::Alt, Key::Down).await?;
    becomes(stage, "(await limner.findings()).map(({ title }) => title).join(' ')", "one three second")
        .await?;
    let focus = stage.script("return document.activeElement.closest('.finding')?.querySelector('.finding-title').textContent ?? null", json!([])).await?;
    ensure!(focus == "second", "the focus is in {focus}");
    tab_to(stage, "[aria-label='Move down: finding 1']").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, "(await limner.findings()).map(({ title }) => title).join(' ')", "three one second")
        .await?;
    tab_to(stage, "[aria-label='Remove: finding 3']").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, "(await limner.findings()).map(({ title }) => title).join(' ')", "three one").await?;
    stage
        .browser
        .wait("document.activeElement.closest('.finding') !== null", 5)
        .await
        .context("the focus is lost")?;
    with(stage, Key::Control, "z").await?;
    becomes(stage, "(await limner.findings()).map(({ title }) => title).join(' ')", "three one second")
        .await?;
    stage.browser.wait("document.querySelectorAll('.finding').length === 3", 5).await?;
    stage
        .browser
        .wait("document.querySelector('.top-bar [aria-live]').textContent !== ''", 5)
        .await
        .context("nothing is said of it")?;
    with(stage, Key::Control, "y").await?;
    becomes(stage, "(await limner.findings()).map(({ title }) => title).join(' ')", "three one").await?;
    // in a field the same keys are the field's own
    tab_to(stage, "[aria-label='Edit: finding 1']").await?;
    stage.browser.press(Key::Enter).await?;
    stage.browser.wait(ASKS_TITLE, 5).await?;
    stage.browser.press("x").await?;
    with(stage, Key::Control, "z").await?;
    stage.browser.press("k").await?;
    stage.browser.press(Key::Escape).await?;
    ensure!(titles(stage).await? == "three one", "typing has changed the list: {}", titles(stage).await?);
    Ok(stage
        .script("return document.querySelector('.top-bar [aria-live]').textContent", json!([]))
        .await?
        .to_string())
}

async fn renewed(stage: &Stage) -> Result<String> {
    open_example(stage).await?;
    let sentence = ask(stage).await?;
    keep(stage).await?;
    // the same numbers are said to be of another kind
    stage.script("const map = (await limner.maps()).find(({ label }) => label === 'Ti K'); await limner.set_map(map.id, { kind: 'fitted' })", json!([])).await?;
    to_findings(stage).await?;
    stage
        .browser
        .wait("document.querySelector('.finding .finding-changed')?.checkVisibility()", 10)
        .await
        .context("it does not say that it has changed")?;
    let changed = stage
        .script("return document.querySelector('.finding .finding-changed-list').textContent", json!([]))
        .await?;
    ensure!(changed.as_str().is_some_and(|text| text.contains("Ti")), "it says {changed}");
    tab_to(stage, ".finding-title").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, "document.querySelector('.as-kept-name').textContent", "Finding 1, as kept").await?;
    becomes(stage, SENTENCE, &sentence).await?;
    stage.browser.wait("document.querySelector('.kept-canvas').checkVisibility() && document.querySelector('.kept-canvas').width > 200", 10).await.context("the kept picture is not shown")?;
    // it stays as it was kept as long as nobody asks
    stage.pause().await;
    ensure!(findings(stage).await?[0]["sentence"] == json!(sentence), "it was asked again by itself");
    tab_to(stage, ".as-kept .finding-renew").await?;
    stage.browser.press(Key::Enter).await?;
    becomes(stage, "document.querySelector('.as-kept-name').textContent", "Finding 1").await?;
    let now = findings(stage).await?;
    ensure!(
        now[0]["changed"] == json!([]) && now[0]["sentence"] != json!(sentence),
        "renewed, it is {}",
        now[0]
    );
    with(stage, Key::Control, "z").await?;
    becomes(stage, "(await limner.findings())[0].sentence", &sentence).await?;
    Ok(changed.as_str().unwrap_or_default().to_string())
}

async fn object(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    to_findings(stage).await?;
    tab_to(stage, ".about > summary").await?;
    stage.browser.press(Key::Enter).await?;
    tab_to(stage, "#about-object").await?;
    stage.browser.press("Chart of Tern Sound").await?;
    stage.browser.press(Key::Tab).await?;
    stage.browser.press("TS 12").await?;
    stage.browser.press(Key::Tab).await?;
    becomes(stage, "document.querySelector('.top-bar-object').textContent", "Chart of Tern Sound").await?;
    becomes(stage, "(await limner.about()).number", "TS 12").await?;
    ensure!(
        stage.script("return (await limner.about()).object", json!([])).await? == "Chart of Tern Sound",
        "the name is lost"
    );
    Ok(String::new())
}

/// Would change the page if it were read as HTML, and its script would be noted as an error.
const HTML: &str = "<image src=x onerror=\"e2e.errors.push('image')\"><b id=intruder>Bold & \u{e9}</b>";

async fn html_is_text(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Pb-L"]).await?;
    let source = "await limner.set_about({ object: args[0], number: args[0], described: args[0], dated: '', author: '', remarks: args[0] });
        await limner.keep(null, { picture: { map: 'Fe K' }, title: args[0], note: args[0], scene: { version: 1, views: args[0], question: args[0], lights: [args[0]], windows: [{ plane: args[0] }] } });
        await limner.keep(null, { picture: { map: 'Pb L' }, title: 'second', scene: [args[0]] })";
    stage.script(source, json!([HTML])).await?;
    to_findings(stage).await?;
    stage.browser.wait("document.querySelectorAll('.finding').length === 2", 10).await?;
    for place in [1, 2] {
        tab_to(stage, &format!("[aria-label='Open: finding {place}']")).await?;
        stage.browser.press(Key::Enter).await?;
        stage.pause().await;
    }
    let shown = stage.script("return [document.querySelector('.finding-title').textContent, document.querySelector('.finding .finding-note').textContent, document.querySelector('.top-bar-object').textContent]", json!([])).await?;
    ensure!(shown == json!([HTML, HTML, HTML]), "it reads {shown}");
    let intruders =
        stage.script("return document.querySelectorAll('#intruder, img').length", json!([])).await?;
    ensure!(intruders == 0, "{intruders} elements came from a title or a note");
    Ok(String::new())
}
