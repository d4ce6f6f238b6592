//! The project's chores: `cargo xtask run | build | test | reproduce | demo-data | bench`.

mod check;
mod count;
mod lint;
mod pack;
mod page;
mod place;
mod run;
mod serve;
#[cfg(test)]
mod serve_tests;
mod testers;
mod tools;

use anyhow::{Context, Result, bail};
use std::process::ExitCode;

/// Fixed, because what the browser keeps belongs to an address with its port.
const PORT: u16 = 8733;

const USAGE: &str = "\
cargo xtask run                           builds the page and serves it on this machine
cargo xtask build                         builds dist/limner.html and dist/site/
cargo xtask test [--slow] [--only STEP]   checks everything, or one step
cargo xtask reproduce FILE                computes every finding of a saved study again
cargo xtask demo-data                     makes the example again
cargo xtask bench                         times the core beside numpy and scipy";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    match act(&words) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("error: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn act(words: &[String]) -> Result<bool> {
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    match words.as_slice() {
        ["run"] => {
            page::build()?;
            let server = serve::Server::bind(&place::at("dist/site"), PORT)?;
            println!("Limner is at {} (Ctrl+C ends it)", server.address()?);
            server.run(|_| ());
            Ok(true)
        }
        ["build"] => page::build().map(|()| true),
        ["demo-data"] => check::make_demo(&place::at("demo-data")).map(|()| true),
        ["bench"] => check::bench().map(|()| true),
        ["reproduce", file] => reproduce(file),
        ["test", options @ ..] => check::run(&test_options(options)?),
        _ => bail!("this is not understood. There are:\n{USAGE}"),
    }
}

/// Computes the findings of a saved study again, in the core itself; the file is named as the caller sees it.
fn reproduce(file: &str) -> Result<bool> {
    let file = std::fs::canonicalize(file).with_context(|| format!("{file} cannot be found"))?;
    let mut program = run::cargo(&["run", "--quiet", "--release", "--example", "reproduce", "--"]);
    Ok(program.arg(file).status()?.success())
}

fn test_options(words: &[&str]) -> Result<check::Options> {
    let mut options = check::Options::default();
    let mut rest = words.iter();
    while let Some(word) = rest.next() {
        match (*word, rest.as_slice().first()) {
            ("--slow", _) => options.slow = true,
            ("--only", Some(step)) => {
                options.only.push((*step).to_string());
                rest.next();
            }
            _ => bail!("`{word}` is not understood. There are:\n{USAGE}"),
        }
    }
    Ok(options)
}

#[cfg(test)]
mod tests {
    use super::test_options;

    #[test]
    fn test_options_are_read_and_anything_else_is_refused() {
        let options = test_options(&["--only", "fmt", "--slow", "--only", "e2e"]).unwrap();
        assert!(options.slow);
        assert_eq!(options.only, ["fmt", "e2e"]);
        assert!(test_options(&["--only"]).is_err());
        assert!(test_options(&["--fast"]).is_err());
    }
}
