//! The packer on small sources of its own. That packed scripts run is shown by the end-to-end tests.

use super::{Packed, pack};
use anyhow::{Result, anyhow};

fn packed(files: &[(&str, &str)]) -> Result<Packed> {
    pack(files[0].0, |path| {
        let found = files.iter().find(|(name, _)| *name == path);
        Ok(found.ok_or_else(|| anyhow!("no such file: {path}"))?.1.to_string())
    })
}

#[track_caller]
fn refused(files: &[(&str, &str)], parts: &[&str]) {
    let message = format!("{:#}", packed(files).unwrap_err());
    for part in parts {
        assert!(message.contains(part), "{message:?} does not say {part:?}");
    }
}

#[test]
fn modules_come_in_order_of_need_and_once() {
    let files = [
        ("main.js", "import { a } from \"./app/a.js\";\nimport * as b from \"./b.js\";\na(b);\n"),
        ("app/a.js", "import { b as c } from \"../b.js\";\nexport function a() { return c; }\n"),
        ("b.js", "export const b = 1;\n"),
    ];
    let text = packed(&files).unwrap().text;
    let order: Vec<&str> = text.lines().filter_map(|line| line.strip_prefix("// ")).collect();
    assert_eq!(order, ["b.js", "app/a.js", "main.js"]);
    assert!(
        text.contains("const { b: c } = $modules[\"b.js\"];\n       function a() { return c; }\n"),
        "{text}"
    );
    assert!(text.contains("const b = $modules[\"b.js\"];\na(b);\n"), "{text}");
    assert!(text.contains("return Object.freeze({ __proto__: null, a: a });"), "{text}");
}

#[test]
fn lines_stay_one_for_one_with_the_files() {
    let main = "import {\n  x,\n  y as z,\n} from \"./x.js\";\n// fourth\nexport {\n  z as w\n};\nmark();\n";
    let files = [("main.js", main), ("x.js", "export class x {}\nexport async function y() {}\n")];
    let packed = packed(&files).unwrap();
    for (start, path) in &packed.places {
        let source = files.iter().find(|(name, _)| name == path).unwrap().1;
        let lines: Vec<&str> = packed.text.lines().skip(start - 1).collect();
        for (index, line) in source.lines().enumerate() {
            if line.starts_with("mark") || line.starts_with("//") {
                assert_eq!(lines[index], line);
            }
        }
        let after = lines[source.lines().count()];
        assert!(after.starts_with("return Object.freeze("), "{path}: {after}");
    }
    assert_eq!(packed.places.len(), 2);
}

#[test]
fn words_in_comments_and_text_are_not_imports() {
    let main = "/*\nimport x from y\nexport default\n*/\nconst t = `\nimport { q } from \"./q.js\";\n`;\n\
                const o = { import: 1, export: 2 }; o.import; o.export(); // import(\"x\")\n";
    let text = packed(&[("main.js", main)]).unwrap().text;
    assert!(text.contains(main), "{text}");
}

#[test]
fn a_cycle_is_refused_and_spelt_out() {
    let a = ("a.js", "import { b } from \"./b.js\";\nexport const a = 1;\n");
    let b = ("b.js", "import { c } from \"./c.js\";\nexport const b = 1;\n");
    let c = ("c.js", "\nimport { a } from \"./a.js\";\nexport const c = 1;\n");
    refused(&[a, b, c], &["in a circle: a.js -> b.js -> c.js -> a.js", "c.js: line 2"]);
}

#[test]
fn other_exports_are_refused_with_file_and_line() {
    for (source, reason) in [
        ("export default 1;", "`export default`"),
        ("export default function f() {}", "`export default`"),
        ("export let a = 1;", "`export let`"),
        ("export * from \"./b.js\";", "outside the dialect"),
        ("export { a } from \"./b.js\";", "passing on"),
        ("const a = 1;\nexport { a as default };", "default export"),
        ("export const { a } = b;", "plain name"),
        ("export const a = f(1, 2), b = 2;", "one name only"),
        ("  export const a = 1;", "start of its line"),
    ] {
        refused(&[("app/m.js", source)], &["app/m.js", "line ", reason]);
    }
}

#[test]
fn other_imports_are_refused_with_file_and_line() {
    for (source, reason) in [
        ("\nimport \"./b.js\";", "side effects"),
        ("\nimport { a } from \"b\";", "not a relative path"),
        ("\nimport { a } from \"./b\";", "`.js`"),
        ("\nimport { a } from \"../b.js\";", "leads out of"),
        ("\nimport { a } from \"./b.js\"", "semicolon"),
        ("\nimport { a } from \"./b.js\"; a();", "same line"),
        ("\n  import { a } from \"./b.js\";", "start of its line"),
        ("\nconst a = await import(\"./b.js\");", "dynamic import"),
        ("\nconst a = import.meta.url;", "import.meta"),
        ("\nimport { c } from \"./b.js\";", "b.js does not export `c`"),
        ("\nimport d from \"./b.js\";", "does not export `default`"),
    ] {
        refused(&[("m.js", source), ("b.js", "export const a = 1;\n")], &["m.js", "line 2", reason]);
    }
}

#[test]
fn only_generated_glue_has_a_default() {
    let main = ("main.js", "import start, { run } from \"./pkg/core.js\";\nstart(run);\n");
    let glue = "export function run() {}\nfunction init() {}\nexport { run as go, init as default };\n";
    let text = packed(&[main, ("pkg/core.js", glue)]).unwrap().text;
    assert!(text.contains("const { default: start, run: run } = $modules[\"pkg/core.js\"];"), "{text}");
    assert!(text.contains("{ __proto__: null, run: run, go: run, default: init }"), "{text}");
}

#[test]
fn clashes_of_names_are_refused() {
    let b = ("b.js", "export const a = 1;\n");
    refused(&[("m.js", "import { a } from \"./b.js\";\nconst a = 2;\n"), b], &["m.js", "line 1", "`a`"]);
    refused(
        &[("m.js", "import { a } from \"./b.js\";\nimport * as a from \"./b.js\";\n"), b],
        &["m.js", "line 2", "`a`"],
    );
    refused(&[("m.js", "export const a = 1;\nexport { a };\n")], &["m.js", "`a` is exported twice"]);
}

#[test]
fn the_same_private_name_in_two_files_is_no_clash() {
    let files = [
        ("m.js", "import { b } from \"./b.js\";\nconst helper = b;\nhelper();\n"),
        ("b.js", "const helper = 1;\nexport const b = helper;\n"),
    ];
    let text = packed(&files).unwrap().text;
    assert_eq!(text.matches("(function () {").count(), 3, "each file keeps its names to itself: {text}");
}

#[test]
fn text_that_would_end_the_script_is_refused() {
    for source in ["\nconst a = \"</Script>\";", "\n// <!-- note", "\n/* <script */", "\n--> x"] {
        refused(&[("m.js", source)], &["m.js", "line 2", "inside a script"]);
    }
    refused(&[("m.js", "a;\r\nb;\r\n")], &["m.js", "carriage return"]);
}

#[test]
fn await_outside_a_function_is_refused() {
    refused(&[("m.js", "const a = 1;\nconst b = await f();\n")], &["m.js", "line 2", "await"]);
    for source in [
        "async function f() {\n  await g();\n}\n",
        "const f = async () => await g();\n",
        "(async () => {\n  for await (const a of b) { a(); }\n})();\n",
    ] {
        assert!(packed(&[("m.js", source)]).is_ok(), "{source}");
    }
}
