//! The modules of the core are layers: each imports only from lower levels, and siblings don't import each other.
//! The table here is the one of ARCHITECTURE in DEVELOPERS.md; a new module must be entered before it compiles here.

#![allow(clippy::unwrap_used)] // a test may fail

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Module, its level. `grid` may use `notice` (an allocation can fail), the one exception, listed below.
const LEVELS: [(&str, u32); 27] = [
    ("digest", 0),
    ("geometry", 0),
    ("grid", 0),
    ("notice", 0),
    ("numerics", 0),
    ("zip", 0),
    ("class", 1),
    ("colour", 1),
    ("element", 1),
    ("kind", 1),
    ("npy", 1),
    ("physics", 2),
    ("stack", 2),
    ("condition", 3),
    ("display", 3),
    ("inspect", 3),
    ("measure", 3),
    ("reading", 3),
    ("region", 3),
    ("register", 3),
    ("pigment", 4),
    ("ask", 5),
    ("study", 6),
    ("archive", 7),
    ("export", 7),
    ("report", 7),
    ("wasm", 8),
];

/// Imports between siblings that are allowed, with the reason.
const EXCEPTIONS: [(&str, &str, &str); 4] = [
    ("grid", "notice", "an allocation that fails is worded there"),
    ("grid", "geometry", "how a picture is laid is defined there"),
    ("zip", "notice", "a file that cannot be written is worded there"),
    ("zip", "grid", "memory is taken there"),
];

fn sources(folder: &Path, out: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("src")
}

/// Modules of this crate that a source names in paths, outside comments.
fn imported(text: &str) -> Vec<String> {
    let code: String =
        text.lines().map(|line| line.split("//").next().unwrap()).collect::<Vec<_>>().join("\n");
    let mut out: Vec<String> = code
        .split("crate::")
        .skip(1)
        .flat_map(|rest| match rest.strip_prefix('{') {
            Some(list) => list
                .split('}')
                .next()
                .unwrap()
                .split(',')
                .map(|name| name.trim().to_owned())
                .collect::<Vec<_>>(),
            None => vec![rest.to_owned()],
        })
        .map(|rest| rest.chars().take_while(|c| c.is_ascii_alphanumeric() || *c == '_').collect::<String>())
        .filter(|name| name.chars().next().is_some_and(|c| c.is_ascii_lowercase()))
        .collect();
    out.sort();
    out.dedup();
    out
}

/// What a module may not import of what it imports.
fn faults(levels: &BTreeMap<&str, u32>, module: &str, text: &str) -> Vec<String> {
    let mine = levels.get(module).copied();
    imported(text)
        .into_iter()
        .filter(|name| name != module)
        .filter_map(|name| match (mine, levels.get(name.as_str())) {
            (Some(mine), Some(theirs)) if *theirs < mine => None,
            (Some(_), Some(_)) if EXCEPTIONS.iter().any(|(a, b, _)| *a == module && *b == name) => None,
            _ => Some(format!("{module} imports {name}")),
        })
        .collect()
}

#[test]
fn imports_go_down_only() {
    let levels = BTreeMap::from(LEVELS);
    let mut files = Vec::new();
    sources(&root(), &mut files);
    let (mut seen, mut wrong) = (Vec::new(), Vec::new());
    for file in &files {
        let inside = file.strip_prefix(root()).unwrap();
        let module = inside
            .components()
            .next()
            .unwrap()
            .as_os_str()
            .to_str()
            .unwrap()
            .trim_end_matches(".rs")
            .to_owned();
        if module == "lib" {
            continue;
        }
        seen.push(module.clone());
        wrong.extend(faults(&levels, &module, &fs::read_to_string(file).unwrap()));
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    for (module, _) in LEVELS {
        assert!(seen.iter().any(|s| s == module), "{module} is in the table and not in src");
    }
    assert!(
        seen.iter().all(|module| levels.contains_key(module.as_str())),
        "a module is not in the table: {seen:?}"
    );
}

#[test]
fn the_check_sees_what_it_must_refuse() {
    let levels = BTreeMap::from(LEVELS);
    assert_eq!(faults(&levels, "numerics", "use crate::stack::Map;"), ["numerics imports stack"]);
    assert_eq!(
        faults(&levels, "display", "use crate::{grid::Grid, measure::Level};"),
        ["display imports measure"]
    );
    assert_eq!(faults(&levels, "ask", "fn f() { crate::study::open() }"), ["ask imports study"]);
    assert_eq!(
        faults(&levels, "grid", "use crate::notice::OutOfMemory; // use crate::stack"),
        Vec::<String>::new()
    );
    assert_eq!(faults(&levels, "newcomer", "use crate::grid::Grid;"), ["newcomer imports grid"]);
}

#[test]
fn only_the_boundary_knows_the_browser() {
    let mut files = Vec::new();
    sources(&root(), &mut files);
    for file in files.iter().filter(|file| !file.strip_prefix(root()).unwrap().starts_with("wasm")) {
        let text = fs::read_to_string(file).unwrap();
        for word in ["wasm_bindgen", "js_sys", "web_sys"] {
            assert!(!text.contains(word), "{} names {word}", file.display());
        }
    }
}

#[test]
fn files_stay_of_a_size_that_can_be_read() {
    let mut files = Vec::new();
    sources(&root(), &mut files);
    for file in files {
        let lines = fs::read_to_string(&file).unwrap().lines().count();
        assert!(lines <= 420, "{} has {lines} lines", file.display());
    }
}
