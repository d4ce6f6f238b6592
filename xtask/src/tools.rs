//! Fetches what is missing, each thing only for the commands that need it.
//!
//! Building and running the page needs the wasm target and nothing else. Tests need a browser, Python and node.

use crate::run;
use anyhow::{Context, Result, bail};
use std::path::PathBuf;

/// The target that the core is compiled to.
pub const WASM_TARGET: &str = "wasm32-unknown-unknown";

/// Adds the wasm target to the toolchain in use where it is missing.
///
/// # Errors
/// It is missing and rustup is not there or fails.
pub fn ensure_wasm_target() -> Result<()> {
    let mut ask = run::command("rustc");
    ask.args(["--print", "target-libdir", "--target", WASM_TARGET]);
    let folder = run::probe(&mut ask).context("`rustc` cannot be started")?;
    if PathBuf::from(folder).is_dir() {
        return Ok(());
    }
    if run::find_program(&["rustup"]).is_none() {
        bail!("the target {WASM_TARGET} is missing, and so is rustup, which would fetch it");
    }
    fetch(&["rustup", "target", "add", WASM_TARGET])
}

/// Adds rustfmt and clippy where they are missing.
///
/// # Errors
/// As [`ensure_wasm_target`].
pub fn ensure_components() -> Result<()> {
    for (program, component) in [("fmt", "rustfmt"), ("clippy", "clippy")] {
        if run::probe(&mut run::cargo(&[program, "--version"])).is_none() {
            fetch(&["rustup", "component", "add", component])?;
        }
    }
    Ok(())
}

/// Browser and driver.
pub struct Browser {
    /// The program that the tests look through.
    pub chromium: PathBuf,
    /// The program that steers it.
    pub driver: PathBuf,
}

/// Finds Chromium and its driver, and installs them where that can be done.
///
/// # Errors
/// They are missing and this is not root on a Debian-like system; the message holds the command to type.
pub fn ensure_browser() -> Result<Browser> {
    let find = || {
        let chromium = run::find_program(&["chromium", "chromium-browser", "google-chrome"])?;
        let driver = run::find_program(&["chromedriver"])?;
        Some(Browser { chromium, driver })
    };
    if let Some(browser) = find() {
        return Ok(browser);
    }
    install("a browser for tests", &["chromium", "chromium-driver"])?;
    find().context("chromium and chromedriver were installed and are not on the search path")
}

/// A Python that can make virtual environments.
///
/// # Errors
/// As [`ensure_browser`].
pub fn ensure_python() -> Result<PathBuf> {
    // Debian's own python comes without `ensurepip` until python3-venv is there
    let find = || {
        let candidates = [run::find_program(&["python3"]), Some(PathBuf::from("/usr/bin/python3"))];
        candidates
            .into_iter()
            .flatten()
            .find(|python| run::probe(run::command(python).args(["-c", "import venv, ensurepip"])).is_some())
    };
    if let Some(python) = find() {
        return Ok(python);
    }
    install("Python with virtual environments", &["python3", "python3-venv"])?;
    find().context("python3-venv was installed and python3 cannot make a virtual environment")
}

/// Installs Debian packages as root; otherwise says what to type. Nothing asks for a password by itself.
fn install(what: &str, packages: &[&str]) -> Result<()> {
    let list = packages.join(" ");
    let is_root = run::probe(run::command("id").arg("-u")).as_deref() == Some("0");
    if run::find_program(&["apt-get"]).is_none() {
        bail!("{what} is missing. Install what your system calls {list}, and start again");
    }
    if !is_root {
        bail!(
            "{what} is missing. Type `sudo apt-get install --no-install-recommends {list}`, and start again"
        );
    }
    fetch(&["apt-get", "update"])?;
    let mut words = vec!["apt-get", "install", "--yes", "--no-install-recommends"];
    words.extend(packages);
    fetch(&words)
}

/// Runs a command that changes the machine, printed before.
fn fetch(words: &[&str]) -> Result<()> {
    println!("missing; fetching it: {}", words.join(" "));
    let mut command = run::command(words[0]);
    run::succeed(command.args(&words[1..]).env("DEBIAN_FRONTEND", "noninteractive"))
}
