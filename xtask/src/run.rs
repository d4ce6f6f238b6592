//! Running other programs.

use crate::place;
use anyhow::{Context, Result, ensure};
use std::ffi::OsString;
use std::io::{BufRead, BufReader, Write};
use std::path::Path;
use std::process::{Command, Stdio};

/// A command at the root of the repository.
pub fn command(program: impl AsRef<std::ffi::OsStr>) -> Command {
    let mut command = Command::new(program);
    command.current_dir(place::at("")).stdin(Stdio::null());
    command
}

/// The cargo that runs us, with the target folder that the other steps expect.
pub fn cargo(args: &[&str]) -> Command {
    let program = std::env::var_os("CARGO").unwrap_or_else(|| OsString::from("cargo"));
    let mut cargo = command(program);
    cargo.args(args).env("CARGO_TARGET_DIR", place::target(""));
    cargo
}

/// Runs to the end with the output shown.
///
/// # Errors
/// The program cannot be started or fails.
pub fn succeed(command: &mut Command) -> Result<()> {
    let name = name(command);
    let status = command.status().with_context(|| format!("`{name}` cannot be started"))?;
    ensure!(status.success(), "`{name}` failed ({status})");
    Ok(())
}

/// Runs to the end with the output shown, and returns what it wrote to its standard output and whether it
/// succeeded.
///
/// # Errors
/// The program cannot be started.
pub fn watch(command: &mut Command) -> Result<(String, bool)> {
    let name = name(command);
    let mut child =
        command.stdout(Stdio::piped()).spawn().with_context(|| format!("`{name}` cannot be started"))?;
    let mut seen = String::new();
    if let Some(stdout) = child.stdout.take() {
        let mut reader = BufReader::new(stdout);
        let mut line = Vec::new();
        while reader.read_until(b'\n', &mut line)? > 0 {
            std::io::stdout().write_all(&line)?;
            seen.push_str(&String::from_utf8_lossy(&line));
            line.clear();
        }
    }
    Ok((seen, child.wait()?.success()))
}

/// The standard output of a command that says little. `None` where it cannot be started or fails: for probing.
pub fn probe(command: &mut Command) -> Option<String> {
    let output = command.stderr(Stdio::null()).output().ok()?;
    output.status.success().then(|| String::from_utf8_lossy(&output.stdout).trim().to_string())
}

/// The first of these programs that stands on the search path.
pub fn find_program(names: &[&str]) -> Option<std::path::PathBuf> {
    let folders: Vec<_> = std::env::split_paths(&std::env::var_os("PATH")?).collect();
    let candidates = names.iter().flat_map(|name| folders.iter().map(move |folder| folder.join(name)));
    candidates.into_iter().find(|path| path.is_file())
}

/// The command as one would type it.
pub fn name(command: &Command) -> String {
    let program = Path::new(command.get_program()).file_name().unwrap_or(command.get_program());
    let words = std::iter::once(program).chain(command.get_args());
    words.map(|word| word.to_string_lossy()).collect::<Vec<_>>().join(" ")
}
