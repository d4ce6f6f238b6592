//! Packs ES modules written in a small dialect into one classic script.
//!
//! A page opened from disk cannot load modules, so each module becomes a function that is called once, in order of
//! need, and leaves its exports in a table. Lines stay one for one with the files; [`Packed::places`] says
//! which line is whose.

mod code_only;
mod module;
#[cfg(test)]
mod tests;

pub use code_only::code_only;
pub use module::words;

use anyhow::{Context, Result, anyhow, bail, ensure};
use module::{Import, Line, Module, Names, Origin};
use std::collections::BTreeMap;
use std::fmt::Write as _;

/// Modules in this folder are generated and may have a default export.
const GENERATED: &str = "pkg/";

/// A classic script.
#[derive(Debug)]
pub struct Packed {
    /// The script, without tags.
    pub text: String,
    /// Each module with the line of the script on which its first line stands, in order.
    pub places: Vec<(usize, String)>,
}

/// Packs `entry` and all that it imports. `read` gives the text of a file by its path from the root, with `/`.
///
/// # Errors
/// Anything outside the dialect, an import cycle, a name that the other file does not export; the message
/// names file and line.
pub fn pack(entry: &str, read: impl Fn(&str) -> Result<String>) -> Result<Packed> {
    let mut packer =
        Packer { read, exports: BTreeMap::new(), open: vec![], text: String::new(), places: vec![] };
    packer.text.push_str("\"use strict\";\n(function () {\nconst $modules = Object.create(null);\n");
    packer.add(entry)?;
    packer.text.push_str("}());\n");
    Ok(Packed { text: packer.text, places: packer.places })
}

struct Packer<R> {
    read: R,
    /// Names exported by each module that is packed already.
    exports: BTreeMap<String, Vec<String>>,
    /// The chain of imports that led here.
    open: Vec<String>,
    text: String,
    places: Vec<(usize, String)>,
}

impl<R: Fn(&str) -> Result<String>> Packer<R> {
    fn add(&mut self, path: &str) -> Result<()> {
        if self.exports.contains_key(path) {
            return Ok(());
        }
        if let Some(first) = self.open.iter().position(|open| open == path) {
            bail!("files import each other in a circle: {} -> {path}", self.open[first..].join(" -> "));
        }
        self.open.push(path.to_string());
        let origin = if path.starts_with(GENERATED) { Origin::Generated } else { Origin::Own };
        let source = (self.read)(path)?;
        let module = Module::parse(&source, origin).with_context(|| path.to_string())?;
        let mut bindings = Vec::new();
        for import in &module.imports {
            let place = || format!("{path}: line {}", import.line);
            let from = resolve(path, &import.from).with_context(place)?;
            self.add(&from).with_context(|| format!("{} imports {from}", place()))?;
            bindings.push(self.binding(import, &from).with_context(place)?);
        }
        self.write(path, &module, &bindings)?;
        self.exports.insert(path.to_string(), module.exports.into_iter().map(|(name, _)| name).collect());
        self.open.pop();
        Ok(())
    }

    /// The statement that stands in place of an import.
    fn binding(&self, import: &Import, from: &str) -> Result<String> {
        let pattern = match &import.names {
            Names::All(local) => local.clone(),
            Names::Some(pairs) => {
                let exported = self.exports.get(from).map(Vec::as_slice).unwrap_or_default();
                for (name, _) in pairs {
                    ensure!(exported.contains(name), "{from} does not export `{name}`");
                }
                let list: Vec<String> =
                    pairs.iter().map(|(name, local)| format!("{name}: {local}")).collect();
                format!("{{ {} }}", list.join(", "))
            }
        };
        Ok(format!("const {pattern} = $modules[{from:?}];"))
    }

    fn write(&mut self, path: &str, module: &Module, bindings: &[String]) -> Result<()> {
        writeln!(self.text, "// {path}\n$modules[{path:?}] = (function () {{")?;
        self.places.push((1 + self.text.matches('\n').count(), path.to_string()));
        for line in &module.lines {
            match line {
                Line::Code(code) => writeln!(self.text, "{code}")?,
                Line::Import(index) => writeln!(self.text, "{}", bindings[*index])?,
            }
        }
        let list: Vec<String> =
            module.exports.iter().map(|(name, local)| format!("{name}: {local}")).collect();
        writeln!(self.text, "return Object.freeze({{ __proto__: null, {} }});\n}}());", list.join(", "))?;
        Ok(())
    }
}

/// The path from the root of what `from` means in the file `path`.
fn resolve(path: &str, from: &str) -> Result<String> {
    ensure!(from.ends_with(".js"), "`{from}` does not end in `.js`");
    let mut parts: Vec<&str> = path.split('/').collect();
    parts.pop();
    for part in from.split('/') {
        match part {
            "." => {}
            ".." => {
                parts.pop().ok_or_else(|| anyhow!("`{from}` leads out of the page's folder"))?;
            }
            name => parts.push(name),
        }
    }
    Ok(parts.join("/"))
}
