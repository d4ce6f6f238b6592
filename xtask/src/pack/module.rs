//! One source file in the dialect: its imports, its exports, and its lines.
//!
//! The dialect is small so that packing needs no parser: imports stand at the start of a line, are relative and
//! named or `* as`; exports are `export function | async function | class | const` or `export { a, b as c }`.
//! Whatever else the language allows is refused, with file and line.

use super::code_only::{code_only, is_word};
use anyhow::{Context, Result, anyhow, bail, ensure};
use std::collections::BTreeSet;

/// A module, cut up.
#[derive(Debug)]
pub struct Module {
    /// In the order of the file.
    pub imports: Vec<Import>,
    /// Exported name, local name.
    pub exports: Vec<(String, String)>,
    /// The lines of the file, one for one, without `import` and `export`.
    pub lines: Vec<Line>,
}

/// One line of the packed module.
#[derive(Debug)]
pub enum Line {
    /// As it stands in the file (an `export` before a declaration is blanked).
    Code(String),
    /// Index into [`Module::imports`].
    Import(usize),
}

/// One import statement.
#[derive(Debug)]
pub struct Import {
    /// Line in the file, from 1.
    pub line: usize,
    /// The path as written.
    pub from: String,
    /// What it binds.
    pub names: Names,
}

/// What an import binds.
#[derive(Debug)]
pub enum Names {
    /// `* as local`
    All(String),
    /// Name there, name here.
    Some(Vec<(String, String)>),
}

/// Whose file it is: generated glue may have a default export, and may be imported by it.
#[derive(Clone, Copy, PartialEq)]
pub enum Origin {
    /// Written by us.
    Own,
    /// Written by wasm-bindgen.
    Generated,
}

impl Module {
    /// Cuts a source up.
    ///
    /// # Errors
    /// Anything outside the dialect; the message begins with the line.
    pub fn parse(source: &str, origin: Origin) -> Result<Module> {
        ensure!(!source.contains('\r'), "{}: a carriage return; files have LF only", line_of(source, "\r"));
        for unsafe_text in ["</script", "<script", "<!--", "-->"] {
            let lower = source.to_ascii_lowercase();
            ensure!(
                !lower.contains(unsafe_text),
                "{}: `{unsafe_text}` may not stand inside a script of an HTML page, not even in a comment",
                line_of(&lower, unsafe_text)
            );
        }
        let code = code_only(source)?;
        let mut module = Module { imports: vec![], exports: vec![], lines: vec![] };
        let starts: Vec<usize> = std::iter::once(0)
            .chain(code.match_indices('\n').map(|(at, _)| at + 1))
            .filter(|at| *at < code.len())
            .collect();
        let mut skip_to = 0;
        for (index, &start) in starts.iter().enumerate() {
            let number = index + 1;
            let end = code[start..].find('\n').map_or(code.len(), |n| start + n);
            if start < skip_to {
                module.lines.push(Line::Code(String::new()));
                continue;
            }
            let at_line = || format!("line {number}");
            let (line, original) = (&code[start..end], &source[start..end]);
            if first_word(line) == "import" && !line[6..].starts_with(['(', '.']) {
                let stop = statement_end(&code, start).with_context(at_line)?;
                skip_to = stop;
                let import =
                    parse_import(&code[start..stop], &source[start..stop], number).with_context(at_line)?;
                module.lines.push(Line::Import(module.imports.len()));
                module.imports.push(import);
            } else if first_word(line) == "export" {
                let (names, is_list) = parse_export(&code[start..], origin).with_context(at_line)?;
                module.exports.extend(names);
                if is_list {
                    skip_to = statement_end(&code, start).with_context(at_line)?;
                    module.lines.push(Line::Code(String::new()));
                } else {
                    module.lines.push(Line::Code(format!("      {}", &original[6..])));
                }
            } else {
                refuse_elsewhere(line).with_context(at_line)?;
                module.lines.push(Line::Code(original.to_string()));
            }
        }
        refuse_top_level_await(&code)?;
        module.refuse_clashes(&code)?;
        Ok(module)
    }

    fn refuse_clashes(&self, code: &str) -> Result<()> {
        let mut exported = BTreeSet::new();
        for (name, _) in &self.exports {
            ensure!(exported.insert(name.as_str()), "`{name}` is exported twice");
        }
        let mut bound: BTreeSet<&str> = code.lines().filter_map(declared_name).collect();
        for import in &self.imports {
            let locals: Vec<&str> = match &import.names {
                Names::All(local) => vec![local],
                Names::Some(pairs) => pairs.iter().map(|(_, local)| local.as_str()).collect(),
            };
            for local in locals {
                ensure!(
                    bound.insert(local),
                    "line {}: `{local}` has another meaning in this file already",
                    import.line
                );
            }
        }
        Ok(())
    }
}

fn line_of(source: &str, what: &str) -> String {
    let before = source.split(what).next().unwrap_or_default();
    format!("line {}", 1 + before.matches('\n').count())
}

fn first_word(line: &str) -> &str {
    line.split(|c: char| !c.is_ascii() || !is_word(c as u8)).next().unwrap_or_default()
}

fn is_name(text: &str) -> bool {
    !text.is_empty() && text.bytes().all(is_word) && !text.starts_with(|c: char| c.is_ascii_digit())
}

/// Where the statement's line ends. The semicolon must be the last thing on its line.
fn statement_end(code: &str, start: usize) -> Result<usize> {
    let semicolon = code[start..].find(';').ok_or_else(|| anyhow!("a semicolon is missing"))? + start;
    let end = code[semicolon..].find('\n').map_or(code.len(), |n| semicolon + n);
    ensure!(code[semicolon + 1..end].trim().is_empty(), "more code on the same line");
    Ok(end)
}

fn parse_import(code: &str, source: &str, line: usize) -> Result<Import> {
    const FORM: &str = "an import has the form `import { a, b as c } from \"./file.js\";` or `import * as d from \"./file.js\";`";
    let rest = code[6..].trim_start();
    ensure!(!rest.starts_with(['"', '\'']), "an import for its side effects only is outside the dialect");
    let from = code.rfind(" from ").or_else(|| code.rfind("\nfrom ")).ok_or_else(|| anyhow!(FORM))?;
    let what = code[6..from].trim();
    let open = code[from..].find(['"', '\'']).ok_or_else(|| anyhow!(FORM))? + from;
    let close = code.rfind(['"', '\'']).filter(|close| *close > open).ok_or_else(|| anyhow!(FORM))?;
    ensure!(code[from + 6..open].trim().is_empty() && code[close + 1..].trim() == ";", FORM);
    let path = source[open + 1..close].to_string();
    ensure!(
        path.starts_with("./") || path.starts_with("../"),
        "`{path}` is not a relative path (`./` or `../` comes first)"
    );
    let names = if let Some(local) = what.strip_prefix("* as ") {
        ensure!(is_name(local.trim()), FORM);
        Names::All(local.trim().to_string())
    } else {
        let (default, list) = match what.split_once('{') {
            Some((before, list)) => (
                before.trim().trim_end_matches(',').trim(),
                list.strip_suffix('}').ok_or_else(|| anyhow!(FORM))?,
            ),
            None => (what, ""),
        };
        let mut pairs = parse_list(list)?;
        if !default.is_empty() {
            ensure!(is_name(default), FORM);
            pairs.insert(0, ("default".to_string(), default.to_string()));
        }
        Names::Some(pairs)
    };
    Ok(Import { line, from: path, names })
}

/// `a, b as c` as (a, a), (b, c).
fn parse_list(list: &str) -> Result<Vec<(String, String)>> {
    let mut pairs = Vec::new();
    for item in list.split(',').map(str::trim).filter(|item| !item.is_empty()) {
        let mut words = item.split_whitespace();
        let pair = match (words.next(), words.next(), words.next(), words.next()) {
            (Some(a), None, None, None) => (a, a),
            (Some(a), Some("as"), Some(b), None) => (a, b),
            _ => bail!("`{item}` is neither a name nor `name as name`"),
        };
        ensure!(is_name(pair.0) && is_name(pair.1), "`{item}` is not made of names");
        pairs.push((pair.0.to_string(), pair.1.to_string()));
    }
    Ok(pairs)
}

/// The exports of the statement that `code` begins with, as (exported, local), and whether it is a list.
fn parse_export(code: &str, origin: Origin) -> Result<(Vec<(String, String)>, bool)> {
    let rest = code[6..].trim_start();
    if let Some(list) = rest.strip_prefix('{') {
        let (list, after) = list.split_once('}').ok_or_else(|| anyhow!("`export {{` is not closed"))?;
        ensure!(
            after.trim_start().starts_with(';'),
            "a list of exports ends with `}};` (passing on another file's exports is outside the dialect)"
        );
        let pairs = parse_list(list)?;
        ensure!(
            origin == Origin::Generated || pairs.iter().all(|(_, exported)| exported != "default"),
            "a default export is outside the dialect"
        );
        return Ok((pairs.into_iter().map(|(local, exported)| (exported, local)).collect(), true));
    }
    let mut words = rest.split(|c: char| c.is_ascii() && !is_word(c as u8)).filter(|word| !word.is_empty());
    let mut kind = words.next().unwrap_or_default();
    if kind == "async" {
        kind = words.next().unwrap_or_default();
    }
    ensure!(
        ["function", "class", "const"].contains(&kind),
        "`export {kind}` is outside the dialect: export a function, an async function, a class, a const or a list"
    );
    let after = &rest[rest.find(kind).unwrap_or_default() + kind.len()..];
    let name = words.next().unwrap_or_default();
    ensure!(
        is_name(name) && after.trim_start_matches('*').trim_start().starts_with(name),
        "an exported {kind} needs a plain name; taking a value apart is outside the dialect"
    );
    ensure!(kind != "const" || !has_second_name(after), "an exported const declares one name only");
    Ok((vec![(name.to_string(), name.to_string())], false))
}

/// A comma outside all brackets before the declaration ends.
fn has_second_name(code: &str) -> bool {
    let mut depth = 0_i32;
    for byte in code.bytes() {
        match byte {
            b'(' | b'[' | b'{' => depth += 1,
            b')' | b']' | b'}' => depth -= 1,
            b';' if depth == 0 => return false,
            b',' if depth == 0 => return true,
            _ => {}
        }
    }
    false
}

/// Words of the code with the text before and after each.
pub fn words(line: &str) -> impl Iterator<Item = (&str, &str, &str)> {
    let mut at = 0;
    line.split(|c: char| c.is_ascii() && !is_word(c as u8)).filter_map(move |word| {
        let start = at;
        at += word.len() + 1;
        (!word.is_empty()).then(|| (line[..start].trim_end(), word, line[start + word.len()..].trim_start()))
    })
}

fn refuse_elsewhere(line: &str) -> Result<()> {
    for (before, word, after) in words(line) {
        if before.ends_with('.') {
            continue;
        }
        if word == "import" {
            ensure!(!after.starts_with('('), "a dynamic import is outside the dialect");
            ensure!(!after.starts_with('.'), "`import.meta` is outside the dialect");
            ensure!(!after.starts_with(['{', '*', '"', '\'']), "an import stands at the start of its line");
        }
        let kinds = ["function", "class", "const", "let", "var", "default", "async"];
        if word == "export" && (after.starts_with(['{', '*']) || kinds.contains(&first_word(after))) {
            bail!("an export stands at the start of its line");
        }
    }
    Ok(())
}

/// A packed module is a plain function, in which `await` would not even parse.
fn refuse_top_level_await(code: &str) -> Result<()> {
    let mut depth = 0_i32;
    for (index, line) in code.lines().enumerate() {
        for (before, word, _) in words(line) {
            let here = depth + net_depth(before);
            let in_arrow = before.split(|c: char| !c.is_alphanumeric()).any(|w| w == "async");
            ensure!(
                word != "await" || here > 0 || in_arrow || before.ends_with('.'),
                "line {}: `await` outside a function is outside the dialect",
                index + 1
            );
        }
        depth += net_depth(line);
    }
    Ok(())
}

fn net_depth(code: &str) -> i32 {
    code.bytes()
        .map(|b| match b {
            b'(' | b'[' | b'{' => 1,
            b')' | b']' | b'}' => -1,
            _ => 0,
        })
        .sum()
}

/// The name that a line declares for the whole module, if it does.
fn declared_name(line: &str) -> Option<&str> {
    let line = line.strip_prefix("export ").unwrap_or(line);
    let line = line.strip_prefix("async ").unwrap_or(line);
    let (kind, rest) = line.split_once(' ')?;
    let is_declaration = ["function", "class", "const", "let", "var"].contains(&kind);
    let name = first_word(rest);
    (is_declaration && is_name(name)).then_some(name)
}
