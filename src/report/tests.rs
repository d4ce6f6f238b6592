//! The report by its own text: what stands in it is what the answers say, and nothing that was typed or dropped can become markup.
//! `Script` below reads tags as the HTML standard forms them, without the code that wrote them.

use super::page::escaped;
use super::*;
use crate::study::{
    AboutRecord, Derivation, GridRecord, KeepSettings, MapRecord, PointSettings, RegionSettings, Study,
};
use serde_json::json;
use std::collections::BTreeSet;

const HOSTILE: &str =
    "\"><script>alert(1)</script><img src=x onerror=alert(1)>&amp;'\u{202e}\u{2066}\u{7}\u{0}";

fn quiet() -> impl FnMut(f64, &str) {
    |_, _| {}
}

/// Counts as text: a field of background with a painted square.
fn file(bright: u32, left: u32) -> Vec<u8> {
    let value = |x: u32, y: u32| {
        let background = [2, 1, 3, 2, 0, 4, 2, 1][((x * 5 + y * 3) % 8) as usize];
        let is_painted = (left..left + 12).contains(&x) && (4..16).contains(&y);
        background + if is_painted { bright } else { 0 }
    };
    let row = |y: u32| (0..30).map(|x| value(x, y).to_string()).collect::<Vec<_>>().join(",");
    (0..20).map(row).collect::<Vec<_>>().join("\n").into_bytes()
}

fn region(study: &mut Study, settings: Value) {
    study.add_region(RegionSettings::read(settings).unwrap()).unwrap();
}

fn keep(study: &mut Study, question: &str, settings: Value, title: &str, note: &str) {
    let (answer, _) = study.ask(question, settings, &mut quiet()).unwrap();
    let settings = json!({"answer": answer.id, "title": title, "note": note});
    study.keep(KeepSettings::read(settings).unwrap()).unwrap();
}

/// A study with every part that a report has; all names and texts are `name`, where they can be.
fn study(name: &str) -> Study {
    let mut study = Study::new();
    for (file_name, bytes) in [("Ti-K.csv", file(80, 8)), ("Fe-K.csv", file(200, 14))] {
        let opened = study.open(&format!("{name} {file_name}"), &bytes);
        assert_eq!(opened.maps.len(), 1, "{:?}", opened.notices);
    }
    for (id, line) in [("m1", "Ti K"), ("m2", "Fe K")] {
        let stated =
            MapRecord { line: Some(line.into()), kind: Some("window".into()), ..MapRecord::default() };
        study.set_map(id, stated).unwrap();
    }
    study.set_scan(serde_json::from_value(json!({"anode": "Rh", "kv": 50.0})).unwrap()).unwrap();
    study.set_grid(GridRecord { step_x_um: Some(500.0), ..GridRecord::default() }).unwrap();
    region(
        &mut study,
        json!({"name": format!("{name} a"), "rectangle": {"x": 8, "y": 4, "width": 12, "height": 12}}),
    );
    let support = json!({"name": format!("{name} b"), "rectangle": {"x": 0, "y": 0, "width": 30, "height": 3}, "role": "bare support"});
    region(&mut study, support);
    let point = json!({"at": [12.5, 8.5], "technique": "Raman", "result": name, "name": name});
    study.add_point(PointSettings::read(point).unwrap()).unwrap();
    let sum = json!({"how": "sum", "of": ["m1", "m2"], "name": name});
    study.derive(&Derivation::read(sum).unwrap()).unwrap();
    let about = json!({"object": name, "number": name, "described": name, "dated": name, "author": name, "remarks": name});
    study.set_about(AboutRecord::read(about).unwrap()).unwrap();
    keep(&mut study, "faint", json!({"map": "m1", "region": "r1"}), name, name);
    keep(&mut study, "apart", json!({"a": "m1", "b": "m2"}), "", "");
    keep(&mut study, "ratio", json!({"a": "m1", "b": "m2", "region": "r1"}), "", "");
    keep(&mut study, "regions", json!({"regions": ["r1", "r2"], "maps": ["m1"]}), "", "");
    keep(
        &mut study,
        "materials",
        json!({"region": "r1", "colour": "white", "from": 1700, "to": 1800}),
        "",
        "",
    );
    keep(&mut study, "dates", json!({"region": "r1", "from": 1500, "to": 1600}), "", "");
    let view = json!({"picture": {"lights": [{"map": "m1"}, {"map": "m2"}]}, "title": "Both"});
    study.keep(KeepSettings::read(view).unwrap()).unwrap();
    study
}

fn small() -> ReportSettings {
    ReportSettings { dpi: 72.0, date: "1 March".into(), ..ReportSettings::default() }
}

/// A page as a reader without our code sees it.
#[derive(Debug, Default)]
struct Script {
    ids: Vec<String>,
    links: Vec<String>,
    alts: Vec<String>,
    headings: Vec<u32>,
    tags: BTreeSet<String>,
    /// Names of attributes.
    names: BTreeSet<String>,
    text: String,
}

impl Script {
    fn of(html: &str) -> Self {
        let mut out = Self::default();
        let (_, body) = html.split_once("<!DOCTYPE html>").unwrap();
        let (head, rest) = body.split_once("<style>").unwrap();
        let (_, tail) = rest.split_once("</style>").unwrap();
        let mut open: Vec<String> = Vec::new();
        for part in format!("{head}{tail}").split('<').skip(1) {
            let (tag, text) = part.split_once('>').unwrap_or_else(|| panic!("no end of a tag: {part:.80}"));
            out.text.push_str(text);
            out.text.push(' ');
            if let Some(name) = tag.strip_prefix('/') {
                assert_eq!(open.pop().as_deref(), Some(name));
                continue;
            }
            let (name, attributes) = tag.split_once(' ').unwrap_or((tag, ""));
            out.tags.insert(name.to_owned());
            if !["img", "meta", "wbr"].contains(&name) {
                open.push(name.to_owned());
            }
            let mut scope = "";
            let mut pieces = attributes.split('"');
            while let (Some(key), Some(value)) = (pieces.next(), pieces.next()) {
                let key = key.trim().trim_end_matches('=');
                out.names.insert(key.to_owned());
                match key {
                    "id" => out.ids.push(value.to_owned()),
                    "href" | "aria-labelledby" => out.links.push(value.trim_start_matches('#').to_owned()),
                    "alt" | "aria-label" => out.alts.push(value.to_owned()),
                    "scope" => scope = value,
                    "src" => assert!(value.starts_with("data:image/png;base64,")),
                    _ => {}
                }
            }
            assert!(name != "th" || ["row", "col"].contains(&scope), "{part}");
            if let Some(level) = name.strip_prefix('h').and_then(|level| level.parse().ok()) {
                out.headings.push(level);
            }
        }
        assert!(open.is_empty(), "left open: {open:?}");
        out
    }
}

#[test]
fn every_part_is_there_and_readers_of_screens_find_their_way() {
    let mut study = study("Chart");
    let html = html(&mut study, &small(), &mut quiet()).unwrap();
    let page = Script::of(&html);
    let ids: BTreeSet<&String> = page.ids.iter().collect();
    assert_eq!(ids.len(), page.ids.len(), "an id stands twice");
    for link in &page.links {
        assert!(ids.contains(link), "{link} leads nowhere");
    }
    let findings = study.findings();
    for finding in &findings {
        assert!(ids.contains(&format!("finding-{}", finding.place)));
    }
    for section in [
        "summary", "object", "mind", "findings", "regions", "points", "files", "maps", "made", "methods",
        "settings", "again",
    ] {
        assert!(ids.contains(&section.to_owned()), "{section}");
    }
    // Each figure says in words what it shows; the drawing of the regions as well.
    let captions: Vec<String> =
        findings.iter().filter_map(|f| f.picture.as_ref()).map(|p| escaped(&p.caption)).collect();
    assert!(captions.len() >= 4, "{captions:?}");
    assert_eq!(html.matches("<img ").count(), captions.len());
    assert!(captions.iter().all(|caption| page.alts.contains(caption)), "{:?}", page.alts);
    assert!(page.alts.iter().all(|alt| !alt.is_empty()));
    assert_eq!(page.headings.iter().filter(|&&level| level == 1).count(), 1);
    assert!(page.headings.windows(2).all(|two| two[1] <= two[0] + 1), "{:?}", page.headings);
    assert!(html.starts_with("<!DOCTYPE html>\n<html lang=\"en\">"));
    let landmarks = ["header", "nav", "main", "section", "article", "figure", "caption"];
    assert!(landmarks.iter().all(|tag| page.tags.contains(*tag)), "{:?}", page.tags);
    assert!(html.contains("1 March") && html.contains("limner.reproduce()"));
}

#[test]
fn what_it_says_is_what_the_answers_say() {
    let mut study = study("Chart");
    let html = html(&mut study, &small(), &mut quiet()).unwrap();
    let has = |text: &str| html.contains(&escaped(text));
    for finding in study.findings() {
        assert!(has(&finding.title) && has(&finding.note), "{}", finding.id);
        assert!(has(&finding.sentence), "{}", finding.sentence);
        for figure in &finding.figures {
            assert!(has(&figure.value) && has(&figure.label), "{figure:?}");
        }
        for caution in &finding.cautions {
            assert!(has(caution), "{caution}");
        }
        let Some(answer) = study.finding(&finding.id).unwrap().answer else { continue };
        assert!(answer.method.iter().all(|method| has(&method.text) && has(&method.source)));
        assert!(answer.numbers.keys().all(|name| html.replace("<wbr>", "").contains(name.as_str())));
        let settings = crate::digest::canonical_json(&serde_json::to_value(&answer.settings).unwrap());
        assert!(has(&settings) && has(&answer.id));
    }
    for input in study.inputs() {
        assert!(html.replace("<wbr>", "").contains(&input.sha256));
    }
    let row = "<th scope=\"row\">count_ratio</th>";
    let answer = study.finding("f3").unwrap().answer.unwrap();
    let value = answer.numbers["count_ratio"].value.unwrap();
    let after = html.split(row).nth(1).unwrap();
    let shown: f64 = after.split("<td>").nth(1).unwrap().split('<').next().unwrap().parse().unwrap();
    assert!((shown - value).abs() <= 1e-5 * value.abs(), "{shown} {value}");
}

#[test]
fn nothing_that_was_typed_becomes_markup() {
    let calm = Script::of(&html(&mut study("Chart"), &small(), &mut quiet()).unwrap());
    let mut study = study(HOSTILE);
    let html = html(&mut study, &small(), &mut quiet()).unwrap();
    let page = Script::of(&html);
    assert_eq!((&page.tags, &page.names), (&calm.tags, &calm.names));
    assert!(!page.tags.contains("script") && !page.names.iter().any(|name| name.starts_with("on")));
    assert!(!html.contains(['\u{202e}', '\u{2066}', '\u{7}', '\u{0}']));
    assert!(html.contains("&lt;script&gt;alert(1)"), "it is shown as it was typed");
    assert_eq!(
        html.matches("<img ").count(),
        study.findings().iter().filter(|f| f.picture.is_some()).count()
    );
    assert_eq!(
        escaped("a<b>&\"'\n\t\u{feff}\u{e0041}\u{ffff}"),
        "a&lt;b&gt;&amp;&quot;&#39;\n \u{fffd}\u{fffd}\u{fffd}"
    );
}

#[test]
fn a_very_long_name_can_be_broken() {
    let mut study = study(&"W".repeat(60));
    let html = html(&mut study, &small(), &mut quiet()).unwrap();
    let cells = html.split("<td").skip(1).map(|cell| cell.split("</td>").next().unwrap());
    for cell in cells.filter(|cell| !cell.contains("code")) {
        let (_, text) = cell.split_once('>').unwrap();
        let longest = text
            .split(|c: char| c.is_whitespace())
            .flat_map(|word| word.split("<wbr>"))
            .map(|run| run.chars().count());
        assert!(longest.max().unwrap_or(0) <= 18 * 6, "{text}");
    }
}

#[test]
fn the_same_study_gives_the_same_bytes_and_the_policy_names_the_style() {
    let mut first = study("Chart");
    let one = html(&mut first, &small(), &mut quiet()).unwrap();
    assert_eq!(one, html(&mut first, &small(), &mut quiet()).unwrap());
    assert_eq!(one, html(&mut study("Chart"), &small(), &mut quiet()).unwrap());
    let style = one.split("<style>").nth(1).unwrap().split("</style>").next().unwrap();
    let policy = format!("default-src &#39;none&#39;; img-src data:; style-src &#39;{}&#39;", hash_of(style));
    assert!(one.contains(&policy));
    assert!(
        !one.contains("style=\"")
            && !one.contains("http:")
            && !one.contains("https:")
            && !one.contains("url("),
        "nothing is fetched"
    );
    let letter = ReportSettings { paper: Paper::Letter, ..small() };
    assert!(html(&mut first, &letter, &mut quiet()).unwrap().contains("size: 8.5in 11in"));
}

#[test]
fn a_finding_on_other_ground_keeps_its_picture_and_says_so() {
    let mut study = study("Chart");
    region(&mut study, json!({"name": "c", "rectangle": {"x": 2, "y": 2, "width": 9, "height": 9}}));
    study
        .set_region(
            "r1",
            RegionSettings::read(json!({"rectangle": {"x": 9, "y": 4, "width": 12, "height": 12}})).unwrap(),
        )
        .unwrap();
    let changed = &study.findings()[0].changed;
    assert!(!changed.is_empty());
    let said = escaped(&changed.join(" "));
    let mut kept = String::new();
    base64::push(&mut kept, study.kept_png("f1").unwrap().unwrap());
    let html = html(&mut study, &small(), &mut quiet()).unwrap();
    assert!(html.contains(&said) && html.contains(&kept));
    assert!(html.contains("The figure is as it was kept."));
    let without = ReportSettings { figures: false, ..small() };
    assert!(!super::html(&mut study, &without, &mut quiet()).unwrap().contains("<img"));
}

#[test]
fn settings_that_cannot_be_are_refused_and_an_empty_study_has_a_report() {
    for wrong in [
        json!({"paper": "A5"}),
        json!({"dpi": 71}),
        json!({"dpi": 601}),
        json!({"dpi": null}),
        json!({"more": 1}),
        json!({"date": "x".repeat(61)}),
    ] {
        assert_eq!(ReportSettings::read(wrong.clone()).unwrap_err().code, "bad_setting", "{wrong}");
    }
    assert_eq!(ReportSettings::read(Value::Null).unwrap(), ReportSettings::default());
    let page = Script::of(&html(&mut Study::new(), &ReportSettings::default(), &mut quiet()).unwrap());
    assert!(page.text.contains("Nothing was kept as a finding."));
    let ids: BTreeSet<&String> = page.ids.iter().collect();
    assert!(page.links.iter().all(|link| ids.contains(link)), "{:?}", page.links);
}
