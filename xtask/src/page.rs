//! `cargo xtask build`: from the crate and `www/` to `dist/limner.html` and `dist/site/index.html`.

use crate::pack::{Packed, pack};
use crate::{place, run, tools};
use anyhow::{Context, Result, bail, ensure};
use base64::{Engine, engine::general_purpose::STANDARD};
use flate2::{Compression, write::GzEncoder};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use wasm_bindgen_cli_support::Bindgen;

/// The marks of `www/index.html`, each of which stands there once.
const MARKS: [&str; 8] = ["CSP", "CSS", "WORKER", "WASM", "SHELL", "DEMO", "STUDY", "MAIN"];

/// What fills the marks, but for `CSP` and `SHELL`, which follow from it.
struct Parts {
    css: String,
    worker: String,
    main: String,
    wasm: String,
    demo: String,
}

/// Builds both outputs and prints their sizes.
///
/// # Errors
/// A tool that is missing, code that does not compile, a page outside the dialect.
pub fn build() -> Result<()> {
    tools::ensure_wasm_target()?;
    let wasm = compile()?;
    let www = place::at("www");
    let read = |path: &str| {
        let file = www.join(path);
        fs::read_to_string(&file).with_context(|| format!("www/{path} cannot be read"))
    };
    let (main, worker) = (pack("main.js", read)?, pack("worker.js", read)?);
    let parts = Parts {
        css: styles(&www.join("styles"))?,
        worker: worker.text.clone(),
        main: main.text.clone(),
        wasm: packed(&wasm)?,
        demo: packed(demo_files(&place::at("demo-data/tern-sound"))?.as_bytes())?,
    };
    let template = fs::read_to_string(www.join("index.html")).context("www/index.html cannot be read")?;
    let (one_file, site) = fill_both(&template, &parts)?;
    write(&place::at("dist/limner.html"), &one_file)?;
    write(&place::at("dist/site/index.html"), &site)?;
    write(&place::target("page/lines.txt"), &lines_index(&one_file, &main, &worker))?;
    print_sizes(&one_file, &parts);
    Ok(())
}

/// Bytes as they stand in the page: gzip (RFC 1952, without name and time, so that they are the same on every day), then
/// base64.
fn packed(bytes: &[u8]) -> Result<String> {
    let mut encoder = GzEncoder::new(Vec::new(), Compression::best());
    encoder.write_all(bytes)?;
    Ok(STANDARD.encode(encoder.finish()?))
}

/// Compiles the crate and writes glue and declarations to `www/pkg`. Returns the wasm file.
fn compile() -> Result<Vec<u8>> {
    let target = tools::WASM_TARGET;
    run::succeed(&mut run::cargo(&[
        "build",
        "--release",
        "--lib",
        "--package",
        "limner",
        "--target",
        target,
    ]))?;
    let pkg = place::at("www/pkg");
    Bindgen::new()
        .input_path(place::target(&format!("{target}/release/limner.wasm")))
        .web(true)?
        // the page hands over the module itself, and `import.meta` could not be packed
        .omit_default_module_path(true)
        .typescript(true)
        .out_name("core")
        .remove_name_section(true)
        .remove_producers_section(true)
        .generate(&pkg)
        .context("wasm-bindgen could not read the compiled core")?;
    fs::read(pkg.join("core_bg.wasm")).context("www/pkg/core_bg.wasm cannot be read")
}

/// All style sheets in the order of their names.
fn styles(folder: &Path) -> Result<String> {
    let mut text = String::new();
    for path in files(folder, &["css"])? {
        let name = format!("www/styles/{}", file_name(&path));
        let sheet = fs::read_to_string(&path).with_context(|| name.clone())?;
        for (number, line) in sheet.lines().enumerate() {
            let place = format!("{name}: line {}", number + 1);
            ensure!(!line.to_ascii_lowercase().contains("</"), "{place}: `</` could end the style element");
            ensure!(!line.contains("@import"), "{place}: `@import` would need a connection");
        }
        ensure!(!sheet.contains('\r'), "{name}: a carriage return; files have LF only");
        text.push_str(&sheet);
    }
    ensure!(!text.is_empty(), "www/styles holds no style sheet");
    Ok(text)
}

/// The example as a JSON text: `[{"name": ..., "base64": ...}, ...]`.
fn demo_files(folder: &Path) -> Result<String> {
    let list = files(folder, &["tif", "png"])?;
    ensure!(!list.is_empty(), "demo-data/tern-sound holds no files; `cargo xtask demo-data` makes them");
    let mut items = Vec::new();
    for path in list {
        let name = file_name(&path);
        let plain = name.bytes().all(|b| b.is_ascii_alphanumeric() || b"._-".contains(&b));
        ensure!(plain, "demo-data: the name `{name}` is not plain");
        items
            .push(format!("{{\"name\": \"{name}\", \"base64\": \"{}\"}}", STANDARD.encode(fs::read(&path)?)));
    }
    Ok(format!("[{}]", items.join(", ")))
}

/// Files of a folder with one of these endings, by name.
fn files(folder: &Path, endings: &[&str]) -> Result<Vec<PathBuf>> {
    let mut list = Vec::new();
    for entry in fs::read_dir(folder).with_context(|| format!("{} cannot be read", folder.display()))? {
        let path = entry?.path();
        if path.extension().and_then(|ending| ending.to_str()).is_some_and(|ending| endings.contains(&ending))
        {
            list.push(path);
        }
    }
    list.sort();
    Ok(list)
}

fn file_name(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// The same page twice: as one file (no connection allowed) and as a site (its own origin only).
fn fill_both(template: &str, parts: &Parts) -> Result<(String, String)> {
    ensure!(!template.contains('\r'), "www/index.html: a carriage return; files have LF only");
    // The page carries its own template, so that it can write a copy of itself. A copy is always one file.
    let own_policy = policy(parts, "'none'");
    let shell = fill(template, &|mark| {
        Some(if mark == "CSP" { own_policy.clone() } else { format!("{{{{{mark}}}}}") })
    })?;
    let shell = STANDARD.encode(shell);
    let page = |connect: &str| {
        let policy = policy(parts, connect);
        fill(template, &|mark| {
            Some(match mark {
                "CSP" => policy.clone(),
                "CSS" => parts.css.clone(),
                "WORKER" => parts.worker.clone(),
                "WASM" => parts.wasm.clone(),
                "SHELL" => shell.clone(),
                "DEMO" => parts.demo.clone(),
                "STUDY" => String::new(),
                "MAIN" => parts.main.clone(),
                _ => return None,
            })
        })
    };
    Ok((page("'none'")?, page("'self'")?))
}

/// What the page may do. Hashes allow exactly the script and the styles that were packed; workers start from `blob:`
/// so that they inherit this.
fn policy(parts: &Parts, connect: &str) -> String {
    let hash = |text: &str| format!("'sha256-{}'", STANDARD.encode(Sha256::digest(text)));
    [
        "default-src 'none'".to_string(),
        format!("script-src {} 'wasm-unsafe-eval'", hash(&parts.main)),
        "worker-src blob:".to_string(),
        "img-src blob: data:".to_string(),
        format!("style-src {}", hash(&parts.css)),
        format!("connect-src {connect}"),
        "base-uri 'none'".to_string(),
        "form-action 'none'".to_string(),
        "require-trusted-types-for 'script'".to_string(),
        "trusted-types limner-worker".to_string(),
    ]
    .join("; ")
}

/// Puts values at the marks. Split once, never replaced in turn: a value may contain what looks like a mark.
fn fill(template: &str, value: &dyn Fn(&str) -> Option<String>) -> Result<String> {
    let (mut text, mut seen) = (String::new(), Vec::new());
    let mut rest = template;
    while let Some((before, after)) = rest.split_once("{{") {
        let Some((mark, behind)) = after.split_once("}}") else {
            bail!("www/index.html: `{{{{` is not closed")
        };
        let Some(value) = value(mark).filter(|_| MARKS.contains(&mark)) else {
            bail!("www/index.html: {{{{{mark}}}}} is not a mark");
        };
        ensure!(!seen.contains(&mark), "www/index.html: {{{{{mark}}}}} stands there twice");
        seen.push(mark);
        text.push_str(before);
        text.push_str(&value);
        rest = behind;
    }
    text.push_str(rest);
    for mark in MARKS {
        ensure!(seen.contains(&mark), "www/index.html: the mark {{{{{mark}}}}} is missing");
    }
    Ok(text)
}

/// Which line of the page (or of the worker, which counts from 1) is the first line of which file, so that an error's
/// line number can be traced back.
fn lines_index(page: &str, main: &Packed, worker: &Packed) -> String {
    let first = page.find(&main.text).map_or(0, |at| page[..at].matches('\n').count());
    let mut text = String::from("line  first line of\n");
    for (line, path) in &main.places {
        let _ = writeln!(text, "{:5} page: {path}", line + first);
    }
    for (line, path) in &worker.places {
        let _ = writeln!(text, "{line:5} worker: {path}");
    }
    text
}

fn write(path: &Path, text: &str) -> Result<()> {
    ensure!(!text.contains('\r'), "{} would have a carriage return", path.display());
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder)?;
    }
    fs::write(path, text).with_context(|| format!("{} cannot be written", path.display()))
}

fn print_sizes(page: &str, parts: &Parts) {
    let (whole, demo) = (page.len(), parts.demo.len());
    println!("dist/limner.html and dist/site/index.html: {whole} bytes");
    println!("  the example {demo} bytes, without it {} bytes", whole - demo);
    println!(
        "  of these the core {} (wasm, gzip, base64), its worker {}, the page's script {}, styles {}",
        parts.wasm.len(),
        parts.worker.len(),
        parts.main.len(),
        parts.css.len()
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEMPLATE: &str = "<meta content=\"{{CSP}}\">\n<style>{{CSS}}</style>\n<script type=\"text/plain\">{{WORKER}}</script>\n\
         <i>{{WASM}}</i>\n<b>{{SHELL}}</b>\n<i>{{DEMO}}</i>\n<i>{{STUDY}}</i>\n<script>{{MAIN}}</script>\n";

    fn parts() -> Parts {
        let text = |s: &str| s.to_string();
        Parts {
            css: text("a{}\n"),
            worker: text("w;\n"),
            main: text("m(\"{{CSS}}\");\n"),
            wasm: text("H4sIAAAA"),
            demo: text("W10="),
        }
    }

    #[test]
    fn the_two_outputs_differ_in_the_policy_line_only() {
        let (one_file, site) = fill_both(TEMPLATE, &parts()).unwrap();
        let differing: Vec<_> = one_file.lines().zip(site.lines()).filter(|(a, b)| a != b).collect();
        assert_eq!(one_file.lines().count(), site.lines().count());
        assert_eq!(differing.len(), 1);
        assert!(differing[0].0.contains("connect-src 'none'"));
        assert_eq!(differing[0].0.replace("connect-src 'none'", "connect-src 'self'"), differing[0].1);
    }

    #[test]
    fn hashes_are_of_the_text_between_the_tags() {
        let (page, _) = fill_both(TEMPLATE, &parts()).unwrap();
        let between = |a: &str, b: &str| page.split_once(a).unwrap().1.split_once(b).unwrap().0.to_string();
        for text in [between("<script>", "</script>"), between("<style>", "</style>")] {
            let hash = STANDARD.encode(Sha256::digest(text));
            assert!(page.contains(&format!("'sha256-{hash}'")));
        }
    }

    #[test]
    fn a_page_can_write_itself_from_its_shell() {
        let (page, site) = fill_both(TEMPLATE, &parts()).unwrap();
        let shell = page.split_once("<b>").unwrap().1.split_once("</b>").unwrap().0;
        assert!(site.contains(shell));
        let template = String::from_utf8(STANDARD.decode(shell).unwrap()).unwrap();
        let parts = parts();
        let again: String = template
            .split("{{")
            .enumerate()
            .map(|(index, piece)| {
                let Some((mark, rest)) = piece.split_once("}}").filter(|_| index > 0) else {
                    return piece.to_string();
                };
                let value = match mark {
                    "CSS" => &parts.css,
                    "WORKER" => &parts.worker,
                    "WASM" => &parts.wasm,
                    "SHELL" => shell,
                    "DEMO" => &parts.demo,
                    "STUDY" => "",
                    "MAIN" => &parts.main,
                    other => panic!("{other}"),
                };
                format!("{value}{rest}")
            })
            .collect();
        assert_eq!(again, page);
    }

    #[test]
    fn a_value_that_looks_like_a_mark_stays_as_it_is() {
        assert!(fill_both(TEMPLATE, &parts()).unwrap().0.contains("m(\"{{CSS}}\");"));
    }

    #[test]
    fn a_missing_double_or_unknown_mark_is_refused() {
        for (template, reason) in [
            (TEMPLATE.replace("{{DEMO}}", ""), "{{DEMO}} is missing"),
            (TEMPLATE.replace("{{DEMO}}", "{{CSS}}"), "{{CSS}} stands there twice"),
            (TEMPLATE.replace("{{DEMO}}", "{{DEMONS}}"), "{{DEMONS}} is not a mark"),
            (TEMPLATE.replace("{{MAIN}}", "{{MAIN"), "is not closed"),
        ] {
            let message = fill_both(&template, &parts()).err().unwrap().to_string();
            assert!(message.contains(reason), "{message}");
        }
    }

    #[test]
    fn line_numbers_lead_back_to_the_files() {
        let read = |path: &str| {
            Ok(if path == "main.js" {
                "import { a } from \"./a.js\";\nfirst(a);\n"
            } else {
                "export const a = 1;\n"
            }
            .to_string())
        };
        let main = pack("main.js", read).unwrap();
        let (page, _) = fill_both(TEMPLATE, &Parts { main: main.text.clone(), ..parts() }).unwrap();
        let index = lines_index(&page, &main, &main);
        let row = index.lines().find(|line| line.ends_with("page: main.js")).unwrap();
        let line: usize = row.split_whitespace().next().unwrap().parse().unwrap();
        assert_eq!(page.lines().nth(line).unwrap(), "first(a);");
    }

    #[test]
    fn styles_that_would_end_their_element_or_load_others_are_refused() {
        let folder = place::target("test-styles");
        fs::create_dir_all(&folder).unwrap();
        for (text, reason) in
            [("a{}\n/*</style>*/", "line 2"), ("@import \"b.css\";", "@import"), ("a{}\r\n", "LF")]
        {
            fs::write(folder.join("a.css"), text).unwrap();
            let message = styles(&folder).unwrap_err().to_string();
            assert!(message.contains(reason) && message.contains("www/styles/a.css"), "{message}");
        }
    }
}
