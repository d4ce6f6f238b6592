//! Study files that are spoilt or made to harm: one sentence each, nothing runs, and the open study stays as it was.

use crate::report::Report;
use crate::stage::{Stage, repository};
use anyhow::{Context, Result, ensure};
use base64::{Engine, engine::general_purpose::STANDARD};
use serde_json::{Value, json};

/// All checks of this theme.
pub async fn check(report: &mut Report, stage: &Stage) {
    report.check(stage, "hostile study files give a sentence and change nothing", refused).await;
    report.check(stage, "markup in a study file appears as text", markup).await;
}

/// A ZIP file (APPNOTE 6.3.10) of stored entries, or of one that is deflated.
const ZIP: &str = "const text = (words) => new TextEncoder().encode(words);
    const table = Uint32Array.from({ length: 256 }, (_, n) => { for (let k = 0; k < 8; k += 1) n = n & 1 ? (n >>> 1) ^ 0xedb88320 : n >>> 1; return n >>> 0; });
    const crc32 = (bytes) => { let sum = 0xffffffff; for (const byte of bytes) sum = table[(sum ^ byte) & 255] ^ (sum >>> 8); return (sum ^ 0xffffffff) >>> 0; };
    const le = (size, number) => { const out = new Uint8Array(size); for (let i = 0; i < size; i += 1) out[i] = Math.floor(number / 256 ** i) % 256; return out; };
    const zip = (entries) => {
      const parts = [], list = [];
      let at = 0;
      for (const { path, bytes, method = 0, size = bytes.length, crc = crc32(bytes) } of entries) {
        const name = text(path);
        const head = [le(2, 20), le(2, 2048), le(2, method), le(2, 0), le(2, 33), le(4, crc), le(4, bytes.length), le(4, size), le(2, name.length), le(2, 0)];
        parts.push(text('PK\\x03\\x04'), ...head, name, bytes);
        list.push(text('PK\\x01\\x02'), le(2, 20), ...head, le(2, 0), le(2, 0), le(2, 0), le(4, 0), le(4, at), name);
        at += 30 + name.length + bytes.length;
      }
      const size = list.reduce((sum, one) => sum + one.length, 0);
      return new Blob([...parts, ...list, text('PK\\x05\\x06'), le(4, 0), le(2, entries.length), le(2, entries.length), le(4, size), le(4, at), le(2, 0)]);
    };
    const state = (record) => [{ path: 'study.json', bytes: text(JSON.stringify({ limner_study: 1, program: 'limner', record })) }];
    const empty = { record: 6, inputs: [], grid: null, maps: {} };";

/// Each with what its sentence must hold.
const CASES: &str = "const good = Uint8Array.fromBase64(args[0]);
    const zeros = new Uint8Array(await new Response(new Blob([new Uint8Array(2e8)]).stream().pipeThrough(new CompressionStream('deflate-raw'))).arrayBuffer());
    const region = { number: 1, name: 'r', role: 'passage', shape: { how: 'threshold', map: '', low: 0, high: 1 } };
    const cases = [
      ['nothing', new Blob([]), 'part of one'],
      ['no study', zip([{ path: 'Fe-K.csv', bytes: text('1,2') }]), 'holds no study.json'],
      ['cut', new Blob([good.subarray(0, good.length / 2)]), 'part of one'],
      ['bomb', zip([{ path: 'study.json', bytes: zeros, method: 8, size: 2e8, crc: 0 }]), 'claims to unpack'],
      ['up and out', zip([...state(empty), { path: '../../evil.js', bytes: text('x') }]), 'leads out of its folder'],
      ['markup as a path', zip([...state(empty), { path: '../<img src=x onerror=\"document.title=1\">', bytes: text('x') }]), 'leads out'],
      ['wrong types', zip(state({ ...empty, regions: 'many' })), 'not understood'],
      ['a million regions', zip(state({ ...empty, regions: Array.from({ length: 1e6 }, () => region) })), '1000000 regions'],
      ['another version', zip(state({ ...empty, record: 99 })), 'newer version'],
      ['a script', new Blob(['<script>document.title = 1</script>']), 'part of one'],
    ];
    const before = JSON.stringify([await limner.maps(), await limner.regions(), await limner.findings(), await limner.record()]);
    const wrong = [];
    for (const [name, blob, said] of cases) {
      const fault = await limner.restore(blob).then(() => null, ({ code, message }) => ({ code, message }));
      if (!fault?.message.includes(said) || !fault.message.endsWith('.') || fault.message.includes('\\n')) wrong.push([name, fault]);
      const now = JSON.stringify([await limner.maps(), await limner.regions(), await limner.findings(), await limner.record()]);
      if (now !== before) wrong.push([name, 'the open study changed']);
    }
    return { wrong, title: document.title, cases: cases.length, steps: (await limner.history()).undo }";

fn study_file() -> Result<String> {
    let bytes = std::fs::read(repository("tests/studies/version-6.zip"));
    Ok(STANDARD.encode(bytes.context("tests/studies/version-6.zip cannot be read")?))
}

async fn refused(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K", "Ti-K"]).await?;
    let made =
        "await limner.add_region({ name: 'mine', rectangle: { x: 20, y: 20, width: 60, height: 40 } });
        const { answer } = await limner.ask('ratio', { a: 'Ti K', b: 'Fe K' });
        await limner.keep(answer.id, { title: 'mine' });
        return (await limner.history()).undo";
    let steps = stage.script(made, json!([])).await?;
    let done = stage.script(&format!("{ZIP}\n{CASES}"), json!([study_file()?])).await?;
    ensure!(done["wrong"] == json!([]), "{}", done["wrong"]);
    ensure!(done["title"] == "Limner", "the title is {}", done["title"]);
    ensure!(done["steps"] == steps, "there were {steps} steps, now {}", done["steps"]);
    Ok(format!("{} files", done["cases"]))
}

async fn markup(stage: &Stage) -> Result<String> {
    stage.part_of_example(&["Fe-K"]).await?;
    let opened = "const { maps } = await limner.restore(new Blob([Uint8Array.fromBase64(args[0])]));
        document.querySelector('[data-column=findings]').click();
        return [maps.length, (await limner.findings())[0].note, (await limner.about()).object]";
    let opened = stage.script(opened, json!([study_file()?])).await?;
    let note = opened[1].as_str().unwrap_or_default();
    ensure!(note.contains("<b>"), "the note has no markup to try: {opened}");
    let seen = format!("document.querySelector('.findings').textContent.includes({})", json!(note));
    stage.browser.wait(&seen, 10).await.context("the note does not stand there")?;
    let alive = "return [document.querySelectorAll('.findings img, .findings b, .findings script, .top-bar img, .sheet b').length, document.title]";
    let alive: Value = stage.script(alive, json!([])).await?;
    ensure!(alive[0] == 0, "markup came to life: {alive}");
    Ok(opened.to_string())
}
