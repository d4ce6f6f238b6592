//! What the page's sources must not hold: ways out that a Content-Security-Policy does not close (it forbids connections, not
//! navigation), ways in which text could become HTML or code, and requests, of which the page has none.
//!
//! These are tripwires for what is written by mistake, not a proof: the proof is the policy and the listening proxy.

use crate::pack::{code_only, words};
use anyhow::{Context, Result};
use std::fs;
use std::path::Path;

/// Names that may stand nowhere in the code, not even as a property or spelled out in brackets, with the reason.
const NAMES: [(&str, &str); 23] = [
    ("innerHTML", "text becomes HTML"),
    ("outerHTML", "text becomes HTML"),
    ("insertAdjacentHTML", "text becomes HTML"),
    ("setHTMLUnsafe", "text becomes HTML"),
    ("createContextualFragment", "text becomes HTML"),
    ("parseFromString", "text becomes HTML"),
    ("srcdoc", "text becomes HTML"),
    ("writeln", "text becomes HTML"),
    ("eval", "text becomes code"),
    ("Function", "text becomes code"),
    ("importScripts", "code from elsewhere"),
    ("fetch", "a request"),
    ("XMLHttpRequest", "a request"),
    ("WebSocket", "a request"),
    ("WebTransport", "a request"),
    ("EventSource", "a request"),
    ("sendBeacon", "a request"),
    ("RTCPeerConnection", "a connection that no policy forbids"),
    ("RTCDataChannel", "a connection that no policy forbids"),
    ("webkitRTCPeerConnection", "a connection that no policy forbids"),
    ("srcset", "an address"),
    ("href", "an address"),
    ("navigation", "leads away from the page"),
];

/// The files that may use a name of [`NAMES`], with the reason.
const ALLOWED: [(&str, &str); 2] = [
    // Hands a file from the page's own memory to the user; it takes only a `Blob` and makes the address itself.
    ("app/download.js", "href"),
    // Gets a study that a link names, from the folder of the page itself; the policy allows its own origin, or nothing.
    ("app/study-link.js", "fetch"),
];

/// Objects whose `open` leads away from the page.
const WINDOWS: [&str; 6] = ["window", "globalThis", "self", "top", "parent", "opener"];

/// Beginnings of a text that is an address elsewhere or a script.
const ADDRESSES: [&str; 6] = ["http:", "https:", "ws:", "wss:", "//", "javascript:"];

/// Looks through a folder. Every file is named with what is refused in it; an empty list means that it is clean.
///
/// # Errors
/// The folder or a file cannot be read, or a script cannot be told apart into code and text.
pub fn folder(root: &Path) -> Result<Vec<(String, Vec<String>)>> {
    let (mut list, mut open) = (Vec::new(), vec![root.to_path_buf()]);
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(&folder).with_context(|| format!("{} cannot be read", folder.display()))? {
            let path = entry?.path();
            let name = path.strip_prefix(root).unwrap_or(&path).to_string_lossy().replace('\\', "/");
            if path.is_dir() {
                // the glue in there is generated, and loads its module by a request that is never made
                if name != "pkg" {
                    open.push(path);
                }
                continue;
            }
            let text = fs::read_to_string(&path).with_context(|| format!("{name} cannot be read"))?;
            let refused = match name.rsplit('.').next() {
                Some("js") => script(&name, &text).with_context(|| name.clone())?,
                Some("html") => markup(&text),
                Some("css") => style_sheet(&text),
                _ => vec!["line 1: neither a script nor a style sheet nor the page".to_string()],
            };
            list.push((name, refused));
        }
    }
    list.sort();
    Ok(list)
}

/// What is refused in a script of this name, each with its line.
fn script(name: &str, source: &str) -> Result<Vec<String>> {
    let code = code_only(source)?;
    let mut refused = Vec::new();
    for (index, (code, text)) in code.lines().zip(source.lines()).enumerate() {
        let mut refuse = |what: &str, reason: &str| {
            refused.push(format!("line {}: `{what}` ({reason})", index + 1));
        };
        for (before, word, after) in words(code) {
            let named = NAMES.iter().find(|(other, _)| *other == word && !ALLOWED.contains(&(name, word)));
            if let Some((word, reason)) = named {
                refuse(word, reason);
            }
            if word == "open" && after.starts_with('(') && opens_a_window(before, after) {
                refuse("open", "leads away from the page");
            }
            if word == "location" && leads_away(after) {
                refuse("location", "leads away from the page");
            }
            if word == "write" && before.ends_with("document.") {
                refuse("document.write", "text becomes HTML");
            }
            if word == "style" && after.starts_with(':') && before.ends_with(['{', ',']) {
                refuse("style:", "a style attribute, which the policy refuses: set properties instead");
            }
        }
        for content in texts(code, text) {
            let named = NAMES.iter().find(|(name, _)| *name == content);
            if let Some((name, reason)) = named {
                refuse(name, reason);
            }
            if content == "style" || content == "http-equiv" {
                refuse(content, "an attribute that the policy refuses or that changes it");
            }
            if ADDRESSES.iter().any(|start| content.to_ascii_lowercase().starts_with(start)) {
                refuse(content, "an address");
            }
        }
    }
    Ok(refused)
}

/// Whether a call of `open` is the global one and not a method of ours or its declaration.
fn opens_a_window(before: &str, after: &str) -> bool {
    if let Some(owner) = before.strip_suffix('.') {
        let owner = owner.trim_end_matches('?');
        return WINDOWS.iter().any(|name| owner.ends_with(name));
    }
    let declares = ["async", "function", "static", "get", "set"].iter().any(|word| before.ends_with(word));
    let is_method = before.is_empty() && after.ends_with('{');
    !(declares || is_method || before.ends_with('#'))
}

/// Whether what follows `location` changes it: an assignment to it or to a part of it, or one of its calls.
fn leads_away(after: &str) -> bool {
    let is_set = |rest: &str| {
        let rest = rest.trim_start();
        rest.starts_with('=') && !rest.starts_with("==") && !rest.starts_with("=>")
            || rest.starts_with("+=")
            || rest.starts_with("||=")
            || rest.starts_with("&&=")
            || rest.starts_with("??=")
    };
    let Some(part) = after.strip_prefix('.') else { return is_set(after) || after.starts_with('[') };
    let end = part.find(|c: char| !c.is_ascii_alphanumeric()).unwrap_or(part.len());
    ["assign", "replace", "reload"].contains(&&part[..end]) || is_set(&part[end..])
}

/// The contents of the texts in quotes and of the beginnings of templates that open on this line.
fn texts<'a>(code: &str, source: &'a str) -> Vec<&'a str> {
    let (mut list, mut rest) = (Vec::new(), 0);
    while let Some(start) = code[rest..].find(['"', '\'', '`']).map(|at| rest + at) {
        let quote = &code[start..=start];
        let end = code[start + 1..].find(quote).map_or(code.len(), |at| start + 1 + at);
        list.push(&source[start + 1..end]);
        rest = (end + 1).min(code.len());
    }
    list
}

/// What is refused in the page's frame.
fn markup(source: &str) -> Vec<String> {
    let mut refused = Vec::new();
    for (index, line) in source.lines().enumerate() {
        let lower = line.to_ascii_lowercase();
        let mut refuse = |what: &str| refused.push(format!("line {}: `{what}`", index + 1));
        for what in [" style=", "<base", "<iframe", "<object", "<embed", "<form", "http-equiv=\"refresh"] {
            if lower.contains(what) {
                refuse(what.trim());
            }
        }
        for (at, _) in lower.match_indices('=') {
            let name = lower[..at]
                .rsplit(|c: char| !c.is_ascii_alphanumeric() && c != '-')
                .next()
                .unwrap_or_default();
            let value = lower[at + 1..].trim_start_matches(['"', '\'']);
            if name.len() > 3 && name.starts_with("on") {
                refuse(name);
            }
            if ["href", "src", "action", "srcset", "poster"].contains(&name) && !value.starts_with("data:") {
                refuse(name);
            }
        }
    }
    refused
}

/// What is refused in a style sheet.
fn style_sheet(source: &str) -> Vec<String> {
    let mut refused = Vec::new();
    for (index, line) in source.lines().enumerate() {
        let lower = line.to_ascii_lowercase();
        let outside = lower
            .split("url(")
            .skip(1)
            .any(|rest| !rest.trim_start_matches(['"', '\'', ' ']).starts_with("data:"));
        if outside || lower.contains("image-set(") || lower.contains("@import") {
            refused.push(format!("line {}: an address", index + 1));
        }
    }
    refused
}

#[cfg(test)]
mod tests {
    use super::{folder, markup, script, style_sheet};
    use crate::place;

    #[test]
    fn scripts_that_could_lead_out_or_make_html_are_refused() {
        for line in [
            "window.open(address);",
            "globalThis.open(address);",
            "const w = open(address);",
            "location = address;",
            "window.location.href = address;",
            "document.location.hash += address;",
            "location.assign(address);",
            "location.replace(address);",
            "location[name] = address;",
            "navigation.navigate(address);",
            "link.href = address;",
            "setAttribute(link, \"href\", address);",
            "el(\"a\", { attrs: { href: address } });",
            "image.srcset = address;",
            "new RTCPeerConnection();",
            "root.innerHTML = text;",
            "root[\"innerHTML\"] = text;",
            "root.outerHTML = text;",
            "root.insertAdjacentHTML('beforeend', text);",
            "frame.srcdoc = text;",
            "document.write(text);",
            "document.writeln(text);",
            "eval(text);",
            "new Function(text);",
            "const a = `${eval(text)}`;",
            "fetch(address);",
            "new XMLHttpRequest();",
            "new WebSocket(address);",
            "navigator.sendBeacon(address);",
            "const address = \"https://example.org/\";",
            "const address = `http://${host}`;",
            "const address = '//example.org';",
            "const address = \"JavaScript:go()\";",
            "el(\"p\", { attrs: { style: text } });",
            "el(\"p\", { style: text });",
            "p.setAttribute('style', text);",
        ] {
            assert!(!script("app/a.js", line).unwrap().is_empty(), "{line} is let through");
        }
    }

    #[test]
    fn what_only_looks_like_it_is_let_through() {
        for line in [
            "// never innerHTML, eval or https://example.org",
            "/* location = elsewhere */",
            "const said = \"no eval here, and no location = x\";",
            "async open(files, options = {}) {",
            "open(files) {",
            "return this.open(files);",
            "await limner.open(files);",
            "this.#client.open(file);",
            "let open = true;",
            "if (!open) return;",
            "const on_disk = location.protocol === \"file:\";",
            "if (location == other) return;",
            "bar.style.width = `${length}px`;",
            "mark.style.setProperty(\"--full\", colour);",
            "const kind = plain ? style : other;",
            "for (const [style, width] of pairs) pen.strokeStyle = style;",
            "const evaluate = 1; retrieval(evaluate);",
            "const text = `a ${b} // c`;",
        ] {
            assert_eq!(script("app/a.js", line).unwrap(), Vec::<String>::new(), "{line}");
        }
    }

    #[test]
    fn only_the_file_that_hands_files_over_makes_an_address() {
        let line = "link.href = address;";
        assert_eq!(script("app/download.js", line).unwrap(), Vec::<String>::new());
        for name in ["download.js", "app/components/download.js", "app/view.js"] {
            assert!(!script(name, line).unwrap().is_empty(), "{name}");
        }
        assert!(!script("app/download.js", "window.location.assign(address);").unwrap().is_empty());
        assert!(!script("app/download.js", "link.href = \"https://example.org/\";").unwrap().is_empty());
    }

    #[test]
    fn only_the_file_that_follows_a_link_to_a_study_makes_a_request() {
        let line = "get = (address, init) => fetch(address, init)";
        assert_eq!(script("app/study-link.js", line).unwrap(), Vec::<String>::new());
        for name in ["study-link.js", "app/components/study-link.js", "app/limner.js", "app/download.js"] {
            assert!(!script(name, line).unwrap().is_empty(), "{name}");
        }
        for other in ["new XMLHttpRequest();", "navigator.sendBeacon(address);", "link.href = address;"] {
            assert!(!script("app/study-link.js", other).unwrap().is_empty(), "{other}");
        }
    }

    #[test]
    fn lines_are_counted_from_one() {
        assert_eq!(
            script("app/a.js", "a();\n\nb.innerHTML = c;\n").unwrap(),
            ["line 3: `innerHTML` (text becomes HTML)"]
        );
    }

    #[test]
    fn the_frame_holds_no_handlers_styles_and_addresses() {
        for line in [
            "<p style=\"color: red\">",
            "<button onclick=\"go()\">",
            "<a href=\"https://example.org\">",
            "<a href='//example.org'>",
            "<script src=\"a.js\"></script>",
            "<base target=\"_blank\">",
            "<IFRAME>",
            "<form action=\"/\">",
            "<meta http-equiv=\"refresh\" content=\"0\">",
        ] {
            assert!(!markup(line).is_empty(), "{line} is let through");
        }
        for line in [
            "<link rel=\"icon\" href=\"data:,\">",
            "<style>{{CSS}}</style>",
            "<meta http-equiv=\"Content-Security-Policy\" content=\"{{CSP}}\">",
            "<html lang=\"en\" data-state=\"starting\">",
            "<section class=\"view\" aria-label=\"View\" hidden></section>",
        ] {
            assert_eq!(markup(line), Vec::<String>::new(), "{line}");
        }
    }

    #[test]
    fn style_sheets_hold_no_addresses() {
        for line in
            ["a { background: url(b.png); }", "a { background: URL( 'https://b' ); }", "@import 'b.css';"]
        {
            assert!(!style_sheet(line).is_empty(), "{line} is let through");
        }
        assert!(style_sheet("a { background: url(\"data:image/png;base64,AA\"); }").is_empty());
    }

    #[test]
    fn the_folder_is_seen_whole_but_for_generated_glue() {
        let root = place::target("test-lint");
        std::fs::create_dir_all(root.join("app/inner")).unwrap();
        std::fs::create_dir_all(root.join("pkg")).unwrap();
        std::fs::write(root.join("app/inner/a.js"), "b.innerHTML = c;\n").unwrap();
        std::fs::write(root.join("pkg/core.js"), "fetch(a);\n").unwrap();
        std::fs::write(root.join("a.css"), "a{}\n").unwrap();
        let list = folder(&root).unwrap();
        let names: Vec<&str> = list.iter().map(|(name, _)| name.as_str()).collect();
        assert_eq!(names, ["a.css", "app/inner/a.js"]);
        assert!(list[0].1.is_empty() && list[1].1.len() == 1);
    }
}
