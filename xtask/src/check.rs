//! `cargo xtask test`: every check there is, in order. A failing step does not hide the ones after it.

use crate::count::Count;
use crate::{lint, page, place, run, testers, tools};
use anyhow::{Context, Result, ensure};
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::time::Instant;

/// What was asked for.
#[derive(Default)]
pub struct Options {
    /// Long studies too: tests marked `#[ignore]`.
    pub slow: bool,
    /// Only these steps; all when empty.
    pub only: Vec<String>,
}

struct Step {
    name: &'static str,
    run: fn(&Options) -> Result<Count>,
    /// Runs while the steps after it run: it waits for no other and none waits for it.
    is_beside: bool,
}

impl Step {
    const fn new(name: &'static str, run: fn(&Options) -> Result<Count>) -> Self {
        Self { name, run, is_beside: false }
    }

    /// Its count, and the line that says so.
    fn done(&self, options: &Options) -> (Count, String) {
        let start = Instant::now();
        let count = (self.run)(options).unwrap_or_else(|error| {
            println!("{}: {error:#}", self.name);
            Count::one(false)
        });
        let seconds = start.elapsed().as_secs_f64();
        let line =
            format!("{:10} {:4} held, {} did not, {seconds:6.1} s", self.name, count.passed, count.failed);
        println!("{line}");
        (count, line)
    }
}

const STEPS: [Step; 12] = [
    Step::new("fmt", format),
    Step::new("lint", lint),
    Step::new("clippy", clippy),
    Step::new("native", native),
    Step::new("exports", exports),
    Step::new("wasm", wasm),
    Step::new("page", build_page),
    Step::new("types", types),
    Step::new("javascript", javascript),
    Step { is_beside: true, ..Step::new("reference", reference) },
    Step::new("demo", demo),
    Step::new("e2e", end_to_end),
];

/// Runs the steps and prints the total. True when nothing failed.
///
/// # Errors
/// A step that does not exist was asked for.
pub fn run(options: &Options) -> Result<bool> {
    let names: Vec<&str> = STEPS.iter().map(|step| step.name).collect();
    for wanted in &options.only {
        ensure!(
            names.contains(&wanted.as_str()),
            "there is no step `{wanted}`; there are {}",
            names.join(", ")
        );
    }
    let begin = Instant::now();
    let (mut total, mut lines) = (Count::default(), Vec::new());
    let is_wanted =
        |step: &&Step| options.only.is_empty() || options.only.iter().any(|name| name == step.name);
    std::thread::scope(|scope| {
        let mut beside = Vec::new();
        for step in STEPS.iter().filter(is_wanted) {
            println!("\n== {}", step.name);
            if step.is_beside {
                beside.push(scope.spawn(|| step.done(options)));
                continue;
            }
            let (count, line) = step.done(options);
            total += count;
            lines.push(line);
        }
        for running in beside {
            let (count, line) =
                running.join().unwrap_or_else(|_| (Count::one(false), "a step ended in a panic".into()));
            total += count;
            lines.push(line);
        }
    });
    println!("\n{}\nin {:.0} s", lines.join("\n"), begin.elapsed().as_secs_f64());
    println!("{} passed, {} failed", total.passed, total.failed);
    Ok(total.failed == 0)
}

fn format(_: &Options) -> Result<Count> {
    tools::ensure_components()?;
    Ok(Count::one(run::watch(&mut run::cargo(&["fmt", "--all", "--check"]))?.1))
}

/// What the page's sources must not hold; one check for each file.
fn lint(_: &Options) -> Result<Count> {
    let mut count = Count::default();
    for (name, refused) in lint::folder(&place::at("www"))? {
        for what in &refused {
            println!("www/{name}: {what}");
        }
        count += Count::one(refused.is_empty());
    }
    Ok(count.settled(true))
}

fn clippy(_: &Options) -> Result<Count> {
    tools::ensure_components()?;
    tools::ensure_wasm_target()?;
    let mut count = Count::default();
    for scope in [
        ["--workspace", "--all-targets"].as_slice(),
        ["--lib", "--package", "limner", "--target", tools::WASM_TARGET].as_slice(),
    ] {
        let mut cargo = run::cargo(&["clippy", "--quiet"]);
        cargo.args(scope).args(["--", "-D", "warnings"]);
        count += Count::one(run::watch(&mut cargo)?.1);
    }
    Ok(count)
}

fn native(options: &Options) -> Result<Count> {
    let mut cargo = run::cargo(&["test", "--workspace", "--no-fail-fast"]);
    if options.slow {
        cargo.args(["--", "--include-ignored"]);
    }
    let (output, succeeded) = run::watch(&mut cargo)?;
    Ok(Count::of_cargo(&output).settled(succeeded))
}

fn wasm(_: &Options) -> Result<Count> {
    tools::ensure_wasm_target()?;
    let browser = tools::ensure_browser()?;
    build_test_programs()?;
    let mut cargo =
        run::cargo(&["test", "--package", "limner", "--test", "wasm", "--target", tools::WASM_TARGET]);
    let (output, succeeded) = run::watch(cargo.env("CHROMEDRIVER", browser.driver))?;
    Ok(Count::of_cargo(&output).settled(succeeded))
}

/// The wasm test runner and the end-to-end checks. Asked for together with all other members, because a member asked for
/// alone gets its dependencies with fewer features, and then most of them are compiled once more.
fn build_test_programs() -> Result<()> {
    run::succeed(&mut run::cargo(&["build", "--workspace", "--bins"]))
}

fn build_page(_: &Options) -> Result<Count> {
    page::build()?;
    Ok(Count::one(true))
}

/// The page and the worker see different global names, so each has its own settings.
fn types(_: &Options) -> Result<Count> {
    let declarations = place::at("www/pkg/core.d.ts");
    ensure!(declarations.exists(), "www/pkg/core.d.ts is not there; `cargo xtask build` makes it");
    let compiler = testers::typescript()?;
    let mut count = Count::default();
    for project in ["page", "worker"] {
        let mut node = testers::node()?;
        node.arg(&compiler).args(["--project", &format!("tests/types/{project}.json"), "--pretty", "false"]);
        count += Count::one(run::watch(&mut node)?.1);
    }
    Ok(count)
}

fn javascript(_: &Options) -> Result<Count> {
    let mut files = Vec::new();
    let folder = place::at("tests/page");
    for entry in fs::read_dir(&folder).context("tests/page cannot be read")? {
        let path = entry?.path();
        if path.to_string_lossy().ends_with(".test.mjs") {
            files.push(path);
        }
    }
    ensure!(!files.is_empty(), "tests/page holds no *.test.mjs");
    files.sort();
    let mut node = testers::node()?;
    node.args(["--disable-warning=MODULE_TYPELESS_PACKAGE_JSON", "--test", "--test-reporter=spec"])
        .args(files);
    let (output, succeeded) = run::watch(&mut node)?;
    Ok(Count::of_node(&output).settled(succeeded))
}

/// Exported files, written by a test of the core and read by Python's libraries. Only the readers' checks are counted; the test
/// that writes is one of the native tests.
fn exports(_: &Options) -> Result<Count> {
    let folder = place::target("exports");
    // Of the whole workspace, as for the native tests: with other features everything would be compiled once more.
    let mut writer = run::cargo(&["test", "--workspace", "--test", "exports", "--quiet"]);
    run::succeed(writer.env("LIMNER_EXPORTS", &folder))?;
    let mut python = run::command(testers::reference_python()?);
    python.args(["-B", "tests/reference/exports.py"]).arg(&folder);
    let (output, succeeded) = run::watch(&mut python)?;
    Ok(Count::of_named(&output, "exports").settled(succeeded))
}

fn reference(options: &Options) -> Result<Count> {
    let mut python = run::command(testers::reference_python()?);
    python.args(["-B", "tests/reference/generate.py", "--check", "--out"]).arg(place::target("reference"));
    if options.slow {
        python.env("LIMNER_SLOW", "1");
    }
    let (output, succeeded) = run::watch(&mut python)?;
    Ok(Count::of_named(&output, "reference").settled(succeeded))
}

/// Makes the example again and compares it with the committed one, byte by byte.
fn demo(_: &Options) -> Result<Count> {
    let made = place::target("demo-check");
    if made.exists() {
        fs::remove_dir_all(&made)?;
    }
    make_demo(&made)?;
    let mut count = Count::default();
    for folder in DEMO {
        let (committed, made) = (place::at("demo-data").join(folder), made.join(folder));
        for name in &names_in(&committed)? | &names_in(&made)? {
            let pair = (fs::read(committed.join(&name)).ok(), fs::read(made.join(&name)).ok());
            let held = pair.0.is_some() && pair.0 == pair.1;
            println!("demo file {folder}/{name}: {}", if held { "the same bytes" } else { "DIFFERS" });
            count += Count::one(held);
        }
    }
    Ok(count.settled(true))
}

/// What the maker of the example writes: both sets of maps, spectra, and what is true of them.
const DEMO: [&str; 4] = ["tern-sound", "tern-sound-fitted", "spectra", "truth"];

/// Runs the maker of the example, into the folders [`DEMO`] of `folder`.
///
/// # Errors
/// It does not compile, or fails.
pub fn make_demo(folder: &Path) -> Result<()> {
    let mut cargo = run::cargo(&["run", "--quiet", "--release", "--package", "limner-demo-maker", "--"]);
    run::succeed(cargo.arg(folder))
}

/// Times the core beside general-purpose libraries, in one run. Never a check: a machine's speed is its own.
///
/// # Errors
/// Something does not compile or cannot be fetched, or core and library disagree.
pub fn bench() -> Result<()> {
    run::succeed(&mut run::cargo(&["build", "--release", "--package", "limner", "--example", "speed"]))?;
    let mut python = run::command(testers::reference_python()?);
    python.arg("benches/speed.py").arg(place::target("release/examples/speed")).arg(place::target("bench"));
    run::succeed(&mut python)
}

fn names_in(folder: &Path) -> Result<BTreeSet<String>> {
    let mut names = BTreeSet::new();
    for entry in fs::read_dir(folder).with_context(|| format!("{} cannot be read", folder.display()))? {
        names.insert(entry?.file_name().to_string_lossy().into_owned());
    }
    Ok(names)
}

fn end_to_end(options: &Options) -> Result<Count> {
    let browser = tools::ensure_browser()?;
    build_test_programs()?;
    let mut program = run::command(place::target("debug/limner-e2e"));
    program.arg(browser.chromium).arg(browser.driver);
    if let Ok(texts) = std::env::var("LIMNER_E2E") {
        program.args(texts.split('|'));
    }
    if options.slow {
        program.env("LIMNER_SLOW", "1");
    }
    let (output, succeeded) = run::watch(&mut program)?;
    Ok(Count::of_named(&output, "e2e").settled(succeeded))
}
