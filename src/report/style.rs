//! How the report looks, on screen and on paper. Its only changing parts are the paper and the line at the foot of a page.

use super::Paper;

/// The style for a paper, with a line at the foot of every page.
pub(super) fn style(paper: Paper, foot: &str) -> String {
    let size = match paper {
        Paper::A4 => "210mm 297mm",
        Paper::Letter => "8.5in 11in",
    };
    let page = format!(
        "@page {{ size: {size}; margin: 18mm 20mm 20mm; @bottom-left {{ content: \"{}\"; {FOOT} }} \
         @bottom-right {{ content: counter(page) \" / \" counter(pages); {FOOT} }} }}\n\
         @page :first {{ @bottom-left {{ content: \"\" }} }}\n",
        quoted(foot)
    );
    page + STYLE
}

const FOOT: &str =
    "font: 8pt/1 system-ui, sans-serif; color: #5c5c58; vertical-align: top; padding-top: 4mm;";

/// Text within a CSS string: every character but plain letters and digits by its number (CSS Syntax Level 3, 4.3.7), so that
/// it cannot end it.
fn quoted(text: &str) -> String {
    let plain = super::page::escaped(text).contains('\u{fffd}');
    let text: String = if plain {
        text.chars().filter(|c| c.is_alphanumeric() || *c == ' ').collect()
    } else {
        text.to_owned()
    };
    let mut out = String::new();
    for c in text.chars().take(90) {
        match c {
            'a'..='z' | 'A'..='Z' | '0'..='9' => out.push(c),
            c => out.push_str(&format!("\\{:06x}", u32::from(c))),
        }
    }
    out
}

const STYLE: &str = r#"
:root { color-scheme: light; --ink: #1c1c1a; --quiet: #565652; --line: #c9c8c2; --serif: "Iowan Old Style", "Palatino Linotype", Palatino, "URW Palladio L", "Noto Serif", Georgia, serif; }
* { box-sizing: border-box; }
html { background: #fff; color: var(--ink); font: 10pt/1.45 system-ui, -apple-system, "Segoe UI", "Noto Sans", sans-serif; font-variant-numeric: tabular-nums lining-nums; -webkit-text-size-adjust: 100%; print-color-adjust: exact; }
body { max-width: 176mm; margin: 0 auto; padding: 14mm 3mm 20mm; overflow-wrap: anywhere; }
p, ul, ol, dl, table, figure, h1, h2, h3, h4 { margin: 0; }
h1, h2, h3, .sentence, .described, .note, .lead { font-family: var(--serif); }
h1 { font-size: 25pt; line-height: 1.15; font-weight: 600; letter-spacing: -0.01em; text-wrap: balance; }
h2 { font-size: 16pt; line-height: 1.2; font-weight: 600; margin: 11mm 0 3.5mm; padding-top: 2.5mm; border-top: 0.6pt solid var(--ink); }
h3 { font-size: 13pt; line-height: 1.25; font-weight: 600; margin: 8mm 0 1.5mm; }
h4 { font-size: 10pt; line-height: 1.3; font-weight: 650; margin: 4.5mm 0 1.2mm; }
h3.minor { font-family: inherit; font-size: 10pt; font-weight: 650; margin: 4.5mm 0 1.2mm; }
h2, h3, h4, caption, thead, .question, .note, .sentence, .verdict { break-after: avoid; }
.whole { break-inside: avoid; }
tbody tr:first-child { break-before: avoid; }
.noted { color: var(--quiet); break-before: avoid; margin-top: 2mm; }
p { orphans: 3; widows: 3; text-wrap: pretty; }
p + p { margin-top: 1.5mm; }
a { color: inherit; text-decoration-line: underline; text-decoration-thickness: 0.5pt; text-decoration-color: #9b9a94; text-underline-offset: 2pt; }
.kicker { color: var(--quiet); margin-bottom: 2mm; }
.described { font-size: 12.5pt; line-height: 1.35; margin-top: 2mm; }
header dl { margin-top: 5mm; }
dl { display: grid; grid-template-columns: minmax(30mm, max-content) 1fr; column-gap: 5mm; row-gap: 0.8mm; }
dt { color: var(--quiet); max-width: 52mm; }
dd { margin: 0; }
.remarks { white-space: pre-wrap; }
.summary { padding: 0; list-style: none; }
.summary li { display: grid; grid-template-columns: 7mm 1fr; padding: 1.6mm 0; border-bottom: 0.4pt solid var(--line); break-inside: avoid; }
.summary a { font-family: var(--serif); font-size: 10.5pt; text-decoration: none; }
.summary p { margin-top: 0.3mm; }
.number-of { color: var(--quiet); }
nav { break-inside: avoid; }
nav ol { padding: 0; list-style: none; columns: 2; column-gap: 10mm; }
nav li { padding: 0.5mm 0; break-inside: avoid; }
ul { padding-left: 4.5mm; }
li { padding: 0.35mm 0; }
li::marker { color: var(--quiet); }
.verdict { font-weight: 650; }
.quiet { color: var(--quiet); }
.finding { border-top: 0.4pt solid var(--line); padding-top: 0.5mm; margin-top: 9mm; }
.finding:first-of-type { border-top: 0; margin-top: 0; }
.finding h3 { display: grid; grid-template-columns: 9mm 1fr; margin-top: 4mm; }
.question { color: var(--quiet); margin-bottom: 1.5mm; }
.sentence { font-size: 11.5pt; line-height: 1.42; break-inside: avoid; }
.sentence + .verdict { margin-top: 1.5mm; }
.note { margin: 2.5mm 0; padding-left: 4mm; border-left: 1.2pt solid var(--line); white-space: pre-wrap; }
figure { margin: 4mm 0; break-inside: avoid; }
figure img { display: block; max-width: 100%; width: auto; height: auto; max-height: 150mm; }
.outlines { display: block; width: 100%; max-height: 118mm; }
.outlines .field { fill: #f6f5f1; stroke: #c9c8c2; stroke-width: 0.4; }
.outlines path { fill: none; stroke: #1c1c1a; stroke-width: 0.45; }
.outlines .fine { stroke: #8f8e88; stroke-width: 0.25; }
.outlines text { font: 600 7px system-ui, sans-serif; text-anchor: middle; fill: #1c1c1a; stroke: #fff; stroke-width: 2; paint-order: stroke; }
figcaption { color: var(--quiet); font-size: 8.5pt; margin-top: 1mm; }
table { width: 100%; border-collapse: collapse; margin: 3mm 0 4mm; font-size: 8.8pt; line-height: 1.35; }
caption { text-align: left; font-weight: 650; font-size: 9.5pt; padding: 0 0 1.2mm; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
th, td { overflow-wrap: break-word; text-align: left; vertical-align: top; padding: 0.9mm 3mm 0.9mm 0; font-weight: 400; border-bottom: 0.4pt solid var(--line); }
th:last-child, td:last-child { padding-right: 0; }
thead th, thead td { color: var(--quiet); border-bottom: 0.6pt solid var(--ink); vertical-align: bottom; }
th.number, td.number { text-align: right; overflow-wrap: normal; }
.code, code { font: 7.4pt/1.35 ui-monospace, "Cascadia Mono", "DejaVu Sans Mono", Menlo, Consolas, monospace; overflow-wrap: anywhere; }
td.code { word-break: break-all; }
code { font-size: 8.4pt; }
.figures { width: auto; margin: 3mm 0; font-size: 9.6pt; }
.figures th { color: var(--quiet); padding-right: 6mm; max-width: 62mm; }
.figures td:nth-child(2) { font-weight: 650; white-space: nowrap; padding-right: 6mm; }
.files td:last-child { width: 58mm; }
.wide { font-size: 7.6pt; }
.short-1 th:first-child, .short-2 :is(th, td):nth-child(-n+2), .years th:first-child, .marks th:first-child { white-space: nowrap; }
.candidates :is(th, td):first-child { width: 34mm; }
.candidates :is(th, td):last-child { width: 52mm; }
.others :is(th, td):first-child { width: 50mm; }
.years { font-size: 8.2pt; }
.years th:first-child { white-space: normal; width: 24mm; }
.years td:nth-child(2) { width: 27mm; }
.years td:nth-child(4) { width: 58mm; }
.marks { width: auto; }
.next { font-size: 8.4pt; }
.wide th:first-child { min-width: 34mm; }
.wide th, .wide td { padding-right: 2mm; }
.changed { border-left: 1.2pt solid #a8502a; padding-left: 4mm; margin: 2.5mm 0; }
.methods { padding-left: 7mm; }
.methods li { padding: 0.6mm 0; }
@media screen { html { font-size: 11pt; } body { padding-top: 18mm; } }
@media print { html { font-size: 9.6pt; } body { max-width: none; margin: 0; padding: 0; } a { text-decoration: none; } h2 { margin-top: 9mm; } .new-page { break-before: page; } .new-page h2 { margin-top: 0; } figure img { max-height: 128mm; } }
"#;

#[cfg(test)]
mod tests {
    use super::{Paper, style};

    #[test]
    fn a_foot_cannot_end_its_string() {
        let text = style(Paper::A4, "Tern\"; } body { display: none } </style>\\ \n\u{202e}");
        let (_, after) = text.split_once("content: \"").unwrap();
        let inside = after.split('"').next().unwrap();
        assert!(inside.starts_with("Tern"), "{inside}");
        assert!(inside.chars().all(|c| c.is_ascii_alphanumeric() || c == '\\'), "{inside}");
        assert_eq!(text.matches('<').count(), 0);
        assert!(text.contains("210mm 297mm"));
        assert!(style(Paper::Letter, "").contains("8.5in 11in"));
    }
}
