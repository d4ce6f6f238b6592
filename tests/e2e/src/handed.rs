//! What the page hands over says what the page says: the report has every finding's title, sentence, verdict and numbers, and a
//! figure for each that has a picture.

use crate::report::Report;
use crate::stage::Stage;
use anyhow::{Result, ensure};
use serde_json::json;

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report
        .check(stage, "the report says what the findings say, with a figure for each picture", printed)
        .await;
}

const KEPT: &str = "const keep = async (question, settings, more = {}) => {
      const { answer } = await limner.ask(question, settings);
      await limner.keep(answer.id, more);
    };
    await limner.set_about({ object: 'Chart <of> Tern Sound', number: '17.4' });
    await limner.add_region({ name: 'Compass', rectangle: { x: 180, y: 90, width: 30, height: 30 } });
    await keep('apart', { a: 'Ti K', b: 'Fe K' }, { title: 'Titanium & iron', note: 'Look again.' });
    await keep('ratio', { a: 'Cu K', b: 'Zn K' });
    await keep('materials', { region: 'Compass', colour: 'red', from: 1640, to: 1670 });
    await limner.keep(null, { picture: { lights: [{ map: 'Fe K' }, { map: 'Pb L' }] }, title: 'Two lights' });";

/// The report as text, without its tags.
const READ: &str = "const html = await (await limner.report({ paper: 'A4', dpi: 100 })).text();
    const plain = (words) => words.replace(/&lt;/g, '<').replace(/&gt;/g, '>').replace(/&quot;/g, '\"').replace(/&#39;/g, \"'\").replace(/&amp;/g, '&').replace(/[\\s\\u2009\\u202f\\u2060]+/g, ' ');
    const text = plain(html.replace(/<style>.*?<\\/style>/s, '').replace(/<[^>]*>/g, ' '));
    const missing = [];
    const findings = await limner.findings();
    for (const { title, note, sentence, verdict_text, figures, question } of findings) {
      const said = [title, note, ...(question === null ? [] : [sentence]), ...figures.map(({ value }) => value)];
      for (const one of said) if (one !== '' && !text.toLowerCase().includes(plain(one).trim().toLowerCase())) missing.push(one);
    }
    const figures = [...html.matchAll(/<img [^>]*>/g)].map(([tag]) => tag);
    return { bytes: html.length, missing, pictures: findings.filter(({ picture }) => picture !== null).length, figures: figures.length,
      with_alt: figures.filter((tag) => /alt=\"[^\"]+\"/.test(tag)).length, scripts: (html.match(/<script/g) ?? []).length,
      object: text.includes('Chart <of> Tern Sound'), links: (html.match(/https?:\\/\\/[^\\s\"<]*\" *[^>]*src|src=\"http/g) ?? []).length }";

async fn printed(stage: &Stage) -> Result<String> {
    stage.example().await?;
    stage.script(KEPT, json!([])).await?;
    let read = stage.script(READ, json!([])).await?;
    ensure!(read["missing"] == json!([]), "not in the report: {}", read["missing"]);
    ensure!(read["object"] == true, "the object's name is not there as text");
    ensure!(read["pictures"].as_u64() >= Some(3), "{read}");
    ensure!(read["figures"] == read["pictures"] && read["with_alt"] == read["figures"], "{read}");
    ensure!(read["scripts"] == 0 && read["links"] == 0, "{read}");
    Ok(format!("{} bytes, {} figures", read["bytes"], read["figures"]))
}
