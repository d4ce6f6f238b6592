//! What changed from one record to the next, in a few words: for undo, redo and the list of what was done.

use super::record::Record;
use std::collections::BTreeSet;

/// Names that are said before the rest is only counted.
const MOST_NAMED: usize = 2;

/// What changed from one state to another, as "region “sky” added"; empty where nothing did.
pub fn difference(before: &Record, after: &Record) -> String {
    let mut told = Vec::new();
    let files = |record: &Record| -> Vec<Thing> {
        record.inputs.iter().map(|input| Thing::new(input.sha256.clone(), &input.name, &input.way)).collect()
    };
    told.extend(changes(
        &files(before),
        &files(after),
        &Words { one: "file", many: "files", added: "opened", gone: "closed" },
    ));
    if before.about != after.about {
        told.push("about the object".into());
    }
    if before.grid != after.grid {
        let turned =
            |record: &Record| record.grid.map(|grid| (grid.turns.unwrap_or(0), grid.mirror.unwrap_or(false)));
        let is_turned = turned(before).unwrap_or_default() != turned(after).unwrap_or_default();
        told.push(if is_turned { "maps turned" } else { "step of the scan" }.into());
    }
    if before.scan != after.scan {
        told.push("how the scan was made".into());
    }
    let derived = |record: &Record| -> Vec<Thing> {
        record
            .derived
            .iter()
            .map(|made| Thing::new(made.number, &format!("d{}", made.number), made))
            .collect()
    };
    told.extend(changes(
        &derived(before),
        &derived(after),
        &Words { one: "derived map", many: "derived maps", added: "made", gone: "removed" },
    ));
    let stated = |record: &Record| -> Vec<Thing> {
        record
            .maps
            .iter()
            .map(|(key, stated)| Thing::new(key.clone(), stated.name.as_deref().unwrap_or_default(), stated))
            .collect()
    };
    let (maps_before, maps_after) = (stated(before), stated(after));
    if maps_before != maps_after && before.derived == after.derived {
        let is_other = |thing: &&Thing| !maps_before.contains(thing);
        let many = maps_after.iter().filter(is_other).count().max(1);
        told.push(if many == 1 { "what a map is".into() } else { format!("what {many} maps are") });
    }
    if before.photos != after.photos {
        told.push("how a photo lies".into());
    }
    if before.fields != after.fields {
        told.push("how another scan lies".into());
    }
    if before.object != after.object {
        told.push("the object's edges".into());
    }
    let regions = |record: &Record| -> Vec<Thing> {
        record.regions.iter().map(|region| Thing::new(region.number, &region.name, region)).collect()
    };
    told.extend(changes(
        &regions(before),
        &regions(after),
        &Words { one: "region", many: "regions", added: "added", gone: "removed" },
    ));
    let points = |record: &Record| -> Vec<Thing> {
        record.points.iter().map(|point| Thing::new(point.number, &point.name, point)).collect()
    };
    told.extend(changes(
        &points(before),
        &points(after),
        &Words { one: "analysis point", many: "analysis points", added: "added", gone: "removed" },
    ));
    let spectra = |record: &Record| -> Vec<Thing> {
        record.spectra.iter().map(|one| Thing::new(one.number, &one.name, one)).collect()
    };
    told.extend(changes(
        &spectra(before),
        &spectra(after),
        &Words { one: "spectrum", many: "spectra", added: "added", gone: "removed" },
    ));
    let findings = |record: &Record| -> Vec<Thing> {
        record.findings.iter().map(|one| Thing::new(one.number, &one.title, one)).collect()
    };
    let (was, is) = (findings(before), findings(after));
    let of_findings =
        changes(&was, &is, &Words { one: "finding", many: "findings", added: "kept", gone: "removed" });
    if of_findings.is_empty() && was != is {
        told.push("order of the findings".into());
    }
    told.extend(of_findings);
    told.join("; ")
}

/// Something with a name.
#[derive(Debug, Clone, PartialEq)]
struct Thing {
    key: String,
    name: String,
    content: String,
}

impl Thing {
    fn new(key: impl ToString, name: &str, content: &impl serde::Serialize) -> Self {
        // Records hold texts and finite numbers, so that they always can be written.
        let content = serde_json::to_string(content).unwrap_or_default();
        Self { key: key.to_string(), name: name.to_owned(), content }
    }
}

struct Words {
    one: &'static str,
    many: &'static str,
    added: &'static str,
    gone: &'static str,
}

/// What came, what went and what is otherwise.
fn changes(before: &[Thing], after: &[Thing], words: &Words) -> Vec<String> {
    let keys = |things: &[Thing]| things.iter().map(|thing| thing.key.clone()).collect::<BTreeSet<_>>();
    let (was, is) = (keys(before), keys(after));
    let of = |things: &[Thing], which: &dyn Fn(&Thing) -> bool, what: &str| {
        let names: Vec<&str> =
            things.iter().filter(|thing| which(thing)).map(|thing| thing.name.as_str()).collect();
        told(&names, words, what)
    };
    let is_other = |thing: &Thing| before.iter().any(|old| old.key == thing.key && old != thing);
    [
        of(after, &|thing| !was.contains(&thing.key), words.added),
        of(before, &|thing| !is.contains(&thing.key), words.gone),
        of(after, &is_other, "changed"),
    ]
    .into_iter()
    .flatten()
    .collect()
}

fn told(names: &[&str], words: &Words, what: &str) -> Option<String> {
    let quoted = |name: &&str| format!("“{name}”");
    match names {
        [] => None,
        [""] => Some(format!("{} {what}", words.one)),
        [name] => Some(format!("{} {} {what}", words.one, quoted(name))),
        several if several.len() <= MOST_NAMED && several.iter().all(|name| !name.is_empty()) => {
            let all: Vec<String> = several.iter().map(quoted).collect();
            Some(format!("{} {} {what}", words.many, all.join(" and ")))
        }
        many => Some(format!("{} {} {what}", many.len(), words.many)),
    }
}
