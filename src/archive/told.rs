//! The first entry: what the file is, in plain words, for whoever has no program for it.

use super::{FIRST, LAYOUT, STATE, SUMS};
use crate::study::Study;
use std::fmt::Write as _;

/// How many entries of a sort there are.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Held {
    pub(super) inputs: usize,
    pub(super) not_open: usize,
    pub(super) regions: usize,
    pub(super) findings: usize,
}

fn counted(count: usize, one: &str, many: &str) -> String {
    if count == 1 { format!("1 {one}") } else { format!("{count} {many}") }
}

/// The text. What the user typed does not stand in it.
pub(super) fn text(study: &Study, held: Held) -> String {
    let mut out = format!(
        "Limner study file, layout {LAYOUT}, written by {program}.

This is a plain ZIP file. It holds a study of element maps whole: the files as they came, what was stated of
them, regions, analysis points, and findings. Any program for ZIP files unpacks it.

What is in it
  {STATE}     The study as JSON: every file with its name, size and SHA-256, every setting, region, point,
                 spectrum and finding. The page reads it back.
  inputs/        {inputs}, byte for byte as opened, under plain names; their own names stand in
                 {STATE}. The page reads them back.
  findings/      {findings}, each in a folder of its number: answer.json with numbers, intervals, cautions
                 and methods, picture.png with key, scale bar and caption. The page reads them back.
  regions/       {regions}: masks as PNG of the size of the maps, as they lie in the study (white is inside),
                 and regions.json with their shapes. For other programs; the page makes them anew.
  {SUMS}     SHA-256 of every other entry.
  {FIRST}
                 This text.

To check that nothing was changed: unpack it, and in its folder run
  sha256sum -c {SUMS}           (on macOS: shasum -a 256 -c {SUMS})
To go on working: drop this file, not unpacked, on the page of Limner.
To check the findings: ask the page to reproduce them. It computes every one anew from the inputs.
",
        program = crate::PROGRAM,
        inputs = counted(held.inputs, "file", "files"),
        findings = counted(held.findings, "finding", "findings"),
        regions = counted(held.regions, "region", "regions"),
    );
    let mut add = |text: &str| {
        // Writing to a text cannot fail.
        let _ = write!(out, "\n{text}\n");
    };
    if held.not_open > 0 {
        let files = counted(held.not_open, "file was", "files were");
        add(&format!(
            "{files} not open when this was saved, and cannot be here. What was stated of them is kept."
        ));
    }
    if !study.left_out().is_empty() {
        add(&format!("Left out of this copy: {}.", study.left_out().join("; ")));
    }
    add("What to keep in mind
- X-ray fluorescence sees elements, not compounds. A pigment is named from a map only as one that would explain it.
- A signal is not an amount: it also depends on thickness, on what lies over it and beside it, and on the set-up.
- An element that was not measured, or that the tube cannot excite, is not absent: it was not measured.
- Pigments alone decide no date and no attribution.
- Pigments of arsenic, lead and mercury are toxic; X-ray work is licensed. Local safety rules come first.
- A kept answer is known by its SHA-256: one that was edited is not taken back. That does not say who wrote this
  file. Only computing it anew does, from inputs that you know.
- Names, notes and places stand in this file as they were typed. Hand it on only where all of that may go.");
    out
}
