//! The questions on what a passage could be painted with.

use super::{Choice, Part, Question, Typed, background, number, region, rims, say, seed, set};
use crate::pigment::{self, Colour};

/// Years that can be typed.
const YEARS: [f64; 2] = [-4000.0, 2100.0];

fn year(setting: &'static str, text: &str, label: &'static str) -> Part {
    let typed = Typed { unit: "", low: YEARS[0], high: YEARS[1], step: 10.0, start: None, per: 1.0 };
    number(setting, text, label, typed)
}

fn colours() -> Vec<Choice> {
    let any = Choice { value: "", text: "any colour" };
    let all = Colour::ALL.into_iter().map(|colour| Choice { value: colour.word(), text: colour.word() });
    [any].into_iter().chain(all).collect()
}

/// The span as a sentence of more.
fn span() -> Vec<Part> {
    vec![
        say("It is proposed to be from "),
        year("from", "any year", "From"),
        say(" to "),
        year("to", "any year", "To"),
        say(". "),
    ]
}

fn question(key: &'static str, label: &'static str, parts: Vec<Part>, reason: &'static str) -> Question {
    Question {
        key,
        label,
        parts,
        more: background(),
        rest: [rims(), seed()].concat(),
        forms: Vec::new(),
        back: "",
        ready: reason.is_empty(),
        reason,
    }
}

pub(super) fn materials(reason: &'static str) -> Question {
    let parts = vec![
        say("What could "),
        region(),
        say(" be painted with, if it looks "),
        Part { choices: colours(), ..set("colour", "choice", "any colour", "Colour") },
        say("?"),
    ];
    let plain = question("materials", "Materials", parts, reason);
    Question { more: [span(), background()].concat(), ..plain }
}

fn layers() -> Vec<Choice> {
    let any = Choice { value: "", text: "any layer" };
    let all = pigment::layers().iter().map(|layer| Choice { value: layer.id, text: layer.name });
    [any].into_iter().chain(all).collect()
}

pub(super) fn covered(reason: &'static str) -> Question {
    let parts = vec![
        say("Is anything weakened in "),
        Part { needed: true, ..set("region", "region", "a region", "Region") },
        say(" against "),
        Part { needed: true, ..set("against", "region", "a bare region", "Bare region") },
        say(", as if under "),
        Part { choices: layers(), ..set("layer", "choice", "any layer", "Layer") },
        say("?"),
    ];
    let typed = Typed { unit: "µm", low: 0.1, high: 2000.0, step: 1.0, start: None, per: 1.0 };
    let thickness = vec![
        say("The layer is "),
        number("thickness_um", "of unknown thickness", "Thickness", typed),
        say(". "),
    ];
    let plain = question("covered", "Covered?", parts, reason);
    Question { more: [thickness, background()].concat(), ..plain }
}

pub(super) fn dates(reason: &'static str) -> Question {
    let parts = vec![
        say("Does anything speak against "),
        Part { needed: true, ..year("from", "a year", "From") },
        say(" to "),
        Part { needed: true, ..year("to", "a year", "To") },
        say(", in "),
        region(),
        say("?"),
    ];
    question("dates", "Dates", parts, reason)
}
