//! What `materials` and `dates` say of the example, held against what was painted (`demo-data/truth/truth.json`): no strong
//! statement is wrong, and the true material is among those that are consistent wherever XRF can see it.
//!
//! The example is invented, its maker (`demo-data/maker`) rests on other tables than the program. Nothing is stated but the
//! proposed years, the bare support, and one reference region: the red of the border, taken as pure lead. Passages are asked
//! for by the inner parts of their masks, as a careful user draws them.
//!
//! The slow form makes the example again with three other seeds; `LIMNER_EXAMPLE` names a folder with another example.

#![allow(clippy::unwrap_used, clippy::panic, clippy::expect_used, missing_docs)]
#![allow(clippy::disallowed_methods)] // a test reads its files itself

use limner::ask::Answer;
use limner::study::{RegionSettings, Study};
use serde_json::{Value, json};
use std::path::{Path, PathBuf};

/// First and last proposed year.
const SPAN: (i32, i32) = (1640, 1670);
/// Passages that are asked about; the others are parts of these, support, or not painted.
const PASSAGES: [&str; 14] = [
    "hills",
    "shore",
    "frame-red",
    "frame-white",
    "compass-disc",
    "star-bare",
    "smalt",
    "yellow",
    "lettering",
    "hull",
    "pennant",
    "gold",
    "repair",
    "sea",
];
/// Of these, the ones whose paint XRF cannot see at all.
const INVISIBLE: [&str; 1] = ["sea"];

/// Materials of which the maps may say nothing: barium whose line is run into by that of the titanium it is mixed with, where no place
/// holds titanium alone. To exclude it would be wrong all the same.
const MAY_ABSTAIN: [(&str, &str); 1] = [("repair", "barium_sulfate")];

fn example() -> PathBuf {
    std::env::var_os("LIMNER_EXAMPLE")
        .map_or_else(|| Path::new(env!("CARGO_MANIFEST_DIR")).join("demo-data"), PathBuf::from)
}

fn bytes(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap_or_else(|error| panic!("{}: {error}", path.display()))
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_else(|| panic!("{value} is no text"))
}

/// One set of maps with the roles that a user states.
struct Chart {
    study: Study,
    truth: Value,
}

impl Chart {
    fn open(folder: &Path, set: &str) -> Self {
        let truth: Value = serde_json::from_slice(&bytes(&folder.join("truth/truth.json"))).unwrap();
        let mut names: Vec<PathBuf> =
            std::fs::read_dir(folder.join(set)).unwrap().map(|entry| entry.unwrap().path()).collect();
        names.retain(|path| path.extension().is_some_and(|ending| ending == "tif"));
        names.sort();
        let mut study = Study::new();
        for path in &names {
            let name = path.file_name().unwrap().to_str().unwrap();
            let opened = study.open(name, &bytes(path));
            // One map is an exact copy of another, which a study takes all the same.
            assert_eq!(opened.maps.len(), 1, "{name}: {:?}", opened.notices);
        }
        assert_eq!(study.maps().len(), 22);
        let mut chart = Self { study, truth };
        chart.region(folder, "support", json!({"role": "bare support"}));
        chart.region(folder, "frame-red", json!({"role": "reference", "pure": "Pb"}));
        for name in PASSAGES.iter().filter(|&&name| name != "frame-red") {
            chart.region(folder, name, json!({"role": "passage"}));
        }
        chart
    }

    fn region(&mut self, folder: &Path, name: &str, mut settings: Value) {
        let file = text(&self.passage(name)["inner"]).to_owned();
        settings["name"] = json!(name);
        settings["mask_png"] = json!(bytes(&folder.join("truth").join(file)));
        self.study
            .add_region(RegionSettings::read(settings).unwrap())
            .unwrap_or_else(|fault| panic!("{name}: {fault:?}"));
    }

    fn passage(&self, name: &str) -> &Value {
        let all = self.truth["passages"].as_array().unwrap();
        all.iter().find(|passage| passage["name"] == name).unwrap_or_else(|| panic!("no passage {name}"))
    }

    fn materials(&mut self, name: &str) -> Value {
        let settings =
            json!({"region": name, "colour": self.passage(name)["colour"], "from": SPAN.0, "to": SPAN.1});
        let answer = self.ask("materials", settings);
        let part = serde_json::to_value(&answer).unwrap()["materials"].clone();
        assert!(!part.is_null(), "{name}: {}", answer.sentence);
        part
    }

    fn ask(&mut self, question: &str, settings: Value) -> Answer {
        let asked = self.study.ask(question, settings, &mut |_, _| {});
        asked.unwrap_or_else(|fault| panic!("{question}: {fault:?}")).0
    }
}

/// What was found over all passages of a set.
#[derive(Default)]
struct Tally {
    /// Strong statements that are wrong, in words.
    wrong: Vec<String>,
    /// Passages whose true materials are all consistent.
    consistent: Vec<&'static str>,
    /// Those whose true material is not: in words.
    missed: Vec<String>,
    /// Passages of which one of the smallest sets holds all that was painted.
    explained: usize,
    /// Passages that XRF can see.
    visible: usize,
    /// Element verdicts in all, and how many of them abstain.
    said: usize,
    abstained: usize,
}

fn state_of<'a>(part: &'a Value, element: &str) -> &'a str {
    let rows = part["elements"].as_array().unwrap();
    rows.iter().find(|row| row["element"] == element).map_or("not measured", |row| text(&row["state"]))
}

fn material<'a>(part: &'a Value, id: &str) -> Option<&'a Value> {
    part["materials"].as_array().unwrap().iter().find(|row| row["id"] == id)
}

/// The first number of counts that a sentence states: "below 32.2 counts a pixel".
fn counts_in(sentence: &str) -> Option<f64> {
    let (before, _) = sentence.split_once(" counts")?;
    let digits: Vec<char> =
        before.chars().rev().take_while(|&c| c.is_ascii_digit() || ".\u{202f}".contains(c)).collect();
    digits.into_iter().rev().filter(|&c| c != '\u{202f}').collect::<String>().parse().ok()
}

/// What an element's own lines truly give in the map where it gives most, counts a pixel.
fn own(element: &Value) -> f64 {
    let maps = element["maps"].as_object().unwrap().values();
    maps.map(|map| map[0].as_f64().unwrap()).fold(0.0, f64::max)
}

fn elements(tally: &mut Tally, name: &str, truth: &Value, part: &Value) {
    for (element, is) in truth["elements"].as_object().unwrap() {
        let said = state_of(part, element);
        let lies_there = is["lies_there"].as_bool().unwrap();
        tally.said += 1;
        tally.abstained += usize::from(said == "cannot be judged");
        let is_wrong = match said {
            "detected" => !lies_there,
            // "Not detected" is true of what gives less than the stated limit.
            "not detected" => {
                let row = part["elements"]
                    .as_array()
                    .unwrap()
                    .iter()
                    .find(|row| row["element"] == element.as_str());
                let below = row.and_then(|row| counts_in(text(&row["text"])));
                lies_there && is["state"] == "present" && below.is_none_or(|below| own(is) > below)
            }
            "as below" => lies_there && is["state"] == "present",
            "cannot be judged" | "not measured" => false,
            other => panic!("{name}: {element} is {other}"),
        };
        if is_wrong {
            let row =
                part["elements"].as_array().unwrap().iter().find(|row| row["element"] == element.as_str());
            let why = row.map_or("", |row| text(&row["text"]));
            tally
                .wrong
                .push(format!("{name}: {element} {said} (lies there: {lies_there}, {}): {why}", is["maps"]));
        }
    }
}

fn judge(chart: &mut Chart) -> Tally {
    let mut tally = Tally::default();
    for name in PASSAGES {
        let part = chart.materials(name);
        let truth = chart.passage(name);
        elements(&mut tally, name, truth, &part);
        let painted: Vec<&str> = truth["materials"].as_array().unwrap().iter().map(text).collect();
        for row in part["materials"].as_array().unwrap() {
            let (id, verdict) = (text(&row["id"]), text(&row["verdict"]));
            // Nothing was measured by another technique.
            if verdict.starts_with("identified") {
                tally.wrong.push(format!("{name}: {id} {verdict}"));
            }
            // The first is the uppermost; one below it is not at the surface, and may be missed there.
            let below = counts_in(text(&row["verdict_text"]));
            // The material's own element is the one that the sentence names.
            let named = truth["elements"].as_object().unwrap().iter().filter(|(symbol, is)| {
                is["lies_there"] == true && text(&row["verdict_text"]).contains(&format!(" of {symbol} at"))
            });
            let gives = named.map(|(_, is)| own(is)).fold(0.0, f64::max);
            if verdict.starts_with("would have been seen")
                && painted.first() == Some(&id)
                && below.is_none_or(|below| gives > below)
            {
                tally.wrong.push(format!("{name}: {id} {}", text(&row["verdict_text"])));
            }
        }
        let told: Vec<String> = painted
            .iter()
            .map(|id| (id, material(&part, id).map_or("not named", |row| text(&row["verdict"]))))
            .filter(|(_, verdict)| !verdict.starts_with("consistent"))
            .filter(|(id, verdict)| {
                !MAY_ABSTAIN.contains(&(name, id)) || verdict.starts_with("would have been seen")
            })
            .map(|(id, verdict)| format!("{id}: {verdict}"))
            .collect();
        if INVISIBLE.contains(&name) {
            continue;
        }
        let must_explain: Vec<&str> =
            painted.iter().copied().filter(|id| !MAY_ABSTAIN.contains(&(name, id))).collect();
        tally.visible += usize::from(!must_explain.is_empty());
        if told.is_empty() {
            tally.consistent.push(name);
        } else {
            tally.missed.push(format!("{name}: {}", told.join(", ")));
        }
        let sets: Vec<Vec<&str>> = part["sets"]
            .as_array()
            .unwrap()
            .iter()
            .map(|set| set["materials"].as_array().unwrap().iter().map(text).collect())
            .collect();
        let smallest = sets.iter().map(Vec::len).min().unwrap_or(0);
        let holds = sets
            .iter()
            .filter(|set| set.len() == smallest)
            .any(|set| must_explain.iter().all(|id| set.contains(id)))
            && !must_explain.is_empty();
        tally.explained += usize::from(holds);
        println!(
            "{name}: {} painted as {painted:?}{}; sets {sets:?}",
            if told.is_empty() { "consistent" } else { "MISSED" },
            if holds { ", held by a smallest set" } else { "" }
        );
        for state in ["detected", "as below", "not detected", "cannot be judged"] {
            let rows = part["elements"].as_array().unwrap().iter().filter(|row| row["state"] == state);
            let symbols: Vec<&str> = rows.map(|row| text(&row["element"])).collect();
            println!("  {state}: {}", symbols.join(" "));
        }
        // Why what lies there for certain is not said to.
        for row in part["elements"].as_array().unwrap() {
            let is_there = truth["elements"][text(&row["element"])]["state"] == "present";
            if is_there && row["state"] != "detected" {
                println!("  not told: {}", text(&row["text"]));
            }
        }
    }
    println!(
        "wrong {}, consistent {} of {}, explained {}, abstained {} of {}",
        tally.wrong.len(),
        tally.consistent.len(),
        tally.visible,
        tally.explained,
        tally.abstained,
        tally.said
    );
    for line in tally.wrong.iter().chain(&tally.missed) {
        println!("  {line}");
    }
    tally
}

/// All that the example must show, on both sets of maps in this folder.
fn must_show(folder: &Path) {
    let mut failed: Vec<String> = Vec::new();
    for set in ["tern-sound", "tern-sound-fitted"] {
        println!("{set} of {}", folder.display());
        let mut chart = Chart::open(folder, set);
        let tally = judge(&mut chart);
        let (border, smalt) = (chart.materials("frame-red"), chart.materials("smalt"));
        let sea = chart.materials("sea");
        let indigo = material(&sea, "indigo").map(ToString::to_string).unwrap_or_default();
        println!("{set}: indigo: {indigo}");
        let dates = chart.ask("dates", json!({"region": "repair", "from": SPAN.0, "to": SPAN.1}));
        let rows = serde_json::to_value(&dates).unwrap()["dates"]["rows"].clone();
        println!("{set}: dates: {} {}", dates.verdict, dates.sentence);
        for row in rows.as_array().unwrap() {
            println!("  {}: {}; {}", row["id"], row["verdict_text"], row["explanations"]);
        }

        failed.extend(tally.wrong.iter().chain(&tally.missed).map(|line| format!("{set}: {line}")));
        let mut hold = |holds: bool, text: &str| {
            if !holds {
                failed.push(format!("{set}: {text}"));
            }
        };
        hold(5 * tally.explained >= 4 * tally.visible, "the smallest sets hold too few");
        // Lead of the border falls into the window of arsenic; the arsenic of the smalt is its own.
        hold(state_of(&border, "As") == "cannot be judged", "As of the border");
        hold(state_of(&smalt, "As") == "detected", "As of the smalt");
        // Indigo shows in no X-ray line: named, neither found nor excluded.
        let indigo = material(&sea, "indigo").cloned().unwrap_or_default();
        hold(indigo["verdict"] == "no evidence in these maps", "indigo");
        hold(indigo.to_string().contains("None of its elements shows in XRF"), "why indigo is not seen");
        // Titanium white came into use long after 1670; a later repair is the first thing to think of.
        hold(dates.verdict == "does not fit", &dates.sentence);
        let is_titanium = |row: &&Value| row["id"] == "Ti" || text(&row["id"]).contains("titanium");
        let flagged: Vec<&Value> = rows
            .as_array()
            .unwrap()
            .iter()
            .filter(|row| row["verdict"] == "does not fit")
            .filter(is_titanium)
            .collect();
        hold(!flagged.is_empty(), "titanium is not flagged");
        for row in flagged {
            let first = row["explanations"].as_array().unwrap().first().map_or("", |first| text(first));
            hold(first.contains("repair"), &row.to_string());
        }
    }
    assert!(failed.is_empty(), "{failed:#?}");
}

#[test]
fn the_example_is_read_without_a_wrong_strong_statement() {
    must_show(&example());
}

/// The same with other chances of counting. `cargo xtask test --slow` makes them.
#[test]
#[ignore = "makes the example three times"]
fn other_chances_are_read_alike() {
    for seed in ["11", "22", "33"] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/demo-seeds").join(seed);
        let cargo = std::env::var_os("CARGO").unwrap_or_else(|| "cargo".into());
        let made = std::process::Command::new(cargo)
            .current_dir(env!("CARGO_MANIFEST_DIR"))
            .args(["run", "--quiet", "--release", "--package", "limner-demo-maker", "--"])
            .arg(&folder)
            .arg(seed)
            .status()
            .unwrap();
        assert!(made.success(), "the maker of the example failed for seed {seed}");
        must_show(&folder);
    }
}
